"""Reading an OpenDocument spreadsheet (.ods): its cells, its hidden rows and its merged areas, sheet by sheet.

The elements and attributes are those of OASIS OpenDocument 1.3 Part 3 (from memory, unchecked), and what LibreOffice
writes beside them.
"""

from bisect import bisect_left
from collections.abc import Callable, Mapping, Set
from xml.parsers import expat

from msgspec import Struct, field

from batchcal.errors import WorkbookError
from batchcal.workbook.cells import EMPTY, Cell
from batchcal.workbook.foreign.ods_cells import OFFICE, TABLE, UnreadableCellError, read_cell
from batchcal.workbook.foreign.ods_styles import Styles
from batchcal.workbook.foreign.ods_text import Paragraphs
from batchcal.workbook.grid import Grid, Merged
from batchcal.workbook.xlsx.package import CONTENT_TYPES_PART, MAX_DEPTH, Archive, local, shown, too_deep, xml_parser
from batchcal.workbook.xlsx.references import LAST_COLUMN, LAST_ROW, LETTERS, quoted_name

MAX_CELLS = 5_000_000
"""Filled cells that a workbook may have; a log of 100 000 firings has about half as many."""

_CONTENT, _STYLES, _MANIFEST = "content.xml", "styles.xml", "META-INF/manifest.xml"
_KINDS = ("application/vnd.oasis.opendocument.spreadsheet", "application/vnd.oasis.opendocument.spreadsheet-template")
_UNSEEN = ("collapse", "filter")
_TAG_BYTES = 8_000_000
"""Bytes of one tag; the parser looks at all of it again with every piece that arrives."""


class OpenDocument(Archive):
    """The parts of an OpenDocument spreadsheet."""

    def _refuse_unfit(self, parts: Set[str]) -> None:
        kind = self.read("mimetype").decode("ascii", "replace").strip() if "mimetype" in parts else _KINDS[0]
        if _CONTENT not in parts or kind not in _KINDS:
            other = CONTENT_TYPES_PART.casefold() in parts
            end = " but an Open XML file under another ending; give it its own (.xlsx or .xlsm)" if other else ""
            raise self.refused(f"not an OpenDocument spreadsheet{end}")
        if self.has(_MANIFEST):
            names = {local(element) for element in self.tree(_MANIFEST).iter()}
            if "encryption-data" in names:
                raise self.refused("the workbook is protected by a password; save a copy without one")

    def parse(self, part: str, start: Callable[[str, dict[str, str]], None], end: Callable[[str], None]) -> None:
        """Hand the elements of a part to ``start`` and ``end``; WorkbookError where the part is damaged."""
        self.parse_with_text(part, start, end, lambda _text: None)

    def parse_with_text(
        self,
        part: str,
        start: Callable[[str, dict[str, str]], None],
        end: Callable[[str], None],
        text: Callable[[str], None],
    ) -> None:
        """Hand the elements and the text of a part on; WorkbookError where the part is damaged."""
        parser = xml_parser(self, part)
        parser.StartElementHandler, parser.EndElementHandler, parser.CharacterDataHandler = start, end, text
        fed = 0
        try:
            for chunk in self.chunks(part):
                parser.Parse(chunk, False)
                fed += len(chunk)
                if fed - max(parser.CurrentByteIndex, 0) > _TAG_BYTES:
                    raise self.refused(f"its part {shown(part)} has a tag of more than {_TAG_BYTES} bytes; refused")
            parser.Parse(b"", True)
        except expat.ExpatError as error:
            raise self.damaged(f"{shown(part)} is no whole XML ({error})") from error

    def damaged(self, what: str) -> WorkbookError:
        """Return the error of a workbook that is damaged."""
        return self.refused(f"the workbook is damaged: {what}")


def read_ods(name: str, data: bytes) -> tuple[Grid, ...]:
    """Return the sheets of an OpenDocument spreadsheet; WorkbookError with one line where it cannot be read."""
    document = OpenDocument(name, data)
    styles = Styles()
    if document.has(_STYLES):
        document.parse(_STYLES, styles.start, lambda _name: None)
    content = _Content(document, styles)
    document.parse_with_text(_CONTENT, content.start, content.end, content.text)
    if not content.sheets:
        raise document.refused("not an OpenDocument spreadsheet")
    titles: set[str] = set()
    for sheet in content.sheets:
        if sheet.title.casefold() in titles:
            raise document.refused(f"has two sheets named {shown(sheet.title)}; rename one")
        titles.add(sheet.title.casefold())
    return tuple(sheet.grid() for sheet in content.sheets)


class _Sheet(Struct):
    """A sheet in the making: rows that are all blank cost nothing, however many are said to follow each other."""

    title: str
    rows: dict[int, dict[int, Cell]] = field(default_factory=dict)
    hidden: list[range] = field(default_factory=list)
    merged: list[Merged] = field(default_factory=list)
    filtered: bool = False
    next_row: int = 1
    column_ends: list[int] = field(default_factory=list)
    column_styles: list[str] = field(default_factory=list)
    hidden_groups: int = 0

    def column_style(self, column: int) -> str:
        place = bisect_left(self.column_ends, column)
        return self.column_styles[place] if place < len(self.column_styles) else ""

    def grid(self) -> Grid:
        last = max(self.rows, default=0)
        hidden = {row for rows in self.hidden for row in range(rows.start, min(rows.stop, last + 1))}
        return Grid(self.title, self.rows, frozenset(hidden), self.filtered, tuple(self.merged))


class _Row(Struct):
    repeated: int
    unseen: str
    style: str
    cells: dict[int, Cell] = field(default_factory=dict)
    next_column: int = 1


class _Content:
    """Takes the elements of the content as they come, each by where it stands; what holds no cells is passed over."""

    def __init__(self, document: OpenDocument, styles: Styles) -> None:
        self.sheets: list[_Sheet] = []
        self._document = document
        self._styles = styles
        self._marks: dict[str, tuple[bool, bool]] = {}
        self._way: list[str] = [""]
        self._depth = 0
        self._skipped = 0
        self._row = _Row(1, "", "")
        self._attributes: Mapping[str, str] = {}
        self._paragraphs = Paragraphs()
        self._cells = 0
        table, office = TABLE, OFFICE
        rows = {f"{table}{name}": self._group for name in ("table-rows", "table-header-rows", "table-row-group")}
        columns = ("table-columns", "table-header-columns", "table-column-group")
        in_table = {
            **rows,
            **{f"{table}{name}": self._enter("table") for name in columns},
            f"{table}table-row": self._start_row,
            f"{table}table-column": self._column,
        }
        self._starts: dict[str, dict[str, Callable[[dict[str, str]], None]]] = {
            "": {f"{office}document-content": self._enter("document")},
            "document": {
                f"{office}automatic-styles": self._enter("styles"),
                f"{office}body": self._enter("body"),
            },
            "body": {f"{office}spreadsheet": self._enter("spreadsheet")},
            "spreadsheet": {
                f"{table}table": self._start_table,
                f"{table}database-ranges": self._enter("ranges"),
            },
            "ranges": {f"{table}database-range": self._range},
            "range": {f"{table}filter": self._filter},
            "table": in_table,
            "group": in_table,
            "hidden group": in_table,
            # What stands beneath a merged area is kept there by the programs, and so it is read.
            "row": {f"{table}{name}": self._start_cell for name in ("table-cell", "covered-table-cell")},
        }
        self._ends = {"row": self._end_row, "cell": self._end_cell, "hidden group": self._end_hidden_group}
        self._range_sheet: _Sheet | None = None

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take in the start of an element."""
        self._depth += 1
        if self._depth > MAX_DEPTH:
            raise too_deep(self._document, _CONTENT)
        if self._skipped:
            self._skipped += 1
            return
        here = self._way[-1]
        if here == "styles":
            self._styles.start(name, attributes)
            self._way.append("styles")
        elif here == "cell":
            self._in_cell(name, attributes)
        else:
            begin = self._starts.get(here, {}).get(name)
            if begin is None:
                self._skipped = 1
            else:
                begin(attributes)

    def end(self, _name: str) -> None:
        """Take in the end of an element."""
        self._depth -= 1
        if self._skipped:
            self._skipped -= 1
            return
        if self._way[-1] == "cell" and self._paragraphs.end():
            return
        ending = self._ends.get(self._way.pop())
        if ending is not None:
            ending()

    def text(self, text: str) -> None:
        """Take in text."""
        if not self._skipped:
            self._paragraphs.add(text)
            self._refuse_endless()

    def _refuse_endless(self) -> None:
        if self._paragraphs.is_too_long:
            raise self._document.refused(f"{self._place()} holds more text than a cell can; refused")

    def _enter(self, where: str) -> Callable[[dict[str, str]], None]:
        return lambda _attributes: self._way.append(where)

    def _start_table(self, attributes: dict[str, str]) -> None:
        title = attributes.get(f"{TABLE}name", "")
        if attributes.get(f"{TABLE}style-name") == "ta_extref" or title.startswith("'file:"):
            # What LibreOffice remembers of cells in other files; no sheet of this workbook.
            self._skipped = 1
            return
        self.sheets.append(_Sheet(title))
        self._way.append("table")

    def _group(self, attributes: dict[str, str]) -> None:
        hidden = attributes.get(f"{TABLE}display") == "false"
        self.sheets[-1].hidden_groups += hidden
        self._way.append("hidden group" if hidden else "group")

    def _end_hidden_group(self) -> None:
        self.sheets[-1].hidden_groups -= 1

    def _column(self, attributes: dict[str, str]) -> None:
        sheet = self.sheets[-1]
        before = sheet.column_ends[-1] if sheet.column_ends else 0
        sheet.column_ends.append(before + self._count(attributes, "number-columns-repeated"))
        sheet.column_styles.append(attributes.get(f"{TABLE}default-cell-style-name", ""))
        self._way.append("column")

    def _start_row(self, attributes: dict[str, str]) -> None:
        unseen = attributes.get(f"{TABLE}visibility", "")
        self._row = _Row(
            self._count(attributes, "number-rows-repeated"),
            unseen if unseen in _UNSEEN else "",
            attributes.get(f"{TABLE}default-cell-style-name", ""),
        )
        self._way.append("row")

    def _end_row(self) -> None:
        sheet, row = self.sheets[-1], self._row
        rows = range(sheet.next_row, sheet.next_row + row.repeated)
        sheet.next_row = rows.stop
        if row.unseen or sheet.hidden_groups:
            sheet.hidden.append(rows)
            sheet.filtered |= row.unseen == "filter"
        if row.cells:
            self._refuse_far(rows.stop - 1, max(row.cells))
            self._refuse_many(len(row.cells) * row.repeated)
            for number in rows:
                sheet.rows[number] = row.cells

    def _start_cell(self, attributes: dict[str, str]) -> None:
        self._attributes = attributes
        self._paragraphs = Paragraphs()
        self._way.append("cell")

    def _in_cell(self, name: str, attributes: dict[str, str]) -> None:
        if not self._paragraphs.start(name, attributes):
            self._skipped = 1
        self._refuse_endless()

    def _end_cell(self) -> None:
        row, attributes = self._row, self._attributes
        column, repeated = row.next_column, self._count(attributes, "number-columns-repeated")
        row.next_column += repeated
        text = self._paragraphs.text
        self._merge(column, attributes)
        if not attributes and text is None:
            return
        struck, per_cent = self._mark(attributes.get(f"{TABLE}style-name") or row.style, column)
        try:
            cell = read_cell(attributes, text, struck=struck, per_cent=per_cent)
        except UnreadableCellError as error:
            raise self._document.damaged(f"{self._place(column)} holds {error}") from error
        if cell is not EMPTY:
            self._refuse_many(repeated)
            self._refuse_far(self.sheets[-1].next_row, column + repeated - 1)
            row.cells.update(dict.fromkeys(range(column, column + repeated), cell))

    def _merge(self, column: int, attributes: Mapping[str, str]) -> None:
        columns = self._count(attributes, "number-columns-spanned")
        rows = self._count(attributes, "number-rows-spanned")
        if columns > 1 or rows > 1:
            sheet = self.sheets[-1]
            row = sheet.next_row
            sheet.merged.append(Merged(row, column, row + rows - 1, column + columns - 1))

    def _mark(self, style: str, column: int) -> tuple[bool, bool]:
        style = style or self.sheets[-1].column_style(column)
        if style not in self._marks:
            self._marks[style] = (self._styles.struck(style), self._styles.per_cent(style))
        return self._marks[style]

    def _range(self, attributes: dict[str, str]) -> None:
        address = attributes.get(f"{TABLE}target-range-address", "").removeprefix("$")
        named = [
            sheet for sheet in self.sheets if address.startswith((f"{sheet.title}.", f"{quoted_name(sheet.title)}."))
        ]
        self._range_sheet = named[0] if named else None
        if attributes.get(f"{TABLE}display-filter-buttons") == "true":
            self._filter({}, enter=False)
        self._way.append("range")

    def _filter(self, _attributes: dict[str, str], *, enter: bool = True) -> None:
        if self._range_sheet is not None:
            self._range_sheet.filtered = True
        if enter:
            self._way.append("filter")

    def _count(self, attributes: Mapping[str, str], name: str) -> int:
        written = attributes.get(TABLE + name)
        if written is None:
            return 1
        if not (written.isascii() and written.isdigit() and len(written) <= 8 and int(written)):
            raise self._document.damaged(f"{self._place()} has {name} {shown(written)!r}, which is no count")
        return int(written)

    def _refuse_far(self, row: int, column: int) -> None:
        if row > LAST_ROW or column > LAST_COLUMN:
            raise self._document.refused(
                f"sheet {shown(self.sheets[-1].title)} reaches to row {row}, column {column}; clear the stray cells "
                "far out and try again"
            )

    def _refuse_many(self, cells: int) -> None:
        self._cells += cells
        if self._cells > MAX_CELLS:
            raise self._document.refused(f"has more than {MAX_CELLS} filled cells, more than any log needs; refused")

    def _place(self, column: int | None = None) -> str:
        sheet = self.sheets[-1]
        column = self._row.next_column if column is None else column
        letter = LETTERS[column] if column <= LAST_COLUMN else f"column {column} row "
        return f"cell {letter}{sheet.next_row} of sheet {shown(sheet.title)}"
