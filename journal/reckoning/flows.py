"""What went into each account and came out of it, up to a day: the ledger seen from its accounts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from journal.measures.doubt import Doubtful
from journal.notes.materials import Catalogue
from journal.notes.records import Amount
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
    shares: dict[tuple[int, int], tuple[Movement, float]] = {}
    for movement in movements:
        key = (movement.record, id(movement.amount))
        shares[key] = (movement, movement.share + (shares[key][1] if key in shares else 0.0))
    total = Figure()
    for movement, share in shares.values():
        total.put(movement.amount, share, movement.record, None)
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
    movements: Sequence[Movement], batches: Mapping[str, Batch], catalogue: Catalogue
) -> list[Ingredient]:
    """Give what movements brought as ingredients of a blend; a batch brings its own in proportion.

    Materials that the catalogue no longer knows are left out.
    """
    return [
        part
        for movement in movements
        for part in amount_ingredients(
            movement.amount, batches, catalogue, movement.share, (movement.record,)
        )
    ]


def amount_ingredients(
    amount: Amount,
    batches: Mapping[str, Batch],
    catalogue: Catalogue,
    share: float = 1.0,
    records: tuple[int, ...] = (),
) -> list[Ingredient]:
    """Give a share of an amount as ingredients: one of a material, several where it is of a batch."""
    mass = Doubtful(amount.kg, amount.own, amount.shared)
    if share != 1.0:
        mass = mass.times(share)
    batch = batches.get(amount.material) if amount.is_batch else None
    if batch is None:
        material = catalogue.materials.get(amount.material)
        litres = None if amount.litres is None else amount.litres * share
        return [] if material is None else [Ingredient(material, mass, litres, records)]
    heaps = content(batch)
    whole = sum(heaps.values())
    if whole <= DUST:
        return []
    known = ((catalogue.materials.get(name), kg) for name, kg in heaps.items())
    return [
        Ingredient(material, mass.times(kg / whole), None, records)
        for material, kg in known
        if material is not None
    ]


def content(batch: Batch) -> dict[str, float]:
    """Give what a batch was made of, material to kg, in the order of mixing."""
    heaps: dict[str, float] = {}
    for part in batch.parts:
        heaps[part.material] = heaps.get(part.material, 0.0) + part.kg
    return heaps
