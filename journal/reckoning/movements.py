"""The material ledger's words: accounts, origins, movements, and what a batch is made of.

Every record becomes movements between two accounts; mass in kg is conserved in each, so the whole
ledger sums to zero.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import NamedTuple

from journal.notes.records import Amount


class Account(NamedTuple):
    """Somewhere mass can be.

    Kinds: "household" (our own kitchen and post, where what is not on hand arrives from), "giver", "shop",
    "store" (a material on hand), "batch", "bin", "planting", "landfill", "recycling", "donated", "drain",
    "given away", "crop" (picked from the garden).
    """

    kind: str
    name: str = ""


DUST = 1e-9
"""Less than this, in kg, is what floating point leaves behind, not matter."""

HOUSEHOLD = Account("household")
SHOP = Account("shop")
LANDFILL = Account("landfill")
RECYCLING = Account("recycling")
DONATED = Account("donated")
DRAIN = Account("drain")


@dataclass(slots=True)
class Origin:
    """Waste that came in by one record from one giver: what is told of it wherever it goes."""

    giver: str | None  # the name in household.yaml, or None for the household itself
    stream: str
    material: str  # as it arrived
    date: dt.date
    record: int  # index into Notes.records
    kg: float = 0.0  # arrived
    rejected: float = 0.0  # thrown out again since


@dataclass(slots=True)
class Movement:
    """One part of one record's amount going from one account to another.

    ``share`` is the part of the amount (1 where it moved whole): kg, own doubt and shared doubt are the
    amount's times the share.  ``counted`` is 1 where waste arrives, -1 where it is rejected, 0 elsewhere.
    """

    record: int
    date: dt.date
    amount: Amount
    share: float
    source: Account
    target: Account
    material: str  # as it moved; a batch's name where a batch moves
    origin: Origin | None = None  # whose waste it is, where it is one giver's
    counted: int = 0
    inferred: bool = False  # beyond what was on hand, so taken to be our own, arriving that day

    @property
    def kg(self) -> float:
        """The wet mass that moved."""
        return self.amount.kg * self.share


@dataclass(slots=True)
class Part:
    """Some of a material inside a batch: ``origin`` where it is somebody's waste."""

    material: str
    kg: float
    origin: Origin | None


@dataclass(slots=True)
class Batch:
    """A bedding or slurry batch as the ledger sees it.

    ``parts`` are what went in (a batch used as an ingredient is spread into its own parts); ``made`` is
    their sum in kg, ``left`` what has not moved on.  ``movements`` index Ledger.movements, in and out.
    """

    name: str
    kind: str  # "bedding" or "slurry"
    mixed: dt.date
    record: int
    parts: list[Part] = field(default_factory=list)
    made: float = 0.0
    left: float = 0.0
    movements: list[int] = field(default_factory=list)
    _by_origin: dict[tuple[str, int], Part] = field(default_factory=dict, repr=False)

    def put(self, material: str, kg: float, origin: Origin | None) -> None:
        """Add to what is in the batch; the same material of one origin is one part, however it came in."""
        key = (material, id(origin))
        part = self._by_origin.get(key)
        if part is None:
            part = self._by_origin[key] = Part(material, 0.0, origin)
            self.parts.append(part)
        part.kg += kg


@dataclass(slots=True)
class Lot:
    """What is on hand of a material from one arrival."""

    kg: float
    date: dt.date
    record: int
    origin: Origin | None
    number: int = 0  # lots are numbered as they come in


@dataclass(slots=True)
class Ledger:
    """All movements of a journal in the order of their days, and what is on hand after the last.

    ``stores`` maps a material to its lots, oldest first; ``batches`` keep the order of their mixing.
    """

    movements: list[Movement] = field(default_factory=list)
    origins: list[Origin] = field(default_factory=list)
    batches: dict[str, Batch] = field(default_factory=dict)
    stores: dict[str, list[Lot]] = field(default_factory=dict)
