"""Measures how a club grows: made-up households' packages, then `middenbook club` in a process of its own.

    python tests/bench/club.py --households 10 100 1000 --keep /var/tmp/club

Prints for each size the movements, seconds by the clock and of the processors, and the most memory.
Every household is made up by its own seed and reckoned by the program itself, about 7,000 movements in five
years; packages once made in the folder of `--keep` are used again.
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from journal.notes.records import Notes, Record

CHECKOUT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(CHECKOUT))

FIRST = dt.date(2021, 1, 1)
DAYS = 5 * 365 + 1
RECORDS = 3300
"""Record lines of a household; they make about 7,000 movements."""
PAPER = ("junk mail", "newspaper", "corrugated cardboard")
FOOD = ("banana peels", "coffee grounds", "vegetable scraps")


def notes_of(seed: int, records: int) -> Notes:
    """Make up one household's notes: a random diary of about so many lines."""
    from journal.notes.household import Bin, Giver, Household, Planting
    from journal.notes.materials import Catalogue, Material, Range
    from journal.notes.place import Place
    from journal.notes.records import Entry, Notes

    known = Range(0.2, 0.35, 0.5, "made up")
    catalogue = Catalogue.of([
        *(Material(name, "paper", waste=True, density=known) for name in PAPER),
        Material("shredded paper", "paper", waste=True, density=known, form_of=("paper",)),
        *(Material(name, "food scraps", waste=True, density=known) for name in FOOD),
        Material("coir", "supplies", waste=False), Material("castings", "supplies", waste=False),
    ])  # fmt: skip
    household = Household(
        name=f"House {seed:04d}",
        people=1 + seed % 5,
        web_address=f"https://house-{seed:04d}.example.org/",
        bins={name: Bin(name) for name in ("Lower Bin", "Upper Bin")},
        givers={"Next": Giver("Next", 1, "next door"), "Over": Giver("Over", 2, "over the road")},
        plantings={"Plum": Planting("Plum")},
        otherwise={"paper": {"landfill": 0.6, "recycling": 0.4}, "food scraps": {"landfill": 1.0}},
    )
    dice = random.Random(seed)
    listed = sorted(
        (_record(dice, number) for number in range(records)),
        key=lambda record: (record.date, record.place.line),
    )
    days = sorted({record.date for record in listed})
    at = {day: index for index, day in enumerate(days)}
    for record in listed:
        record.entry = at[record.date]
    entries = [Entry(day, "", private=False, place=Place("all.md", 1, 1), blocks=()) for day in days]
    return Notes(household, catalogue, entries, listed, [], [])


def _record(dice: random.Random, number: int) -> Record:
    from journal.notes.place import Place
    from journal.notes.records import Amount, Record

    day = FIRST + dt.timedelta(days=dice.randrange(DAYS))
    place = Place("all.md", number + 1, 1)

    def some(*names: str) -> Amount:
        name, grams = dice.choice(names), dice.randrange(100, 4000)
        if dice.random() < 0.3:
            return Amount(grams / 1000, name, f"{grams / 350:.1f} L", own=grams / 1e5, how="by volume",
                          shared={f"density of {name}": grams / 4000, "pail": grams / 20000})  # fmt: skip
        return Amount(grams / 1000, name, f"{grams} g", own=0.0003)

    verb = dice.choices(("took in", "shredded", "fed", "bedded", "harvested", "spread", "threw out"),
                        (20, 15, 40, 12, 4, 4, 5))[0]  # fmt: skip
    giver = dice.choice((None, None, "Next", "Over")) if verb in {"took in", "shredded", "fed"} else None
    bin_name = dice.choice(("Lower Bin", "Upper Bin")) if verb in {"fed", "bedded", "harvested"} else None
    names = {"took in": (*PAPER, *FOOD), "shredded": PAPER, "fed": FOOD, "bedded": ("shredded paper",),
             "harvested": ("castings",), "spread": ("castings",), "threw out": PAPER}[verb]  # fmt: skip
    amounts = tuple(some(*names) for _ in range(dice.randrange(1, 3)))
    out_of = dice.choice(PAPER) if verb == "threw out" else None
    return Record(
        verb, day, amounts, place, 0, f"{verb} {number}", giver=giver, bin=bin_name, out_of=out_of,
        out_of_kind="material" if out_of else "", planting="Plum" if verb == "spread" else None,
    )  # fmt: skip


def make_packages(folder: Path, households: int, records: int) -> Iterator[Path]:
    """Make the packages that are not there yet and give all of them."""
    from journal.reckoning.tally import Tally
    from journal.site.dataset import data_files

    for seed in range(1, households + 1):
        house = folder / f"house-{seed:04d}"
        if not (house / "data" / "datapackage.json").exists():
            (house / "data").mkdir(parents=True, exist_ok=True)
            for name, data in data_files(Tally(notes_of(seed, records))).items():
                (house / name).write_bytes(data)
        yield house


class Measured(NamedTuple):
    """What one club took: seconds by the clock and of the processors, and the most bytes of memory."""

    seconds: float
    processor: float
    memory: int


def measure(packages: list[Path], site: Path) -> Measured:
    """Build the club's site in a process of its own."""
    shutil.rmtree(site, ignore_errors=True)
    words = [sys.executable, "-m", "journal", "club", *map(str, packages), "--to", str(site)]
    began = time.perf_counter()
    process = subprocess.Popen(words, cwd=CHECKOUT, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - began
    assert status == 0, f"the club of {len(packages)} failed"
    return Measured(seconds, used.ru_utime + used.ru_stime, used.ru_maxrss * 1024)


def movements_in(packages: list[Path]) -> int:
    """How many movements the packages tell of."""
    total = 0
    for package in packages:
        with (package / "data" / "movements.csv").open("rb") as stream:
            total += sum(1 for _ in stream) - 1
    return total


def report(folder: Path, sizes: list[int], records: int) -> None:
    """Measure each size and print a row for it."""
    packages = []
    for number, package in enumerate(make_packages(folder, max(sizes), records), start=1):
        packages.append(package)
        if number % 100 == 0:
            print(f"made {number} packages", file=sys.stderr)
    print("households   movements   seconds   processor s   memory MB   processor s per million")
    for size in sizes:
        movements = movements_in(packages[:size])
        took = measure(packages[:size], folder / "site")
        told = f"{size:10,}  {movements:10,}  {took.seconds:8.1f}  {took.processor:12.1f}"
        each = took.processor / movements * 1e6
        print(f"{told}  {took.memory / 1e6:10.0f}  {each:10.1f}", flush=True)


def main() -> None:
    """Read the words of the command line and measure."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--households", type=int, nargs="+", default=[10, 100, 1000])
    asked.add_argument("--records", type=int, default=RECORDS, help="record lines of a household")
    asked.add_argument("--keep", type=Path, help="a folder to keep the packages in")
    given = asked.parse_args()
    if given.keep is not None:
        given.keep.mkdir(parents=True, exist_ok=True)
        report(given.keep, given.households, given.records)
        return
    with tempfile.TemporaryDirectory() as folder:
        report(Path(folder), given.households, given.records)


if __name__ == "__main__":
    main()
