"""The castings store: what was sifted, bought, spread, given away and used again, and what is left of it."""

from __future__ import annotations

from typing import NamedTuple

from journal.reckoning.diversion import CASTINGS, Figure
from journal.reckoning.flows import Flow, Flows, figure, less
from journal.reckoning.movements import HOUSEHOLD, Account, Movement


class CastingsStore(NamedTuple):
    """Castings in and out of the store, wet mass in kg.

    What was used although none was left on hand never came through the store: it is in ``beyond`` and, as all
    that was used, in where it went.
    """

    harvested: Figure
    arrived: Figure  # bought, or taken in from others
    beyond: Figure  # used beyond what was on hand: older than the journal, or not written down
    spread: Figure
    mixed: Figure  # into slurry or bedding
    returned: Figure  # back into a bin
    given: Figure
    thrown_out: Figure
    left: Figure


def castings_store(known: Flows) -> CastingsStore:
    """Give the castings store from the flows of a ledger."""
    flow = known.get(Account("store", CASTINGS), Flow())
    beyond = [
        movement
        for other in known.values()
        for movement in other.into
        if movement.material == CASTINGS and movement.source == HOUSEHOLD and movement.inferred
    ]
    used = [*flow.out, *beyond]
    return CastingsStore(
        harvested=figure(movement for movement in flow.into if movement.source.kind == "bin"),
        arrived=figure(movement for movement in flow.into if movement.source.kind != "bin"),
        beyond=figure(beyond),
        spread=_to(used, "planting"),
        mixed=_to(used, "batch"),
        returned=_to(used, "bin"),
        given=_to(used, "given away"),
        thrown_out=_to(flow.out, "landfill"),
        left=less(figure(flow.into), figure(flow.out)),
    )


def _to(movements: list[Movement], kind: str) -> Figure:
    return figure(movement for movement in movements if movement.target.kind == kind)
