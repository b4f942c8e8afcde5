"""What is due on a day, and why: batches ready, bins to feed, check, warm, cool, moisten, dry or harvest.

A bin is fed at the pace its keeper feeds it: the median of the last intervals between feedings, a week where
there are too few.  A bin is looked at every two weeks (both common practice, no published source).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from itertools import pairwise
from statistics import median
from typing import NamedTuple

from journal.measures.units import fahrenheit
from journal.reckoning.batches import BatchSheet
from journal.reckoning.bins import BinSheet
from journal.reckoning.harvests import later
from journal.reckoning.readings import UNITS, Reading

FEED_EVERY = 7
LONGEST_REST = 28
CHECK_EVERY = 14
READING_HOLDS = 21
"""A reading older than so many days says nothing about the bin any more; then it is due to be checked."""

FEEDINGS_LOOKED_AT = 9
LEAST_FEEDINGS = 4
WIDEST = 4
"""A range wider than so many times its low end is no help at the bin and is left unsaid."""

WHAT = ("warm", "cool", "moisten", "dry", "sweeten", "freshen", "feed", "use", "harvest", "check")
"""The kinds of chore, the most pressing first."""


class Chore(NamedTuple):
    """Something to do with a bin or a batch: from which day, why, and on which records that rests.

    ``until`` is the last day of the range where the day itself is only a guess.
    """

    what: str  # one of WHAT
    subject: str  # the bin's or the batch's name
    day: dt.date
    reason: str
    advice: str = ""
    until: dt.date | None = None
    urgent: bool = False
    records: tuple[int, ...] = ()
    kg: tuple[float, float] | None = None  # what the worms eat until the next feeding, low and high
    usual_kg: float | None = None  # what the last feedings were like

    @property
    def title(self) -> str:
        """The chore in a few words: "feed Cellar Bin", "use bedding Batch 7"."""
        return f"{self.what} bedding {self.subject}" if self.what == "use" else f"{self.what} {self.subject}"


def coming(
    bins: Iterable[BinSheet], batches: Iterable[BatchSheet], on: dt.date, units: str = "metric"
) -> list[Chore]:
    """Give every chore that the sheets foresee, by day, then urgency, then name.

    ``units`` are the household's, "us" or "metric": reasons speak of degrees Fahrenheit or Celsius.
    """
    found: list[Chore] = []
    for sheet in bins:
        if sheet.running:
            found += _of_bin(sheet, on, units)
    found += [chore for sheet in batches for chore in _of_batch(sheet, on)]
    order = {what: place for place, what in enumerate(WHAT)}
    return sorted(found, key=lambda chore: (chore.day, not chore.urgent, order[chore.what], chore.subject))


def due(chores: Sequence[Chore], on: dt.date) -> list[Chore]:
    """Give the chores whose day has come, the most pressing first."""
    order = {what: place for place, what in enumerate(WHAT)}
    ready = [chore for chore in chores if chore.day <= on]
    return sorted(ready, key=lambda chore: (not chore.urgent, order[chore.what], chore.day, chore.subject))


def _of_bin(sheet: BinSheet, on: dt.date, units: str) -> list[Chore]:
    chores = [chore for reading in sheet.latest.values() if (chore := _remedy(sheet, reading, on, units))]
    hold = any(chore.urgent for chore in chores)
    feeding = None if hold else _feeding(sheet)
    return [chore for chore in (*chores, feeding, _checking(sheet), _harvest(sheet)) if chore is not None]


def _remedy(sheet: BinSheet, reading: Reading, on: dt.date, units: str) -> Chore | None:
    """Give what a reading outside the good band asks for, while the reading is young enough to go by."""
    remedy = reading.remedy
    if remedy is None or (on - reading.date).days > READING_HOLDS:
        return None
    what, advice = remedy
    value = _reading_words(reading.quantity, reading.value, units)
    good = f"{_number(reading, reading.band.low, units)} to "
    good += _reading_words(reading.quantity, reading.band.high, units)
    kinds = " and ".join(kind.name for kind in sheet.kinds)
    reason = f"{reading.quantity} {value} on {reading.date}, {reading.words}: {kinds} do well at {good}"
    urgent = abs(reading.position) == 2  # noqa: PLR2004 - beyond what the worms bear
    return Chore(what, sheet.name, reading.date, reason, advice, urgent=urgent, records=(reading.record,))


def _reading_words(quantity: str, value: float, units: str) -> str:
    """Write a reading with its unit, temperatures on the household's own scale."""
    if quantity == "temperature" and units == "us":
        return f"{fahrenheit(value):.3g} °F"
    return f"{value:.3g} {UNITS[quantity]}".rstrip()


def _number(reading: Reading, value: float, units: str) -> str:
    return _reading_words(reading.quantity, value, units).partition(" ")[0]


def _feeding(sheet: BinSheet) -> Chore | None:
    days = sorted(set(sheet.feedings))
    if not days:
        if sheet.first_day is None:
            return None
        return Chore("feed", sheet.name, sheet.first_day, f"nothing has been fed since {sheet.first_day}")
    interval, own = _feeding_interval(days)
    pace = (
        f"fed about every {_days(interval)}"
        if own
        else "fed too seldom yet to know its pace; a week is usual"
    )
    records = tuple(dict.fromkeys(sheet.fed.behind[-1:]))
    reason = f"last fed on {days[-1]}, {pace}"
    kg = None
    eaten = sheet.feed_expected
    if eaten is not None and eaten.low > 0 and eaten.high <= WIDEST * eaten.low:
        kg = (eaten.low * interval, eaten.high * interval)
    advice = ""
    if sheet.feed_state == "much":
        advice = "it gets more than worms of that mass usually eat: give less, and look for leftovers first"
    usual = sheet.fed.value / len(days)
    return Chore(
        "feed", sheet.name, later(days[-1], interval), reason, advice, records=records, kg=kg, usual_kg=usual
    )


def _feeding_interval(days: list[dt.date]) -> tuple[int, bool]:
    """Give the days between feedings, and whether that is the bin's own pace."""
    if len(days) < LEAST_FEEDINGS:
        return FEED_EVERY, False
    gaps = [(after - before).days for before, after in pairwise(days[-FEEDINGS_LOOKED_AT:])]
    return min(LONGEST_REST, max(1, round(median(gaps)))), True


def _checking(sheet: BinSheet) -> Chore | None:
    if sheet.first_day is None:
        return None
    if not sheet.checks:
        return Chore("check", sheet.name, later(sheet.first_day, CHECK_EVERY), "it has never been checked")
    last = max(sheet.checks)
    records = tuple(reading.record for reading in sheet.readings[-1:])
    reason = f"last checked on {last}; every {_days(CHECK_EVERY)} is usual"
    return Chore("check", sheet.name, later(last, CHECK_EVERY), reason, records=records)


def _harvest(sheet: BinSheet) -> Chore | None:
    coming_up = sheet.next_harvest
    if coming_up is None:
        return None
    if coming_up.basis == "own history":
        basis = f"by its own last {'interval' if len(coming_up.intervals) == 1 else 'intervals'}"
    else:
        basis = "by published ranges, as it has no history of its own yet"
    reason = f"ready between {coming_up.earliest} and {coming_up.latest}, {basis}"
    return Chore(
        "harvest",
        sheet.name,
        coming_up.typical,
        reason,
        until=coming_up.latest,
        records=tuple(sheet.harvested.behind[-1:]),
    )


def _of_batch(sheet: BatchSheet, on: dt.date) -> list[Chore]:
    if sheet.state == "used up" or sheet.kind != "bedding":
        return []
    if sheet.state == "in use":
        return []
    better = f" and is better from {sheet.better_on}" if sheet.better_on > sheet.ready_on else ""
    rested = "rested" if on >= sheet.ready_on else "rests"
    reason = f"mixed on {sheet.mixed}, it {rested} until {sheet.ready_on}{better}"
    return [Chore("use", sheet.name, sheet.ready_on, reason, records=sheet.records[:1])]


def _days(number: int) -> str:
    return "day" if number == 1 else f"{number} days"
