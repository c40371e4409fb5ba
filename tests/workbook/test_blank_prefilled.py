"""The blank workbook with method and apparatus filled in: no figure as a number, every entry with its origin."""

import datetime as dt
import io
import json
import subprocess
from functools import cache
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner, Result
from openpyxl.worksheet.worksheet import Worksheet
from programs import program

from batchcal.cli import cli
from batchcal.errors import UsageError
from batchcal.items import SETUP_ITEMS
from batchcal.terms import METHOD_KEYS
from batchcal.workbook.blank import blank_workbook
from batchcal.workbook.prefill import prefill

APPARATUS = ("K1/B1", "K1/B2", "K2")

# What the records of the methods hold, read off ``batchcal methods KEY`` and typed here: the basis of the repeatability
# limit, and the items for which there is one figure.
LIMIT, MINIMUM, SPREAD, LIFE = "Repeatability limit", "Series minimum", "Series relative SD limit", "Heat-capacity life"
ON_RECORD = {
    "iso-1928": ("d", {LIMIT, MINIMUM, SPREAD, LIFE}),
    "iso-18125": ("d", {LIMIT, MINIMUM, SPREAD, LIFE}),
    "iso-21654": (None, set()),
    "iso-9831": (None, set()),
    "astm-d5865": ("d", {MINIMUM, SPREAD}),  # two limits, by the rank of the coal
    "astm-d240": ("ad", {LIMIT, MINIMUM}),
    "astm-d4809": ("ad", {LIMIT}),
    "is-1350-2": ("d", {LIMIT}),
    "gbt-213": ("ad", {LIMIT, MINIMUM, SPREAD, LIFE}),
    "lab": (None, set()),
}


@cache
def opened(method: str | None, apparatus: tuple[str, ...] = ()) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(blank_workbook(prefill(method, apparatus))))


def setup(book: openpyxl.Workbook) -> dict[str, tuple[Any, ...]]:
    """Return the rows of Setup by item: value, unit, source, in force from."""
    rows = book["Setup"].iter_rows(min_row=3, min_col=2, values_only=True)
    return {str(item): tuple(rest) for item, *rest in rows if item is not None}


def start(book: openpyxl.Workbook) -> str:
    return "\n".join(str(cell.value) for row in book.worksheets[0].iter_rows() for cell in row if cell.value)


def call(*words: object) -> Result:
    return CliRunner().invoke(cli, [str(word) for word in words])


def row_of(sheet: Worksheet, item: str) -> int:
    return next(row for row in range(3, sheet.max_row + 1) if sheet.cell(row, 2).value == item)


def test_without_options_it_is_the_blank_workbook() -> None:
    assert blank_workbook(prefill(None)) == blank_workbook()
    assert "filled in already" not in start(opened(None))
    values = setup(opened(None)).values()
    assert all(value is None and source is None for value, _, source, _ in values)


def test_the_same_every_time() -> None:
    assert blank_workbook(prefill("iso-1928", APPARATUS)) == blank_workbook(prefill("iso-1928", APPARATUS))


def test_every_method_is_looked_at() -> None:
    assert set(ON_RECORD) == set(METHOD_KEYS)


@pytest.mark.parametrize("method", METHOD_KEYS)
def test_no_figure_is_filled_in_and_no_limit_has_a_source(method: str) -> None:
    book = opened(method)
    entries = setup(book)
    basis, with_figure = ON_RECORD[method]
    filled = {item: entry[0] for item, entry in entries.items() if entry[0] is not None}
    expected = {"Method": method, **dict.fromkeys(with_figure, "method")}
    assert filled == expected | ({"Comparison basis": basis} if basis else {})
    sources = {item: entry[2] for item, entry in entries.items() if entry[2] is not None}
    assert set(sources) == {"Method"} | ({"Comparison basis"} if basis else set())
    assert all(entry[3] is None for entry in entries.values())
    if basis:
        assert "not compared with the method" in sources["Comparison basis"]
        assert "from memory, unchecked" in sources["Comparison basis"]


@pytest.mark.parametrize("method", METHOD_KEYS)
def test_each_entry_says_where_it_comes_from_at_its_cell_and_on_the_first_sheet(method: str) -> None:
    book = opened(method, APPARATUS)
    sheet, words = book["Setup"], start(book)
    blank = setup(opened(None))
    changed = [item for item, entry in setup(book).items() if blank.get(item) != entry]
    assert {f"Effective heat capacity [{label}]" for label in APPARATUS} <= set(changed)
    for item in changed:
        value, _, source, _ = setup(book)[item]
        note = sheet.cell(row_of(sheet, item), 3).comment
        assert note is not None, item
        assert f"Setup, {item}{f': {value}' if value else ''}. " in words
        if value == "method":
            assert source is None
            assert "from memory, unchecked" in note.text or "secondary" in note.text
            assert "no result is released until you enter under Source" in note.text
        else:
            assert "batchcal" in note.text, item


def test_units_are_the_method_s() -> None:
    # The blank workbook proposes days; ISO 1928 and GB/T 213 count months on record.
    assert setup(opened(None))["Heat-capacity life"][1] == "days"
    for method in ("iso-1928", "gbt-213"):
        assert setup(opened(method))["Heat-capacity life"][1] == "months"
    assert setup(opened("iso-1928"))["Repeatability limit"][1] == "J/g"
    assert setup(opened("iso-1928"))["Series minimum"][1] is None  # a count has no unit


def test_names_are_offered_and_each_has_its_row() -> None:
    book = opened(None, APPARATUS)
    for name in ("Calibration", "Runs"):
        rules = {
            rule.formula1: (rule.errorStyle, str(rule.sqref))
            for rule in book[name].data_validations.dataValidation
            if rule.type == "list"
        }
        headings = {str(cell.value): cell.column_letter for cell in book[name][2] if cell.value is not None}
        for formula, heading in (('"K1,K2"', "Calorimeter"), ('"B1,B2"', "Bomb")):
            letter = headings[heading]
            assert rules[formula] == ("warning", f"{letter}3:{letter}2000")  # another name is asked about, not refused
    entries = setup(book)
    rows = [item for item in entries if item.startswith("Effective heat capacity")]
    assert rows == [f"Effective heat capacity [{label}]" for label in APPARATUS]
    assert all(entries[item] == (None, "J/K", None, None) for item in rows)
    assert len(entries) == len(SETUP_ITEMS) + 2


def fill(path: Path, items: dict[str, tuple[Any, ...]]) -> None:
    """Fill in what the workbook lacks, as a person would: C = 10 000 J/K, 60 J of ignition, rises 2.5 K and 2.505 K."""
    book = openpyxl.load_workbook(path)
    sheet = book["Setup"]
    for item, (value, *source) in items.items():
        row = row_of(sheet, item)
        if value is not None:
            sheet.cell(row, 3).value = value
        for column, text in enumerate(source, 5):
            sheet.cell(row, column).value = text
    log: tuple[tuple[str, list[dict[str, Any]]], ...] = (
        (
            "Runs",
            [
                {"Firing no.": str(number), "Sample no.": "S1", "Calorimeter": "K1", "Bomb": "B1",
                 "Sample mass (g)": 1.0, "Temperature rise (K)": rise}
                for number, rise in ((1, 2.5), (2, 2.505))
            ],
        ),
        ("Samples", [{"Sample no.": "S1", "Moisture, analysis (%)": 4.0}]),
    )  # fmt: skip
    for name, rows in log:
        columns = {str(cell.value): column for column, cell in enumerate(book[name][2], 1)}
        for number, entries in enumerate(rows, 3):
            for heading, value in entries.items():
                book[name].cell(number, columns[heading]).value = value
    book.save(path)


DAY = dt.date(2026, 10, 14)
OWN = {
    "Laboratory": ("Invented laboratory",), "Batch date": (DAY,), "Analyst": ("A",), "Reviewer": ("B",),
    "Acid scheme": ("none",), "Fixed ignition heat": (60, "own"),
    "Effective heat capacity [K1/B1]": (10000, "own series", dt.date(2026, 10, 1)),
}  # fmt: skip


def test_a_filled_day_waits_for_the_sources_and_is_ready_with_them(tmp_path: Path) -> None:
    """Until the lab confirms them, the limits hold the sample; (10 000 x 2.5 - 60) J/g as analysed, /0.96 dry."""
    path = tmp_path / "day.xlsx"
    made = call("new", path, "--method", "iso-1928", "--calorimeter", "K1/B1", "--calorimeter", "K1/B2")
    assert made.exit_code == 0, made.output
    fill(path, OWN)
    result = call("check", path)
    assert result.exit_code == 1
    assert result.stdout.count("method-figure-unconfirmed") == 4
    result = call("process", path)
    sample = json.loads((tmp_path / "day.results.json").read_text(encoding="utf-8"))["samples"][0]
    assert sample["decision"] == "hold"
    assert sample["limit_J_per_g"] is None
    fill(path, dict.fromkeys((LIMIT, MINIMUM, SPREAD, LIFE), (None, "own copy of the method, clause read")))
    result = call("process", path, "--force")
    assert result.exit_code == 0, result.output
    document = json.loads((tmp_path / "day.results.json").read_text(encoding="utf-8"))
    sample = document["samples"][0]
    assert (sample["decision"], sample["limit_J_per_g"]) == ("ready", 120)
    assert document["settings"]["comparison_basis"] == "d"
    assert sample["gross_J_per_g"]["d"] == pytest.approx((24940 / 0.96 + 24990 / 0.96) / 2, rel=1e-12)
    assert document["settings"]["heat_capacity_life_months"] == 6


def test_rows_of_apparatus_that_stay_blank_raise_nothing(tmp_path: Path) -> None:
    path = tmp_path / "day.xlsx"
    found = []
    for names in (("K1/B1",), ("K1/B1", "K2", "007/1")):
        call("new", path, "--force", *(word for name in names for word in ("--calorimeter", name)))
        fill(path, OWN | {"Method": ("lab",), "Comparison basis": ("ad",), LIMIT: (120, "own")})
        found.append(call("check", path).stdout)
    assert found[0] == found[1]


@pytest.mark.parametrize(
    ("names", "words"),
    [
        (["K1", "k1"], "twice"),
        (["K1/B1", "K1/ B1"], "twice"),
        ([""], "give a name"),
        (["/B1"], "CALORIMETER/BOMB"),
        (["K1/"], "CALORIMETER/BOMB"),
        (["K1,K2"], "holds none of"),
        (['K"1'], "holds none of"),
        (["K1]"], "holds none of"),
        (["K" * 100 + "1", "K" * 100 + "2", "K" * 100 + "3"], "too long"),
    ],
)
def test_a_name_that_cannot_stand_is_one_line(tmp_path: Path, names: list[str], words: str) -> None:
    with pytest.raises(UsageError, match=words):
        prefill(None, names)
    result = call("new", tmp_path / "day.xlsx", *(word for name in names for word in ("--calorimeter", name)))
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1
    assert not list(tmp_path.iterdir())


@pytest.mark.filterwarnings("ignore:Print area cannot be set")  # it writes whole columns as $A:$G, which is the same
def test_another_program_reads_what_is_filled_in(tmp_path: Path) -> None:
    office = program("soffice")
    path = tmp_path / "day.xlsx"
    path.write_bytes(blank_workbook(prefill("iso-1928", APPARATUS)))
    subprocess.run(
        [office, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to", "xlsx",
         "--outdir", str(tmp_path / "again"), str(path)],
        check=True, capture_output=True,
    )  # fmt: skip
    again = openpyxl.load_workbook(tmp_path / "again" / "day.xlsx")
    assert setup(again) == setup(opened("iso-1928", APPARATUS))
    lists = {rule.formula1 for rule in again["Runs"].data_validations.dataValidation if rule.type == "list"}
    assert {'"K1,K2"', '"B1,B2"'} <= lists
