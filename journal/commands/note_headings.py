"""Where the entries of a file begin: looked for quickly to choose a file, exactly in the one written to."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from itertools import accumulate
from typing import NamedTuple

from journal.notes.dates import DateProblem, read_date
from journal.notes.entries import Scanned

_HEADING = re.compile(
    r"\n {0,3}#{1,6}[ \t]+[*_]*([^\n]*)"
)  # begins with a plain sign, which is found quickly
_UNDERLINE = re.compile(r"\n {0,3}(?:=+|-{2,})[ \t\r]*(?=\n)")
_ISO_WORDS = re.compile(
    r"\d{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|1\d|2[0-8])(?![\d-])"
).match  # days of every month
_MARKS = re.compile("#*")


class Heading(NamedTuple):
    """What opens an entry: where it begins in its file's text, its marks and words, and what it says.

    The marks are those in front of it, "##", or one sign of the line below it, "-" or "=".
    """

    at: int
    marks: str
    words: str
    date: dt.date | None
    private: bool = False


def headings_in(scanned: Scanned, text: str) -> list[Heading]:
    """Give the headings that open the entries of a scanned file, those too whose dates cannot be read.

    ``text`` is the file's, with plain line ends in place of those of Windows.
    """
    starts = [int(text.startswith("\ufeff")), *accumulate(len(line) + 1 for line in text.split("\n"))]
    found = []
    for draft in scanned.drafts[1:]:
        words = scanned.lines[draft.line - 1].strip(" \t")
        marks = _MARKS.match(words)[0]  # type: ignore[index]  # always matches
        words = words[len(marks) :].strip(" \t*_")
        marks = marks or scanned.lines[draft.line].strip()[0]
        found.append(Heading(starts[draft.line - 1], marks, words, draft.date, draft.private))
    return found


def likely_days(text: str) -> list[str]:
    """Give the days of a text's headings in ISO 8601, those in comments and code fences too."""
    text = "\n" + text.removeprefix("\ufeff") + "\n"
    words = [*_HEADING.findall(text), *(text[start:end] for start, end in _underlined(text))]
    days = []
    for each in words:
        if _ISO_WORDS(each):  # the usual form, in a long journal ten thousand times
            days.append(each[:10])
        elif (day := _likely_day(each)) is not None:
            days.append(day.isoformat())
    return days


def likely_headings(text: str) -> list[tuple[int, dt.date]]:
    """Give where each dated heading begins in a text, and its date, those in comments and fences too."""
    plain = "\n" + text.removeprefix("\ufeff") + "\n"
    shift = len(text) - len(plain) + 2  # for the mark of byte order, less the line end put in front
    found = [(match.start() + shift, match[1]) for match in _HEADING.finditer(plain)]
    found += [(start - 1 + shift, plain[start:end]) for start, end in _underlined(plain)]
    return [(at, day) for at, words in sorted(found) if (day := _likely_day(words)) is not None]


def _underlined(text: str) -> Iterator[tuple[int, int]]:
    """Give where each line begins and ends that is underlined."""
    for match in _UNDERLINE.finditer(text):
        yield text.rfind("\n", 0, match.start()) + 1, match.start()


def _likely_day(words: str) -> dt.date | None:
    words = words.strip()
    if words[4:5] == "-" and words[7:8] == "-" and words[10:11] in {"", " "}:
        try:
            return dt.date.fromisoformat(words[:10])
        except ValueError:
            pass
    try:
        read = read_date(words, 0)
    except DateProblem as wrong:
        return wrong.day
    return None if read is None else read[1]
