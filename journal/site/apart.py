"""What is made apart: most of a site, sharing little with the other pages, and needing no figure of all time.

It is a list of tasks, which a second process can begin while the first adds the figures up and makes all
other pages.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cached_property, partial
from typing import Any

from journal.notes.tasks import in_groups
from journal.site.dataset import (
    DESCRIPTOR,
    descriptor_file,
    movements_file,
    movements_key,
    movements_of,
    path_of,
    resource,
    table_file,
)
from journal.site.dataset_columns import FIGURES, LINES, MOVEMENTS, READINGS, Table
from journal.site.dataset_rows import Rows
from journal.site.edition import Edition
from journal.site.issue import Issue, Made
from journal.site.memory import Addition, remembered
from journal.site.templates import Page
from journal.site.views.bedding import BeddingPage
from journal.site.views.bins import BinPages
from journal.site.views.garden import GardenPage
from journal.site.views.months import MonthPages
from journal.site.views.rests import Rests
from journal.site.views.years import YearPages

AT_A_TIME = 4
"""So many months of the newest years are one task: few, that both processes end together."""

IN_PARTS = 3
"""So many of the newest years are not one task each; by then the end is near."""

Task = Callable[[], Made]


class Apart:
    """What is made apart, as tasks: the pages of months and years, bins, bedding and garden, tables of data.

    What they share is worked out when the first of them is done, unless ``share`` was called before.
    """

    def __init__(self, edition: Edition, issue: Issue) -> None:
        self.edition = edition
        self.issue = issue
        self.pages = MonthPages(edition)
        self.years = YearPages(edition)
        self.rows = Rows(edition.tally, edition.line_address, edition.discretion)

    @cached_property
    def rests(self) -> Rests:
        """What each month and year rests on."""
        return Rests(self.edition)

    def tasks(self) -> list[Task]:
        """Give all tasks, the longest first."""
        tables = [partial(self._table, table) for table in (LINES, READINGS)]
        order = sorted({*self.edition.months, *self.rows.months})
        years = list(dict.fromkeys(month[:4] for month in order))
        whole, in_parts = years[:-IN_PARTS], years[-IN_PARTS:]
        months_of = {year: [month for month in order if month[:4] == year] for year in years}
        parts = in_groups([month for year in in_parts for month in months_of[year]], AT_A_TIME)
        return [
            self._keeping,
            *tables,
            *(partial(self._pages, [year], []) for year in in_parts),
            *(partial(self._pages, [year], months_of[year]) for year in whole),
            *(partial(self._pages, [], some) for some in parts),
        ]

    def share(self) -> None:
        """Have worked out what both processes need, before one is copied: each would do it for itself."""
        shared = (
            (self.edition, ("addresses", "givers", "open_words", "batch_anchors", "site")),
            (self.rows, ("told", "line_ids", "told_of_others")),
            (self.pages, ("neighbours", "giver_places")),
            (self.years, ("code",)),
            (self.rests, ("strays",)),
        )
        for holder, names in shared:
            for name in names:
                getattr(holder, name)
        self.issue.templates.load("month.html", self.issue.memory)

    def data(
        self, tables: Mapping[str, Mapping[str, Any]], moved: Mapping[str, bytes]
    ) -> Iterator[tuple[str, bytes]]:
        """Give what of the data package rests on all tasks: the movements, and what describes the tables."""
        file = movements_file(self.rows, moved)
        yield path_of(MOVEMENTS), file
        described = {**tables, MOVEMENTS.name: resource(MOVEMENTS, file)}
        yield DESCRIPTOR, descriptor_file(self.rows, described)

    def figures(self) -> Made:
        """Make the table of all figures, which is no task: they are added up in the first process only."""
        return self._table(FIGURES)

    def _keeping(self) -> Made:
        """Make the pages of bins, bedding and garden, which share much with one another."""
        pages = {page.name: page for page in keeping_pages(self.edition)}
        keys = {name: self.issue.templates.key(page) for name, page in pages.items()}
        standing = {name: key for name, key in keys.items() if self.issue.stands(name, key)}
        others = [page for name, page in pages.items() if name not in standing]
        return Made([(name, None) for name in standing], standing, others)

    def _table(self, table: Table) -> Made:
        data = table_file(self.rows, table)
        return Made([(path_of(table), data)], tables={table.name: resource(table, data)})

    def _pages(self, years: Sequence[str], months: Sequence[str]) -> Made:
        """Make the pages and the sheets of some years, and the pages and rows of some months."""
        memory = Addition(self.issue.memory)
        moved: dict[str, bytes] = {}
        pages: list[Page] = []
        for month in months:
            if month in self.rows.months:
                key = movements_key(self.rows, month, self.rests.moved(month))
                moved[month] = remembered(memory, key, partial(movements_of, self.rows, month))
            if month in self.edition.months:
                view = partial(self.pages.view, month)
                pages.append(Page.later(month_file(month), "month.html", self.rests.digest(month), view))
        drawn: list[Page] = []
        for year in years:
            if year in self.edition.years:
                rests, mailed = self.rests.year(year), partial(self.years.mailed, year)
                pages.append(Page.later(f"sheet-{year}.html", "sheet.html", rests, mailed))
                drawn.append(Page.later(year_file(year), "year.html", rests, partial(self.years.view, year)))
        keys = {page.name: self.issue.templates.key(page) for page in (*pages, *drawn)}
        standing = {name for name, key in keys.items() if self.issue.stands(name, key)}
        files = [
            (page.name, None if page.name in standing else self.issue.templates.made(page, memory))
            for page in pages
        ]
        files += [(page.name, None) for page in drawn if page.name in standing]
        to_draw = [page.viewed() for page in drawn if page.name not in standing]
        return Made(files, keys, to_draw, memory.new, moved=moved)


def keeping_pages(edition: Edition) -> Iterator[Page]:
    """Give the pages of the bins, the bedding and the garden; those of single bins hold most charts."""
    bins = BinPages(edition)
    yield Page("bins.html", "bins.html", bins.overview())
    for name in bins.sheets:
        yield Page(edition.bin_pages[name], "bin.html", bins.view(name))
    yield Page("bedding.html", "bedding.html", BeddingPage(edition).view())
    yield Page("garden.html", "garden.html", GardenPage(edition).view())


def month_file(month: str) -> str:
    """Give the name of a month's page."""
    return f"{month}.html"


def year_file(year: str) -> str:
    """Give the name of a year's page."""
    return f"year-{year}.html"
