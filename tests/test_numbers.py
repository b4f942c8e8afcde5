"""Numbers as people write them: value, doubt, and what is refused because it can mean two things."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal.measures.numbers import NumberProblem, read_number

# text, value, half-width of the last digit, whether an estimate
WRITTEN = [
    ("3", 3, 0.5, False), ("3.25", 3.25, 0.005, False), (".5", 0.5, 0.05, False),
    ("0.50", 0.5, 0.005, False),
    ("1/4", 0.25, 0.125, False), ("¼", 0.25, 0.125, False), ("1 1/2", 1.5, 0.25, False),
    ("1½", 1.5, 0.25, False),
    ("2 ⅔", 2 + 2 / 3, 1 / 6, False), ("1⁄8", 0.125, 0.0625, False), ("1-1/2", 1.5, 0.25, False),
    ("1,250", 1250, 0.5, False), ("1,250.5", 1250.5, 0.05, False), ("12,345,678", 12345678, 0.5, False),
    ("1-2", 1.5, 0.5, True), ("1 to 2", 1.5, 0.5, True), ("1–2", 1.5, 0.5, True), ("2 or 3", 2.5, 0.5, True),
    ("1/4-1/2", 0.375, 0.125, True), ("two to three", 2.5, 0.5, True), ("about 4", 4, 1, True),
    ("~4", 4, 1, True), ("roughly 4", 4, 1, True), ("around 4", 4, 1, True), ("circa 4", 4, 1, True),
    ("about 1-2", 1.5, 0.5, True), ("a", 1, 0.5, False), ("an", 1, 0.5, False), ("half a", 0.5, 0.25, False),
    ("a quarter of a", 0.25, 0.125, False),
    ("three quarters of a", 0.75, 0.125, False),
    ("one and a half", 1.5, 0.25, False), ("a couple of", 2, 0.5, True), ("a dozen", 12, 0, False),
    ("half a dozen", 6, 0, False), ("2 dozen", 24, 6, False), ("a couple of hundred", 200, 50, True),
    ("three thousand", 3000, 500, False), ("twelve", 12, 0.5, False),
    ("٣", 3, 0.5, False),
]  # fmt: skip


@pytest.mark.parametrize(("text", "value", "half", "estimated"), WRITTEN)
def test_a_written_number_has_its_value_and_its_doubt(
    text: str, value: float, half: float, *, estimated: bool
) -> None:
    """A number is known to half of its last digit, a range to half of its width, "about" to a quarter."""
    found = read_number(f"{text} lb", 0)
    assert found is not None
    assert found[0] == len(text)
    assert found[1].value == pytest.approx(value)
    assert found[1].half == pytest.approx(half)
    assert found[1].estimated == estimated


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1,5", 1.5), ("1.250", 1250), ("1.250,5", 1250.5), ("0,75", 0.75), ("2.5", 2.5), ("1,250", 1.25),
        ("0.250", 0.25),
    ],
)  # fmt: skip
def test_a_journal_with_a_decimal_comma_reads_it(text: str, value: float) -> None:
    """With "decimal: comma" a comma is the decimal mark and a point groups thousands."""
    found = read_number(text, 0, comma=True)
    assert found is not None
    assert found == (len(text), found[1])
    assert found[1].value == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "comma", "says"),
    [
        ("1,5", False, "1,5 may mean 1.5 or 15"),
        ("1,25 ", False, "1,25 may mean 1.25 or 125"),
        ("0,250", False, "0,250 may mean 0.250 or 250"),
        ("0,125,000", False, "0,125,000 is no decimal, and no group of thousands begins with 0"),
        ("0.250.000", True, "0.250.000 is no decimal, and no group of thousands begins with 0"),
        ("1.250,5", False, "1.250,5 has its point and its comma the wrong way round"),
        ("1,250.5", True, "1,250.5 has its point and its comma the wrong way round"),
        ("1.250.5", False, "1.250.5 has more than one decimal point"),
        ("3-2", False, "the range 3 to 2 runs backwards"),
        ("1/0", False, "1/0 divides by nothing"),
        ("9" * 16, False, f"{'9' * 15}… is a number of more than 15 digits"),
        ("9" * 5000, False, f"{'9' * 15}… is a number of more than 15 digits"),
        (f"1/{'9' * 5000}", False, "is a number of more than 15 digits"),
    ],
)
def test_what_can_mean_two_things_is_refused(text: str, says: str, *, comma: bool) -> None:
    """A number that can be read in two ways, or in none, is a sentence and never a guess."""
    with pytest.raises(NumberProblem) as caught:
        read_number(text, 0, comma=comma)
    assert says in str(caught.value)


@pytest.mark.parametrize(
    "text", ["", "bread", "lb", "-2", "/2", "aloe", "onerous", "3/4/26", "half-hearted"[5:]]
)
def test_what_is_no_number_is_left_alone(text: str) -> None:
    """Words that only begin like a number are none."""
    assert read_number(text, 0) is None


@given(st.decimals(0, 99_999, places=3, allow_nan=False, allow_infinity=False))
def test_decimals_are_read_exactly(number: object) -> None:
    """Any decimal of up to three places is read as Python reads it, with half of its last digit."""
    found = read_number(str(number), 0)
    assert found is not None
    assert found[1].value == float(str(number))
    assert found[1].half == pytest.approx(0.0005)


@given(st.integers(0, 999), st.integers(1, 64), st.integers(1, 64))
def test_mixed_numbers_are_read_exactly(whole: int, top: int, bottom: int) -> None:
    """Any mixed number is the sum of its parts."""
    found = read_number(f"{whole} {top}/{bottom}", 0)
    assert found is not None
    assert found[1].value == pytest.approx(float(whole + Fraction(top, bottom)))


@given(st.integers(1, 10**9))
def test_grouped_thousands_are_read_exactly(number: int) -> None:
    """Digits in groups of three are one number."""
    found = read_number(f"{number:,}", 0)
    assert found is not None
    assert found[1].value == number


@given(text=st.text(alphabet="0123456789.,/- ½abouthlf~to", max_size=40), comma=st.booleans())
def test_no_text_makes_the_reader_of_numbers_fail(text: str, *, comma: bool) -> None:
    """Whatever stands there, the answer is a number, nothing, or a sentence."""
    try:
        found = read_number(text, 0, comma=comma)
    except NumberProblem:
        return
    assert found is None or (0 < found[0] <= len(text) and found[1].value >= 0 and found[1].half >= 0)
