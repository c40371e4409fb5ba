"""Sheets, headings, lists and Setup items are those of the contract, typed here once more by hand."""

import pytest
from logbook import FIRING_HEADINGS, SAMPLE_HEADINGS, SETUP_HEADINGS, TITRATION_HEADINGS

from batchcal import terms
from batchcal.findings import Severity
from batchcal.items import SETUP_ITEMS
from batchcal.workbook import layout

SHEETS = {sheet.role: sheet for sheet in layout.SHEETS}


@pytest.mark.parametrize(
    ("role", "name", "headings"),
    [
        ("setup", "Setup", SETUP_HEADINGS),
        ("calibration", "Calibration", FIRING_HEADINGS),
        ("runs", "Runs", FIRING_HEADINGS),
        ("titration", "Titration", TITRATION_HEADINGS),
        ("samples", "Samples", SAMPLE_HEADINGS),
    ],
)
def test_headings(role: str, name: str, headings: list[str]) -> None:
    sheet = SHEETS[role]
    assert sheet.name == name
    assert sorted(column.heading for column in sheet.columns) == sorted(headings)


BENCH = """Firing no., Date, Purpose, Series, Sample no., Replicate, Analyst, Crucible no., Crucible (g),
Crucible + sample (g), Sample mass (g), Wire fitted (cm), Thread (mg), Aid, Aid mass (g), Aid 2, Aid 2 mass (g),
Capsule mass (g), Capsule in tare, Calorimeter, Bomb, Water in bomb (mL), Oxygen pressure (MPa), Time,
Initial temperature (°C), Final temperature (°C), Temperature rise (K), Heat-exchange correction (K), Wire left (cm),
Wire mass (mg), Residue, Washings kept, Outcome, Use, Reason, Remark"""
"""A firing as it goes along the bench: weigh, fit, fill, fire, read, look, judge."""


@pytest.mark.parametrize("role", ["calibration", "runs"])
def test_columns_of_a_firing_follow_the_bench(role: str) -> None:
    assert ", ".join(column.heading for column in SHEETS[role].columns) == " ".join(BENCH.split())


def test_headings_are_looked_for_in_30_rows() -> None:
    assert layout.HEADING_ROWS == 30


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (terms.Purpose, "calibration, check, aid, sample, trial"),
        (terms.Outcome, "good, misfire, incomplete, leak, spoiled, lost"),
        (terms.Use, "use, set aside"),
        (terms.YesNo, "yes, no"),
        (terms.AcidScheme, "total as nitric, sulphur apart, two titrations, proportion, fixed, none"),
        (terms.Basis, "ad, d, ar, daf"),
        (terms.FurtherTestRule, "range, median, closest two"),
        (terms.MassBasis, "air, vacuum"),
        (terms.CalorieKind, "international, thermochemical, 15 °C, 20 °C"),
        (terms.Titrant, "sodium carbonate, sodium hydroxide, potassium hydroxide, barium hydroxide"),
        (terms.ConcentrationUnit, "mol/L, eq/L"),
        (terms.FiringState, "used, provisional, set aside, excluded, not computed"),
        (terms.SeriesState, "in force, expired, too few, too scattered"),
        (terms.Decision, "ready, repeat, wait, hold"),
        (Severity, "safety, block, review, note"),
        (
            terms.METHOD_KEYS,
            "iso-1928, iso-18125, iso-21654, iso-9831, astm-d5865, astm-d240, astm-d4809, is-1350-2, gbt-213, lab",
        ),
    ],
)
def test_lists(words: object, expected: str) -> None:
    assert [str(word) for word in words] == expected.split(", ")  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("field", "words"),
    [
        ("purpose", terms.Purpose), ("outcome", terms.Outcome), ("use", terms.Use), ("washings_kept", terms.YesNo),
        ("titrant", terms.Titrant), ("concentration_unit", terms.ConcentrationUnit), ("basis", terms.Basis),
        ("hydrogen_includes_moisture", terms.YesNo),
    ],
)  # fmt: skip
def test_columns_offer_the_lists(field: str, words: object) -> None:
    columns = [c for role in ("calibration", "runs", "titration", "samples")
               for c in SHEETS[role].columns if c.field == field]  # fmt: skip
    assert columns
    for column in columns:
        assert column.choices == tuple(words)  # type: ignore[arg-type]


ITEMS = """Laboratory, Batch, Batch date, Analyst, Reviewer, Method, Acid scheme, Comparison basis, Further-test rule,
Repeatability limit, Bases required, Report unit, Report rounding, Calorie, Benzoic acid heat of combustion,
Benzoic acid mass basis, Wire heat, Thread heat, Fixed ignition heat, Nitric acid heat, Sulphuric acid heat,
Series minimum, Series relative SD limit, Heat-capacity life, Check limit, Reading resolution"""


def test_setup_items() -> None:
    items = {item.name: item for item in SETUP_ITEMS}
    expected = " ".join(ITEMS.split()).split(", ")
    plain = [name for name, item in items.items() if item.labelled is None and not item.safety]
    assert [name for name in expected if name not in items] == []
    assert [name for name in plain if name in expected] == expected  # in the contract's order
    labelled = {name: item.labelled for name, item in items.items() if item.labelled is not None}
    assert labelled == {
        "Effective heat capacity": "calorimeter/bomb", "Aid heat": "name", "Capsule heat": "name",
    }  # fmt: skip
    assert [item.name for item in items.values() if item.from_method] == [
        "Repeatability limit", "Series minimum", "Series relative SD limit", "Heat-capacity life",
    ]  # fmt: skip


def test_equivalents() -> None:
    assert {titrant.value: titrant.equivalents_per_mole for titrant in terms.Titrant} == {
        "sodium carbonate": 2, "sodium hydroxide": 1, "potassium hydroxide": 1, "barium hydroxide": 2,
    }  # fmt: skip


def test_precedence_of_decisions_and_severities() -> None:
    assert sorted(terms.Decision, key=lambda d: -d.rank) == ["hold", "wait", "repeat", "ready"]
    assert [severity for severity in Severity if severity.stops] == ["safety", "block"]
