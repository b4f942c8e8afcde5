"""The shipped reference files as trees, for the tests of the reference: read with PyYAML and nothing else."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import yaml

from journal.notes.place import Place
from journal.notes.tree import Mapping, Node, Scalar, Sequence

REFERENCE = Path(__file__).resolve().parent.parent / "journal" / "reference"
DATA = Path(__file__).resolve().parent / "data" / "reference"


@cache
def tree(name: str) -> Mapping:
    """The tree of one file of journal/reference."""
    with (REFERENCE / name).open(encoding="utf-8") as file:
        node = yaml.compose(file, yaml.CSafeLoader)
    assert node is not None, name
    found = _tree(node, name)
    assert isinstance(found, Mapping), name
    return found


def _tree(node: yaml.Node, name: str) -> Node:
    place = Place(name, node.start_mark.line + 1, node.start_mark.column + 1)
    if isinstance(node, yaml.ScalarNode):
        return Scalar(node.value, place, quoted=node.style is not None)
    if isinstance(node, yaml.SequenceNode):
        return Sequence(tuple(_tree(item, name) for item in node.value), place)
    keys = [key.value for key, _ in node.value]
    assert len(keys) == len(set(keys)), f"{name}: a key stands twice in {keys}"
    return Mapping(tuple((_scalar(key, name), _tree(value, name)) for key, value in node.value), place)


def _scalar(node: yaml.Node, name: str) -> Scalar:
    found = _tree(node, name)
    assert isinstance(found, Scalar), name
    return found


def mappings(node: Node) -> Iterator[Mapping]:
    """Every mapping in a tree, itself included."""
    if isinstance(node, Mapping):
        yield node
        for _, child in node.pairs:
            yield from mappings(child)
    elif isinstance(node, Sequence):
        for child in node.items:
            yield from mappings(child)


def texts(node: Node | None) -> list[str]:
    """The words of a list, or nothing."""
    return (
        [item.text for item in node.items if isinstance(item, Scalar)] if isinstance(node, Sequence) else []
    )


def text(node: Node | None) -> str:
    """One word, or nothing."""
    return node.text if isinstance(node, Scalar) else ""
