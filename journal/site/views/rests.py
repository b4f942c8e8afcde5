"""What the page of a month rests on, as a digest: as long as it is the same, so is the page.

It is far quicker to work out than the page.  Amounts need not be in it: they follow from the words of a line
and from what household.yaml and the recipes of the batches say, which are.
"""

from __future__ import annotations

import hashlib
import marshal
from collections.abc import Iterator
from functools import cached_property
from typing import Any

from journal.measures.periods import month_key
from journal.notes.records import Line
from journal.reckoning.movements import Account, Movement
from journal.site.edition import Edition
from journal.site.memory import plain


class MonthRests:
    """Gives the digests of one edition's months, each worked out when it is asked for."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.movements = edition.tally.moved
        self.order = list(edition.months)
        self._common = self._of_all()
        self._accounts: dict[Account, tuple[str, str]] = {}
        self._last: tuple[str, list[tuple[Any, ...]]] = "", []

    def digest(self, month: str) -> str:
        """Give the digest of all that the page of a month rests on."""
        here = self.order.index(month)
        around = self.order[max(here - 1, 0) : here + 2]
        return _digest((self._common, month, around, list(self._entries(month)), self._shown(month)))

    def moved(self, month: str) -> str:
        """Give the digest of all that the rows of a month's movements rest on, but what is told of others."""
        records, entries = self.edition.notes.records, self.edition.notes.entries
        private = [
            movement.origin and entries[records[movement.origin.record].entry].private
            for movement in self.movements.get(month, ())
        ]
        return _digest((self._common, month, self._told_in(month), private))

    def _of_all(self) -> str:
        """What all pages rest on: the frame, household.yaml, recipes, pictures, how names are shown."""
        edition = self.edition
        notes = edition.notes
        recipes = [record.text for record in notes.records if record.verb == "mixed"]
        pictures = sorted((path, one.view()) for path, one in edition.gallery.ready.items())
        names = (
            sorted(notes.batches.items()), sorted(edition.open_words),
            list(edition.givers.items()), list(edition.batch_anchors.items()),
        )  # fmt: skip
        parts = (edition.site, repr(notes.household), recipes, names, pictures)
        return hashlib.blake2b(plain(parts).encode(), digest_size=20).hexdigest()

    def _entries(self, month: str) -> Iterator[Any]:
        notes = self.edition.notes
        for index in self.edition.months[month]:
            entry = notes.entries[index]
            yield (entry.date.toordinal(), entry.title, entry.private, entry.place.file)
            for block in entry.blocks:
                if isinstance(block, Line):
                    record = notes.records[block.record]
                    yield (record.text, record.date.toordinal())
                else:
                    yield (block.text, block.place.file)

    def _shown(self, month: str) -> list[Any]:
        """Give what a month's page shows of movements: of its days, and of its entries' lines of other days.

        Of movements that add to no figure a page shows only from where to where a line's went, each way once;
        that stays the same where paper on hand is older or newer than it was.
        """
        adds = self.edition.tally.diversion.adds
        shown: list[Any] = []
        ways: set[Any] = set()
        strays = self.strays.get(month, ())
        movements = (*self.movements.get(month, ()), *strays)
        for movement, told in zip(movements, [*self._told_in(month), *map(self._told, strays)], strict=True):
            if adds(movement):
                shown.append(told)
                continue
            way = told[0]
            if way not in ways:
                ways.add(way)
                shown.append(way)
        return shown

    def _told_in(self, month: str) -> list[tuple[Any, ...]]:
        """Tell all about a month's movements; the last month's are kept, since each is asked for twice."""
        if self._last[0] != month:
            self._last = month, [self._told(movement) for movement in self.movements.get(month, ())]
        return self._last[1]

    @cached_property
    def strays(self) -> dict[str, list[Movement]]:
        """The movements of lines that bear another month than their entry, by the entry's."""
        records, entries = self.edition.notes.records, self.edition.notes.entries
        strays: dict[str, list[Movement]] = {}
        for month, movements in self.movements.items():
            for movement in movements:
                entry = entries[records[movement.record].entry]
                if entry.date != movement.date and month_key(entry.date) != month:
                    strays.setdefault(month_key(entry.date), []).append(movement)
        return strays

    def _way(self, movement: Movement) -> tuple[Any, ...]:
        """Tell from where to where a movement of which line went."""
        edition = self.edition
        entry = edition.notes.entries[edition.notes.records[movement.record].entry]
        line = (edition.line_address(movement.record), entry.private)
        return line, _plain(self._accounts, movement.source), _plain(self._accounts, movement.target)

    def _told(self, movement: Movement) -> tuple[Any, ...]:
        """Tell all about a movement."""
        origin, amount = movement.origin, movement.amount
        return (
            self._way(movement), amount.words, amount.kg, movement.share, movement.material, movement.counted,
            movement.inferred, origin and (origin.giver, origin.stream, origin.material),
        )  # fmt: skip


def _plain(known: dict[Account, tuple[str, str]], account: Account) -> tuple[str, str]:
    """Give an account as a plain pair, the same one each time."""
    found = known.get(account)
    if found is None:
        found = known[account] = (account.kind, account.name)
    return found


def _digest(values: Any) -> str:  # noqa: ANN401 - whatever marshal takes
    """Give the digest of plain values; format 2 of marshal writes equal values alike."""
    return hashlib.blake2b(marshal.dumps(values, 2), digest_size=20).hexdigest()
