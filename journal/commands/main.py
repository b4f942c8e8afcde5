"""The command ``middenbook``: finds the command asked for and loads only that; nothing ends in a traceback.

Exit statuses: 0 done, 1 the journal (or the machine) has problems, 2 wrong use; 130 stopped with Ctrl-C and
141 that nobody reads the output any more, as shells count signals.
"""

from __future__ import annotations

import contextlib
import importlib
import io
import os
import signal
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn, cast

import click

from journal import __version__
from journal.commands.console import FOLDER, Refusal, sentence_of, unforeseen, way_out_of
from journal.notes.names import nearest

STOPPED = 128 + signal.SIGINT
NOBODY_READS = 141  # 128 + SIGPIPE, a signal that not every system has

# Each command, the module that holds it as `command`, and its line in the list of commands: the list is shown
# without loading any of them.
COMMANDS: dict[str, tuple[str, str]] = {
    "start": ("journal.commands.start", "Lay out a new journal."),
    "note": ("journal.commands.note", "Add a line to the day's entry."),
    "proofread": ("journal.commands.proofread", "Read everything and list what is wrong or odd."),
    "tally": ("journal.commands.tally", "Show the totals."),
    "mix": ("journal.commands.mix", "Work out a blend before it is made."),
    "chores": ("journal.commands.chores", "Show what is due, and why."),
    "publish": ("journal.commands.publish", "Make the site."),
    "preview": ("journal.commands.preview", "Show the site while you write."),
    "bring-in": ("journal.commands.bring_in.command", "Turn a spreadsheet or a phone's note into entries."),
    "club": ("journal.commands.club.command", "Add several households up into one site."),
}


def _remember_folder(context: click.Context, _option: click.Parameter, folder: Path | None) -> None:
    if folder is not None:
        context.meta[FOLDER] = folder


def journal_option() -> click.Option:
    """Make the option ``--journal FOLDER``, which is taken before a command's name and after it."""
    return click.Option(
        ["--journal"],
        type=click.Path(file_okay=False, path_type=Path),
        metavar="FOLDER",
        expose_value=False,
        callback=_remember_folder,
        help="The journal: the folder that holds entries/ (default: the current folder).",
    )


def _show_version(context: click.Context, _option: click.Parameter, wanted: bool) -> None:  # noqa: FBT001 - click's own shape
    if not wanted or context.resilient_parsing:
        return
    from journal.commands.shipped import factors, sources

    click.echo(f"middenbook {__version__}")
    for edition, table in factors().tables.items():
        click.echo(f"factors of {edition}: {sources()[table.source].citation.rstrip('.')}, {table.where}")
    context.exit()


class Middenbook(click.Group):
    """The group of all commands, each loaded when it is asked for."""

    def list_commands(self, _context: click.Context) -> list[str]:
        """Name the commands in the order in which a keeper meets them."""
        return list(COMMANDS)

    def get_command(self, _context: click.Context, name: str) -> click.Command | None:
        """Load one command, or None where there is none of that name."""
        if name not in COMMANDS:
            return None
        module, words = COMMANDS[name]
        command = cast("click.Command", importlib.import_module(module).command)
        command.name, command.short_help = name, words
        if not any("--journal" in option.opts for option in command.params):
            command.params.append(journal_option())
        return command

    def resolve_command(
        self, context: click.Context, words: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command, or name the nearest one."""
        if words[0] not in COMMANDS and not words[0].startswith("-"):
            near = nearest(words[0], COMMANDS)
            hint = f'; did you mean "{near}"?' if near else ""
            context.fail(f'there is no command "{words[0]}"{hint}')
        return super().resolve_command(context, words)

    def format_commands(self, _context: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands from the table, so that help loads none of them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, words) for name, (_, words) in COMMANDS.items()])

    def main(  # type: ignore[override]  # always ends the program, as click's own does unless told otherwise
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        **extra: object,
    ) -> NoReturn:
        """Run the program and end it with its exit status."""
        extra.pop("standalone_mode", None)
        _forgive_missing_signs()
        status = self._run(args, prog_name, complete_var, extra)
        try:
            sys.stdout.flush()
        except OSError:
            status = _nobody_reads()
        sys.exit(status)

    def _run(
        self,
        args: Sequence[str] | None,
        prog_name: str | None,
        complete_var: str | None,
        extra: dict[str, object],
    ) -> int:
        try:
            outcome = super().main(args, prog_name, complete_var, standalone_mode=False, **extra)
        except click.ClickException as refused:
            from journal.commands.wrong_use import in_plain_words

            said = in_plain_words(refused)
            said.show()
            return said.exit_code
        except click.Abort:
            click.echo("stopped", err=True)
            return STOPPED
        except BrokenPipeError:
            return _nobody_reads()
        except OSError as failure:
            Refusal(sentence_of(failure), way_out_of(failure)).show()
            return 1
        except Exception as failure:  # noqa: BLE001 - the last line of defence: a sentence, never a traceback
            unforeseen(failure)
            return 1
        return outcome if isinstance(outcome, int) else 0

    def invoke(self, context: click.Context) -> object:
        """Run the command; a closed pipe is told apart from click's own answer to it."""
        try:
            return super().invoke(context)
        except BrokenPipeError:
            return _nobody_reads()


def _forgive_missing_signs() -> None:
    """Let a terminal that lacks a sign show a question mark in its place, rather than fail."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def _nobody_reads() -> int:
    """Give the output to nobody, so that the interpreter's own last flush does not complain."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
    return NOBODY_READS


@click.group(
    cls=Middenbook,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="""\b
Begin with:
  middenbook start worms
  middenbook --journal worms note "fed 1 lb banana peels to First Bin"
  middenbook --journal worms preview

\b
Let the shell complete commands and options (bash; zsh and fish likewise):
  eval "$(_MIDDENBOOK_COMPLETE=bash_source middenbook)\"""",
)
@click.option(
    "--version",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_show_version,
    help="Show the version and the editions of the factor tables, and end.",
)
@click.pass_context
def middenbook(context: click.Context) -> None:
    """A worm keeper's diary in plain text, reckoned into figures with their doubt and published as a site."""
    if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        context.color = False


middenbook.params.insert(0, journal_option())


def main() -> NoReturn:
    """Run the program with the words of the command line."""
    try:
        middenbook.main()
    except SystemExit as ended:
        haste = sys.modules.get("journal.commands.haste")
        if haste is not None:  # else no command has read enough to hold anything
            haste.leave_if_held(ended.code if isinstance(ended.code, int) else 1)
        raise
