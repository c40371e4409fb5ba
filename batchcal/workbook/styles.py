"""How the program's own cells and sheets look: few named styles, calm tints that print in grey, safe text."""

import re
from collections.abc import Iterable, Sequence

from openpyxl.cell.cell import Cell
from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.findings import Severity
from batchcal.terms import Decision
from batchcal.workbook.cells import LONGEST_TEXT, shortened
from batchcal.workbook.rows import OwnRows
from batchcal.workbook.xlsx.links import Link, Links

FONT = "Arial"
INK = "26323A"
SOFT_INK = "5B6770"
LINK_INK = "2F5D62"
LINE = "B9C2BF"
STRONG_LINE = "6E7D78"
HEADING_TINT = "DDE7E2"
GROUP_TINT = "EDF2EF"
COMPUTED_TINT = "ECE8F1"
CAUTION_TINT = "F6E9D8"

DECISION_SHAPES = {Decision.READY: "●", Decision.REPEAT: "▲", Decision.WAIT: "◇", Decision.HOLD: "■"}
SEVERITY_SHAPES = {Severity.SAFETY: "◆", Severity.BLOCK: "■", Severity.REVIEW: "△", Severity.NOTE: "○"}

_NOT_IN_XML = re.compile("[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
LIKE_A_FORMULA = ("=", "+", "-", "@", "\t")


def solid(colour: str) -> PatternFill:
    """Return a plain fill."""
    return PatternFill("solid", fgColor=colour)


def visible(text: str) -> str:
    """Return text that a cell can hold: control characters as their signs, the rest beyond its length as '…'."""
    if not text.isprintable():
        text = _NOT_IN_XML.sub(_sign, text.replace("\r\n", "\n"))
    return shortened(text, LONGEST_TEXT)


def _sign(match: re.Match[str]) -> str:
    code = ord(match[0])
    if code == 0x7F:
        return "\N{SYMBOL FOR DELETE}"
    return chr(0x2400 + code) if code < 0x20 else "\N{REPLACEMENT CHARACTER}"


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
    """Make a cell lead to another cell of a workbook that the library writes alone."""
    cell.hyperlink = Hyperlink(ref=cell.coordinate, location=Link(sheet, address).location)


class Look:
    """The named styles of one workbook, made when they are first used, under names that were still free.

    ``taken`` are names that are not free either.
    """

    def __init__(self, book: Workbook, taken: Iterable[str] = ()) -> None:
        self._book = book
        self._taken = {*book.named_styles, *taken}
        self._names: dict[str, str] = {}
        self._places: dict[tuple[str, str, bool], int] = {}
        self._forms: list[Cell] = []
        self._numbers: dict[int, int] = {}
        self._rows: dict[str, OwnRows] = {}
        self._links: dict[str, Links] = {}

    def apply(self, cell: Cell, style: NamedStyle) -> None:
        """Give a cell one of the styles below."""
        name = self._names.get(style.name)
        if name is None:
            name = free_name(f"batchcal {style.name}", self._taken)
            self._taken.add(name)
            self._names[style.name] = name
            self._book.add_named_style(
                NamedStyle(
                    name, style.font, style.fill, style.border, style.alignment, style.number_format, style.protection
                )
            )
        cell.style = name

    def form(self, style: NamedStyle, form: str = "General", *, quoted: bool = False) -> int:
        """Return the place of a form: one of the styles below with a number format.

        ``quoted`` marks a text that would be taken for a formula once someone edits its cell.
        """
        key = (style.name, form, quoted)
        place = self._places.get(key)
        if place is None:
            cell = Cell(self._book.worksheets[0], 1, 1)
            self.apply(cell, style)
            cell.number_format = form
            cell.quotePrefix = quoted
            place = self._places[key] = len(self._forms)
            self._forms.append(cell)
        return place

    def number(self, style: NamedStyle, form: str = "General", *, quoted: bool = False) -> int:
        """Return the number in the workbook of a form; see :meth:`form`."""
        place = self.form(style, form, quoted=quoted)
        number = self._numbers.get(place)
        if number is None:
            number = self._numbers[place] = self._forms[place].style_id
        return number

    def rows(self, sheet: Worksheet) -> OwnRows:
        """Return the rows of a sheet that are not kept as the library's cells."""
        return self._rows.setdefault(sheet.title, OwnRows(sheet))

    def links(self, sheet: Worksheet) -> Links:
        """Return the links of a sheet."""
        return self._links.setdefault(sheet.title, Links())

    def numbered(self) -> dict[int, int]:
        """Return the number in the workbook of each form that rows use, once all sheets have their cells."""
        for sheet in self._book.worksheets:
            self.rows(sheet).number(self._forms, self._numbers)
        return self._numbers


def free_name(name: str, taken: set[str]) -> str:
    """Return ``name``, or ``name (2)`` and so on where it is taken, in whatever case."""
    folded = {other.casefold() for other in taken}
    candidate, number = name, 2
    while candidate.casefold() in folded:
        candidate, number = f"{name} ({number})", number + 1
    return candidate


def _font(size: float = 10, colour: str = INK, *, bold: bool = False, italic: bool = False) -> Font:
    return Font(FONT, size, b=bold, i=italic, color=colour)


def _linked_font(*, bold: bool = False, italic: bool = False) -> Font:
    return Font(FONT, 10, b=bold, i=italic, u="single", color=LINK_INK)


_THIN = Side("thin", LINE)
_STRONG = Side("medium", STRONG_LINE)
_UNDER = Border(bottom=_THIN)
_WRAPPED = Alignment(horizontal="left", vertical="top", wrap_text=True, indent=1)
_RIGHT = Alignment(horizontal="right", vertical="top", indent=1)
_HEAD = Alignment(horizontal="left", vertical="center", wrap_text=True, indent=1)
_HEAD_RIGHT = Alignment(horizontal="right", vertical="center", wrap_text=True, indent=1)

TITLE = NamedStyle("title", _font(16, bold=True), alignment=Alignment(vertical="center"))
SUBTITLE = NamedStyle("subtitle", _font(10, SOFT_INK), alignment=Alignment(vertical="center"))
SECTION = NamedStyle("section", _font(12, bold=True), border=Border(bottom=_STRONG))
SECTION_PLAIN = NamedStyle("summary line", _font(12, bold=True), alignment=Alignment(vertical="center"))
TEXT = NamedStyle("text", _font(), border=_UNDER, alignment=_WRAPPED)
STRONG = NamedStyle("strong text", _font(bold=True), border=_UNDER, alignment=_WRAPPED)
# For a table of many columns: texts on one line, numbers close together.
_ONE_LINE = Alignment(horizontal="left", vertical="top", indent=1)
_CLOSE = Alignment(horizontal="right", vertical="top")
LINE_TEXT = NamedStyle("text on one line", _font(), border=_UNDER, alignment=_ONE_LINE)
LINE_STRONG = NamedStyle("strong text on one line", _font(bold=True), border=_UNDER, alignment=_ONE_LINE)
LINE_WHERE = NamedStyle("place on one line", _linked_font(), border=_UNDER, alignment=_ONE_LINE)
CLOSE_NUMBER = NamedStyle("close number", _font(), border=_UNDER, alignment=_CLOSE)
CLOSE_STRONG = NamedStyle("strong close number", _font(bold=True), border=_UNDER, alignment=_CLOSE)
CLOSE_HELD = NamedStyle("stored number", _font(colour=SOFT_INK, italic=True), border=_UNDER, alignment=_CLOSE)
NOTICE = NamedStyle("notice", _font(bold=True), alignment=Alignment(vertical="center"))
UNBROKEN = NamedStyle("line", _font(), alignment=Alignment(vertical="center"))
PLAIN = NamedStyle("paragraph", _font(), alignment=_WRAPPED)
NUMBER = NamedStyle("number", _font(), border=_UNDER, alignment=_RIGHT)
STRONG_NUMBER = NamedStyle("strong number", _font(bold=True), border=_UNDER, alignment=_RIGHT)
HELD = NamedStyle("number not released", _font(colour=SOFT_INK, italic=True), border=_UNDER, alignment=_RIGHT)
HEADING = NamedStyle(
    "heading", _font(bold=True), solid(HEADING_TINT), Border(top=_THIN, bottom=_STRONG), alignment=_HEAD
)
HEADING_RIGHT = NamedStyle(
    "heading of numbers", _font(bold=True), solid(HEADING_TINT), Border(top=_THIN, bottom=_STRONG), _HEAD_RIGHT
)
CLOSE_HEADING = NamedStyle(
    "heading of close numbers",
    _font(bold=True),
    solid(HEADING_TINT),
    Border(top=_THIN, bottom=_STRONG),
    Alignment(horizontal="right", vertical="center", wrap_text=True),
)
COMPUTED_HEADING = NamedStyle(
    "computed heading",
    _font(bold=True, italic=True),
    solid(COMPUTED_TINT),
    Border(top=_THIN, bottom=_STRONG),
    alignment=Alignment(horizontal="left", vertical="center", wrap_text=True),
)
COMPUTED = NamedStyle("computed", _font(italic=True), solid("F7F5FA"), _UNDER, Alignment(vertical="top"))
# On one line, a little off the number before it: a row of the lab's is not made higher.
COMPUTED_TEXT = NamedStyle("computed text", _font(italic=True), solid("F7F5FA"), _UNDER, _ONE_LINE)
CAUTION = NamedStyle(
    "caution", _font(bold=True), solid(CAUTION_TINT), Border(left=Side("thick", INK)), alignment=_WRAPPED
)
CAUTION_BAND = NamedStyle("caution band", _font(bold=True), solid(CAUTION_TINT), alignment=Alignment(vertical="center"))


def _linked(style: NamedStyle) -> NamedStyle:
    font = _linked_font(bold=bool(style.font.b), italic=bool(style.font.i))
    return NamedStyle(f"{style.name}, link", font, style.fill, style.border, style.alignment)


LINKED = {style.name: _linked(style) for style in (TEXT, STRONG, NUMBER, COMPUTED_TEXT, SUBTITLE, SECTION_PLAIN)}
"""How a cell of a style looks that leads somewhere: underlined, so that it is seen in grey as well."""
WHERE = LINKED[TEXT.name]


def print_setup(sheet: Worksheet, title_row: int | None, *, pages_wide: int = 1, title_columns: str = "") -> None:
    """Set a sheet to print on A4 landscape, fitted in width, with its heading row repeated and pages counted."""
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = 9
    sheet.page_setup.fitToWidth = pages_wide
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    margins = sheet.page_margins
    margins.left = margins.right = 0.4
    margins.top, margins.bottom, margins.header, margins.footer = 0.5, 0.6, 0.25, 0.3
    write_footer(sheet, "&F, &A")
    if title_row is not None:
        sheet.print_title_rows = f"{title_row}:{title_row}"
    if title_columns:
        sheet.print_title_cols = title_columns


def write_footer(sheet: Worksheet, left: str, middle: str = "") -> None:
    """Set what stands below every printed page, beside the number of the page."""
    footer = sheet.oddFooter
    if footer is not None:
        for part, text in ((footer.left, left), (footer.center, middle), (footer.right, "page &P of &N")):
            if part is not None:
                part.text, part.size = text or None, 8


def in_footer(text: str, longest: int = 80) -> str:
    """Return a text of the lab's as it stands in a footer, where & is a sign of its own."""
    return shortened(visible(text).replace("\n", " "), longest).replace("&", "&&")


def set_widths(sheet: Worksheet, widths: Sequence[float]) -> None:
    """Set the widths of the first columns of a sheet."""
    for index, width in enumerate(widths, 1):
        sheet.column_dimensions[get_column_letter(index)].width = width


def lines_needed(text: str, width: float) -> int:
    """Return how many lines a text takes in a column of ``width`` characters, a little generously."""
    fit = max(1.0, width * 1.05)
    lines = 0
    for paragraph in text.split("\n"):
        used, count = 0.0, 1
        for word in paragraph.split(" "):
            length = len(word)
            if used and used + 1 + length > fit:
                used, count = 0.0, count + 1
            while length > fit:
                length, count = length - int(fit), count + 1
            used += length + (1 if used else 0)
        lines += count
    return lines
