"""The rows of the data package: what of each movement, line and reading may travel.

Of an entry that is private, or of a household that shares no entries, a row tells date, kg, stream, giver
as shown, kinds of account and the bins and plantings that shared entries name too: no material, no batch, no
words.  A name that stands in no shared entry never travels, not even where a shared line draws on it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cached_property
from typing import Any

from journal.notes.household import FATES
from journal.notes.records import Record
from journal.reckoning.diversion import CASTINGS, FIGURES
from journal.reckoning.movements import Account, Movement, Origin
from journal.reckoning.tally import OURSELVES, Tally
from journal.site.dataset_text import EVERYWHERE, HERE, cause_name, decimal, written_causes
from journal.site.discretion import AMOUNTS, WORDS, Discretion
from journal.site.memory import key_of

Row = list[Any]
Link = Callable[[int], str]

Fates = tuple[str, ...]
NO_SHARES: Fates = ("",) * len(FATES)


class Rows:
    """The rows of one journal's tables."""

    def __init__(self, tally: Tally, link: Link, discretion: Discretion | None = None) -> None:
        self.tally = tally
        self.notes = tally.notes
        self.household = tally.notes.household
        self.link = link
        self.discretion = discretion or Discretion(self.household)
        self._origins: dict[tuple[str | None, str], tuple[str, str, str, Fates]] = {}
        self._ways: dict[tuple[Account, Account, str, bool], tuple[str, str, str, str, str]] = {}
        self._shown: dict[str, str] = {}
        self._written: dict[str, str] = {}
        self._days: dict[dt.date, str] = {}

    # -- what may be told ---------------------------------------------------------------------------

    @cached_property
    def told(self) -> list[bool]:
        """For each record, whether its names are told."""
        level = self.discretion.level
        shared = [level(entry) != AMOUNTS for entry in self.notes.entries]
        return [shared[record.entry] for record in self.notes.records]

    @cached_property
    def names(self) -> frozenset[str]:
        """All names that stand in a shared line: materials, batches, bins, plantings, causes of doubt."""
        found: set[str] = {CASTINGS}
        for record, told in zip(self.notes.records, self.told, strict=True):
            if told:
                found.update(names_in(record))
        return frozenset(found)

    @cached_property
    def hidden_causes(self) -> Mapping[str, int]:
        """The causes of doubt that stand in no shared line, numbered in the order of their first line."""
        found: dict[str, int] = {}
        for record in self.notes.records:
            for amount in record.amounts:
                for name in amount.shared:
                    if name not in self.names:
                        found.setdefault(name, len(found) + 1)
        return found

    def name(self, name: str, *, told: bool = True) -> str:
        """Give a name as it may be told, or the empty text."""
        if not told or name not in self.names:
            return ""
        shown = self._shown.get(name)
        if shown is None:
            shown = self._shown[name] = self.discretion.words(name)
        return shown

    def account(self, account: Account, *, told: bool) -> str:
        """Give the name of an account as it may be told."""
        if account.kind in {"giver", "given away"}:
            return self.discretion.giver(account.name or None)
        return self.name(account.name, told=told or account.kind in {"bin", "planting"})

    @cached_property
    def causes(self) -> Mapping[str, tuple[str, str]]:
        """Whose each cause of doubt is, and its name as it may be told, each cause under one name only."""
        names = {name for record in self.notes.records for amount in record.amounts for name in amount.shared}
        found: dict[str, tuple[str, str]] = {}
        for name in sorted(names):
            whose = EVERYWHERE if is_of_the_catalogue(name, self.tally) else HERE
            shown = cause_name(self.name(name)) or f"measure {self.hidden_causes[name]} of private entries"
            if whose == EVERYWHERE and name not in self.names:
                whose = HERE
            while (whose, shown) in found.values():
                shown += "*"
            found[name] = (whose, shown)
        return found

    @cached_property
    def told_of_others(self) -> str:
        """A digest of what rows rest on besides their movements: causes, and names that may be told."""
        return key_of("told", sorted(self.causes.items()), [] if all(self.told) else sorted(self.names))

    # -- the tables ---------------------------------------------------------------------------------

    @cached_property
    def line_ids(self) -> list[str]:
        """For each record its stable name: the date and its number on that day."""
        on_day: dict[dt.date, int] = {}
        ids = []
        for record in self.notes.records:
            nth = on_day[record.date] = on_day.get(record.date, 0) + 1
            ids.append(f"{self._day(record.date)}.{nth}")
        return ids

    @property
    def months(self) -> dict[str, list[Movement]]:
        """The movements month by month."""
        return self.tally.moved

    def movements(self, movements: Iterable[Movement]) -> Iterator[Row]:
        """Give the rows of movements; all movements of a day are to be among them."""
        on_day: dict[dt.date, int] = {}
        marks: dict[int, dict[str, str]] = {}
        told_of, ids, link, records, days = (
            self.told,
            self.line_ids,
            self.link,
            self.notes.records,
            self._days,
        )
        ways, origins = self._ways, self._origins
        for movement in movements:
            record, date, share, origin = movement.record, movement.date, movement.share, movement.origin
            number = on_day[date] = on_day.get(date, 0) + 1
            kg, _, words, own, shared, how, _, _ = movement.amount
            told, day = told_of[record], days.get(date) or self._day(date)
            if origin is None:
                (stream, matter, giver), arrived_as, fates = self._what(movement), "", NO_SHARES
            else:
                found = origins.get((origin.giver, origin.stream)) or self._of_origin(origin)
                stream, matter, giver, fates = found
                arrived_as = self.name(origin.material, told=told and told_of[origin.record])
            way = (movement.source, movement.target, movement.material, told)
            if share == 1.0:
                mark = ""
            else:
                mark, kg, own = self._mark(movement, marks), kg * share, own * share
            yield [
                f"{day}-{number}",
                day,
                ids[record],
                link(record),
                records[record].verb,
                *(ways.get(way) or self._way(movement, told=told)),
                arrived_as,
                stream,
                matter,
                giver,
                str(movement.counted),
                movement.inferred,
                decimal(kg),
                decimal(own),
                mark,
                self._shared_doubt(shared, share) if shared else "",
                how,
                self._as_written(words) if told else "",
                *fates,
                not told,
            ]

    def _mark(self, movement: Movement, marks: dict[int, dict[str, str]]) -> str:
        """Mark the rows of a weighing that was split, by the cause under which the reckoning adds them up."""
        of_line = marks.setdefault(movement.record, {})
        cause = f"{movement.amount.words} {movement.amount.material}"
        return of_line.setdefault(cause, f"{self.line_ids[movement.record]}/{len(of_line) + 1}")

    def _way(self, movement: Movement, *, told: bool) -> tuple[str, str, str, str, str]:
        """Give from where to where what went, each way once: kinds and names of both accounts, material."""
        source, target = movement.source, movement.target
        key = (source, target, movement.material, told)
        found = self._ways.get(key)
        if found is None:
            found = self._ways[key] = (
                source.kind,
                self.account(source, told=told),
                target.kind,
                self.account(target, told=told),
                self.name(movement.material, told=told),
            )
        return found

    def _day(self, date: dt.date) -> str:
        """Write a date; a diary has many lines of one day."""
        day = self._days.get(date)
        if day is None:
            day = self._days[date] = date.isoformat()
        return day

    def _as_written(self, words: str) -> str:
        """Give an amount's words as they may be told; most are written many times."""
        shown = self._written.get(words)
        if shown is None:
            shown = self._written[words] = self.discretion.words(words)
        return shown

    def _of_origin(self, origin: Origin) -> tuple[str, str, str, Fates]:
        """Give stream, matter, giver and shares of fates of somebody's waste."""
        key = (origin.giver, origin.stream)
        found = self._origins.get(key)
        if found is None:
            shares = self.household.shares(origin.giver, origin.stream)
            fates = tuple(decimal(shares.get(fate, 0.0)) for fate in FATES)
            giver = self.discretion.giver(origin.giver) or OURSELVES
            found = self._origins[key] = (origin.stream, "waste", giver, fates)
        return found

    def _what(self, movement: Movement) -> tuple[str, str, str]:
        """Give stream, matter and giver of what is nobody's waste, by the rules of the figures."""
        if movement.material == CASTINGS:
            return "", "castings", ""
        material = self.notes.catalogue.materials.get(movement.material)
        # Trash is our own; what is neither waste nor trash is nobody's gift.
        giver = OURSELVES if movement.target.kind == "landfill" else ""
        return "other" if material is None else material.stream, "other", giver

    def _shared_doubt(self, shared: Mapping[str, float], share: float) -> str:
        return written_causes({self.causes[name]: part * share for name, part in shared.items()})

    def lines(self) -> Iterator[Row]:
        """Give a row for each record line, those that move nothing too."""
        moves = [0] * len(self.notes.records)
        for movement in self.tally.ledger.movements:
            moves[movement.record] += 1
        words = [self.discretion.level(entry) == WORDS for entry in self.notes.entries]
        shown, day, ids, told, link = self.discretion.words, self._day, self.line_ids, self.told, self.link
        for index, record in enumerate(self.notes.records):
            yield [
                ids[index],
                day(record.date),
                link(index),
                record.verb,
                str(moves[index]),
                shown(record.text) if words[record.entry] else "",
                not told[index],
            ]

    def figures(self) -> Iterator[Row]:
        """Give the household's own totals."""
        tally = self.tally
        scopes = {
            "since start": {"all": tally.since_start}, "year": tally.years, "month": tally.months,
            "stream": tally.streams, "giver": tally.givers,
        }  # fmt: skip
        for scope, heaps in scopes.items():
            for name, figures in heaps.items():
                for each in FIGURES:
                    figure = figures.of(each)
                    yield [scope, name, each, figure.value + 0.0, figure.expanded, figure.lines]

    def readings(self) -> Iterator[Row]:
        """Give a row for each check of a bin or a batch."""
        for index, record in enumerate(self.notes.records):
            read = record.readings
            if read is None:
                continue
            told = self.told[index]
            is_bin = record.bin is not None
            of_name = record.bin if record.bin is not None else record.batch or ""
            seen = "; ".join(self.discretion.words(words).replace(";", ",") for words in read.sightings)
            yield [
                self.line_ids[index],
                record.date.isoformat(),
                self.link(index),
                "bin" if is_bin else "batch",
                self.name(of_name, told=told or is_bin),
                *with_half(read.temperature, read.temperature_half),
                *with_half(read.moisture, read.moisture_half),
                *with_half(read.acidity, read.acidity_half),
                seen if told else "",
                not told,
            ]


def with_half(value: float | None, half: float) -> tuple[float | None, float | None]:
    """Give a reading and its half-width, both empty where nothing was read."""
    return (None, None) if value is None else (float(value), float(half))


def names_in(record: Record) -> Iterator[str]:
    """Give every name that a record line tells."""
    for amount in record.amounts:
        yield amount.material
        yield from amount.shared
    yield from filter(None, (record.bin, record.source_bin, record.batch, record.planting, record.out_of))
    if record.verb == "shredded":
        yield "shredded paper"


def is_of_the_catalogue(cause: str, tally: Tally) -> bool:
    """Whether a cause of doubt is a property from the catalogue, which every household shares.

    ``density of coffee grounds`` is, unless household.yaml gives that density; a household's own bag is not.
    """
    what, joined, material_name = cause.partition(" of ")
    if not joined or cause in tally.notes.household.measures:
        return False
    prop = {"density": "density", "mass": "each", "weight": "each", "moisture": "moisture"}.get(
        what.split(" ")[0]
    )
    material = tally.notes.catalogue.find(material_name.removeprefix("one "))
    if prop is None or material is None:
        return False
    known = getattr(material, prop)
    return known is not None and known.source != "household.yaml"
