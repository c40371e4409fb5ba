"""Finding readings: minutes down, and temperatures in a column for each firing or on a sheet for each firing."""

from itertools import pairwise

from msgspec.structs import replace

from batchcal.reference import headings as known
from batchcal.workbook.columns.detected import Detected
from batchcal.workbook.columns.evidence import Seen, see
from batchcal.workbook.columns.fit import heading_texts
from batchcal.workbook.columns.grammar import Heading, fold, parse
from batchcal.workbook.columns.variants import OF_READINGS
from batchcal.workbook.grid import Grid
from batchcal.workbook.layout import HEADING_ROWS
from batchcal.workbook.xlsx.references import address

FEWEST = 6
"""Readings without which a column is taken for none."""

WARM = (10.0, 45.0)
"""Where the middle of the temperatures of a firing lies, in °C; common practice, no source."""

TIME, TEMPERATURE = OF_READINGS


def readings_of(grid: Grid) -> Detected | None:
    """Return the readings of a sheet, or None where it holds something else."""
    for row in range(1, min(grid.last_row, HEADING_ROWS) + 1):
        texts = heading_texts(grid, row)
        if len(texts) < 2 or row not in grid.rows:
            continue
        head, *others = texts.items()
        if not _says_time(parse(head[1])):
            continue
        first = _column(grid, row, *head)
        if not _rises(first):
            continue
        rest = [_column(grid, row, index, text) for index, text in others]
        filled = [seen for seen in rest if len(seen.numbers) >= FEWEST]
        warm = [seen for seen in filled if WARM[0] <= seen.middle <= WARM[1]]
        if not warm or len(warm) < len(filled):
            continue
        if all(any(sign.isdigit() for sign in seen.heading.name) for seen in warm):
            return Detected(grid, "curves", row, 1, (first, *warm))
        if len(warm) == 1 and _says(warm[0].heading, "temperature", "°C"):
            return Detected(
                grid, "rows", row, 1,
                (_named(first, TIME), *(_named(seen, TEMPERATURE) if seen is warm[0] else seen for seen in rest)),
            )  # fmt: skip
    return None


def _named(seen: Seen, name: str) -> Seen:
    return replace(seen, heading=replace(seen.heading, name=name))


def _column(grid: Grid, row: int, index: int, text: str) -> Seen:
    cells = {number: cells[index] for number, cells in grid.below(row) if index in cells}
    return see(address(row, index), parse(text), cells, index=index)


def _says_time(heading: Heading) -> bool:
    return _says(heading, "time", "min") or heading.unit == "s"


def _rises(seen: Seen) -> bool:
    times = list(seen.numbers.values())
    return len(times) >= FEWEST and all(low < high for low, high in pairwise(times))


def _says(heading: Heading, kind: str, unit: str) -> bool:
    words = {fold(word) for word in known.words(kind)}
    return heading.unit == unit or heading.name in words or heading.name.split(" ")[0] in words
