"""The published figures that a journal rests on, as tables: each with its source and how it was checked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from journal.notes.materials import Material, Range
from journal.reckoning.readings import kinds_of
from journal.reckoning.references import Band
from journal.site.edition import Edition
from journal.site.views.tables import NUMBER, head, link, row, span_words, table
from journal.site.wording import UNBROKEN, View, percent, significant, slug

CHECKED = {
    "seen": "read in the source",
    "seen in the official workbook": "read in the official workbook",
    "seen in a copy": "read in a copy",
    "seen second-hand": "read second-hand",
    "seen, weak source": "read, weak source",
    "computed": "worked out",
    "common practice, no published source": "common practice, no published source",
    "from memory": "from memory; nobody looked it up",
}
LONGEST_TITLE = 60


class Published:
    """Makes the tables of published figures of one edition, and remembers which works they name."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.references = edition.keeping.references
        self.used_sources: dict[str, None] = {}

    def source(self, key: str, where: str, checked: str) -> View:
        """Give where a figure stands: its work, the place in it, how it was checked."""
        if key in self.references.sources:
            self.used_sources[key] = None
            work = self.references.sources[key]
            title = (
                work.title
                if len(work.title) < LONGEST_TITLE
                else f"{work.title[: LONGEST_TITLE - 2].rsplit(' ', 1)[0]} …"
            )
            return link(
                title,
                f"#source-{slug(key)}",
                f"{where}{'; ' if where else ''}{CHECKED.get(checked, checked)}",
            )
        return link(
            key or "household.yaml", "", f"{where}{'; ' if where else ''}{CHECKED.get(checked, checked)}"
        )

    def materials(self) -> View | None:
        """Give the figures of every material the journal speaks of, each with its source."""
        edition = self.edition
        rows = [
            one
            for name in sorted(edition.open_words)
            if (material := edition.notes.catalogue.materials.get(name)) is not None
            for one in self._material_rows(material)
        ]
        heads = head("Material", "What", "Low, typical, high", "Source")
        return table("The materials of this journal", heads, rows) if rows else None

    def _material_rows(self, material: Material) -> Iterator[View]:
        named = (
            ("moisture, % of wet mass", material.moisture),
            ("nitrogen, % of dry mass", material.nitrogen),
            ("carbon, % of dry mass", material.carbon),
            ("density, kg/L", material.density),
            ("one weighs, g", material.each),
        )
        first = True
        for what, known in named:
            if known is None:
                continue
            size = 0.001 if known is material.each else 1.0
            name = self.edition.said(material.name)
            yield row(
                {"words": name, "href": "", "small": material.stream, "id": f"material-{slug(name)}"}
                if first
                else name,
                what,
                self.range_words(known, size),
                self.source(known.source, known.where, known.checked),
            )
            first = False

    def range_words(self, known: Range, size: float = 1.0) -> str:
        """Give a range as three numbers, or one where all are equal."""
        numbers = [
            self.edition.writer.number(significant(one / size, 3))
            for one in (known.low, known.typical, known.high)
        ]
        return numbers[0] if len(set(numbers)) == 1 else ", ".join(numbers)

    def worms(self) -> View | None:
        """Give the bands that readings are held against, for the worms of this household."""
        worms = self.references.worms
        bins = self.edition.household.bins.values()
        kinds = {kind.name: kind for one in bins for kind in kinds_of(one, worms)[0]}
        rows = [
            row(
                kind.name,
                band.quantity,
                self.band_words(band),
                self.source(band.source, band.where, band.checked),
            )
            for kind in kinds.values()
            for band in (kind.temperature, kind.moisture, kind.acidity)
        ]
        heads = head("Worms", "Reading", "Bottom, good from, good to, top", "Source")
        return table("Where worms do well", heads, rows) if rows else None

    def band_words(self, band: Band) -> str:
        """Give a band's four limits with their unit."""
        ends = [significant(one, 3) for one in (band.bottom, band.low, band.high, band.top)]
        unit = {"temperature": f"{UNBROKEN}°C", "moisture": f"{UNBROKEN}%"}.get(band.quantity, "")
        return ", ".join(self.edition.writer.number(end) for end in ends) + unit

    def nutrients(self) -> View | None:
        """Give the published analyses of castings."""
        found = self.references.nutrients
        rows = [
            row(
                material,
                nutrient.name,
                self.range_words(nutrient.content),
                self.source(nutrient.content.source, nutrient.content.where, nutrient.content.checked),
            )
            for material, contents in found.contents.items()
            for nutrient in contents.values()
        ]
        heads = head("Material", "Nutrient, % of dry mass", "Low, typical, high", "Source")
        return table("Nutrients, total content", heads, rows) if rows else None

    def comparisons(self) -> View | None:
        """Set the household beside published averages, each with its year and scope."""
        found = self.edition.keeping.comparisons
        if found is None or not found.beside:
            return None
        rows = []
        for one in found.beside:
            comparison = one.comparison
            share = "" if one.share is None else percent(one.share.typical)
            rows.append(
                row(
                    link(comparison.what, "", f"{comparison.year}, {comparison.scope}"),
                    comparison.printed,
                    self.edition.writer.rough(one.kg_per_week, 2),
                    share,
                    self.source(comparison.source, comparison.where, comparison.checked),
                )
            )
        writer = self.edition.writer
        person = ""
        if found.per_person_week is not None:
            ours = span_words(self.edition, found.per_person_week, writer.own[1], writer.unit)
            person = f"; here {ours} a person and week of our own waste are kept out of landfill"
        heads = head("What is averaged", "As printed", ("A week", NUMBER), ("Ours is", NUMBER), "Source")
        return table(f"Beside published averages, per person{person}", heads, rows)

    def sources(self) -> list[View]:
        """Give the works that the figures above come from, each with its anchor."""
        works: Sequence[str] = [key for key in self.references.sources if key in self.used_sources]
        return [
            {
                "id": f"source-{slug(key)}",
                "words": self.references.sources[key].citation,
                "note": self.references.sources[key].note,
            }
            for key in works
        ]
