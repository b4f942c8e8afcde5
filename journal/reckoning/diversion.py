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
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from functools import cached_property
from typing import NamedTuple, TypeVar

from journal.measures.doubt import Sum
from journal.notes.household import Household
from journal.notes.records import Amount, Notes
from journal.reckoning.movements import Movement

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
        kg, _, _, own, shared, how, _, _ = amount  # at once: the fields of a tuple by their names cost more
        kg *= times
        self.value += kg
        own *= times
        if cause is None:
            self.variance += own * own
        elif own:
            self.shared[cause] = self.shared.get(cause, 0.0) + own
        if shared:
            ours = self.shared
            for name, part in shared.items():
                ours[name] = ours.get(name, 0.0) + part * times
        records, hows = self.records, self.how
        if not records or records[-1] != record:
            records.append(record)
        hows[how] = hows.get(how, 0.0) + kg

    def put_whole(self, movements: Iterable[Movement]) -> list[Movement]:
        """Add the amounts of movements that moved them whole, as ``put`` would; returns the others."""
        value, variance, rest = self.value, self.variance, []
        ours, records, hows = self.shared, self.records, self.how
        for movement in movements:
            if movement.share != 1.0:
                rest.append(movement)
                continue
            kg, _, _, own, shared, how, _, _ = movement.amount
            value += kg
            variance += own * own
            if shared:
                for name, part in shared.items():
                    ours[name] = ours.get(name, 0.0) + part
            if not records or records[-1] != movement.record:
                records.append(movement.record)
            hows[how] = hows.get(how, 0.0) + kg
        self.value, self.variance = value, variance
        return rest

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

    @property
    def lines(self) -> int:
        """The number of records behind the figure."""
        return len(set(self.records))


class Figures:
    """The six figures of one period, stream, giver or anything else; those without records are zero."""

    __slots__ = ("heaps",)

    def __init__(self) -> None:
        self.heaps: dict[str, Figure] = {}

    def __getattr__(self, name: str) -> Figure:
        """Give a figure by its name in FIGURES."""
        if name not in FIGURES:
            raise AttributeError(name)
        return self.of(name)

    def of(self, name: str) -> Figure:
        """Give a figure by its name, made where there is none yet."""
        figure = self.heaps.get(name)
        if figure is None:
            figure = self.heaps[name] = Figure()
        return figure

    def join(self, other: Figures) -> None:
        """Add the figures of another heap."""
        for name, theirs in other.heaps.items():
            self.of(name).join(theirs)


Rule = tuple[tuple[str, float, bool], ...]
"""The figures that a kind of movement adds to: name, sign, and whether only the landfilled share counts."""


def rule(counted: int, source: str, target: str, *, waste: bool, castings: bool) -> Rule:
    """Say which figures a movement between two kinds of account adds to: counting once, in one place.

    ``counted`` is the movement's own; ``waste`` whether it carries somebody's waste.
    """
    told: list[tuple[str, float, bool]] = []
    if counted and waste:
        if counted > 0:
            told.append(("taken_in", 1.0, False))
        told.append(("kept_out_of_landfill", float(counted), True))
        if counted < 0 or target not in PASSED_ON:
            told.append(("kept_in_use", float(counted), False))
    elif waste and target in PASSED_ON:
        told.append(("kept_in_use", -1.0, False))
    if target == "landfill":
        told.append(("thrown_out", 1.0, False))
    elif castings and source == "bin" and target == "store":
        told.append(("castings_harvested", 1.0, False))
    elif castings and target == "planting":
        told.append(("castings_spread", 1.0, False))
    return tuple(told)


class MonthFigures:
    """The figures of one month, made in one pass over its movements.

    ``cells`` come in the order of their streams and givers, the household itself first; ``daily`` is what was
    kept out of landfill on each day, in kg; ``inferred`` the waste taken to be our own because nothing of it
    was on hand.
    """

    def __init__(self) -> None:
        self.cells: dict[Cell, Figures] = {}
        self.daily: dict[dt.date, float] = {}
        self.inferred = Figure()

    @cached_property
    def whole(self) -> Figures:
        """The figures of all cells together."""
        return heap_up(("all", each) for each in self.cells.values()).get("all", Figures())


class Diversion:
    """All diversion figures of one journal; each month's are worked out when they are first asked for.

    ``moved`` are the ledger's movements by month, in the order of the months.
    """

    def __init__(self, notes: Notes, moved: Mapping[str, Sequence[Movement]]) -> None:
        self.household = notes.household
        self.materials = notes.catalogue.materials
        self.moved = moved
        self._months: dict[str, MonthFigures] = {}
        self._years: dict[str, Figures] = {}
        self._landfilled: dict[tuple[str | None, str], float] = {}
        self._rules: dict[tuple[int, bool, str, str, bool], Rule] = {}

    # -- months ---------------------------------------------------------------------------------------

    def of_month(self, month: str) -> MonthFigures:
        """Give the figures of one month."""
        found = self._months.get(month)
        if found is None:
            found = self._months[month] = self._figured(month)
        return found

    def of_year(self, year: str) -> Figures:
        """Give the figures of one year."""
        found = self._years.get(year)
        if found is None:
            wholes = (self.of_month(month).whole for month in self.moved if month.startswith(year))
            found = self._years[year] = heap_up(("all", whole) for whole in wholes).get("all", Figures())
        return found

    def has_figures(self, month: str) -> bool:
        """Whether any movement of a month adds to a figure."""
        return any(map(self.adds, self.moved.get(month, ())))

    def _figured(self, month: str) -> MonthFigures:
        heaps: dict[tuple[str, str | None], Figures] = {}
        found = MonthFigures()
        for movement in self.moved.get(month, ()):
            told, origin = self.adds(movement), movement.origin
            if told:
                of = (origin.stream, origin.giver) if origin is not None else (self._stream(movement), None)
                heap = heaps.get(of)
                if heap is None:
                    heap = heaps[of] = Figures()
                self._post(movement, told, heap, found)
        ordered = sorted(heaps, key=lambda of: (of[0], of[1] or ""))
        found.cells = {Cell(month, *of): heaps[of] for of in ordered}
        return found

    # -- all of it ------------------------------------------------------------------------------------

    @cached_property
    def cells(self) -> dict[Cell, Figures]:
        """All cells in order: added up in any other they would differ in the last digits."""
        return {cell: figures for month in self.moved for cell, figures in self.of_month(month).cells.items()}

    @cached_property
    def daily(self) -> dict[dt.date, float]:
        """What was kept out of landfill on each day, in kg."""
        return {day: kg for month in self.moved for day, kg in self.of_month(month).daily.items()}

    @cached_property
    def inferred(self) -> Figure:
        """The waste taken to be our own because nothing of it was on hand."""
        whole = Figure()
        for month in self.moved:
            whole.join(self.of_month(month).inferred)
        return whole

    def landfilled(self, giver: str | None, stream: str) -> float:
        """The share of a giver's waste of a stream that would have gone to landfill, as far as is known."""
        key = (giver, stream)
        share = self._landfilled.get(key)
        if share is None:
            share = self._landfilled[key] = would_be_landfilled(self.household, giver, stream)
        return share

    @cached_property
    def by_month(self) -> dict[str, Figures]:
        """The figures of each month that has any."""
        return {month: self.of_month(month).whole for month in self.moved if self.has_figures(month)}

    @cached_property
    def by_kind(self) -> dict[Cell, Figures]:
        """The figures of each stream and giver, whatever the month: cells whose month is empty."""
        return self.by(lambda cell: Cell("", cell.stream, cell.giver))

    def by(self, key: Callable[[Cell], K | None]) -> dict[K, Figures]:
        """Add the cells up by any key of theirs, in their order; a cell whose key is None is left out."""
        return heap_up((key(cell), figures) for cell, figures in self.cells.items())

    # -- movements ------------------------------------------------------------------------------------

    def adds(self, movement: Movement) -> Rule:
        """Give the figures that a movement adds to, as ``rule`` says; none where it only goes on."""
        key = (
            movement.counted,
            movement.origin is not None,
            movement.source.kind,
            movement.target.kind,
            movement.material == CASTINGS,
        )
        found = self._rules.get(key)
        if found is None:
            counted, waste, source, target, castings = key
            found = self._rules[key] = rule(counted, source, target, waste=waste, castings=castings)
        return found

    def _post(self, movement: Movement, told: Rule, heap: Figures, found: MonthFigures) -> None:
        origin = movement.origin
        amount, share, record = movement.amount, movement.share, movement.record
        # An amount that is split over several movements keeps its own doubt as their common cause.
        cause = None if share == 1.0 else f"{ONE_LINE}{record}: {amount.words} {amount.material}"
        for name, sign, landfilled in told:
            times = share * sign
            if landfilled and origin is not None:
                times *= self.landfilled(origin.giver, origin.stream)
                daily = found.daily
                daily[movement.date] = daily.get(movement.date, 0.0) + amount.kg * times
            heap.of(name).put(amount, times, record, cause)
        if movement.inferred and movement.counted:
            found.inferred.put(amount, share, record, cause)

    def _stream(self, movement: Movement) -> str:
        """Give the stream of what is nobody's waste."""
        if movement.material == CASTINGS:
            return PRODUCT
        material = self.materials.get(movement.material)
        return "other" if material is None else material.stream


def heap_up(parts: Iterable[tuple[K | None, Figures]]) -> dict[K, Figures]:
    """Add figures up by key, in the order of their coming; those whose key is None are left out."""
    heaps: dict[K, Figures] = {}
    for key, figures in parts:
        if key is not None:
            heap = heaps.get(key)
            if heap is None:
                heap = heaps[key] = Figures()
            heap.join(figures)
    return heaps


def would_be_landfilled(household: Household, giver: str | None, stream: str) -> float:
    """Give the share that would have been landfilled; what nobody knows counts, and the site says "if"."""
    shares = household.shares(giver, stream)
    return shares.get("landfill", 0.0) + shares.get("unknown", 0.0)


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
