"""What bringing a file in comes to: the lines that are new, what is asked, and how they are written."""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import NamedTuple

from journal.commands.bring_in.columns import KnownNames, guess_columns, header_row
from journal.commands.bring_in.dates import date_order
from journal.commands.bring_in.entries import (
    NewLine,
    Sifted,
    as_markdown,
    as_prose,
    file_name,
    opening,
    sift,
)
from journal.commands.bring_in.introducing import SECTIONS, add_names, with_names
from journal.commands.bring_in.phone import PhoneNote, read_note, uncounted
from journal.commands.bring_in.questions import Question, Settled, Told, settle
from journal.commands.bring_in.rows import Plan, Reading, read_rows
from journal.commands.bring_in.sheets import Row, decode, read_bytes, read_sheet
from journal.commands.bring_in.sums import disagreements
from journal.commands.bring_in.trial import Trial
from journal.commands.console import Refusal
from journal.commands.together import earlier_text, put_together, resolved
from journal.commands.writing import DISK, Disk
from journal.measures.units import POUND
from journal.notes.amounts import Unread
from journal.notes.household import Household
from journal.notes.known import Known
from journal.notes.lines import Sentence, read_batch_name
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
    columns: Sequence[Sequence[str]] = ()
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
    heads_at = header_row(sheet.rows)
    heads = None if heads_at is None else sheet.rows[heads_at]
    rows = [
        row
        for row in sheet.rows[0 if heads_at is None else heads_at + 1 :]
        if heads is None or not _repeats(row, heads)
    ]
    if not rows:
        raise Refusal(f'"{path.name}" holds no rows', "see that it is the right file")
    names: dict[str, list[str]] = {}
    settled = _settle(journal, rows, heads, told, journal.notes.household)
    if introduce:
        names = _unknown_names(settled.plan, rows)
        settled = _settle(journal, rows, heads, told, with_names(journal.notes.household, names))
    outcome = Outcome(
        file_name(path.name), path.name, f"{path.name}: {len(rows)} rows, {sheet.how}",
        [(column.letters, column.head, column.told(), column.why) for column in settled.plan.columns],
        settled.reasons, settled.questions, names=names,
    )  # fmt: skip
    if not settled.questions:
        reading = read_rows(settled.plan, rows)
        new = [NewLine(line.date, line.text, line.sentence is not None, line.row) for line in reading.lines]
        outcome.sifted, wrong = journal.tried(sift(new, journal.notes, outcome.file), names)
        outcome.unread = [*reading.unread, *wrong]
        outcome.counted = [*_counts(line.sentence for line in reading.lines), *_rests(reading)]
        outcome.warnings = list(disagreements(settled.plan, rows))
    return outcome


def _repeats(row: Row, heads: Row) -> bool:
    return row.cells == heads.cells


def _settle(
    journal: Journal, rows: Sequence[Row], heads: Row | None, told: Told, household: Household
) -> Settled:
    names = KnownNames.of(household, journal.notes.catalogue)
    return settle(guess_columns(rows, heads, names), rows, told, names, journal.known(household))


def _unknown_names(plan: Plan, rows: Sequence[Row]) -> dict[str, list[str]]:
    """Give the givers, bins and plantings that rows name and the journal does not know."""
    found: dict[str, list[str]] = defaultdict(list)
    while True:  # a row may name several, of which only the first is told
        unknown = [name for name in read_rows(plan, rows).unknown if name[0] in SECTIONS]
        if not unknown:
            return {kind: sorted(words, key=str.casefold) for kind, words in found.items()}
        household = plan.known.household
        for kind, words in unknown:
            found[kind].append(words)
            household = with_names(household, {kind: [words]})
        names = KnownNames.of(household, plan.known.catalogue)
        known = Known(household, plan.known.catalogue, plan.known.batches)
        plan = replace(plan, names=names, known=known)


def _counts(sentences: Iterable[Sentence | None]) -> Iterator[str]:
    """Say how many lines there are, and how much they add up to, by verb."""
    lines: Counter[str] = Counter()
    masses: dict[str, list[float]] = defaultdict(list)
    for sentence in sentences:
        verb = "prose" if sentence is None else sentence.verb
        lines[verb] += 1
        if sentence is not None:
            masses[verb] += [amount.kg for amount in sentence.amounts]
    for verb, count in lines.most_common():
        kg = math.fsum(masses[verb])
        mass = f": {kg / float(POUND):,.2f} lb ({kg:,.2f} kg)" if masses[verb] else ""
        yield f"{verb}, {count} line{'s' * (count != 1)}{mass}"


def _rests(reading: Reading) -> Iterator[str]:
    if reading.totals:
        yield f"rows of totals left out: {', '.join(reading.totals[:5])}"
    if reading.empty:
        yield f"rows that say nothing to bring in: {len(reading.empty)}"


def from_note(journal: Journal, path: Path, told: Told, *, introduce: bool = False) -> Outcome:
    """Read a phone's note into an outcome; Refusal where it is no text, or holds no date."""
    text, encoding = decode(read_bytes(path), path.name)
    text = _called(text, told.calls)
    batches = _batches_mixed_in(text)
    known = journal.known(batches=batches)
    note = read_note(text, known, told.dates, told.year)
    order, reasons, questions = _order_of_note(note, told)
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
        outcome.counted = list(
            _counts(line.sentence for section in note.sections for line in section.lines if line.text)
        )
    return outcome


def _order_of_note(note: PhoneNote, told: Told) -> tuple[str | None, list[str], list[Question]]:
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
        questions.append(Question(f'"{words}" in {where} has no year: which is it?', "--year 2024"))
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
