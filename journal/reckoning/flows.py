"""What went into each account and came out of it, up to a day: the ledger seen from its accounts."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from journal.measures.doubt import Doubtful, Sum
from journal.notes.materials import Catalogue
from journal.reckoning.diversion import Figure
from journal.reckoning.mixing import Ingredient
from journal.reckoning.movements import DUST, Account, Batch, Ledger, Movement
from journal.reckoning.spans import Span, of_doubtful

FOLLOWED = frozenset({"batch", "bin", "planting", "store", "given away"})
"""The kinds of account whose movements are looked at one by one."""


@dataclass(slots=True)
class Flow:
    """The movements of one account in the order of their days."""

    into: list[Movement] = field(default_factory=list)
    out: list[Movement] = field(default_factory=list)


Flows = Mapping[Account, Flow]


def flows(ledger: Ledger, on: dt.date) -> dict[Account, Flow]:
    """Gather the movements up to and including a day by the accounts they touch, in one pass."""
    found: dict[Account, Flow] = {}
    for movement in ledger.movements:
        if movement.date > on:
            continue
        source, target = movement.source, movement.target
        if target.kind in FOLLOWED:
            flow = found.get(target)
            if flow is None:
                flow = found[target] = Flow()
            flow.into.append(movement)
        if source.kind in FOLLOWED:
            flow = found.get(source)
            if flow is None:
                flow = found[source] = Flow()
            flow.out.append(movement)
    return found


def figure(movements: Iterable[Movement]) -> Figure:
    """Add up movements in kg; pieces that one line's amount was split into share that line's own doubt."""
    total = Figure()
    split = total.put_whole(movements)
    for movement, share in _whole_lines(split):
        total.put(movement.amount, share, movement.record, None)
    return total


def _whole_lines(movements: Iterable[Movement]) -> Iterable[tuple[Movement, float]]:
    """Put the pieces of each line's amount together again: one of its movements, and their share in all."""
    pieces: dict[tuple[int, int], tuple[Movement, float]] = {}
    for movement in movements:
        if movement.share == 1.0:  # as nearly all are: nothing to put together
            yield movement, 1.0
        else:
            key = (movement.record, id(movement.amount))
            earlier = pieces.get(key)
            pieces[key] = (movement, movement.share + (earlier[1] if earlier is not None else 0.0))
    yield from pieces.values()


def together(figures: Iterable[Figure]) -> Figure:
    """Add figures of lines that have nothing but causes in common."""
    total = Figure()
    for each in figures:
        total.join(each)
    return total


def as_span(total: Figure, unit: str = "kg") -> Span:
    """Give a figure with its doubt as low, typical and high, with the records behind it."""
    return of_doubtful(total.doubtful(), unit, tuple(total.behind))


def less(one: Figure, other: Figure) -> Figure:
    """Give the difference of two figures; causes that both share cancel as far as they are equal."""
    total = Figure()
    total.join(one)
    total.value -= other.value
    total.variance += other.variance
    for name, part in other.shared.items():
        total.shared[name] = total.shared.get(name, 0.0) - part
    total.records.extend(other.records)
    return total


def ingredients(
    movements: Iterable[Movement], batches: Mapping[str, Batch], catalogue: Catalogue
) -> list[Ingredient]:
    """Give what movements brought as ingredients of a blend; a batch brings its own in proportion.

    Materials that the catalogue no longer knows are left out.
    """
    heaps: dict[tuple[str, bool], _Heap] = {}
    for movement, share in _whole_lines(movements):
        kg, name, _, own, shared, _, litres, is_batch = movement.amount  # at once, as in Figure.put
        key = (name, is_batch)
        heap = heaps.get(key)
        if heap is None:
            heap = heaps[key] = _Heap()
        heap.value += share * kg
        own *= share
        heap.variance += own * own
        if shared:
            sums = heap.shared
            for cause, part in shared.items():
                sums[cause] = sums.get(cause, 0.0) + share * part
        heap.litres += math.nan if litres is None else litres * share
        heap.records.append(movement.record)
    found: list[Ingredient] = []
    for (name, is_batch), heap in heaps.items():
        litres = None if math.isnan(heap.litres) else heap.litres
        brought = Brought(name, is_batch, heap.doubtful(), litres, tuple(dict.fromkeys(heap.records)))
        found += brought.ingredients(batches, catalogue)
    return found


class _Heap(Sum):
    """What of one material or batch came together; ``litres`` is not a number once one line was weighed."""

    __slots__ = ("litres", "records")

    def __init__(self) -> None:
        super().__init__()
        self.litres = 0.0
        self.records: list[int] = []


class Brought(NamedTuple):
    """So much of a material or of a batch."""

    name: str
    is_batch: bool
    mass: Doubtful
    litres: float | None = None
    records: tuple[int, ...] = ()

    def ingredients(self, batches: Mapping[str, Batch], catalogue: Catalogue) -> list[Ingredient]:
        """Give it as one ingredient, or where it is a batch as the batch's own in proportion."""
        batch = batches.get(self.name) if self.is_batch else None
        if batch is None:
            material = catalogue.materials.get(self.name)
            return [] if material is None else [Ingredient(material, self.mass, self.litres, self.records)]
        heaps = content(batch)
        whole = sum(heaps.values())
        if whole <= DUST:
            return []
        known = ((catalogue.materials.get(name), kg) for name, kg in heaps.items())
        return [
            Ingredient(material, self.mass.times(kg / whole), None, self.records)
            for material, kg in known
            if material is not None
        ]


def content(batch: Batch) -> dict[str, float]:
    """Give what a batch was made of, material to kg, in the order of mixing."""
    heaps: dict[str, float] = {}
    for part in batch.parts:
        heaps[part.material] = heaps.get(part.material, 0.0) + part.kg
    return heaps
