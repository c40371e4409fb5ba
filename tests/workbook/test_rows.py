"""Rows of tables written straight to XML, held against openpyxl's own writing of the same cells."""

import datetime as dt
import io
import zipfile

import openpyxl
import pytest
from openpyxl.utils import get_column_letter

from batchcal.workbook import styles
from batchcal.workbook.package import new_book, save
from batchcal.workbook.rows import OwnRows, can_hold
from batchcal.workbook.styles import Look
from batchcal.workbook.tables import Field, Item, write_line, write_table
from batchcal.workbook.xlsx.references import LAST_COLUMN, LETTERS

VALUES = (
    "", None, "plain", " blanks kept ", "two\nlines", "a & b < c > d \" '", "=1+1", "-5", "● Δ 𝛼", "bell \x07",
    0.0, -0.0, 1.0, 0.1, 0.1 + 0.2, 1 / 3, 1e22, -2.5e-7, 123456789.123, 5e-324,
)  # fmt: skip


def _filled(table: list[list[object]]) -> bytes:
    book = new_book()
    sheet = book.create_sheet("Table")
    look = Look(book)
    fields = [Field("Words", 10.0), Field("Figures", 12.0, right=True)]
    row = write_line(sheet, look, 1, "Title", styles.TITLE)
    row = write_table(sheet, look, row + 1, fields, table)  # type: ignore[arg-type]  # any values on purpose
    write_line(sheet, look, row, "below", styles.SUBTITLE)
    numbers = look.numbered()
    stream, whole = io.BytesIO(), zipfile.ZipFile(io.BytesIO(save(book)))
    with zipfile.ZipFile(stream, "w") as target:
        for name in whole.namelist():
            data = whole.read(name)
            is_sheet = name == "xl/worksheets/sheet1.xml"
            target.writestr(name, b"".join(look.rows(sheet).filled(data, numbers)) if is_sheet else data)
    return stream.getvalue()


@pytest.mark.parametrize("value", VALUES)
def test_read_back_by_openpyxl_as_its_own_cells_are(value: float | str | None) -> None:
    data = _filled([[value, Item(value, "0.00", styles.STRONG_NUMBER)], [Item(dt.date(2026, 10, 14)), 1.0]])
    sheet = openpyxl.load_workbook(io.BytesIO(data))["Table"]
    assert sheet.dimensions == "A1:B6"
    assert sheet["A6"].value == "below"
    assert sheet["A5"].value == dt.datetime(2026, 10, 14)
    expected = (styles.visible(value) or None) if isinstance(value, str) else value
    for cell in (sheet["A4"], sheet["B4"]):
        assert cell.value == expected
        assert cell.quotePrefix == (isinstance(value, str) and value.startswith(styles.LIKE_A_FORMULA))
    assert sheet["B4"].style == "batchcal strong number"
    assert sheet["B4"].number_format == ("0.00" if isinstance(value, float) else "General")


@pytest.mark.parametrize("value", VALUES)
def test_markup_is_that_of_openpyxl(value: float | str | None) -> None:
    """Byte for byte, as its plain writer has it; with lxml installed it leaves out a blank before '/>'."""
    book = new_book()
    sheet = book.create_sheet("Table")
    look = Look(book)
    cell = sheet.cell(1, 1)
    look.apply(cell, styles.TEXT)
    if isinstance(value, str):
        styles.write_text(cell, value)
    elif value is not None:
        cell.value = value
    theirs = zipfile.ZipFile(io.BytesIO(save(book))).read("xl/worksheets/sheet1.xml")
    own = OwnRows(sheet)
    text = styles.visible(value) if isinstance(value, str) else value
    quoted = isinstance(value, str) and value.startswith(styles.LIKE_A_FORMULA)
    own.put(1, [(0, text)])
    frame = theirs[: theirs.index(b"<row ")] + b'<row r="1"></row>' + theirs[theirs.index(b"</sheetData>") :]
    number = look.number(styles.TEXT, quoted=quoted)
    assert b"".join(own.filled(frame, {0: number})).replace(b" />", b"/>") == theirs.replace(b" />", b"/>")


@pytest.mark.parametrize("value", [True, 3, float("nan"), float("inf"), dt.date(2026, 10, 14)])
def test_other_values_are_left_to_the_library(value: object) -> None:
    assert not can_hold(value)


def test_letters_are_those_of_openpyxl() -> None:
    assert LETTERS[1:-1] == tuple(get_column_letter(column) for column in range(1, LAST_COLUMN + 1))
