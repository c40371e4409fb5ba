"""How well a sample's value is known, by basis: what contributes, what could not be counted, what would help.

The value is the mean of n firings. What all firings share (heat capacity, certificate, thermometer, side heats,
moistures, the way in which curves are worked out) does not shrink with n; what each has for itself (readings,
weighing, scatter) does. The parts are taken as independent. That errs on the large side where an error of the
thermometer, of a side heat or of the heat exchange enters the heat capacity and the sample alike, because there it
partly cancels.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from functools import partial

from msgspec import Struct, field

from batchcal.evaluate.bench import Bench, Seen
from batchcal.evaluate.charge import by_difference
from batchcal.evaluate.contents import Contents
from batchcal.evaluate.sensitivities import slopes
from batchcal.formulas import uncertainty as gum
from batchcal.model import Contribution, Curve, FiringResult, Quantity, Series, Settings, Uncertainty
from batchcal.terms import NET_PREFIX, AcidScheme, Basis

COVERAGE_FACTOR = 2.0
"""Where Setup gives none: about 95 % for a normal distribution."""

NOTHING = 1e-6
"""A value that changes by less than this (J/g) with 1 % of a content does not depend on it."""

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


_LARGEST = {name: f"{name} weighs most: {advice}" for name, advice in _ADVICE.items()}


def not_stated(statistic: str, count: int) -> str:
    """Return in words why the value of so many firings, ready by its statistic, has no uncertainty, or ""."""
    if statistic == f"mean of {count}":
        return ""
    return f"the value is a {statistic}, for which the uncertainty of a mean does not hold"


class _Part(Struct, frozen=True):
    """One contribution; it is put into words only when somebody asks."""

    name: str
    standard: float
    note: Callable[[], str]


class _Budget(Struct):
    """Contributions to the value as analysed, and what is lacking."""

    parts: list[_Part] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)

    def add(self, name: str, standard: float, note: Callable[[], str]) -> None:
        self.parts.append(_Part(name, standard, note))


class _One(Struct, frozen=True):
    """One firing with everything that the budget needs."""

    result: FiringResult
    series: Series
    curve: Curve | None
    by: gum.GrossSensitivity


class Budgets:
    """The uncertainties of a day's samples."""

    def __init__(self, settings: Settings, seen: Seen) -> None:
        """Start with what holds for every sample."""
        self._settings = settings
        given = settings.coverage_factor
        self._factor = COVERAGE_FACTOR if given is None else given.value
        moisture = settings.moisture_uncertainty
        self._stated = (
            _Stated(ANALYSIS_MOISTURE, "Moisture standard uncertainty", moisture),
            _Stated(TOTAL_MOISTURE, "Moisture standard uncertainty", moisture),
            _Stated(ASH, "Ash standard uncertainty", settings.ash_uncertainty),
            _Stated(HYDROGEN, "Hydrogen standard uncertainty", settings.hydrogen_uncertainty),
        )
        self._bench = Bench.of(settings, seen)
        self._lacking: dict[tuple[str, ...], tuple[str, ...]] = {}

    def of(
        self, contents: Contents, counted: Sequence[FiringResult], gross_ad_J_per_g: float, assumed: Sequence[str]
    ) -> dict[str, Uncertainty]:
        """Return the uncertainty of a ready sample's values (J/g) by value, its gross value being the mean of firings.

        ``assumed`` is what had to be assumed for the net values. There is none where a firing lacks a figure. The parts
        are kept no longer than for their sum, and are worked out once more for whoever asks to see them: of a long log
        hardly any are looked at.
        """
        budget = self._budget(contents, counted)
        if budget is None:
            return {}
        own = [part.standard for part in budget.parts]
        of_own = [part.name for part in budget.parts]
        parts = _WorkedOut(self, contents, counted, gross_ad_J_per_g)
        made: dict[str, Uncertainty] = {}
        for name, by in slopes(contents, gross_ad_J_per_g, self._settings).items():
            factor = abs(by.gross)
            standards, names, missing = [factor * standard for standard in own], of_own, tuple(budget.missing)
            if any(by.contents):  # the value as analysed follows from none of them
                of_contents, lacking = self._of_contents(by.contents)
                standards += [part.standard for part in of_contents]
                names = of_own + [part.name for part in of_contents]
                missing += lacking
            if name.startswith(NET_PREFIX):
                missing += tuple(assumed)
            standard = gum.root_sum_of_squares(standards)
            advice = _LARGEST[names[standards.index(max(standards))]] if standard else ""
            made[name] = Uncertainty(name, standard, self._factor, parts, self._once(missing), advice)
        return made

    def contributions(
        self, contents: Contents, counted: Sequence[FiringResult], gross_ad_J_per_g: float, value: str
    ) -> tuple[Contribution, ...]:
        """Return the contributions to one value of a sample, in words."""
        budget = self._budget(contents, counted)
        if budget is None:
            return ()
        by = slopes(contents, gross_ad_J_per_g, self._settings)[value]
        of_contents, _ = self._of_contents(by.contents)
        carried = [(abs(by.gross), part) for part in budget.parts] + [(1.0, part) for part in of_contents]
        return tuple(Contribution(part.name, factor * part.standard, part.note()) for factor, part in carried)

    def _budget(self, contents: Contents, counted: Sequence[FiringResult]) -> _Budget | None:
        """Return the contributions to the value as analysed; None where there are none or a firing lacks a figure."""
        firings = [one for one in map(_one, counted) if one is not None]
        if len(firings) < len(counted):
            return None
        budget = _Budget()
        _heat_capacity(budget, firings, self._settings)
        _shared(budget, firings, self._settings)
        _own(budget, firings, contents, self._bench)
        return budget if budget.parts else None

    def _of_contents(self, by: tuple[float, ...]) -> tuple[list[_Part], tuple[str, ...]]:
        """Return what the contents bring to a value, given how it changes with each of them, and what is missing."""
        parts: list[_Part] = []
        missing: tuple[str, ...] = ()
        for stated, slope in zip(self._stated, by, strict=True):
            if -NOTHING < slope < NOTHING:
                continue
            if stated.percent is None:
                missing += (stated.lacking,)
            else:
                change = abs(slope)
                words = partial(_of_mass, stated.percent, change)
                parts.append(_Part(stated.name, change * stated.percent.value, words))
        return parts, missing

    def _once(self, missing: tuple[str, ...]) -> tuple[str, ...]:
        """Return what is missing, each once; the same tuple for samples that lack the same."""
        known = self._lacking.get(missing)
        if known is None:
            known = self._lacking[missing] = tuple(dict.fromkeys(missing))
        return known


class _WorkedOut(Struct, frozen=True):
    """What the contributions to the values of a sample are worked out from, once somebody asks for them."""

    budgets: Budgets
    contents: Contents
    counted: Sequence[FiringResult]
    gross_ad_J_per_g: float

    def __call__(self, value: str) -> tuple[Contribution, ...]:
        return self.budgets.contributions(self.contents, self.counted, self.gross_ad_J_per_g, value)


class _Stated(Struct, frozen=True):
    """What Setup says of a content: the part of the budget, what is lacking without a figure, and the figure."""

    name: str
    lacking: str
    percent: Quantity | None


def _of_mass(percent: Quantity, change: float) -> str:
    return f"{percent.value:g} % of mass, from Setup; {change:.1f} J/g by 1 %"


def _one(firing: FiringResult) -> _One | None:
    capacity, rise, mass = firing.heat_capacity_J_per_K, firing.corrected_rise_K, firing.mass_g
    gross, series = firing.gross_ad_J_per_g, firing.series
    if capacity is None or rise is None or mass is None or gross is None or series is None:
        return None
    by = gum.gross_sensitivity(heat_capacity_J_per_K=capacity, corrected_rise_K=rise, gross_J_per_g=gross, mass_g=mass)
    return _One(firing, series, firing.curve, by)


def _heat_capacity(budget: _Budget, firings: Sequence[_One], settings: Settings) -> None:
    """Count what the heat capacities bring; those of different apparatus are independent of each other."""
    count = len(firings)
    scatter: list[tuple[float, float]] = []
    entered: list[float] = []
    certified = 0.0
    numbers: list[Callable[[], str]] = []
    relative = settings.heat_capacity_uncertainty
    for series in {id(one.series): one.series for one in firings}.values():
        own = [one for one in firings if one.series is series]
        weight = math.fsum([one.by.heat_capacity for one in own]) / count
        through = math.fsum([one.by.heat_capacity * (one.result.heat_capacity_J_per_K or 0.0) for one in own]) / count
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
        of_mean, away = series.sd_J_per_K / math.sqrt(series.n), None
        if series.slope_sd_J_per_K2 is not None and series.mean_rise_K is not None:
            away = math.fsum([one.result.corrected_rise_K or 0.0 for one in own]) / len(own) - series.mean_rise_K
            of_mean = gum.root_sum_of_squares((of_mean, series.slope_sd_J_per_K2 * away))
        scatter.append((weight * of_mean, degrees))
        numbers.append(partial(_scatter_words, series, away))
    if scatter:
        standard = gum.root_sum_of_squares([part for part, _ in scatter])
        budget.add(SERIES, standard, lambda: " and ".join(words() for words in numbers) + _degrees_words(scatter))
    if entered and relative is not None:
        budget.add(ENTERED_CAPACITY, gum.root_sum_of_squares(entered), lambda: f"{relative.value:g} %, from Setup")
    if certified:
        _certificate(budget, certified, settings)


def _scatter_words(series: Series, away: float | None) -> str:
    text = f"{series.sd_J_per_K:.3g} J/K over the root of {series.n} firings"
    return text if away is None else f"{text}, and the slope {abs(away):.2f} K from its middle"


def _degrees_words(scatter: Sequence[tuple[float, float]]) -> str:
    effective = gum.effective_degrees_of_freedom(scatter)
    return f", {effective:.0f} degrees of freedom" if math.isfinite(effective) else ""


def _certificate(budget: _Budget, through: float, settings: Settings) -> None:
    of_value, value = settings.benzoic_uncertainty, settings.benzoic_heat
    if of_value is None or value is None:
        _lack(budget, "Benzoic acid standard uncertainty")
        return
    text = "J/g of the certificate value; all of the heat capacity taken to follow it"
    budget.add(BENZOIC, through * of_value.value / value.value, lambda: f"{of_value.value:g} {text}")


def _shared(budget: _Budget, firings: Sequence[_One], settings: Settings) -> None:
    """Count the thermometer and the side heats, which are the same for all firings."""
    count = len(firings)
    kelvin, percent = settings.thermometer_uncertainty, settings.correction_uncertainty
    if kelvin is None:
        _lack(budget, "Thermometer standard uncertainty")
    else:
        standard = math.fsum([one.by.rise for one in firings]) / count * kelvin.value
        budget.add(THERMOMETER, standard, lambda: f"{kelvin.value:g} K of a difference, from Setup")
    side = [
        -one.by.side_heat * math.fsum((heats.ignition_J or 0.0, heats.nitric_J or 0.0, heats.sulphuric_J or 0.0))
        for one in firings
        for heats in (one.result,)
    ]
    _heats(budget, SIDE_HEATS, "Correction", percent, math.fsum(side) / count)
    of_aids = [-one.by.side_heat * heat for one in firings if (heat := one.result.aid_J)]
    _heats(budget, AIDS, "Aid", settings.aid_uncertainty, math.fsum(of_aids) / count)
    if settings.acid_scheme is AcidScheme.NONE:
        _lack(budget, "the acid heats, for which nothing is corrected")
    typed = [one for one in firings if one.curve is None and one.result.heat_exchange_K]
    exchange = settings.heat_exchange_uncertainty
    if typed and exchange is None:
        _lack(budget, "Heat-exchange standard uncertainty")
    elif typed and exchange is not None:
        standard = math.fsum([one.by.rise for one in typed]) / count * exchange.value
        budget.add(HEAT_EXCHANGE, standard, lambda: f"{exchange.value:g} K of a typed correction, from Setup")
    _method(budget, firings)


def _heats(budget: _Budget, name: str, item: str, relative: Quantity | None, heats_J_per_g: float) -> None:
    """Count what heats of one kind, in J per g of sample, bring by their relative uncertainty."""
    if not heats_J_per_g:
        return
    if relative is None:
        _lack(budget, f"{item} relative uncertainty")
        return
    standard = heats_J_per_g * relative.value / 100.0
    budget.add(name, standard, lambda: f"{relative.value:g} % of {heats_J_per_g:.1f} J/g, from Setup")


def _method(budget: _Budget, firings: Sequence[_One]) -> None:
    """Count what the way of working out the curves leaves open: it errs alike in firings alike, so all share it."""
    curves = [(one.by.rise, one.curve) for one in firings if one.curve is not None]
    if not curves:
        return
    stated = [(by, curve.method_uncertainty_K) for by, curve in curves if curve.method_uncertainty_K is not None]
    if len(stated) < len(curves):
        _lack(budget, "the heat exchange where the readings give no rates")
    if stated:
        methods = {curve.method for _, curve in curves}
        budget.add(
            CURVE_METHOD,
            math.fsum([by * kelvin for by, kelvin in stated]) / len(firings),
            lambda: _method_words(methods, max(kelvin for _, kelvin in stated)),
        )


def _method_words(methods: Iterable[str], largest_K: float) -> str:
    return (
        f"{' and '.join(sorted(methods))}, up to {largest_K * 1e3:.2g} mK: distance from the integral of the same "
        "curve to a later end and what lies between the readings; it falls out in part where benzoic acid was fired "
        "and worked out alike"
    )


def _own(budget: _Budget, firings: Sequence[_One], contents: Contents, bench: Bench) -> None:
    """Count what each firing has for itself; observed scatter holds readings and weighing already."""
    parts = (_reading(budget, firings, bench), _curve_readings(firings), _weighing(budget, firings, bench))
    own = [part for part in parts if part is not None]
    together = gum.root_sum_of_squares([part.standard for part in own])
    scatter = _repeatability(budget, len(firings), contents, bench)
    if scatter is None:
        budget.parts += own
    elif scatter.standard >= together:
        budget.add(scatter.name, scatter.standard, lambda: scatter.note() + _held_words(own))
    else:
        smaller = partial(_smaller_words, scatter.standard)
        budget.parts += [_Part(part.name, part.standard, partial(_joined, part.note, smaller)) for part in own]


def _held_words(own: Sequence[_Part]) -> str:
    held = ", ".join(f"{part.name} {part.standard:.1f} J/g" for part in own)
    return f"; holds already, so not counted again: {held}" if held else ""


def _smaller_words(scatter_J_per_g: float) -> str:
    return f"; repeatability, {scatter_J_per_g:.1f} J/g, is smaller and not counted as well"


def _joined(note: Callable[[], str], more: Callable[[], str]) -> str:
    return note() + more()


def _reading(budget: _Budget, firings: Sequence[_One], bench: Bench) -> _Part | None:
    """Return what the step of the readings brings where the rise was typed or taken from two temperatures."""
    parts = [one.by.rise * bench.rise_K if one.curve is None else None for one in firings]
    if parts.count(None) == len(parts):
        return None
    if bench.step_K is None:
        _lack(budget, "Reading resolution")
        return None
    standard = gum.mean_uncertainty([part or 0.0 for part in parts])
    return _Part(READING, standard, partial(_reading_words, bench.step_K, bench.settings.reading_resolution))


def _reading_words(step_K: float, given: Quantity | None) -> str:
    whence = "from Setup" if given is not None else "by the decimals typed"
    return f"step {step_K:g} K {whence}, rectangular, once for each of two readings"


def _curve_readings(firings: Sequence[_One]) -> _Part | None:
    """Return what the readings of the curves bring, through the end points, the rates and the integral."""
    kelvins = [None if one.curve is None else one.curve.reading_uncertainty_K for one in firings]
    if kelvins.count(None) == len(kelvins):
        return None
    known = [kelvin or 0.0 for kelvin in kelvins]
    standard = gum.mean_uncertainty([one.by.rise * kelvin for one, kelvin in zip(firings, known, strict=True)])
    text = "mK a firing: reading step or scatter, through end points, rates and integral"
    return _Part(CURVE_READINGS, standard, lambda: f"up to {max(known) * 1e3:.2g} {text}")


def _weighing(budget: _Budget, firings: Sequence[_One], bench: Bench) -> _Part:
    given = bench.settings.balance_uncertainty
    if given is None:
        _lack(budget, "Balance standard uncertainty")
    single, double = bench.weighing_g, bench.two_weighings_g
    parts = [one.by.mass * (double if by_difference(one.result.row) else single) for one in firings]
    return _Part(WEIGHING, gum.mean_uncertainty(parts), partial(_weighing_words, given, firings))


def _weighing_words(given: Quantity | None, firings: Sequence[_One]) -> str:
    twice = [by_difference(one.result.row) for one in firings]
    if given is None:
        text = "last digit taken as 0.1 mg (common practice, no source), rectangular"
    else:
        text = f"{given.value * 1e3:g} mg a weighing, from Setup"
    return f"{text}; two weighings in {sum(twice)} of {len(twice)} firings" if any(twice) else text


def _repeatability(budget: _Budget, count: int, contents: Contents, bench: Bench) -> _Part | None:
    """Return the scatter of the mean as analysed; the figures in force hold on the comparison basis."""
    if bench.scatter is None:
        _lack(budget, "the repeatability")
        return None
    factor = contents.value_on(bench.settings.comparison_basis or Basis.AS_ANALYSED, 1.0)
    if factor is None:
        _lack(budget, "the repeatability as analysed, for which the moisture is missing")
        return None
    standard = bench.scatter / factor / math.sqrt(count)
    return _Part(REPEATABILITY, standard, partial(_repeatability_words, bench, count))


def _repeatability_words(bench: Bench, count: int) -> str:
    single, limit, pairs = bench.settings.repeatability_sd, bench.settings.repeatability_limit, bench.seen.scatter
    if single is not None:
        text = f"standard deviation {single.value:g} J/g, from Setup"
    elif pairs is not None:
        text = f"standard deviation {pairs.sd:.1f} J/g of {pairs.degrees_of_freedom} pairs of this log, pooled"
    elif limit is not None:
        text = f"derived: limit {limit.value:g} J/g / {gum.LIMIT_TO_SD:g} (ISO 5725-6, from memory, unchecked)"
    else:
        return ""
    return f"{text}; mean of {count}"


def _lack(budget: _Budget, what: str) -> None:
    if what not in budget.missing:
        budget.missing.append(what)
