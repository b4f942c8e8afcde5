"""The only reader of the keeper's files: a folder becomes texts, and the texts notes.

Nothing outside ``entries/`` is read: a link that leads out of it is a problem, not a way.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, nullcontext
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from journal.commands import shipped
from journal.commands.haste import without_collecting
from journal.commands.kept import kept
from journal.commands.yaml_tree import TreeProblem, read_tree
from journal.notes import tree
from journal.notes.faults import Fault
from journal.notes.place import Place, Problem, problem
from journal.notes.reading import NO_SHELF, read_notes
from journal.notes.records import Notes
from journal.notes.tasks import Divided, one_by_one

if TYPE_CHECKING:
    from journal.commands.memory import Memory

ENTRIES = "entries"
HOUSEHOLD = "household.yaml"
ENDINGS = (".md", ".txt")
LONG = 150_000
"""Characters of a journal from which two processes are sooner done with it than one."""

_LONE_RETURN = re.compile(rb"\r(?!\n)")
_BOM = b"\xef\xbb\xbf"
_WIDE_BOMS = {b"\xff\xfe": "UTF-16", b"\xfe\xff": "UTF-16", b"\xff\xfe\x00\x00": "UTF-32"}


def read_journal(folder: Path, memory: Memory | None = None) -> Notes:
    """Read the journal in a folder; what cannot be read is among the notes' problems, no file raises."""
    return read_gathered(*gather(folder), memory)


@without_collecting()
def read_gathered(
    contents: Mapping[str, bytes],
    unreadable: Sequence[Problem],
    memory: Memory | None = None,
    divided: Divided | None = None,
) -> Notes:
    """Read a journal from the bytes of its files, as ``gather`` gives them.

    A long one is read in two processes, unless ``divided`` says who does it.
    """
    texts, more = decode(contents)
    problems = [*unreadable, *more]
    household, found = household_tree(texts.pop(HOUSEHOLD, None))
    problems.extend(found)
    entries = entries_among(texts)
    shelf = NO_SHELF if memory is None else memory.shelf("reading")
    with _helped(entries) if divided is None else nullcontext(divided) as helped:
        notes = read_notes(entries, household, shipped.catalogue(), shelf, helped)
    lines = contents.get(HOUSEHOLD, b"").decode("utf-8", "replace").split("\n")
    is_there = HOUSEHOLD in contents  # a household.yaml that is no text or no tree has its problem already
    more = [finding for finding in notes.problems if not (is_there and finding.fault is Fault.NO_HOUSEHOLD)]
    return replace(notes, problems=[*problems, *(_with_source(finding, lines) for finding in more)])


def entries_among(texts: Mapping[str, str]) -> dict[str, str]:
    """Give the texts of the files that hold entries, by their names."""
    return {file: text for file, text in texts.items() if file.lower().endswith(ENDINGS)}


@contextmanager
def _helped(texts: Mapping[str, str]) -> Iterator[Divided]:
    """Have a long journal read in two processes; a short one is read before a second one is there."""
    if sum(map(len, texts.values())) < LONG:
        yield one_by_one
        return
    from journal.commands.workmates import Workmates

    with Workmates() as workmates:
        yield workmates.divided


def gather(folder: Path) -> tuple[dict[str, bytes], list[Problem]]:
    """Read all files of words below entries/, in the order of their paths, and say which cannot be read."""
    contents: dict[str, bytes] = {}
    problems: list[Problem] = []
    root = folder / ENTRIES
    if not root.is_dir():
        return {}, [_unreadable(ENTRIES, "there is no such folder")]
    inside = root.resolve()
    for item, name in sorted(_walk(root, "", problems), key=lambda found: found[1]):
        try:
            if item.is_symlink() and not Path(item.path).resolve().is_relative_to(inside):
                problems.append(_unreadable(name, "it is a link that leads out of entries/"))
            elif not item.is_file():
                problems.append(_unreadable(name, "it is no ordinary file"))
            else:
                with open(item.path, "rb", buffering=0) as file:  # noqa: PTH123 - one of thousands: no Path
                    contents[name] = file.read()
        except (OSError, RuntimeError) as wrong:
            problems.append(_unreadable(name, _why(wrong)))
    return contents, problems


def _why(wrong: OSError | RuntimeError) -> str:
    """Say in words why a file cannot be read; links in a circle raise RuntimeError."""
    words = wrong.strerror if isinstance(wrong, OSError) else "its links lead in a circle"
    return (words or "it cannot be opened").lower()


def _walk(root: Path, prefix: str, problems: list[Problem]) -> Iterator[tuple[os.DirEntry[str], str]]:
    """Give item and name of every file of words; folders that are links are not entered."""
    try:
        with os.scandir(root / prefix) as found:
            items = list(found)
    except OSError as wrong:
        problems.append(_unreadable(prefix or ENTRIES, _why(wrong)))
        return
    for item in items:
        if item.name.startswith("."):
            continue
        name = f"{prefix}{item.name}"
        if item.is_dir(follow_symlinks=False):
            yield from _walk(root, f"{name}/", problems)
        elif name == HOUSEHOLD or item.name.lower().endswith(ENDINGS):
            yield item, name


def _unreadable(name: str, why: str) -> Problem:
    return problem(Fault.UNREADABLE_FILE, Place(printable(name), 1, 1), printable(name), why=why)


def printable(name: str) -> str:
    """Give a file's name so that it can be printed: bytes that are no UTF-8 are shown as such."""
    return name.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")


def decode(contents: Mapping[str, bytes]) -> tuple[dict[str, str], list[Problem]]:
    """Read bytes as UTF-8 text; what is anything else is a problem that names file and byte."""
    texts: dict[str, str] = {}
    problems: list[Problem] = []
    for name, content in contents.items():
        text, wrong = decode_one(printable(name), content)
        if wrong is not None:
            problems.append(wrong)
        if text is not None:
            texts[printable(name)] = text
    return texts, problems


def decode_one(name: str, content: bytes) -> tuple[str | None, Problem | None]:
    """Read one file's bytes: its text where it is UTF-8 with LF or CRLF, else a problem."""
    for bom, encoding in _WIDE_BOMS.items():
        if content.startswith(bom):
            return None, _bad_byte(name, content, 0, f"the mark of {encoding}")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        at = wrong.start + (len(_BOM) if content.startswith(_BOM) else 0)
        return None, _bad_byte(name, content, at, f"0x{content[at]:02x}")
    if "\0" in text:
        return None, _bad_byte(name, content, content.index(b"\0"), "zero, as in a file that is no text")
    lone = _LONE_RETURN.search(content) if b"\r" in content else None
    if lone is not None:
        return None, _bad_byte(name, content, lone.start(), "a carriage return without a line feed")
    return text, None


def _bad_byte(name: str, content: bytes, at: int, what: str) -> Problem:
    before = content[:at]
    line = before.count(b"\n") + 1
    column = len(before[before.rfind(b"\n") + 1 :].decode("utf-8", "replace")) + 1
    return problem(Fault.ENCODING, Place(name, line, column), name, byte=at + 1, what=what)


def household_tree(text: str | None) -> tuple[tree.Mapping | None, list[Problem]]:
    """Read household.yaml as a tree; without one, or where it is no tree, None and why."""
    if text is None:
        return None, []
    try:
        node = kept("household", partial(read_tree, text, HOUSEHOLD), text)
    except TreeProblem as wrong:
        return None, [_with_source(wrong.problem, text.split("\n"))]
    if node is None:
        return tree.Mapping((), Place(HOUSEHOLD, 1, 1)), []
    if isinstance(node, tree.Mapping):
        return node, []
    reason = "it is to hold keys with values, such as household, bins and givers"
    place = Place(HOUSEHOLD, 1, 1)
    return None, [
        problem(Fault.YAML, place, reason, reason=reason, way="begin with:  household: {name: Our house}")
    ]


def _with_source(finding: Problem, lines: list[str]) -> Problem:
    if finding.source or finding.place.file != HOUSEHOLD or not finding.place.line <= len(lines):
        return finding
    return finding._replace(source=lines[finding.place.line - 1].rstrip("\r"))
