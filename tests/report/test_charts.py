"""Charts: positions follow from the numbers in proportion, and the lines stand where the limits are."""

import itertools
import re

import pytest
import scipy.stats  # type: ignore[import-untyped]  # scipy ships no types
from day import CONSTANTS, make_batch, make_evaluation, printed, with_settings
from msgspec.structs import replace

from batchcal.logged import SetupEntry
from batchcal.model import Evaluation
from batchcal.report import charts
from batchcal.report.page import summary_page


@pytest.fixture(scope="module")
def day() -> Evaluation:
    return make_evaluation()


def test_ratio_chart_measures_every_sample_against_the_limit_line(day: Evaluation) -> None:
    chart = charts.ratio_chart(day.samples)
    assert chart is not None
    compared = [s for s in day.samples if s.range_J_per_g is not None and s.limit_J_per_g is not None]
    assert [mark.label for mark in chart.marks] == [sample.sample for sample in compared]
    for mark, sample in zip(chart.marks, compared, strict=True):
        ratio = (sample.range_J_per_g or 0) / (sample.limit_J_per_g or 1)
        drawn = (mark.x - chart.frame.left) / (chart.limit_x - chart.frame.left)
        assert drawn == pytest.approx(ratio, abs=0.002)
        assert mark.kind == ("beyond" if mark.x > chart.limit_x else "within")
        assert chart.frame.top < mark.y < chart.frame.bottom
    assert [mark.label for mark in chart.marks if mark.kind == "beyond"] == ["26-0713"]


def test_the_limit_line_is_drawn_where_the_chart_puts_it(day: Evaluation) -> None:
    chart = charts.ratio_chart(day.samples)
    assert chart is not None
    html = summary_page(day, printed, CONSTANTS)
    line = re.search(r'id="limit-ratio" d="M([\d.]+) ([\d.]+)V([\d.]+)', html)
    assert line is not None
    assert [float(text) for text in line.groups()] == [chart.limit_x, chart.frame.bottom, chart.frame.top]
    tick = next(tick for tick in chart.ticks if tick.text == "1.0")
    assert tick.at == chart.limit_x


def test_a_far_difference_is_cut_and_says_so(day: Evaluation) -> None:
    far = replace(day.samples[0], range_J_per_g=120.0 * 40)
    chart = charts.ratio_chart([far, *day.samples[1:]])
    bar = charts.difference_bar(far)
    assert chart is not None
    assert bar is not None
    assert chart.marks[0].cut
    assert chart.marks[0].x <= chart.frame.right
    assert chart.marks[0].text == "40.00"
    assert (bar.cut, bar.length) == (True, bar.width)


@pytest.mark.parametrize("share", [0.05, 0.2, 0.35, 0.5, 0.65, 0.8, 0.95])
@pytest.mark.parametrize("farthest", [1.2, 40.0])
def test_a_ratio_runs_neither_into_the_limit_line_nor_into_the_name(
    day: Evaluation, share: float, farthest: float
) -> None:
    first, *others = (s for s in day.samples if s.range_J_per_g is not None and s.limit_J_per_g is not None)
    near = replace(first, range_J_per_g=120.0 * share, limit_J_per_g=120.0)
    far = replace(others[0], range_J_per_g=120.0 * farthest, limit_J_per_g=120.0)
    chart = charts.ratio_chart([near, far])
    assert chart is not None
    mark, width = chart.marks[0], 4 * charts.DIGIT
    left, right = (mark.text_x - width, mark.text_x) if mark.anchor == "end" else (mark.text_x, mark.text_x + width)
    assert left >= chart.frame.left
    assert not left < chart.limit_x < right


@pytest.mark.parametrize(
    ("difference", "limit", "beyond"), [(60.0, 120.0, False), (120.0, 120.0, False), (120.04, 120.0, True)]
)
def test_difference_bar(day: Evaluation, difference: float, limit: float, *, beyond: bool) -> None:
    bar = charts.difference_bar(replace(day.samples[0], range_J_per_g=difference, limit_J_per_g=limit))
    assert bar is not None
    assert bar.length / bar.limit == pytest.approx(difference / limit, abs=0.002)
    assert bar.beyond is beyond
    assert (
        bar.words
        == {
            60.0: "Difference 60.0 J/g, within the limit of 120.0 J/g",
            120.0: "Difference 120.0 J/g, within the limit of 120.0 J/g",
            120.04: "Difference 120.04 J/g, beyond the limit of 120.00 J/g",
        }[difference]
    )


def test_no_bar_and_no_chart_without_a_limit(day: Evaluation) -> None:
    unjudged = [replace(sample, limit_J_per_g=None) for sample in day.samples]
    assert charts.ratio_chart(unjudged) is None
    assert charts.difference_bar(unjudged[0]) is None


def test_half_of_all_pairs_is_the_half_normal_quartiles() -> None:
    # |A - B| of two equal normal results is half-normal; the limit is its 95 % point.
    half = scipy.stats.halfnorm
    assert charts.expected_half() == pytest.approx((half.ppf(0.25) / half.ppf(0.95), half.ppf(0.75) / half.ppf(0.95)))


def test_heat_capacity_chart_is_linear_between_mean_and_two_sd(day: Evaluation) -> None:
    series = day.series[0]
    chart = charts.heat_capacity_chart(series, day.firings, "series-1")
    assert chart is not None
    assert chart.band is not None
    mean, sd = series.heat_capacity_J_per_K, series.sd_J_per_K
    assert mean is not None
    assert sd is not None
    lines = {rule.text.split()[0]: rule.y for rule in chart.rules}
    assert lines["+2"] < lines["mean"] < lines["\N{MINUS SIGN}2"]
    assert chart.band == (lines["+2"], lines["\N{MINUS SIGN}2"])
    values = [firing.heat_capacity_J_per_K for firing in day.firings if firing.name in series.firings]
    assert len(chart.marks) == len(values) == 5
    for mark, value in zip(chart.marks, values, strict=True):
        drawn = (lines["mean"] - mark.y) / (lines["mean"] - lines["+2"])
        assert drawn == pytest.approx(((value or 0.0) - mean) / (2 * sd), abs=0.01)


def test_heat_capacity_stands_against_the_rise_between_the_same_lines(day: Evaluation) -> None:
    series = day.series[0]
    chart = charts.heat_capacity_chart(series, day.firings, "series-1")
    assert chart is not None
    assert chart.beside is not None
    panel = chart.beside
    assert chart.end < panel.left < panel.right == chart.frame.right
    assert [mark.y for mark in panel.marks] == [mark.y for mark in chart.marks]
    assert all(chart.frame.left < mark.x < chart.end for mark in chart.marks)
    rises = [firing.corrected_rise_K or 0.0 for firing in day.firings if firing.name in series.firings]
    one, other = panel.ticks[0], panel.ticks[-1]
    per_K = (other.at - one.at) / (float(other.text) - float(one.text))
    for mark, rise in zip(panel.marks, rises, strict=True):
        assert mark.x == pytest.approx(one.at + per_K * (rise - float(one.text)), abs=0.2)
        assert f"at {rise:.3f} K" in mark.words
        assert "(Calibration row " in mark.words
    assert panel.slope == ""
    assert f"Corrected rises {min(rises):.3f} to {max(rises):.3f} K" in chart.description
    assert [tick.text for tick in chart.days] == ["2026-02-03"]


def test_a_heat_capacity_that_is_a_line_is_drawn_as_one(day: Evaluation) -> None:
    mean, rises = day.series[0].heat_capacity_J_per_K, day.series[0].rise_range_K
    assert mean is not None
    assert rises is not None
    middle = sum(rises) / 2
    sloping = replace(day.series[0], slope_J_per_K2=5.0, mean_rise_K=middle)
    chart = charts.heat_capacity_chart(sloping, day.firings, "series-1")
    assert chart is not None
    assert chart.beside is not None
    ends = re.fullmatch(r"M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)", chart.beside.slope)
    assert ends is not None
    x0, y0, x1, y1 = (float(text) for text in ends.groups())
    assert chart.beside.left < x0 < x1 < chart.beside.right
    lines = {rule.text.split()[0]: rule.y for rule in chart.rules}
    per_joule = (lines["mean"] - lines["+2"]) / (2 * (day.series[0].sd_J_per_K or 0.0))
    used = [f.corrected_rise_K or 0.0 for f in day.firings if f.name in sloping.firings]
    assert y0 - y1 == pytest.approx(per_joule * 5.0 * (max(used) - min(used)), abs=0.3)
    assert "Sloping line: the heat capacity in use." in chart.caption


@pytest.mark.parametrize(("value", "unit"), [(0.2, "%"), (0.002 * 26454.0, "J/g")])
def test_check_chart_draws_the_limit_in_per_cent_of_the_certificate(value: float, unit: str) -> None:
    def change(entry: SetupEntry) -> SetupEntry:
        return replace(entry, value=value, unit=unit) if entry.key == "check_limit" else entry

    evaluation = with_settings(change, make_batch(check_off=-95.0))
    chart = charts.check_chart(evaluation, frozenset({"2412"}))
    assert chart is not None
    lines = {rule.text: rule.y for rule in chart.rules}
    assert set(lines) == {"100.20 %", "100 %", "99.80 %"}
    recoveries = [f.recovery_percent for f in evaluation.firings if f.recovery_percent is not None]
    for mark, recovery in zip(chart.marks, recoveries, strict=True):
        drawn = (lines["100 %"] - mark.y) / (lines["100 %"] - lines["100.20 %"])
        assert drawn == pytest.approx((recovery - 100.0) / 0.2, abs=0.02)
    assert [mark.kind for mark in chart.marks] == ["within", "beyond"]


def test_check_chart_without_a_limit_judges_nothing() -> None:
    evaluation = with_settings(lambda entry: None if entry.key == "check_limit" else entry, make_batch())
    chart = charts.check_chart(evaluation, frozenset())
    assert chart is not None
    assert chart.band is None
    assert {mark.kind for mark in chart.marks} == {"open"}
    assert "No check limit is set" in chart.caption


def test_acid_chart_stacks_heats_in_proportion_and_marks_what_is_missing(day: Evaluation) -> None:
    chart = charts.acid_chart(day)
    assert chart is not None
    per_joule = (chart.levels[0].at - chart.levels[1].at) / float(chart.levels[1].text)
    shown = {column.words.split(" (")[0].removeprefix("Firing "): column for column in chart.columns}
    for firing in day.firings:
        if firing.nitric_J is None:
            continue
        column = shown[firing.name]
        assert column.nitric_height == pytest.approx(firing.nitric_J * per_joule, abs=0.12)
        assert column.sulphuric_height == pytest.approx((firing.sulphuric_J or 0.0) * per_joule, abs=0.12)
        assert column.nitric_y + column.nitric_height == pytest.approx(chart.frame.bottom, abs=0.12)
        assert column.sulphuric_y + column.sulphuric_height == pytest.approx(column.nitric_y, abs=0.12)
        assert column.sulphuric_y >= chart.frame.top
    assert [name for name, column in shown.items() if column.missing] == ["2424"]


@pytest.mark.parametrize("repeats", [1, 6])
def test_no_label_of_a_chart_touches_the_next(repeats: int) -> None:
    evaluation = make_evaluation(repeats=repeats)
    acid = charts.acid_chart(evaluation)
    assert acid is not None
    drawn = [charts.heat_capacity_chart(s, evaluation.firings, "k") for s in evaluation.series]
    drawn.append(charts.check_chart(evaluation, frozenset()))
    for chart in drawn:
        assert chart is not None
        heights = [rule.text_at for rule in chart.rules]
        assert all(after - before >= 10.0 for before, after in itertools.pairwise(heights))
        ends = [(tick.at - 2.7 * len(tick.text), tick.at + 2.7 * len(tick.text)) for tick in chart.ticks]
        assert all(after[0] > before[1] for before, after in itertools.pairwise(ends))
    room = 9.0 if acid.upright else 6.0 * len(acid.ticks[0].text)
    assert all(b.at - a.at >= room - 0.1 for a, b in itertools.pairwise(acid.ticks))
