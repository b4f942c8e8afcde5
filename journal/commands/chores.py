"""``chores``: what is due, why, and as a calendar that other programs show."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

import click

from journal.commands.console import Refusal, journal_folder, say, show_problems

if TYPE_CHECKING:
    from journal.notes.household import Household
    from journal.reckoning.chores import Chore

POUND = 0.45359237  # kg, exact: NIST Handbook 44, Appendix C
AHEAD = 14
"""Days ahead that the list looks."""
CALENDAR_AHEAD = 366


@click.command(
    epilog="""\b
Examples:
  middenbook chores
  middenbook chores --on 2026-12-01
  middenbook chores --calendar worms.ics"""
)
@click.option("--on", "day", metavar="DATE", help="The day looked at, as in 2026-03-14 (default: today).")
@click.option(
    "--calendar",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE.ics",
    help="Write what is due and what is coming as an iCalendar file too.",
)
def command(day: str | None, calendar: Path | None) -> int:
    """Show what is due, each with its reason: batches ready, bins to feed, check, warm, dry or harvest."""
    from journal.commands import shipped
    from journal.commands.files import read_journal
    from journal.reckoning.keeping import Keeping
    from journal.reckoning.tally import Tally

    on = _day(day)
    notes = read_journal(journal_folder())
    keeping = Keeping(Tally(notes), shipped.references(), on)
    household = notes.household
    for line in lines(household, keeping.chores, keeping.coming, on):
        say(line)
    if calendar is not None:
        from journal.commands.calendar import calendar_of
        from journal.commands.writing import write_file

        last = on + dt.timedelta(days=CALENDAR_AHEAD) if on.year < dt.MAXYEAR - 1 else dt.date.max
        chores = [chore for chore in keeping.coming if chore.day <= last]
        write_file(calendar, calendar_of(household.name, chores, on, notes.newest or on))
        say(f"{calendar}  ({len(chores)} {'entry' if len(chores) == 1 else 'entries'})")
    show_problems(notes.problems)
    return 1 if notes.problems else 0


def lines(household: Household, now: list[Chore], coming: list[Chore], on: dt.date) -> list[str]:
    """Say what is due and what comes in the next two weeks."""
    told = [f"due on {on:%A} {on}:"] if now else [f"nothing is due on {on:%A} {on}"]
    for chore in now:
        told += _told(household, chore)
    soon = [chore for chore in coming if 0 < (chore.day - on).days <= AHEAD]
    if soon:
        told += ["", f"in the next {AHEAD} days:"]
        told += [f"  {chore.day:%a} {chore.day}  {chore.title}  ({chore.reason})" for chore in soon]
    return told


def _told(household: Household, chore: Chore) -> list[str]:
    urgent = "now: " if chore.urgent else ""
    told = [f"  {urgent}{chore.title}", f"      {chore.reason}"]
    if chore.usual_kg is not None:
        told.append(f"      on average {_mass(household, chore.usual_kg)} at a time")
    if chore.kg is not None:
        low, high = (_mass(household, each) for each in chore.kg)
        told.append(f"      worms of that kind and mass eat {low} to {high} until the next time")
    if chore.advice:
        told.append(f"      {chore.advice}")
    return told


def _mass(household: Household, kg: float) -> str:
    return f"{kg / POUND:.2g} lb" if household.units == "us" else f"{kg:.2g} kg"


def _day(words: str | None) -> dt.date:
    if words is None:
        return dt.date.today()  # noqa: DTZ011 - the keeper's own day, where the bins are
    from journal.notes.dates import DateProblem, read_date

    try:
        found = read_date(words.strip(), 0)
    except DateProblem:
        found = None
    if found is None or found[0] != len(words.strip()):
        raise Refusal(f'"{words}" is no date', "write it as in 2026-03-14", 2)
    return found[1]
