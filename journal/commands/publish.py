"""``publish``: read, reckon, draw, render, write."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from journal.commands.console import journal_folder, remark, say, show_problems
from journal.commands.haste import held, to_the_end, without_collecting

if TYPE_CHECKING:
    from journal.commands.memory import Memory, Parcel
    from journal.commands.publication import Published
    from journal.commands.standing import Standing
    from journal.notes.place import Problem
    from journal.reckoning.tally import Tally
    from journal.site.draughtsman import Draughtsman
    from journal.site.issue import Made


PARCELS_AT_A_TIME = 12


class Outcome(NamedTuple):
    """What a publication came to: ``published`` is None where problems kept it from being made."""

    problems: Sequence[Problem]
    published: Published | None
    remarks: Sequence[str] = ()


@click.command(
    epilog="""\b
Examples:
  middenbook publish
  middenbook publish --to /srv/www/worms --leave-out-unreadable"""
)
@click.option(
    "--to",
    type=click.Path(file_okay=False, path_type=Path),
    metavar="FOLDER",
    help="Where the site is laid (default: build/ in the journal).",
)
@click.option(
    "--leave-out-unreadable", is_flag=True, help="Publish without the lines that cannot be read, and say so."
)
def command(to: Path | None, leave_out_unreadable: bool) -> int:  # noqa: FBT001 - click hands flags over so
    """Make the site: a folder of plain files that any web host, a USB stick or a browser can show.

    With problems nothing is written, and the earlier site stays as it is.
    """
    to_the_end()
    folder = journal_folder()
    outcome = publish(folder, to or folder / "build", leave_out_unreadable=leave_out_unreadable)
    show_problems(outcome.problems)
    for words in outcome.remarks:
        remark(words, "yellow")
    if outcome.published is None:
        remark(f"nothing was published: {len(outcome.problems)} to mend; the earlier site stands as it was")
        return 1
    say(told(outcome.published, to or folder / "build"))
    return 0


@without_collecting()
def publish(
    folder: Path, to: Path, *, leave_out_unreadable: bool = False, ready: Draughtsman | None = None
) -> Outcome:
    """Publish the journal in ``folder`` to ``to``; ``ready`` is who draws its charts, and is let go then.

    Raises Refusal or OSError where a file cannot be read or written; then the earlier site stands.
    """
    from journal.site.draughtsman import Draughtsman

    # It makes ready while modules are loaded and files gathered, for which one processor is enough.
    with ready or Draughtsman() as draughtsman:
        if not (to / "index.html").exists():  # nothing stands there
            draughtsman.begin_drawing()
        return _unless_it_stands(folder, to, draughtsman, leave_out_unreadable=leave_out_unreadable)


def _unless_it_stands(
    folder: Path, to: Path, draughtsman: Draughtsman, *, leave_out_unreadable: bool
) -> Outcome:
    from journal.commands.memory import memory_of
    from journal.commands.publication import Published, mend_folder
    from journal.commands.shipped import template_folders
    from journal.commands.standing import Standing

    mend_folder(to)  # what a killed publication left half done, whatever becomes of this one
    with memory_of(folder) as memory:
        standing = Standing(folder / "entries", template_folders(folder), to, memory)
        last = standing.last()
        if last is not None:
            return Outcome((), Published([], last.names, []), last.remarks)
        draughtsman.begin_drawing()
        sources = standing.mark_sources()
        outcome = _publish(
            folder, to, memory, standing, draughtsman, leave_out_unreadable=leave_out_unreadable
        )
        if outcome.published is not None and not outcome.problems:
            standing.keep(sources, outcome.remarks)
    return outcome


def _publish(
    folder: Path,
    to: Path,
    memory: Memory,
    standing: Standing,
    draughtsman: Draughtsman,
    *,
    leave_out_unreadable: bool,
) -> Outcome:
    from journal.commands.files import LONG, gather, read_gathered
    from journal.commands.publication import publish_folder
    from journal.commands.shipped import references, template_folders
    from journal.commands.site import site_files, words_ahead
    from journal.commands.workmates import Workmates, can_copy
    from journal.notes.tasks import in_groups, one_by_one
    from journal.reckoning.tally import Tally
    from journal.site.issue import Hands, Issue
    from journal.site.templates import Templates

    contents, unreadable = gather(folder)
    is_long = sum(map(len, contents.values())) >= LONG
    if not is_long:  # else no processor is free before all is read
        draughtsman.begin()
    with Workmates() as workmates:
        divided = workmates.divided if is_long else one_by_one
        ahead = divided(words_ahead(contents)) if is_long and standing.is_first and can_copy() else ()
        references()  # kept for later, and read now, while the draughtsman makes ready
        # Not in two processes: the draughtsman and the words set ahead leave no processor for another.
        notes = read_gathered(contents, unreadable, memory, one_by_one)
        if notes.problems and not leave_out_unreadable:
            return Outcome(notes.problems, None)
        draughtsman.begin()
        remarks: list[str] = []
        errands = [partial(_packed, some) for some in in_groups(memory.unpacked, PARCELS_AT_A_TIME)]
        tally = held(Tally(notes))
        own = [] if notes.problems else [partial(_totals, tally, contents)]
        hands = Hands(divided, ahead, errands, own, workmates.divided)
        issue = Issue(Templates(template_folders(folder)), memory, draughtsman, hands, standing.stands)
        files = site_files(folder, tally, issue, remarks)
        published = publish_folder(to, files, look=standing.mark_made)
    standing.keys = issue.keys
    return Outcome(notes.problems, published, remarks)


def _packed(parcels: Sequence[tuple[str, Parcel]]) -> Made:
    """Pack parcels to be remembered; either process can do it."""
    from journal.site.issue import Made

    return Made(new={key: parcel.packed for key, parcel in parcels})


def _totals(tally: Tally, contents: Mapping[str, bytes]) -> Made:
    """Add up what ``tally --json`` will be asked for; most of it is added up by then."""
    from journal.commands.tally import to_remember
    from journal.site.issue import Made

    return Made(new=to_remember(tally, contents))


def told(published: Published, to: Path) -> str:
    """Say what was written."""
    changed = len(published.written)
    parts = [f"{changed} written" if changed else "nothing had changed"]
    parts += [f"{len(published.unchanged)} as they were"] if changed and published.unchanged else []
    parts += [f"{len(published.removed)} removed"] if published.removed else []
    return f"{to / 'index.html'}  ({', '.join(parts)})"
