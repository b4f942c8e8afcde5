"""What the plantings got and gave: castings spread by year, area and tree, their nutrients, crops picked.

Nutrients are total contents as analysed, not what plants can take up in a season.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple

from journal.measures.doubt import Doubtful
from journal.notes.household import Household, Planting, Price
from journal.notes.materials import Material, Range
from journal.notes.records import Notes
from journal.reckoning.diversion import CASTINGS, Figure
from journal.reckoning.flows import Flow, Flows, as_span, content, figure
from journal.reckoning.movements import DUST, Account, Batch, Ledger, Movement
from journal.reckoning.references import Nutrients
from journal.reckoning.spans import Span, exactly, of_doubtful, of_range, sum_of

NUTRIENTS = ("N", "P2O5", "K2O")

NO_CAUSE = (
    "What was spread and what was picked stand side by side here. A garden diary has no bed without castings "
    "to compare with, so it cannot show that one caused the other."
)

COMMON_BAG = Range(
    3.0, 5.0, 10.0, "practice", "bags of 3-x-x to 10-x-x", "common practice, no published source"
)
"""Nitrogen of a bag of garden fertiliser in %, where household.yaml does not give the bag's own."""

FERTILISER = ("fertiliser", "fertilizer")
_ANALYSIS = re.compile(r"(\d+(?:\.\d+)?)\s*[-–]\s*(\d+(?:\.\d+)?)\s*[-–]\s*(\d+(?:\.\d+)?)")


class PlantingYear(NamedTuple):
    """One planting in one year, or since the start.  Masses in kg."""

    castings: Figure
    others: Mapping[str, Figure]  # what else was spread: a batch or a material by name
    nutrients: Mapping[str, Span]  # N, P2O5, K2O in kg, total
    crops: Mapping[str, Figure]  # what was picked
    per_area: Span | None  # kg of castings per m²
    per_tree: Span | None  # kg of castings per tree or plant


class PlantingSheet(NamedTuple):
    """One planting: by year, oldest first, and since the start."""

    planting: Planting
    years: Mapping[int, PlantingYear]
    since_start: PlantingYear


class StandIn(NamedTuple):
    """Bagged fertiliser with as much nitrogen as the castings spread.

    ``bag`` is kg of it by total nitrogen, ``bag_first_year`` by the part that plants get in the first year;
    the money is None where household.yaml gives no price.
    """

    nitrogen_percent: Span
    analysis_given: bool  # whether the bag's own analysis stands in household.yaml
    bag: Span
    bag_first_year: Span
    money: Span | None
    money_first_year: Span | None
    currency: str


class Garden(NamedTuple):
    """All plantings, in the order of household.yaml, and what all of them got."""

    plantings: tuple[PlantingSheet, ...]
    nutrients: Mapping[str, Span]
    stands_in_for: StandIn | None
    castings_money: Span | None  # what the castings spread would cost at the price of household.yaml
    statement: str = NO_CAUSE


def garden(notes: Notes, ledger: Ledger, nutrients: Nutrients, known: Flows) -> Garden:
    """Give what every planting got and gave."""
    reckoner = _Reckoner(notes, ledger.batches, nutrients)
    plantings = notes.household.plantings
    sheets = tuple(
        reckoner.sheet(planting, known.get(Account("planting", name), Flow()))
        for name, planting in plantings.items()
    )
    whole = _together([sheet.since_start.nutrients for sheet in sheets])
    bag, currency = bought_bag(notes.household.prices), notes.household.currency
    in_all = stands_in_for(whole.get("N"), bag, nutrients.first_year, currency)
    return Garden(sheets, whole, in_all, _castings_money(notes.household, sheets))


def bought_bag(prices: Mapping[str, Price]) -> tuple[str, Price] | None:
    """Give the price of fertiliser in household.yaml; its name may hold the analysis: "fertiliser 5-5-5"."""
    return next((named for named in prices.items() if named[0].lower().startswith(FERTILISER)), None)


def _castings_money(household: Household, sheets: tuple[PlantingSheet, ...]) -> Span | None:
    price = household.prices.get(CASTINGS)
    if price is None or not price.per_kg or not sheets:
        return None
    spread = sum_of((as_span(sheet.since_start.castings) for sheet in sheets), "kg")
    return spread.times(price.amount, household.currency)


def nutrients_in(material: Material | None, mass: Span, nutrients: Nutrients) -> dict[str, Span]:
    """Give total N, P₂O₅ and K₂O in kg of a wet mass; empty where no analysis of the material is known."""
    if material is None or material.moisture is None:
        return {}
    dry = mass.by(exactly(1.0).minus(of_range(material.moisture).times(0.01)), "kg")
    contents = nutrients.contents.get(material.name, {})
    return {name: dry.by(of_range(nutrient.content).times(0.01), "kg") for name, nutrient in contents.items()}


def stands_in_for(
    nitrogen: Span | None, bought: tuple[str, Price] | None, first_year: Range, currency: str
) -> StandIn | None:
    """Give the bagged fertiliser that holds as much nitrogen, and what it costs where a price is given."""
    if nitrogen is None or nitrogen.typical <= 0:
        return None
    name, price = bought or ("", None)
    own = _ANALYSIS.search(name)
    given = own is not None and float(own[1]) > 0
    percent = exactly(float(own[1])) if own is not None and given else of_range(COMMON_BAG)
    bag = nitrogen.over(percent.times(0.01), "kg")
    first = nitrogen.by(of_range(first_year)).over(percent.times(0.01), "kg")
    per_kg = price.amount if price is not None and price.per_kg else None
    return StandIn(
        percent.times(1.0, "%"),
        given,
        bag,
        first,
        None if per_kg is None else bag.times(per_kg, currency),
        None if per_kg is None else first.times(per_kg, currency),
        currency,
    )


@dataclass(frozen=True, slots=True)
class _Reckoner:
    notes: Notes
    batches: Mapping[str, Batch]
    nutrients: Nutrients

    def sheet(self, planting: Planting, flow: Flow) -> PlantingSheet:
        every = sorted({movement.date.year for movement in (*flow.into, *flow.out)})
        years = {year: self.year(planting, _within(flow, year)) for year in every}
        return PlantingSheet(planting, years, self.year(planting, flow))

    def year(self, planting: Planting, flow: Flow) -> PlantingYear:
        castings = figure(movement for movement in flow.into if movement.material == CASTINGS)
        others = _by_name([movement for movement in flow.into if movement.material != CASTINGS])
        crops = _by_name([movement for movement in flow.out if movement.target.kind == "crop"])
        spread = as_span(castings)
        return PlantingYear(
            castings,
            others,
            _together([self.delivered(movement) for movement in flow.into]),
            crops,
            spread.times(1 / planting.area, "kg per m²") if planting.area else None,
            spread.times(1 / planting.trees, "kg per plant") if planting.trees else None,
        )

    def delivered(self, movement: Movement) -> dict[str, Span]:
        """Give the nutrients in what one movement brought; a batch by what castings and compost it holds."""
        amount = movement.amount
        mass = Doubtful(amount.kg, amount.own, amount.shared).times(movement.share)
        span = of_doubtful(mass, "kg", (movement.record,))
        batch = self.batches.get(amount.material) if amount.is_batch else None
        if batch is None:
            return nutrients_in(self.notes.catalogue.materials.get(amount.material), span, self.nutrients)
        held = content(batch)
        whole = sum(held.values())
        if whole <= DUST:
            return {}
        return _together(
            [
                nutrients_in(self.notes.catalogue.materials.get(name), span.times(kg / whole), self.nutrients)
                for name, kg in held.items()
            ]
        )


def _together(parts: list[dict[str, Span]] | list[Mapping[str, Span]]) -> dict[str, Span]:
    return {
        name: sum_of(found, "kg")
        for name in NUTRIENTS
        if (found := [part[name] for part in parts if name in part])
    }


def _within(flow: Flow, year: int) -> Flow:
    return Flow(
        [movement for movement in flow.into if movement.date.year == year],
        [movement for movement in flow.out if movement.date.year == year],
    )


def _by_name(movements: list[Movement]) -> dict[str, Figure]:
    ordered = sorted(movements, key=lambda movement: movement.material)
    return {name: figure(moved) for name, moved in groupby(ordered, key=lambda movement: movement.material)}
