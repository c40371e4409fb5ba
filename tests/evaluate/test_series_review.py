"""A second look at the series: days, analysts, trends, outliers, steps, and the end of its life."""

import datetime as dt
import random
import statistics
from collections.abc import Sequence
from pathlib import Path

import pytest
from logbook import DAY, Log, codes, firing, plain_log, run

from batchcal.evaluate.firings import Firing
from batchcal.evaluate.series_review import review_series
from batchcal.findings import Finding
from batchcal.logged import FiringRow, Place, Table
from batchcal.model import Evaluation, Series, Settings
from batchcal.terms import Purpose, SeriesState

BENZOIC, IGNITION = 26454.0, 60.0
FIRST = dt.date(2026, 10, 1)
DAYS = [FIRST + dt.timedelta(days=number // 2) for number in range(6)]
# The charges of a series, and heat capacities that scatter by 3 J/K about 10 000 J/K without any trend
MASSES = (0.80, 1.15, 0.90, 1.05, 1.00, 0.95)
FLAT = (10003.0, 10001.0, 9996.0, 9998.0, 10004.0, 9998.0)


def energy(mass: float) -> float:
    return mass * BENZOIC + IGNITION


def series_log(
    capacities: Sequence[float], masses: Sequence[float] = MASSES, days: Sequence[dt.date] = DAYS, series: str = ""
) -> Log:
    log = plain_log(2.5, 2.502)
    del log.setup["Effective heat capacity"]
    log.setup |= {
        "Benzoic acid heat of combustion": (BENZOIC, "J/g", "certificate"),
        "Benzoic acid mass basis": ("air",),
        "Series minimum": (5, None, "own"),
        "Series relative SD limit": (1, "%", "own"),
    }
    add_series(log, capacities, masses, days, first=101, series=series)
    return log


def add_series(
    log: Log, capacities: Sequence[float], masses: Sequence[float], days: Sequence[dt.date], *, first: int, series: str
) -> None:
    for number, (capacity, mass, day) in enumerate(zip(capacities, masses, days, strict=True)):
        log.add(
            "Calibration", firing_no=first + number, date=day, series=series or None, sample_mass=mass,
            temperature_rise=energy(mass) / capacity,
        )  # fmt: skip


def of_series(evaluation: Evaluation) -> list[str]:
    return [code for code in codes(evaluation) if code.startswith("series-")]


def only(evaluation: Evaluation, code: str) -> Finding:
    (finding,) = [finding for finding in evaluation.findings if finding.code == code]
    return finding


def test_a_series_in_order_says_nothing(tmp_path: Path) -> None:
    assert of_series(run(series_log(FLAT), tmp_path)) == []


def test_a_series_fired_on_one_day(tmp_path: Path) -> None:
    evaluation = run(series_log(FLAT, days=[FIRST] * 6), tmp_path)
    assert of_series(evaluation) == ["series-one-day"]
    finding = only(evaluation, "series-one-day")
    assert "All 6 firings of the calorimeter were made on 2026-10-01" in finding.message
    assert (finding.severity, finding.effect) == ("review", None)


@pytest.mark.parametrize(
    ("calibrated", "sampled", "said"),
    [("AB", "CD", True), ("AB", "ab", False), ("AB", None, False), (None, "CD", False)],
)
def test_a_series_by_one_of_several_analysts(
    tmp_path: Path, calibrated: str | None, sampled: str | None, said: bool
) -> None:
    log = series_log(FLAT)
    for row in log.rows["Calibration"]:
        row["Analyst"] = calibrated
    log.rows["Runs"][0]["Analyst"] = sampled
    evaluation = run(log, tmp_path)
    assert of_series(evaluation) == (["series-one-analyst"] if said else [])
    if said:
        assert "by AB, and the workbook names CD as well" in only(evaluation, "series-one-analyst").message


def sloping(slope: float, scatter: float) -> list[float]:
    """Heat capacities that rise by ``slope`` J/K for each kelvin, with FLAT's scatter times ``scatter``."""
    return [
        10000 + slope * (energy(mass) / 10000 - 2.6) + scatter * (flat - 10000)
        for mass, flat in zip(MASSES, FLAT, strict=True)
    ]


def test_a_trend_with_the_rise(tmp_path: Path) -> None:
    values = sloping(40.0, 1.0)
    mean = statistics.mean(values)
    expected = [energy(mass) / mean for mass in MASSES]
    slope, intercept = statistics.linear_regression(expected, values)
    residual = (sum((v - intercept - slope * x) ** 2 for x, v in zip(expected, values, strict=True)) / 4) ** 0.5
    t = slope / (residual / sum((x - statistics.mean(expected)) ** 2 for x in expected) ** 0.5)
    assert t > 2.776  # the printed 5 % point of Student's t for 4 degrees of freedom
    change = slope * (max(expected) - min(expected))
    assert change / mean > 0.001
    evaluation = run(series_log(values), tmp_path)
    assert of_series(evaluation) == ["series-trend-with-rise"]
    message = only(evaluation, "series-trend-with-rise").message
    assert f"by {change:+.1f} J/K ({100 * change / mean:+.2f} %)" in message
    assert f"from a rise of {min(expected):.2f} K to {max(expected):.2f} K" in message


def test_a_line_takes_the_trend_up(tmp_path: Path) -> None:
    log = series_log(sloping(40.0, 1.0))
    log.setup["Heat-capacity model"] = ("line",)
    assert of_series(run(log, tmp_path)) == []


def test_a_small_trend_is_left_alone(tmp_path: Path) -> None:
    # 8 J/K per K over 0.93 K is 0.07 %, with a tenth of the scatter: significant, and below 0.1 %
    assert of_series(run(series_log(sloping(8.0, 0.1)), tmp_path)) == []


def test_equal_charges_are_no_trend(tmp_path: Path) -> None:
    """With one mass the heat capacity falls exactly as the rise read grows, and that says nothing."""
    rises = (2.645, 2.656, 2.65, 2.648, 2.653, 2.651)
    log = series_log([energy(1.0) / rise for rise in rises], masses=[1.0] * 6)
    assert of_series(run(log, tmp_path)) == []


CLIMBING = (9990.0, 9995.0, 9998.0, 10003.0, 10005.0, 10011.0)


def test_a_trend_with_the_order_of_firing(tmp_path: Path) -> None:
    slope, _ = statistics.linear_regression(range(6), CLIMBING)
    evaluation = run(series_log(CLIMBING), tmp_path)
    assert of_series(evaluation) == ["series-trend-with-order"]
    change = 5 * slope
    expected = f"{change:+.1f} J/K ({change / statistics.mean(CLIMBING) * 100:+.2f} %) from the first firing"
    assert expected in only(evaluation, "series-trend-with-order").message


def test_the_order_is_that_of_the_clock(tmp_path: Path) -> None:
    log = series_log([CLIMBING[place] for place in (2, 5, 0, 4, 1, 3)], days=[FIRST] * 6)
    assert of_series(run(log, tmp_path)) == ["series-one-day"]
    for row, place in zip(log.rows["Calibration"], (2, 5, 0, 4, 1, 3), strict=True):
        row["Time"] = dt.time(8 + place, 30)
    assert of_series(run(log, tmp_path)) == ["series-one-day", "series-trend-with-order"]


def test_a_firing_that_stands_apart(tmp_path: Path) -> None:
    values = [*FLAT[:2], 10060.0, *FLAT[3:]]
    farthest = (10060.0 - statistics.mean(values)) / statistics.stdev(values)
    assert farthest > 1.973  # the printed 1 % point of Grubbs' test for 6 values (ISO 5725-2, recalled)
    evaluation = run(series_log(values), tmp_path)
    assert of_series(evaluation) == ["series-outlier"]
    finding = only(evaluation, "series-outlier")
    assert (finding.firing, finding.where) == ("103", "Calibration!AB4")
    others = statistics.mean([*FLAT[:2], *FLAT[3:]])
    assert (
        f"10060.0 J/K, stands apart from the other 5 of the calorimeter; their mean is {others:.1f}" in finding.message
    )
    assert finding in firing(evaluation, 103).findings
    assert evaluation.series[0].n == 6  # it stays in the mean


def test_one_step_of_the_reading_is_no_outlier(tmp_path: Path) -> None:
    """Of three values two of which are equal, the third is always as far off as it can be."""
    values = [energy(1.0) / rise for rise in (2.65, 2.65, 2.66)]
    log = series_log(values, masses=[1.0] * 3, days=DAYS[:1] * 2 + DAYS[-1:])
    log.setup["Series minimum"] = (3, None, "own")
    log.setup["Reading resolution"] = (0.01, "K", "own")
    assert of_series(run(log, tmp_path)) == []
    log.setup["Reading resolution"] = (0.001, "K", "own")
    assert of_series(run(log, tmp_path)) == ["series-outlier"]


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        (None, None),
        ((0.4, "%", "own"), None),
        ((0.2, "%", "own"), "a step of +0.30 %, the limit is 0.2 %"),
        ((40, "J/K", "own"), None),
        ((0.02, "kJ/K", "own"), "a step of +30.0 J/K, the limit is 20 J/K"),
    ],
)
def test_a_step_from_the_series_before(tmp_path: Path, limit: tuple[float, str, str] | None, words: str | None) -> None:
    before = [value - 30 for value in FLAT]  # 9 970 J/K, so 30 / 9 970 = 0.30 %
    log = series_log(FLAT, series="new")
    add_series(log, before, MASSES, [day - dt.timedelta(days=60) for day in DAYS], first=51, series="old")
    if limit is not None:
        log.setup["Series step limit"] = limit
    evaluation = run(log, tmp_path)
    assert of_series(evaluation) == ([] if words is None else ["series-step"])
    if words is not None:
        message = only(evaluation, "series-step").message
        assert "10000.0 J/K on 2026-10-03, 9970.0 J/K on 2026-08-04: " + words in message
        assert message.endswith("On the new one rest: S1.")


def test_a_series_that_was_superseded_is_left_alone(tmp_path: Path) -> None:
    log = series_log(FLAT, series="new")
    add_series(log, CLIMBING, MASSES, [FIRST - dt.timedelta(days=30)] * 6, first=51, series="old")
    assert of_series(run(log, tmp_path)) == []


@pytest.mark.parametrize(("age", "said"), [(76, None), (77, "13 days left"), (89, "1 day left"), (90, "0 days left")])
def test_the_end_of_its_life_is_announced(tmp_path: Path, age: int, said: str | None) -> None:
    """85 % of 90 days are 76.5 days after the last firing on 3 October."""
    log = series_log(FLAT)
    log.setup["Batch date"] = (DAYS[-1] + dt.timedelta(days=age),)
    evaluation = run(log, tmp_path)
    assert of_series(evaluation) == ([] if said is None else ["series-ending"])
    if said is not None:
        finding = only(evaluation, "series-ending")
        assert finding.message.endswith(f"holds until 2027-01-01: {said}.")
        assert finding.remedy == "Fire the next series by then (at least 5 firings of benzoic acid)."
        assert finding.severity == "note"


def test_a_setup_value_ends_too(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.502)
    log.setup["Heat-capacity life"] = (15, "days", "own")  # since 1 October, fired on the 14th: 13 of 15 days
    evaluation = run(log, tmp_path)
    assert of_series(evaluation) == ["series-ending"]
    assert only(evaluation, "series-ending").remedy == "Fire the next series by then."
    log.setup["Heat-capacity life"] = (16, "days", "own")
    assert of_series(run(log, tmp_path)) == []


PLACE = Place(Table("Calibration", 1, {}, {}), 2)


def codes_of(masses: Sequence[float], rises: Sequence[float]) -> list[str]:
    """Review a series without a workbook around it."""
    made = []
    for number, (mass, rise) in enumerate(zip(masses, rises, strict=True)):
        row = FiringRow(PLACE, str(number), date=DAY, rise_decimals=3)
        made.append(
            Firing(row, Purpose.CALIBRATION, date=DAYS[number], rise_K=rise, heat_capacity_J_per_K=energy(mass) / rise)
        )
    names = tuple(firing.row.firing for firing in made)
    series = Series("", "", "", 10000.0, len(made), 5.0, 0.05, None, DAYS[-1], None, SeriesState.IN_FORCE, names, "")
    return [finding.code for finding in review_series(made, Settings(), [series], DAY)]


@pytest.mark.parametrize("spread", [0.15, 0.0005], ids=["charges of many sizes", "charges all alike"])
def test_false_alarms_are_as_rare_as_is_said(spread: float) -> None:
    """2000 honest series: about 5 % trends of each kind and 1 % outliers; the bounds are four standard errors off."""
    draw = random.Random(20261014)
    count = dict.fromkeys(("series-trend-with-rise", "series-trend-with-order", "series-outlier"), 0)
    for _ in range(2000):
        masses = [round(1.0 + draw.uniform(-spread, spread), 4) for _ in range(6)]
        # A scatter of 0.15 %: a slope that is significant is then nearly always worth more than 0.1 %.
        rises = [round(energy(mass) / 10000.0 * (1 + draw.gauss(0, 0.0015)), 3) for mass in masses]
        for code in codes_of(masses, rises):
            count[code] += 1
    assert count["series-trend-with-rise"] / 2000 == pytest.approx(0.05, abs=0.02)
    assert count["series-trend-with-order"] / 2000 == pytest.approx(0.05, abs=0.02)
    assert count["series-outlier"] / 2000 == pytest.approx(0.01, abs=0.009)
