"""What the page of a month rests on, as a digest: as long as it is the same, so is the page.

It is far quicker to work out than the page.  Amounts need not be in it: they follow from the words of a line
and from what household.yaml and the recipes of the batches say, which are.
"""

from __future__ import annotations

import hashlib
import marshal
from collections.abc import Iterator
from typing import Any

from journal.measures.periods import month_key
from journal.notes.records import Line
from journal.reckoning.movements import Account
from journal.site.edition import Edition
from journal.site.memory import plain


class MonthRests:
    """Gives the digests of one edition's months."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.order = list(edition.months)
        self._common = self._of_all()
        self._moved: dict[str, list[Any]] = {}
        self._shown: dict[str, list[Any]] = {}
        self._gather()

    def digest(self, month: str) -> str:
        """Give the digest of all that the page of a month rests on."""
        here = self.order.index(month)
        around = self.order[max(here - 1, 0) : here + 2]
        return _digest((self._common, month, around, list(self._entries(month)), self._shown.get(month, [])))

    def moved(self, month: str) -> str:
        """Give the digest of all that the rows of a month's movements rest on, but what is told of others."""
        return _digest((self._common, month, self._moved.get(month, [])))

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

    def _gather(self) -> None:
        """Gather the movements of each month: all about them, and what of them its page shows.

        Of movements that add to no figure a page shows only from where to where a line's went, each way once;
        that stays the same where paper on hand is older or newer than it was.  A line that bears another date
        than its entry is on two pages.
        """
        edition = self.edition
        records, entries = edition.notes.records, edition.notes.entries
        adds = edition.tally.diversion.adds
        months = {date: month_key(date) for date in {entry.date for entry in entries}}
        lines = [
            (edition.line_address(index), months[entries[record.entry].date], entries[record.entry].private)
            for index, record in enumerate(records)
        ]
        accounts: dict[Account, tuple[str, str]] = {}
        ways: set[Any] = set()
        for movement in edition.tally.ledger.movements:
            origin, amount = movement.origin, movement.amount
            line = lines[movement.record]
            way = (line, _plain(accounts, movement.source), _plain(accounts, movement.target))
            told = (
                way, amount.words, amount.kg, movement.share, movement.material, movement.counted,
                movement.inferred, origin and (origin.giver, origin.stream, origin.material),
            )  # fmt: skip
            month = months.get(movement.date)
            if month is None:
                month = months[movement.date] = month_key(movement.date)
            self._moved.setdefault(month, []).append((told, origin and lines[origin.record][2]))
            shown: Any = told
            if not adds(movement):
                if way in ways:
                    continue
                ways.add(way)
                shown = way
            self._shown.setdefault(month, []).append(shown)
            if line[1] != month:
                self._shown.setdefault(line[1], []).append(shown)


def _plain(known: dict[Account, tuple[str, str]], account: Account) -> tuple[str, str]:
    """Give an account as a plain pair, the same one each time."""
    found = known.get(account)
    if found is None:
        found = known[account] = (account.kind, account.name)
    return found


def _digest(values: Any) -> str:  # noqa: ANN401 - whatever marshal takes
    """Give the digest of plain values; format 2 of marshal writes equal values alike."""
    return hashlib.blake2b(marshal.dumps(values, 2), digest_size=20).hexdigest()
