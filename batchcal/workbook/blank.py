"""The blank workbook of ``batchcal new``: made from the layout and the items of Setup, for a person to fill."""

from openpyxl.formatting.rule import Rule
from openpyxl.styles import Alignment, Border, Font, Protection, Side
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.utils import get_column_letter
from openpyxl.utils.indexed_list import IndexedList
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.workbook import limits, styles
from batchcal.workbook.layout import SETUP, SHEETS, Sheet
from batchcal.workbook.leave import mark_what_to_leave
from batchcal.workbook.library import Look, own_cell, side, write_text
from batchcal.workbook.notes import comment, heading_note
from batchcal.workbook.package import new_book, save
from batchcal.workbook.paper import row_height, rows_on_a_page, set_paper
from batchcal.workbook.prefill import NOTHING, Prefill
from batchcal.workbook.setup_sheet import fill_setup
from batchcal.workbook.start import add_start_sheet
from batchcal.workbook.xlsx import looks

LAST_ROW = 2000
"""Lists, limits and marks reach down to this row; more rows may be used."""

CAPTION_ROW, HEADING_ROW, FIRST_ROW = 1, 2, 3

_CAPTION_HEIGHT, _HEADING_HEIGHT = 18, 44

GROUPS = {
    "firing": "Firing", "sample": "Sample", "crucible": "Weighing", "wire_fitted_cm": "Ignition",
    "aid": "Aid and capsule", "calorimeter": "Apparatus", "water_mL": "Filling", "time": "Firing and temperatures",
    "wire_left_cm": "After the firing", "outcome": "What became of it", "titrant": "Titrant",
    "burette_start_mL": "Titration", "baryta_mL": "Only under two titrations", "description": "What it is",
    "moisture_analysis": "Moisture", "ash": "Contents", "basis": "About the contents", "moisture_date": "Record",
    "in_service_from": "In service", "changed_on": "Changes", "calibrated_on": "Calibration or pressure test",
    "firings_since_service": "Service",
}  # fmt: skip
"""Captions above the headings, each at the field where its group begins."""

_IN_ONE_GROUP = ("amendments",)
"""Roles of sheets whose columns are one group, named as the sheet is."""

_TAB_COLOURS = {
    "setup": "8FA39B",
    "calibration": "A9956B",
    "runs": "5F8791",
    "titration": "9A7F95",
    "samples": "7F946C",
    "readings": "8B8BA3",
    "titrant": "A39A7F",
    "equipment": "7F93A3",
    "amendments": "A3807F",
}

_CAPTION = looks.Style(
    "group caption",
    looks.Font(styles.FONT, 9, styles.SOFT_INK, bold=True),
    styles.GROUP_TINT,
    alignment=looks.Alignment(vertical="center"),
)
_HEAD = looks.Alignment(horizontal="left", vertical="center", wrapped=True)
_NEEDED, _OPTIONAL = (
    looks.Style(
        f"{kind} heading",
        looks.Font(styles.FONT, 10, styles.INK, bold=kind == "needed"),
        styles.HEADING.fill,
        styles.HEADING.border,
        _HEAD,
    )
    for kind in ("needed", "optional")
)
_LINE, _STRONG = Side("thin", color=styles.LINE), Side("thin", color=styles.STRONG_LINE)
_INK = Font(styles.FONT, 10, color=styles.INK)
_MIDDLE = Alignment(vertical="center")
_OPEN = Protection(locked=False)
"""Cells to type stay open where a laboratory protects the sheet; the program protects none."""


def blank_workbook(filled: Prefill = NOTHING) -> bytes:
    """Return the blank workbook as bytes, with what is filled in already; the same version gives the same bytes."""
    book = new_book()
    _default_font(book)
    look = Look(book)
    add_start_sheet(book, look, filled)
    for sheet in SHEETS:
        worksheet = book.create_sheet(sheet.name)
        worksheet.sheet_properties.tabColor = _TAB_COLOURS[sheet.role]
        if sheet is SETUP:
            fill_setup(worksheet, look, filled)
        else:
            _headings(worksheet, sheet, look)
            _body(worksheet, sheet, filled)
    _first_in_view(book)
    return save(book)


def _default_font(book: Workbook) -> None:
    """Make ours the font of the workbook: widths of columns are counted in its digits, in every program alike."""
    font = Font(styles.FONT, 10, color=styles.INK)
    book._fonts = IndexedList([font])  # type: ignore[attr-defined]  # no public way leads there
    book._named_styles["Normal"].font = font  # type: ignore[attr-defined]


def _first_in_view(book: Workbook) -> None:
    book.active = 0
    for number, worksheet in enumerate(book.worksheets):
        worksheet.sheet_view.tabSelected = number == 0


def _headings(worksheet: Worksheet, sheet: Sheet, look: Look) -> None:
    needed = {field for group in sheet.needed for fields in group for field in fields}
    for index, column in enumerate(sheet.columns, 1):
        above = own_cell(worksheet, CAPTION_ROW, index)
        look.apply(above, _CAPTION)
        caption = _caption(sheet, index)
        write_text(above, caption)
        heading = own_cell(worksheet, HEADING_ROW, index)
        look.apply(heading, _NEEDED if column.field in needed else _OPTIONAL)
        write_text(heading, column.heading)
        heading.comment = comment(heading_note(column, needed=column.field in needed))
        if caption and index > 1:
            above.border = Border(left=_STRONG)
        left = _STRONG if caption and index > 1 else _LINE
        heading.border = Border(left, None, side(styles.HEADING.border.top), side(styles.HEADING.border.bottom))
    worksheet.row_dimensions[CAPTION_ROW].height = _CAPTION_HEIGHT
    worksheet.row_dimensions[HEADING_ROW].height = _HEADING_HEIGHT
    worksheet.freeze_panes = f"B{FIRST_ROW}"


def _caption(sheet: Sheet, index: int) -> str:
    """Return the caption above a column, counted from 1, or "" where no group begins."""
    own = sheet.name if index == 1 else ""
    return own if sheet.role in _IN_ONE_GROUP else GROUPS.get(sheet.columns[index - 1].field, own)


def _body(worksheet: Worksheet, sheet: Sheet, filled: Prefill) -> None:
    """Prepare the cells to type: a page of ruled rows, and below it rows that are ruled as they are filled."""
    widths = [column.width for column in sheet.columns]
    page = rows_on_a_page(sheet, widths, _CAPTION_HEIGHT + _HEADING_HEIGHT)
    last_ruled = FIRST_ROW + page - 1
    letters = {column.field: get_column_letter(index) for index, column in enumerate(sheet.columns, 1)}
    ranges = {field: f"{letter}{FIRST_ROW}:{letter}{LAST_ROW}" for field, letter in letters.items()}
    for index, column in enumerate(sheet.columns, 1):
        letter, form = letters[column.field], limits.number_format(column)
        starts_group = index > 1 and bool(_caption(sheet, index))
        whole = worksheet.column_dimensions[letter]
        whole.width = widths[index - 1]
        whole.font, whole.alignment, whole.protection, whole.number_format = _INK, _MIDDLE, _OPEN, form
        ruled = Border(_STRONG if starts_group else _LINE, _LINE, None, _LINE)
        for row in range(FIRST_ROW, last_ruled + 1):
            cell = worksheet.cell(row, index)
            cell.font, cell.alignment, cell.protection, cell.number_format = _INK, _MIDDLE, _OPEN, form
            cell.border = ruled
        limits.validate(worksheet, column, ranges[column.field], filled.offered(column.field))
        if column.usual is not None:
            limits.mark_unusual(worksheet, column, f"{letter}{FIRST_ROW}", ranges[column.field])
    mark_what_to_leave(worksheet, sheet, {field: f"${letter}{FIRST_ROW}" for field, letter in letters.items()}, ranges)
    _rule_as_filled(worksheet, last_ruled + 1, get_column_letter(len(sheet.columns)))
    worksheet.sheet_format.defaultRowHeight = row_height(sheet, widths)
    worksheet.sheet_format.customHeight = True
    set_paper(worksheet, sheet, widths, f"{CAPTION_ROW}:{HEADING_ROW}")


def _rule_as_filled(worksheet: Worksheet, row: int, last: str) -> None:
    formula = f"COUNTA($A{row}:${last}{row})>0"
    border = Border(_LINE, _LINE, _LINE, _LINE)
    worksheet.conditional_formatting.add(
        f"A{row}:{last}{LAST_ROW}", Rule("expression", formula=[formula], dxf=DifferentialStyle(border=border))
    )
