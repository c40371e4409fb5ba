"""The workbooks and archives of the benchmark are what it says they are, and are worked out; nothing is timed here."""

from pathlib import Path

import openpyxl
import pytest

from batchcal.process import check_workbook
from batchcal.trend.figures import history
from batchcal.trend.read import read_folders
from benchmarks.archive import FIRINGS, archive
from benchmarks.books import FORMULA_COLUMNS, log_of, with_readings, write
from benchmarks.folder import small_days


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


def test_every_file_of_an_archive_is_a_day_of_its_own(tmp_path: Path) -> None:
    archive(70, tmp_path)
    days, passed = read_folders([tmp_path])
    assert passed == []
    assert [len(day.firings) for day in days] == [FIRINGS] * 70
    found = history(days, passed)
    assert found is not None
    assert (len(found.read.counted), found.read.once) == (70, ())
    # Twelve calibrations are carried along from day to day and fired anew on the sixty-first.
    assert found.firings == 70 * (FIRINGS - 12) + 2 * 12
    assert len(found.pairs) == 70 * 13
    assert {len(run.series) for run in found.capacities} == {2}


def test_small_days_are_ready_days_of_three_to_five_samples(tmp_path: Path) -> None:
    small_days(3, tmp_path)
    made = [check_workbook(path) for path in sorted(tmp_path.iterdir())]
    assert [len(evaluation.samples) for evaluation in made] == [3, 4, 5]
    assert all(firing.state == "used" for evaluation in made for firing in evaluation.firings)
