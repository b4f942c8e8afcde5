"""What is remembered between publications: files as read, drawn charts, resized pictures, whole pages.

It lies in the user's cache folder, outside the journal and the site; deleting it costs only time.  Every
value is keyed by what it was made from together with the program's own files, and carries a digest: a
damaged value is made again, a damaged file is thrown away.  Two runs at once are safe (SQLite locks).
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import pickle
import sqlite3
from collections.abc import Callable
from itertools import chain
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from journal.commands.kept import cache_folder, running_version

MOST_BYTES = 512 * 1024 * 1024
"""The file is begun afresh when it has grown beyond this."""

LONGEST_WAIT = 3.0
"""Seconds to wait for another run that writes; after that, nothing is remembered in this one."""

_NOT_DAMAGED = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY}

_TABLE = "CREATE TABLE IF NOT EXISTS kept (key BLOB PRIMARY KEY, digest BLOB, data BLOB)"
_FIND = "SELECT digest, data FROM kept WHERE key = ?"


class Memory:
    """Bytes by key, kept between runs; where the disk refuses, only within this one."""

    def __init__(self, path: Path | None) -> None:
        self.path = path
        self._new: dict[str, bytes] = {}
        self._unpacked: dict[str, Parcel] = {}
        self._base = _open(path) if path is not None else None
        self._process = os.getpid()
        self._left: list[sqlite3.Connection] = []
        self._version = running_version()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def get(self, key: str) -> bytes | None:
        """Give what is remembered under a key, or None."""
        data = self._new.get(key)
        if data is None and key in self._unpacked:
            data = self._unpacked[key].packed
        if self._process != os.getpid():
            self._open_anew()
        if data is not None or self._base is None:
            return data
        try:
            hashed = self._hashed(key)
            row = self._base.execute(_FIND, (hashed,)).fetchone()
        except (sqlite3.Error, UnicodeError, MemoryError):  # a damaged file can say anything
            return None
        if row is None or not isinstance(row[1], bytes) or _digest(hashed, row[1]) != row[0]:
            return None
        return row[1]

    def put(self, key: str, data: bytes) -> None:
        """Remember bytes under a key."""
        self._new[key] = data
        self._unpacked.pop(key, None)

    def put_parcel(self, key: str, parcel: Parcel) -> None:
        """Remember the value of a parcel under a key; it need not be packed before the memory is closed."""
        self._new.pop(key, None)
        self._unpacked[key] = parcel

    @property
    def unpacked(self) -> list[tuple[str, Parcel]]:
        """The parcels that are yet to be packed, each with its key; none where nothing outlives this run."""
        if self._base is None:
            return []
        return [(key, parcel) for key, parcel in self._unpacked.items() if not parcel.is_packed]

    def shelf(self, what: str) -> Shelf:
        """Give a shelf for values made of files, each kept by the file's name and text."""
        return Shelf(self, what)

    def close(self) -> None:
        """Write down what is new, in one step; a disk that refuses is no reason to fail."""
        if self._base is None:
            return
        new = chain(self._new.items(), ((key, parcel.packed) for key, parcel in self._unpacked.items()))
        rows = (self._row(key, data) for key, data in new)
        with contextlib.suppress(sqlite3.Error), contextlib.closing(self._base), self._base:
            self._base.executemany("INSERT OR REPLACE INTO kept VALUES (?, ?, ?)", rows)
        self._base = None

    def _open_anew(self) -> None:
        """Open the database for a copy of the process: a connection is never used by two."""
        if self._base is not None and self.path is not None:
            self._left.append(self._base)  # let go, it would close files that are not its own any more
            self._base = _open(self.path)
        self._process = os.getpid()

    def _row(self, key: str, data: bytes) -> tuple[bytes, bytes, bytes]:
        hashed = self._hashed(key)
        return hashed, _digest(hashed, data), data

    def _hashed(self, key: str) -> bytes:
        name = key.encode("utf-8", "surrogatepass")
        return hashlib.blake2b(name, key=self._version, digest_size=16).digest()


class Parcel:
    """A value that is packed once, when it is first sent to another process or kept."""

    __slots__ = ("_packed", "value")

    def __init__(self, value: Any, packed: bytes = b"") -> None:  # noqa: ANN401 - whatever is kept
        self.value = value
        self._packed = packed

    @property
    def is_packed(self) -> bool:
        """Whether that was done."""
        return bool(self._packed)

    @property
    def packed(self) -> bytes:
        """The value as bytes; from then on it is not to change."""
        if not self._packed:
            self._packed = pickle.dumps(self.value, 5)
        return self._packed

    def __reduce__(self) -> tuple[Callable[[bytes], Parcel], tuple[bytes]]:
        return arrived, (self.packed,)


def arrived(packed: bytes) -> Parcel:
    """Unpack a parcel that another process of this program packed."""
    return Parcel(pickle.loads(packed), packed)  # noqa: S301 - see Shelf


class Shelf:
    """Values by the name and text of the file they were made of, packed as bytes of a memory.

    Unpacking runs nothing but what this program packed: a memory is the user's own, as compiled modules are,
    and a value whose digest does not hold is never unpacked.
    """

    def __init__(self, memory: Memory, what: str) -> None:
        self.memory = memory
        self.what = what

    def get(self, file: str, text: str) -> object | None:
        """Give what was kept of a file, or None."""
        data = self.memory.get(self._key(file, text))
        if data is None:
            return None
        try:
            value: object = pickle.loads(data)  # noqa: S301 - see the class
        except Exception:  # noqa: BLE001 - whatever is wrong with it, the file is read again
            return None
        return value

    def parcel(self, value: Any) -> Parcel:  # noqa: ANN401 - whatever is kept
        """Make a value ready to be sent and kept."""
        return Parcel(value)

    def put(self, file: str, text: str, parcel: object) -> None:
        """Keep the value of a parcel."""
        if isinstance(parcel, Parcel):
            self.memory.put_parcel(self._key(file, text), parcel)

    def _key(self, file: str, text: str) -> str:
        digest = hashlib.blake2b(text.encode("utf-8", "surrogatepass"), digest_size=20).hexdigest()
        return f"{self.what} {digest} {file}"


def memory_of(folder: Path) -> Memory:
    """Open what is remembered for one journal."""
    base = cache_folder()
    if base is None:
        return Memory(None)
    name = hashlib.blake2b(os.fsencode(folder.resolve()), digest_size=10).hexdigest()
    return Memory(base / f"{name}.sqlite")


def _open(path: Path) -> sqlite3.Connection | None:
    """Open the database, begun afresh where it is damaged; None where it is held, or no disk takes it."""
    for _ in range(2):
        base = None
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            if path.exists() and path.stat().st_size > MOST_BYTES:
                path.unlink()
            base = sqlite3.connect(path, timeout=LONGEST_WAIT)
            base.execute("PRAGMA synchronous = OFF")  # what a crash loses is made again
            base.execute(_TABLE)
            base.execute(_FIND, (b"",))
        except (sqlite3.Error, UnicodeError) as wrong:
            if base is not None:
                base.close()
            if getattr(wrong, "sqlite_errorcode", 0) & 0xFF in _NOT_DAMAGED:
                return None
            for left in (path, path.with_name(f"{path.name}-journal")):
                with contextlib.suppress(OSError):
                    left.unlink()
        except OSError:
            return None
        else:
            return base
    return None


def _digest(hashed: bytes, data: bytes) -> bytes:
    """Give the digest of a value under its key: in a damaged file a key can lead to another's value."""
    return hashlib.blake2b(data, key=hashed, digest_size=12).digest()
