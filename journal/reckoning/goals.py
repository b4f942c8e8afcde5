"""Goals for what is kept out of landfill: progress and pace, by week and by year."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import NamedTuple

from journal.measures.periods import week_of, year
from journal.notes.household import Goals
from journal.reckoning.diversion import Figure

WEEK = dt.timedelta(days=7)


class YearGoal(NamedTuple):
    """One year's goal in kg: what was kept so far, and what the calendar would ask for by now.

    ``projected`` is the year's end at the pace since the year began, or the journal in it; None until that
    is a twelfth of a year.
    """

    year: int
    goal: float
    kept: Figure
    passed: float  # the part of the year that has gone, 0 to 1
    expected: float  # kg at an even pace
    projected: float | None

    @property
    def progress(self) -> float:
        """The part of the goal that is reached; more than 1 where it is passed."""
        return self.kept.value / self.goal if self.goal else 0.0

    @property
    def ahead(self) -> float:
        """How many kg ahead of an even pace; below zero behind it."""
        return self.kept.value - self.expected

    @property
    def state(self) -> str:
        """Give "reached", "missed", "ahead", "on pace" or "behind"; within the doubt it is on pace."""
        if self.kept.value >= self.goal:
            return "reached"
        if self.passed >= 1:
            return "missed"
        if abs(self.ahead) <= max(self.kept.expanded, 0.02 * self.goal):
            return "on pace"
        return "ahead" if self.ahead > 0 else "behind"


class WeekGoal(NamedTuple):
    """A goal per week in kg: the running week, and how many full weeks since the start reached it."""

    goal: float
    this_week: float
    week: dt.date  # its Monday
    met: int
    weeks: int  # full weeks since the first record; that in which the journal began is none, but on a Monday
    streak: int  # full weeks in a row that reached it, up to the last one
    best: tuple[dt.date, float] | None

    @property
    def progress(self) -> float:
        """The part of the goal that the running week has reached."""
        return self.this_week / self.goal if self.goal else 0.0


def year_goals(
    goals: Goals, kept: Mapping[int, Figure], on: dt.date, began: dt.date | None = None
) -> list[YearGoal]:
    """Give each year's goal that has begun by a day; ``kept`` is what was kept out of landfill by year.

    ``began`` is the journal's first day.
    """
    return [
        _year_goal(number, goals.years[number], kept.get(number, Figure()), on, began)
        for number in sorted(goals.years)
        if number <= on.year
    ]


def _year_goal(number: int, goal: float, kept: Figure, on: dt.date, began: dt.date | None) -> YearGoal:
    span = year(number)
    gone = min(span.days, max(0, (on - span.start).days + 1))
    passed = gone / span.days
    missed = 0 if began is None else min(gone, max(0, (began - span.start).days))
    kept_for, to_come = gone - missed, span.days - gone
    projected = None
    if kept_for >= span.days / 12 or (to_come == 0 and kept_for):
        projected = kept.value + kept.value / kept_for * to_come
    return YearGoal(number, goal, kept, passed, goal * passed, projected)


def week_goal(
    goals: Goals, weeks: Mapping[dt.date, float], on: dt.date, began: dt.date | None = None
) -> WeekGoal | None:
    """Give the goal per week, or None where there is none; ``weeks`` are kg by their Mondays.

    ``began`` is the journal's first day: the rest of its week is no full week.
    """
    if goals.per_week is None:
        return None
    now = week_of(on)
    first = min(weeks, default=now)
    full = []
    monday = first
    while monday < now:
        full.append((monday, weeks.get(monday, 0.0)))
        monday += WEEK
    if began is not None and began > first:
        del full[:1]
    met = [kg >= goals.per_week for _, kg in full]
    streak = next((count for count, reached in enumerate(reversed(met)) if not reached), len(met))
    best = max(full, key=lambda one: (one[1], one[0]), default=None)
    return WeekGoal(goals.per_week, weeks.get(now, 0.0), now, sum(met), len(met), streak, best)
