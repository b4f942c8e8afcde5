"""Nothing is tidied that the end of the program tidies anyway.

Looking for garbage while much is made and little thrown away costs a third of the time; taking a long journal
apart again, object by object, another tenth.
"""

from __future__ import annotations

import contextlib
import gc
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TypeVar

Value = TypeVar("Value")


_held: list[object] | None = None


def to_the_end() -> None:
    """Leave the collector off until the program ends, as it soon will."""
    global _held  # noqa: PLW0603 - there is one end
    gc.disable()
    _held = []


def held(value: Value) -> Value:
    """Give a value, and keep it whole until the program ends, if that is soon."""
    if _held is not None:
        _held.append(value)
    return value


def leave_if_held(status: int) -> None:
    """End the program without taking apart what is held, if anything is; all files are to be closed."""
    if _held is None:
        return
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError, AttributeError):
            stream.flush()
    os._exit(status)


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
