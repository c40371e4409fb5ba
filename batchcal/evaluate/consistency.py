"""How the calibration was fired against how the day's firings were: what differs no longer cancels.

Compared are the firings of a series with the firings that rest on it, habit by habit and not firing by firing, so
that one odd row is left to those who look at rows.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from batchcal import findings, reference
from batchcal.advice import CalibrationComparison, ComparedHabit
from batchcal.evaluate.charge import EQUALITY
from batchcal.evaluate.firings import Firing
from batchcal.findings import Finding, Severity
from batchcal.formulas import comparability, ignition, statistics
from batchcal.logged import FiringRow
from batchcal.model import Series, Settings
from batchcal.terms import AcidScheme, Purpose

CONSTANT_ERROR_PERCENT = 10.0
"""Error of a wire's or thread's heat for which the effect of a changed habit is stated; chosen here, no source."""


class _Two(Struct, frozen=True):
    """The firings of a series, and those that rest on it, with what a usual sample of these is."""

    series: Series
    calibration: Sequence[Firing]
    today: Sequence[Firing]
    settings: Settings
    calibration_rise_K: float
    rise_K: float
    mass_g: float

    def missing_heat(self, in_calibration_J: float, in_test_J: float) -> float:
        """Return how much too high a usual sample is found (J/g) where these heats are left out."""
        return comparability.missing_heat_worth(
            missing_in_calibration_J=in_calibration_J,
            missing_in_test_J=in_test_J,
            calibration_rise_K=self.calibration_rise_K,
            corrected_rise_K=self.rise_K,
            mass_g=self.mass_g,
        )

    def changed_capacity(self, change_J_per_K: float) -> float:
        """Return how much too high a usual sample is found (J/g) with this much more heat capacity than calibrated."""
        return comparability.changed_capacity_worth(
            change_J_per_K=change_J_per_K, corrected_rise_K=self.rise_K, mass_g=self.mass_g
        )

    def finding(self, code: str, row: ComparedHabit, severity: Severity | None = None, **details: Any) -> Finding:
        """Make a finding of a habit that differs; it names no firing, being about all of them."""
        return findings.make(
            code, severity=severity, apparatus=self.series.apparatus, today=row.today, calibration=row.calibration,
            date=self.series.date, **details,
        )  # fmt: skip


Compared = tuple[ComparedHabit, Finding | None]


def compare(
    firings: Sequence[Firing], settings: Settings, made: Sequence[Series]
) -> tuple[list[CalibrationComparison], list[Finding]]:
    """Return the comparison for each series that firings rest on, and what differs too much.

    A finding that stops makes these firings provisional.
    """
    by_number = {f.row.firing: f for f in firings if f.purpose is Purpose.CALIBRATION and f.counts}
    resting: dict[int, list[Firing]] = {}
    for firing in firings:
        if firing.series is not None and firing.counts and firing.purpose is not Purpose.CALIBRATION:
            resting.setdefault(id(firing.series), []).append(firing)
    comparisons, found = [], []
    for series in made:
        calibration = [by_number[name] for name in series.firings if name in by_number]
        today = resting.get(id(series), [])
        two = _two(series, calibration, today, settings)
        if two is None:
            continue
        rows = []
        for habit in _HABITS:
            for row, finding in habit(two):
                rows.append(row)
                if finding is None:
                    continue
                found.append(finding)
                if finding.severity.stops:
                    for firing in today:
                        firing.make_provisional([finding])
        comparisons.append(
            CalibrationComparison(
                calorimeter=series.calorimeter,
                bomb=series.bomb,
                series=series.name,
                series_date=series.date,
                firings=tuple(firing.row.firing for firing in today),
                rows=tuple(rows),
            )
        )
    return comparisons, found


def _two(series: Series, calibration: Sequence[Firing], today: Sequence[Firing], settings: Settings) -> _Two | None:
    usual = [f for f in today if f.purpose is Purpose.SAMPLE] or today
    masses = [f.mass_g for f in usual if f.mass_g]
    rises = [f.corrected_rise_K for f in usual if f.corrected_rise_K]
    calibration_rises = [f.corrected_rise_K for f in calibration if f.corrected_rise_K]
    if not masses or not rises or not calibration_rises:
        return None
    middle = statistics.median
    return _Two(series, calibration, today, settings, middle(calibration_rises), middle(rises), middle(masses))


def _wire(two: _Two) -> Iterator[Compared]:
    fixed = two.settings.fixed_ignition_heat
    if fixed is not None:
        text = f"{fixed.value:g} J, fixed"
        yield ComparedHabit("Ignition heat", text, text, True, 0.0, "one heat for all, whatever was fitted"), None
        return
    before, now = (_wire_habit(group, two.settings) for group in (two.calibration, two.today))
    if before.kind == now.kind == "none":
        return
    limit = reference.constant("wire-difference").value / 100.0
    differs = before.kind != now.kind
    if not differs and before.mean and now.mean:
        differs = abs(now.mean / before.mean - 1.0) > limit * (1 + EQUALITY)
    yield _ignited(two, "Wire", before, now, "wire-differs-from-calibration", differs=differs)


def _thread(two: _Two) -> Iterator[Compared]:
    if two.settings.fixed_ignition_heat is not None:
        return
    before, now = (_thread_habit(group, two.settings) for group in (two.calibration, two.today))
    if before.kind == now.kind == "none":
        return
    differs = before.kind != now.kind
    yield _ignited(two, "Thread", before, now, "thread-differs-from-calibration", differs=differs)


class _Ignition(Struct, frozen=True):
    """How one group of firings was lit: kind of entry, mean amount, in words, and the mean heat (J)."""

    kind: str
    mean: float | None
    text: str
    heat_J: float


def _ignited(two: _Two, what: str, before: _Ignition, now: _Ignition, code: str, *, differs: bool) -> Compared:
    share = CONSTANT_ERROR_PERCENT / 100.0
    effect = abs(two.missing_heat(share * before.heat_J, share * now.heat_J))
    note = f"either way, for {CONSTANT_ERROR_PERCENT:g} % of error in its heat"
    row = ComparedHabit(what, before.text, now.text, not differs, effect, note)
    if not differs:
        return row, None
    return row, two.finding(code, row, error=f"{CONSTANT_ERROR_PERCENT:g}", effect=f"{effect:.1f}")


def _wire_habit(group: Sequence[Firing], settings: Settings) -> _Ignition:
    heat = settings.wire_heat
    by_mass = heat is not None and heat.per == "g"
    kinds = [_wire_kind(firing.row, by_mass=by_mass) for firing in group]
    kind = Counter(kinds).most_common(1)[0][0]
    if heat is None or kind == "none":
        return _Ignition("none", None, "none", 0.0)
    rows = [firing.row for firing, own in zip(group, kinds, strict=True) if own == kind]
    if kind == "by mass":
        masses = [row.wire_mass_g or 0.0 for row in rows]
        mean = statistics.mean(masses)
        joules = ignition.burnt_heat(mean, heat.value)
        return _Ignition(kind, mean, f"{1e3 * mean:.1f} mg (mean of {len(rows)})", joules)
    fitted = statistics.mean([row.wire_fitted_cm or 0.0 for row in rows])
    left = statistics.mean([row.wire_left_cm or 0.0 for row in rows])
    joules = ignition.wire_heat_by_length(fitted, left, heat.value)
    return _Ignition(kind, fitted, f"{fitted:.1f} cm fitted (mean of {len(rows)})", joules)


def _wire_kind(row: FiringRow, *, by_mass: bool) -> str:
    """Return which entry of wire a firing was worked out with."""
    if by_mass:
        return "none" if row.wire_mass_g is None else "by mass"
    return "none" if row.wire_fitted_cm is None else "by length"


def _thread_habit(group: Sequence[Firing], settings: Settings) -> _Ignition:
    used = [firing.row.thread_g for firing in group if firing.row.thread_g]
    if not used or settings.thread_heat is None:
        return _Ignition("none", None, "none", 0.0)
    mean = statistics.mean(used)
    text = f"{1e3 * mean:.1f} mg (mean of {len(used)})"
    if len(used) < len(group):
        text += f" in {len(used)} of {len(group)} firings"
    return _Ignition("thread", mean, text, ignition.burnt_heat(mean, settings.thread_heat.value))


def _water(two: _Two) -> Iterator[Compared]:
    row, change = _medians(two, "Water in the bomb", "mL", lambda firing: firing.water_mL)
    if row is None:
        return
    if change is None:
        yield row, None
        return
    effect = two.changed_capacity(comparability.water_capacity_J_per_K(change))
    least, most = (reference.constant(f"bomb-water-difference{which}").value for which in ("", "-largest"))
    row = replace(row, agrees=abs(change) <= least * (1 + EQUALITY), effect_J_per_g=effect, note=_WATER_NOTE)
    if row.agrees:
        yield row, None
        return
    severity = None if abs(change) > most * (1 + EQUALITY) else Severity.REVIEW
    yield row, two.finding("water-differs", row, severity, effect=_found(effect))


_WATER_NOTE = f"{reference.constant('water-heat-capacity').value:g} J/K per mL"


def _start(two: _Two) -> Iterator[Compared]:
    row, change = _medians(two, "Initial temperature", "°C", lambda firing: firing.initial_C)
    if row is None:
        return
    if change is None:
        yield row, None
        return
    least, most = (reference.constant(f"start-temperature-difference{which}").value for which in ("", "-largest"))
    note = "not known: it depends on thermometer and calorimeter"
    row = replace(row, agrees=abs(change) <= least * (1 + EQUALITY), note=note)
    if row.agrees:
        yield row, None
        return
    severity = None if abs(change) > most * (1 + EQUALITY) else Severity.REVIEW
    yield row, two.finding("start-temperature-differs", row, severity)


def _oxygen(two: _Two) -> Iterator[Compared]:
    row, change = _medians(two, "Oxygen pressure", "MPa", lambda firing: firing.oxygen_pressure_MPa)
    if row is None:
        return
    if change is None:
        yield row, None
        return
    volume = two.settings.bomb_volume
    if volume is None:
        row = replace(row, note="not known without the Bomb volume on Setup")
        text = ""
    else:
        effect = two.changed_capacity(comparability.oxygen_capacity_J_per_K(change, volume.value))
        row = replace(row, effect_J_per_g=effect, note="the heat capacity of the gas alone")
        text = f": by the heat capacity of the gas alone values are found {_found(effect)}"
    row = replace(row, agrees=abs(change) <= reference.constant("oxygen-pressure-difference").value * (1 + EQUALITY))
    yield row, None if row.agrees else two.finding("oxygen-pressure-differs", row, effect=text)


def _acid(two: _Two) -> Iterator[Compared]:
    scheme = two.settings.acid_scheme
    if scheme is None:
        return
    if not scheme.uses_titre:
        text = "no correction" if scheme is AcidScheme.NONE else f"by the scheme {scheme}"
        yield ComparedHabit("Nitric acid heat", text, text, True, 0.0, "the same rule for all"), None
        return
    before = [f.nitric_J for f in two.calibration if f.nitric_J is not None]
    # Benzoic acid firings of the day tell nitric acid best; a sample's may hold sulphuric acid.
    checks = [f.nitric_J for f in two.today if f.nitric_J is not None and f.purpose is not Purpose.SAMPLE]
    now = [f.nitric_J for f in two.today if f.nitric_J is not None]
    if not before or not now:
        return
    without = [not any(heats) for heats in (before, now)]
    texts = ["0 J throughout" if not any(heats) else _joules(heats) for heats in (before, now)]
    row = ComparedHabit("Nitric acid heat", texts[0], texts[1], without[0] == without[1], None)
    if row.agrees:
        yield replace(row, effect_J_per_g=0.0, note="titrated and counted in both"), None
        return
    if without[0]:
        effect = two.missing_heat(statistics.median(checks if any(checks) else now), 0.0)
    else:
        effect = two.missing_heat(0.0, statistics.median(before))
    row = replace(row, effect_J_per_g=effect, note="if acid was there and was not counted")
    yield row, two.finding("acid-habit-changed", row, effect=_found(effect))


def _reading(two: _Two) -> Iterator[Compared]:
    """Show how the temperatures were read; a difference has its finding on each firing (``reading-mode-differs``)."""
    modes = [{firing.curve is not None for firing in group} for group in (two.calibration, two.today)]
    words = {True: "against time", False: "without times"}
    before, now = (" and ".join(words[mode] for mode in sorted(own)) for own in modes)
    agrees = modes[1] <= modes[0]
    note = "" if agrees else "not known: it is that of the correction for heat exchange"
    yield ComparedHabit("Temperature reading", before, now, agrees, 0.0 if agrees else None, note), None


_HABITS: tuple[Callable[[_Two], Iterator[Compared]], ...] = (_wire, _thread, _water, _start, _oxygen, _acid, _reading)


def _medians(
    two: _Two, what: str, unit: str, value: Callable[[FiringRow], float | None]
) -> tuple[ComparedHabit | None, float | None]:
    """Return a row with the medians of both groups and today's less the calibration's; no row where neither logs it."""
    groups = [
        [known for firing in group if (known := value(firing.row)) is not None]
        for group in (two.calibration, two.today)
    ]
    if not any(groups):
        return None, None
    texts = [f"{statistics.median(g):.3g} {unit} (median of {len(g)})" if g else "not logged" for g in groups]
    row = ComparedHabit(what, texts[0], texts[1], None, None, "not logged on one side")
    if not all(groups):
        return row, None
    return replace(row, note=""), statistics.median(groups[1]) - statistics.median(groups[0])


def _joules(heats: Sequence[float]) -> str:
    return f"{statistics.median(heats):.0f} J (median of {len(heats)})"


def _found(effect_J_per_g: float) -> str:
    """Return an effect in words."""
    return f"about {abs(effect_J_per_g):.1f} J/g too {'high' if effect_J_per_g > 0 else 'low'}"
