"""Links from the cells of a sheet to other places of the same workbook, as many as spreadsheet programs open."""

from collections.abc import Callable, Iterable, Iterator
from functools import cache
from itertools import chain, islice

from msgspec import Struct

from batchcal.workbook.cells import shortened
from batchcal.workbook.xlsx.geometry import SHEET_ORDER, Geometry
from batchcal.workbook.xlsx.markup import place_in_order, quoted
from batchcal.workbook.xlsx.references import quoted_name

MOST_LINKS = 65_530
"""Links that a sheet may have; spreadsheet programs repair a workbook with more (from memory, unchecked)."""

_LONGEST_TIP = 255
"""Characters of a tip (from memory, unchecked)."""

_AT_ONCE = 1_000
"""Links that are written together."""


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
        return f"{quoted_name(self.sheet)}!{self.cell}"

    @property
    def cell(self) -> str:
        """The address, which must be known by now."""
        return self.address if isinstance(self.address, str) else self.address()


class Links:
    """The links of one sheet, each by the address of its cell; ``there`` are those that the sheet has already."""

    def __init__(self, there: int = 0) -> None:
        """Begin without links."""
        self._sources: list[Iterable[tuple[str, Link]]] = []
        self._added: list[tuple[str, Link]] = []
        """Those that were added one by one since the last source."""
        self._room = MOST_LINKS - there
        self.count = 0
        """How many have found room."""
        self.left_out = 0
        """How many found no room."""

    def take_room(self) -> bool:
        """Have one more link in the next of the sources; False where the sheet has no room for it."""
        if self.count >= self._room:
            self.left_out += 1
            return False
        self.count += 1
        return True

    def add(self, cell: str, link: Link) -> bool:
        """Have a cell lead somewhere; False where the sheet has no room for another link."""
        room = self.take_room()
        if room:
            self._added.append((cell, link))
        return room

    def add_later(self, links: Iterable[tuple[str, Link]]) -> None:
        """Add links for which room was taken; they are asked for once the markup is."""
        self._sources += (self._added, links)
        self._added = []

    def markup(self) -> Iterator[bytes]:
        """Yield the links as they stand in a part of our own, once, piece by piece; nothing for none."""
        if self.count:
            yield b"<hyperlinks>"
            entries = self._entries("")
            while piece := "".join(islice(entries, _AT_ONCE)):
                yield piece.encode()
            yield b"</hyperlinks>"

    def put_into(self, places: Geometry) -> None:
        """Note in a part of the lab's the edit that puts the links there, behind its own."""
        if not self.count:
            return
        root, part = places.root, places.part
        group = root.child("hyperlinks")
        if group is not None:
            part.append(group, "".join(self._entries(part.prefix(group))))
            return
        prefix = part.prefix(root)
        at = place_in_order(root, "hyperlinks", SHEET_ORDER)
        part.insert(at, f"<{prefix}hyperlinks>{''.join(self._entries(prefix))}</{prefix}hyperlinks>")

    def _entries(self, prefix: str) -> Iterator[str]:
        for cell, link in chain(*self._sources, self._added):
            yield _entry(prefix, cell, link)


def links_there(places: Geometry) -> int:
    """Return how many links a sheet of the lab's has."""
    return sum(len(group.children) for group in places.root.named("hyperlinks"))


def _entry(prefix: str, cell: str, link: Link) -> str:
    said = f' tooltip="{quoted(shortened(link.tip, _LONGEST_TIP))}"' if link.tip else ""
    return f'<{prefix}hyperlink ref="{cell}" location="{_in_attribute(link.sheet)}!{quoted(link.cell)}"{said}/>'


@cache
def _in_attribute(sheet: str) -> str:
    """Return the name of a sheet as it stands before an address in an attribute; links lead to few sheets."""
    return quoted(quoted_name(sheet))
