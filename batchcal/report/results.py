"""The results document, ``results.json``: every number unrounded, every key with its unit, null where not computed.

The keys and their order are a contract with the programs that read the file; a change of any of them is a new
schema. Texts that were blank in the workbook are null as well.
"""

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import BinaryIO

import batchcal
from batchcal.findings import Finding
from batchcal.model import Evaluation, FiringResult, Quantity, SampleResult, Series, Settings
from batchcal.report.json_text import write_json
from batchcal.report.release import changes_part, release_part
from batchcal.terms import NET_BASES, VALUE_NAMES, Basis

SCHEMA = "batchcal.results/1"


def results_document(evaluation: Evaluation, outputs: Mapping[str, str]) -> dict[str, object]:
    """Return the results document of ``evaluation`` as plain dictionaries and lists.

    ``outputs`` maps the name of each other output to its SHA-256 in hexadecimal, so that an incomplete set of
    files can be recognised.
    """
    parts = _parts(evaluation, outputs)
    return {name: list(part) if isinstance(part, Iterator) else part for name, part in parts.items()}


def write_results(out: BinaryIO, evaluation: Evaluation, outputs: Mapping[str, str]) -> None:
    """Write the results document as UTF-8 JSON; the same evaluation gives the same bytes.

    Raises ValueError where a number is not finite, which no evaluation may hold.
    """
    write_json(out, _parts(evaluation, outputs))


def _parts(evaluation: Evaluation, outputs: Mapping[str, str]) -> dict[str, object]:
    """Return the parts of the document; those that grow with the log are iterators, so that they never stand whole."""
    settings = evaluation.settings
    return {
        "schema": SCHEMA,
        "batchcal_version": batchcal.__version__,
        "input": {
            "file": evaluation.batch.file_name,
            "sha256": evaluation.batch.sha256,
            **_columns(evaluation),
            **_method_given(settings),
            **({"sheets": dict(evaluation.sheets)} if evaluation.sheets else {}),
        },
        "outputs": dict(sorted(outputs.items())),
        "release": release_part(evaluation),
        "settings": _settings(settings),
        "series": map(_series, evaluation.series),
        "firings": map(_firing, evaluation.firings),
        "samples": map(_sample, evaluation.samples),
        "findings": map(_finding, evaluation.findings),
        "settings_sha256": evaluation.settings_sha256,
        "settings_in_force": dict(evaluation.settings_in_force),
        "changes": changes_part(evaluation.changes),
    }


def _columns(evaluation: Evaluation) -> dict[str, object]:
    """Return the column map by which a lab's own sheets were read, where there was one."""
    columns = evaluation.batch.columns
    return {} if columns is None else {"columns": {"file": columns.file_name, "sha256": columns.sha256}}


def _method_given(settings: Settings) -> dict[str, object]:
    """Return the method where it was given by command, because Setup names none that is known."""
    entry = settings.entries.get("method")
    on_setup = "" if entry is None or entry.value is None else "-".join(str(entry.value).casefold().split())
    return {"method": settings.method} if settings.method is not None and settings.method != on_setup else {}


def _settings(settings: Settings) -> dict[str, object]:
    def per(quantity: Quantity | None, unit: str) -> float | None:
        """Return the value where it is in this unit, so that each key holds one unit only."""
        return quantity.value if quantity is not None and quantity.unit == unit else None

    return {
        "laboratory": settings.laboratory or None,
        "batch": settings.batch or None,
        "batch_date": _date(settings.batch_date),
        "method": settings.method,
        "acid_scheme": settings.acid_scheme,
        "comparison_basis": settings.comparison_basis,
        "further_test_rule": settings.further_test_rule,
        "repeatability_limit_J_per_g": _value(settings.repeatability_limit),
        "bases_required": list(settings.bases_required),
        "report_unit": settings.report_unit,
        "report_unit_J_per_g": settings.report_unit_factor,
        "report_rounding_in_report_unit": settings.report_rounding,
        "calorie": settings.calorie_kind,
        "calorie_J": _value(settings.calorie),
        "benzoic_heat_J_per_g": _value(settings.benzoic_heat),
        "benzoic_mass_basis": settings.benzoic_mass_basis,
        "benzoic_heat_in_air_J_per_g": _value(settings.benzoic_heat_in_air),
        "wire_heat_J_per_cm": per(settings.wire_heat, "J/cm"),
        "wire_heat_J_per_g": per(settings.wire_heat, "J/g"),
        "thread_heat_J_per_g": _value(settings.thread_heat),
        "fixed_ignition_heat_J": _value(settings.fixed_ignition_heat),
        "nitric_heat_J_per_mol": per(settings.nitric_heat, "J/mol"),
        "nitric_heat_J_per_firing": per(settings.nitric_heat, "J"),
        "nitric_fraction_of_bomb_value": per(settings.nitric_heat, ""),
        "sulphuric_heat_J_per_mol": _value(settings.sulphuric_heat),
        "series_minimum": _value(settings.series_minimum),
        "series_rsd_limit_percent": _value(settings.series_rsd_limit),
        "heat_capacity_life_days": per(settings.heat_capacity_life, "days"),
        "heat_capacity_life_months": per(settings.heat_capacity_life, "months"),
        "check_limit_percent": per(settings.check_limit, "%"),
        "check_limit_J_per_g": per(settings.check_limit, "J/g"),
        "check_warning_limit_percent": per(settings.check_warning_limit, "%"),
        "check_warning_limit_J_per_g": per(settings.check_warning_limit, "J/g"),
        "check_sd_percent": per(settings.check_sd, "%"),
        "check_sd_J_per_g": per(settings.check_sd, "J/g"),
        "reading_resolution_K": _value(settings.reading_resolution),
        "max_charge_energy_J": _value(settings.max_charge_energy),
        "max_sample_mass_g": _value(settings.max_sample_mass),
        "max_oxygen_pressure_MPa": _value(settings.max_oxygen_pressure),
        "min_oxygen_pressure_MPa": _value(settings.min_oxygen_pressure),
        "heat_capacities": [
            {
                "calorimeter": entry.calorimeter or None,
                "bomb": entry.bomb or None,
                "heat_capacity_J_per_K": entry.quantity.value,
                "in_force_from": _date(entry.quantity.in_force_from),
            }
            for entry in settings.heat_capacities
        ],
        "aid_heats_J_per_g": {name: heat.value for name, heat in settings.aid_heats.items()},
        "capsule_heats_J_per_g": {name: heat.value for name, heat in settings.capsule_heats.items()},
    }


def _series(series: Series) -> dict[str, object]:
    return {
        "calorimeter": series.calorimeter or None,
        "bomb": series.bomb or None,
        "heat_capacity_J_per_K": series.heat_capacity_J_per_K,
        "n": series.n,
        "sd_J_per_K": series.sd_J_per_K,
        "rsd_percent": series.rsd_percent,
        "rise_range_K": None if series.rise_range_K is None else list(series.rise_range_K),
        "date": _date(series.date),
        "state": series.state,
        "firings": list(series.firings),
        "name": series.name or None,
        "expires": _date(series.expires),
    }


def _firing(firing: FiringResult) -> dict[str, object]:
    return {
        "firing": firing.row.firing or None,
        "sheet": firing.row.place.sheet,
        "row": firing.row.place.row,
        "purpose": firing.purpose,
        "sample": firing.row.sample or None,
        "replicate": firing.row.replicate or None,
        "state": firing.state,
        "mass_g": firing.mass_g,
        "rise_K": firing.rise_K,
        "heat_exchange_K": firing.heat_exchange_K,
        "heat_capacity_J_per_K": firing.heat_capacity_J_per_K,
        "ignition_J": firing.ignition_J,
        "aid_J": firing.aid_J,
        "nitric_J": firing.nitric_J,
        "sulphuric_J": firing.sulphuric_J,
        "gross_ad_J_per_g": firing.gross_ad_J_per_g,
        "gross_d_J_per_g": firing.gross_d_J_per_g,
        "recovery_percent": firing.recovery_percent,
        "findings": [finding.code for finding in firing.findings],
        "date": _date(firing.date),
        "outcome": firing.row.outcome,
        "calorimeter": firing.row.calorimeter or None,
        "bomb": firing.row.bomb or None,
        "analyst": firing.row.analyst or None,
    }


def _sample(sample: SampleResult) -> dict[str, object]:
    return {
        "sample": sample.sample,
        "decision": sample.decision,
        "n_used": sample.n_used,
        "range_J_per_g": sample.range_J_per_g,
        "limit_J_per_g": sample.limit_J_per_g,
        "rule": sample.rule,
        "gross_J_per_g": {basis: sample.gross_J_per_g.get(basis) for basis in Basis},
        "net_constant_pressure_J_per_g": {basis: sample.net.constant_pressure.get(basis) for basis in NET_BASES},
        "net_constant_volume_J_per_g": {basis: sample.net.constant_volume.get(basis) for basis in NET_BASES},
        **_uncertainty(sample),
        "findings": [finding.code for finding in sample.findings],
        "description": (sample.row.description or None) if sample.row else None,
        "fuel_class": (sample.row.fuel_class or None) if sample.row else None,
        "source": (sample.row.source or None) if sample.row else None,
    }


def _uncertainty(sample: SampleResult) -> dict[str, object]:
    """Return what is known in full: a figure that leaves parts out would pass for a smaller uncertainty."""
    full = {name: entry for name, entry in sample.uncertainty.items() if entry.complete}
    return {
        "expanded_uncertainty_J_per_g": {
            name: full[name].expanded_J_per_g if name in full else None for name in VALUE_NAMES
        },
        "coverage_factor": next((entry.coverage_factor for entry in full.values()), None),
    }


def _finding(finding: Finding) -> dict[str, object]:
    return {
        "code": finding.code,
        "severity": finding.severity,
        "sheet": finding.sheet,
        "row": finding.row,
        "cell": finding.cell,
        "firing": finding.firing,
        "sample": finding.sample,
        "message": finding.message,
        "remedy": finding.remedy,
    }


def _value(quantity: Quantity | None) -> float | None:
    return None if quantity is None else quantity.value


def _date(date: dt.date | None) -> str | None:
    return None if date is None else date.isoformat()
