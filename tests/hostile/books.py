"""Workbooks whose parts hang together wrongly: sheets, relationships, types, texts and formats."""

from collections.abc import Callable, Iterator

from hostile.base import (
    CONTENT_TYPES,
    DOCUMENT,
    HEAD,
    MAIN,
    PACKAGED,
    ROOT_RELS,
    RUNS,
    SETUP,
    SHEET_TYPE,
    STRINGS,
    STYLES,
    WORKBOOK,
    WORKBOOK_RELS,
    edited,
    packed,
    parts,
    put,
    with_parts,
    without,
)
from hostile.case import SAME, Case, Reads, Refused, finds

_RUNS_SHEET = '<sheet name="Runs" sheetId="2" r:id="rId2"/>'
_RUNS_TARGET = 'Target="worksheets/sheet2.xml"'
_MISSING = Refused("sheet Runs is missing")
_NO_DATES = finds("date-missing", "date-unreadable", "heat-capacity-incomplete")


def cases() -> Iterator[Case]:
    """Yield the log with one of the parts changed that hold it together."""
    yield from _sheets()
    yield from _more_sheets()
    yield from _relationships()
    yield from _types()
    yield from _strings()
    yield from _styles()


def _sheets() -> Iterator[Case]:
    for name, sheet, outcome in (
        ("of the name of another", '<sheet name="Setup" sheetId="2" r:id="rId2"/>', Refused("two sheets named Setup")),
        (
            "of that name in capitals",
            '<sheet name="SETUP" sheetId="2" r:id="rId2"/>',
            Refused("two sheets named SETUP"),
        ),
        ("without a name", '<sheet name="" sheetId="2" r:id="rId2"/>', Refused("a sheet is named nothing at all")),
        ("without even an empty name", '<sheet sheetId="2" r:id="rId2"/>', Refused("a sheet is named nothing at all")),
        (
            "of a name of 300 signs",
            f'<sheet name="{"R" * 300}" sheetId="2" r:id="rId2"/>',
            Refused("a sheet is named RRR"),
        ),
        (
            "of a name over two lines",
            '<sheet name="Ru&#10;ns" sheetId="2" r:id="rId2"/>',
            Refused("a sheet is named Ru?ns"),
        ),
        ("of a relationship that is not there", '<sheet name="Runs" sheetId="2" r:id="rId9"/>', _MISSING),
        ("of no relationship", '<sheet name="Runs" sheetId="2"/>', _MISSING),
        ("of a relationship by another attribute", '<sheet name="Runs" sheetId="2" id="rId2"/>', _MISSING),
        (
            "of the part of another",
            '<sheet name="Runs" sheetId="2" r:id="rId1"/>',
            Refused("two sheets share the part"),
        ),
        (
            "that is the part of texts",
            '<sheet name="Runs" sheetId="2" r:id="rId4"/>',
            Refused("of a kind that is not known"),
        ),
        ("that is hidden", '<sheet name="Runs" sheetId="2" state="hidden" r:id="rId2"/>', SAME),
        ("that is hidden from the menus", '<sheet name="Runs" sheetId="2" state="veryHidden" r:id="rId2"/>', SAME),
        ("of a state that nobody knows", '<sheet name="Runs" sheetId="2" state="x" r:id="rId2"/>', SAME),
        ("of the number of another", '<sheet name="Runs" sheetId="1" r:id="rId2"/>', SAME),
        ("of no number", '<sheet name="Runs" r:id="rId2"/>', SAME),
        ("that is not listed", "", Refused("there is no sheet Runs")),
        ("in a list of its own", f"</sheets><sheets>{_RUNS_SHEET}", SAME),
        ("twice", _RUNS_SHEET * 2, Refused("two sheets named Runs")),
    ):
        yield Case(f"a sheet {name}", edited(WORKBOOK, (_RUNS_SHEET, sheet)), outcome)
    head = f'{HEAD}<workbook xmlns="{MAIN}">'
    yield Case("no list of sheets", put(WORKBOOK, f"{head}</workbook>".encode()), Refused("no sheet with cells"))
    yield Case("a list of no sheets", put(WORKBOOK, f"{head}<sheets/></workbook>".encode()), Refused("no sheet with"))
    for name, properties, outcome in (
        ("from 1904", '<workbookPr date1904="1"/>', Reads()),
        ("from 1904 by a word", '<workbookPr date1904="true"/>', Reads()),
        ("from 1900 by a word", '<workbookPr date1904="false"/>', SAME),
    ):
        yield Case(f"dates {name}", edited(WORKBOOK, ("<workbookPr/>", properties)), outcome)
    yield Case(
        "1 500 000 elements that nobody knows beside the sheets",
        edited(WORKBOOK, ("</sheets>", f"</sheets><extLst>{'<a/>' * 1_500_000}</extLst>")),
        Refused("has more than 1000000 elements"),
    )
    yield Case(
        "names that refer to files and to nowhere",
        edited(
            WORKBOOK,
            ("</sheets>", "</sheets><externalReferences/><definedNames><definedName name='_xlnm.Print_Area'>#REF!"
             "</definedName><definedName name='x'>'file:///etc/[passwd]s'!$A$1</definedName></definedNames>"),
        ),
        SAME,
    )  # fmt: skip


def _more_sheets() -> Iterator[Case]:
    for kind, content in (
        ("chartsheet", f'<chartsheet xmlns="{MAIN}"/>'),
        ("dialogsheet", f'<dialogsheet xmlns="{MAIN}"/>'),
        ("xlMacrosheet", f'<macrosheet xmlns="{MAIN}"><sheetData><row r="0"/></sheetData></macrosheet>'),
        ("xlIntlMacrosheet", "not even XML"),
    ):
        yield Case(f"a {kind} more", _with_sheet(kind, content), SAME)
    yield Case("a worksheet more with nothing on it", _with_sheet("worksheet", _EMPTY), Reads())
    yield Case(
        "a worksheet more that is damaged", _with_sheet("worksheet", "<x/>"), Refused("no worksheet of a workbook")
    )
    yield Case(
        "a sheet more of a kind that nobody knows", _with_sheet("hologram", _EMPTY), Refused("not known (hologram)")
    )
    yield Case("500 worksheets more", _many_sheets, Reads())
    yield Case("charts only", _charts_only, Refused("has no sheet with cells"))


_EMPTY = f'<worksheet xmlns="{MAIN}"><sheetData/></worksheet>'


def _relationships() -> Iterator[Case]:
    for name, target, outcome in (
        ("above the package", 'Target="../../../../etc/passwd"', _MISSING),
        ("at a place on this machine", 'Target="file:///etc/passwd"', _MISSING),
        ("at a place on the network", 'Target="http://localhost:9/sheet2.xml"', _MISSING),
        ("at a share", r'Target="\\localhost\share\sheet2.xml"', _MISSING),
        ("outside", f'{_RUNS_TARGET} TargetMode="External"', _MISSING),
        ("nowhere", 'Target=""', _MISSING),
        ("not said", "", _MISSING),
        ("behind a fragment", 'Target="worksheets/sheet2.xml#A1"', _MISSING),
        ("with the signs of another system", r'Target="worksheets\sheet2.xml"', _MISSING),
        ("at itself", 'Target="_rels/workbook.xml.rels"', Refused("is no worksheet")),
        ("at the list of sheets", 'Target="workbook.xml"', Refused("is no worksheet")),
        ("at the formats", 'Target="styles.xml"', Refused("is no worksheet")),
        ("from the top", 'Target="/xl/worksheets/sheet2.xml"', SAME),
        ("by a roundabout way", 'Target="../xl/./worksheets/../worksheets/sheet2.xml"', SAME),
        ("in capitals", 'Target="WORKSHEETS/Sheet2.XML"', SAME),
        ("inside by a word", f'{_RUNS_TARGET} TargetMode="Internal"', SAME),
    ):
        yield Case(f"a sheet's part {name}", edited(WORKBOOK_RELS, (_RUNS_TARGET, target)), outcome)
    strings = 'Target="sharedStrings.xml"'
    yield Case(
        "texts from the network",
        edited(WORKBOOK_RELS, (strings, 'Target="http://localhost:9/x.xml" TargetMode="External"')),
        Refused("cell A1 refers to the text '0'; the workbook has 0 texts"),
    )
    yield Case("texts that are a sheet", edited(WORKBOOK_RELS, (strings, _RUNS_TARGET)), Refused("is no sst"))
    yield Case("formats that are not there", without(STYLES), Refused("cell B3 has the format '1'"))
    more = f'<Relationship Id="rId9" Type="{DOCUMENT}/%s" Target="%s"/></Relationships>'
    end = "</Relationships>"
    yield Case(
        "two parts of texts",
        edited(WORKBOOK_RELS, (end, more % ("sharedStrings", "other.xml"))),
        Refused("2 parts of the kind sharedStrings"),
    )
    yield Case(
        "one part of texts named twice",
        edited(WORKBOOK_RELS, (end, more % ("sharedStrings", "sharedStrings.xml"))),
        SAME,
    )
    yield Case(
        "two parts of formats",
        edited(WORKBOOK_RELS, (end, more % ("styles", "other.xml"))),
        Refused("2 parts of the kind styles"),
    )
    yield Case(
        "two workbooks in one",
        edited(ROOT_RELS, (end, more % ("officeDocument", "xl/other.xml"))),
        Refused("2 parts of the kind officeDocument"),
    )
    yield Case(
        "two relationships of one name",
        edited(WORKBOOK_RELS, (end, f'<Relationship Id="rId2" Type="{DOCUMENT}/worksheet" Target="x.xml"/>{end}')),
        Refused("has two relationships rId2"),
    )
    outside = f'<Relationship Id="rId9" Type="{DOCUMENT}/%s" Target="%s" TargetMode="External"/>{end}'
    yield Case(
        "a link to another workbook",
        edited(WORKBOOK_RELS, (end, outside % ("externalLink", "file:///etc/passwd"))),
        SAME,
    )
    yield Case(
        "a template on the network",
        edited(ROOT_RELS, (end, outside % ("attachedTemplate", "http://localhost:9/"))),
        SAME,
    )
    yield Case(
        "a sheet's links",
        with_parts({
            "xl/worksheets/_rels/sheet2.xml.rels": f'<Relationships xmlns="{PACKAGED}/relationships">'
            f'{outside % ("hyperlink", "http://localhost:9/")}'.encode()
        }),
        SAME,
    )  # fmt: skip
    yield Case("no relationships of the package", without(ROOT_RELS), Refused("not a workbook"))
    yield Case("no relationships of the workbook", without(WORKBOOK_RELS), Refused("sheet Setup is missing"))
    yield Case(
        "the package is its own workbook",
        edited(ROOT_RELS, (f'Target="{WORKBOOK}"', 'Target="_rels/.rels"')),
        Refused("not a workbook"),
    )
    yield Case(
        "the workbook is above the package",
        edited(ROOT_RELS, (f'Target="{WORKBOOK}"', 'Target="../workbook.xml"')),
        Refused("workbook.xml is missing"),
    )
    yield Case(
        "the workbook is outside", edited(ROOT_RELS, ('Target="', 'TargetMode="External" Target="')), Refused("not a")
    )
    yield Case(
        "300 000 relationships", put(WORKBOOK_RELS, _padded(b"<Relationship Id='x%d'/>", 300_000)), Refused("more than")
    )


def _types() -> Iterator[Case]:
    sheet = f"{SHEET_TYPE}.sheet.main+xml"
    for name, kind, outcome in (
        ("with macros", "application/vnd.ms-excel.sheet.macroEnabled.main+xml", SAME),
        ("a template", f"{SHEET_TYPE}.template.main+xml", SAME),
        ("a template with macros", "application/vnd.ms-excel.template.macroEnabled.main+xml", SAME),
        ("in capitals", sheet.upper(), SAME),
        ("a text document", sheet.replace("spreadsheet", "wordprocessing"), Refused("not a workbook: its part")),
        ("nothing", "", Refused("not a workbook: its part")),
        ("something over two lines", "a&#10;b", Refused("not a workbook: its part")),
    ):
        yield Case(f"the workbook says that it is {name}", edited(CONTENT_TYPES, (sheet, kind)), outcome)
    yield Case(
        "no types at all", put(CONTENT_TYPES, f'<Types xmlns="{PACKAGED}/content-types"/>'.encode()), Refused("no type")
    )
    yield Case("a sheet of no type", edited(CONTENT_TYPES, (f'PartName="/{RUNS}"', 'PartName="/x"')), SAME)
    yield Case("200 000 types", put(CONTENT_TYPES, _padded(b"<Override PartName='/x%d'/>", 200_000)), SAME)


def _strings() -> Iterator[Case]:
    item = '<si><t xml:space="preserve">Item</t></si>'
    for name, new, outcome in (
        ("in runs", "<si><r><t>It</t></r><r><rPr><strike/></rPr><t>em</t></r></si>", SAME),
        ("in runs behind a text", "<si><t>I</t><r><t>tem</t></r></si>", SAME),
        ("in empty runs", "<si><r><t/></r><r/><r><t>Item</t></r></si>", SAME),
        (
            "with reading aids",
            '<si><t>Item</t><rPh sb="0" eb="1"><t>aitem</t></rPh><phoneticPr fontId="1"/></si>',
            SAME,
        ),
        ("with an accent of its own", "<si><t>Ite&#x6d;</t></si>", SAME),
        ("two in one", "<si><t>It</t><t>em</t></si>", Refused("an element t where none can be")),
        ("two in one run", "<si><r><t>It</t><t>em</t></r></si>", Refused("an element t where none can be")),
        ("a text behind its runs", "<si><r><t>It</t></r><t>em</t></si>", Refused("an element t where none can be")),
        ("one in another", f"<si><t>It</t>{item}</si>", Refused("an element si where none can be")),
        ("with an element in the text", "<si><t>It<b/>em</t></si>", Refused("an element b where none can be")),
        ("outside of its element", "<si>Item</si>", Refused("words outside of every text")),
        ("before its element", "<si>I<t>tem</t></si>", Refused("words outside of every text")),
        ("behind its element", "<si><t>Ite</t>m</si>", Refused("words outside of every text")),
        ("of another kind", "<sx><t>Item</t></sx>", Refused("an element sx where none can be")),
        ("of no element", "<t>Item</t>", Refused("an element t where none can be")),
    ):
        yield Case(f"a text {name}", edited(STRINGS, (item, new)), outcome)
    yield Case(
        "a text short", edited(STRINGS, (item, "")), Refused("refers to the text '75'; the workbook has 75 texts")
    )
    yield Case("a text empty", edited(STRINGS, ('<t xml:space="preserve">S1</t>', "")), finds("purpose-missing"))
    yield Case(
        "counts that lie", edited(STRINGS, ('count="76" uniqueCount="76"', 'count="-1" uniqueCount="9E9"')), SAME
    )
    yield Case("500 000 texts more", edited(STRINGS, ("</sst>", "<si/>" * 500_000 + "</sst>")), SAME)
    yield Case("more set apart behind the texts", edited(STRINGS, ("</sst>", "<extLst><si/></extLst></sst>")), SAME)
    yield Case("a long text in 200 000 cells", _amplified, Refused("over and over"))
    yield Case("a long formula in 200 000 cells", _amplified_formula, Refused("over and over"))


def _styles() -> Iterator[Case]:
    date = '<xf numFmtId="164" fontId="0" fillId="0" borderId="0" xfId="0"/>'
    for name, new, outcome in (
        (
            "of a font that is not there",
            date.replace('fontId="0"', 'fontId="9"'),
            Refused("of a font 9, and no such font"),
        ),
        (
            "of a font before the first",
            date.replace('fontId="0"', 'fontId="-1"'),
            Refused("fontId '-1', which is no number"),
        ),
        (
            "of a number format with a fraction",
            date.replace("164", "1.5"),
            Refused("numFmtId '1.5', which is no number"),
        ),
        ("of a number format in figures of old", date.replace("164", "１６４"), Refused("which is no number")),
        ("of a number format that is not there", date.replace("164", "999"), _NO_DATES),
        ("of a date by number alone", date.replace("164", "14"), SAME),
        ("of a date by number alone in the East", date.replace("164", "57"), SAME),
        ("without a word", "<xf/>", _NO_DATES),
    ):
        yield Case(f"a format {name}", edited(STYLES, (date, new)), outcome)
    code = 'formatCode="yyyy\\-mm\\-dd"'
    for name, text, outcome in (
        ("of 10 000 signs", "y" * 10_000, Refused("a number format of 10000 characters")),
        ("of 500 brackets left open", "[" * 500 + "y", SAME),
        ("of 500 quotes left open", "&quot;" * 501 + "y", SAME),
        ("of two sections", "yyyy;[Red]0", SAME),
        ("in another language", "[$-407]TT.MM.JJJJ", SAME),
        ("empty", "", _NO_DATES),
    ):
        yield Case(f"a number format {name}", edited(STYLES, (code, f'formatCode="{text}"')), outcome)
    yield Case(
        "two number formats of one number",
        edited(STYLES, ("</numFmts>", '<numFmt numFmtId="164" formatCode="0"/></numFmts>')),
        Refused("two number formats 164"),
    )
    yield Case(
        "one number format twice",
        edited(STYLES, ("</numFmts>", '<numFmt numFmtId="165" formatCode="0.0000"/></numFmts>')),
        SAME,
    )
    yield Case(
        "no fonts", edited(STYLES, ("<fonts ", "<founts "), ("</fonts>", "</founts>")), Refused("font 1, and no such")
    )
    yield Case(
        "no formats", put(STYLES, f'<styleSheet xmlns="{MAIN}"/>'.encode()), Refused("cell B3 has the format '1'")
    )
    yield Case("300 000 formats", put(STYLES, _padded(b"<xf/>", 300_000, b"</cellXfs>")), Refused("more than"))
    yield Case(
        "fonts for rules only", edited(STYLES, ("</styleSheet>", "<dxfs><dxf><font/></dxf></dxfs></styleSheet>")), SAME
    )


def _with_sheet(kind: str, content: str) -> Callable[[], bytes]:
    def make() -> bytes:
        made = parts()
        _add_sheet(made, kind, content, 9)
        return packed(made)

    return make


def _add_sheet(made: dict[str, bytes], kind: str, content: str, number: int) -> None:
    made[f"xl/worksheets/sheet{number}.xml"] = content.encode()
    for part, end, new in (
        (WORKBOOK, "</sheets>", f'<sheet name="More {number}" sheetId="{number}" r:id="more{number}"/>'),
        (WORKBOOK_RELS, "</Relationships>", f'<Relationship Id="more{number}" Type="{DOCUMENT}/{kind}" '
         f'Target="worksheets/sheet{number}.xml"/>'),
    ):  # fmt: skip
        made[part] = made[part].replace(end.encode(), (new + end).encode())


def _many_sheets() -> bytes:
    made = parts()
    for number in range(10, 510):
        _add_sheet(made, "worksheet", _EMPTY, number)
    return packed(made)


def _charts_only() -> bytes:
    made = parts()
    made[WORKBOOK_RELS] = made[WORKBOOK_RELS].replace(b'/worksheet"', b'/chartsheet"')
    return packed(made)


def _padded(filling: bytes, count: int, end: bytes = b"</") -> Callable[[bytes], bytes]:
    """Put many elements before the last end tag, or before ``end``."""

    def change(data: bytes) -> bytes:
        at = data.rindex(end)
        more = b"".join(filling % number if b"%d" in filling else filling for number in range(count))
        return data[:at] + more + data[at:]

    return change


def _amplified() -> bytes:
    made = parts()
    made[STRINGS] = made[STRINGS].replace(b"</sst>", b"<si><t>" + b"word " * 6_500 + b"</t></si></sst>")
    rows = b"".join(b"<row>" + b'<c t="s"><v>76</v></c>' * 1000 + b"</row>" for _ in range(200))
    made[RUNS] = made[RUNS].replace(b"</sheetData>", rows + b"</sheetData>")
    return packed(made)


def _amplified_formula() -> bytes:
    made = parts()
    first = b'<row><c><f t="shared" si="0" ref="A4:A9">' + b"1+" * 4_000 + b"A1</f><v>1</v></c></row>"
    rows = b"".join(b"<row>" + b'<c><f t="shared" si="0"/><v>1</v></c>' * 1000 + b"</row>" for _ in range(200))
    made[SETUP] = made[SETUP].replace(b"</sheetData>", first + rows + b"</sheetData>")
    return packed(made)
