"""The figures of the long run against figures worked by hand, SciPy and simulation."""

import datetime as dt
import itertools
import json
import math
import random
from pathlib import Path
from typing import Any

import pytest
from long_run_files import check, day, firing, laboratory, pair, series, write
from scipy import stats  # type: ignore[import-untyped]  # scipy ships no types

from batchcal.history import History
from batchcal.trend import figures, pairs
from batchcal.trend.read import read_day, read_folders

LIMIT = 2.7718076  # 1.959964 sqrt(2)


def run(*documents: dict[str, Any], **asked: dt.date) -> History:
    days = [read_day(json.dumps(document).encode(), f"{number:03}") for number, document in enumerate(documents, 1)]
    found = figures.history(days, (), **asked)
    assert found is not None
    return found


def of_differences(*differences: float, **settings: Any) -> dict[str, Any]:
    fired: list[dict[str, Any]] = []
    for number, difference in enumerate(differences):
        fired += pair(f"S{number}", 25000.0 + difference, 25000.0, 2 * number + 1)
    return day("2026-01-05", fired, **settings)


def test_pooled_repeatability_by_hand() -> None:
    """Differences 10 to 50: the sum of squares is 5500, over twice five pairs 550, and its root 23.452."""
    pooled = run(of_differences(10, -20, 30, -40, 50)).pooled
    assert pooled is not None
    assert pooled.sd_J_per_g == pytest.approx(math.sqrt(550.0))
    assert pooled.limit_found_J_per_g == pytest.approx(LIMIT * math.sqrt(550.0), rel=1e-6)
    assert pooled.ratio == pytest.approx(LIMIT * math.sqrt(550.0) / 120.0, rel=1e-6)


def test_its_interval_is_that_of_chi_square() -> None:
    pooled = run(of_differences(*[60.0] * 20)).pooled
    assert pooled is not None
    assert pooled.interval_J_per_g is not None
    factors = [end / pooled.limit_found_J_per_g for end in pooled.interval_J_per_g]
    assert factors == pytest.approx([math.sqrt(20 / stats.chi2.ppf(p, 20)) for p in (0.975, 0.025)])
    assert factors == pytest.approx([0.77, 1.44], abs=0.006)


def test_pairs_beyond_the_limit_are_pooled_too_and_leaving_them_out_would_flatter() -> None:
    """With pairs that scatter just as the limit supposes, the rest alone gives about 13 % too little."""
    chance = random.Random(5)
    sd = 120.0 / LIMIT
    differences = [chance.gauss(0, sd * math.sqrt(2)) for _ in range(4000)]
    pooled = run(of_differences(*differences)).pooled
    agreeing = run(of_differences(*(d for d in differences if abs(d) <= 120))).pooled
    assert pooled is not None
    assert agreeing is not None
    assert pooled.sd_J_per_g == pytest.approx(sd, rel=0.03)
    assert agreeing.sd_J_per_g / pooled.sd_J_per_g == pytest.approx(0.87, abs=0.02)
    assert pooled.beyond / pooled.pairs == pytest.approx(0.05, abs=0.012)


def test_few_pairs_have_no_interval_and_no_verdict() -> None:
    pooled = run(of_differences(500, 500, 500, 500)).pooled
    assert pooled is not None
    assert (pooled.interval_J_per_g, pooled.verdict) == (None, "too few")


@pytest.mark.parametrize(
    ("differences", "verdict"), [([20.0] * 30, "within"), ([160.0] * 30, "above"), ([62.0] * 30, "not clear")]
)
def test_the_verdict_needs_the_whole_interval_on_one_side(differences: list[float], verdict: str) -> None:
    pooled = run(of_differences(*differences)).pooled
    assert pooled is not None
    assert pooled.verdict == verdict


def test_limits_of_two_sizes_are_pooled_in_units_of_each() -> None:
    """Five differences of half a limit of 100 and five of half a limit of 300: 2.77 x 0.5/sqrt(2) limits."""
    other = of_differences(*[150.0] * 5, repeatability_limit_J_per_g=300.0)
    for one in other["firings"]:
        one["rise_K"] += 0.1
    pooled = run(of_differences(*[50.0] * 5, repeatability_limit_J_per_g=100.0), other).pooled
    assert pooled is not None
    assert pooled.limits_J_per_g == (100.0, 300.0)
    assert pooled.ratio == pytest.approx(LIMIT * 0.5 / math.sqrt(2), rel=1e-6)


def test_without_a_limit_there_is_scatter_and_no_verdict() -> None:
    pooled = run(of_differences(*[50.0] * 9, repeatability_limit_J_per_g=None)).pooled
    assert pooled is not None
    assert (pooled.verdict, pooled.ratio, pooled.judged, pooled.too_many_beyond) == ("no limit", None, 0, False)
    assert pooled.sd_J_per_g == pytest.approx(50 / math.sqrt(2))


@pytest.mark.parametrize(("n", "too_many"), [(10, 3), (20, 4), (30, 5), (50, 6), (100, 10)])
def test_how_many_failing_pairs_are_too_many(n: int, too_many: int) -> None:
    """The counts that chance gives at most once in 20 times, summed from the binomial terms."""
    for beyond in (too_many, too_many - 1):
        chance = sum(math.comb(n, k) * 0.05**k * 0.95 ** (n - k) for k in range(beyond, n + 1))
        assert pairs.chance_of_as_many(beyond, n) == pytest.approx(chance)
        assert (chance <= 0.05) == (beyond == too_many)
    pooled = run(of_differences(*[130.0] * too_many, *[1.0] * (n - too_many))).pooled
    assert pooled is not None
    assert pooled.too_many_beyond


def test_groups_stand_by_name_and_analysts_under_codes() -> None:
    fired = [
        *pair("S1", 1.0, 2.0, 1, analyst="zoe", bomb="2"),
        *pair("S2", 1.0, 3.0, 3, analyst="Adam"),
        *pair("S3", 1.0, 9.0, 5, analyst="mia"),
        *pair("S4", 1.0, 4.0, 7),
    ]
    found = run(day(firings=fired, fuel={"S1": "wood", "S2": "Hard coal", "S3": "hard  coal"}, analyst=None))
    assert [(group.name, group.pairs) for group in found.by_fuel_class] == [
        ("Hard coal", 2), ("not stated", 1), ("wood", 1),
    ]  # fmt: skip
    assert [group.name for group in found.by_apparatus] == ["calorimeter A, bomb 1", "calorimeter A, bomb 2"]
    assert [(group.name, group.limit_found_J_per_g < 5) for group in found.by_analyst] == [
        ("Analyst 1", True), ("Analyst 2", False), ("Analyst 3", True), ("not stated", False),
    ]  # fmt: skip
    assert found.analyst_codes == {"Adam": "Analyst 1", "mia": "Analyst 2", "zoe": "Analyst 3"}


def test_quartiles_of_the_ratio() -> None:
    """Ratios 0.1 to 1.1: quartiles 0.3, 0.6 and 0.9 (the (n + 1) p-th value), one pair beyond the limit."""
    (of_month, of_all) = run(of_differences(*(12.0 * k for k in range(1, 12)))).quartiles
    assert (of_month.quarter, of_month.median, of_month.three_quarters) == pytest.approx((0.3, 0.6, 0.9))
    assert (of_month.n, of_month.beyond, of_all.n) == (11, 1, 11)
    assert run(of_differences(1, 2, 3)).quartiles[-1].median is None


def test_first_against_second() -> None:
    differences = [8.0 + 10 * (-1) ** k for k in range(24)]
    sign = run(of_differences(*differences)).first_against_second
    assert sign is not None
    interval = stats.t.interval(0.95, 23, loc=8.0, scale=stats.sem(differences))
    assert sign.mean_J_per_g == pytest.approx(8.0)
    assert sign.interval_J_per_g == pytest.approx(interval)
    assert sign.one_sided
    assert run(of_differences(*[5.0] * 19)).first_against_second is None


def checks(*off: float, **settings: Any) -> list[dict[str, Any]]:
    start = dt.date(2026, 1, 1)
    return [
        day(start + dt.timedelta(n), [check(n + 1, 100.0 + value)], **{"check_sd_percent": 0.1, **settings})
        for n, value in enumerate(off)
    ]


def test_the_running_sum_by_hand() -> None:
    """In SD: 0, 2, 2, 2, 2 less 0.5 each from 0 upward: 0, 1.5, 3, 4.5, 6; beyond 5 at the fifth check."""
    (found,) = run(*checks(0.0, 0.2, 0.2, 0.2, 0.2)).checks
    assert [point.upper for point in found.points] == pytest.approx([0.0, 1.5, 3.0, 4.5, 6.0])
    assert [point.lower for point in found.points] == pytest.approx([0.0] * 5)
    assert found.drift is not None
    assert (found.drift.firing, str(found.drift.date), str(found.drift.since)) == ("5", "2026-01-05", "2026-01-02")
    assert (found.drift.side, found.drift.lasting) == (1, True)
    assert found.drift.mean_off_percent == pytest.approx(0.2)


def test_a_running_sum_that_went_back_is_not_lasting() -> None:
    (found,) = run(*checks(-0.3, -0.3, -0.3, 0.0, 0.3, 0.3)).checks
    assert found.drift is not None
    assert (found.drift.side, found.drift.firing, found.drift.lasting) == (-1, "3", False)


def test_checks_are_judged_by_the_limits_of_their_own_day() -> None:
    early = checks(0.15, check_limit_percent=0.1)
    late = checks(0.0, 0.15, 0.19, 0.21, check_limit_percent=0.2, check_warning_limit_percent=0.18)[1:]
    (found,) = run(*early, *late).checks
    assert [point.verdict for point in found.points] == ["out", "within", "warning", "out"]
    assert (found.action_percent, found.warning_percent, found.limits_changed) == (0.2, 0.18, True)


def test_where_the_standard_deviation_of_checks_comes_from() -> None:
    assert run(*checks(0.1)).checks[0].sd_source == "Setup of the newest day"
    half = run(*checks(0.1, check_sd_percent=None, check_limit_percent=0.2)).checks[0]
    assert half.sd_percent == pytest.approx(0.1)
    assert half.sd_source.startswith("half of the check limit;")
    few = run(*checks(0.1, 0.2, check_sd_percent=None)).checks[0]
    assert (few.sd_percent, few.drift, few.points[0].upper) == (None, None, None)
    own = run(*checks(*[0.1, -0.1] * 6, check_sd_percent=None)).checks[0]
    assert own.sd_percent == pytest.approx(0.2 / 1.128, rel=1e-3), "mean moving range 0.2 over d2 of two"
    assert own.found_sd_percent == own.sd_percent
    assert "moving range" in own.sd_source


def test_patterns_of_checks_are_counted() -> None:
    (found,) = run(*checks(*[0.05] * 9)).checks
    assert [(pattern.rule, pattern.times, str(pattern.last)) for pattern in found.patterns] == [
        ("eight in a row on one side of the centre", 2, "2026-01-09")
    ]
    assert found.false_patterns == pytest.approx(9 / 92)


def calibrated(date: str, mean: float, first: int, **values: Any) -> dict[str, Any]:
    fired = [
        firing(first + n, "calibration", date=date, heat_capacity_J_per_K=mean + off, mass_g=1 + first / 1e4 + n / 1e6)
        for n, off in enumerate((-6.0, 0.0, 6.0))
    ]
    of_series = series(
        mean, date, n=3, sd_J_per_K=values.pop("sd", 6.0), firings=[f["firing"] for f in fired], **values
    )
    return day(date, fired, series=[of_series])


def test_heat_capacities_carried_along_count_once_with_their_newest_state() -> None:
    first = calibrated("2026-01-02", 10000.0, 1, expires="2026-04-02")
    again = json.loads(json.dumps(first))
    again["settings"]["batch_date"], again["input"]["sha256"] = "2026-04-10", "other"
    again["series"][0]["state"] = "expired"
    again["firings"] += pair("S", 1.0, 2.0, 50)
    later = calibrated("2026-04-11", 10030.0, 100, sd=8.0, name="B", expires="2026-07-10")
    (found,) = (history := run(first, again, later)).capacities
    assert [(one.heat_capacity_J_per_K, one.state, one.change_J_per_K) for one in found.series] == [
        (10000.0, "expired", None), (10030.0, "in force", 30.0),
    ]  # fmt: skip
    assert len(found.points) == 6
    assert found.pooled_sd_J_per_K == pytest.approx(math.sqrt((2 * 36 + 2 * 64) / 4))
    assert found.degrees_of_freedom == 4
    (due,) = history.due
    assert (due.series.name, due.days_left) == ("B", 90)


def test_a_heat_capacity_from_setup_has_no_scatter() -> None:
    entered = series(10000.0, "2026-01-01", n=None, sd_J_per_K=None)
    (found,) = run(day("2026-01-05", pair("S", 1.0, 2.0), series=[entered])).capacities
    assert (found.pooled_sd_J_per_K, found.points, found.series[0].n) == (None, (), None)


def test_what_was_fired_again_is_counted_by_cause_and_month() -> None:
    january = day("2026-01-05", [
        firing(1, sample="S1", outcome="misfire", state="excluded"),
        *pair("S1", 25000.0, 25200.0, 2),
        firing(4, sample="S1", gross_d_J_per_g=25100.0),
        firing(5, sample="S2", state="not computed", findings=["number-as-text"]),
        firing(6, sample="S2", state="not computed", findings=["benzoic-heat-missing"]),
        firing(7, sample="S2", state="set aside"),
    ])  # fmt: skip
    march = day("2026-03-02", [firing(8, outcome="misfire", state="excluded"), firing(9, outcome="leak")])
    found = run(january, march)
    assert [span.name for span in found.spans] == ["2026-01", "2026-02", "2026-03"]
    assert {count.key: count.by_span for count in found.events if count.total} == {
        "misfire": (1, 0, 1), "leak": (0, 0, 1), "typing": (1, 0, 0), "not computed": (1, 0, 0),
        "set aside": (1, 0, 0), "scatter": (1, 0, 0), "third firing": (1, 0, 0),
    }  # fmt: skip


def test_findings_are_counted_by_code_and_month_the_weightiest_first() -> None:
    found = run(
        day("2026-01-05", pair("S", 1.0, 2.0), findings=[("check-missing", "review"), ("pair-apart", "block")]),
        day("2026-02-05", pair("T", 1.0, 2.0, 5), findings=[("check-missing", "review"), ("leak-logged", "safety")]),
    )
    assert [(count.key, count.severity, count.by_span) for count in found.findings] == [
        ("leak-logged", "safety", (0, 1)), ("pair-apart", "block", (1, 0)), ("check-missing", "review", (1, 1)),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("first", "last", "names"),
    [
        ("2026-01-31", "2026-02-01", ["2026-01", "2026-02"]),
        ("2025-02-01", "2026-01-31", [f"2025-{m:02}" for m in range(2, 13)] + ["2026-01"]),
        ("2025-02-01", "2026-02-01", ["2025 Q1", "2025 Q2", "2025 Q3", "2025 Q4", "2026 Q1"]),
        ("2019-05-01", "2026-02-01", [str(year) for year in range(2019, 2027)]),
    ],
)
def test_stretches_of_the_calendar(first: str, last: str, names: list[str]) -> None:
    found = figures.spans(dt.date.fromisoformat(first), dt.date.fromisoformat(last))
    assert [span.name for span in found] == names
    assert found[0].start <= dt.date.fromisoformat(first)
    assert found[-1].end >= dt.date.fromisoformat(last)
    assert all(a.end + dt.timedelta(1) == b.start for a, b in itertools.pairwise(found))


def test_nothing_to_count_is_no_history() -> None:
    assert figures.history([], ()) is None
    days = [read_day(json.dumps(of_differences(1.0)).encode(), "a")]
    assert figures.history(days, (), since=dt.date(2027, 1, 1)) is None


def test_an_invented_laboratory_comes_back(tmp_path: Path) -> None:
    """Scatter by fuel and a drift of one bomb's checks are found again within what chance allows."""
    days, passed = read_folders([write(tmp_path, *laboratory(120, samples=10, drift=0.15))])
    found = figures.history(days, passed)
    assert found is not None
    scatter = {group.name: group.sd_J_per_g for group in found.by_fuel_class}
    for fuel, sd in {"hard coal": 42.0, "lignite": 61.0, "wood pellets": 44.0, "heavy oil": 30.0}.items():
        assert scatter[fuel] == pytest.approx(sd, rel=0.12), "three standard deviations of a SD of 300 pairs"
    first, second = found.checks
    assert first.drift is None
    assert second.drift is not None
    drifted_from = dt.date(2026, 1, 5) + dt.timedelta(80 * 7 // 5)
    assert drifted_from < second.drift.date < drifted_from + dt.timedelta(40)
    assert [len(run_.series) for run_ in found.capacities] == [3, 3]
