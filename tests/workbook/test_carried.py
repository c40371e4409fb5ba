"""Packages of several programs, part by part: nothing of the lab's is lost, and other programs open what was made."""

import datetime as dt
import io
import json
import re
import warnings
import zipfile
from collections import Counter
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from lab_packages.furnish import furnished
from lab_packages.parts import changed, packed, parts, swapped
from lab_packages.writers import JAVASCRIPT_DAY, by_office, by_openpyxl, by_pandas, by_xlsxwriter
from lab_packages.written import assert_carried
from made import results_of
from programs import program

from batchcal.outputs import OutputSet
from batchcal.process import process_workbook

WRITERS = ["xlsxwriter", "macros", "from_1904", "furnished", "openpyxl", "pandas", "javascript", "office"]
ADDED = ["Results", "Findings", "Working", "Record"]

KINDS = {
    "chart": r"xl/charts/chart\d",
    "chart sheet": r"xl/chartsheets/",
    "picture": r"xl/media/",
    "drawing": r"xl/drawings/drawing",
    "form control in a drawing": r"xl/drawings/vmlDrawing",
    "form control": r"xl/ctrlProps/",
    "pivot table": r"xl/pivotTables/",
    "pivot cache": r"xl/pivotCache/",
    "slicer": r"xl/slicers/",
    "slicer cache": r"xl/slicerCaches/",
    "comment": r"xl/comments",
    "threaded comment": r"xl/threadedComments/",
    "person": r"xl/persons/",
    "macros": r"xl/vbaProject\.bin",
    "printer settings": r"xl/printerSettings/",
    "custom XML": r"customXml/",
    "table": r"xl/tables/",
    "external link": r"xl/externalLinks/",
    "own properties": r"docProps/custom",
}
MARKS = {
    "rich text": b"<r><rPr>",
    "stored value of a formula": b"</f><v>",
    "filter": b"<autoFilter",
    "defined name": b"<definedName",
    "merged cells": b"<mergeCell ",
    "conditional format": b"<conditionalFormatting",
    "conditional format of a newer kind": b"<x14:conditionalFormatting ",
    "sparkline": b"<x14:sparkline>",
    "check of entries": b"<dataValidation ",
    "print area": b"_xlnm.Print_Area",
    "frozen panes": b'state="frozen"',
    "hyperlink": b"<hyperlink ",
    "protection": b"<sheetProtection ",
    "folded columns": b"outlineLevelCol",
    "days from 1904": b"date1904",
    "shape": b"<xdr:sp ",
    "choice of contents": b"<mc:AlternateContent",
    "hidden sheet": b'state="hidden"',
}


@pytest.fixture(scope="module")
def labs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The day as each program wrote it; LibreOffice is there where it is installed."""
    folder = tmp_path_factory.mktemp("labs")
    found = {
        "xlsxwriter": by_xlsxwriter(folder / "xlsxwriter.xlsx"),
        "macros": by_xlsxwriter(folder / "macros.xlsx", macros=True),
        "from_1904": by_xlsxwriter(folder / "from_1904.xlsx", from_1904=True),
        "openpyxl": by_openpyxl(folder / "openpyxl.xlsx"),
        "pandas": by_pandas(folder / "pandas.xlsx"),
        "javascript": folder / "javascript.xlsx",
        "furnished": folder / "furnished.xlsx",
    }
    found["javascript"].write_bytes(JAVASCRIPT_DAY.read_bytes())
    found["furnished"].write_bytes(furnished(found["xlsxwriter"].read_bytes()))
    return found


@pytest.fixture(scope="module")
def office_day(labs: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The furnished day as LibreOffice saves it."""
    (saved,) = by_office(program("soffice"), labs["furnished"], tmp_path_factory.mktemp("office"))
    return saved


@pytest.fixture
def lab(request: pytest.FixtureRequest, labs: dict[str, Path]) -> Path:
    path: Path = request.getfixturevalue("office_day") if request.param == "office" else labs[request.param]
    return path


def loaded(data: bytes, **how: Any) -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # what the library cannot read is not asked of it here
        return openpyxl.load_workbook(io.BytesIO(data), **how)


def cells(sheet: Any) -> dict[str, object]:
    return {cell.coordinate: cell.value for row in sheet.iter_rows() for cell in row if cell.value is not None}


def look(cell: Any) -> list[str]:
    return [repr(getattr(cell, name)) for name in ("font", "fill", "border", "number_format", "protection")]


def test_the_packages_hold_what_they_are_to_show(labs: dict[str, Path]) -> None:
    contents = [parts(path.read_bytes()) for path in labs.values()]
    names = [name for content in contents for name in content]
    for kind, pattern in KINDS.items():
        if kind != "own properties":  # LibreOffice writes those
            assert any(re.match(pattern, name) for name in names), kind
    everything = b"".join(data for content in contents for data in content.values())
    for mark, text in MARKS.items():
        assert text in everything, mark


@pytest.mark.parametrize("lab", WRITERS, indirect=True)
def test_every_part_is_carried(lab: Path) -> None:
    assert_carried(lab.read_bytes(), results_of(lab))


@pytest.mark.parametrize("lab", WRITERS, indirect=True)
def test_the_package_keeps_its_order_and_its_times(lab: Path) -> None:
    with zipfile.ZipFile(lab) as old, zipfile.ZipFile(io.BytesIO(results_of(lab))) as new:
        before, after = old.infolist(), new.infolist()
        assert [entry.filename for entry in after][: len(before)] == [entry.filename for entry in before]
        assert [entry.date_time for entry in after][: len(before)] == [entry.date_time for entry in before]
        time = old.getinfo("xl/workbook.xml").date_time
        assert {entry.date_time for entry in after[len(before) :]} == {time}


@pytest.mark.parametrize("lab", WRITERS, indirect=True)
def test_another_library_reads_every_cell_of_the_lab_and_the_added_ones(lab: Path) -> None:
    result = results_of(lab)
    for how in ({"data_only": True}, {"data_only": False}):
        before, after = loaded(lab.read_bytes(), **how), loaded(result, **how)
        assert after.sheetnames == [*before.sheetnames, *ADDED]
        for sheet in before.worksheets:
            old, new = cells(sheet), cells(after[sheet.title])
            assert {address: new[address] for address in old} == old, sheet.title
            for row in sheet.iter_rows():
                for cell in row:
                    other = after[sheet.title][cell.coordinate]
                    if cell.has_style:
                        assert look(other) == look(cell)
    runs = loaded(result)["Runs"]
    heading = next(cell for cell in runs[1] if cell.value == "Gross, as analysed (J/g)")
    # (10 000 x 2.5 - 60) / 1 and (10 000 x 2.505 - 60) / 1
    assert [runs.cell(row, heading.column).value for row in (2, 3)] == pytest.approx([24940, 24990], rel=1e-15)
    assert heading.font.i
    assert heading.fill.fgColor.rgb == "00ECE8F1"
    assert runs.cell(2, heading.column).number_format == "0.0"


@pytest.mark.parametrize("name", ["furnished", "from_1904"])
def test_dates_on_the_added_sheets_are_the_days_they_were(labs: dict[str, Path], name: str) -> None:
    values = [cell.value for row in loaded(results_of(labs[name]))["Record"].iter_rows() for cell in row]
    assert dt.datetime(2026, 10, 1) in values  # the heat capacity is in force from that day


def test_macros_stay_and_so_does_the_kind_of_workbook(labs: dict[str, Path]) -> None:
    old, new = parts(labs["macros"].read_bytes()), parts(results_of(labs["macros"]))
    assert new["xl/vbaProject.bin"] == old["xl/vbaProject.bin"]
    kind = b'ContentType="application/vnd.ms-excel.sheet.macroEnabled.main+xml"'
    assert kind in old["[Content_Types].xml"]
    assert kind in new["[Content_Types].xml"]


def test_a_workbook_with_macros_keeps_its_ending(labs: dict[str, Path], tmp_path: Path) -> None:
    path = tmp_path / "day.XLSM"
    path.write_bytes(labs["macros"].read_bytes())
    outputs = OutputSet.for_input(path)
    process_workbook(path, outputs)
    assert [each.name for each in outputs.paths] == ["day.results.xlsm", "day.summary.html", "day.results.json"]
    assert_carried(path.read_bytes(), outputs.workbook.read_bytes())
    assert set(json.loads(outputs.results.read_text(encoding="utf-8"))["outputs"]) == {
        "day.results.xlsm", "day.summary.html"
    }  # fmt: skip


def test_columns_stand_beyond_whatever_stands_on_the_sheet(labs: dict[str, Path]) -> None:
    """The pivot table of the furnished day ends in column I; the picture and the chart on Samples reach further."""
    book = loaded(results_of(labs["furnished"]))
    assert [cell.column_letter for cell in book["Runs"][1] if cell.value == "Mass (g)"] == ["K"]
    anchors = [*book["Samples"]._charts, *book["Samples"]._images]
    last = max(anchor.anchor.to.col + 1 for anchor in anchors)
    first = next(cell.column for cell in book["Samples"][1] if cell.value == "Firings compared")
    assert first == last + 2


def kinds(path: Path) -> Counter[str]:
    """Count what LibreOffice wrote, by kind."""
    content = parts(path.read_bytes())
    found = Counter(kind for name in content for kind, pattern in KINDS.items() if re.match(pattern, name))
    for data in content.values():
        found.update({mark: data.count(text) for mark, text in MARKS.items() if mark != "folded columns"})
    return +found


def test_libreoffice_opens_and_saves_each_without_loss(labs: dict[str, Path], office_day: Path, tmp_path: Path) -> None:
    sources = {**labs, "office": office_day}
    files = []
    for name, path in sources.items():
        results = tmp_path / f"{name}.results.xlsx"
        results.write_bytes(results_of(path))
        lab = tmp_path / f"{name}.xlsx"
        lab.write_bytes(path.read_bytes())
        files += [lab, results]
    saved = iter(by_office(program("soffice"), files[0], tmp_path / "saved", *files[1:]))
    for name, path in sources.items():
        lab, results = next(saved), next(saved)
        lost = kinds(lab) - kinds(results)
        assert not lost, (name, lost)
        before, after = loaded(lab.read_bytes(), data_only=True), loaded(results.read_bytes(), data_only=True)
        made = loaded(results_of(path), data_only=True)
        assert after.sheetnames == [*before.sheetnames, *ADDED]
        for sheet in made.worksheets:
            theirs = cells(after[sheet.title])
            # It refreshes a pivot table as it opens one; what it makes of the lab's own workbook counts.
            own = cells(before[sheet.title]) if sheet.title in before.sheetnames else {}
            for address, value in {**cells(sheet), **own}.items():
                again = theirs[address]
                if isinstance(value, int | float) and not isinstance(value, bool):
                    assert again == pytest.approx(value, rel=1e-14), (name, sheet.title, address)
                else:
                    assert again == value, (name, sheet.title, address)


@pytest.mark.parametrize("name", ["furnished", "javascript"])
def test_the_same_package_gives_the_same_bytes(labs: dict[str, Path], name: str) -> None:
    assert results_of(labs[name]) == results_of(labs[name])


def test_only_the_first_added_sheet_is_selected(labs: dict[str, Path]) -> None:
    """Two windows, each with a sheet of its own: the second one stays as it was."""
    views = swapped("</bookViews>", '<workbookView activeTab="1"/></bookViews>')
    second = swapped(
        "</sheetView></sheetViews>", '</sheetView><sheetView tabSelected="1" workbookViewId="1"/></sheetViews>'
    )
    data = changed(labs["xlsxwriter"].read_bytes(), {"xl/workbook.xml": views, "xl/worksheets/sheet2.xml": second})
    path = labs["xlsxwriter"].with_name("windows.xlsx")
    path.write_bytes(data)
    content = parts(results_of(path))
    assert re.findall(rb'activeTab="(\d+)"', content["xl/workbook.xml"]) == [b"4", b"1"]
    assert b'tabSelected="1" workbookViewId="1"' in content["xl/worksheets/sheet2.xml"]
    assert b'tabSelected="0"' in content["xl/worksheets/sheet1.xml"]


def test_a_workbook_without_formats_gets_a_part_for_them(labs: dict[str, Path], tmp_path: Path) -> None:
    content = parts(labs["pandas"].read_bytes())
    del content["xl/styles.xml"]
    for name, pattern in (
        ("[Content_Types].xml", rb'<Override PartName="/xl/styles.xml"[^>]*>'),
        ("xl/_rels/workbook.xml.rels", rb'<Relationship [^>]*Target="styles.xml"[^>]*>'),
    ):
        content[name], count = re.subn(pattern, b"", content[name])
        assert count == 1
    for name in content:
        if name.startswith("xl/worksheets/sheet"):
            content[name] = re.sub(rb' s="\d+"', b"", content[name])
    path = tmp_path / "plain.xlsx"
    path.write_bytes(packed(content))
    result = results_of(path)
    assert_carried(path.read_bytes(), result)
    runs = loaded(result)["Runs"]
    heading = next(cell for cell in runs[1] if cell.value == "Mass (g)")
    assert heading.font.i
    assert not runs["A1"].font.i


def test_names_of_parts_and_identifiers_that_are_taken_stay_the_lab_s(labs: dict[str, Path], tmp_path: Path) -> None:
    content = parts(labs["openpyxl"].read_bytes())
    content["xl/worksheets/SHEET4.xml"] = content.pop("xl/worksheets/sheet1.xml")  # names are equal in whatever case
    relations = content["xl/_rels/workbook.xml.rels"]
    content["xl/_rels/workbook.xml.rels"] = relations.replace(b"sheet1.xml", b"SHEET4.xml").replace(b'rId1"', b'rId7"')
    content["xl/workbook.xml"] = content["xl/workbook.xml"].replace(b"rId1\"", b"rId7\"").replace(
        b'sheetId="2"', b'sheetId="900"'
    )  # fmt: skip
    content["[Content_Types].xml"] = content["[Content_Types].xml"].replace(b"sheet1.xml", b"SHEET4.xml")
    path = tmp_path / "taken.xlsx"
    path.write_bytes(packed(content))
    result = results_of(path)
    assert_carried(path.read_bytes(), result)
    assert b'sheetId="903"' in parts(result)["xl/workbook.xml"]
