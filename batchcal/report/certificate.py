"""The certificate for the customer: what it says, as text, and the page that is rendered from it."""

import datetime as dt
import hashlib
import json
from collections.abc import Iterator

from msgspec import Struct, to_builtins
from msgspec.structs import replace

import batchcal
from batchcal.model import Evaluation, FiringResult, NetValues, SampleResult, Settings
from batchcal.release import Issue, ReleaseState
from batchcal.report.certificate_reasons import carried, reasons
from batchcal.report.environment import environment
from batchcal.report.notation import in_notation
from batchcal.report.view import Printed
from batchcal.report.words import NONE, aligned, counted, date, fixed, joined, plain, sentence, unstopped
from batchcal.terms import BASIS_NAMES, NET_BASES, NET_PREFIX, AcidScheme, Basis

_ACIDS = {
    AcidScheme.TOTAL_AS_NITRIC: "the washings were titrated, all acid was counted as nitric, and sulphuric acid was "
    "corrected by the sulphur content",
    AcidScheme.SULPHUR_APART: "the washings were titrated; sulphuric acid by the sulphur content, the rest of the acid "
    "as nitric",
    AcidScheme.TWO_TITRATIONS: "nitric and sulphuric acid were each found by titration of the washings",
    AcidScheme.PROPORTION: "nitric acid as a fixed proportion of the bomb value, sulphuric acid by the sulphur content",
    AcidScheme.FIXED: "nitric acid as a fixed heat per firing, sulphuric acid by the sulphur content",
    AcidScheme.NONE: "no correction was made for nitric and sulphuric acid",
}

_GROSS = "Gross calorific value"

_LIMITS = (
    "The results relate only to the items tested, in the state in which they were received.",
    "The uncertainty covers the laboratory's work on the portions tested; sampling is not included.",
    "A calorific value says nothing of the safety of storing, handling or burning the fuel.",
    "This certificate is to be copied only whole, unless the laboratory agrees in writing.",
)
"""Limits of use. That results relate only to the items tested, and copying only in full: common practice of the
general requirements for testing laboratories (ISO/IEC 17025, 7.8.2); from memory, unchecked."""


class Result(Struct, frozen=True):
    """One value of a sample with all that qualifies it."""

    quantity: str
    held: str
    """What was held constant: volume or pressure."""
    basis: str
    reference: str
    value: str
    uncertainty: str


class CertifiedSample(Struct, frozen=True):
    """One sample on the certificate."""

    sample: str
    facts: tuple[tuple[str, str], ...]
    results: tuple[Result, ...]
    notes: tuple[str, ...]


class Certificate(Struct, frozen=True):
    """The whole certificate as text."""

    number: str
    issue: int
    laboratory: str
    address: str
    facts: tuple[tuple[str, str], ...]
    amendment: tuple[str, ...]
    unit: str
    samples: tuple[CertifiedSample, ...]
    statements: tuple[tuple[str, str], ...]
    limits: tuple[str, ...]
    authorised: str
    record: tuple[tuple[str, str], ...]

    @property
    def content_sha256(self) -> str:
        """SHA-256 of what the certificate says, but for the record of the files that it was made from."""
        content = to_builtins(replace(self, record=()), enc_hook=str)
        return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()


def certificate(evaluation: Evaluation, printed: Printed, method_title: str) -> tuple[Certificate | None, list[str]]:
    """Return the certificate, or None and why there is none: what is missing, and where it is to be entered."""
    issue, missing = evaluation.release.issued, reasons(evaluation)
    if issue is None or missing:
        return None, missing
    made = _certificate(evaluation, issue, printed, method_title)
    if issue.certificate and issue.certificate != made.content_sha256:
        return None, [
            f"a certificate of issue {issue.number} was written before and said something else: sign a new issue with "
            "the reason on Amendments (Finding: release)"
        ]
    return made, []


def certificate_page(made: Certificate, evaluation: Evaluation) -> str:
    """Return the certificate as HTML, with the decimal mark of the lab; the same arguments give the same text.

    The mark is no part of what a certificate says: another mark is not another certificate.
    """
    footer = _css_text(f"Certificate {made.number}, issue {made.issue}")
    page = in_notation(made, evaluation, (), *(text for name, text in made.facts if name == "Method"))
    return environment().get_template("certificate.html.j2").render(page=page, footer=footer)


def _css_text(text: str) -> str:
    """Return ``text`` for a string of CSS: whatever is no plain letter or digit by its number."""
    return "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):06x}" for c in text)


def _certificate(evaluation: Evaluation, issue: Issue, printed: Printed, method_title: str) -> Certificate:
    settings = evaluation.settings
    samples = carried(evaluation)
    edition = f"{method_title} ({settings.method}), edition {settings.method_edition}"
    return Certificate(
        number=settings.certificate_number,
        issue=issue.number,
        laboratory=settings.laboratory,
        address=settings.laboratory_address,
        facts=(
            ("Customer", settings.customer),
            ("Method", edition),
            ("Deviations", settings.method_deviations),
            ("Issued", date(max(signature.date for signature in issue.signatures))),
        ),
        amendment=_amendment(issue, samples, settings, printed),
        unit=settings.report_unit,
        samples=tuple(_sample(sample, settings, printed) for sample in samples),
        statements=_statements(settings, samples),
        limits=_LIMITS,
        authorised=issue.signed,
        record=(
            ("Worked out from", evaluation.batch.file_name),
            ("SHA-256", evaluation.batch.sha256),
            ("SHA-256 of the settings", evaluation.settings_sha256),
            ("With", f"batchcal {batchcal.__version__}"),
        ),
    )


def _days(sample: SampleResult) -> list[dt.date]:
    return [firing.date for firing in sample.counted if firing.date is not None]


def _span(days: list[dt.date]) -> str:
    first, last = min(days), max(days)
    return date(first) if first == last else f"{date(first)} to {date(last)}"


def _amendment(
    issue: Issue, samples: tuple[SampleResult, ...], settings: Settings, printed: Printed
) -> tuple[str, ...]:
    """Return what is said of an issue that replaces another: its number, why, and what changed on this certificate."""
    if issue.replaces is None:
        return ()
    first = f"This is issue {issue.number}. It replaces issue {issue.replaces}, which is no longer valid."
    if issue.state is not ReleaseState.AMENDED:
        return (first, "Samples were added; no value was changed.")
    names = {sample.sample for sample in samples}
    shown = {f"gross, {basis}" for basis in settings.bases_required}
    if settings.net_required:
        shown |= {f"net, constant {held}, {b}" for held in ("pressure", "volume") for b in settings.bases_required}
    lines = [
        f"Sample {change.sample}, {_in_words(change.value)}: "
        f"{' → '.join(NONE if f is None else printed(f) for f in (change.earlier, change.now))} {settings.report_unit}"
        for change in issue.changed
        if change.sample in names and change.value in shown
    ]
    return (first, f"Reason: {sentence(issue.reasons)}", *(lines or ["No value on this certificate was changed."]))


def _in_words(value: str) -> str:
    """Return the name of a value with its basis spelt out."""
    name, _, basis = value.rpartition(", ")
    return f"{name}, {BASIS_NAMES[Basis(basis)]}"


def _sample(sample: SampleResult, settings: Settings, printed: Printed) -> CertifiedSample:
    row = sample.row
    facts = () if row is None else (
        ("Description", row.description),
        ("Delivery", row.delivery),
        ("Condition", row.condition),
        ("Sampled", ", ".join(filter(None, (row.sampled_by, date(row.sampled_on) if row.sampled_on else "")))),
        ("Received", date(row.received_on)),
        ("Tested", _span(_days(sample))),
        ("Determinations", sample.statistic),
        ("Moisture", _moistures(sample, settings)),
        ("Hydrogen", _hydrogen(sample) if settings.net_required else ""),
        ("Moisture and contents by", row.contents_by),
        ("Heat capacity", _heat_capacity(sample)),
    )  # fmt: skip
    results = list(_results(sample, settings, printed))
    values = aligned([result.value for result in results])
    notes = [sentence(sample.released_over)] if sample.released_over else []
    if any(result.uncertainty == NONE and result.quantity == _GROSS for result in results):
        notes.append(_without_uncertainty(sample))
    elif any(result.uncertainty == NONE for result in results):
        notes.append("Of the net values without uncertainty it was not worked out.")
    return CertifiedSample(
        sample.sample,
        tuple((name, text) for name, text in facts if text),
        tuple(replace(result, value=value) for result, value in zip(results, values, strict=True)),
        tuple(notes),
    )


def _results(sample: SampleResult, settings: Settings, printed: Printed) -> Iterator[Result]:
    reference = settings.reference_temperature
    at = "" if reference is None else f"{plain(reference.value)} °C"
    bases = [basis for basis in Basis if basis in settings.bases_required]
    for basis in bases:
        value = sample.gross_J_per_g.get(basis)
        yield Result(
            _GROSS, "volume", BASIS_NAMES[basis], at, NONE if value is None else printed(value),
            _expanded(sample, str(basis), settings, printed),
        )  # fmt: skip
    if not settings.net_required:
        return
    for held, values in (("pressure", sample.net.constant_pressure), ("volume", sample.net.constant_volume)):
        for basis in bases:
            value = values.get(basis)
            if basis not in NET_BASES or value is None:
                continue
            spread = _expanded(sample, f"{NET_PREFIX}{basis}", settings, printed) if held == "pressure" else NONE
            yield Result("Net calorific value", held, BASIS_NAMES[basis], at, printed(value), spread)


def _expanded(sample: SampleResult, name: str, settings: Settings, printed: Printed) -> str:
    """Return the expanded uncertainty in the report unit; of one that would be printed as 0, a bound."""
    entry = sample.uncertainty.get(name)
    if entry is None or not entry.complete:
        return NONE
    text = printed(entry.expanded_J_per_g)
    if not any(digit in "123456789" for digit in text):
        text = f"under {plain(settings.report_rounding)}" if settings.report_rounding else "under the last digit"
    return f"± {text} (k = {entry.coverage_factor:g})"


def _without_uncertainty(sample: SampleResult) -> str:
    missing = dict.fromkeys(part for entry in sample.uncertainty.values() for part in entry.missing)
    why = sample.uncertainty_note or (f"not known are {joined(missing)}" if missing else "it was not worked out")
    return f"Where no uncertainty stands, it is not stated: {unstopped(why)}."


def _moistures(sample: SampleResult, settings: Settings) -> str:
    row = sample.row
    if row is None:
        return ""
    parts = []
    if row.moisture_analysis is not None and settings.bases_required != (Basis.AS_ANALYSED,):
        parts.append(f"of the analysis sample {plain(row.moisture_analysis)} % ({date(row.moisture_date)})")
    if row.moisture_total is not None and Basis.AS_RECEIVED in settings.bases_required:
        parts.append(f"total, as received {plain(row.moisture_total)} % ({date(row.moisture_total_date)})")
    return "; ".join(parts)


def _hydrogen(sample: SampleResult) -> str:
    net: NetValues = sample.net
    row = sample.row
    parts = []
    if row is not None and "hydrogen" in row.contents:
        basis = row.bases.get("hydrogen")
        on = f", {BASIS_NAMES[basis]}" if basis is not None else ""
        parts.append(f"measured, {plain(row.contents['hydrogen'])} %{on}")
    else:
        parts.append("not measured")
    parts += [f"assumed: {text}" for text in net.assumed]
    return "; ".join(parts)


def _heat_capacity(sample: SampleResult) -> str:
    words = []
    for series in dict.fromkeys(firing.series for firing in sample.counted if firing.series is not None):
        how = "as entered" if series.n is None else f"{counted(series.n, 'firing')} of benzoic acid"
        words.append(f"{fixed(series.heat_capacity_J_per_K, 1)} J/K, {series.apparatus} ({how}, {date(series.date)})")
    return "; ".join(words)


def _statements(settings: Settings, samples: tuple[SampleResult, ...]) -> tuple[tuple[str, str], ...]:
    counted_firings = [firing for sample in samples for firing in sample.counted]
    acids = "" if settings.acid_scheme is None else _ACIDS[settings.acid_scheme]
    rule = settings.decision_rule
    said = f"Rule agreed with the customer: {unstopped(rule)}. " if rule else "No decision rule was agreed. "
    return (
        ("Corrections", sentence(f"{_ignition(settings)}; {acids}; {_exchange(settings, counted_firings)}")),
        ("Conformity", f"{said}This certificate makes no statement of conformity."),
    )


def _ignition(settings: Settings) -> str:
    if settings.fixed_ignition_heat is not None:
        return "ignition as a fixed heat per firing"
    used = [name for name, heat in (("wire", settings.wire_heat), ("thread", settings.thread_heat)) if heat is not None]
    return f"ignition by the {joined(used)} burnt" if used else "no ignition heat was taken off"


def _exchange(settings: Settings, firings: list[FiringResult]) -> str:
    if any(firing.curve is not None for firing in firings):
        return f"heat exchange from time readings ({settings.heat_exchange_method or 'method not named'})"
    if any(firing.heat_exchange_K for firing in firings):
        return "heat exchange as logged"
    return "no correction for heat exchange"
