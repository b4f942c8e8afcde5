"""Values that are packed as a call of their class with their fields: small, and quick to unpack.

Without it every unpacked value of a long journal would be filled field by field in Python.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from operator import attrgetter
from typing import Any, TypeVar

T = TypeVar("T")


def packed_by_fields(kind: type[T]) -> type[T]:
    """Let values of a dataclass be packed as (class, fields in order)."""
    names = [field.name for field in fields(kind)]  # type: ignore[arg-type]  # a dataclass is asked for
    get: Callable[[Any], Any] = attrgetter(*names)

    def reduce(value: T) -> tuple[type[T], tuple[Any, ...]]:
        found = get(value)
        return kind, found if len(names) > 1 else (found,)

    kind.__reduce__ = reduce  # type: ignore[method-assign,assignment]  # this is what a decorator of classes does
    return kind
