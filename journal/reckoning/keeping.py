"""What a keeper asks beyond "how much": bins, batches, castings, garden, footprint, chores, goals, cautions.

Everything for one journal as of a day, each part worked out when it is first asked for.
"""

from __future__ import annotations

import datetime as dt
from functools import cached_property

from journal.reckoning.batches import BatchSheet, batch_sheets
from journal.reckoning.bins import BinSheet, bin_sheets
from journal.reckoning.castings import CastingsStore, castings_store
from journal.reckoning.cautions import Occurring, Shown, cautions_for, occurring
from journal.reckoning.chores import Chore, coming, due
from journal.reckoning.comparisons import Comparisons, DiversionRate, compare, diversion_rate
from journal.reckoning.diversion import Figures
from journal.reckoning.flows import Flow, flows
from journal.reckoning.footprint import Footprint, footprint_of, since_start
from journal.reckoning.garden import Garden, garden
from journal.reckoning.goals import WeekGoal, YearGoal, week_goal, year_goals
from journal.reckoning.movements import Account
from journal.reckoning.references import References
from journal.reckoning.tally import Tally


class Keeping:
    """The state of a journal's bins, batches and garden as of a day (the newest entry's unless told)."""

    def __init__(self, tally: Tally, references: References, on: dt.date | None = None) -> None:
        self.tally = tally
        self.notes = tally.notes
        self.references = references
        self.on = on or tally.as_of
        self._footprints: dict[int, Footprint | None] = {}

    @cached_property
    def flows(self) -> dict[Account, Flow]:
        """The movements by account, up to the day."""
        return flows(self.tally.ledger, self.on)

    @cached_property
    def batches(self) -> list[BatchSheet]:
        """Every batch, in the order of mixing."""
        return batch_sheets(self.notes, self.tally.ledger, self.on, self.flows)

    @cached_property
    def bins(self) -> list[BinSheet]:
        """Every bin of household.yaml, in its order."""
        return bin_sheets(self.notes, self.tally.ledger, self.references.worms, self.on, self.flows)

    @cached_property
    def castings(self) -> CastingsStore:
        """The castings store."""
        return castings_store(self.flows)

    @cached_property
    def garden(self) -> Garden:
        """Every planting of household.yaml, in its order."""
        return garden(self.notes, self.tally.ledger, self.references.nutrients, self.flows)

    def footprint_of(self, year: str) -> Footprint | None:
        """Give a year's avoided emissions; None with ``footprint: none``.  May raise FootprintFault."""
        number = int(year)
        if number not in self._footprints:
            moved = self.tally.moved_in(year)
            self._footprints[number] = footprint_of(
                self.notes, number, moved, self.references.factors, self.on
            )
        return self._footprints[number]

    @cached_property
    def footprints(self) -> dict[int, Footprint]:
        """Avoided emissions by year; empty with ``footprint: none``.  May raise FootprintFault."""
        found = {int(year): self.footprint_of(year) for year in self.tally.moved_years}
        return {year: one for year, one in found.items() if one is not None}

    @cached_property
    def footprint(self) -> Footprint | None:
        """Avoided emissions since the start, each year with its own edition."""
        return since_start(self.footprints, self.references.factors)

    @cached_property
    def coming(self) -> list[Chore]:
        """Every chore foreseen, by day."""
        return coming(self.bins, self.batches, self.on, self.notes.household.units)

    @cached_property
    def chores(self) -> list[Chore]:
        """The chores that are due, the most pressing first."""
        return due(self.coming, self.on)

    @cached_property
    def year_goals(self) -> list[YearGoal]:
        """Each year's goal that has begun."""
        kept = {int(year): figures.kept_out_of_landfill for year, figures in self.tally.years.items()}
        return year_goals(self.notes.household.goals, kept, self.on, self.tally.first_day)

    @cached_property
    def week_goal(self) -> WeekGoal | None:
        """The goal per week, where there is one."""
        return week_goal(self.notes.household.goals, self.tally.weeks, self.on, self.tally.first_day)

    @cached_property
    def comparisons(self) -> Comparisons | None:
        """What was kept out of landfill since the first day, beside others; None in an empty journal."""
        first = self.tally.first_day
        if first is None or first > self.on:
            return None
        kept = self.tally.since_start.kept_out_of_landfill
        ours = self.tally.diversion.by(lambda cell: "ours" if cell.giver is None else None).get(
            "ours", Figures()
        )
        own = ours.kept_out_of_landfill
        return compare(self.notes.household, (kept, own), (first, self.on), self.references.comparisons)

    @cached_property
    def diversion_rate(self) -> DiversionRate | None:
        """The household's own diversion rate over the months in which trash was weighed; None without any."""
        return diversion_rate(self.tally.diversion.cells, self.tally.ledger.movements, self.on)

    @cached_property
    def _occurring(self) -> Occurring:
        return occurring(self.notes)

    def cautions(self, page: str | None = None) -> list[Shown]:
        """The cautions of the whole journal, or of one page ("bins", "bedding", "garden", "givers")."""
        return cautions_for(self.notes, self._occurring, self.references.cautions, page)
