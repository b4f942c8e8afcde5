"""Batches of bedding and slurry: recipe, C:N, moisture, rest, whose paper is in them, where they went."""

from __future__ import annotations

from collections.abc import Iterator

from journal.reckoning.batches import BatchSheet
from journal.reckoning.tally import OURSELVES
from journal.site.edition import Edition
from journal.site.views.months import account_in_words
from journal.site.views.tables import NUMBER, cautions, head, lines_behind, link, row, span_words, table
from journal.site.wording import View, counted, day_in_words, isolated, listed, percent

DETAILED = 24
"""So many of the newest batches are told in full; older ones stand in the table."""

MOST_ROWS = 150
"""So many of the newest batches stand in the table."""

STATES = {
    "resting": "resting",
    "ready": "ready to use",
    "better": "well rested",
    "in use": "in use",
    "used up": "used up",
}


class BeddingPage:
    """Makes the view of the bedding page of one edition."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.sheets = list(reversed(edition.keeping.batches))

    def view(self) -> View:
        """Give everything on the bedding page."""
        edition = self.edition
        household = edition.household
        rest = (
            f"Bedding rests after mixing: it is taken to be ready from {household.bedding_ready_days} days "
            f"and better by {household.bedding_better_days} (common practice, no published source; the "
            "household can set both)."
        )
        return {
            **edition.frame(
                "bedding.html",
                f"Bedding · {edition.site['name']}",
                (
                    f"Batches of bedding mixed by {edition.site['name']}, with their carbon to nitrogen, "
                    "moisture and rest."
                ),
            ),
            "under": self.under(),
            "rest": rest,
            "batches": self.overview(),
            "sheets": [self.sheet(sheet) for at, sheet in enumerate(self.sheets) if self.is_told(sheet, at)],
            "cautions": cautions(edition, "bedding"),
        }

    def is_told(self, sheet: BatchSheet, at: int) -> bool:
        """Whether a batch is told in full: a new one, and mixed in an entry whose lines are shown."""
        mixing = self.edition.tally.ledger.batches[sheet.name].record
        return at < DETAILED and not self.edition.is_closed(mixing)

    def under(self) -> str:
        """Say how many batches there were and how they stand."""
        if not self.sheets:
            return "No batch is mixed yet."
        states: dict[str, int] = {}
        for sheet in self.sheets:
            states[sheet.state] = states.get(sheet.state, 0) + 1
        told = [f"{number} {STATES[state]}" for state, number in states.items()]
        return f"{counted(len(self.sheets), 'batch', 'batches')}: {listed(told)}."

    def overview(self) -> View | None:
        """Give all batches in one table, the newest first."""
        edition = self.edition
        rows = [
            row(
                link(
                    edition.batch(sheet.name),
                    f"#{edition.batch_anchors[sheet.name]}" if self.is_told(sheet, at) else "",
                    sheet.kind,
                ),
                day_in_words(sheet.mixed),
                edition.cell(sheet.made),
                self.ratio(sheet),
                self.moisture(sheet),
                STATES[sheet.state],
                edition.cell(sheet.left),
                identity="" if self.is_told(sheet, at) else edition.batch_anchors[sheet.name],
            )
            for at, sheet in enumerate(self.sheets[:MOST_ROWS])
        ]
        heads = head("Batch", "Mixed", ("Made", NUMBER), "C:N", "Moisture", "State", ("Left", NUMBER))
        older = len(self.sheets) - len(rows)
        caption = (
            f"The newest {len(rows)} batches; {older} older ones stand in their months"
            if older
            else "All batches"
        )
        return table(f"{caption}, in {edition.writer.unit}", heads, rows) if rows else None

    def ratio(self, sheet: BatchSheet) -> str:
        """Give a batch's carbon to nitrogen as a range."""
        return span_words(self.edition, sheet.blend.carbon_nitrogen)

    def moisture(self, sheet: BatchSheet) -> str:
        """Give a batch's moisture as a range."""
        known = sheet.blend.moisture
        return span_words(self.edition, known, unit="%" if known is not None else "")

    def sheet(self, sheet: BatchSheet) -> View:
        """Give one batch in full."""
        edition = self.edition
        recipe = [
            row(
                link(
                    edition.material(material),
                    f"#{edition.batch_anchors[material]}" if material in edition.batch_anchors else "",
                ),
                edition.cell(figure, both=True),
            )
            for material, figure in sheet.recipe
        ]
        return {
            "id": edition.batch_anchors[sheet.name],
            "name": edition.batch(sheet.name),
            "kind": sheet.kind,
            "facts": list(self.facts(sheet)),
            "recipe": table(
                f"Recipe of {edition.batch(sheet.name)}, in {edition.writer.unit}",
                head("Ingredient", (edition.writer.unit, NUMBER)),
                recipe,
                other=True,
            ),
            "lines": lines_behind(edition, sheet.records),
        }

    def facts(self, sheet: BatchSheet) -> Iterator[View]:
        """Give what is reckoned of a batch."""
        edition = self.edition
        yield {
            "words": "State",
            "value": (
                f"{STATES[sheet.state]}; mixed {day_in_words(sheet.mixed)}, ready from "
                f"{day_in_words(sheet.ready_on)}, better from {day_in_words(sheet.better_on)}"
            ),
        }
        yield {
            "words": "Made",
            "value": edition.writer.in_words(sheet.made)
            + (
                f", after {edition.writer.in_words(sheet.drained)} drained off"
                if sheet.drained.records
                else ""
            ),
        }
        for words, value, what in (
            ("Carbon to nitrogen", f"{self.ratio(sheet)} to 1", "carbon_nitrogen"),
            ("Moisture", self.moisture(sheet), "moisture"),
        ):
            widest = sheet.blend.dominant(what)
            because = f"; the range of {edition.material(widest)} widens it most" if widest else ""
            yield {"words": words, "value": f"{value}{because}"}
        unknown = sorted({edition.material(name) for names in sheet.blend.unknown.values() for name in names})
        if unknown:
            left_out = listed([isolated(name) for name in unknown])
            yield {"words": "Left out for want of figures", "value": left_out}
        if sheet.diverted_share > 0:
            givers = [
                (OURSELVES if one.giver is None else edition.discretion.giver(one.giver), one.kg)
                for one in sheet.holdings
            ]
            sums: dict[str, float] = {}
            for name, kg in givers:
                sums[name] = sums.get(name, 0.0) + kg
            told = [f"{isolated(name)} {edition.writer.rough(kg, 2)}" for name, kg in sums.items()]
            yield {
                "words": "Of it kept out of waste",
                "value": f"{percent(sheet.diverted_share)}, from {listed(told)}",
            }
        went = [
            f"{account_in_words(edition, one.account)} {edition.writer.rough(one.mass.value, 2)}"
            for one in sheet.destinations
        ]
        yield {
            "words": "Went to",
            "value": f"{listed(went) or 'nowhere yet'}; left: {edition.writer.in_words(sheet.left)}",
        }
