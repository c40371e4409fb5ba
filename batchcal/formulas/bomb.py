"""The heat balance of a bomb firing: heat capacity, gross calorific value, heat of an aid, recovery.

All heats are heats released and positive. ``corrected_rise_K`` is the rise as read plus the heat-exchange
correction. The same balance holds in any unit of energy as long as it is the same throughout.
"""


def effective_heat_capacity(
    *,
    mass_g: float,
    heat_of_combustion_J_per_g: float,
    ignition_J: float,
    aid_J: float,
    nitric_J: float,
    corrected_rise_K: float,
) -> float:
    """Return the effective heat capacity (J/K) found by burning a certified material.

    C = (m q + Q_ign + Q_aid + Q_N) / theta. The side heats are added, because they warm the calorimeter too.

    Valid for a rise above 0; the heat of combustion and the mass must be on one mass basis (air or vacuum).

    References
    ----------
    [gost-147-2013], [gost-21261], [iso-9831]

    """
    return (mass_g * heat_of_combustion_J_per_g + ignition_J + aid_J + nitric_J) / corrected_rise_K


def gross_calorific_value(
    *,
    heat_capacity_J_per_K: float,
    corrected_rise_K: float,
    ignition_J: float,
    aid_J: float,
    nitric_J: float,
    sulphuric_J: float,
    mass_g: float,
) -> float:
    """Return the gross calorific value at constant volume (J/g of the sample as fired).

    q = (C theta - Q_ign - Q_aid - Q_N - Q_S) / m. The side heats are taken off, because the fuel did not give them.

    Valid for a mass above 0; ``sulphuric_J`` must belong to the acid scheme that gave ``nitric_J``.

    References
    ----------
    [gost-147-2013], [gost-21261], [arrete-1983]

    """
    return (heat_capacity_J_per_K * corrected_rise_K - ignition_J - aid_J - nitric_J - sulphuric_J) / mass_g


def heat_of_aid(
    *,
    heat_capacity_J_per_K: float,
    corrected_rise_K: float,
    ignition_J: float,
    nitric_J: float,
    benzoic_mass_g: float,
    heat_of_combustion_J_per_g: float,
    aid_mass_g: float,
) -> float:
    """Return the heat of combustion of an aid (J/g), burnt alone or beside benzoic acid.

    q_aid = (C theta - Q_ign - Q_N - m q) / m_aid, with m and q those of the benzoic acid (m = 0 where none was used).

    Valid for an aid mass above 0. The heat balance is that of a fuel; the source takes the mean of three burns.

    References
    ----------
    [gost-21261]

    """
    return (
        heat_capacity_J_per_K * corrected_rise_K - ignition_J - nitric_J - benzoic_mass_g * heat_of_combustion_J_per_g
    ) / aid_mass_g


def recovery_percent(found_J_per_g: float, certified_J_per_g: float) -> float:
    """Return the value found for a certified material in % of the certificate's.

    Valid for a certified value above 0 on the mass basis of the one found. Common practice.

    References
    ----------
    [no-source]

    """
    return 100.0 * found_J_per_g / certified_J_per_g


def reading_step_worth(step_K: float, heat_capacity_J_per_K: float, mass_g: float) -> float:
    """Return what one step of the temperature reading is worth in the calorific value (J/g).

    dq = C dtheta / m, the derivative of the gross calorific value by the rise.

    Valid for a mass above 0.

    References
    ----------
    [gost-21261]

    """
    return heat_capacity_J_per_K * step_K / mass_g


def certificate_factor(
    oxygen_atm: float, mass_g: float, water_g: float, volume_L: float, temperature_C: float
) -> float:
    """Return the factor on a benzoic acid certificate value for other than the certificate's conditions.

    f = 1 + 1e-6 [20 (P - 30) + 42 (m_s/V - 3) + 30 (m_w/V - 3) - 45 (t - 25)], with P the absolute oxygen pressure
    (atm), m_s the benzoic acid and m_w the water (g), V the bomb's volume (L), t the temperature (°C): from memory,
    unchecked. Valid for P from 20 to 40 atm, m/V from 2 to 4 g/L and t from 15 to 35 °C.

    References
    ----------
    [recalled]

    """
    parts = (
        20.0 * (oxygen_atm - 30.0)
        + 42.0 * (mass_g / volume_L - 3.0)
        + 30.0 * (water_g / volume_L - 3.0)
        - 45.0 * (temperature_C - 25.0)
    )
    return 1.0 + 1e-6 * parts
