"""Workbooks in the .xls form, made by the library xlwt; and what the process that reads them does not let through."""

import datetime as dt
import io
import random
import struct
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import xlwt  # type: ignore[import-untyped]
from logbook import plain_log
from workbook_as_ods import tables_of

from batchcal.errors import WorkbookError
from batchcal.evaluate import evaluate
from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.foreign import xls, xls_child
from batchcal.workbook.foreign.xls import allowed_seconds, read_xls
from batchcal.workbook.grid import Grid, Merged
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import open_source

OLE = bytes.fromhex("D0CF11E0A1B11AE1")


def made(fill: Callable[[Any], object], titles: tuple[str, ...] = ("Runs",), dates_1904: bool = False) -> bytes:
    book = xlwt.Workbook()
    book.dates_1904 = int(dates_1904)
    for title in titles:
        fill(book.add_sheet(title))
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def grid(fill: Callable[[Any], object], **more: Any) -> Grid:
    return read_xls("day.xls", made(fill, **more))[0]


def refused(data: bytes) -> str:
    with pytest.raises(WorkbookError) as caught:
        read_xls("day.xls", data)
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("day.xls: ")
    assert len(str(caught.value)) < 250
    return str(caught.value)


FORM = xlwt.easyxf


def test_what_cells_hold() -> None:
    def fill(sheet: Any) -> None:
        sheet.write(0, 0, 1.25)
        sheet.write(1, 0, "0123")
        sheet.write(2, 0, True)
        sheet.write(3, 0, 0.04, FORM(num_format_str="0.0%"))
        sheet.write(4, 0, 46309, FORM(num_format_str="yyyy-mm-dd"))
        sheet.write(5, 0, 0.395833333333333, FORM(num_format_str="hh:mm"))
        sheet.write(6, 0, 1.25, FORM(num_format_str="[h]:mm"))
        sheet.write(7, 0, 12.5, FORM(num_format_str='0.00" %"'))
        sheet.write(8, 0, 1e9, FORM(num_format_str="yyyy-mm-dd"))
        sheet.write(9, 0, "  ")
        sheet.write(10, 0, "", FORM("font: bold true"))
        sheet.row(11).set_cell_error(0, 0x07)
        sheet.row(12).set_cell_error(0, 0x2A)

    found = grid(fill)
    assert [(cell.kind, cell.value) for row in range(1, 14) for cell in [found.cell(row, 1)]] == [
        (CellKind.NUMBER, 1.25),
        (CellKind.TEXT, "0123"),
        (CellKind.BOOLEAN, True),
        (CellKind.PER_CENT, 0.04),
        (CellKind.DATE, dt.datetime(2026, 10, 14)),
        (CellKind.TIME, dt.time(9, 30)),
        (CellKind.TIME, dt.timedelta(hours=30)),
        (CellKind.NUMBER, 12.5),
        (CellKind.ERROR, "#VALUE!"),
        (CellKind.EMPTY, None),
        (CellKind.EMPTY, None),
        (CellKind.ERROR, "#DIV/0!"),
        (CellKind.ERROR, "#N/A"),
    ]


def test_dates_that_count_from_1904() -> None:
    """1 462 days lie between the two beginnings: 1900-01-00 with the 29 February that was none, and 1904-01-01."""
    found = grid(lambda sheet: sheet.write(0, 0, 46309 - 1462, FORM(num_format_str="yyyy-mm-dd")), dates_1904=True)
    assert found.cell(1, 1) == Cell(CellKind.DATE, dt.datetime(2026, 10, 14))


def test_hidden_rows_struck_cells_and_merged_areas() -> None:
    def fill(sheet: Any) -> None:
        sheet.write(0, 0, "a")
        sheet.write(1, 0, "b")
        sheet.write(2, 0, "gone", FORM("font: struck_out true"))
        sheet.write_merge(3, 4, 0, 2, "m")
        sheet.row(1).hidden = True

    found = grid(fill)
    assert (found.hidden_rows, found.filtered, found.merged) == (frozenset({2}), False, (Merged(4, 1, 5, 3),))
    assert [found.cell(row, 1).struck for row in range(1, 5)] == [False, False, True, False]


def test_formulas_that_were_never_calculated() -> None:
    def fill(sheet: Any) -> None:
        sheet.write(0, 0, 2.0)
        sheet.write(1, 0, xlwt.Formula("A1*2"))
        sheet.write(2, 0, xlwt.Formula('IF(A1>3;"";1)'))

    found = grid(fill)
    assert found.cell(2, 1) == Cell(CellKind.UNCALCULATED, None, "=A1*2.0")
    assert found.cell(3, 1).kind is CellKind.EMPTY


def test_sheets_in_their_order() -> None:
    titles = ("Runs", "Setup", "Ünläut 17")
    assert tuple(one.title for one in read_xls("day.xls", made(lambda sheet: sheet.write(0, 0, 1), titles))) == titles


def test_a_far_cell_costs_nothing() -> None:
    found = grid(lambda sheet: sheet.write(65535, 255, 1.0))
    assert {row: list(cells) for row, cells in found.rows.items()} == {65536: [256]}


def test_a_log_gives_what_the_same_log_gives_as_xlsx(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.52)
    log.rows["Runs"][1]["Remark"] = "Grube A – 25 °C"
    book = xlwt.Workbook()
    for title, headings, rows in tables_of(log):
        sheet = book.add_sheet(title)
        for number, row in enumerate([headings, *rows]):
            for column, value in enumerate(row):
                if value is not None:
                    day = isinstance(value, dt.date)
                    sheet.write(number, column, value, FORM(num_format_str="yyyy-mm-dd") if day else FORM())
    path = tmp_path / "day.xls"
    book.save(str(path))
    old, new = (evaluate(read_workbook(open_source(one))) for one in (path, log.save(tmp_path)))
    assert old.samples == new.samples
    assert old.firings == new.firings
    assert [finding.message for finding in old.findings] == [finding.message for finding in new.findings]
    assert old.samples[0].gross_J_per_g


def test_what_is_no_workbook_or_a_broken_one() -> None:
    good = made(lambda sheet: sheet.write(0, 0, 1.0))
    assert "damaged" in refused(OLE + b"\0" * 2048)
    assert "damaged" in refused(good[:1000])
    assert "damaged" in refused(good[: len(good) // 2])
    assert "damaged" in refused(b"no workbook at all")
    assert "older than 1993" in refused(bytes.fromhex("0900040007001000") + b"\x0a\0\0\0")


def test_a_workbook_with_a_password() -> None:
    """The record of a password (FILEPASS, 0x002F) takes the place of the one behind the beginning of the workbook."""
    good = bytearray(made(lambda sheet: sheet.write(0, 0, 1.0)))
    begin = good.index(struct.pack("<HHHH", 0x0809, 16, 0x0600, 0x0005))
    struct.pack_into("<H", good, begin + 4 + 16, 0x002F)
    assert "protected by a password; save a copy without one" in refused(bytes(good))


def test_by_its_ending(tmp_path: Path) -> None:
    path = tmp_path / "day.xls"
    path.write_bytes(made(lambda sheet: sheet.write(0, 0, 1.5)))
    assert open_source(path).grids[0].cell(1, 1) == Cell(CellKind.NUMBER, 1.5)
    for data, says in (
        (plain_log(2.5).bytes(), "a newer workbook under another ending"),
        (b"<html><table>", "a web page under another ending"),
        (b"Firing no.\tMass\r\n1\t1.5\r\n", "a text file, such as CSV"),
        (OLE + b"\0" * 512 + "EncryptedPackage".encode("utf-16-le"), "password"),
        (b"", "empty"),
    ):
        path.write_bytes(data)
        with pytest.raises(WorkbookError, match=says):
            open_source(path)


def test_noise_raises_nothing_else() -> None:
    chance = random.Random(20261127)

    def fill(sheet: Any) -> None:
        for row in range(20):
            sheet.write(row, 0, row * 1.25, FORM(num_format_str="0.00"))
            sheet.write(row, 1, f"text {row}")
            sheet.write(row, 2, xlwt.Formula(f"A{row + 1}*2"))

    plain = made(fill)
    outcomes = set()
    for _ in range(40):
        noisy = bytearray(plain)
        for _ in range(chance.choice([1, 5, 50])):
            noisy[chance.randrange(len(noisy))] = chance.randrange(256)
        try:
            read_xls("day.xls", bytes(noisy))
        except WorkbookError as error:
            outcomes.add("refused")
            assert "\n" not in str(error)  # noqa: PT017 - most are read
        else:
            outcomes.add("read")
    assert outcomes == {"refused", "read"}


def test_a_process_that_runs_over_or_dies_is_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stub = tmp_path / "stub"

    def play(script: str) -> str:
        stub.write_text(f"#!/bin/sh\n{script}\n")
        stub.chmod(0o755)
        monkeypatch.setattr(xls, "get_executable", lambda: str(stub))
        return refused(b"anything")

    monkeypatch.setattr(xls, "allowed_seconds", lambda size: 0.2)
    assert "cannot be read within 0 s; it is damaged or too large" in play("exec sleep 60")
    monkeypatch.setattr(xls, "allowed_seconds", lambda size: 30)
    assert "damaged and cannot be read (it broke off)" in play("kill -9 $$")
    assert "damaged and cannot be read (MemoryError)" in play("echo Traceback >&2; echo MemoryError >&2; exit 1")
    stub.unlink()
    monkeypatch.setattr(xls, "get_executable", lambda: str(stub))
    assert "cannot be started" in refused(b"anything")


def test_the_bounds_of_the_process() -> None:
    assert [allowed_seconds(size) for size in (0, 5_000_000, 10**9)] == [10, 20, 60]
    assert "is 201 MB large" in refused(OLE + b"\0" * 201_000_000)
    program = (
        "from batchcal.workbook.foreign import xls_child as child; child._bound_memory(); "
        "data = bytearray(2 * child.MEMORY_BYTES)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert done.stderr.strip().endswith("MemoryError")


def test_a_workbook_larger_than_any_log(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(xls_child, "MAX_CELLS", 3)
    answer = xls_child._answer(made(lambda sheet: [sheet.write(0, column, 1.0) for column in range(4)]))
    assert "more than 3 filled cells" in answer["refused"]


def test_nothing_in_the_folder_of_the_workbook_is_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "xlrd.py").write_text("raise SystemExit('run from the folder')\n")
    (tmp_path / "json.py").write_text("raise SystemExit('run from the folder')\n")
    monkeypatch.chdir(tmp_path)
    assert grid(lambda sheet: sheet.write(0, 0, 1.5)).cell(1, 1).value == 1.5
