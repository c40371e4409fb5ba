"""Sheets of our own put behind the lab's, and opened first; the lab's sheets stay as they are."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from posixpath import dirname, join

from msgspec import Struct

from batchcal.workbook.xlsx.geometry import views
from batchcal.workbook.xlsx.markup import Node, Outline, Part, escape, place_in_order, quoted
from batchcal.workbook.xlsx.package import (
    MAIN,
    RELATIONSHIPS,
    STRICT_MAIN,
    STRICT_RELATIONSHIPS,
    Package,
    SheetPart,
)
from batchcal.workbook.xlsx.revision import Revision

_ORDER = (
    "fileVersion", "fileSharing", "workbookPr", "workbookProtection", "bookViews", "sheets", "functionGroups",
    "externalReferences", "definedNames", "calcPr", "oleSize", "customWorkbookViews", "pivotCaches", "smartTagPr",
    "smartTagTypes", "webPublishing", "fileRecoveryPr", "webPublishObjects", "extLst",
)  # fmt: skip
"""The order of what stands in the workbook part (ECMA-376 Part 1, CT_Workbook, from memory, unchecked)."""

_CONTENT_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"


class AddedSheet(Struct, frozen=True):
    """A sheet of our own: its name, what gives its part piece by piece in a namespace, and the names that belong to it.

    Each of these names comes with what it stands for, and whether it is hidden.
    """

    title: str
    make: Callable[[str], Iterable[bytes]]
    names: Sequence[tuple[str, str, bool]]


def add_sheets(revision: Revision, added: Sequence[AddedSheet], printed: Mapping[SheetPart, str] | None = None) -> None:
    """Put sheets behind those of the package, and show the first of them on opening.

    They must have names that are free, and nothing beside them (pictures, comments ...). Formulas stand there with
    their values, since nothing is to be calculated on opening.
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
    for sheet in added:
        name = revision.free_part(f"{folder}/sheet", ".xml")
        revision.add(name, partial(sheet.make, STRICT_MAIN if package.strict else MAIN), _CONTENT_TYPE)
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


def _add_names(
    part: Part, root: Node, added: Sequence[AddedSheet], package: Package, printed: Mapping[SheetPart, str]
) -> None:
    """Add the names that belong to the added sheets, such as their print areas, and the areas that others print."""
    prefix = part.prefix(root)
    text = "".join(
        f'<{prefix}definedName name="_xlnm.Print_Area" localSheetId="{package.sheets.index(sheet)}">'
        f"{escape(area)}</{prefix}definedName>"
        for sheet, area in printed.items()
    )
    text += "".join(
        f'<{prefix}definedName name="{name}" localSheetId="{number}"'
        + (' hidden="1"' if hidden else "")
        + f">{escape(meaning)}</{prefix}definedName>"
        for number, sheet in enumerate(added, len(package.sheets))
        for name, meaning, hidden in sheet.names
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
