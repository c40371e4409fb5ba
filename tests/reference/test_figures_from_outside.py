"""Figures of the reference files and factors of the units against values that are not ours."""

import periodictable
import pytest
import scipy.constants  # type: ignore[import-untyped]  # scipy ships no types
import scipy.stats  # type: ignore[import-untyped]  # the same

from batchcal import units
from batchcal.reference import constant, method


@pytest.mark.parametrize(
    ("key", "outside"),
    [
        ("calorie-international", scipy.constants.calorie_IT),  # CODATA set of scipy
        ("calorie-thermochemical", scipy.constants.calorie_th),
        ("btu-per-lb", scipy.constants.Btu_IT / (scipy.constants.pound * 1000)),
    ],
)
def test_units_of_heat(key: str, outside: float) -> None:
    assert constant(key).value == pytest.approx(outside, rel=1e-9)


@pytest.mark.parametrize("key", ["calorie-15", "calorie-20"])
def test_calories_of_a_temperature_are_heat_capacities_of_water(key: str) -> None:
    """Water at 15 °C to 20 °C takes 4.18 to 4.19 J/(g K) (CRC Handbook, from memory, unchecked)."""
    assert 4.18 < constant(key).value < 4.19
    assert constant("calorie-15").value > constant("calorie-20").value


@pytest.mark.parametrize(
    ("text", "quantity", "outside"),
    [
        ("Btu", "energy", scipy.constants.Btu_IT),
        ("lb", "mass", scipy.constants.pound * 1000),
        ("bar", "pressure", scipy.constants.bar / 1e6),
        ("atm", "pressure", scipy.constants.atm / 1e6),
        ("kgf/cm²", "pressure", scipy.constants.kgf / 1e-4 / 1e6),
        ("kPa", "pressure", scipy.constants.kilo / 1e6),
        ("s", "time", 1 / scipy.constants.minute),
        ("kJ/kg", "energy per mass", 1.0),
        ("MJ/kg", "energy per mass", scipy.constants.mega / scipy.constants.kilo),
        ("J/mm", "energy per length or mass", scipy.constants.centi / scipy.constants.milli),
        ("J/mg", "energy per length or mass", 1 / scipy.constants.milli),
        ("kJ/mol", "energy per amount", scipy.constants.kilo),
    ],
)
def test_factor_of_a_unit(text: str, quantity: str, outside: float) -> None:
    unit = units.read(text, quantity)
    assert unit is not None
    assert unit.inside(1.0) == pytest.approx(outside, rel=1e-12)


def test_kelvin_to_degrees() -> None:
    unit = units.read("K", "temperature")
    assert unit is not None
    assert unit.inside(298.15) == pytest.approx(scipy.constants.convert_temperature(298.15, "K", "C"), rel=1e-12)


@pytest.mark.parametrize(
    ("unit", "calorie_J", "value"),
    [
        ("cal/g", 4.1868, 6313.65),  # derived from 26 434 J/g and the exact factors
        ("kcal/kg", 4.184, 6317.88),
        ("Btu/lb", None, 11364.57),
    ],
)
def test_benzoic_acid_in_other_units(unit: str, calorie_J: float | None, value: float) -> None:
    joules = value * units.energy_per_mass(unit, calorie_J)
    assert joules == pytest.approx(constant("benzoic-heat-srm-39j").value, abs=0.05)


@pytest.mark.parametrize(
    ("key", "symbol"),
    [
        ("hydrogen", "H"),
        ("carbon", "C"),
        ("nitrogen", "N"),
        ("oxygen", "O"),
        ("sodium", "Na"),
        ("sulphur", "S"),
        ("chlorine", "Cl"),
    ],
)
def test_atomic_masses(key: str, symbol: str) -> None:
    """The table of the atomic weights commission as the package periodictable holds it."""
    assert constant(f"atomic-mass-{key}").value == pytest.approx(periodictable.elements.symbol(symbol).mass, rel=2e-5)


def test_molar_mass_of_benzoic_acid() -> None:
    """NIST WebBook: 122.1213 g/mol for C7H6O2."""
    found = sum(
        count * constant(f"atomic-mass-{element}").value
        for element, count in (("carbon", 7), ("hydrogen", 6), ("oxygen", 2))
    )
    assert found == pytest.approx(122.1213, abs=0.003)


def range_factor(count: int) -> float:
    """95 % point of the range of so many normal values with a known standard deviation of 1."""
    return float(scipy.stats.studentized_range.ppf(0.95, count, float("inf")))


@pytest.mark.parametrize(
    ("count", "printed"),
    [(2, 2.8), (3, 3.3), (4, 3.6)],  # ISO 5725-6, Table 1 (from memory, unchecked)
)
def test_critical_range_factors(count: int, printed: float) -> None:
    assert round(range_factor(count), 1) == printed


@pytest.mark.parametrize(("count", "exact"), [(3, 1.196), (4, 1.311)])
def test_further_test_factors(count: int, exact: float) -> None:
    """The factors recalled from GB/T 483 are the ratios of range points to that of two, rounded; r = 2.772 s."""
    assert range_factor(2) == pytest.approx(2.0**0.5 * scipy.stats.norm.ppf(0.975), rel=1e-6)
    ratio = range_factor(count) / range_factor(2)
    assert ratio == pytest.approx(exact, abs=0.0005)
    assert constant(f"further-test-factor-{count}").value == round(ratio, 1)


@pytest.mark.parametrize(
    ("key", "figure", "printed", "unit"),
    [
        ("astm-d5865", "repeatability_bituminous", 69, "Btu/lb"),  # recalled in this unit
        ("astm-d5865", "repeatability_subbituminous_and_lignite", 59, "Btu/lb"),
        ("astm-d5865", "reproducibility_bituminous", 107, "Btu/lb"),
        ("astm-d5865", "reproducibility_subbituminous_and_lignite", 192, "Btu/lb"),
        ("astm-d5865", "print_rounding", 1, "Btu/lb"),
        ("astm-d240", "repeatability", 0.13, "MJ/kg"),
        ("astm-d4809", "repeatability", 0.097, "MJ/kg"),
        ("is-1350-2", "repeatability", 30, "kcal/kg"),
        ("is-1350-2", "reproducibility", 70, "kcal/kg"),
        ("is-1350-2", "print_rounding", 10, "kcal/kg"),
    ],
)
def test_limits_recalled_in_another_unit(key: str, figure: str, printed: float, unit: str) -> None:
    joules = printed * units.energy_per_mass(unit, scipy.constants.calorie_IT)
    assert method(key).figures[figure].value == pytest.approx(joules, rel=0.025 if unit == "kcal/kg" else 5e-4)
