"""A value with its doubt: what is its own, and what it shares with other values.

Independent doubts add in quadrature, shared ones linearly (JCGM 100:2008, 5.1.2 and 5.2.2).  A
half-width of a rectangular distribution is divided by the square root of three (4.3.7).
Published figures carry the expanded doubt with coverage factor k = 2 (6.2).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

COVERAGE = 2.0
ROOT_THREE = math.sqrt(3.0)


def rectangular(half_width: float) -> float:
    """Give the standard uncertainty of a rectangular distribution of this half-width, in the same unit."""
    return half_width / ROOT_THREE


@dataclass(frozen=True, slots=True)
class Doubtful:
    """A value with its standard uncertainty in two parts, all in the unit of the value.

    ``own`` is independent of everything else; ``shared`` names each cause that other values may share
    (a density, a measure weighed once) with its signed contribution.
    """

    value: float
    own: float = 0.0
    shared: Mapping[str, float] = field(default_factory=dict)

    @property
    def standard(self) -> float:
        """The combined standard uncertainty."""
        return math.sqrt(self.own**2 + math.fsum(part * part for part in self.shared.values()))

    @property
    def expanded(self) -> float:
        """The expanded doubt, k = 2."""
        return COVERAGE * self.standard

    def times(self, factor: float) -> Doubtful:
        """Give this value times an exact factor."""
        return Doubtful(
            self.value * factor,
            abs(self.own * factor),
            {name: part * factor for name, part in self.shared.items()},
        )


def total(parts: Iterable[Doubtful]) -> Doubtful:
    """Add values: their own doubts in quadrature, what they share linearly."""
    sums = Sum()
    for part in parts:
        sums.add(part.value, part.own, part.shared)
    return sums.doubtful()


class Sum:
    """A running total with its doubt, made to be added to many times."""

    __slots__ = ("shared", "value", "variance")

    def __init__(self) -> None:
        self.value = 0.0
        self.variance = 0.0
        self.shared: dict[str, float] = {}

    def add(self, value: float, own: float, shared: Mapping[str, float], times: float = 1.0) -> None:
        """Add ``times`` × (value ± own, and what it shares)."""
        self.value += times * value
        self.variance += (times * own) ** 2
        if shared:
            sums = self.shared
            for name, part in shared.items():
                sums[name] = sums.get(name, 0.0) + times * part

    def merge(self, other: Sum) -> None:
        """Add another running total whose own doubts are independent of this one's."""
        self.add(other.value, math.sqrt(other.variance), other.shared)

    @property
    def expanded(self) -> float:
        """The expanded doubt, k = 2, in the unit of the value."""
        return COVERAGE * math.sqrt(self.variance + math.fsum(part * part for part in self.shared.values()))

    def doubtful(self) -> Doubtful:
        """Give the total as a value with its doubt."""
        return Doubtful(self.value, math.sqrt(self.variance), dict(self.shared))


def rounded(value: float, doubt: float, digits: int = 2) -> tuple[str, str]:
    """Write a value and its expanded doubt for print: ``digits`` digits of doubt, and no more in the value.

    Without a doubt the value is written to three significant digits.
    """
    if not math.isfinite(value) or not math.isfinite(doubt):
        return "unknown", "unknown"
    if doubt <= 0:
        places = 0 if value == 0 else max(0, 2 - math.floor(math.log10(abs(value))))
        return f"{value:,.{min(places, 6)}f}", "0"
    places = digits - 1 - math.floor(math.log10(doubt))
    places = digits - 1 - math.floor(math.log10(round(doubt, places)))  # 0.0996 rounds to 0.10, not to 0.100
    shown_value, shown_doubt = round(value, places), round(doubt, places)
    decimals = max(0, places)
    return f"{shown_value + 0.0:,.{decimals}f}", f"{shown_doubt:,.{decimals}f}"
