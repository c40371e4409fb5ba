"""What must not happen in silence: a value short of a basis, a doubtful row dropped, a safety limit not looked at.

C = 10 000 J/K, 60 J of ignition, 1 g: a rise of 2.5 K is 24 940 J/g as analysed (see ``plain_log``).
"""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from logbook import DAY, Log, codes, firing, plain_log, run, sample

from batchcal.model import Evaluation
from batchcal.terms import Basis, Decision, FiringState

SERIES_DAY = dt.date(2026, 10, 1)
ENOUGH = (2.65, 2.652, 2.648, 2.651, 2.649, 2.65)


def with_series(log: Log, *rises: float, first: int = 101, day: dt.date = SERIES_DAY, **row: Any) -> Log:
    """Replace Setup's heat capacity by a benzoic acid series of 1 g charges: C = (26 454 + 60) / rise."""
    log.setup.pop("Effective heat capacity", None)
    log.setup |= {
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Series minimum": (5, None, "own"),
        "Series relative SD limit": (0.2, "%", "own"),
    }
    for number, rise in enumerate(rises, first):
        log.add("Calibration", firing_no=number, date=day, sample_mass=1.0, temperature_rise=rise, **row)
    return log


def needing(bases: str, **contents: Any) -> Log:
    """Two firings that agree, with these bases required and these columns filled on Samples."""
    log = plain_log(2.5, 2.501)
    log.setup["Bases required"] = (bases,)
    log.rows["Samples"][0].update(contents)
    return log


def not_ready_without(evaluation: Evaluation, basis: Basis) -> None:
    """Check that a sample short of a required basis is not called ready."""
    result = sample(evaluation)
    assert result.gross_J_per_g[basis] is None
    assert result.decision is not Decision.READY, codes(evaluation)


# --- a required basis that cannot be worked out -----------------------------------------------------------------------


def test_ash_as_received_needs_the_total_moisture(tmp_path: Path) -> None:
    # A_ad = A_ar (100 - M_ad) / (100 - M_t): without M_t there is no dry ash-free value.
    log = needing("ad, daf", **{"Ash (%)": 10.0, "Basis": "ar"})
    not_ready_without(run(log, tmp_path), Basis.DRY_ASH_FREE)
    log.rows["Samples"][0]["Moisture, total (%)"] = 12.0
    result = sample(run(log, tmp_path))
    # A_ad = 10 x 96 / 88 = 10.90909; mean of 24 940 and 24 950 over 1 - 0.04 - 0.1090909
    assert result.gross_J_per_g[Basis.DRY_ASH_FREE] == pytest.approx(24945 / (0.96 - 0.96 / 8.8), rel=1e-12)
    assert result.decision is Decision.READY


@pytest.mark.parametrize(
    ("column", "heading", "bases", "basis"),
    [
        (4, "Moisture, analysis (ppm)", "ad, d", Basis.DRY),
        (5, "Moisture, total (ppm)", "ad, ar", Basis.AS_RECEIVED),
        (6, "Ash, ad (ppm)", "ad, daf", Basis.DRY_ASH_FREE),
    ],
)
def test_a_content_under_a_heading_that_is_not_read(
    tmp_path: Path, column: int, heading: str, bases: str, basis: Basis
) -> None:
    log = needing(bases)
    old = log.headings["Samples"][column]
    log.headings["Samples"][column] = heading
    row = log.rows["Samples"][0]
    row.pop(old, None)
    row[heading] = 10
    evaluation = run(log, tmp_path)
    assert "heading-unit-unknown" in codes(evaluation)
    not_ready_without(evaluation, basis)


def test_a_content_that_stands_in_two_columns(tmp_path: Path) -> None:
    log = needing("ad, daf")
    log.headings["Samples"].append("Ash, d (%)")
    log.rows["Samples"][0] |= {"Ash (%)": 10, "Basis": "ad", "Ash, d (%)": 10.4}
    evaluation = run(log, tmp_path)
    assert "heading-twice" in codes(evaluation)
    not_ready_without(evaluation, Basis.DRY_ASH_FREE)


# --- moistures exchanged ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("bases", ["ad", "ad, d", "ad, d, ar"])
def test_moistures_that_look_exchanged_are_always_said(tmp_path: Path, bases: str) -> None:
    # If they are exchanged the dry value is wrong too: 24 945 / 0.88 = 28 347 instead of 24 945 / 0.96 = 25 984.
    log = needing(bases, **{"Moisture, analysis (%)": 12, "Moisture, total (%)": 4})
    assert "moistures-exchanged" in codes(run(log, tmp_path))


def test_moisture_and_ash_that_leave_nothing_are_always_said(tmp_path: Path) -> None:
    log = needing("ad, d", **{"Moisture, analysis (%)": 50, "Ash (%)": 60, "Basis": "ad"})
    assert "ash-and-moisture-over" in codes(run(log, tmp_path))


def test_equal_moistures_are_not_exchanged(tmp_path: Path) -> None:
    log = needing("ad, ar", **{"Moisture, analysis (%)": 4, "Moisture, total (%)": 4})
    result = sample(run(log, tmp_path))
    assert result.decision is Decision.READY
    assert result.gross_J_per_g[Basis.AS_RECEIVED] == pytest.approx(24945, rel=1e-13)


# --- firings set aside take no part -----------------------------------------------------------------------------------


def set_aside(log: Log, index: int = 2) -> dict[str, Any]:
    row = log.rows["Runs"][index]
    row |= {"Use": "set aside", "Reason": "crucible tipped over"}
    return row


@pytest.mark.parametrize(
    "change",
    [
        {"Temperature rise (K)": "2,5"},
        {"Temperature rise (K)": "lost"},
        {"Sample mass (g)": -1},
        {"Water in bomb (mL)": "5 mL"},
        {"Bomb": ""},
        {"Bomb": "9"},
        {"Date": dt.date(2026, 1, 1)},
    ],
)
def test_a_firing_set_aside_with_a_reason_never_holds_its_sample(tmp_path: Path, change: dict[str, Any]) -> None:
    log = plain_log(2.5, 2.501, 2.502)
    if "Bomb" in change:
        log.setup["Effective heat capacity [/1]"] = log.setup.pop("Effective heat capacity")
        for row in log.rows["Runs"]:
            row["Bomb"] = "1"
    for row in log.rows["Runs"]:
        row["Date"] = DAY
    set_aside(log).update(change)
    result = sample(run(log, tmp_path))
    assert (result.decision, result.n_used) == (Decision.READY, 2), result.reason
    assert result.gross_J_per_g[Basis.AS_ANALYSED] == pytest.approx(24945)


def test_a_firing_set_aside_needs_no_titre(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.501, 2.502)
    log.setup |= {
        "Acid scheme": ("total as nitric",),
        "Nitric acid heat": (60, "kJ/mol", "own"),
        "Sulphuric acid heat": (300, "kJ/mol", "own"),
    }
    log.rows["Samples"][0]["Sulphur (%)"] = 0
    titrant = {"titrant": "sodium hydroxide", "concentration": 0.1, "concentration_unit": "eq/L"}
    for number in (1, 2):
        log.add("Titration", firing_no=number, titre=5, **titrant)
    set_aside(log)
    result = sample(run(log, tmp_path))
    assert result.decision is Decision.READY, result.reason
    # 5 mL of 0.1 eq/L is 0.5 mmol, 30 J of nitric acid: 24 945 - 30
    assert result.gross_J_per_g[Basis.AS_ANALYSED] == pytest.approx(24915, rel=1e-12)
    log.add("Titration", firing_no=3, titre="spilt")
    log.add("Titration", firing_no=3, titre=4, **titrant)
    assert sample(run(log, tmp_path)).decision is Decision.READY


# --- doubtful calibration firings do not drop out ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("heading", "value"),
    [
        ("Purpose", "calibraton"),
        ("Series", dt.date(2026, 2, 5)),
        ("Calorimeter", True),
        ("Bomb", dt.date(2026, 2, 5)),
        ("Use", "us"),
        ("Outcome", "god"),
        ("Firing no.", None),
    ],
)
def test_a_calibration_firing_that_cannot_be_placed_holds_the_samples(
    tmp_path: Path, heading: str, value: object
) -> None:
    # Six firings where five are needed: without the doubtful one the series would still pass, with another mean.
    log = with_series(plain_log(2.5, 2.501), *ENOUGH, series="A", calorimeter="K1", bomb="B1")
    for row in log.rows["Runs"]:
        row |= {"Calorimeter": "K1", "Bomb": "B1"}
    assert sample(run(log, tmp_path)).decision is Decision.READY
    log.rows["Calibration"][2][heading] = value
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 101).heat_capacity_J_per_K == pytest.approx(26514 / 2.65)
    assert sample(evaluation).decision is Decision.HOLD


def test_a_newer_series_that_cannot_be_computed_does_not_bring_back_the_older(tmp_path: Path) -> None:
    log = with_series(plain_log(2.5, 2.501), *ENOUGH, series="old")
    newer = dt.date(2026, 10, 10)
    with_series(log, *ENOUGH, first=201, day=newer, series="new")
    for row in log.rows["Calibration"]:
        if row["Series"] == "new":
            row["Sample mass (g)"] = "1,0000"
    evaluation = run(log, tmp_path)
    assert sample(evaluation).decision is Decision.HOLD


def test_a_series_of_another_bomb_does_not_hold_this_one(tmp_path: Path) -> None:
    log = with_series(plain_log(2.5, 2.501), *ENOUGH, bomb="1")
    with_series(log, *ENOUGH, first=201, bomb="2")
    for row in log.rows["Runs"]:
        row["Bomb"] = "1"
    log.rows["Calibration"][-1]["Sample mass (g)"] = "1,0000"
    assert sample(run(log, tmp_path)).decision is Decision.READY


# --- safety limits are looked at on every row that was fired ----------------------------------------------------------

WEIGHED = {"Crucible (g)": 10.0, "Crucible + sample (g)": 11.8}


@pytest.mark.parametrize(
    "outcome", [None, "misfire", "incomplete", "leak", "spoiled"]
)  # the charge was in the bomb, whatever became of it
def test_the_mass_limit_holds_for_a_mass_by_difference(tmp_path: Path, outcome: str | None) -> None:
    log = plain_log(2.5, 2.501, 2.502)
    log.setup["Maximum sample mass"] = (1.5, "g", "instructions")
    row = log.rows["Runs"][2]
    del row["Sample mass (g)"]
    row |= WEIGHED | {"Outcome": outcome}
    assert "charge-mass-over" in codes(run(log, tmp_path))  # 1.8 g


def test_the_mass_limit_holds_beyond_what_is_plausible(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.501, 2.502)
    log.setup["Maximum sample mass"] = (1.5, "g", "instructions")
    row = log.rows["Runs"][2]
    del row["Sample mass (g)"]
    row |= {"Crucible (g)": 10.0, "Crucible + sample (g)": 13.5}
    assert "charge-mass-over" in codes(run(log, tmp_path))  # 3.5 g


def test_the_mass_limit_holds_where_setup_stops_the_computation(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.501)
    log.setup["Maximum sample mass"] = (1.5, "g", "instructions")
    del log.setup["Acid scheme"]
    row = log.rows["Runs"][0]
    del row["Sample mass (g)"]
    row |= WEIGHED
    evaluation = run(log, tmp_path)
    assert "acid-scheme-missing" in codes(evaluation)
    assert "charge-mass-over" in codes(evaluation)


@pytest.mark.parametrize("row", [{"Outcome": "incomplete"}, {"Purpose": "trial"}])
def test_the_energy_limit_holds_for_every_charge_that_burnt(tmp_path: Path, row: dict[str, Any]) -> None:
    # 10 000 J/K x 4 K = 40 kJ
    log = plain_log(2.5, 2.501, 4.0)
    log.setup["Maximum charge energy"] = (33, "kJ", "instructions")
    log.rows["Runs"][2].update(row)
    assert "charge-energy-over" in codes(run(log, tmp_path))


def test_safety_limits_pass_at_equality(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.setup |= {
        "Maximum charge energy": (25, "kJ", "instructions"),  # 10 000 x 2.5
        "Maximum sample mass": (1, "g", "instructions"),
        "Maximum oxygen pressure": (30, "bar", "instructions"),
        "Minimum oxygen pressure": (30, "bar", "instructions"),
    }
    for row in log.rows["Runs"]:
        row["Oxygen pressure (MPa)"] = 3.0
    evaluation = run(log, tmp_path)
    assert {finding.severity for finding in evaluation.findings if finding.severity == "safety"} == set()
    assert "oxygen-pressure-low" not in codes(evaluation)
    assert sample(evaluation).decision is Decision.READY


def test_a_pressure_that_cannot_be_read_is_not_called_blank(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.5)
    log.setup["Maximum oxygen pressure"] = (3, "MPa", "instructions")
    for row in log.rows["Runs"]:
        row["Oxygen pressure (MPa)"] = "35 bar"
    evaluation = run(log, tmp_path)
    assert "stray-unit" in codes(evaluation)
    assert not [f for f in evaluation.findings if "no oxygen pressure is logged" in f.message]


# --- what takes no part never blocks ----------------------------------------------------------------------------------


@pytest.mark.parametrize("heading", ["Chlorine (%)", "Carbon (%)", "Volatile matter (%)"])
@pytest.mark.parametrize("value", ["n.d.", "<0,05"])
def test_a_word_in_a_content_that_nothing_is_computed_with_is_for_review(
    tmp_path: Path, heading: str, value: str
) -> None:
    log = plain_log(2.5, 2.501)
    log.rows["Samples"][0][heading] = value
    evaluation = run(log, tmp_path)
    assert sample(evaluation).decision is Decision.READY, sample(evaluation).reason
    assert evaluation.all_ready


def test_a_doubtful_titration_that_the_scheme_does_not_use_is_for_review(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.501)
    log.add("Titration", firing_no=1, titre="not done")
    evaluation = run(log, tmp_path)
    assert sample(evaluation).decision is Decision.READY
    assert evaluation.all_ready, codes(evaluation)


def test_total_moisture_is_not_asked_for_unless_a_basis_needs_it(tmp_path: Path) -> None:
    log = needing("ad, d")
    log.rows["Samples"][0]["Moisture, total (%)"] = None
    evaluation = run(log, tmp_path)
    assert not {"total-moisture-missing", "ash-missing"} & set(codes(evaluation))
    assert sample(evaluation).decision is Decision.READY


# --- dates ------------------------------------------------------------------------------------------------------------


def test_a_check_on_the_calibration_sheet_without_a_date_is_told_what_is_missing(tmp_path: Path) -> None:
    # Setup has a Batch date, which stands in for blank dates on Runs only.
    log = with_series(plain_log(2.5, 2.501), *ENOUGH)
    log.add("Calibration", firing_no=300, purpose="check", sample_mass=1.0, temperature_rise=2.65)
    finding = next(f for f in run(log, tmp_path).findings if f.code == "date-missing")
    assert (finding.sheet, finding.cell) == ("Calibration", "B8")
    assert "Setup has no Batch date" not in finding.message


def test_a_firing_before_every_heat_capacity_is_not_computed(tmp_path: Path) -> None:
    log = with_series(plain_log(2.5, 2.501), *ENOUGH, day=DAY)
    log.rows["Runs"][0]["Date"], log.rows["Runs"][1]["Date"] = DAY - dt.timedelta(days=1), DAY
    evaluation = run(log, tmp_path)
    assert firing(evaluation, 1).state is FiringState.NOT_COMPUTED
    assert firing(evaluation, 2).state is FiringState.USED
    assert sample(evaluation).decision is Decision.HOLD


def test_a_heading_s_unit_on_the_concentration_is_not_overlooked(tmp_path: Path) -> None:
    # 100 mmol/L under a heading that says so must not be taken for 100 mol/L.
    log = plain_log(2.5, 2.501)
    log.setup |= {
        "Acid scheme": ("total as nitric",),
        "Nitric acid heat": (60, "kJ/mol", "own"),
        "Sulphuric acid heat": (300, "kJ/mol", "own"),
    }
    log.rows["Samples"][0]["Sulphur (%)"] = 0
    log.rows["Titration"] = []
    log.headings["Titration"][2] = "Concentration (mmol/L)"
    for number in (1, 2):
        log.rows["Titration"].append(
            {
                "Firing no.": number,
                "Titrant": "sodium hydroxide",
                "Concentration (mmol/L)": 100,
                "Concentration unit": "mol/L",
                "Titre (mL)": 5,
            }
        )
    evaluation = run(log, tmp_path)
    found = firing(evaluation, 1)
    assert found.nitric_J is None or found.nitric_J == pytest.approx(30, rel=1e-9)
