"""Pages are light enough for a phone at the fence; the bars are this project's own."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.judges.folder import PICTURES, hand_made, needed_by, pages, soup

HOME_BYTES = 150_000
PAGE_BYTES = 300_000
SCRIPT_BYTES = 10_000


def weight(site: Path, page: Path) -> int:
    """Bytes of a page with everything it needs, uncompressed, pictures not counted."""
    return sum(file.stat().st_size for file in needed_by(site, page) if file.suffix not in PICTURES)


def script_bytes(site: Path, page: Path) -> int:
    """Bytes of script that a page holds or asks for; data blocks are no script."""
    tags = [tag for tag in soup(page).find_all("script") if "json" not in str(tag.get("type", ""))]
    files = {file for file in needed_by(site, page) if file.suffix in (".js", ".mjs")}
    return sum(len(tag.get_text().encode()) for tag in tags) + sum(file.stat().st_size for file in files)


def test_the_home_page_is_light(site: Path) -> None:
    """index.html with everything it needs stays within 150 kB before pictures."""
    assert weight(site, site / "index.html") <= HOME_BYTES


def test_every_page_is_light(site: Path) -> None:
    """Each page with everything it needs stays within 300 kB before pictures."""
    heavy = {page.name: size for page in pages(site) if (size := weight(site, page)) > PAGE_BYTES}
    assert not heavy


def test_scripts_are_short(site: Path) -> None:
    """Where a script helps, it has at most 10 kB."""
    long = {page.name: size for page in pages(site) if (size := script_bytes(site, page)) > SCRIPT_BYTES}
    assert not long


@pytest.mark.parametrize("where", ["page", "sheet"])
def test_weight_is_counted_with_what_the_page_needs(where: str, tmp_path: Path) -> None:
    """A heavy style sheet weighs on the page that asks for it, as the page's own words do."""
    ballast = "x" * HOME_BYTES
    site = hand_made(
        tmp_path / "site",
        f"<p>{ballast if where == 'page' else ''}</p>",
        '<link rel="stylesheet" href="sheet.css">',
        sheet__css=f"/* {ballast if where == 'sheet' else ''} */",
    )
    assert HOME_BYTES < weight(site, site / "index.html") < HOME_BYTES + 2_000
    assert script_bytes(site, site / "index.html") == 0
