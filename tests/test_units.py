"""Units against NIST Handbook 44, Appendix C, by way of Pint and SciPy, which we did not write."""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from journal.measures.units import BY_SPELLING, BY_SYMBOL, UNITS, Unit, celsius, fahrenheit, read_unit

# Our symbol, Pint's name.  Pint takes its customary units from Handbook 44.
PINT_NAMES = {
    "lb": "pound", "oz": "ounce", "g": "gram", "kg": "kilogram", "stone": "stone",
    "short ton": "short_ton", "tonne": "metric_ton", "tsp": "teaspoon", "tbsp": "tablespoon",
    "fl oz": "fluid_ounce", "cup": "cup",
    "pint": "pint", "quart": "quart", "gallon": "gallon", "mL": "milliliter", "L": "liter",
    "cu ft": "foot ** 3", "cu yd": "yard ** 3", "sq ft": "foot ** 2", "sq yd": "yard ** 2",
    "sq m": "meter ** 2",
}  # fmt: skip
BASE = {"mass": "kilogram", "volume": "liter", "area": "meter ** 2"}

# NIST Handbook 44, Appendix C, "Units of Mass", "Units of Liquid Volume": exact by definition.
HANDBOOK = {
    "lb": "0.45359237", "oz": "0.028349523125", "short ton": "907.18474", "gallon": "3.785411784",
    "quart": "0.946352946", "pint": "0.473176473", "cup": "0.2365882365", "fl oz": "0.0295735295625",
    "cu ft": "28.316846592", "cu yd": "764.554857984", "sq ft": "0.09290304",
}  # fmt: skip


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.symbol)
def test_every_unit_is_what_pint_says(unit: Unit) -> None:
    """Each unit's size in kg, L or m² is Pint's."""
    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    size = registry.Quantity(1.0, PINT_NAMES[unit.symbol]).to(BASE[unit.kind]).magnitude
    assert unit.size == pytest.approx(size, rel=1e-12)


@pytest.mark.parametrize(("symbol", "printed"), HANDBOOK.items())
def test_every_customary_unit_is_exact(symbol: str, printed: str) -> None:
    """Each customary unit has the exact factor that Handbook 44 prints, not a rounded one."""
    assert BY_SYMBOL[symbol].factor == Fraction(printed)


def test_pound_and_gallon_are_those_of_scipy() -> None:
    """The two factors from which all others follow are CODATA's conversions in scipy.constants."""
    assert BY_SYMBOL["lb"].size == pytest.approx(constants.pound, rel=1e-15)
    assert BY_SYMBOL["oz"].size == pytest.approx(constants.ounce, rel=1e-15)
    assert BY_SYMBOL["gallon"].size == pytest.approx(constants.gallon * 1000, rel=1e-15)
    assert BY_SYMBOL["stone"].size == pytest.approx(constants.stone, rel=1e-15)


def test_spoons_and_cups_fit_into_one_another() -> None:
    """Three teaspoons are a tablespoon, two tablespoons a fluid ounce, and so on up to the gallon."""
    for small, count, large in (
        ("tsp", 3, "tbsp"), ("tbsp", 2, "fl oz"), ("fl oz", 8, "cup"), ("cup", 2, "pint"),
        ("pint", 2, "quart"), ("quart", 4, "gallon"), ("oz", 16, "lb"),
        ("lb", 14, "stone"), ("lb", 2000, "short ton"),
        ("cu ft", 27, "cu yd"), ("mL", 1000, "L"), ("g", 1000, "kg"), ("kg", 1000, "tonne"),
    ):  # fmt: skip
        assert count * BY_SYMBOL[small].factor == BY_SYMBOL[large].factor


@pytest.mark.parametrize("spelling", BY_SPELLING)
def test_every_spelling_is_read_whole(spelling: str) -> None:
    """Each spelling is read in any case, with a full stop too, and not as the start of a longer word."""
    unit = BY_SPELLING[spelling]
    for written in (spelling, spelling.upper(), f"{spelling}."):
        assert read_unit(f"{written} bread", 0) == (len(written), unit)
    assert read_unit(f"{spelling}x bread", 0) is None


def test_no_spelling_stands_for_two_units() -> None:
    """One spelling, one unit."""
    assert len(BY_SPELLING) == sum(len(unit.spellings) for unit in UNITS)


@given(st.floats(-200, 1000))
def test_temperatures_go_there_and_back(degrees: float) -> None:
    """°F to °C and back is the same temperature, by SciPy's conversion too."""
    assert fahrenheit(celsius(degrees, "F")) == pytest.approx(degrees, abs=1e-9)
    assert celsius(degrees, "F") == pytest.approx(constants.convert_temperature(degrees, "F", "C"), abs=1e-9)
    assert celsius(degrees, "C") == degrees
