"""Whole diaries, read from text: every state of bins and batches, and every slip at its line."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal.commands import shipped
from journal.commands.calendar import calendar_of
from journal.commands.files import read_journal
from journal.notes.household import Goals
from journal.notes.records import Notes
from journal.reckoning.keeping import Keeping
from journal.reckoning.slips import slips
from journal.reckoning.tally import Tally
from tests.conftest import Program
from tests.handwritten import PEOPLE, amount, checked, journal, written
from tests.journals import journals

WORKED_OUT = (
    "bins", "batches", "castings", "garden", "footprints", "footprint", "coming", "chores", "year_goals",
    "week_goal", "comparisons", "diversion_rate",
)  # fmt: skip
DATA = Path(__file__).parent / "data"
TON = 907.18474  # kg in a short ton, exact: NIST Handbook 44, Appendix C


@pytest.fixture(scope="module")
def cellar() -> Keeping:
    """The diary of two crates in a metric household, with the figures that come with the program."""
    notes = read_journal(DATA / "cellar")
    assert not notes.problems, [str(problem) for problem in notes.problems]
    return Keeping(Tally(notes), shipped.references())


def test_every_slip_is_pointed_out_at_its_line_and_nothing_else(program: Program) -> None:
    """The slippery diary has a slip of every kind; those confirmed with "it is right" are left alone."""
    notes = read_journal(DATA / "slips")
    assert not notes.problems
    found = slips(notes, Tally(notes).ledger, dt.date(2026, 9, 1))
    listed = [f"{slip.place} {slip.fault.code}" for slip in found]
    assert listed == (DATA / "slips" / "expected.txt").read_text(encoding="utf-8").splitlines()
    done = program("--journal", DATA / "slips", "proofread")
    assert done.returncode == 0
    for slip in found:
        assert f"{slip.place}: " in done.stdout


def test_a_cold_bin_and_a_dry_bin_are_urgent(cellar: Keeping) -> None:
    """Five degrees are cool for red wigglers, and 64 % is dry for the other crate."""
    states = {bin_.name: {name: found.state for name, found in bin_.latest.items()} for bin_ in cellar.bins}
    assert states == {
        "Crate A": {"temperature": "low", "moisture": "good", "pH": "good"},
        "Crate B": {"temperature": "good", "moisture": "low"},
    }
    chores = {(chore.what, chore.subject) for chore in cellar.chores}
    assert {("warm", "Crate A"), ("moisten", "Crate B")} <= chores


def test_the_harvest_is_due_by_the_bins_own_history(cellar: Keeping) -> None:
    """Two harvests a hundred days apart foretell the next 75 to 125 days after the last."""
    coming = cellar.bins[0].next_harvest
    assert coming is not None
    assert (coming.basis, coming.intervals) == ("own history", (100,))
    assert coming.typical == dt.date(2026, 1, 17)
    assert ("harvest", "Crate A") in {(chore.what, chore.subject) for chore in cellar.chores}


def test_a_batch_rests_and_another_is_used_up(cellar: Keeping) -> None:
    """The new nest rests; the old one is used up, lighter by the liquid that was drained off."""
    old, new = cellar.batches
    assert (old.state, new.state) == ("used up", "resting")
    assert old.made.value == pytest.approx(4.5)
    assert [(held.giver, round(held.kg, 9)) for held in new.holdings] == [("Number 12", 1.5)]


def test_what_went_in_is_a_mass_balance(cellar: Keeping) -> None:
    """Crate A took 400 g worms, 4.5 kg nest, 24 kg peels; 9 kg castings came out, the rest is missing."""
    balance = cellar.bins[0].balance
    assert balance.put_in.value == pytest.approx(0.4 + 4.5 + 24)
    assert balance.harvested.value == pytest.approx(9)
    assert balance.unaccounted.value == pytest.approx(28.9 - 9)


def test_peels_avoid_what_the_printed_table_says(cellar: Keeping) -> None:
    """30 kg of peels of 2025 and half of the paper, with the edition of 2024, less what the bin emits."""
    found = cellar.footprints[2025]
    assert found.editions == ("2024",)
    peels = [line for line in found.lines if line.material == "moist peels"]
    # Table 9, 2024: fruits and vegetables landfilled 0.28 t per short ton; IPCC: 0.174 kg/kg.
    expected = 30 * (0.28 * 1000 / TON - (4e-3 * 27 + 0.24e-3 * 273))
    assert sum(line.avoided.typical for line in peels) == pytest.approx(expected)
    (paper,) = [line for line in found.lines if line.material == "newspaper"]
    # Newspaper landfilled 0.39; mixed organics composted 0.13, as a stand-in.
    assert paper.avoided.typical == pytest.approx(0.5 * 6 * (0.39 - 0.13) * 1000 / TON)
    assert cellar.footprints[2026].kg == pytest.approx(2 - 0.5)


def test_castings_and_currants(cellar: Keeping) -> None:
    """Nine kilograms sifted, three spread on four square metres: six are left, and berries stand beside."""
    assert cellar.castings.left.value == pytest.approx(6)
    sheet = cellar.garden.plantings[0].years[2025]
    assert sheet.per_area is not None
    assert sheet.per_area.typical == pytest.approx(0.75)
    assert sheet.crops["berries"].value == pytest.approx(2)
    stand_in = cellar.garden.stands_in_for
    assert stand_in is not None
    assert stand_in.nitrogen_percent.typical == pytest.approx(7)
    assert stand_in.money is not None
    assert stand_in.money.typical == pytest.approx(3.5 * stand_in.bag.typical)
    assert cellar.garden.castings_money is not None
    assert cellar.garden.castings_money.typical == pytest.approx(6)


def test_goals_and_comparisons(cellar: Keeping) -> None:
    """Half of the paper and all of the peels were kept out of landfill in 2025, short of 60 kg."""
    goals = {goal.year: goal for goal in cellar.year_goals}
    assert goals[2025].kept.value == pytest.approx(3 + 30)
    assert goals[2025].state == "missed"
    found = cellar.comparisons
    assert found is not None
    assert found.weeks == pytest.approx(((dt.date(2026, 1, 17) - dt.date(2025, 1, 5)).days + 1) / 7)
    assert found.per_person_week is not None
    assert found.per_person_week.typical == pytest.approx(32 / found.weeks / 4)
    assert {beside.comparison.year for beside in found.beside} >= {"2018"}
    assert found.equivalents[0].count.typical == pytest.approx((32 + 3 - 0.25) / 20)


def test_cautions_stand_where_they_matter(cellar: Keeping) -> None:
    """Paper, castings and drained liquid call for their cautions; horse manure, never used, does not."""
    keys = {shown.caution.key for shown in cellar.cautions()}
    assert {"hands", "mould", "raw crops"} <= keys
    assert "raw manure" not in keys
    on_garden = {shown.caution.key for shown in cellar.cautions("garden")}
    assert "raw crops" in on_garden
    assert "paper dust" not in on_garden


def test_the_demo_shows_every_state(checkout: Path) -> None:
    """The demo has a cold bin, a dry bin, a batch at rest, one that is ready and a harvest that is due."""
    keeping = Keeping(Tally(read_journal(checkout)), shipped.references())
    chores = {chore.what for chore in keeping.chores}
    assert {"warm", "moisten", "harvest", "use"} <= chores
    assert {"resting", "ready", "in use", "used up"} <= {batch.state for batch in keeping.batches}
    assert {kind.name for bin_ in keeping.bins for kind in bin_.kinds} >= {
        "red wigglers",
        "European nightcrawlers",
    }
    assert slips(keeping.notes, keeping.tally.ledger, keeping.on) == []


def test_every_figure_of_the_demo_can_be_followed_to_its_sources(checkout: Path) -> None:
    """Whatever source a figure names stands in the list of works, and every record it names exists."""
    references = shipped.references()
    keeping = Keeping(Tally(read_journal(checkout)), references)
    spans = [
        *(bin_.feed_rate for bin_ in keeping.bins),
        *(bin_.recent_mix.moisture for bin_ in keeping.bins),
        *(bin_.yields.share for bin_ in keeping.bins),
        *(bin_.worms.believed for bin_ in keeping.bins if bin_.worms is not None),
        *(batch.blend.carbon_nitrogen for batch in keeping.batches),
        *keeping.garden.nutrients.values(),
        *(year.avoided for year in keeping.footprints.values()),
    ]
    known = {*references.sources, "household.yaml"}
    count = len(keeping.notes.records)
    followed = [span for span in spans if span is not None]
    assert len(followed) > 20
    for span in followed:
        assert span.records
        assert span.sources
        assert set(span.sources) <= known
        assert all(0 <= index < count for index in span.records)


@given(journals(30), st.dates(dt.date(2023, 1, 1), dt.date(2026, 1, 1)))
def test_no_journal_makes_the_reckoning_fail(notes: Notes, on: dt.date) -> None:
    """Whatever is recorded, on whatever day it is looked at, every figure is worked out."""
    keeping = Keeping(Tally(notes), shipped.references(), on)
    for name in WORKED_OUT:
        getattr(keeping, name)
    assert all(chore.day <= on for chore in keeping.chores)
    assert all(batch.left.value >= -1e-9 for batch in keeping.batches)


@pytest.mark.parametrize("day", [dt.date.min, dt.date(2024, 2, 29), dt.date.max])
def test_the_ends_of_the_calendar_are_days_like_others(day: dt.date) -> None:
    """Journals of the year 1, of a leap day and of 9999 are reckoned on their own day and both last days."""
    records = [
        written("fed", 0, amount(1, "peels"), bin="Crate"),
        written("harvested", 0, amount(1, "castings"), bin="Crate"),
        written("mixed", 0, amount(1, "newspaper"), batch="Mix", batch_kind="bedding"),
        written("added", 0, amount(1, "worms"), bin="Crate"),
        checked("Crate", 0, temperature=2),
    ]
    for record in records:
        record.date = day
    goals = Goals(per_week=1.0, years={day.year: 10.0})
    household = replace(
        PEOPLE, givers={}, goals=goals, bins={"Crate": PEOPLE.bins["Crate"]._replace(started=day)}
    )
    notes = journal(records, household)
    for on in (None, dt.date.min, dt.date.max):
        keeping = Keeping(Tally(notes), shipped.references(), on)
        for name in WORKED_OUT:
            getattr(keeping, name)
        assert calendar_of("Test house", keeping.coming, keeping.on, day).startswith(b"BEGIN:VCALENDAR")
    assert slips(notes, Tally(notes).ledger, day) == []


def test_an_empty_journal_has_nothing_to_tell() -> None:
    """A journal without a line gives empty figures, no chores and no comparison."""
    keeping = Keeping(Tally(journal([])), shipped.references())
    assert keeping.comparisons is None
    assert keeping.diversion_rate is None
    assert keeping.batches == []
    assert keeping.footprints == {}
    assert keeping.castings.left.value == 0
