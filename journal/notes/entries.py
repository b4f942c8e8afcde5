"""Text to dated entries, list items and prose, by the few rules of Markdown that a diary needs.

The rules: a heading with a date opens an entry.  A list item begins with ``-``, ``*`` or ``+`` and a space;
lines that follow it without a blank line belong to it; an item indented by two or more behind another's
mark lies inside that one.  A comment is nothing, in a line or over many.  What a code fence holds, and what
is indented by four or more outside a list, is never read.  All else is prose.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from journal.measures.letters import holds_forbidden, without_forbidden
from journal.notes.comments import strip_comments
from journal.notes.dates import DateProblem, front_date, inner_date, read_date, runs_on
from journal.notes.faults import Fault
from journal.notes.place import Place, Problem, problem
from journal.notes.verbs import FIRST_WORDS


@dataclass(slots=True)
class Item:
    """One list item: its text begins at ``line`` and ``column``, from 1; its mark is indented by ``indent``.

    ``more`` are the lines that continue it: line, column, text, and whether it stands at the margin.
    """

    line: int
    column: int
    indent: int
    text: str
    end: int  # the last of its own lines
    is_open: bool = False  # whether it begins with a box that is not ticked
    more: list[tuple[int, int, str, bool]] | None = None
    children: list[Item] | None = None


@dataclass(slots=True)
class Passage:
    """Lines of prose from ``start`` to ``end``, both counted in; ``nested`` inside a list item."""

    start: int
    end: int
    nested: bool = False


@dataclass(slots=True)
class Draft:
    """An entry before its items are read.  Without a date, ``why`` says why there is none."""

    line: int
    column: int
    date: dt.date | None = None
    title: str = ""
    private: bool = False
    why: str = ""
    blocks: list[Item | Passage] = field(default_factory=list)
    suspects: list[tuple[int, Fault]] = field(
        default_factory=list
    )  # lines that look like records and are none


@dataclass(slots=True)
class Scanned:
    """One file: its lines as written and without comments, its entries, what is wrong with its outline."""

    file: str
    raw: list[str]
    lines: list[str]
    gaps: dict[int, list[tuple[int, int]]]
    drafts: list[Draft]
    problems: list[Problem]
    items: int = 0

    def place(self, line: int, column: int) -> Place:
        """Give the place in the keeper's own text of a column in the text without comments."""
        for start, length in self.gaps.get(line, ()):
            if column - 1 >= start:
                column += length
        return Place(self.file, line, column)


_HEADING = re.compile(r" {0,3}#{1,6}[ \t]+(.*?)(?:[ \t]+#+)?[ \t]*$")
_SETEXT = re.compile(r" {0,3}(?:=+|-{2,})[ \t]*$")
_BREAK = re.compile(r"[ \t]*([-*_])(?:[ \t]*\1){2,}[ \t]*$")
_FENCE = re.compile(r"[ \t]*(`{3,}(?=[^`]*$)|~{3,})")
_MARKS = re.compile(r"(?:[-*+][ \t]+)+(?=[-*+][ \t])")
_LOOSE_MARK = re.compile(r"[ \t>]*(?:[-*+–—•·▪◦]|\d{1,9}[.)])?[ \t]*([A-Za-z-]+)")
_BOX = re.compile(r"\[([ xX✓✔])\]\s+")
_FILE_DATE = re.compile(r"(\d{4}-\d{2}-\d{2})(?!\d)[\s_,–-]*(.*)")
_PRIVATE = re.compile(r"[ \t]*[(\[][ \t]*private[ \t]*[)\]][ \t]*", re.IGNORECASE)
_TITLE_MARKS = " \t:,;.–—-*_"
_STRESS = re.compile(r"[*_]+")
_CODE = 4  # columns
_DEEPEST = 40  # items inside one another; what is indented further lies beside the last


def stretches(scanned: Scanned, draft: Draft) -> Iterator[str]:
    """Give the stretches of an entry's prose as they are if all of its items are records."""
    lines: list[str] = []
    last = 0
    for block in draft.blocks:
        if isinstance(block, Passage):
            if lines and block.start > last + 1:
                lines.append("")
            lines += scanned.lines[block.start - 1 : block.end]
            last = block.end
        elif lines:
            yield "\n".join(lines).strip("\n")
            lines = []
    if lines:
        yield "\n".join(lines).strip("\n")


def scan(file: str, text: str) -> Scanned:
    """Take a file apart; never raises, whatever the text."""
    text = text.replace("\r\n", "\n").replace("\r", "\n").removeprefix("\ufeff")
    if holds_forbidden(text):
        text = without_forbidden(text)
    raw = text.split("\n")
    lines, unclosed = raw, None
    gaps: dict[int, list[tuple[int, int]]] = {}
    if "<!--" in text:
        lines, gaps, unclosed = strip_comments(raw)
    scanned = Scanned(file, raw, lines, gaps, [Draft(1, 1)], [])
    if unclosed is not None:
        line, column = unclosed
        place = Place(file, line, column)
        scanned.problems.append(
            problem(Fault.OPEN_COMMENT, place, raw[line - 1][column - 1 :], raw[line - 1])
        )
    _Scanner(scanned).run()
    _date_by_name(scanned)
    return scanned


class _Scanner:
    """One walk over the lines of a file."""

    def __init__(self, scanned: Scanned) -> None:
        self.scanned = scanned
        self.draft = scanned.drafts[0]
        self.stack: list[Item] = []  # the items that are open, outermost first
        self.item: Item | None = None  # the item whose text the next line may continue
        self.paragraph = False  # whether the line before is prose that this one may continue
        self.fence = ""

    def run(self) -> None:
        number = 0
        for line in self.scanned.lines:
            number += 1
            if self.fence:
                self._in_fence(line, number)
                continue
            text = line.lstrip(" \t")
            if not text or text.isspace():
                self.item, self.paragraph = None, False
                continue
            first = text[0]
            if first in "-*+":
                if text is line and line[1:2] == " " and line[2:3].isalnum():
                    self._add_plain_item(line, number)
                else:
                    self._marked(line, text, number)
            elif first == "#" and self._headed(line, text, number):
                pass
            elif first in "`~" and (fence := _FENCE.match(line)) is not None and self._may_fence(line, text):
                self.fence = fence[1]
                self.fence_line = number
                self._prose(number, nested=bool(self.stack))
                self.paragraph = False
            elif first == "=" and _SETEXT.match(line):
                self._underline(line, number)
            else:
                self._words(line, text, number)
        if self.fence:
            line = self.scanned.lines[self.fence_line - 1]
            place = self.scanned.place(self.fence_line, line.find(self.fence) + 1)
            source = self.scanned.raw[self.fence_line - 1]
            self.scanned.problems.append(problem(Fault.OPEN_FENCE, place, self.fence, source))

    def _in_fence(self, line: str, number: int) -> None:
        text = line.strip()
        if text.startswith(self.fence) and not text.strip(self.fence[0]):
            self.fence = ""
        self._prose(number, nested=bool(self.stack))

    def _may_fence(self, line: str, text: str) -> bool:
        if self.stack:
            return True
        self.item = None
        return _width(line, text) < _CODE

    def _marked(self, line: str, text: str, number: int) -> None:
        """Take a line that begins with a list mark: an item, a break, or a heading's rule."""
        if _BREAK.match(line):
            self._underline(line, number)
        elif len(text) > 1 and text[1] in " \t":
            indent = 0 if text is line else _width(line, text)
            if indent >= _CODE and not self.stack:
                self._words(line, text, number)
            else:
                self._add_item(line, text, indent, number)
        elif len(text) == 1:  # an item without words
            self._prose(number, nested=bool(self.stack))
            self.item = None
        elif _SETEXT.match(line):
            self._underline(line, number)
        else:
            self._words(line, text, number)

    def _add_plain_item(self, line: str, number: int) -> None:
        """Take an item at the margin whose words follow its mark at once, as nearly all records do."""
        item = Item(number, 3, 0, line[2:].rstrip(), number)
        self.scanned.items += 1
        self.draft.blocks.append(item)
        self.stack[:] = [item]
        self.item, self.paragraph = item, False

    def _add_item(self, line: str, text: str, indent: int, number: int) -> None:
        stack = self.stack
        while stack and indent < stack[-1].indent + 2:
            stack.pop()
        del stack[_DEEPEST:]
        inner = _MARKS.match(text)
        words = text[(inner.end() if inner else 0) + 1 :].strip()
        column = line.find(words, len(line) - len(text) + 1) + 1 if words else len(line)
        item = Item(number, column, indent, words, number)
        if words[:1] == "[" and (box := _BOX.match(words)) is not None:
            item.is_open = box[1] == " "
            item.text, item.column = words[box.end() :], column + box.end()
        self.scanned.items += 1
        if stack:
            parent = stack[-1]
            if parent.children is None:
                parent.children = []
            parent.children.append(item)
        else:
            self.draft.blocks.append(item)
        stack.append(item)
        self.item, self.paragraph = item, False

    def _headed(self, line: str, text: str, number: int) -> bool:
        """Take a line that is a heading, or a date that only lacks the space behind its marks to be one."""
        heading = _HEADING.match(line)
        if heading is not None:
            self._heading(heading, number)
            return True
        dated = front_date(text.lstrip("#"))
        if dated is None:
            return False
        self.stack.clear()
        self.item, self.paragraph = None, False
        self._find(Fault.DATE_ALONE, number, len(line) - len(text) + 1, text.rstrip(), iso=dated[1])
        self._prose(number)
        return True

    def _heading(self, heading: re.Match[str], number: int) -> None:
        self.stack.clear()
        self.item, self.paragraph = None, False
        stress = _STRESS.match(heading[1])
        start = stress.end() if stress is not None else 0
        if not self._dated(heading[1][start:], number, heading.start(1) + start + 1):
            self._date_inside(heading, number)
            self._prose(number)

    def _date_inside(self, heading: re.Match[str], number: int) -> None:
        """Remark on a date that a heading holds without beginning with it."""
        inside = inner_date(heading[1])
        if inside is None:
            return
        start, words, iso = inside
        if self.draft is self.scanned.drafts[0] and words != iso:  # a file's title may well speak of a date
            self.draft.suspects.append((number, Fault.DATE_INSIDE))
        else:
            self._find(Fault.DATE_INSIDE, number, heading.start(1) + start + 1, words, iso=iso)

    def _dated(self, words: str, number: int, column: int, *, is_underlined: bool = False) -> bool:
        """Open an entry where a heading's words begin with a date; words that mean one and fail do so too."""
        day, why, end = None, "", 0
        try:
            found = read_date(words, 0)
            if found is None:
                return False
            end, day = found
            if runs_on(words, end):
                return False
        except DateProblem as wrong:
            if is_underlined and wrong.fault is Fault.DATE_WITHOUT_YEAR:
                return False
            self._find(wrong.fault, number, column + wrong.start, wrong.words, **wrong.blanks)
            end = wrong.start + len(wrong.words)
            day, why = wrong.day, f"the heading on line {number} names no day"
        title, private = _title(words[end:])
        self.draft = Draft(number, column, day, title, private, why)
        self.scanned.drafts.append(self.draft)
        return True

    def _find(self, fault: Fault, number: int, column: int, words: str, **blanks: str) -> None:
        place = self.scanned.place(number, column)
        self.scanned.problems.append(problem(fault, place, words, self.scanned.raw[number - 1], **blanks))

    def _underline(self, line: str, number: int) -> None:
        """Take a rule: below a line of words it makes a heading of it, which may be dated."""
        text = self.scanned.lines[number - 2].strip() if number > 1 else ""
        item, draft = self.item, self.draft
        last = draft.blocks[-1] if draft.blocks else None
        if text and _SETEXT.match(line):
            column = self.scanned.lines[number - 2].find(text) + 1
            if item is not None and item.more and self._dated(text, number - 1, column, is_underlined=True):
                item.more = item.more[:-1] or None
                item.end -= 1
                self.item = None
                self.stack.clear()
                return
            if (
                self.paragraph
                and isinstance(last, Passage)
                and self._dated(text, number - 1, column, is_underlined=True)
            ):
                draft.suspects = [found for found in draft.suspects if found[0] != number - 1]
                last.end -= 1
                if last.end < last.start:
                    draft.blocks.pop()
                self.paragraph = False
                return
        self.stack.clear()
        self.item, self.paragraph = None, False
        self._prose(number)

    def _words(self, line: str, text: str, number: int) -> None:
        """Take a line of words: more of an item, more of a paragraph, code, or a new paragraph."""
        indent = 0 if text is line else _width(line, text)
        item = self.item
        if item is not None and text[0] != ">":
            if item.more is None:
                item.more = []
            item.more.append((number, len(line) - len(text) + 1, text.rstrip(), indent < item.indent + 2))
            item.end = number
            return
        while self.stack and indent < self.stack[-1].indent + 2:
            self.stack.pop()
        is_code = indent >= _CODE and not self.stack and not self.paragraph
        loose = _LOOSE_MARK.match(line)
        if loose is not None and loose[1].lower() in FIRST_WORDS:
            self.draft.suspects.append((number, Fault.IN_CODE if is_code else Fault.NO_DASH))
        elif not (self.paragraph or is_code) and front_date(text) is not None:
            self.draft.suspects.append((number, Fault.DATE_ALONE))
        self.item = None
        self._prose(number, nested=bool(self.stack))
        self.paragraph = not is_code

    def _prose(self, number: int, *, nested: bool = False) -> None:
        blocks = self.draft.blocks
        last = blocks[-1] if blocks else None
        if isinstance(last, Passage) and last.nested == nested:
            last.end = number
        else:
            blocks.append(Passage(number, number, nested))


def _width(line: str, text: str) -> int:
    """Give the columns in front of the text, a tab reaching to the next multiple of four."""
    return len(line[: len(line) - len(text)].expandtabs(4))


def _title(words: str) -> tuple[str, bool]:
    private = _PRIVATE.search(words) is not None
    if private:
        words = _PRIVATE.sub(" ", words)
    return words.strip().lstrip(_TITLE_MARKS).rstrip(" \t*_"), private


def _date_by_name(scanned: Scanned) -> None:
    """Give the date of the file's name to a file without a dated heading."""
    first = scanned.drafts[0]
    name = scanned.file.rpartition("/")[2].rpartition(".")[0]
    found = _FILE_DATE.match(name)
    if len(scanned.drafts) > 1 or found is None:
        first.why = "no heading above it has one"
        return
    try:
        read = read_date(found[1], 0)
    except DateProblem as wrong:
        place = Place(scanned.file, 1, 1)
        scanned.problems.append(problem(wrong.fault, place, wrong.words, scanned.raw[0], **wrong.blanks))
        first.why = "the file's name has none that exists"
        return
    if read is None:
        return
    first.date = read[1]
    first.title, first.private = _title(found[2])
    if not first.private:
        first.private = any(
            _PRIVATE.search(line) for line in scanned.lines if line.startswith("#") and _HEADING.match(line)
        )
