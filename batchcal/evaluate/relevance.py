"""Doubtful cells that nothing is computed with: what the reader cannot know before the settings are read."""

import dataclasses

from batchcal.findings import Finding, Severity
from batchcal.logged import Batch, Table
from batchcal.model import Settings
from batchcal.terms import Basis


def weigh(batch: Batch, settings: Settings) -> Batch:
    """Return the batch with findings lowered to review where the settings make no use of their column."""
    unused = _unused(settings)
    tables = {table.sheet: (role, table) for role, table in batch.tables.items()}
    return dataclasses.replace(batch, findings=tuple(_weighed(finding, tables, unused) for finding in batch.findings))


def _weighed(
    finding: Finding, tables: dict[str, tuple[str, Table]], unused: dict[str, frozenset[str] | None]
) -> Finding:
    if not finding.severity.stops or finding.cell is None or finding.sheet not in tables:
        return finding
    role, table = tables[finding.sheet]
    if role not in unused:
        return finding
    letter = finding.cell.rstrip("0123456789")
    fields = {name for name, column in table.columns.items() if column == letter}
    columns = unused[role]
    if columns is None or (fields and fields <= columns):
        return dataclasses.replace(finding, severity=Severity.REVIEW)
    return finding


def _unused(settings: Settings) -> dict[str, frozenset[str] | None]:
    """Return, by the role of a sheet, the fields that nothing is computed with; None for all of them."""
    unused: dict[str, frozenset[str] | None] = {}
    scheme = settings.acid_scheme
    if scheme is not None and not scheme.uses_titre:
        unused["titration"] = None
    bases = {settings.comparison_basis, *settings.bases_required}
    contents = set()
    if scheme is not None and not scheme.uses_bench_sulphur:
        contents.add("sulphur")
    # A content that the scheme needs on another basis says itself which moisture or ash it lacks.
    if Basis.DRY_ASH_FREE not in bases:
        contents.add("ash")
    if not settings.net_required:
        contents |= {"hydrogen", "nitrogen", "oxygen", "hydrogen_includes_moisture"}
        if Basis.AS_RECEIVED not in bases:
            contents.add("moisture_total")
        if bases <= {Basis.AS_ANALYSED, None}:
            contents.add("moisture_analysis")
    unused["samples"] = frozenset(contents)
    return unused
