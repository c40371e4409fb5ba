"""Tables whose rows are records: one row a firing, several test portions side by side, or readings down a column."""

from collections.abc import Iterator

from msgspec.structs import replace

from batchcal import findings
from batchcal.workbook.cells import CellKind
from batchcal.workbook.columns.above import Above
from batchcal.workbook.columns.column_map import ANY_FIRING, ColumnMap, MapColumn
from batchcal.workbook.columns.fit import Fit, cell_text, is_heading_row
from batchcal.workbook.columns.records import INPUTS, Record, Recorded, Standing, is_mean
from batchcal.workbook.xlsx.references import address


def of_rows(fit: Fit, last: int, column_map: ColumnMap) -> Recorded:
    """Return the records of a table with one row, or several test portions side by side in a row."""
    recorded = Recorded(fit.table, fit.grid)
    parts = list(dict.fromkeys(entry.part for entry in fit.table.headings if entry.means and entry.part)) or [""]
    read = {part: _columns(fit, part) for part in parts}
    for part, columns in read.items():
        entries = {entry.means: entry for _, entry in columns}
        letters = {entry.means: index for index, entry in columns}
        recorded.standings.append(Standing(fit.heading_row, letters, entries, part))
    headings = _heading_rows(fit, last)
    above = Above(recorded, column_map, heads={*headings, *fit.heading_rows}, last=last)
    others: list[int] = []
    for row, cells in fit.grid.below(fit.heading_row):
        if row > last:
            break
        if row in headings or above.passes(row):
            continue
        label = _mean_label(fit, row)
        if label:
            recorded.findings.append(findings.make("mean-row-skipped", sheet=fit.grid.title, row=row, label=label[:60]))
            continue
        for part, columns in read.items():
            spots = {}
            for index, entry in columns:
                spot = recorded.take(entry, cells.get(index, fit.grid.cell(row, index)), address(row, index))
                if spot is not None:
                    spots[entry.means] = spot
            own = frozenset(spots)
            if not own or (part and INPUTS.isdisjoint(own)):
                continue
            record = Record(row, {**above.holding(row), **spots}, part)
            of_firings = fit.table.holds in ("firings", "calibration")
            if of_firings and not record.has_inputs and not _may_be_firing(own):
                others.append(row)
                record = replace(record, fired=False)
            recorded.records.append(record)
    if others:
        rows = f"row{'s' if len(others) > 1 else ''} {', '.join(map(str, others[:12]))}"
        more = f" and {len(others) - 12} more" if len(others) > 12 else ""
        recorded.findings.append(findings.make("row-not-fired", sheet=fit.grid.title, rows=rows + more))
    return recorded.close()


def of_curves(fit: Fit, last: int) -> Iterator[tuple[str, Recorded]]:
    """Yield the readings of each firing of a sheet with minutes down and a column for each firing, with its number."""
    beside_all = [(index, entry) for index, entry in fit.columns if entry.means and entry.heading != ANY_FIRING]
    of_firings = next(entry for entry in fit.table.headings if entry.heading == ANY_FIRING)
    for index, cell in fit.grid.rows[fit.heading_row].items():
        firing = cell_text(cell)
        if index in fit.indexes or not firing:
            continue
        columns = [*beside_all, (index, replace(of_firings, heading=firing))]
        recorded = Recorded(fit.table, fit.grid)
        letters, entries = {one.means: at for at, one in columns}, {one.means: one for _, one in columns}
        recorded.standings.append(Standing(fit.heading_row, letters, entries))
        for row, cells in fit.grid.below(fit.heading_row):
            if row > last:
                break
            spots = {}
            for column, one in columns:
                spot = recorded.take(one, cells.get(column, fit.grid.cell(row, column)), address(row, column))
                if spot is not None:
                    spots[one.means] = spot
            if of_firings.means in spots:
                recorded.records.append(Record(row, spots))
        yield firing, recorded.close()


def _columns(fit: Fit, part: str) -> list[tuple[int, MapColumn]]:
    """Return the columns that are read for a test portion: its own, and those that belong to the whole row."""
    return [(index, entry) for index, entry in fit.columns if entry.means and entry.part in ("", part)]


def _heading_rows(fit: Fit, last: int) -> frozenset[int]:
    """Return the rows below the headings in which they are repeated."""
    found = set()
    for row, _ in fit.grid.below(fit.heading_row):
        if row <= last and is_heading_row(fit, row):
            found |= set(range(row - fit.table.levels + 1, row + 1))
    return frozenset(found)


def _may_be_firing(own: frozenset[str]) -> bool:
    """Whether a row without weighings and temperatures still has what only a firing has: a titre, a result."""
    return any(name in ("Titre", "Burette end", "Outcome") or name.startswith("Own ") for name in own)


def _mean_label(fit: Fit, row: int) -> str:
    """Return the word by which a row is one of means, "" for a row that is none."""
    cells = fit.grid.rows[row]
    means_of = {index: entry.means for index, entry in fit.columns}
    inputs = any(means_of.get(index) in INPUTS for index in cells)
    for index, cell in cells.items():
        text = cell_text(cell) if cell.kind is CellKind.TEXT else ""
        if text and is_mean(text) and (not inputs or means_of.get(index) in ("Firing no.", "Replicate")):
            return text
    return ""
