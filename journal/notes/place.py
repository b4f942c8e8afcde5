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

    # Slips: what was read well but is probably not what was meant. All are remarks.
    TEN_TIMES = (
        "ten-times",
        '{amount} of {material} is {times} times the usual for "{verb}", which is about {usual}',
        "check the number and its unit; if it is right, say so at the end of the line: (it is right)",
        True,
    )
    FUTURE_DATE = (
        "future-date",
        "{date} is still to come: today is {today}",
        "check the year and the month; if it is right, say so at the end of the line: (it is right)",
        True,
    )
    SAME_LINE_TWICE = (
        "same-line-twice",
        "the same line stands at {other} for the same day",
        "take one of the two out, or say at the end of the line: (it is right)",
        True,
    )
    HARVEST_TOO_BIG = (
        "harvest-too-big",
        "{amount} harvested from {bin} brings what came out to more than the {fed} that went in",
        "check the number and the bin; if older castings were in it, say at the end of the line: (it is right)",
        True,
    )
    BIN_NOT_STARTED = (
        "bin-not-started",
        "{bin} is used on {date}, before it was started on {started}",
        "check the bin and the date, or the bin's started in household.yaml; if it is right: (it is right)",
        True,
    )
    BIN_ENDED = (
        "bin-ended",
        "{bin} is used on {date}, after it ended on {ended}",
        "check the bin and the date, or the bin's ended in household.yaml; if it is right: (it is right)",
        True,
    )
    GIVER_NEVER_GIVES = (
        "giver-never-gives",
        "{giver} stands in household.yaml but has not given or received anything",
        "write down what it gave, or take it out of household.yaml",
        True,
    )
    LONG_ON_HAND = (
        "long-on-hand",
        "{amount} of {material} from this line has been on hand for {days} days",
        "was it used under another name? if it still lies there, say at the end of the line: (it is right)",
        True,
    )
    BATCH_OVERDRAWN = (
        "batch-overdrawn",
        "{amount} more of {batch} is used than was left of it ({made} made)",
        "check the amounts and the batch's name; if the batch was bigger: (it is right)",
        True,
    )

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
