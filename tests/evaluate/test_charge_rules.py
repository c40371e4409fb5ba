"""Mass, rise, ignition and aid of a firing, by hand: C = 10 000 J/K, 60 J of fixed ignition heat, no acid."""

from pathlib import Path
from typing import Any

import pytest
from logbook import Log, codes, firing, plain_log, run

from batchcal.terms import FiringState


def one(folder: Path, row: dict[str, Any], **setup: tuple[Any, ...]) -> Any:
    """The first of two firings, changed by ``row`` and ``setup``; and the codes of the day."""
    log = plain_log(2.5, 2.5)
    for heading in list(row):
        if row[heading] is None:
            del log.rows["Runs"][0][heading]
            del row[heading]
    log.rows["Runs"][0].update(row)
    for name, entry in setup.items():
        if entry:
            log.setup[name.replace("_", " ")] = entry
        else:
            del log.setup[name.replace("_", " ")]
    evaluation = run(log, folder)
    return firing(evaluation, 1), codes(evaluation)


def test_mass_by_difference(tmp_path: Path) -> None:
    found, _ = one(tmp_path, {"Sample mass (g)": None, "Crucible (g)": 11.5, "Crucible + sample (g)": 12.5})
    assert found.gross_ad_J_per_g == pytest.approx(24940, rel=1e-12)  # (25 000 - 60) / 1


@pytest.mark.parametrize(("typed", "agrees"), [(1.0, True), (1.00015, True), (0.99985, True), (1.0002, False)])
def test_typed_mass_and_weighings_agree_to_0_15_mg(tmp_path: Path, typed: float, agrees: bool) -> None:
    row = {"Sample mass (g)": typed, "Crucible (g)": 11.5, "Crucible + sample (g)": 12.5}
    found, said = one(tmp_path, row)
    assert (found.state is FiringState.USED) is agrees
    assert ("mass-disagrees" in said) is not agrees


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ({"Sample mass (g)": None}, "mass-missing"),
        ({"Sample mass (g)": None, "Crucible (g)": 11.5}, "mass-missing"),
        ({"Sample mass (g)": -1.0}, "mass-unfit"),
        ({"Sample mass (g)": 0}, "mass-unfit"),
        ({"Sample mass (g)": 1034}, "mass-unfit"),
        ({"Temperature rise (K)": 0}, "rise-unfit"),
        ({"Temperature rise (K)": -2.5}, "rise-unfit"),
        ({"Temperature rise (K)": 25}, "rise-unfit"),
        ({"Temperature rise (K)": None}, "rise-missing"),
        ({"Temperature rise (K)": None, "Initial temperature (°C)": 22.0}, "rise-missing"),
        ({"Aid": "oil"}, "aid-incomplete"),
        ({"Aid mass (g)": 0.1}, "aid-incomplete"),
        ({"Aid": "oil", "Aid mass (g)": 0.1}, "aid-heat-missing"),
        ({"Capsule mass (g)": 0.1}, "aid-heat-missing"),
    ],
)
def test_what_cannot_be_trusted_is_not_computed(tmp_path: Path, row: dict[str, Any], code: str) -> None:
    found, said = one(tmp_path, dict(row))
    assert code in said
    assert found.state is FiringState.NOT_COMPUTED
    assert found.gross_ad_J_per_g is None


def test_rise_from_two_temperatures_in_kelvin_or_celsius(tmp_path: Path) -> None:
    row = {"Temperature rise (K)": None, "Initial temperature (°C)": 22.0, "Final temperature (°C)": 24.5}
    found, _ = one(tmp_path, dict(row))
    assert found.rise_K == pytest.approx(2.5)


@pytest.mark.parametrize(
    ("typed", "step", "agrees"),
    [
        (2.5, None, True),
        (2.501, None, True),
        (2.502, None, False),
        (2.51, (0.01, "K"), True),
        (2.52, (0.01, "K"), False),
    ],
)
def test_typed_and_differenced_rise_agree_to_one_step(
    tmp_path: Path, typed: float, step: tuple[Any, ...] | None, agrees: bool
) -> None:
    row = {"Temperature rise (K)": typed, "Initial temperature (°C)": 22.0, "Final temperature (°C)": 24.5}
    found, said = one(tmp_path, row, **({"Reading_resolution": step} if step else {}))
    assert ("rise-disagrees" not in said) is agrees
    assert (found.gross_ad_J_per_g is not None) is agrees


def test_a_positive_heat_exchange_is_heat_lost_and_is_added(tmp_path: Path) -> None:
    found, _ = one(tmp_path, {"Heat-exchange correction (K)": 0.01})
    assert found.gross_ad_J_per_g == pytest.approx(25040, rel=1e-12)  # 10 000 x 2.51 - 60


@pytest.mark.parametrize(
    ("row", "setup", "ignition"),
    [
        # 10 cm fitted, 3 left: 7 cm x 9.6 J/cm = 67.2 J
        ({"Wire fitted (cm)": 10, "Wire left (cm)": 3}, {"Wire_heat": (9.6, "J/cm", "own")}, 67.2),
        # 7 cm x 2.3 cal/cm x 4.184 J
        (
            {"Wire fitted (cm)": 10, "Wire left (cm)": 3},
            {"Wire_heat": (2.3, "cal/cm", "own"), "Calorie": ("thermochemical",)},
            7 * 2.3 * 4.184,
        ),
        # 12 mg burnt at 6.3 J/mg, the same as 6 300 J/g
        ({"Wire mass (mg)": 12}, {"Wire_heat": (6.3, "J/mg", "own")}, 75.6),
        ({"Wire mass (mg)": 12}, {"Wire_heat": (6300, "J/g", "own")}, 75.6),
        # 3 mg of thread at 17.5 J/mg beside the wire
        (
            {"Wire fitted (cm)": 10, "Wire left (cm)": 0, "Thread (mg)": 3},
            {"Wire_heat": (9.6, "J/cm", "own"), "Thread_heat": (17.5, "J/mg", "own")},
            96 + 52.5,
        ),
        ({"Thread (mg)": 4}, {"Thread_heat": (17.5, "J/mg", "own")}, 70.0),
    ],
)
def test_wire_and_thread(tmp_path: Path, row: dict[str, Any], setup: dict[str, Any], ignition: float) -> None:
    found, _ = one(tmp_path, dict(row), Fixed_ignition_heat=(), **setup)
    assert found.ignition_J == pytest.approx(ignition, rel=1e-12)
    assert found.gross_ad_J_per_g == pytest.approx(25000 - ignition, rel=1e-12)


@pytest.mark.parametrize(
    ("row", "setup", "code"),
    [
        ({}, {}, "ignition-missing"),
        ({"Wire fitted (cm)": 10}, {"Wire_heat": (9.6, "J/cm", "own")}, "wire-left-missing"),
        ({"Wire fitted (cm)": 10, "Wire left (cm)": 31}, {"Wire_heat": (9.6, "J/cm", "own")}, "wire-left-more"),
        ({"Wire fitted (cm)": 10, "Wire left (cm)": 3}, {"Wire_heat": (6.3, "J/mg", "own")}, "wire-heat-missing"),
        ({"Wire mass (mg)": 12}, {}, "wire-heat-missing"),
        ({"Wire mass (mg)": -12}, {"Wire_heat": (6.3, "J/mg", "own")}, "amount-negative"),
        ({"Wire fitted (cm)": 10, "Wire left (cm)": 3}, {"Wire_heat": (2.3, "cal/cm", "own")}, "calorie-missing"),
        ({"Wire fitted (cm)": 10, "Wire left (cm)": 3}, {"Wire_heat": (9.6, "", "own")}, "setup-unit-unknown"),
        ({"Wire fitted (cm)": 10, "Wire left (cm)": 3}, {"Wire_heat": (9.6, "J/inch", "own")}, "setup-unit-unknown"),
    ],
)
def test_ignition_that_is_not_known(tmp_path: Path, row: dict[str, Any], setup: dict[str, Any], code: str) -> None:
    found, said = one(tmp_path, dict(row), Fixed_ignition_heat=(), **setup)
    assert code in said
    assert found.gross_ad_J_per_g is None


def test_fixed_heat_beside_wire_heat_is_a_finding(tmp_path: Path) -> None:
    found, said = one(tmp_path, {}, Wire_heat=(9.6, "J/cm", "own"))
    assert "ignition-given-twice" in said
    assert found.gross_ad_J_per_g is None


def test_aid_and_capsule_with_their_own_heats(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Aid heat [Paraffin oil]"] = (46000, "J/g", "own")
    log.setup["Capsule heat [gelatin]"] = (19, "kJ/g", "own")
    log.rows["Runs"][0].update({"Aid": "paraffin oil", "Aid mass (g)": 0.1, "Capsule mass (g)": 0.05})
    found = firing(run(log, tmp_path), 1)
    # 0.1 g x 46 000 + 0.05 g x 19 000 = 4 600 + 950 = 5 550 J
    assert found.aid_J == pytest.approx(5550, rel=1e-12)
    assert found.gross_ad_J_per_g == pytest.approx(25000 - 60 - 5550, rel=1e-12)


def test_the_unit_in_a_heading_changes_nothing_but_the_number_typed(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.rows["Runs"][0].update({"Oxygen pressure (MPa)": 3.0})
    swap = {"Sample mass (g)": "Sample mass (mg)", "Oxygen pressure (MPa)": "Oxygen pressure (kgf/cm²)"}
    log.headings["Runs"] = [swap.get(heading, heading) for heading in log.headings["Runs"]]
    for row in log.rows["Runs"]:
        row["Sample mass (mg)"] = row.pop("Sample mass (g)") * 1000
        if "Oxygen pressure (MPa)" in row:
            row["Oxygen pressure (kgf/cm²)"] = row.pop("Oxygen pressure (MPa)") / 0.0980665
    found = firing(run(log, tmp_path), 1)
    assert found.gross_ad_J_per_g == pytest.approx(24940, rel=1e-12)
    assert found.row.oxygen_pressure_MPa == pytest.approx(3.0, rel=1e-12)


def test_order_of_rows_and_columns_changes_nothing(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.505)
    straight = run(log, tmp_path)
    turned: Log = log.copy()
    turned.rows["Runs"].reverse()
    for name in turned.headings:
        turned.headings[name].reverse()
    other = run(turned, tmp_path)
    for number in (1, 2):
        assert firing(other, number).gross_ad_J_per_g == firing(straight, number).gross_ad_J_per_g
    assert other.samples[0].gross_J_per_g == straight.samples[0].gross_J_per_g
    assert other.samples[0].decision is straight.samples[0].decision


@pytest.mark.parametrize(
    ("correction_K", "said"), [(20.0, "comes out at 224940 J/g"), (1e300, "comes out at 1e+304 J/g")]
)
def test_a_value_that_no_fuel_has_is_said_in_few_digits(tmp_path: Path, correction_K: float, said: str) -> None:
    found, _ = one(tmp_path, {"Heat-exchange correction (K)": correction_K})
    assert any(finding.code == "gross-unfit" and said in finding.message for finding in found.findings), found.findings
