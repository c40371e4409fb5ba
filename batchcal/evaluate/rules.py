"""What holds for every firing of the day, and what Setup lacks for computing and judging."""

from collections.abc import Sequence

from batchcal import findings
from batchcal.evaluate import acids, charge
from batchcal.evaluate.combustion import Rules
from batchcal.evaluate.firings import Firing
from batchcal.findings import Finding
from batchcal.logged import Batch
from batchcal.model import Settings
from batchcal.terms import Purpose

_STOP_ITEMS = frozenset(
    {"acid_scheme", "nitric_heat", "sulphuric_heat", "wire_heat", "thread_heat", "fixed_ignition_heat", "calorie"}
)
_BENZOIC_ITEMS = frozenset({"benzoic_heat", "benzoic_mass_basis"})


def rules_of(
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
    return [
        (key, finding) for finding in found if finding.severity.stops and (key := batch.setup_key(finding)) is not None
    ]
