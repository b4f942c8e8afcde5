"""The table of pages: what the site consists of, in the order in which it is made.

A page is plain values and the name of the template that lays them out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import chain
from typing import Any

from journal.site.apart import Apart, month_file, year_file
from journal.site.cards import card
from journal.site.edition import HOME, Edition
from journal.site.issue import Issue, Made, Waiting
from journal.site.templates import Page
from journal.site.views.described import feed, sitemap
from journal.site.views.givers import GiversPage
from journal.site.views.home import HomePage
from journal.site.views.months import MonthPages
from journal.site.views.reckoning import ReckoningPage

GIVERS = "givers.html"


def site(edition: Edition, issue: Issue) -> Iterator[tuple[str, bytes | None]]:
    """Give every file of the site, name and bytes, or None where it still stands.  Raises TemplateProblem."""
    apart = Apart(edition, issue)
    hands = issue.hands
    meanwhile = hands.divided(hands.errands) if hands.errands else ()
    edition.tally.write_up()  # before the process is copied again: both need it whole
    apart.share()
    for made in chain(hands.ahead, meanwhile):
        issue.learn(made)
    begun: Iterable[Made] = hands.divided(apart.tasks())
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
    for made in chain([apart.figures()], (task() for task in hands.own), begun):
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
    """Give every page but those made apart, its view made when it is reached.

    Those with most charts come first, so that the draughtsman is never without work.
    """
    yield Page(HOME, "index.html", HomePage(edition).view())
    yield Page(GIVERS, "givers.html", GiversPage(edition).view())
    yield Page("reckoning.html", "reckoning.html", ReckoningPage(edition).view())
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
