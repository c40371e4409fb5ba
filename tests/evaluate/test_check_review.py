"""A second look at the checks: warning, patterns, running sum, a second check, what rests on one that is out."""

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from statistics import NormalDist
from typing import Any

import pytest
from logbook import DAY, Log, codes, firing, plain_log, run, sample

from batchcal.findings import Finding
from batchcal.formulas import control
from batchcal.model import Evaluation
from batchcal.terms import Decision

BENZOIC = 26454.0
"""1 g of benzoic acid at 10 000 J/K with 60 J of ignition: 1 % off is 264.54 J, a rise of 0.026454 K."""


def check_log(*off: float, limit: tuple[Any, ...] | None = (0.3, "%", "own")) -> Log:
    """Two sample firings at 12:00 and 12:30, after checks that are off by so many % from 8:00 on."""
    log = plain_log(2.5, 2.502)
    log.setup |= {
        "Benzoic acid heat of combustion": (BENZOIC, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
    }
    if limit is not None:
        log.setup["Check limit"] = limit
    for row, minute in zip(log.rows["Runs"], (0, 30), strict=True):
        row |= {"Date": DAY, "Time": dt.time(12, minute)}
    for number, percent in enumerate(off):
        add_check(log, 11 + number, percent, dt.time(8, number))
    return log


def add_check(log: Log, number: int, percent: float, time: dt.time, day: dt.date = DAY, **extra: Any) -> None:
    rise = (BENZOIC * (1 + percent / 100) + 60) / 10000
    log.add(
        "Runs", firing_no=number, date=day, time=time, purpose="check", sample_mass=1.0, temperature_rise=rise, **extra
    )  # fmt: skip


def daily(*off: float) -> Log:
    """One check a day, the last one on the day of the samples."""
    log = check_log()
    for number, percent in enumerate(off):
        add_check(log, 11 + number, percent, dt.time(8, 0), DAY - dt.timedelta(days=len(off) - 1 - number))
    return log


def of_checks(evaluation: Evaluation) -> list[str]:
    mine = ("check-warning", "check-run-rule", "check-drift", "check-repeated", "look-back", "check-out")
    return [code for code in codes(evaluation) if code in mine]


def only(evaluation: Evaluation, code: str) -> Finding:
    (finding,) = [finding for finding in evaluation.findings if finding.code == code]
    return finding


@pytest.mark.parametrize(
    ("off", "warning", "said"),
    [
        (0.19, None, False),  # two thirds of 0.3 %
        (0.21, None, True),
        (-0.21, None, True),
        (0.11, (0.1, "%", "own"), True),
        (0.11, (40, "J/g", "own"), False),  # 0.11 % of 26 454 are 29.1 J/g
        (0.16, (40, "J/g", "own"), True),  # 42.3 J/g
    ],
)
def test_the_warning_limit(tmp_path: Path, off: float, warning: tuple[Any, ...] | None, said: bool) -> None:
    log = check_log(off)
    if warning is not None:
        log.setup["Check warning limit"] = warning
    evaluation = run(log, tmp_path)
    assert of_checks(evaluation) == (["check-warning"] if said else [])
    assert sample(evaluation).decision is Decision.READY
    if said:
        finding = only(evaluation, "check-warning")
        assert f"is off by {off:+.2f} %" in finding.message
        source = "Setup" if warning else "two thirds of the Check limit; common practice, no source"
        assert finding.message.endswith(f"({source}).")
        assert finding.firing == "11"


def test_a_second_check_answers_the_warning(tmp_path: Path) -> None:
    assert of_checks(run(check_log(0.25, 0.05), tmp_path)) == []
    assert of_checks(run(check_log(0.05, 0.25), tmp_path)) == ["check-warning"]


def test_without_any_limit_nothing_is_taken(tmp_path: Path) -> None:
    evaluation = run(check_log(0.25, limit=None), tmp_path)
    assert of_checks(evaluation) == []
    assert evaluation.check_powers == ()


@pytest.mark.parametrize("item", ["Check warning limit", "Check standard deviation"])
def test_what_cannot_be_read_is_not_replaced(tmp_path: Path, item: str) -> None:
    log = check_log(0.25)
    log.setup[item] = ("about 0.1", "%", "own")
    evaluation = run(log, tmp_path)
    assert "setup-text-unfit" in codes(evaluation)
    assert of_checks(evaluation) == ([] if item == "Check warning limit" else ["check-warning"])
    assert (evaluation.check_powers == ()) == (item == "Check standard deviation")


def test_eight_on_one_side(tmp_path: Path) -> None:
    eight = (0.02, 0.03, 0.01, 0.02, 0.04, 0.01, 0.03, 0.02)
    assert of_checks(run(daily(*eight[1:]), tmp_path)) == []
    assert of_checks(run(daily(-0.01, *eight[1:]), tmp_path)) == []
    evaluation = run(daily(*eight), tmp_path)
    assert of_checks(evaluation) == ["check-run-rule"]
    message = only(evaluation, "check-run-rule").message
    assert "11, 12, 13, 14, 15, 16, 17, 18: eight in a row on one side of the centre" in message
    assert "an SD of 0.15 % (half of the Check limit; common practice, no source)" in message
    assert "since 2026-10-07" in only(evaluation, "check-run-rule").remedy


def test_two_of_three_with_the_lab_s_own_scatter(tmp_path: Path) -> None:
    log = daily(0.13, -0.05, 0.12)
    assert of_checks(run(log, tmp_path)) == []  # an SD of 0.15 %
    log.setup["Check standard deviation"] = (15, "J/g", "own")  # 0.0567 %, twice that is 0.1134 %
    evaluation = run(log, tmp_path)
    assert of_checks(evaluation) == ["check-run-rule"]
    message = only(evaluation, "check-run-rule").message
    assert (
        "check firings 11, 13: two of three in a row beyond 2 SD on one side, with an SD of 0.057 % (Setup)" in message
    )


def test_a_pattern_older_than_the_samples_is_no_news(tmp_path: Path) -> None:
    log = daily(0.13, 0.12, -0.05)
    log.setup["Check standard deviation"] = (0.05, "%", "own")
    assert of_checks(run(log, tmp_path)) == []
    log.rows["Runs"][0]["Date"] = DAY - dt.timedelta(days=1)
    assert of_checks(run(log, tmp_path)) == ["check-run-rule"]


def test_the_running_sum(tmp_path: Path) -> None:
    """With an SD of 0.1 %, 0.08 % off adds 0.8 - 0.5 = 0.3 a day; the first check pulls nothing off zero."""
    log = daily(-0.02, *[0.08] * 16)
    log.setup |= {"Check standard deviation": (0.1, "%", "own"), "Effective heat capacity": (
        10000, "J/K", "own series", dt.date(2026, 9, 1))}  # fmt: skip
    evaluation = run(log, tmp_path)
    assert "check-drift" not in codes(evaluation)  # 16 x 0.3 = 4.8
    add_check(log, 40, 0.08, dt.time(9, 0))
    evaluation = run(log, tmp_path)  # 17 x 0.3 = 5.1
    message = only(evaluation, "check-drift").message
    assert "lie +0.08 % off on average since 2026-09-29" in message
    assert "firings 12, 13" in message
    assert only(evaluation, "check-drift").effect is None


def test_a_second_check_does_not_undo_the_first(tmp_path: Path) -> None:
    evaluation = run(check_log(0.5, 0.1), tmp_path)
    assert of_checks(evaluation) == ["check-out", "check-repeated", "look-back"]
    finding = only(evaluation, "check-repeated")
    assert "Check firing 11 on the calorimeter was out by +0.50 %, check firing 12 of the same day" in finding.message
    assert finding.firing == "12"
    assert sample(evaluation).decision is Decision.HOLD
    assert "check-repeated" not in codes(run(check_log(0.1, 0.5), tmp_path))


def test_look_back_to_the_last_good_check(tmp_path: Path) -> None:
    log = check_log(0.1)
    add_check(log, 20, 0.5, dt.time(12, 15))
    log.add("Runs", firing_no=21, date=DAY - dt.timedelta(days=1), time=dt.time(9, 0), sample_no="S0",
            sample_mass=1.0, temperature_rise=2.4)  # fmt: skip
    log.add("Samples", sample_no="S0", moisture_analysis=4.0)
    evaluation = run(log, tmp_path)
    finding = only(evaluation, "look-back")
    # 0.5 % of 10 000 x 2.5 J and of 10 000 x 2.502 J for 1 g: 125.0 and 125.1 J/g
    assert finding.message == (
        "What was fired on the calorimeter since check firing 11 of 2026-10-14 is put in doubt by check firing 20: "
        "S1 (firings 1, 2). With a heat capacity off by +0.50 %, their values are about 125 J/g too high."
    )
    assert (finding.severity, finding.effect, finding.firing) == ("review", None, "20")
    assert sample(evaluation).decision is Decision.HOLD  # by check-out, not by this
    assert sample(evaluation, "S0").decision is not Decision.HOLD


def test_look_back_reaches_over_days_and_beyond_the_workbook(tmp_path: Path) -> None:
    log = check_log(-0.4, -0.6)
    log.rows["Runs"][0]["Date"] = DAY - dt.timedelta(days=2)
    log.rows["Runs"][1]["Temperature rise (K)"] = 2.0
    finding = only(run(log, tmp_path), "look-back")
    # -0.5 % on average: 0.005 x 25 000 and 0.005 x 20 000
    assert "since the start of this workbook is put in doubt by check firing 11 and 12: S1 (firings" in finding.message
    assert "off by -0.50 %, their values are 100 to 125 J/g too low." in finding.message
    assert "go back in the earlier ones to the last good check." in finding.remedy


def test_nothing_rests_on_a_check_between_two_good_ones(tmp_path: Path) -> None:
    assert of_checks(run(check_log(0.1, 0.5, 0.1), tmp_path)) == ["check-out", "check-repeated"]


def test_each_apparatus_by_itself(tmp_path: Path) -> None:
    log = check_log()
    log.setup["Effective heat capacity [K1/B1]"] = log.setup.pop("Effective heat capacity")
    log.setup["Effective heat capacity [K1/B2]"] = log.setup["Effective heat capacity [K1/B1]"]
    for number, row in enumerate(log.rows["Runs"]):
        row |= {"Calorimeter": "K1", "Bomb": f"B{number + 1}"}
    add_check(log, 11, 0.5, dt.time(8, 0), calorimeter="K1", bomb="B1")
    add_check(log, 12, 0.0, dt.time(8, 30), calorimeter="K1", bomb="B2")
    evaluation = run(log, tmp_path)
    assert of_checks(evaluation) == ["check-out", "look-back"]
    assert "calorimeter K1 with bomb B1" in only(evaluation, "look-back").message
    assert "S1 (firing 1)." in only(evaluation, "look-back").message
    assert [(power.bomb, power.n) for power in evaluation.check_powers] == [("B1", 1), ("B2", 1)]


def seen(n: int, bias: float, sd: float, limit: float) -> float:
    """The chance that at least one of n checks is out, by the standard library's normal distribution."""
    scatter = NormalDist(bias, sd)
    return 1 - (scatter.cdf(limit) - scatter.cdf(-limit)) ** n


@pytest.mark.parametrize(
    ("off", "sd", "expected_sd", "source"),
    [
        ((0.0,), (0.1, "%", "own"), 0.1, "Setup"),
        ((0.0, 0.1), (26.454, "J/g", "own"), 0.1, "Setup"),
        ((0.0, 0.1), None, 0.15, "half of the Check limit; common practice, no source"),
    ],
)
def test_what_the_checks_of_the_day_can_see(
    tmp_path: Path, off: Sequence[float], sd: tuple[Any, ...] | None, expected_sd: float, source: str
) -> None:
    log = check_log(*off)
    if sd is not None:
        log.setup["Check standard deviation"] = sd
    (power,) = run(log, tmp_path).check_powers
    assert (power.calorimeter, power.bomb, power.date, power.n) == ("", "", DAY, len(off))
    assert power.sd_percent == pytest.approx(expected_sd)
    assert power.limit_percent == 0.3
    assert power.sd_source == source
    assert power.false_alarm == pytest.approx(seen(len(off), 0.0, expected_sd, 0.3))
    assert [bias for bias, _ in power.chances] == [0.2, 0.3]
    for bias, chance in power.chances:
        assert chance == pytest.approx(seen(len(off), bias, expected_sd, 0.3))


def test_the_example_of_practice() -> None:
    """A scatter of 30 J/g, a limit of 60 J/g, 0.3 % of 26 454 J/g: by a table of the normal distribution.

    (79.36 - 60) / 30 = 0.645, below which lie 0.740 of it; of two checks 1 - 0.26 x 0.26 = 0.932.
    """
    assert control.chance_to_see_bias(1, 79.36, 30.0, 60.0) == pytest.approx(0.74, abs=0.005)
    assert control.chance_to_see_bias(2, 79.36, 30.0, 60.0) == pytest.approx(0.93, abs=0.005)


def test_a_check_set_aside_takes_no_part(tmp_path: Path) -> None:
    log = check_log()
    add_check(log, 11, 0.25, dt.time(8, 0), use="set aside", reason="soot")
    evaluation = run(log, tmp_path)
    assert of_checks(evaluation) == []
    assert evaluation.check_powers == ()
    assert firing(evaluation, 11).recovery_percent is None
