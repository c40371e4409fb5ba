"""From a workbook that openpyxl loaded, once by value and once by formula, to the grids of its sheets."""

import datetime as dt
import math

from openpyxl.cell.cell import Cell as OpenpyxlCell
from openpyxl.cell.cell import MergedCell
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.errors import WorkbookError
from batchcal.workbook.cells import EMPTY, Cell, CellKind
from batchcal.workbook.grid import Grid, Merged

MAX_CELLS = 20_000_000
"""A sheet whose used range is larger is refused; one far cell makes such a range."""


def grids(values: Workbook, formulas: Workbook, file_name: str) -> tuple[Grid, ...]:
    """Return what stands on each sheet; WorkbookError where a sheet reaches too far."""
    return tuple(_grid(sheet, formulas[sheet.title], file_name) for sheet in values.worksheets)


def _grid(values: Worksheet, formulas: Worksheet, file_name: str) -> Grid:
    if values.max_row * values.max_column > MAX_CELLS:
        raise WorkbookError(
            f"{file_name}: sheet {values.title} reaches to "
            f"{get_column_letter(values.max_column)}{values.max_row}; clear the stray cells far out and try again"
        )
    struck: dict[int, bool] = {}
    rows: dict[int, dict[int, Cell]] = {}
    pairs = zip(values.iter_rows(), formulas.iter_rows(), strict=False)
    for row, (value_row, formula_row) in enumerate(pairs, 1):
        for column, (value_cell, formula_cell) in enumerate(zip(value_row, formula_row, strict=False), 1):
            if value_cell.value is None and formula_cell.value is None:
                continue
            style = value_cell.style_id
            if style not in struck:
                struck[style] = bool(value_cell.font.strike)
            cell = read_cell(value_cell, formula_cell, struck[style])
            if cell is not EMPTY:
                rows.setdefault(row, {})[column] = cell
    hidden = frozenset(row for row, dimension in values.row_dimensions.items() if dimension.hidden)
    merged = tuple(Merged(area.min_row, area.min_col, area.max_row, area.max_col) for area in values.merged_cells)
    return Grid(values.title, rows, hidden, bool(values.auto_filter.ref) or bool(values.tables), merged)


def read_cell(value_cell: OpenpyxlCell | MergedCell, formula_cell: OpenpyxlCell | MergedCell, struck: bool) -> Cell:
    """Return what stands in a cell, from its stored value and, where that is missing, its formula."""
    formula = _formula(formula_cell)
    value = value_cell.value
    if value is None:
        if formula_cell.data_type != "f":
            return EMPTY
        kind = CellKind.EMPTY if value_cell.data_type == "str" else CellKind.UNCALCULATED
        return Cell(kind, None, formula, struck)
    if value_cell.data_type == "e":
        return Cell(CellKind.ERROR, str(value), formula, struck)
    if isinstance(value, bool):
        return Cell(CellKind.BOOLEAN, value, formula, struck)
    if isinstance(value, int | float):
        # Formatted as per cent, a cell shows a hundred times what it stores.
        kind = CellKind.PER_CENT if "%" in value_cell.number_format else CellKind.NUMBER
        try:
            return Cell(kind, float(value), formula, struck)
        except OverflowError:
            return Cell(kind, math.inf, formula, struck)
    if isinstance(value, dt.datetime):
        return Cell(CellKind.DATE, value, formula, struck)
    if isinstance(value, dt.date):
        return Cell(CellKind.DATE, dt.datetime.combine(value, dt.time()), formula, struck)
    if isinstance(value, dt.time | dt.timedelta):
        return Cell(CellKind.TIME, value, formula, struck)
    text = str(value)
    if text.strip():
        return Cell(CellKind.TEXT, text, formula, struck)
    return EMPTY if formula is None else Cell(CellKind.EMPTY, None, formula, struck)


def _formula(cell: OpenpyxlCell | MergedCell) -> str | None:
    if cell.data_type != "f":
        return None
    value = cell.value
    text = value.text if isinstance(value, ArrayFormula) else value
    return text if isinstance(text, str) else None
