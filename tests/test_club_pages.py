"""A club's pages stay light and whole however many households and lines there are."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest

from journal.commands.shipped import site_templates
from journal.measures.doubt import Sum
from journal.notes.household import Goals
from journal.reckoning.club import Club, ClubFigures, Member, Participation, Totals, gather
from journal.reckoning.diversion import FIGURES
from journal.site.club_edition import ClubEdition, Imprint, Line
from journal.site.club_pages import club_site
from journal.site.templates import Templates

HOUSES = 520
MOST_BYTES = 300_000
DAY = dt.date(2025, 6, 2)


def figures(houses: int) -> ClubFigures:
    """Totals of so many households, each with a thousand kilograms a figure."""
    rows: list[
        tuple[int | None, int | None, dt.date | None, dt.date | None, str | None, str, float, float]
    ] = []
    for figure in FIGURES:
        rows.append((None, None, None, None, None, figure, 1000.0 * houses, 9.0))
        rows.append((None, 2025, None, None, None, figure, 1000.0 * houses, 9.0))
        rows.append((None, None, DAY.replace(day=1), None, None, figure, 1000.0 * houses, 9.0))
        rows.append((None, None, DAY.replace(day=1), None, "paper", figure, 1000.0 * houses, 9.0))
        rows.append((None, None, None, DAY, None, figure, 1000.0 * houses, 9.0))
        for number in range(1, houses + 1):
            rows.append((number, None, None, None, None, figure, 1234.5, 9.0))
            rows.append((number, 2025, None, None, None, figure, 1234.5, 9.0))
    return gather(rows)


def lines_of(_: int) -> Iterator[Line]:
    """Two thousand lines of one year."""
    for number in range(2000):
        adds = {"taken_in": 1.0, "kept_out_of_landfill": 0.65, "kept_in_use": 1.0}
        yield Line(
            f"2025-06-02-{number}",
            DAY,
            "",
            "took in",
            "corrugated cardboard",
            "a house nearby",
            1.5,
            0.1,
            adds,
        )


def member(number: int, name: str, web_address: str, day: dt.date | None = DAY) -> Member:
    """A household of two people with movements of one day."""
    return Member(
        number, name, "", 2, web_address, footprint=True, first=day, last=day, days=1, movements=2000
    )


def edition_of(houses: int, web_address: str) -> ClubEdition:
    """A club of so many households."""
    name = "The house of many words number {:04d}"
    members = [member(number, name.format(number), web_address) for number in range(1, houses + 1)]
    club = Club(members, figures(houses), Participation({DAY: houses}, {DAY.replace(day=1): houses}))
    imprint = Imprint("Every street", "https://club.example.org", goals=Goals(10.0, {2025: 1e6}))
    return ClubEdition(club, imprint, None, lines_of)


def made(edition: ClubEdition) -> dict[str, bytes]:
    """Every file of a club's site."""
    return dict(club_site(edition, Templates([site_templates()])))


def test_pages_of_many_households_stay_light() -> None:
    """520 households take several light pages, and every one stands in a table once."""
    files = made(edition_of(HOUSES, "https://the-house-of-many-words.example.org/worms/"))
    heavy = {
        name: len(data) for name, data in files.items() if name.endswith(".html") and len(data) > MOST_BYTES
    }
    assert not heavy
    for kind in ("households", "year-2025"):
        pages = [name for name in files if name.startswith(kind) and name.endswith(".html")]
        assert len(pages) == 3
        told = b"".join(files[name] for name in pages)
        for number in (1, 250, 251, 520):
            assert told.count(f"number {number:04d}</a></th>".encode()) == 1
    assert b"https://club.example.org/year-2025-3.html" in files["sitemap.xml"]


def test_lines_of_a_long_year_are_parted() -> None:
    """Two thousand lines of one year take several pages that lead to one another."""
    files = made(edition_of(1, ""))
    pages = sorted(name for name in files if "-2025" in name and name.startswith("house-"))
    assert len(pages) == 3
    assert all(len(files[name]) <= MOST_BYTES for name in pages)
    assert sum(files[name].count(b"<tr id=") for name in pages) == 2000
    assert pages[1].encode() in files[pages[0]]


@pytest.mark.parametrize("name", ["club-index.html", "club-household.html", "club-lines.html"])
def test_a_keepers_own_template_comes_first(tmp_path: Path, name: str) -> None:
    """A club can extend a shipped template of the same name."""
    text = '{% extends "shipped/' + name + '" %}{% block colophon %}<p>Set by ourselves.</p>{% endblock %}'
    (tmp_path / name).write_text(text, encoding="utf-8")
    files = dict(club_site(edition_of(2, ""), Templates([tmp_path, site_templates()])))
    assert any(b"Set by ourselves." in data for data in files.values())


def test_a_club_without_figures_is_still_a_site() -> None:
    """Households that have nothing to tell yet give pages, not a crash."""
    nothing: Totals = {figure: Sum() for figure in FIGURES}
    empty = ClubFigures(nothing, {}, {}, {}, {}, {}, {}, {}, {}, {})
    edition = ClubEdition(
        Club([member(1, "New", "", None)], empty, Participation({}, {})), Imprint(), None, lambda _: iter(())
    )
    files = made(edition)
    assert b"Nothing is told yet." in files["house-new.html"]
    assert b"1 household with 2 people, as of no day yet" in files["index.html"]
