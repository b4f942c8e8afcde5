"""Names compared as people mean them: ignoring case, "the" and plurals; and the nearest known name.

A name is a row of words and signs.  Two names are one when their rows are, each word in small letters
and singular, a leading "the", "our" or "some" left out.  Marks that show nothing (a direction mark, a
variation selector, a soft hyphen) are passed over.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from functools import lru_cache
from heapq import nsmallest
from typing import Any, Generic, TypeVar

UNSEEN = "\u00ad\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufe00-\ufe0f\ufeff"
"""Marks that show nothing, as signs of an expression's class."""

_NOTHING = re.compile(f"[{UNSEEN}]+")
_TOKEN = re.compile(rf"[\s{UNSEEN}]*([^\W_]+(?:['’][^\W_]+)*|[^\w\s{UNSEEN}]|_)")
_AROUND = " .;:!"
ARTICLES = frozenset({"the", "our", "some"})
_IRREGULAR = {
    "leaves": "leaf", "loaves": "loaf", "halves": "half", "knives": "knife", "shelves": "shelf",
    "calves": "calf", "mice": "mouse", "geese": "goose", "feet": "foot", "teeth": "tooth", "people": "person",
    "children": "child",
}  # fmt: skip
_DOUBLED = re.compile(r"(?:x|ch|sh|ss|z|o)e$")  # box-es, peach-es, radish-es, tomato-es
_ENDINGS = ("", "s", "e", "es", "y", "ie", "ies")
_REMEMBERED = 65536
_SHORT = 3


def _singular(word: str) -> str:
    """Give one word's form for comparing: "berries" and "berry", "boxes" and "box" are the same."""
    if word in _IRREGULAR:
        return _IRREGULAR[word]
    if len(word) <= _SHORT:
        return word
    if word.endswith("s") and not word.endswith(("ss", "us", "is")):
        word = word[:-1]
    if word.endswith("ie"):
        return word[:-2] + "y" if len(word) > _SHORT else word
    return word[:-1] if _DOUBLED.search(word) else word


def spellings(word: str) -> list[str]:
    """Give all spellings of a word that compare as it does: "berry", "berrys", "berries" for "berry"."""
    one = _singular(word.casefold())
    odd = (many for many, single in _IRREGULAR.items() if single == one)
    stems = {base[: len(base) - cut] for base in (word, one, *odd) for cut in range(4)}
    tried = {stem + ending for stem in stems for ending in _ENDINGS}
    return sorted(other for other in tried if _singular(other.casefold()) == one)


def one_of(things: str) -> str:
    """Give what one of several things is called: "bag" for "bags", "grocery bag" for "grocery bags"."""
    rest, space, last = things.rpartition(" ")
    one = _singular(last.casefold())
    return rest + space + (last if one == last.casefold() else one)


class _Words(dict[str, str]):
    """Each word met, with its form for comparing."""

    def __missing__(self, word: str) -> str:
        if len(self) >= _REMEMBERED:
            self.clear()
        self[word] = folded = _singular(word.replace("’", "'").casefold())
        return folded


_WORDS = _Words()


def tokens(name: str) -> tuple[str, ...]:
    """Give the row of words and signs by which a name is compared."""
    if name.isascii() and name.replace(" ", "").isalpha():  # most names are plain words
        row = tuple([_WORDS[word] for word in name.split(" ") if word])
    else:
        plain = _NOTHING.sub("", name.strip(_AROUND))
        row = tuple([_WORDS[found[1]] for found in _TOKEN.finditer(plain)])
    return row[1:] if len(row) > 1 and row[0] in ARTICLES else row


def words_of(name: str) -> list[str]:
    """Give the words and signs of a name as they are written, a leading article left out."""
    row = _TOKEN.findall(_NOTHING.sub("", name.strip(_AROUND)))
    return row[1:] if len(row) > 1 and row[0].casefold() in ARTICLES else row


@lru_cache(maxsize=_REMEMBERED)
def fold(name: str) -> str:
    """Give the form in which names are compared, as one text."""
    return " ".join(tokens(name))


Value = TypeVar("Value")


class Names(Generic[Value]):
    """Names that are looked for in running text, the longest first, each standing for a value."""

    def __init__(self, pairs: Iterable[tuple[str, Value]] = ()) -> None:
        """Take spellings and what each stands for; a later pair of one spelling replaces an earlier one."""
        self._root: dict[str, Any] = {}
        self._spellings: dict[str, str] = {}
        self._values: dict[str, Value] = {}
        self._alphabet: _Alphabet | None = None
        self._nearest: dict[tuple[str, float], str | None] = {}
        for spelling, value in pairs:
            self.add(spelling, value)

    def add(self, spelling: str, value: Value) -> None:
        """Add one spelling."""
        self.add_folded(fold(spelling), spelling, value)

    def add_folded(self, folded: str, spelling: str, value: Value) -> None:
        """Add one spelling whose form for comparing is known."""
        if not folded:
            return
        node = self._root
        for token in folded.split(" "):
            node = node.setdefault(token, {})
        node[""] = value
        self._alphabet = None
        self._spellings[folded] = spelling
        self._values[folded] = value

    def __contains__(self, name: str) -> bool:
        return fold(name) in self._values

    def __iter__(self) -> Iterator[str]:
        return iter(self._spellings.values())

    def get(self, name: str) -> Value | None:
        """Give what a whole name stands for, or None."""
        return self._values.get(fold(name))

    def spelling(self, name: str) -> str | None:
        """Give a known name as it was first written, or None."""
        return self._spellings.get(fold(name))

    def match(self, text: str, position: int) -> tuple[int, Value] | None:
        """Read the longest name of ``text`` at ``position``: the position behind it and its value."""
        token = _TOKEN.match
        words = _WORDS
        found = token(text, position)
        if found is None:
            return None
        node = self._root.get(words[found[1]])
        if node is None:
            if words[found[1]] not in ARTICLES:
                return None
            found = token(text, found.end())
            node = self._root.get(words[found[1]]) if found is not None else None
        best: tuple[int, Value] | None = None
        while node is not None and found is not None:
            if "" in node:
                best = found.end(), node[""]
            found = token(text, found.end())
            if found is None:
                break
            node = node.get(words[found[1]])
        return best

    def within(self, text: str) -> Iterator[tuple[int, int, Value]]:
        """Find the names that stand in running text: where each begins and ends, and its value."""
        end = 0
        for token in _TOKEN.finditer(text):
            found = self.match(text, token.start(1)) if token.start(1) >= end else None
            if found is not None:
                end = found[0]
                yield token.start(1), end, found[1]

    def begins_with(self, token: str) -> bool:
        """Whether a name begins with this word."""
        return _WORDS[token] in self._root

    def nearest(self, words: str, near: float = 0.7) -> str | None:
        """Give the known name nearest to the words, or None where none is near."""
        if self._alphabet is None:
            self._alphabet = _Alphabet(self._spellings.values())
            self._nearest.clear()
        key = words[:_LONGEST], near
        if key not in self._nearest:
            if len(self._nearest) >= _REMEMBERED:
                self._nearest.clear()
            self._nearest[key] = self._alphabet.nearest(words, near)
        return self._nearest[key]


_NEAR = 0.7
_TRIED = 12
_LONGEST = 80


def nearest(words: str, known: Iterable[str], near: float = _NEAR) -> str | None:
    """Give the known name nearest to the words, or None where none is as near as ``near`` (1: the same)."""
    return _Alphabet(known).nearest(words, near)


class _Alphabet:
    """Names by the pairs of letters in them: only those that share many are compared letter by letter."""

    def __init__(self, names: Iterable[str]) -> None:
        self.names = sorted(set(names))
        self.sizes: list[int] = []
        self.holders: dict[str, list[int]] = {}
        for index, name in enumerate(self.names):
            pairs = _pairs(name.casefold())
            self.sizes.append(len(pairs))
            for pair in pairs:
                self.holders.setdefault(pair, []).append(index)

    def nearest(self, words: str, near: float) -> str | None:
        """Give the name nearest to the words; of two that are as near, the first by the alphabet."""
        from difflib import SequenceMatcher

        wanted = " ".join(words[:_LONGEST].casefold().split())
        pairs = _pairs(wanted)
        shared: Counter[int] = Counter()
        for pair in pairs:
            shared.update(self.holders.get(pair, ()))
        ranked = nsmallest(
            _TRIED,
            ((-2 * count / (len(pairs) + self.sizes[index]), index) for index, count in shared.items()),
        )
        matcher = SequenceMatcher(b=wanted, autojunk=False)
        best, best_ratio = None, near
        for _, index in ranked:
            matcher.set_seq1(self.names[index].casefold())
            if matcher.real_quick_ratio() < best_ratio or matcher.quick_ratio() < best_ratio:
                continue
            ratio = matcher.ratio()
            if ratio > best_ratio or (best is None and ratio >= near):
                best, best_ratio = self.names[index], ratio
        return best


def _pairs(name: str) -> frozenset[str]:
    padded = f" {name} "
    return frozenset(padded[at : at + 2] for at in range(len(padded) - 1))


def meant(name: str | None) -> str:
    """Give the end of a sentence that shows the nearest known name, or nothing."""
    return "" if name is None else f'; did you mean "{name}"?'
