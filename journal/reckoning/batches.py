"""Bedding and slurry batches: what is in them, if they are ready, where they went, whose paper they hold.

Bedding rests before it is used: ready from a week, better by two (common practice, no published source);
household.yaml sets both.  Slurry does not rest.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import NamedTuple

from journal.measures.doubt import Doubtful
from journal.notes.household import Household
from journal.notes.records import Notes
from journal.reckoning.diversion import Figure
from journal.reckoning.flows import Flow, Flows, content, figure, flows, ingredients, less
from journal.reckoning.mixing import WATER, Blend, Ingredient, blend, moisture_range
from journal.reckoning.movements import DRAIN, DUST, Account, Batch, Ledger, Movement, Origin

STATES = ("resting", "ready", "better", "in use", "used up")

NEARLY_NOTHING = 0.05
"""With no more than this part of itself left a batch counts as used up (common practice, no published
source): it dries while it rests and clings to its tub, so the last of it is never weighed out."""


class Destination(NamedTuple):
    """Where some of a batch went: an account, the mass, and the days from first to last."""

    account: Account
    mass: Figure
    first: dt.date
    last: dt.date


class Holding(NamedTuple):
    """One giver's waste in a batch (giver None: the household's own): kg as mixed in, by stream."""

    giver: str | None
    streams: Mapping[str, float]

    @property
    def kg(self) -> float:
        """All of it in kg."""
        return sum(self.streams.values())


class BatchSheet(NamedTuple):
    """Everything about one batch as of a day.  Masses are wet, in kg."""

    name: str
    kind: str  # "bedding" or "slurry"
    mixed: dt.date  # when the last of it was mixed in
    ready_on: dt.date
    better_on: dt.date
    state: str  # one of STATES
    recipe: tuple[tuple[str, Figure], ...]  # as the lines say; a batch used as an ingredient by its name
    blend: Blend  # of single materials, the liquid that was drained taken off
    mixed_in: Figure
    drained: Figure
    made: Figure  # mixed in less drained
    left: Figure
    destinations: tuple[Destination, ...]
    holdings: tuple[Holding, ...]  # whose waste is in it, the most first
    records: tuple[int, ...]  # every line about it

    @property
    def diverted_share(self) -> float:
        """The part of what was mixed in that would have been waste, 0 to 1."""
        return (
            sum(holding.kg for holding in self.holdings) / self.mixed_in.value if self.mixed_in.value else 0.0
        )


def batch_sheets(notes: Notes, ledger: Ledger, on: dt.date, known: Flows | None = None) -> list[BatchSheet]:
    """Give the sheet of every batch mixed up to a day, in the order of mixing."""
    gathered = flows(ledger, on) if known is None else known
    sheets = []
    for batch in ledger.batches.values():
        flow = gathered.get(Account("batch", batch.name))
        if flow is not None and flow.into:
            sheets.append(_sheet(notes, ledger, batch, flow, on))
    return sheets


def _sheet(notes: Notes, ledger: Ledger, batch: Batch, flow: Flow, on: dt.date) -> BatchSheet:
    mixed_in, out = figure(flow.into), figure(flow.out)
    drained = figure(movement for movement in flow.out if movement.target == DRAIN)
    mixed = max(movement.date for movement in flow.into)
    ready_on, better_on = resting_ends(notes.household, batch.kind, mixed)
    left = less(mixed_in, out)
    used = any(movement.target.kind not in {"drain", "landfill"} for movement in flow.out)
    parts = _without_drained(ingredients(flow.into, ledger.batches, notes.catalogue), drained)
    records = sorted({movement.record for movement in (*flow.into, *flow.out)})
    return BatchSheet(
        batch.name,
        batch.kind,
        mixed,
        ready_on,
        better_on,
        _state(on, (ready_on, better_on), left.value, mixed_in.value - drained.value, used=used),
        _recipe(flow.into),
        blend(parts),
        mixed_in,
        drained,
        less(mixed_in, drained),
        left,
        _destinations(flow.out),
        _holdings(batch, mixed_in.value),
        tuple(records),
    )


def resting_ends(household: Household, kind: str, mixed: dt.date) -> tuple[dt.date, dt.date]:
    """Give the days from which a batch mixed on a day is ready, and better."""
    if kind != "bedding":
        return mixed, mixed
    days = (household.bedding_ready_days, max(household.bedding_ready_days, household.bedding_better_days))
    ready, better = (mixed.toordinal() + number for number in days)
    last = dt.date.max.toordinal()
    return dt.date.fromordinal(min(ready, last)), dt.date.fromordinal(min(better, last))


def _state(on: dt.date, rests: tuple[dt.date, dt.date], left: float, made: float, *, used: bool) -> str:
    if left <= max(DUST, NEARLY_NOTHING * made):
        return "used up"
    if used:
        return "in use"
    ready_on, better_on = rests
    if on < ready_on:
        return "resting"
    return "ready" if on < better_on else "better"


def _recipe(into: list[Movement]) -> tuple[tuple[str, Figure], ...]:
    heaps: dict[str, list[Movement]] = {}
    for movement in into:
        heaps.setdefault(movement.amount.material, []).append(movement)
    return tuple((name, figure(movements)) for name, movements in heaps.items())


def _without_drained(parts: list[Ingredient], drained: Figure) -> list[Ingredient]:
    """Take drained liquid off the water mixed in, in proportion; what little it dissolves is left in."""
    if drained.value <= DUST:
        return parts
    wet = [
        part for part in parts if (known := moisture_range(part.material)) is not None and known.low >= WATER
    ]
    water = sum(part.mass.value for part in wet)
    if water <= DUST:
        return parts
    kept = max(0.0, 1 - drained.value / water)
    doubt = drained.expanded / 2
    ids = {id(part) for part in wet}
    lowered = []
    for part in parts:
        if id(part) in ids:
            mass = part.mass.times(kept)
            share = part.mass.value / water
            mass = Doubtful(mass.value, (mass.own**2 + (doubt * share) ** 2) ** 0.5, mass.shared)
            lowered.append(part._replace(mass=mass, litres=None, records=(*part.records, *drained.behind)))
        else:
            lowered.append(part)
    return lowered


def _destinations(out: list[Movement]) -> tuple[Destination, ...]:
    heaps: dict[Account, list[Movement]] = {}
    for movement in out:
        heaps.setdefault(movement.target, []).append(movement)
    return tuple(
        Destination(
            account, figure(moved), min(each.date for each in moved), max(each.date for each in moved)
        )
        for account, moved in heaps.items()
    )


def _holdings(batch: Batch, mixed_in: float) -> tuple[Holding, ...]:
    """Give whose waste is in a batch; scaled where only some of its mixing lies before the day looked at."""
    whole = sum(content(batch).values())
    scale = mixed_in / whole if whole > DUST else 0.0
    found: dict[str | None, dict[str, float]] = {}
    for part in batch.parts:
        origin: Origin | None = part.origin
        if origin is not None:
            streams = found.setdefault(origin.giver, {})
            streams[origin.stream] = streams.get(origin.stream, 0.0) + part.kg * scale
    holdings = [Holding(giver, streams) for giver, streams in found.items()]
    return tuple(sorted(holdings, key=lambda holding: (-holding.kg, holding.giver or "")))
