"""The charts of a bin's readings: temperature, moisture and pH over the band in which its worms do well."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from journal.reckoning.bins import BinSheet
from journal.reckoning.readings import Reading
from journal.site.edition import Edition
from journal.site.views.tables import head, link, row, table
from journal.site.wording import MONTHS, UNBROKEN, View, counted, day_in_words, listed

MOST_POINTS = 60
MOST_MARKS = 6
YEAR = 12
"""Months in a year."""
LATEST = 40
TITLES = {"temperature": "Temperature", "moisture": "Moisture", "pH": "Acidity (pH)"}
SCALES = {"temperature": (5.0, 30.0), "moisture": (55.0, 95.0), "pH": (4.5, 9.0)}
"""What the scale shows where readings and band leave it room, in °C, % and pH."""


class Readings:
    """Draws the readings of one edition's bins."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition

    def drawn(self, sheet: BinSheet, quantity: str) -> View | None:
        """Draw one kind of reading over the band in which the worms do well."""
        found = [reading for reading in sheet.readings if reading.quantity == quantity]
        if len(found) < 2:  # noqa: PLR2004 - one dot draws no course
            return None
        first = found[0].date.replace(day=1)
        days = max(1, (found[-1].date - first).days + 3)
        rows = (
            [self._point(one, first) for one in found]
            if len(found) <= MOST_POINTS
            else self._gathered(found, first, days)
        )
        band = sheet.bands[quantity]
        low, high = self._ends(
            quantity, [one["low"] for one in rows], [one["high"] for one in rows], (band.low, band.high)
        )
        ends = [self.scale(quantity, band.low), self.scale(quantity, band.high)]
        words = f"good: {self.limits(quantity, *ends)}"
        out = [one for one in found if one.position]
        summary = (
            f"{counted(len(found), 'reading')}; {'all within' if not out else f'{len(out)} outside'} "
            f"the band that suits {listed([kind.name for kind in sheet.kinds])}. The last, of "
            f"{day_in_words(found[-1].date)}, was {self.shown(found[-1])}: {found[-1].words}."
        )
        data = {
            "rows": rows,
            "days": days,
            "marks": _time_marks(first, days),
            "bands": [
                {
                    "low": round(ends[0], 2),
                    "high": round(ends[1], 2),
                    "words": words,
                    "below": _rides_high(rows, ends),
                }
            ],
            "low": low,
            "high": high,
            **self.edition.writer.marks,
        }
        return {
            "id": {"pH": "acidity"}.get(quantity, quantity),
            "kind": "readings",
            "data": data,
            "title": f"{TITLES[quantity]}{', in' + self.unit(quantity) if self.unit(quantity) else ''}",
            "summary": summary,
            "key": [],
            "table": self._table(quantity, found[-LATEST:]),
        }

    def _table(self, quantity: str, recent: Sequence[Reading]) -> View:
        """Give the last readings, the newest first."""
        numbers = [
            row(
                day_in_words(one.date),
                link(self.shown(one), self.edition.line_address(one.record)),
                one.words,
            )
            for one in reversed(recent)
        ]
        return table(
            f"{TITLES[quantity]}: the last {counted(len(recent), 'reading')}",
            head("Day", "Reading", "In words"),
            numbers,
        )

    def _point(self, reading: Reading, first: dt.date) -> View:
        value = self.scale(reading.quantity, reading.value)
        half = abs(self.scale(reading.quantity, reading.value + reading.half) - value)
        drawn = half if half * 2 > _span(SCALES[reading.quantity]) / 60 else 0.0
        return {
            "day": (reading.date - first).days,
            "value": round(value, 2),
            "low": round(value - drawn, 2),
            "high": round(value + drawn, 2),
        }

    def _gathered(self, found: Sequence[Reading], first: dt.date, days: int) -> list[View]:
        """Give the mean of each stretch of time with its lowest and highest."""
        stretch = max(1.0, days / MOST_POINTS)
        heaps: dict[int, list[Reading]] = {}
        for reading in found:
            heaps.setdefault(int((reading.date - first).days / stretch), []).append(reading)
        rows = []
        for at, readings in sorted(heaps.items()):
            values = [self.scale(one.quantity, one.value) for one in readings]
            rows.append(
                {
                    "day": round((at + 0.5) * stretch, 1),
                    "value": round(sum(values) / len(values), 2),
                    "low": round(min(values), 2),
                    "high": round(max(values), 2),
                }
            )
        return rows

    def _ends(
        self, quantity: str, lows: Sequence[float], highs: Sequence[float], band: tuple[float, float]
    ) -> tuple[float, float]:
        usual = [self.scale(quantity, end) for end in SCALES[quantity]]
        ends = [self.scale(quantity, end) for end in band]
        low, high = min(*lows, *ends), max(*highs, *ends)
        room = (high - low) * 0.12
        return round(max(min(usual[0], low), low - room), 1), round(min(max(usual[1], high), high + room), 1)

    def scale(self, quantity: str, value: float) -> float:
        """Give a reading on the household's scale."""
        return (
            value * 1.8 + 32
            if quantity == "temperature" and self.edition.household.units != "metric"
            else value
        )

    def unit(self, quantity: str) -> str:
        """Give the unit of a quantity on the household's scale."""
        if quantity == "temperature":
            return f"{UNBROKEN}°C" if self.edition.household.units == "metric" else f"{UNBROKEN}°F"
        return f"{UNBROKEN}%" if quantity == "moisture" else ""

    def limits(self, quantity: str, low: float, high: float) -> str:
        """Give the ends of a band on the household's scale, with their unit."""
        number = self.edition.writer.number
        return f"{number(f'{low:.3g}')} to {number(f'{high:.3g}')}{self.unit(quantity)}"

    def shown(self, reading: Reading) -> str:
        """Give a reading with its unit."""
        value = self.scale(reading.quantity, reading.value)
        text = f"{value:.1f}" if reading.quantity == "pH" else f"{value:.0f}"
        before = f"pH{UNBROKEN}" if reading.quantity == "pH" else ""
        return f"{before}{self.edition.writer.number(text)}{self.unit(reading.quantity)}"


def _rides_high(rows: Sequence[View], ends: Sequence[float]) -> bool:
    """Whether the last readings lie in the upper half of the band, where its words would stand."""
    last = [one["value"] for one in rows[-max(1, len(rows) // 3) :]]
    return bool(max(last) > (ends[0] + ends[1]) / 2)


def _span(ends: tuple[float, float]) -> float:
    return ends[1] - ends[0]


def _time_marks(first: dt.date, days: int) -> list[View]:
    """Give four to eight marks on the time axis: years, or months for a short course."""
    steps = (1, 2, 3, 6, 12, 24, 60, 120, 1200, 12000)
    step = next(months for months in steps if days / (months * 30.4) <= MOST_MARKS)
    marks: list[View] = []
    for number in range(first.year * YEAR + first.month - 1, dt.MAXYEAR * YEAR + YEAR, 1):
        year, month = divmod(number, YEAR)
        day = (dt.date(year, month + 1, 1) - first).days
        if day > days * 0.94:
            break
        if month % min(step, YEAR) == 0 and (step <= YEAR or year % (step // YEAR) == 0):
            marks.append({"day": day, "words": str(year) if month == 0 else MONTHS[month][:3]})
    return marks
