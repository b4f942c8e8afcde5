"""``bring-in``: show what a spreadsheet or a phone's note would become, and write it when told to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from journal.commands.console import journal_folder, remark, say, table

if TYPE_CHECKING:
    from journal.commands.bring_in.outcome import Outcome
    from journal.commands.bring_in.questions import Question

SHOWN = 14  # lines of the entries shown before they are written
_FILLED = ("verb", "unit", "material", "bin", "giver", "planting")  # what a row may leave unsaid
_LISTED = 20  # rows that could not be read


def _pairs(words: Iterable[str], option: str) -> dict[str, str]:
    pairs: dict[str, str] = {}
    for each in words:
        name, mark, meaning = each.rpartition("=")
        if not mark or not name.strip():
            raise click.BadParameter(f'"{each}" has no =', param_hint=option)
        pairs[name.strip()] = meaning.strip()
    return pairs


def _columns(words: Iterable[str]) -> dict[str, str]:
    """Give what is said of each column; what is said of one in several options is said of it together."""
    columns: dict[str, str] = {}
    for each in words:
        for name, meaning in _pairs([each], "--column").items():
            columns[name] = f"{columns[name]}, {meaning}" if name in columns else meaning
    return columns


def _filled(words: Iterable[str]) -> dict[str, str]:
    """Give what fills the gaps of rows, by kind; BadParameter where there is no such kind."""
    fill = {kind.lower(): meaning for kind, meaning in _pairs(words, "--fill").items()}
    unknown = next((kind for kind in fill if kind not in _FILLED), None)
    if unknown is not None:
        raise click.BadParameter(f'"{unknown}" is none of: {", ".join(_FILLED)}', param_hint="--fill")
    return fill


@click.command(
    epilog="""\b
For example:
  middenbook bring-in old-log.xlsx
  middenbook bring-in old-log.csv --dates day-first --column "Weight=kg" --fill "bin=First Bin"
  middenbook bring-in old-log.csv --call "coffee=coffee grounds" --call "Mrs B=Next Door" --write
  middenbook bring-in phone.txt --year 2024 --write"""
)
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--write", is_flag=True, help="Write the entries; without it they are only shown.")
@click.option(
    "--column",
    "columns",
    multiple=True,
    metavar="HEAD=MEANING",
    help="What a column holds: date, verb, amount, unit, material, giver, bin, planting, remark, count, "
    "temperature, moisture, acidity or ignore; a unit; a material; several with commas between them.",
)
@click.option(
    "--fill", multiple=True, metavar="KIND=WORDS", help="What rows mean that do not say it: bin=First Bin."
)
@click.option(
    "--call", "calls", multiple=True, metavar="WORDS=NAME", help="What the journal calls something."
)
@click.option("--introduce", is_flag=True, help="Add unknown givers, bins and plantings to household.yaml.")
@click.option("--dates", type=click.Choice(["day-first", "month-first"]), help="How 3/4/2024 is meant.")
@click.option("--year", type=click.IntRange(1, 9999), help="The year of dates that have none.")
@click.option("--decimal", type=click.Choice(["point", "comma"]), help="How decimals are written.")
@click.option(
    "--blank-dates", type=click.Choice(["above"]), help="A row without a date is of the date above."
)
@click.option(
    "--sheet", "sheets", multiple=True, metavar="NAME", help="Which sheet of an XLSX file; all for all."
)
@click.option(
    "--leave-out-unreadable", "leave_out", is_flag=True, help="Go on without rows that cannot be read."
)
def command(
    file: Path,
    columns: Sequence[str],
    fill: Sequence[str],
    calls: Sequence[str],
    dates: str | None,
    year: int | None,
    decimal: str | None,
    blank_dates: str | None,
    sheets: Sequence[str],
    *,
    write: bool,
    introduce: bool,
    leave_out: bool,
) -> int:
    """Turn FILE, a spreadsheet (CSV or XLSX) or a phone's note (plain text), into entries.

    It shows how the file is read and why, the first entries, and what could not be read. What can be read in
    two ways is asked, with the words that answer it. Rows that are in the journal already are not brought
    again.
    """
    from journal.commands.bring_in.outcome import Journal, from_note, from_sheet
    from journal.commands.bring_in.questions import Told
    from journal.commands.files import ENTRIES
    from journal.commands.together import recover
    from journal.commands.writing import locked

    told = Told(
        _columns(columns), _filled(fill), _pairs(calls, "--call"),
        dates, year, decimal, blank_dates or "", leave_out,
    )  # fmt: skip
    folder = journal_folder()
    if write:  # held from reading to writing, so that two at once bring no row in twice
        click.get_current_context().with_resource(locked(folder / ENTRIES))
        recover(folder / ENTRIES)
    journal = Journal.read(folder)
    if file.suffix.lower() in {".txt", ".md", ".text"}:
        outcome = from_note(journal, file, told, introduce=introduce)
    else:
        outcome = from_sheet(journal, file, told, sheets, introduce=introduce)
    _show(outcome)
    if outcome.questions:
        _ask(outcome.questions)
        return 1
    if outcome.unread and not leave_out:
        remark("mend them in the file or, with --call and --introduce, the names; or go on without them with")
        remark("--leave-out-unreadable")
        return 1
    if not write:
        if outcome.sifted.new:
            say()
            say(f"Nothing is written yet: add --write to put this into {outcome.file}.", "green")
        return 0
    for name in outcome.write(journal):
        say(f"written: {name}", "green")
    return 0


def _show(outcome: Outcome) -> None:
    """Show how the file was read, the first entries, and what could not be read."""
    say(outcome.how, bold=True)
    heads = ("table", "column", "head", "read as", "because")
    for line in table(outcome.columns, heads[-len(outcome.columns[0]) :] if outcome.columns else ()):
        say(f"  {line}")
    for reason in outcome.reasons:
        say(f"  {reason}")
    if outcome.questions:
        return
    say()
    sifted = outcome.sifted
    lines = outcome.markdown.splitlines()
    for line in lines[:SHOWN]:
        say(f"    {line}" if line else "")
    if len(lines) > SHOWN:
        say(f"    … {len(lines) - SHOWN} lines more")
    say()
    for words in outcome.counted:
        say(words)
    for words in outcome.warnings[:_LISTED]:
        remark(words, "yellow")
    if sifted.there:
        say(f"{len(sifted.there)} in the journal already, and not brought again")
    for changed, now in sifted.changed[:_LISTED]:
        remark(f'{changed.row}: brought before, and now reads "{now}": left as it is', "yellow")
    _list_unread(outcome.unread)


def _list_unread(unread: Sequence[tuple[str, str]]) -> None:
    if unread:
        remark(f"{len(unread)} could not be read:", "red")
    for where, reason in unread[:_LISTED]:
        remark(f"  {where}: {reason}")
    if len(unread) > _LISTED:
        remark(f"  and {len(unread) - _LISTED} more")


def _ask(questions: Sequence[Question]) -> None:
    remark("Before anything can be brought in:", "yellow")
    for question in questions:
        remark(f"  {question.asked}")
        remark(f"      {question.answers}")
