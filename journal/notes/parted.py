"""Decimals of household.yaml that YAML took apart: inside {} and [] a comma parts values.

``{surface: 0,5 sq m}`` is the key "surface" with 0 and a key "5 sq m"; ``[3,1 kg]`` is 3 and 1 kg.
"""

from __future__ import annotations

import re

from journal.notes import tree
from journal.notes.faults import Fault
from journal.notes.fields import Sheet

_WHOLE = re.compile(r"\D*\d+", re.ASCII)
_NUMBER = re.compile(r"\d+", re.ASCII)
_REST = re.compile(r"\d")
_REST_WITH_UNIT = re.compile(r"\d+\s*[A-Za-z]")


def without_parted(sheet: Sheet, node: tree.Mapping) -> tree.Mapping:
    """Give the tree without the decimals that were taken apart, each of them written down."""
    kept = _without(sheet, node)
    return kept if isinstance(kept, tree.Mapping) else tree.Mapping((), node.place)


def _without(sheet: Sheet, node: tree.Node) -> tree.Node | None:
    """Give a node without them, or None where nothing is left of it."""
    if isinstance(node, tree.Scalar):
        return node
    if isinstance(node, tree.Sequence):
        return None if _is_parted(sheet, node) else node
    pairs: list[tuple[tree.Scalar, tree.Node]] = []
    last: tuple[tree.Scalar, tree.Node] | None = None
    for key, value in node.pairs:
        if last is not None and _is_rest(last[1], key, value):
            front, name = last[1], last[0].text
            assert isinstance(front, tree.Scalar)  # noqa: S101 - only a single value is parted
            _tell(sheet, front, key, f"{name}: ")
            pairs.pop()
            last = None
            continue
        left = _without(sheet, value)
        last = None if left is None else (key, value)
        if left is not None:
            pairs.append((key, left))
    if len(pairs) == len(node.pairs) and all(
        one[1] is other[1] for one, other in zip(pairs, node.pairs, strict=True)
    ):
        return node
    return tree.Mapping(tuple(pairs), node.place) if pairs else None


def _is_rest(front: tree.Node, key: tree.Scalar, value: tree.Node) -> bool:
    """Whether a key without a value is what stood behind the comma of the value in front of it."""
    return (
        isinstance(front, tree.Scalar)
        and isinstance(value, tree.Scalar)
        and not (front.quoted or key.quoted or value.quoted or value.text)
        and front.place.line == key.place.line
        and _WHOLE.fullmatch(front.text) is not None
        and _REST.match(key.text) is not None
    )


def _is_parted(sheet: Sheet, node: tree.Sequence) -> bool:
    """Whether a list holds a bare number and, behind a comma, digits with a unit; the first is told."""
    for front, rest in zip(node.items, node.items[1:], strict=False):
        if (
            isinstance(front, tree.Scalar)
            and isinstance(rest, tree.Scalar)
            and not (front.quoted or rest.quoted)
            and _NUMBER.fullmatch(front.text) is not None
            and _REST_WITH_UNIT.match(rest.text) is not None
        ):
            _tell(sheet, front, rest, "")
            return True
    return False


def _tell(sheet: Sheet, front: tree.Scalar, rest: tree.Scalar, before: str) -> None:
    words = f"{front.text},{rest.text}"
    whole = f'"{words}"' if sheet.comma else f"{front.text}.{rest.text}"
    sheet.wrong(Fault.PARTED, front.place, words, whole=f"{before}{whole}")
