"""What a row says in one sentence of the entry language: its names, its amount, its shape by the verb."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from journal.commands.bring_in.columns import MEASURED, Column, is_nothing
from journal.commands.bring_in.heads import KnownNames, spoken_verb, unit_in
from journal.commands.bring_in.numerals import amount_words
from journal.commands.bring_in.sheets import Row
from journal.measures.units import BY_SYMBOL
from journal.notes.amounts import Unread
from journal.notes.known import Known
from journal.notes.lines import Sentence, read_sentence
from journal.notes.names import fold, nearest

ASIDE = re.compile(r"\s*\(([^()]*)\)\s*")
NAMED = ("material", "bin", "giver", "planting")
_OF_FEED = frozenset({"fed", "bedded", "took in"})  # verbs that castings and trash are not meant by
_OF_WASTE = {"trash": "threw out", "recyclables": "recycled"}
_ANYTHING = frozenset({"picked", "threw out"})  # a crop and a reject may be any words
SHAPES: Mapping[str, str] = {
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


class Unclear(Exception):
    """A row that cannot be read, with the reason; ``name`` is a word that nobody knows, with its kind."""

    def __init__(self, reason: str, name: tuple[str, str] | None = None) -> None:
        super().__init__(reason)
        self.reason = reason
        self.name = name


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
    sums: frozenset[str] = frozenset()  # the labels of rows that add up those above without saying so


def cell_words(row: Row, column: Column) -> str:
    """Give the words of a row's cell in a column; "" where it says nothing."""
    cell = row.cells[column.index] if column.index < len(row.cells) else ""
    if is_nothing(cell):
        return ""
    return f"{cell:.10g}" if isinstance(cell, float) else str(cell)


def said_in(plan: Plan, row: Row, role: str) -> str:
    """Give what a row says in a role, by the names that the keeper uses for them, or what fills the gap."""
    words = next((cell_words(row, column) for column in plan.columns if column.role == role), "")
    words = plan.calls.get(fold(words), words) if words else plan.fill.get(role, "")
    if role == "material" and not (plan.names.name(role, words) or plan.calls.get(fold(words))):
        words = ASIDE.sub(" ", words).strip() or words
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
        near = near_name(plan, role, words)
        raise Unclear(f'"{words}" is no {role} that I know' + (f"; {near}?" if near else ""), (role, words))
    return words.lower() if role == "material" and fold(words) == fold(words.lower()) else name


def near_name(plan: Plan, role: str, words: str) -> str | None:
    """Give the known name that is nearest to words of a role, or None where none is near."""
    if role == "material":
        return plan.names.catalogue.nearest(words)
    known: Mapping[str, Iterable[str]] = {
        "bin": plan.names.bins.values(),
        "giver": plan.names.givers.values(),
        "planting": plan.names.plantings.values(),
        "verb": SHAPES,
        "unit": BY_SYMBOL,
    }
    return nearest(words, known[role])


def text_of(
    plan: Plan, row: Row, said: Mapping[str, str], columns: Sequence[Column]
) -> tuple[str, Mapping[str, str]]:
    """Give the sentence that columns of a row make, with the names that it must be read as."""
    if columns[0].role in MEASURED:
        return _readings(plan, row, said["bin"], columns)
    facts = {
        role: next((getattr(column, role) for column in columns if getattr(column, role)), said[role])
        for role in ("verb", *NAMED)
    }
    if columns[0].is_whole:
        facts["verb"] = columns[0].verb or _verb_of_column(plan, row, columns[0]) or said["verb"]
    else:
        facts |= {role: words for role, words in said.items() if words and role in facts}
    return _sentence(plan, facts, _amount(plan, row, columns, said["unit"]))


def _verb_of_column(plan: Plan, row: Row, column: Column) -> str:
    """Give the verb that a column of castings, worms or trash has by itself, whatever feed is filled in."""
    said = any(each.role == "verb" and cell_words(row, each) for each in plan.columns)
    stuff = plan.known.materials.get(column.material)
    if said or stuff is None or plan.fill.get("verb") not in _OF_FEED:
        return ""
    if stuff.castings or stuff.worms:
        return _usual_verb(plan, {role: getattr(column, role) for role in NAMED if getattr(column, role)})
    return _OF_WASTE.get(column.material, "")


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
        if words and role in NAMED
    }
    verb = facts["verb"] or _usual_verb(plan, names)
    if verb == "harvested":
        names.setdefault("material", "castings")
    if verb in {"added", "moved"}:
        names.setdefault("material", "worms")
    shape = SHAPES.get(verb)
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
    if names.get("material") in _OF_WASTE:
        return _OF_WASTE[names["material"]]
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


def _readings(plan: Plan, row: Row, where: str, columns: Sequence[Column]) -> tuple[str, Mapping[str, str]]:
    """Give the sentence of what was measured in a bin."""
    parts = []
    for column in columns:
        words = cell_words(row, column)
        cell = row.cells[column.index]
        if column.role == "moisture" and isinstance(cell, float) and 0 < cell <= 1:
            cell = cell * 100
        number = amount_words(cell, plan.sign, comma=plan.known.comma).strip("%°FCfc ")
        if column.role == "temperature":
            given = re.search(r"[FC]\b", words, re.IGNORECASE)
            parts.append(f"{number} {given[0].upper() if given else column.unit}")
        else:
            parts.append(f"moisture {number}%" if column.role == "moisture" else f"pH {number}")
    if not where:
        raise Unclear("it holds readings, which need a bin, and it names none")
    name = _name(plan, "bin", where)
    return f"checked {name}: {', '.join(parts)}", {"bin": name}


def checked(plan: Plan, text: str, aside: str, expected: Mapping[str, str]) -> Sentence:
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
