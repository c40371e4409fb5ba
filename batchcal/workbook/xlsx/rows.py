"""The rows and cells of a worksheet part: the loop that a long log passes through a million times."""

from collections.abc import Mapping

from batchcal.errors import WorkbookError
from batchcal.workbook.cells import EMPTY, Cell, CellKind
from batchcal.workbook.grid import PackedRow
from batchcal.workbook.xlsx.package import shown
from batchcal.workbook.xlsx.references import (
    LAST_COLUMN,
    LAST_ROW,
    LETTERS,
    UnfitError,
    address,
    cell_place,
    row_number,
)
from batchcal.workbook.xlsx.shared_formulas import SharedFormula
from batchcal.workbook.xlsx.stored import Stored
from batchcal.workbook.xlsx.stream import Stream
from batchcal.workbook.xlsx.strings import RichText

_IN_DATA, _IN_ROW, _IN_CELL, _IN_VALUE, _IN_FORMULA = range(5)
_TRUE = ("1", "true")


class RowReader:
    """Reads the rows of one sheet. ``hidden`` holds the hidden ones, ``count`` is the number of filled cells."""

    __slots__ = (
        "_ascending", "_before", "_cell_name", "_cells", "_column", "_columns_ascending", "_digits", "_formula",
        "_formula_attributes", "_formula_name", "_gaps", "_inline", "_inline_name", "_kind", "_looks", "_more_name",
        "_number", "_pieces", "_place", "_rich", "_room", "_row_name", "_rows", "_shared", "_stored", "_stream",
        "_style", "_title", "_value", "_value_name", "_waiting", "count", "ended", "hidden",
    )  # fmt: skip

    def __init__(self, stream: Stream, title: str, stored: Stored, room: int) -> None:
        self._stream = stream
        self._title = title
        self._stored = stored
        self._looks = stored.looks
        self._room = room
        self._rows: dict[int, Mapping[int, Cell]] = {}
        self._ascending = True
        self._shared: dict[str, SharedFormula] = {}
        self._waiting: list[tuple[str, int, int]] = []
        """Cells of shared formulas that stand before the formula: its index, row and column."""
        self.hidden: set[int] = set()
        self.count = 0
        self.ended = -1
        """Where the last row that was parsed ended, or the element with the rows began, among the parsed bytes."""
        self._pieces = stream.pieces
        self._place = _IN_DATA
        # The row that is being read.
        self._number = 0
        self._digits = ""
        self._cells: dict[int, Cell] = {}
        self._gaps = False
        """Whether a cell is empty; such cells are kept until the end of the row, so that none stands twice."""
        self._columns_ascending = True
        # The cell that is being read.
        self._column = 0
        self._kind = self._style = ""
        self._value: str | None = None
        self._inline: str | None = None
        self._formula: str | None = None
        self._formula_attributes: dict[str, str] = {}

    def begin(self) -> None:
        """Read the element with the rows, which has just begun; at its end all goes on as before."""
        stream = self._stream
        self._row_name, self._cell_name, self._value_name, self._formula_name, self._inline_name, self._more_name = (
            stream.space + name for name in ("row", "c", "v", "f", "is", "extLst")
        )
        self._rich = RichText(stream)
        self._before = stream.handlers()
        self._pieces.clear()
        self.ended = stream.at()
        stream.handle(self._start, self._end)

    def last(self) -> int:
        """Return the number of the row that was read last; beyond all rows where they are not in their order."""
        return self._number if self._ascending else LAST_ROW

    def add(self, rows: dict[int, PackedRow], filled: int) -> None:
        """Take rows that need no parser, with so many filled cells; all are in their order, and after those read."""
        if rows:
            self._rows.update(rows)
            self._number = next(reversed(rows))
            self._count(filled)

    def shared_formula(self, index: str, row: int, column: int) -> str:
        """Return the formula of a cell that shares it; UnfitError where it did not stand before."""
        formula = self._shared.get(index)
        if formula is None:
            raise UnfitError("shares a formula that comes later")
        return self._moved(formula, row, column)

    def finished(self) -> dict[int, Mapping[int, Cell]]:
        """Return the filled cells by row and column, both ascending; WorkbookError where a formula is missing."""
        for index, row, column in self._waiting:
            formula = self._shared.get(index)
            if formula is None:
                raise self._at(row, column, f"shares the formula {shown(index)!r}, which the sheet does not have")
            try:
                text = self._moved(formula, row, column)
            except UnfitError as error:
                raise self._at(row, column, str(error)) from error
            cells = dict(self._rows[row])
            cells[column] = cells[column]._replace(formula=text)
            self._rows[row] = cells
        rows = {number: cells for number, cells in self._rows.items() if cells}
        return rows if self._ascending else dict(sorted(rows.items()))

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        if name == self._value_name and self._place == _IN_CELL:
            if self._value is not None:
                raise self._here("holds two values")
            if self._pieces:
                self._refuse_words()
            self._place = _IN_VALUE
        elif name == self._cell_name and self._place == _IN_ROW:
            self._place = _IN_CELL
            self._column += 1
            reference = attributes.get("r")
            if reference != LETTERS[self._column] + self._digits:
                self._move(reference)
            if not self._columns_ascending and self._column in self._cells:
                raise self._here("stands twice; which of the two counts, nobody can say")
            self._kind = attributes.get("t", "n")
            self._style = attributes.get("s", "0")
            self._value = self._inline = self._formula = None
        else:
            self._start_other(name, attributes)

    def _start_other(self, name: str, attributes: dict[str, str]) -> None:
        if self._place in (_IN_VALUE, _IN_FORMULA):
            raise self._stream.unknown(name)
        if self._pieces:
            self._refuse_words()
        if name == self._row_name and self._place == _IN_DATA:
            self._place = _IN_ROW
            self._start_row(attributes)
        elif name == self._formula_name and self._place == _IN_CELL:
            if self._formula is not None:
                raise self._here("holds two formulas")
            self._place = _IN_FORMULA
            self._formula_attributes = attributes
        elif name == self._inline_name and self._place == _IN_CELL:
            if self._inline is not None:
                raise self._here("holds two texts")
            self._rich.begin(self._read_inline)
        elif name == self._more_name and self._place in (_IN_ROW, _IN_CELL):
            self._stream.skip()
        else:
            raise self._stream.unknown(name)

    def _end(self, _name: str) -> None:
        place = self._place
        if place == _IN_VALUE:
            self._place = _IN_CELL
            pieces = self._pieces
            self._value = pieces[0] if len(pieces) == 1 else "".join(pieces)
            pieces.clear()
        elif place == _IN_CELL:
            self._place = _IN_ROW
            try:
                cell = self._cell()
            except UnfitError as error:
                raise self._here(str(error)) from error
            if cell is EMPTY:
                self._gaps = True
            self._cells[self._column] = cell
        elif place == _IN_FORMULA:
            self._place = _IN_CELL
            self._formula = "".join(self._pieces)
            self._pieces.clear()
        else:
            if self._pieces:
                self._refuse_words()
            if place == _IN_ROW:
                self._place = _IN_DATA
                self._end_row()
            else:
                self._stream.handle(*self._before)

    def _read_inline(self, text: str) -> None:
        self._inline = text

    def _cell(self) -> Cell:
        """Return the cell that has been read; the empty one where nothing is stored."""
        look = self._looks.get(self._style) or self._stored.look(self._style)
        value = self._value
        cell: Cell | None
        if self._inline is not None:
            if self._kind != "inlineStr" or value:
                raise UnfitError("holds a text and is said to hold something else")
            cell = self._stored.word(self._inline, look)
        elif value is None:
            cell = None
        elif self._kind == "n":
            cell = look.numbers.get(value) or self._stored.number(value, look)
        elif self._kind == "s":
            cell = look.texts.get(value) or self._stored.shared(value, look)
        else:
            cell = self._stored.other(self._kind, value, look)
        if self._formula is None:
            return EMPTY if cell is None else cell
        text = self._own_formula(self._formula)
        if cell is None:
            return Cell(CellKind.UNCALCULATED, None, text, look.struck)
        return Cell(cell.kind, cell.value, text, look.struck)

    def _move(self, reference: str | None) -> None:
        """Go to the column of a cell that is not the next one by its reference, or has none."""
        if reference is None:
            if self._column > LAST_COLUMN:
                raise self._refused(f"row {self._number} has more cells than columns; a sheet has {LAST_COLUMN}")
            return
        try:
            row, column = cell_place(reference)
        except UnfitError as error:
            raise self._refused(f"is damaged: in row {self._number}, {error}") from error
        if row != self._number:
            raise self._at(row, column, f"stands in row {self._number}")
        self._columns_ascending = self._columns_ascending and column >= self._column
        self._column = column

    def _start_row(self, attributes: dict[str, str]) -> None:
        """Begin a row; one without a number is the one after the row before."""
        text = attributes.get("r")
        try:
            number = row_number(str(self._number + 1) if text is None else text)
        except UnfitError as error:
            raise self._refused(f"is damaged: {error}") from error
        if number in self._rows:
            raise self._refused(f"is damaged: row {number} stands twice; which of the two counts, nobody can say")
        self._ascending = self._ascending and number > self._number
        if attributes.get("hidden", "0").strip() in _TRUE:
            self.hidden.add(number)
        self._number, self._digits, self._column = number, str(number), 0
        self._cells = {}
        self._rows[number] = self._cells
        self._gaps, self._columns_ascending = False, True

    def _end_row(self) -> None:
        cells = self._cells
        if self._gaps:
            cells = {column: cell for column, cell in cells.items() if cell is not EMPTY}
        if not self._columns_ascending:
            cells = dict(sorted(cells.items()))
        self._rows[self._number] = cells
        self.ended = self._stream.at()
        self._count(len(cells))

    def _count(self, filled: int) -> None:
        self.count += filled
        if self.count > self._room:
            raise self._refused("has more filled cells than any log needs; refused")

    def _own_formula(self, text: str) -> str:
        """Return the formula of the cell with its sign; one that it shares is moved along from where it is written."""
        attributes, row, column = self._formula_attributes, self._number, self._column
        kind = attributes.get("t")
        if kind == "dataTable":
            return f"=TABLE({attributes.get('r1', '')},{attributes.get('r2', '')})"
        written = "=" + text.removeprefix("=")
        if kind != "shared":
            return written
        index = attributes.get("si", "")
        if text:
            self._shared[index] = SharedFormula(written, row, column)
            return written
        formula = self._shared.get(index)
        if formula is None:
            self._waiting.append((index, row, column))
            return written
        return self._moved(formula, row, column)

    def _moved(self, formula: SharedFormula, row: int, column: int) -> str:
        text = formula.at(row, column)
        self._stored.count(len(text))
        return text

    def _refuse_words(self) -> None:
        """Refuse words between the elements, where they are the value of no cell; blanks there say nothing."""
        words = "".join(self._pieces).strip()
        if words:
            where = f"at row {self._number} it has the words {shown(words)!r} outside of every cell's value"
            raise self._refused(f"is damaged: {where}")
        self._pieces.clear()

    def _refused(self, reason: str) -> WorkbookError:
        return self._stream.refused(f"sheet {shown(self._title)} {reason}")

    def _here(self, reason: str) -> WorkbookError:
        return self._at(self._number, self._column, reason)

    def _at(self, row: int, column: int, reason: str) -> WorkbookError:
        return self._stream.refused(f"sheet {shown(self._title)}, cell {address(row, column)} {reason}")
