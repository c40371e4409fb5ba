"""From the rows of Setup to the settings in force, in inside units; whatever is doubtful stays None with a finding."""

import datetime as dt
import difflib

from batchcal import findings, reference, units
from batchcal.errors import UsageError
from batchcal.evaluate import fitting
from batchcal.evaluate.certificate_items import with_certificate_items
from batchcal.evaluate.setup_reader import ENTERED, SetupReader, shown
from batchcal.findings import Finding
from batchcal.formulas import weighing
from batchcal.items import SETUP_ITEMS_BY_KEY
from batchcal.logged import SetupEntry
from batchcal.model import HeatCapacityEntry, Quantity, Settings
from batchcal.terms import (
    METHOD_KEYS,
    NET,
    REPORT_UNITS,
    AcidScheme,
    Basis,
    CalorieKind,
    CertificateConditions,
    DecimalMark,
    FurtherTestRule,
    HeatCapacityModel,
    HeatExchangeMethod,
    MassBasis,
)

_CALORIE_CONSTANTS = {
    CalorieKind.INTERNATIONAL: "calorie-international",
    CalorieKind.THERMOCHEMICAL: "calorie-thermochemical",
    CalorieKind.FIFTEEN_DEGREES: "calorie-15",
    CalorieKind.TWENTY_DEGREES: "calorie-20",
}


def read_settings(setup: tuple[SetupEntry, ...], method: str | None = None) -> tuple[Settings, list[Finding]]:
    """Return the settings in force and the findings about them; ``method`` is the key given by command.

    Raises UsageError where that key contradicts the workbook's own.
    """
    plain = {entry.key: entry for entry in setup if SETUP_ITEMS_BY_KEY[entry.key].labelled is None}
    reader = SetupReader(plain)
    reader.method = _method(reader, method)
    calorie_kind, calorie = _calorie(reader)
    reader.calorie_J = calorie.value if calorie else None
    scheme = reader.word("acid_scheme", AcidScheme)
    benzoic = reader.number("benzoic_heat")
    mass_basis = reader.word("benzoic_mass_basis", MassBasis)
    report_unit, report_factor = _report_unit(reader)
    bases, net = _bases(reader)
    date_entry = plain.get("batch_date")
    rounding = reader.number("report_rounding")
    labelled = [entry for entry in setup if SETUP_ITEMS_BY_KEY[entry.key].labelled is not None]
    settings = Settings(
        laboratory=reader.text("laboratory"),
        batch=reader.text("batch"),
        batch_date=date_entry.value if date_entry is not None and isinstance(date_entry.value, dt.date) else None,
        analyst=reader.text("analyst"),
        reviewer=reader.text("reviewer"),
        method=reader.method,
        acid_scheme=scheme,
        comparison_basis=_comparison_basis(reader),
        further_test_rule=reader.word("further_test_rule", FurtherTestRule) or FurtherTestRule.RANGE,
        bases_required=bases,
        net_required=net,
        report_unit=report_unit,
        report_unit_factor=report_factor,
        report_rounding=rounding.value if rounding else None,
        decimal_mark=reader.word("decimal_mark", DecimalMark) or DecimalMark.POINT,
        calorie_kind=calorie_kind,
        calorie=calorie,
        repeatability_limit=reader.number("repeatability_limit"),
        benzoic_heat=benzoic,
        benzoic_mass_basis=mass_basis,
        benzoic_heat_in_air=_benzoic_in_air(reader, benzoic, mass_basis),
        wire_heat=reader.number("wire_heat"),
        thread_heat=reader.number("thread_heat"),
        fixed_ignition_heat=reader.number("fixed_ignition_heat"),
        nitric_heat=_nitric_heat(reader, scheme),
        sulphuric_heat=reader.number("sulphuric_heat"),
        titrant_life=reader.number("titrant_life"),
        titrant_spread_limit=reader.number("titrant_spread_limit"),
        series_minimum=reader.number("series_minimum"),
        series_rsd_limit=reader.number("series_rsd_limit"),
        heat_capacity_life=reader.number("heat_capacity_life"),
        check_limit=reader.number("check_limit"),
        check_warning_limit=reader.number("check_warning_limit"),
        check_sd=reader.number("check_sd"),
        series_step_limit=reader.number("series_step_limit"),
        shortest_firing_interval=reader.number("shortest_firing_interval"),
        waiting_after_misfire=reader.number("waiting_after_misfire"),
        moisture_gap_limit=reader.number("moisture_gap_limit"),
        reading_resolution=reader.number("reading_resolution"),
        heat_exchange_method=reader.word("heat_exchange_method", HeatExchangeMethod),
        heat_capacity_model=reader.word("heat_capacity_model", HeatCapacityModel) or HeatCapacityModel.CONSTANT,
        certificate_conditions=(
            reader.word("certificate_conditions", CertificateConditions) or CertificateConditions.AS_CERTIFIED
        ),
        bomb_volume=reader.number("bomb_volume"),
        coverage_factor=reader.number("coverage_factor"),
        balance_uncertainty=reader.number("balance_uncertainty"),
        thermometer_uncertainty=reader.number("thermometer_uncertainty"),
        heat_exchange_uncertainty=reader.number("heat_exchange_uncertainty"),
        benzoic_uncertainty=reader.number("benzoic_uncertainty"),
        heat_capacity_uncertainty=reader.number("heat_capacity_uncertainty"),
        correction_uncertainty=reader.number("correction_uncertainty"),
        aid_uncertainty=reader.number("aid_uncertainty"),
        moisture_uncertainty=reader.number("moisture_uncertainty"),
        ash_uncertainty=reader.number("ash_uncertainty"),
        hydrogen_uncertainty=reader.number("hydrogen_uncertainty"),
        repeatability_sd=reader.number("repeatability_sd"),
        max_charge_energy=reader.number("max_charge_energy"),
        max_sample_mass=reader.number("max_sample_mass"),
        max_oxygen_pressure=reader.number("max_oxygen_pressure"),
        min_oxygen_pressure=reader.number("min_oxygen_pressure"),
        chlorine_limit=reader.number("chlorine_limit"),
        heat_capacities=tuple(_heat_capacities(reader, labelled)),
        aid_heats=_labelled(reader, labelled, "aid_heat"),
        capsule_heats=_labelled(reader, labelled, "capsule_heat"),
        entries=plain,
    )
    return with_certificate_items(settings, reader), reader.found


def _method(reader: SetupReader, given: str | None) -> str | None:
    entry = reader.entries.get("method")
    if entry is None or entry.value is None:
        if given is None and (entry is None or not entry.unreadable):
            reader.found.append(findings.make("method-missing"))
        return given
    key = "-".join(str(entry.value).casefold().split())
    if key not in METHOD_KEYS:
        reader.add("method-unknown", entry, "value", read=shown(entry.value), choices=", ".join(METHOD_KEYS))
        return given
    if given is not None and given != key:
        raise UsageError(f"--method {given} contradicts the workbook, whose Setup says {key}")
    return key


def _calorie(reader: SetupReader) -> tuple[CalorieKind | None, Quantity | None]:
    entry = reader.entries.get("calorie")
    if entry is None or entry.value is None:
        return None, None
    if isinstance(entry.value, float):
        low, high = reference.constant("calorie-lowest"), reference.constant("calorie-highest")
        if not low.value <= entry.value <= high.value:
            reason = f"a calorie is {low.value:g} to {high.value:g} J"
            reader.add("setup-number-unfit", entry, "value", read=shown(entry.value), reason=reason)
            return None, None
        return None, Quantity("Calorie", entry.value, "J", entry.source, ENTERED, shown(entry.value))
    kind = reader.word("calorie", CalorieKind)
    if kind is None:
        return None, None
    constant = reference.constant(_CALORIE_CONSTANTS[kind])
    if constant.mark == reference.Mark.CONFLICT:
        reader.add(
            "figure-from-memory",
            entry,
            "value",
            item=f"Calorie, {kind}",
            value=f"{constant.value:g}",
            unit="J",
            mark=constant.mark,
        )
    return kind, Quantity(f"Calorie, {kind}", constant.value, "J", reference.source(constant.source), constant.mark)


def _comparison_basis(reader: SetupReader) -> Basis | None:
    basis = reader.word("comparison_basis", Basis)
    if basis in (None, Basis.AS_ANALYSED, Basis.DRY):
        return basis
    reader.unfit(reader.entries["comparison_basis"], "ad or d")
    return None


def _bases(reader: SetupReader) -> tuple[tuple[Basis, ...], bool]:
    """Return the required bases, and whether net values are required on them as well."""
    entry = reader.entries.get("bases_required")
    if entry is None or entry.value is None:
        return (), False
    words = [word for word in str(entry.value).casefold().replace(";", ",").replace(",", " ").split() if word != "and"]
    if not all(word in {*Basis, NET} for word in words):
        reader.unfit(entry, "a list of " + ", ".join((*Basis, NET)))
        return (), False
    return tuple(basis for basis in Basis if basis in words), NET in words


def _report_unit(reader: SetupReader) -> tuple[str, float]:
    entry = reader.entries.get("report_unit")
    if entry is None or entry.value is None:
        return "J/g", 1.0
    for text in REPORT_UNITS:
        if units.normalise(text) == units.normalise(str(entry.value)):
            if "cal" in text and reader.calorie_J is None:
                reader.add("calorie-missing", entry, "value", unit=text)
                return "J/g", 1.0
            return text, units.energy_per_mass(text, reader.calorie_J)
    reader.unfit(entry, "one of: " + ", ".join(REPORT_UNITS))
    return "J/g", 1.0


def _benzoic_in_air(reader: SetupReader, heat: Quantity | None, basis: MassBasis | None) -> Quantity | None:
    if heat is None or basis is None:
        return None
    certified = reference.constant("benzoic-heat-srm-39j").value
    usual = {MassBasis.VACUUM: certified, MassBasis.AIR: weighing.heat_in_air(certified)}
    nearest = min(usual, key=lambda kind: abs(usual[kind] - heat.value))
    if nearest is not basis and abs(heat.value - usual[nearest]) < abs(usual[MassBasis.AIR] - certified) / 2:
        entry = reader.entries["benzoic_mass_basis"]
        value, expected = f"{heat.value:.0f}", f"{usual[basis]:.0f}"
        reader.add("benzoic-basis-suspect", entry, "value", value=value, basis=basis, usual=expected)
    if basis is MassBasis.AIR:
        return heat
    return Quantity(
        "Benzoic acid heat of combustion, per gram weighed in air",
        weighing.heat_in_air(heat.value),
        "J/g",
        heat.source,
        f"{heat.mark}; converted from mass in vacuum",
        cell=heat.cell,
    )


def _nitric_heat(reader: SetupReader, scheme: AcidScheme | None) -> Quantity | None:
    """Return what the nitric acid heat means under the scheme: J/mol, J per firing, or a fraction."""
    entry = reader.entries.get("nitric_heat")
    if entry is None or scheme is None or scheme is AcidScheme.NONE or entry.value is None:
        return None
    wanted, unit = {
        AcidScheme.FIXED: ("energy", "J per firing"),
        AcidScheme.PROPORTION: ("percentage", "% of the bomb value"),
    }.get(scheme, ("energy per amount", "kJ/mol"))
    if entry.unit and units.read(entry.unit, wanted) is None and units.read(entry.unit, "nitric heat") is not None:
        reader.add("acid-heat-unit", entry, "unit", read=f"{shown(entry.value)} {entry.unit}", scheme=scheme, unit=unit)
        return None
    if scheme is AcidScheme.PROPORTION:
        return _proportion(reader, entry)
    quantity = reader.quantity(entry, wanted)
    if quantity is None or scheme is AcidScheme.FIXED:
        return quantity
    low, high = reference.constant("nitric-heat-lowest"), reference.constant("nitric-heat-highest")
    if not low.value <= quantity.value / 1000.0 <= high.value:
        reason = f"between {low.value:g} and {high.value:g} {low.unit} is possible"
        if isinstance(entry.value, float):
            possible = (low.value * 1000.0, high.value * 1000.0)
            reason += fitting.hint(entry.value, entry.unit, wanted, lambda v, _per: possible[0] <= v <= possible[1])
        reader.add("setup-number-unfit", entry, "value", read=f"{shown(entry.value)} {entry.unit}", reason=reason)
        return None
    return quantity


def _proportion(reader: SetupReader, entry: SetupEntry) -> Quantity | None:
    quantity = reader.quantity(entry, "percentage")
    if quantity is None:
        return None
    fraction = quantity.value / 100.0 if entry.unit else quantity.value
    highest = reference.constant("nitric-proportion-highest").value
    if fraction > highest:
        reason = f"up to {highest * 100:g} % of the bomb value is possible; a blank unit means a plain fraction"
        reader.add("setup-number-unfit", entry, "value", read=f"{shown(entry.value)} {entry.unit}", reason=reason)
        return None
    return Quantity(
        "Nitric acid heat, fraction of the bomb value",
        fraction,
        "",
        quantity.source,
        quantity.mark,
        quantity.text,
        in_force_from=quantity.in_force_from,
        cell=quantity.cell,
    )


def _heat_capacities(reader: SetupReader, labelled: list[SetupEntry]) -> list[HeatCapacityEntry]:
    entries = []
    for entry in labelled:
        if entry.key != "heat_capacity":
            continue
        quantity = reader.quantity(entry)
        if quantity is None:
            continue
        calorimeter, slash, bomb = entry.label.rpartition("/")
        if not slash:
            calorimeter, bomb = entry.label, ""
        entries.append(
            HeatCapacityEntry(
                calorimeter.strip(),
                bomb.strip(),
                quantity,
                bool(entry.source) and entry.in_force_from is not None,
                entry.place,
            )
        )
    return entries


def _labelled(reader: SetupReader, labelled: list[SetupEntry], key: str) -> dict[str, Quantity]:
    found = {}
    for entry in labelled:
        if entry.key == key:
            quantity = reader.quantity(entry)
            if quantity is not None:
                found[entry.label.casefold()] = quantity
    return found


def nearest(word: str, known: list[str]) -> str:
    """Return a hint with the known word most like ``word``, exchanged characters first, or ""."""
    close = difflib.get_close_matches(word, known, len(known) or 1, 0.6)
    close.sort(key=lambda other: sorted(other) != sorted(word))  # stable: otherwise the closest first
    return f"; nearest: {close[0]}" if close else ""
