"""Writing a lab's workbook again: no digit lost, no clock, no clash with what stands there, text that stays text."""

import io
import os
import re
import subprocess
import sys
import zipfile
import zlib
from itertools import pairwise
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from lab_packages.parts import parts
from logbook import plain_log
from made import results_of
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.styles import Font, NamedStyle

from batchcal.workbook.styles import visible
from batchcal.workbook.xlsx import revision
from batchcal.workbook.xlsx.stylesheet import free_name


@pytest.fixture
def day(tmp_path: Path) -> Path:
    return plain_log(2.5, 2.505).save(tmp_path)


def changed(path: Path, change: Any) -> Path:
    book = openpyxl.load_workbook(path)
    change(book)
    book.save(path)
    return path


def part(data: bytes, name: str) -> str:
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        return package.read(name).decode()


def with_part(path: Path, name: str, edit: Any) -> Path:
    """Rewrite one part of a package (or add it, where ``edit`` is given None) as another program would leave it."""
    with zipfile.ZipFile(path) as package:
        parts = {each: package.read(each) for each in package.namelist()}
    parts[name] = edit(parts.get(name))
    with zipfile.ZipFile(path, "w") as package:
        for each, data in parts.items():
            package.writestr(each, data)
    return path


def test_floats_keep_all_their_digits(day: Path) -> None:
    exact = 0.1 + 0.2  # 0.30000000000000004 needs 17 digits

    def replace(data: bytes) -> bytes:
        return data.replace(b"</sheetData>", f'<row r="9"><c r="AH9"><v>{exact!r}</v></c></row></sheetData>'.encode())

    result = results_of(with_part(day, "xl/worksheets/sheet2.xml", replace))
    assert openpyxl.load_workbook(io.BytesIO(result))["Runs"]["AH9"].value == exact
    gross = 24940 / 0.96
    assert repr(gross) in part(result, "xl/worksheets/sheet2.xml")


def test_runs_of_formatting_in_a_text_are_kept(day: Path) -> None:
    text = CellRichText("plain and ", TextBlock(InlineFont(b=True), "bold"))
    changed(day, lambda book: book["Runs"].__setitem__("AF3", text))
    again = openpyxl.load_workbook(io.BytesIO(results_of(day)), rich_text=True)["Runs"]["AF3"].value
    assert isinstance(again, CellRichText)
    assert [str(run) for run in again] == ["plain and ", "bold"]


def test_without_isal_the_parts_are_the_same(day: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    usual = results_of(day)
    monkeypatch.setattr(revision, "deflate", zlib)
    packed = results_of(day)
    assert parts(packed) == parts(usual)
    assert packed != usual  # so both ways were taken


def test_the_bytes_do_not_hang_on_the_clock_or_on_the_order_of_sets(day: Path) -> None:
    program = (
        "import hashlib, sys; from pathlib import Path; sys.path.insert(0, 'tests');"
        "from made import results_of; print(hashlib.sha256(results_of(Path(sys.argv[1]))).hexdigest())"
    )
    root = Path(__file__).parent.parent.parent
    seen = set()
    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": f"{root}:{root / 'tests'}"}
        done = subprocess.run(
            [sys.executable, "-c", program, str(day)], check=True, capture_output=True, text=True, cwd=root,
            env=environment,
        )  # fmt: skip
        seen.add(done.stdout)
    assert len(seen) == 1


def test_times_of_making_are_the_lab_s_own(day: Path) -> None:
    before = openpyxl.load_workbook(day).properties
    after = openpyxl.load_workbook(io.BytesIO(results_of(day))).properties
    assert (after.created, after.modified) == (before.created, before.modified)


def test_only_one_sheet_is_selected(day: Path) -> None:
    book = openpyxl.load_workbook(io.BytesIO(results_of(day)))
    assert [sheet.title for sheet in book.worksheets if sheet.sheet_view.tabSelected] == ["Results"]
    assert book.active is not None
    assert book.active.title == "Results"


def test_column_entries_never_overlap(day: Path) -> None:
    def widen(book: Any) -> None:
        # The lab gave all columns from AA to the last one width, in one entry.
        dimension = book["Runs"].column_dimensions["AA"]
        dimension.width, dimension.min, dimension.max = 17.0, 27, 16384

    xml = part(results_of(changed(day, widen)), "xl/worksheets/sheet2.xml")
    spans = sorted(
        (int(re.findall(r'min="(\d+)"', entry)[0]), int(re.findall(r'max="(\d+)"', entry)[0]))
        for entry in re.findall(r"<col [^>]*>", xml)
    )
    assert all(end < start for (_, end), (start, _) in pairwise(spans)), spans
    assert spans[-1][1] == 16384
    assert 'outlineLevelCol="1"' in xml


def test_the_lab_s_print_does_not_shrink_for_the_columns_added(day: Path) -> None:
    def fit(book: Any) -> None:
        for name in ("Runs", "Samples"):
            book[name].sheet_properties.pageSetUpPr.fitToPage = True
        book["Samples"].print_area = "A1:R20"

    book = openpyxl.load_workbook(io.BytesIO(results_of(changed(day, fit))))
    assert book["Runs"].page_setup.fitToWidth in (None, 1)
    assert book["Runs"].print_area == "'Runs'!$A$1:$AF$3"  # before the computed columns
    assert book["Samples"].page_setup.fitToWidth in (None, 1)


def test_cells_formatted_to_the_last_column_leave_room_all_the_same(day: Path) -> None:
    changed(day, lambda book: setattr(book["Runs"].cell(1, 16384), "font", Font(b=True)))
    sheet = openpyxl.load_workbook(io.BytesIO(results_of(day)))["Runs"]
    assert sheet.cell(1, 34).value == "Mass (g)"


def test_a_filled_last_column_is_told_and_nothing_is_written_over(day: Path) -> None:
    changed(day, lambda book: setattr(book["Samples"].cell(1, 16384), "value", "far out"))
    book = openpyxl.load_workbook(io.BytesIO(results_of(day)))
    assert book["Samples"].cell(1, 16384).value == "far out"
    words = [str(row[0].value) for row in book["Record"].iter_rows()]
    assert any("Samples reaches its last column" in text for text in words)


def test_names_that_the_lab_has_taken_are_left_to_it(day: Path) -> None:
    def take(book: Any) -> None:
        book.create_sheet("RESULTS")
        book.add_named_style(NamedStyle("batchcal computed", Font(sz=30)))

    book = openpyxl.load_workbook(io.BytesIO(results_of(changed(day, take))))
    assert book.sheetnames[-4:] == ["Results (2)", "Findings", "Working", "Record"]
    assert book["Runs"]["AH2"].style == "batchcal computed (2)"
    assert free_name("Results", {"results", "Results (2)"}) == "Results (3)"


@pytest.mark.parametrize("text", ["=1+1", "+cmd", "@x", "-2+3", "#N/A"])
def test_dangerous_words_are_marked_as_text(day: Path, text: str) -> None:
    def describe(book: Any) -> None:
        cell = book["Samples"]["B2"]
        cell.value, cell.data_type = text, "s"

    sheet = openpyxl.load_workbook(io.BytesIO(results_of(changed(day, describe))))["Results"]
    cell = next(cell for row in sheet.iter_rows() for cell in row if cell.value == text)
    assert cell.data_type == "s"
    assert bool(cell.quotePrefix) is (text[0] in "=+-@")


def test_what_no_cell_can_hold_is_made_visible() -> None:
    assert visible("a\x00b\x1bc\x7f") == "a␀b␛c␡"
    assert visible("\ud800￾") == "��"
    assert visible("line\r\nline\ttab") == "line\nline\ttab"
    longest = visible("x" * 40_000)
    assert len(longest) == 32_767
    assert longest.endswith("…")
