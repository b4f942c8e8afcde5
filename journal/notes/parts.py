"""The parts of a line while it is read: how much, what a sentence says, and where a batch was mixed first."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import NamedTuple

from journal.measures.numbers import Number
from journal.notes.entries import Item
from journal.notes.place import Place
from journal.notes.records import Amount, Money, Readings


class Quantity:
    """How much, before it is said of what.

    ``kind`` is "mass" (``value`` in kg), "volume" (L), "count" or "container" (number of ``container``).
    ``made`` remembers the amounts made of it, by material.
    """

    __slots__ = ("container", "estimated", "half", "kind", "made", "value", "words")

    def __init__(
        self, kind: str, number: Number, words: str, container: str = "", factor: float = 1.0
    ) -> None:
        self.kind = kind
        self.value = number.value * factor
        exact = kind in {"count", "container"} and number.whole and not number.estimated
        self.half = 0.0 if exact else number.half * factor
        self.estimated = number.estimated
        self.words = words
        self.container = container
        self.made: dict[str, Amount] = {}


@dataclass(slots=True)
class Sentence:
    """What one record line says, wherever it stands; the fields are those of ``records.Record``."""

    verb: str
    amounts: tuple[Amount, ...] = ()
    giver: str | None = None
    bin: str | None = None
    source_bin: str | None = None
    batch: str | None = None
    batch_kind: str = ""
    planting: str | None = None
    out_of: str | None = None
    out_of_kind: str = ""
    money: Money | None = None
    words: str = ""
    readings: Readings | None = None
    remark: str = ""
    date: dt.date | None = None
    confirmed: bool = False

    def with_first(self, amount: Amount) -> Sentence:
        """Give the sentence with another first amount."""
        return Sentence(
            self.verb, (amount, *self.amounts[1:]), self.giver, self.bin, self.source_bin, self.batch,
            self.batch_kind, self.planting, self.out_of, self.out_of_kind, self.money, self.words,
            self.readings, self.remark, self.date, self.confirmed,
        )  # fmt: skip


class Mixing(NamedTuple):
    """The line that mixed a batch first, by which its name is its own."""

    name: str
    kind: str  # "bedding" or "slurry"
    place: Place
    item: Item

    @property
    def recipe(self) -> list[tuple[str, ...]]:
        """What its line says behind the colon, and each item of the list below it that is not left open.

        Each is what to read: the text with all its further lines, and where that is more than it, without.
        """
        found = [tuple(text[end_of_head(text, 0) + 1 :].strip() for text in _texts(self.item))]
        return found + [_texts(child) for child in self.item.children or () if not child.is_open]


def end_of_head(text: str, position: int) -> int:
    """Find the colon behind a batch's name and its remarks, outside parentheses; or the end of the text."""
    depth = 0
    for at in range(position, len(text)):
        if text[at] == ":" and not depth:
            return at
        depth += (text[at] == "(") - (text[at] == ")")
    return len(text)


def _texts(item: Item) -> tuple[str, ...]:
    if item.more is None:
        return (item.text,)
    return " ".join([item.text, *(text for _, _, text, _ in item.more)]), item.text
