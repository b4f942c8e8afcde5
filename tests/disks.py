"""Disks that fail when they are told to, and what stands for a kill."""

from __future__ import annotations

from pathlib import Path

from journal.commands.writing import Disk


class Killed(BaseException):
    """Stands for a kill: nothing that tidies up may rely on catching it."""


class FailingDisk(Disk):
    """A disk whose nth change fails, in the way asked for."""

    def __init__(self, fails_at: int, failure: BaseException) -> None:
        self.left = fails_at
        self.failure = failure

    def _count(self) -> None:
        self.left -= 1
        if self.left == 0:
            raise self.failure

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

    def flush(self, descriptor: int) -> None:
        """Fail or flush."""
        self._count()
        super().flush(descriptor)

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

    def _count(self) -> None:
        self.left -= 1
        if self.left <= 0:
            raise self.failure
