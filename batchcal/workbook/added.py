"""The computed columns on the lab's own sheets: to the right of everything, in a style of their own."""

from collections.abc import Callable, Iterable, Sequence
from copy import copy
from dataclasses import dataclass
from typing import Generic, TypeVar

from openpyxl.cell.cell import Cell
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.findings import Finding
from batchcal.logged import Place
from batchcal.model import Evaluation, FiringResult, SampleResult
from batchcal.terms import BASIS_NAMES, Basis
from batchcal.workbook import styles
from batchcal.workbook.styles import Look

LAST_COLUMN = 16_384
"""Columns that a sheet can have."""

Row = TypeVar("Row", FiringResult, SampleResult)


@dataclass(frozen=True, slots=True)
class Computed(Generic[Row]):
    """One computed column: its heading with the unit, how its cells look, and where the value comes from."""

    heading: str
    value: Callable[[Row], float | str | None]
    form: str = "General"
    width: float = 0.0


FIRING_COLUMNS: tuple[Computed[FiringResult], ...] = (
    Computed("Mass (g)", lambda firing: firing.mass_g, "0.0000"),
    Computed("Rise (K)", lambda firing: firing.rise_K, "0.0000"),
    Computed("Corrected rise (K)", lambda firing: firing.corrected_rise_K, "0.0000"),
    Computed("Heat capacity, found or used (J/K)", lambda firing: firing.heat_capacity_J_per_K, "0.0", 19),
    Computed("Ignition (J)", lambda firing: firing.ignition_J, "0.0"),
    Computed("Aid and capsule (J)", lambda firing: firing.aid_J, "0.0"),
    Computed("Nitric acid (J)", lambda firing: firing.nitric_J, "0.0"),
    Computed("Sulphuric acid (J)", lambda firing: firing.sulphuric_J, "0.0"),
    Computed("Gross, as analysed (J/g)", lambda firing: firing.gross_ad_J_per_g, "0.0"),
    Computed("Gross, dry (J/g)", lambda firing: firing.gross_d_J_per_g, "0.0"),
    Computed("Recovery (%)", lambda firing: firing.recovery_percent, "0.00"),
    Computed("State", lambda firing: firing.state, width=14),
    Computed("Reason of the state", lambda firing: firing.reason, width=36),
    Computed("Findings", lambda firing: _codes(firing.findings), width=34),
)


def _gross(basis: Basis) -> Computed[SampleResult]:
    return Computed(f"Gross, {BASIS_NAMES[basis]} (J/g)", lambda sample: sample.gross_J_per_g.get(basis), "0.0")


SAMPLE_COLUMNS: tuple[Computed[SampleResult], ...] = (
    Computed("Firings compared", lambda sample: float(sample.n_used), "0"),
    Computed("Range (J/g)", lambda sample: sample.range_J_per_g, "0.0"),
    Computed("Limit applied (J/g)", lambda sample: sample.limit_J_per_g, "0.0"),
    Computed("Limit less range (J/g)", lambda sample: sample.margin_J_per_g, "0.0"),
    Computed("Rule for further tests", lambda sample: sample.rule),
    *(_gross(basis) for basis in Basis),
    Computed("Gross values are the", lambda sample: sample.statistic),
    Computed("Decision", lambda sample: f"{styles.DECISION_SHAPES[sample.decision]} {sample.decision}", width=12),
    Computed("Reason of the decision", lambda sample: sample.why, width=40),
    Computed("Findings", lambda sample: _codes(sample.findings), width=34),
)


def _codes(findings: Iterable[Finding]) -> str:
    return ", ".join(dict.fromkeys(finding.code for finding in findings))


def add_computed_columns(book: Workbook, evaluation: Evaluation, look: Look) -> tuple[str, ...]:
    """Write the computed columns and return the sheets that have no room left for them at their right."""
    by_sheet: dict[str, list[tuple[Place, FiringResult]]] = {}
    for firing in evaluation.firings:
        by_sheet.setdefault(firing.row.place.sheet, []).append((firing.row.place, firing))
    full = [name for name, rows in by_sheet.items() if not _write(book[name], rows, FIRING_COLUMNS, look)]
    samples = [(result.row.place, result) for result in evaluation.samples if result.row is not None]
    if samples:
        name = samples[0][0].sheet
        if not _write(book[name], samples, SAMPLE_COLUMNS, look):
            full.append(name)
    return tuple(full)


def _write(sheet: Worksheet, rows: Sequence[tuple[Place, Row]], columns: Sequence[Computed[Row]], look: Look) -> bool:
    first = _first_free_column(sheet, len(columns))
    if first is None:
        return False
    heading_row = rows[0][0].table.heading_row
    _make_room(sheet, first, first + len(columns) - 1)
    for index, column in enumerate(columns, first):
        heading = sheet.cell(heading_row, index)
        if isinstance(heading, Cell):
            look.apply(heading, styles.COMPUTED_HEADING)
            styles.write_text(heading, column.heading)
        dimension = sheet.column_dimensions[get_column_letter(index)]
        dimension.width = column.width or max(11.0, len(column.heading) + 2.0)
        dimension.outlineLevel = 1
        for place, result in rows:
            cell = sheet.cell(place.row, index)
            if isinstance(cell, Cell):
                _fill(cell, column.value(result), column.form, look)
    _keep_print_size(sheet)
    # Without it the bar that folds the columns has no room; the library sets it one save too late.
    levels = [dimension.outlineLevel or 0 for dimension in sheet.column_dimensions.values()]
    sheet.column_dimensions.max_outline = max(levels)
    return True


def _fill(cell: Cell, value: float | str | None, form: str, look: Look) -> None:
    look.apply(cell, styles.COMPUTED)
    if isinstance(value, str):
        styles.write_text(cell, value)
    elif value is not None:
        cell.value = value
        cell.number_format = form


def _first_free_column(sheet: Worksheet, count: int) -> int | None:
    """Return the column where ``count`` columns fit, with an empty one before them; None where none do.

    Cells that are merely formatted are passed by too, unless they leave no room.
    """
    drawn = _last_drawn_column(sheet)
    for edge in (sheet.max_column, _last_filled_column(sheet)):
        first = max(edge, drawn) + 2
        if first + count - 1 <= LAST_COLUMN:
            return first
    return None


def _last_filled_column(sheet: Worksheet) -> int:
    filled = [cell.column for cell in sheet._cells.values() if cell.value is not None or cell.comment is not None]
    merged = [area.max_col for area in sheet.merged_cells.ranges]
    return max([*filled, *merged], default=0)


def _last_drawn_column(sheet: Worksheet) -> int:
    """Return the last column that a chart or picture of the lab covers, as far as it is known."""
    last = 0
    for drawing in (*getattr(sheet, "_charts", ()), *getattr(sheet, "_images", ())):
        for corner in (getattr(drawing.anchor, "_from", None), getattr(drawing.anchor, "to", None)):
            if corner is not None:
                last = max(last, corner.col + 1)
    return last


def _keep_print_size(sheet: Worksheet) -> None:
    """Give a sheet that prints fitted to a number of pages wide one page more, so that its own print stays legible."""
    properties = sheet.sheet_properties.pageSetUpPr
    if properties is not None and properties.fitToPage and not sheet.print_area:
        sheet.page_setup.fitToWidth = (sheet.page_setup.fitToWidth or 1) + 1


def _make_room(sheet: Worksheet, first: int, last: int) -> None:
    """Cut the lab's column widths where one entry spans ours too: entries that overlap damage a workbook."""
    for dimension in list(sheet.column_dimensions.values()):
        low, high = dimension.min, dimension.max
        if low is None or high is None or high < first or low > last:
            continue
        if high > last:
            after = copy(dimension)
            after.index, after.min, after.max = get_column_letter(last + 1), last + 1, high
            sheet.column_dimensions[get_column_letter(last + 1)] = after
        if low < first:
            dimension.max = first - 1
        else:
            del sheet.column_dimensions[dimension.index]
