"""Write a day as a workbook: formulas with stored values, dates as dates, and the same bytes for the same day."""

import datetime as dt
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import xlsxwriter  # type: ignore[import-untyped]  # the package carries no type marker
from xlsxwriter.utility import xl_rowcol_to_cell  # type: ignore[import-untyped]

from bad_day.day import (
    CONSTANTS,
    FIRINGS,
    IDENTITY,
    OWN_AD,
    OWN_CAPACITY,
    OWN_COLUMNS,
    OWN_D,
    OWN_MEAN,
    OWN_VERDICT,
    SAMPLES,
    SETUP,
    TITRANT,
    TITRATION,
    Day,
    Formula,
)

HEADINGS = {
    "Setup": SETUP,
    "Calibration": FIRINGS,
    "Runs": FIRINGS,
    "Titration": TITRATION,
    "Samples": SAMPLES,
    "Titrant": TITRANT,
    "Constants": CONSTANTS,
}
OWN = {"Calibration": [OWN_CAPACITY], "Runs": [OWN_AD, OWN_D], "Samples": [OWN_MEAN, OWN_VERDICT]}
_TOKEN = re.compile(r"\{(\$?)(?:([A-Za-z]+)!)?([^{}@]+?)(?:@(\d+))?\}")


def headings(day: Day, sheet: str) -> list[str]:
    """Return the headings of a sheet in the order of its columns."""
    return HEADINGS[sheet] + (OWN.get(sheet, []) if day.own else [])


def resolve(day: Day, sheet: str, index: int, template: str) -> str:
    """Return a formula with its cells named by letter and number."""

    def name(match: re.Match[str]) -> str:
        fixed, other, heading, at = match.groups()
        target = other or sheet
        row = (int(at) if at is not None else index) + 1
        column = headings(day, target).index(heading)
        cell = xl_rowcol_to_cell(row, column, row_abs=bool(fixed), col_abs=bool(fixed))
        return f"{target}!{cell}" if target != sheet else str(cell)

    return _TOKEN.sub(name, template)


def write(day: Day, path: Path) -> Path:
    """Write the day's workbook; returns the path."""
    with xlsxwriter.Workbook(path) as workbook:
        styles: dict[str, Any] = {}

        def style(look: dict[str, Any]) -> Any:
            if not look:
                return None
            key = str(look)
            if key not in styles:
                styles[key] = workbook.add_format(look)
            return styles[key]

        workbook.set_properties({"author": "invented data for a test", "created": dt.datetime(2026, 1, 1)})
        for sheet, rows in day.sheets.items():
            if sheet == "Constants" and not day.own:
                continue
            page = workbook.add_worksheet(sheet)
            columns = headings(day, sheet)
            for column, heading in enumerate(columns):
                page.write_string(0, column, heading)
            for index, row in enumerate(rows):
                unknown = set(row) - set(columns) - {IDENTITY} - set(OWN_COLUMNS)
                if unknown:
                    raise ValueError(f"{sheet}: no column for {sorted(unknown)}")
                if row[IDENTITY] in day.hidden:
                    page.set_row(index + 1, None, None, {"hidden": True})
                _write_row(page, day, sheet, index, style)
    return path


def _write_row(page: Any, day: Day, sheet: str, index: int, style_of: Callable[[dict[str, Any]], Any]) -> None:
    row = day.sheets[sheet][index]
    struck = row[IDENTITY] in day.struck
    for column, heading in enumerate(headings(day, sheet)):
        value = row.get(heading)
        look: dict[str, Any] = {"font_strikeout": True} if struck else {}
        if isinstance(value, dt.date | dt.time):
            look["num_format"] = "hh:mm" if isinstance(value, dt.time) else "yyyy-mm-dd"
        elif heading in OWN_COLUMNS:
            look["num_format"] = "0.0" if heading == OWN_CAPACITY else "0"
        style = style_of(look)
        at = (index + 1, column)
        if isinstance(value, Formula):
            stored = "" if value.value is None else value.value
            page.write_formula(*at, resolve(day, sheet, index, value.template), style, stored)
        elif isinstance(value, dt.date | dt.time):
            page.write_datetime(*at, value, style)
        elif isinstance(value, str):
            page.write_string(*at, value, style)
        elif value is not None:
            page.write_number(*at, value, style)
