"""Units as people write them in headings and in Setup, and the factors that turn them into the units used inside.

Inside, every quantity has one unit: g, cm, mL, MPa, K, °C, J, and J per g, cm, mol or K. A calorie is not a unit
until its kind is named, so a unit that holds one says so and the caller supplies the joules. Exact factors are
those of the SI brochure (9th edition, 2019) and of the international pound, inch and table Btu; a force is a mass in
standard gravity. The tests compare them with ``scipy.constants``.
"""

import re
import unicodedata
from functools import cache

from msgspec import Struct

_ENERGY = {"j": 1.0, "kj": 1e3, "mj": 1e6, "btu": 1055.05585262}
_CALORIES = {"cal": 1.0, "kcal": 1e3}
_MASS = {"mg": 1e-3, "g": 1.0, "kg": 1e3, "lb": 453.59237}
_LENGTH = {"mm": 0.1, "cm": 1.0, "m": 100.0}
_KELVIN = {"k": 1.0, "°c": 1.0}
_MOLE = {"mol": 1.0}

_FAMILIES: dict[str, dict[str, float]] = {
    "energy": _ENERGY,
    "mass": _MASS,
    "length": _LENGTH,
    "temperature difference": _KELVIN,
    "temperature": _KELVIN,
    "amount": _MOLE,
    "volume": {"ml": 1.0, "cm3": 1.0},
    "pressure": {
        "mpa": 1.0,
        "kpa": 1e-3,
        "bar": 0.1,
        "atm": 0.101325,
        "kgf/cm2": 0.0980665,
        "psi": 0.45359237 * 9.80665 / 0.0254**2 * 1e-6,
    },
    "percentage": {"%": 1.0},
    "concentration": {"eq/l": 1.0},
    "gram": {"g": 1.0},
    "time": {"min": 1.0, "s": 1.0 / 60.0},
    "time span": {"days": 1.0, "months": 365.2425 / 12},
}

_DENOMINATOR_UNIT = {"mass": "g", "length": "cm", "amount": "mol", "temperature difference": "K"}

QUANTITIES: dict[str, tuple[tuple[str, str | None], ...]] = {
    "energy": (("energy", None),),
    "energy per mass": (("energy", "mass"),),
    "energy per length or mass": (("energy", "length"), ("energy", "mass")),
    "energy per amount": (("energy", "amount"),),
    "nitric heat": (("energy", "amount"), ("energy", None), ("percentage", None)),
    "energy per kelvin": (("energy", "temperature difference"),),
    "percentage or energy per mass": (("percentage", None), ("energy", "mass")),
    "percentage or energy per kelvin": (("percentage", None), ("energy", "temperature difference")),
    "mass": (("mass", None),),
    "length": (("length", None),),
    "temperature": (("temperature", None),),
    "temperature difference": (("temperature difference", None),),
    "volume": (("volume", None),),
    "pressure": (("pressure", None),),
    "percentage": (("percentage", None),),
    "concentration": (("concentration", None),),
    "molar mass": (("gram", "amount"),),
    "time": (("time", None),),
    "time span": (("time span", None),),
}
"""Family of units that each kind of value may be given in: (numerator, denominator or none)."""

_SYNONYMS = {
    "°k": "k",
    "deg c": "°c",
    "degc": "°c",
    "c°": "°c",
    "cc": "cm3",
    "kg/cm2": "kgf/cm2",
    "kp/cm2": "kgf/cm2",
    "psig": "psi",
    "lbf/in2": "psi",
    "day": "days",
    "d": "days",
    "month": "months",
    "minutes": "min",
    "percent": "%",
    "grams": "g",
    "gram": "g",
    "joule": "j",
    "joules": "j",
    "calories": "cal",
    "calorie": "cal",
}

_SHOWN = {
    "j": "J", "kj": "kJ", "mj": "MJ", "btu": "Btu", "k": "K", "°c": "°C", "ml": "mL", "l": "L", "mpa": "MPa",
    "kpa": "kPa", "kgf/cm2": "kgf/cm²", "cm3": "cm³", "eq/l": "eq/L",
}  # fmt: skip


class Unit(Struct, frozen=True):
    """A unit that was read: value inside = value x factor (x joules per calorie if ``calories``) + offset.

    ``per`` is the inside unit of the denominator ("g", "cm", "mol", "K") or "" where there is none;
    ``family`` is the numerator's family.
    """

    text: str
    family: str
    factor: float
    per: str = ""
    calories: bool = False
    offset: float = 0.0

    def inside(self, value: float, calorie_J: float | None = None) -> float:
        """Return ``value`` in the inside unit; a unit with calories needs the joules of one calorie."""
        if not self.calories:
            return value * self.factor + self.offset
        if calorie_J is None:
            raise ValueError(f"{self.text} needs the joules of a calorie")
        return value * self.factor * calorie_J


def normalise(text: str) -> str:
    """Return a unit's text with the many ways of typing the same sign folded together."""
    text = text.replace("º", "°").replace("˚", "°")
    text = unicodedata.normalize("NFKC", text).casefold().strip().strip("[]() ")
    text = text.replace("^", "").replace("*", "")
    text = re.sub(r"\s*/\s*", "/", re.sub(r"\s+", " ", text)).replace("° ", "°")
    return _SYNONYMS.get(text, text)


@cache
def read(text: str, quantity: str) -> Unit | None:
    """Return the unit written in ``text`` if it fits ``quantity``, else None."""
    if text.lstrip().startswith("mJ"):
        return None  # a millijoule: letters are taken whatever their case, so it would pass for a megajoule
    whole = normalise(text)
    for numerator, denominator in QUANTITIES[quantity]:
        found = _read_as(whole, numerator, denominator)
        if found is not None:
            return found
    return None


def _read_as(whole: str, numerator: str, denominator: str | None) -> Unit | None:
    if denominator is None:
        top, bottom, per = whole, 1.0, ""
    else:
        head, slash, tail = whole.rpartition("/")
        tail = _SYNONYMS.get(tail, tail)
        if not slash or tail not in _FAMILIES[denominator]:
            return None
        top, bottom, per = (
            _SYNONYMS.get(head, head),
            _FAMILIES[denominator][tail],
            _DENOMINATOR_UNIT[denominator],
        )
    if numerator == "energy" and top in _CALORIES:
        return Unit(show(whole), numerator, _CALORIES[top] / bottom, per, calories=True)
    if top not in _FAMILIES[numerator]:
        return None
    offset = -273.15 if numerator == "temperature" and top == "k" else 0.0
    return Unit(show(whole), numerator, _FAMILIES[numerator][top] / bottom, per, offset=offset)


def show(text: str) -> str:
    """Return a unit's normalised text as it is printed."""
    whole = normalise(text)
    return _SHOWN.get(whole) or "/".join(_SHOWN.get(part, part) for part in whole.split("/"))


@cache
def only(quantity: str) -> Unit | None:
    """Return the unit of ``quantity`` if a blank unit can mean nothing else, else None."""
    texts = readable(quantity).split(", ")
    found = [unit for unit in (read(text, quantity) for text in texts) if unit is not None]
    if any(unit.calories or unit.factor != found[0].factor or unit.offset != found[0].offset for unit in found):
        return None
    return found[0]


@cache
def readable(quantity: str) -> str:
    """Return the units that are read for ``quantity``, as a list for messages and documentation."""
    texts: list[str] = []
    for numerator, denominator in QUANTITIES[quantity]:
        tops = list(_FAMILIES[numerator]) + (list(_CALORIES) if numerator == "energy" else [])
        if denominator is None:
            texts += [_SHOWN.get(top, top) for top in tops]
            continue
        bottoms = [_SHOWN.get(unit, unit) for unit in _FAMILIES[denominator]]
        for top in tops:
            if top == "btu" and "lb" not in bottoms:
                continue
            shown = ["lb"] if top == "btu" else [unit for unit in bottoms if unit != "lb"]
            texts += [f"{_SHOWN.get(top, top)}/{unit}" for unit in shown]
    return ", ".join(dict.fromkeys(texts))


def energy_per_mass(text: str, calorie_J: float | None) -> float:
    """Return the J/g in one of the given unit of calorific value, e.g. 2.326 for Btu/lb."""
    unit = read(text, "energy per mass")
    if unit is None:
        raise ValueError(f"{text!r} is no unit of calorific value")
    return unit.inside(1.0, calorie_J)
