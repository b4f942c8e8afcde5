"""Small letters as patterns that ignore case see them: to them ſ is an s, and ı and İ are an i."""

from __future__ import annotations

_LIKE = str.maketrans({"ſ": "s", "ı": "i", "İ": "i", "\N{KELVIN SIGN}": "k"})


def small_letters(words: str) -> str:
    """Give what a pattern of words matched, whatever its case and spaces, as it stands in the pattern."""
    return " ".join(words.translate(_LIKE).lower().split())
