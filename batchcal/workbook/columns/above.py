"""Labels above a table, and between its rows: each value holds for the rows below it until it is changed."""

from collections.abc import Collection

from batchcal.workbook.cells import CellKind
from batchcal.workbook.columns.column_map import ColumnMap
from batchcal.workbook.columns.fit import beside, cell_text, key
from batchcal.workbook.columns.records import Recorded, Spot
from batchcal.workbook.xlsx.references import address

FULL = 3
"""A row with more filled cells than this for each label in it is one of data."""


class Above:
    """The labels of one table on one sheet, with the spots of their values."""

    def __init__(self, recorded: Recorded, column_map: ColumnMap, *, heads: Collection[int], last: int) -> None:
        """Look for the labels of the table and of Setup in all rows up to ``last`` but those of headings."""
        self._found: dict[str, list[tuple[int, Spot]]] = {}
        self._rows: set[int] = set()
        entries = {key(entry.heading): entry for entry in recorded.table.above if entry.means}
        labels = {key(entry.label) for entry in column_map.setup if entry.label} | set(entries)
        if not labels:
            return
        for row, cells in recorded.grid.rows.items():
            if row > last or row in heads:
                continue
            names = {index: key(cell_text(cell)) for index, cell in cells.items() if cell.kind is CellKind.TEXT}
            known = {index: name for index, name in names.items() if name in labels}
            if not known or len(cells) > FULL * len(known):
                continue
            self._rows.add(row)
            for index, name in known.items():
                entry = entries.get(name)
                where = beside(recorded.grid, row, index, entry.at) if entry is not None else None
                if entry is None or where is None:
                    continue
                spot = recorded.take(entry, recorded.grid.cell(*where), address(*where))
                if spot is not None:
                    self._found.setdefault(entry.means, []).append((row, spot))

    def passes(self, row: int) -> bool:
        """Whether a row is one of labels, and no record."""
        return row in self._rows

    @property
    def rows(self) -> frozenset[int]:
        """The rows of labels."""
        return frozenset(self._rows)

    def holding(self, row: int) -> dict[str, Spot]:
        """Return what holds for a row: of each label the last one above it."""
        found = {}
        for means, spots in self._found.items():
            before = [spot for at, spot in spots if at < row]
            if before:
                found[means] = before[-1]
        return found
