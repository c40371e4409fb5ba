"""The sheets of a workbook's package as grids."""

from batchcal.workbook.grid import Grid
from batchcal.workbook.xlsx.dates import SINCE_1900, SINCE_1904
from batchcal.workbook.xlsx.formats import cell_formats
from batchcal.workbook.xlsx.package import Package, shown
from batchcal.workbook.xlsx.sheets import read_sheet
from batchcal.workbook.xlsx.stored import Stored
from batchcal.workbook.xlsx.strings import shared_strings

MAX_CELLS = 20_000_000
"""Filled cells of a workbook; a log of 100 000 firings has a fifth of them."""

_WITHOUT_CELLS = ("chartsheet", "dialogsheet", "xlMacrosheet", "xlIntlMacrosheet")
"""Kinds of sheets on which nothing is logged."""


def grids(package: Package) -> tuple[Grid, ...]:
    """Return what stands on the worksheets of a workbook, in their order.

    Sheets of charts, dialogs and macros hold no log and are passed over. Raises WorkbookError with one line, and
    nothing else, where anything of the workbook that has to do with its cells is damaged or contradicts itself.
    """
    sheets = [sheet for sheet in package.sheets if sheet.kind not in _WITHOUT_CELLS]
    for sheet in sheets:
        if sheet.kind != "worksheet":
            raise package.refused(f"sheet {shown(sheet.title)} is of a kind that is not known ({shown(sheet.kind)})")
    if not sheets:
        raise package.refused("has no sheet with cells")
    epoch = SINCE_1904 if package.counts_from_1904 else SINCE_1900
    stored = Stored(shared_strings(package), cell_formats(package), epoch)
    found = []
    room = MAX_CELLS
    for sheet in sheets:
        grid, count = read_sheet(package, sheet, stored, room)
        room -= count
        found.append(grid)
    return tuple(found)
