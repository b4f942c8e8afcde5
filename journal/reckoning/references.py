"""What the reckoning takes from published sources: worms, factors, nutrients, comparisons, cautions.

Every figure is a ``Range`` (low, typical, high) that names its source, table or page and how far it
was checked.  Units are those of the reckoning: kg, L, m², °C, days, fractions of one; moisture in % of wet
mass, nutrients in % of dry mass, emissions in kg CO₂e per kg of waste as discarded.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from journal.notes.materials import Material, Range
from journal.notes.names import fold

CHECKED = (
    "seen",
    "seen in the official workbook",
    "seen in a copy",
    "seen second-hand",
    "seen, weak source",
    "computed",
    "common practice, no published source",
    "from memory",
)

SHORT_TON = 907.18474  # kg, exact: 2000 avoirdupois pounds (NIST Handbook 44, Appendix C)

FATES = ("recycled", "landfilled", "combusted", "composted", "digested dry", "digested wet")


class Source(NamedTuple):
    """One work that figures come from; ``note`` says where author or edition was inferred."""

    key: str
    author: str
    title: str
    year: str = ""
    publisher: str = ""
    note: str = ""

    @property
    def citation(self) -> str:
        """Author, title, publisher and year in one sentence."""
        return ", ".join(part for part in (self.author, self.title, self.publisher, self.year) if part) + "."


# ---------------------------------------------------------------------------------------------- worms

_STATES = {
    "temperature": ("cold", "low", "good", "high", "dangerous"),
    "moisture": ("dangerous", "low", "good", "high", "dangerous"),
    "pH": ("dangerous", "low", "good", "high", "dangerous"),
}
_WORDS = {
    "temperature": ("too cold", "cool", "good", "warm", "dangerously warm"),
    "moisture": ("dangerously dry", "dry", "good", "wet", "dangerously wet"),
    "pH": ("dangerously acid", "acid", "good", "alkaline", "dangerously alkaline"),
}


class Band(NamedTuple):
    """Where one reading is good for a kind of worm, and where it harms.

    ``quantity`` is "temperature" (°C), "moisture" (% of wet mass) or "pH".  Good runs from ``low`` to
    ``high``, both included; below ``bottom`` and above ``top`` the worms suffer or die.
    """

    quantity: str
    bottom: float
    low: float
    high: float
    top: float
    source: str
    where: str = ""
    checked: str = "from memory"
    note: str = ""

    def position(self, value: float) -> int:
        """Give -2 below the bottom, -1 below good, 0 for good, 1 above good, 2 above the top."""
        if value < self.low:
            return -2 if value < self.bottom else -1
        if value > self.high:
            return 2 if value > self.top else 1
        return 0

    def state(self, value: float) -> str:
        """Give "cold" (temperature only), "low", "good", "high" or "dangerous"."""
        return _STATES[self.quantity][self.position(value) + 2]

    def words(self, value: float) -> str:
        """Give the state as said of this quantity: "dangerously dry", "cool", "alkaline"."""
        return _WORDS[self.quantity][self.position(value) + 2]


class WormKind(NamedTuple):
    """One kind of worm as it is sold and kept."""

    name: str  # trade name, plural: "red wigglers"
    also: tuple[str, ...]
    latin: tuple[str, ...]  # species sold under the trade name
    temperature: Band
    moisture: Band
    acidity: Band  # pH
    each: Range  # kg, one worm
    feed: Range  # kg of feed per kg of worms and day, wet
    stocking: Range  # kg of worms per m² of surface; its high is where growth is taken to stop
    doubling: Range  # days in which a population in good conditions doubles
    note: str = ""


class Husbandry(NamedTuple):
    """Figures of keeping worms that hold for all kinds."""

    feed_per_surface: Range  # kg of feed per m² and week
    bedding_depth: Range  # m
    resting: Range  # days a batch of bedding rests: usable from low, better from typical
    harvest_interval: Range  # days between two harvests of one bin
    first_harvest: Range  # days from stocking a bin to its first harvest
    castings_yield: Range  # kg of castings per kg of feed and bedding, wet
    solids_lost: Range  # fraction of dry matter that leaves as gas
    volume_lost: Range  # fraction of volume
    starting_carbon_nitrogen: Range  # C:N of what goes into a bin, worms' bins, not hot heaps
    standing_water: Range  # hours open water stands to lose free chlorine; chloramine stays


class Worms(NamedTuple):
    """All kinds of worm, with the husbandry common to them."""

    kinds: Mapping[str, WormKind]  # by trade name
    husbandry: Husbandry
    unknown: str  # the kind whose figures serve where a bin names none

    def find(self, words: str) -> WormKind | None:
        """Give the kind of this trade or Latin name (case and plurals ignored), or None."""
        wanted = fold(words)
        for kind in self.kinds.values():
            if wanted in {fold(name) for name in (kind.name, *kind.also, *kind.latin)}:
                return kind
        return None


# -------------------------------------------------------------------------------------------- emissions


@dataclass(frozen=True, slots=True)
class FactorTable:
    """One edition of a published table: rows as printed, in t CO₂e per short ton; "NA" stays "NA"."""

    edition: str
    source: str
    where: str
    checked: str
    potentials: str  # the warming potentials the table itself uses: "AR4"
    printed: Mapping[str, Mapping[str, str]]  # row -> fate -> figure as printed
    instead: Mapping[str, str] = field(default_factory=dict)  # row of other editions -> row that serves here

    def row_here(self, row: str) -> str:
        """Give the row itself, or the one that stands in where this edition has no such row."""
        return row if row in self.printed else self.instead.get(row, row)

    def per_kilogram(self, row: str, fate: str) -> float | None:
        """Give the factor in kg CO₂e per kg, or None where the table prints none.

        t CO₂e per short ton × 1000 kg per t ÷ 907.18474 kg per short ton.
        """
        text = self.printed.get(self.row_here(row), {}).get(fate, "NA")
        return None if text == "NA" else float(text) * 1000.0 / SHORT_TON


class RowUse(NamedTuple):
    """Which row of the table a material (or, failing that, its stream) is reckoned by.

    ``low`` and ``high`` name the rows of the ends of the range, the same as ``row`` where only one fits.
    ``counts`` is false for what is mineral: weight, but no emissions.  ``home_bin`` is "IPCC" for the
    composting defaults of wet waste, else the table row whose composting factor stands in.
    """

    of: str  # a material or a stream
    row: str
    low: str
    high: str
    stand_in: bool
    why: str
    home_bin: str = "IPCC"
    counts: bool = True


class Potentials(NamedTuple):
    """100-year global warming potentials, kg CO₂e per kg of gas."""

    name: str  # "AR6"
    methane: float
    nitrous_oxide: float
    source: str
    where: str
    checked: str


class HomeBin(NamedTuple):
    """What biological treatment itself emits, kg of gas per kg of wet waste."""

    methane: Range
    nitrous_oxide: Range
    potentials: str  # the name of those used

    def emissions(self, potentials: Potentials) -> Range:
        """Give kg CO₂e per kg of wet waste: both gases low, typical or high together."""
        low, typical, high = (
            methane * potentials.methane + nitrous_oxide * potentials.nitrous_oxide
            for methane, nitrous_oxide in (
                (self.methane.low, self.nitrous_oxide.low),
                (self.methane.typical, self.nitrous_oxide.typical),
                (self.methane.high, self.nitrous_oxide.high),
            )
        )
        return Range(low, typical, high, self.methane.source, self.methane.where, "computed")


class Factors(NamedTuple):
    """All emission factors."""

    tables: Mapping[str, FactorTable]  # by edition
    newest: str  # the edition used where none is asked for
    uses: Mapping[str, RowUse]  # by material or stream
    potentials: Mapping[str, Potentials]  # by name
    home_bin: HomeBin
    absurd_above: float  # kg CO₂e avoided per kg of waste beyond which a result is a fault
    words: Mapping[str, str]  # plain statements that belong under every figure

    def use_of(self, material: Material) -> RowUse | None:
        """Give the row a material is reckoned by: its own, else its stream's, else None."""
        return self.uses.get(material.name) or self.uses.get(material.stream)

    def bin_emissions(self) -> Range:
        """Give what the home bin emits, kg CO₂e per kg of wet waste."""
        return self.home_bin.emissions(self.potentials[self.home_bin.potentials])


# ------------------------------------------------------------------------------- nutrients, comparisons


class Oxide(NamedTuple):
    """How the trade states an element: P as P₂O₅, K as K₂O; ``factor`` is kg of oxide per kg of element."""

    name: str
    element: str
    factor: float
    source: str
    where: str
    checked: str


class Nutrient(NamedTuple):
    """Total content (not plant-available) of one nutrient, % of dry mass."""

    name: str  # "N", "P2O5" or "K2O"
    content: Range


class Analysis(NamedTuple):
    """One published analysis, as its source gives it."""

    of: str
    basis: str  # "dry" or "as sold"
    contents: Mapping[str, float]  # nutrient -> %
    source: str
    where: str
    checked: str
    note: str = ""


class Nutrients(NamedTuple):
    """Nutrients of castings and compost, and the conversions of the trade."""

    contents: Mapping[str, Mapping[str, Nutrient]]  # material -> nutrient's name -> content
    oxides: Mapping[str, Oxide]  # by the oxide's name
    first_year: Range  # fraction of total nitrogen that plants get in the first year
    analyses: tuple[Analysis, ...]


class Comparison(NamedTuple):
    """A published average to set a household's figure beside."""

    key: str
    what: str  # "municipal waste generated per person"
    year: str
    scope: str
    kilograms: float  # per person and day
    printed: str  # as the source prints it
    source: str
    where: str
    checked: str
    note: str = ""


# ---------------------------------------------------------------------------------------------- cautions


class Caution(NamedTuple):
    """A plain warning, and where it is shown.

    It belongs wherever one of its ``materials``, ``streams`` or ``verbs`` occurs, and on its ``pages``
    always.  ``defers`` says whose word comes first.
    """

    key: str
    title: str
    text: str
    defers: str
    source: str
    where: str
    checked: str
    materials: tuple[str, ...] = ()
    streams: tuple[str, ...] = ()
    verbs: tuple[str, ...] = ()
    pages: tuple[str, ...] = ()

    def applies(self, *, materials: frozenset[str], streams: frozenset[str], verbs: frozenset[str]) -> bool:
        """Whether a journal (or page) with these materials, streams and verbs calls for it."""
        return bool(
            materials.intersection(self.materials)
            or streams.intersection(self.streams)
            or verbs.intersection(self.verbs)
        )


# --------------------------------------------------------------------------------------- all together


class References(NamedTuple):
    """All that the reckoning takes from published sources."""

    sources: Mapping[str, Source]
    worms: Worms
    factors: Factors
    nutrients: Nutrients
    comparisons: Mapping[str, Comparison]
    cautions: Mapping[str, Caution]
