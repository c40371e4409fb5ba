"""Tables of the program's own: each row as if its cells were written one by one, and as high as its texts need.

Outside: textwrap of Python, which puts the lines together that are only counted here.
"""

import datetime as dt
import re
import textwrap
from collections.abc import Sequence
from typing import NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lab_packages.one_sheet import MAIN, package

from batchcal.workbook import styles
from batchcal.workbook.own_cells import Look, Value
from batchcal.workbook.own_sheet import OwnSheet
from batchcal.workbook.tables import Column, Looks, _wrapped, write_line, write_table
from batchcal.workbook.xlsx import links as links_of_sheets
from batchcal.workbook.xlsx.links import Link
from batchcal.workbook.xlsx.package import Package
from batchcal.workbook.xlsx.revision import Revision
from batchcal.workbook.xlsx.stylesheet import Stylesheet

WORDS = st.sampled_from(
    ["a", "duplicate", "120.0", "J/g,", "well-kept", "2:", "-", "--", "", "\t", "é", "Ünits", "\u00a0", "x" * 30]
)
VALUES: Sequence[Value] = (
    "", None, "plain", " blanks kept ", "two\nlines", "a & b < c", "=1+1", "-5", "100 %s", "%", "bell \x07", "\0",
    "words " * 9, 0.0, -0.0, 0.1 + 0.2, 8.2, 2.0**-44, 1e22, float("nan"), float("inf"), dt.date(1900, 2, 28),
    dt.date(2026, 10, 14),
)  # fmt: skip


class Three(NamedTuple):
    """A row of the tables written here: contents of its columns, whether it stands out, and which columns lead on."""

    values: tuple[Value, Value, Value]
    strong: bool = False
    leads: tuple[bool, bool] = (False, False)


WIDTHS = (12, 30, 9)
STRONG, PLAIN = Look(styles.STRONG), Look(styles.TEXT)
COLUMNS: tuple[Column[Three], ...] = (
    Column(
        "First", WIDTHS[0], lambda row: row.values[0], Looks(lambda row: row.strong, {True: STRONG, False: PLAIN}),
        link=lambda row: Link("Log", "A1", "tip") if row.leads[0] else None,
    ),
    Column(
        "Second", WIDTHS[1], lambda row: row.values[1], link=lambda row: Link("Log", "B1") if row.leads[1] else None
    ),
    Column(
        "Third", WIDTHS[2], lambda row: row.values[2], Look(styles.STRONG_NUMBER), right=True, blank=Look(styles.NUMBER)
    ),
)  # fmt: skip


def sheet_for(*, from_1904: bool = False) -> OwnSheet:
    revision = Revision(Package("day.xlsx", package(f"<worksheet {MAIN}><sheetData/></worksheet>".encode())))
    return OwnSheet("Table", Stylesheet(revision), from_1904=from_1904)


def part(sheet: OwnSheet) -> str:
    return b"".join(sheet.part("main")).decode()


def write_cell_by_cell(sheet: OwnSheet, rows: Sequence[Three]) -> None:
    for column, heading in enumerate(("First", "Second", "Third"), 1):
        sheet.write(1, column, styles.HEADING_RIGHT if heading == "Third" else styles.HEADING, heading)
    sheet.set_height(1, 17)
    for number, row in enumerate(rows, 2):
        first, second, third = row.values
        holds_nothing = str(third) in {"None", "", "nan", "inf"}
        sheet.write(
            number, 1, styles.STRONG if row.strong else styles.TEXT, first,
            link=Link("Log", "A1", "tip") if row.leads[0] else None,
        )  # fmt: skip
        sheet.write(number, 2, styles.TEXT, second, link=Link("Log", "B1") if row.leads[1] else None)
        sheet.write(number, 3, styles.NUMBER if holds_nothing else styles.STRONG_NUMBER, third)
        lines = [
            len(textwrap.wrap(value, int(width * 1.18 - 2)))
            for value, width in zip(row.values, WIDTHS, strict=True)
            if isinstance(value, str)
        ]
        sheet.set_height(number, 13 * max([1, *lines]) + 4)


THREE = st.builds(
    Three, st.tuples(*[st.sampled_from(VALUES)] * 3), st.booleans(), st.tuples(st.booleans(), st.booleans())
)


@given(st.lists(THREE, max_size=12), st.integers(1, 90), st.integers(0, 40), st.booleans())
def test_rows_are_those_of_cells_written_one_by_one(rows: list[Three], times: int, room: int, from_1904: bool) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(links_of_sheets, "MOST_LINKS", room)
        table, cells = sheet_for(from_1904=from_1904), sheet_for(from_1904=from_1904)
    rows *= times
    assert write_table(table, 1, COLUMNS, rows) == len(rows) + 2
    write_cell_by_cell(cells, rows)
    assert table.links.left_out == cells.links.left_out
    assert part(table) == part(cells)


def test_links_of_lines_and_tables_stand_in_their_order() -> None:
    sheet = sheet_for()
    row = write_line(sheet, 1, "above", styles.SUBTITLE, link=Link("Log", "C1"))
    row = write_table(sheet, row, COLUMNS, [Three(("a", "b", 1.0), leads=(True, True))])
    row = write_table(sheet, row, COLUMNS, [Three(("a", "b", 1.0), leads=(False, True))])
    write_line(sheet, row, "below", styles.SUBTITLE, link=Link("Log", "D1"))
    assert re.findall('<hyperlink ref="([A-Z0-9]+)"', part(sheet)) == ["A1", "A3", "B3", "B5", "A6"]


def test_numbers_are_shown_in_their_form_and_as_they_are_rounded() -> None:
    sheet = sheet_for()
    columns: tuple[Column[float | None], ...] = (
        Column("As it is", 9, lambda value: value, Look(styles.NUMBER, "0.0"), right=True),
        Column(
            "Rounded", 9, lambda value: value, Look(styles.NUMBER, "0"), right=True, rounded=lambda value: value + 1
        ),
    )
    write_table(sheet, 1, columns, [1.25, None])
    number = sheet.formats.number
    assert (
        f'<c r="A2" s="{number(styles.NUMBER, "0.0")}" t="n"><v>1.25</v></c>'
        f'<c r="B2" s="{number(styles.NUMBER, "0")}" t="n"><v>2.25</v></c></row>'
    ) in part(sheet)


def test_rows_are_written_some_at_a_time_once_the_part_is_made() -> None:
    asked: list[int] = []

    def value(row: int) -> float:
        asked.append(row)
        return float(row)

    sheet = sheet_for()
    write_table(sheet, 1, [Column("Number", 9, value, right=True)], range(2_000))
    asked.clear()
    for piece in sheet.part("main"):
        # What is not written yet has not been asked for.
        written = [int(row) for row in re.findall(rb'<row r="(\d+)"', piece)]
        assert len(written) <= 500
        if written and written != [1]:
            assert asked[-1] == written[-1] - 2
    assert asked == list(range(2_000))


@given(st.lists(WORDS, min_size=1, max_size=30).map(" ".join), st.integers(1, 40))
def test_lines_are_those_of_wrapping(text: str, width: int) -> None:
    assert _wrapped(text, width) == len(textwrap.wrap(text, width))


@given(st.text(alphabet="ab -\n\t.—\u2009", max_size=60), st.integers(1, 20))
def test_lines_of_any_text(text: str, width: int) -> None:
    assert _wrapped(text, width) == len(textwrap.wrap(text, width))
