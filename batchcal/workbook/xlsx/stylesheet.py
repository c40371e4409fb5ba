"""The formats of added cells put behind the lab's own in its styles part; none of the lab's gets another number."""

from posixpath import dirname, join

from batchcal.workbook.xlsx.looks import Style, fill_markup
from batchcal.workbook.xlsx.markup import Node, place_in_order
from batchcal.workbook.xlsx.markup import quoted as quote
from batchcal.workbook.xlsx.package import MAIN, STRICT_MAIN
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
    "cellStyles": "cellStyle",
}  # fmt: skip
_BUILT_IN = {"General": 0, "0": 1, "0.00": 2}
_FIRST_OWN_NUMBER_FORMAT = 164
"""Number formats below are built in (ECMA-376 Part 1, numFmts, from memory, unchecked)."""

_DEFAULTS = {
    "fonts": ('<{p}font><{p}name val="Calibri"/><{p}family val="2"/><{p}sz val="11"/></{p}font>',),
    "fills": (
        '<{p}fill><{p}patternFill patternType="none"/></{p}fill>',
        '<{p}fill><{p}patternFill patternType="gray125"/></{p}fill>',
    ),
    "borders": ("<{p}border/>",),
    "cellStyleXfs": ('<{p}xf numFmtId="0" fontId="0" fillId="0" borderId="0"/>',),
    "cellXfs": ('<{p}xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>',),
    "cellStyles": ('<{p}cellStyle name="Normal" xfId="0" builtinId="0"/>',),
}
"""What stands first in each list, where the lab's has nothing there. The first two fills are taken by every program for
none and a grey, whatever they say (from memory, unchecked)."""

_CONTENT_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"


class _List:
    """What is put behind one list of the part, of which ``there`` are the lab's."""

    def __init__(self, there: int) -> None:
        self.there = there
        self.added: list[str] = []
        self._numbers: dict[str, int] = {}

    def append(self, text: str) -> int:
        """Return the number that something has in the list, put there even where its like is."""
        self.added.append(text)
        return self.there + len(self.added) - 1

    def number(self, text: str) -> int:
        """Return the number that something has in the list, put there once."""
        number = self._numbers.get(text)
        if number is None:
            number = self._numbers[text] = self.append(text)
        return number


class Stylesheet:
    """The styles part of a package with the formats that are added; each has its number as soon as it is asked for."""

    def __init__(self, revision: Revision) -> None:
        """Begin without any; WorkbookError where the lab's part is damaged."""
        self._revision = revision
        name = revision.package.related("styles")
        self._part = self._root = None
        self._prefix = ""
        if name is not None:
            self._part, self._root, _ = revision.outline(name)
            self._prefix = self._part.prefix(self._root)
        self._lists = {group: _List(len(self._theirs(group))) for group in _ITEMS}
        for group, defaults in _DEFAULTS.items():
            for text in defaults[self._lists[group].there :]:
                self._lists[group].number(text.format(p=self._prefix))
        self._codes = {each.attributes.get("formatCode", ""): _number(each) for each in self._theirs("numFmts")}
        self._free = max([_FIRST_OWN_NUMBER_FORMAT - 1, *self._codes.values()]) + 1
        self._names = {each.attributes.get("name", "") for each in self._theirs("cellStyles")}
        self._styles: dict[str, tuple[int, str, str]] = {}
        self._numbers: dict[tuple[str, str, bool], int] = {}

    def number(self, style: Style, form: str = "General", *, quoted: bool = False) -> int:
        """Return the number of a cell's format: a style, and the form in which a number is shown.

        ``quoted`` marks a text that would be taken for a formula once someone edits its cell. WorkbookError where the
        workbook has no room for another format.
        """
        key = (style.name, form, quoted)
        number = self._numbers.get(key)
        if number is None:
            formats = self._lists["cellXfs"]
            if formats.there + len(formats.added) >= MAX_FORMATS:
                raise self._revision.package.refused(
                    f"has {formats.there} cell formats, so that no more fit; "
                    "copy its sheets into a new workbook, which leaves the unused formats behind"
                )
            style_number, parts, inside = self._styles.get(style.name) or self._add(style)
            text = (
                f'<{self._prefix}xf numFmtId="{self._number_format(form)}"{parts} pivotButton="0" '
                f'quotePrefix="{int(quoted)}" xfId="{style_number}"{inside}'
            )
            number = self._numbers[key] = formats.number(text)
        return number

    def put(self) -> None:
        """Note the edits that put the formats there."""
        texts = {name: "".join(each.added) for name, each in self._lists.items() if each.added}
        if self._part is None or self._root is None:
            self._make(texts)
            return
        for name, text in texts.items():
            group, count = self._root.child(name), len(self._lists[name].added)
            if group is None:
                at = place_in_order(self._root, name, _ORDER)
                self._part.insert(at, _group(self._prefix, name, count, text))
                continue
            self._part.append(group, text)
            if "count" in group.attributes:
                self._part.set_attribute(group.start, "count", str(self._lists[name].there + count))

    def _make(self, texts: dict[str, str]) -> None:
        """Give a workbook without a styles part one."""
        package = self._revision.package
        groups = "".join(_group("", name, len(self._lists[name].added), text) for name, text in texts.items())
        styles = f'<styleSheet xmlns="{STRICT_MAIN if package.strict else MAIN}">{groups}</styleSheet>'
        # Some programs look for it under this very name.
        name = join(dirname(package.workbook_part), "styles.xml")
        if package.has(name):
            name = self._revision.free_part(name.removesuffix(".xml"), ".xml")
        self._revision.add(name, lambda: (styles.encode(),), _CONTENT_TYPE)
        self._revision.relate(package.workbook_part, "styles", name)

    def _theirs(self, name: str) -> list[Node]:
        group = None if self._root is None else self._root.child(name)
        return [] if group is None else group.named(_ITEMS[name])

    def _add(self, style: Style) -> tuple[int, str, str]:
        """Add a style under a name that is free; return its number, and what its formats say before and inside."""
        prefix, lists = self._prefix, self._lists
        font = lists["fonts"].number(style.font.markup(prefix))
        fill = lists["fills"].number(fill_markup(style.fill, prefix)) if style.fill else 0
        border = lists["borders"].number(style.border.markup(prefix))
        aligned = style.alignment.markup(prefix)
        parts = f' fontId="{font}" fillId="{fill}" borderId="{border}"' + (' applyAlignment="1"' if aligned else "")
        inside = f">{aligned}</{prefix}xf>" if aligned else "/>"
        name = free_name(f"batchcal {style.name}", self._names)
        self._names.add(name)
        number = lists["cellStyleXfs"].append(f'<{prefix}xf numFmtId="0"{parts}{inside}')
        lists["cellStyles"].append(f'<{prefix}cellStyle name="{quote(name)}" xfId="{number}" hidden="0"/>')
        made = self._styles[style.name] = (number, parts, inside)
        return made

    def _number_format(self, form: str) -> int:
        number = _BUILT_IN.get(form, self._codes.get(form))
        if number is None:
            number = self._codes[form] = self._free
            self._free += 1
            self._lists["numFmts"].append(f'<{self._prefix}numFmt numFmtId="{number}" formatCode="{quote(form)}"/>')
        return number


def free_name(name: str, taken: set[str]) -> str:
    """Return ``name``, or ``name (2)`` and so on where it is taken, in whatever case."""
    folded = {other.casefold() for other in taken}
    candidate, number = name, 2
    while candidate.casefold() in folded:
        candidate, number = f"{name} ({number})", number + 1
    return candidate


def _group(prefix: str, name: str, count: int, text: str) -> str:
    return f'<{prefix}{name} count="{count}">{text}</{prefix}{name}>'


def _number(number_format: Node) -> int:
    text = number_format.attributes.get("numFmtId", "")
    return int(text) if text.isdecimal() else 0
