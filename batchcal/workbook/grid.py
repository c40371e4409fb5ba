"""A sheet as it is read, whatever file it came from: its filled cells, which rows are hidden, what is merged."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from batchcal.workbook.cells import EMPTY, Cell

NO_CELLS: Mapping[int, Cell] = {}


@dataclass(frozen=True, slots=True)
class Merged:
    """A merged area: its first and last row and column, counted from 1."""

    first_row: int
    first_column: int
    last_row: int
    last_column: int


@dataclass(frozen=True, slots=True)
class Grid:
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
        return max((max(cells) for cells in self.rows.values() if cells), default=0)

    def cell(self, row: int, column: int) -> Cell:
        """Return a cell; an empty one where nothing stands."""
        return self.rows.get(row, NO_CELLS).get(column, EMPTY)

    def below(self, row: int) -> Iterator[tuple[int, Mapping[int, Cell]]]:
        """Yield the rows below ``row`` that have a filled cell, each with its cells."""
        for number, cells in self.rows.items():
            if number > row:
                yield number, cells
