"""A table of text is read by a map: what the file does not show of how it is written is asked for once."""

import csv
import datetime as dt
import io
from pathlib import Path

import pytest
from click.testing import CliRunner

from batchcal.cli import cli
from batchcal.errors import UsageError, WorkbookError
from batchcal.outputs import OutputSet
from batchcal.process import check_workbook, process_workbook, propose_columns
from batchcal.terms import Decision
from batchcal.workbook.columns.map_file import read_map
from batchcal.workbook.foreign.csv_form import CsvQuestion

SETUP = """\
[setup]
"Batch date" = 2026-10-14
Analyst = "A"
Reviewer = "B"
Method = "lab"
"Acid scheme" = "none"
"Comparison basis" = "ad"
"Repeatability limit" = { value = 120, unit = "J/g", source = "own" }
"Heat-capacity life" = { value = 90, unit = "days", source = "own" }
"Fixed ignition heat" = { value = 60, unit = "J", source = "own" }
"Effective heat capacity" = { value = 10000, unit = "J/K", source = "own series", in_force_from = 2026-10-01 }
"""


def table(decimal: str = ".", delimiter: str = ";", *, doubtful: bool = False) -> bytes:
    """Two samples in duplicate; C = 10 000 J/K and 1.25 g: (25 000 - 60) / 1.25 = 19 952 J/g by hand."""
    stream = io.StringIO()
    writer = csv.writer(stream, delimiter=delimiter)
    writer.writerow(["Firing no.", "Date", "Sample no.", "Sample mass (g)", "Temperature rise (K)"])
    day = dt.date(2026, 10, 14)
    for number, sample in enumerate(("0071", "0071", "0072", "0072"), 1):
        mass, rise = ("1.250", "2.500") if doubtful else ("1.25", f"2.50{number}")
        writer.writerow([number, day, sample, mass.replace(".", decimal), rise.replace(".", decimal)])
    return stream.getvalue().encode()


def saved_map(file: Path, *earlier: str) -> Path:
    """Have the map saved as a user does, and fill its Setup in by hand."""
    saved = file.parent / "lab.toml"
    result = CliRunner().invoke(cli, ["columns", str(file), "--save", str(saved), "--force", *earlier])
    assert result.exit_code == 0, result.output
    text = saved.read_text(encoding="utf-8")
    saved.write_text(text.replace("[setup]\n", SETUP, 1), encoding="utf-8")
    return saved


def test_a_table_of_text_goes_from_proposal_to_results(tmp_path: Path) -> None:
    file = tmp_path / "Monday.csv"
    file.write_bytes(table(",", ";"))
    saved = saved_map(file)
    assert read_map(saved).text.form.decimal == ","
    evaluation = check_workbook(file, columns=saved)
    assert {sample.sample: sample.decision for sample in evaluation.samples} == {
        "0071": Decision.READY, "0072": Decision.READY,
    }  # fmt: skip
    first = evaluation.firings[0]
    assert first.gross_ad_J_per_g == pytest.approx((10000 * 2.501 - 60) / 1.25, rel=1e-12)
    assert first.row.place.where("rise_K") == "Monday!E2"


def test_the_map_serves_the_table_of_another_day(tmp_path: Path) -> None:
    """Its one sheet has the file's name; the map does not hold to that."""
    file = tmp_path / "Monday.csv"
    file.write_bytes(table())
    saved = saved_map(file)
    other = tmp_path / "Tuesday.csv"
    other.write_bytes(table())
    done = process_workbook(other, OutputSet.for_input(other), columns=saved)
    assert [sample.decision for sample in done.evaluation.samples] == [Decision.READY] * 2
    assert done.outputs.workbook.name == "Tuesday.results.xlsx"
    assert done.outputs.workbook.exists()
    assert "results-in-new-workbook" in {finding.code for finding in done.evaluation.findings}


def test_what_the_file_does_not_show_is_asked_for_once(tmp_path: Path) -> None:
    """1,250 is one and a quarter or a thousand: nobody is to guess."""
    file = tmp_path / "Monday.csv"
    file.write_bytes(table(",", ";", doubtful=True))
    with pytest.raises(CsvQuestion, match="decimal"):
        propose_columns(file)
    stub = tmp_path / "stub.toml"
    result = CliRunner().invoke(cli, ["columns", str(file), "--save", str(stub)])
    assert result.exit_code == 1
    assert 'decimal = "?"' in stub.read_text(encoding="utf-8")
    with pytest.raises(UsageError, match="csv, decimal"):
        check_workbook(file, columns=stub)
    stub.write_text(stub.read_text(encoding="utf-8").replace('"?"', '","'), encoding="utf-8")
    with pytest.raises(UsageError, match="no \\[\\[table\\]\\]"):
        check_workbook(file, columns=stub)
    saved = saved_map(file, "--columns", str(stub))
    evaluation = check_workbook(file, columns=saved)
    assert evaluation.firings[0].mass_g == pytest.approx(1.25)


def test_an_answer_at_the_terminal_is_kept_in_the_map(tmp_path: Path) -> None:
    file = tmp_path / "Monday.csv"
    file.write_bytes(table(",", ";", doubtful=True))
    asked = []

    def answer(question: CsvQuestion) -> object:
        asked.append([one.key for one in question.questions])
        return question.known.__class__(question.known.encoding, question.known.delimiter, ",")

    proposal = propose_columns(file, ask_text=answer)  # type: ignore[arg-type]
    assert asked == [["decimal"]]
    assert proposal.column_map.text.decimal == ","
    assert {table.sheet for table in proposal.column_map.tables} == {"*"}


def test_an_entry_that_is_none_is_said(tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text('format = "batchcal.columns/1"\n[csv]\ncomma = ","\n', encoding="utf-8")
    with pytest.raises(UsageError, match="there is no entry 'comma'"):
        read_map(bad)


@pytest.mark.parametrize(
    ("told", "written", "day"),
    [
        ("d.m.y", "14.10.2026", dt.date(2026, 10, 14)), ("d/m/y", "3/10/2026", dt.date(2026, 10, 3)),
        ("m/d/y", "10/03/2026", dt.date(2026, 10, 3)), ("d-m-y", "03-10-2026", dt.date(2026, 10, 3)),
    ],
)  # fmt: skip
def test_dates_are_read_as_the_map_tells_and_not_without(tmp_path: Path, told: str, written: str, day: dt.date) -> None:
    file = tmp_path / "Monday.csv"
    file.write_bytes(table(",", ";").replace(b"2026-10-14", written.encode()))
    saved = saved_map(file)
    untold = check_workbook(file, columns=saved)
    assert "date-unreadable" in {finding.code for finding in untold.findings}
    text = saved.read_text(encoding="utf-8")
    assert text.count('# date = ""') == 1
    saved.write_text(text.replace('# date = ""', f'date = "{told}"'), encoding="utf-8")
    read = check_workbook(file, columns=saved)
    assert {firing.row.date for firing in read.firings} == {day}
    assert "date-unreadable" not in {finding.code for finding in read.findings}
    # A new map made with this one keeps it.
    assert f'\ndate = "{told}"' in saved_map(file, "--columns", str(saved)).read_text(encoding="utf-8")


@pytest.mark.parametrize("written", ["31.02.2026", "14/10/2026", "14.10.26", "14.10", "1.2026"])
def test_a_date_that_does_not_stand_as_told_is_never_guessed(tmp_path: Path, written: str) -> None:
    file = tmp_path / "Monday.csv"
    file.write_bytes(table(".", ";").replace(b"2026-10-14", written.encode(), 1))
    saved = saved_map(file)
    saved.write_text(saved.read_text(encoding="utf-8").replace('# date = ""', 'date = "d.m.y"'), encoding="utf-8")
    read = check_workbook(file, columns=saved)
    assert [finding.cell for finding in read.findings if finding.severity.stops and finding.cell == "B2"] != []


def test_a_way_of_dates_that_is_not_known_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "Monday.csv"
    file.write_bytes(table())
    saved = saved_map(file)
    saved.write_text(saved.read_text(encoding="utf-8").replace('# date = ""', 'date = "y"'), encoding="utf-8")
    with pytest.raises(UsageError, match=r"csv: date is one of d\.m\.y, d/m/y, m/d/y, d-m-y, not 'y'"):
        check_workbook(file, columns=saved)


def test_more_columns_than_a_sheet_can_have_are_refused_in_words(tmp_path: Path) -> None:
    file = tmp_path / "wide.csv"
    file.write_text(";".join(f"h{number}" for number in range(20_000)) + "\n" + ";".join(["1.5"] * 20_000) + "\n")
    with pytest.raises(WorkbookError, match="line 1 is beyond what any log needs"):
        propose_columns(file)
