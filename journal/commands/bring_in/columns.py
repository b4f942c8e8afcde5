"""What each column of a spreadsheet holds: guessed from its head and its cells, with the reason, or told."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from journal.commands.bring_in.dates import read_date
from journal.commands.bring_in.sheets import Cell, Row, column_letters, column_number
from journal.commands.bring_in.words import HEADS, NOTHING, ROLES, SPOKEN
from journal.commands.console import Refusal
from journal.measures.numbers import NumberProblem, read_number
from journal.measures.units import read_unit
from journal.notes.household import Household
from journal.notes.known import container_of
from journal.notes.materials import Catalogue
from journal.notes.names import fold
from journal.notes.verbs import read_verb

_MOST = 0.8  # this share of a column's cells settles what it holds
_SOME = 0.5  # this share does, where the cells can hardly be anything else
_TITLES = 20  # rows that may stand above the heads
_TIME = re.compile(r"\d{1,2}:\d{2}(?::\d{2})?(?:\s*[ap]\.?m\.?)?", re.IGNORECASE)
_SINGLE = frozenset({"date", "verb", "unit", "material", "giver", "bin", "planting"})


class KnownNames(NamedTuple):
    """The names that the journal knows, each found by any spelling."""

    catalogue: Catalogue
    bins: Mapping[str, str]
    givers: Mapping[str, str]
    plantings: Mapping[str, str]
    measures: Mapping[str, str]

    @classmethod
    def of(cls, household: Household, catalogue: Catalogue) -> KnownNames:
        """Take the names of a household and its catalogue."""
        measures = [container_of(measure) for measure in household.measures.values()]
        folded = [
            {fold(name): name for name in names}
            for names in (household.bins, household.givers, household.plantings, measures)
        ]
        return cls(catalogue, *folded)

    def name(self, role: str, words: str) -> str | None:
        """Give the known name of a verb, material, bin, giver or planting that the words mean, or None."""
        if role == "verb":
            return spoken_verb(words)
        if role == "material":
            found = self.catalogue.find(words)
            return None if found is None else found.name
        names = {"bin": self.bins, "giver": self.givers, "planting": self.plantings}[role]
        return names.get(fold(words))


@dataclass(frozen=True, slots=True)
class Column:
    """One column: what it holds, and what it says of every row beside that."""

    index: int
    head: str
    role: str  # one of ROLES, or "" where nothing is known
    why: str
    unit: str = ""
    verb: str = ""
    material: str = ""
    bin: str = ""
    giver: str = ""
    planting: str = ""

    @property
    def letters(self) -> str:
        """The letters by which spreadsheets call it."""
        return column_letters(self.index + 1)

    @property
    def name(self) -> str:
        """The name by which the keeper can speak of it."""
        return self.head or self.letters

    @property
    def is_amount(self) -> bool:
        """Whether its cells say how much."""
        return self.role in {"amount", "count"}

    @property
    def is_whole(self) -> bool:
        """Whether each of its cells is a record of its own: so much of one thing, or for one bin."""
        return self.is_amount and bool(self.material or self.bin or self.giver or self.planting)

    def told(self) -> str:
        """Say what it holds."""
        parts = [self.verb, self.material, self.bin, self.giver, self.planting]
        more = ", ".join(part for part in parts if part)
        unit = f" in {self.unit}" if self.unit else ""
        return (
            {"": "?", "ignore": "left out"}.get(self.role, self.role) + unit + (f" of {more}" if more else "")
        )


def spoken_verb(words: str) -> str | None:
    """Give the verb of the entry language that the words of a cell mean, or None."""
    words = " ".join(words.strip(" .:").lower().split())
    found = read_verb(words, 0)
    if found is not None and found[0] == len(words):
        return found[1].name
    return SPOKEN.get(words)


def header_row(rows: Sequence[Row]) -> int | None:
    """Give the index of the row with the columns' heads, or None where the data begins at once.

    Of the rows of words above the data it is the one with most words that head a column.
    """
    best, best_known = None, -1
    for index, row in enumerate(rows[:_TITLES]):
        cells = [cell for cell in row.cells if cell != ""]
        if any(not isinstance(cell, str) or _starts_like_data(cell) for cell in cells):
            break
        known = sum(bool(_role_of(str(cell)) or _unit_in_brackets(str(cell))) for cell in cells)
        if len(cells) > 1 and known > best_known:  # a title stands alone in its row
            best, best_known = index, known
    return best


def _unit_in_brackets(head: str) -> bool:
    found = re.search(r"[(\[]([^)\]]*)[)\]]", head)
    return found is not None and read_unit(found[1].strip(), 0) is not None


def _starts_like_data(cell: str) -> bool:
    return bool(re.match(r"[\d¼½¾.,]", cell)) or (read_date(cell) is not None)


def guess_columns(rows: Sequence[Row], heads: Row | None, known: KnownNames) -> list[Column]:
    """Say what each column holds, and why."""
    width = max((len(row.cells) for row in rows), default=0)
    columns = []
    for index in range(width):
        head = (
            " ".join(str(heads.cells[index]).split())
            if heads is not None and index < len(heads.cells)
            else ""
        )
        cells = [row.cells[index] for row in rows if index < len(row.cells)]
        filled = [cell for cell in cells if not is_nothing(cell)]
        if filled or head:
            columns.append(_guess(index, head, filled, known))
    return _settle(columns)


def is_nothing(cell: Cell) -> bool:
    """Whether a cell says nothing."""
    return isinstance(cell, str) and cell.strip().lower() in NOTHING


def _guess(index: int, head: str, cells: Sequence[Cell], known: KnownNames) -> Column:
    if not cells:
        return Column(index, head, "ignore", "it is empty")
    unit, bare = _unit_of_head(head, known)
    if _share(_is_date(cell, head) for cell in cells) > _SOME:
        role = "ignore" if re.search(r"timestamp|entered|modified|created", head, re.IGNORECASE) else "date"
        return Column(index, head, role, "its cells are dates")
    if _share(isinstance(cell, str) and _TIME.fullmatch(cell) is not None for cell in cells) >= _MOST:
        return Column(index, head, "ignore", "its cells are times of day")
    if _share(_is_amount(cell) for cell in cells) >= _MOST:
        return _guess_numbers(index, head, bare, unit, known)
    guessed = _guess_words(index, head, [str(cell) for cell in cells], known)
    return replace(guessed, unit=unit) if guessed.role == "amount" else guessed


def _guess_numbers(index: int, head: str, bare: str, unit: str, known: KnownNames) -> Column:
    """Say what a column of numbers holds."""
    role = _role_of(head) if not bare else _role_of(bare)
    if role in {"temperature", "moisture", "acidity"}:
        scale = re.search(r"°?\s*\b([FC])\b|fahrenheit|celsius|centigrade", head, re.IGNORECASE)
        degrees = "" if scale is None else ("F" if scale[0].strip("° ").lower().startswith("f") else "C")
        return Column(index, head, role, "its head says so", unit=degrees if role == "temperature" else "")
    named: Any = _names_in(bare, known)
    if named and (role != "ignore" or "material" in named):
        words = " and ".join(f'"{name}"' for name in named.values())
        return replace(Column(index, head, "amount", f"its head names {words}", unit=unit), **named)
    if role == "ignore":
        return Column(index, head, "ignore", "its head says that it is no amount of its own", unit=unit)
    if role == "remark":
        return Column(index, head, "remark", "its head says so")
    if role in {"amount", "count"} or unit:
        return Column(index, head, "count" if role == "count" else "amount", "its head says so", unit=unit)
    return Column(index, head, "", "its cells are numbers, and its head does not say of what", unit=unit)


def _guess_words(index: int, head: str, cells: Sequence[str], known: KnownNames) -> Column:
    """Say what a column of words holds: the names that it is full of count for more than its head."""
    distinct = sorted(set(cells))
    head_role = _role_of(head)
    shares = {
        role: _share(known.name(role, cell) is not None for cell in distinct)
        for role in ("verb", "bin", "giver", "planting", "material")
    }
    shares["unit"] = _share(unit_in(cell, known) is not None for cell in distinct)
    if head_role in shares and shares[head_role] > 0:
        return Column(index, head, head_role, "its head says so, and its cells hold such names")
    best = max(shares, key=lambda role: shares[role])
    if shares[best] >= _SOME and not (head_role == "remark" and best == "verb"):
        words = {"verb": "say what was done", "unit": "are units"}.get(
            best, f"name what the journal knows as a {best}"
        )
        return Column(index, head, best, f"its cells {words}")
    if head_role == "ignore":
        return Column(index, head, "ignore", "its head says that it holds nothing to count")
    if head_role and head_role not in {"amount", "count", "date", "temperature", "moisture", "acidity"}:
        return Column(index, head, head_role, "its head says so")
    if head_role:
        return Column(index, head, head_role, "its head says so, although some cells hold other words")
    return Column(index, head, "remark", "it holds words, which are kept as a remark")


def _settle(columns: list[Column]) -> list[Column]:
    """Let no two columns answer the same question, and a column of totals be the amount where none is."""
    totals = [column for column in columns if column.role == "ignore" and column.unit]
    if len(totals) == 1 and not any(column.is_amount for column in columns):
        amount = replace(totals[0], role="amount", why="it is the only one with amounts")
        columns = [amount if column is totals[0] else column for column in columns]
    settled: list[Column] = []
    taken: dict[str, Column] = {}
    for column in sorted(
        columns, key=lambda each: (not re.match(r"dates?\b", each.head, re.IGNORECASE), each.index)
    ):
        earlier = taken.get(column.role)
        if earlier is not None:
            role = "ignore" if column.role == "date" else "remark"
            settled.append(replace(column, role=role, why=f'"{earlier.name}" is the {column.role} already'))
            continue
        if column.role in _SINGLE:
            taken[column.role] = column
        settled.append(column)
    return sorted(settled, key=lambda each: each.index)


def tell_columns(columns: Iterable[Column], told: Mapping[str, str], known: KnownNames) -> list[Column]:
    """Replace guesses by what the keeper says: a column's head or letters to a meaning.

    A meaning is parts with commas between them: what the column holds, a unit, a verb, a name.
    """
    result = list(columns)
    for name, meaning in told.items():
        index = _find(result, name)
        column = Column(result[index].index, result[index].head, "", "you say so", unit=result[index].unit)
        for part in filter(None, (part.strip() for part in meaning.split(","))):
            column = _tell(column, part, known)
        if not column.role:
            column = replace(column, role="amount")
        result[index] = column
    return result


def _find(columns: Sequence[Column], name: str) -> int:
    for index, column in enumerate(columns):
        if fold(column.head) == fold(name) or column.head.lower() == name.lower():
            return index
    for index, column in enumerate(columns):
        if column_number(name) == column.index + 1 and name.isalpha():
            return index
    raise Refusal(
        f'there is no column "{name}"', f"there are: {', '.join(column.name for column in columns)}", 2
    )


def _tell(column: Column, part: str, known: KnownNames) -> Column:
    lowered = part.lower()
    if lowered in ROLES:
        return replace(column, role=lowered)
    if column.role == "temperature" and lowered.strip("°") in {"f", "c"}:
        return replace(column, unit=lowered.strip("°").upper())
    unit = unit_in(part, known)
    if unit is not None:
        return replace(column, unit=unit)
    for role in ("verb", "bin", "giver", "planting", "material"):
        name = known.name(role, part)
        if name is not None:
            named: Any = {role: name}
            return replace(column, **named)
    raise Refusal(
        f'"{part}" is nothing that a column can hold',
        f"say one of {', '.join(sorted(ROLES))}, a unit, a verb, or a name that the journal knows",
        2,
    )


def unit_in(words: str, known: KnownNames) -> str | None:
    """Give the unit or household measure that the words are, or None."""
    words = words.strip()
    found = read_unit(words, 0)
    if found is not None and found[0] == len(words) and found[1].kind != "area":
        return found[1].symbol
    return known.measures.get(fold(words))


def _unit_of_head(head: str, known: KnownNames) -> tuple[str, str]:
    """Give the unit that a column's head names, and the head without it."""
    candidates = [(found[1], found[0]) for found in re.finditer(r"[(\[]([^)\]]*)[)\]]", head)]
    candidates += [(head, head)]
    candidates += [
        (found[1], found[0]) for found in re.finditer(r"(?:\bin|,|/|-|:)\s*([\w.]+(?: \w+)?)\s*$", head)
    ]
    candidates += [(found[1], found[0]) for found in re.finditer(r"[\s_]([A-Za-z.]{2,})\s*$", head)]
    candidates += [(found[1], found[0]) for found in re.finditer(r"^([A-Za-z.]{2,})\s+(?:of\s+)?", head)]
    for words, whole in candidates:
        unit = unit_in(words.strip().strip("."), known)
        if unit is not None:
            return unit, " ".join(head.replace(whole, " ").split())
    return "", " ".join(re.sub(r"[(\[][^)\]]*[)\]]", " ", head).split()) or head


def _names_in(words: str, known: KnownNames) -> dict[str, str]:
    """Give the names that a head is made of: a material, a verb, a bin, and so on, the longest first."""
    tokens = re.findall(r"[^\s_:/&+-]+", words)
    named: dict[str, str] = {}
    used: set[int] = set()
    for length in range(len(tokens), 0, -1):
        for start in range(len(tokens) - length + 1):
            span = range(start, start + length)
            if used & set(span):
                continue
            phrase = " ".join(tokens[start : start + length])
            for role in ("bin", "giver", "planting", "material", "verb"):
                name = known.name(role, phrase) if role not in named else None
                if name is not None and not (role == "verb" and phrase.lower() in {"in", "food"}):
                    named[role] = name
                    used |= set(span)
                    break
    return named if set(named) - {"verb"} else {}


def _role_of(head: str) -> str:
    words = " ".join(re.split(r"[\s_]+", head.strip()))
    for role, pattern in HEADS:
        if pattern.fullmatch(words):
            return role
    return next((role for role, pattern in HEADS if pattern.search(words)), "")


def _share(findings: Iterable[bool]) -> float:
    found = list(findings)
    return sum(found) / len(found) if found else 0.0


def _is_date(cell: Cell, head: str) -> bool:
    """Whether a cell is a date; 1/2 is one only where the head says so."""
    if not isinstance(cell, str):
        return isinstance(cell, dt.date)
    reading = read_date(cell)
    return reading is not None and (_role_of(head) == "date" or re.fullmatch(r"\d+[/.]\d+\.?", cell) is None)


def _is_amount(cell: Cell) -> bool:
    if isinstance(cell, float):
        return True
    if not isinstance(cell, str) or not re.match(
        r"(?:[~≈]|about |roughly |ca\.? |-)?\s*[\d¼½¾.,]", cell, re.IGNORECASE
    ):
        return False
    try:
        found = read_number(cell, 0, comma=bool(re.search(r"\d,\d{1,2}(?!\d)", cell)))
    except NumberProblem:
        return True
    return found is None or len(cell) - found[0] < 25  # noqa: PLR2004 - a number and its unit, not a sentence
