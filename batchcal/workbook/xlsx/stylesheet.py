"""The formats of added cells put behind the lab's own in its styles part; none of the lab's gets another number."""

from collections.abc import Mapping
from posixpath import dirname, join
from xml.etree.ElementTree import Element

from msgspec import Struct

from batchcal.workbook.xlsx.markup import Node, Part, place_in_order, quoted
from batchcal.workbook.xlsx.package import MAIN, STRICT_MAIN, Package, local
from batchcal.workbook.xlsx.revision import Revision

MAX_FORMATS = 64_000
"""Cell formats that a workbook may have; the common limit of spreadsheet programs is a little above (from memory,
unchecked)."""

_ORDER = (
    "numFmts", "fonts", "fills", "borders", "cellStyleXfs", "cellXfs", "cellStyles", "dxfs", "tableStyles", "colors",
    "extLst",
)  # fmt: skip
_ITEMS = {
    "numFmts": "numFmt", "fonts": "font", "fills": "fill", "borders": "border", "cellStyleXfs": "xf", "cellXfs": "xf",
    "cellStyles": "cellStyle", "dxfs": "dxf",
}  # fmt: skip
_FIRST_OWN_NUMBER_FORMAT = 164
"""Number formats below are built in (ECMA-376 Part 1, numFmts, from memory, unchecked)."""

_RESERVED_FILLS = 2
"""The first two fills are taken by every program for none and a grey, whatever they say (from memory, unchecked)."""

_CONTENT_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"


class Renumbered(Struct, frozen=True):
    """The numbers that formats have in the lab's workbook, by those in the book that they were made in."""

    formats: Mapping[int, int]
    """Formats of cells."""
    conditional: Mapping[int, int]
    """Formats of conditional rules."""


def style_names(package: Package) -> set[str]:
    """Return the names of the cell styles of a workbook."""
    part = package.related("styles")
    if part is None:
        return set()
    return {each.get("name", "") for each in package.tree(part).iter() if local(each) == "cellStyle"}


def add_styles(revision: Revision, added: Package) -> Renumbered:
    """Put the formats of the workbook ``added`` behind those of the package; WorkbookError where they have no room.

    The first format, font and fills of ``added`` are taken for the defaults, which are the lab's own where it has any.
    Cell styles must have names that are free.
    """
    package = revision.package
    source = added.related("styles")
    if source is None:
        raise ValueError("the added workbook has no styles")
    tree = added.tree(source)
    lists = {local(group): list(group) for group in tree}
    styles = package.related("styles")
    if styles is None:
        _adopt(revision, added.read(source))
        return Renumbered(*({n: n for n in range(len(lists.get(name, ())))} for name in ("cellXfs", "dxfs")))
    part, root, _ = revision.outline(styles)
    merge = _Merge(part, root, lists)
    if merge.count("cellXfs") + len(lists["cellXfs"]) > MAX_FORMATS:
        raise package.refused(
            f"has {merge.count('cellXfs')} cell formats, so that no more fit; "
            "copy its sheets into a new workbook, which leaves the unused formats behind"
        )
    return merge.merged()


def _adopt(revision: Revision, styles: bytes) -> None:
    """Give a workbook without a styles part that of the added sheets."""
    package = revision.package
    if package.strict:
        styles = styles.replace(MAIN.encode(), STRICT_MAIN.encode(), 1)
    # Some programs look for it under this very name.
    name = join(dirname(package.workbook_part), "styles.xml")
    if package.has(name):
        name = revision.free_part(name.removesuffix(".xml"), ".xml")
    revision.add(name, lambda: (styles,), _CONTENT_TYPE)
    revision.relate(package.workbook_part, "styles", name)


class _Merge:
    """One run of putting the lists of one styles part behind those of another."""

    def __init__(self, part: Part, root: Node, lists: Mapping[str, list[Element]]) -> None:
        self._part = part
        self._root = root
        self._lists = lists
        self._prefix = part.prefix(root)

    def count(self, name: str) -> int:
        """Return how many there are of the lab's."""
        return len(self._theirs(name))

    def merged(self) -> Renumbered:
        number_formats = self._number_formats()
        fonts = self._append("fonts", defaults=1)
        fills = self._append("fills", defaults=_RESERVED_FILLS)
        borders = self._append("borders", defaults=0)

        def refer(formats: list[Element], styles: Mapping[int, int]) -> None:
            for each in formats:
                number = int(each.get("numFmtId", "0"))
                each.set("numFmtId", str(number_formats.get(number, number)))
                for name, numbers in (("fontId", fonts), ("fillId", fills), ("borderId", borders), ("xfId", styles)):
                    if name in each.attrib:
                        each.set(name, str(numbers[int(each.get(name, "0"))]))

        refer(self._lists["cellStyleXfs"], {})
        styles = self._append("cellStyleXfs", defaults=1)
        refer(self._lists["cellXfs"], styles)
        formats = self._append("cellXfs", defaults=1)
        for each in self._lists["cellStyles"]:
            each.set("xfId", str(styles[int(each.get("xfId", "0"))]))
        self._append("cellStyles", defaults=1)
        return Renumbered(formats, self._append("dxfs", defaults=0))

    def _theirs(self, name: str) -> list[Node]:
        group = self._root.child(name)
        return [] if group is None else group.named(_ITEMS[name])

    def _number_formats(self) -> dict[int, int]:
        theirs = {each.attributes.get("formatCode"): _number(each) for each in self._theirs("numFmts")}
        free = max([_FIRST_OWN_NUMBER_FORMAT - 1, *theirs.values()]) + 1
        numbers: dict[int, int] = {}
        new = []
        for each in self._lists.get("numFmts", ()):
            number = int(each.get("numFmtId", "0"))
            known = theirs.get(each.get("formatCode"))
            if known is None:
                known, free = free, free + 1
                each.set("numFmtId", str(known))
                new.append(each)
            numbers[number] = known
        self._write("numFmts", new)
        return numbers

    def _append(self, name: str, *, defaults: int) -> dict[int, int]:
        """Put a list behind the lab's; the first ``defaults`` of it only as far as the lab has none. Return numbers."""
        ours, there = self._lists.get(name, []), self.count(name)
        kept = min(there, defaults)
        self._write(name, ours[kept:])
        return {number: number if number < kept else there - kept + number for number in range(len(ours))}

    def _write(self, name: str, items: list[Element]) -> None:
        if not items:
            return
        text = "".join(_markup(each, self._prefix) for each in items)
        group = self._root.child(name)
        if group is None:
            at = place_in_order(self._root, name, _ORDER)
            head = f'<{self._prefix}{name} count="{len(items)}">'
            self._part.insert(at, f"{head}{text}</{self._prefix}{name}>")
            return
        self._part.append(group, text)
        if "count" in group.attributes:
            self._part.set_attribute(group.start, "count", str(self.count(name) + len(items)))


def _number(number_format: Node) -> int:
    text = number_format.attributes.get("numFmtId", "")
    return int(text) if text.isdecimal() else 0


def _markup(element: Element, prefix: str) -> str:
    """Return an element in the namespace of the part that it goes into."""
    name = prefix + local(element)
    attributes = "".join(f' {key}="{quoted(value)}"' for key, value in element.attrib.items())
    inside = "".join(_markup(child, prefix) for child in element)
    return f"<{name}{attributes}>{inside}</{name}>" if inside else f"<{name}{attributes}/>"
