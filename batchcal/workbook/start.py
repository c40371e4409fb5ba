"""The first sheet of the blank workbook: what it is, how to fill it, what its signs mean, and the cautions."""

from collections.abc import Iterator
from itertools import groupby

from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.workbook import Workbook
from openpyxl.worksheet.pagebreak import Break, RowBreak
from openpyxl.worksheet.worksheet import Worksheet

from batchcal import __version__
from batchcal.findings import CAUTION
from batchcal.workbook import library, styles
from batchcal.workbook.layout import SETUP, SHEETS
from batchcal.workbook.leave import LEAVE_TINT
from batchcal.workbook.library import Look, font, own_cell, write_text
from batchcal.workbook.limits import UNUSUAL_INK
from batchcal.workbook.notes import in_plain_type
from batchcal.workbook.prefill import Prefill

START_SHEET = "Start here"

_COMMAND = "batchcal process NAME.xlsx"

_WHAT = (
    ("", "One workbook holds one day at an oxygen-bomb calorimeter that is worked by hand."),
    ("1", "Save it under a name of its own and fill it in as you work."),
    ("2", _COMMAND),
    (
        "3",
        "The results come as new files beside it: a workbook, a page and a record. This file is never changed.",
    ),
)

HOW = (
    "Setup first, from certificates and your own procedure, each value with its Source. Nothing is assumed: what is "
    "blank is not used, and the page says so.",
    "Calibration: one row for every benzoic acid firing that makes the heat capacity.",
    "Runs: one row for every firing of the day, in order, misfires too. A firing number is never used again.",
    "A row goes along the bench: weigh, fit, fill, fire, read, look. Tab moves on, Enter begins the next row.",
    "Copy figures as you read them, with all their decimals and without a unit: the unit stands in the heading.",
    "Type the two weighings or the mass, both temperatures or the rise. Where both stand, they must agree.",
    "A firing that went wrong keeps its row: say so under Outcome. To leave out a good one, choose `set aside` under "
    "Use and give the technical reason; that it disagreed is none.",
    "Titration: one row for each firing's washings, by firing number, where your acid scheme uses titres.",
    "Samples: moisture, sulphur and what else the other benches found, each with its basis.",
    "Numbers of samples and firings are kept as text, so 007 stays 007.",
    "Columns may be moved, hidden or left empty, and your own added at the right. Headings keep their words; a unit in "
    "one may be changed with the figures below it, e.g. (g) to (mg).",
    "Rest the pointer on a heading or an item: a note says what belongs there, its decimals and where it is read.",
)
"""How to fill the workbook in: a dozen lines."""

_LEGEND = (
    ("Heading", "bold: needed, or one way to give what is needed", "needed"),
    ("Heading", "not bold: leave it empty where your method does not use it", "optional"),
    ("1.2345", "white: type here", "white"),
    ("", "grey: leave it; what you typed elsewhere does away with it. If it is wrong, type all the same", "leave"),
    ("1.2345", "bold, slanting, underlined: outside the usual; keep it if it is right", "unusual"),
    ("Item [name]", "the item may stand in several rows, each with a name of your own in the brackets", "white"),
)

_CAUTIONS = (
    "Oxygen under pressure and burning charges can injure. " + CAUTION,
    "Never go beyond the charge and the pressure that the equipment's instructions allow. No limit is assumed here: "
    "enter yours on Setup, and what is beyond them will be named.",
    "batchcal sees typed figures, after the fact: it cannot know the state of a bomb, a valve or a seal, and calls no "
    "equipment safe. After a misfire or a leak, wait and open as the equipment's instructions say.",
)

_WIDTHS = (2.0, 14.0, 96.0)
_ROOM = 7 * _WIDTHS[2] + 5 - 16
"""Pixels, 96 an inch, for a text of the last column beside its indent."""

_SIDE = 890.0
"""Points that a printed side of this sheet holds; a second one, where much is filled in, begins with the sheets."""

_TYPE = {
    "ijl'": 0.22, " !,./:;[]|ftI": 0.28, "()-`r": 0.33, "ckcsvxyzJ": 0.5, "FLTZ": 0.61, "ABEKPSVXY": 0.67,
    "wCDHNRU": 0.72, "GOQ": 0.78, "mM": 0.83, "W": 0.94,
}  # fmt: skip
_SIGNS = {sign: width for signs, width in _TYPE.items() for sign in signs}
"""Widths of signs in sizes of the type, of the common sans-serif type; of those left out 0.56."""

_TOP = Alignment(horizontal="left", vertical="top", wrap_text=True, indent=1)
_LABEL = Font(styles.FONT, 10, b=True, color=styles.SOFT_INK)


def add_start_sheet(book: Workbook, look: Look, filled: Prefill) -> None:
    """Add the first sheet to the blank workbook; it lists what is filled in already."""
    sheet = book.create_sheet(START_SHEET)
    sheet.sheet_properties.tabColor = styles.INK
    sheet.sheet_view.showGridLines = False
    library.set_widths(sheet, _WIDTHS)
    row = _title(sheet, look)
    row = _what(sheet, row)
    row = _section(sheet, look, row, "Before you fire")
    row = _cautions(sheet, row)
    if filled.entries:
        row = _section(sheet, look, row, "What is filled in already")
        for text in _filled(filled):
            row = _paragraph(sheet, row, "•", text)
    row = _section(sheet, look, row, "How to fill it in")
    for number, text in enumerate(HOW, 1):
        row = _paragraph(sheet, row, f"{number}", text)
    height = sum(dimension.height or 0.0 for dimension in sheet.row_dimensions.values())
    if filled.entries and height <= _SIDE:
        sheet.row_breaks = RowBreak(brk=[Break(id=row - 1)])
    row = _section(sheet, look, row, "The sheets, in the order of work")
    for layout in SHEETS:
        cell = own_cell(sheet, row, 2)
        row = _paragraph(sheet, row, layout.name, layout.note)
        library.link(cell, layout.name, "C3" if layout is SETUP else "A3")
        cell.font = font(styles.WHERE)
    row = _section(sheet, look, row, "What the signs mean")
    row = _legend(sheet, look, row)
    row = _section(sheet, look, row, "For your records")
    row = _paragraph(
        sheet, row, "Original", "The first record of the readings is:   this workbook  /  paper   (strike out one)"
    )
    row = _paragraph(sheet, row, "Layout", f"batchcal {__version__}")
    library.print_setup(sheet)
    if not filled.entries:
        sheet.page_setup.fitToHeight = 1
    sheet.page_setup.orientation = "portrait"
    sheet.print_area = f"A1:C{row - 1}"


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
    title, subtitle = own_cell(sheet, 1, 2), own_cell(sheet, 2, 2)
    look.apply(title, styles.TITLE)
    write_text(title, "Log of an oxygen-bomb calorimeter")
    sheet.row_dimensions[1].height = 30
    look.apply(subtitle, styles.SUBTITLE)
    write_text(subtitle, "From the weighings, temperatures and titres of one day to calorific values")
    sheet.row_dimensions[2].height = 18
    sheet.row_dimensions[3].height = 8
    return 4


def _what(sheet: Worksheet, row: int) -> int:
    """Write what the workbook is for, with the command on a line of its own."""
    for label, text in _WHAT:
        row = _paragraph(sheet, row, label, text)
        if text == _COMMAND:
            own_cell(sheet, row - 1, 3).font = Font("Courier New", 10, b=True, color=styles.INK)
    return row


def _cautions(sheet: Worksheet, row: int) -> int:
    """Write the cautions in one tinted field with a bar at its left."""
    for number, text in enumerate(_CAUTIONS):
        label, words = own_cell(sheet, row, 2), own_cell(sheet, row, 3)
        row = _paragraph(sheet, row, "◆ Caution" if number == 0 else "", text, bold=True)
        label.fill = words.fill = library.solid(styles.CAUTION_TINT)
        label.font = words.font = Font(styles.FONT, 10, b=True, color=styles.INK)
        label.border = Border(left=Side("thick", styles.INK))
    row = _paragraph(sheet, row, "", "The usual cautions: common practice, no source.")
    own_cell(sheet, row - 1, 3).font = font(styles.SUBTITLE)
    return row


def _section(sheet: Worksheet, look: Look, row: int, text: str) -> int:
    sheet.row_dimensions[row].height = 9
    row += 1
    for column in (2, 3):
        look.apply(own_cell(sheet, row, column), styles.SECTION)
    write_text(own_cell(sheet, row, 2), text)
    sheet.row_dimensions[row].height = 18
    sheet.row_dimensions[row + 1].height = 4
    return row + 2


def _paragraph(sheet: Worksheet, row: int, label: str, text: str, *, bold: bool = False) -> int:
    """Write a label and a text beside it, both from the top of the row, and return the next row."""
    left, cell = own_cell(sheet, row, 2), own_cell(sheet, row, 3)
    write_text(left, label)
    left.font, left.alignment = _LABEL, _TOP
    write_text(cell, in_plain_type(text))
    cell.font, cell.alignment = font(styles.PLAIN), _TOP
    sheet.row_dimensions[row].height = 4 + 13 * _lines(text, bold=bold)
    return row + 1


def _lines(text: str, *, bold: bool) -> int:
    """Return how many lines a text of 10 points takes in the last column."""
    lines, used = 1, 0.0
    for word in text.split(" "):
        length = sum(_SIGNS.get(sign, 0.56) for sign in word) * 10 / 72 * 96 * (1.1 if bold else 1.01)
        if used + length > _ROOM:
            lines, used = lines + 1, 0.0
        used += length + _SIGNS[" "] * 10 / 72 * 96
    return lines


def _legend(sheet: Worksheet, look: Look, row: int) -> int:
    edge = Side("thin", styles.LINE)
    for sample, text, kind in _LEGEND:
        left = own_cell(sheet, row, 2)
        row = _paragraph(sheet, row, sample, text)
        if kind in ("needed", "optional"):
            look.apply(left, styles.HEADING)
        if kind == "leave":
            left.fill = library.solid(LEAVE_TINT)
        left.font = Font(styles.FONT, 10, b=kind == "needed", color=styles.INK)
        if kind == "unusual":
            left.font = Font(styles.FONT, 10, b=True, i=True, u="single", color=UNUSUAL_INK)
        left.border = Border(edge, edge, edge, edge)
        left.alignment = Alignment(horizontal="left", vertical="center", indent=1)
    return row
