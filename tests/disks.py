"""Disks that fail when they are told to, and what stands for a kill."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from journal.commands.writing import Disk


class Killed(BaseException):
    """Stands for a kill: nothing that tidies up may rely on catching it."""


class FailingDisk(Disk):
    """A disk whose nth change fails, in the way asked for; ``again`` names further changes that do.

    ``steps`` counts all changes that were asked of it.
    """

    in_order = True

    def __init__(self, fails_at: int, failure: BaseException, *again: int) -> None:
        self.fails_at = {fails_at, *again}
        self.failure = failure
        self.steps = 0

    def _count(self) -> None:
        self.steps += 1
        if self._fails():
            raise self.failure

    def _fails(self) -> bool:
        return self.steps in self.fails_at

    def create(self, path: Path, mode: int) -> int:
        """Fail or create."""
        self._count()
        return super().create(path, mode)

    def write(self, descriptor: int, data: bytes) -> None:
        """Fail with half of the bytes written, or write."""
        try:
            self._count()
        except BaseException:
            super().write(descriptor, data[: len(data) // 2])
            raise
        super().write(descriptor, data)

    def flush(self, descriptor: int) -> None:  # noqa: ARG002 - as the disk's own
        """Fail, or take it as flushed: no test cuts the power, and waiting for the disk takes long."""
        self._count()

    def link(self, source: Path, target: Path) -> None:
        """Fail or give a second name."""
        self._count()
        super().link(source, target)

    def rename(self, source: Path, target: Path) -> None:
        """Fail or rename."""
        self._count()
        super().rename(source, target)

    def unlink(self, path: Path) -> None:
        """Fail or remove."""
        self._count()
        super().unlink(path)

    def make_folder(self, path: Path) -> None:
        """Fail or make a folder."""
        self._count()
        super().make_folder(path)

    def remove_folder(self, path: Path) -> None:
        """Fail or remove a folder."""
        self._count()
        super().remove_folder(path)


class DeadDisk(FailingDisk):
    """A disk on which nothing works any more once it has failed, as after a kill."""

    def _fails(self) -> bool:
        return self.steps >= min(self.fails_at)


class FullDisk(FailingDisk):
    """A disk that has become full: nothing more can be laid on it, but files can be renamed and removed."""

    def __init__(self, fails_at: int, failure: BaseException) -> None:
        super().__init__(fails_at, failure)
        self.grows = False

    def _fails(self) -> bool:
        return self.grows and self.steps >= min(self.fails_at)

    def create(self, path: Path, mode: int) -> int:
        """Create a file while there is room."""
        self.grows = True
        return super().create(path, mode)

    def write(self, descriptor: int, data: bytes) -> None:
        """Write while there is room, and half when it ends."""
        self.grows = True
        super().write(descriptor, data)

    def flush(self, descriptor: int) -> None:
        """Flush, which needs no more room."""
        self.grows = False
        super().flush(descriptor)

    def link(self, source: Path, target: Path) -> None:
        """Give a second name while there is room."""
        self.grows = True
        super().link(source, target)

    def rename(self, source: Path, target: Path) -> None:
        """Rename, which needs no more room."""
        self.grows = False
        super().rename(source, target)

    def unlink(self, path: Path) -> None:
        """Remove, which needs no more room."""
        self.grows = False
        super().unlink(path)

    def make_folder(self, path: Path) -> None:
        """Make a folder while there is room."""
        self.grows = True
        super().make_folder(path)

    def remove_folder(self, path: Path) -> None:
        """Remove, which needs no more room."""
        self.grows = False
        super().remove_folder(path)


def steps_of(work: Callable[[Disk], object]) -> int:
    """Count the changes that some work asks of a disk on which nothing fails."""
    disk = FailingDisk(0, Killed())
    work(disk)
    return disk.steps
