"""What one member hands another counts where it was taken in, and only there."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal.reckoning.club_handovers import HandedOn, OnHand, PassedOn, TakenIn, match

DAY = dt.date(2025, 3, 10)
GIVER, RECEIVER, OTHER = 1, 2, 3


def passed(kg: float, days: int = 0, receiver: int | None = RECEIVER, *, counted: bool = True) -> PassedOn:
    """Paper that the giver wrote down as passed on."""
    day = DAY + dt.timedelta(days=days)
    return PassedOn(GIVER, 10, f"p{days}-{kg}", day, "paper", receiver, counted, kg, 0.01)


def taken(kg: float, days: int = 0) -> TakenIn:
    """Paper that the receiver wrote down as taken in from the giver."""
    return TakenIn(RECEIVER, 20, f"t{days}-{kg}", DAY + dt.timedelta(days=days), "paper", GIVER, kg, 0.01)


def found(
    offers: list[PassedOn], arrivals: list[TakenIn], flows: dict[int, float] | None = None
) -> list[HandedOn]:
    """Match offers and arrivals; ``flows`` are what went into the giver's store, by days from the first."""
    store = OnHand((DAY + dt.timedelta(days=day), kg) for day, kg in (flows or {}).items())
    return match(offers, arrivals, {(GIVER, "paper"): store})


@pytest.mark.parametrize(
    ("offer", "days", "part"),
    [
        (passed(3.0), 0, 1.0),
        (passed(3.0), 31, 1.0),
        (passed(3.0), 32, None),
        (passed(3.0, receiver=None), 7, 1.0),
        (passed(3.0, receiver=None), 8, None),
        (passed(3.0, receiver=OTHER), 0, None),
    ],
    ids=["named", "named, a month", "too late", "unnamed, a week", "unnamed, too late", "to somebody else"],
)
def test_what_was_written_down_comes_off_within_its_days(
    offer: PassedOn, days: int, part: float | None
) -> None:
    """A named gift is looked for a month around, an unnamed one a week, one to somebody else never."""
    matched = found([offer], [taken(3.0, days)])
    assert [one.part for one in matched] == ([] if part is None else [pytest.approx(part)])


@pytest.mark.parametrize(
    ("given_kg", "taken_kg", "part"), [(3.0, 2.8, 1.0), (3.0, 1.0, 1 / 3), (1.0, 3.0, 1.0)]
)
def test_two_weights_of_one_thing_are_one(given_kg: float, taken_kg: float, part: float) -> None:
    """Weights that differ by a tenth or less are one thing; of a larger gift only what arrived comes off."""
    (one,) = found([passed(given_kg)], [taken(taken_kg)])
    assert one.part == pytest.approx(part)


def test_nothing_comes_off_twice() -> None:
    """One gift covers one arrival: a second arrival of the same weight finds nothing left of it."""
    matched = found([passed(3.0)], [taken(3.0), taken(3.0, 1)])
    assert sum(one.kg for one in matched) == pytest.approx(3.0)


def test_what_lies_on_hand_and_is_never_used_has_left() -> None:
    """Where the giver wrote nothing, what it has on hand to the end comes off by the receiver's row."""
    (one,) = found([], [taken(3.0)], {-5: 5.0})
    assert (one.how, one.id, one.giver) == ("unwritten", "t0-3.0", GIVER)
    assert one.part == pytest.approx(1.0)


def test_what_the_giver_used_itself_was_not_given() -> None:
    """What the giver fed to its own bin later on cannot be what the receiver took in."""
    (one,) = found([], [taken(3.0)], {-5: 5.0, 20: -4.0})
    assert one.kg == pytest.approx(1.0)


def test_what_arrived_after_the_giving_was_not_given() -> None:
    """What came to the giver weeks after the receiver took something in is not that something."""
    assert found([], [taken(3.0)], {30: 5.0}) == []


def test_a_giver_that_never_counted_it_loses_nothing() -> None:
    """With nothing written and nothing on hand nothing comes off, and the receiver's count stands."""
    assert found([], [taken(3.0)]) == []


WEIGHTS = st.floats(0.01, 20)
DAYS = st.integers(-60, 60)


@given(
    st.lists(st.tuples(WEIGHTS, DAYS, st.sampled_from([RECEIVER, None, OTHER]), st.booleans()), max_size=6),
    st.lists(st.tuples(WEIGHTS, DAYS), max_size=6),
    st.dictionaries(DAYS, st.floats(-5, 5), max_size=6),
)
def test_no_more_comes_off_than_was_given_taken_or_there(
    offers: list[tuple[float, int, int | None, bool]],
    arrivals: list[tuple[float, int]],
    flows: dict[int, float],
) -> None:
    """A part lies between 0 and 1, and what comes off unwritten is never more than was taken in."""
    given_list = [passed(kg, day, receiver, counted=counted) for kg, day, receiver, counted in offers]
    taken_list = [taken(kg, day) for kg, day in arrivals]
    for number, offer in enumerate(given_list):
        offer.id += f"-{number}"
    for number, arrival in enumerate(taken_list):
        arrival.id += f"-{number}"
    matched = found(given_list, taken_list, flows)
    sums: dict[tuple[int, str], float] = {}
    for one in matched:
        assert 0 < one.part <= 1 + 1e-9
        sums[one.package, one.id] = sums.get((one.package, one.id), 0.0) + one.part
    assert all(part <= 1 + 1e-9 for part in sums.values())
    unwritten = sum(one.kg for one in matched if one.how == "unwritten")
    assert unwritten <= sum(kg for kg, _ in arrivals) + 1e-9
