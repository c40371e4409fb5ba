"""The items of Setup that a map gives: as values, or by the label beside which they stand on a lab's own sheet."""

import datetime as dt
from collections.abc import Iterator, Sequence

from batchcal.errors import WorkbookError
from batchcal.findings import Finding, make
from batchcal.logged import Place, Table
from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.columns.column_map import ColumnMap, Fixed, MapSetup
from batchcal.workbook.columns.fit import beside, cell_text, key
from batchcal.workbook.columns.records import by_comma, with_comma
from batchcal.workbook.columns.views import View
from batchcal.workbook.grid import Grid
from batchcal.workbook.headings import FoundColumn, Line
from batchcal.workbook.layout import SETUP
from batchcal.workbook.xlsx.references import address

_COLUMNS = {column.field: FoundColumn(column, 0, column.name) for column in SETUP.columns}
_HEADINGS = {column.field: column.name for column in SETUP.columns}

Taken = frozenset[tuple[str, int]]
"""Sheet and row of the rows in which a label is a heading or a value."""


def setup_view(column_map: ColumnMap, grids: Sequence[Grid], taken: Taken) -> View:
    """Return the items of a map as a table of Setup; WorkbookError where a label is on no sheet."""
    at_file = Table(column_map.name, 0, {}, _HEADINGS, role=SETUP.role)
    lines: list[Line] = []
    found: list[Finding] = []
    for entry in column_map.setup:
        if not entry.label:
            lines.append(Line(Place(at_file, entry.line), _cells(entry, _cell_of(entry.value))))
            continue
        spots = list(_labelled(entry, grids, taken))
        if not spots:
            where = f"not on sheet {entry.sheet}" if entry.sheet else "on no sheet"
            why = f"the label '{entry.label}' of {entry.item} is {where}"
            raise WorkbookError(make("map-not-fitting", map=column_map.name, why=why).message)
        lines += _agreeing(entry, spots, found)
    grid = Grid(column_map.name, {})
    return View(SETUP, grid, (), at_file, tuple(lines), tuple(found))


def _agreeing(entry: MapSetup, spots: Sequence[tuple[Grid, str, str, Cell]], found: list[Finding]) -> Iterator[Line]:
    """Yield the line of an item: once where the label's values agree, else each, which the reader then refuses."""
    seen: list[Cell] = []
    for grid, label, where, cell in spots:
        number = with_comma(cell) if entry.decimal == "," else None
        value = number or cell
        if value.kind is CellKind.EMPTY or any(value.value == other.value for other in seen):
            continue
        if number is not None:
            found.append(by_comma(grid.title, where, entry.label, 1))
        seen.append(value)
        texts = frozenset({where}) if number is not None else frozenset[str]()
        table = Table(grid.title, 0, {}, _HEADINGS | {"value": entry.label}, role=SETUP.role, texts=texts)
        addresses = dict.fromkeys(_COLUMNS, where) | {"item": label}
        row = int("".join(sign for sign in where if sign.isdigit()))
        yield Line(Place(table, row, addresses), _cells(entry, value))


def _labelled(entry: MapSetup, grids: Sequence[Grid], taken: Taken) -> Iterator[tuple[Grid, str, str, Cell]]:
    wanted = key(entry.label)
    for grid in grids:
        if entry.sheet and grid.title != entry.sheet:
            continue
        for row, cells in grid.rows.items():
            if (grid.title, row) in taken:
                continue
            for index, cell in cells.items():
                if cell.kind is CellKind.TEXT and key(cell_text(cell)) == wanted:
                    where = beside(grid, row, index, entry.at)
                    at = where or (row, index + 1)
                    yield grid, address(row, index), address(*at), grid.cell(*at)


def _cells(entry: MapSetup, value: Cell) -> dict[str, tuple[FoundColumn, Cell]]:
    given = {"item": _cell_of(entry.item), "value": value}
    given |= {name: _cell_of(text) for name, text in (("unit", entry.unit), ("source", entry.source)) if text}
    if entry.in_force_from is not None:
        given["in_force_from"] = _cell_of(entry.in_force_from)
    return {name: (_COLUMNS[name], cell) for name, cell in given.items() if cell.kind is not CellKind.EMPTY}


def _cell_of(value: Fixed | None) -> Cell:
    if value is None or value == "":
        return Cell(CellKind.EMPTY)
    if isinstance(value, float):
        return Cell(CellKind.NUMBER, value)
    if isinstance(value, dt.date):
        return Cell(CellKind.DATE, dt.datetime.combine(value, dt.time()))
    return Cell(CellKind.TEXT, value)
