"""A second look at what could still pass in silence, or block without need (see ``test_nothing_in_silence``)."""

import datetime as dt
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from logbook import DAY, Log, codes, firing, plain_log, run, sample

from batchcal.evaluate import evaluate
from batchcal.findings import Severity
from batchcal.model import Evaluation
from batchcal.terms import Basis, Decision, FiringState
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import open_source

SERIES_DAY = dt.date(2026, 10, 1)
BENZOIC: dict[str, tuple[Any, ...]] = {
    "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
    "Benzoic acid mass basis": ("air",),
}
RISES = (2.65, 2.652, 2.648, 2.651, 2.649)


def series_log() -> Log:
    log = plain_log(2.5, 2.501)
    del log.setup["Effective heat capacity"]
    log.setup |= BENZOIC
    log.setup |= {"Series minimum": (5, None, "own"), "Series relative SD limit": (0.2, "%", "own")}
    add_series(log, "old", 101, SERIES_DAY)
    return log


def add_series(log: Log, name: str, first: int, day: dt.date, **more: Any) -> None:
    for number, rise in enumerate(RISES, first):
        log.add("Calibration", firing_no=number, date=day, series=name, sample_mass=1.0, temperature_rise=rise, **more)


def formatted(log: Log, folder: Path, sheet: str, formats: dict[str, str]) -> Evaluation:
    """Evaluate the log with number formats put on cells."""
    path = log.save(folder)
    book = openpyxl.load_workbook(path)
    for cell, form in formats.items():
        book[sheet][cell].number_format = form
    book.save(path)
    return evaluate(read_workbook(open_source(path)))


# --- series -----------------------------------------------------------------------------------------------------------


def test_a_newer_series_that_is_set_aside_as_a_whole_leaves_the_older_in_force(tmp_path: Path) -> None:
    # The date of a series is that of its last used firing; without one it is in force nowhere.
    log = series_log()
    add_series(log, "new", 201, DAY, use="set aside", reason="stirrer was off")
    evaluation = run(log, tmp_path)
    mean = sum(26514 / rise for rise in RISES) / 5
    assert firing(evaluation, 1).heat_capacity_J_per_K == pytest.approx(mean, rel=1e-13)
    assert sample(evaluation).decision is Decision.READY, sample(evaluation).reason


def test_a_setup_value_beside_firings_that_are_all_set_aside(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.501)
    log.setup |= BENZOIC
    add_series(log, "", 101, SERIES_DAY, use="set aside", reason="stirrer was off")
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 1).heat_capacity_J_per_K == 10000
    assert "heat-capacity-twice" not in codes(evaluation)
    assert sample(evaluation).decision is Decision.READY, sample(evaluation).reason


def test_life_in_months_ends_with_the_month(tmp_path: Path) -> None:
    # 31 August + 6 months is 28 February: the 28th is still in force, 1 March is not.
    log = plain_log(2.5, 2.5)
    log.setup["Effective heat capacity"] = (10000, "J/K", "own", dt.date(2026, 8, 31))
    log.setup["Heat-capacity life"] = (6, "months", "own")
    for day, decision in ((dt.date(2027, 2, 28), Decision.READY), (dt.date(2027, 3, 1), Decision.WAIT)):
        log.setup["Batch date"] = (day,)
        assert sample(run(log, tmp_path)).decision is decision


def test_each_firing_has_the_state_of_its_own_day(tmp_path: Path) -> None:
    # 1 October + 13 days is the 14th: a firing of the 14th is in order and one of the 15th is not.
    log = plain_log(2.5, 2.5)
    log.setup["Heat-capacity life"] = (13, "days", "own")
    log.rows["Runs"][0]["Date"], log.rows["Runs"][1]["Date"] = DAY, DAY + dt.timedelta(days=1)
    evaluation = run(log, tmp_path)
    assert [firing(evaluation, n).state for n in (1, 2)] == [FiringState.USED, FiringState.PROVISIONAL]
    assert sample(evaluation).decision is Decision.WAIT
    assert set(sample(evaluation).gross_J_per_g.values()) == {None}


def test_a_series_with_one_firing_left_has_no_spread_and_is_too_few(tmp_path: Path) -> None:
    log = series_log()
    for row in log.rows["Calibration"][1:]:
        row["Outcome"] = "misfire"
    evaluation = run(log, tmp_path)
    (series,) = evaluation.series
    assert (series.n, series.sd_J_per_K, series.rsd_percent) == (1, None, None)
    assert sample(evaluation).decision is Decision.WAIT


def test_the_relative_spread_passes_at_equality(tmp_path: Path) -> None:
    # C of 10 000 and 10 020: mean 10 010, SD 14.142136, relative 0.14128008 %
    log = series_log()
    del log.rows["Calibration"][2:]
    log.setup["Series minimum"] = (2, None, "own")
    for row, capacity in zip(log.rows["Calibration"], (10000, 10020), strict=True):
        row["Temperature rise (K)"] = 26514 / capacity
    relative = 100 * (200**0.5) / 10010
    for limit, decision in ((relative, Decision.READY), (relative * 0.999, Decision.WAIT)):
        log.setup["Series relative SD limit"] = (limit, "%", "own")
        assert sample(run(log, tmp_path)).decision is decision


# --- what nothing is computed with ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("heading", "value"),
    [
        ("Moisture, total (%)", "n.d."), ("Moisture, total (%)", 120), ("Ash (%)", "n.d."), ("Carbon (%)", 120),
        ("Hydrogen (%)", "n.d."), ("Sulphur (%)", "<0.1"), ("Moisture, analysis (%)", "tomorrow"),
    ],
)  # fmt: skip
def test_a_doubtful_content_that_no_basis_needs_is_for_review(tmp_path: Path, heading: str, value: object) -> None:
    log = plain_log(2.5, 2.501)  # compared as analysed, no other basis required, no acid scheme
    log.rows["Samples"][0][heading] = value
    evaluation = run(log, tmp_path)
    found = [finding for finding in evaluation.findings if finding.sheet == "Samples"]
    assert found
    assert {finding.severity for finding in found} == {Severity.REVIEW}
    assert evaluation.all_ready, sample(evaluation).reason


def test_a_doubtful_content_is_never_computed_with(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.501)
    log.rows["Samples"][0]["Moisture, analysis (%)"] = "tomorrow"
    assert sample(run(log, tmp_path)).gross_J_per_g[Basis.DRY] is None


# --- per cent by number format ----------------------------------------------------------------------------------------


def test_a_moisture_formatted_as_per_cent_is_not_taken_for_a_hundredth_of_itself(tmp_path: Path) -> None:
    # A spreadsheet stores 4 % typed into a per-cent cell as 0.04 and shows "4.0%" under a heading that says (%).
    log = plain_log(2.5, 2.5)
    log.setup["Comparison basis"] = ("d",)
    log.rows["Samples"][0]["Moisture, analysis (%)"] = 0.04
    evaluation = formatted(log, tmp_path, "Samples", {"E2": "0.0%"})
    dry = sample(evaluation).gross_J_per_g[Basis.DRY]
    assert dry is None or dry == pytest.approx(24940 / 0.96, rel=1e-12)
    if dry is None:
        assert [f for f in evaluation.findings if f.cell == "E2" and f.severity.stops]


def test_a_limit_formatted_as_per_cent(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.setup |= BENZOIC
    log.setup["Check limit"] = (0.001, "%", "own")  # shown as 0.1%
    log.add("Runs", firing_no=9, purpose="check", sample_mass=1.0, temperature_rise=2.65)  # 0.053 % off
    row = list(log.setup).index("Check limit") + 2
    evaluation = formatted(log, tmp_path, "Setup", {f"B{row}": "0.0%"})
    assert "check-out" not in codes(evaluation)


# --- rows that cannot be placed ---------------------------------------------------------------------------------------


def test_a_check_whose_bomb_cannot_be_read_does_not_pass_for_no_check(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Effective heat capacity [/1]"] = log.setup.pop("Effective heat capacity")
    log.setup |= BENZOIC | {"Check limit": (0.1, "%", "own")}
    log.add("Runs", firing_no=9, purpose="check", sample_mass=1.0, temperature_rise=2.6)  # 1.9 % low
    for row in log.rows["Runs"]:
        row["Bomb"] = "1"
    assert sample(run(log, tmp_path)).decision is Decision.HOLD
    log.rows["Runs"][-1]["Bomb"] = dt.date(2026, 1, 1)
    assert sample(run(log, tmp_path)).decision is Decision.HOLD


def test_merged_cells_are_blank_but_for_the_first(tmp_path: Path) -> None:
    path = plain_log(2.5, 2.5).save(tmp_path)
    book = openpyxl.load_workbook(path)
    book["Runs"].merge_cells("F2:F3")  # one sample number written over two rows
    book.save(path)
    evaluation = evaluate(read_workbook(open_source(path)))
    assert "purpose-missing" in codes(evaluation)
    assert not evaluation.all_ready


@pytest.mark.parametrize(
    "written", ["Sample mass\n(g)", "Sample mass(g)", " sample  mass [ g ] ", "Sample mass （g）", "Sample mass (g):"]
)
def test_headings_as_they_are_typed(tmp_path: Path, written: str) -> None:
    log = plain_log(2.5, 2.5)
    log.headings["Runs"][15] = written
    for row in log.rows["Runs"]:
        row[written] = row.pop("Sample mass (g)")
    assert run(log, tmp_path).all_ready


def test_a_value_on_setup_without_an_item_is_not_lost_in_silence(tmp_path: Path) -> None:
    path = plain_log(2.5, 2.5).save(tmp_path)
    book = openpyxl.load_workbook(path)
    book["Setup"].append([None, 26454, "J/g", "certificate"])
    book.save(path)
    row = book["Setup"].max_row
    evaluation = evaluate(read_workbook(open_source(path)))
    assert [f for f in evaluation.findings if f.sheet == "Setup" and f.row == row]
