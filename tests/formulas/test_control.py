"""Factors by integration, run rules by hand and by how often chance makes them, the running sum, and its power."""

import math
from collections.abc import Callable
from itertools import permutations

import numpy as np
import pytest
from scipy import integrate, optimize, stats  # type: ignore[import-untyped]

from batchcal import reference
from batchcal.formulas import control
from batchcal.formulas.control import RunRule, RunSignal
from batchcal.reference.normal_ranges import normal_range

GRID = np.linspace(-10.0, 10.0, 4001)
"""The integrands are smooth and vanish at both ends, where sums over a grid are as good as any rule."""


def range_below(width: float, n: int) -> float:
    """The chance that n normal values range over less than this width."""
    inside = stats.norm.cdf(GRID + width) - stats.norm.cdf(GRID)
    return float(np.trapezoid(n * stats.norm.pdf(GRID) * inside ** (n - 1), GRID))


@pytest.mark.parametrize("n", range(2, 11))
def test_the_table_of_ranges_is_what_integration_gives(n: int) -> None:
    held = normal_range(n)
    mean = float(np.trapezoid(1 - stats.norm.cdf(GRID) ** n - stats.norm.sf(GRID) ** n, GRID))
    widths = np.linspace(0.0, 12.0, 601)
    square = float(integrate.simpson([2 * width * (1 - range_below(float(width), n)) for width in widths], x=widths))
    assert held.mean == pytest.approx(mean, abs=6e-7)
    assert held.sd == pytest.approx(math.sqrt(square - mean**2), abs=6e-7)
    assert held.point_95 == pytest.approx(optimize.brentq(lambda w: range_below(w, n) - 0.95, 1, 7), abs=6e-7)
    assert held.point_95 == pytest.approx(float(stats.studentized_range.ppf(0.95, n, math.inf)), abs=6e-7)


def test_the_table_names_its_mark_and_source() -> None:
    text = (reference._root() / "normal_ranges.toml").read_text(encoding="utf-8")
    assert 'mark = "derived"' in text
    assert 'source = "normal-ranges"' in text
    assert "recalled and not read" in reference.source("normal-ranges")


def test_factors_for_single_results_and_pairs() -> None:
    """Of two values d2 is 2/sqrt(pi); 2.660 and 3.267 are the factors of single results (from memory, unchecked)."""
    found = control.range_factors(2)
    assert found.d2 == pytest.approx(2 / math.sqrt(math.pi), abs=1e-6)
    assert found.d3 == pytest.approx(math.sqrt(2 - 4 / math.pi), abs=1e-6)
    factors = found._asdict()
    assert [factors[name] for name in ("E2", "D4")] == pytest.approx([2.660, 3.267], abs=0.0015)
    assert [factors[name] for name in ("D1", "D3")] == [0.0, 0.0]
    factors = control.range_factors(7)._asdict()
    assert [factors[name] for name in ("D1", "D2")] == pytest.approx([0.204742, 5.203972], abs=1e-9)
    assert [factors[name] for name in ("D3", "D4")] == pytest.approx([0.076, 1.924], abs=5e-4)  # from memory, unchecked


@pytest.mark.parametrize("n", [0, 1, 11])
def test_factors_that_are_not_on_record_are_refused(n: int) -> None:
    with pytest.raises(ValueError, match=f"2 to 10 values, not {n}"):
        control.range_factors(n)


def test_limits_from_factors_hold_what_they_say() -> None:
    draw = np.random.default_rng(20261103)
    for n in (2, 5):
        groups = draw.normal(50.0, 4.0, (200_000, n))
        ranges = np.ptp(groups, axis=1)
        factors = control.range_factors(n)
        assert float(ranges.mean()) / factors.d2 == pytest.approx(4.0, rel=0.01)
        assert float(ranges.std()) == pytest.approx(4.0 * factors.d3, rel=0.01)
        assert float(np.mean(ranges > factors.D2 * 4.0)) == pytest.approx(1 - range_below(factors.D2, n), abs=5e-4)
        assert factors.A2 * factors.d2 * 4.0 == pytest.approx(3 * float(groups.mean(axis=1).std()), rel=0.01)
        assert float(groups.std(axis=1, ddof=1).mean()) == pytest.approx(control.sd_factor(n) * 4.0, rel=0.01)


def test_moving_ranges() -> None:
    assert control.moving_ranges([3.0, 5.0, 4.0, 4.0]) == [2.0, 1.0, 0.0]
    assert control.moving_ranges([3.0]) == []


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ([0.0, 3.1, 0.0], [RunSignal(RunRule.ONE_FAR, (1,), 1)]),
        ([0.0, -3.1, 0.0], [RunSignal(RunRule.ONE_FAR, (1,), -1)]),
        ([0.0, 3.0, -3.0], []),
        ([2.1, -0.5, 2.2], [RunSignal(RunRule.TWO_OF_THREE, (0, 2), 1)]),
        ([2.1, 2.2], [RunSignal(RunRule.TWO_OF_THREE, (0, 1), 1)]),
        ([2.1, -2.2, 0.5], []),
        ([2.1, 0.5, 0.5, 2.2], []),
        ([-1.1, -1.2, 0.5, -1.3, -1.4], [RunSignal(RunRule.FOUR_OF_FIVE, (0, 1, 3, 4), -1)]),
        ([-1.1, -1.2, -1.3, -1.4, 0.5], [RunSignal(RunRule.FOUR_OF_FIVE, (0, 1, 2, 3), -1)]),
        ([-1.1, -1.2, 0.5, 0.5, -1.3, -1.4], []),
        ([0.1] * 8, [RunSignal(RunRule.EIGHT_ON_ONE_SIDE, tuple(range(8)), 1)]),
        ([0.1] * 7 + [-0.1], []),
        ([0.1] * 7 + [0.0, 0.1], []),
        ([-0.1] * 9, [RunSignal(RunRule.EIGHT_ON_ONE_SIDE, tuple(range(k, k + 8)), -1) for k in (0, 1)]),
        ([], []),
    ],
)
def test_run_rules_by_hand(values: list[float], expected: list[RunSignal]) -> None:
    assert control.run_signals(values) == expected


def test_only_the_rules_asked() -> None:
    values = [2.1, 3.2]
    assert [signal.rule for signal in control.run_signals(values)] == [RunRule.ONE_FAR, RunRule.TWO_OF_THREE]
    assert [signal.rule for signal in control.run_signals(values, [RunRule.TWO_OF_THREE])] == [RunRule.TWO_OF_THREE]


def values_to_first_signal(signal: Callable[[list[float]], int | None], shift: float, runs: int, seed: int) -> float:
    """The mean number of values up to the first signal; runs are drawn longer until one comes."""
    draw, total = np.random.default_rng(seed), 0
    for _ in range(runs):
        values: list[float] = []
        place = None
        while place is None:
            values += draw.normal(shift, 1.0, 150 if shift == 0 else 25).tolist()
            place = signal(values)
        total += place + 1
    return total / runs


def first_run_signal(values: list[float]) -> int | None:
    return next((signal.indexes[-1] for signal in control.run_signals(values)), None)


def test_all_four_rules_signal_falsely_once_in_92_values() -> None:
    """The source says about 1 in 92; the mean of 3000 runs scatters by about 1.7."""
    assert values_to_first_signal(first_run_signal, 0.0, 3000, 20261104) == pytest.approx(92, abs=6)


def test_one_value_beyond_3_sd_comes_once_in_370() -> None:
    assert 1 / control.chance_to_see_bias(1, 0.0, 1.0, 3.0) == pytest.approx(370.4, abs=0.05)
    values = np.random.default_rng(20261105).normal(size=400_000).tolist()
    found = control.run_signals(values, [RunRule.ONE_FAR])
    assert len(found) == pytest.approx(400_000 / 370.4, abs=4 * math.sqrt(400_000 / 370.4))


SIX = RunRule.SIX_RISING_OR_FALLING


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ([0.0, 0.1, 0.2, 0.3, 0.4, 0.5], [RunSignal(SIX, (0, 1, 2, 3, 4, 5), 1)]),
        ([0.5, 0.4, 0.3, 0.2, 0.1, 0.0], [RunSignal(SIX, (0, 1, 2, 3, 4, 5), -1)]),
        ([0.0, 0.1, 0.2, 0.3, 0.4], []),
        ([0.0, 0.1, 0.2, 0.2, 0.3, 0.4], []),  # a value that stays is neither
        ([9.0, 0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6], [RunSignal(SIX, tuple(range(k, k + 6)), 1) for k in (1, 2)]),
        ([0.0, 0.1, 0.2, 0.3, 0.4, 0.1, 0.5], []),
    ],
)
def test_six_rising_or_falling(values: list[float], expected: list[RunSignal]) -> None:
    assert control.run_signals(values, [SIX]) == expected
    assert SIX not in [signal.rule for signal in control.run_signals(values)]


def test_of_the_orders_of_six_values_one_rises_and_one_falls() -> None:
    """There are 6! = 720 orders, equally likely where values are independent: 1/720 each way."""
    orders = [[float(place) for place in order] for order in permutations(range(6))]
    sides = [signal.side for order in orders for signal in control.run_signals(order, [SIX])]
    assert len(orders) == 720
    assert sorted(sides) == [-1, 1]


def test_six_rising_or_falling_signal_falsely_once_in_360_windows() -> None:
    """By simulation, of a skew distribution too, for the rule asks for the order alone.

    Windows overlap, so the count scatters by more than its root: a signal is followed by a second with 1/7.
    """
    draw = np.random.default_rng(20261114)
    count = 360_000
    for values in (draw.normal(size=count), draw.exponential(size=count)):
        found = control.run_signals(values.tolist(), [SIX])
        expected = (count - 5) / 720
        for side in (1, -1):
            assert sum(signal.side == side for signal in found) == pytest.approx(expected, abs=5 * math.sqrt(expected))


def test_running_sums_by_hand() -> None:
    found = control.running_sums([1.0, -0.5, 2.0, 3.0], reference=0.5, interval=3.0)
    assert found.upper == pytest.approx((0.5, 0.0, 1.5, 4.0), abs=1e-12)
    assert found.lower == pytest.approx((0.0, 0.0, 0.0, 0.0), abs=1e-12)
    assert found.first_signal == 3
    down = control.running_sums([-1.0, 0.5, -2.0, -3.0], reference=0.5, interval=3.0)
    assert (down.upper, down.lower, down.first_signal) == (found.lower, found.upper, 3)
    assert control.running_sums([1.0, 1.0], interval=1.0).first_signal is None  # on the interval, not beyond
    assert control.running_sums([]).first_signal is None


@pytest.mark.parametrize(
    ("interval", "shift", "expected", "off"), [(4.0, 0.0, 168, 16), (4.0, 1.0, 8.4, 0.5), (5.0, 1.0, 10.4, 0.6)]
)
def test_running_sums_signal_as_often_as_recalled(interval: float, shift: float, expected: float, off: float) -> None:
    """Values to a signal as recalled from textbooks: from memory, unchecked."""
    found = values_to_first_signal(
        lambda values: control.running_sums(values, 0.5, interval).first_signal, shift, 2000, 20261106
    )
    assert found == pytest.approx(expected, abs=off)


def test_the_running_sum_in_order_by_its_integral_equation() -> None:
    """One side as a chain of 400 states: about 930 values, so 465 for both sides, as recalled."""
    states, k, h = 400, 0.5, 5.0
    width = 2 * h / (2 * states - 1)
    steps = np.arange(states)
    into = stats.norm.cdf((steps[None, :] - steps[:, None]) * width + width / 2 + k)
    into[:, 1:] -= stats.norm.cdf((steps[None, 1:] - steps[:, None]) * width - width / 2 + k)
    mean_run = float(np.linalg.solve(np.eye(states) - into, np.ones(states))[0])
    assert mean_run / 2 == pytest.approx(465, abs=1)


@pytest.mark.parametrize(("checks", "bias"), [(1, 0.0), (1, 40.0), (3, 40.0), (2, -80.0)])
def test_the_chance_to_see_a_bias_is_what_draws_show(checks: int, bias: float) -> None:
    draw = np.random.default_rng(20261107).normal(bias, 35.0, (200_000, checks))
    seen = float(np.mean((np.abs(draw) > 70.0).any(axis=1)))
    assert control.chance_to_see_bias(checks, bias, 35.0, 70.0) == pytest.approx(seen, abs=0.004)


def test_the_chance_to_see_a_bias_at_the_edges() -> None:
    assert control.chance_to_see_bias(0, 100.0, 35.0, 70.0) == 0.0
    assert control.chance_to_see_bias(1, 70.0, 35.0, 70.0) == pytest.approx(0.5, abs=1e-4)
    assert control.chance_to_see_bias(1, 10.0, 35.0, 0.0) == 1.0
