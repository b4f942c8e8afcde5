"""What each column of a spreadsheet holds: guessed from its head and its cells, with the reason, or told."""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from journal.commands.bring_in.dates import read_date
from journal.commands.bring_in.heads import KnownNames, done_in, names_in, role_of, unit_in, unit_of_head
from journal.commands.bring_in.sheets import Cell, Row, column_letters, column_number
from journal.commands.bring_in.words import NOTHING, ROLES
from journal.commands.console import Refusal
from journal.measures.numbers import NumberProblem, read_number
from journal.notes.names import fold

_MOST = 0.8  # this share of a column's cells settles what it holds
_SOME = 0.5  # this share does, where the cells can hardly be anything else
_DAMP = re.compile(r"^(?:damp|moist|wet)\s+", re.IGNORECASE)  # "damp paper" is paper
_TIME = re.compile(r"\d{1,2}:\d{2}(?::\d{2})?(?:\s*[ap]\.?m\.?)?", re.IGNORECASE)
MEASURED = frozenset({"temperature", "moisture", "acidity"})
_NAMED = ("verb", "bin", "giver", "planting", "material")
_USUALLY = {"harvested": "castings", "threw out": "trash", "recycled": "recyclables"}  # where none is named
_SINGLE = frozenset({"date", "verb", "unit", "material", "giver", "bin", "planting"})


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
    shares_head: bool = False  # with another column, so that its head does not tell it apart

    @property
    def letters(self) -> str:
        """The letters by which spreadsheets call it."""
        return column_letters(self.index + 1)

    @property
    def name(self) -> str:
        """The name by which the keeper can speak of it."""
        return self.letters if self.shares_head else self.head or self.letters

    @property
    def is_amount(self) -> bool:
        """Whether its cells say how much."""
        return self.role in {"amount", "count"}

    @property
    def is_whole(self) -> bool:
        """Whether each of its cells is a record of its own: so much of one thing, or for one bin."""
        return self.is_amount and any(self.facts)

    @property
    def facts(self) -> tuple[str, ...]:
        """What it says of every row: verb, material, bin, giver and planting, "" where nothing."""
        return self.verb, self.material, self.bin, self.giver, self.planting

    def told(self) -> str:
        """Say what it holds."""
        more = ", ".join(fact for fact in self.facts if fact)
        unit = f" in {self.unit}" if self.unit else ""
        joint = ", " if more == self.verb else " of "
        return {"": "?", "ignore": "left out"}.get(self.role, self.role) + unit + bool(more) * joint + more


def guess_columns(rows: Sequence[Row], heads: Row | None, known: KnownNames) -> list[Column]:
    """Say what each column holds, and why."""
    width = max((len(row.cells) for row in rows), default=0)
    columns = []
    for index in range(width):
        head = _words(heads.cells[index]) if heads is not None and index < len(heads.cells) else ""
        cells = [row.cells[index] for row in rows if index < len(row.cells)]
        filled = [cell for cell in cells if not is_nothing(cell)]
        if filled or head:
            columns.append(_guess(index, head, filled, known))
    return _settle(_told_apart(columns), known)


def _words(cell: Cell) -> str:
    return f"{cell:g}" if isinstance(cell, float) else " ".join(str(cell).split())


def _told_apart(columns: Sequence[Column]) -> list[Column]:
    """Mark the columns whose heads are alike."""
    heads = Counter(column.head.lower() for column in columns)
    return [replace(column, shares_head=heads[column.head.lower()] > 1) for column in columns]


def is_nothing(cell: Cell) -> bool:
    """Whether a cell says nothing."""
    return isinstance(cell, str) and cell.strip().lower() in NOTHING


def _guess(index: int, head: str, cells: Sequence[Cell], known: KnownNames) -> Column:
    if not cells:
        return Column(index, head, "ignore", "it is empty")
    unit, bare = unit_of_head(head, known)
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
    bare = _DAMP.sub("", bare)
    role = role_of(head) if not bare else role_of(bare)
    if role in MEASURED:
        scale = re.search(r"°?\s*\b([FC])\b|fahrenheit|celsius|centigrade", head, re.IGNORECASE)
        degrees = "" if scale is None else ("F" if scale[0].strip("° ").lower().startswith("f") else "C")
        return Column(index, head, role, "its head says so", unit=degrees if role == "temperature" else "")
    named: Any = names_in(bare, known)
    if named and (role != "ignore" or "material" in named):
        words = " and ".join(f'"{name}"' for name in named.values())
        return replace(Column(index, head, "amount", f"its head names {words}", unit=unit), **named)
    if role == "ignore":
        return Column(index, head, "ignore", "its head says that it is no amount of its own", unit=unit)
    if role == "remark":
        return Column(index, head, "remark", "its head says so")
    if role in {"amount", "count"} or unit or done_in(bare, known):
        return Column(index, head, "count" if role == "count" else "amount", "its head says so", unit=unit)
    return Column(index, head, "", "its cells are numbers, and its head does not say of what", unit=unit)


def _guess_words(index: int, head: str, cells: Sequence[str], known: KnownNames) -> Column:
    """Say what a column of words holds: the names that it is full of count for more than its head."""
    distinct = sorted(set(cells))
    head_role = role_of(head)
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
    if head_role and head_role not in {"amount", "count", "date", *MEASURED}:
        return Column(index, head, head_role, "its head says so")
    amounts = any(_is_amount(cell) for cell in cells)
    named: Any = names_in(unit_of_head(head, known)[1], known) if amounts else {}
    if "material" in named and head_role in {"", "amount", "count"}:
        why = f'its head names "{named["material"]}", although some cells hold other words'
        return replace(Column(index, head, "amount", why), **named)
    if head_role and (amounts or head_role not in MEASURED):
        return Column(index, head, head_role, "its head says so, although some cells hold other words")
    return Column(index, head, "remark", "it holds words, which are kept as a remark")


def _settle(columns: list[Column], known: KnownNames) -> list[Column]:
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
    settled = [_fitting(column, frozenset(taken), known) for column in settled]
    return sorted(settled, key=lambda each: each.index)


def _fitting(column: Column, held: frozenset[str], known: KnownNames) -> Column:
    """Take from an amount's head no more than the sheet leaves to it.

    Where another column names the materials, "Bucket weight" names none; where none says what was done,
    "Harvested (lb)" does.
    """
    if not column.is_amount:
        return column
    bare = unit_of_head(column.head, known)[1]
    if "material" in held and column.material and role_of(bare) in {"amount", "count"}:
        column = replace(column, material="", why="its head says so")
    if "verb" not in held and not column.is_whole:
        done = done_in(bare, known)
        if done is not None:
            named = "material" in held and done != "harvested"  # it may be anything that the row names
            usual = "" if named else _USUALLY.get(done, "")
            column = replace(column, verb=done, material=usual, why=f'its head says "{done}"')
    return column


def tell_columns(
    tables: Sequence[Sequence[Column]], told: Mapping[str, str], known: KnownNames
) -> list[list[Column]]:
    """Replace guesses by what the keeper says: a column's head or letters to a meaning, in every table.

    A meaning is parts with commas between them: what the column holds, a unit, a verb, a name.  What says
    only how an amount is counted leaves to it what its head names.
    """
    result = [list(columns) for columns in tables]
    for name, meaning in told.items():
        for table, at in _find(result, name):
            others = {column.role for column in result[table] if column is not result[table][at]}
            result[table][at] = _tell(result[table][at], meaning, others, known)
    return result


def _find(tables: Sequence[Sequence[Column]], name: str) -> list[tuple[int, int]]:
    """Give where columns of that head are, as table and position; else the one of those letters."""
    every = [(table, at, column) for table, columns in enumerate(tables) for at, column in enumerate(columns)]
    exact = [place for *place, column in every if column.head.lower() == name.lower()]
    found = exact or [place for *place, column in every if column.head and fold(column.head) == fold(name)]
    if len(found) != len({table for table, _ in found}):
        letters = [tables[table][at].letters for table, at in found if table == found[0][0]]
        raise Refusal(
            f'{len(letters)} columns are called "{name}"',
            f"say which by its letters: {', '.join(letters)}",
            2,
        )
    if not found and name.isalpha():
        found = [place for *place, column in every if column_number(name) == column.index + 1]
        if len(found) > 1:
            raise Refusal(
                f'"{name}" is a column of each of {len(found)} tables',
                "say its head, or bring the sheets in one by one with --sheet",
                2,
            )
    if not found:
        names = dict.fromkeys(column.name for *_, column in every)
        raise Refusal(f'there is no column "{name}"', f"there are: {', '.join(names)}", 2)
    return [(table, at) for table, at in found]


def _tell(guess: Column, meaning: str, others: Collection[str], known: KnownNames) -> Column:
    """Give a column as the keeper means it; ``others`` are the roles of the columns beside it."""
    column = replace(Column(guess.index, guess.head, "", "you say so", unit=guess.unit),
                     shares_head=guess.shares_head)  # fmt: skip
    parts = [part.strip() for part in meaning.split(",") if part.strip()]
    for part in parts:
        column = _tell_part(column, part, guess.role, known)
    column = column if column.role else replace(column, role="amount")
    if not column.is_amount:
        return column
    kept: Any = {
        role: name
        for role, name in _names_of_head(guess, known).items()
        if not getattr(column, role) and not ("amount" in parts and role in others)
    }
    return replace(column, **kept)


def _names_of_head(column: Column, known: KnownNames) -> Mapping[str, str]:
    """Give what a column's head names, whatever its cells were taken for."""
    if column.is_amount:
        return {role: getattr(column, role) for role in _NAMED if getattr(column, role)}
    return names_in(unit_of_head(column.head, known)[1], known)


def _tell_part(column: Column, part: str, guessed: str, known: KnownNames) -> Column:
    lowered = part.lower()
    if lowered in ROLES:
        return replace(column, role=lowered)
    if "temperature" in {column.role, "" if column.role else guessed} and lowered.strip("°") in {"f", "c"}:
        return replace(column, role="temperature", unit=lowered.strip("°").upper())
    unit = unit_in(part, known)
    if unit is not None:
        return replace(column, unit=unit)
    for role in _NAMED:
        name = known.name(role, part)
        if name is not None:
            named: Any = {role: name}
            return replace(column, **named)
    raise Refusal(
        f'"{part}" is nothing that a column can hold',
        f"say one of {', '.join(sorted(ROLES))}, a unit, a verb, or a name that the journal knows",
        2,
    )


def _share(findings: Iterable[bool]) -> float:
    found = list(findings)
    return sum(found) / len(found) if found else 0.0


def _is_date(cell: Cell, head: str) -> bool:
    """Whether a cell is a date; 1/2 is one only where the head says so."""
    if not isinstance(cell, str):
        return isinstance(cell, dt.date)
    reading = read_date(cell)
    return reading is not None and (role_of(head) == "date" or re.fullmatch(r"\d+[/.]\d+\.?", cell) is None)


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
