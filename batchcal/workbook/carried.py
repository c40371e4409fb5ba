"""What a results workbook does not carry of the lab's workbook, found by comparing the two packages."""

import io
import re
import zipfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from posixpath import dirname, join, normpath
from xml.etree.ElementTree import Element, ParseError, fromstring, iterparse

_PARTS: tuple[tuple[str, str], ...] = (
    (r"xl/charts/chart\d*\.xml", "chart"),
    (r"xl/charts/chartex\d*\.xml|xl/charts/chartEx\d*\.xml", "chart of a newer kind"),
    (r"xl/media/.*", "picture"),
    (r"xl/pivotTables/pivotTable\d*\.xml", "pivot table"),
    (r"xl/slicers/.*|xl/slicerCaches/.*", "slicer part"),
    (r"xl/timelines/.*|xl/timelineCaches/.*", "timeline part"),
    (r"xl/vbaProject.*|xl/vba.*|xl/macrosheets/.*", "macro part"),
    (r"xl/ctrlProps/.*|xl/activeX/.*", "form control part"),
    (r"xl/embeddings/.*", "embedded document"),
    (r"xl/threadedComments/.*", "sheet of threaded comments"),
    (r"xl/diagrams/.*", "diagram part"),
    (r"xl/queryTables/.*|xl/connections\.xml|xl/model/.*", "data connection part"),
    (r"xl/externalLinks/externalLink\d*\.xml", "link to another workbook"),
    (r"xl/tables/table\d*\.xml", "table"),
    (r"xl/richData/.*|xl/metadata\.xml", "part for cell data types or dynamic arrays"),
    (r"xl/printerSettings/.*", "printer setting"),
    (r"customXml/item\d*\.xml", "custom XML part"),
    (r"customUI/.*", "part of the ribbon"),
    (r"_xmlsignatures/.*", "part of a digital signature"),
    (r"xl/chartsheets/sheet\d*\.xml", "chart sheet"),
    (r"docProps/custom\.xml", "set of document properties of your own"),
)
"""Kinds of parts by their names, each with its word; a part that is of none of these is told by its own name."""

_WRITTEN_ANEW = re.compile(
    r".*\.rels|\[Content_Types\]\.xml|docProps/(core|app)\.xml|docProps/thumbnail\..*|xl/workbook\.xml|"
    r"xl/worksheets/[^/]*\.xml|xl/styles\.xml|xl/sharedStrings\.xml|xl/calcChain\.xml|xl/theme/.*|"
    r"xl/comments.*\.xml|xl/comments/.*|xl/persons/.*|xl/drawings/[^/]*\.(xml|vml)|xl/charts/(style|colors)\d*\.xml|"
    r"xl/pivotCache/.*|customXml/itemProps\d*\.xml|xl/[^/]*comment[^/]*",
    re.IGNORECASE,
)
"""Parts that every workbook has again, or that go with another part; what they hold is compared elsewhere."""

_ELEMENTS = {
    "sparkline": "sparkline",
    "cfRule": "rule of conditional formatting",
    "dataValidation": "drop-down or check of entries",
    "picture": "sheet background",
    "oleObject": "embedded object",
    "control": "form control",
    "scenario": "scenario",
    "customSheetView": "view of your own",
    "protectedRange": "protected range",
    "legacyDrawingHF": "picture in a header or footer",
    "hyperlink": "hyperlink",
    "mergeCell": "merged cell",
    "sheetProtection": "sheet protection",
    "phoneticPr": "reading aid for characters",
    "tablePart": "table on a sheet",
    "cellWatch": "watched cell",
    "webPublishItem": "web page setting",
}
"""What may stand on a sheet by its element, each with its word."""

_SHAPES = {"sp": "shape or text box", "cxnSp": "connector", "pic": "picture in its place"}


@dataclass(slots=True)
class _Content:
    """What was counted in one package."""

    parts: Counter[str] = field(default_factory=Counter)
    strange: list[str] = field(default_factory=list)
    sheets: Counter[str] = field(default_factory=Counter)
    shapes: Counter[str] = field(default_factory=Counter)
    names: set[str] = field(default_factory=set)
    comments: int = 0
    formula_values: int = 0
    error_cells: int = 0
    marked_cells: int = 0
    sheet_names: list[str] = field(default_factory=list)


def parts_not_carried(source: bytes, result: bytes) -> tuple[str, ...]:
    """Return in plain words what stands in ``source`` and not, or not as it was, in ``result``.

    Both are the bytes of .xlsx workbooks; ``result`` holds the sheets of ``source`` under their names. Only kinds
    and counts are compared, and of formulas how many stored values there are.
    """
    with zipfile.ZipFile(io.BytesIO(source)) as package:
        before = _counted(package, None)
    with zipfile.ZipFile(io.BytesIO(result)) as package:
        after = _counted(package, set(before.sheet_names))
    words = [_many(count, word) for word, count in (before.parts - after.parts).items()]
    words += [_many(count, _ELEMENTS[name]) for name, count in (before.sheets - after.sheets).items()]
    words += [_many(count, _SHAPES[name]) for name, count in (before.shapes - after.shapes).items()]
    words += [f"the part {name}" for name in before.strange if name not in after.strange]
    charts = min(before.parts["chart"], after.parts["chart"])
    if charts:
        words.append(f"details of the look of {_many(charts, 'chart')}")
    if lost := len(before.names - after.names):
        words.append(_many(lost, "defined name"))
    if before.comments > after.comments:
        words.append(_many(before.comments - after.comments, "comment"))
    if before.marked_cells > after.marked_cells:
        words.append(f"the dynamic array or data type of {_many(before.marked_cells - after.marked_cells, 'cell')}")
    if (count := after.error_cells - before.error_cells) > 0:
        words.append(f"{_many(count, 'number')} in cells formatted as dates, beyond the calendar")
    if before.formula_values > after.formula_values:
        count = before.formula_values - after.formula_values
        words.append(
            f"the stored value{'s' if count > 1 else ''} of {_many(count, 'formula')} "
            "(a spreadsheet program works them out again on opening)"
        )
    return tuple(words)


def _many(count: int, word: str) -> str:
    if count == 1:
        return f"1 {word}"
    head, space, tail = word.partition(" ")
    for joint in (" of ", " or ", " in ", " for ", " on ", " to "):
        if joint in word:
            first, _, rest = word.partition(joint)
            return f"{count} {first}s{joint}{rest}"
    return f"{count} {head}{space}{tail}s"


def _counted(package: zipfile.ZipFile, only: set[str] | None) -> _Content:
    """Count one package; on worksheets only those of the names in ``only``, where it is given."""
    content = _Content()
    names = package.namelist()
    for name in names:
        word = next((word for pattern, word in _PARTS if re.fullmatch(pattern, name)), None)
        if word is not None:
            content.parts[word] += 1
        elif not name.endswith("/") and not _WRITTEN_ANEW.fullmatch(name):
            content.strange.append(name)
    workbook = _workbook_part(package)
    tree = fromstring(package.read(workbook))
    targets = _targets(package, workbook)
    content.names = {
        element.get("name", "").casefold()
        for element in tree.iter()
        if _local(element) == "definedName" and not element.get("name", "").startswith("_xlnm.")
    }
    for sheet in (element for element in tree.iter() if _local(element) == "sheet"):
        title = sheet.get("name", "")
        content.sheet_names.append(title)
        identifier = next((value for key, value in sheet.attrib.items() if key.endswith("}id")), "")
        part = targets.get(identifier, "")
        if part not in names or (only is not None and title not in only):
            continue
        _count_sheet(package, part, content)
        for target in _targets(package, part).values():
            if target in names and target.endswith(".xml"):
                _count_beside_sheet(package, target, content)
    return content


def _count_sheet(package: zipfile.ZipFile, part: str, content: _Content) -> None:
    with package.open(part) as stream:
        for _, element in iterparse(stream):
            local = _local(element)
            if local == "c":
                _count_cell(element, content)
                element.clear()
            elif local in _ELEMENTS:
                content.sheets[local] += 1
            elif local == "row":
                element.clear()


def _count_cell(cell: Element, content: _Content) -> None:
    children = {_local(child): child for child in cell}
    stored = children.get("v")
    if "f" in children and stored is not None and stored.text:
        content.formula_values += 1
    elif cell.get("t") == "e":
        content.error_cells += 1
    if cell.get("cm") or cell.get("vm"):
        content.marked_cells += 1


def _count_beside_sheet(package: zipfile.ZipFile, part: str, content: _Content) -> None:
    """Count comments, and the shapes of a drawing, of one sheet."""
    if "comment" not in part.casefold() and "drawing" not in part.casefold():
        return
    try:
        tree = fromstring(package.read(part))
    except ParseError:
        return
    for element in tree.iter():
        local = _local(element)
        if local == "comment":
            content.comments += 1
        elif local in _SHAPES:
            content.shapes[local] += 1


def _workbook_part(package: zipfile.ZipFile) -> str:
    for target in _targets(package, "").values():
        if target.endswith("workbook.xml") or target.endswith("workbook.bin"):
            return target
    return "xl/workbook.xml"


def _targets(package: zipfile.ZipFile, part: str) -> dict[str, str]:
    """Return the parts that a part refers to, by the identifier of the relationship."""
    folder, name = dirname(part), part.rpartition("/")[2]
    path = join(folder, "_rels", f"{name}.rels")
    if path not in package.namelist():
        return {}
    try:
        return dict(_relationships(fromstring(package.read(path)), folder))
    except ParseError:
        return {}


def _relationships(tree: Element, folder: str) -> Iterator[tuple[str, str]]:
    for element in tree:
        if element.get("TargetMode") != "External":
            target = element.get("Target", "")
            full = target.removeprefix("/") if target.startswith("/") else normpath(join(folder, target))
            yield element.get("Id", ""), full


def _local(element: Element) -> str:
    return element.tag.rpartition("}")[2]
