"""Standard uncertainties, sensitivities and their combination for a gross calorific value.

The rules are those of the Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008). Its clauses are
named from memory, unchecked; the sensitivities are derivatives of the formulas in ``bomb`` and ``bases``.
"""

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

LIMIT_TO_SD = 2.77
"""Repeatability limit in units of the repeatability standard deviation (ISO 5725-6, from memory, unchecked).

Calculation agrees: 1.96 times the square root of 2 is 2.772.
"""


class GrossSensitivity(NamedTuple):
    """Change of the gross calorific value (J/g) by a unit of what it is computed from."""

    heat_capacity: float
    """Per J/K."""
    rise: float
    """Per K."""
    side_heat: float
    """Per J of any one of the ignition, aid, nitric and sulphuric heats."""
    mass: float
    """Per g."""


class BasisSensitivity(NamedTuple):
    """Change of a value on another basis by a unit of what it is converted from."""

    value: float
    """Per unit of the value as analysed: the conversion factor."""
    moisture_analysis: float
    """Per % of analysis moisture."""
    other: float
    """Per % of total moisture (as received) or of ash as analysed (dry ash-free); 0 for dry."""


def reading_step_uncertainty(step: float) -> float:
    """Return the standard uncertainty of one reading made in steps, in the unit of the step.

    u = step / sqrt(12): all values within half a step are equally likely (GUM 4.3.7 and F.2.2.1, from memory,
    unchecked). Valid for a step of at least 0.

    References
    ----------
    [recalled]

    """
    return step / math.sqrt(12.0)


def difference_uncertainty(first: float, second: float) -> float:
    """Return the standard uncertainty of the difference of two independent readings, in their unit.

    u = sqrt(u_1^2 + u_2^2). Valid where neither reading's error depends on the other's.

    References
    ----------
    [recalled]

    """
    return root_sum_of_squares((first, second))


def root_sum_of_squares(parts: Iterable[float]) -> float:
    """Return the combined standard uncertainty of independent parts of one unit (GUM 5.1.2, from memory, unchecked).

    References
    ----------
    [recalled]

    """
    return math.hypot(*parts)


def mean_uncertainty(parts: Sequence[float]) -> float:
    """Return the standard uncertainty of the mean of at least one value, from that of each, all independent.

    u = sqrt(u_1^2 + ... + u_n^2) / n.

    References
    ----------
    [recalled]

    """
    return root_sum_of_squares(parts) / len(parts)


def repeatability_sd(limit: float, factor: float = LIMIT_TO_SD) -> float:
    """Return the standard deviation of single results that a repeatability limit of two stands for, in its unit.

    s = r / 2.77 (ISO 5725-6, from memory, unchecked). Valid for a factor above 0.

    References
    ----------
    [recalled]

    """
    return limit / factor


def gross_sensitivity(
    *, heat_capacity_J_per_K: float, corrected_rise_K: float, gross_J_per_g: float, mass_g: float
) -> GrossSensitivity:
    """Return the derivatives of q = (C theta - Q_ign - Q_aid - Q_N - Q_S) / m.

    dq/dC = theta/m, dq/dtheta = C/m, dq/dQ = -1/m, dq/dm = -q/m. Derived; valid for a mass above 0 and side heats
    that do not depend on the others.

    References
    ----------
    [no-source]

    """
    return GrossSensitivity(
        heat_capacity=corrected_rise_K / mass_g,
        rise=heat_capacity_J_per_K / mass_g,
        side_heat=-1.0 / mass_g,
        mass=-gross_J_per_g / mass_g,
    )


def dry_sensitivity(gross_ad_J_per_g: float, moisture_analysis_percent: float) -> BasisSensitivity:
    """Return the derivatives of q_d = q_ad 100 / (100 - M_ad). Derived; valid for 0 <= M_ad < 100.

    References
    ----------
    [no-source]

    """
    rest = 100.0 - moisture_analysis_percent
    return BasisSensitivity(100.0 / rest, gross_ad_J_per_g * 100.0 / rest**2, 0.0)


def as_received_sensitivity(
    gross_ad_J_per_g: float, moisture_analysis_percent: float, moisture_total_percent: float
) -> BasisSensitivity:
    """Return the derivatives of q_ar = q_ad (100 - M_t) / (100 - M_ad); ``other`` is by the total moisture.

    Derived; valid for moistures from 0 to below 100.

    References
    ----------
    [no-source]

    """
    rest = 100.0 - moisture_analysis_percent
    factor = (100.0 - moisture_total_percent) / rest
    return BasisSensitivity(factor, gross_ad_J_per_g * factor / rest, -gross_ad_J_per_g / rest)


def dry_ash_free_sensitivity(
    gross_ad_J_per_g: float, moisture_analysis_percent: float, ash_analysis_percent: float
) -> BasisSensitivity:
    """Return the derivatives of q_daf = q_ad 100 / (100 - M_ad - A_ad); ``other`` is by the ash as analysed.

    Derived; valid for M_ad + A_ad below 100, and with moisture and ash each measured as analysed.

    References
    ----------
    [no-source]

    """
    rest = 100.0 - moisture_analysis_percent - ash_analysis_percent
    by_either = gross_ad_J_per_g * 100.0 / rest**2
    return BasisSensitivity(100.0 / rest, by_either, by_either)


def effective_degrees_of_freedom(parts: Sequence[tuple[float, float]]) -> float:
    """Return the effective degrees of freedom of a combined uncertainty, by the Welch-Satterthwaite formula.

    nu = u_c^4 / sum(u_i^4 / nu_i), with ``parts`` the pairs of an uncertainty (in the unit of the result) and its
    degrees of freedom; infinity for one that is taken as exactly known. Infinite where all are. GUM G.4.1, from
    memory, unchecked. Valid for degrees of freedom above 0 and independent parts.

    References
    ----------
    [recalled]

    """
    total = root_sum_of_squares(part for part, _ in parts)
    weight = math.fsum(part**4 / degrees for part, degrees in parts)
    return math.inf if weight == 0 else total**4 / weight
