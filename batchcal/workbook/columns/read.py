"""Reading a workbook by a map: every table of the map on its sheets, and what is the blank workbook's besides."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from batchcal.errors import UsageError, WorkbookError
from batchcal.findings import Finding, make
from batchcal.logged import Batch, ColumnsFile
from batchcal.runs import runs
from batchcal.workbook.cells import as_identifier
from batchcal.workbook.columns.column_map import ANY_SHEET, ColumnMap, MapTable
from batchcal.workbook.columns.detected import FEWEST_HEADINGS, sign_of
from batchcal.workbook.columns.fields import columns_of
from batchcal.workbook.columns.fit import Changed, Fit, find, find_curves, key
from batchcal.workbook.columns.forms import Forms, find_forms, of_forms
from batchcal.workbook.columns.records import Record, Recorded
from batchcal.workbook.columns.rows import of_curves, of_rows
from batchcal.workbook.columns.setup_view import setup_view
from batchcal.workbook.columns.views import Maker, View, spoken
from batchcal.workbook.grid import Grid
from batchcal.workbook.headings import FoundTable, ReadTable, find_table
from batchcal.workbook.headings import fold as fold_name
from batchcal.workbook.layout import SETUP, SHEETS
from batchcal.workbook.reader import read_tables
from batchcal.workbook.source import Source

Place = Fit | Forms


def read_by_map(source: Source, column_map: ColumnMap) -> Batch:
    """Read a workbook by a map of its sheets.

    Raises UsageError where the map holds open questions, WorkbookError where it does not fit or what is always needed
    is absent.
    """
    refuse_unready(column_map)
    places = _places(source, column_map)
    trouble = list(_alike(source, column_map, places))
    made = _Made(column_map)
    for place in places:
        made.add(place, _last_row(place, places), trouble)
    tables = made.tables(trouble)
    taken = frozenset((place.grid.title, row) for place in places for row in place.heading_rows)
    setup = setup_view(column_map, source.grids, taken | made.rows_of_firings)
    tables = {SETUP.role: [setup], **tables}
    trouble += setup.findings
    for sheet in SHEETS:
        table = _blank_workbook_sheet(source, sheet.name, places)
        if table is not None:
            tables.setdefault(table.sheet.role, []).append(table)
            trouble += table.findings
    if "runs" not in tables:
        raise WorkbookError(_unfit(column_map, f"{source.name} has no table of firings"))
    batch = read_tables(source, tables, trouble)
    batch = replace(batch, findings=_each_once(batch))
    return replace(batch, columns=ColumnsFile(column_map.name, column_map.sha256, _said(places)))


def refuse_unready(column_map: ColumnMap) -> None:
    """Raise UsageError where a map holds open questions, or no table yet."""
    questions = column_map.questions()
    if questions:
        finding = make("map-open", map=column_map.name, questions="; ".join(questions))
        raise UsageError(f"{finding.message} {finding.remedy}")
    if not column_map.tables:
        raise UsageError(f"{column_map.name}: it has no [[table]]; make the map with batchcal columns")


def _each_once(batch: Batch) -> tuple[Finding, ...]:
    """Return the findings with each doubt about a cell said once: one cell may serve several tables and many rows."""
    kept: dict[tuple[object, ...], list[Finding]] = {}
    for finding in batch.findings:
        spot = (finding.cell,) if finding.cell else (finding.row, finding.message, finding.firing)
        kept.setdefault((finding.code, finding.sheet, *spot), []).append(finding)
    rows: dict[tuple[str, str], set[int]] = {}
    for firing in batch.firings:
        for cell in firing.place.cells.values():
            rows.setdefault((firing.place.sheet, cell), set()).add(firing.place.row)
    return tuple(_gathered(same, rows) for same in kept.values())


def _gathered(same: Sequence[Finding], rows: Mapping[tuple[str, str], set[int]]) -> Finding:
    """Return one finding in place of those about one cell: the weightiest, with the rows for which the cell stands."""
    heaviest = min(same, key=lambda finding: finding.severity.rank)
    if len({finding.firing for finding in same}) == 1:
        return heaviest
    covered = sorted(rows.get((heaviest.sheet or "", heaviest.cell or ""), ()))
    said = ", ".join(f"{run[0]}" if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs(covered))
    message = f"{heaviest.message} It stands for the rows {said}." if len(covered) > 1 else heaviest.message
    samples = {finding.sample for finding in same}
    return replace(heaviest, message=message, firing=None, sample=samples.pop() if len(samples) == 1 else None)


def _places(source: Source, column_map: ColumnMap) -> list[Place]:
    """Return where every table of the map stands; WorkbookError with one line where one does not fit."""
    places: list[Place] = []
    named = {key(table.sheet) for table in column_map.tables if table.sheet != ANY_SHEET}
    for table in column_map.tables:
        any_sheet = table.sheet == ANY_SHEET
        grids = [
            grid for grid in source.grids if _stands_on(table, grid) or (any_sheet and key(grid.title) not in named)
        ]
        if not grids:
            present = ", ".join(grid.title for grid in source.grids)
            raise WorkbookError(_unfit(column_map, f"there is no sheet {table.sheet} (sheets present: {present})"))
        found = [(grid, _find(table, grid)) for grid in grids]
        for grid, place in found:
            if isinstance(place, Changed):
                changes = "; ".join(place.changes[:8]) + ("; …" if len(place.changes) > 8 else "")
                finding = make(
                    "headings-changed", sheet=grid.title, row=place.row, map=column_map.name, changes=changes
                )
                raise WorkbookError(f"{source.name}: {finding.message} {finding.remedy}")
        fitting = [place for _, place in found if place is not None and not isinstance(place, Changed)]
        if not fitting:
            which = f"sheet {table.sheet}" if table.sheet != ANY_SHEET else "any sheet"
            raise WorkbookError(_unfit(column_map, f"its headings are not found on {which} of {source.name}"))
        places += fitting
    return places


def _alike(source: Source, column_map: ColumnMap, places: Sequence[Place]) -> Iterator[Finding]:
    """Yield the sheets that have the headings of a table of the map and are not named in it: a day that was copied."""
    read = {id(place.grid) for place in places}
    for grid in source.grids:
        if id(grid) in read or not grid.rows:
            continue
        for table in column_map.tables:
            few = table.shape == "curves" or len(table.headings) < FEWEST_HEADINGS
            place = None if few else _find(table, grid)
            if place is not None and not isinstance(place, Changed):
                row = max(place.heading_rows)
                yield make("sheet-beside-map", sheet=grid.title, row=row, other=table.sheet, map=column_map.name)
                break


def _stands_on(table: MapTable, grid: Grid) -> bool:
    return table.sheet != ANY_SHEET and key(grid.title) == key(table.sheet)


def _find(table: MapTable, grid: Grid) -> Place | Changed | None:
    if table.shape == "forms":
        return find_forms(table, grid)
    return find_curves(table, grid) if table.shape == "curves" else find(table, grid)


def _last_row(place: Place, places: Sequence[Place]) -> int:
    """Return the last row that may belong to a table: another one below it on the same sheet ends it."""
    below = [
        min(other.heading_rows) - 1
        for other in places
        if other is not place and other.grid is place.grid and min(other.heading_rows) > max(place.heading_rows)
    ]
    return min(below, default=place.grid.last_row)


def _unfit(column_map: ColumnMap, why: str) -> str:
    finding = make("map-not-fitting", map=column_map.name, why=why)
    return f"{finding.message} {finding.remedy}"


class _Made(Struct):
    """What was recorded of the tables of a map, until numbers are made and views of them."""

    column_map: ColumnMap
    recorded: list[tuple[Recorded, Mapping[str, object]]] = field(default_factory=list)

    def add(self, place: Place, last: int, trouble: list[Finding]) -> None:
        """Record a table."""
        known = _of_sheet(place)
        if isinstance(place, Forms):
            self.recorded.append((of_forms(place, self.column_map), known))
        elif place.table.shape == "curves":
            key = columns_of("readings")["Firing no."][1].field
            self.recorded += [(one, {**known, key: firing}) for firing, one in of_curves(place, last)]
        else:
            self.recorded.append((of_rows(place, last, self.column_map), known))
        unread = [entry.heading for entry in place.table.headings if not entry.means]
        if unread:
            row = min(place.heading_rows) if isinstance(place, Forms) else max(place.heading_rows)
            trouble.append(make("column-not-read", sheet=place.grid.title, row=row, headings=", ".join(unread)))

    @property
    def rows_of_firings(self) -> frozenset[tuple[str, int]]:
        """Sheet and row of every record that is a firing, in which no label of Setup is looked for."""
        return frozenset(
            (recorded.grid.title, record.row)
            for recorded, _ in self.recorded
            if recorded.table.shape != "forms"
            for record in recorded.records
            if record.fired
        )

    def tables(self, trouble: list[Finding]) -> dict[str, list[ReadTable]]:
        """Return the views by role, and say what was found on the way."""
        words = {spoken(said): word for word, texts in self.column_map.words.items() for said in texts}
        unnumbered = [recorded for recorded, known in self.recorded if _lacks_numbers(recorded, known)]
        several = len({recorded.grid.title for recorded in unnumbered}) > 1
        tables: dict[str, list[ReadTable]] = {}
        numbers: dict[int, str] = {}
        for recorded in unnumbered:
            numbers |= _numbers(recorded, several=several)
        if numbers:
            trouble.append(make("firing-number-made", **_sheets(unnumbered), example=next(iter(numbers.values()))))
        forms = [recorded for recorded, _ in self.recorded if recorded.table.shape == "forms"]
        if forms:
            trouble.append(make("form-without-columns", **_sheets(forms)))
        for recorded, known in self.recorded:
            trouble += recorded.findings
            view: View
            for view in Maker(recorded, words, numbers, known).views():
                tables.setdefault(view.sheet.role, []).append(view)
                trouble += view.findings
        return tables


def _sheets(recorded: Sequence[Recorded]) -> dict[str, Any]:
    """Return on which sheets something was found, for the wording and, where it is one, for the place."""
    titles = list(dict.fromkeys(one.grid.title for one in recorded))
    shown = ", ".join(titles[:6]) + (f" and {len(titles) - 6} more" if len(titles) > 6 else "")
    return {"sheets": shown} | ({"sheet": titles[0]} if len(titles) == 1 else {})


def _of_sheet(place: Place) -> dict[str, object]:
    """Return what the name of the sheet says, where the map takes it for a value."""
    name = place.table.sheet_is
    entry = columns_of(place.table.holds).get(name)
    return {entry[1].field: place.grid.title.strip()} if entry is not None else {}


def _lacks_numbers(recorded: Recorded, known: Mapping[str, object]) -> bool:
    of_firings = recorded.table.holds in ("firings", "calibration")
    return of_firings and not recorded.table.means("Firing no.") and "firing" not in known


def _numbers(recorded: Recorded, *, several: bool) -> dict[int, str]:
    """Return a number for each firing, made from its row and test portion, with its sheet where there are several."""
    made = {}
    for record in recorded.records:
        if record.fired:
            text = f"{record.row}{_portion(record)}"
            made[id(record)] = f"{recorded.grid.title} {text}" if several else text
    return made


def _portion(record: Record) -> str:
    spot = record.spots.get("Replicate")
    read = as_identifier(spot.cell) if spot is not None else ""
    portion = sign_of(record.part) or record.part or (read if isinstance(read, str) else "")
    return f"-{portion}" if portion[:1].isdigit() else portion


def own_grids(source: Source) -> tuple[Grid, ...]:
    """Return the sheets of a workbook that are not those of the blank workbook."""
    known = [_blank_workbook_sheet(source, sheet.name, ()) for sheet in SHEETS]
    titles = {table.grid.title for table in known if table is not None}
    return tuple(grid for grid in source.grids if grid.rows and grid.title not in titles)


def _blank_workbook_sheet(source: Source, name: str, places: Sequence[Place]) -> FoundTable | None:
    """Return a sheet of the blank workbook that stands among the lab's own, if its headings are those."""
    for grid in source.grids:
        if fold_name(grid.title) != fold_name(name) or any(place.grid is grid for place in places):
            continue
        sheet = next(sheet for sheet in SHEETS if sheet.name == name)
        try:
            return find_table(sheet, grid, source.name)
        except WorkbookError:
            return None
    return None


def _said(places: Sequence[Place]) -> tuple[tuple[str, str, str], ...]:
    """Return sheet, heading and what it was read as, of every column that was read."""
    return tuple(_lines(places))


def _lines(places: Sequence[Place]) -> Iterator[tuple[str, str, str]]:
    for place in places:
        for entry in (*place.table.headings, *place.table.above):
            if entry.means:
                basis = f", {entry.basis}" if entry.basis else ""
                unit = f" ({entry.unit})" if entry.unit else ""
                part = f", test portion {entry.part}" if entry.part else ""
                yield place.grid.title, entry.heading, f"{entry.means}{basis}{unit}{part}"
