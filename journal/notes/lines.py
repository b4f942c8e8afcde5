"""One record line: a sentence that begins with a verb of the table becomes its parts.

``read_sentence`` is driven by the verb's row: what stands right behind it, then the parts that its
prepositions join, in any order, then remarks and a date of the line's own.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from journal.measures.letters import small_letters
from journal.notes.amounts import (
    BOUNDARY,
    Unread,
    phrase_at,
    quantity_met,
    read_amounts,
    starts_amount,
)
from journal.notes.endings import Ending, read_ending
from journal.notes.faults import Fault
from journal.notes.known import Known
from journal.notes.money import read_money, read_price, read_purpose, read_shop
from journal.notes.names import Names, meant, nearest
from journal.notes.parts import Sentence, end_of_head
from journal.notes.readings import read_readings
from journal.notes.records import Money
from journal.notes.swallowed import refuse_swallowed
from journal.notes.verbs import SLOT_WORDS, Tail, Verb, read_verb

__all__ = ["Sentence", "read_batch_name", "read_sentence"]

# Runs of blanks are taken whole and never given back (\s*+): given back one by one, a long one takes forever.
_PREPOSITION = re.compile(r"(?:\s*+,)?\s++(from|to|on|with|for|out\s+of)(?![\w'’-])\s*", re.IGNORECASE)
_MIXED = re.compile(r"\s+(?:a\s+)?(bedding|slurry)(?![\w'’-])\s*", re.IGNORECASE)
_BATCH_NAME = re.compile(r"((?:[^:(,\s]++|\s++(?![:(,]|on\s++\d|$))*+)(?:\s*+(?=[:(,]|$))?", re.IGNORECASE)
_COLON_FIRST = Tail(":", "readings")
_BEFORE_COLON = re.compile(r"\s*\(([^()]*)\)(?=\s*:)")
_COMMA = re.compile(r"\s*,\s*(?:and\s+)?", re.IGNORECASE)
_COLON = re.compile(r"\s*:\s*")
_USUAL = {
    "added": "worms", "moved": "worms", "harvested": "castings", "spread": "castings", "gave": "castings",
    "picked": "tomatoes",
}  # fmt: skip
"""What an example of a verb's amounts is of, where it is not fed or taken in."""

_JOINED = r"(?=(?:\s*+,)?\s++(?:from|to|on|with|for|out\s+of)\s)"
_ASIDE = re.compile(
    rf"\s*+(?:,\s*+)?\(([^()]*)\){_JOINED}"
    rf"|\s*+,\s++((?<=\s\s)(?=,)|[^,;:()\d\s]++(?:\s++[^,;:()\d\s]++)*+)\s*+(?=,){_JOINED}",
    re.IGNORECASE,
)


def read_sentence(known: Known, text: str) -> Sentence | None:
    """Read a whole record line; None where it begins with no verb.

    Raises Unread where it begins with a verb and cannot be read.  What was read once is remembered.
    """
    sentence = known.sentences.get(text)
    if sentence is None:
        found = read_verb(text, 0)
        if found is None:
            return None
        position, verb = found
        sentence = _BEGINNINGS[verb.begins](known, text, position, verb)
        known.sentences[text] = sentence
    return sentence


def _from_amounts(known: Known, text: str, position: int, verb: Verb) -> Sentence:
    """Read on behind a verb that amounts follow.

    Of a quantity met before, what follows says the same as it did behind another quantity: lines differ most
    in how much, and least in of what, from whom and to which bin.
    """
    start = _skip(text, position)
    met = quantity_met(known, text, start, verb.free)
    if met is None:
        return _of_amounts(known, text, start, verb)
    at, quantity = met
    key = verb.name, text[at:]
    alike = known.alike.get(key)
    if alike is not None:
        amount = quantity.made.get(alike.amounts[0].material)
        if amount is not None:
            return alike.with_first(amount)
    sentence = _of_amounts(known, text, start, verb)
    first = sentence.amounts[0]
    if quantity.made.get(first.material) is first:
        known.alike[key] = sentence
    return sentence


def _of_amounts(known: Known, text: str, start: int, verb: Verb) -> Sentence:
    sentence = Sentence(verb.name)
    remarks: list[str] = []
    try:
        found = read_amounts(known, text, start, remarks, verb.free)
    except Unread as wrong:
        if wrong.fault is Fault.NO_MATERIAL and verb.name in _USUAL:
            wrong.blanks["example"] = f"{wrong.words} {_USUAL[verb.name]}"
        raise _missing_preposition(known, text, verb, wrong) from None
    if found is None:
        raise Unread(Fault.NO_AMOUNT, *phrase_at(text, start)) if start < len(text) else _nothing(text, verb)
    position, sentence.amounts = found
    _check_only(known, verb, sentence, start)
    return _rest(known, text, position, verb, sentence, remarks)


def _from_bin(known: Known, text: str, position: int, verb: Verb) -> Sentence:
    sentence = Sentence(verb.name)
    start = _skip(text, position)
    found = known.bins.match(text, start)
    if found is not None and starts_amount(text, _skip(text, found[0])):
        raise _missing(text, found[0], verb, verb.tails[0])
    position, sentence.bin = _read_name(known.bins, Fault.UNKNOWN_BIN, text, start, "bin", verb)
    return _rest(known, text, position, verb, sentence, [])


def _from_money(known: Known, text: str, position: int, verb: Verb) -> Sentence:
    sentence = Sentence(verb.name)
    start = _skip(text, position)
    found = read_money(known, text, start)
    if found is None:
        raise Unread(Fault.NO_MONEY, *phrase_at(text, start)) if start < len(text) else _nothing(text, verb)
    position, sentence.money = found
    return _rest(known, text, position, verb, sentence, [])


def _from_batch(known: Known, text: str, position: int, verb: Verb) -> Sentence:
    kind, name, position = read_batch_name(text, position)
    sentence = Sentence(verb.name, batch=name, batch_kind=kind)
    remarks: list[str] = []
    colon = _COLON.match(text, end_of_head(text, position))
    if colon is None:
        return _without_amounts(known, text, position, sentence)
    head = read_ending(known, text[: colon.start()], position)  # what stands between the name and the colon
    remarks.extend(head.remarks)
    position = colon.end()
    if position < len(text):
        found = read_amounts(known, text, position, remarks)
        if found is None:
            raise Unread(Fault.NO_AMOUNT, *phrase_at(text, position))
        position, sentence.amounts = found
    sentence = _ended(known, text, position, sentence, remarks)
    if head.date is not None and sentence.date is not None:
        raise Unread(Fault.TWICE, position, text[position:])
    sentence.date = head.date or sentence.date
    sentence.confirmed = head.confirmed or sentence.confirmed
    return sentence


def _without_amounts(known: Known, text: str, position: int, sentence: Sentence) -> Sentence:
    """Read the end of a batch's line whose ingredients stand in a list below it."""
    try:
        return _ended(known, text, position, sentence, [])
    except Unread as wrong:
        if wrong.fault is Fault.SECOND_AMOUNT:  # a comma in place of the colon
            name = sentence.batch or ""
            raise Unread(Fault.NO_INGREDIENTS, text.rfind(name, 0, position), name) from None
        raise


def read_batch_name(text: str, position: int) -> tuple[str, str, int]:
    """Read what is mixed, behind "mixed": "bedding" or "slurry", its name, and the position behind it."""
    kind = _MIXED.match(text, position)
    if kind is None:
        raise Unread(Fault.BATCH_KIND, *phrase_at(text, position))
    name = _BATCH_NAME.match(text, kind.end())
    words = name[1].strip(" ,.") if name is not None else ""
    if name is None or not words:
        raise Unread(Fault.BATCH_NAME, kind.start(1), kind[1])
    return small_letters(kind[1]), " ".join(words.split()), name.end()


def _from_subject(known: Known, text: str, position: int, verb: Verb) -> Sentence:
    sentence = Sentence(verb.name)
    start = _skip(text, position)
    in_bin, in_batch = known.bins.match(text, start), known.batch_names.match(text, start)
    if in_bin is not None and (in_batch is None or in_bin[0] >= in_batch[0]):
        end, sentence.bin = in_bin
    elif in_batch is not None:
        end, sentence.batch = in_batch
        sentence.batch_kind = known.batches[sentence.batch]
    else:
        raise _unknown(Fault.UNKNOWN_SUBJECT, text, start, (known.bins, known.batch_names))
    if not BOUNDARY.match(text, end):
        if starts_amount(text, _skip(text, end)):
            raise _missing(text, end, verb, _COLON_FIRST)
        raise _unknown(Fault.UNKNOWN_SUBJECT, text, start, (known.bins, known.batch_names))
    aside = _BEFORE_COLON.match(text, end)
    position = aside.end() if aside else end
    sentence.readings, ending = read_readings(known, text, position, text[start:end])
    return _close(sentence, ending, [aside[1].strip()] if aside else [])


_BEGINNINGS: Mapping[str, Callable[[Known, str, int, Verb], Sentence]] = {
    "amounts": _from_amounts,
    "bin": _from_bin,
    "money": _from_money,
    "batch": _from_batch,
    "subject": _from_subject,
}


def _rest(
    known: Known, text: str, position: int, verb: Verb, sentence: Sentence, remarks: list[str]
) -> Sentence:
    """Read the parts joined by prepositions, check that none is missing, and read the ending."""
    seen: set[str] = set()
    while position < len(text):
        aside = _aside(known, text, position)
        found = _PREPOSITION.match(text, aside.end() if aside else position)
        tail = verb.by_preposition.get(small_letters(found[1])) if found is not None else None
        if found is None or tail is None or (tail.slot in seen and tail.preposition == "on"):
            price = _price(known, text, position, verb, seen)
            if price is None:
                break
            position, sentence.money = price
            seen.add("money")
            continue
        if tail.slot in seen:
            raise Unread(Fault.TWICE, found.start(1), found[1])
        if aside is not None:
            remarks.append((aside[1] or aside[2]).strip())
        read = _SLOTS[tail.slot](known, text, found.end(), verb, sentence, remarks)
        if read is None:
            break
        position = read
        seen.add(tail.slot)
    for tail in verb.required:
        if tail.slot not in seen:
            raise _nameless(known, text, position) or _missing(text, position, verb, tail)
    if position < len(text):
        refuse_swallowed(known, text, position, verb, seen)
    return _ended(known, text, position, sentence, remarks)


def _aside(known: Known, text: str, position: int) -> re.Match[str] | None:
    """Read a remark in parentheses or between commas that stands before a preposition."""
    aside = _ASIDE.match(text, position)
    if aside is not None and aside[2] and known.materials.match(text, aside.start(2)) is not None:
        return None
    return aside


def _price(known: Known, text: str, position: int, verb: Verb, seen: set[str]) -> tuple[int, Money] | None:
    """Read ", $8" as the price of what is bought, where it is not said otherwise."""
    comma = _COMMA.match(text, position)
    if comma is None or "money" in seen or not any(tail.slot == "money" for tail in verb.tails):
        return None
    return read_price(known, text, comma.end())


def _nameless(known: Known, text: str, position: int) -> Unread | None:
    """Where a material stands behind a comma without an amount, that is what is wrong."""
    comma = _COMMA.match(text, position)
    if comma is None or known.materials.match(text, comma.end()) is None:
        return None
    return Unread(Fault.NO_AMOUNT, *phrase_at(text, comma.end()))


def _ended(known: Known, text: str, position: int, sentence: Sentence, remarks: list[str]) -> Sentence:
    if position == len(text):
        sentence.remark = "; ".join(remarks)
        return sentence
    return _close(sentence, read_ending(known, text, position), remarks)


def _close(sentence: Sentence, ending: Ending, remarks: list[str]) -> Sentence:
    sentence.remark = "; ".join([*remarks, *ending.remarks])
    sentence.date = ending.date
    sentence.confirmed = ending.confirmed
    return sentence


def _read_giver(known: Known, text: str, position: int, verb: Verb, sentence: Sentence, _: list[str]) -> int:
    position, sentence.giver = _read_name(known.givers, Fault.UNKNOWN_GIVER, text, position, "giver", verb)
    return position


def _read_bin(known: Known, text: str, position: int, verb: Verb, sentence: Sentence, _: list[str]) -> int:
    position, sentence.bin = _read_name(known.bins, Fault.UNKNOWN_BIN, text, position, "bin", verb)
    return position


def _read_home(known: Known, text: str, position: int, verb: Verb, sentence: Sentence, _: list[str]) -> int:
    """Read where worms come from: a bin; those that are added may be a giver's."""
    giver = known.givers.match(text, position) if verb.name == "added" else None
    if giver is not None and known.bins.match(text, position) is None and BOUNDARY.match(text, giver[0]):
        position, sentence.giver = giver
        return position
    position, sentence.source_bin = _read_name(known.bins, Fault.UNKNOWN_BIN, text, position, "bin", verb)
    return position


def _read_planting(
    known: Known, text: str, position: int, verb: Verb, sentence: Sentence, _: list[str]
) -> int:
    position, sentence.planting = _read_name(
        known.plantings, Fault.UNKNOWN_PLANTING, text, position, "planting", verb
    )
    return position


def _read_source(known: Known, text: str, position: int, verb: Verb, sentence: Sentence, _: list[str]) -> int:
    start = _skip(text, position)
    in_bin, in_stuff = known.bins.match(text, start), known.materials.match(text, start)
    if in_bin is not None and (in_stuff is None or in_bin[0] >= in_stuff[0]):
        end, sentence.out_of = in_bin
        sentence.out_of_kind = "bin"
    elif in_stuff is not None:
        end, sentence.out_of = in_stuff[0], in_stuff[1].name
        sentence.out_of_kind = "batch" if in_stuff[1].is_batch else "material"
    elif start == len(text):
        raise _missing(text, position, verb, verb.by_preposition["out of"])
    else:
        raise _unknown(Fault.UNKNOWN_SOURCE, text, start, (known.bins, known.materials))
    if not BOUNDARY.match(text, end):
        raise _unknown(Fault.UNKNOWN_SOURCE, text, start, (known.bins, known.materials))
    return end


def _read_money_tail(
    known: Known, text: str, position: int, _verb: Verb, sentence: Sentence, _: list[str]
) -> int:
    found = read_money(known, text, position)
    if found is None:
        raise Unread(Fault.NO_MONEY, *phrase_at(text, position))
    position, sentence.money = found
    return position


def _read_shop_tail(_: Known, text: str, position: int, verb: Verb, sentence: Sentence, __: list[str]) -> int:
    position, sentence.words = read_shop(text, position)
    if not sentence.words:
        raise _missing(text, position, verb, verb.by_preposition["from"])
    return position


def _read_purpose_tail(
    known: Known, text: str, position: int, verb: Verb, sentence: Sentence, _: list[str]
) -> int:
    position, sentence.words = read_purpose(known, text, position)
    if not sentence.words:
        raise _missing(text, position, verb, verb.by_preposition["on"])
    return position


def _read_amounts_tail(
    known: Known, text: str, position: int, _verb: Verb, sentence: Sentence, remarks: list[str]
) -> int:
    found = read_amounts(known, text, position, remarks)
    if found is None:
        raise Unread(Fault.NO_AMOUNT, *phrase_at(text, position))
    position, sentence.amounts = found
    return position


_SlotReader = Callable[[Known, str, int, Verb, Sentence, list[str]], int | None]
_SLOTS: Mapping[str, _SlotReader] = {
    "giver": _read_giver,
    "bin": _read_bin,
    "home": _read_home,
    "planting": _read_planting,
    "source": _read_source,
    "money": _read_money_tail,
    "shop": _read_shop_tail,
    "purpose": _read_purpose_tail,
    "amounts": _read_amounts_tail,
}


def _read_name(
    names: Names[str], fault: Fault, text: str, position: int, slot: str, verb: Verb
) -> tuple[int, str]:
    """Read one known name as a whole; raises Unread with the nearest one."""
    found = names.match(text, position)
    if found is not None and BOUNDARY.match(text, found[0]):
        return found
    start, words = phrase_at(text, position)
    if not words:
        raise Unread(Fault.MISSING_NAME, 0, text, verb=verb.name, slot=f"a {slot}", shape=verb.shape)
    raise Unread(fault, start, words, meant=meant(names.nearest(words)))


def _unknown(fault: Fault, text: str, position: int, kinds: tuple[Names[Any], ...]) -> Unread:
    start, words = phrase_at(text, position)
    near = [name for names in kinds if (name := names.nearest(words)) is not None]
    return Unread(fault, start, words, meant=meant(nearest(words, near)))


def _nothing(text: str, verb: Verb) -> Unread:
    slot = {"amounts": "an amount", "money": "a sum of money"}.get(verb.begins, "a name")
    return Unread(Fault.MISSING_NAME, 0, text, verb=verb.name, slot=slot, shape=verb.shape)


def _missing(text: str, position: int, verb: Verb, tail: Tail) -> Unread:
    start = _skip(text, position)
    words = text[start:] or text
    return Unread(
        Fault.MISSING,
        start if start < len(text) else 0,
        words,
        verb=verb.name,
        preposition=tail.preposition,
        slot=SLOT_WORDS[tail.slot],
        shape=verb.shape,
    )


def _missing_preposition(known: Known, text: str, verb: Verb, wrong: Unread) -> Unread:
    """Where a known name stands right behind the material, it is the preposition that is missing."""
    if not wrong.name_end:
        return wrong
    for tail in verb.required:
        names: Names[str] | None = {
            "bin": known.bins, "giver": known.givers, "planting": known.plantings
        }.get(tail.slot)  # fmt: skip
        found = names.match(text, wrong.name_end) if names is not None else None
        if found is not None and BOUNDARY.match(text, found[0]):
            return _missing(text, wrong.name_end, verb, tail)
    return wrong


def _check_only(known: Known, verb: Verb, sentence: Sentence, start: int) -> None:
    """Check that worms are added, castings harvested, and nothing else."""
    if verb.only:
        fault = Fault.ONLY_WORMS if verb.only == "worms" else Fault.ONLY_CASTINGS
        for amount in sentence.amounts:
            stuff = known.materials.get(amount.material)
            if stuff is None or not getattr(stuff, verb.only):
                raise Unread(fault, start, f"{amount.words} {amount.material}", verb=verb.name)


def _skip(text: str, position: int) -> int:
    while position < len(text) and text[position].isspace():
        position += 1
    return position
