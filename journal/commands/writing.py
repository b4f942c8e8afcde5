"""Writing so that nothing is ever lost: a kill at any moment leaves the earlier file or the new one.

A file is written beside its place, flushed to the disk, and renamed over it.  Several files that belong
together are changed by ``together``; what a publication makes, by ``publication``.
"""

from __future__ import annotations

import contextlib
import os
import re
import stat
import threading
from collections.abc import Iterator
from pathlib import Path
from queue import Queue

_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)


class Disk:
    """Every way in which this program changes a disk; a test puts another in its place to make one fail."""

    in_order = False
    """Whether each change must be done before the next is begun, so that a test can count them."""

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

    def link(self, source: Path, target: Path) -> None:
        """Give a file a second name."""
        if os.link in os.supports_follow_symlinks:
            os.link(source, target, follow_symlinks=False)
        else:
            os.link(source, target)

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


def mark() -> str:
    """Give eight signs that no other file's name has, for what is laid beside a file for a moment."""
    return os.urandom(4).hex()  # the module for it loads several more


def write_file(path: Path, data: bytes, disk: Disk = DISK) -> None:
    """Put ``data`` in the place of a file, or make it; its permissions, and a link to it, stay.

    Raises OSError where the machine refuses; then the earlier file is untouched.
    """
    path = Path(os.path.realpath(path))
    new = path.with_name(f".{path.name[:100]}.{mark()}")
    try:
        write_new(new, data, disk, like=path)
        disk.rename(new, path)
    except BaseException:
        with contextlib.suppress(OSError):
            disk.unlink(new)
        raise
    flush_folder(path.parent, disk)


def sweep(path: Path, disk: Disk = DISK) -> None:
    """Remove what a killed ``write_file`` left beside a file; to be called with its folder locked."""
    path = Path(os.path.realpath(path))
    left = re.compile(rf"{re.escape(f'.{path.name[:100]}.')}[0-9a-f]{{8}}")
    with contextlib.suppress(OSError):
        for beside in path.parent.iterdir():
            if left.fullmatch(beside.name):
                disk.unlink(beside)


def make_folders(folder: Path, disk: Disk = DISK) -> None:
    """Make a folder and those above it that are missing."""
    if folder.is_dir():
        return
    make_folders(folder.parent, disk)
    with contextlib.suppress(FileExistsError):
        disk.make_folder(folder)
        flush_folder(folder.parent, disk)
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


def write_new(path: Path, data: bytes, disk: Disk, like: Path, behind: Behind | None = None) -> None:
    """Store a new file down to the disk, with the permissions of the file whose place it will take.

    With ``behind`` it is down on the disk once that is finished.
    """
    descriptor = disk.create(path, 0o666)
    try:
        with contextlib.suppress(OSError):
            earlier = like.stat()
            path.chmod(stat.S_IMODE(earlier.st_mode))
            if hasattr(os, "chown") and (earlier.st_uid, earlier.st_gid) != (os.getuid(), os.getgid()):
                os.chown(path, earlier.st_uid, earlier.st_gid)
        disk.write(descriptor, data)
        if behind is not None:
            descriptor = behind.take(descriptor)
        else:
            disk.flush(descriptor)
    finally:
        if descriptor != TAKEN:
            os.close(descriptor)


TAKEN = -1


class Behind:
    """Brings files down to the disk while others are being written: a slow disk is waited for once.

    ``finish`` or ``abandon`` is to be called whatever comes of it.
    """

    MOST = 32
    """Files that may wait; each is an open one, of which a process has not many."""

    def __init__(self, disk: Disk) -> None:
        self._disk = disk
        self._waiting: Queue[int] = Queue(self.MOST)
        self._thread: threading.Thread | None = None
        self._failure: Exception | None = None

    def take(self, descriptor: int) -> int:
        """Take an open file over, to be flushed and closed, and return ``TAKEN``.

        Where no thread can be had, the file is flushed here and now and returned.
        """
        if self._thread is None:
            thread = threading.Thread(target=self._flush, daemon=True)
            try:
                thread.start()
            except RuntimeError:
                self._disk.flush(descriptor)
                return descriptor
            self._thread = thread
        self._waiting.put(descriptor)
        return TAKEN

    def finish(self) -> None:
        """Wait until all files are down on the disk.  Raises what the first that failed raised."""
        self.abandon()
        if self._failure is not None:
            raise self._failure

    def abandon(self) -> None:
        """Wait until all files are closed."""
        if self._thread is not None:
            self._waiting.put(TAKEN)
            self._thread.join()
            self._thread = None

    def _flush(self) -> None:
        while (descriptor := self._waiting.get()) != TAKEN:
            try:
                if self._failure is None:
                    self._disk.flush(descriptor)
            except Exception as failure:  # noqa: BLE001 - told by the thread that waits
                self._failure = failure
            finally:
                os.close(descriptor)


def flush_folder(folder: Path, disk: Disk) -> None:
    """Bring renames in a folder to the disk; systems that cannot are left to their own."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        disk.flush(descriptor)
    finally:
        os.close(descriptor)


def holds(path: Path, data: bytes) -> bool:
    """Whether a plain file holds exactly these bytes."""
    try:
        found = path.lstat()
        return stat.S_ISREG(found.st_mode) and found.st_size == len(data) and path.read_bytes() == data
    except OSError:
        return False
