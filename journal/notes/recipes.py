"""What a batch is made of: the amounts in its line and in the list below it, and how dense that makes it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import NamedTuple

from journal.notes.amounts import Unread, phrase_at, read_amounts
from journal.notes.endings import Ending, read_ending
from journal.notes.faults import Fault
from journal.notes.known import BATCH_DENSITY, Known
from journal.notes.materials import Range
from journal.notes.names import fold
from journal.notes.parts import Mixing
from journal.notes.records import Amount

__all__ = ["Ingredients", "Mixing", "read_ingredients", "recipe_density"]

_LOOSENESS = {"slurry": (0.95, 1.05), "bedding": (0.7, 1.3)}
"""How far a batch's density may be from its parts' masses over their volumes: water fills a bedding's pores,
shreds bridge (common practice, no published source)."""


class Ingredients(NamedTuple):
    """What one item of a recipe says; ``date`` is a date of its own, which no ingredient can have."""

    amounts: tuple[Amount, ...]
    remarks: tuple[str, ...] = ()
    date: dt.date | None = None
    confirmed: bool = False


def read_ingredients(known: Known, text: str) -> Ingredients | None:
    """Read one item of a recipe; None where it is a note that speaks of no amount and no material.

    Raises Unread where it is meant as an ingredient and cannot be read.
    """
    remarks: list[str] = []
    found = read_amounts(known, text, 0, remarks)
    if found is None:
        start, words = phrase_at(text, 0)
        if known.materials.match(text, start) is None and not any(map(str.isdigit, text)):
            return None
        raise Unread(Fault.NO_AMOUNT, start, words)
    end, amounts = found
    ending = read_ending(known, text, end) if end < len(text) else Ending()
    return Ingredients(amounts, (*remarks, *ending.remarks), ending.date, ending.confirmed)


class _NeedsFirst(Exception):
    """A batch is made of another whose density is not known yet."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.name = name


def recipe_density(known: Known) -> Callable[[str], Range]:
    """Give a function from a batch's name to its density in kg/L, out of its ingredients where it can be.

    Batches that are made of batches are worked out one after the other, however long their row is; in a
    circle, the one that was asked for first is taken for any batch.
    """
    done: dict[str, Range] = {}
    waiting: list[str] = []

    def density(name: str) -> Range:
        if name in done:
            return done[name]
        if fold(name) not in known.mixings or name in waiting:
            return BATCH_DENSITY
        if waiting:
            raise _NeedsFirst(name)
        waiting.append(name)
        try:
            while waiting:
                try:
                    done[waiting[-1]] = _density(known, known.mixings[fold(waiting[-1])])
                except _NeedsFirst as needed:
                    waiting.append(needed.name)
                else:
                    waiting.pop()
        finally:
            waiting.clear()
        return done[name]

    return density


def _density(known: Known, mixing: Mixing) -> Range:
    kilograms = litres = 0.0
    for amount in _ingredients(known, mixing):
        volume = amount.litres
        if volume is None:
            stuff = known.materials.get(amount.material)
            figure = None if stuff is None else known.density(stuff)
            if figure is None or figure.typical <= 0:
                return BATCH_DENSITY
            volume = amount.kg / figure.typical
        kilograms, litres = kilograms + amount.kg, litres + volume
    if kilograms <= 0 or litres <= 0:
        return BATCH_DENSITY
    low, high = _LOOSENESS[mixing.kind]
    typical = kilograms / litres
    return Range(low * typical, typical, high * typical, where="mass over volume of what went in")


def _ingredients(known: Known, mixing: Mixing) -> list[Amount]:
    amounts: list[Amount] = []
    for readings in mixing.recipe:
        for text in readings:
            try:
                found = read_amounts(known, text, 0, []) if text else None
            except Unread:
                continue
            if found is not None:
                amounts.extend(found[1])
                break
    return amounts
