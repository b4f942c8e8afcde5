"""Where a word stands, and what may be wrong with it.

Every finding about the keeper's text is a ``Problem``: made once where it is found and carried along
as a value, so that any later stage can still point at the word.  All kinds of finding are one enum,
``faults.Fault``.
"""

from __future__ import annotations

from typing import NamedTuple

from journal.notes.faults import Fault
from journal.notes.packing import packed_by_fields

__all__ = ["Fault", "Place", "Problem", "problem", "shortened"]


@packed_by_fields
class Place(NamedTuple):
    """A position in the keeper's text: file relative to ``entries/``, line and column from 1."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@packed_by_fields
class Problem(NamedTuple):
    """One finding: what, where, at which words, in whole sentences.

    ``source`` is the line as the keeper wrote it, so that it can be shown with a caret.
    """

    fault: Fault
    place: Place
    words: str
    sentence: str
    advice: str
    source: str = ""

    @property
    def is_remark(self) -> bool:
        """Whether it is only a remark, which never stops a publication."""
        return self.fault.remark


def problem(fault: Fault, place: Place, words: str, source: str = "", **blanks: object) -> Problem:
    """Make a problem: the fault's sentence and advice with their blanks filled."""
    filled = {"words": shortened(words), **blanks}
    return Problem(
        fault, place, words, fault.sentence.format(**filled), fault.advice.format(**filled), source
    )


def shortened(words: str, width: int = 80) -> str:
    """Give words that fit into a sentence: one line, and no longer than ``width``."""
    line = " ".join(words[: 4 * width].split())
    return line if len(line) <= width else line[: width - 1].rstrip() + "…"
