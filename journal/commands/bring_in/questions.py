"""What has to be known before a sheet can be read: settled from the sheet with a reason, or asked."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from journal.commands.bring_in.columns import Column, KnownNames, is_nothing, tell_columns
from journal.commands.bring_in.dates import DateOrder, date_order, read_date
from journal.commands.bring_in.numerals import decimal_sign
from journal.commands.bring_in.rows import Plan, cell_words, is_total, read_rows, sheet_mass
from journal.commands.bring_in.sheets import Row
from journal.measures.units import BY_SYMBOL
from journal.notes.known import Known
from journal.notes.names import fold


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
    columns: Sequence[Column], rows: Sequence[Row], told: Told, names: KnownNames, known: Known
) -> Settled:
    """Settle how the rows are read; what the sheet itself does not settle becomes a question."""
    columns = tell_columns(columns, told.columns, names)
    columns = _without_conversions(columns, rows, Plan(columns, names, known))
    order = _order(columns, rows, told)
    amounts = [column for column in columns if column.is_amount or column.role in _MEASURED]
    sign = decimal_sign(_cells(amounts, rows), told.decimal)
    calls = {fold(words): name for words, name in told.calls.items()}
    plan = Plan(columns, names, known, order.order, told.year, sign.sign, told.fill, calls, told.blank_dates)
    reasons = [f"dates: {order.why}"] * bool(order.why) + [f"decimals: {sign.why}"] * bool(sign.why)
    questions = [
        *_questions_of_columns(plan, rows),
        *_questions_of_dates(plan, rows, order),
        *([] if told.leave_out else _questions_of_blank_dates(plan, rows)),
        *([Question(sign.question, "--decimal point, or --decimal comma")] if sign.question else []),
    ]
    if not questions and not told.leave_out:
        questions += _questions_of_gaps(plan, rows)
    return Settled(plan, reasons, questions)


_MEASURED = frozenset({"temperature", "moisture", "acidity"})


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
    if not any(column.role == "date" for column in plan.columns):
        yield Question("which column holds the dates?", f'--column "{plan.columns[0].name}=date"')
    for column in plan.columns:
        if not column.role:
            yield Question(
                f'column {column.letters} "{column.name}" holds numbers: of what?',
                f'--column "{column.name}=coffee grounds, lb", with its material and unit, or '
                f'--column "{column.name}=ignore"',
            )
        elif column.role == "temperature" and not column.unit and not _has_own_unit(rows, column):
            yield Question(
                f'are the temperatures in "{column.name}" in F or C?',
                f'--column "{column.name}=temperature, F"',
            )
        elif column.role == "amount" and not column.unit and not _has_unit(plan, rows, column):
            yield Question(
                f'in which unit are the amounts of column {column.letters} "{column.name}"?',
                f'--column "{column.name}=lb", or kg, or a measure of yours; =count for things counted',
            )
    measured = any(column.is_amount or column.role in _MEASURED for column in plan.columns)
    if not measured and any(column.role == "date" for column in plan.columns):
        yield Question("which column says how much?", f'--column "{plan.columns[-1].name}=lb"')
    yield from _questions_of_compounds(plan)


def _has_unit(plan: Plan, rows: Sequence[Row], column: Column) -> bool:
    if plan.fill.get("unit") or any(each.role == "unit" for each in plan.columns):
        return True
    return _has_own_unit(rows, column)


def _has_own_unit(rows: Sequence[Row], column: Column) -> bool:
    """Whether every cell with a number has words behind it."""
    cells = [cell for _, cell in _cells([column], rows)]
    return all(isinstance(cell, str) and re.search(r"[^\W\d_]", cell) for cell in cells)


def _questions_of_compounds(plan: Plan) -> Iterator[Question]:
    """Ask about two columns of amounts that are no pounds and ounces, and no amounts of two things."""
    plain = [column for column in plan.columns if column.is_amount and not column.is_whole]
    if len(plain) < 2:  # noqa: PLR2004 - one is no question
        return
    units = {column.unit for column in plain}
    if units not in ({"lb", "oz"}, {"stone", "lb"}, {"kg", "g"}):
        names = " and ".join(f'"{column.name}"' for column in plain)
        yield Question(f"{names} both say how much: which one counts?", f'--column "{plain[-1].name}=ignore"')


def _questions_of_dates(plan: Plan, rows: Sequence[Row], order: DateOrder) -> Iterator[Question]:
    if order.question:
        yield Question(order.question, "--dates day-first, or --dates month-first")
    columns = [column for column in plan.columns if column.role == "date"]
    for where, cell in _cells(columns, rows):
        reading = read_date(cell, plan.year) if isinstance(cell, str) else None
        if reading is not None and reading.needs_year:
            yield Question(f'"{cell}" in {where} has no year: which is it?', "--year 2024")
            break


def _questions_of_blank_dates(plan: Plan, rows: Sequence[Row]) -> Iterator[Question]:
    columns = [column for column in plan.columns if column.role == "date"]
    blank = [
        row.label
        for row in rows
        if columns and not any(cell_words(row, column) for column in columns) and _says_how_much(plan, row)
    ]
    if blank and not plan.blank_dates:
        shown = ", ".join(blank[:5]) + (" and others" if len(blank) > 5 else "")  # noqa: PLR2004 - enough
        yield Question(
            f"rows without a date: {shown}. Are they of the date above?",
            "--blank-dates above, or --leave-out-unreadable to leave them out",
        )


def _says_how_much(plan: Plan, row: Row) -> bool:
    return not is_total(plan, row) and any(
        cell_words(row, column) for column in plan.columns if column.is_amount or column.role in _MEASURED
    )


def _questions_of_gaps(plan: Plan, rows: Sequence[Row]) -> Iterator[Question]:
    """Ask for what no row says: of what material, or into which bin."""
    reading = read_rows(plan, rows)
    reasons = {reason for _, reason in reading.unread}
    for role, example in (("material", "food scraps"), ("bin", _first(plan.names.bins)), ("planting", "")):
        missing = [reason for reason in reasons if f"needs a {role}, and it names none" in reason]
        if missing and not any(column.role == role for column in plan.columns):
            yield Question(f"{missing[0]}: which {role}?", f'--fill "{role}={example or "NAME"}"')
    for (kind, words), count in reading.unknown.most_common():
        rows_of = f"{count} row{'s' * (count != 1)}"
        near = next(
            (reason for _, reason in reading.unread if f'"{words}"' in reason), f'"{words}" is unknown'
        )
        yield Question(f"{near} ({rows_of})", _ways_out(kind, words))


def _first(names: Mapping[str, str]) -> str:
    return next(iter(names.values()), "")


def _ways_out(kind: str, words: str) -> str:
    call = f'--call "{words}=NAME" for a {kind} that the journal knows'
    if kind in {"giver", "bin", "planting"}:
        return f"{call}, or --introduce to add such names to household.yaml"
    return call if kind != "material" else f"{call}, or add it to household.yaml under materials"


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
