"""From what is stored of a cell to the cell: numbers, dates, texts, references, formulas; each against an outside."""

import datetime as dt
import math
import unicodedata

import pytest
from hostile import base
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.formula.translate import Translator, TranslatorError
from openpyxl.utils import get_column_letter
from openpyxl.utils.datetime import CALENDAR_MAC_1904, from_excel
from openpyxl.utils.escape import escape, unescape

from batchcal.errors import WorkbookError
from batchcal.workbook import cells
from batchcal.workbook.cells import EMPTY, Cell, CellKind, Trouble
from batchcal.workbook.xlsx import strings, workbook
from batchcal.workbook.xlsx.dates import SINCE_1900, SINCE_1904, from_number, from_text
from batchcal.workbook.xlsx.formats import Format, cell_formats
from batchcal.workbook.xlsx.number_formats import Form, form_by_number, form_of
from batchcal.workbook.xlsx.package import Package
from batchcal.workbook.xlsx.references import LETTERS, UnfitError, address, cell_place, merged_area, row_number
from batchcal.workbook.xlsx.shared_formulas import SharedFormula
from batchcal.workbook.xlsx.sheets import read_sheet
from batchcal.workbook.xlsx.stored import MAX_REPEATED_CHARACTERS, Look, Stored
from batchcal.workbook.xlsx.strings import shared_strings, unescaped

ALL_TEXT = st.text(st.characters(), max_size=12)


@settings(max_examples=400, deadline=None)
@given(
    st.sampled_from(["n", "s", "str", "inlineStr", "b", "e", "d", "x"]),
    st.one_of(
        ALL_TEXT, st.floats().map(repr), st.integers().map(str), st.sampled_from(["0", "1", "true", "2026-05-02"])
    ),
    st.sampled_from(Form),
    st.booleans(),
)
def test_every_content_is_a_number_a_blank_a_trouble_or_refused(kind: str, text: str, form: Form, struck: bool) -> None:
    stored = Stored(["S1", "2.5", " "], [Format(form, struck)], SINCE_1900)
    look = stored.look("0")
    try:
        if kind == "n":
            cell = stored.number(text, look)
        else:
            cell = stored.shared(text, look) if kind == "s" else stored.other(kind, text, look)
    except UnfitError:
        return
    number = cells.as_number(cell or EMPTY)
    assert number is None or isinstance(number, float | Trouble)
    if cell is not None and cell is not EMPTY:
        assert cell.struck is struck
    if isinstance(number, float):
        assert kind == "n"
        assert form is Form.NUMBER
        assert number == float(text)


@settings(max_examples=300, deadline=None)
@given(st.floats(allow_nan=False, allow_infinity=False))
def test_numbers_keep_all_their_digits(number: float) -> None:
    look = Look(Form.NUMBER, struck=False)
    cell = Stored([], [], SINCE_1900).number(repr(number), look)
    assert cell is not None
    assert isinstance(cell.value, float)
    assert math.copysign(1, cell.value) == math.copysign(1, number)
    assert cell.value == number


@pytest.mark.parametrize(
    ("code", "form"),
    [
        ("General", Form.NUMBER), ("0.0000", Form.NUMBER), ("#,##0.00;[Red]-#,##0.00", Form.NUMBER), ("@", Form.NUMBER),
        ("0.00E+00", Form.NUMBER), ("# ?/?", Form.NUMBER), ('0.0 "days"', Form.NUMBER), (r"0\ \d", Form.NUMBER),
        ("[$EUR ]#,##0", Form.NUMBER), ("[Red]0", Form.NUMBER), ("_(* #,##0_);_(* (#,##0)", Form.NUMBER),
        ("", Form.NUMBER),
        ("0%", Form.PER_CENT), ("0.00 %", Form.PER_CENT), ("0;-0%", Form.PER_CENT), ("%0", Form.PER_CENT),
        ('0.00"%"', Form.NUMBER), (r"0.00\%", Form.NUMBER), (r"0.00\ \%", Form.NUMBER), ('0"100%"', Form.NUMBER),
        ("yyyy-mm-dd", Form.DATE), ("DD.MM.YYYY", Form.DATE), ("[$-409]d-mmm-yy", Form.DATE), ("h:mm AM/PM", Form.DATE),
        ("mm:ss.0", Form.DATE), ("mmm", Form.DATE), ("[$-F800]dddd", Form.DATE), ('"day" d', Form.DATE),
        ("[h]:mm", Form.DURATION), ("[mm]:ss", Form.DURATION), ("[ss].00", Form.DURATION), ("[hh]", Form.DURATION),
    ],
)  # fmt: skip
def test_what_a_number_format_shows(code: str, form: Form) -> None:
    assert form_of(code) is form


def test_number_formats_by_number_alone() -> None:
    """ECMA-376 Part 1, 18.8.30 (from memory, unchecked): 14 to 22, 45 to 47 dates and times, 9 and 10 per cent."""
    dates = {*range(14, 23), *range(27, 37), 45, 47, *range(50, 59), *range(71, 82)}
    for number in range(200):
        expected = Form.DATE if number in dates else Form.DURATION if number == 46 else Form.NUMBER
        if number in (9, 10, 67, 68):
            expected = Form.PER_CENT
        assert form_by_number(number) is expected, number


@settings(max_examples=300, deadline=None)
@given(st.floats(-1e7, 1e7), st.booleans(), st.sampled_from([SINCE_1900, SINCE_1904]))
def test_dates_are_those_of_openpyxl(days: float, duration: bool, epoch: dt.datetime) -> None:
    form = Form.DURATION if duration else Form.DATE
    try:
        expected = from_excel(days, epoch, timedelta=duration)
    except (OverflowError, ValueError):
        expected = None
    assert from_number(days, form, epoch) == expected


@pytest.mark.parametrize(
    ("days", "epoch", "moment"),
    [
        # Stored in workbooks by spreadsheet programs for these days: a widely published table, from memory, unchecked.
        (36526, SINCE_1900, dt.datetime(2000, 1, 1)), (61, SINCE_1900, dt.datetime(1900, 3, 1)),
        (1, SINCE_1900, dt.datetime(1900, 1, 1)), (45658.5, SINCE_1900, dt.datetime(2025, 1, 1, 12)),
        (35064, SINCE_1904, dt.datetime(2000, 1, 1)), (0.75, SINCE_1900, dt.time(18)), (0.75, SINCE_1904, dt.time(18)),
        (1e9, SINCE_1900, None), (math.inf, SINCE_1900, None),
    ],
)  # fmt: skip
def test_dates_as_numbers(days: float, epoch: dt.datetime, moment: object) -> None:
    assert from_number(days, Form.DATE, epoch) == moment


@settings(max_examples=300, deadline=None)
@given(st.one_of(st.datetimes(dt.datetime(1905, 1, 1)), st.times()), st.sampled_from(["", "Z"]))
def test_dates_as_texts(moment: dt.datetime | dt.time, end: str) -> None:
    assert from_text(moment.isoformat() + end, Form.DATE, SINCE_1900) == moment


@pytest.mark.parametrize(
    ("text", "epoch", "moment"),
    [
        ("2026-05-02", SINCE_1900, dt.datetime(2026, 5, 2)), ("08:30", SINCE_1900, dt.time(8, 30)),
        ("1899-12-30T08:30:00", SINCE_1900, dt.time(8, 30)), ("1899-12-31T08:30:00", SINCE_1900, dt.time(8, 30)),
        ("1904-01-01T08:30:00", SINCE_1904, dt.time(8, 30)), ("PT26H30M", SINCE_1900, dt.timedelta(hours=26.5)),
        ("1904-01-01T08:30:00", SINCE_1900, dt.datetime(1904, 1, 1, 8, 30)), ("P2D", SINCE_1900, dt.timedelta(2)),
        ("P1DT1.5S", SINCE_1900, dt.timedelta(1, 1.5)),
        ("2026-05-02 08:30", SINCE_1900, dt.datetime(2026, 5, 2, 8, 30)),
    ],
)  # fmt: skip
def test_dates_and_times_as_texts(text: str, epoch: dt.datetime, moment: object) -> None:
    assert from_text(text, Form.DATE, epoch) == moment


@pytest.mark.parametrize("text", ["", "2026-5-2", "20260502", "2026-W18-6", "08:30+02:00", "-PT1H",
                                  "P1Y", "PT", "P", "1e3", "2026-05-02T08", "08:60", "２０２６-05-02", "9" * 5000,
                                  "P99999999D"])  # fmt: skip
def test_texts_that_are_no_dates(text: str) -> None:
    with pytest.raises(UnfitError):
        from_text(text, Form.DATE, SINCE_1900)


@settings(max_examples=500, deadline=None)
@given(ALL_TEXT)
def test_characters_that_are_written_out_are_those_of_openpyxl(text: str) -> None:
    """Against openpyxl.utils.escape, for what it writes; an underscore before such a group is written out as well."""
    assert unescaped(escape(text.replace("_x", "_x005F_x"))) == text
    if "_xD8" not in text.upper():
        assert unescaped(text) == unescape(text)


@pytest.mark.parametrize(
    ("stored", "text"),
    [
        ("2.5_x0007_", "2.5\x07"), ("_x005F_x0007_", "_x0007_"), ("_x005f__x005F_", "__"), ("_x00e4_", "ä"),
        ("_xD83D__xDD25_", "\U0001f525"), ("_xD83D_", "_xD83D_"), ("_xDD25__xD83D_", "_xDD25__xD83D_"),
        ("_xD83D__x0041_", "_xD83D_A"), ("_x41_", "_x41_"), ("_X0041_", "_X0041_"), ("_x００41_", "_x００41_"),
    ],
)  # fmt: skip
def test_characters_that_are_written_out(stored: str, text: str) -> None:
    assert unescaped(stored) == text
    text.encode()


def test_blanks_are_all_that_unicode_counts_as_control_or_blank() -> None:
    for code in range(0x11000):
        if not 0xD800 <= code <= 0xDFFF:
            blank = unicodedata.category(chr(code)) in ("Cc", "Zs")
            assert (cells.clean(f"a{chr(code)}{chr(code)}b") == "a b") is blank, hex(code)


def test_references() -> None:
    assert cell_place("A1") == (1, 1)
    assert cell_place("xfd1048576") == (1_048_576, 16_384)
    assert [address(7, column) for column in (1, 26, 27, 702, 703)] == ["A7", "Z7", "AA7", "ZZ7", "AAA7"]
    assert all(LETTERS[column] == get_column_letter(column) for column in range(1, 16_384 + 1))  # openpyxl's
    assert LETTERS[0] == LETTERS[16_384 + 1] == ""
    assert [row_number(text) for text in ("1", "007", "5.0", "1048576")] == [1, 7, 5, 1_048_576]
    assert merged_area("B2:C3") == merged_area("b2:c3")
    assert merged_area("A:B").last_row == 1_048_576
    assert merged_area("2:3").last_column == 16_384
    for text in ("XFE1", "A1048577", "A0", "", "1A"):
        with pytest.raises(UnfitError):
            cell_place(text)


_REFERENCE = st.builds(
    lambda sheet, dollar, column, again, row: f"{sheet}{dollar}{LETTERS[column]}{again}{row}",
    st.sampled_from(["", "Runs!", "'A1 B2'!", "'it''s'!"]), st.sampled_from(["", "$"]), st.integers(200, 16_000),
    st.sampled_from(["", "$"]), st.integers(200, 1_000_000),
)  # fmt: skip
_OPERAND = st.one_of(
    _REFERENCE,
    st.tuples(_REFERENCE, st.integers(300, 900)).map(lambda two: f"{two[0]}:Z{two[1]}"),
    st.sampled_from([
        "B:$C", "$AA:AB", "3:4", "$7:8", "1.5", "1E5", '"A1"', '"a""B2"', "TRUE", "#REF!", "rate_A1", "x1.y2",
        "LOG10(5)",
        "SUM(C300:D301,E300)", "Table1[[#This Row],[A1]]", "Table1[Mass]", "{1,2;3,4}", "-A300%", "Σ1",
    ]),
)  # fmt: skip


@settings(max_examples=400, deadline=None)
@given(
    st.lists(_OPERAND, min_size=1, max_size=5), st.sampled_from(["+", "*", "&", "<=", " ", ","]),
    st.integers(-150, 150), st.integers(-150, 150),
)  # fmt: skip
def test_shared_formulas_are_those_of_openpyxl(operands: list[str], operator: str, down: int, right: int) -> None:
    """Against openpyxl.formula.translate.Translator."""
    formula = "=" + operator.join(operands)
    origin, destination = (200, 200), (200 + down, 200 + right)
    try:
        expected = Translator(formula, address(*origin)).translate_formula(address(*destination))
    except TranslatorError:
        assert "#REF!" in SharedFormula(formula, *origin).at(*destination)
        return
    assert SharedFormula(formula, *origin).at(*destination) == expected


@pytest.mark.parametrize(
    ("formula", "moved"),
    [
        ("=A1", "=#REF!"), ("=$A$1+B$1", "=$A$1+#REF!"), ("=Runs!A1+1", "=Runs!#REF!+1"), ("=A1:B2", "=#REF!:#REF!"),
        ("=A:A", "=#REF!"), ("=1:2", "=#REF!"), ("=C3", "=A1"), ("=XFE1+ZZZ9", "=XFE1+ZZZ9"),
        ("=C1048577", "=C1048577"),
        ("=C4:INDEX(D:D,3)", "=A2:INDEX(B:B,3)"),
    ],
)  # fmt: skip
def test_a_reference_that_leaves_the_sheet(formula: str, moved: str) -> None:
    assert SharedFormula(formula, 3, 3).at(1, 1) == moved


def test_cells_that_are_the_same_are_one() -> None:
    stored = Stored(["S1", "word " * 50], [Format(), Format(Form.NUMBER, struck=True)], SINCE_1904)
    plain, struck = stored.look("0"), stored.look("1")
    first = stored.shared("0", plain)
    assert first == Cell(CellKind.TEXT, "S1")
    assert plain.texts["0"] is first
    assert stored.shared("0", struck) == Cell(CellKind.TEXT, "S1", None, True)
    assert stored.word("S1", plain) is stored.word("S1", plain)
    assert stored.number("0.25", plain) is plain.numbers["0.25"]
    with pytest.raises(UnfitError, match="over and over"):
        _repeat(stored, plain)


def _repeat(stored: Stored, look: Look) -> None:
    for _ in range(MAX_REPEATED_CHARACTERS // 250 + 1):
        stored.shared("1", look)


def test_1904_is_the_calendar_that_openpyxl_means() -> None:
    assert SINCE_1904 == CALENDAR_MAC_1904 == dt.datetime(1904, 1, 1)


def test_bounds_of_cells_and_texts(monkeypatch: pytest.MonkeyPatch) -> None:
    """The bounds are far beyond any log; here they are drawn close."""
    package = Package("day.xlsx", base.packed(base.parts()))
    runs = package.sheets[1]
    stored = Stored(shared_strings(package), cell_formats(package), SINCE_1900)
    grid, count = read_sheet(package, runs, stored, 40)
    assert count == sum(map(len, grid.rows.values())) == 32 + 4 + 4
    with pytest.raises(WorkbookError, match="sheet Runs has more filled cells"):
        read_sheet(package, runs, stored, 39)
    monkeypatch.setattr(workbook, "MAX_CELLS", 60)
    with pytest.raises(WorkbookError, match="sheet Runs has more filled cells"):
        workbook.grids(package)
    monkeypatch.setattr(strings, "MAX_STRINGS", 75)
    with pytest.raises(WorkbookError, match="holds more than 75 texts"):
        shared_strings(package)
