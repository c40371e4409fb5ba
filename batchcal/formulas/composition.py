"""What the composition of a fuel lets one expect: its calorific value, and whether the oxygen in the bomb was ample.

Estimates, to be held against what was found; no result is ever taken from them. All contents in % by mass, dry,
hydrogen and oxygen without those of the moisture.
"""

from batchcal.reference import constant

_JOULES_PER_CALORIE = constant("calorie-international").value
_GAS_CONSTANT = constant("gas-constant").value
_MOLAR_MASS_OXYGEN = 2.0 * constant("atomic-mass-oxygen").value
_ZERO_C_IN_K = 273.15


def gross_from_composition(
    *, carbon: float, hydrogen: float, sulphur: float, oxygen: float, nitrogen: float, ash: float
) -> float:
    """Return the gross calorific value (J/g, dry) that a fuel of this composition (%, dry) is expected to have.

    q = 349.1 C + 1178.3 H + 100.5 S - 103.4 O - 15.1 N - 21.1 A, the general formula of Channiwala and Parikh for
    solid, liquid and gaseous fuels; its average absolute error is stated as 1.45 %. Valid for C up to 92.25 %,
    H 0.43 to 25.15, O up to 50, N up to 5.6, S up to 94.08 and ash up to 71.4 % (the ranges from memory, unchecked);
    ValueError outside.

    References
    ----------
    [channiwala-parikh], [recalled]

    """
    given = {
        "carbon": carbon, "hydrogen": hydrogen, "sulphur": sulphur, "oxygen": oxygen, "nitrogen": nitrogen, "ash": ash,
    }  # fmt: skip
    value = 0.0
    for name, content in given.items():
        low = constant("composition-hydrogen-lowest").value if name == "hydrogen" else 0.0
        high = constant(f"composition-{name}-highest").value
        if not low <= content <= high:
            raise ValueError(f"the formula holds for {low:g} to {high:g} % of {name}, not {content:g} %")
        value += constant(f"composition-{name}").value * content
    return value


def gross_of_coal(*, carbon: float, hydrogen: float, sulphur: float, oxygen: float) -> float:
    """Return the gross calorific value (J/g, dry) that Dulong's formula gives for a coal of this composition (%, dry).

    q = 80.8 C + 345 (H - O/8) + 22.4 S in cal/g; the sources name no calorie, the international one is taken here
    (0.07 % to the thermochemical one). For coals with up to 15 % of oxygen (from memory, unchecked; ValueError
    above), never for wood, straw or waste, where it is far too low.

    References
    ----------
    [senapati], [channiwala-parikh], [recalled]

    """
    highest = constant("dulong-oxygen-highest").value
    if oxygen > highest:
        raise ValueError(f"the formula holds up to {highest:g} % of oxygen, not {oxygen:g} %")
    calories = (
        constant("dulong-carbon").value * carbon
        + constant("dulong-hydrogen").value * (hydrogen - oxygen / 8.0)
        + constant("dulong-sulphur").value * sulphur
    )
    return calories * _JOULES_PER_CALORIE


def oxygen_used_share(heat_J: float, pressure_MPa: float, volume_mL: float, temperature_C: float) -> float:
    """Return the share of the oxygen in the bomb that a firing used, from the heat that it gave.

    Burning gives about 13.1 kJ per gram of oxygen whatever the fuel (from memory, unchecked). The charge is that of
    an ideal gas at the gauge pressure, p V M / (R T); the air that the bomb held before, about 2 % more oxygen, is
    left out. Pressure and volume above zero.

    References
    ----------
    [recalled], [ciaaw-2021]

    """
    charge_g = pressure_MPa * volume_mL * _MOLAR_MASS_OXYGEN / (_GAS_CONSTANT * (temperature_C + _ZERO_C_IN_K))
    return heat_J / 1000.0 / constant("heat-per-oxygen").value / charge_g
