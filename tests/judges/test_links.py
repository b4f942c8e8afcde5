"""Every link leads somewhere: files, anchors, feed, sitemap and data, wherever the site lies."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from lxml import etree

from tests.judges.folder import (
    Reference,
    anchors,
    file_of,
    hand_made,
    needed_by,
    pages,
    references,
    references_in_css,
    soup,
)

OUTSIDE_SCHEMES = frozenset({"https", "http", "mailto"})
ATOM = "{http://www.w3.org/2005/Atom}"
SITEMAP = "{http://www.sitemaps.org/schemas/sitemap/0.9}"


def all_references(site: Path) -> Iterator[tuple[Path, Reference]]:
    """Each page or style sheet of the site with everything it names."""
    for page in pages(site):
        yield from ((page, reference) for reference in references(page))
    for sheet in sorted(site.rglob("*.css")):
        text = sheet.read_text(encoding="utf-8")
        yield from ((sheet, reference) for reference in references_in_css(text, sheet.name))


def fault_of(site: Path, base: Path, reference: Reference) -> str:
    """What is wrong with one reference; "" if nothing is."""
    target, parts = reference.target, urlsplit(reference.target)
    if parts.scheme == "data" and reference.fetched:
        return ""
    if parts.scheme or parts.netloc:
        bad = reference.fetched or parts.scheme not in OUTSIDE_SCHEMES
        return f"{reference.where} asks for {target}, outside the site" if bad else ""
    if parts.query or parts.path.startswith("/") or parts.path.endswith("/") or parts.path == ".":
        return f"{reference.where} does not name a file relatively: {target}"
    try:
        file, fragment = file_of(site, base, target)
    except ValueError:
        return f"{reference.where} leads out of the site: {target}"
    if not file.is_file() or file.name not in {entry.name for entry in file.parent.iterdir()}:
        return f"{reference.where} names no file: {target}"
    if fragment and file.suffix == ".html" and fragment not in anchors(file):
        return f"{reference.where} names no place in {file.name}: #{fragment}"
    return ""


def faults_in_links(site: Path) -> list[str]:
    """Every link, picture or style of the site that leads nowhere or outside."""
    return [fault for base, reference in all_references(site) if (fault := fault_of(site, base, reference))]


def web_address(site: Path) -> str:
    """The address that the site says it lives at, from its sitemap's entry for the home page."""
    tree = etree.parse(site / "sitemap.xml")
    places = [place.text or "" for place in tree.iter(f"{SITEMAP}loc")]
    return next(place for place in places if place.endswith(("/index.html", "/"))).removesuffix("index.html")


def faults_in_addresses(site: Path, address: str, targets: list[str]) -> list[str]:
    """Absolute addresses that do not mean a file of this site, or name a place that is not in it."""
    faults = []
    for target in targets:
        if not target.startswith(address):
            faults.append(f"{target} is not below {address}")
            continue
        file, _, fragment = target.removeprefix(address).partition("#")
        path = site / (file or "index.html")
        if not path.is_file():
            faults.append(f"{target} means no file of the site")
        elif fragment and fragment not in anchors(path):
            faults.append(f"{target} names no place in {file}")
    return faults


def test_every_link_and_anchor_leads_somewhere(site: Path) -> None:
    """No page names a file or a place that is not there, and none asks for anything outside the site."""
    faults = faults_in_links(site)
    assert not faults, "\n".join(faults[:40])


def test_every_page_can_be_reached_from_the_home_page(site: Path) -> None:
    """Whoever arrives at index.html can come to every page by links alone."""
    reached, waiting = set(), [site / "index.html"]
    while waiting:
        page = waiting.pop()
        if page in reached or page.suffix != ".html":
            continue
        reached.add(page)
        named = [reference.target for reference in references(page) if not urlsplit(reference.target).scheme]
        waiting += [file_of(site, page, target)[0] for target in named]
    assert set(pages(site)) == reached, f"no way to {sorted(set(pages(site)) - reached)}"


def test_links_of_the_feed_lead_to_entries(site: Path) -> None:
    """Every link in feed.xml means a page of this site, and the place in it."""
    tree = etree.parse(site / "feed.xml")
    links = [str(link.get("href")) for link in tree.iter(f"{ATOM}link")]
    faults = faults_in_addresses(site, web_address(site), links)
    assert not faults, "\n".join(faults[:40])


def test_addresses_of_the_sitemap_mean_files(site: Path) -> None:
    """Every address in sitemap.xml means a file of this site."""
    tree = etree.parse(site / "sitemap.xml")
    places = [place.text or "" for place in tree.iter(f"{SITEMAP}loc")]
    faults = faults_in_addresses(site, web_address(site), places)
    assert not faults, "\n".join(faults[:40])


def test_addresses_in_page_heads_mean_files(site: Path) -> None:
    """The canonical address and the picture for link previews are files of this site."""
    selector = 'link[rel="canonical"], meta[property="og:image"], meta[property="og:url"]'
    tags = [tag for page in pages(site) for tag in soup(page).select(selector)]
    targets = [str(tag.get("href") or tag.get("content")) for tag in tags]
    assert targets, "no page has an address or a picture for link previews"
    faults = faults_in_addresses(site, web_address(site), targets)
    assert not faults, "\n".join(faults[:40])


def test_the_data_package_names_files_that_are_there(site: Path) -> None:
    """Every resource of data/datapackage.json is a file beside it, and no CSV file is left out."""
    package = json.loads((site / "data/datapackage.json").read_text(encoding="utf-8"))
    named = {resource["path"] for resource in package["resources"]}
    assert named == {file.name for file in (site / "data").iterdir() if file.suffix in (".csv", ".parquet")}


def test_nothing_in_the_folder_is_left_lying_about(site: Path) -> None:
    """Every file of the site is named by a page, the feed, the sitemap or the data package."""
    named = {file for page in pages(site) for file in needed_by(site, page)}
    for base, reference in all_references(site):
        if not urlsplit(reference.target).scheme:
            named.add(file_of(site, base, reference.target)[0])
    text = "".join(file.read_text(encoding="utf-8") for file in [*pages(site), *site.rglob("*.json")])
    unnamed = [
        file.relative_to(site)
        for file in sorted(site.rglob("*"))
        if file.is_file()
        and file not in named
        and file.name not in (".gitignore", ".middenbook-made", "robots.txt", "sitemap.xml")
        if not re.search(rf"\b{re.escape(file.name)}\b", text)
    ]
    assert not unnamed, f"nothing names {', '.join(map(str, unnamed))}"


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ('<a href="gone.html">x</a>', "names no file: gone.html"),
        ('<a href="#gone">x</a>', "names no place in index.html: #gone"),
        ('<a href="/index.html">x</a>', "does not name a file relatively"),
        ('<a href="./">x</a>', "does not name a file relatively"),
        ('<a href="../secret.html">x</a>', "leads out of the site"),
        ('<img alt="" src="https://example.org/a.png">', "outside the site"),
        ('<img alt="" src="//example.org/a.png">', "outside the site"),
        ('<p style="background: url(gone.png)">x</p>', "names no file: gone.png"),
        ('<a href="javascript:alert(1)">x</a>', "outside the site"),
        ('<img alt="" srcset="index.html 1x, gone.jpg 2x">', "names no file: gone.jpg"),
    ],
)
def test_a_bad_link_is_found(body: str, words: str, tmp_path: Path) -> None:
    """The judge of links sees each kind of bad link, and only that one."""
    faults = faults_in_links(hand_made(tmp_path / "site", body + '<a href="index.html">good</a>'))
    assert len(faults) == 1
    assert words in faults[0]
