"""The commands on files that are no .xlsx: outputs beside them, one line where that cannot be."""

import json
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result
from logbook import plain_log
from workbook_as_ods import as_ods, tables_of

from batchcal.cli import cli
from batchcal.errors import UsageError, WorkbookError
from batchcal.findings import Finding
from batchcal.process import check_workbook, plan
from batchcal.workbook.foreign.csv_form import CsvForm
from batchcal.workbook.reader import _read_as
from batchcal.workbook.source import open_source


def call(*arguments: str | Path) -> Result:
    return CliRunner().invoke(cli, [str(argument) for argument in arguments])


@pytest.fixture
def day(tmp_path: Path) -> Path:
    path = tmp_path / "day.ods"
    path.write_bytes(as_ods(tables_of(plain_log(2.5, 2.502))))
    return path


def test_an_ods_is_processed_and_left_alone(day: Path) -> None:
    before = day.read_bytes()
    done = call("process", day)
    assert done.exit_code == 0, done.output
    assert day.read_bytes() == before
    results = json.loads(day.with_name("day.results.json").read_bytes())
    assert results["input"]["file"] == "day.ods"
    assert [finding["code"] for finding in results["findings"]].count("results-in-new-workbook") == 1
    plain = plain_log(2.5, 2.502).save(day.parent, "same.xlsx")
    assert check_workbook(day).samples == check_workbook(plain).samples
    book = openpyxl.load_workbook(day.with_name("day.results.xlsx"))
    assert {"Setup", "Runs", "Samples", "Results"} <= set(book.sheetnames)
    assert book["Runs"]["A2"].value == 1


def test_two_forms_of_one_day_would_write_the_same_outputs(day: Path) -> None:
    plain_log(2.5, 2.502).save(day.parent)
    with pytest.raises(UsageError, match=r"day\.ods and .*day\.xlsx would both write .*day\.results\.json"):
        plan([day.parent], None)
    done = call("process", day.parent)
    assert (done.exit_code, list(day.parent.glob("*.results.*"))) == (2, [])


def test_a_table_of_text_is_told_what_to_do(tmp_path: Path) -> None:
    path = tmp_path / "runs.csv"
    path.write_bytes(b"Firing no.;Mass (g)\r\n1;1,0034\r\n2;0,998\r\n")
    for command in ("process", "check"):
        done = call(command, path)
        assert done.exit_code == 3
        assert "`batchcal columns runs.csv --save MAP.toml`" in done.output
        assert done.output.count("\n") == 1
    path.write_bytes(b"Firing no.;Mass (g)\r\n1;1,034\r\n2;1,998\r\n")
    done = call("check", path)
    assert done.exit_code == 3
    assert "decimal: '1,034' (row 2) is 1.034 or 1034" in done.output
    assert open_source(path, CsvForm(decimal=",")).grids[0].cell(2, 2).value == 1.034


def test_what_a_table_was_read_as_is_said(tmp_path: Path) -> None:
    path = tmp_path / "runs.csv"
    path.write_bytes("Firing no.;Mass (g)\r\n1;1,0034\r\n2;0,998\r\n".encode("utf-16"))
    said: list[Finding] = _read_as(open_source(path))
    assert [finding.message for finding in said] == [
        "runs.csv was read as utf-16-le, its fields parted by a semicolon, its numbers with a decimal comma."
    ]


def test_a_folder_takes_tables_of_text_for_no_workbooks(tmp_path: Path) -> None:
    (tmp_path / "export.csv").write_bytes(b"a;b\r\n1;2\r\n")
    plain_log(2.5, 2.502).save(tmp_path)
    assert [path.name for path, _ in plan([tmp_path], None)] == ["day.xlsx"]
    with pytest.raises(WorkbookError, match=r"only \.xlsx, \.xlsm, \.xls, \.ods and \.csv are read"):
        open_source(tmp_path / "day.doc")
