"""A sheet of the program's own, written straight to XML: its cells row after row, its frame about them at the end."""

from collections.abc import Iterable, Iterator, Sequence

from batchcal.workbook.own_cells import Look, OwnCells, Value, kind_of
from batchcal.workbook.xlsx.geometry import Area
from batchcal.workbook.xlsx.links import Link, Links
from batchcal.workbook.xlsx.looks import Style
from batchcal.workbook.xlsx.markup import escape
from batchcal.workbook.xlsx.references import LETTERS, address, quoted_name
from batchcal.workbook.xlsx.stylesheet import Stylesheet

_TAB = "8A7FA3"


class OwnSheet:
    """One sheet; ``title`` is its name, and the numbers of its formats are those of ``formats``."""

    def __init__(self, title: str, formats: Stylesheet, *, from_1904: bool = False) -> None:
        """Begin without cells; ``from_1904``: the workbook counts its days from 1904."""
        self.title = title
        self.formats = formats
        self.cells = OwnCells(formats, from_1904=from_1904)
        self.links = Links()
        self.widths: Sequence[float] = ()
        """Of the first columns, in characters."""
        self.folded = 0
        """How many of the last columns fold together; they have one width."""
        self.still = (0, 0)
        """The rows and the columns that stay in view while the others move."""
        self.shown = False
        """Whether the sheet is in view on opening."""
        self.pages_wide = 1
        self.title_rows = self.title_columns = ""
        """Repeated on every page: 5:6, A:A."""
        self.printed: Area | None = None
        """What is printed; None for everything."""
        self.filtered: Area | None = None
        """Headings and rows in which one can look for some."""
        self.footer = ("", "")
        """What stands below every printed page at the left and in the middle."""
        self._rows: list[Iterable[bytes]] = []
        """Rows written so far, piece by piece."""
        self._row = 0
        self._cells: list[str] = []
        """Of the row that is being written, which are put together when the next one begins."""
        self._heights: dict[int, float] = {}
        self._columns = 1

    def write(self, row: int, column: int, style: Style, value: Value = None, *, link: Link | None = None) -> None:
        """Fill a cell; rows, and the cells of a row, come one after the other.

        It leads somewhere where there is room for another link.
        """
        if row != self._row:
            self._put_together()
            self._row = row
        where = f"{LETTERS[column]}{row}"
        leads = link is not None and self.links.add(where, link)
        kind = kind_of(value)
        frame = self.cells.frame(where, Look(style), kind, leads=leads)
        self._cells.append(frame if kind == "nothing" else frame % self.cells.contents(kind, [value])[0])
        self._columns = max(self._columns, column)

    def set_height(self, row: int, height: float) -> None:
        """Give a row that was written cell by cell a height in points."""
        self._heights[row] = height

    def add_rows(self, last: int, columns: int, rows: Iterable[bytes]) -> None:
        """Have the next rows, up to ``last``, stand on the sheet; their markup is asked for once the part is made."""
        self._put_together()
        self._rows.append(rows)
        self._row = max(self._row, last)
        self._columns = max(self._columns, columns)

    def part(self, space: str) -> Iterator[bytes]:
        """Yield the sheet's part piece by piece, once, in the namespace ``space``."""
        self._put_together()
        yield self.head(space, max(1, self._row), self._columns)
        for rows in self._rows:
            yield from rows
        yield from self.tail(self.links)

    def head(self, space: str, rows: int, columns: int) -> bytes:
        """Return what stands before the rows; so many rows and columns are used."""
        return (
            f'<worksheet xmlns="{space}"><sheetPr><tabColor rgb="00{_TAB}" /><outlinePr summaryBelow="1" '
            'summaryRight="1" /><pageSetUpPr fitToPage="1" /></sheetPr>'
            f'<dimension ref="A1:{address(rows, columns)}" /><sheetViews><sheetView showGridLines="0" '
            f'tabSelected="{int(self.shown)}" workbookViewId="0">{self._pane()}</sheetView></sheetViews>'
            f'<sheetFormatPr baseColWidth="8" defaultRowHeight="15" /><cols>{self._cols()}</cols><sheetData>'
        ).encode()

    def tail(self, links: Links) -> Iterator[bytes]:
        """Yield what stands behind the rows."""
        left, middle = self.footer
        footer = f"&L&8 {left}&C&8 {middle}&R&8 page &P of &N"
        filtered = "" if self.filtered is None else f'<autoFilter ref="{_plain(self.filtered)}" />'
        yield f"</sheetData>{filtered}".encode()
        yield from links.markup()
        yield (
            '<pageMargins left="0.4" right="0.4" top="0.5" bottom="0.6" header="0.25" footer="0.3" />'
            '<pageSetup orientation="landscape" paperSize="9" fitToHeight="0" '
            f'fitToWidth="{self.pages_wide}" /><headerFooter><oddHeader /><oddFooter>{escape(footer)}</oddFooter>'
            "<evenHeader /><evenFooter /><firstHeader /><firstFooter /></headerFooter></worksheet>"
        ).encode()

    def names(self) -> Iterator[tuple[str, str, bool]]:
        """Yield the names that belong to the sheet: each with what it stands for, and whether it is hidden."""
        sheet = quoted_name(self.title)
        if self.filtered is not None:
            yield "_xlnm._FilterDatabase", f"{sheet}!{self.filtered.fixed}", True
        titles = [text.split(":") for text in (self.title_rows, self.title_columns) if text]
        if titles:
            yield "_xlnm.Print_Titles", ",".join(f"{sheet}!${first}:${last}" for first, last in titles), False
        if self.printed is not None:
            yield "_xlnm.Print_Area", f"{sheet}!{self.printed.fixed}", False

    def _put_together(self) -> None:
        if self._cells:
            self._rows.append(self._line(self._row, "".join(self._cells)))
            self._cells = []

    def _line(self, row: int, cells: str) -> Iterator[bytes]:
        """Yield one row; its height is asked for once the part is made."""
        height = self._heights.get(row)
        said = f' ht="{height:g}" customHeight="1"' if height is not None else ""
        yield f'<row r="{row}"{said}>{cells}</row>'.encode()

    def _pane(self) -> str:
        rows, columns = self.still
        if not rows and not columns:
            return '<selection activeCell="A1" sqref="A1" />'
        active = "bottomRight" if columns else "bottomLeft"
        across = f'xSplit="{columns}" ' if columns else ""
        others = '<selection pane="topRight" /><selection pane="bottomLeft" />' if columns else ""
        return (
            f'<pane {across}ySplit="{rows}" topLeftCell="{address(rows + 1, columns + 1)}" activePane="{active}" '
            f'state="frozen" />{others}<selection pane="{active}" activeCell="A1" sqref="A1" />'
        )

    def _cols(self) -> str:
        single = len(self.widths) - self.folded
        cols = [
            f'<col width="{width:g}" customWidth="1" min="{column}" max="{column}" />'
            for column, width in enumerate(self.widths[:single], 1)
        ]
        if self.folded:
            width = self.widths[single]
            cols.append(
                f'<col outlineLevel="1" width="{width:g}" customWidth="1" min="{single + 1}" '
                f'max="{len(self.widths)}" />'
            )
        return "".join(cols)


def _plain(area: Area) -> str:
    return f"{address(area.first_row, area.first_column)}:{address(area.last_row, area.last_column)}"
