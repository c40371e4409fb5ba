"""One firing or sample worked through line by line, in the order of a pocket calculator.

Every line shows the figures that went in, as they stand in the sheet, and the result of that step; every constant
is named with its value, unit, source and mark. Nothing is computed here that was not computed before: the results
of the steps are those of the evaluation, and a step's right-hand side can be checked against its left.
"""

from collections.abc import Iterable

from batchcal.logged import TitrationRow
from batchcal.model import Evaluation, FiringResult, Quantity, SampleResult, Settings
from batchcal.terms import BASIS_NAMES, AcidScheme, Basis, Purpose

_WIDTH = 22


def explain(evaluation: Evaluation, name: str) -> list[str] | None:
    """Return the working of the firing or sample of that number, or None where there is none.

    Where a firing and a sample have the same number both are explained.
    """
    lines: list[str] = []
    for firing in evaluation.firings:
        if firing.row.firing == name:
            lines += [*explain_firing(evaluation, firing), ""]
    for sample in evaluation.samples:
        if sample.sample == name:
            lines += [*explain_sample(evaluation, sample), ""]
    return lines[:-1] or None


def explain_firing(evaluation: Evaluation, firing: FiringResult) -> list[str]:
    """Return the working of one firing."""
    row = firing.row
    place = row.place
    what = f"{firing.purpose or 'purpose unknown'}" + (f", sample {row.sample}" if row.sample else "")
    replicate = f", replicate {row.replicate}" if row.replicate else ""
    lines = [f"Firing {firing.name} ({place.sheet} row {place.row}): {what}{replicate}, {firing.state}"]
    if firing.reason:
        lines.append(_line("reason", firing.reason))
    lines += [*_mass(firing), *_rise(firing)]
    calibrating = firing.purpose is Purpose.CALIBRATION
    if not calibrating and firing.heat_capacity_J_per_K is not None:
        series = firing.series
        source = f"  [{series.source}, {series.date}, {series.state}]" if series is not None else ""
        lines.append(_line("heat capacity", f"{firing.heat_capacity_J_per_K:.4f} J/K{source}"))
        if firing.corrected_rise_K is not None:
            heat = firing.heat_capacity_J_per_K * firing.corrected_rise_K
            lines.append(
                _line(
                    "heat found", f"{firing.heat_capacity_J_per_K:.4f} x {firing.corrected_rise_K:.4f} = {heat:.2f} J"
                )
            )
    lines += [*_ignition(evaluation, firing), *_aid(evaluation, firing), *_acids(evaluation, firing)]
    lines += _calibration(evaluation, firing) if calibrating else _value(evaluation, firing)
    return lines


def _line(label: str, text: str) -> str:
    return f"  {label:<{_WIDTH}}{text}"


def _cited(quantity: Quantity | None, unit: str = "") -> str:
    if quantity is None:
        return ""
    source = quantity.source or "no source given"
    text = quantity.text or f"{quantity.value:g} {unit or quantity.unit}"
    return f"  [{quantity.name}: {text}; {source}; {quantity.mark}]"


def _mass(firing: FiringResult) -> list[str]:
    row = firing.row
    if firing.mass_g is None:
        return []
    if row.mass_g is not None:
        return [_line("mass", f"{firing.mass_g:.4f} g, as typed")]
    return [_line("mass", f"{row.crucible_and_sample_g:.4f} - {row.crucible_g:.4f} = {firing.mass_g:.4f} g")]


def _rise(firing: FiringResult) -> list[str]:
    row, curve = firing.row, firing.curve
    if firing.rise_K is None:
        return []
    if curve is not None:
        start, end = curve.temperatures_C[curve.start], curve.temperatures_C[curve.end]
        text = f"{end:.4f} - {start:.4f} = {firing.rise_K:.4f} K, from the readings at "
        lines = [_line("rise", f"{text}{curve.times_min[curve.start]:g} and {curve.times_min[curve.end]:g} min")]
        if curve.fore_rate or curve.after_rate:
            lines.append(
                _line(
                    f"  {curve.method}",
                    f"fore {curve.fore_rate:+.5f} K/min at {curve.fore_mean_C:.4f} °C, after {curve.after_rate:+.5f} "
                    f"K/min at {curve.after_mean_C:.4f} °C, k = {curve.cooling_constant_per_min:.5f} 1/min",
                )
            )
    elif row.rise_K is not None:
        lines = [_line("rise", f"{firing.rise_K:.4f} K, as typed")]
    else:
        lines = [_line("rise", f"{row.final_C:.4f} - {row.initial_C:.4f} = {firing.rise_K:.4f} K")]
    exchange = firing.heat_exchange_K or 0.0
    lines.append(_line("corrected rise", f"{firing.rise_K:.4f} + {exchange:.4f} = {firing.corrected_rise_K:.4f} K"))
    return lines


def _ignition(evaluation: Evaluation, firing: FiringResult) -> list[str]:
    settings, row = evaluation.settings, firing.row
    if firing.ignition_J is None:
        return []
    if settings.fixed_ignition_heat is not None:
        return [_line("ignition", f"{firing.ignition_J:.2f} J{_cited(settings.fixed_ignition_heat)}")]
    lines = []
    wire = settings.wire_heat
    if wire is not None and wire.per == "cm" and row.wire_fitted_cm is not None and row.wire_left_cm is not None:
        burnt = f"({row.wire_fitted_cm:g} - {row.wire_left_cm:g}) cm"
        lines.append(_line("wire", f"{burnt} x {wire.value:g} J/cm{_cited(wire)}"))
    elif wire is not None and row.wire_mass_g is not None:
        lines.append(_line("wire", f"{row.wire_mass_g:g} g x {wire.value:g} J/g{_cited(wire)}"))
    if row.thread_g and settings.thread_heat is not None:
        text = f"{row.thread_g:g} g x {settings.thread_heat.value:g} J/g{_cited(settings.thread_heat)}"
        lines.append(_line("thread", text))
    return [*lines, _line("ignition", f"{firing.ignition_J:.2f} J")]


def _aid(evaluation: Evaluation, firing: FiringResult) -> list[str]:
    settings, row = evaluation.settings, firing.row
    if not firing.aid_J:
        return []
    lines = []
    heat = settings.aid_heats.get(row.aid.casefold())
    if heat is not None and row.aid_mass_g and firing.purpose is not Purpose.AID:
        lines.append(_line(f"aid {row.aid}", f"{row.aid_mass_g:.4f} g x {heat.value:g} J/g{_cited(heat)}"))
    if row.capsule_mass_g and len(settings.capsule_heats) == 1:
        capsule = next(iter(settings.capsule_heats.values()))
        lines.append(_line("capsule", f"{row.capsule_mass_g:.4f} g x {capsule.value:g} J/g{_cited(capsule)}"))
    return [*lines, _line("aids together", f"{firing.aid_J:.2f} J")]


def _acids(evaluation: Evaluation, firing: FiringResult) -> list[str]:
    settings = evaluation.settings
    scheme = settings.acid_scheme
    if firing.nitric_J is None or firing.sulphuric_J is None or scheme is None:
        return []
    lines = [_line("acid scheme", scheme)]
    if scheme is AcidScheme.NONE:
        return [*lines, _line("acids", "no correction is made")]
    titration = next((t for t in evaluation.batch.titrations if t.firing == firing.row.firing), None)
    if firing.titre_mmol is not None and titration is not None:
        lines.append(_line("acid titrated", f"{_titre(titration, scheme)} = {firing.titre_mmol:.4f} mmol"))
    lines.append(_line("nitric acid", f"{firing.nitric_J:.2f} J{_cited(settings.nitric_heat)}"))
    if firing.purpose is Purpose.SAMPLE:
        lines.append(_line("sulphuric acid", _sulphuric(firing, scheme, settings)))
    return lines


def _sulphuric(firing: FiringResult, scheme: AcidScheme, settings: Settings) -> str:
    heat, nitric = settings.sulphuric_heat, settings.nitric_heat
    if heat is None or firing.sulphuric_J is None:
        return "0.00 J"
    per_mol, words = heat.value, f"{heat.value / 1e3:g} kJ/mol"
    if scheme is AcidScheme.TOTAL_AS_NITRIC and nitric is not None:
        per_mol -= 2 * nitric.value
        words = f"({heat.value / 1e3:g} - 2 x {nitric.value / 1e3:g}) kJ/mol, the acid counted as nitric already"
    mmol = 1e3 * firing.sulphuric_J / per_mol
    return f"{mmol:.4f} mmol of sulphur x {words} = {firing.sulphuric_J:.2f} J{_cited(heat)}"


def _titre(titration: TitrationRow, scheme: AcidScheme) -> str:
    if scheme is AcidScheme.TWO_TITRATIONS:
        return (
            f"baryta {titration.baryta_mL:g} mL x {titration.baryta_eq_per_L:g} eq/L; carbonate "
            f"{titration.carbonate_mL:g} mL x {titration.carbonate_eq_per_L:g} eq/L less acid {titration.acid_mL:g} mL "
            f"x {titration.acid_eq_per_L:g} eq/L is nitric; in all"
        )
    if titration.titre_mL is not None:
        volume = f"{titration.titre_mL:.2f}"
    else:
        volume = f"{titration.burette_end_mL:.2f} - {titration.burette_start_mL:.2f}"
    equivalents = titration.titrant.equivalents_per_mole if titration.titrant is not None else 1
    twice = f" x {equivalents} eq/mol" if titration.concentration_unit == "mol/L" and equivalents != 1 else ""
    strength = f"{titration.concentration:g} {titration.concentration_unit}{twice}"
    return f"({volume} - {titration.blank_mL or 0.0:.2f}) mL x {strength}"


def _calibration(evaluation: Evaluation, firing: FiringResult) -> list[str]:
    heat = evaluation.settings.benzoic_heat_in_air
    if firing.heat_capacity_J_per_K is None or heat is None or firing.mass_g is None:
        return []
    benzoic = firing.mass_g * heat.value
    return [
        _line("benzoic acid", f"{firing.mass_g:.4f} g x {heat.value:.4f} J/g = {benzoic:.2f} J{_cited(heat)}"),
        _line(
            "heat capacity",
            f"({benzoic:.2f} + {firing.ignition_J:.2f} + {firing.aid_J:.2f} + {firing.nitric_J:.2f}) / "
            f"{firing.corrected_rise_K:.4f} = {firing.heat_capacity_J_per_K:.4f} J/K",
        ),
    ]


def _value(evaluation: Evaluation, firing: FiringResult) -> list[str]:
    value = firing.gross_ad_J_per_g
    capacity, rise = firing.heat_capacity_J_per_K, firing.corrected_rise_K
    if value is None or capacity is None or rise is None:
        return []
    lines = [
        _line(
            "gross, as analysed",
            f"({capacity * rise:.2f} - {firing.ignition_J:.2f} - {firing.aid_J:.2f} - {firing.nitric_J:.2f} - "
            f"{firing.sulphuric_J:.2f}) / {firing.mass_g:.4f} = {value:.2f} J/g, at constant volume",
        )
    ]
    sample = next((s for s in evaluation.samples if s.sample == firing.row.sample), None)
    if firing.gross_d_J_per_g is not None and sample is not None and sample.row is not None:
        moisture = sample.row.moisture_analysis or 0.0
        lines.append(
            _line("gross, dry", f"{value:.2f} x 100 / (100 - {moisture:g}) = {firing.gross_d_J_per_g:.2f} J/g")
        )
    certified = evaluation.settings.benzoic_heat_in_air
    if firing.recovery_percent is not None and certified is not None:
        text = f"{value:.2f} / {certified.value:.2f} = {firing.recovery_percent:.3f} %{_cited(certified)}"
        lines.append(_line("recovery", text))
    return lines


def explain_sample(evaluation: Evaluation, sample: SampleResult) -> list[str]:
    """Return the working of one sample, from its firings to its values."""
    lines = [
        f"Sample {sample.sample}: {sample.decision}",
        _line("reason", sample.reason),
        _line("next", sample.next_step),
    ]
    for firing in sample.firings:
        lines.append(_line(f"firing {firing.name}", _counted(firing, sample)))
    if sample.range_J_per_g is not None:
        limit = "no limit" if sample.limit_J_per_g is None else f"limit {sample.limit_J_per_g:.2f} J/g"
        basis = f" on the basis {sample.comparison_basis}" if sample.comparison_basis else ""
        limit += _cited(evaluation.settings.repeatability_limit)
        lines.append(_line("range", f"{sample.range_J_per_g:.2f} J/g{basis}; rule {sample.rule}: {limit}"))
    lines += _bases(sample)
    return lines


def _counted(firing: FiringResult, sample: SampleResult) -> str:
    value = firing.gross_d_J_per_g if sample.comparison_basis is Basis.DRY else firing.gross_ad_J_per_g
    shown = "no value" if value is None else f"{value:.2f} J/g"
    return f"{shown}, {firing.state}" + (f": {firing.reason}" if firing.reason else "")


def _bases(sample: SampleResult) -> Iterable[str]:
    for basis, value in sample.gross_J_per_g.items():
        if value is not None:
            uncertainty = sample.uncertainty.get(basis)
            spread = "" if uncertainty is None else (
                f", expanded uncertainty {uncertainty.expanded_J_per_g:.0f} J/g (k = {uncertainty.coverage_factor:g})"
            )  # fmt: skip
            yield _line(f"gross, {BASIS_NAMES[basis]}", f"{value:.2f} J/g, {sample.statistic}, constant volume{spread}")
    for words, values in (
        ("constant pressure", sample.net.constant_pressure),
        ("constant volume", sample.net.constant_volume),
    ):
        for basis, value in values.items():
            if value is not None:
                yield _line(f"net, {BASIS_NAMES[basis]}", f"{value:.2f} J/g, {words}")
    for note in sample.net.notes:
        yield _line("net", note)
