"""Uncertainty against figures from outside, another package's propagation, and draws of the same model."""

import math

import numpy as np
import pytest
from uncertainties import UFloat, ufloat  # type: ignore[import-untyped]

from batchcal.formulas import bomb
from batchcal.formulas import uncertainty as gum


def parts_of_the_budget() -> list[float]:
    """C = 10 000(10) J/K, rise 2.8(0.002) K, mass 1(0.0002) g, ignition 60(5) J, nitric 40(4) J."""
    gross = bomb.gross_calorific_value(
        heat_capacity_J_per_K=1e4, corrected_rise_K=2.8, ignition_J=60, aid_J=0, nitric_J=40, sulphuric_J=0, mass_g=1
    )
    assert gross == pytest.approx(27900, abs=1e-9)
    by = gum.gross_sensitivity(heat_capacity_J_per_K=1e4, corrected_rise_K=2.8, gross_J_per_g=gross, mass_g=1.0)
    return [by.heat_capacity * 10, by.rise * 0.002, by.mass * 0.0002, by.side_heat * 5, by.side_heat * 4]


def test_a_budget_worked_by_hand() -> None:
    """28.0, 20.0, 5.58, 5 and 4 J/g; the sum of the squares is 1256.1364, worked by hand from first principles."""
    parts = parts_of_the_budget()
    assert parts == pytest.approx([28.0, 20.0, -5.58, -5.0, -4.0], abs=1e-9)
    assert gum.root_sum_of_squares(parts) == pytest.approx(math.sqrt(1256.1364), rel=1e-12)
    assert gum.root_sum_of_squares(parts) == pytest.approx(35.4, abs=0.1)


def test_another_package_propagates_the_same_through_the_balance() -> None:
    capacity, rise, mass = ufloat(10123.0, 9.0), ufloat(2.4567, 0.0021), ufloat(0.9871, 0.0003)
    heats = [ufloat(71.0, 3.0), ufloat(12.0, 0.6), ufloat(38.0, 2.0), ufloat(21.0, 1.5)]
    theirs: UFloat = (capacity * rise - sum(heats)) / mass
    value = theirs.nominal_value
    by = gum.gross_sensitivity(
        heat_capacity_J_per_K=10123.0, corrected_rise_K=2.4567, gross_J_per_g=value, mass_g=0.9871
    )
    own = [by.heat_capacity * 9.0, by.rise * 0.0021, by.mass * 0.0003, *(by.side_heat * heat.std_dev for heat in heats)]
    as_analysed = gum.root_sum_of_squares(own)
    assert as_analysed == pytest.approx(theirs.std_dev, rel=1e-9)


def test_draws_of_the_same_model_scatter_as_much() -> None:
    draw = np.random.default_rng(20261014)
    size = 200_000
    gross = (
        draw.normal(1e4, 10, size) * draw.normal(2.8, 0.002, size) - draw.normal(60, 5, size) - draw.normal(40, 4, size)
    ) / draw.normal(1.0, 0.0002, size)
    assert float(np.std(gross)) == pytest.approx(gum.root_sum_of_squares(parts_of_the_budget()), rel=0.02)


def test_a_rise_of_two_readings_in_steps_scatters_as_two_rectangles() -> None:
    draw = np.random.default_rng(20261015)
    true = draw.uniform(20.0, 20.5, 200_000), draw.uniform(22.5, 23.0, 200_000)
    for step in (0.01, 0.001):
        off = (np.round(true[1] / step) - np.round(true[0] / step)) * step - (true[1] - true[0])
        one = gum.reading_step_uncertainty(step)
        assert gum.difference_uncertainty(one, one) == pytest.approx(float(np.std(off)), rel=0.02)
    assert gum.reading_step_uncertainty(0.01) == pytest.approx(10 * gum.reading_step_uncertainty(0.001), rel=1e-12)


def test_degrees_of_freedom_of_an_end_gauge() -> None:
    """Guide example H.1: 32 nm and 16 degrees of freedom (16.7, cut off); figures as carried by the package GTC."""
    length, height, expansion = 50_000_623.0, -0.1, 11.5e-6
    parts = [
        (25.0, 18.0),
        (5.8, 24.0),
        (3.9, 5.0),
        (6.7, 8.0),
        (length * height * 0.58e-6, 50.0),
        (length * expansion * 0.029, 2.0),
    ]
    assert round(gum.root_sum_of_squares(part for part, _ in parts)) == 32
    assert math.floor(gum.effective_degrees_of_freedom(parts)) == 16


def test_degrees_of_freedom_at_the_edges() -> None:
    assert gum.effective_degrees_of_freedom([(3.0, 7.0)]) == pytest.approx(7.0, rel=1e-12)
    assert gum.effective_degrees_of_freedom([(3.0, math.inf), (4.0, math.inf)]) == math.inf
    assert gum.effective_degrees_of_freedom([(2.0, 5.0), (2.0, 5.0)]) == pytest.approx(10.0, rel=1e-12)


def test_mean_and_limit() -> None:
    assert gum.mean_uncertainty([30.0]) == 30.0
    assert gum.mean_uncertainty([30.0, 30.0]) == pytest.approx(30.0 / math.sqrt(2), rel=1e-12)
    assert gum.repeatability_sd(120.0) == pytest.approx(120.0 / (1.96 * math.sqrt(2)), rel=1e-3)


def test_slope_of_a_ratio() -> None:
    """By hand: the derivative of 100 q / (100 - M) at q = 25 000, M = 4 is 100 q / 96^2 = 271.27 J/g per %."""
    found = gum.slope(25000 * 100 / (100 - 4), 25000 * 100 / (100 - (4 + gum.SMALL)))
    assert found == pytest.approx(25000 * 100 / 96**2, rel=2e-6)
