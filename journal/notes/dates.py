"""Dates as a diary writes them: 2026-03-14, 14 March 2026, March 14, 2026, each with its weekday in front.

Dates of digits alone in any other order are refused with the ISO 8601 form to write: 3/4/26 is the third of
April to one reader and the fourth of March to another.  Calendar: proleptic Gregorian, years 1 to 9999.
"""

from __future__ import annotations

import datetime as dt
import re

from journal.measures.letters import small_letters
from journal.notes.faults import Fault

_MONTHS = "january february march april may june july august september october november december".split()
_WEEKDAYS = "monday tuesday wednesday thursday friday saturday sunday".split()
_MONTH_BY_WORD = {
    word: number
    for number, name in enumerate(_MONTHS, 1)
    for word in (name, name[:3], *(("sept",) if name == "september" else ()))
}
_WEEKDAY_BY_WORD = {
    word: number
    for number, name in enumerate(_WEEKDAYS)
    for word in (name, name[:3], *{1: ("tues",), 2: ("weds",), 3: ("thur", "thurs")}.get(number, ()))
}
_MONTH = "|".join(sorted(_MONTH_BY_WORD, key=len, reverse=True))
_WEEKDAY_WORDS = "|".join(sorted(_WEEKDAY_BY_WORD, key=len, reverse=True))
_WEEKDAY = re.compile(rf"({_WEEKDAY_WORDS})\b\.?,?\s+(?:the\s+)?", re.IGNORECASE)
_ISO = re.compile(r"(\d{4,9})-(\d{2})-(\d{2})(?![\d-])")
_LONGEST_YEAR = 9  # digits; more are no year, and too many of them no number
_ORDINAL = r"(\d{1,2})(?:st|nd|rd|th)?"
_DAY_FIRST = re.compile(
    rf"{_ORDINAL}\.?(?:\s+of)?[\s-]+({_MONTH})\b\.?(?:[,\s-]\s*(\d{{4,}})(?![\d:/.-]\d|\w))?", re.IGNORECASE
)
_MONTH_FIRST = re.compile(
    rf"({_MONTH})\b\.?\s+(?:the\s+)?{_ORDINAL}\b(?:[,\s]\s*(\d{{4,}})(?![\d:/.-]\d|\w))?", re.IGNORECASE
)
_DIGITS = re.compile(r"(\d{1,4})\s?([-/.])\s?(\d{1,2})\s?\2\s?(\d{1,4})(?!\d)|(\d{8})(?!\d)")
_CLOCK = re.compile(r"T\d{2}:\d{2}")
_FRONT = re.compile(rf"[*_]*(?=\d|(?:{_WEEKDAY_WORDS}|{_MONTH})\b)", re.IGNORECASE)
_STRESS = "*_ \t:"
_DAY = r"\d{1,2}(?:st|nd|rd|th)?"
_YEAR = r"(?:[,\s-]\s*\d{4}(?!\w))"
_TWO_DAYS = re.compile(rf"({_DAY})(?:\s?[-–/&]\s?|\s+(?:and|to)\s+){_DAY}(?!\w)", re.IGNORECASE)
_WEEKDAY_IN_FRONT = re.compile(rf"(?:{_WEEKDAY_WORDS})\b[\s.,–—-]+(?:the\s+)?", re.IGNORECASE)
_INSIDE = re.compile(
    rf"(?<![\w-])(?:\d{{4}}-\d{{2}}-\d{{2}}(?![\w-])"
    rf"|(?:{_TWO_DAYS.pattern}|{_DAY})\.?(?:\s+of)?[\s-]+(?:{_MONTH})\b\.?{_YEAR}"
    rf"|(?:{_MONTH})\b\.?\s+(?:the\s+)?{_DAY}{_YEAR}"
    rf"|{_WEEKDAY_IN_FRONT.pattern}"
    rf"(?:{_DAY}\.?\s+(?:of\s+)?(?:{_MONTH})\b\.?{_YEAR}?|\d{{1,2}}(?:st|nd|rd|th)\b|\d{{1,2}}(?=\s*$)))",
    re.IGNORECASE,
)
EXAMPLE = "2026-03-14"


class DateProblem(Exception):
    """Words that are meant as a date and are none: the fault, the words, and what fills its blanks."""

    def __init__(
        self, fault: Fault, start: int, words: str, day: dt.date | None = None, **blanks: str
    ) -> None:
        super().__init__(words)
        self.fault = fault
        self.start = start
        self.words = words
        self.day = day  # the date where it is certain all the same
        self.blanks = blanks


def read_date(text: str, position: int) -> tuple[int, dt.date] | None:
    """Read a date of ``text`` at ``position``: the position behind it and the date, or None.

    Raises DateProblem where the words are meant as a date but name no day, or more than one.
    """
    weekday = _WEEKDAY.match(text, position)
    start = weekday.end() if weekday else position
    found = _read_plain(text, start)
    if found is None or weekday is None:
        return found
    end, day = found
    if _WEEKDAY_BY_WORD[small_letters(weekday[1])] != day.weekday():
        raise DateProblem(
            Fault.WRONG_WEEKDAY, position, text[position:end], day, iso=day.isoformat(),
            right=_WEEKDAYS[day.weekday()].capitalize(), wrong=weekday[1].capitalize(),
        )  # fmt: skip
    return found


def front_date(text: str) -> tuple[int, str] | None:
    """Read a whole date at the front of a line, stressed or not: the position behind it, and its ISO form.

    A date that cannot be is one too, with an example for its form; one without a year is none.
    """
    front = _FRONT.match(text)
    if front is None:
        return None
    try:
        found = read_date(text, front.end())
    except DateProblem as wrong:
        if wrong.fault is Fault.DATE_WITHOUT_YEAR:
            return None
        return wrong.start + len(wrong.words), EXAMPLE if wrong.day is None else wrong.day.isoformat()
    if found is None or runs_on(text, found[0]):
        return None
    return found[0], found[1].isoformat()


def runs_on(text: str, end: int) -> bool:
    """Whether a word goes on right behind a date, which is then none."""
    return text[end : end + 1].isalnum() and not _CLOCK.match(text, end)


def is_all(text: str, end: int) -> bool:
    """Whether nothing stands behind a date that ends here."""
    return not text[end:].strip(_STRESS)


def is_title(text: str, end: int) -> bool:
    """Whether what stands behind a date, if anything does, reads as a title and not as a sentence's rest."""
    rest = text[end:].strip(" \t:,;–—-*_")
    return not (rest[:1].islower() and rest[-1:] in {".", "!", "?"})


def inner_date(text: str) -> tuple[int, str, str] | None:
    """Find a date in a heading that begins with none: where it begins, its words, and its ISO form.

    A weekday with a number is taken for one too, with an example for its form.
    """
    found = _INSIDE.search(text)
    if found is None:
        return None
    words = _TWO_DAYS.sub(r"\1", _WEEKDAY_IN_FRONT.sub("", found[0])).replace(".", "")
    try:
        read = read_date(words, 0)
    except DateProblem:
        read = None
    return found.start(), found[0], EXAMPLE if read is None else read[1].isoformat()


def _read_plain(text: str, start: int) -> tuple[int, dt.date] | None:
    iso = _ISO.match(text, start)
    if iso is not None:
        return iso.end(), _day(text, start, iso.end(), iso[1], int(iso[2]), iso[3])
    day_first = _DAY_FIRST.match(text, start)
    if day_first is not None:
        day, month, year = day_first.groups()
        return day_first.end(), _day(
            text, start, day_first.end(), year, _MONTH_BY_WORD[small_letters(month)], day
        )
    month_first = _MONTH_FIRST.match(text, start)
    if month_first is not None:
        month, day, year = month_first.groups()
        return month_first.end(), _day(
            text, start, month_first.end(), year, _MONTH_BY_WORD[small_letters(month)], day
        )
    digits = _DIGITS.match(text, start)
    if digits is not None:
        raise DateProblem(Fault.DIGITS_DATE, start, digits[0], iso=_iso_of(digits))
    return None


def _day(text: str, start: int, end: int, year: str | None, month: int, day: str) -> dt.date:
    words = text[start:end]
    if year is None:
        raise DateProblem(Fault.DATE_WITHOUT_YEAR, start, words)
    if len(year) > _LONGEST_YEAR or not dt.MINYEAR <= int(year) <= dt.MAXYEAR:
        raise DateProblem(Fault.NO_SUCH_DATE, start, words, why="years run from 0001 to 9999")
    if not 1 <= month <= len(_MONTHS):
        raise DateProblem(Fault.NO_SUCH_DATE, start, words, why=f"there is no month {month}")
    days = _days_in(month, int(year))
    if not 1 <= int(day) <= days:
        why = f"{_MONTHS[month - 1].capitalize()} {int(year)} has {days} days"
        raise DateProblem(Fault.NO_SUCH_DATE, start, words, why=why)
    return dt.date(int(year), month, int(day))


def _days_in(month: int, year: int) -> int:
    if month == len(_MONTHS):
        return 31
    return (dt.date(year, month + 1, 1) - dt.date(year, month, 1)).days


def _iso_of(digits: re.Match[str]) -> str:
    """Give the ISO forms that the digits may mean."""
    first, _, second, third, together = digits.groups()
    if together is not None:
        orders = [(together[:4], together[4:6], together[6:])]
    elif len(first) > 2:  # noqa: PLR2004 - a year in front
        orders = [(first, second, third)]
    else:
        year = third if len(third) > 2 else f"20{third:0>2}"  # noqa: PLR2004 - the same
        orders = [(year, first, second), (year, second, first)]
    known = [f"{int(y):04d}-{int(m):02d}-{int(d):02d}" for y, m, d in orders if _exists(y, m, d)]
    return " or ".join(dict.fromkeys(known)) or EXAMPLE


def _exists(year: str, month: str, day: str) -> bool:
    try:
        dt.date(int(year), int(month), int(day))
    except ValueError:
        return False
    return True
