"""Castings in the garden: what was spread where, its nutrients as ranges, what was picked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from journal.reckoning.garden import PlantingSheet, PlantingYear, StandIn
from journal.reckoning.spans import Span
from journal.site.edition import Edition
from journal.site.views.castings_drawn import castings_drawn
from journal.site.views.tables import NUMBER, by_area, cautions, head, link, row, span_words, table
from journal.site.wording import UNBROKEN, View, counted, isolated, listed

NUTRIENTS = {"N": "N", "P2O5": "P₂O₅", "K2O": "K₂O"}
MOST_ROWS = 400
"""So many rows at most all plantings' tables have together, and each planting at least the fewest."""

LEAST_ROWS = 3


class GardenPage:
    """Makes the view of the garden page of one edition."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.garden = edition.keeping.garden
        self.told = [
            sheet
            for sheet in self.garden.plantings
            if sheet.since_start.castings.records or sheet.since_start.crops or sheet.since_start.others
        ]

    def view(self) -> View:
        """Give everything on the garden page."""
        edition = self.edition
        return {
            **edition.frame(
                "garden.html",
                f"Garden · {edition.site['name']}",
                f"Worm castings spread by {edition.site['name']}, planting by planting.",
            ),
            "under": self.under(),
            "store": list(self.store()),
            "chart": castings_drawn(edition),
            "plantings": [self.planting(sheet) for sheet in self.told],
            "nutrients": self.nutrients(),
            "stands_in": self.stands_in(),
            "statement": self.garden.statement,
            "cautions": cautions(edition, "garden"),
        }

    def under(self) -> str:
        """Say how many plantings got castings."""
        fed = [sheet for sheet in self.told if sheet.since_start.castings.records]
        if not fed:
            return "No castings are spread yet."
        return f"{counted(len(fed), 'planting')} got castings from the bins."

    def store(self) -> Iterator[View]:
        """Give the account of the castings store."""
        edition, store = self.edition, self.edition.keeping.castings
        for words, figure in (
            ("harvested", store.harvested),
            ("bought or brought", store.arrived),
            ("used beyond what was in store", store.beyond),
            ("spread", store.spread),
            ("mixed into slurry or bedding", store.mixed),
            ("returned to a bin", store.returned),
            ("given away", store.given),
            ("thrown out", store.thrown_out),
        ):
            if figure.records:
                yield {"words": words, "figure": edition.figure(figure)}
        yield {"words": "in store", "figure": edition.figure(store.left)}

    def planting(self, sheet: PlantingSheet) -> View:
        """Give one planting: by year what it got, its nutrients, what was picked."""
        edition, planting = self.edition, sheet.planting
        most = max(LEAST_ROWS, MOST_ROWS // len(self.told))
        rows = [
            self._row(link(str(year), f"year-{year:04d}.html#castings-spread"), one)
            for year, one in sorted(sheet.years.items(), reverse=True)[:most]
        ]
        foot = self._row("Since the start", sheet.since_start) if len(rows) > 1 else None
        unit = edition.writer.unit
        kind = "" if planting.name in edition.kept_back else edition.said(planting.kind)
        heads = head(
            "Year",
            (f"Castings, {unit}", NUMBER),
            "N, P₂O₅ and K₂O in them, total",
            self._rate_head(sheet),
            "Also spread",
            "Picked",
        )
        caption = f"{edition.planting(planting.name)}, year by year"
        if len(sheet.years) > most:
            caption += ", the newest; earlier ones are in the sum"
        return {
            "id": edition.planting_anchors[planting.name],
            "name": edition.planting(planting.name),
            "kind": kind[:1].upper() + kind[1:],
            "years": table(caption, heads, rows, foot),
        }

    def _row(self, name: View | str, one: PlantingYear) -> View:
        writer = self.edition.writer
        others = [
            f"{isolated(self.edition.material(other))} {writer.rough(figure.value, 2)}"
            for other, figure in one.others.items()
        ]
        crops = [
            f"{isolated(self.edition.material(crop))} {writer.in_words(figure)}"
            for crop, figure in one.crops.items()
        ]
        return row(
            name,
            self.edition.cell(one.castings),
            self.nutrient_words(one.nutrients),
            self._rate(one),
            listed(others),
            listed(crops),
        )

    def _rate_head(self, sheet: PlantingSheet) -> str:
        if sheet.planting.trees:
            return "A tree"
        return "An area"

    def _rate(self, one: PlantingYear) -> str:
        if one.per_tree is not None:
            return span_words(
                self.edition, one.per_tree, self.edition.writer.own[1], f"{self.edition.writer.unit} each"
            )
        return "" if one.per_area is None else by_area(self.edition, one.per_area)

    def nutrient_words(self, found: Mapping[str, Span]) -> str:
        """Give nutrients as ranges: ``N 0.1 to 0.3, P₂O₅ …``."""
        size, unit = self.edition.writer.own[1], self.edition.writer.unit
        told = [
            f"{NUTRIENTS[name]} {self.edition.writer.span(span.low, span.high, size)}"
            for name, span in found.items()
            if span.high > 0
        ]
        return f"{', '.join(told)}{UNBROKEN}{unit}" if told else ""

    def nutrients(self) -> str:
        """Say what all castings spread brought, as ranges of published analyses."""
        words = self.nutrient_words(self.garden.nutrients)
        return (
            (
                f"All that was spread since the start held {words} by published analyses: total contents, "
                "not what plants can take up in a season. Labels of worm castings range so widely that "
                "no single figure holds."
            )
            if words
            else ""
        )

    def stands_in(self) -> str:
        """Say what bagged fertiliser holds as much nitrogen, and its price where the household gives one."""
        found: StandIn | None = self.garden.stands_in_for
        if found is None:
            return ""
        writer = self.edition.writer
        basis = (
            "the analysis of the household’s own bag"
            if found.analysis_given
            else "bags of 3 to 10 per cent nitrogen (common practice, no published source)"
        )
        words = (
            f"As much nitrogen as in {writer.weight_span(found.bag.low, found.bag.high)} of bagged "
            f"fertiliser, by {basis}; in the first year plants get perhaps what "
            f"{writer.weight_span(found.bag_first_year.low, found.bag_first_year.high)} would give."
        )
        if found.money is not None and found.money_first_year is not None:
            words += (
                f" At the household’s price that is {found.currency} "
                f"{writer.span(found.money.low, found.money.high)}, in the first year "
                f"{writer.span(found.money_first_year.low, found.money_first_year.high)}."
            )
        castings = self.garden.castings_money
        if castings is not None and castings.typical > 0:
            words += (
                f" Bought at the household’s price for castings, what was spread would have cost "
                f"{castings.unit} {writer.span(castings.low, castings.high)}."
            )
        return words
