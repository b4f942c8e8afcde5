"""The yearly sheet: a year on one printed page, and below it, on the screen, what its figures rest on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from functools import cached_property
from typing import Any

from journal.reckoning.diversion import PRODUCT, Cell, Figures
from journal.reckoning.goals import year_goals
from journal.site.edition import Edition
from journal.site.views.avoided import avoided_in
from journal.site.views.drawn import Charts
from journal.site.views.hands import Hands
from journal.site.views.months import SHOWN, address
from journal.site.views.tables import NUMBER, by_stream, caveats, head, link, row, table
from journal.site.wording import MONTHS, View, counted, day_in_words, month_in_words, reached, slug

HEADLINES = ("kept_out_of_landfill", "taken_in", "thrown_out", "castings_harvested", "castings_spread")


class YearPages:
    """Makes the views of the years' pages of one edition."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.charts = Charts(edition)
        self.figures = edition.tally.diversion
        self._sheets: dict[str, View] = {}

    def cells(self, year: str) -> Iterator[tuple[Cell, Figures]]:
        """Give the cells of a year in order, each with its figures."""
        for number in range(1, 13):
            yield from self.figures.of_month(f"{year}-{number:02d}").cells.items()

    def hands(self, year: str) -> Hands:
        """Give the tables of a year's givers, bins and plantings."""
        return Hands(self.edition, year, self.cells(year))

    def view(self, year: str) -> View:
        """Give everything on the page of one year."""
        edition = self.edition
        neighbours = [(f"year-{one}.html", str(int(one))) for one in edition.years]
        frame = edition.frame(
            f"year-{year}.html",
            f"{int(year)} · {edition.site['name']}",
            self.description(year),
            turn=edition.turn(neighbours, edition.years.index(year)),
            card={"file": f"cards/{year}.png", "alt": self.description(year)},
            **self.dated(year),
        )
        months = [f"{year}-{number:02d}" for number in range(1, 13)]
        chart = self.charts.months_by_stream(
            months, "months", f"The months of {int(year)} by stream, in {edition.writer.unit}"
        )
        return {
            **frame,
            "sheet": self.sheet(year),
            "chart": chart,
            "months": [link(month_in_words(month), f"{month}.html") for month in edition.months_of(year)],
            "mailed": f"sheet-{year}.html",
            "behind": list(self.behind(year)),
        }

    def mailed(self, year: str) -> View:
        """Give the sheet as one file to mail: its links lead to the site's address, or nowhere."""
        from journal.site.views.loose import unlinked

        edition = self.edition
        frame = edition.frame(
            f"sheet-{year}.html",
            f"{int(year)} · {edition.site['name']}",
            self.description(year),
            **self.dated(year),
        )
        sheet: View = unlinked(self.sheet(year), edition.site["address"])
        return {**frame, "sheet": sheet}

    def dated(self, year: str) -> dict[str, str]:
        """A year that is over bears no date of its own."""
        return {} if year == self.edition.years[-1] else {"as_of": ""}

    def description(self, year: str) -> str:
        """Say in one sentence what the year came to."""
        kept = self.figures.of_year(year).kept_out_of_landfill
        return (
            f"{self.edition.site['name']} in {int(year)}: {self.edition.writer.in_words(kept)} kept "
            "out of landfill."
        )

    # -- the printed sheet -----------------------------------------------------------------------------

    def sheet(self, year: str) -> View:
        """Give the sheet: headline, months by stream, givers, bins, garden, footprint, address."""
        found = self._sheets.get(year)
        if found is None:
            found = self._sheets[year] = self._sheet(year)
        return found

    def _sheet(self, year: str) -> View:
        edition = self.edition
        figures = self.figures.of_year(year)
        hands = self.hands(year)
        return {
            "year": str(int(year)),
            "household": edition.site["name"],
            "place": edition.said(edition.household.place).strip(),
            "over": self.covered(year),
            "account": [
                {
                    "words": SHOWN[name],
                    "figure": edition.figure(getattr(figures, name), self.rests_on(year, name)),
                }
                for name in HEADLINES
                if getattr(figures, name).records
            ],
            "goal": self.goal(year),
            "months": self.months(year),
            "givers": hands.givers(),
            "bins": hands.bins(),
            "garden": hands.garden(),
            "footprint": avoided_in(edition.keeping.footprint_of(year)),
            "caveats": caveats(edition, figures, self.cells(year)),
            "address": edition.site["address"],
            "code": self.code,
        }

    def rests_on(self, year: str, name: str) -> str:
        """Give the address of what a year's figure rests on."""
        return f"year-{year}.html#{slug(SHOWN[name])}"

    def covered(self, year: str) -> str:
        """Say what time the sheet covers, and on how many of its days something was written."""
        edition = self.edition
        dates = {
            edition.notes.entries[index].date
            for month in edition.months_of(year)
            for index in edition.months[month]
        }
        number = int(year)
        last = edition.as_of if number == edition.as_of.year else dt.date(number, 12, 31)
        first = dt.date(number, 1, 1)
        if year == edition.years[0]:
            told = (record.date for record in edition.notes.records if record.date.year == number)
            first = min((*dates, *told), default=first)
        missing = sum(
            1 for month in range(first.month, last.month + 1) if not edition.months.get(f"{year}-{month:02d}")
        )
        span = day_in_words(first) if first == last else f"{day_in_words(first)} to {day_in_words(last)}"
        words = f"{span} · {counted(len(dates), 'day')} with an entry"
        return words + (f" · {counted(missing, 'month')} without" if missing else "")

    def goal(self, year: str) -> View | None:
        """Say how the year's goal stands."""
        edition = self.edition
        kept = {int(year): self.figures.of_year(year).kept_out_of_landfill}
        for goal in year_goals(edition.household.goals, kept, edition.as_of):
            if goal.year == int(year):
                words = f"Goal {edition.writer.rough(goal.goal, 4)}: {reached(goal.progress)}"
                words += {"missed": ", not reached", "reached": ", reached"}.get(goal.state, " so far")
                return {"words": f"{words}.", "percent": round(min(1.0, max(0.0, goal.progress)) * 100, 1)}
        return None

    def months(self, year: str) -> View:
        """Give months × streams of what was kept out of landfill, each leading to the month's lines."""
        edition = self.edition
        heaps: dict[tuple[str, str], Figures] = {}
        for cell, figures in self.cells(year):
            if cell.stream != PRODUCT:
                heaps.setdefault((cell.month, cell.stream), Figures()).join(figures)
        name = "kept_out_of_landfill"
        streams = by_stream(
            {stream for (_, stream), figures in heaps.items() if getattr(figures, name).records}
        )
        rows = []
        for number in range(1, 13):
            month = f"{year}-{number:02d}"
            there = self.figures.of_month(month)
            cells: list[Any] = [
                edition.cell(getattr(heaps[month, stream], name), address(month, name, stream))
                if (month, stream) in heaps
                else None
                for stream in streams
            ]
            whole = (
                edition.cell(there.whole.kept_out_of_landfill, f"{month}.html#totals")
                if there.cells
                else None
            )
            title = link(MONTHS[number - 1], f"{month}.html" if month in edition.months else "")
            rows.append(row(title, *cells, whole))
        sums: dict[str, Figures] = {}
        for (_, stream), figures in heaps.items():
            sums.setdefault(stream, Figures()).join(figures)
        whole_year = self.figures.of_year(year).kept_out_of_landfill
        foot = row(
            "Year",
            *(edition.cell(getattr(sums[stream], name)) for stream in streams),
            edition.cell(whole_year),
        )
        heads = head("Month", *((stream.capitalize(), NUMBER) for stream in streams), ("Together", NUMBER))
        return table(
            f"Kept out of landfill by month and stream, in {edition.writer.unit}",
            heads,
            rows,
            foot,
            wide=True,
        )

    @cached_property
    def code(self) -> View | None:
        """The QR code of the site's address as an SVG path, or nothing where there is no address."""
        from journal.site.codes import path_of

        address = self.edition.site["address"]
        return path_of(address) if address else None

    # -- what the year rests on ---------------------------------------------------------------------------

    def behind(self, year: str) -> Iterator[View]:
        """Give, for each figure, its months; for each giver, the months in which they brought something."""
        edition = self.edition
        for name in SHOWN:
            rows = []
            for month in edition.months_of(year):
                figure = self.figures.of_month(month).whole.of(name)
                if figure.records:
                    href = address(month, name) if name.startswith("castings") else f"{month}.html#totals"
                    rows.append(
                        row(
                            link(month_in_words(month), href),
                            edition.cell(figure, href),
                            f"{counted(figure.lines, 'line')}",
                        )
                    )
            if rows:
                heads = head("Month", (edition.writer.unit, NUMBER), "Rests on")
                yield {
                    "id": slug(SHOWN[name]),
                    "title": SHOWN[name].capitalize(),
                    "tables": [table(f"{SHOWN[name].capitalize()}, {int(year)}", heads, rows)],
                }
        yield from self.hands(year).behind()
