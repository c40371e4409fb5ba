"""The lab's own results: what a sheet does wrong is named; figures that agree within rounding are left in peace.

The day is worked by hand. Total acid as nitric at 60 kJ/mol and 300 kJ/mol for sulphur, 50 J of ignition, and a heat
capacity of 10 000 J/K: q = (10 000 rise - 50 - 60 acid - sulphuric) / mass with the acid in mmol and
sulphuric = mass x S x 10 / 32.06 x (300 - 2 x 60) J for S in %.
"""

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from logbook import DAY, SINCE, Log, codes, run, sample

from batchcal.evaluate.slips.own_figures import cells_text, column_step, overlap
from batchcal.findings import Finding, Severity
from batchcal.model import Evaluation
from batchcal.terms import Decision
from batchcal.workbook.layout import SHEETS

AD, D, CAPACITY = "Own gross, ad (J/g)", "Own gross, d (J/g)", "Own heat capacity (J/K)"
MEAN, VERDICT, NET = "Own mean, d (J/g)", "Own verdict", "Own net, ar (J/g)"

FIRINGS = (  # sample, mass, rise, titre in mL of 0.1 eq/L
    ("S1", 1.0000, 2.500, 10.0),
    ("S1", 1.0200, 2.5520, 9.4),
    ("S2", 0.9500, 2.700, 14.2),
    ("S2", 0.9800, 2.7866, 15.1),
    ("S3", 0.8800, 1.700, 5.2),
    ("S3", 0.9100, 1.7582, 6.3),
)
SULPHUR_D = {"S1": 1.0, "S2": 2.5, "S3": 0.4}
MOISTURE = {"S1": 4.0, "S2": 8.0, "S3": 12.0}
TOTAL = {"S1": 9.0, "S2": 14.0, "S3": 30.0}
IGNITION = 50.0


def parts(index: int) -> dict[str, float]:
    """The heats of one firing (J), by hand."""
    name, mass, rise, titre = FIRINGS[index]
    sulphur = SULPHUR_D[name] * (1 - MOISTURE[name] / 100)
    mmol = mass * sulphur * 10 / 32.06
    return {
        "mass": mass, "rise": rise, "nitric": titre * 0.1 * 60, "sulphuric": mmol * (300 - 120), "mmol": mmol,
        "dry": 1 - MOISTURE[name] / 100, "sulphur": sulphur,
    }  # fmt: skip


def gross(index: int, capacity: float = 10000.0, *, ignition: float = IGNITION, **other: float) -> float:
    """The value as analysed of one firing (J/g), with what a sheet may have put otherwise."""
    p = {**parts(index), **other}
    return (capacity * p["rise"] - ignition - p["nitric"] - p["sulphuric"]) / p["mass"]


def day(own: dict[str, list[float | None]] | None = None, **heading: str) -> Log:
    """The day with own columns on Runs: a list of one figure a firing under each heading."""
    log = Log()
    log.setup = {
        "Laboratory": ("Invented laboratory",), "Batch date": (DAY,), "Analyst": ("A",), "Reviewer": ("B",),
        "Method": ("lab",), "Acid scheme": ("total as nitric",), "Comparison basis": ("d",),
        "Repeatability limit": (120, "J/g", "own"), "Heat-capacity life": (90, "days", "own"),
        "Nitric acid heat": (60, "kJ/mol", "own"), "Sulphuric acid heat": (300, "kJ/mol", "own"),
        "Fixed ignition heat": (50, "J", "own"), "Effective heat capacity": (10000, "J/K", "own series", SINCE),
    }  # fmt: skip
    for name in (AD, D, CAPACITY):
        if own and name in own:
            log.headings["Runs"].append(heading.get("as_", name))
    for index, (name, mass, rise, titre) in enumerate(FIRINGS):
        number = index + 1
        row = log.add("Runs", firing_no=number, sample_no=name, sample_mass=mass, temperature_rise=rise)
        for column, values in (own or {}).items():
            row[heading.get("as_", column)] = values[index]
        log.add(
            "Titration", firing_no=number, titrant="sodium hydroxide", concentration=0.1,
            concentration_unit="eq/L", titre=titre,
        )  # fmt: skip
    log.headings["Samples"] += [MEAN, VERDICT, NET]
    for name, moisture in MOISTURE.items():
        log.add(
            "Samples", sample_no=name, moisture_analysis=moisture, moisture_total=TOTAL[name],
            sulphur=SULPHUR_D[name], basis="d",
        )  # fmt: skip
    return log


def own(evaluation: Evaluation) -> list[Finding]:
    return [finding for finding in evaluation.findings if finding.code.startswith("own-")]


def one(evaluation: Evaluation, code: str) -> Finding:
    found = own(evaluation)
    assert [finding.code for finding in found] == [code], [finding.message for finding in found]
    return found[0]


def rounded(values: list[float], step: float = 1.0) -> list[float | None]:
    return [round(value / step) * step for value in values]


EVERY = range(len(FIRINGS))


def test_the_day_by_hand_is_the_day_found(tmp_path: Path) -> None:
    evaluation = run(day(), tmp_path)
    found = [firing.gross_ad_J_per_g for firing in evaluation.firings]
    assert found == pytest.approx([gross(index) for index in EVERY], abs=1e-6)
    assert gross(0) == pytest.approx(24836.1, abs=0.05)  # (25000 - 50 - 60 - 53.9) / 1
    assert own(evaluation) == []
    assert evaluation.all_ready


def test_own_columns_are_never_offered_in_the_blank_workbook() -> None:
    for sheet in SHEETS:
        assert not any(column.own for column in sheet.columns)
        assert all(column.own and not column.enters for column in sheet.own)


@pytest.mark.parametrize("step", [0.1, 1.0, 10.0, 20.0])
def test_own_results_that_agree_within_rounding_are_left_in_peace(tmp_path: Path, step: float) -> None:
    values = [gross(index) for index in EVERY]
    dry = [value / parts(index)["dry"] for index, value in enumerate(values)]
    evaluation = run(day({AD: rounded(values, step), D: rounded(dry, step)}), tmp_path)
    assert own(evaluation) == []
    assert evaluation.all_ready


def test_a_heat_capacity_in_whole_joules_is_rounding(tmp_path: Path) -> None:
    evaluation = run(day({AD: rounded([gross(index, 10000.5) for index in EVERY])}), tmp_path)
    assert own(evaluation) == []


UNITS = [("MJ/kg", 1e-3, 2), ("kcal/kg", 1 / 4.1868, 0), ("Btu/lb", 1 / 2.326, 0), ("kJ/kg", 1.0, 0)]


@pytest.mark.parametrize(("unit", "factor", "decimals"), UNITS)
def test_units_of_the_headings_are_read(tmp_path: Path, unit: str, factor: float, decimals: int) -> None:
    values: list[float | None] = [round(gross(index) * factor, decimals) for index in EVERY]
    log = day({AD: values}, as_=f"Own gross, ad ({unit})")
    log.setup["Calorie"] = ("international",)
    assert own(run(log, tmp_path)) == []


@pytest.mark.parametrize("joules", [4.1868, 4.184, 4.1819])
def test_a_calorie_that_nobody_names_is_taken_as_the_one_that_fits(tmp_path: Path, joules: float) -> None:
    values: list[float | None] = [round(gross(index) / joules, 1) for index in EVERY]
    assert own(run(day({AD: values}, as_="Own gross, ad (cal/g)"), tmp_path)) == []


def test_another_calorie_than_setup_s_is_named(tmp_path: Path) -> None:
    values: list[float | None] = [round(gross(index) / 4.184, 1) for index in EVERY]
    log = day({AD: values}, as_="Own gross, ad (cal/g)")
    log.setup["Calorie"] = ("international",)
    finding = one(run(log, tmp_path), "own-calorie")
    assert finding.severity is Severity.REVIEW
    assert "4.1868 J (international) taken for calories of 4.184 J (thermochemical)" in finding.message
    assert "+0.067 %" in finding.message


HEAT: dict[str, Callable[[int], float]] = {
    "own-acid-forgotten": lambda i: gross(i, nitric=0.0, sulphuric=0.0),
    "own-acid-twice": lambda i: gross(i, nitric=2 * parts(i)["nitric"]),
    "own-sulphur-factor": lambda i: gross(i, sulphuric=94.0 * parts(i)["mass"] * parts(i)["sulphur"]),
    "own-sulphur-basis": lambda i: gross(i, sulphuric=parts(i)["sulphuric"] / parts(i)["dry"]),
    "own-ignition-forgotten": lambda i: gross(i, ignition=0.0),
    "own-heat-capacity-other": lambda i: gross(i, 9975.0),
    "own-basis-wrong": lambda i: gross(i) / parts(i)["dry"],
    "own-calorie": lambda i: gross(i) / 4.1868,
}  # fmt: skip


@pytest.mark.parametrize("code", HEAT)
def test_what_a_whole_column_does_is_named_once(tmp_path: Path, code: str) -> None:
    evaluation = run(day({AD: rounded([HEAT[code](index) for index in EVERY], 0.1)}), tmp_path)
    finding = one(evaluation, code)
    stops = code != "own-sulphur-basis"
    assert finding.severity is (Severity.BLOCK if stops else Severity.REVIEW)
    assert "AG2 to AG7 (6 cells)" in finding.message or code == "own-sulphur-basis"
    assert [sample(evaluation, name).decision for name in MOISTURE] == (
        [Decision.HOLD] * 3 if stops else [Decision.READY] * 3
    )
    # nothing of it touches what is found here
    assert sample(evaluation).firings[0].gross_ad_J_per_g == pytest.approx(gross(0))


def test_the_sheet_s_factor_is_shown(tmp_path: Path) -> None:
    values = rounded([HEAT["own-sulphur-factor"](index) for index in EVERY], 0.1)
    finding = one(run(day({AD: values}), tmp_path), "own-sulphur-factor")
    assert "the sheet takes 94.0 J for 1 % of sulphur in 1 g" in finding.message


def test_sulphur_apart_with_the_reduced_factor(tmp_path: Path) -> None:
    # Apart: nitric = titre - 2 mmol, sulphuric = 300 kJ/mol; the sheet takes 56.1 J, (300 - 120) x 10 / 32.06.
    def value(index: int) -> float:
        p = parts(index)
        return gross(index, nitric=p["nitric"] - 120 * p["mmol"], sulphuric=56.1 * p["mass"] * p["sulphur"])

    log = day({AD: rounded([value(index) for index in EVERY], 0.1)})
    log.setup["Acid scheme"] = ("sulphur apart",)
    assert "56.1 J for 1 %" in one(run(log, tmp_path), "own-sulphur-factor").message


def test_nitric_by_titre_and_by_share(tmp_path: Path) -> None:
    values = [gross(i) - 0.0012 * (10000 * parts(i)["rise"] - IGNITION) / parts(i)["mass"] for i in EVERY]
    finding = one(run(day({AD: rounded(values, 0.1)}), tmp_path), "own-acid-twice")
    assert "0.0012 of the bomb value" in finding.message
    assert "from memory, unchecked" in finding.message


DRY: dict[str, Callable[[int], float]] = {
    "those as analysed": gross,
    "upside down": lambda i: gross(i) * parts(i)["dry"],
    "total moisture": lambda i: gross(i) / (1 - TOTAL[FIRINGS[i][0]] / 100),
}


@pytest.mark.parametrize("words", DRY)
@pytest.mark.parametrize("with_ad", [True, False])
def test_a_dry_column_that_is_something_else(tmp_path: Path, words: str, with_ad: bool) -> None:
    columns = {D: rounded([DRY[words](index) for index in EVERY])}
    if with_ad:
        columns = {AD: rounded([gross(index) for index in EVERY]), **columns}
    finding = one(run(day(columns), tmp_path), "own-basis-wrong")
    assert words in finding.message


def test_one_row_worked_with_another_sample_s_moisture(tmp_path: Path) -> None:
    dry = [gross(index) / parts(index)["dry"] for index in EVERY]
    dry[2] = gross(2) / 0.96
    evaluation = run(day({AD: [gross(i) for i in EVERY], D: list(dry)}), tmp_path)
    finding = one(evaluation, "own-result-differs")
    assert "a moisture of 4.00 %, the moisture of sample S1" in finding.message
    assert finding.where == "Runs!AH4"
    assert (finding.firing, finding.sample) == ("3", "S2")


def test_one_row_that_nothing_explains(tmp_path: Path) -> None:
    values = rounded([gross(index) for index in EVERY])
    values[3] = (values[3] or 0.0) + 437.0
    evaluation = run(day({AD: values}), tmp_path)
    finding = one(evaluation, "own-result-differs")
    assert finding.severity is Severity.REVIEW
    assert f"{values[3]:.1f} J/g stands in the sheet, {gross(3):.1f} J/g is found here" in finding.message
    assert evaluation.all_ready


def test_one_row_in_calories(tmp_path: Path) -> None:
    values = rounded([gross(index) for index in EVERY])
    values[4] = round(gross(4) / 4.1868, 1)
    evaluation = run(day({AD: values}), tmp_path)
    finding = one(evaluation, "own-calorie")
    assert finding.where == "Runs!AG6"
    assert sample(evaluation, "S3").decision is Decision.HOLD
    assert sample(evaluation, "S1").decision is Decision.READY


def test_two_errors_in_two_parts_of_a_column_are_both_named(tmp_path: Path) -> None:
    values = [gross(i, 9975.0) if i < 3 else gross(i) / 4.1868 for i in EVERY]
    found = own(run(day({AD: rounded(values, 0.1)}), tmp_path))
    assert {finding.code: finding.where for finding in found} == {
        "own-calorie": "Runs!AG5", "own-heat-capacity-other": "Runs!AG2",
    }  # fmt: skip


def test_a_lost_anchor(tmp_path: Path) -> None:
    # filled down without $: the first row is right, the second takes the cell below, the rest blank cells
    values = [gross(0), gross(1, 9930.0), *(gross(index, 0.0) for index in EVERY[2:])]
    finding = one(run(day({AD: rounded(values, 0.1)}), tmp_path), "own-anchor-lost")
    assert "from AG4 on the sheet uses a blank cell" in finding.message
    assert "after 9930.0 J/K" in finding.message


def series(log: Log, name: str, date: dt.date, capacity: float, first: int) -> None:
    """Five firings of 1 g benzoic acid at 26 460 J/g: C = (26 460 + 50 + 30) / rise, with 5 mL of acid."""
    for index in range(5):
        mass = 0.95 + 0.02 * index
        rise = (mass * 26460 + 80 + 2 * (index - 2)) / capacity
        log.add(
            "Calibration", firing_no=first + index, date=date, series=name, sample_mass=mass, temperature_rise=rise,
        )  # fmt: skip
        log.add(
            "Titration", firing_no=first + index, titrant="sodium hydroxide", concentration=0.1,
            concentration_unit="eq/L", titre=5.0,
        )  # fmt: skip


def calibrated(columns: dict[str, list[float | None]]) -> Log:
    log = day(columns)
    del log.setup["Effective heat capacity"]
    log.setup |= {
        "Benzoic acid heat of combustion": (26460, "J/g", "certificate", SINCE),
        "Benzoic acid mass basis": ("air", None, "certificate"), "Series minimum": (5, None, "own"),
        "Series relative SD limit": (0.2, "%", "own"),
    }  # fmt: skip
    series(log, "spring", dt.date(2026, 8, 4), 9975.0, 101)
    series(log, "autumn", dt.date(2026, 10, 2), 10000.0, 201)
    return log


def test_a_stale_heat_capacity_is_named_by_its_series(tmp_path: Path) -> None:
    values = rounded([gross(index, 9975.0) for index in EVERY])
    finding = one(run(calibrated({AD: values}), tmp_path), "own-heat-capacity-other")
    assert "the mean of the series spring of 2026-08-04" in finding.message
    assert "since 2026-10-02 is 10000.0 J/K" in finding.message
    assert finding.where == "Runs!AG2"


def test_a_row_with_the_older_heat_capacity(tmp_path: Path) -> None:
    values = rounded([gross(index, 9975.0 if index == 5 else 10000.0) for index in EVERY])
    evaluation = run(calibrated({AD: values}), tmp_path)
    assert "spring" in one(evaluation, "own-heat-capacity-other").message
    assert sample(evaluation, "S1").decision is Decision.READY


def test_the_heat_capacity_of_another_firing_in_each_row(tmp_path: Path) -> None:
    log = calibrated({})
    worked = run(log, tmp_path)
    single = [f.heat_capacity_J_per_K or 0.0 for f in worked.firings if f.row.series == "spring"]
    assert len({round(value, 1) for value in single}) == 5
    values = [gross(index, single[index] if index < 5 else 10000.0) for index in EVERY]
    finding = one(run(calibrated({AD: list(values)}), tmp_path), "own-anchor-lost")
    assert "Calibration row 2" in finding.message


def test_the_own_heat_capacity_of_a_row(tmp_path: Path) -> None:
    taken: list[float | None] = [9975.0] * 6
    finding = one(run(calibrated({CAPACITY: taken}), tmp_path), "own-heat-capacity-other")
    assert "9975.0 J/K, the mean of the series spring" in finding.message
    assert own(run(calibrated({CAPACITY: [10000.0] * 6}), tmp_path)) == []


CERTIFICATES = {"own-benzoic-value": 26440.0, "own-acid-forgotten": 26460.0, "": 26460.0}


@pytest.mark.parametrize(("code", "certificate"), CERTIFICATES.items())
def test_own_heat_capacities_of_calibration(tmp_path: Path, code: str, certificate: float) -> None:
    log = calibrated({})
    log.headings["Calibration"].append(CAPACITY)
    for row in log.rows["Calibration"]:
        acid = 0.0 if code == "own-acid-forgotten" else 30.0
        heat = row["Sample mass (g)"] * certificate + 50 + acid
        row[CAPACITY] = round(heat / row["Temperature rise (K)"], 1)
    evaluation = run(log, tmp_path)
    assert [finding.code for finding in own(evaluation)] == ([code] if code else [])
    if code == "own-benzoic-value":
        # 26 440 is 26 460 / 1.00076 (0.0012 g/mL of air on 1.32 and 8.0 g/mL)
        assert "uses 26440 J/g" in own(evaluation)[0].message
        assert "the value in vacuum of that in air" in own(evaluation)[0].message
    assert sample(evaluation).decision is (Decision.HOLD if code else Decision.READY)


def with_own(log: Log, **values: Any) -> Log:
    log.rows["Samples"][0] |= {{"mean": MEAN, "verdict": VERDICT, "net": NET}[key]: v for key, v in values.items()}
    return log


def dry_of(*indexes: int) -> float:
    return sum(gross(index) / parts(index)["dry"] for index in indexes) / len(indexes)


def test_a_right_mean_and_a_right_verdict_are_left_in_peace(tmp_path: Path) -> None:
    log = with_own(day(), mean=round(dry_of(0, 1)), verdict="agree")
    assert own(run(log, tmp_path)) == []


def apart(log: Log, by_K: float) -> None:
    row = log.rows["Runs"][1]
    row["Temperature rise (K)"] = round(row["Temperature rise (K)"] + by_K, 4)


def test_the_mean_of_a_failing_pair(tmp_path: Path) -> None:
    log = day()
    apart(log, 0.03)  # 294 J/g as analysed
    moved = (gross(1, rise=2.582)) / 0.96
    with_own(log, mean=round((dry_of(0) + moved) / 2), verdict="disagree")
    evaluation = run(log, tmp_path)
    finding = one(evaluation, "own-mean-of-failing-set")
    assert f"range of {abs(moved - dry_of(0)):.1f} J/g" in finding.message
    assert sample(evaluation).decision is Decision.HOLD


def test_a_mean_that_leaves_a_firing_out(tmp_path: Path) -> None:
    log = with_own(day(), mean=round(dry_of(0)))
    apart(log, 0.008)
    evaluation = run(log, tmp_path)
    finding = one(evaluation, "own-mean-leaves-out")
    assert "is that of 1; without a reason it leaves out 2" in finding.message
    assert sample(evaluation).decision is Decision.READY


def test_a_mean_on_another_basis(tmp_path: Path) -> None:
    log = with_own(day(), mean=round(dry_of(0, 1) * 0.96))
    assert "those as analysed" in one(run(log, tmp_path), "own-basis-wrong").message


def test_a_mean_that_nothing_explains(tmp_path: Path) -> None:
    log = with_own(day(), mean=round(dry_of(0, 1)) + 533)
    assert one(run(log, tmp_path), "own-result-differs").sample == "S1"


def test_a_verdict_by_rounded_values(tmp_path: Path) -> None:
    # dry values 130 J/g apart: rounded to 100 J/g they are 100 apart
    log = day()
    first = dry_of(0)
    rise = next(r / 10000 for r in range(25600, 25900) if first + 125 < gross(1, rise=r / 10000) / 0.96 < first + 140)
    log.rows["Runs"][1]["Temperature rise (K)"] = rise
    low, high = first, gross(1, rise=rise) / 0.96
    with_own(log, verdict="agree")
    rounds = round(high / 100) * 100 - round(low / 100) * 100
    found = own(run(log, tmp_path))
    assert rounds == 100
    assert [finding.code for finding in found] == ["own-verdict-rounded"]
    assert f"unrounded ({low:.1f}, {high:.1f} J/g)" in found[0].message


def test_a_verdict_that_rounding_does_not_explain(tmp_path: Path) -> None:
    log = with_own(day(), verdict="agree")
    apart(log, 0.08)
    assert "'disagree'" in one(run(log, tmp_path), "own-result-differs").message
    disagreeing = with_own(day(), verdict="disagree")
    assert "'agree'" in one(run(disagreeing, tmp_path), "own-result-differs").message


def net_day() -> tuple[Log, float, float, float]:
    """S1 with 5 % H, 8 % O and 1.5 % N dry and 9 % total moisture: net by hand at constant pressure and volume."""
    log = day()
    log.rows["Samples"][0] |= {"Hydrogen (%)": 5.0, "Oxygen (%)": 8.0, "Nitrogen (%)": 1.5}
    dry = dry_of(0, 1)
    pressure = (dry - 212 * 5 - 0.8 * (8 + 1.5)) * 0.91 - 24.4 * 9
    volume = (dry - 206 * 5) * 0.91 - 23.05 * 9
    return log, pressure, volume, dry * 0.91


def test_net_at_constant_pressure_by_the_rounded_coefficients_agrees(tmp_path: Path) -> None:
    log, pressure, _, _ = net_day()
    assert own(run(with_own(log, net=round(pressure)), tmp_path)) == []


@pytest.mark.parametrize("kind", ["the one at constant volume", "the gross value"])
def test_net_of_another_kind(tmp_path: Path, kind: str) -> None:
    log, _, volume, as_received = net_day()
    value = volume if "volume" in kind else as_received
    evaluation = run(with_own(log, net=round(value)), tmp_path)
    assert kind in one(evaluation, "own-net-kind").message
    assert sample(evaluation).decision is Decision.HOLD


def test_unreadable_own_cells_are_for_review_and_stop_nothing(tmp_path: Path) -> None:
    values: list[Any] = [gross(index) for index in EVERY]
    values[2] = "24,9"
    evaluation = run(day({AD: values}), tmp_path)
    finding = next(f for f in evaluation.findings if f.code == "decimal-comma")
    assert (finding.severity, finding.where) == (Severity.REVIEW, "Runs!AG4")
    assert evaluation.all_ready
    unknown = run(day({AD: list(values)}, as_="Own gross, ad (J/mol)"), tmp_path)
    assert unknown.all_ready
    assert "heading-unit-unknown" in codes(unknown)


def test_a_row_with_nothing_but_own_results_is_no_row_of_the_log(tmp_path: Path) -> None:
    log = day({AD: [gross(index) for index in EVERY]})
    log.rows["Runs"].append({AD: 24000.0})
    evaluation = run(log, tmp_path)
    assert len(evaluation.firings) == len(FIRINGS)
    assert evaluation.all_ready


rises = st.floats(1.0, 3.0).map(lambda value: round(value, 3))
steps = st.sampled_from([("J/g", 1.0, 0), ("J/g", 10.0, 0), ("J/g", 20.0, 0), ("MJ/kg", 0.01, 2), ("J/g", 0.1, 1)])


@given(st.lists(st.tuples(rises, st.floats(0.6, 1.2)), min_size=1, max_size=8), steps, st.floats(0, 20))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_right_values_rounded_never_raise_a_finding(
    tmp_path: Path, firings: list[tuple[float, float]], step: tuple[str, float, int], moisture: float
) -> None:
    unit, width, decimals = step
    scale = 1e-3 if unit == "MJ/kg" else 1.0
    log = day()
    log.setup["Acid scheme"] = ("none",)
    log.headings["Runs"] += [f"Own gross, ad ({unit})", f"Own gross, d ({unit})"]
    log.rows["Runs"].clear()
    log.rows["Titration"].clear()
    log.rows["Samples"].clear()
    for number, (rise, mass) in enumerate(firings, 1):
        log.add("Runs", firing_no=number, sample_no=f"P{number}", sample_mass=round(mass, 4), temperature_rise=rise)
        value = (10000 * rise - 50) / round(mass, 4)
        dry = value / (1 - round(moisture, 2) / 100)
        for name, figure in (("ad", value), ("d", dry)):
            typed = round(round(figure * scale / width) * width, decimals)
            log.rows["Runs"][-1][f"Own gross, {name} ({unit})"] = typed
        log.add("Samples", sample_no=f"P{number}", moisture_analysis=round(moisture, 2))
    assert [finding.message for finding in own(run(log, tmp_path))] == []


@pytest.mark.parametrize(
    ("values", "step"),
    [([24940, 25010, 24870], 10), ([24940, 25020, 24860], 20), ([24941, 25010], 1), ([24.94, 25.02, 24.9], 0.02),
     ([24000.0], 100), ([24941.37, 25000.12], 0.01), ([24941, 24950, 24960, 24970, 24980, 24990], 10)],
)  # fmt: skip
def test_the_step_of_a_column_is_seen_from_its_figures(values: list[float], step: float) -> None:
    assert column_step(values, 100.0) == pytest.approx(step)


def test_what_most_intervals_have_in_common() -> None:
    assert overlap([(1, 3), (2, 4), (2.5, 6), (9, 10)]) == (2.5, 3, [0, 1, 2])
    assert overlap([]) is None


def test_cells_in_words() -> None:
    assert cells_text("P", [7]) == "P7"
    assert cells_text("P", [3, 5, 4, 9]) == "P3 to P5, P9 (4 cells)"
