"""Points of Student's t, chi-square and beta distributions, for critical values and intervals.

They are computed, not tabulated, so that no number of results is outside a table: the incomplete beta function by
its continued fraction and the incomplete gamma function by its series (Abramowitz and Stegun 26.5.8 and 6.5.29, from
memory, unchecked), turned round by halving an interval until floats are exhausted. The tests compare them with
SciPy, which is not needed to run; the relative error there is below 1e-9.
"""

import math
from collections.abc import Callable
from statistics import NormalDist

_SMALL = 1e-300
_CLOSE = 1e-15
_MOST_TERMS = 100_000


def normal_below(z: float) -> float:
    """Return the probability that a standard normal value is below z, any number.

    References
    ----------
    [no-source]

    """
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def beta_below(x: float, a: float, b: float) -> float:
    """Return the probability that a beta-distributed value is below x: the regularised incomplete beta function.

    Valid for a and b above 0; 0 for x up to 0 and 1 from 1.

    References
    ----------
    [recalled]

    """
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return 1.0
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - beta_below(1.0 - x, b, a)
    scale = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    return math.exp(scale) * _beta_fraction(x, a, b) / a


def beta_quantile(probability_below: float, a: float, b: float) -> float:
    """Return the value below which a beta-distributed value lies with this probability.

    Valid for a and b above 0; ValueError for a probability that is not between 0 and 1.

    References
    ----------
    [no-source]

    """
    _refuse_no_fraction(probability_below)
    return _crossing(lambda x: beta_below(x, a, b), probability_below, 1.0)


def student_t_outside(t: float, degrees_of_freedom: float) -> float:
    """Return the probability that Student's t lies further from 0 than t, on either side.

    Valid for degrees of freedom above 0, whole or not.

    References
    ----------
    [recalled]

    """
    if math.isinf(t):
        return 0.0
    return beta_below(degrees_of_freedom / (degrees_of_freedom + t * t), degrees_of_freedom / 2.0, 0.5)


def student_t_critical(probability_outside: float, degrees_of_freedom: float) -> float:
    """Return the t beyond which, on either side together, Student's t lies with this probability.

    0.05 gives the factor of a two-sided 95 % interval. Valid for degrees of freedom above 0, whole or not; for
    infinite ones the normal distribution answers. ValueError for a probability that is not between 0 and 1.

    References
    ----------
    [recalled]

    """
    _refuse_no_fraction(probability_outside)
    if math.isinf(degrees_of_freedom):
        return NormalDist().inv_cdf(1.0 - probability_outside / 2.0)
    rest = beta_quantile(probability_outside, degrees_of_freedom / 2.0, 0.5)
    return math.sqrt(degrees_of_freedom * (1.0 - rest) / rest)


def chi_square_below(x: float, degrees_of_freedom: float) -> float:
    """Return the probability that chi-square is below x: the regularised incomplete gamma function.

    Valid for degrees of freedom above 0, whole or not; 0 for x up to 0.

    References
    ----------
    [recalled]

    """
    if x <= 0.0:
        return 0.0
    half, a = x / 2.0, degrees_of_freedom / 2.0
    # The terms half^k e^-half / Gamma(k + 1), k = a, a + 1, ...: from the largest of them up, and down to the first.
    largest = a + max(0.0, math.floor(half - a))
    peak = math.exp(largest * math.log(half) - half - math.lgamma(largest + 1.0))
    total, term, k = peak, peak, largest
    while term > _CLOSE * peak:
        k += 1.0
        term *= half / k
        total += term
    term, k = peak, largest
    while k > a + 0.5 and term > _CLOSE * peak:  # a whole number of steps above a, if rounded
        term *= k / half
        k -= 1.0
        total += term
    return min(1.0, total)


def chi_square_quantile(probability_below: float, degrees_of_freedom: float) -> float:
    """Return the value below which chi-square lies with this probability.

    Valid for degrees of freedom above 0, whole or not; ValueError for a probability that is not between 0 and 1.

    References
    ----------
    [recalled]

    """
    _refuse_no_fraction(probability_below)
    high = max(1.0, degrees_of_freedom)
    while chi_square_below(high, degrees_of_freedom) < probability_below:
        high *= 2.0
    return _crossing(lambda x: chi_square_below(x, degrees_of_freedom), probability_below, high)


def _beta_fraction(x: float, a: float, b: float) -> float:
    """Return the continued fraction of the incomplete beta function, evaluated from the front."""
    c, d = 1.0, 1.0 / (1.0 - (a + b) * x / (a + 1.0) or _SMALL)
    value = d
    for m in range(1, _MOST_TERMS):
        even = m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))
        step = 1.0
        for numerator in (even, odd):
            d = 1.0 / (1.0 + numerator * d or _SMALL)
            c = 1.0 + numerator / c or _SMALL
            step = c * d
            value *= step
        if abs(step - 1.0) <= _CLOSE:
            break
    return value


def _crossing(rising: Callable[[float], float], target: float, high: float) -> float:
    """Return where a rising function, below the target at 0 and not below it at ``high``, reaches the target."""
    low = 0.0
    while True:
        middle = (low + high) / 2.0
        if not low < middle < high:
            return high
        if rising(middle) < target:
            low = middle
        else:
            high = middle


def _refuse_no_fraction(probability: float) -> None:
    if not 0.0 < probability < 1.0:
        raise ValueError(f"a probability lies between 0 and 1; {probability:g} does not")
