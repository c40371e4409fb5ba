"""Writing a table of the program's own onto a sheet it has added: headings, rows, widths, all in named styles."""

import datetime as dt
import textwrap
from collections.abc import Iterable, Sequence
from functools import lru_cache

from msgspec import Struct

from batchcal.workbook import styles
from batchcal.workbook.own_sheet import OwnSheet
from batchcal.workbook.xlsx.links import Link
from batchcal.workbook.xlsx.looks import Style


class Field(Struct, frozen=True):
    """One column of a table: heading, width in characters, and whether its figures stand at the right."""

    heading: str
    width: float
    right: bool = False


class Item(Struct, frozen=True):
    """The content of one cell where a bare text or number does not say it all."""

    value: float | str | dt.date | None
    form: str = "General"
    style: Style | None = None
    link: Link | None = None
    """Where the cell leads."""


Content = Item | float | str | dt.date | None


def write_line(
    sheet: OwnSheet, row: int, text: str, style: Style, *, height: float = 0, link: Link | None = None, column: int = 1
) -> int:
    """Write one line of text in a column, over the columns beside it, and return the next row."""
    sheet.write(row, column, style, text, link=link)
    if height:
        sheet.set_height(row, height)
    return row + 1


def write_band(sheet: OwnSheet, row: int, text: str, style: Style, *, columns: int, column: int = 1) -> int:
    """Write one line of text in a band that ends with column ``columns`` and return the next row."""
    write_line(sheet, row, text, style, height=20, column=column)
    for each in range(column + 1, columns + 1):
        sheet.write(row, each, style)
    return row + 1


def write_table(sheet: OwnSheet, row: int, fields: Sequence[Field], rows: Iterable[Sequence[Content]]) -> int:
    """Write headings in ``row`` and the rows below them, and return the row after the last."""
    for column, field in enumerate(fields, 1):
        sheet.write(row, column, styles.HEADING_RIGHT if field.right else styles.HEADING, field.heading)
    sheet.set_height(row, _height(fields, [field.heading for field in fields]))
    usual = [styles.NUMBER if field.right else styles.TEXT for field in fields]
    write = sheet.write
    for contents in rows:
        row += 1
        for column, (style, content) in enumerate(zip(usual, contents, strict=True), 1):
            if isinstance(content, Item):
                write(row, column, content.style or style, content.value, form=content.form, link=content.link)
            else:
                write(row, column, style, content)
        sheet.set_height(row, _height(fields, contents))
    return row + 1


def _height(fields: Sequence[Field], contents: Sequence[Content]) -> float:
    """Return the height in points that wrapped texts need; not every program fits rows on opening."""
    lines = 1
    for field, content in zip(fields, contents, strict=True):
        text = content.value if isinstance(content, Item) else content
        if isinstance(text, str):
            # Figures and capitals are wider than most letters: rather a row too high than a text cut.
            width = max(1, int(field.width * 1.18 - 2))
            # Blanks at the ends are not counted, and a tab is wider than one character.
            if len(text) > width or "\t" in text:
                lines = max(lines, _lines(text, width))
    return 13.0 * lines + 4.0


@lru_cache(1000)
def _lines(text: str, width: int) -> int:
    """Return how many lines a text takes that is wrapped; what is not plain words takes the long way."""
    if "-" in text or " ".join(text.split()) != text:
        return len(textwrap.wrap(text, width))
    lines, start = 1, 0
    while len(text) - start > width:
        # The last blank before which words fill the line; where there is none, a word is longer than the line.
        blank = text.rfind(" ", start, start + width + 1)
        if blank < 0:
            return len(textwrap.wrap(text, width))
        lines, start = lines + 1, blank + 1
    return lines if text else 0
