"""From a Batch to an Evaluation: pure, without files and without a clock."""

import datetime as dt
from collections.abc import Sequence

from msgspec.structs import replace

from batchcal.advice import CalibrationComparison, CheckPower
from batchcal.evaluate import (
    aids,
    bench,
    checks,
    combustion,
    consistency,
    contents,
    differences,
    equipment,
    in_force,
    joining,
    notes,
    plan,
    relevance,
    samples,
    series,
    slips,
    uncertainty,
)
from batchcal.evaluate.check_review import review_checks
from batchcal.evaluate.combustion import Rules
from batchcal.evaluate.firings import Firing, classify
from batchcal.evaluate.overrides import Overrides
from batchcal.evaluate.release import settings_in_force, with_release
from batchcal.evaluate.rules import rules_of
from batchcal.evaluate.series_review import review_series
from batchcal.evaluate.settings import read_settings
from batchcal.evaluate.slips import Day
from batchcal.findings import OUT_OF_USE, Finding, Severity, in_order
from batchcal.logged import Batch
from batchcal.model import Evaluation, SampleResult, Series, Settings, apparatus_name
from batchcal.terms import Basis, Purpose


def evaluate(batch: Batch, method: str | None = None) -> Evaluation:
    """Work out everything that follows from a workbook.

    ``method`` is the method's key given by command; UsageError where the workbook names another.
    """
    settings, found = read_settings(batch.setup, method)
    batch = relevance.weigh(batch, settings)
    batch, firings, more = _sort_out(batch, settings)
    found += more
    found += joining.join_titrations(batch, settings, firings)
    found += joining.join_readings(batch, settings, firings)
    rules, more = rules_of(batch, settings, firings, found)
    found += more

    calibrations = [firing for firing in firings if firing.purpose is Purpose.CALIBRATION]
    for firing in calibrations:
        if firing.computable:
            combustion.work_out_calibration(firing, rules)
    made_series, more = series.make_series(firings, settings, _today(settings, firings))
    found += more

    tests = [firing for firing in firings if firing.purpose in (Purpose.CHECK, Purpose.AID, Purpose.SAMPLE)]
    fuels = [firing for firing in tests if firing.purpose is not Purpose.AID]
    found += in_force.put_in_force(tests, made_series, settings.batch_date)
    found += equipment.hold(tests, batch)
    settings, more = aids.find_heats(firings, rules)
    rules = replace(rules, settings=settings)
    found += more
    grouped = samples.samples_of(firings)
    fired = {sample: members[0].row for sample, members in grouped.items()}
    known = contents.read_contents(batch, settings, fired, sulphur=combustion.needs_sulphur(settings))
    for firing in fuels:
        if firing.computable:
            _work_out(firing, rules, known)
    found += [finding for entry in known.values() for finding in entry.found]
    found += contents.unfired(batch, fired)
    found += joining.reading_modes(firings)
    found += in_force.beyond(fuels)
    found += checks.judge_checks(firings, settings)
    powers, comparisons, more = _second_look(firings, settings, made_series)
    found += more
    found += checks.safety(firings, settings, made_series)
    found += equipment.review(firings, batch)
    day = Day(batch, settings, firings, grouped, known, made_series)
    found += slips.find(day)
    found += _from_rows(firings, [*batch.findings, *found])

    overridden = Overrides(batch.amendments, settings, firings)
    found = overridden.lift_all(firings, list(known.values()), found)
    batch = replace(batch, findings=tuple(overridden.lift(finding) for finding in batch.findings))

    judged, more = _judge(replace(day, batch=batch), found, overridden)
    found += more
    resolution, more = notes.resolution_of(firings, settings)
    found += more
    found += notes.net_notes(judged)
    found += overridden.report()
    unsaid = {f for result in judged for f in result.unsaid} - {f for result in judged for f in result.findings}
    evaluation = Evaluation(
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
        settings_in_force=settings_in_force(settings),
    )
    return with_release(evaluation)


def _judge(day: Day, found: Sequence[Finding], overridden: Overrides) -> tuple[list[SampleResult], list[Finding]]:
    """Judge every sample, with what was found so far; returns the findings made as well."""
    batch, settings = day.batch, day.settings
    everywhere = [finding for finding in [*batch.findings, *found] if _touches_all(finding, batch)]
    lost = [f for firing in day.firings if "sample" in firing.row.unreadable for f in firing.found if f.severity.stops]
    budgets = uncertainty.Budgets(settings, bench.what_is_seen(day))
    about: dict[str, list[Finding]] = {}
    for finding in batch.findings:
        if finding.sample is not None and (finding.severity.stops or finding.overridden):
            about.setdefault(finding.sample, []).append(finding)
    judged, made = [], []
    for sample in day.grouped:
        known = [*about.get(sample, ()), *everywhere]
        result, more = samples.judge_sample(day, sample, known, lost=lost, lift=overridden.lift, budgets=budgets)
        judged.append(result)
        made += more
    return judged, made


def _out_of_use(firings: Sequence[Firing]) -> frozenset[str]:
    """Return the apparatus in which nothing may be fired until the responsible person has settled a caution."""
    return frozenset(
        apparatus_name(*firing.apparatus)
        for firing in firings
        for finding in firing.found
        if finding.code in OUT_OF_USE and finding.severity is Severity.SAFETY
    )


def _sort_out(batch: Batch, settings: Settings) -> tuple[Batch, list[Firing], list[Finding]]:
    """Return the batch without rows of means and rounded differences, its firings, and what was found on the way."""
    batch, found = slips.without_means(batch)
    batch, rounded = differences.without_rounded(batch, settings)
    firings, more = classify(batch, settings)
    return batch, firings, [*found, *rounded, *more, *slips.unfounded(firings, settings)]


def _today(settings: Settings, firings: Sequence[Firing]) -> dt.date | None:
    """Return the day as of which heat capacities are judged: the last firing that uses one."""
    dates = [f.date for f in firings if f.date is not None and f.purpose in (Purpose.CHECK, Purpose.SAMPLE)]
    return max(dates) if dates else settings.batch_date


def _second_look(
    firings: Sequence[Firing], settings: Settings, made: Sequence[Series]
) -> tuple[list[CheckPower], list[CalibrationComparison], list[Finding]]:
    """Look behind the heat capacities and the checks: what the checks can see, calibration against today."""
    found = review_series(firings, settings, made, _today(settings, firings))
    powers, of_checks = review_checks(firings, settings)
    comparisons, of_habits = consistency.compare(firings, settings, made)
    return powers, comparisons, [*found, *of_checks, *of_habits]


def _work_out(firing: Firing, rules: Rules, known: dict[str, contents.Contents]) -> None:
    if firing.purpose is Purpose.CHECK:
        if rules.benzoic_stops:
            firing.stop(*rules.benzoic_stops)
        else:
            combustion.work_out_fuel(firing, rules, 0.0)
        return
    entry = known[firing.row.sample]
    if entry.sulphur_ad is None and combustion.needs_sulphur(rules.settings):
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
    """Whether a finding concerns every sample: it stops or was overridden, and is on Setup or nowhere, by itself."""
    stops = finding.kind.effect is not None and (finding.severity.stops or finding.overridden)
    if not stops or finding.firing is not None or finding.sample is not None:
        return False
    if finding.kind.group == "Heat capacity":  # carried by the firings that use the heat capacity
        return False
    on_setup = finding.sheet == batch.tables["setup"].sheet or batch.setup_key(finding) is not None
    return finding.sheet is None or on_setup
