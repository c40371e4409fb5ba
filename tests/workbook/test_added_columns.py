"""Columns put into a worksheet part: the bytes that come out, typed by hand, whatever the part looks like."""

import re
from collections.abc import Mapping, Sequence

import pytest
from lab_packages.one_sheet import DOC, MAIN, RELS, SHEET, columns_at, package, places
from lab_packages.written import assert_columns_kept
from openpyxl.utils import column_index_from_string

from batchcal.errors import WorkbookError
from batchcal.workbook.xlsx import columns
from batchcal.workbook.xlsx.columns import put_columns
from batchcal.workbook.xlsx.geometry import areas, geometry
from batchcal.workbook.xlsx.markup import Outline, Part
from batchcal.workbook.xlsx.package import Package
from batchcal.workbook.xlsx.room import Room, has_print_area

Rows = Mapping[int, Sequence[float | str | None]]


def put(sheet: str | bytes, rows: Rows, first: str = "C", widths: Sequence[float] = (11,)) -> bytes:
    """Put columns into a sheet; every cell has the format 5."""
    found = places(sheet if isinstance(sheet, bytes) else sheet.encode())
    put_columns(found, columns_at(found, column_index_from_string(first), widths, rows))
    return found.part.edited()


def test_cells_come_behind_the_last_one_of_their_row() -> None:
    sheet = (
        f'<worksheet {MAIN}><sheetData><!-- <row r="9"/> --><row r="2"><c r="A2"><v>1</v></c><extLst/></row>'
        '<row r="3" ht="20"/><row r="5"></row>\n</sheetData></worksheet>'
    )
    assert put(sheet, {2: [1.5], 3: ["x"], 5: [None]}).decode() == (
        f'<worksheet {MAIN}><cols><col min="3" max="3" width="11" customWidth="1"/></cols><sheetData>'
        '<!-- <row r="9"/> --><row r="2"><c r="A2"><v>1</v></c><c r="C2" s="5"><v>1.5</v></c><extLst/></row>'
        '<row r="3" ht="20"><c r="C3" s="5" t="inlineStr"><is><t xml:space="preserve">x</t></is></c></row>'
        '<row r="5"><c r="C5" s="5"/></row>\n</sheetData></worksheet>'
    )


def test_rows_that_are_not_there_come_in_their_order() -> None:
    sheet = f'<worksheet {MAIN}><cols/><sheetData><row r="2"/><row r="4"/></sheetData></worksheet>'
    assert put(sheet, {1: [1.0], 3: [3.0], 5: [5.0], 6: [6.0]}).decode() == (
        f'<worksheet {MAIN}><cols><col min="3" max="3" width="11" customWidth="1"/></cols><sheetData>'
        '<row r="1"><c r="C1" s="5"><v>1.0</v></c></row><row r="2"/><row r="3"><c r="C3" s="5"><v>3.0</v></c></row>'
        '<row r="4"/><row r="5"><c r="C5" s="5"><v>5.0</v></c></row><row r="6"><c r="C6" s="5"><v>6.0</v></c></row>'
        "</sheetData></worksheet>"
    )


@pytest.mark.parametrize("at_once", [1, 2, 3])
def test_rows_are_written_the_same_however_many_at_once(at_once: int, monkeypatch: pytest.MonkeyPatch) -> None:
    sheet = (
        f'<worksheet {MAIN}><sheetData><row r="6"/><row r="3"><c r="A3"/></row><row r="8"/><row r="7"/></sheetData>'
        "</worksheet>"
    )
    rows: dict[int, list[float | str | None]] = {n: [float(n), f"row {n}"] for n in (1, 2, 3, 4, 5, 6, 8, 9, 10)}
    together = put(sheet, rows, widths=(1, 1))
    assert [int(number) for number in re.findall(rb'<c r="C(\d+)"', together)] == [4, 5, 6, 1, 2, 3, 8, 9, 10]
    monkeypatch.setattr(columns, "_AT_ONCE", at_once)
    assert put(sheet, rows, widths=(1, 1)) == together


def test_an_empty_sheet_is_opened() -> None:
    assert put(f"<worksheet {MAIN}><sheetData/></worksheet>", {1: [1.0]}).decode() == (
        f'<worksheet {MAIN}><cols><col min="3" max="3" width="11" customWidth="1"/></cols>'
        '<sheetData><row r="1"><c r="C1" s="5"><v>1.0</v></c></row></sheetData></worksheet>'
    )


def test_rows_and_cells_without_references_are_counted() -> None:
    sheet = f'<worksheet {MAIN}><sheetData><row><c/><c/></row><row r="4"/><row><c/></row></sheetData></worksheet>'
    assert (
        put(sheet, {1: [1.0], 5: [5.0]})
        .decode()
        .endswith(
            '<sheetData><row><c/><c/><c r="C1" s="5"><v>1.0</v></c></row><row r="4"/>'
            '<row><c/><c r="C5" s="5"><v>5.0</v></c></row></sheetData></worksheet>'
        )
    )


def test_the_prefix_of_the_sheet_is_used() -> None:
    space = MAIN.replace("xmlns", "xmlns:x")
    sheet = f'<x:worksheet {space}><x:sheetData><x:row r="1"><x:c r="A1"/></x:row></x:sheetData></x:worksheet>'
    assert put(sheet, {1: ["a"], 2: [2.0]}).decode() == (
        f'<x:worksheet {space}><x:cols><x:col min="3" max="3" width="11" customWidth="1"/></x:cols><x:sheetData>'
        '<x:row r="1"><x:c r="A1"/><x:c r="C1" s="5" t="inlineStr"><x:is><x:t xml:space="preserve">a</x:t></x:is></x:c>'
        '</x:row><x:row r="2"><x:c r="C2" s="5"><x:v>2.0</x:v></x:c></x:row></x:sheetData></x:worksheet>'
    )


def test_cells_of_another_namespace_are_none() -> None:
    sheet = (
        f'<worksheet {MAIN} xmlns:y="urn:y"><sheetData><row r="1"><c r="A1"><v>1</v><extLst><y:c r="Z1"/>'
        '<y:row r="7"/></extLst></c></row></sheetData></worksheet>'
    )
    found = places(sheet.encode())
    assert (found.last_cell, [row.number for row in found.rows]) == (1, [1])
    assert b'</extLst></c><c r="C1" s="5"><v>1.0</v></c></row>' in put(sheet, {1: [1.0]})


@pytest.mark.parametrize(
    ("encoding", "mark"),
    [("utf-8", b""), ("utf-8", b"\xef\xbb\xbf"), ("utf-16-le", b"\xff\xfe"), ("utf-16-be", b"\xfe\xff")],
)
def test_the_encoding_of_the_part_is_kept(encoding: str, mark: bytes) -> None:
    declared = "UTF-16" if "16" in encoding else "UTF-8"
    sheet = (
        f'<?xml version="1.0" encoding="{declared}"?><!-- °C 𝄞 --><worksheet {MAIN}><sheetData><row r="1">'
        '<c r="A1" t="inlineStr"><is><t>Ωé𝄞]]&gt;<![CDATA[</row><row r="2">]]></t></is></c></row></sheetData>'
        "</worksheet>"
    )
    result = put(mark + sheet.encode(encoding), {1: ["25 °C 𝄞"]})
    assert result.startswith(mark + "<?xml".encode(encoding))
    text = result.removeprefix(mark).decode(encoding)
    added = '<c r="C1" s="5" t="inlineStr"><is><t xml:space="preserve">25 °C 𝄞</t></is></c>'
    columns = '<cols><col min="3" max="3" width="11" customWidth="1"/></cols>'
    assert text.replace(added, "").replace(columns, "") == sheet
    assert added in text


def test_a_part_in_ascii_stays_one() -> None:
    sheet = f'<?xml version="1.0" encoding="US-ASCII"?><worksheet {MAIN}><sheetData/></worksheet>'
    assert b"25 &#176;C" in put(sheet, {1: ["25 °C"]})


def test_every_digit_and_every_sign_arrives() -> None:
    result = put(f"<worksheet {MAIN}><sheetData/></worksheet>", {1: [0.1 + 0.2], 2: ["<&>\"' ]]>"], 3: [1e-300]})
    assert b"<v>0.30000000000000004</v>" in result
    assert b"<v>1e-300</v>" in result
    assert b"&lt;&amp;&gt;\"' ]]&gt;" in result


def test_a_value_that_is_no_number_is_left_empty() -> None:
    assert b'<c r="C1" s="5"/>' in put(f"<worksheet {MAIN}><sheetData/></worksheet>", {1: [float("nan")]})


@pytest.mark.parametrize(
    ("spans", "after"),
    [("1:2", "1:3"), ("1:9", "1:9"), ("2:2 5:6", "2:2 5:6"), ("1:1 2:2", "1:1 2:3"), ("odd", "odd")],
)
def test_spans_reach_over_the_added_cells(spans: str, after: str) -> None:
    sheet = f"<worksheet {MAIN}><sheetData><row r='1' spans='{spans}' ht='9'/></sheetData></worksheet>"
    assert f"<row r='1' spans='{after}' ht='9'>".encode() in put(sheet, {1: [1.0]})


@pytest.mark.parametrize(
    ("used", "after"), [("A1", "A1:C2"), ("A1:B9", "A1:C9"), ("B2:D3", "B1:D3"), ("A1:C2", "A1:C2"), ("", "")]
)
def test_the_used_range_reaches_over_the_added_cells(used: str, after: str) -> None:
    sheet = f'<worksheet {MAIN}><dimension ref="{used}"/><sheetData/></worksheet>'
    assert f'<dimension ref="{after}"/>'.encode() in put(sheet, {1: [1.0], 2: [1.0]})


OURS = '<col min="{0}" max="{0}" width="11" customWidth="1"/>'


@pytest.mark.parametrize(
    ("entries", "after"),
    [
        ('<col min="1" max="2" width="9"/>', '<col min="1" max="2" width="9"/>{3}{4}'),
        ('<col min="1" max="3" width="9"/>', '<col min="1" max="2" width="9"/>{3}{4}'),
        ('<col min="1" max="16384" width="9" style="2"/>',
         '<col min="1" max="2" width="9" style="2"/>{3}{4}<col min="5" max="16384" width="9" style="2"/>'),
        ('<col width="9" max="9" min="3"/>', '{3}{4}<col width="9" max="9" min="5"/>'),
        ('<col min="3" max="4" width="9"/><col min="6" max="6"/>', '{3}{4}<col min="6" max="6"/>'),
        ('<col min="3" max="3"></col><col min="4" max="4"/>', "{3}{4}"),
        ('<col min="7" max="8"/>', '{3}{4}<col min="7" max="8"/>'),
        ("<!-- none -->", "<!-- none -->{3}{4}"),
    ],
)  # fmt: skip
def test_entries_of_column_widths_are_cut_where_ours_stand(entries: str, after: str) -> None:
    sheet = f"<worksheet {MAIN}><cols>{entries}</cols><sheetData/></worksheet>"
    result = put(sheet, {1: [1.0, 2.0]}, widths=(11, 11))
    ours = [OURS.format(number) for number in range(5)]
    assert f"<cols>{after.format(*ours)}</cols>".encode() in result
    assert_columns_kept(sheet.encode(), result)


def test_the_columns_fold_where_the_sheet_has_room_for_the_bar() -> None:
    sheet = f'<worksheet {MAIN}><sheetFormatPr outlineLevelCol="{{}}" defaultRowHeight="15"/><sheetData/></worksheet>'
    for before, after in (("0", "1"), ("1", "1"), ("3", "3")):
        result = put(sheet.format(before), {1: [1.0]})
        assert f'outlineLevelCol="{after}" defaultRowHeight'.encode() in result
        assert b'customWidth="1" outlineLevel="1"/>' in result
    bare = put(f"<worksheet {MAIN}><sheetFormatPr defaultRowHeight='15'/><sheetData/></worksheet>", {1: [1.0]})
    assert b"<sheetFormatPr outlineLevelCol=\"1\" defaultRowHeight='15'/><cols>" in bare


def test_cells_that_are_merely_formatted_give_way_where_there_is_no_other_room() -> None:
    sheet = (
        f'<worksheet {MAIN}><sheetData><row r="1"><c r="A1"><v>1</v></c><c r="C1" s="7"/><c s="7"></c><c r="F1" s="7"/>'
        '<c r="XFD1" s="7"/></row></sheetData></worksheet>'
    )
    assert (
        put(sheet, {1: [1.0, 2.0, 3.0]}, widths=(1, 1, 1))
        .decode()
        .endswith(
            '<row r="1"><c r="A1"><v>1</v></c><c r="C1" s="5"><v>1.0</v></c><c r="D1" s="5"><v>2.0</v></c>'
            '<c r="E1" s="5"><v>3.0</v></c><c r="F1" s="7"/><c r="XFD1" s="7"/></row></sheetData></worksheet>'
        )
    )


def test_cells_among_formatted_ones_are_put_in_wherever_these_stand() -> None:
    sheet = (
        f'<x:worksheet {MAIN.replace("xmlns", "xmlns:x")}><x:sheetData><x:row r="2"/><x:row r="1"><x:c r="XFD1"/>'
        '<x:c r="D1"></x:c><x:c r="A1"/></x:row></x:sheetData></x:worksheet>'
    )
    assert (
        put(sheet, {1: ["<c r=", 2.0, 3.0], 2: [4.0, None, 5.0]}, widths=(1, 1, 1))
        .decode()
        .endswith(
            '<x:row r="2"><x:c r="C2" s="5"><x:v>4.0</x:v></x:c><x:c r="D2" s="5"/>'
            '<x:c r="E2" s="5"><x:v>5.0</x:v></x:c></x:row><x:row r="1"><x:c r="E1" s="5"><x:v>3.0</x:v></x:c>'
            '<x:c r="XFD1"/><x:c r="C1" s="5" t="inlineStr"><x:is><x:t xml:space="preserve">&lt;c r=</x:t></x:is></x:c>'
            '<x:c r="D1" s="5"><x:v>2.0</x:v></x:c><x:c r="A1"/></x:row></x:sheetData></x:worksheet>'
        )
    )


def test_protection_extensions_and_choices_of_contents_stay() -> None:
    tail = (
        '<sheetProtection sheet="1"/><mc:AlternateContent xmlns:mc="urn:mc"><mc:Choice Requires="z"/>'
        '</mc:AlternateContent><extLst><ext uri="{1}"/></extLst></worksheet>'
    )
    result = put(f"<worksheet {MAIN}><sheetData/>{tail}", {1: [1.0]})
    assert result.decode().endswith(f"</sheetData>{tail}")


@pytest.mark.parametrize(
    "sheet",
    ["<worksheet {0}/>", "<chartsheet {0}><sheetData/></chartsheet>", "<worksheet {0}><sheetData>", "", "no xml",
     '<worksheet {0}><sheetData><row r="0"/></sheetData></worksheet>',
     '<worksheet {0}><sheetData><row r="1"><c r="1A"/></row></sheetData></worksheet>',
     '<worksheet {0}><sheetData><row r="1"><c r="XFE1"/></row></sheetData></worksheet>',
     '<!DOCTYPE a [<!ENTITY b "c">]><worksheet {0}><sheetData/></worksheet>'],
)  # fmt: skip
def test_a_part_that_is_no_sheet_is_refused_in_one_line(sheet: str) -> None:
    with pytest.raises(WorkbookError) as caught:
        places(sheet.format(MAIN).encode())
    assert "day.xlsx" in str(caught.value)
    assert "\n" not in str(caught.value)


def free(sheet: str, count: int = 3, rows: tuple[int, int] = (1, 9), **how: object) -> int | None:
    return room(sheet, **how).first_free_column(count, rows)


def room(sheet: str, **how: object) -> Room:
    data = package(f"<worksheet {MAIN}>{sheet}</worksheet>".encode(), **how)  # type: ignore[arg-type]
    whole = Package("day.xlsx", data)
    return Room(whole, whole.sheets[0], geometry(Part(whole, SHEET)))


DATA = '<sheetData><row r="1"><c r="B1"><v>1</v></c></row></sheetData>'


@pytest.mark.parametrize(
    ("tail", "edge"),
    [
        ("", "B"),
        ('<mergeCells><mergeCell ref="C3:F3"/></mergeCells>', "F"),
        ('<autoFilter ref="A1:G9"/>', "G"),
        ('<conditionalFormatting sqref="A1:A9 $H$2:$H$9"/>', "H"),
        ('<dataValidations><dataValidation sqref="C1:I2"/></dataValidations>', "I"),
        ('<hyperlinks><hyperlink ref="J4"/></hyperlinks>', "J"),
        ('<protectedRanges><protectedRange sqref="A:K" name="a"/></protectedRanges>', "K"),
        ('<extLst><ext><a:b xmlns:a="u"><a:sqref>L1:L2</a:sqref></a:b></ext></extLst>', "L"),
        ('<extLst><ext><a:sparkline xmlns:a="u"><a:sqref>M1</a:sqref></a:sparkline></ext></extLst>', "M"),
    ],
)
def test_columns_stand_beyond_what_the_sheet_says(tail: str, edge: str) -> None:
    assert free(DATA + tail) == column_index_from_string(edge) + 2


XDR = 'xmlns:xdr="http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing"'
_PIXELS = 9525


@pytest.mark.parametrize(
    ("kind", "part", "body", "edge"),
    [
        ("table", "xl/tables/table1.xml", f'<table {MAIN} ref="D3:E9"/>', "E"),
        ("pivotTable", "xl/p1.xml", f'<pivotTableDefinition {MAIN}><location ref="F20:G30"/></pivotTableDefinition>',
         "B"),
        ("pivotTable", "xl/p1.xml", f'<pivotTableDefinition {MAIN}><location ref="F2:G30"/></pivotTableDefinition>',
         "G"),
        ("comments", "xl/c.xml", f'<comments {MAIN}><commentList><comment ref="H2"/></commentList></comments>', "H"),
        ("drawing", "xl/d.xml", f"<xdr:wsDr {XDR}><xdr:twoCellAnchor><xdr:from><xdr:col>3</xdr:col><xdr:row>1</xdr:row>"
         "</xdr:from><xdr:to><xdr:col>8</xdr:col><xdr:row>5</xdr:row></xdr:to></xdr:twoCellAnchor></xdr:wsDr>", "I"),
        # 64 pixels a column: 200 pixels from the left edge of C reach into F
        ("drawing", "xl/d.xml", f"<xdr:wsDr {XDR}><xdr:oneCellAnchor><xdr:from><xdr:col>2</xdr:col><xdr:row>1</xdr:row>"
         f'</xdr:from><xdr:ext cx="{200 * _PIXELS}" cy="1"/></xdr:oneCellAnchor></xdr:wsDr>', "F"),
        ("drawing", "xl/d.xml", f'<xdr:wsDr {XDR}><xdr:absoluteAnchor><xdr:pos x="{100 * _PIXELS}" y="1"/>'
         f'<xdr:ext cx="{100 * _PIXELS}" cy="1"/></xdr:absoluteAnchor></xdr:wsDr>', "D"),
        ("vmlDrawing", "xl/v.vml", "<xml><br><x:ClientData ObjectType='Button'><x:Anchor>1, 0, 2, 0,\n 9, 5, 4, 1"
         "</x:Anchor></x:ClientData></xml>", "J"),
        ("vmlDrawing", "xl/v.vml", "<xml><x:ClientData ObjectType='Note'><x:Anchor>1,0,2,0,9,5,4,1</x:Anchor>"
         "</x:ClientData></xml>", "B"),
        ("vmlDrawing", "xl/v.vml", "<xml><x:ClientData ObjectType='Note'><x:Visible/><x:Anchor>1,0,2,0,9,5,4,1"
         "</x:Anchor></x:ClientData></xml>", "J"),
        ("drawing", "xl/d.xml", "<damaged", "B"),
        ("drawing", "xl/absent.xml", "", "B"),
    ],
)  # fmt: skip
def test_columns_stand_beyond_what_stands_beside_the_sheet(kind: str, part: str, body: str, edge: str) -> None:
    rels = f'<Relationships xmlns="{RELS}"><Relationship Id="a" Type="{DOC}/{kind}" Target="/{part}"/></Relationships>'
    more = {"xl/worksheets/_rels/sheet1.xml.rels": rels.encode(), **({part: body.encode()} if body else {})}
    # So wide that there is room at the right edge only beyond the firm things in these rows.
    soft = column_index_from_string(edge) + 2
    if "F20" in body:
        assert free(DATA, count=16_384 - soft + 1, more=more) == soft
    else:
        assert free(DATA, more=more) == soft


@pytest.mark.parametrize(
    ("names", "edge"),
    [
        ('<definedName name="a">Runs!$D$2:$E$9</definedName>', "E"),
        ("<definedName name=\"a\">'Runs'!$F$2</definedName>", "F"),
        ('<definedName name="_xlnm.Print_Area" localSheetId="0">Runs!$A$1:$B$9,Runs!$A$20:$G$30</definedName>', "G"),
        ('<definedName name="_xlnm.Print_Titles" localSheetId="0">Runs!$A:$C,Runs!$1:$1</definedName>', "C"),
        ('<definedName name="a">Other!$Z$2</definedName><definedName name="b">#REF!</definedName>', "B"),
    ],
)
def test_columns_stand_beyond_what_has_a_name(names: str, edge: str) -> None:
    assert free(DATA, names=f"<definedNames>{names}</definedNames>") == column_index_from_string(edge) + 2


def test_what_is_checked_or_formatted_to_the_last_column_is_covered_at_need() -> None:
    checked = '<dataValidations><dataValidation sqref="A1:XFD9"/></dataValidations>'
    assert free(DATA + checked) == 4
    assert free('<sheetData><row r="1"><c r="B1"><v>1</v></c><c r="XFD1" s="1"/></row></sheetData>') == 4
    assert free('<sheetData><row r="1"><c r="XFD1"><v>1</v></c></row></sheetData>') is None
    merged = '<mergeCells><mergeCell ref="A{0}:XFD{0}"/></mergeCells>'
    assert free(DATA + merged.format(20)) == 4
    assert free(DATA + merged.format(5)) is None


@pytest.mark.parametrize(
    ("sheet", "printed"),
    [
        (DATA, "$A$1:$B$1"),
        (
            '<sheetData><row r="7"><c r="C7" s="1"/><c r="B7" t="inlineStr"><is><t>x</t></is></c></row>'
            '<row r="9"><c r="F9" s="1"/></row></sheetData>',
            "$A$1:$B$7",
        ),
        (DATA + '<mergeCells><mergeCell ref="C4:D5"/></mergeCells>', "$A$1:$D$5"),
        ("<sheetData/>", "$A$1:$A$1"),
    ],
)
def test_a_sheet_prints_as_far_as_it_is_filled(sheet: str, printed: str) -> None:
    area = room(sheet).printed()
    assert area is not None
    assert area.fixed == printed


def test_a_drawing_that_does_not_say_where_it_ends_leaves_the_print_alone() -> None:
    assert room(DATA + '<mergeCells><mergeCell ref="C1:C1048576"/></mergeCells>').printed() is None


def test_a_print_area_is_seen() -> None:
    name = '<definedNames><definedName name="_xlnm.Print_Area" localSheetId="{}">Runs!$A$1</definedName></definedNames>'
    for number, seen in (("0", True), ("1", False)):
        whole = Package("day.xlsx", package(DATA.encode(), names=name.format(number)))
        assert has_print_area(whole, whole.sheets[0]) is seen


@pytest.mark.parametrize(
    ("reference", "expected"),
    [
        ("A1", [(1, 1, 1, 1)]),
        ("$B$2:C3 E5", [(2, 2, 3, 3), (5, 5, 5, 5)]),
        ("C:D", [(1, 3, 1_048_576, 4)]),
        ("2:3", [(2, 1, 3, 16_384)]),
        ("#REF! A1:", []),
        ("", []),
    ],
)
def test_references_are_read(reference: str, expected: list[tuple[int, ...]]) -> None:
    assert areas(reference) == expected


def test_edits_can_be_taken_out_again_and_strange_bytes_are_seen() -> None:
    found = places(f'<worksheet {MAIN}><sheetData><row r="1" spans="1:1"/></sheetData></worksheet>'.encode())
    put_columns(found, columns_at(found, 3, (9,), {1: [2.5], 4: ["x"]}))
    edited = found.part.edited()
    for length in (1, 2, 7, len(edited)):
        assert found.part.holds([edited[at : at + length] for at in range(0, len(edited), length)])
    assert found.part.holds([b"", edited[:9], b"", edited[9:], b""])
    assert not found.part.holds([edited.replace(b'r="1"', b'r="7"', 1)])
    assert not found.part.holds([edited + b" "])
    assert not found.part.holds([edited[:-1]])
    assert not found.part.holds([edited.replace(b"<v>2.5</v>", b"<v>2.6</v>")])
    # Not even where a part is the lab's and an edit were mistaken for one another.
    assert not found.part.holds([edited.replace(b'</row><row r="4">', b'<row r="4"></row>')])


def test_edits_are_made_anew_whenever_the_part_is_packed() -> None:
    part = places(f"<worksheet {MAIN}><sheetData><row r='1'/></sheetData></worksheet>".encode()).part
    root = Outline(part).parsed()
    (data,) = root.children
    texts = ["a", "b"]
    part.edit_later(data, lambda: [part.edit(data.inner, data.inner, text) for text in texts])
    part.insert(root.inner, "<!-- first -->")
    assert part.changed
    first = part.edited()
    assert first == f"<worksheet {MAIN}><!-- first --><sheetData>ab<row r='1'/></sheetData></worksheet>".encode()
    texts.reverse()
    second = part.edited()
    assert second == first.replace(b"ab", b"ba")
    assert part.holds([second])
    assert not part.holds([first])


def test_edits_that_overlap_are_no_edits() -> None:
    part = places(f"<worksheet {MAIN}><sheetData><row r='1'/></sheetData></worksheet>".encode()).part
    (data,) = Outline(part).parsed().children
    part.edit_later(data, lambda: [part.edit(data.inner, data.close, ""), part.edit(data.inner, data.inner, "a")])
    with pytest.raises(ValueError, match="overlap"):
        part.edited()
