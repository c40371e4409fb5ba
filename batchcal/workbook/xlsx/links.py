"""Links from the cells of a sheet to other places of the same workbook, as many as spreadsheet programs open."""

from collections.abc import Callable

from msgspec import Struct

from batchcal.workbook.cells import shortened
from batchcal.workbook.xlsx.geometry import SHEET_ORDER, Geometry
from batchcal.workbook.xlsx.markup import place_in_order, quoted
from batchcal.workbook.xlsx.references import quoted_name

MOST_LINKS = 65_530
"""Links that a sheet may have; spreadsheet programs repair a workbook with more (from memory, unchecked)."""

_LONGEST_TIP = 255
"""Characters of a tip (from memory, unchecked)."""


class Link(Struct, frozen=True):
    """Where a cell leads, and what shows up under the pointer; "" for the place itself.

    ``address`` may be asked for once all sheets are written, of a row that is not known before.
    """

    sheet: str
    address: str | Callable[[], str]
    tip: str = ""

    @property
    def location(self) -> str:
        """The place as it stands in a sheet's part."""
        address = self.address if isinstance(self.address, str) else self.address()
        return f"{quoted_name(self.sheet)}!{address}"


class Links:
    """The links of one sheet, each by the address of its cell; ``there`` are those that the sheet has already."""

    def __init__(self, there: int = 0) -> None:
        """Begin without links."""
        self._links: list[tuple[str, Link]] = []
        self._room = MOST_LINKS - there
        self.left_out = 0
        """How many found no room."""

    def add(self, cell: str, link: Link) -> bool:
        """Have a cell lead somewhere; False where the sheet has no room for another link."""
        if len(self._links) >= self._room:
            self.left_out += 1
            return False
        self._links.append((cell, link))
        return True

    def markup(self) -> str:
        """Return the links as they stand in a part of our own; "" for none."""
        return f"<hyperlinks>{self._entries('')}</hyperlinks>" if self._links else ""

    def put_into(self, places: Geometry) -> None:
        """Note in a part of the lab's the edit that puts the links there, behind its own."""
        if not self._links:
            return
        root, part = places.root, places.part
        group = root.child("hyperlinks")
        if group is not None:
            part.append(group, self._entries(part.prefix(group)))
            return
        prefix = part.prefix(root)
        at = place_in_order(root, "hyperlinks", SHEET_ORDER)
        part.insert(at, f"<{prefix}hyperlinks>{self._entries(prefix)}</{prefix}hyperlinks>")

    def _entries(self, prefix: str) -> str:
        return "".join(_entry(prefix, cell, link) for cell, link in self._links)


def links_there(places: Geometry) -> int:
    """Return how many links a sheet of the lab's has."""
    return sum(len(group.children) for group in places.root.named("hyperlinks"))


def _entry(prefix: str, cell: str, link: Link) -> str:
    said = f' tooltip="{quoted(shortened(link.tip, _LONGEST_TIP))}"' if link.tip else ""
    return f'<{prefix}hyperlink ref="{cell}" location="{quoted(link.location)}"{said}/>'
