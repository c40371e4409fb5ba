"""The example of a lab's own sheet: made again byte for byte, proposed, read by its map, worked out by hand beside.

The arithmetic of ``by_hand`` is typed here once more and reads the cells itself; it shares nothing with batchcal.
"""

import json
import statistics
import sys
from importlib import import_module
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner

from batchcal.cli import cli

FOLDER = Path(__file__).parents[2] / "example_workbooks"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    sys.path.insert(0, str(FOLDER))
    try:
        maker = import_module("make_examples")
    finally:
        sys.path.remove(str(FOLDER))
    folder = tmp_path_factory.mktemp("own")
    for name in ("own_sheet_day", "again"):
        maker.own_sheet_day().save(folder / f"{name}.xlsx")
    return folder


def rows(path: Path) -> list[dict[str, Any]]:
    sheet = openpyxl.load_workbook(path)["Protokoll"]
    found: list[dict[str, Any]] = []
    names: list[str] = []
    for row in sheet.iter_rows(values_only=True):
        if row[0] == "Lfd. Nr.":
            names = [str(value) for value in row]
        elif names and isinstance(row[0], int):
            found.append(dict(zip(names, row, strict=True)))
    return found


def by_hand(path: Path) -> dict[str, list[float]]:
    """Gross calorific value, dry, of each sample's firings: 0.1 mol/L, all acid as nitric, J/g."""
    benzoic = 26434 * (1 - 0.0012 / 8.0) / (1 - 0.0012 / 1.320)
    capacities: list[float] = []
    found: dict[str, list[float]] = {}
    for row in rows(path):
        mass, rise = row["Tiegel + Probe [g]"] - row["Tiegel leer [g]"], row["Temperaturerhöhung [K]"]
        side = (row["Draht Anfang [cm]"] - row["Restdraht [cm]"]) * 9.6 + row["Verbrauch NaOH [ml]"] * 0.1 * 59.9
        if row["Probennummer"] == "Benzoesäure":
            capacities.append((row["Einwaage [g]"] * benzoic + side) / rise)
        elif row["Probennummer"] != "Kontrolle":
            dry = 1 - row["Analysenfeuchte [%]"] / 100
            sulphur = mass * row["Gesamtschwefel (wf) [%]"] * dry / 100 / 32.06 * 1000
            heat = statistics.mean(capacities) * rise - side - sulphur * (301.4 - 2 * 59.9)
            found.setdefault(row["Probennummer"], []).append(heat / mass / dry)
    return found


def test_it_is_made_again_byte_for_byte(made: Path) -> None:
    assert (made / "own_sheet_day.xlsx").read_bytes() == (made / "again.xlsx").read_bytes()
    first, again = ((made / f"{name}.toml").read_text(encoding="utf-8") for name in ("own_sheet_day", "again"))
    assert first == again.replace("again.xlsx", "own_sheet_day.xlsx")
    assert "(erfunden)" in str(openpyxl.load_workbook(made / "own_sheet_day.xlsx")["Protokoll"]["A1"].value)
    assert "invented" in first


def test_the_day_is_what_a_pencil_makes_of_it(made: Path) -> None:
    day = made / "own_sheet_day.xlsx"
    result = CliRunner().invoke(cli, ["process", str(day), "--columns", str(day.with_suffix(".toml"))])
    assert result.exit_code == 1
    results = json.loads((made / "own_sheet_day.results.json").read_text(encoding="utf-8"))
    assert results["input"]["columns"]["file"] == "own_sheet_day.toml"
    expected = by_hand(day)
    verdicts = {sample["sample"]: sample["decision"] for sample in results["samples"]}
    assert verdicts == {"T-311": "ready", "T-312": "ready", "T-313": "repeat", "T-314": "ready"}
    for sample in results["samples"]:
        if sample["decision"] == "ready":
            mean = statistics.mean(expected[sample["sample"]])
            assert sample["gross_J_per_g"]["d"] == pytest.approx(mean, abs=0.6)  # masses typed to 0.1 mg
    # The lab's own kilocalories agree with what is found, so that nothing is said of them.
    assert not [finding for finding in results["findings"] if finding["code"].startswith("own-")]
    book = openpyxl.load_workbook(made / "own_sheet_day.results.xlsx")
    assert book.sheetnames[0] == "Protokoll"
    headings = [cell.value for cell in book["Protokoll"][6]]
    assert "Gross, dry (J/g)" in headings
    record = [[cell for cell in row if cell is not None] for row in book["Record"].iter_rows(values_only=True)]
    assert ["Protokoll: Einwaage [g]", "read as Sample mass (g)"] in record
    page = (made / "own_sheet_day.summary.html").read_text(encoding="utf-8")
    assert "T-313" in page


def test_columns_asks_nothing_but_which_rows_are_benzoic_acid(made: Path) -> None:
    result = CliRunner().invoke(cli, ["columns", str(made / "own_sheet_day.xlsx")])
    assert result.exit_code == 1
    assert [line for line in result.stdout.splitlines() if line.startswith("? ")] == [
        "? purpose-open: Protokoll row 6: 'Benzoesäure' stands in 5 rows: calibration, check or a sample?",
        "? purpose-open: Protokoll row 6: 'Kontrolle' stands in 1 row: calibration, check or a sample?",
    ]
