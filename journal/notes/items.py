"""Each list item ends as exactly one of three: a record, prose, or a problem that says where and why."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field

from journal.notes.amounts import Unread
from journal.notes.dates import front_date, is_all
from journal.notes.entries import Draft, Item, Scanned
from journal.notes.faults import Fault
from journal.notes.further_lines import (
    WEIGHT,
    further_after,
    holds_measure,
    own_text,
    read_wrapped,
    told_apart,
)
from journal.notes.known import Known
from journal.notes.lines import Sentence, read_sentence
from journal.notes.names import fold
from journal.notes.packing import packed_by_fields
from journal.notes.place import Place, Problem, problem
from journal.notes.recipes import Ingredients, read_ingredients
from journal.notes.records import Amount, Entry, Line, Listed, Prose, Record
from journal.notes.suspects import on_preface, on_suspects
from journal.notes.verbs import read_verb

Block = Prose | int
"""A block of an entry while its file is read: prose, or the index of a record."""


@dataclass(slots=True)
class Part:
    """What one file comes to.  ``items`` counts its list items by what they ended as."""

    scanned: Scanned
    drafts: list[tuple[Draft, list[Block]]] = field(default_factory=list)
    records: list[Record] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    remarks: list[Problem] = field(default_factory=list)
    read: int = 0  # items that are a record, or an ingredient of one
    prose: int = 0
    unread: int = 0

    def finished(self) -> ReadFile:
        """Give what is left to know of the file once it is read."""
        heads = [
            (draft.date, draft.title, draft.private, self.scanned.place(draft.line, draft.column), blocks)
            for draft, blocks in self.drafts
            if draft.date is not None
        ]
        return ReadFile(
            heads,
            self.records,
            sorted(self.problems, key=lambda finding: finding.place),
            sorted(self.remarks, key=lambda finding: finding.place),
        )


@packed_by_fields
@dataclass(slots=True)
class ReadFile:
    """A file once it is read: entries (date, title, private, place, blocks), records and findings.

    The records count their entries as if ``before`` others stood before the file's own.
    """

    heads: list[tuple[dt.date, str, bool, Place, list[Block]]]
    records: list[Record]
    problems: list[Problem]
    remarks: list[Problem]
    before: int = 0

    def counted_from(self, before: int) -> list[Record]:
        """Give the records, their entries counted as if so many others stood before the file's own."""
        shift = before - self.before
        if shift:
            for record in self.records:
                record.entry += shift
            self.before = before
        return self.records

    def entries(self, first_record: int) -> Iterator[Entry]:
        """Give the entries, their records counted from ``first_record``."""
        for date, title, private, place, blocks in self.heads:
            yield Entry(
                date,
                title,
                private,
                place,
                tuple(Line(block + first_record) if block.__class__ is int else block for block in blocks),  # type: ignore[misc]
            )


def read_draft(known: Known, part: Part, draft: Draft) -> None:
    """Read one entry's items and prose into the file's part."""
    reader = _Reader(known, part, draft)
    for block in draft.blocks:
        if isinstance(block, Item):
            reader.read_item(block)
        else:
            reader.add_lines(block.start, block.end, nested=block.nested)
    reader.flush()
    blocks = reader.blocks
    if draft.date is None:
        if not draft.why.startswith("the heading"):
            part.remarks.extend(on_preface(part.scanned, draft))
        # Lines that carry a date of their own need no heading: the first one's is their entry's.
        blocks = [block for block in blocks if block.__class__ is int]
        draft.date = part.records[blocks[0]].date if blocks else None  # type: ignore[index]  # an index it is
    if draft.date is not None:
        part.drafts.append((draft, blocks))
    part.remarks.extend(on_suspects(known, part.scanned, draft))


class _Reader:
    """Reads one entry."""

    def __init__(self, known: Known, part: Part, draft: Draft) -> None:
        self.known = known
        self.part = part
        self.draft = draft
        self.scanned = part.scanned
        self.file = part.scanned.file
        self.entry = len(part.drafts)
        self.blocks: list[Block] = []
        self.lines: list[str] = []  # of the prose under way
        self.first = 0
        self.last = 0
        self.margin = 0

    # ---- prose

    def add_lines(self, start: int, end: int, *, nested: bool = False) -> None:
        """Add lines of prose; what lay between them and the prose before was empty.

        What lay inside the item of a record moves to the margin, since its item is gone.
        """
        added = self.scanned.lines[start - 1 : end]
        if not self.lines:
            self.first = start
            self.margin = len(added[0]) - len(added[0].lstrip()) if nested else 0
        elif start > self.last + 1:
            self.lines.append("")
        if nested and self.margin:
            margin = self.margin
            added = [line[min(margin, len(line) - len(line.lstrip())) :] for line in added]
        self.lines.extend(added)
        self.last = end

    def flush(self) -> None:
        """End the prose under way."""
        if self.lines:
            text = "\n".join(self.lines).strip("\n")
            if text.strip():
                self.blocks.append(Prose(text, Place(self.file, self.first, 1)))
            self.lines = []

    # ---- items

    def read_item(self, item: Item, *, nested: bool = False) -> None:
        """Read an item and those inside it."""
        sentence: Sentence | None = None
        text = item.text
        try:
            if item.more is not None:
                text, sentence, wrong = read_wrapped(self.known, item)
                self._remark_on_lines_apart(item, text)
                if wrong is not None:
                    raise wrong
            elif not item.is_open:
                sentence = read_sentence(self.known, text)
        except Unread as wrong:
            self._report(item, wrong)
            self._add_further(item, text)
            if text[:5].lower() == "mixed":
                self._recipe(item, [], [])
                return
        else:
            if sentence is not None:
                self._record(item, sentence, text)
                return
            self._keep_as_prose(item, nested=nested)
        for child in item.children or ():
            self.read_item(child, nested=True)

    def _record(self, item: Item, sentence: Sentence, text: str) -> None:
        if self.draft.date is None and sentence.date is None:
            self._report(item, Unread(Fault.NO_DATE, 0, text, why=self.draft.why))
            if sentence.verb == "mixed":
                self._recipe(item, [], [])
                return
        elif sentence.verb == "mixed":
            amounts, remarks = list(sentence.amounts), [sentence.remark] if sentence.remark else []
            is_whole, listed = self._recipe(item, amounts, remarks)
            wrong = self._wrong_with_batch(item, sentence, amounts, is_whole=is_whole)
            if wrong is not None:
                self._report(item, wrong)
            else:
                self._add_record(item, sentence, text, tuple(amounts), "; ".join(remarks), tuple(listed))
            return
        else:
            self._add_record(item, sentence, text, sentence.amounts, sentence.remark)
        for child in item.children or ():
            self.read_item(child, nested=True)

    def _add_record(
        self,
        item: Item,
        sentence: Sentence,
        text: str,
        amounts: tuple[Amount, ...],
        remark: str,
        listed: tuple[Listed, ...] = (),
    ) -> None:
        if self.lines:
            self.flush()
        scanned, records = self.scanned, self.part.records
        place = (
            scanned.place(item.line, item.column)
            if scanned.gaps
            else Place(self.file, item.line, item.column)
        )
        self.blocks.append(len(records))
        self.part.read += 1
        if item.more is not None:
            self._add_further(item, text)
        records.append(
            Record(
                sentence.verb,
                sentence.date or self.draft.date,  # type: ignore[arg-type]  # one of them is there
                amounts,
                place,
                self.entry,
                text,
                sentence.giver,
                sentence.bin,
                sentence.source_bin,
                sentence.batch,
                sentence.batch_kind,
                sentence.planting,
                sentence.out_of,
                sentence.out_of_kind,
                sentence.money,
                sentence.words,
                sentence.readings,
                remark,
                sentence.confirmed,
                listed,
            )
        )

    def _add_further(self, item: Item, text: str) -> None:
        """Add the lines behind the text of an item's sentence, which are prose."""
        further = further_after(item, text)
        if further:
            self.add_lines(further[0][0], item.end, nested=True)

    # ---- batches

    def _recipe(self, item: Item, amounts: list[Amount], remarks: list[str]) -> tuple[bool, list[Listed]]:
        """Read the list below a batch's line, amounts and remarks: whether all was read, and its lines."""
        is_whole = True
        listed: list[Listed] = []
        for child in item.children or ():
            is_whole = self._ingredient(child, amounts, remarks, listed) and is_whole
        return is_whole, listed

    def _wrong_with_batch(
        self, item: Item, sentence: Sentence, amounts: list[Amount], *, is_whole: bool
    ) -> Unread | None:
        name = sentence.batch or ""
        start = max(item.text.find(name, len("mixed ") + len(sentence.batch_kind)), 0)
        mixing = self.known.mixings.get(fold(name))
        if mixing is None:
            what = "a bin" if name in self.known.bins else "a material"
            return Unread(Fault.BATCH_NAME_TAKEN, start, name, what=what)
        if (mixing.place.file, mixing.place.line) != (self.file, item.line):
            return Unread(Fault.BATCH_TWICE, start, name, where=str(mixing.place))
        if not amounts and is_whole:
            return Unread(Fault.NO_INGREDIENTS, start, name)
        if any(amount.is_batch and amount.material == mixing.name for amount in amounts):
            return Unread(Fault.BATCH_OF_ITSELF, start, name)
        return None

    def _ingredient(
        self, child: Item, amounts: list[Amount], remarks: list[str], listed: list[Listed]
    ) -> bool:
        """Read one item of a recipe; whether it could be read."""
        if read_verb(child.text, 0) is not None:
            self.read_item(child, nested=True)
            return True
        text = child.text
        if child.more is not None:
            text = own_text(self.known, child)
            self._remark_on_lines_apart(child, text)
        is_read = True
        try:
            found = read_ingredients(self.known, text)
        except Unread as wrong:
            if child.is_open:
                self._leave_open(child)
            else:
                self._report(child, wrong)
                is_read = False
        else:
            if found is None:
                self.part.prose += 1
            elif child.is_open:
                self._leave_open(child)
            else:
                self.part.read += 1
                self._add_ingredients(child, text, found, amounts, listed)
                remarks.extend(found.remarks)
        for grandchild in child.children or ():
            self.read_item(grandchild, nested=True)
        return is_read

    def _leave_open(self, child: Item) -> None:
        self.part.prose += 1
        self._remark(Fault.OPEN_BOX, child.line, child.column, child.text)

    def _add_ingredients(
        self, child: Item, text: str, found: Ingredients, amounts: list[Amount], listed: list[Listed]
    ) -> None:
        first = len(amounts)
        amounts.extend(found.amounts)
        place = self.scanned.place(child.line, child.column)
        listed.append(Listed(place, text, first, len(amounts), found.confirmed))
        if found.date is not None:
            self._remark(Fault.INGREDIENT_DATE, child.line, child.column, text, date=str(found.date))

    # ---- findings

    def _keep_as_prose(self, item: Item, *, nested: bool) -> None:
        self.part.prose += 1
        self.add_lines(item.line, item.end, nested=nested)
        text = item.text
        if item.is_open:
            if read_verb(text, 0) is not None:
                self._remark(Fault.OPEN_BOX, item.line, item.column, text)
        elif WEIGHT.search(text) is not None or holds_measure(self.known, text):
            self._remark(Fault.NO_VERB, item.line, item.column, text)
        elif (dated := front_date(text)) is not None and (item.children or is_all(text, dated[0])):
            self._remark(Fault.DATE_ALONE, item.line, item.column, text[: dated[0]].strip("*_"), iso=dated[1])

    def _report(self, item: Item, wrong: Unread) -> None:
        self.flush()
        self.part.unread += 1
        line, column = locate(item, wrong.start)
        source = self.scanned.raw[line - 1]
        place = self.scanned.place(line, column)
        self.part.problems.append(problem(wrong.fault, place, wrong.words, source, **wrong.blanks))

    def _remark(self, fault: Fault, line: int, column: int, words: str, **blanks: str) -> None:
        place = self.scanned.place(line, column)
        self.part.remarks.append(problem(fault, place, words, self.scanned.raw[line - 1], **blanks))

    def _remark_on_lines_apart(self, item: Item, text: str) -> None:
        """Remark on lines below an item's sentence that are neither of it nor prose.

        Below prose, which goes on as it likes, only what can hardly be anything else is one of them.
        """
        is_prose = item.is_open or read_verb(item.text, 0) is None
        for line, column, words, fault, iso in told_apart(self.known, item, text, is_surely=is_prose):
            self._remark(fault, line, column, words, iso=iso)


def locate(item: Item, position: int) -> tuple[int, int]:
    """Give the line and column of a position in an item's joined text."""
    length = len(item.text)
    if position <= length or not item.more:
        return item.line, item.column + position
    for line, column, text, _ in item.more:
        position -= length + 1
        length = len(text)
        if position <= length:
            return line, column + position
    return item.line, item.column
