"""household.yaml, as a tree, becomes the household and the catalogue with its own materials in it.

Every key is optional but ``household: name``.  Each part is read by itself, so that one wrong value costs no
other; what is wrong is written down with its line, unknown keys with the nearest key.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from journal.notes import tree
from journal.notes.faults import Fault
from journal.notes.fields import (
    Sheet,
    check_keys,
    check_names,
    choice_of,
    date_of,
    mapping_of,
    measured_of,
    percent_in,
    shares_of,
    text_of,
    whole_of,
    yes_of,
)
from journal.notes.household import (
    FATES,
    Bin,
    Giver,
    Household,
    Planting,
    Shares,
    Sharing,
)
from journal.notes.household_figures import (
    read_equivalents,
    read_goals,
    read_measures,
    read_prices,
)
from journal.notes.materials import STREAMS, Catalogue, Material
from journal.notes.materials_reading import read_materials, with_forms
from journal.notes.parted import without_parted
from journal.notes.place import Place, Problem

FILE = "household.yaml"
_DEFAULTS = Household()


def read_household(
    node: tree.Mapping | None, catalogue: Catalogue
) -> tuple[Household, Catalogue, list[Problem]]:
    """Read household.yaml; without one, give the defaults and a problem that says so."""
    sheet = Sheet()
    if node is None:
        sheet.wrong(Fault.NO_HOUSEHOLD, Place(FILE, 1, 1), FILE)
        return Household(), _with_own(catalogue, []), sheet.problems
    sheet.comma = _has_comma(node)
    node = without_parted(sheet, node)
    parts = check_keys(sheet, node, _PARTS)
    values: dict[str, Any] = _read_self(sheet, node, parts.pop("household", None))
    sheet.comma = values.get("decimal_comma", False)
    materials = read_materials(sheet, parts.pop("materials"), catalogue, FILE) if "materials" in parts else []
    everything = _with_worms(_with_own(catalogue, materials), parts.get("bins"))
    for name, part in parts.items():
        values.update(_PARTS[name](sheet, part, everything, values))
    return Household(**values, materials=tuple(materials)), everything, sheet.problems


def _has_comma(node: tree.Mapping) -> bool:
    """Whether the household writes decimals with a comma."""
    own = node.get("household")
    decimal = own.get("decimal") if isinstance(own, tree.Mapping) else None
    return isinstance(decimal, tree.Scalar) and decimal.text.lower() == "comma"


def _with_own(catalogue: Catalogue, materials: list[Material]) -> Catalogue:
    """Add the household's own materials; what each material is a form of is written out."""
    more = catalogue.with_more(materials)
    return replace(more, materials={each.name: each for each in with_forms(more.materials.values())})


def _with_worms(catalogue: Catalogue, bins: tree.Node | None) -> Catalogue:
    """Add the kinds of worm that the bins name, so that they can be bought and moved by that name."""
    worms = catalogue.find("worms")
    if worms is None or not isinstance(bins, tree.Mapping):
        return catalogue
    kinds: dict[str, Material] = {}
    for _, one in bins.pairs:
        kind = one.get("worms") if isinstance(one, tree.Mapping) else None
        if isinstance(kind, tree.Scalar) and kind.text and catalogue.find(kind.text) is None:
            kinds[kind.text] = worms._replace(name=kind.text, also=())
    return catalogue.with_more(kinds.values())


# ---- household


def _read_self(sheet: Sheet, whole: tree.Mapping, node: tree.Node | None) -> dict[str, Any]:
    example = "household: {name: Our house}"
    if node is None:
        place = whole.place if not whole.pairs else whole.pairs[0][0].place
        sheet.wrong(Fault.MISSING_KEY, place, FILE, key="household", where=FILE, example=example)
        return {}
    fields = mapping_of(sheet, node, "household", example)
    if fields is None:
        return {}
    values: dict[str, Any] = {}
    for key, value in check_keys(sheet, fields, _SELF).items():
        name, reader = _SELF[key]
        read = reader(sheet, value)
        if read is not None:
            values[name] = read
    if not values.get("name"):
        sheet.wrong(
            Fault.MISSING_KEY, node.place, "household", key="name", where="household", example=example
        )
    return values


def _currency(sheet: Sheet, node: tree.Node) -> str | None:
    if isinstance(node, tree.Scalar) and re.fullmatch(r"[A-Za-z]{3}", node.text):
        return node.text.upper()
    sheet.wrong_value(node, "the three letters of a currency", "currency: USD")
    return None


def _address(sheet: Sheet, node: tree.Node) -> str | None:
    if isinstance(node, tree.Scalar) and (not node.text or re.fullmatch(r"https?://[^\s<>\"']+", node.text)):
        return node.text
    sheet.wrong_value(node, "a web address", "web address: https://worms.example.org/")
    return None


def _share(sheet: Sheet, node: tree.Node) -> float | None:
    percent = percent_in(sheet, node.text) if isinstance(node, tree.Scalar) else None
    if percent is None or not percent:
        sheet.wrong_value(node, "a share of 1% to 100%", "about: 25%")
        return None
    return percent / 100


_SELF: Mapping[str, tuple[str, Callable[[Sheet, tree.Node], Any]]] = {
    "name": ("name", lambda sheet, node: text_of(sheet, node, "name: Our house")),
    "people": ("people", lambda sheet, node: whole_of(sheet, node, "people: 3")),
    "units": ("units", lambda sheet, node: choice_of(sheet, node, ("us", "metric"), "units: us")),
    "decimal": (
        "decimal_comma",
        lambda sheet, node: choice_of(sheet, node, ("point", "comma"), "decimal: point") == "comma",
    ),
    "currency": ("currency", _currency),
    "web address": ("web_address", _address),
    "place": ("place", lambda sheet, node: text_of(sheet, node, "place: by the river")),
    "about": ("about", _share),
}


# ---- bins, givers, plantings

_BIN = "Cellar Bin: {worms: red wigglers, surface: 4 sq ft, kept in: cellar, started: 2025-01-10}"
_GIVER = "Larch House: {shown as: a house on our street, households: 1, otherwise: landfill}"
_PLANTING = "Quince: {kind: fruit tree, area: 30 sq ft}"


def _area(sheet: Sheet, node: tree.Node, example: str) -> float | None:
    found = measured_of(sheet, node, ("area",), example)
    return None if found is None else found[1]


_BIN_KEYS: Mapping[str, tuple[str, Callable[[Sheet, tree.Node], Any]]] = {
    "worms": ("worms", lambda sheet, node: text_of(sheet, node, "worms: red wigglers")),
    "surface": ("surface", lambda sheet, node: _area(sheet, node, "surface: 4 sq ft")),
    "kept in": ("kept_in", lambda sheet, node: text_of(sheet, node, "kept in: cellar")),
    "started": ("started", lambda sheet, node: date_of(sheet, node, "started: 2025-01-10")),
    "ended": ("ended", lambda sheet, node: date_of(sheet, node, "ended: 2026-01-10")),
}
_GIVER_KEYS: Mapping[str, tuple[str, Callable[[Sheet, tree.Node], Any]]] = {
    "shown as": (
        "shown_as",
        lambda sheet, node: text_of(sheet, node, "shown as: a house on our street") or None,
    ),
    "households": ("households", lambda sheet, node: whole_of(sheet, node, "households: 1")),
    "otherwise": ("otherwise", lambda sheet, node: shares_of(sheet, node, FATES, "otherwise")),
}
_PLANTING_KEYS: Mapping[str, tuple[str, Callable[[Sheet, tree.Node], Any]]] = {
    "kind": ("kind", lambda sheet, node: text_of(sheet, node, "kind: fruit tree")),
    "area": ("area", lambda sheet, node: _area(sheet, node, "area: 30 sq ft")),
    "trees": ("trees", lambda sheet, node: whole_of(sheet, node, "trees: 1")),
}


def _read_fields(
    sheet: Sheet,
    node: tree.Node,
    where: str,
    keys: Mapping[str, tuple[str, Callable[[Sheet, tree.Node], Any]]],
    example: str,
) -> dict[str, Any]:
    fields = mapping_of(sheet, node, where, example)
    if fields is None:
        return {}
    found = {
        keys[key][0]: keys[key][1](sheet, value) for key, value in check_keys(sheet, fields, keys).items()
    }
    return {name: value for name, value in found.items() if value is not None}


def _named(sheet: Sheet, node: tree.Node, what: str, example: str) -> list[tuple[str, tree.Node]]:
    fields = mapping_of(sheet, node, what, example)
    return [] if fields is None else check_names(sheet, fields, what)


def _read_bins(sheet: Sheet, node: tree.Node, _: Catalogue, __: Mapping[str, Any]) -> dict[str, Any]:
    bins = {}
    for name, value in _named(sheet, node, "bins", _BIN):
        bins[name] = one = Bin(name, **_read_fields(sheet, value, f'the bin "{name}"', _BIN_KEYS, _BIN))
        if one.started is not None and one.ended is not None and one.ended < one.started:
            sheet.wrong(Fault.ENDS_BEFORE_START, value.place, f'"{name}"')
    return {"bins": bins}


def _read_givers(sheet: Sheet, node: tree.Node, _: Catalogue, __: Mapping[str, Any]) -> dict[str, Any]:
    keys = node.pairs if isinstance(node, tree.Mapping) else ()
    places = {key.text: key.place for key, _ in keys}
    givers = {}
    for number, (name, value) in enumerate(_named(sheet, node, "givers", _GIVER), 1):
        fields = _read_fields(sheet, value, f'the giver "{name}"', _GIVER_KEYS, _GIVER)
        givers[name] = Giver(name, number, **fields, place=places.get(name))
    return {"givers": givers}


def _read_plantings(sheet: Sheet, node: tree.Node, _: Catalogue, __: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "plantings": {
            name: Planting(
                name, **_read_fields(sheet, value, f'the planting "{name}"', _PLANTING_KEYS, _PLANTING)
            )
            for name, value in _named(sheet, node, "plantings", _PLANTING)
        }
    }


# ---- otherwise, bedding, footprint, sharing


def _read_otherwise(sheet: Sheet, node: tree.Node, _: Catalogue, __: Mapping[str, Any]) -> dict[str, Any]:
    example = "{paper: {landfill: 60%, recycling: 40%}, food scraps: landfill}"
    fields = mapping_of(sheet, node, "otherwise", example)
    if fields is None:
        return {}
    shares: dict[str, Shares] = {}
    for stream, value in check_keys(sheet, fields, STREAMS).items():
        read = shares_of(sheet, value, FATES, stream)
        if read is not None:
            shares[stream] = read
    return {"otherwise": shares}


def _read_bedding(sheet: Sheet, node: tree.Node, _: Catalogue, __: Mapping[str, Any]) -> dict[str, Any]:
    example = "bedding: {ready after: 7 days, better after: 14 days}"
    keys = {"ready after": "bedding_ready_days", "better after": "bedding_better_days"}
    fields = mapping_of(sheet, node, "bedding", example)
    if fields is None:
        return {}
    read = {
        keys[key]: whole_of(sheet, value, example, unit="days?")
        for key, value in check_keys(sheet, fields, keys).items()
    }
    found = {name: days for name, days in read.items() if days is not None}
    ready = found.get("bedding_ready_days", _DEFAULTS.bedding_ready_days)
    if "bedding_ready_days" in found and "bedding_better_days" not in found:
        found["bedding_better_days"] = max(ready, _DEFAULTS.bedding_better_days)
    return found


def _read_footprint(sheet: Sheet, node: tree.Node, _: Catalogue, __: Mapping[str, Any]) -> dict[str, Any]:
    shown = yes_of(sheet, node, "footprint: none")
    return {} if shown is None else {"footprint": shown}


def _read_sharing(sheet: Sheet, node: tree.Node, _: Catalogue, __: Mapping[str, Any]) -> dict[str, Any]:
    example = "sharing: {givers: shown as, pictures: yes, entries: yes}"
    found = _read_fields(sheet, node, "sharing", _SHARING_KEYS, example)
    return {"sharing": Sharing(**found)}


_SHARING_KEYS: Mapping[str, tuple[str, Callable[[Sheet, tree.Node], Any]]] = {
    "givers": (
        "givers",
        lambda sheet, node: choice_of(sheet, node, ("shown as", "initials", "hidden"), "givers: shown as"),
    ),
    "pictures": ("pictures", lambda sheet, node: yes_of(sheet, node, "pictures: yes")),
    "entries": (
        "entries",
        lambda sheet, node: choice_of(sheet, node, ("yes", "summary", "no"), "entries: yes"),
    ),
}

_PartReader = Callable[[Sheet, tree.Node, Catalogue, Mapping[str, Any]], dict[str, Any]]


def _nothing(_: Sheet, __: tree.Node, ___: Catalogue, ____: Mapping[str, Any]) -> dict[str, Any]:
    return {}


_PARTS: Mapping[str, _PartReader] = {
    "household": _nothing,
    "bins": _read_bins,
    "givers": _read_givers,
    "plantings": _read_plantings,
    "measures": read_measures,
    "materials": _nothing,
    "otherwise": _read_otherwise,
    "goals": read_goals,
    "prices": read_prices,
    "equivalents": read_equivalents,
    "bedding": _read_bedding,
    "footprint": _read_footprint,
    "sharing": _read_sharing,
}
