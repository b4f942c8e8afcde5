"""A sheet's own totals held against what is read of it, so that no column and no row is lost unseen."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence

from journal.commands.bring_in.columns import Column
from journal.commands.bring_in.numerals import amount_words
from journal.commands.bring_in.rows import is_total
from journal.commands.bring_in.sentences import Plan, cell_words
from journal.commands.bring_in.sheets import Cell, Row

_ROW_TOTAL = re.compile(r"^(?!.*(?:running|cumulative|to date|year|month)).*\btotals?\b", re.IGNORECASE)
_NEAR = 0.005  # of the total: what rounding to its last digit may leave


def unsaid_totals(plan: Plan, rows: Sequence[Row]) -> frozenset[str]:
    """Give the labels of rows that add up a sheet without a word of it.

    Such a row is the last of its sheet, has no date and no words, and says of every column of amounts what
    the rows above it, two or more, come to.
    """
    sheets: dict[str, list[Row]] = {}
    for row in rows:
        if not is_total(plan, row):
            sheets.setdefault(row.sheet, []).append(row)
    return frozenset(of_sheet[-1].label for of_sheet in sheets.values() if _adds_up(plan, of_sheet))


def _is_words(cell: Cell) -> bool:
    return not isinstance(cell, float) and re.search(r"[^\W\d_]", str(cell)) is not None


def _adds_up(plan: Plan, rows: Sequence[Row]) -> bool:
    """Whether the last of the rows adds up those above it."""
    *above, last = rows
    dated = any(cell_words(last, column) for column in plan.columns if column.role == "date")
    if len(above) < 2 or dated or any(_is_words(cell) for cell in last.cells):  # noqa: PLR2004 - one has no total
        return False
    stated = 0.0
    for column in plan.columns:
        if column.is_amount:
            total, *numbers = [_number(plan, row, column) for row in (last, *above)]
            known = [number for number in numbers if number is not None]
            if total is None or len(known) < len(numbers) or _differs(total, math.fsum(known)):
                return False
            stated += total
    return stated > 0


def disagreements(plan: Plan, rows: Sequence[Row]) -> Iterator[str]:
    """Say where a total that the sheet holds is not what its amounts add up to."""
    yield from _down(plan, rows)
    yield from _across(plan, rows)


def _number(plan: Plan, row: Row, column: Column) -> float | None:
    """Give a cell's number; 0 where it says nothing, None where it is more than a number."""
    if not cell_words(row, column):
        return 0.0
    try:
        return float(amount_words(row.cells[column.index], plan.sign, comma=False))
    except ValueError:
        return None


def _differs(total: float, *sums: float) -> bool:
    return not any(math.isclose(total, each, rel_tol=_NEAR, abs_tol=_NEAR) for each in sums)


def _down(plan: Plan, rows: Sequence[Row]) -> Iterator[str]:
    """Hold rows of totals against the rows above them: all of them, or those since the last such row."""
    for column in plan.columns:
        if not column.is_amount:
            continue
        whole = since = 0.0
        for row in rows:
            number = _number(plan, row, column)
            if number is None:
                break
            if not is_total(plan, row):
                whole, since = whole + number, since + number
                continue
            if number and _differs(number, whole, since):
                yield f'{row.label} says {number:g} for "{column.name}", and the rows above come to {since:g}'
            since = 0.0


def _across(plan: Plan, rows: Sequence[Row]) -> Iterator[str]:
    """Hold a column of totals against the amounts of each row."""
    totals = [column for column in plan.columns if column.role == "ignore" and _ROW_TOTAL.match(column.head)]
    for total in totals:
        parts = [column for column in plan.columns if column.is_amount and column.unit == total.unit]
        if len(parts) < 2:  # noqa: PLR2004 - one amount has no total
            continue
        for row in rows:
            numbers = [_number(plan, row, column) for column in (total, *parts)]
            if None in numbers or not numbers[0]:
                continue
            stated, *amounts = [number for number in numbers if number is not None]
            whole = math.fsum(amounts)
            if _differs(stated, whole):
                yield f'{row.label} says {stated:g} for "{total.name}", and its amounts come to {whole:g}'
                break
