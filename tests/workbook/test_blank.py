"""The blank workbook: complete, lists where lists are closed, limits, what to leave, paper, and filled by a person."""

import datetime as dt
import io
import json
import re
import subprocess
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from logbook import (
    AMENDMENT_HEADINGS,
    EQUIPMENT_HEADINGS,
    FIRING_HEADINGS,
    SAMPLE_HEADINGS,
    SETUP_HEADINGS,
    TITRATION_HEADINGS,
)
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet
from programs import program

from batchcal.cli import cli
from batchcal.workbook import blank, setup_sheet
from batchcal.workbook.blank import blank_workbook
from batchcal.workbook.layout import SHEETS as LAYOUT
from batchcal.workbook.leave import leave_rules
from batchcal.workbook.notes import READ_FROM
from batchcal.workbook.paper import PAGE_BEGINS

SHEETS = {
    "Setup": SETUP_HEADINGS,
    "Calibration": FIRING_HEADINGS,
    "Runs": FIRING_HEADINGS,
    "Titration": TITRATION_HEADINGS,
    "Samples": SAMPLE_HEADINGS,
    "Readings": ["Firing no.", "Time (min)", "Temperature (°C)", "Period"],
    "Titrant": [
        "Titrant",
        "Standardised on",
        "Primary standard",
        "Portion (g)",
        "Molar mass (g/mol)",
        "Equivalents per mole",
        "Titre (mL)",
        "Blank (mL)",
    ],
    "Equipment": EQUIPMENT_HEADINGS,
    "Amendments": AMENDMENT_HEADINGS,
}


@pytest.fixture(scope="module")
def book() -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(blank_workbook()))


def heading(sheet: Worksheet, text: str) -> Any:
    return next(cell for cell in sheet[2] if cell.value == text)


def rule_of(sheet: Worksheet, text: str) -> DataValidation:
    """Return the one rule on the first cell to type below a heading."""
    cell = heading(sheet, text).offset(row=1).coordinate
    rules: list[DataValidation] = [rule for rule in sheet.data_validations.dataValidation if cell in rule.sqref]
    assert len(rules) == 1
    return rules[0]


def test_sheets_stand_in_the_order_of_work_after_a_first_that_explains(book: openpyxl.Workbook) -> None:
    assert book.sheetnames[1:] == list(SHEETS)
    words = " ".join(str(cell.value) for row in book.worksheets[0].iter_rows() for cell in row if cell.value)
    for word in ("oxygen", "instructions", "trained"):
        assert word in words.lower()


def test_the_first_sheet_explains_in_a_dozen_lines_and_leads_to_every_sheet(book: openpyxl.Workbook) -> None:
    sheet = book.worksheets[0]
    numbers = [str(cell.value) for cell in sheet["B"] if cell.value is not None and str(cell.value).isdigit()]
    assert numbers[-12:] == [str(number) for number in range(1, 13)]
    links = {cell.value: cell.hyperlink.location for cell in sheet["B"] if cell.hyperlink is not None}
    assert list(links) == list(SHEETS)
    for name, place in links.items():
        title, _, cell = place.partition("!")
        assert title.strip("'") == name
        assert not book[name][cell].protection.locked, name  # a cell to type


@pytest.mark.parametrize("name", SHEETS)
def test_headings_are_the_contract_s_and_each_has_a_note(book: openpyxl.Workbook, name: str) -> None:
    row = [cell for cell in book[name][2] if cell.value is not None]
    assert sorted(str(cell.value) for cell in row) == sorted(SHEETS[name])
    assert all(cell.comment is not None for cell in row)
    assert book[name].freeze_panes == ("C3" if name == "Setup" else "B3")


@pytest.mark.parametrize("sheet", LAYOUT[1:], ids=[sheet.name for sheet in LAYOUT[1:]])
def test_each_figure_says_its_unit_its_decimals_and_where_it_is_read(book: openpyxl.Workbook, sheet: Any) -> None:
    for column in sheet.columns:
        if column.kind not in ("number", "time"):
            continue
        note = heading(book[sheet.name], column.heading).comment.text
        assert f"Read from: {READ_FROM[column.field]}." in note
        if column.kind == "number":
            assert f"Decimals: {column.decimals}." in note or "A whole number." in note
            # A strength has its unit in a column of its own; a count has none.
            assert column.unit or column.field == "concentration" or column.decimals == 0, column.heading


def test_nothing_is_said_of_a_column_that_is_not_there() -> None:
    assert set(READ_FROM) <= {column.field for sheet in LAYOUT for column in sheet.readable}
    assert set(blank.GROUPS) <= {column.field for sheet in LAYOUT for column in sheet.columns}


def test_closed_lists_are_offered(book: openpyxl.Workbook) -> None:
    lists = {rule.formula1: rule for rule in book["Runs"].data_validations.dataValidation if rule.type == "list"}
    for words in ("calibration,check,aid,sample,trial", "good,misfire,incomplete,leak,spoiled,lost"):
        rule = lists[f'"{words}"']
        assert (rule.errorStyle, rule.showErrorMessage, rule.allow_blank) == ("stop", True, True)
    # What no list can hold has none.
    for text in ("Analyst", "Aid", "Residue", "Remark", "Calorimeter", "Bomb"):
        cell = heading(book["Runs"], text).offset(row=1).coordinate
        assert not any(cell in rule.sqref for rule in book["Runs"].data_validations.dataValidation)


@pytest.mark.parametrize(
    ("sheet", "text", "expected"),
    [
        ("Runs", "Crucible (g)", ("stop", "decimal", "greaterThanOrEqual", "0", None)),
        ("Runs", "Wire fitted (cm)", ("stop", "decimal", "greaterThanOrEqual", "0", None)),
        ("Runs", "Oxygen pressure (MPa)", ("stop", "decimal", "greaterThanOrEqual", "0", None)),
        ("Runs", "Water in bomb (mL)", ("stop", "decimal", "greaterThanOrEqual", "0", None)),
        ("Titration", "Titre (mL)", ("stop", "decimal", "greaterThanOrEqual", "0", None)),
        ("Titration", "Concentration", ("stop", "decimal", "greaterThanOrEqual", "0", None)),
        ("Samples", "Ash (%)", ("stop", "decimal", "between", "0", "100")),
        ("Titrant", "Molar mass (g/mol)", ("stop", "decimal", "greaterThanOrEqual", "0", None)),
        # A zeroed indicator may show less than 0, a rate may have either sign: asked about, never refused.
        ("Runs", "Initial temperature (°C)", ("warning", "decimal", "between", "15", "35")),
        ("Runs", "Temperature rise (K)", ("warning", "decimal", "between", "0.5", "5")),
        ("Runs", "Heat-exchange correction (K)", ("warning", "decimal", "between", "-0.1", "0.1")),
        ("Readings", "Time (min)", ("warning", "decimal", "between", "-10", "40")),
        ("Runs", "Date", ("warning", "date", "greaterThan", "36526", None)),
        ("Runs", "Time", ("warning", "time", "between", "0", "0.999988426")),
    ],
)
def test_the_impossible_is_refused_and_the_unusual_asked(
    book: openpyxl.Workbook, sheet: str, text: str, expected: tuple[str | None, ...]
) -> None:
    rule = rule_of(book[sheet], text)
    assert rule.showErrorMessage
    assert rule.error
    assert (rule.errorStyle or "stop", rule.type, rule.operator or "between", rule.formula1, rule.formula2) == expected


@pytest.mark.parametrize("sheet", LAYOUT[1:], ids=[sheet.name for sheet in LAYOUT[1:]])
def test_what_is_outside_the_usual_is_shown_and_every_rule_reaches_as_far(book: openpyxl.Workbook, sheet: Any) -> None:
    worksheet = book[sheet.name]
    reach = f"{{0}}3:{{0}}{blank.LAST_ROW}"
    marked = {str(each.sqref) for each in worksheet.conditional_formatting for rule in each.rules if rule.dxf.font}
    for column in sheet.columns:
        letter = heading(worksheet, column.heading).column_letter
        assert (reach.format(letter) in marked) == (column.usual is not None), column.heading
    assert all(re.fullmatch(rf"(?P<column>[A-Z]+)3:(?P=column){blank.LAST_ROW}", str(rule.sqref))
               for rule in worksheet.data_validations.dataValidation)  # fmt: skip


def test_decimals_that_are_typed_remain_seen(book: openpyxl.Workbook) -> None:
    """12.75 is shown as 12.7500, and the fifth place of a finer balance is not hidden."""
    for text, form in (("Crucible (g)", "0.0000###"), ("Final temperature (°C)", "0.000###")):
        cell = heading(book["Runs"], text)
        assert cell.offset(row=1).number_format == form
        assert book["Runs"].column_dimensions[cell.column_letter].number_format == form  # the rows below as well


def test_ids_are_text(book: openpyxl.Workbook) -> None:
    sheet = book["Runs"]
    cell = heading(sheet, "Sample no.")
    assert cell.offset(row=1).number_format == "@"
    assert sheet.column_dimensions[cell.column_letter].number_format == "@"


@pytest.mark.parametrize("name", list(SHEETS)[1:])
def test_cells_to_type_are_open_and_headings_are_not_should_a_lab_protect_a_sheet(
    book: openpyxl.Workbook, name: str
) -> None:
    sheet = book[name]
    assert not sheet.protection.sheet
    for text in SHEETS[name]:
        cell = heading(sheet, text)
        assert cell.protection.locked
        assert not cell.offset(row=1).protection.locked
        assert not sheet.column_dimensions[cell.column_letter].protection.locked


def test_setup_greys_what_is_not_typed_and_names_its_groups(book: openpyxl.Workbook) -> None:
    sheet = book["Setup"]
    rows = {sheet.cell(row, 2).value: row for row in range(3, sheet.max_row + 1)}
    grey = {text: [sheet.cell(row, column).protection.locked for column in range(2, 7)] for text, row in rows.items()}
    #                       item  value  unit  source day
    assert grey["Analyst"] == [True, False, True, True, True]
    assert grey["Method"] == [True, False, True, False, False]
    assert grey["Wire heat"] == [True, False, False, False, False]
    assert grey["Aid heat [name]"] == [False, False, False, False, False]
    captions = [sheet.cell(row, 1).value for row in range(3, sheet.max_row + 1) if sheet.cell(row, 1).value]
    assert captions == list(setup_sheet.GROUPS.values())


@pytest.mark.parametrize("sheet", LAYOUT[1:], ids=[sheet.name for sheet in LAYOUT[1:]])
def test_every_sheet_prints_a_page_of_ruled_rows_with_its_headings(book: openpyxl.Workbook, sheet: Any) -> None:
    worksheet = book[sheet.name]
    last = get_column_letter(len(sheet.columns))
    # All of its columns, down to whatever row is filled.
    assert worksheet.print_area == f"'{sheet.name}'!$A$1:${last}$1048576"
    assert worksheet.print_title_rows == "$1:$2"
    ruled = [row for row in range(3, worksheet.max_row + 1) if worksheet.cell(row, 1).border.bottom.style]
    assert ruled == list(range(3, 3 + len(ruled)))
    assert 18 <= len(ruled) <= 45
    begins = (
        [column.field for column in sheet.columns].index(PAGE_BEGINS[sheet.role][0]) if sheet.role in PAGE_BEGINS else 0
    )
    assert [each.id for each in worksheet.col_breaks.brk] == ([begins] if begins else [])
    assert (worksheet.print_title_cols == "$A:$A") == bool(begins)


def test_what_to_leave_names_cells_that_are_there(book: openpyxl.Workbook) -> None:
    assert set(book.defined_names) == {"acid_scheme", "fixed_ignition_heat"}
    for name, item in (("acid_scheme", "Acid scheme"), ("fixed_ignition_heat", "Fixed ignition heat")):
        sheet, place = next(book.defined_names[name].destinations)
        assert book[sheet][place].offset(column=-1).value == item
    for sheet in LAYOUT[1:]:
        cells = {column.field: f"$A${index}" for index, column in enumerate(sheet.columns)}
        for field, formula in leave_rules(sheet, cells):
            assert field in cells
            assert "{" not in formula


def test_the_same_every_time() -> None:
    assert blank_workbook() == blank_workbook()


def _converted(folder: Path, kind: str, *paths: Path) -> list[Path]:
    """Have LibreOffice open the workbooks, work them out and write them anew into a folder."""
    office = program("soffice")
    subprocess.run(
        [office, f"-env:UserInstallation=file://{folder}/profile", "--headless", "--convert-to", kind,
         "--outdir", str(folder), *map(str, paths)],
        check=True, capture_output=True,
    )  # fmt: skip
    return [folder / f"{path.stem}.{kind}" for path in paths]


def test_another_program_opens_it_and_prints_each_sheet_on_its_pages(tmp_path: Path) -> None:
    path = tmp_path / "blank.xlsx"
    path.write_bytes(blank_workbook())
    pdf = _converted(tmp_path, "pdf", path)[0].read_bytes()
    # Start, Setup on two, two across of Calibration, Runs and Samples, one of the other five.
    assert pdf.count(b"/Type/Page/") + pdf.count(b"/Type/Page\n") + pdf.count(b"/Type /Page\n") == 14


FIXED = ("wire_fitted_cm", "wire_left_cm", "wire_mass_g", "thread_g")
BEGUN = {"series", "aid_mass_g", "aid_2", "aid_2_mass_g", "capsule_in_tare", "reason"}
"""What is grey in each row of Runs that was begun, unless the row holds what it belongs to."""
ROWS: list[tuple[dict[str, str | float], set[str]]] = [
    ({}, set()),
    ({"firing": "1"}, BEGUN),
    ({"firing": "1", "crucible_g": 12.75}, BEGUN | {"mass_g"}),
    ({"firing": "1", "crucible_g": 12.75, "mass_g": 1.0}, BEGUN | {"crucible_and_sample_g"}),  # never what is filled
    ({"firing": "1", "rise_K": 2.5}, BEGUN | {"initial_C", "final_C"}),
    ({"firing": "1", "initial_C": 24.0}, BEGUN | {"rise_K"}),
    ({"firing": "1", "outcome": "good"}, BEGUN),
    (
        {"firing": "1", "outcome": "misfire"},  # its reason is welcome
        BEGUN - {"reason"} | {"initial_C", "final_C", "rise_K", "heat_exchange_K"},
    ),
    ({"firing": "1", "wire_fitted_cm": 10}, BEGUN | {"wire_mass_g"}),
    ({"firing": "1", "wire_mass_g": 12}, BEGUN | {"wire_fitted_cm", "wire_left_cm"}),
    ({"firing": "1", "purpose": "check"}, BEGUN | {"sample", "replicate"}),
    ({"firing": "1", "purpose": "calibration"}, BEGUN - {"series"} | {"sample", "replicate"}),
    ({"firing": "1", "aid": "oil"}, BEGUN - {"aid_mass_g", "aid_2"}),
    ({"firing": "1", "use": "set aside"}, BEGUN - {"reason"}),
    ({"firing": "1", "capsule_mass_g": 0.1}, BEGUN - {"capsule_in_tare"}),
]
TITRES = {"titrant", "concentration", "concentration_unit", "burette_start_mL", "burette_end_mL", "titre_mL"}
TWO = {"baryta_mL", "baryta_eq_per_L", "carbonate_mL", "carbonate_eq_per_L", "acid_mL", "acid_eq_per_L"}
SCHEMES: dict[str | None, set[str]] = {
    None: set(),
    "total as nitric": TWO,
    "sulphur apart": TWO,
    "two titrations": TITRES,
    "none": TITRES | TWO | {"firing", "blank_mL"},
}


def _with_truths(scheme: str | None, fixed: float | None) -> openpyxl.Workbook:
    """Return the blank with rows filled and, on a sheet of its own, every rule of these rows as a formula."""
    book = openpyxl.load_workbook(io.BytesIO(blank_workbook()))
    for item, value in (("acid_scheme", scheme), ("fixed_ignition_heat", fixed)):
        sheet, place = next(book.defined_names[item].destinations)
        book[sheet][place].value = value
    truths = book.create_sheet("Truths")
    for role, rows in (("runs", [row for row, _ in ROWS]), ("titration", [{}])):
        layout = next(sheet for sheet in LAYOUT if sheet.role == role)
        letters = {c.field: heading(book[layout.name], c.heading).column_letter for c in layout.columns}
        for number, row in enumerate(rows, 3):
            for field, value in row.items():
                book[layout.name][f"{letters[field]}{number}"].value = value
            cells = {field: f"{layout.name}!${letter}{number}" for field, letter in letters.items()}
            for field, formula in leave_rules(layout, cells):
                truths.append([role, number - 3, field, f"={formula}"])
    return book


@pytest.mark.filterwarnings("ignore:Print area cannot be set")  # it writes whole columns as $A:$G, which is the same
def test_cells_to_leave_turn_grey_in_another_program(tmp_path: Path) -> None:
    """LibreOffice works out each rule: it holds for these columns and no other."""
    paths = [tmp_path / f"scheme{number}.xlsx" for number in range(len(SCHEMES))]
    fixed_heats = [None, 60.0, None, None, None]
    for path, scheme, fixed in zip(paths, SCHEMES, fixed_heats, strict=True):
        _with_truths(scheme, fixed).save(path)
    made = _converted(tmp_path / "again", "xlsx", *paths)
    for path, fixed, grey in zip(made, fixed_heats, SCHEMES.values(), strict=True):
        found: dict[tuple[str, int], set[str]] = {}
        again = openpyxl.load_workbook(path, data_only=True)
        for role, row, field, truth in again["Truths"].iter_rows(values_only=True):
            assert isinstance(truth, bool), (role, row, field)
            found.setdefault((str(role), int(str(row))), set()).update({str(field)} if truth else ())
        assert found["titration", 0] == grey
        for row, (filled, expected) in enumerate(ROWS):
            also = {field for field in FIXED if fixed and field not in filled}
            assert found["runs", row] == expected | also, filled


def _type_a_day(path: Path) -> None:
    """Type a day into the blank: 10 000 J/K from Setup, 60 J of ignition, two firings of one sample."""
    book = openpyxl.load_workbook(path)
    setup = book["Setup"]
    rows = {setup.cell(row, 2).value: row for row in range(3, setup.max_row + 1)}
    for item, value, source in (
        ("Laboratory", "Invented laboratory", None), ("Batch date", dt.date(2026, 10, 14), None),
        ("Analyst", "A", None), ("Reviewer", "B", None), ("Method", "lab", "own"), ("Acid scheme", "none", "own"),
        ("Comparison basis", "ad", "own"), ("Bases required", "ad", None), ("Repeatability limit", 120, "own"),
        ("Fixed ignition heat", 60, "own"), ("Heat-capacity life", 90, "own"),
    ):  # fmt: skip
        setup.cell(rows[item], 3).value = value
        setup.cell(rows[item], 5).value = source
    row = rows["Effective heat capacity [calorimeter/bomb]"]
    setup.cell(row, 2).value, setup.cell(row, 3).value = "Effective heat capacity [K1/B1]", 10000
    setup.cell(row, 5).value, setup.cell(row, 6).value = "own", dt.date(2026, 10, 1)
    texts = ("Firing no.", "Sample no.", "Calorimeter", "Bomb", "Crucible (g)", "Crucible + sample (g)",
             "Initial temperature (°C)", "Final temperature (°C)")  # fmt: skip
    for number, final in ((1, 26.5), (2, 26.505)):
        for text, typed in zip(texts, (str(number), "S1", "K1", "B1", 12.75, 13.75, 24.0, final), strict=True):
            heading(book["Runs"], text).offset(row=number).value = typed
    heading(book["Samples"], "Sample no.").offset(row=1).value = "S1"
    book.save(path)


def test_a_day_that_is_typed_into_it_is_worked_out(tmp_path: Path) -> None:
    """(10 000 J/K x 2.5 K - 60 J) / 1 g = 24 940 J/g, and 24 990 J/g with 2.505 K."""
    path = tmp_path / "day.xlsx"
    assert CliRunner().invoke(cli, ["new", str(path)]).exit_code == 0
    _type_a_day(path)
    result = CliRunner().invoke(cli, ["process", str(path)])
    assert result.exit_code == 0, result.output
    document = json.loads((tmp_path / "day.results.json").read_text(encoding="utf-8"))
    assert document["samples"][0]["gross_J_per_g"]["ad"] == pytest.approx(24965, rel=1e-9)
    assert not {"column-not-read", "setup-item-unknown"} & {finding["code"] for finding in document["findings"]}
    results = openpyxl.load_workbook(tmp_path / "day.results.xlsx")
    assert results["Runs"].print_area == openpyxl.load_workbook(path)["Runs"].print_area
    assert len(results["Runs"].data_validations.dataValidation) > 20


def test_words_to_type_stand_in_quotation_marks(tmp_path: Path) -> None:
    file = tmp_path / "day.xlsx"
    result = CliRunner().invoke(cli, ["new", str(file), "--method", "iso-1928"])
    assert result.exit_code == 0
    book = openpyxl.load_workbook(file)
    texts = [
        text
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        for text in (cell.value, cell.comment and cell.comment.text)
        if isinstance(text, str)
    ] + [str(rule.prompt) for sheet in book for rule in sheet.data_validations.dataValidation]
    assert any('"set aside"' in text for text in texts)
    assert not [text for text in texts if "`" in text]


def test_no_heading_of_the_first_sheet_ends_a_printed_side(tmp_path: Path) -> None:
    file = tmp_path / "day.xlsx"
    CliRunner().invoke(cli, ["new", str(file), "--method", "iso-1928", "--calorimeter", "K1/B1"])
    start = openpyxl.load_workbook(file)["Start here"]
    (after,) = start.row_breaks.brk
    assert start.cell(after.id + 2, 2).value == "The sheets, in the order of work"
