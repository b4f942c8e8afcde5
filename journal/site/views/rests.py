"""What the page of a month or a year rests on, as a digest: as long as it is the same, so is the page.

It is far quicker to work out than the page.  The amounts of a line need not be in it: they follow from its
words and from household.yaml and the amounts that batches are made of, which are.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import marshal
from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import Any

from journal.measures.periods import month_key
from journal.notes.records import Line, Record
from journal.reckoning.movements import Account, Movement
from journal.site.edition import Edition
from journal.site.memory import plain


class Rests:
    """Gives the digests of one edition's months and years, each worked out when it is asked for."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.movements = edition.tally.moved
        self.order = list(edition.months)
        self._common = self._of_all()
        self._accounts: dict[Account, tuple[str, str]] = {}
        self._last: tuple[str, list[tuple[Any, ...]]] = "", []
        self._digests: dict[str, str] = {}

    def year(self, year: str) -> str:
        """Give the digest of all that the page and the sheet of a year rest on."""
        edition = self.edition
        here = edition.years.index(year)
        around = edition.years[max(here - 1, 0) : here + 2]
        last_day = min(edition.as_of, dt.date(int(year), 12, 31)).toordinal()
        months = [self.digest(month) for month in edition.months_of(year)]
        records = edition.notes.records
        strays = [records[index].text for index in self.stray_lines if records[index].date.year == int(year)]
        places = (list(edition.bin_pages.items()), list(edition.planting_anchors.items()))
        return _digest((self._common, year, around, here, last_day, months, strays, places))

    def digest(self, month: str) -> str:
        """Give the digest of all that the page of a month rests on."""
        found = self._digests.get(month)
        if found is None:
            found = self._digests[month] = self._digest_of(month)
        return found

    def _digest_of(self, month: str) -> str:
        here = self.order.index(month)
        around = self.order[max(here - 1, 0) : here + 2]
        strangers = self.strays_into.get(month, [])
        entries = list(self._entries(month))
        return _digest((self._common, month, around, entries, strangers, self._shown(month)))

    def moved(self, month: str) -> str:
        """Give the digest of all that the rows of a month's movements rest on, but what is told of others."""
        private = [
            movement.origin and self.is_private[movement.origin.record]
            for movement in (self.movements.get(month, ()) if self.holds_private else ())
        ]
        return _digest((self._common, month, self._told_in(month), private))

    def _of_all(self) -> str:
        """What all pages rest on: the frame, household.yaml, recipes, pictures, how names are shown."""
        edition = self.edition
        notes = edition.notes
        recipes = [_recipe(record) for record in notes.records if record.verb == "mixed"]
        pictures = sorted((path, one.view()) for path, one in edition.gallery.ready.items())
        names = (
            sorted(notes.batches.items()), sorted(edition.open_words),
            list(edition.givers.items()), list(edition.batch_anchors.items()), sorted(edition.kept_back),
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
        for movement, told in zip(movements, [*self._told_in(month), *self._told(strays)], strict=True):
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
            self._last = month, self._told(self.movements.get(month, ()))
        return self._last[1]

    @cached_property
    def is_private(self) -> list[bool]:
        """For each record, whether its entry is kept private."""
        private = [entry.private for entry in self.edition.notes.entries]
        return [private[record.entry] for record in self.edition.notes.records]

    @cached_property
    def holds_private(self) -> bool:
        """Whether any entry is."""
        return any(entry.private for entry in self.edition.notes.entries)

    @cached_property
    def strays(self) -> dict[str, list[Movement]]:
        """The movements of lines that bear another month than their entry, by the entry's."""
        found: dict[str, list[Movement]] = {}
        strays = self.stray_lines
        if strays:
            for movements in self.movements.values():
                for movement in movements:
                    month = strays.get(movement.record)
                    if month is not None:
                        found.setdefault(month, []).append(movement)
        return found

    @cached_property
    def stray_lines(self) -> dict[int, str]:
        """The month of the entry of each line that bears another month than its entry."""
        entries = self.edition.notes.entries
        found: dict[int, str] = {}
        for index, record in enumerate(self.edition.notes.records):
            day = entries[record.entry].date
            if record.date != day and month_key(record.date) != month_key(day):
                found[index] = month_key(day)
        return found

    @cached_property
    def strays_into(self) -> dict[str, list[tuple[str, int, str]]]:
        """By month, the lines that bear it but stand in another's entry: address, day, and file."""
        found: dict[str, list[tuple[str, int, str]]] = {}
        for index in self.stray_lines:
            record = self.edition.notes.records[index]
            told = (self.edition.addresses[1][index], record.date.toordinal(), record.place.file)
            found.setdefault(month_key(record.date), []).append(told)
        return found

    def _told(self, movements: Iterable[Movement]) -> list[tuple[Any, ...]]:
        """Tell all about movements, of each first which line went from where to where."""
        lines, private = self.edition.addresses[1], self.is_private
        accounts = self._accounts
        told: list[tuple[Any, ...]] = []
        for movement in movements:
            record, origin, amount = movement.record, movement.origin, movement.amount
            source = accounts.get(movement.source) or self._account(movement.source)
            target = accounts.get(movement.target) or self._account(movement.target)
            whose = origin and (origin.giver, origin.stream, origin.material)
            told.append((
                ((lines[record], private[record]), source, target), amount.words, amount.kg, movement.share,
                movement.material, movement.counted, movement.inferred, whose,
            ))  # fmt: skip
        return told

    def _account(self, account: Account) -> tuple[str, str]:
        """Give an account as a plain pair, the same one each time."""
        return self._accounts.setdefault(account, (account.kind, account.name))


def _recipe(record: Record) -> tuple[Any, ...]:
    """Give all that a batch is made of as plain values: in the words of its line, or of the list below it."""
    amounts = [
        (one.words, one.material, one.kg, one.own, sorted(one.shared.items()), one.how, one.litres)
        for one in record.amounts
    ]
    return record.text, amounts, [line.text for line in record.listed]


def _digest(values: Any) -> str:  # noqa: ANN401 - whatever marshal takes
    """Give the digest of plain values; format 2 of marshal writes equal values alike."""
    return hashlib.blake2b(marshal.dumps(values, 2), digest_size=20).hexdigest()
