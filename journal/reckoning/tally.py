"""Everything that is figured out for one journal, each part when it is first asked for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Set as AbstractSet
from functools import cached_property

from journal.measures.periods import month_key, week_of, year_key
from journal.notes.records import Notes
from journal.reckoning.diversion import PRODUCT, Cell, Diversion, Figure, Figures, heap_up
from journal.reckoning.ledger import build_ledger
from journal.reckoning.movements import Ledger, Movement

OURSELVES = "our own household"
"""How the household itself stands among the givers."""

SPREAD_VERB = "spread"
BIN_VERBS = frozenset({"fed", "bedded", "harvested"})


class BinFigures:
    """What went into a bin and came out, each a figure in kg."""

    __slots__ = ("bedded", "fed", "harvested")

    def __init__(self) -> None:
        self.fed = Figure()
        self.bedded = Figure()
        self.harvested = Figure()

    def join(self, other: BinFigures) -> None:
        """Add the figures of another stretch of time."""
        for name in BIN_VERBS:
            getattr(self, name).join(getattr(other, name))


class Tally:
    """The figures of one journal as of a day; nothing is worked out before it is asked for."""

    def __init__(self, notes: Notes, as_of: dt.date | None = None) -> None:
        self.notes = notes
        self.as_of = as_of or notes.newest or dt.date.min

    def write_up(self) -> Diversion:
        """Have the ledger and its figures worked out now."""
        return self.diversion

    @cached_property
    def ledger(self) -> Ledger:
        """The ledger of all records."""
        return build_ledger(self.notes)

    @cached_property
    def moved(self) -> dict[str, list[Movement]]:
        """The ledger's movements, month by month in the order in which each month is first met."""
        found: dict[str, list[Movement]] = {}
        for movement in self.ledger.movements:
            found.setdefault(month_key(movement.date), []).append(movement)
        return found

    @cached_property
    def diversion(self) -> Diversion:
        """The diversion figures, cell by cell."""
        return Diversion(self.notes, self.ledger)

    @cached_property
    def since_start(self) -> Figures:
        """All figures since the first entry."""
        return heap_up(("all", each) for each in self.years.values()).get("all", Figures())

    @cached_property
    def years(self) -> dict[str, Figures]:
        """Figures by calendar year."""
        return heap_up((month[:4], each) for month, each in self.months.items())

    @cached_property
    def months(self) -> dict[str, Figures]:
        """Figures by month."""
        return self.diversion.by_month

    @cached_property
    def streams(self) -> dict[str, Figures]:
        """Figures by stream of waste; castings are a product and in none."""
        return heap_up((self.stream_of(cell), each) for cell, each in self.diversion.by_kind.items())

    @cached_property
    def givers(self) -> dict[str, Figures]:
        """Figures by giver, in the only form in which a giver's name is published."""
        return heap_up((self.giver_of(cell), each) for cell, each in self.diversion.by_kind.items())

    @staticmethod
    def stream_of(cell: Cell) -> str | None:
        """Give the stream of waste a cell is of, or None for what the bins make."""
        return None if cell.stream == PRODUCT else cell.stream

    def giver_of(self, cell: Cell) -> str | None:
        """Give the published name of whose waste a cell is of, or None for what the bins make."""
        if cell.stream == PRODUCT:
            return None
        return OURSELVES if cell.giver is None else self.notes.household.publishes_giver(cell.giver)

    @cached_property
    def weeks(self) -> dict[dt.date, float]:
        """What was kept out of landfill by week (its Monday), in kg."""
        weeks: dict[dt.date, float] = {}
        for day, kg in sorted(self.diversion.daily.items()):
            monday = week_of(day)
            weeks[monday] = weeks.get(monday, 0.0) + kg
        return weeks

    @cached_property
    def bins(self) -> dict[str, BinFigures]:
        """What went into each bin and what was harvested from it, every bin of household.yaml included."""
        return self.bins_of(None)

    def bins_of(self, years: AbstractSet[str] | None) -> dict[str, BinFigures]:
        """Give the figures of the bins for some years, or for all."""
        bins = {name: BinFigures() for name in self.notes.household.bins}
        for year, heaps in self._bins_by_year.items():
            if years is None or year in years:
                for name, each in heaps.items():
                    bins.setdefault(name, BinFigures()).join(each)
        return bins

    @cached_property
    def _bins_by_year(self) -> dict[str, dict[str, BinFigures]]:
        by_year: dict[str, dict[str, BinFigures]] = {}
        for index, record in enumerate(self.notes.records):
            if record.verb in BIN_VERBS and record.bin is not None:
                heaps = by_year.setdefault(year_key(record.date), {})
                each = heaps.get(record.bin)
                if each is None:
                    each = heaps[record.bin] = BinFigures()
                figure: Figure = getattr(each, record.verb)
                for amount in record.amounts:
                    figure.put(amount, 1.0, index, None)
        return {year: by_year[year] for year in sorted(by_year)}

    @cached_property
    def plantings(self) -> dict[str, Figure]:
        """What was spread on each planting, every planting of household.yaml included."""
        plantings = {name: Figure() for name in self.notes.household.plantings}
        for index, record in enumerate(self.notes.records):
            if record.verb == SPREAD_VERB and record.planting is not None:
                figure = plantings.setdefault(record.planting, Figure())
                for amount in record.amounts:
                    figure.put(amount, 1.0, index, None)
        return plantings

    @property
    def inferred(self) -> Figure:
        """Waste that was used beyond what was on hand, so taken to be the household's own of that day."""
        return self.diversion.inferred
