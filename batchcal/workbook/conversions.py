"""The conversions of units that a workbook needs: its headings' and its Setup's, each with its factor, for Record."""

from collections.abc import Iterator
from itertools import chain

from msgspec import Struct

from batchcal import units
from batchcal.items import SETUP_ITEMS_BY_KEY
from batchcal.logged import SetupEntry, Table
from batchcal.model import Evaluation, Quantity, Settings
from batchcal.terms import AcidScheme, CertificateConditions, ConcentrationUnit, Titrant
from batchcal.units import Unit
from batchcal.workbook.headings import split_heading
from batchcal.workbook.layout import SHEETS

_SOURCE = "exact: the SI brochure (9th edition, 2019), the international pound and table Btu"
_MARK = "definition"

_INSIDE = {
    "energy": "J", "mass": "g", "length": "cm", "temperature difference": "K", "temperature": "°C", "amount": "mol",
    "volume": "mL", "percentage": "%", "pressure": "MPa", "concentration": "eq/L", "time": "min",
    "gram": "g",
}  # fmt: skip

_QUANTITIES = {
    column.field: column.quantity for sheet in SHEETS for column in sheet.readable if column.quantity is not None
}

FRACTION = "% to a plain fraction"
"""Name of the conversion of a proportion."""

ATMOSPHERES = "atm to MPa"
"""Name of the conversion by which a gauge pressure is made an absolute one in atmospheres."""


class Conversion(Struct, frozen=True):
    """How a figure as written becomes one in the unit used inside: times ``factor``, less ``offset``.

    Where ``calories`` the figure is still to be multiplied with the joules of the calorie in force.
    """

    factor: Quantity | None
    offset: Quantity | None = None
    calories: bool = False


def of_unit(unit: Unit) -> Conversion:
    """Return the conversion of a unit; without a factor and an offset where the unit is the one used inside."""
    inside = _INSIDE[unit.family]
    if unit.calories:
        inside = "cal"
    inside += f"/{unit.per}" if unit.per else ""
    factor = offset = None
    if unit.factor != 1.0:
        factor = Quantity(f"{unit.text} to {inside}", unit.factor, f"{inside} in 1 {unit.text}", _SOURCE, _MARK)
    if unit.offset:
        offset = Quantity(f"{unit.text} to {inside}, taken off", -unit.offset, inside, _SOURCE, _MARK)
    return Conversion(factor, offset, unit.calories)


def of_field(table: Table, field: str) -> Conversion | None:
    """Return the conversion of a column, or None where its figures have no unit."""
    quantity = _QUANTITIES.get(field)
    if quantity is None:
        return None
    text = table.units.get(field) or split_heading(table.headings.get(field, ""))[1]
    unit = units.read(text, quantity) if text else units.only(quantity)
    return of_unit(unit) if unit is not None else None


def unit_of_entry(entry: SetupEntry, settings: Settings) -> Unit | None:
    """Return the unit in which an item of Setup is entered, or None where it has none."""
    quantity = SETUP_ITEMS_BY_KEY[entry.key].quantity
    if entry.key == "nitric_heat":
        by_scheme = {AcidScheme.FIXED: "energy", AcidScheme.PROPORTION: "percentage"}
        quantity = by_scheme.get(settings.acid_scheme, "energy per amount") if settings.acid_scheme else None
    if quantity is None or quantity == "time span":
        return None
    return units.read(entry.unit, quantity) if entry.unit else units.only(quantity)


def of_titrant(titrant: Titrant) -> Quantity:
    """Return by what the strength of a base in mol/L becomes one in eq/L."""
    count = titrant.equivalents_per_mole
    return Quantity(f"mol/L of {titrant} to eq/L", float(count), "eq/mol", "stoichiometry", _MARK)


def conversions(evaluation: Evaluation) -> tuple[Quantity, ...]:
    """Return every factor and offset that a figure of this workbook is converted with, each once."""
    found = {quantity.name: quantity for quantity in _all(evaluation)}
    return tuple(found.values())


def _all(evaluation: Evaluation) -> Iterator[Quantity]:
    batch, settings = evaluation.batch, evaluation.settings
    places = chain(
        (row.place for row in batch.firings),
        (row.place for row in batch.titrations),
        (row.place for row in batch.samples),
        (row.place for row in batch.readings),
        (row.place for row in batch.titrants),
    )
    tables = {id(place.table): place.table for place in places}.values()
    pairs: list[Conversion | None] = [of_field(table, field) for table in tables for field in table.headings]
    for entry in batch.setup:
        unit = unit_of_entry(entry, settings) if isinstance(entry.value, float) else None
        pairs.append(of_unit(unit) if unit is not None else None)
    for conversion in pairs:
        if conversion is not None:
            yield from (part for part in (conversion.factor, conversion.offset) if part is not None)
    for row in batch.titrations:
        if row.titrant is not None and row.concentration_unit is ConcentrationUnit.MOLE_PER_LITRE:
            yield of_titrant(row.titrant)
    nitric = settings.entries.get("nitric_heat")
    if settings.acid_scheme is AcidScheme.PROPORTION and nitric is not None and nitric.unit:
        yield Quantity(FRACTION, 0.01, "1 in 1 %", _SOURCE, _MARK)
    if settings.certificate_conditions is CertificateConditions.CORRECTED:
        yield Quantity(ATMOSPHERES, 0.101325, "MPa in 1 atm", _SOURCE, _MARK)
