"""Who adds a table of the site up by hand comes to its foot, and to what the terminal says."""

from __future__ import annotations

import datetime as dt
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from journal.commands.shipped import references
from journal.reckoning.diversion import Figure
from journal.site.edition import Edition
from journal.site.views import hands
from journal.site.views.bins import BinPages
from journal.site.views.givers import GiversPage
from journal.site.views.home import HomePage
from journal.site.views.months import SHOWN, WASTE, MonthPages
from journal.site.views.years import YearPages
from journal.site.wording import View
from tests.journals import HOUSEHOLD, tally_of
from tests.sites import published, soup, words
from tests.text_journals import HOUSEHOLD as LONG_HOUSEHOLD
from tests.text_journals import Day, days

FURTHER = (
    "moved 1 lb worms from Lower Bin to Upper Bin",
    "added 0.5 lb worms from Upper Bin to Lower Bin",
    "returned 8 oz screenings to Lower Bin",
    "returned 1 lb castings to Upper Bin",
    "threw out 2 lb castings",
    "threw out 1 lb castings out of castings",
    "threw out 3 lb newspaper out of junk mail",
    "threw out 1 lb bread out of Lower Bin",
    "threw out 1 L drained liquid out of Lower Bin",
    "threw out 4 lb trash",
    "spread 2 lb castings on Plum",
    "spread 1 lb castings on Long Bed",
    "picked 3 lb plums from Plum",
    "donated 1 lb books",
)
"""Lines that the tables must hold their own against: what moves on, comes back, or is thrown out again."""


def near(kg: float) -> object:
    """A sum of kg as exactly as floating numbers add up in another order."""
    return pytest.approx(kg, rel=1e-9, abs=1e-9)


class Exact(Edition):
    """An edition whose figures bear what they hold, not rounded, in kg."""

    def figure(self, figure: Figure, href: str = "", *, both: bool = True) -> View:
        """Give a figure for the page, and its kg."""
        return {**super().figure(figure, href, both=both), "kg": figure.value}


@st.composite
def journals(draw: st.DrawFn) -> list[Day]:
    """Draw a journal in which much moves on, comes back or is thrown out again."""
    further = draw(st.lists(st.sampled_from(FURTHER), max_size=6))
    ends = draw(st.lists(st.integers(0, 500), min_size=len(further), max_size=len(further)))
    first = dt.date(2023, 12, 20)
    more = [
        Day(first + dt.timedelta(days=day), private=False, prose="", lines=(line,))
        for day, line in zip(ends, further, strict=True)
    ]
    return [*draw(days(private=False)), *more]


def edition_of(written: Sequence[Day]) -> Exact:
    """The edition of a journal."""
    household = LONG_HOUSEHOLD + "materials: {plums: {stream: other, waste: no}}\n"
    with tempfile.TemporaryDirectory() as folder:
        tally = tally_of(Path(folder), "".join(day.text() for day in written), household)
    return Exact(tally, references())


def column(rows: Iterable[View], number: int) -> float:
    """Add a column of figures up, in kg; of nothing told it is nothing."""
    cells = (one["cells"][number] for one in rows)
    return sum(float(cell["kg"]) for cell in cells if isinstance(cell, dict) and "kg" in cell)


def adds_up(table: View | None, *wholes: float, first: int = 1) -> None:
    """Hold each column of a table against a whole, and against the table's own foot."""
    rows = [] if table is None else table["rows"]
    for number, whole in enumerate(wholes, start=first):
        caption = "" if table is None else table["caption"]
        assert column(rows, number) == near(whole), (caption, number)
        if table is not None and table["foot"] is not None:
            assert column([table["foot"]], number) == near(whole), (caption, number, "foot")


EXAMPLES = settings(max_examples=60, deadline=None)


@EXAMPLES
@given(journals(), st.sampled_from([2, 8]))
def test_the_tables_of_a_year_add_up_to_the_year(written: list[Day], most: int) -> None:
    """Months, givers, bins and plantings, however few rows there is room for, and all they rest on."""
    edition = edition_of(written)
    pages = YearPages(edition)
    with pytest.MonkeyPatch.context() as patch:
        for name in ("MOST_GIVERS", "MOST_BINS", "MOST_PLANTINGS"):
            patch.setattr(hands, name, most)
        for year in edition.years:
            figures, sheet = edition.tally.diversion.of_year(year), pages.sheet(year)
            taken, kept = figures.taken_in.value, figures.kept_out_of_landfill.value
            adds_up(sheet["givers"], taken, kept)
            bins = edition.tally.bins_of({year}).values()
            into = [sum(getattr(one, name).value for one in bins) for name in ("fed", "bedded")]
            adds_up(sheet["bins"], *into, figures.castings_harvested.value)
            adds_up(sheet["garden"], figures.castings_spread.value)
            months = sheet["months"]
            adds_up(months, kept, first=len(months["head"]) - 1)
            assert sum(column(months["rows"], at) for at in range(1, len(months["head"]) - 1)) == (near(kept))
            assert all(sheet[name] is None or len(sheet[name]["rows"]) <= most for name in ("givers", "bins"))
            behind = {part["title"]: part["tables"][0] for part in pages.behind(year)}
            for name, words_ in SHOWN.items():
                adds_up(behind.get(words_.capitalize()), getattr(figures, name).value)
            told = [table for title, table in behind.items() if title.startswith("From ")]
            for number, whole in ((2, taken), (3, kept)):
                assert sum(column(one["rows"], number) for one in told) == near(whole)


@EXAMPLES
@given(journals())
def test_the_tables_of_givers_add_up_to_what_tally_says_by_giver(written: list[Day]) -> None:
    """All hands together, and each giver's years and streams."""
    edition = edition_of(written)
    page, whole = GiversPage(edition), edition.tally.since_start
    adds_up(page.whole(), *(getattr(whole, name).value for name in WASTE[:3]))
    told = {giver["name"]: giver["years"] for giver in page.givers()}
    for name, figures in edition.tally.givers.items():
        adds_up(told[name], figures.taken_in.value, figures.kept_out_of_landfill.value, first=2)


@EXAMPLES
@given(journals())
def test_a_months_streams_add_up_to_the_month_and_the_years_to_the_start(written: list[Day]) -> None:
    """Castings that are thrown out are in no stream of waste, and stand in a row of their own."""
    edition = edition_of(written)
    pages = MonthPages(edition)
    for month in edition.months:
        whole = edition.tally.diversion.of_month(month).whole
        adds_up(pages.totals(month), *(getattr(whole, name).value for name in WASTE))
    since = edition.tally.since_start
    names = ("kept_out_of_landfill", "taken_in", "thrown_out", "castings_harvested")
    adds_up(HomePage(edition).years(), *(getattr(since, name).value for name in names))


GOES_IN = ("fed", "bedding put in", "worms put in", "put back from the screen")


@EXAMPLES
@given(journals())
def test_a_bins_account_adds_up(written: list[Day]) -> None:
    """What went in, less what came out, is what is said to be still in it or lost."""
    edition = edition_of(written)
    pages = BinPages(edition)
    for sheet in pages.sheets.values():
        lines = list(pages.account(sheet))
        rest = lines.pop()["figure"]["kg"] if lines else 0.0
        told: list[tuple[str, float]] = [(line["words"], line["figure"]["kg"]) for line in lines]
        parts = sum(kg if name in GOES_IN else -kg for name, kg in told)
        assert parts == near(rest), told


def test_a_reject_of_a_later_month_comes_off_its_giver_on_the_sheet(tmp_path: Path) -> None:
    """What was brought in March and thrown out in April was not kept out of landfill in that year."""
    entries = (
        "## 2026-03-28\n- took in 12.0 lb newspaper from Elm House\n"
        "## 2026-04-11\n- threw out 5.0 lb newspaper out of newspaper\n"
    )
    household = HOUSEHOLD + "otherwise: {paper: landfill}\n"
    site = published(tmp_path, entries, household)
    for page in ("year-2026.html", "sheet-2026.html"):
        row = next(one for one in soup(site, page).select("tr") if "a house nearby" in one.get_text())
        cells = [" ".join(cell.get_text(" ").split()) for cell in row.select("td")]
        assert cells == ["12.000 ± 0.058", "7.000 ± 0.082"]
    section = soup(site, "year-2026.html").select_one('section[id^="giver-"]')
    assert section is not None
    assert "April 2026 paper – −5.000" in " ".join(section.get_text(" ").split())


def test_a_reject_of_a_later_year_stands_in_its_givers_rows(tmp_path: Path) -> None:
    """Across the end of a year a giver's rows add up to the giver's total, and lead to the later year."""
    entries = (
        "## 2025-12-29\n- took in 12.0 lb newspaper from Elm House\n"
        "## 2026-01-11\n- threw out 5.0 lb newspaper out of newspaper\n"
    )
    site = published(tmp_path, entries, HOUSEHOLD + "otherwise: {paper: landfill}\n")
    section = soup(site, "givers.html").select_one('section[id^="giver-"]')
    assert section is not None
    told = " ".join(section.get_text(" ").split())
    assert "2026 paper – −5.000" in told
    assert "Together 12.000 ± 0.058 7.000" in told
    assert soup(site, "year-2026.html").select_one(f"#{section['id']}") is not None


def test_what_the_sheet_has_no_room_for_stands_in_one_row_with_its_sums(tmp_path: Path) -> None:
    """Nine bins, ten givers, eight plantings: the last row of each says how many others, and how much."""
    names = [
        f"{word} Bin" for word in ("Ash", "Birch", "Cedar", "Dogwood", "Elder", "Fir", "Gum", "Yew", "Ivy")
    ]
    givers = [f"House {letter}" for letter in "ABCDEFGHIJ"]
    plantings = [f"Bed {letter}" for letter in "ABCDEFGH"]
    told_givers = ", ".join(f"{name}: {{shown as: {name.lower()}, otherwise: landfill}}" for name in givers)
    household = (
        "household: {name: Many, units: us}\n"
        f"bins: {{{', '.join(f'{name}: {{worms: red wigglers}}' for name in names)}}}\n"
        f"givers: {{{told_givers}}}\n"
        f"plantings: {{{', '.join(f'{name}: {{kind: bed}}' for name in plantings)}}}\n"
    )
    lines = [f"took in {10 - at}.0 lb newspaper from {name}" for at, name in enumerate(givers)]
    lines += [f"fed {at + 1}.0 lb banana peels to {name}" for at, name in enumerate(names)]
    lines.append("harvested 40.0 lb castings from Ash Bin")
    lines += [f"spread {at + 1}.0 lb castings on {name}" for at, name in enumerate(plantings)]
    site = published(tmp_path, "## 2026-05-02\n" + "".join(f"- {line}\n" for line in lines), household)
    told = words(site, "sheet-2026.html")
    assert "4 others 10.00" in told  # givers: our own peels are the most, then 10 to 5, so 4 + 3 + 2 + 1
    assert "4 others 30.00" in told  # bins: 6 + 7 + 8 + 9
    assert "3 others 21.00" in told  # plantings: 6 + 7 + 8


def test_a_bins_account_names_the_worms_put_in(tmp_path: Path) -> None:
    """Three pounds of worms and two of peels are the five that are still in the bin, or lost."""
    entries = (
        "## 2026-05-02\n- added 3.0 lb red wigglers to Lower Bin\n- fed 2.0 lb apple cores to Lower Bin\n"
    )
    told = words(published(tmp_path, entries), "bin-lower-bin.html")
    assert "worms put in 3.000" in told
    assert "fed 2.000" in told
    assert "still in the bin, or lost to the air as water and gas 5.000" in told
