"""Slips of the pen: what was read well but is probably not what was meant.  All are remarks.

Ten times the usual, dates to come, the same line twice, harvests bigger than what went in, bins that ended or
were not started, givers that never give, waste that lies on hand for 60 days, batches used beyond what was
made.  Each can be silenced on its line with the words "it is right".
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator
from statistics import median

from journal.measures.units import POUND
from journal.notes.household import Household
from journal.notes.place import Fault, Place, Problem, problem
from journal.notes.records import Amount, Notes, Record
from journal.reckoning.movements import Ledger

TIMES = 9.5
"""A slipped decimal point makes ten times; what was meant may itself have been a little less than usual."""

LEAST_OTHERS = 4
LEAST_OTHERS_OF_STREAM = 8
LONG_ON_HAND_DAYS = 60
LEAST_LEFT = 0.05
"""Of a lot less than this part, and less than so many kg, is what scales and sacks leave behind."""

LEAST_OVERDRAWN = 0.05
UNCOUNTED_VERBS = frozenset({"checked", "spent", "earned"})
HOUSEHOLD_FILE = "household.yaml"


def slips(notes: Notes, ledger: Ledger, today: dt.date | None = None) -> list[Problem]:
    """Give all slips in the order of their places; dates to come only where ``today`` is told."""
    found = [
        *unusual(notes),
        *(to_come(notes, today) if today is not None else ()),
        *said_twice(notes),
        *harvested_beyond(notes),
        *out_of_their_time(notes),
        *silent_givers(notes),
        *long_on_hand(notes, ledger),
        *overdrawn(notes, ledger),
    ]
    return sorted(found, key=lambda slip: (slip.place, slip.fault.code))


def is_right(record: Record) -> bool:
    """Whether the keeper said of this line that it is right."""
    return record.confirmed


def unusual(notes: Notes) -> Iterator[Problem]:
    """Amounts ten times the usual of their material and verb, or where that is too new, of its stream."""
    materials = notes.catalogue.materials
    streams = {name: material.stream for name, material in materials.items()}
    weighed: dict[tuple[str, str], list[float]] = defaultdict(list)
    for record in notes.records:
        verb = record.verb
        for amount in record.amounts:
            weighed[verb, amount.material].append(amount.kg)
            weighed[verb, "of " + streams.get(amount.material, "other")].append(amount.kg)
    usual = {key: median(kgs) for key, kgs in weighed.items()}
    for record in notes.records:
        for amount in record.amounts:
            key = (record.verb, amount.material)
            needed = LEAST_OTHERS
            if len(weighed[key]) <= needed:
                key, needed = (
                    (record.verb, "of " + streams.get(amount.material, "other")),
                    LEAST_OTHERS_OF_STREAM,
                )
            # The line itself is among those weighed.
            if len(weighed[key]) > needed and amount.kg >= TIMES * usual[key] > 0 and not is_right(record):
                yield _unusual(notes.household, record, amount, usual[key])


def _unusual(household: Household, record: Record, amount: Amount, usual: float) -> Problem:
    place, words = _at(record, amount.words)
    return problem(
        Fault.TEN_TIMES, place, words, _source(record), amount=amount.words, material=amount.material,
        times=f"{amount.kg / usual:.0f}", verb=record.verb, usual=mass_words(household, usual),
    )  # fmt: skip


def to_come(notes: Notes, today: dt.date) -> Iterator[Problem]:
    """Entries and lines of a day that has not come yet."""
    for entry in notes.entries:
        if entry.date > today:
            yield problem(
                Fault.FUTURE_DATE, entry.place, entry.date.isoformat(), date=entry.date, today=today
            )
    for record in notes.records:
        if record.date > today and notes.entries[record.entry].date <= today and not is_right(record):
            yield problem(
                Fault.FUTURE_DATE,
                record.place,
                record.date.isoformat(),
                _source(record),
                date=record.date,
                today=today,
            )


def said_twice(notes: Notes) -> Iterator[Problem]:
    """Lines that say the same of the same day, word for word, however far apart they stand."""
    seen: dict[tuple[dt.date, str], Record] = {}
    for record in notes.records:
        key = (record.date, " ".join(record.text.split()).casefold())
        earlier = seen.setdefault(key, record)
        if earlier is not record and not is_right(record) and not is_right(earlier):
            yield problem(
                Fault.SAME_LINE_TWICE, record.place, record.text, _source(record), other=earlier.place
            )


def harvested_beyond(notes: Notes) -> Iterator[Problem]:
    """Harvests that bring what came out of a bin above all that ever went in; then the count begins anew."""
    put_in: dict[str, float] = defaultdict(float)
    out: dict[str, float] = defaultdict(float)
    moving = [
        (record.date, record.verb == "harvested", index)
        for index, record in enumerate(notes.records)
        if record.bin is not None and record.verb in {"fed", "bedded", "added", "moved", "harvested"}
    ]
    for _, is_harvest, index in sorted(moving):
        record = notes.records[index]
        bin_ = record.bin or ""
        kg = sum(amount.kg for amount in record.amounts)
        if not is_harvest:
            put_in[bin_] += kg
            continue
        out[bin_] += kg
        if out[bin_] <= put_in[bin_]:
            continue
        if not is_right(record):
            amount = record.amounts[0]
            place, words = _at(record, amount.words)
            fed = mass_words(notes.household, put_in[bin_])
            yield problem(
                Fault.HARVEST_TOO_BIG, place, words, _source(record), amount=amount.words, bin=bin_, fed=fed
            )
        put_in[bin_] = out[bin_] = 0.0


def out_of_their_time(notes: Notes) -> Iterator[Problem]:
    """Lines that use a bin before it was started or after it ended."""
    bins = notes.household.bins
    for record in notes.records:
        for name in dict.fromkeys((record.bin, record.source_bin)):
            bin_ = bins.get(name) if name is not None else None
            if bin_ is None or is_right(record):
                continue
            place, words = _at(record, bin_.name)
            if bin_.started is not None and record.date < bin_.started:
                yield problem(
                    Fault.BIN_NOT_STARTED,
                    place,
                    words,
                    _source(record),
                    bin=name,
                    date=record.date,
                    started=bin_.started,
                )
            elif bin_.ended is not None and record.date > bin_.ended:
                yield problem(
                    Fault.BIN_ENDED,
                    place,
                    words,
                    _source(record),
                    bin=name,
                    date=record.date,
                    ended=bin_.ended,
                )


def silent_givers(notes: Notes) -> Iterator[Problem]:
    """Givers of household.yaml that no line names."""
    if not notes.records:
        return
    named = {record.giver for record in notes.records}
    for name in notes.household.givers:
        if name not in named:
            yield problem(Fault.GIVER_NEVER_GIVES, Place(HOUSEHOLD_FILE, 1, 1), name, giver=name)


def long_on_hand(notes: Notes, ledger: Ledger) -> Iterator[Problem]:
    """Waste that has lain on hand for 60 days and more by the newest entry."""
    newest = notes.newest
    if newest is None:
        return
    for material, lots in ledger.stores.items():
        for lot in lots:
            days = (newest - lot.date).days
            record = notes.records[lot.record]
            if lot.origin is None or days < LONG_ON_HAND_DAYS or is_right(record):
                continue
            if lot.kg <= LEAST_LEFT * max(1.0, lot.origin.kg):
                continue
            place, words = _at(record, material)
            amount = mass_words(notes.household, lot.kg)
            yield problem(
                Fault.LONG_ON_HAND, place, words, _source(record), amount=amount, material=material, days=days
            )


def overdrawn(notes: Notes, ledger: Ledger) -> Iterator[Problem]:
    """Batches used beyond what was made of them."""
    for movement in ledger.movements:
        if not (movement.inferred and movement.amount.is_batch):
            continue
        record = notes.records[movement.record]
        batch = ledger.batches.get(movement.amount.material)
        made = 0.0 if batch is None else batch.made
        if movement.kg <= LEAST_OVERDRAWN * made or is_right(record):
            continue
        place, words = _at(record, movement.amount.words)
        beyond = mass_words(notes.household, movement.kg)
        yield problem(
            Fault.BATCH_OVERDRAWN, place, words, _source(record), amount=beyond,
            batch=movement.amount.material, made=mass_words(notes.household, made),
        )  # fmt: skip


def mass_words(household: Household, kg: float) -> str:
    """Write a mass to three significant figures in the household's own unit."""
    if household.units == "us":
        pounds = kg / float(POUND)
        return f"{pounds:.3g} lb" if pounds < 1000 else f"{pounds:,.0f} lb"  # noqa: PLR2004 - no powers of ten
    return f"{kg:.3g} kg" if kg < 1000 else f"{kg:,.0f} kg"  # noqa: PLR2004 - the same


def _at(record: Record, words: str) -> tuple[Place, str]:
    """Give the place of some words of a record's line, or of the line where they are not on it as such."""
    found = record.text.find(words) if words else -1
    if found < 0:
        return record.place, record.text
    return Place(record.place.file, record.place.line, record.place.column + found), words


def _source(record: Record) -> str:
    """Give the line as it is shown under a remark, its words in the columns they were written in."""
    return " " * (record.place.column - 1) + record.text
