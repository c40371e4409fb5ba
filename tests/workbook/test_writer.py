"""The results workbook: the lab's sheets as they were, the added ones beside them, and nothing lost in silence."""

import io
import subprocess
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from logbook import Log, plain_log
from made import results_of
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet
from programs import program

from batchcal.workbook.styles import in_footer

EXAMPLES = Path(__file__).parent.parent.parent / "example_workbooks"


def book(data: bytes) -> Any:
    return openpyxl.load_workbook(io.BytesIO(data))


def cells(sheet: Worksheet, columns: int) -> list[list[object]]:
    return [list(row) for row in sheet.iter_rows(max_col=columns, values_only=True)]


@pytest.mark.parametrize("name", ["clean_day", "difficult_day", "typing_slips_day", "simple_bench_day"])
def test_every_cell_of_the_lab_stays_as_it_was(name: str) -> None:
    path = EXAMPLES / f"{name}.xlsx"
    before = openpyxl.load_workbook(path)
    after = book(results_of(path))
    assert after.sheetnames[: len(before.sheetnames)] == before.sheetnames
    assert after.sheetnames[len(before.sheetnames) :] == ["Results", "Findings", "Working", "Record"]
    for sheet in before.worksheets:
        columns = sheet.max_column
        assert cells(after[sheet.title], columns)[: sheet.max_row] == cells(sheet, columns), sheet.title


def test_computed_columns_stand_at_the_right_of_their_firing(tmp_path: Path) -> None:
    path = plain_log(2.5, 2.505).save(tmp_path)
    sheet = book(results_of(path))["Runs"]
    headings = {cell.value: cell.column for cell in sheet[1] if cell.value}
    assert headings["Gross, as analysed (J/g)"] > headings["Remark"]
    # (10 000 x 2.5 - 60) / 1 = 24 940 and (10 000 x 2.505 - 60) / 1 = 24 990; with 4 % moisture / 0.96
    assert sheet.cell(2, headings["Gross, as analysed (J/g)"]).value == pytest.approx(24940, rel=1e-15)
    assert sheet.cell(3, headings["Gross, as analysed (J/g)"]).value == pytest.approx(24990, rel=1e-15)
    assert sheet.cell(2, headings["Gross, dry (J/g)"]).value == pytest.approx(24940 / 0.96, rel=1e-15)
    assert sheet.cell(2, headings["State"]).value == "used"
    letter = sheet.cell(1, headings["Mass (g)"]).column_letter
    assert sheet.column_dimensions[letter].outlineLevel == 1


def test_results_are_rounded_once_and_the_unrounded_stand_beside(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.505)
    log.setup["Report unit"] = ("MJ/kg",)
    log.setup["Report rounding"] = (0.01,)
    sheet = book(results_of(log.save(tmp_path)))["Results"]
    row = next(row for row in sheet.iter_rows() if row[0].value == "S1")
    heading = next(row for row in sheet.iter_rows() if row[0].value == "Sample no.")
    by_heading = {cell.value: value for cell, value in zip(heading, row, strict=True)}
    # mean 24 965 J/g is 24.965 MJ/kg, half-way: to the even 24.96; dry 24 965 / 0.96 = 26 005.2 J/g is 26.01
    assert by_heading["Gross, as analysed (MJ/kg)"].value == 24.96
    assert by_heading["Gross, dry (MJ/kg)"].value == 26.01
    assert by_heading["Gross, as analysed, unrounded (J/g)"].value == pytest.approx(24965, rel=1e-15)
    assert by_heading["Decision"].value.endswith("ready")
    assert by_heading["Net, dry (MJ/kg)"].value is None
    assert "not computed: no hydrogen" in by_heading["Net rests on"].value


def test_findings_lead_to_their_cells(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.505)
    log.rows["Runs"][1]["Temperature rise (K)"] = "2,505"
    sheet = book(results_of(log.save(tmp_path)))["Findings"]
    row = next(row for row in sheet.iter_rows() if row[1].value == "decimal-comma")
    assert "Runs" in row[2].hyperlink.location
    assert "AB3" in row[2].hyperlink.location


def test_text_that_looks_like_a_formula_stays_text(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.505, sample="=1+1")
    log.rows["Samples"][0]["Description"] = '=HYPERLINK("x")'
    path = log.save(tmp_path)
    source = openpyxl.load_workbook(path)
    for name, column in (("Runs", 6), ("Samples", 1), ("Samples", 2)):
        for row in source[name].iter_rows(min_row=2, min_col=column, max_col=column):
            row[0].data_type = "s"  # typed as text in the lab's workbook
    source.save(path)
    for sheet in book(results_of(path)).worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    assert sheet.title == "Working", (sheet.title, cell.coordinate, cell.value)
                    assert not str(cell.value).startswith(("=1+1", "=HYPERLINK")), cell.coordinate


def test_a_sheet_of_the_lab_named_results_is_left_alone(tmp_path: Path) -> None:
    path = plain_log(2.5, 2.505).save(tmp_path)
    source = openpyxl.load_workbook(path)
    source.create_sheet("Results").append(["the lab's own"])
    source.save(path)
    after = book(results_of(path))
    assert after["Results"]["A1"].value == "the lab's own"
    assert len(after.sheetnames) == len(source.sheetnames) + 4


def test_the_same_input_gives_the_same_bytes(tmp_path: Path) -> None:
    path = plain_log(2.5, 2.505).save(tmp_path)
    assert results_of(path) == results_of(path)


@pytest.mark.parametrize("name", ["difficult_day", "simple_bench_day"])
def test_another_program_opens_and_saves_it_with_every_sheet_and_figure(name: str, tmp_path: Path) -> None:
    office = program("soffice")
    path = tmp_path / f"{name}.results.xlsx"
    path.write_bytes(results_of(EXAMPLES / f"{name}.xlsx"))
    subprocess.run(
        [office, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to", "xlsx",
         "--outdir", str(tmp_path / "saved"), str(path)],
        check=True, capture_output=True,
    )  # fmt: skip
    before, after = openpyxl.load_workbook(path), openpyxl.load_workbook(tmp_path / "saved" / path.name)
    assert after.sheetnames == before.sheetnames
    for title in ("Results", "Findings", "Record", "Runs"):
        numbers = [[c.value for c in row if isinstance(c.value, float)] for row in before[title].iter_rows()]
        again = [[c.value for c in row if isinstance(c.value, int | float)] for row in after[title].iter_rows()]
        flat, flat_again = [v for row in numbers for v in row], [v for row in again for v in row]
        for value in flat:
            assert any(value == pytest.approx(other, rel=1e-12) for other in flat_again), (title, value)


def test_hostile_texts_reach_the_workbook_as_text(tmp_path: Path) -> None:
    log = Log()
    log.setup = plain_log().setup | {"Laboratory": ("<b>&amp; {{ 7*7 }}",)}
    log.rows = plain_log(2.5, 2.505, sample="S<1>&").rows
    after = book(results_of(log.save(tmp_path)))
    values = [cell.value for row in after["Results"].iter_rows() for cell in row]
    assert "S<1>&" in values


def test_a_sheet_that_is_full_is_said_where_results_are_read(tmp_path: Path) -> None:
    path = plain_log(2.5, 2.505).save(tmp_path)
    source = openpyxl.load_workbook(path)
    source["Runs"]["XFD9"] = "the last cell of the row"
    source.save(path)
    after = book(results_of(path))
    for title in ("Results", "Record"):
        texts = [str(cell.value) for row in after[title].iter_rows(max_row=9, max_col=2) for cell in row]
        assert any("Sheet Runs reaches its last column" in text for text in texts), title
    assert after["Runs"].max_column == 16_384


def test_sheets_of_the_lab_print_as_they_did_and_added_ones_bear_the_day(tmp_path: Path) -> None:
    path = plain_log(2.5, 2.505).save(tmp_path)
    source = openpyxl.load_workbook(path)
    source["Samples"].print_area = "A1:B2"
    source.save(path)
    before, after = openpyxl.load_workbook(path), book(results_of(path))
    runs = before["Runs"]
    assert after["Runs"].print_area == f"'Runs'!$A$1:${get_column_letter(runs.max_column)}${runs.max_row}"
    assert after["Samples"].print_area == before["Samples"].print_area
    assert not after["Setup"].print_area
    for title in ("Results", "Findings", "Working", "Record"):
        footer = after[title].oddFooter
        assert footer.left.text.endswith(": &A")
        assert (footer.center.text, footer.right.text) == ("Draft", "page &P of &N")
        assert after[title].page_setup.paperSize == 9
    results = after["Results"]
    assert results.page_setup.fitToWidth == 2
    (heading,) = [cell.row for cell in results["A"] if cell.value == "Sample no."]
    assert (results.print_title_cols, results.print_title_rows) == ("$A:$A", f"${heading}:${heading}")
    assert results.auto_filter.ref == f"A{heading}:T{heading + 1}"
    assert results.column_dimensions["U"].outlineLevel == 1


def test_a_sign_of_the_footer_s_own_stays_a_sign_of_the_text() -> None:
    assert in_footer("Coal & coke\nB") == "Coal && coke B"
    assert in_footer("x" * 300) == "x" * 79 + "…"


def test_every_printed_page_of_the_added_sheets_is_worth_its_paper(tmp_path: Path) -> None:
    office, to_text = program("soffice"), program("pdftotext")
    path = tmp_path / "day.xlsx"
    path.write_bytes(results_of(EXAMPLES / "difficult_day.xlsx"))
    subprocess.run(
        [office, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to", "pdf",
         "--outdir", str(tmp_path), str(path)],
        check=True, capture_output=True,
    )  # fmt: skip
    text = subprocess.run([to_text, "-layout", str(path.with_suffix(".pdf")), "-"], check=True, capture_output=True)
    pages = text.stdout.decode().split("\f")
    added = [page for page in pages if any(f": {title}" in page for title in ("Results", "Findings", "Record"))]
    results = [page for page in added if ": Results" in page]
    assert len(results) == 2
    # Values stand on the one side, grounds on the other, each with the samples and its headings.
    for page, headings in zip(
        results, (("Decision", "Expanded"), ("Reason", "Next step", "Net rests on")), strict=True
    ):
        assert "Sample no." in page
        assert all(heading in page for heading in headings), headings
    assert all(len(page.split()) > 60 for page in added)
    # The computed columns of the lab's sheets are for the screen.
    assert "Reason of the state" not in text.stdout.decode()
