"""How well a sample's value is known, by basis: what contributes, what could not be counted, what would help.

The value is the mean of n firings. What all firings share (heat capacity, certificate, thermometer, side heats,
moistures, the way in which curves are worked out) does not shrink with n; what each has for itself (readings,
weighing, scatter) does. The parts are taken as independent. That errs on the large side where an error of the
thermometer, of a side heat or of the heat exchange enters the heat capacity and the sample alike, because there it
partly cancels.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from batchcal.evaluate.charge import logged_mass
from batchcal.evaluate.contents import Contents
from batchcal.evaluate.net import net_values
from batchcal.evaluate.slips.day import Day
from batchcal.formulas import uncertainty as gum
from batchcal.formulas.repeatability import PooledSD, pooled_sd_of_groups
from batchcal.model import Contribution, FiringResult, SampleResult, Series, Settings, Uncertainty
from batchcal.terms import NET_PREFIX, AcidScheme, Basis, Decision, Purpose

COVERAGE_FACTOR = 2.0
"""Where Setup gives none: about 95 % for a normal distribution."""

BALANCE_DIGIT_G = 0.1e-3
"""Last digit of the balance where Setup gives no uncertainty; common practice, no source."""

ENOUGH_PAIRS = 15
"""Pairs from which their pooled scatter stands for the laboratory's; common practice, no source."""

NOTHING = 1e-6
"""A value that changes by less than this (J/g) with 1 % of a content does not depend on it."""

GROSS, CONTENTS = "gross as analysed", ("moisture_analysis", "moisture_total", "ash", "hydrogen")
"""What the values on other bases and the net values follow from."""

SERIES, ENTERED_CAPACITY = "heat capacity, scatter of the series", "heat capacity, entered on Setup"
BENZOIC, THERMOMETER, SIDE_HEATS = "benzoic acid certificate", "thermometer", "ignition and acid heats"
REPEATABILITY, READING, WEIGHING = "repeatability", "temperature reading step", "weighing"
CURVE_READINGS, CURVE_METHOD = "temperature readings of the curve", "heat exchange, way of working out"
ANALYSIS_MOISTURE, TOTAL_MOISTURE = "analysis moisture", "total moisture"
AIDS = "heat of aids and capsules"
ASH, HYDROGEN, HEAT_EXCHANGE = "ash", "hydrogen", "heat exchange"

_ADVICE = {
    SERIES: "fire more benzoic acid for the heat capacity: this part falls with the square root of their number",
    ENTERED_CAPACITY: "determine the heat capacity here by a series of benzoic acid firings",
    BENZOIC: "use a benzoic acid whose certificate states a smaller uncertainty",
    THERMOMETER: "have the thermometer calibrated over the span of the rises; more firings do not help",
    SIDE_HEATS: "measure the ignition and acid heats better, or make them smaller; more firings do not help",
    REPEATABILITY: "fire the sample again, or look for the cause of the scatter: mixing, pellet, stirring, titration",
    READING: "read the temperature to a finer step, if the thermometer allows it",
    CURVE_READINGS: "make the fore and after period longer or read them more often, and read to a finer step",
    CURVE_METHOD: "use two rates, read more often after firing, let the curve settle; more firings do not help",
    WEIGHING: "weigh on a finer balance",
    ANALYSIS_MOISTURE: "determine the analysis moisture better, on the day of the firings; more firings do not help",
    TOTAL_MOISTURE: "determine the total moisture better; more firings do not help",
    ASH: "determine the ash better; more firings do not help",
    AIDS: "determine the heat of the aid by firings of its own, or use less of it; more firings do not help",
    HEAT_EXCHANGE: "keep the jacket nearer to the calorimeter, and log readings through fore and after period",
    HYDROGEN: "determine the hydrogen better; more firings do not help",
}


def _advice(parts: Sequence[Contribution], standard: float) -> str:
    """Return which contribution weighs most and what would make it smaller, or "" where there is none."""
    largest = max(parts, key=lambda part: part.standard_J_per_g, default=None)
    if largest is None or standard == 0:
        return ""
    return f"{largest.name} weighs most: {_ADVICE[largest.name]}"


def not_stated(result: SampleResult) -> str:
    """Return in words why a value that is ready has no uncertainty, or ""."""
    if result.decision is Decision.READY and result.statistic != f"mean of {len(result.counted)}":
        return f"the value is a {result.statistic}, for which the uncertainty of a mean does not hold"
    return ""


@dataclass(slots=True)
class _Budget:
    """Contributions to the value as analysed, and what is lacking."""

    parts: list[Contribution] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)

    def add(self, name: str, standard: float, note: str) -> None:
        self.parts.append(Contribution(name, standard, note))


@dataclass(frozen=True, slots=True)
class _One:
    """One firing with everything that the budget needs."""

    result: FiringResult
    series: Series
    mass_g: float
    by: gum.GrossSensitivity


@dataclass(frozen=True, slots=True)
class Seen:
    """What the log itself shows of the bench, used where Setup leaves it open."""

    decimals: int | None
    """To which the rises are typed; None where none are."""
    scatter: PooledSD | None
    """Of single results on the comparison basis, pooled over the pairs of the log where these are enough."""


def what_is_seen(day: Day) -> Seen:
    """Return the decimals of the day's rises, and the scatter of its first pairs, those that disagree included.

    To leave the pairs that disagree out would make the scatter too small.
    """
    used = [f for f in day.firings if f.purpose is Purpose.SAMPLE and f.counts]
    decimals = max((f.row.rise_decimals for f in used if f.row.rise_decimals is not None), default=None)
    pairs = []
    for sample in day.grouped:
        values = [value for firing in day.counted(sample)[:2] if (value := day.compared(firing)) is not None]
        if len(values) == 2:
            pairs.append(values)
    return Seen(decimals, pooled_sd_of_groups(pairs) if len(pairs) >= ENOUGH_PAIRS else None)


def sample_uncertainty(
    result: SampleResult, contents: Contents, settings: Settings, seen: Seen
) -> dict[str, Uncertainty]:
    """Return the uncertainty of a ready sample's values (J/g) by value; nothing where ``not_stated`` says why."""
    firings = [one for one in (_one(firing) for firing in result.counted) if one is not None]
    if result.decision is not Decision.READY or not_stated(result) or len(firings) < len(result.counted):
        return {}
    budget = _Budget()
    _heat_capacity(budget, firings, settings)
    _shared(budget, firings, settings)
    _own(budget, firings, contents, settings, seen)
    if not budget.parts:
        return {}
    factor = COVERAGE_FACTOR if settings.coverage_factor is None else settings.coverage_factor.value
    gross = result.gross_J_per_g[Basis.AS_ANALYSED] or 0.0
    made: dict[str, Uncertainty] = {}
    slopes = _slopes(contents, gross, settings)
    assumed = net_values(contents, gross, settings).assumed
    for name, by in slopes.items():
        parts, missing = _carried(by, settings, budget)
        if name.startswith(NET_PREFIX):
            missing += assumed
        standard = gum.root_sum_of_squares(part.standard_J_per_g for part in parts)
        advice = _advice(parts, standard)
        made[name] = Uncertainty(name, standard, factor, tuple(parts), tuple(dict.fromkeys(missing)), advice)
    return made


def _slopes(contents: Contents, gross_ad_J_per_g: float, settings: Settings) -> dict[str, dict[str, float]]:
    """Return the change of each value that there is by 1 J/g as analysed (``GROSS``) and by 1 % of each content.

    Each is moved by a little and all values are worked out anew, so that whatever follows from it moves along: ash
    that was given dry, or hydrogen that holds that of the moisture.
    """
    here = _values(contents, gross_ad_J_per_g, settings)
    steps = {GROSS: 1.0} | dict.fromkeys(CONTENTS, gum.SMALL)
    there = {GROSS: _values(contents, gross_ad_J_per_g + 1.0, settings)} | {
        content: _values(contents.moved(content, gum.SMALL), gross_ad_J_per_g, settings) for content in CONTENTS
    }
    return {
        name: {what: gum.slope(value, moved[name] or 0.0, steps[what]) for what, moved in there.items()}
        for name, value in here.items()
        if value is not None
    }


def _values(contents: Contents, gross_ad_J_per_g: float, settings: Settings) -> dict[str, float | None]:
    """Return all that follows from the gross value as analysed and the contents: other bases, and net values."""
    gross = {str(basis): contents.value_on(basis, gross_ad_J_per_g) for basis in Basis}
    net = net_values(contents, gross_ad_J_per_g, settings).constant_pressure
    return gross | {f"{NET_PREFIX}{basis}": value for basis, value in net.items()}


def _one(firing: FiringResult) -> _One | None:
    capacity, rise, mass = firing.heat_capacity_J_per_K, firing.corrected_rise_K, firing.mass_g
    gross, series = firing.gross_ad_J_per_g, firing.series
    if capacity is None or rise is None or mass is None or gross is None or series is None:
        return None
    by = gum.gross_sensitivity(heat_capacity_J_per_K=capacity, corrected_rise_K=rise, gross_J_per_g=gross, mass_g=mass)
    return _One(firing, series, mass, by)


def _heat_capacity(budget: _Budget, firings: Sequence[_One], settings: Settings) -> None:
    """Count what the heat capacities bring; those of different apparatus are independent of each other."""
    count = len(firings)
    scatter: list[tuple[float, float]] = []
    entered: list[float] = []
    certified = 0.0
    numbers: list[str] = []
    relative = settings.heat_capacity_uncertainty
    for series in {one.series.apparatus + one.series.name: one.series for one in firings}.values():
        own = [one for one in firings if one.series == series]
        weight = math.fsum(one.by.heat_capacity for one in own) / count
        through = math.fsum(one.by.heat_capacity * (one.result.heat_capacity_J_per_K or 0.0) for one in own) / count
        if series.n is None:
            if relative is None:
                _lack(budget, "Heat-capacity relative uncertainty")
            else:
                entered.append(through * relative.value / 100.0)
            continue
        certified += through
        degrees = series.n - (1 if series.slope_J_per_K2 is None else 2)
        if series.sd_J_per_K is None or degrees < 1:
            _lack(budget, "the scatter of the heat-capacity series")
            continue
        of_mean = series.sd_J_per_K / math.sqrt(series.n)
        number = f"{series.sd_J_per_K:.3g} J/K over the root of {series.n} firings"
        if series.slope_sd_J_per_K2 is not None and series.mean_rise_K is not None:
            away = math.fsum(one.result.corrected_rise_K or 0.0 for one in own) / len(own) - series.mean_rise_K
            of_mean = gum.root_sum_of_squares((of_mean, series.slope_sd_J_per_K2 * away))
            number += f", and the slope {abs(away):.2f} K from its middle"
        scatter.append((weight * of_mean, degrees))
        numbers.append(number)
    if scatter:
        effective = gum.effective_degrees_of_freedom(scatter)
        standard = gum.root_sum_of_squares(part for part, _ in scatter)
        note = " and ".join(numbers) + (f", {effective:.0f} degrees of freedom" if math.isfinite(effective) else "")
        budget.add(SERIES, standard, note)
    if entered and relative is not None:
        budget.add(ENTERED_CAPACITY, gum.root_sum_of_squares(entered), f"{relative.value:g} %, from Setup")
    if certified:
        _certificate(budget, certified, settings)


def _certificate(budget: _Budget, through: float, settings: Settings) -> None:
    of_value, value = settings.benzoic_uncertainty, settings.benzoic_heat
    if of_value is None or value is None:
        _lack(budget, "Benzoic acid standard uncertainty")
        return
    note = f"{of_value.value:g} J/g of the certificate value; all of the heat capacity taken to follow it"
    budget.add(BENZOIC, through * of_value.value / value.value, note)


def _shared(budget: _Budget, firings: Sequence[_One], settings: Settings) -> None:
    """Count the thermometer and the side heats, which are the same for all firings."""
    count = len(firings)
    kelvin, percent = settings.thermometer_uncertainty, settings.correction_uncertainty
    if kelvin is None:
        _lack(budget, "Thermometer standard uncertainty")
    else:
        standard = math.fsum(one.by.rise for one in firings) / count * kelvin.value
        budget.add(THERMOMETER, standard, f"{kelvin.value:g} K of a difference, from Setup")
    for name, item, relative, of_one in (
        (SIDE_HEATS, "Correction", percent, lambda one: (one.ignition_J, one.nitric_J, one.sulphuric_J)),
        (AIDS, "Aid", settings.aid_uncertainty, lambda one: (one.aid_J,)),
    ):
        each = [-one.by.side_heat * math.fsum(heat or 0.0 for heat in of_one(one.result)) for one in firings]
        heats = math.fsum(each) / count
        if heats and relative is None:
            _lack(budget, f"{item} relative uncertainty")
        elif heats and relative is not None:
            standard = heats * relative.value / 100.0
            budget.add(name, standard, f"{relative.value:g} % of {heats:.1f} J/g, from Setup")
    if settings.acid_scheme is AcidScheme.NONE:
        _lack(budget, "the acid heats, for which nothing is corrected")
    typed = [one for one in firings if one.result.heat_exchange_K and one.result.curve is None]
    exchange = settings.heat_exchange_uncertainty
    if typed and exchange is None:
        _lack(budget, "Heat-exchange standard uncertainty")
    elif typed and exchange is not None:
        standard = math.fsum(one.by.rise for one in typed) / count * exchange.value
        budget.add(HEAT_EXCHANGE, standard, f"{exchange.value:g} K of a typed correction, from Setup")
    _method(budget, firings)


def _method(budget: _Budget, firings: Sequence[_One]) -> None:
    """Count what the way of working out the curves leaves open: it errs alike in firings alike, so all share it."""
    curves = [(one.by.rise, one.result.curve) for one in firings if one.result.curve is not None]
    stated = [(by, curve.method_uncertainty_K) for by, curve in curves if curve.method_uncertainty_K is not None]
    if len(stated) < len(curves):
        _lack(budget, "the heat exchange where the readings give no rates")
    if stated:
        largest = max(kelvin for _, kelvin in stated)
        methods = " and ".join(sorted({curve.method for _, curve in curves}))
        note = (
            f"{methods}, up to {largest * 1e3:.2g} mK: distance from the integral of the same curve to a later end and "
            "what lies between the readings; it falls out in part where benzoic acid was fired and worked out alike"
        )
        budget.add(CURVE_METHOD, math.fsum(by * kelvin for by, kelvin in stated) / len(firings), note)


def _own(budget: _Budget, firings: Sequence[_One], contents: Contents, settings: Settings, seen: Seen) -> None:
    """Count what each firing has for itself; observed scatter holds readings and weighing already."""
    parts = (
        _reading(budget, firings, settings, seen.decimals),
        _curve_readings(firings),
        _weighing(budget, firings, settings),
    )
    own = [part for part in parts if part is not None]
    together = gum.root_sum_of_squares(part.standard_J_per_g for part in own)
    scatter = _repeatability(budget, len(firings), contents, settings, seen.scatter)
    if scatter is None:
        for part in own:
            budget.add(part.name, part.standard_J_per_g, part.note)
    elif scatter.standard_J_per_g >= together:
        held = ", ".join(f"{part.name} {part.standard_J_per_g:.1f} J/g" for part in own)
        note = scatter.note + (f"; holds already, so not counted again: {held}" if held else "")
        budget.add(scatter.name, scatter.standard_J_per_g, note)
    else:
        for part in own:
            smaller = f"; repeatability, {scatter.standard_J_per_g:.1f} J/g, is smaller and not counted as well"
            budget.add(part.name, part.standard_J_per_g, part.note + smaller)


def _reading(budget: _Budget, firings: Sequence[_One], settings: Settings, decimals: int | None) -> Contribution | None:
    """Return what the step of the readings brings where the rise was typed or taken from two temperatures."""
    given = settings.reading_resolution
    if all(one.result.curve is not None for one in firings):
        return None
    if given is None and decimals is None:
        _lack(budget, "Reading resolution")
        return None
    step = given.value if given is not None else 10.0 ** -(decimals or 0)
    one_reading = gum.reading_step_uncertainty(step)
    rise = gum.difference_uncertainty(one_reading, one_reading)
    standard = gum.mean_uncertainty([one.by.rise * rise if one.result.curve is None else 0.0 for one in firings])
    whence = "from Setup" if given is not None else "by the decimals typed"
    return Contribution(READING, standard, f"step {step:g} K {whence}, rectangular, once for each of two readings")


def _curve_readings(firings: Sequence[_One]) -> Contribution | None:
    """Return what the readings of the curves bring, through the end points, the rates and the integral."""
    curves = [one.result.curve for one in firings if one.result.curve is not None]
    if not curves:
        return None
    kelvins = [0.0 if one.result.curve is None else one.result.curve.reading_uncertainty_K for one in firings]
    standard = gum.mean_uncertainty([one.by.rise * kelvin for one, kelvin in zip(firings, kelvins, strict=True)])
    note = (
        f"up to {max(kelvins) * 1e3:.2g} mK a firing: reading step or scatter, through end points, rates and integral"
    )
    return Contribution(CURVE_READINGS, standard, note)


def _weighing(budget: _Budget, firings: Sequence[_One], settings: Settings) -> Contribution:
    given = settings.balance_uncertainty
    if given is None:
        _lack(budget, "Balance standard uncertainty")
        single = gum.reading_step_uncertainty(BALANCE_DIGIT_G)
        note = "last digit taken as 0.1 mg (common practice, no source), rectangular"
    else:
        single, note = given.value, f"{given.value * 1e3:g} mg a weighing, from Setup"
    parts, differences = [], 0
    for one in firings:
        row = one.result.row
        by_difference = row.mass_g is None and logged_mass(row) is not None
        differences += by_difference
        parts.append(one.by.mass * (gum.difference_uncertainty(single, single) if by_difference else single))
    if differences:
        note += f"; two weighings in {differences} of {len(firings)} firings"
    return Contribution(WEIGHING, gum.mean_uncertainty(parts), note)


def _repeatability(
    budget: _Budget, count: int, contents: Contents, settings: Settings, pairs: PooledSD | None
) -> Contribution | None:
    """Return the scatter of the mean as analysed; the figures in force hold on the comparison basis."""
    single, limit = settings.repeatability_sd, settings.repeatability_limit
    if single is not None:
        value, note = single.value, f"standard deviation {single.value:g} J/g, from Setup"
    elif pairs is not None:
        value = pairs.sd
        note = f"standard deviation {value:.1f} J/g of {pairs.degrees_of_freedom} pairs of this log, pooled"
    elif limit is not None:
        value = gum.repeatability_sd(limit.value)
        note = f"derived: limit {limit.value:g} J/g / {gum.LIMIT_TO_SD:g} (ISO 5725-6, from memory, unchecked)"
    else:
        _lack(budget, "the repeatability")
        return None
    factor = contents.value_on(settings.comparison_basis or Basis.AS_ANALYSED, 1.0)
    if factor is None:
        _lack(budget, "the repeatability as analysed, for which the moisture is missing")
        return None
    return Contribution(REPEATABILITY, value / factor / math.sqrt(count), f"{note}; mean of {count}")


def _carried(slopes: Mapping[str, float], settings: Settings, budget: _Budget) -> tuple[list[Contribution], list[str]]:
    """Return the contributions to one value, given how it changes, and what is missing."""
    percent = settings.moisture_uncertainty
    factor = abs(slopes[GROSS])
    parts = [Contribution(part.name, factor * part.standard_J_per_g, part.note) for part in budget.parts]
    missing = list(budget.missing)
    for content, label, stated, item in (
        ("moisture_analysis", ANALYSIS_MOISTURE, percent, "Moisture"),
        ("moisture_total", TOTAL_MOISTURE, percent, "Moisture"),
        ("ash", ASH, settings.ash_uncertainty, "Ash"),
        ("hydrogen", HYDROGEN, settings.hydrogen_uncertainty, "Hydrogen"),
    ):
        change = abs(slopes[content])
        if change < NOTHING:
            continue
        if stated is None:
            missing.append(f"{item} standard uncertainty")
        else:
            note = f"{stated.value:g} % of mass, from Setup; {change:.1f} J/g by 1 %"
            parts.append(Contribution(label, change * stated.value, note))
    return parts, missing


def _lack(budget: _Budget, what: str) -> None:
    if what not in budget.missing:
        budget.missing.append(what)
