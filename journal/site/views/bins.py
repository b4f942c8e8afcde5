"""The bins: feeding, readings over the band in which the worms do well, harvests and yield."""

from __future__ import annotations

from collections.abc import Iterator

from journal.measures.periods import month_key
from journal.reckoning.bins import BinSheet
from journal.reckoning.chores import Chore
from journal.reckoning.diversion import Figure
from journal.reckoning.flows import Flow
from journal.reckoning.flows import figure as figure_of
from journal.reckoning.movements import Account
from journal.reckoning.readings import QUANTITIES
from journal.reckoning.worm_mass import WORM_VERBS
from journal.site.edition import Edition
from journal.site.views.castings_drawn import castings_drawn
from journal.site.views.readings_drawn import TITLES, Readings
from journal.site.views.tables import (
    NUMBER,
    by_area,
    cautions,
    head,
    lines_behind,
    link,
    row,
    share_words,
    span_words,
    table,
)
from journal.site.wording import (
    MONTHS,
    View,
    counted,
    day_in_words,
    days_in_words,
    listed,
)

MONTHS_IN_FULL = 6
"""So many of the newest months show each line about a bin."""

MONTHS_TOLD = 36
"""So many of the newest months stand one by one; those before are told by year."""

FEED_WORDS = {
    "little": "less than worms of this mass usually eat",
    "about right": "about what worms of this mass eat",
    "much": "more than worms of this mass usually eat",
    "unknown": "",
}


SURFACE_WORDS = {
    "little": "; less than the rule of thumb allows",
    "about right": "; within the rule of thumb",
    "much": "; more than the rule of thumb allows",
    "unknown": "",
}


class BinPages:
    """Makes the views of the bins' pages of one edition."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.course = Readings(edition)
        self.sheets = {sheet.name: sheet for sheet in edition.keeping.bins}
        self.chores: dict[str, list[Chore]] = {}
        for chore in edition.keeping.chores:
            self.chores.setdefault(chore.subject, []).append(chore)

    # -- all bins --------------------------------------------------------------------------------------

    def overview(self) -> View:
        """Give the page of all bins: one row each, what is due, castings in and out."""
        edition = self.edition
        rows = [self.overview_row(sheet) for sheet in self.sheets.values()]
        heads = head("Bin", "Worms", ("Fed", NUMBER), ("Bedded", NUMBER), ("Castings", NUMBER), "Last seen")
        return {
            **edition.frame(
                "bins.html",
                f"Bins · {edition.site['name']}",
                f"The worm bins of {edition.site['name']}: feeding, readings, harvests.",
            ),
            "under": self.under(),
            "bins": table(f"Since each was started, in {edition.writer.unit}", heads, rows) if rows else None,
            "due": self.due(),
            "chart": castings_drawn(edition),
            "cautions": cautions(edition, "bins"),
        }

    def under(self) -> str:
        """Say how many bins run."""
        running = [sheet for sheet in self.sheets.values() if sheet.running]
        if not self.sheets:
            return "No bin is named yet."
        ended = len(self.sheets) - len(running)
        return f"{counted(len(running), 'bin')} at work{f', {ended} emptied for good' if ended else ''}."

    def overview_row(self, sheet: BinSheet) -> View:
        """Give one bin in a row."""
        edition = self.edition
        states = [f"{reading.words}, {self.course.shown(reading)}" for reading in sheet.latest.values()]
        name = link(
            edition.bin(sheet.name), edition.bin_pages[sheet.name], "" if sheet.running else "emptied"
        )
        kinds = listed([kind.name for kind in sheet.kinds])
        return row(
            name,
            kinds,
            edition.cell(sheet.fed),
            edition.cell(sheet.bedded),
            edition.cell(sheet.harvested),
            "; ".join(states[:2]),
        )

    def due(self) -> list[View]:
        """Give what is due on the edition's day."""
        known = self.edition.batch_anchors
        return [
            self.told(chore)
            for chore in self.edition.keeping.chores
            if (chore.subject not in known or self.edition.is_open(chore.subject))
            and chore.subject not in self.edition.kept_back
        ]

    def told(self, chore: Chore) -> View:
        """Give a chore in words, its days written out."""
        said = self.edition.said
        return {
            "title": said(chore.title),
            "reason": days_in_words(said(chore.reason)),
            "advice": days_in_words(said(chore.advice)),
        }

    # -- one bin ---------------------------------------------------------------------------------------

    def view(self, name: str) -> View:
        """Give everything on one bin's page."""
        edition, sheet = self.edition, self.sheets[name]
        said = edition.bin(name)
        chores = [] if name in edition.kept_back else self.chores.get(name, [])
        names = list(self.sheets)
        neighbours = [(edition.bin_pages[one], edition.bin(one)) for one in names]
        address = edition.bin_pages[name]
        return {
            **edition.frame(
                address,
                f"{said} · {edition.site['name']}",
                f"{said}, a bin of {listed([kind.name for kind in sheet.kinds])}: feeding, readings, "
                "harvests.",
                "bins.html",
                turn=edition.turn(neighbours, names.index(name)),
            ),
            "heading": said,
            "under": self.about(sheet),
            "due": [self.told(chore) for chore in chores],
            "charts": [
                chart for quantity in QUANTITIES if (chart := self.course.drawn(sheet, quantity)) is not None
            ],
            "account": list(self.account(sheet)),
            "facts": list(self.facts(sheet)),
            "years": self.years(name),
            "sightings": self.sightings(sheet),
            "lines": self.lines(sheet),
            "bands": self.bands(sheet),
        }

    def about(self, sheet: BinSheet) -> str:
        """Say what lives there, where it stands and since when."""
        kinds = listed([kind.name for kind in sheet.kinds]).capitalize()
        parts = [f"{kinds}{' (assumed: household.yaml does not say)' if sheet.kind_assumed else ''}"]
        if sheet.bin.kept_in and sheet.name not in self.edition.kept_back:
            parts.append(f"kept in the {self.edition.said(sheet.bin.kept_in)}")
        if sheet.first_day is not None:
            parts.append(f"since {day_in_words(sheet.first_day)}")
        if sheet.bin.ended is not None:
            parts.append(f"until {day_in_words(sheet.bin.ended)}")
        return ", ".join(parts) + "."

    def account(self, sheet: BinSheet) -> Iterator[View]:
        """Give the bin's account, whose lines add up: in, out, and what is not accounted for."""
        edition, balance = self.edition, sheet.balance
        told: list[tuple[str, Figure]] = [
            ("fed", sheet.fed),
            ("bedding put in", sheet.bedded),
            *self.put_in_besides(sheet),
            ("castings harvested", sheet.harvested),
            ("drained off", balance.drained),
            ("thrown out", balance.thrown_out),
            ("worms and bedding moved on", balance.moved_out),
        ]
        for words, figure in told:
            if figure.records:
                yield {"words": words, "figure": edition.figure(figure, "#lines")}
        if balance.unaccounted.records:
            yield {
                "words": "still in the bin, or lost to the air as water and gas",
                "figure": edition.figure(balance.unaccounted),
            }

    def put_in_besides(self, sheet: BinSheet) -> Iterator[tuple[str, Figure]]:
        """Give what went in besides feed and bedding: worms, and what came back from the screen."""
        worms, others = [], []
        for movement in self.edition.keeping.flows.get(Account("bin", sheet.name), Flow()).into:
            verb = self.edition.notes.records[movement.record].verb
            if verb in WORM_VERBS:
                worms.append(movement)
            elif verb not in {"fed", "bedded"} and movement.source != movement.target:
                others.append(movement)
        yield "worms put in", figure_of(worms)
        yield "put back from the screen", figure_of(others)

    def facts(self, sheet: BinSheet) -> Iterator[View]:
        """Give what is reckoned of the bin, each as a range with what it is held against."""
        edition = self.edition
        size, unit = edition.writer.own[1], edition.writer.unit
        if sheet.worms is not None:
            yield _fact(
                "Worms believed to be in it",
                f"{span_words(edition, sheet.worms.believed, size, unit)}: what was added, and a capped "
                "range of growth",
            )
        against = FEED_WORDS.get(sheet.feed_state)
        fed = span_words(edition, sheet.feed_per_day, size, unit)
        yield _fact("Fed a day, last 28 days", f"{fed}; {against}" if against else fed)
        if sheet.feed_rate is not None:
            yield _fact("A day’s feed as a part of the worms’ own mass", span_words(edition, sheet.feed_rate))
        if sheet.surface_load is not None and sheet.surface_load.high > 0:
            state = SURFACE_WORDS[sheet.surface_state(edition.references.worms)]
            yield _fact("Feed a week for its surface", f"{by_area(edition, sheet.surface_load)}{state}")
        mix = sheet.recent_mix
        if mix.ingredients:
            yield _fact(
                "Carbon to nitrogen of the last 60 days’ feed and bedding",
                f"{span_words(edition, mix.carbon_nitrogen)} to 1",
            )
            yield _fact("Moisture of the same", f"{span_words(edition, mix.moisture)} %")
        if sheet.yields.share is not None:
            share = sheet.yields.share
            words = share_words(share) if share.is_bounded else "not known yet"
            yield _fact(
                "Castings out for dry matter put in",
                f"{words}, counting what went in {span_words(edition, sheet.yields.lag)} days before",
            )
        harvest = sheet.next_harvest
        if harvest is not None and sheet.running:
            basis = (
                "by its own harvests so far"
                if harvest.basis == "own history"
                else "by published intervals, until it has two harvests of its own"
            )
            words = (
                f"overdue since {day_in_words(harvest.latest)}"
                if harvest.latest < edition.as_of
                else f"{day_in_words(harvest.earliest)} to {day_in_words(harvest.latest)}, likeliest "
                f"{day_in_words(harvest.typical)}"
            )
            yield _fact("Next harvest", f"{words}; {basis}")

    def years(self, name: str) -> View | None:
        """Give what went in and came out by year."""
        edition = self.edition
        rows = []
        for year in reversed(edition.years):
            one = edition.bins_of(year).get(name)
            if one is not None and (one.fed.records or one.bedded.records or one.harvested.records):
                rows.append(
                    row(
                        link(str(int(year)), f"year-{year}.html"),
                        edition.cell(one.fed, both=True),
                        edition.cell(one.bedded, both=True),
                        edition.cell(one.harvested, both=True),
                    )
                )
        heads = head("Year", ("Fed", NUMBER), ("Bedded", NUMBER), ("Castings", NUMBER))
        return table(f"Year by year, in {edition.writer.unit}", heads, rows, other=True) if rows else None

    def sightings(self, sheet: BinSheet) -> list[View]:
        """Give what was seen and smelt, the newest first; nothing of what is kept back."""
        told = [
            (date, record, words)
            for date, record, words in sheet.sightings
            if not self.edition.is_closed(record)
        ]
        return [
            {
                "words": self.edition.said(words),
                "href": self.edition.line_address(record),
                "date": day_in_words(date),
            }
            for date, record, words in reversed(told[-12:])
        ]

    def lines(self, sheet: BinSheet) -> View:
        """Give the lines about the bin by month, the newest first, each month leading to them."""
        months: dict[str, list[int]] = {}
        for record in sheet.records:
            months.setdefault(month_key(self.edition.notes.records[record].date), []).append(record)
        recent = sorted(months, reverse=True)
        years: dict[str, int] = {}
        for month in recent[MONTHS_TOLD:]:
            years[month[:4]] = years.get(month[:4], 0) + len(months[month])
        rows = [
            row(
                link(f"{MONTHS[int(month[5:]) - 1]} {int(month[:4])}", f"{month}.html"),
                counted(len(months[month]), "line"),
                lines_behind(self.edition, months[month]) if at < MONTHS_IN_FULL else "",
            )
            for at, month in enumerate(recent[:MONTHS_TOLD])
        ]
        rows += [
            row(link(f"{int(year)}, earlier", f"year-{year}.html"), counted(number, "line"), "")
            for year, number in years.items()
        ]
        return table("The lines about this bin", head("Month", "Lines", "Each"), rows)

    def bands(self, sheet: BinSheet) -> list[View]:
        """Say which published band each kind of reading is held against, and how it was checked."""
        sources = self.edition.keeping.references.sources
        told = []
        for quantity, band in sheet.bands.items():
            work = sources[band.source].citation if band.source in sources else band.source
            low, high = (self.course.scale(quantity, end) for end in (band.low, band.high))
            good = f"{TITLES[quantity]}: good from {self.course.limits(quantity, low, high)}."
            told.append(
                {
                    "words": f"{good} {work} {band.where} ({band.checked}). {band.note}".strip(),
                    "href": "reckoning.html#worms",
                }
            )
        return told


def _fact(words: str, value: str) -> View:
    return {"words": words, "value": value}
