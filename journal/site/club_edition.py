"""One edition of a club's site: its name, its members' pages, and how its figures are written and linked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

from journal import __version__
from journal.measures.doubt import Sum
from journal.notes.household import Goals, Household
from journal.reckoning.club import Club, Member, Totals
from journal.reckoning.footprint import Footprint
from journal.site.views.tables import NUMBER, head
from journal.site.wording import View, Writer, day_in_words, slug

HOME = "index.html"
MOST_HOUSES = 250
"""So many households in one table keep a page light."""

HEADLINES = {
    "kept_out_of_landfill": "kept out of landfill",
    "taken_in": "taken in",
    "kept_in_use": "kept in use",
    "thrown_out": "thrown out",
    "castings_harvested": "castings harvested",
    "castings_spread": "castings spread",
}
COLUMNS = {
    "kept_out_of_landfill": "Kept out",
    "taken_in": "Taken in",
    "kept_in_use": "In use",
    "thrown_out": "Thrown out",
    "castings_harvested": "Castings",
    "castings_spread": "Spread",
}
PLAIN_PAGE: View = {"section": "", "card": None, "turn": []}


class Line(NamedTuple):
    """One movement of a member that adds to a figure; mass and expanded doubt (k = 2) in kg."""

    id: str
    day: dt.date
    entry: str
    verb: str
    what: str
    giver: str
    kg: float
    doubt: float
    adds: Mapping[str, float]  # figure -> how often its mass


Lines = Callable[[int], Iterator[Line]]
"""The lines of a member, in the order of their days."""


@dataclass(frozen=True, slots=True)
class Imprint:
    """What a club says of itself: its name, where its site lies, its units and its goals."""

    name: str = ""
    web_address: str = ""
    units: str = "us"
    goals: Goals = field(default_factory=Goals)


class ClubEdition:
    """Everything that the pages of a club share."""

    def __init__(self, club: Club, imprint: Imprint, footprint: Footprint | None, lines: Lines) -> None:
        self.club = club
        self.imprint = imprint
        self.footprint = footprint
        self.lines = lines
        self.figures = club.figures
        self.writer = Writer(Household(units=imprint.units))
        self.as_of = club.as_of or dt.date.min
        self.name = imprint.name or "A club of worm keepers"

    @cached_property
    def years(self) -> list[int]:
        """Every year with figures, in order."""
        return sorted(self.figures.years)

    @cached_property
    def files(self) -> dict[int, str]:
        """The stem of each member's files, each its own."""
        files: dict[int, str] = {}
        taken: set[str] = set()
        for member in self.club.members:
            stem = slug(member.name)[:60] or "household"
            while stem in taken:
                stem = f"{stem}-{member.number}"
            taken.add(stem)
            files[member.number] = f"house-{stem}"
        return files

    @cached_property
    def years_of(self) -> dict[int, list[int]]:
        """The years of each member that has figures, the newest first."""
        years: dict[int, list[int]] = {}
        for member, year in sorted(self.figures.member_years, reverse=True):
            years.setdefault(member, []).append(year)
        return years

    @cached_property
    def streams_of(self) -> dict[int, list[str]]:
        """The streams of waste of each member that has figures."""
        streams: dict[int, list[str]] = {}
        for member, stream in self.figures.member_streams:
            if stream:
                streams.setdefault(member, []).append(stream)
        return streams

    def page_of(self, member: Member) -> str:
        """Give the address of a member's page."""
        return f"{self.files[member.number]}.html"

    def lines_of(self, member: Member, year: int) -> str:
        """Give the address of a member's lines of a year: on its own site where it has one."""
        if member.web_address:
            address = member.web_address
            return f"{address if address.endswith('/') else address + '/'}year-{year:04d}.html"
        return f"{self.files[member.number]}-{year:04d}.html"

    @cached_property
    def site(self) -> View:
        """What every page says of the whole site."""
        address = self.imprint.web_address.strip()
        left_out = len(self.club.left_out)
        contents = [("The club", HOME), ("Months", "months.html"), ("Households", "households.html")]
        contents += [(str(self.years[-1]), f"year-{self.years[-1]:04d}.html")] if self.years else []
        contents += [("Reckoning", "reckoning.html")]
        return {
            "name": self.name,
            "address": address if not address or address.endswith("/") else f"{address}/",
            "as_of": day_in_words(self.as_of) if self.club.as_of else "no day yet",
            "version": __version__,
            "feed": "",
            "contents": [{"title": title, "href": href} for title, href in contents],
            "left_out": f"{left_out} of the packages given could not be taken in and are not counted."
            if left_out
            else "",
        }

    def frame(self, address: str, title: str, description: str, **more: Any) -> View:  # noqa: ANN401 - parts of a page
        """Give what the frame of one page needs."""
        where = "" if address == HOME else address
        page = {**PLAIN_PAGE, "address": where, "title": title, "description": description}
        return {"site": self.site, "page": {**page, "section": address, **more}}

    def cell(self, total: Sum | None, href: str = "") -> View | None:
        """Give a total for a table, or nothing where there is none."""
        return (
            None
            if total is None or (not total.value and not total.variance)
            else self.writer.weight(total, href)
        )

    def account(self, totals: Totals, hrefs: Mapping[str, str] | None = None) -> list[View]:
        """Give the six figures, those without anything left out but the first."""
        return [
            {"words": words, "figure": self.writer.weight(totals[name], (hrefs or {}).get(name, ""))}
            for name, words in HEADLINES.items()
            if name == "kept_out_of_landfill" or totals[name].value
        ]


def in_pages(rows: Sequence[Any], most: int) -> list[Sequence[Any]]:
    """Part rows into pages of at most so many."""
    return [rows[start : start + most] for start in range(0, len(rows), most)] or [rows]


def heads(first: str, *more: str) -> list[View]:
    """Give the heads of a table of the six figures; their unit stands in the caption."""
    return head(first, *((one, NUMBER) for one in (*COLUMNS.values(), *more)))


def turn(leaves: Sequence[tuple[str, str]], here: int) -> list[View]:
    """Give the links to the page before and the page after, of (address, words) in order."""
    beside = []
    if here > 0:
        beside.append({"href": leaves[here - 1][0], "words": f"← {leaves[here - 1][1]}", "rel": "prev"})
    if here + 1 < len(leaves):
        beside.append({"href": leaves[here + 1][0], "words": f"{leaves[here + 1][1]} →", "rel": "next"})
    return beside
