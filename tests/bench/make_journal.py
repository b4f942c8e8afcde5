"""Makes up a journal of any length for benchmarks: the same seed gives the same bytes.

    python tests/bench/make_journal.py FOLDER --entries 10000 --arrangement month

Each entry has a paragraph of prose and five record lines; several givers, bins, materials, batches and
plantings take part. Everything in it is invented.
"""

from __future__ import annotations

import argparse
import datetime
import itertools
import random
from collections.abc import Callable, Iterator
from pathlib import Path

LAST_DAY = datetime.date(2026, 12, 31)
LINES_AN_ENTRY = 5
BATCH_EVERY = 14  # days
HARVEST_EVERY = 30  # days

GIVERS = ("Heron Cottage", "Number Nine", "The Print Room", "Mrs Okafor", "Slate House")
BINS = {"Pantry Bin": "red wigglers", "Landing Bin": "European nightcrawlers", "Shed Bin": "red wigglers"}
PLANTINGS = ("Damson", "Bean Row", "Medlar")
PAPERS = ("junk mail", "newspaper", "cardboard", "office paper", "egg cartons")
SCRAPS = ("vegetable scraps", "banana peels", "apple cores", "potato peels", "carrot tops", "lettuce")
PROSE = (
    "The lid was wet underneath again, so {} sheets of newspaper went on top and the corner stayed open.",
    "A cold night, and the bin by the door had hardly moved in {} hours since the *last* feeding.",
    "Two children came to look and counted **{}** worms before the kettle boiled.",
    "It smelled of a wood after {} hours of rain, which is how it ought to smell.",
    "The shredder jammed on staple {}; [the fork](https://example.org/fork) went in where no finger should.",
    "Rain on the roof for {} hours, and nothing to do but sieve.",
    "Moved the old tray up a step so that the air comes in below, {} fingers high.",
)
"""What a day's paragraph is made of: filled with numbers, so that no two days' words are alike."""

HOUSEHOLD = """# Made up for benchmarks.
household:
  name: The Long Diary
  people: 3
  units: us
  web address: https://example.org/long-diary/
bins:
{bins}
givers:
{givers}
plantings:
{plantings}
measures:
  bag of shredded paper: {{weighed: [2.4 lb, 2.9 lb, 2.5 lb]}}
"""


def household(first_day: datetime.date) -> str:
    """The text of household.yaml."""
    bins = [
        f"  {name}: {{worms: {worms}, surface: 4 sq ft, started: {first_day}}}"
        for name, worms in BINS.items()
    ]
    givers = [f"  {name}: {{shown as: neighbour {n}}}" for n, name in enumerate(GIVERS, 1)]
    plantings = [f"  {name}: {{kind: fruit tree}}" for name in PLANTINGS]
    parts = {"bins": bins, "givers": givers, "plantings": plantings}
    return HOUSEHOLD.format(**{key: "\n".join(lines) for key, lines in parts.items()})


def pounds(chance: random.Random, low: float, high: float) -> str:
    """A weight as a kitchen scale shows it."""
    return f"{chance.uniform(low, high):.2f} lb"


def usual_lines(chance: random.Random) -> list[Callable[[], str]]:
    """The record lines of an ordinary day, each made when it is needed."""
    bins = tuple(BINS)
    return [
        lambda: f"took in {pounds(chance, 0.3, 3)} {chance.choice(PAPERS)} from {chance.choice(GIVERS)}",
        lambda: f"shredded {pounds(chance, 0.3, 2)} {chance.choice(PAPERS)}",
        lambda: (
            f"fed {pounds(chance, 0.2, 1.5)} {chance.choice(SCRAPS)}, {chance.randint(2, 3)} cups coffee"
            f" grounds and {chance.randint(2, 6)} eggshells to {chance.choice(bins)}"
        ),
        lambda: f"fed about {pounds(chance, 0.2, 1)} {chance.choice(SCRAPS)} to {chance.choice(bins)}",
        lambda: (
            f"checked {chance.choice(bins)}: {chance.randint(58, 74)} F, moisture {chance.randint(68, 84)}%,"
            f" pH {chance.uniform(6.4, 7.4):.1f}"
        ),
    ]


def special_lines(chance: random.Random, number: int) -> list[str]:
    """What does not happen every day: a batch, bedding, a harvest, castings on a planting."""
    batch, lines = number // BATCH_EVERY + 1, []
    place = chance.choice(tuple(BINS))
    if number % BATCH_EVERY == 0:
        parts = f"{pounds(chance, 4, 7)} shredded paper, 3 tbsp grit, 2 L coir, 9 L water"
        lines.append(f"mixed bedding Batch {batch}: {parts}")
    if number % BATCH_EVERY == 10:
        lines.append(f"bedded {place} with {pounds(chance, 2, 4)} Batch {batch}")
    if number % HARVEST_EVERY == 29:
        lines.append(f"harvested {pounds(chance, 4, 9)} castings from {place}")
        lines.append(f"spread {pounds(chance, 1, 3)} castings on {chance.choice(PLANTINGS)}")
    return lines


def entry(chance: random.Random, number: int, day: datetime.date, *, edited: bool) -> str:
    """One day's entry: heading, a paragraph, five record lines."""
    lines = special_lines(chance, number)
    usual = usual_lines(chance)
    lines += [chance.choice(usual)() for _ in range(LINES_AN_ENTRY - len(lines))]
    if edited:
        lines[-1] = f"fed 1.11 lb {SCRAPS[0]} to {next(iter(BINS))}"
    prose = " ".join(sentence.format(chance.randint(2, 999)) for sentence in chance.sample(PROSE, 3))
    return f"## {day.isoformat()}\n\n{prose}\n\n" + "".join(f"- {line}\n" for line in lines) + "\n"


def entries(count: int, seed: int, edited: int) -> Iterator[tuple[datetime.date, str]]:
    """Every entry in order of date, the newest on the last day; number `edited` has a line changed."""
    first_day = LAST_DAY - datetime.timedelta(days=count - 1)
    for number in range(count):
        day = first_day + datetime.timedelta(days=number)
        yield day, entry(random.Random(f"{seed}/{number}"), number, day, edited=number == edited)


# What the name of an entry's file is made from, by arrangement.
ARRANGEMENTS: dict[str, Callable[[datetime.date], str]] = {
    "day": lambda day: f"{day.year:04}/{day.isoformat()}",
    "month": lambda day: f"{day.year:04}-{day.month:02}",
    "year": lambda day: f"{day.year:04}",
    "one": lambda _day: "journal",
}


def make(folder: Path, count: int, seed: int = 7, arrangement: str = "month", edited: int = -1) -> None:
    """Write a journal of `count` daily entries below `folder`."""
    name = ARRANGEMENTS[arrangement]
    for stem, group in itertools.groupby(entries(count, seed, edited), lambda dated: name(dated[0])):
        file = folder / "entries" / f"{stem}.md"
        text = "".join(text for _, text in group)
        if not file.is_file() or file.read_text(encoding="utf-8") != text:  # an edit touches one file only
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(text, encoding="utf-8")
    first_day = LAST_DAY - datetime.timedelta(days=count - 1)
    if not (folder / "entries/household.yaml").is_file():
        (folder / "entries/household.yaml").write_text(household(first_day), encoding="utf-8")


def main() -> None:
    """Read the command line and write the journal."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path)
    parser.add_argument("--entries", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--arrangement", choices=ARRANGEMENTS, default="month")
    parser.add_argument(
        "--edited", type=int, default=-1, metavar="NUMBER", help="change a line of this entry"
    )
    wanted = parser.parse_args()
    make(wanted.folder, wanted.entries, wanted.seed, wanted.arrangement, wanted.edited)


if __name__ == "__main__":
    main()
