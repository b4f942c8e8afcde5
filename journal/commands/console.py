"""What the keeper sees in the terminal: sentences, tables, problems with their line, progress.

Colour is left to click, which strips it where no terminal reads, and to ``NO_COLOR``.
"""

from __future__ import annotations

import errno
import os
import sys
import traceback
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import IO

import click

from journal.notes.place import Problem

FOLDER = "middenbook.journal"
SHOW_TRACE = "MIDDENBOOK_TRACE"
WIDEST_LINE = 100  # columns of the keeper's line shown above a caret

_OS_WORDS = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your share of the disk is full",
    errno.EROFS: "the disk can only be read",
    errno.EACCES: "permission is denied",
    errno.EPERM: "permission is denied",
    errno.ENOENT: "it is not there",
    errno.ENOTDIR: "a part of its path is a file, not a folder",
    errno.EISDIR: "it is a folder",
    errno.ENAMETOOLONG: "the name is too long",
    errno.EMFILE: "too many files are open",
    errno.EIO: "the disk reports an error",
    errno.ELOOP: "its links lead in a circle",
}


class Refusal(click.ClickException):
    """Something that cannot be done: one sentence, and the way out; status 1, or 2 for wrong use."""

    def __init__(self, sentence: str, advice: str = "", status: int = 1) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.advice = advice
        self.status = status

    @property
    def exit_code(self) -> int:  # type: ignore[override]  # click's is one number for all
        """The exit status."""
        return self.status

    def show(self, file: IO[str] | None = None) -> None:
        """Print the sentence and the way out on standard error."""
        click.echo(click.style(plain(self.sentence), fg="red"), file=file, err=file is None)
        if self.advice:
            click.echo(f"  {plain(self.advice)}", file=file, err=file is None)


def journal_folder(*, must_exist: bool = True) -> Path:
    """Give the journal folder that the command works on: ``--journal``, or the current folder.

    Raises Refusal (wrong use) where it holds no ``entries/``, unless told that it need not.
    """
    folder: Path = click.get_current_context().meta.get(FOLDER, Path())
    if not must_exist or (folder / "entries").is_dir():
        return folder
    shown = "this folder" if folder == Path() else f'"{folder}"'
    if not folder.exists():
        raise Refusal(
            f"there is no folder {shown}", f"lay out a journal there with: middenbook start {folder}", 2
        )
    above = next((above for above in folder.resolve().parents if (above / "entries").is_dir()), None)
    advice = "name the journal with --journal FOLDER, or lay one out with: middenbook start FOLDER"
    raise Refusal(
        f"{shown} is no journal: it holds no folder entries/",
        advice if above is None else f"do you mean --journal {os.path.relpath(above)} ?",
        2,
    )


def sentence_of(failure: OSError) -> str:
    """Say what the machine refused, and at which file, in a sentence."""
    words = _OS_WORDS.get(failure.errno or 0) or (failure.strerror or str(failure) or "it failed").lower()
    name = failure.filename2 or failure.filename
    if isinstance(name, bytes):
        name = os.fsdecode(name)
    return words if name is None or isinstance(name, int) else f"{name}: {words}"


def way_out_of(failure: OSError) -> str:
    """Say what can be done, where whoever met the failure noted it; else nothing."""
    return "; ".join(getattr(failure, "__notes__", ()))


def unforeseen(failure: BaseException) -> None:
    """Say that the program itself is at fault; the trace is shown where the environment asks for it."""
    if os.environ.get(SHOW_TRACE):
        click.echo("".join(traceback.format_exception(failure)), err=True)
    kind = type(failure).__name__
    Refusal(
        f"this is a fault of the program, not yours: {kind}: {failure}"[:400],
        f"nothing was written by halves. Please report it, with what it shows after setting {SHOW_TRACE}=1.",
    ).show()


def say(words: str = "", colour: str | None = None, *, bold: bool | None = None) -> None:
    """Print a line of what was asked for, on standard output."""
    click.secho(plain(words), fg=colour, bold=bold)


def remark(words: str, colour: str | None = None) -> None:
    """Print a line about the work itself, on standard error."""
    click.secho(plain(words), err=True, fg=colour)


def machine(text: str) -> None:
    """Print what another program reads: UTF-8, line ends as given, whatever the terminal's own encoding."""
    sys.stdout.flush()
    sys.stdout.buffer.write(text.encode("utf-8"))
    sys.stdout.buffer.flush()


def plain(text: str) -> str:
    """Replace signs that would steer a terminal or turn the writing direction by a visible mark."""
    if text.isprintable():
        return text
    return "".join(
        sign if sign in "\n\t" or unicodedata.category(sign) not in {"Cc", "Cf", "Cs"} else "�"
        for sign in text
    )


def width(text: str) -> int:
    """Give the columns that a text fills in a terminal; wide signs fill two, combining ones none."""
    if text.isascii():
        return len(text)
    return sum(
        0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1
        for sign in text
    )


def table(rows: Iterable[Sequence[str]], heads: Sequence[str] = (), align: str = "") -> list[str]:
    """Set rows in aligned columns, two spaces apart.  ``align`` has ``<`` or ``>`` for each column."""
    cells = [[plain(cell) for cell in row] for row in ([heads, *rows] if heads else rows)]
    if not cells:
        return []
    columns = max(len(row) for row in cells)
    sides = align.ljust(columns, "<")
    widths = [max((width(row[at]) for row in cells if at < len(row)), default=0) for at in range(columns)]
    lines = []
    for row in cells:
        padded = [
            " " * (widths[at] - width(cell)) + cell
            if sides[at] == ">"
            else cell + " " * (widths[at] - width(cell))
            for at, cell in enumerate(row)
        ]
        lines.append("  ".join(padded).rstrip())
    if heads:
        lines.insert(1, "  ".join("-" * each for each in widths))
    return lines


def problem_lines(problem: Problem) -> list[str]:
    """Write one problem or remark: place and sentence, the keeper's line with a caret, the way out."""
    lines = [f"{problem.place}: {problem.sentence}"]
    if problem.source:
        at = max(problem.place.column - 1, 0)
        start = 0 if at < WIDEST_LINE - 20 else at - WIDEST_LINE // 2
        shown = problem.source[start : start + WIDEST_LINE].rstrip("\r\n").replace("\t", " ")
        caret = "^" * max(1, min(width(problem.words), width(shown[at - start :])))
        lines += [f"    {shown}", f"    {' ' * width(plain(shown[: at - start]))}{caret}"]
    if problem.advice:
        lines.append(f"    {problem.advice}")
    return lines


def show_problems(problems: Iterable[Problem], *, err: bool = True) -> None:
    """Print problems one after the other, on standard error unless they are what was asked for."""
    for problem in problems:
        first, *rest = problem_lines(problem)
        click.secho(plain(first), err=err, fg="yellow" if problem.is_remark else "red")
        for line in rest:
            click.echo(plain(line), err=err)


@contextmanager
def progress(words: str, steps: int = 0) -> Iterator[Callable[[int], None]]:
    """Show on a terminal how far long work has come; elsewhere show nothing.

    Gives a function to call with the number of steps done.
    """
    shown = sys.stderr.isatty() and os.environ.get("TERM") != "dumb"

    def advance(done: int) -> None:
        if shown:
            share = f" {100 * done // steps:3d} %" if steps else ""
            sys.stderr.write(f"\r{words}{share}")
            sys.stderr.flush()

    advance(0)
    try:
        yield advance
    finally:
        if shown:
            sys.stderr.write("\r" + " " * (width(words) + 6) + "\r")
            sys.stderr.flush()
