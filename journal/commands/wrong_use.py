"""What was asked for in a way that no command takes: a sentence and the way out, in place of click's own."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import NamedTuple

import click

from journal.commands.console import Refusal
from journal.notes.names import meant, nearest

WRONG_USE = 2


class Numbered(NamedTuple):
    """What a number of the command line stands for, and how it is written."""

    name: str
    way: str


_YEAR = Numbered("year", "write its four digits, as in 2026")
NUMBERED: Mapping[str, Numbered] = {
    "years": _YEAR,
    "year": _YEAR,
    "port": Numbered("port", "write a number from 0 to 65535"),
}
"""The numbers that commands take, by the names of their parameters."""


def _number(found: re.Match[str], param: click.Parameter) -> tuple[str, str] | None:
    numbered = NUMBERED.get(param.name or "")
    return None if numbered is None else (f'"{found[1]}" is no {numbered.name}', numbered.way)


def _choice(found: re.Match[str], param: click.Parameter) -> tuple[str, str] | None:
    if not isinstance(param.type, click.Choice):
        return None
    ways = [str(choice) for choice in param.type.choices]
    option = max(param.opts, key=len)
    return (
        f'{option} does not know "{found[1]}"{meant(nearest(found[1], ways))}',
        f"it takes: {', '.join(ways)}",
    )


def _missing(found: re.Match[str], _: click.Parameter) -> tuple[str, str]:
    kind = "folder" if found[1] == "Directory" else "file"
    return f'there is no {kind} "{found[2]}"', "look at its name, and at the folder it is looked for in"


def _folder(found: re.Match[str], _: click.Parameter) -> tuple[str, str]:
    return f'"{found[1]}" is a folder, and a file is needed', "name one file in it"


def _file(found: re.Match[str], _: click.Parameter) -> tuple[str, str]:
    return f'"{found[1]}" is a file, and a folder is needed', "name the folder"


# click's words for a value that it refuses, each with what makes our own sentence and way out of them.
_SENTENCES: tuple[tuple[str, Callable[[re.Match[str], click.Parameter], tuple[str, str] | None]], ...] = (
    (r"'(.*)' is not a valid integer(?: range)?\.", _number),
    (r"(-?\d+) is not in the range .*", _number),
    (r"'(.*)' is not one of .*", _choice),
    (r"(File|Directory|Path) '(.*)' does not exist\.", _missing),
    (r"(?:File|Path) '(.*)' is a directory\.", _folder),
    (r"(?:Directory|Path) '(.*)' is a file\.", _file),
)


def in_plain_words(refused: click.ClickException) -> click.ClickException:
    """Give a refusal of a value in the program's own words; what is none of these as it stands."""
    if not isinstance(refused, click.BadParameter) or refused.param is None:
        return refused
    for words, sentence in _SENTENCES:
        found = re.fullmatch(words, refused.message, re.DOTALL)
        said = None if found is None else sentence(found, refused.param)
        if said is not None:
            return Refusal(*said, WRONG_USE)
    return refused
