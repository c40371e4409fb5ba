"""The constants in force on the sheet Working: from Setup as it stands, held against Record."""

from collections.abc import Iterator

from msgspec import Struct, field

from batchcal.items import SETUP_ITEMS_BY_KEY
from batchcal.logged import SetupEntry
from batchcal.model import Evaluation, Quantity, Settings
from batchcal.terms import AcidScheme, CertificateConditions, MassBasis
from batchcal.workbook.conversions import FRACTION, of_unit, unit_of_entry
from batchcal.workbook.record import RecordCells
from batchcal.workbook.working.body import LAST, Body, Form, Line
from batchcal.workbook.working.inputs import Inputs
from batchcal.workbook.working.live import Live, fixed, on_sheet, relative_difference

_HEADINGS = {
    "A": "Constant", "D": "On Setup", "E": "Factor of its unit", "F": "Calorie (J)", "G": "In force", "H": "Unit",
    "I": "On Record", LAST: "Relative difference",
}  # fmt: skip

BENZOIC = "benzoic_heat_in_air"
"""Key of the heat of benzoic acid per gram weighed in air."""


class Constants(Struct):
    """The constants of a sheet by key: of an item of Setup, or of the reference data."""

    record: RecordCells
    in_force: dict[str, Live] = field(default_factory=dict)

    def __getitem__(self, key: str) -> Live:
        """Return a constant: in force on this sheet, or of the reference data on Record."""
        return self.in_force[key] if key in self.in_force else self.record.constants[key]

    def __contains__(self, key: str) -> bool:
        """Whether the constant is known."""
        return key in self.in_force or key in self.record.constants


class Ground(Struct, frozen=True):
    """What every formula rests on: the evaluation, the cells of the log, and the constants in force."""

    evaluation: Evaluation
    inputs: Inputs
    constants: Constants

    @property
    def settings(self) -> Settings:
        """The settings in force."""
        return self.evaluation.settings


def write_constants(body: Body, evaluation: Evaluation, record: RecordCells) -> Constants:
    """Write a row for each constant in force and return where they stand."""
    constants = Constants(record)
    rows = list(_rows(evaluation))
    if not rows:
        return constants
    body.section("Constants in force", "From Setup as it stands now, in the unit used inside, held against Record.")
    body.headings(_HEADINGS, words="ABCH")
    for key, name, quantity, entry in rows:
        line = body.line()
        line.write("A", name, Form.STRONG)
        on_record = record.settings[name]
        found = on_record
        if entry is not None and stands_in_cell(entry):
            found = from_setup(line, entry, evaluation.settings, constants)
        _finish(body, constants, line, key, found=found, on_record=on_record, unit=quantity.unit)
        in_air = evaluation.settings.benzoic_heat_in_air
        if key == "benzoic_heat" and in_air is not None:
            _in_air(body, constants, evaluation, in_air)
    return constants


def stands_in_cell(entry: SetupEntry) -> bool:
    """Whether an item of Setup stands in a cell, as a number; the word "method" and what a map gives do not."""
    address = entry.place.cell("value")
    return isinstance(entry.value, float) and address is not None and address not in entry.place.table.texts


def from_setup(line: Line, entry: SetupEntry, settings: Settings, constants: Constants) -> Live:
    """Fill the cells of a figure on Setup, of its unit's factor and of its calorie; returns their product."""
    value = entry.value if isinstance(entry.value, float) else 0.0
    address = entry.place.cell("value") or ""
    found = line.put("D", Live(on_sheet(entry.place.sheet, fixed(address)), value), Form.PLAIN)
    unit = unit_of_entry(entry, settings)
    factor = None
    if entry.key == "nitric_heat" and settings.acid_scheme is AcidScheme.PROPORTION:
        factor = constants.record.conversions[FRACTION] if entry.unit else None
    elif unit is not None and (conversion := of_unit(unit)).factor is not None:
        factor = constants.record.conversions[conversion.factor.name]
    if factor is not None:
        found = found * line.put("E", factor, Form.PLAIN)
    if unit is not None and unit.calories:
        found = found * line.put("F", constants["calorie"], Form.PLAIN)
    return found


def _finish(body: Body, constants: Constants, line: Line, key: str, *, found: Live, on_record: Live, unit: str) -> None:
    in_force = line.put("G", found, Form.PLAIN)
    constants.in_force[key] = Live(fixed(in_force.text), in_force.value)
    line.write("H", unit, Form.TEXT)
    stored = line.put("I", on_record, Form.PLAIN)
    line.difference(relative_difference(in_force, stored))
    body.add(line)


def _in_air(body: Body, constants: Constants, evaluation: Evaluation, in_air: Quantity) -> None:
    """Write the heat of benzoic acid per gram weighed in air, from that of the certificate."""
    certified = constants["benzoic_heat"]
    if evaluation.settings.benzoic_mass_basis is not MassBasis.VACUUM:
        constants.in_force[BENZOIC] = certified
        return
    air, weights, benzoic = (constants[key] for key in ("air-density", "weight-density", "benzoic-density"))
    line = body.line()
    line.write("A", in_air.name, Form.STRONG)
    found = certified * (1 - air / weights) / (1 - air / benzoic)
    on_record = constants.record.settings[in_air.name]
    _finish(body, constants, line, BENZOIC, found=found, on_record=on_record, unit=in_air.unit)


def _rows(evaluation: Evaluation) -> Iterator[tuple[str, str, Quantity, SetupEntry | None]]:
    """Yield the quantities of Setup that enter a result: key, name, the quantity and its entry."""
    settings = evaluation.settings
    keys = ["calorie", "benzoic_heat"]
    keys += ["fixed_ignition_heat"] if settings.fixed_ignition_heat is not None else ["wire_heat", "thread_heat"]
    if settings.acid_scheme not in (None, AcidScheme.NONE):
        keys += ["nitric_heat", "sulphuric_heat"]
    keys.append("repeatability_limit")
    if settings.certificate_conditions is CertificateConditions.CORRECTED:
        keys.append("bomb_volume")
    for key in keys:
        quantity = getattr(settings, key)
        if quantity is not None and (key != "calorie" or _calories_used(evaluation)):
            yield key, SETUP_ITEMS_BY_KEY[key].name, quantity, settings.entries.get(key)
    entries = {(entry.key, entry.label.casefold()): entry for entry in evaluation.batch.setup}
    for key, heats in (("aid_heat", settings.aid_heats), ("capsule_heat", settings.capsule_heats)):
        for label, quantity in heats.items():
            entry = entries.get((key, label))
            if entry is not None and quantity.cell is not None:
                yield f"{key}:{label}", f"{SETUP_ITEMS_BY_KEY[key].name} [{label}]", quantity, entry


def _calories_used(evaluation: Evaluation) -> bool:
    units = (unit_of_entry(entry, evaluation.settings) for entry in evaluation.batch.setup)
    return any(unit is not None and unit.calories for unit in units)
