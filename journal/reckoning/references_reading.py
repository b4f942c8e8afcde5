"""The shipped reference files, as trees, become the types of ``references``.

A file that does not keep to its form is a fault of the program, not of the keeper: ``ReferenceFault``
names file and line.  Numbers carry the unit their source uses (``1 lb/ft2/week``, ``4 C``, ``60 days``) and
are converted here, once.
"""

from __future__ import annotations

import re
from collections.abc import Mapping as Named
from collections.abc import Sequence as Listed

from journal.measures.units import FOOT, POUND
from journal.notes.materials import Range
from journal.notes.tree import Mapping, Node, Scalar, Sequence
from journal.reckoning.references import (
    CHECKED,
    FATES,
    Analysis,
    Band,
    Caution,
    Comparison,
    Factors,
    FactorTable,
    HomeBin,
    Husbandry,
    Nutrient,
    Nutrients,
    Oxide,
    Potentials,
    RowUse,
    Source,
    WormKind,
    Worms,
)

_SQUARE_FOOT = float(FOOT) ** 2
_LB = float(POUND)

# Each unit of the files with its factor to the unit of the types.
_UNITS: Named[str, float] = {
    "": 1.0,
    "%": 1.0,
    "C": 1.0,
    "kg": 1.0,
    "g": 0.001,
    "kg/kg": 1.0,
    "g/kg": 0.001,
    "kg/kg/day": 1.0,
    "kg/m2": 1.0,
    "lb/ft2": _LB / _SQUARE_FOOT,
    "kg/m2/week": 1.0,
    "lb/ft2/week": _LB / _SQUARE_FOOT,
    "lb/day": _LB,
    "in": float(FOOT) / 12,
    "hours": 1.0,
    "days": 1.0,
    "weeks": 7.0,
    "months": 365.25 / 12,
}
_NUMBER = re.compile(r"([-+]?\d+(?:\.\d+)?)\s*(\S*)")


class ReferenceFault(ValueError):
    """A shipped file is not in its form; the message begins with file, line and column."""

    def __init__(self, node: Node, expected: str) -> None:
        words = f', not "{node.text}"' if isinstance(node, Scalar) else ""
        super().__init__(f"{node.place}: expected {expected}{words}")


def read_sources(tree: Node) -> dict[str, Source]:
    """Read sources.yaml: key to work."""
    return {
        key: Source(
            key,
            author=_text(fields, "author"),
            title=_text(fields, "title"),
            year=_text(fields, "year", ""),
            publisher=_text(fields, "publisher", ""),
            note=_text(fields, "note", ""),
        )
        for key, fields in _named(tree)
    }


def read_worms(tree: Node) -> Worms:
    """Read worms.yaml: the kinds, the husbandry common to them, and the kind used where none is named."""
    kinds = {name: _worm_kind(name, fields) for name, fields in _named(_child(tree, "kinds"))}
    found = {name: _range(fields) for name, fields in _named(_child(tree, "husbandry"))}
    try:
        husbandry = Husbandry(**{name.replace(" ", "_"): value for name, value in found.items()})
    except TypeError as error:
        raise ReferenceFault(_child(tree, "husbandry"), f"the figures of Husbandry ({error})") from error
    return Worms(kinds, husbandry, _text(tree, "unknown"))


def _worm_kind(name: str, fields: Node) -> WormKind:
    return WormKind(
        name,
        also=_words(fields, "also"),
        latin=_words(fields, "latin"),
        temperature=_band("temperature", _child(fields, "temperature")),
        moisture=_band("moisture", _child(fields, "moisture")),
        acidity=_band("pH", _child(fields, "pH")),
        each=_range(_child(fields, "each")),
        feed=_range(_child(fields, "feed")),
        stocking=_range(_child(fields, "stocking")),
        doubling=_range(_child(fields, "doubling")),
        note=_text(fields, "note", ""),
    )


def _band(quantity: str, fields: Node) -> Band:
    bottom, low, high, top = _numbers(_child(fields, "limits"), 4)
    source, where, checked = _provenance(fields)
    return Band(quantity, bottom, low, high, top, source, where, checked, _text(fields, "note", ""))


def read_factors(tree: Node) -> Factors:
    """Read factors.yaml: tables by edition, which row serves what, potentials and the home bin."""
    home_bin = _child(tree, "home bin")
    return Factors(
        tables={edition: _table(edition, fields) for edition, fields in _named(_child(tree, "tables"))},
        newest=_text(tree, "newest"),
        uses={of: _use(of, fields) for of, fields in _named(_child(tree, "uses"))},
        potentials={name: _potentials(name, fields) for name, fields in _named(_child(tree, "potentials"))},
        home_bin=HomeBin(
            _range(_child(home_bin, "methane")),
            _range(_child(home_bin, "nitrous oxide")),
            _text(home_bin, "potentials"),
        ),
        absurd_above=_number(_child(tree, "absurd above")),
        words={key: _said(node) for key, node in _named(_child(tree, "words"))},
    )


def _table(edition: str, fields: Node) -> FactorTable:
    source, where, checked = _provenance(fields)
    rows = {}
    for row, cells in _named(_child(fields, "rows")):
        rows[row] = {fate: _said(cell) for fate, cell in _named(cells)}
        for fate, cell in _named(cells):
            if fate not in FATES or not re.fullmatch(r"NA|\d+\.\d\d", _said(cell)):
                raise ReferenceFault(cell, f"a factor of two decimals or NA, under one of {', '.join(FATES)}")
    instead = (
        {row: _said(node) for row, node in _named(_child(fields, "instead"))}
        if _has(fields, "instead")
        else {}
    )
    return FactorTable(edition, source, where, checked, _text(fields, "potentials"), rows, instead)


def _use(of: str, fields: Node) -> RowUse:
    row = _text(fields, "row", "")
    return RowUse(
        of,
        row,
        low=_text(fields, "low", row),
        high=_text(fields, "high", row),
        stand_in=_yes(fields, "stand in", default=False),
        why=_text(fields, "why"),
        home_bin=_text(fields, "home bin", "IPCC"),
        counts=_yes(fields, "counts", default=True),
    )


def _potentials(name: str, fields: Node) -> Potentials:
    methane, nitrous_oxide = (_number(_child(fields, gas)) for gas in ("methane", "nitrous oxide"))
    return Potentials(name, methane, nitrous_oxide, *_provenance(fields))


def read_nutrients(tree: Node) -> Nutrients:
    """Read nutrients.yaml: contents by material, oxides, first-year share and the analyses behind them."""
    return Nutrients(
        contents={
            material: {name: Nutrient(name, _range(fields)) for name, fields in _named(nutrients)}
            for material, nutrients in _named(_child(tree, "contents"))
        },
        oxides={
            name: Oxide(
                name, _text(fields, "element"), _number(_child(fields, "factor")), *_provenance(fields)
            )
            for name, fields in _named(_child(tree, "oxides"))
        },
        first_year=_range(_child(tree, "first year")),
        analyses=tuple(_analysis(fields) for fields in _listed(_child(tree, "analyses"))),
    )


def _analysis(fields: Node) -> Analysis:
    contents = {name: _number(node) for name, node in _named(_child(fields, "contents"))}
    of, basis = _text(fields, "of"), _text(fields, "basis")
    return Analysis(of, basis, contents, *_provenance(fields), _text(fields, "note", ""))


def read_comparisons(tree: Node) -> dict[str, Comparison]:
    """Read comparisons.yaml: published averages by key."""
    return {
        key: Comparison(
            key,
            _text(fields, "what"),
            _text(fields, "year"),
            _text(fields, "scope"),
            _number(_child(fields, "amount")),
            _text(fields, "printed"),
            *_provenance(fields),
            _text(fields, "note", ""),
        )
        for key, fields in _named(tree)
    }


def read_cautions(tree: Node) -> dict[str, Caution]:
    """Read cautions.yaml: warnings by key, in the order in which they are shown."""
    return {
        key: Caution(
            key,
            _text(fields, "title"),
            _text(fields, "text"),
            _text(fields, "defers"),
            *_provenance(fields),
            _words(fields, "materials"),
            _words(fields, "streams"),
            _words(fields, "verbs"),
            _words(fields, "pages"),
        )
        for key, fields in _named(tree)
    }


# -------------------------------------------------------------------------------- the forms of one value


def _range(fields: Node) -> Range:
    low, typical, high = _numbers(_child(fields, "range"), 3)
    return Range(low, typical, high, *_provenance(fields))


def _provenance(fields: Node) -> tuple[str, str, str]:
    checked = _text(fields, "checked")
    if checked not in CHECKED:
        raise ReferenceFault(_child(fields, "checked"), f"one of {', '.join(CHECKED)}")
    return _text(fields, "source"), _text(fields, "where", ""), checked


def _numbers(node: Node, count: int) -> list[float]:
    numbers = [_number(item) for item in _listed(node)]
    if len(numbers) != count or numbers != sorted(numbers):
        raise ReferenceFault(node, f"{count} numbers, the smallest first")
    return numbers


def _number(node: Node) -> float:
    found = _NUMBER.fullmatch(_said(node))
    if found is None or found[2] not in _UNITS:
        raise ReferenceFault(node, "a number with one of the units of this file")
    return float(found[1]) * _UNITS[found[2]]


def _said(node: Node) -> str:
    if not isinstance(node, Scalar):
        raise ReferenceFault(node, "a word or a number")
    return node.text


def _text(fields: Node, key: str, absent: str | None = None) -> str:
    if absent is not None and not _has(fields, key):
        return absent
    return _said(_child(fields, key))


def _words(fields: Node, key: str) -> tuple[str, ...]:
    return tuple(_said(item) for item in _listed(_child(fields, key))) if _has(fields, key) else ()


def _yes(fields: Node, key: str, *, default: bool) -> bool:
    word = _text(fields, key, "yes" if default else "no")
    if word not in ("yes", "no"):
        raise ReferenceFault(_child(fields, key), "yes or no")
    return word == "yes"


def _has(fields: Node, key: str) -> bool:
    return isinstance(fields, Mapping) and fields.get(key) is not None


def _child(fields: Node, key: str) -> Node:
    node = fields.get(key) if isinstance(fields, Mapping) else None
    if node is None:
        raise ReferenceFault(fields, f'a mapping with "{key}"')
    return node


def _named(node: Node) -> list[tuple[str, Node]]:
    if not isinstance(node, Mapping):
        raise ReferenceFault(node, "a mapping")
    return [(key.text, child) for key, child in node.pairs]


def _listed(node: Node) -> Listed[Node]:
    if not isinstance(node, Sequence):
        raise ReferenceFault(node, "a list")
    return node.items
