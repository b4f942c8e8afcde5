"""How a weight, a date or a list is written for people: both systems of units, no more digits than known."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from typing import Any, Protocol

from journal.measures.doubt import rounded
from journal.measures.units import FOOT, POUND, fahrenheit
from journal.notes.household import Household
from journal.notes.records import Amount, Readings

LB = float(POUND)
SQUARE_FOOT = float(FOOT) ** 2
UNBROKEN = "\u00a0"
"""Keeps a number and its unit on one line."""

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
System = tuple[str, float, str, float]
"""A larger unit and how many kg it holds, a smaller unit and the same."""

SYSTEMS: dict[str, tuple[System, System]] = {
    "us": (("lb", LB, "oz", LB / 16), ("kg", 1.0, "g", 0.001)),
    "metric": (("kg", 1.0, "g", 0.001), ("lb", LB, "oz", LB / 16)),
}
_METRIC = re.compile(r"(?<![a-z])(?:kg|kilo\w*|g|gr|gram\w*|tonnes?|metric tons?)(?![a-z])", re.IGNORECASE)
_AVOIRDUPOIS = re.compile(
    r"(?<![a-z])(?:lbs?|pounds?|oz|ounces?|stones?|st|short tons?)(?![a-z])", re.IGNORECASE
)
_ISO = re.compile(r"\b(\d{4})-(0[1-9]|1[0-2])-([0-3]\d)\b")
_FLUID = re.compile(r"fl\.?\s*oz|fluid", re.IGNORECASE)
_RIGHT_TO_LEFT = "\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefe\U00010800-\U00010fff\U0001e800-\U0001efff"
_TURNED = re.compile(f"[{_RIGHT_TO_LEFT}]")
_TURNED_WORDS = rf"[{_RIGHT_TO_LEFT}](?:[{_RIGHT_TO_LEFT}0-9 '’-]*[{_RIGHT_TO_LEFT}])?"
"""Words from one right-to-left letter to another (the blocks of the Unicode Standard set aside for them)."""

SMALL = 0.5
"""Below this much of the larger unit the smaller one is used for a single amount."""

View = dict[str, Any]


class Known(Protocol):
    """A value in kg with its expanded doubt."""

    @property
    def value(self) -> float:
        """The value in kg."""

    @property
    def expanded(self) -> float:
        """The expanded doubt in kg."""


class Writer:
    """Writes amounts as one household reads them: its own system of units first, its decimal mark."""

    def __init__(self, household: Household) -> None:
        self._beside_amounts: dict[int, str] = {}
        self._beside_equals: dict[tuple[float, float, str, tuple[float, ...]], str] = {}
        self.household = household
        self.own, self.other = SYSTEMS["metric" if household.units == "metric" else "us"]
        self.unit = self.own[0]

    def number(self, text: str) -> str:
        """Put a number in the household's way of writing: its decimal mark, a true minus."""
        if self.household.decimal_comma:
            text = text.replace(",", "\u202f").replace(".", ",")
        return text.replace("-", "−") if text.startswith("-") else text

    @property
    def marks(self) -> View:
        """What a chart needs to know of the household's way of writing numbers; nothing where it is usual."""
        return {"comma": True} if self.household.decimal_comma else {}

    def plain(self, value: float) -> str:
        """Give a number to three significant digits, and none cut off before its mark: ``1,234``."""
        return self.number(significant(value, max(3, len(str(int(abs(value)))))))

    def weight(self, known: Known, href: str = "", *, guess: bool = False, both: bool = True) -> View:
        """Give a mass as a figure for the page: value, doubt, unit, and if ``both`` the other system."""
        value, doubt = self._pair(known.value, known.expanded, self.own[1])
        return {
            "value": value,
            "doubt": doubt,
            "unit": self.unit,
            "href": href,
            "guess": guess,
            "other": self._in_words(known, self.other) if both else "",
        }

    def _pair(self, value: float, doubt: float, size: float) -> tuple[str, str]:
        shown, shown_doubt = rounded(value / size, doubt / size)
        return self.number(shown), "" if shown_doubt == "0" else self.number(shown_doubt)

    def in_words(self, known: Known) -> str:
        """Give a mass as words: ``412.6 ± 3.1 lb``."""
        return self._in_words(known, self.own)

    def _in_words(self, known: Known, system: System) -> str:
        return _joined(*self._pair(known.value, known.expanded, system[1]), system[0])

    def span(self, low: float, high: float, size: float = 1.0, digits: int = 2) -> str:
        """Give a range as words, to so many significant digits: ``12 to 30``."""
        ends = [self.number(significant(end / size, digits)) for end in (low, high)]
        return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"

    def weight_span(self, low: float, high: float, digits: int = 2) -> str:
        """Give a range of mass in the household's unit."""
        return f"{self.span(low, high, self.own[1], digits)}{UNBROKEN}{self.unit}"

    def rough(self, kg: float, digits: int = 3) -> str:
        """Give a mass in the household's unit to at most so many significant digits: ``470 lb``."""
        text = significant(kg / self.own[1], digits)
        return f"{self.number(text.rstrip('0').rstrip('.') if '.' in text else text)}{UNBROKEN}{self.unit}"

    def plain_weight(self, kg: float) -> str:
        """Give a mass without its doubt, in both systems: ``3.00 lb (1.36 kg)``."""
        return f"{self._beside(kg, 0.0, self.own)} ({self._beside(kg, 0.0, self.other)})"

    def beside(self, amount: Amount) -> str:
        """Give what stands beside an amount as written: its mass in whatever system it was not written in."""
        # Equal amounts of a journal are mostly one object, which the notes keep alive.
        found = self._beside_amounts.get(id(amount))
        if found is None:
            equal = (amount.kg, amount.own, f"{amount.how} {amount.words}", tuple(amount.shared.values()))
            found = self._beside_equals.get(equal)
            if found is None:
                found = self._beside_equals[equal] = self._written_beside(amount)
            self._beside_amounts[id(amount)] = found
        return found

    def _written_beside(self, amount: Amount) -> str:
        words = _FLUID.sub("", amount.words)
        plain = amount.how == "weighed"
        systems: tuple[System, ...] = (self.own, self.other)
        if plain and _METRIC.search(words):
            systems = (SYSTEMS["us"][0],)
        elif plain and _AVOIRDUPOIS.search(words):
            systems = (SYSTEMS["metric"][0],)
        doubt = (
            0.0 if plain else 2 * (amount.own**2 + sum(part * part for part in amount.shared.values())) ** 0.5
        )
        texts = [self._beside(amount.kg, doubt, system) for system in systems]
        return ("" if plain else "≈ ") + (texts[0] if len(texts) == 1 else f"{texts[0]} ({texts[1]})")

    def _beside(self, kg: float, doubt: float, system: tuple[str, float, str, float]) -> str:
        large, size, small, small_size = system
        unit, scale = (small, small_size) if kg < SMALL * size else (large, size)
        if doubt <= 0:
            return f"{self.number(significant(kg / scale, 3))}{UNBROKEN}{unit}"
        return _joined(*self._pair(kg, doubt, scale), unit)

    def readings(self, read: Readings) -> str:
        """Give a reading's temperature on the scale it is less likely to have been read on."""
        if read.temperature is None:
            return ""
        if self.household.units == "metric":
            return f"{self.number(f'{fahrenheit(read.temperature):.0f}')}{UNBROKEN}°F"
        return f"{self.number(f'{read.temperature:.1f}')}{UNBROKEN}°C"

    def temperature(self, celsius: float) -> str:
        """Give a temperature on the household's scale."""
        if self.household.units == "metric":
            return f"{self.number(significant(celsius, 3))}{UNBROKEN}°C"
        return f"{self.number(f'{fahrenheit(celsius):.0f}')}{UNBROKEN}°F"


def significant(value: float, digits: int) -> str:
    """Write a value to so many significant digits, without an exponent."""
    if value == 0:
        return "0"
    from math import floor, log10

    places = digits - 1 - floor(log10(abs(value)))
    shown = round(value, places)
    text = f"{shown:,.{max(0, places)}f}"
    return (
        text.rstrip("0").rstrip(".")
        if places > 0 and "." in text and abs(shown) >= 10 ** (digits - 1)
        else text
    )


def _joined(value: str, doubt: str, unit: str) -> str:
    return f"{value}{UNBROKEN}±{UNBROKEN}{doubt}{UNBROKEN}{unit}" if doubt else f"{value}{UNBROKEN}{unit}"


def day_in_words(day: dt.date) -> str:
    """Give a date as words: ``14 March 2026``."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def days_in_words(text: str) -> str:
    """Write every ISO date in a text out: ``2026-03-14`` becomes ``14 March 2026``."""
    return _ISO.sub(lambda found: f"{int(found[3])} {MONTHS[int(found[2]) - 1]} {int(found[1])}", text)


def month_in_words(month: str) -> str:
    """Give a month key as words: ``2026-03`` is ``March 2026``."""
    year, number = month.split("-")
    return f"{MONTHS[int(number) - 1]} {int(year)}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Give words as a list: ``a, b and c``."""
    if len(words) < 2:  # noqa: PLR2004 - one needs no "and"
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def counted(number: int, one: str, many: str = "") -> str:
    """Give a number of things: ``1 line``, ``12 lines``."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def percent(share: float) -> str:
    """Give a share as a whole percentage, and what is not quite nothing or all as such."""
    if 0 < share < 0.01:  # noqa: PLR2004
        return f"under 1{UNBROKEN}%"
    if 0.99 < share < 1:  # noqa: PLR2004
        return f"over 99{UNBROKEN}%"
    return f"{share * 100:.0f}{UNBROKEN}%".replace("-", "−")


def as_if_landfilled(unknown: float | None) -> str:
    """Mark a figure of what was kept out of landfill: of how much of it nobody knows the fate otherwise.

    ``unknown`` is that part (0 to 1), or None where it is some of it; nothing is said where all is known.
    """
    if unknown == 0:
        return ""
    part = "some" if unknown is None else "all" if unknown == 1 else percent(unknown)
    return (
        f"Of what is kept out of landfill, {part} counts as if it would have been landfilled; nobody knows "
        "what would have become of it."
    )


def reached(progress: float) -> str:
    """Say how much of a goal is reached; what fell below nothing is nothing of it."""
    return percent(progress) if progress > 0 else "nothing of it"


def isolated(name: str) -> str:
    """Give a name that may stand in a sentence: one of right-to-left letters takes nothing around it along.

    Without the isolate (Unicode Standard Annex 9) a number or an arrow beside it is read from the right too.
    A name that is isolated already, perhaps with words behind it, stays as it is.
    """
    if name.isascii() or "\u2068" in name or _TURNED.search(name) is None:
        return name
    return f"\u2068{name}\u2069"


def names_within(names: Iterable[str]) -> re.Pattern[str]:
    """Make the pattern of what ``with_isolated`` sets apart: these names, and other right-to-left words."""
    turned = {name for name in names if isolated(name) != name}
    told = [re.escape(name) for name in sorted(turned, key=len, reverse=True)]
    return re.compile("|".join([*told, _TURNED_WORDS]))


def with_isolated(text: str, names: re.Pattern[str]) -> str:
    """Give a sentence of the keeper's with each name of right-to-left letters in it isolated."""
    if text.isascii() or _TURNED.search(text) is None:
        return text
    return names.sub(lambda found: isolated(found[0]), text)


def slug(words: str) -> str:
    """Give the part of a file name or anchor that stands for a name: small letters, digits and hyphens."""
    import unicodedata

    folded = unicodedata.normalize("NFKD", words.casefold()).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", folded).strip("-")
