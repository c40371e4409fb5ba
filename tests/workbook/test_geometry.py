"""The places of rows and cells, known by their bytes where rows are plain: the same as when every cell is parsed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lab_packages.parts import packed
from msgspec.structs import replace

from batchcal.errors import WorkbookError
from batchcal.workbook.xlsx import geometry as module
from batchcal.workbook.xlsx.geometry import Geometry, geometry
from batchcal.workbook.xlsx.markup import Part
from batchcal.workbook.xlsx.package import Package

MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:own="urn:own"'
SHEET = "xl/worksheets/sheet1.xml"
FRAME = (
    '<?xml version="1.0" encoding="UTF-8"?>\n<worksheet {main}><dimension ref="A1"/><cols><col min="1" max="2"/></cols>'
    '<sheetData>{rows}</sheetData><pageMargins left="1"/><hyperlinks><hyperlink ref="A1"/></hyperlinks></worksheet>'
)


def part_of(rows: str, main: str = MAIN) -> Part:
    content = {"[Content_Types].xml": b"<Types/>", SHEET: FRAME.format(main=main, rows=rows).encode()}
    return Part(Package("day.xlsx", packed(content)), SHEET)


def both_ways(rows: str, main: str = MAIN) -> tuple[Geometry, Geometry]:
    """The places as they are found, and as they are found where no row is taken for plain."""
    found = geometry(part_of(rows, main))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "_plain_rows", lambda *_: None)
        return found, geometry(part_of(rows, main))


def assert_same(rows: str, main: str = MAIN) -> Geometry:
    found, parsed = both_ways(rows, main)
    # Of plain rows it is known only together how far they reach.
    assert all(reach >= known for reach, known in zip(found.rows.reaches, parsed.rows.reaches, strict=True))
    assert max(found.rows.reaches, default=0) == found.last_cell
    assert replace(found, part=parsed.part, rows=replace(found.rows, reaches=parsed.rows.reaches)) == parsed
    return found


def is_plain(rows: str) -> bool:
    data = part_of(rows).data
    return module._plain_rows(data, data.find(b"<sheetData>") + 11, data.find(b"</sheetData>")) is not None


PLAIN = {
    "nothing": "",
    "values": '<row r="1"><c r="A1"><v>1</v></c><c r="C1" s="3" t="s"><v>0</v></c></row>',
    "empty_rows": '<row r="2"/><row r="3" ht="20"></row><row r="5" spans="1:4" own:height="0.2" />',
    "formats": '<row r="1" spans="1:4"><c r="A1"><v>1</v></c><c r="D1" s="3"/></row><row r="2"><c r="E2" s="1"/></row>',
    "empty_element": '<row r="1"><c r="A1"><v>1</v></c><c r="D1" s="3"></c></row>',
    "texts": '<row r="7"><c r="B7" t="inlineStr"><is><t xml:space="preserve"> a &lt;c r="Z1"> </t></is></c></row>',
    "formulas": '<row r="1"><c r="AA1"><f t="shared" si="0"/><v/></c><c r="AB1"><f>A1&gt;2</f></c></row>',
    "formats_beyond": '<row r="1"><c r="B1"><v>1</v></c><c r="C1"/></row><row r="2"><c r="A2"/><c r="AA2"></c></row>',
    "leading_zeros": '<row r="007" ht="2"><c r="A007"><v>1</v></c></row><row r="08" />',
    "out_of_order": '<row r="9"><c r="D9"><v>1</v></c><c r="B9"><v>2</v></c></row><row r="4"><c r="A4"/></row>',
}
OTHER = {
    "comment": '<row r="1"><c r="A1"><v>1</v></c><!-- <c r="K1"><v>1</v></c> --></row>',
    "comment_between": '<!-- <row r="9"/> --><row r="1"/>',
    "section": '<row r="1"><c r="A1" t="str"><v><![CDATA[</c></row><row r="2">]]></v></c></row>',
    "instruction": '<row r="1"><?own </row>?><c r="A1"><v>1</v></c></row>',
    "extension": '<row r="1"><c r="A1"><v>1</v><extLst><ext><row r="5"/></ext></extLst></c></row>',
    "other_vocabulary": '<row r="1"><c r="A1"><v>1</v></c><c xmlns="urn:own" r="K1"/></row>',
    "blanks": '\n  <row r="1">\n <c r="A1"><v>1</v></c>\n</row>\n',
    "without_references": '<row><c><v>1</v></c><c/></row><row r="5"><c r="C5"><v>1</v></c><c><v>2</v></c></row>',
    "single_quotes": "<row r='1'><c r='B1'><v>1</v></c></row>",
    "attributes_turned": '<row r="1"><c s="1" r="B1"><v>1</v></c></row><row ht="3" r="2"/>',
    "blank_in_end": '<row r="1"><c r="B1"><v>1</v></c></row ><row r="2"><c r="C2"><v>1</v></c></row>',
    "row_in_row": '<row r="1"><c r="A1"/><row r="2"/></row>',
    "after_a_single_tag": '<row r="1"/>&#32;<row r="2"><c r="A2"/></row>',
    "blank_before_end": '<row r="1"><c r="A1"/> </row>',
    "column_beyond": '<row r="1"><c r="A1"/><cx r="B1"/></row>',
    "entity": '<row r="1" spans="1&#58;4"><c r="B1"><v>1</v></c></row>',
}


@pytest.mark.parametrize("name", PLAIN)
def test_plain_rows(name: str) -> None:
    assert is_plain(PLAIN[name])
    assert_same(PLAIN[name])


@pytest.mark.parametrize("name", OTHER)
def test_rows_that_are_parsed(name: str) -> None:
    assert not is_plain(OTHER[name])
    assert_same(OTHER[name])


def test_places_are_the_same_however_many_rows_are_taken_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = "".join(PLAIN.values())
    together = assert_same(rows)
    monkeypatch.setattr(module, "_CHUNK", 1)
    apart = assert_same(rows)
    # The rows without an end of their own are taken with the next one.
    assert list(apart.rows.reaches) == [3, 0, 0, 4, 4, 5, 4, 2, 28, 3, 27, 1, 4, 4, 1]
    assert replace(apart, part=together.part, rows=replace(apart.rows, reaches=together.rows.reaches)) == together


def test_places_by_hand() -> None:
    rows = '<row r="1"><c r="A1"><v>1</v></c><c r="D1" s="3"/></row><row r="4"/>'
    found = geometry(part_of(rows))
    first, last = found.rows
    data = found.part.data
    assert data[first.start : first.end].decode() + data[last.start : last.end].decode() == rows
    assert data[first.cells_end :].startswith(b'</row><row r="4"/>')
    assert (first.number, last.number, last.cells_end) == (1, 4, last.end)
    assert (found.last_filled, found.last_cell, found.last_filled_row) == (1, 4, 1)
    assert [node.name for node in found.root.children] == [
        "dimension", "cols", "sheetData", "pageMargins", "hyperlinks",
    ]  # fmt: skip
    margins = found.root.children[3]
    assert data[margins.start : margins.end] == b'<pageMargins left="1"/>'


def test_rows_of_another_vocabulary_are_not_those_of_the_sheet() -> None:
    assert not list(assert_same('<row r="1"/>', 'xmlns="urn:own"').rows)


@pytest.mark.parametrize("rows", ['<row r="1"><c r="A1"></row>', '<row r="1"><c r="A1"/>', "<row", '<row r="0"/>'])
def test_damaged_rows_are_refused(rows: str) -> None:
    with pytest.raises(WorkbookError, match="damaged"):
        geometry(part_of(rows))


@st.composite
def many_rows(draw: st.DrawFn) -> str:
    text = ""
    for number in draw(st.lists(st.integers(1, 40), unique=True, max_size=5)):
        cells = ""
        for column in draw(st.lists(st.sampled_from(["A", "B", "Z", "AA", "AZ", "XFD"]), unique=True, max_size=4)):
            content = draw(st.sampled_from(["/>", "></c>", "><v>1</v></c>", "><f>1</f></c>", "><is><t>c</t></is></c>"]))
            style = draw(st.sampled_from(["", ' s="4"', ' s="4" t="n"']))
            cells += f'<c r="{column}{number}"{style}{content}'
        head = f'<row r="{number}"' + draw(st.sampled_from(["", ' spans="1:3"', ' ht="2" hidden="1"']))
        text += f"{head}>{cells}</row>" if cells or draw(st.booleans()) else f"{head}/>"
        text += draw(st.sampled_from(["", "", "", "\n"]))
    return text


@given(many_rows())
def test_any_rows(rows: str) -> None:
    assert_same(rows)


def test_rows_in_an_extension_are_no_rows_of_the_sheet() -> None:
    more = '<extLst><ext uri="own"><row r="5"><c r="K5"><v>1</v></c></row></ext></extLst>'
    found = assert_same(f'<row r="1"><c r="A1"><v>1</v>{more}</c>{more}</row><row r="2"><c r="B2"/></row>')
    assert [row.number for row in found.rows] == [1, 2]
    assert (found.last_cell, found.last_filled, found.last_filled_row) == (2, 1, 1)
