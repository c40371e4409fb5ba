"""Single cells: what is taken, and what is doubtful."""

import datetime as dt

import pytest

from batchcal.terms import Use
from batchcal.workbook import cells
from batchcal.workbook.cells import EMPTY, Cell, CellKind, Trouble


def text(value: str) -> Cell:
    return Cell(CellKind.TEXT, value)


def number(value: float) -> Cell:
    return Cell(CellKind.NUMBER, value)


def code(found: object) -> str:
    assert isinstance(found, Trouble), found
    return found.code


def test_blank_is_blank_everywhere() -> None:
    assert cells.as_number(EMPTY) is None
    assert cells.as_date(EMPTY) is None
    assert cells.as_time(EMPTY) is None
    assert cells.as_choice(EMPTY, tuple(Use)) is None
    assert cells.as_identifier(EMPTY) == ""
    assert cells.as_text(EMPTY) == ""


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("12,5", "decimal-comma"), ("1.234,5", "decimal-comma"), ("1,234.5", "decimal-comma"),
        ("-0,5", "decimal-comma"), ("1 234,5", "decimal-comma"),
        ("12.5", "number-as-text"), ("+.5", "number-as-text"), ("1E-3", "number-as-text"),
        ("12.5 g", "stray-unit"), ("12,5 g", "stray-unit"), ("4%", "stray-unit"), ("3*", "stray-unit"),
        ("n.d.", "text-in-number"), ("<0.1", "text-in-number"), ("nan", "text-in-number"), ("inf", "text-in-number"),
        ("١٢", "number-as-text"), ("１２．５", "number-as-text"), ("−2.5", "text-in-number"), ("?", "text-in-number"),
    ],
)  # fmt: skip
def test_text_in_a_number_column(written: str, expected: str) -> None:
    assert code(cells.as_number(text(written))) == expected


@pytest.mark.parametrize("value", [float("inf"), float("-inf"), float("nan")])
def test_numbers_that_are_none(value: float) -> None:
    assert code(cells.as_number(number(value))) == "number-beyond-reach"


def test_errors_and_formulas_without_a_value_are_doubtful_in_every_column() -> None:
    for cell, expected in ((Cell(CellKind.ERROR, "#N/A"), "error-cell"),
                           (Cell(CellKind.UNCALCULATED), "formula-without-value")):  # fmt: skip
        for found in (
            cells.as_number(cell), cells.as_identifier(cell), cells.as_text(cell), cells.as_date(cell),
            cells.as_time(cell), cells.as_choice(cell, tuple(Use)),
        ):  # fmt: skip
            assert code(found) == expected


@pytest.mark.parametrize(
    ("cell", "name"),
    [
        (text(" 0012 "), "0012"), (text("S 1\u00a0a"), "S 1 a"), (number(12.0), "12"), (number(0.0), "0"),
        (number(999999999999999.0), "999999999999999"),
    ],
)  # fmt: skip
def test_names_are_text_and_whole_numbers_their_digits(cell: Cell, name: str) -> None:
    assert cells.as_identifier(cell) == name


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        (number(12.5), "identifier-unreadable"), (number(1e15), "identifier-unreadable"),
        (Cell(CellKind.BOOLEAN, True), "identifier-unreadable"),
        (Cell(CellKind.DATE, dt.datetime(2026, 5, 2)), "identifier-as-date"),
        (Cell(CellKind.TIME, dt.time(1, 2)), "identifier-as-date"),
    ],
)  # fmt: skip
def test_names_that_cannot_be_taken(cell: Cell, expected: str) -> None:
    assert code(cells.as_identifier(cell)) == expected


def test_dates_are_dates_or_year_month_day() -> None:
    assert cells.as_date(Cell(CellKind.DATE, dt.datetime(2026, 5, 2, 14, 30))) == dt.date(2026, 5, 2)
    assert cells.as_date(text(" 2026-05-02 ")) == dt.date(2026, 5, 2)
    for written in ("2026-02-30", "2.5.2026", "05/02/2026", "2026-5-2", "20260502", "soon"):
        assert code(cells.as_date(text(written))) == "date-unreadable"
    assert code(cells.as_date(number(46000.0))) == "date-unreadable"
    assert code(cells.as_date(Cell(CellKind.BOOLEAN, True))) == "date-unreadable"


def test_times() -> None:
    assert cells.as_time(Cell(CellKind.TIME, dt.time(14, 30))) == dt.time(14, 30)
    assert cells.as_time(Cell(CellKind.DATE, dt.datetime(2026, 5, 2, 14, 30))) == dt.time(14, 30)
    assert cells.as_time(text("14:30")) == dt.time(14, 30)
    assert code(cells.as_time(text("half past two"))) == "date-unreadable"
    assert code(cells.as_time(number(0.5))) == "date-unreadable"


def test_words_of_a_list() -> None:
    assert cells.as_choice(text(" Set  Aside "), tuple(Use)) == "set aside"
    found = cells.as_choice(text("aside"), tuple(Use))
    assert code(found) == "word-not-in-list"
    assert isinstance(found, Trouble)
    assert dict(found.details)["choices"] == "use, set aside"


@pytest.mark.parametrize(("value", "places"), [(2.5, 1), (2.0, 0), (2.123, 3), (0.1 + 0.2, 1), (2.50001, 5), (1e-9, 0)])
def test_decimals_as_typed(value: float, places: int) -> None:
    assert cells.decimals(value) == places


def test_what_is_shown_of_a_cell_stays_on_one_line_and_short() -> None:
    shown = text("line\nbreak\t" + "x" * 100).text
    assert "\n" not in shown
    assert len(shown) == 60
    assert number(1e22).text == "1e+22"
    assert number(2390.0).text == "2390"


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("26-1041", None), ("Größe 3", None), ("标样 2", None), ("two\nlines", None), ("26\x071041", "unseen-signs"),
        ("26-1041\u200b", "unseen-signs"), ("\u202e1401-62", "unseen-signs"), ("\ufeff26-1041", "unseen-signs"),
        ("x" * 101, "text-too-long"), ("x" * 100, None),
    ],
)  # fmt: skip
def test_an_id_holds_nothing_that_nobody_sees(text: str, code: str | None) -> None:
    """Two ids that look the same would not be joined."""
    found = cells.as_identifier(Cell(CellKind.TEXT, text))
    assert (found.code if isinstance(found, Trouble) else None) == code


@pytest.mark.parametrize(
    ("text", "code"),
    [("soft\u00adhyphen", None), ("a\tb\r\nc", None), ("a\x00b", "unseen-signs"), ("x" * 32768, "text-too-long")],
)
def test_a_text_holds_no_controls(text: str, code: str | None) -> None:
    found = cells.as_text(Cell(CellKind.TEXT, text))
    assert (found.code if isinstance(found, Trouble) else None) == code
