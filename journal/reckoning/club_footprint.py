"""A club's avoided emissions: what its members used, with one edition of the factors for all of them.

The rules are those of a single household's footprint.  Materials that only one household knows, and those
of private entries, go by their stream's row.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable
from typing import NamedTuple

from journal.notes.household import Giver, Household
from journal.notes.materials import STREAMS, Catalogue, Material
from journal.notes.records import Amount, Notes
from journal.reckoning.footprint import Footprint, footprints, since_start
from journal.reckoning.movements import HOUSEHOLD, Account, Ledger, Movement, Origin
from journal.reckoning.references import Factors

BIN = Account("bin")


class Used(NamedTuple):
    """Waste that one member used in one year, net of rejects, by its material and fates otherwise.

    ``variance`` is of its own weighings (kg²), ``linear`` a bound of the doubt it shares (kg).
    """

    member: int
    year: int
    material: str
    stream: str
    landfill: float
    combustion: float
    unknown: float
    kg: float
    variance: float
    linear: float


def club_footprint(
    used: Iterable[Used], factors: Factors, catalogue: Catalogue, edition: str
) -> Footprint | None:
    """Give the footprint of all members together, or None where nothing was used.

    Raises KeyError where there is no such edition, FootprintFault where a result is absurd.
    """
    # One edition serves all years, so what is said of a year's own edition does not hold here.
    words = {key: said for key, said in factors.words.items() if key != "edition"}
    one = factors._replace(tables={edition: factors.tables[edition]}, newest=edition, words=words)
    heaps = _heaps(used, catalogue)
    streams = [Material(stream, stream, waste=True) for stream in STREAMS]
    materials = Catalogue.of([*streams, *catalogue.materials.values()])
    givers: dict[str, Giver] = {}
    ledger = Ledger()
    for (year, material, stream, *shares), (kg, variance, linear) in sorted(heaps.items()):
        name = f"{shares}"
        fates = dict(zip(("landfill", "combustion", "unknown"), shares, strict=True))
        givers.setdefault(name, Giver(name, len(givers) + 1, otherwise=fates))
        amount = Amount(kg, material, "", own=math.sqrt(variance) + linear)
        day = dt.date(year, 12, 31)
        origin = Origin(name, stream, material, day, 0, kg)
        ledger.movements.append(Movement(0, day, amount, 1.0, HOUSEHOLD, BIN, material, origin, 1))
    notes = Notes(Household(givers=givers), materials, [], [], [], [])
    return since_start(footprints(notes, ledger, one, dt.date.max), one)


def _heaps(
    used: Iterable[Used], catalogue: Catalogue
) -> dict[tuple[int, str, str, float, float, float], list[float]]:
    """Put together what is reckoned alike, whichever member used it."""
    heaps: dict[tuple[int, str, str, float, float, float], list[float]] = {}
    for one in used:
        known = catalogue.materials.get(one.material)
        material = one.material if known is not None and known.stream == one.stream else one.stream
        key = (one.year, material, one.stream, one.landfill, one.combustion, one.unknown)
        sums = heaps.setdefault(key, [0.0, 0.0, 0.0])
        sums[0] += one.kg
        sums[1] += one.variance
        sums[2] += one.linear
    return heaps
