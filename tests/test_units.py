"""Units as they are typed, against scipy's constants where the factor is physics."""

import pytest
import scipy.constants as physics  # type: ignore[import-untyped]  # scipy ships no types

from batchcal import units

BTU_PER_LB = physics.Btu / physics.pound / 1000  # international table Btu, J/g


@pytest.mark.parametrize(
    ("text", "quantity", "factor"),
    [
        ("mg", "mass", 1e-3), ("g", "mass", 1), ("kg", "mass", 1e3), ("lb", "mass", physics.pound * 1e3),
        ("mm", "length", 0.1), ("cm", "length", 1), ("m", "length", 100),
        ("bar", "pressure", physics.bar / 1e6), ("atm", "pressure", physics.atm / 1e6),
        ("kPa", "pressure", 1e-3), ("MPa", "pressure", 1),
        ("kgf/cm²", "pressure", physics.kilogram_force / physics.centi**2 / 1e6),
        ("psi", "pressure", physics.psi / 1e6), ("psig", "pressure", physics.psi / 1e6),
        ("g/mol", "molar mass", 1),
        ("kgf/cm2", "pressure", physics.kilogram_force / physics.centi**2 / 1e6),
        ("kg/cm^2", "pressure", physics.kilogram_force / physics.centi**2 / 1e6),
        ("J/g", "energy per mass", 1), ("kJ/g", "energy per mass", 1e3), ("J/mg", "energy per mass", 1e3),
        ("kJ/kg", "energy per mass", 1), ("MJ/kg", "energy per mass", 1e3), ("Btu/lb", "energy per mass", BTU_PER_LB),
        ("J/cm", "energy per length or mass", 1), ("J/mm", "energy per length or mass", 10),
        ("J/K", "energy per kelvin", 1), ("kJ/K", "energy per kelvin", 1e3), ("J/°C", "energy per kelvin", 1),
        ("kJ/mol", "energy per amount", 1e3), ("J", "energy", 1), ("kJ", "energy", 1e3),
        ("mL", "volume", 1), ("cm³", "volume", 1), ("cc", "volume", 1), ("%", "percentage", 1),
        ("K", "temperature difference", 1), ("°C", "temperature difference", 1), ("s", "time", 1 / 60),
    ],
)  # fmt: skip
def test_factors(text: str, quantity: str, factor: float) -> None:
    unit = units.read(text, quantity)
    assert unit is not None
    assert not unit.calories
    assert unit.inside(3.0) == pytest.approx(3 * factor, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "quantity", "calories"),
    [
        ("cal/g", "energy per mass", 1), ("kcal/kg", "energy per mass", 1), ("kcal/g", "energy per mass", 1e3),
        ("cal/cm", "energy per length or mass", 1), ("cal/mm", "energy per length or mass", 10),
        ("cal/mg", "energy per length or mass", 1e3),
        ("cal/K", "energy per kelvin", 1), ("cal/°C", "energy per kelvin", 1), ("kcal/°C", "energy per kelvin", 1e3),
        ("cal", "energy", 1), ("kcal/mol", "energy per amount", 1e3),
    ],
)  # fmt: skip
def test_a_calorie_needs_its_joules(text: str, quantity: str, calories: float) -> None:
    unit = units.read(text, quantity)
    assert unit is not None
    assert unit.calories
    assert unit.inside(2.0, 4.1855) == pytest.approx(2 * calories * 4.1855, rel=1e-12)
    with pytest.raises(ValueError, match="joules"):
        unit.inside(2.0)


def test_temperatures_in_kelvin_are_offset_and_rises_are_not() -> None:
    temperature, rise = units.read("K", "temperature"), units.read("K", "temperature difference")
    assert temperature is not None
    assert rise is not None
    assert temperature.inside(298.15) == pytest.approx(25)
    assert rise.inside(2.5) == 2.5


@pytest.mark.parametrize(
    ("text", "quantity"),
    [
        ("°F", "temperature"), ("F", "temperature difference"), ("torr", "pressure"), ("oz", "mass"),
        ("inch", "length"),
        ("J/mL", "energy per amount"), ("J/mol/K", "energy per kelvin"), ("J/g", "energy per length or mass "[:6]),
        ("", "mass"), ("/", "energy per mass"), ("J/", "energy per mass"), ("/g", "energy per mass"),
        ("g/J", "energy per mass"), ("J g", "energy per mass"), ("mol/L", "concentration"),
    ],
)  # fmt: skip
def test_what_is_not_read_is_none_and_never_a_guess(text: str, quantity: str) -> None:
    assert units.read(text, quantity) is None


@pytest.mark.parametrize("text", ["millijoule/g", "mJ/g"])
def test_a_millijoule_is_no_megajoule(text: str) -> None:
    unit = units.read(text, "energy per mass")
    assert unit is None or unit.inside(1.0) == pytest.approx(1e-3)


def test_a_blank_unit_means_something_only_where_there_is_one_choice() -> None:
    assert units.only("percentage") is not None
    assert units.only("temperature difference") is not None  # K and °C are the same step
    for quantity in ("mass", "length", "temperature", "pressure", "energy", "energy per mass", "time span"):
        assert units.only(quantity) is None


def test_every_unit_that_is_offered_is_read() -> None:
    for quantity in units.QUANTITIES:
        for text in units.readable(quantity).split(", "):
            assert units.read(text, quantity) is not None, (quantity, text)
