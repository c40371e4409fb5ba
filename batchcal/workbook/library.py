"""Cells and sheets of workbooks that openpyxl writes whole: in our styles, with safe text, on the same paper."""

from collections.abc import Sequence

from openpyxl.cell.cell import Cell
from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.workbook.styles import LIKE_A_FORMULA, visible
from batchcal.workbook.xlsx import looks
from batchcal.workbook.xlsx.links import Link


def own_cell(sheet: Worksheet, row: int, column: int) -> Cell:
    """Return a cell of a sheet that has no merged cells."""
    cell = sheet.cell(row, column)
    if not isinstance(cell, Cell):
        raise TypeError(f"{cell.coordinate} is merged")
    return cell


def write_text(cell: Cell, text: str) -> None:
    """Put text into a cell so that it stays text, whatever it begins with."""
    if not text:
        return
    cell.value = visible(text)
    cell.data_type = "s"
    if text.startswith(LIKE_A_FORMULA):
        # Without the mark a spreadsheet program would make it a formula once someone edits the cell.
        cell.quotePrefix = True


def link(cell: Cell, sheet: str, address: str) -> None:
    """Make a cell lead to another cell of the workbook."""
    cell.hyperlink = Hyperlink(ref=cell.coordinate, location=Link(sheet, address).location)


def solid(colour: str) -> PatternFill:
    """Return a plain fill."""
    return PatternFill("solid", fgColor=colour)


def font(style: looks.Style) -> Font:
    """Return the font of a style."""
    ours = style.font
    made = Font(ours.name, ours.size, b=ours.bold, i=ours.italic, color=ours.colour)
    if ours.underlined:
        made.u = "single"
    return made


def side(ours: looks.Side | None) -> Side | None:
    """Return one side of a border."""
    return None if ours is None else Side(ours.line, ours.colour)


def _named(style: looks.Style) -> NamedStyle:
    aligned = style.alignment
    return NamedStyle(
        f"batchcal {style.name}",
        font(style),
        solid(style.fill) if style.fill else PatternFill(),
        Border(top=side(style.border.top), bottom=side(style.border.bottom)),
        Alignment(
            aligned.horizontal or None, aligned.vertical or None, wrap_text=aligned.wrapped or None,
            indent=aligned.indent,
        ),
    )  # fmt: skip


class Look:
    """The named styles of one workbook, made when they are first used."""

    def __init__(self, book: Workbook) -> None:
        self._book = book
        self._names: dict[str, str] = {}

    def apply(self, cell: Cell, style: looks.Style) -> None:
        """Give a cell a style."""
        name = self._names.get(style.name)
        if name is None:
            made = _named(style)
            self._book.add_named_style(made)
            name = self._names[style.name] = made.name
        cell.style = name


def print_setup(sheet: Worksheet) -> None:
    """Set a sheet to print on A4 landscape, fitted in width, with pages counted."""
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = 9
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    margins = sheet.page_margins
    margins.left = margins.right = 0.4
    margins.top, margins.bottom, margins.header, margins.footer = 0.5, 0.6, 0.25, 0.3
    footer = sheet.oddFooter
    if footer is not None:
        for part, text in ((footer.left, "&F, &A"), (footer.center, None), (footer.right, "page &P of &N")):
            if part is not None:
                part.text, part.size = text, 8


def set_widths(sheet: Worksheet, widths: Sequence[float]) -> None:
    """Set the widths of the first columns of a sheet."""
    for index, width in enumerate(widths, 1):
        sheet.column_dimensions[get_column_letter(index)].width = width
