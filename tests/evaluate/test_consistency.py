"""How the calibration was fired against how the day was: each habit that no longer cancels, and what it is worth."""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from logbook import Log, codes, firing, plain_log, run, sample

from batchcal.advice import ComparedHabit
from batchcal.findings import Finding
from batchcal.model import Evaluation
from batchcal.terms import Decision, FiringState

MASSES = (0.90, 1.10, 0.95, 1.05, 1.00, 1.02)
RISES = (2.5, 2.502)
"""Of the samples, 1 g each; their median, 2.501 K, is what effects are stated for."""

HABITS = (
    "water-differs", "start-temperature-differs", "acid-habit-changed", "wire-differs-from-calibration",
    "thread-differs-from-calibration", "oxygen-pressure-differs",
)  # fmt: skip


def log_of(calibration: dict[str, Any], today: dict[str, Any]) -> Log:
    """A series of 10 000 J/K, more or less, and two sample firings, with these columns on every row."""
    log = plain_log()
    del log.setup["Effective heat capacity"]
    log.setup |= {
        "Benzoic acid heat of combustion": (26454.0, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Series minimum": (5, None, "own"),
        "Series relative SD limit": (1, "%", "own"),
    }
    for number, mass in enumerate(MASSES):
        rise = round((mass * 26454 + 60) / 10000, 3)
        day = dt.date(2026, 10, 1 + number // 2)
        log.add("Calibration", firing_no=101 + number, date=day, sample_mass=mass,
                **_with_rise(calibration, rise))  # fmt: skip
    for number, rise in enumerate(RISES):
        log.add("Runs", firing_no=1 + number, sample_no="S1", sample_mass=1.0, **_with_rise(today, rise))
    return log


def _with_rise(columns: dict[str, Any], rise: float) -> dict[str, Any]:
    if "initial_temperature" not in columns:
        return {**columns, "temperature_rise": rise}
    return {**columns, "final_temperature": round(columns["initial_temperature"] + rise, 3)}


def of_habits(evaluation: Evaluation) -> list[str]:
    return [code for code in codes(evaluation) if code in HABITS]


def only(evaluation: Evaluation, code: str) -> Finding:
    (finding,) = [finding for finding in evaluation.findings if finding.code == code]
    return finding


def row(evaluation: Evaluation, what: str) -> ComparedHabit:
    (comparison,) = evaluation.comparisons
    (found,) = [row for row in comparison.rows if row.what == what]
    return found


def test_where_everything_agrees_it_says_so(tmp_path: Path) -> None:
    habit = {"water_in_bomb": 1.0, "oxygen_pressure": 3.0, "initial_temperature": 22.5}
    evaluation = run(log_of(habit, habit), tmp_path)
    assert of_habits(evaluation) == []
    (comparison,) = evaluation.comparisons
    assert (comparison.calorimeter, comparison.bomb, comparison.series_date) == ("", "", dt.date(2026, 10, 3))
    assert comparison.firings == ("1", "2")
    assert [(found.what, found.calibration, found.today, found.agrees) for found in comparison.rows] == [
        ("Ignition heat", "60 J, fixed", "60 J, fixed", True),
        ("Water in the bomb", "1 mL (median of 6)", "1 mL (median of 2)", True),
        ("Initial temperature", "22.5 °C (median of 6)", "22.5 °C (median of 2)", True),
        ("Oxygen pressure", "3 MPa (median of 6)", "3 MPa (median of 2)", True),
        ("Nitric acid heat", "no correction", "no correction", True),
        ("Temperature reading", "without times", "without times", True),
    ]
    assert row(evaluation, "Water in the bomb").effect_J_per_g == 0.0
    assert sample(evaluation).decision is Decision.READY


@pytest.mark.parametrize(
    ("water", "decision", "worth"),
    [
        (1.5, Decision.READY, None),  # 0.5 mL
        (1.6, Decision.READY, "6.3 J/g too low"),  # 4.18 x 0.6 x 2.501 = 6.27
        (2.0, Decision.READY, "10.5 J/g too low"),  # 1 mL
        (2.1, Decision.HOLD, "11.5 J/g too low"),
        (0.2, Decision.READY, "8.4 J/g too high"),
    ],
)
def test_water_in_the_bomb(tmp_path: Path, water: float, decision: Decision, worth: str | None) -> None:
    evaluation = run(log_of({"water_in_bomb": 1.0}, {"water_in_bomb": water}), tmp_path)
    assert of_habits(evaluation) == ([] if worth is None else ["water-differs"])
    found = row(evaluation, "Water in the bomb")
    assert found.effect_J_per_g == pytest.approx(-4.18 * (water - 1.0) * 2.501, rel=1e-9)
    assert (found.agrees, found.note) == (worth is None, "4.18 J/K per mL")
    assert sample(evaluation).decision is decision
    if worth is not None:
        finding = only(evaluation, "water-differs")
        assert finding.message.endswith(f"values are found about {worth}.")
        assert finding.firing is None
    if decision is Decision.HOLD:
        assert firing(evaluation, 1).state is FiringState.PROVISIONAL
        assert sample(evaluation).reason == only(evaluation, "water-differs").message


def test_one_odd_row_does_not_make_a_habit(tmp_path: Path) -> None:
    log = log_of({"water_in_bomb": 1.0}, {"water_in_bomb": 1.0})
    log.add("Runs", firing_no=3, sample_no="S1", sample_mass=1.0, temperature_rise=2.501, water_in_bomb=10.0)
    assert of_habits(run(log, tmp_path)) == []


def test_what_is_not_logged_is_not_compared(tmp_path: Path) -> None:
    evaluation = run(log_of({}, {"water_in_bomb": 5.0}), tmp_path)
    assert of_habits(evaluation) == []
    found = row(evaluation, "Water in the bomb")
    assert (found.calibration, found.today, found.agrees) == ("not logged", "5 mL (median of 2)", None)
    assert found.effect_J_per_g is None


@pytest.mark.parametrize(
    ("start", "decision", "said"),
    [(24.5, Decision.READY, False), (24.6, Decision.READY, True), (27.5, Decision.READY, True),
     (27.6, Decision.HOLD, True), (17.4, Decision.HOLD, True)],
)  # fmt: skip
def test_initial_temperature(tmp_path: Path, start: float, decision: Decision, said: bool) -> None:
    log = log_of({"initial_temperature": 22.5}, {"initial_temperature": start})
    evaluation = run(log, tmp_path)
    assert of_habits(evaluation) == (["start-temperature-differs"] if said else [])
    assert sample(evaluation).decision is decision
    found = row(evaluation, "Initial temperature")
    assert (found.agrees, found.effect_J_per_g) == (not said, None)
    if said:
        assert "another part of its scale" in only(evaluation, "start-temperature-differs").message


@pytest.mark.parametrize(("pressure", "volume", "said"), [(3.2, None, False), (3.3, None, True), (3.3, 300, True)])
def test_oxygen_pressure(tmp_path: Path, pressure: float, volume: float | None, said: bool) -> None:
    log = log_of({"oxygen_pressure": 3.0}, {"oxygen_pressure": pressure})
    if volume is not None:
        log.setup["Bomb volume"] = (volume, "mL", "instructions")
    evaluation = run(log, tmp_path)
    assert of_habits(evaluation) == (["oxygen-pressure-differs"] if said else [])
    assert sample(evaluation).decision is Decision.READY
    found = row(evaluation, "Oxygen pressure")
    if volume is None:
        assert found.effect_J_per_g is None
    else:
        # 0.3 MPa x 300 mL / (8.314 x 298.15) = 0.03631 mol, x 21.1 = 0.766 J/K, x 2.501 = 1.92 J/g
        assert found.effect_J_per_g == pytest.approx(-1.92, abs=0.005)
        assert "values are found about 1.9 J/g too low." in only(evaluation, "oxygen-pressure-differs").message


def ignited(calibration: dict[str, Any], today: dict[str, Any]) -> Log:
    log = log_of(calibration, today)
    del log.setup["Fixed ignition heat"]
    log.setup |= {"Wire heat": (10, "J/cm", "spool"), "Thread heat": (17.5, "J/mg", "lot")}
    return log


@pytest.mark.parametrize(("fitted", "said"), [(10.0, False), (12.0, False), (12.1, True), (7.9, True)])
def test_length_of_wire(tmp_path: Path, fitted: float, said: bool) -> None:
    """6 cm burnt in the calibration, 4 cm less than fitted today; the calibration's rise is 2.6785 K in the middle."""
    log = ignited({"wire_fitted": 10.0, "wire_left": 4.0}, {"wire_fitted": fitted, "wire_left": 4.0})
    evaluation = run(log, tmp_path)
    assert of_habits(evaluation) == (["wire-differs-from-calibration"] if said else [])
    middle = ((1.00 * 26454 + 60) + (1.02 * 26454 + 60)) / 2 / 10000
    found = row(evaluation, "Wire")
    worth = abs(0.1 * (fitted - 4) * 10 - 0.1 * 60 * 2.501 / middle)
    assert found.effect_J_per_g == pytest.approx(worth, abs=0.002)
    assert found.calibration == "10.0 cm fitted (mean of 6)"
    if said:
        finding = only(evaluation, "wire-differs-from-calibration")
        assert finding.message.endswith(f"no longer cancels; 10 % of it is worth {worth:.1f} J/g.")
        assert finding.severity == "review"


def test_mass_of_wire(tmp_path: Path) -> None:
    for milligrams, said in ((11.5, False), (12.5, True)):
        log = ignited({"wire_mass": 10.0}, {"wire_mass": milligrams})
        log.setup["Wire heat"] = (6.0, "J/mg", "spool")
        evaluation = run(log, tmp_path)
        assert of_habits(evaluation) == (["wire-differs-from-calibration"] if said else [])
        assert row(evaluation, "Wire").today == f"{milligrams} mg (mean of 2)"


def test_thread_in_place_of_wire(tmp_path: Path) -> None:
    log = ignited({"wire_fitted": 10.0, "wire_left": 4.0}, {"thread": 3.0})
    evaluation = run(log, tmp_path)
    assert of_habits(evaluation) == ["wire-differs-from-calibration", "thread-differs-from-calibration"]
    assert (row(evaluation, "Wire").today, row(evaluation, "Thread").calibration) == ("none", "none")
    # 3 mg x 17.5 J/mg, of which a tenth is 5.25 J/g for 1 g; the wire, 60 J in the calibration, x 2.501 / its rise
    assert row(evaluation, "Thread").effect_J_per_g == pytest.approx(5.25)
    assert "10 % of it is worth 5.2 J/g" in only(evaluation, "thread-differs-from-calibration").message
    assert sample(evaluation).decision is Decision.READY


def test_thread_in_some_firings(tmp_path: Path) -> None:
    log = ignited({"wire_fitted": 10.0, "wire_left": 4.0}, {"wire_fitted": 10.0, "wire_left": 4.0})
    log.rows["Runs"][0]["Thread (mg)"] = 3.0
    evaluation = run(log, tmp_path)
    assert of_habits(evaluation) == ["thread-differs-from-calibration"]
    assert row(evaluation, "Thread").today == "3.0 mg (mean of 1) in 1 of 2 firings"


def titrated(calibration_mL: float | None, today_mL: float | None) -> Log:
    log = log_of({}, {})
    log.setup |= {
        "Acid scheme": ("total as nitric",),
        "Nitric acid heat": (60, "kJ/mol", "own"),
        "Sulphuric acid heat": (300, "kJ/mol", "own"),
    }
    log.rows["Samples"][0] |= {"Sulphur (%)": 0.0, "Basis": "ad"}
    log.rows["Titration"] = []
    for numbers, titre in ((range(101, 107), calibration_mL), ((1, 2), today_mL)):
        for number in numbers if titre is not None else ():
            log.add("Titration", firing_no=number, titrant="sodium hydroxide", concentration=0.1,
                    concentration_unit="mol/L", titre=titre, blank=0.1)  # fmt: skip
    return log


def test_the_same_acid_habit(tmp_path: Path) -> None:
    evaluation = run(titrated(5.1, 5.1), tmp_path)
    assert of_habits(evaluation) == []
    # 5.0 mL x 0.1 eq/L = 0.5 mmol, x 60 kJ/mol = 30 J
    assert row(evaluation, "Nitric acid heat").calibration == "30 J (median of 6)"
    assert row(evaluation, "Nitric acid heat").agrees


def test_a_titre_that_is_all_blank_in_the_calibration(tmp_path: Path) -> None:
    """30 J were there and not counted: the heat capacity is 30 / 2.678 J/K too small, and 2.501 K at 1 g show it."""
    evaluation = run(titrated(0.1, 5.1), tmp_path)
    assert of_habits(evaluation) == ["acid-habit-changed"]
    found = row(evaluation, "Nitric acid heat")
    middle = ((1.00 * 26454 + 60) + (1.02 * 26454 + 60)) / 2 / 10000
    assert found.effect_J_per_g == pytest.approx(-30 * 2.501 / middle, abs=0.01)
    assert (found.calibration, found.today) == ("0 J throughout", "30 J (median of 2)")
    assert only(evaluation, "acid-habit-changed").message.endswith("values are found about 28.0 J/g too low.")
    assert sample(evaluation).decision is Decision.HOLD


def test_a_titre_that_is_all_blank_today(tmp_path: Path) -> None:
    evaluation = run(titrated(5.1, 0.1), tmp_path)
    assert row(evaluation, "Nitric acid heat").effect_J_per_g == pytest.approx(30.0)
    assert only(evaluation, "acid-habit-changed").message.endswith("values are found about 30.0 J/g too high.")
    assert sample(evaluation).decision is Decision.HOLD


@pytest.mark.parametrize(("calibration", "today"), [(None, 5.1), (5.1, None)])
def test_a_missing_titre_is_stopped_already(tmp_path: Path, calibration: float | None, today: float | None) -> None:
    evaluation = run(titrated(calibration, today), tmp_path)
    assert "titre-missing" in codes(evaluation)
    assert of_habits(evaluation) == []
    assert sample(evaluation).decision is Decision.HOLD
    assert evaluation.comparisons == ()


def test_one_finding_for_each_apparatus(tmp_path: Path) -> None:
    log = log_of({"water_in_bomb": 1.0}, {"water_in_bomb": 1.8})
    for sheet in ("Calibration", "Runs"):
        for values in list(log.rows[sheet]):
            values |= {"Calorimeter": "K1", "Bomb": "B1"}
            number = 50 + int(values["Firing no."])
            water = 1.0 if sheet == "Calibration" else 1.2
            log.rows[sheet].append({**values, "Firing no.": number, "Bomb": "B2", "Water in bomb (mL)": water})
    evaluation = run(log, tmp_path)
    assert of_habits(evaluation) == ["water-differs"]
    assert only(evaluation, "water-differs").message.startswith("calorimeter K1 with bomb B1: 1.8 mL (median of 2)")
    differing = {
        found.bomb: [row.what for row in found.rows if row.agrees is False] for found in evaluation.comparisons
    }
    assert differing == {"B1": ["Water in the bomb"], "B2": []}


def test_a_heat_capacity_from_setup_has_no_firings_to_compare(tmp_path: Path) -> None:
    assert run(plain_log(*RISES), tmp_path).comparisons == ()
