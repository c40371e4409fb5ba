"""The sheet Working of days on which something went wrong: it is made whatever stands in the log, and agrees."""

from pathlib import Path

import openpyxl
import pytest
from bad_day.honest import honest_day
from bad_day.slips import SLIPS, bad_day
from bad_day.write import write
from made import results_workbook

from batchcal.process import check_workbook


@pytest.mark.parametrize("name", [*SLIPS, *range(20)], ids=str)
def test_a_day_of_whatever_kind(name: str | int, tmp_path: Path) -> None:
    path = tmp_path / "day.xlsx"
    write(honest_day(name) if isinstance(name, int) else bad_day(name, 1)[0], path)
    evaluation = check_workbook(path)
    results = tmp_path / "results.xlsx"
    results.write_bytes(results_workbook(path.read_bytes(), evaluation))
    sheet = openpyxl.load_workbook(results, data_only=True)["Working"]
    assert sheet["F3"].value == "agrees"
    computed = [f for f in evaluation.firings if f.gross_ad_J_per_g is not None and f.state != "not computed"]
    assert sheet["G3"].value >= len(computed)
