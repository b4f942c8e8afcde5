"""The data package: a household's movements, lines, totals and readings as open tables anyone can add up.

Tables are CSV (RFC 4180) described by a tabular data package with Table Schema (Frictionless Data, v1).  The
same journal gives the same bytes.  The licence is the keeper's to choose, so none is stated.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from journal import __version__
from journal.measures.periods import month_key
from journal.reckoning.tally import Tally
from journal.site.dataset_columns import FIGURES, LINES, MOVEMENTS, READINGS, SCHEMA, TABLES, Table
from journal.site.dataset_rows import Row, Rows
from journal.site.memory import key_of
from journal.site.wording import slug

DIALECT = {
    "delimiter": ",",
    "quoteChar": '"',
    "doubleQuote": True,
    "lineTerminator": "\r\n",
    "header": True,
}
DESCRIPTOR = "data/datapackage.json"
PROGRAM = "middenbook"
"""The property of the descriptor that holds what Table Schema has no word for."""


def data_files(tally: Tally) -> dict[str, bytes]:
    """Give the files of the data package, name to bytes, the descriptor last.

    A line is found on the page of its record's month.
    """
    rows = Rows(tally, lambda record: f"{month_key(tally.notes.records[record].date)}.html")
    moved = movements_file(rows, {month: movements_of(rows, month) for month in rows.months})
    files = {path_of(MOVEMENTS): moved, **{path_of(table): table_file(rows, table) for table in OTHERS}}
    described = {table.name: resource(table, files[path_of(table)]) for table in TABLES}
    return {**files, DESCRIPTOR: descriptor_file(rows, described)}


def movements_of(rows: Rows, month: str) -> bytes:
    """Give the rows of a month's movements as CSV without a head."""
    return MOVEMENTS.written(rows.movements(rows.months[month]), head=False)


def movements_key(rows: Rows, month: str, rests: str) -> str:
    """Name the rows of a month's movements by what they rest on: ``rests``, and what is told of others."""
    records = rows.notes.records
    lines = [
        (rows.line_ids[movement.record], records[movement.record].verb) for movement in rows.months[month]
    ]
    return key_of("movements", rests, rows.told_of_others, lines)


def movements_file(rows: Rows, written: Mapping[str, bytes]) -> bytes:
    """Put the months' rows together to the file of movements."""
    return b"".join((MOVEMENTS.written([]), *(written[month] for month in rows.months)))


OTHERS = tuple(table for table in TABLES if table is not MOVEMENTS)


def table_file(rows: Rows, table: Table) -> bytes:
    """Give the file of one of the other tables."""
    made: dict[str, Callable[[], Iterable[Row]]] = {
        LINES.name: rows.lines,
        FIGURES.name: rows.figures,
        READINGS.name: rows.readings,
    }
    return table.written(made[table.name]())


def path_of(table: Table) -> str:
    """Give the path of a table's file in the site."""
    return f"data/{table.name}.csv"


def descriptor_file(rows: Rows, described: Mapping[str, Mapping[str, Any]]) -> bytes:
    """Give the package's descriptor; ``described`` is what ``resource`` says of each table, by its name."""
    return written(descriptor(rows, [described[table.name] for table in TABLES]))


def written(document: Mapping[str, Any]) -> bytes:
    """Give a descriptor as JSON in UTF-8, in the order of its making."""
    return (json.dumps(document, ensure_ascii=False, indent=1) + "\n").encode()


def descriptor(rows: Rows, resources: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Describe the package (Data Package v1, profile ``tabular-data-package``)."""
    household = rows.household
    name = rows.discretion.words(household.name) or "a household"
    described: dict[str, Any] = {
        "name": slug(name) or "household",
        "profile": "tabular-data-package",
        "title": f"{name}: what was kept out of landfill, and where it went",
        "description": (
            "Kept by the household in a diary of plain text, not verified by others. Masses are wet masses "
            "in kg; own and shared doubts are standard uncertainties, those of totals are expanded, k = 2. "
            "Of private entries only dates and amounts are told. The licence is the household's to give."
        ),
        "keywords": ["vermicompost", "worm bin", "household waste", "diversion"],
    }
    if household.web_address:
        described["homepage"] = household.web_address
    described[PROGRAM] = about(rows)
    described["resources"] = resources
    return described


def resource(table: Table, data: bytes) -> dict[str, Any]:
    """Describe one table's file."""
    return {
        "name": table.name,
        "profile": "tabular-data-resource",
        "title": table.title,
        "description": table.description,
        "path": f"{table.name}.csv",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "bytes": len(data),
        "hash": f"sha256:{hashlib.sha256(data).hexdigest()}",
        "dialect": DIALECT,
        "schema": table.schema,
    }


def about(rows: Rows) -> dict[str, Any]:
    """Say whose package it is: the household as it shows itself, the time covered, the schema's version."""
    notes, household = rows.notes, rows.household
    days = sorted({entry.date for entry in notes.entries} | {record.date for record in notes.records})
    givers: dict[str, int] = {}
    for name in sorted({record.giver for record in notes.records if record.giver is not None}):
        shown = rows.discretion.giver(name)
        givers[shown] = givers.get(shown, 0) + household.givers[name].households
    return {
        "schema": SCHEMA,
        "program": __version__,
        "household": rows.discretion.words(household.name),
        "people": household.people,
        "units": household.units,
        "web_address": household.web_address,
        "first_day": days[0].isoformat() if days else None,
        "last_day": days[-1].isoformat() if days else None,
        "days_with_entries": len({entry.date for entry in notes.entries}),
        "lines": len(notes.records),
        "footprint": household.footprint,
        "goals": {
            "per_week_kg": household.goals.per_week,
            "years_kg": {f"{year:04d}": kg for year, kg in sorted(household.goals.years.items())},
        },
        "givers": [{"shown_as": shown, "households": number} for shown, number in sorted(givers.items())],
    }
