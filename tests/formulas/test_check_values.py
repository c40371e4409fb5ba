"""The formulas against worked examples of others, which stand as data in tests/check_values.

Status of a case: ``verified`` - inputs and answer were read in the source; ``published wrong`` - the source's own
answer is wrong and must not come out; ``loose`` - read, with slips in the source's text; ``from memory`` - the
published answer is recalled; ``inputs only`` and ``derived`` - the answer is our own arithmetic and proves less.
"""

import csv
from collections import Counter
from pathlib import Path

import pytest

from batchcal.formulas import acids, bases, bomb, statistics, weighing
from batchcal.terms import Basis

FOLDER = Path(__file__).parents[1] / "check_values"
STATUSES = {"verified", "published wrong", "loose", "from memory", "inputs only", "derived"}
CALORIE_J = 4.184  # any calorie does: the heat balance is homogeneous in energy


def cases(name: str) -> list[dict[str, str]]:
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def each(name: str) -> pytest.MarkDecorator:
    rows = cases(name)
    return pytest.mark.parametrize("case", rows, ids=[row["case"] + "-" + row["status"] for row in rows])


def energy(case: dict[str, str], *fields: str) -> list[float]:
    joules = {"J": 1.0, "cal": CALORIE_J}[case["energy_unit"]]
    return [float(case[field]) * joules for field in fields]


def check(found: float, case: dict[str, str], expected: str = "expected") -> None:
    tolerance = float(case["tolerance"])
    assert found == pytest.approx(float(case[expected]), abs=tolerance), case["source"]
    if case.get("printed_wrong"):
        assert abs(found - float(case["printed_wrong"])) > 10 * tolerance, case["source"]


@each("heat_capacity")
def test_heat_capacity(case: dict[str, str]) -> None:
    (unit,) = energy({**case, "one": "1"}, "one")
    heat, ignition, aid, nitric = energy(case, "heat_of_combustion_per_g", "ignition", "aid", "nitric")
    found = bomb.effective_heat_capacity(
        mass_g=float(case["mass_g"]),
        heat_of_combustion_J_per_g=heat,
        ignition_J=ignition,
        aid_J=aid,
        nitric_J=nitric,
        corrected_rise_K=float(case["corrected_rise_K"]),
    )
    check(found / unit, {**case, "expected": case["expected_per_K"]})


@each("gross")
def test_gross_calorific_value(case: dict[str, str]) -> None:
    (unit,) = energy({**case, "one": "1"}, "one")
    capacity, ignition, aid, nitric, sulphuric = energy(
        case, "heat_capacity_per_K", "ignition", "aid", "nitric", "sulphuric"
    )
    found = bomb.gross_calorific_value(
        heat_capacity_J_per_K=capacity,
        corrected_rise_K=float(case["corrected_rise_K"]),
        ignition_J=ignition,
        aid_J=aid,
        nitric_J=nitric,
        sulphuric_J=sulphuric,
        mass_g=float(case["mass_g"]),
    )
    molar = float(case["molar_mass_g_per_mol"]) / 1000.0 if case["molar_mass_g_per_mol"] else 1.0
    check(found / unit * molar, case)


@each("bases")
def test_basis(case: dict[str, str]) -> None:
    value, moisture, total, ash = (
        float(case[name])
        for name in ("value", "moisture_analysis_percent", "moisture_total_percent", "ash_analysis_percent")
    )
    found = {
        Basis.DRY: bases.dry_from_as_analysed(value, moisture),
        Basis.AS_RECEIVED: bases.as_received_from_as_analysed(value, moisture, total),
        Basis.DRY_ASH_FREE: bases.dry_ash_free_from_as_analysed(value, moisture, ash),
    }[Basis(case["basis"])]
    check(found, case)


@each("weighing")
def test_heat_in_air(case: dict[str, str]) -> None:
    names = ("heat_in_vacuum_J_per_g", "density_g_per_cm3", "weight_density_g_per_cm3", "air_density_g_per_cm3")
    check(weighing.heat_in_air(**{name: float(case[name]) for name in names}), case)


@each("acids_total_as_nitric")
def test_acids(case: dict[str, str]) -> None:
    names = ("acid_mol", "sulphur_mol", "nitric_heat_J_per_mol", "sulphuric_heat_J_per_mol")
    nitric, sulphuric = acids.total_as_nitric(**{name: float(case[name]) for name in names})
    check(nitric, case, "expected_nitric_J")
    check(sulphuric, case, "expected_sulphuric_J")


@each("strd_univariate")
def test_mean_and_standard_deviation(case: dict[str, str]) -> None:
    first, *rest = map(float, case["data"].split())
    values = [first, *rest * int(case["repeats"])]
    assert statistics.mean(values) == pytest.approx(float(case["mean"]), rel=1e-14)
    tolerance = float(case["relative_tolerance_sd"])
    assert statistics.standard_deviation(values) == pytest.approx(float(case["sd"]), rel=tolerance)
    # Certified mean and SD together, so a slip in either shows in the ratio too.
    ratio = 100 * float(case["sd"]) / float(case["mean"])
    assert statistics.relative_sd_percent(values) == pytest.approx(ratio, rel=max(tolerance, 1e-12))


def test_counts_by_status() -> None:
    """What may be claimed: the verified cases are counted apart from those that are our own arithmetic."""
    found = Counter(
        row["status"] for file in sorted(FOLDER.glob("*.csv")) for row in cases(file.stem) if "status" in row
    )
    assert set(found) == STATUSES
    assert found["verified"] >= 25
    assert all(row["source"] for file in FOLDER.glob("*.csv") for row in cases(file.stem))
