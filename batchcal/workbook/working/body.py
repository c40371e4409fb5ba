"""The rows of the sheet Working as they are written: straight to XML, since a long log has millions of cells.

The library keeps every cell in memory and writes formulas without their values. Here rows are written once, each
formula with its value, so that a program that does not calculate shows the same figures.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import IntEnum
from tempfile import SpooledTemporaryFile, gettempdir

from msgspec import Struct

from batchcal.errors import OutputError
from batchcal.logged import Place
from batchcal.workbook import styles
from batchcal.workbook.layout import WORKING_SHEET
from batchcal.workbook.own_cells import inline_text
from batchcal.workbook.targets import to_log
from batchcal.workbook.working.alike import Marks
from batchcal.workbook.working.figures import Column, Figure, highest
from batchcal.workbook.working.live import Live, Span
from batchcal.workbook.xlsx.links import Link, Links
from batchcal.workbook.xlsx.markup import escape
from batchcal.workbook.xlsx.stylesheet import Stylesheet

LAST = "W"
"""Column of the differences, the last one."""
STORED = "V"
RESULT = "T"
COLUMNS = "ABCDEFGHIJKLMNOPQRSTUVW"

_IN_MEMORY = 1_000_000
"""Bytes of rows that are kept in memory; the head of the sheet stands before them and holds what they come to, so that
the rows of a longer log wait in a temporary file."""

_PIECE = 1 << 18


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


class Words(Struct, frozen=True):
    """A formula that gives words."""

    text: str
    value: str


class Texts(Struct, frozen=True):
    """A text of its own in every row that is written together with others."""

    rows: Sequence[str]


Content = Live | Words | Column | Texts | float | str


class Line:
    """One row in the making, or rows that are written together."""

    def __init__(self, number: int | str, height: float = 0.0, *, ruled: bool = False) -> None:
        """Begin row ``number``; ``height`` in points, 0 for the usual one; ``ruled`` draws its line to the end.

        Of rows that are written together the number is its mark.
        """
        self.number = number
        self.height = height
        self.ruled = ruled
        self.worst: float | None = None
        """The difference on it, the highest where rows are written together; None where nothing is compared."""
        self._cells: dict[str, tuple[Content, Form]] = {}

    def write(self, letter: str, content: Content | None, form: Form) -> None:
        """Fill a cell; None leaves it blank in the form of its column."""
        self._cells[letter] = ("" if content is None else content, form)

    def put(self, letter: str, content: Live, form: Form = Form.HEAT) -> Live:
        """Fill a cell with a formula, and return the cell as part of other formulas; a plain 0 leaves it blank."""
        if content.text != "0":
            self._cells[letter] = (content, form)
        return Live(f"{letter}{self.number}", content.value)

    def difference(self, part: Live) -> None:
        """Fill the cell of the difference from what is stored."""
        self._cells[LAST] = (part, Form.DIFFERENCE)
        self.worst = highest(part.value)

    def xml(self, style_ids: Sequence[int], marks: Marks | None = None) -> str:
        """Return the row as it stands in the sheet's part; with ``marks`` where rows are written together."""
        number = self.number
        height = f' ht="{self.height:g}" customHeight="1"' if self.height else ""
        parts = [f'<row r="{number}"{height}>']
        cells = self._cells
        for letter in COLUMNS if self.ruled else sorted(cells):
            if letter not in cells:
                parts.append(f'<c r="{letter}{number}" s="{style_ids[Form.TEXT]}"/>')
                continue
            content, form = cells[letter]
            parts.append(f'<c r="{letter}{number}" s="')
            if isinstance(content, Live):
                parts.append(
                    f'{style_ids[form]}"><f>{escape(content.text)}</f><v>{_digits(content.value, marks)}</v></c>'
                )
            elif isinstance(content, Words):
                parts.append(
                    f'{style_ids[form]}" t="str"><f>{escape(content.text)}</f><v>{escape(content.value)}</v></c>'
                )
            elif isinstance(content, Texts):
                texts = {text: _text(text, form, style_ids) for text in set(content.rows)}
                parts.append(_of(marks).texts([texts[text] for text in content.rows]))
            elif isinstance(content, str):
                parts.append(_text(content, form, style_ids))
            else:
                parts.append(f'{style_ids[form]}"><v>{_digits(content, marks)}</v></c>')
        parts.append("</row>")
        return "".join(parts)


def _text(text: str, form: Form, style_ids: Sequence[int]) -> str:
    """Return a cell with a text, from the number of its style on."""
    if not text:
        return f'{style_ids[form]}"/>'
    style = style_ids[form + _QUOTED if text.startswith(styles.LIKE_A_FORMULA) else form]
    return f'{style}" t="inlineStr">{inline_text(text)}</c>'


def _digits(value: Figure, marks: Marks | None) -> str:
    """Return a number with all the digits that it needs, or the mark of many."""
    return _of(marks).figures(value) if isinstance(value, Column) else repr(float(value))


def _of(marks: Marks | None) -> Marks:
    if marks is None:
        raise ValueError("a row that stands alone holds what belongs to many")
    return marks


class Body:
    """The rows written so far, from ``first`` on, with the links and the largest difference among them."""

    def __init__(self, first: int, style_ids: Sequence[int]) -> None:
        """Begin with no row; ``style_ids`` are the numbers of the styles in the workbook that the sheet is for."""
        self.next = first
        self.style_ids = style_ids
        self.links = Links()
        self.worst = 0.0
        self.compared = 0
        self._written = SpooledTemporaryFile(_IN_MEMORY)  # noqa: SIM115  # closed once its rows are read

    def line(self) -> Line:
        """Begin the next row of a table."""
        return Line(self.next, ruled=True)

    def add(self, line: Line) -> None:
        """Write a row, the next one."""
        self.add_rows([line.xml(self.style_ids)], 1)
        self.note_differences([line], 1)

    def add_rows(self, texts: Sequence[str], count: int) -> None:
        """Write the next rows, of which there are ``count``."""
        try:
            self._written.write("".join(texts).encode())
        except OSError as error:
            raise OutputError(
                f"no room for the rows of {WORKING_SHEET} in {gettempdir()} ({error.strerror})"
            ) from error
        self.next += count

    def rows(self) -> Iterator[bytes]:
        """Yield the rows, once, piece by piece."""
        with self._written as written:
            written.seek(0)
            while piece := written.read(_PIECE):
                yield piece

    def note_differences(self, lines: Sequence[Line], count: int) -> None:
        """Keep the largest difference; each of the lines stands for ``count`` rows."""
        for line in lines:
            if line.worst is not None:
                self.worst = max(self.worst, line.worst)
                self.compared += count

    def lead(self, cells: Iterable[tuple[str, Link | None]]) -> list[bool]:
        """Have cells lead somewhere, and return which of them do.

        Those do not that have no link, and those beyond the links that a sheet may have.
        """
        return [link is not None and self.links.add(cell, link) for cell, link in cells]

    def link(self, line: Line, text: str, place: Place, name: str) -> None:
        """Fill the first cell of the next row with words that lead to a field's cell of the log."""
        (leads,) = self.lead([(f"A{self.next}", to_log(place, name))])
        line.write("A", text, Form.LINK if leads else Form.STRONG)

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


def style_ids(formats: Stylesheet) -> list[int]:
    """Return the number that each form has in a workbook, to which it is added."""
    return [
        formats.number(style, form, quoted=quoted)
        for quoted in (False, True)
        for style, form in map(_LOOKS.__getitem__, Form)
    ]
