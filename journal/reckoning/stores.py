"""What is on hand of each material, lot by lot, oldest first."""

from __future__ import annotations

import datetime as dt
from collections import deque
from collections.abc import Iterator

from journal.notes.materials import STREAMS, Catalogue
from journal.reckoning.movements import DUST, Lot, Origin

Pile = dict[str | None, deque[Lot]]
"""One material's lots by giver (None for our own, "" for no waste), so that no draw searches a long stock."""

NO_WASTE = ""


class Stores:
    """The stores of a ledger: put in, and draw out oldest first."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self.piles: dict[str, Pile] = {}
        self._forms: dict[str, tuple[str, ...]] = {}
        self._count = 0

    def put(self, material: str, kg: float, date: dt.date, record: int, origin: Origin | None) -> None:
        """Add a lot of ``kg`` to what is on hand of a material."""
        if kg <= DUST:
            return
        self._count += 1
        giver = NO_WASTE if origin is None else origin.giver
        self.piles.setdefault(material, {}).setdefault(giver, deque()).append(
            Lot(kg, date, record, origin, self._count)
        )

    def forms(self, name: str) -> tuple[str, ...]:
        """Give the materials that this one is a form of, without itself."""
        found = self._forms.get(name)
        if found is None:
            found = self._forms[name] = self._find_forms(name)
        return found

    def _find_forms(self, name: str) -> tuple[str, ...]:
        material = self.catalogue.materials.get(name)
        names: dict[str, None] = {}
        for form in () if material is None else material.form_of:
            if form in STREAMS:
                every = self.catalogue.materials.values()
                names.update((other.name, None) for other in every if other.stream == form and other.waste)
            elif (other := self.catalogue.find(form)) is not None:
                names[other.name] = None
        names.pop(name, None)
        return tuple(names)

    def draw(self, material: str, kg: float, giver: str | None = None) -> Iterator[tuple[float, str, Lot]]:
        """Draw up to ``kg``: give (kg, name of the store, lot) piece by piece, and take it off the lots.

        The material itself comes first, then what it is a form of, oldest first.  A giver narrows it to
        that giver's lots.
        """
        for names in ((material,), self.forms(material)):
            while kg > DUST and (oldest := self._oldest(names, giver)) is not None:
                name, pile, key = oldest
                lot = pile[key][0]
                taken = min(kg, lot.kg)
                kg -= taken
                lot.kg -= taken
                if lot.kg <= DUST:
                    taken += lot.kg  # the speck goes along, so that nothing is left nowhere
                    lot.kg = 0.0
                    pile[key].popleft()
                    if not pile[key]:
                        del pile[key]
                yield taken, name, lot

    def draw_arrived_as(self, material: str, kg: float) -> Iterator[tuple[float, str, Lot]]:
        """Draw from lots on hand under another name that arrived as this material, newest first."""
        found = [
            (lot, name, pile, key)
            for name, pile in self.piles.items()
            for key, lots in pile.items()
            for lot in lots
            if lot.origin is not None and lot.origin.material == material
        ]
        for lot, name, pile, key in sorted(found, key=lambda one: one[0].number, reverse=True):
            if kg <= DUST:
                return
            taken = min(kg, lot.kg)
            kg -= taken
            lot.kg -= taken
            if lot.kg <= DUST:
                taken += lot.kg
                lot.kg = 0.0
                pile[key].remove(lot)
                if not pile[key]:
                    del pile[key]
            yield taken, name, lot

    def _oldest(self, names: tuple[str, ...], giver: str | None) -> tuple[str, Pile, str | None] | None:
        best: tuple[str, Pile, str | None] | None = None
        best_key: tuple[dt.date, int] | None = None
        for name in names:
            pile = self.piles.get(name)
            if not pile:
                continue
            for key in (giver,) if giver is not None else pile:
                lots = pile.get(key)
                if not lots:
                    continue
                front = (lots[0].date, lots[0].number)
                if best_key is None or front < best_key:
                    best, best_key = (name, pile, key), front
        return best

    def on_hand(self) -> dict[str, list[Lot]]:
        """Give the lots of each material that has any, oldest first."""
        held = {
            name: sorted(
                (lot for lots in pile.values() for lot in lots), key=lambda lot: (lot.date, lot.number)
            )
            for name, pile in sorted(self.piles.items())
        }
        return {name: lots for name, lots in held.items() if lots}
