"""The results workbook: the lab's own package, computed columns, and sheets of the program's own behind the lab's."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import BinaryIO

from msgspec import Struct

from batchcal.model import Evaluation, Quantity
from batchcal.release import ReleaseState
from batchcal.workbook.added import Block, computed_columns
from batchcal.workbook.changes import fill_changes
from batchcal.workbook.layout import CHANGES_SHEET, FINDINGS_SHEET, RECORD_SHEET, RESULTS_SHEET, WORKING_SHEET
from batchcal.workbook.own_sheet import OwnSheet
from batchcal.workbook.record import fill_record
from batchcal.workbook.results import fill_findings, fill_results
from batchcal.workbook.styles import in_footer
from batchcal.workbook.targets import targets_on
from batchcal.workbook.working.sheet import Working, links_wanted
from batchcal.workbook.xlsx.columns import put_columns
from batchcal.workbook.xlsx.geometry import Geometry, geometry
from batchcal.workbook.xlsx.graft import AddedSheet, add_sheets
from batchcal.workbook.xlsx.links import MOST_LINKS, links_there
from batchcal.workbook.xlsx.package import Package, SheetPart
from batchcal.workbook.xlsx.references import quoted_name
from batchcal.workbook.xlsx.revision import Revision
from batchcal.workbook.xlsx.room import Room, has_print_area
from batchcal.workbook.xlsx.stylesheet import Stylesheet, free_name


def write_results_workbook(
    out: BinaryIO,
    source: bytes,
    evaluation: Evaluation,
    printed: Callable[[float], str],
    constants: Sequence[Quantity] = (),
) -> None:
    """Write the results workbook of ``source``, the bytes of the lab's .xlsx or .xlsm workbook, into an empty file.

    ``printed`` turns J/g into the printed figure in the report unit, rounded once; ``constants`` are those that took
    part, for the record. Every part of the lab's goes over as it is, but for what is added: computed columns at the
    right of everything on the sheets of firings and samples, formats behind the lab's, and new sheets under names that
    are free. The same arguments give the same bytes. Raises WorkbookError with one line where nothing can be added.
    """
    package = Package(evaluation.batch.file_name, source)
    revision = Revision(package)
    formats = Stylesheet(revision)
    taken = {sheet.title for sheet in package.sheets}
    sheets = {
        name: OwnSheet(free_name(name, taken), formats, from_1904=package.counts_from_1904)
        for name in (RESULTS_SHEET, FINDINGS_SHEET, WORKING_SHEET, RECORD_SHEET, CHANGES_SHEET)
    }
    results, findings, working, record, changes = sheets.values()
    if evaluation.changes is None:
        del sheets[CHANGES_SHEET]
    targets = targets_on(results.title, findings.title, working.title, evaluation.findings)
    placed, full = _placed(revision, computed_columns(evaluation, formats, targets))
    remarks = [f"Sheet {name} reaches its last column; its computed columns are not there." for name in full]
    fill_results(results, evaluation, printed, targets, remarks=remarks)
    fill_findings(findings, evaluation, targets)
    if evaluation.changes is not None:
        fill_changes(changes, evaluation, evaluation.changes, targets)
    remarks += _without_links(placed, sheets.values(), {working.title: links_wanted(evaluation)})
    worked = Working(working, evaluation, fill_record(record, evaluation, constants, remarks), targets)
    results.shown = True
    for sheet in sheets.values():
        sheet.footer = _footer(evaluation)
    areas = {each.sheet: each.printed for each in placed if each.printed}
    for each in placed:
        put_columns(each.places, each.block.at(each.places, each.first))
    # Written at once: others lead to its rows.
    parts = {WORKING_SHEET: worked.write()}
    formats.put()
    added = [
        AddedSheet(sheet.title, parts.get(name, sheet.part), tuple(sheet.names())) for name, sheet in sheets.items()
    ]
    add_sheets(revision, added, areas)
    revision.pack(out)


class _Placed(Struct, frozen=True):
    """The computed columns of one sheet where they go."""

    sheet: SheetPart
    places: Geometry
    block: Block
    first: int
    """The first of their columns on the sheet."""
    printed: str
    """What the sheet is to print, so that it prints as the lab has it; "" where it says so itself."""
    left_out: int
    """Links for which the sheet has no room."""


def _placed(revision: Revision, blocks: Iterable[Block]) -> tuple[list[_Placed], list[str]]:
    """Return each block in its place, and the sheets that have no room for theirs."""
    package = revision.package
    sheets = {sheet.title: sheet for sheet in package.sheets}
    placed, full = [], []
    for block in blocks:
        sheet = sheets[block.sheet]
        places = geometry(revision.part(sheet.part))
        room = Room(package, sheet, places)
        rows = block.rows
        first = room.first_free_column(len(block.widths), (rows[0], rows[-1]))
        if first is None:
            full.append(block.sheet)
            continue
        area = None if has_print_area(package, sheet) else room.printed()
        printed = "" if area is None else f"{quoted_name(sheet.title)}!{area.fixed}"
        left_out = max(0, links_there(places) + block.links - MOST_LINKS)
        placed.append(_Placed(sheet, places, block, first, printed, left_out))
    return placed, full


def _without_links(placed: Iterable[_Placed], sheets: Iterable[OwnSheet], wanted: Mapping[str, int]) -> Iterator[str]:
    """Yield a sentence for each sheet of which some cells lead nowhere; ``wanted`` are links still to be written."""
    left_out = {each.sheet.title: each.left_out for each in placed}
    left_out |= {sheet.title: sheet.links.left_out for sheet in sheets}
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
