"""Tests for a result or a group of results that stands apart.

They find, they do not remove: a firing is left out for a known fault only, never for its value (common practice, no
source). The critical values are computed from the beta distribution; printed tables differ by 0.001 at most (those
of ISO 5725-2, from memory, unchecked).
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

from batchcal.formulas import statistics
from batchcal.formulas.quantiles import beta_quantile


class FarthestValue(NamedTuple):
    """The value farthest from the mean of its series."""

    place: int
    """Its place in the series, from 0; of values as far, the first."""
    statistic: float
    """Its distance from the mean in standard deviations of the whole series: Grubbs' statistic."""


def grubbs_statistic(values: Sequence[float]) -> FarthestValue:
    """Return the value farthest from the mean, with its distance in standard deviations of all values (n - 1).

    G = max |x - mean| / s, on either side. Valid for at least three values of one unit; ValueError for fewer and for
    values that are all equal.

    References
    ----------
    [recalled]

    """
    _refuse_fewer_than_three(len(values))
    mean, sd = statistics.mean(values), statistics.standard_deviation(values)
    if sd == 0.0:
        raise ValueError("values that are all equal have none that stands apart")
    distances = [abs(value - mean) for value in values]
    farthest = max(distances)
    return FarthestValue(distances.index(farthest), farthest / sd)


def grubbs_critical(n: int, probability: float, *, sides: int = 2) -> float:
    """Return what Grubbs' statistic of n normal values exceeds with this probability (0.05 or 0.01 as a rule).

    G = (n - 1)/sqrt(n) sqrt(t^2/(n - 2 + t^2)), with t exceeded on one side with probability/(sides n) at n - 2
    degrees of freedom; here as the point of the beta distribution that it stands for. ``sides`` is 2 where the
    farthest value is sought on either side, 1 where the side was fixed beforehand. Exact for one side up to the point
    where two values at once could exceed it, else very slightly high (Bonferroni). Valid for n of at least 3.

    References
    ----------
    [recalled]

    """
    _refuse_fewer_than_three(n)
    rest = beta_quantile(2.0 * probability / (sides * n), (n - 2) / 2.0, 0.5)
    return (n - 1.0) / math.sqrt(n) * math.sqrt(1.0 - rest)


def cochran_statistic(variances: Sequence[float]) -> float:
    """Return the largest variance as a fraction of the sum of all, each of as many results.

    For pairs of results the squared differences stand for the variances. Valid for at least two variances of one
    unit, from 0; ValueError for fewer or where all are 0.

    References
    ----------
    [recalled]

    """
    total = math.fsum(variances)
    if len(variances) < 2 or total == 0.0:
        raise ValueError("the largest variance stands apart only among at least two, not all of them 0")
    return max(variances) / total


def cochran_critical(groups: int, results_per_group: int, probability: float) -> float:
    """Return what Cochran's statistic of normal groups exceeds with this probability (0.05 or 0.01 as a rule).

    C = F/(F + groups - 1), with F exceeded with probability/groups at n - 1 and (groups - 1)(n - 1) degrees of
    freedom; here as the point of the beta distribution that it stands for. Valid for at least two groups of at least
    two results each; ValueError for fewer.

    References
    ----------
    [recalled]

    """
    if groups < 2 or results_per_group < 2:
        raise ValueError("the largest variance stands apart only among at least two groups of at least two results")
    half = (results_per_group - 1) / 2.0
    return 1.0 - beta_quantile(probability / groups, (groups - 1) * half, half)


def _refuse_fewer_than_three(n: int) -> None:
    if n < 3:
        raise ValueError(f"a value stands apart only among at least three, not among {n}")
