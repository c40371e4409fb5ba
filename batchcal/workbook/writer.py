"""The results workbook: the lab's own package, computed columns, and sheets of the program's own behind the lab's."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial

from msgspec import Struct
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.model import Evaluation, Quantity
from batchcal.release import ReleaseState
from batchcal.workbook.added import Block, computed_columns
from batchcal.workbook.changes import fill_changes
from batchcal.workbook.layout import CHANGES_SHEET, FINDINGS_SHEET, RECORD_SHEET, RESULTS_SHEET, WORKING_SHEET
from batchcal.workbook.package import new_book, save
from batchcal.workbook.record import fill_record
from batchcal.workbook.results import fill_findings, fill_results
from batchcal.workbook.styles import Look, free_name, in_footer, write_footer
from batchcal.workbook.targets import targets_on
from batchcal.workbook.working.sheet import Working, links_wanted
from batchcal.workbook.xlsx.columns import AddedColumns, put_columns
from batchcal.workbook.xlsx.geometry import Geometry, geometry
from batchcal.workbook.xlsx.graft import add_sheets
from batchcal.workbook.xlsx.links import MOST_LINKS, links_there, quoted_name
from batchcal.workbook.xlsx.package import Package, SheetPart
from batchcal.workbook.xlsx.revision import Revision
from batchcal.workbook.xlsx.room import Room, has_print_area
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
    look = Look(book, style_names(package))
    targets = targets_on(results.title, findings.title, working.title, evaluation.findings)
    placed, full = _placed(revision, computed_columns(evaluation, look, targets))
    remarks = [f"Sheet {name} reaches its last column; its computed columns are not there." for name in full]
    fill_results(results, look, evaluation, printed, targets, remarks=remarks)
    fill_findings(findings, look, evaluation, targets)
    if evaluation.changes is not None:
        changes = book.create_sheet(free_name(CHANGES_SHEET, {*taken, *names}))
        fill_changes(changes, look, evaluation, evaluation.changes, targets)
    remarks += _without_links(look, book, placed, {working.title: links_wanted(evaluation)})
    worked = Working(working, look, evaluation, fill_record(record, look, evaluation, constants, remarks), targets)
    for sheet in book.worksheets:
        sheet.sheet_properties.tabColor = _TAB
        sheet.sheet_view.showGridLines = False
        sheet.sheet_view.tabSelected = sheet is results
        write_footer(sheet, *_footer(evaluation))
    own = look.numbered()
    added = Package(package.name, save(book))
    renumbered = add_styles(revision, added)
    areas = {each.sheet: each.printed for each in placed if each.printed}
    while placed:
        # Let go of once they are put in: of a long log they are many.
        _put(placed.pop(), renumbered.formats)
    numbers = {form: renumbered.formats[number] for form, number in own.items()}
    filled: dict[str, Callable[[bytes], Iterable[bytes]]] = {
        sheet.title: partial(_filled, look, sheet, numbers) for sheet in book.worksheets
    }
    # Written at once: others lead to its rows.
    filled[working.title] = worked.write(renumbered.formats)
    add_sheets(revision, added, renumbered, filled, areas)
    return revision.packed()


class _Placed(Struct, frozen=True):
    """The computed columns of one sheet where they go."""

    sheet: SheetPart
    places: Geometry
    columns: AddedColumns
    printed: str
    """What the sheet is to print, so that it prints as the lab has it; "" where it says so itself."""
    left_out: int
    """Links for which the sheet has no room."""


def _put(each: _Placed, formats: Mapping[int, int]) -> None:
    put_columns(each.places, each.columns, formats)


def _placed(revision: Revision, blocks: Iterable[Block]) -> tuple[list[_Placed], list[str]]:
    """Return each block in its place, and the sheets that have no room for theirs."""
    package = revision.package
    sheets = {sheet.title: sheet for sheet in package.sheets}
    placed, full = [], []
    for block in blocks:
        sheet = sheets[block.sheet]
        places = geometry(revision.part(sheet.part))
        room = Room(package, sheet, places)
        first = room.first_free_column(len(block.widths), block.reach)
        if first is None:
            full.append(block.sheet)
            continue
        area = None if has_print_area(package, sheet) else room.printed()
        printed = "" if area is None else f"{quoted_name(sheet.title)}!{area.fixed}"
        left_out = max(0, links_there(places) + block.links - MOST_LINKS)
        placed.append(_Placed(sheet, places, AddedColumns(first, block.widths, block.rows), printed, left_out))
    return placed, full


def _without_links(look: Look, book: Workbook, placed: Iterable[_Placed], wanted: Mapping[str, int]) -> Iterator[str]:
    """Yield a sentence for each sheet of which some cells lead nowhere; ``wanted`` are links still to be written."""
    left_out = {each.sheet.title: each.left_out for each in placed}
    left_out |= {sheet.title: look.links(sheet).left_out for sheet in book.worksheets}
    left_out |= {title: max(0, count - MOST_LINKS) for title, count in wanted.items()}
    for title, count in left_out.items():
        if count:
            yield f"Sheet {title} may have {MOST_LINKS:,} links; {count:,} cells further down lead nowhere.".replace(
                ",", " "
            )


def _footer(evaluation: Evaluation) -> tuple[str, str]:
    """Return what every printed page of the added sheets says: which day and sheet, and how far its release is."""
    settings, release = evaluation.settings, evaluation.release
    day = settings.batch_date.isoformat() if settings.batch_date else ""
    parts = [settings.batch or evaluation.batch.file_name, day]
    state = str(release.state).capitalize()
    if release.state is not ReleaseState.DRAFT:
        state += f", issue {release.issue}"
    return f"{in_footer(', '.join(part for part in parts if part))}: &A", state


def _filled(look: Look, sheet: Worksheet, numbers: Mapping[int, int], frame: bytes) -> Iterable[bytes]:
    """Return the part of an added sheet with its links and rows, piece by piece."""
    return look.rows(sheet).filled(look.links(sheet).filled(frame), numbers)
