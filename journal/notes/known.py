"""Everything a record line may name, made ready to be looked for; and what was read before, remembered.

Names of materials and batches are one set, since either can be an amount's material; of two equal names
the batch comes first.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from journal.measures.doubt import rectangular
from journal.notes.household import Household, HouseholdMeasure
from journal.notes.materials import Catalogue, Range
from journal.notes.names import Names, fold
from journal.notes.parts import Mixing, Quantity, Sentence

BATCH_DENSITY = Range(0.5, 1.0, 1.1, where="assumed; a bedding holds air, a slurry hardly any")
"""kg/L of a batch whose ingredients do not tell its volume (common practice, no published source)."""

_WORM_WORDS = ("worm", "wiggler", "nightcrawler", "night crawler", "crawler")
_CASTING_WORDS = ("casting", "vermicompost", "vermicast")


class Stuff:
    """A material or a batch as an amount's material, with its ranges as typical value and standard doubt."""

    __slots__ = ("castings", "density", "each", "is_batch", "name", "worms")

    def __init__(
        self, name: str, *, density: Range | None, each: Range | None, is_batch: bool = False
    ) -> None:
        folded = fold(name)
        self.name = name
        self.is_batch = is_batch
        self.density = density
        self.each = each
        self.worms = not is_batch and folded.endswith(_WORM_WORDS)
        self.castings = not is_batch and folded.endswith(_CASTING_WORDS)


def spread(figure: Range) -> float:
    """Give the standard uncertainty of a figure known from low to high (GUM 4.3.7)."""
    return rectangular(figure.half_width)


class Known:
    """The names that lines may use.  ``batches`` maps a batch to its kind, "bedding" or "slurry"."""

    def __init__(self, household: Household, catalogue: Catalogue, batches: Mapping[str, str]) -> None:
        self.household = household
        self.catalogue = catalogue
        self.batches = batches
        self.comma = household.decimal_comma
        self.about = household.about
        self.bins = Names((name, name) for name in household.bins)
        self.givers = Names((name, name) for name in household.givers)
        self.plantings = Names((name, name) for name in household.plantings)
        self.materials: Names[Stuff] = Names()
        stuffs = {
            name: Stuff(name, density=material.density, each=material.each)
            for name, material in catalogue.materials.items()
        }
        for folded, name in catalogue.by_fold.items():
            self.materials.add_folded(folded, catalogue.written[folded], stuffs[name])
        self.batch_stuff = {name: Stuff(name, density=None, each=None, is_batch=True) for name in batches}
        for name, stuff in self.batch_stuff.items():
            self.materials.add(name, stuff)
        self.batch_names = Names((name, name) for name in batches)
        self.containers: Names[str] = Names()
        self.measures: dict[tuple[str, str | None], HouseholdMeasure] = {}
        for measure in household.measures.values():
            container = container_of(measure)
            self.containers.add(container, fold(container))
            self.measures[fold(container), measure.material] = measure
        self.mixings: Mapping[str, Mixing] = {}
        self.batch_density: Callable[[str], Range] = lambda _name: BATCH_DENSITY
        self.quantities: dict[str, Quantity] = {}
        self.sentences: dict[str, Sentence] = {}
        self.alike: dict[tuple[str, str], Sentence] = {}  # by verb, and what stands behind a quantity
        self.readings: dict[str, tuple[str, float, float, int] | None] = {}  # by an item's words

    def density(self, stuff: Stuff) -> Range | None:
        """Give the density of a material or batch in kg/L, or None where nobody knows it."""
        if stuff.is_batch and stuff.density is None:
            stuff.density = self.batch_density(stuff.name)
        return stuff.density


def container_of(measure: HouseholdMeasure) -> str:
    """Give the bag of a "bag of shredded paper"; a measure meant for anything is its own container."""
    if measure.material is None:
        return measure.name
    return measure.name.partition(" of ")[0]
