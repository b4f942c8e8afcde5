"""The first page: what was kept out of landfill, drawn, and where to read on."""

from __future__ import annotations

from collections.abc import Iterator

from journal.measures.periods import week_of
from journal.reckoning.diversion import Figures
from journal.reckoning.goals import YearGoal, week_goal, year_goals
from journal.reckoning.tally import OURSELVES
from journal.site.discretion import WORDS
from journal.site.edition import HOME, Edition
from journal.site.prose import opening
from journal.site.views.drawn import Charts
from journal.site.views.owed import Owed, months_until
from journal.site.views.tables import NUMBER, head, link, row, table
from journal.site.wording import MONTHS, View, counted, day_in_words, reached

LATEST = 6
"""So many entries are announced."""

YEARS_IN_FULL = 12
"""So many of the newest years lead to each of their months; the others' own pages do."""

MONTHS_DRAWN = 13
MOST_THANKS = 12


class HomePage:
    """Makes the view of the first page of one edition."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.charts = Charts(edition)
        self.owed = Owed(edition)
        self.tally = edition.tally

    def view(self) -> View:
        """Give everything on the first page."""
        edition = self.edition
        title = f"{edition.site['name']} · a worm keeper’s book"
        charts = [self.charts.cumulative(), self.monthly()]
        return {
            **edition.frame(HOME, title, self.description(), card=self.card()),
            "opening": {
                "over": self.begun(),
                "under": (
                    "Paper and kitchen scraps that stay out of the landfill: weighed at the door, fed to "
                    "worms, given to the garden."
                ),
            },
            "account": list(self.account()),
            "goals": list(self.goals()),
            "beside": list(self.owed.beside()),
            "caveats": list(self.owed.caveats()),
            "charts": [chart for chart in charts if chart is not None],
            "latest": list(self.latest()),
            "years": self.years(),
            "thanks": self.thanks(),
            "about": self.about(),
            "dataset": self.dataset(),
        }

    def description(self) -> str:
        """Say in one sentence what the site is, for who finds it by a search."""
        kept = self.tally.since_start.kept_out_of_landfill
        return (
            f"{self.edition.site['name']}: {self.edition.writer.in_words(kept)} of paper and scraps "
            "kept out of landfill by worms, with the diary and the numbers behind it."
        )

    def card(self) -> View | None:
        """Name the picture that stands for the site where it is linked."""
        if not self.edition.years:
            return None
        year = self.edition.years[-1]
        kept = self.tally.years.get(year, Figures()).kept_out_of_landfill
        words = f"{int(year)}: {self.edition.writer.in_words(kept)} kept out of landfill"
        return {"file": f"cards/{year}.png", "alt": words}

    def begun(self) -> str:
        """Say since when the book is kept."""
        first = self.owed.first_day()
        return (
            "A worm keeper’s book" if first is None else f"A worm keeper’s book · begun {day_in_words(first)}"
        )

    def account(self) -> Iterator[View]:
        """Give the opening account: this year, this week, since the start, castings."""
        edition, tally = self.edition, self.tally
        if edition.years:
            year = edition.years[-1]
            figures = tally.years.get(year, Figures())
            until = (
                f", to {edition.as_of.day} {MONTHS[edition.as_of.month - 1]}"
                if int(year) == edition.as_of.year
                else ""
            )
            yield {
                "words": f"in {int(year)}{until}",
                "figure": edition.figure(figures.kept_out_of_landfill, f"year-{year}.html#kept"),
            }
        whole = tally.since_start
        first = self.owed.first_day()
        if first is not None and len(edition.years) > 1:
            yield {
                "words": f"since {day_in_words(first)}",
                "figure": edition.figure(whole.kept_out_of_landfill, "#years"),
            }
        if whole.kept_in_use.records:
            yield {
                "words": "of waste used here since the start, whatever its fate otherwise",
                "figure": edition.figure(whole.kept_in_use, "#years"),
            }
        if whole.castings_spread.records:
            yield {
                "words": "of castings spread on the garden",
                "figure": edition.figure(whole.castings_spread, "garden.html"),
            }

    def goals(self) -> Iterator[View]:
        """Give the goals that run now, each with a sentence and how much of it is reached."""
        edition, goals = self.edition, self.edition.household.goals
        kept = {int(year): figures.kept_out_of_landfill for year, figures in self.tally.years.items()}
        for goal in year_goals(goals, kept, edition.as_of, self.tally.first_day):
            if goal.year == edition.as_of.year:
                yield {"words": self.year_words(goal), "percent": _bar(goal.progress)}
        week = week_goal(goals, self.tally.weeks, edition.as_of, self.tally.first_day)
        if week is not None:
            rough = edition.writer.rough
            words = f"The goal is {rough(week.goal)} a week"
            if week.weeks:
                words += f", reached in {week.met} of {counted(week.weeks, 'full week')}"
            monday = week_of(edition.as_of)
            words += (
                f"; the week of {monday.day} {MONTHS[monday.month - 1]} stands at {rough(week.this_week)}."
            )
            yield {"words": words, "percent": _bar(week.progress)}

    def year_words(self, goal: YearGoal) -> str:
        """Say how a year's goal stands."""
        rough = self.edition.writer.rough
        words = f"The goal for {goal.year} is {rough(goal.goal, 4)}: {reached(goal.progress)} is reached"
        if goal.projected is not None and goal.state != "reached" and goal.kept.value > 0:
            words += f", and at this pace the year ends near {rough(goal.projected, 2)}"
        return words + "."

    def monthly(self) -> View | None:
        """Draw the last thirteen months by stream."""
        edition = self.edition
        months = months_until(edition.as_of, MONTHS_DRAWN)
        first = next(iter(edition.months), None)
        if first is not None:
            months = [month for month in months if month >= first]
        if len(months) < 2:  # noqa: PLR2004 - one bar compares nothing
            return None
        return self.charts.months_by_stream(
            months, "months", f"Each month’s weight by stream, in {edition.writer.unit}"
        )

    def latest(self) -> Iterator[View]:
        """Announce the newest entries whose words are shown."""
        edition = self.edition
        told = 0
        for month in reversed(edition.months):
            for index in reversed(edition.months[month]):
                entry = edition.notes.entries[index]
                if edition.discretion.level(entry) != WORDS:
                    continue
                words = next(
                    (text for block in edition.texts(entry.blocks) if (text := opening(edition.said(block)))),
                    "",
                )
                title = edition.said(entry.title).strip()
                if not words and not title:
                    continue
                date = day_in_words(entry.date)
                yield {
                    "href": edition.entry_address(index),
                    "title": title or date,
                    "date": date if title else "",
                    "opening": words,
                }
                told += 1
                if told == LATEST:
                    return

    def years(self) -> View:
        """Give the table of all years, each leading to its months."""
        edition = self.edition
        names = ("kept_out_of_landfill", "taken_in", "thrown_out", "castings_harvested")
        rows = []
        for at, year in enumerate(reversed(edition.years)):
            figures = edition.tally.years.get(year, Figures())
            page = f"year-{year}.html"
            links = [
                {
                    "href": f"{month}.html",
                    "words": MONTHS[int(month[5:]) - 1][:3],
                    "rest": f"{MONTHS[int(month[5:]) - 1][3:]} {int(year)}",
                }
                for month in (edition.months_of(year) if at < YEARS_IN_FULL else ())
            ]
            rows.append(
                row(
                    link(str(int(year)), page),
                    *(edition.cell(getattr(figures, name), f"{page}#kept") for name in names),
                    {"links": links},
                )
            )
        whole = edition.tally.since_start
        foot = (
            row("Since the start", *(edition.cell(getattr(whole, name)) for name in names), "")
            if len(rows) > 1
            else None
        )
        heads = head(
            "Year",
            ("Kept out of landfill", NUMBER),
            ("Taken in", NUMBER),
            ("Thrown out", NUMBER),
            ("Castings", NUMBER),
            "Months",
        )
        return table(f"Weights in {edition.writer.unit}, the doubt beside them", heads, rows, foot)

    def thanks(self) -> list[View]:
        """Name who gave, as far as sharing allows."""
        edition = self.edition
        givers = [
            (name, figures.taken_in)
            for name, figures in self.tally.givers.items()
            if name != OURSELVES and figures.taken_in.records
        ]
        givers.sort(key=lambda giver: (-giver[1].value, giver[0]))
        return [
            {"words": name, "figure": edition.figure(figure, f"givers.html#{edition.givers[name]}")}
            for name, figure in givers[:MOST_THANKS]
        ]

    def about(self) -> View:
        """Say who keeps what, where if household.yaml says so, and how."""
        household = self.edition.household
        running = [
            name
            for name, one in household.bins.items()
            if one.ended is None or one.ended > self.edition.as_of
        ]
        name = self.edition.site["name"]
        bins = f" in {counted(len(running), 'bin')}" if running else ""
        live = "lives" if household.people == 1 else "live"
        people = f" {counted(household.people, 'person', 'people')} {live} here." if household.people else ""
        where = self.edition.said(household.place).strip().rstrip(".")
        place = f" Where we are: {where}." if where else ""
        return {
            "what": (
                f"{name} keeps worms{bins}, so that paper and kitchen scraps stay out of the "
                f"landfill.{people}{place}"
            ),
            "how": (
                "What comes in is written down the same day, weighed where it can be, and counted once, "
                "at the door. Worms turn it into castings; the castings go to the garden. Wasting less "
                "food in the first place is better still, and a falling weight of scraps is good news."
            ),
        }

    def dataset(self) -> View:
        """Describe the open data for machines (schema.org Dataset)."""
        from journal.site.views.described import described

        return described(self.edition, self.description(), self.owed.first_day())


def _bar(progress: float) -> float:
    return round(min(1.0, max(0.0, progress)) * 100, 1)
