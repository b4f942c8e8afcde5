"""Rows of a spreadsheet become record lines, each tried by the reader of the entry language."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from journal.commands.bring_in.columns import MEASURED, Column, is_nothing
from journal.commands.bring_in.dates import read_date
from journal.commands.bring_in.entries import as_prose
from journal.commands.bring_in.numerals import amount_words
from journal.commands.bring_in.sentences import (
    ASIDE,
    NAMED,
    Plan,
    Unclear,
    cell_words,
    checked,
    said_in,
    text_of,
)
from journal.commands.bring_in.sheets import Row
from journal.measures.units import BY_SYMBOL
from journal.notes.lines import Sentence
from journal.notes.names import fold

_TOTAL = re.compile(r"\b(?:sub)?(?:totals?|sums?|averages?|mean|avg)\b", re.IGNORECASE)
COMPOUNDS: Sequence[set[str]] = ({"lb", "oz"}, {"stone", "lb"}, {"kg", "g"})  # units of one amount
_ZERO = re.compile(r"0*[.,]?0*")


class Line(NamedTuple):
    """One line for the journal: ``text`` without a dash; ``sentence`` is None where it is prose."""

    date: dt.date
    text: str
    row: str  # its label
    sentence: Sentence | None


@dataclass
class Reading:
    """What came of the rows: lines, rows that could not be read, and rows that need none."""

    lines: list[Line] = field(default_factory=list)
    unread: list[tuple[str, str]] = field(default_factory=list)
    unknown: Counter[tuple[str, str]] = field(default_factory=Counter)  # (kind, words) -> rows
    totals: list[str] = field(default_factory=list)
    empty: list[str] = field(default_factory=list)


def read_rows(plan: Plan, rows: Sequence[Row]) -> Reading:
    """Read every row; what cannot be read is kept with its reason."""
    reading = Reading()
    above: dt.date | None = None
    for row in rows:
        if is_total(plan, row):
            reading.totals.append(row.label)
            continue
        if _is_title(row):
            reading.empty.append(row.label)
            continue
        try:
            date = _date(plan, row) or (above if plan.blank_dates == "above" else None)
            above = date or above
            found = list(_lines(plan, row, date))
        except Unclear as unclear:
            found = [unclear]
        if not found:
            reading.empty.append(row.label)
        for each in found:
            if isinstance(each, Line):
                reading.lines.append(each)
                continue
            reading.unread.append((row.label, each.reason))
            if each.name is not None:
                reading.unknown[each.name] += 1
    return reading


def is_total(plan: Plan, row: Row) -> bool:
    """Whether a row adds up others: it has no date of its own, and says so or is known to."""
    if row.label in plan.sums:
        return True
    words = [str(cell) for cell in row.cells if isinstance(cell, str) and cell]
    dates = [column for column in plan.columns if column.role == "date"]
    dated = any(
        isinstance(row.cells[column.index], dt.date) or read_date(cell_words(row, column))
        for column in dates
        if column.index < len(row.cells)
    )
    return not dated and any(_TOTAL.search(word) for word in words)


def _is_title(row: Row) -> bool:
    """Whether a row only heads those below it: a month or a year alone, with nothing to count."""
    filled = [cell for cell in row.cells if not is_nothing(cell)]
    return len(filled) == 1 and isinstance(filled[0], str) and read_date(filled[0]) is None


def _date(plan: Plan, row: Row) -> dt.date | None:
    for column in plan.columns:
        if column.role != "date" or column.index >= len(row.cells) or is_nothing(row.cells[column.index]):
            continue
        cell = row.cells[column.index]
        if isinstance(cell, dt.date):
            return cell
        reading = read_date(str(cell), plan.year)
        day = None if reading is None else reading.meaning(plan.order)
        if reading is not None and reading.weekday_differs:
            raise Unclear(f'"{cell}": that day is a {day:%A}')
        if day is None:
            order = f" with {plan.order} dates" if plan.order else ""
            raise Unclear(f'"{cell}" is no date that I can read{order}')
        return day
    return None


def _lines(plan: Plan, row: Row, date: dt.date | None) -> Iterator[Line | Unclear]:
    """Give the lines that a row makes: its amounts, its readings, or else its remark as prose.

    What cannot be read of it is given as what is unclear, and takes nothing else with it; Unclear is raised
    where that is so of the whole row.
    """
    said = {role: said_in(plan, row, role) for role in ("verb", "unit", *NAMED)}
    remark = _remark(plan, row)
    parts = list(_parts(plan, row))
    if not parts and not remark:
        if date is not None or not (said["material"] or said["verb"]):
            return
        raise Unclear("it has neither a date nor an amount")
    if date is None:
        raise Unclear("it has no date")
    if parts:
        yield from _records(plan, row, date, said, parts, remark)
        return
    if said["material"] and not any(column.is_whole for column in plan.columns):
        raise Unclear(f'it says "{said["material"]}", but not how much')
    yield Line(date, f"{as_prose(remark)} ({row.label})", row.label, None)


def _records(
    plan: Plan,
    row: Row,
    date: dt.date,
    said: Mapping[str, str],
    parts: Iterable[Sequence[Column]],
    remark: str,
) -> Iterator[Line | Unclear]:
    """Give a line for each part of a row, the first with the remark; or why a part cannot be read."""
    texts: list[tuple[str, Mapping[str, str]]] = []
    for columns in parts:
        try:
            texts.append(text_of(plan, row, said, columns))
        except Unclear as unclear:
            yield unclear
    remark = "; ".join(filter(None, (remark, *_unused(plan, row, said, texts))))
    for text, expected in texts:
        aside = f"{remark}; {row.label}" if remark else row.label
        try:
            yield Line(date, f"{text} ({aside})", row.label, checked(plan, text, aside, expected))
        except Unclear as unclear:
            yield unclear
        else:
            remark = ""


def _unused(
    plan: Plan, row: Row, said: Mapping[str, str], texts: Iterable[tuple[str, Mapping[str, str]]]
) -> Iterator[str]:
    """Give the names in a row's cells that none of its sentences has a place for, to be kept as a remark."""
    used = {(role, fold(name)) for _, expected in texts for role, name in expected.items()}
    for column in plan.columns:
        if column.role in NAMED and column.role != "bin" and cell_words(row, column):
            name = plan.names.name(column.role, said[column.role]) or said[column.role]
            if not {(column.role, fold(name)), (column.role, fold(said[column.role]))} & used:
                yield _safe(cell_words(row, column))


def _parts(plan: Plan, row: Row) -> Iterator[Sequence[Column]]:
    """Give the columns of each sentence that a row makes; pounds and ounces of one thing are one amount."""
    filled = [column for column in plan.columns if cell_words(row, column)]
    amounts = [column for column in filled if column.is_amount]
    whole: dict[tuple[str, ...], list[Column]] = {}
    for column in amounts:
        if column.is_whole and not _ZERO.fullmatch(cell_words(row, column)):
            whole.setdefault(column.facts, []).append(column)
    for columns in whole.values():
        units = {column.unit for column in columns}
        is_compound = len(units) == len(columns) and units in COMPOUNDS
        yield from [columns] if is_compound else ([column] for column in columns)
    rest = [column for column in amounts if not column.is_whole]
    if rest:
        yield rest
    readings = [column for column in filled if column.role in MEASURED]
    if readings:
        yield readings


def _remark(plan: Plan, row: Row) -> str:
    """Give the remark of a row, made safe to stand in parentheses."""
    words = []
    for column in plan.columns:
        said = cell_words(row, column) if column.role == "remark" else ""
        is_bare = bool(said) and column.head and re.fullmatch(r"[\d.,$€£ ]+|[xy✓✔]|yes|no?", said.lower())
        words.append(f"{column.head} {said}" if is_bare else said)
        if column.role == "material" and plan.names.name("material", cell_words(row, column)) is None:
            words += ASIDE.findall(cell_words(row, column))
    return _safe("; ".join(filter(None, words)))


def _safe(words: str) -> str:
    """Give words that can stand in parentheses behind a sentence."""
    text = " ".join(words.split())
    text = re.sub(r"\brow (\d)", r"line \1", text)  # only the number of its own row stands so
    return text.replace("(", "[").replace(")", "]").replace("<!--", "<! --").strip(" ;")


def sheet_mass(plan: Plan, rows: Sequence[Row], column: Column) -> float | None:
    """Add up a column's own numbers in kg; None where they are no plain masses."""
    unit = BY_SYMBOL.get(column.unit)
    if unit is None or unit.kind != "mass":
        return None
    total = []
    for row in rows:
        words = (
            amount_words(row.cells[column.index], plan.sign, comma=False) if cell_words(row, column) else "0"
        )
        try:
            total.append(float(words))
        except ValueError:
            return None
    return math.fsum(total) * unit.size
