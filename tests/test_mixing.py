"""Mixing: worked examples of the handbooks hold to the printed digit, and the bounds bound.

Sources: Cornell Waste Management Institute, moisture-content page (examples E1 and E2, read in a copy) and
carbon-to-nitrogen page by Richard and Trautmann, 1996 (example E8, from memory); carbon, nitrogen and ratios
of newspaper and vegetables: Cornell, compost chemistry table, and NRAES-54 (1992), Appendix A.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal.measures.doubt import Doubtful
from journal.notes.materials import Material, Range
from journal.reckoning.mixing import (
    BEDDING_MOISTURE,
    Blend,
    Ingredient,
    blend,
    carbon_of,
    moisture_of_sample,
    water_to_add,
)
from journal.reckoning.reaching import reach_carbon_nitrogen, reach_moisture


def known(low: float, typical: float | None = None, high: float | None = None) -> Range:
    """A range of one or three values."""
    return Range(low, low if typical is None else typical, low if high is None else high, "handbook")


def material(name: str, moisture: float, carbon: float, nitrogen: float, stream: str = "garden") -> Material:
    """A material whose properties are single numbers."""
    return Material(
        name, stream, waste=True, moisture=known(moisture), carbon=known(carbon), nitrogen=known(nitrogen),
        density=known(0.5),
    )  # fmt: skip


GRASS = material("grass", 77, 45, 2.4)
LEAVES = material("leaves", 35, 50, 0.75)
WATER = Material("water", "supplies", waste=False, moisture=known(100), density=known(1))
GRIT = Material("grit", "mineral", waste=False, moisture=known(0), density=known(1.6))


def of(*parts: tuple[float, Material]) -> Blend:
    """A blend of exact masses in kg."""
    return blend(Ingredient(kind, Doubtful(kg)) for kg, kind in parts)


def test_a_dried_sample_gives_the_printed_moisture() -> None:
    """Ten grams of wet sample that weigh 6.3 g dry in a 4 g dish were 77 % water, as Cornell prints."""
    assert f"{moisture_of_sample(10, 4, 6.3):.0f}" == "77"


def test_leaves_that_bring_grass_to_sixty_percent() -> None:
    """Ten kilograms of grass at 77 % need 6.8 kg of leaves at 35 % to come to 60 %, as Cornell prints."""
    found = reach_moisture(of((10, GRASS)), 60, LEAVES)
    assert found.mass is not None
    assert f"{found.mass.typical:.1f}" == "6.8"


def test_leaves_that_bring_grass_to_thirty_to_one() -> None:
    """Ten kilograms of grass need 3.5 kg of leaves to come to a C:N of 30, as Cornell prints."""
    found = reach_carbon_nitrogen(of((10, GRASS)), 30, LEAVES)
    assert found.mass is not None
    assert f"{found.mass.typical:.1f}" == "3.5"


def test_ratios_are_not_averaged() -> None:
    """Equal dry masses of newspaper (560) and vegetables (19) blend to 38.3; the naive average says 290."""
    newspaper = material("newspaper", 0, carbon_of(0.1, 560), 0.1)
    vegetables = material("vegetables", 0, carbon_of(2.7, 19), 2.7)
    ratio = of((1, newspaper), (1, vegetables)).carbon_nitrogen
    assert ratio is not None
    assert f"{ratio.typical:.1f}" == "38.3"
    assert abs(ratio.typical - (560 + 19) / 2) > 200


def test_a_ratio_and_a_nitrogen_of_different_samples_are_refused() -> None:
    """Sawdust's middle nitrogen times its middle ratio would be 204 % carbon, and is refused."""
    with pytest.raises(ValueError, match="204 % carbon"):
        carbon_of((0.06 + 0.8) / 2, (200 + 750) / 2)


def test_mineral_adds_mass_and_neither_carbon_nor_nitrogen() -> None:
    """Grit makes a mix heavier and drier but leaves its C:N alone."""
    plain, gritty = of((5, GRASS)), of((5, GRASS), (1, GRIT))
    assert gritty.mass.value == 6
    assert plain.carbon_nitrogen is not None
    assert gritty.carbon_nitrogen is not None
    assert gritty.carbon_nitrogen.typical == pytest.approx(plain.carbon_nitrogen.typical)
    assert gritty.moisture is not None
    assert gritty.moisture.typical == pytest.approx(5 * 77 / 6)


def test_water_to_add_is_the_formula() -> None:
    """The water to add is W = (mΣQ − ΣQM) ÷ (100 − m), and below zero where the mix is too wet."""
    mixed = of((10, GRASS), (4, LEAVES))
    for goal in (50.0, 60.0, 80.0):
        expected = (goal * 14 - (10 * 77 + 4 * 35)) / (100 - goal)
        assert water_to_add(mixed, goal).typical == pytest.approx(expected)
    assert water_to_add(mixed, 50).typical < 0


def test_water_that_was_added_brings_the_mix_to_its_goal() -> None:
    """A mix with the water it wants has the moisture it was wanted for."""
    mixed = of((3, LEAVES), (0.1, GRIT))
    wetted = of((3, LEAVES), (0.1, GRIT), (water_to_add(mixed, 80).typical, WATER))
    assert wetted.moisture is not None
    assert wetted.moisture.typical == pytest.approx(80)


def test_a_goal_on_the_wrong_side_is_said_not_to_be_reached() -> None:
    """Leaves at 35 % can't make grass at 77 % wetter, and a sentence says so with both figures."""
    found = reach_moisture(of((10, GRASS)), 85, LEAVES)
    assert found.mass is None
    assert "85 % cannot be reached with leaves" in found.reason
    assert "77" in found.reason
    assert "35" in found.reason


def test_water_alone_never_changes_a_ratio() -> None:
    """A C:N goal cannot be reached with water."""
    assert reach_carbon_nitrogen(of((10, GRASS)), 30, WATER).mass is None


def test_what_is_not_known_is_named_and_left_out() -> None:
    """A material without carbon and nitrogen is left out of the C:N and named, never taken as none."""
    riddle = Material("riddle", "other", waste=True, moisture=known(50))
    mixed = of((1, GRASS), (1, riddle))
    assert mixed.unknown["carbon and nitrogen"] == ("riddle",)
    assert mixed.carbon_nitrogen is not None
    assert mixed.carbon_nitrogen.typical == pytest.approx(45 / 2.4)
    assert mixed.volume is None


def test_the_ingredient_whose_range_matters_most_is_named() -> None:
    """Of two ingredients the one known only roughly is named as what widens the answer."""
    rough = Material(
        "rough",
        "garden",
        waste=True,
        moisture=known(30, 50, 70),
        carbon=known(40, 45, 50),
        nitrogen=known(1, 2, 3),
    )
    mixed = of((1, rough), (1, LEAVES))
    assert mixed.dominant("carbon_nitrogen") == "rough"
    assert mixed.dominant("moisture") == "rough"
    assert of((1, LEAVES)).dominant("moisture") is None


def test_equal_materials_are_one_ingredient() -> None:
    """Two lines of one material share its ranges, so splitting a line does not change any bound."""
    rough = Material(
        "rough", "garden", waste=True, moisture=known(30, 50, 70), carbon=known(40), nitrogen=known(1)
    )
    whole, halves = of((2, rough), (1, GRASS)), of((1, rough), (1, GRASS), (1, rough))
    assert whole.moisture is not None
    assert halves.moisture is not None
    assert halves.moisture.low == pytest.approx(whole.moisture.low)
    assert halves.moisture.high == pytest.approx(whole.moisture.high)


def test_the_default_goal_lies_where_the_sources_agree() -> None:
    """The moisture aimed at lies in Edwards' 80 to 90, Kaplan's 70 to 85 and Munroe's 70 to 90."""
    assert max(80, 70, 70) <= BEDDING_MOISTURE.typical <= min(90, 85, 90)


ranges = st.tuples(*[st.floats(0, 1)] * 3).map(sorted)
kinds = st.tuples(ranges, ranges, ranges, st.floats(0.1, 20), st.floats(0, 0.3))


def span_of(values: list[float]) -> Range:
    """A range of three rising values."""
    return Range(values[0], values[1], values[2])


def drawn(index: int, kind: tuple[list[float], list[float], list[float], float, float]) -> Ingredient:
    """An ingredient with ranges for everything, its mass uncertain too."""
    wet, carbon, nitrogen, kg, share = kind
    return Ingredient(
        Material(
            f"material {index}",
            "garden",
            waste=True,
            moisture=span_of([95 * part for part in wet]),
            carbon=span_of([30 + 25 * part for part in carbon]),
            nitrogen=span_of([0.1 + 4 * part for part in nitrogen]),
        ),
        Doubtful(kg, kg * share),
    )


def between(low: float, high: float, at: float) -> float:
    """The point a share of the way from low to high."""
    return low + (high - low) * at


@given(st.lists(kinds, min_size=1, max_size=5), st.lists(st.floats(0, 1), min_size=20, max_size=20))
def test_whatever_the_true_values_are_the_bounds_hold_them(
    kinds_drawn: list[tuple[list[float], list[float], list[float], float, float]], at: list[float]
) -> None:
    """For any choice inside all ranges, C:N, moisture and water to add lie between their bounds."""
    parts = [drawn(index, kind) for index, kind in enumerate(kinds_drawn)]
    mixed = blend(parts)
    top = bottom = wet = mass = 0.0
    for index, part in enumerate(parts):
        assert part.material.moisture is not None
        assert part.material.carbon is not None
        assert part.material.nitrogen is not None
        four = at[4 * index : 4 * index + 4]
        kg = between(part.kg.low, part.kg.high, four[0])
        water = between(part.material.moisture.low, part.material.moisture.high, four[1])
        top += kg * (100 - water) * between(part.material.carbon.low, part.material.carbon.high, four[2])
        bottom += (
            kg * (100 - water) * between(part.material.nitrogen.low, part.material.nitrogen.high, four[3])
        )
        wet, mass = wet + kg * water, mass + kg
    assert mixed.carbon_nitrogen is not None
    assert mixed.moisture is not None
    if mass > 0 and bottom > 0:
        assert holds(mixed.carbon_nitrogen.low, top / bottom, mixed.carbon_nitrogen.high)
        assert holds(mixed.moisture.low, wet / mass, mixed.moisture.high)
    needed = water_to_add(mixed, 96)
    assert holds(needed.low, (96 * mass - wet) / 4, needed.high)


def holds(low: float, value: float, high: float) -> bool:
    """Whether a value lies between two bounds, but for rounding."""
    slack = 1e-9 * max(1.0, abs(value))
    return low - slack <= value <= high + slack


@given(st.lists(kinds, min_size=1, max_size=4), st.floats(5, 90), st.floats(12, 200))
def test_what_is_said_to_reach_a_goal_reaches_it(
    kinds_drawn: list[tuple[list[float], list[float], list[float], float, float]], wet: float, ratio: float
) -> None:
    """Adding the amount that was worked out brings the blend to its goal, moisture and C:N alike."""
    parts = [drawn(index, kind) for index, kind in enumerate(kinds_drawn)]
    mixed = blend(parts)
    for found, goal in (
        (reach_moisture(mixed, wet, LEAVES), wet),
        (reach_carbon_nitrogen(mixed, ratio, LEAVES), ratio),
    ):
        if found.mass is None or not 1e-6 < found.mass.typical < 1e6:
            continue
        assert found.mass.low <= found.mass.typical * (1 + 1e-12) <= found.mass.high * (1 + 1e-9)
        after = blend([*parts, Ingredient(LEAVES, Doubtful(found.mass.typical))])
        reached = after.moisture if found.reaches == "moisture" else after.carbon_nitrogen
        assert reached is not None
        assert math.isclose(reached.typical, goal, rel_tol=1e-6)
