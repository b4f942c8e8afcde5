"""What the charts show: the tally's figures gathered into few marks, with a sentence and the numbers.

Everything is gathered here before it is drawn; a chart of thirty years has no more marks than one of three.
"""

from __future__ import annotations

import datetime as dt
from calendar import monthrange
from collections.abc import Mapping, Sequence

from journal.measures.doubt import Sum
from journal.measures.periods import month_key
from journal.reckoning.diversion import PRODUCT, Figure
from journal.reckoning.movements import DUST
from journal.site.edition import Edition
from journal.site.views.tables import NUMBER, by_stream, head, link, row, table
from journal.site.wording import MONTHS, UNBROKEN, View, month_in_words, percent

EARLIER_LINES = 3
"""So many earlier years get a line of their own; those before are one grey range."""

STREAM_ROOM = 104
YEAR_ROOM = 54
MOST_BARS = 10
LONGEST_MONTH = 31  # days
KEPT = "kept_out_of_landfill"


def rounded_off(value: float) -> float:
    """Give a value as exactly as a chart can show it."""
    return float(f"{value:.4g}")


class Charts:
    """Makes the charts of one edition."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.unit = edition.writer.unit
        self.size = edition.writer.own[1]

    def own(self, kg: float) -> float:
        """Give a mass in the household's unit, as exactly as it can be drawn."""
        return rounded_off(kg / self.size)

    # -- running totals ----------------------------------------------------------------------------------

    def cumulative(self) -> View | None:
        """The newest year's running total, week by week, over earlier years'."""
        edition = self.edition
        years = [year for year in edition.years if year in edition.tally.years]
        if not years or edition.tally.years[years[-1]].kept_out_of_landfill.value <= 0:
            return None
        lines = self._running_totals()
        this = years[-1]
        before = [year for year in years[-2::-1] if year in lines]  # a year may have had no waste
        rows = self._with_doubt(this, lines[this])
        goal = edition.household.goals.years.get(int(this))
        data = {
            "this": {"label": str(int(this)), "rows": rows},
            "earlier": [
                {"label": str(int(year)), "rows": self._thinned(lines[year])}
                for year in before[:EARLIER_LINES]
            ],
            "range": self._range(before[EARLIER_LINES:], lines),
            "goal": None if goal is None else self.own(goal),
            "goal_label": "" if goal is None else f"goal {edition.writer.rough(goal, 4)}",
            "right": YEAR_ROOM,
            **edition.writer.marks,
        }
        return {
            "id": "running",
            "kind": "cumulative",
            "data": data,
            "title": f"Kept out of landfill, week by week, in {self.unit}",
            "summary": self._cumulative_words(this, before, lines),
            "key": [],
            "table": self._running_table(this, before, lines),
        }

    def _running_totals(self) -> dict[str, list[tuple[int, float]]]:
        """Give, for each year, (day of the year, kg so far) for each day on which something was kept."""
        lines: dict[str, list[tuple[int, float]]] = {}
        for day in sorted(self.edition.tally.diversion.daily):
            line = lines.setdefault(f"{day.year:04d}", [])
            so_far = line[-1][1] if line else 0.0
            line.append((day.timetuple().tm_yday, so_far + self.edition.tally.diversion.daily[day]))
        return lines

    def _thinned(self, line: Sequence[tuple[int, float]]) -> list[View]:
        """Give a line's standing at the end of each of its weeks: at most 53 points."""
        weeks = {(day - 1) // 7: (day, kg) for day, kg in line}
        points = [(line[0][0], 0.0), *weeks.values()]
        if line[-1][0] < 366:  # noqa: PLR2004 - the line runs on level to the year's end
            points.append((366, line[-1][1]))
        return [{"day": day, "value": self.own(kg)} for day, kg in points]

    def _with_doubt(self, year: str, line: Sequence[tuple[int, float]]) -> list[View]:
        """Give this year's line with the doubt of what was logged so far, growing as the months add up."""
        figure = self.edition.tally.years[year].kept_out_of_landfill
        relative = figure.expanded / figure.value if figure.value > 0 else 0.0
        rows = self._thinned(line)
        if line[-1][0] < 366 and year == f"{self.edition.as_of.year:04d}":  # noqa: PLR2004
            rows[-1]["day"] = max(line[-1][0], self.edition.as_of.timetuple().tm_yday)
        return [
            {
                **one,
                "low": rounded_off(one["value"] * (1 - relative)),
                "high": rounded_off(one["value"] * (1 + relative)),
            }
            for one in rows
        ]

    def _range(self, years: Sequence[str], lines: Mapping[str, list[tuple[int, float]]]) -> View | None:
        there = [year for year in years if year in lines]
        if not there:
            return None
        rows = []
        for day in range(1, 367, 14):
            standing = [_standing(lines[year], day) for year in there]
            rows.append({"day": day, "low": self.own(min(standing)), "high": self.own(max(standing))})
        return {"label": f"{int(there[-1])} to {int(there[0])}", "rows": rows}

    def _cumulative_words(
        self, this: str, before: Sequence[str], lines: Mapping[str, list[tuple[int, float]]]
    ) -> str:
        edition = self.edition
        figure = edition.tally.years[this].kept_out_of_landfill
        words = f"{int(this)} stands at {edition.writer.in_words(figure)}"
        compared = next((year for year in before if year in lines), None)
        if compared is not None:
            last = edition.as_of if int(this) == edition.as_of.year else dt.date(int(this), 12, 31)
            then = _standing(lines[compared], _day_of(compared, last.month, last.day))
            words += f"; on the same day of {int(compared)} it was {edition.writer.plain(then / self.size)}"
            words += f"{UNBROKEN}{self.unit}"
        older = [year for year in before[EARLIER_LINES:] if year in lines]
        if older:
            words += f". The grey range holds the years {int(older[-1])} to {int(older[0])}"
        return words + "."

    def _running_table(
        self, this: str, before: Sequence[str], lines: Mapping[str, list[tuple[int, float]]]
    ) -> View:
        edition = self.edition
        years = [this, *(year for year in before[:EARLIER_LINES] if year in lines)]
        first, last = min(edition.months), month_key(edition.as_of)
        rows = []
        for number, name in enumerate(MONTHS, start=1):
            cells = [
                edition.writer.plain(_standing(lines[year], _day_of(year, number, LONGEST_MONTH)) / self.size)
                if first <= f"{year}-{number:02d}" <= last
                else ""
                for year in years
            ]
            rows.append(row(name, *cells))
        heads = head("By the end of", *((str(int(year)), NUMBER) for year in years))
        return table(f"Running totals in {self.unit}", heads, rows)

    # -- months by stream --------------------------------------------------------------------------------

    def months_by_stream(self, months: Sequence[str], identity: str, title: str) -> View | None:
        """Bars of the months, a segment a stream, what was estimated hatched, whiskers for the doubt."""
        edition = self.edition
        heaps = {month: self._streams(month) for month in months}
        streams = by_stream({name for heap in heaps.values() for name in heap})
        if not streams:
            return None
        rows, whiskers = [], []
        ends: dict[str, tuple[int, float]] = {}
        for at, month in enumerate(months):
            segments, top = self._segments(at, heaps[month], streams)
            rows += segments
            ends.update({one["stream"]: (at, (one["low"] + one["high"]) / 2) for one in segments})
            whole = edition.tally.diversion.of_month(month).whole.kept_out_of_landfill
            if whole.records and segments:
                doubt = self.own(whole.expanded)
                whiskers.append(
                    {"at": at, "low": rounded_off(max(0.0, top - doubt)), "high": rounded_off(top + doubt)}
                )
        if not rows:
            return None  # nothing was kept out of landfill on balance: there is nothing to draw
        last = max(at for at, _ in ends.values())
        labels = [
            {"stream": stream, "value": end[1], "edge": (end[0] + 0.86) / len(months)}
            for stream, end in ends.items()
            if end[0] == last
        ]
        across = len({month[:4] for month in months}) > 1
        data = {
            "periods": [_initial(month, across=across) for month in months],
            "streams": streams,
            "rows": rows,
            "whiskers": whiskers,
            "labels": labels,
            "right": STREAM_ROOM,
            **edition.writer.marks,
        }
        return {
            "id": identity,
            "kind": "stacked",
            "data": data,
            "title": title,
            "summary": self._stacked_words(months, heaps, streams),
            "key": self._key(streams, rows),
            "table": self._stacked_table(months, heaps, streams),
        }

    def _streams(self, month: str) -> dict[str, Figure]:
        heaps: dict[str, Figure] = {}
        for cell, figures in self.edition.tally.diversion.of_month(month).cells.items():
            figure = figures.kept_out_of_landfill
            if cell.stream != PRODUCT and figure.records:
                heaps.setdefault(cell.stream, Figure()).join(figure)
        return heaps

    def _segments(
        self, at: int, heap: Mapping[str, Figure], streams: Sequence[str]
    ) -> tuple[list[View], float]:
        segments: list[View] = []
        top = 0.0
        for stream in streams:
            figure = heap.get(stream)
            if figure is None or figure.value <= 0:
                continue
            guessed = min(1.0, max(0.0, figure.how.get("estimated", 0.0) / figure.value))
            for guess, part in ((False, 1 - guessed), (True, guessed)):
                high = top + self.own(figure.value * part)
                if high - top > 0:
                    segments.append(
                        {
                            "at": at,
                            "stream": stream,
                            "low": rounded_off(top),
                            "high": rounded_off(high),
                            "guess": guess,
                        }
                    )
                top = high
        return segments, top

    def _key(self, streams: Sequence[str], rows: Sequence[View]) -> list[View]:
        key = [
            {"words": stream, "fill": f"var(--stream-{number})"}
            for number, stream in enumerate(streams, start=1)
        ]
        guessed = next((one["stream"] for one in rows if one["guess"]), None)
        if guessed is not None:
            number = streams.index(guessed) + 1
            key.append({"words": "hatched: estimated", "fill": f"url(#hatch-stream-{number})"})
        return key[::-1] if len(key) > 1 else key

    def _stacked_words(
        self, months: Sequence[str], heaps: Mapping[str, Mapping[str, Figure]], streams: Sequence[str]
    ) -> str:
        by_month = {month: sum(figure.value for figure in heaps[month].values()) for month in months}
        heaviest = max(months, key=lambda month: by_month[month])
        empty = sum(1 for month in months if not heaps[month])
        told = [
            f"{month_in_words(heaviest)} was the heaviest month; {self._largest_words(heaps, streams)}"
            if by_month[heaviest] > DUST
            else "In no month was anything kept out of landfill on balance"
        ]
        if empty:
            has = "has" if empty == 1 else "have"
            told.append(f"{empty} of the {len(months)} months {has} no line that counts")
        if any(figure.value < -DUST for heap in heaps.values() for figure in heap.values()):
            told.append(
                "Where more of a stream was thrown out again than came in, it is not drawn but stands in the "
                "numbers"
            )
        return f"{'. '.join(told)}."

    @staticmethod
    def _largest_words(heaps: Mapping[str, Mapping[str, Figure]], streams: Sequence[str]) -> str:
        """Name the stream with most, and its part where there is one: none of them lies below nothing."""
        sums = {
            stream: sum(heap[stream].value for heap in heaps.values() if stream in heap) for stream in streams
        }
        first = max(streams, key=lambda stream: sums[stream])
        if min(sums.values()) < -DUST or sums[first] <= DUST:
            return f"most of it is {first}"
        return f"the largest part, {percent(sums[first] / sum(sums.values()))}, is {first}"

    def _stacked_table(
        self, months: Sequence[str], heaps: Mapping[str, Mapping[str, Figure]], streams: Sequence[str]
    ) -> View:
        edition = self.edition
        rows = [
            row(
                link(month_in_words(month), f"{month}.html" if month in edition.months else ""),
                *(
                    edition.cell(heaps[month][stream]) if stream in heaps[month] else None
                    for stream in streams
                ),
            )
            for month in months
        ]
        heads = head("Month", *((stream.capitalize(), NUMBER) for stream in streams))
        return table(f"Kept out of landfill in {self.unit}", heads, rows)

    # -- lying bars ----------------------------------------------------------------------------------------

    def bars(
        self, identity: str, title: str, summary: str, heaps: Sequence[tuple[str, Sum, bool]]
    ) -> View | None:
        """Lying bars of (name, figure, whether estimated), the largest first, the smallest put together."""
        ordered = sorted((one for one in heaps if one[1].value > 0), key=lambda one: (-one[1].value, one[0]))
        if len(ordered) < 2:  # noqa: PLR2004 - one bar compares nothing
            return None
        if len(ordered) > MOST_BARS:
            rest = Sum()
            for _, figure, _ in ordered[MOST_BARS - 1 :]:
                rest.merge(figure)
            ordered = [*ordered[: MOST_BARS - 1], (f"{len(ordered) - MOST_BARS + 1} others", rest, False)]
        rows = [
            {
                "words": name,
                "value": self.own(figure.value),
                "low": self.own(max(0.0, figure.value - figure.expanded)),
                "high": self.own(figure.value + figure.expanded),
                "text": self.edition.writer.in_words(figure),
                "guess": guess,
            }
            for name, figure, guess in ordered
        ]
        data = {"rows": rows, "left": 2, "right": 4, "bottom": 4}
        numbers = [
            row(name, self.edition.writer.weight(figure, guess=guess)) for name, figure, guess in ordered
        ]
        return {
            "id": identity,
            "kind": "bars",
            "data": data,
            "title": title,
            "summary": summary,
            "key": [],
            "table": table(title, head("Of what", (self.unit, NUMBER)), numbers),
        }


def _standing(line: Sequence[tuple[int, float]], day: int) -> float:
    """Give what a running total came to by a day of the year."""
    standing = 0.0
    for at, kg in line:
        if at > day:
            break
        standing = kg
    return standing


def _day_of(year: str, month: int, day: int) -> int:
    """Give the number in its year of a day, or of the last of its month where that is shorter."""
    last = monthrange(int(year), month)[1]
    return dt.date(int(year), month, min(day, last)).timetuple().tm_yday


def _initial(month: str, *, across: bool) -> str:
    """Give a month's mark on the axis: its first letter, in January the year where years meet."""
    number = int(month[5:])
    return f"’{month[2:4]}" if across and number == 1 else MONTHS[number - 1][0]
