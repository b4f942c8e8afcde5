"""Whose waste lies in which batch, bin or planting: asked when something is thrown out of it again.

While the ledger is written up, what is used is only noted.  The first question follows all that was noted:
what went into a batch goes where the batch goes, in proportion, through batches made of batches too.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from heapq import merge
from operator import attrgetter

from journal.reckoning.movements import DUST, Account, Batch, Origin

HOLDING = frozenset({"batch", "bin", "planting"})
"""The kinds of account in which waste stays what it was, so that it can be found in them."""

TRACE = 1e-4
"""Of one arrival less than this, in kg, is not followed out of a batch: it is never found again."""


@dataclass(slots=True)
class Stay:
    """Some of one arrival's waste in one account; ``number`` grows with the order of coming there."""

    origin: Origin
    kg: float
    where: Account
    number: int


Heaps = dict[str, list[Stay]]
"""Stays by the material as it arrived, in the order of coming."""

Used = list[tuple[int, int, Origin]]
"""Arrivals that are in use: the day, a number of their own, and the arrival; oldest first."""


Noted = tuple[Origin | Batch, float, Account]
"""What went somewhere: so many kg of an arrival, or a part (0 to 1) of what was left of a batch."""


class Stays:
    """Follows waste into batches, bins and plantings; whoever moves any puts it down in ``noted``."""

    def __init__(self) -> None:
        self.noted: list[Noted] = []
        self._in: dict[Account, Heaps] = {}
        self._of: dict[int, list[Stay]] = {}
        self._used: dict[str, Used] = {}
        self._count = 0

    def in_batch(self, where: Account) -> list[Stay]:
        """Give the waste that is in a batch now."""
        self._follow()
        return self._found_in(where)

    def in_bin(self, where: Account, material: str, stream: str) -> Iterator[Stay]:
        """Give the waste in a bin, the last first: of a material, then of a stream, then any."""
        self._follow()
        heaps = self._in.get(where, {})
        for heap in heaps.values():
            while heap and heap[-1].kg <= DUST:
                heap.pop()
        of_stream = (heap for heap in heaps.values() if heap and heap[-1].origin.stream == stream)
        for chosen in ((heaps.get(material, []),), of_stream, heaps.values()):
            yield from _newest(chosen)

    def of_materials(self, names: Iterable[str]) -> Iterator[Stay]:
        """Give what arrived under any of the names, the newest arrival first.

        Of one arrival what is in a batch comes first, then what went elsewhere last.
        """
        self._follow()
        lists = []
        for name in names:
            used = self._used.get(name, [])
            while used and self._is_spent(used[-1][2]):
                used.pop()
            lists.append(used)
        for _, _, origin in merge(*(reversed(used) for used in lists), reverse=True):
            stays = sorted(self._of[id(origin)], key=lambda stay: (stay.where.kind == "batch", stay.number))
            yield from (stay for stay in reversed(stays) if stay.kg > DUST)

    def _found_in(self, where: Account) -> list[Stay]:
        return [stay for heap in self._in.get(where, {}).values() for stay in heap if stay.kg > DUST]

    def _is_spent(self, origin: Origin) -> bool:
        return origin.kg - origin.rejected <= DUST or all(stay.kg <= DUST for stay in self._of[id(origin)])

    def _follow(self) -> None:
        for what, much, where in self.noted:
            if isinstance(what, Batch):
                self._move_on(Account("batch", what.name), much, where)
            elif where.kind in HOLDING:
                self._settle(what, much, where)
        self.noted.clear()

    def _move_on(self, batch: Account, part: float, where: Account) -> None:
        """Have a part of what is in a batch go somewhere else."""
        going = []
        for stay in self._found_in(batch):
            kg = stay.kg * part
            stay.kg -= kg
            going.append((stay.origin, kg))
        if where.kind in HOLDING:
            for origin, kg in going:
                if kg > TRACE:
                    self._settle(origin, kg, where)

    def _settle(self, origin: Origin, kg: float, where: Account) -> None:
        self._count += 1
        stay = Stay(origin, kg, where, self._count)
        self._in.setdefault(where, {}).setdefault(origin.material, []).append(stay)
        stays = self._of.get(id(origin))
        if stays is None:
            stays = self._of[id(origin)] = []
            insort(self._used.setdefault(origin.material, []), (origin.date.toordinal(), self._count, origin))
        stays.append(stay)


def _newest(heaps: Iterable[list[Stay]]) -> Iterator[Stay]:
    """Give the stays of several heaps, the last to come first."""
    listed = [reversed(heap) for heap in heaps]
    return (stay for stay in merge(*listed, key=attrgetter("number"), reverse=True) if stay.kg > DUST)
