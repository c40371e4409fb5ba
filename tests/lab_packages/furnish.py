"""Parts that no library here writes, typed by hand into a package of XlsxWriter: what a lab's own workbook may hold.

They follow ECMA-376 Part 1 and the extensions of common use, from memory, unchecked; that a spreadsheet program opens
them is tested.
"""

from lab_packages.parts import Change, packed, parts, swapped, targets

_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_DOC = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_X14 = "http://schemas.microsoft.com/office/spreadsheetml/2009/9/main"
_XM = "http://schemas.microsoft.com/office/excel/2006/main"
_TC = "http://schemas.microsoft.com/office/spreadsheetml/2018/threadedcomments"
_MS = "application/vnd.ms-excel"
_OX = "application/vnd.openxmlformats-officedocument.spreadsheetml"

_PIVOT_CACHE = f"""{_HEAD}<pivotCacheDefinition xmlns="{_MAIN}" xmlns:r="{_DOC}" r:id="rId1" refreshedBy="Lab"
refreshedDate="46309" createdVersion="6" refreshedVersion="6" minRefreshableVersion="3" recordCount="2"><cacheSource
type="worksheet"><worksheetSource ref="B1:D3" sheet="Runs"/></cacheSource><cacheFields count="3"><cacheField
name="Sample no." numFmtId="0"><sharedItems count="1"><s v="S1"/></sharedItems></cacheField><cacheField
name="Sample mass (g)" numFmtId="0"><sharedItems containsSemiMixedTypes="0" containsString="0" containsNumber="1"
containsInteger="1" minValue="1" maxValue="1"/></cacheField><cacheField name="Temperature rise (K)" numFmtId="0">
<sharedItems containsSemiMixedTypes="0" containsString="0" containsNumber="1" minValue="2.5" maxValue="2.505"/>
</cacheField></cacheFields></pivotCacheDefinition>"""

_PIVOT_RECORDS = f"""{_HEAD}<pivotCacheRecords xmlns="{_MAIN}" count="2"><r><x v="0"/><n v="1"/><n v="2.5"/></r><r>
<x v="0"/><n v="1"/><n v="2.505"/></r></pivotCacheRecords>"""

_PIVOT = f"""{_HEAD}<pivotTableDefinition xmlns="{_MAIN}" name="Means" cacheId="7" dataOnRows="0"
applyNumberFormats="0" applyBorderFormats="0" applyFontFormats="0" applyPatternFormats="0" applyAlignmentFormats="0"
applyWidthHeightFormats="1" dataCaption="Values" updatedVersion="6" minRefreshableVersion="3" createdVersion="6"
indent="0" outline="1" outlineData="1"><location ref="H20:I22" firstHeaderRow="1" firstDataRow="1" firstDataCol="1"/>
<pivotFields count="3"><pivotField axis="axisRow" showAll="0"><items count="2"><item x="0"/><item t="default"/></items>
</pivotField><pivotField showAll="0"/><pivotField dataField="1" showAll="0"/></pivotFields><rowFields count="1"><field
x="0"/></rowFields><rowItems count="2"><i><x/></i><i t="grand"><x/></i></rowItems><colItems count="1"><i/></colItems>
<dataFields count="1"><dataField name="Sum of rises" fld="2" baseField="0" baseItem="0"/></dataFields>
</pivotTableDefinition>"""

_SLICER_CACHE = f"""{_HEAD}<slicerCacheDefinition xmlns="{_X14}" xmlns:x="{_MAIN}" name="Slicer_Sample"
sourceName="Sample no."><pivotTables><pivotTable tabId="2" name="Means"/></pivotTables><data><tabular
pivotCacheId="7"><items count="1"><i x="0" s="1"/></items></tabular></data></slicerCacheDefinition>"""

_SLICER = f"""{_HEAD}<slicers xmlns="{_X14}"><slicer name="Sample no." cache="Slicer_Sample" caption="Sample no."
rowHeight="241300"/></slicers>"""

_EXTERNAL = f"""{_HEAD}<externalLink xmlns="{_MAIN}" xmlns:r="{_DOC}"><externalBook r:id="rId1"><sheetNames><sheetName
val="Certificates"/></sheetNames><sheetDataSet><sheetData sheetId="0"><row r="1"><cell r="A1"><v>26434</v></cell></row>
</sheetData></sheetDataSet></externalBook></externalLink>"""

_THREADED = f"""{_HEAD}<ThreadedComments xmlns="{_TC}"><threadedComment ref="A1" dT="2026-10-14T10:00:00.00"
personId="{{11111111-1111-1111-1111-111111111111}}" id="{{22222222-2222-2222-2222-222222222222}}"><text>Asked and
answered</text></threadedComment></ThreadedComments>"""

_PERSONS = f"""{_HEAD}<personList xmlns="{_TC}"><person displayName="Invented analyst"
id="{{11111111-1111-1111-1111-111111111111}}" userId="A" providerId="None"/></personList>"""

_CONTROL = f"""{_HEAD}<formControlPr xmlns="{_X14}" objectType="CheckBox" checked="Checked" lockText="1"/>"""

_CUSTOM = f"{_HEAD}<lab xmlns='urn:invented:lab'><method>lab</method></lab>"
_CUSTOM_PROPERTIES = (
    f"{_HEAD}<ds:datastoreItem ds:itemID='{{33333333-3333-3333-3333-333333333333}}' "
    "xmlns:ds='http://schemas.openxmlformats.org/officeDocument/2006/customXml'><ds:schemaRefs/></ds:datastoreItem>"
)

_NEW_PARTS: dict[str, tuple[str | bytes, str]] = {
    "xl/pivotCache/pivotCacheDefinition1.xml": (_PIVOT_CACHE, f"{_OX}.pivotCacheDefinition+xml"),
    "xl/pivotCache/pivotCacheRecords1.xml": (_PIVOT_RECORDS, f"{_OX}.pivotCacheRecords+xml"),
    "xl/pivotTables/pivotTable1.xml": (_PIVOT, f"{_OX}.pivotTable+xml"),
    "xl/slicerCaches/slicerCache1.xml": (_SLICER_CACHE, f"{_MS}.slicerCache+xml"),
    "xl/slicers/slicer1.xml": (_SLICER, f"{_MS}.slicer+xml"),
    "xl/externalLinks/externalLink1.xml": (_EXTERNAL, f"{_OX}.externalLink+xml"),
    "xl/threadedComments/threadedComment1.xml": (_THREADED, f"{_MS}.threadedcomments+xml"),
    "xl/persons/person.xml": (_PERSONS, f"{_MS}.person+xml"),
    "xl/ctrlProps/ctrlProp1.xml": (_CONTROL, f"{_MS}.controlproperties+xml"),
    "xl/printerSettings/printerSettings1.bin": (bytes(range(256)) * 4, f"{_OX}.printerSettings"),
    "customXml/item1.xml": (_CUSTOM, ""),
    "customXml/itemProps1.xml": (
        _CUSTOM_PROPERTIES,
        "application/vnd.openxmlformats-officedocument.customXmlProperties+xml",
    ),
}

_NEW_RELATIONSHIPS = {
    "xl/_rels/workbook.xml.rels": (
        ("rId90", f"{_DOC}/pivotCacheDefinition", "pivotCache/pivotCacheDefinition1.xml"),
        ("rId91", "http://schemas.microsoft.com/office/2007/relationships/slicerCache",
         "slicerCaches/slicerCache1.xml"),
        ("rId92", f"{_DOC}/externalLink", "externalLinks/externalLink1.xml"),
        ("rId93", "http://schemas.microsoft.com/office/2017/10/relationships/person", "persons/person.xml"),
        ("rId94", f"{_DOC}/customXml", "../customXml/item1.xml"),
    ),
    "xl/worksheets/_rels/sheet2.xml.rels": (
        ("rId90", f"{_DOC}/pivotTable", "../pivotTables/pivotTable1.xml"),
        ("rId91", "http://schemas.microsoft.com/office/2007/relationships/slicer", "../slicers/slicer1.xml"),
        ("rId92", "http://schemas.microsoft.com/office/2017/10/relationships/threadedComment",
         "../threadedComments/threadedComment1.xml"),
        ("rId93", f"{_DOC}/ctrlProp", "../ctrlProps/ctrlProp1.xml"),
        ("rId94", f"{_DOC}/printerSettings", "../printerSettings/printerSettings1.bin"),
    ),
    "xl/pivotTables/_rels/pivotTable1.xml.rels": (
        ("rId1", f"{_DOC}/pivotCacheDefinition", "../pivotCache/pivotCacheDefinition1.xml"),
    ),
    "xl/pivotCache/_rels/pivotCacheDefinition1.xml.rels": (
        ("rId1", f"{_DOC}/pivotCacheRecords", "pivotCacheRecords1.xml"),
    ),
    "customXml/_rels/item1.xml.rels": (("rId1", f"{_DOC}/customXmlProps", "itemProps1.xml"),),
}  # fmt: skip

_CONTROLS = (
    '<mc:AlternateContent xmlns:mc="http://schemas.openxmlformats.org/markup-compatibility/2006"><mc:Choice '
    f'Requires="x14" xmlns:x14="{_X14}"><controls><mc:AlternateContent><mc:Choice Requires="x14"><control '
    'shapeId="1025" r:id="rId93" name="Check Box 1"><controlPr defaultSize="0"><anchor moveWithCells="1"><from>'
    '<xdr:col xmlns:xdr="http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing">0</xdr:col></from><to>'
    '<xdr:col xmlns:xdr="http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing">2</xdr:col></to>'
    "</anchor></controlPr></control></mc:Choice></mc:AlternateContent></controls></mc:Choice></mc:AlternateContent>"
)
_SLICER_LIST = (
    f'<ext uri="{{A8765BA9-456A-4dab-B4F3-ACF838C121DE}}" xmlns:x14="{_X14}"><x14:slicerList><x14:slicer r:id="rId91"/>'
    "</x14:slicerList></ext>"
)
_BOOK_EXTENSION = (
    f'<extLst><ext uri="{{BBE1A952-AA13-448e-AADC-164F8A28A991}}" xmlns:x14="{_X14}"><x14:slicerCaches>'
    '<x14:slicerCache r:id="rId91"/></x14:slicerCaches></ext></extLst>'
)


def furnished(data: bytes) -> bytes:
    """Return the day of XlsxWriter with a pivot table, a slicer, threaded comments, a form control and so on."""
    content = parts(data)
    runs = "xl/worksheets/sheet2.xml"
    assert "xl/drawings/drawing1.xml" in targets(content, runs).values()
    for name, (body, _) in _NEW_PARTS.items():
        content[name] = body if isinstance(body, bytes) else body.encode()
    types = "".join(
        f'<Override PartName="/{name}" ContentType="{kind}"/>' for name, (_, kind) in _NEW_PARTS.items() if kind
    )
    _change(content, "[Content_Types].xml", swapped("</Types>", types + "</Types>"))
    for name, relationships in _NEW_RELATIONSHIPS.items():
        text = "".join(f'<Relationship Id="{key}" Type="{kind}" Target="{to}"/>' for key, kind, to in relationships)
        if name in content:
            _change(content, name, swapped("</Relationships>", text + "</Relationships>"))
        else:
            space = "http://schemas.openxmlformats.org/package/2006/relationships"
            content[name] = f'{_HEAD}<Relationships xmlns="{space}">{text}</Relationships>'.encode()
    content["xl/externalLinks/_rels/externalLink1.xml.rels"] = (
        f'{_HEAD}<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship '
        f'Id="rId1" Type="{_DOC}/externalLinkPath" Target="certificates.xlsx" TargetMode="External"/></Relationships>'
    ).encode()
    book = "xl/workbook.xml"
    _change(content, book, swapped("</sheets>", '</sheets><externalReferences><externalReference r:id="rId92"/>'
                                   "</externalReferences>"))  # fmt: skip
    _change(content, book, swapped("</workbook>", '<pivotCaches><pivotCache cacheId="7" r:id="rId90"/></pivotCaches>'
                                   f"{_BOOK_EXTENSION}</workbook>"))  # fmt: skip
    pivot = "".join(
        f'<row r="{row}"><c r="H{row}" t="str"><v>{label}</v></c><c r="I{row}"{kind}><v>{value}</v></c></row>'
        for row, label, kind, value in (
            (20, "Row labels", ' t="str"', "Sum of rises"), (21, "S1", "", 5.005), (22, "Total", "", 5.005)
        )
    )  # fmt: skip
    _change(content, runs, swapped("</sheetData>", pivot + "</sheetData>"))
    _change(content, runs, swapped("<drawing ", '<pageSetup orientation="landscape" r:id="rId94"/><drawing '))
    old = '<legacyDrawing r:id="rId2"/><extLst>'
    _change(content, runs, swapped(old, old.replace("<extLst>", f"{_CONTROLS}<extLst>{_SLICER_LIST}")))
    return packed(content)


def _change(content: dict[str, bytes], name: str, change: Change) -> None:
    content[name] = change(content[name])
