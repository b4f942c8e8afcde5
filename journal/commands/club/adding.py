"""Adds packages up in an embedded database: read, judge, recompute, match between members, keep, total.

The queries are the .sql files beside this module, in the order of ``Adding``'s methods.  The database lies in
a folder of its own that is removed afterwards; it may use only so much memory and reaches nothing else.
"""

from __future__ import annotations

import csv
import datetime as dt
import math
import shutil
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from journal.commands.club.description import Description
from journal.commands.club.packages import Refused
from journal.notes.materials import STREAMS
from journal.reckoning.club import NINE_DIGITS, SIX_DIGITS, Difference, differs
from journal.reckoning.club_handovers import HandedOn, OnHand, PassedOn, TakenIn
from journal.reckoning.diversion import rule
from journal.reckoning.tally import OURSELVES
from journal.site.dataset_columns import FIGURES, KINDS, MANNERS, MATTERS, MOVEMENTS
from journal.site.dataset_text import plain

if TYPE_CHECKING:
    import duckdb

MEMORY = "600MB"
THREADS = 2
MOST_KG = 20_000.0
"""No household moves more than this at once; a loaded skip lorry is about half of it (common practice)."""

MOST_DOUBT = 10.0
"""An own doubt of more than so many times its weight (and a kilogram) is no doubt but a slip."""

Row = tuple[Any, ...]


@cache
def query(name: str) -> str:
    """Give the text of one of the .sql files."""
    return (resources.files(__package__) / f"{name}.sql").read_text(encoding="utf-8")


def rules() -> Iterator[Row]:
    """Give the reckoning's own rules of counting as rows of the table ``rules``."""
    for counted, (waste, castings), source, target in product(
        (-1, 0, 1), ((True, False), (False, True), (False, False)), KINDS, KINDS
    ):
        if counted and not waste:
            continue
        for figure, sign, landfilled in rule(counted, source, target, waste=waste, castings=castings):
            yield counted, waste, castings, source, target, figure, sign, landfilled


@dataclass(slots=True)
class Taken:
    """A package that was taken in: its tables' folder, whose it is, and the days that others tell better."""

    number: int
    label: str
    member: int
    folder: Path
    movements: int = 0
    told_elsewhere: list[tuple[dt.date, dt.date]] = field(default_factory=list)


class Wanted(NamedTuple):
    """A package to be read: what it says of itself, which givers are members, whether to keep it."""

    taken: Taken
    about: Description
    members: tuple[str, ...] = ()
    keep: bool = True

    @property
    def file(self) -> str:
        """The path of its movements."""
        return str(self.taken.folder / "movements.csv")

    def as_row(self) -> list[Any]:
        """Give its row of the table ``at_hand``."""
        taken, about = self.taken, self.about
        givers = [*about.givers, OURSELVES]
        days = [about.first, about.last]
        return [taken.number, taken.member, self.file, *days, givers, list(self.members), self.keep]


class Adding:
    """The database of one club."""

    def __init__(self, folder: Path) -> None:
        import duckdb

        self.folder = folder
        self._broken = duckdb.Error
        self.base: duckdb.DuckDBPyConnection = duckdb.connect(
            str(folder / "club.duckdb"),
            config={
                "memory_limit": MEMORY,
                "threads": str(THREADS),
                "temp_directory": str(folder / "spill"),
                "preserve_insertion_order": "true",
                "autoinstall_known_extensions": "false",
                "autoload_known_extensions": "false",
            },
        )
        self.base.execute(f"SET allowed_directories = ['{str(folder).replace(chr(39), chr(39) * 2)}']")
        self.base.execute("SET enable_external_access = false")
        self.base.execute("SET lock_configuration = true")
        self._run("tables")
        self._insert("rules", list(rules()))

    def close(self) -> None:
        """Close the database and remove its folder."""
        self.base.close()
        shutil.rmtree(self.folder, ignore_errors=True)

    def _insert(self, table: str, rows: Sequence[Sequence[Any]]) -> None:
        """Insert rows in one statement, column by column: one by one is many times slower."""
        if rows:
            columns = ", ".join("unnest(?)" for _ in rows[0])
            self.base.execute(
                f"INSERT INTO {table} SELECT {columns}",
                [list(column) for column in zip(*rows, strict=True)],
            )

    def _run(self, name: str, **given: object) -> list[Row]:
        """Run a file's statements with the given values that each names; give the rows of the last."""
        found: list[Row] = []
        for statement in self.base.extract_statements(query(name)):
            wanted = {key: given[key] for key in statement.named_parameters}
            found = self.base.execute(statement, wanted).fetchall()
        return found

    # -- packages at hand ---------------------------------------------------------------------------

    def take_up(self, wanted: Sequence[Wanted]) -> dict[int, str]:
        """Read packages' movements as text, and give those that are refused: number to sentence."""
        refused: dict[int, str] = {}
        for one in wanted:
            try:
                check_head(one.taken.folder / "movements.csv", MOVEMENTS.heads, one.taken.label)
            except Refused as fault:
                refused[one.taken.number] = str(fault)
        ready = [one for one in wanted if one.taken.number not in refused]
        try:
            self._read(ready)
        except self._broken:
            # One of them is no table: each is tried by itself, so that the others can be read after all.
            refused |= {one.taken.number: why for one in ready if (why := self._why_unreadable(one))}
            self._read([one for one in ready if one.taken.number not in refused])
        return refused

    def _read(self, wanted: Sequence[Wanted]) -> None:
        self.base.execute("DELETE FROM at_hand")
        if wanted:
            self._insert("at_hand", [one.as_row() for one in wanted])
            files = [one.file for one in wanted]
            self._run("read", files=files, columns=dict.fromkeys(MOVEMENTS.heads, "VARCHAR"))

    def _why_unreadable(self, one: Wanted) -> str:
        try:
            self._read([one])
        except self._broken as fault:
            return f"{one.taken.label}: movements.csv is no table of these columns: {in_a_line(fault)}"
        return ""

    def judge(self) -> dict[int, tuple[int, str, str, str]]:
        """Judge every row that was read: for each package with faults its first (row, column, cell, why)."""
        found = self._run(
            "faults", kinds=list(KINDS), streams=list(STREAMS), matters=list(MATTERS), manners=list(MANNERS),
            most_kg=MOST_KG, most_doubt=MOST_DOUBT,
        )  # fmt: skip
        for package, *_ in found:
            self.base.execute("DELETE FROM at_hand WHERE package = ?", [package])
        return {package: (row, column, cell, why) for package, row, column, cell, why in found}

    def understand(self) -> dict[int, int]:
        """Give what was read its meaning, those refused left out; give the number of movements of each."""
        self._run("understand")
        return dict(self.base.execute("SELECT package, count(*) FROM movements GROUP BY package").fetchall())

    def recompute(self) -> dict[int, dict[tuple[str, str, str], tuple[float, float]]]:
        """Add each package's totals up: (scope, name, figure) to total and doubt in kg."""
        found: dict[int, dict[tuple[str, str, str], tuple[float, float]]] = {}
        for package, scope, name, figure, kg, doubt in self._run("recompute"):
            found.setdefault(package, {})[scope, name, figure] = (kg, doubt)
        return found

    def forget(self, package: int) -> None:
        """Keep nothing of a package that was read."""
        for table in ("movements", "told", "causes_told"):
            self.base.execute(f"DELETE FROM {table} WHERE package = ?", [package])  # noqa: S608 - names of ours

    def tell_elsewhere(self, taken: Taken) -> None:
        """Note the days of a package that another of the same household tells."""
        for first, last in taken.told_elsewhere:
            self.base.execute("INSERT INTO told_elsewhere VALUES (?, ?, ?)", [taken.number, first, last])

    def between(self) -> None:
        """Note what the packages at hand tell of passing waste between members."""
        self._run("between")

    def keep(self) -> None:
        """Add the packages at hand, those marked so, to the club's tables."""
        self._run("keep")

    # -- all of them ------------------------------------------------------------------------------

    def passings(
        self, shown: Mapping[tuple[int, str], int]
    ) -> tuple[list[PassedOn], list[TakenIn], dict[tuple[int, str], OnHand]]:
        """Give what members passed on, took in from members, and have on hand, for matching.

        ``shown`` says which member another is, by (member, name as shown there).
        """
        passed = [
            PassedOn(
                member, package, identity, day, stream, shown.get((member, name)), counted, kg, doubt,
                share=share,
            )
            for member, package, identity, day, stream, name, counted, kg, doubt, share
            in self._rows("passed_on")
            if not name or shown.get((member, name)) is not None
        ]  # fmt: skip
        taken = [
            TakenIn(member, package, identity, day, stream, shown[member, name], kg, doubt, share=share)
            for member, package, identity, day, stream, name, kg, doubt, share in self._rows("taken_in")
        ]
        flows: dict[tuple[int, str], list[tuple[dt.date, float]]] = {}
        for member, day, stream, kg in self._rows("on_hand"):
            flows.setdefault((member, stream), []).append((day, kg))
        return passed, taken, {key: OnHand(flow) for key, flow in flows.items()}

    def _rows(self, table: str) -> list[Row]:
        return self.base.execute(f"FROM {table} ORDER BY ALL").fetchall()

    def hand_on(self, found: Sequence[HandedOn]) -> None:
        """Take what was matched off the givers' counts, from the next package kept on."""
        rows = [(one.package, one.id, one.giver, one.how, one.part) for one in found]
        self._insert("handed_on", rows)

    def totals(self) -> list[Row]:
        """Give all totals: member, year, month, week, stream, figure, kg, variance."""
        return self._run("totals")

    def participation(self) -> list[Row]:
        """Give who wrote when: scope, start, member, households, days."""
        return self._run("participation")

    def unknown_fate(self) -> dict[int, float]:
        """Give what each member kept out of landfill although nobody knows its fate otherwise, in kg."""
        found: dict[int, float] = {}
        for member, kg in self._rows("unknown_fate"):
            found[member] = found.get(member, 0.0) + kg
        return found

    def used(self) -> list[Row]:
        """Give waste used here: member, year, material, stream, three shares, kg, variance, linear doubt."""
        return self._rows("used")


def differences(
    taken: Taken, recomputed: Mapping[tuple[str, str, str], tuple[float, float]]
) -> list[Difference]:
    """Give the totals that a package states otherwise than they were recomputed.  Raises Refused."""
    stated = stated_totals(taken)
    found: list[Difference] = []
    for key in sorted({*stated, *recomputed}):
        kg, doubt = recomputed.get(key, (0.0, 0.0))
        told = stated.get(key, (None, None))
        if differs(told[0], kg, NINE_DIGITS):
            found.append(Difference(taken.member, taken.label, *key, "total", told[0], kg))
        if differs(told[1], doubt, SIX_DIGITS):
            found.append(Difference(taken.member, taken.label, *key, "doubt", told[1], doubt))
    return found


def check_head(file: Path, heads: Sequence[str], label: str) -> None:
    """Refuse a table whose first row is not the names of its columns."""
    with file.open("rb") as stream:
        first = stream.readline(4096)
    if first != (",".join(heads) + "\r\n").encode():
        raise Refused(f"{label}: {file.name} does not begin with the names of its columns")


def stated_totals(taken: Taken) -> dict[tuple[str, str, str], tuple[float, float]]:
    """Read figures.csv: (scope, name, figure) to total and doubt in kg.  Raises Refused."""
    file = taken.folder / "figures.csv"
    check_head(file, FIGURES.heads, taken.label)
    found: dict[tuple[str, str, str], tuple[float, float]] = {}
    try:
        with file.open(encoding="utf-8", newline="") as stream:
            for row in csv.DictReader(stream, strict=True):
                key = (plain(row["scope"]), plain(row["name"]), plain(row["figure"]))
                found[key] = (finite(row["kg"]), finite(row["doubt_kg"]))
    except (ValueError, TypeError, csv.Error) as fault:
        raise Refused(f"{taken.label}: figures.csv, row {len(found) + 2}, cannot be read: {fault}") from None
    return found


def finite(cell: str) -> float:
    """Read a number.  Raises ValueError where it is none, or none that can be compared."""
    value = float(cell)
    if not math.isfinite(value):
        raise ValueError(f"{cell} is no number")
    return value


def in_a_line(fault: Exception) -> str:
    """Give the first line of a database's message, without its own name and paths."""
    first = next((line for line in str(fault).splitlines() if line.strip()), "it cannot be read")
    return first.split(":", 1)[-1].strip().split(" file ")[0][:160]
