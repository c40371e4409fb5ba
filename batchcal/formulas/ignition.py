"""Heat that wire, thread, capsule and aid bring into the bomb."""


def wire_heat_by_length(fitted_cm: float, left_cm: float, heat_J_per_cm: float) -> float:
    """Return the heat of the wire that burnt (J), from the lengths before and after.

    Q = (l_fitted - l_left) h. Valid for 0 <= left <= fitted.

    References
    ----------
    [no-source]

    """
    return (fitted_cm - left_cm) * heat_J_per_cm


def burnt_heat(mass_g: float, heat_J_per_g: float) -> float:
    """Return the heat of a mass that burnt away (J): wire, thread, capsule or aid.

    Q = m q. Valid for a mass at or above 0.

    References
    ----------
    [gost-21261], [arrete-1983]

    """
    return mass_g * heat_J_per_g
