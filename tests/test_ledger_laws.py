"""Laws of the ledger, held over random journals: mass is conserved and waste is counted once."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal.notes.records import Notes
from journal.reckoning.diversion import FIGURES, Figures
from journal.reckoning.ledger import balances, build_ledger
from journal.reckoning.movements import DUST
from journal.reckoning.tally import Tally
from tests.journals import journals, notes_of

CLOSE = 1e-9


def values(figures: Figures) -> dict[str, float]:
    """Give the values of six figures."""
    return {name: figures.of(name).value for name in FIGURES}


@given(journals())
def test_the_whole_ledger_sums_to_zero(notes: Notes) -> None:
    """What one account gives another receives: over all accounts nothing is made and nothing is lost."""
    assert sum(balances(build_ledger(notes)).values()) == pytest.approx(0, abs=1e-7)


@given(journals())
def test_every_amount_moves_whole(notes: Notes) -> None:
    """The movements of a record carry all of its amounts, no more and no less."""
    ledger = build_ledger(notes)
    for index, record in enumerate(notes.records):
        moved = sum(movement.kg for movement in ledger.movements if movement.record == index)
        assert moved == pytest.approx(sum(amount.kg for amount in record.amounts), abs=CLOSE)


@given(journals())
def test_what_is_on_hand_is_what_came_in_less_what_went_out(notes: Notes) -> None:
    """The lots of a store add up to the balance of its account, and no store is ever overdrawn."""
    ledger = build_ledger(notes)
    held = balances(ledger)
    for account, kg in held.items():
        if account.kind == "store":
            lots = ledger.stores.get(account.name, [])
            assert sum(lot.kg for lot in lots) == pytest.approx(kg, abs=1e-6)
            assert kg > -1e-6


@given(journals())
def test_a_batch_holds_what_went_in_less_what_left(notes: Notes) -> None:
    """What a batch has left is its balance; its parts are what was made of it."""
    ledger = build_ledger(notes)
    held = balances(ledger)
    for name, batch in ledger.batches.items():
        balance = next(kg for account, kg in held.items() if account == ("batch", name))
        assert batch.left == pytest.approx(balance, abs=1e-6)
        assert batch.left > -1e-6
        assert sum(part.kg for part in batch.parts) == pytest.approx(batch.made, abs=1e-6)


@given(journals())
def test_waste_counts_once_where_it_arrives(notes: Notes) -> None:
    """Taken in is the sum of all arrivals of waste, however often it moves on afterwards."""
    tally = Tally(notes)
    assert tally.since_start.taken_in.value == pytest.approx(
        sum(origin.kg for origin in tally.ledger.origins), abs=1e-7
    )


@given(journals())
def test_nothing_is_rejected_that_never_arrived(notes: Notes) -> None:
    """Rejects never take off more than an arrival brought, so no figure of a giver falls below zero."""
    tally = Tally(notes)
    for origin in tally.ledger.origins:
        assert origin.rejected <= origin.kg + 10 * DUST
    for figures in [tally.since_start, *tally.givers.values(), *tally.streams.values()]:
        assert figures.kept_out_of_landfill.value > -1e-7
        assert figures.kept_out_of_landfill.value <= figures.taken_in.value + 1e-7


@given(journals(), st.randoms(use_true_random=False))
def test_the_order_of_lines_changes_nothing(notes: Notes, chance: random.Random) -> None:
    """A journal shuffled gives the same totals: entries may be written out of order."""
    shuffled = list(notes.records)
    chance.shuffle(shuffled)
    one, other = Tally(notes), Tally(notes_of(shuffled))
    assert values(one.since_start) == pytest.approx(values(other.since_start), abs=1e-6)
    assert one.givers.keys() == other.givers.keys()
    for giver, figures in one.givers.items():
        assert values(figures) == pytest.approx(values(other.givers[giver]), abs=1e-6)


@given(journals())
def test_periods_streams_and_givers_add_up(notes: Notes) -> None:
    """Months add up to years, years to the whole, and streams and givers each to the same whole."""
    tally = Tally(notes)
    whole = values(tally.since_start)
    for parts in (tally.months, tally.years):
        for name in FIGURES:
            assert sum(each.of(name).value for each in parts.values()) == pytest.approx(whole[name], abs=1e-6)
    for parts in (tally.streams, tally.givers):
        for name in ("taken_in", "kept_out_of_landfill", "kept_in_use"):
            assert sum(each.of(name).value for each in parts.values()) == pytest.approx(whole[name], abs=1e-6)
    assert sum(tally.diversion.daily.values()) == pytest.approx(whole["kept_out_of_landfill"], abs=1e-6)


@given(journals(), st.data())
def test_removing_a_purchase_changes_no_diversion(notes: Notes, data: st.DataObject) -> None:
    """Bought supplies are never diverted waste: the figures of waste do not know of them."""
    bought = [index for index, record in enumerate(notes.records) if record.verb == "bought"]
    if not bought:
        return
    gone = data.draw(st.sampled_from(bought))
    without = Tally(notes_of([record for index, record in enumerate(notes.records) if index != gone]))
    for name in ("taken_in", "kept_out_of_landfill", "kept_in_use"):
        assert without.since_start.of(name).value == pytest.approx(
            Tally(notes).since_start.of(name).value, abs=1e-6
        )
