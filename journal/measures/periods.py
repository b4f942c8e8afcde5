"""Days, weeks, months and years as half-open ranges of dates.

Months and years are the calendar's; weeks begin on Monday (ISO 8601).  A range holds its first day and
not its last bound, so neighbouring periods never share a day.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import lru_cache


@dataclass(frozen=True, slots=True, order=True)
class Period:
    """The days from ``start`` up to but without ``end``."""

    start: dt.date
    end: dt.date

    def __contains__(self, day: dt.date) -> bool:
        return self.start <= day < self.end

    @property
    def days(self) -> int:
        """How many days it holds."""
        return (self.end - self.start).days


def day_after(day: dt.date) -> dt.date:
    """Give the next day; the last day of the calendar has none and is given back."""
    return day if day == dt.date.max else day + dt.timedelta(days=1)


def year(number: int) -> Period:
    """Give a calendar year.  The year 9999 ends a day early, as the calendar does."""
    return Period(dt.date(number, 1, 1), dt.date.max if number == dt.MAXYEAR else dt.date(number + 1, 1, 1))


def month(number: int, of_year: int) -> Period:
    """Give a calendar month."""
    if number == 12:  # noqa: PLR2004 - December
        return Period(dt.date(of_year, 12, 1), year(of_year).end)
    return Period(dt.date(of_year, number, 1), dt.date(of_year, number + 1, 1))


def week_of(day: dt.date) -> dt.date:
    """Give the Monday of the day's week; the first days of year 1 are their own week's start."""
    back = day.weekday()
    return dt.date.min if day.toordinal() <= back else day - dt.timedelta(days=back)


@lru_cache(maxsize=16384)  # asked of every movement of a diary, whose days are few
def month_key(day: dt.date) -> str:
    """Give the month as ISO 8601 writes it: ``2026-03``."""
    return f"{day.year:04d}-{day.month:02d}"


def year_key(day: dt.date) -> str:
    """Give the year as ISO 8601 writes it: ``2026``."""
    return f"{day.year:04d}"
