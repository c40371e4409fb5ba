"""From the cells of a row to the values of its fields, each as its column has it, and what is doubtful about them."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from typing import Any, TypeVar

from msgspec import Struct, field

from batchcal.logged import (
    AmendmentRow,
    EquipmentRow,
    FiringRow,
    OwnResult,
    Place,
    ReadingRow,
    SampleRow,
    TitrantRow,
    TitrationRow,
)
from batchcal.terms import (
    Basis,
    ConcentrationUnit,
    EquipmentKind,
    Outcome,
    Period,
    Purpose,
    Titrant,
    Use,
    YesNo,
)
from batchcal.workbook import cells
from batchcal.workbook.cells import Cell, Trouble
from batchcal.workbook.grid import Content, Filled, PackedRow, as_cell
from batchcal.workbook.headings import FoundColumn, FoundTable, ReadTable

WORD_OF: Mapping[str, Callable[[str], object]] = {
    "purpose": Purpose,
    "outcome": Outcome,
    "use": Use,
    "washings_kept": YesNo,
    "capsule_in_tare": YesNo,
    "titrant": Titrant,
    "period": Period,
    "concentration_unit": ConcentrationUnit,
    "basis": Basis,
    "kind": EquipmentKind,
    "hydrogen_includes_moisture": YesNo,
    "on_certificate": YesNo,
}
"""By the field of a column with a closed list: what makes its word of a text."""

_OF_THE_RISE = frozenset({"rise_K", "initial_C", "final_C"})
"""Fields whose decimals, as they stand in the sheet, say how finely the rise was read."""

RowType = TypeVar("RowType", FiringRow, TitrationRow, SampleRow, ReadingRow, TitrantRow, EquipmentRow, AmendmentRow)
DoubtfulCells = list[tuple[FoundColumn, Trouble]]


class ReadRow(Struct):
    """One row on its way into the model: the values that could be read, and the fields that could not."""

    place: Place
    bases: Mapping[str, Basis]
    """The bases that headings name, by field."""
    # Any: each value has the type of its field, which the column's kind decides.
    values: dict[str, Any] = field(default_factory=dict)
    unreadable: frozenset[str] = frozenset()
    rise_decimals: int | None = None
    own: Mapping[str, OwnResult] = field(default_factory=dict)
    own_verdict: str = ""

    def build(self, kind: type[RowType], **extra: Any) -> RowType:
        """Return the row of the model."""
        return kind(place=self.place, unreadable=self.unreadable, **self.values, **extra)


class _Kept(dict[Content, object]):
    """What cells are taken for, by what stands in them; the same comes again and again in a log."""

    __slots__ = ("_found",)

    def __init__(self, found: FoundColumn) -> None:
        super().__init__()
        self._found = found

    def __missing__(self, content: Content) -> object:
        value = self[content] = _value(self._found, content)
        return value


class _Reader(Struct, frozen=True):
    """What reads the cells of one column: ``take`` returns the value, or the trouble with it."""

    name: str
    found: FoundColumn
    take: Callable[[Content], object]
    as_it_stands: bool
    """Whether a plain number is its own value."""
    usual: bool
    """Whether it is the value that is kept, and nothing beside."""


class Values:
    """Reads the rows of the tables of one workbook."""

    def __init__(self) -> None:
        self._kept: dict[object, _Kept] = {}

    def rows(self, table: ReadTable) -> Iterator[tuple[ReadRow, DoubtfulCells]]:
        """Yield the rows of a table with anything in them, each with its doubtful cells."""
        if isinstance(table, FoundTable) and not table.firing:
            yield from self._rows_found(table)
            return
        readers: dict[int, _Reader] = {}
        for line in table.lines():
            known = {name: value for name, value in line.known.items() if value is not None}
            before = len(known)
            bases = {name: found.basis for name, (found, _) in line.cells.items() if found.basis is not None}
            row = ReadRow(line.place, bases, known, line.unreadable)
            taking = [
                readers.get(id(found)) or readers.setdefault(id(found), self._reader(found))
                for found, _ in line.cells.values()
            ]
            troubles = _read_row(row, taking, [cell for _, cell in line.cells.values()])
            if len(row.values) > before or row.unreadable:
                yield row, troubles

    def _rows_found(self, table: FoundTable) -> Iterator[tuple[ReadRow, DoubtfulCells]]:
        readers = {found.index: self._reader(found) for found in table.columns}
        bases = {found.column.field: found.basis for found in table.columns if found.basis is not None}
        by_filled: dict[Filled, list[_Reader | None]] = {}
        where = table.table
        for number, cells_ in table.body():
            contents: Iterable[Content]
            if isinstance(cells_, PackedRow):
                taking = by_filled.get(cells_.filled)
                if taking is None:
                    taking = by_filled[cells_.filled] = [readers.get(index) for index in cells_]
                contents = cells_.contents
            else:
                taking = [readers.get(index) for index in cells_]
                contents = cells_.values()
            row = ReadRow(Place(where, number), bases)
            troubles = _read_row(row, taking, contents)
            if row.values or row.unreadable:
                yield row, troubles

    def _reader(self, found: FoundColumn) -> _Reader:
        column, unit = found.column, found.unit
        usual = found.usable and not column.own
        if column.kind == "number":
            as_it_stands = usual and (unit is None or (unit.factor == 1 and unit.offset == 0 and not unit.calories))
            return _Reader(column.field, found, partial(_value, found), as_it_stands, usual)
        # What a column of a closed list holds depends on the list, and of any other on its kind alone.
        same = (column.field, column.choices) if column.choices else column.kind
        kept = self._kept.setdefault(same, _Kept(found))
        return _Reader(column.field, found, kept.__getitem__, False, usual)


def _read_row(row: ReadRow, taking: Iterable[_Reader | None], contents: Iterable[Content]) -> DoubtfulCells:
    """Read the cells of a row, each by its reader; one without is not read."""
    values = row.values
    troubles: DoubtfulCells = []
    for reader, content in zip(taking, contents, strict=True):
        if reader is None:
            continue
        name = reader.name
        if reader.as_it_stands and type(content) is float:
            values[name] = content or 0.0  # not -0.0
        elif not reader.usual and reader.found.column.own:
            trouble = _read_own(row, reader.found, as_cell(content))
            troubles += [(reader.found, trouble)] if trouble is not None else []
            continue
        else:
            value = reader.take(content)
            if isinstance(value, Trouble):
                troubles.append((reader.found, value))
                row.unreadable |= {name}
                continue
            if not reader.usual:
                row.unreadable |= {name}
                continue
            if value is None or value == "":
                continue
            values[name] = value
        if name in _OF_THE_RISE:
            number = as_cell(content).value
            if isinstance(number, float):
                row.rise_decimals = max(row.rise_decimals or 0, cells.decimals(number))
    return troubles


def _read_own(row: ReadRow, found: FoundColumn, cell: Cell) -> Trouble | None:
    """Keep a result of the lab's own sheet; a row that holds nothing else is no row of the log."""
    if found.column.choices:
        word = cells.as_choice(cell, found.column.choices)
        row.own_verdict = word if isinstance(word, str) else ""
        return word if isinstance(word, Trouble) else None
    number = cells.as_number(cell)
    if isinstance(number, float) and found.unit is not None and found.usable:
        row.own = {**row.own, found.column.field: OwnResult(number, found.unit.text)}
    return number if isinstance(number, Trouble) else None


def _value(found: FoundColumn, content: Content) -> object:
    column, cell = found.column, as_cell(content)
    if column.kind == "number":
        number = cells.as_number(cell)
        return found.unit.inside(number) if found.unit and isinstance(number, float) else number
    if column.kind == "id":
        return cells.as_identifier(cell)
    if column.kind == "date":
        return cells.as_date(cell)
    if column.kind == "time":
        return cells.as_time(cell)
    if column.kind == "choice":
        word = cells.as_choice(cell, column.choices)
        return WORD_OF[column.field](word) if isinstance(word, str) else word
    return cells.as_text(cell)
