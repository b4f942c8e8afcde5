"""``proofread``: read everything, and list what is wrong, what is odd, and what was inferred."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import click

from journal.commands.console import journal_folder, show_problems

if TYPE_CHECKING:
    from journal.reckoning.tally import Tally

WORTH_WEIGHING = 0.1
"""A measure that carries this part of a year's variance is worth a weighing."""


@click.command(
    epilog="""\b
Example:
  middenbook proofread"""
)
@click.option("--problems-only", is_flag=True, help="Leave the remarks out.")
def command(problems_only: bool) -> int:  # noqa: FBT001 - click hands flags over so
    """Read the whole journal and list problems and remarks as file:line:column.

    Problems keep figures from being right, and end with status 1; remarks are things to look at.
    """
    from journal.commands.files import read_journal
    from journal.reckoning.slips import slips
    from journal.reckoning.tally import Tally

    tally = Tally(read_journal(journal_folder()))
    notes = tally.notes
    show_problems(notes.problems, err=False)
    if not problems_only:
        remarks = [*notes.remarks, *slips(notes, tally.ledger, _today())]
        show_problems(sorted(remarks, key=lambda remark: remark.place), err=False)
        for line in summary(tally):
            click.echo(line)
    return 1 if notes.problems else 0


def _today() -> dt.date:
    return dt.date.today()  # noqa: DTZ011 - the keeper's own day


def summary(tally: Tally) -> list[str]:
    """Say in a few lines what was read, what was inferred, and where the doubt comes from."""
    notes = tally.notes
    count = len(notes.problems)
    told = "no problem" if not count else "1 problem" if count == 1 else f"{count:,} problems"
    read = [
        f"{number:,} {one if number == 1 else many}"
        for number, one, many in (
            (len(notes.entries), "entry", "entries"),
            (len(notes.records), "record line", "record lines"),
        )
    ]
    lines = [f"{', '.join(read)}, {told}"]
    inferred, taken = tally.inferred, tally.since_start.taken_in
    if inferred.value > 0 and taken.value > 0:
        share = f"{100 * inferred.value / taken.value:.0f} %"
        lines.append(
            f"inferred: {_mass(tally, inferred.value)} ({share} of what was taken in) was used beyond what "
            "was on hand and is taken to be your own, arriving that day"
        )
    return lines + doubt_lines(tally)


def doubt_lines(tally: Tally) -> list[str]:
    """Say which causes carry the doubt of the newest year's total, and which measure is worth weighing."""
    from journal.reckoning.diversion import causes

    if not tally.years:
        return []
    year, figures = list(tally.years.items())[-1]
    figure = figures.kept_out_of_landfill
    shares = [(cause, share) for cause, share in causes(figure).items() if share >= 0.01][:5]  # noqa: PLR2004 - a hundredth
    if not shares:
        return []
    told = ", ".join(f"{cause} {100 * share:.0f} %" for cause, share in shares)
    lines = [f"doubt of {year}: ± {_mass(tally, figure.expanded)}, from {told}"]
    weighed = tally.notes.household.measures
    for cause, share in shares:
        if share < WORTH_WEIGHING or cause == "weighing and estimates":
            continue
        if cause in weighed:
            advice = 'a few times more; add them to "weighed" under measures in household.yaml'
            lines.append(f"worth weighing: {cause}, {advice}")
        elif cause.startswith("density of "):
            material = cause.removeprefix("density of ")
            lines.append(
                f"worth weighing: a cup or a bucket of {material}; name it under measures in household.yaml"
            )
    return lines


def _mass(tally: Tally, kg: float) -> str:
    return f"{kg / 0.45359237:,.1f} lb" if tally.notes.household.units == "us" else f"{kg:,.2f} kg"
