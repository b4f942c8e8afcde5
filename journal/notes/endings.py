"""How a record line ends: remarks behind a comma or in parentheses, and a date of its own.

A remark ``(it is right)`` says that a figure that looks like a slip is meant.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, field

from journal.notes.amounts import Unread
from journal.notes.dates import DateProblem, read_date
from journal.notes.faults import Fault
from journal.notes.known import Known
from journal.notes.lost import refuse_lost

_BLANKS = r"(?<!\s)\s++"
"""A run of blanks as a whole; looked for from each of its blanks again, a long one would take forever."""
IT_IS_RIGHT = re.compile(
    rf"(?:\(\s*+|{_BLANKS})?+\b(?:it|this|that)(?:'s|’s|\s+is)\s+(?:all\s+)?right\b[\s,;.]*\)?", re.IGNORECASE
)
_MONTHS = r"jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|mon|tue|wed|thu|fri|sat|sun"
_ON = (
    r"(?:[,;]\s*+)?(?<![^\s,;)])on\s+"
    rf"(?:the\s+(?=\d)|(?=\d|(?:{_MONTHS})[a-z]*\.?,?\s+(?:the\s+)?\w+))"
)
ON_DATE = re.compile(rf"(?:{_BLANKS})?+{_ON}", re.IGNORECASE)
_ON_DATE_HERE = re.compile(rf"\s*+{_ON}", re.IGNORECASE)
_COMMA_ON = re.compile(rf"(?:{_BLANKS})?+[,;]\s*+on\s", re.IGNORECASE)
_SPACE = re.compile(r"[\s.!]*")
_MARK = re.compile(r"\s*(?:[,;:.!?—–]|-\s)\s*")
_AFTER_DATE = re.compile(r"\s*(?:$|[,;.(!—–]|-\s)")


@dataclass(slots=True)
class Ending:
    """What stands behind a sentence that is whole."""

    remarks: list[str] = field(default_factory=list)
    date: dt.date | None = None
    confirmed: bool = False

    def add(self, words: str) -> None:
        """Add a remark; "it is right" in it is taken as the keeper's word."""
        kept = IT_IS_RIGHT.sub("", words).strip(" ,;.")
        if kept != words.strip(" ,;.") and IT_IS_RIGHT.search(words):
            self.confirmed = True
            words = kept
        if words.strip():
            self.remarks.append(words.strip())


def read_ending(known: Known, text: str, position: int) -> Ending:
    """Read to the end of the line; raises Unread where words are left over that are no remark."""
    ending = Ending()
    while (position := _SPACE.match(text, position).end()) < len(text):  # type: ignore[union-attr]  # always matches
        if text[position] == "(":
            position, words = read_parenthesis(text, position)
            ending.add(words)
            continue
        dated = read_on_date(text, position)
        if dated is not None:
            if ending.date is not None:
                raise Unread(Fault.TWICE, position, text[position : dated[0]])
            position, ending.date = dated
            continue
        position = _read_remark(known, text, position, ending)
    return ending


def read_parenthesis(text: str, position: int) -> tuple[int, str]:
    """Read what stands in parentheses, others inside it included."""
    depth = 0
    for at in range(position, len(text)):
        if text[at] == "(":
            depth += 1
        elif text[at] == ")":
            depth -= 1
            if depth == 0:
                return at + 1, text[position + 1 : at].strip()
    raise Unread(Fault.OPEN_PARENTHESIS, position, text[position:])


def read_on_date(text: str, position: int) -> tuple[int, dt.date] | None:
    """Read ", on 2026-03-12"; raises Unread where a date is meant that is none."""
    on = _ON_DATE_HERE.match(text, position)
    if on is None:
        return None
    try:
        found = read_date(text, on.end())
    except DateProblem as wrong:
        end = wrong.start + len(wrong.words)
        if wrong.fault is Fault.DATE_WITHOUT_YEAR and not _AFTER_DATE.match(text, end):
            return None
        raise Unread(wrong.fault, wrong.start, wrong.words, **wrong.blanks) from None
    if found is None or not _AFTER_DATE.match(text, found[0]):
        return None
    return found


def _read_remark(known: Known, text: str, position: int, ending: Ending) -> int:
    mark = _MARK.match(text, position)
    if mark is None:
        # The space skipped in front may have swallowed a full stop: a new sentence is a remark too.
        before = text[:position].rstrip()
        if not before.endswith((".", "!")):
            raise Unread(Fault.LEFT_OVER, position, text[position:])
        start = position
    else:
        start = mark.end()
    end = _remark_end(text, start)
    refuse_lost(known, text, start, end)
    ending.add(text[start:end])
    return end


def _remark_end(text: str, start: int) -> int:
    """Find where a remark stops: at a date of the line's own behind a comma, or at the end."""
    for comma in _COMMA_ON.finditer(text, start):
        if read_on_date(text, comma.start()) is not None:
            return comma.start()
    return len(text)
