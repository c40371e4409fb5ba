"""The long-run page: whole without network or script, every chart said in words, few data said, in a real browser."""

import datetime as dt
import io
import itertools
import json
import re
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from long_run_files import check, day, firing, laboratory, pair, series
from msgspec.structs import replace
from test_layout_in_browser import assert_nothing_runs_over, in_wide_font

from batchcal.history import History, Passed
from batchcal.report.trend import trend_page, trend_view
from batchcal.trend.figures import history
from batchcal.trend.read import read_day
from batchcal.workbook.trend import trend_workbook

NAMES = ("outstanding", "due", "capacity", "checks", "pairs", "scatter", "events", "findings", "unseen", "record")


def run(*documents: dict[str, Any], passed: tuple[Passed, ...] = ()) -> History:
    days = [read_day(json.dumps(document).encode(), f"{number:03}") for number, document in enumerate(documents, 1)]
    found = history(days, passed)
    assert found is not None
    return found


@pytest.fixture(scope="module")
def year() -> History:
    return run(*laboratory(170, samples=5, drift=0.12), passed=(Passed("x.results.json", "empty"),))


@pytest.fixture(scope="module")
def page(year: History) -> str:
    return trend_page(year, "trend.results.xlsx")


def outstanding(found: History) -> list[tuple[str, str]]:
    return [(line.word, line.text) for line in trend_view(found).outstanding]


def test_the_page_is_whole_by_itself_and_the_same_each_time(year: History, page: str) -> None:
    assert trend_page(year, "trend.results.xlsx") == page
    assert not re.search(r"<script|<link|<img|@import|url\((?!#)|https?://", page)
    assert "default-src 'none'" in page
    assert [page.index(f'<section id="{name}"') for name in NAMES] == sorted(
        page.index(f'<section id="{name}"') for name in NAMES
    )
    assert len(re.findall(' id="([^"]+)"', page)) == len(set(re.findall(' id="([^"]+)"', page)))


def test_every_drawing_has_title_and_description(page: str) -> None:
    drawings = re.findall(r'<svg class="(?:chart|bar)".*?</svg>', page, re.DOTALL)
    assert len(drawings) > 8
    for drawing in drawings:
        labels = re.search('aria-labelledby="([^"]+)"', drawing)
        assert labels is not None
        for name in labels[1].split():
            assert re.search(f'<(title|desc) id="{name}">[^<]', drawing)
        assert "nan" not in drawing
        assert "inf" not in drawing.replace("infinite", "")


def test_the_limit_stands_on_every_chart(year: History) -> None:
    view = trend_view(year)
    assert view.ratio is not None
    assert "limit" in [label.text for label in view.ratio.labels]
    for chart in view.check_charts:
        assert {"100.20", "99.80", "100 %", "warning"} <= {label.text for label in chart.labels}
        assert chart.sums is not None
        assert [text.text for text in chart.sums.texts] == ["+5 SD", "−5 SD"]
    for chart in view.capacity_charts:
        assert {"+2 SD", "−3 SD"} <= {label.text for label in chart.labels}


def test_what_is_drawn_lies_inside_the_drawing(year: History) -> None:
    view = trend_view(year)
    assert view.ratio is not None
    for chart in (*view.capacity_charts, *view.check_charts, view.ratio):
        frame = chart.frame
        assert chart.marks or chart.dots or chart.over
        for mark in chart.marks:
            assert frame.left <= mark.x <= frame.right
            assert frame.top <= mark.y <= frame.bottom
        for at in (*(label.at for label in chart.labels), *(tick.at for tick in chart.levels)):
            assert -5 <= at <= frame.height
        heights = sorted(label.at for label in chart.labels)
        assert all(b - a > 9.9 for a, b in itertools.pairwise(heights))


def test_points_of_a_control_chart_stand_at_their_values() -> None:
    """Three checks evenly in time at 99.9, 100 and 100.1 %: the middle one halfway across and halfway up."""
    days = [day(f"2026-01-{1 + n:02}", [check(n, 99.9 + n / 10)], check_limit_percent=0.2) for n in range(3)]
    (chart,) = trend_view(run(*days)).check_charts
    low, middle, high = chart.marks
    assert middle.x == pytest.approx((low.x + high.x) / 2, abs=0.1)
    assert middle.y == pytest.approx((low.y + high.y) / 2, abs=0.1)
    assert low.y > middle.y > high.y
    labels = {label.text: label.at for label in chart.labels}
    assert labels["100 %"] == pytest.approx(middle.y, abs=0.1)


def test_what_stands_out_is_told_the_weightiest_first(year: History) -> None:
    words = outstanding(year)
    assert words[0][0] == "drift"
    assert "bomb 2" in words[0][1]
    assert "stands beyond its interval now" in words[0][1]
    assert ("files", "1 results file passed over; their days are missing here. They are named under Record.") in words
    scatter = next(text for word, text in words if word == "scatter")
    assert "lignite" in scatter
    assert "heavy oil" not in scatter
    assert "nalyst" not in scatter


def test_a_heat_capacity_that_ended_and_one_that_ends_soon() -> None:
    fired = pair("S", 25000.0, 25010.0)
    over = run(day("2026-03-01", fired, series=[series(1e4, "2025-11-01", expires="2026-02-27")]))
    assert outstanding(over)[0] == (
        "over",
        "Calorimeter A, bomb 1: the heat capacity of 2025-11-01 ended on 2026-02-27. Fire a new series before the next "
        "sample.",
    )
    soon = run(day("2026-03-01", fired, series=[series(1e4, "2025-12-01", expires="2026-03-05")]))
    assert outstanding(soon)[0][0] == "ending"
    assert trend_view(soon).due[0].cells[-1] == "4 days"
    fine = run(day("2026-03-01", fired, series=[series(1e4, "2025-12-01", expires="2026-04-05")]))
    assert outstanding(fine) == []


def test_first_firings_to_one_side_are_told() -> None:
    fired: list[dict[str, Any]] = []
    for n in range(30):
        fired += pair(f"S{n}", 25000.0 + 30 + n % 3, 25000.0, 2 * n + 1)
    assert "First firings run 31.0 J/g high" in dict(outstanding(run(day("2026-01-05", fired))))["look"]


def test_few_data_are_said_and_not_drawn_as_if_many() -> None:
    lone = trend_page(run(day("2026-01-05", [check(1, 99.95), *pair("S", 25000.0, 25020.0, 2)])), "t.xlsx")
    assert "These records are short: 1 day, 1 first pair, 1 check firing." in lone
    assert "too few" in lone
    assert "fewer than ten checks bear none out: patterns and running sum are not judged" in lone
    assert 'class="sums"' not in lone
    assert 'class="quartiles"' not in lone
    assert "There is no heat capacity and no benzoic acid firing" in lone
    bare = trend_page(run(day("2026-01-05", [firing(1, outcome="misfire", state="excluded")])), "t.xlsx")
    for text in ("No check firing with a date", "No pair of firings", "No two firings of one sample"):
        assert text in bare
    assert '<svg class="chart"' not in bare


def test_analysts_are_codes_in_order_with_intervals_and_no_name_is_on_the_page() -> None:
    fired: list[dict[str, Any]] = []
    for n, (name, apart) in enumerate([("Zoltan", 10.0), ("Agnes", 90.0)] * 6):
        fired += pair(f"S{n}", 25000.0 + apart, 25000.0, 2 * n + 1, analyst=name)
    found = run(day("2026-01-05", fired, analyst="Setup Name"))
    page = trend_page(found, "t.xlsx")
    assert not re.search("Zoltan|Agnes|Setup Name", page)
    (group,) = (group for group in trend_view(found).groups if group.key == "analyst")
    assert [(row.name, row.cells[0]) for row in group.rows] == [("Analyst 1", "6"), ("Analyst 2", "6")]
    assert all(" to " in row.cells[3] for row in group.rows)
    book = openpyxl.load_workbook(io.BytesIO(trend_workbook(found)))
    assert [[cell.value for cell in row] for row in book["Analyst codes"]] == [
        ["Code", "As logged"], ["Analyst 1", "Agnes"], ["Analyst 2", "Zoltan"],
    ]  # fmt: skip


def test_words_of_the_lab_are_escaped() -> None:
    hostile = '<img src=x onerror="alert(1)">'
    fired = pair(hostile, 25000.0, 25200.0, bomb=hostile, analyst=hostile)
    found = run(
        day("2026-01-05", fired, fuel={hostile: hostile}, laboratory=hostile, findings=[(hostile, "block")]),
        passed=(Passed(hostile, "empty"),),
    )
    page = trend_page(found, "t.xlsx")
    assert "<img" not in page
    assert page.count("&lt;img") >= 5


def test_very_many_results_keep_the_page_small() -> None:
    days = [
        day(dt.date(2020, 1, 1) + dt.timedelta(n), [check(n, 100.0 + (n * 7919 % 201 - 100) / 1000, bomb="1"),
            *pair(f"S{n}", 25000.0 + (n * 104729 % 2001) / 10 - 100, 25000.0, 3000 + 2 * n)], check_limit_percent=0.2)
        for n in range(1500)
    ]  # fmt: skip
    found = run(*days)
    page = trend_page(found, "t.xlsx")
    assert len(page) < 250_000
    assert [span.name for span in found.spans] == ["2020", "2021", "2022", "2023", "2024"]


def test_the_workbook_holds_the_figures_unrounded_and_text_as_text(year: History) -> None:
    fired = pair("=1+1", 25000.0, 25000.1 + 1 / 3, bomb="-2")
    found = run(day("2026-01-05", fired, fuel={"=1+1": "@SUM(A1)"}))
    data = trend_workbook(found)
    assert data == trend_workbook(found)
    book = openpyxl.load_workbook(io.BytesIO(data))
    headings, row = book["First pairs"].iter_rows()
    read = {heading.value: cell for heading, cell in zip(headings, row, strict=True)}
    assert read["Sample"].value == "=1+1"
    assert read["Sample"].data_type == "s"
    assert read["Sample"].quotePrefix
    assert (read["Fuel class"].value, read["Bomb"].value) == ("@SUM(A1)", "-2")
    assert read["First less second (J/g)"].value == pytest.approx(25000.0 - (25000.1 + 1 / 3), rel=1e-12)
    assert read["Date"].value == dt.datetime(2026, 1, 5)
    sheets = openpyxl.load_workbook(io.BytesIO(trend_workbook(year)))
    assert sheets["First pairs"].max_row == len(year.pairs) + 1
    assert sheets["Checks"].max_row == sum(len(one.points) for one in year.checks) + 1
    assert sheets["Files"].max_row == 1 + 170 + 1


@pytest.mark.parametrize("wide", [False, True], ids=["", "wide"])
def test_nothing_runs_over_the_edge(wide: bool, page: str, tmp_path: Path) -> None:
    assert_nothing_runs_over(in_wide_font(page) if wide else page, tmp_path)


def test_passed_and_copied_files_are_named_up_to_a_dozen(year: History) -> None:
    many = tuple(Passed(f"f{n:02}", "empty") for n in range(15))
    page = trend_page(replace(year, read=replace(year.read, passed=many)), "t.xlsx")
    assert "f11" in page
    assert "f12" not in page
    assert "3 more, named in t.xlsx" in page
