"""Added columns put into a worksheet part: cells, widths and what goes with them; every other byte stays."""

from bisect import bisect
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache, partial
from itertools import islice
from xml.parsers import expat

from msgspec import Struct

from batchcal.workbook.xlsx.geometry import SHEET_ORDER, Area, Geometry, RowPlace, areas
from batchcal.workbook.xlsx.links import Links
from batchcal.workbook.xlsx.markup import Edit, Node, Part, in_order, place_in_order
from batchcal.workbook.xlsx.references import LAST_ROW, address, cell_place

_AT_ONCE = 250
"""Rows whose cells are written together: enough to be fast, few enough to need no memory of note."""

_END = LAST_ROW + 1
"""The number of a row that would come behind every other."""


class AddedColumns(Struct, frozen=True):
    """Columns that are added: the first one, the width of each in characters, and what stands in them.

    Of ``rows``, which ascend, ``cells`` returns the cells as they stand in the part, those without one left out. It is
    asked when the part is packed, a few rows at a time.
    """

    first: int
    widths: Sequence[float]
    rows: Sequence[int]
    cells: Callable[[Sequence[int]], Iterable[str]]
    links: Links
    """Where cells lead, with those that the sheet has already counted."""

    @property
    def last(self) -> int:
        """The last of the columns."""
        return self.first + len(self.widths) - 1


def put_columns(places: Geometry, added: AddedColumns) -> None:
    """Note in the part the edits that put the columns there.

    Cells of the lab that stand in these columns must be empty; they give way. Nothing else of the lab's is taken out:
    the used range, the spans of rows and the entries of column widths are widened or cut where they must be.
    """
    places.part.edit_later(places.data, lambda: _cells(places, added))
    added.links.put_into(places)
    _put_widths(places, added)
    _widen_used_range(places, added)


def _cells(places: Geometry, added: AddedColumns) -> Iterator[Edit]:
    """Yield the edits of the rows, in the order of the part."""
    part, data, prefix = places.part, places.data, places.part.prefix(places.data)
    widened = cache(partial(_widened, added))
    at_end = []
    rows = _rows(places, added.rows)
    while some := list(islice(rows, _AT_ONCE)):
        for row, cells in zip(some, added.cells([row.number for row in some]), strict=True):
            number, start, cells_end, end, reach, spans = row
            if start == end:
                whole = f'<{prefix}row r="{number}">{cells}</{prefix}row>'
                if start == data.close:
                    at_end.append(whole)
                else:
                    yield part.edit(start, start, whole)
                continue
            if (wider := widened(spans)) != spans:
                yield part.attribute(start, "spans", wider)
            if cells_end == end:
                yield part.opened(start, end, cells)
            elif reach < added.first:
                yield part.edit(cells_end, cells_end, cells)
            else:
                yield from _between(part, row, _apart(cells, prefix))
    if at_end:
        yield part.appended(data, "".join(at_end))


def _rows(places: Geometry, wanted: Sequence[int]) -> Iterator[RowPlace]:
    """Yield the rows of these numbers in the order of the part.

    One that is not there has an empty place before the next higher one, or where the rows end.
    """
    numbers, there = set(wanted), sorted(places.rows.numbers)
    missing: dict[int, list[int]] = {}
    for number in sorted(numbers.difference(there)):
        after = bisect(there, number)
        missing.setdefault(there[after] if after < len(there) else _END, []).append(number)
    for row in places.rows:
        if row.number in missing:
            yield from (RowPlace(number, row.start, row.start, row.start, 0, "") for number in missing[row.number])
        if row.number in numbers:
            yield row
    end = places.data.close
    yield from (RowPlace(number, end, end, end, 0, "") for number in missing.get(_END, ()))


def _apart(cells: str, prefix: str) -> Mapping[int, str]:
    """Return the cells of a row by their columns."""
    opening = f'<{prefix}c r="'
    return {cell_place(cell.partition('"')[0])[1]: opening + cell for cell in cells.split(opening)[1:]}


def _between(part: Part, row: RowPlace, cells: Mapping[int, str]) -> Sequence[Edit]:
    """Put cells among empty ones that are merely formatted, each in the place of the one that it replaces."""
    theirs = _cells_of_row(part, row)
    edits = []
    for column, text in cells.items():
        there = theirs.get(column)
        if there is None:
            after = min((each for each in theirs if each > column), default=None)
            there = (row.cells_end if after is None else theirs[after][0],) * 2
        edits.append(part.edit(*there, text))
    return in_order(edits)


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


def _widened(added: AddedColumns, spans: str) -> str:
    """Return what a row says of the columns that it reaches over once these are the added ones as well."""
    each = spans.split()
    try:
        low, high = (int(text) for text in each[-1].split(":")) if each else (0, added.last)
    except ValueError:
        return spans
    return spans if high >= added.last else " ".join([*each[:-1], f"{min(low, added.first)}:{added.last}"])


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
        min(old.first_row, added.rows[0]), min(old.first_column, added.first),
        max(old.last_row, added.rows[-1]), max(old.last_column, added.last),
    )  # fmt: skip
    if area != old:
        places.part.set_attribute(
            used.start, "ref",
            f"{address(area.first_row, area.first_column)}:{address(area.last_row, area.last_column)}",
        )  # fmt: skip
