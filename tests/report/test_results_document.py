"""The results document against the contract: the keys are typed here by hand, not taken from the code."""

import json
import math

import pytest
from day import make_batch, make_evaluation, with_settings
from made import results_json
from msgspec.structs import replace

from batchcal.logged import SetupEntry
from batchcal.model import Evaluation
from batchcal.report.results import results_document

TOP = [
    "schema", "batchcal_version", "input", "outputs", "release", "settings", "series", "firings", "samples", "findings",
    "settings_sha256", "settings_in_force", "changes",
]  # fmt: skip
SERIES = [
    "calorimeter", "bomb", "heat_capacity_J_per_K", "n", "sd_J_per_K", "rsd_percent", "rise_range_K", "date", "state",
    "firings", "name", "expires",
]  # fmt: skip
FIRING = [
    "firing", "sheet", "row", "purpose", "sample", "replicate", "state", "mass_g", "rise_K", "heat_exchange_K",
    "heat_capacity_J_per_K", "ignition_J", "aid_J", "nitric_J", "sulphuric_J", "gross_ad_J_per_g", "gross_d_J_per_g",
    "recovery_percent", "findings", "date", "outcome", "calorimeter", "bomb", "analyst",
]  # fmt: skip
SAMPLE = [
    "sample", "decision", "n_used", "range_J_per_g", "limit_J_per_g", "rule", "gross_J_per_g",
    "net_constant_pressure_J_per_g", "net_constant_volume_J_per_g", "expanded_uncertainty_J_per_g", "coverage_factor",
    "findings", "description", "fuel_class", "source",
]  # fmt: skip
FINDING = ["code", "severity", "sheet", "row", "cell", "firing", "sample", "message", "remedy"]
OUTPUTS = {"day.summary.html": "b" * 64, "day.results.xlsx": "a" * 64}


@pytest.fixture(scope="module")
def day() -> Evaluation:
    return make_evaluation()


@pytest.fixture(scope="module")
def read(day: Evaluation) -> dict[str, list[dict[str, object]]]:
    document: dict[str, list[dict[str, object]]] = json.loads(results_json(day, OUTPUTS))
    return document


def test_keys_are_those_of_the_contract(read: dict[str, list[dict[str, object]]]) -> None:
    assert list(read) == TOP
    assert all(list(series) == SERIES for series in read["series"])
    assert all(list(firing) == FIRING for firing in read["firings"])
    assert all(list(sample) == SAMPLE for sample in read["samples"])
    assert all(list(finding) == FINDING for finding in read["findings"])
    assert [len(read[key]) for key in ("series", "firings", "samples")] == [2, 29, 8]


def test_head_of_the_document(day: Evaluation) -> None:
    document = results_document(day, OUTPUTS)
    assert document["schema"] == "batchcal.results/1"
    assert document["input"] == {"file": "early-shift.xlsx", "sha256": "3f0c" * 16}
    assert document["outputs"] == OUTPUTS
    assert list(document["outputs"]) == sorted(OUTPUTS)
    assert document["release"] == {
        "state": "draft", "analyst": "K. Lindqvist", "reviewer": "O. Adeyemi", "issue": 1, "date": None, "samples": [],
        "issued": None,
    }  # fmt: skip


def test_what_is_not_computed_is_null_and_never_absent(read: dict[str, list[dict[str, object]]]) -> None:
    for sample in read["samples"]:
        nothing = {"ad": None, "d": None, "ar": None}
        assert sample["net_constant_pressure_J_per_g"] == nothing
        assert sample["net_constant_volume_J_per_g"] == nothing
        if sample["decision"] != "ready":
            of_net = {f"net_{basis}": None for basis in nothing}
            assert sample["expanded_uncertainty_J_per_g"] == {**nothing, "daf": None, **of_net}
            assert sample["coverage_factor"] is None
        assert list(sample["gross_J_per_g"]) == ["ad", "d", "ar", "daf"]  # type: ignore[call-overload]
    held = next(firing for firing in read["firings"] if firing["firing"] == "2424")
    assert (held["state"], held["mass_g"], held["gross_ad_J_per_g"]) == ("not computed", None, None)
    assert held["findings"] == ["number-as-text"]
    assert read["firings"][0]["sample"] is None


def test_what_the_long_run_is_sorted_by_stands_with_each_result(read: dict[str, list[dict[str, object]]]) -> None:
    first = read["firings"][0]
    assert [first[key] for key in ("date", "outcome", "calorimeter", "bomb", "analyst")] == [
        "2026-02-03", None, "A", "1", None,
    ]  # fmt: skip
    assert "misfire" in {firing["outcome"] for firing in read["firings"]}
    assert (read["samples"][0]["description"], read["samples"][0]["fuel_class"]) == ("Hard coal, washed", None)
    assert (read["series"][0]["name"], read["series"][0]["expires"]) == (None, "2026-05-04")


def test_numbers_are_unrounded(day: Evaluation, read: dict[str, list[dict[str, object]]]) -> None:
    for written, result in zip(read["firings"], day.firings, strict=True):
        assert written["gross_d_J_per_g"] == result.gross_d_J_per_g
        assert written["nitric_J"] == result.nitric_J
    value = read["samples"][0]["gross_J_per_g"]["d"]  # type: ignore[index]
    assert value != round(value, 6)
    assert value == sum(f.gross_d_J_per_g or math.nan for f in day.samples[0].firings) / 2


def test_settings_stand_in_the_unit_that_their_key_names(day: Evaluation) -> None:
    settings = results_document(day, {})["settings"]
    assert isinstance(settings, dict)
    expected = {
        "method": "iso-1928",
        "acid_scheme": "total as nitric",
        "comparison_basis": "d",
        "further_test_rule": "range",
        "repeatability_limit_J_per_g": 120.0,
        "batch_date": "2026-03-12",
        "report_unit": "kcal/kg",
        "report_unit_J_per_g": 4.1868,
        "calorie_J": 4.1868,
        "wire_heat_J_per_cm": 2.3 * 4.1868,
        "wire_heat_J_per_g": None,
        "thread_heat_J_per_g": 17500.0,
        "nitric_heat_J_per_mol": 60000.0,
        "nitric_heat_J_per_firing": None,
        "nitric_fraction_of_bomb_value": None,
        "sulphuric_heat_J_per_mol": 302000.0,
        "heat_capacity_life_days": 90.0,
        "heat_capacity_life_months": None,
        "check_limit_percent": 0.2,
        "check_limit_J_per_g": None,
        "check_warning_limit_percent": None,
        "check_sd_percent": None,
        "max_oxygen_pressure_MPa": 3.2,
        "max_charge_energy_J": None,
    }
    assert {key: settings[key] for key in expected} == pytest.approx(expected)
    assert settings["bases_required"] == ["ad", "d", "ar"]


def test_a_unit_that_changes_moves_to_its_own_key() -> None:
    def change(entry: SetupEntry) -> SetupEntry:
        other = {"heat_capacity_life": (4.0, "months"), "check_limit": (60.0, "J/g"), "wire_heat": (6.0, "J/mg")}
        if entry.key not in other:
            return entry
        value, unit = other[entry.key]
        return replace(entry, value=value, unit=unit)

    settings = results_document(with_settings(change, make_batch()), {})["settings"]
    assert isinstance(settings, dict)
    assert (settings["heat_capacity_life_days"], settings["heat_capacity_life_months"]) == (None, 4.0)
    assert (settings["check_limit_percent"], settings["check_limit_J_per_g"]) == (None, 60.0)
    assert (settings["wire_heat_J_per_cm"], settings["wire_heat_J_per_g"]) == (None, 6000.0)


def test_bytes_are_plain_utf_8_and_the_same_each_time(day: Evaluation) -> None:
    named = replace(day, settings=replace(day.settings, laboratory="Laboratório nº 1 °C"))
    written = results_json(named, OUTPUTS)
    assert "Laboratório nº 1 °C".encode() in written
    assert written.endswith(b"\n}\n")
    assert written == results_json(named, dict(reversed(OUTPUTS.items())))
    assert results_json(make_evaluation(), OUTPUTS) == results_json(day, OUTPUTS)


def test_a_number_that_is_not_finite_is_refused(day: Evaluation) -> None:
    firings = (replace(day.firings[0], mass_g=math.nan), *day.firings[1:])
    with pytest.raises(ValueError, match="JSON"):
        results_json(replace(day, firings=firings), {})
