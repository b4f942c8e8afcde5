"""Each list item ends as exactly one of three: a record, prose, or a problem that says where and why."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from journal.measures.units import UNITS
from journal.notes.amounts import Unread
from journal.notes.entries import Draft, Item, Passage, Scanned
from journal.notes.faults import Fault
from journal.notes.known import Known
from journal.notes.lines import Sentence, read_sentence
from journal.notes.names import fold
from journal.notes.place import Place, Problem, problem
from journal.notes.recipes import read_ingredients
from journal.notes.records import Amount, Entry, Line, Prose, Record
from journal.notes.verbs import read_verb

_UNIT_WORDS = "|".join(
    re.escape(spelling).replace(r"\ ", r"\s+")
    for unit in UNITS
    if unit.kind != "area"
    for spelling in sorted(unit.spellings, key=len, reverse=True)
)
_WEIGHT = re.compile(
    rf"(?:\d|[¼½¾⅓⅔⅛⅜⅝⅞]|(?<!\w)(?:a|an|half|one|two|three|four|five|six|couple of|few|some))\s*(?:{_UNIT_WORDS})(?![\w³²'’])",
    re.IGNORECASE,
)
_BOX = re.compile(r"\[([ xX✓✔])\]\s+")
_LOOSE = re.compile(r"[ \t>]*(?:[-*+–—•·▪◦]|\d{1,9}[.)])?[ \t]*")

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

    def entries(self, first_record: int) -> Iterator[Entry]:
        """Give the entries, their records counted from ``first_record``."""
        for draft, blocks in self.drafts:
            if draft.date is not None:
                yield Entry(
                    draft.date,
                    draft.title,
                    draft.private,
                    self.scanned.place(draft.line, draft.column),
                    tuple(
                        Line(block + first_record) if isinstance(block, int) else block for block in blocks
                    ),
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
    if draft.date is not None:
        part.drafts.append((draft, reader.blocks))
    elif not draft.why.startswith("the heading"):
        reader.remark_on_preface()
    reader.remark_on_suspects()


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
        self.nested = False

    # ---- prose

    def add_lines(self, start: int, end: int, *, nested: bool = False) -> None:
        """Add lines of prose; what lay between them and the prose before was empty."""
        if not self.lines:
            self.first, self.nested = start, nested
        elif start > self.last + 1:
            self.lines.append("")
        self.lines.extend(self.scanned.lines[start - 1 : end])
        self.last = end

    def flush(self) -> None:
        """End the prose under way."""
        if not self.lines:
            return
        lines = self.lines
        if self.nested:
            # Under a record its item is gone, so what lay inside it moves to the margin.
            margin = min((len(line) - len(line.lstrip()) for line in lines if line.strip()), default=0)
            lines = [line[margin:] for line in lines]
        text = "\n".join(lines).strip("\n")
        if text.strip():
            self.blocks.append(Prose(text, Place(self.file, self.first, 1)))
        self.lines = []

    # ---- items

    def read_item(self, item: Item, *, nested: bool = False) -> None:
        """Read an item and those inside it."""
        try:
            outcome = self._sentence_of(item)
        except Unread as wrong:
            self.flush()
            self._report(item, wrong)
            outcome = None
            if item.children and item.text[:5].lower() == "mixed":
                self._read_lost_recipe(item)
                return
        else:
            if outcome is None:
                self._keep_as_prose(item, nested=nested)
            else:
                self._record(item, outcome)
                return
        for child in item.children or ():
            self.read_item(child, nested=True)

    def _sentence_of(self, item: Item) -> Sentence | None:
        """Read an item's sentence: alone, or with the lines that continue it."""
        if item.text[0:1] == "[" and (box := _BOX.match(item.text)) is not None:
            return self._boxed(item, box)
        if item.more is None:
            return read_sentence(self.known, item.text)
        if read_verb(item.text, 0) is None:
            return None
        return self._wrapped(item)

    def _boxed(self, item: Item, box: re.Match[str]) -> Sentence | None:
        text = item.text[box.end() :]
        if box[1] != " ":
            item.text = text
            item.column += box.end()
            return self._sentence_of(item)
        if read_verb(text, 0) is not None:
            self._remark(Fault.OPEN_BOX, item.line, item.column, item.text)
        return None

    def _wrapped(self, item: Item) -> Sentence | None:
        """Read a sentence that runs over several lines, or one with words of prose right below it."""
        assert item.more is not None  # noqa: S101 - asked before
        whole = " ".join([item.text, *(text for _, _, text, _ in item.more)])
        starts_anew = item.more[0][2][:1].isupper() and item.text[-1:] not in ",;:-–—"
        readings = [item.text, whole] if starts_anew and item.more[0][3] else [whole, item.text]
        first: Unread | None = None
        for text in readings:
            try:
                sentence = read_sentence(self.known, text)
            except Unread as wrong:
                first = wrong if text is whole else first or wrong
                continue
            if text is whole:
                item.text = whole
                item.more = None
            return sentence
        assert first is not None  # noqa: S101 - both failed
        raise first

    def _record(self, item: Item, sentence: Sentence) -> None:
        if self.draft.date is None and sentence.date is None:
            self._report(item, Unread(Fault.NO_DATE, 0, item.text, why=self.draft.why))
            for child in item.children or ():
                self.part.unread += 1 if sentence.batch is not None and sentence.verb == "mixed" else 0
                if sentence.verb != "mixed":
                    self.read_item(child, nested=True)
            return
        amounts, remark = sentence.amounts, sentence.remark
        if sentence.verb == "mixed":
            recipe = self._recipe(item, sentence)
            if recipe is None:
                return
            amounts, remark = recipe
        self.flush()
        self.blocks.append(self._add_record(item, sentence, amounts, remark))
        self.part.read += 1
        if item.more is not None:
            self.add_lines(item.more[0][0], item.end, nested=True)
        if sentence.verb != "mixed" and item.children:
            for child in item.children:
                self.read_item(child, nested=True)

    def _add_record(self, item: Item, sentence: Sentence, amounts: tuple[Amount, ...], remark: str) -> int:
        scanned, records = self.scanned, self.part.records
        place = (
            scanned.place(item.line, item.column)
            if scanned.gaps
            else Place(self.file, item.line, item.column)
        )
        records.append(
            Record(
                sentence.verb,
                sentence.date or self.draft.date,  # type: ignore[arg-type]  # one of them is there
                amounts,
                place,
                self.entry,
                item.text,
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
            )
        )
        return len(records) - 1

    # ---- batches

    def _recipe(self, item: Item, sentence: Sentence) -> tuple[tuple[Amount, ...], str] | None:
        """Give what a batch is made of, or None where its line is a problem."""
        wrong = self._misnamed(item, sentence)
        amounts = list(sentence.amounts)
        remarks = [sentence.remark] if sentence.remark else []
        failed = False
        for child in item.children or ():
            failed = not self._ingredient(child, amounts, remarks) or failed
        if wrong is None and not amounts and not failed:
            wrong = Unread(Fault.NO_INGREDIENTS, 0, sentence.batch or "")
        itself = next(
            (amount for amount in amounts if amount.is_batch and amount.material == sentence.batch), None
        )
        if wrong is None and itself is not None:
            wrong = Unread(Fault.BATCH_OF_ITSELF, 0, sentence.batch or "")
        if wrong is not None:
            self._report(item, wrong)
            return None
        return tuple(amounts), "; ".join(remarks)

    def _misnamed(self, item: Item, sentence: Sentence) -> Unread | None:
        name = sentence.batch or ""
        mixing = self.known.mixings.get(fold(name))
        start = max(item.text.find(name), 0)
        if mixing is None:
            is_bin = name in self.known.bins
            what = "a bin" if is_bin else "a material"
            return Unread(Fault.BATCH_NAME_TAKEN, start, name, what=what)
        if (mixing.place.file, mixing.place.line) != (self.file, item.line):
            return Unread(Fault.BATCH_TWICE, start, name, where=str(mixing.place))
        return None

    def _ingredient(self, child: Item, amounts: list[Amount], remarks: list[str]) -> bool:
        """Read one item of a recipe; whether it could be read."""
        text = " ".join([child.text, *(text for _, _, text, _ in child.more or ())])
        try:
            if read_verb(text, 0) is not None:
                self.read_item(child, nested=True)
                return True
            found = read_ingredients(self.known, text, remarks)
        except Unread as wrong:
            child.text = text if child.more is None else child.text
            self._report(child, wrong)
            return False
        if found is None:
            self.part.prose += 1
        else:
            amounts.extend(found)
            self.part.read += 1
        for grandchild in child.children or ():
            self.read_item(grandchild, nested=True)
        return True

    def _read_lost_recipe(self, item: Item) -> None:
        """Read the recipe of a batch whose own line is a problem, to find the problems in it too."""
        for child in item.children or ():
            before = len(self.part.problems)
            self._ingredient(child, [], [])
            if len(self.part.problems) == before and child.children is None:
                pass

    # ---- findings

    def _keep_as_prose(self, item: Item, *, nested: bool) -> None:
        self.part.prose += 1
        self.add_lines(item.line, item.end, nested=nested and not self.lines)
        text = item.text
        if item.text[:1] == "[" and _BOX.match(text) is not None:
            return
        weight = _WEIGHT.search(text)
        if weight is None:
            weight = next(
                (
                    found
                    for found in _COUNTED.finditer(text)
                    if self.known.containers.match(text, found.end())
                ),
                None,
            )
        if weight is not None:
            self._remark(Fault.NO_VERB, item.line, item.column, text)

    def _report(self, item: Item, wrong: Unread) -> None:
        self.part.unread += 1
        line, column = locate(item, wrong.start)
        source = self.scanned.raw[line - 1]
        place = self.scanned.place(line, column)
        self.part.problems.append(problem(wrong.fault, place, wrong.words, source, **wrong.blanks))

    def _remark(self, fault: Fault, line: int, column: int, words: str, **blanks: str) -> None:
        place = self.scanned.place(line, column)
        self.part.remarks.append(problem(fault, place, words, self.scanned.raw[line - 1], **blanks))

    def remark_on_preface(self) -> None:
        """Remark on prose above the first date; a heading alone is the file's title."""
        lines = self.scanned.lines
        for block in self.draft.blocks:
            if isinstance(block, Passage):
                for number in range(block.start, block.end + 1):
                    if lines[number - 1].strip() and not lines[number - 1].startswith("#"):
                        self._remark(Fault.BEFORE_DATE, number, 1, self.file)
                        return

    def remark_on_suspects(self) -> None:
        """Remark on lines of prose that read as whole records."""
        for number, fault in self.draft.suspects:
            self._remark_if_record(number, fault)

    def _remark_if_record(self, number: int, fault: Fault) -> None:
        line = self.scanned.lines[number - 1]
        mark = _LOOSE.match(line)
        start = mark.end() if mark is not None else 0
        text = line[start:].rstrip()
        try:
            sentence = read_sentence(self.known, text)
        except Unread:
            return
        if sentence is not None:
            self._remark(fault, number, start + 1, text)


_COUNTED = re.compile(r"(?<![\w.,])\d+(?:[.,]\d+)?\s+")


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
