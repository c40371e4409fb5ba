"""What one row says of its charge: mass, rise, ignition and aids. Each is a number or a finding, never a guess."""

import math
from collections.abc import Iterable
from typing import Any

from batchcal import reference
from batchcal.findings import Finding
from batchcal.formulas import bomb, ignition, weighing
from batchcal.logged import Aid, FiringRow
from batchcal.model import Quantity, Settings
from batchcal.terms import CertificateConditions, YesNo

MASS_TOLERANCE_G = 0.15e-3
"""Typed mass and difference of weighings must agree to this; common practice, no source."""

FINEST_STEP_K, COARSEST_STEP_K = 0.001, 0.01
"""Bounds of the reading step taken from the decimals typed, where Setup gives none; common practice, no source."""

EQUALITY = 1e-9
"""Relative slack by which a value equal to its limit passes in spite of binary fractions."""


class Doubts:
    """Collects the findings of one row; each finding is placed at the row and carries its firing."""

    def __init__(self, row: FiringRow) -> None:
        """Start with no doubt about ``row``."""
        self.row = row
        self.found: list[Finding] = []

    def add(self, code: str, at: str | None = None, **details: Any) -> None:
        """Add a finding at the cell of field ``at``, or at the row."""
        row = self.row
        self.found.append(row.place.finding(code, at, firing=row.firing, sample=row.sample, **details))


def reading_step(row: FiringRow, settings: Settings) -> float:
    """Return the step (K) in which the temperature is read: Setup's, else by the decimals that were typed."""
    if settings.reading_resolution is not None:
        return settings.reading_resolution.value
    if row.rise_decimals is None:
        return FINEST_STEP_K
    return min(COARSEST_STEP_K, max(FINEST_STEP_K, 10.0**-row.rise_decimals))


def logged_mass(row: FiringRow) -> float | None:
    """Return the mass (g) as logged, typed or by difference, without judging it."""
    return row.mass_g if row.mass_g is not None else logged_difference(row)


def logged_difference(row: FiringRow) -> float | None:
    """Return the difference of the two weighings in g, less a capsule that is only in the second."""
    if row.crucible_g is None or row.crucible_and_sample_g is None:
        return None
    capsule_g = row.capsule_mass_g if capsule_tared(row) is YesNo.NO else None
    return weighing.mass_by_difference(row.crucible_g + (capsule_g or 0.0), row.crucible_and_sample_g)


def by_difference(row: FiringRow) -> bool:
    """Whether the mass is known by the difference of two weighings alone."""
    return row.mass_g is None and row.crucible_g is not None and row.crucible_and_sample_g is not None


def capsule_tared(row: FiringRow) -> YesNo | None:
    """Return whether the empty crucible was weighed with the capsule: as said, else by the typed mass."""
    if row.capsule_in_tare is not None or not row.capsule_mass_g or row.mass_g is None:
        return row.capsule_in_tare
    if row.crucible_g is None or row.crucible_and_sample_g is None:
        return None
    difference = weighing.mass_by_difference(row.crucible_g, row.crucible_and_sample_g)
    without = difference - row.capsule_mass_g
    return YesNo.NO if abs(without - row.mass_g) < abs(difference - row.mass_g) else YesNo.YES


def logged_rise(row: FiringRow) -> float | None:
    """Return the rise (K) as logged, typed or as the difference of two temperatures, without judging it."""
    if row.rise_K is not None or row.initial_C is None or row.final_C is None:
        return row.rise_K
    return row.final_C - row.initial_C


def mass(row: FiringRow, doubts: Doubts) -> float | None:
    """Return the mass of the sample (or benzoic acid) in g: as typed, or as the difference of two weighings."""
    weighings = (("crucible_g", row.crucible_g), ("crucible_and_sample_g", row.crucible_and_sample_g))
    negative = [(field, weight) for field, weight in weighings if weight is not None and weight < 0]
    if negative:
        for field, weight in negative:
            _negative(row, field, weight, doubts)
        return None
    difference = logged_difference(row)
    if difference is not None and row.capsule_mass_g and row.capsule_in_tare is None and row.mass_g is None:
        doubts.add("capsule-taken-as-tared", "capsule_in_tare", capsule=f"{row.capsule_mass_g:.4f}")
    value = row.mass_g if row.mass_g is not None else difference
    if value is None:
        missing = "weighing of " + ("the empty crucible" if row.crucible_g is None else "crucible and sample")
        weighed = row.crucible_g is not None or row.crucible_and_sample_g is not None
        doubts.add("mass-missing", "mass_g", what=missing if weighed else "mass")
        return None
    if row.mass_g is not None and difference is not None:
        apart = abs(row.mass_g - difference)
        if apart > MASS_TOLERANCE_G * (1 + 1e-6):
            doubts.add("mass-disagrees", "mass_g", difference=f"{difference:.4f}", typed=f"{row.mass_g:.4f}")
            return None
    at = "mass_g" if row.mass_g is not None else "crucible_and_sample_g"
    problem = _problem(value, "sample-mass")
    if problem:
        doubts.add("mass-unfit", at, mass=f"{value:.4f}", reason=problem)
        return None
    return value


def rise(row: FiringRow, settings: Settings, doubts: Doubts) -> float | None:
    """Return the temperature rise as read, in K: as typed, or final less initial."""
    difference = None
    if row.initial_C is not None and row.final_C is not None:
        difference = row.final_C - row.initial_C
    value = row.rise_K if row.rise_K is not None else difference
    if value is None:
        if row.initial_C is None and row.final_C is None:
            doubts.add("rise-missing", "rise_K", what="temperature rise")
        else:
            which = "initial" if row.initial_C is None else "final"
            doubts.add("rise-missing", f"{which}_C", what=f"{which} temperature")
        return None
    if row.rise_K is not None and difference is not None:
        step = reading_step(row, settings)
        # Two readings on a decimal grid differ by whole steps; the slack only absorbs binary fractions.
        if abs(row.rise_K - difference) > step * (1 + 1e-6):
            doubts.add("rise-disagrees", "rise_K", difference=f"{difference:.4f}", typed=f"{row.rise_K:.4f}")
            return None
    at = "rise_K" if row.rise_K is not None else "final_C"
    problem = rise_problem(value)
    if problem:
        doubts.add("rise-unfit", at, rise=f"{value:.4f}", reason=problem)
        return None
    return value


_LIMITS = {
    name: (reference.constant(f"{name}-lowest"), reference.constant(f"{name}-highest"))
    for name in ("sample-mass", "rise")
}


def _problem(value: float, limits: str) -> str:
    """Return why a value cannot be right by the limits of plausibility of that name, or ""."""
    low, high = _LIMITS[limits]
    if value <= 0:
        return "it must be above zero"
    if not low.value <= value <= high.value:
        return f"{low.value:g} to {high.value:g} {low.unit} is possible; {low.mark}"
    return ""


def rise_problem(value_K: float) -> str:
    """Return why a temperature rise cannot be right, or ""."""
    return _problem(value_K, "rise")


def ignition_heat(row: FiringRow, settings: Settings, doubts: Doubts) -> float | None:
    """Return the heat of igniting in J: the fixed heat, or wire and thread."""
    if settings.fixed_ignition_heat is not None:
        return settings.fixed_ignition_heat.value
    before = len(doubts.found)
    parts = [
        part for part in (_wire_heat(row, settings, doubts), _thread_heat(row, settings, doubts)) if part is not None
    ]
    if len(doubts.found) > before:
        return None
    if not parts:
        doubts.add("ignition-missing", "wire_fitted_cm")
        return None
    return math.fsum(parts)


def has_ignition_amounts(row: FiringRow) -> bool:
    """Whether the row logs wire or thread."""
    amounts = (row.wire_fitted_cm, row.wire_left_cm, row.wire_mass_g, row.thread_g)
    return any(value is not None for value in amounts)


def _wire_heat(row: FiringRow, settings: Settings, doubts: Doubts) -> float | None:
    by_length = row.wire_fitted_cm is not None or row.wire_left_cm is not None
    by_mass = row.wire_mass_g is not None
    if not by_length and not by_mass:
        return None
    heat = settings.wire_heat
    if heat is None or (heat.per == "cm" and not by_length) or (heat.per == "g" and not by_mass):
        per = "per length" if by_length and not by_mass else "per mass" if by_mass and not by_length else "for it"
        doubts.add("wire-heat-missing", "wire_fitted_cm" if by_length else "wire_mass_g",
                   what="wire", per=per, item="Wire heat")  # fmt: skip
        return None
    if heat.per == "g":
        return _burnt(row, "wire_mass_g", row.wire_mass_g or 0.0, heat, doubts)
    if row.wire_fitted_cm is None or row.wire_left_cm is None:
        given, missing = ("wire fitted", "wire left") if row.wire_left_cm is None else ("wire left", "wire fitted")
        doubts.add("wire-left-missing", "wire_left_cm", given=given, missing=missing)
        return None
    if row.wire_left_cm < 0 or row.wire_fitted_cm < 0:
        at = "wire_left_cm" if row.wire_left_cm < 0 else "wire_fitted_cm"
        _negative(row, at, min(row.wire_left_cm, row.wire_fitted_cm), doubts)
        return None
    if row.wire_left_cm > row.wire_fitted_cm * (1 + EQUALITY):
        doubts.add("wire-left-more", "wire_left_cm", left=f"{row.wire_left_cm:g}", fitted=f"{row.wire_fitted_cm:g}")
        return None
    return ignition.wire_heat_by_length(row.wire_fitted_cm, row.wire_left_cm, heat.value)


def _thread_heat(row: FiringRow, settings: Settings, doubts: Doubts) -> float | None:
    if row.thread_g is None:
        return None
    if settings.thread_heat is None:
        if row.thread_g == 0:
            return 0.0
        doubts.add("wire-heat-missing", "thread_g", what="thread", per="for it", item="Thread heat")
        return None
    return _burnt(row, "thread_g", row.thread_g, settings.thread_heat, doubts)


def aid_heat(row: FiringRow, settings: Settings, doubts: Doubts) -> float | None:
    """Return the heat of combustion aids and capsule in J; 0 where there was none."""
    if not row.aids and not row.capsule_mass_g:
        return 0.0
    before = len(doubts.found)
    heat = known_aid_heat(row, aids(row, doubts), settings, doubts)
    return None if len(doubts.found) > before else heat


def aids(row: FiringRow, doubts: Doubts) -> list[Aid]:
    """Return the aids that burnt, each with name and mass; one without either, or named twice, is a finding."""
    burnt: list[Aid] = []
    for aid in row.aids:
        if not aid.name and not aid.mass_g:
            continue
        if not aid.name or aid.mass_g is None:
            given, missing = ("the aid's name", "its mass") if aid.name else ("an aid's mass", "its name")
            at = aid.mass_field if aid.name else aid.name_field
            doubts.add("aid-incomplete", at, given=given, missing=missing)
        elif aid.key in {other.key for other in burnt}:
            doubts.add("aid-twice", aid.name_field, aid=aid.name)
        elif aid.mass_g < 0:
            _negative(row, aid.mass_field, aid.mass_g, doubts)
        else:
            burnt.append(aid)
    return burnt


def known_aid_heat(row: FiringRow, burnt: Iterable[Aid], settings: Settings, doubts: Doubts) -> float | None:
    """Return the heat in J of these aids and of the capsule; None where one of them is not known."""
    before = len(doubts.found)
    parts = [_capsule(row, settings, doubts)]
    for aid in burnt:
        heat = settings.aid_heats.get(aid.key)
        if heat is None:
            doubts.add("aid-heat-missing", aid.name_field, what=f"the aid {aid.name}", item=f"Aid heat [{aid.name}]")
        else:
            parts.append(ignition.burnt_heat(aid.mass_g or 0.0, heat.value))
    return None if len(doubts.found) > before else math.fsum(part for part in parts if part is not None)


def _capsule(row: FiringRow, settings: Settings, doubts: Doubts) -> float | None:
    if not row.capsule_mass_g:
        return 0.0
    if not settings.capsule_heats:
        doubts.add("aid-heat-missing", "capsule_mass_g", what="a capsule", item="Capsule heat [name]")
        return None
    if len(settings.capsule_heats) > 1:
        doubts.add("capsule-unclear", "capsule_mass_g", choices=", ".join(settings.capsule_heats))
        return None
    return _burnt(row, "capsule_mass_g", row.capsule_mass_g, next(iter(settings.capsule_heats.values())), doubts)


def _burnt(row: FiringRow, field: str, mass_g: float, heat: Quantity, doubts: Doubts) -> float | None:
    if mass_g < 0:
        _negative(row, field, mass_g, doubts)
        return None
    return ignition.burnt_heat(mass_g, heat.value)


def _negative(row: FiringRow, field: str, value: float, doubts: Doubts) -> None:
    doubts.add("amount-negative", field, heading=row.place.heading(field), read=f"{value:g}")


ATM_MPa = 0.101325
"""One standard atmosphere in MPa (exact, SI brochure)."""

CERTIFICATE_RANGES = {"oxygen": (20.0, 40.0), "charge": (2.0, 4.0), "temperature": (15.0, 35.0)}
"""Where the correction to conditions holds: atm, g/L, °C; from memory, unchecked."""


def benzoic_heat(row: FiringRow, settings: Settings, mass_g: float | None, doubts: Doubts) -> float | None:
    """Return the heat of combustion of the benzoic acid (J per g weighed in air) for this firing.

    As certified, or corrected to the pressure (a gauge reading), mass, water and temperature of the firing.
    """
    certified = settings.benzoic_heat_in_air
    if certified is None or settings.certificate_conditions is CertificateConditions.AS_CERTIFIED:
        return certified.value if certified is not None else None
    volume = settings.bomb_volume
    known = {
        "Bomb volume on Setup": volume.value if volume is not None else None,
        "the oxygen pressure": row.oxygen_pressure_MPa,
        "the water in the bomb": row.water_mL,
        "the initial temperature": row.initial_C,
    }
    missing = [name for name, value in known.items() if value is None]
    if missing or mass_g is None:
        if missing:
            doubts.add("certificate-conditions-missing", "oxygen_pressure_MPa", missing=", ".join(missing))
        return None
    litres = (known["Bomb volume on Setup"] or 0.0) / 1e3
    oxygen_atm = ((row.oxygen_pressure_MPa or 0.0) + ATM_MPa) / ATM_MPa
    values = {"oxygen": oxygen_atm, "charge": mass_g / litres, "temperature": row.initial_C or 0.0}
    outside = [n for n, value in values.items() if not CERTIFICATE_RANGES[n][0] <= value <= CERTIFICATE_RANGES[n][1]]
    if outside:
        doubts.add("certificate-conditions-outside", "oxygen_pressure_MPa", outside=", ".join(outside))
    factor = bomb.certificate_factor(oxygen_atm, mass_g, row.water_mL or 0.0, litres, row.initial_C or 0.0)
    return certified.value * factor
