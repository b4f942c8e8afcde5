"""Small letters as patterns that ignore case see them, and signs that no page can hold."""

from __future__ import annotations

import re

# To a pattern that ignores case, ſ is an s, and ı and İ are an i.
_LIKE = str.maketrans({"ſ": "s", "ı": "i", "İ": "i", "\N{KELVIN SIGN}": "k"})


def small_letters(words: str) -> str:
    """Give what a pattern of words matched, whatever its case and spaces, as it stands in the pattern."""
    return " ".join(words.translate(_LIKE).lower().split())


# What XML 1.0 or HTML forbids of what UTF-8 can write; and which of it parts words, as a space does.
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ufffe\uffff]")
_CONTROLS = bytes(number for number in range(128) if _FORBIDDEN.match(chr(number)))
_PARTING = frozenset("\x0b\x0c\x1c\x1d\x1e\x1f\x85")


def holds_forbidden(text: str) -> bool:
    """Whether a text holds a sign that no page and no feed may hold."""
    if text.isascii():  # as most is: looked at as bytes, ten times as fast
        written = text.encode("ascii")
        return len(written.translate(None, _CONTROLS)) != len(written)
    return _FORBIDDEN.search(text) is not None


def without_forbidden(text: str) -> str:
    """Give a text with spaces, or marks of what cannot be shown, in the places of forbidden signs."""
    return _FORBIDDEN.sub(lambda found: " " if found[0] in _PARTING else "\ufffd", text)
