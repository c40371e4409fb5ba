"""Cells that no one may take for good: a kind of column and what stands in it by mistake, in an otherwise honest day.

    python tests/must_flag.py

prints how many of the kinds are named by their address. The day is the example ``clean_day``; nothing here imports the
reader's own lists.
"""

import copy
import datetime as dt
import io
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.evaluate import evaluate
from batchcal.model import Evaluation
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import open_source

DAY = Path(__file__).parent.parent / "example_workbooks" / "clean_day.xlsx"


@dataclass(frozen=True)
class Styled:
    """A value in a cell of a number format."""

    value: float
    form: str


NUMBERS: dict[str, Any] = {
    "text number": "2.5",
    "text number with blanks": "\u00a02.5 ",
    "decimal comma": "2,5",
    "thousands": "1.234,5",
    "full-width digits": "２.５",
    "unit behind": "2.5 g",
    "word": "about two",
    "question mark": "?",
    "division by nothing": "#DIV/0!",
    "reference lost": "#REF!",
    "not available": "#N/A",
    "date": dt.datetime(2026, 5, 2),
    "time": dt.time(2, 30),
    "yes": True,
    "per cent": Styled(0.025, "0.0%"),
    "never worked out": "=1+1.5",
    "beyond reach": "1E309",
    "below zero": -2.5,
}
"""What may stand in a number column. The errors are stored as errors, for openpyxl knows their words."""

NUMBER_COLUMNS = {
    ("Calibration", "Crucible + sample (g)"): 2,
    ("Calibration", "Final temperature (°C)"): 3,
    ("Runs", "Crucible (g)"): 4,
    ("Runs", "Initial temperature (°C)"): 5,
    ("Runs", "Wire left (cm)"): 6,
    ("Titration", "Burette end (mL)"): 7,
    ("Titration", "Concentration"): 5,
    ("Samples", "Moisture, analysis (%)"): 2,
    ("Samples", "Sulphur (%)"): 3,
}
"""Number columns that take part, each with how far below its heading the cell stands."""

IDENTIFIERS: dict[str, Any] = {
    "date": dt.datetime(2026, 10, 3),
    "yes": True,
    "decimals": 26.5,
    "an exponent": 2.6e17,
    "reference lost": "#REF!",
    "never worked out": '="26-"&1',
}
IDENTIFIER_COLUMNS = {("Runs", "Firing no."): 3, ("Runs", "Sample no."): 4, ("Titration", "Firing no."): 6}

DATES: dict[str, Any] = {
    "written otherwise": "14.10.2026",
    "no day": "2026-02-30",
    "a number": 20261014,
    "yes": True,
    "not available": "#N/A",
    "never worked out": "=TODAY()",
}
DATE_COLUMNS = {("Runs", "Date"): 3, ("Calibration", "Date"): 2}

WORDS: dict[str, Any] = {"not of the list": "perhaps", "a number": 3, "not available": "#N/A", "yes": True}
WORD_COLUMNS = {("Runs", "Outcome"): 4, ("Runs", "Use"): 5, ("Titration", "Concentration unit"): 4}

SETTINGS: dict[str, Any] = {
    "text number": "120.0",
    "decimal comma": "120,5",
    "unit behind": "120 J/g",
    "word": "none",
    "division by nothing": "#DIV/0!",
    "date": dt.datetime(2026, 5, 2),
    "yes": True,
    "never worked out": "=60+60",
    "below zero": -120,
    "nought": 0,
}
SETTING_ITEMS = ("Repeatability limit", "Benzoic acid heat of combustion", "Wire heat", "Nitric acid heat")


@dataclass(frozen=True)
class Case:
    """One kind: where it stands and what."""

    name: str
    sheet: str
    heading: str
    below: int
    content: Any


def cases() -> Iterator[Case]:
    """Yield every kind."""
    for contents, columns in (
        (NUMBERS, NUMBER_COLUMNS), (IDENTIFIERS, IDENTIFIER_COLUMNS), (DATES, DATE_COLUMNS), (WORDS, WORD_COLUMNS),
    ):  # fmt: skip
        for (sheet, heading), below in columns.items():
            for name, content in contents.items():
                yield Case(f"{sheet}, {heading}: {name}", sheet, heading, below, content)
    for item in SETTING_ITEMS:
        for name, content in SETTINGS.items():
            yield Case(f"Setup, {item}: {name}", "Setup", item, 0, content)


@cache
def _day() -> dict[str, list[list[Any]]]:
    """Return the values of the day's sheets."""
    book = openpyxl.load_workbook(DAY, data_only=True)
    return {sheet.title: [[cell.value for cell in row] for row in sheet.iter_rows()] for sheet in book.worksheets}


def place(case: Case) -> tuple[int, int]:
    """Return row and column of the cell that a kind is put into, from 1."""
    for row, values in enumerate(_day()[case.sheet], 1):
        for column, value in enumerate(values, 1):
            if value == case.heading:
                return (row, column + 1) if case.sheet == "Setup" else (row + case.below, column)
    raise LookupError(case.heading)


def with_cell(case: Case | None) -> bytes:
    """Return the day as a workbook, with the kind in its cell."""
    book = openpyxl.Workbook()
    for title, rows in _day().items():
        sheet = book.create_sheet(title)
        for values in rows:
            sheet.append(copy.copy(values))
    book.remove(book.worksheets[0])
    if case is not None:
        _put(book[case.sheet], *place(case), case.content)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def _put(sheet: Worksheet, row: int, column: int, content: Any) -> None:
    cell = sheet.cell(row, column)

    if isinstance(content, Styled):
        cell.value, cell.number_format = content.value, content.form
    elif content == "1E309":
        cell.value, cell.data_type = content, "n"
    else:
        cell.number_format = "General"
        cell.value = content


def evaluated(case: Case | None, folder: Path) -> Evaluation:
    """Read and evaluate the day with a kind in its cell, through a real file."""
    path = folder / "day.xlsx"
    path.write_bytes(with_cell(case))
    return evaluate(read_workbook(open_source(path)))


@dataclass(frozen=True)
class Outcome:
    """Whether a kind's cell was named, and the codes of findings beside it that do not follow from it."""

    named: bool
    codes: tuple[str, ...]
    beside: tuple[str, ...]


def outcome(case: Case, folder: Path, usual: frozenset[tuple[str, str | None, str | None]]) -> Outcome:
    """Return what came of a kind; ``usual`` are the findings of the untouched day by code, sheet and cell."""
    row, column = place(case)
    address = f"{get_column_letter(column)}{row}"
    found = [f for f in evaluated(case, folder).findings if (f.code, f.sheet, f.cell) not in usual]
    named = any(f.sheet == case.sheet and f.cell == address for f in found)
    beside = [
        f"{f.code} at {f.sheet} {f.cell}"
        for f in found
        if f.cell is not None and (f.sheet, f.cell) != (case.sheet, address) and (f.sheet, f.row) != (case.sheet, row)
    ]
    return Outcome(named, tuple(f.code for f in found), tuple(beside))


def usual_findings(folder: Path) -> frozenset[tuple[str, str | None, str | None]]:
    """Return the findings of the untouched day by code, sheet and cell."""
    return frozenset((f.code, f.sheet, f.cell) for f in evaluated(None, folder).findings)


def main() -> None:
    folder = Path(tempfile.mkdtemp())
    usual = usual_findings(folder)
    results = {case.name: outcome(case, folder, usual) for case in cases()}
    for name, result in results.items():
        if not result.named or result.beside:
            print(name, result)
    print(sum(result.named and not result.beside for result in results.values()), "of", len(results))


if __name__ == "__main__":
    main()
