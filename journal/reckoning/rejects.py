"""What is thrown out: ordinary trash, or a reject taken off what it came out of.

A reject out of a material is looked for on hand, oldest first; then on hand under the name of a form of it
(windows found while shredding); then where the newest of it has gone, however long ago: what is left of the
batch it is in, then the bin or planting where that went.  Out of a batch it comes off the waste in it, out of
a bin off what went in last: of the same material, else of the same stream, else of any.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from journal.notes.materials import Catalogue
from journal.notes.records import Amount, Record
from journal.reckoning.movements import DUST, HOUSEHOLD, Account, Ledger, Movement, Origin
from journal.reckoning.stays import Stay, Stays
from journal.reckoning.stores import Stores

DRAINED = "drained liquid"

BROUGHT_BY = {"plastic windows": "paper", "staples": "paper", "tape": "paper"}
"""Things that come in with waste of another stream than their own."""

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
        self.stays = Stays()

    def post(self, index: int, record: Record, amount: Amount, kind: str, target: Account) -> None:
        """Move an amount to where trash goes, and take it off what it came out of."""
        rest = amount.kg
        name = amount.material if amount.is_batch else record.out_of or ""
        if kind == "":
            self.move(index, record, amount, 1.0, HOUSEHOLD, target)
            return
        find = {"material": self._of_material, "batch": self._of_batch, "bin": self._of_bin}[kind]
        for kg, source, origin in find(name, amount):
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

    def _of_material(self, name: str, amount: Amount) -> Iterator[Piece]:
        rest = amount.kg
        for kg, store, lot in self.stores.draw(name, rest):
            rest -= kg
            yield kg, Account("store", store), lot.origin
        if rest <= DUST:
            return
        for kg, store, lot in self.stores.draw_arrived_as(name, rest):
            rest -= kg
            yield kg, Account("store", store), lot.origin
        if rest <= DUST:
            return
        for stay in self.stays.of_materials((name, *self.stores.forms(name))):
            kg = min(rest, stay.kg, stay.origin.kg - stay.origin.rejected)
            batch = self.ledger.batches[stay.where.name] if stay.where.kind == "batch" else None
            if batch is not None:
                kg = min(kg, batch.left)
            if kg > DUST:
                if batch is not None:
                    batch.left -= kg
                rest -= kg
                yield self._taken(stay, kg)
            if rest <= DUST:
                return

    def _of_batch(self, name: str, amount: Amount) -> Iterator[Piece]:
        batch = self.ledger.batches.get(name)
        if batch is None or batch.left <= DUST:
            return
        kg, left, source = min(amount.kg, batch.left), batch.left, Account("batch", name)
        batch.left -= kg
        # Liquid is drained off the water that was mixed in.
        stays = [] if amount.material == DRAINED else self.stays.in_batch(source)
        if not amount.is_batch:
            # A foreign thing found in a batch came in with its waste, not with its water or its coir.
            stream = self._stream(amount)
            stays = [stay for stay in stays if stay.origin.stream == stream] or stays
            left = max(kg, sum(stay.kg for stay in stays))
        rest = kg
        for stay in stays:
            part = min(rest, stay.kg * kg / left)
            if part > DUST:
                rest -= part
                yield self._taken(stay, part)
        if rest > DUST:
            yield rest, source, None

    def _of_bin(self, name: str, amount: Amount) -> Iterator[Piece]:
        rest = amount.kg
        if amount.material == DRAINED:
            return
        for stay in self.stays.in_bin(Account("bin", name), amount.material, self._stream(amount)):
            kg = min(stay.kg, rest)
            rest -= kg
            yield self._taken(stay, kg)
            if rest <= DUST:
                return

    def _stream(self, amount: Amount) -> str:
        """Give the stream of the waste that a thing came in with."""
        material = self.catalogue.materials.get(amount.material)
        own = "" if material is None else material.stream
        return BROUGHT_BY.get(amount.material, own)

    @staticmethod
    def _taken(stay: Stay, kg: float) -> Piece:
        stay.kg -= kg
        return kg, stay.where, stay.origin
