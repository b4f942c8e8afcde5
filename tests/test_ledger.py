"""Counted once, at the door: the ledger told as small diaries."""

from __future__ import annotations

from pathlib import Path

import pytest

from journal.reckoning.ledger import balances
from journal.reckoning.tally import OURSELVES, Tally
from tests.journals import HOUSEHOLD, tally_of

LB = 0.45359237  # kg, exact: NIST Handbook 44, Appendix C


def kept(tally: Tally) -> float:
    """Give what was kept out of landfill since the start, in lb."""
    return tally.since_start.kept_out_of_landfill.value / LB


def test_paper_noted_at_the_door_shredded_and_mixed_counts_once(tmp_path: Path) -> None:
    """Taken in, shredded without a giver and mixed a week later, three pounds are three pounds."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n- took in 3 lb junk mail from Elm House\n"
        "## 2026-03-02\n- shredded 3 lb junk mail\n"
        "## 2026-03-09\n- mixed bedding First Mix: 3 lb shredded paper, 2 lb water\n"
        "## 2026-03-20\n- bedded Lower Bin with 5 lb First Mix\n",
    )
    assert kept(tally) == pytest.approx(3)
    assert tally.givers["a house nearby"].kept_out_of_landfill.value / LB == pytest.approx(3)
    assert tally.inferred.value == 0


def test_what_is_used_beyond_what_is_on_hand_is_our_own_of_that_day(tmp_path: Path) -> None:
    """Two pounds came from next door, three were mixed: the third is our own, on the day of mixing."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-30\n- took in 2 lb newspaper from Elm House\n"
        "## 2026-04-02\n- mixed bedding First Mix: 3 lb shredded paper\n",
    )
    assert tally.months["2026-04"].kept_out_of_landfill.value / LB == pytest.approx(1)
    assert tally.givers[OURSELVES].taken_in.value / LB == pytest.approx(1)
    assert tally.inferred.value / LB == pytest.approx(1)


def test_oldest_first_and_the_giver_goes_along(tmp_path: Path) -> None:
    """The first mix holds the older giver's paper, the second what is left of it and the newer one's."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n- took in 2 lb junk mail from Elm House\n"
        "## 2026-03-02\n- took in 2 lb newspaper from Nora Quist\n"
        "## 2026-03-03\n"
        "- mixed bedding First Mix: 1.5 lb shredded paper\n"
        "- mixed bedding Second Mix: 1 lb shredded paper\n",
    )
    givers = {
        name: [(part.origin.giver, round(part.kg / LB, 6)) for part in batch.parts if part.origin]
        for name, batch in tally.ledger.batches.items()
    }
    assert givers == {
        "First Mix": [("Elm House", 1.5)],
        "Second Mix": [("Elm House", 0.5), ("Nora Quist", 0.5)],
    }


def test_shredding_with_the_giver_named_does_not_count_again(tmp_path: Path) -> None:
    """A giver named at the shredder draws on what is on hand of that giver first; only the rest arrives."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n- took in 2 lb junk mail from Elm House\n- took in 5 lb junk mail from Nora Quist\n"
        "## 2026-03-02\n- shredded 3 lb junk mail from Elm House\n",
    )
    assert tally.givers["a house nearby"].taken_in.value / LB == pytest.approx(3)
    assert tally.givers["a friend"].taken_in.value / LB == pytest.approx(5)
    assert tally.inferred.value == 0


def test_scraps_fed_straight_from_the_kitchen_count_when_fed(tmp_path: Path) -> None:
    """Peels need no line at the door: feeding them is their arrival."""
    tally = tally_of(tmp_path, "## 2026-03-01\n- fed 1.25 lb banana peels to Lower Bin\n")
    assert kept(tally) == pytest.approx(1.25)
    assert tally.bins["Lower Bin"].fed.value / LB == pytest.approx(1.25)


def test_bought_supplies_and_what_goes_round_are_never_diverted(tmp_path: Path) -> None:
    """Coir, straw, castings in a slurry and screenings returned: weight moves, nothing is diverted."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n- bought 2 lb coir for $9 from the garden shop\n- bought 3 lb straw for $4\n"
        "- harvested 4 lb castings from Lower Bin\n"
        "- mixed slurry First Slurry: 1 lb castings, 10 lb water\n- returned 1 lb screenings to Lower Bin\n"
        "- bedded Lower Bin with 1 lb straw\n- spread 2 lb castings on Plum\n",
    )
    assert kept(tally) == 0
    assert tally.since_start.castings_harvested.value / LB == pytest.approx(4)
    assert tally.since_start.castings_spread.value / LB == pytest.approx(2)


def test_a_reject_is_taken_off_its_giver_and_stream_on_its_day(tmp_path: Path) -> None:
    """Windows found a month later come off the giver's paper in that month, and go to landfill."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-28\n- took in 3 lb junk mail from Elm House\n- shredded 3 lb junk mail\n"
        "## 2026-04-02\n- threw out 0.3 lb plastic windows out of junk mail (the envelopes)\n",
    )
    assert tally.months["2026-03"].kept_out_of_landfill.value / LB == pytest.approx(3)
    assert tally.months["2026-04"].kept_out_of_landfill.value / LB == pytest.approx(-0.3)
    assert tally.givers["a house nearby"].kept_out_of_landfill.value / LB == pytest.approx(2.7)
    assert tally.streams["paper"].kept_out_of_landfill.value / LB == pytest.approx(2.7)
    assert tally.since_start.thrown_out.value / LB == pytest.approx(0.3)


def test_a_reject_found_after_the_paper_was_mixed_still_comes_off_its_giver(tmp_path: Path) -> None:
    """Nothing is on hand any more, so the reject leaves the batch that the paper went into."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n"
        "- took in 3 lb junk mail from Elm House\n"
        "- mixed bedding First Mix: 3 lb shredded paper, 3 lb water\n"
        "## 2026-03-03\n- threw out 0.5 lb plastic windows out of junk mail\n",
    )
    assert tally.givers["a house nearby"].kept_out_of_landfill.value / LB == pytest.approx(2.5)
    assert tally.ledger.batches["First Mix"].left / LB == pytest.approx(5.5)


def test_a_spoiled_batch_takes_off_the_waste_in_it_and_no_more(tmp_path: Path) -> None:
    """Half of a batch that is half paper and half water is thrown out: a quarter of it was diverted paper."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n"
        "- took in 4 lb newspaper from Elm House\n"
        "- mixed bedding First Mix: 4 lb shredded paper, 4 lb water\n"
        "## 2026-03-05\n- threw out 4 lb First Mix\n",
    )
    assert kept(tally) == pytest.approx(2)
    assert tally.since_start.thrown_out.value / LB == pytest.approx(4)


def test_what_is_taken_out_of_a_bin_comes_off_what_was_fed_last(tmp_path: Path) -> None:
    """Citrus that the worms left is carried out again: it is no longer kept out of landfill."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n"
        "- fed 2 lb orange peels to Lower Bin\n"
        "## 2026-03-09\n"
        "- threw out 0.5 lb orange peels out of Lower Bin\n",
    )
    assert kept(tally) == pytest.approx(1.5)


SHREDS = (
    "## 2026-03-01\n- took in 6.0 lb junk mail from Elm House\n- shredded 6.0 lb junk mail from Elm House\n"
)
MIXED = SHREDS + "- mixed bedding First Mix: 6.0 lb shredded paper, 2.0 lb water\n"


@pytest.mark.parametrize(
    ("used", "out_of", "where"),
    [
        (f"{SHREDS}- bedded Lower Bin with 6.0 lb shredded paper\n", "junk mail", "bin Lower Bin"),
        (f"{MIXED}- bedded Lower Bin with 8.0 lb First Mix\n", "junk mail", "bin Lower Bin"),
        (f"{MIXED}- bedded Lower Bin with 8.0 lb First Mix\n", "Lower Bin", "bin Lower Bin"),
        (f"{MIXED}- spread 8.0 lb First Mix on Plum\n", "junk mail", "planting Plum"),
        (
            f"{MIXED}- mixed bedding Mix Two: 8.0 lb First Mix\n- bedded Lower Bin with 8.0 lb Mix Two\n",
            "shredded paper",
            "bin Lower Bin",
        ),
    ],
)
@pytest.mark.parametrize("day", ["2026-03-12", "2028-05-12"])
def test_a_reject_comes_off_the_giver_wherever_the_paper_went(
    tmp_path: Path, used: str, out_of: str, where: str, day: str
) -> None:
    """Through shreds and batches, into a bin or onto a bed, days or years ago: it is still the giver's."""
    tally = tally_of(tmp_path, f"{used}## {day}\n- threw out 1.5 lb plastic windows out of {out_of}\n")
    assert tally.givers["a house nearby"].kept_out_of_landfill.value / LB == pytest.approx(4.5)
    (reject,) = [movement for movement in tally.ledger.movements if movement.counted < 0]
    assert f"{reject.source.kind} {reject.source.name}" == where


def test_a_reject_leaves_what_is_left_of_the_batch_before_the_bin(tmp_path: Path) -> None:
    """Three quarters of a mix are in the bin: what is still in the tub is looked through first."""
    tally = tally_of(
        tmp_path,
        f"{MIXED}## 2026-03-09\n- bedded Lower Bin with 6.0 lb First Mix\n"
        "## 2026-03-12\n- threw out 2.0 lb junk mail out of junk mail\n",
    )
    taken = {
        movement.source.kind: round(movement.kg / LB, 6)
        for movement in tally.ledger.movements
        if movement.counted < 0
    }
    assert taken == {"batch": 1.5, "bin": 0.5}
    assert kept(tally) == pytest.approx(4)


def test_windows_out_of_a_bin_are_the_papers_and_cores_are_the_kitchens(tmp_path: Path) -> None:
    """What was fed after the bedding did not bring the windows; a core is of the scraps, not of the paper."""
    bedded = f"{MIXED}- bedded Lower Bin with 8.0 lb First Mix\n"
    fed = f"{bedded}## 2026-03-05\n- fed 2.0 lb orange peels to Lower Bin\n"
    reject = "## 2026-03-12\n- threw out 0.5 lb {} out of Lower Bin\n"
    windows = tally_of(tmp_path / "windows", fed + reject.format("plastic windows"))
    cores = tally_of(tmp_path / "cores", fed + reject.format("apple cores"))
    pounds = [
        (
            round(each.streams["paper"].kept_in_use.value / LB, 6),
            round(each.streams["food scraps"].kept_in_use.value / LB, 6),
        )
        for each in (windows, cores)
    ]
    assert pounds == [(5.5, 2), (6, 1.5)]


def test_the_newest_of_all_forms_is_looked_through_first(tmp_path: Path) -> None:
    """Shreds that a friend brought two years ago do not stand in for last week's mail."""
    tally = tally_of(
        tmp_path,
        "## 2024-02-01\n- took in 4.0 lb shredded paper from Nora Quist\n"
        "- bedded Upper Bin with 4.0 lb shredded paper\n"
        f"{MIXED}- bedded Lower Bin with 8.0 lb First Mix\n"
        "## 2026-03-12\n- threw out 1.0 lb staples out of shredded paper\n",
    )
    assert tally.givers["a friend"].kept_out_of_landfill.value / LB == pytest.approx(4)
    assert tally.givers["a house nearby"].kept_out_of_landfill.value / LB == pytest.approx(5)


def test_no_more_is_rejected_of_an_arrival_than_it_brought(tmp_path: Path) -> None:
    """Nine pounds out of six that came by two roads: six come off the giver, three are trash of our own."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n- took in 6.0 lb junk mail from Elm House\n- bedded Lower Bin with 2.0 lb junk mail\n"
        "- mixed bedding First Mix: 4.0 lb shredded paper\n"
        "## 2026-03-12\n- threw out 9.0 lb junk mail out of junk mail\n",
    )
    assert kept(tally) == pytest.approx(0)
    held = {f"{account.kind} {account.name}": kg for account, kg in balances(tally.ledger).items()}
    assert held["bin Lower Bin"] == pytest.approx(0)
    assert held["batch First Mix"] == pytest.approx(0)
    assert held["household "] / LB == pytest.approx(-3)


def test_liquid_drained_off_takes_no_paper_along(tmp_path: Path) -> None:
    """Five pounds of paper are in what is left of a batch after its water ran off, and go out with it."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n- mixed bedding First Mix: 5 lb newspaper, 7 lb water\n"
        "- threw out 3 lb drained liquid out of First Mix\n"
        "## 2026-03-02\n- threw out 9 lb First Mix\n",
    )
    assert kept(tally) == pytest.approx(0)
    assert [movement.origin for movement in tally.ledger.movements if movement.target.kind == "drain"] == [
        None
    ]


def test_plain_trash_is_landfilled_and_takes_nothing_off(tmp_path: Path) -> None:
    """Trash without "out of" is the household's ordinary trash."""
    tally = tally_of(
        tmp_path, "## 2026-03-01\n- fed 2 lb orange peels to Lower Bin\n- threw out 6 lb trash\n"
    )
    assert kept(tally) == pytest.approx(2)
    assert tally.since_start.thrown_out.value / LB == pytest.approx(6)


def test_paper_that_would_have_been_recycled_is_not_kept_out_of_landfill(tmp_path: Path) -> None:
    """Shares of `otherwise` divide the three figures: a giver's own word goes before the stream's."""
    household = HOUSEHOLD.replace("{shown as: a friend}", "{shown as: a friend, otherwise: recycling}")
    household += "otherwise: {paper: {landfill: 60%, recycling: 40%}}\n"
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n- took in 10 lb newspaper from Elm House\n- took in 5 lb newspaper from Nora Quist\n"
        "- threw out 1 lb newspaper out of newspaper\n",
        household,
    )
    whole = tally.since_start
    assert whole.taken_in.value / LB == pytest.approx(15)
    assert whole.kept_in_use.value / LB == pytest.approx(14)
    assert whole.kept_out_of_landfill.value / LB == pytest.approx(0.6 * 9)


def test_recycling_counts_as_kept_out_but_not_as_used_here(tmp_path: Path) -> None:
    """Our own cans are kept out of landfill by recycling; paper passed on was counted when it arrived."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n"
        "- took in 4 lb newspaper from Elm House\n"
        "- recycled 1 lb newspaper\n"
        "- recycled 2 lb cans\n",
    )
    whole = tally.since_start
    assert whole.taken_in.value / LB == pytest.approx(6)
    assert whole.kept_out_of_landfill.value / LB == pytest.approx(6)
    assert whole.kept_in_use.value / LB == pytest.approx(3)


def test_entries_out_of_order_and_lines_with_dates_of_their_own_hold(tmp_path: Path) -> None:
    """Paper used above its arrival is still the giver's; a line's date goes before its entry's."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-09\n- mixed bedding First Mix: 3 lb shredded paper\n"
        "## 2026-03-10\n- took in 3 lb newspaper from Elm House, on 2026-02-28\n",
    )
    assert tally.inferred.value == 0
    assert set(tally.months) == {"2026-02"}


def test_a_batch_made_of_a_batch_keeps_whose_paper_it_is(tmp_path: Path) -> None:
    """Half of a mix goes into a second one of the same day, written first: the giver's paper goes along."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n- mixed bedding Second Mix: 2 lb of First Mix, 1 lb water\n"
        "- mixed bedding First Mix: 2 lb newspaper, 2 lb water\n- took in 2 lb newspaper from Elm House\n",
    )
    parts = tally.ledger.batches["Second Mix"].parts
    assert sum(
        part.kg for part in parts if part.origin and part.origin.giver == "Elm House"
    ) / LB == pytest.approx(1)
    assert tally.ledger.batches["First Mix"].left / LB == pytest.approx(2)


def test_leap_day_and_year_end_fall_in_their_own_months(tmp_path: Path) -> None:
    """29 February, 31 December and 1 January each count in the calendar month and year of their date."""
    tally = tally_of(
        tmp_path,
        "## 2024-02-29\n- fed 1 lb peels to Lower Bin\n## 2024-12-31\n- fed 2 lb peels to Lower Bin\n"
        "## 2025-01-01\n- fed 4 lb peels to Lower Bin\n",
    )
    pounds = {month: round(each.taken_in.value / LB, 9) for month, each in tally.months.items()}
    assert pounds == {"2024-02": 1, "2024-12": 2, "2025-01": 4}
    assert {year: round(each.taken_in.value / LB, 9) for year, each in tally.years.items()} == {
        "2024": 3,
        "2025": 4,
    }


def test_drained_liquid_goes_down_the_drain_and_is_no_trash(tmp_path: Path) -> None:
    """Liquid drained off a batch leaves it, but is neither landfilled nor a reject."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n- mixed bedding First Mix: 2 lb newspaper, 5 lb water\n"
        "## 2026-03-02\n- threw out 1 lb drained liquid out of First Mix\n",
    )
    assert tally.since_start.thrown_out.value == 0
    assert kept(tally) == pytest.approx(2)
    assert tally.ledger.batches["First Mix"].left / LB == pytest.approx(6)
    assert balances(tally.ledger)[("drain", "")] / LB == pytest.approx(1)  # type: ignore[index]


def test_shared_density_does_not_shrink_by_being_used_often(tmp_path: Path) -> None:
    """A hundred cups with one density carry a hundred times the doubt that the density gives to one."""
    one = tally_of(
        tmp_path / "one", "## 2026-03-01\n- fed 1 cup coffee grounds to Lower Bin\n"
    ).since_start.taken_in
    lines = "- fed 1 cup coffee grounds to Lower Bin\n" * 100
    many = tally_of(tmp_path / "many", f"## 2026-03-01\n{lines}").since_start.taken_in
    (cause,) = one.shared
    assert many.shared[cause] == pytest.approx(100 * one.shared[cause])
    assert many.variance == pytest.approx(100 * one.variance)
