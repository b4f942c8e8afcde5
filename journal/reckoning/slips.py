"""Slips of the pen: what was read well but is probably not what was meant.  All are remarks.

Ten times the usual, dates to come, the same line twice, harvests bigger than what went in, bins that ended or
were not started, givers that never give, waste that lies on hand for 60 days or while it seems to be counted
again under another name, batches used before they were mixed, batches and castings used beyond what was
there.  Each can be silenced on its line with the words "it is right".
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator
from statistics import median

from journal.measures.units import POUND
from journal.notes.household import Bin, Household
from journal.notes.materials import Catalogue
from journal.notes.place import Fault, Place, Problem, problem
from journal.notes.records import Amount, Listed, Notes, Record
from journal.reckoning.diversion import CASTINGS
from journal.reckoning.movements import Ledger, Lot, Movement

TIMES = 9.5
"""A slipped decimal point makes ten times; what was meant may itself have been a little less than usual."""

LEAST_OTHERS = 4
LEAST_OTHERS_OF_STREAM = 8
LONG_ON_HAND_DAYS = 60
LEAST_LEFT = 0.05
"""Of a lot less than this part, and less than so many kg, is what scales and sacks leave behind."""

LEAST_OVERDRAWN = 0.05
GOOD_PART = 0.5
"""Waste on hand that covers this part of what is counted anew may be the same, under another name."""

SHREDDED = "shredded"
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
        *castings_overdrawn(notes, ledger),
        *counted_beside(notes, ledger),
    ]
    return sorted(found, key=lambda slip: (slip.place, slip.fault.code))


def is_right(record: Record, amount: Amount | None = None) -> bool:
    """Whether the keeper said that a line is right, or the line of a batch's list with this amount of it."""
    listed = None if amount is None else _listed(record, amount)
    return record.confirmed or (listed is not None and listed.confirmed)


def _listed(record: Record, amount: Amount) -> Listed | None:
    """Give the line of a batch's list that an amount of it stands on; None where that is the record's own."""
    for line in record.listed:
        if amount in record.amounts[line.first : line.end]:
            return line
    return None


def unusual(notes: Notes) -> Iterator[Problem]:
    """Amounts ten times the usual of their material and verb, or where that is too new, of its stream."""
    weighed: dict[tuple[str, str], list[float]] = {}
    for record in notes.records:
        verb = record.verb
        for amount in record.amounts:
            weighed.setdefault((verb, amount.material), []).append(amount.kg)
    usual = _usual(weighed, notes.catalogue)
    for record in notes.records:
        verb = record.verb
        for amount in record.amounts:
            middle = usual.get((verb, amount.material))
            if middle is not None and amount.kg >= TIMES * middle and not is_right(record, amount):
                yield _unusual(notes.household, record, amount, middle)


def _usual(weighed: dict[tuple[str, str], list[float]], catalogue: Catalogue) -> dict[tuple[str, str], float]:
    """Give the usual mass of each verb and material; the line looked at is itself among those weighed."""
    by_stream: dict[tuple[str, str], list[float]] = {}
    stream_of: dict[str, str] = {}
    for (verb, name), kgs in weighed.items():
        material = catalogue.materials.get(name)
        stream_of[name] = "other" if material is None else material.stream
        by_stream.setdefault((verb, stream_of[name]), []).extend(kgs)
    of_stream = {key: median(kgs) for key, kgs in by_stream.items() if len(kgs) > LEAST_OTHERS_OF_STREAM}
    usual = {}
    for (verb, name), kgs in weighed.items():
        middle = median(kgs) if len(kgs) > LEAST_OTHERS else of_stream.get((verb, stream_of[name]), 0.0)
        if middle > 0:
            usual[verb, name] = middle
    return usual


def _unusual(household: Household, record: Record, amount: Amount, usual: float) -> Problem:
    place, words, source = _at_amount(record, amount)
    return problem(
        Fault.TEN_TIMES, place, words, source, amount=amount.words, material=amount.material,
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
        key = (record.date, record.text)
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
        if record.bin is None and record.source_bin is None:
            continue
        for name in dict.fromkeys((record.bin, record.source_bin)):
            bin_ = None if name is None else bins.get(name)
            if bin_ is None:
                continue
            early = bin_.started is not None and record.date < bin_.started
            late = bin_.ended is not None and record.date > bin_.ended
            if (early or late) and not is_right(record):
                yield _out_of_its_time(record, bin_, Fault.BIN_NOT_STARTED if early else Fault.BIN_ENDED)


def _out_of_its_time(record: Record, bin_: Bin, fault: Fault) -> Problem:
    place, words = _at(record, bin_.name)
    days = {"date": record.date, "started": bin_.started, "ended": bin_.ended}
    return problem(fault, place, words, _source(record), bin=bin_.name, **days)


def silent_givers(notes: Notes) -> Iterator[Problem]:
    """Givers of household.yaml that no line names."""
    if not notes.records:
        return
    named = {record.giver for record in notes.records}
    for name, giver in notes.household.givers.items():
        if name not in named:
            place = giver.place or Place(HOUSEHOLD_FILE, 1, 1)
            yield problem(Fault.GIVER_NEVER_GIVES, place, name, giver=name)


def long_on_hand(notes: Notes, ledger: Ledger) -> Iterator[Problem]:
    """Waste on hand for 60 days and more by the newest entry: one remark a material, at the last such line.

    Where the keeper says of that line that it is right, all that had come of the material till then is right.
    """
    newest = notes.newest
    if newest is None:
        return
    for material, lots in ledger.stores.items():
        right = max((lot.date for lot in lots if is_right(notes.records[lot.record])), default=dt.date.min)
        old = [lot for lot in lots if _is_old(lot, newest) and lot.date > right]
        if not old:
            continue
        last = max(old, key=lambda lot: (lot.date, lot.number))
        record = notes.records[last.record]
        place, words = _at(record, material)
        others = "" if len(old) == 1 else f" and {len(old) - 1} earlier"
        yield problem(
            Fault.LONG_ON_HAND, place, words, _source(record), material=material, others=others,
            amount=mass_words(notes.household, sum(lot.kg for lot in old)), days=(newest - last.date).days,
        )  # fmt: skip


def _is_old(lot: Lot, newest: dt.date) -> bool:
    if lot.origin is None or (newest - lot.date).days < LONG_ON_HAND_DAYS:
        return False
    return lot.kg > LEAST_LEFT * max(1.0, lot.origin.kg)


def overdrawn(notes: Notes, ledger: Ledger) -> Iterator[Problem]:
    """Batches used beyond what was made of them, or before they were mixed."""
    for movement in ledger.movements:
        if not (movement.inferred and movement.amount.is_batch):
            continue
        record = notes.records[movement.record]
        batch = ledger.batches.get(movement.amount.material)
        made = 0.0 if batch is None else batch.made
        is_early = batch is not None and record.date < batch.mixed
        if is_right(record, movement.amount) or (movement.kg <= LEAST_OVERDRAWN * made and not is_early):
            continue
        place, words, source = _at_amount(record, movement.amount)
        name = movement.amount.material
        if batch is not None and is_early:
            days = {"date": record.date, "mixed": batch.mixed}
            yield problem(Fault.BATCH_NOT_MIXED, place, words, source, batch=name, **days)
        else:
            yield problem(
                Fault.BATCH_OVERDRAWN, place, words, source, amount=mass_words(notes.household, movement.kg),
                batch=name, made=mass_words(notes.household, made),
            )  # fmt: skip


def castings_overdrawn(notes: Notes, ledger: Ledger) -> Iterator[Problem]:
    """Castings used beyond what came into their store; what a weighing may be off by is none."""
    came = 0.0
    for movement in ledger.movements:
        if movement.material != CASTINGS:
            continue
        if movement.target.kind == "store":
            came += movement.kg
        elif movement.inferred and movement.kg > LEAST_OVERDRAWN * came:
            record = notes.records[movement.record]
            if not is_right(record):
                place, words = _at(record, movement.amount.words)
                beyond = mass_words(notes.household, movement.kg)
                yield problem(Fault.CASTINGS_OVERDRAWN, place, words, _source(record), amount=beyond)


def counted_beside(notes: Notes, ledger: Ledger) -> Iterator[Problem]:
    """Waste counted anew while the same giver's of the same stream lies on hand under another name.

    Only where one of the names stands for others, as food scraps do, or where a line names the giver of what
    is on hand in full.  One remark for what was taken in, and none where a line that passes it by is right.
    """
    stocks: dict[tuple[str | None, str], dict[str, float]] = {}
    arrivals: dict[tuple[str | None, str], int] = {}
    found: dict[tuple[str | None, str, int], Problem | None] = {}
    for movement in ledger.movements:
        origin = movement.origin
        if origin is None:
            continue
        stock = stocks.setdefault((origin.giver, origin.stream), {})
        record = notes.records[movement.record]
        if movement.source.kind == "store":
            name = movement.source.name
            stock[name] = max(0.0, stock.get(name, 0.0) - movement.kg)
        elif movement.counted > 0 and record.verb == "took in":
            stock[movement.material] = stock.get(movement.material, 0.0) + movement.kg
            arrivals[origin.giver, movement.material] = movement.record
        elif movement.counted > 0 and (other := _passed_by(notes.catalogue, record, movement, stock)):
            key = (origin.giver, other, arrivals[origin.giver, other])
            if is_right(record):
                found[key] = None
            elif key not in found:
                found[key] = _counted_beside(notes.household, record, movement, (other, stock[other]))
    yield from (slip for slip in found.values() if slip is not None)


def _passed_by(catalogue: Catalogue, record: Record, movement: Movement, stock: dict[str, float]) -> str:
    """Give the name under which what is counted may be on hand already; empty where it hardly is.

    Shreds on hand are passed by: only their own names, which draw on them, can be meant by them.
    """
    named = record.giver is not None
    likely = {
        name: kg
        for name, kg in stock.items()
        if kg >= GOOD_PART * movement.kg
        and not name.startswith(SHREDDED)
        and (
            _is_general(catalogue, name)
            or _is_general(catalogue, movement.material)
            or (named and kg >= (1 - LEAST_OVERDRAWN) * movement.kg)
        )
    }
    return max(likely, key=lambda name: (likely[name], name), default="")


def _is_general(catalogue: Catalogue, name: str) -> bool:
    """Whether a name stands for others, which stand for it: food scraps and vegetable scraps."""
    material = catalogue.materials.get(name)
    forms = () if material is None else material.form_of
    return any(
        (form := catalogue.materials.get(other)) is not None and name in form.form_of for other in forms
    )


def _counted_beside(
    household: Household, record: Record, movement: Movement, stock: tuple[str, float]
) -> Problem:
    place, words = _at(record, movement.amount.words)
    other, kg = stock
    if movement.origin is not None and movement.origin.giver is not None:
        other += f" from {movement.origin.giver}"
    return problem(
        Fault.COUNTED_BESIDE, place, words, _source(record), stock=mass_words(household, kg), other=other,
        amount=mass_words(household, movement.kg), material=movement.material,
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


def _at_amount(record: Record, amount: Amount) -> tuple[Place, str, str]:
    """Give the place of an amount's words, the words, and their line, which a batch's list gives each."""
    line = _listed(record, amount)
    found = -1 if line is None else line.text.find(amount.words)
    if line is None or found < 0:
        place, words = _at(record, amount.words)
        return place, words, _source(record)
    place = line.place._replace(column=line.place.column + found)
    return place, amount.words, " " * (line.place.column - 1) + line.text


def _source(record: Record) -> str:
    """Give the line as it is shown under a remark, its words in the columns they were written in."""
    return " " * (record.place.column - 1) + record.text
