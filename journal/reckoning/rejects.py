"""What is thrown out: ordinary trash, or a reject taken off what it came out of.

A reject out of a material is looked for on hand, oldest first; then on hand under the name of a form of it
(windows found while shredding); then where the newest of it has gone.  Out of a batch it comes off the waste
in it, out of a bin off what was fed last.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator

from journal.notes.materials import Catalogue
from journal.notes.records import Amount, Record
from journal.reckoning.movements import DUST, HOUSEHOLD, Account, Batch, Ledger, Movement, Origin
from journal.reckoning.stores import Stores

LOOK_BACK = 60
"""Days after its arrival in which a reject is still looked for in what was made of it."""

Piece = tuple[float, Account, Origin | None]
"""So many kg, where from, and whose waste it is."""


class Rejects:
    """Posts what is thrown out to a ledger."""

    def __init__(
        self, ledger: Ledger, stores: Stores, catalogue: Catalogue, move: Callable[..., Movement]
    ) -> None:
        self.ledger = ledger
        self.stores = stores
        self.catalogue = catalogue
        self.move = move
        self.fed: dict[str, list[tuple[Origin, float]]] = {}
        self.arrived: dict[str, list[Origin]] = {}

    def remember(self, bin_name: str, origin: Origin, kg: float) -> None:
        """Remember what waste went into a bin, so that it can be taken out again."""
        self.fed.setdefault(bin_name, []).append((origin, kg))

    def note_arrival(self, origin: Origin) -> None:
        """Remember what came in, so that a reject found after its use is still taken off it."""
        self.arrived.setdefault(origin.material, []).append(origin)

    def post(self, index: int, record: Record, amount: Amount, kind: str, target: Account) -> None:
        """Move an amount to where trash goes, and take it off what it came out of."""
        rest = amount.kg
        name = amount.material if amount.is_batch else record.out_of or ""
        if kind == "":
            self.move(index, record, amount, 1.0, HOUSEHOLD, target)
            return
        find = {"material": self._of_material, "batch": self._of_batch, "bin": self._of_bin}[kind]
        for kg, source, origin in find(name, amount, record.date):
            rest -= kg
            credit = 0.0
            if origin is not None and target.kind == "landfill":
                # Never more is taken off an arrival than it brought: what is beyond is matter of the batch.
                credit = min(kg, max(0.0, origin.kg - origin.rejected))
                origin.rejected += credit
            if credit > DUST:
                self.move(index, record, amount, credit / amount.kg, source, target, origin, -1)
            if kg - credit > DUST:
                whose = origin if target.kind != "landfill" else None
                self.move(index, record, amount, (kg - credit) / amount.kg, source, target, whose)
        if rest > DUST:
            # More came out than is known to be in: our own of that day, or what the bin held before.
            source = Account("bin", name) if kind == "bin" else HOUSEHOLD
            self.move(index, record, amount, rest / amount.kg, source, target, None, 0, source is HOUSEHOLD)

    def _of_material(self, name: str, amount: Amount, date: dt.date) -> Iterator[Piece]:
        rest = amount.kg
        for kg, store, lot in self.stores.draw(name, rest):
            rest -= kg
            yield kg, Account("store", store), lot.origin
        for kg, store, lot in self.stores.draw_arrived_as(name, rest):
            rest -= kg
            yield kg, Account("store", store), lot.origin
        for origin in self._used_lately(name, date):
            if rest <= DUST:
                return
            kg = min(rest, origin.kg - origin.rejected)
            if origin.where.kind == "batch":
                batch = self.ledger.batches[origin.where.name]
                kg = min(kg, batch.left)
                batch.left -= max(kg, 0.0)
            if kg > DUST:
                rest -= kg
                yield kg, origin.where, origin

    def _used_lately(self, name: str, date: dt.date) -> Iterator[Origin]:
        """Give what came in as this material (or a form of it) and is in use since, newest first."""
        first = date.toordinal() - LOOK_BACK
        for form in (name, *self.stores.forms(name)):
            for origin in reversed(self.arrived.get(form, [])):
                if origin.date.toordinal() < first:
                    break
                if origin.where.kind in {"batch", "bin", "planting"}:
                    yield origin

    def _of_batch(self, name: str, amount: Amount, _date: dt.date) -> Iterator[Piece]:
        batch = self.ledger.batches.get(name)
        if batch is None or batch.made <= DUST:
            return
        kg = min(amount.kg, batch.left)
        batch.left -= kg
        source = Account("batch", name)
        weights: dict[int, tuple[float, Origin | None]] = {}
        for origin, weight in self._weights(batch, amount):
            key = id(origin)
            weights[key] = (weights.get(key, (0.0, None))[0] + weight, origin)
        for weight, origin in weights.values():
            if weight * kg > DUST:
                yield weight * kg, source, origin

    def _weights(self, batch: Batch, amount: Amount) -> Iterator[tuple[Origin | None, float]]:
        """Of what in the batch a reject is taken, each with its share; the shares add to one."""
        parts = [(part.origin, part.kg) for part in batch.parts]
        if not amount.is_batch:
            # A foreign thing found in a batch came in with its waste, not with its water or its coir.
            material = self.catalogue.materials.get(amount.material)
            stream = "" if material is None else material.stream
            same = [one for one in parts if one[0] is not None and one[0].stream == stream]
            parts = same or [one for one in parts if one[0] is not None] or parts
        whole = sum(kg for _, kg in parts)
        for origin, kg in parts:
            yield origin, kg / whole

    def _of_bin(self, name: str, amount: Amount, _date: dt.date) -> Iterator[Piece]:
        rest = amount.kg
        source = Account("bin", name)
        fed = self.fed.get(name, [])
        while fed and rest > DUST:
            origin, kg = fed.pop()
            taken = min(kg, rest)
            rest -= taken
            if kg - taken > DUST:
                fed.append((origin, kg - taken))
            yield taken, source, origin
