"""The charge of one firing as formulas: mass, rise, heat exchange, ignition, aids and capsule, benzoic acid."""

from collections.abc import Mapping
from functools import partial

from msgspec import Struct

from batchcal.logged import Aid, FiringRow
from batchcal.model import FiringResult
from batchcal.terms import CertificateConditions, YesNo
from batchcal.workbook.conversions import ATMOSPHERES
from batchcal.workbook.working.alike import Rows
from batchcal.workbook.working.body import Form, Line
from batchcal.workbook.working.constants import BENZOIC, Ground
from batchcal.workbook.working.curves import FromReadings
from batchcal.workbook.working.group import Group
from batchcal.workbook.working.inputs import Inputs
from batchcal.workbook.working.live import NOTHING, Live, live, total


class Sheet(Struct, frozen=True):
    """What every row of firings needs, with the curves of firings and the heats found of aids."""

    ground: Ground
    curves: Mapping[int, FromReadings]
    """What the readings of a firing gave, by the identity of its row."""
    aid_heats: dict[str, Live]
    """Heats that were found from aid firings, by the key of the aid."""


class Charge(Struct, frozen=True):
    """The cells of one firing's charge."""

    mass: Live
    corrected_rise: Live
    ignition: Live
    aids: Live
    capsule: Live


def write_charge(sheet: Sheet, group: Group) -> Charge:
    """Fill the cells of the charge in rows of firings. ``aids`` leaves out the one whose heat the firing finds."""
    line, rows, inputs = group.line, group.rows, sheet.ground.inputs
    mass = line.put("D", _mass(inputs, rows), Form.FOUR)
    rise, exchange = _read_against_time(sheet, group) or (_rise(inputs, rows), _exchange(inputs, rows))
    rise = line.put("E", rise, Form.FOUR)
    corrected = line.put("G", rise + line.put("F", exchange, Form.FIVE), Form.FOUR)
    ignition = line.put("L", _ignition(sheet, line, rows))
    aids = line.put("M", _aids(sheet, group))
    return Charge(mass, corrected, ignition, aids, line.put("N", _capsule(sheet, rows)))


def _mass(inputs: Inputs, rows: Rows[FiringRow]) -> Live:
    mass = inputs.known(rows, "mass_g")
    if mass is not None:
        return mass
    tare = inputs.cells(rows, "crucible_g")
    if rows.ask(lambda row: row.capsule_in_tare is YesNo.NO and bool(row.capsule_mass_g)):
        tare = tare + inputs.cells(rows, "capsule_mass_g")
    return inputs.cells(rows, "crucible_and_sample_g") - tare


def _read_against_time(sheet: Sheet, group: Group) -> tuple[Live, Live] | None:
    """Return rise and heat exchange as the readings gave them, or None where there are none."""
    if not group.ask(lambda firing: id(firing.row) in sheet.curves):
        return None
    curves = [sheet.curves[id(firing.row)] for firing in group.firings]
    return group.marks.lives([curve.rise for curve in curves]), group.marks.lives([curve.exchange for curve in curves])


def _rise(inputs: Inputs, rows: Rows[FiringRow]) -> Live:
    rise = inputs.known(rows, "rise_K")
    return rise if rise is not None else inputs.cells(rows, "final_C") - inputs.cells(rows, "initial_C")


def _exchange(inputs: Inputs, rows: Rows[FiringRow]) -> Live:
    return inputs.maybe(rows, "heat_exchange_K") or NOTHING


def _ignition(sheet: Sheet, line: Line, rows: Rows[FiringRow]) -> Live:
    """Fill the cells of wire and thread, and return the heat of igniting: their sum, or the fixed heat."""
    if sheet.ground.settings.fixed_ignition_heat is not None:
        return sheet.ground.constants["fixed_ignition_heat"]
    parts = []
    wire = sheet.ground.settings.wire_heat
    inputs = sheet.ground.inputs
    lengths = ("wire_fitted_cm", "wire_left_cm")
    if wire is not None and wire.per == "cm" and all(rows.number(name) is not None for name in lengths):
        burnt = inputs.cells(rows, "wire_fitted_cm") - inputs.cells(rows, "wire_left_cm")
        parts.append(line.put("J", burnt * sheet.ground.constants["wire_heat"]))
    elif wire is not None and rows.number("wire_mass_g") is not None:
        parts.append(line.put("J", inputs.cells(rows, "wire_mass_g") * sheet.ground.constants["wire_heat"]))
    if sheet.ground.settings.thread_heat is not None:
        thread = inputs.maybe(rows, "thread_g")
        if thread is not None:
            parts.append(line.put("K", thread * sheet.ground.constants["thread_heat"]))
    return total(parts) if parts else NOTHING


def _aids(sheet: Sheet, group: Group) -> Live:
    parts = []
    for place, (field, key) in enumerate(group.ask(_fields_and_keys)):
        masses = group.figures(partial(_mass_of_aid, place))
        parts.append(sheet.ground.inputs.cells(group.rows, field, masses) * aid_heat(sheet, key))
    return total(parts) if parts else NOTHING


def _weighed(firing: FiringResult) -> list[Aid]:
    """Return the aids of a firing whose heat counts against it."""
    aids = firing.row.aids
    return [aid for aid in aids if aid.name and aid.mass_g is not None and aid.key != firing.aid_found]


def _fields_and_keys(firing: FiringResult) -> tuple[tuple[str, str], ...]:
    return tuple((aid.mass_field, aid.key) for aid in _weighed(firing))


def _mass_of_aid(place: int, firing: FiringResult) -> float | None:
    return _weighed(firing)[place].mass_g


def aid_heat(sheet: Sheet, key: str) -> Live:
    """Return the heat of an aid (J/g): as Setup has it, or as its firings found it."""
    entered = f"aid_heat:{key}"
    return sheet.ground.constants[entered] if entered in sheet.ground.constants else sheet.aid_heats[key]


def _capsule(sheet: Sheet, rows: Rows[FiringRow]) -> Live:
    heats = list(sheet.ground.settings.capsule_heats)
    if len(heats) != 1:
        return NOTHING
    mass = sheet.ground.inputs.maybe(rows, "capsule_mass_g")
    return NOTHING if mass is None else mass * sheet.ground.constants[f"capsule_heat:{heats[0]}"]


def benzoic_heat(sheet: Sheet, rows: Rows[FiringRow], mass: Live) -> Live:
    """Return the heat of the benzoic acid of a firing (J per g weighed): as certified, or for its conditions."""
    certified = sheet.ground.constants[BENZOIC]
    if sheet.ground.settings.certificate_conditions is CertificateConditions.AS_CERTIFIED:
        return certified
    inputs = sheet.ground.inputs
    atmosphere = inputs.record.conversions[ATMOSPHERES]
    litres = sheet.ground.constants["bomb_volume"] / 1000
    oxygen = (inputs.cells(rows, "oxygen_pressure_MPa") + atmosphere) / atmosphere
    water = inputs.cells(rows, "water_mL")
    initial = inputs.cells(rows, "initial_C")
    parts = 20 * (oxygen - 30) + 42 * (mass / litres - 3) + 30 * (water / litres - 3) - 45 * (initial - 25)
    return certified * (1 + parts / live(1_000_000))
