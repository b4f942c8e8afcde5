"""Every figure of the site can be followed to its lines, and adds up to what the terminal says."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from bs4 import Tag

from journal.measures.doubt import Sum
from journal.notes.household import Household
from journal.site.wording import Writer, significant
from tests.conftest import Program
from tests.journals import HOUSEHOLD, lay_out
from tests.sites import pages, published, soup, words

ENTRIES = """\
## 2026-01-02

- took in 4 lb newspaper from Elm House
- took in 1 lb 6 oz newspaper from Nora Quist
- fed 2 lb banana peels to Lower Bin

## 2026-01-20

- fed about 1 lb banana peels and 5 oz coffee grounds to Lower Bin

## 2026-03-03

- took in 2 cups coffee grounds from Elm House
- threw out 0.25 lb newspaper out of newspaper
"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """A small site."""
    return published(tmp_path_factory.mktemp("site"), ENTRIES)


def cell_of(site: dict[str, bytes], page: str, identity: str) -> Tag:
    """The row of a table with this id."""
    found = soup(site, page).find(id=identity)
    assert isinstance(found, Tag), f"{page}#{identity}"
    return found


def test_the_book_begins_with_its_earliest_line(tmp_path: Path) -> None:
    """A line of November written down in January begins the book, its year's sheet, and the days covered."""
    late = ENTRIES + "- fed 3 lb banana peels to Lower Bin, on 2025-11-20\n"
    pages_made = published(tmp_path, late)
    assert "begun 20 November 2025" in words(pages_made, "index.html")
    assert "of the 104 days from 20 November 2025 to 3 March 2026" in words(pages_made, "index.html")
    assert "20 November 2025 to 31 December 2025" in words(pages_made, "sheet-2025.html")


def test_trash_that_is_only_guessed_at_gives_no_percentage(tmp_path: Path) -> None:
    """Where the trash is estimated, the site says that it is not weighed."""
    guessed = published(tmp_path, ENTRIES + "- threw out about 2 lb trash\n")
    assert "What went to landfill is not weighed, so no percentage is given" in words(guessed, "index.html")


def test_the_headline_leads_down_to_the_lines(site: dict[str, bytes]) -> None:
    """Since the start → the year → the month and stream → each line, with a link at every step."""
    home = soup(site, "index.html")
    first = home.select_one(".account .figure")
    assert first is not None
    assert first["href"] == "year-2026.html#kept"
    sheet = soup(site, "year-2026.html").select_one('a[href="2026-01.html#kept-food-scraps"]')
    assert sheet is not None
    anchor = cell_of(site, "2026-01.html", "kept-food-scraps")
    row = anchor.find_parent("tr")
    assert row is not None
    lines = [str(link["href"]) for link in row.select(".lines-behind a")]
    texts = [soup(site, "2026-01.html").select_one(line) for line in lines]
    assert [text.get_text(" ").split()[0] for text in texts if text] == ["fed", "fed"]


def test_every_line_of_the_journal_has_an_anchor(site: dict[str, bytes]) -> None:
    """Each record line stands once on its month's page, with an id of its own."""
    months = [name for name in pages(site) if re.match(r"\d{4}-\d{2}\.html", name)]
    lines = [tag for name in months for tag in soup(site, name).select("ul.lines > li[id]")]
    assert len(lines) == 6


def test_a_line_stands_in_both_systems_of_units(site: dict[str, bytes]) -> None:
    """A weight in pounds has its kilograms beside it; an estimate has both, its doubt, and a sign."""
    january = words(site, "2026-01.html")
    assert "took in 4 lb newspaper from a house nearby 1.81 kg" in january
    assert re.search(r"≈ 1\.\d+ ± 0\.\d+ lb \(\d+ ± \d+ g\)", january)


def test_a_line_tells_from_where_to_where_it_went(site: dict[str, bytes]) -> None:
    """Every movement shows the account it came from and the account it went to."""
    january = words(site, "2026-01.html")
    assert "a house nearby → newspaper on hand" in january
    assert "our own kitchen and post → Lower Bin" in january


def test_a_giver_is_told_line_by_line(site: dict[str, bytes]) -> None:
    """From a giver's page to the year, to the month's row of that giver, to the lines."""
    giver = soup(site, "givers.html").select_one('a[href^="year-2026.html#giver-"]')
    assert giver is not None
    identity = str(giver["href"]).partition("#")[2]
    section = soup(site, "year-2026.html").find(id=identity)
    assert isinstance(section, Tag)
    link = section.select_one('a[href*="#in-paper-"], a[href*="#in-food-scraps-"]')
    assert link is not None
    page, _, anchor = str(link["href"]).partition("#")
    assert cell_of(site, page, anchor).select(".lines-behind a")


def test_the_site_says_what_the_terminal_says(tmp_path: Path, program: Program) -> None:
    """Home's headline and each month's total are those of tally, to the last digit shown."""
    site = published(tmp_path, ENTRIES)
    done = program("tally", "--json", "--journal", lay_out(tmp_path, ENTRIES))
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    write = Writer(Household())

    def shown(figure: dict[str, float]) -> str:
        total = Sum()
        total.add(figure["value"], figure["doubt"] / 2, {})
        return " ".join(write.in_words(total).split()).removesuffix(" lb")

    kept = told["years"]["2026"]["kept_out_of_landfill_kg"]
    assert shown(kept) in words(site, "index.html")
    for month, figures in told["months"].items():
        assert shown(figures["kept_out_of_landfill_kg"]) in words(site, "year-2026.html"), month


def test_what_a_reader_is_owed_stands_on_the_first_page(site: dict[str, bytes]) -> None:
    """Logged not generated, not verified, days with entries, how it was measured, gaps."""
    home = words(site, "index.html")
    for owed in (
        "Kept by the household, not verified by others",
        "what was logged, not all that was generated",
        "3 of the 61 days from 2 January 2026 to 3 March 2026 have an entry",
        "February 2026 has none",
        "weighed",
        "estimated",
    ):
        assert owed in home, owed


def test_without_weighed_trash_no_percentage_is_given(site: dict[str, bytes]) -> None:
    """Where the household's own trash is not recorded, the site says so instead of giving a rate."""
    assert "What went to landfill is not recorded, so no percentage is given" in words(site, "index.html")


def test_avoided_emissions_stand_after_the_weights_and_can_be_turned_off(tmp_path: Path) -> None:
    """The block stands on the reckoning page and the sheet only, and nowhere with ``footprint: none``."""
    with_block = published(tmp_path / "with", ENTRIES)
    assert "CO₂e" in words(with_block, "reckoning.html")
    assert "CO₂e" not in words(with_block, "index.html")
    without = published(tmp_path / "without", ENTRIES, HOUSEHOLD + "footprint: none\n")
    assert all("CO₂e" not in words(without, name) for name in pages(without))


def test_factors_name_their_source_and_how_it_was_checked(site: dict[str, bytes]) -> None:
    """The density behind a cup of coffee grounds stands on the reckoning page with its work, led to below."""
    page = soup(site, "reckoning.html")
    rows = [row for row in page.select("#materials tr") if "coffee grounds" in row.get_text()]
    density = next(row for row in rows if "density" in row.get_text())
    source = density.select_one('a[href^="#source-"]')
    assert source is not None
    assert page.find(id=str(source["href"])[1:]) is not None


@pytest.mark.parametrize(
    ("value", "digits", "written"),
    [(0.0, 3, "0"), (1234.5, 2, "1,200"), (0.04567, 2, "0.046"), (7.0, 3, "7.00"), (99.96, 3, "100")],
)
def test_numbers_are_rounded_to_significant_digits(value: float, digits: int, written: str) -> None:
    """Significant digits as any handbook of laboratory practice counts them (common practice)."""
    assert significant(value, digits) == written


def test_a_metric_household_reads_kilograms_first(tmp_path: Path) -> None:
    """Units and decimal mark are the household's, with the other system in small beside."""
    household = (
        "household: {name: Metrisch, units: metric, decimal: comma}\nbins: {Kiste: {worms: red wigglers}}\n"
    )
    site = published(tmp_path, "## 2026-05-01\n\n- fed 2,5 kg banana peels to Kiste\n", household)
    figure = soup(site, "index.html").select_one(".account .amount")
    assert figure is not None
    assert re.match(r"2,\d+ ± 0,\d+ kg \d,\d+ ± \d,\d+ lb", " ".join(figure.get_text(" ").split()))


def test_surface_load_and_what_castings_would_cost_are_told(tmp_path: Path) -> None:
    """A bin with a surface says what it gets by area; a price for castings is set beside what was spread."""
    household = HOUSEHOLD.replace("{worms: red wigglers}", "{worms: red wigglers, surface: 4 sq ft}", 1)
    entries = (
        "## 2026-03-01\n- bedded Lower Bin with 5 lb newspaper\n"
        "## 2026-03-20\n- fed 16 lb banana peels to Lower Bin\n"
        "## 2026-03-28\n- harvested 10 lb castings from Lower Bin\n- spread 10 lb castings on Plum\n"
    )
    site = published(tmp_path, entries, household + "prices: {castings: $2 per lb}\n")
    # 16 lb in four weeks over 4 sq ft is 1 lb a week on each: the rule of thumb itself.
    assert re.search(
        r"Feed a week for its surface 1\.\d* .*lb/sq ft; within the rule of thumb",
        words(site, "bin-lower-bin.html"),
    )
    assert "what was spread would have cost USD 19 to 21" in words(site, "garden.html")
