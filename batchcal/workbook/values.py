"""A workbook of bare values, for a file that has no package of its own in which results could be written."""

import datetime as dt
import math
from collections.abc import Sequence

from openpyxl.cell.cell import Cell as OwnCell
from openpyxl.styles import Font
from openpyxl.utils.cell import get_column_letter
from openpyxl.workbook.child import INVALID_TITLE_REGEX
from openpyxl.worksheet.cell_range import CellRange

from batchcal.errors import WorkbookError
from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.grid import Grid
from batchcal.workbook.library import own_cell, write_text
from batchcal.workbook.package import new_book, save
from batchcal.workbook.xlsx.references import LAST_COLUMN, LAST_ROW

_LONGEST_TITLE = 31
"""Characters that the name of a sheet may have."""

_FIRST_DAY = dt.datetime(1900, 3, 1)
"""Spreadsheet programs do not agree on the days before, since some count a 29 February 1900."""

_NO_SUCH_NUMBER = "#NUM!"
_PER_CENT_FORM = "0.00%"
_TIME_FORM = "[h]:mm:ss"


def workbook_of_values(grids: Sequence[Grid], name: str) -> bytes:
    """Return an .xlsx workbook with the sheets of ``grids`` and what stands in their cells.

    Numbers, texts, dates, times, yes and no, and errors come as what they are; of formulas their values. Hidden rows,
    merged areas and struck-through cells stay so. Raises WorkbookError, for the file ``name``, where a sheet is larger
    than a workbook can hold or has a name that it cannot have. The same grids give the same bytes.
    """
    book = new_book()
    for grid in grids:
        _refuse_unfit(grid, name)
        if any(grid.title.casefold() == title.casefold() for title in book.sheetnames):
            raise WorkbookError(f"{name}: has two sheets named {grid.title}; rename one")
        sheet = book.create_sheet(grid.title)
        widths: dict[int, int] = {}
        for row, cells in grid.rows.items():
            for column, cell in cells.items():
                _fill(own_cell(sheet, row, column), cell)
                widths[column] = max(widths.get(column, 0), len(cell.text))
        for column, width in widths.items():
            sheet.column_dimensions[get_column_letter(column)].width = min(max(width + 2, 9), 40)
        for row in sorted(grid.hidden_rows):
            if row <= LAST_ROW:
                sheet.row_dimensions[row].hidden = True
        for area in grid.merged:
            sheet.merged_cells.add(CellRange(None, area.first_column, area.first_row, area.last_column, area.last_row))
    return save(book)


def _refuse_unfit(grid: Grid, name: str) -> None:
    if len(grid.title) > _LONGEST_TITLE or not grid.title or INVALID_TITLE_REGEX.search(grid.title):
        raise WorkbookError(
            f"{name}: the results workbook cannot have a sheet {grid.title!r}; give it a name of at most "
            f"{_LONGEST_TITLE} characters without \\ / * ? : [ ]"
        )
    if grid.last_row > LAST_ROW or grid.last_column > LAST_COLUMN:
        raise WorkbookError(f"{name}: sheet {grid.title} is larger than the sheet of a results workbook can be")


def _fill(own: OwnCell, cell: Cell) -> None:
    value = cell.value
    if cell.struck:
        own.font = Font(strike=True)
    if cell.kind is CellKind.ERROR:
        own.value, own.data_type = str(value), "e"
    elif isinstance(value, float) and not math.isfinite(value):
        own.value, own.data_type = _NO_SUCH_NUMBER, "e"
    elif isinstance(value, dt.datetime):
        _fill_date(own, value.replace(tzinfo=None))
    elif isinstance(value, dt.time | dt.timedelta):
        own.value = value if isinstance(value, dt.timedelta) else value.replace(tzinfo=None)
        own.number_format = _TIME_FORM
    elif isinstance(value, bool | float):
        own.value = value
        if cell.kind is CellKind.PER_CENT:
            own.number_format = _PER_CENT_FORM
    elif value is not None:
        write_text(own, str(value))


def _fill_date(own: OwnCell, value: dt.datetime) -> None:
    if value < _FIRST_DAY:
        write_text(own, value.isoformat(" ", "seconds"))
        return
    own.value = value
    own.number_format = "yyyy-mm-dd" if value.time() == dt.time() else "yyyy-mm-dd hh:mm:ss"
