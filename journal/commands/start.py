"""``start``: lay out a new journal that can be read and published at once."""

from __future__ import annotations

import contextlib
import datetime as dt
import os
import re
import shlex
from pathlib import Path
from string import Template

import click

from journal.commands.console import Refusal, say
from journal.commands.writing import DISK, Disk, flush_folder, locked, make_folders, mark, write_file

_HOUSEHOLD = Template("""\
# Who and what this journal speaks of.
#
# Change anything, at any time: the figures follow. A line that begins with # is a note to you; take the #
# away to make it count. What is indented belongs to the line above it, so keep the spaces in front.

household:
  name: $name            # stands at the top of the site
  # people: 2                # for figures per person
  units: $units                  # us or metric: the site shows the other beside it
  decimal: point             # point for 1.5, comma for 1,5
  # place: a street above the river    # shown on the site: leave it out to keep it to yourself
  # currency: USD
  # web address: https://www.example.org/worms/    # where the site will be, for its links and its feed

# The worm bins. What you call a bin here is what you call it in the entries.
bins:
  First Bin:
    worms: red wigglers
    surface: $surface        # the top of the bedding
    kept in: kitchen
    started: $today

# Who brings you things. Only "shown as" is ever published; without it the site says "a neighbour" and a
# number. "otherwise" is what would have become of it without you: landfill, recycling, council collection,
# combustion or unknown.
# givers:
#   Next Door:
#     shown as: the people next door
#     households: 1
#     otherwise: landfill

# Where castings go.
# plantings:
#   Front Bed: {kind: vegetable bed, area: $area}
#   Apple Tree: {kind: fruit tree}

# Your own bag, bucket or mug. Weigh a full one two or three times: then it is no guess.
# measures:
#   bag of shredded paper: {weighed: [$weighed]}
#   bucket: $bucket

# What would have become of your own waste. Without this the site says "if it would have been landfilled".
otherwise:
  food scraps: landfill
  # paper: {landfill: 40%, recycling: 60%}

# goals:
#   per week: $goal

# What visitors may see.
sharing:
  givers: shown as           # or initials, or hidden
  pictures: yes
  entries: yes               # or summary, or no
""")

_ENTRY = Template("""\
# Worm book

<!-- What stands between these marks is for you alone and is never published.
This is the first entry: write over it. -->

## $today The first day

Write as in any diary. Sentences like this one are published as they stand. A line that begins with a dash and
says what was done, and how much, is counted.

- bought $worms worms
- bedded First Bin with $paper newspaper and $water water
- added $worms worms to First Bin
- fed $scraps vegetable scraps to First Bin, in one corner
- checked First Bin: $warmth, moisture 75%
""")

# What differs between those who weigh in pounds and those who weigh in kilograms.
_AMOUNTS = {
    "us": {
        "surface": "2 sq ft",
        "area": "20 sq ft",
        "weighed": "2.4 lb, 2.9 lb, 2.5 lb",
        "bucket": "5 gal",
        "goal": "5 lb",
        "worms": "1 lb",
        "paper": "2 lb",
        "water": "3 quarts",
        "scraps": "8 oz",
        "warmth": "68 F",
    },
    "metric": {
        "surface": "0.2 sq m",
        "area": "2 sq m",
        "weighed": "1.1 kg, 1.3 kg, 1.2 kg",
        "bucket": "15 L",
        "goal": "2 kg",
        "worms": "500 g",
        "paper": "1 kg",
        "water": "3 L",
        "scraps": "250 g",
        "warmth": "20 C",
    },
}


def first_files(units: str, today: dt.date, name: str = "Our house") -> dict[str, str]:
    """Write the first household.yaml and the first entry: names below ``entries/`` to their text."""
    words = {**_AMOUNTS[units], "units": units, "today": today.isoformat(), "name": name}
    return {"household.yaml": _HOUSEHOLD.substitute(words), f"{today:%Y}.md": _ENTRY.substitute(words)}


def lay_out(folder: Path, files: dict[str, str], disk: Disk = DISK) -> None:
    """Make ``folder/entries`` with these files in one step; Refusal where there is one already."""
    entries = folder / "entries"
    _refuse_what_is_there(entries)
    missing = [each for each in (folder, *folder.parents) if not each.exists()]
    new = folder / f".entries.{mark()}"
    try:
        make_folders(folder, disk)
        with locked(folder):
            _refuse_what_is_there(entries)
            _sweep(folder, disk)
            disk.make_folder(new)
            for name, text in files.items():
                write_file(new / name, text.encode("utf-8"), disk)
            if os.name == "nt" and entries.exists():  # elsewhere an empty folder is replaced in one step
                disk.remove_folder(entries)
            disk.rename(new, entries)
    except BaseException:
        with contextlib.suppress(OSError):
            _remove(new, disk)
            for each in missing:
                disk.remove_folder(each)
        raise
    flush_folder(folder, disk)


def _refuse_what_is_there(entries: Path) -> None:
    if entries.exists() and (not entries.is_dir() or any(entries.iterdir())):
        raise Refusal(
            f'"{entries}" is there already, and nothing in it was touched',
            "write in it, or lay out a new journal in another folder",
            2,
        )


def _sweep(folder: Path, disk: Disk) -> None:
    """Remove what a killed run left behind."""
    for left in list(folder.iterdir()):
        if re.fullmatch(r"\.entries\.[0-9a-f]{8}", left.name) and left.is_dir():
            with contextlib.suppress(OSError):
                _remove(left, disk)


def _remove(new: Path, disk: Disk) -> None:
    if new.exists():
        for left in new.iterdir():
            disk.unlink(left)
        disk.remove_folder(new)


@click.command(
    epilog="""\b
For example:
  middenbook start worms
  middenbook start worms --units metric"""
)
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--units", type=click.Choice(["us", "metric"]), default="us", help="How you weigh (default: us)."
)
@click.pass_context
def command(context: click.Context, folder: Path, units: str) -> None:
    """Lay out a new journal in FOLDER: a household.yaml that explains itself, and a first entry.

    It asks nothing and never writes over anything.
    """
    today = dt.datetime.now().astimezone().date()
    files = first_files(units, today)
    lay_out(folder, files)
    for name, words in zip(
        files, ("who and what; its notes say how", "the first entry; write over it"), strict=True
    ):
        say(f"{folder / 'entries' / name}: {words}")
    program = context.find_root().info_name or "middenbook"
    journal = "" if folder == Path() else f" --journal {shlex.quote(str(folder))}"
    amount = _AMOUNTS[units]["worms"]
    say()
    say("Next, type:")
    say(f'  {program}{journal} note "fed {amount} banana peels to First Bin"')
    say(f"  {program}{journal} preview")
