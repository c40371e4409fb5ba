"""Standard uncertainties, sensitivities and their combination for a gross calorific value.

The rules are those of the Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008). Its clauses are
named from memory, unchecked; the sensitivities of the gross value are derivatives of the formula in ``bomb``.
"""

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

LIMIT_TO_SD = 2.77
"""Repeatability limit in units of the repeatability standard deviation (ISO 5725-6, from memory, unchecked).

Calculation agrees: 1.96 times the square root of 2 is 2.772.
"""

SMALL = 1e-4
"""Step for the change of a value with a content, in %."""


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


def slope(here: float, there: float, step: float = SMALL) -> float:
    """Return the change of a value by a unit of what it depends on, from the value here and a small step further.

    (f(h) - f(0)) / h, with f the value as a function of the departure from the point; a step upward only, because
    a content of 0 cannot fall. Good to about 1e-6 of itself for values on other bases and net values, which are
    ratios of straight lines in the contents.

    References
    ----------
    [no-source]

    """
    return (there - here) / step


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
