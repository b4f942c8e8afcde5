"""Units of mass, volume, area and temperature: text to kg, L, m² and °C, exactly.

Factors are exact by definition.  Source: NIST Handbook 44, Appendix C (avoirdupois pound
0.453 592 37 kg; US gallon 231 cubic inches; inch 2.54 cm).  A cup, pint, quart, gallon and
fluid ounce are always the US customary ones, a tablespoon is half a US fluid ounce.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import NamedTuple

from journal.measures.letters import small_letters

POUND = Fraction("0.45359237")  # kg
GALLON = Fraction("3.785411784")  # L
FOOT = Fraction("0.3048")  # m


class Unit(NamedTuple):
    """One unit: ``factor`` is how many kg, L or m² it holds, exact; ``spellings`` are all read."""

    symbol: str
    kind: str  # "mass", "volume" or "area"
    factor: Fraction
    spellings: tuple[str, ...]

    @property
    def size(self) -> float:
        """The factor as a float, in kg, L or m²."""
        return float(self.factor)


UNITS: tuple[Unit, ...] = (
    Unit("lb", "mass", POUND, ("lb", "lbs", "pound", "pounds")),
    Unit("oz", "mass", POUND / 16, ("oz", "ozs", "ounce", "ounces")),
    Unit("g", "mass", Fraction(1, 1000), ("g", "gr", "gram", "grams", "gramme", "grammes")),
    Unit("kg", "mass", Fraction(1),
         ("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramme", "kilogrammes")),
    Unit("stone", "mass", 14 * POUND, ("stone", "stones", "st")),
    Unit("short ton", "mass", 2000 * POUND, ("short ton", "short tons")),
    Unit("tonne", "mass", Fraction(1000), ("tonne", "tonnes", "metric ton", "metric tons")),
    Unit("tsp", "volume", GALLON / 768,
         ("tsp", "tsps", "teaspoon", "teaspoons", "teaspoonful", "teaspoonfuls")),
    Unit("tbsp", "volume", GALLON / 256,
         ("tbsp", "tbsps", "tablespoon", "tablespoons", "tablespoonful", "tablespoonfuls")),
    Unit("fl oz", "volume", GALLON / 128, ("fl oz", "fl. oz", "fluid ounce", "fluid ounces")),
    Unit("cup", "volume", GALLON / 16, ("cup", "cups", "cupful", "cupfuls")),
    Unit("pint", "volume", GALLON / 8, ("pint", "pints", "pt", "pts")),
    Unit("quart", "volume", GALLON / 4, ("quart", "quarts", "qt", "qts")),
    Unit("gallon", "volume", GALLON, ("gallon", "gallons", "gal", "gals")),
    Unit("mL", "volume", Fraction(1, 1000), ("ml", "millilitre", "millilitres", "milliliter", "milliliters")),
    Unit("L", "volume", Fraction(1), ("l", "litre", "litres", "liter", "liters")),
    Unit("cu ft", "volume", FOOT**3 * 1000, ("cu ft", "cu. ft", "cubic foot", "cubic feet", "ft3", "ft³")),
    Unit("cu yd", "volume", (3 * FOOT) ** 3 * 1000,
         ("cu yd", "cu yds", "cu. yd", "cubic yard", "cubic yards", "yd3", "yd³")),
    Unit("sq ft", "area", FOOT**2, ("sq ft", "sq. ft", "square foot", "square feet", "ft2", "ft²")),
    Unit("sq yd", "area", (3 * FOOT) ** 2, ("sq yd", "sq. yd", "square yard", "square yards", "yd2", "yd²")),
    Unit("sq m", "area", Fraction(1),
         ("sq m", "sq. m", "square metre", "square metres", "square meter", "square meters", "m2", "m²")),
)  # fmt: skip

BY_SPELLING: dict[str, Unit] = {spelling: unit for unit in UNITS for spelling in unit.spellings}
BY_SYMBOL: dict[str, Unit] = {unit.symbol: unit for unit in UNITS}

_SPELLINGS = "|".join(
    re.escape(words).replace(r"\ ", r"\s+") for words in sorted(BY_SPELLING, key=len, reverse=True)
)
_UNIT = re.compile(rf"(?P<unit>{_SPELLINGS})\.?(?![\w³²])", re.IGNORECASE)


def read_unit(text: str, position: int) -> tuple[int, Unit] | None:
    """Read a unit of ``text`` at ``position``: the position behind it and the unit, or None."""
    found = _UNIT.match(text, position)
    if found is None:
        return None
    return found.end(), BY_SPELLING[small_letters(found["unit"])]


def celsius(value: float, scale: str) -> float:
    """Give the temperature in °C of ``value`` on the scale ``"F"`` or ``"C"``."""
    return (value - 32.0) / 1.8 if scale == "F" else value


def fahrenheit(degrees_celsius: float) -> float:
    """Give the temperature in °F of a temperature in °C."""
    return degrees_celsius * 1.8 + 32.0
