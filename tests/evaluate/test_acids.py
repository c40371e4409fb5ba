"""Acids in calibration, checks and edges, by hand: C = 10 000 J/K, 60 J of ignition, q_N = 60, q_S = 300 kJ/mol.

8 mL of 0.1 eq/L is 0.8 mmol of acid, 48 J as nitric. 1 % of sulphur in 1 g is 10/32.06 = 0.311915 mmol.
"""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from logbook import Log, codes, firing, plain_log, run, sample

from batchcal.terms import Decision, FiringState

SULPHUR_MMOL = 10 / 32.06


def titre(log: Log, number: int, **changes: Any) -> None:
    row = {
        "Firing no.": number, "Titrant": "sodium carbonate", "Concentration": 0.05, "Concentration unit": "mol/L",
        "Titre (mL)": 8.0,
    }  # fmt: skip
    log.rows.setdefault("Titration", []).append(row | {_heading(key): value for key, value in changes.items()})


def _heading(key: str) -> str:
    return {"titre": "Titre (mL)", "blank": "Blank (mL)", "start": "Burette start (mL)", "end": "Burette end (mL)",
            "titrant": "Titrant", "strength": "Concentration", "unit": "Concentration unit"}[key]  # fmt: skip


def acid_log(scheme: str, sulphur: float | None = 1.0) -> Log:
    """Two firings of S1, whose sulphur is given as analysed; no titres yet."""
    log = plain_log(2.5, 2.5)
    log.setup["Acid scheme"] = (scheme,)
    log.setup["Nitric acid heat"] = (60, "kJ/mol", "own")
    log.setup["Sulphuric acid heat"] = (300, "kJ/mol", "own")
    if sulphur is not None:
        log.rows["Samples"][0] |= {"Sulphur (%)": sulphur, "Basis": "ad"}
    return log


def calibrated(scheme: str, numbers: tuple[int, ...] = (101, 102)) -> Log:
    """Like ``acid_log``, the heat capacity from two firings of 1 g at 26 454 J/g and 2.65 K."""
    log = acid_log(scheme)
    del log.setup["Effective heat capacity"]
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Series minimum": (2, None, "own"),
        "Series relative SD limit": (0.2, "%", "own"),
    }
    for number in numbers:
        log.add("Calibration", firing_no=number, date=dt.date(2026, 10, 1), sample_mass=1.0, temperature_rise=2.65)
    return log


@pytest.mark.parametrize("scheme", ["total as nitric", "sulphur apart"])
def test_calibration_counts_its_nitric_acid(tmp_path: Path, scheme: str) -> None:
    log = calibrated(scheme)
    for number in (1, 2, 101, 102):
        titre(log, number)
    found = firing(run(log, tmp_path), 101)
    # (26 454 + 60 + 0.8 x 60) / 2.65; benzoic acid holds no sulphur
    assert found.nitric_J == pytest.approx(48, rel=1e-12)
    assert not found.sulphuric_J
    assert found.heat_capacity_J_per_K == pytest.approx(26562 / 2.65, rel=1e-12)


def test_calibration_under_fixed_and_proportion(tmp_path: Path) -> None:
    log = calibrated("fixed")
    log.setup["Nitric acid heat"] = (28, "J", "own")
    assert firing(run(log, tmp_path), 101).heat_capacity_J_per_K == pytest.approx(26542 / 2.65, rel=1e-12)
    log.setup["Acid scheme"] = ("proportion",)
    log.setup["Nitric acid heat"] = (0.1, "%", "own")
    # 0.1 % of 26 454 J
    found = firing(run(log, tmp_path), 101).heat_capacity_J_per_K
    assert found == pytest.approx((26454 * 1.001 + 60) / 2.65, rel=1e-12)


@pytest.mark.parametrize("scheme", ["total as nitric", "sulphur apart"])
def test_calibration_without_its_titre_is_not_computed(tmp_path: Path, scheme: str) -> None:
    log = calibrated(scheme)
    for number in (1, 2, 101):
        titre(log, number)
    evaluation = run(log, tmp_path)
    missing = next(f for f in evaluation.findings if f.code == "titre-missing")
    assert (missing.sheet, missing.firing) == ("Calibration", "102")
    assert firing(evaluation, 102).state is FiringState.NOT_COMPUTED
    assert firing(evaluation, 102).heat_capacity_J_per_K is None
    assert firing(evaluation, 101).heat_capacity_J_per_K == pytest.approx(26562 / 2.65, rel=1e-12)
    assert sample(evaluation).decision is Decision.HOLD
    assert set(sample(evaluation).gross_J_per_g.values()) == {None}


def test_no_scheme_stops_the_calibration_too(tmp_path: Path) -> None:
    log = calibrated("none")
    del log.setup["Acid scheme"]
    assert firing(run(log, tmp_path), 101).heat_capacity_J_per_K is None


def test_a_check_needs_its_titre_and_no_sulphur(tmp_path: Path) -> None:
    log = acid_log("total as nitric")
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Check limit": (0.2, "%", "own"),
    }
    log.add("Runs", firing_no=9, purpose="check", sample_mass=1.0, temperature_rise=2.655)
    for number in (1, 2, 9):
        titre(log, number)
    # 26 550 - 60 - 48 = 26 442
    assert firing(run(log, tmp_path), 9).recovery_percent == pytest.approx(100 * 26442 / 26454, rel=1e-12)
    del log.rows["Titration"][2]
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 9).recovery_percent is None
    assert sample(evaluation).decision is Decision.HOLD


@pytest.mark.parametrize(
    ("changes", "mmol"),
    [
        ({}, 0.8),  # 8 x 0.05 mol/L x 2
        ({"strength": 0.1, "unit": "eq/L"}, 0.8),
        ({"titrant": "sodium hydroxide", "strength": 0.1}, 0.8),
        ({"titrant": "sodium hydroxide", "strength": 0.1, "unit": "eq/L"}, 0.8),
        ({"blank": 1.0}, 0.7),
        ({"titre": None, "start": 0.55, "end": 9.55, "blank": 1.0}, 0.8),  # 9.00 read, 1.00 of blank
        ({"blank": 8.0}, 0.0),  # all of it is the blank
    ],
)
def test_acid_by_titre(tmp_path: Path, changes: dict[str, Any], mmol: float) -> None:
    log = acid_log("total as nitric", sulphur=0)
    for number in (1, 2):
        titre(log, number, **changes)
    found = firing(run(log, tmp_path), 1)
    assert found.nitric_J == pytest.approx(mmol * 60, rel=1e-9, abs=1e-9)
    assert found.gross_ad_J_per_g == pytest.approx(24940 - mmol * 60, rel=1e-12)


@pytest.mark.parametrize(
    "changes", [{"blank": -0.5}, {"titre": -8.0}, {"strength": 0}, {"strength": -0.05}, {"blank": "0.1 mL"}]
)
def test_what_a_titration_cannot_be(tmp_path: Path, changes: dict[str, Any]) -> None:
    log = acid_log("total as nitric")
    titre(log, 1, **changes)
    titre(log, 2)
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED
    assert firing(evaluation, 1).nitric_J is None
    assert any(f.sheet == "Titration" and f.row == 2 and f.severity == "block" for f in evaluation.findings)
    assert sample(evaluation).decision is Decision.HOLD


@pytest.mark.parametrize(
    ("scheme", "heat"),
    [
        ("total as nitric", (60, "kJ/mol", "own")),
        ("sulphur apart", (60, "kJ/mol", "own")),
        ("fixed", (28, "J", "own")),
        ("proportion", (0.1, "%", "own")),
    ],
)
def test_each_scheme_that_takes_the_bench_s_sulphur_waits_for_it(
    tmp_path: Path, scheme: str, heat: tuple[Any, ...]
) -> None:
    log = acid_log(scheme, sulphur=None)
    log.setup["Nitric acid heat"] = heat
    for number in (1, 2):
        titre(log, number)
    evaluation = run(log, tmp_path)
    assert "sulphur-missing" in codes(evaluation)
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED
    assert sample(evaluation).decision is Decision.WAIT
    assert set(sample(evaluation).gross_J_per_g.values()) == {None}


def test_a_dry_sulphur_waits_for_the_moisture_that_turns_it(tmp_path: Path) -> None:
    log = acid_log("fixed")
    log.setup["Nitric acid heat"] = (28, "J", "own")
    log.rows["Samples"][0] |= {"Basis": "d", "Moisture, analysis (%)": None}
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED
    assert sample(evaluation).decision is Decision.WAIT
    log.rows["Samples"][0]["Moisture, analysis (%)"] = 4.0
    # 1 % dry is 0.96 % as analysed
    found = firing(run(log, tmp_path), 1)
    assert found.sulphuric_J == pytest.approx(0.96 * SULPHUR_MMOL * 300, rel=1e-12)


def test_nitric_of_exactly_nothing_is_not_below_zero(tmp_path: Path) -> None:
    # 0.8 mmol of acid is all from 0.4 mmol of sulphur: 12.824 mg, 1.2824 %
    log = acid_log("sulphur apart", sulphur=1.2824)
    for number in (1, 2):
        titre(log, number)
    found = firing(run(log, tmp_path), 1)
    assert found.nitric_J == pytest.approx(0, abs=1e-9)
    assert found.sulphuric_J == pytest.approx(120, rel=1e-12)


def test_acid_heats_in_kilocalories_per_mole(tmp_path: Path) -> None:
    log = acid_log("total as nitric")
    log.setup |= {
        "Calorie": ("thermochemical",),
        "Nitric acid heat": (60 / 4.184, "kcal/mol", "own"),
        "Sulphuric acid heat": (300 / 4.184, "kcal/mol", "own"),
    }
    for number in (1, 2):
        titre(log, number)
    found = firing(run(log, tmp_path), 1)
    assert (found.nitric_J, found.sulphuric_J) == pytest.approx((48, SULPHUR_MMOL * 180), rel=1e-12)


@pytest.mark.parametrize(
    ("scheme", "item", "entry"),
    [
        ("total as nitric", "Nitric acid heat", (0.1, "%", "own")),
        ("sulphur apart", "Nitric acid heat", (6, "J", "own")),
        ("fixed", "Nitric acid heat", (0.1, "%", "own")),
        ("proportion", "Nitric acid heat", (28, "J", "own")),
        ("fixed", "Sulphuric acid heat", (94.1, "J", "own")),
        ("total as nitric", "Sulphuric acid heat", (57.5, "J/%", "own")),
        ("total as nitric", "Sulphuric acid heat", (9.41, "kJ/g", "own")),
    ],
)
def test_an_acid_heat_of_another_scheme(tmp_path: Path, scheme: str, item: str, entry: tuple[Any, ...]) -> None:
    log = acid_log(scheme)
    if item != "Nitric acid heat" and scheme == "fixed":
        log.setup["Nitric acid heat"] = (28, "J", "own")
    log.setup[item] = entry
    for number in (1, 2):
        titre(log, number)
    evaluation = run(log, tmp_path)
    assert {"acid-heat-unit", "setup-unit-unknown"} & set(codes(evaluation))
    assert firing(evaluation, 1).gross_ad_J_per_g is None
    assert sample(evaluation).decision is Decision.HOLD


@pytest.mark.parametrize("item", ["Nitric acid heat", "Sulphuric acid heat"])
def test_a_missing_acid_heat(tmp_path: Path, item: str) -> None:
    log = acid_log("total as nitric")
    del log.setup[item]
    for number in (1, 2):
        titre(log, number)
    evaluation = run(log, tmp_path)
    assert "acid-heat-missing" in codes(evaluation)
    assert firing(evaluation, 1).gross_ad_J_per_g is None


def test_none_is_said_on_every_sample(tmp_path: Path) -> None:
    log = acid_log("none")
    log.add("Runs", firing_no=3, sample_no="S2", sample_mass=1.0, temperature_rise=2.5)
    log.add("Samples", sample_no="S2")
    evaluation = run(log, tmp_path)
    assert {f.sample for f in evaluation.findings if f.code == "no-acid-correction"} == {"S1", "S2"}
    assert firing(evaluation, 1).gross_ad_J_per_g == pytest.approx(24940, rel=1e-12)
