"""The catalogue of findings: what can be wrong with a workbook or with the chemistry, in one place.

A finding is collected, located and worded with a remedy; it is never raised. Each kind has a code, a severity,
the trigger in words, a message that says what was seen and a remedy that says what to do. ``effect`` is the
decision that the kind forces on the samples it touches; a kind without effect never changes a decision.
"""

from typing import Any

from msgspec import Struct

from batchcal.findings.agreement import AGREEMENT
from batchcal.findings.benches import BENCHES
from batchcal.findings.calorimeter import CALORIMETER
from batchcal.findings.equipment import EQUIPMENT
from batchcal.findings.firing import FIRING, READINGS, TITRATION
from batchcal.findings.heat_capacity import HEAT_CAPACITY
from batchcal.findings.information import INFORMATION
from batchcal.findings.kinds import CAUTION, Kind, Severity
from batchcal.findings.overrides import OVERRIDES
from batchcal.findings.own_results import OWN_RESULTS
from batchcal.findings.own_sheets import OWN_SHEETS
from batchcal.findings.reading import READING
from batchcal.findings.records import RECORDS
from batchcal.findings.release import RELEASE
from batchcal.findings.review import REVIEW
from batchcal.findings.safety import OUT_OF_USE, SAFETY
from batchcal.findings.samples import SAMPLES
from batchcal.findings.setup import SETUP
from batchcal.findings.slips import SLIPS
from batchcal.terms import Decision

__all__ = ["CATALOGUE", "CAUTION", "OUT_OF_USE", "Finding", "Kind", "Severity", "in_order", "make"]


class Finding(Struct, frozen=True):
    """One finding: where it is, what was seen and what to do."""

    kind: Kind
    severity: Severity
    message: str
    remedy: str
    sheet: str | None = None
    row: int | None = None
    cell: str | None = None
    firing: str | None = None
    sample: str | None = None
    overridden: str = ""
    """Who has overridden it and why, "reviewer: reason", or "" where nobody has."""

    @property
    def code(self) -> str:
        """The kind's code."""
        return self.kind.code

    @property
    def effect(self) -> Decision | None:
        """Decision that this finding forces on the samples it touches; only one that stops has any."""
        return self.kind.effect if self.severity.stops else None

    @property
    def where(self) -> str:
        """Sheet and cell (or row) in words, or "" for a finding about the whole workbook."""
        if self.sheet is None:
            return ""
        if self.cell is not None:
            return f"{self.sheet}!{self.cell}"
        return self.sheet if self.row is None else f"{self.sheet} row {self.row}"


def _by_code(*groups: tuple[Kind, ...]) -> dict[str, Kind]:
    catalogue: dict[str, Kind] = {}
    for kind in (kind for group in groups for kind in group):
        if kind.code in catalogue:
            raise ValueError(f"finding {kind.code} is defined twice")
        catalogue[kind.code] = kind
    return catalogue


CATALOGUE = _by_code(
    SAFETY,
    READING,
    SETUP,
    FIRING,
    READINGS,
    TITRATION,
    HEAT_CAPACITY,
    CALORIMETER,
    EQUIPMENT,
    AGREEMENT,
    SAMPLES,
    SLIPS,
    RECORDS,
    BENCHES,
    OWN_RESULTS,
    OWN_SHEETS,
    OVERRIDES,
    RELEASE,
    REVIEW,
    INFORMATION,
)
"""Every kind of finding by its code, in the order of the catalogue."""


def make(
    code: str,
    *,
    sheet: str | None = None,
    row: int | None = None,
    cell: str | None = None,
    firing: str | None = None,
    sample: str | None = None,
    severity: Severity | None = None,
    **details: Any,
) -> Finding:
    """Return a finding of kind ``code`` with its words filled in.

    ``severity`` lowers the kind's own where the doubtful cell takes no part in the computation; it never
    raises it. The location and the names of firing and sample are available to the wording; ``details`` are the
    other words of the kind's message and remedy.
    """
    kind = CATALOGUE[code]
    if severity is None:
        severity = kind.severity
    elif severity.rank < kind.severity.rank:
        raise ValueError(f"{code} cannot be raised to {severity}")
    where = f"{sheet}!{cell}" if cell else (f"{sheet} row {row}" if row else (sheet or "Workbook"))
    words = {"where": where, "firing": firing, "sample": sample, **details}
    return Finding(
        kind,
        severity,
        kind.message.format(**words),
        kind.remedy.format(**words),
        sheet,
        row,
        cell,
        firing or None,
        sample or None,
    )


def in_order(findings: list[Finding]) -> tuple[Finding, ...]:
    """Return findings sorted for reading: most severe first, otherwise in the order in which they were made."""
    return tuple(sorted(findings, key=lambda finding: finding.severity.rank))
