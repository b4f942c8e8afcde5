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
from journal.reckoning.movements import Movement
from journal.reckoning.tally import Tally
from journal.site.dataset_columns import FIGURES, LINES, MOVEMENTS, READINGS, SCHEMA, TABLES, Table
from journal.site.dataset_rows import Row, Rows
from journal.site.memory import Memory, Recollection, key_of, remembered
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


class RememberedMonths:
    """The rows of a month's movements as they were written before: ``rests`` says what a month rests on."""

    def __init__(self, memory: Memory, rests: Callable[[str], str]) -> None:
        self.memory = memory
        self.rests = rests

    def written(self, rows: Rows, month: str, movements: Sequence[Movement]) -> bytes:
        """Give a month's movements as CSV without a head."""
        ids = [rows.line_ids[movement.record] for movement in movements]
        key = key_of("movements", self.rests(month), rows.told_of_others, ids)
        return remembered(self.memory, key, lambda: MOVEMENTS.written(rows.movements(movements), head=False))


def data_files(tally: Tally) -> dict[str, bytes]:
    """Give the files of the data package, name to bytes, the descriptor last.

    A line is found on the page of its record's month.
    """
    rows = Rows(tally, lambda record: f"{month_key(tally.notes.records[record].date)}.html")
    files = {path_of(table): table_file(rows, table) for table in TABLES}
    return {**files, DESCRIPTOR: descriptor_file(rows, files)}


def table_file(rows: Rows, table: Table, months: RememberedMonths | None = None) -> bytes:
    """Give the file of one table."""
    if table is MOVEMENTS:
        known = months or RememberedMonths(Recollection(), str)
        moved = [known.written(rows, month, movements) for month, movements in rows.months()]
        return b"".join((MOVEMENTS.written([]), *moved))
    made: dict[str, Callable[[], Iterable[Row]]] = {
        LINES.name: rows.lines,
        FIGURES.name: rows.figures,
        READINGS.name: rows.readings,
    }
    return table.written(made[table.name]())


def path_of(table: Table) -> str:
    """Give the path of a table's file in the site."""
    return f"data/{table.name}.csv"


def descriptor_file(rows: Rows, files: Mapping[str, bytes]) -> bytes:
    """Give the descriptor of the tables' files by their paths."""
    return written(descriptor(rows, files))


def written(document: Mapping[str, Any]) -> bytes:
    """Give a descriptor as JSON in UTF-8, in the order of its making."""
    return (json.dumps(document, ensure_ascii=False, indent=1) + "\n").encode()


def descriptor(rows: Rows, files: Mapping[str, bytes]) -> dict[str, Any]:
    """Describe the package (Data Package v1, profile ``tabular-data-package``)."""
    household = rows.household
    name = household.name or "a household"
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
    described["resources"] = [resource(table, files[path_of(table)]) for table in TABLES]
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
        "household": household.name,
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
