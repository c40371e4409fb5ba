"""The results workbook: the lab's own package, computed columns, and sheets of the program's own behind the lab's."""

from collections.abc import Callable, Iterable, Sequence
from functools import partial

from openpyxl.utils.datetime import CALENDAR_MAC_1904

from batchcal.model import Evaluation, Quantity
from batchcal.workbook.added import Block, computed_columns
from batchcal.workbook.changes import fill_changes
from batchcal.workbook.layout import CHANGES_SHEET, FINDINGS_SHEET, RECORD_SHEET, RESULTS_SHEET, WORKING_SHEET
from batchcal.workbook.package import new_book, save
from batchcal.workbook.record import fill_record
from batchcal.workbook.results import fill_findings, fill_results
from batchcal.workbook.styles import Look, free_name
from batchcal.workbook.working.sheet import Working
from batchcal.workbook.xlsx.columns import AddedColumns, put_columns
from batchcal.workbook.xlsx.geometry import Geometry, geometry
from batchcal.workbook.xlsx.graft import add_sheets
from batchcal.workbook.xlsx.package import Package, SheetPart
from batchcal.workbook.xlsx.revision import Revision
from batchcal.workbook.xlsx.room import first_free_column, has_print_area
from batchcal.workbook.xlsx.stylesheet import add_styles, style_names

_TAB = "8A7FA3"


def results_workbook(
    source: bytes, evaluation: Evaluation, printed: Callable[[float], str], constants: Sequence[Quantity] = ()
) -> bytes:
    """Return the results workbook of ``source``, the bytes of the lab's .xlsx or .xlsm workbook.

    ``printed`` turns J/g into the printed figure in the report unit, rounded once; ``constants`` are those that took
    part, for the record. Every part of the lab's goes over as it is, but for what is added: computed columns at the
    right of everything on the sheets of firings and samples, formats behind the lab's, and new sheets under names that
    are free. The same arguments give the same bytes. Raises WorkbookError with one line where nothing can be added.
    """
    package = Package(evaluation.batch.file_name, source)
    revision = Revision(package)
    book = new_book()
    if package.counts_from_1904:
        book.epoch = CALENDAR_MAC_1904
    taken = {sheet.title for sheet in package.sheets}
    names = [free_name(name, taken) for name in (RESULTS_SHEET, FINDINGS_SHEET, WORKING_SHEET, RECORD_SHEET)]
    results, findings, working, record = (book.create_sheet(name) for name in names)
    for sheet in (results, findings, working, record):
        sheet.sheet_properties.tabColor = _TAB
        sheet.sheet_view.showGridLines = False
        sheet.sheet_view.tabSelected = sheet is results
    look = Look(book, style_names(package))
    placed, full = _placed(revision, computed_columns(evaluation, look))
    fill_results(results, look, evaluation, printed)
    fill_findings(findings, look, evaluation)
    remarks = [f"Sheet {name} reaches its last column; its computed columns are not there." for name in full]
    worked = Working(working, look, evaluation, fill_record(record, look, evaluation, constants, remarks))
    if evaluation.changes is not None:
        changes = book.create_sheet(free_name(CHANGES_SHEET, {*taken, *names}))
        changes.sheet_properties.tabColor = _TAB
        changes.sheet_view.showGridLines = False
        fill_changes(changes, look, evaluation.changes, evaluation.release.words)
    own = look.numbered()
    added = Package(package.name, save(book))
    renumbered = add_styles(revision, added)
    for block, sheet, places, first in placed:
        columns = AddedColumns(first, block.widths, block.rows)
        put_columns(places, columns, renumbered.formats, print_area=has_print_area(package, sheet))
    numbers = {form: renumbered.formats[number] for form, number in own.items()}
    filled: dict[str, Callable[[bytes], Iterable[bytes]]] = {
        sheet.title: partial(look.rows(sheet).filled, numbers=numbers) for sheet in book.worksheets
    }
    filled[working.title] = worked.write(renumbered.formats)
    add_sheets(revision, added, renumbered, filled=filled)
    return revision.packed()


def _placed(
    revision: Revision, blocks: Iterable[Block]
) -> tuple[list[tuple[Block, SheetPart, Geometry, int]], list[str]]:
    """Return each block with its sheet and its first column, and the sheets that have no room for theirs."""
    sheets = {sheet.title: sheet for sheet in revision.package.sheets}
    placed, full = [], []
    for block in blocks:
        sheet = sheets[block.sheet]
        places = geometry(revision.part(sheet.part))
        first = first_free_column(revision.package, sheet, places, len(block.widths), block.reach)
        if first is None:
            full.append(block.sheet)
        else:
            placed.append((block, sheet, places, first))
    return placed, full
