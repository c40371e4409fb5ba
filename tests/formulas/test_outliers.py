"""Outlier tests by hand, against SciPy at every number of results, and their false alarms on draws."""

import math

import numpy as np
import pytest
from scipy import stats  # type: ignore[import-untyped]

from batchcal.formulas import outliers


def test_the_farthest_value_by_hand() -> None:
    """1, 2, 3, 10: mean 4; squares 9 + 4 + 1 + 36 = 50, SD sqrt(50/3); 10 lies 6 off."""
    found = outliers.grubbs_statistic([1.0, 2.0, 10.0, 3.0])
    assert found.place == 2
    assert found.statistic == pytest.approx(6 / math.sqrt(50 / 3), rel=1e-12)
    low = outliers.grubbs_statistic([-10.0, -1.0, -2.0, -3.0])
    assert low.place == 0
    assert low.statistic == pytest.approx(found.statistic, rel=1e-12)
    assert outliers.grubbs_statistic([1.0, 2.0, 3.0]).place == 0


def test_the_farthest_of_three_cannot_lie_farther_than_it_can() -> None:
    """Of n values none lies more than (n - 1)/sqrt(n) SD off: 1.1547 for three, and there the critical value ends."""
    assert outliers.grubbs_statistic([0.0, 0.0, 1.0]).statistic == pytest.approx(2 / math.sqrt(3), rel=1e-12)
    for n in range(3, 200):
        assert outliers.grubbs_critical(n, 0.01) < (n - 1) / math.sqrt(n)


@pytest.mark.parametrize("sides", [1, 2])
@pytest.mark.parametrize("probability", [0.05, 0.01])
def test_grubbs_from_student_t_of_scipy(sides: int, probability: float) -> None:
    for n in range(3, 101):
        t = float(stats.t.isf(probability / (sides * n), n - 2))
        expected = (n - 1) / math.sqrt(n) * math.sqrt(t * t / (n - 2 + t * t))
        assert outliers.grubbs_critical(n, probability, sides=sides) == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize("probability", [0.05, 0.01])
def test_cochran_from_f_of_scipy(probability: float) -> None:
    for groups in range(2, 41):
        for each in (2, 3, 4, 5):
            f = float(stats.f.isf(probability / groups, each - 1, (groups - 1) * (each - 1)))
            expected = f / (f + groups - 1)
            assert outliers.cochran_critical(groups, each, probability) == pytest.approx(expected, rel=1e-9)


def test_false_alarms_come_as_often_as_said() -> None:
    draw = np.random.default_rng(20261101)
    for n in (3, 5, 10):
        values = draw.normal(size=(100_000, n))
        off = np.abs(values - values.mean(axis=1, keepdims=True)).max(axis=1) / values.std(axis=1, ddof=1)
        assert float(np.mean(off > outliers.grubbs_critical(n, 0.05))) == pytest.approx(0.05, abs=0.003)
    variances = draw.normal(size=(100_000, 8, 2)).var(axis=2, ddof=1)
    share = variances.max(axis=1) / variances.sum(axis=1)
    assert float(np.mean(share > outliers.cochran_critical(8, 2, 0.05))) == pytest.approx(0.05, abs=0.003)


def test_the_largest_variance_by_hand() -> None:
    assert outliers.cochran_statistic([1.0, 2.0, 5.0]) == 0.625
    assert outliers.cochran_statistic([0.0, 3.0]) == 1.0


def test_what_no_test_can_answer_is_refused() -> None:
    with pytest.raises(ValueError, match="not among 2"):
        outliers.grubbs_statistic([1.0, 2.0])
    with pytest.raises(ValueError, match="not among 2"):
        outliers.grubbs_critical(2, 0.05)
    with pytest.raises(ValueError, match="all equal"):
        outliers.grubbs_statistic([1.0, 1.0, 1.0])
    for variances in ([1.0], [], [0.0, 0.0]):
        with pytest.raises(ValueError, match="not all of them 0"):
            outliers.cochran_statistic(variances)
    for groups, each in ((1, 2), (2, 1)):
        with pytest.raises(ValueError, match="at least two groups"):
            outliers.cochran_critical(groups, each, 0.05)
