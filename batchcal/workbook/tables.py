"""Writing a table of the program's own onto a sheet it has added: headings, rows, widths, all in named styles."""

import datetime as dt
import re
import textwrap
from collections.abc import Iterable, Sequence
from functools import lru_cache

from msgspec import Struct
from openpyxl.cell.cell import Cell
from openpyxl.styles import NamedStyle
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.workbook import styles
from batchcal.workbook.rows import Value, can_hold
from batchcal.workbook.styles import Look
from batchcal.workbook.xlsx.links import Link, Links
from batchcal.workbook.xlsx.references import address

_NOT_PLAIN = re.compile(r"[^\S ]|-|  |^ | $|^$")
"""What is not words with single blanks between them, or may be parted at a hyphen."""


class Field(Struct, frozen=True):
    """One column of a table: heading, width in characters, and whether its figures stand at the right."""

    heading: str
    width: float
    right: bool = False


class Item(Struct, frozen=True):
    """The content of one cell where a bare text or number does not say it all."""

    value: float | str | dt.date | None
    form: str = "General"
    style: NamedStyle | None = None
    link: Link | None = None
    """Where the cell leads."""


Content = Item | float | str | dt.date | None


def own_cell(sheet: Worksheet, row: int, column: int) -> Cell:
    """Return a cell of a sheet that has no merged cells."""
    cell = sheet.cell(row, column)
    if not isinstance(cell, Cell):
        raise TypeError(f"{cell.coordinate} is merged")
    return cell


def write_line(
    sheet: Worksheet,
    look: Look,
    row: int,
    text: str,
    style: NamedStyle,
    *,
    height: float = 0,
    link: Link | None = None,
    column: int = 1,
) -> int:
    """Write one line of text in a column, over the columns beside it, and return the next row."""
    cell = own_cell(sheet, row, column)
    look.apply(cell, _looks(look.links(sheet), cell.coordinate, style, link))
    styles.write_text(cell, text)
    if height:
        sheet.row_dimensions[row].height = height
    return row + 1


def write_band(
    sheet: Worksheet, look: Look, row: int, text: str, style: NamedStyle, *, columns: int, column: int = 1
) -> int:
    """Write one line of text in a band that ends with column ``columns`` and return the next row."""
    for each in range(column, columns + 1):
        look.apply(own_cell(sheet, row, each), style)
    return write_line(sheet, look, row, text, style, height=20, column=column)


def write_table(
    sheet: Worksheet, look: Look, row: int, fields: Sequence[Field], rows: Iterable[Sequence[Content]]
) -> int:
    """Write headings in ``row`` and the rows below them, and return the row after the last."""
    for column, field in enumerate(fields, 1):
        heading = own_cell(sheet, row, column)
        look.apply(heading, styles.HEADING_RIGHT if field.right else styles.HEADING)
        styles.write_text(heading, field.heading)
    own, links = look.rows(sheet), look.links(sheet)
    for contents in rows:
        row += 1
        items = [content if isinstance(content, Item) else Item(content) for content in contents]
        looks = [
            item.style or (styles.NUMBER if field.right else styles.TEXT)
            for field, item in zip(fields, items, strict=True)
        ]
        for index, item in enumerate(items):
            if item.link is not None:
                looks[index] = _looks(links, address(row, index + 1), looks[index], item.link)
        if all(can_hold(item.value) for item in items):
            own.put(row, [_kept(look, style, item) for style, item in zip(looks, items, strict=True)])
        else:
            for column, (style, item) in enumerate(zip(looks, items, strict=True), 1):
                _write(own_cell(sheet, row, column), look, style, item)
        sheet.row_dimensions[row].height = _height(fields, contents)
    return row + 1


def _looks(links: Links, cell: str, style: NamedStyle, link: Link | None) -> NamedStyle:
    """Return how a cell looks, and keep its link where the sheet has room for it."""
    return styles.LINKED[style.name] if link is not None and links.add(cell, link) else style


def _height(fields: Sequence[Field], contents: Sequence[Content]) -> float:
    """Return the height in points that wrapped texts need; not every program fits rows on opening."""
    lines = 1
    for field, content in zip(fields, contents, strict=True):
        text = content.value if isinstance(content, Item) else content
        if isinstance(text, str):
            width = max(1, int(field.width * 1.3 - 2))
            # Blanks at the ends are not counted, and a tab is wider than one character.
            if len(text) > width or "\t" in text:
                lines = max(lines, _lines(text, width))
    return 13.0 * lines + 4.0


@lru_cache(1000)
def _lines(text: str, width: int) -> int:
    """Return how many lines a text takes that is wrapped; what is not plain words takes the long way."""
    words = text.split(" ")
    if _NOT_PLAIN.search(text) or len(max(words, key=len)) > width:
        return len(textwrap.wrap(text, width))
    lines, used = 1, -1
    for word in words:
        used += 1 + len(word)
        if used > width:
            lines, used = lines + 1, len(word)
    return lines


def set_field_widths(sheet: Worksheet, fields: Sequence[Field]) -> None:
    """Give the columns of a sheet the widths of a table's fields."""
    for column, field in enumerate(fields, 1):
        sheet.column_dimensions[get_column_letter(column)].width = field.width


def _kept(look: Look, style: NamedStyle, item: Item) -> tuple[int, Value]:
    """Return a cell as it is kept in a row that the library does not write: as :func:`_write` would have it."""
    value = item.value
    if isinstance(value, str):
        return look.form(style, quoted=value.startswith(styles.LIKE_A_FORMULA)), styles.visible(value)
    if isinstance(value, float):
        return look.form(style, item.form), value
    return look.form(style), None


def _write(cell: Cell, look: Look, style: NamedStyle, item: Item) -> None:
    look.apply(cell, style)
    if isinstance(item.value, str):
        styles.write_text(cell, item.value)
    elif item.value is not None:
        cell.value = item.value
        cell.number_format = "yyyy-mm-dd" if isinstance(item.value, dt.date) else item.form
