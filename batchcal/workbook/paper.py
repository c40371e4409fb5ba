"""How the sheets of the blank workbook print on A4: ruled rows to fill in by hand, broken at a sensible column."""

from collections.abc import Sequence

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break, ColBreak
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.workbook import styles
from batchcal.workbook.layout import Sheet

PAGE_BEGINS = {
    "calibration": ("calorimeter",),
    "runs": ("calorimeter",),
    "samples": ("moisture_date",),
}
"""By the role of a sheet: the fields at which a further page across begins; the first column stands on each."""

UPRIGHT = ("setup", "readings")
"""Roles of the sheets that print upright; the others lie."""

_LAST_ROW_OF_A_SHEET = 1048576
_LONG, _SHORT = 11.69, 8.27  # of A4, in inches
_SIDE, _TOP, _BOTTOM = 0.4, 0.75, 0.6
_TO_SPARE = 0.97
_PENCIL = 17.3
"""Points, 6 mm, that a row is high on paper."""
_LARGEST = 1.15
"""A narrow sheet is enlarged so far, for a pencil."""


def _pixels(width: float) -> float:
    """Return the pixels, 96 an inch, of a column of ``width`` characters."""
    return 7 * width + 5


def _pages(sheet: Sheet, columns: int) -> list[range]:
    """Return the columns of each page across, counted from 0."""
    fields = [column.field for column in sheet.columns]
    begins = [0, *(fields.index(field) for field in PAGE_BEGINS.get(sheet.role, ()))]
    return [range(begin, end) for begin, end in zip(begins, [*begins[1:], columns], strict=True)]


def scale(sheet: Sheet, widths: Sequence[float]) -> float:
    """Return the scale at which the widest page across fits the paper; the first column stands on each."""
    across = (_SHORT if sheet.role in UPRIGHT else _LONG) - 2 * _SIDE
    widest = max(
        sum(_pixels(widths[index]) for index in page) + (_pixels(widths[0]) if page.start else 0)
        for page in _pages(sheet, len(widths))
    )
    return min(_LARGEST, int(100 * _TO_SPARE * 96 * across / widest) / 100)


def row_height(sheet: Sheet, widths: Sequence[float]) -> int:
    """Return the height of a row in points that leaves room for a pencil on paper and looks calm on the screen."""
    return min(24, max(18, round(_PENCIL / scale(sheet, widths))))


def rows_on_a_page(sheet: Sheet, widths: Sequence[float], headings: float) -> int:
    """Return how many rows fit below ``headings`` points on one page."""
    down = (_LONG if sheet.role in UPRIGHT else _SHORT) - _TOP - _BOTTOM
    return int((_TO_SPARE * 72 * down / scale(sheet, widths) - headings) / row_height(sheet, widths))


def set_paper(worksheet: Worksheet, sheet: Sheet, widths: Sequence[float], titles: str) -> None:
    """Set a sheet to print: paper, scale, its columns down to the last row that is filled, repeated headings.

    ``titles`` are the rows repeated on each page.
    """
    setup, margins = worksheet.page_setup, worksheet.page_margins
    setup.orientation = "portrait" if sheet.role in UPRIGHT else "landscape"
    setup.paperSize = 9
    setup.scale = round(100 * scale(sheet, widths))
    margins.left = margins.right = _SIDE
    margins.top, margins.bottom, margins.header, margins.footer = _TOP, _BOTTOM, 0.35, 0.3
    last = get_column_letter(len(widths))
    worksheet.print_area = f"A1:{last}{_LAST_ROW_OF_A_SHEET}"
    worksheet.print_title_rows = titles
    across = _pages(sheet, len(widths))
    if len(across) > 1:
        worksheet.print_title_cols = "A:A"
        breaks = ColBreak()
        for page in across[1:]:
            breaks.append(Break(id=page.start))
        worksheet.col_breaks = breaks
    for part, left, right, size in (
        (worksheet.oddHeader, sheet.name, "Batch ________________   Date ______________   Analyst ______________", 10),
        (worksheet.oddFooter, "&F", "&A, page &P of &N", 8),
    ):
        if part is not None and part.left is not None and part.right is not None:
            part.left.text, part.right.text = left, right
            part.left.size = part.right.size = size
    if worksheet.oddHeader is not None and worksheet.oddHeader.left is not None:
        worksheet.oddHeader.left.font = f"{styles.FONT},Bold"
