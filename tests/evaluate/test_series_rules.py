"""Heat capacities: from benzoic acid or from Setup, which is in force, and what a check firing says of it."""

import datetime as dt
import statistics
from pathlib import Path
from typing import Any

import pytest
from logbook import DAY, Log, codes, firing, plain_log, run, sample

from batchcal.terms import Decision, FiringState, SeriesState

BENZOIC = 26454.0
# 1.0 g of benzoic acid with 60 J of ignition: C = 26 514 / rise
RISES = (2.65, 2.652, 2.648, 2.651, 2.649)
CAPACITIES = [26514 / rise for rise in RISES]
SERIES_DAY = dt.date(2026, 10, 1)


def series_log(*rises: float, day: dt.date = SERIES_DAY) -> Log:
    log = plain_log(2.5, 2.5)
    del log.setup["Effective heat capacity"]
    log.setup |= {
        "Benzoic acid heat of combustion": (BENZOIC, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Series minimum": (5, None, "own"),
        "Series relative SD limit": (0.2, "%", "own"),
    }
    log.rows["Calibration"] = []
    add_series(log, rises or RISES, day)
    return log


def add_series(log: Log, rises: tuple[float, ...], day: dt.date, first: int = 101, **extra: Any) -> None:
    for number, rise in enumerate(rises, first):
        log.add("Calibration", firing_no=number, date=day, sample_mass=1.0, temperature_rise=rise, **extra)


def test_a_series_by_hand(tmp_path: Path) -> None:
    evaluation = run(series_log(), tmp_path)
    (series,) = evaluation.series
    assert series.heat_capacity_J_per_K == pytest.approx(statistics.mean(CAPACITIES), rel=1e-14)
    assert series.sd_J_per_K == pytest.approx(statistics.stdev(CAPACITIES), rel=1e-9)
    relative = 100 * statistics.stdev(CAPACITIES) / statistics.mean(CAPACITIES)
    assert series.rsd_percent == pytest.approx(relative, rel=1e-9)
    assert (series.n, series.rise_range_K, series.date) == (5, (2.648, 2.652), SERIES_DAY)
    assert series.state is SeriesState.IN_FORCE
    assert series.firings == ("101", "102", "103", "104", "105")
    mean = statistics.mean(CAPACITIES)
    assert firing(evaluation, 1).gross_ad_J_per_g == pytest.approx(mean * 2.5 - 60, rel=1e-13)
    assert sample(evaluation).decision is Decision.READY


def test_the_certificate_value_is_matched_to_the_weighing(tmp_path: Path) -> None:
    log = series_log()
    log.setup["Benzoic acid heat of combustion"] = (26434, "J/g", "certificate")
    log.setup["Benzoic acid mass basis"] = ("vacuum",)
    in_air = 26434 * (1 - 0.0012 / 8.0) / (1 - 0.0012 / 1.320)
    found = firing(run(log, tmp_path), 101).heat_capacity_J_per_K
    assert found == pytest.approx((in_air + 60) / 2.65, rel=1e-13)
    # the same in cal/g, by the calorie that is named
    log.setup["Benzoic acid heat of combustion"] = (26434 / 4.184, "cal/g", "certificate")
    log.setup["Calorie"] = ("thermochemical",)
    assert firing(run(log, tmp_path), 101).heat_capacity_J_per_K == pytest.approx(found, rel=1e-13)


@pytest.mark.parametrize("item", ["Benzoic acid heat of combustion", "Benzoic acid mass basis"])
def test_without_value_or_mass_basis_no_heat_capacity(tmp_path: Path, item: str) -> None:
    log = series_log()
    del log.setup[item]
    evaluation = run(log, tmp_path)
    assert codes(evaluation).count("benzoic-heat-missing") == 1
    assert firing(evaluation, 101).heat_capacity_J_per_K is None
    assert firing(evaluation, 1).gross_ad_J_per_g is None
    assert sample(evaluation).decision is Decision.HOLD


@pytest.mark.parametrize(
    ("rises", "life", "state", "code"),
    [
        (RISES, (90, "days", "own"), SeriesState.IN_FORCE, None),
        (RISES, (13, "days", "own"), SeriesState.IN_FORCE, None),  # 1 October + 13 days is the 14th
        (RISES, (12, "days", "own"), SeriesState.EXPIRED, "series-expired"),
        (RISES, (1, "months", "own"), SeriesState.IN_FORCE, None),
        (RISES[:4], (90, "days", "own"), SeriesState.TOO_FEW, "series-too-few"),
        # one rise 1 % off: relative SD 0.45 %
        ((*RISES[:4], 2.68), (90, "days", "own"), SeriesState.TOO_SCATTERED, "series-too-scattered"),
    ],
)
def test_a_series_that_is_not_in_order_makes_results_provisional(
    tmp_path: Path, rises: tuple[float, ...], life: tuple[Any, ...], state: SeriesState, code: str | None
) -> None:
    log = series_log(*rises)
    log.setup["Heat-capacity life"] = life
    evaluation = run(log, tmp_path)
    result = sample(evaluation)
    assert evaluation.series[0].state is state
    if code is None:
        assert result.decision is Decision.READY
        return
    assert code in codes(evaluation)
    assert result.decision is Decision.WAIT
    assert firing(evaluation, 1).state is FiringState.PROVISIONAL
    assert firing(evaluation, 1).gross_ad_J_per_g is not None
    assert set(result.gross_J_per_g.values()) == {None}


@pytest.mark.parametrize("item", ["Series minimum", "Series relative SD limit", "Heat-capacity life"])
def test_a_blank_limit_gives_no_verdict(tmp_path: Path, item: str) -> None:
    log = series_log()
    del log.setup[item]
    evaluation = run(log, tmp_path)
    assert "series-limit-missing" in codes(evaluation)
    assert sample(evaluation).decision is Decision.HOLD


def test_method_with_a_source_confirms_the_method_s_figures(tmp_path: Path) -> None:
    log = series_log()
    log.setup["Method"] = ("iso-1928",)
    for item in ("Series minimum", "Series relative SD limit", "Heat-capacity life", "Repeatability limit"):
        log.setup[item] = ("method", None, "own copy")
    log.setup["Comparison basis"] = ("d",)
    evaluation = run(log, tmp_path)
    assert sample(evaluation).decision is Decision.READY
    assert sample(evaluation).limit_J_per_g == 120
    assert evaluation.settings.series_minimum is not None
    assert evaluation.settings.series_minimum.value == 5
    log.setup["Series minimum"] = ("method",)
    evaluation = run(log, tmp_path)
    assert "method-figure-unconfirmed" in codes(evaluation)
    assert sample(evaluation).decision is Decision.HOLD
    log.setup["Method"] = ("lab",)
    assert "method-has-no-figure" in codes(run(log, tmp_path))


def test_the_newest_series_on_or_before_the_firing_is_in_force(tmp_path: Path) -> None:
    log = series_log()
    newer = tuple(rise * 1.01 for rise in RISES)
    later = tuple(rise * 1.02 for rise in RISES)
    for row in log.rows["Calibration"]:
        row["Series"] = "old"
    add_series(log, newer, DAY, 201, series="new")
    add_series(log, later, DAY + dt.timedelta(days=1), 301, series="later")
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 1).heat_capacity_J_per_K == pytest.approx(statistics.mean(CAPACITIES) / 1.01, rel=1e-9)
    # A firing of the day before still has the old one.
    log.rows["Runs"][0]["Date"] = log.rows["Runs"][1]["Date"] = DAY - dt.timedelta(days=1)
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 1).heat_capacity_J_per_K == pytest.approx(statistics.mean(CAPACITIES), rel=1e-9)


def test_two_bombs_have_each_their_own(tmp_path: Path) -> None:
    log = series_log()
    for row in log.rows["Calibration"]:
        row["Bomb"] = "1"
    add_series(log, tuple(rise * 1.01 for rise in RISES), SERIES_DAY, 201, bomb="2")
    log.rows["Runs"][0]["Bomb"] = "1"
    log.rows["Runs"][1]["Bomb"] = "2"
    evaluation = run(log, tmp_path)
    first, second = (firing(evaluation, number).heat_capacity_J_per_K for number in (1, 2))
    assert first == pytest.approx(statistics.mean(CAPACITIES), rel=1e-12)
    assert second == pytest.approx(statistics.mean(CAPACITIES) / 1.01, rel=1e-12)
    del log.rows["Runs"][1]["Bomb"]
    evaluation = run(log, tmp_path)
    assert "apparatus-missing" in codes(evaluation)
    assert firing(evaluation, 2).state is FiringState.NOT_COMPUTED
    log.rows["Runs"][1]["Bomb"] = "3"
    assert "heat-capacity-missing" in codes(run(log, tmp_path))


def test_a_doubtful_calibration_firing_does_not_drop_out_in_silence(tmp_path: Path) -> None:
    log = series_log(*RISES, 2.65)
    log.rows["Calibration"][2]["Sample mass (g)"] = "1,0000"
    evaluation = run(log, tmp_path)
    assert evaluation.series[0].n == 5
    assert sample(evaluation).decision is Decision.HOLD
    # A misfire is no doubt.
    log.rows["Calibration"][2]["Outcome"] = "misfire"
    assert sample(run(log, tmp_path)).decision is Decision.READY


def test_from_setup_in_calories_with_date_and_source(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Calorie"] = ("international",)
    log.setup["Effective heat capacity"] = (2400, "cal/°C", "own", SERIES_DAY)
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 1).heat_capacity_J_per_K == pytest.approx(2400 * 4.1868, rel=1e-15)
    assert evaluation.series[0].n is None
    assert sample(evaluation).decision is Decision.READY
    del log.setup["Calorie"]
    assert "calorie-missing" in codes(run(log, tmp_path))


@pytest.mark.parametrize("entry", [(10000, "J/K", "own"), (10000, "J/K", None, SERIES_DAY), (10000, "J/K")])
def test_a_setup_value_without_source_or_date_holds(tmp_path: Path, entry: tuple[Any, ...]) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Effective heat capacity"] = entry
    evaluation = run(log, tmp_path)
    assert "heat-capacity-incomplete" in codes(evaluation)
    assert sample(evaluation).decision is Decision.HOLD


def test_a_setup_value_beside_a_series_is_a_finding(tmp_path: Path) -> None:
    log = series_log()
    log.setup["Effective heat capacity"] = (10000, "J/K", "own", SERIES_DAY)
    evaluation = run(log, tmp_path)
    assert "heat-capacity-twice" in codes(evaluation)
    assert sample(evaluation).decision is Decision.HOLD


def test_a_setup_value_is_found_by_calorimeter_and_bomb(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    del log.setup["Effective heat capacity"]
    log.setup["Effective heat capacity [K1/B1]"] = (10000, "J/K", "own", SERIES_DAY)
    log.setup["Effective heat capacity [K1/B2]"] = (10100, "J/K", "own", SERIES_DAY)
    for row, bomb in zip(log.rows["Runs"], ("B1", "B2"), strict=True):
        row |= {"Calorimeter": "K1", "Bomb": bomb}
    evaluation = run(log, tmp_path)
    assert [firing(evaluation, n).heat_capacity_J_per_K for n in (1, 2)] == [10000, 10100]


def test_a_value_in_force_only_later_is_none(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Effective heat capacity"] = (10000, "J/K", "own", DAY + dt.timedelta(days=1))
    evaluation = run(log, tmp_path)
    assert "heat-capacity-missing" in codes(evaluation)
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED


@pytest.mark.parametrize(
    ("rise", "limit", "out"),
    [
        # C = 10 000: found = 10 000 x 2.65 - 60 = 26 440, 14 J/g or 0.053 % below 26 454
        (2.65, (0.1, "%", "own"), False),
        (2.65, (0.05, "%", "own"), True),
        (2.65, (14, "J/g", "own"), False),
        (2.65, (13.9, "J/g", "own"), True),
    ],
)
def test_check_firing_is_judged_before_the_samples(
    tmp_path: Path, rise: float, limit: tuple[Any, ...], out: bool
) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Benzoic acid heat of combustion"] = (BENZOIC, "J/g", "certificate")
    log.setup["Benzoic acid mass basis"] = ("air",)
    log.setup["Check limit"] = limit
    log.add("Runs", firing_no=9, purpose="check", sample_mass=1.0, temperature_rise=rise)
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 9).recovery_percent == pytest.approx(100 * 26440 / 26454, rel=1e-12)
    assert ("check-out" in codes(evaluation)) is out
    result = sample(evaluation)
    assert (result.decision is Decision.HOLD) is out
    assert (result.gross_J_per_g["ad"] is None) is out  # type: ignore[index]
    # Set aside for a technical reason it no longer stands in the way.
    log.rows["Runs"][-1] |= {"Use": "set aside", "Reason": "soot found"}
    assert sample(run(log, tmp_path)).decision is Decision.READY


def test_a_check_that_cannot_be_read_holds_and_a_missing_one_is_for_review(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    assert "check-missing" in codes(run(log, tmp_path))
    log.setup["Benzoic acid heat of combustion"] = (BENZOIC, "J/g", "certificate")
    log.setup["Benzoic acid mass basis"] = ("air",)
    log.add("Runs", firing_no=9, purpose="check", sample_mass="1.0 g", temperature_rise=2.65)
    assert sample(run(log, tmp_path)).decision is Decision.HOLD
    log.rows["Runs"][-1]["Sample mass (g)"] = 1.0
    evaluation = run(log, tmp_path)
    assert "check-limit-missing" in codes(evaluation)
    assert sample(evaluation).decision is Decision.READY
