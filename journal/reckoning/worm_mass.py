"""How much worm a bin holds, for all that is known: what was added, what moved, and a capped range of growth.

Nobody weighs the worms in a bin.  The low end takes it that none were born; the typical and the high end let
them double at the typical and the fastest rate of their kind, but never beyond what the bin's surface bears.
Without a surface no growth is reckoned.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from typing import NamedTuple

from journal.reckoning.flows import Flow, figure
from journal.reckoning.movements import Movement
from journal.reckoning.references import WormKind
from journal.reckoning.spans import Span

WORM_VERBS = frozenset({"added", "moved"})


class WormMass(NamedTuple):
    """The worm mass believed to be in a bin: ``believed`` in kg, ``added`` net of what moved away."""

    believed: Span
    added: float
    capped_at: Span | None  # kg the surface bears; None where household.yaml gives no surface


def worm_mass(
    moves: Sequence[tuple[Movement, int]], kind: WormKind, surface: float | None, on: dt.date
) -> WormMass | None:
    """Follow the worms of a bin to a day; None where none were ever recorded.

    ``moves`` are the movements of worms in the order of their days, with +1 into the bin and -1 out of it.
    """
    if not moves:
        return None
    cap = None
    if surface is not None:
        held = kind.stocking
        cap = Span(held.low * surface, held.typical * surface, held.high * surface, "kg", (), (held.source,))
    low = _follow(moves, on, -2.0, None, 0.0)
    typical = _follow(moves, on, 0.0, kind.doubling.typical, 0.0 if cap is None else cap.typical)
    high = _follow(moves, on, 2.0, kind.doubling.low, 0.0 if cap is None else cap.high)
    records = tuple(dict.fromkeys(movement.record for movement, _ in moves))
    sources = () if cap is None else tuple(dict.fromkeys((kind.doubling.source, kind.stocking.source)))
    believed = Span(min(low, typical), typical, max(high, typical), "kg", records, sources)
    return WormMass(believed, sum(sign * movement.kg for movement, sign in moves), cap)


def _follow(
    moves: Sequence[tuple[Movement, int]], on: dt.date, deviations: float, doubling: float | None, cap: float
) -> float:
    """Let the worms grow from move to move; ``deviations`` times its doubt is added to what goes in."""
    kg, last = 0.0, moves[0][0].date
    for movement, sign in moves:
        kg = _grown(kg, (movement.date - last).days, doubling, cap)
        last = movement.date
        # What is taken out is off in the other direction, so that the ends stay the ends.
        moved = max(0.0, movement.kg + sign * deviations * figure((movement,)).expanded / 2)
        kg = max(0.0, kg + sign * moved)
    return _grown(kg, (on - last).days, doubling, cap)


def _grown(kg: float, days: int, doubling: float | None, cap: float) -> float:
    if doubling is None or kg <= 0 or kg >= cap:
        return kg
    # Past forty doublings the cap has long decided; the exponent is kept from running away.
    return min(cap, kg * math.pow(2.0, min(40.0, days / doubling)))


def worm_moves(flow: Flow, verbs: Sequence[str]) -> list[tuple[Movement, int]]:
    """Give the movements of worms in a bin's flow, by day; ``verbs`` are the records' verbs."""
    moves = [(movement, 1) for movement in flow.into if verbs[movement.record] in WORM_VERBS]
    moves += [(movement, -1) for movement in flow.out if verbs[movement.record] in WORM_VERBS]
    moves.sort(key=lambda move: (move[0].date, -move[1], move[0].record))
    return moves
