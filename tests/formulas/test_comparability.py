"""What a habit that changed is worth: the closed forms against the heat balance worked out both ways."""

import pytest

from batchcal.formulas import bomb, comparability

CERTIFIED, IGNITION = 26454.0, 60.0


def found(*, capacity: float, rise: float, mass: float, nitric: float = 0.0) -> float:
    return bomb.gross_calorific_value(
        heat_capacity_J_per_K=capacity, corrected_rise_K=rise, ignition_J=IGNITION, aid_J=0.0, nitric_J=nitric,
        sulphuric_J=0.0, mass_g=mass,
    )  # fmt: skip


def calibrated(*, rise: float, mass: float, nitric: float = 0.0) -> float:
    return bomb.effective_heat_capacity(
        mass_g=mass, heat_of_combustion_J_per_g=CERTIFIED, ignition_J=IGNITION, aid_J=0.0, nitric_J=nitric,
        corrected_rise_K=rise,
    )  # fmt: skip


@pytest.mark.parametrize(("before", "now"), [(30.0, 0.0), (0.0, 45.0), (30.0, 45.0), (-5.0, 7.0)])
def test_a_missing_heat_by_the_balance(before: float, now: float) -> None:
    """The value with the heats left out, less the value with them, both through the whole balance."""
    right = found(capacity=calibrated(rise=2.7, mass=1.02, nitric=before), rise=2.4, mass=0.9, nitric=now)
    short = found(capacity=calibrated(rise=2.7, mass=1.02), rise=2.4, mass=0.9)
    worth = comparability.missing_heat_worth(
        missing_in_calibration_J=before, missing_in_test_J=now, calibration_rise_K=2.7, corrected_rise_K=2.4, mass_g=0.9
    )
    assert worth == pytest.approx(short - right, abs=1e-8)


def test_alike_in_both_it_cancels() -> None:
    worth = comparability.missing_heat_worth(
        missing_in_calibration_J=40.0, missing_in_test_J=40.0, calibration_rise_K=2.5, corrected_rise_K=2.5, mass_g=0.8
    )
    assert worth == 0.0


def test_more_water_by_the_balance() -> None:
    """4 mL more water: 16.7 J/K, and 42 J/g for a rise of 2.5 K and 1 g, found too low."""
    more = comparability.water_capacity_J_per_K(4.0)
    assert more == pytest.approx(16.72)
    right, used = found(capacity=10000 + more, rise=2.5, mass=1.0), found(capacity=10000, rise=2.5, mass=1.0)
    worth = comparability.changed_capacity_worth(change_J_per_K=more, corrected_rise_K=2.5, mass_g=1.0)
    assert worth == pytest.approx(used - right, abs=1e-8)
    assert worth == pytest.approx(-41.8)


def test_oxygen_in_the_bomb() -> None:
    """30 bar in 0.30 L: 3 MPa x 300 mL are 900 J, by R T = 2 478.8 J/mol 0.3631 mol or 11.6 g; x 21.1 is 7.66 J/K."""
    assert comparability.oxygen_capacity_J_per_K(3.0, 300.0) == pytest.approx(7.66, abs=0.005)
    assert comparability.oxygen_capacity_J_per_K(-0.3, 300.0) == pytest.approx(-0.766, abs=0.0005)
