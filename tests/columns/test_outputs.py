"""The results workbook of each shape: the lab's sheets as they were, computed columns where a row is a firing."""

import json
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner

from batchcal.cli import cli
from columns import test_day_log, test_forms, test_pairs, test_readings
from columns.own_day import Sheets, make_day, propose_and_read


def sheets_and_answers(shape: str) -> tuple[Sheets, dict[str, str]]:
    if shape == "rows":
        acid, check, _ = test_day_log.WORDS["it"]
        return test_day_log.day_log(make_day(6), "it"), {f"purpose {acid}": "calibration", f"purpose {check}": "check"}
    if shape == "pairs":
        words, parts, acid, check, grouped = test_pairs.CASES[0]
        made = test_pairs.pairs_sheet(make_day(3, calibrations=6), words, parts, acid, check, grouped=grouped)
        return made, {f"purpose {acid}": "calibration", f"purpose {check}": "check"}
    if shape == "forms":
        made = test_forms.dutch(make_day(4, calibrations=6))
        return made, {"purpose Benzoëzuur": "calibration", "purpose Controle": "check"}
    return test_readings.own(make_day(7, samples=2, calibrations=0, checks=0), "de"), {}


@pytest.mark.parametrize(("shape", "added"), [("rows", 14), ("pairs", 28), ("forms", 0), ("curves", 14)])
def test_each_shape(tmp_path: Path, shape: str, added: int, monkeypatch: pytest.MonkeyPatch) -> None:
    if shape == "curves":
        monkeypatch.setattr("columns.own_day.SETUP", test_readings.SETUP)
    made, answers = sheets_and_answers(shape)
    own = made.save(tmp_path)
    propose_and_read(own, answers)
    before = {page.title: cells(page) for page in openpyxl.load_workbook(own)}
    result = CliRunner().invoke(cli, ["process", str(own), "--columns", str(own.with_suffix(".toml"))])
    assert result.exit_code in (0, 1), result.output
    book = openpyxl.load_workbook(tmp_path / "own.results.xlsx")
    for title, old in before.items():
        now = cells(book[title])
        assert {spot: now[spot] for spot in old} == old
    first = book.worksheets[0]
    computed = {spot: value for spot, value in cells(first).items() if spot not in before[first.title]}
    headings = [str(value) for value in computed.values() if str(value).endswith("Mass (g)")]
    assert len(headings) == added // 14
    assert bool(computed) == bool(added)
    # Every result once more as a formula on the lab's cells agrees with the stored one.
    worked = openpyxl.load_workbook(tmp_path / "own.results.xlsx", data_only=True)["Working"]
    assert "differs" not in {cell.value for row in worked.iter_rows(max_row=6) for cell in row}
    results = json.loads((tmp_path / "own.results.json").read_text(encoding="utf-8"))
    assert results["input"]["columns"]["file"] == "own.toml"
    page = (tmp_path / "own.summary.html").read_text(encoding="utf-8")
    anchors = [part.partition('"')[0] for part in page.split('id="firing-')[1:]]
    assert len(anchors) == len(set(anchors)) == len(results["firings"])


def cells(page: Any) -> dict[str, Any]:
    return {cell.coordinate: cell.value for row in page.iter_rows() for cell in row if cell.value is not None}
