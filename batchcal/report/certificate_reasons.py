"""Why there is no certificate: all that is missing for it, each with the place where it is entered."""

from collections.abc import Iterator

from batchcal.items import SETUP_ITEMS_BY_KEY
from batchcal.logged import SampleRow
from batchcal.model import Evaluation, SampleResult, Settings
from batchcal.report.words import joined
from batchcal.terms import BASIS_NAMES, NET_BASES, Basis, Decision, YesNo

_ITEMS = (
    "laboratory", "laboratory_address", "customer", "certificate_number", "method", "method_edition",
    "method_deviations", "acid_scheme", "bases_required", "report_unit", "reference_temperature",
)  # fmt: skip
"""Items of Setup without which there is no certificate."""

_COLUMNS = {
    "description": "Description",
    "received_on": "Received on",
    "sampled_by": "Sampled by",
    "condition": "Condition",
    "contents_by": "Moisture and contents by",
}
"""Columns of Samples, by field, without which there is no certificate."""


def carried(evaluation: Evaluation) -> tuple[SampleResult, ...]:
    """Return the samples of the day that stand on the certificate."""
    return tuple(s for s in evaluation.samples if s.row is None or s.row.on_certificate is not YesNo.NO)


def reasons(evaluation: Evaluation) -> list[str]:
    """Return all that stands in the way of a certificate, in the order in which it stands there; [] for nothing."""
    samples = carried(evaluation)
    found = [
        f"{SETUP_ITEMS_BY_KEY[key].name} is blank or could not be read: enter it on Setup"
        for key in _ITEMS
        if not _given(evaluation.settings, key)
    ]
    if not samples:
        found.append("no sample stands on it: On certificate on Samples is `no` for all")
    lacking: dict[str, list[str]] = {}
    for sample in samples:
        for why in _of(sample, evaluation):
            lacking.setdefault(why, []).append(sample.sample)
    return found + [f"sample{'' if len(names) == 1 else 's'} {joined(names)}: {why}" for why, names in lacking.items()]


def _given(settings: Settings, key: str) -> bool:
    if key == "report_unit":  # J/g stands there by default; on a certificate the lab says it
        entry = settings.entries.get(key)
        return entry is not None and entry.value is not None
    return bool(getattr(settings, key))


def _of(sample: SampleResult, evaluation: Evaluation) -> Iterator[str]:
    row, settings = sample.row, evaluation.settings
    if sample.sample not in evaluation.release.samples:
        if sample.decision is Decision.READY:
            yield "not released: a reviewer signs on Amendments (Finding: release)"
        else:
            yield f"not ready ({sample.decision}) and not released: {sample.reason}"
    if row is None:
        yield "no row on Samples"
        return
    for field, heading in _COLUMNS.items():
        if not getattr(row, field):
            yield _blank(row, field, heading)
    yield from _moistures(row, settings)
    if settings.net_required and not sample.net.known:
        yield "no net value"
    lacking = [basis for basis in settings.bases_required if sample.gross_J_per_g.get(basis) is None]
    lacking += [
        basis
        for basis in settings.bases_required
        if settings.net_required and basis in NET_BASES and basis not in lacking
        and sample.net.constant_pressure.get(basis) is None
    ]  # fmt: skip
    for basis in lacking:
        yield f"no value {BASIS_NAMES[basis]}"
    for firing in sample.counted:
        if firing.date is None:
            yield f"firing {firing.name} has no date: enter Date on {firing.row.place.sheet}, or Batch date on Setup"


def _moistures(row: SampleRow, settings: Settings) -> Iterator[str]:
    bases = settings.bases_required
    if any(basis is not Basis.AS_ANALYSED for basis in bases) or settings.net_required:
        if row.moisture_analysis is None:
            yield _blank(row, "moisture_analysis", "Moisture, analysis")
        elif row.moisture_date is None:
            yield _blank(row, "moisture_date", "Moisture date")
    if Basis.AS_RECEIVED in bases:
        if row.moisture_total is None:
            yield _blank(row, "moisture_total", "Moisture, total")
        elif row.moisture_total_date is None:
            yield _blank(row, "moisture_total_date", "Total moisture date")


def _blank(row: SampleRow, field: str, heading: str) -> str:
    at = row.place.cell(field)
    where = f"{row.place.sheet}!{at}" if at else f"a column of that heading on {row.place.sheet}"
    return f"{heading} is {'not readable' if field in row.unreadable else 'blank'}: enter it in {where}"
