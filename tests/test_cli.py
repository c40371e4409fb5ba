"""The commands as a user meets them: outputs, exit statuses, one clear line for each thing that is wrong."""

import json
import shutil
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result
from logbook import Log, plain_log

from batchcal.cli import cli


def call(*words: object) -> Result:
    result = CliRunner().invoke(cli, [str(word) for word in words])
    assert "Traceback" not in result.output
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def outputs(folder: Path) -> list[str]:
    return sorted(file.name for file in folder.iterdir() if file.name != "day.xlsx")


SET = ["day.results.json", "day.results.xlsx", "day.summary.html"]


def test_process_writes_the_set_beside_the_workbook_and_leaves_that_alone(tmp_path: Path) -> None:
    day = plain_log(2.5, 2.505).save(tmp_path)
    before = day.read_bytes()
    result = call("process", day)
    assert result.exit_code == 0
    assert outputs(tmp_path) == SET
    assert day.read_bytes() == before
    # The table of verdicts is on standard output, messages are on standard error.
    assert result.stdout.splitlines()[1].split() == ["S1", "ready", "2", "50.0", "120.0", "24965", "26005"]
    assert "1 ready" in result.stderr


def test_the_same_input_gives_the_same_bytes(tmp_path: Path) -> None:
    day = plain_log(2.5, 2.505).save(tmp_path)
    for out in ("a", "b"):
        assert call("process", day, "--out", tmp_path / out).exit_code == 0
    for name in SET:
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes(), name


def test_an_existing_output_needs_force(tmp_path: Path) -> None:
    day = plain_log(2.5, 2.505).save(tmp_path)
    call("process", day)
    again = call("process", day)
    assert again.exit_code == 2
    assert "--force" in again.stderr
    assert call("process", day, "--force").exit_code == 0


def test_an_incomplete_set_is_named(tmp_path: Path) -> None:
    day = plain_log(2.5, 2.505).save(tmp_path)
    call("process", day)
    (tmp_path / "day.results.json").unlink()
    again = call("process", day)
    assert again.exit_code == 2
    assert "incomplete" in again.stderr
    assert "incomplete" in call("process", day, "--force").stderr
    assert outputs(tmp_path) == SET


def test_sample_not_ready_gives_1(tmp_path: Path) -> None:
    assert call("process", plain_log(2.5).save(tmp_path)).exit_code == 1


def test_check_prints_findings_and_writes_nothing(tmp_path: Path) -> None:
    day = plain_log(2.5, 2.6).save(tmp_path)
    result = call("check", day)
    assert result.exit_code == 1
    assert "pair-apart" in result.stdout
    assert outputs(tmp_path) == []


def test_folder_takes_every_workbook_but_no_outputs_and_no_lock_files(tmp_path: Path) -> None:
    plain_log(2.5, 2.505).save(tmp_path, "one.xlsx")
    plain_log(2.5, 2.6).save(tmp_path, "two.xlsx")
    (tmp_path / "~$one.xlsx").write_bytes(b"lock")
    (tmp_path / "three.results.xlsx").write_bytes(b"never read")
    result = call("process", tmp_path)
    assert result.exit_code == 1
    made = {file.name for file in tmp_path.glob("*.results.json")}
    assert made == {"one.results.json", "two.results.json"}


def test_one_bad_workbook_does_not_stop_the_rest_and_the_highest_status_wins(tmp_path: Path) -> None:
    good = plain_log(2.5, 2.505).save(tmp_path, "good.xlsx")
    bad = tmp_path / "bad.xlsx"
    bad.write_bytes(b"this is no workbook")
    result = call("process", bad, good)
    assert result.exit_code == 3
    assert (tmp_path / "good.results.json").exists()
    assert not list(tmp_path.glob("bad.*.*"))


def test_two_inputs_with_one_output_name_are_refused_before_anything(tmp_path: Path) -> None:
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        plain_log(2.5, 2.505).save(tmp_path / folder)
    out = tmp_path / "out"
    result = call("process", tmp_path / "a" / "day.xlsx", tmp_path / "b" / "day.xlsx", "--out", out)
    assert result.exit_code == 2
    assert not out.exists()


def test_results_are_never_input(tmp_path: Path) -> None:
    day = plain_log(2.5, 2.505).save(tmp_path)
    call("process", day)
    result = call("process", tmp_path / "day.results.xlsx")
    assert result.exit_code == 2
    assert "never" in result.stderr


def test_method_against_another_setup_method_is_wrong_usage(tmp_path: Path) -> None:
    day = plain_log(2.5, 2.505).save(tmp_path)
    assert call("process", day, "--method", "iso-1928").exit_code == 2
    assert outputs(tmp_path) == []
    assert call("process", day, "--method", "lab").exit_code == 0


def test_method_stands_in_where_setup_names_none(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.505)
    del log.setup["Method"]
    call("process", log.save(tmp_path), "--method", "iso-1928")
    results = json.loads((tmp_path / "day.results.json").read_text(encoding="utf-8"))
    assert results["settings"]["method"] == "iso-1928"


def _broken(log: Log) -> Log:
    log.rows["Runs"] = []
    return log


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"not a zip at all", "not a workbook"),
        (bytes.fromhex("D0CF11E0A1B11AE1") + "EncryptedPackage".encode("utf-16-le"), "password"),
        (b"PK\x05\x06" + b"\0" * 18, "not a workbook"),
        (_broken(plain_log()).bytes(), "no firing rows"),
    ],
    ids=["empty", "text", "encrypted", "empty zip", "no rows"],
)
def test_what_cannot_be_processed_gives_one_line_and_3(tmp_path: Path, content: bytes, says: str) -> None:
    day = tmp_path / "day.xlsx"
    day.write_bytes(content)
    for command in ("process", "check"):
        result = call(command, day)
        assert result.exit_code == 3
        assert says in result.stderr
        assert len(result.stderr.splitlines()) == 1
    assert outputs(tmp_path) == []


@pytest.mark.parametrize("sheet", ["Setup", "Runs"])
def test_missing_and_empty_sheets(tmp_path: Path, sheet: str) -> None:
    day = plain_log(2.5, 2.505).save(tmp_path)
    book = openpyxl.load_workbook(day)
    del book[sheet]
    book.save(day)
    missing = call("check", day)
    assert missing.exit_code == 3
    assert f"no sheet {sheet}" in missing.stderr
    book.create_sheet(sheet)
    book.save(day)
    empty = call("check", day)
    assert empty.exit_code == 3
    assert "empty" in empty.stderr


def test_calibration_is_needed_without_a_heat_capacity_on_setup(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.505)
    del log.setup["Effective heat capacity"]
    result = call("check", log.save(tmp_path))
    assert result.exit_code == 3
    assert "Calibration" in result.stderr


def test_titration_is_needed_where_the_scheme_uses_titres(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.505)
    log.setup["Acid scheme"] = ("total as nitric",)
    result = call("check", log.save(tmp_path))
    assert result.exit_code == 3
    assert "Titration" in result.stderr


def test_new_writes_a_workbook_that_says_what_is_missing(tmp_path: Path) -> None:
    blank = tmp_path / "day.xlsx"
    assert call("new", blank).exit_code == 0
    assert call("new", blank).exit_code == 2
    assert call("new", blank, "--force").exit_code == 0
    assert call("new", tmp_path / "day.ods").exit_code == 2
    # A blank workbook has no firing rows yet.
    result = call("check", blank)
    assert result.exit_code == 3
    assert len(result.stderr.splitlines()) == 1


def test_new_fills_in_what_the_command_names(tmp_path: Path) -> None:
    path = tmp_path / "day.xlsx"
    assert call("new", path, "--method", "iso-1927").exit_code == 2
    assert call("new", path, "--calorimeter", "K1,K2").exit_code == 2
    assert not path.exists()
    assert call("new", path, "--method", "iso-1928", "--calorimeter", "K1/B1").exit_code == 0
    rows = {row[1]: row[2:] for row in openpyxl.load_workbook(path)["Setup"].iter_rows(values_only=True)}
    assert rows["Method"][0] == "iso-1928"
    assert rows["Repeatability limit"] == ("method", "J/g", None, None)
    assert rows["Effective heat capacity [K1/B1]"] == (None, "J/K", None, None)


def test_a_folder_that_cannot_be_written_is_one_line(tmp_path: Path) -> None:
    day = plain_log(2.5, 2.505).save(tmp_path)
    target = tmp_path / "out"
    target.write_bytes(b"a file where a folder is wanted")
    result = call("process", day, "--out", target / "deeper")
    assert result.exit_code in (2, 3)
    assert len(result.stderr.strip().splitlines()) == 1
    shutil.rmtree(tmp_path / "never", ignore_errors=True)


@pytest.mark.parametrize("words", [[], ["process"], ["new"], ["nonsense"], ["process", "no-such-file.xlsx"]])
def test_wrong_usage_gives_2(words: list[str]) -> None:
    assert CliRunner().invoke(cli, words).exit_code == 2
