"""Avoided emissions in plain sentences, and all they are worked out from, so that it can be checked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from journal.notes.materials import Range
from journal.reckoning.footprint import UNIT, Footprint, FootprintLine
from journal.reckoning.movements import DUST
from journal.reckoning.references import SHORT_TON, FactorTable, RowUse
from journal.reckoning.spans import Span, sum_of
from journal.site.edition import Edition
from journal.site.views.published import Published
from journal.site.views.tables import head, link, row, span_words, table
from journal.site.wording import View, listed, significant

PER_TON = 1000.0 / SHORT_TON
"""How many kg CO₂e per kg are a metric ton CO₂e per short ton."""


def nothing_claimed(found: Footprint) -> str:
    """Say in a sentence why no avoided emissions are claimed; nothing where some are."""
    if found.counted_kg == 0:
        if found.unknown_kg <= 0:
            return "No emissions were avoided: nothing used here would have been landfilled or burned."
        if found.unknown_kg >= found.kg - DUST:
            return (
                "No avoided emissions are claimed: nobody knows what would have become of the waste "
                "used here otherwise."
            )
        return (
            "No avoided emissions are claimed: of some of the waste used here nobody knows what would "
            "have become of it, and none of the rest would have been landfilled or burned."
        )
    if not found.nothing_avoided:
        return ""
    if found.counted_kg < 0:
        return (
            "No avoided emissions are claimed: more of what had come in earlier left again, thrown out or "
            "passed on, than came in to be used."
        )
    if any(line.mass.value * line.counted < -DUST for line in found.lines):
        return (
            "No emissions were avoided on balance, with what the bins themselves give off and what left "
            "again of what had come in earlier."
        )
    return (
        "No emissions were avoided beyond what the bins themselves give off, by the range of the published "
        "factors."
    )


def not_claimed_for(found: Footprint) -> str:
    """Say that of some of the waste nobody knows the fate, where something is claimed for the rest."""
    if found.unknown_kg > DUST and not nothing_claimed(found):
        return " Where nobody knows what would have become of waste otherwise, nothing is claimed for it."
    return ""


def shown(found: Footprint) -> str:
    """Give the figure with its range, with a true minus."""
    return found.shown.replace("(-", "(−")


def avoided_in(found: Footprint | None) -> str:
    """Say what a year may have avoided, with its range and table, in as few words as a printed sheet has."""
    if found is None:
        return ""
    edition = f"US EPA Table 9, {found.editions[-1]}" if found.editions else "no table"
    return nothing_claimed(found) or (
        "Estimated emissions avoided against landfilling, the bins’ own taken off: "
        f"{shown(found)} ({edition}; our comparison, not the agency’s)."
    )


def net_of(found: Footprint) -> Span:
    """Give a year's avoided emissions as they add up; below nothing where they are taken back."""
    return sum_of((line.avoided for line in found.lines), UNIT)


class Avoided:
    """Makes the block of avoided emissions of one edition, and the tables of its factors."""

    def __init__(self, edition: Edition, published: Published) -> None:
        self.edition = edition
        self.published = published
        self.factors = edition.keeping.references.factors

    def view(self) -> View | None:
        """Give avoided emissions in a block of their own: range, baseline, what the bin gives off."""
        found = self.edition.keeping.footprint
        if found is None:
            return None
        claimed = (
            f"Estimated: {shown(found)}, since the start, against the landfill it would have gone to, the "
            "bins’ own emissions taken off. Two figures at most hold; the range comes from the published "
            f"factors, not from the scale.{not_claimed_for(found)}"
        )
        return {
            "words": nothing_claimed(found) or claimed,
            "table": self.years(),
            "statements": list(found.statements),
            "stand_ins": [
                f"{self.edition.material(material)}: {name}, {why}" for material, name, why in found.stand_ins
            ],
        }

    def years(self) -> View:
        """Give what each year would have given off, what the bins give off for it, and what is left."""
        footprints = self.edition.keeping.footprints
        rows, below = [], False
        for year, one in sorted(footprints.items(), reverse=True):
            taken_back = one.counted_kg < 0 and one.nothing_avoided
            below = below or taken_back
            rows.append(
                row(
                    link(str(year), f"year-{year:04d}.html"),
                    span_words(self.edition, one.landfill),
                    span_words(self.edition, one.bin),
                    span_words(self.edition, net_of(one) if taken_back else one.avoided),
                    listed(list(one.editions)),
                )
            )
        heads = head(
            "Year", "Otherwise it would give off", "The bins give off for that part", "Avoided", "Edition"
        )
        caption = (
            "In kg CO₂e, low to high in brackets, for the part that would have been landfilled or burned"
        )
        if below:
            caption += (
                ". Below nothing stands what is taken back of earlier years, whose waste was thrown out or "
                "passed on"
            )
        return table(caption, heads, rows)

    # -- what it is worked out from --------------------------------------------------------------------

    def factors_used(self) -> View | None:
        """Give the factors in use as printed: rows, their materials, what bounds them, and the bin’s."""
        found = self.edition.keeping.footprint
        if found is None:
            return None
        alike: dict[tuple[RowUse, bool], list[str]] = {}
        for name, lines in self._by_material(found.lines).items():
            use = self._use_of(name)
            if use is not None and use.counts and use.row:
                materials = alike.setdefault((use._replace(of=""), self._may_be_burned(lines)), [])
                if (words := self.edition.material(name)) not in materials:
                    materials.append(words)
        burned = any(burns for _, burns in alike)
        rows = [
            row(
                link(use.row, "", f"{'stand-in: ' if use.stand_in else ''}{use.why}"),
                listed(sorted(materials)),
                self._printed(use.row, "landfilled"),
                self._bounds(use, "landfilled"),
                *([self._printed(use.row, "combusted") if burns else ""] if burned else []),
                self._given_off(use),
            )
            for (use, burns), materials in sorted(alike.items(), key=lambda one: (one[0][0].row, one[1]))
        ]
        heads = head(
            "Row of the table", "Serves for", "Landfilled", "Rows that bound it",
            *(["Burned"] if burned else []), "In the bin",
        )  # fmt: skip
        caption = (
            "Emission factors in use, by edition of the table, as printed: t CO₂e per short ton "
            f"(1 is {significant(PER_TON, 4)} kg CO₂e per kg)"
        )
        return table(caption, heads, rows) if rows else None

    def bin_emissions(self) -> View | None:
        """Give what a bin gives off by itself, from gases and potentials to kg CO₂e per kg, each sourced."""
        found = self.edition.keeping.footprint
        if found is None:
            return None
        rows = [*self._defaults(), *self._stand_ins(found), *self._editions(found)]
        caption = "What a bin gives off per kg of wet waste, and what the gases are weighed with"
        return table(caption, head("What", "Low, typical, high", "Source"), rows)

    def _defaults(self) -> Iterator[View]:
        home = self.factors.home_bin
        potentials = self.factors.potentials[home.potentials]
        for what, gas in (("Methane", home.methane), ("Nitrous oxide", home.nitrous_oxide)):
            yield row(f"{what}, g per kg", self.published.range_words(gas, 0.001), self._source_of(gas))
        yield row(
            f"100-year warming potentials, {potentials.name}",
            f"methane {self._number(potentials.methane)}, nitrous oxide "
            f"{self._number(potentials.nitrous_oxide)}",
            self.published.source(potentials.source, potentials.where, potentials.checked),
        )
        both = self.factors.bin_emissions()
        yield row("Both gases, kg CO₂e per kg", self.published.range_words(both), self._source_of(both))

    def _stand_ins(self, found: Footprint) -> Iterator[View]:
        """Give what stands in for a material that no default was made for: paper, in the main."""
        uses = [use for name in self._by_material(found.lines) if (use := self._use_of(name)) is not None]
        for name in sorted({use.home_bin for use in uses if use.counts and use.home_bin != "IPCC"}):
            materials = "paper" if name == "Mixed organics" else "what no default was made for"
            for edition in found.editions:
                works = self.factors.tables[edition]
                composted = works.per_kilogram(name, "composted")
                if composted is None:
                    continue
                both = self.factors.bin_emissions()
                ends = Range(min(both.low, composted), composted, max(both.high, composted), works.source)
                yield row(
                    f"For {materials}, kg CO₂e per kg, a stand-in: “{name}”, composted, {edition}",
                    self.published.range_words(ends),
                    self.published.source(
                        works.source,
                        f"{works.where}: {self._printed_in(works, name, 'composted')} t per short ton; the "
                        "ends are those above",
                        works.checked,
                    ),
                )

    def _editions(self, found: Footprint) -> Iterator[View]:
        """Give each edition of the table in use, with the potentials that it weighs gases with."""
        for edition in found.editions:
            works = self.factors.tables[edition]
            weighed = self.factors.potentials.get(works.potentials)
            words = works.potentials
            if weighed is not None:
                words += (
                    f": methane {self._number(weighed.methane)}, nitrous oxide "
                    f"{self._number(weighed.nitrous_oxide)}"
                )
            yield row(
                f"The table of landfilled and burned waste, edition {edition}, weighs with",
                words,
                self.published.source(works.source, works.where, works.checked),
            )

    @staticmethod
    def _by_material(lines: Iterable[FootprintLine]) -> Mapping[str, list[FootprintLine]]:
        found: dict[str, list[FootprintLine]] = {}
        for line in lines:
            found.setdefault(line.material, []).append(line)
        return found

    def _use_of(self, name: str) -> RowUse | None:
        material = self.edition.notes.catalogue.materials.get(name)
        return None if material is None else self.factors.use_of(material)

    def _may_be_burned(self, lines: Iterable[FootprintLine]) -> bool:
        household = self.edition.household
        return any(household.shares(line.giver, line.stream).get("combustion", 0.0) > 0 for line in lines)

    def _printed(self, name: str, fate: str) -> str:
        """Give a row's figure as each edition in use prints it."""
        found = self.edition.keeping.footprint
        editions = () if found is None else found.editions
        return "; ".join(
            f"{edition}: {self._printed_in(self.factors.tables[edition], name, fate)}" for edition in editions
        )

    @staticmethod
    def _printed_in(works: FactorTable, name: str, fate: str) -> str:
        return works.printed.get(works.row_here(name), {}).get(fate, "NA")

    def _bounds(self, use: RowUse, fate: str) -> str:
        """Give the rows that a factor's ends come from, where they are others than its own."""
        ends = dict.fromkeys(name for name in (use.low, use.high) if name != use.row)
        return " · ".join(f"{name} {self._printed(name, fate)}" for name in ends)

    def _given_off(self, use: RowUse) -> str:
        """Say what a material gives off in the bin: by the defaults, or by a row that stands in."""
        if use.home_bin == "IPCC":
            return "IPCC defaults"
        return f"{use.home_bin}, composted, stands in: {self._printed(use.home_bin, 'composted')}"

    def _source_of(self, known: Range) -> View:
        return self.published.source(known.source, known.where, known.checked)

    def _number(self, value: float) -> str:
        return self.edition.writer.number(f"{value:g}")
