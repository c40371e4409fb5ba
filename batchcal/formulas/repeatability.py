"""Scatter of replicates: the range allowed to n results, scatter pooled over groups, and what a next firing does."""

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from batchcal.formulas import statistics
from batchcal.formulas.quantiles import chi_square_quantile, normal_below
from batchcal.reference.normal_ranges import normal_range


class PooledSD(NamedTuple):
    """A standard deviation of single results with its degrees of freedom."""

    sd: float
    degrees_of_freedom: int


class OneWay(NamedTuple):
    """Groups of results taken apart: scatter within a group, and of the groups about each other."""

    mean: float
    """Of all results."""
    within_sd: float
    """Repeatability standard deviation, s_r."""
    between_sd: float
    """Of the groups' true means, s_L; 0 where the means scatter no more than the scatter within explains."""
    total_sd: float
    """Of a result of another group, s_R: both together. Reproducibility where each group is a laboratory."""
    f: float
    """Mean square between over mean square within; infinite where there is no scatter within."""
    between_degrees: int
    within_degrees: int


def critical_range_factor(n: int) -> float:
    """Return the range that n results of one laboratory exceed with a probability of 5 %, in repeatability SD.

    2.77 for two results, where the range times the SD is the repeatability limit. Valid for n 2 to 10; ValueError for
    another. Printed tables give one decimal.

    References
    ----------
    [normal-ranges], [recalled]

    """
    return normal_range(n).point_95


def critical_range_in_limits(n: int) -> float:
    """Return the range allowed to n results in units of the repeatability limit of two: 1, 1.20, 1.31, 1.39, 1.45...

    The factor of n over that of two. Methods round it to 1.2 for three and 1.3 for four results (from memory,
    unchecked). Valid for n 2 to 10; ValueError for another.

    References
    ----------
    [normal-ranges], [recalled]

    """
    return normal_range(n).point_95 / normal_range(2).point_95


def pooled_sd(parts: Iterable[tuple[float, int]]) -> PooledSD:
    """Return the common standard deviation of groups from that of each and its degrees of freedom.

    s = sqrt(sum nu_i s_i^2 / sum nu_i), in the unit of the parts. Valid where the scatter is the same in all groups;
    ValueError where there is no degree of freedom.

    References
    ----------
    [recalled]

    """
    known = list(parts)
    return _pooled([nu * sd**2 for sd, nu in known], sum(nu for _, nu in known))


def _pooled(squares: Iterable[float], degrees: int) -> PooledSD:
    """Return the standard deviation from the sums of squares of the groups and their degrees of freedom together."""
    if degrees <= 0:
        raise ValueError("a standard deviation needs at least one group of two results")
    return PooledSD(math.sqrt(math.fsum(squares) / degrees), degrees)


def pooled_sd_of_groups(groups: Iterable[Sequence[float]]) -> PooledSD:
    """Return the common standard deviation of results within groups, each about its own mean.

    A group of one result adds nothing. For pairs it is sqrt(sum d^2 / (2 n)), d being the difference within each of
    n pairs. ValueError where no group has two results.

    References
    ----------
    [recalled]

    """
    squares, degrees = [], 0
    for group in groups:
        if len(group) == 2:
            squares.append((group[0] - group[1]) ** 2 / 2.0)
        elif len(group) > 2:
            squares.append((len(group) - 1) * statistics.standard_deviation(group) ** 2)
        degrees += max(0, len(group) - 1)
    return _pooled(squares, degrees)


def sd_interval(sd: float, degrees_of_freedom: float, confidence: float = 0.95) -> tuple[float, float]:
    """Return the confidence interval of the true standard deviation, in the unit of ``sd``.

    s sqrt(nu/chi^2), with the points of chi-square at (1 + confidence)/2 and (1 - confidence)/2: as likely to miss
    below as above. Valid for normal results, degrees of freedom above 0 and a confidence between 0 and 1, else
    ValueError.

    References
    ----------
    [recalled]

    """
    points = (chi_square_quantile((1.0 + side * confidence) / 2.0, degrees_of_freedom) for side in (1, -1))
    low, high = (sd * math.sqrt(degrees_of_freedom / point) for point in points)
    return low, high


def one_way(groups: Sequence[Sequence[float]]) -> OneWay:
    """Return the analysis of variance of results in groups (days, laboratories), not all of one size.

    s_r^2 is the mean square within, s_L^2 = (mean square between - s_r^2)/n with n = (N - sum n_i^2/N)/(p - 1), and
    s_R^2 = s_r^2 + s_L^2. Valid for at least two groups of at least one result, one of them of two; ValueError for
    fewer.

    References
    ----------
    [recalled]

    """
    sizes = [len(group) for group in groups]
    between, total = len(groups) - 1, sum(sizes)
    within = total - len(groups)
    if between < 1 or within < 1 or min(sizes) < 1:
        raise ValueError("groups are taken apart only where there are two, none empty and one with two results")
    # Differences from the first result: near values are subtracted without rounding, and their digits kept.
    zero = groups[0][0]
    apart = [[value - zero for value in group] for group in groups]
    middle = statistics.mean([value for group in apart for value in group])
    means = [statistics.mean(group) for group in apart]
    squares_within = math.fsum((x - m) ** 2 for group, m in zip(apart, means, strict=True) for x in group)
    squares_between = math.fsum(n * (m - middle) ** 2 for n, m in zip(sizes, means, strict=True))
    of_within, of_between = squares_within / within, squares_between / between
    typical_size = (total - sum(n * n for n in sizes) / total) / between
    between_variance = max(0.0, of_between - of_within) / typical_size
    return OneWay(
        mean=zero + middle,
        within_sd=math.sqrt(of_within),
        between_sd=math.sqrt(between_variance),
        total_sd=math.sqrt(of_within + between_variance),
        f=of_between / of_within if of_within > 0.0 else math.inf,
        between_degrees=between,
        within_degrees=within,
    )


def acceptance_interval(values: Sequence[float], allowed_range: float) -> tuple[float, float] | None:
    """Return the lowest and highest next result with which all range over no more than allowed, in their unit.

    From max - allowed to min + allowed. For a third firing the allowed range is 1.2 limits, say. None where the
    results at hand range over more already. Valid for at least one result.

    References
    ----------
    [no-source]

    """
    low, high = max(values) - allowed_range, min(values) + allowed_range
    return None if statistics.value_range(values) > allowed_range else (low, high)


def chance_next_settles(values: Sequence[float], allowed_range: float, sd: float) -> float:
    """Return the probability that one more result brings all within the allowed range, given those at hand.

    The next result less the mean of n at hand is normal with a variance of s^2 (1 + 1/n), whatever the true value
    and however those at hand lie about their mean; the chance is that of the acceptance interval. Exact for normal
    results with the standard deviation ``sd`` (a limit r stands for r/2.77), so it is what to hope for where nothing
    but scatter parted them: a fault, or more scatter than the limit allows for, makes it less. Valid for at least one
    result and ``sd`` above 0; 0 where the results range over more than is allowed already.

    References
    ----------
    [no-source]

    """
    interval = acceptance_interval(values, allowed_range)
    if interval is None:
        return 0.0
    mean, spread = statistics.mean(values), sd * math.sqrt(1.0 + 1.0 / len(values))
    low, high = ((end - mean) / spread for end in interval)
    return normal_below(high) - normal_below(low)
