"""What is judged before any sample: the check firings, and the lab's own safety limits."""

from collections.abc import Sequence
from typing import Any

from batchcal import findings, reference
from batchcal.evaluate import wording
from batchcal.evaluate.charge import EQUALITY, logged_mass, logged_rise
from batchcal.evaluate.check_spans import held, is_out
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.series import newest
from batchcal.findings import Finding
from batchcal.formulas import bomb
from batchcal.items import SETUP_ITEMS
from batchcal.model import Series, Settings, apparatus_name
from batchcal.terms import FiringState, Outcome, Purpose

_CLEAN = frozenset({"", "none", "no", "clean", "-", "0"})
"""What is written under Residue where there was none."""


def judge_checks(firings: Sequence[Firing], settings: Settings) -> list[Finding]:
    """Judge the check firings of each calorimeter and bomb, and hold to them the samples that they put in doubt."""
    certified = settings.benzoic_heat_in_air
    checks = [firing for firing in firings if firing.purpose is Purpose.CHECK]
    found = []
    for check in checks:
        if not check.counts or check.gross_ad_J_per_g is None or certified is None:
            continue
        check.recovery_percent = bomb.recovery_percent(check.gross_ad_J_per_g, certified.value)
        finding = _judge(check, check.recovery_percent, certified.value, settings)
        if finding is not None:
            check.attach([finding])
            found.append(finding)
    for firing, against in held(firings):
        for check in against:
            _hold_to(firing, check)
    return found + _unchecked(firings, checks)


def _judge(check: Firing, recovery: float, certified: float, settings: Settings) -> Finding | None:
    limit = settings.check_limit
    if limit is None:
        if "check_limit" in settings.entries:
            return None
        return _at(check, "check-limit-missing", "rise_K", recovery=f"{recovery:.2f}")
    found = check.gross_ad_J_per_g or 0.0
    relative = limit.family == "percentage"
    off = recovery - 100.0 if relative else found - certified
    if abs(off) <= limit.value * (1 + EQUALITY):
        return None
    unit, digits = ("%", 2) if relative else ("J/g", 1)
    return _at(
        check,
        "check-out",
        "rise_K",
        found=f"{found:.0f}",
        recovery=f"{recovery:.2f}",
        off=f"{off:+.{digits}f} {unit}",
        limit=f"{limit.value:g} {unit}",
    )


def _hold_to(firing: Firing, check: Firing) -> None:
    """Carry what is wrong with a check that is out, or that could not be worked out, to a sample firing."""
    stops = [finding for finding in check.found if finding.severity.stops]
    if is_out(check):
        firing.make_provisional(finding for finding in stops if finding.code == "check-out")
    else:
        firing.attach(stops)


def _unchecked(firings: Sequence[Firing], checks: Sequence[Firing]) -> list[Finding]:
    judged = {(check.apparatus, check.date) for check in checks if check.state is not FiringState.EXCLUDED}
    missing: dict[tuple[str, str], dict[str, None]] = {}
    for firing in firings:
        apparatus, date = firing.apparatus, firing.date
        if (apparatus, date) not in judged and firing.purpose is Purpose.SAMPLE and firing.counts:
            missing.setdefault(apparatus, {})[str(date)] = None
    return [
        findings.make("check-missing", apparatus=apparatus_name(*apparatus), dates=wording.listed(list(dates)))
        for apparatus, dates in missing.items()
    ]


def safety(firings: Sequence[Firing], settings: Settings, made_series: Sequence[Series]) -> list[Finding]:
    """Hold every row to the safety limits that the lab entered, whatever became of the firing.

    A limit that is blank is said, never assumed.
    """
    found: list[Finding] = []
    for firing in firings:
        capacity = firing.heat_capacity_J_per_K
        if capacity is None:
            nearest = newest(firing, made_series)
            capacity = nearest.heat_capacity_J_per_K if nearest else None
        made = [*_pressure(firing, settings), *_charge(firing, settings, capacity), *_residue(firing)]
        if made:
            firing.attach(made)
            found += made
    blank = [item.name for item in SETUP_ITEMS if item.safety and item.key not in settings.entries]
    if blank:
        found.append(findings.make("safety-limit-missing", items=", ".join(blank)))
    return found


def _at(firing: Firing, code: str, column: str, **details: Any) -> Finding:
    row = firing.row
    apparatus = apparatus_name(*firing.apparatus)
    return row.place.finding(code, column, firing=row.firing, sample=row.sample, apparatus=apparatus, **details)


def _pressure(firing: Firing, settings: Settings) -> list[Finding]:
    pressure = firing.row.oxygen_pressure_MPa
    highest, lowest = settings.max_oxygen_pressure, settings.min_oxygen_pressure
    if pressure is None:
        limited = (highest is not None or lowest is not None) and "oxygen_pressure_MPa" not in firing.row.unreadable
        return [_at(firing, "oxygen-pressure-missing", "oxygen_pressure_MPa")] if limited and firing.counts else []
    text = f"{pressure:.3g}"
    if highest is not None and pressure > highest.value * (1 + EQUALITY):
        return [_at(firing, "oxygen-pressure-over", "oxygen_pressure_MPa", pressure=text, limit=f"{highest.value:.3g}")]
    if pressure > reference.constant("oxygen-pressure-suspicious").value:
        return [_at(firing, "oxygen-pressure-unit", "oxygen_pressure_MPa", pressure=text)]
    if lowest is not None and pressure < lowest.value * (1 - EQUALITY):
        return [_at(firing, "oxygen-pressure-low", "oxygen_pressure_MPa", pressure=text, limit=f"{lowest.value:.3g}")]
    return []


def _charge(firing: Firing, settings: Settings, heat_capacity_J_per_K: float | None) -> list[Finding]:
    """Compare mass and heat of a charge as logged, even where it cannot be trusted enough for a result."""
    heaviest, largest = settings.max_sample_mass, settings.max_charge_energy
    if heaviest is None and largest is None:
        return []
    found = []
    row = firing.row
    mass, rise = logged_mass(row), logged_rise(row)
    total = sum(part for part in (mass, row.aid_mass_g, row.capsule_mass_g) if part is not None)
    if heaviest is not None and total > heaviest.value * (1 + EQUALITY):
        found.append(_at(firing, "charge-mass-over", "mass_g", mass=f"{total:.4f}", limit=f"{heaviest.value:g}"))
    if largest is not None and rise is not None and heat_capacity_J_per_K is not None:
        energy = heat_capacity_J_per_K * (rise + (firing.heat_exchange_K or row.heat_exchange_K or 0.0))
        if energy > largest.value * (1 + EQUALITY):
            texts = {"energy": f"{energy / 1e3:.2f}", "limit": f"{largest.value / 1e3:g}"}
            found.append(_at(firing, "charge-energy-over", "rise_K", **texts))
    return found


def _residue(firing: Firing) -> list[Finding]:
    text = firing.row.residue.casefold()
    if text in _CLEAN or not firing.counts or firing.row.outcome not in (None, Outcome.GOOD):
        return []
    return [_at(firing, "residue-noted", "residue", read=firing.row.residue)]
