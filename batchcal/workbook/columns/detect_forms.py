"""Finding forms: known labels down the side, test portions across."""

from collections.abc import Sequence

from msgspec.structs import replace

from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.columns.detected import Detected, score_of, sign_of
from batchcal.workbook.columns.evidence import see
from batchcal.workbook.columns.fit import cell_text
from batchcal.workbook.columns.forms import label_texts
from batchcal.workbook.columns.grammar import LEVEL, parse, unit_of
from batchcal.workbook.columns.records import is_mean
from batchcal.workbook.columns.variants import look_up
from batchcal.workbook.grid import NO_CELLS, Grid
from batchcal.workbook.xlsx.references import address

FARTHEST = 60
"""The first form of a sheet is looked for in this many rows."""


def best_labels(grid: Grid) -> tuple[int, float]:
    """Return the column with the most known labels down the side, each counted once, and their score."""
    best = (0, 0.0)
    for column in range(1, min(grid.last_column, 12) + 1):
        texts = dict(enumerate(dict.fromkeys(text for _, text in label_texts(grid, column))))
        score = score_of(texts)
        if score > best[1]:
            best = (column, score)
    return best


def form_of(grid: Grid, column: int) -> Detected | None:
    """Return the forms of a sheet: their labels up to where the first one is repeated, and the test portions."""
    texts = list(label_texts(grid, column))
    tests, skip, first = _tests(grid, column)
    at = next((i for i, (row, text) in enumerate(texts) if row >= first and look_up(parse(text)).fields), None)
    if at is None or not tests:
        return None
    block = [texts[at]]
    for entry in texts[at + 1 :]:
        if entry[1] == texts[at][1]:
            break
        block.append(entry)
    while block and not look_up(parse(block[-1][1])).fields:
        block.pop()
    unit_column = _unit_column(grid, column, block, min(index for _, index in tests))
    lines = []
    for number, text in block:
        unit = cell_text(grid.cell(number, unit_column)) if unit_column else ""
        heading = parse(f"{text}{LEVEL}{unit}" if unit_of(unit) else text)
        cells = _across(grid, texts, text, tests)
        lines.append(see(address(number, column), replace(heading, text=text), cells, index=column))
    return Detected(grid, "forms", block[0][0], 1, tuple(lines), tuple(name for name, _ in tests), skip)


def _across(
    grid: Grid, texts: Sequence[tuple[int, str]], label: str, tests: Sequence[tuple[str, int]]
) -> dict[int, Cell]:
    """Return the cells of a label in all blocks and test portions, by a running number that all labels share."""
    cells = {}
    rows = [row for row, text in texts if text == label]
    for block, row in enumerate(rows):
        for at, (_, index) in enumerate(tests):
            cell = grid.rows.get(row, NO_CELLS).get(index)
            if cell is not None and cell.kind is not CellKind.EMPTY:
                cells[block * 10 + at] = cell
    return cells


def _tests(grid: Grid, column: int) -> tuple[list[tuple[str, int]], tuple[str, ...], int]:
    """Return the headings across of test portions with their columns, those of means, and the first row of them."""
    for number in range(1, min(grid.last_row, FARTHEST) + 1):
        across = [(cell_text(c), index) for index, c in grid.rows.get(number, NO_CELLS).items() if index > column]
        tests = [(text, index) for text, index in across if text and (sign_of(text) or parse(text).part)]
        if len(tests) > 1 and len({text for text, _ in tests}) == len(tests):
            skip = tuple(text for text, _ in across if text and is_mean(text))
            return tests, skip, number
    return [], (), 0


def _unit_column(grid: Grid, column: int, block: Sequence[tuple[int, str]], first_test: int) -> int:
    """Return the column between the labels and the test portions that holds units, 0 where there is none."""
    for index in range(column + 1, first_test):
        texts = [text for row, _ in block if (text := cell_text(grid.cell(row, index)))]
        if texts and sum(bool(unit_of(text)) for text in texts) >= len(texts) / 2:
            return index
    return 0
