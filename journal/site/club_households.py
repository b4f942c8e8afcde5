"""The pages of a club's households: the table of all, each one's years, and the lines behind its figures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from journal.measures.doubt import Sum
from journal.reckoning.club import Member
from journal.site.club_edition import HEADLINES, MOST_HOUSES, ClubEdition, Line, heads, in_pages, turn
from journal.site.templates import Page
from journal.site.views.tables import NUMBER, by_stream, head, link, row, table
from journal.site.wording import View, counted, day_in_words

MOST_LINES = 800
MOST_DIFFERENCES = 100


def household_pages(edition: ClubEdition) -> Iterator[Page]:
    """Give the table of households, and each one's pages."""
    yield from households(edition)
    for member in edition.club.members:
        yield Page(edition.page_of(member), "club-household.html", household(edition, member))
        if not member.web_address:
            yield from lines(edition, member)


def households(edition: ClubEdition) -> Iterator[Page]:
    """Give the table of households since the start, in as many pages as keep light."""
    parts = in_pages(list(edition.club.members), MOST_HOUSES)
    names = ["households.html", *(f"households-{number}.html" for number in range(2, len(parts) + 1))]
    leaves = [
        (name, f"households {part[0].name} to {part[-1].name}")
        for name, part in zip(names, parts, strict=True)
        if part
    ]
    for at, (name, part) in enumerate(zip(names, parts, strict=True)):
        rows = [house_row(edition, member) for member in part]
        several = f", page {at + 1}" if len(parts) > 1 else ""
        yield Page(
            name,
            "club-households.html",
            {
                **edition.frame(
                    name,
                    f"Households{several} · {edition.name}",
                    f"What each household kept out of landfill{several}.",
                    section="households.html",
                    turn=turn(leaves, at),
                ),
                "title": "",
                "houses": table(
                    f"Since the start, in {edition.writer.unit}{several}",
                    heads("Household", "Days"),
                    rows,
                    wide=True,
                ),
            },
        )


def house_row(edition: ClubEdition, member: Member) -> View:
    """Give a household's row: its figures since the start, and on how many days something moved."""
    totals = edition.figures.members.get(member.number)
    page = edition.page_of(member)
    cells = [edition.cell(totals[name], page) if totals else None for name in HEADLINES]
    return row(link(member.name, page), *cells, f"{member.days:,}")


def household(edition: ClubEdition, member: Member) -> View:
    """Give one household: its years and streams, what it handed on, and where its totals differ."""
    figures = edition.figures
    rows = []
    for year in edition.years_of.get(member.number, []):
        totals, href = figures.member_years[member.number, year], edition.lines_of(member, year)
        rows.append(row(link(str(year), href), *(edition.cell(totals[name], href) for name in HEADLINES)))
    by_streams = [
        row(
            stream, *(edition.cell(figures.member_streams[member.number, stream][name]) for name in HEADLINES)
        )
        for stream in by_stream(edition.streams_of.get(member.number, []))
    ]
    page = edition.page_of(member)
    whole = figures.members.get(member.number)
    return {
        **edition.frame(
            page,
            f"{member.name} · {edition.name}",
            f"What {member.name} kept out of landfill, year by year.",
            section="households.html",
        ),
        "name": member.name,
        "under": covered(member),
        "address": member.web_address,
        "account": edition.account(whole) if whole else [],
        "years": table(f"By year, in {edition.writer.unit}", heads("Year"), rows, wide=True),
        "streams": table(f"By stream, in {edition.writer.unit}", heads("Stream"), by_streams, wide=True),
        "differences": differences(edition, member),
        "handed": handed(edition, member),
    }


def covered(member: Member) -> str:
    """Say what time a household tells of."""
    if member.first is None or member.last is None:
        return "Nothing is told yet."
    people = "" if member.people is None else f", {counted(member.people, 'person', 'people')}"
    return (
        f"{day_in_words(member.first)} to {day_in_words(member.last)}, {counted(member.days, 'day')} on "
        f"which something moved, {counted(member.movements, 'movement')}{people}. Kept by the household, "
        "not verified by others."
    )


def differences(edition: ClubEdition, member: Member) -> View | None:
    """Give the totals that a household's package states otherwise than its movements add up to."""
    found = [one for one in edition.club.differences if one.member == member.number]
    if not found:
        return None
    rows = [
        row(
            f"{HEADLINES.get(one.figure, one.figure)}, {one.scope}"
            + ("" if one.name == "all" else f" {one.name}"),
            "its total" if one.what == "total" else "its doubt",
            "nothing" if one.stated is None else f"{one.stated:,.6g} kg",
            f"{one.recomputed:,.6g} kg",
            f"{one.by:+,.6g} kg",
        )
        for one in found[:MOST_DIFFERENCES]
    ]
    names = head("Figure", "What", ("Stated", NUMBER), ("Added up", NUMBER), ("Difference", NUMBER))
    return table("Stated otherwise than it adds up", names, rows)


def handed(edition: ClubEdition, member: Member) -> View | None:
    """Give what came off a household's count because other members took it in."""
    names = {one.number: one.name for one in edition.club.members}
    sums: dict[tuple[int, str, str], float] = {}
    for one in edition.club.handed_on:
        if one.giver == member.number:
            key = (one.receiver, one.stream, one.how)
            sums[key] = sums.get(key, 0.0) + one.kg
    if not sums:
        return None
    told = {
        "at the door": "written as passed on",
        "from store": "written as passed on",
        "unwritten": "still on hand by its own book",
    }
    rows = [
        row(names.get(receiver, "another member"), stream, told[how], edition.writer.plain_weight(kg))
        for (receiver, stream, how), kg in sorted(sums.items())
    ]
    heads_ = head("Counted at", "Stream", "Found", ("Weight", NUMBER))
    return table("Handed to other members, and counted there", heads_, rows)


def lines(edition: ClubEdition, member: Member) -> Iterator[Page]:
    """Give the pages with a household's lines, a year or a part of one on each."""
    by_year: dict[int, list[Line]] = {}
    for one in edition.lines(member.number):
        by_year.setdefault(one.day.year, []).append(one)
    for year, all_lines in sorted(by_year.items()):
        stem = f"{edition.files[member.number]}-{year:04d}"
        parts = in_pages(all_lines, MOST_LINES)
        names = [f"{stem}.html", *(f"{stem}-{number}.html" for number in range(2, len(parts) + 1))]
        leaves = [
            (name, f"lines from {day_in_words(part[0].day)}") for name, part in zip(names, parts, strict=True)
        ]
        for at, (name, part) in enumerate(zip(names, parts, strict=True)):
            several = f", part {at + 1}" if len(parts) > 1 else ""
            yield Page(
                name,
                "club-lines.html",
                {
                    **edition.frame(
                        name,
                        f"{member.name}, {year}{several} · {edition.name}",
                        f"The lines of {member.name} in {year}{several}.",
                        section="households.html",
                        turn=turn(leaves, at),
                    ),
                    "name": member.name,
                    "year": str(year),
                    "back": edition.page_of(member),
                    "lines": lines_table(edition, part),
                },
            )


def lines_table(edition: ClubEdition, part: Sequence[Line]) -> View:
    """Give lines with their weight, doubt, and the figures to which they add."""
    rows: list[Any] = []
    for one in part:
        total = Sum()
        total.add(one.kg, one.doubt / 2, {})
        adds = ", ".join(
            f"{'+' if times > 0 else '−'} {HEADLINES[figure]}"
            + ("" if abs(times) in (0, 1) else f" × {abs(times):.3g}")
            for figure, times in one.adds.items()
            if times
        )
        what = one.what or "not told"
        rows.append(
            row(
                f"{one.day.isoformat()}",
                f"{one.verb} {what}",
                one.giver,
                edition.writer.weight(total),
                adds,
                identity=f"m{one.id}",
            )
        )
    unit = edition.writer.unit
    return table(
        "Movements that add to a figure",
        head("Day", "What", "Whose", (f"Weight, {unit}", NUMBER), "Adds to"),
        rows,
        wide=True,
    )
