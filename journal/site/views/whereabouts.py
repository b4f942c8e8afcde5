"""Where waste is now: fed, bedded or passed on, by way of shreds and batches, or still on hand.

Only what carries its giver is followed one by one; a batch is followed as a whole, so what is in it goes
where the batch went, in proportion.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import cached_property
from typing import TypeVar

from journal.reckoning.movements import DUST, Account
from journal.reckoning.stays import HOLDING
from journal.site.edition import Edition

WITHOUT_WASTE = frozenset({"landfill", "drain"})
"""Where only water and the like of a batch goes, unless a movement says whose waste it is."""

K = TypeVar("K", bound=Hashable)
Heaps = dict[Account, float]


class Whereabouts:
    """Follows the waste of one edition's ledger."""

    def __init__(self, edition: Edition) -> None:
        self.ledger = edition.tally.ledger

    def by(self, key: Callable[[str | None, str], K | None]) -> dict[K, Heaps]:
        """Give kg by account, for each key of giver and stream; where that is None they are left out."""
        found: dict[K, Heaps] = {}
        for (giver, stream), heaps in self._of_each.items():
            name = key(giver, stream)
            if name is not None:
                sums = found.setdefault(name, {})
                for account, kg in heaps.items():
                    sums[account] = sums.get(account, 0.0) + kg
        return {name: self._spread(heaps) for name, heaps in found.items()}

    @cached_property
    def _of_each(self) -> dict[tuple[str | None, str], Heaps]:
        """Where what came from each giver of each stream went first, in kg: into a batch, or to its rest."""
        found: dict[tuple[str | None, str], Heaps] = {}
        for movement in self.ledger.movements:
            origin, source, target = movement.origin, movement.source, movement.target
            if origin is None:
                continue
            heaps = found.get((origin.giver, origin.stream))
            if heaps is None:
                heaps = found[origin.giver, origin.stream] = {}
            if target.kind != "store":
                heaps[target] = heaps.get(target, 0.0) + movement.kg
            if source.kind in HOLDING:
                heaps[source] = heaps.get(source, 0.0) - movement.kg
        for material, lots in self.ledger.stores.items():
            for lot in lots:
                if lot.origin is not None:
                    heaps = found.setdefault((lot.origin.giver, lot.origin.stream), {})
                    account = Account("store", material)
                    heaps[account] = heaps.get(account, 0.0) + lot.kg
        return found

    def _spread(self, heaps: Heaps) -> Heaps:
        """Follow what went into batches to where the batches went."""
        rests: Heaps = {}
        for account, kg in heaps.items():
            shares = (
                self._batch_shares.get(account.name, {account: 1.0})
                if account.kind == "batch"
                else {account: 1.0}
            )
            for target, share in shares.items():
                rests[target] = rests.get(target, 0.0) + kg * share
        return {account: kg for account, kg in rests.items() if kg > DUST}

    @cached_property
    def _batch_shares(self) -> dict[str, Heaps]:
        """For each batch, the part of it that rests in each account; parts add to one.

        What left it for landfill or the drain without a giver was its water: no waste went along.
        """
        direct: dict[str, Heaps] = {}
        for name, batch in self.ledger.batches.items():
            heaps: Heaps = {Account("batch", name): max(0.0, batch.left)}
            for index in batch.movements:
                movement = self.ledger.movements[index]
                if (
                    movement.source == Account("batch", name)
                    and movement.origin is None
                    and movement.target.kind not in WITHOUT_WASTE
                ):
                    heaps[movement.target] = heaps.get(movement.target, 0.0) + movement.kg
            whole = sum(heaps.values())
            direct[name] = {account: kg / whole for account, kg in heaps.items()} if whole > DUST else {}
        return _resolved(direct)


def _resolved(direct: dict[str, Heaps]) -> dict[str, Heaps]:
    """Follow batches that went into batches, each once, however long their row; a circle rests in itself."""
    found: dict[str, Heaps] = {}
    for name in direct:
        waiting = {} if name in found else {name: None}
        while waiting:
            last = next(reversed(waiting))
            following = next(
                (
                    account.name
                    for account in direct[last]
                    if account.kind == "batch"
                    and account.name in direct
                    and account.name not in found
                    and account.name not in waiting
                ),
                None,
            )
            if following is not None:
                waiting[following] = None
                continue
            heaps = found[last] = {}
            for account, share in direct[last].items():
                goes_on = account.kind == "batch" and account.name != last
                shares = found.get(account.name, {account: 1.0}) if goes_on else {account: 1.0}
                for target, part in shares.items():
                    heaps[target] = heaps.get(target, 0.0) + share * part
            waiting.popitem()
    return found
