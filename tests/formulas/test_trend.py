"""The line against SciPy, and how often a line without slope is called a trend."""

import math

import numpy as np
import pytest
from scipy import stats  # type: ignore[import-untyped]

from batchcal.formulas import quantiles
from batchcal.formulas.trend import trend

RISES = [2.81, 2.43, 2.65, 3.02, 2.22]
HEAT_CAPACITIES = [10121.0, 10113.0, 10125.0, 10117.0, 10109.0]


def test_by_hand() -> None:
    """x 0, 1, 2, 3 and y 1, 3, 2, 5: slope 5.5/5 = 1.1, at 0 1.1; residuals -0.1, 0.8, -1.3, 0.6, squares 2.7."""
    found = trend([0.0, 1.0, 2.0, 3.0], [1.0, 3.0, 2.0, 5.0])
    assert found.slope == pytest.approx(1.1, rel=1e-12)
    assert found.at(0.0) == pytest.approx(1.1, rel=1e-12)
    assert found.residual_sd == pytest.approx(math.sqrt(2.7 / 2), rel=1e-12)
    assert found.slope_sd == pytest.approx(math.sqrt(1.35 / 5), rel=1e-12)
    assert found.t == pytest.approx(1.1 / math.sqrt(0.27), rel=1e-12)
    assert found.sd_at(1.5) == pytest.approx(math.sqrt(1.35 / 4), rel=1e-12)
    assert found.degrees_of_freedom == 2


def test_against_scipy() -> None:
    found, theirs = trend(RISES, HEAT_CAPACITIES), stats.linregress(RISES, HEAT_CAPACITIES)
    assert found.slope == pytest.approx(float(theirs.slope), rel=1e-9)
    assert found.slope_sd == pytest.approx(float(theirs.stderr), rel=1e-9)
    assert found.at(0.0) == pytest.approx(float(theirs.intercept), rel=1e-9)
    assert found.sd_at(0.0) == pytest.approx(float(theirs.intercept_stderr), rel=1e-9)
    outside = quantiles.student_t_outside(found.t, found.degrees_of_freedom)
    assert outside == pytest.approx(float(theirs.pvalue), rel=1e-9)


def test_a_line_without_slope_is_called_a_trend_as_often_as_said() -> None:
    draw, critical = np.random.default_rng(20261102), quantiles.student_t_critical(0.05, 3)
    called = sum(abs(trend(RISES, draw.normal(10120, 8, 5).tolist()).t) > critical for _ in range(8000))
    assert called / 8000 == pytest.approx(0.05, abs=0.01)


def test_points_on_a_line() -> None:
    assert trend([1.0, 2.0, 3.0], [4.0, 6.0, 8.0]).t == math.inf
    assert trend([1.0, 2.0, 3.0], [8.0, 6.0, 4.0]).t == -math.inf
    assert trend([1.0, 2.0, 3.0], [4.0, 4.0, 4.0]).t == 0.0


@pytest.mark.parametrize(("x", "y"), [([1.0, 2.0], [1.0, 2.0]), ([2.0, 2.0, 2.0], [1.0, 2.0, 3.0])])
def test_no_line_is_refused(x: list[float], y: list[float]) -> None:
    with pytest.raises(ValueError, match="not all at one place"):
        trend(x, y)
