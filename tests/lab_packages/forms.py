"""The same package in the other forms that the standard allows: strict, with prefixes, in UTF-16, from the root."""

import re
from xml.etree import ElementTree

from lab_packages.parts import packed, parts

# ECMA-376 Part 1 (strict) beside Part 4 (transitional): the namespaces, from memory, unchecked; that another program
# opens the package is tested.
_STRICT = {
    "http://schemas.openxmlformats.org/spreadsheetml/2006/main": "http://purl.oclc.org/ooxml/spreadsheetml/main",
    "http://schemas.openxmlformats.org/officeDocument/2006/relationships": (
        "http://purl.oclc.org/ooxml/officeDocument/relationships"
    ),
    "http://schemas.openxmlformats.org/drawingml/2006/main": "http://purl.oclc.org/ooxml/drawingml/main",
    "http://schemas.openxmlformats.org/drawingml/2006/chart": "http://purl.oclc.org/ooxml/drawingml/chart",
    "http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing": (
        "http://purl.oclc.org/ooxml/drawingml/spreadsheetDrawing"
    ),
    "http://schemas.openxmlformats.org/officeDocument/2006/extended-properties": (
        "http://purl.oclc.org/ooxml/officeDocument/extendedProperties"
    ),
    "http://schemas.openxmlformats.org/officeDocument/2006/docPropsVTypes": (
        "http://purl.oclc.org/ooxml/officeDocument/docPropsVTypes"
    ),
}


def strict(data: bytes) -> bytes:
    """Return a package in the strict form."""
    content = parts(data)
    for name in content:
        if name.endswith((".xml", ".rels")):
            for old, new in _STRICT.items():
                content[name] = re.sub(rf'{re.escape(old)}(["/])'.encode(), rf"{new}\1".encode(), content[name])
    content["xl/workbook.xml"] = content["xl/workbook.xml"].replace(
        b"<workbook ", b'<workbook conformance="strict" ', 1
    )
    return packed(content)


def prefixed(data: bytes) -> bytes:
    """Return a package in which every element has a prefix, as some programs write it."""
    content = parts(data)
    for name, part in content.items():
        if re.fullmatch(r"xl/(worksheets/sheet\d+|workbook|styles|sharedStrings)\.xml|.*\.rels|\[.*", name):
            content[name] = ElementTree.tostring(ElementTree.fromstring(part), "UTF-8", xml_declaration=True)
    return packed(content)


def declared_where_used(data: bytes) -> bytes:
    """Return a package whose list of sheets declares the namespace of relationships anew on every entry."""
    content = parts(data)
    book = content["xl/workbook.xml"].decode()
    space = re.search(r' xmlns:r="([^"]*)"', book)
    assert space is not None
    book = book.replace(space[0], "", 1).replace(" r:id=", f' xmlns:d3p1="{space[1]}" d3p1:id=')
    content["xl/workbook.xml"] = book.encode()
    return packed(content)


def in_utf_16(data: bytes) -> bytes:
    """Return a package whose sheets, formats and lists are in UTF-16."""
    content = parts(data)
    for name, part in content.items():
        if name.endswith((".xml", ".rels")):
            text = re.sub(r"^<\?xml[^>]*\?>", '<?xml version="1.0" encoding="UTF-16"?>', part.decode())
            content[name] = b"\xff\xfe" + text.encode("utf-16-le")
    return packed(content)


def named_from_the_root(data: bytes) -> bytes:
    """Return a package whose relationships name their targets from the root."""
    content = parts(data)
    rels = "xl/_rels/workbook.xml.rels"
    content[rels] = re.sub(rb'Target="(?!/)', b'Target="/xl/', content[rels])
    return packed(content)
