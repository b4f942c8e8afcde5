"""Joins packages into a club: each taken in or refused, households told apart, nothing counted twice."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import ParamSpec

from journal.commands.club.adding import Adding, Taken
from journal.commands.club.description import Description, read_description
from journal.commands.club.packages import DESCRIPTOR, TABLES, Refused, find
from journal.commands.club.roster import Roster
from journal.notes.names import fold
from journal.reckoning.club import Club, Difference, Member, Participation, gather, named
from journal.reckoning.club_handovers import HandedOn, match

Made = Callable[[Path], Mapping[str, bytes]]
Step = Callable[[int], None]
P = ParamSpec("P")


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
            self._refusable(self._find, path, number)
        self._name_members()
        waiting = []
        for candidate in list(self.joined.candidates):
            if not self._refusable(self._judge, candidate):
                self.joined.candidates.remove(candidate)
            elif candidate.taken.member in self._waiting_members:
                waiting.append(candidate)
            else:
                self.adding.keep(candidate.taken)
            step(1)
        self._keep_waiting(waiting)
        return self._summed()

    # -- finding ------------------------------------------------------------------------------------

    def _refusable(self, act: Callable[P, None], *args: P.args, **names: P.kwargs) -> bool:
        """Do something with a package; where it is refused, note why and say no."""
        try:
            act(*args, **names)
        except Refused as refused:
            self.joined.refused.append(str(refused))
            return False
        return True

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

    def _judge(self, candidate: Candidate) -> None:
        self.adding.read(candidate.taken)
        self.adding.judge(candidate.taken, candidate.about)
        self.adding.understand(candidate.taken)
        self.joined.differences += self.adding.differences(candidate.taken)

    def _keep_waiting(self, waiting: Sequence[Candidate]) -> None:
        """Keep packages whose days or movements others tell too, each day and each handing over once."""
        by_member: dict[int, list[Candidate]] = {}
        for candidate in waiting:
            by_member.setdefault(candidate.taken.member, []).append(candidate)
        for same in by_member.values():
            self._part_days(same)
        receivers: dict[tuple[int, str], int | None] = {}
        givers: dict[tuple[int, str], int] = {}
        for candidate in waiting:
            shown = self._members_shown(candidate)
            member = candidate.taken.member
            receivers |= {(member, name): number for name, number in shown.items()}
            givers |= {(member, name): number for name, number in shown.items()}
            self.adding.read(candidate.taken)
            self.adding.understand(candidate.taken)
            self.adding.between(candidate.taken, list(shown))
        self.joined.handed_on = match(*self.adding.passings(receivers, givers))
        self.adding.hand_on(self.joined.handed_on)
        for candidate in waiting:
            self.adding.read(candidate.taken)
            self.adding.understand(candidate.taken)
            self.adding.keep(candidate.taken)

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
                        f"{candidate.taken.label} and {label} are both of {name}: the days {both} are taken from "
                        f"{label}, which goes on longer; if they are two households, name them in the roster"
                    )
            candidate.taken.told_elsewhere = [(begin, end) for begin, end, _ in spans]
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
            members=[self._member(number, days.get(number, 0)) for number in sorted(self._there())],
            figures=gather(self.adding.totals()),
            participation=Participation(weeks, months),
            handed_on=self.joined.handed_on,
            differences=self.joined.differences,
            remarks=self.joined.remarks,
            left_out=self.joined.refused,
        )

    def _there(self) -> set[int]:
        return {candidate.taken.member for candidate in self.joined.candidates}

    def _member(self, number: int, days: int) -> Member:
        of_it = [one for one in self.joined.candidates if one.taken.member == number]
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


def _reach(candidate: Candidate) -> tuple[dt.date, int]:
    """How far a package goes on, then how much it tells."""
    return candidate.about.last or dt.date.min, candidate.taken.movements


def _bound(of: Callable[[Iterable[dt.date]], dt.date], days: Iterable[dt.date | None]) -> dt.date | None:
    known = [day for day in days if day is not None]
    return of(known) if known else None
