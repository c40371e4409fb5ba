"""A sheet as it is read, whatever file it came from: its filled cells, which rows are hidden, what is merged."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct, field

from batchcal.workbook.cells import EMPTY, Cell, CellKind

NO_CELLS: Mapping[int, Cell] = {}


class Merged(Struct, frozen=True):
    """A merged area: its first and last row and column, counted from 1."""

    first_row: int
    first_column: int
    last_row: int
    last_column: int


Content = float | Cell
"""What a packed row keeps of a cell: the cell, or of a plain number just the number, which is finite."""


class Filled(Struct, frozen=True, eq=False):
    """How rows are filled that are filled alike: the columns of their cells, ascending.

    ``marked`` are the columns whose cells may have a formula or be struck through.
    """

    columns: tuple[int, ...]
    marked: frozenset[int]


class PackedRow(Mapping[int, Cell]):
    """The filled cells of a row by column, without an object for each: nearly all rows of a long log are such."""

    __slots__ = ("contents", "filled")

    def __init__(self, filled: Filled, contents: Sequence[Content]) -> None:
        self.filled = filled
        self.contents = contents

    def __getitem__(self, column: int) -> Cell:
        """Return the cell in a column; KeyError where none is filled."""
        try:
            return as_cell(self.contents[self.filled.columns.index(column)])
        except ValueError:
            raise KeyError(column) from None

    def __iter__(self) -> Iterator[int]:
        """Yield the columns."""
        return iter(self.filled.columns)

    def __len__(self) -> int:
        """Return how many cells are filled."""
        return len(self.filled.columns)


def as_cell(content: Content) -> Cell:
    """Return the cell that is kept so."""
    return Cell(CellKind.NUMBER, content) if isinstance(content, float) else content


class Grid(Struct, frozen=True):
    """One sheet: ``rows`` holds the filled cells by row and column, counted from 1, both in ascending order."""

    title: str
    rows: Mapping[int, Mapping[int, Cell]]
    hidden_rows: frozenset[int] = frozenset()
    filtered: bool = False
    """Whether a filter or a table stands on the sheet, so that a hidden row may be one that was filtered out."""
    merged: tuple[Merged, ...] = field(default=())

    @property
    def last_row(self) -> int:
        """The last row with a filled cell; 0 on an empty sheet."""
        return max(self.rows, default=0)

    @property
    def last_column(self) -> int:
        """The last column with a filled cell; 0 on an empty sheet."""
        return max((_last(cells) for cells in self.rows.values() if cells), default=0)

    def cell(self, row: int, column: int) -> Cell:
        """Return a cell; an empty one where nothing stands."""
        return self.rows.get(row, NO_CELLS).get(column, EMPTY)

    def below(self, row: int) -> Iterator[tuple[int, Mapping[int, Cell]]]:
        """Yield the rows below ``row`` that have a filled cell, each with its cells."""
        for number, cells in self.rows.items():
            if number > row:
                yield number, cells


def _last(cells: Mapping[int, Cell]) -> int:
    return cells.filled.columns[-1] if isinstance(cells, PackedRow) else max(cells)


def marked_columns(cells: Mapping[int, Cell]) -> Iterable[int]:
    """Return the columns of a row whose cells may have a formula or be struck through."""
    return cells.filled.marked if isinstance(cells, PackedRow) else cells


def last_columns(grids: Sequence[Grid]) -> dict[str, int]:
    """Return the last filled column of each sheet: what stands beyond it in a results workbook is not the lab's."""
    return {grid.title: grid.last_column for grid in grids}
