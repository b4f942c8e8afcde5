"""Emission factors, potentials and the composting defaults against what was published.

Rows: US Environmental Protection Agency, Emission Factors for Greenhouse Gas Inventories, Table 9.  The
editions of 2021 and 2024 were copied from the official workbooks, those of 2020 and 2026 from
second-hand copies, into data/reference/factors.csv, as printed.
"""

from __future__ import annotations

import csv
from functools import cache

import pytest

from journal.notes.materials import STREAMS, Material
from journal.reckoning.references import Factors, RowUse
from journal.reckoning.references_reading import read_factors
from tests.shipped_trees import DATA, tree

KILOGRAMS_PER_SHORT_TON = 2000 * 0.45359237  # NIST Handbook 44, Appendix C


@cache
def factors() -> Factors:
    """The shipped factors."""
    return read_factors(tree("factors.yaml"))


@cache
def copied() -> tuple[dict[str, str], ...]:
    """The rows of Table 9 as copied."""
    with (DATA / "factors.csv").open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


@pytest.mark.parametrize("edition", ["2020", "2021", "2024", "2026"])
def test_every_row_stands_as_printed(edition: str) -> None:
    """Each factor of an edition is there, to the printed digit, NA kept, and no row is ours."""
    printed = {
        (row["row"], row["fate"]): row["t CO2e per short ton"]
        for row in copied()
        if row["edition"] == edition
    }
    table = factors().tables[edition]
    shipped = {(row, fate): cell for row, cells in table.printed.items() for fate, cell in cells.items()}
    assert shipped == printed
    assert len(printed) >= 60


@pytest.mark.parametrize(
    ("edition", "row", "landfilled"),
    [
        ("2024", "Fruits and vegetables", 0.28),
        ("2024", "Food waste (all)", 0.68),
        ("2024", "Bread", 1.49),
        ("2024", "Grains", 2.06),
        ("2021", "Fruits and vegetables", 0.58),
        ("2021", "Mixed paper (primarily residential)", 0.77),
        ("2024", "Mixed paper (primarily residential)", 0.86),
    ],
)
def test_factors_are_converted_from_short_tons(edition: str, row: str, landfilled: float) -> None:
    """A printed t CO2e per short ton becomes kg CO2e per kg by the exact short ton."""
    found = factors().tables[edition].per_kilogram(row, "landfilled")
    assert found == pytest.approx(landfilled * 1000 / KILOGRAMS_PER_SHORT_TON, rel=1e-12)
    assert found == pytest.approx(landfilled * 1.10231131, rel=1e-8)  # the factor as printed in copies


@pytest.mark.parametrize(("edition", "difference"), [("2020", 0.61), ("2021", 0.43), ("2024", 0.57)])
def test_editions_disagree_on_food(edition: str, difference: float) -> None:
    """Food landfilled less food composted is 0.61, 0.43 or 0.57 t per short ton, by the edition."""
    row = factors().tables[edition].printed["Food waste (all)"]
    assert float(row["landfilled"]) - float(row["composted"]) == pytest.approx(difference, abs=1e-9)


@pytest.mark.parametrize("edition", ["2020", "2021", "2024", "2026"])
def test_no_edition_has_a_factor_for_composted_paper(edition: str) -> None:
    """Composted paper is NA in every edition, so it must come out as unknown, never as zero."""
    table = factors().tables[edition]
    papers = [row for row in table.printed if "paper" in row.lower() or row.startswith(("Corr", "Mag"))]
    assert len(papers) >= 7
    assert {table.per_kilogram(row, "composted") for row in papers} == {None}


def test_an_edition_without_a_row_says_which_serves_instead() -> None:
    """The edition of 2020 as read has no row for fruits and vegetables; food without meat serves."""
    table = factors().tables["2020"]
    assert "Fruits and vegetables" not in table.printed
    assert table.row_here("Fruits and vegetables") == "Food waste (non-meat)"
    assert table.per_kilogram("Fruits and vegetables", "landfilled") == pytest.approx(0.68 * 1.10231131)


def test_the_composting_defaults_give_the_known_range() -> None:
    """Wet waste emits 0.174 (0.017 to 0.380) kg CO2e per kg with the potentials of the sixth IPCC report.

    2006 IPCC Guidelines, volume 5, chapter 4, Table 4.1: methane 0.03, 4 and 8, nitrous oxide 0.06, 0.24 and
    0.6 g per kg of wet waste; potentials 27 and 273.
    """
    low = 0.00003 * 27 + 0.00006 * 273
    typical = 0.004 * 27 + 0.00024 * 273
    high = 0.008 * 27 + 0.0006 * 273
    found = factors().bin_emissions()
    assert (found.low, found.typical, found.high) == pytest.approx((low, typical, high), rel=1e-12)
    assert [round(value, 3) for value in (found.low, found.typical, found.high)] == [0.017, 0.174, 0.380]


def test_wet_defaults_agree_with_dry_ones_at_sixty_per_cent() -> None:
    """The same table gives 10 and 0.6 g per kg of dry waste; 60 % moisture links the two bases."""
    home_bin = factors().home_bin
    assert home_bin.methane.typical == pytest.approx(0.010 * (1 - 0.60))
    assert home_bin.nitrous_oxide.typical == pytest.approx(0.0006 * (1 - 0.60))


@pytest.mark.parametrize(
    ("name", "methane", "nitrous_oxide"), [("AR4", 25, 298), ("AR5", 28, 265), ("AR6", 27, 273)]
)
def test_potentials_are_those_of_the_reports(name: str, methane: float, nitrous_oxide: float) -> None:
    """100-year potentials: fourth report 25 and 298, fifth 28 and 265, sixth 27 (not fossil) and 273."""
    found = factors().potentials[name]
    assert (found.methane, found.nitrous_oxide) == (methane, nitrous_oxide)
    assert {table.potentials for table in factors().tables.values()} == {"AR4"}


def names_in_the_catalogue() -> set[str]:
    """The names of all shipped materials."""
    return {key.text for key, _ in tree("materials.yaml").pairs}


def test_uses_name_materials_streams_and_rows_that_exist() -> None:
    """No line of factors.yaml speaks of a material or a row that is not there, in any edition."""
    known = names_in_the_catalogue() | set(STREAMS)
    wrong = [use.of for use in factors().uses.values() if use.of not in known]
    assert not wrong
    for use in factors().uses.values():
        rows = (use.low, use.row, use.high) if use.counts else ()
        for table in factors().tables.values():
            values = [table.per_kilogram(row, "landfilled") for row in rows]
            assert None not in values, (use.of, table.edition)
            assert values == sorted(values, key=lambda value: value or 0.0), (use.of, table.edition)


def test_every_stream_has_a_row_or_says_why_none() -> None:
    """A material of any stream, shipped or the keeper's own, finds its use."""
    for stream in STREAMS:
        use = factors().use_of(Material("something of the keeper's", stream, waste=True))
        assert use is not None, stream
        assert use.why, stream


def test_stand_ins_are_labelled() -> None:
    """Coffee, tea and unsorted scraps go by a row that is not theirs, and say so; shells count nothing."""
    uses = factors().uses
    for name in ("coffee grounds", "tea leaves", "food scraps", "shredded paper", "paperboard"):
        assert uses[name].stand_in, name
    assert (uses["coffee grounds"].row, uses["coffee grounds"].high) == (
        "Fruits and vegetables",
        "Food waste (all)",
    )
    for name in ("eggshells", "ground eggshell", "mineral", "supplies"):
        assert not uses[name].counts, name
    assert uses["bread"] == RowUse(
        "bread", "Bread", "Fruits and vegetables", "Bread", stand_in=False, why=uses["bread"].why
    )


def test_paper_in_the_bin_goes_by_mixed_organics() -> None:
    """Paper's composting is a stand-in, mixed organics: 0.13 t per short ton in 2024."""
    papers = [use for use in factors().uses.values() if use.counts and use.home_bin != "IPCC"]
    assert {use.home_bin for use in papers} == {"Mixed organics"}
    found = factors().tables["2024"].per_kilogram("Mixed organics", "composted")
    assert found == pytest.approx(0.13 * 1.10231131)


def test_no_difference_of_rows_is_absurd() -> None:
    """A kilogram kept out of landfill avoids at most 2 kg CO2e in the newest edition, whatever it is."""
    table = factors().tables[factors().newest]
    bin_low = factors().bin_emissions().low
    for use in factors().uses.values():
        if use.counts:
            landfilled = table.per_kilogram(use.row, "landfilled")
            assert landfilled is not None
            assert 0 < landfilled - bin_low < factors().absurd_above + 0.5, use.of


def test_the_newest_edition_was_read_in_the_official_workbook() -> None:
    """What is used unasked is the newest edition that was read at its source."""
    official = [
        edition
        for edition, table in factors().tables.items()
        if table.checked == "seen in the official workbook"
    ]
    assert factors().newest == max(official) == "2024"


def test_the_words_under_a_figure_are_there() -> None:
    """The comparison, what is left out, potentials, paper's stand-in, the bin and the edition are said."""
    words = factors().words
    assert {"comparison", "leaves out", "potentials", "paper", "bin", "edition", "recycled"} <= words.keys()
    assert all(text.endswith(".") for text in words.values())
