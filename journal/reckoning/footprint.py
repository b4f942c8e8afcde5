"""Avoided emissions, in plain words and with the bin's own emissions taken off.

kg CO₂e = Σ over materials of mass × Σ over fates of share(fate) × (factor(fate) − what the home bin emits).
Only what would have been landfilled or burned can avoid anything; what would have been recycled, collected
for composting, or nobody knows, avoids nothing.  Only what is used here counts: paper taken on to recycling
never saw the bin.  The range comes from the spread of the factors, which swamps the weighing.

Editions: a closed year keeps the newest edition of its own time; the running year goes by the newest read.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from journal.notes.materials import Material
from journal.notes.records import Notes
from journal.reckoning.diversion import PASSED_ON, Figure
from journal.reckoning.flows import as_span, together
from journal.reckoning.movements import DUST, Ledger, Movement
from journal.reckoning.references import Factors, FactorTable, RowUse
from journal.reckoning.spans import Span, exactly, of_range, sum_of

COUNTED_FATES = {"landfill": "landfilled", "combustion": "combusted"}
"""Fates of household.yaml that can avoid emissions, with the table's own word for them."""

UNIT = "kg CO₂e"
PER_KG = "kg CO₂e per kg"


class FootprintFault(ArithmeticError):
    """A result that no waste of a household can have: the program is at fault, not the keeper."""


class FootprintLine(NamedTuple):
    """One material of one year, as one giver's: what it would have emitted, what the bin emits, what is left.

    ``counted`` is the part of the mass (0 to 1) that would have been landfilled or burned.
    """

    year: int
    material: str
    stream: str
    giver: str | None
    mass: Figure
    counted: float
    unknown: float  # the part whose fate nobody knows
    row: str  # of the table; empty where no row serves
    stand_in: bool
    why: str
    landfill: Span  # kg CO₂e it would have emitted
    bin: Span  # kg CO₂e the bin emits for the same part
    avoided: Span
    per_kg: tuple[Span, Span, Span]  # the three figures before for each kg of its mass, kg CO₂e per kg


class Footprint(NamedTuple):
    """Avoided emissions of one year, or of all: kg CO₂e with a range, and everything it rests on.

    ``avoided`` is never shown below zero: where the bin emits more, ``nothing_avoided`` says so.
    """

    editions: tuple[str, ...]
    lines: tuple[FootprintLine, ...]
    kg: float  # waste used here
    counted_kg: float  # of it, what would have been landfilled or burned
    unknown_kg: float  # of it, what nobody knows the fate of
    landfill: Span
    bin: Span
    avoided: Span
    nothing_avoided: bool
    statements: tuple[str, ...]

    @property
    def stand_ins(self) -> tuple[tuple[str, str, str], ...]:
        """The materials reckoned by another's row: (material, row, why)."""
        seen = {line.material: (line.material, line.row, line.why) for line in self.lines if line.stand_in}
        return tuple(seen[name] for name in sorted(seen))

    @property
    def shown(self) -> str:
        """The figure in words: "about 64 kg CO₂e (12 to 120)"."""
        if not self.lines or (self.counted_kg == 0):
            return "nothing that would have been landfilled or burned is recorded"
        if self.nothing_avoided:
            return "no emissions avoided: the bin itself emits as much"
        low, typical, high = (
            significant(value) for value in (self.avoided.low, self.avoided.typical, self.avoided.high)
        )
        return f"about {typical} {UNIT} ({low} to {high})"


def footprints(notes: Notes, ledger: Ledger, factors: Factors, on: dt.date) -> dict[int, Footprint]:
    """Give the footprint of each year up to a day; empty where household.yaml says ``footprint: none``.

    Raises FootprintFault where a result lies outside what a kilogram of waste can avoid.
    """
    moved: dict[int, list[Movement]] = {}
    for movement in ledger.movements:
        moved.setdefault(movement.date.year, []).append(movement)
    found = {year: footprint_of(notes, year, moved[year], factors, on) for year in sorted(moved)}
    return {year: one for year, one in found.items() if one is not None}


def footprint_of(
    notes: Notes, year: int, moved: Iterable[Movement], factors: Factors, on: dt.date
) -> Footprint | None:
    """Give the footprint of one year, whose movements are given; otherwise as ``footprints``."""
    if not notes.household.footprint:
        return None
    edition = edition_of(year, factors, on)
    lines = []
    masses = _masses(moved, on)
    for material, giver in sorted(masses, key=lambda of: (of[0], of[1] or "")):
        known, mass = notes.catalogue.materials.get(material), masses[material, giver]
        if known is not None and abs(mass.value) > DUST:
            lines.append(_line(notes, factors, factors.tables[edition], (year, known, giver), mass))
    return summed(lines, (edition,), factors) if lines else None


def since_start(years: Mapping[int, Footprint], factors: Factors) -> Footprint | None:
    """Add the years up, each with the edition it keeps; None where there is none."""
    if not years:
        return None
    editions = tuple(dict.fromkeys(edition for year in years.values() for edition in year.editions))
    return summed(_netted(years.values()), editions, factors)


def _netted(years: Iterable[Footprint]) -> Iterator[FootprintLine]:
    """Give the lines of all years; what one takes off another's arrival is taken off its mass.

    Both go by one factor, whatever that is.  Ranged apart, the factor's ends would be set against each other.
    """
    alike: dict[tuple[tuple[str, ...], str, str | None], list[FootprintLine]] = {}
    for year in years:
        for line in year.lines:
            alike.setdefault((year.editions, line.material, line.giver), []).append(line)
    for lines in alike.values():
        if len(lines) == 1 or all(line.mass.value >= 0 for line in lines):
            yield from lines
        else:
            mass = together(line.mass for line in lines)
            landfill, bin_, avoided = _ranged(mass, lines[-1].per_kg)
            yield lines[-1]._replace(mass=mass, landfill=landfill, bin=bin_, avoided=avoided)


def edition_of(year: int, factors: Factors, on: dt.date) -> str:
    """Give the edition of a year: the newest of its own time, for the running year the newest read."""
    read = sorted(edition for edition in factors.tables if edition <= factors.newest)
    if year >= on.year:
        return factors.newest
    of_its_time = [edition for edition in read if edition <= f"{year:04d}"]
    return of_its_time[-1] if of_its_time else read[0]


def summed(lines: Iterable[FootprintLine], editions: tuple[str, ...], factors: Factors) -> Footprint:
    """Add lines up and guard the result.  Raises FootprintFault where it is absurd."""
    every = tuple(lines)
    kg = math.fsum(line.mass.value for line in every)
    counted = math.fsum(line.mass.value * line.counted for line in every)
    landfill, bin_ = (sum_of((getattr(line, name) for line in every), UNIT) for name in ("landfill", "bin"))
    net = sum_of((line.avoided for line in every), UNIT)
    for line in every:
        _guard(line, factors.absurd_above)
    avoided = Span(net.low, max(0.0, net.typical), max(0.0, net.high), UNIT, net.records, net.sources)
    words = _statements(every, factors)
    unknown = math.fsum(line.mass.value * line.unknown for line in every)
    return Footprint(editions, every, kg, counted, unknown, landfill, bin_, avoided, net.typical <= 0, words)


def significant(value: float, digits: int = 2) -> str:
    """Write a number to so many significant figures, thousands parted by commas."""
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else "unknown"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    places = digits - 1 - math.floor(math.log10(abs(round(value, places))))
    return f"{round(value, places) + 0.0:,.{max(0, places)}f}".replace("-", "−")


def _guard(line: FootprintLine, absurd_above: float) -> None:
    """Refuse a line that no factor read right can give: above the bar, or below what the bin itself emits."""
    kg = line.mass.value * line.counted
    if abs(kg) <= DUST:
        return
    # Where more was taken off than came in the ends change places: the larger of them is the bar.
    per_kg, worst = line.avoided.typical / kg, max(abs(line.bin.low), abs(line.bin.high)) / abs(kg)
    if not -worst <= per_kg <= absurd_above:
        raise FootprintFault(
            f"{per_kg:,.3g} kg CO₂e avoided per kg of {line.material} is outside 0 to {absurd_above:g}: "
            "the factors or the program are wrong, so no figure is shown"
        )


def _masses(moved: Iterable[Movement], on: dt.date) -> dict[tuple[str, str | None], Figure]:
    """Gather what is used here by material as it arrived and giver: arrivals less what left again."""
    heaps: dict[tuple[str, str | None], Figure] = {}
    for movement in moved:
        origin = movement.origin
        if origin is None or movement.date > on:
            continue
        passed_on = movement.target.kind in PASSED_ON
        times = 0 if movement.counted > 0 and passed_on else movement.counted or (-1 if passed_on else 0)
        if times:
            key = (origin.material, origin.giver)
            heap = heaps.get(key)
            if heap is None:
                heap = heaps[key] = Figure()
            heap.put(movement.amount, movement.share * times, movement.record, None)
    return heaps


def _line(
    notes: Notes, factors: Factors, table: FactorTable, of: tuple[int, Material, str | None], mass: Figure
) -> FootprintLine:
    year, material, giver = of
    shares = notes.household.shares(giver, material.stream)
    use = factors.use_of(material)
    zero = exactly(0.0, PER_KG)
    counted = sum(shares.get(fate, 0.0) for fate in COUNTED_FATES)
    per_kg = (zero, zero, zero)
    if use is not None and use.counts and counted > 0:
        home = home_bin(use, table, factors)
        parts = [
            (share, _factor(use, table, COUNTED_FATES[fate]))
            for fate, share in shares.items()
            if fate in COUNTED_FATES
        ]
        per_kg = (
            sum_of((factor.times(share) for share, factor in parts), PER_KG),
            home.times(counted),
            sum_of((factor.minus(home).times(share) for share, factor in parts), PER_KG),
        )
    landfill, bin_, avoided = _ranged(mass, per_kg)
    return FootprintLine(
        year=year,
        material=material.name,
        stream=material.stream,
        giver=giver,
        mass=mass,
        counted=counted,
        unknown=shares.get("unknown", 0.0),
        row="" if use is None else use.row,
        stand_in=use is not None and use.stand_in,
        why="no row serves" if use is None else use.why,
        landfill=landfill,
        bin=bin_,
        avoided=avoided,
        per_kg=per_kg,
    )


def _ranged(mass: Figure, per_kg: tuple[Span, Span, Span]) -> tuple[Span, Span, Span]:
    """Give a line's three figures in kg CO₂e: each is the mass times its own range per kg."""
    weighed, nothing = as_span(mass), exactly(0.0, UNIT)
    landfill, bin_, avoided = (
        weighed.by(each, UNIT) if each.low or each.high else nothing for each in per_kg
    )
    return landfill, bin_, avoided


def _factor(use: RowUse, table: FactorTable, fate: str) -> Span:
    """Give the factor of a fate in kg CO₂e per kg, its ends from the rows that bound it."""
    found = [table.per_kilogram(row, fate) for row in (use.low, use.row, use.high)]
    known = [value for value in found if value is not None]
    typical = found[1] if found[1] is not None else (known[0] if known else 0.0)
    return Span(min([*known, typical]), typical, max([*known, typical]), PER_KG, (), (table.source,))


def home_bin(use: RowUse, table: FactorTable, factors: Factors) -> Span:
    """Give what the home bin emits per kg of a material: the composting defaults, or a row that stands in."""
    if use.home_bin == "IPCC":
        return of_range(factors.bin_emissions(), PER_KG)
    composted = table.per_kilogram(use.home_bin, "composted")
    defaults = of_range(factors.bin_emissions(), PER_KG)
    if composted is None:
        return defaults
    # One printed number for a material that was never measured: the ends stay those of the defaults.
    low, high = min(defaults.low, composted), max(defaults.high, composted)
    return Span(low, composted, high, PER_KG, (), (table.source, *defaults.sources))


def _statements(lines: tuple[FootprintLine, ...], factors: Factors) -> tuple[str, ...]:
    """Give the plain statements that belong under a figure, those about paper only where paper is in it."""
    has_paper = any(line.stream == "paper" for line in lines)
    about_paper = {"paper", "recycled"}
    return tuple(words for key, words in factors.words.items() if has_paper or key not in about_paper)
