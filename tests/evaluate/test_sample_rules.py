"""Samples: comparison, further-test rule, decisions and bases, by hand: a rise of 2.5 K is 24 940 J/g."""

from pathlib import Path
from typing import Any

import pytest
from logbook import Log, codes, firing, plain_log, run, sample

from batchcal.terms import Basis, Decision, FiringState

AD, DRY, RECEIVED, FREE = Basis.AS_ANALYSED, Basis.DRY, Basis.AS_RECEIVED, Basis.DRY_ASH_FREE


@pytest.mark.parametrize(
    ("rises", "expected"),
    [
        # decision, limit applied, value as analysed, finding; 0.001 K is 10 J/g; r = 120, 1.2 r = 144, 1.3 r = 156
        ((2.5, 2.512), (Decision.READY, 120, 25000, None)),  # 120 apart: equality passes
        ((2.5, 2.5121), (Decision.REPEAT, 120, None, "pair-apart")),
        ((2.5, 2.5144, 2.507), (Decision.READY, 144, 25011.333333333332, None)),  # range 144
        ((2.5, 2.5145, 2.507), (Decision.REPEAT, 144, None, "three-apart")),
        ((2.5, 2.5156, 2.507, 2.508), (Decision.READY, 156, 25016.5, None)),
        ((2.5, 2.5157, 2.507, 2.509), (Decision.HOLD, 156, 25020.0, "four-apart")),  # median of 24 940 + 70 and + 90
        ((2.5, 2.501, 2.502, 2.503, 2.504), (Decision.HOLD, None, 24960.0, "more-than-four")),
        ((2.5,), (Decision.REPEAT, None, None, "single-firing")),
    ],
)
def test_range_rule(
    tmp_path: Path, rises: tuple[float, ...], expected: tuple[Decision, float | None, float | None, str | None]
) -> None:
    decision, limit, value, code = expected
    evaluation = run(plain_log(*rises), tmp_path)
    result = sample(evaluation)
    assert result.decision is decision
    assert result.limit_J_per_g == (None if limit is None else pytest.approx(limit))
    assert result.gross_J_per_g[AD] == (None if value is None else pytest.approx(value, rel=1e-12))
    assert result.n_used == len(rises)
    if len(rises) > 1:
        assert result.range_J_per_g == pytest.approx((max(rises) - min(rises)) * 1e4, rel=1e-9)
    if code:
        assert code in codes(evaluation)


def test_median_by_explicit_choice(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.52, 2.505)
    log.setup["Further-test rule"] = ("median",)
    evaluation = run(log, tmp_path)
    result = sample(evaluation)
    assert result.decision is Decision.READY
    assert result.gross_J_per_g[AD] == pytest.approx(24990)
    assert "median-used" in codes(evaluation)
    # Two that disagree still need a third.
    log = plain_log(2.5, 2.52)
    log.setup["Further-test rule"] = ("median",)
    assert sample(run(log, tmp_path)).decision is Decision.REPEAT


def test_closest_two_by_explicit_choice(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.53, 2.505)
    log.setup["Further-test rule"] = ("closest two",)
    evaluation = run(log, tmp_path)
    result = sample(evaluation)
    assert (result.decision, result.n_used) == (Decision.READY, 2)
    assert result.gross_J_per_g[AD] == pytest.approx(24965)  # of 24 940 and 24 990
    assert result.range_J_per_g == pytest.approx(50)
    assert result.limit_J_per_g == pytest.approx(120)
    assert "closest-two-used" in codes(evaluation)
    assert firing(evaluation, 2).state is FiringState.EXCLUDED


@pytest.mark.parametrize(("basis", "apart"), [("ad", 100.0), ("d", 100 / 0.96)])
def test_comparison_on_the_named_basis(tmp_path: Path, basis: str, apart: float) -> None:
    log = plain_log(2.5, 2.51)
    log.setup["Comparison basis"] = (basis,)
    assert sample(run(log, tmp_path)).range_J_per_g == pytest.approx(apart, rel=1e-9)


@pytest.mark.parametrize(
    ("item", "code"),
    [("Repeatability limit", "repeatability-limit-missing"), ("Comparison basis", "comparison-basis-missing")],
)
def test_without_limit_or_basis_no_verdict(tmp_path: Path, item: str, code: str) -> None:
    log = plain_log(2.5, 2.51)
    del log.setup[item]
    evaluation = run(log, tmp_path)
    result = sample(evaluation)
    assert code in codes(evaluation)
    assert (result.decision, result.limit_J_per_g) == (Decision.HOLD, None)
    assert "not judged" in result.statistic


@pytest.mark.parametrize(
    ("limit", "J_per_g"),
    [((0.12, "MJ/kg"), 120), ((30, "kcal/kg"), 125.604), ((50, "Btu/lb"), 116.3), ((120, "kJ/kg"), 120)],
)
def test_the_limit_in_other_units(tmp_path: Path, limit: tuple[Any, ...], J_per_g: float) -> None:
    log = plain_log(2.5, 2.501)
    log.setup["Calorie"] = ("international",)
    log.setup["Repeatability limit"] = (*limit, "own")
    assert sample(run(log, tmp_path)).limit_J_per_g == pytest.approx(J_per_g, rel=1e-12)


@pytest.mark.parametrize("outcome", ["misfire", "incomplete", "leak", "spoiled", "lost"])
def test_a_firing_that_went_wrong_keeps_its_row_and_is_not_counted(tmp_path: Path, outcome: str) -> None:
    log = plain_log(2.5, 2.501)
    log.add("Runs", firing_no=3, sample_no="S1", outcome=outcome)
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 3).state is FiringState.EXCLUDED
    assert outcome in firing(evaluation, 3).reason
    assert (sample(evaluation).decision, sample(evaluation).n_used) == (Decision.READY, 2)
    assert ("leak-logged" in codes(evaluation)) is (outcome == "leak")
    assert evaluation.all_ready is (outcome != "leak")


def test_setting_aside_needs_a_reason(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.501, 2.6)
    log.rows["Runs"][2] |= {"Use": "set aside", "Reason": "crucible tipped over"}
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 3).state is FiringState.SET_ASIDE
    assert firing(evaluation, 3).gross_ad_J_per_g == pytest.approx(25940)  # kept in view, never counted
    assert sample(evaluation).decision is Decision.READY
    del log.rows["Runs"][2]["Reason"]
    evaluation = run(log, tmp_path)
    assert "set-aside-without-reason" in codes(evaluation)
    assert sample(evaluation).decision is Decision.HOLD


def based(bases: str, **contents: float) -> Log:
    log = plain_log(2.5, 2.5)
    log.setup["Bases required"] = (bases,)
    names = {"moisture": "Moisture, analysis (%)", "total": "Moisture, total (%)", "ash": "Ash (%)"}
    row = log.rows["Samples"][0]
    row.clear()
    row |= {"Sample no.": "S1", "Basis": "ad"} | {names[key]: value for key, value in contents.items()}
    return log


def test_bases_by_hand(tmp_path: Path) -> None:
    values = sample(run(based("ad, d, ar, daf", moisture=4, total=12, ash=10), tmp_path)).gross_J_per_g
    assert values[AD] == pytest.approx(24940, rel=1e-13)
    assert values[DRY] == pytest.approx(24940 / 0.96, rel=1e-13)
    assert values[RECEIVED] == pytest.approx(24940 * 88 / 96, rel=1e-13)
    assert values[FREE] == pytest.approx(24940 / 0.86, rel=1e-13)


@pytest.mark.parametrize(
    ("bases", "contents", "decision", "code"),
    [
        ("ad", {}, Decision.READY, None),  # nothing needs the moisture
        ("d", {}, Decision.WAIT, "moisture-missing"),
        ("d", {"moisture": 4.0}, Decision.READY, None),
        ("ar", {"moisture": 4.0}, Decision.WAIT, "total-moisture-missing"),
        ("daf", {"moisture": 4.0}, Decision.WAIT, "ash-missing"),
        ("ar", {"moisture": 12.0, "total": 4.0}, Decision.HOLD, "moistures-exchanged"),
        ("d", {"moisture": 12.0, "total": 4.0}, Decision.HOLD, "moistures-exchanged"),
        ("ad", {"moisture": 12.0, "total": 4.0}, Decision.READY, None),  # said, for review
        ("daf", {"moisture": 4.0, "ash": 97.0}, Decision.HOLD, "ash-and-moisture-over"),
        ("d", {"moisture": 104.0}, Decision.HOLD, "percentage-unfit"),
        ("d", {"moisture": -1.0}, Decision.HOLD, "percentage-unfit"),
    ],
)
def test_contents_are_missed_only_where_they_are_needed(
    tmp_path: Path, bases: str, contents: dict[str, float], decision: Decision, code: str | None
) -> None:
    evaluation = run(based(bases, **contents), tmp_path)
    assert sample(evaluation).decision is decision
    stopping = [finding.code for finding in evaluation.findings if finding.severity.stops]
    assert stopping == ([code] if code else [])


def test_comparison_on_the_dry_basis_waits_for_moisture(tmp_path: Path) -> None:
    log = based("ad")
    log.setup["Comparison basis"] = ("d",)
    evaluation = run(log, tmp_path)
    assert "moisture-missing" in codes(evaluation)
    assert sample(evaluation).decision is Decision.WAIT
    assert sample(evaluation).range_J_per_g is None


def test_hold_goes_before_wait_before_repeat(tmp_path: Path) -> None:
    log = based("d")
    log.rows["Runs"][1]["Temperature rise (K)"] = 2.6
    assert sample(run(log, tmp_path)).decision is Decision.WAIT  # apart, and no moisture
    log.rows["Runs"][1]["Temperature rise (K)"] = "2.6 K"
    result = sample(run(log, tmp_path))
    assert result.decision is Decision.HOLD
    assert "2.6 K" in result.reason


def test_review_findings_never_block(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Runs"][0]["Residue"] = "a little soot"
    log.setup["Labratory"] = ("misspelt",)
    evaluation = run(log, tmp_path)
    assert {"residue-noted", "setup-item-unknown"} <= set(codes(evaluation))
    assert evaluation.all_ready


def test_safety_limits_are_the_lab_s_own(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    said = next(f for f in run(log, tmp_path).findings if f.code == "safety-limit-missing")
    assert "Maximum oxygen pressure" in said.message
    log.setup |= {
        "Maximum charge energy": (24.9, "kJ", "instructions"),  # 10 000 x 2.5 = 25 kJ
        "Maximum sample mass": (0.9, "g", "instructions"),
        "Maximum oxygen pressure": (3.3, "MPa", "instructions"),
    }
    log.rows["Runs"][0]["Oxygen pressure (MPa)"] = 3.4
    evaluation = run(log, tmp_path)
    assert {"charge-energy-over", "charge-mass-over", "oxygen-pressure-over"} <= set(codes(evaluation))
    assert evaluation.findings[0].severity == "safety"
    assert "trained person" in evaluation.findings[0].remedy
    assert sample(evaluation).decision is Decision.HOLD


def test_an_id_that_is_not_listed_names_the_nearest(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Samples"][0]["Sample no."] = "S11"
    evaluation = run(log, tmp_path)
    finding = next(f for f in evaluation.findings if f.code == "sample-not-listed")
    assert "S11" in finding.message
    assert sample(evaluation).decision is Decision.HOLD


def test_what_the_reading_step_is_worth(tmp_path: Path) -> None:
    log = plain_log(2.50, 2.51)
    resolution = run(log, tmp_path).resolution
    assert resolution is not None
    # two decimals: 0.01 K x 10 000 J/K / 1 g
    assert resolution.step_K == 0.01
    assert resolution.worth_J_per_g == pytest.approx(100)
    log.setup["Reading resolution"] = (0.002, "K", "own")
    resolution = run(log, tmp_path).resolution
    assert resolution is not None
    assert resolution.worth_J_per_g == pytest.approx(20)
