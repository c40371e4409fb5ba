"""Points of t, chi-square and beta against SciPy, which a user need not have."""

import math

import pytest
from scipy import stats  # type: ignore[import-untyped]

from batchcal.formulas import quantiles

DEGREES = [1, 1.5, 2, 3, 4, 5, 7, 10, 16.7, 30, 60, 120, 500, 5000]


@pytest.mark.parametrize("nu", DEGREES)
def test_student_t(nu: float) -> None:
    for probability in (0.32, 0.1, 0.05, 0.01, 0.001, 1e-5):
        expected = float(stats.t.isf(probability / 2, nu))
        assert quantiles.student_t_critical(probability, nu) == pytest.approx(expected, rel=1e-9)
        assert quantiles.student_t_outside(expected, nu) == pytest.approx(probability, rel=1e-9)
        assert quantiles.student_t_outside(-expected, nu) == pytest.approx(probability, rel=1e-9)


def test_student_t_by_hand_and_at_the_edges() -> None:
    """With 1 degree of freedom t is tan: half of all lie beyond 1; with 2, P(|t| > sqrt 2) = 1 - sqrt(1/2)."""
    assert quantiles.student_t_critical(0.5, 1) == pytest.approx(1.0, rel=1e-12)
    assert quantiles.student_t_outside(math.sqrt(2.0), 2) == pytest.approx(1 - math.sqrt(0.5), rel=1e-12)
    assert quantiles.student_t_critical(0.05, math.inf) == pytest.approx(1.959963985, rel=1e-9)
    assert quantiles.student_t_outside(0.0, 3) == 1.0
    assert quantiles.student_t_outside(math.inf, 3) == 0.0


@pytest.mark.parametrize("nu", DEGREES)
def test_chi_square(nu: float) -> None:
    for probability in (1e-5, 0.005, 0.025, 0.05, 0.5, 0.95, 0.975, 0.995, 0.9999):
        expected = float(stats.chi2.ppf(probability, nu))
        assert quantiles.chi_square_quantile(probability, nu) == pytest.approx(expected, rel=1e-9)
        assert quantiles.chi_square_below(expected, nu) == pytest.approx(probability, rel=1e-9)


def test_chi_square_at_the_edges() -> None:
    assert quantiles.chi_square_below(0.0, 3) == 0.0
    assert quantiles.chi_square_below(-1.0, 3) == 0.0
    assert quantiles.chi_square_below(1e5, 3) == 1.0
    assert quantiles.chi_square_below(1e-3, 5000) == 0.0
    assert quantiles.chi_square_below(2.0, 2) == pytest.approx(1 - math.exp(-1), rel=1e-12)


@pytest.mark.parametrize("a", [0.5, 1, 1.5, 3, 20, 300])
@pytest.mark.parametrize("b", [0.5, 1, 2, 10, 60, 300])
def test_beta(a: float, b: float) -> None:
    for probability in (1e-4, 0.01, 0.05, 0.5, 0.95, 0.99):
        expected = float(stats.beta.ppf(probability, a, b))
        assert quantiles.beta_quantile(probability, a, b) == pytest.approx(expected, rel=1e-9)
        assert quantiles.beta_below(expected, a, b) == pytest.approx(probability, rel=1e-9)
    assert quantiles.beta_below(-0.1, a, b) == 0.0
    assert quantiles.beta_below(1.1, a, b) == 1.0


def test_normal() -> None:
    for z in (-8.0, -3.0, -1.96, 0.0, 1.0, 6.0):
        assert quantiles.normal_below(z) == pytest.approx(float(stats.norm.cdf(z)), rel=1e-12)


@pytest.mark.parametrize("probability", [0.0, 1.0, -0.1, 5.0, math.nan])
def test_no_probability_is_refused(probability: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        quantiles.student_t_critical(probability, 5)
    with pytest.raises(ValueError, match="between 0 and 1"):
        quantiles.chi_square_quantile(probability, 5)
    with pytest.raises(ValueError, match="between 0 and 1"):
        quantiles.beta_quantile(probability, 1, 1)
