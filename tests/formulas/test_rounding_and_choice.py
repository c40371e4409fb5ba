"""Rounding to a step against the decimal module's own half-even, and the choice among replicates."""

import math
from decimal import ROUND_HALF_EVEN, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batchcal.formulas import rounding, statistics


@pytest.mark.parametrize(
    ("value", "step", "text"),
    [
        (25.0, 10, "20"),
        (35.0, 10, "40"),
        (26434.9999, 10, "26430"),
        (0.125, 0.01, "0.12"),
        (2.675, 0.01, "2.68"),  # half-way as written, although the double lies below
        (-2.5, 1, "-2"),
        (-0.004, 0.01, "0.00"),
        (26.4, 0.01, "26.40"),
        (7.3, 0.5, "7.5"),
        (6312.5, 5, "6310"),
        (3, 1e-7, "3.0000000"),
        (1e30, 0.01, "1" + 30 * "0" + ".00"),
    ],
)
def test_text(value: float, step: float, text: str) -> None:
    """Worked by hand from rule A of ISO 80000-1, Annex B (from memory, unchecked)."""
    assert rounding.text_to_step(value, step) == text


@given(st.floats(-1e9, 1e9), st.sampled_from([0, 1, 2, 3]))
def test_powers_of_ten_are_those_of_the_decimal_module(value: float, decimals: int) -> None:
    expected = Decimal(repr(value)).quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_EVEN)
    assert rounding.round_to_step(value, 10.0**-decimals) == expected


@given(st.integers(-(10**6), 10**6), st.sampled_from([0, 1, 3]), st.floats(-0.01, 0.01), st.integers(-2, 2))
def test_digits_decide_close_to_half_way(half: int, decimals: int, off: float, further: int) -> None:
    value = (half + 0.5 + off * (further == 0)) / 10**decimals
    for _ in range(abs(further)):
        value = math.nextafter(value, math.copysign(math.inf, further))
    expected = Decimal(repr(value)).quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_EVEN)
    assert rounding.round_to_step(value, 10.0**-decimals) == expected


@given(st.floats(-1e6, 1e6), st.sampled_from([0.002, 0.005, 0.25, 2.326, 5, 10, 41.868]))
def test_never_off_by_more_than_half_a_step_and_stable(value: float, step: float) -> None:
    rounded = rounding.round_to_step(value, step)
    assert abs(rounded - Decimal(repr(value))) * 2 <= Decimal(repr(step))
    assert rounding.round_to_step(float(rounded), step) == rounded


@pytest.mark.parametrize(("value", "step"), [(1.0, 0.0), (1.0, -1.0), (float("nan"), 1.0), (1.0, float("inf"))])
def test_what_cannot_be_rounded(value: float, step: float) -> None:
    with pytest.raises(ValueError, match="cannot be rounded"):
        rounding.round_to_step(value, step)


def test_closest_two_in_any_order() -> None:
    assert statistics.closest_two([25310.0, 25100.0, 25220.0]) == (25220.0, 25310.0)
    assert statistics.closest_two([4.0, 1.0, 9.0, 8.5]) == (8.5, 9.0)


def test_closest_two_of_pairs_exactly_as_close() -> None:
    """A choice of ours, no source: the lowest pair."""
    assert statistics.closest_two([3.0, 1.0, 2.0]) == (1.0, 2.0)


@given(st.lists(st.floats(1e3, 5e4), min_size=2, max_size=6))
def test_closest_two_is_the_least_range_of_any_pair(values: list[float]) -> None:
    pairs = [abs(a - b) for i, a in enumerate(values) for b in values[i + 1 :]]
    assert statistics.value_range(statistics.closest_two(values)) == min(pairs)


def test_median_of_four_is_the_mean_of_the_middle_two() -> None:
    """ISO 5725-6 (from memory, unchecked): the mean of the second and third in order."""
    assert statistics.median([25100.0, 25400.0, 25220.0, 25310.0]) == 25265.0


@given(st.lists(st.sampled_from([0.1, 0.2, 0.3, 0.7]) | st.floats(-10, 10), min_size=2, max_size=9))
def test_the_median_of_all_others(values: list[float]) -> None:
    """The standard library's median of what is left when each is taken out, to the last bit, equal values too."""
    others = [[*values[:index], *values[index + 1 :]] for index in range(len(values))]
    assert statistics.medians_of_others(values) == [statistics.median(rest) for rest in others]


def test_the_median_of_the_other_is_the_other() -> None:
    assert statistics.medians_of_others([3.0, 1.0]) == [1.0, 3.0]
    assert statistics.medians_of_others([3.0, 1.0, 8.0]) == [4.5, 5.5, 2.0]
