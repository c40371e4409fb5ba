"""The curves on the page: what is drawn stands where the readings and the fitted lines are."""

import math
import re
from pathlib import Path

import numpy as np
import pytest
from curve_day import DIGIT, FIRED_AT, FIRINGS, GAP, MAIN_TO, READ_TO, UNSTEADY, curve_log
from day import make_evaluation
from logbook import firing, run
from msgspec.structs import replace
from test_page import Page, html_of

from batchcal.evaluate import evaluate
from batchcal.model import Curve, Evaluation
from batchcal.report.curve_drawing import distances, handover, lines
from batchcal.report.curves import MOST_ODD, CurvesView, curves_view
from batchcal.report.drawings import CurveChart


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Evaluation:
    return run(curve_log(spoilt=(UNSTEADY, DIGIT, GAP)), tmp_path_factory.mktemp("day"))


@pytest.fixture(scope="module")
def view(day: Evaluation) -> CurvesView:
    found = curves_view(day)
    assert found is not None
    return found


@pytest.fixture(scope="module")
def page(day: Evaluation) -> Page:
    return Page(html_of(day))


def odd(view: CurvesView, name: str) -> CurveChart:
    return next(curve.chart for curve in view.odd if curve.firing == name)


def curve_of(day: Evaluation, name: str) -> Curve:
    found = firing(day, name).curve
    assert found is not None
    return found


def points(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path)]


def test_curves_with_a_finding_stand_first_and_large_with_its_words(view: CurvesView, page: Page) -> None:
    assert [curve.firing for curve in view.odd] == [UNSTEADY, DIGIT, GAP]
    assert [finding.code for curve in view.odd for finding in curve.findings] == [
        "curve-unsteady", "curve-reading-off", "curve-gap",
    ]  # fmt: skip
    assert len(view.small) == FIRINGS - 3
    figures = page.ids["curves"].all("figure")
    assert len(figures) == FIRINGS
    for figure, curve in zip(figures, view.odd, strict=False):
        for finding in curve.findings:
            assert finding.message in figure.text
            assert finding.remedy in figure.text
            assert f"{finding.severity}" in figure.all("p")[0].all("span")[0].text
            assert finding.message in figure.all("desc")[0].text


def test_every_drawing_has_title_and_description(page: Page) -> None:
    drawings = [svg for svg in page.ids["curves"].all("svg") if svg.attributes.get("class") == "chart"]
    assert len(drawings) == FIRINGS
    for drawing in drawings:
        assert drawing.attributes["role"] == "img"
        title, desc = drawing.children[:2]
        assert (title.tag, desc.tag) == ("title", "desc")
        assert re.fullmatch(r"Firing \d+, temperature against time", title.text)
        assert re.match(r"4[89] readings from 0 to 24 min, 2\d\.\d{3} to 2\d\.\d{3} °C\.", desc.text)
        assert drawing.attributes["aria-labelledby"] == f"{title.attributes['id']} {desc.attributes['id']}"


def test_lines_are_the_least_squares_lines_of_their_periods(day: Evaluation) -> None:
    curve = curve_of(day, "501")
    times, values = np.array(curve.times_min), np.array(curve.temperatures_C)
    for line, part in zip(lines(curve), (times <= FIRED_AT, times >= MAIN_TO), strict=True):
        slope, offset = np.polyfit(times[part], values[part], 1)
        assert line.rate == pytest.approx(slope, rel=1e-6)
        assert line.at(3.0) == pytest.approx(offset + 3 * slope, abs=1e-9)
        assert line.residuals == pytest.approx(values[part] - offset - slope * times[part], abs=1e-9)


def test_the_gap_at_the_handover_is_the_corrected_rise(day: Evaluation) -> None:
    for name in ("501", "504", "507"):
        curve = curve_of(day, name)
        minute = handover(curve)
        assert minute is not None
        fore, after = lines(curve)
        begin, end = curve.times_min[curve.start], curve.times_min[curve.end]
        assert begin < minute < end
        by_rates = -curve.fore_rate * (minute - begin) - curve.after_rate * (end - minute)
        assert by_rates == pytest.approx(curve.heat_exchange_K, abs=1e-12)
        # The lines pass the two readings that bound the main period within their scatter.
        assert after.at(minute) - fore.at(minute) == pytest.approx(curve.rise_K + curve.heat_exchange_K, abs=0.0015)


def test_no_handover_without_rates(day: Evaluation) -> None:
    curve = curve_of(day, "501")
    assert handover(replace(curve, fore_rate=0.001, after_rate=0.001)) is None
    assert handover(replace(curve, heat_exchange_K=5.0)) is None


def test_dots_lines_and_uprights_stand_at_their_minutes_and_temperatures(day: Evaluation, view: CurvesView) -> None:
    chart, curve = odd(view, UNSTEADY), curve_of(day, UNSTEADY)
    frame = chart.frame
    dots = points(chart.readings)
    assert len(dots) == len(curve.times_min) == 49
    for (x, _), time in zip(dots, curve.times_min, strict=True):
        assert (x - frame.left) / (frame.right - frame.left) == pytest.approx(time / READ_TO, abs=0.001)
    ticks = {float(tick.text): tick.at for tick in chart.temperatures}
    low, high = min(ticks), max(ticks)
    for (_, y), value in zip(dots, curve.temperatures_C, strict=True):
        drawn = low + (ticks[low] - y) / (ticks[low] - ticks[high]) * (high - low)
        assert drawn == pytest.approx(value, abs=0.005)
    minutes = {float(tick.text): tick.at for tick in chart.minutes}
    per_minute = (minutes[20] - minutes[0]) / 20
    drawn_at = [(upright.x - minutes[0]) / per_minute for upright in chart.uprights]
    assert drawn_at == pytest.approx([FIRED_AT, MAIN_TO], abs=0.02)
    assert [upright.text for upright in chart.uprights] == ["firing", "end of main"]
    assert chart.gap is not None
    assert chart.gap.text == f"{curve.rise_K + curve.heat_exchange_K:.4f} K"
    span = (chart.gap.low - chart.gap.high) / (ticks[low] - ticks[high]) * (high - low)
    assert span == pytest.approx(curve.rise_K + curve.heat_exchange_K, abs=0.01)


def test_the_strip_measures_the_readings_against_the_band(day: Evaluation, view: CurvesView) -> None:
    chart, curve = odd(view, UNSTEADY), curve_of(day, UNSTEADY)
    strip = chart.strip
    assert strip is not None
    assert strip.band is not None
    per_step = strip.zero - strip.band[0]
    assert strip.band[1] - strip.zero == pytest.approx(per_step, abs=0.11)
    scale = (strip.zero - strip.ticks[0].at) / float(strip.ticks[0].text)
    assert per_step == pytest.approx(scale, abs=0.06)  # a step is 1 mK
    pairs = distances(curve)
    far = [pair for pair in pairs if abs(pair[1]) > 0.001]
    assert len(points(strip.beyond)) == len(far) > 5
    assert len(points(strip.within)) == len(pairs) - len(far)
    for (_, y), (_, distance) in zip(points(strip.beyond), far, strict=True):
        assert strip.zero - y == pytest.approx(distance * 1e3 * scale, abs=0.15)


def test_a_curve_that_is_not_trusted_gives_no_rise(view: CurvesView, page: Page) -> None:
    chart = odd(view, DIGIT)
    assert chart.fits
    assert (chart.gap, chart.reach) == (None, "")
    figure = next(figure for figure in page.ids["curves"].all("figure") if DIGIT in figure.all("h3")[0].text)
    assert "No rise was taken from this curve." in figure.text
    assert "corrected rise" not in figure.text


def test_the_reading_that_a_finding_names_is_ringed_in_curve_and_strip(view: CurvesView) -> None:
    chart = odd(view, DIGIT)
    assert chart.strip is not None
    ((x, _),) = chart.rings
    assert x == next(tick.at for tick in chart.minutes if tick.text == "20")
    assert [ring[0] for ring in chart.strip.rings] == [x]
    assert odd(view, UNSTEADY).rings == ()


def test_the_line_of_an_odd_curve_is_drawn_without_the_wrong_reading(day: Evaluation, page: Page) -> None:
    """Against numpy's least squares over the other readings of the period."""
    curve = curve_of(day, DIGIT)
    times, values = np.array(curve.times_min), np.array(curve.temperatures_C)
    others = (times >= MAIN_TO) & (times != 20.0)
    slope, offset = np.polyfit(times[others], values[others], 1)
    fore, after = lines(curve, {20.0})
    assert fore == lines(curve)[0]
    assert after.rate == pytest.approx(slope, rel=1e-6)
    assert after.at(20.0) == pytest.approx(offset + 20 * slope, abs=1e-9)
    assert (after.fitted, len(after.times)) == (others.sum(), others.sum() + 1)
    spread = values[others] - offset - slope * times[others]
    assert after.scatter == pytest.approx(math.sqrt((spread**2).sum() / (others.sum() - 2)), rel=1e-6)
    assert dict(distances(curve, {20.0}))[20.0] == pytest.approx(0.05, abs=0.002)  # as the day was spoilt
    figure = next(figure for figure in page.ids["curves"].all("figure") if DIGIT in figure.all("h3")[0].text)
    assert f"scatter {after.scatter * 1e3:.1f} mK ({after.fitted} readings, without the ringed one)." in figure.text
    assert "Lines: fitted to the fore and the after period, without a ringed reading." in page.ids["curves"].text


def test_it_is_said_whether_the_periods_were_found_or_logged(day: Evaluation, tmp_path: Path) -> None:
    logged = curves_view(day)
    found = curves_view(run(curve_log(spoilt=(UNSTEADY,), periods=False), tmp_path))
    assert logged is not None
    assert found is not None
    assert logged.small_caption.startswith("Periods as logged.")
    assert "Periods as logged." in logged.odd[0].figures
    rule = "Firing and end of the main period found by rule from the readings"
    assert found.small_caption.startswith(f"{rule}.")
    assert f"{rule}." in found.odd[0].figures
    log = curve_log(spoilt=())
    for row in log.rows["Readings"]:
        if row["Firing no."] in (503, 505):
            del row["Period"]
    mixed = curves_view(run(log, tmp_path))
    assert mixed is not None
    assert mixed.small_caption.startswith(f"{rule} in firings 503 and 505, logged in the others.")


def test_readings_that_gave_no_curve_are_drawn_as_they_stand(view: CurvesView) -> None:
    chart = odd(view, GAP)
    assert len(points(chart.readings)) == 48
    assert (chart.fits, chart.strip, chart.uprights, chart.gap) == ("", None, (), None)
    assert len(chart.rings) == 1


def test_a_minute_without_temperature_is_crossed(tmp_path: Path) -> None:
    log = curve_log(spoilt=())
    log.rows["Readings"][3]["Temperature (°C)"] = None
    view = curves_view(run(log, tmp_path))
    assert view is not None
    chart = odd(view, "501")
    assert len(chart.missing) == 1
    assert len(points(chart.readings)) == 48


def test_small_curves_share_one_scale_and_keep_every_turn(day: Evaluation, view: CurvesView) -> None:
    bands = {curve.chart.strip.band for curve in view.small if curve.chart.strip is not None}
    assert len(bands) == 1
    for small in view.small:
        curve = curve_of(day, small.firing)
        trace = np.array(points(small.chart.trace))
        assert len(trace) < len(curve.times_min)
        # Read back along the path, every reading lies within the width of the line.
        left, right = trace[0, 0], trace[-1, 0]
        x = left + (np.array(curve.times_min) / READ_TO) * (right - left)
        up = np.array(curve.temperatures_C)
        bottom, top = trace[:, 1].max(), trace[:, 1].min()
        y = bottom - (up - up.min()) / (up.max() - up.min()) * (bottom - top)
        across = np.abs(np.interp(x, trace[:, 0], trace[:, 1]) - y)
        assert np.median(across) < 0.3
        assert across.max() < 2.5  # on the steep part, where the width counts across the line


def test_a_small_curve_stays_small(day: Evaluation) -> None:
    figures = re.findall("<figure>.*?</figure>", html_of(day).partition('class="small"')[2], re.DOTALL)
    assert len([f for f in figures if len(f) < 2000]) == len(figures) == FIRINGS - 3


def test_small_curves_are_drawn_larger_on_a_screen_without_a_script(page: Page) -> None:
    leads = next(part for part in page.ids["curves"].all("div") if part.attributes.get("class") == "leads")
    (label,) = leads.all("label")
    assert label.text.strip() == "Draw them larger"
    assert [box.attributes["type"] for box in label.all("input")] == ["checkbox"]
    assert "screen" in str(label.attributes["class"])
    style = page.every[0].all("style")[0].text
    assert ".leads:has(:checked) + .small { grid-template-columns" in style


def test_without_a_resolution_no_step_is_shaded(tmp_path: Path) -> None:
    evaluation = run(curve_log(spoilt=(UNSTEADY,), step=False), tmp_path)
    view = curves_view(evaluation)
    assert view is not None
    strip = odd(view, UNSTEADY).strip
    assert strip is not None
    assert (strip.band, strip.beyond) == (None, "")
    assert "no reading step is shaded" in view.odd_caption
    assert "shaded" not in view.small_caption


def test_without_a_method_nothing_is_drawn_and_that_is_said(tmp_path: Path) -> None:
    log = curve_log(spoilt=())
    del log.setup["Heat-exchange method"]
    view = curves_view(run(log, tmp_path))
    assert view is not None
    assert (view.odd, view.small) == ((), ())
    assert view.notes[0].startswith("Not drawn, firings 501, 502")
    assert "no heat-exchange method" in view.notes[0].lower()


def test_many_odd_curves_are_named_not_drawn(tmp_path: Path) -> None:
    log = curve_log(spoilt=())
    log.rows["Readings"] = [row for row in log.rows["Readings"] if row["Time (min)"] != 9.0]
    view = curves_view(run(log, tmp_path))
    assert view is not None
    assert len(view.odd) == MOST_ODD
    assert "firings 509 and 510" in view.notes[-1]


def test_a_day_without_readings_has_no_curves() -> None:
    evaluation = make_evaluation()
    assert curves_view(evaluation) is None
    assert "curves" not in Page(html_of(evaluation)).ids


def test_hostile_numbers_stay_text(day: Evaluation) -> None:
    hostile = '"><script>alert(1)</script>'
    batch = day.batch
    renamed = replace(
        batch,
        firings=tuple(replace(f, firing=hostile) if f.firing == UNSTEADY else f for f in batch.firings),
        readings=tuple(replace(r, firing=hostile) if r.firing == UNSTEADY else r for r in batch.readings),
    )
    html = html_of(evaluate(renamed))
    page = Page(html)
    assert html.count("<script") == 1
    assert f"Firing {hostile}" in page.ids["curves"].text
