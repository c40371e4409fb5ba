"""Doubtful cells that nothing is computed with: what the reader cannot know before the settings are read."""

from collections.abc import Mapping

from msgspec.structs import replace

from batchcal.findings import Finding, Severity
from batchcal.logged import Batch, FiringRow, SampleRow, TitrationRow
from batchcal.model import Settings
from batchcal.terms import Basis


def weigh(batch: Batch, settings: Settings) -> Batch:
    """Return the batch with findings lowered to review where the settings make no use of their column."""
    unused, fields = _unused(settings), _fields_by_cell(batch)
    weighed = (_weighed(finding, fields, _roles(batch, finding.sheet), unused) for finding in batch.findings)
    return replace(batch, findings=tuple(weighed))


def _roles(batch: Batch, sheet: str | None) -> set[tuple[str, str]]:
    """Return the roles of a sheet, for a cell of it that belongs to no field."""
    return {(role, "") for role, table in batch.tables.items() if table.sheet == sheet}


def _weighed(
    finding: Finding,
    fields: Mapping[tuple[str, str], set[tuple[str, str]]],
    roles: set[tuple[str, str]],
    unused: Mapping[str, frozenset[str] | None],
) -> Finding:
    if not finding.severity.stops or finding.sheet is None or finding.cell is None:
        return finding
    for role, name in fields.get((finding.sheet, finding.cell)) or roles or {("", "")}:
        columns = unused.get(role, frozenset())
        if columns is not None and name not in columns:
            return finding
    return replace(finding, severity=Severity.REVIEW)


def _fields_by_cell(batch: Batch) -> dict[tuple[str, str], set[tuple[str, str]]]:
    """Return, by sheet and cell, the role and field of every doubtful cell and of every heading.

    One cell serves several roles where a lab keeps firings, titrations and contents on one sheet.
    """
    found: dict[tuple[str, str], set[tuple[str, str]]] = {}
    rows: tuple[FiringRow | TitrationRow | SampleRow, ...] = (*batch.firings, *batch.titrations, *batch.samples)
    for row in rows:
        for name in row.unreadable:
            cell = row.place.cell(name)
            if cell is not None:
                found.setdefault((row.place.sheet, cell), set()).add((row.place.table.role, name))
    for role, table in batch.tables.items():
        for name, letter in table.columns.items():
            found.setdefault((table.sheet, f"{letter}{table.heading_row}"), set()).add((role, name))
    return found


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
