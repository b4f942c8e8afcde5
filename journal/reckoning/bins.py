"""Worm bins: how they are, how much they get, what becomes of it, and what they need.

Windows: feed and surface load over the last 28 days, carbon, nitrogen and water of what went in over the
last 60.  A bin younger than its window is looked at from its first day, but over a week at least, so that
one big first meal is no feed rate.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from journal.measures.periods import Period, day_after
from journal.notes.household import Bin
from journal.notes.records import Notes
from journal.reckoning.diversion import CASTINGS, Figure
from journal.reckoning.flows import Flow, Flows, as_span, figure, flows, ingredients, less, together
from journal.reckoning.harvests import NextHarvest, later, next_harvest
from journal.reckoning.mixing import Blend, blend
from journal.reckoning.movements import DRAIN, LANDFILL, Account, Ledger, Movement
from journal.reckoning.readings import QUANTITIES, Reading, bands_of, kinds_of, readings_of
from journal.reckoning.references import Band, WormKind, Worms
from journal.reckoning.spans import Span, exactly, of_range, sum_of
from journal.reckoning.worm_mass import WormMass, worm_mass, worm_moves

FEED_DAYS = 28
MIX_DAYS = 60
LEAST_DAYS = 7


class Yield(NamedTuple):
    """Castings out against dry matter in, with the lag between them shown.

    ``share`` is dry castings per dry matter that had been in long enough to come out in them; ``working`` is
    the dry matter that came in since and is still being eaten.
    """

    share: Span | None
    dry_in: Span
    dry_out: Span | None
    working: Span
    lag: Span  # days


class BinBalance(NamedTuple):
    """Wet mass in and out since the bin was started, in kg.

    ``unaccounted`` is in less all that came out and was weighed: it is lost to the air as water and carbon
    dioxide, dripped away unmeasured, or (while the bin runs) still inside.
    """

    put_in: Figure
    harvested: Figure
    drained: Figure
    thrown_out: Figure
    moved_out: Figure
    unaccounted: Figure
    solids_lost: Span  # dry matter lost as gas, from the published share of what went in


class BinSheet(NamedTuple):
    """Everything about one bin as of a day.  Masses are wet, in kg."""

    name: str
    bin: Bin
    running: bool
    first_day: dt.date | None  # started, or the first line about it
    kinds: tuple[WormKind, ...]
    kind_assumed: bool
    bands: Mapping[str, Band]
    readings: tuple[Reading, ...]  # all, by day
    latest: Mapping[str, Reading]  # the last one of each quantity
    sightings: tuple[tuple[dt.date, int, str], ...]
    checks: tuple[dt.date, ...]
    feedings: tuple[dt.date, ...]
    harvests: tuple[dt.date, ...]
    fed: Figure
    bedded: Figure
    harvested: Figure
    worms: WormMass | None
    feed_per_day: Span  # kg a day over the last 28 days
    feed_rate: Span | None  # kg of feed per kg of worms and day; None where no worms were recorded
    feed_expected: Span | None  # kg a day that worms of this kind and mass eat
    recent_mix: Blend  # of the last 60 days
    surface_load: Span | None  # kg of feed per m² and week over the last 28 days
    yields: Yield
    balance: BinBalance
    next_harvest: NextHarvest | None
    records: tuple[int, ...]

    @property
    def kind(self) -> WormKind:
        """The kind whose figures serve for feed and growth."""
        return self.kinds[0]

    @property
    def feed_state(self) -> str:
        """Give "little", "about right", "much" or "unknown": the feed rate against the kind's own."""
        return _against(self.feed_rate, of_range(self.kind.feed))

    def surface_state(self, worms: Worms) -> str:
        """Give "little", "about right", "much" or "unknown": the surface load against the rule of thumb."""
        return _against(self.surface_load, of_range(worms.husbandry.feed_per_surface))


def _against(found: Span | None, usual: Span) -> str:
    """Judge a range by a published one: only where it lies outside as a whole is it little or much."""
    if found is None:
        return "unknown"
    if found.high < usual.low:
        return "little"
    return "much" if found.low > usual.high else "about right"


def bin_sheets(
    notes: Notes, ledger: Ledger, worms: Worms, on: dt.date, known: Flows | None = None
) -> list[BinSheet]:
    """Give the sheet of every bin of household.yaml, in its order, as of a day."""
    gathered = flows(ledger, on) if known is None else known
    by_bin: dict[str | None, list[int]] = {name: [] for name in notes.household.bins}
    for index, record in enumerate(notes.records):
        if record.date <= on:
            if record.bin in by_bin:
                by_bin[record.bin].append(index)
            if record.source_bin in by_bin and record.source_bin != record.bin:
                by_bin[record.source_bin].append(index)
    verbs = [record.verb for record in notes.records]
    days = [record.date for record in notes.records]
    reckoner = _Reckoner(notes, ledger, worms, on, verbs, days)
    return [
        reckoner.sheet(bin_, by_bin[bin_.name], gathered.get(Account("bin", bin_.name), Flow()))
        for bin_ in notes.household.bins.values()
    ]


@dataclass(frozen=True, slots=True)
class _Reckoner:
    """Works the sheets of one journal out, as of a day."""

    notes: Notes
    ledger: Ledger
    worms: Worms
    on: dt.date
    verbs: Sequence[str]  # of each record
    days: Sequence[dt.date]  # of each record

    def sheet(self, bin_: Bin, records: list[int], flow: Flow) -> BinSheet:
        kinds, assumed = kinds_of(bin_, self.worms)
        bands = bands_of(kinds)
        told = sorted(records, key=self.days.__getitem__)  # those of one day keep their order
        every = self.notes.records
        days: dict[str, list[dt.date]] = {}
        for index in told:
            days.setdefault(self.verbs[index], []).append(self.days[index])
        readings = [found for index in told for found in readings_of(index, every[index], bands)]
        first = bin_.started or (self.days[told[0]] if told else None)
        feed, bedding, others = self._sorted_in(flow)
        out = _ways_out(flow)
        castings = out["harvested"]
        fed, bedded, gone = figure(feed), figure(bedding), {way: figure(went) for way, went in out.items()}
        kind = kinds[0]
        mass = worm_mass(worm_moves(flow, self.verbs), kind, bin_.surface, self.on)
        per_day = self._per_day(feed, first)
        husbandry = self.worms.husbandry
        sifted = [movement.date for movement in castings]
        stocked = bin_.started or min((movement.date for movement in flow.into), default=None)
        running = self._running(bin_, first)
        yields = self._yield([*feed, *bedding], castings, gone["harvested"])
        lost = sum_of((yields.dry_in, yields.working), "kg").by(of_range(husbandry.solids_lost), "kg")
        return BinSheet(
            name=bin_.name,
            bin=bin_,
            running=running,
            first_day=first,
            kinds=kinds,
            kind_assumed=assumed,
            bands=bands,
            readings=tuple(readings),
            latest={quantity: found for quantity in QUANTITIES if (found := _last(readings, quantity))},
            sightings=self._sightings(told),
            checks=tuple(days.get("checked", ())),
            feedings=tuple(days.get("fed", ())),
            harvests=tuple(days.get("harvested", ())),
            fed=fed,
            bedded=bedded,
            harvested=gone["harvested"],
            worms=mass,
            feed_per_day=per_day,
            feed_rate=None if mass is None else per_day.over(mass.believed, "kg per kg of worms and day"),
            feed_expected=None if mass is None else mass.believed.by(of_range(kind.feed), "kg a day"),
            recent_mix=self._mix([*feed, *bedding], later_than=self._back(MIX_DAYS)),
            surface_load=_load(per_day, bin_.surface),
            yields=yields,
            balance=_balance(together([fed, bedded, figure(others)]), gone, lost),
            next_harvest=next_harvest(sifted, stocked, husbandry.harvest_interval, husbandry.first_harvest)
            if running
            else None,
            records=tuple(told),
        )

    def _sorted_in(self, flow: Flow) -> tuple[list[Movement], list[Movement], list[Movement]]:
        """Sort what went in: feed, bedding, others; what only came back from the screen is none of these."""
        feed: list[Movement] = []
        bedding: list[Movement] = []
        others: list[Movement] = []
        for movement in flow.into:
            verb = self.verbs[movement.record]
            if verb == "fed":
                feed.append(movement)
            elif verb == "bedded":
                bedding.append(movement)
            elif movement.source != movement.target:
                others.append(movement)
        return feed, bedding, others

    def _running(self, bin_: Bin, first: dt.date | None) -> bool:
        started = first is not None and first <= self.on
        return started and (bin_.ended is None or bin_.ended > self.on)

    def _back(self, days: int) -> dt.date:
        """The last day that lies before a window of so many days that ends today."""
        return dt.date.fromordinal(max(1, self.on.toordinal() - days))

    def _sightings(self, told: list[int]) -> tuple[tuple[dt.date, int, str], ...]:
        found = []
        for index in told:
            record = self.notes.records[index]
            if record.readings is not None:
                found += [(record.date, index, seen) for seen in record.readings.sightings]
        return tuple(found)

    def _per_day(self, feed: list[Movement], first: dt.date | None) -> Span:
        """Give the feed a day over the window, or over the bin's life where that is shorter."""
        window = Period(later(self._back(FEED_DAYS), 1), day_after(self.on))
        lived = FEED_DAYS if first is None else (self.on - first).days + 1
        days = min(FEED_DAYS, max(LEAST_DAYS, lived))
        recent = figure(movement for movement in feed if movement.date in window)
        return as_span(recent).times(1 / days, "kg a day")

    def _mix(self, movements: list[Movement], later_than: dt.date) -> Blend:
        recent = [movement for movement in movements if movement.date > later_than]
        return blend(ingredients(recent, self.ledger.batches, self.notes.catalogue))

    def _yield(self, put_in: list[Movement], castings: list[Movement], harvested: Figure) -> Yield:
        """Set castings against what had time to become them: what was in one lag before the last harvest."""
        lag = MATURING
        last = max((movement.date for movement in castings), default=self.on)
        ripe_by = dt.date.fromordinal(max(1, last.toordinal() - round(lag.typical)))
        ripe = [movement for movement in put_in if movement.date <= ripe_by]
        rest = [movement for movement in put_in if movement.date > ripe_by]
        dry_in, working = self._dry(ripe), self._dry(rest)
        known = self.notes.catalogue.materials.get(CASTINGS)
        if not castings or known is None or known.moisture is None:
            return Yield(None, dry_in, None, working, lag)
        dry_share = exactly(1.0).minus(of_range(known.moisture).times(0.01))
        dry_out = as_span(harvested).by(dry_share, "kg")
        share = dry_out.over(dry_in) if dry_in.typical > 0 else None
        return Yield(share, dry_in, dry_out, working, lag)

    def _dry(self, movements: list[Movement]) -> Span:
        return blend(ingredients(movements, self.ledger.batches, self.notes.catalogue)).dry_mass


def _ways_out(flow: Flow) -> dict[str, list[Movement]]:
    """Sort what left a bin by how it did; what is returned to it from the screen never left."""
    ways: dict[str, list[Movement]] = {"harvested": []}
    for movement in flow.out:
        way = _way_out(movement)
        if way != "returned":
            ways.setdefault(way, []).append(movement)
    return ways


def _balance(put_in: Figure, gone: Mapping[str, Figure], lost: Span) -> BinBalance:
    drained, thrown, moved = (gone.get(way, Figure()) for way in ("drained", "thrown out", "moved"))
    unaccounted = less(put_in, together(gone.values()))
    return BinBalance(put_in, gone["harvested"], drained, thrown, moved, unaccounted, lost)


def _way_out(movement: Movement) -> str:
    target = movement.target
    if movement.material == CASTINGS and target.kind == "store":
        return "harvested"
    if target == DRAIN:
        return "drained"
    if target == LANDFILL:
        return "thrown out"
    if movement.source == target:
        return "returned"
    return "moved" if target.kind == "bin" else "otherwise"


MATURING = Span(45.0, 52.0, 60.0, "days", (), ("kauser-2022",))
"""Days until feed has become finished castings: Kauser and Khwairakpam 2022, abstract, 45 to 60 days."""


def _last(readings: list[Reading], quantity: str) -> Reading | None:
    return next((reading for reading in reversed(readings) if reading.quantity == quantity), None)


def _load(per_day: Span, surface: float | None) -> Span | None:
    return per_day.times(7 / surface, "kg per m² and week") if surface else None
