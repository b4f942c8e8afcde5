"""Temperature, moisture and pH as read, held against the bands of the worms in the bin."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from typing import NamedTuple

from journal.notes.household import Bin
from journal.notes.records import Readings, Record
from journal.reckoning.references import Band, WormKind, Worms

QUANTITIES = ("temperature", "moisture", "pH")
UNITS = {"temperature": "°C", "moisture": "%", "pH": ""}

REMEDIES: dict[tuple[str, int], tuple[str, str]] = {
    ("temperature", -2): ("warm", "bring it indoors or wrap it; feed little until it is warmer"),
    ("temperature", -1): ("warm", "move it somewhere warmer or wrap it; worms eat less when cool"),
    ("temperature", 1): ("cool", "shade it, open it, hold back rich feed that heats up"),
    ("temperature", 2): (
        "cool",
        "move it to the coolest place you have now; stop feeding, turn in dry bedding",
    ),
    ("moisture", -2): ("moisten", "moisten it now, a little at a time"),
    ("moisture", -1): ("moisten", "sprinkle it or feed wetter scraps"),
    ("moisture", 1): ("dry", "mix in dry shredded paper and leave the lid ajar"),
    ("moisture", 2): ("dry", "drain it, mix in dry bedding, let air in"),
    ("pH", -2): ("sweeten", "stop citrus and fermenting feed; mix in ground eggshell and fresh bedding"),
    ("pH", -1): ("sweeten", "hold back citrus; ground eggshell brings it up slowly"),
    ("pH", 1): ("freshen", "mix in fresh bedding; hold back ash, lime and shell"),
    ("pH", 2): (
        "freshen",
        "give fresh bedding at one end, so that the worms can move over; add no lime or ash",
    ),
}
"""Quantity and position of a reading to the chore and what is usually done (common practice, no published
source)."""

_BETWEEN = re.compile(r"\s*(?:,|;|/|\+|&|\band\b)\s*")


class Reading(NamedTuple):
    """One reading of a bin: ``half`` is its rectangular half-width, both in °C, % or pH."""

    date: dt.date
    record: int
    quantity: str
    value: float
    half: float
    band: Band
    position: int  # -2 below the bottom, -1 below good, 0 good, 1 above good, 2 above the top

    @property
    def state(self) -> str:
        """Give "cold", "low", "good", "high" or "dangerous"."""
        return self.band.state(self.value)

    @property
    def words(self) -> str:
        """Give the state as said of this quantity: "cool", "dangerously dry"."""
        return self.band.words(self.value)

    @property
    def remedy(self) -> tuple[str, str] | None:
        """The chore and what is usually done, or None where all is well."""
        return REMEDIES.get((self.quantity, self.position))

    @property
    def is_clear(self) -> bool:
        """Whether the reading lies on one side of the band's ends even at both ends of its own doubt."""
        return self.band.position(self.value - self.half) == self.band.position(self.value + self.half)


def kinds_of(bin_: Bin, worms: Worms) -> tuple[tuple[WormKind, ...], bool]:
    """Give the kinds of worm in a bin, and whether they are assumed as household.yaml names none known."""
    whole = worms.find(bin_.worms) if bin_.worms else None
    if whole is not None:
        return (whole,), False
    found: dict[str, WormKind] = {}
    for words in _BETWEEN.split(bin_.worms):
        kind = worms.find(words) if words else None
        if kind is not None:
            found[kind.name] = kind
    if found:
        return tuple(found.values()), False
    return (worms.kinds[worms.unknown],), True


def bands_of(kinds: Sequence[WormKind]) -> dict[str, Band]:
    """Give the band for each quantity that suits all kinds in the bin; the first kind's where none does."""
    return {
        "temperature": _common([kind.temperature for kind in kinds]),
        "moisture": _common([kind.moisture for kind in kinds]),
        "pH": _common([kind.acidity for kind in kinds]),
    }


def _common(bands: list[Band]) -> Band:
    first = bands[0]
    strict = first._replace(
        bottom=max(band.bottom for band in bands),
        low=max(band.low for band in bands),
        high=min(band.high for band in bands),
        top=min(band.top for band in bands),
    )
    return strict if strict.low <= strict.high else first


def readings_of(index: int, record: Record, bands: dict[str, Band]) -> list[Reading]:
    """Give the readings of one check, each with its place in the band."""
    found = record.readings
    if found is None:
        return []
    return [
        Reading(record.date, index, quantity, value, half, bands[quantity], bands[quantity].position(value))
        for quantity, value, half in _values(found)
        if value is not None
    ]


def _values(found: Readings) -> tuple[tuple[str, float | None, float], ...]:
    return (
        ("temperature", found.temperature, found.temperature_half),
        ("moisture", found.moisture, found.moisture_half),
        ("pH", found.acidity, found.acidity_half),
    )
