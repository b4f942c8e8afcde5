"""What household.yaml measures: its bags and buckets, its goals, its prices and its own equivalents.

Masses in kg, volumes in L, prices for a kilogram or for a purchase.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any

from journal.measures.doubt import Doubtful, rectangular
from journal.notes import tree
from journal.notes.amounts import Unread
from journal.notes.faults import Fault
from journal.notes.fields import Sheet, check_keys, check_names, mapping_of, measured_in, measured_of
from journal.notes.household import Goals, HouseholdMeasure, Price
from journal.notes.materials import Catalogue
from journal.notes.money import read_sum
from journal.notes.names import meant

_SPREAD = 2  # weighings that have a spread
_MEASURE = "bag of shredded paper: {weighed: [2.4 lb, 2.9 lb, 2.5 lb]}"


def read_measures(
    sheet: Sheet, node: tree.Node, catalogue: Catalogue, _: Mapping[str, Any]
) -> dict[str, Any]:
    """Read the household's own measures: each a volume or mass, or its weighings."""
    measures: dict[str, HouseholdMeasure] = {}
    fields = mapping_of(sheet, node, "measures", _MEASURE)
    for name, value in check_names(sheet, fields, "a measure") if fields is not None else ():
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
    if count < _SPREAD:
        return Doubtful(mean, resolution)
    variance = math.fsum((value - mean) ** 2 for value in values) / (count - 1)
    return Doubtful(mean, max(math.sqrt(variance / count), resolution / math.sqrt(count)))


def read_goals(sheet: Sheet, node: tree.Node, _: Catalogue, __: Mapping[str, Any]) -> dict[str, Any]:
    """Read goals for what is kept out of landfill: per week, and per year."""
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


def read_prices(sheet: Sheet, node: tree.Node, _: Catalogue, values: Mapping[str, Any]) -> dict[str, Any]:
    """Read prices: for a weight, or for a purchase."""
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


def read_equivalents(sheet: Sheet, node: tree.Node, _: Catalogue, __: Mapping[str, Any]) -> dict[str, Any]:
    """Read the household's own equivalents, as in a barrel of 90 lb."""
    example = "our 32-gallon barrel: 90 lb"
    fields = mapping_of(sheet, node, "equivalents", example)
    if fields is None:
        return {}
    read = {
        name: measured_of(sheet, value, ("mass",), example)
        for name, value in check_names(sheet, fields, "an equivalent")
    }
    return {"equivalents": {name: found[1] for name, found in read.items() if found is not None}}
