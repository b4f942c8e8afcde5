"""Bins: readings against the band, feed against the worms, what went in, what came out, when to sift."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal.notes.household import Bin, Household
from journal.notes.records import Notes, Record
from journal.reckoning.bins import BinSheet, bin_sheets
from journal.reckoning.ledger import build_ledger
from tests.handwritten import PEOPLE, WORMS, amount, checked, day, journal, written
from tests.journals import journals


def sheet(records: list[Record], on: int, name: str = "Crate", household: Household = PEOPLE) -> BinSheet:
    """The sheet of a bin as of a day."""
    notes = journal(records, household)
    return next(each for each in bin_sheets(notes, build_ledger(notes), WORMS, day(on)) if each.name == name)


def with_bin(**fields: object) -> Household:
    """The test household with one field or more of its Crate set otherwise."""
    crate = PEOPLE.bins["Crate"]._replace(**fields)  # type: ignore[arg-type]
    return replace(PEOPLE, bins={"Crate": crate})


def fed(on: int, kg: float, bin_: str = "Crate") -> Record:
    """A feeding of peels."""
    return written("fed", on, amount(kg, "peels"), bin=bin_)


def worms(on: int, kg: float, bin_: str = "Crate") -> Record:
    """Worms added."""
    return written("added", on, amount(kg, "worms"), bin=bin_)


def sifted(on: int, kg: float = 1.0) -> Record:
    """A harvest of castings."""
    return written("harvested", on, amount(kg, "castings"), bin="Crate")


@pytest.mark.parametrize(
    ("degrees", "state", "chore"),
    [
        (3, "cold", "warm"),
        (10, "low", "warm"),
        (15, "good", None),
        (25, "good", None),
        (28, "high", "cool"),
        (31, "dangerous", "cool"),
    ],
)
def test_a_temperature_is_held_against_the_worms_band(degrees: float, state: str, chore: str | None) -> None:
    """Each temperature is cold, low, good, high or dangerous, and names what to do if it is not good."""
    found = sheet([checked("Crate", 1, temperature=degrees)], 1).latest["temperature"]
    assert found.state == state
    assert (found.remedy[0] if found.remedy else None) == chore


def test_the_same_temperature_suits_one_kind_and_not_another() -> None:
    """Eighteen degrees are good for red wigglers and cool for nightcrawlers."""
    readings = [checked("Crate", 1, temperature=18), checked("Trough", 1, temperature=18)]
    assert sheet(readings, 1).latest["temperature"].state == "good"
    assert sheet(readings, 1, "Trough").latest["temperature"].state == "low"


def test_two_kinds_in_one_bin_ask_for_what_suits_both() -> None:
    """The band of a mixed bin is where the bands of its kinds overlap: 20 to 25 °C."""
    found = sheet([], 1, household=with_bin(worms="red wigglers and nightcrawlers"))
    assert [kind.name for kind in found.kinds] == ["red wigglers", "nightcrawlers"]
    assert (found.bands["temperature"].low, found.bands["temperature"].high) == (20, 25)


def test_a_kind_nobody_knows_is_assumed_and_said_so() -> None:
    """A bin with worms that are not in the books goes by the commonest kind, marked as assumed."""
    found = sheet([], 1, household=with_bin(worms="cousin Ted's worms"))
    assert found.kind.name == "red wigglers"
    assert found.kind_assumed


@pytest.mark.parametrize(
    ("moisture", "chore"), [(55, "moisten"), (65, "moisten"), (80, None), (88, "dry"), (95, "dry")]
)
def test_a_moisture_says_whether_to_moisten_or_to_dry(moisture: float, chore: str | None) -> None:
    """A bin below its band is to be moistened, above it to be dried."""
    remedy = sheet([checked("Crate", 1, moisture=moisture)], 1).latest["moisture"].remedy
    assert (remedy[0] if remedy else None) == chore


def test_a_reading_on_the_edge_says_that_it_is_not_clear() -> None:
    """A thermometer read to half a degree cannot tell 14.8 °C from good."""
    record = checked("Crate", 1, temperature=14.8, temperature_half=0.5)
    assert not sheet([record], 1).latest["temperature"].is_clear


def test_feed_is_set_against_the_worms_believed_to_be_there() -> None:
    """A kilogram of worms fed 14 kg in 28 days eats half its mass a day, if none were born."""
    records = [worms(0, 1.0), *(fed(on, 0.5) for on in range(73, 101))]
    household = with_bin(surface=None)
    found = sheet(records, 100, household=household)
    assert found.feed_rate is not None
    assert found.feed_rate.typical == pytest.approx(0.5)
    assert found.feed_state == "about right"


@pytest.mark.parametrize(("daily", "state"), [(0.2, "little"), (0.3, "about right"), (1.2, "much")])
def test_feed_is_little_or_much_where_its_whole_range_lies_outside(daily: float, state: str) -> None:
    """Worms that eat a quarter to all of their mass a day get little below and much above."""
    records = [worms(0, 1.0), *(fed(on, daily) for on in range(73, 101))]
    assert sheet(records, 100, household=with_bin(surface=None)).feed_state == state


def test_feed_whose_range_reaches_into_the_usual_is_about_right() -> None:
    """Where nobody knows how many worms were born, a rate that may be usual is not called little."""
    records = [worms(0, 1.0), *(fed(on, 0.3) for on in range(973, 1001))]
    found = sheet(records, 1000, household=with_bin(surface=2.0))
    assert found.feed_rate is not None
    assert found.feed_rate.typical < 0.25
    assert found.feed_state == "about right"


def test_feed_before_the_window_does_not_count() -> None:
    """The feed rate looks at the last 28 days, the day itself included."""
    found = sheet([fed(72, 100.0), fed(73, 28.0)], 100)
    assert found.feed_per_day.typical == pytest.approx(1.0)


def test_a_young_bin_is_measured_over_its_own_life_but_over_a_week_at_least() -> None:
    """Seven kilograms on the first day are one a day, not seven; after two weeks they are half a kilogram."""
    assert sheet([fed(0, 7.0)], 0).feed_per_day.typical == pytest.approx(1.0)
    assert sheet([fed(0, 7.0)], 13).feed_per_day.typical == pytest.approx(0.5)


def test_a_bin_without_recorded_worms_has_no_feed_rate() -> None:
    """Where no worms were ever recorded, no rate is made up."""
    found = sheet([fed(0, 1.0)], 10)
    assert found.worms is None
    assert found.feed_rate is None
    assert found.feed_state == "unknown"


def test_growth_is_a_range_capped_by_the_surface() -> None:
    """After years the low end is what was added, the high end the most that half a square metre bears."""
    found = sheet([worms(0, 0.5)], 2000).worms
    assert found is not None
    assert found.believed.low == pytest.approx(0.5)
    assert found.believed.typical == pytest.approx(4 * 0.5)
    assert found.believed.high == pytest.approx(8 * 0.5)


def test_worms_double_at_the_published_pace_below_the_cap() -> None:
    """After one doubling time the typical mass is twice what was added."""
    found = sheet([worms(0, 0.5)], 90, household=with_bin(surface=100.0)).worms
    assert found is not None
    assert found.believed.typical == pytest.approx(1.0)
    assert found.believed.high == pytest.approx(0.5 * 2 ** (90 / 60))


def test_without_a_surface_no_growth_is_claimed() -> None:
    """A bin whose surface is not known holds what was added, however long ago."""
    found = sheet([worms(0, 0.5)], 900, household=with_bin(surface=None)).worms
    assert found is not None
    assert found.believed.high == pytest.approx(0.5)
    assert found.capped_at is None


def test_worms_that_move_leave_one_bin_and_reach_the_other() -> None:
    """Moved worms are taken off where they came from."""
    moved = written("moved", 1, amount(0.2, "worms"), bin="Trough", source_bin="Crate")
    records = [worms(0, 0.5), moved]
    crate, trough = sheet(records, 1).worms, sheet(records, 1, "Trough").worms
    assert crate is not None
    assert trough is not None
    assert crate.added == pytest.approx(0.3)
    assert trough.added == pytest.approx(0.2)


def test_the_mix_of_the_last_sixty_days_is_a_mass_balance() -> None:
    """Peels and newspaper fed lately blend by mass; what came sixty days ago or more is left out."""
    bed = written("bedded", 90, amount(1, "newspaper"), bin="Crate")
    found = sheet([fed(39, 50.0), fed(95, 5.0), bed], 100).recent_mix
    assert found.moisture is not None
    assert found.moisture.typical == pytest.approx((5 * 80 + 1 * 10) / 6)
    assert found.carbon_nitrogen is not None
    expected = (5 * 20 * 45 + 1 * 90 * 50) / (5 * 20 * 3 + 1 * 90 * 0.1)
    assert found.carbon_nitrogen.typical == pytest.approx(expected)


def test_surface_load_is_feed_per_area_and_week() -> None:
    """Half a kilogram a day on half a square metre is seven kilograms per square metre and week."""
    found = sheet([fed(on, 0.5) for on in range(73, 101)], 100)
    assert found.surface_load is not None
    assert found.surface_load.typical == pytest.approx(7.0)
    assert found.surface_state(WORMS) == "about right"


def test_yield_leaves_out_what_had_no_time_to_become_castings() -> None:
    """Castings are set against dry matter that was in a lag before the last harvest; the rest is at work."""
    records = [fed(0, 10.0), fed(95, 5.0), sifted(100, 2.0)]
    found = sheet(records, 120).yields
    assert found.dry_in.typical == pytest.approx(10 * 0.2)
    assert found.working.typical == pytest.approx(5 * 0.2)
    assert found.share is not None
    assert found.share.typical == pytest.approx(2 * 0.4 / (10 * 0.2))


def test_mass_that_came_out_nowhere_is_shown() -> None:
    """Ten in, two sifted, one drained, half thrown out: six and a half are lost to air or still inside."""
    records = [
        fed(0, 10.0),
        sifted(100, 2.0),
        written("threw out", 50, amount(1, "drained liquid"), out_of="Crate", out_of_kind="bin"),
        written("threw out", 60, amount(0.5, "trash"), out_of="Crate", out_of_kind="bin"),
    ]
    found = sheet(records, 120).balance
    assert found.unaccounted.value == pytest.approx(6.5)
    assert found.drained.value == pytest.approx(1)
    assert found.thrown_out.value == pytest.approx(0.5)
    assert found.solids_lost.low == pytest.approx(0.4 * 2)
    assert found.solids_lost.high == pytest.approx(0.6 * 2)


def test_oversize_that_goes_back_is_neither_in_nor_out() -> None:
    """What the screen holds back and returns to its bin changes no balance."""
    back = written("returned", 101, amount(0.7, "castings"), bin="Crate")
    plain, returned = (
        sheet([fed(0, 10.0), sifted(100)], 120),
        sheet([fed(0, 10.0), sifted(100, 1.0), back], 120),
    )
    assert returned.balance.put_in.value - returned.balance.unaccounted.value <= 1.0 + 1e-9
    assert plain.balance.unaccounted.value == pytest.approx(9.0)


def test_the_first_harvest_is_foretold_from_books_and_marked_so() -> None:
    """A bin never sifted is due in the published range after its start."""
    found = sheet([fed(0, 1.0)], 10).next_harvest
    assert found is not None
    assert (found.earliest, found.typical, found.latest) == (day(100), day(150), day(240))
    assert (found.basis, found.sources) == ("published", ("a source",))


def test_one_harvest_is_no_history() -> None:
    """After one harvest the published interval still serves."""
    found = sheet([fed(0, 1.0), sifted(100)], 110).next_harvest
    assert found is not None
    assert (found.earliest, found.typical, found.basis) == (day(190), day(220), "published")


def test_from_two_harvests_on_the_bin_speaks_for_itself() -> None:
    """Intervals of 80, 100 and 120 days make the next one due 80 to 120 days after the last."""
    found = sheet([fed(0, 1.0), *(sifted(on) for on in (100, 180, 280, 400))], 410).next_harvest
    assert found is not None
    assert found.intervals == (80, 100, 120)
    assert (found.earliest, found.typical, found.latest) == (day(480), day(500), day(520))
    assert found.basis == "own history"


def test_sifting_over_several_days_is_one_harvest() -> None:
    """Three siftings within two weeks are no intervals of a day."""
    found = sheet([fed(0, 1.0), *(sifted(on) for on in (100, 101, 103, 200))], 210).next_harvest
    assert found is not None
    assert found.intervals == (100,)


def test_a_bin_that_ended_is_due_for_nothing() -> None:
    """A bin that ended is not running and has no next harvest."""
    found = sheet([fed(0, 1.0)], 100, household=with_bin(ended=day(50)))
    assert not found.running
    assert found.next_harvest is None


def test_a_bin_nobody_wrote_about_has_a_sheet_all_the_same() -> None:
    """A bin that only household.yaml knows gives empty figures and no error."""
    household = replace(PEOPLE, bins={"Idle": Bin("Idle")})
    found = sheet([], 0, "Idle", household)
    assert found.fed.value == 0
    assert found.next_harvest is None
    assert not found.running


def test_figures_of_a_bin_can_be_followed_to_their_lines() -> None:
    """Feed rate and surface load name the lines and the sources they rest on."""
    found = sheet([worms(0, 1.0), fed(90, 2.0)], 100)
    assert found.feed_rate is not None
    assert set(found.feed_rate.records) == {0, 1}
    assert "a source" in found.feed_rate.sources
    assert found.fed.behind == [1]


@given(journals(40), st.integers(0, 420))
def test_what_went_into_a_bin_came_out_or_is_shown_as_missing(notes: Notes, days: int) -> None:
    """For any journal and day, in = harvested + drained + thrown out + moved out + unaccounted."""
    on = dt.date(2023, 12, 20) + dt.timedelta(days=days)
    for found in bin_sheets(notes, build_ledger(notes), WORMS, on):
        balance = found.balance
        parts = (
            balance.harvested,
            balance.drained,
            balance.thrown_out,
            balance.moved_out,
            balance.unaccounted,
        )
        assert math.fsum(part.value for part in parts) == pytest.approx(balance.put_in.value, abs=1e-9)


@given(st.floats(0.01, 5), st.integers(0, 3000), st.floats(0, 0.2))
def test_the_believed_worm_mass_is_a_range_in_order(kg: float, days: int, doubt: float) -> None:
    """Low, typical and high are in that order, and growth never passes the cap."""
    record = written("added", 0, amount(kg, "worms", doubt * kg), bin="Crate")
    found = sheet([record], days).worms
    assert found is not None
    assert 0 <= found.believed.low <= found.believed.typical <= found.believed.high
    assert found.capped_at is not None
    assert found.believed.high <= max(found.capped_at.high, kg * (1 + 2 * doubt)) + 1e-9
