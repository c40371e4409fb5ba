"""A new workbook of bare values, for files that have no package of their own."""

import datetime as dt
import io
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from lab_packages.parts import assert_sane, parts
from lab_packages.writers import by_office
from lab_packages.written import assert_carried
from logbook import plain_log, run
from made import results_workbook
from programs import program

from batchcal.errors import WorkbookError
from batchcal.outputs import OutputSet
from batchcal.process import process_workbook
from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.grid import Grid, Merged
from batchcal.workbook.source import open_source
from batchcal.workbook.values import workbook_of_values


def grid(rows: Mapping[int, Mapping[int, Cell]], title: str = "Runs", **how: Any) -> Grid:
    return Grid(title, rows, **how)


def book(*grids: Grid) -> Any:
    return openpyxl.load_workbook(io.BytesIO(workbook_of_values(grids, "day.ods")))


CELLS = [
    (Cell(CellKind.NUMBER, 0.1 + 0.2), 0.1 + 0.2, "n", "General"),
    (Cell(CellKind.NUMBER, 3.0, "1+2"), 3.0, "n", "General"),
    (Cell(CellKind.PER_CENT, 0.04), 0.04, "n", "0.00%"),
    (Cell(CellKind.NUMBER, math.inf), "#NUM!", "e", "General"),
    (Cell(CellKind.ERROR, "#REF!"), "#REF!", "e", "General"),
    (Cell(CellKind.BOOLEAN, True), True, "b", "General"),
    (Cell(CellKind.TEXT, "007"), "007", "s", "General"),
    (Cell(CellKind.TEXT, "=1+1"), "=1+1", "s", "General"),
    (Cell(CellKind.DATE, dt.datetime(2026, 10, 14)), dt.datetime(2026, 10, 14), "d", "yyyy-mm-dd"),
    (Cell(CellKind.DATE, dt.datetime(2026, 10, 14, 9, 30)), dt.datetime(2026, 10, 14, 9, 30), "d",
     "yyyy-mm-dd hh:mm:ss"),
    (Cell(CellKind.DATE, dt.datetime(1899, 12, 31)), "1899-12-31 00:00:00", "s", "General"),
    (Cell(CellKind.TIME, dt.time(9, 30)), dt.time(9, 30), "d", "[h]:mm:ss"),
    (Cell(CellKind.TIME, dt.timedelta(hours=30)), dt.timedelta(hours=30), "d", "[h]:mm:ss"),
    (Cell(CellKind.UNCALCULATED, None, "A1"), None, "n", "General"),
]  # fmt: skip


@pytest.mark.parametrize(("cell", "value", "kind", "form"), CELLS)
def test_a_value_comes_as_what_it_is(cell: Cell, value: object, kind: str, form: str) -> None:
    own = book(grid({2: {3: cell}}))["Runs"]["C2"]
    got = own.value
    if isinstance(value, dt.time) and isinstance(got, dt.timedelta):
        got = (dt.datetime.min + got).time()
    assert (got, own.data_type, own.number_format) == (value, kind, form)


def test_hidden_rows_merged_areas_and_strokes_stay() -> None:
    cells = {1: {1: Cell(CellKind.TEXT, "a", struck=True)}, 4: {1: Cell(CellKind.TEXT, "b")}}
    sheet = book(grid(cells, hidden_rows=frozenset({4}), merged=(Merged(1, 1, 2, 2),)))["Runs"]
    assert sheet["A1"].font.strike
    assert not sheet["A4"].font.strike
    assert sheet.row_dimensions[4].hidden
    assert [str(area) for area in sheet.merged_cells.ranges] == ["A1:B2"]
    whole = workbook_of_values([grid(cells, merged=(Merged(1, 1, 1_048_576, 2),))], "day.ods")
    assert b'<mergeCell ref="A1:B1048576"' in parts(whole)["xl/worksheets/sheet1.xml"]


def test_it_is_a_sound_package_of_the_same_bytes() -> None:
    one = grid({1: {1: Cell(CellKind.TEXT, "a")}})
    data = workbook_of_values([one], "day.csv")
    assert data == workbook_of_values([one], "day.csv")
    with pytest.raises(AssertionError):  # no sheet is selected yet; all else is sound
        assert_sane(data)


@pytest.mark.parametrize(
    ("grids", "says"),
    [
        ([grid({}, "a[b]")], r"cannot have a sheet 'a\[b\]'"),
        ([grid({}, "x" * 32)], "at most 31 characters"),
        ([grid({}, "Runs"), grid({}, "RUNS")], "two sheets named RUNS"),
        ([grid({1_048_577: {1: Cell(CellKind.NUMBER, 1.0)}})], "larger than the sheet of a results workbook"),
        ([grid({1: {16_385: Cell(CellKind.NUMBER, 1.0)}})], "larger than the sheet of a results workbook"),
    ],
)
def test_what_no_workbook_can_hold_is_refused(grids: list[Grid], says: str) -> None:
    with pytest.raises(WorkbookError, match=says) as caught:
        workbook_of_values(grids, "day.ods")
    assert str(caught.value).startswith("day.ods: ")


def test_results_are_written_into_it(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.505)
    evaluation = run(log, tmp_path)
    values = workbook_of_values(open_source(log.save(tmp_path)).grids, "day.csv")
    result = results_workbook(values, evaluation)
    assert_carried(values, result)
    runs = openpyxl.load_workbook(io.BytesIO(result))["Runs"]
    column = next(cell.column for cell in runs[1] if cell.value == "Gross, as analysed (J/g)")
    # (10 000 x 2.5 - 60) / 1 and (10 000 x 2.505 - 60) / 1
    assert [runs.cell(row, column).value for row in (2, 3)] == pytest.approx([24940, 24990], rel=1e-15)


@pytest.mark.parametrize("ending", ["ods", "xls"])
def test_a_file_of_another_program_gets_a_new_workbook_and_is_told_so(tmp_path: Path, ending: str) -> None:
    (path,) = by_office(program("soffice"), plain_log(2.5, 2.505).save(tmp_path), tmp_path / "saved", ending=ending)
    outputs = OutputSet.for_input(path, tmp_path / "out")
    evaluation = process_workbook(path, outputs).evaluation
    assert outputs.workbook.name == "day.results.xlsx"
    finding = next(finding for finding in evaluation.findings if finding.code == "results-in-new-workbook")
    assert f"day.{ending} is no .xlsx or .xlsm workbook" in finding.message
    made = openpyxl.load_workbook(outputs.workbook)
    assert made.sheetnames[:3] == ["Setup", "Runs", "Samples"]
    assert any(cell.value == "results-in-new-workbook" for row in made["Findings"].iter_rows() for cell in row)
    setup = {row[0].value: row[1].value for row in made["Setup"].iter_rows()}
    assert setup["Batch date"] == dt.datetime(2026, 10, 14)
    assert setup["Repeatability limit"] == 120
