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
_WEEKDAY = re.compile(
    rf"({'|'.join(sorted(_WEEKDAY_BY_WORD, key=len, reverse=True))})\b\.?,?\s+(?:the\s+)?", re.IGNORECASE
)
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
    return " or ".join(dict.fromkeys(known)) or "2026-03-14"


def _exists(year: str, month: str, day: str) -> bool:
    try:
        dt.date(int(year), int(month), int(day))
    except ValueError:
        return False
    return True
