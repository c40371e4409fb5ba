"""What a workbook's formulas and row formats tell: the form of each formula relative to its row, and rows unseen."""

import re
from collections.abc import Iterator

from openpyxl.cell.cell import Cell as OpenpyxlCell
from openpyxl.cell.cell import MergedCell
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.logged import FormulaColumn
from batchcal.workbook.headings import FoundTable

_PART = re.compile(
    r"""
    "(?:[^"]|"")*"                                       # a text
    | '(?:[^']|'')*'                                     # a sheet's name
    | (?<![\w.$]) (\$?[A-Za-z]{1,3}) (\$?) (\d{1,7}) (?![\w(.\[!])  # a cell: column, anchor, row
    """,
    re.VERBOSE,
)

_ROLES_OF_WORK = ("calibration", "runs", "titration", "samples")


def relative_form(formula: str, row: int) -> str:
    """Return a formula of a row with the rows of its references counted from there: A7 in row 8 becomes A[-1].

    A row behind a $ stays as it is. Formulas that do the same, each in its own row, have the same form.
    """

    def counted(match: re.Match[str]) -> str:
        if match[1] is None or match[2]:
            return match[0]
        return f"{match[1]}[{int(match[3]) - row:+d}]"

    return _PART.sub(counted, formula)


def formula_columns(role: str, table: FoundTable) -> list[FormulaColumn]:
    """Return the number columns of a table in which formulas stand."""
    found = []
    for column in table.columns:
        if column.column.kind != "number":
            continue
        forms: dict[int, str] = {}
        typed: dict[int, float] = {}
        known: dict[str, str] = {}
        for row, cell in _below(table.formulas, column.index, table.heading_row):
            formula = _formula(cell)
            if formula is not None:
                form = relative_form(formula, row)
                forms[row] = known.setdefault(form, form)
            elif isinstance(cell.value, int | float) and not isinstance(cell.value, bool):
                typed[row] = float(cell.value)
        if forms:
            found.append(FormulaColumn(role, column.column.field, table.table, forms, typed))
    return found


def _below(sheet: Worksheet, index: int, heading_row: int) -> Iterator[tuple[int, OpenpyxlCell | MergedCell]]:
    first = heading_row + 1
    for row, (cell,) in enumerate(sheet.iter_rows(min_row=first, min_col=index, max_col=index), first):
        if cell.value is not None:
            yield row, cell


def _formula(cell: OpenpyxlCell | MergedCell) -> str | None:
    if cell.data_type != "f":
        return None
    value = cell.value
    text = value.text if isinstance(value, ArrayFormula) else value
    return text if isinstance(text, str) else None


def unseen_rows(role: str, table: FoundTable) -> dict[int, str]:
    """Return the rows of a table of the day's work that are hidden, filtered out or struck through, and how."""
    if role not in _ROLES_OF_WORK:
        return {}
    sheet = table.values
    filtered = bool(sheet.auto_filter.ref) or bool(sheet.tables)
    found = {
        row: "filtered out" if filtered else "hidden"
        for row, dimension in sheet.row_dimensions.items()
        if dimension.hidden and row > table.heading_row
    }
    struck: dict[int, bool] = {}
    indexes = [column.index for column in table.columns]
    first = min(indexes)
    top = table.heading_row + 1
    for row, cells in enumerate(sheet.iter_rows(min_row=top, min_col=first, max_col=max(indexes)), top):
        marks = []
        for index in indexes:
            cell = cells[index - first]
            if cell.value is None:
                continue
            style = cell.style_id
            if style not in struck:
                struck[style] = bool(cell.font.strike)
            marks.append(struck[style])
        if marks and 2 * sum(marks) >= len(marks):
            found[row] = "struck through"
    return found
