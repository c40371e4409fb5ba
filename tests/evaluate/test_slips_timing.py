"""Dates and times that cannot be, misfires in a row, missing numbers: each seen, and each honest day left alone."""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from logbook import DAY, SINCE, Log, codes, firing, plain_log, run, sample

from batchcal.findings import Finding, Severity
from batchcal.model import Evaluation
from batchcal.terms import Decision, FiringState

CODES = {
    "date-swapped", "time-impossible", "times-not-of-firings", "date-after-batch", "misfire-run",
    "misfire-followed-fast", "firing-number-gap",
}  # fmt: skip


def timed(*minutes: int, rows: dict[int, dict[str, Any]] | None = None) -> Log:
    """A day of firings at so many minutes after 08:00; ``rows`` change single ones, by number from 1."""
    log = plain_log(*[2.5] * len(minutes))
    for number, (minute, row) in enumerate(zip(minutes, log.rows["Runs"], strict=True), 1):
        row.update({"Time": dt.time(8 + minute // 60, minute % 60), **(rows or {}).get(number, {})})
    return log


def found(evaluation: Evaluation) -> list[Finding]:
    return [finding for finding in evaluation.findings if finding.code in CODES]


def test_an_honest_day_is_left_alone(tmp_path: Path) -> None:
    assert found(run(timed(0, 15, 30, 45), tmp_path)) == []


def test_ten_minutes_between_two_firings_are_too_few(tmp_path: Path) -> None:
    evaluation = run(timed(0, 40, 50, 90), tmp_path)
    (one,) = found(evaluation)
    assert (one.code, one.severity, one.where) == ("time-impossible", Severity.REVIEW, "Runs!C4")
    assert "10 min after firing 2" in one.message
    assert "15 min (common practice, no source)" in one.message


def test_the_lab_s_own_interval_goes_before(tmp_path: Path) -> None:
    log = timed(0, 40, 50, 90)
    log.setup["Shortest firing interval"] = (10, "min", "own")
    assert found(run(log, tmp_path)) == []
    log.setup["Shortest firing interval"] = (40.5, "min", "own")
    assert [one.code for one in found(run(log, tmp_path))] == ["times-not-of-firings"]  # three of four


def test_the_same_minute_of_one_bomb_stops_and_of_two_does_not(tmp_path: Path) -> None:
    log = timed(0, 40, 40, 90)
    evaluation = run(log, tmp_path)
    (one,) = found(evaluation)
    assert (one.code, one.severity) == ("time-impossible", Severity.BLOCK)
    assert sample(evaluation).decision is Decision.HOLD
    for row, bomb in zip(log.rows["Runs"], "1122", strict=True):
        row["Bomb"] = bomb
    assert found(run(log, tmp_path)) == []


def test_the_row_out_of_order_is_named_though_it_is_the_earlier_one(tmp_path: Path) -> None:
    # Typed 08:35 for 10:35: five minutes before the firing at 08:40, and out of order where it stands.
    evaluation = run(timed(0, 40, 80, 35, 200), tmp_path)
    (one,) = found(evaluation)
    assert one.where == "Runs!C5"
    assert "5 min before firing 2" in one.message


def test_a_misfire_may_be_repeated_at_once_unless_a_waiting_time_is_entered(tmp_path: Path) -> None:
    log = timed(0, 40, 45, 90, rows={2: {"Outcome": "misfire"}})
    assert found(run(log, tmp_path)) == []
    log.setup["Waiting time after misfire"] = (5, "min", "instructions")
    assert found(run(log, tmp_path)) == []
    log.setup["Waiting time after misfire"] = (10, "min", "instructions")
    (one,) = found(run(log, tmp_path))
    assert (one.code, one.severity, one.where) == ("misfire-followed-fast", Severity.SAFETY, "Runs!C4")
    assert "responsible trained person" in one.remedy


def test_two_misfires_in_a_row_of_one_bomb(tmp_path: Path) -> None:
    log = timed(0, 40, 80, 120, rows={1: {"Outcome": "misfire"}, 3: {"Outcome": "misfire"}})
    assert found(run(log, tmp_path)) == []
    for row, bomb in zip(log.rows["Runs"], "1212", strict=True):
        row["Bomb"] = bomb
    (one,) = found(run(log, tmp_path))
    assert (one.code, one.where) == ("misfire-run", "Runs!H4")
    assert "2 times in a row (1 and 3)" in one.message


BATCH, SWAPPED = dt.date(2026, 10, 5), dt.date(2026, 5, 10)


def dated(*dates: dt.date | None, batch: dt.date | None = BATCH) -> Log:
    log = timed(*(40 * index for index in range(len(dates))))
    log.setup["Batch date"] = (batch,)
    for row, date in zip(log.rows["Runs"], dates, strict=True):
        row["Date"] = date
    return log


def test_day_and_month_exchanged(tmp_path: Path) -> None:
    evaluation = run(dated(BATCH, BATCH, SWAPPED, BATCH), tmp_path)
    (one,) = found(evaluation)
    assert (one.code, one.where) == ("date-swapped", "Runs!B4")
    assert "2026-05-10" in one.message
    assert "2026-10-05" in one.message
    assert firing(evaluation, 3).state is FiringState.NOT_COMPUTED
    assert sample(evaluation).decision is Decision.HOLD
    # The heat capacity is in force from 1 October: nothing is said of its missing in May.
    assert SWAPPED < SINCE
    assert "heat-capacity-missing" not in codes(evaluation)


@pytest.mark.parametrize("position", [0, 3])
def test_at_the_top_and_at_the_bottom_of_the_sheet(tmp_path: Path, position: int) -> None:
    dates = [BATCH] * 4
    dates[position] = SWAPPED
    assert [one.where for one in found(run(dated(*dates), tmp_path))] == [f"Runs!B{position + 2}"]


def test_neighbours_say_it_without_a_batch_date(tmp_path: Path) -> None:
    dates = (dt.date(2026, 10, 2), dt.date(2026, 10, 2), dt.date(2026, 4, 10), dt.date(2026, 10, 6))
    assert [one.code for one in found(run(dated(*dates, batch=None), tmp_path))] == ["date-swapped"]


@pytest.mark.parametrize("dates", [
    (BATCH, None, BATCH, None),
    (dt.date(2026, 10, 2), dt.date(2026, 10, 2), BATCH, BATCH),  # over the week-end
    (BATCH, BATCH, dt.date(2026, 10, 2), BATCH),  # out of order, and 10 February is no better
])  # fmt: skip
def test_other_dates_are_not_swapped(tmp_path: Path, dates: tuple[dt.date | None, ...]) -> None:
    assert found(run(dated(*dates), tmp_path)) == []


def test_a_date_after_the_batch(tmp_path: Path) -> None:
    tomorrow, later = BATCH + dt.timedelta(days=1), dt.date(2026, 10, 25)
    assert found(run(dated(BATCH, BATCH, BATCH, tomorrow), tmp_path)) == []
    (one,) = found(run(dated(BATCH, BATCH, later, later), tmp_path))
    assert (one.code, one.severity, one.where) == ("date-after-batch", Severity.REVIEW, "Runs!B4")
    assert "firings 3 and 4 are dated 2026-10-25" in one.message


def numbered(*numbers: int | str) -> Log:
    log = plain_log(*[2.5] * len(numbers))
    for row, number in zip(log.rows["Runs"], numbers, strict=True):
        row["Firing no."] = number
    return log


def test_numbers_missing_in_a_run(tmp_path: Path) -> None:
    (one,) = found(run(numbered(11, 12, 14, 15, 16, 17, 18, 19, 23, 24, 25, 26, 27), tmp_path))
    assert (one.code, one.severity, one.where) == ("firing-number-gap", Severity.REVIEW, "Runs!A4")
    assert "13 and 20 to 22 are missing" in one.message


@pytest.mark.parametrize("numbers", [
    (11, 12, 13, 14, 15, 16),
    (16, 15, 14, 13, 12, 11),
    (11, 13, 15, 17, 19, 21),  # every second number: the others are fired elsewhere
    (11, 12, 13, 414, 415, 416),  # another block
    (11, 13, 14, 15),  # too few to speak of a run
    ("F11", "F12", "F14", "F15", "F16", "F17"),
])  # fmt: skip
def test_numbers_that_say_nothing(tmp_path: Path, numbers: tuple[int | str, ...]) -> None:
    assert found(run(numbered(*numbers), tmp_path)) == []


def test_a_number_on_the_other_sheet_is_not_missing(tmp_path: Path) -> None:
    log = numbered(11, 12, 14, 15, 16, 17)
    log.add("Calibration", firing_no=13, date=DAY, sample_mass=1.0, temperature_rise=2.65)
    assert found(run(log, tmp_path)) == []
