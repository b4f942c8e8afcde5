"""The command `club`: from packages to a site, with its sentences, its exit statuses and its open data."""

from __future__ import annotations

import csv
import re
from pathlib import Path
from urllib.parse import unquote

import pytest
from bs4 import BeautifulSoup

from tests.club_packages import CLUB, HOUSES, laid, published, renamed, rows_of, total, zipped
from tests.conftest import Program

PUBLISHED = [CLUB / "published" / house for house in HOUSES]
ROSTER = ("--roster", CLUB / "club.yaml")


@pytest.fixture(scope="module")
def club_site(program: Program, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The site of the three households."""
    folder = tmp_path_factory.mktemp("club") / "site"
    done = program("club", *PUBLISHED, *ROSTER, "--to", folder)
    assert done.returncode == 0, done.stderr
    assert "index.html" in done.stdout
    return folder


def soup(page: Path) -> BeautifulSoup:
    """A page, parsed."""
    return BeautifulSoup(page.read_text(encoding="utf-8"), "lxml")


def test_a_difference_is_told_in_the_terminal(program: Program, tmp_path: Path) -> None:
    """The package, what it states, what its movements add up to and the difference stand in one sentence."""
    done = program("club", *PUBLISHED, "--to", tmp_path / "site")
    assert done.returncode == 0
    assert "mill-cottage: Mill Cottage states 12.2778 kg as the total of taken in" in done.stderr
    assert "add up to 2.27775 kg, a difference of +10 kg" in done.stderr


def test_the_first_page_tells_what_differs_and_what_was_handed_on(club_site: Path) -> None:
    """Who reads only the first page learns of a wrong total and of what two members both told."""
    words = soup(club_site / "index.html").get_text(" ")
    assert "Mill Cottage states 1 figure that differs from what its movements add up to" in words
    assert "that one member handed to another count once, where they were taken in" in words
    assert "3 households with 7 people" in words
    assert "Mill Lane worm club" in words


def test_every_household_has_its_page_with_its_difference(club_site: Path) -> None:
    """A household's page gives its figures, what it handed on, and totals that it states otherwise."""
    cottage = soup(club_site / "house-mill-cottage.html").get_text(" ")
    assert "12.2778 kg" in cottage
    assert "+10 kg" in cottage
    elms = soup(club_site / "house-the-elms.html").get_text(" ")
    assert "Handed to other members, and counted there" in elms
    assert "still on hand by its own book" in elms


def test_every_figure_of_a_household_leads_to_its_lines(club_site: Path) -> None:
    """A year's figure leads to the household's own site where it has one, else to its lines here."""
    targets = {
        house: {
            str(link["href"]) for link in soup(club_site / "year-2025.html").select(f'a[href*="{house}"]')
        }
        for house in ("ash-house.example.org", "mill-cottage-2025")
    }
    assert targets["ash-house.example.org"] == {"https://ash-house.example.org/year-2025.html"}
    assert targets["mill-cottage-2025"] == {"house-mill-cottage-2025.html"}
    lines = soup(club_site / "house-mill-cottage-2025.html")
    assert len(lines.select("tbody tr")) == 5
    assert "fed vegetable scraps" in lines.get_text(" ")


def test_no_link_of_the_site_is_broken(club_site: Path) -> None:
    """Every relative link leads to a file that is there, and every anchor to an element."""
    pages = {page.name: soup(page) for page in club_site.glob("*.html")}
    for name, page in pages.items():
        for link in page.select("[href]"):
            address = unquote(str(link["href"]))
            if re.match(r"[a-z]+:", address):
                continue
            file, _, anchor = address.partition("#")
            assert not file or (club_site / file).is_file(), f"{name} leads to {address}"
            target = pages.get(file or name)
            assert not anchor or (target is not None and target.find(id=anchor)), f"{name} leads to {address}"


def test_the_open_data_are_the_totals_of_the_pages(club_site: Path) -> None:
    """data/totals.csv holds the club's total as the members' movements give it by hand."""
    with (club_site / "data/totals.csv").open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    keys = ("household", "year", "month", "week", "stream")
    whole = {row["figure"]: row for row in rows if not any(row[key] for key in keys)}
    parts = [(house, row, 1.0) for house in HOUSES for row in rows_of(published(CLUB / house))]
    value, doubt = total(parts, "castings_harvested")
    assert float(whole["castings_harvested"]["kg"]) == pytest.approx(value, rel=1e-9)
    assert float(whole["castings_harvested"]["doubt_kg"]) == pytest.approx(doubt, rel=1e-9)


def test_the_open_data_are_valid_for_a_reader_we_did_not_write(club_site: Path) -> None:
    """The library frictionless finds the club's package, its schema and every row valid."""
    frictionless = pytest.importorskip("frictionless")
    report = frictionless.validate(str(club_site / "data/datapackage.json"), type="package")
    errors = [error.message for error in report.errors]
    errors += [f"{task.name}: {error.message}" for task in report.tasks for error in task.errors]
    assert not errors


def test_two_makings_are_the_same_bytes(program: Program, club_site: Path, tmp_path: Path) -> None:
    """The same packages give the same site, whatever the clock and the hash seed."""
    done = program(
        "club",
        *PUBLISHED,
        *ROSTER,
        "--to",
        tmp_path / "again",
        env={"PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo"},
    )
    assert done.returncode == 0
    files = {file.relative_to(club_site) for file in club_site.rglob("*") if file.is_file()}
    assert files == {
        file.relative_to(tmp_path / "again") for file in (tmp_path / "again").rglob("*") if file.is_file()
    }
    assert all((club_site / file).read_bytes() == (tmp_path / "again" / file).read_bytes() for file in files)


def test_a_refused_package_stops_unless_it_may_be_left_out(program: Program, tmp_path: Path) -> None:
    """Without the option nothing is written; with it the others go on and the site says so."""
    broken = laid({**published(CLUB / "elm-house"), "data/movements.csv": b"x"}, tmp_path / "broken")
    packages = (CLUB / "published" / "ash-house", broken)
    done = program("club", *packages, "--to", tmp_path / "site")
    assert done.returncode == 1
    assert "broken: movements.csv was changed or cut short since it was published" in done.stderr
    assert not (tmp_path / "site").exists()
    done = program("club", *packages, "--to", tmp_path / "site", "--leave-out-unreadable")
    assert done.returncode == 0
    words = soup(tmp_path / "site" / "index.html").get_text(" ")
    assert "Not counted: broken: movements.csv was changed or cut short" in words
    assert "1 of the packages given could not be taken in" in " ".join(words.split())


def test_a_journal_with_problems_is_refused_with_the_first(program: Program, tmp_path: Path) -> None:
    """A journal that cannot be read whole is named with place and sentence, as proofreading would."""
    folder = tmp_path / "diary"
    (folder / "entries").mkdir(parents=True)
    (folder / "entries/household.yaml").write_text("household: {name: Home}\n", encoding="utf-8")
    (folder / "entries/a.md").write_text("## 2025-01-01\n\n- took in some of it\n", encoding="utf-8")
    done = program("club", folder, "--to", tmp_path / "site")
    assert done.returncode == 1
    assert "diary is a journal with 1 to mend, the first at a.md:3:" in done.stderr


def test_a_journal_is_a_package_too(program: Program, tmp_path: Path) -> None:
    """A journal's folder is published in memory and leaves nothing behind in it."""
    before = sorted((CLUB / "elm-house").rglob("*"))
    done = program("club", CLUB / "elm-house", "--to", tmp_path / "site")
    assert done.returncode == 0, done.stderr
    assert sorted((CLUB / "elm-house").rglob("*")) == before


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("club: {nome: Mill Lane}\n", 'club.yaml:1:8: "nome" is no key I know here; did you mean "name"?'),
        ("goals: {per week: soon}\n", 'club.yaml:1:19: "soon" is not a mass with its unit'),
        ("goals: {weekly: 1 lb}\n", '"weekly" is no key I know here'),
        (
            "members: {Ash House: {shown as: Home}, Elm House: {shown as: home}}\n",
            "are one name to the reader",
        ),
        ("members: [Ash House]\n", "members is to be keys with values, not a list"),
        ("club: {name: a, name: b}\n", 'the key "name" stands here a second time'),
    ],
    ids=["key", "weight", "goal", "one name", "shape", "twice"],
)
def test_a_roster_that_cannot_be_read_is_told_with_its_place(
    program: Program, tmp_path: Path, text: str, words: str
) -> None:
    """The roster's problems are told like those of household.yaml, and nothing is written."""
    (tmp_path / "club.yaml").write_text(text, encoding="utf-8")
    done = program("club", PUBLISHED[0], "--roster", tmp_path / "club.yaml", "--to", tmp_path / "site")
    assert done.returncode == 1
    assert words in done.stderr
    assert not (tmp_path / "site").exists()


def test_an_unknown_edition_of_the_factors_is_told_with_those_there_are(
    program: Program, tmp_path: Path
) -> None:
    """The roster may choose the one edition of the factors, or none at all."""
    roster = tmp_path / "club.yaml"
    roster.write_text("club: {footprint: 1999}\n", encoding="utf-8")
    done = program("club", PUBLISHED[1], "--roster", roster, "--to", tmp_path / "site")
    assert done.returncode == 1
    assert 'there is no edition "1999" of the factors' in done.stderr
    roster.write_text("club: {footprint: none}\n", encoding="utf-8")
    done = program("club", PUBLISHED[1], "--roster", roster, "--to", tmp_path / "site")
    assert done.returncode == 0, done.stderr
    assert "CO₂e" not in (tmp_path / "site" / "index.html").read_text(encoding="utf-8")


def test_the_footprint_is_of_one_edition_and_leaves_out_who_wants_none(club_site: Path) -> None:
    """One edition serves all households; Mill Cottage said `footprint: none` and is not in it."""
    words = " ".join(soup(club_site / "reckoning.html").get_text(" ").split())
    assert "Table 9, 2024, for all households and years" in words
    assert "1 household wants no footprint and is left out of it" in words
    assert "A year keeps the edition it was reckoned with" not in words


def test_a_household_named_to_do_harm_does_none(program: Program, tmp_path: Path) -> None:
    """Markup in a household's name is shown as text, and its file's name is plain."""
    name = '<script>alert(1)</script>"><img src=x onerror=alert(1)>'
    bad = zipped(renamed(published(CLUB / "elm-house"), name), tmp_path / "bad.zip")
    done = program("club", bad, "--to", tmp_path / "site")
    assert done.returncode == 0, done.stderr
    for page in (tmp_path / "site").rglob("*.html"):
        assert not soup(page).select("script, img, [onerror]"), page.name
        assert re.fullmatch(r"[a-z0-9-]+\.html", page.name)


@pytest.mark.parametrize("words", [("club",), ("club", "x.zip"), ("club", "--to", "y")])
def test_wrong_use_is_told(program: Program, words: tuple[str, ...]) -> None:
    """Without packages or a place for the site the status is 2 and the sentence says what is missing."""
    done = program(*words)
    assert done.returncode == 2
    assert "Missing" in done.stderr


def test_help_gives_an_example(program: Program) -> None:
    """`club --help` shows what may be given, with an example."""
    done = program("club", "--help")
    assert done.returncode == 0
    assert "middenbook club ash-house.zip elm-house/" in done.stdout
    assert "--leave-out-unreadable" in done.stdout


OTHERWISE = "household: {{name: {}, units: us}}\nbins: {{Trug: {{worms: red wigglers}}}}\n{}\n"


def lay(folder: Path, name: str, more: str, entries: str) -> Path:
    """Write a journal for a club, and give its folder."""
    (folder / "entries").mkdir(parents=True)
    (folder / "entries" / "household.yaml").write_text(OTHERWISE.format(name, more), encoding="utf-8")
    (folder / "entries" / "all.md").write_text(entries, encoding="utf-8")
    return folder


def test_what_nobody_knows_the_fate_of_is_marked(program: Program, tmp_path: Path) -> None:
    """In the terminal and on the first page, with how much of the total it is; nothing is avoided by it."""
    fed = "## 2026-05-02\n- fed 4.0 lb banana peels to Trug\n"
    silent = lay(tmp_path / "a", "Reed", "", fed)
    told = lay(tmp_path / "b", "Rush", "otherwise: {food scraps: landfill}", fed.replace("4.0", "12.0"))
    for packages, part in (((silent,), "all"), ((silent, told), "25 %"), ((told,), "")):
        done = program("club", *packages, "--to", tmp_path / "site")
        assert done.returncode == 0, done.stderr
        words = " ".join(soup(tmp_path / "site" / "index.html").get_text(" ").split())
        for text in (words, done.stderr.replace("\u00a0", " ")):
            assert (f"landfill, {part} counts as if it would have been landfilled" in text) is bool(part), (
                part
            )
        assert ("No avoided emissions are claimed" in words) is (packages == (silent,))


def test_two_words_on_what_was_handed_on_are_told(program: Program, tmp_path: Path) -> None:
    """The giver would have recycled it, the receiver counts it as kept out of landfill: both are named."""
    giver = lay(
        tmp_path / "giver", "Sedge",
        "givers: {Rushes: {shown as: Rush}}\notherwise: {paper: recycling}",
        "## 2026-05-02\n- gave 6.0 lb newspaper to Rushes\n",
    )  # fmt: skip
    for word, differs in (("landfill", True), ("recycling", False)):
        receiver = lay(
            tmp_path / word, "Rush", f"givers: {{Sedges: {{shown as: Sedge, otherwise: {word}}}}}",
            "## 2026-05-02\n- took in 6.0 lb newspaper from Sedges\n",
        )  # fmt: skip
        done = program("club", giver, receiver, "--to", tmp_path / "site")
        assert done.returncode == 0, done.stderr
        said = "Sedge and Rush differ on what would have become of 2.72 kg"
        assert (said in done.stderr) is differs
        assert (said in soup(tmp_path / "site" / "index.html").get_text(" ")) is differs
