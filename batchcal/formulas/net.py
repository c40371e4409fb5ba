"""Net calorific value from the gross one: the water of the products stays vapour.

All contents in % by mass on the same basis as the gross value, hydrogen and oxygen without those of the moisture.
The factors follow from the heat of vaporisation of water at 25 °C and from R T; see the constants ``net-*``.
"""

from batchcal.reference import constant

HYDROGEN_P = constant("net-hydrogen-constant-pressure").value
OXYGEN_P = constant("net-oxygen-constant-pressure").value
NITROGEN_P = constant("net-nitrogen-constant-pressure").value
MOISTURE_P = constant("net-moisture-constant-pressure").value
HYDROGEN_V = constant("net-hydrogen-constant-volume").value
MOISTURE_V = constant("net-moisture-constant-volume").value
HYDROGEN_IN_WATER = constant("hydrogen-in-water").value
OXYGEN_IN_WATER = constant("oxygen-in-water").value


def net_constant_volume(
    gross_dry_J_per_g: float, hydrogen_dry_percent: float, moisture_percent: float, hydrogen: float = HYDROGEN_V,
    moisture: float = MOISTURE_V,
) -> float:  # fmt: skip
    """Return the net calorific value at constant volume (J/g) of the fuel with this moisture.

    q_v,net = (q_v,gr,d - 206 H_d) (1 - M/100) - 23.05 M. ``moisture_percent`` is 0 for the dry basis, the analysis
    moisture for as analysed, the total moisture for as received; 0 <= M < 100.

    References
    ----------
    [coal-conversions], [recalled]

    """
    return (gross_dry_J_per_g - hydrogen * hydrogen_dry_percent) * (1 - moisture_percent / 100) - (
        moisture * moisture_percent
    )


def net_constant_pressure(
    gross_dry_J_per_g: float,
    hydrogen_dry_percent: float,
    oxygen_dry_percent: float,
    nitrogen_dry_percent: float,
    moisture_percent: float,
) -> float:
    """Return the net calorific value at constant pressure (J/g) of the fuel with this moisture.

    q_p,net = (q_v,gr,d - 212.1 H_d - 0.775 O_d - 0.885 N_d) (1 - M/100) - 24.42 M, with M as in
    :func:`net_constant_volume`.

    References
    ----------
    [coal-conversions], [recalled]

    """
    water_free = (
        gross_dry_J_per_g
        - HYDROGEN_P * hydrogen_dry_percent
        - OXYGEN_P * oxygen_dry_percent
        - NITROGEN_P * nitrogen_dry_percent
    )
    return water_free * (1 - moisture_percent / 100) - MOISTURE_P * moisture_percent


def hydrogen_without_moisture(hydrogen_percent: float, moisture_percent: float) -> float:
    """Return the hydrogen (%) of the fuel without that of its moisture, on the same basis.

    H = H_total - 0.1119 M. Valid where the result is not negative.

    References
    ----------
    [coal-conversions], [ciaaw-2021]

    """
    return hydrogen_percent - HYDROGEN_IN_WATER * moisture_percent


def oxygen_without_moisture(oxygen_percent: float, moisture_percent: float) -> float:
    """Return the oxygen (%) of the fuel without that of its moisture, on the same basis.

    O = O_total - 0.8881 M. Valid where the result is not negative.

    References
    ----------
    [ciaaw-2021]

    """
    return oxygen_percent - OXYGEN_IN_WATER * moisture_percent


def oxygen_by_difference(
    carbon_dry_percent: float,
    hydrogen_dry_percent: float,
    nitrogen_dry_percent: float,
    sulphur_dry_percent: float,
    ash_dry_percent: float,
) -> float:
    """Return the oxygen (%, dry) as what the other contents leave of 100.

    Valid where the result is not negative.

    References
    ----------
    [no-source]

    """
    return 100.0 - (
        carbon_dry_percent + hydrogen_dry_percent + nitrogen_dry_percent + sulphur_dry_percent + ash_dry_percent
    )


def net_of_liquid_without_hydrogen(gross_MJ_per_kg: float) -> float:
    """Return the net calorific value at constant pressure (MJ/kg) of a liquid fuel whose hydrogen is not known.

    Q_n = 10.025 + 0.7195 Q_g, recalled from ASTM D240: from memory, unchecked. For petroleum liquids only, between
    about 40 and 48 MJ/kg gross.

    References
    ----------
    [recalled]

    """
    return constant("liquid-net-intercept").value + constant("liquid-net-slope").value * gross_MJ_per_kg
