"""Heat-capacity series at their edges, by hand: 1 g of benzoic acid at 26 454 J/g with 60 J is 26 514 / rise."""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from logbook import DAY, Log, codes, firing, plain_log, run, sample

from batchcal.model import Evaluation, Series
from batchcal.terms import Decision, FiringState, SeriesState

EARLIER = dt.date(2026, 10, 1)
# C of 10 000 and 10 020 J/K: mean 10 010, SD sqrt(2 x 10^2 / 1) = 14.142, relative SD 0.14128 %
TWO = (2.6514, 26514 / 10020)


def bench(minimum: int = 2, scatter: float = 0.2) -> Log:
    """Two sample firings and no heat capacity yet."""
    log = plain_log(2.5, 2.5)
    del log.setup["Effective heat capacity"]
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Series minimum": (minimum, None, "own"),
        "Series relative SD limit": (scatter, "%", "own"),
    }
    log.rows["Calibration"] = []
    return log


def calibrate(log: Log, first: int, day: dt.date, rises: tuple[float, ...] = TWO, **extra: Any) -> Log:
    for number, rise in enumerate(rises, first):
        log.add("Calibration", firing_no=number, date=day, sample_mass=1.0, temperature_rise=rise, **extra)
    return log


def only(evaluation: Evaluation) -> Series:
    (one,) = evaluation.series
    return one


def waits(evaluation: Evaluation) -> None:
    """Computed, but provisional, and nothing is released."""
    assert firing(evaluation, 1).state is FiringState.PROVISIONAL
    assert firing(evaluation, 1).gross_ad_J_per_g is not None
    assert sample(evaluation).decision is Decision.WAIT
    assert set(sample(evaluation).gross_J_per_g.values()) == {None}


def test_the_figures_of_a_series(tmp_path: Path) -> None:
    series = only(run(calibrate(bench(), 101, EARLIER), tmp_path))
    assert series.heat_capacity_J_per_K == pytest.approx(10010, rel=1e-12)
    assert series.sd_J_per_K == pytest.approx(200**0.5, rel=1e-9)
    assert series.rsd_percent == pytest.approx(100 * 200**0.5 / 10010, rel=1e-9)
    assert (series.n, series.date, series.state) == (2, EARLIER, SeriesState.IN_FORCE)
    assert series.rise_range_K == pytest.approx((26514 / 10020, 2.6514), rel=1e-12)


def test_minimum_and_scatter_pass_at_equality(tmp_path: Path) -> None:
    log = calibrate(bench(2, 100 * 200**0.5 / 10010), 101, EARLIER)
    assert only(run(log, tmp_path)).state is SeriesState.IN_FORCE
    log.setup["Series relative SD limit"] = (0.1412, "%", "own")
    evaluation = run(log, tmp_path)
    assert only(evaluation).state is SeriesState.TOO_SCATTERED
    waits(evaluation)
    log.setup["Series relative SD limit"] = (0.2, "%", "own")
    log.setup["Series minimum"] = (3, None, "own")
    evaluation = run(log, tmp_path)
    assert only(evaluation).state is SeriesState.TOO_FEW
    waits(evaluation)


def test_one_firing_has_no_scatter_and_breaks_nothing(tmp_path: Path) -> None:
    evaluation = run(calibrate(bench(2), 101, EARLIER, (2.6514,)), tmp_path)
    assert only(evaluation).heat_capacity_J_per_K == pytest.approx(10000)
    assert only(evaluation).sd_J_per_K is None
    assert only(evaluation).state is SeriesState.TOO_FEW
    waits(evaluation)


def test_the_date_is_that_of_the_last_used_firing(tmp_path: Path) -> None:
    log = calibrate(bench(), 101, EARLIER)
    log.rows["Calibration"][0]["Date"] = dt.date(2026, 10, 3)  # the last in time stands first
    calibrate(log, 103, dt.date(2026, 10, 9), (2.7,), use="set aside", reason="water spilled")
    calibrate(log, 104, dt.date(2026, 10, 10), (), outcome="misfire")
    log.add("Calibration", firing_no=104, date=dt.date(2026, 10, 10), outcome="misfire")
    series = only(run(log, tmp_path))
    assert (series.n, series.date) == (2, dt.date(2026, 10, 3))
    assert series.heat_capacity_J_per_K == pytest.approx(10010, rel=1e-12)


@pytest.mark.parametrize(
    ("day", "life", "in_force"),
    [
        (dt.date(2026, 9, 14), (30, "days"), True),  # 14 September + 30 days is 14 October
        (dt.date(2026, 9, 13), (30, "days"), False),
        (dt.date(2026, 9, 14), (1, "months"), True),
        (dt.date(2026, 9, 13), (1, "months"), False),
        (dt.date(2026, 7, 14), (3, "months"), True),
        (dt.date(2026, 7, 13), (3, "months"), False),
        (DAY, (1, "days"), True),  # dated on the day itself
    ],
)
def test_life(tmp_path: Path, day: dt.date, life: tuple[Any, ...], in_force: bool) -> None:
    log = calibrate(bench(), 101, day)
    log.setup["Heat-capacity life"] = (*life, "own")
    evaluation = run(log, tmp_path)
    if in_force:
        assert sample(evaluation).decision is Decision.READY
        return
    assert only(evaluation).state is SeriesState.EXPIRED
    assert "series-expired" in codes(evaluation)
    waits(evaluation)


def test_a_setup_value_lapses_too(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Effective heat capacity"] = (10000, "J/K", "own", dt.date(2026, 7, 1))  # 90 days end on 29 September
    evaluation = run(log, tmp_path)
    assert only(evaluation).state is SeriesState.EXPIRED
    waits(evaluation)


def test_a_life_without_a_unit_is_not_guessed(tmp_path: Path) -> None:
    log = calibrate(bench(), 101, EARLIER)
    log.setup["Heat-capacity life"] = (3, None, "own")
    evaluation = run(log, tmp_path)
    assert "setup-unit-unknown" in codes(evaluation)
    assert sample(evaluation).decision is Decision.HOLD


def test_a_newer_series_that_is_short_is_not_passed_over(tmp_path: Path) -> None:
    log = calibrate(bench(), 101, EARLIER, series="A")
    calibrate(log, 201, dt.date(2026, 10, 12), (2.7,), series="B")
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 1).heat_capacity_J_per_K == pytest.approx(26514 / 2.7, rel=1e-12)
    waits(evaluation)


def test_the_series_column_groups_and_blank_is_one_series(tmp_path: Path) -> None:
    log = calibrate(bench(), 101, EARLIER)
    calibrate(log, 201, dt.date(2026, 10, 12))
    assert only(run(log, tmp_path)).n == 4
    for row in log.rows["Calibration"][:2]:
        row["Series"] = "A"
    for row in log.rows["Calibration"][2:]:
        row["Series"] = "B"
    evaluation = run(log, tmp_path)
    assert [(series.name, series.n) for series in evaluation.series] == [("A", 2), ("B", 2)]


@pytest.mark.parametrize("heading", ["Calorimeter", "Bomb"])
def test_runs_name_an_apparatus_that_the_calibration_leaves_blank(tmp_path: Path, heading: str) -> None:
    log = calibrate(bench(), 101, EARLIER)
    for row in log.rows["Runs"]:
        row[heading] = "B1"
    evaluation = run(log, tmp_path)
    assert "apparatus-missing" in codes(evaluation)
    assert firing(evaluation, 101).state is FiringState.NOT_COMPUTED
    assert firing(evaluation, 1).gross_ad_J_per_g is None
    assert sample(evaluation).decision is Decision.HOLD


def test_a_series_of_another_calorimeter_is_not_borrowed(tmp_path: Path) -> None:
    log = calibrate(bench(), 101, EARLIER, calorimeter="K1", bomb="B1")
    for row in log.rows["Runs"]:
        row |= {"Calorimeter": "K2", "Bomb": "B1"}
    evaluation = run(log, tmp_path)
    assert "heat-capacity-missing" in codes(evaluation)
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED
    assert sample(evaluation).decision is Decision.HOLD


def test_calibration_fired_on_the_day_s_sheet(tmp_path: Path) -> None:
    log = bench()
    for number, rise in enumerate(TWO, 101):
        log.add("Runs", firing_no=number, purpose="calibration", sample_mass=1.0, temperature_rise=rise)
    series = only(run(log, tmp_path))
    assert (series.n, series.date) == (2, DAY)  # by the Batch date
    assert series.heat_capacity_J_per_K == pytest.approx(10010, rel=1e-12)


def test_the_mass_basis_is_matched(tmp_path: Path) -> None:
    # 26 434 J/g in vacuum is 26 454 J/g as weighed in air, 0.076 % more
    log = calibrate(bench(), 101, EARLIER)
    log.setup["Benzoic acid heat of combustion"] = (26434, "J/g", "certificate")
    log.setup["Benzoic acid mass basis"] = ("vacuum",)
    found = firing(run(log, tmp_path), 101).heat_capacity_J_per_K
    assert found == pytest.approx(10000, abs=0.3)
    assert found != pytest.approx((26434 + 60) / 2.6514, abs=5)


@pytest.mark.parametrize(
    ("unit", "value", "calorie"),
    [("cal/K", 2400, 4.184), ("cal/°C", 2400, 4.184), ("J/°C", 10041.6, None), ("kJ/K", 10.0416, None)],
)
def test_a_setup_value_in_each_unit(tmp_path: Path, unit: str, value: float, calorie: float | None) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Effective heat capacity"] = (value, unit, "own", EARLIER)
    if calorie:
        log.setup["Calorie"] = (calorie,)
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 1).heat_capacity_J_per_K == pytest.approx(10041.6, rel=1e-12)  # 2 400 x 4.184
    assert sample(evaluation).decision is Decision.READY


@pytest.mark.parametrize(
    ("rise", "limit", "out"),
    [
        # C = 10 000, q = 26 454: found = 10 000 rise - 60
        (2.6514, (0.01, "%"), False),  # 26 454: nothing off
        (2.6614, (100, "J/g"), False),  # 100 above: equality
        (2.6414, (100, "J/g"), False),  # 100 below: equality
        (2.6615, (100, "J/g"), True),
        (2.6413, (100, "J/g"), True),
        (2.6614, (100 / 264.54, "%"), False),
        (2.6414, (0.37, "%"), True),  # 0.378 %
    ],
)
def test_check_limit_on_both_sides(tmp_path: Path, rise: float, limit: tuple[Any, ...], out: bool) -> None:
    log = plain_log(2.5, 2.5)
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Check limit": (*limit, "own"),
    }
    log.add("Runs", firing_no=9, purpose="check", sample_mass=1.0, temperature_rise=rise)
    evaluation = run(log, tmp_path)
    assert ("check-out" in codes(evaluation)) is out
    assert sample(evaluation).decision is (Decision.HOLD if out else Decision.READY)
    assert firing(evaluation, 9).recovery_percent == pytest.approx((1e4 * rise - 60) / 264.54, rel=1e-12)


def test_a_check_of_one_bomb_says_nothing_of_the_other(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    del log.setup["Effective heat capacity"]
    log.setup |= {
        "Effective heat capacity [K/1]": (10000, "J/K", "own", EARLIER),
        "Effective heat capacity [K/2]": (10000, "J/K", "own", EARLIER),
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Check limit": (0.1, "%", "own"),
    }
    for row in log.rows["Runs"]:
        row |= {"Calorimeter": "K", "Bomb": "1"}
    log.add("Runs", firing_no=9, purpose="check", sample_mass=1.0, temperature_rise=2.7, calorimeter="K", bomb="2")
    evaluation = run(log, tmp_path)
    assert "check-out" in codes(evaluation)
    assert sample(evaluation).decision is Decision.READY
