"""How each figure is worked out: rules, doubt, what is inferred, avoided emissions, limits, cautions."""

from __future__ import annotations

from collections.abc import Iterator

from journal.reckoning.diversion import causes
from journal.reckoning.tally import OURSELVES
from journal.site.edition import Edition
from journal.site.views.avoided import Avoided
from journal.site.views.published import Published
from journal.site.views.tables import NUMBER, cautions, head, lines_behind, link, row, table
from journal.site.wording import View, counted, listed, percent, significant, slug

MOST_CAUSES = 8
RULES = (
    (
        "Counted once, at the door",
        (
            "Waste counts when it first arrives: taken in, shredded, recycled, donated, or fed, "
            "bedded and mixed straight from the kitchen. When it moves on it is not counted again. "
            "What is used draws on what is on hand, oldest first, and keeps its giver; what is used "
            "beyond that is taken to be the household’s own, arriving that day."
        ),
    ),
    (
        "Three figures, never mixed up",
        (
            "Taken in is all waste that arrived. Kept out of landfill is the part of it that would "
            "have been landfilled, less what was thrown out again. In use here is what stayed, "
            "whatever its fate otherwise. Castings, bought supplies and what goes round inside are "
            "never counted as waste."
        ),
    ),
    (
        "Doubt",
        (
            "A weighed amount is known to half of the last digit written. “About” means give or take "
            "a quarter unless the household says otherwise, a range its half-width. A volume becomes "
            "mass by a bulk density, and all lines that use that density share its doubt. "
            "Independent doubts add in quadrature, shared ones linearly (JCGM 100:2008, 5.1.2 and "
            "5.2.2). What stands behind ± is the expanded doubt, k = 2, and no figure has more "
            "digits than it carries."
        ),
    ),
    (
        "Carbon, nitrogen, water",
        (
            "The carbon to nitrogen of a mix is Σ Q·C·(100 − M) ÷ Σ Q·N·(100 − M), its moisture Σ "
            "Q·M ÷ Σ Q: a mass balance over wet mass Q, moisture M and the carbon C and nitrogen N "
            "of the dry matter (On-Farm Composting Handbook, NRAES-54, 1992). Ratios are never "
            "averaged."
        ),
    ),
)


class ReckoningPage:
    """Makes the view of the reckoning page of one edition."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.published = Published(edition)
        self.avoided = Avoided(edition, self.published)

    def view(self) -> View:
        """Give everything on the reckoning page."""
        edition = self.edition
        tables = {
            "measures": self.measures(),
            "materials": self.published.materials(),
            "worms": self.published.worms(),
            "factors": self.avoided.factors_used(),
            "bin_emissions": self.avoided.bin_emissions(),
            "nutrients": self.published.nutrients(),
            "comparisons": self.published.comparisons(),
        }
        return {
            **edition.frame(
                "reckoning.html",
                f"Reckoning · {edition.site['name']}",
                f"How every figure of {edition.site['name']} is worked out, with its sources and limits.",
            ),
            "rules": [{"title": title, "text": text, "id": slug(title)} for title, text in RULES],
            "fates": self.fates(),
            "doubt": self.doubt(),
            "inferred": self.inferred(),
            "footprint": self.avoided.view(),
            **tables,
            "limits": list(self.limits()),
            "cautions": self.all_cautions(),
            "sources": self.published.sources(),
        }

    def fates(self) -> View | None:
        """Give what would have become of the waste, by giver and stream, as the household says."""
        edition = self.edition
        household = edition.household
        seen = sorted(
            {
                (edition.giver_of(cell), cell.stream, cell.giver)
                for cell, figures in edition.tally.diversion.cells.items()
                if figures.taken_in.records
            },
            key=lambda one: (list(edition.givers).index(one[0]), one[1], one[2] or ""),
        )
        rows = []
        for name, stream, giver in seen:
            shares = household.shares(giver, stream)
            words = listed(
                [
                    f"{fate} {percent(share)}" if share < 1 else fate
                    for fate, share in shares.items()
                    if share > 0
                ]
            )
            one = row(link(name, f"givers.html#{edition.givers[name]}"), stream, words)
            if one not in rows:
                rows.append(one)
        return (
            table(
                "What would have become of it otherwise, as the household says",
                head("Giver", "Stream", "Otherwise"),
                rows,
            )
            if rows
            else None
        )

    def doubt(self) -> View | None:
        """Break the doubt of the newest year down by cause, so that it is seen what weighing would help."""
        edition = self.edition
        if not edition.years or edition.years[-1] not in edition.tally.years:
            return None
        figure = edition.tally.years[edition.years[-1]].kept_out_of_landfill
        rows = [
            row(edition.cause(name), percent(share))
            for name, share in list(causes(figure).items())[:MOST_CAUSES]
        ]
        caption = f"Where the doubt of {int(edition.years[-1])} comes from, as parts of its square"
        return table(caption, head("Cause", ("Part", NUMBER)), rows) if rows else None

    def inferred(self) -> View:
        """Say how much was taken to be the household's own because nothing was on hand."""
        figure = self.edition.tally.inferred
        words = (
            (
                f"{self.edition.writer.in_words(figure)} was used without a line that says where it came "
                f"from, and is taken to be the household’s own ({counted(figure.lines, 'line')})."
            )
            if figure.records
            else "Nothing was inferred: every amount used was noted at the door."
        )
        return {
            "words": words,
            "lines": lines_behind(self.edition, figure.behind[-60:]) if figure.records else None,
        }

    def measures(self) -> View | None:
        """Give the household's own measures, and how often each was weighed."""
        edition, number = self.edition, self.edition.writer.number
        rows = []
        for name, measure in edition.household.measures.items():
            if measure.kind == "mass":
                holds: View | str = edition.writer.weight(measure.holds)
            else:
                holds = (
                    f"{number(significant(measure.holds.value, 3))} L "
                    f"({number(significant(measure.holds.value / 3.785411784, 3))} gal)"
                )
            weighed = f"weighed {counted(measure.weighings, 'time')}"
            rows.append(row(edition.said(name), holds, "as given" if measure.kind == "volume" else weighed))
        return (
            table("The household’s own measures", head("Measure", "Holds", "How known"), rows)
            if rows
            else None
        )

    def limits(self) -> Iterator[str]:
        """Say what the figures cannot say."""
        edition = self.edition
        yield (
            "These are a household’s own notes. Nobody else has checked the scale, the sums of the "
            "diary or what was left unwritten."
        )
        yield "The weights are of what was logged, not of all that the household wastes."
        yield (
            "Worms in a bin are never weighed; their mass is a range from what was added, and growth "
            "is capped by the bin’s surface."
        )
        yield (
            "What is missing from a bin’s account left as water and gas, or is still in it. It is "
            "shown, not hidden."
        )
        if edition.household.footprint:
            yield (
                "Avoided emissions compare two rows of a table made for inventories; that comparison is "
                "ours. They are never set off against anything."
            )
        private = sum(1 for entry in edition.notes.entries if edition.discretion.level(entry) == "amounts")
        if private:
            yield (
                f"{counted(private, 'entry is', 'entries are')} kept back: the amounts count and their "
                "dates stand here, the words do not."
            )
        if any(name != OURSELVES for name in edition.givers):
            yield "Givers stand under the name they agreed to, or none."

    def all_cautions(self) -> list[View]:
        """Give every warning that this journal calls for."""
        told: dict[str, View] = {}
        for page in ("bins", "bedding", "garden", "givers"):
            for one in cautions(self.edition, page):
                told.setdefault(one["title"], one)
        return list(told.values())
