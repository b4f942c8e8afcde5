"""The lines right below an item's first: which of them are more of its sentence, and which are not.

A sentence may run over several lines, and prose may stand right below one.  What reads as a record of its own
there, or as the date of a day, belongs to neither, and is pointed out.  Where the sentence does not take in
what follows it, that is prose only if nothing in it is to be counted.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from journal.measures.units import UNITS
from journal.notes.amounts import BOUNDARY, Unread, read_amount
from journal.notes.dates import front_date, is_all, is_title
from journal.notes.endings import ON_DATE, read_on_date
from journal.notes.entries import Item
from journal.notes.faults import Fault
from journal.notes.known import Known
from journal.notes.lines import Sentence, read_sentence
from journal.notes.money import read_money
from journal.notes.verbs import BY_NAME, FIRST_WORDS, Tail, Verb, read_verb

Further = tuple[int, int, str, bool]
"""One of ``Item.more``: line, column, text, and whether it stands at the margin."""

_UNIT_WORDS = "|".join(
    re.escape(spelling).replace(r"\ ", r"\s+")
    for unit in UNITS
    if unit.kind != "area"
    for spelling in sorted(unit.spellings, key=len, reverse=True)
)
WEIGHT = re.compile(
    r"(?:\d|[¼½¾⅓⅔⅛⅜⅝⅞]|(?<!\w)(?:a|an|half|one|two|three|four|five|six|couple of|few|some))"
    rf"\s*(?:{_UNIT_WORDS})(?![\w³²'’])",
    re.IGNORECASE,
)
LOOSE = re.compile(r"[ \t>]*([-*+–—•·▪◦]|\d{1,9}[.)](?!\d))?[ \t]*")
_MEASURED = re.compile(rf"[\d¼½¾⅓⅔⅛⅜⅝⅞]\s*(?:{_UNIT_WORDS})(?![\w³²'’])", re.IGNORECASE)
_READING = re.compile(r"\d\s*(?:%|°|[FC](?!\w)|degrees)|(?<!\w)ph\s*\d", re.IGNORECASE)
_COUNTED = re.compile(r"(?<![\w.,])\d+(?:[.,]\d+)?\s+")
_MISSPELT = re.compile(r"[^\W\d_]+\s+(?:of\s+)?")
_FIRST_WORD = re.compile(r"[A-Za-z-]+")
_TIGHT = re.compile(r"[ \t]*(?:[•·▪◦]|[-*+–—](?=[A-Za-z]))")
_JOINT = re.compile(r"(?:and|plus|&|\+)\s+|,\s*", re.IGNORECASE)
_UNFINISHED = re.compile(r"[,;:\-–—]$|\s(?:and|plus|&|\+)$", re.IGNORECASE)
_LEADS_TO_A_DATE = re.compile(
    r"(?:[,;:(]|(?<!\w)(?:on|since|of|from|to|by|until|till|for|before|after|around|about|in|and|or|the|was|is))"
    r"\s*$",
    re.IGNORECASE,
)
_PREPOSITION = re.compile(r"(?<![\w'’-])(from|to|on|with|for|out\s+of)\s+", re.IGNORECASE)
_SIGNED_SUM = re.compile(r"(?:about\s+|~)?(?:[^\w\s.,(\"'“‘]|[A-Z]{2,3})\s?\.?\d")
_MOST_LINES = 6
"""A sentence is looked for in so many further lines where it does not take in all of them."""


class Wrapped(NamedTuple):
    """What an item over several lines says: its sentence's text, and the sentence or what is wrong in it."""

    text: str
    sentence: Sentence | None = None
    wrong: Unread | None = None


def read_wrapped(known: Known, item: Item) -> Wrapped:
    """Read an item over several lines: its sentence, if it begins with a verb, as far as that goes on."""
    verb = None if item.is_open else read_verb(item.text, 0)
    if verb is None:
        return Wrapped(item.text)
    more, whole = _with_own_lines(known, item)
    if verb[1].begins == "batch" and (found := _of_batch(known, item, more, whole)) is not None:
        return found
    starts_anew = bool(more) and more[0][3] and more[0][2][:1].isupper() and item.text[-1:] not in ",;:-–—"
    if whole.wrong is None and not starts_anew:
        return whole
    first = _try(known, item.text)
    if first.wrong is not None:
        return whole
    if not goes_on(known, first, _joined("", more)):
        return first
    return _as_far_as_it_goes(known, item, more) or _left_over(item, more, whole, first)


def own_text(known: Known, item: Item) -> str:
    """Give the text of an item that is no sentence, such as an ingredient, without lines that are not its."""
    more = item.more or []
    return _joined(item.text, more[: first_apart(known, item.text, more, is_surely=True)])


def _with_own_lines(known: Known, item: Item) -> tuple[Sequence[Further], Wrapped]:
    """Give the further lines of an item that are none of their own, and it read with them."""
    more = item.more or []
    whole = _try(known, _joined(item.text, more))
    apart = first_apart(known, item.text, more, is_surely=whole.wrong is None)
    if apart < len(more):
        before = _try(known, _joined(item.text, more[:apart]))
        if before.wrong is None or whole.wrong is not None:
            return more[:apart], before
    return more, whole


def _as_far_as_it_goes(known: Known, item: Item, more: Sequence[Further]) -> Wrapped | None:
    """Read a sentence with as many further lines as leave nothing behind that is to be counted."""
    for used in range(min(len(more), _MOST_LINES), 0, -1):
        part = _try(known, _joined(item.text, more[:used]))
        if part.wrong is None and not goes_on(known, part, _joined("", more[used:])):
            return part
    return None


def _left_over(item: Item, more: Sequence[Further], whole: Wrapped, first: Wrapped) -> Wrapped:
    """Say what is wrong with the lines behind a first one that is whole."""
    if whole.wrong is None:
        return first
    if whole.wrong.start > len(item.text):
        return whole
    return whole._replace(wrong=Unread(Fault.LEFT_OVER, len(item.text) + 1, more[0][2]))


def told_apart(
    known: Known, item: Item, text: str, *, is_surely: bool
) -> Iterator[tuple[int, int, str, Fault, str]]:
    """Give what is to be remarked on behind an item's sentence: line, column, words, fault, ISO date."""
    for line, column, words, at_margin in further_after(item, text):
        if lacks_dash(known, words, is_surely=is_surely):
            mark = LOOSE.match(words).end()  # type: ignore[union-attr]  # always matches
            yield line, column + mark, words[mark:], Fault.NO_DASH, ""
        elif at_margin and heads_a_day(words) and (dated := front_date(words)) is not None:
            yield line, column, words[: dated[0]], Fault.DATE_ALONE, dated[1]


def further_after(item: Item, text: str) -> Sequence[Further]:
    """Give the further lines that stand behind the text of an item's sentence."""
    more = item.more or []
    length = len(item.text)
    for used, (_, _, words, _) in enumerate(more):
        if length >= len(text):
            return more[used:]
        length += 1 + len(words)
    return ()


def _joined(text: str, more: Sequence[Further]) -> str:
    return " ".join([*([text] if text else ()), *(words for _, _, words, _ in more)])


def _try(known: Known, text: str) -> Wrapped:
    try:
        return Wrapped(text, read_sentence(known, text))
    except Unread as wrong:
        return Wrapped(text, wrong=wrong)


# ---- lines of their own


def first_apart(known: Known, text: str, more: Sequence[Further], *, is_surely: bool) -> int:
    """Give the index of the first further line that is none of the item's; their number where all are.

    With ``is_surely`` it is looked for only what can hardly be anything else.
    """
    for index, (_, _, words, at_margin) in enumerate(more):
        before = text if index == 0 else more[index - 1][2]
        if lacks_dash(known, words, is_surely=is_surely) or (
            at_margin and heads_a_day(words) and not _LEADS_TO_A_DATE.search(before)
        ):
            return index
    return len(more)


def lacks_dash(known: Known, words: str, *, is_surely: bool = True) -> bool:
    """Whether a line reads as a record that only lacks its dash.

    A line that cannot be read is one as well if it has a mark or, unless that is to be sure, no capital.
    """
    mark = LOOSE.match(words)
    start = mark.end() if mark is not None else 0
    first = _FIRST_WORD.match(words, start)
    if first is None or first[0].lower() not in FIRST_WORDS:
        return False
    try:
        return read_sentence(known, words[start:]) is not None
    except Unread as wrong:
        if wrong.is_behind_sentence:
            return True
        is_marked = mark is not None and mark[1] is not None
        is_meant = _TIGHT.match(words) is not None if is_surely else is_marked or first[0][0].islower()
        return is_meant and _MEASURED.search(words) is not None


def heads_a_day(words: str) -> bool:
    """Whether a line begins with a whole date that stands alone or has a title behind it."""
    dated = front_date(words)
    return dated is not None and (is_all(words, dated[0]) or is_title(words, dated[0]))


# ---- more of the sentence


def goes_on(known: Known, read: Wrapped, words: str) -> bool:
    """Whether words behind a sentence, which does not take them in, hold more of it and not prose alone."""
    sentence = read.sentence
    if not words or sentence is None:
        return False
    joint = _JOINT.match(words)
    if _UNFINISHED.search(read.text) or (joint is not None and _is_amount(known, words, joint.end())):
        return True
    if _opens_with_a_part(known, sentence, words):
        return True
    if words[:1].isupper():
        return False
    return (
        holds_measure(known, words)
        or _MEASURED.search(words) is not None
        or (sentence.verb == "checked" and _READING.search(words) is not None)
        or _counts_a_thing(known, words)
        or _is_dated(words)
        or any(_names_a_part(known, sentence, found, words) for found in _PREPOSITION.finditer(words))
    )


def _opens_with_a_part(known: Known, sentence: Sentence, words: str) -> bool:
    """Whether the first of the words join a part to the sentence: "from Dee", "for $9.50"."""
    found = _PREPOSITION.match(words)
    if found is None:
        return False
    if words[:1].isupper():
        return _names_a_part(known, sentence, found, words)
    tail = _open_tail(sentence, found)
    if tail is not None and tail.slot in {"giver", "home", "source", "shop"}:
        return True
    names = (known.bins, known.givers, known.plantings)
    return _names_a_part(known, sentence, found, words) or any(
        _is_named(words, name.match(words, found.end())) for name in names
    )


def _names_a_part(known: Known, sentence: Sentence, found: re.Match[str], words: str) -> bool:
    """Whether a preposition leads to a known name, or a sum, that the sentence has room for."""
    tail = _open_tail(sentence, found)
    end = found.end()
    if tail is None:
        return False
    if tail.slot == "money":
        return _is_sum(known, words, end)
    if tail.slot == "source":
        return _is_named(words, known.bins.match(words, end)) or _is_named(
            words, known.materials.match(words, end)
        )
    if tail.slot == "home":
        return _is_named(words, known.bins.match(words, end)) or _is_named(
            words, known.givers.match(words, end)
        )
    return tail.slot == "giver" and _is_named(words, known.givers.match(words, end))


_FIELDS: dict[str, Callable[[Sentence], object]] = {
    "giver": lambda sentence: sentence.giver,
    "home": lambda sentence: sentence.source_bin or sentence.giver,
    "source": lambda sentence: sentence.out_of,
    "money": lambda sentence: sentence.money,
    "shop": lambda sentence: sentence.words,
}
"""What fills the parts that a sentence may go without."""


def _open_tail(sentence: Sentence, found: re.Match[str]) -> Tail | None:
    """Give the part that a preposition would join to the sentence if it has room for it."""
    verb: Verb = BY_NAME[sentence.verb]
    tail = verb.by_preposition.get(" ".join(found[1].lower().split()))
    if tail is None or tail.slot not in _FIELDS or _FIELDS[tail.slot](sentence):
        return None
    return tail


def _is_named(words: str, match: tuple[int, object] | None) -> bool:
    return match is not None and BOUNDARY.match(words, match[0]) is not None


def _is_sum(known: Known, words: str, position: int) -> bool:
    if _SIGNED_SUM.match(words, position):
        return True
    try:
        return read_money(known, words, position) is not None
    except Unread:
        return True


def holds_measure(known: Known, words: str) -> bool:
    """Whether words count a household measure, as in "3 bags for tomorrow"."""
    return any(known.containers.match(words, found.end()) is not None for found in _COUNTED.finditer(words))


def _is_amount(known: Known, words: str, position: int) -> bool:
    """Whether an amount begins here that can be read, or has a unit."""
    try:
        return read_amount(known, words, position) is not None
    except Unread:
        return _MEASURED.search(words, position) is not None


def _counts_a_thing(known: Known, words: str) -> bool:
    """Whether words hold a number of a known thing, at once or behind a word: "5 eggshells", "2 lsb grit"."""
    for found in _COUNTED.finditer(words):
        unit = _MISSPELT.match(words, found.end())
        if known.materials.match(words, found.end()) is not None or (
            unit is not None and known.materials.match(words, unit.end()) is not None
        ):
            return True
    return False


def _is_dated(words: str) -> bool:
    """Whether words begin with a date of the line's own, or have one behind a comma."""
    for found in ON_DATE.finditer(words):
        if found.start() == 0 or found[0].lstrip()[:1] in {",", ";"}:
            try:
                if read_on_date(words, found.start()) is not None:
                    return True
            except Unread:
                return True
    return False


# ---- batches


def _of_batch(known: Known, item: Item, more: Sequence[Further], whole: Wrapped) -> Wrapped | None:
    """Keep further lines out of a batch's name; what is in the batch is to have a colon or dashes there."""
    first = _try(known, item.text)
    if not more or ":" in item.text or first.sentence is None:
        return None
    if whole.sentence is not None and whole.sentence.batch == first.sentence.batch:
        return None
    position = len(item.text) + 1
    for _, _, words, _ in more:
        if _MEASURED.search(words) or holds_measure(known, words) or _counts_a_thing(known, words):
            ingredient = words[LOOSE.match(words).end() :].rpartition(":")[2].strip()  # type: ignore[union-attr]  # always matches
            wrong = Unread(Fault.INGREDIENT_WITHOUT_DASH, position, words, ingredient=ingredient)
            return Wrapped(whole.text, wrong=wrong)
        position += len(words) + 1
    return first if whole.sentence is not None else None
