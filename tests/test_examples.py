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
READINGS = {  # the limit is 200 J/g
    "26-1051": ("ready", 2),  # 20410.89 and 20470.79: 59.90 apart
    "26-1052": ("ready", 2),  # 42511.15 and 42516.59:  5.43 apart
    "26-1053": ("ready", 2),  # 19918.01 and 19933.33: 15.33 apart; both have the letter A, which the reviewer overrode
    "26-1054": ("ready", 2),  # 46756.93 and 46752.62:  4.30 apart
    "26-1055": ("hold", 1),  # B: 25.177 °C at 14 min between 25.077 at 13 min and 25.076 at 15 min
}

DAYS = {
    "clean_day": (CLEAN, 0),
    "difficult_day": (DIFFICULT, 1),
    "typing_slips_day": (SLIPS, 1),
    "simple_bench_day": (SIMPLE, 0),
    "readings_day": (READINGS, 1),
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
        if not names and {"Firing no.", "Sample no.", "Item"} & set(texts[:2]):
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


MAIN_TO = {"3824": 9, "3827": 9}
"""End of the main period (min) where the sheet names no periods.

The last nine readings of both, from 6 min on, lie within 2 mK of their line; the one at 5 min lies 3.4 and 2.8 mK off
the line from there on. Half as much later again than 6 min is 9 min.
"""


def corrected_rise(firing: str, readings: list[dict[str, Any]]) -> float:
    """Rise and heat exchange by two rates, in K; every firing of the day was fired at 0 min."""
    end = MAIN_TO.get(firing) or max(row["Time"] for row in readings if row["Period"] == "main")
    times, values = [row["Time"] for row in readings], [row["Temperature"] for row in readings]
    first, last = times.index(0), times.index(end)
    fore = statistics.linear_regression(times[: first + 1], values[: first + 1]).slope
    after = statistics.linear_regression(times[last:], values[last:]).slope
    cold, warm = statistics.mean(values[: first + 1]), statistics.mean(values[last:])
    # One reading a minute: the trapezoids are means of neighbours.
    mean = (sum(values[first : last + 1]) - (values[first] + values[last]) / 2) / (last - first)
    drift = fore + (after - fore) * (mean - cold) / (warm - cold)
    return float(values[last] - values[first] - drift * (last - first))


def read_by_hand() -> dict[str, float]:
    """Gross calorific value as analysed of every firing of the day read against time that has a right curve, J/g."""
    book = openpyxl.load_workbook(EXAMPLES / "readings_day.xlsx")
    curves: dict[str, list[dict[str, Any]]] = {}
    for row in _rows(book["Readings"]):
        curves.setdefault(str(row["Firing no."]), []).append(row)
    acids = {}
    for row in _rows(book["Titration"]):  # everything is 0.1 eq/L, so 0.1 mmol a mL
        nitric = (row["Carbonate added"] - row["Acid back-titre"]) * 0.1
        acids[row["Firing no."]] = nitric, ((row["Baryta"] - row["Blank"]) * 0.1 - nitric) / 2
    heats = {"paraffin oil": 46050, "polyethylene bag": 46320, None: 0}
    benzoic = 26434 * (1 - 0.0012 / 8.0) / (1 - 0.0012 / 1.320)

    def charge(row: dict[str, Any]) -> tuple[float, float, float]:
        """Mass, corrected rise, and all heat beside the sample's and the sulphuric acid's."""
        capsule = row["Capsule mass"] or 0
        mass = row["Crucible + sample"] - row["Crucible"] - capsule  # the capsule was not in the tare
        ignition = (row["Wire fitted"] - row["Wire left"]) * 9.6 + row["Thread"] * 17.5
        aids = sum((row[f"{aid} mass"] or 0) * heats[row[aid]] for aid in ("Aid", "Aid 2")) + capsule * 18970
        rise = corrected_rise(str(row["Firing no."]), curves[str(row["Firing no."])])
        return mass, rise, ignition + aids + acids[row["Firing no."]][0] * 59.9

    capacities = []
    for row in _rows(book["Calibration"]):
        mass, rise, beside = charge(row)
        capacities.append((mass * benzoic + beside) / rise)
    found = {}
    for row in _rows(book["Runs"]):
        if row["Firing no."] == 3830:
            continue  # its curve has the mistyped reading
        mass, rise, beside = charge(row)
        sulphuric = acids[row["Firing no."]][1] * 301.4 if row["Sample no."] else 0
        found[str(row["Firing no."])] = (statistics.mean(capacities) * rise - beside - sulphuric) / mass
    return found


@pytest.mark.parametrize("name", ["clean_day", "difficult_day", "readings_day"])
def test_every_firing_is_what_it_is_by_hand(name: str, tmp_path: Path) -> None:
    CliRunner().invoke(cli, ["process", str(EXAMPLES / f"{name}.xlsx"), "--out", str(tmp_path)])
    results = json.loads((tmp_path / f"{name}.results.json").read_text(encoding="utf-8"))
    expected = read_by_hand() if name == "readings_day" else by_hand(name)
    found = {f["firing"]: f["gross_ad_J_per_g"] for f in results["firings"] if f["gross_ad_J_per_g"] is not None}
    assert len(expected) == {"clean_day": 18, "difficult_day": 18, "readings_day": 10}[name]
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


def test_one_firing_read_against_time_with_a_pencil(tmp_path: Path) -> None:
    """Firing 3821 of the day read against time: refuse-derived fuel with paraffin oil in a polyethylene bag.

    mass       12.1740 - 11.4726                                  = 0.7014 g
    fore       -5 to 0 min: mean 23.03617 °C, rate 3.2286 mK/min
    after      10 to 18 min: mean 25.61656 °C, rate -2.1667 mK/min
    main       0 to 10 min: mean by trapezoids 25.38595 °C
    drift      3.2286 - 5.3953 x (25.38595 - 23.03617) / (25.61656 - 23.03617) = -1.6845 mK/min
    rise       25.625 - 23.044 + 10 min x 0.0016845               = 2.597845 K
    heat       10233.666 J/K (mean of the five firings) x rise     = 26585.48 J
    ignition   6.3 cm x 9.6 + 3.2 mg x 17.5                       = 116.48 J
    aids       0.1523 x 46050 + 0.1214 x 46320                    = 12636.66 J
    nitric     (20 - 15.53) mL x 0.1 eq/L = 0.447 mmol; x 59.9    = 26.78 J
    sulphuric  ((5.93 - 0.10) x 0.1 - 0.447) / 2 = 0.068 mmol; x 301.4 = 20.50 J
    gross      (26585.48 - 116.48 - 12636.66 - 26.78 - 20.50) / 0.7014 = 19653.64 J/g
    dry        19653.64 / (1 - 0.0371)                            = 20410.9 J/g
    """
    CliRunner().invoke(cli, ["process", str(EXAMPLES / "readings_day.xlsx"), "--out", str(tmp_path)])
    results = json.loads((tmp_path / "readings_day.results.json").read_text(encoding="utf-8"))
    firing = next(firing for firing in results["firings"] if firing["firing"] == "3821")
    assert firing["mass_g"] == pytest.approx(0.7014, abs=1e-9)
    assert firing["heat_exchange_K"] == pytest.approx(0.016845, abs=1e-6)
    assert firing["ignition_J"] == pytest.approx(116.48, abs=0.005)
    assert firing["aid_J"] == pytest.approx(12636.66, abs=0.005)
    assert firing["nitric_J"] == pytest.approx(26.78, abs=0.005)
    assert firing["sulphuric_J"] == pytest.approx(20.50, abs=0.005)
    assert firing["gross_ad_J_per_g"] == pytest.approx(19653.64, abs=0.05)
    assert firing["gross_d_J_per_g"] == pytest.approx(20410.9, abs=0.1)


def test_the_day_read_against_time_shows_its_odd_curve_and_its_override(tmp_path: Path) -> None:
    CliRunner().invoke(cli, ["process", str(EXAMPLES / "readings_day.xlsx"), "--out", str(tmp_path)])
    results = json.loads((tmp_path / "readings_day.results.json").read_text(encoding="utf-8"))
    said = [(f["code"], f["severity"], f["firing"], f["sample"]) for f in results["findings"]]
    assert said == [
        ("curve-reading-off", "block", "3830", "26-1055"),
        ("replicate-twice", "review", "3826", "26-1053"),  # a block but for the override
        ("override-used", "note", None, "26-1053"),
    ]
    page = (tmp_path / "readings_day.summary.html").read_text(encoding="utf-8")
    assert "25.177 °C at 14 min" in page
    assert "is overridden by T. Wren: bench book page 88" in page


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
