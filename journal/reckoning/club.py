"""A club's members, and the figures of many households together, as plain values.

The figures come from the members' movements; see ``club_handovers`` for what counts where.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from journal.measures.doubt import Sum
from journal.notes.names import fold
from journal.reckoning.club_handovers import HandedOn
from journal.reckoning.diversion import FIGURES

NINE_DIGITS = 1e-9
SIX_DIGITS = 1e-6
"""For doubts: a root makes the last digits of a sum that cancels much larger."""


class Member(NamedTuple):
    """A household in a club, under the name it goes by there.  Numbers are from 1, in the order given.

    ``first`` and ``last`` are the days it tells of; ``days`` how many of them have lines that moved
    something.
    """

    number: int
    name: str
    household: str
    people: int | None
    web_address: str
    footprint: bool
    first: dt.date | None
    last: dt.date | None
    days: int = 0
    movements: int = 0


class Difference(NamedTuple):
    """A total that a package states otherwise than it adds up to; in kg, None where it states none."""

    member: int
    package: str
    scope: str
    name: str
    figure: str
    what: str  # "total" or "doubt"
    stated: float | None
    recomputed: float

    @property
    def by(self) -> float:
        """How much more is stated than the movements add up to, in kg."""
        return (self.stated or 0.0) - self.recomputed


Totals = Mapping[str, Sum]
"""Figure to its total."""


class ClubFigures(NamedTuple):
    """All totals of a club, each figure by name; keys are what they are of."""

    whole: Totals
    years: Mapping[int, Totals]
    months: Mapping[dt.date, Totals]
    weeks: Mapping[dt.date, Totals]
    streams: Mapping[str, Totals]
    year_streams: Mapping[tuple[int, str], Totals]
    month_streams: Mapping[tuple[dt.date, str], Totals]
    members: Mapping[int, Totals]
    member_years: Mapping[tuple[int, int], Totals]
    member_streams: Mapping[tuple[int, str], Totals]


class Participation(NamedTuple):
    """How many households wrote something that moved, by week (its Monday) and by month (its first day)."""

    weeks: Mapping[dt.date, int]
    months: Mapping[dt.date, int]


@dataclass(frozen=True, slots=True)
class Club:
    """Everything a club's site tells."""

    members: Sequence[Member]
    figures: ClubFigures
    participation: Participation
    handed_on: Sequence[HandedOn] = ()
    differences: Sequence[Difference] = ()
    remarks: Sequence[str] = ()
    left_out: Sequence[str] = field(default=())

    @property
    def as_of(self) -> dt.date | None:
        """The newest day that any member tells of."""
        return max((member.last for member in self.members if member.last is not None), default=None)

    @property
    def people(self) -> int | None:
        """How many people the households have, or None where one does not say."""
        known = [member.people for member in self.members]
        return None if None in known else sum(one for one in known if one is not None)


Level = tuple[int | None, int | None, dt.date | None, dt.date | None, str | None]
"""Member, year, month, week and stream of a total; None where it is over all of them."""


TABLES: Mapping[tuple[str, ...], str] = {
    (): "whole",
    ("year",): "years",
    ("month",): "months",
    ("week",): "weeks",
    ("stream",): "streams",
    ("year", "stream"): "year_streams",
    ("month", "stream"): "month_streams",
    ("member",): "members",
    ("member", "year"): "member_years",
    ("member", "stream"): "member_streams",
}
"""Which keys of a level are set, and the table that its totals stand in."""

KEYS = ("member", "year", "month", "week", "stream")


def gather(rows: Iterable[tuple[*Level, str, float, float]]) -> ClubFigures:
    """Sort totals into their tables.  A row is a level, a figure's name, kg, and the variance in kg²."""
    tables: dict[str, dict[Any, dict[str, Sum]]] = {name: {} for name in TABLES.values()}
    for *level, figure, kg, variance in rows:
        known = [(name, value) for name, value in zip(KEYS, level, strict=True) if value is not None]
        values = tuple(value for _, value in known)
        key = values[0] if len(values) == 1 else values
        heap = tables[TABLES[tuple(name for name, _ in known)]].setdefault(key, _nothing())
        heap[figure].add(kg, max(variance, 0.0) ** 0.5, {})
    whole = tables.pop("whole").get((), _nothing())
    tables["streams"].pop("", None)  # castings are a product and in no stream of waste
    return ClubFigures(whole=whole, **tables)


def _nothing() -> dict[str, Sum]:
    return {figure: Sum() for figure in FIGURES}


def differs(stated: float | None, recomputed: float, digits: float = NINE_DIGITS) -> bool:
    """Whether a stated total is another than the one recomputed, to so much of itself (or of a kilogram)."""
    if stated is None:
        return abs(recomputed) > digits
    return abs(stated - recomputed) > digits * max(1.0, abs(stated), abs(recomputed))


def named(shown: str, names: Mapping[str, int], chosen: Mapping[str, str]) -> int | None:
    """Say which member a giver is, as another member shows it, or None where it is none.

    ``chosen`` maps a giver as shown to a member's name, as the club's roster says; failing that, a giver that
    is shown under a member's own name is that member.  Keys are folded.
    """
    return names.get(fold(chosen.get(fold(shown), shown)))
