"""The catalogue of materials: what is waste, which stream, how wet, how much carbon and nitrogen, how dense.

Every figure is low, typical, high and says where it comes from.  Moisture is % of wet mass, nitrogen and
carbon % of dry mass, density kg/L as used, ``each`` the wet mass of one thing in kg.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from journal.notes.names import fold, nearest

STREAMS = ("paper", "food scraps", "garden", "mineral", "supplies", "other")


class Range(NamedTuple):
    """Low, typical and high value of one property, with the source that says so."""

    low: float
    typical: float
    high: float
    source: str = ""  # a key of sources.yaml, or "household.yaml"
    where: str = ""  # table or page
    checked: str = "from memory"

    @property
    def half_width(self) -> float:
        """Half of the distance from low to high (GUM 4.3.7: a rectangular half-width)."""
        return (self.high - self.low) / 2


class Material(NamedTuple):
    """One material of the catalogue or of household.yaml."""

    name: str
    stream: str
    waste: bool  # counts as diverted when it arrives
    also: tuple[str, ...] = ()
    moisture: Range | None = None
    nitrogen: Range | None = None
    carbon: Range | None = None
    density: Range | None = None
    each: Range | None = None
    form_of: tuple[str, ...] = ()  # materials it is a form of: it draws on what is on hand of them
    cautions: tuple[str, ...] = ()  # keys of the cautions the site shows


@dataclass(frozen=True)
class Catalogue:
    """All materials a journal knows, found by any of their names.

    ``by_fold`` gives for each name, in the form in which names are compared, whose it is, and ``written`` how
    it is spelled: folding some thousand names again takes longer than most that is done with them.
    """

    materials: Mapping[str, Material]
    by_fold: Mapping[str, str] = field(repr=False, default_factory=dict)
    written: Mapping[str, str] = field(repr=False, default_factory=dict)

    @classmethod
    def of(cls, materials: Iterable[Material]) -> Catalogue:
        """Make a catalogue; a later material of the same name replaces an earlier one."""
        return cls({}).with_more(materials)

    def with_more(self, more: Iterable[Material]) -> Catalogue:
        """Give a catalogue that holds more materials; one of the same name replaces an earlier one."""
        fresh = {material.name: material for material in more}
        named = {**self.materials, **fresh}
        if not self.materials.keys().isdisjoint(fresh):  # other names of those replaced go with them
            return Catalogue.of(named.values())
        folded, written = dict(self.by_fold), dict(self.written)
        names = {fold(name) for name in named}
        for material in fresh.values():
            for other in material.also:
                key = fold(other)
                if key not in names:
                    folded[key], written[key] = material.name, other
        for material in fresh.values():
            key = fold(material.name)
            folded[key], written[key] = material.name, material.name
        return Catalogue(named, folded, written)

    def find(self, words: str) -> Material | None:
        """Give the material of this name (case, "the" and plurals ignored), or None."""
        name = self.by_fold.get(fold(words))
        return None if name is None else self.materials[name]

    def nearest(self, words: str) -> str | None:
        """Give the name nearest to the words, or None."""
        spellings = list(self.materials)
        for material in self.materials.values():
            spellings.extend(material.also)
        return nearest(words, spellings)
