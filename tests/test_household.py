"""household.yaml: every key, its defaults, and the doubt that weighings leave."""

from __future__ import annotations

import datetime as dt
import math
import statistics

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat

from journal.commands.files import household_tree
from journal.notes import tree
from journal.notes.fields import Sheet
from journal.notes.household import Household, Sharing
from journal.notes.household_figures import weighings_mean
from journal.notes.household_reading import read_household
from journal.notes.materials import Catalogue, Material
from journal.notes.materials_reading import density_in
from journal.notes.names import fold
from journal.notes.place import Place, Problem
from tests.reader_words import catalogue, read_line

LB = 0.45359237
GALLON = 3.785411784
SQUARE_FOOT = 0.09290304

PLACE = Place("household.yaml", 1, 1)
PARTS = (
    "household bins givers plantings measures materials otherwise goals prices equivalents bedding "
    "footprint sharing"
).split()
KEYS = [
    "name", "people", "units", "worms", "surface", "started", "shown as", "otherwise", "landfill", "area",
    "weighed",
    "stream", "like", "moisture", "density", "range", "per week", "2026", "carbon nitrogen", "nitrogen",
    "form of",
]  # fmt: skip

EVERYTHING = """
household: {name: Our house, people: 3, units: metric, decimal: point, currency: eur, place: by the river,
            about: 30%, web address: "https://worms.example.org/"}
bins:
  Cellar Bin: {worms: red wigglers, surface: 4 sq ft, kept in: cellar, started: 2025-01-10, ended: 2026-02-01}
  Tub:
givers:
  Larch House: {shown as: a house on our street, households: 2, otherwise: landfill}
  Tom and Anna: {otherwise: {landfill: 70%, unknown: 30%}}
plantings:
  Quince: {kind: fruit tree, area: 3 sq m, trees: 2}
measures:
  bag of shreds: {weighed: [2.4 lb, 2.9 lb, 2.5 lb]}
  bucket: 5 gal
  tin: {holds: 2 lb 3 oz}
materials:
  spent hops: {stream: food scraps, also: [brewery hops], moisture: 75%, nitrogen: 3%, carbon: 45%,
               density: [0.3 kg/L, 0.4 kg/L, 0.5 kg/L], each: 2 g}
  leaf mould: {like: leaves, moisture: [30%, 40%, 50%]}
  coffee grounds: {moisture: 66%}
otherwise: {paper: {landfill: 60%, recycling: 40%}, food scraps: council collection}
goals: {per week: 10 lb, 2026: 500 lb}
prices: {castings: $1.20 per lb, fertiliser: 3 EUR per 2 kg, bag: 4 EUR}
equivalents: {our 32-gallon barrel: 90 lb}
bedding: {ready after: 5 days, better after: 10}
footprint: none
sharing: {givers: initials, pictures: no, entries: summary}
"""


def household_of(text: str) -> tuple[Household, Catalogue, list[Problem]]:
    """Read a household.yaml with the small catalogue of the cases."""
    node, problems = household_tree(text)
    assert not problems
    return read_household(node, catalogue())


@pytest.fixture(scope="module")
def whole() -> Household:
    """A household that says everything that can be said."""
    household, _, problems = household_of(EVERYTHING)
    assert not problems
    return household


def test_the_household_itself_is_read(whole: Household) -> None:
    """Name, people, units, decimals, currency, place and what "about" means are as written."""
    assert (whole.name, whole.people, whole.units, whole.decimal_comma) == ("Our house", 3, "metric", False)
    assert (whole.currency, whole.place, whole.about) == ("EUR", "by the river", 0.3)
    assert whole.web_address == "https://worms.example.org/"


def test_bins_givers_and_plantings_are_read(whole: Household) -> None:
    """Areas are in m², dates are dates, givers keep their place in the file."""
    cellar = whole.bins["Cellar Bin"]
    assert cellar.surface == pytest.approx(4 * SQUARE_FOOT)
    assert (cellar.worms, cellar.kept_in) == ("red wigglers", "cellar")
    assert (cellar.started, cellar.ended) == (dt.date(2025, 1, 10), dt.date(2026, 2, 1))
    assert whole.bins["Tub"].surface is None
    assert [(giver.number, giver.shown_as, giver.households) for giver in whole.givers.values()] == [
        (1, "a house on our street", 2),
        (2, None, 1),
    ]
    assert whole.shares("Tom and Anna", "paper") == {"landfill": 0.7, "unknown": 0.3}
    assert whole.shares(None, "paper") == {"landfill": 0.6, "recycling": 0.4}
    assert whole.shares("Larch House", "food scraps") == {"landfill": 1.0}
    assert whole.shares(None, "garden") == {"unknown": 1.0}
    assert (whole.plantings["Quince"].area, whole.plantings["Quince"].trees) == (3.0, 2)


def test_goals_prices_and_the_rest_are_read(whole: Household) -> None:
    """Goals and equivalents are in kg, prices for a kilogram or for a purchase, days are days."""
    assert whole.goals.per_week == pytest.approx(10 * LB)
    assert whole.goals.years == {2026: pytest.approx(500 * LB)}
    assert whole.prices["castings"].amount == pytest.approx(1.2 / LB)
    assert whole.prices["fertiliser"].amount == pytest.approx(1.5)
    assert (whole.prices["bag"].amount, whole.prices["bag"].per_kg) == (4.0, False)
    assert whole.equivalents == {"our 32-gallon barrel": pytest.approx(90 * LB)}
    assert (whole.bedding_ready_days, whole.bedding_better_days, whole.footprint) == (5, 10, False)
    assert whole.sharing == Sharing(givers="initials", pictures=False, entries="summary")


def test_a_name_is_all_that_is_needed() -> None:
    """With a name alone everything has its default, and nothing is wrong."""
    household, materials, problems = household_of("household: {name: Ours}\n")
    assert not problems
    assert household == Household(name="Ours")
    assert materials.materials.keys() == catalogue().materials.keys()


# ---- measures: GUM 4.2 and 4.3


def test_a_measure_has_its_mean_and_its_standard_error(whole: Household) -> None:
    """Three weighings give their mean and s/√n (JCGM 100:2008, 4.2.3), by the library statistics."""
    bag = whole.measures["bag of shreds"]
    weighings = [2.4 * LB, 2.9 * LB, 2.5 * LB]
    assert (bag.material, bag.kind, bag.weighings) == ("shredded paper", "mass", 3)
    assert bag.holds.value == pytest.approx(statistics.fmean(weighings))
    assert bag.holds.standard == pytest.approx(statistics.stdev(weighings) / math.sqrt(3))


def test_a_measure_read_once_has_the_doubt_of_its_reading(whole: Household) -> None:
    """One reading is known to half of its last digit, rectangular (JCGM 100:2008, 4.3.7)."""
    bucket, tin = whole.measures["bucket"], whole.measures["tin"]
    assert bucket.kind == "volume"
    assert bucket.holds.value == pytest.approx(5 * GALLON)
    assert bucket.holds.standard == pytest.approx(0.5 * GALLON / math.sqrt(3))
    assert tin.holds.value == pytest.approx((2 + 3 / 16) * LB)
    assert tin.holds.standard == pytest.approx(0.5 / 16 * LB / math.sqrt(3))


@given(st.lists(st.decimals("0.1", 50, places=2), min_size=2, max_size=8))
def test_weighings_agree_with_the_statistics_of_the_standard_library(readings: list[object]) -> None:
    """Mean and standard error are those of ``statistics``, never less than the scale's digits leave."""
    values = [float(str(reading)) for reading in readings]
    found = weighings_mean([("mass", value, 0.005) for value in values])
    error = statistics.stdev(values) / math.sqrt(len(values))
    digits = 0.005 / math.sqrt(3 * len(values))
    assert found.value == pytest.approx(statistics.fmean(values))
    assert found.standard == pytest.approx(max(error, digits))


# ---- what the doubts of an amount come to, by a library we did not write


def test_a_volume_by_density_has_the_doubt_of_a_product() -> None:
    """Cups times density: own and shared doubt together are what the library uncertainties gives."""
    (record,) = read_line("fed 2 cups coffee grounds to Tub").records
    (amount,) = record.amounts
    litres = ufloat(2 * GALLON / 16, 0.5 * GALLON / 16 / math.sqrt(3))
    density = ufloat(0.5, 0.1 / math.sqrt(3))
    product = litres * density
    assert amount.kg == pytest.approx(product.n)
    assert math.hypot(amount.own, *amount.shared.values()) == pytest.approx(product.s)


def test_a_measure_of_a_volume_shares_two_doubts() -> None:
    """Buckets of leaves share the bucket's doubt and the density's, each times the other's value."""
    (record,) = read_line("fed 2 buckets of leaves to Tub").records
    (amount,) = record.amounts
    bucket = ufloat(5 * GALLON, 0.5 * GALLON / math.sqrt(3))
    density = ufloat(0.1, 0.05 / math.sqrt(3))
    product = 2 * bucket * density
    assert amount.own == 0
    assert amount.shared.keys() == {"bucket", "density of leaves"}
    assert amount.kg == pytest.approx(product.n)
    assert math.hypot(*amount.shared.values()) == pytest.approx(product.s)


# ---- materials


def test_the_households_materials_join_the_catalogue() -> None:
    """A new material is found by all names, "like" copies what is not said, an override keeps the rest."""
    _, materials, problems = household_of(EVERYTHING)
    assert not problems
    hops = materials.find("Brewery Hops")
    mould, leaves = materials.materials["leaf mould"], materials.materials["leaves"]
    coffee = materials.materials["coffee grounds"]
    assert hops is not None
    assert (hops.name, hops.stream, hops.waste) == ("spent hops", "food scraps", True)
    assert hops.each is not None
    assert hops.each.typical == pytest.approx(0.002)
    assert (mould.density, mould.stream, mould.also) == (leaves.density, "garden", ())
    assert mould.moisture is not None
    assert (mould.moisture.low, mould.moisture.typical, mould.moisture.high) == (30, 40, 50)
    assert coffee.moisture is not None
    assert (coffee.moisture.typical, coffee.moisture.source) == (66, "household.yaml")
    assert coffee.density == catalogue().materials["coffee grounds"].density
    assert materials.find("grounds") == coffee


def test_a_form_of_a_stream_is_a_form_of_all_its_waste() -> None:
    """Shredded paper is a form of every waste paper, the household's own among them, and not of itself."""
    _, materials, _ = household_of("household: {name: A}\nmaterials:\n  old maps: {stream: paper}\n")
    forms = materials.materials["shredded paper"].form_of
    assert {"newspaper", "junk mail", "old maps"} <= set(forms)
    assert "shredded paper" not in forms


def test_a_form_of_a_stream_follows_what_the_household_says_of_the_stream() -> None:
    """Newspaper that is the household's "other" waste is no paper to shred any more."""
    _, materials, problems = household_of(
        "household: {name: A}\nmaterials:\n  newspaper: {stream: other, like: newspaper}\n"
    )
    assert not problems
    assert "newspaper" not in materials.materials["shredded paper"].form_of


NAMED = st.builds(
    lambda name, also: Material(name, "other", waste=True, also=tuple(also)),
    st.sampled_from(["husk", "Husks", "shell", "pods", "pod", "rind"]),
    st.lists(st.sampled_from(["husk", "the husk", "Shells", "pod", "rinds", "peel", "Peels"]), max_size=3),
)


@given(st.lists(NAMED, max_size=6), st.lists(NAMED, max_size=6))
def test_a_name_leads_to_whose_own_it_is_else_to_the_last_that_has_it_too(
    first: list[Material], more: list[Material]
) -> None:
    """Whether a catalogue is made at once or added to; a later material replaces one of its very name."""
    found = Catalogue.of(first).with_more(more)
    materials = {material.name: material for material in (*first, *more)}
    leads = {fold(other): (each.name, other) for each in materials.values() for other in each.also}
    leads |= {fold(name): (name, name) for name in materials}
    assert found.materials == materials
    assert {key: (found.by_fold[key], found.written[key]) for key in found.by_fold} == leads


def test_worms_named_by_a_bin_can_be_bought_and_moved() -> None:
    """The kind of worm that a bin names is a material like worms."""
    _, materials, _ = household_of("household: {name: A}\nbins:\n  Tub: {worms: Malaysian blues}\n")
    kind = materials.find("malaysian blue")
    assert isinstance(kind, Material)
    assert kind.each == materials.materials["worms"].each


def test_carbon_comes_from_paired_figures() -> None:
    """C = N × C:N of paired typical values: 2.7 % N at 19 is 51.3 % carbon, low going with high."""
    text = (
        "household: {name: A}\nmaterials:\n  greens: {stream: food scraps, "
        "nitrogen: [2%, 2.7%, 3%], carbon nitrogen: [15, 19, 24]}\n"
    )
    _, materials, problems = household_of(text)
    carbon = materials.materials["greens"].carbon
    assert not problems
    assert carbon is not None
    assert (carbon.low, carbon.typical, carbon.high) == pytest.approx((45, 51.3, 51.3))


@pytest.mark.parametrize(
    "text", ["0.4 kg/L", "400 g/L", "0.4 kg per L", "400 kg/m3", "4 kg/10 L", "674.2219 lb/cu yd"]
)
def test_a_density_is_read_in_any_units(text: str) -> None:
    """A density is a mass in a volume in any units (674.2219 lb/yd³ is 400 kg/m³ by NIST Handbook 44)."""
    assert density_in(Sheet(), text) == pytest.approx(0.4, rel=1e-6)


DOCUMENTS = st.recursive(
    st.text(max_size=12) | st.sampled_from(["2 lb", "75%", "landfill", "leaves", "2026-01-01", "$3 per lb"]),
    lambda inner: (
        st.dictionaries(st.text(max_size=12) | st.sampled_from(KEYS), inner, max_size=4)
        | st.lists(inner, max_size=4)
    ),
    max_leaves=25,
)


@given(st.dictionaries(st.sampled_from(PARTS), DOCUMENTS))
@settings(max_examples=300)
def test_no_household_makes_the_reader_fail(document: dict[str, object]) -> None:
    """Whatever keys and values stand there, the answer is a household, a catalogue and located problems."""
    node = as_tree(document)
    assert isinstance(node, tree.Mapping)
    household, materials, problems = read_household(node, catalogue())
    assert isinstance(household, Household)
    assert materials.materials.keys() >= catalogue().materials.keys()
    assert all(problem.place == PLACE and problem.sentence and problem.advice for problem in problems)


def as_tree(document: object) -> tree.Node:
    """A document of dictionaries, lists and words as a tree, all of it at one place."""
    if isinstance(document, dict):
        pairs = tuple((tree.Scalar(str(key), PLACE), as_tree(value)) for key, value in document.items())
        return tree.Mapping(pairs, PLACE)
    if isinstance(document, list):
        return tree.Sequence(tuple(as_tree(value) for value in document), PLACE)
    return tree.Scalar(str(document), PLACE)
