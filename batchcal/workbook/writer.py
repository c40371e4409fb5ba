"""The results workbook: the lab's own workbook with computed columns and the sheets Results, Findings and Record."""

from collections.abc import Callable, Sequence

from openpyxl.workbook import Workbook

from batchcal.model import Evaluation, Quantity
from batchcal.workbook.added import add_computed_columns
from batchcal.workbook.carried import parts_not_carried
from batchcal.workbook.layout import FINDINGS_SHEET, RECORD_SHEET, RESULTS_SHEET
from batchcal.workbook.package import load, save
from batchcal.workbook.record import fill_record
from batchcal.workbook.results import fill_findings, fill_results
from batchcal.workbook.styles import Look, free_name

__all__ = ["parts_not_carried", "results_workbook"]

_TAB = "8A7FA3"


def results_workbook(
    source: bytes, evaluation: Evaluation, printed: Callable[[float], str], constants: Sequence[Quantity] = ()
) -> bytes:
    """Return the results workbook of ``source``, the bytes of the lab's .xlsx workbook.

    ``printed`` turns J/g into the printed figure in the report unit, rounded once; ``constants`` are those that took
    part, for the record. No cell of the lab is changed: computed columns stand at the right of everything on the
    sheets of firings and samples, and the new sheets take names that are free. What cannot be carried is told by
    :func:`parts_not_carried`. The same arguments give the same bytes.
    """
    book = load(source)
    look = Look(book)
    full = add_computed_columns(book, evaluation, look)
    remarks = [f"Sheet {name} reaches its last column; its computed columns are not there." for name in full]
    if any(cell.comment for sheet in book.worksheets for cell in sheet._cells.values()):
        remarks.append("The boxes of comments have the usual size and look again; their words are carried.")
    names = [free_name(name, set(book.sheetnames)) for name in (RESULTS_SHEET, FINDINGS_SHEET, RECORD_SHEET)]
    results, findings, record = (book.create_sheet(name) for name in names)
    for sheet in (results, findings, record):
        sheet.sheet_properties.tabColor = _TAB
        sheet.sheet_view.showGridLines = False
    fill_results(results, look, evaluation, printed)
    fill_findings(findings, look, evaluation)
    fill_record(record, look, evaluation, constants, remarks)
    _open_at(book, names[0])
    # The stored values of formulas are lost on the way; the spreadsheet program works them out when it opens.
    book.calculation.fullCalcOnLoad = True
    return save(book)


def _open_at(book: Workbook, name: str) -> None:
    """Show one sheet on opening; two selected sheets would be edited together."""
    book.active = book.sheetnames.index(name)
    for sheet in book.worksheets:
        for view in sheet.views.sheetView:
            view.tabSelected = sheet.title == name
    for chart in book.chartsheets:
        for chart_view in chart.sheetViews.sheetView:
            chart_view.tabSelected = False
