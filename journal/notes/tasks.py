"""Work in parts that need nothing of one another: they can be done in any order, or at the same time."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Protocol, TypeVar

Made = TypeVar("Made")


class Divided(Protocol):
    """Begins on tasks when it is called, and gives what each of them made, in any order."""

    def __call__(self, tasks: Sequence[Callable[[], Made]]) -> Iterable[Made]:
        """Begin, and give every result once."""


def one_by_one(tasks: Sequence[Callable[[], Made]]) -> Iterator[Made]:
    """Do tasks in their order, each when its result is asked for."""
    return (task() for task in tasks)


def in_groups(things: Sequence[Made], most: int) -> list[Sequence[Made]]:
    """Cut things into groups of at most so many, in their order."""
    return [things[at : at + most] for at in range(0, len(things), most)]
