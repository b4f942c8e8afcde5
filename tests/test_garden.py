"""Castings and garden: the store, what each planting got, its nutrients, and what bag it stands in for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from journal.notes.household import Household, Price
from journal.notes.materials import Range
from journal.notes.records import Record
from journal.reckoning.castings import CastingsStore, castings_store
from journal.reckoning.flows import flows
from journal.reckoning.garden import NO_CAUSE, Garden, garden
from journal.reckoning.ledger import build_ledger
from journal.reckoning.references import Nutrient, Nutrients
from tests.handwritten import PEOPLE, amount, day, journal, written

# The worm compost of Guide H-164, New Mexico State University, Table 1: 1.94 % nitrogen; P 0.47 % and K
# 0.70 % of dry mass make P2O5 1.08 % and K2O 0.84 % with the oxide factors 2.2914 and 1.2046 (atomic masses).
SAMPLE = Nutrients(
    {
        "castings": {
            "N": Nutrient("N", Range(1.0, 1.94, 3.2, "guide")),
            "P2O5": Nutrient("P2O5", Range(0.5, 0.47 * 2.2914, 2.9, "guide")),
            "K2O": Nutrient("K2O", Range(0.2, 0.70 * 1.2046, 2.7, "guide")),
        }
    },
    {},
    Range(0.1, 0.2, 0.3, "practice"),
    (),
)


def spread(on: int, kg: float, planting: str = "Pear") -> Record:
    """Castings spread."""
    return written("spread", on, amount(kg, "castings"), planting=planting)


def sifted(on: int, kg: float) -> Record:
    """Castings sifted."""
    return written("harvested", on, amount(kg, "castings"), bin="Crate")


def of(records: list[Record], household: Household = PEOPLE) -> Garden:
    """The garden of a journal, two years after its start."""
    notes = journal(records, household)
    ledger = build_ledger(notes)
    return garden(notes, ledger, SAMPLE, flows(ledger, day(800)))


def store(records: list[Record]) -> CastingsStore:
    """The castings store of a journal, two years after its start."""
    return castings_store(flows(build_ledger(journal(records)), day(800)))


def test_the_store_holds_what_was_sifted_less_what_was_used() -> None:
    """Ten sifted and two bought, three spread, one into slurry, one given away: seven are left."""
    found = store(
        [
            sifted(0, 10),
            written("bought", 1, amount(2, "castings")),
            spread(2, 3),
            written("mixed", 3, amount(1, "castings"), amount(9, "water"), batch="Brew", batch_kind="slurry"),
            written("gave", 4, amount(1, "castings"), giver="Ada"),
        ]
    )
    assert (found.harvested.value, found.arrived.value) == (10, 2)
    assert (found.spread.value, found.mixed.value, found.given.value) == (3, 1, 1)
    assert found.left.value == pytest.approx(7)


def test_castings_of_before_the_journal_never_came_through_the_store() -> None:
    """Castings spread although none were sifted leave the store at zero, not below."""
    assert store([spread(0, 5)]).left.value == pytest.approx(0)


def test_the_account_of_castings_agrees_with_the_garden() -> None:
    """Seven spread of four sifted: seven are spread, three of them from elsewhere, none is left."""
    found = store([sifted(0, 4), spread(2, 7)])
    assert (found.harvested.value, found.beyond.value) == pytest.approx((4, 3))
    assert found.spread.value == pytest.approx(7)
    assert found.left.value == pytest.approx(0)
    assert of([sifted(0, 4), spread(2, 7)]).plantings[0].since_start.castings.value == pytest.approx(7)


def test_a_planting_is_told_by_year_area_and_tree() -> None:
    """Four kilograms on four square metres and two trees are one per square metre and two per tree."""
    sheet = of([sifted(0, 20), spread(10, 4), spread(400, 6)]).plantings[0]
    assert sheet.planting.name == "Pear"
    first, second = sheet.years[2026], sheet.years[2027]
    assert (first.castings.value, second.castings.value, sheet.since_start.castings.value) == (4, 6, 10)
    assert first.per_area is not None
    assert first.per_tree is not None
    assert first.per_area.typical == pytest.approx(1)
    assert first.per_tree.typical == pytest.approx(2)


def test_without_an_area_no_rate_is_made_up() -> None:
    """A planting whose area is not known has no rate per area."""
    sheet = of([sifted(0, 20), spread(10, 4, "Bed")]).plantings[1]
    assert sheet.since_start.per_area is None


def test_nutrients_are_total_contents_of_the_dry_matter() -> None:
    """Ten kilograms at 60 % water with the analysed sample hold 78 g N, 43 g P₂O₅ and 34 g K₂O."""
    found = of([sifted(0, 20), spread(10, 10)]).nutrients
    grams = {name: f"{1000 * span.typical:.0f}" for name, span in found.items()}
    assert grams == {"N": "78", "P2O5": "43", "K2O": "34"}
    assert found["N"].low == pytest.approx(4 * 0.010)
    assert found["N"].high == pytest.approx(4 * 0.032)
    assert found["N"].sources[-1] == "guide"
    assert found["N"].records == (1,)


def test_slurry_delivers_what_its_castings_hold() -> None:
    """Five of ten kilograms of a slurry made with one kilogram of castings bring half of its nitrogen."""
    brew = written("mixed", 0, amount(9, "water"), amount(1, "castings"), batch="Brew", batch_kind="slurry")
    watered = written("spread", 1, amount(5, "Brew", batch=True), planting="Bed")
    found = of([sifted(0, 1), brew, watered])
    assert found.nutrients["N"].typical == pytest.approx(0.5 * 0.4 * 0.0194)
    assert found.plantings[1].since_start.others["Brew"].value == 5
    assert found.plantings[1].since_start.castings.value == 0


def test_the_bag_it_stands_in_for_has_as_much_nitrogen() -> None:
    """A 5-5-5 bag at 2 a kilogram: 78 g of nitrogen are 1.55 kg and 3.10, a fifth of it in the first year."""
    household = replace(PEOPLE, prices={"fertiliser 5-5-5": Price(2.0), "castings": Price(3.0)})
    grown = of([sifted(0, 20), spread(10, 10)], household)
    assert grown.castings_money is not None
    assert grown.castings_money.typical == pytest.approx(30)
    found = grown.stands_in_for
    assert found is not None
    assert found.analysis_given
    assert found.bag.typical == pytest.approx(4 * 0.0194 / 0.05)
    assert found.money is not None
    assert found.money.typical == pytest.approx(2 * 4 * 0.0194 / 0.05)
    assert found.bag_first_year.typical == pytest.approx(found.bag.typical * 0.2)


def test_no_price_no_money() -> None:
    """Without a price in household.yaml no sum of money is shown, and a common bag is a range."""
    found = of([sifted(0, 20), spread(10, 10)]).stands_in_for
    assert found is not None
    assert found.money is None
    assert not found.analysis_given
    assert found.bag.low < found.bag.typical < found.bag.high


def test_no_castings_no_bag() -> None:
    """A garden that got nothing stands in for nothing."""
    assert of([]).stands_in_for is None


def test_crops_stand_beside_castings_without_a_claim() -> None:
    """What was picked is told by crop and year, with the statement that a diary shows no cause."""
    found = of([sifted(0, 20), spread(10, 4), written("picked", 200, amount(7, "pears"), planting="Pear")])
    assert found.plantings[0].years[2026].crops["pears"].value == 7
    assert found.statement == NO_CAUSE
    assert "cannot show that one caused the other" in found.statement
