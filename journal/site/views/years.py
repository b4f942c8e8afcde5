"""The yearly sheet: a year on one printed page, and below it, on the screen, what its figures rest on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Any

from journal.reckoning.diversion import PRODUCT, Cell, Figures
from journal.reckoning.footprint import Footprint
from journal.reckoning.goals import year_goals
from journal.site.edition import Edition
from journal.site.views.drawn import Charts
from journal.site.views.months import SHOWN, address
from journal.site.views.tables import NUMBER, by_stream, head, how_measured, link, row, table
from journal.site.wording import MONTHS, View, counted, day_in_words, month_in_words, percent, slug

MOST_GIVERS = 7
MOST_BINS = 6
MOST_PLANTINGS = 6
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
            "givers": self.givers(year),
            "bins": self.bins(year),
            "garden": self.garden(year),
            "footprint": self.footprint(year),
            "caveats": [text for text in (how_measured(figures.taken_in, "what was taken in"),) if text],
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
        first = (
            min(dates, default=dt.date(number, 1, 1)) if year == edition.years[0] else dt.date(number, 1, 1)
        )
        missing = sum(
            1 for month in range(first.month, last.month + 1) if not edition.months.get(f"{year}-{month:02d}")
        )
        words = f"{day_in_words(first)} to {day_in_words(last)} · {counted(len(dates), 'day')} with an entry"
        return words + (f" · {counted(missing, 'month')} without" if missing else "")

    def goal(self, year: str) -> View | None:
        """Say how the year's goal stands."""
        edition = self.edition
        kept = {int(year): self.figures.of_year(year).kept_out_of_landfill}
        for goal in year_goals(edition.household.goals, kept, edition.as_of):
            if goal.year == int(year):
                words = f"Goal {edition.writer.rough(goal.goal, 4)}: {percent(goal.progress)}"
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

    def givers(self, year: str) -> View | None:
        """Give what each giver brought in the year, the most first."""
        edition = self.edition
        heaps = self.by_giver(year)
        rows = [
            row(
                name,
                edition.cell(heaps[name].taken_in, f"year-{year}.html#{edition.givers[name]}"),
                edition.cell(heaps[name].kept_out_of_landfill),
            )
            for name in sorted(heaps, key=lambda name: (-heaps[name].taken_in.value, name))
        ]
        if not rows:
            return None
        rest = rows[MOST_GIVERS:]
        if rest:
            rows = [
                *rows[:MOST_GIVERS],
                row(link(f"{counted(len(rest), 'other')}", "givers.html"), None, None),
            ]
        heads = head("Giver", ("Brought", NUMBER), ("Kept out", NUMBER))
        return table(f"Who gave, in {edition.writer.unit}", heads, rows)

    def by_giver(self, year: str) -> dict[str, Figures]:
        """Give the year's figures by giver."""
        heaps: dict[str, Figures] = {}
        for cell, figures in self.cells(year):
            if cell.stream != PRODUCT and figures.taken_in.records:
                heaps.setdefault(self.edition.giver_of(cell), Figures()).join(figures)
        return heaps

    def bins(self, year: str) -> View | None:
        """Give what each bin got and gave in the year."""
        edition = self.edition
        found = edition.bins_of(year)
        rows = [
            row(
                link(edition.bin(name), edition.bin_pages.get(name, "")),
                edition.cell(one.fed),
                edition.cell(one.bedded),
                edition.cell(one.harvested),
            )
            for name, one in found.items()
            if one.fed.records or one.bedded.records or one.harvested.records
        ]
        if not rows:
            return None
        heads = head("Bin", ("Fed", NUMBER), ("Bedded", NUMBER), ("Castings", NUMBER))
        return table(f"The bins, in {edition.writer.unit}", heads, rows[:MOST_BINS])

    def garden(self, year: str) -> View | None:
        """Give where the castings of the year went."""
        edition = self.edition
        garden = edition.keeping.garden
        rows = []
        for sheet in garden.plantings:
            one = sheet.years.get(int(year))
            if one is None or not (one.castings.records or one.crops):
                continue
            crops = ", ".join(
                f"{edition.material(crop)} {edition.writer.rough(figure.value, 2)}"
                for crop, figure in one.crops.items()
            )
            anchor = edition.planting_anchors.get(sheet.planting.name, "")
            rows.append(
                row(
                    link(edition.planting(sheet.planting.name), f"garden.html#{anchor}"),
                    edition.cell(one.castings),
                    crops,
                )
            )
        if not rows:
            return None
        return table(
            f"The garden, in {edition.writer.unit}",
            head("Planting", ("Castings", NUMBER), "Picked"),
            rows[:MOST_PLANTINGS],
        )

    def footprint(self, year: str) -> str:
        """Say what the year may have avoided, in one sentence with its range and table."""
        found: Footprint | None = self.edition.keeping.footprint_of(year)
        if found is None:
            return ""
        edition = f"US EPA Table 9, {found.editions[-1]}" if found.editions else "no table"
        if found.nothing_avoided:
            return (
                "No emissions were avoided beyond what the bins themselves give off, by the range of the "
                "published factors."
            )
        return (
            "Estimated emissions avoided against landfilling, the bins’ own taken off: "
            f"{found.shown.replace('(-', '(−')} ({edition}; our comparison, not the agency’s)."
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
                    "tables": [table(f"{SHOWN[name].capitalize()} in {int(year)}", heads, rows)],
                }
        yield from self._behind_givers(year)

    def _behind_givers(self, year: str) -> Iterator[View]:
        edition = self.edition
        found: dict[str, dict[tuple[str, str], Figures]] = {}
        for cell, figures in self.cells(year):
            if cell.stream != PRODUCT and figures.taken_in.records:
                found.setdefault(edition.giver_of(cell), {}).setdefault(
                    (cell.month, cell.stream), Figures()
                ).join(figures)
        for name, identity in edition.givers.items():
            if name in found:
                yield {
                    "id": identity,
                    "title": f"From {name}",
                    "tables": [
                        table(
                            f"Brought by {name} in {int(year)}, in {edition.writer.unit}",
                            head("Month", "Stream", ("Brought", NUMBER), ("Kept out", NUMBER)),
                            self._giver_rows(found[name], identity),
                        )
                    ],
                }

    def _giver_rows(self, heaps: dict[tuple[str, str], Figures], identity: str) -> Sequence[View]:
        edition = self.edition
        return [
            row(
                month_in_words(month),
                stream,
                edition.cell(figures.taken_in, address(month, "taken_in", stream, identity)),
                edition.cell(
                    figures.kept_out_of_landfill, address(month, "kept_out_of_landfill", stream, identity)
                ),
            )
            for (month, stream), figures in heaps.items()
        ]
