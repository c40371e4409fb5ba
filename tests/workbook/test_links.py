"""Links both ways: from the lab's sheets to what was found, from there to results and workings, and back again."""

import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import openpyxl
import pytest
from lab_packages.one_sheet import MAIN, columns_at, places
from lab_packages.parts import WORKSHEET_ORDER, parts
from lab_packages.writers import by_office
from logbook import Log, plain_log
from made import results_of
from openpyxl.formatting.rule import CellIsRule
from openpyxl.utils import coordinate_to_tuple
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.table import Table
from programs import program

from batchcal.workbook import writer
from batchcal.workbook.xlsx import links as links_of_sheets
from batchcal.workbook.xlsx.columns import put_columns
from batchcal.workbook.xlsx.links import Link, Links, links_there

EXAMPLES = Path(__file__).parent.parent.parent / "example_workbooks"
DAYS = ["difficult_day", "typing_slips_day", "readings_day", "clean_day", "simple_bench_day"]

DATA = '<sheetData><row r="1"><c r="A1"><v>1</v></c></row></sheetData>'
OWN = '<hyperlink  ref="A1"   location="Other!B2" xr:uid="{1}" xmlns:xr="urn:xr"/>'
ADDED = '<hyperlink ref="C1" location="&apos;Findings&apos;!A7" tooltip="block: 3 &lt; 4"/>'


def book(data: bytes) -> Any:
    return openpyxl.load_workbook(io.BytesIO(data))


def linked(sheet: str, rows: int = 1) -> str:
    """Return a worksheet part with a cell that leads to Findings in each of so many rows."""
    found = places(sheet.encode())
    link = Link("Findings", "A7", "block: 3 < 4")
    texts: dict[int, list[float | str | None]] = {row: ["pair-apart"] for row in range(1, rows + 1)}
    put_columns(found, columns_at(found, 3, (9,), texts, [(f"C{row}", link) for row in texts]))
    return found.part.edited().decode()


def leads(data: bytes) -> dict[tuple[str, str], tuple[str, str]]:
    """Return every link of a workbook: sheet and cell, and where it leads."""
    found = {}
    for sheet in book(data).worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.hyperlink is not None and cell.hyperlink.location:
                    name, _, address = cell.hyperlink.location.rpartition("!")
                    found[sheet.title, cell.coordinate] = (name.strip("'").replace("''", "'"), address)
    return found


def by_heading(sheet: Any, row: int, first: str) -> Mapping[str, Any]:
    """Return the cells of a row by the headings of its table, which begin with ``first``."""
    heading = next(number for number in range(1, row) if sheet.cell(number, 1).value == first)
    return {str(head.value): cell for head, cell in zip(sheet[heading], sheet[row], strict=True) if head.value}


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("<pageMargins/>", f"<hyperlinks>{ADDED}</hyperlinks><pageMargins/>"),
        ("", f"<hyperlinks>{ADDED}</hyperlinks>"),
        ("<dataValidations/><extLst/>", f"<dataValidations/><hyperlinks>{ADDED}</hyperlinks><extLst/>"),
        (f"<hyperlinks >{OWN}</hyperlinks><printOptions/>", f"<hyperlinks >{OWN}{ADDED}</hyperlinks><printOptions/>"),
        ("<hyperlinks/>", f"<hyperlinks>{ADDED}</hyperlinks>"),
    ],
)
def test_links_stand_behind_the_lab_s_own_in_the_order_of_the_schema(before: str, after: str) -> None:
    result = linked(f"<worksheet {MAIN}>{DATA}{before}</worksheet>")
    assert result.endswith(f"</sheetData>{after}</worksheet>")
    assert '<c r="C1" s="5" t="inlineStr">' in result


def test_the_prefix_and_the_namespace_of_the_sheet_are_used() -> None:
    main = MAIN.replace("xmlns=", "xmlns:x=").replace(
        "schemas.openxmlformats.org/spreadsheetml/2006/main", "purl.oclc.org/ooxml/spreadsheetml/main"
    )
    result = linked(f"<x:worksheet {main}><x:sheetData/><x:pageMargins/></x:worksheet>")
    added = ADDED.replace("<", "<x:", 1)
    assert f"<x:hyperlinks>{added}</x:hyperlinks><x:pageMargins/>" in result


def test_names_of_sheets_are_quoted() -> None:
    assert Link("Day 1 & 'night'", "B2").location == "'Day 1 & ''night'''!B2"
    links = Links()
    links.add("A1", Link('"a" & <b>', lambda: "C3", "x" * 300))
    frame = b"".join(links.markup()).decode()
    assert 'location="&apos;&quot;a&quot; &amp; &lt;b&gt;&apos;!C3"' in frame.replace("'", "&apos;")
    assert f'tooltip="{"x" * 254}…"' in frame


def test_a_sheet_gets_no_more_links_than_programs_open(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(links_of_sheets, "MOST_LINKS", 3)
    own = f"<hyperlinks>{OWN}</hyperlinks>"
    assert links_there(places(f"<worksheet {MAIN}>{DATA}{own}</worksheet>".encode())) == 1
    result = linked(f"<worksheet {MAIN}>{DATA}{own}</worksheet>", rows=4)
    assert result.count("<hyperlink ") == 3
    assert '<hyperlink ref="C2"' in result


def test_links_that_have_no_room_are_said_on_the_record(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(links_of_sheets, "MOST_LINKS", 1)
    monkeypatch.setattr(writer, "MOST_LINKS", 1)
    log = plain_log(2.5, 2.505)
    log.rows["Runs"][0]["Temperature rise (K)"] = "2,5"
    log.rows["Runs"][1]["Temperature rise (K)"] = "2,505"
    data = results_of(log.save(tmp_path))
    record = " ".join(str(row[0].value) for row in book(data)["Record"].iter_rows(max_row=8))
    assert "Sheet Runs may have 1 links; 1 cells further down lead nowhere." in record
    assert "Sheet Working may have 1 links; 3 cells further down lead nowhere." in record
    found: dict[str, int] = {}
    for sheet, _ in leads(data):
        found[sheet] = found.get(sheet, 0) + 1
    assert set(found.values()) == {1}


@pytest.mark.parametrize("name", DAYS)
def test_what_is_found_on_a_row_leads_to_its_finding(name: str) -> None:
    data = results_of(EXAMPLES / f"{name}.xlsx")
    made, places_of = book(data), leads(data)
    for sheet in made.worksheets[: made.sheetnames.index("Results")]:
        title = sheet.title
        headings = [cell for row in sheet.iter_rows(max_row=3) for cell in row if cell.value == "Findings"]
        for heading in headings:
            for row in range(heading.row + 1, sheet.max_row + 1):
                cell = sheet.cell(row, heading.column)
                # As many links as rows with findings, and no more.
                assert bool(cell.value) == ((title, cell.coordinate) in places_of), cell.coordinate
                if cell.value:
                    to, address = places_of[title, cell.coordinate]
                    assert to == "Findings"
                    found = by_heading(made[to], coordinate_to_tuple(address)[0], "Severity")
                    assert found["Code"].value == str(cell.value).split(", ")[0]
                    assert cell.hyperlink.tooltip.endswith(found["What was seen"].value[-20:])
                    assert cell.font.u == "single"


@pytest.mark.parametrize("name", DAYS)
def test_results_lead_to_the_log_to_findings_and_workings_and_these_back(name: str) -> None:
    data = results_of(EXAMPLES / f"{name}.xlsx")
    made, places_of = book(data), leads(data)

    def at(sheet: str, cell: Any) -> tuple[str, Any]:
        to, address = places_of[sheet, cell.coordinate]
        return to, made[to][address]

    results = made["Results"]
    samples = [row for row in range(1, results.max_row + 1) if ("Results", f"A{row}") in places_of]
    assert samples
    for row in samples:
        cells = by_heading(results, row, "Sample no.")
        number = cells["Sample no."]
        assert at("Results", number)[1].value == number.value or at("Results", number)[0] == "Runs"
        to, first = at("Results", cells["Firings"])
        assert to == "Runs"
        assert number.value in [cell.value for cell in made[to][first.row]]
        if cells["Value is the"].value:
            to, worked = at("Results", cells["Value is the"])
            assert (to, worked.value) == ("Working", number.value)
            assert at("Working", made["Working"].cell(worked.row, 3)) == ("Results", number)
    findings = made["Findings"]
    of_samples = [place for place in places_of if place[0] == "Findings" and place[1].startswith("E")]
    for place in of_samples:
        cell = findings[place[1]]
        assert at("Findings", cell)[1].value == cell.value
        assert cell.font.u == "single"


@pytest.mark.parametrize("name", DAYS)
def test_every_added_link_leads_to_a_sheet_that_is_there(name: str) -> None:
    path = EXAMPLES / f"{name}.xlsx"
    data = results_of(path)
    added = leads(data).items() - leads(path.read_bytes()).items()
    assert added
    assert {to for _, (to, _) in added} <= set(book(data).sheetnames)


def marked(folder: Path) -> Path:
    """A log with a table, a link and a conditional format of the lab's own on Runs, and a filter on Samples."""
    log: Log = plain_log(2.5, 2.505)
    log.rows["Runs"][1]["Temperature rise (K)"] = "2,505"
    path = log.save(folder)
    source = openpyxl.load_workbook(path)
    runs = source["Runs"]
    runs.add_table(Table(displayName="Firings", ref=f"A1:{runs.cell(3, runs.max_column).coordinate}"))
    runs.conditional_formatting.add("AB2:AB3", CellIsRule("greaterThan", ["2.6"]))  # type: ignore[no-untyped-call]
    runs["A2"].hyperlink = Hyperlink(ref="A2", location="Samples!A2")
    source["Samples"].auto_filter.ref = "A1:C2"
    source.save(path)
    return path


def own_things(sheet: Any) -> list[object]:
    rules = [(str(area.sqref), [rule.type for rule in area.rules]) for area in sheet.conditional_formatting]
    tables = [(table.displayName, table.ref) for table in sheet.tables.values()]
    return [rules, tables, sheet.auto_filter.ref, sheet.freeze_panes]


def test_libreoffice_keeps_the_links_and_what_the_lab_has_on_its_sheets(tmp_path: Path) -> None:
    office = program("soffice")
    lab = marked(tmp_path)
    results = [tmp_path / "marked.results.xlsx", tmp_path / "difficult_day.results.xlsx"]
    results[0].write_bytes(results_of(lab))
    results[1].write_bytes(results_of(EXAMPLES / "difficult_day.xlsx"))
    own, *saved = by_office(office, lab, tmp_path / "saved", *results)
    for made, again in zip(results, saved, strict=True):
        assert leads(again.read_bytes()) == leads(made.read_bytes())
    before, after = book(own.read_bytes()), book(saved[0].read_bytes())
    for title in before.sheetnames:
        assert own_things(after[title]) == own_things(before[title]), title
    assert own_things(before["Runs"])[1]
    assert own_things(before["Samples"])[2]
    as_written = book(results[0].read_bytes())
    for title in before.sheetnames:
        assert own_things(as_written[title]) == own_things(book(lab.read_bytes())[title]), title


def test_elements_of_every_sheet_stand_in_the_order_of_the_schema(tmp_path: Path) -> None:
    for name, data in parts(results_of(marked(tmp_path))).items():
        if name.startswith("xl/worksheets/sheet"):
            order = [WORKSHEET_ORDER.index(each.tag.rpartition("}")[2]) for each in ElementTree.fromstring(data)]
            assert order == sorted(order), name


def test_an_added_cell_without_a_link_stays_one() -> None:
    found = places(f"<worksheet {MAIN}>{DATA}</worksheet>".encode())
    put_columns(found, columns_at(found, 3, (9,), {1: ["ready"]}))
    assert b"hyperlink" not in found.part.edited()
