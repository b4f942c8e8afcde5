"""Values that are packed as a call of their class with their fields: small, and quick to unpack.

Without it every unpacked value of a long journal would be filled field by field in Python.
"""

from __future__ import annotations

import copyreg
from collections.abc import Callable
from dataclasses import fields
from operator import attrgetter
from typing import Any, TypeVar

T = TypeVar("T")


def packed_by_fields(kind: type[T]) -> type[T]:
    """Let values of a dataclass or a named tuple be packed as (class, fields in order)."""
    get: Callable[[Any], tuple[Any, ...]] = tuple
    if not issubclass(kind, tuple):
        names = [field.name for field in fields(kind)]  # type: ignore[arg-type]  # a dataclass is asked for
        get = attrgetter(*names) if len(names) > 1 else lambda value: (getattr(value, names[0]),)

    def reduce(value: Any) -> tuple[type[T], tuple[Any, ...]]:  # noqa: ANN401 - one of the class
        return kind, get(value)

    # Registered so, it is found before the ways that a class has by itself, which cost more than the packing.
    copyreg.pickle(kind, reduce)
    return kind
