"""Garbage is not looked for while much is made and little thrown away: looking costs a third of the time."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


def to_the_end() -> None:
    """Leave the collector off until the program ends, as it soon will."""
    gc.disable()


@contextmanager
def without_collecting() -> Iterator[None]:
    """Leave the collector off for a while; as a decorator, for one call."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()
