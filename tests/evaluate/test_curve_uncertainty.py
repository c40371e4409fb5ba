"""The uncertainty stated for a corrected rise from readings, against the errors of the simulated calorimeter."""

import itertools
import math
from pathlib import Path

import pytest
import simulated_table as table
from logbook import Log, firing, plain_log, run, sample
from simulated_calorimeter import simulate

from batchcal.evaluate import uncertainty as budgets
from batchcal.evaluate.curves import step_as_typed
from batchcal.model import Uncertainty
from batchcal.terms import HeatExchangeMethod

CELLS = list(itertools.product(table.CONSTANTS, table.BURNS, table.JACKETS))


@pytest.mark.parametrize(("method", "interval"), table.WAYS)
def test_every_cell_without_noise_is_covered(method: HeatExchangeMethod, interval: float) -> None:
    for cell in CELLS:
        found = table.noise_free(method, interval, *cell)
        assert found.covered, (cell, found)


@pytest.mark.parametrize(("method", "interval"), table.WAYS)
@pytest.mark.parametrize("end_min", [6.0, 8.0, None])
@pytest.mark.parametrize("fired", [0.0, 0.3, 0.7])
def test_a_main_period_ended_early_is_covered(
    method: HeatExchangeMethod, interval: float, end_min: float | None, fired: float
) -> None:
    """At 6 min a slow burn has 6 mK to go; None stands for periods found by the rules.

    The charge is fired at the reading that counts as the one at firing, or ``fired`` intervals after it.
    """
    for k, burn, jacket in CELLS:
        readings = simulate(jacket, k=k, burn_min=burn, interval=interval, fired_at=fired * interval)
        found = table.outcome(table.worked_out(readings, method, table.FINEST, end_min))
        assert found.covered, (k, burn, jacket, found)


@pytest.mark.parametrize("end_min", [12.0, None])
@pytest.mark.parametrize(("method", "interval"), table.WAYS)
def test_noise_is_covered_and_not_overstated(
    method: HeatExchangeMethod, interval: float, end_min: float | None
) -> None:
    found = [outcome for noise in table.NOISES for outcome in table.noisy(method, interval, noise, end_min)]
    assert table.covered(found) >= 0.93
    assert table.mean_expanded(found) < 3 * table.rms(found)


def test_a_coarse_step_without_noise_is_covered() -> None:
    """Readings to 0.01 K that do not scatter: nothing but the step says how uncertain they are."""
    found = [
        table.outcome(table.worked_out(simulate(jacket, k=k, burn_min=burn, interval=1.0, step=0.01), method, 0.01))
        for method in (HeatExchangeMethod.TWO_RATES, HeatExchangeMethod.SIX_TENTHS)
        for k, burn, jacket in CELLS
    ]
    assert table.covered(found) >= 0.93


def test_no_correction_where_there_should_be_one_shows() -> None:
    """Four K from the jacket the rise as read is off by tens of mK; the curve itself says so."""
    curve = table.worked_out(simulate(4.0, k=0.0025), HeatExchangeMethod.NONE, table.FINEST)
    found = table.outcome(curve)
    assert abs(found.error) > 0.03
    assert found.covered


def test_the_parts_make_up_the_whole() -> None:
    curve = table.worked_out(simulate(2.0, interval=1.0, noise=0.001, step=0.001), HeatExchangeMethod.TWO_RATES, 0.001)
    names = [part.name for part in curve.uncertainty_parts]
    assert names == ["initial temperature", "final temperature", "fore period", "main period", "after period", "method"]
    assert curve.method_uncertainty_K == curve.uncertainty_parts[-1].standard_K
    readings = math.hypot(*(part.standard_K for part in curve.uncertainty_parts[:-1]))
    assert curve.reading_uncertainty_K == pytest.approx(readings, rel=1e-12)
    assert curve.uncertainty_K == pytest.approx(math.hypot(readings, curve.method_uncertainty_K), rel=1e-12)


@pytest.mark.parametrize(
    ("values", "step"), [((22.1, 22.13), 0.01), ((22.0, 25.0), 1.0), ((22.5, 22.50001), 0.1), ((22.1234, 22), 0.0001)]
)
def test_the_step_follows_from_the_decimals(values: tuple[float, ...], step: float) -> None:
    assert step_as_typed(values) == pytest.approx(step)


def read_log(*jackets: float, method: str = "two rates") -> Log:
    log = plain_log(*[2.5] * len(jackets))
    log.setup |= {"Heat-exchange method": (method,), "Reading resolution": (0.001, "K", "own")}
    log.setup |= {"Balance standard uncertainty": (0.2, "mg", "own")}
    log.setup |= {"Repeatability standard deviation": (0.001, "J/g", "own")}
    log.headings["Readings"] = ["Firing no.", "Time (min)", "Temperature (°C)", "Period"]
    log.rows["Readings"] = []
    for number, jacket in enumerate(jackets, 1):
        del log.rows["Runs"][number - 1]["Temperature rise (K)"]
        times, temperatures = simulate(jacket, interval=1.0)
        for time, value in zip(times, temperatures, strict=True):
            period = "fore" if time <= 1e-9 else "main" if time <= 12 + 1e-9 else "after"
            row = {"Firing no.": number, "Time (min)": round(time, 3), "Temperature (°C)": round(value, 3)}
            log.rows["Readings"].append(row | {"Period": period})
    return log


def parts(found: Uncertainty) -> dict[str, float]:
    return {part.name: part.standard_J_per_g for part in found.contributions}


JACKETS = (2.0, 2.1, 2.2, 2.3)


@pytest.mark.parametrize("count", [2, 4])
def test_the_budget_shares_the_method_and_not_the_readings(tmp_path: Path, count: int) -> None:
    evaluation = run(read_log(*JACKETS[:count]), tmp_path)
    found = parts(sample(evaluation).uncertainty["ad"])
    curves = [curve for number in range(1, count + 1) if (curve := firing(evaluation, number).curve) is not None]
    methods = [curve.method_uncertainty_K for curve in curves if curve.method_uncertainty_K is not None]
    assert len(methods) == count
    # 10 000 J/K and 1 g: 1 mK is 10 J/g. The method errs alike in all, the readings for each firing anew.
    assert found[budgets.CURVE_METHOD] == pytest.approx(1e4 * sum(methods) / count, rel=1e-9)
    readings = math.hypot(*(curve.reading_uncertainty_K for curve in curves)) / count
    assert found[budgets.CURVE_READINGS] == pytest.approx(1e4 * readings, rel=1e-9)
    assert budgets.READING not in found
    assert not any("exchange" in text for text in sample(evaluation).uncertainty["ad"].missing)


def test_scatter_that_is_larger_holds_the_readings_but_not_the_method(tmp_path: Path) -> None:
    log = read_log(2.0, 2.1)
    log.setup["Repeatability standard deviation"] = (60, "J/g", "own")
    found = parts(sample(run(log, tmp_path)).uncertainty["ad"])
    assert budgets.CURVE_READINGS not in found
    assert found[budgets.REPEATABILITY] == pytest.approx(60 / math.sqrt(2), rel=1e-9)
    assert found[budgets.CURVE_METHOD] > 0


def test_a_typed_rise_beside_a_curve_keeps_its_reading_step(tmp_path: Path) -> None:
    log = read_log(2.0, 2.1)
    log.rows["Runs"][1] |= {"Temperature rise (K)": 2.6}
    log.rows["Readings"] = [row for row in log.rows["Readings"] if row["Firing no."] == 1]
    found = parts(sample(run(log, tmp_path)).uncertainty["ad"])
    assert found[budgets.READING] == pytest.approx(1e4 * 0.001 / math.sqrt(6) / 2, rel=1e-9)
    assert found[budgets.CURVE_READINGS] > found[budgets.READING]


def test_settled_readings_without_rates_leave_the_heat_exchange_open(tmp_path: Path) -> None:
    log = read_log(2.0, 2.1, method="none")
    log.rows["Readings"] = [
        {"Firing no.": number, "Time (min)": time, "Temperature (°C)": value, "Period": period}
        for number in (1, 2)
        for time, value, period in (
            (0, 22.0, "fore"),
            (5, 24.59, "main"),
            (10, 24.6 + number / 1000, "main"),
            (15, 24.6 + number / 1000, "after"),
        )
    ]
    found = sample(run(log, tmp_path)).uncertainty["ad"]
    assert "the heat exchange where the readings give no rates" in found.missing
    assert parts(found)[budgets.CURVE_READINGS] == pytest.approx(1e4 * 0.001 / math.sqrt(6) / math.sqrt(2), rel=1e-9)
    assert budgets.CURVE_METHOD not in parts(found)


def test_a_typed_correction_is_not_known_from_readings(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.501)
    for row in log.rows["Runs"]:
        row["Heat-exchange correction (K)"] = 0.012
    found = sample(run(log, tmp_path)).uncertainty["ad"]
    assert any("eat-exchange" in text for text in found.missing)
    assert budgets.CURVE_READINGS not in parts(found)
