"""Looking into packages part by part, with nothing of the program's own."""

import io
import zipfile
from collections.abc import Callable, Mapping
from itertools import pairwise
from posixpath import dirname, join, normpath
from xml.etree import ElementTree
from xml.parsers import expat

Change = Callable[[bytes], bytes]

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
STRICT = "{http://purl.oclc.org/ooxml/spreadsheetml/main}"

# ECMA-376 Part 1, 18.3.1.99 (CT_Worksheet), from memory, unchecked; openpyxl writes its own sheets in this order.
WORKSHEET_ORDER = (
    "sheetPr", "dimension", "sheetViews", "sheetFormatPr", "cols", "sheetData", "sheetCalcPr", "sheetProtection",
    "protectedRanges", "scenarios", "autoFilter", "sortState", "dataConsolidate", "customSheetViews", "mergeCells",
    "phoneticPr", "conditionalFormatting", "dataValidations", "hyperlinks", "printOptions", "pageMargins", "pageSetup",
    "headerFooter", "rowBreaks", "colBreaks", "customProperties", "cellWatches", "ignoredErrors", "smartTags",
    "drawing", "legacyDrawing", "legacyDrawingHF", "picture", "oleObjects", "controls", "webPublishItems",
    "tableParts", "extLst",
)  # fmt: skip

# ECMA-376 Part 1, 18.8.39 (CT_Stylesheet), from memory, unchecked.
STYLES_ORDER = (
    "numFmts", "fonts", "fills", "borders", "cellStyleXfs", "cellXfs", "cellStyles", "dxfs", "tableStyles", "colors",
    "extLst",
)  # fmt: skip

MAY_DIFFER = {
    ("dimension", "ref"), ("row", "spans"), ("sheetFormatPr", "outlineLevelCol"), ("pageSetup", "fitToWidth"),
    ("sheetView", "tabSelected"), ("workbookView", "activeTab"), ("numFmts", "count"), ("fonts", "count"),
    ("fills", "count"), ("borders", "count"), ("cellStyleXfs", "count"), ("cellXfs", "count"),
    ("cellStyles", "count"), ("dxfs", "count"),
}  # fmt: skip
"""Attributes that must say what is added."""

_WIDTHS = (f"{MAIN}col"[1:], f"{STRICT}col"[1:])

Event = tuple[object, ...]


def parts(data: bytes) -> dict[str, bytes]:
    """Return the parts of a package in their order."""
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        return {name: package.read(name) for name in package.namelist()}


def packed(content: Mapping[str, bytes]) -> bytes:
    """Return a package of these parts."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as package:
        for name, data in content.items():
            package.writestr(zipfile.ZipInfo(name, (2026, 10, 14, 18, 30, 0)), data, zipfile.ZIP_DEFLATED)
    return stream.getvalue()


def changed(data: bytes, changes: Mapping[str, Change]) -> bytes:
    """Return a package in which some parts are changed; a part that is absent is given to its change as no bytes."""
    content = parts(data)
    for name, change in changes.items():
        content[name] = change(content.get(name, b""))
    return packed(content)


def swapped(old: str, new: str) -> Change:
    """Return a change of one text for another, which must be there once."""

    def change(data: bytes) -> bytes:
        assert data.count(old.encode()) == 1, (old, data.count(old.encode()), data[:3000])
        return data.replace(old.encode(), new.encode())

    return change


def events(data: bytes) -> list[Event]:
    """Return what stands in an XML part, in its order; the entries of column widths are left out."""
    found: list[Event] = []
    parser = expat.ParserCreate(namespace_separator="}")
    parser.buffer_text = True

    def started(name: str, attributes: dict[str, str]) -> None:
        local = name.rpartition("}")[2]
        if name not in _WIDTHS:
            kept = {key: value for key, value in attributes.items() if (local, key) not in MAY_DIFFER}
            found.append(("start", name, *sorted(kept.items())))

    def ended(name: str) -> None:
        if name not in _WIDTHS:
            found.append(("end", name))

    parser.StartElementHandler, parser.EndElementHandler = started, ended
    parser.CharacterDataHandler = lambda text: found.append(("text", text))
    parser.CommentHandler = lambda text: found.append(("comment", text))
    parser.Parse(data, True)
    return found


def holds_all(before: bytes, after: bytes) -> bool:
    """Return whether everything that stands in one XML part stands in another too, in the same order."""
    rest = iter(events(after))
    return all(any(event == other for other in rest) for event in events(before))


def column_entries(data: bytes) -> dict[int, dict[str, str]]:
    """Return what is said of each column's width and format; it must be said once."""
    found: dict[int, dict[str, str]] = {}
    for element in ElementTree.fromstring(data).iter():
        if element.tag[1:] in _WIDTHS:
            said = {key: value for key, value in element.attrib.items() if key not in ("min", "max")}
            for column in range(int(element.get("min", "")), int(element.get("max", "")) + 1):
                assert column not in found, column
                found[column] = said
    return found


def local(element: ElementTree.Element) -> str:
    """Return the name of an element without its namespace."""
    return element.tag.rpartition("}")[2]


def targets(content: Mapping[str, bytes], part: str) -> dict[str, str]:
    """Return the parts that a part leads to, by identifier; an identifier must stand once."""
    path = join(dirname(part), "_rels", f"{part.rpartition('/')[2]}.rels")
    found: dict[str, str] = {}
    for element in ElementTree.fromstring(content[path]) if path in content else ():
        identifier = element.get("Id", "")
        assert identifier not in found, identifier
        target = element.get("Target", "")
        if element.get("TargetMode") != "External":
            target = target[1:] if target.startswith("/") else normpath(join(dirname(part), target))
        found[identifier] = target
    return found


def sheet_parts(content: Mapping[str, bytes]) -> dict[str, str]:
    """Return the part of each sheet by its name, in their order."""
    book = ElementTree.fromstring(content["xl/workbook.xml"])
    leads = targets(content, "xl/workbook.xml")
    return {
        element.get("name", ""): leads[next(value for key, value in element.attrib.items() if key.endswith("}id"))]
        for element in book.iter()
        if local(element) == "sheet"
    }


def assert_sane(data: bytes) -> None:
    """Hold a package to the rules that a spreadsheet program would stumble over."""
    content = parts(data)
    names = list(content)
    assert len({name.casefold() for name in names}) == len(names)
    _assert_types(content)
    book = ElementTree.fromstring(content["xl/workbook.xml"])
    assert book.tag in (f"{MAIN}workbook", f"{STRICT}workbook")
    sheets = [element for element in book.iter() if local(element) == "sheet"]
    assert len({sheet.get("sheetId") for sheet in sheets}) == len(sheets)
    assert len({sheet.get("name", "").casefold() for sheet in sheets}) == len(sheets)
    named = [(e.get("name"), e.get("localSheetId")) for e in book.iter() if local(e) == "definedName"]
    assert len(set(named)) == len(named)
    assert all(number is None or int(number) < len(sheets) for _, number in named)
    formats = _assert_styles(content)
    selected = []
    for title, part in sheet_parts(content).items():
        root = ElementTree.fromstring(content[part])
        if any(view.get("tabSelected") in ("1", "true") for view in root.iter() if local(view) == "sheetView"):
            selected.append(title)
        if local(root) == "worksheet":
            _assert_worksheet(root, content[part], formats)
    active = next(int(element.get("activeTab", "0")) for element in book.iter() if local(element) == "workbookView")
    assert selected == [sheets[active].get("name")]


def _assert_types(content: Mapping[str, bytes]) -> None:
    types = ElementTree.fromstring(content["[Content_Types].xml"])
    overrides = [element.get("PartName", "")[1:] for element in types if local(element) == "Override"]
    defaults = [element.get("Extension", "").casefold() for element in types if local(element) == "Default"]
    assert len(set(overrides)) == len(overrides)
    assert len(set(defaults)) == len(defaults)
    assert set(overrides) <= set(content), set(overrides) - set(content)
    for name in content:
        if not name.endswith("/") and name != "[Content_Types].xml":
            assert name in overrides or name.rpartition(".")[2].casefold() in defaults, name


def _assert_styles(content: Mapping[str, bytes]) -> int:
    part = next(part for part in targets(content, "xl/workbook.xml").values() if part.startswith("xl/styles"))
    root = ElementTree.fromstring(content[part])
    groups = {local(group): group for group in root}
    places = [STYLES_ORDER.index(local(group)) for group in root]
    assert places == sorted(places)
    for name, group in groups.items():
        if name in STYLES_ORDER[:8]:
            assert int(group.get("count", len(group))) == len(group), name
    codes = [e.get("numFmtId") for e in groups.get("numFmts", ())]
    assert len(set(codes)) == len(codes)
    for name in ("cellStyleXfs", "cellXfs"):
        for form in groups.get(name, ()):
            assert int(form.get("fontId", 0)) < len(groups["fonts"])
            assert int(form.get("fillId", 0)) < len(groups["fills"])
            assert int(form.get("borderId", 0)) < len(groups["borders"])
            assert int(form.get("xfId", 0)) < max(1, len(groups.get("cellStyleXfs", ())))
            number = int(form.get("numFmtId", 0))
            assert number < 164 or str(number) in codes, number
    styles = [(e.get("name") or "").casefold() for e in groups.get("cellStyles", ())]
    assert len(set(styles)) == len(styles)
    return len(groups["cellXfs"])


def _assert_worksheet(root: ElementTree.Element, data: bytes, formats: int) -> None:
    known = [local(child) for child in root if local(child) in WORKSHEET_ORDER]
    places = [WORKSHEET_ORDER.index(name) for name in known]
    assert places == sorted(places), known
    column_entries(data)
    assert [local(child) for child in root].count("cols") <= 1 or root.tag.startswith(STRICT)
    rows = next(child for child in root if local(child) == "sheetData")
    numbers, number = [], 0
    for row in rows:
        number = int(row.get("r", number + 1))
        numbers.append(number)
        columns, column = [], 0
        for cell in row:
            if local(cell) == "c":
                column = _column(cell.get("r", ""), column + 1)
                columns.append(column)
                assert int(cell.get("s", 0)) < formats
        assert all(left < right for left, right in pairwise(columns)), (number, columns)
        spans = row.get("spans", "1:16384").split()
        assert int(spans[0].split(":")[0]) <= min(columns, default=1)
        assert max(columns, default=1) <= int(spans[-1].split(":")[1])
    assert all(above < below for above, below in pairwise(numbers))


def _column(reference: str, otherwise: int) -> int:
    letters = reference.rstrip("0123456789")
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - ord("A") + 1
    return number or otherwise
