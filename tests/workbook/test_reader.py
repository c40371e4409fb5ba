"""Reading: by heading, with units, and for every doubtful cell a finding that says where, what and the remedy."""

import datetime as dt
import io
import re
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from logbook import FIRING_HEADINGS, Log, codes, firing, plain_log, run, sample

from batchcal.errors import WorkbookError
from batchcal.findings import Severity
from batchcal.terms import Decision, FiringState
from batchcal.workbook import cells
from batchcal.workbook.cells import CellKind, Trouble
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import open_source


@pytest.mark.parametrize(
    ("value", "code", "read"),
    [
        ("2.5", "number-as-text", "2.5"),
        (" 2.5 ", "number-as-text", "2.5"),
        ("２.５", "number-as-text", "２.５"),
        ("1e3", "number-as-text", "1e3"),
        ("2,5", "decimal-comma", "2,5"),
        ("1.234,5", "decimal-comma", "1.234,5"),
        ("2.5 K", "stray-unit", "2.5 K"),
        ("2.5K", "stray-unit", "2.5K"),
        ("~2.5", "text-in-number", "~2.5"),
        ("nan", "text-in-number", "nan"),
        ("1_000", "stray-unit", "1_000"),
        ("-", "text-in-number", "-"),
        (True, "yes-no-in-number", "TRUE"),
        (dt.date(2026, 5, 2), "date-in-number", "2026-05-02"),
        (dt.time(2, 30), "date-in-number", "02:30:00"),
        ("#DIV/0!", "error-cell", "#DIV/0!"),
        ("#N/A", "error-cell", "#N/A"),
        ("=1.5+1", "formula-without-value", ""),
    ],
)
def test_a_doubtful_number_is_never_computed_with(tmp_path: Path, value: object, code: str, read: str) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Runs"][0]["Temperature rise (K)"] = value
    evaluation = run(log, tmp_path)
    (finding,) = [f for f in evaluation.findings if f.severity is Severity.BLOCK]
    assert (finding.code, finding.sheet, finding.cell, finding.row) == (code, "Runs", "AB2", 2)
    assert read in finding.message
    assert finding.remedy
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED
    assert firing(evaluation, 1).gross_ad_J_per_g is None
    assert sample(evaluation).decision is Decision.HOLD


def test_the_same_cell_in_a_column_that_is_not_computed_with_is_for_review(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Runs"][0]["Water in bomb (mL)"] = "1,0"
    evaluation = run(log, tmp_path)
    assert "decimal-comma" in codes(evaluation)
    assert evaluation.all_ready


@pytest.mark.parametrize(
    ("heading", "value", "code"),
    [
        ("Sample no.", dt.date(2026, 2, 5), "identifier-as-date"),
        ("Sample no.", 5.2, "identifier-unreadable"),
        ("Sample no.", 1.2e17, "identifier-unreadable"),
        ("Sample no.", True, "identifier-unreadable"),
        ("Purpose", "smaple", "word-not-in-list"),
        ("Outcome", "fine", "word-not-in-list"),
        ("Use", "no", "word-not-in-list"),
        ("Date", "14.10.2026", "date-unreadable"),
        ("Date", 46309, "date-unreadable"),
        ("Firing no.", dt.date(2026, 2, 5), "identifier-as-date"),
    ],
)
def test_a_doubtful_word_or_name_stops_its_row(tmp_path: Path, heading: str, value: object, code: str) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Runs"][0][heading] = value
    evaluation = run(log, tmp_path)
    finding = next(f for f in evaluation.findings if f.code == code)
    assert (finding.sheet, finding.row) == ("Runs", 2)
    assert evaluation.firings[0].state is FiringState.NOT_COMPUTED
    assert not evaluation.all_ready


@pytest.mark.parametrize("written", ["GOOD", " good ", "Good"])
def test_words_are_taken_whatever_their_case(tmp_path: Path, written: str) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Runs"][0] |= {"Outcome": written, "Date": "2026-10-14"}
    assert run(log, tmp_path).all_ready


def test_a_whole_number_stands_for_its_digits(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Runs"][0]["Sample no."] = 71
    log.rows["Runs"][1]["Sample no."] = "71"
    log.rows["Samples"][0]["Sample no."] = 71
    evaluation = run(log, tmp_path)
    assert [result.sample for result in evaluation.samples] == ["71"]
    assert evaluation.all_ready


@pytest.mark.parametrize(("above", "found"), [(0, True), (29, True), (30, False)])
def test_the_heading_row_may_stand_anywhere_in_the_first_30(tmp_path: Path, above: int, found: bool) -> None:
    log = plain_log(2.5, 2.5)
    log.skip_rows = above
    if found:
        evaluation = run(log, tmp_path)
        assert evaluation.all_ready
        assert firing(evaluation, 1).row.place.row == above + 2
    else:
        with pytest.raises(WorkbookError, match="first 30 rows"):
            run(log, tmp_path)


@pytest.mark.parametrize(
    ("written", "value", "field", "inside"),
    [
        ("Sample mass (mg)", 1000, "mass_g", 1.0),
        ("SAMPLE  MASS [mg]", 1000, "mass_g", 1.0),
        ("Wire fitted (mm)", 100, "wire_fitted_cm", 10.0),
        ("Temperature rise (°C)", 2.5, "rise_K", 2.5),
        ("Temperature rise", 2.5, "rise_K", 2.5),
        ("Initial temperature (K)", 295.15, "initial_C", 22.0),
        ("Oxygen pressure (bar)", 30, "oxygen_pressure_MPa", 3.0),
        ("Oxygen pressure (kgf/cm²)", 30, "oxygen_pressure_MPa", 2.941995),
        ("Oxygen pressure (atm)", 30, "oxygen_pressure_MPa", 3.03975),
        ("Wire mass (g)", 0.012, "wire_mass_g", 0.012),
        ("Thread (mg)", 3, "thread_g", 0.003),
    ],
)
def test_units_in_headings(tmp_path: Path, written: str, value: float, field: str, inside: float) -> None:
    log = plain_log(2.5, 2.5)
    plain_name = " ".join(re.split(r"[(\[]", written)[0].split()).casefold()
    heading = next(name for name in FIRING_HEADINGS if name.partition(" (")[0].casefold() == plain_name)
    log.headings["Runs"] = [written if name == heading else name for name in log.headings["Runs"]]
    for row in log.rows["Runs"]:
        row.pop(heading, None)
    log.rows["Runs"][0][written] = value
    assert getattr(run(log, tmp_path).batch.firings[0], field) == pytest.approx(inside, rel=1e-12)


@pytest.mark.parametrize("written", ["Sample mass (lb)", "Sample mass (oz)", "Sample mass"])
def test_a_unit_that_is_not_known_stops_every_row_of_the_column(tmp_path: Path, written: str) -> None:
    log = plain_log(2.5, 2.5)
    if written == "Sample mass (lb)":  # a pound is a unit of mass, so it is read
        log.headings["Runs"][15] = written
        for row in log.rows["Runs"]:
            row[written] = row.pop("Sample mass (g)") / 453.59237
        assert run(log, tmp_path).all_ready
        return
    log.headings["Runs"][15] = written
    for row in log.rows["Runs"]:
        row[written] = row.pop("Sample mass (g)")
    evaluation = run(log, tmp_path)
    finding = next(f for f in evaluation.findings if f.code == "heading-unit-unknown")
    assert finding.cell == "P1"
    assert all(result.state is FiringState.NOT_COMPUTED for result in evaluation.firings)
    assert sample(evaluation).decision is Decision.HOLD


def test_two_columns_with_one_meaning_are_not_guessed_at(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.headings["Runs"].append("Sample mass (mg)")
    log.rows["Runs"][0]["Sample mass (mg)"] = 1000
    evaluation = run(log, tmp_path)
    assert "heading-twice" in codes(evaluation)
    assert firing(evaluation, 1).gross_ad_J_per_g is None


def test_columns_of_the_lab_s_own_are_said_and_left_alone(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.headings["Runs"].append("Weather")
    log.rows["Runs"][0]["Weather"] = "rain"
    finding = next(f for f in run(log, tmp_path).findings if f.code == "column-not-read")
    assert "Weather" in finding.message
    assert finding.severity is Severity.NOTE


@pytest.mark.parametrize(
    ("missing", "says"),
    [
        (["Firing no."], "'Firing no.'"),
        (["Sample no."], "'Sample no.'"),
        (["Sample mass (g)", "Crucible (g)"], "'Sample mass (g)' or 'Crucible (g)' with 'Crucible + sample (g)'"),
        (["Temperature rise (K)", "Final temperature (°C)"], "'Temperature rise (K)'"),
    ],
)
def test_a_needed_heading_that_is_absent_stops_the_workbook(tmp_path: Path, missing: list[str], says: str) -> None:
    log = plain_log(2.5, 2.5)
    log.headings["Runs"] = [heading for heading in log.headings["Runs"] if heading not in missing]
    for row in log.rows["Runs"]:
        for heading in missing:
            row.pop(heading, None)
    with pytest.raises(WorkbookError) as caught:
        run(log, tmp_path)
    assert says in str(caught.value)


def test_firing_numbers(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5, 2.5)
    log.rows["Runs"][1]["Firing no."] = 1
    del log.rows["Runs"][2]["Firing no."]
    evaluation = run(log, tmp_path)
    assert codes(evaluation).count("firing-number-twice") == 2
    assert "firing-number-missing" in codes(evaluation)
    assert all(result.state is FiringState.NOT_COMPUTED for result in evaluation.firings)


def test_a_titration_for_no_firing_and_one_too_many(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.setup |= {"Acid scheme": ("total as nitric",), "Nitric acid heat": (60, "kJ/mol"),
                  "Sulphuric acid heat": (300, "kJ/mol")}  # fmt: skip
    log.rows["Samples"][0] |= {"Sulphur (%)": 0}
    for number in (1, 2, 2, 9):
        log.add("Titration", firing_no=number, titrant="sodium hydroxide", concentration=0.1,
                concentration_unit="eq/L", titre=5)  # fmt: skip
    evaluation = run(log, tmp_path)
    orphan = next(f for f in evaluation.findings if f.code == "titration-without-firing")
    assert (orphan.sheet, orphan.cell) == ("Titration", "A5")
    assert "titration-twice" in codes(evaluation)
    assert firing(evaluation, 1).gross_ad_J_per_g is not None
    assert firing(evaluation, 2).gross_ad_J_per_g is None


def test_setup_rows(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Repeatablity limit"] = (100, "J/g")
    finding = next(f for f in run(log, tmp_path).findings if f.code == "setup-item-unknown")
    assert "Repeatability limit" in finding.message
    path = log.save(tmp_path)
    book = openpyxl.load_workbook(path)
    book["Setup"].append(["Acid scheme", "fixed"])
    book.save(path)
    from batchcal.evaluate import evaluate

    evaluation = evaluate(read_workbook(open_source(path)))
    assert "setup-item-twice" in codes(evaluation)
    assert firing(evaluation, 1).gross_ad_J_per_g is None


@pytest.mark.parametrize(
    ("item", "entry", "code"),
    [
        ("Repeatability limit", ("120 J/g",), "stray-unit"),
        ("Repeatability limit", ("about 120",), "setup-text-unfit"),
        ("Repeatability limit", (120,), "setup-unit-unknown"),
        ("Repeatability limit", (-120, "J/g"), "setup-number-unfit"),
        ("Repeatability limit", (0, "J/g"), "setup-number-unfit"),
        ("Repeatability limit", (True, "J/g"), "yes-no-in-number"),
        ("Comparison basis", ("daf",), "setup-text-unfit"),
        ("Bases required", ("ad, wet",), "setup-text-unfit"),
        ("Report unit", ("stone",), "setup-text-unfit"),
        ("Report unit", ("kcal/kg",), "calorie-missing"),
        ("Acid scheme", ("whatever",), "setup-text-unfit"),
        ("Method", ("iso-9999",), "method-unknown"),
        ("Calorie", (3.9,), "setup-number-unfit"),
        ("Calorie", ("imperial",), "setup-text-unfit"),
        ("Batch date", ("yesterday",), "date-unreadable"),
        ("Benzoic acid heat of combustion", (6318, "J/g"), "setup-number-unfit"),
    ],
)
def test_a_setting_that_cannot_be_trusted_is_not_used(
    tmp_path: Path, item: str, entry: tuple[Any, ...], code: str
) -> None:
    log = plain_log(2.5, 2.5)
    log.setup[item] = entry
    evaluation = run(log, tmp_path)
    finding = next(f for f in evaluation.findings if f.code == code)
    assert finding.sheet == "Setup"
    assert finding.cell is not None
    assert sample(evaluation).decision is Decision.HOLD


def test_a_far_cell_costs_nothing_and_changes_nothing(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    before = run(log, tmp_path)
    path = log.save(tmp_path)
    book = openpyxl.load_workbook(path)
    book["Runs"]["XFD1048576"] = "stray"
    book.save(path)
    from batchcal.evaluate import evaluate

    source = open_source(path)
    runs = next(grid for grid in source.grids if grid.title == "Runs")
    assert (runs.last_row, runs.last_column, runs.cell(1_048_576, 16_384).value) == (1_048_576, 16_384, "stray")
    after = evaluate(read_workbook(source))
    assert [result.gross_ad_J_per_g for result in after.firings] == [
        result.gross_ad_J_per_g for result in before.firings
    ]
    assert codes(after) == codes(before)


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=12))
def test_text_is_never_taken_for_a_number(text: str) -> None:
    cell = cells.Cell(CellKind.TEXT, text)
    assert isinstance(cells.as_number(cell), Trouble)


def test_nothing_that_was_read_is_written(tmp_path: Path) -> None:
    log: Log = plain_log(2.5, 2.5)
    path = log.save(tmp_path)
    before = path.read_bytes()
    run(log, tmp_path)
    assert openpyxl.load_workbook(io.BytesIO(before)).sheetnames == openpyxl.load_workbook(path).sheetnames


@pytest.mark.parametrize("name", ["Equipment", "Amendments"])
def test_a_sheet_of_the_labs_own_with_a_common_name_is_left_alone(tmp_path: Path, name: str) -> None:
    log = plain_log(2.5, 2.501)
    log.headings[name] = ["Item", "Bought"]
    log.rows[name] = [{"Item": "stirrer", "Bought": 2019}]
    batch = run(log, tmp_path).batch
    assert [finding.sheet for finding in batch.findings if finding.code == "sheet-not-read"] == [name]
    assert not batch.amendments


def test_sheets_of_the_labs_own_are_shown_the_way(tmp_path: Path) -> None:
    """Where no sheet is one of ours, the way on is a map; where one is, the missing sheet is the matter."""
    book = openpyxl.Workbook()
    book.worksheets[0].title = "Protocol"
    book.worksheets[0].append(["Sample", "Mass"])
    path = tmp_path / "own.xlsx"
    book.save(path)
    with pytest.raises(WorkbookError, match=r"no sheet Setup .*batchcal columns own\.xlsx --save MAP\.toml"):
        read_workbook(open_source(path))
    book.create_sheet("Samples").append(["Sample no."])
    book.save(path)
    with pytest.raises(WorkbookError, match=r"present: Protocol, Samples\)$"):
        read_workbook(open_source(path))
