"""Joins packages into a club: each taken in or refused, households told apart, nothing counted twice."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from journal.commands.club.adding import Adding, Taken, Wanted, differences
from journal.commands.club.description import Description, read_description
from journal.commands.club.packages import DESCRIPTOR, TABLES, Refused, find
from journal.commands.club.roster import Roster
from journal.notes.names import fold
from journal.reckoning.club import Club, Difference, Member, Participation, gather, named
from journal.reckoning.club_handovers import HandedOn, match

Made = Callable[[Path], Mapping[str, bytes]]
Step = Callable[[int], None]

BATCH_BYTES = 48 << 20
BATCH_MOST = 50


@dataclass(slots=True)
class Candidate:
    """A package that was found and described, and its place among the others."""

    taken: Taken
    about: Description


@dataclass(slots=True)
class Joined:
    """What came of joining: the club's parts, and sentences on what was refused or is worth knowing."""

    candidates: list[Candidate] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    differences: list[Difference] = field(default_factory=list)
    handed_on: list[HandedOn] = field(default_factory=list)


class Joining:
    """One joining of packages, in the database of ``adding``."""

    def __init__(self, adding: Adding, roster: Roster, made: Made) -> None:
        self.adding = adding
        self.roster = roster
        self.made = made
        self.joined = Joined()
        self.contents: dict[tuple[str, ...], str] = {}  # household and hashes -> label
        self.numbers: dict[str, int] = {}  # folded name in the club -> member
        self.names: dict[int, str] = {}  # member -> name in the club

    def club(self, paths: Sequence[Path], step: Step = lambda _: None) -> Club:
        """Join the packages; those that cannot be are among ``left_out``, each with its sentence."""
        for number, path in enumerate(paths, start=1):
            self._find_or_refuse(path, number)
        self._name_members()
        waiting = []
        for batch in in_batches(list(self.joined.candidates)):
            waiting += self._judge(batch)
            step(len(batch))
        self._keep_waiting(waiting)
        return self._summed()

    # -- finding ------------------------------------------------------------------------------------

    def _find_or_refuse(self, path: Path, number: int) -> None:
        try:
            self._find(path, number)
        except Refused as refused:
            self.joined.refused.append(str(refused))

    def _find(self, path: Path, number: int) -> None:
        label = path.name or str(path)
        source = find(path, label, self.made)
        folder = self.adding.folder / f"{number:06d}"
        folder.mkdir()
        source.copy(DESCRIPTOR, folder)
        about = read_description((folder / DESCRIPTOR).read_bytes(), label)
        for name in TABLES:
            if source.copy(name, folder) != about.hashes[name]:
                raise Refused(f"{label}: {name} was changed or cut short since it was published")
        content = (about.household, *about.hashes.values())
        if content in self.contents:
            self.joined.remarks.append(f"{label} holds the same as {self.contents[content]} and counts once")
            return
        self.contents[content] = label
        self.joined.candidates.append(Candidate(Taken(number, label, 0, folder), about))

    def _name_members(self) -> None:
        """Say which household each package is of, and which of its givers are members."""
        for candidate in self.joined.candidates:
            name = self.roster.name_of(candidate.taken.label, candidate.about.household)
            number = self.numbers.setdefault(fold(name), len(self.numbers) + 1)
            self.names.setdefault(number, name)
            candidate.taken.member = number

    def _members_shown(self, candidate: Candidate) -> dict[str, int]:
        """Give those givers of a package that are members, by their names as shown."""
        chosen = self.roster.givers_of(self.names[candidate.taken.member])
        found = {shown: named(shown, self.numbers, chosen) for shown in candidate.about.givers}
        return {
            shown: member
            for shown, member in found.items()
            if member is not None and member != candidate.taken.member
        }

    @cached_property
    def _waiting_members(self) -> set[int]:
        """The members whose packages wait until others are known: with two, or giving one another."""
        packages = Counter(candidate.taken.member for candidate in self.joined.candidates)
        found = {member for member, number in packages.items() if number > 1}
        for candidate in self.joined.candidates:
            shown = self._members_shown(candidate)
            if shown:
                found |= {candidate.taken.member, *shown.values()}
        return found

    # -- adding -------------------------------------------------------------------------------------

    def _judge(self, batch: Sequence[Candidate]) -> list[Candidate]:
        """Judge packages and keep what can be kept; give those that wait until others are known."""
        alone = {one.taken.number for one in batch if one.taken.member not in self._waiting_members}
        wanted = [self._wanted(one, keep=one.taken.number in alone) for one in batch]
        refused = self.adding.take_up(wanted)
        for number, (row, column, cell, why) in self.adding.judge().items():
            label = next(one.taken.label for one in batch if one.taken.number == number)
            refused[number] = f'{label}: movements.csv, row {row}: {column} "{cell[:60]}" {why}'
        movements = self.adding.understand()
        recomputed = self.adding.recompute()
        for one in batch:
            if one.taken.number in refused:
                continue
            one.taken.movements = movements.get(one.taken.number, 0)
            try:
                self.joined.differences += differences(one.taken, recomputed.get(one.taken.number, {}))
            except Refused as fault:
                refused[one.taken.number] = str(fault)
                self.adding.forget(one.taken.number)
        self.adding.keep()
        self.joined.refused += refused.values()
        left = [one for one in batch if one.taken.number not in refused]
        self.joined.candidates = [one for one in self.joined.candidates if one.taken.number not in refused]
        return [one for one in left if one.taken.number not in alone]

    def _wanted(self, candidate: Candidate, *, keep: bool) -> Wanted:
        shown = tuple(self._members_shown(candidate))
        return Wanted(candidate.taken, candidate.about, shown, keep)

    def _keep_waiting(self, waiting: Sequence[Candidate]) -> None:
        """Keep packages whose days or movements others tell too, each day and each handing over once."""
        by_member: dict[int, list[Candidate]] = {}
        shown: dict[tuple[int, str], int] = {}
        for candidate in waiting:
            by_member.setdefault(candidate.taken.member, []).append(candidate)
            for name, number in self._members_shown(candidate).items():
                shown[candidate.taken.member, name] = number
        for same in by_member.values():
            self._part_days(same)
        for _ in self._read_again(waiting):
            self.adding.between()
        self.joined.handed_on = match(*self.adding.passings(shown))
        self._remark_on_fates()
        self.adding.hand_on(self.joined.handed_on)
        for _ in self._read_again(waiting):
            self.adding.keep()

    def _remark_on_fates(self) -> None:
        """Say where two members tell otherwise what would have become of what one handed to the other."""
        kg: dict[tuple[int, int], float] = {}
        for one in self.joined.handed_on:
            if one.is_told_otherwise:
                pair = (one.giver, one.receiver)
                kg[pair] = kg.get(pair, 0.0) + one.kg
        for (giver, receiver), handed in kg.items():
            first, second = (self.roster.shown(self.names[number]) for number in (giver, receiver))
            self.joined.remarks.append(
                f"{first} and {second} differ on what would have become of {handed:,.3g} kg that the one "
                f"handed to the other; it counts by the word of {second}, who took it in"
            )

    def _read_again(self, waiting: Sequence[Candidate]) -> Iterator[None]:
        for batch in in_batches(waiting):
            self.adding.take_up([self._wanted(one, keep=True) for one in batch])
            self.adding.understand()
            yield

    def _part_days(self, same: Sequence[Candidate]) -> None:
        """Let each day of one household be told by one package: the one that goes on longest."""
        spans: list[tuple[dt.date, dt.date, str]] = []
        for candidate in sorted(same, key=_reach, reverse=True):
            first, last = candidate.about.first, candidate.about.last
            if first is None or last is None:
                continue
            for other_first, other_last, label in spans:
                if first <= other_last and other_first <= last:
                    both = f"{max(first, other_first)} to {min(last, other_last)}"
                    name = candidate.about.household
                    self.joined.remarks.append(
                        f"{candidate.taken.label} and {label} are both of {name}: the days {both} are "
                        f"taken from {label}, which goes on longer; if they are two households, say so "
                        "in the roster"
                    )
            candidate.taken.told_elsewhere = [(begin, end) for begin, end, _ in spans]
            self.adding.tell_elsewhere(candidate.taken)
            spans.append((first, last, candidate.taken.label))

    # -- summing ------------------------------------------------------------------------------------

    def _summed(self) -> Club:
        weeks: dict[dt.date, int] = {}
        months: dict[dt.date, int] = {}
        days: dict[int, int] = {}
        for scope, start, member, households, many in self.adding.participation():
            if scope == "member":
                days[member] = int(many)
            else:
                (weeks if scope == "week" else months)[start] = households
        return Club(
            members=self._members(days),
            figures=gather(self.adding.totals()),
            participation=Participation(weeks, months),
            handed_on=self.joined.handed_on,
            differences=self.joined.differences,
            remarks=self.joined.remarks,
            left_out=self.joined.refused,
        )

    def _members(self, days: Mapping[int, int]) -> list[Member]:
        of_member: dict[int, list[Candidate]] = {}
        for candidate in self.joined.candidates:
            of_member.setdefault(candidate.taken.member, []).append(candidate)
        return [self._member(number, days.get(number, 0), of_member[number]) for number in sorted(of_member)]

    def _member(self, number: int, days: int, of_it: Sequence[Candidate]) -> Member:
        newest = max(of_it, key=_reach)
        return Member(
            number=number,
            name=self.roster.shown(self.names[number]),
            household=newest.about.household,
            people=newest.about.people,
            web_address=newest.about.web_address,
            footprint=all(one.about.footprint for one in of_it),
            first=_bound(min, (one.about.first for one in of_it)),
            last=_bound(max, (one.about.last for one in of_it)),
            days=days,
            movements=sum(one.taken.movements for one in of_it),
        )


def in_batches(candidates: Sequence[Candidate]) -> Iterator[list[Candidate]]:
    """Give packages in batches that are quick to add up together and small in memory."""
    batch: list[Candidate] = []
    size = 0
    for one in candidates:
        bytes_of_one = (one.taken.folder / "movements.csv").stat().st_size
        if batch and (size + bytes_of_one > BATCH_BYTES or len(batch) >= BATCH_MOST):
            yield batch
            batch, size = [], 0
        batch.append(one)
        size += bytes_of_one
    if batch:
        yield batch


def _reach(candidate: Candidate) -> tuple[dt.date, int]:
    """How far a package goes on, then how much it tells."""
    return candidate.about.last or dt.date.min, candidate.taken.movements


def _bound(of: Callable[[Iterable[dt.date]], dt.date], days: Iterable[dt.date | None]) -> dt.date | None:
    known = [day for day in days if day is not None]
    return of(known) if known else None
