"""What a workbook's formulas and row formats tell: the form of each formula relative to its row, and rows unseen."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from openpyxl.cell.cell import Cell as OpenpyxlCell
from openpyxl.cell.cell import MergedCell
from openpyxl.formula.tokenizer import Token, Tokenizer, TokenizerError
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.logged import FormulaColumn
from batchcal.workbook.headings import FoundTable

_CELL = re.compile(r"(\$?[A-Za-z]{1,3})(\$?)(\d+)(?![\w(])")
_MOST_FORMS = 8
"""Forms tried on each formula of a column before it is taken apart anew, which takes longer."""

_ROLES_OF_WORK = ("calibration", "runs", "titration", "samples")


@dataclass(frozen=True, slots=True)
class _Form:
    """A formula taken apart: texts and, between them, rows relative to the formula's own."""

    pieces: tuple[str | int, ...]

    @property
    def text(self) -> str:
        return "".join(piece if isinstance(piece, str) else f"[{piece:+d}]" for piece in self.pieces)

    def at(self, row: int) -> str:
        """Return the formula as it reads in a row."""
        return "".join(piece if isinstance(piece, str) else str(row + piece) for piece in self.pieces)


def _take_apart(formula: str, row: int) -> _Form:
    """Return a formula with the rows of its relative references counted from its own row."""
    try:
        tokens = Tokenizer(formula).items
    except TokenizerError:
        return _Form((formula,))
    pieces: list[str | int] = ["="]
    for token in tokens:
        if token.type == Token.OPERAND and token.subtype == Token.RANGE:
            pieces += _references(token.value, row)
        else:
            pieces.append(token.value)
    return _Form(tuple(pieces))


def _references(text: str, row: int) -> Iterator[str | int]:
    sheet, mark, cells = text.rpartition("!")
    yield sheet + mark
    end = 0
    for match in _CELL.finditer(cells):
        yield cells[end : match.start()] + match[1] + match[2]
        yield match[3] if match[2] else int(match[3]) - row
        end = match.end()
    yield cells[end:]


def formula_columns(role: str, table: FoundTable) -> list[FormulaColumn]:
    """Return the number columns of a table in which formulas stand."""
    found = []
    for column in table.columns:
        if column.column.kind != "number":
            continue
        forms: dict[int, str] = {}
        typed: dict[int, float] = {}
        known: dict[str, _Form] = {}
        for row, cell in _below(table.formulas, column.index, table.heading_row):
            formula = _formula(cell)
            if formula is not None:
                forms[row] = _form(formula, row, known)
            elif isinstance(cell.value, int | float) and not isinstance(cell.value, bool):
                typed[row] = float(cell.value)
        if forms:
            found.append(FormulaColumn(role, column.column.field, table.table, forms, typed))
    return found


def _form(formula: str, row: int, known: dict[str, _Form]) -> str:
    for text, form in known.items():
        if form.at(row) == formula:
            return text
    made = _take_apart(formula, row)
    if len(known) < _MOST_FORMS:
        known[made.text] = made
    return made.text


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
