"""The least and the greatest quotient of two sums whose terms are known only as ranges: Σ w·top ÷ Σ w·bottom.

Each top and bottom moves the quotient one way only, so at an extreme those stand at an end of their range.
A weight moves it towards its own term's ratio: up if that lies above the quotient, down if below.  At the
extreme all terms above some threshold weigh the most they can and all below it the least (or the reverse);
trying each threshold in the order of the terms' own ratios finds it exactly.  The ranges are taken as
independent of one another, so the true quotient lies inside whenever every term lies inside its own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from journal.reckoning.spans import Span, exactly


class Term(NamedTuple):
    """One term: its weight, and what one unit of weight adds above and below; none of them below zero."""

    name: str
    weight: Span
    top: Span
    bottom: Span


def quotient(terms: Sequence[Term], unit: str, records: tuple[int, ...]) -> Span | None:
    """Give the quotient with its exact bounds, or None where nothing stands below the line.

    ``high`` is infinite where what stands below the line may be nothing.
    """
    typical = _typical(terms)
    if typical is None:
        return None
    return Span(
        min(_least(terms), typical), typical, max(_greatest(terms), typical), unit, records, sources(terms)
    )


def widest(terms: Sequence[Term]) -> str | None:
    """Name the term whose ranges alone, all others being as usual, widen the quotient the most; or None."""
    widths = {term.name: _width_from(terms, index) for index, term in enumerate(terms)}
    name = max(widths, key=lambda each: widths[each], default=None)
    return name if name is not None and widths[name] > 0 else None


def sources(terms: Sequence[Term]) -> tuple[str, ...]:
    """Give the sources behind all terms, each once."""
    named = (key for term in terms for span in (term.weight, term.top, term.bottom) for key in span.sources)
    return tuple(dict.fromkeys(named))


def _typical(terms: Sequence[Term]) -> float | None:
    below = math.fsum(term.weight.typical * term.bottom.typical for term in terms)
    if below <= 0:
        return None
    return math.fsum(term.weight.typical * term.top.typical for term in terms) / below


def _greatest(terms: Sequence[Term]) -> float:
    chosen = [(term.weight.low, term.weight.high, term.top.high, term.bottom.low) for term in terms]
    return max(_thresholds(chosen, heavy_first=True), default=math.inf)


def _least(terms: Sequence[Term]) -> float:
    chosen = [(term.weight.low, term.weight.high, term.top.low, term.bottom.high) for term in terms]
    return min(_thresholds(chosen, heavy_first=False), default=0.0)


def _thresholds(terms: list[tuple[float, float, float, float]], *, heavy_first: bool) -> list[float]:
    """Give the quotient for each way to split the terms, ranked by their own ratios, into heavy and light."""
    counted = [term for term in terms if term[2] > 0 or term[3] > 0]
    ranked = sorted(counted, key=lambda term: term[2] / term[3] if term[3] > 0 else math.inf, reverse=True)
    found = []
    for split in range(len(ranked) + 1):
        heavy = [(index < split) == heavy_first for index in range(len(ranked))]
        weights = [term[1] if is_heavy else term[0] for term, is_heavy in zip(ranked, heavy, strict=True)]
        below = math.fsum(weight * term[3] for weight, term in zip(weights, ranked, strict=True))
        above = math.fsum(weight * term[2] for weight, term in zip(weights, ranked, strict=True))
        if below > 0:
            found.append(above / below)
        elif above > 0:
            found.append(math.inf)
    return found


def _width_from(terms: Sequence[Term], index: int) -> float:
    alone = [term if place == index else _as_usual(term) for place, term in enumerate(terms)]
    return _greatest(alone) - _least(alone) if _typical(alone) is not None else 0.0


def _as_usual(term: Term) -> Term:
    weight, top, bottom = (exactly(span.typical) for span in (term.weight, term.top, term.bottom))
    return Term(term.name, weight, top, bottom)
