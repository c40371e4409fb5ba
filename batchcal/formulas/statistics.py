"""Mean, spread and choice among replicate results; sums are exact and rounded once (standard library).

The textbook definitions; the values are finite floats of one unit.
"""

import itertools
import math
import statistics
from collections.abc import Sequence


def mean(values: Sequence[float]) -> float:
    """Return the arithmetic mean of at least one value.

    References
    ----------
    [no-source]

    """
    return statistics.fmean(values)


def standard_deviation(values: Sequence[float]) -> float:
    """Return the standard deviation of at least two values, with n - 1 in the denominator.

    References
    ----------
    [no-source]

    """
    return statistics.stdev(values)


def relative_sd_percent(values: Sequence[float]) -> float:
    """Return the standard deviation of at least two values in % of their mean, which is not 0.

    References
    ----------
    [no-source]

    """
    return 100.0 * standard_deviation(values) / mean(values)


def value_range(values: Sequence[float]) -> float:
    """Return the largest less the smallest of at least one value.

    References
    ----------
    [no-source]

    """
    return max(values) - min(values)


def median(values: Sequence[float]) -> float:
    """Return the median of at least one value; of an even number, the mean of the two in the middle.

    References
    ----------
    [no-source]

    """
    return statistics.median(values)


def medians_of_others(values: Sequence[float]) -> list[float]:
    """Return, for each of at least two values, the median of all the others.

    The values are put in order once; what one of them leaves out shifts the middle by a place at the most.

    References
    ----------
    [no-source]

    """
    if len(values) == 2:
        return [values[1], values[0]]
    order = sorted(range(len(values)), key=values.__getitem__)
    ordered = [values[index] for index in order]
    half, odd = divmod(len(values) - 1, 2)
    medians = [0.0] * len(values)
    for rank, index in enumerate(order):
        upper = ordered[half if half < rank else half + 1]
        lower = upper if odd else ordered[half - 1 if half - 1 < rank else half]
        medians[index] = upper if odd else (lower + upper) / 2
    return medians


def closest_two(values: Sequence[float]) -> tuple[float, float]:
    """Return the two of at least two values that lie closest together, the smaller first.

    Of pairs exactly as close the lowest is taken; that choice is ours and has no source.

    References
    ----------
    [gost-2408-3]

    """
    return min(itertools.pairwise(sorted(values)), key=lambda pair: pair[1] - pair[0])


def slope_and_residual_sd(x: Sequence[float], y: Sequence[float]) -> tuple[float, float]:
    """Return the slope of the least-squares line through at least three points, and the SD of the points about it.

    The residual standard deviation has n - 2 in the denominator. The x must not all be equal.

    References
    ----------
    [no-source]

    """
    slope, intercept = statistics.linear_regression(x, y)
    squares = math.fsum((value - intercept - slope * place) ** 2 for place, value in zip(x, y, strict=True))
    return slope, math.sqrt(squares / (len(x) - 2))


def slope_standard_deviation(x: Sequence[float], residual_sd: float) -> float:
    """Return the standard deviation of a least-squares slope, in units of y by units of x.

    s_b = s / sqrt(sum (x - mean)^2), with s the residual standard deviation. The x must not all be equal.

    References
    ----------
    [no-source]

    """
    middle = mean(x)
    return residual_sd / math.sqrt(math.fsum((place - middle) ** 2 for place in x))
