"""Goals: progress and pace, by week and by year."""

from __future__ import annotations

import datetime as dt

import pytest

from journal.notes.household import Goals
from journal.reckoning.diversion import Figure
from journal.reckoning.goals import YearGoal, week_goal, year_goals

MONDAY = dt.date(2026, 1, 5)


def kept(kg: float, doubt: float = 0.0) -> Figure:
    """A figure of so many kg with so much expanded doubt."""
    figure = Figure()
    figure.value, figure.variance = kg, (doubt / 2) ** 2
    return figure


def of_year(kg: float, on: dt.date, goal: float = 365.0, doubt: float = 0.0) -> YearGoal:
    """The goal of 2026 as of a day."""
    (found,) = year_goals(Goals(years={2026: goal}), {2026: kept(kg, doubt)}, on)
    return found


def test_an_even_pace_asks_for_a_day_a_day() -> None:
    """A goal of 365 kg asks for 100 kg by the hundredth day of the year."""
    found = of_year(120, dt.date(2026, 4, 10))
    assert found.expected == pytest.approx(100)
    assert found.ahead == pytest.approx(20)
    assert found.progress == pytest.approx(120 / 365)
    assert found.projected == pytest.approx(1.2 * 365)


@pytest.mark.parametrize(
    ("kg", "on", "state"),
    [
        (120, dt.date(2026, 4, 10), "ahead"),
        (80, dt.date(2026, 4, 10), "behind"),
        (101, dt.date(2026, 4, 10), "on pace"),
        (365, dt.date(2026, 4, 10), "reached"),
        (364, dt.date(2026, 12, 31), "missed"),
        (364, dt.date(2027, 3, 1), "missed"),
        (0, dt.date(2026, 1, 1), "on pace"),
    ],
)
def test_a_year_is_ahead_on_pace_behind_reached_or_missed(kg: float, on: dt.date, state: str) -> None:
    """What was kept is set against an even pace, and at the year's end against the goal."""
    assert of_year(kg, on).state == state


def test_a_difference_within_the_doubt_is_on_pace() -> None:
    """Ten kilograms behind with a doubt of fifteen is not behind."""
    assert of_year(90, dt.date(2026, 4, 10), doubt=15).state == "on pace"


def test_no_forecast_in_the_first_weeks_and_none_for_years_to_come() -> None:
    """January foretells nothing, and the goal of a year that has not begun is not shown."""
    assert of_year(10, dt.date(2026, 1, 20)).projected is None
    assert year_goals(Goals(years={2027: 100}), {}, dt.date(2026, 6, 1)) == []


def test_leap_years_have_a_day_more() -> None:
    """By 29 February 2028 sixty of 366 days have gone."""
    (found,) = year_goals(Goals(years={2028: 366.0}), {}, dt.date(2028, 2, 29))
    assert found.expected == pytest.approx(60)


def test_full_weeks_that_reached_the_goal_are_counted() -> None:
    """Of four full weeks three reached 5 kg, the last two in a row; a week without records missed it."""
    weeks = {
        MONDAY: 6.0,
        MONDAY + dt.timedelta(14): 5.0,
        MONDAY + dt.timedelta(21): 9.0,
        MONDAY + dt.timedelta(28): 1.0,
    }
    found = week_goal(Goals(per_week=5.0), weeks, MONDAY + dt.timedelta(30))
    assert found is not None
    assert (found.met, found.weeks, found.streak) == (3, 4, 2)
    assert found.best == (MONDAY + dt.timedelta(21), 9.0)
    assert found.this_week == 1.0
    assert found.progress == pytest.approx(0.2)


def test_without_a_goal_there_is_none() -> None:
    """A household that set no goal is shown none."""
    assert week_goal(Goals(), {MONDAY: 6.0}, MONDAY) is None


def test_the_week_in_which_the_journal_began_is_no_full_week() -> None:
    """Begun on a Sunday with the goal reached that day: of the one full week after it none is reached."""
    began = MONDAY + dt.timedelta(6)
    weeks = {MONDAY: 5.0, MONDAY + dt.timedelta(14): 5.0}
    found = week_goal(Goals(per_week=5.0), weeks, MONDAY + dt.timedelta(14), began)
    assert found is not None
    assert (found.met, found.weeks, found.streak, found.best) == (0, 1, 0, (MONDAY + dt.timedelta(7), 0.0))
    on_monday = week_goal(Goals(per_week=5.0), weeks, MONDAY + dt.timedelta(14), MONDAY)
    assert on_monday is not None
    assert (on_monday.met, on_monday.weeks) == (1, 2)
    first = week_goal(Goals(per_week=5.0), {MONDAY: 5.0}, began, began)
    assert first is not None
    assert (first.weeks, first.this_week) == (0, 5.0)


def test_the_pace_is_that_of_the_days_since_the_journal_began() -> None:
    """Begun on 3 June, 50 kg by 10 September, the hundredth day: half a kilogram a day for 112 more."""
    kept_so_far, on, began = {2026: kept(50)}, dt.date(2026, 9, 10), dt.date(2026, 6, 3)
    (found,) = year_goals(Goals(years={2026: 200.0}), kept_so_far, on, began)
    assert found.projected == pytest.approx(50 + 0.5 * 112)
    assert found.expected == pytest.approx(200 * 253 / 365)
    (earlier,) = year_goals(Goals(years={2026: 200.0}), kept_so_far, on, dt.date(2024, 1, 1))
    assert earlier.projected == pytest.approx(50 * 365 / 253)


def test_no_forecast_in_the_first_weeks_of_the_journal() -> None:
    """Ten days from the journal's first foretell no year, however late in the year they are."""
    (found,) = year_goals(
        Goals(years={2026: 200.0}), {2026: kept(9)}, dt.date(2026, 9, 10), dt.date(2026, 9, 1)
    )
    assert found.projected is None
