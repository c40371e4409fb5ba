"""The generator of days is right by itself: by hand, by its own arithmetic, and by what it says it changes."""

import ast
import datetime as dt
import itertools
import math
import random
import re
from pathlib import Path
from statistics import fmean
from typing import Any

import openpyxl
import pytest

from bad_day.day import GROSS, IDENTITY, MASS, OWN_COLUMNS, OWN_D, OWN_MEAN, SAMPLE, TARE, Day, Formula, Row, plain
from bad_day.day import mass_g as mass_of
from bad_day.day import rise_K as rise_of
from bad_day.honest import fire, honest_day
from bad_day.own import gross_d_J_per_g
from bad_day.slips import SLIPS, bad_day
from bad_day.truth import Truth
from bad_day.write import write

FOLDER = Path(__file__).parent


def test_nothing_is_shared_with_the_program() -> None:
    for path in FOLDER.glob("*.py"):
        names = set()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names |= {alias.name for alias in node.names}
            elif isinstance(node, ast.ImportFrom):
                assert node.level == 0, path.name
                names.add(node.module or "")
        ours = {name.split(".")[0] for name in names}
        assert not ours & {"batchcal", "logbook", "importlib", "evaluate"}, path.name


def test_same_seed_same_day(tmp_path: Path) -> None:
    first, second, other = honest_day(5), honest_day(5), honest_day(6)
    assert first == second
    assert first.sheets["Runs"] != other.sheets["Runs"]
    assert write(first, tmp_path / "a.xlsx").read_bytes() == write(second, tmp_path / "b.xlsx").read_bytes()


@pytest.mark.parametrize("name", SLIPS)
def test_same_seed_same_slip(name: str) -> None:
    assert bad_day(name, 3) == bad_day(name, 3)


def acid_mmol(day: Day, row: Row) -> float:
    titration = next(entry for entry in day.sheets["Titration"] if entry["Firing no."] == row["Firing no."])
    equivalents = 1 if titration["Titrant"] == "sodium hydroxide" else 2
    return float((titration["Titre (mL)"] - titration["Blank (mL)"]) * titration["Concentration"] * equivalents)


def test_a_firing_is_worked_again_by_hand() -> None:
    """25 000 J/g as analysed with 1.2 % of sulphur: the logged figures lead back to the true heat capacity."""
    day = honest_day(8, pairs=8, masses="weighings", temperatures="ends")
    sample = {SAMPLE: "X", "Moisture, analysis (%)": 4.0, "Sulphur (%)": 1.2, "Basis": "ad"}
    row = fire(
        day, random.Random(1), "Runs", "B1", 25000.0, minutes=600, nominal_g=1.0, purpose="sample", sample=sample
    )  # fmt: skip
    mass = row["Crucible + sample (g)"] - row["Crucible (g)"]
    theta = row["Final temperature (°C)"] - row["Initial temperature (°C)"] + row["Heat-exchange correction (K)"]
    wire = (row["Wire fitted (cm)"] - row["Wire left (cm)"]) * 8.4
    thread = row["Thread (mg)"] * 17.5
    sulphuric_mmol = mass * 0.012 / 32.06 * 1000
    nitric_mmol = acid_mmol(day, row) - 2 * sulphuric_mmol
    heat = mass * 25000 + wire + thread + nitric_mmol * 59.8 + sulphuric_mmol * 301.4
    assert 0.2 <= nitric_mmol <= 0.9
    # Half a step of the thermometer, and the rounding of the titre to 0.01 mL (0.001 mmol).
    assert heat / theta == pytest.approx(day.secrets.capacity_J_per_K["B1"], rel=0.00055 / theta)


def test_an_aid_and_a_capsule_give_their_heat() -> None:
    day = honest_day(9, aid=True, capsule=True, masses="net", temperatures="rise")
    for heading, heat_J_per_g in (("Aid mass (g)", 46320), ("Capsule mass (g)", 18930)):
        row = next(row for row in day.sample_rows() if row[heading])
        with_it = gross_d_J_per_g(day, row)
        true = day.secrets.gross_d_J_per_g[row[SAMPLE]]
        assert with_it == pytest.approx(true, abs=6 * 120 / 2.77)
        assert row[heading] * heat_J_per_g / row[MASS] > 2000


def differences(day: Day) -> list[float]:
    """Return B less A of each sample, J/g dry, by arithmetic of the test's own."""
    benzoic = day.setup("Benzoic acid heat of combustion")
    if day.setup("Benzoic acid mass basis") == "vacuum":
        benzoic *= 1.00076

    def side(row: Row) -> float:
        return float((10 - row["Wire left (cm)"]) * 8.4 + row["Thread (mg)"] * 17.5 + acid_mmol(day, row) * 59.8)

    def theta(row: Row) -> float:
        return rise_of(row) + float(row["Heat-exchange correction (K)"])

    found: dict[str, list[float]] = {}
    for row in day.sheets["Calibration"]:
        found.setdefault(row["Bomb"], []).append((mass_of(row) * benzoic + side(row)) / theta(row))
    contents = {row[SAMPLE]: row for row in day.sheets["Samples"]}
    values: dict[str, list[float]] = {}
    for row in day.sample_rows():
        sample = contents[row[SAMPLE]]
        dry = 1 - sample["Moisture, analysis (%)"] / 100
        sulphur = sample["Sulphur (%)"] * (dry if sample["Basis"] == "d" else 1)
        extra = mass_of(row) * sulphur / 100 / 32.06 * 1000 * (301.4 - 2 * 59.8)
        gross = (fmean(found[row["Bomb"]]) * theta(row) - side(row) - extra) / mass_of(row)
        values.setdefault(row[SAMPLE], []).append(gross / dry)
    return [b - a for a, b in values.values()]


@pytest.mark.parametrize("bombs", [1, 2])
def test_pairs_fail_as_often_as_the_limit_means(bombs: int) -> None:
    """The limit is 2.77 standard deviations: 5.0 % of honest pairs are beyond it; four binomial deviations given."""
    found = [gap for seed in range(130) for gap in differences(honest_day(seed, bombs=bombs, own=False))]
    share = sum(abs(gap) > 120 for gap in found) / len(found)
    assert abs(share - 0.0501) < 4 * math.sqrt(0.0501 * 0.95 / len(found))
    spread = math.sqrt(fmean(gap**2 for gap in found) / 2)
    assert spread == pytest.approx(120 / 2.77, rel=4 / math.sqrt(2 * len(found)))
    assert abs(fmean(found)) < 4 * spread * math.sqrt(2 / len(found))


@pytest.mark.parametrize("seed", range(12))
def test_an_honest_day_hangs_together(seed: int) -> None:
    day = honest_day(seed, pairs=8 + seed % 7)
    for row in day.sheets["Samples"]:
        contents = ("Ash (%)", "Sulphur (%)", "Hydrogen (%)", "Nitrogen (%)", "Oxygen (%)", "Carbon (%)")
        total = sum(row[heading] for heading in contents)
        total += row["Moisture, analysis (%)"] if row["Basis"] == "ad" else 0
        assert total == pytest.approx(100, abs=0.05)
        assert row["Moisture, analysis (%)"] <= row["Moisture, total (%)"]
        assert row["Moisture date"] == day.date
        assert 10000 < day.secrets.gross_d_J_per_g[row[SAMPLE]] < 46000
    times = [dt.datetime.combine(day.date, row["Time"]) for row in day.sheets["Runs"]]
    gaps = [(b - a).total_seconds() / 60 for a, b in itertools.pairwise(times)]
    assert min(gaps) >= 20
    assert max(gaps) <= 40
    assert len({row["Date"] for row in day.sheets["Calibration"]}) >= 2
    for bomb in day.secrets.capacity_J_per_K:
        rises = [rise_of(row) for row in day.sheets["Calibration"] if row["Bomb"] == bomb]
        assert len(rises) == 6
        assert all(min(rises) - 0.2 < rise_of(row) < max(rises) for row in day.sample_rows())
    for row in day.sheets["Runs"]:
        assert 0.4 < mass_of(row) < 1.3
        if row.get(TARE) is not None:
            assert min(abs(row[TARE] - tare) for tare in day.secrets.crucibles_g) < 0.001
    numbers = [row["Firing no."] for row in (*day.sheets["Calibration"], *day.sheets["Runs"])]
    assert numbers == list(range(4101, 4101 + len(numbers)))


def worked(values: Any, sheet: str, formula: str) -> Any:
    """Work out a formula of the written workbook from the stored values of the cells it names."""

    def fetch(match: re.Match[str]) -> str:
        value = values[match.group(1) or sheet][match.group(2).replace("$", "")].value
        return repr(0 if value is None else value)

    text = re.sub(r"(?:([A-Za-z]+)!)?(\$?[A-Z]{1,2}\$?\d+)\b", fetch, formula.removeprefix("="))
    text = re.sub(r"(?<![<>=])=(?!=)", "==", text)
    functions = {
        "ROUND": round, "AVERAGE": lambda *numbers: fmean(numbers), "MAX": max, "MIN": min,
        "IF": lambda true, yes, no: yes if true else no,
    }  # fmt: skip
    return eval(text, {"__builtins__": {}}, functions)


@pytest.mark.parametrize("seed", [2, 4])
def test_stored_values_are_those_of_the_formulas(tmp_path: Path, seed: int) -> None:
    day = honest_day(seed, formulas=True, masses="both", temperatures="both", aid=True, capsule=True)
    path = write(day, tmp_path / "day.xlsx")
    book, values = openpyxl.load_workbook(path), openpyxl.load_workbook(path, data_only=True)
    seen = 0
    for page in book.worksheets:
        for cells in page.iter_rows(min_row=2):
            for cell in cells:
                if cell.data_type != "f":
                    continue
                stored = values[page.title][cell.coordinate].value
                again = worked(values, page.title, str(cell.value))
                if isinstance(again, str):
                    assert (stored or "") == again
                else:
                    assert stored == pytest.approx(again, abs=1e-9, rel=1e-12)
                seen += 1
    assert seen > 100


def test_typed_own_results_are_the_formulas_rounded() -> None:
    typed, formulas = (honest_day(11, formulas=live) for live in (False, True))
    for a, b in zip(typed.sample_rows(), formulas.sample_rows(), strict=True):
        assert a[OWN_D] == round(plain(b[OWN_D]))
    for a, b in zip(typed.sheets["Samples"], formulas.sheets["Samples"], strict=True):
        assert (a[OWN_MEAN] or "") == (plain(b[OWN_MEAN]) and round(plain(b[OWN_MEAN])))


Cells = dict[tuple[str, str, str], Any]


def cells(day: Day) -> Cells:
    return {
        (sheet, row[IDENTITY], heading): value
        for sheet, rows in day.sheets.items()
        for row in rows
        for heading, value in row.items()
        if value is not None
    }


def said(day: Day, truth: Truth) -> set[tuple[str, str, str]]:
    found = set()
    for place in truth.places:
        rows = day.sheets[place.sheet]
        found |= {(place.sheet, rows[row - 2][IDENTITY], heading) for row in place.rows for heading in place.columns}
    return found


@pytest.mark.parametrize("name", SLIPS)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_slip_changes_what_it_says_and_nothing_else(name: str, seed: int) -> None:
    day, truth = bad_day(name, seed)
    honest = honest_day(day.seed, **SLIPS[name].needs)
    before, after = cells(honest), cells(day)
    changed = {key for key in before.keys() | after.keys() if before.get(key) != after.get(key)}
    rows = {key[:2] for key in before}, {key[:2] for key in after}
    assert {row for _, row in rows[1] - rows[0]} == set(truth.added)
    assert {row for _, row in rows[0] - rows[1]} == set(truth.removed)
    changed = {key for key in changed if key[1] not in {*truth.added, *truth.removed}}
    followers = {
        key for key in changed if key[2] in OWN_COLUMNS or key[:1] == ("Constants",)
    } if truth.recalculated else set()  # fmt: skip
    assert changed <= said(day, truth) | followers
    marks = (day.struck | day.hidden) - (honest.struck | honest.hidden)
    assert changed or marks or truth.added
    if truth.column is not None:
        telling = {(truth.sheet, day.sheets[truth.sheet][row - 2][IDENTITY]) for row in truth.rows}
        assert telling & {key[:2] for key in changed}
    assert truth.kind == name
    assert truth.confidence in {"A", "B", "A/B", "C/B"}


@pytest.mark.parametrize("name", SLIPS)
def test_a_day_with_a_slip_is_written(name: str, tmp_path: Path) -> None:
    day, truth = bad_day(name, 4)
    book = openpyxl.load_workbook(write(day, tmp_path / "day.xlsx"))
    page = book[truth.sheet]
    headings = [str(cell.value) for cell in page[1]]
    for row in truth.rows:
        logged = day.sheets[truth.sheet][row - 2]
        for heading in truth.places[0].columns:
            stands = page.cell(row, headings.index(heading) + 1).value
            meant = logged.get(heading)
            if isinstance(meant, Formula):
                assert str(stands).startswith("=")
            elif isinstance(meant, dt.date):
                assert stands == dt.datetime.combine(meant, dt.time())
            else:
                assert stands == meant


def test_a_shifted_column_repeats_one_value_and_loses_the_last() -> None:
    day, truth = bad_day("row_shift_rise", 7)
    honest = honest_day(day.seed, **SLIPS["row_shift_rise"].needs)
    before, after = ([rise_of(row) for row in each.sheets["Runs"]] for each in (honest, day))
    start = truth.rows[0] - 2
    assert after == before[:start] + before[start - 1 : -1]


def test_a_wrong_tare_is_that_of_another_crucible() -> None:
    day, truth = bad_day("wrong_crucible_tare", 7)
    honest = honest_day(day.seed, **SLIPS["wrong_crucible_tare"].needs)
    row, right = (each.sheets["Runs"][truth.rows[0] - 2] for each in (day, honest))
    assert row[GROSS] == right[GROSS]
    nearest = [min(day.secrets.crucibles_g, key=lambda tare: abs(tare - each[TARE])) for each in (row, right)]
    assert nearest[0] != nearest[1]


def test_own_results_with_an_old_heat_capacity_imply_it() -> None:
    day, _ = bad_day("stale_heat_capacity", 7)
    honest = honest_day(day.seed, **SLIPS["stale_heat_capacity"].needs)
    bombs = len(day.secrets.capacity_J_per_K)
    for row, right in zip(day.sample_rows(), honest.sample_rows(), strict=True):
        sample = day.find("Samples", SAMPLE, row[SAMPLE])
        assert sample is not None
        theta = rise_of(row) + row["Heat-exchange correction (K)"]
        step = theta / mass_of(row) / (1 - sample["Moisture, analysis (%)"] / 100)
        index = list(day.secrets.capacity_J_per_K).index(row["Bomb"])
        old, used = (day.sheets["Constants"][at]["Value"] for at in (index + bombs, index))
        assert (row[OWN_D] - right[OWN_D]) / step == pytest.approx(old - used, abs=1.1 / step)
