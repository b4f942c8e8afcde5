"""Records back to sentences: one canonical line that the reader takes for the same record.

Amounts keep the words they were written in; everything else is written in one way.  Names are canonical.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence

from journal.measures.units import fahrenheit
from journal.notes.records import Amount, Money, Readings, Record
from journal.notes.verbs import BY_NAME, Slot, Verb

_DECIMALS = 6
_WIDENED = 10  # what "about" does to a reading's last digit
_CLOSE = 1e-9


def sentence(record: Record, *, on: dt.date | None = None, comma: bool = False) -> str:
    """Write a record as one line without its dash.

    ``on`` is the date of the entry it goes into; a record of another date says its own.  ``comma`` says that
    the journal writes decimals with a comma.
    """
    verb = BY_NAME[record.verb]
    words = [verb.name, *_BEGINNINGS[verb.begins](record, comma)]
    words += _tails(record, verb, comma)
    line = " ".join(filter(None, words))
    if record.confirmed:
        line += " (it is right)"
    if record.remark:
        line += _remark(record.remark)
    if on is not None and record.date != on:
        line += f", on {record.date.isoformat()}"
    return line


def amounts_in_words(amounts: Sequence[Amount]) -> str:
    """Write amounts with commas and a last "and"."""
    written = [f"{amount.words} {amount.material}" for amount in amounts]
    if len(written) <= 1:
        return "".join(written)
    return f"{', '.join(written[:-1])} and {written[-1]}"


def number_in_words(value: float, *, comma: bool = False) -> str:
    """Write a number in digits, no more of them than it has."""
    digits = f"{value:.{_DECIMALS}f}".rstrip("0").rstrip(".")
    return digits.replace(".", ",") if comma else digits


def money_in_words(money: Money, *, comma: bool = False) -> str:
    """Write a sum of money with the code of its currency."""
    return f"{number_in_words(money.amount, comma=comma)} {money.currency}"


def _with_amounts(record: Record, _: bool) -> list[str]:  # noqa: FBT001 - one shape for all beginnings
    return [amounts_in_words(record.amounts)]


def _with_bin(record: Record, _: bool) -> list[str]:  # noqa: FBT001 - the same
    return [record.bin or ""]


def _with_money(record: Record, comma: bool) -> list[str]:  # noqa: FBT001 - the same
    return [money_in_words(record.money, comma=comma)] if record.money is not None else []


def _with_batch(record: Record, _: bool) -> list[str]:  # noqa: FBT001 - the same
    return [record.batch_kind, f"{record.batch}:", amounts_in_words(record.amounts)]


def _with_readings(record: Record, comma: bool) -> list[str]:  # noqa: FBT001 - the same
    name = record.bin or record.batch or ""
    return [f"{name}:", readings_in_words(record.readings or Readings(), comma=comma)]


_BEGINNINGS: Mapping[str, Callable[[Record, bool], list[str]]] = {
    "amounts": _with_amounts,
    "bin": _with_bin,
    "money": _with_money,
    "batch": _with_batch,
    "subject": _with_readings,
}


def _tails(record: Record, verb: Verb, comma: bool) -> list[str]:  # noqa: FBT001 - the same
    values: dict[Slot, str | None] = {
        "giver": record.giver,
        "bin": record.bin,
        "home": record.source_bin or record.giver,
        "planting": record.planting,
        "shop": record.words,
        "money": money_in_words(record.money, comma=comma) if record.money is not None else None,
        "source": record.out_of,
        "purpose": record.words,
        "amounts": amounts_in_words(record.amounts),
    }
    written: dict[Slot, str] = {}
    for tail in verb.tails:
        value = values[tail.slot]
        if value:
            written.setdefault(tail.slot, f"{tail.preposition} {value}")
    return list(written.values())


def _remark(remark: str) -> str:
    depth = lowest = 0
    for letter in remark:
        depth += (letter == "(") - (letter == ")")
        lowest = min(lowest, depth)
    return f" ({remark})" if depth == lowest == 0 else f", {remark}"


def readings_in_words(readings: Readings, *, comma: bool = False) -> str:
    """Write what a check found, each reading to its last digit."""
    items: list[str] = []
    if readings.temperature is not None:
        items.append(_temperature(readings.temperature, readings.temperature_half))
    if readings.moisture is not None:
        items.append(f"moisture {_to_last_digit(readings.moisture, readings.moisture_half)}%")
    if readings.acidity is not None:
        items.append(f"pH {_to_last_digit(readings.acidity, readings.acidity_half)}")
    if comma:
        items = [item.replace(".", ",") for item in items]
    return ", ".join([*items, *readings.sightings])


def _temperature(celsius: float, half: float) -> str:
    """Write a temperature on the scale whose last digit its doubt is."""
    in_fahrenheit = _exact(fahrenheit(celsius), half * 1.8)
    if in_fahrenheit is not None and _exact(celsius, half) is None:
        return f"{in_fahrenheit} F"
    return f"{_to_last_digit(celsius, half)} C"


def _to_last_digit(value: float, half: float) -> str:
    exact = _exact(value, half)
    return exact if exact is not None else f"{number_in_words(value - half)}-{number_in_words(value + half)}"


def _exact(value: float, half: float) -> str | None:
    """Write a value whose half-width is half of a last digit, or ten times that; None where it is neither."""
    for widened, about in ((1, ""), (_WIDENED, "about ")):
        for decimals in range(_DECIMALS):
            if abs(half - widened * 0.5 * 10.0**-decimals) < _CLOSE:
                digits = f"{value:.{decimals}f}"
                return about + digits if abs(float(digits) - value) < _CLOSE * 10 else None
    return None
