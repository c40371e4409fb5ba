"""How the program's own cells and sheets look: few named styles, calm tints that print in grey, safe text."""

import re

from batchcal.findings import Severity
from batchcal.terms import Decision
from batchcal.workbook.cells import LONGEST_TEXT, shortened
from batchcal.workbook.xlsx.looks import Alignment, Border, Font, Side, Style

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


def _font(size: float = 10, colour: str = INK, *, bold: bool = False, italic: bool = False) -> Font:
    return Font(FONT, size, colour, bold, italic)


def _linked_font(*, bold: bool = False, italic: bool = False) -> Font:
    return Font(FONT, 10, LINK_INK, bold, italic, underlined=True)


_THIN = Side("thin", LINE)
_STRONG = Side("medium", STRONG_LINE)
_UNDER = Border(bottom=_THIN)
_WRAPPED = Alignment(horizontal="left", vertical="top", wrapped=True, indent=1)
_RIGHT = Alignment(horizontal="right", vertical="top", indent=1)
_HEAD = Alignment(horizontal="left", vertical="center", wrapped=True, indent=1)
_HEAD_RIGHT = Alignment(horizontal="right", vertical="center", wrapped=True, indent=1)

TITLE = Style("title", _font(16, bold=True), alignment=Alignment(vertical="center"))
SUBTITLE = Style("subtitle", _font(10, SOFT_INK), alignment=Alignment(vertical="center"))
SECTION = Style("section", _font(12, bold=True), border=Border(bottom=_STRONG))
SECTION_PLAIN = Style("summary line", _font(12, bold=True), alignment=Alignment(vertical="center"))
TEXT = Style("text", _font(), border=_UNDER, alignment=_WRAPPED)
STRONG = Style("strong text", _font(bold=True), border=_UNDER, alignment=_WRAPPED)
# For a table of many columns: texts on one line, numbers close together.
_ONE_LINE = Alignment(horizontal="left", vertical="top", indent=1)
_CLOSE = Alignment(horizontal="right", vertical="top")
LINE_TEXT = Style("text on one line", _font(), border=_UNDER, alignment=_ONE_LINE)
LINE_STRONG = Style("strong text on one line", _font(bold=True), border=_UNDER, alignment=_ONE_LINE)
LINE_WHERE = Style("place on one line", _linked_font(), border=_UNDER, alignment=_ONE_LINE)
CLOSE_NUMBER = Style("close number", _font(), border=_UNDER, alignment=_CLOSE)
CLOSE_STRONG = Style("strong close number", _font(bold=True), border=_UNDER, alignment=_CLOSE)
CLOSE_HELD = Style("stored number", _font(colour=SOFT_INK, italic=True), border=_UNDER, alignment=_CLOSE)
NOTICE = Style("notice", _font(bold=True), alignment=Alignment(vertical="center"))
UNBROKEN = Style("line", _font(), alignment=Alignment(vertical="center"))
PLAIN = Style("paragraph", _font(), alignment=_WRAPPED)
NUMBER = Style("number", _font(), border=_UNDER, alignment=_RIGHT)
STRONG_NUMBER = Style("strong number", _font(bold=True), border=_UNDER, alignment=_RIGHT)
HELD = Style("number not released", _font(colour=SOFT_INK, italic=True), border=_UNDER, alignment=_RIGHT)
HEADING = Style("heading", _font(bold=True), HEADING_TINT, Border(_THIN, _STRONG), alignment=_HEAD)
HEADING_RIGHT = Style("heading of numbers", _font(bold=True), HEADING_TINT, Border(_THIN, _STRONG), _HEAD_RIGHT)
CLOSE_HEADING = Style(
    "heading of close numbers",
    _font(bold=True),
    HEADING_TINT,
    Border(_THIN, _STRONG),
    Alignment(horizontal="right", vertical="center", wrapped=True),
)
COMPUTED_HEADING = Style(
    "computed heading",
    _font(bold=True, italic=True),
    COMPUTED_TINT,
    Border(_THIN, _STRONG),
    alignment=Alignment(horizontal="left", vertical="center", wrapped=True),
)
COMPUTED = Style("computed", _font(italic=True), "F7F5FA", _UNDER, Alignment(vertical="top"))
# On one line, a little off the number before it: a row of the lab's is not made higher.
COMPUTED_TEXT = Style("computed text", _font(italic=True), "F7F5FA", _UNDER, _ONE_LINE)
CAUTION_BAND = Style("caution band", _font(bold=True), CAUTION_TINT, alignment=Alignment(vertical="center"))


def _linked(style: Style) -> Style:
    font = _linked_font(bold=style.font.bold, italic=style.font.italic)
    return Style(f"{style.name}, link", font, style.fill, style.border, style.alignment)


LINKED = {style.name: _linked(style) for style in (TEXT, STRONG, NUMBER, COMPUTED_TEXT, SUBTITLE, SECTION_PLAIN)}
"""How a cell of a style looks that leads somewhere: underlined, so that it is seen in grey as well."""
WHERE = LINKED[TEXT.name]


def in_footer(text: str, longest: int = 80) -> str:
    """Return a text of the lab's as it stands in a footer, where & is a sign of its own."""
    return shortened(visible(text).replace("\n", " "), longest).replace("&", "&&")


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
