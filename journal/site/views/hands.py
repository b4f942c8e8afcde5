"""The givers, bins and plantings of a year: tables of few rows, which all the same add up to the year.

What there is no room for stands together in one row, with its sums.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TypeVar

from journal.reckoning.diversion import PRODUCT, Cell, Figure, Figures
from journal.reckoning.tally import BinFigures
from journal.site.edition import Edition
from journal.site.views.months import address
from journal.site.views.tables import NUMBER, head, link, row, table
from journal.site.wording import View, counted, month_in_words

MOST_GIVERS = 8
MOST_BINS = 6
MOST_PLANTINGS = 6

T = TypeVar("T")


def parted(ordered: Sequence[T], most: int) -> tuple[Sequence[T], Sequence[T]]:
    """Part what is to be told in at most so many rows: what has a row of its own, what shares the last."""
    return (ordered, ()) if len(ordered) <= most else (ordered[: most - 1], ordered[most - 1 :])


def is_told(figures: Figures) -> bool:
    """Whether waste came in, or any of it was thrown out again, however long after it had come in."""
    return bool(figures.taken_in.records or figures.kept_out_of_landfill.records)


class Hands:
    """Makes the tables of who and what had a hand in one year; ``cells`` are the year's."""

    def __init__(self, edition: Edition, year: str, cells: Iterable[tuple[Cell, Figures]]) -> None:
        self.edition = edition
        self.year = year
        self.waste = [
            (edition.giver_of(cell), cell, figures)
            for cell, figures in cells
            if cell.stream != PRODUCT and is_told(figures)
        ]

    # -- the printed sheet -----------------------------------------------------------------------------

    def givers(self) -> View | None:
        """Give what each giver brought in the year, the most first."""
        edition = self.edition
        heaps: dict[str, Figures] = {}
        for name, _, figures in self.waste:
            heaps.setdefault(name, Figures()).join(figures)
        ordered = sorted(heaps, key=lambda name: (-heaps[name].taken_in.value, name))
        shown, others = parted(ordered, MOST_GIVERS)
        rows = [
            row(
                name,
                edition.cell(heaps[name].taken_in, f"year-{self.year}.html#{edition.givers[name]}"),
                edition.cell(heaps[name].kept_out_of_landfill),
            )
            for name in shown
        ]
        if others:
            rest = Figures()
            for name in others:
                rest.join(heaps[name])
            rows.append(
                row(
                    link(counted(len(others), "other"), "givers.html"),
                    edition.cell(rest.taken_in),
                    edition.cell(rest.kept_out_of_landfill),
                )
            )
        heads = head("Giver", ("Brought", NUMBER), ("Kept out", NUMBER))
        return table(f"Who gave, in {edition.writer.unit}", heads, rows) if rows else None

    def bins(self) -> View | None:
        """Give what each bin got and gave in the year."""
        edition = self.edition
        found = {
            name: one
            for name, one in edition.bins_of(self.year).items()
            if one.fed.records or one.bedded.records or one.harvested.records
        }
        shown, others = parted(list(found), MOST_BINS)
        rows = [
            self._bin_row(link(edition.bin(name), edition.bin_pages.get(name, "")), found[name])
            for name in shown
        ]
        if others:
            rest = BinFigures()
            for name in others:
                rest.join(found[name])
            rows.append(self._bin_row(link(counted(len(others), "other"), "bins.html"), rest))
        heads = head("Bin", ("Fed", NUMBER), ("Bedded", NUMBER), ("Castings", NUMBER))
        return table(f"The bins, in {edition.writer.unit}", heads, rows) if rows else None

    def _bin_row(self, name: View, one: BinFigures) -> View:
        return row(name, *(self.edition.cell(figure) for figure in (one.fed, one.bedded, one.harvested)))

    def garden(self) -> View | None:
        """Give where the castings of the year went, and what was picked."""
        edition = self.edition
        found = [
            (sheet.planting.name, one)
            for sheet in edition.keeping.garden.plantings
            if (one := sheet.years.get(int(self.year))) is not None and (one.castings.records or one.crops)
        ]
        shown, others = parted(found, MOST_PLANTINGS)
        rows = []
        for name, one in shown:
            anchor = edition.planting_anchors.get(name, "")
            planting = link(edition.planting(name), f"garden.html#{anchor}")
            rows.append(row(planting, edition.cell(one.castings), self._crops(one.crops)))
        if others:
            castings, crops = Figure(), dict[str, Figure]()
            for _, one in others:
                castings.join(one.castings)
                for crop, figure in one.crops.items():
                    crops.setdefault(crop, Figure()).join(figure)
            rest = link(counted(len(others), "other"), "garden.html")
            rows.append(row(rest, edition.cell(castings), self._crops(crops)))
        heads = head("Planting", ("Castings", NUMBER), "Picked")
        return table(f"The garden, in {edition.writer.unit}", heads, rows) if rows else None

    def _crops(self, crops: Mapping[str, Figure]) -> str:
        edition = self.edition
        return ", ".join(
            f"{edition.material(crop)} {edition.writer.rough(figure.value, 2)}"
            for crop, figure in crops.items()
        )

    # -- what the year rests on ------------------------------------------------------------------------

    def behind(self) -> Iterator[View]:
        """Give, for each giver, the months in which they brought something or some of it was thrown out."""
        edition = self.edition
        found: dict[str, dict[tuple[str, str], Figures]] = {}
        for name, cell, figures in self.waste:
            heaps = found.setdefault(name, {})
            heaps.setdefault((cell.month, cell.stream), Figures()).join(figures)
        heads = head("Month", "Stream", ("Brought", NUMBER), ("Kept out", NUMBER))
        for name, identity in edition.givers.items():
            if name in found:
                rows = [
                    self._behind_row(month, stream, figures, identity)
                    for (month, stream), figures in found[name].items()
                ]
                caption = f"From {name} in {int(self.year)}, in {edition.writer.unit}"
                yield {"id": identity, "title": f"From {name}", "tables": [table(caption, heads, rows)]}

    def _behind_row(self, month: str, stream: str, figures: Figures, identity: str) -> View:
        return row(
            month_in_words(month),
            stream,
            *(
                self.edition.cell(getattr(figures, name), address(month, name, stream, identity))
                for name in ("taken_in", "kept_out_of_landfill")
            ),
        )
