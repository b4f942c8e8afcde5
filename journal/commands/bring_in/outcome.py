"""What bringing a file in comes to: the lines that are new, what is asked, and how they are written."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import NamedTuple

from journal.commands.bring_in.columns import guess_columns, tell_columns
from journal.commands.bring_in.dates import date_order, likely_year, read_date
from journal.commands.bring_in.entries import (
    NewLine,
    Sifted,
    as_markdown,
    as_prose,
    file_name,
    opening,
    sift,
)
from journal.commands.bring_in.heads import KnownNames
from journal.commands.bring_in.introducing import SECTIONS, add_names, with_names
from journal.commands.bring_in.phone import PhoneNote, read_note, uncounted
from journal.commands.bring_in.questions import Question, Settled, Told, questions_of, reasons_of, settle
from journal.commands.bring_in.rows import Reading, read_rows
from journal.commands.bring_in.sentences import Plan
from journal.commands.bring_in.sheets import Row, decode, read_bytes, read_sheet
from journal.commands.bring_in.sums import disagreements
from journal.commands.bring_in.tables import Table, tables_of
from journal.commands.bring_in.trial import Trial
from journal.commands.console import Refusal
from journal.commands.together import earlier_text, put_together, resolved
from journal.commands.writing import DISK, Disk
from journal.measures.units import POUND
from journal.notes.amounts import Unread
from journal.notes.household import Household
from journal.notes.known import Known
from journal.notes.lines import Sentence, read_batch_name
from journal.notes.names import fold
from journal.notes.records import Notes


class Journal(NamedTuple):
    """The journal that something is brought into."""

    folder: Path
    notes: Notes
    texts: Mapping[str, str]

    @classmethod
    def read(cls, folder: Path) -> Journal:
        """Read it; its problems are proofread's to list."""
        from journal.commands.files import decode, entries_among, gather, read_journal

        return cls(folder, read_journal(folder), entries_among(decode(gather(folder)[0])[0]))

    @property
    def metric(self) -> bool:
        """Whether the household weighs in kilograms."""
        return self.notes.household.units == "metric"

    @property
    def newest(self) -> int:
        """The year of the newest entry; of a journal without any, one for an example."""
        return max((entry.date.year for entry in self.notes.entries), default=2024)

    def tried(
        self, sifted: Sifted, names: Mapping[str, Sequence[str]]
    ) -> tuple[Sifted, list[tuple[str, str]]]:
        """Read what is new as the journal will; give it, and what cannot stand as a record after all."""
        household = with_names(self.notes.household, names)
        new, unread = Trial(self.texts, household, self.notes.catalogue).of(sifted.new)
        return sifted._replace(new=new), unread

    def known(self, household: Household | None = None, batches: Mapping[str, str] | None = None) -> Known:
        """Give what a line may name."""
        return Known(
            household or self.notes.household, self.notes.catalogue, {**self.notes.batches, **(batches or {})}
        )


@dataclass
class Outcome:
    """All that is told of a file, and what will be written."""

    file: str  # below entries/
    source: str
    how: str
    columns: Sequence[Sequence[str]] = ()  # of each: its table where there are several, letters, head, …
    reasons: Sequence[str] = ()
    questions: Sequence[Question] = ()
    sifted: Sifted = field(default_factory=lambda: Sifted([], [], []))
    unread: Sequence[tuple[str, str]] = ()  # where, and why
    counted: Sequence[str] = ()
    warnings: Sequence[str] = ()  # what may have been meant otherwise
    preamble: str = ""  # what stood above the first date
    names: Mapping[str, Sequence[str]] = field(default_factory=dict)

    @property
    def markdown(self) -> str:
        """The new entries as they will be written."""
        return as_markdown(self.sifted.new)

    def write(self, journal: Journal, disk: Disk = DISK) -> list[str]:
        """Write what is new into the journal, whose entries are locked; give the files' names."""
        entries = journal.folder / "entries"
        files: dict[str, bytes] = {}
        told = []
        if any(self.names.values()):
            name = resolved(entries, "household.yaml")
            files[name] = add_names(earlier_text(entries / name), self.names).encode("utf-8")
            words = ", ".join(name for names in self.names.values() for name in names)
            told.append(f"entries/household.yaml (new names: {words})")
        if self.sifted.new:
            name = resolved(entries, self.file)
            files[name] = self._added_to(earlier_text(entries / name)).encode("utf-8")
            told.append(f"entries/{self.file}")
        put_together(entries, files, disk)
        return told

    def _added_to(self, earlier: str) -> str:
        """Give the text of the file with what is new at its end, its line ends kept."""
        text = f"{earlier.rstrip()}\n\n" if earlier.strip() else opening(self.source) + self.preamble
        text += self.markdown
        return text.replace("\r\n", "\n").replace("\n", "\r\n") if "\r\n" in earlier else text


def from_sheet(
    journal: Journal, path: Path, told: Told, sheets: Sequence[str] = (), *, introduce: bool = False
) -> Outcome:
    """Read a spreadsheet into an outcome; Refusal where it is none."""
    sheet = read_sheet(path, sheets)
    household = journal.notes.household
    tables = tables_of(sheet.rows, KnownNames.of(household, journal.notes.catalogue))
    if not tables:
        raise Refusal(f'"{path.name}" holds no rows', "see that it is the right file")
    _refuse_sideways(tables, path.name)
    names: dict[str, list[str]] = {}
    settled = _settle(journal, tables, told, household)
    if introduce:
        names = _unknown_names(zip(settled, tables, strict=True))
        settled = _settle(journal, tables, told, with_names(household, names))
    outcome = Outcome(
        file_name(path.name), path.name,
        f"{path.name}: {sum(len(table.rows) for table in tables)} rows, {sheet.how}",
        _columns_told(tables, settled), reasons_of(tables, settled), questions_of(tables, settled),
        names=names,
    )  # fmt: skip
    if not outcome.questions:
        readings = [read_rows(each.plan, table.rows) for each, table in zip(settled, tables, strict=True)]
        _take(outcome, readings, journal)
        outcome.warnings = [
            words
            for each, table in zip(settled, tables, strict=True)
            for words in disagreements(each.plan, table.rows)
        ]
    return outcome


def _refuse_sideways(tables: Sequence[Table], name: str) -> None:
    """Refuse a table whose dates stand side by side, above its columns."""
    for table in tables:
        dates = [cell for cell in table.rows[0].cells if isinstance(cell, dt.date) or read_date(str(cell))]
        if table.heads is None and len(dates) > 2:  # noqa: PLR2004 - a row of data has a date or two
            raise Refusal(
                f'"{name}" has its dates side by side in {table.rows[0].label}, a column each',
                "turn the table round, so that each date has a row: copy it and paste it as transposed",
            )


def _take(outcome: Outcome, readings: Sequence[Reading], journal: Journal) -> None:
    """Take what the tables' rows came to into an outcome."""
    lines = [line for reading in readings for line in reading.lines]
    new = [NewLine(line.date, line.text, line.sentence is not None, line.row) for line in lines]
    outcome.sifted, wrong = journal.tried(sift(new, journal.notes, outcome.file), outcome.names)
    outcome.unread = [*(each for reading in readings for each in reading.unread), *wrong]
    outcome.counted = [
        *_counts((line.sentence for line in lines), metric=journal.metric),
        *_rests(readings),
    ]


def _settle(journal: Journal, tables: Sequence[Table], told: Told, household: Household) -> list[Settled]:
    names = KnownNames.of(household, journal.notes.catalogue)
    guessed = [guess_columns(table.rows, table.heads, names) for table in tables]
    columns = tell_columns(guessed, told.columns, names)
    known = journal.known(household)
    return [
        settle(each, table.rows, told, names, known, journal.newest)
        for each, table in zip(columns, tables, strict=True)
    ]


def _columns_told(tables: Sequence[Table], settled: Sequence[Settled]) -> list[Sequence[str]]:
    """Say of each column what it is taken for, and why; of several tables also whose it is."""
    several = len(tables) > 1
    return [
        (*([table.name] * several), column.letters, column.head, column.told(), column.why)
        for table, each in zip(tables, settled, strict=True)
        for column in each.plan.columns
    ]


def _unknown_names(read: Iterable[tuple[Settled, Table]]) -> dict[str, list[str]]:
    """Give the givers, bins and plantings that rows name and the journal does not know."""
    found: dict[str, dict[str, str]] = {kind: {} for kind in SECTIONS}
    for settled, table in read:
        for kind, words in _unknown_in(settled.plan, table.rows):
            found[kind].setdefault(fold(words), words)
    return {kind: sorted(names.values(), key=str.casefold) for kind, names in found.items() if names}


def _unknown_in(plan: Plan, rows: Sequence[Row]) -> Iterator[tuple[str, str]]:
    while True:  # a row may name several, of which only the first is told
        unknown = [name for name in read_rows(plan, rows).unknown if name[0] in SECTIONS]
        if not unknown:
            return
        household = plan.known.household
        for kind, words in unknown:
            household = with_names(household, {kind: [words]})
        yield from unknown
        names = KnownNames.of(household, plan.known.catalogue)
        known = Known(household, plan.known.catalogue, plan.known.batches)
        plan = replace(plan, names=names, known=known)


def _counts(sentences: Iterable[Sentence | None], *, metric: bool) -> Iterator[str]:
    """Say how many lines there are, and how much they add up to, by verb, in the household's unit first."""
    lines: Counter[str] = Counter()
    masses: dict[str, list[float]] = defaultdict(list)
    for sentence in sentences:
        verb = "prose" if sentence is None else sentence.verb
        lines[verb] += 1
        if sentence is not None:
            masses[verb] += [amount.kg for amount in sentence.amounts]
    for verb, count in lines.most_common():
        kg = math.fsum(masses[verb])
        weighed = [f"{kg / float(POUND):,.2f} lb", f"{kg:,.2f} kg"]
        own, other = reversed(weighed) if metric else weighed
        mass = f": {own} ({other})" if masses[verb] else ""
        yield f"{verb}, {count} line{'s' * (count != 1)}{mass}"


def _rests(readings: Sequence[Reading]) -> Iterator[str]:
    totals = [label for reading in readings for label in reading.totals]
    empty = sum(len(reading.empty) for reading in readings)
    if totals:
        yield f"rows of totals left out: {', '.join(totals[:5])}"
    if empty:
        yield f"rows that say nothing to bring in: {empty}"


def from_note(journal: Journal, path: Path, told: Told, *, introduce: bool = False) -> Outcome:
    """Read a phone's note into an outcome; Refusal where it is no text, or holds no date."""
    text, encoding = decode(read_bytes(path), path.name)
    text = _with_decimals(_called(text, told.calls), told.decimal, journal)
    batches = _batches_mixed_in(text)
    known = journal.known(batches=batches)
    note = read_note(text, known, told.dates, told.year)
    order, reasons, questions = _order_of_note(note, told, journal.newest)
    if note.decimals and told.decimal is None and not told.leave_out:
        sign = "point" if known.comma else "comma"
        questions += [Question(": ".join(note.decimals[0]), f"--decimal {sign}")]
    names = _names_to_introduce(note) if introduce else {}
    if names or order != told.dates:
        known = journal.known(with_names(journal.notes.household, names), batches)
        note = read_note(text, known, order, told.year)
    if not note.sections:
        raise Refusal(
            f'"{path.name}" has no line that is a date',
            "put one above what was done that day, as in 2024-03-14",
        )
    outcome = Outcome(
        file_name(path.name), path.name, f"{path.name}: {len(note.sections)} dates, {encoding}",
        reasons=reasons, questions=questions, unread=note.unread, names=names,
    )  # fmt: skip
    if not questions:
        outcome.preamble = _kept_aside(note.preamble)
        outcome.warnings = list(uncounted(note))
        sifted = sift(list(_note_lines(note)), journal.notes, outcome.file)
        outcome.sifted, wrong = journal.tried(sifted, names)
        outcome.unread = [*note.unread, *wrong]
        sentences = (line.sentence for section in note.sections for line in section.lines if line.text)
        outcome.counted = list(_counts(sentences, metric=journal.metric))
    return outcome


def _with_decimals(text: str, sign: str | None, journal: Journal) -> str:
    """Write decimals that have another sign than the journal's as the journal does."""
    own, other = (",", ".") if journal.notes.household.decimal_comma else (".", ",")
    if sign != {",": "comma", ".": "point"}[other]:
        return text
    return re.sub(rf"(?<![\d.,/-])(\d+)[{other}](\d{{1,3}})(?![\d.,])", rf"\1{own}\2", text)


def _order_of_note(note: PhoneNote, told: Told, newest: int) -> tuple[str | None, list[str], list[Question]]:
    """Settle the order of all-digit dates in a note: the order, why, and what must be asked."""
    reasons: list[str] = []
    questions: list[Question] = []
    order = told.dates
    if note.dates:
        found = date_order(note.dates, told.dates, told.year, has_real_dates=False)
        reasons += [f"dates: {found.why}"] * bool(found.why)
        questions += [Question(found.question, "--dates day-first, or --dates month-first")] * bool(
            found.question
        )
        order = found.order
    if note.yearless:
        where, words = note.yearless[0]
        year = likely_year((section.date for section in note.sections if section.date.year > 1), newest)
        questions.append(Question(f'"{words}" in {where} has no year: which is it?', f"--year {year}"))
    return order, reasons, questions


def _names_to_introduce(note: PhoneNote) -> dict[str, list[str]]:
    names: dict[str, list[str]] = defaultdict(list)
    for kind, words in note.unknown:
        if words not in names[kind]:
            names[kind].append(words)
    return dict(names)


def _called(text: str, calls: Mapping[str, str]) -> str:
    """Put the journal's names in the place of the note's own."""
    for words, name in calls.items():
        name_itself = name.replace("\\", r"\\")
        text = re.sub(rf"(?<!\w){re.escape(words)}(?!\w)", name_itself, text, flags=re.IGNORECASE)
    return text


def _kept_aside(lines: Iterable[str]) -> str:
    """Keep what stands above the first date, and so belongs to no day, as a comment."""
    words = [line.replace("--", "- -") for line in lines if line]
    return "\n".join(["<!-- Above the first date stood:", *words, "-->", "", ""]) if words else ""


def _note_lines(note: PhoneNote) -> Iterator[NewLine]:
    for section in note.sections:
        lines = [line for line in section.lines if line.text]
        for line in lines:
            is_record = line.sentence is not None
            text = line.text if is_record else as_prose(line.text)
            yield NewLine(section.date, text, is_record, f"line {line.number}", section.title)
        if section.title and not lines:
            yield NewLine(
                section.date, as_prose(section.title), is_record=False, row=f"line {section.number}"
            )


def _batches_mixed_in(text: str) -> dict[str, str]:
    """Give the batches that a note mixes, so that it can use them."""
    batches = {}
    for line in text.splitlines():
        bare = line.strip().lstrip("-*+•–— ")
        if bare[:5].lower() == "mixed":
            try:
                kind, name, _ = read_batch_name(bare, 5)
            except Unread:
                continue
            batches[name] = kind
    return batches
