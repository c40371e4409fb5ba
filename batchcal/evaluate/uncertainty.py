"""How well a sample's value is known, by basis: what contributes, what could not be counted, what would help.

The value is the mean of n firings. What all firings share (heat capacity, certificate, thermometer, side heats,
moistures) does not shrink with n; what each has for itself (reading, weighing, scatter) does. The parts are taken
as independent. That errs on the large side where an error of the thermometer or of a side heat enters the heat
capacity and the sample alike, because there it partly cancels.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from batchcal.evaluate.charge import logged_mass
from batchcal.evaluate.contents import Contents
from batchcal.formulas import uncertainty as gum
from batchcal.model import Contribution, FiringResult, SampleResult, Series, Settings, Uncertainty
from batchcal.terms import AcidScheme, Basis, Decision

COVERAGE_FACTOR = 2.0
"""Where Setup gives none: about 95 % for a normal distribution."""

BALANCE_DIGIT_G = 0.1e-3
"""Last digit of the balance where Setup gives no uncertainty; common practice, no source."""

SERIES, ENTERED_CAPACITY = "heat capacity, scatter of the series", "heat capacity, entered on Setup"
BENZOIC, THERMOMETER, SIDE_HEATS = "benzoic acid certificate", "thermometer", "ignition, aid and acid heats"
REPEATABILITY, READING, WEIGHING = "repeatability", "temperature reading step", "weighing"
ANALYSIS_MOISTURE, TOTAL_MOISTURE = "analysis moisture", "total moisture"

_ADVICE = {
    SERIES: "Fire more benzoic acid for the heat capacity: this part falls with the square root of their number.",
    ENTERED_CAPACITY: "Determine the heat capacity here by a series of benzoic acid firings.",
    BENZOIC: "Use a benzoic acid whose certificate states a smaller uncertainty.",
    THERMOMETER: "Have the thermometer calibrated over the span of the rises; more firings do not help.",
    SIDE_HEATS: "Measure the ignition, aid and acid heats better, or make them smaller; more firings do not help.",
    REPEATABILITY: "Fire the sample again, or look for the cause of the scatter: mixing, pellet, stirring, titration.",
    READING: "Read the temperature to a finer step, if the thermometer allows it.",
    WEIGHING: "Weigh on a finer balance.",
    ANALYSIS_MOISTURE: "Determine the analysis moisture better, on the day of the firings; more firings do not help.",
    TOTAL_MOISTURE: "Determine the total moisture better; more firings do not help.",
}


def advice(uncertainty: Uncertainty) -> str:
    """Return which contribution weighs most and what would make it smaller, or "" where there is none."""
    largest = uncertainty.largest
    if largest is None or largest.standard_J_per_g == 0:
        return ""
    return f"Most comes from: {largest.name}. {_ADVICE[largest.name]}"


def not_stated(result: SampleResult) -> str:
    """Return in words why a sample has no uncertainty at all, or ""."""
    if result.decision is not Decision.READY:
        return f"the sample is not ready ({result.decision})"
    if result.statistic != f"mean of {len(result.counted)}":
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
    side_J: float


def sample_uncertainty(
    result: SampleResult, contents: Contents, settings: Settings, decimals: int | None
) -> dict[str, Uncertainty]:
    """Return the uncertainty of a ready sample's gross value (J/g) by basis; nothing where ``not_stated`` says why.

    ``decimals`` are those to which the day's rises are typed, used where Setup gives no reading resolution.
    """
    firings = [one for one in (_one(firing) for firing in result.counted) if one is not None]
    if not_stated(result) or not firings or len(firings) < len(result.counted):
        return {}
    budget = _Budget()
    _heat_capacity(budget, firings, settings)
    _shared(budget, firings, settings)
    _own(budget, firings, contents, settings, decimals)
    if not budget.parts:
        return {}
    factor = COVERAGE_FACTOR if settings.coverage_factor is None else settings.coverage_factor.value
    made: dict[str, Uncertainty] = {}
    for basis in Basis:
        carried = _carried(basis, result, contents, settings, budget)
        if carried is not None:
            parts, missing = carried
            standard = gum.root_sum_of_squares(part.standard_J_per_g for part in parts)
            made[basis] = Uncertainty(basis, standard, factor, tuple(parts), tuple(missing))
    return made


def _one(firing: FiringResult) -> _One | None:
    capacity, rise, mass = firing.heat_capacity_J_per_K, firing.corrected_rise_K, firing.mass_g
    gross, series = firing.gross_ad_J_per_g, firing.series
    if capacity is None or rise is None or mass is None or gross is None or series is None:
        return None
    heats = (firing.ignition_J, firing.aid_J, firing.nitric_J, firing.sulphuric_J)
    by = gum.gross_sensitivity(heat_capacity_J_per_K=capacity, corrected_rise_K=rise, gross_J_per_g=gross, mass_g=mass)
    return _One(firing, series, mass, by, math.fsum(heat or 0.0 for heat in heats))


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
                _lack(budget, "the heat capacity entered on Setup (Heat-capacity relative uncertainty is blank)")
            else:
                entered.append(through * relative.value / 100.0)
            continue
        certified += through
        degrees = series.n - (1 if series.slope_J_per_K2 is None else 2)
        if series.sd_J_per_K is None or degrees < 1:
            _lack(budget, "the scatter of the heat-capacity series")
            continue
        scatter.append((weight * series.sd_J_per_K / math.sqrt(series.n), degrees))
        numbers.append(f"{series.sd_J_per_K:.3g} J/K over the root of {series.n} firings")
        if series.slope_J_per_K2 is not None:
            _lack(budget, "the slope of the heat-capacity line")
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
        _lack(budget, "the benzoic acid certificate (Benzoic acid standard uncertainty is blank)")
        return
    note = f"{of_value.value:g} J/g of the certificate value; all of the heat capacity taken to follow it"
    budget.add(BENZOIC, through * of_value.value / value.value, note)


def _shared(budget: _Budget, firings: Sequence[_One], settings: Settings) -> None:
    """Count the thermometer and the side heats, which are the same for all firings."""
    count = len(firings)
    kelvin, percent = settings.thermometer_uncertainty, settings.correction_uncertainty
    if kelvin is None:
        _lack(budget, "the thermometer (Thermometer standard uncertainty is blank)")
    else:
        standard = math.fsum(one.by.rise for one in firings) / count * kelvin.value
        budget.add(THERMOMETER, standard, f"{kelvin.value:g} K of a difference, from Setup")
    heats = math.fsum(abs(one.by.side_heat) * one.side_J for one in firings) / count
    if percent is not None:
        budget.add(SIDE_HEATS, heats * percent.value / 100.0, f"{percent.value:g} % of {heats:.1f} J/g, from Setup")
    elif heats:
        _lack(budget, "the ignition, aid and acid heats (Correction relative uncertainty is blank)")
    if settings.acid_scheme is AcidScheme.NONE:
        _lack(budget, "the acid heats, for which nothing is corrected")
    if any(one.result.heat_exchange_K for one in firings):
        _lack(budget, "the heat-exchange correction")


def _own(
    budget: _Budget, firings: Sequence[_One], contents: Contents, settings: Settings, decimals: int | None
) -> None:
    """Count what each firing has for itself; observed scatter holds reading and weighing already."""
    reading, weighing = _reading(budget, firings, settings, decimals), _weighing(budget, firings, settings)
    own = [part for part in (reading, weighing) if part is not None]
    together = gum.root_sum_of_squares(part.standard_J_per_g for part in own)
    scatter = _repeatability(budget, len(firings), contents, settings)
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
    given = settings.reading_resolution
    if given is None and decimals is None:
        _lack(budget, "the reading step (Reading resolution is blank)")
        return None
    step = given.value if given is not None else 10.0 ** -(decimals or 0)
    one_reading = gum.reading_step_uncertainty(step)
    rise = gum.difference_uncertainty(one_reading, one_reading)
    standard = gum.mean_uncertainty([one.by.rise * rise for one in firings])
    whence = "from Setup" if given is not None else "by the decimals typed"
    return Contribution(READING, standard, f"step {step:g} K {whence}, rectangular, once for each of two readings")


def _weighing(budget: _Budget, firings: Sequence[_One], settings: Settings) -> Contribution:
    given = settings.balance_uncertainty
    if given is None:
        _lack(budget, "the balance beyond its last digit (Balance standard uncertainty is blank)")
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


def _repeatability(budget: _Budget, count: int, contents: Contents, settings: Settings) -> Contribution | None:
    """Return the scatter of the mean as analysed; the figures in force hold on the comparison basis."""
    single, limit = settings.repeatability_sd, settings.repeatability_limit
    if single is not None:
        value, note = single.value, f"standard deviation {single.value:g} J/g, from Setup"
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


def _carried(
    basis: Basis, result: SampleResult, contents: Contents, settings: Settings, budget: _Budget
) -> tuple[list[Contribution], list[str]] | None:
    """Return the contributions to the value on ``basis`` and what is missing, or None where there is no value."""
    gross = result.gross_J_per_g.get(Basis.AS_ANALYSED)
    if gross is None or result.gross_J_per_g.get(basis) is None:
        return None
    missing = list(budget.missing)
    if basis is Basis.AS_ANALYSED:
        return list(budget.parts), missing
    factor, by_analysis, by_total = _by_moisture(basis, contents, gross)
    parts = [Contribution(part.name, part.standard_J_per_g * factor, part.note) for part in budget.parts]
    percent = settings.moisture_uncertainty
    for name, slope in ((ANALYSIS_MOISTURE, by_analysis), (TOTAL_MOISTURE, by_total)):
        if slope and percent is not None:
            parts.append(Contribution(name, abs(slope) * percent.value, f"{percent.value:g} % of mass, from Setup"))
        elif slope:
            missing.append(f"the {name} (Moisture standard uncertainty is blank)")
    if basis is Basis.DRY_ASH_FREE and contents.ash_ad:
        missing.append("the ash, for which Setup has no item")
    return parts, missing


def _by_moisture(basis: Basis, contents: Contents, gross: float) -> tuple[float, float, float]:
    """Return the conversion factor and the change per % of analysis and of total moisture.

    Ash that is given dry or as received was itself carried to the analysis sample by the moisture; that counts.
    """
    moisture, total, ash = contents.moisture_analysis or 0.0, contents.moisture_total or 0.0, contents.ash_ad or 0.0
    if basis is Basis.DRY:
        dry = gum.dry_sensitivity(gross, moisture)
        return dry.value, dry.moisture_analysis, 0.0
    if basis is Basis.AS_RECEIVED:
        received = gum.as_received_sensitivity(gross, moisture, total)
        return received.value, received.moisture_analysis, received.other
    free = gum.dry_ash_free_sensitivity(gross, moisture, ash)
    given = contents.row.bases.get("ash") if contents.row is not None else None
    by_analysis = -ash / (100.0 - moisture) if given in (Basis.DRY, Basis.AS_RECEIVED) else 0.0
    by_total = ash / (100.0 - total) if given is Basis.AS_RECEIVED else 0.0
    return free.value, free.moisture_analysis + free.other * by_analysis, free.other * by_total


def _lack(budget: _Budget, what: str) -> None:
    if what not in budget.missing:
        budget.missing.append(what)
