"""The shipped catalogue: its names, and whether its figures can be true together."""

from __future__ import annotations

from functools import cache

import pytest

from journal.commands import shipped
from journal.measures.units import BY_SYMBOL
from journal.notes.materials import STREAMS, Material, Range
from journal.notes.names import fold
from journal.notes.tree import Mapping
from tests.shipped_trees import DATA, text, tree

POUND_PER_CUBIC_YARD = BY_SYMBOL["lb"].size / BY_SYMBOL["cu yd"].size  # kg/L


@cache
def materials() -> tuple[Material, ...]:
    """All shipped materials."""
    return tuple(shipped.catalogue().materials.values())


def material(name: str) -> Material:
    """One shipped material by any of its names."""
    found = shipped.catalogue().find(name)
    assert found is not None, name
    return found


def property_of(name: str, of: str) -> Range:
    """One property of a material that has it."""
    found = getattr(material(name), of)
    assert isinstance(found, Range), (name, of)
    return found


def fields_of(name: str) -> Mapping:
    """The lines of one material in the file itself."""
    found = tree("materials.yaml").get(name)
    assert isinstance(found, Mapping), name
    return found


def test_the_catalogue_holds_what_a_household_meets() -> None:
    """At least 150 materials, in every stream, each with its own everyday names."""
    assert len(materials()) >= 150
    assert {one.stream for one in materials()} == set(STREAMS)
    assert [one.name for one in materials() if not one.also] == []


def test_no_two_materials_share_a_name() -> None:
    """Case, "the" and plurals aside, each name belongs to one material and stands once."""
    owners: dict[str, list[str]] = {}
    for one in materials():
        for name in (one.name, *one.also):
            owners.setdefault(fold(name), []).append(f"{name} ({one.name})")
    assert [names for names in owners.values() if len(names) > 1] == []


def test_everyday_words_are_known() -> None:
    """What people call the things in a caddy, a shredder or a recycling bin is found in the catalogue."""
    lines = (DATA / "everyday-words.txt").read_text(encoding="utf-8").splitlines()
    phrases = [line for line in lines if line and not line.startswith("#")]
    assert len(phrases) >= 300
    assert [phrase for phrase in phrases if shipped.catalogue().find(phrase) is None] == []


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("kitchen scraps", "vegetable scraps"),
        ("peels", "vegetable scraps"),
        ("Food Waste", "food scraps"),
        ("cardboard boxes", "corrugated cardboard"),
        ("lime", "lime"),
        ("lime rinds", "lime peels"),
        ("ground egg shells", "ground eggshell"),
        ("bricks of coir", "coir bricks"),
        ("sheets of newspaper", "sheets of newspaper"),
        ("the rain water", "water"),
        ("chips", "crackers"),
        ("wood chips", "wood chips"),
    ],
)
def test_names_lead_to_the_material_meant(words: str, name: str) -> None:
    """A name that could mean two things means the one that stands in a worm keeper's diary."""
    assert material(words).name == name


def test_carbon_lies_where_dry_organic_matter_can() -> None:
    """Carbon is 25 to 60 % of dry matter, or none that counts (shell); never what two samples would give."""
    wrong = [
        (one.name, one.carbon.typical)
        for one in materials()
        if one.carbon is not None and one.carbon.high > 0
        if not (25 <= one.carbon.low <= one.carbon.typical <= one.carbon.high <= 60)
    ]
    assert wrong == []


def test_carbon_and_nitrogen_come_in_pairs() -> None:
    """Nitrogen never stands without carbon, and carbon over nitrogen is the printed ratio."""
    for one in materials():
        assert (one.carbon is None) == (one.nitrogen is None), one.name
        printed = fields_of(one.name).get("carbon nitrogen")
        if printed is not None and one.carbon is not None and one.nitrogen is not None:
            assert isinstance(printed, Mapping)
            ratio = one.carbon.typical / one.nitrogen.typical
            figures = printed.get("range")
            assert figures is not None
            typical = float(text(figures.items[1]))  # type: ignore[union-attr]  # a list, or the line above fails
            assert ratio == pytest.approx(typical), one.name


@pytest.mark.parametrize(
    ("name", "nitrogen", "ratio"),
    [
        ("newspaper", 0.1, 560),  # Cornell, C/N ratio table; nitrogen, Humanure Handbook, Table 3.2
        ("vegetable scraps", 2.7, 19),  # vegetable produce, mixing bulletin after NRAES-54
        ("fruit scraps", 1.4, 40),  # fruit wastes, the same
        ("coffee grounds", 2.28, 20),  # the same
        ("corn cobs", 0.6, 98),  # the same
        ("apple pomace", 1.1, 48),  # the same
        ("corrugated cardboard", 0.1, 563),  # composting materials, Table 3
        ("cabbage", 3.6, 12),  # Humanure Handbook, Table 3.2, as are those below
        ("carrots", 1.6, 27),
        ("onions", 2.65, 15),
        ("grass clippings", 2.4, 19),
        ("leaves", 0.9, 54),
        ("sawdust", 0.11, 511),
        ("straw", 0.7, 80),
        ("seaweed", 1.9, 19),
    ],
)
def test_printed_pairs_are_kept(name: str, nitrogen: float, ratio: float) -> None:
    """Nitrogen and ratio of one sample stand as printed, and sawdust is not 204 % carbon."""
    assert property_of(name, "nitrogen").typical == pytest.approx(nitrogen)
    assert property_of(name, "carbon").typical == pytest.approx(nitrogen * ratio)


@pytest.mark.parametrize(
    ("name", "moisture"),
    [
        ("fruit scraps", 80),  # mixing bulletin, as are the three below
        ("vegetable scraps", 87),
        ("coffee grounds", 75),
        ("rice hulls", 14),
        ("corrugated cardboard", 8),  # composting materials, Table 3
        ("leaves", 38),
        ("cow manure", 79),
        ("grass clippings", 80),  # Cornell, Composting in the Classroom, Table 3-1
    ],
)
def test_printed_moistures_are_kept(name: str, moisture: float) -> None:
    """Moisture stands as printed, % of wet mass."""
    assert property_of(name, "moisture").typical == moisture


def test_moistures_and_nitrogen_are_shares() -> None:
    """Moisture lies from 0 to 100 % and only water is all water; nitrogen stays below blood meal's."""
    for one in materials():
        if one.moisture is not None:
            assert 0 <= one.moisture.low <= one.moisture.high <= 100, one.name
            assert one.moisture.low < 100 or one.name == "water", one.name
        if one.nitrogen is not None:
            assert one.nitrogen.high <= 14, one.name


def test_densities_are_those_of_things_in_a_bucket() -> None:
    """Nothing is lighter than 0.01 kg/L or heavier than wet sand, staples apart."""
    for one in materials():
        if one.density is not None and one.name != "staples":
            assert 0.01 <= one.density.low <= one.density.high <= 1.9, one.name


@pytest.mark.parametrize(
    ("name", "pounds_per_cubic_yard"),
    [
        ("mixed paper", 245),  # EPA, Volume-to-Weight Conversion Factors, April 2016, as are those below
        ("office paper", 323),
        ("books", 428),
        ("corrugated cardboard", 106),
        ("recyclables", 111),
        ("trash", 138),
    ],
)
def test_densities_follow_the_published_volumes(name: str, pounds_per_cubic_yard: float) -> None:
    """A published weight per cubic yard is the typical density, to the three decimals kept."""
    assert property_of(name, "density").typical == pytest.approx(
        pounds_per_cubic_yard * POUND_PER_CUBIC_YARD, abs=0.0011
    )


def test_food_in_a_bucket_spans_what_was_published() -> None:
    """Food scraps run from 396 lb a cubic yard (EPA 2016) to 7.49 lb a gallon (EPA, 1997 to 2002 set)."""
    density = property_of("food scraps", "density")
    assert density.low == pytest.approx(396 * POUND_PER_CUBIC_YARD, abs=0.0006)
    assert density.high == pytest.approx(7.49 * BY_SYMBOL["lb"].size / BY_SYMBOL["gallon"].size, abs=0.0006)


def test_shredded_paper_is_looser_than_paper() -> None:
    """Shreds weigh less by the litre than flat paper; coir less than castings; grit more than either."""
    assert property_of("shredded paper", "density").typical < property_of("paper", "density").low
    assert property_of("coir", "density").high < property_of("castings", "density").low
    assert property_of("grit", "density").low > property_of("castings", "density").high


def test_a_dozen_eggshells_grind_to_about_a_quarter_cup() -> None:
    """Twelve shells weigh what a quarter cup of ground shell does (common practice, no published source)."""
    twelve = 12 * property_of("eggshells", "each").typical
    quarter_cup = property_of("ground eggshell", "density").typical * BY_SYMBOL["cup"].size / 4
    assert twelve == pytest.approx(quarter_cup, rel=0.15)


def test_what_people_count_has_a_mass_each() -> None:
    """Shells, cores, bags, cartons, rolls, worms: a counted thing weighs something plausible, in kg."""
    plausible = {
        "eggshells": (0.005, 0.006),
        "banana peels": (0.03, 0.06),
        "apple cores": (0.02, 0.06),
        "tea bags": (0.004, 0.014),
        "coffee filters with grounds": (0.04, 0.11),
        "egg cartons": (0.03, 0.06),
        "toilet-paper rolls": (0.003, 0.007),
        "cereal boxes": (0.04, 0.11),
        "newspapers": (0.1, 0.7),
        "magazines": (0.1, 0.5),
        "envelopes": (0.003, 0.015),
        "lemons": (0.07, 0.15),
        "corn cobs": (0.05, 0.14),
        "coir bricks": (0.6, 0.7),
        "red wigglers": (0.0003, 0.0005),
        "European nightcrawlers": (0.0005, 0.002),
    }
    for name, (low, high) in plausible.items():
        assert low <= property_of(name, "each").typical <= high, name


@pytest.mark.parametrize(
    "name", ["coir", "kelp meal", "lime", "straw", "peat moss", "molasses", "grit", "worms"]
)
def test_supplies_are_never_waste(name: str) -> None:
    """What is bought for the bin is not kept out of landfill by buying it."""
    assert not material(name).waste


@pytest.mark.parametrize("name", ["castings", "screenings", "water", "drained liquid", "old bedding"])
def test_what_goes_round_inside_is_never_waste(name: str) -> None:
    """Castings, screenings, bedding, water and drained liquid are not diverted a second time."""
    assert not material(name).waste


@pytest.mark.parametrize(
    "name", ["junk mail", "peels", "coffee grounds", "eggshells", "leaves", "glass", "clothes"]
)
def test_waste_is_waste(name: str) -> None:
    """What would have been thrown out counts when it arrives."""
    assert material(name).waste


def test_shreds_draw_on_any_paper() -> None:
    """Shredded paper and board are forms of every waste paper, so paper noted twice counts once."""
    for name in ("shredded paper", "shredded cardboard", "paper", "mixed paper"):
        assert material(name).form_of == ("paper",), name


def test_one_kind_draws_on_no_other() -> None:
    """Junk mail never draws on a neighbour's newspaper, nor a peel on a neighbour's bucket."""
    for name in ("junk mail", "newspaper", "office paper", "banana peels", "carrot peels", "coffee grounds"):
        assert material(name).form_of == (), name


def test_ground_shell_draws_on_shells() -> None:
    """Shells counted at the sink and ground for the bedding later are the same shells."""
    assert set(material("ground eggshell").form_of) == {"eggshells", "crushed eggshells"}


@pytest.mark.parametrize("name", ["eggshells", "crushed eggshells", "ground eggshell"])
def test_shell_weighs_but_feeds_nothing(name: str) -> None:
    """Eggshell is food waste by weight and holds no carbon or nitrogen that counts."""
    assert material(name).stream == "food scraps"
    assert property_of(name, "carbon").high == property_of(name, "nitrogen").high == 0


def test_minerals_have_no_carbon_or_nitrogen() -> None:
    """Grit, sand, dusts and lime add mass only."""
    minerals = [one for one in materials() if one.stream == "mineral"]
    assert len(minerals) >= 8
    assert all(one.carbon is None and one.nitrogen is None for one in minerals)


def test_cautions_named_by_materials_exist() -> None:
    """A material points only to cautions that can be shown."""
    known = set(shipped.cautions())
    assert {caution for one in materials() for caution in one.cautions} <= known
