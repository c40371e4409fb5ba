"""The blank workbook: complete, lists where lists are closed, and readable by the reader once it is filled."""

import io
import subprocess
from pathlib import Path

import openpyxl
import pytest
from logbook import (
    AMENDMENT_HEADINGS,
    EQUIPMENT_HEADINGS,
    FIRING_HEADINGS,
    SAMPLE_HEADINGS,
    SETUP_HEADINGS,
    TITRATION_HEADINGS,
)
from programs import program

from batchcal.workbook.blank import blank_workbook

SHEETS = {
    "Setup": SETUP_HEADINGS,
    "Calibration": FIRING_HEADINGS,
    "Runs": FIRING_HEADINGS,
    "Titration": TITRATION_HEADINGS,
    "Samples": SAMPLE_HEADINGS,
    "Readings": ["Firing no.", "Time (min)", "Temperature (°C)", "Period"],
    "Titrant": [
        "Titrant",
        "Standardised on",
        "Primary standard",
        "Portion (g)",
        "Molar mass",
        "Equivalents per mole",
        "Titre (mL)",
        "Blank (mL)",
    ],
    "Equipment": EQUIPMENT_HEADINGS,
    "Amendments": AMENDMENT_HEADINGS,
}


@pytest.fixture(scope="module")
def book() -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(blank_workbook()))


def test_sheets_stand_in_the_order_of_work_after_a_first_that_explains(book: openpyxl.Workbook) -> None:
    assert book.sheetnames[1:] == list(SHEETS)
    words = " ".join(str(cell.value) for row in book.worksheets[0].iter_rows() for cell in row if cell.value)
    for word in ("oxygen", "instructions", "trained"):
        assert word in words.lower()


@pytest.mark.parametrize("name", SHEETS)
def test_headings_are_the_contract_s_and_each_has_a_note(book: openpyxl.Workbook, name: str) -> None:
    heading = next(
        row for row in book[name].iter_rows(max_row=30) if set(SHEETS[name][:2]) <= {cell.value for cell in row}
    )
    assert [cell.value for cell in heading if cell.value is not None] == SHEETS[name]
    if name != "Setup":
        assert all(cell.comment is not None for cell in heading if cell.value is not None)
    assert book[name].freeze_panes is not None


def test_closed_lists_are_offered(book: openpyxl.Workbook) -> None:
    lists = [rule.formula1 for rule in book["Runs"].data_validations.dataValidation if rule.type == "list"]
    assert '"calibration,check,aid,sample,trial"' in lists
    assert '"good,misfire,incomplete,leak,spoiled,lost"' in lists


def test_ids_are_text(book: openpyxl.Workbook) -> None:
    sheet = book["Runs"]
    heading = next(cell for row in sheet.iter_rows(max_row=30) for cell in row if cell.value == "Sample no.")
    assert heading.offset(row=1).number_format == "@"


def test_the_same_every_time() -> None:
    assert blank_workbook() == blank_workbook()


def test_another_program_opens_it(tmp_path: Path) -> None:
    office = program("soffice")
    path = tmp_path / "blank.xlsx"
    path.write_bytes(blank_workbook())
    subprocess.run(
        [office, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to", "pdf",
         "--outdir", str(tmp_path), str(path)],
        check=True, capture_output=True,
    )  # fmt: skip
    assert (tmp_path / "blank.pdf").stat().st_size > 10_000
