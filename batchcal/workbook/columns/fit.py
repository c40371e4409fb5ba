"""Where the tables of a map stand on a sheet, and what does not fit: headings are compared one by one, in order."""

import difflib
from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.columns.column_map import ANY_FIRING, MapColumn, MapTable
from batchcal.workbook.columns.grammar import LEVEL, tidy
from batchcal.workbook.grid import NO_CELLS, Grid
from batchcal.workbook.layout import HEADING_ROWS
from batchcal.workbook.xlsx.references import LETTERS

SAME = 0.5
"""Share of its headings that a row must have to be taken for a repeated or a changed heading row of a table."""


FEW_NUMBERS = 4
"""Of so many cells of a heading row one may be a number, as of a test portion."""


class Fit(Struct, frozen=True):
    """A table of a map on a sheet: its heading row (the last of its levels), and the column of each heading."""

    table: MapTable
    grid: Grid
    heading_row: int
    indexes: tuple[int, ...]

    @property
    def heading_rows(self) -> range:
        """The rows that its headings take."""
        return range(self.heading_row - self.table.levels + 1, self.heading_row + 1)

    @property
    def columns(self) -> Iterator[tuple[int, MapColumn]]:
        """The columns with what they are, in the order of the sheet."""
        return zip(self.indexes, self.table.headings, strict=False)


class Changed(Struct, frozen=True):
    """A heading row that is not as the map has it, and how it differs."""

    row: int
    changes: tuple[str, ...]


def same(one: str, other: str) -> bool:
    """Whether two headings are the same but for case, blanks and the forms of one sign."""
    return key(one) == key(other)


def key(text: str) -> str:
    """Return what two writings of one heading share."""
    return tidy(text).rstrip(" .:*").casefold()


def heading_texts(grid: Grid, row: int, levels: int = 1) -> dict[int, str]:
    """Return the headings of columns whose last level stands in ``row``, the levels joined, in order of the columns.

    A merged heading, and one with blank neighbours at its right, heads all columns that have a heading below it.
    """
    rows = range(row - levels + 1, row + 1)
    filled = sorted({index for number in rows for index in grid.rows.get(number, NO_CELLS)})
    texts = {}
    for index in filled:
        parts = [text for number in rows if (text := _level_text(grid, number, index, row))]
        if parts:
            texts[index] = LEVEL.join(parts)
    return texts


def _level_text(grid: Grid, number: int, index: int, last: int) -> str:
    text = cell_text(grid.cell(number, index))
    if text or number == last:
        return text
    for area in grid.merged:
        if area.first_row <= number <= area.last_row and area.first_column <= index <= area.last_column:
            # A heading merged down to the last level is said once, there or above.
            return "" if area.first_row < number else cell_text(grid.cell(area.first_row, area.first_column))
    if any(area.first_row <= number <= area.last_row for area in grid.merged):
        return ""  # where some headings of the level are merged, a blank one heads nothing
    if not any(cell_text(grid.cell(below, index)) for below in range(number + 1, last + 1)):
        return ""
    for left in range(index - 1, 0, -1):
        text = cell_text(grid.cell(number, left))
        if text:
            grouped = any(cell_text(grid.cell(below, left)) for below in range(number + 1, last + 1))
            return text if grouped else ""
        if not cell_text(grid.cell(last, left)):
            return ""
    return ""


def cell_text(cell: Cell) -> str:
    """Return what stands in a heading cell on one line; "" for what is no heading."""
    if cell.kind is CellKind.TEXT:
        return tidy(str(cell.value))
    return cell.text if cell.kind is CellKind.NUMBER else ""


def find(table: MapTable, grid: Grid) -> Fit | Changed | None:
    """Return where a table stands on a sheet, how its headings have changed, or None where nothing is like it."""
    wanted = [entry.heading for entry in table.headings]
    best: tuple[float, int, dict[int, str]] = (0.0, 0, {})
    for row in grid.rows:
        if not may_head(grid, row):
            continue
        texts = heading_texts(grid, row, table.levels)
        if fits(wanted, texts.values()):
            return Fit(table, grid, row, tuple(texts))
        share = _share(wanted, texts.values())
        if share > best[0]:
            best = share, row, texts
    if best[0] < SAME:
        return None
    return Changed(best[1], tuple(changes(wanted, best[2])))


def may_head(grid: Grid, row: int) -> bool:
    """Whether a row may be one of headings: hardly a number in it, as data have and headings have not."""
    kinds = [cell.kind for cell in grid.rows.get(row, NO_CELLS).values()]
    return CellKind.TEXT in kinds and FEW_NUMBERS * kinds.count(CellKind.NUMBER) <= len(kinds)


def find_curves(table: MapTable, grid: Grid) -> Fit | Changed | None:
    """Return where a sheet of readings stands whose other columns are headed by firing numbers."""
    wanted = [entry for entry in table.headings if entry.heading != ANY_FIRING]
    for row in range(1, HEADING_ROWS + 1):
        texts = heading_texts(grid, row)
        indexes = [next((index for index, text in texts.items() if same(entry.heading, text)), 0) for entry in wanted]
        if all(indexes):
            named = replace(table, headings=(*wanted, *(e for e in table.headings if e.heading == ANY_FIRING)))
            return Fit(named, grid, row, tuple(indexes))
    return None


def fits(wanted: Sequence[str], texts: Iterable[str]) -> bool:
    """Whether headings are those that are wanted, each one and in order."""
    found = list(texts)
    return len(found) == len(wanted) and all(map(same, wanted, found))


def _share(wanted: Sequence[str], texts: Iterable[str]) -> float:
    folded = {key(text) for text in texts}
    return sum(key(text) in folded for text in wanted) / max(1, len(wanted))


def changes(wanted: Sequence[str], texts: Mapping[int, str]) -> Iterator[str]:
    """Yield how the headings of a sheet differ from those that are wanted, each with its column."""
    indexes, found = list(texts), list(texts.values())
    before, after = ([key(text) for text in side] for side in (wanted, found))
    for kind, low, high, start, end in difflib.SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        if kind == "equal":
            continue
        old, new = wanted[low:high], [(indexes[i], found[i]) for i in range(start, end)]
        for text, (index, now) in zip(old, new, strict=False):
            yield f"column {LETTERS[index]} is headed '{now}', not '{text}'"
        for index, now in new[len(old) :]:
            moved = " (moved)" if any(same(now, text) for text in wanted) else ""
            yield f"column {LETTERS[index]} '{now}' is new{moved}"
        for text in old[len(new) :]:
            if not any(same(text, now) for now in found):
                yield f"'{text}' is gone"


def is_heading_row(fit: Fit, row: int) -> bool:
    """Whether a row below the headings repeats them; the heading of a group counts as well."""
    cells = fit.grid.rows.get(row, NO_CELLS)
    kinds = [cell.kind for index in fit.indexes if (cell := cells.get(index)) is not None]
    texts_here = kinds.count(CellKind.TEXT)
    if texts_here < 2 or 2 * texts_here < len(kinds):
        return False
    texts = heading_texts(fit.grid, row, fit.table.levels) if fit.table.levels > 1 else {}
    hits = total = 0
    for index, entry in fit.columns:
        total += 1
        text = texts.get(index) or cell_text(fit.grid.cell(row, index))
        hits += bool(text) and same(text, entry.heading)
    return hits >= max(2, SAME * total)


def beside(grid: Grid, row: int, index: int, at: str) -> tuple[int, int] | None:
    """Return the cell with the value of a label: the next filled one at its right, or the one below."""
    if at == "below":
        return (row + 1, index) if grid.cell(row + 1, index).kind is not CellKind.EMPTY else None
    right = [column for column, cell in grid.rows.get(row, NO_CELLS).items() if column > index and _filled(cell)]
    return (row, min(right)) if right else None


def _filled(cell: Cell) -> bool:
    return cell.kind is not CellKind.EMPTY
