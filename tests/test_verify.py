"""``batchcal verify``: the dated record, as a page and as JSON, and what it says where a case fails."""

import datetime as dt
import hashlib
import json
import platform
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

import batchcal
from batchcal.cli import cli
from batchcal.errors import BatchcalError, UsageError
from batchcal.formulas import bomb
from batchcal.report.verification import validation_lines, validation_page, verdict_line
from batchcal.verification.cases import Status, rows, run_case, run_cases
from batchcal.verification.checks import Kind
from batchcal.verification.kinds import KINDS
from batchcal.verification.record import validation_record
from batchcal.verify import verify

WHEN = dt.datetime(2026, 3, 9, 17, 5, tzinfo=dt.timezone(dt.timedelta(hours=1)))
STEM = "batchcal-validation-2026-03-09"


@pytest.fixture
def sign_slip(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make the program take the side heats with the wrong sign, as one of the sources does."""

    def wrong(**given: float) -> float:
        sides = given["ignition_J"] + given["aid_J"] + given["nitric_J"] + given["sulphuric_J"]
        return (given["heat_capacity_J_per_K"] * given["corrected_rise_K"] + sides) / given["mass_g"]

    monkeypatch.setattr(bomb, "gross_calorific_value", wrong)


def test_the_record_says_what_was_run_and_on_what() -> None:
    results = run_cases()
    record = validation_record(results, WHEN)
    assert record["schema"] == "batchcal.validation/1"
    assert record["date"] == "2026-03-09"
    assert record["run_at"] == "2026-03-09T17:05:00+01:00"
    assert record["verdict"] == "pass"
    installation = record["installation"]
    assert isinstance(installation, dict)
    assert installation["batchcal_version"] == batchcal.__version__
    assert platform.python_version() in installation["python"]
    assert installation["platform"]
    assert set(installation["check_values_sha256"]) == {kind.file for kind in KINDS}
    counts = record["counts"]
    assert isinstance(counts, dict)
    assert list(counts) == [status.value for status in Status]
    assert sum(count["cases"] for count in counts.values()) == len(results)
    assert counts["verified"]["passed"] == counts["verified"]["cases"] >= 15
    assert json.loads(json.dumps(record, allow_nan=False)) == record


def test_the_time_of_a_record_needs_its_zone() -> None:
    with pytest.raises(ValueError, match="time zone"):
        validation_record([], dt.datetime(2026, 3, 9))


def test_a_record_without_a_case_does_not_pass() -> None:
    assert validation_record([], WHEN)["verdict"] == "fail"


def test_page_and_record_are_written_and_belong_together(tmp_path: Path) -> None:
    done = verify(tmp_path / "records", WHEN)
    assert done.passed
    assert (done.page.name, done.document.name) == (f"{STEM}.html", f"{STEM}.json")
    record = json.loads(done.document.read_text(encoding="utf-8"))
    assert record["outputs"] == {done.page.name: hashlib.sha256(done.page.read_bytes()).hexdigest()}
    page = done.page.read_text(encoding="utf-8")
    assert "<script" not in page
    assert not re.search(r"(?:src|href)=\"(?!#)", page)
    for case in record["cases"]:
        assert f">{case['case']}<" in page
    for line in record["limits"]:
        assert line.replace("'", "&#39;") in page
    first = done.page.read_bytes(), done.document.read_bytes()
    again = verify(tmp_path / "records", WHEN, force=True)
    assert (again.page.read_bytes(), again.document.read_bytes()) == first


def test_a_record_of_the_day_is_not_replaced_unasked(tmp_path: Path) -> None:
    kept = tmp_path / f"{STEM}.json"
    kept.write_text("the one that failed", encoding="utf-8")
    with pytest.raises(UsageError, match="--force"):
        verify(tmp_path, WHEN)
    assert kept.read_text(encoding="utf-8") == "the one that failed"
    assert [file.name for file in tmp_path.iterdir()] == [kept.name]


@pytest.mark.usefixtures("sign_slip")
def test_a_wrong_formula_fails_in_record_page_and_lines(tmp_path: Path) -> None:
    done = verify(tmp_path, WHEN)
    assert not done.passed
    cases = {case["case"]: case for case in done.record["cases"]}
    trap = cases["coal-sign-trap"]
    assert trap["verdict"] == "fail"
    assert trap["values"][0]["obtained"] == pytest.approx(7298.9, abs=0.1)  # what the source prints, 7299
    assert cases["water-equiv-benzoic"]["verdict"] == "pass"
    page = done.page.read_text(encoding="utf-8")
    assert "<b>Fail:</b> not all cases passed" in page
    assert "Release nothing" in page
    assert any(line.startswith("fail  coal-sign-trap ") for line in validation_lines(done.record))


def test_lines_give_value_tolerance_status_and_source() -> None:
    record = validation_record(run_cases(), WHEN)
    text = "\n".join(validation_lines(record))
    assert "pass  oil-cotton (Gross calorific value at constant volume; verified)" in text
    assert "gross calorific value: expected 40660 within ± 0.6, obtained 40660.38 J/g" in text
    assert "expected 22.38 within ± 0.0005; must not be 22.36, obtained 22.38000 °C" in text
    assert "source: S. S. Khandare, Engineering Thermodynamics" in text
    assert verdict_line(record).startswith("all cases passed, ")


def test_inputs_stand_on_the_page_in_words() -> None:
    page = validation_page(validation_record(run_cases(), WHEN))
    assert "mass 0.579 g" in page
    assert "heat capacity per K 7954.92" in page
    assert "data 218 figures" in page


def test_a_formula_that_refuses_makes_a_case_that_did_not_pass() -> None:
    kind = next(kind for kind in KINDS if kind.file == "straight_line.csv")
    result = run_case(kind, {**rows(kind)[0], "x": "1 1", "y": "1 2"})
    assert not result.passed
    assert result.trouble == "not computed: a rate of change needs readings at different times"
    page = validation_page(validation_record([result], WHEN))
    assert result.trouble in page


def test_an_installation_without_check_values_says_so() -> None:
    kind = Kind("absent.csv", "Absent", (), KINDS[0].run)
    with pytest.raises(BatchcalError, match=r"absent\.csv cannot be read in this installation"):
        rows(kind)


def test_command(tmp_path: Path) -> None:
    result = CliRunner().invoke(cli, ["verify", "--out", str(tmp_path)])
    assert result.exit_code == 0, result.output
    assert "pass  sucrose" in result.stdout
    assert "all cases passed" in result.stderr
    names = sorted(file.name for file in tmp_path.iterdir())
    assert len(names) == 2
    assert all(re.fullmatch(r"batchcal-validation-\d{4}-\d\d-\d\d\.(html|json)", name) for name in names)


@pytest.mark.usefixtures("sign_slip")
def test_command_answers_1_where_a_case_fails(tmp_path: Path) -> None:
    result = CliRunner().invoke(cli, ["verify", "--out", str(tmp_path)])
    assert result.exit_code == 1
    assert "not all cases passed" in result.stderr


def test_command_answers_2_where_a_record_stands(tmp_path: Path) -> None:
    assert CliRunner().invoke(cli, ["verify", "--out", str(tmp_path)]).exit_code == 0
    assert CliRunner().invoke(cli, ["verify", "--out", str(tmp_path)]).exit_code == 2
    assert CliRunner().invoke(cli, ["verify", "--out", str(tmp_path), "--force"]).exit_code == 0
