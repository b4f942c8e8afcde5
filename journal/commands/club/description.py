"""Reads a package's description: whose it is, and whether its tables are those this program knows."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Mapping
from typing import Any, NamedTuple, NoReturn

from journal.commands.club.packages import Refused
from journal.site.dataset import PROGRAM
from journal.site.dataset_columns import FIGURES, MOVEMENTS, SCHEMA, Table

MOST_LETTERS = 200
MOST_PEOPLE = 1000
_WEB = re.compile(r"https?://[^\s\"'<>\\]{1,400}", re.IGNORECASE)
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]")


class Description(NamedTuple):
    """What a package says of itself: whose it is, the days it covers, its givers, its tables' SHA-256."""

    household: str
    people: int | None
    units: str
    web_address: str
    first: dt.date | None
    last: dt.date | None
    footprint: bool
    program: str
    givers: tuple[str, ...]  # as shown
    hashes: Mapping[str, str]  # file name -> SHA-256


def read_description(data: bytes, label: str) -> Description:
    """Read datapackage.json.  Raises Refused with a sentence."""
    document = _mapping(_parsed(data, label), label, "the description")
    about = _mapping(document.get(PROGRAM), label, f'"{PROGRAM}"')
    schema = about.get("schema")
    if not isinstance(schema, int) or isinstance(schema, bool) or schema < 1:
        _refuse(label, "does not say which schema its tables keep")
    if schema != SCHEMA:
        newer = "a newer" if schema > SCHEMA else "an older"
        _refuse(
            label,
            f"was made by {newer} version of the program (schema {schema}, not {SCHEMA}); publish it again",
        )
    return Description(
        household=_words(about, "household", label) or _refuse(label, "does not name its household"),
        people=_people(about.get("people"), label),
        units="metric" if about.get("units") == "metric" else "us",
        web_address=_web(about.get("web_address")),
        first=_day(about.get("first_day"), label),
        last=_day(about.get("last_day"), label),
        footprint=about.get("footprint") is not False,
        program=_words(about, "program", label),
        givers=_givers(about.get("givers"), label),
        hashes={f"{table.name}.csv": _checked(document, table, label) for table in (MOVEMENTS, FIGURES)},
    )


def _parsed(data: bytes, label: str) -> object:
    def never(_: str) -> NoReturn:
        raise ValueError("a number that is none")

    try:
        parsed: object = json.loads(data.decode("utf-8"), parse_constant=never)
    except (ValueError, RecursionError) as fault:
        _refuse(label, f"has a description that cannot be read: {fault}")
    return parsed


def _checked(document: Mapping[str, Any], table: Table, label: str) -> str:
    """Give the SHA-256 of a table's file, once its columns are known to be ours."""
    resources = document.get("resources")
    found = (
        [one for one in resources if isinstance(one, dict) and one.get("name") == table.name]
        if isinstance(resources, list)
        else []
    )
    if len(found) != 1:
        _refuse(label, f"does not describe one table {table.name}")
    if found[0].get("path") != f"{table.name}.csv":
        _refuse(label, f"keeps its table {table.name} elsewhere than in {table.name}.csv")
    schema = _mapping(found[0].get("schema"), label, f"the schema of {table.name}")
    fields = schema.get("fields")
    columns = [
        (one.get("name"), one.get("type")) if isinstance(one, dict) else (None, None)
        for one in (fields if isinstance(fields, list) else [])
    ]
    if columns != [(column.name, column.type) for column in table.columns]:
        _refuse(label, f"has other columns in {table.name} than schema {SCHEMA}")
    digest = found[0].get("hash")
    if not isinstance(digest, str) or not re.fullmatch(r"sha256:[0-9a-f]{64}", digest):
        _refuse(label, f"does not give the SHA-256 of {table.name}.csv")
    return digest.removeprefix("sha256:")


def _mapping(value: object, label: str, what: str) -> Mapping[str, Any]:
    if not isinstance(value, dict):
        _refuse(label, f"was not published by this program: {what} is missing")
    return value


def _words(about: Mapping[str, Any], key: str, label: str) -> str:
    value = about.get(key)
    if not isinstance(value, str) or len(value) > MOST_LETTERS:
        _refuse(label, f"gives no {key.replace('_', ' ')} of at most {MOST_LETTERS} letters")
    return " ".join(_CONTROL.sub(" ", value).split())


def _people(value: object, label: str) -> int | None:
    if value is None:
        return None
    if not isinstance(value, int) or isinstance(value, bool) or not 0 < value <= MOST_PEOPLE:
        _refuse(label, "gives a number of people that no household has")
    return value


def _givers(value: object, label: str) -> tuple[str, ...]:
    listed = value if isinstance(value, list) else [None]
    names = [one.get("shown_as") if isinstance(one, dict) else None for one in listed]
    if any(not isinstance(name, str) or len(name) > MOST_LETTERS for name in names):
        _refuse(label, "does not name its givers as they are shown")
    return tuple(str(name) for name in names)


def _web(value: object) -> str:
    """Give the address where it is one that a page may link to, else nothing."""
    return value if isinstance(value, str) and _WEB.fullmatch(value) else ""


def _day(value: object, label: str) -> dt.date | None:
    if value is None:
        return None
    try:
        return dt.date.fromisoformat(str(value))
    except ValueError:
        _refuse(label, "covers days that are no dates")


def _refuse(label: str, why: str) -> NoReturn:
    raise Refused(f"{label} {why}")
