"""Formulas of the sheet Working as texts: they say what their values are, refer to cells that hold numbers, and last.

Outside: sums, products and brackets of a spreadsheet are written as in Python, whose own parser reads them here.
"""

import io
import re
import subprocess
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from logbook import Log, plain_log
from made import results_workbook
from openpyxl.worksheet.worksheet import Worksheet
from programs import program
from recalculation import row_of
from working_days import CASES, full, left_out, readings

from batchcal import units
from batchcal.process import check_workbook
from batchcal.workbook.conversions import of_unit
from batchcal.workbook.source import open_source
from batchcal.workbook.working import live
from batchcal.workbook.working.curves import AS_STATED
from batchcal.workbook.working.figures import Column
from batchcal.workbook.working.live import Live, Span, Spans

EXAMPLES = sorted((Path(__file__).parents[2] / "example_workbooks").glob("*.xlsx"))
FUNCTIONS = {
    "ABS", "AVERAGE", "COUNT", "IF", "INDEX", "ISNUMBER", "MAX", "MEDIAN", "MIN", "ROW", "SLOPE", "SMALL", "STDEV",
    "STEYX", "SUM", "SUMPRODUCT",
}  # fmt: skip
"""Known to every spreadsheet program for decades; none changes by itself as the time or a random number does."""

CELLS = {"c0": 2.5, "c1": 7.125, "c2": 0.375, "c3": -4.0}


def written(path: Path) -> bytes:
    source = open_source(path)
    columns = path.with_suffix(".toml")
    evaluation = check_workbook(path, columns=columns if columns.exists() else None)
    return results_workbook(source.data, evaluation)


def working(log: Log, folder: Path) -> Worksheet:
    sheet = openpyxl.load_workbook(io.BytesIO(written(log.save(folder))))["Working"]
    assert isinstance(sheet, Worksheet)
    return sheet


def formulas(sheet: Worksheet) -> list[str]:
    return [str(cell.value) for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]


@st.composite
def expressions(draw: Any) -> Live:
    """Any expression of the cells and of numbers."""
    parts = [Live(name, value) for name, value in CELLS.items()]
    parts += [live.live(draw(st.floats(-50, 50).map(lambda value: round(value, 3)))), live.live(100)]
    for _ in range(draw(st.integers(1, 8))):
        one, other = draw(st.sampled_from(parts)), draw(st.sampled_from(parts))
        way = draw(st.sampled_from("+-*/nf"))
        if way == "+":
            parts.append(one + other)
        elif way == "-":
            parts.append(one - other)
        elif way == "*":
            parts.append(one * other)
        elif way == "/" and abs(other.value) > 1e-3:
            parts.append(one / other)
        elif way == "n":
            parts.append(-one)
        else:
            parts.append(100 - one)
    return parts[-1]


@given(expressions())
def test_a_formula_says_what_its_value_is(expression: Live) -> None:
    found = eval(expression.text, {"__builtins__": {}}, CELLS)
    assert found == pytest.approx(expression.value, rel=1e-9, abs=1e-9)
    assert "--" not in expression.text
    assert "+-" not in expression.text


def test_nothing_is_divided_by_nothing() -> None:
    with pytest.raises(ValueError, match="divides"):
        Live("A1", 1.0) / Live("A2", 0.0)


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("Runs", "Runs"),
        ("Own runs", "'Own runs'"),
        ("Bob's", "'Bob''s'"),
        ("AB12", "'AB12'"),  # the address of a cell
        ("RC", "'RC'"),  # a row and a column in the other way of writing
        ("TRUE", "'TRUE'"),
        ("Läufe", "'Läufe'"),
        ("2026", "'2026'"),
        ("a+b", "'a+b'"),
    ],
)
def test_names_of_sheets_are_marked_where_they_could_be_taken_for_something_else(name: str, shown: str) -> None:
    assert live.on_sheet(name, "C7") == f"{shown}!C7"


def test_the_closest_two_by_hand() -> None:
    # Gaps 1.5, 1.5, 7: of two alike the lower pair, 10 and 11.5; beside it another sample, with gaps 2, 1, 3.
    cells = Spans("U1:U4", [[10.0, 13.0, 11.5, 20.0], [2.0, 5.0, 8.0, 4.0]])
    gap, mean = live.closest_gap(cells), live.closest_mean(cells)
    assert [figure.values for figure in (gap.value, mean.value) if isinstance(figure, Column)] == [
        [1.5, 1.0], [10.75, 4.5],
    ]  # fmt: skip
    assert mean.text.count("IF(") == 2


def test_the_first_that_is_not_below_by_hand() -> None:
    span = Span("Readings!C5:C9", [20.0, 21.0, 23.0, 21.5, 24.0])
    found = live.before_first(span, Live("K5", 22.0))
    assert found.value == 2
    assert live.item(span, found + 1).value == 23.0


@pytest.mark.parametrize("quantity", units.QUANTITIES)
def test_every_unit_that_is_read_has_its_conversion(quantity: str) -> None:
    for text in units.readable(quantity).split(", "):
        unit = units.read(text, quantity)
        assert unit is not None
        assert units.read(unit.text, quantity) == unit  # so it can be kept as text
        if unit.family == "time span":
            continue
        conversion = of_unit(unit)
        factor = 1.0 if conversion.factor is None else conversion.factor.value
        offset = 0.0 if conversion.offset is None else conversion.offset.value
        calorie = 4.1868 if conversion.calories else 1.0
        assert (7.3 * factor - offset) * calorie == pytest.approx(unit.inside(7.3, 4.1868), rel=1e-15)


@pytest.mark.parametrize("name", CASES)
def test_only_functions_that_every_program_has(name: str, tmp_path: Path) -> None:
    texts = formulas(working(CASES[name].make(), tmp_path))
    used = {word for text in texts for word in re.findall(r"([A-Z][A-Z.]*)\(", text)}
    assert used <= FUNCTIONS
    assert len(texts) > 100


_REFERENCE = re.compile(r"(?:('(?:[^']|'')+'|[A-Za-z_]+)!)\$?([A-Z]{1,3})\$?(\d+)(?::([A-Z]{1,3})(\d+))?")


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_cell_that_is_referred_to_holds_a_number_or_nothing(path: Path) -> None:
    stored = openpyxl.load_workbook(io.BytesIO(written(path)), data_only=True)
    sheet = openpyxl.load_workbook(io.BytesIO(written(path)))["Working"]
    seen = 0
    for text in formulas(sheet):
        for name, first, row, last, end in _REFERENCE.findall(text):
            page = stored[name.strip("'").replace("''", "'")]
            area = page[f"{first}{row}:{last or first}{end or row}"]
            for cell in (cell for cells in area for cell in cells):
                seen += 1
                assert cell.value is None or isinstance(cell.value, int | float), (text, cell.coordinate, cell.value)
    assert seen > 100


def test_units_are_turned_by_the_factors_on_record(tmp_path: Path) -> None:
    written_book = openpyxl.load_workbook(io.BytesIO(written(full().save(tmp_path))))
    record, sheet = written_book["Record"], written_book["Working"]
    text = str(sheet[f"K{row_of(sheet, '2', 'Firings of the day')}"].value)  # the thread, logged in mg
    address = re.findall(r"Record!\$C\$(\d+)", text)
    assert len(address) == 1
    assert [record[f"{letter}{address[0]}"].value for letter in "ACD"] == ["mg to g", 0.001, "g in 1 mg"]


def test_what_was_not_computed_shows_its_reason_and_no_formula(tmp_path: Path) -> None:
    sheet = working(left_out(), tmp_path)
    for number, word in (("7", "misfire"), ("8", "trial")):
        row = row_of(sheet, number, "Firings of the day")
        assert not [cell for cell in sheet[row] if cell.data_type == "f"]
        assert word in f"{sheet[f'D{row}'].value} {sheet[f'B{row}'].value}"
        assert sheet[f"D{row}"].value
    row = row_of(sheet, "6", "Firings of the day")  # set aside: worked out all the same, and in no mean
    assert sheet[f"C{row}"].value == "set aside"
    assert str(sheet[f"T{row}"].value).startswith("=")
    mean = str(sheet[f"T{row_of(sheet, 'mean of 5')}"].value)
    first = row_of(sheet, "101", "Heat capacity")
    assert mean == f"=AVERAGE(T{first}:T{first + 4})"


def test_a_correction_that_no_formula_follows_is_marked_and_not_pretended(tmp_path: Path) -> None:
    sheet = working(readings("two rates", mixed=True), tmp_path)
    row = row_of(sheet, "2", "Rise and heat exchange")
    assert sheet[f"B{row}"].value == AS_STATED
    assert isinstance(sheet[f"N{row}"].value, float)  # carried over
    assert sheet[f"W{row}"].value is None  # and not compared with itself
    assert str(sheet[f"N{row_of(sheet, '4', 'Rise and heat exchange')}"].value).startswith("=")


def test_words_that_look_like_a_formula_stay_words(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.505, sample="=1+1")
    path = log.save(tmp_path)
    source = openpyxl.load_workbook(path)
    for name, column in (("Runs", 6), ("Samples", 1)):
        for (cell,) in source[name].iter_rows(min_row=2, min_col=column, max_col=column):
            cell.data_type = "s"
    source.save(path)
    sheet = openpyxl.load_workbook(io.BytesIO(written(path)))["Working"]
    cell = sheet[f"A{row_of(sheet, '=1+1', 'Samples')}"]
    assert cell.data_type == "s"
    assert cell.quotePrefix


def test_names_that_the_lab_has_taken(tmp_path: Path) -> None:
    path = plain_log(2.5, 2.505).save(tmp_path)
    source = openpyxl.load_workbook(path)
    for name in ("Working", "Record"):
        source.create_sheet(name).append(["the lab's own"])
    source.save(path)
    book = openpyxl.load_workbook(io.BytesIO(written(path)))
    assert book["Working"]["A1"].value == "the lab's own"
    assert "'Record (2)'!" in " ".join(formulas(book["Working (2)"]))


def test_firings_and_samples_lead_to_their_rows(tmp_path: Path) -> None:
    sheet = working(full(), tmp_path)
    places = {str(cell.hyperlink.location) for row in sheet.iter_rows() for cell in row if cell.hyperlink}
    assert "'Runs'!A3" in places
    assert "'Samples'!A2" in places


def test_it_prints_on_a4_landscape_with_its_headings_on_every_page(tmp_path: Path) -> None:
    office, to_text = program("soffice"), program("pdftotext")
    path = tmp_path / "day.xlsx"
    path.write_bytes(written(EXAMPLES[0]))
    sheet = openpyxl.load_workbook(path)["Working"]
    assert sheet.page_setup.orientation == "landscape"
    assert (sheet.page_setup.paperSize, sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (9, 1, 0)
    subprocess.run(
        [office, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to", "pdf", "--outdir",
         str(tmp_path), str(path)],
        check=True, capture_output=True,
    )  # fmt: skip
    text = subprocess.run(
        [to_text, "-layout", str(tmp_path / "day.pdf"), "-"], check=True, capture_output=True, text=True
    ).stdout
    pages = [page for page in text.split("\f") if re.search(r": Working$", page, re.MULTILINE) or ": Working " in page]
    assert len(pages) > 1
    for page in pages:
        assert re.search(r"\bFiring +Sample or\b", page)  # each heading over two lines
        assert "Relative" in page  # the last column is on the same page as the first
