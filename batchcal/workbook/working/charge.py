"""The charge of one firing as formulas: mass, rise, heat exchange, ignition, aids and capsule, benzoic acid."""

from collections.abc import Mapping
from dataclasses import dataclass

from batchcal.logged import FiringRow
from batchcal.model import FiringResult
from batchcal.terms import CertificateConditions, YesNo
from batchcal.workbook.conversions import ATMOSPHERES
from batchcal.workbook.working.body import Form, Line
from batchcal.workbook.working.constants import BENZOIC, Ground
from batchcal.workbook.working.curves import FromReadings
from batchcal.workbook.working.inputs import Inputs
from batchcal.workbook.working.live import NOTHING, Live, live, total


@dataclass(frozen=True, slots=True)
class Sheet:
    """What every row of firings needs, with the curves of firings and the heats found of aids."""

    ground: Ground
    curves: Mapping[int, FromReadings]
    """What the readings of a firing gave, by the identity of its row."""
    aid_heats: dict[str, Live]
    """Heats that were found from aid firings, by the key of the aid."""


@dataclass(frozen=True, slots=True)
class Charge:
    """The cells of one firing's charge."""

    mass: Live
    corrected_rise: Live
    ignition: Live
    aids: Live
    capsule: Live


def write_charge(sheet: Sheet, line: Line, firing: FiringResult) -> Charge:
    """Fill the cells of the charge in a row of firings. ``aids`` leaves out the one whose heat the firing finds."""
    mass = line.put("D", _mass(sheet.ground.inputs, firing.row), Form.FOUR)
    curve = sheet.curves.get(id(firing.row))
    rise = line.put("E", curve.rise if curve is not None else _rise(sheet.ground.inputs, firing.row), Form.FOUR)
    exchange = curve.exchange if curve is not None else _exchange(sheet.ground.inputs, firing.row)
    corrected = line.put("G", rise + line.put("F", exchange, Form.FIVE), Form.FOUR)
    ignition = line.put("L", _ignition(sheet, line, firing.row))
    aids = line.put("M", _aids(sheet, firing))
    return Charge(mass, corrected, ignition, aids, line.put("N", _capsule(sheet, firing.row)))


def _mass(inputs: Inputs, row: FiringRow) -> Live:
    if row.mass_g is not None:
        return inputs.cell(row.place, "mass_g", row.mass_g)
    tare = inputs.cell(row.place, "crucible_g", row.crucible_g or 0.0)
    if row.capsule_in_tare is YesNo.NO and row.capsule_mass_g:
        tare = tare + inputs.cell(row.place, "capsule_mass_g", row.capsule_mass_g)
    return inputs.cell(row.place, "crucible_and_sample_g", row.crucible_and_sample_g or 0.0) - tare


def _rise(inputs: Inputs, row: FiringRow) -> Live:
    if row.rise_K is not None:
        return inputs.cell(row.place, "rise_K", row.rise_K)
    return inputs.cell(row.place, "final_C", row.final_C or 0.0) - inputs.cell(
        row.place, "initial_C", row.initial_C or 0.0
    )


def _exchange(inputs: Inputs, row: FiringRow) -> Live:
    return inputs.optional(row.place, "heat_exchange_K", row.heat_exchange_K) or NOTHING


def _ignition(sheet: Sheet, line: Line, row: FiringRow) -> Live:
    """Fill the cells of wire and thread, and return the heat of igniting: their sum, or the fixed heat."""
    if sheet.ground.settings.fixed_ignition_heat is not None:
        return sheet.ground.constants["fixed_ignition_heat"]
    parts = []
    wire = sheet.ground.settings.wire_heat
    place, cell = row.place, sheet.ground.inputs.cell
    if wire is not None and wire.per == "cm" and row.wire_fitted_cm is not None and row.wire_left_cm is not None:
        burnt = cell(place, "wire_fitted_cm", row.wire_fitted_cm) - cell(place, "wire_left_cm", row.wire_left_cm)
        parts.append(line.put("J", burnt * sheet.ground.constants["wire_heat"]))
    elif wire is not None and row.wire_mass_g is not None:
        parts.append(line.put("J", cell(place, "wire_mass_g", row.wire_mass_g) * sheet.ground.constants["wire_heat"]))
    if sheet.ground.settings.thread_heat is not None:
        thread = sheet.ground.inputs.optional(place, "thread_g", row.thread_g)
        if thread is not None:
            parts.append(line.put("K", thread * sheet.ground.constants["thread_heat"]))
    return total(parts) if parts else NOTHING


def _aids(sheet: Sheet, firing: FiringResult) -> Live:
    parts = []
    for aid in firing.row.aids:
        if aid.name and aid.mass_g is not None and aid.key != firing.aid_found:
            mass = sheet.ground.inputs.cell(firing.row.place, aid.mass_field, aid.mass_g)
            parts.append(mass * aid_heat(sheet, aid.key))
    return total(parts) if parts else NOTHING


def aid_heat(sheet: Sheet, key: str) -> Live:
    """Return the heat of an aid (J/g): as Setup has it, or as its firings found it."""
    entered = f"aid_heat:{key}"
    return sheet.ground.constants[entered] if entered in sheet.ground.constants else sheet.aid_heats[key]


def _capsule(sheet: Sheet, row: FiringRow) -> Live:
    heats = list(sheet.ground.settings.capsule_heats)
    if len(heats) != 1:
        return NOTHING
    mass = sheet.ground.inputs.optional(row.place, "capsule_mass_g", row.capsule_mass_g)
    return NOTHING if mass is None else mass * sheet.ground.constants[f"capsule_heat:{heats[0]}"]


def benzoic_heat(sheet: Sheet, row: FiringRow, mass: Live) -> Live:
    """Return the heat of the benzoic acid of a firing (J per g weighed): as certified, or for its conditions."""
    certified = sheet.ground.constants[BENZOIC]
    if sheet.ground.settings.certificate_conditions is CertificateConditions.AS_CERTIFIED:
        return certified
    place, cell = row.place, sheet.ground.inputs.cell
    atmosphere = sheet.ground.inputs.record.conversions[ATMOSPHERES]
    litres = sheet.ground.constants["bomb_volume"] / 1000
    oxygen = (cell(place, "oxygen_pressure_MPa", row.oxygen_pressure_MPa or 0.0) + atmosphere) / atmosphere
    water = cell(place, "water_mL", row.water_mL or 0.0)
    initial = cell(place, "initial_C", row.initial_C or 0.0)
    parts = 20 * (oxygen - 30) + 42 * (mass / litres - 3) + 30 * (water / litres - 3) - 45 * (initial - 25)
    return certified * (1 + parts / live(1_000_000))
