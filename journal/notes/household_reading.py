"""household.yaml, as a tree, becomes the household and the catalogue with its own materials in it.

Every key is optional but ``household: name``.  Each part is read by itself, so that one wrong value costs no
other; what is wrong is written down with its line, unknown keys with the nearest key.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from journal.measures.doubt import Doubtful, rectangular
from journal.notes import tree
from journal.notes.amounts import Unread
from journal.notes.faults import Fault
from journal.notes.fields import (
    Sheet,
    check_keys,
    check_names,
    choice_of,
    date_of,
    mapping_of,
    measured_in,
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
    Goals,
    Household,
    HouseholdMeasure,
    Planting,
    Price,
    Shares,
    Sharing,
)
from journal.notes.materials import STREAMS, Catalogue, Material
from journal.notes.materials_reading import read_materials, with_forms
from journal.notes.money import read_sum
from journal.notes.names import meant
from journal.notes.place import Place, Problem

FILE = "household.yaml"
_DEFAULTS = Household()
_STATISTICS = 2  # weighings that have a spread


def read_household(
    node: tree.Mapping | None, catalogue: Catalogue
) -> tuple[Household, Catalogue, list[Problem]]:
    """Read household.yaml; without one, give the defaults and a problem that says so."""
    sheet = Sheet()
    if node is None:
        sheet.wrong(Fault.NO_HOUSEHOLD, Place(FILE, 1, 1), FILE)
        return Household(), Catalogue.of(with_forms(catalogue.materials.values())), sheet.problems
    parts = check_keys(sheet, node, _PARTS)
    values: dict[str, Any] = _read_self(sheet, node, parts.pop("household", None))
    sheet.comma = values.get("decimal_comma", False)
    materials = read_materials(sheet, parts.pop("materials"), catalogue, FILE) if "materials" in parts else []
    everything = _with_worms(
        Catalogue.of(with_forms([*catalogue.materials.values(), *materials])), parts.get("bins")
    )
    for name, part in parts.items():
        values.update(_PARTS[name](sheet, part, everything, values))
    return Household(**values, materials=tuple(materials)), everything, sheet.problems


def _with_worms(catalogue: Catalogue, bins: tree.Node | None) -> Catalogue:
    """Add the kinds of worm that the bins name, so that they can be bought and moved by that name."""
    worms = catalogue.find("worms")
    if worms is None or not isinstance(bins, tree.Mapping):
        return catalogue
    kinds: dict[str, Material] = {}
    for _, one in bins.pairs:
        kind = one.get("worms") if isinstance(one, tree.Mapping) else None
        if isinstance(kind, tree.Scalar) and kind.text and catalogue.find(kind.text) is None:
            kinds[kind.text] = replace(worms, name=kind.text, also=())
    return Catalogue.of([*catalogue.materials.values(), *kinds.values()]) if kinds else catalogue


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


# ---- measures

_MEASURE = "bag of shredded paper: {weighed: [2.4 lb, 2.9 lb, 2.5 lb]}"


def _read_measures(
    sheet: Sheet, node: tree.Node, catalogue: Catalogue, _: Mapping[str, Any]
) -> dict[str, Any]:
    measures = {}
    for name, value in _named(sheet, node, "measures", _MEASURE):
        measure = _read_measure(sheet, name, value, catalogue)
        if measure is not None:
            measures[name] = measure
    return {"measures": measures}


def _read_measure(sheet: Sheet, name: str, node: tree.Node, catalogue: Catalogue) -> HouseholdMeasure | None:
    material = None
    _, of, rest = name.partition(" of ")
    if of:
        found = catalogue.find(rest)
        if found is None:
            near = catalogue.nearest(rest)
            told = meant(near)
            sheet.wrong(Fault.UNKNOWN_MATERIAL, node.place, rest, meant=told)
            return None
        material = found.name
    readings = node
    if isinstance(node, tree.Mapping):
        keys = check_keys(sheet, node, ("weighed", "holds"))
        given = keys.get("weighed") or keys.get("holds")
        if given is None:
            sheet.wrong(
                Fault.MISSING_KEY,
                node.place,
                name,
                key="weighed",
                where=f'the measure "{name}"',
                example=_MEASURE,
            )
            return None
        readings = given
    items = readings.items if isinstance(readings, tree.Sequence) else (readings,)
    read = [measured_of(sheet, item, ("mass", "volume"), _MEASURE) for item in items]
    found_readings = [one for one in read if one is not None]
    if len(found_readings) < len(read) or not found_readings:
        if not read:
            sheet.wrong_value(readings, "one weighing or more", _MEASURE)
        return None
    if len({kind for kind, _, _ in found_readings}) > 1:
        sheet.wrong_value(readings, "all weights or all volumes", _MEASURE)
        return None
    return HouseholdMeasure(
        name, weighings_mean(found_readings), found_readings[0][0], material, len(found_readings)
    )


def weighings_mean(readings: list[tuple[str, float, float]]) -> Doubtful:
    """Give the mean of some weighings and its standard error, s/√n (GUM 4.2.3).

    A single reading, and weighings that agree to the digit, are known to half of their last digit.
    """
    values = [value for _, value, _ in readings]
    count = len(values)
    mean = math.fsum(values) / count
    resolution = max(rectangular(half) for _, _, half in readings)
    if count < _STATISTICS:
        return Doubtful(mean, resolution)
    variance = math.fsum((value - mean) ** 2 for value in values) / (count - 1)
    return Doubtful(mean, max(math.sqrt(variance / count), resolution / math.sqrt(count)))


# ---- otherwise, goals, prices, equivalents, bedding, footprint, sharing


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


def _read_goals(sheet: Sheet, node: tree.Node, _: Catalogue, __: Mapping[str, Any]) -> dict[str, Any]:
    example = "{per week: 10 lb, 2026: 500 lb}"
    fields = mapping_of(sheet, node, "goals", example)
    if fields is None:
        return {}
    per_week, years = None, {}
    for key, value in fields.pairs:
        is_year = re.fullmatch(r"\d{4}", key.text) is not None and int(key.text) > 0
        if not is_year and key.text != "per week":
            check_keys(sheet, tree.Mapping(((key, value),), fields.place), ("per week", "2026"))
            continue
        found = measured_of(sheet, value, ("mass",), example)
        if found is not None and is_year:
            years[int(key.text)] = found[1]
        elif found is not None:
            per_week = found[1]
    return {"goals": Goals(per_week, years)}


def _read_prices(sheet: Sheet, node: tree.Node, _: Catalogue, values: Mapping[str, Any]) -> dict[str, Any]:
    example = "castings: $1.20 per lb"
    fields = mapping_of(sheet, node, "prices", example)
    if fields is None:
        return {}
    prices = {}
    for name, value in check_names(sheet, fields, "a price"):
        price = (
            _price(sheet, value, values.get("currency", "USD")) if isinstance(value, tree.Scalar) else None
        )
        if price is None:
            sheet.wrong_value(value, "a sum of money, per weight or alone", example)
        else:
            prices[name] = price
    return {"prices": prices}


def _price(sheet: Sheet, node: tree.Scalar, currency: str) -> Price | None:
    money, per, unit = re.sub(r"\s+(?:per|a|each)\s+", "/", node.text, count=1).partition("/")
    try:
        found = read_sum(money.strip(), 0, comma=sheet.comma, currency=currency)
    except Unread:
        return None
    if found is None or found[0] != len(money.strip()):
        return None
    if not per:
        return Price(found[1].amount, per_kg=False, words=node.text)
    unit = unit.strip()
    mass = measured_in(sheet, unit if unit[:1].isdigit() else f"1 {unit}", ("mass",))
    return None if mass is None or mass[1] <= 0 else Price(found[1].amount / mass[1], words=node.text)


def _read_equivalents(sheet: Sheet, node: tree.Node, _: Catalogue, __: Mapping[str, Any]) -> dict[str, Any]:
    example = "our 32-gallon barrel: 90 lb"
    fields = mapping_of(sheet, node, "equivalents", example)
    if fields is None:
        return {}
    read = {
        name: measured_of(sheet, value, ("mass",), example)
        for name, value in check_names(sheet, fields, "an equivalent")
    }
    return {"equivalents": {name: found[1] for name, found in read.items() if found is not None}}


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
    "measures": _read_measures,
    "materials": _nothing,
    "otherwise": _read_otherwise,
    "goals": _read_goals,
    "prices": _read_prices,
    "equivalents": _read_equivalents,
    "bedding": _read_bedding,
    "footprint": _read_footprint,
    "sharing": _read_sharing,
}
