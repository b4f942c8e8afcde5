"""The material ledger: records to movements, waste counted once, at the door.

The rules, in the order in which they are applied:

1. Records are taken day by day; within a day arrivals come before what uses them, and the order in which
   the lines were written changes nothing.
2. What is used draws on what is on hand: the material itself first, then what it is a form of, oldest first.
   A giver named on the line narrows that to the giver's own.
3. What is used beyond that arrives the same day: from the giver named, else from the household itself
   (``inferred``).
4. Waste is counted where it arrives (+1) and where it is rejected (-1), never where it only moves on.
5. Mass is conserved in every movement.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from operator import itemgetter

from journal.notes.records import Amount, Notes, Record
from journal.reckoning.movements import (
    DONATED,
    DRAIN,
    DUST,
    HOUSEHOLD,
    LANDFILL,
    RECYCLING,
    SHOP,
    Account,
    Batch,
    Ledger,
    Movement,
    Origin,
    Part,
)
from journal.reckoning.rejects import DRAINED, Rejects
from journal.reckoning.stores import Stores

RANK = {
    "took in": 0, "bought": 0, "added": 1, "recycled": 1, "donated": 1, "harvested": 1, "picked": 1,
    "shredded": 2, "mixed": 3, "moved": 4, "returned": 4, "fed": 4, "bedded": 4,
    "spread": 5, "gave": 5, "threw out": 6,
}  # fmt: skip
"""Within a day a verb of lower rank comes first; verbs not listed move no material."""

SHREDDED = "shredded paper"


def build_ledger(notes: Notes) -> Ledger:
    """Make the ledger of all records of a journal."""
    keeper = Bookkeeper(notes)
    for index in in_order(notes.records):
        keeper.post(index, notes.records[index])
    keeper.ledger.stores = keeper.stores.on_hand()
    return keeper.ledger


def in_order(records: Iterable[Record]) -> list[int]:
    """Give the indices of the records that move material, in the order in which the ledger takes them.

    Days first, then rank, then a batch before the batches made with it; equal ones by their words, so
    that the order of writing is of no consequence.
    """
    listed = list(records)
    keys = [
        (record.date, RANK[record.verb], record.text, index)
        for index, record in enumerate(listed)
        if record.verb in RANK
    ]
    keys.sort()
    order = [key[3] for key in keys]
    _ingredients_first(order, listed)
    return order


def _ingredients_first(order: list[int], records: list[Record]) -> None:
    """Move batches mixed on one day behind the batches of that day that they are made with."""
    start = 0
    while start < len(order):
        first = records[order[start]]
        end = start + 1
        if first.verb == "mixed":
            while (
                end < len(order)
                and records[order[end]].verb == "mixed"
                and records[order[end]].date == first.date
            ):
                end += 1
            if end - start > 1:
                order[start:end] = _by_ingredients(order[start:end], records)
        start = end


def _by_ingredients(same_day: list[int], records: list[Record]) -> list[int]:
    makers: dict[str, list[int]] = {}
    for index in same_day:
        makers.setdefault(records[index].batch or "", []).append(index)
    done: dict[int, None] = {}
    seen: set[int] = set()
    waiting: list[tuple[int, Iterator[int]]] = []  # no function calls itself, so that no row is too long

    def needs(index: int) -> Iterator[int]:
        seen.add(index)
        return (maker for amount in records[index].amounts for maker in makers.get(amount.material, ()))

    for index in same_day:
        if index not in seen:
            waiting.append((index, needs(index)))
        while waiting:
            under_way, rest = waiting[-1]
            following = next((each for each in rest if each not in seen), None)
            if following is None:
                done[under_way] = None
                waiting.pop()
            else:
                waiting.append((following, needs(following)))
    return list(done)


class Bookkeeper:
    """Posts records to a ledger, one by one, in their order."""

    def __init__(self, notes: Notes) -> None:
        self.notes = notes
        self.ledger = Ledger()
        self.stores = Stores(notes.catalogue)
        self.rejects = Rejects(self.ledger, self.stores, notes.catalogue, self.move)
        self.note = self.rejects.stays.noted.append
        self.accounts: dict[tuple[str, str], Account] = {}
        self.postings: dict[str, Callable[[int, Record], None]] = {
            "took in": self.arrive, "bought": self.buy, "shredded": self.shred, "mixed": self.mix,
            "fed": self.feed, "bedded": self.feed, "added": self.add_worms, "moved": self.add_worms,
            "harvested": self.harvest, "returned": self.give_back, "spread": self.spread,
            "gave": self.give_away, "picked": self.pick, "threw out": self.throw_out,
            "recycled": self.pass_on, "donated": self.pass_on,
        }  # fmt: skip

    def post(self, index: int, record: Record) -> None:
        """Post one record."""
        self.postings[record.verb](index, record)

    def account(self, kind: str, name: str) -> Account:
        """Give the account of this kind and name, the same object each time."""
        key = (kind, name)
        found = self.accounts.get(key)
        if found is None:
            found = self.accounts[key] = Account(kind, name)
        return found

    def move(  # noqa: PLR0913, PLR0917 - a movement has that many sides
        self, index: int, record: Record, amount: Amount, share: float, source: Account, target: Account,
        origin: Origin | None = None, counted: int = 0, inferred: bool = False,  # noqa: FBT001, FBT002 - as above
    ) -> Movement:  # fmt: skip
        """Write one movement down."""
        movement = Movement(
            index, record.date, amount, share, source, target, amount.material, origin, counted, inferred
        )
        movements = self.ledger.movements
        for account in (source, target):
            if account.kind == "batch":
                batch = self.ledger.batches.get(account.name)
                if batch is not None:
                    batch.movements.append(len(movements))
        movements.append(movement)
        return movement

    # -- what comes in ------------------------------------------------------------------------------

    def source(self, giver: str | None) -> Account:
        """Where what a giver brings comes from."""
        return HOUSEHOLD if giver is None else self.account("giver", giver)

    def origin(
        self, index: int, record: Record, amount: Amount, share: float, giver: str | None
    ) -> Origin | None:
        """Give the origin of what arrives by this line, or None where it is no waste."""
        material = self.notes.catalogue.materials.get(amount.material)
        if material is None or not material.waste:
            return None
        origin = Origin(giver, material.stream, material.name, record.date, index, amount.kg * share)
        self.ledger.origins.append(origin)
        return origin

    def arrive(self, index: int, record: Record) -> None:
        """Take in: waste and anything else, from a giver or our own, into the store."""
        source = self.source(record.giver)
        for amount in record.amounts:
            origin = self.origin(index, record, amount, 1.0, record.giver)
            target = self.account("store", amount.material)
            self.move(index, record, amount, 1.0, source, target, origin, 1 if origin else 0)
            self.stores.put(amount.material, amount.kg, record.date, index, origin)

    def buy(self, index: int, record: Record) -> None:
        """Buy: supplies into the store, whatever they are never counted as diverted."""
        for amount in record.amounts:
            self.move(index, record, amount, 1.0, SHOP, self.account("store", amount.material))
            self.stores.put(amount.material, amount.kg, record.date, index, None)

    def harvest(self, index: int, record: Record) -> None:
        """Harvest: castings out of a bin and into the store."""
        for amount in record.amounts:
            target = self.account("store", amount.material)
            self.move(index, record, amount, 1.0, self.account("bin", record.bin or ""), target)
            self.stores.put(amount.material, amount.kg, record.date, index, None)

    def pick(self, index: int, record: Record) -> None:
        """Pick: a crop leaves a planting; it is food, not waste."""
        for amount in record.amounts:
            source = self.account("planting", record.planting or "")
            self.move(index, record, amount, 1.0, source, self.account("crop", amount.material))

    # -- what is used -------------------------------------------------------------------------------

    def use(
        self, index: int, record: Record, amount: Amount, target: Account, *, ours: bool = False
    ) -> Iterator[tuple[float, Origin | None]]:
        """Move an amount to where it is used and give what arrived there, kg and origin, piece by piece.

        ``ours`` says that a giver on the line is not who it came from.
        """
        if amount.is_batch:
            yield from self.use_batch(index, record, amount, target)
            return
        giver = None if ours else record.giver
        rest = amount.kg
        for kg, name, lot in self.stores.draw(amount.material, rest, giver):
            rest -= kg
            self.move(index, record, amount, kg / amount.kg, self.account("store", name), target, lot.origin)
            if lot.origin is not None:
                self.note((lot.origin, kg, target))
            yield kg, lot.origin
        if rest > DUST:
            share = rest / amount.kg
            origin = self.origin(index, record, amount, share, giver)
            source = self.source(giver)
            self.move(index, record, amount, share, source, target, origin, 1 if origin else 0, giver is None)
            if origin is not None:
                self.note((origin, rest, target))
            yield rest, origin

    def use_batch(
        self, index: int, record: Record, amount: Amount, target: Account
    ) -> Iterator[tuple[float, Origin | None]]:
        """Move some of a batch; what is beyond what was made of it is inferred."""
        batch = self.ledger.batches.get(amount.material)
        left = 0.0 if batch is None else batch.left
        kg = min(amount.kg, left)
        if batch is not None and kg > DUST:
            self.move(index, record, amount, kg / amount.kg, self.account("batch", batch.name), target)
            self.note((batch, kg / batch.left, target))
            batch.left -= kg
            yield kg, None
        if amount.kg - kg > DUST:
            self.move(index, record, amount, 1 - kg / amount.kg, HOUSEHOLD, target, inferred=True)
            yield amount.kg - kg, None

    def feed(self, index: int, record: Record) -> None:
        """Feed or bed a bin."""
        target = self.account("bin", record.bin or "")
        for amount in record.amounts:
            for _ in self.use(index, record, amount, target):
                pass

    def shred(self, index: int, record: Record) -> None:
        """Shred: paper, first what is on hand of it, becomes shredded paper and keeps its giver."""
        target = self.account("store", SHREDDED)
        for amount in record.amounts:
            for kg, origin in self.use(index, record, amount, target):
                self.stores.put(SHREDDED, kg, record.date, index, origin)

    def mix(self, index: int, record: Record) -> None:
        """Mix: what is on hand becomes a batch, which keeps whose it was."""
        name = record.batch or ""
        batch = self.ledger.batches.get(name)
        if batch is None:
            batch = self.ledger.batches[name] = Batch(name, record.batch_kind, record.date, index)
        target = self.account("batch", name)
        parts: list[Part] = []
        for amount in record.amounts:
            for kg, origin in self.use(index, record, amount, target):
                parts.extend(self.parts(amount, kg, origin))
            batch.made += amount.kg
            batch.left += amount.kg
        for part in parts:
            batch.put(part.material, part.kg, part.origin)

    def parts(self, amount: Amount, kg: float, origin: Origin | None) -> list[Part]:
        """Give what a piece of an amount brings into a batch: another batch brings its own parts."""
        other = self.ledger.batches.get(amount.material) if amount.is_batch else None
        whole = 0.0 if other is None else sum(part.kg for part in other.parts)
        if other is None or whole <= DUST:
            return [Part(amount.material, kg, origin)]
        return [Part(part.material, part.kg * kg / whole, part.origin) for part in other.parts]

    def spread(self, index: int, record: Record) -> None:
        """Spread on a planting."""
        target = self.account("planting", record.planting or "")
        for amount in record.amounts:
            for _ in self.use(index, record, amount, target):
                pass

    def give_away(self, index: int, record: Record) -> None:
        """Give castings or worms away: the giver named is who receives, so nothing is narrowed to them."""
        target = self.account("given away", record.giver or "")
        for amount in record.amounts:
            for _ in self.use(index, record, amount, target, ours=True):
                pass

    # -- what goes round and what leaves ------------------------------------------------------------

    def add_worms(self, index: int, record: Record) -> None:
        """Worms arrive in a bin, or change bins."""
        target = self.account("bin", record.bin or "")
        for amount in record.amounts:
            if record.source_bin is not None:
                self.move(index, record, amount, 1.0, self.account("bin", record.source_bin), target)
            else:
                for _ in self.use(index, record, amount, target):
                    pass

    def give_back(self, index: int, record: Record) -> None:
        """Oversize from the screen goes back: it is what the harvest left out, so it never left its bin."""
        target = self.account("bin", record.bin or "")
        for amount in record.amounts:
            rest = amount.kg
            for kg, name, lot in self.stores.draw(amount.material, rest, None):
                rest -= kg
                self.move(
                    index, record, amount, kg / amount.kg, self.account("store", name), target, lot.origin
                )
                if lot.origin is not None:
                    self.note((lot.origin, kg, target))
            if rest > DUST:
                self.move(index, record, amount, rest / amount.kg, target, target)

    def pass_on(self, index: int, record: Record) -> None:
        """Recycle or donate: what is on hand of it moves on, the rest is our own and counts today."""
        target = RECYCLING if record.verb == "recycled" else DONATED
        for amount in record.amounts:
            for _ in self.use(index, record, amount, target):
                pass

    def throw_out(self, index: int, record: Record) -> None:
        """Throw out: a reject is taken off what it came out of; the rest is ordinary trash."""
        for amount in record.amounts:
            if amount.kg <= 0:
                continue
            target = DRAIN if amount.material == DRAINED else LANDFILL
            self.rejects.post(
                index, record, amount, "batch" if amount.is_batch else record.out_of_kind, target
            )


def balances(ledger: Ledger) -> dict[Account, float]:
    """Give what each account holds after the last movement, in kg; all together they are zero."""
    held: dict[Account, float] = {}
    for movement in ledger.movements:
        kg = movement.kg
        held[movement.source] = held.get(movement.source, 0.0) - kg
        held[movement.target] = held.get(movement.target, 0.0) + kg
    return dict(sorted(held.items(), key=itemgetter(0)))
