"""What first pairs say about repeatability: pooled scatter with its interval, quartiles, first against second."""

import math
import statistics
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from functools import cache
from operator import attrgetter
from typing import NamedTuple

from batchcal.formulas import repeatability
from batchcal.formulas.quantiles import beta_below, student_t_critical
from batchcal.formulas.statistics import mean, standard_deviation
from batchcal.history import FirstAgainstSecond, Pair, Pooled, Quartiles, Span

FEWEST = 5
"""Pairs from which on an interval is shown; chosen here, no source. With five it spans 0.62 to 2.5 times the SD."""

FEWEST_FOR_QUARTILES = 8
"""Pairs of one stretch from which on their quartiles are shown; chosen here, no source."""

FEWEST_FOR_SIGN = 20
"""Pairs from which on first and second firings are compared; chosen here, no source."""

CONFIDENCE = 0.95
EXPECTED_BEYOND = 0.05
"""Share of pairs beyond a limit that is the 95 % point of their difference, as a repeatability limit is."""


class Scatter(NamedTuple):
    """What a pair says about scatter: the SD of its two results, with the one degree of freedom that it has."""

    of_difference: tuple[float, int]
    """In J/g."""
    in_limits: tuple[float, int] | None
    """In units of its own limit; None without one."""
    limit_J_per_g: float | None
    beyond: bool


def scatter(pair: Pair) -> Scatter:
    """Return what a pair says about scatter: two results have an SD of |d|/sqrt(2)."""
    difference, limit = abs(pair.difference_J_per_g), pair.limit_J_per_g
    in_limits = ((difference / limit) / _ROOT_2, 1) if limit else None
    return Scatter((difference / _ROOT_2, 1), in_limits, limit, pair.beyond)


_ROOT_2 = math.sqrt(2.0)


def pooled(name: str, pairs: Sequence[Scatter]) -> Pooled | None:
    """Return the pooled scatter of pairs, those beyond the limit included; None of no pair.

    s_r = sqrt(sum d^2 / (2 k)) of k pairs, times 2.77 the repeatability limit that the pairs bear out, with the 95 %
    interval of a standard deviation at k degrees of freedom. Against limits of several sizes the same is done with
    results in units of their own limit.
    """
    if not pairs:
        return None
    factor = repeatability.critical_range_factor(2)
    sd = repeatability.pooled_sd([pair.of_difference for pair in pairs]).sd
    limits = {pair.limit_J_per_g for pair in pairs if pair.limit_J_per_g}
    scaled = [pair.in_limits for pair in pairs if pair.in_limits is not None]
    ratio = factor * repeatability.pooled_sd(scaled).sd if scaled else None
    beyond = sum(pair.beyond for pair in pairs)
    ratio_interval = _interval(ratio, len(scaled)) if ratio is not None else None
    return Pooled(
        name=name,
        pairs=len(pairs),
        judged=len(scaled),
        beyond=beyond,
        too_many_beyond=chance_of_as_many(beyond, len(scaled)) <= EXPECTED_BEYOND,
        sd_J_per_g=sd,
        limit_found_J_per_g=factor * sd,
        interval_J_per_g=_interval(factor * sd, len(pairs)),
        limits_J_per_g=(min(limits), max(limits)) if limits else None,
        ratio=ratio,
        ratio_interval=ratio_interval,
        verdict=_verdict(ratio, ratio_interval),
    )


def _interval(value: float, pairs: int) -> tuple[float, float] | None:
    if pairs < FEWEST:
        return None
    low, high = _interval_factors(pairs)
    return value * low, value * high


@cache
def _interval_factors(pairs: int) -> tuple[float, float]:
    """Return the interval of a standard deviation of 1 from so many pairs; it takes longer than all other figures."""
    return repeatability.sd_interval(1.0, pairs, CONFIDENCE)


def _verdict(ratio: float | None, interval: tuple[float, float] | None) -> str:
    if ratio is None:
        return "no limit"
    if interval is None:
        return "too few"
    if interval[1] <= 1.0:
        return "within"
    return "above" if interval[0] > 1.0 else "not clear"


def chance_of_as_many(beyond: int, pairs: int) -> float:
    """Return the chance of at least as many pairs beyond the limit, where 5 % of all are, by the binomial law.

    P(X >= k) of n is the regularised incomplete beta function at 0.05 with k and n - k + 1 (from memory, unchecked;
    the tests sum the binomial terms). 1 for none beyond.
    """
    return beta_below(EXPECTED_BEYOND, beyond, pairs - beyond + 1) if beyond else 1.0


def quartiles(pairs: Sequence[Pair], stretches: Sequence[Span]) -> tuple[Quartiles, ...]:
    """Return how difference over limit is spread in each stretch that has pairs, and in all."""
    found = []
    ordered = sorted(pairs, key=attrgetter("date"))
    dates = [pair.date for pair in ordered]
    for span in (*stretches, None):
        chosen = ordered if span is None else ordered[bisect_left(dates, span.start) : bisect_right(dates, span.end)]
        ratios = [pair.ratio for pair in chosen if pair.ratio is not None]
        if not ratios:
            continue
        three = statistics.quantiles(ratios, n=4) if len(ratios) >= FEWEST_FOR_QUARTILES else [None, None, None]
        found.append(Quartiles(span, len(ratios), sum(pair.beyond for pair in chosen), *three))
    return tuple(found)


def first_against_second(pairs: Sequence[Pair]) -> FirstAgainstSecond | None:
    """Return the mean of first less second firing with its 95 % interval (Student's t); None with few pairs."""
    if len(pairs) < FEWEST_FOR_SIGN:
        return None
    differences = [pair.difference_J_per_g for pair in pairs]
    middle, n = mean(differences), len(differences)
    reach = student_t_critical(1.0 - CONFIDENCE, n - 1) * standard_deviation(differences) / n**0.5
    return FirstAgainstSecond(n, middle, (middle - reach, middle + reach))
