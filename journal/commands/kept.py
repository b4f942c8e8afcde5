"""What every command needs at once is kept as read in the user's cache folder, as long as the program stays.

Each value is a file of its own, which may be deleted at any time.  It begins with a digest: a damaged one is
made again.  Unpacking it runs nothing but what this program packed, as its compiled modules do.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import pickle
import sys
from collections.abc import Callable
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TypeVar

from journal.site.walking import files_below

Value = TypeVar("Value")

_DRAWN_WITH = ("altair", "vl_convert", "PIL", "markdown_it", "jinja2", "markupsafe", "segno")
_DIGEST = 16  # bytes
MOST = 8
"""So many values of one name are kept: for the last texts of a few journals."""


def kept(name: str, make: Callable[[], Value], text: str = "") -> Value:
    """Give a value that rests on the program's own files and a text alone, made where it is not kept."""
    folder = cache_folder()
    if folder is None:
        return make()
    seen = hashlib.blake2b(text.encode("utf-8", "surrogatepass"), key=running_version(), digest_size=10)
    path = folder / f"{name}-{seen.hexdigest()}"
    try:
        data = path.read_bytes()
        if hashlib.blake2b(data[_DIGEST:], digest_size=_DIGEST).digest() == data[:_DIGEST]:
            value: Value = pickle.loads(data[_DIGEST:])  # noqa: S301 - see above
            return value
    except Exception:  # noqa: BLE001, S110 - whatever is wrong with it, it is made again
        pass
    value = make()
    _keep(folder, name, path.name, pickle.dumps(value, 5))
    return value


def _keep(folder: Path, name: str, file: str, packed: bytes) -> None:
    """Keep a value, and let go of all but the newest; a disk that refuses is no reason to fail."""
    from journal.commands.writing import write_file

    with contextlib.suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
        earlier = [*folder.glob(f"{name}-*"), *folder.glob(f".{name}-*")]
        for old in sorted(earlier, key=lambda one: one.stat().st_mtime_ns)[: -MOST + 1]:
            if old.name != file:
                old.unlink(missing_ok=True)
        write_file(folder / file, hashlib.blake2b(packed, digest_size=_DIGEST).digest() + packed)


def cache_folder() -> Path | None:
    """Give the user's cache folder for this program, or None where there is none."""
    home = Path.home() if os.environ.get("HOME") or os.name == "nt" else None
    if named := os.environ.get("XDG_CACHE_HOME"):
        base = Path(named)
    elif os.name == "nt" and (local := os.environ.get("LOCALAPPDATA")):
        base = Path(local)
    elif home is None:
        return None
    else:
        base = home / ("Library/Caches" if sys.platform == "darwin" else ".cache")
    return base / "middenbook" if base.is_absolute() else None


@cache
def running_version() -> bytes:
    """Give the version of the program that runs, whatever becomes of its files meanwhile."""
    return program_version()


def program_version() -> bytes:
    """Give a digest of the program's files and of what it draws with: nothing outlives what made it.

    A library is known by its first file's place, size and time: another version changes one of them.
    """
    package = str(Path(__file__).resolve().parent.parent)
    seen = hashlib.blake2b(digest_size=16)
    for path in files_below(package):
        if path.endswith((".py", ".yaml", ".html", ".css", ".xml", ".sql", ".js")):
            _add(seen, path)
    for name in _DRAWN_WITH:
        found = find_spec(name)
        if found is not None and found.origin is not None:
            _add(seen, found.origin)
    return seen.digest()


def _add(seen: hashlib.blake2b, path: str) -> None:
    with contextlib.suppress(OSError):  # gone meanwhile: then it is no part of what runs
        found = os.stat(path)  # noqa: PTH116 - asked of every file: a Path would double its cost
        seen.update(os.fsencode(path) + f" {found.st_size} {found.st_mtime_ns}\n".encode())
