"""Forms: fields down the side, test portions across, one block below another or one on each sheet."""

from collections.abc import Iterator

from msgspec import Struct

from batchcal.workbook.cells import CellKind
from batchcal.workbook.columns.above import Above
from batchcal.workbook.columns.column_map import ColumnMap, MapColumn, MapTable
from batchcal.workbook.columns.fit import SAME, Changed, cell_text, changes, fits, key, same
from batchcal.workbook.columns.records import INPUTS, Record, Recorded, Spot, Standing
from batchcal.workbook.grid import NO_CELLS, Grid
from batchcal.workbook.xlsx.references import address

OF_THE_FIRING = INPUTS | {
    "Firing no.", "Replicate", "Time", "Outcome", "Use", "Reason", "Crucible no.", "Wire fitted", "Wire left",
    "Wire mass", "Thread", "Aid mass", "Aid 2 mass", "Capsule mass", "Heat-exchange correction", "Residue", "Titre",
    "Burette start", "Burette end", "Own gross, ad", "Own gross, d", "Own heat capacity",
}  # fmt: skip
"""What each test portion has for itself: a blank cell is blank. All else holds for the whole block."""


class Block(Struct, frozen=True):
    """One block: the row of each label, and the column of each test portion by its heading."""

    rows: tuple[int, ...]
    tests: tuple[tuple[str, int], ...]


class Forms(Struct, frozen=True):
    """A table of forms on a sheet: the column of its labels, and its blocks."""

    table: MapTable
    grid: Grid
    label_column: int
    blocks: tuple[Block, ...]

    @property
    def heading_rows(self) -> tuple[int, ...]:
        """The rows of all blocks, none of which belongs to another table."""
        return tuple(row for block in self.blocks for row in block.rows)


def find_forms(table: MapTable, grid: Grid) -> Forms | Changed | None:
    """Return the blocks of a sheet, how the labels of one have changed, or None where nothing is like them."""
    wanted = [entry.heading for entry in table.headings]
    first = key(wanted[0])
    best: tuple[int, int] = (0, 0)
    for column in range(1, grid.last_column + 1):
        hits = sum(any(same(text, label) for label in wanted) for _, text in label_texts(grid, column))
        best = max(best, (hits, -column))
    column = -best[1]
    if best[0] < max(1, SAME * len(wanted)):
        return None
    blocks: list[Block] = []
    texts = list(label_texts(grid, column))
    starts = [at for at, (_, text) in enumerate(texts) if key(text) == first]
    if not starts:
        return Changed(texts[0][0], (f"'{wanted[0]}' is gone",))
    for start, end in zip(starts, [*starts[1:], len(texts)], strict=True):
        members = _labels_of(texts[start:end], wanted)
        if not fits(wanted, (text for _, text in members)):
            return Changed(members[0][0], tuple(changes_of_labels(wanted, members)))
        rows = tuple(row for row, _ in members)
        tests = tests_of(table, grid, rows[0], column, blocks[-1].rows[-1] if blocks else 0)
        if tests is None:
            return Changed(rows[0], (f"the headings of the test portions {', '.join(table.tests)} are not there",))
        blocks.append(Block(rows, tests))
    return Forms(table, grid, column, tuple(blocks))


def label_texts(grid: Grid, column: int) -> Iterator[tuple[int, str]]:
    """Yield the texts of a column with their rows."""
    for row, cells in grid.rows.items():
        cell = cells.get(column)
        if cell is not None and cell.kind is CellKind.TEXT and (text := cell_text(cell)):
            yield row, text


def _labels_of(texts: list[tuple[int, str]], wanted: list[str]) -> list[tuple[int, str]]:
    """Return the labels of one block: up to the last one that is wanted; a title of the next block is none."""
    known = {key(text) for text in wanted}
    last = max(at for at, (_, text) in enumerate(texts) if key(text) in known)
    return texts[: last + 1]


def changes_of_labels(wanted: list[str], members: list[tuple[int, str]]) -> Iterator[str]:
    """Yield how the labels of a block differ from those that are wanted."""
    for change in changes(wanted, dict(members)):
        yield change.replace("column ", "label ", 1) if change.startswith("column ") else change


def tests_of(table: MapTable, grid: Grid, row: int, column: int, above: int) -> tuple[tuple[str, int], ...] | None:
    """Return the columns of the test portions: their headings stand on the row of the first label or above it."""
    wanted = [*table.tests, *table.skip]
    for number in range(row, above, -1):
        found = {
            key(text): index
            for index, cell in grid.rows.get(number, NO_CELLS).items()
            if index > column and (text := cell_text(cell))
        }
        if all(key(test) in found for test in wanted):
            return tuple((test, found[key(test)]) for test in table.tests)
    return None


def of_forms(forms: Forms, column_map: ColumnMap) -> Recorded:
    """Return a record for each test portion of each block that has a weighing or a temperature."""
    table, grid = forms.table, forms.grid
    recorded = Recorded(table, grid)
    entries = {entry.means: entry for entry in table.headings if entry.means}
    above = Above(recorded, column_map, heads=forms.heading_rows, last=grid.last_row)
    for test in table.tests:
        recorded.standings.append(Standing(forms.blocks[0].rows[0], {}, entries, test))
    for block in forms.blocks:
        first = min(index for _, index in block.tests)
        for test, index in block.tests:
            spots: dict[str, Spot] = above.holding(block.rows[0])
            for row, entry in zip(block.rows, table.headings, strict=True):
                spot = _spot(recorded, entry, row, index, first)
                if spot is not None:
                    spots[entry.means] = spot
            record = Record(block.rows[0], spots, test)
            if record.has_inputs:
                recorded.records.append(record)
    return recorded.close()


def _spot(recorded: Recorded, entry: MapColumn, row: int, index: int, first: int) -> Spot | None:
    """Return the cell of one test portion; of what holds for the whole block the first one that is filled."""
    if not entry.means:
        return None
    cells = recorded.grid.rows.get(row, NO_CELLS)
    own = recorded.take(entry, cells[index], address(row, index)) if index in cells else None
    if own is not None or entry.means in OF_THE_FIRING:
        return own
    if first in cells:
        return recorded.take(entry, cells[first], address(row, first))
    return None
