"""Several files change together: all of the new ones are in place, or all of the earlier ones.

What is new is first stored in a staging folder beside the files, down to the disk, and what it will replace
gets a second name there.  A plan then names every step, and only now the files are renamed into place.
While the plan is there the change has not happened: whoever fails takes it back, and after a kill whoever
comes next does (``take_back``).  The change is done in the moment in which the plan is removed.

Exchanging the whole folder for a new one would need no plan, but a web server, a shell or a container that
holds the folder open would be left with the old one, and a file that somebody lays into it meanwhile lost.
"""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterator, Mapping
from pathlib import Path, PurePosixPath
from typing import NamedTuple

from journal.commands.console import Refusal
from journal.commands.writing import (
    DISK,
    Behind,
    Disk,
    flush_folder,
    make_folders,
    mark,
    write_file,
    write_new,
)

STAGING = ".middenbook-staging-"
PLAN = "plan"


class Step(NamedTuple):
    """One file's part: what becomes of it, its number in the staging folder, its name in the folder."""

    what: str  # "new", "replace" or "remove"
    number: int
    name: str

    def __str__(self) -> str:
        return json.dumps([self.what, self.number, self.name])


class Change:
    """One change of a folder that is locked.  ``clear`` is to be called whatever comes of it."""

    def __init__(self, folder: Path, disk: Disk = DISK) -> None:
        self.folder = folder
        self.disk = disk
        self.staging = folder / f"{STAGING}{mark()}"
        self.steps: list[Step] = []
        self._behind = None if disk.in_order else Behind(disk)

    def put(self, name: str, data: bytes) -> None:
        """Store what a file will hold, out of the way.  Raises Refusal where a link leads to its place."""
        refuse_links(self.folder, name)
        target = self.folder / name
        step = self._step("replace" if os.path.lexists(target) else "new", name)
        write_new(self._new(step), data, self.disk, target, self._behind)

    def remove(self, name: str) -> None:
        """Note that a file is to be removed, and the folders that become empty with it."""
        self._step("remove", name)

    def carry_out(self) -> None:
        """Make the change; where a step of it fails, take back those that were done, and raise."""
        if not self.steps:
            return
        if self._behind is not None:
            self._behind.finish()
        for step in self.steps:
            if step.what != "new":
                self._keep(step)
        plan = "".join(f"{step}\n" for step in self.steps).encode()
        try:
            write_file(self.staging / PLAN, plan, self.disk)
            flush_folder(self.folder, self.disk)
            self._rename()
            self.disk.unlink(self.staging / PLAN)
        except BaseException:
            with contextlib.suppress(OSError):  # what cannot be taken back now is by whoever comes next
                take_back(self.folder, self.staging, self.disk)
            raise
        flush_folder(self.staging, self.disk)

    def clear(self) -> None:
        """Remove the staging folder, unless it is still needed to take the change back."""
        if self._behind is not None:
            self._behind.abandon()
        if self.staging.exists() and not (self.staging / PLAN).exists():
            with contextlib.suppress(OSError):
                _remove_tree(self.staging, self.disk)

    def _step(self, what: str, name: str) -> Step:
        if not self.steps:
            self.disk.make_folder(self.staging)
        step = Step(what, len(self.steps), name)
        self.steps.append(step)
        return step

    def _new(self, step: Step) -> Path:
        return self.staging / f"{step.number}.new"

    def _keep(self, step: Step) -> None:
        """Give the earlier file a second name; where the disk has no such thing, copy it."""
        target, kept = self.folder / step.name, self.staging / f"{step.number}.old"
        try:
            self.disk.link(target, kept)
        except OSError:
            write_new(kept, target.read_bytes(), self.disk, like=target)

    def _rename(self) -> None:
        for step in self.steps:
            target = self.folder / step.name
            if step.what == "remove":
                self.disk.unlink(target)
                remove_empty(self.folder, step.name, self.disk)
            else:
                make_folders(target.parent, self.disk)
                self.disk.rename(self._new(step), target)
        _flush_folders(self.folder, self.steps, self.disk)


def earlier_text(path: Path) -> str:
    """Give a text that is to be added to, line ends and mark as they are; "" where there is none."""
    try:
        return path.read_bytes().decode("utf-8")
    except FileNotFoundError:
        return ""
    except UnicodeDecodeError:
        raise Refusal(f'"{path}" is not UTF-8, so nothing can be added to it', "save it as UTF-8") from None


def put_together(folder: Path, files: Mapping[str, bytes], disk: Disk = DISK) -> None:
    """Give files of a locked folder, by their names in it, these bytes: all of them or none.

    Raises Refusal where a link leads to one's place, OSError where the machine refuses.
    """
    if not files:
        return
    if len(files) == 1:  # which needs no plan
        ((name, data),) = files.items()
        refuse_links(folder, name)
        make_folders((folder / name).parent, disk)
        write_file(folder / name, data, disk)
        return
    change = Change(folder, disk)
    try:
        for name, data in files.items():
            change.put(name, data)
        change.carry_out()
    finally:
        change.clear()


def recover(folder: Path, disk: Disk = DISK) -> None:
    """Take back what a killed run left half done in a folder that is locked, and sweep up after it.

    Raises OSError where the machine refuses.
    """
    for left in sorted(folder.glob(f"{STAGING}*")):
        if left.is_symlink() or not left.is_dir():
            continue
        if (left / PLAN).is_file():
            take_back(folder, left, disk)
        with contextlib.suppress(OSError):
            _remove_tree(left, disk)


def take_back(folder: Path, staging: Path, disk: Disk) -> None:
    """Undo what was done of a plan, last step first; can itself be broken off and begun again."""
    steps = [step for step in _read_plan(staging / PLAN) if link_above(folder, step.name) is None]
    for step in reversed(steps):
        target, kept = folder / step.name, staging / f"{step.number}.old"
        if os.path.lexists(kept):
            make_folders(target.parent, disk)
            disk.rename(kept, target)
        elif step.what == "new":
            if os.path.lexists(target) and not os.path.lexists(staging / f"{step.number}.new"):
                disk.unlink(target)
            remove_empty(folder, step.name, disk)
    _flush_folders(folder, steps, disk)
    disk.unlink(staging / PLAN)


def stays_inside(name: str) -> bool:
    """Whether a relative name, with ``/`` between its parts, stays inside its folder."""
    parts = PurePosixPath(name).parts
    return (
        bool(parts) and "/".join(parts) == name and ".." not in parts and parts[0] != "/" and "\0" not in name
    )


def resolved(folder: Path, name: str) -> str:
    """Give the name in a folder of the file that a name means once links are followed.

    Raises Refusal where they lead out of the folder.
    """
    path, root = os.path.realpath(folder / name), os.path.realpath(folder)
    if not Path(path).is_relative_to(root):
        raise Refusal(
            f'"{folder / name}" is a link that leads out of {folder.name}/', "put the file itself there"
        )
    return Path(path).relative_to(root).as_posix()


def link_above(folder: Path, name: str) -> Path | None:
    """Give the folder on the way to a file that is a link, and so may lead out."""
    above = (folder / each for each in PurePosixPath(name).parents if each.name)
    return next((each for each in above if each.is_symlink()), None)


def refuse_links(folder: Path, name: str) -> None:
    """Raise Refusal where a folder on the way to a file is a link."""
    link = link_above(folder, name)
    if link is not None:
        raise Refusal(
            f'"{link}" is a link to another folder: nothing is written through it', "remove the link"
        )


def remove_empty(folder: Path, name: str, disk: Disk) -> None:
    """Remove the folders on the way to a file in which nothing lies any more."""
    for above in PurePosixPath(name).parents[:-1]:
        try:
            disk.remove_folder(folder / above)
        except OSError:  # something else lies in it, or it was never made
            break


def _read_plan(plan: Path) -> Iterator[Step]:
    """Read a plan; lines that make no sense are passed over, since a plan may be anybody's file."""
    for line in plan.read_bytes().split(b"\n"):
        try:
            what, number, name = json.loads(line)
        except (ValueError, TypeError, RecursionError):
            continue
        if isinstance(number, int) and isinstance(name, str) and stays_inside(name):
            yield Step(str(what), number, name)


def _flush_folders(folder: Path, steps: list[Step], disk: Disk) -> None:
    for each in sorted({folder, *((folder / step.name).parent for step in steps)}):
        if each.is_dir():
            flush_folder(each, disk)


def _remove_tree(folder: Path, disk: Disk) -> None:
    """Remove a staging folder, which holds files only."""
    for each in folder.iterdir():
        disk.unlink(each)
    disk.remove_folder(folder)
