"""Workbooks as LibreOffice saves them in other forms: what comes of them is what comes of the .xlsx, to 1e-12."""

import datetime as dt
import functools
import math
import subprocess
from collections.abc import Iterator, Mapping
from pathlib import Path

import openpyxl
import pytest
from logbook import plain_log
from msgspec import Struct
from openpyxl.comments import Comment
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.formula import ArrayFormula
from programs import program

from batchcal.model import Evaluation
from batchcal.process import check_workbook
from batchcal.workbook.cells import CellKind
from batchcal.workbook.source import open_source

EXAMPLES = sorted((Path(__file__).parent.parent.parent / "example_workbooks").glob("*.xlsx"))


def saved_as(suffix: str, folder: Path, *paths: Path) -> list[Path]:
    """Have LibreOffice save workbooks in another form, or in the same one with all formulas calculated."""
    out = folder / f"as_{suffix}"
    command = [program("soffice"), f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless"]
    done = subprocess.run(
        [*command, "--convert-to", suffix, "--outdir", str(out), *map(str, paths)],
        capture_output=True, text=True, timeout=240, check=False,
    )  # fmt: skip
    found = [out / f"{path.stem}.{suffix}" for path in paths]
    assert all(path.exists() for path in found), done.stderr
    return found


def evaluated(path: Path, example: Path | None = None) -> Evaluation:
    """Read a workbook; one made of an example by the map of the example, where there is one."""
    columns = (example or path).with_suffix(".toml")
    return check_workbook(path, columns=columns if columns.exists() else None)


def parts(thing: object, where: str = "") -> Iterator[tuple[str, object]]:
    """Yield every value within an evaluation, with where it stands."""
    if isinstance(thing, Struct):
        for name in thing.__struct_fields__:
            if name != "parts":  # of an uncertainty, which works them out when asked
                yield from parts(getattr(thing, name), f"{where}.{name}")
    elif isinstance(thing, Mapping):
        for key, value in thing.items():
            yield from parts(value, f"{where}[{key}]")
    elif isinstance(thing, list | tuple):
        for number, value in enumerate(thing):
            yield from parts(value, f"{where}[{number}]")
    elif isinstance(thing, frozenset | set):
        yield where, sorted(map(str, thing))
    else:
        yield where, thing


def differences(one: Evaluation, other: Evaluation) -> list[str]:
    """Name what differs, but for the file that it was read from."""
    first, second = dict(parts(one)), dict(parts(other))
    found = []
    for where in sorted(first.keys() | second.keys()):
        before, after = first.get(where, "absent"), second.get(where, "absent")
        if where in (".batch.file_name", ".batch.sha256") or before == after:
            continue
        if isinstance(before, float) and isinstance(after, float) and math.isclose(before, after, rel_tol=1e-12):
            continue
        found.append(f"{where}: {before} | {after}")
    return found


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("office")


@pytest.mark.parametrize("suffix", ["xls", "ods"])
def test_the_example_workbooks(suffix: str, folder: Path) -> None:
    for example, saved in zip(EXAMPLES, saved_as(suffix, folder, *EXAMPLES), strict=True):
        expected = evaluated(example)
        assert len(dict(parts(expected))) > 8_000
        assert differences(expected, evaluated(saved, example)) == [], example.name


@functools.cache
def _with_formulas(folder: Path) -> Path:
    """A day with formulas, one of them typed over; a hidden row, a struck one, an error, per cent, truth, a comment."""
    log = plain_log(*[2.5 + number / 1000 for number in range(8)])
    path = log.save(folder, "plain.xlsx")
    book = openpyxl.load_workbook(path)
    runs, samples = book["Runs"], book["Samples"]
    column = {cell.value: get_column_letter(cell.column) for cell in runs[1] if cell.column}
    crucible, both, mass, rise, remark = (
        column[heading]
        for heading in ("Crucible (g)", "Crucible + sample (g)", "Sample mass (g)", "Temperature rise (K)", "Remark")
    )
    start, end = column["Initial temperature (°C)"], column["Final temperature (°C)"]
    for row in range(2, 10):
        runs[f"{crucible}{row}"], runs[f"{both}{row}"] = 10.0, 11.0 + row / 1000
        runs[f"{mass}{row}"] = f"={both}{row}-{crucible}{row}"
        runs[f"{start}{row}"], runs[f"{end}{row}"] = 23.0, 25.5 + row / 1000
        runs[f"{rise}{row}"] = f"={end}{row}-$A$20-{start}{row}" if row == 6 else f"=ROUND({end}{row}-{start}{row},4)"
    runs[f"{mass}5"] = 1.005
    runs[f"{mass}7"] = "=1/0"
    runs[f"{remark}4"] = '=IF(A4>2,"","early")'
    runs[f"{remark}5"].comment = Comment("not the cell's text", "A")
    runs[f"{remark}6"] = "two\nlines  and  blanks"
    runs.row_dimensions[8].hidden = True
    for cell in runs[9]:
        cell.font = Font(strike=True)
    samples["E2"].number_format = "0.00%"
    samples["E2"] = 0.04
    runs[f"{column['Date']}3"] = dt.datetime(2026, 10, 14, 9, 30)
    book.save(path)
    return path


@pytest.mark.parametrize("suffix", ["xls", "ods"])
def test_a_day_with_formulas_and_rows_unseen(suffix: str, folder: Path) -> None:
    path = _with_formulas(folder)
    (calculated,) = saved_as("xlsx", folder, path)
    (other,) = saved_as(suffix, folder, path)
    expected, found = evaluated(calculated), evaluated(other)
    codes = {finding.code for finding in expected.findings}
    assert {"error-cell", "per-cent-format"} <= codes
    assert expected.batch.unseen
    assert expected.batch.formulas
    assert [(one.code, one.sheet, one.cell, one.message) for one in expected.findings] == [
        (one.code, one.sheet, one.cell, one.message) for one in found.findings
    ]
    # Libraries spell a formula in their own way; what is the same in one is the same in the other.
    left = [one for one in differences(expected, found) if not one.startswith(".batch.formulas")]
    assert left == []
    for before, after in zip(expected.batch.formulas, found.batch.formulas, strict=True):
        rows = sorted(before.forms)
        assert rows == sorted(after.forms)
        for row in rows:
            for twin in rows:
                assert (before.forms[row] == before.forms[twin]) == (after.forms[row] == after.forms[twin])


@pytest.mark.parametrize("suffix", ["xls", "ods"])
def test_a_shared_formula_and_one_of_an_area(suffix: str, folder: Path) -> None:
    """Written by LibreOffice for a column that is filled down, and for a formula over an area."""
    path = folder / f"shared_{suffix}.xlsx"
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in range(1, 31):
        sheet.cell(row, 1, row)
        sheet.cell(row, 2, f"=A{row}*2+SUM($A$1:A{row})")
    sheet["C1"] = ArrayFormula("C1:C3", "=A1:A3*2")
    book.save(path)
    (other,) = saved_as(suffix, folder, path)
    grid = open_source(other).grids[0]
    for row in range(1, 31):
        cell = grid.cell(row, 2)
        assert (cell.kind, cell.value) == (CellKind.NUMBER, row * 2.0 + row * (row + 1) / 2)
        assert cell.formula is not None
        assert cell.formula.startswith(f"=A{row}*2")
    assert [grid.cell(row, 3).value for row in (1, 2, 3)] == [2.0, 4.0, 6.0]
    assert grid.cell(1, 3).formula
