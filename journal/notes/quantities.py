"""How much: numbers with their units, compounds, ranges, household measures and counts.

Every function reads ``text`` at a position and gives the position behind what it read and the value, or
None where nothing of the kind begins there; it raises ``Unread`` where it begins and cannot be read.

Doubt (JCGM 100:2008): a written number is known to half of its last digit, a compound amount to half of
the last digit of its smallest unit, as a rectangular distribution (4.3.7).  Whole counts are exact.
"""

from __future__ import annotations

import re

from journal.measures.numbers import Number, NumberProblem, read_number
from journal.measures.units import Unit, read_unit
from journal.notes.faults import Fault
from journal.notes.known import Known, Stuff
from journal.notes.parts import Quantity


class Unread(Exception):
    """What cannot be read: the fault, where its words begin, the words, and what fills its other blanks."""

    def __init__(self, fault: Fault, start: int, words: str, **blanks: str) -> None:
        super().__init__(words)
        self.fault = fault
        self.start = start
        self.words = words
        self.blanks = blanks
        self.name_end = 0  # where a name that is known ends, when more words follow it

    @property
    def is_behind_sentence(self) -> bool:
        """Whether the words make a whole sentence, and only what stands behind it cannot be kept."""
        return self.fault in _BEHIND_SENTENCE


_BEHIND_SENTENCE = frozenset({
    Fault.SECOND_AMOUNT, Fault.SECOND_SENTENCE, Fault.BARE_DATE, Fault.IN_REMARK, Fault.READING_NOT_TAKEN
})  # fmt: skip

_ROUNDING = 1e-9  # 16 oz is not less than 1 lb
_SPACE = re.compile(r"\s*")
_OF = re.compile(r"\s+of(?:\s+|$)|\s*", re.IGNORECASE)
_COMPOUND = re.compile(r"(?:\s*,)?\s*(?:and\s+)?", re.IGNORECASE)
_TO = re.compile(r"\s*(?:-|–|—|to\s|or\s)\s*", re.IGNORECASE)
_MINUS = re.compile(r"[-−–]\s*(?=[\d.¼½¾])")
_DIGIT = re.compile(
    r"[~≈.]?\s*[\d¼½¾⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|(?:about|roughly|around|approx\w*\.?|circa|ca\.?)\s+\d", re.IGNORECASE
)
BOUNDARY = re.compile(
    r"\s*(?:$|[,;:.()!?&+—–]|-\s|(?:to|from|on|onto|into|with|for|out\s+of|and|plus)(?![\w'’-]))",
    re.IGNORECASE,
)
_PHRASE = re.compile(
    r"\s*+((?:[^\s.,;:()—]++|\.(?!\s|$)"
    r"|\s++(?!$|[,;:()—]|\.(?:\s|$)|-\s|(?:to|from|on|onto|into|with|for|out\s+of|and|plus)(?:\s|$)))*+)",
    re.IGNORECASE,
)

_LONGEST = 80  # signs of a name that is looked at for a shortened word
_SHORTENED = re.compile(
    r"(?:.*\s)?(?:St|Mr|Mrs|Ms|Dr|Mt|No|Prof)|(?:(?:Mr|Mrs|Ms|Dr)\.?\s)?[A-Z](?:\.\s?[A-Z])*", re.DOTALL
)


def phrase_at(text: str, position: int) -> tuple[int, str]:
    """Read words up to where a name must have ended: where they begin, and the words."""
    found = _PHRASE.match(text, position)
    if found is None or not found[1]:
        return _SPACE.match(text, position).end(), text[position:].strip()  # type: ignore[union-attr]  # always matches
    end = found.end(1)
    while (
        text[end : end + 1] == "."
        and end - found.start(1) <= _LONGEST
        and _SHORTENED.fullmatch(text, found.start(1), end)
    ):
        more = _PHRASE.match(text, end + 1)
        if more is None or not more[1]:
            break
        end = more.end(1)
    return found.start(1), text[found.start(1) : end]


def read_number_at(
    known: Known, text: str, position: int, *, zero: bool = False
) -> tuple[int, Number] | None:
    """Read a number as this journal writes them; raises Unread where it can be read in two ways.

    It also raises Unread for what is less than nothing, and for nothing unless ``zero`` allows it.
    """
    try:
        found = read_number(text, position, comma=known.comma, about=known.about)
    except NumberProblem as problem:
        fault = Fault.DECIMAL_COMMA if problem.comma and not known.comma else Fault.NUMBER
        raise Unread(fault, position, phrase_at(text, position)[1], reason=str(problem)) from None
    if found is None and _MINUS.match(text, position):
        raise Unread(Fault.NEGATIVE, position, phrase_at(text, position)[1])
    if found is not None and found[1].value <= 0 and not zero:
        raise _nothing(text, position)
    return found


def _nothing(text: str, position: int) -> Unread:
    return Unread(Fault.ZERO, position, phrase_at(text, position)[1])


def read_quantity(known: Known, text: str, position: int) -> tuple[int, Quantity] | None:
    """Read how much: a number with its unit, a compound, a household measure, or a count."""
    found = read_number_at(known, text, position, zero=True)
    if found is None:
        return None
    number_end, number = found
    at = _SPACE.match(text, number_end).end()  # type: ignore[union-attr]  # always matches
    container = known.containers.match(text, at)
    unit = read_unit(text, at)
    if unit is not None and unit[1].kind == "area":
        unit = None
    longest = max(container[0] if container else 0, unit[0] if unit else 0)
    thing = known.materials.match(text, at)
    is_thing = (
        thing is not None and thing[0] > longest and not _is_weighed(known, text, container)
    ) or _is_itself(known, text, container, thing)
    if (
        unit is not None
        and unit[0] == longest
        and not is_thing
        and (container is None or container[0] < longest)
    ):
        return _read_measured(known, text, position, unit, number)
    if number.value <= 0:
        raise _nothing(text, position)
    if container is not None and container[0] == longest and not is_thing:
        return longest, Quantity("container", number, text[position:longest], container[1])
    return number_end, Quantity("count", number, text[position:number_end])


def _is_itself(
    known: Known, text: str, container: tuple[int, str] | None, thing: tuple[int, Stuff] | None
) -> bool:
    """Whether a measure is what is counted, with nothing in it: "3 cans" where cans are a material too.

    One that was weighed may have been weighed empty or full, so nobody can tell.
    """
    if container is None or thing is None or thing[0] != container[0]:
        return False
    measure = known.measures.get((container[1], None))
    return (measure is None or measure.kind == "volume") and BOUNDARY.match(text, thing[0]) is not None


def _is_weighed(known: Known, text: str, container: tuple[int, str] | None) -> bool:
    """Whether the household weighed this very thing, as its "brick of coir": that beats the catalogue's."""
    if container is None:
        return False
    found = known.materials.match(text, _OF.match(text, container[0]).end())  # type: ignore[union-attr]  # always matches
    return found is not None and (container[1], found[1].name) in known.measures


def _read_measured(
    known: Known, text: str, position: int, unit: tuple[int, Unit], number: Number
) -> tuple[int, Quantity]:
    """Read on behind a first number and unit: smaller units of a compound, or the upper end of a range.

    A part may be nought, as on a scale that shows 2 lb 0 oz; the whole may not.
    """
    end, smallest = unit
    value, half = number.value * smallest.size, number.half * smallest.size
    estimated = number.estimated
    while (
        not _names_batch(known, text, end) and (part := _read_part(known, text, end, zero=True)) is not None
    ):
        part_end, part_unit, part_number = part
        if part_unit.kind != smallest.kind or part_unit.factor >= smallest.factor:
            break
        value += part_number.value * part_unit.size
        half = known.about * value if estimated else part_number.half * part_unit.size
        estimated, end, smallest = estimated or part_number.estimated, part_end, part_unit
    if value <= 0:
        raise _nothing(text, position)
    upper = _read_upper(known, text, end, smallest)
    if upper is not None:
        if upper[1] < value * (1 - _ROUNDING):
            words = " ".join(text[position : upper[0]].split())
            raise Unread(Fault.NUMBER, position, words, reason=f"the range {words} runs backwards")
        end, top = upper
        if top > value:
            value, half, estimated = (value + top) / 2, (top - value) / 2, True
    quantity = Quantity(
        smallest.kind, Number(value, half, whole=False, estimated=estimated), text[position:end]
    )
    return end, quantity


def _names_batch(known: Known, text: str, position: int) -> bool:
    """Whether digits behind a unit are a name: "6 lb 2026-1" where a batch is called so."""
    named = known.batch_names.match(text, position)
    return named is not None and BOUNDARY.match(text, named[0]) is not None


def _read_part(
    known: Known, text: str, position: int, *, zero: bool = False
) -> tuple[int, Unit, Number] | None:
    position = _COMPOUND.match(text, position).end()  # type: ignore[union-attr]  # always matches
    if not _DIGIT.match(text, position):
        return None
    number = read_number_at(known, text, position, zero=zero)
    if number is None:
        return None
    unit = read_unit(text, _SPACE.match(text, number[0]).end())  # type: ignore[union-attr]  # always matches
    return None if unit is None else (unit[0], unit[1], number[1])


def _read_upper(known: Known, text: str, end: int, unit: Unit) -> tuple[int, float] | None:
    """Read "to 2 lb" of "1 lb to 2 lb": the position behind it and the upper end in kg or L."""
    to = _TO.match(text, end)
    if to is None:
        return None
    part = _read_part(known, text, to.end())
    if part is None or part[1].kind != unit.kind:
        return None
    return part[0], part[2].value * part[1].size


def starts_amount(text: str, position: int) -> bool:
    """Whether digits begin here, so that an amount is meant."""
    return _DIGIT.match(text, position) is not None
