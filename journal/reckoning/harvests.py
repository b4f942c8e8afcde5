"""When a bin is next to be harvested: from its own history once it has two harvests, else from books."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from itertools import pairwise
from statistics import median
from typing import NamedTuple

from journal.notes.materials import Range

ONE_HARVEST = 14
"""Siftings fewer days apart than this are one harvest (common practice, no published source)."""

REMEMBERED = 6
"""So many of the last intervals are looked at: a bin changes with its feed and its keeper."""

SINGLE_SHARE = 0.25
"""One interval alone is taken to a quarter of itself either way."""


class NextHarvest(NamedTuple):
    """A range of days, and what it rests on: "own history", or "published" with its source."""

    earliest: dt.date
    typical: dt.date
    latest: dt.date
    basis: str
    intervals: tuple[int, ...] = ()  # days between the bin's own harvests
    sources: tuple[str, ...] = ()


def harvest_days(days: Sequence[dt.date]) -> list[dt.date]:
    """Give the first day of each harvest, siftings close together taken as one."""
    firsts: list[dt.date] = []
    for day in sorted(set(days)):
        if not firsts or (day - firsts[-1]).days >= ONE_HARVEST:
            firsts.append(day)
    return firsts


def next_harvest(
    sifted: Sequence[dt.date], stocked: dt.date | None, interval: Range, first: Range
) -> NextHarvest | None:
    """Give when a bin is next due; None where it is not known when it was stocked.

    ``stocked`` is the day the bin was started or first fed; ``interval`` and ``first`` are published days.
    """
    firsts = harvest_days(sifted)
    if len(firsts) >= 2:  # noqa: PLR2004 - an interval has two ends
        gaps = [(later - earlier).days for earlier, later in pairwise(firsts)][-REMEMBERED:]
        if len(gaps) == 1:
            ends = (gaps[0] * (1 - SINGLE_SHARE), float(gaps[0]), gaps[0] * (1 + SINGLE_SHARE))
        else:
            ends = (float(min(gaps)), float(median(gaps)), float(max(gaps)))
        return _from(firsts[-1], ends, "own history", tuple(gaps), ())
    if firsts:
        return _from(
            firsts[-1], (interval.low, interval.typical, interval.high), "published", (), (interval.source,)
        )
    if stocked is None:
        return None
    return _from(stocked, (first.low, first.typical, first.high), "published", (), (first.source,))


def _from(
    day: dt.date,
    days: tuple[float, float, float],
    basis: str,
    intervals: tuple[int, ...],
    sources: tuple[str, ...],
) -> NextHarvest:
    earliest, typical, latest = (later(day, round(number)) for number in days)
    return NextHarvest(earliest, typical, latest, basis, intervals, sources)


def later(day: dt.date, days: int) -> dt.date:
    """Give the day so many days later, or the last day of the calendar."""
    return dt.date.fromordinal(min(day.toordinal() + days, dt.date.max.toordinal()))
