"""``tally``: the totals in the terminal, as JSON or as CSV."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from journal.commands.console import journal_folder, machine, say, show_problems, table
from journal.commands.haste import held, to_the_end

if TYPE_CHECKING:
    from journal.measures.doubt import Sum
    from journal.notes.place import Problem
    from journal.reckoning.diversion import Cell, Figure, Figures
    from journal.reckoning.tally import Tally

HEADS = {
    "taken_in": "taken in",
    "kept_out_of_landfill": "kept out of landfill",
    "kept_in_use": "kept in use",
    "thrown_out": "thrown out",
    "castings_harvested": "castings out",
    "castings_spread": "castings spread",
}
BIN_HEADS = {"fed": "fed", "bedded": "bedded", "harvested": "harvested"}
POUNDS = ("lb", 0.45359237)
KILOGRAMS = ("kg", 1.0)


@click.command(
    epilog="""\b
Examples:
  middenbook tally
  middenbook tally 2025 2026 --by stream
  middenbook tally --json > figures.json"""
)
@click.argument("years", nargs=-1, metavar="[YEAR]...", type=click.IntRange(1, 9999))
@click.option("--by", type=click.Choice(["stream", "giver", "bin", "month"]), help="Break the totals down.")
@click.option("--json", "as_json", is_flag=True, help="All totals as JSON, in kilograms.")
@click.option("--csv", "as_csv", is_flag=True, help="The table as CSV, in kilograms.")
def command(years: tuple[int, ...], by: str | None, as_json: bool, as_csv: bool) -> int:  # noqa: FBT001 - click hands flags over so
    """Show what was taken in, kept out of landfill, harvested and spread, each with its doubt (k = 2).

    Without a YEAR: every year, and everything since the start.
    """
    if as_json and as_csv:
        raise click.UsageError("choose one of --json and --csv")
    if as_json and by:
        raise click.UsageError("--json gives every breakdown at once; leave out --by")
    to_the_end()
    asked = Asked(frozenset(f"{year:04d}" for year in years), by, as_json, as_csv)
    text, problems = totals(journal_folder(), asked)
    if as_json or as_csv:
        machine(text)
    else:
        say(text)
    show_problems(problems)
    return 1 if problems else 0


class Asked(NamedTuple):
    """What is asked for: the years (all where none), the breakdown, and the form."""

    years: frozenset[str]
    by: str | None
    as_json: bool
    as_csv: bool


def totals(folder: Path, asked: Asked) -> tuple[str, Sequence[Problem]]:
    """Give the totals of the journal in a folder as text, remembered while it is the same, and problems."""
    from journal.commands.files import gather, read_gathered
    from journal.commands.memory import memory_of

    with memory_of(folder) as memory:
        contents, unreadable = gather(folder)
        key = _key(asked, contents)
        known = None if unreadable else memory.get(key)
        if known is not None:
            return known.decode(), ()
        from journal.reckoning.tally import Tally

        tally = held(Tally(read_gathered(contents, unreadable, memory)))
        text = written(tally, asked)
        if not tally.notes.problems:
            memory.put(key, text.encode())
    return text, tally.notes.problems


def to_remember(tally: Tally, contents: Mapping[str, bytes]) -> dict[str, bytes]:
    """Give all totals of a journal, by their key, for who asks for them next; ``contents`` are its files."""
    asked = Asked(frozenset(), None, as_json=True, as_csv=False)
    return {_key(asked, contents): written(tally, asked).encode()}


def _key(asked: Asked, contents: Mapping[str, bytes]) -> str:
    from journal.site.memory import key_of

    parts = [part for item in sorted(contents.items()) for part in item]
    return key_of("tally", sorted(asked.years), *asked[1:], *parts)


def written(tally: Tally, asked: Asked) -> str:
    """Give the totals as they are asked for."""
    if asked.as_json:
        return json.dumps(document(tally, asked.years), ensure_ascii=False, indent=1, sort_keys=True) + "\n"
    heads, rows = breakdown(tally, asked.years, asked.by)
    if asked.as_csv:
        return as_comma_separated(heads, rows)
    text = as_text(tally, heads, rows, asked.by)
    mark = "" if asked.by == "bin" else as_if_landfilled_in(tally, asked.years)
    return f"{text}\n{mark}" if mark else text


def document(tally: Tally, years: AbstractSet[str]) -> dict[str, object]:
    """Give all totals as plain values in kg: the contract of ``tally --json``."""
    return {
        "as_of": tally.as_of.isoformat(),
        "since_start": figures(tally.since_start),
        "years": {year: figures(each) for year, each in tally.years.items() if not years or year in years},
        "months": {
            month: figures(each) for month, each in tally.months.items() if not years or month[:4] in years
        },
        "streams": {stream: figures(each) for stream, each in tally.streams.items()},
        "givers": {giver: figures(each) for giver, each in tally.givers.items()},
        "bins": {
            name: {f"{figure}_kg": number(getattr(each, figure)) for figure in BIN_HEADS}
            for name, each in tally.bins.items()
        },
        "plantings": {name: {"spread_kg": number(each)} for name, each in tally.plantings.items()},
        "inferred_kg": number(tally.inferred),
        "problems": len(tally.notes.problems),
    }


def figures(each: Figures) -> dict[str, object]:
    """Give six figures as plain values in kg."""
    return {f"{name}_kg": number(getattr(each, name)) for name in HEADS}


def number(figure: Figure) -> dict[str, float | int]:
    """Give one figure: value and expanded doubt in kg, and how many records are behind it."""
    return {"value": figure.value + 0.0, "doubt": figure.expanded, "lines": figure.lines}


Rows = list[tuple[str, list["Sum"]]]


def breakdown(tally: Tally, years: AbstractSet[str], by: str | None) -> tuple[list[str], Rows]:
    """Give the heads and the rows of the table asked for; the last row is the total, where one adds up."""
    if by == "bin":
        return list(BIN_HEADS.values()), bin_rows(tally, years)
    heaps = _heaps(tally, years, by)
    rows: Rows = [(name, [getattr(each, figure) for figure in HEADS]) for name, each in heaps.items()]
    whole = tally.diversion.by(lambda cell: "all" if not years or cell.month[:4] in years else None)
    if whole:
        label = "since the start" if not years else ("together" if len(years) > 1 or by else "")
        if label:
            rows.append((label, [getattr(whole["all"], figure) for figure in HEADS]))
    return list(HEADS.values()), rows


def _heaps(tally: Tally, years: AbstractSet[str], by: str | None) -> Mapping[str, Figures]:
    keys = {
        None: lambda cell: cell.month[:4],
        "month": lambda cell: cell.month,
        "stream": tally.stream_of,
        "giver": tally.giver_of,
    }
    key = keys[by]

    def wanted(cell: Cell) -> str | None:
        return key(cell) if not years or cell.month[:4] in years else None

    return tally.diversion.by(wanted)


def bin_rows(tally: Tally, years: AbstractSet[str]) -> Rows:
    """Give a row for each bin, of the years asked for."""
    bins = tally.bins if not years else tally.bins_of(years)
    return [(name, [each.fed, each.bedded, each.harvested]) for name, each in bins.items()]


def as_text(tally: Tally, heads: list[str], rows: Rows, by: str | None) -> str:
    """Set the table for a terminal, in the household's own unit, each value rounded to its doubt."""
    from journal.measures.doubt import rounded

    if not rows:
        return "nothing is recorded yet" if not tally.notes.records else "nothing is recorded in that time"
    unit, size = POUNDS if tally.notes.household.units == "us" else KILOGRAMS
    lines = table(
        [
            [
                label,
                *(
                    _value_and_doubt(rounded(each.value / size, each.expanded / size), each.value)
                    for each in sums
                ),
            ]
            for label, sums in rows
        ],
        [f"{unit} by {by or 'year'}", *heads],
        "<" + ">" * len(heads),
    )
    return "\n".join(lines)


def as_if_landfilled_in(tally: Tally, years: AbstractSet[str]) -> str:
    """Mark what was kept out of landfill in some years (all where none) where nobody knows its fate."""
    from journal.reckoning.fates import unknown_share
    from journal.site.wording import as_if_landfilled

    cells = (one for one in tally.diversion.cells.items() if not years or one[0].month[:4] in years)
    words = as_if_landfilled(unknown_share(tally.notes.household, cells))
    return f"{words[:1].lower()}{words[1:]}".replace("\u00a0", " ").removesuffix(".")


def _value_and_doubt(written: tuple[str, str], value: float) -> str:
    shown, doubt = written
    if doubt == "0":
        return "-" if not value else shown
    return f"{shown} ± {doubt}"


def as_comma_separated(heads: list[str], rows: Rows) -> str:
    """Give the table as CSV (RFC 4180) in kg: a value and a doubt for each figure."""
    from journal.site.dataset_text import safe

    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(["of", *(f"{head}, {part}" for head in heads for part in ("kg", "doubt kg"))])
    for label, sums in rows:
        writer.writerow(
            [safe(label), *(cell for each in sums for cell in (repr(each.value + 0.0), repr(each.expanded)))]
        )
    return text.getvalue()
