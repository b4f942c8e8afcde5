"""Carbon, nitrogen and water of a blend, by mass balance.

For materials of wet mass Q (kg), moisture M (% of wet mass), carbon C and nitrogen N (% of dry mass):

- carbon to nitrogen of the blend = Σ Q C (100 − M) ÷ Σ Q N (100 − M)
- moisture of the blend = Σ Q M ÷ Σ Q
- water that brings it to moisture m: W = (m Σ Q − Σ Q M) ÷ (100 − m)

Source: On-Farm Composting Handbook (NRAES-54, 1992), chapter on raw materials; Richard and Trautmann,
Cornell Waste Management Institute (1996).  Ratios are never averaged: equal dry masses of newspaper (560)
and vegetables (19) blend to 38, not to 290.

Every property is known only as a range, so every answer is the least and the greatest value that any choice
inside all ranges gives: ``quotients`` says how.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from journal.measures.doubt import Doubtful, total
from journal.notes.materials import Material, Range
from journal.reckoning.quotients import Term, quotient, sources, widest
from journal.reckoning.spans import Span, of_doubtful, of_range, sum_of

BEDDING_MOISTURE = Range(70, 80, 90, "munroe-manual", "as summarised", "seen")
"""Moisture of worm bedding, 70 to 90 %: Munroe, Manual of On-Farm Vermicomposting and Vermiculture, as
summarised.  The middle lies inside what red wigglers prefer (80 to 90 %, Edwards) and gain most in (70 to
85 %, Kaplan and others 1980)."""

CARBON_BOUNDS = (25.0, 60.0)
"""Carbon of organic dry matter in %: outside, nitrogen and ratio do not belong together."""

NOTHING = Range(0.0, 0.0, 0.0, "", "", "seen")
WATER = 100.0


class Ingredient(NamedTuple):
    """So much of a material, wet mass in kg; ``litres`` where it was measured by volume."""

    material: Material
    mass: Doubtful
    litres: float | None = None
    records: tuple[int, ...] = ()

    @property
    def kg(self) -> Span:
        """The wet mass with its expanded doubt."""
        return of_doubtful(self.mass, "kg", self.records)


def carbon_of(nitrogen: float, ratio: float) -> float:
    """Give carbon (% of dry mass) from a nitrogen and a carbon-to-nitrogen ratio of the same sample.

    Raises ValueError where the two cannot belong together: the middle of one published range times the
    middle of the other would make sawdust 204 % carbon.
    """
    carbon = nitrogen * ratio
    low, high = CARBON_BOUNDS
    if not low <= carbon <= high:
        raise ValueError(
            f"{nitrogen:g} % nitrogen at {ratio:g} to 1 would be {carbon:.0f} % carbon; "
            f"dry organic matter holds {low:g} to {high:g} %, so the two are not of one sample"
        )
    return carbon


def moisture_of_sample(wet: float, dish: float, dried_in_dish: float) -> float:
    """Give the moisture in % of a sample weighed wet without its dish and dried in it, all in one unit.

    Dry at 105 to 110 °C until it loses no more (Cornell Waste Management Institute).
    """
    return 100.0 * (wet - (dried_in_dish - dish)) / wet


def moisture_range(material: Material) -> Range | None:
    """Give the moisture of a material; a mineral of which nothing is said counts as dry."""
    if material.moisture is None and material.stream == "mineral":
        return NOTHING
    return material.moisture


def carbon_and_nitrogen(material: Material) -> tuple[Range, Range] | None:
    """Give carbon and nitrogen of a material; water and mineral hold none that counts."""
    moisture = moisture_range(material)
    if material.stream == "mineral" or (moisture is not None and moisture.low >= WATER):
        return NOTHING, NOTHING
    if material.carbon is None or material.nitrogen is None:
        return None
    return material.carbon, material.nitrogen


@dataclass(frozen=True)
class Blend:
    """What a mix amounts to.  Equal materials are one ingredient; figures are None where nothing is known.

    ``unknown`` maps "moisture", "carbon and nitrogen" and "density" to the materials left out for want of it.
    """

    ingredients: tuple[Ingredient, ...]
    unknown: dict[str, tuple[str, ...]] = field(default_factory=dict)

    @cached_property
    def mass(self) -> Doubtful:
        """The wet mass in kg with its doubt."""
        return total(ingredient.mass for ingredient in self.ingredients)

    @property
    def records(self) -> tuple[int, ...]:
        """The records of all ingredients, as indices into Notes.records."""
        return tuple(dict.fromkeys(index for ingredient in self.ingredients for index in ingredient.records))

    @cached_property
    def carbon_nitrogen(self) -> Span | None:
        """Carbon to nitrogen, as a ratio by mass."""
        return quotient(carbon_terms(self.ingredients), "to 1", self.records)

    @cached_property
    def moisture(self) -> Span | None:
        """Moisture in % of the wet mass."""
        return quotient(moisture_terms(self.ingredients), "%", self.records)

    @cached_property
    def dry_mass(self) -> Span:
        """Dry matter in kg of the ingredients whose moisture is known."""
        return sum_of((dry for part in self.ingredients if (dry := _dry(part)) is not None), "kg")

    @cached_property
    def volume(self) -> Span | None:
        """The loose volumes of all ingredients in L, added up: mixed, they settle into less."""
        volumes = [_volume(ingredient) for ingredient in self.ingredients]
        known = [volume for volume in volumes if volume is not None]
        return sum_of(known, "L") if known and len(known) == len(volumes) else None

    def dominant(self, what: str) -> str | None:
        """Name the material whose ranges alone widen "carbon_nitrogen" or "moisture" the most, or None."""
        terms = carbon_terms if what == "carbon_nitrogen" else moisture_terms
        return widest(terms(self.ingredients))


def blend(parts: Iterable[Ingredient]) -> Blend:
    """Put ingredients together; what a material's missing properties leave out is named in ``unknown``."""
    heaps: dict[str, list[Ingredient]] = {}
    for part in parts:
        heaps.setdefault(part.material.name, []).append(part)
    ingredients = tuple(_together(heap) for heap in heaps.values())
    lacks: dict[str, Callable[[Material], object | None]] = {
        "moisture": moisture_range,
        "carbon and nitrogen": carbon_and_nitrogen,
        "density": lambda material: material.density,
    }
    missing = {
        what: tuple(part.material.name for part in ingredients if known(part.material) is None)
        for what, known in lacks.items()
    }
    return Blend(ingredients, {what: names for what, names in missing.items() if names})


def water_to_add(mixed: Blend, moisture: float) -> Span:
    """Give the water in kg that brings a blend to a moisture in %; below zero where it is too wet by so much.

    Raises ValueError where the moisture is not below 100.
    """
    if not 0 <= moisture < WATER:
        raise ValueError(f"moisture must be from 0 to below 100 %, not {moisture:g} %")
    shares = [
        term.weight.by(Span(moisture, moisture, moisture).minus(term.top), "kg")
        for term in moisture_terms(mixed.ingredients)
    ]
    return (
        sum_of(shares, "kg")
        .times(1 / (WATER - moisture))
        ._replace(
            records=mixed.records,
            sources=sources(moisture_terms(mixed.ingredients)),
        )
    )


def _together(heap: Sequence[Ingredient]) -> Ingredient:
    """Make one ingredient of several of one material."""
    if len(heap) == 1:
        return heap[0]
    measured = [part.litres for part in heap if part.litres is not None]
    litres = math.fsum(measured) if len(measured) == len(heap) else None
    records = tuple(dict.fromkeys(index for part in heap for index in part.records))
    return Ingredient(heap[0].material, total(part.mass for part in heap), litres, records)


def dry_share(moisture: Range) -> Span:
    """Give the dry part of a wet mass, 0 to 1."""
    return Span(1 - moisture.high / WATER, 1 - moisture.typical / WATER, 1 - moisture.low / WATER)


def _dry(part: Ingredient) -> Span | None:
    moisture = moisture_range(part.material)
    return None if moisture is None else part.kg.by(dry_share(moisture), "kg")


def _volume(part: Ingredient) -> Span | None:
    """Give the volume of an ingredient: as measured, or its mass over its density."""
    if part.litres is not None:
        off = 2 * part.mass.own / part.mass.value if part.mass.value else 0.0
        return Span(part.litres * max(0.0, 1 - off), part.litres, part.litres * (1 + off), "L", part.records)
    density = part.material.density
    return None if density is None else part.kg.over(of_range(density), "L")


def moisture_terms(parts: Sequence[Ingredient]) -> list[Term]:
    """Give the terms of a blend's moisture; materials of which it is not known are left out."""
    one = Span(1.0, 1.0, 1.0)
    return [
        Term(part.material.name, part.kg, of_range(moisture), one)
        for part in parts
        if (moisture := moisture_range(part.material)) is not None
    ]


def carbon_terms(parts: Sequence[Ingredient]) -> list[Term]:
    """Give the terms of a blend's carbon to nitrogen; what is not known is left out."""
    terms = []
    for part in parts:
        both, dry = carbon_and_nitrogen(part.material), _dry(part)
        if both is not None and dry is not None:
            terms.append(Term(part.material.name, dry, of_range(both[0]), of_range(both[1])))
    return terms
