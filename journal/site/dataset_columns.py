"""The tables of the data package, column by column: name, type, unit and what it means.

The rows are written from these tables, the descriptor's schema is drawn from them, and whoever reads a
package checks it against them.  A change that a reader would notice raises ``SCHEMA``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from journal.notes.household import FATES
from journal.notes.materials import STREAMS
from journal.site.dataset_text import comma_separated

SCHEMA = 1
"""The version of these tables."""

KINDS = (
    "household", "giver", "shop", "store", "batch", "bin", "planting", "landfill", "recycling", "donated",
    "drain", "given away", "crop",
)  # fmt: skip
"""The kinds of account that a movement goes from or to."""

OURS = frozenset({"id", "line", "entry", "verb", "same_weighing", "shared_doubt"})
"""The columns whose texts the program begins, with a letter or a digit."""

MATTERS = ("waste", "castings", "other")
MANNERS = ("weighed", "counted", "by volume", "by measure", "estimated")
SCOPES = ("since start", "year", "month", "stream", "giver")


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its type as Table Schema names it, the unit of a number, and what a reader should know."""

    name: str
    type: str
    description: str
    unit: str = ""
    constraints: Mapping[str, Any] = field(default_factory=dict)

    @property
    def schema(self) -> dict[str, Any]:
        """The column as a field descriptor of Table Schema v1."""
        described: dict[str, Any] = {"name": self.name, "type": self.type, "description": self.description}
        if self.type == "boolean":
            described |= {"trueValues": ["true"], "falseValues": ["false"]}
        if self.unit:
            described["unit"] = self.unit
        if self.constraints:
            described["constraints"] = dict(self.constraints)
        return described


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """One table of the package; ``columns`` in their order."""

    name: str
    title: str
    description: str
    columns: Sequence[Column]
    key: Sequence[str]
    refers: Mapping[str, tuple[str, str]] = field(default_factory=dict)  # column -> (table, column)

    @property
    def heads(self) -> list[str]:
        """The names of the columns."""
        return [column.name for column in self.columns]

    @property
    def texts(self) -> list[int]:
        """The places of the columns that hold text whose first sign may be anybody's."""
        return [
            at
            for at, column in enumerate(self.columns)
            if column.type == "string" and "enum" not in column.constraints and column.name not in OURS
        ]

    @property
    def truths(self) -> list[int]:
        """The places of the columns that are true or false."""
        return [at for at, column in enumerate(self.columns) if column.type == "boolean"]

    def written(self, rows: Iterable[list[Any]], *, head: bool = True) -> bytes:
        """Give rows of this table as CSV, with or without the line of names."""
        return comma_separated(self.heads if head else (), rows, self.texts, self.truths)

    @property
    def schema(self) -> dict[str, Any]:
        """The table's schema (Table Schema v1)."""
        described: dict[str, Any] = {
            "fields": [column.schema for column in self.columns],
            "missingValues": [""],
            "primaryKey": list(self.key),
        }
        if self.refers:
            described["foreignKeys"] = [
                {"fields": column, "reference": {"resource": table, "fields": other}}
                for column, (table, other) in self.refers.items()
            ]
        return described


ONLY_AMOUNTS = "Whether only date, amount, stream and giver as shown are told of its entry"

REQUIRED: Mapping[str, Any] = {"required": True}
NOT_NEGATIVE: Mapping[str, Any] = {"required": True, "minimum": 0}


def share_column(fate: str) -> str:
    """Give the name of the column that holds a fate's share: ``share_council_collection``."""
    return f"share_{fate.replace(' ', '_')}"


MOVEMENTS = Table(
    "movements",
    "Movements of material",
    "One row a movement between two accounts, in the order of the ledger. Mass is conserved in each.",
    (
        Column(
            "id",
            "string",
            "The movement: its date and its number on that day",
            "",
            {"required": True, "unique": True},
        ),
        Column("date", "date", "The day it happened", "", REQUIRED),
        Column("line", "string", "The record line of the journal that it comes from", "", REQUIRED),
        Column(
            "entry", "string", "Page and place of the entry, relative to the site's first page", "", REQUIRED
        ),
        Column("verb", "string", "What the line says was done", "", REQUIRED),
        Column("from_kind", "string", "Kind of account it left", "", {"required": True, "enum": list(KINDS)}),
        Column(
            "from_name", "string", "Name of that account; a giver only as shown; empty where it is not told"
        ),
        Column(
            "to_kind", "string", "Kind of account it went to", "", {"required": True, "enum": list(KINDS)}
        ),
        Column(
            "to_name", "string", "Name of that account; a giver only as shown; empty where it is not told"
        ),
        Column("material", "string", "The material as it moved, or the batch; empty where it is not told"),
        Column(
            "arrived_as",
            "string",
            "The material as the waste arrived; empty for no waste or where it is not told",
        ),
        Column(
            "stream",
            "string",
            "Stream of the waste or material; empty for castings",
            "",
            {"enum": list(STREAMS)},
        ),
        Column(
            "matter",
            "string",
            "Whether it is somebody's waste, castings, or anything else",
            "",
            {"required": True, "enum": list(MATTERS)},
        ),
        Column("giver", "string", "Whose waste it is, as shown; empty for no waste"),
        Column(
            "counted",
            "integer",
            "A number: 1 where waste arrives, -1 where it is rejected, 0 where it only moves on",
            "",
            {"required": True, "minimum": -1, "maximum": 1},
        ),
        Column(
            "inferred",
            "boolean",
            "Whether it was used beyond what was on hand, so taken to be our own",
            "",
            REQUIRED,
        ),
        Column("kg", "number", "Wet mass in kg", "kg", NOT_NEGATIVE),
        Column(
            "own_doubt_kg", "number", "Standard uncertainty in kg of this weighing alone", "kg", NOT_NEGATIVE
        ),
        Column(
            "same_weighing",
            "string",
            "Rows of one weighing carry one mark, and their own doubts add up linearly; empty where alone",
        ),
        Column(
            "shared_doubt",
            "string",
            "Standard uncertainties in kg shared with other rows, as whose: cause=kg",
        ),
        Column("how", "string", "How the mass was found", "", {"required": True, "enum": list(MANNERS)}),
        Column("written", "string", "The amount as written; empty where it is not told"),
        *(
            Column(
                share_column(fate),
                "number",
                f"Share of 1 (a number) whose fate otherwise would be: {fate}; empty for no waste",
                "1",
                {"minimum": 0, "maximum": 1},
            )
            for fate in FATES
        ),
        Column("private", "boolean", ONLY_AMOUNTS, "", REQUIRED),
    ),
    ("id",),
    {"line": ("lines", "id")},
)

LINES = Table(
    "lines",
    "Record lines",
    "One row a record line of the journal. Lines that move no material (checks, money) have no movement.",
    (
        Column(
            "id",
            "string",
            "The line: its date and its number on that day",
            "",
            {"required": True, "unique": True},
        ),
        Column("date", "date", "The day it speaks of", "", REQUIRED),
        Column(
            "entry", "string", "Page and place of the entry, relative to the site's first page", "", REQUIRED
        ),
        Column("verb", "string", "What the line says was done", "", REQUIRED),
        Column(
            "movements",
            "integer",
            "The number of movements that it makes: 0 for a line that moves nothing",
            "",
            NOT_NEGATIVE,
        ),
        Column("text", "string", "The line as written, givers as shown; empty where it is not told"),
        Column("private", "boolean", ONLY_AMOUNTS, "", REQUIRED),
    ),
    ("id",),
)

FIGURES = Table(
    "figures",
    "Totals as the household states them",
    "Each can be worked out from the movements; they stand here so that both can be compared.",
    (
        Column("scope", "string", "What is added up", "", {"required": True, "enum": list(SCOPES)}),
        Column("name", "string", "Which year, month, stream or giver", "", REQUIRED),
        Column("figure", "string", "Which figure", "", REQUIRED),
        Column("kg", "number", "The total in kg", "kg", REQUIRED),
        Column("doubt_kg", "number", "Its expanded doubt in kg (coverage factor k = 2)", "kg", NOT_NEGATIVE),
        Column("lines", "integer", "The number of record lines behind it", "", NOT_NEGATIVE),
    ),
    ("scope", "name", "figure"),
)

READINGS = Table(
    "readings",
    "Readings of bins and batches",
    "One row a check. Halves are half-widths of what was read: the true value is taken to lie within.",
    (
        Column("line", "string", "The record line of the journal that it comes from", "", REQUIRED),
        Column("date", "date", "The day it was read", "", REQUIRED),
        Column(
            "entry", "string", "Page and place of the entry, relative to the site's first page", "", REQUIRED
        ),
        Column(
            "of_kind",
            "string",
            "Whether a bin or a batch was checked",
            "",
            {"required": True, "enum": ["bin", "batch"]},
        ),
        Column("of_name", "string", "Which one; empty where it is not told"),
        Column("temperature_c", "number", "Temperature in °C", "°C"),
        Column("temperature_half_c", "number", "Half-width of the temperature in °C", "°C"),
        Column("moisture_percent", "number", "Moisture in % of wet mass", "%"),
        Column("moisture_half_percent", "number", "Half-width of the moisture in %", "%"),
        Column("ph", "number", "Acidity as pH", "pH"),
        Column("ph_half", "number", "Half-width of the pH", "pH"),
        Column(
            "sightings",
            "string",
            "What was seen and smelled, parted by semicolons; empty where it is not told",
        ),
        Column("private", "boolean", "Whether only date and values are told of its entry", "", REQUIRED),
    ),
    ("line",),
    {"line": ("lines", "id")},
)

TABLES = (MOVEMENTS, LINES, FIGURES, READINGS)
