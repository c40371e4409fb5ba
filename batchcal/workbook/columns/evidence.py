"""What the cells of a column look like, and which fields and units that allows."""

import math
import statistics
from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct

from batchcal import units
from batchcal.workbook.cells import Cell, CellKind, decimals
from batchcal.workbook.columns.column_map import MapColumn
from batchcal.workbook.columns.fields import FIELDS, Field, column_of
from batchcal.workbook.columns.grammar import Heading, tidy
from batchcal.workbook.columns.records import with_comma
from batchcal.workbook.layout import Column

SAMPLES_SHOWN = 3

MOST = 0.9
"""Share of the values of a column that must lie where a field has them; common practice, no source."""


FEW_BROKEN = 0.3
"""Share of running numbers that may be mistyped with decimals; common practice, no source."""


class Seen(Struct, frozen=True):
    """A column (of forms: a line) as it stands: where, its heading taken apart, and the cells under it by row.

    ``numbers`` are the numbers by row; those typed as text with a decimal comma as well, for the looks of it only.
    """

    address: str
    heading: Heading
    cells: Mapping[int, Cell]
    numbers: Mapping[int, float]
    part: str = ""
    index: int = 0

    @property
    def samples(self) -> tuple[str, ...]:
        """A few different values as they stand, for a person to look at."""
        texts = dict.fromkeys(tidy(cell.text)[:24] for cell in self.cells.values() if cell.kind is not CellKind.EMPTY)
        return tuple(texts)[:SAMPLES_SHOWN]

    @property
    def comma_texts(self) -> int:
        """How many numbers are typed as text with a comma."""
        return sum(with_comma(cell) is not None and "," in str(cell.value) for cell in self.cells.values())

    @property
    def all_by_comma(self) -> bool:
        """Whether every number of the column that has decimals is typed as text with a comma."""
        own = [cell for cell in self.cells.values() if cell.kind is CellKind.NUMBER]
        whole = all(isinstance(cell.value, float) and cell.value.is_integer() for cell in own)
        return self.comma_texts > 0 and whole

    @property
    def places(self) -> int:
        """Decimals to which the numbers stand, at the most."""
        return max((decimals(value) for value in self.numbers.values()), default=0)

    @property
    def middle(self) -> float:
        """Median of the numbers, nan where there is none."""
        values = list(self.numbers.values())
        return statistics.median(values) if values else math.nan


def see(address: str, heading: Heading, cells: Mapping[int, Cell], *, part: str = "", index: int = 0) -> Seen:
    """Return a column as it stands."""
    numbers = {}
    for row, cell in cells.items():
        number = with_comma(cell) or cell
        if number.kind is CellKind.NUMBER and isinstance(number.value, float) and math.isfinite(number.value):
            numbers[row] = number.value
    return Seen(address, heading, cells, numbers, part, index)


def seen_kind(seen: Seen) -> CellKind | None:
    """Return what most of a column's cells are; None for a column without any."""
    kinds = [CellKind.NUMBER if with_comma(cell) else cell.kind for cell in seen.cells.values()]
    kinds = [kind for kind in kinds if kind is not CellKind.EMPTY]
    return max(set(kinds), key=lambda kind: (kinds.count(kind), kind.value)) if kinds else None


def objection(seen: Seen, field: Field, unit: str) -> str:
    """Return what in a column's cells speaks against a field, "" where nothing does; ``unit`` "": the usual one."""
    kind = seen_kind(seen)
    if kind is None or kind in (CellKind.ERROR, CellKind.UNCALCULATED):
        return ""
    column = field.column
    wants_number = field.kind == "number"
    if wants_number and kind not in (CellKind.NUMBER, CellKind.PER_CENT):
        return "its cells hold no numbers"
    if field.kind == "date" and kind is CellKind.NUMBER:
        return "its cells hold numbers, no dates"
    if field.kind == "time" and kind not in (CellKind.TIME, CellKind.DATE, CellKind.TEXT):
        return "its cells hold no times of day"
    if field.kind in ("text", "choice") and field.key in ("analyst", "fuel_type") and kind is CellKind.NUMBER:
        return "its cells hold numbers"
    broken = sum(not number.is_integer() for number in seen.numbers.values())
    if field.kind == "id" and kind is CellKind.NUMBER and broken > FEW_BROKEN * len(seen.numbers):
        return "its cells hold numbers with decimals"
    if not wants_number:
        return ""
    usual = field.usual or (column.usual if column is not None else None)
    quantity = field.quantity or (column.quantity if column is not None else None)
    own = field.unit or (column.unit if column is not None else None)
    if usual is None or quantity is None or own is None:
        return ""
    low, high = _inside(usual[0], own, quantity), _inside(usual[1], own, quantity)
    share = _share_within(seen.numbers.values(), unit or own, quantity, low, high)
    if share >= MOST:
        return ""
    values = list(seen.numbers.values())
    return f"its values run from {min(values):g} to {max(values):g}" + (f" {unit}" if unit else "")


def units_that_fit(seen: Seen, field: Field) -> list[str]:
    """Return the units in which a column's values lie where a field has them; of those worth the same, one."""
    column = field.column
    usual = field.usual or (column.usual if column is not None else None)
    quantity = field.quantity or (column.quantity if column is not None else None)
    own = field.unit or (column.unit if column is not None else None)
    if quantity is None:
        return []
    texts = units.readable(quantity).split(", ")
    if usual is None or own is None or not seen.numbers:
        return texts
    low, high = _inside(usual[0], own, quantity), _inside(usual[1], own, quantity)
    fitting: dict[float, str] = {}
    for text in texts:
        if _share_within(seen.numbers.values(), text, quantity, low, high) >= MOST:
            unit = units.read(text, quantity)
            worth = 0.0 if unit is None else unit.inside(1.0, 4.184 if unit.calories else None)
            if text == own or round(worth, 9) not in fitting:
                fitting[round(worth, 9)] = text
    return list(fitting.values())


def quantity_of(field: Field) -> str | None:
    """Return the family of units of a field."""
    column = field.column
    return field.quantity or (column.quantity if column is not None else None)


def unit_fits(unit: str, field: Field) -> bool:
    """Whether a unit is one that is read for a field."""
    quantity = quantity_of(field)
    return quantity is not None and units.read(unit, quantity) is not None


def _inside(value: float, unit: str, quantity: str) -> float:
    found = units.read(unit, quantity)
    if found is None:
        return value
    return found.inside(value, 4.184 if found.calories else None)


def _share_within(values: Iterable[float], unit: str, quantity: str, low: float, high: float) -> float:
    inside = [_inside(value, unit, quantity) for value in values]
    return sum(low <= value <= high for value in inside) / len(inside) if inside else 1.0


def own_map_entry(entries: Sequence[MapColumn], seen: Seen) -> MapColumn | None:
    """Return what an earlier map of the lab says of a heading, where it says one thing only."""
    found = [entry for entry in entries if tidy(entry.heading).casefold() == tidy(seen.heading.text).casefold()]
    return found[0] if len(found) == 1 and not found[0].is_open else None


def field_of(means: str) -> Field | None:
    """Return the field that is read under a heading of the blank workbook."""
    for field in FIELDS.values():
        if means and (field.means == means or means in field.by_basis.values()):
            return field
    return None


def column_for(field: Field, basis: str) -> Column | None:
    """Return the column of the layout under which a field on a basis is read."""
    return column_of(field.by_basis.get(basis, ""), field.holds) if field.by_basis else field.column
