"""What is made apart: most of a site, without charts, and sharing little with the other pages.

It is a list of tasks, which a second process can begin while the first makes all other pages.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cached_property, partial
from typing import Any

from journal.notes.records import Entry
from journal.notes.tasks import in_groups
from journal.site import pictures, prose
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
from journal.site.edition import Edition
from journal.site.issue import Issue, Made
from journal.site.memory import Addition, remembered
from journal.site.templates import Page
from journal.site.views.givers import GiversPage
from journal.site.views.month_rests import MonthRests
from journal.site.views.months import MonthPages

GIVERS = "givers.html"
AT_A_TIME = 4
"""About so many months are one task: few, that both processes end together, yet worth the asking."""

ENTRIES_AT_A_TIME = 100
Task = Callable[[], Made]


class Apart:
    """What is made apart, as tasks: the months' pages, the tables of the data, and the givers' page.

    What they share is worked out when the first of them is done, unless ``share`` was called before.
    """

    def __init__(self, edition: Edition, issue: Issue) -> None:
        self.edition = edition
        self.issue = issue
        self.pages = MonthPages(edition)
        self.rows = Rows(edition.tally, edition.line_address, edition.discretion)

    @cached_property
    def rests(self) -> MonthRests:
        """What each month rests on."""
        return MonthRests(self.edition)

    def tasks(self) -> list[Task]:
        """Give all tasks, the longest first."""
        order = sorted({*self.edition.months, *self.rows.months})
        tables = [partial(self._table, table) for table in OTHERS]
        return [self._givers, *tables, *(partial(self._months, some) for some in in_groups(order, AT_A_TIME))]

    def beforehand(self) -> list[Task]:
        """Give tasks that can be done before anything is reckoned: they set the words of the entries."""
        return [
            partial(self._words, some) for some in in_groups(self.edition.notes.entries, ENTRIES_AT_A_TIME)
        ]

    def share(self) -> None:
        """Have worked out what both processes need, before one is copied: each would do it for itself."""
        shared = (
            (self.edition, ("addresses", "givers", "open_words", "batch_anchors", "site")),
            (self.rows, ("told", "line_ids", "told_of_others")),
            (self.pages, ("cells", "neighbours", "giver_places")),
            (self.rests, ("strays",)),
        )
        for holder, names in shared:
            for name in names:
                getattr(holder, name)
        self.issue.templates.load("month.html")

    def data(
        self, tables: Mapping[str, Mapping[str, Any]], moved: Mapping[str, bytes]
    ) -> Iterator[tuple[str, bytes]]:
        """Give what of the data package rests on all tasks: the movements, and what describes the tables."""
        file = movements_file(self.rows, moved)
        yield path_of(MOVEMENTS), file
        described = {**tables, MOVEMENTS.name: resource(MOVEMENTS, file)}
        yield DESCRIPTOR, descriptor_file(self.rows, described)

    def _words(self, entries: Sequence[Entry]) -> Made:
        stretches = [view for entry in entries for view in self.pages.words_of(entry)]
        texts = {view["words"] for view in stretches if not view["pictures"]}
        return Made(words={text: prose.render(text, pictures.shown({})) for text in texts})

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
        moved: dict[str, bytes] = {}
        files: list[tuple[str, bytes | None]] = []
        for month in months:
            if month in self.rows.months:
                key = movements_key(self.rows, month, self.rests.moved(month))
                moved[month] = remembered(memory, key, partial(movements_of, self.rows, month))
            if month in self.edition.months:
                view = partial(self.pages.view, month)
                page = Page.later(month_file(month), "month.html", self.rests.digest(month), view)
                key = keys[page.name] = self.issue.templates.key(page)
                data = None if self.issue.stands(page.name, key) else self.issue.templates.made(page, memory)
                files.append((page.name, data))
        return Made(files, keys, new=memory.new, moved=moved)


def month_file(month: str) -> str:
    """Give the name of a month's page."""
    return f"{month}.html"
