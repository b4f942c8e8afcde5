"""What was drawn, rendered or resized once is remembered by its content, so that it need not be done again.

A memory is anything with ``get`` and ``put``.  Keys hold everything that the result rests on and nothing
else, so a memory may be thrown away, shared or lost at any time without a page coming out otherwise.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from typing import Protocol

from journal import __version__


class Memory(Protocol):
    """Bytes kept by key."""

    def get(self, key: str) -> bytes | None:
        """Give what was put under this key, or None."""

    def put(self, key: str, data: bytes) -> None:
        """Keep bytes under a key."""


class Recollection:
    """A memory for one publication only."""

    def __init__(self) -> None:
        self._kept: dict[str, bytes] = {}

    def get(self, key: str) -> bytes | None:
        """Give what was put under this key, or None."""
        return self._kept.get(key)

    def put(self, key: str, data: bytes) -> None:
        """Keep bytes under a key."""
        self._kept[key] = data


class Addition:
    """What is put while one task is done, above a memory that itself stays as it is."""

    def __init__(self, below: Memory) -> None:
        self.below = below
        self.new: dict[str, bytes] = {}

    def get(self, key: str) -> bytes | None:
        """Give what was put under this key, here or below, or None."""
        found = self.new.get(key)
        return self.below.get(key) if found is None else found

    def put(self, key: str, data: bytes) -> None:
        """Keep bytes under a key."""
        self.new[key] = data


def key_of(what: str, *parts: object) -> str:
    """Name a result by what kind it is and all it rests on: plain values, texts and bytes."""
    digest = hashlib.blake2b(digest_size=20)
    digest.update(f"{what} {__version__}".encode())
    for part in parts:
        data = part if isinstance(part, bytes) else plain(part).encode("utf-8", "surrogatepass")
        digest.update(len(data).to_bytes(8, "big"))
        digest.update(data)
    return f"{what}-{digest.hexdigest()}"


def plain(value: object) -> str:
    """Write a plain value so that equal values give equal text."""
    return (
        value
        if isinstance(value, str)
        else json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    )


def remembered(memory: Memory, key: str, make: Callable[[], bytes]) -> bytes:
    """Give what the memory holds under the key, else make and keep it."""
    found = memory.get(key)
    if found is None:
        found = make()
        memory.put(key, found)
    return found
