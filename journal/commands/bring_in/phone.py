"""A phone's note: date lines, then bare sentences.  Records get a dash, the rest stays prose."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from journal.commands.bring_in.dates import DateReading
from journal.commands.bring_in.dates import read_date as read_any_date
from journal.commands.bring_in.sheets import plain_words
from journal.measures.units import read_unit
from journal.notes.amounts import Unread, read_amounts
from journal.notes.dates import DateProblem, read_date
from journal.notes.faults import Fault
from journal.notes.known import Known
from journal.notes.lines import Sentence, read_sentence
from journal.notes.verbs import read_verb

_BULLET = re.compile(r"(?:(?:[-*+•◦▪‣–—·]|\[[ xX✓]?\]|[☐☑✓✔])\s+)+")
_DECORATION = re.compile(r"^\s*(?:#{1,6}\s+)?(?:\*\*|__)?(.*?)(?:\*\*|__)?\s*$")
_AFTER_DATE = re.compile(r"\s*(?::|[-–—]\s|,)\s*")
_SENTENCE_END = re.compile(
    r"(?<=[.!?;])(?<!\bmr\.)(?<!\bmrs\.)(?<!\bms\.)(?<!\bdr\.)(?<!\bst\.)(?<!\bca\.)\s+(?=\S)", re.IGNORECASE
)
_AMOUNT = re.compile(r"\d|[¼½¾⅓⅔]|\b(?:half|a couple|one|two|three|four|five|six) ", re.IGNORECASE)
_TITLE_WORDS = 8
_TITLE = re.compile(r"mrs?|ms|dr|st", re.IGNORECASE)
_MIXED = re.compile(r"mixed\s+(?:a\s+)?(?:bedding|slurry)\b", re.IGNORECASE)


class NoteLine(NamedTuple):
    """One line for the journal, from one line of the note; ``sentence`` is None where it is prose."""

    text: str
    number: int
    sentence: Sentence | None


@dataclass
class Section:
    """What stands below one date line."""

    date: dt.date
    title: str
    number: int
    lines: list[NoteLine] = field(default_factory=list)


@dataclass
class PhoneNote:
    """A whole note: what stood above the first date, its sections, and lines that could not be read."""

    preamble: list[str] = field(default_factory=list)
    sections: list[Section] = field(default_factory=list)
    unread: list[tuple[str, str]] = field(default_factory=list)
    unknown: list[tuple[str, str]] = field(default_factory=list)  # kind and words of names nobody knows
    dates: list[tuple[str, str]] = field(default_factory=list)  # where and text of all-digit dates
    yearless: list[tuple[str, str]] = field(default_factory=list)
    decimals: list[tuple[str, str]] = field(default_factory=list)  # where, and why a number is two


def read_note(text: str, known: Known, order: str | None, year: int | None) -> PhoneNote:
    """Read a note.  ``order`` and ``year`` give a meaning to all-digit dates and to those without a year."""
    note = PhoneNote()
    lines = text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "").split("\n")
    numbered = iter(enumerate(_clean(lines), 1))
    pending: list[tuple[int, str]] = []  # the ingredients of a batch stand below it, a line each
    for number, line in numbered:
        if pending and _is_ingredient(known, line):
            pending.append((number, line))
            continue
        if pending:
            _add_batch(note, known, pending)
            pending = []
        first_words = _open_section(note, line, number, order, year)
        if first_words is not None:
            if first_words:
                _add(note, known, first_words, number)
            continue
        if note.sections and _MIXED.match(_bare(line)) and _amountless(_bare(line)):
            pending = [(number, _bare(line))]
        else:
            _add(note, known, line, number)
    if pending:
        _add_batch(note, known, pending)
    return note


def _clean(lines: Sequence[str]) -> Iterator[str]:
    for line in lines:
        yield plain_words(line.replace("\u00a0", " "))


def _bare(line: str) -> str:
    """Give a line without the mark of a list."""
    found = _BULLET.match(line)
    return line[found.end() :] if found is not None else line


def _amountless(line: str) -> bool:
    return ":" not in line or line.rstrip().endswith(":")


def _open_section(note: PhoneNote, line: str, number: int, order: str | None, year: int | None) -> str | None:
    """Open a section where a line is a date line, and give what stands on it beside a title; else give None.

    A date that is not clear opens one too, so that all questions are put at once.
    """
    bare = _bare(line.strip())
    decorated = _DECORATION.match(bare)
    words = decorated[1].strip() if decorated is not None else bare
    if not re.match(r"[A-Za-z]{3,9}\b|\d", words):
        return None
    end, reading = _date_at(words, year)
    if reading is None:
        return None
    after = _AFTER_DATE.match(words, end)
    title = words[end if after is None else after.end() :].strip()
    is_record = read_verb(_bare(title), 0) is not None and bool(_AMOUNT.search(title))
    is_headed = line.startswith("#") or (bare == line.strip() and _is_title(words[end:]))
    if title and after is None and not is_record and not is_headed:
        return None
    if reading.weekday_differs:
        note.unread.append((f"line {number}", f'"{words[:end]}": the weekday is not that date\'s'))
    day = reading.meaning(order)
    if reading.either is None:
        (note.yearless if reading.needs_year else note.dates).append((f"line {number}", words[:end]))
    note.sections.append(Section(day or dt.date.min, "" if is_record else title, number))
    return title if is_record else ""


def _is_title(rest: str) -> bool:
    """Whether what stands behind a date without a mark is a title, and not the rest of a sentence."""
    words = rest.split()
    return rest[:1].isspace() and len(words) <= _TITLE_WORDS and not rest.rstrip().endswith((".", "!", "?"))


def _date_at(words: str, year: int | None) -> tuple[int, DateReading | None]:
    """Read a date at the beginning of a line: the position behind it and what it can mean."""
    try:
        found = read_date(words, 0)
    except DateProblem as wrong:
        end = wrong.start + len(wrong.words)
        if wrong.fault is Fault.WRONG_WEEKDAY:
            return end, DateReading(either=wrong.day, weekday_differs=True)
        reading = read_any_date(words[:end], year)
        alone = _AFTER_DATE.match(words, end) or end == len(words)
        return (end, reading) if reading is not None and (not reading.needs_year or alone) else (0, None)
    if found is not None:
        return found[0], DateReading(either=found[1])
    return (len(words), read_any_date(words, year))


def _add(note: PhoneNote, known: Known, line: str, number: int) -> None:
    """Add a line to its section: records with a dash, the rest as prose."""
    if not note.sections:
        if line and read_verb(_bare(line), 0) is not None and _AMOUNT.search(line):
            note.unread.append((f"line {number}", "it stands above the first date"))
        note.preamble.append(line)
        return
    note.sections[-1].lines.extend(_read_line(note, known, line, number))


def _read_line(note: PhoneNote, known: Known, line: str, number: int) -> Iterator[NoteLine]:
    bare = _bare(line)
    if read_verb(bare, 0) is None and not _SENTENCE_END.search(bare):
        yield NoteLine(line, number, None)
        return
    whole = _sentence(known, bare)
    parts = [(part, _sentence(known, part)) for part in _SENTENCE_END.split(bare)]
    if isinstance(whole, Sentence) and not any(isinstance(read, Sentence) for _, read in parts[1:]):
        yield NoteLine(bare, number, whole)
        return
    if not any(isinstance(read, Sentence) or _is_meant(part, read) for part, read in parts):
        yield NoteLine(bare if whole is not None else line, number, None)
        return
    for part, read in parts:
        if isinstance(read, Sentence):
            yield NoteLine(part.rstrip(";"), number, read)
            continue
        if read is not None and _is_meant(part, read):
            why = (f"line {number}", read.fault.sentence.format(**{"words": read.words, **read.blanks}))
            note.unread.append(why)
            note.decimals += [why] if read.fault is Fault.DECIMAL_COMMA else []
            kind = _KINDS.get(read.fault)
            note.unknown += [(kind, _whole_name(part, read.words))] if kind is not None else []
        yield NoteLine(part, number, None)


_KINDS = {Fault.UNKNOWN_GIVER: "giver", Fault.UNKNOWN_BIN: "bin", Fault.UNKNOWN_PLANTING: "planting"}
_NAME_BEGINS = re.compile(r"^(?:the|our)\s+", re.IGNORECASE)


def _whole_name(part: str, words: str) -> str:
    """Give a name without what begins it, and with what follows its full stop, as in "Mrs. Bell"."""
    name = _NAME_BEGINS.sub("", words)
    title = re.search(rf"\b{re.escape(name)}\.\s+[\w'-]+", part) if _TITLE.fullmatch(name) else None
    return name if title is None else title[0]


def _is_meant(part: str, read: Sentence | Unread | None) -> bool:
    """Whether words that cannot be read are meant as a record: they begin with a verb and say how much."""
    return isinstance(read, Unread) and _AMOUNT.search(part) is not None


def _sentence(known: Known, text: str) -> Sentence | Unread | None:
    """Read a sentence: what it says, why it cannot be read, or None where it begins with no verb."""
    try:
        return read_sentence(known, text)
    except Unread as wrong:
        return wrong


def uncounted(note: PhoneNote) -> Iterator[str]:
    """Say which lines of prose hold a weight or a volume, and so may be records that lack their verb."""
    told = {where for where, _ in note.unread}
    for section in note.sections:
        for line in section.lines:
            if line.sentence is None and f"line {line.number}" not in told and _holds_measure(line.text):
                yield f'line {line.number} is kept as prose and not counted: "{line.text[:60]}"'


def _holds_measure(text: str) -> bool:
    for number in re.finditer(r"[\d¼½¾]\s*", text):
        unit = read_unit(text, number.end())
        if unit is not None and unit[1].kind != "area":
            return True
    return False


def _is_ingredient(known: Known, line: str) -> bool:
    bare = _bare(line)
    if not re.match(r"[\d¼½¾.~]|about |half |an? ", bare, re.IGNORECASE):
        return False
    try:
        found = read_amounts(known, bare, 0, [])
    except Unread:
        return False
    return found is not None and found[0] == len(bare.rstrip(" .,"))


def _add_batch(note: PhoneNote, known: Known, pending: Sequence[tuple[int, str]]) -> None:
    """Add a batch whose ingredients stand below it, as one line."""
    (number, line), *ingredients = pending
    amounts = ", ".join(_bare(each).rstrip(" .,") for _, each in ingredients)
    _add(note, known, f"{line.rstrip(' :')}: {amounts}" if amounts else line, number)
