"""How a line was read, told back: the amount in both units, from where to where, and the year so far."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from journal.measures.units import POUND, fahrenheit
from journal.notes.records import Amount, Readings, Record

_POUND = float(POUND)
_HOUSEHOLD = "our own"


class Way(NamedTuple):
    """From where to where a verb moves things: names of a record's fields, or words in quotes."""

    source: str
    target: str


# A field that is empty is left out; "'words'" are themselves; of several, the first that is filled.
WAYS: dict[str, Way] = {
    "took in": Way("giver|'our own'", "'on hand'"),
    "shredded": Way("giver|'on hand or our own'", "'shredded paper, on hand'"),
    "bought": Way("words|'a shop'", "'on hand'"),
    "mixed": Way("'on hand'", "batch"),
    "fed": Way("giver", "bin"),
    "bedded": Way("", "bin"),
    "added": Way("source_bin", "bin"),
    "moved": Way("source_bin", "bin"),
    "harvested": Way("bin", "'castings on hand'"),
    "returned": Way("", "bin"),
    "spread": Way("", "planting"),
    "gave": Way("", "giver"),
    "picked": Way("planting", "'the kitchen'"),
    "threw out": Way("out_of", "'landfill'"),
    "recycled": Way("", "'recycling'"),
    "donated": Way("", "'donated'"),
}


def told(record: Record, *, metric: bool = False) -> Iterator[str]:
    """Say how a record was read, a line for each amount, in a household that weighs so."""
    way = WAYS.get(record.verb, Way("", ""))
    source, target = _words(record, way.source), _words(record, way.target)
    arrow = f"{', ' + source if source else ''} → {target}" if target else ""
    for amount in record.amounts:
        yield f"{in_both_units(amount, metric=metric)} {amount.material}{arrow}"
    if record.readings is not None:
        yield f"{record.bin or record.batch}: {', '.join(_readings(record.readings))}"
    if record.money is not None:
        done = {"spent": f"spent on {record.words}", "earned": f"earned for {record.words}"}
        yield f"{record.money.amount:,.2f} {record.money.currency} {done.get(record.verb, 'paid')}"
    if record.remark:
        yield f"remark: {record.remark}"


def _words(record: Record, ways: str) -> str:
    for way in ways.split("|"):
        words = way.strip("'") if way.startswith("'") else str(getattr(record, way, "") or "") if way else ""
        if words:
            return words
    return ""


def in_both_units(amount: Amount, *, metric: bool = False) -> str:
    """Write an amount as the keeper did and in the other system; by volume or measure in both."""
    pounds, kilograms = f"{_three(amount.kg / _POUND)} lb", f"{_three(amount.kg)} kg"
    if amount.how in {"weighed", "estimated"} and amount.litres is None:
        is_metric = any(amount.words.lower().rstrip(".").endswith(unit) for unit in (" kg", " g", "kg", "0g"))
        is_metric = is_metric or any(word in amount.words.lower() for word in ("gram", "kilo", "tonne"))
        return f"{amount.words} = {pounds if is_metric else kilograms}"
    return f"{amount.words} ≈ {_both(amount.kg, metric=metric)}"


def _both(kg: float, *, metric: bool) -> str:
    """Write a mass in the household's own unit, the other in parentheses."""
    own, other = f"{_three(kg / _POUND)} lb", f"{_three(kg)} kg"
    return f"{other} ({own})" if metric else f"{own} ({other})"


def _three(value: float) -> str:
    """Write three significant digits, without an exponent."""
    if value == 0:
        return "0"
    places = max(0, 2 - math.floor(math.log10(abs(value))))
    return f"{value:,.{min(places, 6)}f}"


def _readings(readings: Readings) -> Iterator[str]:
    if readings.temperature is not None:
        yield f"{fahrenheit(readings.temperature):.1f} °F ({readings.temperature:.1f} °C)"
    if readings.moisture is not None:
        yield f"moisture {readings.moisture:g} %"
    if readings.acidity is not None:
        yield f"pH {readings.acidity:g}"
    yield from readings.sightings


# How a sum of a verb's lines is called, where its past tense does not serve, and what joins the place to it.
_DONE = {"took in": "taken in", "threw out": "thrown out", "gave": "given"}
_JOINTS = {
    "took in": "from", "shredded": "from", "fed": "to", "bedded": "to", "added": "to", "moved": "to",
    "returned": "to", "harvested": "from", "spread": "on", "gave": "to", "picked": "from", "threw out": "of",
}  # fmt: skip


def so_far(record: Record, of_year: Iterable[Record], *, metric: bool = False) -> str:
    """Say what a year's records of the same verb and place come to, this one among them; "" for nothing."""
    place = _place(record)
    alike = [each for each in of_year if each.verb == record.verb and _place(each) == place]
    kg = math.fsum(amount.kg for each in alike for amount in each.amounts)
    if not kg or record.verb == "mixed":
        return ""
    done = _DONE.get(record.verb, record.verb)
    named = f" {_JOINTS[record.verb]} {place}" if place and record.verb in _JOINTS else ""
    lines = f"{len(alike)} line{'s' * (len(alike) != 1)}"
    return f"{record.date.year:04d} so far, {done}{named}: {_both(kg, metric=metric)}, {lines}"


def _place(record: Record) -> str:
    return record.bin or record.giver or record.planting or record.out_of or ""
