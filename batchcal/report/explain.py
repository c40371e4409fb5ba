"""One firing or sample worked through line by line, in the order of a pocket calculator.

Every line shows the figures that went in, as they stand in the sheet, and the result of that step; every constant
is named with its value, unit, source and mark. Nothing is computed here that was not computed before: the results
of the steps are those of the evaluation, and a step's right-hand side can be checked against its left.
"""

import math
from collections.abc import Iterable

from msgspec import Struct

from batchcal.logged import Aid, TitrationRow
from batchcal.model import Evaluation, FiringResult, Quantity, SampleResult, Settings
from batchcal.report import uncertainty
from batchcal.report.not_computed import is_without_numbers, not_computed
from batchcal.report.words import joined, rows, unstopped
from batchcal.terms import BASIS_NAMES, VALUE_NAMES, AcidScheme, Basis, Purpose, YesNo

PERIODS_FOUND = "found by rule from the readings, as the Period column is blank"
"""What is said where firing and end of the main period are not logged."""

_WIDTH = 22
"""Characters of a line's label; a longer one is followed by a space."""


class Line(Struct, frozen=True):
    """One step of a working: its label, its figures with their result, and the source of the constant in it."""

    label: str
    text: str
    source: str = ""

    def __str__(self) -> str:
        """Return the line as the terminal shows it."""
        source = f"  [{self.source}]" if self.source else ""
        return f"  {self.label:<{_WIDTH - 1}} {self.text}{source}"


class Working(Struct, frozen=True):
    """The working of one firing or sample: what it is, and its steps."""

    heading: str
    lines: tuple[Line, ...]

    def texts(self) -> list[str]:
        """Return the working as the terminal shows it."""
        return [self.heading, *map(str, self.lines)]


def explain(evaluation: Evaluation, name: str) -> list[str] | None:
    """Return the working of the firing or sample of that number, or None where there is none.

    Where a firing and a sample have the same number both are explained.
    """
    lines: list[str] = []
    for firing in evaluation.firings:
        if firing.row.firing == name:
            lines += [*explain_firing(evaluation, firing).texts(), ""]
    for sample in evaluation.samples:
        if sample.sample == name:
            lines += [*explain_sample(evaluation, sample).texts(), ""]
    return lines[:-1] or None


def explain_firing(evaluation: Evaluation, firing: FiringResult) -> Working:
    """Return the working of one firing."""
    row = firing.row
    place = row.place
    what = f"{firing.purpose or 'purpose unknown'}" + (f", sample {row.sample}" if row.sample else "")
    replicate = f", replicate {row.replicate}" if row.replicate else ""
    heading = f"Firing {firing.name} ({place.sheet} row {place.row}): {what}{replicate}, {firing.state}"
    lines: list[Line] = []
    if firing.reason:
        lines.append(Line("reason", firing.reason))
    lines += [Line("overridden", f"{f.code}: {f.message}") for f in firing.findings if f.overridden]
    lines += [*_mass(firing), *_rise(firing)]
    calibrating = firing.purpose is Purpose.CALIBRATION
    if not calibrating and firing.heat_capacity_J_per_K is not None:
        series = firing.series
        source = f"{series.source}, {series.date}, {series.state}" if series is not None else ""
        lines.append(Line("heat capacity", f"{firing.heat_capacity_J_per_K:.4f} J/K", source))
        if firing.corrected_rise_K is not None:
            heat = firing.heat_capacity_J_per_K * firing.corrected_rise_K
            lines.append(
                Line("heat found", f"{firing.heat_capacity_J_per_K:.4f} x {firing.corrected_rise_K:.4f} = {heat:.2f} J")
            )
    lines += [*_ignition(evaluation, firing), *_aid(evaluation, firing), *_acids(evaluation, firing)]
    lines += _calibration(evaluation, firing) if calibrating else _value(evaluation, firing)
    lines += _found_aid(evaluation, firing)
    if is_without_numbers(firing):
        lines += [Line(*said) for said in not_computed(evaluation, firing)]
    return Working(heading, tuple(lines))


def _cited(quantity: Quantity | None, unit: str = "") -> str:
    if quantity is None:
        return ""
    source = unstopped(quantity.source) or "no source given"
    text = quantity.text or f"{quantity.value:g} {unit or quantity.unit}"
    return f"{quantity.name}: {text}; {source}; {quantity.mark}"


def _mass(firing: FiringResult) -> list[Line]:
    row = firing.row
    if firing.mass_g is None:
        return []
    if row.mass_g is not None:
        return [Line("mass", f"{firing.mass_g:.4f} g, as typed")]
    weighed = f"{row.crucible_and_sample_g:.4f} - {row.crucible_g:.4f}"
    if row.capsule_mass_g and row.capsule_in_tare is YesNo.NO:
        weighed += f" - {row.capsule_mass_g:.4f}"
    return [Line("mass", f"{weighed} = {firing.mass_g:.4f} g")]


def _rise(firing: FiringResult) -> list[Line]:
    row, curve = firing.row, firing.curve
    if firing.rise_K is None:
        return []
    if curve is not None:
        start, end = curve.temperatures_C[curve.start], curve.temperatures_C[curve.end]
        text = f"{end:.4f} - {start:.4f} = {firing.rise_K:.4f} K, from the readings at "
        lines = [Line("rise", f"{text}{curve.times_min[curve.start]:g} and {curve.times_min[curve.end]:g} min")]
        lines.append(Line("  periods", PERIODS_FOUND if curve.firing_minute_found else "as the Period column says"))
        if curve.fore_rate or curve.after_rate:
            lines.append(
                Line(
                    f"  {curve.method}",
                    f"fore {curve.fore_rate:+.5f} K/min at {curve.fore_mean_C:.4f} °C, after {curve.after_rate:+.5f} "
                    f"K/min at {curve.after_mean_C:.4f} °C, k = {curve.cooling_constant_per_min:.5f} 1/min",
                )
            )
    elif row.rise_K is not None:
        lines = [Line("rise", f"{firing.rise_K:.4f} K, as typed")]
    else:
        lines = [Line("rise", f"{row.final_C:.4f} - {row.initial_C:.4f} = {firing.rise_K:.4f} K")]
    exchange = firing.heat_exchange_K or 0.0
    sign = "-" if exchange < 0 else "+"
    lines.append(
        Line("corrected rise", f"{firing.rise_K:.4f} {sign} {abs(exchange):.4f} = {firing.corrected_rise_K:.4f} K")
    )
    if curve is not None and curve.uncertainty_parts:
        parts = ", ".join(f"{part.name} {part.standard_K * 1e3:.2f}" for part in curve.uncertainty_parts)
        text = f"{curve.uncertainty_K * 1e3:.2f} mK standard, the root of the sum of squares of {parts} mK"
        lines.append(Line("  its uncertainty", text))
    return lines


def _ignition(evaluation: Evaluation, firing: FiringResult) -> list[Line]:
    settings, row = evaluation.settings, firing.row
    if firing.ignition_J is None:
        return []
    if settings.fixed_ignition_heat is not None:
        return [Line("ignition", f"{firing.ignition_J:.2f} J", _cited(settings.fixed_ignition_heat))]
    lines = []
    wire = settings.wire_heat
    if wire is not None and wire.per == "cm" and row.wire_fitted_cm is not None and row.wire_left_cm is not None:
        burnt = f"({row.wire_fitted_cm:g} - {row.wire_left_cm:g}) cm"
        lines.append(Line("wire", f"{burnt} x {wire.value:g} J/cm", _cited(wire)))
    elif wire is not None and row.wire_mass_g is not None:
        lines.append(Line("wire", f"{row.wire_mass_g:g} g x {wire.value:g} J/g", _cited(wire)))
    if row.thread_g and settings.thread_heat is not None:
        text = f"{row.thread_g:g} g x {settings.thread_heat.value:g} J/g"
        lines.append(Line("thread", text, _cited(settings.thread_heat)))
    return [*lines, Line("ignition", f"{firing.ignition_J:.2f} J")]


def _aid(evaluation: Evaluation, firing: FiringResult) -> list[Line]:
    settings, row = evaluation.settings, firing.row
    if not firing.aid_J:
        return []
    lines = []
    left_open = _left_open(firing, settings)
    for aid in row.aids:
        heat = settings.aid_heats.get(aid.key)
        if heat is not None and aid.mass_g and aid not in left_open:
            lines.append(Line(f"aid {aid.name}", f"{aid.mass_g:.4f} g x {heat.value:g} J/g", _cited(heat)))
    if row.capsule_mass_g and len(settings.capsule_heats) == 1:
        capsule = next(iter(settings.capsule_heats.values()))
        lines.append(Line("capsule", f"{row.capsule_mass_g:.4f} g x {capsule.value:g} J/g", _cited(capsule)))
    return lines if left_open else [*lines, Line("aids together", f"{firing.aid_J:.2f} J")]


def _left_open(firing: FiringResult, settings: Settings) -> list[Aid]:
    """Return the aids of an aid firing whose heat Setup does not give: its only aid, or those found from firings."""
    aids = [aid for aid in firing.row.aids if aid.mass_g]
    if firing.purpose is not Purpose.AID or len(aids) == 1:
        return aids if firing.purpose is Purpose.AID else []
    entered = {key for key, heat in settings.aid_heats.items() if heat.cell is not None}
    return [aid for aid in aids if aid.key not in entered]


def _found_aid(evaluation: Evaluation, firing: FiringResult) -> list[Line]:
    """Return how an aid firing finds the heat of its aid."""
    settings, row = evaluation.settings, firing.row
    capacity, rise, mass_g, aid_J = firing.heat_capacity_J_per_K, firing.corrected_rise_K, firing.mass_g, firing.aid_J
    left_open = _left_open(firing, settings)
    if capacity is None or rise is None or not mass_g or not aid_J or not left_open:
        return []
    benzoic = capacity * rise - (firing.ignition_J or 0.0) - (firing.nitric_J or 0.0) - aid_J
    side = f"{firing.ignition_J:.2f} - {firing.nitric_J:.2f} - {benzoic:.2f}"
    lines = [
        Line(
            "benzoic acid",
            f"{mass_g:.4f} g x {benzoic / mass_g:.4f} J/g = {benzoic:.2f} J",
            _cited(settings.benzoic_heat_in_air),
        ),
        Line("aids together", f"{capacity * rise:.2f} - {side} = {aid_J:.2f} J"),
    ]
    known = math.fsum(
        (aid.mass_g or 0.0) * settings.aid_heats[aid.key].value
        for aid in row.aids
        if aid.mass_g and aid not in left_open
    )
    if row.capsule_mass_g and len(settings.capsule_heats) == 1:
        known += row.capsule_mass_g * next(iter(settings.capsule_heats.values())).value
    for aid in left_open:
        if len(left_open) > 1:
            lines.append(Line(f"aid {aid.name}", f"{aid.mass_g:.4f} g, of which aid firings find the heat"))
        else:
            found = (aid_J - known) / (aid.mass_g or 1.0)
            text = f"({aid_J:.2f} - {known:.2f}) / {aid.mass_g:.4f} = {found:.2f} J/g, found in this firing"
            lines.append(Line(f"aid {aid.name}", text))
    return lines


def _acids(evaluation: Evaluation, firing: FiringResult) -> list[Line]:
    settings = evaluation.settings
    scheme = settings.acid_scheme
    if firing.nitric_J is None or firing.sulphuric_J is None or scheme is None:
        return []
    lines = [Line("acid scheme", scheme)]
    if scheme is AcidScheme.NONE:
        return [*lines, Line("acids", "no correction is made")]
    titration = firing.titration
    if firing.titre_mmol is not None and titration is not None:
        if scheme is AcidScheme.TWO_TITRATIONS:
            lines += _two_titrations(titration)
        else:
            text = f"{_titre(titration)} = {firing.titre_mmol:.4f} mmol"
            lines.append(Line("acid titrated", text, _standardised(titration)))
    lines.append(Line("nitric acid", f"{firing.nitric_J:.2f} J", _cited(settings.nitric_heat)))
    if firing.purpose is Purpose.SAMPLE:
        lines.append(_sulphuric(firing, scheme, settings))
    return lines


def _sulphuric(firing: FiringResult, scheme: AcidScheme, settings: Settings) -> Line:
    heat, nitric = settings.sulphuric_heat, settings.nitric_heat
    if heat is None or firing.sulphuric_J is None:
        return Line("sulphuric acid", "0.00 J")
    per_mol, words = heat.value, f"{heat.value / 1e3:g} kJ/mol"
    if scheme is AcidScheme.TOTAL_AS_NITRIC and nitric is not None:
        per_mol -= 2 * nitric.value
        words = f"({heat.value / 1e3:g} - 2 x {nitric.value / 1e3:g}) kJ/mol, the acid counted as nitric already"
    mmol = 1e3 * firing.sulphuric_J / per_mol
    text = f"{mmol:.4f} mmol of sulphur x {words} = {firing.sulphuric_J:.2f} J"
    return Line("sulphuric acid", text, _cited(heat))


def _two_titrations(titration: TitrationRow) -> list[Line]:
    """Return how the two titrations tell the acids apart: all acid by the baryta, nitric by the carbonate used up."""
    volumes = (titration.baryta_mL, titration.carbonate_mL, titration.acid_mL)
    strengths = (titration.baryta_eq_per_L, titration.carbonate_eq_per_L, titration.acid_eq_per_L)
    if None in volumes or None in strengths:
        return []
    blank = titration.blank_mL or 0.0
    baryta, carbonate, acid = (volume or 0.0 for volume in volumes)
    by_baryta, by_carbonate, by_acid = (strength or 0.0 for strength in strengths)
    in_all, nitric = (baryta - blank) * by_baryta, carbonate * by_carbonate - acid * by_acid
    scatter = ", less than the nitric acid by itself: no sulphuric acid is counted" if in_all < nitric else ""
    return [
        Line("acid titrated", f"({baryta:.2f} - {blank:.2f}) mL x {by_baryta:g} eq/L = {in_all:.4f} mmol{scatter}"),
        Line(
            "  of it nitric",
            f"{carbonate:.2f} mL carbonate x {by_carbonate:g} eq/L - {acid:.2f} mL acid x {by_acid:g} eq/L = "
            f"{nitric:.4f} mmol",
        ),
    ]


def _titre(titration: TitrationRow) -> str:
    if titration.titre_mL is not None:
        volume = f"{titration.titre_mL:.2f}"
    else:
        volume = f"{titration.burette_end_mL:.2f} - {titration.burette_start_mL:.2f}"
    equivalents = titration.titrant.equivalents_per_mole if titration.titrant is not None else 1
    twice = f" x {equivalents} eq/mol" if titration.concentration_unit == "mol/L" and equivalents != 1 else ""
    strength = f"{titration.concentration:g} {titration.concentration_unit}{twice}"
    return f"({volume} - {titration.blank_mL or 0.0:.2f}) mL x {strength}"


def _standardised(titration: TitrationRow) -> str:
    """Return which rows the strength was found from, or "" where it was typed beside the titre."""
    found = joined(rows(row.place for row in titration.portions))
    return f"strength found on {found}" if found else ""


def _calibration(evaluation: Evaluation, firing: FiringResult) -> list[Line]:
    heat = evaluation.settings.benzoic_heat_in_air
    if firing.heat_capacity_J_per_K is None or heat is None or firing.mass_g is None:
        return []
    benzoic = firing.mass_g * heat.value
    return [
        Line("benzoic acid", f"{firing.mass_g:.4f} g x {heat.value:.4f} J/g = {benzoic:.2f} J", _cited(heat)),
        Line(
            "heat capacity",
            f"({benzoic:.2f} + {firing.ignition_J:.2f} + {firing.aid_J:.2f} + {firing.nitric_J:.2f}) / "
            f"{firing.corrected_rise_K:.4f} = {firing.heat_capacity_J_per_K:.4f} J/K",
        ),
    ]


def _value(evaluation: Evaluation, firing: FiringResult) -> list[Line]:
    value = firing.gross_ad_J_per_g
    capacity, rise = firing.heat_capacity_J_per_K, firing.corrected_rise_K
    if value is None or capacity is None or rise is None:
        return []
    lines = [
        Line(
            "gross, as analysed",
            f"({capacity * rise:.2f} - {firing.ignition_J:.2f} - {firing.aid_J:.2f} - {firing.nitric_J:.2f} - "
            f"{firing.sulphuric_J:.2f}) / {firing.mass_g:.4f} = {value:.2f} J/g, at constant volume",
        )
    ]
    sample = next((s for s in evaluation.samples if s.sample == firing.row.sample), None)
    if firing.gross_d_J_per_g is not None and sample is not None and sample.row is not None:
        moisture = sample.row.moisture_analysis or 0.0
        lines.append(Line("gross, dry", f"{value:.2f} x 100 / (100 - {moisture:g}) = {firing.gross_d_J_per_g:.2f} J/g"))
    certified = evaluation.settings.benzoic_heat_in_air
    if firing.recovery_percent is not None and certified is not None:
        text = f"{value:.2f} / {certified.value:.2f} = {firing.recovery_percent:.3f} %"
        lines.append(Line("recovery", text, _cited(certified)))
    return lines


def explain_sample(evaluation: Evaluation, sample: SampleResult) -> Working:
    """Return the working of one sample, from its firings to its values."""
    lines = [Line("reason", sample.reason), Line("next", sample.next_step)]
    lines += [Line("overridden", f"{f.code}: {f.message}") for f in sample.findings if f.overridden]
    for firing in sample.firings:
        lines.append(Line(f"firing {firing.name}", _counted(firing, sample)))
    if sample.range_J_per_g is not None:
        limit = "no limit" if sample.limit_J_per_g is None else f"limit {sample.limit_J_per_g:.2f} J/g"
        basis = f" on the basis {sample.comparison_basis}" if sample.comparison_basis else ""
        text = f"{sample.range_J_per_g:.2f} J/g{basis}; rule {sample.rule}: {limit}"
        lines.append(Line("range", text, _cited(evaluation.settings.repeatability_limit)))
    lines += _bases(sample)
    over = f", {sample.released_over}" if sample.released_over else ""
    return Working(f"Sample {sample.sample}: {sample.decision}{over}", tuple(lines))


def _counted(firing: FiringResult, sample: SampleResult) -> str:
    value = firing.gross_d_J_per_g if sample.comparison_basis is Basis.DRY else firing.gross_ad_J_per_g
    shown = "no value" if value is None else f"{value:.2f} J/g"
    return f"{shown}, {firing.state}" + (f": {firing.reason}" if firing.reason else "")


def _bases(sample: SampleResult) -> Iterable[Line]:
    for basis, value in sample.gross_J_per_g.items():
        if value is not None:
            yield Line(f"gross, {BASIS_NAMES[basis]}", f"{value:.2f} J/g, {sample.statistic}, constant volume")
    for words, values in (
        ("constant pressure", sample.net.constant_pressure),
        ("constant volume", sample.net.constant_volume),
    ):
        for basis, value in values.items():
            if value is not None:
                yield Line(f"net, {BASIS_NAMES[basis]}", f"{value:.2f} J/g, {words}")
    for note in sample.net.notes:
        yield Line("net", note)
    yield from _uncertainty(sample)


def _uncertainty(sample: SampleResult) -> Iterable[Line]:
    """Yield the parts of the uncertainty as analysed with where each comes from, then the sum for every value."""
    budget = sample.uncertainty.get(Basis.AS_ANALYSED)
    if budget is not None:
        yield Line("uncertainty", "standard uncertainties of the value as analysed")
        yield from (Line(f"  {name}", figure, note) for name, figure, note in uncertainty.parts_in_words(budget))
    for value, entry in sample.uncertainty.items():
        yield Line(f"U, {VALUE_NAMES[value]}", uncertainty.sum_in_words(entry))
    left_out = uncertainty.not_included(sample.uncertainty)
    if left_out:
        yield Line("  not included", left_out)
    if sample.uncertainty_note:
        yield Line("uncertainty", f"not stated: {sample.uncertainty_note}")
