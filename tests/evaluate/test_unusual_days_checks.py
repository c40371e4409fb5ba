"""Checks in honest but unusual logs: past midnight, over several days, over months, beside a new heat capacity.

The bench is that of ``logbook``: C = 10 000 J/K, 60 J of ignition, 1 g. A check off by 1 % is off by 264.54 J or
0.026454 K; every sample burns with 2.5 K.
"""

import datetime as dt
import itertools
import random
from pathlib import Path
from typing import Any

import pytest
from logbook import DAY, Log, codes, firing, plain_log, run, sample

from batchcal.evaluate import check_review
from batchcal.model import Evaluation
from batchcal.terms import Decision, FiringState

BENZOIC = 26454.0
ONE = dt.timedelta(days=1)


class Bench:
    """A log in the making whose firings are numbered as they come."""

    def __init__(self, *, since: dt.date = dt.date(2026, 10, 1), **apparatus: Any) -> None:
        self.log: Log = plain_log()
        self.log.setup |= {
            "Benzoic acid heat of combustion": (BENZOIC, "J/g", "certificate"),
            "Benzoic acid mass basis": ("air",),
            "Check limit": (0.3, "%", "own"),
            "Effective heat capacity": (10000, "J/K", "own series", since),
            "Heat-capacity life": (900, "days", "own"),
        }
        self.log.rows["Samples"] = []
        self.numbers = itertools.count(1)
        self.apparatus = apparatus

    def check(self, day: dt.date, time: tuple[int, int], percent: float, **extra: Any) -> int:
        number = next(self.numbers)
        rise = (BENZOIC * (1 + percent / 100) + 60) / 10000
        row = {"date": day, "time": dt.time(*time), "purpose": "check", "sample_mass": 1.0, "temperature_rise": rise}
        self.log.add("Runs", firing_no=number, **{**row, **self.apparatus, **extra})
        return number

    def pair(self, name: str, day: dt.date, time: tuple[int, int], **extra: Any) -> None:
        """Two firings of a sample within the hour, 10 J/g apart."""
        for minute, rise in ((0, 2.5), (25, 2.501)):
            row = {"date": day, "time": dt.time(time[0], minute), "sample_no": name, "sample_mass": 1.0,
                   "temperature_rise": rise}  # fmt: skip
            self.log.add("Runs", firing_no=next(self.numbers), **{**row, **self.apparatus, **extra})
        self.log.add("Samples", sample_no=name, moisture_analysis=4.0)


def decisions(evaluation: Evaluation) -> dict[str, Decision]:
    return {result.sample: result.decision for result in evaluation.samples}


def test_a_check_that_is_out_after_midnight_holds_what_was_fired_before(tmp_path: Path) -> None:
    bench = Bench()
    bench.check(DAY, (20, 0), 0.05)
    bench.pair("evening", DAY, (22, 0))
    bench.check(DAY + ONE, (0, 30), 0.6)
    bench.pair("morning", DAY + ONE, (2, 0))
    evaluation = run(bench.log, tmp_path)
    assert decisions(evaluation) == {"evening": Decision.HOLD, "morning": Decision.HOLD}
    held = sample(evaluation, "evening")
    assert [finding.code for finding in held.findings if finding.effect is Decision.HOLD] == ["check-out"]
    assert set(held.gross_J_per_g.values()) == {None}
    assert firing(evaluation, 2).state is FiringState.PROVISIONAL
    look_back = next(f for f in evaluation.findings if f.code == "look-back")
    assert "since check firing 1 of 2026-10-14 is put in doubt by check firing 4" in look_back.message
    assert "evening (firings 2, 3); morning (firings 5, 6)" in look_back.message


def test_a_good_check_before_midnight_keeps_the_evening(tmp_path: Path) -> None:
    bench = Bench()
    bench.pair("evening", DAY, (22, 0))
    bench.check(DAY, (23, 30), 0.05)
    bench.check(DAY + ONE, (0, 30), 0.6)
    evaluation = run(bench.log, tmp_path)
    assert decisions(evaluation) == {"evening": Decision.READY}


def test_what_comes_between_two_good_checks_is_held_over_several_days(tmp_path: Path) -> None:
    """One check a week: out on the 14th, good on the 7th and on the 21st."""
    bench = Bench()
    for days, off in ((-7, 0.0), (0, -0.5), (7, 0.1)):
        day = DAY + days * ONE
        bench.pair(f"before {days}", day, (7, 0))
        bench.check(day, (8, 0), off)
        bench.pair(f"after {days}", day, (9, 0))
        bench.pair(f"next day {days}", day + ONE, (9, 0))
    found = decisions(run(bench.log, tmp_path))
    held = {name for name, decision in found.items() if decision is Decision.HOLD}
    assert held == {"after -7", "next day -7", "before 0", "after 0", "next day 0", "before 7"}
    assert {name for name, decision in found.items() if decision is Decision.READY} == set(found) - held


def test_without_a_good_check_before_it_the_whole_log_up_to_it_is_held(tmp_path: Path) -> None:
    bench = Bench()
    bench.pair("S1", DAY - 3 * ONE, (9, 0))
    bench.check(DAY, (8, 0), 0.4)
    bench.check(DAY + ONE, (8, 0), 0.0)
    bench.pair("S2", DAY + ONE, (9, 0))
    assert decisions(run(bench.log, tmp_path)) == {"S1": Decision.HOLD, "S2": Decision.READY}


def test_an_old_check_that_was_out_does_not_hold_today(tmp_path: Path) -> None:
    bench = Bench(since=dt.date(2026, 6, 1))
    for days in range(60, -1, -1):
        bench.check(DAY - days * ONE, (8, 0), 0.7 if days == 50 else 0.02)
        bench.pair(f"S{days}", DAY - days * ONE, (9, 0))
    found = decisions(run(bench.log, tmp_path))
    assert {name for name, decision in found.items() if decision is not Decision.READY} == {"S51", "S50"}


def test_a_good_check_on_the_same_day_does_not_free_the_day(tmp_path: Path) -> None:
    bench = Bench()
    bench.check(DAY, (8, 0), 0.5)
    bench.check(DAY, (8, 30), 0.1)
    bench.pair("S1", DAY, (9, 0))
    bench.pair("S2", DAY + ONE, (9, 0))
    assert decisions(run(bench.log, tmp_path)) == {"S1": Decision.HOLD, "S2": Decision.READY}
    bench.log.rows["Runs"][0] |= {"Use": "set aside", "Reason": "soot on the lid"}
    assert decisions(run(bench.log, tmp_path)) == {"S1": Decision.READY, "S2": Decision.READY}


def test_a_check_set_aside_with_its_cause_frees_the_evening_too(tmp_path: Path) -> None:
    bench = Bench()
    bench.check(DAY, (20, 0), 0.0)
    bench.pair("S1", DAY, (22, 0))
    bench.check(DAY + ONE, (0, 30), 0.6, use="set aside", reason="pellet lost a corner")
    bench.check(DAY + ONE, (1, 0), 0.1)
    assert decisions(run(bench.log, tmp_path)) == {"S1": Decision.READY}


def test_a_check_that_could_not_be_worked_out_holds_as_one_that_is_out(tmp_path: Path) -> None:
    bench = Bench()
    bench.check(DAY, (20, 0), 0.0)
    bench.pair("S1", DAY, (22, 0))
    bench.check(DAY + ONE, (0, 30), 0.0, sample_mass="1,0")
    bench.check(DAY + ONE, (8, 0), 0.0)
    bench.pair("S2", DAY + 2 * ONE, (9, 0))
    evaluation = run(bench.log, tmp_path)
    assert decisions(evaluation) == {"S1": Decision.HOLD, "S2": Decision.READY}
    assert "decimal-comma" in [finding.code for finding in sample(evaluation, "S1").findings]


def test_a_check_without_a_date_may_be_of_any_day(tmp_path: Path) -> None:
    bench = Bench()
    bench.check(DAY, (8, 0), 0.0)
    bench.pair("S1", DAY, (9, 0))
    bench.check(DAY, (12, 0), 0.6)
    del bench.log.rows["Runs"][-1]["Date"]
    del bench.log.setup["Batch date"]
    evaluation = run(bench.log, tmp_path)
    assert "date-missing" in codes(evaluation)
    assert decisions(evaluation) == {"S1": Decision.HOLD}


def test_another_bomb_is_not_held(tmp_path: Path) -> None:
    bench = Bench()
    for bomb in ("1", "2"):
        bench.log.setup[f"Effective heat capacity [K/{bomb}]"] = bench.log.setup["Effective heat capacity"]
    del bench.log.setup["Effective heat capacity"]
    for bomb in ("1", "2"):
        bench.apparatus = {"calorimeter": "K", "bomb": bomb}
        bench.check(DAY, (20, 0), 0.0)
        bench.pair(f"S{bomb}", DAY, (22, 0))
    bench.check(DAY + ONE, (0, 30), 0.6)  # in bomb 2
    bench.check(DAY + ONE, (0, 40), 0.0, bomb="1")
    assert decisions(run(bench.log, tmp_path)) == {"S1": Decision.READY, "S2": Decision.HOLD}


def calibrate(log: Log, series: str, day: dt.date, first: int) -> None:
    """Five firings with 26 514 J each, near 10 000 J/K."""
    log.rows.setdefault("Calibration", [])
    for number, rise in enumerate((2.6514, 2.6516, 2.6512, 2.6515, 2.6513), first):
        log.add("Calibration", firing_no=number, date=day, series=series, sample_mass=1.0, temperature_rise=rise)


def test_a_new_heat_capacity_ends_what_a_check_puts_in_doubt(tmp_path: Path) -> None:
    bench = Bench()
    del bench.log.setup["Effective heat capacity"]
    bench.log.setup |= {
        "Series minimum": (5, None, "own"),
        "Series relative SD limit": (0.2, "%", "own"),
        "Further-test rule": ("range",),
    }
    calibrate(bench.log, "A", DAY - 20 * ONE, 901)
    bench.check(DAY - ONE, (8, 0), 0.0)
    bench.pair("old", DAY - ONE, (9, 0))
    bench.check(DAY, (8, 0), 0.6)
    bench.pair("next day", DAY + ONE, (9, 0))
    bench.pair("later", DAY + 2 * ONE, (7, 0))
    evaluation = run(bench.log, tmp_path)
    assert set(decisions(evaluation).values()) == {Decision.HOLD}
    calibrate(bench.log, "B", DAY + ONE, 911)
    evaluation = run(bench.log, tmp_path)
    assert decisions(evaluation) == {
        "old": Decision.HOLD, "next day": Decision.READY, "later": Decision.READY,
    }  # fmt: skip


def test_only_the_newest_checks_are_asked_for_patterns(tmp_path: Path) -> None:
    """A year and a half of checks in order, one a day: what is said does not grow with the log."""
    rng = random.Random(20261014)
    counted = []
    for days in (40, 400):
        bench = Bench(since=dt.date(2025, 1, 1))
        bench.log.setup["Check standard deviation"] = (0.15, "%", "own")
        for day in range(days, 0, -1):
            bench.check(DAY - day * ONE, (8, 0), max(-0.29, min(0.29, rng.gauss(0.0, 0.1))))
        bench.log.rows["Runs"][0] |= {"Purpose": "sample", "Sample no.": "S1"}  # so that every day is news
        said = codes(run(bench.log, tmp_path))
        counted.append(sum(said.count(code) for code in ("check-warning", "check-run-rule", "check-drift")))
    assert max(counted) <= 4
    assert check_review.NEWEST == 20


def test_an_old_pattern_is_no_news_and_a_new_one_is(tmp_path: Path) -> None:
    """Eight checks in a row at +0.04 %, an SD of 0.1 %, among checks that lie 0.02 % above and below in turn."""
    for start, told in ((10, False), (52, True)):
        bench = Bench(since=dt.date(2026, 6, 1))
        bench.log.setup["Check standard deviation"] = (0.1, "%", "own")
        bench.pair("S1", DAY - 61 * ONE, (9, 0))
        for number in range(60):
            off = 0.04 if start <= number < start + 8 else 0.02 * (-1) ** number
            bench.check(DAY - (60 - number) * ONE, (8, 0), off)
        assert ("check-run-rule" in codes(run(bench.log, tmp_path))) is told


def test_one_check_far_off_is_worded_as_one(tmp_path: Path) -> None:
    bench = Bench()
    bench.log.setup["Check standard deviation"] = (0.05, "%", "own")
    bench.check(DAY - ONE, (8, 0), -0.01)
    bench.check(DAY, (8, 0), 0.29)  # 5.8 SD: 5.3 after the half SD that is taken off
    bench.pair("S1", DAY, (9, 0))
    message = next(f.message for f in run(bench.log, tmp_path).findings if f.code == "check-drift")
    assert "check firing 2 lies +0.29 % off since 2026-10-14, and the running sum of the checks" in message


def night(numbered: str) -> Bench:
    """A night shift under the date on which it began: a good check at 21:00, one that is out at 05:00."""
    bench = Bench()
    bench.check(DAY, (21, 0), 0.0)
    bench.pair("S1", DAY, (22, 0))
    bench.pair("S2", DAY, (23, 0))
    bench.pair("S3", DAY, (0, 0))
    bench.check(DAY, (5, 0), 0.6)
    for row in bench.log.rows["Runs"]:
        row["Firing no."] = f"{numbered}{row['Firing no.']}"
    return bench


@pytest.mark.parametrize("numbered", ["", "N-"])
def test_a_night_shift_under_one_date_is_in_its_order(tmp_path: Path, numbered: str) -> None:
    evaluation = run(night(numbered).log, tmp_path)
    message = next(f.message for f in evaluation.findings if f.code == "look-back")
    assert f"since check firing {numbered}1 of 2026-10-14 is put in doubt by check firing {numbered}8: S1" in message
    assert f"S3 (firings {numbered}6, {numbered}7)." in message


def test_a_day_entered_out_of_order_goes_by_its_times(tmp_path: Path) -> None:
    """The first check, entered last, is at 7:30: that is no shift that runs through midnight."""
    bench = Bench()
    bench.pair("S1", DAY, (9, 0))
    bench.check(DAY, (18, 30), 0.6)
    bench.check(DAY, (7, 30), 0.0)
    evaluation = run(bench.log, tmp_path)
    message = next(f.message for f in evaluation.findings if f.code == "look-back")
    assert "since check firing 4 of 2026-10-14 is put in doubt by check firing 3: S1 (firings 1, 2)" in message


def test_days_without_a_check_are_said_once(tmp_path: Path) -> None:
    bench = Bench()
    for days in range(12):
        bench.pair(f"S{days}", DAY - days * ONE, (9, 0))
    (finding,) = [f for f in run(bench.log, tmp_path).findings if f.code == "check-missing"]
    assert finding.message == (
        "No check firing was logged for the calorimeter on 2026-10-14, 2026-10-13, 2026-10-12, 2026-10-11, 2026-10-10, "
        "2026-10-09, 2026-10-08, 2026-10-07 and 4 more."
    )


def test_checks_that_rise_six_times_in_a_row(tmp_path: Path) -> None:
    """From -0.10 to +0.10 %: none is off by an SD of 0.15 %, and the sum of them stays at nought."""
    for off, told in (((-0.1, -0.06, -0.02, 0.02, 0.06, 0.1), True), ((-0.1, -0.06, 0.02, -0.02, 0.06, 0.1), False)):
        bench = Bench()
        for number, percent in enumerate(off):
            bench.check(DAY - (len(off) - 1 - number) * ONE, (8, 0), percent)
        bench.pair("S1", DAY, (9, 0))
        evaluation = run(bench.log, tmp_path)
        assert ("check-run-rule" in codes(evaluation)) is told
        if told:
            message = next(f.message for f in evaluation.findings if f.code == "check-run-rule")
            assert "check firings 1, 2, 3, 4, 5, 6: six in a row rising or falling" in message


def test_checks_before_the_first_heat_capacity_hold_nothing_after_it(tmp_path: Path) -> None:
    """The log begins before its first series: these checks could not be worked out, and say nothing of that one."""
    bench = Bench(since=DAY - 2 * ONE)
    for days in (4, 3):
        bench.check(DAY - days * ONE, (8, 0), 0.0)
        bench.pair(f"S{days}", DAY - days * ONE, (9, 0))
    bench.pair("S2", DAY - 2 * ONE, (7, 0))
    bench.check(DAY - 2 * ONE, (8, 0), 0.0)
    evaluation = run(bench.log, tmp_path)
    assert codes(evaluation).count("heat-capacity-missing") == 1
    assert decisions(evaluation) == {"S4": Decision.HOLD, "S3": Decision.HOLD, "S2": Decision.READY}
