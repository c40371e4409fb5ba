"""A worksheet part by its places: its rows, how far its cells reach, and whatever else stands on it."""

import re
from array import array
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from msgspec import Struct, field

from batchcal.workbook.xlsx import references
from batchcal.workbook.xlsx.markup import Node, Outline, Part
from batchcal.workbook.xlsx.package import MAIN, STRICT_MAIN, shown
from batchcal.workbook.xlsx.references import LAST_COLUMN, LAST_ROW, LETTERS, UnfitError, cell_place, row_number

SHEET_ORDER = (
    "sheetPr", "dimension", "sheetViews", "sheetFormatPr", "cols", "sheetData", "sheetCalcPr", "sheetProtection",
    "protectedRanges", "scenarios", "autoFilter", "sortState", "dataConsolidate", "customSheetViews", "mergeCells",
    "phoneticPr", "conditionalFormatting", "dataValidations", "hyperlinks", "printOptions", "pageMargins", "pageSetup",
    "headerFooter", "rowBreaks", "colBreaks", "customProperties", "cellWatches", "ignoredErrors", "smartTags",
    "drawing", "drawingHF", "legacyDrawing", "legacyDrawingHF", "picture", "oleObjects", "controls", "webPublishItems",
    "tableParts", "extLst",
)  # fmt: skip
"""The order of what stands in a worksheet part (ECMA-376 Part 1, CT_Worksheet, from memory, unchecked)."""

_CHUNK = 1 << 16
_AREA = re.compile(r"\$?([A-Za-z]{0,3})\$?([0-9]{0,7})(?::\$?([A-Za-z]{0,3})\$?([0-9]{0,7}))?")
_FILLING = ("v", "is", "f")

_ROWS, _ROWS_END, _ROW_END = b"<sheetData>", b"</sheetData>", b"</row>"
_ROW_TAG = re.compile(rb"""<row(?: r="([0-9]{1,7})"((?: [A-Za-z0-9:]+="[^"<&]*")* ?)(/)?>|)""")
"""The tag of a row: its number, the rest, a stroke where that is all; no number where it is written otherwise."""
_SHORTEST_TAG = len(b'<row r="">')
_SPANS = re.compile(rb' spans="([^"]*)"')
_CELL = re.compile(rb'<c(?: r="([A-Z]{1,3})[0-9]{1,7}"|)')
"""The tag of a cell: the letters of its column; none where it is written otherwise."""
_FILLED = re.compile(rb'<c r="([A-Z]{1,3})[0-9]+"[^>]*>(?=<[vif])')
_CELL_ENDS = (b"</c></row>", b"/></row>")
_NO_TAG = re.compile(rb"<[!?]")
_ODD = (b"extLst", b"xmlns")
"""What there is not in plain rows: extensions, and other vocabularies."""


class Area(NamedTuple):
    """A rectangle of cells, counted from 1."""

    first_row: int
    first_column: int
    last_row: int
    last_column: int

    @property
    def fixed(self) -> str:
        """The area as it stands in a name: $A$1:$C$9."""
        first, last = LETTERS[self.first_column], LETTERS[self.last_column]
        return f"${first}${self.first_row}:${last}${self.last_row}"

    def shares_rows(self, first: int, last: int) -> bool:
        """Return whether one of its rows is one from ``first`` to ``last``."""
        return self.first_row <= last and first <= self.last_row


class RowPlace(NamedTuple):
    """One row by its places in the part."""

    number: int
    start: int
    cells_end: int
    """Where its last cell ends, or its start tag where it has none; the same as ``end`` where that is the whole row."""
    end: int
    reach: int
    """It has no cell beyond this column; of plain rows it is known only together how far they reach."""
    spans: str
    """What it says of the columns that it reaches over; nothing is a good answer."""


class Rows(Struct):
    """Rows in the order of the part, without an object for each: there may be a million."""

    numbers: "array[int]" = field(default_factory=lambda: array("q"))
    starts: "array[int]" = field(default_factory=lambda: array("q"))
    cells_ends: "array[int]" = field(default_factory=lambda: array("q"))
    ends: "array[int]" = field(default_factory=lambda: array("q"))
    reaches: "array[int]" = field(default_factory=lambda: array("q"))
    spans: list[str] = field(default_factory=list)

    def add(self, row: RowPlace) -> None:
        """Add the next one."""
        number, start, cells_end, end, reach, spans = row
        self.numbers.append(number)
        self.starts.append(start)
        self.cells_ends.append(cells_end)
        self.ends.append(end)
        self.reaches.append(reach)
        self.spans.append(spans)

    def __iter__(self) -> Iterator[RowPlace]:
        """Yield them."""
        return map(RowPlace, self.numbers, self.starts, self.cells_ends, self.ends, self.reaches, self.spans)


class Geometry(Struct):
    """What is known of one worksheet part."""

    part: Part
    root: Node
    data: Node
    """The element that holds the rows."""
    rows: Rows
    last_cell: int
    """The last column with a cell, filled or merely formatted; 0 where there is none."""
    last_filled: int
    """The last column with a filled cell."""
    last_filled_row: int
    columns: list[Node] = field(default_factory=list)
    """The entries of column widths and formats."""


def geometry(part: Part) -> Geometry:
    """Return the places of a worksheet part; WorkbookError where it is damaged or holds no rows."""
    outline = _SheetOutline(part)
    try:
        root = outline.parsed()
    except UnfitError as error:
        raise part.package.refused(f"the workbook is damaged: {shown(part.name)}: {error}") from error
    data = root.child("sheetData")
    if data is None or root.name != "worksheet":
        raise part.package.refused(f"the workbook is damaged: {shown(part.name)} has no rows")
    columns = [each for group in root.named("cols") for each in group.named("col")]
    return Geometry(part, root, data, outline.rows, outline.last_cell, outline.last_filled, outline.last_row, columns)


def views(part: Part) -> list[Node]:
    """Return the views of a sheet part, of whatever kind of sheet, without reading its cells."""
    outline = _SheetOutline(part)

    def parse() -> None:
        for start in range(0, len(part.data), _CHUNK):
            outline.parser.Parse(part.data[start : start + _CHUNK], False)
            if outline.in_cells:
                return
        outline.parser.Parse(b"", True)

    try:
        part.run(parse)
    except UnfitError as error:
        raise part.package.refused(f"the workbook is damaged: {shown(part.name)}: {error}") from error
    group = outline.root.child("sheetViews") if outline.root is not None else None
    return [] if group is None else group.named("sheetView")


def areas(reference: str) -> list[Area]:
    """Return the areas of a reference such as ``A1:B2 D4``, ``$A:$C`` or ``2:3``; what is no area is passed over."""
    found = []
    for text in reference.split():
        match = _AREA.fullmatch(text)
        if match is None or not (match[1] or match[2]) or (":" in text and not (match[3] or match[4])):
            continue
        start, end = (match[1], match[2]), (match[3], match[4]) if ":" in text else (match[1], match[2])
        columns = [column_number(start[0]) or 1, column_number(end[0] or "") or LAST_COLUMN]
        rows = [int(start[1] or 1), int(end[1] or LAST_ROW)]
        found.append(Area(min(rows), min(columns), max(rows), max(columns)))
    return found


def column_number(letters: str) -> int:
    """Return the number of a column; 0 for no letters, and the last one for more than a sheet can have."""
    return min(references.column_number(letters), LAST_COLUMN) if letters else 0


class _Spans(dict[bytes, str]):
    """What rows say of the columns that they reach over, by all that their tags say."""

    def __missing__(self, tail: bytes) -> str:
        match = _SPANS.search(tail)
        spans = self[tail] = match[1].decode() if match else ""
        return spans


def _plain_rows(data: bytes, start: int, close: int) -> tuple[Rows, int, int, int] | None:
    """Return the rows between two places, the last column with a cell, and the last column and row that are filled.

    None where the rows are not plain, as most programs write them: one right behind the other, and nothing in them but
    cells. The part has been read by then, and so is whole XML: a tag begins wherever one is seen, but in comments and
    the like.
    """
    if _NO_TAG.search(data, 1) or any(data.find(odd, start, close) >= 0 for odd in _ODD):
        return None
    rows, spans = Rows(), _Spans()
    last_cell = last_filled = last_row = 0
    while start < close:
        # A few rows at a time: enough to be fast, few enough to need no memory of note.
        at = data.find(_ROW_END, start + _CHUNK, close)
        end = close if at < 0 else at + len(_ROW_END)
        some = data[start:end]
        columns = {letters: references.column_number(letters.decode()) for letters in set(_CELL.findall(some))}
        widest = max(columns.values(), default=0)
        before, *found = _ROW_TAG.split(some)
        numbers, tails, singles, contents = (found[group::4] for group in range(4))
        if before or b"" in columns or None in numbers or singles.count(None) != some.count(_ROW_END):
            return None
        for digits, tail, single, content in zip(numbers, tails, singles, contents, strict=True):
            begin = start
            start += _SHORTEST_TAG + len(digits) + len(tail) + len(single or b"") + len(content)
            number = int(digits)
            if single:
                plain, cells_end = not content, start
            else:
                plain = content.endswith(_CELL_ENDS) or (content.endswith(_ROW_END) and b"<c" not in content)
                cells_end = start - len(_ROW_END)
            if not plain or not 1 <= number <= LAST_ROW:
                return None
            rows.add(RowPlace(number, begin, cells_end, start, widest, spans[tail]))
            if number > last_row and _FILLED.search(content):
                last_row = number
        last_cell = max(last_cell, widest)
        if last_cell > LAST_COLUMN:
            return None
        if widest > last_filled:
            last_filled = max([last_filled, *map(columns.__getitem__, set(_FILLED.findall(some)))])
    return rows, last_cell, last_filled, last_row


class _SheetOutline(Outline):
    """An outline that takes rows and cells by their places only, since there may be a million of them."""

    def __init__(self, part: Part) -> None:
        super().__init__(part)
        self.rows = Rows()
        self.last_cell = 0
        self.last_filled = 0
        self.last_row = 0
        self.in_cells = False

    def parse(self) -> None:
        """Give the parser the part, but for its rows where these are plain enough to be known by their bytes."""
        data = self.part.data
        inner, close = data.find(_ROWS) + len(_ROWS), data.find(_ROWS_END)
        rows = _plain_rows(data, inner, close) if inner >= len(_ROWS) and close >= 0 else None
        if rows is None:
            super().parse()
            return
        self.parser.Parse(data[:inner], False)
        if not self.in_cells:
            # They are not the rows of the sheet.
            self.parser.Parse(data[inner:], True)
            return
        self.rows, self.last_cell, self.last_filled, self.last_row = rows
        self.watch()
        self.passed_over = close - inner
        self.parser.Parse(data[close:], True)

    def started(self, name: str, attributes: Mapping[str, str]) -> None:
        super().started(name, attributes)
        node = self.stack[-1]
        if node.name == "sheetData" and len(self.stack) == 2 and node.space in (MAIN, STRICT_MAIN):
            self.in_cells = True
            self._watch_cells(node.space)

    def _watch_cells(self, space: str) -> None:
        """Take over the parser's events up to the end of the rows."""
        part, parser = self.part, self.parser
        row_name, cell_name, data_name, more_name = (f"{space}}}{name}" for name in ("row", "c", "sheetData", "extLst"))
        filling = {f"{space}}}{name}" for name in _FILLING}
        numbers: dict[str, int] = {}
        row = column = row_column = last_cell = last_filled = filled_row = last_row = 0
        row_start = cell_start = cell_close = -1
        spans = ""

        def started(name: str, attributes: Mapping[str, str]) -> None:
            nonlocal row, column, row_column, row_start, cell_start, last_filled, filled_row, spans
            if name == cell_name:
                reference = attributes.get("r")
                if reference is None:
                    column += 1
                else:
                    letters = reference.rstrip("0123456789")
                    known = numbers.get(letters)
                    if known is None:
                        known = numbers[letters] = cell_place(reference)[1]
                    column = known
                row_column = max(row_column, column)
                cell_start = parser.CurrentByteIndex
            elif name in filling:
                last_filled = max(last_filled, column)
                filled_row = row
            elif name == row_name:
                number = attributes.get("r")
                row = row + 1 if number is None else row_number(number)
                row_start, cell_start, column, row_column = parser.CurrentByteIndex, -1, 0, 0
                spans = attributes.get("spans", "")
            elif name == more_name:
                self._pass_over()

        def ended(name: str) -> None:
            nonlocal cell_close, last_cell, last_row
            if name == cell_name:
                cell_close = parser.CurrentByteIndex
            elif name == row_name:
                inner = part.tag_end(row_start)
                end = part.element_end(inner, parser.CurrentByteIndex)
                cells_end = inner if cell_start < 0 else part.element_end(part.tag_end(cell_start), cell_close)
                self.rows.add(RowPlace(row, row_start, cells_end, end, row_column, spans))
                last_cell = max(last_cell, row_column)
                last_row = max(last_row, filled_row)
            elif name == data_name:
                self.last_cell, self.last_filled, self.last_row = last_cell, last_filled, last_row
                self.watch()
                self.ended(name)

        parser.StartElementHandler = started
        parser.EndElementHandler = ended
        parser.CharacterDataHandler = None

    def _pass_over(self) -> None:
        """Take nothing from the element that has just begun, whatever it holds; at its end all goes on as before."""
        parser = self.parser
        before = parser.StartElementHandler, parser.EndElementHandler
        depth = 1

        def started(_name: str, _attributes: Mapping[str, str]) -> None:
            nonlocal depth
            depth += 1

        def ended(_name: str) -> None:
            nonlocal depth
            depth -= 1
            if not depth:
                parser.StartElementHandler, parser.EndElementHandler = before

        parser.StartElementHandler, parser.EndElementHandler = started, ended
