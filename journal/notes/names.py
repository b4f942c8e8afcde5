"""Names compared as people mean them: ignoring case, "the" and plurals; and the nearest known name."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

_IRREGULAR = {"leaves": "leaf", "loaves": "loaf", "halves": "half", "knives": "knife", "mice": "mouse", "tomatoes": "tomato",
              "potatoes": "potato", "mangoes": "mango", "boxes": "box", "radishes": "radish", "squashes": "squash",
              "peaches": "peach", "branches": "branch", "bunches": "bunch", "ashes": "ash", "brushes": "brush"}  # fmt: skip
_NEVER = frozenset({"grass", "moss", "glass", "asparagus", "couscous", "citrus", "hummus", "molasses", "hops", "swiss", "lentils"})
_SPACES = re.compile(r"[\s_]+")


@lru_cache(maxsize=65536)
def fold(name: str) -> str:
    """Fold a name to the form in which names are compared: small letters, no "the", every word singular."""
    words = _SPACES.sub(" ", name.replace("’", "'").replace("‑", "-").strip(" .;:!")).casefold().split(" ")
    if len(words) > 1 and words[0] in {"the", "our", "some"}:
        words = words[1:]
    return " ".join(_singular(word) for word in words)


def _singular(word: str) -> str:
    if word in _IRREGULAR:
        return _IRREGULAR[word]
    if len(word) <= 3 or word in _NEVER or not word.endswith("s") or word.endswith(("ss", "us", "is")):  # noqa: PLR2004
        return word
    if word.endswith("ies"):
        return word[:-3] + "y"
    return word[:-1]


def nearest(words: str, known: Iterable[str]) -> str | None:
    """Give the known name nearest to the words, or None where none is near."""
    from difflib import get_close_matches  # noqa: PLC0415 - wanted only where something is wrong

    by_fold = {fold(name): name for name in known}
    found = get_close_matches(fold(words), list(by_fold), n=1, cutoff=0.6)
    return by_fold[found[0]] if found else None
