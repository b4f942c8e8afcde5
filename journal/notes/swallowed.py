"""Parts of a sentence that a remark in front of them swallows: "two weeks' worth from Larch House"."""

from __future__ import annotations

import re
from typing import Any

from journal.measures.letters import small_letters
from journal.notes.amounts import Unread
from journal.notes.faults import Fault
from journal.notes.known import Known
from journal.notes.lost import beginnings, without_parentheses
from journal.notes.money import read_price
from journal.notes.names import Names
from journal.notes.verbs import Verb

_COMMA = re.compile(r"\s*,\s*(?:and\s+)?", re.IGNORECASE)
_TAIL = re.compile(r"\s(from|to|for|out\s+of)\s+", re.IGNORECASE)
_STOP = re.compile(r"[;—]|[.!?]\s")
_PART_END = re.compile(r"\s*(?:$|[,;.(!—–]|-\s)")


def refuse_swallowed(known: Known, text: str, position: int, verb: Verb, seen: set[str]) -> None:
    """Raise Unread where a remark behind a comma ends in what would have been a part of the sentence."""
    comma = _COMMA.match(text, position)
    if comma is None:
        return
    plain = without_parentheses(text, position, len(text))
    if any(tail.slot == "money" for tail in verb.tails):
        for at in beginnings(plain, comma.end()):
            price = read_price(known, plain, at)
            if price is not None:
                raise Unread(Fault.SECOND_AMOUNT, at, plain[at : price[0]])
    stop = _STOP.search(plain, comma.end())
    for found in _TAIL.finditer(plain, comma.end(), stop.start() if stop else len(plain)):
        tail = verb.by_preposition.get(small_letters(found[1]))
        if tail is None or tail.slot in seen:
            continue
        end = _known_end(known, plain, found.end(), tail.slot)
        if end is None or not (_PART_END.match(plain, end) or _TAIL.match(plain, end)):
            continue
        remark = " ".join(plain[comma.end() : found.start()].strip(" ,").split())
        if remark in known.materials:
            raise Unread(Fault.NO_AMOUNT, comma.end(), remark)
        raise Unread(Fault.IN_REMARK, found.start(1), plain[found.start(1) : end], remark=remark)


def _known_end(known: Known, text: str, position: int, slot: str) -> int | None:
    """Find where a known name, or a sum of money, ends that a preposition leads to."""
    if slot == "money":
        price = read_price(known, text, position)
        return None if price is None else price[0]
    kinds: tuple[Names[Any], ...] = {
        "giver": (known.givers,), "bin": (known.bins,), "home": (known.bins,),
        "source": (known.bins, known.materials),
    }.get(slot, ())  # fmt: skip
    ends = [found[0] for names in kinds if (found := names.match(text, position)) is not None]
    return max(ends, default=None)
