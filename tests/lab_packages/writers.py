"""One invented day (``logbook.plain_log``) as several programs write it, each with what it can put into a workbook."""

import datetime as dt
import io
import struct
import subprocess
import zlib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import openpyxl
import pandas
import xlsxwriter  # type: ignore[import-untyped]  # the package carries no type marker
from logbook import plain_log
from openpyxl.chart import LineChart, Reference
from openpyxl.comments import Comment
from openpyxl.formatting.rule import Rule
from openpyxl.styles import Font, Protection
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.table import Table

JAVASCRIPT_DAY = Path(__file__).parent / "javascript_day.xlsx"

Rows = Sequence[Sequence[Any]]


def day() -> dict[str, Rows]:
    """Return the sheets of the day, their empty columns left out."""
    book = openpyxl.load_workbook(io.BytesIO(plain_log(2.5, 2.505).bytes()))
    return {
        sheet.title: list(zip(*(c for c in sheet.iter_cols(values_only=True) if _kept(sheet.title, c)), strict=True))
        for sheet in book.worksheets
        if sheet.title in ("Setup", "Runs", "Samples")
    }


def _kept(title: str, column: Iterable[Any]) -> bool:
    return title == "Setup" or any(value is not None for value in list(column)[1:])


def png() -> bytes:
    """Return a small picture."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 8, 8, 8, 2, 0, 0, 0)
    rows = b"".join(b"\0" + bytes((200, 40, 40)) * 8 for _ in range(8))
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")
    )  # fmt: skip


def by_xlsxwriter(path: Path, *, macros: bool = False, from_1904: bool = False) -> Path:
    """Write the day with XlsxWriter: charts, pictures, shapes, a form control, sparklines and much else."""
    book = xlsxwriter.Workbook(path, {"date_1904": from_1904})
    book.set_properties({"created": dt.datetime(2026, 10, 14)})
    bold, date = book.add_format({"bold": True}), book.add_format({"num_format": "yyyy-mm-dd"})
    sheets = {}
    for title, rows in day().items():
        sheet = sheets[title] = book.add_worksheet(title)
        for row, values in enumerate(rows):
            for column, value in enumerate(values):
                if isinstance(value, dt.date):
                    sheet.write_datetime(row, column, value, date)
                elif value is not None:
                    sheet.write(row, column, value, bold if row == 0 else None)
    runs, samples, setup = sheets["Runs"], sheets["Samples"], sheets["Setup"]
    runs.freeze_panes(1, 1)
    runs.autofilter(0, 0, 2, 3)
    runs.print_area(0, 0, 20, 5)
    runs.repeat_rows(0)
    runs.set_column(3, 3, 12, None, {"level": 1})
    runs.conditional_format("D2:D9", {"type": "data_bar", "data_bar_2010": True})
    runs.write_comment("A1", "The number of the firing.")
    runs.write_rich_string("F2", "plain and ", bold, "bold")
    runs.write_formula("F3", "=C3+D3", None, 3.505)
    runs.merge_range("A12:C12", "Merged", bold)
    runs.insert_textbox("A14", "A note of the lab's own", {"width": 200, "height": 60})
    runs.insert_button("A18", {"caption": "Press", "macro": "Go"})
    runs.add_sparkline("F5", {"range": "Runs!D2:D3"})
    samples.add_table(0, 0, 1, 1, {"columns": [{"header": "Sample no."}, {"header": "Moisture, analysis (%)"}]})
    samples.insert_image("D3", "dot.png", {"image_data": io.BytesIO(png())})
    samples.write_url("D1", "https://example.org/", string="a link")
    samples.fit_to_pages(1, 0)
    setup.data_validation("B8", {"validate": "decimal", "criteria": "between", "minimum": 1, "maximum": 500})
    setup.protect("word")
    setup.set_row(2, None, None, {"level": 1})
    chart = book.add_chart({"type": "line"})
    chart.add_series({"values": "=Runs!$D$2:$D$3", "name": "Rise"})
    chart.set_style(26)
    samples.insert_chart("D8", chart)
    alone = book.add_chartsheet("Curve")
    second = book.add_chart({"type": "scatter"})
    second.add_series({"categories": "=Runs!$A$2:$A$3", "values": "=Runs!$D$2:$D$3"})
    alone.set_chart(second)
    book.define_name("Rises", "=Runs!$D$2:$D$3")
    if macros:
        project = path.with_suffix(".bin")
        project.write_bytes(bytes.fromhex("D0CF11E0A1B11AE1") + b"no macros at all" * 100)
        book.add_vba_project(str(project))
    book.close()
    return path


def by_openpyxl(path: Path) -> Path:
    """Write the day with openpyxl."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for title, rows in day().items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(list(row))
    setup, runs, samples = book.worksheets
    chart = LineChart()
    chart.add_data(Reference(runs, min_col=4, min_row=1, max_row=3))
    runs.add_chart(chart, "A8")
    bold = Rule("cellIs", operator="greaterThan", formula=["4"], dxf=DifferentialStyle(Font(b=True)))
    runs["A1"].comment = Comment("The number of the firing.", "Lab")
    runs.conditional_formatting.add("D2:D9", bold)
    runs.freeze_panes = "B2"
    runs.column_dimensions["D"].outlineLevel = 1
    runs.merge_cells("A30:C30")
    samples.add_table(Table(displayName="SampleTable", ref="A1:B2"))
    setup["B9"].protection = Protection(locked=False)
    setup.protection.sheet = True
    check = DataValidation("decimal", "between", "1", "500")
    check.add("B9")
    setup.add_data_validation(check)
    book.save(path)
    return path


def by_pandas(path: Path) -> Path:
    """Write the day as a table from a program of the lab's own would be written."""
    with pandas.ExcelWriter(path, engine="xlsxwriter") as writer:
        for title, rows in day().items():
            frame = pandas.DataFrame([list(row) for row in rows[1:]], columns=list(rows[0]))
            frame.to_excel(writer, sheet_name=title, index=False, freeze_panes=(1, 0))
    return path


def by_office(office: str, source: Path, folder: Path, *more: Path, ending: str = "xlsx") -> list[Path]:
    """Have LibreOffice open workbooks and save them again as its own."""
    folder.mkdir(exist_ok=True)
    subprocess.run(
        [office, f"-env:UserInstallation=file://{folder}/profile", "--headless", "--convert-to", ending, "--outdir",
         str(folder), str(source), *(str(path) for path in more)],
        check=True, capture_output=True,
    )  # fmt: skip
    return [folder / path.with_suffix(f".{ending}").name for path in (source, *more)]
