"""Sheets written straight to XML, held against openpyxl's own writing of the same ones."""

import datetime as dt
import io
import re
import zipfile

import openpyxl
import pytest
from lab_packages.one_sheet import MAIN, package
from openpyxl.styles import Alignment
from openpyxl.utils import get_column_letter
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.worksheet.properties import PageSetupProperties

from batchcal.workbook import styles
from batchcal.workbook.library import own_cell, write_text
from batchcal.workbook.own_cells import Look, Value
from batchcal.workbook.own_sheet import OwnSheet
from batchcal.workbook.tables import Column, write_band, write_line, write_table
from batchcal.workbook.xlsx.geometry import Area
from batchcal.workbook.xlsx.graft import AddedSheet, add_sheets
from batchcal.workbook.xlsx.package import Package
from batchcal.workbook.xlsx.references import LAST_COLUMN, LETTERS
from batchcal.workbook.xlsx.revision import Revision
from batchcal.workbook.xlsx.stylesheet import Stylesheet

VALUES = (
    "", None, "plain", " blanks kept ", "two\nlines", "a & b < c > d \" '", "=1+1", "-5", "● Δ 𝛼", "bell \x07",
    0.0, -0.0, 1.0, 0.1, 0.1 + 0.2, 1 / 3, 1e22, -2.5e-7, 123456789.123, 5e-324, dt.date(2026, 10, 14),
    dt.date(1900, 2, 28),
)  # fmt: skip
LOG = package(f"<worksheet {MAIN}><sheetData/></worksheet>".encode())


def revision() -> Revision:
    return Revision(Package("day.xlsx", LOG))


def packed(made: Revision, *sheets: OwnSheet) -> bytes:
    for sheet in sheets:
        sheet.formats.put()
    add_sheets(made, [AddedSheet(sheet.title, sheet.part, tuple(sheet.names())) for sheet in sheets])
    out = io.BytesIO()
    made.pack(out)
    return out.getvalue()


def plain(part: bytes) -> str:
    """Return a part without the numbers of formats; with lxml installed openpyxl leaves out a blank before '/>'."""
    return re.sub(r' s="\d+"', "", part.decode().replace(" />", "/>"))


@pytest.mark.parametrize("value", VALUES)
def test_read_back_by_openpyxl_as_its_own_cells_are(value: Value) -> None:
    made = revision()
    sheet = OwnSheet("Table", Stylesheet(made))
    columns: list[Column[Value]] = [
        Column("Words", 10.0, lambda each: each),
        Column("Figures", 12.0, lambda each: each, Look(styles.STRONG_NUMBER, "0.00"), right=True),
    ]
    row = write_line(sheet, 1, "Title", styles.TITLE)
    row = write_table(sheet, row + 1, columns, [value])
    write_band(sheet, row, "below", styles.SUBTITLE, columns=2)
    theirs = openpyxl.load_workbook(io.BytesIO(packed(made, sheet)))["Table"]
    assert theirs.dimensions == "A1:B5"
    assert theirs["A5"].value == "below"
    assert theirs["B5"].style == "batchcal subtitle"
    expected = (styles.visible(value) or None) if isinstance(value, str) else value
    if isinstance(value, dt.date):
        expected = dt.datetime.combine(value, dt.time())
    for cell in (theirs["A4"], theirs["B4"]):
        assert cell.value == expected
        assert cell.quotePrefix == (isinstance(value, str) and value.startswith(styles.LIKE_A_FORMULA))
    assert theirs["B4"].style == "batchcal strong number"
    form = "0.00" if isinstance(value, float) else "yyyy-mm-dd" if isinstance(value, dt.date) else "General"
    assert theirs["B4"].number_format == form
    assert (theirs["B4"].font.b, theirs["B4"].font.name, theirs["B4"].border.bottom.style) == (True, "Arial", "thin")


@pytest.mark.parametrize("from_1904", [False, True])
@pytest.mark.parametrize("still", [(0, 0), (3, 0), (3, 1)])
def test_markup_is_that_of_openpyxl(still: tuple[int, int], *, from_1904: bool) -> None:
    sheet = OwnSheet("Day's", Stylesheet(revision()), from_1904=from_1904)
    book = openpyxl.Workbook()
    theirs = book.worksheets[0]
    theirs.title = "Day's"
    if from_1904:
        book.epoch = CALENDAR_MAC_1904
    sheet.write(1, 1, styles.TEXT, "head")
    for number, value in enumerate((each for each in VALUES if each != dt.date(1900, 2, 28)), 2):
        sheet.write(number, 2, styles.TEXT, value)
        cell = own_cell(theirs, number, 2)
        cell.alignment = Alignment(vertical="top")  # an empty cell is written for its looks
        if isinstance(value, str):
            write_text(cell, value)
        elif isinstance(value, float):
            cell.value, cell.data_type = repr(value) if float(f"{value:.16g}") != value else value, "n"
        elif value is not None:
            cell.value = value
    theirs["A1"] = "head"
    sheet.set_height(1, 20.5)
    theirs.row_dimensions[1].height = 20.5
    sheet.widths, sheet.folded, sheet.still = (10.5, 20, 7, 7), 2, still
    for letter, width in zip("ABCD", sheet.widths, strict=True):
        theirs.column_dimensions[letter].width = width
    theirs.column_dimensions.group("C", "D")
    theirs.freeze_panes = f"{get_column_letter(still[1] + 1)}{still[0] + 1}"
    sheet.filtered, sheet.printed = Area(1, 1, 9, 2), Area(1, 1, 20, 2)
    theirs.auto_filter.ref, theirs.print_area = "A1:B9", "A1:B20"
    sheet.title_rows, sheet.title_columns, sheet.pages_wide = "1:2", "A:A", 2
    theirs.print_title_rows, theirs.print_title_cols = "1:2", "A:A"
    setup, margins = theirs.page_setup, theirs.page_margins
    setup.orientation, setup.paperSize, setup.fitToWidth, setup.fitToHeight = "landscape", 9, 2, 0
    theirs.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    theirs.sheet_properties.tabColor = "8A7FA3"
    theirs.sheet_view.showGridLines = False
    margins.left = margins.right = 0.4
    margins.top, margins.bottom, margins.header, margins.footer = 0.5, 0.6, 0.25, 0.3
    sheet.footer, sheet.shown = ("a && b", "Draft"), True
    theirs.sheet_view.tabSelected = True
    for part, text in ("left", "a && b"), ("center", "Draft"), ("right", "page &P of &N"):
        getattr(theirs.oddFooter, part).text, getattr(theirs.oddFooter, part).size = text, 8
    stream = io.BytesIO()
    book.save(stream)
    saved = zipfile.ZipFile(stream)
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    expected = plain(saved.read("xl/worksheets/sheet1.xml"))
    names = re.findall(
        '<definedName name="([^"]*)" localSheetId="0"( hidden="1")?>([^<]*)<', saved.read("xl/workbook.xml").decode()
    )
    assert sorted(sheet.names()) == sorted((name, text, bool(hidden)) for name, hidden, text in names)
    assert plain(b"".join(sheet.part(space))).split("><") == expected.split("><")


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_what_is_no_number_is_left_out(value: float) -> None:
    sheet = OwnSheet("Table", Stylesheet(revision()))
    sheet.write(1, 1, styles.NUMBER, value)
    assert b'<c r="A1" s="1" t="n" /></row>' in b"".join(sheet.part(""))


@pytest.mark.parametrize(
    ("date", "number", "from_1904"),
    [((1900, 1, 1), 1, False), ((1900, 2, 28), 59, False), ((1900, 3, 1), 61, False), ((1904, 1, 2), 1, True)],
)
def test_days_are_counted_as_spreadsheet_programs_do(
    date: tuple[int, int, int], number: int, *, from_1904: bool
) -> None:
    """They take 1900 for a leap year."""
    sheet = OwnSheet("Table", Stylesheet(revision()), from_1904=from_1904)
    sheet.write(1, 1, styles.TEXT, dt.date(*date))
    assert f"<v>{number}</v>".encode() in b"".join(sheet.part(""))


def test_letters_are_those_of_openpyxl() -> None:
    columns = range(1, LAST_COLUMN + 1)
    assert [LETTERS[column] for column in columns] == [get_column_letter(column) for column in columns]
    assert (LETTERS[0], LETTERS[LAST_COLUMN + 1]) == ("", "")
