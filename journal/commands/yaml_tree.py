"""YAML text to a tree of plain values that know their place.

Read event by event: no tag is followed, no name of an anchor repeated, nothing is built but text.  What a
keeper's file has no use for (anchors, tags, several documents, depth beyond reason) is refused in a sentence.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from journal.measures.letters import holds_forbidden
from journal.notes.faults import Fault
from journal.notes.place import Place, Problem, problem
from journal.notes.tree import Mapping, Node, Scalar, Sequence

if TYPE_CHECKING:
    import yaml

DEEPEST = 20
LARGEST = 4_000_000  # bytes
_PLAIN_WORDS = (
    # what a parser says, and what it means to a keeper
    ("cannot start any token", "a tab, or a sign such as @ or %, stands where a word is to begin"),
    ("mapping values are not allowed", "a colon stands where no key can be"),
    ("could not find expected ':'", "a key has no colon behind it"),
    ("',' or ']'", "a list in brackets is not closed, or lacks a comma"),
    ("',' or '}'", "keys in braces are not closed, or lack a comma"),
    ("did not find expected key", "a line is not indented like the lines around it"),
    ("expected '-'", "a line is not indented like the lines around it"),
    ("unexpected end of stream", "a quotation mark is never closed"),
    ("control characters", "it holds a control character"),
)


class TreeProblem(Exception):
    """Text that is no tree: the problem says where and why."""

    def __init__(self, found: Problem) -> None:
        super().__init__(found.sentence)
        self.problem = found


def read_tree(text: str, file: str) -> Node | None:
    """Read one YAML document; None where it is empty.  Raises TreeProblem."""
    import yaml

    if len(text) > LARGEST:
        raise _refused(
            file, 1, 1, f"it is larger than {LARGEST // 1_000_000} MB", "take out what does not belong there"
        )
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        return _Builder(file).build(yaml.parse(text, Loader=loader))
    except yaml.MarkedYAMLError as wrong:
        mark = wrong.problem_mark or wrong.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark is not None else (1, 1)
        said = wrong.problem or "it is no YAML"
        reason = next((plain for words, plain in _PLAIN_WORDS if words in said), said)
        raise _refused(file, line, column, reason, _way(reason)) from None
    except yaml.reader.ReaderError as wrong:
        before = text[: max(wrong.position, 0)] if isinstance(wrong.position, int) else ""
        line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
        raise _refused(
            file, line, column, "it holds a character that YAML does not allow", "take it out"
        ) from None
    except yaml.YAMLError as wrong:
        raise _refused(
            file, 1, 1, str(wrong).splitlines()[0], "write keys and values, one to a line"
        ) from None


def _way(reason: str) -> str:
    if "tab" in reason:
        return "indent with spaces, and put words that begin with a sign in quotation marks"
    if "indented" in reason:
        return "let lines of one level begin in one column"
    return "look at this line and the one above it; words with : or # in them want quotation marks"


def _refused(file: str, line: int, column: int, reason: str, way: str) -> TreeProblem:
    return TreeProblem(problem(Fault.YAML, Place(file, line, column), reason, reason=reason, way=way))


class _Builder:
    """Builds the tree with a stack of its own, so that depth is a sentence and no crash."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.stack: list[tuple[Place, list[Node], dict[str, int] | None]] = []
        self.root: Node | None = None
        self.documents = 0

    def build(self, events: Iterable[yaml.Event]) -> Node | None:
        """Build from the events of the parser."""
        import yaml

        for event in events:
            if isinstance(event, yaml.ScalarEvent):
                self._check(event, event.tag)
                if holds_forbidden(event.value):
                    raise self._wrong(event, "it holds a sign that no page can show", "take it out")
                place = self._place(event)
                self._add(Scalar(event.value, place, event.style in ("'", '"')), place)
            elif isinstance(event, yaml.CollectionStartEvent):
                self._check(event, event.tag)
                self._open(event, is_mapping=isinstance(event, yaml.MappingStartEvent))
            elif isinstance(event, yaml.CollectionEndEvent):
                self._close()
            elif isinstance(event, yaml.AliasEvent):
                raise self._wrong(event, "an alias (*) repeats what stands elsewhere", "write the value out")
            elif isinstance(event, yaml.DocumentStartEvent):
                self.documents += 1
                if self.documents > 1:
                    raise self._wrong(event, "a second document begins", "take the line of dashes out")
        return self.root

    def _place(self, event: yaml.Event) -> Place:
        mark = event.start_mark
        return Place(self.file, 1, 1) if mark is None else Place(self.file, mark.line + 1, mark.column + 1)

    def _wrong(self, event: yaml.Event, reason: str, way: str) -> TreeProblem:
        place = self._place(event)
        return _refused(self.file, place.line, place.column, reason, way)

    def _check(self, event: yaml.NodeEvent, tag: str | None) -> None:
        if event.anchor is not None:
            raise self._wrong(event, "an anchor (&) names a value", "write the value without it")
        if tag is not None and tag != "!":
            raise self._wrong(event, "a tag (!) asks for more than words", "write the value without it")

    def _open(self, event: yaml.Event, *, is_mapping: bool) -> None:
        if len(self.stack) >= DEEPEST:
            raise self._wrong(event, f"it is nested more than {DEEPEST} deep", "write it flatter")
        place = self._place(event)
        if is_mapping and self._wants_key():
            raise self._wrong(event, "keys are words, not braces", "write a word and a colon")
        self.stack.append((place, [], {} if is_mapping else None))

    def _wants_key(self) -> bool:
        return bool(self.stack) and self.stack[-1][2] is not None and len(self.stack[-1][1]) % 2 == 0

    def _close(self) -> None:
        place, nodes, keys = self.stack.pop()
        if keys is None:
            self._add(Sequence(tuple(nodes), place), place)
            return
        pairs = tuple(zip(nodes[::2], nodes[1::2], strict=True))
        self._add(Mapping(pairs, place), place)  # type: ignore[arg-type]  # keys were checked to be scalars

    def _add(self, node: Node, place: Place) -> None:
        if not self.stack:
            self.root = node
            return
        _, nodes, keys = self.stack[-1]
        if keys is not None and len(nodes) % 2 == 0:
            if not isinstance(node, Scalar):
                raise _refused(
                    self.file,
                    place.line,
                    place.column,
                    "keys are words, not lists",
                    "write a word and a colon",
                )
            if node.text in keys:
                found = problem(Fault.DUPLICATE_KEY, place, node.text, line=keys[node.text])
                raise TreeProblem(found)
            keys[node.text] = place.line
        nodes.append(node)
