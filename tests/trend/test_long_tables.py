"""Long tables read back as they were given by another library, odd texts and many rows alike."""

import datetime as dt
import io
import zipfile

import openpyxl
import pytest

from batchcal.workbook.long_tables import LongTables, Value

HEADINGS = ("Date", "Text", "Number", "Whole", "Flag")
DAY = dt.date(2026, 3, 1)


def packed(*tables: list[tuple[Value, ...]]) -> bytes:
    book = LongTables()
    for number, rows in enumerate(tables):
        book.add(f"Table {number}", HEADINGS, rows)
    return book.packed()


def test_every_row_of_a_long_table_comes_back() -> None:
    rows: list[tuple[Value, ...]] = [
        (DAY + dt.timedelta(n), f"S{n}", n / 7, n, n % 2 == 0) if n % 3 else (None, f"T{n}", None, n, None)
        for n in range(2500)
    ]
    data = packed(rows, [], rows[:1])
    assert data == packed(rows, [], rows[:1])
    book = openpyxl.load_workbook(io.BytesIO(data))
    assert [[cell.value for cell in book[name][1]] for name in book.sheetnames] == [list(HEADINGS)] * 3
    for name, given in (("Table 0", rows), ("Table 1", []), ("Table 2", rows[:1])):
        found = list(book[name].iter_rows(min_row=2, values_only=True))
        assert len(found) == len(given)
        for row, expected in zip(found, given, strict=True):
            date, text, number, whole, flag = expected
            at = dt.datetime.combine(date, dt.time()) if isinstance(date, dt.date) else None
            assert row == (at, text, pytest.approx(number, rel=1e-15) if number else number, whole, flag)


@pytest.mark.parametrize(
    ("text", "kept", "marked"),
    [
        ("=1+1", "=1+1", True),
        ("-2", "-2", True),
        ("@x", "@x", True),
        ("a & b < c > d", "a & b < c > d", False),
        (" around ", " around ", False),
        ("two|parts|=1", "two|parts|=1", False),
        ("%s %d %", "%s %d %", False),
        ("\0", "\N{SYMBOL FOR NULL}", False),
        ("bell\x07", "bell\N{SYMBOL FOR BELL}", False),
        ("two\nlines", "two\nlines", False),
        ("#N/A", "#N/A", False),
        ("12", "12", False),
        ("", None, False),
    ],
)
def test_an_odd_text_stays_text_among_plain_rows(text: str, kept: str | None, marked: bool) -> None:
    rows: list[tuple[Value, ...]] = [(DAY, "plain", 1.5, 1, True), (DAY, text, 2.5, 2, False), (DAY, "x", 3.5, 3, True)]
    sheet = openpyxl.load_workbook(io.BytesIO(packed(rows)))["Table 0"]
    cell = sheet["B3"]
    assert (cell.value, cell.quotePrefix) == (kept, marked)
    assert kept is None or cell.data_type == "s"
    assert [row[2] for row in sheet.iter_rows(min_row=2, values_only=True)] == [1.5, 2.5, 3.5]
    assert sheet["A3"].is_date


def test_a_text_longer_than_a_cell_is_shortened() -> None:
    value = openpyxl.load_workbook(io.BytesIO(packed([(DAY, "x" * 40_000, 1.0, 1, True)])))["Table 0"]["B2"].value
    assert isinstance(value, str)
    assert 32_000 < len(value) <= 32_767
    assert value.endswith("…")


def test_nothing_in_the_package_depends_on_the_clock() -> None:
    with zipfile.ZipFile(io.BytesIO(packed([(DAY, "x", 1.0, 1, True)]))) as package:
        assert {part.date_time for part in package.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert all(part.compress_type == zipfile.ZIP_DEFLATED for part in package.infolist())
