"""Numbers as people write them in a diary, with the doubt that their last digit carries.

``3``, ``3.25``, ``.5``, ``1/4``, ``¼``, ``1 1/2``, ``1½``, ``1,250``; ranges ``1-2``, ``1 to 2``,
``1–2``; ``about``, ``~``, ``roughly``; ``a``, ``half a``, ``a couple of``, and number words to twelve.
A written number is known to half of its last digit (a rectangular distribution); a fraction to half
of its smallest part; ``about`` to a quarter of itself; a range to half of its width.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

ABOUT = 0.25
"""The share of itself by which "about" may be off, either way (common practice, no published source)."""

_VULGAR = {
    "¼": (1, 4), "½": (1, 2), "¾": (3, 4), "⅓": (1, 3), "⅔": (2, 3), "⅕": (1, 5), "⅖": (2, 5), "⅗": (3, 5),
    "⅘": (4, 5), "⅙": (1, 6), "⅚": (5, 6), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
}  # fmt: skip
_WORDS: dict[str, tuple[float, float, bool]] = {
    # words: value, half-width, whether it is an estimate by its very words
    "half a dozen": (6, 0, False), "half of a": (0.5, 0.25, False), "half of an": (0.5, 0.25, False),
    "half a": (0.5, 0.25, False), "half an": (0.5, 0.25, False), "a half": (0.5, 0.25, False), "half": (0.5, 0.25, False),
    "a quarter of a": (0.25, 0.125, False), "a quarter": (0.25, 0.125, False), "quarter of a": (0.25, 0.125, False),
    "three quarters of a": (0.75, 0.125, False), "three quarters": (0.75, 0.125, False), "quarter": (0.25, 0.125, False),
    "one and a half": (1.5, 0.25, False), "a couple of": (2, 0, True), "a couple": (2, 0, True), "a pair of": (2, 0, False),
    "a dozen": (12, 0, False), "a": (1, 0.5, False), "an": (1, 0.5, False),
    **{word: (value, 0.5, False) for value, word in enumerate(
        "one two three four five six seven eight nine ten eleven twelve".split(), start=1)},
}  # fmt: skip

_GLYPHS = "".join(_VULGAR)
_NUMERAL = (
    r"(?:\d+\s+\d+\s*[/⁄]\s*\d+|\d+\s*[/⁄]\s*\d+|\d*\s?[" + _GLYPHS + r"]|\d{1,3}(?:[,.]\d{3})+(?:[.,]\d+)?|\d+(?:[.,]\d+)?|[.,]\d+)(?![\d/⁄])"
)
_ABOUT = r"(?:~\s*|≈\s*|(?:about|roughly|around|approximately|approx\.?|circa|ca\.?|some)\s+)"
_WORD = "|".join(words.replace(" ", r"\s+") for words in sorted(_WORDS, key=len, reverse=True))
_NUMBER = re.compile(
    rf"(?P<about>{_ABOUT})?(?:(?P<low>{_NUMERAL})(?:\s*(?:-|–|—|\bto\b)\s*(?P<high>{_NUMERAL}))?|(?P<word>{_WORD})\b)",
    re.IGNORECASE,
)


class NumberProblem(ValueError):
    """A number that can be read in two ways or in none; the message is a sentence for the keeper."""


@dataclass(frozen=True, slots=True)
class Number:
    """A number and how far its writing leaves it open: ``half`` is a rectangular half-width in the same unit."""

    value: float
    half: float
    whole: bool  # a plain whole number, so a count of things is exact
    estimated: bool  # about, a couple of, or a range


def read_number(text: str, position: int, *, comma: bool = False, about: float = ABOUT) -> tuple[int, Number] | None:
    """Read a number of ``text`` at ``position``: the position behind it and the number, or None.

    ``comma`` says that the journal writes decimals with a comma.  Raises NumberProblem where the
    digits can be read in two ways (``1,5`` in a journal with a decimal point) or divide by nothing.
    """
    found = _NUMBER.match(text, position)
    if found is None:
        return None
    estimated = found["about"] is not None
    if found["word"] is not None:
        value, half, guess = _WORDS[" ".join(found["word"].lower().split())]
        estimated = estimated or guess
        whole = value == int(value)
    else:
        value, half, whole = _numeral(found["low"], comma=comma)
        if found["high"] is not None:
            upper, _, whole_upper = _numeral(found["high"], comma=comma)
            if upper < value:
                raise NumberProblem(f"the range {found['low']} to {found['high']} runs backwards")
            value, half, whole, estimated = (value + upper) / 2, (upper - value) / 2, whole and whole_upper, True
    if found["about"] is not None or (estimated and found["word"] is not None):
        half = max(half, about * value)
    return found.end(), Number(value, half, whole, estimated)


def _numeral(digits: str, *, comma: bool) -> tuple[float, float, bool]:
    """Read one numeral: its value, half of its last digit, and whether it is a plain whole number."""
    if digits[-1] in _VULGAR:
        top, bottom = _VULGAR[digits[-1]]
        whole_part = digits[:-1].strip()
        return (int(whole_part) if whole_part else 0) + top / bottom, 0.5 / bottom, False
    if "/" in digits or "⁄" in digits:
        *whole_digits, top_digits, bottom_digits = re.split(r"\s*[/⁄]\s*|\s+", digits)
        if int(bottom_digits) == 0:
            raise NumberProblem(f"{digits} divides by nothing")
        whole_value = int(whole_digits[0]) if whole_digits else 0
        return whole_value + int(top_digits) / int(bottom_digits), 0.5 / int(bottom_digits), False
    return _decimal(digits, comma=comma)


def _decimal(digits: str, *, comma: bool) -> tuple[float, float, bool]:
    point, group = (",", ".") if comma else (".", ",")
    if group in digits:
        grouped = re.fullmatch(rf"\d{{1,3}}(?:\{group}\d{{3}})+(?:\{point}\d+)?", digits)
        if grouped is not None:
            digits = digits.replace(group, "")
        elif comma:
            # A journal with a decimal comma may still copy "2.5" off a scale: no group of three, so one meaning.
            digits = digits.replace(".", ",")
        else:
            raise NumberProblem(
                f"{digits} may mean {digits.replace(',', '.')} or {digits.replace(',', '')}: "
                f"write {digits.replace(',', '.')}, or put 'decimal: comma' under household in household.yaml"
            )
    whole, _, part = digits.partition(point)
    return float(f"{whole or 0}.{part or 0}"), 0.5 * 10.0 ** -len(part), not part
