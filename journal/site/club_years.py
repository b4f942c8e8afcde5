"""The pages of a club's years: each year's streams, and every household with the way to its lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from journal.reckoning.club import Member
from journal.site.club_edition import HEADLINES, MOST_HOUSES, ClubEdition, heads, in_pages, turn
from journal.site.templates import Page
from journal.site.views.tables import by_stream, link, row, table
from journal.site.wording import View


def year_pages(edition: ClubEdition) -> Iterator[Page]:
    """Give each year's page, and further pages where it has more households than one page can hold."""
    parts: list[tuple[str, str, int, int, Sequence[Member]]] = []
    for year in edition.years:
        there = [one for one in edition.club.members if (one.number, year) in edition.figures.member_years]
        for number, part in enumerate(in_pages(there, MOST_HOUSES), start=1):
            several = "" if number == 1 else f"-{number}"
            words = str(year) if number == 1 else f"{year}, page {number}"
            parts.append((f"year-{year:04d}{several}.html", words, year, number, part))
    leaves = [(name, words) for name, words, *_ in parts]
    for at, (name, words, year, number, part) in enumerate(parts):
        frame = edition.frame(
            name,
            f"{words} · {edition.name}",
            f"What each household kept out of landfill: {words}.",
            section=f"year-{year:04d}.html",
            turn=turn(leaves, at),
        )
        houses = year_table(edition, year, part, words)
        if number == 1:
            yield Page(name, "club-year.html", {**frame, **year_view(edition, year), "houses": houses})
        else:
            yield Page(name, "club-households.html", {**frame, "title": words, "houses": houses})


def year_view(edition: ClubEdition, year: int) -> View:
    """Give what all households came to together in a year, and its streams."""
    figures = edition.figures
    streams = by_stream(stream for at, stream in figures.year_streams if at == year and stream)
    rows = [
        row(stream, *(edition.cell(figures.year_streams[year, stream][figure]) for figure in HEADLINES))
        for stream in streams
    ]
    caption = f"{year} by stream, in {edition.writer.unit}"
    return {
        "year": str(year),
        "account": edition.account(figures.years[year]),
        "streams": table(caption, heads("Stream"), rows, wide=True),
    }


def year_table(edition: ClubEdition, year: int, part: Sequence[Member], words: str) -> View:
    """Give some households' figures of a year, each leading to the lines that it was added up from."""
    figures = edition.figures
    rows = []
    for member in part:
        totals, href = figures.member_years[member.number, year], edition.lines_of(member, year)
        cells = (edition.cell(totals[figure], href) for figure in HEADLINES)
        rows.append(row(link(member.name, edition.page_of(member)), *cells))
    foot = row("All together", *(edition.cell(figures.years[year][figure]) for figure in HEADLINES))
    return table(f"{words} by household, in {edition.writer.unit}", heads("Household"), rows, foot, wide=True)
