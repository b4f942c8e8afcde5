"""Journals written record by record, and small made-up reference figures, for the tests of the reckoning.

The figures here are invented so that sums can be done in the head; the real ones are read in their own tests.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from journal.notes.household import Bin, Giver, Household, Planting
from journal.notes.materials import Catalogue, Material, Range
from journal.notes.place import Place
from journal.notes.records import Amount, Entry, Line, Notes, Readings, Record
from journal.reckoning.references import Band, Husbandry, WormKind, Worms

START = dt.date(2026, 1, 1)


def day(number: int) -> dt.date:
    """The day so many days after the journal's first."""
    return START + dt.timedelta(days=number)


def one(value: float) -> Range:
    """A range that is one value."""
    return Range(value, value, value, "a source")


MATERIALS = (
    Material("newspaper", "paper", waste=True, moisture=one(10), carbon=one(50), nitrogen=one(0.1)),
    Material("shredded paper", "paper", waste=True, form_of=("paper",), moisture=one(10), carbon=one(45),
             nitrogen=one(0.25)),
    Material("peels", "food scraps", waste=True, moisture=one(80), carbon=one(45), nitrogen=one(3)),
    Material("cores", "food scraps", waste=True, moisture=one(80), carbon=one(45), nitrogen=one(1)),
    Material("grit", "mineral", waste=False, moisture=one(0)),
    Material("water", "supplies", waste=False, moisture=one(100)),
    Material("castings", "supplies", waste=False, moisture=one(60), carbon=one(20), nitrogen=one(2)),
    Material("worms", "supplies", waste=False),
    Material("drained liquid", "other", waste=False, moisture=one(100)),
    Material("pears", "other", waste=False),
    Material("trash", "other", waste=True),
)  # fmt: skip

PEOPLE = Household(
    name="Test house",
    people=2,
    units="metric",
    bins={
        "Crate": Bin("Crate", "red wigglers", surface=0.5, started=START),
        "Trough": Bin("Trough", "nightcrawlers", started=START),
    },
    givers={"Ada": Giver("Ada", 1, "a friend", otherwise={"landfill": 1.0})},
    plantings={"Pear": Planting("Pear", "fruit tree", area=4.0, trees=2), "Bed": Planting("Bed")},
)


def amount(kg: float, material: str, own: float = 0.0, *, batch: bool = False) -> Amount:
    """So many kg of a material, with its own standard doubt."""
    return Amount(kg, material, f"{kg:g} kg", own, is_batch=batch)


def written(verb: str, on: int, *amounts: Amount, **sides: Any) -> Record:  # noqa: ANN401 - any field
    """A record of the journal's so-and-so-manieth day."""
    words = ", ".join(f"{each.words} {each.material}" for each in amounts)
    told = " ".join(str(value) for value in sides.values() if isinstance(value, str))
    return Record(
        verb, day(on), tuple(amounts), Place("all.md", 0, 3), 0, f"{verb} {words} {told}".strip(), **sides
    )


def checked(bin_: str, on: int, **values: float) -> Record:
    """A check of a bin: temperature in °C, moisture in %, acidity in pH."""
    return written("checked", on, bin=bin_, readings=Readings(**values))  # type: ignore[arg-type]  # each value is a number field


def journal(records: Sequence[Record], household: Household = PEOPLE) -> Notes:
    """A journal of these records, one entry a line, in the order written."""
    entries = []
    for index, record in enumerate(records):
        record.entry = index
        record.place = Place("all.md", 2 * index + 2, 3)
        entries.append(
            Entry(
                record.date, "", private=False, place=Place("all.md", 2 * index + 1, 1), blocks=(Line(index),)
            )
        )
    batches = {
        record.batch: record.batch_kind for record in records if record.verb == "mixed" and record.batch
    }
    return Notes(household, Catalogue.of(MATERIALS), entries, list(records), [], [], batches)


def band(quantity: str, bottom: float, low: float, high: float, top: float) -> Band:
    """A band of one quantity."""
    return Band(quantity, bottom, low, high, top, "a source")


def kind(name: str, low: float, high: float) -> WormKind:
    """A kind of worm whose good temperature runs from low to high."""
    return WormKind(
        name, (), (),
        temperature=band("temperature", 4, low, high, 30),
        moisture=band("moisture", 60, 70, 85, 90),
        acidity=band("pH", 5, 6, 8, 9),
        each=one(0.0005),
        feed=Range(0.25, 0.5, 1.0, "a source"),
        stocking=Range(2, 4, 8, "a source"),
        doubling=Range(60, 90, 120, "a source"),
    )  # fmt: skip


WORMS = Worms(
    {each.name: each for each in (kind("red wigglers", 15, 25), kind("nightcrawlers", 20, 28))},
    Husbandry(
        feed_per_surface=Range(2, 5, 10, "a source"),
        bedding_depth=one(0.25),
        resting=Range(7, 14, 30),
        harvest_interval=Range(90, 120, 180, "a source"),
        first_harvest=Range(100, 150, 240, "a source"),
        castings_yield=Range(0.25, 0.4, 0.6),
        solids_lost=Range(0.4, 0.5, 0.6, "a source"),
        volume_lost=one(0.5),
        starting_carbon_nitrogen=Range(20, 25, 40),
        standing_water=one(48),
    ),
    unknown="red wigglers",
)
