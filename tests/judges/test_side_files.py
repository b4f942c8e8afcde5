"""The files beside the pages are what their standards say, from data package to mailed sheet."""

from __future__ import annotations

import csv
import datetime
import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from tests.judges.folder import MAILED, hand_made, pages, references, soup

SITEMAP = "{http://www.sitemaps.org/schemas/sitemap/0.9}"
CARD_SIZE = (1200, 630)
NUMBER = re.compile(r"-?\d+(\.\d+)?([eE][-+]?\d+)?")
EXPECTED = (
    "index.html",
    "givers.html",
    "bins.html",
    "bedding.html",
    "garden.html",
    "reckoning.html",
    "feed.xml",
    "sitemap.xml",
    "data/datapackage.json",
)


def faults_in_data_package(descriptor: Path) -> list[str]:
    """What frictionless finds wrong with a package: schema, types, constraints, hashes, missing files."""
    frictionless = pytest.importorskip("frictionless")
    report = frictionless.validate(str(descriptor), type="package")
    errors = [error.message for error in report.errors]
    return errors + [f"{task.name}: {error.message}" for task in report.tasks for error in task.errors]


def json_ld(page: Path) -> list[dict[str, Any]]:
    """Every block of JSON-LD in a page, parsed."""
    return [json.loads(tag.get_text()) for tag in soup(page).select('script[type="application/ld+json"]')]


def card_size(card: Path) -> tuple[str, tuple[int, int]]:
    """Format and size of a picture, after decoding the whole of it."""
    image = pytest.importorskip("PIL.Image")
    with image.open(card) as picture:
        picture.load()
        return picture.format, picture.size


def formula_cells(table: Path) -> list[str]:
    """Cells that a spreadsheet would run as a formula."""
    with table.open(encoding="utf-8", newline="") as lines:
        cells = [cell for row in csv.reader(lines) for cell in row]
    return [cell for cell in cells if cell[:1] in "=+-@\t\r" and cell and not NUMBER.fullmatch(cell)]


def test_every_kind_of_page_is_there(site: Path) -> None:
    """The site has each page and side file that a visitor is promised, a year and a month at least once."""
    names = {str(file.relative_to(site)) for file in site.rglob("*") if file.is_file()}
    assert not set(EXPECTED) - names
    for pattern in (
        r"year-\d{4}\.html",
        r"\d{4}-\d\d\.html",
        r"bin-.+\.html",
        r"cards/.+\.png",
        r"data/.+\.csv",
    ):
        assert any(re.fullmatch(pattern, name) for name in names), f"no file is named like {pattern}"


def test_the_data_package_is_valid(site: Path) -> None:
    """The library frictionless finds the package and every row of every table valid."""
    faults = faults_in_data_package(site / "data/datapackage.json")
    assert not faults, "\n".join(faults[:40])


def test_the_data_package_says_what_its_columns_mean(site: Path) -> None:
    """Every column has a description, and every mass, volume or money column its unit."""
    package = json.loads((site / "data/datapackage.json").read_text(encoding="utf-8"))
    for resource in package["resources"]:
        for field in resource["schema"]["fields"]:
            assert field.get("description"), f"{resource['name']}.{field['name']} has no description"
            if field["type"] in ("number", "integer"):
                about = " ".join(str(value) for value in field.values())
                assert re.search(r"\bkg\b|\bL\b|°C|percent|%|count|number|\bp?H\b|m²|currency", about), field


def test_no_cell_starts_a_formula(site: Path) -> None:
    """Opening a table in a spreadsheet runs nothing."""
    found = {
        table.name: cells[:5] for table in (site / "data").glob("*.csv") if (cells := formula_cells(table))
    }
    assert not found


def test_the_home_page_describes_its_data(site: Path) -> None:
    """index.html holds a schema.org Dataset with name, description, licence or creator, dates and files."""
    datasets = [block for block in json_ld(site / "index.html") if block.get("@type") == "Dataset"]
    assert len(datasets) == 1
    dataset = datasets[0]
    assert dataset["@context"].rstrip("/") in ("https://schema.org", "http://schema.org")
    assert dataset["name"]
    assert 50 <= len(dataset["description"]) <= 5000, "search engines ask for 50 to 5000 characters"
    assert dataset["temporalCoverage"]
    files = dataset["distribution"]
    assert all(file["@type"] == "DataDownload" and file["encodingFormat"] for file in files)
    for file in files:
        name = file["contentUrl"].rpartition("/")[2]
        assert (site / "data" / name).is_file(), f"{name} is not in data/"


def test_json_ld_parses_on_every_page(site: Path) -> None:
    """Wherever there is JSON-LD, it is JSON and names its vocabulary."""
    for page in pages(site):
        assert all("@context" in block for block in json_ld(page)), page.name


def test_the_sitemap_keeps_the_protocol(site: Path) -> None:
    """sitemap.xml lists each page once, with W3C dates, in the protocol's namespace and within its limits."""
    file = site / "sitemap.xml"
    root = etree.parse(file).getroot()
    assert root.tag == SITEMAP + "urlset"
    assert len(root) <= 50_000
    assert file.stat().st_size <= 50 * 1024 * 1024
    places = [place.text or "" for place in root.iter(SITEMAP + "loc")]
    assert len(places) == len(set(places)) == len(root)
    assert all(place.startswith(("https://", "http://")) for place in places)
    for date in root.iter(SITEMAP + "lastmod"):
        datetime.date.fromisoformat((date.text or "")[:10])
    listed = {place.rpartition("/")[2] or "index.html" for place in places}
    assert {page.name for page in pages(site) if not MAILED.fullmatch(page.name)} <= listed


def test_every_year_has_a_card(site: Path) -> None:
    """The picture for link previews is a PNG of 1200 × 630, one a year, and pages name theirs."""
    years = [page.stem.removeprefix("year-") for page in site.glob("year-????.html")]
    cards = sorted((site / "cards").glob("*.png"))
    assert {card_size(card) for card in cards} == {("PNG", CARD_SIZE)}
    for year in years:
        assert any(year in card.name for card in cards), f"no card for {year}"
        assert soup(site / f"year-{year}.html").select('meta[property="og:image"]')


def test_a_mailed_sheet_needs_no_other_file(site: Path) -> None:
    """The single-file sheet of a year holds its style and drawings, and links to nothing left at home."""
    sheets = [page for page in pages(site) if MAILED.fullmatch(page.name)]
    assert sheets, "no year has a single-file sheet"
    for sheet in sheets:
        inside = list(references(sheet))
        asked = [one for one in inside if one.fetched and not one.target.startswith(("data:", "#"))]
        assert not asked, asked[:5]
        lost = [
            one for one in inside if not one.target.startswith(("#", "https:", "http:", "data:", "mailto:"))
        ]
        assert not lost, f"{sheet.name} names files that are not mailed with it: {lost[:5]}"


def test_every_page_forbids_what_it_does_not_use(site: Path) -> None:
    """A Content-Security-Policy stands in each head, and starts at none.

    A page with pictures may name all else one by one: the Nu checker takes any rule on pictures, on a disk,
    to forbid them.
    """
    others = ("font", "frame", "manifest", "media", "object", "script", "worker")
    for page in pages(site):
        policies = soup(page).select('head meta[http-equiv="Content-Security-Policy" i]')
        assert policies, f"{page.name} has no policy"
        policy = str(policies[0]["content"])
        one_by_one = soup(page).find("img") and all(f"{kind}-src 'none'" in policy for kind in others)
        assert one_by_one or "default-src 'none'" in policy, f"{page.name}: {policy}"
        assert "unsafe-eval" not in policy
        scripts = re.search(r"script-src[^;]*", policy)
        assert not scripts or "unsafe-inline" not in scripts[0], f"{page.name}: {policy}"


def test_every_page_has_what_a_head_needs(site: Path) -> None:
    """Language, title, description, viewport, icon and one h1 stand in each page; titles differ."""
    titles = {}
    for page in pages(site):
        tree = soup(page)
        assert tree.html is not None
        assert tree.html.get("lang"), page.name
        for selector in ('meta[name="description"]', 'meta[name="viewport"]', 'link[rel~="icon"]'):
            assert tree.select(f"head {selector}"), f"{page.name} has no {selector}"
        titles[page.name] = tree.title.get_text(strip=True) if tree.title else ""
        assert len(tree.select("h1")) == 1, f"{page.name} has not exactly one h1"
    assert all(titles.values())
    web_pages = {name: title for name, title in titles.items() if not MAILED.fullmatch(name)}
    assert len(set(web_pages.values())) == len(web_pages), "two pages have one title"


def test_every_drawing_says_what_it_shows(site: Path) -> None:
    """Each chart is one picture to a screen reader: role, title and description."""
    for page in pages(site):
        for drawing in soup(page).select('svg:not([aria-hidden="true"])'):
            about = f"{page.name}: {str(drawing)[:100]}"
            assert drawing.get("role") == "img", about
            title = drawing.find("title", recursive=False)
            assert title is not None, about
            assert title.get_text(strip=True), about


def make_package(folder: Path, kg: str) -> Path:
    """A data package of one table with one row, to try the judge on."""
    folder.mkdir()
    (folder / "movements.csv").write_text(f"date,kg\n2024-02-29,{kg}\n", encoding="utf-8")
    fields = [{"name": "date", "type": "date"}, {"name": "kg", "type": "number"}]
    resource = {"name": "movements", "path": "movements.csv", "schema": {"fields": fields}}
    descriptor = folder / "datapackage.json"
    descriptor.write_text(json.dumps({"name": "tried", "resources": [resource]}), encoding="utf-8")
    return descriptor


def test_a_broken_data_package_is_found(tmp_path: Path) -> None:
    """The judge of data passes a good table, and sees a wrong type, a missing file and a formula."""
    assert faults_in_data_package(make_package(tmp_path / "good", "1.5")) == []
    assert faults_in_data_package(make_package(tmp_path / "typed", "heavy"))
    lost = make_package(tmp_path / "lost", "1.5")
    (lost.parent / "movements.csv").unlink()
    assert faults_in_data_package(lost)
    formula = make_package(tmp_path / "formula", "=1+1")
    assert formula_cells(formula.parent / "movements.csv") == ["=1+1"]


def test_a_sheet_that_asks_for_a_file_is_found(tmp_path: Path) -> None:
    """The judge of mailed sheets sees a style sheet outside the file, and a link to a page left at home."""
    site = hand_made(tmp_path / "site", head='<link rel="stylesheet" href="sheet.css">')
    shutil.copy(site / "index.html", site / "sheet-2026.html")
    with pytest.raises(AssertionError, match=r"sheet\.css"):
        test_a_mailed_sheet_needs_no_other_file(site)
    linked = hand_made(tmp_path / "linked", '<a href="index.html">home</a>')
    (linked / "index.html").rename(linked / "sheet-2026.html")
    with pytest.raises(AssertionError, match="not mailed with it"):
        test_a_mailed_sheet_needs_no_other_file(linked)
