"""Lays a site into a folder: what is new or changed, and nothing that somebody else laid there.

The folder keeps a list of the files that publications made in it.  Only these are ever replaced or removed.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path

from journal.commands.console import Refusal
from journal.commands.together import STAGING, Change, link_above, recover, refuse_links, stays_inside
from journal.commands.writing import DISK, Disk, holds, locked, make_folders, sweep

MADE = ".middenbook-made"
_HEAD = "# Files that middenbook publish made here and will replace or remove. Leave this list where it is.\n"


@dataclass(frozen=True, slots=True)
class Published:
    """What a publication did: names of files, in the order in which they came."""

    written: list[str] = field(default_factory=list)
    unchanged: list[str] = field(default_factory=list)
    removed: list[str] = field(default_factory=list)


def mend_folder(folder: Path, disk: Disk = DISK) -> None:
    """Take back what a killed publication left half done, so that the earlier site is whole again.

    Raises OSError where the machine refuses.
    """
    if folder.is_dir():
        with locked(folder):
            recover(folder, disk)


def publish_folder(
    folder: Path,
    files: Iterable[tuple[str, bytes | None]],
    disk: Disk = DISK,
    look: Callable[[Published], object] | None = None,
) -> Published:
    """Make ``folder`` hold these files, and of those an earlier publication made none else.

    ``files`` are pairs of a relative name with ``/`` and the file's bytes, or None for a file that an
    earlier publication made and that stays as it is; they may be made while they are asked for.  If making
    or storing one fails, the folder stays as it was.  A file that already holds its bytes is not touched.
    ``look`` is called when all is in place, and before another publication can change it.
    Files that no publication made are left alone: Refusal where one stands in the way.  OSError where the
    machine refuses.
    """
    try:
        make_folders(folder, disk)
    except OSError as failure:
        failure.add_note(f'no folder "{folder}" can be made: name another with --to FOLDER')
        raise
    with locked(folder):
        recover(folder, disk)
        sweep(folder / MADE, disk)
        change = Change(folder, disk)
        try:
            published = _stage(change, files)
            change.carry_out()
        finally:
            change.clear()
        if look is not None:
            look(published)
    return published


def _stage(change: Change, files: Iterable[tuple[str, bytes | None]]) -> Published:
    """Store what differs from the files in place, and note what is no longer made."""
    folder, done = change.folder, Published()
    made_before = made_files(folder)
    names: set[str] = set()
    for name, data in files:
        if not _is_publishable(name) or name in names:
            raise ValueError(f"{name!r} is no name for a published file, or comes twice")
        names.add(name)
        target = folder / name
        refuse_links(folder, name)
        if data is None or holds(target, data):
            done.unchanged.append(name)
            continue
        if name not in made_before and os.path.lexists(target):
            raise Refusal(
                f'"{target}" is in the way: publish did not make it, and has to make a file of that name',
                "move it elsewhere, or publish into another folder with --to FOLDER",
            )
        change.put(name, data)
        done.written.append(name)
    for name in sorted(made_before - names):
        if _is_there(folder, name):
            change.remove(name)
            done.removed.append(name)
    made = (_HEAD + "".join(f"{name}\n" for name in sorted(names))).encode()
    if not holds(folder / MADE, made):
        change.put(MADE, made)
    return done


def made_files(folder: Path) -> set[str]:
    """Name the files that earlier publications made in a folder; lines that make no sense are passed over."""
    try:
        text = (folder / MADE).read_bytes().decode("utf-8", "replace")
    except OSError:
        return set()
    return {line for line in text.split("\n") if not line.startswith("#") and _is_publishable(line)}


def _is_publishable(name: str) -> bool:
    """Whether any web host and any disk takes the name, and it is none of the program's own."""
    return (
        stays_inside(name)
        and name.isprintable()
        and not name.startswith((MADE, STAGING))
        and not set(name) & set('\\:*?"<>|')
        and "�" not in name
    )


def _is_there(folder: Path, name: str) -> bool:
    """Whether a file that a publication made is still a file there."""
    path = folder / name
    if link_above(folder, name) is not None:
        return False
    return path.is_symlink() or path.is_file()
