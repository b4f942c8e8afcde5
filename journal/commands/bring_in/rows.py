"""Rows of a spreadsheet become record lines, each tried by the reader of the entry language."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from journal.commands.bring_in.columns import Column, KnownNames, is_nothing, spoken_verb, unit_in
from journal.commands.bring_in.dates import read_date
from journal.commands.bring_in.entries import as_prose
from journal.commands.bring_in.numerals import amount_words
from journal.commands.bring_in.sheets import Row
from journal.measures.units import BY_SYMBOL
from journal.notes.amounts import Unread
from journal.notes.known import Known
from journal.notes.lines import Sentence, read_sentence
from journal.notes.names import fold, nearest

_ASIDE = re.compile(r"\s*\(([^()]*)\)\s*")
_TOTAL = re.compile(r"\b(?:sub)?(?:totals?|sums?|averages?|mean|avg)\b", re.IGNORECASE)
_NAMES = ("material", "bin", "giver", "planting")
_SHAPES: Mapping[str, str] = {
    "took in": "took in {amount} {material}{from}",
    "shredded": "shredded {amount} {material}{from}",
    "bought": "bought {amount} {material}",
    "fed": "fed {amount} {material}{from} to {bin}",
    "bedded": "bedded {bin} with {amount} {material}",
    "added": "added {amount} {material} to {bin}",
    "moved": "moved {amount} {material} to {bin}",
    "harvested": "harvested {amount} {material} from {bin}",
    "returned": "returned {amount} {material} to {bin}",
    "spread": "spread {amount} {material} on {planting}",
    "gave": "gave {amount} {material} to {giver}",
    "picked": "picked {amount} {material} from {planting}",
    "threw out": "threw out {amount} {material}",
    "recycled": "recycled {amount} {material}",
    "donated": "donated {amount} {material}",
}


_ANYTHING = frozenset({"picked", "threw out"})  # a crop and a reject may be any words


class Unclear(Exception):
    """A row that cannot be read, with the reason; ``name`` is a word that nobody knows, with its kind."""

    def __init__(self, reason: str, name: tuple[str, str] | None = None) -> None:
        super().__init__(reason)
        self.reason = reason
        self.name = name


class Line(NamedTuple):
    """One line for the journal: ``text`` without a dash; ``sentence`` is None where it is prose."""

    date: dt.date
    text: str
    row: str  # its label
    sentence: Sentence | None


@dataclass(frozen=True, slots=True)
class Plan:
    """How a sheet is read.  ``fill`` are words for rows that have none; ``calls`` other names for names."""

    columns: Sequence[Column]
    names: KnownNames
    known: Known
    order: str | None = None
    year: int | None = None
    sign: str = "point"
    fill: Mapping[str, str] = field(default_factory=dict)
    calls: Mapping[str, str] = field(default_factory=dict)
    blank_dates: str = ""  # "above" where a row without a date has the date above it


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
            lines = list(_lines(plan, row, date))
        except Unclear as unclear:
            reading.unread.append((row.label, unclear.reason))
            if unclear.name is not None:
                reading.unknown[unclear.name] += 1
            continue
        if lines:
            reading.lines += lines
        else:
            reading.empty.append(row.label)
    return reading


def cell_words(row: Row, column: Column) -> str:
    """Give the words of a row's cell in a column; "" where it says nothing."""
    cell = row.cells[column.index] if column.index < len(row.cells) else ""
    if is_nothing(cell):
        return ""
    return f"{cell:.10g}" if isinstance(cell, float) else str(cell)


def is_total(plan: Plan, row: Row) -> bool:
    """Whether a row adds up others: it has no date of its own, and says so."""
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


def _lines(plan: Plan, row: Row, date: dt.date | None) -> Iterator[Line]:
    """Give the lines that a row makes: its amounts, its readings, or else its remark as prose."""
    said = {role: _said(plan, row, role) for role in ("verb", "unit", *_NAMES)}
    remark = _remark(plan, row)
    texts = [*_amount_texts(plan, row, said), *_reading_texts(plan, row, said)]
    if not texts and not remark:
        if date is not None or not (said["material"] or said["verb"]):
            return
        raise Unclear("it has neither a date nor an amount")
    if date is None:
        raise Unclear("it has no date")
    if not texts:
        if said["material"] and not any(column.is_whole for column in plan.columns):
            raise Unclear(f'it says "{said["material"]}", but not how much')
        yield Line(date, f"{as_prose(remark)} ({row.label})", row.label, None)
    for text, expected in texts:
        aside = f"{remark}; {row.label}" if remark else row.label
        yield Line(date, f"{text} ({aside})", row.label, _checked(plan, text, aside, expected))
        remark = ""


def _said(plan: Plan, row: Row, role: str) -> str:
    """Give what a row says in a role, by the names that the keeper uses for them, or what fills the gap."""
    words = next((cell_words(row, column) for column in plan.columns if column.role == role), "")
    words = plan.calls.get(fold(words), words) if words else plan.fill.get(role, "")
    if role == "material" and not (plan.names.name(role, words) or plan.calls.get(fold(words))):
        words = _ASIDE.sub(" ", words).strip() or words
        words = plan.calls.get(fold(words), words)
    if words and role == "verb":
        verb = spoken_verb(words)
        if verb is None:
            raise Unclear(f'"{words}" is no verb that I know', ("verb", words))
        return verb
    if words and role == "unit":
        unit = unit_in(words, plan.names)
        if unit is None and words.lower() not in {"each", "count", "pieces", "ea"}:
            raise Unclear(f'"{words}" is no unit that I know', ("unit", words))
        return unit or "each"
    return words


def _name(plan: Plan, role: str, words: str) -> str:
    """Give a known name for the words; Unclear with the nearest where there is none."""
    words = plan.calls.get(fold(words), words)
    name = plan.names.name(role, words)
    if name is None and role == "material" and plan.known.materials.get(words) is not None:
        return words  # a batch
    if name is None:
        near = (
            plan.names.catalogue.nearest(words)
            if role == "material"
            else nearest(words, _names_of(plan, role).values())
        )
        raise Unclear(f'"{words}" is no {role} that I know' + (f"; {near}?" if near else ""), (role, words))
    return words.lower() if role == "material" and fold(words) == fold(words.lower()) else name


def _names_of(plan: Plan, role: str) -> Mapping[str, str]:
    return {"bin": plan.names.bins, "giver": plan.names.givers, "planting": plan.names.plantings}[role]


def _amount_texts(plan: Plan, row: Row, said: Mapping[str, str]) -> Iterator[tuple[str, Mapping[str, str]]]:
    """Give a sentence for each amount of a row, with the names that it must be read as."""
    amounts = [column for column in plan.columns if column.is_amount and cell_words(row, column)]
    whole = [column for column in amounts if column.is_whole]
    for column in whole:
        if row.cells[column.index] in {0.0, "0"}:
            continue
        facts = {role: getattr(column, role) or said[role] for role in ("verb", *_NAMES)}
        yield _sentence(plan, facts, _amount(plan, row, [column], said["unit"]))
    rest = [column for column in amounts if column not in whole]
    if rest:
        facts = {role: said[role] or next((getattr(each, role) for each in rest if getattr(each, role)), "")
                 for role in ("verb", *_NAMES)}  # fmt: skip
        yield _sentence(plan, facts, _amount(plan, row, rest, said["unit"]))


def _amount(plan: Plan, row: Row, columns: Sequence[Column], unit: str) -> str:
    """Write an amount; several columns are one compound amount, the largest unit first."""
    parts = []
    ranked = sorted(columns, key=lambda each: -BY_SYMBOL[each.unit].size if each.unit in BY_SYMBOL else 0.0)
    for column in ranked:
        words = amount_words(row.cells[column.index], plan.sign, comma=plan.known.comma)
        if len(columns) > 1 and words in {"0", "0,0", "0.0"}:
            continue
        given = column.unit or unit
        if re.search(r"[^\W\d_]{2,}|\b[gL]\b", re.sub(r"(?i)\b(?:about|to|or so|roughly|ca)\b", "", words)):
            given = ""  # the cell has a unit of its own
        if not given or given == "each" or column.role == "count":
            parts.append(words)
        elif given in plan.names.measures.values():
            parts.append(f"{words} {given} of" if words == "1" else f"{words} {given}s of")
        else:
            parts.append(f"{words} {given}")
    if not parts:
        raise Unclear("its amount is nothing")
    return " ".join(parts)


def _sentence(plan: Plan, facts: Mapping[str, str], amount: str) -> tuple[str, Mapping[str, str]]:
    """Write a record line, the verb found from what the row names where it says none."""
    names = {
        role: _plain_words(words)
        if role == "material" and facts["verb"] in _ANYTHING
        else _name(plan, role, words)
        for role, words in facts.items()
        if words and role in _NAMES
    }
    verb = facts["verb"] or _usual_verb(plan, names)
    if verb == "harvested":
        names.setdefault("material", "castings")
    if verb in {"added", "moved"}:
        names.setdefault("material", "worms")
    shape = _SHAPES.get(verb)
    if shape is None:
        raise Unclear(f'"{verb}" cannot be brought in from a row; write it as an entry')
    needed = re.findall(r"{(material|bin|giver|planting)}", shape)
    missing = next((role for role in needed if role not in names), None)
    if missing is not None:
        raise Unclear(f'"{verb}" needs a {missing}, and it names none')
    giver = f" from {names['giver']}" if "giver" in names else ""
    text = shape.format(amount=amount, **{"from": giver}, **names)
    return text, {
        role: name for role, name in names.items() if f"{{{role}}}" in shape or (role == "giver" and giver)
    }


def _usual_verb(plan: Plan, names: Mapping[str, str]) -> str:
    """Find the verb from what is named: castings come out of a bin or go to a planting, feed goes in."""
    material = plan.names.catalogue.find(names.get("material", ""))
    stuff = plan.known.materials.get(names.get("material", ""))
    if stuff is not None and (stuff.castings or stuff.worms):
        if stuff.worms:
            return "added"
        return "spread" if "planting" in names else "harvested"
    if "planting" in names and "bin" not in names:
        return "spread"
    if "bin" in names:
        return "bedded" if material is not None and material.stream in {"paper", "supplies"} else "fed"
    return "took in"


def _reading_texts(plan: Plan, row: Row, said: Mapping[str, str]) -> Iterator[tuple[str, Mapping[str, str]]]:
    """Give the sentence of what was measured in a bin, where the row has such columns."""
    parts = []
    for column in plan.columns:
        words = cell_words(row, column) if column.role in {"temperature", "moisture", "acidity"} else ""
        if not words:
            continue
        cell = row.cells[column.index]
        if column.role == "moisture" and isinstance(cell, float) and 0 < cell <= 1:
            cell = cell * 100
        number = amount_words(cell, plan.sign, comma=plan.known.comma).strip("%°FCfc ")
        if column.role == "temperature":
            given = re.search(r"[FC]\b", words, re.IGNORECASE)
            parts.append(f"{number} {given[0].upper() if given else column.unit}")
        else:
            parts.append(f"moisture {number}%" if column.role == "moisture" else f"pH {number}")
    if parts:
        if not said["bin"]:
            raise Unclear("it holds readings, and names no bin")
        name = _name(plan, "bin", said["bin"])
        yield f"checked {name}: {', '.join(parts)}", {"bin": name}


def _checked(plan: Plan, text: str, aside: str, expected: Mapping[str, str]) -> Sentence:
    """Read a line as the journal will; Unclear where it would not be read as it is meant."""
    try:
        sentence = read_sentence(plan.known, f"{text} ({aside})")
    except Unread as wrong:
        blanks = {"words": wrong.words, **wrong.blanks}
        raise Unclear(wrong.fault.sentence.format(**blanks)) from None
    if sentence is None:
        raise Unclear(f'"{text}" begins with no verb')
    for role in ("bin", "giver", "planting"):
        if role in expected and fold(getattr(sentence, role) or "") != fold(expected[role]):
            raise Unclear(f'"{text}" would not be read with the {role} {expected[role]}')
    if "material" in expected and (
        len(sentence.amounts) != 1 or not _is_same(plan, sentence, expected["material"])
    ):
        raise Unclear(f'"{text}" would not be read as {expected["material"]}')
    return sentence


def _is_same(plan: Plan, sentence: Sentence, words: str) -> bool:
    found = plan.known.materials.get(words)
    return found is not None and sentence.amounts[0].material == found.name


def _plain_words(words: str) -> str:
    return " ".join(re.sub(r"[(),;:]", " ", words).split())


def _remark(plan: Plan, row: Row) -> str:
    """Give the remark of a row, made safe to stand in parentheses."""
    words = []
    for column in plan.columns:
        said = cell_words(row, column) if column.role == "remark" else ""
        is_bare = bool(said) and column.head and re.fullmatch(r"[\d.,$€£ ]+", said)
        words.append(f"{column.head} {said}" if is_bare else said)
        if column.role == "material" and plan.names.name("material", cell_words(row, column)) is None:
            words += _ASIDE.findall(cell_words(row, column))
    text = " ".join("; ".join(filter(None, words)).split())
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
