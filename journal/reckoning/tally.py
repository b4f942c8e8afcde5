"""Everything that is figured out for one journal, each part when it is first asked for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from functools import cached_property
from itertools import chain

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
        self._bins: dict[str, dict[str, BinFigures]] = {}

    def write_up(self) -> dict[str, list[Movement]]:
        """Have the ledger worked out now, but none of its figures."""
        return self.moved

    @cached_property
    def first_day(self) -> dt.date | None:
        """The day the journal tells of first: the earliest of its entries and its lines."""
        notes = self.notes
        return min(
            chain((each.date for each in notes.entries), (each.date for each in notes.records)), default=None
        )

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
    def moved_years(self) -> list[str]:
        """The years in which anything moved, in order."""
        return list(dict.fromkeys(month[:4] for month in self.moved))

    def moved_in(self, year: str) -> Iterator[Movement]:
        """Give the movements of a year in their order."""
        return (movement for month in self.moved if month.startswith(year) for movement in self.moved[month])

    @cached_property
    def diversion(self) -> Diversion:
        """The diversion figures, cell by cell."""
        return Diversion(self.notes, self.moved)

    @cached_property
    def since_start(self) -> Figures:
        """All figures since the first entry."""
        return heap_up(("all", each) for each in self.years.values()).get("all", Figures())

    @cached_property
    def years(self) -> dict[str, Figures]:
        """Figures by calendar year."""
        years = dict.fromkeys(month[:4] for month in self.months)
        return {year: self.diversion.of_year(year) for year in years}

    @cached_property
    def months(self) -> dict[str, Figures]:
        """Figures by month."""
        return self.diversion.by_month

    @cached_property
    def giving(self) -> frozenset[str]:
        """The published names of those whose waste came in; each has figures, which need not be known."""
        return frozenset(self.name_of(origin.giver) for origin in self.ledger.origins)

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
        return self.name_of(cell.giver)

    def name_of(self, giver: str | None) -> str:
        """Give the published name of a giver, or of the household itself."""
        return OURSELVES if giver is None else self.notes.household.publishes_giver(giver)

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

    @cached_property
    def bin_names(self) -> list[str]:
        """Every bin of household.yaml, and any other that lines name."""
        records = self.notes.records
        named = (records[index].bin or "" for indices in self._bin_records.values() for index in indices)
        return list(dict.fromkeys([*self.notes.household.bins, *named]))

    def bins_of(self, years: AbstractSet[str] | None) -> dict[str, BinFigures]:
        """Give the figures of the bins for some years, or for all."""
        bins = {name: BinFigures() for name in self.notes.household.bins}
        for year in self._bin_records:
            if years is None or year in years:
                for name, each in self._bins_in(year).items():
                    bins.setdefault(name, BinFigures()).join(each)
        return bins

    @cached_property
    def _bin_records(self) -> dict[str, list[int]]:
        """The records that tell what went into bins or came out, by year, the years in order."""
        by_year: dict[str, list[int]] = {}
        for index, record in enumerate(self.notes.records):
            if record.bin is not None and record.verb in BIN_VERBS:
                by_year.setdefault(year_key(record.date), []).append(index)
        return {year: by_year[year] for year in sorted(by_year)}

    def _bins_in(self, year: str) -> dict[str, BinFigures]:
        bins = self._bins.get(year)
        if bins is None:
            bins = self._bins[year] = {}
            for index in self._bin_records[year]:
                record = self.notes.records[index]
                name = record.bin or ""
                each = bins.get(name)
                if each is None:
                    each = bins[name] = BinFigures()
                figure: Figure = getattr(each, record.verb)
                for amount in record.amounts:
                    figure.put(amount, 1.0, index, None)
        return bins

    @cached_property
    def planting_names(self) -> list[str]:
        """Every planting of household.yaml, and any other that something was spread on."""
        named = (record.planting or "" for record in self.notes.records if record.verb == SPREAD_VERB)
        return list(dict.fromkeys([*self.notes.household.plantings, *filter(None, named)]))

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
