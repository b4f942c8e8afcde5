"""A YAML document as plain values that remember where they stand.

The reader of files turns YAML into this tree; the pure code that gives it a meaning never sees YAML.
Scalars keep their text as written, so ``12:30`` stays itself and ``2.50`` keeps its digits.
"""

from __future__ import annotations

from typing import NamedTuple

from journal.notes.place import Place


class Scalar(NamedTuple):
    """A word or phrase.  ``quoted`` tells ``"no"`` from ``no``; an empty value is the empty text."""

    text: str
    place: Place
    quoted: bool = False


class Sequence(NamedTuple):
    """A list of nodes."""

    items: tuple[Node, ...]
    place: Place


class Mapping(NamedTuple):
    """Keys to nodes, in the order written; keys are scalars and unique."""

    pairs: tuple[tuple[Scalar, Node], ...]
    place: Place

    def get(self, key: str) -> Node | None:
        """Give the node under a key, or None."""
        return next((node for name, node in self.pairs if name.text == key), None)


Node = Scalar | Sequence | Mapping
