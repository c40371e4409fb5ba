"""The uncertainty of a sample by hand: C = 10 000 J/K from Setup, 1 g, 60 J of ignition, 2.5 K, 4 % moisture."""

import math
import statistics
from pathlib import Path
from typing import Any

import pytest
from logbook import DAY, Log, plain_log, run, sample

from batchcal.evaluate import uncertainty as budgets
from batchcal.model import Uncertainty
from batchcal.report.results import results_document

STATED: dict[str, tuple[Any, ...]] = {
    "Reading resolution": (0.001, "K", "own"),
    "Balance standard uncertainty": (0.2, "mg", "own"),
    "Thermometer standard uncertainty": (0.0015, "K", "own"),
    "Heat-capacity relative uncertainty": (0.1, "%", "own"),
    "Correction relative uncertainty": (10, "%", "own"),
    "Moisture standard uncertainty": (0.1, "%", "own"),
    "Repeatability standard deviation": (20, "J/g", "own"),
}


def stated(*rises: float, **changes: tuple[Any, ...] | None) -> Log:
    log = plain_log(*rises)
    log.setup |= STATED
    for name, entry in changes.items():
        item = name.replace("_", " ").replace("Heat capacity", "Heat-capacity")
        log.setup.pop(item, None)
        if entry is not None:
            log.setup[item] = entry
    return log


def of(log: Log, folder: Path, basis: str = "ad") -> Uncertainty:
    return sample(run(log, folder)).uncertainty[basis]


def parts(found: Uncertainty) -> dict[str, float]:
    return {part.name: part.standard_J_per_g for part in found.contributions}


def test_a_pair_as_analysed_and_dry(tmp_path: Path) -> None:
    found = of(stated(2.5, 2.5), tmp_path)
    expected = {
        budgets.ENTERED_CAPACITY: 25.0,  # 0.1 % of 10 000 J/K x 2.5 K / 1 g
        budgets.THERMOMETER: 15.0,  # 10 000 x 0.0015
        budgets.SIDE_HEATS: 6.0,  # 10 % of 60 J
        budgets.REPEATABILITY: 20 / math.sqrt(2),
    }
    assert parts(found) == pytest.approx(expected, rel=1e-9)
    assert found.standard_J_per_g == pytest.approx(math.sqrt(625 + 225 + 36 + 200), rel=1e-9)
    assert found.coverage_factor == 2
    assert found.missing == ("the acid heats, for which nothing is corrected",)
    dry = of(stated(2.5, 2.5), tmp_path, "d")
    moisture = 24940 * 100 / 96**2 * 0.1  # 27.1 J/g, from q / 0.96 by the moisture
    assert parts(dry)[budgets.ANALYSIS_MOISTURE] == pytest.approx(moisture, rel=1e-9)
    assert dry.standard_J_per_g == pytest.approx(math.hypot(math.sqrt(1086) / 0.96, moisture), rel=1e-9)


def test_more_firings_shrink_only_what_is_their_own(tmp_path: Path) -> None:
    two, four = parts(of(stated(2.5, 2.5), tmp_path)), parts(of(stated(2.5, 2.5, 2.5, 2.5), tmp_path))
    own = budgets.REPEATABILITY
    assert four[own] == pytest.approx(two[own] / math.sqrt(2), rel=1e-9)
    assert {name: part for name, part in two.items() if name != own} == pytest.approx(
        {name: part for name, part in four.items() if name != own}, rel=1e-9
    )


def test_a_coarse_step_outweighs_the_scatter_and_is_not_counted_beside_it(tmp_path: Path) -> None:
    coarse = of(stated(2.5, 2.5, Reading_resolution=(0.01, "K", "own")), tmp_path)
    fine = of(stated(2.5, 2.5), tmp_path)
    step = 1e4 * 0.01 * math.sqrt(2 / 12) / math.sqrt(2)  # 28.9 J/g of the mean of two
    assert parts(coarse)[budgets.READING] == pytest.approx(step, rel=1e-9)
    assert parts(coarse)[budgets.WEIGHING] == pytest.approx(24940 * 0.0002 / math.sqrt(2), rel=1e-9)
    assert budgets.REPEATABILITY not in parts(coarse)
    assert coarse.standard_J_per_g > fine.standard_J_per_g
    assert "not counted" in next(p.note for p in coarse.contributions if p.name == budgets.READING)
    assert "not counted again" in next(p.note for p in fine.contributions if p.name == budgets.REPEATABILITY)
    assert "finer step" in budgets.advice(coarse)
    assert "series of benzoic acid" in budgets.advice(fine)


def test_two_weighings_count_twice(tmp_path: Path) -> None:
    typed = stated(2.5, 2.5, Repeatability_standard_deviation=(0.001, "J/g", "own"))
    weighed = typed.copy()
    for row in weighed.rows["Runs"]:
        row.pop("Sample mass (g)")
        row |= {"Crucible (g)": 8.0, "Crucible + sample (g)": 9.0}
    one, two = (parts(of(log, tmp_path))[budgets.WEIGHING] for log in (typed, weighed))
    assert abs(two) == pytest.approx(abs(one) * math.sqrt(2), rel=1e-9)


def test_the_repeatability_follows_from_the_limit_on_its_basis(tmp_path: Path) -> None:
    log = stated(2.5, 2.5, Repeatability_standard_deviation=None, Comparison_basis=("d",))
    found = of(log, tmp_path)
    assert parts(found)[budgets.REPEATABILITY] == pytest.approx(120 / 2.77 * 0.96 / math.sqrt(2), rel=1e-9)
    assert "derived" in found.contributions[-1].note


@pytest.mark.parametrize(
    ("item", "word"),
    [
        ("Balance_standard_uncertainty", "balance"),
        ("Thermometer_standard_uncertainty", "thermometer"),
        ("Heat_capacity_relative_uncertainty", "heat capacity"),
        ("Correction_relative_uncertainty", "ignition"),
    ],
)
def test_what_is_not_entered_is_named(tmp_path: Path, item: str, word: str) -> None:
    assert not any(word in text for text in of(stated(2.5, 2.5), tmp_path).missing)
    assert any(word in text for text in of(stated(2.5, 2.5, **{item: None}), tmp_path).missing)


def test_blank_moisture_uncertainty_is_missing_for_dry_only(tmp_path: Path) -> None:
    log = stated(2.5, 2.5, Moisture_standard_uncertainty=None)
    assert any("moisture" in text for text in of(log, tmp_path, "d").missing)
    assert not any("moisture" in text for text in of(log, tmp_path).missing)


def test_no_uncertainty_where_the_mean_is_not_the_value(tmp_path: Path) -> None:
    apart = sample(run(stated(2.5, 2.53), tmp_path))
    assert apart.uncertainty == {}
    assert "not ready" in budgets.not_stated(apart)
    median = sample(run(stated(2.5, 2.53, 2.507, **{"Further-test rule": ("median",)}), tmp_path))
    assert median.uncertainty == {}
    assert "median of 3" in budgets.not_stated(median)


def test_the_results_file_carries_it_with_the_coverage_factor_entered(tmp_path: Path) -> None:
    evaluation = run(stated(2.5, 2.5, Coverage_factor=(3,)), tmp_path)
    written = results_document(evaluation, {})["samples"][0]  # type: ignore[index]
    assert written["coverage_factor"] == 3
    assert written["expanded_uncertainty_J_per_g"]["ad"] == pytest.approx(3 * math.sqrt(1086), rel=1e-9)
    assert written["expanded_uncertainty_J_per_g"]["ar"] is None


def test_a_series_brings_its_scatter_and_its_certificate(tmp_path: Path) -> None:
    """Five firings of 1 g at 26 454 J/g with 60 J of ignition: C = 26 514 J / rise; s over the root of 5, by 2.5 K."""
    log = stated(2.5, 2.5, Heat_capacity_relative_uncertainty=None)
    del log.setup["Effective heat capacity"]
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Benzoic acid standard uncertainty": (5, "J/g", "certificate"),
        "Series minimum": (5, None, "own"),
        "Series relative SD limit": (0.5, "%", "own"),
    }
    rises = (2.650, 2.651, 2.652, 2.653, 2.654)
    for number, rise in enumerate(rises, 101):
        log.add("Calibration", firing_no=number, date=DAY, sample_mass=1.0, temperature_rise=rise)
    found = of(log, tmp_path)
    capacities = [26514 / rise for rise in rises]
    scatter = 2.5 * statistics.stdev(capacities) / math.sqrt(5)
    assert parts(found)[budgets.SERIES] == pytest.approx(scatter, rel=1e-9)
    certificate = 2.5 * statistics.fmean(capacities) * 5 / 26454
    assert parts(found)[budgets.BENZOIC] == pytest.approx(certificate, rel=1e-9)
    assert "4 degrees of freedom" in found.contributions[0].note
    del log.setup["Benzoic acid standard uncertainty"]
    assert any("certificate" in text for text in of(log, tmp_path).missing)
