"""Where a word stands, and what may be wrong with it.

Every finding about the keeper's text is a ``Problem``: made once where it is found and carried along
as a value, so that any later stage can still point at the word.  All kinds of finding are one enum.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A position in the keeper's text: file relative to ``entries/``, line and column from 1."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


class Fault(Enum):
    """All findings: a short code, the sentence with its blanks, and the way out (with the same blanks).

    A fault whose ``remark`` is true leaves the totals right: it is listed but never stops a publication.
    """

    # The rows are drawn into the README; keep sentences whole and free of markup.
    NO_AMOUNT = ("no-amount", 'an amount is expected at "{words}"', "write a number and a unit, as in 2 lb 3 oz or 5 eggshells")

    def __init__(self, code: str, sentence: str, advice: str, remark: bool = False) -> None:  # noqa: FBT001, FBT002 - rows of a table
        self.code = code
        self.sentence = sentence
        self.advice = advice
        self.remark = remark


@dataclass(frozen=True, slots=True)
class Problem:
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
    filled = {"words": words, **blanks}
    return Problem(fault, place, words, fault.sentence.format(**filled), fault.advice.format(**filled), source)
