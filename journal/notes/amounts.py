"""How much of what: amounts, and several amounts in a row.

Every function reads ``text`` at a position and gives the position behind what it read and the value, or
None where nothing of the kind begins there; it raises ``Unread`` where it begins and cannot be read.

A density, a mass each and a household measure are shared by all lines that use them.
"""

from __future__ import annotations

import re

from journal.measures.doubt import rectangular
from journal.measures.units import UNITS, read_unit
from journal.notes.faults import Fault
from journal.notes.household import HouseholdMeasure
from journal.notes.known import Known, Stuff, spread
from journal.notes.names import fold, meant, nearest, one_of
from journal.notes.parts import Quantity
from journal.notes.place import shortened
from journal.notes.quantities import BOUNDARY, Unread, phrase_at, read_quantity, starts_amount
from journal.notes.records import Amount

__all__ = ["BOUNDARY", "Unread", "amount_of", "phrase_at", "read_amount", "read_amounts", "starts_amount"]

_ANY = 1.0  # as free as a crop: anything at all
_EXAMPLE = "banana peels"
MOST = 10_000.0
"""kg in one amount: more is a slip of the hand for anyone with worm bins."""


Span = tuple[str, int, int]
"""A text, and where in it some words begin and end."""


_UNIT_SPELLINGS = [spelling for unit in UNITS if unit.kind != "area" for spelling in unit.spellings]
_BATCH_WORDS = frozenset({"batch", "slurry", "bedding"})
_SPACE = re.compile(r"\s*")
_OF = re.compile(r"\s+of(?:\s+|$)|\s*", re.IGNORECASE)
_OF_SOME = re.compile(r"\s+of\s", re.IGNORECASE)
_ARTICLE = re.compile(r"\s+(?:the|our)\s", re.IGNORECASE)
_PLAIN = re.compile(
    r"((?:about )?(?:\d+(?:[.,]\d+)?|\d+ \d/\d|\d/\d)\s?[A-Za-z]+"
    r"(?: \d+(?:[.,]\d+)? (?:oz|g)(?!\w))?)\s+(?:of\s+)?",
    re.IGNORECASE,
)
_JOINT = re.compile(r"\s*(?:,\s*(?:(?:and|plus)\s+)?|(?:and|plus)\s+|&\s*|\+\s*)", re.IGNORECASE)


def read_amount(known: Known, text: str, position: int, *, free: float = 0.0) -> tuple[int, Amount] | None:
    """Read an amount of a material or batch: "2 lb 3 oz junk mail", "5 eggshells", "2 bags of leaves".

    With ``free`` what is weighed may be anything whose words are not as near as that to a known name.
    """
    plain = _PLAIN.match(text, position) if free < _ANY else None
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
        raise _longer_name(known, text, at, found[0], quantity)
    if free >= _ANY:
        found = found[0], _as_called(found[1], text[at : found[0]])
    if plain is not None and plain.end(1) == end and not _is_name(known, text, position, end):
        known.quantities[plain[1]] = quantity
    return found[0], amount_of(known, quantity, found[1], (text, position, found[0]))


def quantity_met(known: Known, text: str, position: int, free: float) -> tuple[int, Quantity] | None:
    """Give a quantity that was met before in just these signs, and where its material begins; or None."""
    plain = _PLAIN.match(text, position) if free < _ANY else None
    if plain is None or plain[1] not in known.quantities:
        return None
    return plain.end(), known.quantities[plain[1]]


def _anything(
    known: Known, text: str, position: int, quantity: Quantity, free: float
) -> tuple[int, Amount] | None:
    """Take words that are no known name as what was weighed: a crop, a thing thrown out."""
    start, words = phrase_at(text, position)
    if quantity.kind != "mass" or not words or BOUNDARY.match(text, position):
        return None
    if free < _ANY and known.materials.nearest(words, free) is not None:
        return None
    name = " ".join(words.casefold().split())
    end = start + len(words)
    return end, amount_of(known, quantity, Stuff(name, density=None, each=None), (text, position, end))


def _as_called(stuff: Stuff, words: str) -> Stuff:
    """Let a crop keep its own name where the catalogue has another: kale is picked, not leafy greens."""
    if fold(words) == fold(stuff.name):
        return stuff
    name = re.sub(r"^(?:the|our|some|of)\s+|^\S+\s+of\s+", "", " ".join(words.casefold().split()))
    return Stuff(name, density=stuff.density, each=stuff.each)


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
            return Unread(Fault.NO_MATERIAL, position, quantity.words, example=f"{quantity.words} {_EXAMPLE}")
        return _unknown_material(known, start, words)
    if not words:
        return Unread(Fault.NO_UNIT, position, quantity.words.strip(), meant="")
    named = known.materials.match(text, start)
    if _OF_SOME.match(text, end) and named is not None:
        return Unread(Fault.SHARE, position, text[position : named[0]], material=named[1].name)
    if not any(map(str.isalpha, words.partition(" ")[0])):
        sign = words.partition(" ")[0]
        guess = f"{quantity.words.strip()} lb" if sign == "#" else None
        return Unread(Fault.NO_UNIT, position, text[position : start + len(sign)], meant=meant(guess))
    return _unknown_measure(known, start, words) or _unknown_material(known, start, words)


def _longer_name(known: Known, text: str, start: int, name_end: int, quantity: Quantity) -> Unread:
    """Say what is wrong where more words follow a known name: "2 grocery bags of junk mail"."""
    start, words = phrase_at(text, start)
    wrong = _unknown_measure(known, start, words) if quantity.kind == "count" else None
    if wrong is None:
        wrong = _unknown_material(known, start, words)
        wrong.name_end = name_end
    return wrong


def _unknown_measure(known: Known, start: int, words: str) -> Unread | None:
    """Say that a thing counted is no measure where a known material stands behind it; else None."""
    measure, of, material = words.partition(" of ")
    if not of:
        measure, _, material = words.partition(" ")
        if _is_misspelt(known, measure, words):
            return None
    if material not in known.materials:
        return None
    key = shortened(f"{one_of(measure)} of {material}")
    near = meant(nearest_measure(known, measure))
    return Unread(Fault.UNKNOWN_MEASURE, start, measure, meant=near, measure=key)


def _is_misspelt(known: Known, first: str, words: str) -> bool:
    """Whether all the words are a known material with a slip in the first: "cofee grounds"."""
    near = known.materials.nearest(words)
    return near is not None and nearest(first, [near.partition(" ")[0]]) is not None


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
    text, start, _ = span
    if quantity.value < 1 and _ARTICLE.match(text, start + len(quantity.words)):
        raise _unweighed(Fault.SHARE, span, stuff)
    if each is None:
        raise _unweighed(Fault.SHARE if stuff.is_batch else Fault.NO_MASS_EACH, span, stuff)
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
