"""Sheets made in a workbook of their own put behind the lab's, and opened first; the lab's sheets stay as they are."""

from collections.abc import Callable, Iterable, Mapping
from functools import partial
from posixpath import dirname, join

from batchcal.workbook.xlsx.geometry import views
from batchcal.workbook.xlsx.markup import Node, Outline, Part, escape, place_in_order, quoted
from batchcal.workbook.xlsx.package import (
    MAIN,
    RELATIONSHIPS,
    STRICT_MAIN,
    STRICT_RELATIONSHIPS,
    Package,
    SheetPart,
    local,
    relationships_part,
)
from batchcal.workbook.xlsx.revision import Revision
from batchcal.workbook.xlsx.stylesheet import Renumbered

_ORDER = (
    "fileVersion", "fileSharing", "workbookPr", "workbookProtection", "bookViews", "sheets", "functionGroups",
    "externalReferences", "definedNames", "calcPr", "oleSize", "customWorkbookViews", "pivotCaches", "smartTagPr",
    "smartTagTypes", "webPublishing", "fileRecoveryPr", "webPublishObjects", "extLst",
)  # fmt: skip
"""The order of what stands in the workbook part (ECMA-376 Part 1, CT_Workbook, from memory, unchecked)."""

_CONTENT_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
_FORMATTED = {"c": "s", "row": "s", "col": "style"}
"""The attribute that holds the number of a format, by the element."""

Filled = Mapping[str, Callable[[bytes], Iterable[bytes]]]
"""By sheet, what puts its rows into its part, piece by piece, once that has the formats of the lab's workbook."""


def add_sheets(
    revision: Revision,
    added: Package,
    renumbered: Renumbered,
    filled: Filled | None = None,
    printed: Mapping[SheetPart, str] | None = None,
) -> None:
    """Put the sheets of the workbook ``added`` behind those of the package, and show the first of them on opening.

    The sheets must have names that are free, and nothing beside them (pictures, comments ...). Formulas come in through
    ``filled`` with their values, since nothing is to be calculated on opening.
    ``printed`` are the areas that sheets of the lab's are to print, which have none themselves.
    """
    package = revision.package
    folder = join(dirname(package.workbook_part), "worksheets")
    part, root, outline = revision.outline(package.workbook_part)
    sheets = root.child("sheets")
    if sheets is None:
        raise package.refused("the workbook is damaged: its list of sheets is missing")
    identifiers = {each.attributes.get("sheetId", "") for each in sheets.children}
    number = max((int(text) for text in identifiers if text.isdecimal()), default=0)
    entries = []
    for sheet in added.sheets:
        name = revision.free_part(f"{folder}/sheet", ".xml")
        make = partial(_made, package, added, sheet.part, renumbered, (filled or {}).get(sheet.title))
        revision.add(name, make, _CONTENT_TYPE)
        number += 1
        identifier = revision.relate(package.workbook_part, "worksheet", name)
        entries.append(
            f'<{part.prefix(root)}sheet name="{quoted(sheet.title)}" sheetId="{number}" '
            f"{_relationship_attribute(package, outline, identifier)}/>"
        )
    part.append(sheets, "".join(entries))
    _add_names(part, root, added, package, printed or {})
    _open_at(revision, part, root, len(package.sheets))


def _relationship_attribute(package: Package, outline: Outline, identifier: str) -> str:
    """Return the attribute that leads to a sheet's part, with a prefix that is declared for the whole part, or here."""
    space = STRICT_RELATIONSHIPS if package.strict else RELATIONSHIPS
    prefix = outline.prefixes.get(space)
    return f'{prefix}id="{identifier}"' if prefix else f'xmlns:r="{space}" r:id="{identifier}"'


def _made(
    package: Package,
    added: Package,
    name: str,
    renumbered: Renumbered,
    fill: Callable[[bytes], Iterable[bytes]] | None,
) -> Iterable[bytes]:
    """Return an added sheet piece by piece, with its rows."""
    frame = _sheet(package, added, name, renumbered)
    return (frame,) if fill is None else fill(frame)


def _sheet(package: Package, added: Package, name: str, renumbered: Renumbered) -> bytes:
    """Return an added sheet with the numbers that its formats have in the lab's workbook."""
    if added.has(relationships_part(name)):
        raise ValueError(f"{name}: parts beside an added sheet are not provided for")
    part = Part(added, name)
    parser = part.parser()

    def started(tag: str, attributes: Mapping[str, str]) -> None:
        element, start = tag.rpartition("}")[2], parser.CurrentByteIndex
        attribute = _FORMATTED.get(element)
        if attribute is not None and attribute in attributes:
            part.set_attribute(start, attribute, str(renumbered.formats[int(attributes[attribute])]))
        elif element == "cfRule" and "dxfId" in attributes:
            part.set_attribute(start, "dxfId", str(renumbered.conditional[int(attributes["dxfId"])]))
        elif element == "f":
            raise ValueError(f"{name}: a formula would stand there without its value")

    parser.StartElementHandler = started
    part.run(lambda: parser.Parse(part.data, True))
    data = part.edited()
    return data.replace(MAIN.encode(), STRICT_MAIN.encode(), 1) if package.strict else data


def _add_names(part: Part, root: Node, added: Package, package: Package, printed: Mapping[SheetPart, str]) -> None:
    """Add the names that belong to the added sheets, such as their print areas, and the areas that others print."""
    prefix = part.prefix(root)
    text = "".join(
        f'<{prefix}definedName name="_xlnm.Print_Area" localSheetId="{package.sheets.index(sheet)}">'
        f"{escape(area)}</{prefix}definedName>"
        for sheet, area in printed.items()
    )
    text += "".join(
        f'<{prefix}definedName name="{quoted(each.get("name", ""))}" '
        f'localSheetId="{int(each.get("localSheetId", "")) + len(package.sheets)}"'
        + (' hidden="1"' if each.get("hidden") in ("1", "true") else "")
        + f">{escape(each.text or '')}</{prefix}definedName>"
        for each in added.workbook.iter()
        if local(each) == "definedName"
    )
    if not text:
        return
    group = root.child("definedNames")
    if group is not None:
        part.append(group, text)
    else:
        at = place_in_order(root, "definedNames", _ORDER)
        part.insert(at, f"<{prefix}definedNames>{text}</{prefix}definedNames>")


def _open_at(revision: Revision, part: Part, root: Node, index: int) -> None:
    """Show the sheet at ``index`` on opening; no other may stay selected, since two would be edited together."""
    group = root.child("bookViews")
    first = group.child("workbookView") if group is not None else None
    if first is not None:
        part.set_attribute(first.start, "activeTab", str(index))
    else:
        prefix = part.prefix(root)
        view = f'<{prefix}workbookView activeTab="{index}"/>'
        if group is not None:
            part.append(group, view)
        else:
            at = place_in_order(root, "bookViews", _ORDER)
            part.insert(at, f"<{prefix}bookViews>{view}</{prefix}bookViews>")
    for sheet in revision.package.sheets:
        theirs = revision.part(sheet.part)
        for each in views(theirs):
            # A second window, where there is one, keeps the sheet that it shows.
            shown = each.attributes.get("tabSelected") in ("1", "true")
            if shown and each.attributes.get("workbookViewId", "0") == "0":
                theirs.set_attribute(each.start, "tabSelected", "0")
