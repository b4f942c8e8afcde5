"""Numbers as people write them in a diary, with the doubt that their last digit carries.

``3``, ``3.25``, ``.5``, ``1/4``, ``¼``, ``1 1/2``, ``1½``, ``1,250``; ranges ``1-2``, ``1 to 2``,
``1–2``; ``about``, ``~``, ``roughly``; ``a``, ``half a``, ``a couple of``, and number words to twelve.
A written number is known to half of its last digit (a rectangular distribution); a fraction to half
of its smallest part; ``about`` to a quarter of itself; a range to half of its width.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from journal.measures.letters import small_letters

ABOUT = 0.25
"""The share of itself by which "about" may be off, either way (common practice, no published source)."""

_VULGAR = {
    "¼": (1, 4), "½": (1, 2), "¾": (3, 4), "⅓": (1, 3), "⅔": (2, 3), "⅕": (1, 5), "⅖": (2, 5), "⅗": (3, 5),
    "⅘": (4, 5), "⅙": (1, 6), "⅚": (5, 6), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
}  # fmt: skip
_COUNTED = "one two three four five six seven eight nine ten eleven twelve".split()
_WORDS: dict[str, tuple[float, float, bool]] = {
    # words: value, half-width, whether it is an estimate by its very words
    "half a dozen": (6, 0, False), "half of a": (0.5, 0.25, False), "half of an": (0.5, 0.25, False),
    "half a": (0.5, 0.25, False), "half an": (0.5, 0.25, False), "a half": (0.5, 0.25, False),
    "half": (0.5, 0.25, False), "quarter of a": (0.25, 0.125, False), "quarter": (0.25, 0.125, False),
    "a quarter of a": (0.25, 0.125, False), "a quarter": (0.25, 0.125, False),
    "three quarters of a": (0.75, 0.125, False), "three quarters": (0.75, 0.125, False),
    "a couple of": (2, 0, True), "a couple": (2, 0, True), "a pair of": (2, 0, False),
    "a dozen": (12, 0, False), "a": (1, 0.5, False), "an": (1, 0.5, False),
    **{word: (value, 0.5, False) for value, word in enumerate(_COUNTED, start=1)},
    **{f"{word} and a half": (value + 0.5, 0.25, False) for value, word in enumerate(_COUNTED, start=1)},
}  # fmt: skip

_GLYPHS = "".join(_VULGAR)
_NUMERAL = (
    r"(?:\d+\s+\d+\s*[/⁄]\s*\d+|\d+\s*[/⁄]\s*\d+|\d*\s?["
    + _GLYPHS
    + r"]|\d{1,3}(?:[,.]\d{3})+(?:[.,]\d+)?|\d+(?:[.,]\d+)?|[.,]\d+)(?![\d/⁄])"
)
_ABOUT = r"(?:~\s*|≈\s*|(?:about|roughly|around|approximately|approx\.?|circa|ca\.?|some)\s+)"
_WORD = "|".join(words.replace(" ", r"\s+") for words in sorted(_WORDS, key=len, reverse=True))
_COUNT = "|".join(_COUNTED)
_NUMBER = re.compile(
    rf"(?P<about>{_ABOUT})?"
    rf"(?:(?P<low>{_NUMERAL})(?:\s*(?:-|–|—|\bto\b|\bor\b)\s*(?P<high>{_NUMERAL}))?"
    rf"|(?P<low_word>{_COUNT})\s+(?:to|or)\s+(?P<high_word>{_COUNT})\b|(?P<word>{_WORD})\b)"
    r"(?:\s+(?P<times>dozen|hundred|thousand)\b)?",
    re.IGNORECASE,
)
_TIMES = {"dozen": 12, "hundred": 100, "thousand": 1000}
_LONGEST = 15
"""Digits in a number; more than a double can hold are a slip of the hand."""


class NumberProblem(ValueError):
    """A number that can be read in two ways or in none; the message is a sentence for the keeper.

    ``comma`` tells that the question is what its comma means.
    """

    def __init__(self, sentence: str, *, comma: bool = False) -> None:
        super().__init__(sentence)
        self.comma = comma


class Number(NamedTuple):
    """A number and how far its writing leaves it open: ``half`` is a rectangular half-width."""

    value: float
    half: float
    whole: bool  # a plain whole number, so a count of things is exact
    estimated: bool  # about, a couple of, or a range


def read_number(
    text: str, position: int, *, comma: bool = False, about: float = ABOUT
) -> tuple[int, Number] | None:
    """Read a number of ``text`` at ``position``: the position behind it and the number, or None.

    ``comma`` says that the journal writes decimals with a comma.  Raises NumberProblem where the
    digits can be read in two ways (``1,5`` in a journal with a decimal point) or divide by nothing.
    """
    found = _NUMBER.match(text, position)
    if found is None:
        return None
    estimated = found["about"] is not None
    if found["word"] is not None:
        value, half, guess = _WORDS[small_letters(found["word"])]
        estimated = estimated or guess
        whole = value == int(value)
    elif found["low_word"] is not None:
        bottom, top = (_COUNTED.index(small_letters(found[end])) + 1 for end in ("low_word", "high_word"))
        value, half, whole, ranged = _range(str(bottom), str(top), comma=comma)
        estimated = True
    elif found["high"] is None:
        value, half, whole = _numeral(found["low"], comma=comma)
    else:
        value, half, whole, ranged = _range(found["low"], found["high"], comma=comma)
        estimated = estimated or ranged
    if found["about"] is not None or (estimated and found["word"] is not None):
        half = max(half, about * value)
    times = 1 if found["times"] is None else _TIMES[small_letters(found["times"])]
    return found.end(), Number(value * times, half * times, whole, estimated)


def _range(low: str, high: str, *, comma: bool) -> tuple[float, float, bool, bool]:
    """Read a range: its middle, half its width, whether its ends are whole, whether it is one at all."""
    bottom, _, whole_bottom = _numeral(low, comma=comma)
    top, half_top, whole_top = _numeral(high, comma=comma)
    if top >= bottom:
        return (bottom + top) / 2, (top - bottom) / 2, whole_bottom and whole_top, True
    if whole_bottom and "/" in high and top < 1:  # 1-1/2 is how a tape measure writes 1½
        return bottom + top, half_top, False, False
    raise NumberProblem(f"the range {low} to {high} runs backwards")


def _numeral(digits: str, *, comma: bool) -> tuple[float, float, bool]:
    """Read one numeral: its value, half of its last digit, and whether it is a plain whole number."""
    if len(digits) > _LONGEST and sum(map(str.isdigit, digits)) > _LONGEST:
        raise NumberProblem(f"{digits[:_LONGEST]}… is a number of more than {_LONGEST} digits")
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
        # A group of thousands never begins with nought: "0,250" is a decimal of the other kind.
        grouped = re.fullmatch(rf"(?!0)\d{{1,3}}(?:\{group}\d{{3}})+(?:\{point}\d+)?", digits)
        if grouped is not None:
            digits = digits.replace(group, "")
        elif digits.startswith("0") and digits.count(group) > 1:
            raise NumberProblem(f"{digits} is no decimal, and no group of thousands begins with 0")
        elif point in digits:
            raise NumberProblem(f"{digits} has its point and its comma the wrong way round", comma=True)
        elif comma:
            # "2.5" and "0.250" may still be copied off a scale: no group of thousands, so one meaning.
            digits = digits.replace(".", ",")
        else:
            whole = digits.replace(",", "").lstrip("0") or "0"
            raise NumberProblem(f"{digits} may mean {digits.replace(',', '.')} or {whole}", comma=True)
    whole, _, part = digits.partition(point)
    if point in part:
        raise NumberProblem(f"{digits} has more than one decimal {'comma' if comma else 'point'}")
    return float(f"{whole or 0}.{part or 0}"), 0.5 * 10.0 ** -len(part), not part
