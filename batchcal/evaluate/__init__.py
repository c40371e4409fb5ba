"""From a Batch to an Evaluation: pure, without files and without a clock."""

import dataclasses
import datetime as dt
from collections.abc import Sequence

from batchcal import findings
from batchcal.advice import CalibrationComparison, CheckPower
from batchcal.evaluate import (
    acids,
    aids,
    charge,
    checks,
    combustion,
    consistency,
    contents,
    curves,
    plan,
    relevance,
    samples,
    series,
    slips,
    titrants,
    uncertainty,
)
from batchcal.evaluate.check_review import review_checks
from batchcal.evaluate.combustion import Rules
from batchcal.evaluate.firings import Firing, classify
from batchcal.evaluate.net import NO_GROSS
from batchcal.evaluate.overrides import Overrides
from batchcal.evaluate.series_review import review_series
from batchcal.evaluate.settings import read_settings
from batchcal.findings import OUT_OF_USE, Finding, Severity, in_order
from batchcal.formulas import bomb
from batchcal.logged import Batch
from batchcal.model import Evaluation, Resolution, SampleResult, Series, Settings, apparatus_name
from batchcal.terms import Basis, Purpose

_STOP_ITEMS = frozenset(
    {"acid_scheme", "nitric_heat", "sulphuric_heat", "wire_heat", "thread_heat", "fixed_ignition_heat", "calorie"}
)
_BENZOIC_ITEMS = frozenset({"benzoic_heat", "benzoic_mass_basis"})


def evaluate(batch: Batch, method: str | None = None) -> Evaluation:
    """Work out everything that follows from a workbook.

    ``method`` is the method's key given by command; UsageError where the workbook names another.
    """
    settings, found = read_settings(batch.setup, method)
    batch = relevance.weigh(batch, settings)
    batch, firings, more = _sort_out(batch, settings)
    found += more
    found += _join_titrations(batch, settings, firings)
    found += _join_readings(batch, settings, firings)
    rules, more = _rules(batch, settings, firings, found)
    found += more

    calibrations = [firing for firing in firings if firing.purpose is Purpose.CALIBRATION]
    for firing in calibrations:
        if firing.computable:
            combustion.work_out_calibration(firing, rules)
    calibration = batch.tables["calibration"].sheet if batch.has("calibration") else None
    made_series, more = series.make_series(firings, settings, _today(settings, firings), calibration)
    found += more

    tests = [firing for firing in firings if firing.purpose in (Purpose.CHECK, Purpose.AID, Purpose.SAMPLE)]
    fuels = [firing for firing in tests if firing.purpose is not Purpose.AID]
    found += series.put_in_force(tests, made_series, calibration)
    settings, more = aids.find_heats(firings, rules)
    rules = dataclasses.replace(rules, settings=settings)
    found += more
    grouped = samples.samples_of(firings)
    fired = {sample: members[0].row for sample, members in grouped.items()}
    known = contents.read_contents(batch, settings, fired, sulphur=combustion.needs_sulphur(settings))
    for firing in fuels:
        if firing.computable:
            _work_out(firing, rules, known)
    found += [finding for entry in known.values() for finding in entry.found]
    found += contents.unfired(batch, fired)
    found += _reading_modes(firings)
    found += series.beyond(fuels)
    found += checks.judge_checks(firings, settings)
    powers, comparisons, more = _second_look(firings, settings, made_series)
    found += more
    found += checks.safety(firings, settings, made_series)
    found += slips.find(slips.Day(batch, settings, firings, grouped, known, made_series))
    found += _from_rows(firings, [*batch.findings, *found])

    overridden = Overrides(batch.amendments, settings, firings)
    found = overridden.lift_all(firings, list(known.values()), found)
    batch = dataclasses.replace(batch, findings=tuple(overridden.lift(finding) for finding in batch.findings))

    everywhere = [finding for finding in [*batch.findings, *found] if _touches_all(finding, batch)]
    finest = _finest_decimals(firings)
    judged = []
    for sample, members in grouped.items():
        about = [finding for finding in batch.findings if finding.sample == sample and finding.severity.stops]
        result, more = samples.judge_sample(known[sample], members, settings, [*about, *everywhere], overridden.lift)
        spread = uncertainty.sample_uncertainty(result, known[sample], settings, finest)
        note = uncertainty.not_stated(result)
        judged.append(dataclasses.replace(result, uncertainty=spread, uncertainty_note=note))
        found += more
    resolution, more = _resolution(firings, settings)
    found += more
    found += _net_notes(judged)
    found += overridden.report()
    unsaid = {f for result in judged for f in result.unsaid} - {f for result in judged for f in result.findings}
    return Evaluation(
        batch=batch,
        settings=settings,
        series=tuple(made_series),
        firings=samples.results_in_order(firings, judged),
        samples=tuple(judged),
        findings=in_order([f for f in dict.fromkeys([*batch.findings, *found]) if f not in unsaid]),
        resolution=resolution,
        check_powers=tuple(powers),
        comparisons=tuple(comparisons),
        plan=plan.plan(judged, known, settings, _out_of_use(firings)),
    )


def _out_of_use(firings: Sequence[Firing]) -> frozenset[str]:
    """Return the apparatus in which nothing may be fired until the responsible person has settled a caution."""
    return frozenset(
        apparatus_name(*firing.apparatus)
        for firing in firings
        for finding in firing.found
        if finding.code in OUT_OF_USE and finding.severity is Severity.SAFETY
    )


def _sort_out(batch: Batch, settings: Settings) -> tuple[Batch, list[Firing], list[Finding]]:
    """Return the batch without rows of means, its firings with what each row is, and what was found on the way."""
    batch, found = slips.without_means(batch)
    firings, more = classify(batch, settings)
    return batch, firings, [*found, *more, *slips.unfounded(firings, settings)]


def _today(settings: Settings, firings: Sequence[Firing]) -> dt.date | None:
    """Return the day as of which heat capacities are judged: the last firing that uses one."""
    dates = [f.date for f in firings if f.date is not None and f.purpose in (Purpose.CHECK, Purpose.SAMPLE)]
    return max(dates) if dates else settings.batch_date


def _join_titrations(batch: Batch, settings: Settings, firings: Sequence[Firing]) -> list[Finding]:
    joined, found = acids.join(batch.titrations, {firing.row.firing for firing in firings})
    if not combustion.needs_titre(settings):
        return [*found, *acids.unused(joined, settings)]
    by_cell = [finding for finding in batch.findings if finding.severity.stops]
    made, more = titrants.standardisations(batch, settings)
    found += more
    twice = {finding.firing: finding for finding in found if finding.code == "titration-twice"}
    for firing in firings:
        if not firing.computable:
            continue
        firing.titration = joined.get(firing.row.firing)
        if firing.row.firing in twice:
            firing.stop(twice[firing.row.firing])
        elif firing.titration is not None and firing.titration.unreadable:
            place = firing.titration.place
            firing.stop(
                *(f for f in by_cell if f.sheet == place.sheet and f.row in (place.row, place.table.heading_row))
            )
        elif firing.titration is not None:
            firing.titration, more = titrants.with_strength(firing.titration, firing.date, made, settings)
            firing.attach(more)
            found += more
    return [*found, *titrants.compare_typed(firings, made)]


def _join_readings(batch: Batch, settings: Settings, firings: Sequence[Firing]) -> list[Finding]:
    """Work out the curve of every firing with time readings; returns the findings that name no firing."""
    grouped = curves.by_firing(batch.readings)
    stops = [finding for finding in batch.findings if finding.severity.stops]
    for firing in firings:
        readings = grouped.pop(firing.row.firing, None)
        if readings is None or not firing.computable:
            continue
        if any(reading.unreadable for reading in readings):
            rows = {reading.place.row for reading in readings} | {readings[0].place.table.heading_row}
            sheet = readings[0].place.sheet
            firing.stop(*(f for f in stops if f.sheet == sheet and f.row in rows and f.firing == firing.row.firing))
            continue
        worked = curves.work_out(firing.row, readings, settings)
        firing.curve = worked.curve
        firing.attach(worked.findings)
        if any(finding.severity.stops for finding in worked.findings):
            firing.stop(*(finding for finding in worked.findings if finding.severity.stops))
    return [rows[0].place.finding("readings-without-firing", "firing", firing=name) for name, rows in grouped.items()]


def _reading_modes(firings: Sequence[Firing]) -> list[Finding]:
    """Return a finding for each firing that was read otherwise than the series of its heat capacity."""
    with_curve = {firing.row.firing for firing in firings if firing.curve is not None}
    words = {True: "against time", False: "without times"}
    found = []
    for firing in firings:
        if firing.series is None or not firing.series.firings or not firing.counts:
            continue
        modes = {name in with_curve for name in firing.series.firings}
        own = firing.curve is not None
        if own not in modes:
            finding = firing.row.place.finding(
                "reading-mode-differs", "rise_K", firing=firing.row.firing, sample=firing.row.sample,
                mode=words[own], other=words[not own],
            )  # fmt: skip
            firing.attach([finding])
            found.append(finding)
    return found


def _second_look(
    firings: Sequence[Firing], settings: Settings, made: Sequence[Series]
) -> tuple[list[CheckPower], list[CalibrationComparison], list[Finding]]:
    """Look behind the heat capacities and the checks: what the checks can see, calibration against today."""
    found = review_series(firings, settings, made, _today(settings, firings))
    powers, of_checks = review_checks(firings, settings)
    comparisons, of_habits = consistency.compare(firings, settings, made)
    return powers, comparisons, [*found, *of_checks, *of_habits]


def _rules(
    batch: Batch, settings: Settings, firings: Sequence[Firing], found: Sequence[Finding]
) -> tuple[Rules, list[Finding]]:
    """Return what Setup lacks for computing, and the findings that are new."""
    purposes = {firing.purpose for firing in firings if firing.computable}
    made = acids.scheme_ready(settings, with_sulphur=Purpose.SAMPLE in purposes)
    if settings.fixed_ignition_heat is not None:
        both = [name for name, key in (("wire", "wire_heat"), ("thread", "thread_heat")) if key in settings.entries]
        if both:
            made.append(findings.make("ignition-given-twice", other=" and ".join(both)))
        elif amounts := sum(charge.has_ignition_amounts(firing.row) for firing in firings):
            made.append(findings.make("ignition-amounts-unused", count=amounts))
    about = _setup_findings(batch, [*batch.findings, *found])
    stops = [finding for key, finding in about if key in _STOP_ITEMS] + [f for f in made if f.severity.stops]
    benzoic = [finding for key, finding in about if key in _BENZOIC_ITEMS]
    if purposes & {Purpose.CALIBRATION, Purpose.CHECK}:
        missing = [
            word
            for word, key in (("heat of combustion", "benzoic_heat"), ("mass basis", "benzoic_mass_basis"))
            if key not in settings.entries
        ]
        if missing:
            made.append(findings.make("benzoic-heat-missing", what=" and the ".join(missing)))
            benzoic.append(made[-1])
    if Purpose.SAMPLE in purposes:
        made += _for_samples(settings)
    return Rules(settings, tuple(stops), tuple(benzoic)), made


def _for_samples(settings: Settings) -> list[Finding]:
    made = []
    limit, basis = settings.repeatability_limit, settings.comparison_basis
    if limit is None and "repeatability_limit" not in settings.entries:
        made.append(findings.make("repeatability-limit-missing"))
    if basis is None and "comparison_basis" not in settings.entries:
        made.append(findings.make("comparison-basis-missing"))
    if limit is not None and limit.basis is not None and basis is not None and limit.basis is not basis:
        made.append(findings.make("limit-basis-differs", method=settings.method, limit_basis=limit.basis, basis=basis))
    return made


def _setup_findings(batch: Batch, found: Sequence[Finding]) -> list[tuple[str, Finding]]:
    """Return the findings that stand on rows of Setup and stop something, each with its item's key."""
    keys = {(entry.place.sheet, entry.place.row): entry.key for entry in batch.setup}
    return [
        (keys[finding.sheet, finding.row], finding)
        for finding in found
        if finding.severity.stops
        and finding.sheet is not None
        and finding.row is not None
        and (finding.sheet, finding.row) in keys
    ]


def _work_out(firing: Firing, rules: Rules, known: dict[str, contents.Contents]) -> None:
    if firing.purpose is Purpose.CHECK:
        if rules.benzoic_stops:
            firing.stop(*rules.benzoic_stops)
        else:
            combustion.work_out_fuel(firing, rules, 0.0)
        return
    entry = known[firing.row.sample]
    if combustion.needs_sulphur(rules.settings) and entry.sulphur_ad is None:
        firing.stop(*(finding for finding in entry.found if finding.severity.stops))
        return
    combustion.work_out_fuel(firing, rules, entry.sulphur_ad)
    if firing.gross_ad_J_per_g is not None and entry.moisture_analysis is not None:
        firing.gross_d_J_per_g = entry.value_on(Basis.DRY, firing.gross_ad_J_per_g)


def _from_rows(firings: Sequence[Firing], known: Sequence[Finding]) -> list[Finding]:
    """Return the findings made while working out the rows, which stand on their firings only."""
    seen = set(known)
    return [finding for firing in firings for finding in firing.found if finding not in seen]


def _touches_all(finding: Finding, batch: Batch) -> bool:
    """Whether a finding concerns every sample: it stops, stands on Setup or nowhere, and names no firing or sample."""
    if finding.effect is None or finding.firing is not None or finding.sample is not None:
        return False
    if finding.kind.group == "Heat capacity":  # carried by the firings that use the heat capacity
        return False
    return finding.sheet is None or finding.sheet == batch.tables["setup"].sheet


def _net_notes(judged: Sequence[SampleResult]) -> list[Finding]:
    """Return what the net values rest on, and one note for each reason why samples have none."""
    without: dict[str, list[str]] = {}
    found = []
    for sample in judged:
        if sample.net.notes == (NO_GROSS,):
            continue
        if not sample.net.known:
            without.setdefault("; ".join(sample.net.notes), []).append(sample.sample)
        elif sample.net.notes:
            found.append(findings.make("net-rests-on", sample=sample.sample, notes="; ".join(sample.net.notes)))
    for why, names in without.items():
        found.append(findings.make("net-not-computed", samples=", ".join(names), why=why))
    return found


def _finest_decimals(firings: Sequence[Firing]) -> int | None:
    """Return the decimals to which the day's rises of samples are typed, None where none are."""
    used = [f for f in firings if f.purpose is Purpose.SAMPLE and f.counts]
    return max((f.row.rise_decimals for f in used if f.row.rise_decimals is not None), default=None)


def _resolution(firings: Sequence[Firing], settings: Settings) -> tuple[Resolution | None, list[Finding]]:
    """Return what one step of the temperature reading is worth on the day's samples."""
    used = [f for f in firings if f.purpose is Purpose.SAMPLE and f.counts and f.mass_g and f.heat_capacity_J_per_K]
    places = [firing.row.rise_decimals for firing in used if firing.row.rise_decimals is not None]
    given = settings.reading_resolution
    if not used or (given is None and not places):
        return None, []
    step = given.value if given is not None else 10.0 ** -max(places)
    mass = sum(firing.mass_g or 0.0 for firing in used) / len(used)
    capacity = sum(firing.heat_capacity_J_per_K or 0.0 for firing in used) / len(used)
    worth = bomb.reading_step_worth(step_K=step, heat_capacity_J_per_K=capacity, mass_g=mass)
    resolution = Resolution(step, given is not None, worth, capacity, mass)
    limit = settings.repeatability_limit
    if limit is None or worth <= limit.value / 10:
        return resolution, []
    return resolution, [
        findings.make(
            "resolution-worth",
            step=f"{step:g}",
            worth=f"{worth:.0f}",
            capacity=f"{capacity:.0f}",
            mass=f"{mass:.2f}",
            limit=f"{limit.value:g}",
        )
    ]
