"""From time-temperature readings to rise and heat-exchange correction of a firing.

Where the readings name their periods these hold. Where they do not, stated rules find them. "On a line" means within
0.002 K of it, two reading steps or four times the scatter of the fore period, whichever is most.

- The burn is the first step between readings that exceeds both 0.02 K and ten times the scatter of the steps before
  it (the median of their distances from their median).
- The firing minute is the last reading before the burn that is on the line through the earlier ones: a reading taken
  just after firing has risen a little already.
- The curve is straight from the first of five readings in a row that are on the line through all readings from there
  on. The main period ends half as much later again, counted from firing, because what is still to rise there hides
  below those limits; earlier only where fewer than five readings would be left.
"""

import itertools
import math
import statistics
from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from batchcal.evaluate.charge import Doubts, logged_rise, reading_step, rise_problem
from batchcal.findings import Finding
from batchcal.formulas import heat_exchange
from batchcal.logged import FiringRow, ReadingRow
from batchcal.model import Curve, CurvePart, Settings
from batchcal.terms import HeatExchangeMethod, Period

SMALLEST_JUMP_K = 0.02
"""A step of the temperature between two readings that may be the firing; common practice, no source."""

SCATTER_FACTOR = 10.0
"""How many times the scatter of the earlier steps the firing must exceed; common practice, no source."""

STRAIGHT_K = 0.002
"""Readings within this of a straight line are on it; common practice, no source."""

SCATTER_OF_LINE = 4.0
"""So are readings within this many times the scatter of the fore period; common practice, no source."""

SETTLING = 1.5
"""The main period lasts this many times the time from firing until the curve is straight; a choice made here: what is
left of an exponential rise of 2.6 K falls from 2 mK to 0.06 mK.
"""

FEWEST_READINGS = 5
"""Fewest readings of a fore or after period; common practice, no source (five one-minute readings)."""

UNSTEADY_K = 0.003
"""Scatter of a fore or after period about its line that asks for a look; common practice, no source."""

OUTLIER_FACTOR = 8.0
"""How many times the scatter a reading must lie off its line to be named; common practice, no source."""


FINEST_DIGIT_K = 0.0001
"""Digits of a reading beyond this one are taken as left over from a conversion; common practice, no source."""


class Found(Struct, frozen=True):
    """What the readings of one firing gave: a curve, or the findings that say why there is none."""

    curve: Curve | None
    findings: tuple[Finding, ...]


def by_firing(readings: Sequence[ReadingRow]) -> dict[str, list[ReadingRow]]:
    """Return the readings of each firing in the order of the sheet."""
    grouped: dict[str, list[ReadingRow]] = {}
    for row in readings:
        if row.firing:
            grouped.setdefault(row.firing, []).append(row)
    return grouped


def work_out(row: FiringRow, readings: Sequence[ReadingRow], settings: Settings) -> Found:
    """Work out the curve of one firing; a doubtful reading gives findings and no curve."""
    method = settings.heat_exchange_method
    if method is None:
        return Found(None, (_at(row, readings[0], "heat-exchange-method-missing"),))
    doubts = _doubts(row, readings)
    if doubts:
        return Found(None, tuple(doubts))
    times = [reading.time_min or 0.0 for reading in readings]
    temperatures = [reading.temperature_C or 0.0 for reading in readings]
    named = any(reading.period is not None for reading in readings)
    step = reading_step(row, settings)
    bounds = _named(readings) if named else found_periods(times, temperatures, step)
    if bounds is None:
        return Found(None, (_at(row, readings[0], "curve-periods-unclear"),))
    start, end = bounds
    # The reading at firing and the one at the end of the main period belong to two periods each.
    fore_ends, after_starts = start + 1, end
    fore_count, after_count = fore_ends, len(times) - after_starts
    if fore_count >= FEWEST_READINGS and after_count >= FEWEST_READINGS:
        fore = heat_exchange.drift(times[:fore_ends], temperatures[:fore_ends])
        after = heat_exchange.drift(times[after_starts:], temperatures[after_starts:])
    elif method is HeatExchangeMethod.NONE:  # two settled readings are enough, and no rate is made of them
        if temperatures[end] <= temperatures[start]:
            return Found(None, ())
        fore, after = _settled(times[start], temperatures[start]), _settled(times[end], temperatures[end])
    else:
        which, count = ("fore", fore_count) if fore_count < FEWEST_READINGS else ("after", after_count)
        return Found(None, (_at(row, readings[0], "curve-too-short", period=which, n=count, fewest=FEWEST_READINGS),))
    found = [
        *_unsteady(row, readings, "fore", range(fore_ends), fore, step=step),
        *_unsteady(row, readings, "after", range(after_starts, len(times)), after, step=step),
    ]
    if temperatures[end] <= temperatures[start] or after.mean_C <= fore.mean_C:
        return Found(None, (_at(row, readings[end], "curve-periods-unclear"),))
    if settings.reading_resolution is None:
        step = step_as_typed(temperatures)
    curve = curve_of(times, temperatures, fore, after, start=start, end=end, method=method, step_K=step)
    return Found(replace(curve, firing_minute_found=not named), tuple(found))


def curve_of(
    times_min: Sequence[float],
    temperatures_C: Sequence[float],
    fore: heat_exchange.Drift,
    after: heat_exchange.Drift,
    *,
    start: int,
    end: int,
    method: HeatExchangeMethod,
    step_K: float,
) -> Curve:
    """Return the curve worked out from its two lines: correction and uncertainty.

    Times in min and temperatures in °C; ``start`` and ``end`` are the positions of the first and the last reading of
    the main period, in which the temperature must rise; readings are made in steps of ``step_K``.
    """
    times, temperatures = times_min[start : end + 1], temperatures_C[start : end + 1]
    if method is HeatExchangeMethod.TWO_RATES:
        correction = heat_exchange.two_rates(fore, after, times, temperatures)
        by = heat_exchange.two_rates_sensitivities(fore, after, times, temperatures)
    elif method is HeatExchangeMethod.SIX_TENTHS:
        correction = heat_exchange.six_tenths(fore, after, times, temperatures)
        by = heat_exchange.six_tenths_sensitivities(fore, after, times, temperatures)
    else:
        correction = 0.0
        by = heat_exchange.uncorrected_sensitivities(len(times))
    one = heat_exchange.one_reading(step_K, fore, after)
    derivatives = heat_exchange.by_reading(by, fore, after, times_min, start=start, end=end)
    read = _from_readings(derivatives, one, start=start, end=end)
    parts = read
    if fore.spread_min2 and after.spread_min2:
        rise = temperatures[-1] - temperatures[0] + correction
        parts += _from_method(
            fore, times_min, temperatures_C, start=start, end=end, rise_K=rise, derivatives=derivatives, one_K=one
        )
    from_readings = math.hypot(*(part.standard_K for part in read))
    from_method = parts[-1].standard_K if len(parts) > len(read) else None
    return Curve(
        times_min=tuple(times_min),
        temperatures_C=tuple(temperatures_C),
        start=start,
        end=end,
        method=method,
        fore_rate=fore.rate_K_per_min,
        after_rate=after.rate_K_per_min,
        fore_mean_C=fore.mean_C,
        after_mean_C=after.mean_C,
        fore_residual_sd_K=fore.residual_sd_K,
        after_residual_sd_K=after.residual_sd_K,
        cooling_constant_per_min=heat_exchange.cooling_constant(fore, after),
        largest_slope_K_per_min=heat_exchange.largest_slope(times, temperatures),
        rise_K=temperatures[-1] - temperatures[0],
        heat_exchange_K=correction,
        firing_minute_found=False,
        reading_uncertainty_K=from_readings,
        method_uncertainty_K=from_method,
        uncertainty_K=math.hypot(from_readings, from_method or 0.0),
        uncertainty_parts=parts,
    )


def _from_readings(derivatives: Sequence[float], one_K: float, *, start: int, end: int) -> tuple[CurvePart, ...]:
    """Return what the readings bring, each counted once: the one at firing, the one at the end, and the others."""
    parts = []
    for name, span, how in (
        ("initial temperature", derivatives[start : start + 1], "the reading at firing"),
        ("final temperature", derivatives[end : end + 1], "the reading at the end of the main period"),
        ("fore period", derivatives[:start], "readings before firing, through rate and mean"),
        ("main period", derivatives[start + 1 : end], "readings in between, through the integral or the turning time"),
        ("after period", derivatives[end + 1 :], "readings after the end, through rate and mean"),
    ):
        through = math.hypot(*span)
        if through:
            note = f"{how}: {one_K * 1e3:.2g} mK for one of {len(span)}, times {through:.3g}"
            parts.append(CurvePart(name, through * one_K, note))
    return tuple(parts)


def _from_method(
    fore: heat_exchange.Drift,
    times_min: Sequence[float],
    temperatures_C: Sequence[float],
    *,
    start: int,
    end: int,
    rise_K: float,
    derivatives: Sequence[float],
    one_K: float,
) -> tuple[CurvePart, ...]:
    """Return what the way of working out leaves open, as the bounds of a rectangle; nothing where it cannot be told.

    The corrected rise is held to the integral of the same curve with the main period ended a third of the after period
    later: that shows what a short form costs and whether the end was a settled one. Of the distance counts what
    exceeds its own scatter. To it is added how far the integral may be off between the readings; the two are added
    as they are because each may be at its limit.
    """
    late = end + (len(times_min) - end) // 3
    after = heat_exchange.drift(times_min[late:], temperatures_C[late:])
    if after.mean_C <= fore.mean_C:
        return ()
    times, temperatures = times_min[start : late + 1], temperatures_C[start : late + 1]
    integral = temperatures[-1] - temperatures[0] + heat_exchange.two_rates(fore, after, times, temperatures)
    by = heat_exchange.two_rates_sensitivities(fore, after, times, temperatures)
    others = heat_exchange.by_reading(by, fore, after, times_min, start=start, end=late)
    scatter = one_K * math.hypot(*(first - second for first, second in zip(derivatives, others, strict=True)))
    distance = rise_K - integral
    away = math.sqrt(max(0.0, distance**2 - scatter**2))
    between = abs(heat_exchange.cooling_constant(fore, after)) * heat_exchange.sampling_bound(times, temperatures)
    note = (
        f"{distance * 1e3:+.2g} mK from the integral to {times_min[late]:g} min, of which {away * 1e3:.2g} mK exceed "
        f"the scatter, and {between * 1e3:.2g} mK of that integral between its readings; rectangular"
    )
    return (CurvePart("method", (between + away) / math.sqrt(3.0), note),)


def step_as_typed(temperatures_C: Sequence[float]) -> float:
    """Return the step (K) of the finest decimal that any of the readings was typed to, at least FINEST_DIGIT_K."""
    decimals = max(len(f"{value:.4f}".rstrip("0").split(".")[1]) for value in temperatures_C)
    return max(FINEST_DIGIT_K, 10.0**-decimals)


def rise_and_correction(
    row: FiringRow, curve: Curve, settings: Settings, doubts: Doubts
) -> tuple[float | None, float | None]:
    """Return rise and correction (K) from the curve, holding typed figures to it: they must agree to one step.

    A typed correction may stand beside the readings; it must agree to one step as well.
    """
    step = reading_step(row, settings)
    for what, field, typed, found in (
        ("a rise of", "rise_K", logged_rise(row), curve.rise_K),
        ("a correction of", "heat_exchange_K", row.heat_exchange_K, curve.heat_exchange_K),
    ):
        if typed is not None and abs(typed - found) > step * (1 + 1e-6):
            doubts.add("curve-disagrees", field, what=what, curve=f"{found:.4f}", typed=f"{typed:.4f}")
            return None, None
    problem = rise_problem(curve.rise_K)
    if problem:
        doubts.add("rise-unfit", "rise_K", rise=f"{curve.rise_K:.4f}", reason=problem)
        return None, None
    return curve.rise_K, curve.heat_exchange_K


def _settled(time_min: float, temperature_C: float) -> heat_exchange.Drift:
    """Return the period that one settled reading stands for: no rate, no scatter."""
    return heat_exchange.Drift(0.0, time_min, temperature_C, 0.0, 1)


def _at(row: FiringRow, reading: ReadingRow, code: str, **details: Any) -> Finding:
    return reading.place.finding(code, "temperature_C", firing=row.firing, sample=row.sample, **details)


def _doubts(row: FiringRow, readings: Sequence[ReadingRow]) -> list[Finding]:
    """Return what is wrong with the times: blank cells, wrong order, gaps."""
    found = []
    last: float | None = None
    intervals: list[float] = []
    for reading in readings:
        if reading.unreadable:
            continue  # its cell has a finding already; the firing is stopped by it
        if reading.time_min is None or reading.temperature_C is None:
            found.append(_at(row, reading, "curve-reading-missing"))
            continue
        if last is not None:
            if reading.time_min <= last:
                found.append(_at(row, reading, "curve-order", time=f"{reading.time_min:g}", before=f"{last:g}"))
            else:
                intervals.append(reading.time_min - last)
        last = reading.time_min
    return found or _gaps(row, readings, intervals)


def _gaps(row: FiringRow, readings: Sequence[ReadingRow], intervals: Sequence[float]) -> list[Finding]:
    """Return a finding for every interval that is more than 1.5 times the longer of the two beside it."""
    found = []
    for index, interval in enumerate(intervals):
        beside = [*intervals[max(0, index - 1) : index], *intervals[index + 1 : index + 2]]
        if beside and interval > 1.5 * max(beside):
            start, end = readings[index].time_min or 0.0, readings[index + 1].time_min or 0.0
            found.append(_at(row, readings[index + 1], "curve-gap", start=f"{start:g}", end=f"{end:g}"))
    return found


def _named(readings: Sequence[ReadingRow]) -> tuple[int, int] | None:
    """Return firing and end of the main period from the Period column, or None where that is not fore, main, after."""
    order = [reading.period for reading in readings]
    ranks: Mapping[Period | None, int] = {Period.FORE: 0, Period.MAIN: 1, Period.AFTER: 2, None: -1}
    numbers = [ranks[period] for period in order]
    if -1 in numbers or numbers != sorted(numbers) or set(numbers) != {0, 1, 2}:
        return None
    return numbers.index(1) - 1, numbers.index(2) - 1


def found_periods(times: Sequence[float], temperatures: Sequence[float], step: float) -> tuple[int, int] | None:
    """Return firing and end of the main period from the curve itself, by the rules at the head of this module."""
    steps = [later - earlier for earlier, later in itertools.pairwise(temperatures)]
    start = None
    for index in range(FEWEST_READINGS - 1, len(steps)):
        before = steps[:index]
        centre = statistics.median(before)
        scatter = statistics.median(abs(value - centre) for value in before)
        if steps[index] > max(SMALLEST_JUMP_K, centre + SCATTER_FACTOR * max(scatter, step)):
            start = index
            break
    if start is None:
        return None
    allowed = max(STRAIGHT_K, 2 * step)
    while start >= FEWEST_READINGS:
        earlier = heat_exchange.drift(times[:start], temperatures[:start])
        off = temperatures[start] - earlier.at(times[start])
        if off <= max(allowed, SCATTER_OF_LINE * earlier.residual_sd_K):
            break
        start -= 1
    fore = heat_exchange.drift(times[: start + 1], temperatures[: start + 1])
    allowed = max(allowed, SCATTER_OF_LINE * fore.residual_sd_K)
    last = len(times) - FEWEST_READINGS
    for straight in range(start + 1, last + 1):
        line = heat_exchange.drift(times[straight:], temperatures[straight:])
        five = range(straight, straight + FEWEST_READINGS)
        if all(abs(temperatures[index] - line.at(times[index])) <= allowed for index in five):
            settled = times[start] + SETTLING * (times[straight] - times[start])
            return start, min(last, next((i for i in range(straight, last) if times[i] >= settled), last))
    return None


def _unsteady(
    row: FiringRow, readings: Sequence[ReadingRow], name: str, span: range, line: heat_exchange.Drift, *, step: float
) -> list[Finding]:
    """Return what is wrong with a period (the readings of ``span``): one reading off its line, or all of them."""
    allowed = max(UNSTEADY_K, 2 * step)
    if line.residual_sd_K <= allowed:
        return []
    points = {index: (readings[index].time_min or 0.0, readings[index].temperature_C or 0.0) for index in span}
    worst = max(span, key=lambda index: abs(points[index][1] - line.at(points[index][0])))
    others = [point for index, point in points.items() if index != worst]
    rest = heat_exchange.drift([time for time, _ in others], [value for _, value in others])
    time, value = points[worst]
    expected = rest.at(time)
    if rest.residual_sd_K <= allowed and abs(value - expected) > OUTLIER_FACTOR * max(rest.residual_sd_K, step):
        texts = {"time": f"{time:g}", "read": f"{value:.3f}", "line": f"{expected:.3f}"}
        return [_at(row, readings[worst], "curve-reading-off", **texts)]
    return [_at(row, readings[span[0]], "curve-unsteady", period=name, scatter=f"{line.residual_sd_K:.4f}")]
