"""Geometry of the time-temperature curves: one large, with its own scale, or many small ones on a common scale.

A reading's distance from the fitted line is its temperature less that of the line through its period, as the
evaluation found it. Where the rates of the two periods differ there is a minute at which the one rate may be taken to
hand over to the other so that exactly the correction in use follows; the distance between the two lines at that minute
is the corrected rise, and there it is drawn.
"""

import itertools
import math
import statistics
from collections.abc import Callable, Collection, Sequence

from msgspec import Struct
from msgspec.structs import replace

from batchcal.logged import ReadingRow
from batchcal.model import Curve
from batchcal.report.charts import next_step, position
from batchcal.report.drawings import CurveChart, Frame, Gap, Strip, Tick, Upright
from batchcal.report.words import fixed, plain
from batchcal.terms import HeatExchangeMethod

WIDTH = 330.0
"""Width of a large curve: half of an A4 side, or the whole of a narrow screen."""
SMALL_WIDTH = 150.0
COLUMN = 2.0
"""Width of the columns in which a small strip gathers its readings, from the lowest to the highest."""
ROUGHNESS = 0.2
"""How far a small curve may pass a reading, in units of the drawing: less than the width of its line."""
_FEWEST = 3
"""Fewest readings to which a line is fitted anew."""
WORDS_APART = 62.0
"""Room that two words above a curve need between their middles."""


class Line(Struct, frozen=True):
    """The line fitted to the fore or after period, and the distances of its readings from it (K).

    ``fitted`` is how many of the readings it was fitted to, ``scatter`` their standard deviation about it (K).
    """

    times: tuple[float, ...]
    residuals: tuple[float, ...]
    rate: float
    mean_time: float
    mean_C: float
    fitted: int
    scatter: float

    def at(self, time_min: float) -> float:
        """Return the temperature of the line (°C) at a time (min)."""
        return self.mean_C + self.rate * (time_min - self.mean_time)


class Scale(Struct, frozen=True):
    """What a common drawing must hold: minutes from firing, K above the reading at firing, K about the lines."""

    minutes: tuple[float, float]
    rises: tuple[float, float]
    reach: float
    step_K: float | None


def lines(curve: Curve, left_out: Collection[float] = ()) -> tuple[Line, Line]:
    """Return the lines of fore and after period; the readings at firing and at the end of main count in both.

    ``left_out`` are minutes of readings that a finding doubts: their period's line is fitted to the others.
    """
    fore, after = slice(0, curve.start + 1), slice(curve.end, None)
    return (
        _line(curve, fore, (curve.fore_rate, curve.fore_mean_C, curve.fore_residual_sd_K), left_out),
        _line(curve, after, (curve.after_rate, curve.after_mean_C, curve.after_residual_sd_K), left_out),
    )


def _line(curve: Curve, period: slice, found: tuple[float, float, float], left_out: Collection[float]) -> Line:
    """Return the line of a period as ``found`` (rate, mean temperature, scatter), or anew without what is left out."""
    times, temperatures = curve.times_min[period], curve.temperatures_C[period]
    kept = [(time, value) for time, value in zip(times, temperatures, strict=True) if time not in left_out]
    rate, mean_C, scatter = found
    if _FEWEST <= len(kept) < len(times):
        rate = statistics.linear_regression(*zip(*kept, strict=True)).slope
        mean_C = statistics.fmean(value for _, value in kept)
    else:
        kept = list(zip(times, temperatures, strict=True))
    mean_time = statistics.fmean(time for time, _ in kept)

    def off(time: float, value: float) -> float:
        return value - mean_C - rate * (time - mean_time)

    if len(kept) < len(times):
        scatter = math.sqrt(math.fsum(off(time, value) ** 2 for time, value in kept) / (len(kept) - 2))
    residuals = tuple(off(time, value) for time, value in zip(times, temperatures, strict=True))
    return Line(times, residuals, rate, mean_time, mean_C, len(kept), scatter)


def distances(curve: Curve, left_out: Collection[float] = ()) -> list[tuple[float, float]]:
    """Return minute and distance from its line (K) of every reading of the fore and after period."""
    return [pair for line in lines(curve, left_out) for pair in zip(line.times, line.residuals, strict=True)]


def handover(curve: Curve) -> float | None:
    """Return the minute at which the fore rate hands over to the after rate with the correction in use.

    From correction = - g_f (t - t_b) - g_a (t_e - t). None where no correction was made of the rates, or where they
    are too much alike to place the minute within the main period.
    """
    begin, end = curve.times_min[curve.start], curve.times_min[curve.end]
    difference = curve.after_rate - curve.fore_rate
    if curve.method is HeatExchangeMethod.NONE or difference == 0:
        return None
    minute = (curve.heat_exchange_K + curve.after_rate * end - curve.fore_rate * begin) / difference
    return minute if begin < minute < end else None


def common_scale(curves: Sequence[Curve], step_K: float | None) -> Scale:
    """Return the scale that holds every one of the curves."""
    minutes = [time - curve.times_min[curve.start] for curve in curves for time in curve.times_min]
    rises = [value - curve.temperatures_C[curve.start] for curve in curves for value in curve.temperatures_C]
    reach = max(_reach(distances(curve), step_K) for curve in curves)
    return Scale((min(minutes), max(minutes)), (min(rises), max(rises)), reach, step_K)


class _Axes:
    """Maps minutes and values to the drawing."""

    def __init__(self, frame: Frame, minutes: tuple[float, float], values: tuple[float, float]) -> None:
        self.frame = frame
        self.minutes = minutes
        self.values = values
        self.across = (frame.right - frame.left) / ((minutes[1] - minutes[0]) or 1.0)
        self.up = (frame.bottom - frame.top) / ((values[1] - values[0]) or 1.0)

    def below(self, top: float, bottom: float, reach: float) -> "_Axes":
        """Return the axes of a strip on the same minutes."""
        return _Axes(replace(self.frame, top=top, bottom=bottom), self.minutes, (-reach, reach))

    def x(self, minute: float) -> float:
        return position(self.frame.left + self.across * (minute - self.minutes[0]))

    def y(self, value: float) -> float:
        return position(self.frame.bottom - self.up * (value - self.values[0]))

    def line(self, line: Line, start: float, end: float) -> str:
        return f"M{self.x(start)} {self.y(line.at(start))}L{self.x(end)} {self.y(line.at(end))}"

    def fits(self, curve: Curve, left_out: Collection[float] = ()) -> str:
        return "".join(self.line(line, line.times[0], line.times[-1]) for line in lines(curve, left_out))

    def band(self, step_K: float | None) -> tuple[float, float] | None:
        return None if step_K is None else (self.y(step_K), self.y(-step_K))

    def uprights(self, curve: Curve) -> tuple[Upright, ...]:
        first, last = (self.x(curve.times_min[index]) for index in (curve.start, curve.end))
        near = last - first < WORDS_APART
        return (
            Upright(first, "firing", position(first + 2 if near else first), "end" if near else "middle"),
            Upright(last, "end of main", position(last - 2 if near else last), "start" if near else "middle"),
        )


def large(
    key: str,
    words: tuple[str, str],
    rows: Sequence[ReadingRow],
    curve: Curve | None,
    *,
    trusted: bool,
    named: frozenset[int],
    step_K: float | None,
) -> CurveChart:
    """Return the large drawing of one firing's readings, as they stand in the sheet.

    ``words`` are title and description; ``trusted`` says that a rise was taken from the curve, which is then drawn;
    ``named`` are the rows of the sheet whose readings are ringed, and without which the lines are drawn.
    """
    read = [(r.time_min, r.temperature_C, r.place.row) for r in rows if r.time_min is not None]
    points = [(time, value, row) for time, value, row in read if value is not None]
    times = [time for time, _, _ in read] or [0.0]
    values = [value for _, value, _ in points] or [0.0]
    low, high = min(values), max(values)
    spare = (high - low) * 0.06 or 0.01
    frame = Frame(WIDTH, 162 if curve is None else 232, 36, WIDTH - 10, 16, 140)
    axes = _Axes(frame, (min(times), max(times)), (low - spare, high + spare))
    chart = CurveChart(
        key,
        *words,
        frame,
        trace=_trace([(axes.x(time), axes.y(value)) for time, value, _ in points]),
        readings="".join(f"M{axes.x(time)} {axes.y(value)}h0" for time, value, _ in points),
        rings=tuple((axes.x(time), axes.y(value)) for time, value, row in points if row in named),
        missing=tuple(axes.x(time) for time, value, _ in read if value is None),
        minutes=_ticks(axes.minutes, 6, axes.x),
        temperatures=_ticks(axes.values, 4, axes.y),
        foot=frame.bottom,
    )
    if curve is None:
        return chart
    doubted = frozenset(time for time, _, row in points if row in named)
    strip = _strip(axes, curve, step_K, doubted)
    chart = replace(
        chart, fits=axes.fits(curve, doubted), uprights=axes.uprights(curve), strip=strip, foot=strip.bottom
    )
    minute = handover(curve) if trusted else None
    if minute is None:
        return chart
    fore, after = lines(curve, doubted)
    reach = axes.line(fore, fore.times[-1], minute) + axes.line(after, minute, after.times[0])
    x, y0, y1 = axes.x(minute), axes.y(fore.at(minute)), axes.y(after.at(minute))
    text = f"{fixed(curve.rise_K + curve.heat_exchange_K, 4)} K"
    return replace(chart, reach=reach, gap=Gap(x, y0, y1, text, position(x + 6), position(y0 - (y0 - y1) * 0.35)))


def _strip(axes: _Axes, curve: Curve, step_K: float | None, named: Collection[float]) -> Strip:
    """Return the strip of a large curve, as tall as its own farthest reading needs."""
    pairs = distances(curve, named)
    reach = _reach(pairs, step_K)
    scale = axes.below(axes.frame.bottom + 20, axes.frame.bottom + 70, reach)

    def beyond(distance: float) -> bool:
        return step_K is not None and abs(distance) > step_K * (1 + 1e-6)

    tick = next_step(reach * 0.45)
    return Strip(
        scale.frame.top,
        scale.frame.bottom,
        scale.y(0.0),
        scale.band(step_K),
        "".join(f"M{scale.x(time)} {scale.y(value)}h0" for time, value in pairs if not beyond(value)),
        "".join(f"M{scale.x(time)} {scale.y(value)}m0-2.5 2.4 4.2h-4.8z" for time, value in pairs if beyond(value)),
        tuple(Tick(scale.y(value), plain(round(value * 1e3, 9))) for value in (tick, 0.0, -tick)),
        tuple((scale.x(time), scale.y(value)) for time, value in pairs if time in named),
    )


def small(key: str, words: tuple[str, str], curve: Curve, scale: Scale) -> CurveChart:
    """Return the small drawing of a curve on the common scale; ``words`` are title and description."""
    frame = Frame(SMALL_WIDTH, 84, 1, SMALL_WIDTH - 1, 2, 54)
    begin, start_C = curve.times_min[curve.start], curve.temperatures_C[curve.start]
    axes = _Axes(
        frame,
        (scale.minutes[0] + begin, scale.minutes[1] + begin),
        (scale.rises[0] + start_C, scale.rises[1] + start_C),
    )
    strip = axes.below(60, 82, scale.reach)
    points = list(zip(map(axes.x, curve.times_min), map(axes.y, curve.temperatures_C), strict=True))
    return CurveChart(
        key,
        *words,
        frame,
        trace=_trace(points),
        fits=axes.fits(curve),
        uprights=axes.uprights(curve),
        strip=Strip(60, 82, strip.y(0.0), strip.band(scale.step_K), _columns(strip, distances(curve))),
        foot=82,
    )


def _columns(axes: _Axes, pairs: Sequence[tuple[float, float]]) -> str:
    """Return a stroke for each column that holds a reading, from the lowest to the highest in it."""
    placed = [(math.floor(axes.x(time) / COLUMN), axes.y(value)) for time, value in pairs]
    path = ""
    for column, group in itertools.groupby(placed, key=lambda pair: pair[0]):
        heights = [y for _, y in group]
        path += f"M{position((column + 0.5) * COLUMN)} {min(heights)}v{position(max(heights) - min(heights))}"
    return path


def _trace(points: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x} {y}" for x, y in _outline(points)) if points else ""


def _outline(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the points without those that lie on the line through the ones kept (Douglas and Peucker's way)."""
    (x0, y0), (x1, y1) = points[0], points[-1]
    length = math.hypot(x1 - x0, y1 - y0)
    off = [abs((x1 - x0) * (y0 - y) - (x0 - x) * (y1 - y0)) / (length or 1.0) for x, y in points]
    farthest = max(range(len(points)), key=off.__getitem__)
    if off[farthest] <= ROUGHNESS:
        return [points[0], points[-1]]
    return [*_outline(points[: farthest + 1])[:-1], *_outline(points[farthest:])]


def _reach(pairs: Sequence[tuple[float, float]], step_K: float | None) -> float:
    """Return how far a strip reaches to either side (K)."""
    return max(max((abs(value) for _, value in pairs), default=0.0) * 1.15, 1.5 * (step_K or 0.0), 1e-6)


def _ticks(span: tuple[float, float], about: int, at: Callable[[float], float]) -> tuple[Tick, ...]:
    step = next_step((span[1] - span[0]) / about or 1.0)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    first, last = math.ceil(span[0] / step - 1e-9), math.floor(span[1] / step + 1e-9)
    return tuple(Tick(at(number * step), fixed(number * step, decimals)) for number in range(first, last + 1))
