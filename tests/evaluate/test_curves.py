"""Heat exchange from time readings, against a simulated calorimeter that knows its own adiabatic rise.

What the simulation is asked: with the jacket 1 to 4 K away and readings every 0.1 min without noise, the integral over
the main period must recover the adiabatic rise to 0.0005 K.
"""

from pathlib import Path

import numpy as np
import pytest
from logbook import Log, codes, firing, plain_log, run
from simulated_calorimeter import RISE, simulate

from batchcal.evaluate.curves import found_periods
from batchcal.formulas import heat_exchange
from batchcal.terms import Decision, FiringState


def recovered(times: np.ndarray, temperatures: np.ndarray, method: str, end_min: float = 12.0) -> float:
    """Adiabatic rise found with the periods known: fore to 0, main to ``end_min``, after from there."""
    fore = times <= 1e-9
    after = times >= end_min - 1e-9
    main = (times >= -1e-9) & (times <= end_min + 1e-9)
    drifts = [heat_exchange.drift(list(times[part]), list(temperatures[part])) for part in (fore, after)]
    form = heat_exchange.two_rates if method == "two rates" else heat_exchange.six_tenths
    correction = form(drifts[0], drifts[1], list(times[main]), list(temperatures[main]))
    return float(temperatures[main][-1] - temperatures[main][0] + correction)


@pytest.mark.parametrize("jacket", [1.0, 2.0, 3.0, 4.0, -1.0])
@pytest.mark.parametrize("k", [0.001, 0.002, 0.003])
def test_the_integral_recovers_the_adiabatic_rise(jacket: float, k: float) -> None:
    assert recovered(*simulate(jacket, k=k), "two rates") == pytest.approx(RISE, abs=0.0005)


@pytest.mark.parametrize(
    ("method", "interval", "allowed"),
    [
        # What the coarser ways cost here, in K: the largest error over jackets from 1 to 4 K away.
        ("two rates", 1.0, 0.0020),
        ("six tenths", 0.1, 0.0020),
        ("six tenths", 1.0, 0.0025),
    ],
)
def test_what_coarser_readings_and_the_short_form_cost(method: str, interval: float, allowed: float) -> None:
    errors = [abs(recovered(*simulate(jacket, interval=interval), method) - RISE) for jacket in (1.0, 2.0, 3.0, 4.0)]
    assert max(errors) < allowed
    # The bound is no loose one: doing without the correction is wrong by several times as much.
    times, temperatures = simulate(4.0, interval=interval)
    uncorrected = temperatures[np.argmin(abs(times - 12))] - temperatures[np.argmin(abs(times))] - RISE
    assert abs(uncorrected) > 5 * allowed


def curve_log(method: str | None, *, periods: bool = True, wide: bool = False, interval: float = 0.5) -> Log:
    log = plain_log(2.5, 2.5)
    log.setup["Acid scheme"] = ("none",)
    if method:
        log.setup["Heat-exchange method"] = (method,)
    for row in log.rows["Runs"]:
        del row["Temperature rise (K)"]
    times, temperatures = simulate(2.0, interval=interval)
    log.rows["Readings"] = []
    if wide:
        log.headings["Readings"] = ["Time (min)", 1, "2", "Remark of the lab"]  # type: ignore[list-item]
        for time, value in zip(times, temperatures, strict=True):
            log.rows["Readings"].append({"Time (min)": round(time, 3), 1: round(value, 4), "2": round(value, 4)})  # type: ignore[dict-item]
        return log
    log.headings["Readings"] = ["Firing no.", "Time (min)", "Temperature (°C)", "Period"]
    for number in (1, 2):
        for time, value in zip(times, temperatures, strict=True):
            period = "fore" if time <= 1e-9 else "main" if time <= 12 + 1e-9 else "after"
            row = {"Firing no.": number, "Time (min)": round(time, 3), "Temperature (°C)": round(value, 4)}
            log.rows["Readings"].append(row | ({"Period": period} if periods else {}))
    return log


@pytest.mark.parametrize("method", ["two rates", "six tenths"])
@pytest.mark.parametrize("periods", [True, False])
def test_from_the_sheet_to_the_value(tmp_path: Path, method: str, periods: bool) -> None:
    evaluation = run(curve_log(method, periods=periods), tmp_path)
    found = firing(evaluation, 1)
    assert found.curve is not None
    assert found.corrected_rise_K == pytest.approx(RISE, abs=0.002)
    # C = 10 000 J/K, 1 g, 60 J: 0.002 K is 20 J/g
    assert found.gross_ad_J_per_g == pytest.approx(10000 * RISE - 60, abs=20)
    assert found.curve.times_min[found.curve.start] == pytest.approx(0)
    assert found.curve.cooling_constant_per_min == pytest.approx(0.002, rel=0.1)
    assert evaluation.samples[0].decision is Decision.READY


def test_adiabatic_takes_no_correction(tmp_path: Path) -> None:
    found = firing(run(curve_log("none"), tmp_path), 1)
    assert found.heat_exchange_K == 0


def test_two_settled_readings_are_enough_for_an_adiabatic_firing(tmp_path: Path) -> None:
    log = curve_log("none")
    log.rows["Readings"] = [
        {"Firing no.": number, "Time (min)": time, "Temperature (°C)": value, "Period": period}
        for number in (1, 2)
        for time, value, period in ((0, 22.0, "fore"), (5, 24.59, "main"), (10, 24.6, "main"), (15, 24.6, "after"))
    ]
    found = firing(run(log, tmp_path), 1)
    assert found.curve is not None
    assert (found.curve.fore_rate, found.curve.after_rate, found.curve.cooling_constant_per_min) == (0, 0, 0)
    assert found.gross_ad_J_per_g == pytest.approx(10000 * 2.6 - 60)


def test_one_column_a_firing_gives_the_same(tmp_path: Path) -> None:
    long = firing(run(curve_log("two rates", periods=False), tmp_path), 1)
    wide = firing(run(curve_log("two rates", wide=True), tmp_path), 1)
    assert wide.corrected_rise_K == long.corrected_rise_K
    assert wide.curve is not None


def test_the_method_must_be_named(tmp_path: Path) -> None:
    evaluation = run(curve_log(None), tmp_path)
    assert "heat-exchange-method-missing" in codes(evaluation)
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED


@pytest.mark.parametrize(
    ("spoil", "code"),
    [
        (lambda rows: rows.insert(3, rows.pop(10)), "curve-order"),
        (lambda rows: rows.pop(20), "curve-gap"),
        (lambda rows: [rows.pop(40) for _ in range(8)], "curve-too-short"),
        (lambda rows: rows[5].update({"Period": "after"}), "curve-periods-unclear"),
        (lambda rows: rows[4].update({"Temperature (°C)": rows[4]["Temperature (°C)"] + 0.1}), "curve-reading-off"),
        (lambda rows: rows[4].update({"Temperature (°C)": None}), "curve-reading-missing"),
        (lambda rows: rows[4].update({"Temperature (°C)": "22,1"}), "decimal-comma"),
    ],
)
def test_doubtful_readings_give_no_correction(tmp_path: Path, spoil: object, code: str) -> None:
    log = curve_log("two rates")
    rows = [row for row in log.rows["Readings"] if row["Firing no."] == 1]
    rest = [row for row in log.rows["Readings"] if row["Firing no."] == 2]
    if code == "curve-too-short":
        rows = [row for row in rows if row["Time (min)"] <= 13.5]
    else:
        spoil(rows)  # type: ignore[operator]
    log.rows["Readings"] = rows + rest
    evaluation = run(log, tmp_path)
    assert code in codes(evaluation)
    assert firing(evaluation, 1).gross_ad_J_per_g is None
    assert firing(evaluation, 2).gross_ad_J_per_g is not None
    assert evaluation.samples[0].decision is Decision.HOLD


def test_typed_figures_are_held_to_the_curve(tmp_path: Path) -> None:
    log = curve_log("two rates")
    log.rows["Runs"][0]["Temperature rise (K)"] = 2.5
    evaluation = run(log, tmp_path)
    assert "curve-disagrees" in codes(evaluation)
    assert firing(evaluation, 1).gross_ad_J_per_g is None


@pytest.mark.parametrize("burn", [0.3, 1.0])
@pytest.mark.parametrize("lag", [0.05, 0.2])
@pytest.mark.parametrize(("interval", "fired"), [(0.1, 0.0), (0.1, 0.05), (0.1, 0.07), (0.25, 0.2), (1.0, 0.95)])
def test_a_reading_just_after_firing_is_not_taken_for_the_one_at_firing(
    burn: float, lag: float, interval: float, fired: float
) -> None:
    """The thermometer may have risen by less than the jump that shows the burn; a late start would lose that rise."""
    times, temperatures = simulate(2.0, burn_min=burn, lag_min=lag, interval=interval, fired_at=fired)
    found = found_periods(list(times), list(temperatures), 0.001)
    assert found is not None
    start, end = found
    # What is left at the start: nothing above the line, to within what counts as on it.
    assert times[start] <= interval + 1e-9
    assert temperatures[start] - temperatures[times <= 1e-9][-1] < 0.002 + 0.005 * interval
    assert times[start] <= 1e-9 or fired + 0.01 > times[start]
    # And at the end: less than a millikelvin of the rise.
    assert RISE * np.exp(-(times[end] - fired - lag) / burn) < 0.001


@pytest.mark.parametrize("noise", [0.0005, 0.001, 0.002])
@pytest.mark.parametrize("interval", [0.1, 1.0])
def test_noise_hides_no_period(noise: float, interval: float) -> None:
    for seed in range(40):
        times, temperatures = simulate(2.0, interval=interval, noise=noise, step=0.001, seed=(seed,))
        found = found_periods(list(times), list(temperatures), 0.001)
        assert found is not None
        # A start before the firing does no harm: the integral holds from any reading before it.
        assert -2 * interval - 1e-9 <= times[found[0]] <= 1e-9
        assert 4.0 < times[found[1]] <= 18.0
