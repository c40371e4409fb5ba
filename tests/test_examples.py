"""The example workbooks, processed as a user would, against verdicts worked out by hand.

The arithmetic of ``by_hand`` is typed here once more and reads the cells itself; it shares nothing with batchcal.
The figures in the comments are what it gives (J/g, dry basis), so that each verdict can be followed with a pencil.
"""

import json
import statistics
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.cli import cli

EXAMPLES = Path(__file__).parent.parent / "example_workbooks"

# sample: decision, firings used. The repeatability limit r is 120 J/g (50 kcal/kg = 209.34 J/g on the simple bench).
CLEAN = {
    "26-1041": ("ready", 2),  # 29117.11 and 29125.35:  8.24 apart
    "26-1042": ("ready", 2),  # 26830.79 and 26829.28:  1.51 apart
    "26-1043": ("ready", 2),  # 19898.70 and 19923.34: 24.64 apart
    "26-1044": ("ready", 2),  # 18308.62 and 18343.14: 34.52 apart
    "26-1045": ("ready", 2),  # 20525.83 and 20515.10: 10.73 apart
    "26-1046": ("ready", 2),  # 42655.05 and 42642.08: 12.97 apart
    "26-1047": ("ready", 2),  # 13375.06 and 13382.33:  7.27 apart
    "26-1048": ("ready", 2),  # 31090.93 and 31070.53: 20.40 apart
}
DIFFICULT = {
    "26-1041": ("ready", 2),  # 29143.41 and 29158.41: 15.00 apart
    "26-1042": ("repeat", 2),  # 26705.66 and 26981.47: 275.81 apart, over 120: a third is due
    "26-1043": ("ready", 3),  # 19849.28, 19986.85, 19906.31: range 137.57, over 120 but within 1.2 x 120 = 144
    "26-1044": ("hold", 4),  # 18151.09, 18503.65, 18317.08, 18361.58: range 352.56, over 1.3 x 120 = 156
    "26-1045": ("wait", 2),  # no analysis moisture, and the comparison is on the dry basis
    "26-1046": ("wait", 2),  # 42660.77 and 42684.51 agree, but bomb B2's series of 9 April lapsed on 9 July
    "26-1047": ("repeat", 1),  # 13361.91 and a misfire
}
SLIPS = {
    "26-1041": ("ready", 2),  # left in order
    "26-1042": ("hold", 1),  # A: crucible + sample is the text 12,3737
    "26-1043": ("hold", 1),  # B: final temperature is the text '25.217 C'
    "26-1044": ("hold", 1),  # A: 31 cm of wire left of 10 cm fitted
    "26-1045": ("repeat", 1),  # B went to 26-1054 by exchanged digits
    "26-1054": ("hold", 0),  # is not on Samples, so its sulphur is not known
    "26-1046": ("hold", 0),  # A and B have the same firing number
    "26-1047": ("ready", 2),  # left in order, fired with paraffin oil
    "26-1048": ("hold", 1),  # B: weighings 0.9064 g, typed 0.9164 g
}
SIMPLE = dict.fromkeys(("26-1041", "26-1042", "26-1043", "26-1044", "26-1045", "26-1046"), ("ready", 2))

DAYS = {
    "clean_day": (CLEAN, 0),
    "difficult_day": (DIFFICULT, 1),
    "typing_slips_day": (SLIPS, 1),
    "simple_bench_day": (SIMPLE, 0),
}


@pytest.fixture(scope="module", params=DAYS)
def processed(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[str, int, dict[str, Any]]:
    """The example's name, exit status and results.json."""
    name = request.param
    out = tmp_path_factory.mktemp(name)
    result = CliRunner().invoke(cli, ["process", str(EXAMPLES / f"{name}.xlsx"), "--out", str(out)])
    return name, result.exit_code, json.loads((out / f"{name}.results.json").read_text(encoding="utf-8"))


def test_verdicts_and_exit_status(processed: tuple[str, int, dict[str, Any]]) -> None:
    name, status, results = processed
    expected, expected_status = DAYS[name]
    assert {s["sample"]: (s["decision"], s["n_used"]) for s in results["samples"]} == expected
    assert status == expected_status


def _rows(sheet: Worksheet) -> Iterator[dict[str, Any]]:
    names: list[str] = []
    for row in sheet.iter_rows(values_only=True):
        texts = [str(value).partition(" (")[0] if value is not None else "" for value in row]
        if not names and {"Firing no.", "Sample no.", "Item"} & set(texts[:1]):
            names = texts
        elif names:
            values = {name: value for name, value in zip(names, row, strict=True) if name}
            if any(value is not None for value in values.values()):
                yield values


def by_hand(name: str) -> dict[str, float]:
    """Gross calorific value as analysed of every good firing of the clean and the difficult day, J/g."""
    book = openpyxl.load_workbook(EXAMPLES / f"{name}.xlsx")
    acid_mmol = {  # 0.05 mol/L sodium carbonate takes up 0.1 mmol of acid per mL
        row["Firing no."]: (row["Burette end"] - row["Burette start"] - row["Blank"]) * 0.1
        for row in _rows(book["Titration"])
    }
    listed = {row["Sample no."]: row for row in _rows(book["Samples"])}
    benzoic = 26434 * (1 - 0.0012 / 8.0) / (1 - 0.0012 / 1.320)

    def charge(row: dict[str, Any]) -> tuple[float, float, float]:
        mass = row["Crucible + sample"] - row["Crucible"]
        rise = row["Final temperature"] - row["Initial temperature"] + row["Heat-exchange correction"]
        return mass, rise, (row["Wire fitted"] - row["Wire left"]) * 9.6 + row["Thread"] * 17.5

    capacities: dict[str, list[float]] = {}
    for row in _rows(book["Calibration"]):
        mass, rise, ignition = charge(row)
        value = (mass * benzoic + ignition + acid_mmol[row["Firing no."]] * 59.9) / rise
        capacities.setdefault(row["Bomb"], []).append(value)
    found = {}
    for row in _rows(book["Runs"]):
        if row["Outcome"] != "good":
            continue
        mass, rise, ignition = charge(row)
        sample = listed.get(row["Sample no."])
        sulphur_mmol = mass * sample["Sulphur"] / 100 / 32.06 * 1000 if sample else 0.0
        acid = acid_mmol[row["Firing no."]]
        if name == "clean_day":  # all acid as nitric, and the reduced heat for the sulphur
            acids = acid * 59.9 + sulphur_mmol * (301.4 - 2 * 59.9)
        else:  # each acid on its own
            acids = (acid - 2 * sulphur_mmol) * 59.9 + sulphur_mmol * 301.4
        heat = statistics.mean(capacities[row["Bomb"]]) * rise
        found[str(row["Firing no."])] = (heat - ignition - acids) / mass
    return found


@pytest.mark.parametrize("name", ["clean_day", "difficult_day"])
def test_every_firing_is_what_it_is_by_hand(name: str, tmp_path: Path) -> None:
    CliRunner().invoke(cli, ["process", str(EXAMPLES / f"{name}.xlsx"), "--out", str(tmp_path)])
    results = json.loads((tmp_path / f"{name}.results.json").read_text(encoding="utf-8"))
    expected = by_hand(name)
    found = {f["firing"]: f["gross_ad_J_per_g"] for f in results["firings"] if f["gross_ad_J_per_g"] is not None}
    assert len(expected) > 15
    assert found == pytest.approx(expected, rel=1e-12)


def test_one_firing_with_a_pencil(tmp_path: Path) -> None:
    """Firing 3203 of the clean day, every figure read off the sheet and worked through on paper.

    mass       12.7562 - 11.8224                                  = 0.9338 g
    rise       25.103 - 22.458 + 0.0007                           = 2.6457 K
    heat       10121.77 J/K (mean of the six firings of B1) x rise = 26779.17 J
    ignition   6.6 cm x 9.6 + 3.0 mg x 17.5                       = 115.86 J
    acid       10.67 - 0.99 - 0.10 = 9.58 mL x 0.1 eq/L = 0.958 mmol
    nitric     0.958 x 59.9                                       = 57.38 J
    sulphur    0.9338 g x 0.84 % / 32.06 g/mol = 0.24466 mmol; x (301.4 - 2 x 59.9) = 44.43 J
    gross      (26779.17 - 115.86 - 57.38 - 44.43) / 0.9338       = 28444.53 J/g
    dry        28444.53 / (1 - 0.0231)                            = 29117.1 J/g
    """
    CliRunner().invoke(cli, ["process", str(EXAMPLES / "clean_day.xlsx"), "--out", str(tmp_path)])
    results = json.loads((tmp_path / "clean_day.results.json").read_text(encoding="utf-8"))
    firing = next(firing for firing in results["firings"] if firing["firing"] == "3203")
    assert firing["mass_g"] == pytest.approx(0.9338, abs=1e-9)
    assert firing["rise_K"] + firing["heat_exchange_K"] == pytest.approx(2.6457, abs=1e-9)
    assert firing["ignition_J"] == pytest.approx(115.86, abs=0.005)
    assert firing["nitric_J"] == pytest.approx(57.38, abs=0.005)
    assert firing["sulphuric_J"] == pytest.approx(44.43, abs=0.005)
    assert firing["gross_ad_J_per_g"] == pytest.approx(28444.53, abs=0.05)
    assert firing["gross_d_J_per_g"] == pytest.approx(29117.1, abs=0.1)


def test_the_examples_can_be_made_again(tmp_path: Path) -> None:
    subprocess.run([sys.executable, str(EXAMPLES / "make_examples.py"), str(tmp_path)], check=True, capture_output=True)
    for name in DAYS:
        old, new = (openpyxl.load_workbook(folder / f"{name}.xlsx") for folder in (EXAMPLES, tmp_path))
        assert old.sheetnames == new.sheetnames
        for sheet in old.sheetnames:
            cells = [[list(row) for row in book[sheet].iter_rows(values_only=True)] for book in (old, new)]
            assert cells[0] == cells[1], (name, sheet)


def test_the_examples_say_that_they_are_invented() -> None:
    for name in DAYS:
        book = openpyxl.load_workbook(EXAMPLES / f"{name}.xlsx")
        laboratory = next(row for row in _rows(book["Setup"]) if row["Item"] == "Laboratory")
        assert "invented" in laboratory["Value"]
