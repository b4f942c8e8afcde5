"""The table of pages: what the site consists of, in the order in which it is made.

A page is plain values and the name of the template that lays them out.  The months' pages and the tables of
the data are most of a site, need no charts and share little with the others: they are made apart, by tasks
that a second process can begin while the first makes all other pages and has their charts drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property, partial
from typing import Any, NamedTuple

from journal.notes.tasks import Divided, in_groups, one_by_one
from journal.site.cards import card
from journal.site.dataset import (
    DESCRIPTOR,
    OTHERS,
    descriptor_file,
    movements_file,
    movements_key,
    movements_of,
    path_of,
    resource,
    table_file,
)
from journal.site.dataset_columns import MOVEMENTS, Table
from journal.site.dataset_rows import Rows
from journal.site.draughtsman import Chart, Draughtsman, chart_key, charts_in
from journal.site.edition import HOME, Edition
from journal.site.memory import Addition, Memory, Recollection, remembered
from journal.site.templates import Page, Templates
from journal.site.views.bedding import BeddingPage
from journal.site.views.bins import BinPages
from journal.site.views.described import feed, sitemap
from journal.site.views.garden import GardenPage
from journal.site.views.givers import GiversPage
from journal.site.views.home import HomePage
from journal.site.views.month_rests import MonthRests
from journal.site.views.months import MonthPages
from journal.site.views.reckoning import ReckoningPage
from journal.site.views.years import YearPages

__all__ = ["Edition", "Issue", "Made", "Page", "site"]

GIVERS = "givers.html"
AT_A_TIME = 4
"""About so many months are one task: few, that both processes end together, yet worth the asking."""


class Made(NamedTuple):
    """What a task made.

    ``files`` are pairs of a name and bytes, None where the file still stands; ``keys`` are theirs by name;
    ``pages`` are yet to be drawn; ``new`` is to be remembered; ``tables`` says how tables are described, by
    name, and ``moved`` gives the rows of the months' movements.
    """

    files: Sequence[tuple[str, bytes | None]] = ()
    keys: Mapping[str, str] = {}
    pages: Sequence[Page] = ()
    new: Mapping[str, bytes] = {}
    tables: Mapping[str, Mapping[str, Any]] = {}
    moved: Mapping[str, bytes] = {}


Task = Callable[[], Made]


class Waiting(NamedTuple):
    """A page, and its charts that are being drawn."""

    page: Page
    charts: list[Chart]
    draughtsman: Draughtsman

    @property
    def is_over(self) -> bool:
        """Whether all of its charts are drawn by now."""
        return all(map(self.draughtsman.has, self.charts))


class Issue:
    """One publication under way: what is remembered, who helps, and what still stands from the last one.

    ``stands`` says of a file's name and key whether the last publication laid just that, and it is still
    there; such a file is given without bytes.  ``keys`` holds the key of each file that has one.
    """

    def __init__(
        self,
        templates: Templates,
        memory: Memory | None = None,
        draughtsman: Draughtsman | None = None,
        divided: Divided = one_by_one,
        stands: Callable[[str, str], bool] = lambda _name, _key: False,
    ) -> None:
        self.templates = templates
        self.memory: Memory = Recollection() if memory is None else memory
        self.draughtsman = draughtsman
        self.divided = divided
        self.stands = stands
        self.keys: dict[str, str] = {}

    def ready(self, page: Page) -> tuple[str, bytes | None] | Waiting:
        """Give a page that needs no drawing any more; of another, have its charts drawn."""
        key = self.keys[page.name] = self.templates.key(page)
        if self.stands(page.name, key):
            return page.name, None
        if self.draughtsman is not None and self.memory.get(key) is None:
            charts = list(charts_in(page.view))
            missing = [chart for chart in charts if self.memory.get(chart_key(chart)) is None]
            if missing:
                for chart in missing:
                    self.draughtsman.ask(chart)
                return Waiting(page, missing, self.draughtsman)
        return page.name, self.templates.render(page, self.memory)

    def drawn(self, waiting: Waiting) -> tuple[str, bytes]:
        """Give a page whose charts were to be drawn."""
        for chart in waiting.charts:
            self.memory.put(chart_key(chart), waiting.draughtsman.take(chart))
        return waiting.page.name, self.templates.render(waiting.page, self.memory)

    def learn(self, made: Made) -> None:
        """Take over what a task found out."""
        self.keys.update(made.keys)
        for key, data in made.new.items():
            self.memory.put(key, data)


def site(edition: Edition, issue: Issue) -> Iterator[tuple[str, bytes | None]]:
    """Give every file of the site, name and bytes, or None where it still stands.  Raises TemplateProblem."""
    apart = Apart(edition, issue)
    begun: Iterable[Made] = issue.divided(apart.tasks())
    waiting: list[Waiting] = []

    def laid(several: Iterable[Page]) -> Iterator[tuple[str, bytes | None]]:
        for page in several:
            found = issue.ready(page)
            if isinstance(found, Waiting):
                waiting.append(found)
            else:
                yield found

    yield from laid(pages(edition))
    for year in edition.years:
        yield f"cards/{year}.png", card(edition, year, issue.memory)
    yield from edition.picture_files()
    tables: dict[str, Mapping[str, Any]] = {}
    moved: dict[str, bytes] = {}
    for made in begun:
        issue.learn(made)
        tables.update(made.tables)
        moved.update(made.moved)
        yield from made.files
        yield from laid(made.pages)
        while waiting and waiting[0].is_over:
            yield issue.drawn(waiting.pop(0))
    yield from apart.data(tables, moved)
    for page_waiting in waiting:
        yield issue.drawn(page_waiting)


def pages(edition: Edition) -> Iterator[Page]:
    """Give every page but those made apart, its view made when it is reached."""
    bins, years = BinPages(edition), YearPages(edition)
    yield Page(HOME, "index.html", HomePage(edition).view())
    for year in edition.years:
        yield Page(year_file(year), "year.html", years.view(year))
    yield Page("bins.html", "bins.html", bins.overview())
    for name in bins.sheets:
        yield Page(edition.bin_pages[name], "bin.html", bins.view(name))
    yield Page("bedding.html", "bedding.html", BeddingPage(edition).view())
    yield Page("garden.html", "garden.html", GardenPage(edition).view())
    yield Page("reckoning.html", "reckoning.html", ReckoningPage(edition).view())
    for year in edition.years:
        yield Page(f"sheet-{year}.html", "sheet.html", years.mailed(year))
    yield Page("feed.xml", "feed.xml", feed(edition, MonthPages(edition)))
    plan = sitemap(edition, pages_of(edition))
    if plan is not None:
        yield Page("sitemap.xml", "sitemap.xml", plan)
    yield Page("favicon.svg", "favicon.svg", {})


def pages_of(edition: Edition) -> list[str]:
    """Name the pages that people read, the first page first."""
    bins = (edition.bin_pages[name] for name in edition.household.bins)
    return [
        HOME, *map(year_file, edition.years), GIVERS, "bins.html", *bins, "bedding.html", "garden.html",
        "reckoning.html", *map(month_file, edition.months),
    ]  # fmt: skip


def year_file(year: str) -> str:
    """Give the name of a year's page."""
    return f"year-{year}.html"


def month_file(month: str) -> str:
    """Give the name of a month's page."""
    return f"{month}.html"


class Apart:
    """What is made apart, as tasks: the months' pages, the tables of the data, and the givers' page.

    What they share beyond the edition is worked out by the first of them, in whichever process that is.
    """

    def __init__(self, edition: Edition, issue: Issue) -> None:
        self.edition = edition
        self.issue = issue
        self.pages = MonthPages(edition)
        self.rows = Rows(edition.tally, edition.line_address)

    @cached_property
    def rests(self) -> MonthRests:
        """What each month rests on."""
        return MonthRests(self.edition)

    def tasks(self) -> list[Task]:
        """Give all tasks, the longest first."""
        order = sorted({*self.edition.months, *self.rows.months})
        tables = [partial(self._table, table) for table in OTHERS]
        return [self._givers, *tables, *(partial(self._months, some) for some in in_groups(order, AT_A_TIME))]

    def data(
        self, tables: Mapping[str, Mapping[str, Any]], moved: Mapping[str, bytes]
    ) -> Iterator[tuple[str, bytes]]:
        """Give what of the data package rests on all tasks: the movements, and what describes the tables."""
        file = movements_file(self.rows, moved)
        yield path_of(MOVEMENTS), file
        described = {**tables, MOVEMENTS.name: resource(MOVEMENTS, file)}
        yield DESCRIPTOR, descriptor_file(self.rows, described)

    def _givers(self) -> Made:
        page = Page(GIVERS, GIVERS, GiversPage(self.edition).view())
        keys = {page.name: self.issue.templates.key(page)}
        if self.issue.stands(page.name, keys[page.name]):
            return Made([(page.name, None)], keys)
        return Made(pages=[page])

    def _table(self, table: Table) -> Made:
        data = table_file(self.rows, table)
        return Made([(path_of(table), data)], tables={table.name: resource(table, data)})

    def _months(self, months: Sequence[str]) -> Made:
        memory, keys = Addition(self.issue.memory), {}
        moved = {
            month: remembered(
                memory,
                movements_key(self.rows, month, self.rests.moved(month)),
                partial(movements_of, self.rows, month),
            )
            for month in months
            if month in self.rows.months
        }
        files: list[tuple[str, bytes | None]] = []
        for month in (month for month in months if month in self.edition.months):
            page = Page.later(
                month_file(month), "month.html", self.rests.digest(month), partial(self.pages.view, month)
            )
            key = keys[page.name] = self.issue.templates.key(page)
            data = None if self.issue.stands(page.name, key) else self.issue.templates.made(page, memory)
            files.append((page.name, data))
        return Made(files, keys, new=memory.new, moved=moved)
