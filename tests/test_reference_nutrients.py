"""Nutrients, comparisons and cautions: what is printed, what is computed, and what must be said.

Atomic masses: IUPAC standard atomic weights of oxygen (1995), phosphorus and potassium, from memory.
"""

from __future__ import annotations

import pytest

from journal.commands import shipped
from journal.measures.units import BY_SYMBOL
from journal.notes.materials import STREAMS
from journal.reckoning.references import Caution

OXYGEN, PHOSPHORUS, POTASSIUM = 15.9994, 30.973762, 39.0983


def test_oxides_follow_from_atomic_masses() -> None:
    """P2O5 is 2.2914 times its P, K2O 1.2046 times its K, as the masses of the atoms have it."""
    oxides = shipped.nutrients().oxides
    assert oxides["P2O5"].factor == pytest.approx((2 * PHOSPHORUS + 5 * OXYGEN) / (2 * PHOSPHORUS), abs=5e-5)
    assert oxides["K2O"].factor == pytest.approx((2 * POTASSIUM + OXYGEN) / (2 * POTASSIUM), abs=5e-5)
    assert (oxides["P2O5"].element, oxides["K2O"].element) == ("P", "K")


def test_nutrients_of_castings_are_ranges() -> None:
    """No one figure is valid for castings: each nutrient is a range, all of it below 5 % of dry mass."""
    contents = shipped.nutrients().contents
    assert set(contents) == {"castings", "finished compost"}
    for material, nutrients in contents.items():
        assert set(nutrients) == {"N", "P2O5", "K2O"}, material
        for nutrient in nutrients.values():
            assert 0 < nutrient.content.low < nutrient.content.typical < nutrient.content.high < 5


def test_ranges_hold_every_published_analysis() -> None:
    """Each dry analysis of castings lies inside the range, its P and K turned into oxides."""
    nutrients = shipped.nutrients()
    checked = 0
    for analysis in nutrients.analyses:
        if analysis.basis.startswith("dry"):
            for name, content in analysis.contents.items():
                oxide = {"P": "P2O5", "K": "K2O"}.get(name, name)
                factor = nutrients.oxides[oxide].factor if oxide != name else 1.0
                figure = nutrients.contents[analysis.of][oxide].content
                assert figure.low <= content * factor <= figure.high * 1.02, (analysis.of, name)
                checked += 1
    assert checked >= 9


@pytest.mark.parametrize(
    ("element", "percent", "oxide", "printed"),
    [
        ("P", 0.47, "P2O5", 1.08),
        ("K", 0.70, "K2O", 0.84),
        ("P", 1.287, "P2O5", 2.95),
        ("K", 2.208, "K2O", 2.66),
    ],
)
def test_analyses_turn_into_oxides(element: str, percent: float, oxide: str, printed: float) -> None:
    """NMSU H-164, Table 1, and Kauser and Khwairakpam (2022), each to the printed digit."""
    found = shipped.nutrients().oxides[oxide]
    assert found.element == element
    assert percent * found.factor == pytest.approx(printed, abs=0.005)


def test_first_year_nitrogen_is_a_share() -> None:
    """Of the total nitrogen, a tenth to a third comes to plants in the first year (from memory)."""
    share = shipped.nutrients().first_year
    assert 0 < share.low < share.typical < share.high < 1
    assert share.checked == "from memory"


@pytest.mark.parametrize(
    ("key", "pounds", "year"),
    [("generated 2018", 4.9, "2018"), ("generated 2015", 4.48, "2015"), ("landfilled 2018", 2.45, "2018")],
)
def test_comparisons_stand_as_published(key: str, pounds: float, year: str) -> None:
    """US EPA: 4.9 lb per person and day in 2018, half of it landfilled; 4.48 lb in 2015."""
    found = shipped.comparisons()[key]
    assert found.kilograms == pytest.approx(pounds * BY_SYMBOL["lb"].size)
    assert found.year == year
    assert found.scope.startswith("United States")


def test_no_comparison_without_a_primary_source() -> None:
    """The 41 pounds of junk mail have no source, so no comparison speaks of junk mail."""
    assert not [one for one in shipped.comparisons().values() if "mail" in one.what]


def caution_of(key: str) -> Caution:
    """One caution."""
    return shipped.cautions()[key]


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("paper dust", "dust"),
        ("mineral dust", "silica"),
        ("mould", "Legionella"),
        ("hands", "soap"),
        ("raw crops", "raw"),
        ("no meat", "rats"),
        ("pet waste", "litter"),
        ("coated paper", "thermal"),
        ("tap water", "chloramine"),
        ("lifting", "40 lb"),
        ("release", "woods"),
        ("taking in", "rules"),
        ("selling", "fertiliser"),
    ],
)
def test_the_usual_cautions_are_there(key: str, words: str) -> None:
    """Dust, mould, hands, raw crops, meat, coated paper, water, lifting, release and law are spoken of."""
    assert words in caution_of(key).text


def test_law_and_medicine_come_first() -> None:
    """Where others know better (law, doctors, suppliers), a caution says so."""
    for key in ("taking in", "selling", "release", "mould", "tap water", "raw manure"):
        assert caution_of(key).defers.endswith("."), key


def test_cautions_point_at_things_that_exist() -> None:
    """Materials, streams and verbs of a caution are known, or it would never be shown."""
    from journal.notes.verbs import VERBS

    verbs = {verb if isinstance(verb, str) else getattr(verb, "name", "") for verb in VERBS}
    pages = {"index", "bins", "bedding", "garden", "givers", "reckoning"}
    for key, caution in shipped.cautions().items():
        unknown = [name for name in caution.materials if shipped.catalogue().find(name) is None]
        assert not unknown, (key, unknown)
        assert set(caution.streams) <= set(STREAMS), key
        assert set(caution.verbs) <= verbs, (key, set(caution.verbs) - verbs)
        assert set(caution.pages) <= pages, key
        assert caution.materials or caution.streams or caution.verbs, key


def test_a_full_bucket_weighs_about_forty_pounds() -> None:
    """Five US gallons of water weigh 41.7 lb, so the caution's 40 lb is no exaggeration."""
    assert 5 * BY_SYMBOL["gallon"].size / BY_SYMBOL["lb"].size == pytest.approx(41.7, abs=0.05)


def test_a_caution_is_shown_where_it_applies() -> None:
    """Shredding brings the dust caution, a journal of peels alone does not."""
    dust = caution_of("paper dust")
    none: frozenset[str] = frozenset()
    assert dust.applies(materials=none, streams=none, verbs=frozenset({"shredded"}))
    assert not dust.applies(materials=frozenset({"peels"}), streams=frozenset({"food scraps"}), verbs=none)
