"""Writing a table of the program's own onto a sheet it has added: headings, rows, widths, all in named styles.

A long log has thousands of rows that look alike. So a table is made of columns, each with functions of a row: what
stands there, how it looks, where it leads. Formats and links are settled at once, since other sheets follow. The rows
are written once the sheet's part is packed, some at a time, each by the template of the rows that look as it does.
"""

import textwrap
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import chain, count, islice, starmap
from typing import Generic, TypeVar, cast

from msgspec import Struct

from batchcal.workbook import styles
from batchcal.workbook.own_cells import WORDS, Kind, Look, Value, kind_of
from batchcal.workbook.own_sheet import OwnSheet
from batchcal.workbook.xlsx.links import Link, Links
from batchcal.workbook.xlsx.looks import Style
from batchcal.workbook.xlsx.references import LETTERS

Row = TypeVar("Row")

_WORDS, _FIGURES = Look(styles.TEXT), Look(styles.NUMBER)

_AT_ONCE = 250
"""Rows that are held together at most."""

_NUMBER = "\0"
"""Stands for the number of the row in a template; no markup holds it."""


class Looks(Struct, Generic[Row], frozen=True):
    """Looks of which the cell of each row has one, by the answer of the row."""

    ask: Callable[[Row], Hashable]
    looks: Mapping[Hashable, Look]


class Column(Struct, Generic[Row], frozen=True):
    """One column of a table: its heading, its width in characters, and functions of a row.

    They give the same whenever they are asked of the same row.
    """

    heading: str
    width: float
    value: Callable[[Row], Value]
    """What stands in the cell of a row."""
    look: Look | Looks[Row] | None = None
    """How cells look; None for texts, or for figures where they stand at the right."""
    right: bool = False
    """Whether figures stand in it, at the right."""
    blank: Look | None = None
    """How cells look that hold nothing, where otherwise than the others."""
    link: Callable[[Row], Link | None] | None = None
    """Where the cell of a row leads."""
    rounded: Callable[[float], float] | None = None
    """From a figure to the one that is shown of it."""

    def look_of(self, row: Row, kind: Kind) -> Look:
        """Return how the cell of a row looks, which holds this kind of content."""
        if kind == "nothing" and self.blank is not None:
            return self.blank
        if isinstance(self.look, Looks):
            return self.look.looks[self.look.ask(row)]
        return self.look or (_FIGURES if self.right else _WORDS)


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


def write_table(sheet: OwnSheet, row: int, columns: Sequence[Column[Row]], rows: Sequence[Row]) -> int:
    """Write headings in ``row`` and the rows below them, and return the row after the last."""
    lines = 1
    for number, column in enumerate(columns, 1):
        sheet.write(row, number, styles.HEADING_RIGHT if column.right else styles.HEADING, column.heading)
        lines = max(lines, _wrapped(column.heading, _fit(column.width)))
    sheet.set_height(row, _height(lines))
    table = _Table(sheet, row + 1, columns, rows)
    sheet.add_rows(row + len(rows), len(columns), table.pieces())
    sheet.links.add_later(table.links())
    return row + 1 + len(rows)


class _Template(Struct, Generic[Row], frozen=True, eq=False):
    """The markup of rows that look alike, with places for their numbers, their heights and what stands in them."""

    markup: str
    columns: Sequence[tuple[Column[Row], Kind]]
    """The columns that are not blank, and the kind of what stands in them."""


class _Table(Generic[Row]):
    """The rows of a table from row ``first`` of a sheet on."""

    def __init__(self, sheet: OwnSheet, first: int, columns: Sequence[Column[Row]], rows: Sequence[Row]) -> None:
        self._cells = sheet.cells
        self._first = first
        self._rows = rows
        self._columns = {LETTERS[number]: column for number, column in enumerate(columns, 1)}
        self._linked = {letters: column.link for letters, column in self._columns.items() if column.link is not None}
        before = sheet.links.count
        self._templates = list(self._laid_out(sheet.links))
        self._leading = sheet.links.count - before

    def _laid_out(self, links: Links) -> Iterator[_Template[Row]]:
        """Yield the template of each row; formats get their numbers, and links their room, cell after cell."""
        templates: dict[Hashable, _Template[Row]] = {}
        columns = self._columns.values()
        asked = {column.look.ask for column in columns if isinstance(column.look, Looks)}
        for start in range(0, len(self._rows), _AT_ONCE):
            rows = self._rows[start : start + _AT_ONCE]
            kinds = zip(*[list(map(kind_of, map(column.value, rows))) for column in columns], strict=True)
            for row, of_row in zip(rows, kinds, strict=True):
                leads = tuple([link(row) is not None and links.take_room() for link in self._linked.values()])
                alike = of_row, leads, *[ask(row) for ask in asked]
                template = templates.get(alike)
                if template is None:
                    template = templates[alike] = self._template(row, of_row, leads)
                yield template

    def _template(self, row: Row, kinds: Sequence[Kind], leads: Sequence[bool]) -> _Template[Row]:
        """Return the template of all rows that look like one."""
        leading = dict(zip(self._linked, leads, strict=True))
        cells = [
            self._cells.frame(f"{letters}{_NUMBER}", column.look_of(row, kind), kind, leads=leading.get(letters, False))
            for (letters, column), kind in zip(self._columns.items(), kinds, strict=True)
        ]
        return _Template(
            f'<row r="{_NUMBER}" ht="%g" customHeight="1">{"".join(cells)}</row>',
            [each for each in zip(self._columns.values(), kinds, strict=True) if each[1] != "nothing"],
        )

    def pieces(self) -> Iterator[bytes]:
        """Yield the rows, some at a time."""
        numbered = zip(count(self._first), self._rows, self._templates, strict=False)
        while some := list(islice(numbered, _AT_ONCE)):
            alike: dict[_Template[Row], dict[int, Row]] = {}
            for number, row, template in some:
                alike.setdefault(template, {})[number] = row
            texts = dict(chain.from_iterable(starmap(self._filled, alike.items())))
            yield "".join([texts[number] for number, _, _ in some]).encode()

    def _filled(self, template: _Template[Row], rows: Mapping[int, Row]) -> Iterator[tuple[int, str]]:
        """Yield the markup of rows that look alike, by their numbers."""
        lines = [1] * len(rows)
        contents = [self._contents(column, kind, rows.values(), lines) for column, kind in template.columns]
        for number, filled in zip(rows, zip(map(_height, lines), *contents, strict=True), strict=True):
            yield number, template.markup.replace(_NUMBER, str(number)) % filled

    def _contents(self, column: Column[Row], kind: Kind, rows: Iterable[Row], lines: list[int]) -> list[str]:
        """Return what stands in a column; ``lines`` are raised to those that its texts take."""
        values: Sequence[Value] = list(map(column.value, rows))
        if kind == "number" and column.rounded is not None:
            values = list(map(column.rounded, cast(Sequence[float], values)))
        elif kind in WORDS:
            fit = _fit(column.width)
            for index, text in enumerate(cast(Sequence[str], values)):
                if len(text) > fit or "\t" in text:
                    lines[index] = max(lines[index], _wrapped(text, fit))
        return self._cells.contents(kind, values)

    def links(self) -> Iterator[tuple[str, Link]]:
        """Yield the links for which there was room, each with its cell."""
        found = (
            (f"{letters}{number}", to)
            for number, row in enumerate(self._rows, self._first)
            for letters, link in self._linked.items()
            if (to := link(row)) is not None
        )
        return islice(found, self._leading)


def _height(lines: int) -> float:
    """Return the height in points that lines of text need; not every program fits rows on opening."""
    return 13.0 * lines + 4.0


def _fit(width: float) -> int:
    """Return how many letters stand on a line in a column of ``width`` characters."""
    # Figures and capitals are wider than most letters: rather a row too high than a text cut.
    return max(1, int(width * 1.18 - 2))


@lru_cache(1000)
def _wrapped(text: str, width: int) -> int:
    """Return how many lines a text takes that is wrapped; what is not plain words takes the long way.

    Blanks at the ends are not counted, and a tab is wider than one character.
    """
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
