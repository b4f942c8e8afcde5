"""Waste kept out of landfill: three figures that are never mixed up, each with its doubt and its records.

- **taken in**: waste that arrived.
- **kept out of landfill**: the part of it that would have been landfilled (or whose fate nobody knows), net
  of rejects.
- **kept in use here**: what arrived and is used here, whatever its fate otherwise, net of rejects and of what
  was passed on.

Beside them: what was thrown out, castings harvested and castings spread.  All in kg.

Figures are gathered in cells of one month, stream and giver, which add up to every table.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Hashable, Iterable, Mapping
from itertools import groupby
from typing import NamedTuple, TypeVar

from journal.measures.doubt import Sum
from journal.measures.periods import month_key
from journal.notes.household import Household
from journal.notes.records import Amount, Notes
from journal.reckoning.movements import Ledger, Movement

CASTINGS = "castings"
PASSED_ON = frozenset({"recycling", "donated", "given away"})

FIGURES = (
    "taken_in", "kept_out_of_landfill", "kept_in_use", "thrown_out", "castings_harvested", "castings_spread",
)  # fmt: skip
"""The names of the figures, in the order in which they are told."""

PRODUCT = ""
"""The stream of what the bins make: castings are a product and in no stream of waste."""

ONE_LINE = "line "
"""Begins the name of a cause that is one line's own doubt, shared by the cells its amount is split over."""

K = TypeVar("K", bound=Hashable)


class Cell(NamedTuple):
    """What one small heap of figures is of; ``giver`` as in household.yaml, None for the household itself."""

    month: str
    stream: str
    giver: str | None


class Figure(Sum):
    """A total in kg with its doubt, the records behind it, and how its mass was measured."""

    __slots__ = ("how", "records")

    def __init__(self) -> None:
        super().__init__()
        self.records: list[int] = []
        self.how: dict[str, float] = {}

    def put(self, amount: Amount, times: float, record: int, cause: str | None) -> None:
        """Add ``times`` of an amount.  ``cause`` names its own doubt where other cells share it."""
        kg = amount.kg * times
        self.value += kg
        own = amount.own * times
        if cause is None:
            self.variance += own * own
        elif own:
            self.shared[cause] = self.shared.get(cause, 0.0) + own
        for name, part in amount.shared.items():
            self.shared[name] = self.shared.get(name, 0.0) + part * times
        if not self.records or self.records[-1] != record:
            self.records.append(record)
        self.how[amount.how] = self.how.get(amount.how, 0.0) + kg

    def join(self, other: Figure) -> None:
        """Add another figure, whose own doubts are independent of this one's."""
        self.value += other.value
        self.variance += other.variance
        for name, part in other.shared.items():
            self.shared[name] = self.shared.get(name, 0.0) + part
        self.records.extend(other.records)
        for name, kg in other.how.items():
            self.how[name] = self.how.get(name, 0.0) + kg

    @property
    def behind(self) -> list[int]:
        """The records behind the figure, each once, in the order of the journal's records."""
        return sorted(set(self.records))


class Figures:
    """The six figures of one period, stream, giver or anything else."""

    __slots__ = FIGURES

    taken_in: Figure
    kept_out_of_landfill: Figure
    kept_in_use: Figure
    thrown_out: Figure
    castings_harvested: Figure
    castings_spread: Figure

    def __init__(self) -> None:
        for name in FIGURES:
            setattr(self, name, Figure())

    def join(self, other: Figures) -> None:
        """Add the figures of another heap."""
        for name in FIGURES:
            theirs = getattr(other, name)
            if theirs.records:
                getattr(self, name).join(theirs)


class Diversion:
    """All diversion figures of one journal, made in one pass over its ledger.

    ``daily`` is what was kept out of landfill on each day, in kg; ``inferred`` the waste taken to be our own
    because nothing of it was on hand.
    """

    def __init__(self, notes: Notes, ledger: Ledger) -> None:
        self.household = notes.household
        self.notes = notes
        self.cells: dict[Cell, Figures] = {}
        self.daily: dict[dt.date, float] = {}
        self.inferred = Figure()
        self._landfilled: dict[tuple[str | None, str], float] = {}
        self._months: dict[dt.date, str] = {}
        for _, movements in groupby(
            ledger.movements, key=lambda movement: (movement.record, id(movement.amount))
        ):
            self._post(list(movements))

    def landfilled(self, giver: str | None, stream: str) -> float:
        """The share of a giver's waste of a stream that would have gone to landfill, as far as is known."""
        key = (giver, stream)
        share = self._landfilled.get(key)
        if share is None:
            share = self._landfilled[key] = would_be_landfilled(self.household, giver, stream)
        return share

    def by(self, key: Callable[[Cell], K | None]) -> dict[K, Figures]:
        """Add the cells up by any key of theirs, in their order; a cell whose key is None is left out."""
        heaps: dict[K, Figures] = {}
        for cell in sorted(self.cells, key=lambda cell: (cell.month, cell.stream, cell.giver or "")):
            name = key(cell)
            if name is not None:
                heaps.setdefault(name, Figures()).join(self.cells[cell])
        return heaps

    def _post(self, movements: list[Movement]) -> None:
        """Post the movements of one amount: split over several cells, its own doubt is their common cause."""
        told = [(movement, self._told(movement)) for movement in movements]
        for movement, figures in told:
            if not figures:
                continue
            cell = self._cell(movement)
            heap = self.cells.get(cell)
            if heap is None:
                heap = self.cells[cell] = Figures()
            cause = (
                f"{ONE_LINE}{movement.record}: {movement.amount.words} {movement.amount.material}"
                if len(movements) > 1
                else None
            )
            for name, times in figures:
                getattr(heap, name).put(movement.amount, movement.share * times, movement.record, cause)
                if name == "kept_out_of_landfill":
                    self.daily[movement.date] = self.daily.get(movement.date, 0.0) + movement.kg * times
            if movement.inferred and movement.counted:
                self.inferred.put(movement.amount, movement.share, movement.record, cause)

    def _cell(self, movement: Movement) -> Cell:
        month = self._months.get(movement.date)
        if month is None:
            month = self._months[movement.date] = month_key(movement.date)
        origin = movement.origin
        if origin is not None:
            return Cell(month, origin.stream, origin.giver)
        if movement.material == CASTINGS:
            return Cell(month, PRODUCT, None)
        material = self.notes.catalogue.materials.get(movement.material)
        return Cell(month, "other" if material is None else material.stream, None)

    def _told(self, movement: Movement) -> list[tuple[str, float]]:
        """Which figures a movement adds to, and how much of it: the rules of counting once."""
        told: list[tuple[str, float]] = []
        counted, origin, target = movement.counted, movement.origin, movement.target.kind
        if counted and origin is not None:
            if counted > 0:
                told.append(("taken_in", 1.0))
            share = self.landfilled(origin.giver, origin.stream)
            told.append(("kept_out_of_landfill", counted * share))
            if counted < 0 or target not in PASSED_ON:
                told.append(("kept_in_use", float(counted)))
        elif origin is not None and target in PASSED_ON:
            told.append(("kept_in_use", -1.0))
        if target == "landfill":
            told.append(("thrown_out", 1.0))
        elif movement.material == CASTINGS:
            if movement.source.kind == "bin" and target == "store":
                told.append(("castings_harvested", 1.0))
            elif target == "planting":
                told.append(("castings_spread", 1.0))
        return told


def would_be_landfilled(household: Household, giver: str | None, stream: str) -> float:
    """Give the share that would have been landfilled; what nobody knows counts, and the site says "if"."""
    shares = household.shares(giver, stream)
    return shares.get("landfill", 0.0) + shares.get("unknown", 0.0)


def figure_of(parts: Iterable[tuple[Amount, float, int]]) -> Figure:
    """Add up (amount, share, record) of several records into one figure."""
    figure = Figure()
    for amount, share, record in parts:
        figure.put(amount, share, record, None)
    return figure


def causes(figure: Figure) -> Mapping[str, float]:
    """Break a figure's doubt down: cause to its part of the variance, largest first; they add to one.

    ``weighing and estimates`` is what belongs to single lines.
    """
    own = "weighing and estimates"
    parts = {own: figure.variance}
    for name, part in figure.shared.items():
        cause = own if name.startswith(ONE_LINE) else name
        parts[cause] = parts.get(cause, 0.0) + part * part
    whole = sum(parts.values())
    if whole <= 0:
        return {}
    ordered = sorted(parts.items(), key=lambda one: (-one[1], one[0]))
    return {name: part / whole for name, part in ordered if part > 0}
