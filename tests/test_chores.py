"""Chores: what is due on a day and why, and the calendar that other programs can read."""

from __future__ import annotations

from dataclasses import replace

import pytest

from journal.notes.household import Household
from journal.notes.records import Record
from journal.reckoning.batches import batch_sheets
from journal.reckoning.bins import bin_sheets
from journal.reckoning.chores import Chore, coming, due
from journal.reckoning.ledger import build_ledger
from tests.handwritten import PEOPLE, WORMS, amount, checked, day, journal, written

ONE_BIN = replace(PEOPLE, bins={"Crate": PEOPLE.bins["Crate"]})


def foreseen(records: list[Record], on: int, household: Household = ONE_BIN) -> list[Chore]:
    """Every chore foreseen as of a day."""
    notes = journal(records, household)
    ledger = build_ledger(notes)
    return coming(bin_sheets(notes, ledger, WORMS, day(on)), batch_sheets(notes, ledger, day(on)), day(on))


def of_kind(what: str, chores: list[Chore]) -> Chore:
    """The one chore of a kind."""
    (found,) = [chore for chore in chores if chore.what == what]
    return found


def fed(on: int, kg: float = 1.0) -> Record:
    """A feeding."""
    return written("fed", on, amount(kg, "peels"), bin="Crate")


def test_a_bin_is_fed_at_its_own_pace() -> None:
    """A bin fed every five days is due again on the fifth day, with its pace as the reason."""
    chore = of_kind("feed", foreseen([fed(on) for on in (0, 5, 10, 15)], 16))
    assert chore.day == day(20)
    assert "fed about every 5 days" in chore.reason
    assert not [each for each in due([chore], day(19)) if each.what == "feed"]
    assert due([chore], day(20)) == [chore]


def test_a_bin_fed_too_seldom_is_due_after_a_week() -> None:
    """Two feedings are no pace: a week is usual, and the reason says so."""
    chore = of_kind("feed", foreseen([fed(0), fed(2)], 3))
    assert chore.day == day(9)
    assert "a week is usual" in chore.reason


def test_how_much_to_feed_comes_from_the_worms_believed_to_be_there() -> None:
    """A kilogram of worms that eats a quarter to all of its mass a day gets that for each day to come."""
    added = written("added", 0, amount(1, "worms"), bin="Crate")
    household = replace(ONE_BIN, bins={"Crate": ONE_BIN.bins["Crate"]._replace(surface=None)})
    chore = of_kind("feed", foreseen([added, *(fed(on) for on in (0, 5, 10, 15))], 16, household))
    assert chore.kg == pytest.approx((0.25 * 5, 1.0 * 5))


@pytest.mark.parametrize(
    ("values", "what", "urgent"),
    [
        ({"temperature": 3.0}, "warm", True),
        ({"temperature": 12.0}, "warm", False),
        ({"temperature": 27.0}, "cool", False),
        ({"temperature": 33.0}, "cool", True),
        ({"moisture": 65.0}, "moisten", False),
        ({"moisture": 95.0}, "dry", True),
        ({"acidity": 5.5}, "sweeten", False),
        ({"acidity": 8.5}, "freshen", False),
    ],
)
def test_a_reading_outside_its_band_asks_for_its_remedy(
    values: dict[str, float], what: str, *, urgent: bool
) -> None:
    """Too cold asks for warmth, too wet for drying, and so on; beyond what the worms bear it is urgent."""
    chore = of_kind(what, foreseen([fed(0), checked("Crate", 1, **values)], 2))
    assert chore.urgent is urgent
    assert "red wigglers do well at" in chore.reason
    assert chore.advice
    assert chore.records == (1,)


def test_the_latest_reading_counts_and_an_old_one_no_more() -> None:
    """A bin that was cold and is good again needs no warming, nor does one nobody has read for a month."""
    cold, good = checked("Crate", 1, temperature=10), checked("Crate", 5, temperature=20)
    assert not [chore for chore in foreseen([cold, good], 6) if chore.what == "warm"]
    assert not [chore for chore in foreseen([cold], 31) if chore.what == "warm"]


def test_a_bin_in_danger_is_not_fed() -> None:
    """While a reading lies beyond what the worms bear, feeding waits and the remedy comes first."""
    chores = foreseen([fed(0), checked("Crate", 1, temperature=33)], 20)
    assert not [chore for chore in chores if chore.what == "feed"]
    assert due(chores, day(20))[0].what == "cool"


def test_a_bin_is_to_be_looked_at_every_two_weeks() -> None:
    """Two weeks after its last check a bin is to be checked (common practice, no published source)."""
    assert of_kind("check", foreseen([fed(0)], 1)).day == day(14)
    assert of_kind("check", foreseen([checked("Crate", 3, temperature=20)], 4)).day == day(17)


def test_a_rested_batch_is_to_be_used() -> None:
    """Bedding is due for use from the day it is ready, until some of it is used."""
    mix = written("mixed", 0, amount(2, "newspaper"), batch="Mix 1", batch_kind="bedding")
    chore = of_kind("use", foreseen([mix], 1))
    assert (chore.subject, chore.day) == ("Mix 1", day(7))
    assert str(day(14)) in chore.reason
    bedded = written("bedded", 9, amount(1, "Mix 1", batch=True), bin="Crate")
    assert not [each for each in foreseen([mix, bedded], 10) if each.what == "use"]


def test_a_harvest_is_due_at_its_typical_day_with_its_range_as_the_reason() -> None:
    """The first harvest is due after 150 days by the books; the reason names their range and the books."""
    chore = of_kind("harvest", foreseen([fed(0)], 150))
    assert chore.day == day(150)
    assert chore.until == day(240)
    assert f"between {day(100)} and {day(240)}, by published ranges" in chore.reason
    assert chore in due([chore], day(150))


def test_a_bin_that_ended_has_no_chores() -> None:
    """Nothing is due for a bin that is no more."""
    household = replace(ONE_BIN, bins={"Crate": ONE_BIN.bins["Crate"]._replace(ended=day(5))})
    assert foreseen([fed(0)], 30, household) == []


def test_the_most_pressing_comes_first() -> None:
    """Danger stands above feeding, feeding above a look into the bin."""
    cold = checked("Trough", 1, temperature=2)
    order = [chore.what for chore in due(foreseen([fed(0), cold], 20, PEOPLE), day(20))]
    assert order[0] == "warm"
    assert order.index("feed") < order.index("check")
