"""What a value is worth more or less where tests are fired otherwise than the calibration was.

Positive is a value that is found too high. C = E / theta_c comes from the calibration and q = (C theta - Q) / m from
a test, so that what is left out of both with the same rise cancels but for the mass.
"""

from batchcal import reference


def changed_capacity_worth(*, change_J_per_K: float, corrected_rise_K: float, mass_g: float) -> float:
    """Return how much too high a value is found (J/g) where the heat capacity has grown since the calibration.

    -dC theta / m: a calorimeter that takes up more heat warms less. Valid for a mass above 0.

    References
    ----------
    [no-source]

    """
    return (0.0 - change_J_per_K) * corrected_rise_K / mass_g


def missing_heat_worth(
    *,
    missing_in_calibration_J: float,
    missing_in_test_J: float,
    calibration_rise_K: float,
    corrected_rise_K: float,
    mass_g: float,
) -> float:
    """Return how much too high a value is found (J/g) where a side heat was left out of the calibration or the test.

    (dQ_t - dQ_c theta / theta_c) / m: left out of the calibration it makes the heat capacity too small, left out of
    the test it is taken for heat of the sample. A heat that is counted too high is missing with a minus. Valid for
    rises and a mass above 0.

    References
    ----------
    [no-source]

    """
    return (missing_in_test_J - missing_in_calibration_J * corrected_rise_K / calibration_rise_K) / mass_g


def water_capacity_J_per_K(
    volume_mL: float, J_per_K_mL: float = reference.constant("water-heat-capacity").value
) -> float:
    """Return the heat capacity of a volume of water (J/K), by default 4.18 J/K per mL; a difference may be negative.

    References
    ----------
    [units-dictionary]

    """
    return volume_mL * J_per_K_mL


def oxygen_capacity_J_per_K(
    pressure_MPa: float,
    bomb_volume_mL: float,
    molar_heat_capacity_J_per_K_mol: float = reference.constant("oxygen-heat-capacity").value,
    gas_constant_J_per_K_mol: float = reference.constant("gas-constant").value,
) -> float:
    """Return the heat capacity (J/K) of oxygen of that pressure in the bomb at 25 °C; a difference may be negative.

    p V / (R T) moles, as an ideal gas, times the molar heat capacity at constant volume. MPa times mL are joules.

    References
    ----------
    [recalled]

    """
    amount_mol = pressure_MPa * bomb_volume_mL / (gas_constant_J_per_K_mol * 298.15)
    return amount_mol * molar_heat_capacity_J_per_K_mol
