"""Control charts of check results: factors of their limits, run rules, the running sum, and what they would see."""

import math
from collections.abc import Sequence
from enum import StrEnum
from itertools import pairwise
from typing import NamedTuple

from batchcal.formulas.quantiles import normal_below
from batchcal.reference.normal_ranges import normal_range


class RangeFactors(NamedTuple):
    """Factors of charts of groups of n results, by the symbols of the trade.

    ``d2`` and ``d3`` are mean and standard deviation of the range of n normal values in units of theirs. The limits
    of the range are D1 s and D2 s, or D3 and D4 times the mean range; those of the mean are A2 mean ranges from the
    centre, those of single results E2 mean ranges.
    """

    d2: float
    d3: float
    D1: float
    D2: float
    D3: float
    D4: float
    A2: float
    E2: float


def range_factors(n: int) -> RangeFactors:
    """Return the factors for groups of n results, limits lying three standard deviations off. Valid for n 2 to 10.

    D1 = d2 - 3 d3 but at least 0, D2 = d2 + 3 d3, D3 = D1/d2, D4 = D2/d2, A2 = 3/(d2 sqrt(n)), E2 = 3/d2. For single
    results take the factors of n = 2 with the mean moving range. ValueError for another n.

    References
    ----------
    [normal-ranges], [recalled]

    """
    d2, d3, _ = normal_range(n)
    low, high = max(0.0, d2 - 3.0 * d3), d2 + 3.0 * d3
    return RangeFactors(d2, d3, low, high, low / d2, high / d2, 3.0 / (d2 * math.sqrt(n)), 3.0 / d2)


def sd_factor(n: int) -> float:
    """Return the mean of the standard deviation of n normal values in units of the true one: c4 of the trade.

    c4 = sqrt(2/(n - 1)) Gamma(n/2)/Gamma((n - 1)/2). Valid for n of at least 2.

    References
    ----------
    [recalled]

    """
    return math.sqrt(2.0 / (n - 1.0)) * math.exp(math.lgamma(n / 2.0) - math.lgamma((n - 1.0) / 2.0))


def moving_ranges(values: Sequence[float]) -> list[float]:
    """Return how far each value lies from the one before it, in their unit: one fewer than the values.

    References
    ----------
    [no-source]

    """
    return [abs(after - before) for before, after in pairwise(values)]


class RunRule(StrEnum):
    """Patterns of standardised values that chance seldom makes; beyond means strictly beyond, as do rising, falling."""

    ONE_FAR = "one value beyond 3 SD"
    TWO_OF_THREE = "two of three in a row beyond 2 SD on one side"
    FOUR_OF_FIVE = "four of five in a row beyond 1 SD on one side"
    EIGHT_ON_ONE_SIDE = "eight in a row on one side of the centre"
    SIX_RISING_OR_FALLING = "six in a row rising or falling"


class RunSignal(NamedTuple):
    """One pattern found: the rule, the places (from 0) of the values that make it, and their side (1 or -1)."""

    rule: RunRule
    indexes: tuple[int, ...]
    side: int


_PATTERNS = (
    (RunRule.ONE_FAR, 1, 1, 3.0),
    (RunRule.TWO_OF_THREE, 2, 3, 2.0),
    (RunRule.FOUR_OF_FIVE, 4, 5, 1.0),
    (RunRule.EIGHT_ON_ONE_SIDE, 8, 8, 0.0),
)
"""Rule, how many values, among how many in a row, beyond how many standard deviations."""

FOUR_RULES = tuple(rule for rule, _, _, _ in _PATTERNS)
"""The rules that ask how far off values are; the fifth asks for their order alone."""

_TREND = 6
"""So many values in a row are a trend where each lies above, or each below, the one before."""


def run_signals(standardised: Sequence[float], rules: Sequence[RunRule] = FOUR_RULES) -> list[RunSignal]:
    """Return every pattern of the rules asked, in the order of the values that complete them.

    The values are (x - centre)/SD in their order in time, with centre and SD from elsewhere than these values. A
    pattern counts at each value that itself lies beyond, so that eight in a row and a ninth are two signals. A value
    on the centre is on neither side. With all four rules a process in order signals falsely about once in 92 values,
    with the first alone once in 370 (source; the tests simulate it).

    Six rising or falling are from memory, unchecked; independent values of one distribution, whichever it is, stand in
    each of the 720 orders of six equally often, so that six in a row rise with a chance of 1/720 and fall with as
    much. The side of such a signal is 1 where they rise.

    References
    ----------
    [run-rules], [recalled]

    """
    found = []
    for last, value in enumerate(standardised):
        side = -1 if value < 0.0 else 1
        for rule, needed, among, distance in _PATTERNS:
            if rule not in rules or side * value <= distance:
                continue
            window = range(max(0, last - among + 1), last + 1)
            beyond = tuple(place for place in window if side * standardised[place] > distance)
            if len(beyond) >= needed:
                found.append(RunSignal(rule, beyond, side))
        if RunRule.SIX_RISING_OR_FALLING in rules and last + 1 >= _TREND:
            row = range(last + 1 - _TREND, last + 1)
            steps = [standardised[after] - standardised[before] for before, after in pairwise(row)]
            for side in (1, -1):
                if all(side * step > 0.0 for step in steps):
                    found.append(RunSignal(RunRule.SIX_RISING_OR_FALLING, tuple(row), side))
    return found


class RunningSums(NamedTuple):
    """The two sums after each value, both from 0 upward, and the place of the first beyond the decision interval."""

    upper: tuple[float, ...]
    lower: tuple[float, ...]
    first_signal: int | None


def running_sums(standardised: Sequence[float], reference: float = 0.5, interval: float = 5.0) -> RunningSums:
    """Return the two-sided cumulative sum of standardised values, which gathers a small lasting shift.

    upper_i = max(0, upper_(i-1) + z_i - k) and lower_i = max(0, lower_(i-1) - z_i - k), from 0; a sum above h is a
    signal. ``reference`` is k and ``interval`` h, in SD; k of 0.5 is meant for a shift of 1 SD. The sums are not set
    back after a signal. Valid for k from 0 and h above 0. In order, a signal comes about once in 465 values with h =
    5 and in 168 with h = 4; shifted by 1 SD after about 10 and 8 (from memory, unchecked; the tests simulate it).

    References
    ----------
    [recalled]

    """
    upper, lower = [0.0], [0.0]
    for value in standardised:
        upper.append(max(0.0, upper[-1] + value - reference))
        lower.append(max(0.0, lower[-1] - value - reference))
    sums = zip(upper[1:], lower[1:], strict=True)
    signal = next((place for place, pair in enumerate(sums) if max(pair) > interval), None)
    return RunningSums(tuple(upper[1:]), tuple(lower[1:]), signal)


def chance_to_see_bias(checks: int, bias: float, sd: float, limit: float) -> float:
    """Return the probability that at least one of a number of checks falls outside its limit on either side.

    1 - (Phi((L - b)/S) - Phi((-L - b)/S))^n, with independent normal check results that scatter by S about the bias
    b, and a limit of L on either side of 0, all in one unit. With b = 0 it is the chance of a false alarm. Where the
    mean of n checks is judged, give one check and S/sqrt(n). Valid for S above 0, L and n from 0.

    References
    ----------
    [no-source]

    """
    inside = normal_below((limit - bias) / sd) - normal_below((-limit - bias) / sd)
    return 1.0 - inside**checks
