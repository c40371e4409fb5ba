"""From a workbook to a Batch: every row of the log with its place, and a finding for every doubtful cell."""

import datetime as dt
import difflib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from msgspec.structs import replace

from batchcal import findings, units
from batchcal.errors import WorkbookError
from batchcal.findings import Finding, Severity
from batchcal.items import SETUP_ITEMS, SETUP_ITEMS_BY_KEY, SetupItem
from batchcal.logged import (
    AID_NUMBERS,
    CONTENT_FIELDS,
    Aid,
    AmendmentRow,
    Batch,
    EquipmentRow,
    FiringRow,
    Place,
    ReadingRow,
    SampleRow,
    SetupEntry,
    TitrantRow,
    TitrationRow,
    aid_fields,
)
from batchcal.terms import AcidScheme, Basis, Outcome, Purpose, Use
from batchcal.workbook import cells
from batchcal.workbook.cells import Cell, CellKind, Trouble
from batchcal.workbook.formula_forms import covered_cells, formula_columns, unseen_rows
from batchcal.workbook.headings import FoundColumn, FoundTable, ReadTable, find_table, fold
from batchcal.workbook.layout import CALIBRATION, READINGS, RUNS, SAMPLES, SETUP, SHEETS, TITRATION, Sheet
from batchcal.workbook.row_values import DoubtfulCells, ReadRow, Values
from batchcal.workbook.source import Source

_ITEMS = {fold(item.name): item for item in SETUP_ITEMS}

_OWN_SHEETS = "; name the columns of your own sheets with `batchcal columns {name} --save MAP.toml`"

_ENTERING = frozenset(column.field for column in SAMPLES.columns if column.enters)

_AIDS = tuple((number, *aid_fields(number)) for number in AID_NUMBERS)
_AID_FIELDS = frozenset(name for _, *names in _AIDS for name in names)

RowCells = Mapping[str, tuple[FoundColumn, Cell]]


def read_workbook(source: Source) -> Batch:
    """Read all that the layout knows from a workbook.

    Raises WorkbookError where a sheet, a heading or the firing rows that are always needed are absent.
    """
    if source.csv_form is not None:
        raise WorkbookError(
            f"{source.name}: a table of text holds no Setup; name its columns with `batchcal columns {source.name} "
            "--save MAP.toml`, and process it with --columns MAP.toml"
        )
    found: dict[str, FoundTable] = {}
    trouble: list[Finding] = []
    for sheet in SHEETS:
        table = _find(source, sheet)
        if table is not None:
            found[sheet.role] = table
            # Side by side, the headings that are not known are the firing numbers.
            wide = sheet.role == "readings" and _is_wide(table)
            trouble += [f for f in table.findings if not (wide and f.code == "column-not-read")]
        elif sheet.common_name:
            trouble += [findings.make("sheet-not-read", sheet=title) for title in _filled(source, sheet)]
    for sheet in (SETUP, RUNS):
        if sheet.role not in found:
            raise _missing(source, sheet)
    tables: dict[str, Sequence[ReadTable]] = {role: (table,) for role, table in found.items() if role != "readings"}
    if "readings" in found:
        tables["readings"] = _one_firing_each(found["readings"])
    return read_tables(source, tables, trouble)


def read_tables(source: Source, tables: Mapping[str, Sequence[ReadTable]], trouble: list[Finding]) -> Batch:
    """Read the tables of a workbook, given by role; ``trouble`` is what was found on the way to them.

    Raises WorkbookError where a table or the firing rows that are always needed are absent.
    """
    trouble += _read_as(source)
    values = Values()
    setup = _read_setup(tables["setup"], trouble)
    firings = [
        _firing(row)
        for role in ("calibration", "runs")
        for table in tables.get(role, ())
        for row in _rows(values, table, trouble)
    ]
    _refuse_without_needed(source, tables, setup, firings)
    if not any(row.place.table.role == RUNS.role for row in firings):
        raise WorkbookError(f"{source.name}: sheet {tables[RUNS.role][0].grid.title} has no firing rows")
    every = [(role, table) for role, members in tables.items() for table in members]
    trouble += [finding for _, table in every for finding in covered_cells(table)]

    def rows(role: str) -> Iterator[ReadRow]:
        for table in tables.get(role, ()):
            yield from _rows(values, table, trouble)

    return Batch(
        file_name=source.name,
        sha256=source.sha256,
        setup=tuple(setup),
        firings=tuple(firings),
        titrations=tuple(row.build(TitrationRow) for row in rows("titration")),
        samples=tuple(_sample(row, trouble) for row in list(rows("samples"))),
        titrants=tuple(row.build(TitrantRow) for row in rows("titrant")),
        equipment=tuple(row.build(EquipmentRow) for row in rows("equipment")),
        amendments=tuple(row.build(AmendmentRow) for row in rows("amendments")),
        readings=tuple(row.build(ReadingRow) for row in rows("readings")),
        tables={role: members[0].table for role, members in tables.items()},
        findings=tuple(trouble),
        formulas=tuple(column for role, table in every for column in formula_columns(role, table)),
        unseen=_unseen(every),
    )


def _unseen(every: Iterable[tuple[str, ReadTable]]) -> dict[str, dict[tuple[str, int], str]]:
    found: dict[str, dict[tuple[str, int], str]] = {}
    for role, table in every:
        found.setdefault(role, {}).update(unseen_rows(role, table))
    return {role: rows for role, rows in found.items() if rows}


def _find(source: Source, sheet: Sheet) -> FoundTable | None:
    for grid in source.grids:
        if fold(grid.title) == fold(sheet.name):
            return find_table(sheet, grid, source.name)
    return None


def _filled(source: Source, sheet: Sheet) -> list[str]:
    """Return the sheets of this name that hold anything."""
    return [grid.title for grid in source.grids if fold(grid.title) == fold(sheet.name) and grid.rows]


def _read_as(source: Source) -> list[Finding]:
    form = source.csv_form
    if form is None:
        return []
    delimiter, decimal = form.words
    return [
        findings.make(
            "table-of-text-read", file=source.name, encoding=form.encoding, delimiter=delimiter, decimal=decimal
        )
    ]


def _missing(source: Source, sheet: Sheet) -> WorkbookError:
    present = ", ".join(grid.title for grid in source.grids)
    for grid in source.grids:
        if fold(grid.title) == fold(sheet.name):
            return WorkbookError(f"{source.name}: sheet {grid.title} is empty")
    ours = {fold(known.name) for known in SHEETS}
    hint = "" if any(fold(grid.title) in ours for grid in source.grids) else _OWN_SHEETS.format(name=source.name)
    return WorkbookError(f"{source.name}: there is no sheet {sheet.name} (sheets present: {present}){hint}")


def _refuse_without_needed(
    source: Source,
    tables: Mapping[str, Sequence[ReadTable]],
    setup: Iterable[SetupEntry],
    firings: Iterable[FiringRow],
) -> None:
    entries = {entry.key: entry for entry in setup}
    calibrated = any(firing.purpose is Purpose.CALIBRATION for firing in firings)
    if "calibration" not in tables and "heat_capacity" not in entries and not calibrated:
        raise WorkbookError(
            f"{_missing(source, CALIBRATION)}, and no heat capacity: it needs benzoic acid firings there or "
            "on Runs with Purpose calibration, or Effective heat capacity on Setup"
        )
    scheme = entries.get("acid_scheme")
    titres = {scheme_word.value for scheme_word in AcidScheme if scheme_word.uses_titre}
    if scheme is not None and "titration" not in tables and str(scheme.value).casefold() in titres:
        raise _missing(source, TITRATION)


def _rows(values: Values, table: ReadTable, trouble: list[Finding]) -> Iterator[ReadRow]:
    """Yield the rows with anything in them, and add what is doubtful about each."""
    for row, troubles in values.rows(table):
        if troubles:
            trouble += _worded(row, troubles)
        yield row


def _worded(row: ReadRow, troubles: DoubtfulCells) -> list[Finding]:
    firing = row.values.get("firing")
    sample = row.values.get("sample")
    left_out = row.values.get("outcome") not in (None, Outcome.GOOD) or row.values.get("use") is Use.SET_ASIDE
    return [
        row.place.finding(
            trouble.code,
            found.column.field,
            firing=firing,
            sample=sample,
            severity=None if found.column.enters and not left_out else Severity.REVIEW,
            heading=found.heading,
            read=trouble.read,
            **dict(trouble.details),
        )
        for found, trouble in troubles
    ]


def _firing(row: ReadRow) -> FiringRow:
    aids = []
    for number, name_field, mass_field in _AIDS if row.values.keys() & _AID_FIELDS else ():
        name, mass_g = row.values.pop(name_field, None), row.values.pop(mass_field, None)
        if name is not None or mass_g is not None:
            aids.append(Aid(number, name or "", mass_g))
    return row.build(FiringRow, rise_decimals=row.rise_decimals, own=row.own, aids=tuple(aids))


def _one_firing_each(table: FoundTable) -> list[ReadTable]:
    """Return a sheet of readings in long form as it is, one with a column for each firing as a table for each."""
    if not _is_wide(table):
        return [table]
    tables: list[ReadTable] = []
    temperature = next(column for column in READINGS.columns if column.field == "temperature_C")
    beside = [found for found in table.columns if found.column.field in ("time_min", "period")]
    for index, firing in table.other_headings():
        column = FoundColumn(temperature, index, f"firing {firing}", units.read("°C", "temperature"))
        one = replace(table, columns=(*beside, column), firing=firing)
        tables.append(one)
    return tables or [replace(table, columns=())]


def _is_wide(table: FoundTable) -> bool:
    return not {"firing", "temperature_C"} <= {found.column.field for found in table.columns}


def _sample(row: ReadRow, trouble: list[Finding]) -> SampleRow:
    general = row.values.pop("basis", None)
    contents: dict[str, float] = {}
    bases: dict[str, Basis | None] = {}
    sample = str(row.values.get("sample", "")) or None
    for name in ("moisture_analysis", "moisture_total", *CONTENT_FIELDS):
        value = row.values.get(name)
        if not isinstance(value, float):
            continue
        if not 0 <= value < 100:
            trouble.append(
                row.place.finding(
                    "percentage-unfit",
                    name,
                    sample=sample,
                    severity=None if name in _ENTERING else Severity.REVIEW,
                    heading=row.place.heading(name),
                    read=cells.number_text(value),
                )
            )
            row.unreadable |= {name}
            del row.values[name]
        elif name in CONTENT_FIELDS:
            contents[name] = value
            own = row.bases.get(name)
            basis = own or (general if isinstance(general, Basis) else None)
            bases[name] = basis
    for name in CONTENT_FIELDS:
        row.values.pop(name, None)
    return row.build(SampleRow, contents=contents, bases=bases, own=row.own, own_verdict=row.own_verdict)


def _read_setup(tables: Iterable[ReadTable], trouble: list[Finding]) -> list[SetupEntry]:
    entries: dict[tuple[str, str], SetupEntry] = {}
    twice: set[tuple[str, str]] = set()
    for line in (line for table in tables for line in table.lines()):
        place, row_cells = line.place, line.cells
        entry = _setup_entry(place, row_cells, trouble)
        if entry is None:
            continue
        key = (entry.key, fold(entry.label))
        if key in entries:
            twice.add(key)
            trouble.append(
                place.finding(
                    "setup-item-twice",
                    "item",
                    severity=Severity.REVIEW if SETUP_ITEMS_BY_KEY[entry.key].kind == "text" else None,
                    item=row_cells["item"][1].text,
                    other=entries[key].place.row,
                )
            )
        else:
            entries[key] = entry
    return [
        SetupEntry(e.key, e.label, None, e.unit, e.source, e.in_force_from, e.place, frozenset({"value"}))
        if key in twice
        else e
        for key, e in entries.items()
    ]


def _setup_entry(place: Place, row_cells: RowCells, trouble: list[Finding]) -> SetupEntry | None:
    if "value" not in row_cells:
        return None
    if "item" not in row_cells:
        trouble.append(place.finding("setup-item-blank", "value", read=row_cells["value"][1].text))
        return None
    written = row_cells["item"][1].text
    item, label = _setup_item(written)
    if item is None:
        close = difflib.get_close_matches(fold(written), _ITEMS, 1)
        hint = f" (meant: {_ITEMS[close[0]].name}?)" if close else ""
        trouble.append(place.finding("setup-item-unknown", "item", item=written, hint=hint))
        return None
    texts, unreadable = {}, set()
    for name in ("unit", "source"):
        text = cells.as_text(row_cells[name][1]) if name in row_cells else ""
        if isinstance(text, Trouble):
            unreadable.add(name)
            trouble.append(_setup_finding(place, name, text))
            text = ""
        texts[name] = text
    in_force: dt.date | None = None
    if "in_force_from" in row_cells:
        read = cells.as_date(row_cells["in_force_from"][1])
        if isinstance(read, Trouble):
            unreadable.add("in_force_from")
            trouble.append(_setup_finding(place, "in_force_from", read))
        else:
            in_force = read
    value = _setup_value(item, row_cells["value"][1])
    if isinstance(value, Trouble):
        unreadable.add("value")
        trouble.append(_setup_finding(place, "value", value, item.name))
        value = None
    return SetupEntry(item.key, label, value, texts["unit"], texts["source"], in_force, place, frozenset(unreadable))


def _setup_item(written: str) -> tuple[SetupItem | None, str]:
    name, bracket, rest = written.partition("[")
    item = _ITEMS.get(fold(name))
    if item is None or (bracket and item.labelled is None):
        return None, ""
    label = cells.clean(rest.rpartition("]")[0] or rest) if bracket else ""
    return item, "" if label == item.labelled else label


def _setup_value(item: SetupItem, cell: Cell) -> float | str | dt.date | Trouble | None:
    if item.kind == "date":
        return cells.as_date(cell)
    if item.kind == "number":
        if cell.kind is not CellKind.TEXT:
            return cells.as_number(cell)
        code = cells.text_number_code(cell.text)
        is_word = code == "text-in-number" or cell.text.casefold() in {choice.casefold() for choice in item.choices}
        return cells.as_text(cell) if is_word else Trouble(code, cell.text)
    return cells.as_text(cell)


def _setup_finding(place: Place, name: str, trouble: Trouble, item: str | None = None) -> Finding:
    heading = item or place.heading(name)
    details: dict[str, Any] = dict(trouble.details)
    return place.finding(trouble.code, name, heading=heading, read=trouble.read, **details)
