"""What a workbook's formulas and row formats tell: the form of each formula relative to its row, and rows unseen."""

import re

from batchcal.logged import FormulaColumn
from batchcal.workbook.cells import EMPTY
from batchcal.workbook.headings import ReadTable

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


def formula_columns(role: str, table: ReadTable) -> list[FormulaColumn]:
    """Return the number columns of a table in which formulas stand."""
    found = []
    place = table.table
    for column in table.columns:
        if column.column.kind != "number":
            continue
        forms: dict[int, str] = {}
        typed: dict[int, float] = {}
        known: dict[str, str] = {}
        for row, cells in table.body():
            cell = cells.get(column.index, EMPTY)
            if cell.formula is not None:
                form = relative_form(cell.formula, row)
                forms[row] = known.setdefault(form, form)
            elif isinstance(cell.value, float):
                typed[row] = cell.value
        if forms:
            found.append(FormulaColumn(role, column.column.field, place, forms, typed))
    return found


def unseen_rows(role: str, table: ReadTable) -> dict[tuple[str, int], str]:
    """Return the rows of a table of the day's work that are hidden, filtered out or struck through, and how."""
    if role not in _ROLES_OF_WORK:
        return {}
    grid = table.grid
    found: dict[tuple[str, int], str] = {}
    indexes = [column.index for column in table.columns]
    for row, cells in table.body():
        if row in grid.hidden_rows:
            found[grid.title, row] = "filtered out" if grid.filtered else "hidden"
        marks = [cells[index].struck for index in indexes if index in cells]
        if marks and 2 * sum(marks) >= len(marks):
            found[grid.title, row] = "struck through"
    return found
