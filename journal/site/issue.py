"""One publication under way: what is remembered, who helps, and what still stands from the last one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from journal.notes.tasks import Divided, one_by_one
from journal.site.draughtsman import Chart, Draughtsman, chart_key, charts_in
from journal.site.memory import Memory, Recollection
from journal.site.templates import Page, Templates


class Made(NamedTuple):
    """What a task made.

    ``files`` are pairs of a name and bytes, None where the file still stands; ``keys`` are theirs by name;
    ``pages`` are yet to be drawn; ``new`` is to be remembered; ``tables`` says how tables are described, by
    name, and ``moved`` gives the rows of the months' movements; ``words`` is the HTML of stretches of words.
    """

    files: Sequence[tuple[str, bytes | None]] = ()
    keys: Mapping[str, str] = {}
    pages: Sequence[Page] = ()
    new: Mapping[str, bytes] = {}
    tables: Mapping[str, Mapping[str, Any]] = {}
    moved: Mapping[str, bytes] = {}
    words: Mapping[str, str] = {}


class Waiting(NamedTuple):
    """A page with its key, and its charts that are being drawn, each under its own."""

    page: Page
    key: str
    charts: Mapping[str, Chart]
    draughtsman: Draughtsman

    @property
    def is_over(self) -> bool:
        """Whether all of its charts are drawn by now."""
        return all(map(self.draughtsman.has, self.charts))


class Hands(NamedTuple):
    """Who helps: ``divided`` does tasks; ``ahead`` gives what was begun before the journal was read.

    ``errands`` are tasks of the caller's, which can be done while the ledger is written up; ``own`` are for
    the first process alone, which adds all figures up.  ``heavy`` does tasks that are few and long.
    """

    divided: Divided = one_by_one
    ahead: Iterable[Made] = ()
    errands: Sequence[Callable[[], Made]] = ()
    own: Sequence[Callable[[], Made]] = ()
    heavy: Divided = one_by_one


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
        hands: Hands | None = None,
        stands: Callable[[str, str], bool] = lambda _name, _key: False,
    ) -> None:
        self.templates = templates
        self.memory: Memory = Recollection() if memory is None else memory
        self.draughtsman = draughtsman
        self.hands = hands or Hands()
        self.stands = stands
        self.keys: dict[str, str] = {}

    def ready(self, page: Page) -> tuple[str, bytes | None] | Waiting:
        """Give a page that needs no drawing any more; of another, have its charts drawn."""
        key = self.keys[page.name] = self.templates.key(page)
        if self.stands(page.name, key):
            return page.name, None
        if self.draughtsman is not None and self.memory.get(key) is None:
            charts = {chart_key(chart): chart for chart in charts_in(page.view)}
            missing = {name: chart for name, chart in charts.items() if self.memory.get(name) is None}
            if missing:
                for name, chart in missing.items():
                    self.draughtsman.ask(name, chart)
                return Waiting(page, key, missing, self.draughtsman)
        return page.name, self.templates.render(page, self.memory, key)

    def drawn(self, waiting: Waiting) -> tuple[str, bytes]:
        """Give a page whose charts were to be drawn."""
        for name, chart in waiting.charts.items():
            self.memory.put(name, waiting.draughtsman.take(name, chart))
        return waiting.page.name, self.templates.render(waiting.page, self.memory, waiting.key)

    def learn(self, made: Made) -> None:
        """Take over what a task found out."""
        self.keys.update(made.keys)
        self.templates.words.update(made.words)
        for key, data in made.new.items():
            self.memory.put(key, data)
