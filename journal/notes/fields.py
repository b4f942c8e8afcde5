"""Values of a YAML tree read as what they are meant for, with a located problem where they are not.

Each function takes the sheet that problems are written on, a node, and gives a value or None.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Mapping, Sequence

from journal.measures.numbers import Number, NumberProblem, read_number
from journal.measures.units import read_unit
from journal.notes import tree
from journal.notes.dates import DateProblem, read_date
from journal.notes.faults import Fault
from journal.notes.names import fold, meant, nearest
from journal.notes.place import Place, Problem, problem

_YES = frozenset({"yes", "true", "on", "y"})
_NO = frozenset({"no", "false", "off", "n", "none"})
_PERCENT = re.compile(r"\s*(?:%|percent)?\s*$", re.IGNORECASE)


class Sheet:
    """Where the problems of one document are written down, and how it writes its decimals."""

    def __init__(self, *, comma: bool = False) -> None:
        self.problems: list[Problem] = []
        self.comma = comma

    def wrong(self, fault: Fault, place: Place, words: str, **blanks: object) -> None:
        """Write a problem down."""
        self.problems.append(problem(fault, place, words, "", **blanks))

    def wrong_value(self, node: tree.Node, expected: str, example: str) -> None:
        """Write down that a value is not what it is to be."""
        if isinstance(node, tree.Scalar):
            self.wrong(
                Fault.WRONG_VALUE, node.place, node.text or "nothing", expected=expected, example=example
            )
        else:
            self.wrong(
                Fault.WRONG_SHAPE, node.place, kind_of(node), where="this", expected=expected,
                found=kind_of(node), example=example,
            )  # fmt: skip


def kind_of(node: tree.Node) -> str:
    """Name a node's kind as a keeper would."""
    if isinstance(node, tree.Mapping):
        return "keys with values"
    return "a list" if isinstance(node, tree.Sequence) else "a single value"


def mapping_of(sheet: Sheet, node: tree.Node, where: str, example: str) -> tree.Mapping | None:
    """Give a node that is to hold keys; an empty value stands for no keys."""
    if isinstance(node, tree.Mapping):
        return node
    if isinstance(node, tree.Scalar) and not node.text:
        return tree.Mapping((), node.place)
    sheet.wrong(
        Fault.WRONG_SHAPE, node.place, where, where=where, expected="keys with values", found=kind_of(node),
        example=example,
    )  # fmt: skip
    return None


def check_keys(sheet: Sheet, node: tree.Mapping, keys: Iterable[str]) -> dict[str, tree.Node]:
    """Give the nodes by key, unknown keys written down with the nearest one."""
    known = list(keys)
    found: dict[str, tree.Node] = {}
    for key, value in node.pairs:
        if key.text in known:
            found[key.text] = value
        else:
            near = nearest(key.text, known)
            sheet.wrong(
                Fault.UNKNOWN_KEY, key.place, key.text, keys=", ".join(known),
                meant=meant(near),
            )  # fmt: skip
    return found


def check_names(sheet: Sheet, node: tree.Mapping, what: str) -> list[tuple[str, tree.Node]]:
    """Give the names of a list with their values; two that are one to the reader are written down."""
    seen: dict[str, str] = {}
    named: list[tuple[str, tree.Node]] = []
    for key, value in node.pairs:
        name = " ".join(key.text.split())
        folded = fold(name)
        if not folded:
            sheet.wrong(
                Fault.WRONG_VALUE,
                key.place,
                name or "nothing",
                expected=f"the name of {what}",
                example=f"{what}: …",
            )
        elif folded in seen:
            sheet.wrong(Fault.SAME_NAME, key.place, name, other=seen[folded])
        else:
            seen[folded] = name
            named.append((name, value))
    return named


def text_of(sheet: Sheet, node: tree.Node, example: str) -> str:
    """Read words."""
    if isinstance(node, tree.Scalar):
        return " ".join(node.text.split())
    sheet.wrong_value(node, "words", example)
    return ""


def texts_of(sheet: Sheet, node: tree.Node, example: str) -> tuple[str, ...]:
    """Read a list of words; a single one may stand without its brackets."""
    nodes = node.items if isinstance(node, tree.Sequence) else (node,)
    return tuple(filter(None, (text_of(sheet, item, example) for item in nodes)))


def choice_of(sheet: Sheet, node: tree.Node, choices: Sequence[str], example: str) -> str | None:
    """Read one of a few words."""
    if isinstance(node, tree.Scalar) and node.text.lower() in choices:
        return node.text.lower()
    sheet.wrong_value(node, f"one of: {', '.join(choices)}", example)
    return None


def yes_of(sheet: Sheet, node: tree.Node, example: str) -> bool | None:
    """Read yes or no."""
    if isinstance(node, tree.Scalar) and node.text.lower() in _YES | _NO:
        return node.text.lower() in _YES
    sheet.wrong_value(node, "yes or no", example)
    return None


def number_in(sheet: Sheet, text: str, position: int = 0) -> tuple[int, Number] | None:
    """Read a number, zero allowed, as the document writes its decimals."""
    try:
        return read_number(text, position, comma=sheet.comma)
    except NumberProblem:
        return None


def whole_of(sheet: Sheet, node: tree.Node, example: str, *, unit: str = "") -> int | None:
    """Read a whole number above nothing, with or without a unit of its own behind it ("7 days")."""
    if isinstance(node, tree.Scalar):
        found = re.fullmatch(rf"(\d{{1,9}})\s*(?:{unit})?" if unit else r"(\d{1,9})", node.text.strip())
        if found is not None and int(found[1]) > 0:
            return int(found[1])
    sheet.wrong_value(node, "a whole number", example)
    return None


def date_of(sheet: Sheet, node: tree.Node, example: str) -> dt.date | None:
    """Read a date."""
    if not isinstance(node, tree.Scalar):
        sheet.wrong_value(node, "a date", example)
        return None
    try:
        found = read_date(node.text.strip(), 0)
    except DateProblem as wrong:
        sheet.wrong(wrong.fault, node.place, wrong.words, **wrong.blanks)
        return None
    if found is None or found[0] != len(node.text.strip()):
        sheet.wrong_value(node, "a date", example)
        return None
    return found[1]


def measured_of(
    sheet: Sheet, node: tree.Node, kinds: Sequence[str], example: str
) -> tuple[str, float, float] | None:
    """Read an amount with its unit: its kind, its value in kg, L or m², and the half-width of its reading."""
    if isinstance(node, tree.Scalar):
        found = measured_in(sheet, node.text.strip(), kinds)
        if found is not None and found[1] > 0:
            return found
    units = " or ".join(f"a {kind}" if kind != "area" else "an area" for kind in kinds)
    sheet.wrong_value(node, f"{units} with its unit", example)
    return None


def measured_in(sheet: Sheet, text: str, kinds: Sequence[str]) -> tuple[str, float, float] | None:
    """Read "2.4 lb", "2 lb 3 oz" or "4 sq ft" as a whole."""
    position, value, half, kind = 0, 0.0, 0.0, ""
    while position < len(text):
        number = number_in(sheet, text, position)
        if number is None:
            return None
        unit = read_unit(text, number[0] + len(text[number[0] :]) - len(text[number[0] :].lstrip()))
        if unit is None or unit[1].kind not in kinds or kind not in ("", unit[1].kind):
            return None
        kind = unit[1].kind
        value += number[1].value * unit[1].size
        half = number[1].half * unit[1].size
        position = unit[0] + len(text[unit[0] :]) - len(text[unit[0] :].lstrip())
    return (kind, value, half) if kind else None


def percent_in(sheet: Sheet, text: str) -> float | None:
    """Read "75%" (or 75) as 75."""
    number = number_in(sheet, text.strip())
    if number is None or not _PERCENT.match(text.strip(), number[0]) or not 0 <= number[1].value <= 100:  # noqa: PLR2004 - per cent
        return None
    return number[1].value


def shares_of(sheet: Sheet, node: tree.Node, fates: Sequence[str], what: str) -> Mapping[str, float] | None:
    """Read what would have become of waste: one fate, or the share of each, which add to 1."""
    example = "{landfill: 60%, recycling: 40%}"
    if isinstance(node, tree.Scalar):
        fate = choice_of(sheet, node, fates, "landfill")
        return None if fate is None else {fate: 1.0}
    if not isinstance(node, tree.Mapping):
        sheet.wrong_value(node, "one fate, or the share of each", example)
        return None
    shares: dict[str, float] = {}
    for fate, value in check_keys(sheet, node, fates).items():
        percent = percent_in(sheet, value.text) if isinstance(value, tree.Scalar) else None
        if percent is None:
            sheet.wrong_value(value, "a share of 0% to 100%", example)
            return None
        shares[fate] = percent / 100
    total = sum(shares.values())
    if abs(total - 1) > 0.005:  # noqa: PLR2004 - shares are given in whole per cent
        sheet.wrong(Fault.SHARES, node.place, what, sum=f"{100 * total:g}%")
        return None
    return {fate: share / total for fate, share in shares.items() if share > 0}
