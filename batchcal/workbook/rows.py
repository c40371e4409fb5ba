"""Rows of the program's own tables, kept as their values and written straight to XML.

The library keeps an object for every cell and builds a tree to write it; a long log has a hundred thousand of them. A
row kept here is written once, when the numbers of its formats are known. The frame of the sheet, its headings, its
single lines and every format are the library's.
"""

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import TypeGuard

from openpyxl.cell.cell import Cell
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.workbook.xlsx.markup import escape
from batchcal.workbook.xlsx.references import LETTERS, address

Value = float | str | None
"""What stands in a cell; an empty text is no content."""

OwnRow = Sequence[tuple[int, Value]]
"""A row from its first column on: of each cell the place of its format among the forms of ``Look``, and its value."""

_DIMENSION = re.compile(rb'<dimension ref="[^"]*" ?/>')
_EMPTY_ROW = re.compile(rb'(<row r="(\d+)"[^>]*?) ?(?:/>|></row>)')


def _digits(value: float) -> str:
    """Return a number as the library writes it, or with 17 digits where its 16 would lose the last."""
    short = f"{value:.16g}"
    return short if float(short) == value else repr(value)


def can_hold(value: object) -> TypeGuard[Value]:
    """Return whether a value can stand in such a row."""
    return value is None or isinstance(value, str) or (type(value) is float and math.isfinite(value))


class OwnRows:
    """The rows of one sheet; single cells of the library stand in rows of their own, between them."""

    def __init__(self, sheet: Worksheet) -> None:
        """Begin without rows."""
        self._sheet = sheet
        self._rows: dict[int, OwnRow] = {}
        self._alike: dict[tuple[int, str | None], tuple[int, Value]] = {}
        """Cells that hold no figure, each once: in a long table most of them stand in many rows."""

    def put(self, row: int, cells: OwnRow) -> None:
        """Keep the cells of a row, in which the library has none."""
        alike = self._alike
        self._rows[row] = [
            cell if isinstance(cell[1], float) else alike.setdefault((cell[0], cell[1]), cell) for cell in cells
        ]

    def number(self, forms: Sequence[Cell], numbers: dict[int, int]) -> None:
        """Have the formats of the sheet numbered in the order of its cells, and note the numbers of ``forms``."""
        theirs: dict[int, list[Cell]] = {}
        for (row, _), cell in sorted(self._sheet._cells.items()):
            if isinstance(cell, Cell):
                theirs.setdefault(row, []).append(cell)
        for row in sorted({*theirs, *self._rows}):
            for cell in theirs.get(row, ()):
                _entered(cell)
            for form, _ in self._rows.get(row, ()):
                if form not in numbers:
                    numbers[form] = _entered(forms[form])

    def filled(self, frame: bytes, numbers: Mapping[int, int]) -> Iterator[bytes]:
        """Yield the sheet's part with the rows put in, from ``frame``, in which each stands empty with its height.

        ``numbers`` gives the number that each form has in the workbook that the sheet is for. Each row is let go of.
        """
        if self._rows:
            last_row = max(self._sheet.max_row, *self._rows)
            last_column = max(self._sheet.max_column, *map(len, self._rows.values()))
            used = f'<dimension ref="A1:{address(last_row, last_column)}" />'
            frame = _DIMENSION.sub(used.encode(), frame, count=1)
        done = 0
        for match in _EMPTY_ROW.finditer(frame):
            number = int(match[2])
            cells = self._rows.pop(number, None)
            if cells is not None:
                yield b"%b%b>%b</row>" % (
                    frame[done : match.start()],
                    match[1],
                    _markup(number, cells, numbers).encode(),
                )
                done = match.end()
        yield frame[done:]


def _entered(cell: Cell) -> int:
    """Return the number of a cell's format in its workbook, which enters it there the first time."""
    return cell.style_id


def _markup(number: int, cells: OwnRow, numbers: Mapping[int, int]) -> str:
    parts = []
    for column, (form, value) in enumerate(cells, 1):
        head = f'<c r="{LETTERS[column]}{number}" s="{numbers[form]}"'
        if value is None or value == "":
            parts.append(f'{head} t="n" />')
        elif isinstance(value, str):
            kept = "" if value == value.strip() else ' xml:space="preserve"'
            parts.append(f'{head} t="inlineStr"><is><t{kept}>{escape(value)}</t></is></c>')
        else:
            parts.append(f'{head} t="n"><v>{_digits(value)}</v></c>')
    return "".join(parts)
