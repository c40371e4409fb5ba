"""Heat capacities and dates in honest but unusual logs: months on one sheet, no Series, a date typed once a day.

1 g of benzoic acid gives 26 454 J, and 60 J are the ignition: a rise of 26 514 / C fires a heat capacity of C.
"""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from logbook import DAY, Log, codes, firing, plain_log, run

from batchcal.errors import WorkbookError
from batchcal.findings import Finding
from batchcal.model import Evaluation
from batchcal.report.apparatus import apparatus_view
from batchcal.terms import Decision, FiringState, SeriesState

ONE = dt.timedelta(days=1)
ROUND = (10000, 10004, 9996, 10002, 9998)
"""Five heat capacities about 10 000 J/K; their relative SD is 0.03 %."""


def bench() -> Log:
    log = plain_log()
    del log.setup["Effective heat capacity"]
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Series minimum": (5, None, "own"),
        "Series relative SD limit": (0.2, "%", "own"),
    }
    log.rows["Calibration"], log.rows["Samples"] = [], []
    return log


def calibrate(
    log: Log, first: int, *days: dt.date, shift: float = 0.0, sheet: str = "Calibration", **extra: Any
) -> None:
    """Five firings, on one day or on five."""
    dates = days if len(days) > 1 else days * len(ROUND)
    for number, (capacity, date) in enumerate(zip(ROUND, dates, strict=True), first):
        log.add(
            sheet, firing_no=number, date=date, sample_mass=1.0, temperature_rise=26514 / (capacity + shift), **extra
        )


def pair(log: Log, name: str, first: int, day: dt.date | None, **extra: Any) -> None:
    for number, rise in ((first, 2.5), (first + 1, 2.501)):
        log.add("Runs", firing_no=number, date=day, sample_no=name, sample_mass=1.0, temperature_rise=rise, **extra)
    log.add("Samples", sample_no=name, moisture_analysis=4.0)


def only(evaluation: Evaluation, code: str) -> Finding:
    (finding,) = [finding for finding in evaluation.findings if finding.code == code]
    return finding


def decisions(evaluation: Evaluation) -> dict[str, Decision]:
    return {result.sample: result.decision for result in evaluation.samples}


def answer(evaluation: Evaluation) -> str:
    return apparatus_view(evaluation, frozenset()).answer


# --- Series left blank ------------------------------------------------------------------------------------------------


def running_log() -> Log:
    """Three months on one sheet, a series at the head of each, without a name; C rises by 8 J/K a month."""
    log = bench()
    for month, day in enumerate((dt.date(2026, 8, 3), dt.date(2026, 9, 2), dt.date(2026, 10, 1))):
        calibrate(log, 101 + 100 * month, day, shift=8.0 * month)
        pair(log, f"S{month}", 111 + 100 * month, day + 5 * ONE)
    return log


def test_months_without_a_series_name_are_not_pooled(tmp_path: Path) -> None:
    evaluation = run(running_log(), tmp_path)
    finding = only(evaluation, "series-not-named")
    assert finding.message == (
        "Calibration!E2: the calibration firings of the calorimeter without a Series look like several series: "
        "firings 101, 102, 103, 104 and 105 (rows 2 to 6, 2026-08-03); "
        "30 days later, with 2 sample or check firings between: "
        "firings 201, 202, 203, 204 and 205 (rows 7 to 11, 2026-09-02); "
        "29 days later, with 2 sample or check firings between: "
        "firings 301, 302, 303, 304 and 305 (rows 12 to 16, 2026-10-01). No heat capacity is taken from them."
    )
    assert [series.heat_capacity_J_per_K for series in evaluation.series] == [None] * 3
    assert [series.date for series in evaluation.series] == [
        dt.date(2026, 8, 3), dt.date(2026, 9, 2), dt.date(2026, 10, 1),
    ]  # fmt: skip
    assert set(decisions(evaluation).values()) == {Decision.HOLD}
    assert not {"heat-capacity-missing", "series-too-few"} & set(codes(evaluation))
    assert answer(evaluation).startswith(
        "No: the heat capacity of the calorimeter is not taken, for its firings look like several series ("
    )


def test_once_named_each_month_has_its_own(tmp_path: Path) -> None:
    log = running_log()
    for index, row in enumerate(log.rows["Calibration"]):
        row["Series"] = "ABC"[index // 5]
    evaluation = run(log, tmp_path)
    assert set(decisions(evaluation).values()) == {Decision.READY}
    for month in range(3):
        assert firing(evaluation, 111 + 100 * month).heat_capacity_J_per_K == pytest.approx(10000 + 8 * month, abs=0.01)
    assert "series-not-named" not in codes(evaluation)


@pytest.mark.parametrize(("days", "several"), [(14, False), (15, True)])
def test_a_pause_of_more_than_a_fortnight(tmp_path: Path, days: int, several: bool) -> None:
    log = bench()
    last = DAY - 3 * ONE
    calibrate(log, 101, *[last - days * ONE] * 2, *[last] * 3)
    pair(log, "S1", 201, DAY)
    evaluation = run(log, tmp_path)
    assert ("series-not-named" in codes(evaluation)) is several
    assert decisions(evaluation) == {"S1": Decision.HOLD if several else Decision.READY}


def test_a_series_over_a_week_without_anything_between_is_one(tmp_path: Path) -> None:
    log = bench()
    calibrate(log, 101, *(DAY - days * ONE for days in (7, 6, 3, 2, 1)))
    pair(log, "S1", 201, DAY)
    evaluation = run(log, tmp_path)
    assert decisions(evaluation) == {"S1": Decision.READY}
    assert [series.n for series in evaluation.series] == [5]


def test_bracketing_the_samples_of_one_day_is_one_series(tmp_path: Path) -> None:
    log = bench()
    calibrate(log, 101, DAY)
    for row, hour in zip(log.rows["Calibration"], (8, 9, 10, 15, 16), strict=True):
        row["Time"] = dt.time(hour)
    pair(log, "S1", 201, DAY)
    for row, minute in zip(log.rows["Runs"], (0, 30), strict=True):
        row["Time"] = dt.time(12, minute)
    assert decisions(run(log, tmp_path)) == {"S1": Decision.READY}


def test_samples_between_make_two_series_within_a_fortnight(tmp_path: Path) -> None:
    log = bench()
    calibrate(log, 101, DAY - 9 * ONE)
    pair(log, "S1", 111, DAY - 9 * ONE)
    calibrate(log, 121, DAY, shift=12.0)
    pair(log, "S2", 131, DAY)
    evaluation = run(log, tmp_path)
    assert set(decisions(evaluation).values()) == {Decision.HOLD}
    assert "9 days later, with 2 sample or check firings between" in only(evaluation, "series-not-named").message


def test_a_series_spread_over_days_with_samples_between_is_one(tmp_path: Path) -> None:
    """Two firings a day beside the day's samples: no part of it is enough for a series, so it is one."""
    log = bench()
    calibrate(log, 101, *(DAY - days * ONE for days in (3, 3, 2, 2, 1)))
    for index, days in enumerate((3, 2)):
        pair(log, f"S{index}", 111 + 10 * index, DAY - days * ONE)
    pair(log, "S9", 201, DAY)
    evaluation = run(log, tmp_path)
    assert "series-not-named" not in codes(evaluation)
    assert decisions(evaluation)["S9"] == Decision.READY
    assert [series.n for series in evaluation.series] == [5]


def test_another_bomb_s_samples_stand_between_nothing(tmp_path: Path) -> None:
    log = bench()
    for bomb in ("1", "2"):
        calibrate(log, 100 * int(bomb) + 1, *(DAY - days * ONE for days in (5, 4, 3, 2, int(bomb))), bomb=bomb)
    pair(log, "S1", 301, DAY - ONE, bomb="1")
    pair(log, "S2", 311, DAY, bomb="2")
    evaluation = run(log, tmp_path)
    assert decisions(evaluation) == {"S1": Decision.READY, "S2": Decision.READY}


# --- what has no heat capacity, and what is said once -----------------------------------------------------------------


def test_firings_before_the_first_series_are_named_once(tmp_path: Path) -> None:
    log = bench()
    calibrate(log, 101, DAY, series="A")
    for days in range(1, 13):
        pair(log, f"S{days}", 200 + 2 * days, DAY - days * ONE)
    pair(log, "today", 300, DAY)
    evaluation = run(log, tmp_path)
    finding = only(evaluation, "heat-capacity-missing")
    assert "on 2026-10-02, 2026-10-03, 2026-10-04" in finding.message
    assert "and 4 more (firings 202, 203, 204, 205, 206, 207, 208, 209 and 16 more)" in finding.message
    assert finding.message.endswith("; the first is dated 2026-10-14.")
    assert decisions(evaluation).pop("today") is Decision.READY
    assert list(decisions(evaluation).values()).count(Decision.HOLD) == 12
    assert answer(evaluation).startswith("Not judged in full: some firings have no heat capacity")


def test_a_micro_bomb_is_not_unusual_where_it_was_measured(tmp_path: Path) -> None:
    """2.4 kJ/K, by series: 0.3 g of benzoic acid; typed on Setup, the same figure may be in another unit."""
    log = bench()
    for number, capacity in enumerate(ROUND, 101):
        rise = (0.3 * 26454 + 60) / (capacity * 0.24)
        log.add("Calibration", firing_no=number, date=DAY, sample_mass=0.3, temperature_rise=rise)
    pair(log, "S1", 201, DAY)
    for row in log.rows["Runs"]:
        row |= {"Sample mass (g)": 0.25, "Temperature rise (K)": row["Temperature rise (K)"]}
    evaluation = run(log, tmp_path)
    assert evaluation.series[0].heat_capacity_J_per_K == pytest.approx(2400, abs=0.1)
    assert "heat-capacity-unusual" not in codes(evaluation)
    log.rows["Calibration"] = []
    log.setup["Effective heat capacity"] = (2400, "J/K", "own", DAY)
    assert "heat-capacity-unusual" in codes(run(log, tmp_path))


# --- dates ------------------------------------------------------------------------------------------------------------


def two_days(*, second: dt.date | None = DAY) -> Log:
    """Two days whose date stands in the first row of each; a new series was fired between them, 20 J/K higher."""
    log = bench()
    calibrate(log, 101, DAY - 20 * ONE, series="A")
    calibrate(log, 111, DAY, shift=20.0, series="B")
    pair(log, "S1", 201, DAY - ONE)
    pair(log, "S2", 211, second)
    for row in (log.rows["Runs"][1], log.rows["Runs"][3]):
        row["Date"] = None
    return log


def test_a_date_typed_in_the_first_row_of_each_day_is_not_the_batch_date_below(tmp_path: Path) -> None:
    evaluation = run(two_days(), tmp_path)
    finding = only(evaluation, "date-missing")
    assert finding.message == (
        "Runs!B3: firings 202 and 212 have no date (rows 3 and 5); other rows name other days than the Batch date, "
        "2026-10-14, so it does not stand in."
    )
    assert (finding.severity, finding.firing, finding.sample) == ("block", None, None)
    assert decisions(evaluation) == {"S1": Decision.HOLD, "S2": Decision.HOLD}
    assert firing(evaluation, 202).state is FiringState.NOT_COMPUTED
    # With every date typed the first day has the old series, 20 J/K lower: 50 J/g of 25 000.
    log = two_days()
    log.rows["Runs"][1]["Date"], log.rows["Runs"][3]["Date"] = DAY - ONE, DAY
    evaluation = run(log, tmp_path)
    assert decisions(evaluation) == {"S1": Decision.READY, "S2": Decision.READY}
    assert firing(evaluation, 202).heat_capacity_J_per_K == pytest.approx(10000, abs=0.01)
    assert firing(evaluation, 212).heat_capacity_J_per_K == pytest.approx(10020, abs=0.01)


@pytest.mark.parametrize("typed", [(None, None), (DAY, None), (None, DAY)])
def test_the_batch_date_stands_in_where_no_other_day_is_named(
    tmp_path: Path, typed: tuple[dt.date | None, ...]
) -> None:
    log = bench()
    calibrate(log, 101, DAY - 5 * ONE)
    pair(log, "S1", 201, None)
    for row, date in zip(log.rows["Runs"], typed, strict=True):
        row["Date"] = date
    evaluation = run(log, tmp_path)
    assert decisions(evaluation) == {"S1": Decision.READY}
    assert {result.date for result in evaluation.firings if result.row.sample == "S1"} == {DAY}


def test_a_date_that_cannot_be_read_may_be_another_day(tmp_path: Path) -> None:
    log = bench()
    calibrate(log, 101, DAY - 5 * ONE)
    pair(log, "S1", 201, None)
    pair(log, "S2", 211, None)
    log.rows["Runs"][0]["Date"] = "13th"
    evaluation = run(log, tmp_path)
    assert {"date-unreadable", "date-missing"} <= set(codes(evaluation))
    assert decisions(evaluation) == {"S1": Decision.HOLD, "S2": Decision.HOLD}


def test_a_series_whose_dates_stand_in_the_first_row_only(tmp_path: Path) -> None:
    log = bench()
    calibrate(log, 101, DAY - 5 * ONE)
    for row in log.rows["Calibration"][1:]:
        row["Date"] = None
    pair(log, "S1", 201, DAY)
    evaluation = run(log, tmp_path)
    message = only(evaluation, "series-undated").message
    assert "firings 102, 103, 104 and 105 of the series have no date (rows 3 to 6)" in message
    assert decisions(evaluation) == {"S1": Decision.HOLD}


# --- is the calorimeter in order? -------------------------------------------------------------------------------------


def checked(log: Log, number: int, day: dt.date) -> None:
    log.setup["Check limit"] = (0.3, "%", "own")
    log.add("Runs", firing_no=number, date=day, purpose="check", sample_mass=1.0, temperature_rise=2.6514)


def test_a_replaced_series_is_no_reason_for_no(tmp_path: Path) -> None:
    log = bench()
    calibrate(log, 101, DAY - 30 * ONE, series="A")
    calibrate(log, 111, DAY - 2 * ONE, series="B")
    for number, (name, day) in enumerate((("S1", DAY - 10 * ONE), ("S2", DAY))):
        checked(log, 201 + 10 * number, day)
        pair(log, name, 202 + 10 * number, day)
    evaluation = run(log, tmp_path)
    assert [series.state for series in evaluation.series] == [SeriesState.EXPIRED, SeriesState.IN_FORCE]
    view = apparatus_view(evaluation, frozenset())
    assert view.in_order is True
    assert view.answer.startswith("Yes, by the numbers typed")
    assert [(row.state, row.in_order) for row in view.series] == [("replaced on 2026-10-12", None), ("in force", True)]


def test_the_headline_names_the_series_that_is_wrong(tmp_path: Path) -> None:
    log = bench()
    log.setup["Heat-capacity life"] = (20, "days", "own")
    calibrate(log, 101, DAY - 60 * ONE, series="A")
    calibrate(log, 111, DAY - 30 * ONE, series="B")
    checked(log, 201, DAY)
    pair(log, "S1", 202, DAY)
    view = apparatus_view(run(log, tmp_path), frozenset())
    assert view.answer == "No: the heat capacity of the calorimeter is expired (series B, 2026-09-14)."
    assert [row.state for row in view.series] == ["replaced on 2026-09-14", "expired"]


def test_a_firing_after_the_life_of_a_series_that_was_replaced_later_counts(tmp_path: Path) -> None:
    log = bench()
    log.setup["Heat-capacity life"] = (20, "days", "own")
    calibrate(log, 101, DAY - 60 * ONE, series="A")
    calibrate(log, 111, DAY - 10 * ONE, series="B")
    pair(log, "late", 201, DAY - 15 * ONE)
    checked(log, 210, DAY)
    pair(log, "S1", 211, DAY)
    evaluation = run(log, tmp_path)
    assert decisions(evaluation) == {"late": Decision.WAIT, "S1": Decision.READY}
    view = apparatus_view(evaluation, frozenset())
    assert view.answer == "No: the heat capacity of the calorimeter is expired (series A, 2026-08-15)."
    assert [(row.state, row.in_order) for row in view.series] == [("replaced on 2026-10-04", False), ("in force", True)]
    assert view.series[0].where == "Calibration rows 2 to 6; expired"


def test_a_changed_part_is_said_of_the_series(tmp_path: Path) -> None:
    log = bench()
    calibrate(log, 101, DAY - 30 * ONE)
    checked(log, 201, DAY)
    pair(log, "S1", 202, DAY)
    log.rows["Equipment"] = []
    log.add("Equipment", equipment="stirrer", kind="calorimeter", changed_on=DAY - ONE, what_changed="bearing")
    evaluation = run(log, tmp_path)
    assert decisions(evaluation) == {"S1": Decision.WAIT}
    view = apparatus_view(evaluation, frozenset())
    assert view.answer == (
        "No: the heat capacity of the calorimeter is older than a part that was changed (series without a name, "
        "2026-09-14)."
    )
    assert [(row.state, row.in_order) for row in view.series] == [("in force, held", False)]
    assert view.series[0].where == "Calibration rows 2 to 6; older than a part that was changed"


# --- calibration firings on Runs --------------------------------------------------------------------------------------


def one_sheet() -> Log:
    """A log without the sheet Calibration: every firing stands on Runs, with its purpose."""
    log = bench()
    calibrate(log, 101, DAY - ONE, sheet="Runs", purpose="calibration", series="A")
    pair(log, "S1", 201, DAY)
    del log.rows["Calibration"]
    return log


def test_calibration_firings_may_stand_on_runs(tmp_path: Path) -> None:
    evaluation = run(one_sheet(), tmp_path)
    (series,) = evaluation.series
    assert (series.n, series.date) == (5, DAY - ONE)
    assert series.heat_capacity_J_per_K == pytest.approx(10000, abs=0.01)
    assert decisions(evaluation) == {"S1": Decision.READY}
    assert evaluation.all_ready


def test_without_any_heat_capacity_it_says_where_one_may_stand(tmp_path: Path) -> None:
    log = one_sheet()
    log.rows["Runs"] = log.rows["Runs"][5:]
    with pytest.raises(WorkbookError) as caught:
        run(log, tmp_path)
    assert "there is no sheet Calibration" in str(caught.value)
    assert "on Runs with Purpose calibration, or Effective heat capacity on Setup" in str(caught.value)


@pytest.mark.parametrize(
    ("heading", "read"), [("Purpose", "calibratoin"), ("Series", 2.5), ("Bomb", True)],
)  # fmt: skip
def test_a_row_on_runs_that_may_be_one_of_the_series_holds_it(tmp_path: Path, heading: str, read: object) -> None:
    log = one_sheet()
    if heading == "Bomb":
        for row in log.rows["Runs"]:
            row["Bomb"] = "1"
    calibrate(log, 301, DAY - ONE, sheet="Runs", purpose="calibration", series="A")
    log.rows["Runs"][-1][heading] = read
    evaluation = run(log, tmp_path)
    assert decisions(evaluation) == {"S1": Decision.HOLD}
    assert firing(evaluation, 201).state is FiringState.PROVISIONAL


# --- what is said of many series --------------------------------------------------------------------------------------


def test_how_series_look_is_said_of_the_last_in_use(tmp_path: Path) -> None:
    """A year of series, each drifting by 20 J/K from its first firing to its last; two bombs in use."""
    log = bench()
    for bomb in ("1", "2"):
        for month in range(12):
            day = DAY - (11 - month) * 30 * ONE
            first = 1000 * int(bomb) + 20 * month
            for number, capacity in enumerate((10000, 10006, 10009, 10015, 10020), first):
                log.add("Calibration", firing_no=number, date=day, sample_mass=1.0, series=f"{bomb}-{month}",
                        temperature_rise=26514 / capacity, bomb=bomb)  # fmt: skip
            pair(log, f"S{bomb}-{month}", first + 10, day, bomb=bomb)
    log.setup["Series step limit"] = (1, "J/K", "own")
    said = codes(run(log, tmp_path))
    assert said.count("series-trend-with-order") == said.count("series-one-day") == 2
    assert "series-step" not in said
    for row in log.rows["Calibration"]:
        if row["Series"] in ("1-5", "2-8"):
            row["Temperature rise (K)"] *= 1.001
    # A step is no matter of chance: there and back, in either bomb.
    assert codes(run(log, tmp_path)).count("series-step") == 4


# --- a number that was lost -------------------------------------------------------------------------------------------


def test_a_lost_sample_number_holds_the_sample_that_lacks_a_firing(tmp_path: Path) -> None:
    """One of a pair reads as a date: the other must not be said to need a second firing."""
    log = bench()
    calibrate(log, 101, DAY)
    pair(log, "S1", 201, DAY)
    pair(log, "S2", 211, DAY)
    log.rows["Runs"][1]["Sample no."] = dt.date(2026, 1, 1)
    evaluation = run(log, tmp_path)
    assert decisions(evaluation) == {"S1": Decision.HOLD, "S2": Decision.READY}
    assert "single-firing" not in codes(evaluation)
    assert evaluation.samples[0].reason == only(evaluation, "identifier-as-date").message


def test_a_lost_firing_number_leaves_nothing_said_of_its_titration(tmp_path: Path) -> None:
    log = bench()
    calibrate(log, 101, DAY)
    pair(log, "S1", 201, DAY)
    log.add("Titration", firing_no=202, titrant="sodium hydroxide", concentration=0.1, concentration_unit="mol/L")
    assert "titration-without-firing" not in codes(run(log, tmp_path))
    log.rows["Runs"][1]["Firing no."] = True
    assert "titration-without-firing" not in codes(run(log, tmp_path))
    log.rows["Runs"][1]["Firing no."] = 203
    assert "titration-without-firing" in codes(run(log, tmp_path))
