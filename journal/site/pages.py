"""The table of pages: what the site consists of, in the order in which it is made.

A page is plain values and the name of the template that lays them out.  The months' pages and the tables of
the data are most of a site and need no charts: they are made apart, by tasks that a second process can share.
Where most of the last publication still stands, the views of the other pages are most of the work, and are
shared as well; else they are made first, so that their charts are drawn while the months' pages are made.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property, partial
from typing import NamedTuple

from journal.notes.tasks import Divided, in_groups, one_by_one
from journal.site.cards import card
from journal.site.dataset import DESCRIPTOR, RememberedMonths, descriptor_file, path_of, table_file
from journal.site.dataset_columns import TABLES, Table
from journal.site.dataset_rows import Rows
from journal.site.draughtsman import Chart, Draughtsman, chart_key, charts_in
from journal.site.edition import HOME, Edition
from journal.site.memory import Addition, Memory, Recollection
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

AT_A_TIME = 4
"""About so many months are one task: few, that both processes end together, yet worth the asking."""


class Made(NamedTuple):
    """What a task made: files, their keys by name, pages that are yet to be made, and what to remember.

    A file is name and bytes, None where it still stands.
    """

    files: list[tuple[str, bytes | None]]
    keys: Mapping[str, str]
    pages: list[Page]
    new: Mapping[str, bytes]


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
    there; such a file is given without bytes.  It is None where there is no last one.  ``keys`` holds the
    key of each file that has one.
    """

    def __init__(
        self,
        templates: Templates,
        memory: Memory | None = None,
        draughtsman: Draughtsman | None = None,
        divided: Divided = one_by_one,
        stands: Callable[[str, str], bool] | None = None,
    ) -> None:
        self.templates = templates
        self.memory: Memory = Recollection() if memory is None else memory
        self.draughtsman = draughtsman
        self.divided = divided
        self.anew = stands is None
        self.stands = stands or (lambda _name, _key: False)
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
    leaves, months = Leaves(edition), Months(edition, issue)
    tables: dict[str, bytes] = {}
    waiting: list[Waiting] = []

    def laid(pages: Iterable[Page]) -> Iterator[tuple[str, bytes | None]]:
        for page in pages:
            found = issue.ready(page)
            if isinstance(found, Waiting):
                waiting.append(found)
            else:
                yield found

    shared: list[Task] = [] if issue.anew else [partial(leaves.task, part, issue) for part in leaves.parts]
    apart: Iterable[Made] = issue.divided([*shared, *months.tasks()])
    if issue.anew:
        for part in leaves.parts:
            yield from laid(part())
    for year in edition.years:
        yield f"cards/{year}.png", card(edition, year, issue.memory)
    yield from edition.picture_files()
    for made in apart:
        issue.learn(made)
        tables.update((name, data) for name, data in made.files if data is not None and name in PATHS)
        yield from made.files
        yield from laid(made.pages)
        while waiting and waiting[0].is_over:
            yield issue.drawn(waiting.pop(0))
    yield DESCRIPTOR, descriptor_file(months.rows, tables)
    yield from laid(last_pages(edition))
    for page_waiting in waiting:
        yield issue.drawn(page_waiting)


PATHS = frozenset(map(path_of, TABLES))


class Leaves:
    """The pages that people read, but the months': in parts that share little of their work."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.parts = (self.kept, self.years, self.givers, self.first)

    def first(self) -> list[Page]:
        """Give the first page."""
        return [Page(HOME, "index.html", HomePage(self.edition).view())]

    def years(self) -> list[Page]:
        """Give the years' pages, and each year's sheet as a file to be mailed."""
        years = YearPages(self.edition)
        pages = [Page(year_file(year), "year.html", years.view(year)) for year in self.edition.years]
        sheets = [Page(f"sheet-{year}.html", "sheet.html", years.mailed(year)) for year in self.edition.years]
        return [*pages, *sheets]

    def kept(self) -> list[Page]:
        """Give the pages that rest on how the bins do: theirs, bedding, garden and reckoning."""
        edition = self.edition
        bins = BinPages(edition)
        return [
            Page("bins.html", "bins.html", bins.overview()),
            *(Page(edition.bin_pages[name], "bin.html", bins.view(name)) for name in bins.sheets),
            Page("bedding.html", "bedding.html", BeddingPage(edition).view()),
            Page("garden.html", "garden.html", GardenPage(edition).view()),
            Page("reckoning.html", "reckoning.html", ReckoningPage(edition).view()),
        ]

    def givers(self) -> list[Page]:
        """Give the givers' page."""
        return [Page("givers.html", "givers.html", GiversPage(self.edition).view())]

    @staticmethod
    def task(part: Callable[[], list[Page]], issue: Issue) -> Made:
        """Make a part's views, and of those that still stand no more than their keys."""
        pages = part()
        keys = {page.name: issue.templates.key(page) for page in pages}
        standing = [page.name for page in pages if issue.stands(page.name, keys[page.name])]
        made = [page for page in pages if page.name not in standing]
        return Made([(name, None) for name in standing], keys, made, {})


def last_pages(edition: Edition) -> Iterator[Page]:
    """Give what machines read, and the mark of the site."""
    yield Page("feed.xml", "feed.xml", feed(edition, MonthPages(edition)))
    plan = sitemap(edition, pages_of(edition))
    if plan is not None:
        yield Page("sitemap.xml", "sitemap.xml", plan)
    yield Page("favicon.svg", "favicon.svg", {})


def pages_of(edition: Edition) -> list[str]:
    """Name the pages that people read, the first page first."""
    bins = [edition.bin_pages[name] for name in edition.household.bins]
    years = [year_file(year) for year in edition.years]
    return [
        HOME, *years, "givers.html", "bins.html", *bins, "bedding.html", "garden.html", "reckoning.html",
        *map(month_file, edition.months),
    ]  # fmt: skip


def year_file(year: str) -> str:
    """Give the name of a year's page."""
    return f"year-{year}.html"


def month_file(month: str) -> str:
    """Give the name of a month's page."""
    return f"{month}.html"


class Months:
    """What is made month by month, as tasks: the pages and the tables of the data.

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
        tables = [partial(self._table, table) for table in TABLES]
        months = in_groups(list(self.edition.months), AT_A_TIME)
        return [*tables, *(partial(self._months, some) for some in months)]

    def _table(self, table: Table) -> Made:
        memory = Addition(self.issue.memory)
        months = RememberedMonths(memory, self.rests.moved)
        return Made([(path_of(table), table_file(self.rows, table, months))], {}, [], memory.new)

    def _months(self, months: Sequence[str]) -> Made:
        memory, keys = Addition(self.issue.memory), {}
        files: list[tuple[str, bytes | None]] = []
        for month in months:
            page = Page.later(
                month_file(month), "month.html", self.rests.digest(month), partial(self.pages.view, month)
            )
            key = keys[page.name] = self.issue.templates.key(page)
            data = None if self.issue.stands(page.name, key) else self.issue.templates.made(page, memory)
            files.append((page.name, data))
        return Made(files, keys, [], memory.new)
