"""Batches: what is in them, whether they are ready, where they went, and that no mass is lost on the way."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal.notes.records import Notes, Record
from journal.reckoning.batches import BatchSheet, batch_sheets
from journal.reckoning.ledger import build_ledger
from tests.handwritten import PEOPLE, amount, day, journal, written
from tests.journals import journals

RECIPE = (amount(2, "shredded paper", 0.01), amount(0.1, "grit"), amount(4, "water"))


def mixed(on: int = 0, name: str = "Mix 1") -> Record:
    """A batch of 6.1 kg: paper, grit and water."""
    return written("mixed", on, *RECIPE, batch=name, batch_kind="bedding")


def sheet(records: list[Record], on: int, name: str = "Mix 1") -> BatchSheet:
    """The sheet of a batch as of a day."""
    notes = journal(records)
    return next(each for each in batch_sheets(notes, build_ledger(notes), day(on)) if each.name == name)


@pytest.mark.parametrize(
    ("on", "state"), [(0, "resting"), (6, "resting"), (7, "ready"), (13, "ready"), (14, "better")]
)
def test_a_batch_rests_a_week_and_is_better_after_two(on: int, state: str) -> None:
    """Ready from the seventh day and better from the fourteenth (common practice, no published source)."""
    assert sheet([mixed()], on).state == state


def test_the_household_says_how_long_its_bedding_rests() -> None:
    """Days set in household.yaml move the day on which a batch is ready."""
    notes = journal([mixed()], replace(PEOPLE, bedding_ready_days=3, bedding_better_days=21))
    found = batch_sheets(notes, build_ledger(notes), day(3))[0]
    assert (found.state, found.better_on) == ("ready", day(21))


def test_slurry_does_not_rest() -> None:
    """A slurry is ready on the day it is mixed."""
    brew = written("mixed", 0, amount(8, "water"), amount(1, "castings"), batch="Brew", batch_kind="slurry")
    assert sheet([brew], 0, "Brew").ready_on == day(0)


def test_a_batch_is_in_use_and_then_used_up() -> None:
    """Once some went into a bin it is in use; with next to nothing left it is used up."""
    half = written("bedded", 8, amount(3, "Mix 1", batch=True), bin="Crate")
    rest = written("bedded", 20, amount(3, "Mix 1", batch=True), bin="Trough")
    assert sheet([mixed(), half], 10).state == "in use"
    found = sheet([mixed(), half, rest], 30)
    assert found.state == "used up"
    assert [(gone.account.name, gone.mass.value, gone.first) for gone in found.destinations] == [
        ("Crate", 3, day(8)),
        ("Trough", 3, day(20)),
    ]
    assert found.left.value == pytest.approx(0.1)


def test_what_lies_after_the_day_looked_at_has_not_happened() -> None:
    """As of day ten a batch used on day twenty is still whole."""
    rest = written("bedded", 20, amount(3, "Mix 1", batch=True), bin="Crate")
    assert sheet([mixed(), rest], 10).state == "ready"


def test_drained_liquid_makes_a_batch_lighter_and_drier() -> None:
    """Two kilograms drained off are off the mass made and off the water in it."""
    drained = written("threw out", 1, amount(2, "drained liquid"), out_of="Mix 1", out_of_kind="batch")
    wet, dry = sheet([mixed()], 5), sheet([mixed(), drained], 5)
    assert dry.made.value == pytest.approx(4.1)
    assert dry.drained.value == pytest.approx(2)
    assert wet.blend.moisture is not None
    assert dry.blend.moisture is not None
    assert wet.blend.moisture.typical == pytest.approx((2 * 10 + 4 * 100) / 6.1)
    assert dry.blend.moisture.typical == pytest.approx((2 * 10 + 2 * 100) / 4.1)
    assert dry.blend.carbon_nitrogen is not None
    assert dry.blend.carbon_nitrogen.typical == pytest.approx(45 / 0.25)


def test_a_batch_says_whose_paper_is_in_it() -> None:
    """Paper keeps its giver into the batch; supplies are nobody's waste."""
    taken = written("took in", 0, amount(1.5, "newspaper"), giver="Ada")
    found = sheet([taken, mixed(1)], 2)
    assert [(held.giver, held.kg) for held in found.holdings] == [("Ada", 1.5), (None, pytest.approx(0.5))]
    assert found.diverted_share == pytest.approx(2 / 6.1)


def test_a_batch_in_a_batch_brings_its_own_ingredients() -> None:
    """Bedding wetted with slurry holds the slurry's castings and water in their proportion."""
    brew = written("mixed", 0, amount(9, "water"), amount(1, "castings"), batch="Brew", batch_kind="slurry")
    bed = written(
        "mixed",
        1,
        amount(2, "shredded paper"),
        amount(5, "Brew", batch=True),
        batch="Bed",
        batch_kind="bedding",
    )
    found = sheet([brew, bed], 2, "Bed")
    masses = {part.material.name: part.mass.value for part in found.blend.ingredients}
    assert masses == {"shredded paper": 2, "water": pytest.approx(4.5), "castings": pytest.approx(0.5)}
    assert [name for name, _ in found.recipe] == ["shredded paper", "Brew"]


def test_every_figure_of_a_batch_names_its_records() -> None:
    """Mass, moisture and left-over of a batch can be followed to the lines they rest on."""
    half = written("bedded", 8, amount(3, "Mix 1", batch=True), bin="Crate")
    found = sheet([mixed(), half], 10)
    assert found.made.behind == [0]
    assert found.left.behind == [0, 1]
    assert found.blend.moisture is not None
    assert found.blend.moisture.records == (0,)
    assert found.blend.moisture.sources == ("a source",)
    assert found.records == (0, 1)


def test_lines_split_over_givers_keep_one_doubt() -> None:
    """Paper of two givers on one weighed line carries that line's doubt once, not half of it twice."""
    taken = written("took in", 0, amount(1, "newspaper"), giver="Ada")
    found = sheet([taken, mixed(1)], 2)
    assert found.made.expanded == pytest.approx(0.02)


@given(journals(40), st.integers(0, 420))
def test_what_a_batch_holds_and_what_left_it_is_what_went_in(notes: Notes, days: int) -> None:
    """For any journal and day: left + gone = mixed in, and made = mixed in less drained."""
    on = dt.date(2023, 12, 20) + dt.timedelta(days=days)
    ledger = build_ledger(notes)
    for found in batch_sheets(notes, ledger, on):
        gone = sum(each.mass.value for each in found.destinations)
        assert found.left.value + gone == pytest.approx(found.mixed_in.value, abs=1e-9)
        assert found.made.value == pytest.approx(found.mixed_in.value - found.drained.value, abs=1e-9)
        assert found.left.value >= -1e-9
        assert sum(figure.value for _, figure in found.recipe) == pytest.approx(found.mixed_in.value)
    for found in batch_sheets(notes, ledger, dt.date.max):
        assert found.left.value == pytest.approx(ledger.batches[found.name].left, abs=1e-9)
        assert found.mixed_in.value == pytest.approx(ledger.batches[found.name].made, abs=1e-9)
