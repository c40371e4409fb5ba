"""Added columns put into a worksheet part: cells, widths and what goes with them; every other byte stays."""

import math
from bisect import bisect
from collections.abc import Mapping, Sequence
from xml.parsers import expat

from msgspec import Struct

from batchcal.workbook.xlsx.geometry import SHEET_ORDER, Area, Geometry, RowPlace, areas
from batchcal.workbook.xlsx.links import Link, Links, links_there
from batchcal.workbook.xlsx.markup import Node, Part, escape, place_in_order
from batchcal.workbook.xlsx.references import LETTERS, address


class AddedCell(Struct):
    """One added cell: the number of its format, and its value; None for an empty cell."""

    form: int
    value: float | str | None


class LinkedCell(AddedCell):
    """An added cell that leads somewhere; ``plain`` is its format where its sheet has no room for another link."""

    link: Link
    plain: int


class AddedColumns(Struct, frozen=True):
    """Columns that are added: the first one, the width of each in characters, and their cells by row, None for none."""

    first: int
    widths: Sequence[float]
    rows: Mapping[int, Sequence[AddedCell | None]]

    @property
    def last(self) -> int:
        """The last of the columns."""
        return self.first + len(self.widths) - 1


def put_columns(places: Geometry, added: AddedColumns) -> None:
    """Note in the part the edits that put the columns there, with as many links as the sheet has room for.

    Cells of the lab that stand in these columns must be empty; they give way. Nothing else of the lab's is taken out:
    the used range, the spans of rows and the entries of column widths are widened or cut where they must be.
    """
    links = Links(links_there(places))
    _put_cells(places, added, links)
    links.put_into(places)
    _put_widths(places, added)
    _widen_used_range(places, added)


def _put_cells(places: Geometry, added: AddedColumns, links: Links) -> None:
    part = places.part
    prefix = part.prefix(places.data)
    numbers = sorted(places.rows)
    markup = _Markup(prefix, links)
    new_at_end = []
    for number in sorted(added.rows):
        cells = markup.cells(number, added.first, added.rows[number])
        row = places.rows.get(number)
        if row is None:
            text = f'<{prefix}row r="{number}">{"".join(cells.values())}</{prefix}row>'
            after = bisect(numbers, number)
            if after == len(numbers):
                new_at_end.append(text)
            else:
                part.insert(places.rows[numbers[after]].start, text)
            continue
        _widen_spans(part, row, added)
        if row.last_column < added.first:
            _append(part, row, "".join(cells.values()))
        else:
            _put_between(part, row, cells)
    if new_at_end:
        part.append(places.data, "".join(new_at_end))


def _append(part: Part, row: RowPlace, cells: str) -> None:
    if row.end == row.inner:
        part.open(row.start, row.end, cells)
    else:
        part.insert(row.cells_end, cells)


def _put_between(part: Part, row: RowPlace, cells: Mapping[int, str]) -> None:
    """Put cells among empty ones that are merely formatted, each in the place of the one that it replaces."""
    theirs = _cells_of_row(part, row)
    for column, text in cells.items():
        there = theirs.get(column)
        if there is not None:
            part.replace(*there, text)
            continue
        after = min((each for each in theirs if each > column), default=None)
        part.insert(row.cells_end if after is None else theirs[after][0], text)


def _cells_of_row(part: Part, row: RowPlace) -> dict[int, tuple[int, int]]:
    """Return where each cell of one row begins and ends, by its column."""
    found: dict[int, tuple[int, int]] = {}
    # Prefixes are declared further up, out of its sight, so this parser knows nothing of namespaces.
    parser = expat.ParserCreate("utf-8")
    depth = column = start = 0

    def started(_name: str, attributes: Mapping[str, str]) -> None:
        nonlocal depth, column, start
        depth += 1
        if depth == 2:
            reference = areas(attributes.get("r", ""))
            column = reference[0].first_column if reference else column + 1
            start = row.start + parser.CurrentByteIndex

    def ended(_name: str) -> None:
        nonlocal depth
        if depth == 2:
            found[column] = (start, part.element_end(part.tag_end(start), row.start + parser.CurrentByteIndex))
        depth -= 1

    parser.StartElementHandler, parser.EndElementHandler = started, ended
    part.run(lambda: parser.Parse(part.data[row.start : row.end], True))
    return found


class _Markup:
    """Writes added cells as they stand in the part: numbers with all their digits, text as text in the cell itself."""

    def __init__(self, prefix: str, links: Links) -> None:
        self._prefix = prefix
        self._links = links

    def cells(self, number: int, first: int, cells: Sequence[AddedCell | None]) -> dict[int, str]:
        """Return the cells of a row by their columns, from ``first`` on."""
        prefix = self._prefix
        before, after = f"<{prefix}v>", f"</{prefix}v></{prefix}c>"
        found = {}
        for column, cell in enumerate(cells, first):
            if cell is None:
                continue
            value, form, where = cell.value, cell.form, f"{LETTERS[column]}{number}"
            if isinstance(cell, LinkedCell) and not self._links.add(where, cell.link):
                form = cell.plain
            head = f'<{prefix}c r="{where}" s="{form}"'
            if isinstance(value, str):
                found[column] = f"{head}{self._text(value)}"
            elif value is not None and math.isfinite(value):
                found[column] = f"{head}>{before}{value!r}{after}"
            else:
                found[column] = f"{head}/>"
        return found

    def _text(self, value: str) -> str:
        if not value:
            return "/>"
        prefix = self._prefix
        text = f'<{prefix}is><{prefix}t xml:space="preserve">{escape(value)}</{prefix}t></{prefix}is>'
        return f' t="inlineStr">{text}</{prefix}c>'


def _widen_spans(part: Part, row: RowPlace, added: AddedColumns) -> None:
    spans = row.spans.split()
    try:
        low, high = (int(text) for text in spans[-1].split(":")) if spans else (0, 0)
    except ValueError:
        return
    if spans and high < added.last:
        part.set_attribute(row.start, "spans", " ".join([*spans[:-1], f"{min(low, added.first)}:{added.last}"]))


def _put_widths(places: Geometry, added: AddedColumns) -> None:
    """Give the columns their widths, and fold them together; an entry of the lab's that spans them is cut."""
    part = places.part
    level = ' outlineLevel="1"' if _raise_outline(places) else ""
    group = places.root.child("cols")
    prefix = part.prefix(places.data)
    ours = "".join(
        f'<{prefix}col min="{column}" max="{column}" width="{width:g}" customWidth="1"{level}/>'
        for column, width in enumerate(added.widths, added.first)
    )
    if group is None:
        at = place_in_order(places.root, "cols", SHEET_ORDER)
        part.insert(at, f"<{prefix}cols>{ours}</{prefix}cols>")
        return
    before = [each for each in places.columns if _bounds(each)[0] < added.first]
    if before:
        at = before[-1].end
    elif places.columns:
        at = places.columns[0].start
    else:
        part.append(group, ours)
        return
    part.insert(at, ours)
    for entry in places.columns:
        _cut(part, entry, added, at)


def _cut(part: Part, entry: Node, added: AddedColumns, at: int) -> None:
    """Cut an entry of column widths where the added columns are; what it says beyond them comes back at ``at``."""
    low, high = _bounds(entry)
    if high < added.first or low > added.last:
        return
    beyond = high > added.last
    if low < added.first:
        part.set_attribute(entry.start, "max", str(added.first - 1))
        if beyond:
            part.insert(at, part.copied(entry, "min", str(added.last + 1)))
    elif beyond:
        part.set_attribute(entry.start, "min", str(added.last + 1))
    else:
        part.replace(entry.start, entry.end, "")


def _bounds(entry: Node) -> tuple[int, int]:
    try:
        return int(entry.attributes["min"]), int(entry.attributes["max"])
    except (KeyError, ValueError):
        return 0, 0


def _raise_outline(places: Geometry) -> bool:
    """Make room for the bar that folds the columns, and return whether there is any.

    Where a sheet says nothing of its usual row height, saying it only for the bar would change its rows.
    """
    form = places.root.child("sheetFormatPr")
    if form is None:
        return False
    if form.attributes.get("outlineLevelCol", "0") == "0":
        places.part.set_attribute(form.start, "outlineLevelCol", "1")
    return True


def _widen_used_range(places: Geometry, added: AddedColumns) -> None:
    used = places.root.child("dimension")
    found = areas(used.attributes.get("ref", "")) if used is not None else []
    if used is None or len(found) != 1:
        return
    old = found[0]
    area = Area(
        min(old.first_row, *added.rows), min(old.first_column, added.first),
        max(old.last_row, *added.rows), max(old.last_column, added.last),
    )  # fmt: skip
    if area != old:
        places.part.set_attribute(
            used.start, "ref",
            f"{address(area.first_row, area.first_column)}:{address(area.last_row, area.last_column)}",
        )  # fmt: skip
