"""The feed: every element that RFC 4287 asks for, read by the standard library's parser and by feedparser."""

from __future__ import annotations

import datetime as dt
import xml.etree.ElementTree as ET
from pathlib import Path

import feedparser
import pytest
from bs4 import BeautifulSoup

from tests.sites import published, soup

ATOM = "{http://www.w3.org/2005/Atom}"
ENTRIES = """\
## 2026-01-02 Ampersands & <tags>

Words with *stress* & <b>markup</b>.

- took in 3 lb newspaper from Nora Quist

## 2026-01-03

- fed 2 lb banana peels to Lower Bin

## 2026-01-03 (private)

Hidden.

## 2026-01-04 Last

Words.
"""
ADDRESS = 'household: {name: "Us & them", web address: "https://example.org/worms/"}\n'
REST = "bins: {Lower Bin: {worms: red wigglers}}\ngivers: {Nora Quist: {shown as: a friend}}\n"


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """A site with an address."""
    return published(tmp_path_factory.mktemp("feed"), ENTRIES, ADDRESS + REST)


def test_the_feed_has_what_the_standard_requires(site: dict[str, bytes]) -> None:
    """Exactly one id, title and updated, an author, a link to itself (RFC 4287, 4.1.1)."""
    feed = ET.fromstring(site["feed.xml"])  # noqa: S314 - our own file
    assert feed.tag == f"{ATOM}feed"
    for name in ("id", "title", "updated"):
        assert len(feed.findall(f"{ATOM}{name}")) == 1, name
    assert feed.findtext(f"{ATOM}author/{ATOM}name") == "Us & them"
    links = {link.get("rel"): link.get("href") for link in feed.findall(f"{ATOM}link")}
    root = "https://example.org/worms/"
    assert links == {"self": f"{root}feed.xml", "alternate": f"{root}index.html"}


def test_every_entry_has_what_the_standard_requires(site: dict[str, bytes]) -> None:
    """Each entry has one id of its own, a title, a date with offset, and a link (RFC 4287, 4.1.2, 3.3)."""
    feed = ET.fromstring(site["feed.xml"])  # noqa: S314 - our own file
    entries = feed.findall(f"{ATOM}entry")
    ids = [entry.findtext(f"{ATOM}id") for entry in entries]
    assert len(ids) == len(set(ids)) == 3
    for entry in entries:
        for name in ("id", "title", "updated"):
            assert len(entry.findall(f"{ATOM}{name}")) == 1, name
        updated = dt.datetime.fromisoformat(entry.findtext(f"{ATOM}updated") or "")
        assert updated.tzinfo is not None
        content = entry.find(f"{ATOM}content")
        assert content is not None
        assert content.get("type") == "html"


def test_entries_lead_to_their_place_on_the_site(site: dict[str, bytes]) -> None:
    """Each entry's link is a page of the site and an anchor on it."""
    feed = ET.fromstring(site["feed.xml"])  # noqa: S314 - our own file
    for link in feed.findall(f"{ATOM}entry/{ATOM}link"):
        page, _, anchor = (link.get("href") or "").removeprefix("https://example.org/worms/").partition("#")
        assert soup(site, page).find(id=anchor) is not None


def test_a_reader_shows_the_newest_entry_first_and_no_private_one(site: dict[str, bytes]) -> None:
    """Feedparser reads titles, words and lines, markup of an entry as the text it is."""
    read = feedparser.parse(site["feed.xml"])
    assert not read.bozo
    assert [entry.title for entry in read.entries] == [
        "Last · 4 January 2026", "3 January 2026", "Ampersands & <tags> · 2 January 2026",
    ]  # fmt: skip
    content = read.entries[2].content[0].value
    page = BeautifulSoup(content, "html.parser")
    assert page.find("em") is not None
    assert page.find("b") is None
    assert "took in 3 lb newspaper from a friend" in page.get_text()
    assert b"Hidden" not in site["feed.xml"]


def test_without_an_address_the_feed_still_has_lasting_names(tmp_path: Path) -> None:
    """Ids are tags (RFC 4151) that do not change from one publication to the next."""
    household = "household: {name: Us}\n" + REST
    first = published(tmp_path / "one", ENTRIES, household)
    more = published(tmp_path / "two", ENTRIES + "\n## 2026-02-01 More\n\nWords.\n", household)

    def ids(site: dict[str, bytes]) -> set[str]:
        feed = ET.fromstring(site["feed.xml"])  # noqa: S314 - our own file
        return {tag.text or "" for tag in feed.iter(f"{ATOM}id")}

    assert ids(first) < ids(more)
    assert all(one.startswith("tag:") for one in ids(first))


def test_every_page_leads_to_the_feed(site: dict[str, bytes]) -> None:
    """Readers find the feed from the head of each page."""
    for name in ("index.html", "2026-01.html", "reckoning.html"):
        link = soup(site, name).select_one('link[rel="alternate"][type="application/atom+xml"]')
        assert link is not None
        assert link["href"] == "feed.xml"
