"""How much of one material brings a blend to a goal, in closed form, or why it cannot."""

from __future__ import annotations

import math
from typing import NamedTuple

from journal.notes.materials import Material
from journal.reckoning.mixing import (
    Blend,
    carbon_and_nitrogen,
    carbon_terms,
    dry_share,
    moisture_range,
    moisture_terms,
)
from journal.reckoning.spans import Span, of_range, sum_of


class Reach(NamedTuple):
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
    terms = moisture_terms(mixed.ingredients)
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
    terms = carbon_terms(mixed.ingredients)
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
    surplus = of_range(own[0]).minus(of_range(own[1]).times(goal)).by(dry_share(moisture))
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
