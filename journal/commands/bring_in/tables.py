"""The tables of a file: rows that stand below the same heads, so that each is read by its own heads."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from journal.commands.bring_in.dates import read_date
from journal.commands.bring_in.heads import KnownNames, is_head_of, names_in, role_of, unit_in, unit_of_head
from journal.commands.bring_in.sheets import Cell, Row
from journal.notes.names import fold

_TITLES = 20  # rows that may stand above the heads
_SCALE = re.compile(r"°?\s*[FC]|%|pH", re.IGNORECASE)
_NO_GROUP = frozenset({"date", "ignore", "remark"})  # heads that belong to no group above them


@dataclass(frozen=True, slots=True)
class Table:
    """Rows below the same heads, perhaps of several sheets; ``heads`` is None where there are none."""

    heads: Row | None
    rows: list[Row]

    @property
    def sheets(self) -> list[str]:
        """The sheets that its rows stand in; none where the file has but one."""
        return list(dict.fromkeys(row.sheet for row in self.rows if row.sheet))

    @property
    def name(self) -> str:
        """What it is called beside others: its sheets, or its first row."""
        return ", ".join(self.sheets) or f"from {self.rows[0].label}"


def tables_of(rows: Sequence[Row], names: KnownNames) -> list[Table]:
    """Part rows into tables: each sheet begins one, and so do heads further down in a sheet.

    Tables with the same heads are one.  Those without any rows are left out.
    """
    tables: list[Table] = []
    for part in _parts(rows):
        heads, below = heads_of(part, names)
        below = [row for row in below if heads is None or row.cells != heads.cells]  # said again
        same = next((each for each in tables if heads is not None and _same(each.heads, heads)), None)
        if same is not None:
            same.rows.extend(below)
        elif below:
            tables.append(Table(heads, below))
    return tables


def _parts(rows: Sequence[Row]) -> Iterator[list[Row]]:
    """Part rows where another sheet begins, and at heads of dates that stand below data."""
    part: list[Row] = []
    has_data = False
    for row in rows:
        if part and (row.sheet != part[0].sheet or (has_data and _heads_dates(row))):
            yield part
            part, has_data = [], False
        part.append(row)
        has_data = has_data or (len(_filled(row)) > 1 and not _is_words(row))  # a title stands alone
    if part:
        yield part


def _same(one: Row | None, other: Row) -> bool:
    return one is not None and _folded(one) == _folded(other)


def _folded(heads: Row) -> list[str]:
    folded = [fold(str(cell)) for cell in heads.cells]
    while folded and not folded[-1]:
        folded.pop()
    return folded


def heads_of(rows: Sequence[Row], names: KnownNames) -> tuple[Row | None, Sequence[Row]]:
    """Give the row with the columns' heads, None where the data begins at once, and the rows below it.

    Of the rows of words above the data it is the one with most words that head a column.  A row of units
    below it, or of groups above it, is put together with it.
    """
    best, best_known = None, -1
    for index, row in enumerate(rows[:_TITLES]):
        filled = _filled(row)
        if len(filled) == 1:  # a title stands alone in its row
            continue
        if not _is_words(row) and not _heads_dates(row):
            break
        if best is not None and index == best + 1 and _is_units(row, names):
            continue
        known = sum(bool(role_of(str(cell)) or _unit_in_brackets(str(cell), names)) for cell in filled)
        if known > best_known:
            best, best_known = index, known
    if best is None:
        return None, rows
    heads, last = _with_neighbours(rows, best, names)
    return heads, rows[last + 1 :]


def _with_neighbours(rows: Sequence[Row], best: int, names: KnownNames) -> tuple[Row, int]:
    """Put the heads together with rows beside them that say more of the columns; say where they end."""
    heads, last = rows[best], best
    above = rows[best - 1] if best > 0 else None
    below = rows[best + 1] if best + 1 < len(rows) and _is_words(rows[best + 1]) else None
    if above is not None and _are_groups(above, heads, names):
        heads = _grouped(above, heads, names)
    elif below is not None and _are_groups(heads, below, names):
        heads, last = _grouped(heads, below, names), best + 1
        below = rows[last + 1] if last + 1 < len(rows) else None
    if below is not None and _is_units(below, names):
        heads, last = _with_units(heads, below), last + 1
    return heads, last


def _filled(row: Row) -> list[Cell]:
    return [cell for cell in row.cells if cell != ""]


def _is_words(row: Row) -> bool:
    """Whether a row holds nothing but words."""
    return all(isinstance(cell, str) and not _starts_like_data(cell) for cell in row.cells)


def _starts_like_data(cell: str) -> bool:
    return bool(re.match(r"[\d¼½¾.,]", cell)) or read_date(cell) is not None


def _heads_dates(row: Row) -> bool:
    """Whether one of a row's cells is the head of dates, whatever the others are, and no other is a date."""
    filled = _filled(row)
    return (
        len(filled) > 1
        and any(isinstance(cell, str) and is_head_of("date", cell) for cell in filled)
        and all(isinstance(cell, float) or (isinstance(cell, str) and not read_date(cell)) for cell in filled)
    )


def _unit_in_brackets(head: str, names: KnownNames) -> bool:
    found = re.search(r"[(\[]([^)\]]*)[)\]]", head)
    return found is not None and unit_in(found[1], names) is not None


def _is_units(row: Row, names: KnownNames) -> bool:
    """Whether a row holds nothing but units, with brackets or without."""
    cells = [str(cell).strip("()[] ") for cell in _filled(row)]
    return bool(cells) and all(unit_in(cell, names) or _SCALE.fullmatch(cell) for cell in cells)


def _with_units(heads: Row, units: Row) -> Row:
    """Write a unit behind each head; where heads are merged, the one to the left has several."""
    cells: list[Cell] = []
    left: Cell = ""
    for head, unit in _pairs(heads, units):
        left = head if head != "" or unit == "" else left
        cells.append(f"{left} ({str(unit).strip('()[] ')})".strip() if unit != "" else head)
    return replace(units, cells=tuple(cells))


def _pairs(upper: Row, lower: Row) -> list[tuple[Cell, Cell]]:
    """Give the cells of two rows, one above the other, to the width of the wider."""
    width = max(len(upper.cells), len(lower.cells))
    above, below = (row.cells + ("",) * (width - len(row.cells)) for row in (upper, lower))
    return list(zip(above, below, strict=True))


def _are_groups(upper: Row, lower: Row, names: KnownNames) -> bool:
    """Whether a row heads groups of the columns below it, as merged cells do, and is no title.

    Each of its cells names what the journal knows, or stands above an empty one; a title begins where the
    heads begin.
    """
    pairs = [pair for pair in _pairs(upper, lower) if pair != ("", "")]
    groups = [(above, below) for above, below in pairs if above != "" and below != ""]
    if not groups or len(_filled(lower)) < 2 or pairs[0] in groups:  # noqa: PLR2004 - one head needs no group
        return False
    return all(_is_group(str(above), names) for above, _ in groups)


def _is_group(words: str, names: KnownNames) -> bool:
    unit, bare = unit_of_head(words, names)
    return bool(unit or names_in(bare, names) or names.name("verb", bare))


def _grouped(upper: Row, lower: Row, names: KnownNames) -> Row:
    """Write a group before each of its heads; it goes on to the right as long as nothing stands above."""
    cells: list[Cell] = []
    group = ""
    for above, below in _pairs(upper, lower):
        if above != "":
            group = str(above) if below != "" and _is_group(str(above), names) else ""
        if below == "":
            group = ""
            cells.append(above)
        elif group and role_of(str(below)) not in _NO_GROUP:
            cells.append(f"{group} {below}")
        else:
            cells.append(below)
    return replace(lower, cells=tuple(cells))
