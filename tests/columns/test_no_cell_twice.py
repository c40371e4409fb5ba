"""Whatever a sheet looks like and whatever a map says, no cell is read into two fields of one firing."""

import random
from pathlib import Path
from typing import Any

import openpyxl
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from batchcal.logged import Batch, FiringRow, SampleRow, TitrationRow
from batchcal.workbook.columns.column_map import ColumnMap, MapColumn, MapSetup, MapTable, Shape
from batchcal.workbook.columns.read import read_by_map
from batchcal.workbook.source import open_source

OF_A_FIRING = {
    "Crucible": "g", "Crucible + sample": "g", "Sample mass": "g", "Wire fitted": "cm", "Wire left": "cm",
    "Initial temperature": "°C", "Final temperature": "°C", "Temperature rise": "K", "Titre": "mL", "Thread": "mg",
    "Own gross, ad": "J/g", "Oxygen pressure": "MPa",
}  # fmt: skip
OF_A_ROW = {
    "Sample no.": "", "Description": "", "Moisture, analysis": "%", "Ash": "%", "Bomb": "", "Remark": "", "Blank": "mL",
    "Own mean, d": "J/g", "Hydrogen": "%",
}  # fmt: skip
ABOVE = {"Date": "", "Concentration": "mol/L", "Calorimeter": ""}


def entry(heading: str, means: str, part: str = "") -> MapColumn:
    unit = (OF_A_FIRING | OF_A_ROW | ABOVE)[means]
    return MapColumn(heading, means, unit=unit, basis="ad" if means in ("Ash", "Hydrogen") else "", part=part)


def sheet_and_map(draw: random.Random, shape: Shape, folder: Path) -> tuple[Path, ColumnMap]:
    """A sheet of random columns with random cells, some blank, and a map that reads most of them."""
    firing = draw.sample(list(OF_A_FIRING), draw.randint(2, len(OF_A_FIRING)))
    firing += [] if "Sample mass" in firing else ["Sample mass"]
    row = ["Sample no.", *draw.sample(list(OF_A_ROW)[1:], draw.randint(0, 6))]
    parts = ["1", "2"] if shape == "pairs" else [""]
    columns = [entry(f"{means} {part}", means, part) for part in parts for means in firing]
    columns += [entry(means, means) for means in row] + [MapColumn(f"mine {n}") for n in range(draw.randint(0, 3))]
    draw.shuffle(columns)
    above = [entry(f"label {means}", means) for means in draw.sample(list(ABOVE), draw.randint(0, 3))]
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.title = "Own"
    lines: list[list[Any]] = []
    for one in above:
        lines.append([None] * draw.randint(0, 2) + [one.heading, draw.choice([5.0, "text"])])
    if shape == "forms":
        lines.append(["form", "I", "II", "mean"])
        for one in columns:
            filled = [None if draw.random() < 0.2 else round(draw.uniform(0.5, 30), 3) for _ in range(3)]
            lines.append([one.heading, *(f"S{draw.randint(1, 3)}" if one.means == "Sample no." else v for v in filled)])
        lines[-len(columns) :] = lines[-len(columns) :]
    else:
        lines.append([one.heading for one in columns])
        for _ in range(draw.randint(1, 8)):
            cells: list[Any] = [None if draw.random() < 0.15 else round(draw.uniform(0.5, 30), 3) for _ in columns]
            at = next(at for at, one in enumerate(columns) if one.means == "Sample no.")
            cells[at] = f"S{draw.randint(1, 3)}"
            lines.append(cells)
    for line in lines:
        page.append(line)
    path = folder / "own.xlsx"
    book.save(path)
    table = MapTable(
        "Own", "firings", shape, tuple(columns), above=tuple(above), every_row={"Titrant": "sodium hydroxide"},
        tests=("I", "II") if shape == "forms" else (), skip=("mean",) if shape == "forms" else (),
    )  # fmt: skip
    setup = (MapSetup("Method", "lab"), MapSetup("Effective heat capacity", 10000.0, "J/K"))
    return path, ColumnMap((table,), setup, name="own.toml")


def addresses(row: FiringRow | TitrationRow | SampleRow) -> dict[str, str]:
    """Every field of a row with the cell that it is traced to."""
    names = set(row.place.table.headings)
    return {name: cell for name in names if (cell := row.place.cell(name)) is not None}


def logged(batch: Batch, firing: FiringRow) -> list[tuple[str, str]]:
    rows: list[FiringRow | TitrationRow | SampleRow] = [firing]
    rows += [one for one in batch.titrations if one.firing == firing.firing]
    rows += [one for one in batch.samples if one.sample and one.sample == firing.sample]
    shared = {"firing", "sample"}
    return [
        (name, cell) for row in rows for name, cell in addresses(row).items() if name not in shared or row is firing
    ]


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(seed=st.integers(0, 2**32), shape=st.sampled_from(["rows", "pairs", "forms"]))
def test_no_cell_is_read_into_two_fields(tmp_path: Path, seed: int, shape: Shape) -> None:
    path, column_map = sheet_and_map(random.Random(seed), shape, tmp_path)
    batch = read_by_map(open_source(path), column_map)
    assert batch.firings
    book = openpyxl.load_workbook(path)
    seen: dict[str, set[str]] = {}
    for firing in batch.firings:
        cells = logged(batch, firing)
        fields: dict[str, str] = {}
        for name, cell in cells:
            assert fields.setdefault(cell, name) == name, (cell, name, fields[cell])
        # The masses, which every firing has for itself, are those of the cells that they are traced to.
        if firing.mass_g is not None:
            address = firing.place.cell("mass_g") or ""
            assert book["Own"][address].value == firing.mass_g
            assert firing.firing not in seen.setdefault(address, set())
            seen[address].add(firing.firing)
    assert all(len(numbers) == 1 for numbers in seen.values())
    assert len({firing.firing for firing in batch.firings}) == len(batch.firings)
