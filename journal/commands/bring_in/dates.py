"""Dates as spreadsheets and phones write them; all-digit ones are read only in an order that is known."""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

from journal.measures.letters import small_letters

_MONTHS = {
    name: number
    for number, names in enumerate(
        "jan january,feb february,mar march,apr april,may,jun june,jul july,aug august,sep sept september,"
        "oct october,nov november,dec december".split(","),
        1,
    )
    for name in names.split()
}
_WEEKDAYS = "monday tuesday wednesday thursday friday saturday sunday".split()
_WEEKDAY = (
    r"(?:(?P<weekday>mon|tue|tues|wed|thu|thur|thurs|fri|sat|sun|" + "|".join(_WEEKDAYS) + r")\.?,?\s+)?"
)
_TIME = (
    r"(?:[T,]?\s*(?:at\s+)?\d{1,2}[:.h]\d{2}(?:[:.]\d{2}(?:\.\d+)?)?\s*(?:[ap]\.?m\.?)?"
    r"(?:\s*(?:Z|[+-]\d\d:?\d\d))?)?"
)
_MONTH = r"(?P<month>" + "|".join(sorted(_MONTHS, key=len, reverse=True)) + r")\.?"
_YEAR = r"(?P<year>\d{4}|['’]?\d{2})"
_FORMS = tuple(
    re.compile(_WEEKDAY + form + _TIME + r"\s*:?", re.IGNORECASE)
    for form in (
        r"(?P<year>\d{4})[-/.](?P<month>\d{1,2})[-/.](?P<day>\d{1,2})",
        r"(?P<year>\d{4})(?P<month>\d{2})(?P<day>\d{2})",
        r"(?P<day>\d{1,2})(?:st|nd|rd|th)?(?:\s+of)?[\s\-./]+" + _MONTH + r"(?:,?[\s\-./]+" + _YEAR + r")?",
        _MONTH + r"[\s\-./]+(?P<day>\d{1,2})(?:st|nd|rd|th)?(?:,?[\s\-./]+" + _YEAR + r")?",
    )
)
_DIGITS = re.compile(
    _WEEKDAY
    + r"(?P<one>\d{1,2})(?P<mark>[-/.])(?P<two>\d{1,2})(?:(?P=mark)"
    + _YEAR
    + r"|\.)?"
    + _TIME
    + r"\s*:?",
    re.IGNORECASE,
)


class DateReading(NamedTuple):
    """What a date can mean: ``either`` where there is one meaning, else a day for each order that gives one.

    ``needs_year`` says that it has no year of its own.
    """

    either: dt.date | None = None
    day_first: dt.date | None = None
    month_first: dt.date | None = None
    needs_year: bool = False
    weekday_differs: bool = False

    def meaning(self, order: str | None) -> dt.date | None:
        """Give the day that is meant, where all-digit dates are written in this order."""
        if self.either is not None:
            return self.either
        return {"day-first": self.day_first, "month-first": self.month_first}.get(order or "")

    @property
    def only_order(self) -> str | None:
        """The order in which alone this date exists: 25/3/2024 can only be day-first."""
        if (self.day_first is None) == (self.month_first is None) or self.day_first == self.month_first:
            return None
        return "day-first" if self.day_first is not None else "month-first"


def read_date(text: str, year: int | None = None) -> DateReading | None:
    """Read a whole text as a date, or give None.  ``year`` is the year of dates that have none."""
    text = " ".join(text.split())
    if not text or len(text) > 60:  # noqa: PLR2004 - no date is that long
        return None
    for form in _FORMS:
        found = form.fullmatch(text)
        if found is not None:
            month = _MONTHS.get(small_letters(found["month"])) or int(found["month"])
            return _one_meaning(found, month, year)
    found = _DIGITS.fullmatch(text)
    if found is None or (found["year"] is None and not (found["mark"] == "/" or text.endswith("."))):
        return None
    one, two = int(found["one"]), int(found["two"])
    of_year = _full_year(found["year"], year)
    if of_year is None:
        return DateReading(needs_year=True) if _day(2000, two, one) or _day(2000, one, two) else None
    day_first, month_first = _day(of_year, two, one), _day(of_year, one, two)
    if day_first is None and month_first is None:
        return None
    if one == two:
        return DateReading(either=day_first, weekday_differs=_differs(found, day_first))
    if found["weekday"]:  # the weekday may settle which it is
        fitting = [day for day in (day_first, month_first) if day is not None and not _differs(found, day)]
        if len(fitting) == 1:
            return DateReading(either=fitting[0])
    return DateReading(day_first=day_first, month_first=month_first)


def _one_meaning(found: re.Match[str], month: int, year: int | None) -> DateReading | None:
    of_year = _full_year(found["year"], year)
    if of_year is None:
        return DateReading(needs_year=True) if _day(2000, month, int(found["day"])) else None
    day = _day(of_year, month, int(found["day"]))
    return None if day is None else DateReading(either=day, weekday_differs=_differs(found, day))


def _differs(found: re.Match[str], day: dt.date | None) -> bool:
    word = found["weekday"]
    return bool(word) and day is not None and not _WEEKDAYS[day.weekday()].startswith(word[:3].lower())


def _full_year(digits: str | None, year: int | None) -> int | None:
    if digits is None:
        return year
    digits = digits.lstrip("'’")
    return int(digits) if len(digits) == 4 else 2000 + int(digits)  # noqa: PLR2004 - a year in full


def _day(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None


def likely_year(cells: Iterable[str | float | dt.date], otherwise: int) -> int:
    """Give the year of most of the dates that have one, or another where none has."""
    years: Counter[int] = Counter()
    for cell in cells:
        reading = read_date(cell) if isinstance(cell, str) else None
        day = (
            cell
            if isinstance(cell, dt.date)
            else reading and (reading.either or reading.day_first or reading.month_first)
        )
        if day:
            years[day.year] += 1
    return years.most_common(1)[0][0] if years else otherwise


class DateOrder(NamedTuple):
    """In which order a file writes all-digit dates, and why; ``question`` where that is not known."""

    order: str | None
    why: str
    question: str = ""


def date_order(
    texts: Iterable[tuple[str, str]], told: str | None, year: int | None, *, has_real_dates: bool
) -> DateOrder:
    """Find the order of all-digit dates from pairs of where and text.

    ``has_real_dates`` says that the column also holds dates that a spreadsheet has understood: it may have
    understood some of them wrongly, so that nothing proves an order.
    """
    proofs: dict[str, tuple[str, str]] = {}
    open_ones: list[tuple[str, str]] = []
    for where, text in texts:
        reading = read_date(text, year)
        if reading is None or reading.either is not None or reading.needs_year:
            continue
        if reading.only_order is None:
            open_ones.append((where, text))
        else:
            proofs.setdefault(reading.only_order, (where, text))
    if not proofs and not open_ones:
        return DateOrder(told, "")
    if told is not None:
        return DateOrder(told, f"you say {told}")
    if len(proofs) == 1 and not has_real_dates:
        order, (where, text) = next(iter(proofs.items()))
        return DateOrder(order, f"{order}: {text} in {where} can be nothing else")
    if len(proofs) > 1:
        words = " and ".join(f"{text} in {where} is {order}" for order, (where, text) in proofs.items())
        return DateOrder(None, "", f"all-digit dates are written in two orders: {words}")
    where, text = (open_ones or list(proofs.values()))[0]
    mixed = (
        "; the spreadsheet has taken other cells for dates, perhaps in the wrong order"
        if has_real_dates
        else ""
    )
    return DateOrder(None, "", f"does {text} in {where} begin with the day or the month?{mixed}")
