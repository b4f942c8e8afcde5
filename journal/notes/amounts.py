"""How much of what: quantities, amounts, and several amounts in a row.

Every function reads ``text`` at a position and gives the position behind what it read and the value, or
None where nothing of the kind begins there; it raises ``Unread`` where it begins and cannot be read.

Doubt (JCGM 100:2008): a written number is known to half of its last digit, a compound amount to half of
the last digit of its smallest unit, as a rectangular distribution (4.3.7).  Whole counts are exact.  A
density, a mass each and a household measure are shared by all lines that use them.
"""

from __future__ import annotations

import re

from journal.measures.doubt import rectangular
from journal.measures.numbers import Number, NumberProblem, read_number
from journal.measures.units import UNITS, Unit, read_unit
from journal.notes.faults import Fault
from journal.notes.household import HouseholdMeasure
from journal.notes.known import Known, Stuff, spread
from journal.notes.names import fold, meant, nearest
from journal.notes.records import Amount

MOST = 10_000.0
"""kg in one amount: more is a slip of the hand for anyone with worm bins."""


class Unread(Exception):
    """What cannot be read: the fault, where its words begin, the words, and what fills its other blanks."""

    def __init__(self, fault: Fault, start: int, words: str, **blanks: str) -> None:
        super().__init__(words)
        self.fault = fault
        self.start = start
        self.words = words
        self.blanks = blanks
        self.name_end = 0  # where a name that is known ends, when more words follow it


Span = tuple[str, int, int]
"""A text, and where in it some words begin and end."""


class Quantity:
    """How much, before it is said of what.

    ``kind`` is "mass" (``value`` in kg), "volume" (L), "count" or "container" (number of ``container``).
    ``made`` remembers the amounts made of it, by material.
    """

    __slots__ = ("container", "estimated", "half", "kind", "made", "value", "words")

    def __init__(
        self, kind: str, number: Number, words: str, container: str = "", factor: float = 1.0
    ) -> None:
        self.kind = kind
        self.value = number.value * factor
        exact = kind in {"count", "container"} and number.whole and not number.estimated
        self.half = 0.0 if exact else number.half * factor
        self.estimated = number.estimated
        self.words = words
        self.container = container
        self.made: dict[str, Amount] = {}


_UNIT_SPELLINGS = [spelling for unit in UNITS if unit.kind != "area" for spelling in unit.spellings]
_BATCH_WORDS = frozenset({"batch", "slurry", "bedding"})
_SPACE = re.compile(r"\s*")
_OF = re.compile(r"\s+of(?:\s+|$)|\s*", re.IGNORECASE)
_PLAIN = re.compile(
    r"((?:about )?(?:\d+(?:[.,]\d+)?|\d+ \d/\d|\d/\d)\s?[A-Za-z]+"
    r"(?: \d+(?:[.,]\d+)? (?:oz|g)(?!\w))?)\s+(?:of\s+)?",
    re.IGNORECASE,
)
_COMPOUND = re.compile(r"(?:\s*,)?\s*(?:and\s+)?", re.IGNORECASE)
_TO = re.compile(r"\s*(?:-|–|—|to\s|or\s)\s*", re.IGNORECASE)
_MINUS = re.compile(r"[-−–]\s*(?=[\d.¼½¾])")
_JOINT = re.compile(r"\s*(?:,\s*(?:(?:and|plus)\s+)?|(?:and|plus)\s+|&\s*|\+\s*)", re.IGNORECASE)
_DIGIT = re.compile(
    r"[~≈.]?\s*[\d¼½¾⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|(?:about|roughly|around|approx\w*\.?|circa|ca\.?)\s+\d", re.IGNORECASE
)
BOUNDARY = re.compile(
    r"\s*(?:$|[,;:.()!?&+—–]|-\s|(?:to|from|on|onto|into|with|for|out\s+of|and|plus)(?![\w'’-]))",
    re.IGNORECASE,
)
_PHRASE = re.compile(
    r"\s*(.*?)\s*(?=$|[,;:()—]|\.(?:\s|$)|\s-\s|\s(?:to|from|on|onto|into|with|for|out\s+of|and|plus)(?:\s|$))",
    re.IGNORECASE | re.DOTALL,
)


def phrase_at(text: str, position: int) -> tuple[int, str]:
    """Read words up to where a name must have ended: where they begin, and the words."""
    found = _PHRASE.match(text, position)
    if found is None or not found[1]:
        return _SPACE.match(text, position).end(), text[position:].strip()  # type: ignore[union-attr]  # always matches
    return found.start(1), found[1]


def read_number_at(known: Known, text: str, position: int) -> tuple[int, Number] | None:
    """Read a number as this journal writes them; raises Unread where it can be read in two ways."""
    try:
        found = read_number(text, position, comma=known.comma, about=known.about)
    except NumberProblem as problem:
        fault = Fault.DECIMAL_COMMA if problem.comma and not known.comma else Fault.NUMBER
        raise Unread(fault, position, phrase_at(text, position)[1], reason=str(problem)) from None
    if found is None and _MINUS.match(text, position):
        raise Unread(Fault.NEGATIVE, position, phrase_at(text, position)[1])
    if found is not None and found[1].value <= 0:
        raise Unread(Fault.ZERO, position, phrase_at(text, position)[1])
    return found


def read_quantity(known: Known, text: str, position: int) -> tuple[int, Quantity] | None:
    """Read how much: a number with its unit, a compound, a household measure, or a count."""
    found = read_number_at(known, text, position)
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
    is_thing = thing is not None and thing[0] > longest and not _is_weighed(known, text, container)
    if longest == 0 or is_thing:
        return number_end, Quantity("count", number, text[position:number_end])
    if container is not None and container[0] == longest:
        return longest, Quantity("container", number, text[position:longest], container[1])
    assert unit is not None  # noqa: S101 - the longest is one of the two
    return _read_measured(known, text, position, unit, number)


def _is_weighed(known: Known, text: str, container: tuple[int, str] | None) -> bool:
    """Whether the household weighed this very thing, as its "brick of coir": that beats the catalogue's."""
    if container is None:
        return False
    found = known.materials.match(text, _OF.match(text, container[0]).end())  # type: ignore[union-attr]  # always matches
    return found is not None and (container[1], found[1].name) in known.measures


def _read_measured(
    known: Known, text: str, position: int, unit: tuple[int, Unit], number: Number
) -> tuple[int, Quantity]:
    """Read on behind a first number and unit: smaller units of a compound, or the upper end of a range."""
    end, smallest = unit
    value, half = number.value * smallest.size, number.half * smallest.size
    estimated = number.estimated
    while not _names_batch(known, text, end) and (part := _read_part(known, text, end)) is not None:
        part_end, part_unit, part_number = part
        if part_unit.kind != smallest.kind or part_unit.factor >= smallest.factor:
            break
        value += part_number.value * part_unit.size
        half = known.about * value if estimated else part_number.half * part_unit.size
        estimated, end, smallest = estimated or part_number.estimated, part_end, part_unit
    upper = _read_upper(known, text, end, smallest)
    if upper is not None:
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


def _read_part(known: Known, text: str, position: int) -> tuple[int, Unit, Number] | None:
    position = _COMPOUND.match(text, position).end()  # type: ignore[union-attr]  # always matches
    if not _DIGIT.match(text, position):
        return None
    number = read_number_at(known, text, position)
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


def read_amount(known: Known, text: str, position: int, *, free: float = 0.0) -> tuple[int, Amount] | None:
    """Read an amount of a material or batch: "2 lb 3 oz junk mail", "5 eggshells", "2 bags of leaves".

    With ``free`` what is weighed may be anything whose words are not as near as that to a known name.
    """
    plain = _PLAIN.match(text, position)
    if plain is not None:
        quantity = known.quantities.get(plain[1])
        if quantity is not None:
            found = known.materials.match(text, plain.end())
            if found is not None and BOUNDARY.match(text, found[0]):
                return found[0], quantity.made.get(found[1].name) or amount_of(
                    known, quantity, found[1], (text, position, found[0])
                )
    read = read_quantity(known, text, position)
    if read is None:
        return None
    end, quantity = read
    at = end if quantity.kind == "count" else _OF.match(text, end).end()  # type: ignore[union-attr]  # always matches
    found = known.materials.match(text, at)
    if found is None or not BOUNDARY.match(text, found[0]):
        anything = _anything(known, text, at, quantity, free) if free else None
        if anything is not None:
            return anything
        if found is None:
            raise _no_material(known, text, position, end, quantity)
        raise _longer_name(known, text, at, found[0])
    if plain is not None and plain.end(1) == end and not _is_name(known, text, position, end):
        known.quantities[plain[1]] = quantity
    return found[0], amount_of(known, quantity, found[1], (text, position, found[0]))


def _anything(
    known: Known, text: str, position: int, quantity: Quantity, free: float
) -> tuple[int, Amount] | None:
    """Take words that are no known name as what was weighed: a crop, a thing thrown out."""
    start, words = phrase_at(text, position)
    if quantity.kind != "mass" or not words or BOUNDARY.match(text, position):
        return None
    if free < 1 and known.materials.nearest(words, free) is not None:
        return None
    name = " ".join(words.casefold().split())
    end = start + len(words)
    return end, amount_of(known, quantity, Stuff(name, density=None, each=None), (text, position, end))


def _is_name(known: Known, text: str, position: int, end: int) -> bool:
    """Whether the unit's word may also begin a name, as in "2 stone fruit pits"."""
    word = re.search(r"[^\W\d_]+", text[position:end])
    return word is not None and known.materials.begins_with(word[0])


def _no_material(known: Known, text: str, position: int, end: int, quantity: Quantity) -> Unread:
    """Say what is wrong where no known name stands behind a quantity."""
    words = "" if BOUNDARY.match(text, end) else re.sub(r"^of\s+", "", phrase_at(text, end)[1])
    start = text.find(words, end)
    if quantity.kind != "count":
        if not words:
            return Unread(Fault.NO_MATERIAL, position, quantity.words)
        return _unknown_material(known, start, words)
    if not words:
        return Unread(Fault.NO_UNIT, position, quantity.words.strip(), meant="")
    measure, of, material = words.partition(" of ")
    first, _, rest = words.partition(" ")
    if of and material in known.materials:
        return Unread(Fault.UNKNOWN_MEASURE, start, measure, meant=meant(nearest_measure(known, measure)))
    if rest in known.materials:
        return Unread(Fault.UNKNOWN_MEASURE, start, first, meant=meant(nearest_measure(known, first)))
    return _unknown_material(known, start, words)


def _longer_name(known: Known, text: str, start: int, name_end: int) -> Unread:
    start, words = phrase_at(text, start)
    wrong = _unknown_material(known, start, words)
    wrong.name_end = name_end
    return wrong


def _unknown_material(known: Known, start: int, words: str) -> Unread:
    first = words.partition(" ")[0].lower()
    if first in _BATCH_WORDS or (known.batch_names.begins_with(first) and words[-1:].isdigit()):
        return Unread(Fault.UNKNOWN_BATCH, start, words, meant=meant(known.batch_names.nearest(words)))
    return Unread(Fault.UNKNOWN_MATERIAL, start, words, meant=meant(known.materials.nearest(words)))


def nearest_measure(known: Known, words: str) -> str | None:
    """Give the unit or household measure nearest to the words."""
    return nearest(words, [*known.containers, *_UNIT_SPELLINGS])


def amount_of(known: Known, quantity: Quantity, stuff: Stuff, span: Span) -> Amount:
    """Make so much of a material; raises Unread where nobody can tell its weight, or it is too much."""
    made = quantity.made.get(stuff.name)
    if made is not None:
        return made
    if quantity.kind == "mass":
        how = "estimated" if quantity.estimated else "weighed"
        amount = Amount(
            quantity.value,
            stuff.name,
            quantity.words,
            rectangular(quantity.half),
            how=how,
            is_batch=stuff.is_batch,
        )
    elif quantity.kind == "volume":
        how = "estimated" if quantity.estimated else "by volume"
        amount = _by_volume(known, quantity, stuff, span, how, quantity.value, quantity.half, {})
    elif quantity.kind == "count":
        amount = _by_count(quantity, stuff, span)
    else:
        amount = _by_measure(known, quantity, stuff, span)
    if not amount.kg < MOST:
        raise _unweighed(Fault.TOO_MUCH, span, stuff)
    quantity.made[stuff.name] = amount
    return amount


def _unweighed(fault: Fault, span: Span, stuff: Stuff) -> Unread:
    text, start, end = span
    return Unread(fault, start, text[start:end], material=stuff.name)


def _by_volume(  # noqa: PLR0913, PLR0917 - a volume and its doubts
    known: Known, quantity: Quantity, stuff: Stuff, span: Span, how: str, litres: float, half: float,
    measured: dict[str, float],
) -> Amount:  # fmt: skip
    density = known.density(stuff)
    if density is None:
        raise _unweighed(Fault.NO_DENSITY, span, stuff)
    shared = {cause: part * density.typical for cause, part in measured.items()}
    if density.high > density.low:
        shared[f"density of {stuff.name}"] = litres * spread(density)
    return Amount(
        litres * density.typical, stuff.name, quantity.words, rectangular(half * density.typical), shared,
        how, litres, stuff.is_batch,
    )  # fmt: skip


def _by_count(quantity: Quantity, stuff: Stuff, span: Span) -> Amount:
    each = stuff.each
    if each is None:
        raise _unweighed(Fault.NO_MASS_EACH, span, stuff)
    shared = {f"mass of one {stuff.name}": quantity.value * spread(each)} if each.high > each.low else {}
    how = "estimated" if quantity.estimated else "counted"
    return Amount(
        quantity.value * each.typical, stuff.name, quantity.words,
        rectangular(quantity.half * each.typical), shared, how, is_batch=stuff.is_batch,
    )  # fmt: skip


def _by_measure(known: Known, quantity: Quantity, stuff: Stuff, span: Span) -> Amount:
    measure = known.measures.get((quantity.container, stuff.name)) or known.measures.get(
        (quantity.container, None)
    )
    if measure is None:
        measure_name = known.containers.spelling(quantity.container) or quantity.container
        raise Unread(Fault.NOT_MEANT_FOR, span[1], quantity.words, material=stuff.name, measure=measure_name)
    how = "estimated" if quantity.estimated else "by measure"
    holds = measure.holds
    shared = _measured(measure, quantity.value)
    if measure.kind == "volume":
        litres, half = quantity.value * holds.value, quantity.half * holds.value
        return _by_volume(known, quantity, stuff, span, how, litres, half, shared)
    return Amount(
        quantity.value * holds.value, stuff.name, quantity.words,
        rectangular(quantity.half * holds.value), shared, how, is_batch=stuff.is_batch,
    )  # fmt: skip


def _measured(measure: HouseholdMeasure, times: float) -> dict[str, float]:
    standard = measure.holds.standard
    return {measure.name: times * standard} if standard > 0 else {}


def starts_amount(text: str, position: int) -> bool:
    """Whether digits begin here, so that an amount is meant."""
    return _DIGIT.match(text, position) is not None


_PARENTHESIS = re.compile(r"\s*\(([^()]*)\)")


def read_amounts(
    known: Known, text: str, position: int, remarks: list[str], free: float = 0.0
) -> tuple[int, tuple[Amount, ...]] | None:
    """Read amounts joined by commas and "and"; a comma that no amount follows ends them.

    What stands in parentheses between two amounts is added to ``remarks``; ``free`` is ``read_amount``'s.
    """
    first = read_amount(known, text, position, free=free)
    if first is None:
        return None
    end, amount = first
    if end == len(text):
        return end, (amount,)
    amounts = [amount]
    while True:
        aside = _PARENTHESIS.match(text, end)
        joint = _JOINT.match(text, aside.end() if aside else end)
        following = None if joint is None else _read_joined(known, text, joint, free)
        if following is None:
            return end, tuple(amounts)
        if aside is not None:
            remarks.append(aside[1].strip())
        end, amount = following
        amounts.append(amount)


def _read_joined(known: Known, text: str, joint: re.Match[str], free: float) -> tuple[int, Amount] | None:
    """Read the amount behind a comma or an "and"; None where a comma begins a remark."""
    is_comma = "," in joint[0]
    try:
        following = read_amount(known, text, joint.end(), free=free)
    except Unread as wrong:
        if (
            is_comma
            and wrong.fault is Fault.UNKNOWN_MATERIAL
            and _is_remark(known, text, joint.end(), wrong.words)
        ):
            return None
        raise
    if following is None and not is_comma:
        start, words = phrase_at(text, joint.end())
        raise Unread(Fault.NO_AMOUNT, start, words)
    return following


def _is_remark(known: Known, text: str, position: int, words: str) -> bool:
    """Whether words behind a comma only begin like an amount: "3 days late", "a bit soft"."""
    if not starts_amount(text, position):
        return read_unit(text, text.find(words, position)) is None
    read = read_quantity(known, text, position)
    if read is None or read[1].kind != "count":
        return False
    return fold(words) not in known.materials and known.materials.nearest(words) is None
