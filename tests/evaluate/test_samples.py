"""Samples at their edges, by hand: a rise of 2.5 K is 24 940 J/g as analysed, 0.001 K is 10 J/g, r = 120 J/g."""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from logbook import Log, codes, firing, plain_log, run, sample

from batchcal.terms import Basis, Decision, FiringState

AD, DRY, RECEIVED, FREE = Basis.AS_ANALYSED, Basis.DRY, Basis.AS_RECEIVED, Basis.DRY_ASH_FREE


def ruled(rule: str, *rises: float) -> Log:
    log = plain_log(*rises)
    log.setup["Further-test rule"] = (rule,)
    return log


@pytest.mark.parametrize(
    ("rises", "decision", "limit"),
    [
        # with 4 % moisture 0.01152 K is 115.2 J/g as analysed and 120 J/g dry; times 1.2 and 1.3: 0.013824, 0.014976
        ((2.5, 2.51152), Decision.READY, 120),
        ((2.5, 2.51153), Decision.REPEAT, 120),
        ((2.5, 2.513824, 2.507), Decision.READY, 144),
        ((2.5, 2.513834, 2.507), Decision.REPEAT, 144),
        ((2.5, 2.514976, 2.507, 2.508), Decision.READY, 156),
        ((2.5, 2.514986, 2.507, 2.508), Decision.HOLD, 156),
    ],
)
def test_the_range_rule_on_the_dry_basis(
    tmp_path: Path, rises: tuple[float, ...], decision: Decision, limit: float
) -> None:
    log = plain_log(*rises)
    log.setup["Comparison basis"] = ("d",)
    result = sample(run(log, tmp_path))
    assert result.decision is decision
    assert result.limit_J_per_g == pytest.approx(limit, rel=1e-12)
    assert result.range_J_per_g == pytest.approx((max(rises) - min(rises)) * 1e4 / 0.96, rel=1e-9)


def test_an_unset_rule_is_the_range_rule(tmp_path: Path) -> None:
    assert sample(run(plain_log(2.5, 2.505), tmp_path)).rule == "range"


def test_what_is_beyond_the_rule_has_no_value_but_the_held_median(tmp_path: Path) -> None:
    result = sample(run(plain_log(2.5, 2.52), tmp_path))
    assert set(result.gross_J_per_g.values()) == {None}
    result = sample(run(plain_log(2.5, 2.503, 2.507, 2.53), tmp_path))
    assert result.decision is Decision.HOLD
    assert result.gross_J_per_g[AD] == pytest.approx(24990, rel=1e-12)  # median of 24 970 and 25 010
    assert "median" in result.statistic


@pytest.mark.parametrize(
    ("rises", "value"),
    [((2.5, 2.53, 2.507), 25010), ((2.5, 2.53, 2.507, 2.509), 25020)],  # 24 940 + 70; and the mean of + 70 and + 90
)
def test_the_median_is_of_all(tmp_path: Path, rises: tuple[float, ...], value: float) -> None:
    evaluation = run(ruled("median", *rises), tmp_path)
    assert sample(evaluation).decision is Decision.READY
    assert sample(evaluation).gross_J_per_g[AD] == pytest.approx(value, rel=1e-12)
    assert sample(evaluation).n_used == len(rises)
    cost = next(f for f in evaluation.findings if f.code == "median-used")
    assert cost.sample == "S1"


@pytest.mark.parametrize(
    ("rises", "decision", "n", "value"),
    [
        ((2.5, 2.53, 2.56, 2.507), Decision.READY, 2, 24975),  # 24 940 and 25 010
        ((2.5, 2.52, 2.54), Decision.REPEAT, 3, None),  # 200 apart at the closest
        ((2.5, 2.52, 2.54, 2.56), Decision.HOLD, 4, 25240),  # nothing agrees: the median is shown, held
        ((2.5, 2.505), Decision.READY, 2, 24965),  # two that agree are no choice
    ],
)
def test_closest_two(tmp_path: Path, rises: tuple[float, ...], decision: Decision, n: int, value: float | None) -> None:
    evaluation = run(ruled("closest two", *rises), tmp_path)
    result = sample(evaluation)
    assert (result.decision, result.n_used) == (decision, n)
    assert result.gross_J_per_g[AD] == (None if value is None else pytest.approx(value, rel=1e-12))
    assert ("closest-two-used" in codes(evaluation)) is (len(rises) > 2 and decision is Decision.READY)


def test_samples_are_judged_each_on_its_own(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.505)
    for number, rise in ((3, 2.5), (4, 2.52)):
        log.add("Runs", firing_no=number, sample_no="S2", sample_mass=1.0, temperature_rise=rise)
    log.add("Samples", sample_no="S2")
    evaluation = run(log, tmp_path)
    assert sample(evaluation, "S1").decision is Decision.READY
    assert sample(evaluation, "S2").decision is Decision.REPEAT
    assert not evaluation.all_ready


@pytest.mark.parametrize("outcome", ["misfire", "incomplete", "leak", "spoiled", "lost"])
def test_an_outcome_with_a_full_row_is_not_counted_either(tmp_path: Path, outcome: str) -> None:
    log = plain_log(2.5, 2.501, 2.6)
    log.rows["Runs"][2]["Outcome"] = outcome
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 3).state is FiringState.EXCLUDED
    assert (sample(evaluation).decision, sample(evaluation).n_used) == (Decision.READY, 2)
    assert sample(evaluation).gross_J_per_g[AD] == pytest.approx(24945, rel=1e-12)


def test_one_good_firing_beside_a_misfire_is_fired_again(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Runs"][1] = {"Firing no.": 2, "Sample no.": "S1", "Outcome": "misfire"}
    result = sample(run(log, tmp_path))
    assert (result.decision, result.n_used, result.range_J_per_g) == (Decision.REPEAT, 1, None)
    assert set(result.gross_J_per_g.values()) == {None}


def test_a_blank_outcome_without_a_rise_is_not_good(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Runs"][1] = {"Firing no.": 2, "Sample no.": "S1", "Sample mass (g)": 1.0}
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 2).state is FiringState.NOT_COMPUTED
    assert sample(evaluation).decision is Decision.HOLD


def test_a_trial_is_no_result(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.505, 2.6)
    log.rows["Runs"][2]["Purpose"] = "trial"
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 3).state is FiringState.EXCLUDED
    assert (sample(evaluation).decision, sample(evaluation).n_used) == (Decision.READY, 2)


@pytest.mark.parametrize(
    ("comparison", "required", "given", "decision"),
    [
        # what is asked for is only what is needed
        ("ad", "ad", {}, Decision.READY),
        ("d", "d", {"Moisture, analysis (%)": 4.0}, Decision.READY),
        ("d", "ad", {}, Decision.WAIT),
        ("ad", "ad, d", {}, Decision.WAIT),
        ("ad", "ad, ar", {"Moisture, analysis (%)": 4.0}, Decision.WAIT),
        ("ad", "ad, ar", {"Moisture, total (%)": 12.0}, Decision.WAIT),
        ("ad", "ad, ar", {"Moisture, analysis (%)": 4.0, "Moisture, total (%)": 12.0}, Decision.READY),
        ("ad", "daf", {"Moisture, analysis (%)": 4.0}, Decision.WAIT),
        ("ad", "daf", {"Moisture, analysis (%)": 4.0, "Ash (%)": 10.0, "Basis": "ad"}, Decision.READY),
        ("ad", "daf", {"Moisture, analysis (%)": 4.0, "Ash (%)": 10.0}, Decision.HOLD),  # no basis for the ash
    ],
)
def test_what_is_needed(
    tmp_path: Path, comparison: str, required: str, given: dict[str, Any], decision: Decision
) -> None:
    log = plain_log(2.5, 2.505)
    log.setup["Comparison basis"] = (comparison,)
    log.setup["Bases required"] = (required,)
    log.rows["Samples"] = [{"Sample no.": "S1", **given}]
    assert sample(run(log, tmp_path)).decision is decision


def test_a_basis_that_is_not_required_is_null_where_it_cannot_be_found(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    values = sample(run(log, tmp_path)).gross_J_per_g
    assert values[AD] == pytest.approx(24940, rel=1e-12)
    assert values[DRY] == pytest.approx(24940 / 0.96, rel=1e-12)
    assert (values[RECEIVED], values[FREE]) == (None, None)


def test_ash_in_its_own_heading_s_basis(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.headings["Samples"][6] = "Ash, d (%)"
    log.rows["Samples"][0]["Ash, d (%)"] = 10.0
    # dry ash-free: 24 940 / 0.96 / 0.90
    assert sample(run(log, tmp_path)).gross_J_per_g[FREE] == pytest.approx(24940 / 0.864, rel=1e-12)


def test_decisions_in_their_order(tmp_path: Path) -> None:
    """One log, made better step by step: hold, wait, repeat, ready."""
    log = plain_log(2.5, 2.52)
    log.setup["Bases required"] = ("d",)
    log.rows["Samples"][0]["Moisture, analysis (%)"] = None
    log.add("Runs", firing_no=3, sample_no="S1", sample_mass="1,0", temperature_rise=2.51)
    seen = [sample(run(log, tmp_path)).decision]
    del log.rows["Runs"][2]
    seen.append(sample(run(log, tmp_path)).decision)
    log.rows["Samples"][0]["Moisture, analysis (%)"] = 4.0
    seen.append(sample(run(log, tmp_path)).decision)
    log.add("Runs", firing_no=3, sample_no="S1", sample_mass=1.0, temperature_rise=2.51)
    log.setup["Further-test rule"] = ("median",)
    seen.append(sample(run(log, tmp_path)).decision)
    assert seen == [Decision.HOLD, Decision.WAIT, Decision.REPEAT, Decision.READY]


def test_a_provisional_pair_apart_waits_and_has_no_value(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.52)
    log.setup["Effective heat capacity"] = (10000, "J/K", "own", dt.date(2026, 1, 1))  # 90 days are over
    evaluation = run(log, tmp_path)
    assert sample(evaluation).decision is Decision.WAIT
    assert {firing(evaluation, n).state for n in (1, 2)} == {FiringState.PROVISIONAL}
    assert set(sample(evaluation).gross_J_per_g.values()) == {None}


@pytest.mark.parametrize(
    ("pressure", "code"), [(3.0, None), (3.3, None), (3.4, "oxygen-pressure-over"), (2.4, "oxygen-pressure-low")]
)
def test_pressure_limits(tmp_path: Path, pressure: float, code: str | None) -> None:
    log = plain_log(2.5, 2.505)
    log.setup |= {
        "Maximum oxygen pressure": (33, "bar", "instructions"),
        "Minimum oxygen pressure": (25, "bar", "instructions"),
    }
    for row in log.rows["Runs"]:
        row["Oxygen pressure (MPa)"] = pressure
    evaluation = run(log, tmp_path)
    said = {c for c in codes(evaluation) if c in ("oxygen-pressure-over", "oxygen-pressure-low")}
    assert said == ({code} if code else set())
    assert (sample(evaluation).decision is Decision.HOLD) is (code == "oxygen-pressure-over")


def test_a_leak_over_the_limit_is_still_said(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.505)
    log.setup["Maximum oxygen pressure"] = (3.3, "MPa", "instructions")
    log.add("Runs", firing_no=3, sample_no="S1", outcome="leak", oxygen_pressure=3.6)
    said = codes(run(log, tmp_path))
    assert {"leak-logged", "oxygen-pressure-over"} <= set(said)
