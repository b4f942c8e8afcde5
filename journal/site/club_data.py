"""A club's totals as open tables with a schema, as its members' are."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Any

from journal import __version__
from journal.reckoning.club import Totals
from journal.site.club_edition import ClubEdition
from journal.site.dataset import DESCRIPTOR, path_of, resource, written
from journal.site.dataset_columns import NOT_NEGATIVE, REQUIRED, Column, Table
from journal.site.wording import slug

TOTALS = Table(
    "totals",
    "Totals of the club",
    "One row a figure of a period, stream or household, or of two of these; what is empty is not told apart.",
    (
        Column("household", "string", "Which household"),
        Column("year", "integer", "Which year, a number"),
        Column("month", "string", "Which month"),
        Column("week", "date", "The Monday of which week"),
        Column("stream", "string", "Which stream of waste"),
        Column("figure", "string", "Which figure", "", REQUIRED),
        Column("kg", "number", "The total in kg", "kg", REQUIRED),
        Column("doubt_kg", "number", "Its expanded doubt in kg (coverage factor k = 2)", "kg", NOT_NEGATIVE),
    ),
    ("household", "year", "month", "week", "stream", "figure"),
)
HOUSEHOLDS = Table(
    "households",
    "Households of the club",
    "One row a household.",
    (
        Column(
            "household", "string", "The name it goes by in the club", "", {"required": True, "unique": True}
        ),
        Column("people", "integer", "Number of people, where told"),
        Column("first_day", "date", "The first day it tells of"),
        Column("last_day", "date", "The last day it tells of"),
        Column("days", "integer", "Number of days on which something moved", "", NOT_NEGATIVE),
        Column("movements", "integer", "Number of its movements", "", NOT_NEGATIVE),
        Column("web_address", "string", "Its own site"),
    ),
    ("household",),
)
HANDED = Table(
    "handed",
    "Handed from member to member",
    "One row a movement that comes off the giver's count, because the receiver counts it.",
    (
        Column("giver", "string", "The household that gave", "", REQUIRED),
        Column("receiver", "string", "The household that took it in", "", REQUIRED),
        Column("stream", "string", "Which stream of waste", "", REQUIRED),
        Column(
            "how",
            "string",
            "How it was found",
            "",
            {"required": True, "enum": ["at the door", "from store", "unwritten"]},
        ),
        Column(
            "movement",
            "string",
            "Which movement of the giver; of the receiver where the giver wrote none",
            "",
            REQUIRED,
        ),
        Column("kg", "number", "Mass in kg", "kg", NOT_NEGATIVE),
    ),
    ("giver", "receiver", "how", "movement"),
)
TABLES = (TOTALS, HOUSEHOLDS, HANDED)


def club_data(edition: ClubEdition) -> dict[str, bytes]:
    """Give the files of the club's data package, the descriptor last."""
    club = edition.club
    names = {member.number: member.name for member in club.members}
    rows: dict[str, Iterator[list[Any]] | list[list[Any]]] = {
        "totals": _totals(edition, names),
        "households": [
            [one.name, one.people, _day(one.first), _day(one.last), one.days, one.movements, one.web_address]
            for one in club.members
        ],
        "handed": [
            [names.get(one.giver, ""), names.get(one.receiver, ""), one.stream, one.how, one.id, one.kg]
            for one in club.handed_on
        ],
    }
    files = {path_of(each): each.written(rows[each.name]) for each in TABLES}
    files[DESCRIPTOR] = written(_descriptor(edition, files))
    return files


def _day(day: dt.date | None) -> str:
    return "" if day is None else day.isoformat()


def _totals(edition: ClubEdition, names: Mapping[int, str]) -> Iterator[list[Any]]:
    figures = edition.figures
    heaps: list[tuple[list[Any], Totals]] = [(["", None, "", "", ""], figures.whole)]
    heaps += [(["", year, "", "", ""], totals) for year, totals in figures.years.items()]
    heaps += [(["", None, f"{month:%Y-%m}", "", ""], totals) for month, totals in figures.months.items()]
    heaps += [(["", None, "", week.isoformat(), ""], totals) for week, totals in figures.weeks.items()]
    heaps += [(["", None, "", "", stream], totals) for stream, totals in figures.streams.items()]
    heaps += [
        (["", year, "", "", stream], totals)
        for (year, stream), totals in figures.year_streams.items()
        if stream
    ]
    heaps += [
        (["", None, f"{month:%Y-%m}", "", stream], totals)
        for (month, stream), totals in figures.month_streams.items()
        if stream
    ]
    heaps += [([names[number], None, "", "", ""], totals) for number, totals in figures.members.items()]
    heaps += [
        ([names[number], year, "", "", ""], totals) for (number, year), totals in figures.member_years.items()
    ]
    heaps += [
        ([names[number], None, "", "", stream], totals)
        for (number, stream), totals in figures.member_streams.items()
        if stream
    ]
    for key, totals in heaps:
        for name, total in totals.items():
            if total.value or total.variance:
                yield [*key, name, total.value, total.expanded]


def _descriptor(edition: ClubEdition, files: Mapping[str, bytes]) -> dict[str, Any]:
    address = {"homepage": edition.site["address"]} if edition.site["address"] else {}
    return {
        "name": slug(edition.name) or "club",
        "profile": "tabular-data-package",
        "title": f"{edition.name}: what was kept out of landfill",
        "description": (
            "Added up from the movements of its households, not from their totals; what one member handed to "
            "another counts once. Kept by the households, not verified by others. Masses in kg, doubts "
            "expanded with k = 2."
        ),
        **address,
        "middenbook": {"club": 1, "program": __version__, "as_of": edition.as_of.isoformat()},
        "resources": [resource(each, files[path_of(each)]) for each in TABLES],
    }
