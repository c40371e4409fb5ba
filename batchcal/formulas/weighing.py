"""Masses by difference, and the gram of a certificate against the gram of a balance."""

from batchcal.reference import constant

BENZOIC_DENSITY_G_PER_CM3 = constant("benzoic-density").value
WEIGHT_DENSITY_G_PER_CM3 = constant("weight-density").value
AIR_DENSITY_G_PER_CM3 = constant("air-density").value


def mass_by_difference(crucible_g: float, crucible_and_sample_g: float) -> float:
    """Return the sample mass (g) from the weighings of the empty and the filled crucible on one balance.

    m = m_full - m_empty. Valid for a filled crucible heavier than the empty one.

    References
    ----------
    [no-source]

    """
    return crucible_and_sample_g - crucible_g


def heat_in_air(
    heat_in_vacuum_J_per_g: float,
    density_g_per_cm3: float = BENZOIC_DENSITY_G_PER_CM3,
    weight_density_g_per_cm3: float = WEIGHT_DENSITY_G_PER_CM3,
    air_density_g_per_cm3: float = AIR_DENSITY_G_PER_CM3,
) -> float:
    """Return the heat per gram as a balance in air reads it (J/g) from the heat per gram of mass in vacuum.

    The air carries the sample more than the denser weights, so a gram read is more than a gram of mass:
    q_air = q_vac (1 - rho_air / rho_weights) / (1 - rho_air / rho). For benzoic acid 0.076 % more.

    Valid for densities above that of air. The densities of air and weights are from memory, unchecked.

    References
    ----------
    [srm-39j], [recalled]

    """
    weights = 1.0 - air_density_g_per_cm3 / weight_density_g_per_cm3
    sample = 1.0 - air_density_g_per_cm3 / density_g_per_cm3
    return heat_in_vacuum_J_per_g * weights / sample
