"""Packages for the tests of clubs: published from journals, changed by hand, and added up independently.

`python tests/club_packages.py` makes the published packages in tests/data/club anew from their journals.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import math
import sys
import zipfile
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parent.parent
if __name__ == "__main__":
    sys.path.insert(0, str(CHECKOUT))

CLUB = CHECKOUT / "tests" / "data" / "club"
HOUSES = ("ash-house", "elm-house", "mill-cottage")
WRONG_BY = 10.0
"""So many kg more than its movements add up to is what Mill Cottage says it took in."""

Files = dict[str, bytes]
Rows = list[dict[str, str]]


def published(journal: Path) -> Files:
    """Publish the data package of a journal."""
    from journal.commands.files import read_journal
    from journal.reckoning.tally import Tally
    from journal.site.dataset import data_files

    notes = read_journal(journal)
    assert not notes.problems, [str(problem) for problem in notes.problems]
    return data_files(Tally(notes))


def laid(files: Mapping[str, bytes], folder: Path) -> Path:
    """Lay files into a folder, as a site does, and give the folder."""
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return folder


def zipped(files: Mapping[str, bytes], file: Path) -> Path:
    """Put files into a zip and give its path."""
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return file


def described(files: Files, change: Callable[[dict[str, object]], object] = lambda _: None) -> Files:
    """Give the files with their description put right for their content, after a change to it."""
    document = json.loads(files["data/datapackage.json"])
    for resource in document["resources"]:
        data = files[f"data/{resource['path']}"]
        resource["bytes"] = len(data)
        resource["hash"] = f"sha256:{hashlib.sha256(data).hexdigest()}"
    change(document)
    return {**files, "data/datapackage.json": json.dumps(document).encode()}


def renamed(files: Files, household: str) -> Files:
    """Give the files as another household's."""
    document = json.loads(files["data/datapackage.json"])
    document["middenbook"]["household"] = household
    return {**files, "data/datapackage.json": json.dumps(document).encode()}


def rows_of(files: Mapping[str, bytes], table: str = "movements") -> Rows:
    """The rows of a table, cells as they stand."""
    return list(csv.DictReader(io.StringIO(files[f"data/{table}.csv"].decode(), newline="")))


def with_rows(files: Files, rows: Rows, table: str = "movements") -> Files:
    """Give the files with other rows in a table, and a description that fits them."""
    name = f"data/{table}.csv"
    heads = files[name].decode().split("\r\n", 1)[0].split(",")
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, heads, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return described({**files, name: text.getvalue().encode()})


def with_cell(files: Files, row: int, column: str, value: str, table: str = "movements") -> Files:
    """Give the files with one cell changed."""
    rows = rows_of(files, table)
    rows[row][column] = value
    return with_rows(files, rows, table)


def with_wrong_total(files: Files) -> Files:
    """Give the files with more stated as taken in than there is."""
    rows = rows_of(files, "figures")
    for row in rows:
        if row["scope"] == "since start" and row["figure"] == "taken_in":
            row["kg"] = repr(float(row["kg"]) + WRONG_BY)
    return with_rows(files, rows, "figures")


# -- an independent recomputation: the reckoning's plain words on rows of text, nothing of the program's ----

PASSED_ON = ("recycling", "donated", "given away")


def factors(row: Mapping[str, str]) -> dict[str, float]:
    """How often a movement's mass adds to each figure."""
    counted, to, waste = int(row["counted"]), row["to_kind"], row["matter"] == "waste"
    shares = float(row["share_landfill"] or 0) + float(row["share_unknown"] or 0)
    kept = counted if counted < 0 or to not in PASSED_ON else 0
    if waste and not counted and to in PASSED_ON:
        kept = -1
    castings = row["matter"] == "castings"
    return {
        "taken_in": float(counted == 1),
        "kept_out_of_landfill": counted * shares,
        "kept_in_use": float(kept),
        "thrown_out": float(to == "landfill"),
        "castings_harvested": float(castings and row["from_kind"] == "bin" and to == "store"),
        "castings_spread": float(castings and to == "planting"),
    }


Part = tuple[str, Mapping[str, str], float]
"""A household, a row of its movements, and the part of it that counts."""


def total(parts: Iterable[Part], figure: str) -> tuple[float, float]:
    """Add up a figure over rows of many households: its value and its expanded doubt (k = 2) in kg."""
    values: list[float] = []
    linear: dict[tuple[str, str, str], list[float]] = {}
    for household, row, part in parts:
        times = factors(row)[figure] * part
        values.append(float(row["kg"]) * times)
        mark = row["same_weighing"] or row["id"]
        linear.setdefault((household, "weighing", mark), []).append(float(row["own_doubt_kg"]) * times)
        for piece in filter(None, row["shared_doubt"].split("; ")):
            name, _, doubt = piece.rpartition("=")
            whose = "" if name.startswith("catalogue: ") else household
            linear.setdefault((whose, "cause", name), []).append(float(doubt) * times)
    variance = math.fsum(math.fsum(sums) ** 2 for sums in linear.values())
    return math.fsum(values), 2 * math.sqrt(variance)


def main() -> None:
    """Publish the three households anew, the last with its wrong total."""
    for house in HOUSES:
        files = published(CLUB / house)
        laid(with_wrong_total(files) if house == "mill-cottage" else files, CLUB / "published" / house)


if __name__ == "__main__":
    main()
