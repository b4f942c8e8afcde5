"""Feeds the reader made-up diaries, by the million lines, and judges what it makes of them.

    python -m tests.fuzz.reader --lines 10000000         mutations of the corpus
    python -m tests.fuzz.reader --guided --seconds 600   led by what they reach (pip install atheris)

The corpus is the folder beside this file; what makes the reader fail is saved where ``--found`` says, and is
then to be mended and kept in the corpus.
"""

from __future__ import annotations

import argparse
import hashlib
import math
import random
import sys
import time
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path

from journal.commands.files import decode_one
from journal.commands.yaml_tree import read_tree
from journal.notes import tree
from journal.notes.entries import scan
from journal.notes.household_reading import read_household
from journal.notes.known import Known
from journal.notes.materials import Catalogue
from journal.notes.reading import gather_batches, know, mixings_in, read_file
from tests.reader_words import catalogue

CORPUS = Path(__file__).parent / "corpus"
LONGEST = 30.0
"""Seconds after which a small diary is taken to hang; ten thousand times what it takes."""

_FRESH = 400  # diaries after which what was remembered of sentences is let go

SIGNS = (
    "\0", "\t", "\r", "\r\n", "\x0b", "\x0c", "\x1c", "\x85", "\u2028", "\ufeff", "\u00a0", "\u200b",
    "\u200d", "\u202e", "\u2066", "🪱", "é", "e\u0301", "ß", "İ", "ı", "ſ", "\N{KELVIN SIGN}", "ﬁ", "½", "¼",
    "⅞", "²", "٣", "५", "１", "〇", "–", "—", "−", "×", "°", "º", "€", "$", "£", "%",
    "#", "`", "~", "<", ">", "&", '"', "'", "\\", "|", "[", "]", "(", ")", "{", "}", "!", "?", "*", "_", "+",
    "-", "=", "/", ":", ";", ",", ".", "@", "^",
)  # fmt: skip
WORDS = (
    "<!--", "-->", "<!-->", "```", "~~~", "- ", "* ", "+ ", "1. ", "    ", "\n", "\n\n", "---", "===", "## ",
    "[ ] ", "[x] ", "(private)", "(it is right)", "![a](b.jpg)", "[a](b)", "<b>", "http://x",
    "mixed bedding ", "mixed slurry ", "took in ", "got ", "shredded ", "bought ", "fed ", "bedded ",
    "added ", "moved ", "checked ", "harvested ", "sifted ", "returned ", "spread ", "gave ", "picked ",
    "threw out ", "recycled ", "donated ", "spent ", "earned ", " from ", " to ", " on ", " with ", " for ",
    " out of ", " and ", " of ", ", on 2026-03-12", "about ", "~", "half a ", "a couple of ", "1/0 ", "0 ",
    "1e9 ", "1_0 ", "9" * 400, "0.", ".5", "1,5", "1.250,5", "1 1/2", "1-2", "2 to 1", "1/2/3", " lb ",
    " oz ", " kg ", " cups ", " stone ", " cu ft ", " bags of ", " bucket ", " L ", "worms", "castings",
    "water", "shredded paper", "coffee grounds", "banana peels", "Cellar Bin", "Attic", "Batch 7",
    "Slurry 1", "Larch House", "Quince", "68 F", "-40 C", "pH 14", "moisture 101%", "## 2026-02-30",
    "## 0001-01-01", "## 9999-12-31", "## 29 February 2024", "## 3/4/26", "## Friday 14 March 2026",
)  # fmt: skip


class Wrong(AssertionError):
    """A diary that the reader does not take as it should."""


@cache
def _household() -> tree.Mapping:
    node = read_tree((CORPUS / "household.yaml").read_text(encoding="utf-8"), "household.yaml")
    assert isinstance(node, tree.Mapping)
    return node


class Judge:
    """Reads diaries, and raises Wrong where something is lost, misplaced, absurd or slow."""

    def __init__(self, materials: Catalogue) -> None:
        self.household, self.catalogue, _ = read_household(_household(), materials)
        self.diaries = 0
        self.lines = 0
        self.items = 0
        self.records = 0
        self.slowest = 0.0
        self._known: Known | None = None

    def read(self, content: bytes) -> None:
        """Read the bytes of one file of entries, as the program reads it."""
        text, problem = decode_one("diary.md", content)
        if text is None:
            _see(
                problem is not None and problem.place.line >= 1,
                "bytes that are no text are a problem",
                content,
            )
            text = content.decode("utf-8", "replace").replace("\0", " ")
        self.judge(text)

    def judge(self, text: str) -> None:
        """Read one text and judge what became of it."""
        began = time.perf_counter()
        scanned = scan("diary.md", text)
        mixings = gather_batches([mixings_in(scanned)], self.household, self.catalogue)
        if mixings or self._known is None or self.diaries % _FRESH == 0:
            known = know(self.household, self.catalogue, mixings)
            self._known = None if mixings else known
        else:
            known = self._known
        part = read_file(known, scanned)
        took = time.perf_counter() - began
        self.diaries += 1
        self.lines += len(scanned.raw)
        self.items += scanned.items
        self.records += len(part.records)
        self.slowest = max(self.slowest, took)
        _see(took < LONGEST + len(text) / 20_000, f"read in {took:.1f} s", text)
        _see(part.read + part.prose + part.unread == scanned.items, "every item ends as one thing", text)
        for found in (*part.problems, *part.remarks):
            place = found.place
            _see(
                bool(found.sentence) and bool(found.advice),
                "every finding is a sentence with a way out",
                text,
            )
            _see(1 <= place.line <= len(scanned.raw), f"{place} is in the text", text)
            _see(1 <= place.column <= len(scanned.raw[place.line - 1]) + 2, f"{place} is in its line", text)
        for record in part.records:
            _see(record.date is not None, "every record has a date", text)
            for amount in record.amounts:
                doubts = (amount.own, *amount.shared.values())
                _see(all(map(math.isfinite, (amount.kg, *doubts))), "every mass is finite", text)
                _see(amount.kg >= 0 and min(doubts) >= 0, "no mass is negative", text)


def _see(holds: bool, what: str, text: str | bytes) -> None:  # noqa: FBT001 - what is asserted
    if not holds:
        raise Wrong(f"{what}: {text[:2000]!r}")


def corpus() -> list[bytes]:
    """Give the files of the corpus."""
    return [file.read_bytes() for file in sorted(CORPUS.glob("*.md"))]


def diaries(chance: random.Random, seeds: Sequence[bytes]) -> Iterator[str]:
    """Make diaries without end: stretches of the corpus, mixed and damaged."""
    lines = [line for seed in seeds for line in seed.decode("utf-8", "replace").split("\n")]
    while True:
        text: list[str] = ["## 2026-03-14", ""] if chance.random() < 0.8 else []
        for _ in range(chance.randrange(1, 4)):
            start = chance.randrange(len(lines))
            text += lines[start : start + chance.randrange(1, 9)]
        for _ in range(chance.randrange(0, 7)):
            at = chance.randrange(len(text))
            text[at] = _changed(text[at], chance, lines)
        yield ("\n" if chance.random() < 0.95 else "\r\n").join(text)


def _changed(line: str, chance: random.Random, lines: Sequence[str]) -> str:
    """Damage one line in one way."""
    at = chance.randrange(len(line) + 1)
    end = min(len(line), at + chance.randrange(0, 9))
    way = chance.randrange(8)
    if way == 0:
        return line[:at] + chance.choice(SIGNS) + line[at:]
    if way == 1:
        return line[:at] + chance.choice(WORDS) + line[end:]
    if way == 2:
        return line[:at] + line[end:]
    if way == 3:
        return line[:at] + line[at:end] * chance.randrange(2, 6) + line[end:]
    if way == 4:
        other = chance.choice(lines)
        return line[:at] + other[chance.randrange(len(other) + 1) :]
    if way == 5:
        return " " * chance.randrange(9) + line
    if way == 6:
        words = line.split(" ")
        chance.shuffle(words)
        return " ".join(words)
    return (
        line[:at]
        + chr(chance.choice([chance.randrange(0x250), chance.randrange(0xD800), 0x1F600]))
        + line[at:]
    )


def run(
    lines: int,
    seed: int,
    found: Path | None = None,
    *,
    materials: Catalogue | None = None,
    say: bool = False,
) -> Judge:
    """Read made-up diaries until so many lines are read; the first that goes wrong is saved and raised.

    Without ``materials`` the small catalogue of the reader's cases is used, which is read sooner.
    """
    judge, began, told = Judge(materials or catalogue()), time.perf_counter(), 0
    for text in diaries(random.Random(seed), corpus()):
        try:
            judge.judge(text)
        except Exception:
            _save(text, found)
            raise
        if say and judge.lines - told >= 500_000:
            told = judge.lines
            _tell(judge, time.perf_counter() - began)
        if judge.lines >= lines:
            return judge
    raise AssertionError("diaries are made without end")


def _save(text: str, found: Path | None) -> None:
    if found is not None:
        found.mkdir(parents=True, exist_ok=True)
        data = text.encode("utf-8", "surrogatepass")
        (found / f"{hashlib.blake2b(data, digest_size=6).hexdigest()}.md").write_bytes(data)


def _tell(judge: Judge, seconds: float) -> None:
    sys.stdout.write(
        f"{judge.lines:,} lines, {judge.diaries:,} diaries, {judge.items:,} items, "
        f"{judge.records:,} records, {seconds:.0f} s, slowest diary {1000 * judge.slowest:.0f} ms\n"
    )
    sys.stdout.flush()


def guided(seconds: int, found: Path) -> None:
    """Let a coverage-guided fuzzer look for what goes wrong."""
    import atheris  # type: ignore[import-not-found, import-untyped, unused-ignore]

    judge = Judge(catalogue())
    atheris.instrument_all()
    found.mkdir(parents=True, exist_ok=True)
    began = time.perf_counter()

    def one(data: bytes) -> None:
        judge.read(data)
        if judge.diaries % 20_000 == 0:
            _tell(judge, time.perf_counter() - began)

    fresh = found / "reached"
    fresh.mkdir(exist_ok=True)
    words = [
        sys.argv[0], str(fresh), str(CORPUS), f"-max_total_time={seconds}", f"-artifact_prefix={found}/",
        "-max_len=2000", "-timeout=10", "-rss_limit_mb=3000", "-print_final_stats=1",
    ]  # fmt: skip
    atheris.Setup(words, one)
    atheris.Fuzz()


def main() -> None:
    """Run from the command line."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--lines", type=int, default=1_000_000)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--found", type=Path, default=Path("/tmp/middenbook-fuzz"))
    words.add_argument("--guided", action="store_true")
    words.add_argument("--seconds", type=int, default=300)
    given = words.parse_args()
    if given.guided:
        guided(given.seconds, given.found)
        return
    began = time.perf_counter()
    _tell(run(given.lines, given.seed, given.found, say=True), time.perf_counter() - began)


if __name__ == "__main__":
    main()
