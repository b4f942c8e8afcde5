"""The table of pages: what the site consists of, in the order in which it is made.

``pages`` gives every file that is made of the journal's text and figures; the pictures come from
``Edition.picture_files``.  A page is plain values and the name of the template that lays them out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from journal.site.cards import card
from journal.site.dataset import RememberedMonths, data_files
from journal.site.draughtsman import Draughtsman, chart_key, charts_in
from journal.site.edition import HOME, Edition
from journal.site.memory import Memory, Recollection
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

__all__ = ["Edition", "Issue", "Page", "pages", "site"]


def pages(edition: Edition, rests: MonthRests) -> Iterator[Page]:
    """Give every page of the site, its view made when it is reached."""
    names = []
    months, years = MonthPages(edition), YearPages(edition)
    for page in _leaves(edition, months, years, rests):
        names.append(page.name)
        yield page
    for year in edition.years:
        yield Page(f"sheet-{year}.html", "sheet.html", years.mailed(year))
    yield Page("feed.xml", "feed.xml", feed(edition, months))
    plan = sitemap(edition, names)
    if plan is not None:
        yield Page("sitemap.xml", "sitemap.xml", plan)
    yield Page("favicon.svg", "favicon.svg", {})


def _leaves(edition: Edition, months: MonthPages, years: YearPages, rests: MonthRests) -> Iterator[Page]:
    """Give the pages that people read, the first page first."""
    yield Page(HOME, "index.html", HomePage(edition).view())
    bins = BinPages(edition)
    for year in edition.years:
        yield Page(f"year-{year}.html", "year.html", years.view(year))
    yield Page("givers.html", "givers.html", GiversPage(edition).view())
    yield Page("bins.html", "bins.html", bins.overview())
    for name in bins.sheets:
        yield Page(edition.bin_pages[name], "bin.html", bins.view(name))
    yield Page("bedding.html", "bedding.html", BeddingPage(edition).view())
    yield Page("garden.html", "garden.html", GardenPage(edition).view())
    yield Page("reckoning.html", "reckoning.html", ReckoningPage(edition).view())
    for month in edition.months:
        yield Page.later(f"{month}.html", "month.html", rests.digest(month), partial(months.view, month))


class Issue:
    """One publication under way: what is remembered, who draws, and what still stands from the last one.

    ``stands`` says of a file's name and key whether the last publication laid just that, and it is still
    there; such a file is given without bytes.  ``keys`` holds the key of each file that has one.
    """

    def __init__(
        self,
        templates: Templates,
        memory: Memory | None = None,
        draughtsman: Draughtsman | None = None,
        stands: Callable[[str, str], bool] = lambda _name, _key: False,
    ) -> None:
        self.templates = templates
        self.memory: Memory = Recollection() if memory is None else memory
        self.draughtsman = draughtsman
        self.stands = stands
        self.keys: dict[str, str] = {}

    def ready(self, page: Page) -> Iterator[tuple[str, bytes | None]]:
        """Give a page that needs no drawing any more; of another, have its charts drawn."""
        key = self.keys[page.name] = self.templates.key(page)
        if self.stands(page.name, key):
            yield page.name, None
            return
        if self.draughtsman is not None and page.make is None and self.memory.get(key) is None:
            missing = [chart for chart in charts_in(page.view) if self.memory.get(chart_key(chart)) is None]
            for chart in missing:
                self.draughtsman.ask(chart)
            if missing:
                return
        yield page.name, self.templates.render(page, self.memory)

    def drawn(self, page: Page) -> tuple[str, bytes]:
        """Give a page whose charts were to be drawn."""
        for chart in charts_in(page.view):
            key = chart_key(chart)
            if self.draughtsman is not None and self.memory.get(key) is None:
                self.memory.put(key, self.draughtsman.take(chart))
        return page.name, self.templates.render(page, self.memory)


def site(edition: Edition, issue: Issue) -> Iterator[tuple[str, bytes | None]]:
    """Give every file of the site, name and bytes, or None where it still stands.  Raises TemplateProblem."""
    waiting = []
    rests = MonthRests(edition)
    for page in pages(edition, rests):
        done = list(issue.ready(page))
        yield from done
        if not done:
            waiting.append(page)
    yield from data_files(
        edition.tally, edition.line_address, RememberedMonths(issue.memory, rests.moved)
    ).items()
    for year in edition.years:
        yield f"cards/{year}.png", card(edition, year, issue.memory)
    yield from edition.picture_files()
    for page in waiting:
        yield issue.drawn(page)
