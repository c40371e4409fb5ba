"""The reader against a second pair of eyes (openpyxl), over workbooks of many programs."""

import datetime as dt
import re
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import openpyxl_view
import pytest
import xlsxwriter  # type: ignore[import-untyped]  # the package carries no type marker
from bad_day.slips import SLIPS, bad_day
from bad_day.write import write
from hostile import base
from lab_packages import forms
from lab_packages.writers import JAVASCRIPT_DAY, by_openpyxl, by_pandas, by_xlsxwriter
from programs import program

from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.grid import Grid
from batchcal.workbook.xlsx.package import Package
from batchcal.workbook.xlsx.workbook import grids

EXAMPLES = sorted((Path(__file__).parent.parent.parent / "example_workbooks").glob("*.xlsx"))
ELSEWHERE = sorted((Path(__file__).parent / "written_elsewhere").glob("*.xlsx"))


def read(data: bytes) -> tuple[Grid, ...]:
    return grids(Package("day.xlsx", data))


def assert_same(data: bytes) -> tuple[Grid, ...]:
    found, expected = read(data), openpyxl_view.grids(data)
    assert [grid.title for grid in found] == [grid.title for grid in expected]
    for one, other in zip(found, expected, strict=True):
        # Row by row, so that a difference is shown and not the whole sheet.
        assert list(one.rows) == list(other.rows)
        for row, cells in one.rows.items():
            assert list(cells.items()) == list(other.rows[row].items()), (one.title, row)
        assert one == other
    return found


def kinds(path: Path, *, from_1904: bool = False) -> Path:
    """Write every kind of content that XlsxWriter knows."""
    book = xlsxwriter.Workbook(path, {"date_1904": from_1904, "strings_to_numbers": False})
    date, time, both, hours = (
        book.add_format({"num_format": code}) for code in ("yyyy-mm-dd", "hh:mm", "d.m.yyyy h:mm:ss", "[h]:mm:ss")
    )
    per_cent, struck, bold = (
        book.add_format(look) for look in ({"num_format": 10}, {"font_strikeout": 1}, {"bold": 1})
    )
    struck_date = book.add_format({"num_format": 14, "font_strikeout": True})
    sheet = book.add_worksheet("Kinds")
    day = dt.datetime(2026, 10, 14, 8, 29, 59)
    contents: list[list[tuple[Any, Any]]] = [
        [(1, None), (-0.5, None), (1e300, None), (0.0001, None), (2, per_cent), (3, struck), (0, None)],
        [(day, date), (day, both), (day, struck_date), (dt.time(8, 30), time), (dt.timedelta(hours=30), hours)],
        [
            ("text", None),
            ("  ", None),
            ("struck", struck),
            ("Ω & <b> ü", None),
            ("1.5", None),
            ("line\nline", None),
        ],
        [(True, None), (False, struck)],
    ]
    for row, values in enumerate(contents):
        for column, (value, look) in enumerate(values):
            sheet.write(row, column, value, look)
    for column, (formula, value) in enumerate(
        (
            ("=1+1", 2),
            ("=A1&B1", "ab"),
            ('=""', ""),
            ("=1=1", True),
            ("=1/0", "#DIV/0!"),
            ("=NA()", "#N/A"),
            ("=C1", " "),
        )
    ):
        sheet.write_formula(5, column, formula, per_cent if column == 0 else None, value)
    sheet.write_array_formula("A7:B7", "{=A1:B1*2}", None, 4)
    sheet.write_rich_string("A8", "plain and ", bold, "bold")
    sheet.write_blank("C9", None, bold)
    sheet.write_url("D9", "https://example.org/", string="a link")
    sheet.set_row(4, None, None, {"hidden": True})
    sheet.merge_range("A12:C13", "Merged", bold)
    sheet.merge_range("E12:E99", "", bold)
    sheet.write("XFD1048576", 7)
    table = book.add_worksheet("Table")
    table.add_table("B3:C6", {"data": [["a", 1], ["b", 2]]})
    book.add_worksheet("Empty")
    chart = book.add_chart({"type": "line"})
    chart.add_series({"values": "=Kinds!$A$1:$C$1"})
    book.add_chartsheet("Chart").set_chart(chart)
    book.close()
    return path


@pytest.mark.parametrize("path", [*EXAMPLES, *ELSEWHERE, JAVASCRIPT_DAY], ids=lambda path: path.name)
def test_workbooks_that_are_there(path: Path) -> None:
    assert assert_same(path.read_bytes())[0].rows


@pytest.mark.parametrize("kind", list(SLIPS)[::3])
def test_days_of_the_generator(kind: str, tmp_path: Path) -> None:
    assert assert_same(write(bad_day(kind, 5)[0], tmp_path / "day.xlsx").read_bytes())[0].rows


@pytest.mark.parametrize(
    "write_to",
    [by_openpyxl, by_pandas, by_xlsxwriter, lambda path: by_xlsxwriter(path, macros=True), kinds,
     lambda path: by_xlsxwriter(path, from_1904=True), lambda path: kinds(path, from_1904=True)],
)  # fmt: skip
def test_workbooks_of_other_programs(write_to: Callable[[Path], Path], tmp_path: Path) -> None:
    assert assert_same(write_to(tmp_path / "day.xlsx").read_bytes())[0].rows


def test_what_the_kinds_are(tmp_path: Path) -> None:
    """By hand, so that two pairs of eyes that see one thing wrong are found out."""
    sheet, table, empty = read(kinds(tmp_path / "kinds.xlsx").read_bytes())
    day = dt.datetime(2026, 10, 14, 8, 29, 59)
    row = sheet.rows
    assert [(cell.kind, cell.value) for cell in row[1].values()] == [
        *((CellKind.NUMBER, value) for value in (1.0, -0.5, 1e300, 0.0001)),
        (CellKind.PER_CENT, 2.0), (CellKind.NUMBER, 3.0), (CellKind.NUMBER, 0.0),
    ]  # fmt: skip
    assert [cell.struck for cell in row[1].values()] == [False] * 5 + [True, False]
    assert list(row[2].values()) == [
        Cell(CellKind.DATE, day), Cell(CellKind.DATE, day), Cell(CellKind.DATE, day, None, True),
        Cell(CellKind.TIME, dt.time(8, 30)), Cell(CellKind.TIME, dt.timedelta(hours=30)),
    ]  # fmt: skip
    assert {column: cell.value for column, cell in row[3].items()} == {
        1: "text", 3: "struck", 4: "Ω & <b> ü", 5: "1.5", 6: "line\nline",
    }  # fmt: skip
    assert list(row[4].values()) == [Cell(CellKind.BOOLEAN, True), Cell(CellKind.BOOLEAN, False, None, True)]
    assert 5 not in row
    assert list(row[6].values()) == [
        Cell(CellKind.PER_CENT, 2.0, "=1+1"), Cell(CellKind.TEXT, "ab", "=A1&B1"),
        Cell(CellKind.UNCALCULATED, None, '=""'),
        Cell(CellKind.BOOLEAN, True, "=1=1"), Cell(CellKind.ERROR, "#DIV/0!", "=1/0"),
        Cell(CellKind.ERROR, "#N/A", "=NA()"), Cell(CellKind.EMPTY, None, "=C1"),
    ]  # fmt: skip
    assert row[7] == {1: Cell(CellKind.NUMBER, 4.0, "=A1:B1*2"), 2: Cell(CellKind.NUMBER, 0.0)}
    assert row[8] == {1: Cell(CellKind.TEXT, "plain and bold")}
    assert row[9] == {4: Cell(CellKind.TEXT, "a link")}
    assert (sheet.last_row, sheet.last_column, sheet.hidden_rows, sheet.filtered) == (
        1_048_576, 16_384, frozenset((5,)), False,
    )  # fmt: skip
    assert len(sheet.merged) == 2
    assert (table.title, table.filtered, empty.title, empty.rows) == ("Table", True, "Empty", {})


@pytest.mark.parametrize("form", [forms.strict, forms.prefixed, forms.in_utf_16, forms.named_from_the_root,
                                  forms.declared_where_used])  # fmt: skip
def test_every_form_of_a_package_reads_the_same(form: Callable[[bytes], bytes], tmp_path: Path) -> None:
    for data in (kinds(tmp_path / "kinds.xlsx").read_bytes(), EXAMPLES[0].read_bytes(), ELSEWHERE[0].read_bytes()):
        changed = form(data)
        assert changed != data
        assert read(changed) == read(data)


@pytest.mark.parametrize("from_1904", [False, True])
def test_dates_written_as_texts_in_the_strict_form_read_the_same(tmp_path: Path, from_1904: bool) -> None:
    """Dates, times of day (on day 0 of the calendar) and lengths of time, as ISO 8601 texts of the type d."""
    data = kinds(tmp_path / "kinds.xlsx", from_1904=from_1904).read_bytes()
    content = _parts(data)
    name = "xl/worksheets/sheet1.xml"
    cells = {f"{base.letters(c)}{r}": cell for r, row in read(data)[0].rows.items() for c, cell in row.items()}
    epoch = dt.datetime(1904, 1, 1) if from_1904 else dt.datetime(1899, 12, 30)
    changed = 0

    def as_text(match: re.Match[bytes]) -> bytes:
        nonlocal changed
        value = cells[match[1].decode()].value
        if isinstance(value, dt.time):
            value = dt.datetime.combine(epoch.date(), value)
        elif isinstance(value, dt.timedelta):
            value = epoch + value + (dt.timedelta() if from_1904 else dt.timedelta(days=1))  # day 1 is 1 January 1900
        if not isinstance(value, dt.datetime):
            return match[0]
        changed += 1
        return b'<c r="%s"%s t="d"><v>%s</v></c>' % (match[1], match[2], value.isoformat().encode())

    content[name] = re.sub(rb'<c r="(\w+)"( s="\d+")?><v>[^<]*</v></c>', as_text, content[name])
    assert changed == 5
    assert read(forms.strict(base.packed(content))) == read(data)


def test_what_libreoffice_makes_of_the_examples(tmp_path: Path) -> None:
    """Opened and saved again in three forms: the same reading by both, and of the examples the values of before."""
    office = program("soffice")
    examples = [path for path in EXAMPLES if path.stem in ("difficult_day", "readings_day")]
    paths = [*examples, *ELSEWHERE, kinds(tmp_path / "kinds.xlsx")]
    for form in ("xlsx:Calc MS Excel 2007 XML", "xlsx:Calc Office Open XML", "xlsm:Calc MS Excel 2007 VBA XML"):
        folder = tmp_path / form.replace(":", " ")
        subprocess.run(
            [office, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to", form, "--outdir",
             str(folder), *map(str, paths)],
            check=True, capture_output=True,
        )  # fmt: skip
        for path in paths:
            after = assert_same((folder / f"{path.stem}.{form[:4]}").read_bytes())
            if path in examples:
                before = read(path.read_bytes())
                assert [(grid.title, _values(grid)) for grid in after] == [
                    (grid.title, _values(grid)) for grid in before
                ]


def _values(grid: Grid) -> dict[tuple[int, int], object]:
    return {
        (row, column): round(cell.value, 9) if isinstance(cell.value, float) else cell.value
        for row, cells in grid.rows.items()
        for column, cell in cells.items()
        if cell.kind is not CellKind.EMPTY
    }


def _parts(data: bytes) -> dict[str, bytes]:
    package = Package("day.xlsx", data)
    return {name: package.read(name) for name in package.names}


def test_merged_values_are_not_lost(tmp_path: Path) -> None:
    """A value that is stored under a merged area shows in no program, and is read."""
    path = tmp_path / "day.xlsx"
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet["A1"], sheet["B1"], sheet["A2"] = 1, 2, 3
    book.save(path)
    content = _parts(path.read_bytes())
    name = "xl/worksheets/sheet1.xml"
    content[name] = content[name].replace(
        b"</sheetData>", b'</sheetData><mergeCells><mergeCell ref="A1:B2"/></mergeCells>'
    )
    (grid,) = read(base.packed(content))
    assert [(merged.first_row, merged.last_column) for merged in grid.merged] == [(1, 2)]
    assert [cell.value for cells in grid.rows.values() for cell in cells.values()] == [1.0, 2.0, 3.0]
