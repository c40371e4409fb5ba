"""The rows of the sheet Working as they are written: straight to XML, since a long log has millions of cells.

The library keeps every cell in memory and writes formulas without their values. Here rows are written once, each
formula with its value, so that a program that does not calculate shows the same figures.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum

from batchcal.logged import Place
from batchcal.workbook import styles
from batchcal.workbook.styles import Look
from batchcal.workbook.working.live import Live, Span
from batchcal.workbook.xlsx.links import Link, Links
from batchcal.workbook.xlsx.markup import escape

LAST = "W"
"""Column of the differences, the last one."""
STORED = "V"
RESULT = "T"
COLUMNS = "ABCDEFGHIJKLMNOPQRSTUVW"


class Form(IntEnum):
    """How a cell looks; ``_LOOKS`` holds the named style and the number format of each."""

    TITLE = 0
    SUBTITLE = 1
    SECTION = 2
    HEADING = 3
    HEADING_RIGHT = 4
    TEXT = 5
    STRONG = 6
    LINK = 7
    FOUR = 8
    FIVE = 9
    HEAT = 10
    PLAIN = 11
    COUNT = 12
    RESULT = 13
    STORED = 14
    STATED = 15
    DIFFERENCE = 16
    WORST = 17
    VERDICT = 18
    SAMPLE = 19
    SAMPLE_STORED = 20
    SMALL_RESULT = 21


_LOOKS = {
    Form.TITLE: (styles.TITLE, "General"),
    Form.SUBTITLE: (styles.SUBTITLE, "General"),
    Form.SECTION: (styles.SECTION, "General"),
    Form.HEADING: (styles.HEADING, "General"),
    Form.HEADING_RIGHT: (styles.CLOSE_HEADING, "General"),
    Form.TEXT: (styles.LINE_TEXT, "General"),
    Form.STRONG: (styles.LINE_STRONG, "General"),
    Form.LINK: (styles.LINE_WHERE, "General"),
    Form.FOUR: (styles.CLOSE_NUMBER, "0.0000"),
    Form.FIVE: (styles.CLOSE_NUMBER, "0.00000"),
    Form.HEAT: (styles.CLOSE_NUMBER, "0.00"),
    Form.PLAIN: (styles.CLOSE_NUMBER, "General"),
    Form.COUNT: (styles.CLOSE_NUMBER, "0"),
    Form.RESULT: (styles.CLOSE_STRONG, "0.00"),
    Form.STORED: (styles.CLOSE_HELD, "0.00"),
    Form.STATED: (styles.CLOSE_HELD, "0.00000"),
    Form.DIFFERENCE: (styles.CLOSE_NUMBER, "0.0E+00"),
    Form.WORST: (styles.CLOSE_STRONG, "0.0E+00"),
    Form.VERDICT: (styles.SECTION_PLAIN, "General"),
    Form.SAMPLE: (styles.CLOSE_STRONG, "0.0"),
    Form.SAMPLE_STORED: (styles.CLOSE_HELD, "0.0"),
    Form.SMALL_RESULT: (styles.CLOSE_STRONG, "0.00000"),
}

_QUOTED = len(Form)
"""Added to the form of a text that looks like a formula: it then stays text where someone edits it."""


@dataclass(frozen=True, slots=True)
class Words:
    """A formula that gives words."""

    text: str
    value: str


Content = Live | Words | float | str


class Line:
    """One row in the making."""

    def __init__(self, number: int, height: float = 0.0, *, ruled: bool = False) -> None:
        """Begin row ``number``; ``height`` in points, 0 for the usual one; ``ruled`` draws its line to the end."""
        self.number = number
        self.height = height
        self.ruled = ruled
        self._cells: dict[str, tuple[Content, Form]] = {}

    def write(self, letter: str, content: Content | None, form: Form) -> None:
        """Fill a cell; None leaves it blank in the form of its column."""
        self._cells[letter] = ("" if content is None else content, form)

    def put(self, letter: str, content: Live, form: Form = Form.HEAT) -> Live:
        """Fill a cell with a formula, and return the cell as part of other formulas; a plain 0 leaves it blank."""
        if content.text != "0":
            self._cells[letter] = (content, form)
        return Live(f"{letter}{self.number}", content.value)

    def difference(self, part: Live) -> float:
        """Fill the cell of the difference, and return its value."""
        self._cells[LAST] = (part, Form.DIFFERENCE)
        return part.value

    def xml(self, style_ids: Sequence[int]) -> str:
        """Return the row as it stands in the sheet's part."""
        number = self.number
        height = f' ht="{self.height:g}" customHeight="1"' if self.height else ""
        parts = [f'<row r="{number}"{height}>']
        cells = self._cells
        for letter in COLUMNS if self.ruled else sorted(cells):
            if letter not in cells:
                parts.append(f'<c r="{letter}{number}" s="{style_ids[Form.TEXT]}"/>')
                continue
            content, form = cells[letter]
            at = f'<c r="{letter}{number}" s="{style_ids[form]}"'
            if isinstance(content, Live):
                parts.append(f"{at}><f>{escape(content.text)}</f><v>{_digits(content.value)}</v></c>")
            elif isinstance(content, Words):
                parts.append(f'{at} t="str"><f>{escape(content.text)}</f><v>{escape(content.value)}</v></c>')
            elif not isinstance(content, str):
                parts.append(f"{at}><v>{_digits(content)}</v></c>")
            elif content:
                if content.startswith(styles.LIKE_A_FORMULA):
                    at = f'<c r="{letter}{number}" s="{style_ids[form + _QUOTED]}"'
                kept = "" if content == content.strip() else ' xml:space="preserve"'
                text = escape(styles.visible(content))
                parts.append(f'{at} t="inlineStr"><is><t{kept}>{text}</t></is></c>')
            else:
                parts.append(f"{at}/>")
        parts.append("</row>")
        return "".join(parts)


def _digits(value: float) -> str:
    """Return a number with all the digits that it needs, and no others."""
    return repr(float(value)).removesuffix(".0")


class Body:
    """The rows written so far, from ``first`` on, with the links and the largest difference among them."""

    def __init__(self, first: int, style_ids: Sequence[int]) -> None:
        """Begin with no row; ``style_ids`` are the numbers of the styles in the workbook that the sheet is for."""
        self.next = first
        self.style_ids = style_ids
        self.links = Links()
        self.worst = 0.0
        self.compared = 0
        self.xml = bytearray()

    def line(self) -> Line:
        """Begin the next row of a table."""
        return Line(self.next, ruled=True)

    def add(self, line: Line) -> int:
        """Write a row; returns its number."""
        self.xml += line.xml(self.style_ids).encode()
        self.next = line.number + 1
        return line.number

    def difference(self, line: Line, part: Live) -> None:
        """Fill the cell of a row's difference, and keep the largest of all."""
        self.worst = max(self.worst, line.difference(part))
        self.compared += 1

    def link(self, line: Line, letter: str, text: str, place: Place, name: str) -> None:
        """Fill a cell with words that lead to a field's cell of the log."""
        self.lead(line, letter, text, Link(place.sheet, place.cell(name) or f"A{place.row}"), Form.STRONG)

    def lead(self, line: Line, letter: str, text: str, link: Link, plain: Form) -> None:
        """Fill a cell with words that lead somewhere; ``plain`` is its form where the sheet may have no more links."""
        linked = self.links.add(f"{letter}{line.number}", link)
        line.write(letter, text, Form.LINK if linked else plain)

    def section(self, title: str, note: str = "") -> None:
        """Write the band that opens a section, after an empty row, and a line of explanation below it."""
        self.next += 1
        band = Line(self.next, 18)
        for letter in COLUMNS:
            band.write(letter, title if letter == "A" else None, Form.SECTION)
        self.add(band)
        if note:
            self.note(note)

    def note(self, text: str) -> None:
        """Write one line of words over the columns."""
        line = Line(self.next)
        line.write("A", text, Form.SUBTITLE)
        self.add(line)

    def headings(self, texts: Mapping[str, str], *, words: str = "ABC") -> None:
        """Write a row of headings by their columns; ``words`` are the columns of words."""
        line = Line(self.next, 40)
        write_headings(line, texts, words)
        self.add(line)

    def span(self, letter: str, first: int, values: list[float]) -> Span:
        """Return the cells of a column from row ``first`` on, one for each value."""
        return Span(f"{letter}{first}:{letter}{first + len(values) - 1}", values)


def write_headings(line: Line, texts: Mapping[str, str], words: str = "ABC") -> None:
    """Fill a row with headings: at the left in the columns of ``words``, at the right in those of numbers."""
    for letter in COLUMNS:
        line.write(letter, texts.get(letter), Form.HEADING if letter in words else Form.HEADING_RIGHT)


def style_ids(look: Look) -> list[int]:
    """Return the number that each form has in the workbook of ``look``, to which the styles are added."""
    return [
        look.number(style, form, quoted=quoted)
        for quoted in (False, True)
        for style, form in map(_LOOKS.__getitem__, Form)
    ]
