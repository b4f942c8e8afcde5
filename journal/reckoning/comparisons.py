"""A household's figures beside others: per person and week, published averages, its own equivalents.

Nothing without a source: an average stands with its year and scope, an equivalent with the weight that the
household itself gave it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from journal.measures.periods import month_key
from journal.notes.household import Household
from journal.reckoning.diversion import Cell, Figure, Figures
from journal.reckoning.flows import figure
from journal.reckoning.movements import HOUSEHOLD, LANDFILL, Movement
from journal.reckoning.references import Comparison
from journal.reckoning.spans import Span, of_doubtful

LEAST_WEEKS = 1.0
WEEK = 7.0

WEIGHED = frozenset({"weighed", "counted", "by measure"})
"""How trash is measured where a percentage may rest on it."""


class Beside(NamedTuple):
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


class Comparisons(NamedTuple):
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


class DiversionRate(NamedTuple):
    """What part of the household's own waste stayed out of landfill, in the months with weighed trash.

    ``rate`` is 0 to 1; ``months`` are written as in 2026-03.
    """

    months: tuple[str, ...]
    kept: Figure
    landfilled: Figure
    rate: Span


def diversion_rate(
    cells: Mapping[Cell, Figures], trash: Iterable[Movement], on: dt.date
) -> DiversionRate | None:
    """Give the diversion rate: kept ÷ (kept + landfilled); None where ordinary trash was never weighed.

    ``trash`` are movements, of which those to landfill are looked at.  Only months count in which the
    household's ordinary trash was weighed (an estimate alone is no weighing), and only its own waste: another
    percentage would mean nothing.
    """
    thrown = [movement for movement in trash if movement.target == LANDFILL and movement.date <= on]
    ordinary = [movement for movement in thrown if movement.source == HOUSEHOLD and not movement.inferred]
    months = {month_key(movement.date) for movement in ordinary if movement.amount.how in WEIGHED}
    if not months:
        return None
    ours = [movement for movement in thrown if movement.origin is None or movement.origin.giver is None]
    landfilled = figure(movement for movement in ours if month_key(movement.date) in months)
    kept = Figure()
    for cell in sorted(cell for cell in cells if cell.month in months and cell.giver is None):
        kept.join(cells[cell].kept_out_of_landfill)
    stayed, went = (of_doubtful(each.doubtful()) for each in (kept, landfilled))
    records = tuple(sorted({*kept.behind, *landfilled.behind}))
    ends = ((stayed.low, went.high), (stayed.typical, went.typical), (stayed.high, went.low))
    low, typical, high = (_part(*end) for end in ends)
    rate = Span(low, typical, high, "", records)
    return DiversionRate(tuple(sorted(months)), kept, landfilled, rate)


def _part(kept: float, landfilled: float) -> float:
    return kept / (kept + landfilled) if kept > 0 else 0.0
