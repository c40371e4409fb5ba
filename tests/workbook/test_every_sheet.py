"""Doubtful cells on every sheet, headings in any order, units and bases in headings; values worked by hand."""

import datetime as dt
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from logbook import SAMPLE_HEADINGS, TITRATION_HEADINGS, Log, codes, firing, plain_log, run, sample

from batchcal.evaluate import evaluate
from batchcal.findings import Severity
from batchcal.model import Evaluation
from batchcal.terms import Decision, FiringState
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import open_source

DOUBTFUL = [
    ("8.0", "number-as-text"),
    ("8,0", "decimal-comma"),
    ("8.0 mL", "stray-unit"),
    ("about 8", "text-in-number"),
    ("#REF!", "error-cell"),
    (dt.datetime(2026, 8, 1), "date-in-number"),
    (True, "yes-no-in-number"),
    (False, "yes-no-in-number"),
    ("=4+4", "formula-without-value"),
]


def acid_log() -> Log:
    """C = 10 000 J/K, 60 J, 1 g; 8 mL of 0.1 eq/L and 1 % of sulphur as analysed."""
    log = plain_log(2.5, 2.5)
    log.setup |= {
        "Acid scheme": ("total as nitric",),
        "Nitric acid heat": (60, "kJ/mol", "own"),
        "Sulphuric acid heat": (300, "kJ/mol", "own"),
    }
    log.rows["Samples"][0] |= {"Sulphur (%)": 1.0, "Basis": "ad"}
    for number in (1, 2):
        log.add(
            "Titration", firing_no=number, titrant="sodium hydroxide", concentration=0.1,
            concentration_unit="eq/L", titre=8.0,
        )  # fmt: skip
    return log


def blocking(evaluation: Evaluation) -> list[tuple[str, str | None, str | None]]:
    return [(f.code, f.sheet, f.cell) for f in evaluation.findings if f.severity is Severity.BLOCK]


@pytest.mark.parametrize(("value", "code"), DOUBTFUL)
def test_a_doubtful_titre(tmp_path: Path, value: object, code: str) -> None:
    log = acid_log()
    log.rows["Titration"][0]["Titre (mL)"] = value
    evaluation = run(log, tmp_path)
    assert (code, "Titration", "G2") in blocking(evaluation)
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED
    assert firing(evaluation, 2).gross_ad_J_per_g is not None
    assert sample(evaluation).decision is Decision.HOLD


@pytest.mark.parametrize(("value", "code"), DOUBTFUL)
def test_a_doubtful_sulphur(tmp_path: Path, value: object, code: str) -> None:
    log = acid_log()
    log.rows["Samples"][0]["Sulphur (%)"] = value
    evaluation = run(log, tmp_path)
    assert (code, "Samples", "H2") in blocking(evaluation)
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED
    assert sample(evaluation).decision is Decision.HOLD


@pytest.mark.parametrize(("value", "code"), DOUBTFUL)
def test_a_doubtful_heat_of_benzoic_acid(tmp_path: Path, value: object, code: str) -> None:
    log = plain_log(2.5, 2.5)
    del log.setup["Effective heat capacity"]
    log.setup |= {"Benzoic acid heat of combustion": (value, "J/g", "certificate"), "Benzoic acid mass basis": ("air",)}
    log.add("Calibration", firing_no=101, date=dt.date(2026, 10, 1), sample_mass=1.0, temperature_rise=2.65)
    evaluation = run(log, tmp_path)
    # Setup: heading in row 1, then the items in their order; the benzoic heat is the last but one.
    cell = f"B{len(log.setup)}"
    assert any(found[1:] == ("Setup", cell) for found in blocking(evaluation)), blocking(evaluation)
    assert firing(evaluation, 101).heat_capacity_J_per_K is None
    assert firing(evaluation, 1).gross_ad_J_per_g is None
    assert sample(evaluation).decision is Decision.HOLD


@pytest.mark.parametrize(("value", "code"), DOUBTFUL)
def test_a_doubtful_calibration_mass(tmp_path: Path, value: object, code: str) -> None:
    log = plain_log(2.5, 2.5)
    del log.setup["Effective heat capacity"]
    log.setup |= {"Benzoic acid heat of combustion": (26454, "J/g", "certificate"), "Benzoic acid mass basis": ("air",)}
    log.setup |= {"Series minimum": (1, None, "own"), "Series relative SD limit": (1, "%", "own")}
    for number, mass in ((101, 1.0), (102, 1.0), (103, value)):
        log.add("Calibration", firing_no=number, date=dt.date(2026, 10, 1), sample_mass=mass, temperature_rise=2.65)
    evaluation = run(log, tmp_path)
    assert (code, "Calibration", "P4") in blocking(evaluation)
    assert firing(evaluation, 103).state is FiringState.NOT_COMPUTED
    assert sample(evaluation).decision is Decision.HOLD


@pytest.mark.parametrize("heading", ["Crucible (g)", "Heat-exchange correction (K)", "Thread (mg)", "Aid mass (g)"])
def test_a_doubtful_optional_cell_is_not_taken_for_a_blank(tmp_path: Path, heading: str) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Runs"][0][heading] = "0,0"
    evaluation = run(log, tmp_path)
    assert "decimal-comma" in codes(evaluation)
    assert firing(evaluation, 1).gross_ad_J_per_g is None


@pytest.mark.parametrize("blank", ["", " ", "\u00a0", "\t"])
def test_spaces_are_a_blank(tmp_path: Path, blank: str) -> None:
    log = plain_log(2.5, 2.505)
    log.rows["Runs"][0] |= {"Crucible (g)": blank, "Outcome": blank, "Reason": blank, "Aid": blank}
    assert run(log, tmp_path).all_ready


def test_headings_in_any_order_and_case_on_every_sheet(tmp_path: Path) -> None:
    straight = firing(run(acid_log(), tmp_path), 1).gross_ad_J_per_g
    # 25 000 - 60 - 48 - (10 / 32.06) x 180
    assert straight == pytest.approx(24892 - 1800 / 32.06, rel=1e-12)
    log = acid_log()
    for name, headings in log.headings.items():
        log.headings[name] = [heading.upper() for heading in reversed(headings)]
        log.rows[name] = [{key.upper(): value for key, value in row.items()} for row in log.rows.get(name, [])]
    del log.rows["Calibration"]
    assert firing(run(log, tmp_path), 1).gross_ad_J_per_g == straight


def _swap(log: Log, sheet: str, old: str, new: str, factor: float = 1.0) -> Log:
    log.headings[sheet] = [new if heading == old else heading for heading in log.headings[sheet]]
    for row in log.rows[sheet]:
        if old in row:
            row[new] = row.pop(old) * factor
    return log


@pytest.mark.parametrize(
    ("sheet", "old", "new"),
    [
        ("Runs", "Temperature rise (K)", "Temperature rise (°F)"),
        ("Runs", "Sample mass (g)", "Sample mass (mL)"),
        ("Titration", "Titre (mL)", "Titre (drops)"),
        ("Samples", "Sulphur (%)", "Sulphur (g)"),
    ],
)
def test_a_unit_that_is_not_read_is_a_finding_at_the_heading(tmp_path: Path, sheet: str, old: str, new: str) -> None:
    log = _swap(acid_log(), sheet, old, new)
    evaluation = run(log, tmp_path)
    found = next(f for f in evaluation.findings if f.code == "heading-unit-unknown")
    assert (found.sheet, found.row) == (sheet, 1)
    assert new in found.message
    assert firing(evaluation, 1).gross_ad_J_per_g is None
    assert sample(evaluation).decision is not Decision.READY


@pytest.mark.parametrize(
    ("new", "factor"), [("Titre (cm³)", 1.0), ("Titre [mL]", 1.0), ("Titre, mL", 1.0), ("Titre", 1.0)]
)
def test_a_heading_close_to_the_contract_is_read_right_or_not_at_all(tmp_path: Path, new: str, factor: float) -> None:
    evaluation = run(_swap(acid_log(), "Titration", "Titre (mL)", new, factor), tmp_path)
    assert firing(evaluation, 1).nitric_J in (None, pytest.approx(48, rel=1e-12))


def test_two_columns_of_one_content_on_two_bases_are_not_guessed_at(tmp_path: Path) -> None:
    log = acid_log()
    log.headings["Samples"] = [*SAMPLE_HEADINGS, "Sulphur, d (%)"]
    log.rows["Samples"][0]["Sulphur, d (%)"] = 1.04
    evaluation = run(log, tmp_path)
    assert "heading-twice" in codes(evaluation)
    assert firing(evaluation, 1).gross_ad_J_per_g is None


def test_a_basis_in_the_heading_goes_before_the_row_s(tmp_path: Path) -> None:
    log = _swap(acid_log(), "Samples", "Sulphur (%)", "Sulphur, d (%)")
    # the Basis column says ad; the heading says its own: 0.96 % as analysed
    assert firing(run(log, tmp_path), 1).sulphuric_J == pytest.approx(0.96 * 1800 / 32.06, rel=1e-12)


def with_extra(log: Log, folder: Path, sheet: str, *rows: list[Any]) -> Evaluation:
    path = log.save(folder)
    book = openpyxl.load_workbook(path)
    for row in rows:
        book[sheet].append(row)
    book.save(path)
    return evaluate(read_workbook(open_source(path)))


@pytest.mark.parametrize("item", ["Effective heat capacity", "effective  heat capacity"])
def test_a_repeated_item_is_not_used(tmp_path: Path, item: str) -> None:
    row = [item, 10500, "J/K", "own", dt.date(2026, 10, 2)]
    evaluation = with_extra(plain_log(2.5, 2.5), tmp_path, "Setup", row)
    assert "setup-item-twice" in codes(evaluation)
    assert firing(evaluation, 1).gross_ad_J_per_g is None
    assert sample(evaluation).decision is Decision.HOLD


def test_the_same_name_in_brackets_is_a_repeat(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Aid heat [oil]"] = (46000, "J/g", "own")
    evaluation = with_extra(log, tmp_path, "Setup", ["Aid heat [Oil]", 45000, "J/g", "own"])
    assert "setup-item-twice" in codes(evaluation)


def test_one_number_on_two_sheets_is_twice(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.add("Calibration", firing_no="2", date=dt.date(2026, 10, 1), sample_mass=1.0, temperature_rise=2.65)
    evaluation = run(log, tmp_path)
    twice = [(f.sheet, f.cell) for f in evaluation.findings if f.code == "firing-number-twice"]
    assert sorted(twice) == [("Calibration", "A2"), ("Runs", "A3")]
    assert firing(evaluation, 2).state is FiringState.NOT_COMPUTED


def test_a_titration_without_a_number_is_said(tmp_path: Path) -> None:
    log = acid_log()
    row = dict(zip(TITRATION_HEADINGS, [None, "sodium hydroxide", 0.1, "eq/L"], strict=False))
    log.rows["Titration"].append(row | {"Titre (mL)": 8.0})
    found = [f for f in run(log, tmp_path).findings if f.sheet == "Titration"]
    assert any(f.row == 4 for f in found)


def test_empty_rows_between_are_no_firings(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.505)
    log.rows["Runs"].insert(1, {})
    log.rows["Runs"].append({"Remark": " "})
    evaluation = run(log, tmp_path)
    assert [result.row.place.row for result in evaluation.firings] == [2, 4]
    assert evaluation.all_ready
