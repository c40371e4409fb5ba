"""Scatter by hand, against SciPy, and on draws: coverage of intervals and what a further firing does."""

import math

import numpy as np
import pytest
from scipy import stats  # type: ignore[import-untyped]

from batchcal import reference
from batchcal.formulas import repeatability
from batchcal.formulas.uncertainty import repeatability_sd


def test_the_factors_in_use_are_the_critical_ranges_rounded() -> None:
    assert repeatability.critical_range_in_limits(2) == 1.0
    for n in (3, 4):
        in_use = reference.constant(f"further-test-factor-{n}").value
        assert round(repeatability.critical_range_in_limits(n), 1) == in_use
    assert [round(repeatability.critical_range_in_limits(n), 2) for n in (5, 6)] == [1.39, 1.45]


def test_one_set_in_twenty_ranges_over_more() -> None:
    draw = np.random.default_rng(20261110)
    for n in range(2, 7):
        ranges = np.ptp(draw.normal(size=(200_000, n)), axis=1)
        assert float(np.mean(ranges > repeatability.critical_range_factor(n))) == pytest.approx(0.05, abs=0.002)


def test_pooling_by_hand() -> None:
    """Pairs 2 and 4 apart: sqrt((4 + 16)/4). SD 3 and 4 with 2 and 6 degrees: sqrt((18 + 96)/8)."""
    pairs = repeatability.pooled_sd_of_groups([[10.0, 12.0], [7.0, 3.0], [5.0]])
    assert pairs == pytest.approx((math.sqrt(5.0), 2), rel=1e-12)
    assert repeatability.pooled_sd([(3.0, 2), (4.0, 6)]) == pytest.approx((math.sqrt(14.25), 8), rel=1e-12)
    for nothing in ([], [[1.0], [2.0]]):
        with pytest.raises(ValueError, match="one group of two results"):
            repeatability.pooled_sd_of_groups(nothing)


@pytest.mark.parametrize("nu", [1, 2, 5, 12, 60, 400])
def test_the_interval_of_an_sd_against_scipy(nu: int) -> None:
    for confidence in (0.9, 0.95, 0.99):
        points = stats.chi2.ppf([(1 + confidence) / 2, (1 - confidence) / 2], nu)
        expected = [40.0 * math.sqrt(nu / point) for point in points.tolist()]
        assert repeatability.sd_interval(40.0, nu, confidence) == pytest.approx(tuple(expected), rel=1e-9)


def test_the_interval_of_an_sd_covers_as_often_as_said() -> None:
    draw, covered = np.random.default_rng(20261111), 0
    low, high = repeatability.sd_interval(1.0, 6)
    for _ in range(10_000):
        pooled = repeatability.pooled_sd_of_groups(draw.normal(25000.0, 40.0, (6, 2)).tolist())
        covered += low * pooled.sd <= 40.0 <= high * pooled.sd
    assert covered / 10_000 == pytest.approx(0.95, abs=0.007)


def test_one_way_by_hand() -> None:
    """1, 3 | 4, 6, 8: within 2 + 8 over 3; means 2 and 6 about 4.4: 2 x 5.76 + 3 x 2.56; size (5 - 13/5)/1 = 2.4."""
    found = repeatability.one_way([[1.0, 3.0], [4.0, 6.0, 8.0]])
    assert found.mean == pytest.approx(4.4, rel=1e-12)
    assert found.within_sd == pytest.approx(math.sqrt(10 / 3), rel=1e-12)
    assert found.f == pytest.approx(19.2 / (10 / 3), rel=1e-12)
    assert found.between_sd == pytest.approx(math.sqrt((19.2 - 10 / 3) / 2.4), rel=1e-12)
    assert found.total_sd == pytest.approx(math.hypot(found.within_sd, found.between_sd), rel=1e-12)
    assert (found.between_degrees, found.within_degrees) == (1, 3)


def test_one_way_against_scipy_and_at_the_edges() -> None:
    groups = [[25010.0, 25050.0, 24980.0], [25110.0, 25070.0], [24990.0, 25020.0, 25060.0, 25000.0], [25080.0]]
    assert repeatability.one_way(groups).f == pytest.approx(float(stats.f_oneway(*groups).statistic), rel=1e-10)
    alike = repeatability.one_way([[1.0, 3.0], [3.0, 1.0]])
    assert (alike.between_sd, alike.f, alike.total_sd) == (0.0, 0.0, alike.within_sd)
    assert repeatability.one_way([[1.0, 1.0], [2.0, 2.0]]).f == math.inf
    for few in ([[1.0, 2.0]], [[1.0], [2.0]], [[1.0, 2.0, 3.0], []]):
        with pytest.raises(ValueError, match="taken apart"):
            repeatability.one_way(few)


def test_one_way_finds_the_scatter_of_the_groups() -> None:
    draw = np.random.default_rng(20261112)
    values = draw.normal(0.0, 60.0, (4000, 1)) + draw.normal(25000.0, 40.0, (4000, 2))
    found = repeatability.one_way(values.tolist())
    assert (found.within_sd, found.between_sd) == pytest.approx((40, 60), rel=0.04)


def test_the_third_that_is_accepted() -> None:
    """25 000 and 25 130 J/g, 1.2 x 120 J/g allowed: from 25 130 - 144 to 25 000 + 144."""
    assert repeatability.acceptance_interval([25130.0, 25000.0], 144.0) == (24986.0, 25144.0)
    assert repeatability.acceptance_interval([25000.0, 25144.0], 144.0) == (25000.0, 25144.0)
    assert repeatability.acceptance_interval([25000.0, 25145.0], 144.0) is None
    assert repeatability.acceptance_interval([25000.0], 120.0) == (24880.0, 25120.0)


@pytest.mark.parametrize("difference", [121.0, 130.0, 143.0])
def test_the_chance_that_a_third_settles_is_what_draws_show(difference: float) -> None:
    """Triples drawn about one value; those are kept whose first two lie as far apart, within 3 J/g."""
    sd, allowed = repeatability_sd(120.0), 144.0
    draw = np.random.default_rng(20261113).normal(25000.0, sd, (3_000_000, 3))
    kept = draw[np.abs(np.abs(draw[:, 0] - draw[:, 1]) - difference) < 1.0]
    assert len(kept) > 4000
    shown = float(np.mean(np.ptp(kept, axis=1) <= allowed))
    pair = [25000.0, 25000.0 + difference]
    assert repeatability.chance_next_settles(pair, allowed, sd) == pytest.approx(shown, abs=0.03)


def test_the_chance_that_a_third_settles_by_hand() -> None:
    """In units of r: sigma 1/2.77, a pair 1 apart, 1.2 allowed: 0.7 either side of the mean, spread sqrt(1.5)/2.77."""
    found = repeatability.chance_next_settles([0.0, 1.0], 1.2, 1 / 2.77)
    assert found == pytest.approx(math.erf(0.7 * 2.77 / math.sqrt(3.0)), rel=1e-12)
    assert found == pytest.approx(0.886, abs=0.001)
    assert repeatability.chance_next_settles([0.0, 1.21], 1.2, 1 / 2.77) == 0.0


def test_a_pair_from_one_result_agrees_in_95_of_100() -> None:
    """With one result at hand the allowed range is r, and r is exceeded by one pair in twenty."""
    assert repeatability.chance_next_settles([25000.0], 120.0, 120.0 / 2.771808) == pytest.approx(0.95, abs=1e-6)
