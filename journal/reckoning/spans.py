"""A figure as a low, a typical and a high value, with the records and the sources behind it.

Where a figure rests on published ranges, its bounds are the ends that those ranges allow, not a standard
deviation: nobody knows how they are distributed.  Sums and products of spans are therefore interval
arithmetic, which always holds the true value if every range does.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

from journal.measures.doubt import Doubtful
from journal.notes.materials import Range


class Span(NamedTuple):
    """Low, typical and high value in ``unit``; ``records`` index Notes.records, ``sources`` are source keys.

    ``high`` is infinite where nothing bounds the figure from above.
    """

    low: float
    typical: float
    high: float
    unit: str = ""
    records: tuple[int, ...] = ()
    sources: tuple[str, ...] = ()

    @property
    def is_bounded(self) -> bool:
        """Whether both ends are numbers that can be printed."""
        return math.isfinite(self.low) and math.isfinite(self.high)

    def times(self, factor: float, unit: str | None = None) -> Span:
        """Give this figure times an exact factor, in another unit where one is given."""
        ends = sorted((self.low * factor, self.high * factor))
        return self._replace(
            low=ends[0],
            typical=self.typical * factor,
            high=ends[1],
            unit=self.unit if unit is None else unit,
        )

    def by(self, other: Span, unit: str = "") -> Span:
        """Give the product of two figures that know nothing of each other."""
        corners = [mine * theirs for mine in (self.low, self.high) for theirs in (other.low, other.high)]
        return Span(min(corners), self.typical * other.typical, max(corners), unit, *_behind((self, other)))

    def over(self, other: Span, unit: str = "") -> Span:
        """Give this figure divided by one that is above zero; unbounded above where that may be zero."""
        if other.low > 0:
            turned = other._replace(low=1 / other.high, typical=1 / other.typical, high=1 / other.low)
            return self.by(turned, unit)
        low = self.low / other.high if other.high > 0 else 0.0
        typical = self.typical / other.typical if other.typical > 0 else math.inf
        return Span(low, typical, math.inf, unit, *_behind((self, other)))

    def minus(self, other: Span) -> Span:
        """Give the difference of two figures that know nothing of each other."""
        return Span(
            self.low - other.high,
            self.typical - other.typical,
            self.high - other.low,
            self.unit,
            *_behind((self, other)),
        )


def exactly(value: float, unit: str = "", records: tuple[int, ...] = ()) -> Span:
    """Give a figure without doubt."""
    return Span(value, value, value, unit, records)


def of_range(known: Range, unit: str = "") -> Span:
    """Give a published range as a figure that names its source."""
    return Span(known.low, known.typical, known.high, unit, (), (known.source,) if known.source else ())


def of_doubtful(known: Doubtful, unit: str = "kg", records: tuple[int, ...] = ()) -> Span:
    """Give a mass or the like with its expanded doubt (k = 2), never below zero where the value is not."""
    reach = known.expanded
    low = known.value - reach
    return Span(max(0.0, low) if known.value >= 0 else low, known.value, known.value + reach, unit, records)


def sum_of(spans: Iterable[Span], unit: str = "") -> Span:
    """Add figures end by end: right where they share their causes, cautious where they don't."""
    parts = list(spans)
    return Span(
        math.fsum(part.low for part in parts),
        math.fsum(part.typical for part in parts),
        math.fsum(part.high for part in parts),
        unit or (parts[0].unit if parts else ""),
        *_behind(parts),
    )


def _behind(spans: Iterable[Span]) -> tuple[tuple[int, ...], tuple[str, ...]]:
    """Collect the records and sources behind several figures, each once, in their order."""
    records: dict[int, None] = {}
    sources: dict[str, None] = {}
    for span in spans:
        records.update(dict.fromkeys(span.records))
        sources.update(dict.fromkeys(span.sources))
    return tuple(records), tuple(sources)
