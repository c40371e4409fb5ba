"""Which columns of a sheet are taken: by cells, tables, merged areas, comments, drawings or anything else."""

import re
from collections.abc import Iterator
from math import ceil
from xml.etree.ElementTree import Element

from msgspec import Struct, field

from batchcal.errors import WorkbookError
from batchcal.workbook.xlsx.geometry import Area, Geometry, areas, column_number
from batchcal.workbook.xlsx.package import Package, SheetPart, local
from batchcal.workbook.xlsx.references import LAST_COLUMN, LAST_ROW

_EMU_PER_PIXEL = 9525
_DEFAULT_WIDTH = 8.43
"""Width in characters of a column that nothing is said of (from memory, unchecked)."""

_FIRM = {"mergeCell"}
_SOFT = {"autoFilter", "protectedRange", "conditionalFormatting", "dataValidation", "hyperlink", "ignoredError"}
_BY_KIND = {"table": "table", "pivotTable": "location", "comments": "comment"}
"""Kinds of parts beside a sheet whose elements say by ``ref`` where they stand, each with its element."""

_LONGEST_NAME = 8_192
"""Characters of what a name stands for; formulas are no longer (from memory, unchecked)."""

_IN_NAME = re.compile(
    r"(?:'((?:[^']|'')+)'|([^'!,()\s=]+))!\$?([A-Za-z]{1,3})\$?\d*(?::\$?([A-Za-z]{1,3})\$?\d*)?(?![A-Za-z0-9_(])"
)
_ANCHOR = re.compile(rb"<(?:\w+:)?Anchor\b[^>]*>([^<]*)<")
_SHOWN = re.compile(rb"<(?:\w+:)?Visible\b")


class _Taken(Struct):
    """Areas that added columns must not cover, and those that they cover only where there is no other room."""

    firm: list[Area] = field(default_factory=list)
    soft: list[Area] = field(default_factory=list)


class Room:
    """Where a sheet has room for added columns, and how far it prints as the lab has it."""

    def __init__(self, package: Package, sheet: SheetPart, places: Geometry) -> None:
        """Look at everything that stands on the sheet and beside it."""
        self._taken = _taken(package, sheet, places)
        self._places = places

    def first_free_column(self, count: int, rows: tuple[int, int]) -> int | None:
        """Return the column where ``count`` columns fit at the right of everything, with an empty one before them.

        ``rows`` are the first and the last row that will be written. What is merely formatted, checked or named is
        covered where there is no room beyond it. None where nothing fits.
        """
        taken, places = self._taken, self._places
        firm = max((area.last_column for area in taken.firm if area.shares_rows(*rows)), default=0)
        firm = max(firm, places.last_filled)
        soft = max((area.last_column for area in (*taken.firm, *taken.soft)), default=0)
        for edge in (max(firm, soft, places.last_cell), firm):
            if edge + 1 + count <= LAST_COLUMN:
                return edge + 2
        return None

    def printed(self) -> Area | None:
        """Return what a sheet without a print area prints: as far as cells are filled, and drawings and such reach.

        None where a drawing does not say in which row it ends.
        """
        firm, places = self._taken.firm, self._places
        last_row = max((area.last_row for area in firm), default=1)
        last_column = max((area.last_column for area in firm), default=1)
        if last_row == LAST_ROW:
            return None
        return Area(1, 1, max(last_row, places.last_filled_row), max(last_column, places.last_filled))


def has_print_area(package: Package, sheet: SheetPart) -> bool:
    """Return whether a sheet has a print area."""
    position = str(package.sheets.index(sheet))
    return any(
        element.get("name") == "_xlnm.Print_Area" and element.get("localSheetId") == position
        for element in package.workbook.iter()
        if local(element) == "definedName"
    )


def _taken(package: Package, sheet: SheetPart, places: Geometry) -> _Taken:
    taken = _Taken()
    for node in places.root.walk():
        reference = node.attributes.get("ref") or node.attributes.get("sqref") or ""
        if node.name in _FIRM:
            taken.firm += areas(reference)
        elif node.name in _SOFT:
            taken.soft += areas(reference)
        elif node.name == "sparkline":
            taken.firm += [area for each in node.children if each.name == "sqref" for area in areas(each.text)]
        elif node.name == "sqref":
            taken.soft += areas(node.text)
    taken.soft += _named(package, sheet)
    for relationship in package.relationships(sheet.part).values():
        if relationship.external or not package.has(relationship.target):
            continue
        try:
            taken.firm += _beside(package, relationship.kind, relationship.target, places)
        except WorkbookError:
            # A part that cannot be read is carried all the same; it only cannot say where it stands.
            continue
    return taken


def _beside(package: Package, kind: str, part: str, places: Geometry) -> Iterator[Area]:
    """Yield what a part beside the sheet covers."""
    if kind == "vmlDrawing":
        yield from _boxes(package.read(part))
    elif kind == "drawing":
        yield from _drawn(package.tree(part), places)
    elif kind in _BY_KIND:
        for element in package.tree(part).iter():
            if local(element) == _BY_KIND[kind]:
                yield from areas(element.get("ref", ""))


def _drawn(drawing: Element, places: Geometry) -> Iterator[Area]:
    """Yield the areas of pictures, charts and shapes by their anchors."""
    for anchor in drawing.iter():
        if not local(anchor).endswith("Anchor"):
            continue
        inside = {local(each): each for each in anchor}
        corners = [_corner(inside[name]) for name in ("from", "to") if name in inside] or [(1, 1)]
        rows, columns = [row for row, _ in corners], [column for _, column in corners]
        last_row, last_column = max(rows), max(columns)
        if "to" not in inside and "ext" in inside:
            left = _number(inside["pos"].get("x")) if "pos" in inside else 0
            last_row, last_column = LAST_ROW, _column_at(places, columns[0], left + _number(inside["ext"].get("cx")))
        yield Area(min(rows), min(columns), last_row, last_column)


def _corner(corner: Element) -> tuple[int, int]:
    found = {local(each): _number(each.text) + 1 for each in corner}
    return found.get("row", 1), min(found.get("col", 1), LAST_COLUMN)


def _column_at(places: Geometry, first: int, emu: int) -> int:
    """Return the column where something ends that begins in ``first`` and is so wide, in EMU; rather too far."""
    form = places.root.child("sheetFormatPr")
    usual = _float(form.attributes.get("defaultColWidth") if form is not None else None, _DEFAULT_WIDTH)
    entries = [
        (_number(each.attributes.get("min")), _number(each.attributes.get("max")),
         _float(each.attributes.get("width"), usual))
        for each in places.columns
        if each.attributes.get("hidden") not in ("1", "true")
    ]  # fmt: skip
    column, left = first, float(emu)
    while column < LAST_COLUMN:
        width = next((width for low, high, width in entries if low <= column <= high), usual)
        left -= max(width * 7.0, 1.0) * _EMU_PER_PIXEL
        if left <= 0:
            break
        column += 1
    return column


def _boxes(drawing: bytes) -> Iterator[Area]:
    """Yield the areas of form controls and of comment boxes that are always shown, from a drawing in VML.

    It need not be whole XML; comment boxes that show up only under the pointer cover nothing.
    """
    for piece in drawing.split(b"ClientData")[1:]:
        attributes, _, body = piece.partition(b">")
        if b"Note" in attributes and not _SHOWN.search(body):
            continue
        anchor = _ANCHOR.search(body)
        numbers = [_number(text.decode("ascii", "replace")) for text in anchor[1].split(b",")] if anchor else []
        if len(numbers) == 8:
            first, top, last, bottom = numbers[0], numbers[2], numbers[4], numbers[6]
            yield Area(top + 1, first + 1, bottom + 1, min(last + 1, LAST_COLUMN))


def _named(package: Package, sheet: SheetPart) -> Iterator[Area]:
    """Yield the areas on this sheet that have a name, print areas among them."""
    for element in package.workbook.iter():
        text = element.text or ""
        if local(element) != "definedName" or len(text) > _LONGEST_NAME:
            continue
        for quoted, plain, first, last in _IN_NAME.findall(text):
            if (quoted.replace("''", "'") or plain).casefold() == sheet.title.casefold():
                columns = column_number(first), column_number(last or first)
                yield Area(1, min(columns), LAST_ROW, max(columns))


def _number(text: str | None) -> int:
    return max(0, ceil(_float(text, 0.0)))


def _float(text: str | None, otherwise: float) -> float:
    try:
        value = float(text or "")
    except ValueError:
        return otherwise
    return value if abs(value) < 1e15 else otherwise
