"""The functions and tables for programs in Python, against the files that ``batchcal process`` writes."""

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from click.testing import CliRunner
from logbook import plain_log

from batchcal import frames
from batchcal.api import BatchcalError, evaluate, read, write
from batchcal.cli import cli
from batchcal.errors import UsageError, WorkbookError

ROOT = Path(__file__).parent.parent
EXAMPLES = ROOT / "example_workbooks"
TABLES: dict[str, Callable[..., pd.DataFrame]] = {
    "firings": frames.firings, "series": frames.series, "samples": frames.samples, "findings": frames.findings,
}  # fmt: skip


def read_me() -> tuple[str, str]:
    """Return the program of README's chapter, and what README says that it prints."""
    chapter = (ROOT / "README.md").read_text(encoding="utf-8").partition("## From Python\n")[2].partition("\n## ")[0]
    (code,), (output,) = (re.findall(rf"```{kind}\n(.*?)```", chapter, re.DOTALL) for kind in ("python", "text"))
    return code, output


def nested(row: dict[str, Any], part: str) -> dict[str, Any]:
    """Return a row of a table as results.json has it, put together again by names typed here."""
    entry = {name: None if value is pd.NA or value is pd.NaT else value for name, value in row.items()}
    for name, value in entry.items():
        if isinstance(value, pd.Timestamp):
            entry[name] = value.date().isoformat()
        elif isinstance(value, tuple):
            entry[name] = list(value)
    if part == "series":
        lowest, highest = entry.pop("lowest_rise_K"), entry.pop("highest_rise_K")
        entry["rise_range_K"] = None if lowest is None else [lowest, highest]
    if part == "samples":
        for name, bases in (
            ("gross", ("ad", "d", "ar", "daf")),
            ("net_constant_pressure", ("ad", "d", "ar")),
            ("net_constant_volume", ("ad", "d", "ar")),
            ("expanded_uncertainty", ("ad", "d", "ar", "daf", "net_ad", "net_d", "net_ar")),
        ):
            entry[f"{name}_J_per_g"] = {basis: entry.pop(f"{name}_{basis}_J_per_g") for basis in bases}
    return entry


def test_the_example_of_the_read_me_does_what_it_says(tmp_path: Path) -> None:
    shutil.copytree(EXAMPLES, tmp_path / "example_workbooks")
    code, output = read_me()
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout == output
    result = CliRunner().invoke(cli, ["process", str(EXAMPLES / "difficult_day.xlsx"), "--out", str(tmp_path / "cli")])
    assert result.exit_code == 1, result.output
    written = {path.name: path.read_bytes() for path in (tmp_path / "results_from_python").iterdir()}
    assert written == {path.name: path.read_bytes() for path in (tmp_path / "cli").iterdir()}
    assert set(written) == {f"difficult_day.{ending}" for ending in ("results.xlsx", "summary.html", "results.json")}


@pytest.mark.parametrize("day", ["difficult_day", "readings_day", "own_sheet_day"])
def test_the_tables_hold_what_the_results_file_holds(tmp_path: Path, day: str) -> None:
    columns = EXAMPLES / f"{day}.toml"
    log = read(EXAMPLES / f"{day}.xlsx", columns if columns.exists() else None)
    done = write(log, evaluate(log), tmp_path)
    document = json.loads(done.outputs.results.read_text(encoding="utf-8"))
    for part, table in TABLES.items():
        frame = table(done.evaluation)
        names = [str(name) for name in frame]
        rows = zip(*(frame[name].tolist() for name in names), strict=True)
        assert [nested(dict(zip(names, row, strict=True)), part) for row in rows] == document[part], part
        assert document[part], part


def test_numbers_stay_text_and_what_is_not_there_is_na(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.505)
    evaluation = evaluate(read(log.save(tmp_path)))
    for table in TABLES.values():
        frame = table(evaluation)
        numbers = [name for name in map(str, frame) if name.endswith(("_J", "_g", "_K", "_percent"))]
        assert {str(frame[name].dtype) for name in numbers} <= {"Float64"}
    firings = frames.firings(evaluation)
    assert firings["firing"].dtype == "string"
    assert firings["row"].dtype == "Int64"
    calibrations = firings[firings["purpose"] == "calibration"]
    assert calibrations["gross_ad_J_per_g"].isna().all()
    assert calibrations["heat_capacity_J_per_K"].notna().all()


def test_a_table_without_rows_has_its_columns() -> None:
    findings = frames.findings(evaluate(read(EXAMPLES / "clean_day.xlsx")))
    assert len(findings) == 0  # nothing is found on the clean day
    assert findings["row"].dtype == "Int64"
    assert list(findings) == list(frames.findings(evaluate(read(EXAMPLES / "difficult_day.xlsx"))))


def test_outputs_are_replaced_only_by_force(tmp_path: Path) -> None:
    log = read(plain_log(2.5, 2.505).save(tmp_path))
    evaluation = evaluate(log)
    page = write(log, evaluation).outputs.page
    assert page.parent == tmp_path
    with pytest.raises(UsageError, match="force"):
        write(log, evaluation)
    assert write(log, evaluation, force=True).outputs.page == page
    assert write(log, evaluation, str(tmp_path / "else"), certificate=True).no_certificate


def test_what_was_read_is_written_whatever_became_of_the_file(tmp_path: Path) -> None:
    path = plain_log(2.5, 2.505).save(tmp_path)
    log = read(path)
    path.write_bytes(b"")
    done = write(log, evaluate(log))
    assert json.loads(done.outputs.results.read_text(encoding="utf-8"))["input"]["sha256"] == log.source.sha256


def test_what_cannot_be_done_is_one_line(tmp_path: Path) -> None:
    def refused(call: Callable[[], object], kind: type[BatchcalError], words: str) -> None:
        with pytest.raises(kind, match=words) as caught:
            call()
        assert len(str(caught.value).splitlines()) == 1

    one, other = (read(EXAMPLES / f"{name}.xlsx") for name in ("clean_day", "difficult_day"))
    refused(lambda: read(tmp_path / "absent.xlsx"), WorkbookError, r"absent\.xlsx")
    refused(lambda: read(tmp_path / "day.results.xlsx"), UsageError, "never taken as input")
    refused(lambda: read(EXAMPLES / "own_sheet_day.xlsx", tmp_path / "absent.toml"), UsageError, r"absent\.toml")
    refused(lambda: evaluate(one, "iso-1927"), UsageError, "iso-1928")
    refused(lambda: write(one, evaluate(other), tmp_path), UsageError, r"difficult_day\.xlsx")
    assert not list(tmp_path.iterdir())


def test_only_the_tables_load_pandas() -> None:
    """Against the list of modules that Python itself keeps."""
    for words, loaded in (("batchcal.api", False), ("batchcal.cli", False), ("batchcal.frames", True)):
        code = f"import sys, {words}; print('pandas' in sys.modules)"
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        assert done.stdout.strip() == str(loaded), words
