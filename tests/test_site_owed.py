"""What a figure owes its reader stands beside it wherever it is shown: unknown fates, years below nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from journal.notes.household import Household
from journal.reckoning.diversion import Cell, Figures
from journal.reckoning.fates import unknown_share
from journal.site.wording import percent, reached
from tests.conftest import Program
from tests.journals import HOUSEHOLD, lay_out
from tests.sites import Site, pages, published, soup, words

PAGES = ("index.html", "year-2026.html", "sheet-2026.html", "2026-05.html", "givers.html")
ENTRIES = (  # eight pounds of paper, of which Nora Quist's four are shredded first, and eight of food scraps
    "## 2026-05-02\n- shredded 8.0 lb newspaper\n- fed 8.0 lb banana peels to Lower Bin\n"
    "- took in 4.0 lb newspaper from Nora Quist\n"
)
MARK = "counts as if it would have been landfilled; nobody knows what would have become of it"
CASES = {
    "all of it": ("", f"all {MARK}"),
    "a part": ("otherwise: {food scraps: landfill}\n", f"50 % {MARK}"),
    "a part of each": (
        "otherwise: {food scraps: {landfill: 50%, unknown: 50%}, paper: landfill}\n", f"25 % {MARK}",
    ),
    "none, where what is not landfilled is not in the figure": (
        "otherwise: {food scraps: landfill, paper: recycling}\n", "",
    ),
}  # fmt: skip


def told_on(site: Site, page: str) -> str:
    """What is read on a page, with plain spaces."""
    return words(site, page).replace("\u00a0", " ")


@pytest.mark.parametrize(("otherwise", "mark"), CASES.values(), ids=CASES)
def test_where_nobody_knows_the_fate_the_figure_is_marked(
    tmp_path: Path, program: Program, otherwise: str, mark: str
) -> None:
    """On every page with a total, on the sheet that is mailed, and in the terminal, with how much of it."""
    household = HOUSEHOLD + otherwise
    site = published(tmp_path, ENTRIES, household)
    told = {page: told_on(site, page) for page in PAGES}
    done = program("tally", "--journal", lay_out(tmp_path, ENTRIES, household))
    assert done.returncode == 0, done.stderr
    told["the terminal"] = done.stdout
    for page, text in told.items():
        assert (mark in text) if mark else (MARK not in text), page


def test_the_terminal_marks_only_the_years_asked_for(tmp_path: Path, program: Program) -> None:
    """A year whose waste would all have been landfilled bears no mark; nor does the table of bins."""
    entries = "## 2025-05-02\n- shredded 8.0 lb newspaper\n\n## 2026-05-02\n- fed 3.0 lb bread to Lower Bin\n"
    folder = lay_out(tmp_path, entries, HOUSEHOLD + "otherwise: {food scraps: landfill}\n")
    for asked, marked in ((("2025",), True), (("2026",), False), ((), True), (("--by", "bin"), False)):
        assert (MARK in program("tally", *asked, "--journal", folder).stdout) is marked, asked


def figured(*kg: tuple[str, str, float]) -> list[tuple[Cell, Figures]]:
    """Cells of (month, stream, kg kept out of landfill)."""
    cells = []
    for month, stream, value in kg:
        figures = Figures()
        figures.kept_out_of_landfill.value = value
        cells.append((Cell(month, stream, None), figures))
    return cells


def test_the_share_of_unknown_fate_is_of_what_was_kept_out_over_all_months() -> None:
    """A reject of a later month comes off its own stream; where a stream is below nothing none is given."""
    household = Household(otherwise={"paper": {"landfill": 1.0}, "garden": {"recycling": 1.0}})
    paper, scraps, rejects = ("2026-01", "paper"), ("2026-01", "food scraps"), ("2026-02", "food scraps")
    more = figured((*paper, 6.0), (*scraps, 5.0), (*rejects, -3.0))
    assert unknown_share(household, more) == pytest.approx(0.25)
    assert unknown_share(household, figured((*scraps, -3.0))) == 1
    assert unknown_share(household, figured((*paper, -3.0), (*scraps, 5.0))) is None
    assert unknown_share(household, figured((*paper, 2.0), (*scraps, 0.0))) == 0
    assert unknown_share(household, []) == 0


def test_where_nothing_is_known_nothing_is_claimed_to_be_avoided(tmp_path: Path) -> None:
    """Marked as if landfilled by weight, it is not said to be nothing that would have been landfilled."""
    site = published(tmp_path, ENTRIES)
    for page in ("reckoning.html", "year-2026.html", "sheet-2026.html"):
        assert "nobody knows what would have become of the waste used here otherwise" in told_on(site, page)
        assert "would have been landfilled or burned is recorded" not in told_on(site, page)


AVOIDED = {
    "some unknown": (
        "otherwise: {food scraps: council collection}\n", "of some of the waste used here nobody knows",
    ),
    "none landfilled": (
        "otherwise: {food scraps: council collection, paper: recycling}\n",
        "nothing used here would have been landfilled or burned",
    ),
    "burned for less than the bin gives off": (
        "otherwise: {food scraps: combustion, paper: recycling}\n", "beyond what the bins themselves give",
    ),
    "claimed but for what is unknown": ("otherwise: {paper: landfill}\n", "nothing is claimed for it"),
}  # fmt: skip


@pytest.mark.parametrize(("otherwise", "said"), AVOIDED.values(), ids=AVOIDED)
def test_why_nothing_is_avoided_is_said_as_it_is(tmp_path: Path, otherwise: str, said: str) -> None:
    """Each reason has a sentence of its own."""
    assert said in told_on(published(tmp_path, ENTRIES, HOUSEHOLD + otherwise), "reckoning.html")


@pytest.fixture(scope="module")
def below(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """A journal whose second year has nothing but a reject of the first."""
    entries = (
        "## 2025-12-29\n- took in 12.0 lb newspaper\n- fed 1.0 lb apple cores to Lower Bin\n"
        "## 2026-01-02\n- threw out 11.0 lb newspaper out of newspaper\n"
    )
    household = HOUSEHOLD + "otherwise: {paper: landfill, food scraps: landfill}\ngoals: {2026: 90 lb}\n"
    return published(tmp_path_factory.mktemp("below"), entries, household)


def test_a_year_below_nothing_says_why(below: dict[str, bytes]) -> None:
    """On the sheet and the month: more was thrown out again than was newly kept out."""
    for page in ("year-2026.html", "sheet-2026.html", "2026-01.html"):
        assert "of what was kept out before, more was thrown out again" in words(below, page), page
    assert all("before, more was thrown out" not in words(below, name) for name in ("2025-12.html",))


def test_a_goal_is_never_reached_to_less_than_nothing(below: dict[str, bytes]) -> None:
    """No percentage below nothing, and no pace toward it."""
    assert "The goal for 2026 is 90 lb: nothing of it is reached." in told_on(below, "index.html")
    assert "Goal 90 lb: nothing of it so far." in told_on(below, "sheet-2026.html")
    assert (reached(-0.5), reached(0.12)) == ("nothing of it", "12\u00a0%")
    assert percent(-0.5) == "−50\u00a0%"


def test_a_year_below_nothing_takes_back_what_was_avoided(below: dict[str, bytes]) -> None:
    """It stands below nothing in the years' table, which says so, and the sheet gives the true reason."""
    rows = soup(below, "reckoning.html").select("#footprint-h ~ .sheet tr")
    year = next(row for row in rows if row.get_text().startswith("2026"))
    assert "−" in year.select("td")[2].get_text().split("(")[0]
    assert "taken back of earlier years" in words(below, "reckoning.html")
    assert "more of what had come in earlier left again" in words(below, "sheet-2026.html")


def test_no_empty_month_is_called_the_heaviest(below: dict[str, bytes]) -> None:
    """A year that kept nothing out has no chart of months; a reject beside a better month is told of."""
    assert soup(below, "year-2026.html").select_one("figure#months") is None
    told = told_on(below, "index.html")
    assert "December 2025 was the heaviest month" in told
    assert "it is not drawn but stands in the numbers" in told
    assert all("the largest part, 0 %" not in told_on(below, name) for name in pages(below))


def test_what_comes_to_a_person_is_said_to_be_of_our_own(tmp_path: Path) -> None:
    """The figure beside a total with givers' waste in it is of the household's own part alone."""
    entries = (
        "## 2026-05-01\n- took in 30 lb newspaper from Elm House\n\n"
        "## 2026-05-14\n- fed 8 lb banana peels to Lower Bin\n"
    )
    told = told_on(published(tmp_path, entries), "index.html")
    assert "Of our own waste alone it comes to 2.0" in told
    assert "lb a person and week, over 2 people living here" in told


def test_every_factor_of_avoided_emissions_can_be_checked(tmp_path: Path) -> None:
    """Landfilled, burned, the rows that bound them, the bin's own gases with potentials, and all sources.

    The figures are those of the EPA's Table 9 (2024) and of the IPCC's Table 4.1 with AR6 potentials.
    """
    otherwise = "otherwise: {food scraps: {landfill: 60%, combustion: 40%}, paper: landfill}\n"
    site = published(tmp_path, ENTRIES.replace("newspaper", "envelopes"), HOUSEHOLD + otherwise)
    rows = [
        " ".join(row.get_text(" ").split())
        for row in soup(site, "reckoning.html").select("#footprint-h ~ .sheet tbody tr")
    ]
    paper, peels = (next(row for row in rows if name in row) for name in ("envelopes", "banana peels"))
    assert "2024: 0.86" in paper
    assert "Magazines/third-class mail 2024: 0.46 · Office paper 2024: 1.41" in paper
    assert "Mixed organics, composted, stands in: 2024: 0.13" in paper
    assert "2024: 0.28" in peels
    assert "Food waste (all) 2024: 0.68" in peels
    assert "2024: 0.05" in peels  # burned
    assert "2024: 0.05" not in paper  # of which nothing would have been
    told = " ".join(rows)
    assert "0.0172, 0.174, 0.380" in told
    assert "methane 27, nitrous oxide 273" in told
    assert "AR4: methane 25, nitrous oxide 298" in told
    assert "0.0172, 0.143, 0.380" in told  # 0.13 t per short ton in kg per kg
    assert (
        "Intergovernmental Panel on Climate Change" in words(site, "reckoning.html").partition("Sources")[2]
    )
    assert "The bins give off for that part" in words(site, "reckoning.html")


def test_a_journal_of_one_day_by_one_person_is_told_of_in_the_singular(tmp_path: Path) -> None:
    """No span from a day to itself, no "1 person live", no goal reached in 0 of 0 weeks."""
    household = (
        "household: {name: A, people: 1}\nbins: {Tub: {}}\notherwise: {food scraps: landfill}\n"
        "goals: {per week: 1 lb}\n"
    )
    site = published(tmp_path, "## 2026-04-11\n- fed 1.00 lb banana peels to Tub\n", household)
    told = told_on(site, "index.html")
    assert "1 person lives here" in told
    assert "All of it was written on one day, 11 April 2026." in told
    assert "The goal is 1 lb a week; the week of 6 April stands at 1 lb." in told
    assert "11 April 2026 · 1 day with an entry" in told_on(site, "year-2026.html")


def test_what_one_person_keeps_out_is_told_by_the_week(tmp_path: Path) -> None:
    """One person living alone is no average over people."""
    entries = "## 2026-04-01\n- fed 1 lb bread to Tub\n\n## 2026-04-28\n- fed 3 lb bread to Tub\n"
    household = "household: {name: A, people: 1}\nbins: {Tub: {}}\notherwise: {food scraps: landfill}\n"
    told = told_on(published(tmp_path, entries, household), "index.html")
    assert "lb a week, for the one person living here." in told


def test_givers_are_said_to_stand_under_a_name_they_agreed_to_or_none(tmp_path: Path) -> None:
    """Nobody agreed to "a neighbour"."""
    household = "household: {name: A}\nbins: {Tub: {}}\ngivers: {Olga Reed: {}, Bo Lindt: {}}\n"
    entries = (
        "## 2026-04-11\n- took in 1 lb newspaper from Olga Reed\n- took in 1 lb junk mail from Bo Lindt\n"
    )
    assert "2 givers, each under the name they agreed to, or under none." in told_on(
        published(tmp_path, entries, household), "givers.html"
    )


def test_a_harvest_whose_time_has_passed_is_overdue(tmp_path: Path) -> None:
    """A span of days that are over is no forecast."""
    entries = (
        "## 2024-01-02\n- bedded Tub with 3 lb newspaper\n- fed 3 lb banana peels to Tub\n"
        "## 2026-05-02\n- fed 1 lb banana peels to Tub\n"
    )
    told = told_on(published(tmp_path, entries, "household: {name: A}\nbins: {Tub: {}}\n"), "bin-tub.html")
    assert "overdue since" in told
    assert "likeliest" not in told


def test_shreds_of_an_open_line_are_told_by_name(tmp_path: Path) -> None:
    """Who shreds says what of, and so that there are shreds: nothing of it is kept back."""
    entries = "## 2026-05-02\n- shredded 2 lb newspaper\n"
    told = told_on(published(tmp_path, entries), "2026-05.html")
    assert "our own kitchen and post → shredded paper on hand" in told
    assert "kept back" not in told
