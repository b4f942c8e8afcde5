"""The table of pages: what the site consists of, in the order in which it is made.

``pages`` gives every file that is made of the journal's text and figures; the pictures come from
``Edition.picture_files``.  A page is plain values and the name of the template that lays them out.
"""

from __future__ import annotations

from collections.abc import Iterator

from journal.site.cards import card
from journal.site.dataset import data_files
from journal.site.edition import HOME, Edition
from journal.site.memory import Memory, Recollection
from journal.site.templates import Page, Templates
from journal.site.views.bedding import BeddingPage
from journal.site.views.bins import BinPages
from journal.site.views.described import feed, sitemap
from journal.site.views.garden import GardenPage
from journal.site.views.givers import GiversPage
from journal.site.views.home import HomePage
from journal.site.views.months import MonthPages
from journal.site.views.reckoning import ReckoningPage
from journal.site.views.years import YearPages

__all__ = ["Edition", "Page", "pages", "site"]


def pages(edition: Edition) -> Iterator[Page]:
    """Give every page of the site, its view made when it is reached."""
    names = []
    for page in _leaves(edition):
        names.append(page.name)
        yield page
    months, years = MonthPages(edition), YearPages(edition)
    for year in edition.years:
        yield Page(f"sheet-{year}.html", "sheet.html", years.mailed(year))
    yield Page("feed.xml", "feed.xml", feed(edition, months))
    plan = sitemap(edition, names)
    if plan is not None:
        yield Page("sitemap.xml", "sitemap.xml", plan)
    yield Page("favicon.svg", "favicon.svg", {})


def _leaves(edition: Edition) -> Iterator[Page]:
    """Give the pages that people read, the first page first."""
    yield Page(HOME, "index.html", HomePage(edition).view())
    years, months, bins = YearPages(edition), MonthPages(edition), BinPages(edition)
    for year in edition.years:
        yield Page(f"year-{year}.html", "year.html", years.view(year))
    for month in edition.months:
        yield Page(f"{month}.html", "month.html", months.view(month))
    yield Page("givers.html", "givers.html", GiversPage(edition).view())
    yield Page("bins.html", "bins.html", bins.overview())
    for name in bins.sheets:
        yield Page(edition.bin_pages[name], "bin.html", bins.view(name))
    yield Page("bedding.html", "bedding.html", BeddingPage(edition).view())
    yield Page("garden.html", "garden.html", GardenPage(edition).view())
    yield Page("reckoning.html", "reckoning.html", ReckoningPage(edition).view())


def site(edition: Edition, templates: Templates, memory: Memory | None = None) -> Iterator[tuple[str, bytes]]:
    """Give every file of the site, name and bytes.  Raises TemplateProblem."""
    kept: Memory = Recollection() if memory is None else memory
    for page in pages(edition):
        yield page.name, templates.render(page, kept)
    yield from data_files(edition.tally, edition.line_address).items()
    for year in edition.years:
        yield f"cards/{year}.png", card(edition, year, kept)
    yield from edition.picture_files()
