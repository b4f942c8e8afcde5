"""The kinds of worm and their bands against what was published, and against keepers' experience.

Sources: Edwards (editor), Earthworm Ecology, Table 18.3; Kaplan, Hartenstein and others (1980), abstract;
Edwards, Dominguez and Neuhauser (1998), abstract.
"""

from __future__ import annotations

import pytest

from journal.commands import shipped
from journal.measures.units import BY_SYMBOL, celsius
from journal.notes.materials import Range
from journal.reckoning.references import WormKind

NAMES = ("red wigglers", "European nightcrawlers", "African nightcrawlers", "Indian blues", "mixed worms")


def kind(name: str) -> WormKind:
    """One kind by any of its names."""
    found = shipped.worms().find(name)
    assert found is not None, name
    return found


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("Red Wiggler", "red wigglers"),
        ("Eisenia fetida", "red wigglers"),
        ("Dendrobaena veneta", "European nightcrawlers"),
        ("european night crawlers", "European nightcrawlers"),
        ("Eudrilus eugeniae", "African nightcrawlers"),
        ("blue worms", "Indian blues"),
        ("mixed", "mixed worms"),
    ],
)
def test_worms_are_found_by_trade_and_latin_name(words: str, name: str) -> None:
    """A bin may name its worms as the shop or as the book does."""
    assert kind(words).name == name


def test_every_kind_is_a_material_too() -> None:
    """What can live in a bin can be bought, added and moved, and weighs the same in both places."""
    assert set(shipped.worms().kinds) == set(NAMES)
    for name in NAMES[:-1]:
        material = shipped.catalogue().find(name)
        assert material is not None, name
        assert material.each is not None, name
        assert material.each.typical == pytest.approx(kind(name).each.typical), name


def test_a_bin_that_names_no_worms_has_figures() -> None:
    """The kind used where none is named is one of the kinds."""
    assert shipped.worms().unknown in shipped.worms().kinds


@pytest.mark.parametrize("name", NAMES)
def test_limits_stand_in_order(name: str) -> None:
    """Below the bottom harms, from low to high is good, above the top harms."""
    for band in (kind(name).temperature, kind(name).moisture, kind(name).acidity):
        assert band.bottom < band.low < band.high < band.top, (name, band.quantity)


def test_red_wigglers_keep_to_the_published_limits() -> None:
    """Temperature 4 to 30 C, moisture 60 to 90 %, pH 5 to 9 (Edwards, Table 18.3)."""
    worm = kind("red wigglers")
    assert (worm.temperature.bottom, worm.temperature.top) == (4, 30)
    assert (worm.moisture.bottom, worm.moisture.top) == (60, 90)
    assert (worm.acidity.bottom, worm.acidity.top) == (5, 9)


@pytest.mark.parametrize("degrees", [15, 20, 22, 25])
def test_good_for_red_wigglers_is_where_both_books_say(degrees: float) -> None:
    """Edwards prefers 15 to 20 C, Kaplan and others found the greatest gain from 20 to 29 C."""
    assert kind("red wigglers").temperature.state(degrees) == "good"


def test_moisture_of_the_greatest_gain_is_good() -> None:
    """70 to 85 % (Kaplan and others) is good, with both ends."""
    band = kind("red wigglers").moisture
    assert [band.state(percent) for percent in (70, 80, 85)] == ["good"] * 3
    assert [band.state(percent) for percent in (59, 65, 88, 91)] == ["dangerous", "low", "high", "dangerous"]


@pytest.mark.parametrize(
    ("name", "fahrenheit", "state"),
    [
        ("African nightcrawlers", 72, "good"),  # common practice, no published source
        ("African nightcrawlers", 75, "good"),
        ("African nightcrawlers", 62, "low"),
        ("African nightcrawlers", 48, "cold"),
        ("red wigglers", 60, "good"),
        ("red wigglers", 65, "good"),
        ("European nightcrawlers", 60, "good"),
        ("red wigglers", 52, "low"),
        ("red wigglers", 38, "cold"),
        ("red wigglers", 82, "high"),
        ("red wigglers", 95, "dangerous"),
        ("Indian blues", 77, "good"),  # best reproduction at 25 C (Edwards, Dominguez and Neuhauser)
    ],
)
def test_states_are_those_a_keeper_would_give(name: str, fahrenheit: float, state: str) -> None:
    """A warm shelf suits African nightcrawlers, a cellar of 60 to 65 F the other kinds."""
    assert kind(name).temperature.state(celsius(fahrenheit, "F")) == state


def test_states_have_words_of_their_own() -> None:
    """Dry is no cold and acid no low: each quantity is spoken of in its own words."""
    worm = kind("red wigglers")
    assert worm.temperature.words(2) == "too cold"
    assert worm.moisture.words(50) == "dangerously dry"
    assert worm.acidity.words(5.5) == "acid"
    assert [worm.temperature.position(degrees) for degrees in (2, 10, 20, 28, 40)] == [-2, -1, 0, 1, 2]


@pytest.mark.parametrize("name", NAMES)
def test_what_a_kind_eats_and_weighs_is_plausible(name: str) -> None:
    """A worm weighs 0.2 to 2 g, eats a fifth to a bit more than its mass a day, doubles in 45 to 240 days."""
    worm = kind(name)
    for figure, low, high in (
        (worm.each, 0.0002, 0.002),
        (worm.feed, 0.2, 1.2),
        (worm.doubling, 45, 240),
        (worm.stocking, 1, 20),
    ):
        assert isinstance(figure, Range)
        assert low <= figure.low <= figure.typical <= figure.high <= high, (name, figure)


def test_a_thousand_red_wigglers_weigh_about_a_pound() -> None:
    """Growers count about 1000 grown worms to the pound (weak source)."""
    each = kind("red wigglers").each
    assert each.low * 1000 < BY_SYMBOL["lb"].size < each.high * 1000


def test_a_pound_of_food_a_week_wants_a_square_foot() -> None:
    """The rule of surface: one square foot for each pound of food a week, as kg per m2 and week."""
    expected = BY_SYMBOL["lb"].size / BY_SYMBOL["sq ft"].size
    assert shipped.worms().husbandry.feed_per_surface.typical == pytest.approx(expected)


def test_husbandry_keeps_what_was_published() -> None:
    """Bins 8 to 12 inches deep (NMSU H-164), half of the solids lost to air, bedding ready from 7 days."""
    husbandry = shipped.worms().husbandry
    assert (husbandry.bedding_depth.low, husbandry.bedding_depth.high) == pytest.approx((0.2032, 0.3048))
    assert husbandry.solids_lost.typical == 0.5
    assert (husbandry.resting.low, husbandry.resting.typical) == (7, 14)
    assert husbandry.castings_yield.high <= 1
    assert 80 < husbandry.harvest_interval.low < husbandry.harvest_interval.high < 190


def test_free_chlorine_takes_more_than_a_day() -> None:
    """A couple of days is the rule; a still, deep bucket took 110 hours in one report (weak source)."""
    hours = shipped.worms().husbandry.standing_water
    assert (hours.typical, hours.high) == (48, 110)
