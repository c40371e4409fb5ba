"""The sheet Working worked out by another program: it agrees with what is stored, and follows when an input changes.

LibreOffice calculates every formula anew on loading. It shares no code with batchcal, so that a figure that comes out
the same was found twice.
"""

import io
import math
from pathlib import Path
from typing import Any, NamedTuple

import openpyxl
import pytest
from made import results_workbook
from openpyxl.worksheet.worksheet import Worksheet
from recalculation import number_at, recalculated, row_of, with_number
from working_days import CASES, Change

from batchcal.evaluate import evaluate
from batchcal.logged import Place
from batchcal.model import Evaluation, FiringResult, SampleResult
from batchcal.terms import FiringState, Purpose
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import open_source

EXAMPLES = Path(__file__).parent.parent.parent / "example_workbooks"
EXAMPLE_NAMES = ("clean_day", "difficult_day", "readings_day", "simple_bench_day", "typing_slips_day")
CLOSE = 1e-9


class Day(NamedTuple):
    """One log: what was found, its results workbook as written and as calculated anew."""

    evaluation: Evaluation
    written: bytes
    again: Any
    """As calculated anew."""
    changed: Evaluation | None
    """What is found from the log with one input changed."""
    followed: Any
    """The results workbook with that input changed, as calculated anew."""


def evaluated(data: bytes, folder: Path) -> tuple[Evaluation, bytes]:
    path = folder / "day.xlsx"
    path.write_bytes(data)
    source = open_source(path)
    evaluation = evaluate(read_workbook(source))
    return evaluation, results_workbook(source.data, evaluation)


def place_of(evaluation: Evaluation, change: Change) -> Place:
    """The row of the log that a change is made on; of readings one of the main period."""
    batch = evaluation.batch
    if change.sheet == "Samples":
        return next(row.place for row in batch.samples if row.sample == change.number)
    if change.sheet == "Titrant":
        return batch.titrants[-1].place
    if change.sheet == "Setup":
        return next(entry.place for entry in batch.setup if entry.key == change.number)
    if change.sheet == "Readings":
        return [row.place for row in batch.readings if row.firing == change.number][change.reading]
    if change.sheet == "Titration":
        return next(row.place for row in batch.titrations if row.firing == change.number)
    return next(row.place for row in batch.firings if row.firing == change.number)


@pytest.fixture(scope="module")
def days(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Day]:
    folder = tmp_path_factory.mktemp("working")
    made: dict[str, tuple[Evaluation, bytes]] = {}
    changed: dict[str, Evaluation] = {}
    books: dict[str, bytes] = {}
    for name in EXAMPLE_NAMES:
        made[name] = evaluated((EXAMPLES / f"{name}.xlsx").read_bytes(), folder)
    for name, case in CASES.items():
        log = case.make().bytes()
        made[name] = evaluated(log, folder)
        evaluation, written = made[name]
        place = place_of(evaluation, case.change)
        address = place.cell(case.change.field)
        assert address is not None
        value = number_at(log, place.sheet, address) + case.change.by
        changed[name], _ = evaluated(with_number(log, place.sheet, address, value), folder)
        books[f"{name}-changed"] = with_number(written, place.sheet, address, value)
    books |= {name: written for name, (_, written) in made.items()}
    again = recalculated(books, folder)
    return {name: Day(*made[name], again[name], changed.get(name), again.get(f"{name}-changed")) for name in made}


def worked_out(evaluation: Evaluation) -> list[tuple[FiringResult, float]]:
    """The firings with a result, and the result."""
    found = []
    for firing in evaluation.firings:
        value = firing.heat_capacity_J_per_K if firing.purpose is Purpose.CALIBRATION else firing.gross_ad_J_per_g
        if value is not None and firing.state is not FiringState.NOT_COMPUTED:
            found.append((firing, value))
    return found


def values_of(sample: SampleResult) -> dict[str, float | None]:
    """The values of a sample by the column of Working in which they stand."""
    values = [*sample.gross_J_per_g.values(), *sample.net.constant_pressure.values(),
              *sample.net.constant_volume.values()]  # fmt: skip
    return dict(zip("MNOPQRSTUV", values, strict=False))


@pytest.mark.parametrize("name", [*EXAMPLE_NAMES, *CASES])
def test_every_difference_is_nothing(days: dict[str, Day], name: str) -> None:
    day = days[name]
    sheet = day.again["Working"]
    differences = [cell.value for (cell,) in sheet.iter_rows(min_row=7, min_col=23, max_col=23) if cell.value != None]  # noqa: E711
    numbers = [value for value in differences if isinstance(value, int | float)]
    # What is no number is a heading; an error of a formula would be a text that begins with #.
    assert not [value for value in differences if str(value).startswith("#")]
    samples = [sample for sample in day.evaluation.samples if sample.range_J_per_g is not None]
    assert len(numbers) >= len(worked_out(day.evaluation)) + len(samples)
    assert len(numbers) == sheet["G3"].value
    assert max(numbers) == sheet["E3"].value <= CLOSE
    assert sheet["F3"].value == "agrees"


@pytest.mark.parametrize("name", [*EXAMPLE_NAMES, *CASES])
def test_the_results_are_those_that_are_released(days: dict[str, Day], name: str) -> None:
    day = days[name]
    sheet = day.again["Working"]
    for firing, value in worked_out(day.evaluation):
        assert result(sheet, firing) == pytest.approx(value, rel=CLOSE)
    for sample in day.evaluation.samples:
        row = row_of(sheet, sample.sample, "Samples")
        for letter, stored in values_of(sample).items():
            if stored is not None:
                assert sheet[f"{letter}{row}"].value == pytest.approx(stored, rel=CLOSE)


def result(sheet: Worksheet, firing: FiringResult) -> Any:
    section = "Heat capacity" if firing.purpose is Purpose.CALIBRATION else "Firings of the day"
    return sheet[f"T{row_of(sheet, firing.name, section)}"].value


@pytest.mark.parametrize("name", [*EXAMPLE_NAMES, *CASES])
def test_each_formula_stands_with_the_value_that_it_has(days: dict[str, Day], name: str) -> None:
    day = days[name]
    stored = openpyxl.load_workbook(io.BytesIO(day.written), data_only=True)["Working"]
    formulas = openpyxl.load_workbook(io.BytesIO(day.written))["Working"]
    again = day.again["Working"]
    count = 0
    for row in formulas.iter_rows():
        for cell in row:
            if cell.data_type != "f":
                continue
            count += 1
            value, found = stored[cell.coordinate].value, again[cell.coordinate].value
            if isinstance(value, str):
                assert value == found
            else:
                # A difference of equal figures is 0 or some last digits, as the program rounds.
                assert found == pytest.approx(value, rel=1e-9, abs=1e-11), (cell.coordinate, cell.value)
    assert count > 100


@pytest.mark.parametrize("name", CASES)
def test_a_changed_input_is_followed(days: dict[str, Day], name: str) -> None:
    day, at = days[name], CASES[name].change.seen_at
    assert day.changed is not None
    sheet = day.followed["Working"]
    assert sheet["F3"].value == "differs"
    assert sheet["E3"].value > 1e-6
    samples = {sample.sample: sample for sample in day.changed.samples}
    if at in samples:
        row = row_of(sheet, at, "Samples")
        checked = 0
        for letter, value in values_of(samples[at]).items():
            if value is not None:
                checked += 1
                assert sheet[f"{letter}{row}"].value == pytest.approx(value, rel=CLOSE), letter
        assert checked
        assert sheet[f"W{row + 2}"].value > 1e-6
        return
    firing = next(firing for firing in day.changed.firings if firing.name == at)
    if firing.purpose is Purpose.AID:
        row = row_of(sheet, at, "Heat of the aid")
        assert sheet[f"U{row}"].value == pytest.approx(firing.aid_J, rel=CLOSE)
    else:
        values = {done.name: value for done, value in worked_out(day.changed)}
        assert result(sheet, firing) == pytest.approx(values[at], rel=CLOSE)
        row = row_of(sheet, at, "Heat capacity" if firing.purpose is Purpose.CALIBRATION else "Firings of the day")
    assert sheet[f"W{row}"].value > 1e-6


def test_what_is_stored_did_not_move_with_the_input(days: dict[str, Day]) -> None:
    day = days["total_as_nitric"]
    before, after = day.again["Working"], day.followed["Working"]
    row = row_of(before, "2", "Firings of the day")
    assert before[f"V{row}"].value == after[f"V{row}"].value
    assert before[f"T{row}"].value != after[f"T{row}"].value


def test_the_changes_reach_what_rests_on_them(days: dict[str, Day]) -> None:
    # A calibration firing moves the mean, and with it every firing that uses it.
    day = days["line_in_use"]
    sheet = day.followed["Working"]
    assert sheet[f"W{row_of(sheet, 'mean of 5')}"].value > 1e-7
    assert sheet[f"W{row_of(sheet, '2', 'Firings of the day')}"].value > 1e-7
    assert math.isfinite(sheet["E3"].value)


def test_every_way_of_working_out_is_among_the_cases(days: dict[str, Day]) -> None:
    evaluations = [day.evaluation for day in days.values()]
    settings = [evaluation.settings for evaluation in evaluations]
    assert {s.acid_scheme for s in settings} >= {"total as nitric", "sulphur apart", "two titrations", "proportion",
                                                 "fixed", "none"}  # fmt: skip
    assert {s.heat_exchange_method for s in settings} >= {"two rates", "six tenths", "none", None}
    assert {s.further_test_rule for s in settings} == {"range", "median", "closest two"}
    statistics = {sample.statistic for evaluation in evaluations for sample in evaluation.samples}
    assert statistics >= {"mean of 2", "mean of 3", "mean of 4", "median of 4", "median of 3", "median of 5",
                          "mean of the closest 2 of 3", "mean of the closest 2 of 4"}  # fmt: skip
    assert {firing.state for evaluation in evaluations for firing in evaluation.firings} == set(FiringState)
