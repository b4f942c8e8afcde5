"""Measures the program against the floor in one run and prints the ratios.

    python tests/bench/run.py --entries 10000
    python tests/bench/run.py --entries 10000 --grow        (and how time grows, from a tenth as many)

Times are the fastest of `--runs`; memory is the most that any run took, of the largest process and of all
processes together, pages that they share counted once. Nothing is judged here: a bar is printed beside each
ratio for the reader.
"""

from __future__ import annotations

import argparse
import filecmp
import functools
import math
import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

HERE = Path(__file__).resolve().parent
CHECKOUT = HERE.parent.parent
MEGABYTE = 1_000_000
SAMPLE_EVERY = 0.05  # seconds
NOTE = ("note", "fed 1.25 lb banana peels to Pantry Bin")


class Measured(NamedTuple):
    """What one command took: seconds, and bytes of its largest process and of all together."""

    seconds: float
    largest: int = 0
    together: int = 0

    def best_of(self, other: Measured) -> Measured:
        """The faster time, the larger memory."""
        return Measured(
            min(self.seconds, other.seconds),
            max(self.largest, other.largest),
            max(self.together, other.together),
        )


def resident(pid: int) -> int:
    """Bytes that a process and all its children hold in memory now; 0 where the system does not tell.

    What several of them share counts once in all (the kernel's proportional set size).
    """
    try:
        held = Path(f"/proc/{pid}/smaps_rollup").read_text(encoding="ascii").partition("\nPss:")[2].split()[0]
        children = "".join(
            (task / "children").read_text(encoding="ascii") for task in Path(f"/proc/{pid}/task").iterdir()
        )
    except (OSError, IndexError):
        return 0
    return int(held) * 1024 + sum(resident(int(child)) for child in children.split())


def measure(command: list[str], memory: Path, *, watched: bool = False) -> Measured:
    """Run a command to its end and measure it; stops with its words if it fails.

    Watching what all processes hold together takes time of its own, so a watched run is not a timed one.
    """
    surroundings = {**os.environ, "PYTHONPATH": str(CHECKOUT), "XDG_CACHE_HOME": str(memory)}
    most, over = [0], threading.Event()
    with tempfile.TemporaryFile() as words:
        began = time.perf_counter()
        process = subprocess.Popen(command, env=surroundings, cwd=memory.parent, stdout=words, stderr=words)

        def watch() -> None:
            while not over.wait(SAMPLE_EVERY):
                most[0] = max(most[0], resident(process.pid))

        if watched:
            threading.Thread(target=watch, daemon=True).start()
        _, status, usage = os.wait4(process.pid, 0)
        seconds = time.perf_counter() - began
        over.set()
        process.returncode = os.waitstatus_to_exitcode(status)
        if process.returncode != 0:
            words.seek(0)
            raise SystemExit(f"{' '.join(command)} failed:\n{words.read().decode(errors='replace')[-3000:]}")
    largest = usage.ru_maxrss * (1 if sys.platform == "darwin" else 1024)
    return Measured(seconds if not watched else math.inf, largest, max(most[0], largest))


class Bench:
    """One made-up journal with its site and memory, and everything that is measured on it."""

    def __init__(self, folder: Path, entries: int, arrangement: str, runs: int) -> None:
        self.folder, self.fresh = folder, 0
        self.journal, self.site, self.memory = folder / "journal", folder / "site", folder / "memory"
        self.entries, self.arrangement, self.runs = entries, arrangement, runs
        self.watched = False
        self.memory.mkdir(parents=True)
        self.make()

    def make(self, edited: int = -1) -> None:
        """Lay the journal out anew, with a line of one entry changed if so wished."""
        words = ["--entries", self.entries, "--arrangement", self.arrangement, "--edited", edited]
        script = HERE / "make_journal.py"
        subprocess.run([sys.executable, str(script), str(self.journal), *map(str, words)], check=True)

    def program(self, *words: str) -> Measured:
        """Measure one call of the program on the journal."""
        command = [sys.executable, "-m", "journal", "--journal", str(self.journal), *words]
        return measure(command, self.memory, watched=self.watched)

    def best(self, once: Callable[[int], Measured]) -> Measured:
        """The fastest of several runs, each told its number, and the memory of one more."""
        return self.best_in_turn(once)[0]

    def best_in_turn(self, *steps: Callable[[int], Measured]) -> list[Measured]:
        """The same of several steps that take turns, so that a machine that slows down slows them alike."""
        best = [once(0) for once in steps]
        for number in range(1, self.runs):
            best = [found.best_of(once(number)) for found, once in zip(best, steps, strict=True)]
        self.watched = True
        best = [found.best_of(once(self.runs)) for found, once in zip(best, steps, strict=True)]
        self.watched = False
        return best

    def publish(self, site: Path | None = None) -> Measured:
        """Publish over whatever is there."""
        return self.program("publish", "--to", str(site or self.site))

    def publish_cold(self, _number: int = 0) -> Measured:
        """Publish with nothing remembered and nothing there.

        What was made before stays until the end: a disk is slower just after thousands of files are removed.
        """
        self.fresh += 1
        self.site, self.memory = self.folder / f"site-{self.fresh}", self.folder / f"memory-{self.fresh}"
        self.memory.mkdir()
        return self.publish()

    def publish_edited(self, number: int) -> Measured:
        """Publish after a line in the middle of the journal was changed, another one each time."""
        self.make(edited=self.entries // 2 + number)
        return self.publish()

    def edited_is_cold(self) -> bool:
        """Whether the site after an edit is, byte for byte, what a cold publication gives."""
        fresh = self.site.with_name("fresh")
        kept, self.memory = self.memory, self.folder / "memory-fresh"
        self.memory.mkdir()
        self.publish(fresh)
        self.memory = kept
        names = {file.relative_to(self.site) for file in self.site.rglob("*") if file.is_file()}
        fresh_names = {file.relative_to(fresh) for file in fresh.rglob("*") if file.is_file()}
        same = all(filecmp.cmp(self.site / name, fresh / name, shallow=False) for name in names & fresh_names)
        shutil.rmtree(fresh)
        return same and names == fresh_names

    def floor(self, _number: int = 0) -> Measured:
        """The libraries alone, on the same journal and site."""
        self.fresh += 1
        scratch = self.folder / f"scratch-{self.fresh}"
        command = [sys.executable, str(HERE / "floor.py"), str(self.journal), str(self.site), str(scratch)]
        return measure(command, self.memory, watched=self.watched)

    def floor_in_parts(self) -> str:
        """What the floor spends on Markdown, on writing and on drawing."""
        scratch = self.folder / "scratch"
        command = [sys.executable, str(HERE / "floor.py"), str(self.journal), str(self.site), str(scratch)]
        done = subprocess.run(command, capture_output=True, encoding="utf-8", check=True)
        return done.stdout

    def tally(self, _number: int = 0) -> Measured:
        """Reckon and print every total."""
        return self.program("tally", "--json")

    def tally_edited(self, number: int) -> Measured:
        """The same after a line was changed that nothing was published of."""
        self.make(edited=self.entries // 2 - 1 - number)
        return self.tally()

    def tally_cold(self, _number: int = 0) -> Measured:
        """The same with nothing remembered."""
        self.fresh += 1
        kept, self.memory = self.memory, self.folder / f"memory-{self.fresh}"
        self.memory.mkdir()
        measured = self.tally()
        self.memory = kept
        return measured

    def note(self, _number: int = 0) -> Measured:
        """Add one line to the newest entry."""
        return self.program(*NOTE, "--date", "2026-12-31")


def line(title: str, measured: Measured, unit: float, bar: str) -> str:
    """One row of the table; `unit` is the time that ratios are told in."""
    memory = f"{measured.largest / MEGABYTE:6.0f} {measured.together / MEGABYTE:6.0f}"
    return f"{title:<30} {measured.seconds:8.3f} s {measured.seconds / unit:8.3f}  {bar:<8} {memory}"


def report(bench: Bench) -> None:
    """Measure everything once and print the table."""
    cold, floor = bench.best_in_turn(bench.publish_cold, bench.floor)
    unchanged = bench.best(lambda _number: bench.publish())
    edited = bench.best(bench.publish_edited)
    same = bench.edited_is_cold()
    tally = bench.best(bench.tally)
    tally_edited, tally_cold = bench.best(bench.tally_edited), bench.best(bench.tally_cold)
    note = bench.best(bench.note)
    usage = bench.best(lambda _number: bench.program("--help"))
    bare = bench.best(lambda _number: measure([sys.executable, "-c", "pass"], bench.memory))
    print(f"{bench.entries:,} entries, a file a {bench.arrangement}, best of {bench.runs}\n")
    print(bench.floor_in_parts())
    print(f"{'':<30} {'time':>10} {'of floor':>8}  {'bar':<8} {'largest process, all together, MB'}")
    print(line("floor", floor, floor.seconds, ""))
    print(line("publish, cold", cold, floor.seconds, "1.0"))
    print(line("publish, one line edited", edited, floor.seconds, "0.2"))
    print(line("publish, nothing changed", unchanged, floor.seconds, "0.06"))
    print(line("tally --json, once published", tally, floor.seconds, "0.15"))
    print(line("tally --json, one line edited", tally_edited, floor.seconds, ""))
    print(line("tally --json, cold", tally_cold, floor.seconds, ""))
    print(f"\n{'':<30} {'time':>10} {'of bare':>8}")
    print(line("python -c pass", bare, bare.seconds, ""))
    print(line("note", note, bare.seconds, "0.25 s"))
    print(line("--help", usage, bare.seconds, "0.25 s"))
    print(f"\nafter an edit the site is byte for byte a cold one: {'yes' if same else 'NO'}")


def growth(folder: Path, entries: int, arrangement: str, runs: int) -> None:
    """Print how the times grow from a tenth of the entries to all of them."""
    benches = [Bench(folder / str(count), count, arrangement, runs) for count in (entries // 10, entries)]
    print(f"\nfrom {benches[0].entries:,} to {benches[1].entries:,} entries (bar: 11 times the time)")
    steps: dict[str, Callable[[Bench, int], Measured]] = {
        "publish, cold": Bench.publish_cold,
        "tally --json": Bench.tally,
    }
    for title, once in steps.items():
        few, many = (bench.best(functools.partial(once, bench)) for bench in benches)
        times = f"{few.seconds:8.3f} s {many.seconds:8.3f} s"
        print(f"{title:<28} {times} × {many.seconds / few.seconds:.1f}, {many.largest / MEGABYTE:.0f} MB")


def main() -> None:
    """Read the command line, measure, print."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--entries", type=int, default=10_000)
    parser.add_argument("--arrangement", choices=("day", "month", "year", "one"), default="month")
    parser.add_argument(
        "--runs", type=int, default=3, help="each time is the fastest of so many (default: 3)"
    )
    parser.add_argument(
        "--grow", action="store_true", help="measure how times grow from a tenth as many entries"
    )
    parser.add_argument("--in", dest="folder", type=Path, help="work below this folder and leave all there")
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = wanted.folder or Path(scratch)
        report(Bench(folder / "bench", wanted.entries, wanted.arrangement, wanted.runs))
        if wanted.grow:
            growth(folder / "growth", wanted.entries, wanted.arrangement, wanted.runs)


if __name__ == "__main__":
    main()
