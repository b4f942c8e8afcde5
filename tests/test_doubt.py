"""Doubt follows the GUM (JCGM 100:2008); the outside reference is the package `uncertainties`."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from journal.measures.doubt import COVERAGE, Doubtful, Sum, rectangular, rounded, total

CAUSES = ("density of coffee grounds", "density of coir", "bag of shredded paper")
numbers = st.floats(0.01, 1000)
doubts = st.floats(0, 5)


def test_a_rectangular_half_width_is_divided_by_the_root_of_three() -> None:
    """JCGM 100:2008, 4.3.7: u = a / sqrt(3)."""
    assert rectangular(0.005) == pytest.approx(0.005 / 3**0.5)


def test_independent_doubts_add_in_quadrature() -> None:
    """JCGM 100:2008, 5.1.2: for a plain sum u² is the sum of the u²."""
    assert total([Doubtful(1, 3.0), Doubtful(2, 4.0)]).standard == pytest.approx(5.0)


def test_shared_doubts_add_linearly() -> None:
    """JCGM 100:2008, 5.2.2 with r = 1: ten equal values with one common cause have ten times its doubt."""
    whole = total(Doubtful(1, 0, {"density of coir": 0.1}) for _ in range(10))
    assert whole.standard == pytest.approx(1.0)


def test_ten_resistors_in_series() -> None:
    """JCGM 100:2008, 5.2.2: ten resistors compared with one standard of u = 0.1 ohm have u = 1 ohm."""
    whole = total(Doubtful(1000, 0, {"the standard": 0.1}) for _ in range(10))
    assert whole.value == pytest.approx(10_000)
    assert whole.standard == pytest.approx(1.0)


@given(
    st.lists(
        st.tuples(
            numbers,
            doubts,
            st.dictionaries(st.sampled_from(CAUSES), doubts),
            st.sampled_from([1.0, 0.4, -1.0]),
        ),
        min_size=1,
        max_size=12,
    )
)
def test_sums_agree_with_the_reference_package(
    parts: list[tuple[float, float, dict[str, float], float]],
) -> None:
    """Any sum of values with own and shared doubts has the doubt that `uncertainties` gives it."""
    causes = {name: ufloat(0, 1) for name in CAUSES}
    expected = 0 * causes[CAUSES[0]]
    sums = Sum()
    for value, own, shared, times in parts:
        term = (ufloat(value, own) if own else value) + sum(
            part * causes[name] for name, part in shared.items()
        )
        expected = expected + times * term
        sums.add(value, own, shared, times)
    assert sums.value == pytest.approx(expected.nominal_value, abs=1e-9)
    assert sums.expanded == pytest.approx(COVERAGE * expected.std_dev, rel=1e-9, abs=1e-9)


@given(st.floats(-1e7, 1e7), st.floats(1e-9, 1e6))
def test_print_carries_two_digits_of_doubt_and_no_more(value: float, doubt: float) -> None:
    """JCGM 100:2008, 7.2.6: at most two significant digits of doubt, and the value to the same place."""
    shown, shown_doubt = (text.replace(",", "") for text in rounded(value, doubt))
    digits = shown_doubt.replace(".", "").strip("0")
    assert 1 <= len(digits) <= 2
    assert len(shown.partition(".")[2]) == len(shown_doubt.partition(".")[2])
    step = 10.0 ** math.floor(math.log10(float(shown_doubt)))
    assert abs(float(shown) - value) <= step / 2 + 1e-9 * abs(value)
    assert float(shown_doubt) == pytest.approx(doubt, rel=0.051)


@pytest.mark.parametrize(
    ("value", "doubt", "shown"),
    [
        (
            10.02147,
            0.00079,
            ("10.02147", "0.00079"),
        ),  # JCGM 100:2008, 7.2.2: m = 100.02147 g, u = 0.35 mg, k = 2.26
        (1234.5, 96.0, ("1,234", "96")),
        (9.9, 0.0996, ("9.90", "0.10")),
        (0.0, 0.0, ("0", "0")),
        (float("nan"), 1.0, ("unknown", "unknown")),
    ],
)
def test_rounding_for_print(value: float, doubt: float, shown: tuple[str, str]) -> None:
    """Values stand to the place of their doubt, thousands are set apart, and nonsense is not a number."""
    assert rounded(value, doubt) == shown
