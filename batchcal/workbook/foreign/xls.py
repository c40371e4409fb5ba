"""Reading an .xls workbook: its cells, its hidden rows and its merged areas, through a process of its own."""

import datetime as dt
import json
import math
import os
import subprocess
from collections.abc import Mapping, Sequence
from multiprocessing.spawn import get_executable
from pathlib import Path
from typing import Any

import batchcal
from batchcal.errors import WorkbookError
from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.foreign.xls_child import NO_TEXT
from batchcal.workbook.grid import Grid, Merged
from batchcal.workbook.xlsx.dates import SINCE_1900, SINCE_1904, from_number
from batchcal.workbook.xlsx.number_formats import Form, form_of
from batchcal.workbook.xlsx.package import shown

MAX_BYTES = 200_000_000
"""A larger file is refused unread; 65 536 rows of 40 numbers are about 40 MB."""

_SHORTEST_SECONDS, _LONGEST_SECONDS, _BYTES_PER_SECOND = 10, 60, 500_000

_TEXT, _NUMBER, _DATE, _BOOLEAN, _ERROR = 1, 2, 3, 4, 5
_BEYOND_THE_CALENDAR = "#VALUE!"


def read_xls(name: str, data: bytes) -> tuple[Grid, ...]:
    """Return the sheets of an .xls workbook; WorkbookError with one line where it cannot be read."""
    if len(data) > MAX_BYTES:
        raise WorkbookError(f"{name}: is {len(data) / 1e6:.0f} MB large, more than any log needs; refused")
    answer = _taken_apart(name, data)
    if "refused" in answer:
        raise WorkbookError(f"{name}: {answer['refused']}")
    if not answer["sheets"]:
        raise WorkbookError(f"{name}: has no sheet with cells")
    return tuple(_Sheet(answer, sheet).grid() for sheet in answer["sheets"])


def allowed_seconds(size: int) -> float:
    """Return how long the reading of a file of ``size`` bytes may take before it counts as endless."""
    return min(_SHORTEST_SECONDS + size / _BYTES_PER_SECOND, _LONGEST_SECONDS)


def _taken_apart(name: str, data: bytes) -> dict[str, Any]:
    root = str(Path(batchcal.__file__).parents[1])
    path = os.pathsep.join([root, *filter(None, [os.environ.get("PYTHONPATH")])])
    seconds = allowed_seconds(len(data))
    try:
        # -P: nothing that lies in the folder of the workbook is taken for a part of the program.
        done = subprocess.run(
            [os.fsdecode(get_executable()), "-P", "-m", "batchcal.workbook.foreign.xls_child"],
            input=data,
            capture_output=True,
            timeout=seconds,
            check=False,
            env={**os.environ, "PYTHONPATH": path},
        )
    except subprocess.TimeoutExpired as error:
        raise WorkbookError(
            f"{name}: cannot be read within {seconds:.0f} s; it is damaged or too large. Save it as .xlsx"
        ) from error
    except OSError as error:
        raise WorkbookError(f"{name}: the process that reads .xls cannot be started ({error.strerror})") from error
    if done.returncode:
        last = done.stderr.decode("utf-8", "replace").strip().splitlines()[-1:] or ["it broke off"]
        raise WorkbookError(f"{name}: the workbook is damaged and cannot be read ({shown(last[0])}); save it as .xlsx")
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


class _Sheet:
    """One sheet on its way from plain data to a grid."""

    def __init__(self, answer: Mapping[str, Any], sheet: Mapping[str, Any]) -> None:
        self._texts: Sequence[str] = answer["texts"]
        self._epoch = SINCE_1904 if answer["from_1904"] else SINCE_1900
        self._sheet = sheet
        # Programs that only write formulas leave a blank text as their value, and do so in all of them.
        self._blank_is_value: bool = answer["calculated"]

    def grid(self) -> Grid:
        sheet = self._sheet
        rows = {}
        for number, stored in sheet["rows"]:
            cells = {column: self._cell(*rest) for column, *rest in stored}
            kept = {column: cell for column, cell in cells.items() if cell is not None}
            if kept:
                rows[number] = kept
        merged = tuple(Merged(*area) for area in sheet["merged"])
        return Grid(sheet["title"], rows, frozenset(sheet["hidden"]), sheet["filtered"], merged)

    def _cell(self, kind: int, value: float, code: int, struck: bool, spelt: int) -> Cell | None:
        formula = None if spelt == NO_TEXT else self._texts[spelt]
        if formula is not None and self._sheet["uncalculated"]:
            return Cell(CellKind.UNCALCULATED, None, formula, struck)
        if kind == _TEXT:
            return self._text(self._texts[int(value)], formula, struck)
        if kind == _ERROR:
            return Cell(CellKind.ERROR, self._texts[int(value)], formula, struck)
        if kind == _BOOLEAN:
            return Cell(CellKind.BOOLEAN, bool(value), formula, struck)
        form = form_of(self._texts[code])
        if form in (Form.NUMBER, Form.PER_CENT):
            number_kind = CellKind.NUMBER if form is Form.NUMBER else CellKind.PER_CENT
            return Cell(number_kind, float(value), formula, struck)
        moment = from_number(float(value), form, self._epoch) if math.isfinite(value) else None
        if moment is None:
            return Cell(CellKind.ERROR, _BEYOND_THE_CALENDAR, formula, struck)
        return Cell(CellKind.DATE if isinstance(moment, dt.datetime) else CellKind.TIME, moment, formula, struck)

    def _text(self, text: str, formula: str | None, struck: bool) -> Cell | None:
        if text.strip():
            return Cell(CellKind.TEXT, text, formula, struck)
        if formula is None:
            return None
        can_be_blank = self._blank_is_value or '""' in formula
        return Cell(CellKind.EMPTY if can_be_blank else CellKind.UNCALCULATED, None, formula, struck)
