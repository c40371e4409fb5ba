"""The heat balance closes: what is put in by one equation comes out of the others, and signs run the right way."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from batchcal.formulas import bomb, ignition, weighing

heats = st.floats(0.0, 500.0)


@given(
    mass=st.floats(0.3, 1.5),
    heat=st.floats(26000.0, 27000.0),
    rise=st.floats(0.5, 5.0),
    wire=heats,
    aid=heats,
    nitric=heats,
)
def test_benzoic_acid_fired_as_a_sample_returns_its_certificate(
    *, mass: float, heat: float, rise: float, wire: float, aid: float, nitric: float
) -> None:
    capacity = bomb.effective_heat_capacity(
        mass_g=mass,
        heat_of_combustion_J_per_g=heat,
        ignition_J=wire,
        aid_J=aid,
        nitric_J=nitric,
        corrected_rise_K=rise,
    )
    found = bomb.gross_calorific_value(
        heat_capacity_J_per_K=capacity,
        corrected_rise_K=rise,
        ignition_J=wire,
        aid_J=aid,
        nitric_J=nitric,
        sulphuric_J=0.0,
        mass_g=mass,
    )
    assert bomb.recovery_percent(found, heat) == pytest.approx(100.0, rel=1e-9)


@given(aid_heat=st.floats(10000.0, 47000.0), aid_mass=st.floats(0.05, 0.8), benzoic_mass=st.floats(0.0, 1.0))
def test_heat_of_an_aid_comes_back(aid_heat: float, aid_mass: float, benzoic_mass: float) -> None:
    rise = (aid_heat * aid_mass + benzoic_mass * 26454.0 + 60.0 + 9.0) / 10000.0
    found = bomb.heat_of_aid(
        heat_capacity_J_per_K=10000.0,
        corrected_rise_K=rise,
        ignition_J=60.0,
        nitric_J=9.0,
        benzoic_mass_g=benzoic_mass,
        heat_of_combustion_J_per_g=26454.0,
        aid_mass_g=aid_mass,
    )
    assert found == pytest.approx(aid_heat, rel=1e-9)


def test_reading_step() -> None:
    """0.001 K of 10 kJ/K in half a gram is 20 J/g: the difference of two firings read a step apart."""

    def gross(rise_K: float) -> float:
        return bomb.gross_calorific_value(
            heat_capacity_J_per_K=10000.0,
            corrected_rise_K=rise_K,
            ignition_J=70.0,
            aid_J=0.0,
            nitric_J=12.0,
            sulphuric_J=5.0,
            mass_g=0.5,
        )

    assert bomb.reading_step_worth(0.001, 10000.0, 0.5) == pytest.approx(gross(2.501) - gross(2.500), rel=1e-6)


def test_arrays_go_through() -> None:
    masses: Any = np.array([0.5, 1.0])
    found: Any = bomb.gross_calorific_value(
        heat_capacity_J_per_K=10000.0,
        corrected_rise_K=2.0,
        ignition_J=100.0,
        aid_J=0.0,
        nitric_J=0.0,
        sulphuric_J=0.0,
        mass_g=masses,
    )
    assert found.tolist() == [39800.0, 19900.0]


def test_wire_of_a_known_length() -> None:
    """Princeton laboratory course: 2.3 cal/cm; 10 cm fitted and 5.9 cm left burn 9.43 cal."""
    assert ignition.wire_heat_by_length(10.0, 5.9, 2.3) == pytest.approx(9.43)


def test_cotton_of_a_known_mass() -> None:
    """S. S. Khandare, Engineering Thermodynamics, chapter 8: 0.005 g of cotton at 16 750 J/g."""
    assert ignition.burnt_heat(0.005, 16750.0) == pytest.approx(83.75)


def test_mass_by_difference() -> None:
    """Lecture notes on coal calorimetry: 3.649 g empty and 4.678 g filled is 1.029 g of fuel."""
    assert weighing.mass_by_difference(3.649, 4.678) == pytest.approx(1.029)


def test_default_densities_are_those_of_benzoic_acid_in_air() -> None:
    """26 434 J/g of the certificate is the 26 454 J/g in circulation for weighing in air, 0.076 % more (derived)."""
    assert weighing.heat_in_air(26434.0) == pytest.approx(26454.0, abs=0.5)
    assert weighing.heat_in_air(26434.0) / 26434.0 - 1.0 == pytest.approx(0.00076, abs=0.000005)


def test_a_sample_as_dense_as_the_weights_needs_no_correction() -> None:
    assert weighing.heat_in_air(26434.0, 8.0, 8.0) == 26434.0
