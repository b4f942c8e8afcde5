"""Lines of prose that look like more: records without a dash, days without a heading.  All are remarks."""

from __future__ import annotations

from collections.abc import Iterator

from journal.notes.dates import front_date, inner_date, is_all, is_title
from journal.notes.entries import Draft, Item, Passage, Scanned
from journal.notes.faults import Fault
from journal.notes.further_lines import LOOSE, lacks_dash
from journal.notes.known import Known
from journal.notes.place import Problem, problem
from journal.notes.verbs import read_verb


def on_preface(scanned: Scanned, draft: Draft) -> Iterator[Problem]:
    """Remark on prose above the first date; a heading alone is the file's title."""
    for block in draft.blocks:
        if isinstance(block, Passage):
            for number in range(block.start, block.end + 1):
                line = scanned.lines[number - 1]
                if line.strip() and not line.startswith("#"):
                    yield _remark(scanned, Fault.BEFORE_DATE, number, 1, scanned.file)
                    return


def on_suspects(known: Known, scanned: Scanned, draft: Draft) -> Iterator[Problem]:
    """Remark on lines of prose that read as records, or as the date of the records below them."""
    for number, fault in draft.suspects:
        if fault is Fault.DATE_ALONE:
            yield from _on_day(scanned, draft, number)
        elif fault is Fault.DATE_INSIDE:
            yield from _on_day_inside(scanned, draft, number)
        else:
            yield from _on_record(known, scanned, number, fault)


def _on_record(known: Known, scanned: Scanned, number: int, fault: Fault) -> Iterator[Problem]:
    line = scanned.lines[number - 1]
    mark = LOOSE.match(line)
    start = mark.end() if mark is not None else 0
    if lacks_dash(known, line.rstrip()):
        yield _remark(scanned, fault, number, start + 1, line[start:].rstrip())


def _on_day(scanned: Scanned, draft: Draft, number: int) -> Iterator[Problem]:
    """Remark on a line that is a date, or begins with one as a title of the records below it does."""
    line = scanned.lines[number - 1]
    text = line.strip()
    dated = front_date(text)
    if dated is None:
        return
    end, iso = dated
    if is_all(text, end):
        yield _remark(scanned, Fault.DATE_ALONE, number, line.find(text) + 1, text, iso=iso)
    elif is_title(text, end) and _heads_records(scanned, draft, number):
        yield _remark(scanned, Fault.DATE_ALONE, number, line.find(text) + 1, text[:end], iso=iso)


def _on_day_inside(scanned: Scanned, draft: Draft, number: int) -> Iterator[Problem]:
    inside = inner_date(scanned.lines[number - 1])
    if inside is not None and _record_behind(draft, number):
        start, words, iso = inside
        yield _remark(scanned, Fault.DATE_INSIDE, number, start + 1, words, iso=iso)


def _heads_records(scanned: Scanned, draft: Draft, number: int) -> bool:
    """Whether a line is a paragraph by itself, and the next item below it is meant as a record."""
    lines = scanned.lines
    below = lines[number].strip() if number < len(lines) else ""
    return (not below or below[0] in "-*+") and _record_behind(draft, number)


def _record_behind(draft: Draft, number: int) -> bool:
    """Whether the next item behind a line, or one inside it, begins with a verb."""
    for block in draft.blocks:
        if isinstance(block, Item) and block.line > number:
            inner = (child.text for child in block.children or ())
            return any(read_verb(text, 0) is not None for text in (block.text, *inner))
    return False


def _remark(scanned: Scanned, fault: Fault, line: int, column: int, words: str, **blanks: str) -> Problem:
    return problem(fault, scanned.place(line, column), words, scanned.raw[line - 1], **blanks)
