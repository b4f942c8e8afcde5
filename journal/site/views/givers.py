"""What each giver brought and where it went, as far as sharing allows."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from journal.measures.doubt import Sum
from journal.reckoning.diversion import PRODUCT, Cell, Figures
from journal.reckoning.tally import OURSELVES
from journal.site.edition import Edition
from journal.site.views.drawn import Charts
from journal.site.views.hands import is_told
from journal.site.views.months import account_in_words
from journal.site.views.tables import NUMBER, by_stream, cautions, caveats, head, link, row, table
from journal.site.views.whereabouts import Whereabouts
from journal.site.wording import View, counted, listed, percent

PAPER = " paper"
NAMES = ("taken_in", "kept_out_of_landfill", "kept_in_use")
LEAST_SHARE = 0.005
MOST_ROWS = 600
"""So many rows at most all givers' tables have together, and each giver at least the fewest."""

LEAST_ROWS = 4


class GiversPage:
    """Makes the view of the givers' page of one edition."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.charts = Charts(edition)
        self.cells: dict[str, list[Cell]] = {}
        for cell in edition.tally.diversion.cells:
            if cell.stream != PRODUCT:
                self.cells.setdefault(edition.giver_of(cell), []).append(cell)

    def view(self) -> View:
        """Give everything on the givers' page."""
        edition = self.edition
        return {
            **edition.frame("givers.html", f"Givers · {edition.site['name']}", self.description()),
            "under": self.under(),
            "chart": self.chart(),
            "whole": self.whole(),
            "caveats": caveats(edition, edition.tally.since_start, edition.tally.diversion.by_kind.items()),
            "givers": list(self.givers()),
            "paper": self.paper(),
            "cautions": cautions(edition, "givers"),
        }

    def description(self) -> str:
        """Say in one sentence what the page tells."""
        return f"What each giver brought to {self.edition.site['name']}, and where it went."

    def under(self) -> str:
        """Say how many give, and that names are theirs to share."""
        givers = [name for name in self.edition.givers if name != OURSELVES]
        if not givers:
            return "Nobody has brought anything yet; what is counted is the household’s own."
        each = "under the name they agreed to" if len(givers) == 1 else "each under the name they agreed to"
        return f"{counted(len(givers), 'giver')}, {each}, or under none."

    def chart(self) -> View | None:
        """Draw who brought how much since the start."""
        heaps = []
        for name, figures in self.edition.tally.givers.items():
            guess = bool(self.edition.figure(figures.taken_in)["guess"])
            heaps.append((name, figures.taken_in, guess))
        summary = (
            "Everything taken in since the start, the largest part first; the line at a bar’s end is "
            "the doubt."
        )
        return self.charts.bars("givers", f"Who brought how much, in {self.charts.unit}", summary, heaps)

    def whole(self) -> View:
        """Give all givers in one table."""
        edition = self.edition
        ordered = sorted(
            edition.tally.givers.items(),
            key=lambda one: (one[0] == OURSELVES, -one[1].taken_in.value, one[0]),
        )
        rows = [
            row(
                link(name, f"#{edition.givers[name]}"),
                *(edition.cell(getattr(figures, figure), both=True) for figure in NAMES),
            )
            for name, figures in ordered
        ]
        whole = edition.tally.since_start
        foot = (
            row("Together", *(edition.cell(getattr(whole, figure), both=True) for figure in NAMES))
            if len(rows) > 1
            else None
        )
        heads = head("Giver", ("Brought", NUMBER), ("Kept out of landfill", NUMBER), ("In use here", NUMBER))
        return table(f"Since the start, in {edition.writer.unit}", heads, rows, foot, other=True)

    def givers(self) -> Iterator[View]:
        """Give each giver's own part: by year and stream, what it would have become, where it went."""
        for name, identity in self.edition.givers.items():
            if name in self.cells:
                yield {
                    "id": identity,
                    "name": name,
                    "notes": list(self.notes(name)),
                    "years": self.years(name, identity),
                    "went": self.went(name),
                }

    def notes(self, name: str) -> Iterator[str]:
        """Say what would have become of a giver's waste, and how many households stand behind the name."""
        household = self.edition.household
        own = [giver for giver in household.givers if household.publishes_giver(giver) == name]
        homes = sum(household.givers[giver].households for giver in own)
        if homes > 1:
            yield f"Stands for {counted(homes, 'household')}."
        told: dict[str, list[str]] = {}
        for cell in self.cells[name]:
            shares = household.shares(cell.giver, cell.stream)
            words = listed(
                [
                    f"{fate} {percent(share)}" if share < 1 else fate
                    for fate, share in shares.items()
                    if share > 0
                ]
            )
            streams = told.setdefault(words, [])
            if cell.stream not in streams:
                streams.append(cell.stream)
        for words, streams in told.items():
            yield f"Otherwise: {words} ({listed(by_stream(streams))})."

    def years(self, name: str, identity: str) -> View:
        """Give a giver's figures by year and stream, each leading to its months."""
        edition = self.edition
        heaps: dict[tuple[str, str], Figures] = {}
        for cell in self.cells[name]:
            heaps.setdefault((cell.month[:4], cell.stream), Figures()).join(
                edition.tally.diversion.cells[cell]
            )
        ordered = sorted(heaps.items(), key=lambda one: (-int(one[0][0]), one[0][1]))
        told = [one for one in ordered if is_told(one[1])]
        most = max(LEAST_ROWS, MOST_ROWS // len(self.cells))
        rows = [
            row(
                link(str(int(year)), f"year-{year}.html#{identity}"),
                stream,
                *(
                    edition.cell(getattr(figures, figure), f"year-{year}.html#{identity}")
                    for figure in NAMES[:2]
                ),
            )
            for (year, stream), figures in told[:most]
        ]
        if len(told) > most:
            earlier = Figures()
            for _, figures in told[most:]:
                earlier.join(figures)
            sums = [edition.cell(getattr(earlier, figure), "index.html#years") for figure in NAMES[:2]]
            rows.append(row("Earlier", "all", *sums))
        whole = edition.tally.givers[name]
        sums = [edition.cell(getattr(whole, figure)) for figure in NAMES[:2]]
        foot = row("Together", "", *sums) if len(rows) > 1 else None
        heads = head("Year", "Stream", ("Brought", NUMBER), ("Kept out", NUMBER))
        return table(f"From {name}, in {edition.writer.unit}", heads, rows, foot)

    @cached_property
    def whereabouts(self) -> dict[str, dict[str, float]]:
        """Where each giver's waste is now, in words, in kg; all paper under PAPER."""
        edition = self.edition
        follow = Whereabouts(edition)
        by_giver = follow.by(lambda giver, _stream: edition.tally.name_of(giver))
        paper = follow.by(lambda _giver, stream: PAPER if stream == "paper" else None)
        found: dict[str, dict[str, float]] = {}
        for name, heaps in {**by_giver, **paper}.items():
            told = found.setdefault(name, {})
            for account, kg in heaps.items():
                words = account_in_words(edition, account)
                told[words] = told.get(words, 0.0) + kg
        return found

    def went(self, name: str) -> str:
        """Say where a giver's waste went, by weight as it arrived."""
        heaps = self.whereabouts.get(name, {})
        whole = sum(heaps.values())
        if whole <= 0:
            return ""
        parts = sorted(
            ((kg / whole, words) for words, kg in heaps.items()), key=lambda one: (-one[0], one[1])
        )
        told = [f"{words} {percent(share)}" for share, words in parts if share >= LEAST_SHARE]
        rest = 1 - sum(share for share, _ in parts if share >= LEAST_SHARE)
        if rest > LEAST_SHARE:
            told.append(f"elsewhere {percent(rest)}")
        return f"Where it went: {listed(told)}."

    def paper(self) -> View | None:
        """Draw where all the paper went."""
        heaps = []
        for words, kg in self.whereabouts.get(PAPER, {}).items():
            heap = Sum()
            heap.value = kg
            heaps.append((words, heap, False))
        summary = (
            "By weight as it arrived: paper goes through shreds and batches of bedding to the bins; "
            "the rest is on hand or left the house."
        )
        return self.charts.bars("paper", f"Where the paper went, in {self.charts.unit}", summary, heaps)
