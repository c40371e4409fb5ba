"""The sheet Setup of the blank workbook: a row an item, in named groups, with what is filled in already."""

from openpyxl.styles import Alignment, Border, Font, Protection, Side
from openpyxl.utils import get_column_letter
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.pagebreak import Break, RowBreak
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.items import SETUP_ITEMS, SetupItem
from batchcal.workbook import limits, styles
from batchcal.workbook.layout import SETUP
from batchcal.workbook.leave import LEAVE_TINT, NAMED_ITEMS
from batchcal.workbook.library import Look, own_cell, solid, write_text
from batchcal.workbook.notes import comment, heading_note
from batchcal.workbook.paper import set_paper
from batchcal.workbook.prefill import Entry, Prefill

GROUPS = {
    "laboratory": "The day", "method": "Method", "bases_required": "Report", "benzoic_heat": "Benzoic acid",
    "wire_heat": "Ignition", "nitric_heat": "Acids", "series_minimum": "Heat capacity", "check_limit": "Checks",
    "shortest_firing_interval": "Times", "reading_resolution": "Temperatures", "heat_capacity_model": "Refinements",
    "coverage_factor": "Uncertainty", "max_charge_energy": "Your safety limits", "laboratory_address": "Certificate",
    "heat_capacity": "One row each",
}  # fmt: skip
"""Captions beside the items, each at the item where its group begins."""

PAGE_BEGINS = "coverage_factor"
"""Item at which the second page begins."""

FIRST_ROW = 3
_GROUP, _ITEM, _VALUE, _UNIT, _SOURCE, _DAY = range(1, 7)
_WIDTHS = (17.0, *(column.width for column in SETUP.columns))
_EDGE, _STRONG = Side("thin", color=styles.LINE), Side("thin", color=styles.STRONG_LINE)
_INK, _CAPTION = Font(styles.FONT, 10, color=styles.INK), Font(styles.FONT, 10, b=True, color=styles.SOFT_INK)


def fill_setup(worksheet: Worksheet, look: Look, filled: Prefill) -> None:
    """Write the sheet: headings with notes, the items in their groups, and what is filled in."""
    _headings(worksheet, look)
    rows = [(item, entry) for item in SETUP_ITEMS for entry in filled.of(item)]
    breaks, seen = RowBreak(), set()
    for row, (item, entry) in enumerate(rows, FIRST_ROW):
        begins = item.key in GROUPS and item.key not in seen
        following = rows[row - FIRST_ROW + 1][0].key if row - FIRST_ROW + 1 < len(rows) else PAGE_BEGINS
        seen.add(item.key)
        if begins and item.key == PAGE_BEGINS:
            breaks.append(Break(id=row - 1))
        _item(worksheet, row, item, entry, GROUPS[item.key] if begins else "", last=following == PAGE_BEGINS)
        if item.key in NAMED_ITEMS:
            place = f"'{worksheet.title}'!${get_column_letter(_VALUE)}${row}"
            book = worksheet.parent
            if book is not None:
                book.defined_names[item.key] = DefinedName(item.key, attr_text=place)
    last = FIRST_ROW + len(rows) - 1
    limits.validate_days(worksheet, f"{get_column_letter(_DAY)}{FIRST_ROW}:{get_column_letter(_DAY)}{last}")
    worksheet.freeze_panes = f"{get_column_letter(_VALUE)}{FIRST_ROW}"
    # Rows have no height of their own, so that one grows with a long Source.
    worksheet.sheet_format.defaultRowHeight = 22
    worksheet.sheet_format.customHeight = True
    set_paper(worksheet, SETUP, _WIDTHS, "1:2")
    worksheet.row_breaks = breaks


def _headings(worksheet: Worksheet, look: Look) -> None:
    for index, width in enumerate(_WIDTHS, 1):
        worksheet.column_dimensions[get_column_letter(index)].width = width
        look.apply(own_cell(worksheet, 1, index), styles.SUBTITLE)
        heading = own_cell(worksheet, 2, index)
        look.apply(heading, styles.HEADING)
        if index == _GROUP:
            continue
        column = SETUP.columns[index - _ITEM]
        write_text(heading, column.heading)
        heading.comment = comment(heading_note(column, needed=column.field in ("item", "value")))
        if column.field not in ("item", "value"):
            heading.font = Font(styles.FONT, 10, color=styles.INK)
    write_text(own_cell(worksheet, 1, 1), SETUP.note)
    worksheet.row_dimensions[1].height = 22
    worksheet.row_dimensions[2].height = 22


def _item(worksheet: Worksheet, row: int, item: SetupItem, entry: Entry | None, caption: str, *, last: bool) -> None:
    cells = {index: own_cell(worksheet, row, index) for index in range(_GROUP, _DAY + 1)}
    write_text(cells[_GROUP], caption)
    write_text(cells[_ITEM], f"{item.name} [{item.labelled}]" if item.labelled else item.name)
    cells[_ITEM].comment = comment(item.note)
    write_text(cells[_UNIT], item.unit or "")
    if entry is not None:
        for index, text in ((_ITEM, entry.name), (_VALUE, entry.value), (_UNIT, entry.unit), (_SOURCE, entry.source)):
            write_text(cells[index], text)
        cells[_VALUE].comment = comment(entry.said)
    leave = _to_leave(item)
    bottom = _STRONG if last else None
    for index, cell in cells.items():
        cell.font = _CAPTION if index == _GROUP else _INK
        cell.border = Border(_EDGE, _EDGE, _STRONG if caption else None if index == _GROUP else _EDGE, bottom)
        cell.alignment = Alignment(
            horizontal="left",
            vertical="center",
            wrap_text=index in (_VALUE, _SOURCE),
            indent=0 if index == _GROUP else 1,
        )
        cell.protection = Protection(locked=index in leave)
        if index in leave:
            cell.fill = solid(LEAVE_TINT)
    cells[_GROUP].border = Border(top=_STRONG if caption else None, bottom=bottom)
    cells[_DAY].number_format = "yyyy-mm-dd"
    cells[_VALUE].number_format = limits.setup_format(item)
    limits.validate_setup(worksheet, item, cells[_VALUE].coordinate)
    lines = 1 if entry is None else styles.lines_needed(entry.source, SETUP.columns[_SOURCE - _ITEM].width - 3)
    if lines > 1:
        worksheet.row_dimensions[row].height = 13 * lines + 5


def _to_leave(item: SetupItem) -> set[int]:
    """Return the columns in which nothing is typed for an item: what it is called, and what it cannot have."""
    leave = {_GROUP} if item.labelled else {_GROUP, _ITEM}
    if item.quantity is None:
        leave.add(_UNIT)
    if item.kind in ("text", "date"):
        leave |= {_SOURCE, _DAY}
    return leave
