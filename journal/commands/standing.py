"""Whether a publication still stands: nothing that it was made of has changed, and nothing that it made.

A file is taken as unchanged while its size and its times are.  A file that had been touched in the moments
before it was read is compared byte by byte, since a clock may not tell two writings a moment apart.
"""

from __future__ import annotations

import hashlib
import json
import os
import stat
import time
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from journal.site.walking import files_below

if TYPE_CHECKING:
    from journal.commands.memory import Memory
    from journal.commands.publication import Published

MOMENT = 2_000_000_000
"""Nanoseconds before a reading in which a file's times prove nothing."""

Mark = list[int | str]
"""Size and times in ns of a file, and a digest where its times prove nothing; empty: not there."""


def mark(path: str, since: int) -> Mark:
    """Mark a file; its bytes are looked at where one of its times is later than ``since``, in ns."""
    try:
        found = os.stat(path)  # noqa: PTH116 - asked of every file: a Path would double its cost
        marked: Mark = [found.st_size, found.st_mtime_ns, found.st_ctime_ns]
        # A pipe or a device has no bytes of its own, and may have no end.
        if stat.S_ISREG(found.st_mode) and max(found.st_mtime_ns, found.st_ctime_ns) > since:
            marked.append(_digest(path))
    except OSError:
        return []
    return marked


def is_as_marked(path: str, marked: Mark) -> bool:
    """Whether a file is still as it was marked."""
    if mark(path, time.time_ns())[:3] != marked[:3]:
        return False
    try:
        return len(marked) <= 3 or _digest(path) == marked[3]  # noqa: PLR2004 - size and two times
    except OSError:
        return False


def _digest(path: str) -> str:
    return hashlib.blake2b(Path(path).read_bytes(), digest_size=16).hexdigest()


class Last(NamedTuple):
    """A publication that still stands: the names of its files, and what was remarked."""

    names: list[str]
    remarks: list[str]


class Standing:
    """The publication of entries by folders of templates into a folder, as it was the last time."""

    def __init__(self, entries: Path, templates: Iterable[Path], to: Path, memory: Memory) -> None:
        self.to = os.path.realpath(to)
        self.memory = memory
        self.key = f"standing {self.to}"
        self.began = time.time_ns()
        self.keys: dict[str, str] = {}
        self._last: dict[str, Any] = {}
        self._made: dict[str, Mark] = {}
        self.files = [*files_below(os.path.realpath(entries))]
        for folder in templates:
            self.files += files_below(os.path.realpath(folder), through_links=True)

    def last(self) -> Last | None:
        """Give the last publication if all of it still stands, else None."""
        data = self.memory.get(self.key)
        if data is None:
            return None
        last = self._last = json.loads(data)
        sources: Mapping[str, Mark] = last["sources"]
        made: Mapping[str, Mark] = last["made"]
        if list(sources) != self.files or not _stand(sources, "") or not _stand(made, self.to + os.sep):
            return None
        return Last(list(made), last["remarks"])

    @property
    def is_first(self) -> bool:
        """Whether nothing is known of an earlier publication."""
        return not self._last

    def stands(self, name: str, key: str) -> bool:
        """Whether the last publication made this file with this key, and it is still as it was made."""
        if not self._last or self._last["keys"].get(name) != key:
            return False
        return is_as_marked(f"{self.to}{os.sep}{name}", self._last["made"].get(name, []))

    def mark_sources(self) -> dict[str, Mark]:
        """Mark all sources, before any of them is read."""
        return {path: mark(path, self.began - MOMENT) for path in self.files}

    def mark_made(self, published: Published) -> None:
        """Mark what was made, while nobody else can publish: another's files are none of this publication."""
        names = sorted([*published.written, *published.unchanged])
        self._made = {name: mark(f"{self.to}{os.sep}{name}", time.time_ns()) for name in names}

    def keep(self, sources: dict[str, Mark], remarks: Iterable[str]) -> None:
        """Remember a publication that has just been made, and marked, of sources as they were marked."""
        data = {"sources": sources, "made": self._made, "keys": self.keys, "remarks": list(remarks)}
        self.memory.put(self.key, json.dumps(data).encode())


def _stand(marks: Mapping[str, Mark], root: str) -> bool:
    return all(is_as_marked(root + name, marked) for name, marked in marks.items())
