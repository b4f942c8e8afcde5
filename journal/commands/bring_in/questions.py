"""What has to be known before a sheet can be read: settled from the sheet with a reason, or asked."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from journal.commands.bring_in.columns import MEASURED, Column, is_nothing
from journal.commands.bring_in.dates import DateOrder, date_order, likely_year, read_date
from journal.commands.bring_in.heads import KnownNames
from journal.commands.bring_in.numerals import decimal_sign
from journal.commands.bring_in.rows import COMPOUNDS, is_total, read_rows, sheet_mass
from journal.commands.bring_in.sentences import SHAPES, Plan, cell_words, near_name
from journal.commands.bring_in.sheets import Cell, Row
from journal.commands.bring_in.sums import unsaid_totals
from journal.commands.bring_in.tables import Table
from journal.measures.units import BY_SYMBOL
from journal.notes.known import Known
from journal.notes.names import fold, nearest

WHICH_DATES = "which column holds the dates?"


_SURE = 0.8  # a head that is as near to a name as this is one with a slip in it
_WARMEST_C = 40  # worms die well below it; in F it is colder than a bin in use


class Question(NamedTuple):
    """Something that only the keeper knows, and the words to add to the command that answer it."""

    asked: str
    answers: str


@dataclass(frozen=True, slots=True)
class Told:
    """What the keeper has said on the command line."""

    columns: Mapping[str, str] = field(default_factory=dict)
    fill: Mapping[str, str] = field(default_factory=dict)
    calls: Mapping[str, str] = field(default_factory=dict)
    dates: str | None = None
    year: int | None = None
    decimal: str | None = None
    blank_dates: str = ""
    leave_out: bool = False  # rows that cannot be read are left out rather than asked about


class Settled(NamedTuple):
    """How a sheet will be read, why so, and what must be asked first."""

    plan: Plan
    reasons: Sequence[str]
    questions: Sequence[Question]


def settle(
    columns: Sequence[Column], rows: Sequence[Row], told: Told, names: KnownNames, known: Known, newest: int
) -> Settled:
    """Settle how the rows are read; what the sheet itself does not settle becomes a question.

    ``newest`` is the year of the journal's newest entry.
    """
    columns = _without_conversions(columns, rows, Plan(columns, names, known))
    order = _order(columns, rows, told)
    amounts = [column for column in columns if column.is_amount or column.role in MEASURED]
    sign = decimal_sign(_cells(amounts, rows), told.decimal)
    calls = {fold(words): name for words, name in told.calls.items()}
    plan = Plan(columns, names, known, order.order, told.year, sign.sign, told.fill, calls, told.blank_dates)
    plan = replace(plan, sums=unsaid_totals(plan, rows))
    reasons = [f"dates: {order.why}"] * bool(order.why) + [f"decimals: {sign.why}"] * bool(sign.why)
    questions = [
        *_questions_of_columns(plan, rows),
        *_questions_of_dates(plan, rows, order, newest),
        *([] if told.leave_out else _questions_of_blank_dates(plan, rows)),
        *([Question(sign.question, "--decimal point, or --decimal comma")] if sign.question else []),
    ]
    if not questions and not told.leave_out:
        questions += _questions_of_gaps(plan, rows)
    return Settled(plan, reasons, questions)


def _cells(columns: Sequence[Column], rows: Sequence[Row]) -> Iterator[tuple[str, str | float | dt.date]]:
    for row in rows:
        for column in columns:
            if column.index < len(row.cells) and not is_nothing(row.cells[column.index]):
                yield row.label, row.cells[column.index]


def _order(columns: Sequence[Column], rows: Sequence[Row], told: Told) -> DateOrder:
    cells = list(_cells([column for column in columns if column.role == "date"], rows))
    texts = [(where, cell) for where, cell in cells if isinstance(cell, str)]
    real = any(isinstance(cell, dt.date) for _, cell in cells)
    return date_order(texts, told.dates, told.year, has_real_dates=real)


def _questions_of_columns(plan: Plan, rows: Sequence[Row]) -> Iterator[Question]:
    weight = "kg" if plan.known.household.units == "metric" else "lb"
    if not any(column.role == "date" for column in plan.columns):
        yield Question(WHICH_DATES, f'--column "{plan.columns[0].name}=date"')
    for column in plan.columns:
        if not column.role:
            near = nearest(column.head, plan.names.catalogue.materials, _SURE)
            example = f'--column "{column.name}={near or "coffee grounds"}, {weight}"'
            yield Question(
                f'column {column.letters} "{column.name}" holds numbers: of what?',
                f"{example}{'' if near else ', with its material'}; or =moisture, =acidity or =temperature; "
                f'or --column "{column.name}=ignore"; or add a giver or bin of that name to household.yaml',
            )
        elif column.role == "temperature" and not column.unit and not _has_own_unit(rows, column):
            yield Question(
                f'are the temperatures in "{column.name}" in F or C?',
                f'--column "{column.name}=temperature, {_likely_scale(rows, column)}"',
            )
    yield from _questions_of_units(plan, rows, weight)
    measured = any(column.is_amount or column.role in MEASURED for column in plan.columns)
    if not measured and any(column.role == "date" for column in plan.columns):
        yield Question("which column says how much?", f'--column "{plan.columns[-1].name}={weight}"')
    yield from _questions_of_compounds(plan, rows)


def _likely_scale(rows: Sequence[Row], column: Column) -> str:
    """Give the scale on which most cells are temperatures at which worms live: few below 40 in F."""
    numbers = sorted(
        float(cell)
        for _, cell in _cells([column], rows)
        if isinstance(cell, float) or (isinstance(cell, str) and re.fullmatch(r"\d+(?:\.\d+)?", cell))
    )
    return "C" if numbers and numbers[len(numbers) // 2] < _WARMEST_C else "F"


def _questions_of_units(plan: Plan, rows: Sequence[Row], weight: str) -> Iterator[Question]:
    open_ones = [
        column
        for column in plan.columns
        if column.role == "amount" and not column.unit and not _has_unit(plan, rows, column)
    ]
    other = {"lb": "kg", "kg": "lb"}[weight]
    for column in open_ones:
        bare = [(where, cell) for where, cell in _cells([column], rows) if not _says_unit(cell)]
        some = len(bare) < sum(1 for _ in _cells([column], rows))
        only = f" that say none, as {bare[0][1]} in {bare[0][0]}" if some else ""
        yield Question(
            f'in which unit are the amounts of column {column.letters} "{column.name}"{only}?',
            f'--column "{column.name}={weight}", or {other}, or a measure of yours; =count for pieces',
        )
    if len(open_ones) > 1:
        yield Question("is it one unit for all of them that you do not name?", f'--fill "unit={weight}"')


def _has_unit(plan: Plan, rows: Sequence[Row], column: Column) -> bool:
    if plan.fill.get("unit") or any(each.role == "unit" for each in plan.columns):
        return True
    return _has_own_unit(rows, column)


def _has_own_unit(rows: Sequence[Row], column: Column) -> bool:
    """Whether every cell with a number has words behind it."""
    return all(_says_unit(cell) for _, cell in _cells([column], rows))


def _says_unit(cell: Cell) -> bool:
    return isinstance(cell, str) and re.search(r"[^\W\d_]", cell) is not None


def _questions_of_compounds(plan: Plan, rows: Sequence[Row]) -> Iterator[Question]:
    """Ask about columns of amounts that are no pounds and ounces, and no amounts of two things."""
    alike: dict[tuple[str, ...], list[Column]] = {}
    for column in plan.columns:
        if column.is_amount:
            alike.setdefault(column.facts, []).append(column)
    for facts, columns in alike.items():
        units = {column.unit for column in columns}
        is_one = len(columns) == 1 or units in COMPOUNDS
        if not is_one and (not any(facts) or (len(units) > 1 and _meet(rows, columns))):
            names = " and ".join(f'"{column.name}"' for column in columns)
            yield Question(
                f"{names} both say how much: which one counts?", f'--column "{columns[-1].name}=ignore"'
            )


def _meet(rows: Sequence[Row], columns: Sequence[Column]) -> bool:
    """Whether some row has a cell in more than one of the columns."""
    return any(sum(bool(cell_words(row, column)) for column in columns) > 1 for row in rows)


def _questions_of_dates(plan: Plan, rows: Sequence[Row], order: DateOrder, newest: int) -> Iterator[Question]:
    if order.question:
        yield Question(order.question, "--dates day-first, or --dates month-first")
    columns = [column for column in plan.columns if column.role == "date"]
    for where, cell in _cells(columns, rows):
        reading = read_date(cell, plan.year) if isinstance(cell, str) else None
        if reading is not None and reading.needs_year:
            year = likely_year((each for _, each in _cells(columns, rows)), newest)
            yield Question(f'"{cell}" in {where} has no year: which is it?', f"--year {year}")
            break


def _questions_of_blank_dates(plan: Plan, rows: Sequence[Row]) -> Iterator[Question]:
    columns = [column for column in plan.columns if column.role == "date"]
    blank = [
        row.label
        for row in rows
        if columns and not any(cell_words(row, column) for column in columns) and _says_how_much(plan, row)
    ]
    if blank and not plan.blank_dates:
        yield Question(
            f"rows without a date: {_shown(blank)}. Are they of the date above?",
            "--blank-dates above, or --leave-out-unreadable to leave them out",
        )


def _says_how_much(plan: Plan, row: Row) -> bool:
    return not is_total(plan, row) and any(
        cell_words(row, column) for column in plan.columns if column.is_amount or column.role in MEASURED
    )


def _questions_of_gaps(plan: Plan, rows: Sequence[Row]) -> Iterator[Question]:
    """Ask for what rows do not say: of what material, or into which bin."""
    reading = read_rows(plan, rows)
    for role in ("material", "bin", "planting", "giver"):
        missing = [(row, reason) for row, reason in reading.unread if f"{role}, and it names none" in reason]
        if missing:
            shown = _shown([row for row, _ in missing])
            yield Question(f"{missing[0][1]} ({shown}): which {role}?", _fill(plan, role))
    for (kind, words), count in reading.unknown.most_common():
        rows_of = f"{count} row{'s' * (count != 1)}"
        told = next(
            (reason for _, reason in reading.unread if f'"{words}"' in reason), f'"{words}" is unknown'
        )
        yield Question(f"{told} ({rows_of})", _ways_out(plan, kind, words))


def _shown(rows: Sequence[str]) -> str:
    return ", ".join(rows[:5]) + (" and others" if len(rows) > 5 else "")  # noqa: PLR2004 - enough


def _fill(plan: Plan, role: str) -> str:
    """Give the option that says what is meant by rows that name nothing."""
    household = plan.known.household
    known = {"bin": household.bins, "planting": household.plantings, "giver": household.givers}.get(role)
    if known is None:
        return '--fill "material=food scraps", or whatever it was'
    if known:
        others = [name for name in known if name != next(iter(known))]
        return f'--fill "{role}={next(iter(known))}"' + (f", or {', '.join(others[:5])}" if others else "")
    return f'--fill "{role}={_NEW[role]}" --introduce, with its name'


_NEW = {"bin": "First Bin", "planting": "Apple Tree", "giver": "Next Door"}


def _ways_out(plan: Plan, kind: str, words: str) -> str:
    near = near_name(plan, kind, words)
    call = (
        f'--call "{words}={near}"'
        if near is not None
        else f'--call "{words}=NAME", for NAME a {kind} that the journal knows'
    )
    if kind == "verb":
        return f"{call}: {', '.join(SHAPES)}"
    if kind == "material":
        entry = f"{words}: {{stream: food scraps, waste: yes}}"
        return f"{call}, or add it to household.yaml under materials:  {entry}"
    if kind == "unit":
        return call
    return f"{call}, or --introduce to add such names to household.yaml"


def questions_of(tables: Sequence[Table], settled: Sequence[Settled]) -> list[Question]:
    """Put the questions of all tables together; what several ask is asked once, and says of which."""
    asked: dict[Question, list[str]] = {}
    for table, each in zip(tables, settled, strict=True):
        for question in each.questions:
            asked.setdefault(question, []).append(table.name)
    if len(tables) == 1:
        return list(asked)
    sheets = [sheet for table, each in zip(tables, settled, strict=True) for sheet in table.sheets
              if not _lacks_dates(each)]  # fmt: skip
    others = " ".join(f'--sheet "{sheet}"' for sheet in dict.fromkeys(sheets))
    return [
        Question(
            f"{', '.join(names)}: {question.asked}",
            question.answers
            + (f"; or the other sheets alone: {others}" if question.asked == WHICH_DATES and others else ""),
        )
        for question, names in asked.items()
    ]


def _lacks_dates(settled: Settled) -> bool:
    return any(question.asked == WHICH_DATES for question in settled.questions)


def reasons_of(tables: Sequence[Table], settled: Sequence[Settled]) -> list[str]:
    """Put the reasons of all tables together, each with its table where there are several."""
    if len(tables) == 1:
        return list(settled[0].reasons)
    return [
        f"{table.name}: {reason}"
        for table, each in zip(tables, settled, strict=True)
        for reason in each.reasons
    ]


def _without_conversions(columns: Sequence[Column], rows: Sequence[Row], plan: Plan) -> list[Column]:
    """Leave out a column that only gives another's amounts in another unit."""
    kept = list(columns)
    masses = {column.index: sheet_mass(plan, rows, column) for column in columns if column.is_amount}
    amounts = [column for column in columns if masses.get(column.index)]
    for later in amounts:
        for earlier in amounts:
            first, second = masses[earlier.index], masses[later.index]
            is_same = (earlier.material, earlier.bin, earlier.verb) == (later.material, later.bin, later.verb)
            if (
                earlier.index < later.index
                and is_same
                and _same_rows(rows, earlier, later)
                and first
                and second
            ):
                kept = [
                    replace(each, role="ignore", why=f'it is "{earlier.name}" in another unit')
                    if each.index == later.index
                    else each
                    for each in kept
                ]
    return kept


def _same_rows(rows: Sequence[Row], one: Column, other: Column) -> bool:
    """Whether two columns of masses say the same in every row, to a hundredth."""
    sizes = [BY_SYMBOL[column.unit].size for column in (one, other)]
    if one.unit == other.unit:
        return False
    for row in rows:
        values = []
        for column, size in zip((one, other), sizes, strict=True):
            words = cell_words(row, column).replace(",", ".")
            try:
                values.append(float(words or 0) * size)
            except ValueError:
                return False
        if not math.isclose(values[0], values[1], rel_tol=0.02, abs_tol=0.02):
            return False
    return True
