"""Heat capacity as a line against the rise, and the certificate value at other conditions, by hand."""

from pathlib import Path

import pytest
from logbook import DAY, Log, codes, firing, plain_log, run

# Benzoic charges made for C = 10 000 + 20 (rise - 2.5): m = (C rise - 60) / 26 454
RISES = (2.0, 2.25, 2.5, 2.75, 3.0)


def line_log(model: str | None) -> Log:
    log = plain_log(2.2, 2.8)
    del log.setup["Effective heat capacity"]
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Series minimum": (5, None, "own"),
        "Series relative SD limit": (0.2, "%", "own"),
    }
    if model:
        log.setup["Heat-capacity model"] = (model,)
    for number, rise in enumerate(RISES, 101):
        capacity = 10000 + 20 * (rise - 2.5)
        log.add("Calibration", firing_no=number, date=DAY, sample_mass=(capacity * rise - 60) / 26454,
                temperature_rise=rise)  # fmt: skip
    return log


def test_a_line_is_used_at_the_rise_of_each_firing(tmp_path: Path) -> None:
    evaluation = run(line_log("line"), tmp_path)
    assert firing(evaluation, 1).heat_capacity_J_per_K == pytest.approx(10000 + 20 * (2.2 - 2.5), rel=1e-12)
    assert firing(evaluation, 2).heat_capacity_J_per_K == pytest.approx(10000 + 20 * (2.8 - 2.5), rel=1e-12)
    assert evaluation.series[0].slope_J_per_K2 == pytest.approx(20, rel=1e-9)
    assert evaluation.series[0].sd_J_per_K == pytest.approx(0, abs=1e-6)  # about the line


@pytest.mark.parametrize("model", [None, "constant"])
def test_a_constant_is_the_mean(tmp_path: Path, model: str | None) -> None:
    evaluation = run(line_log(model), tmp_path)
    assert firing(evaluation, 1).heat_capacity_J_per_K == pytest.approx(10000, rel=1e-12)


def test_a_rise_beyond_the_line_is_said(tmp_path: Path) -> None:
    log = line_log("line")
    log.rows["Runs"][0]["Temperature rise (K)"] = 1.5
    assert "rise-beyond-series" in codes(run(log, tmp_path))


def conditions_log() -> Log:
    log = line_log(None)
    log.setup["Certificate conditions"] = ("corrected",)
    log.setup["Bomb volume"] = (300, "mL", "own")
    for row in log.rows["Calibration"]:
        rise = row.pop("Temperature rise (K)")
        row |= {
            "Oxygen pressure (MPa)": 0.101325 * 24, "Water in bomb (mL)": 1.0, "Initial temperature (°C)": 22.0,
            "Final temperature (°C)": 22.0 + rise,
        }  # fmt: skip
    return log


def test_the_certificate_value_at_the_conditions_of_the_firing(tmp_path: Path) -> None:
    log = conditions_log()
    mass = log.rows["Calibration"][2]["Sample mass (g)"]
    # gauge 24 atm is 25 atm absolute; 0.3 L; 1 g of water; 22 °C
    factor = 1 + 1e-6 * (20 * (25 - 30) + 42 * (mass / 0.3 - 3) + 30 * (1 / 0.3 - 3) - 45 * (22 - 25))
    found = firing(run(log, tmp_path), 103)
    assert found.heat_capacity_J_per_K == pytest.approx((mass * 26454 * factor + 60) / 2.5, rel=1e-12)


def test_a_condition_that_is_missing_is_not_assumed(tmp_path: Path) -> None:
    log = conditions_log()
    del log.rows["Calibration"][0]["Water in bomb (mL)"]
    evaluation = run(log, tmp_path)
    assert "certificate-conditions-missing" in codes(evaluation)
    assert firing(evaluation, 101).heat_capacity_J_per_K is None
