"""The workbooks of the benchmark are what it says they are, and are worked out; nothing is timed here."""

from pathlib import Path

import openpyxl
import pytest

from batchcal.process import check_workbook
from benchmarks.books import FORMULA_COLUMNS, log_of, with_readings, write


@pytest.mark.parametrize("firings", [40, 57])
def test_a_log_has_as_many_firings_as_it_is_asked_for(tmp_path: Path, firings: int) -> None:
    path = tmp_path / "day.xlsx"
    write(log_of(firings), path)
    evaluation = check_workbook(path)
    states = [firing.state for firing in evaluation.firings]
    assert states == ["used"] * firings


def test_every_firing_has_its_readings(tmp_path: Path) -> None:
    path = tmp_path / "day.xlsx"
    write(with_readings(log_of(40)), path)
    assert len(list(openpyxl.load_workbook(path)["Readings"].rows)) == 1 + 40 * 60
    evaluation = check_workbook(path)
    assert all(firing.state == "used" for firing in evaluation.firings)
    assert all(firing.heat_exchange_K for firing in evaluation.firings)


def test_every_firing_has_its_formulas(tmp_path: Path) -> None:
    path = tmp_path / "day.xlsx"
    write(log_of(40), path, FORMULA_COLUMNS)
    book = openpyxl.load_workbook(path)
    for name, count in (("Calibration", 12), ("Runs", 28)):
        cells = [cell.value for row in book[name].iter_rows() for cell in row]
        assert sum(isinstance(value, str) and value.startswith("=") for value in cells) == count * FORMULA_COLUMNS
