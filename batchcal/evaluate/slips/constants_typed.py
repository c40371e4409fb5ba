"""Constants typed on Setup that do not look like what they are said to be: heats, benzoic acid value, calorie."""

import datetime as dt
import math
import re
from collections.abc import Iterator, Mapping

from batchcal import reference, units
from batchcal.evaluate import fitting, wording
from batchcal.evaluate.setup_reader import item_name
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.formulas import statistics, weighing
from batchcal.items import SETUP_ITEMS_BY_KEY
from batchcal.logged import SetupEntry
from batchcal.model import Quantity, Series, Settings
from batchcal.terms import CalorieKind, MassBasis, Purpose

BOUNDS: Mapping[str, Mapping[str, str]] = {
    "wire_heat": {"g": "wire-heat-per-gram", "cm": "wire-heat-per-cm"},
    "thread_heat": {"g": "thread-heat"},
    "fixed_ignition_heat": {"": "fixed-ignition-heat"},
    "aid_heat": {"g": "aid-heat"},
    "capsule_heat": {"g": "aid-heat"},
}
"""By item and inside unit of its denominator, the constants between which such heats lie."""

CALORIES = {
    CalorieKind.INTERNATIONAL: "calorie-international",
    CalorieKind.THERMOCHEMICAL: "calorie-thermochemical",
    CalorieKind.FIFTEEN_DEGREES: "calorie-15",
    CalorieKind.TWENTY_DEGREES: "calorie-20",
}

FITS_J_PER_G = 3.0
"""A benzoic acid value this near to a known one is taken for it: the uncertainty of the known one."""

CHECKS = 10
"""Checks from which their mean is held against the factors between calories; common practice, no source."""

FITS_PERCENT = 0.015
"""A mean recovery this near to a factor between calories is taken for it; common practice, no source."""

LEAST_PERCENT = 0.05
"""Factors between calories, and steps of series, below this are left alone; no source."""

SURE = 3.0
"""Standard errors by which a mean must differ from none before it is held against anything; no source."""

_LOT = re.compile(r"\blot\W{0,2}\s*(?:no\b\.?|number\b)?\s*([a-z]*[-/]?\d[\w/-]*)", re.IGNORECASE)
_BENZOIC = re.compile(r"\bbenzoic\b", re.IGNORECASE)


def find(day: Day) -> Iterator[Slip]:
    """Yield heats on Setup that are unusual, and a benzoic acid value or calorie that other figures contradict."""
    for entry in day.batch.setup:
        yield from _heat(day.settings, entry)
    entry_of_benzoic = day.settings.entries.get("benzoic_heat")
    if entry_of_benzoic is not None and day.settings.benzoic_heat is not None:
        calorie = list(_calorie(day.settings, entry_of_benzoic, day.settings.benzoic_heat))
        yield from calorie or _benzoic_value(day.settings, entry_of_benzoic, day.settings.benzoic_heat)
        yield from _lot(day, entry_of_benzoic)
    yield from _recovery(day)
    yield from _steps(day)


def _heat(settings: Settings, entry: SetupEntry) -> Iterator[Slip]:
    quantity = _quantity(settings, entry)
    if quantity is None or quantity.value == 0.0 or not isinstance(entry.value, float):
        return
    bounds = {
        per: (reference.constant(f"{key}-lowest"), reference.constant(f"{key}-highest"))
        for per, key in BOUNDS[entry.key].items()
    }
    low, high = bounds[quantity.per]
    if low.value <= quantity.value <= high.value:
        return

    def fits(value: float, per: str) -> bool:
        return per in bounds and bounds[per][0].value <= value <= bounds[per][1].value

    hint = fitting.hint(entry.value, entry.unit, SETUP_ITEMS_BY_KEY[entry.key].quantity or "", fits)
    finding = entry.place.finding(
        "heat-unusual", "value", item=item_name(entry), read=quantity.text, low=f"{low.value:g}",
        high=f"{high.value:g}", unit=low.unit, hint=hint,
    )  # fmt: skip
    yield Slip(finding)


def _quantity(settings: Settings, entry: SetupEntry) -> Quantity | None:
    """Return the heat that a row of Setup gives, or None where it is none of these or could not be read."""
    match entry.key:
        case "wire_heat":
            return settings.wire_heat
        case "thread_heat":
            return settings.thread_heat
        case "fixed_ignition_heat":
            return settings.fixed_ignition_heat
        case "aid_heat":
            heats = settings.aid_heats
        case "capsule_heat":
            heats = settings.capsule_heats
        case _:
            return None
    found = heats.get(entry.label.casefold())
    return found if found is not None and found.cell == entry.place.where("value") else None


def _known(basis: MassBasis) -> float:
    certified = reference.constant("benzoic-heat-srm-39j").value
    return certified if basis is MassBasis.VACUUM else weighing.heat_in_air(certified)


def _calorie(settings: Settings, entry: SetupEntry, heat: Quantity) -> Iterator[Slip]:
    """Look whether a value typed in calories is the known one if they are of another kind than Setup says."""
    unit, basis = units.read(entry.unit, "energy per mass"), settings.benzoic_mass_basis
    if unit is None or not unit.calories or settings.calorie is None or basis is None:
        return
    known, named = _known(basis), settings.calorie.value
    if abs(heat.value - known) <= 2 * FITS_J_PER_G:
        return
    for kind, key in CALORIES.items():
        other = reference.constant(key).value
        value = heat.value / named * other
        if abs(value - known) <= FITS_J_PER_G:
            what = (
                f"{heat.text} is {heat.value:.0f} J/g with the calorie of Setup; with the other it would be "
                f"{value:.0f} J/g, and {known:.0f} J/g is known of benzoic acid ({basis})"
            )
            one_kind = settings.calorie_kind or "as entered"
            finding = entry.place.finding(
                "calorie-definition-suspect", "value", what=what, one=f"{named:g}", one_kind=one_kind,
                other=f"{other:g}", other_kind=kind,
            )  # fmt: skip
            yield Slip(finding)
            return


def _benzoic_value(settings: Settings, entry: SetupEntry, heat: Quantity) -> Iterator[Slip]:
    basis = settings.benzoic_mass_basis
    if basis is None:
        return
    known = _known(basis)
    off = 100.0 * (heat.value / known - 1.0)
    if abs(off) > reference.constant("benzoic-heat-difference").value:
        finding = entry.place.finding(
            "benzoic-value-suspect", "value", value=f"{heat.value:.0f}", basis=basis, off=f"{off:+.2f}",
            known=f"{known:.0f}",
        )  # fmt: skip
        yield Slip(finding)


def _lot(day: Day, entry: SetupEntry) -> Iterator[Slip]:
    """Compare the lot that the Source names with those that remarks on benzoic acid firings name."""
    own = _LOT.search(entry.source)
    if own is None:
        return
    others: dict[str, list[str]] = {}
    for firing in day.firings:
        remark = firing.row.remark
        if firing.purpose in (Purpose.CALIBRATION, Purpose.CHECK) and firing.counts:
            acid = _BENZOIC.search(remark)
            lot = None if acid is None else _LOT.search(remark, acid.end())
            if lot is not None and lot[1].casefold() != own[1].casefold():
                others.setdefault(lot[1], []).append(firing.row.firing)
    for lot_name, names in others.items():
        finding = entry.place.finding(
            "benzoic-lot-differs", "source", source=entry.source, count=len(names), lot=lot_name,
            firings=wording.listed(names),
        )  # fmt: skip
        yield Slip(finding)


def _recovery(day: Day) -> Iterator[Slip]:
    """Look whether the mean of many checks is off by the factor between two calories."""
    checks = [f for f in day.firings if f.purpose is Purpose.CHECK and f.counts and f.recovery_percent is not None]
    if len(checks) < CHECKS:
        return
    recoveries = [check.recovery_percent or 0.0 for check in checks]
    mean = statistics.mean(recoveries)
    error = statistics.standard_deviation(recoveries) / math.sqrt(len(recoveries))
    if abs(mean - 100.0) <= max(SURE * error, LEAST_PERCENT):
        return
    worth = {kind: reference.constant(key).value for kind, key in CALORIES.items()}
    common = CalorieKind.INTERNATIONAL
    mixed = [pair for kind in CALORIES if kind is not common for pair in ((common, kind), (kind, common))]
    distance, high, low = min((abs(100.0 * worth[one] / worth[other] - mean), one, other) for one, other in mixed)
    if distance > FITS_PERCENT:
        return
    row = checks[-1].row
    what = f"{len(checks)} checks recover {mean:.3f} % on average, with a standard error of {error:.3f} %"
    finding = row.place.finding(
        "calorie-definition-suspect", "rise_K", what=what, one=f"{worth[high]:g}", one_kind=high,
        other=f"{worth[low]:g}", other_kind=low,
    )  # fmt: skip
    yield Slip(finding)


def _steps(day: Day) -> Iterator[Slip]:
    """Look whether every apparatus with an earlier series moved by the same percentage."""
    moved: list[tuple[Series, float, float]] = []
    of_apparatus: dict[str, list[tuple[dt.date, Series]]] = {}
    for series in day.series:
        if series.n is not None and series.date is not None:
            of_apparatus.setdefault(series.apparatus, []).append((series.date, series))
    for dated in of_apparatus.values():
        if len(dated) > 1:
            *_, (_, before), (_, last) = sorted(dated, key=lambda entry: entry[0])
            step = _step(before, last)
            if step is not None:
                moved.append((last, *step))
    if len(moved) < 2:
        return
    weights = [1.0 / error**2 for _, _, error in moved]
    mean = sum(weight * step for weight, (_, step, _) in zip(weights, moved, strict=True)) / sum(weights)
    if abs(mean) <= max(SURE / math.sqrt(sum(weights)), LEAST_PERCENT):
        return
    if any(abs(step) <= SURE * error or abs(step - mean) > SURE * error for _, step, error in moved):
        return
    row = next((f.row for f in day.firings if f.row.firing in moved[0][0].firings), None)
    if row is None:
        return
    finding = row.place.finding(
        "series-steps-alike", apparatus=wording.listed([series.apparatus for series, _, _ in moved]),
        step=f"{mean:+.2f}", each=", ".join(f"{step:+.2f} %" for _, step, _ in moved),
    )  # fmt: skip
    yield Slip(finding)


def _step(before: Series, last: Series) -> tuple[float, float] | None:
    """Return by how much a series differs from the one before, in %, and the standard error of that."""
    old, new = before.heat_capacity_J_per_K, last.heat_capacity_J_per_K
    if not (old and new and before.n and last.n and before.rsd_percent and last.rsd_percent):
        return None
    error = math.hypot(before.rsd_percent / math.sqrt(before.n), last.rsd_percent / math.sqrt(last.n))
    return 100.0 * (new / old - 1.0), error
