"""The bins: feeding, readings over the band in which the worms do well, harvests and yield."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from journal.measures.periods import month_key
from journal.reckoning.bins import BinSheet
from journal.reckoning.chores import Chore
from journal.reckoning.diversion import Figure
from journal.reckoning.readings import QUANTITIES, Reading
from journal.site.edition import Edition
from journal.site.views.tables import NUMBER, cautions, head, lines_behind, link, row, span_words, table
from journal.site.wording import (
    MONTHS,
    View,
    counted,
    day_in_words,
    days_in_words,
    listed,
    percent,
    significant,
)

MOST_POINTS = 60
LATEST_LINES = 40
FEED_WORDS = {
    "little": "less than worms of this mass usually eat", "about right": "about what worms of this mass eat",
    "much": "more than worms of this mass usually eat", "unknown": "",
}  # fmt: skip
TITLES = {"temperature": "Temperature", "moisture": "Moisture", "pH": "Acidity (pH)"}
SCALES = {"temperature": (5.0, 30.0), "moisture": (55.0, 95.0), "pH": (4.5, 9.0)}


class BinPages:
    """Makes the views of the bins' pages of one edition."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.sheets = {sheet.name: sheet for sheet in edition.keeping.bins}
        self.chores: dict[str, list[Chore]] = {}
        for chore in edition.keeping.chores:
            self.chores.setdefault(chore.subject, []).append(chore)

    # -- all bins --------------------------------------------------------------------------------------

    def overview(self) -> View:
        """Give the page of all bins: one row each, what is due, castings in and out."""
        edition = self.edition
        rows = [self.overview_row(sheet) for sheet in self.sheets.values()]
        heads = head("Bin", "Worms", ("Fed", NUMBER), ("Bedded", NUMBER), ("Castings", NUMBER), "Last seen")
        return {
            **edition.frame("bins.html", f"Bins · {edition.site['name']}", f"The worm bins of {edition.site['name']}: feeding, readings, harvests."),
            "under": self.under(), "bins": table(f"Since each was started, in {edition.writer.unit}", heads, rows) if rows else None,
            "due": self.due(), "chart": self.castings(), "cautions": cautions(edition, "bins"),
        }  # fmt: skip

    def under(self) -> str:
        """Say how many bins run."""
        running = [sheet for sheet in self.sheets.values() if sheet.running]
        if not self.sheets:
            return "No bin is named yet."
        ended = len(self.sheets) - len(running)
        return f"{counted(len(running), 'bin')} at work{f', {ended} emptied for good' if ended else ''}."

    def overview_row(self, sheet: BinSheet) -> View:
        """Give one bin in a row."""
        edition = self.edition
        states = [f"{reading.words}, {self.shown(reading)}" for reading in sheet.latest.values()]
        name = link(
            edition.said(sheet.name), edition.bin_pages[sheet.name], "" if sheet.running else "emptied"
        )
        kinds = listed([kind.name for kind in sheet.kinds])
        return row(
            name,
            kinds,
            edition.cell(sheet.fed),
            edition.cell(sheet.bedded),
            edition.cell(sheet.harvested),
            "; ".join(states[:2]),
        )

    def due(self) -> list[View]:
        """Give what is due on the edition's day."""
        return [self.told(chore) for chore in self.edition.keeping.chores]

    def told(self, chore: Chore) -> View:
        """Give a chore in words, its days written out."""
        said = self.edition.said
        return {
            "title": said(chore.title),
            "reason": days_in_words(said(chore.reason)),
            "advice": days_in_words(said(chore.advice)),
        }

    def castings(self) -> View | None:
        """Draw castings harvested against castings spread or given: by month for two years, before that by year."""
        edition = self.edition
        last = edition.as_of
        months = {}
        for index, record in enumerate(edition.notes.records):
            if record.verb in {"harvested", "spread", "gave"}:
                months.setdefault(month_key(record.date), []).append(index)
        if not months:
            return None
        first = min(months)
        span = (last.year - int(first[:4])) * 12 + last.month - int(first[5:]) + 1
        by_year = span > 24  # noqa: PLR2004 - more bars than two years' months are read by year
        periods = (
            [f"{year:04d}" for year in range(int(first[:4]), last.year + 1)][-30:]
            if by_year
            else _months(first, span)
        )
        places = {period: at for at, period in enumerate(periods)}
        rows = [{"at": at, "in": 0.0, "out": 0.0} for at in range(len(periods))]
        for month, indices in months.items():
            at = places.get(month[:4] if by_year else month)
            if at is not None:
                self._add_castings(rows[at], indices)
        if not any(one["in"] or one["out"] for one in rows):
            return None
        labels = [self._label(period, at, len(periods)) for at, period in enumerate(periods)]
        data = {
            "periods": labels,
            "rows": [{**one, "in": round(one["in"], 2), "out": round(one["out"], 2)} for one in rows],
            "in_label": "harvested",
            "out_label": "spread or given away",
        }
        store = edition.keeping.castings
        summary = f"Harvested since the start: {edition.writer.in_words(store.harvested)}; spread: {edition.writer.in_words(store.spread)}; given away: {edition.writer.in_words(store.given)}; in store: {edition.writer.in_words(store.left)}."
        size = 1.0
        numbers = [
            row(
                period if by_year else f"{MONTHS[int(period[5:]) - 1]} {int(period[:4])}",
                significant(one["in"] / size, 3),
                significant(one["out"] / size, 3),
            )
            for period, one in zip(periods, rows, strict=True)
        ]
        return {
            "id": "castings", "kind": "in and out", "data": data, "title": f"Castings in and out, in {edition.writer.unit}", "summary": summary, "key": [],
            "table": table(f"Castings by {'year' if by_year else 'month'}, in {edition.writer.unit}", head("Time", ("Harvested", NUMBER), ("Spread or given", NUMBER)), numbers),
        }  # fmt: skip

    def _add_castings(self, one: View, indices: Sequence[int]) -> None:
        size = self.edition.writer.own[1]
        for index in indices:
            record = self.edition.notes.records[index]
            kg = sum(amount.kg for amount in record.amounts if amount.material == "castings")
            one["in" if record.verb == "harvested" else "out"] += kg / size

    @staticmethod
    def _label(period: str, at: int, count: int) -> str:
        if len(period) == 4:  # noqa: PLR2004 - a year
            return f"’{period[2:]}" if count <= 14 or at % 3 == 0 else ""  # noqa: PLR2004
        number = int(period[5:])
        if number == 1:
            return f"’{period[2:4]}"
        return MONTHS[number - 1][0] if count <= 15 or number % 3 == 1 else ""  # noqa: PLR2004

    # -- one bin ---------------------------------------------------------------------------------------

    def view(self, name: str) -> View:
        """Give everything on one bin's page."""
        edition, sheet = self.edition, self.sheets[name]
        said = edition.said(name)
        names = list(self.sheets)
        neighbours = [(edition.bin_pages[one], edition.said(one)) for one in names]
        address = edition.bin_pages[name]
        return {
            **edition.frame(address, f"{said} · {edition.site['name']}", f"{said}, a bin of {listed([kind.name for kind in sheet.kinds])}: feeding, readings, harvests.", "bins.html", turn=edition.turn(neighbours, names.index(name))),
            "heading": said, "under": self.about(sheet),
            "due": [self.told(chore) for chore in self.chores.get(name, [])],
            "charts": [chart for quantity in QUANTITIES if (chart := self.readings(sheet, quantity)) is not None],
            "account": list(self.account(sheet)), "facts": list(self.facts(sheet)), "years": self.years(name),
            "sightings": self.sightings(sheet), "lines": self.lines(sheet), "bands": self.bands(sheet),
        }  # fmt: skip

    def about(self, sheet: BinSheet) -> str:
        """Say what lives there, where it stands and since when."""
        kinds = listed([kind.name for kind in sheet.kinds]).capitalize()
        parts = [f"{kinds}{' (assumed: household.yaml does not say)' if sheet.kind_assumed else ''}"]
        if sheet.bin.kept_in:
            parts.append(f"kept in the {self.edition.said(sheet.bin.kept_in)}")
        if sheet.first_day is not None:
            parts.append(f"since {day_in_words(sheet.first_day)}")
        if sheet.bin.ended is not None:
            parts.append(f"until {day_in_words(sheet.bin.ended)}")
        return ", ".join(parts) + "."

    def account(self, sheet: BinSheet) -> Iterator[View]:
        """Give the bin's account: what went in, what came out, what is not accounted for."""
        edition, balance = self.edition, sheet.balance
        told: list[tuple[str, Figure]] = [
            ("fed", sheet.fed), ("bedding put in", sheet.bedded), ("castings harvested", sheet.harvested), ("drained off", balance.drained),
            ("thrown out", balance.thrown_out), ("worms and bedding moved on", balance.moved_out),
        ]  # fmt: skip
        for words, figure in told:
            if figure.records:
                yield {"words": words, "figure": edition.figure(figure, "#lines")}
        if balance.put_in.records:
            yield {
                "words": "still in the bin, or lost to the air as water and gas",
                "figure": edition.figure(balance.unaccounted),
            }

    def facts(self, sheet: BinSheet) -> Iterator[View]:
        """Give what is reckoned of the bin, each as a range with what it is held against."""
        edition = self.edition
        size, unit = edition.writer.own[1], edition.writer.unit
        if sheet.worms is not None:
            yield _fact(
                "Worms believed to be in it",
                f"{span_words(edition, sheet.worms.believed, size, unit)}: what was added, and a capped range of growth",
            )
        yield _fact(
            "Fed a day, last 28 days",
            f"{span_words(edition, sheet.feed_per_day, size, unit)}{'; ' + FEED_WORDS[sheet.feed_state] if FEED_WORDS.get(sheet.feed_state) else ''}",
        )
        if sheet.feed_rate is not None:
            yield _fact("As a part of the worms’ own mass", f"{span_words(edition, sheet.feed_rate)} a day")
        mix = sheet.recent_mix
        if mix.ingredients:
            yield _fact(
                "Carbon to nitrogen of the last 60 days’ feed and bedding",
                f"{span_words(edition, mix.carbon_nitrogen)} to 1",
            )
            yield _fact("Moisture of the same", f"{span_words(edition, mix.moisture)} %")
        if sheet.yields.share is not None:
            share = sheet.yields.share
            words = (
                f"{percent(share.typical)} ({percent(share.low)} to {percent(share.high)})"
                if share.is_bounded
                else "not known yet"
            )
            yield _fact(
                "Castings out for dry matter put in",
                f"{words}, counting what went in {span_words(edition, sheet.yields.lag)} days before",
            )
        harvest = sheet.next_harvest
        if harvest is not None and sheet.running:
            basis = (
                "by its own harvests so far"
                if harvest.basis == "own history"
                else "by published intervals, until it has two harvests of its own"
            )
            yield _fact(
                "Next harvest",
                f"{day_in_words(harvest.earliest)} to {day_in_words(harvest.latest)}, likeliest {day_in_words(harvest.typical)}; {basis}",
            )

    def readings(self, sheet: BinSheet, quantity: str) -> View | None:
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
        words = f"good: {ends[0]:.3g} to {ends[1]:.3g}{self.unit(quantity)}"
        out = [one for one in found if one.position]
        summary = f"{counted(len(found), 'reading')}; {'all within' if not out else f'{len(out)} outside'} the band that suits {listed([kind.name for kind in sheet.kinds])}. The last, of {day_in_words(found[-1].date)}, was {self.shown(found[-1])}: {found[-1].words}."
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
        }
        recent = found[-LATEST_LINES:]
        numbers = [
            row(
                day_in_words(one.date),
                link(self.shown(one), self.edition.line_address(one.record)),
                one.words,
            )
            for one in reversed(recent)
        ]
        return {
            "id": {"pH": "acidity"}.get(quantity, quantity), "kind": "readings", "data": data, "title": f"{TITLES[quantity]}{', in' + self.unit(quantity) if self.unit(quantity) else ''}", "summary": summary, "key": [],
            "table": table(f"{TITLES[quantity]}: the last {counted(len(recent), 'reading')}", head("Day", "Reading", "In words"), numbers),
        }  # fmt: skip

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
        """Give the mean of each stretch of time with its lowest and highest: no more points than can be seen."""
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
            return " °C" if self.edition.household.units == "metric" else " °F"
        return " %" if quantity == "moisture" else ""

    def shown(self, reading: Reading) -> str:
        """Give a reading with its unit."""
        value = self.scale(reading.quantity, reading.value)
        text = f"{value:.1f}" if reading.quantity == "pH" else f"{value:.0f}"
        return f"{'pH ' if reading.quantity == 'pH' else ''}{self.edition.writer.number(text)}{self.unit(reading.quantity)}"

    def years(self, name: str) -> View | None:
        """Give what went in and came out by year."""
        edition = self.edition
        rows = []
        for year in reversed(edition.years):
            one = edition.tally.bins_of({year}).get(name)
            if one is not None and (one.fed.records or one.bedded.records or one.harvested.records):
                rows.append(
                    row(
                        link(str(int(year)), f"year-{year}.html"),
                        edition.cell(one.fed),
                        edition.cell(one.bedded),
                        edition.cell(one.harvested),
                    )
                )
        heads = head("Year", ("Fed", NUMBER), ("Bedded", NUMBER), ("Castings", NUMBER))
        return table(f"Year by year, in {edition.writer.unit}", heads, rows, other=True) if rows else None

    def sightings(self, sheet: BinSheet) -> list[View]:
        """Give what was seen and smelt, the newest first; nothing of what is kept back."""
        told = [
            (date, record, words)
            for date, record, words in sheet.sightings
            if not self.edition.is_closed(record)
        ]
        return [
            {
                "words": self.edition.said(words),
                "href": self.edition.line_address(record),
                "date": day_in_words(date),
            }
            for date, record, words in reversed(told[-12:])
        ]

    def lines(self, sheet: BinSheet) -> View:
        """Give the lines about the bin by month, the newest first, each month leading to them."""
        months: dict[str, list[int]] = {}
        for record in sheet.records:
            months.setdefault(month_key(self.edition.notes.records[record].date), []).append(record)
        recent = sorted(months, reverse=True)
        rows = [
            row(
                link(f"{MONTHS[int(month[5:]) - 1]} {int(month[:4])}", f"{month}.html"),
                counted(len(months[month]), "line"),
                lines_behind(self.edition, months[month]) if at < 6 else "",
            )  # noqa: PLR2004 - the last half year line by line
            for at, month in enumerate(recent)
        ]
        return table("The lines about this bin", head("Month", "Lines", "Each"), rows)

    def bands(self, sheet: BinSheet) -> list[View]:
        """Say which published band each kind of reading is held against, and how it was checked."""
        sources = self.edition.keeping.references.sources
        told = []
        for quantity, band in sheet.bands.items():
            work = sources[band.source].citation if band.source in sources else band.source
            ends = f"{self.scale(quantity, band.low):.3g} to {self.scale(quantity, band.high):.3g}{self.unit(quantity)}"
            told.append(
                {
                    "words": f"{TITLES[quantity]}: good from {ends}. {work} {band.where} ({band.checked}). {band.note}".strip(),
                    "href": "reckoning.html#worms",
                }
            )
        return told


def _rides_high(rows: Sequence[View], ends: Sequence[float]) -> bool:
    """Whether the last readings lie in the upper half of the band, where its words would stand."""
    last = [one["value"] for one in rows[-max(1, len(rows) // 3) :]]
    return bool(max(last) > (ends[0] + ends[1]) / 2)


def _fact(words: str, value: str) -> View:
    return {"words": words, "value": value}


def _span(ends: tuple[float, float]) -> float:
    return ends[1] - ends[0]


def _months(first: str, count: int) -> list[str]:
    start = int(first[:4]) * 12 + int(first[5:]) - 1
    return [f"{number // 12:04d}-{number % 12 + 1:02d}" for number in range(start, start + count)]


def _time_marks(first: dt.date, days: int) -> list[View]:
    """Give four to eight marks on the time axis: years, or months for a short course."""
    step = next(months for months in (1, 2, 3, 6, 12, 24, 60, 120, 1200) if days / (months * 30.4) <= 6)  # noqa: PLR2004
    marks = []
    year, month = first.year, first.month
    while True:
        day = (dt.date(year, month, 1) - first).days
        if day > days * 0.94:
            return marks
        if (month - 1) % min(step, 12) == 0 and (step <= 12 or year % (step // 12) == 0):  # noqa: PLR2004 - a year's months
            marks.append({"day": day, "words": str(year) if month == 1 else MONTHS[month - 1][:3]})
        month += 1
        if month > 12:  # noqa: PLR2004
            year, month = year + 1, 1
        if year > dt.MAXYEAR:
            return marks
