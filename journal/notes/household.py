"""household.yaml: who and what.  The types; ``household_reading`` gives a tree its meaning."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from journal.measures.doubt import Doubtful
from journal.notes.materials import Material
from journal.notes.place import Place

FATES = ("landfill", "recycling", "council collection", "combustion", "unknown")
Shares = Mapping[str, float]
"""Fate to share; the shares add to 1."""

UNKNOWN: Shares = {"unknown": 1.0}


class Bin(NamedTuple):
    """A worm bin: ``surface`` in m², ``worms`` the kinds as the keeper names them."""

    name: str
    worms: str = ""
    surface: float | None = None
    kept_in: str = ""
    started: dt.date | None = None
    ended: dt.date | None = None


class Giver(NamedTuple):
    """Someone who gives: only ``shown_as`` is ever published."""

    name: str
    number: int  # its place in household.yaml, from 1
    shown_as: str | None = None
    households: int = 1
    otherwise: Shares | None = None
    place: Place | None = None  # where household.yaml names it


class Planting(NamedTuple):
    """A tree, a vine, a bed: ``area`` in m²; ``trees`` how many plants it stands for."""

    name: str
    kind: str = ""
    area: float | None = None
    trees: int | None = None


class HouseholdMeasure(NamedTuple):
    """A bag, a bucket, a brick: its mass in kg or its volume in L, with the doubt its weighing leaves."""

    name: str
    holds: Doubtful
    kind: str  # "mass" or "volume"
    material: str | None = None  # the only material it is meant for
    weighings: int = 0


@dataclass(frozen=True, slots=True)
class Goals:
    """Goals for what is kept out of landfill, in kg."""

    per_week: float | None = None
    years: Mapping[int, float] = field(default_factory=dict)


class Price(NamedTuple):
    """Money for one unit of mass (kg) or, with ``per`` empty, per purchase."""

    amount: float
    per_kg: bool = True
    words: str = ""


class Sharing(NamedTuple):
    """What may be seen: givers "shown as", "initials" or "hidden"; entries "yes", "summary" or "no"."""

    givers: str = "shown as"
    pictures: bool = True
    entries: str = "yes"


_SHARING = Sharing()


@dataclass(frozen=True, slots=True)
class Household:
    """Everything household.yaml says, with its defaults."""

    name: str = ""
    people: int | None = None
    units: str = "us"  # or "metric"
    decimal_comma: bool = False
    currency: str = "USD"
    web_address: str = ""
    place: str = ""
    about: float = 0.25  # the share by which "about" may be off
    footprint: bool = True
    bedding_ready_days: int = 7
    bedding_better_days: int = 14
    bins: Mapping[str, Bin] = field(default_factory=dict)
    givers: Mapping[str, Giver] = field(default_factory=dict)
    plantings: Mapping[str, Planting] = field(default_factory=dict)
    measures: Mapping[str, HouseholdMeasure] = field(default_factory=dict)
    materials: tuple[Material, ...] = ()
    otherwise: Mapping[str, Shares] = field(default_factory=dict)
    goals: Goals = Goals()
    prices: Mapping[str, Price] = field(default_factory=dict)
    equivalents: Mapping[str, float] = field(default_factory=dict)  # "our 32-gallon barrel" -> kg
    sharing: Sharing = _SHARING

    def shares(self, giver: str | None, stream: str) -> Shares:
        """What would have happened to a giver's waste of a stream: the giver's own word first."""
        if giver is not None:
            own = self.givers[giver].otherwise
            if own is not None:
                return own
        return self.otherwise.get(stream, UNKNOWN)

    def publishes_giver(self, name: str) -> str:
        """The only form in which a giver's name may be published."""
        giver = self.givers[name]
        if self.sharing.givers == "hidden":
            return "a neighbour"
        if self.sharing.givers == "initials":
            shown = giver.shown_as or f"neighbour {giver.number}"
            return "".join(word[0] for word in shown.split() if word[0].isalnum()).upper() or str(
                giver.number
            )
        return giver.shown_as or f"a neighbour {giver.number}"
