"""A household's figures beside others: per person and week, published averages, its own equivalents.

Nothing without a source: an average stands with its year and scope, an equivalent with the weight that the
household itself gave it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from journal.notes.household import Household
from journal.reckoning.diversion import Figure
from journal.reckoning.references import Comparison
from journal.reckoning.spans import Span, of_doubtful

LEAST_WEEKS = 1.0
WEEK = 7.0


@dataclass(frozen=True, slots=True)
class Beside:
    """A published average per person and week, and what part of it the household's own figure is."""

    comparison: Comparison
    kg_per_week: float
    share: Span | None  # of the average, 0 to 1; None where the number of people is not known


@dataclass(frozen=True, slots=True)
class Equivalent:
    """So many of something that the household named and weighed: "our 32-gallon barrel"."""

    words: str
    each_kg: float
    count: Span


@dataclass(frozen=True, slots=True)
class Comparisons:
    """What was kept out of landfill over a time, per week and per person, and what it is set beside.

    Per person only the household's own waste is reckoned: what neighbours bring is theirs.
    """

    weeks: float
    per_week: Span | None  # kg; None in the first week
    per_person_week: Span | None
    beside: tuple[Beside, ...]
    equivalents: tuple[Equivalent, ...]


def compare(
    household: Household,
    kept: tuple[Figure, Figure],
    days: tuple[dt.date, dt.date],
    published: Mapping[str, Comparison],
) -> Comparisons:
    """Set what was kept out of landfill beside others.

    ``kept`` is all of it and the household's own part, in kg; ``days`` the first and last day, both included.
    """
    first, last = days
    weeks = ((last - first).days + 1) / WEEK
    mass, own = (of_doubtful(each.doubtful(), "kg", tuple(each.behind)) for each in kept)
    per_week = mass.times(1 / weeks, "kg a week") if weeks >= LEAST_WEEKS else None
    people = household.people
    person = (
        own.times(1 / weeks / people, "kg a person and week") if per_week is not None and people else None
    )
    beside = tuple(_beside(comparison, person) for comparison in published.values())
    equivalents = tuple(
        Equivalent(words, each, mass.times(1 / each, words))
        for words, each in household.equivalents.items()
        if each > 0
    )
    return Comparisons(weeks, per_week, person, beside, equivalents)


def _beside(comparison: Comparison, person: Span | None) -> Beside:
    average = comparison.kilograms * WEEK
    if person is None or average <= 0:
        return Beside(comparison, average, None)
    share = person.times(1 / average, "")
    return Beside(
        comparison,
        average,
        Span(share.low, share.typical, share.high, "", share.records, (comparison.source,)),
    )
