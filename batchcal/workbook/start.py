"""The first sheet of the blank workbook: what it is, how to fill it, what its signs mean, and the cautions."""

from collections.abc import Iterator
from itertools import groupby

from openpyxl.cell.cell import Cell
from openpyxl.styles import Alignment, Font
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from batchcal import __version__
from batchcal.findings import CAUTION
from batchcal.workbook import styles
from batchcal.workbook.layout import SETUP, SHEETS
from batchcal.workbook.prefill import Prefill
from batchcal.workbook.styles import Look

START_SHEET = "Start here"

_WHAT = (
    "One workbook holds one day at an oxygen-bomb calorimeter that is worked by hand. Save it under a name of its "
    "own, fill it in as you work, and run:   batchcal process NAME.xlsx",
    "This file is never written to. The results come as new files beside it: a workbook, a page to print and a record.",
)

_HOW = (
    "Fill Setup first, from certificates and your own procedure. Give each value its Source. Nothing is assumed: "
    "what is blank is not used, and the page says so.",
    "Calibration: one row for every benzoic acid firing that makes the heat capacity.",
    "Runs: one row for every firing of the day, in order, misfires too. A firing number is never used again.",
    "Each row goes with the bench from left to right: weigh, fit the wire, fill, read the temperatures.",
    "Copy figures as you read them, with all their decimals and without a unit: the unit stands in the heading.",
    "Type the two weighings or the mass. Type both temperatures or the rise. Where both stand, they must agree.",
    "A firing that went wrong keeps its row: say so under Outcome. To leave out a good one, choose 'set aside' under "
    "Use and give the technical reason; that it disagreed is none.",
    "Titration: one row for each firing's washings, by firing number. Only where your acid scheme uses titres.",
    "Samples: moisture, sulphur and what else the other benches found, each with its basis.",
    "Numbers of samples and firings are kept as text, so 007 stays 007.",
    "Columns may be moved, hidden or left empty, and columns of your own may be added at the right. Headings keep "
    "their words; a unit in a heading may be changed with the figures below it, e.g. (g) to (mg).",
    "Rest the pointer on a heading or an item: a note says what belongs there.",
)

_LEGEND = (
    ("Heading", "bold: needed, or one way to give what is needed", "needed"),
    ("Heading", "not bold: leave it empty where your method does not use it", "optional"),
    ("1.2345", "white: type here", "white"),
    ("1.2345", "bold, slanting, underlined: outside the usual; keep it if it is right", "unusual"),
    ("Item [name]", "the item may stand in several rows, each with a name of your own in the brackets", "white"),
)

_CAUTIONS = (
    "Oxygen under pressure and burning charges can injure. " + CAUTION,
    "Never go beyond the charge and the pressure that the equipment's instructions allow. No limit is assumed here: "
    "enter yours on Setup, and what is beyond them will be named.",
    "batchcal sees typed figures, after the fact. It cannot know the state of a bomb, a valve or a seal, and it never "
    "calls equipment safe. After a misfire or a leak, wait and open as the equipment's instructions say.",
)


def add_start_sheet(book: Workbook, look: Look, filled: Prefill) -> None:
    """Add the first sheet to the blank workbook; it lists what is filled in already."""
    sheet = book.create_sheet(START_SHEET)
    sheet.sheet_properties.tabColor = styles.INK
    sheet.sheet_view.showGridLines = False
    styles.set_widths(sheet, (2.5, 16, 104))
    row = _title(sheet, look)
    row = _section(sheet, look, row, "What this workbook is")
    for text in _WHAT:
        row = _paragraph(sheet, row, "", text)
    row = _section(sheet, look, row + 1, "Before you fire")
    for text in _CAUTIONS:
        for column in (2, 3):
            look.apply(_cell(sheet, row, column), styles.CAUTION)
        styles.write_text(_cell(sheet, row, 2), "◆ Caution")
        _cell(sheet, row, 2).alignment = Alignment(vertical="center", indent=1)
        _cell(sheet, row, 3).border = styles.PLAIN.border
        row = _paragraph(sheet, row, "", text, plain=False)
    row = _paragraph(sheet, row, "", "The usual cautions: common practice, no source.", quiet=True)
    if filled.entries:
        row = _section(sheet, look, row + 1, "What is filled in already")
        for text in _filled(filled):
            row = _paragraph(sheet, row, "", text)
    row = _section(sheet, look, row + 1, "How to fill it in")
    for number, text in enumerate(_HOW, 1):
        row = _paragraph(sheet, row, f"{number}", text)
    row = _section(sheet, look, row + 1, "The sheets")
    for layout in SHEETS:
        cell = _cell(sheet, row, 2)
        styles.write_text(cell, layout.name)
        styles.link(cell, layout.name, "A3")
        row = _paragraph(sheet, row, "", layout.note)
        cell.font, cell.alignment = styles.WHERE.font, Alignment(vertical="center", indent=1)
    row = _section(sheet, look, row + 1, "What the signs mean")
    row = _legend(sheet, look, row)
    row = _section(sheet, look, row + 1, "For your records")
    for label, text in (
        ("Original", "The first record of the readings is:   this workbook  /  paper   (strike one out)"),
        ("Layout", f"batchcal {__version__}"),
    ):
        row = _paragraph(sheet, row, label, text)
    styles.print_setup(sheet, None)
    sheet.page_setup.orientation = "portrait"
    sheet.print_area = f"A1:C{row}"


def _filled(filled: Prefill) -> Iterator[str]:
    for task, entries in groupby(filled.entries, key=lambda entry: entry.task):
        for entry in entries:
            written = f"{entry.name}: {entry.value}" if entry.value else entry.name
            yield f"{SETUP.name}, {written}. {entry.origin}"
        if task:
            yield task
    for column, names in (("Calorimeter", filled.calorimeters), ("Bomb", filled.bombs)):
        if names:
            yield f"The column {column} offers {', '.join(names)}, as named in the command; another may be typed."
    yield from filled.left


def _title(sheet: Worksheet, look: Look) -> int:
    title = _cell(sheet, 2, 2)
    look.apply(title, styles.TITLE)
    styles.write_text(title, "Log of an oxygen-bomb calorimeter")
    sheet.row_dimensions[2].height = 26
    subtitle = _cell(sheet, 3, 2)
    look.apply(subtitle, styles.SUBTITLE)
    styles.write_text(subtitle, "From the weighings, temperatures and titres of one day to calorific values")
    return 5


def _section(sheet: Worksheet, look: Look, row: int, text: str) -> int:
    for column in (2, 3):
        look.apply(_cell(sheet, row, column), styles.SECTION)
    styles.write_text(_cell(sheet, row, 2), text)
    sheet.row_dimensions[row].height = 20
    sheet.row_dimensions[row + 1].height = 5
    return row + 2


def _paragraph(sheet: Worksheet, row: int, label: str, text: str, *, plain: bool = True, quiet: bool = False) -> int:
    cell = _cell(sheet, row, 3)
    styles.write_text(cell, text)
    if label:
        left = _cell(sheet, row, 2)
        styles.write_text(left, label)
        left.font = Font(styles.FONT, 10, b=True, color=styles.SOFT_INK)
        left.alignment = Alignment(horizontal="right" if label.isdigit() else "left", vertical="center", indent=1)
    if plain:
        cell.font = styles.SUBTITLE.font if quiet else styles.PLAIN.font
    cell.alignment = Alignment(horizontal="left", vertical="center", wrap_text=True, indent=1)
    sheet.row_dimensions[row].height = 5 + 13 * styles.lines_needed(text, 114)
    return row + 1


def _legend(sheet: Worksheet, look: Look, row: int) -> int:
    for sample, text, kind in _LEGEND:
        left = _cell(sheet, row, 2)
        styles.write_text(left, sample)
        row = _paragraph(sheet, row, "", text)
        if kind in ("needed", "optional"):
            look.apply(left, styles.HEADING)
        left.font = Font(
            styles.FONT,
            10,
            b=kind in ("needed", "unusual"),
            i=kind == "unusual",
            u="single" if kind == "unusual" else None,
            color="8A3B12" if kind == "unusual" else styles.INK,
        )
        left.border = styles.TEXT.border
        left.alignment = Alignment(horizontal="left", vertical="center", indent=1)
    return row


def _cell(sheet: Worksheet, row: int, column: int) -> Cell:
    cell = sheet.cell(row, column)
    if not isinstance(cell, Cell):
        raise TypeError(f"{cell.coordinate} is merged")
    return cell
