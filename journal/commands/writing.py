"""Writing so that nothing is ever lost: a kill at any moment leaves the earlier file or the new one.

A file is written beside its place, flushed to the disk, and renamed over it.  A folder of files is written
whole into a staging folder first; only when all of it is on the disk are the files renamed into place.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from journal.commands.console import Refusal

MADE = ".middenbook-made"
STAGING = ".middenbook-staging-"
_HEAD = "# Files that middenbook publish made here and will replace or remove. Leave this list where it is.\n"
_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)


class Disk:
    """Every way in which this program changes a disk; a test puts another in its place to make one fail."""

    def create(self, path: Path, mode: int) -> int:
        """Create a file that is not there yet and give its descriptor."""
        return os.open(path, _NEW, mode)

    def write(self, descriptor: int, data: bytes) -> None:
        """Write all of the bytes."""
        view = memoryview(data)
        while view:
            view = view[os.write(descriptor, view) :]

    def flush(self, descriptor: int) -> None:
        """Wait until what was written is on the disk."""
        os.fsync(descriptor)

    def rename(self, source: Path, target: Path) -> None:
        """Put a file in the place of another in one step."""
        source.replace(target)

    def unlink(self, path: Path) -> None:
        """Remove a file."""
        path.unlink()

    def make_folder(self, path: Path) -> None:
        """Make one folder."""
        path.mkdir()

    def remove_folder(self, path: Path) -> None:
        """Remove an empty folder."""
        path.rmdir()


DISK = Disk()


@dataclass(frozen=True, slots=True)
class Published:
    """What a publication did: names of files, in the order in which they came."""

    written: list[str] = field(default_factory=list)
    unchanged: list[str] = field(default_factory=list)
    removed: list[str] = field(default_factory=list)


def write_file(path: Path, data: bytes, disk: Disk = DISK) -> None:
    """Put ``data`` in the place of a file, or make it; its permissions, and a link to it, stay.

    Raises OSError where the machine refuses; then the earlier file is untouched.
    """
    path = Path(os.path.realpath(path))
    new = path.with_name(f".{path.name[:100]}.{secrets.token_hex(4)}")
    try:
        _write_new(new, data, disk, like=path)
        disk.rename(new, path)
    except BaseException:
        with contextlib.suppress(OSError):
            new.unlink()
        raise
    _flush_folder(path.parent, disk)


def make_folders(folder: Path, disk: Disk = DISK) -> None:
    """Make a folder and those above it that are missing."""
    if folder.is_dir():
        return
    make_folders(folder.parent, disk)
    with contextlib.suppress(FileExistsError):
        disk.make_folder(folder)
        _flush_folder(folder.parent, disk)
    if not folder.is_dir():
        raise NotADirectoryError(20, "not a folder", str(folder))


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold a folder so that no other run of the program writes in it; wait for one that does.

    Where the system has no such lock, every single file is still written in one step.
    """
    try:
        import fcntl
    except ImportError:  # not a POSIX system
        yield
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        with contextlib.suppress(OSError):  # some network disks have no locks
            fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)


def publish_folder(folder: Path, files: Iterable[tuple[str, bytes]], disk: Disk = DISK) -> Published:
    """Make ``folder`` hold these files, and of those an earlier publication made none else.

    ``files`` are pairs of a relative name with ``/`` and the file's bytes; they may be made while they are
    asked for.  If making or storing one fails, the folder stays as it was.  A file that already holds its
    bytes is not touched.  Files that no publication made are left alone: Refusal where one stands in the way.
    OSError where the machine refuses.
    """
    make_folders(folder, disk)
    with locked(folder):
        _sweep(folder, disk)
        publication = _Publication(folder, disk)
        try:
            publication.stage(files)
            return publication.put_into_place()
        finally:
            publication.clear()


class _Publication:
    """One publication into a folder that is locked."""

    def __init__(self, folder: Path, disk: Disk) -> None:
        self.folder = folder
        self.disk = disk
        self.made_before = made_files(folder)
        self.staging = folder / f"{STAGING}{secrets.token_hex(4)}"
        self.staged: dict[str, Path] = {}
        self.unchanged: list[str] = []

    def stage(self, files: Iterable[tuple[str, bytes]]) -> None:
        """Store each file that differs from the one in place, out of the way, down to the disk."""
        seen: set[str] = set()
        for name, data in files:
            if not _is_sound(name) or name in seen:
                raise ValueError(f"{name!r} is no name for a published file, or comes twice")
            seen.add(name)
            target = self.folder / name
            _refuse_links(self.folder, name)
            if _holds(target, data):
                self.unchanged.append(name)
                continue
            if name not in self.made_before and os.path.lexists(target):
                raise Refusal(
                    f'"{target}" is in the way: publish did not make it, and has to make a file of that name',
                    "move it elsewhere, or publish into another folder with --to FOLDER",
                )
            if not self.staged:
                self.disk.make_folder(self.staging)
            new = self.staging / str(len(self.staged))
            _write_new(new, data, self.disk, like=target)
            self.staged[name] = new

    def put_into_place(self) -> Published:
        """Rename what is staged into its place and remove what is no longer made.

        The list of made files first grows and only then shrinks: a kill leaves no file that nobody owns.
        """
        names = {*self.staged, *self.unchanged}
        gone = sorted(name for name in self.made_before - names if os.path.lexists(self.folder / name))
        self._list(self.made_before | names)
        folders = {self.folder}
        for name, new in self.staged.items():
            target = self.folder / name
            make_folders(target.parent, self.disk)
            self.disk.rename(new, target)
            folders.add(target.parent)
        removed = [name for name in gone if self._remove(name)]
        for each in sorted(folders) if self.staged or removed else ():
            _flush_folder(each, self.disk)
        self._list(names)
        return Published(list(self.staged), self.unchanged, removed)

    def clear(self) -> None:
        """Remove what is left of the staging folder."""
        if self.staging.exists():
            with contextlib.suppress(OSError):
                _remove_tree(self.staging, self.disk)

    def _list(self, names: set[str]) -> None:
        data = (_HEAD + "".join(f"{name}\n" for name in sorted(names))).encode()
        if not _holds(self.folder / MADE, data):
            write_file(self.folder / MADE, data, self.disk)

    def _remove(self, name: str) -> bool:
        path = self.folder / name
        if _link_above(self.folder, name) is not None or (path.is_dir() and not path.is_symlink()):
            return False
        self.disk.unlink(path)
        for above in path.relative_to(self.folder).parents[:-1]:
            try:
                self.disk.remove_folder(self.folder / above)
            except OSError:  # something else lies in it
                break
        return True


def made_files(folder: Path) -> set[str]:
    """Name the files that earlier publications made in a folder; lines that make no sense are passed over."""
    try:
        text = (folder / MADE).read_bytes().decode("utf-8", "replace")
    except OSError:
        return set()
    return {line for line in text.split("\n") if not line.startswith("#") and _is_sound(line)}


def _is_sound(name: str) -> bool:
    """Whether a name stays inside the folder and is none of the program's own."""
    parts = PurePosixPath(name).parts
    return (
        bool(parts)
        and "/".join(parts) == name
        and ".." not in parts
        and name.isprintable()
        and not name.startswith(("/", MADE, STAGING))
        and not set(name) & set('\\:*?"<>|')
        and "�" not in name
    )


def _link_above(folder: Path, name: str) -> Path | None:
    """Give the folder on the way to a file that is a link, and so may lead out."""
    above = (folder / each for each in PurePosixPath(name).parents if each.name)
    return next((each for each in above if each.is_symlink()), None)


def _refuse_links(folder: Path, name: str) -> None:
    link = _link_above(folder, name)
    if link is not None:
        raise Refusal(
            f'"{link}" is a link to another folder: nothing is published through it', "remove the link"
        )


def _holds(path: Path, data: bytes) -> bool:
    """Whether a plain file holds exactly these bytes."""
    try:
        found = path.lstat()
        return stat.S_ISREG(found.st_mode) and found.st_size == len(data) and path.read_bytes() == data
    except OSError:
        return False


def _write_new(path: Path, data: bytes, disk: Disk, like: Path) -> None:
    """Store a new file down to the disk, with the permissions of the file whose place it will take."""
    descriptor = disk.create(path, 0o666)
    try:
        with contextlib.suppress(OSError):
            earlier = like.stat()
            path.chmod(stat.S_IMODE(earlier.st_mode))
            if hasattr(os, "chown") and (earlier.st_uid, earlier.st_gid) != (os.getuid(), os.getgid()):
                os.chown(path, earlier.st_uid, earlier.st_gid)
        disk.write(descriptor, data)
        disk.flush(descriptor)
    finally:
        os.close(descriptor)


def _flush_folder(folder: Path, disk: Disk) -> None:
    """Bring renames in a folder to the disk; systems that cannot are left to their own."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        disk.flush(descriptor)
    finally:
        os.close(descriptor)


def _sweep(folder: Path, disk: Disk) -> None:
    """Remove what a killed publication left behind."""
    for left in folder.glob(f"{STAGING}*"):
        if left.is_dir() and not left.is_symlink():
            with contextlib.suppress(OSError):
                _remove_tree(left, disk)
    for left in folder.glob(f".{MADE}.*"):
        with contextlib.suppress(OSError):
            disk.unlink(left)


def _remove_tree(folder: Path, disk: Disk) -> None:
    """Remove a staging folder, which holds files only."""
    for each in folder.iterdir():
        disk.unlink(each)
    disk.remove_folder(folder)
