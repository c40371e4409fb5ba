"""What formulas, row formats and merged areas tell: the form of each formula in its row, and what nobody sees."""

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterator

from batchcal import findings
from batchcal.findings import Finding
from batchcal.logged import FormulaColumn
from batchcal.workbook.cells import EMPTY, CellKind
from batchcal.workbook.grid import marked_columns
from batchcal.workbook.headings import ReadTable
from batchcal.workbook.xlsx.references import LAST_ROW, address

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
    columns = {column.index: column.column.field for column in table.columns if column.column.kind == "number"}
    forms: dict[int, dict[int, str]] = {}
    known: dict[str, str] = {}
    for row, cells in table.body():
        for index in marked_columns(cells):
            if index in columns and (formula := cells[index].formula) is not None:
                form = relative_form(formula, row)
                forms.setdefault(index, {})[row] = known.setdefault(form, form)
    if not forms:
        return []
    typed: dict[int, dict[int, float]] = {index: {} for index in forms}
    for row, cells in table.body():
        for index, numbers in typed.items():
            cell = cells.get(index, EMPTY)
            if cell.formula is None and isinstance(cell.value, float):
                numbers[row] = cell.value
    place = table.table
    return [
        FormulaColumn(role, field, place, forms[index], typed[index])
        for index, field in columns.items()
        if index in forms
    ]


def unseen_rows(role: str, table: ReadTable) -> dict[tuple[str, int], str]:
    """Return the rows of a table of the day's work that are hidden, filtered out or struck through, and how."""
    if role not in _ROLES_OF_WORK:
        return {}
    grid = table.grid
    found: dict[tuple[str, int], str] = {}
    indexes = {column.index for column in table.columns}
    for row, cells in table.body():
        if row in grid.hidden_rows:
            found[grid.title, row] = "filtered out" if grid.filtered else "hidden"
        struck = sum(cells[index].struck for index in marked_columns(cells) if index in indexes)
        if struck and 2 * struck >= len(indexes.intersection(cells)):
            found[grid.title, row] = "struck through"
    return found


def covered_cells(table: ReadTable) -> Iterator[Finding]:
    """Yield a finding for each value of a table that stands under a merged area, where nobody sees it.

    Merged areas do not overlap, so that no more rows are looked at than there are; a file in which they do is left
    after as many again as a sheet can have.
    """
    columns = {column.index: column for column in table.columns}
    if not table.grid.merged:
        return
    heading_row, rows = table.table.heading_row, list(table.grid.rows)
    looked = 0
    for area in table.grid.merged:
        first, last = bisect_left(rows, area.first_row), bisect_right(rows, area.last_row)
        looked += last - first
        if looked > LAST_ROW:
            return
        for row in rows[first:last] if any(area.first_column <= index <= area.last_column for index in columns) else ():
            for index, cell in table.grid.rows[row].items():
                within = area.first_column <= index <= area.last_column and index in columns
                shown = (row, index) == (area.first_row, area.first_column) or row <= heading_row
                if within and not shown and cell.kind is not CellKind.EMPTY:
                    yield findings.make(
                        "value-covered", sheet=table.grid.title, row=row, cell=address(row, index),
                        heading=columns[index].heading, read=cell.text,
                        first=address(area.first_row, area.first_column),
                    )  # fmt: skip
