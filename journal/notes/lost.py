"""What a remark may not hold, since it would be lost there: an amount, a sentence, a date of the line's own.

A part is what stands between two commas, semicolons, dashes or full stops.  What a part begins with is
looked at closely; further on only an amount that is readable as a whole is taken for one, since "the 3 lb
bag was wet" is none.  What stands in parentheses is a remark, whatever it says.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from journal.measures.units import read_unit
from journal.notes.amounts import Unread, phrase_at, read_amount, starts_amount
from journal.notes.dates import DateProblem, read_date
from journal.notes.faults import Fault
from journal.notes.known import Known
from journal.notes.quantities import BOUNDARY, read_quantity
from journal.notes.verbs import Verb, read_verb

_SLIP = 0.85
"""How near to a known name what is counted must be to be taken for it: "3 days late" is no amount."""

_NEAR = 40  # signs in front of an amount that are looked at for a "the"
_LONGEST_DATE = 60
_LONGEST = 200  # signs in which an amount stands
_PARTING = re.compile(r"(?:(?<!\d),|,(?!\d)|[;—–]|[.!?](?=\s)|\s-(?=\s))\s*")
_PARENTHESIS = re.compile(r"[()]")
_LEADING = re.compile(
    r"(?:(?:and|plus|also|then|later|afterwards|another|with|I|we)(?![\w'’])\s*|[&+]\s*)*", re.IGNORECASE
)
_WITH = re.compile(r"\s+with\s+", re.IGNORECASE)
_ONE = re.compile(r"an?\s+(?!(?:couple|pair|dozen|half|quarter)(?!\w))", re.IGNORECASE)
_NUMERAL = re.compile(r"[~≈]?\s*[\d.,/⁄-]+\s*")
_SOME_NUMBER = re.compile(
    r"(?<![\w.,/-])(?:[\d¼½¾⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|(?:half|one|two|three|four|five|six|seven|eight|nine|ten)(?!\w))",
    re.IGNORECASE,
)
_SPOKEN_OF = re.compile(
    r"(?:\b(?:the|this|that|these|those|our|my|his|her|its|their|your|which|including|incl\.?)|['’]s)\s+"
    r"(?:(?:about|roughly|around)\s+)?$",
    re.IGNORECASE,
)
_SPACE = re.compile(r"\s*")
_OF = re.compile(r"\s+of(?:\s+|$)|\s*", re.IGNORECASE)
_FOUND = re.compile(r"\s*(?::|—|–|-\s|,?\s*\d)")
_MIXES = re.compile(r"\s+(?:a\s+)?(?:bedding|slurry)(?!\w)[^,;(]*:", re.IGNORECASE)
_SPENDS = re.compile(r"\s+(?:[$€£¥]\s?\d|\d[\d.,]*\s?\S*\s+(?:on|for)(?!\w))", re.IGNORECASE)
_DATE_LIKE = re.compile(r"(?:the\s+)?(?=\d|[a-z]{3})", re.IGNORECASE)
_YEAR = re.compile(r"(?<!\d)\d{4}(?!\d)")
_AFTER_DATE = re.compile(r"\s*(?:$|[,;(!—–]|\.(?!\d)|-\s)")


def refuse_lost(known: Known, text: str, start: int, end: int) -> None:
    """Raise Unread where the remark from ``start`` to ``end`` holds what the line should have counted."""
    plain = without_parentheses(text, start, end)
    for at in _parts(plain, start):
        refuse_date(text, at)
        _refuse_part(known, plain, at)
    for found in _SOME_NUMBER.finditer(plain, start):
        _refuse_whole_amount(known, plain, found.start(), start)


def refuse_sentences(known: Known, text: str, start: int, end: int) -> None:
    """Raise Unread where a part of these words is a sentence of its own, which would not be counted."""
    plain = without_parentheses(text, start, end)
    for at in beginnings(plain, start):
        _refuse_sentence(known, plain, at)


def refuse_date(text: str, at: int) -> None:
    """Raise Unread where a part is a whole date without "on": its line would be another day's."""
    like = _DATE_LIKE.match(text, at)
    if like is None or _YEAR.search(text, at, at + _LONGEST_DATE) is None:
        return
    try:
        found = read_date(text, like.end())
    except DateProblem as wrong:
        iso, end = wrong.blanks.get("iso", ""), wrong.start + len(wrong.words)
        if not iso or _YEAR.search(wrong.words) is None or wrong.words.isdigit():
            return
    else:
        if found is None:
            return
        end, day = found
        iso = day.isoformat()
    if _AFTER_DATE.match(text, end):
        raise Unread(Fault.BARE_DATE, at, text[at:end], iso=iso)


def without_parentheses(text: str, start: int, end: int) -> str:
    """Give the text up to ``end``, blanks in the places of what stands in parentheses behind ``start``."""
    if text.find("(", start, end) < 0:
        return text[:end]
    opened: list[int] = []
    closed: list[tuple[int, int]] = []
    for found in _PARENTHESIS.finditer(text, start, end):
        if found[0] == "(":
            opened.append(found.start())
        elif opened:
            closed.append((opened.pop(), found.end()))
    pieces, at = [], 0
    for first, last in sorted(closed):
        if first >= at:
            pieces += [text[at:first], " " * (last - first)]
            at = last
    return "".join([*pieces, text[at:end]])


def beginnings(text: str, start: int) -> Iterator[int]:
    """Give where the words of each part begin, behind an "and", "also" or "then"."""
    for at in _parts(text, start):
        lead = _LEADING.match(text, at)
        yield lead.end() if lead else at


def _parts(text: str, start: int) -> Iterator[int]:
    """Give where each part begins."""
    yield start
    for parting in _PARTING.finditer(text, start):
        if parting.end() < len(text):
            yield parting.end()


def _refuse_part(known: Known, text: str, at: int) -> None:
    """Refuse a part that begins with an amount, or with a verb and what it needs."""
    lead = _LEADING.match(text, at)
    at = lead.end() if lead else at
    _refuse_sentence(known, text, at)
    for names in (known.bins, known.givers, known.plantings):
        named = names.match(text, at)
        joint = None if named is None else _WITH.match(text, named[0])
        end = None if joint is None else _amount_end(known, text, joint.end())
        if end is not None:
            raise Unread(Fault.SECOND_AMOUNT, at, text[at:end])
    end = _amount_end(known, text, at)
    if end is not None:
        raise Unread(Fault.SECOND_AMOUNT, at, text[at:end])


def _refuse_whole_amount(known: Known, text: str, at: int, start: int) -> None:
    """Refuse so much of a known material inside a part, unless it was spoken of before: "the 3 lb bread"."""
    words = text[at : at + _LONGEST]
    try:
        quantity = read_quantity(known, words, 0)
    except Unread:
        return
    if quantity is None or quantity[1].kind == "count":
        return
    of = _OF.match(words, quantity[0])
    found = known.materials.match(words, of.end() if of else quantity[0])
    if (
        found is not None
        and BOUNDARY.match(words, found[0])
        and _SPOKEN_OF.search(text, max(start, at - _NEAR), at) is None
    ):
        raise Unread(Fault.SECOND_AMOUNT, at, words[: found[0]])


def _refuse_sentence(known: Known, text: str, at: int) -> None:
    read = read_verb(text, at)
    if read is None:
        return
    end = _sentence_end(known, text, *read)
    if end is not None:
        raise Unread(Fault.SECOND_SENTENCE, at, text[at:end])


def _sentence_end(known: Known, text: str, position: int, verb: Verb) -> int | None:
    """Find where a verb and what it needs right behind it end; None where it is a word like any other."""
    at = _SPACE.match(text, position).end()  # type: ignore[union-attr]  # always matches
    if verb.begins == "amounts":
        return _amount_end(known, text, at)
    if verb.begins in {"bin", "subject"}:
        named = known.bins.match(text, at)
        if named is None and verb.begins == "subject":
            named = known.batch_names.match(text, at)
        behind = _WITH if verb.begins == "bin" else _FOUND
        return named[0] if named is not None and behind.match(text, named[0]) else None
    found = (_MIXES if verb.begins == "batch" else _SPENDS).match(text, position)
    return None if found is None else found.end()


def _amount_end(known: Known, text: str, at: int) -> int | None:
    """Find where an amount ends that begins here, readable or not; None where none is meant."""
    length = _amount_length(known, text[at : at + _LONGEST])
    return None if length is None else at + length


def _amount_length(known: Known, text: str) -> int | None:
    """Find how many signs the amount has that these words begin with, readable or not."""
    try:
        found = read_amount(known, text, 0)
    except Unread:
        pass
    else:
        return None if found is None else found[0]
    try:
        read = read_quantity(known, text, 0)
    except Unread:
        numeral = _NUMERAL.match(text)
        unit = read_unit(text, numeral.end()) if numeral else None
        return None if unit is None or unit[1].kind == "area" else unit[0]
    if read is None or (_ONE.match(text) and not starts_amount(text, 0)):
        return None
    end, quantity = read
    start, words = phrase_at(text, end) if not BOUNDARY.match(text, end) else (end, "")
    if quantity.kind in {"count", "container"}:
        words = re.sub(r"^of\s+", "", words)
        return None if not words or known.materials.nearest(words, _SLIP) is None else start + len(words)
    return start + len(words) if words else end
