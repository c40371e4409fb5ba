"""From the records of a lab's own sheet to the tables of the layout; one record may serve several of them."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct, field

from batchcal import findings, units
from batchcal.findings import Finding, Severity
from batchcal.logged import Place, Table
from batchcal.terms import Basis, ConcentrationUnit, Purpose
from batchcal.workbook.cells import Cell, CellKind, as_identifier
from batchcal.workbook.columns.column_map import Fixed, MapColumn
from batchcal.workbook.columns.fields import ROLES, columns_of
from batchcal.workbook.columns.fit import key
from batchcal.workbook.columns.grammar import strength
from batchcal.workbook.columns.records import Record, Recorded, Spot, Standing
from batchcal.workbook.grid import NO_CELLS, Grid
from batchcal.workbook.headings import FoundColumn, Line
from batchcal.workbook.layout import Column, Sheet
from batchcal.workbook.row_values import WORD_OF

ANY = "*"
"""Closing a word of the map: whatever it begins."""

_MARKED = ("Purpose", "Sample no.", "Description", "Fuel class")
"""Headings under which a word of the map says what a firing is for."""

_BESIDE_A_TITRE = frozenset({"Firing no.", "Titrant", "Concentration", "Concentration unit", "Blank"})
"""What may hold for every row; a row with nothing else of a titration was not titrated."""

_NOT_A_SAMPLE = (Purpose.CALIBRATION, Purpose.CHECK, Purpose.AID, Purpose.TRIAL)


class View(Struct, frozen=True):
    """A table of the layout as a map finds it on a lab's own sheet; the reader takes it like one of its own."""

    sheet: Sheet
    grid: Grid
    columns: tuple[FoundColumn, ...]
    table: Table
    rows: tuple[Line, ...]
    findings: tuple[Finding, ...] = ()

    def lines(self) -> Iterable[Line]:
        """Return its rows."""
        return self.rows

    def body(self) -> Iterator[tuple[int, Mapping[int, Cell]]]:
        """Yield the rows of the sheet that it has lines of; none of forms, whose fields run down."""
        if self.columns:
            for row in dict.fromkeys(line.place.row for line in self.rows):
                yield row, self.grid.rows.get(row, NO_CELLS)


Numbers = Mapping[int, str]
"""Firing numbers that were made, by the identity of their record."""


class Maker(Struct):
    """Makes the views of one table on one sheet, for every sheet of the layout that it serves."""

    recorded: Recorded
    words: Mapping[str, str]
    """The lab's words, folded, with ours."""
    made: Numbers = field(default_factory=dict)
    known: Mapping[str, object] = field(default_factory=dict)
    """Values by field that hold for every record, such as the firing number of a sheet of readings."""

    def views(self) -> Iterator[View]:
        """Yield a view for each sheet of the layout, and each test portion of a row, that has anything to read."""
        holds = self.recorded.table.holds
        known = columns_of(holds)
        for sheet in ROLES[holds]:
            columns = {name: column for name, (_, column) in known.items() if column in sheet.readable}
            if sheet.role in ("titration", "samples") and holds in ("firings", "calibration"):
                key_name = "Firing no." if sheet.role == "titration" else "Sample no."
                columns[key_name] = next(column for column in sheet.columns if column.name == key_name)
            for standing in self.recorded.standings:
                view = self._view(sheet, standing, columns)
                if view is not None and (view.rows or view.findings or sheet is ROLES[holds][0]):
                    yield view

    def _view(self, sheet: Sheet, standing: Standing, columns: Mapping[str, Column]) -> View | None:
        names = [name for name in columns if name in standing.entries]
        found = {name: _found(columns[name], standing.entries[name], standing.letters.get(name, 0)) for name in names}
        for record in self.recorded.records:
            for name, spot in record.spots.items():
                if name in columns and name not in found:
                    found[name] = _found(columns[name], spot.entry, 0)
        # A sample's contents may stand in the row of any of its firings: one view holds them all.
        merged = sheet.role == "samples" and self.recorded.table.holds == "firings"
        table = Table(
            self.recorded.grid.title,
            standing.heading_row,
            {one.column.field: one.letter for one in found.values() if one.index},
            {one.column.field: one.heading for one in found.values()},
            role=sheet.role,
            part="" if merged else standing.part,
            units={one.column.field: one.unit.text for one in found.values() if one.unit is not None},
            texts=frozenset(self.recorded.texts),
        )
        records = [record for record in self.recorded.records if record.part == standing.part]
        trouble: list[Finding] = []
        if merged:
            if standing is not self.recorded.standings[0]:
                return None
            lines = self._samples(self.recorded.records, table, found, trouble)
        else:
            lines = [line for record in records if (line := self._line(record, table, found)) is not None]
        in_columns = tuple(one for one in found.values() if one.index)
        return View(sheet, self.recorded.grid, in_columns, table, tuple(lines), tuple(trouble))

    def _line(self, record: Record, table: Table, found: Mapping[str, FoundColumn]) -> Line | None:
        if not record.fired:
            return None
        holds = self.recorded.table.holds
        spots = {name: spot for name, spot in record.spots.items() if name in found}
        fields = {column.field for column in self._sheet(table.role).readable}
        known: dict[str, object] = {name: value for name, value in self.known.items() if name in fields}
        if id(record) in self.made:
            known["firing"] = self.made[id(record)]
        of_firings = holds in ("firings", "calibration")
        if table.role == "titration" and of_firings and set(spots) <= _BESIDE_A_TITRE:
            return None
        if table.role == "titration":
            self._add_strength(spots, known)
        if table.role in ("runs", "calibration"):
            spots = self._add_purpose(record, spots, known)
            if record.part and "Replicate" not in spots:
                known["replicate"] = record.part
        self._add_fixed(table.role, spots, known)
        return _line(Place(table, record.row), spots, found, known, self.words)

    def _add_purpose(self, record: Record, spots: dict[str, Spot], known: dict[str, object]) -> dict[str, Spot]:
        """Say what a firing is for by a word of the map; the cell of that word is then no number and no purpose."""
        for name in _MARKED:
            spot = record.spots.get(name)
            word = self._word(spot) if spot is not None else None
            if word in tuple(Purpose):
                known["purpose"] = Purpose(word)
                return {other: one for other, one in spots.items() if other not in (name, "Purpose")}
        word = self._word_of(str(known.get("sample", "")))
        if word in tuple(Purpose):
            known["purpose"] = Purpose(word)
            del known["sample"]
        return spots

    def _add_strength(self, spots: Mapping[str, Spot], known: dict[str, object]) -> None:
        spot = spots.get("Concentration")
        unit = strength(spot.entry.unit) if spot is not None else ""
        if unit and "Concentration unit" not in spots:
            known["concentration_unit"] = ConcentrationUnit(unit)

    def _add_fixed(self, role: str, spots: Mapping[str, Spot], known: dict[str, object]) -> None:
        by_name = {column.name: column for column in self._sheet(role).readable}
        for name, value in self.recorded.table.every_row.items():
            column = by_name.get(name)
            if column is not None and name not in spots:
                known[column.field] = _inside(column, value)

    def _sheet(self, role: str) -> Sheet:
        return next(sheet for sheet in ROLES[self.recorded.table.holds] if sheet.role == role)

    def _word(self, spot: Spot) -> str | None:
        return self._word_of(str(spot.cell.value)) if spot.cell.kind is CellKind.TEXT else None

    def _word_of(self, said: str) -> str | None:
        """Return our word for a text of the lab, or None where the map has none for it."""
        text = key(said)
        if not text or text in self.words:
            return self.words.get(text)
        return next((word for begun, word in self.words.items() if _begins(text, begun)), None)

    def is_sample(self, record: Record) -> bool:
        """Whether a record is of a sample, and not of benzoic acid or a trial."""
        words = [self._word(record.spots[name]) for name in _MARKED if name in record.spots]
        words.append(self._word_of(str(self.known.get("sample", ""))))
        return not any(word in _NOT_A_SAMPLE for word in words)

    def _samples(
        self, records: Sequence[Record], table: Table, found: Mapping[str, FoundColumn], trouble: list[Finding]
    ) -> list[Line]:
        """Return one line a sample, from what the rows of its firings say of it; where they differ, nothing."""
        if set(found) <= {"Sample no."}:
            return []
        by_sample: dict[str, list[Record]] = {}
        for record in records:
            spot = record.spots.get("Sample no.")
            sample = self.known.get("sample") if spot is None else as_identifier(spot.cell)
            if isinstance(sample, str) and sample and self.is_sample(record):
                by_sample.setdefault(sample, []).append(record)
        lines = []
        for sample, members in by_sample.items():
            spots, unreadable = {}, set()
            for name in found:
                given = [(record, record.spots[name]) for record in members if name in record.spots]
                if not given:
                    continue
                spots[name] = given[0][1]
                odd = next((spot for _, spot in given if _differs(spot.cell, given[0][1].cell)), None)
                if odd is not None and name != "Sample no.":
                    column = found[name].column
                    unreadable.add(column.field)
                    del spots[name]
                    trouble.append(self._differ(sample, column, given[0][1], odd))
            place = Place(table, members[0].row)
            known: dict[str, object] = {} if "Sample no." in spots else {"sample": sample}
            self._add_fixed(table.role, spots, known)
            line = _line(place, spots, found, known, self.words, unreadable=frozenset(unreadable))
            if len(line.cells) > ("Sample no." in spots) or unreadable:
                lines.append(line)
        return lines

    def _differ(self, sample: str, column: Column, first: Spot, odd: Spot) -> Finding:
        row = int("".join(sign for sign in odd.address if sign.isdigit()))
        return findings.make(
            "replicate-contents-differ",
            sheet=self.recorded.grid.title,
            row=row,
            cell=odd.address,
            sample=sample,
            severity=None if column.enters else Severity.REVIEW,
            heading=odd.entry.heading,
            read=odd.cell.text,
            other=f"{first.cell.text} in {first.address}",
        )


def spoken(said: str) -> str:
    """Return a word of the map as it is compared."""
    return key(said) + (ANY if said.endswith(ANY) else "")


def _begins(text: str, said: str) -> bool:
    """Whether a text is one of those that a word of the map with a closing "*" stands for."""
    return said.endswith(ANY) and len(said) > 1 and text.startswith(said[:-1])


def _line(
    place: Place,
    spots: Mapping[str, Spot],
    found: Mapping[str, FoundColumn],
    known: Mapping[str, object],
    words: Mapping[str, str],
    *,
    unreadable: frozenset[str] = frozenset(),
) -> Line:
    cells = {}
    elsewhere = {}
    for name, spot in spots.items():
        one = found[name]
        cells[one.column.field] = (one, _translated(one.column, spot.cell, words))
        if spot.address != f"{one.letter if one.index else ''}{place.row}":
            elsewhere[one.column.field] = spot.address
    kept = {name: value for name, value in known.items() if name not in cells}
    return Line(Place(place.table, place.row, elsewhere), cells, kept, unreadable)


def _translated(column: Column, cell: Cell, words: Mapping[str, str]) -> Cell:
    """Return a cell of a closed list with the lab's word replaced by ours."""
    if not column.choices or cell.kind is not CellKind.TEXT:
        return cell
    word = words.get(key(str(cell.value)))
    return cell if word is None else Cell(CellKind.TEXT, word, cell.formula, cell.struck)


def _found(column: Column, entry: MapColumn, index: int) -> FoundColumn:
    unit = None
    if column.quantity is not None:
        unit = units.read(entry.unit, column.quantity) if entry.unit else units.only(column.quantity)
    basis = Basis(entry.basis) if column.with_basis and entry.basis else None
    return FoundColumn(column, index, entry.heading, unit, basis)


def _inside(column: Column, value: Fixed) -> object:
    """Return a value of the map as the row has it: a word of its list, a number in the unit used inside."""
    if column.choices:
        word = next(choice for choice in column.choices if choice.casefold() == str(value).casefold())
        return WORD_OF[column.field](word)
    if column.quantity and column.unit and isinstance(value, float):
        unit = units.read(column.unit, column.quantity)
        return unit.inside(value) if unit is not None else value
    return value


def _differs(one: Cell, other: Cell) -> bool:
    if isinstance(one.value, float) and isinstance(other.value, float):
        return one.value != other.value
    return one.kind is not other.kind or one.text != other.text
