"""Finding the tables of a lab's own sheets before anybody has said what they are: where, and of which shape."""

from collections.abc import Iterator, Mapping, Sequence

from msgspec.structs import replace

from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.columns.arithmetic import FEWEST, KINDS, MOST
from batchcal.workbook.columns.column_map import MapColumn, MapTable
from batchcal.workbook.columns.detect_forms import best_labels, form_of
from batchcal.workbook.columns.detect_readings import readings_of
from batchcal.workbook.columns.detected import (
    FEWEST_HEADINGS,
    Detected,
    portion_of,
    portion_within,
    score_of,
    titled,
    without_portion,
)
from batchcal.workbook.columns.evidence import Seen, see
from batchcal.workbook.columns.fit import Fit, heading_texts, is_heading_row, may_head
from batchcal.workbook.columns.grammar import Heading, parse
from batchcal.workbook.columns.records import is_mean
from batchcal.workbook.grid import Grid
from batchcal.workbook.layout import HEADING_ROWS
from batchcal.workbook.xlsx.references import address

ROWS_LOOKED_AT = 200
"""Rows of a table whose values are looked at when its columns are proposed."""


MOST_LEVELS = 3
"""Rows that the headings of a table may take."""

FILLED = 0.25
"""Share of its columns that a row must fill to be looked at: less have labels and notes."""

_APART = 10_000_000
"""Between the rows of sheets whose values are looked at together."""


def detect(grids: Sequence[Grid]) -> list[Detected]:
    """Return the tables of a workbook; sheets that have the same headings give one."""
    found: list[Detected] = []
    for grid in grids:
        for table in _of_grid(grid):
            like = next((at for at, one in enumerate(found) if _same_form(one, table)), None)
            if like is None:
                found.append(table)
            else:
                found[like] = _joined(found[like], table)
    return found


def _same_form(one: Detected, other: Detected) -> bool:
    alike = one.grid is not other.grid and one.shape == other.shape and one.headings == other.headings
    return alike and titled(one.grid.title, "calibration") == titled(other.grid.title, "calibration")


def _joined(one: Detected, other: Detected) -> Detected:
    """Return one table for sheets of one form, with the values of all of them under its headings."""
    offset = _APART * (len(one.more_sheets) + 1)
    columns = tuple(
        replace(
            seen,
            cells={**seen.cells, **{row + offset: cell for row, cell in more.cells.items()}},
            numbers={**seen.numbers, **{row + offset: number for row, number in more.numbers.items()}},
        )
        for seen, more in zip(one.columns, other.columns, strict=True)
    )
    return Detected(
        one.grid, one.shape, one.heading_row, one.levels, columns, one.tests, one.skip,
        (*one.more_sheets, other.grid.title),
    )  # fmt: skip


def _of_grid(grid: Grid) -> Iterator[Detected]:
    readings = readings_of(grid)
    if readings is not None:
        yield readings
        return
    row, levels, score = _best_heading(grid, 1, min(grid.last_row, HEADING_ROWS))
    column, labels = best_labels(grid)
    if labels > max(score, FEWEST_HEADINGS):
        form = form_of(grid, column)
        if form is not None:
            yield form
            return
    while row:
        fit = _fit(grid, row, levels)
        yield _rows(fit)
        end = _end_of(fit)
        row, levels, _ = _best_heading(grid, end + 1, min(end + MOST_LEVELS, grid.last_row))


def _best_heading(grid: Grid, first: int, last: int) -> tuple[int, int, float]:
    """Return the row (the last of its levels), the levels and the score of the best headings; row 0: none."""
    best = (0, 1, 0.0)
    for row in range(first, last + 1):
        if row not in grid.rows:
            continue
        for levels in range(1, MOST_LEVELS + 1):
            head = range(row - levels + 1, row + 1)
            if head[0] < first or not all(number in grid.rows for number in head):
                break
            if not all(may_head(grid, number) for number in head):
                break
            score = score_of(heading_texts(grid, row, levels)) - 0.01 * levels
            if score > best[2] + 0.001:
                best = (row, levels, score)
    return best if best[2] >= FEWEST_HEADINGS - 0.1 else (0, 1, 0.0)


def _fit(grid: Grid, row: int, levels: int) -> Fit:
    texts = heading_texts(grid, row, levels)
    entries = tuple(MapColumn(text) for text in texts.values())
    return Fit(MapTable(grid.title, "firings", "rows", entries, levels), grid, row, tuple(texts))


def _rows(fit: Fit) -> Detected:
    grid, row, levels = fit.grid, fit.heading_row, fit.table.levels
    texts = heading_texts(grid, row, levels)
    body: dict[int, Mapping[int, Cell]] = {}
    end = _end_of(fit)
    for number, cells in grid.below(row):
        if len(body) >= ROWS_LOOKED_AT or number > end:
            break
        repeated = any(is_heading_row(fit, number + level) for level in range(levels))
        if repeated or any(_names_mean(cells.get(index)) for index in list(texts)[:4]):
            continue
        if sum(index in cells for index in texts) < max(2, FILLED * len(texts)):
            continue
        body[number] = cells
    columns = []
    for index, text in texts.items():
        cells_below = {number: cells[index] for number, cells in body.items() if index in cells}
        columns.append(see(address(row, index), parse(text), cells_below, index=index))
    return _paired(Detected(grid, "rows", row, levels, tuple(columns)))


def _names_mean(cell: Cell | None) -> bool:
    return cell is not None and cell.kind is CellKind.TEXT and is_mean(str(cell.value))


def _end_of(fit: Fit) -> int:
    """Return the last row that belongs to a table: it ends before headings that are not its own."""
    last = fit.heading_row
    for row, _ in fit.grid.below(fit.heading_row):
        if may_head(fit.grid, row):
            texts = heading_texts(fit.grid, row)
            own = any(is_heading_row(fit, row + level) for level in range(fit.table.levels))
            if not own and len(texts) >= FEWEST_HEADINGS and score_of(texts) >= FEWEST_HEADINGS:
                return row - 1
        last = row
    return last


def _paired(table: Detected) -> Detected:
    """Return a table as one of pairs where its columns come twice, for one test portion and the other."""
    groups: dict[tuple[str, str], list[tuple[int, str]]] = {}
    bare: dict[int, Heading] = {}
    for at, seen in enumerate(table.columns):
        text, unit = seen.heading.text, seen.heading.unit
        name, part = portion_of(text)
        heading = parse(without_portion(text))
        if not part:
            name, part = portion_within(text)
            heading = parse(f"{name} ({unit})" if unit else name)
        if part:
            groups.setdefault((name, unit), []).append((at, part))
            bare[at] = replace(heading, text=text, unit=heading.unit or unit, part="")
    pairs = [members for members in groups.values() if len({part for _, part in members}) > 1]
    pairs = [members for members in pairs if not _before_and_after([table.columns[at] for at, _ in members])]
    alike = [members for members in pairs if _alike([table.columns[at] for at, _ in members])]
    if len(alike) < 2 or len(alike) < len(pairs) / 2:
        return table
    parts = {at: part for members in pairs for at, part in members}
    columns = [
        replace(seen, heading=bare[at], part=parts[at]) if at in parts else seen
        for at, seen in enumerate(table.columns)
    ]
    return Detected(table.grid, "pairs", table.heading_row, table.levels, tuple(columns))


def _before_and_after(members: Sequence[Seen]) -> bool:
    """Whether "m1", "m2" or "T1", "T2" are by their figures no test portions, but one reading and the next."""
    if len(members) != 2 or not parse(without_portion(members[0].heading.text)).short:
        return False
    first, last = members
    steps = [last.numbers[row] - number for row, number in first.numbers.items() if row in last.numbers]
    return len(steps) >= FEWEST and any(
        kind.second[0] <= first.middle <= kind.second[1]
        and sum(kind.third[0] <= step <= kind.third[1] for step in steps) >= MOST * len(steps)
        for kind in KINDS
        if kind.alone
    )


def _alike(members: Sequence[Seen]) -> bool:
    """Whether columns hold the same kind of figures, as those of two test portions do."""
    middles = [seen.middle for seen in members if seen.numbers]
    if len(middles) < len(members):
        return not middles
    return min(middles) > 0.8 * max(middles) if min(middles) > 0 else False
