"""The feed is Atom as RFC 4287 has it, and another reader understands it."""

from __future__ import annotations

import datetime
import re
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from lxml import etree

from tests.judges.folder import soup

ATOM = "{http://www.w3.org/2005/Atom}"
# RFC 3339, 5.6, as RFC 4287, 3.3 narrows it: capital T, and Z or an offset.
DATE_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)")
TEXT_TYPES = frozenset({None, "text", "html", "xhtml"})

# RFC 4287, 4.1.1 and 4.1.2: what must be there exactly once, and what at most once.
EXACTLY_ONCE = ("id", "title", "updated")
AT_MOST_ONCE = {
    "feed": ("generator", "icon", "logo", "rights", "subtitle"),
    "entry": ("content", "published"),
}


def faults_in_counts(element: etree._Element, kind: str) -> list[str]:
    """Children that are missing or there too often."""
    count = {name: len(element.findall(ATOM + name)) for name in (*EXACTLY_ONCE, *AT_MOST_ONCE[kind])}
    wrong = [
        f"{kind}: {count[name]} {name}, 1 is required (4.1)" for name in EXACTLY_ONCE if count[name] != 1
    ]
    return wrong + [f"{kind}: {count[name]} {name}" for name in AT_MOST_ONCE[kind] if count[name] > 1]


def faults_in_dates(element: etree._Element, kind: str) -> list[str]:
    """Dates that are not RFC 3339 (3.3), or no date of the calendar."""
    faults = []
    for name in ("updated", "published"):
        for child in element.findall(ATOM + name):
            text = child.text or ""
            if not DATE_TIME.fullmatch(text):
                faults.append(f"{kind}: {name} {text!r} is no RFC 3339 date-time (3.3)")
            else:
                datetime.datetime.fromisoformat(text)
    return faults


def faults_in_identity(element: etree._Element, kind: str) -> list[str]:
    """An `id` that is no absolute IRI (4.2.6), or an author without a name (3.2.1)."""
    identity = element.findtext(ATOM + "id") or ""
    faults = [] if urlsplit(identity).scheme else [f"{kind}: id {identity!r} is no absolute IRI (4.2.6)"]
    people = [*element.findall(ATOM + "author"), *element.findall(ATOM + "contributor")]
    nameless = [person for person in people if not (person.findtext(ATOM + "name") or "").strip()]
    return faults + [f"{kind}: a person without a name (3.2.1)" for _ in nameless]


def faults_in_links(element: etree._Element, kind: str) -> list[str]:
    """Links without an address (4.2.7.1), or several alternates of one type and language."""
    links = element.findall(ATOM + "link")
    faults = [f"{kind}: a link without href (4.2.7.1)" for link in links if not link.get("href")]
    alternates = [
        (link.get("type"), link.get("hreflang"))
        for link in links
        if link.get("rel", "alternate") == "alternate"
    ]
    if len(alternates) != len(set(alternates)):
        faults.append(f"{kind}: two alternate links of one type and language (4.1)")
    if kind == "entry" and not alternates and element.find(ATOM + "content") is None:
        faults.append("entry: neither content nor an alternate link (4.1.2)")
    return faults


def faults_in_text(element: etree._Element, kind: str) -> list[str]:
    """Text constructs of a wrong type (3.1.1), or XHTML that is not one div (3.1.1.3)."""
    faults = []
    for name in ("title", "subtitle", "summary", "rights", "content"):
        for child in element.findall(ATOM + name):
            if child.get("type") not in TEXT_TYPES:
                faults.append(f"{kind}: {name} of type {child.get('type')} (3.1.1)")
            div = [grandchild.tag for grandchild in child]
            if child.get("type") == "xhtml" and div != ["{http://www.w3.org/1999/xhtml}div"]:
                faults.append(f"{kind}: XHTML {name} is not one div (3.1.1.3)")
            if child.get("type") != "xhtml" and len(child):
                faults.append(f"{kind}: {name} has elements inside though it is text (3.1.1.1)")
    return faults


def faults_in_feed(text: bytes) -> list[str]:
    """Everything in which a feed departs from RFC 4287's requirements."""
    feed = etree.fromstring(text)
    if feed.tag != ATOM + "feed":
        return [f"the root is {feed.tag} (2)"]
    entries = feed.findall(ATOM + "entry")
    faults = []
    for element, kind in [(feed, "feed"), *((entry, "entry") for entry in entries)]:
        for look in (faults_in_counts, faults_in_dates, faults_in_identity, faults_in_links, faults_in_text):
            faults += look(element, kind)
    if feed.find(ATOM + "author") is None and any(entry.find(ATOM + "author") is None for entry in entries):
        faults.append("neither the feed nor each entry has an author (4.1.1)")
    if not any(link.get("rel") == "self" for link in feed.findall(ATOM + "link")):
        faults.append("feed: no link to itself (4.1.1)")
    identities = [entry.findtext(ATOM + "id") for entry in entries]
    if len(identities) != len(set(identities)):
        faults.append("two entries share an id (4.1.2)")
    return faults


def test_every_required_element_is_there(site: Path) -> None:
    """RFC 4287 is kept, element by element: counts, dates, identities, people, links, text constructs."""
    faults = faults_in_feed((site / "feed.xml").read_bytes())
    assert not faults, "\n".join(faults)


def test_another_reader_understands_the_feed(site: Path) -> None:
    """The library feedparser reads the feed without complaint and finds its entries, newest first."""
    feedparser = pytest.importorskip("feedparser")
    read = feedparser.parse((site / "feed.xml").read_bytes())
    assert not read.bozo, read.get("bozo_exception")
    assert read.version == "atom10"
    assert read.entries
    dates = [entry.updated_parsed for entry in read.entries]
    assert dates == sorted(dates, reverse=True)
    assert read.feed.updated_parsed >= max(dates)
    assert all(entry.title and entry.link for entry in read.entries)


def test_pages_announce_the_feed(site: Path) -> None:
    """index.html names the feed, so that a reader's browser or program finds it."""
    links = soup(site / "index.html").select('link[rel="alternate"][type="application/atom+xml"]')
    assert [link["href"] for link in links] == ["feed.xml"]


# RFC 4287, 1.1: its own first example, with the link to itself that 4.1.1 asks for.
EXAMPLE = """<?xml version="1.0" encoding="utf-8"?>
<feed xmlns="http://www.w3.org/2005/Atom">
  <title>Example Feed</title>
  <link href="http://example.org/"/>
  <link rel="self" href="http://example.org/feed.atom"/>
  <updated>2003-12-13T18:30:02Z</updated>
  <author><name>John Doe</name></author>
  <id>urn:uuid:60a76c80-d399-11d9-b93C-0003939e0af6</id>
  <entry>
    <title>Atom-Powered Robots Run Amok</title>
    <link href="http://example.org/2003/12/13/atom03"/>
    <id>urn:uuid:1225c695-cfb8-4ebb-aaaa-80da344efa6a</id>
    <updated>2003-12-13T18:30:02Z</updated>
    <summary>Some text.</summary>
  </entry>
</feed>
"""


def test_the_standards_own_example_passes() -> None:
    """The judge has nothing against the example that opens RFC 4287 (1.1)."""
    assert faults_in_feed(EXAMPLE.encode()) == []


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("<title>Example Feed</title>", "", "0 title"),
        ("<updated>2003-12-13T18:30:02Z</updated>\n  <author>", "<author>", "0 updated"),
        ("18:30:02Z", "18:30", "no RFC 3339 date-time"),
        ("<author><name>John Doe</name></author>", "", "has an author"),
        ("<name>John Doe</name>", "", "a person without a name"),
        ("urn:uuid:1225c695-cfb8-4ebb-aaaa-80da344efa6a", "entry-1", "no absolute IRI"),
        ('<link href="http://example.org/2003/12/13/atom03"/>', "", "neither content nor an alternate"),
        ("<summary>", '<summary type="text/html">', "of type text/html"),
        ("Some text.", "Some <b>text</b>.", "elements inside"),
        ('<link rel="self" href="http://example.org/feed.atom"/>', "", "no link to itself"),
    ],
)
def test_a_feed_short_of_the_standard_is_found(old: str, new: str, words: str) -> None:
    """The judge of feeds sees each departure from RFC 4287."""
    assert old in EXAMPLE
    faults = faults_in_feed(EXAMPLE.replace(old, new).encode())
    assert any(words in fault for fault in faults), faults
