"""Tables as text: CSV by RFC 4180, cells that no spreadsheet runs, decimals in full, doubt in one cell.

A text cell that would begin a formula, or that begins with an apostrophe, gets one apostrophe in front; a
reader takes one leading apostrophe off again (``plain``), so nothing is lost.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

STARTS_A_FORMULA = "=+-@\t\r\n＝＋－＠"
"""Signs at which spreadsheets begin a formula, the wide forms of East Asian keyboards among them."""

HERE = "household"
EVERYWHERE = "catalogue"
"""Whose cause of doubt it is: this household's alone, or the catalogue's and so any household's."""


def safe(text: str) -> str:
    """Give the text of a cell so that no spreadsheet takes it for a formula."""
    return f"'{text}" if text[:1] and (text[0] in STARTS_A_FORMULA or text[0] == "'") else text


def plain(text: str) -> str:
    """Undo ``safe``."""
    return text.removeprefix("'")


def decimal(value: float) -> str:
    """Write a number in full: the shortest digits that read back as the same double, never ``-0.0``."""
    return repr(value + 0.0)


def comma_separated(
    heads: Sequence[str], rows: Iterable[list[Any]], texts: Sequence[int], truths: Sequence[int] = ()
) -> bytes:
    """Give a table as CSV in UTF-8 with CRLF line ends; None is an empty cell, a number has all its digits.

    ``texts`` are the places of columns that hold free text, ``truths`` of those that are true or false.
    """
    text = io.StringIO()
    writer = csv.writer(text)
    if heads:
        writer.writerow(heads)
    marked = frozenset(f"{STARTS_A_FORMULA}'")
    for row in rows:
        for at in texts:
            cell = row[at]
            if cell and cell[0] in marked:
                row[at] = f"'{cell}"
        for at in truths:
            row[at] = "true" if row[at] else "false"
        line = _bare_line(row)
        if line:
            text.write(line)
        else:
            writer.writerow(row)
    return text.getvalue().encode("utf-8", "replace")


def _bare_line(row: list[Any]) -> str:
    """Give a row of nothing but texts that need no quotation marks, as most are; else nothing.

    The writer of the standard library looks at every sign of every cell, which takes four times as long.
    """
    try:
        line = ",".join(row)
    except TypeError:  # a number or None
        return ""
    quoted = '"' in line or "\n" in line or "\r" in line or line.count(",") != len(row) - 1
    return "" if quoted or not line else f"{line}\r\n"


def written_causes(causes: Mapping[tuple[str, str], float]) -> str:
    """Write shared doubts into one cell.

    ``catalogue: density of coffee grounds=0.0123; household: pail=0.02`` is two.
    Keys are (whose, cause); values are signed standard uncertainties in kg.
    """
    return "; ".join(
        f"{whose}: {cause}={decimal(part)}" for (whose, cause), part in sorted(causes.items()) if part
    )


def cause_name(name: str) -> str:
    """Give a cause's name without the signs that part causes from one another in a cell."""
    return " ".join(name.replace(";", ",").replace("=", "-").split())


def read_causes(cell: str) -> dict[tuple[str, str], float]:
    """Read what ``written_causes`` wrote.  Raises ValueError where it is not of that form."""
    causes: dict[tuple[str, str], float] = {}
    for piece in cell.split("; ") if cell else ():
        name, equals, part = piece.rpartition("=")
        whose, colon, cause = name.partition(": ")
        if not equals or not colon or whose not in (HERE, EVERYWHERE):
            raise ValueError(f'"{piece}" is no cause of doubt')
        causes[whose, cause] = float(part)
    return causes
