"""Numbers as a spreadsheet writes them, turned into the way in which the journal writes them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

from journal.commands.bring_in.sheets import Cell

_NUMERAL = re.compile(r"(?<![\w.,])\d[\d.,]*\d|(?<![\w.,])\d|(?<![\w.,])[.,]\d+")
_POINT = re.compile(r"\d*\.(?:\d{1,2}|\d{4,})|0?\.\d{3}|\d{1,3}(?:,\d{3})+\.\d+|\d{4,}\.\d+")
_COMMA = re.compile(r"\d*,(?:\d{1,2}|\d{4,})|0?,\d{3}|\d{1,3}(?:\.\d{3})+,\d+|\d{4,},\d+")


class DecimalSign(NamedTuple):
    """How a sheet writes decimals: "point" or "comma", and why; ``question`` where that is not known."""

    sign: str
    why: str = ""
    question: str = ""


def decimal_sign(cells: Iterable[tuple[str, Cell]], told: str | None) -> DecimalSign:
    """Find how a sheet writes decimals from pairs of where and cell."""
    proofs: dict[str, tuple[str, str]] = {}
    open_one: tuple[str, str] | None = None
    for where, cell in cells:
        for numeral in _NUMERAL.findall(cell) if isinstance(cell, str) else ():
            if _POINT.fullmatch(numeral):
                proofs.setdefault("point", (where, numeral))
            elif _COMMA.fullmatch(numeral):
                proofs.setdefault("comma", (where, numeral))
            elif re.search(r"[.,]", numeral) and open_one is None:
                open_one = (where, numeral)
    if told is not None:
        return DecimalSign(told, f"you say {told}")
    if len(proofs) == 1:
        sign, (where, numeral) = next(iter(proofs.items()))
        return DecimalSign(sign, f"{numeral} in {where} has a decimal {sign}")
    if len(proofs) > 1:
        words = " and ".join(f"{numeral} in {where}" for where, numeral in proofs.values())
        return DecimalSign("point", "", f"decimals are written in two ways: {words}")
    if open_one is not None:
        where, numeral = open_one
        return DecimalSign(
            "point", "", f"is {numeral} in {where} more than a thousand, or a little over {numeral[0]}?"
        )
    return DecimalSign("point")


def amount_words(cell: Cell, sign: str, *, comma: bool) -> str:
    """Write the numbers of a cell as the journal does: ``comma`` where its decimals have a comma.

    Digits stay as they were written, since the last of them tells the doubt.
    """
    if isinstance(cell, float):
        plain = f"{cell:.10g}"
        if "e" in plain:
            plain = f"{cell:.12f}".rstrip("0").rstrip(".")
        return plain.replace(".", ",") if comma else plain
    if not isinstance(cell, str):
        return cell.isoformat()

    def rewritten(found: re.Match[str]) -> str:
        parting = "," if sign == "point" else "."
        if found[0].startswith(f"0{parting}"):  # which parts no thousands: whoever reads it asks
            return found[0]
        digits = found[0].replace(parting, "").replace(",", ".")
        return digits.replace(".", ",") if comma else digits

    return " ".join(_NUMERAL.sub(rewritten, cell).split())
