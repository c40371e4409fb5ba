"""OpenDocument spreadsheets, their content written by hand after OASIS OpenDocument 1.3 (from memory, unchecked)."""

import datetime as dt
import random
from pathlib import Path

import pytest
import workbook_as_ods
from logbook import plain_log
from workbook_as_ods import SPACES, packed

from batchcal.errors import WorkbookError
from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.foreign.ods import read_ods
from batchcal.workbook.foreign.ods_cells import plain_formula
from batchcal.workbook.grid import Grid, Merged
from batchcal.workbook.source import open_source


def document(sheet: str, styles: str = "", before: str = "", after: str = "", name: str = "Runs") -> str:
    return workbook_as_ods.document(f'{before}<table:table table:name="{name}">{sheet}</table:table>{after}', styles)


def grid(sheet: str, **more: str) -> Grid:
    return read_ods("day.ods", packed(document(sheet, **more)))[0]


def row(*cells: str, attributes: str = "") -> str:
    return f"<table:table-row {attributes}>{''.join(cells)}</table:table-row>"


def cell(attributes: str = "", text: str | None = None) -> str:
    inside = "" if text is None else f"<text:p>{text}</text:p>"
    return f"<table:table-cell {attributes}>{inside}</table:table-cell>"


FLOAT = 'office:value-type="float" office:value="{}"'


def number(value: float, attributes: str = "") -> str:
    return cell(f"{FLOAT.format(value)} {attributes}", str(value))


def refused(data: bytes) -> str:
    with pytest.raises(WorkbookError) as caught:
        read_ods("day.ods", data)
    assert "\n" not in str(caught.value)
    assert "day.ods" in str(caught.value)
    return str(caught.value)


def formula(text: str, result: str = "", shown: str | None = "") -> str:
    return cell(f'table:formula="{text}" {result}', shown)


STRING, FORMULA_1 = 'office:value-type="string"', "of:=[.A1]*2"


@pytest.mark.parametrize(
    ("written", "kind", "value"),
    [
        (number(1.25), CellKind.NUMBER, 1.25),
        (cell('office:value-type="float" office:value="-1.5E-07"', "0.00"), CellKind.NUMBER, -1.5e-07),
        (cell('office:value-type="currency" office:currency="EUR" office:value="3"', "3 €"), CellKind.NUMBER, 3.0),
        (cell('office:value-type="percentage" office:value="0.04"', "4 %"), CellKind.PER_CENT, 0.04),
        (cell('office:value-type="boolean" office:boolean-value="true"', "WAHR"), CellKind.BOOLEAN, True),
        (cell(FLOAT.format(1), "TRUE"), CellKind.BOOLEAN, True),
        (cell(FLOAT.format(0), "FALSE"), CellKind.BOOLEAN, False),
        (cell(STRING, "0123"), CellKind.TEXT, "0123"),
        (cell("", "no type at all"), CellKind.TEXT, "no type at all"),
        (cell(f'{STRING} office:string-value="stored"', "shown"), CellKind.TEXT, "stored"),
        (
            cell('office:value-type="date" office:date-value="2026-10-14"', "14.10."),
            CellKind.DATE,
            dt.datetime(2026, 10, 14),
        ),
        (
            cell('office:value-type="date" office:date-value="2026-10-14T09:30:00.250000000"', "14.10."),
            CellKind.DATE,
            dt.datetime(2026, 10, 14, 9, 30, 0, 250000),
        ),
        (cell('office:value-type="date" office:date-value="12026-10-14"', "?"), CellKind.TEXT, "12026-10-14"),
        (cell('office:value-type="time" office:time-value="PT09H30M15S"', "9:30"), CellKind.TIME, dt.time(9, 30, 15)),
        (cell('office:value-type="time" office:time-value="PT30H"', "30:00"), CellKind.TIME, dt.timedelta(hours=30)),
        (cell(f'{STRING} calcext:value-type="error"', "#DIV/0!"), CellKind.ERROR, "#DIV/0!"),
        (formula("of:=1/0", FLOAT.format(0), "#DIV/0!"), CellKind.ERROR, "#DIV/0!"),
        (formula("of:=FOO()", FLOAT.format(0), "Err:508"), CellKind.ERROR, "Err:508"),
        (formula("of:=NA()", STRING, "#N/A"), CellKind.ERROR, "#N/A"),
        (formula(FORMULA_1, FLOAT.format(2.5), "2.5"), CellKind.NUMBER, 2.5),
        (formula(FORMULA_1), CellKind.EMPTY, None),
        (formula(FORMULA_1, shown=None), CellKind.UNCALCULATED, None),
        (formula(FORMULA_1, STRING, None), CellKind.EMPTY, None),
    ],
)
def test_what_a_cell_holds(written: str, kind: CellKind, value: object) -> None:
    found = grid(row(written)).cell(1, 1)
    assert (found.kind, found.value) == (kind, value)


@pytest.mark.parametrize(
    ("inside", "text"),
    [
        ("<text:p>two</text:p><text:p>lines</text:p>", "two\nlines"),
        ("<text:p>a<text:line-break/>b</text:p>", "a\nb"),
        ('<text:p><text:s text:c="2"/>x <text:s/>y</text:p>', "  x  y"),
        ("<text:p>a<text:tab/>b</text:p>", "a\tb"),
        ("<text:p>  laid\n   out  </text:p>", "laid out"),
        ("<text:p>K-<text:span>17</text:span> <text:a>see</text:a></text:p>", "K-17 see"),
        ("<office:annotation><text:p>a comment</text:p></office:annotation><text:p>5</text:p>", "5"),
        ("<text:p>5<office:annotation><text:p>a comment</text:p></office:annotation></text:p>", "5"),
        ("<draw:frame><draw:text-box><text:p>a box</text:p></draw:text-box></draw:frame><text:p>5</text:p>", "5"),
        ("<office:annotation><text:p>a comment</text:p></office:annotation>", None),
    ],
)
def test_the_text_of_a_cell(inside: str, text: str | None) -> None:
    found = grid(row(f"<table:table-cell {STRING}>{inside}</table:table-cell>")).cell(1, 1)
    assert found.value == text


def test_rows_and_columns_that_are_repeated() -> None:
    found = grid(
        row(number(1, 'table:number-columns-repeated="3"'), cell('table:number-columns-repeated="16381"'))
        + row(cell('table:number-columns-repeated="16384"'), attributes='table:number-rows-repeated="7"')
        + row(number(2), attributes='table:number-rows-repeated="2"')
        + row(cell('table:number-columns-repeated="16384"'), attributes='table:number-rows-repeated="1048566"')
    )
    assert {number: sorted(cells) for number, cells in found.rows.items()} == {1: [1, 2, 3], 9: [1], 10: [1]}


def test_hidden_rows_groups_and_filters() -> None:
    unseen = 'table:visibility="{}"'
    sheet = (
        row(number(1))
        + row(number(2), attributes=unseen.format("collapse"))
        + f'<table:table-row-group table:display="false">{row(number(3))}</table:table-row-group>'
        + f"<table:table-row-group><table:table-header-rows>{row(number(4))}</table:table-header-rows>"
        + "</table:table-row-group>"
        + row(number(5), attributes=unseen.format("visible"))
        + row(cell(), attributes=unseen.format("collapse") + ' table:number-rows-repeated="1048571"')
    )
    found = grid(sheet)
    assert (found.hidden_rows, found.filtered, found.last_row) == (frozenset({2, 3}), False, 5)
    assert grid(row(number(2), attributes=unseen.format("filter"))).filtered
    buttons = (
        '<table:database-ranges><table:database-range table:name="a" table:display-filter-buttons="true" '
        'table:target-range-address="{}.A1:{}.B9"/></table:database-ranges>'
    )
    assert grid(row(number(1)), after=buttons.format("Runs", "Runs")).filtered
    assert not grid(row(number(1)), after=buttons.format("Samples", "Samples")).filtered
    assert grid(row(number(1)), after=buttons.format("$'Day''s runs'", "x"), name="Day's runs").filtered
    inside = '<table:filter><table:filter-condition table:field-number="0"/></table:filter>'
    ranges = (
        '<table:database-ranges><table:database-range table:target-range-address="Runs.A1:Runs.B9">'
        f"{inside}</table:database-range></table:database-ranges>"
    )
    assert grid(row(number(1)), after=ranges).filtered


def test_merged_areas_and_what_stands_beneath() -> None:
    span = 'table:number-columns-spanned="2" table:number-rows-spanned="2"'
    found = grid(
        row(number(1), cell(f"{STRING} {span}", "m"), "<table:covered-table-cell/>", number(4))
        + row(number(5), '<table:covered-table-cell table:number-columns-repeated="2"/>', number(8))
    )
    assert found.merged == (Merged(1, 2, 2, 3),)
    assert sorted(found.rows[2]) == [1, 4]


STRUCK = '<style:text-properties style:text-line-through-style="solid"/>'
PLAIN = '<style:text-properties style:text-line-through-style="none"/>'


def style(name: str, inside: str = "", parent: str = "", data: str = "", family: str = "table-cell") -> str:
    parent = f'style:parent-style-name="{parent}"' if parent else ""
    data = f'style:data-style-name="{data}"' if data else ""
    return f'<style:style style:name="{name}" style:family="{family}" {parent} {data}>{inside}</style:style>'


def test_what_is_struck_through() -> None:
    automatic = (
        style("ce1", STRUCK)
        + style("ce2", parent="Gone")
        + style("ce3", PLAIN, parent="Gone")
        + style("T1", STRUCK, family="text")
        + style("round", parent="round")
    )
    gone = style("Gone", STRUCK)
    common = f"<office:document-styles {SPACES}><office:styles>{gone}</office:styles></office:document-styles>"
    column = "<table:table-column table:{}/>"
    columns = column.format('number-columns-repeated="6"') + column.format('default-cell-style-name="ce1"')
    cells = [number(1, f'table:style-name="{name}"') for name in ("ce1", "ce2", "ce3", "T1", "round")]
    sheet = (
        columns + row(*cells, number(1), number(1)) + row(number(1), attributes='table:default-cell-style-name="ce2"')
    )
    found = read_ods("day.ods", packed(document(sheet, automatic), styles=common))[0]
    assert [found.cell(1, column).struck for column in range(1, 8)] == [True, True, False, False, False, False, True]
    assert found.cell(2, 1).struck


def test_a_number_in_a_style_of_per_cent() -> None:
    automatic = '<number:percentage-style style:name="N10"/>' + style("ce1", data="N10")
    found = grid(row(number(0.04, 'table:style-name="ce1"'), number(0.04)), styles=automatic)
    assert [found.cell(1, column).kind for column in (1, 2)] == [CellKind.PER_CENT, CellKind.NUMBER]


def test_what_is_no_sheet_of_the_workbook() -> None:
    other = '<table:table table:name="{}" table:style-name="{}">' + row(number(9)) + "</table:table>"
    before = (
        f"<table:tracked-changes><table:cell-content-change><table:previous>{number(7)}</table:previous>"
        f"</table:cell-content-change></table:tracked-changes>{other.format('old', 'ta_extref')}"
    )
    after = f"<table:dde-links><table:dde-link>{other.format('link', '')}</table:dde-link></table:dde-links>"
    shapes = f"<table:shapes><draw:object>{other.format('chart', '')}</draw:object></table:shapes>"
    content = document(shapes + row(number(1)), before=before, after=after)
    assert [(sheet.title, sheet.cell(1, 1).value) for sheet in read_ods("day.ods", packed(content))] == [("Runs", 1.0)]


@pytest.mark.parametrize(
    ("written", "plain"),
    [
        ("of:=[.A2]*2", "=A2*2"),
        ("of:=SUM([.A2:.$B$3];1)", "=SUM(A2:$B$3,1)"),
        ("of:=[$Setup.$B$3]+[$'Day''s runs'.C4]", "=Setup!$B$3+'Day''s runs'!C4"),
        ('of:=IF([.A2]>1;"a;[.B1]";"")', '=IF(A2>1,"a;[.B1]","")'),
        ("of:={1;2|3;4}", "={1,2;3,4}"),
        ("oooc:=[.A1]", "=A1"),
        ("of:=[.A:.A]", "=A:A"),
        ("of:=['file:///x.ods'#$Runs.A1]", "='file:///x.ods'#$Runs.A1"),
    ],
)
def test_formulas_read_as_they_are_shown(written: str, plain: str) -> None:
    assert plain_formula(written) == plain


BOMB = '<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>'


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (BOMB + document(row(cell(STRING, "&b;"))), "declares a document type"),
        (document(row(number(1))[:-5]), "no whole XML"),
        (document(row(cell('office:value-type="float"', "1"))), "cell A1 of sheet Runs holds a number that reads ''"),
        (document(row(cell(FLOAT.format("1_000"), "1"))), "holds a number that reads '1_000'"),
        (document(row(cell('office:value-type="boolean"', "1"))), "holds a yes or no"),
        (document(row(cell('office:value-type="time" office:time-value="9:30"', "1"))), "holds a time that reads"),
        (document(row(cell('office:value-type="quark"', "1"))), "a content of the type 'quark'"),
        (
            document(row(number(1, 'table:number-columns-repeated="0"'))),
            "number-columns-repeated '0', which is no count",
        ),
        (document(row(number(1, 'table:number-columns-repeated="-1"'))), "which is no count"),
        (document(row(number(1, 'table:number-columns-repeated="999999999"'))), "which is no count"),
        (document(row(number(1, 'table:number-columns-repeated="99999999"'))), "filled cells, more than any log needs"),
        (document(row(number(1), attributes='table:number-rows-repeated="99999999"')), "reaches to row 99999999"),
        (document(row(cell('table:number-columns-repeated="20000"'), number(1))), "reaches to row 1, column 20001"),
        (document(row(cell(STRING, "x" * 1_000_001))), "holds more text than a cell can"),
        (document(row(cell(STRING, '<text:s text:c="999999"/>' * 2))), "holds more text than a cell can"),
        (document(row(cell(STRING, "<text:span>" * 300 + "</text:span>" * 300))), "elements within elements"),
        (document("", after='<table:table table:name="RUNS"/>'), "two sheets named RUNS"),
        (f"<office:document-content {SPACES}/>", "not an OpenDocument spreadsheet"),
        ("<html/>", "not an OpenDocument spreadsheet"),
    ],
)
def test_what_is_refused(content: str, says: str) -> None:
    assert says in refused(packed(content))


def test_other_documents_passwords_and_broken_packages() -> None:
    good = document(row(number(1)))
    assert "not an OpenDocument spreadsheet" in refused(
        packed(good, mimetype="application/vnd.oasis.opendocument.text")
    )
    manifest = "<manifest><file-entry><encryption-data/></file-entry></manifest>"
    assert "protected by a password" in refused(packed("scrambled", manifest=manifest))
    assert read_ods("day.ods", packed(good, manifest="<manifest/>"))
    for size in (0, 10, 200, len(packed(good)) - 30):
        refused(packed(good)[:size])
    assert "not an OpenDocument spreadsheet but an Open XML file under another ending" in refused(
        plain_log(2.5, 2.5).bytes()
    )


def test_under_the_ending_of_another_kind(tmp_path: Path) -> None:
    path = tmp_path / "day.xlsx"
    path.write_bytes(packed(document(row(number(1.5)))))
    with pytest.raises(WorkbookError, match=r"an OpenDocument file under another ending; give it its own \(\.ods\)"):
        open_source(path)


def test_by_its_ending(tmp_path: Path) -> None:
    path = tmp_path / "day.ods"
    path.write_bytes(packed(document(row(number(1.5)))))
    assert open_source(path).grids[0].cell(1, 1) == Cell(CellKind.NUMBER, 1.5)
    path.write_bytes(b"Firing no.;Mass\n1;1,5\n")
    with pytest.raises(WorkbookError, match="not a workbook but a text file"):
        open_source(path)


def test_noise_raises_nothing_else() -> None:
    chance = random.Random(20261127)
    styles = style("ce1", STRUCK)
    plain = document(
        row(number(1, 'table:style-name="ce1"'), cell(STRING, "a"), formula(FORMULA_1, FLOAT.format(2), "2"))
        + row(
            cell('office:value-type="date" office:date-value="2026-10-14"', "x"),
            cell('table:number-columns-repeated="9"'),
        ),
        styles,
    ).encode()
    outcomes = set()
    for _ in range(2000):
        noisy = bytearray(plain)
        for _ in range(chance.choice([1, 1, 3])):
            noisy[chance.randrange(len(noisy))] = chance.randrange(32, 127)
        try:
            read_ods("day.ods", packed(bytes(noisy)))
        except WorkbookError:
            outcomes.add("refused")
        else:
            outcomes.add("read")
    assert outcomes == {"refused", "read"}
