"""What one line of the journal says, once read.

Masses are wet masses in kg.  Names are the canonical ones of household.yaml, the catalogue or the batch.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from journal.notes.household import Household
from journal.notes.materials import Catalogue
from journal.notes.packing import packed_by_fields
from journal.notes.place import Place, Problem


@packed_by_fields
class Amount(NamedTuple):
    """So much of a material: its wet mass with the doubt of this line alone and what it shares.

    ``own`` is a standard uncertainty in kg; ``shared`` names causes met on other lines too
    ("density of coffee grounds", "bag of shredded paper") with their standard uncertainty in kg.
    Equal amounts may be one object: an amount has no identity of its own.
    """

    kg: float
    material: str  # a material of the catalogue, or the name of a batch
    words: str  # the amount as written: "2 lb 3 oz"
    own: float = 0.0
    shared: Mapping[str, float] = {}
    how: str = "weighed"  # "weighed", "counted", "by volume", "by measure" or "estimated"
    litres: float | None = None  # where it was measured by volume
    is_batch: bool = False


@packed_by_fields
class Money(NamedTuple):
    """A sum of money in a currency of ISO 4217 or the sign as written."""

    amount: float
    currency: str


@packed_by_fields
class Readings(NamedTuple):
    """What a check found.  Temperature in °C, moisture in %; each None where not read."""

    temperature: float | None = None
    temperature_half: float = 0.0  # rectangular half-width, °C
    moisture: float | None = None
    moisture_half: float = 0.0
    acidity: float | None = None  # pH
    acidity_half: float = 0.0
    sightings: tuple[str, ...] = ()


@packed_by_fields
class Listed(NamedTuple):
    """One ingredient's own line below the line that mixes a batch: which of the record's amounts it gives."""

    place: Place
    text: str  # the line as written, without its dash
    first: int  # index into Record.amounts
    end: int
    confirmed: bool = False


@packed_by_fields
@dataclass(slots=True)
class Record:
    """One record line.  Which fields are filled depends on the verb; see the verb table.

    ``verb`` is the table's own word ("took in"); ``bin`` is where something goes or what is checked or
    harvested from; ``source_bin`` is where worms come from; ``batch`` is the batch made or checked.
    ``out_of`` names the material, batch or bin that a reject came out of and ``out_of_kind`` says which.
    """

    verb: str
    date: dt.date
    amounts: tuple[Amount, ...]
    place: Place
    entry: int  # index into Notes.entries
    text: str  # the line as written, without its dash
    giver: str | None = None
    bin: str | None = None
    source_bin: str | None = None
    batch: str | None = None
    batch_kind: str = ""  # "bedding" or "slurry"
    planting: str | None = None
    out_of: str | None = None
    out_of_kind: str = ""  # "material", "batch" or "bin"
    money: Money | None = None
    words: str = ""  # the shop, or what money went on
    readings: Readings | None = None
    remark: str = ""
    confirmed: bool = False  # the keeper wrote "(it is right)": a figure that looks like a slip is meant
    listed: tuple[Listed, ...] = ()  # the lines of a batch's list


@packed_by_fields
class Prose(NamedTuple):
    """A stretch of an entry's Markdown that holds no record line; comments are already gone."""

    text: str
    place: Place


class Line(NamedTuple):
    """A record line in its entry: index into Notes.records."""

    record: int


class Entry(NamedTuple):
    """One dated entry: prose and record lines in the order written."""

    date: dt.date
    title: str
    private: bool
    place: Place
    blocks: tuple[Prose | Line, ...]


@dataclass(frozen=True)
class Notes:
    """Everything read from a journal folder.  Entries keep the order of their files and lines."""

    household: Household
    catalogue: Catalogue
    entries: Sequence[Entry]
    records: Sequence[Record]
    problems: Sequence[Problem]  # what could not be read
    remarks: Sequence[Problem]  # what was read as prose but looks like a record, and the like
    batches: Mapping[str, str] = field(default_factory=dict)  # name -> "bedding" or "slurry"

    @property
    def newest(self) -> dt.date | None:
        """The date of the newest entry, which stands for today where nothing else is said."""
        return max((entry.date for entry in self.entries), default=None)
