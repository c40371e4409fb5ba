"""The sheet Working of a lab's own sheets that are read by a map: its formulas refer to the cells where they stand."""

import re
from pathlib import Path
from typing import Any, NamedTuple

import openpyxl
import pytest
from columns.own_day import make_day, propose_and_read
from columns.test_day_log import WORDS, day_log
from columns.test_pairs import SPANISH, pairs_sheet
from made import results_workbook
from recalculation import number_at, recalculated, row_of, with_number

from batchcal.model import Evaluation


class Mapped(NamedTuple):
    evaluation: Evaluation
    results: bytes
    changed: bytes
    """The results workbook with the crucible of the last firing heavier by 2 mg."""


def mapped(own: Path, answers: dict[str, str]) -> Mapped:
    evaluation = propose_and_read(own, answers)
    results = results_workbook(own.read_bytes(), evaluation)
    place = evaluation.firings[-1].row.place
    address = place.cell("mass_g") or ""
    value = number_at(results, place.sheet, address) + 0.002
    return Mapped(evaluation, results, with_number(results, place.sheet, address, value))


def with_commas(path: Path, heading: str) -> Path:
    """Type a column's figures as text with a decimal comma, as a sheet of another country holds them."""
    book = openpyxl.load_workbook(path)
    for sheet in book.worksheets:
        columns: set[int] = set()
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, str) and cell.value.startswith(heading):
                    columns.add(cell.column)
                elif cell.column in columns and isinstance(cell.value, float):
                    cell.value = f"{cell.value}".replace(".", ",")
    book.save(path)
    return path


@pytest.fixture(scope="module")
def days(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Mapped, Any, Any]]:
    folder = tmp_path_factory.mktemp("mapped")
    acid, check, _ = WORDS["it"]
    of_log = {f"purpose {acid}": "calibration", f"purpose {check}": "check"}
    log = day_log(make_day(6), "it")
    made = {
        "day_log": mapped(log.save(folder, "log.xlsx"), of_log),
        "commas": mapped(
            with_commas(log.save(folder, "commas.xlsx"), "Incremento di temperatura"), of_log | {"decimal": ","}
        ),
        "pairs": mapped(
            pairs_sheet(make_day(3, calibrations=6), SPANISH, "A|B", "Ácido benzoico", "Control", grouped=False).save(
                folder, "pairs.xlsx"
            ),
            {"purpose Ácido benzoico": "calibration", "purpose Control": "check"},
        ),
    }
    books = {name: day.results for name, day in made.items()}
    books |= {f"{name}-changed": day.changed for name, day in made.items()}
    again = recalculated(books, folder)
    return {name: (day, again[name], again[f"{name}-changed"]) for name, day in made.items()}


@pytest.mark.parametrize("name", ["day_log", "commas", "pairs"])
def test_the_formulas_agree_and_follow(days: dict[str, tuple[Mapped, Any, Any]], name: str) -> None:
    day, again, changed = days[name]
    sheet = again["Working"]
    assert sheet["F3"].value == "agrees"
    assert sheet["E3"].value <= 1e-9
    values = [firing for firing in day.evaluation.firings if firing.gross_ad_J_per_g is not None]
    assert len(values) > 5
    for firing in values:
        row = row_of(sheet, firing.name, "Firings of the day")
        assert sheet[f"T{row}"].value == pytest.approx(firing.gross_ad_J_per_g, rel=1e-9)
    last = values[-1]
    row = row_of(sheet, last.name, "Firings of the day")
    assert last.mass_g is not None
    heavier = sheet[f"D{row}"].value + 0.002
    assert changed["Working"][f"D{row}"].value == pytest.approx(heavier, rel=1e-9)
    assert changed["Working"]["F3"].value == "differs"


def test_a_figure_typed_as_text_is_not_referred_to(days: dict[str, tuple[Mapped, Any, Any]], tmp_path: Path) -> None:
    path = tmp_path / "commas.xlsx"
    path.write_bytes(days["commas"][0].results)
    sheet = openpyxl.load_workbook(path)["Working"]
    row = row_of(sheet, days["commas"][0].evaluation.firings[-1].name, "Firings of the day")
    assert "bare number" in str(sheet["A4"].value)
    assert re.fullmatch(r"=\d+\.\d+", str(sheet[f"E{row}"].value))
