"""What openpyxl sees in a workbook, loaded once by value and once by formula: a second pair of eyes for the reader."""

import datetime as dt
import io
import math
import warnings

import openpyxl
from openpyxl.cell.cell import Cell as OpenpyxlCell
from openpyxl.cell.cell import MergedCell
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.workbook.cells import EMPTY, Cell, CellKind
from batchcal.workbook.grid import Grid, Merged


def grids(data: bytes) -> tuple[Grid, ...]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        values, formulas = (openpyxl.load_workbook(io.BytesIO(data), data_only=only) for only in (True, False))
    return tuple(_grid(sheet, formulas[sheet.title]) for sheet in values.worksheets)


def _grid(values: Worksheet, formulas: Worksheet) -> Grid:
    rows: dict[int, dict[int, Cell]] = {}
    for (row, column), value_cell in sorted(values._cells.items()):
        formula_cell = formulas._cells[row, column]
        cell = _cell(value_cell, formula_cell, bool(value_cell.font.strike))
        if cell is not EMPTY:
            rows.setdefault(row, {})[column] = cell
    hidden = frozenset(row for row, dimension in values.row_dimensions.items() if dimension.hidden)
    # A set, in no order.
    areas = sorted((area.min_row, area.min_col, area.max_row, area.max_col) for area in values.merged_cells.ranges)
    merged = tuple(Merged(*area) for area in areas)
    return Grid(values.title, rows, hidden, bool(values.auto_filter.ref) or bool(values.tables), merged)


def _cell(value_cell: OpenpyxlCell | MergedCell, formula_cell: OpenpyxlCell | MergedCell, struck: bool) -> Cell:
    formula = None
    if formula_cell.data_type == "f":
        written = formula_cell.value
        text = written.text if isinstance(written, ArrayFormula) else written
        formula = text if isinstance(text, str) else None
    value = value_cell.value
    if value is None:
        if formula_cell.data_type != "f":
            return EMPTY
        # A text result that is empty is stored as a text without characters.
        return Cell(CellKind.EMPTY if value_cell.data_type == "str" else CellKind.UNCALCULATED, None, formula, struck)
    if value_cell.data_type == "e":
        return Cell(CellKind.ERROR, str(value), formula, struck)
    if isinstance(value, bool):
        return Cell(CellKind.BOOLEAN, value, formula, struck)
    if isinstance(value, int | float):
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
