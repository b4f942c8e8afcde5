"""Between members nothing counts twice: what one handed to another counts where it was taken in.

A household counts waste at its own door.  Where the giver is itself a member, both may have counted the same
matter, so what the receiver took in from it comes off the giver's count:

1. first what the giver wrote down as given to that member, up to ``NAMED_DAYS`` before or after;
2. then what the giver wrote down as donated, to nobody named, up to ``UNNAMED_DAYS`` before or after;
3. then what the giver still has on hand of that stream and never uses again: it has left without a word.

What none of these covers was never counted by the giver, so nothing comes off.  Two weights of one thing that
differ by no more than their doubts, or by a tenth, are taken to be the same.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from journal.reckoning.movements import DUST

NAMED_DAYS = 31
UNNAMED_DAYS = 7
SAME_WEIGHT = 0.1
SAME_SHARE = 0.005

AT_THE_DOOR = "at the door"
FROM_STORE = "from store"
UNWRITTEN = "unwritten"


@dataclass(slots=True)
class PassedOn:
    """Waste that a member passed on; ``receiver`` is the member named, None where nobody is.

    ``counted`` says that it was counted as it left, not when it had come in.  ``kg`` and ``doubt`` (k = 2)
    are in kg; ``share`` is the part that counts as kept out of landfill, by the giver's word.
    """

    giver: int
    package: int
    id: str
    day: dt.date
    stream: str
    receiver: int | None
    counted: bool
    kg: float
    doubt: float
    left: float = 0.0
    share: float = 1.0

    def __post_init__(self) -> None:
        self.left = self.kg


@dataclass(slots=True)
class TakenIn:
    """Waste that a member took in from another member.  Masses and ``doubt`` (k = 2) in kg.

    ``share`` is the part that counts as kept out of landfill, by the receiver's word.
    """

    receiver: int
    package: int
    id: str
    day: dt.date
    stream: str
    giver: int
    kg: float
    doubt: float
    left: float = 0.0
    share: float = 1.0

    def __post_init__(self) -> None:
        self.left = self.kg


class HandedOn(NamedTuple):
    """A part (0 to 1) of one movement that comes off the giver's count, and how it was found.

    ``package`` and ``id`` name the giver's movement, or the receiver's where the giver wrote nothing.
    ``otherwise`` are the parts that count as kept out of landfill by the giver's and by the receiver's word.
    """

    package: int
    id: str
    giver: int
    receiver: int
    stream: str
    how: str
    part: float
    kg: float
    otherwise: tuple[float, float] = (1.0, 1.0)

    @property
    def is_told_otherwise(self) -> bool:
        """Whether the two say different things of what would have become of it."""
        return abs(self.otherwise[0] - self.otherwise[1]) > SAME_SHARE


class OnHand:
    """What a member has on hand of a stream and never uses again, day by day."""

    def __init__(self, flows: Iterable[tuple[dt.date, float]]) -> None:
        self.days: list[dt.date] = []
        self.levels: list[float] = []
        level = 0.0
        for day, kg in sorted(flows):
            level += kg
            self.days.append(day)
            self.levels.append(level)

    def take(self, day: dt.date, wanted: float) -> float:
        """Take up to ``wanted`` kg that was there on the day, or within a week of it, and was never used."""
        latest = day + dt.timedelta(days=UNNAMED_DAYS)
        first = next((at for at, when in enumerate(self.days) if when > latest), len(self.days))
        if first == 0:
            return 0.0
        taken = min(wanted, *self.levels[first - 1 :])
        if taken <= DUST:
            return 0.0
        for at in range(first - 1, len(self.levels)):
            self.levels[at] -= taken
        return taken


def match(
    passed_on: Sequence[PassedOn],
    taken_in: Sequence[TakenIn],
    on_hand: Mapping[tuple[int, str], OnHand],
) -> list[HandedOn]:
    """Find what comes off the givers' counts, in the order of the days; changes what ``on_hand`` holds."""
    offers: dict[tuple[int, str], list[PassedOn]] = {}
    for passed in sorted(passed_on, key=lambda one: (one.day, one.package, one.id)):
        offers.setdefault((passed.giver, passed.stream), []).append(passed)
    found: list[HandedOn] = []
    for taken in sorted(taken_in, key=lambda one: (one.day, one.receiver, one.package, one.id)):
        if taken.giver == taken.receiver:
            continue
        found += _written(taken, offers.get((taken.giver, taken.stream), []))
        store = on_hand.get((taken.giver, taken.stream))
        if taken.left > DUST and store is not None:
            kg = store.take(taken.day, taken.left)
            if kg > DUST:
                found.append(_handed(taken.package, taken.id, taken, UNWRITTEN, kg / taken.kg, kg))
    return _together(found)


def _written(taken: TakenIn, offers: Sequence[PassedOn]) -> Iterable[HandedOn]:
    """Set what was taken in against what the giver wrote down, the nearest day first."""
    near = [
        (passed.receiver is None, abs((passed.day - taken.day).days), at, passed)
        for at, passed in enumerate(offers)
        if passed.left > DUST and _is_for(passed, taken)
    ]
    for *_, passed in sorted(near, key=lambda one: one[:3]):
        if taken.left <= DUST:
            return
        same = max(passed.doubt + taken.doubt, SAME_WEIGHT * min(passed.left, taken.left))
        if abs(passed.left - taken.left) <= same:
            kg, taken.left = passed.left, 0.0
        else:
            kg = min(passed.left, taken.left)
            taken.left -= kg
        passed.left -= kg
        how = AT_THE_DOOR if passed.counted else FROM_STORE
        one = _handed(passed.package, passed.id, taken, how, kg / passed.kg, kg)
        yield one._replace(otherwise=(passed.share, taken.share))


def _is_for(passed: PassedOn, taken: TakenIn) -> bool:
    days = abs((passed.day - taken.day).days)
    if passed.receiver is None:
        return days <= UNNAMED_DAYS
    return passed.receiver == taken.receiver and days <= NAMED_DAYS


def _handed(package: int, identity: str, taken: TakenIn, how: str, part: float, kg: float) -> HandedOn:
    return HandedOn(package, identity, taken.giver, taken.receiver, taken.stream, how, part, kg)


def _together(found: Iterable[HandedOn]) -> list[HandedOn]:
    """Put together what was found of one movement for one receiver, in several pieces."""
    sums: dict[tuple[int, str, str, int], HandedOn] = {}
    for one in found:
        key = (one.package, one.id, one.how, one.receiver)
        other = sums.get(key)
        if other is None:
            sums[key] = one
        else:
            more = one if one.is_told_otherwise else other
            sums[key] = more._replace(part=other.part + one.part, kg=other.kg + one.kg)
    return list(sums.values())
