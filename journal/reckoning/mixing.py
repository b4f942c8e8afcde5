"""Carbon, nitrogen and water of a blend, by mass balance.

For materials of wet mass Q (kg), moisture M (% of wet mass), carbon C and nitrogen N (% of dry mass):

- carbon to nitrogen of the blend = Σ Q C (100 − M) ÷ Σ Q N (100 − M)
- moisture of the blend = Σ Q M ÷ Σ Q
- water that brings it to moisture m: W = (m Σ Q − Σ Q M) ÷ (100 − m)

Source: On-Farm Composting Handbook (NRAES-54, 1992), chapter on raw materials; Richard and Trautmann,
Cornell Waste Management Institute (1996).  Ratios are never averaged: equal dry masses of newspaper (560)
and vegetables (19) blend to 38, not to 290.

How the ranges are bounded: every property is known only as a range, so the answer is the least and the
greatest value that any choice inside all ranges gives.  Both formulas are quotients of sums in which each
property moves the answer one way only (more carbon raises it, more nitrogen lowers it), so those stand at
an end of their range.  The weight of one ingredient moves it towards that ingredient's own value: up if
that lies above the blend's, down if below.  At the extreme, all ingredients above some threshold weigh the
most they can and all below the least (or the reverse), and trying each threshold finds it exactly.  The
ranges are taken as independent, so the true blend lies inside whenever every ingredient lies inside its own.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

from journal.measures.doubt import Doubtful, total
from journal.notes.materials import Material, Range
from journal.reckoning.spans import Span, of_doubtful, of_range, sum_of

BEDDING_MOISTURE = Range(70, 80, 90, "munroe-manual", "as summarised", "seen")
"""Moisture of worm bedding, 70 to 90 %: Munroe, Manual of On-Farm Vermicomposting and Vermiculture, as
summarised.  The middle lies inside what red wigglers prefer (80 to 90 %, Edwards) and gain most in (70 to
85 %, Kaplan and others 1980)."""

BEDDING_RATIO = Range(20, 25, 40, "memory", "", "from memory")
"""Carbon to nitrogen of worm bedding to start with; a working default that nobody looked up."""

CARBON_BOUNDS = (25.0, 60.0)
"""Carbon of organic dry matter in %: outside, nitrogen and ratio do not belong together."""

NOTHING = Range(0.0, 0.0, 0.0, "", "", "seen")
WATER = 100.0


@dataclass(frozen=True, slots=True)
class Ingredient:
    """So much of a material, wet mass in kg; ``litres`` where it was measured by volume."""

    material: Material
    mass: Doubtful
    litres: float | None = None
    records: tuple[int, ...] = ()

    @property
    def kg(self) -> Span:
        """The wet mass with its expanded doubt."""
        return of_doubtful(self.mass, "kg", self.records)


class _Term(NamedTuple):
    """One ingredient in a quotient of sums: its weight, and what one unit of weight adds above and below."""

    name: str
    weight: Span
    top: Span
    bottom: Span


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
        return self._quotient(_carbon_terms(self.ingredients), "to 1")

    @cached_property
    def moisture(self) -> Span | None:
        """Moisture in % of the wet mass."""
        return self._quotient(_moisture_terms(self.ingredients), "%")

    @cached_property
    def dry_mass(self) -> Span:
        """Dry matter in kg of the ingredients whose moisture is known."""
        return sum_of((dry for part in self.ingredients if (dry := _dry(part)) is not None), "kg")

    @cached_property
    def nitrogen_mass(self) -> Span:
        """Nitrogen in kg of the ingredients of which it is known."""
        return sum_of(
            (term.weight.by(term.bottom).times(0.01) for term in _carbon_terms(self.ingredients)), "kg"
        )

    @cached_property
    def volume(self) -> Span | None:
        """The loose volumes of all ingredients in L, added up: mixed, they settle into less."""
        volumes = [_volume(ingredient) for ingredient in self.ingredients]
        known = [volume for volume in volumes if volume is not None]
        return sum_of(known, "L") if known and len(known) == len(volumes) else None

    def dominant(self, what: str) -> str | None:
        """Name the material whose ranges alone widen "carbon_nitrogen" or "moisture" the most, or None."""
        terms = (
            _carbon_terms(self.ingredients)
            if what == "carbon_nitrogen"
            else _moisture_terms(self.ingredients)
        )
        widths = {term.name: _width_from(terms, index) for index, term in enumerate(terms)}
        widest = max(widths, key=lambda name: widths[name], default=None)
        return widest if widest is not None and widths[widest] > 0 else None

    def _quotient(self, terms: Sequence[_Term], unit: str) -> Span | None:
        typical = _typical(terms)
        if typical is None:
            return None
        low, high = _least(terms), _greatest(terms)
        return Span(min(low, typical), typical, max(high, typical), unit, self.records, _sources(terms))


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
        for term in _moisture_terms(mixed.ingredients)
    ]
    return replace(
        sum_of(shares, "kg").times(1 / (WATER - moisture)),
        records=mixed.records,
        sources=_sources(_moisture_terms(mixed.ingredients)),
    )


@dataclass(frozen=True, slots=True)
class Reach:
    """How much of a material brings a blend to a goal: ``mass`` in kg, or None with the ``reason``."""

    material: str
    reaches: str  # "moisture" or "carbon_nitrogen"
    goal: float
    mass: Span | None
    reason: str = ""


def reach_moisture(mixed: Blend, goal: float, material: Material) -> Reach:
    """Give how much of a material brings a blend to a moisture in %.

    Σ Q (m − M) ÷ (M of the material − m).
    """
    terms = _moisture_terms(mixed.ingredients)
    own = moisture_range(material)
    if own is None or not terms:
        return _unknown_reach(material, "moisture", goal, "how wet it is" if terms else "how wet the mix is")
    wanted = Span(goal, goal, goal)
    short = sum_of(term.weight.by(wanted.minus(term.top)) for term in terms)
    return _reach(mixed, material, ("moisture", goal, " %"), short, of_range(own).minus(wanted))


def reach_carbon_nitrogen(mixed: Blend, goal: float, material: Material) -> Reach:
    """Give how much of a material brings a blend to a carbon-to-nitrogen ratio R.

    Σ Q (R N − C)(100 − M) ÷ ((C − R N)(100 − M) of the material).
    """
    terms = _carbon_terms(mixed.ingredients)
    own = carbon_and_nitrogen(material)
    moisture = moisture_range(material)
    if own is None or moisture is None or not any(term.bottom.typical > 0 for term in terms):
        what = (
            "carbon, nitrogen and moisture"
            if own is None or moisture is None
            else "carbon and nitrogen of the mix"
        )
        return _unknown_reach(material, "carbon_nitrogen", goal, what)
    short = sum_of(term.weight.by(term.bottom.times(goal).minus(term.top)) for term in terms)
    surplus = of_range(own[0]).minus(of_range(own[1]).times(goal)).by(_dry_share(moisture))
    return _reach(mixed, material, ("carbon_nitrogen", goal, " to 1"), short, surplus)


def _reach(
    mixed: Blend, material: Material, target: tuple[str, float, str], short: Span, each: Span
) -> Reach:
    """Divide what is short by what each kg of the material brings, or say why that is no answer."""
    reaches, goal, unit = target
    if each.typical < 0:
        short, each = short.times(-1), each.times(-1)
    if each.typical == 0 or short.typical < 0:
        now = mixed.moisture if reaches == "moisture" else mixed.carbon_nitrogen
        own = _own_value(material, reaches)
        stands = f" and {material.name} stands at {own:.3g}{unit}" if own is not None else ""
        where = (
            f"the mix stands at {now.typical:.3g}{unit}{stands}" if now is not None else "the mix has none"
        )
        reason = (
            f"{goal:g}{unit} cannot be reached with {material.name}: {where}, "
            f"and {goal:g} does not lie between them"
        )
        return Reach(material.name, reaches, goal, None, reason)
    low = max(0.0, short.low) / each.high
    high = max(0.0, short.high) / each.low if each.low > 0 else math.inf
    mass = Span(low, short.typical / each.typical, high, "kg", mixed.records, (*short.sources, *each.sources))
    return Reach(material.name, reaches, goal, mass)


def _unknown_reach(material: Material, reaches: str, goal: float, what: str) -> Reach:
    return Reach(
        material.name, reaches, goal, None, f"nothing is known of {material.name}'s part in this: {what}"
    )


def _own_value(material: Material, reaches: str) -> float | None:
    """Give the material's own typical moisture or carbon-to-nitrogen ratio, or None where it has none."""
    moisture = moisture_range(material)
    if reaches == "moisture":
        return None if moisture is None else moisture.typical
    own = carbon_and_nitrogen(material)
    return None if own is None or own[1].typical == 0 else own[0].typical / own[1].typical


def _together(heap: Sequence[Ingredient]) -> Ingredient:
    """Make one ingredient of several of one material."""
    if len(heap) == 1:
        return heap[0]
    measured = [part.litres for part in heap if part.litres is not None]
    litres = math.fsum(measured) if len(measured) == len(heap) else None
    records = tuple(dict.fromkeys(index for part in heap for index in part.records))
    return Ingredient(heap[0].material, total(part.mass for part in heap), litres, records)


def _dry_share(moisture: Range) -> Span:
    return Span(1 - moisture.high / WATER, 1 - moisture.typical / WATER, 1 - moisture.low / WATER)


def _dry(part: Ingredient) -> Span | None:
    moisture = moisture_range(part.material)
    return None if moisture is None else part.kg.by(_dry_share(moisture), "kg")


def _volume(part: Ingredient) -> Span | None:
    """Give the volume of an ingredient: as measured, or its mass over its density."""
    if part.litres is not None:
        off = 2 * part.mass.own / part.mass.value if part.mass.value else 0.0
        return Span(part.litres * max(0.0, 1 - off), part.litres, part.litres * (1 + off), "L", part.records)
    density = part.material.density
    return None if density is None else part.kg.over(of_range(density), "L")


def _moisture_terms(parts: Sequence[Ingredient]) -> list[_Term]:
    one = Span(1.0, 1.0, 1.0)
    return [
        _Term(part.material.name, part.kg, of_range(moisture), one)
        for part in parts
        if (moisture := moisture_range(part.material)) is not None
    ]


def _carbon_terms(parts: Sequence[Ingredient]) -> list[_Term]:
    terms = []
    for part in parts:
        both, dry = carbon_and_nitrogen(part.material), _dry(part)
        if both is not None and dry is not None:
            terms.append(_Term(part.material.name, dry, of_range(both[0]), of_range(both[1])))
    return terms


def _typical(terms: Sequence[_Term]) -> float | None:
    below = math.fsum(term.weight.typical * term.bottom.typical for term in terms)
    if below <= 0:
        return None
    return math.fsum(term.weight.typical * term.top.typical for term in terms) / below


def _greatest(terms: Sequence[_Term]) -> float:
    """Give the greatest quotient: tops high, bottoms low, and weights by the threshold argument above."""
    chosen = [(term.weight.low, term.weight.high, term.top.high, term.bottom.low) for term in terms]
    return max(_thresholds(chosen, heavy_first=True), default=math.inf)


def _least(terms: Sequence[_Term]) -> float:
    """Give the least quotient, the mirror image of the greatest."""
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


def _width_from(terms: Sequence[_Term], index: int) -> float:
    """Give how wide the answer is when only one ingredient is uncertain and all others are as usual."""
    alone = [term if place == index else _as_usual(term) for place, term in enumerate(terms)]
    return _greatest(alone) - _least(alone) if _typical(alone) is not None else 0.0


def _as_usual(term: _Term) -> _Term:
    def fixed(span: Span) -> Span:
        return Span(span.typical, span.typical, span.typical)

    return _Term(term.name, fixed(term.weight), fixed(term.top), fixed(term.bottom))


def _sources(terms: Sequence[_Term]) -> tuple[str, ...]:
    named = (key for term in terms for span in (term.weight, term.top, term.bottom) for key in span.sources)
    return tuple(dict.fromkeys(named))
