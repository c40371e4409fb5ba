"""Long tables of plain values: frame, headings and formats are the library's, rows are written straight to XML.

The library keeps an object for every cell and builds a tree to write it. A table of an archive has a million cells, and
most of its rows are alike in kind: text, number, date. So each kind of row is laid out once, as a template, and filled.
"""

import datetime as dt
import io
import zipfile
from collections.abc import Callable, Iterable, Sequence
from itertools import islice
from operator import itemgetter
from typing import NamedTuple

from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.utils.datetime import to_excel

from batchcal.workbook import styles
from batchcal.workbook.cells import LONGEST_TEXT
from batchcal.workbook.library import write_text
from batchcal.workbook.own_cells import inline_text
from batchcal.workbook.package import new_book, packed
from batchcal.workbook.xlsx.references import LETTERS

Value = str | float | int | bool | dt.date | None
"""What stands in a cell; a float is finite."""

_END_OF_ROWS = b"</sheetData>"
_ROWS_AT_ONCE = 1_000
_ROW = "\0"
"""Stands for the number of the row in a template; no text of a cell holds it."""

_BETWEEN = "|"
_ODD = (
    "&", "<", ">", f" {_BETWEEN}", f"{_BETWEEN} ", 2 * _BETWEEN, *(_BETWEEN + sign for sign in styles.LIKE_A_FORMULA),
)  # fmt: skip
"""What texts, joined and enclosed, hold where one of them cannot be written as it stands."""


class _Layout(NamedTuple):
    """How the rows of one kind are written."""

    template: str
    dates: tuple[int, ...]
    texts: Callable[[Sequence[Value]], tuple[str, ...]]


class _Serials(dict[Value, str]):
    """Dates as the numbers that stand for them in a workbook."""

    def __missing__(self, date: Value) -> str:
        serial: float = to_excel(date)  # type: ignore[no-untyped-call]
        self[date] = f"{serial:.16g}"
        return self[date]


class LongTables:
    """A workbook of such tables, each on a sheet of its own; the same tables give the same bytes."""

    def __init__(self) -> None:
        """Begin without a sheet."""
        self._book = new_book(rows_once=True)
        self._rows: list[list[bytes]] = []
        self._layouts: dict[tuple[type, ...], _Layout] = {}
        self._serials = _Serials()
        self._numbers: dict[str, int] = {}

    def add(self, name: str, headings: Sequence[str], rows: Iterable[Sequence[Value]]) -> None:
        """Add a sheet; a text that begins like a formula is marked so that it stays text."""
        sheet = self._book.create_sheet(name)
        sheet.freeze_panes = "A2"
        for index, heading in enumerate(headings, 1):
            sheet.column_dimensions[get_column_letter(index)].width = max(11, min(len(heading) + 2, 26))
        bold = Font(styles.FONT, 10, b=True, color=styles.INK)

        def heading_cell(text: str) -> object:
            cell = WriteOnlyCell(sheet)
            write_text(cell, text)
            cell.font = bold
            return cell

        sheet.append([heading_cell(heading) for heading in headings])
        made: list[bytes] = []
        left, number = iter(rows), 2
        while some := tuple(islice(left, _ROWS_AT_ONCE)):
            made.append(self._markup(some, number).encode())
            number += len(some)
        self._rows.append(made)

    def packed(self) -> bytes:
        """Return the workbook as bytes."""
        stream = io.BytesIO()
        with zipfile.ZipFile(io.BytesIO(packed(self._book))) as frames, zipfile.ZipFile(stream, "w") as book:
            rows = {f"xl/worksheets/sheet{number}.xml": made for number, made in enumerate(self._rows, 1)}
            for part in frames.infolist():
                before, end, after = frames.read(part).partition(_END_OF_ROWS)
                with book.open(_anew(part), "w") as file:
                    file.writelines((before, *rows.get(part.filename, ()), end, after))
        return stream.getvalue()

    def _markup(self, rows: Sequence[Sequence[Value]], first: int) -> str:
        """Return rows by their templates or, where one of them holds what must be looked at, each for itself."""
        made: list[str] = []
        texts: list[str] = [""]
        for number, row in enumerate(rows, first):
            kinds = tuple(map(type, row))
            layout = self._layouts.get(kinds)
            if layout is None:
                layout = self._layouts[kinds] = self._laid_out(kinds)
            texts += layout.texts(row)
            values = list(row)
            for place in layout.dates:
                values[place] = self._serials[values[place]]
            made.append(layout.template.replace(_ROW, str(number)) % tuple(values))
        markup, joined = "".join(made), _BETWEEN.join((*texts, ""))
        if not joined.isprintable() or max(map(len, texts)) > LONGEST_TEXT or any(odd in joined for odd in _ODD):
            return "".join(self._row(number, row) for number, row in enumerate(rows, first))
        return markup

    def _laid_out(self, kinds: Sequence[type]) -> _Layout:
        dates = tuple(place for place, kind in enumerate(kinds) if issubclass(kind, dt.date))
        texts = [place for place, kind in enumerate(kinds) if issubclass(kind, str)]
        cells = "".join(self._cell(LETTERS[column], kind) for column, kind in enumerate(kinds, 1))
        return _Layout(f'<row r="{_ROW}">{cells}</row>', dates, _taken(texts))

    def _cell(self, letters: str, kind: type) -> str:
        head = f'<c r="{letters}{_ROW}"'
        if kind is type(None):
            return "%.0s"  # takes its value and writes nothing
        if issubclass(kind, str):
            return f'{head} t="inlineStr"><is><t>%s</t></is></c>'
        if issubclass(kind, dt.date):
            return f'{head} s="{self._number("date")}" t="n"><v>%s</v></c>'
        return f'{head} t="{"b" if issubclass(kind, bool) else "n"}"><v>%.16g</v></c>'

    def _row(self, number: int, row: Sequence[Value]) -> str:
        """Return a row of which a text is blank, or holds signs that are written otherwise, or is marked as text."""
        cells = []
        for column, value in enumerate(row, 1):
            if isinstance(value, str):
                cells.append(self._text(f"{LETTERS[column]}{number}", value))
            else:
                cell = self._cell(LETTERS[column], type(value)).replace(_ROW, str(number))
                cells.append(cell % (self._serials[value] if isinstance(value, dt.date) else value))
        return f'<row r="{number}">{"".join(cells)}</row>'

    def _text(self, address: str, text: str) -> str:
        if not text:
            return f'<c r="{address}" t="inlineStr" />'
        format_ = f' s="{self._number("text")}"' if text.startswith(styles.LIKE_A_FORMULA) else ""
        return f'<c r="{address}"{format_} t="inlineStr">{inline_text(text)}</c>'

    def _number(self, form: str) -> int:
        """Return the number of the format of dates, or of texts that begin like a formula; it is entered once used."""
        if form not in self._numbers:
            cell = WriteOnlyCell(self._book.worksheets[0])
            if form == "date":
                cell.value = dt.date(2000, 1, 1)
            else:
                cell.quotePrefix = True
            self._numbers[form] = cell.style_id
        return self._numbers[form]


def _taken(places: Sequence[int]) -> Callable[[Sequence[Value]], tuple[str, ...]]:
    """Return what takes the texts at these places from a row."""
    if len(places) > 1:
        return itemgetter(*places)
    return lambda row: tuple(str(row[place]) for place in places)


def _anew(part: zipfile.ZipInfo) -> zipfile.ZipInfo:
    """Return what is known of a part, without its size and sum."""
    anew = zipfile.ZipInfo(part.filename, part.date_time)
    anew.compress_type, anew.create_system, anew.external_attr = (
        part.compress_type, part.create_system, part.external_attr,
    )  # fmt: skip
    return anew
