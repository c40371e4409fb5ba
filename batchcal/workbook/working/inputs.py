"""From cells of the log to parts of a formula: where each stands, converted into the unit used inside."""

from msgspec import Struct, field

from batchcal.logged import Place, Table
from batchcal.workbook.conversions import Conversion, of_field
from batchcal.workbook.record import RecordCells
from batchcal.workbook.working.alike import Places, Row, Rows
from batchcal.workbook.working.figures import Column, Figure
from batchcal.workbook.working.live import Live, live, on_sheet


class Inputs(Struct):
    """Makes formulas on the lab's cells; ``record`` says where the factors of their units stand."""

    record: RecordCells
    bare: int = 0
    """How many figures stand in formulas as they were read, since no cell holds them as a number."""
    _known: dict[tuple[int, str], Conversion | None] = field(default_factory=dict)

    def cell(self, place: Place, name: str, value: float) -> Live:
        """Return the cell of a field with its value in the unit used inside; the bare value where no cell holds it."""
        reference = self.reference(place, name)
        if reference is None:
            self.bare += 1
            return live(value)
        return self._converted(place.table, name, reference, value)

    def optional(self, place: Place, name: str, value: float | None) -> Live | None:
        """Return the cell of a field that may be blank and then counts as 0; None where the sheet has no such cell.

        A sum of one cell is 0 where the cell is blank, and follows once a figure stands there.
        """
        return self._blank(place, name) if value is None else self.cell(place, name, value)

    def cells(self, rows: Rows[Row], name: str, value: Column | None = None) -> Live:
        """Return the cells of a field, as :meth:`cell` does; blank counts as 0. ``value`` is that of no plain field."""
        value = value or rows.number(name) or rows.figures(lambda _: 0.0)
        return self._cells(rows, name, value)

    def known(self, rows: Rows[Row], name: str) -> Live | None:
        """Return the cells of a field, or None where it is blank."""
        value = rows.number(name)
        return None if value is None else self._cells(rows, name, value)

    def maybe(self, rows: Rows[Row], name: str) -> Live | None:
        """Return the cells of a field that may be blank and then counts as 0, as :meth:`optional` does."""
        value = rows.number(name)
        return self._blank(rows.place, name) if value is None else self._cells(rows, name, value)

    def _cells(self, rows: Rows[Row], name: str, value: Column) -> Live:
        reference = self.reference(rows.place, name)
        if reference is None:
            self.bare += 1
            return rows.marks.lives([live(each) for each in value.values])
        return self._converted(rows.place.table, name, reference, value)

    def _blank(self, place: Place | Places, name: str) -> Live | None:
        reference = self.reference(place, name)
        if reference is None:
            return None
        conversion = self._conversion(place.table, name)
        if conversion is not None and conversion.offset is not None:
            return None
        return self._converted(place.table, name, f"SUM({reference})", 0.0)

    def reference(self, place: Place | Places, name: str) -> str | None:
        """Return the address of a field's cell, or None where it has none, or one whose number stands as text."""
        address = place.cell(name)
        return None if address is None or address in place.table.texts else on_sheet(place.sheet, address)

    def factor(self, table: Table, name: str) -> Live | None:
        """Return the factor of a column's unit, or None where its figures stand in the unit used inside."""
        conversion = self._conversion(table, name)
        if conversion is None or conversion.factor is None:
            return None
        return self.record.conversions[conversion.factor.name]

    def offset(self, table: Table, name: str) -> Live | None:
        """Return what is taken off a column's figures to have them in the unit used inside, or None for nothing."""
        conversion = self._conversion(table, name)
        if conversion is None or conversion.offset is None:
            return None
        return self.record.conversions[conversion.offset.name]

    def _converted(self, table: Table, name: str, text: str, value: Figure) -> Live:
        conversion = self._conversion(table, name)
        if conversion is None:
            return Live(text, value)
        if conversion.offset is not None:
            taken_off = self.record.conversions[conversion.offset.name]
            return Live(text, value + taken_off.value) - taken_off
        if conversion.factor is not None:
            factor = self.record.conversions[conversion.factor.name]
            return Live(text, value / factor.value) * factor
        return Live(text, value)

    def _conversion(self, table: Table, name: str) -> Conversion | None:
        key = (id(table), name)
        if key not in self._known:
            self._known[key] = of_field(table, name)
        return self._known[key]
