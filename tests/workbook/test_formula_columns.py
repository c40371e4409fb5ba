"""Formulas and row formats: numbers typed over formulas, odd formulas, and rows out of sight, in real workbooks."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import xlsxwriter  # type: ignore[import-untyped]  # the package carries no type marker
from logbook import Log, plain_log
from openpyxl.styles import Font

from batchcal.evaluate import evaluate
from batchcal.findings import Finding, Severity
from batchcal.logged import Batch
from batchcal.workbook.formula_forms import relative_form
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import open_source

MASS = "P"  # the letter of Sample mass (g)
CODES = ("formula-overtyped", "formula-odd", "row-hidden-or-struck")


def weighed(count: int = 8) -> Log:
    """Firings whose sample mass is to be the difference of two weighings: 10 g and 11 g and some mg."""
    log = plain_log()
    for number in range(1, count + 1):
        log.add(
            "Runs", firing_no=number, sample_no=f"S{(number + 1) // 2}", crucible=10.0,
            crucible_and_sample=round(11 + number / 1000, 4), temperature_rise=round(2.5 + number / 400, 4),
        )  # fmt: skip
    log.rows["Samples"] = []
    for number in range(1, count // 2 + 1):
        log.add("Samples", sample_no=f"S{number}", moisture_analysis=4.0)
    return log


def formulas(log: Log, path: Path, change: Callable[[Any], None] | None = None) -> Path:
    """Write the log with a formula for each sample mass, calculated; ``change`` is done to Runs afterwards."""
    count = len(log.rows["Runs"])
    with xlsxwriter.Workbook(path) as workbook:
        book = openpyxl.load_workbook(log.save(path.parent, "plain.xlsx"))
        for sheet in book.worksheets:
            page = workbook.add_worksheet(sheet.title)
            for row in sheet.iter_rows():
                for cell in row:
                    if cell.value is None:
                        continue
                    if hasattr(cell.value, "year"):
                        page.write_datetime(
                            cell.row - 1, cell.column - 1, cell.value, workbook.add_format({"num_format": "yyyy-mm-dd"})
                        )
                    else:
                        page.write(cell.row - 1, cell.column - 1, cell.value)
            if sheet.title == "Runs":
                for number in range(2, count + 2):
                    value = round(sheet[f"O{number}"].value - sheet[f"N{number}"].value, 4)
                    page.write_formula(f"{MASS}{number}", f"=ROUND(O{number}-N{number},4)", None, value)
                if change is not None:
                    change(page)
    return path


def found(path: Path) -> list[Finding]:
    return [finding for finding in evaluate(read_workbook(open_source(path))).findings if finding.code in CODES]


def test_a_column_of_formulas_is_left_in_peace(tmp_path: Path) -> None:
    path = formulas(weighed(), tmp_path / "day.xlsx")
    assert found(path) == []
    batch = read_workbook(open_source(path))
    (column,) = batch.formulas
    assert (column.role, column.field, column.typed) == ("runs", "mass_g", {})
    assert set(column.forms) == set(range(2, 10))
    assert set(column.forms.values()) == {"=ROUND(O[+0]-N[+0],4)"}


def test_numbers_typed_over_formulas(tmp_path: Path) -> None:
    path = formulas(weighed(), tmp_path / "day.xlsx", lambda page: page.write_number("P4", 1.0031))
    (finding,) = found(path)
    assert (finding.code, finding.where, finding.firing) == ("formula-overtyped", "Runs!P4", "3")
    assert finding.severity is Severity.REVIEW
    assert "where 7 rows calculate: P4 1.0031 (found here: 1.0030 g)" in finding.message


def test_a_column_that_is_half_typed_is_nobody_s_formula_column(tmp_path: Path) -> None:
    def change(page: Any) -> None:
        for row in range(2, 6):
            page.write_number(f"P{row}", 1 + (row - 1) / 1000)

    assert found(formulas(weighed(), tmp_path / "day.xlsx", change)) == []


def test_a_formula_that_is_odd(tmp_path: Path) -> None:
    path = formulas(
        weighed(), tmp_path / "day.xlsx", lambda page: page.write_formula("P6", "=ROUND(O6-N5,4)", None, 1.005)
    )
    (finding,) = found(path)
    assert (finding.code, finding.where, finding.firing) == ("formula-odd", "Runs!P6", "5")
    assert "from that of 7 other rows of its kind in P6" in finding.message


def test_another_formula_for_another_bomb_is_not_odd(tmp_path: Path) -> None:
    log = weighed(12)
    log.setup["Effective heat capacity [/1]"] = log.setup.pop("Effective heat capacity")
    log.setup["Effective heat capacity [/2]"] = (10050, "J/K", "own", log.setup["Batch date"][0])
    for row in log.rows["Runs"]:
        row["Bomb"] = "2" if row["Firing no."] == 12 else "1"
    path = formulas(
        log, tmp_path / "day.xlsx", lambda page: page.write_formula("P13", "=ROUND(O13-$N$13,4)", None, 1.012)
    )
    assert found(path) == []


@pytest.mark.parametrize("manner", ["hidden", "filtered out", "struck through"])
def test_rows_out_of_sight_that_count(tmp_path: Path, manner: str) -> None:
    path = weighed().save(tmp_path)
    book = openpyxl.load_workbook(path)
    sheet = book["Runs"]
    if manner == "struck through":
        for cell in sheet[5]:
            cell.font = Font(strike=True)
    else:
        sheet.row_dimensions[5].hidden = True
    if manner == "filtered out":
        sheet.auto_filter.ref = "A1:AF9"
    book.save(path)
    (finding,) = found(path)
    assert (finding.code, finding.firing, finding.where) == ("row-hidden-or-struck", "4", "Runs row 5")
    assert f"row 5 is {manner} and still counted" in finding.message


@pytest.mark.parametrize("values", [{"Use": "set aside", "Reason": "soot"}, {"Outcome": "misfire"}])
def test_a_row_out_of_sight_that_does_not_count_is_left_in_peace(tmp_path: Path, values: dict[str, str]) -> None:
    log = weighed()
    log.rows["Runs"][3] |= values
    path = log.save(tmp_path)
    book = openpyxl.load_workbook(path)
    book["Runs"].row_dimensions[5].hidden = True
    book.save(path)
    assert found(path) == []


def test_hidden_rows_of_samples_and_several_rows_at_once(tmp_path: Path) -> None:
    path = weighed().save(tmp_path)
    book = openpyxl.load_workbook(path)
    for row in (2, 3, 5):
        book["Runs"].row_dimensions[row].hidden = True
    book["Samples"].row_dimensions[3].hidden = True
    book.save(path)
    messages = [finding.message for finding in found(path)]
    assert messages == [
        "Runs row 2: row 2 to row 3, row 5 (3 rows) are hidden and still counted.",
        "Samples row 3: row 3 is hidden and still counted.",
    ]


@pytest.mark.parametrize(
    ("formula", "row", "form"),
    [
        ("=A7*2", 7, "=A[+0]*2"),
        ("=A$7*$B6", 7, "=A$7*$B[-1]"),
        ("=Titration!G9/'My log 2'!C3", 7, "=Titration!G[+2]/'My log 2'!C[-4]"),
        ('=IF(A7="B7","",SUM(C7:C9))', 7, '=IF(A[+0]="B7","",SUM(C[+0]:C[+2]))'),
        ("=LOG10(A7)+C_1", 7, "=LOG10(A[+0])+C_1"),
        ("=B2!A7+'C3''s'!$A7+Tab1[Mass]", 7, "=B2!A[+0]+'C3''s'!$A[+0]+Tab1[Mass]"),
        ('="see ""A7"" or "&A7', 7, '="see ""A7"" or "&A[+0]'),
    ],
)
def test_the_form_of_a_formula(formula: str, row: int, form: str) -> None:
    assert relative_form(formula, row) == form


def read(path: Path) -> Batch:
    return read_workbook(open_source(path))


def test_a_value_under_a_merged_area_is_said(tmp_path: Path) -> None:
    """A spreadsheet program shows the first cell of a merged area only; the others may still hold values."""

    def merge(page: Any) -> None:
        page.merge_range("N3:N4", 10.0)
        page.write("N4", 10.0)

    evaluation = evaluate(read_workbook(open_source(formulas(weighed(), tmp_path / "day.xlsx", merge))))
    found = [finding for finding in evaluation.findings if finding.code == "value-covered"]
    assert [(finding.sheet, finding.cell) for finding in found] == [("Runs", "N4")]
    assert "10 stands under the merged area of N3" in found[0].message


def test_a_merged_heading_above_the_table_covers_nothing(tmp_path: Path) -> None:
    def merge(page: Any) -> None:
        page.merge_range("AL1:AM1", "Of the lab's own")

    evaluation = evaluate(read_workbook(open_source(formulas(weighed(), tmp_path / "day.xlsx", merge))))
    assert "value-covered" not in {finding.code for finding in evaluation.findings}
