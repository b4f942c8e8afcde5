"""Reads the lines behind a member's figures out of its packages, when a page asks for them."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Iterator, Mapping, Sequence

from journal.commands.club.adding import Taken
from journal.commands.club.joining import Candidate
from journal.reckoning.diversion import rule
from journal.site.club_edition import Line
from journal.site.dataset_text import plain


class Reading:
    """Reads the movements of packages that were taken in, so judged already."""

    def __init__(self, candidates: Sequence[Candidate]) -> None:
        self.taken: dict[int, list[Taken]] = {}
        for candidate in candidates:
            self.taken.setdefault(candidate.taken.member, []).append(candidate.taken)

    def lines(self, member: int) -> Iterator[Line]:
        """Give a member's movements that add to a figure, in the order of their days."""
        found = [line for taken in self.taken.get(member, []) for line in told(taken)]
        yield from sorted(found, key=lambda line: line.day)


def told(taken: Taken) -> Iterator[Line]:
    """Give a package's movements that add to a figure, without the days that another package tells."""
    with (taken.folder / "movements.csv").open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            day = dt.date.fromisoformat(row["date"])
            if any(first <= day <= last for first, last in taken.told_elsewhere):
                continue
            line = line_of(row, day)
            if line.adds:
                yield line


def line_of(row: Mapping[str, str], day: dt.date) -> Line:
    """Read one row: its figures, each with how often its mass adds to it."""
    waste, castings = row["matter"] == "waste", row["matter"] == "castings"
    rules = rule(int(row["counted"]), row["from_kind"], row["to_kind"], waste=waste, castings=castings)
    landfilled = float(row["share_landfill"] or 0) + float(row["share_unknown"] or 0)
    shared = sum(float(one.rpartition("=")[2]) ** 2 for one in row["shared_doubt"].split("; ") if one)
    return Line(
        id=plain(row["id"]),
        day=day,
        entry=plain(row["entry"]),
        verb=plain(row["verb"]),
        what=plain(row["material"]) or row["stream"],
        giver=plain(row["giver"]),
        kg=float(row["kg"]),
        doubt=2 * (float(row["own_doubt_kg"]) ** 2 + shared) ** 0.5,
        adds={figure: sign * (landfilled if is_share else 1.0) for figure, sign, is_share in rules},
    )
