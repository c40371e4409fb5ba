"""Reads the items of Setup one by one: words of closed lists, and numbers in inside units."""

import datetime as dt
from collections.abc import Mapping
from enum import StrEnum
from typing import Any, TypeVar

from msgspec import Struct, field

from batchcal import reference, units
from batchcal.evaluate import fitting
from batchcal.findings import Finding, Severity
from batchcal.items import SETUP_ITEMS_BY_KEY, SetupItem
from batchcal.logged import SetupEntry
from batchcal.model import Quantity
from batchcal.terms import FROM_METHOD, Basis

ENTERED = "entered by the laboratory"
"""Mark of a figure that the lab entered itself."""

Word = TypeVar("Word", bound=StrEnum)

_LIMITS: Mapping[str, tuple[str, str]] = {
    "benzoic_heat": ("benzoic-heat-lowest", "benzoic-heat-highest"),
    "sulphuric_heat": ("sulphuric-heat-lowest", "sulphuric-heat-highest"),
}

_NOT_NEGATIVE = ("wire_heat", "thread_heat", "fixed_ignition_heat", "nitric_heat", "moisture_gap_limit")


class SetupReader(Struct):
    """Reads items one by one and collects what is wrong with them."""

    entries: Mapping[str, SetupEntry]
    method: str | None = None
    calorie_J: float | None = None
    found: list[Finding] = field(default_factory=list)

    def text(self, key: str) -> str:
        """Return a text, "" where it is blank."""
        entry = self.entries.get(key)
        return "" if entry is None or entry.value is None else shown(entry.value)

    def word(self, key: str, kind: type[Word]) -> Word | None:
        """Return a word of a closed list, None where it is blank or, with a finding, is none of the list."""
        entry = self.entries.get(key)
        if entry is None or entry.value is None:
            return None
        for word in kind:
            if word.casefold() == str(entry.value).casefold():
                return word
        self.unfit(entry, "one of: " + ", ".join(SETUP_ITEMS_BY_KEY[key].choices))
        return None

    def unfit(self, entry: SetupEntry, wanted: str, severity: Severity | None = None) -> None:
        """Find that the item holds something else than is ``wanted``."""
        self.add("setup-text-unfit", entry, "value", severity, read=shown(entry.value), wanted=wanted)

    def add(self, code: str, entry: SetupEntry, column: str, severity: Severity | None = None, **details: Any) -> None:
        """Find something at one of the item's columns."""
        self.found.append(entry.place.finding(code, column, severity=severity, **{"item": item_name(entry), **details}))

    def number(self, key: str, quantity: str | None = None) -> Quantity | None:
        """Return a number in inside units, None where it is blank or, with a finding, unfit."""
        entry = self.entries.get(key)
        return None if entry is None else self.quantity(entry, quantity)

    def quantity(self, entry: SetupEntry, quantity: str | None = None) -> Quantity | None:
        """Return the item's number in inside units, or None with a finding."""
        item = SETUP_ITEMS_BY_KEY[entry.key]
        if entry.value is None:
            return None
        if isinstance(entry.value, str) and item.from_method and entry.value.casefold() == FROM_METHOD:
            return self.method_figure(item, entry)
        if not isinstance(entry.value, float):
            self.unfit(entry, "a number or the word 'method'" if item.from_method else "a number")
            return None
        unit = self.unit(entry, quantity or item.quantity)
        if unit is None and item.quantity is not None:
            return None
        value = entry.value
        if unit is not None and item.quantity != "time span":
            value = unit.inside(value, self.calorie_J)
        problem = _problem(item, value)
        if problem:
            family = quantity or item.quantity
            if family is not None:
                problem += fitting.hint(entry.value, entry.unit, family, lambda v, _per: not _problem(item, v))
            self.add("setup-number-unfit", entry, "value", read=f"{entry.value:g} {entry.unit}".strip(), reason=problem)
            return None
        return Quantity(
            name=item_name(entry),
            value=value,
            unit=_inside_unit(unit),
            source=entry.source,
            mark=ENTERED,
            text=f"{entry.value:.10g} {entry.unit}".strip(),
            per=unit.per if unit else "",
            family=unit.family if unit else "",
            in_force_from=entry.in_force_from,
            cell=entry.place.where("value"),
        )

    def unit(self, entry: SetupEntry, quantity: str | None) -> units.Unit | None:
        """Return the unit of the item, None where it has none or, with a finding, it cannot be read."""
        if quantity is None:
            return None
        unit = units.read(entry.unit, quantity) if entry.unit else units.only(quantity)
        if unit is None:
            problem = f"the unit '{entry.unit}' is not read here" if entry.unit else "the unit is blank"
            self.add("setup-unit-unknown", entry, "unit", problem=problem, choices=units.readable(quantity))
        elif unit.calories and self.calorie_J is None:
            self.add("calorie-missing", entry, "unit", unit=unit.text)
            return None
        return unit

    def method_figure(self, item: SetupItem, entry: SetupEntry) -> Quantity | None:
        """Return the method's own figure, None with a finding where the lab names no Source or there is none."""
        if not entry.source:
            self.add("method-figure-unconfirmed", entry, "source")
            return None
        figure = reference.method(self.method).figures.get(item.figure) if self.method else None
        if figure is None:
            self.add("method-has-no-figure", entry, "value", method=self.method or "no method")
            return None
        return Quantity(
            name=item.name,
            value=figure.value,
            unit=figure.unit,
            source=f"{self.method}, confirmed: {entry.source}",
            mark=f"{figure.mark}; confirmed by the laboratory",
            text=f"{FROM_METHOD}: {figure.value:g} {figure.unit}",
            in_force_from=entry.in_force_from,
            cell=entry.place.where("value"),
            basis=Basis(figure.basis) if figure.basis else None,
        )


def item_name(entry: SetupEntry) -> str:
    """Return an item's name with its label, as it stands on Setup."""
    name = SETUP_ITEMS_BY_KEY[entry.key].name
    return f"{name} [{entry.label}]" if entry.label else name


def shown(value: object) -> str:
    """Return the value of a cell as messages show it."""
    if isinstance(value, float):
        return f"{value:.10g}"
    return value.isoformat() if isinstance(value, dt.date) else str(value)


def _inside_unit(unit: units.Unit | None) -> str:
    if unit is None:
        return ""
    if unit.family == "time span":
        return unit.text
    base = {
        "energy": "J",
        "mass": "g",
        "percentage": "%",
        "volume": "mL",
        "pressure": "MPa",
        "time": "min",
        "temperature difference": "K",
        "temperature": "°C",
    }[unit.family]
    return f"{base}/{unit.per}" if unit.per else base


def _problem(item: SetupItem, value: float) -> str:
    """Return why a Setup number cannot be right, or ""."""
    if value < 0 or (value == 0 and item.key not in _NOT_NEGATIVE):
        return "it must be above zero"
    if item.key in _LIMITS:
        low, high = (reference.constant(key) for key in _LIMITS[item.key])
        # The limits stand in the units of their table: kJ/mol for acids, J/g for benzoic acid.
        scale = 1000.0 if low.unit.startswith("kJ") else 1.0
        if not low.value * scale <= value <= high.value * scale:
            return f"between {low.value:g} and {high.value:g} {low.unit} is possible"
    if item.key == "series_minimum" and (value != int(value) or value < 2):
        return "a whole number of at least 2 is needed"
    return ""
