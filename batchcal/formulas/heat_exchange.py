"""Heat exchanged with the jacket while a charge burns, from the time-temperature readings, and how well it is known.

Times in min and temperatures in °C, as equally long sequences in the order of time. A correction is what is added
to the rise as read: positive where the calorimeter lost heat to its jacket.

The uncertainty of the corrected rise has two parts. What one reading is uncertain by goes through the sensitivities
of the corrected rise to every reading (``Sensitivities``, exact derivatives, so that a reading that serves two periods
counts once). What the way of working out leaves open is a bound: ``sampling_bound``, and the distance from an integral
with a later end. A thermometer that lags does no harm: its late end points and its late integral cancel.
"""

import itertools
import math
from collections.abc import Sequence

from msgspec import Struct

from batchcal.reference import constant

SIX_TENTHS = constant("six-tenths-fraction").value


class Drift(Struct, frozen=True):
    """A straight line through the readings of the fore or the after period.

    ``rate_K_per_min`` is its slope, ``mean_time_min`` and ``mean_C`` the means it goes through, ``residual_sd_K``
    the standard deviation of the readings about it (0 for two readings), ``spread_min2`` the sum of the squares of the
    times about their mean (min^2; 0 for one settled reading, which has no rate).
    """

    rate_K_per_min: float
    mean_time_min: float
    mean_C: float
    residual_sd_K: float
    count: int
    spread_min2: float = 0.0

    def at(self, time_min: float) -> float:
        """Return the temperature of the line (°C) at a time (min)."""
        return self.mean_C + self.rate_K_per_min * (time_min - self.mean_time_min)


def drift(times_min: Sequence[float], temperatures_C: Sequence[float]) -> Drift:
    """Fit a straight line by least squares to at least two readings at different times.

    Raises ValueError for fewer than two readings or one time only.

    References
    ----------
    [no-source]

    """
    count = len(times_min)
    if count < 2:
        raise ValueError(f"a rate of change needs at least two readings, not {count}")
    mean_time = sum(times_min) / count
    mean_temperature = sum(temperatures_C) / count
    spread = sum((time - mean_time) ** 2 for time in times_min)
    if spread == 0:
        raise ValueError("a rate of change needs readings at different times")
    pairs = list(zip(times_min, temperatures_C, strict=True))
    rate = sum((time - mean_time) * (value - mean_temperature) for time, value in pairs) / spread
    squares = sum((value - mean_temperature - rate * (time - mean_time)) ** 2 for time, value in pairs)
    sd = (squares / (count - 2)) ** 0.5 if count > 2 else 0.0
    return Drift(rate, mean_time, mean_temperature, sd, count, spread)


def cooling_constant(fore: Drift, after: Drift) -> float:
    """Return the cooling constant k (1/min) of Newton's law from the rates of the two periods.

    k = (g_f - g_a) / (T_a - T_f), with g the rates and T the mean temperatures of the fore and the after period.
    Raises ValueError where the two mean temperatures are equal.

    References
    ----------
    [gost-147-2013], [steam-1919]

    """
    difference = after.mean_C - fore.mean_C
    if difference == 0:
        raise ValueError("the fore and the after period have the same mean temperature")
    return (fore.rate_K_per_min - after.rate_K_per_min) / difference


def mean_temperature(times_min: Sequence[float], temperatures_C: Sequence[float]) -> float:
    """Return the mean temperature (°C) over the time from the first to the last reading, by the trapezoidal rule.

    Raises ValueError where the times do not span anything.

    References
    ----------
    [steam-1919]

    """
    span = times_min[-1] - times_min[0]
    if span <= 0:
        raise ValueError("a mean over time needs readings at rising times")
    area = sum(
        (later - earlier) * (high + low) / 2.0
        for earlier, later, low, high in zip(
            times_min[:-1], times_min[1:], temperatures_C[:-1], temperatures_C[1:], strict=True
        )
    )
    return area / span


def two_rates(fore: Drift, after: Drift, times_min: Sequence[float], temperatures_C: Sequence[float]) -> float:
    """Return the correction (K) by the integral over the main period, from the rates of fore and after period.

    The form of Regnault and Pfaundler: with k of :func:`cooling_constant` the temperature that the calorimeter
    would reach is T_inf = T_a + g_a / k, and the correction is - k (T_inf - T_m) (t_e - t_b), which is
    - [g_f - k (T_m - T_f)] (t_e - t_b), with T_m the mean temperature of the main period from t_b (firing) to t_e.

    References
    ----------
    [gost-147-2013], [steam-1919]

    """
    k = cooling_constant(fore, after)
    middle = mean_temperature(times_min, temperatures_C)
    return -(fore.rate_K_per_min - k * (middle - fore.mean_C)) * (times_min[-1] - times_min[0])


def time_of_fraction(times_min: Sequence[float], temperatures_C: Sequence[float], fraction: float) -> float:
    """Return the time (min) at which this fraction of the rise of the main period was reached, by interpolation.

    Raises ValueError where the temperature does not rise from the first to the last reading.

    References
    ----------
    [mahin-carr]

    """
    first, last = temperatures_C[0], temperatures_C[-1]
    if last <= first:
        raise ValueError("the temperature does not rise over the main period")
    wanted = first + fraction * (last - first)
    for index in range(1, len(times_min)):
        low, high = temperatures_C[index - 1], temperatures_C[index]
        if low <= wanted <= high and high > low:
            return times_min[index - 1] + (times_min[index] - times_min[index - 1]) * (wanted - low) / (high - low)
    raise ValueError("the readings of the main period do not pass the wanted temperature on the way up")


def six_tenths(
    fore: Drift,
    after: Drift,
    times_min: Sequence[float],
    temperatures_C: Sequence[float],
    fraction: float = SIX_TENTHS,
) -> float:
    """Return the correction (K) by the short form of Dickinson.

    The rate of the fore period holds from firing until six tenths of the rise, that of the after period from
    there to the end of the main period: - g_f (t_x - t_b) - g_a (t_e - t_x).

    References
    ----------
    [mahin-carr]

    """
    turn = time_of_fraction(times_min, temperatures_C, fraction)
    return -fore.rate_K_per_min * (turn - times_min[0]) - after.rate_K_per_min * (times_min[-1] - turn)


def largest_slope(times_min: Sequence[float], temperatures_C: Sequence[float]) -> float:
    """Return the steepest rise between two neighbouring readings (K/min).

    References
    ----------
    [no-source]

    """
    return max(
        (high - low) / (later - earlier)
        for earlier, later, low, high in zip(
            times_min[:-1], times_min[1:], temperatures_C[:-1], temperatures_C[1:], strict=True
        )
    )


class Sensitivities(Struct, frozen=True):
    """Derivatives of the corrected rise by what it is worked out from.

    ``fore_rate`` and ``after_rate`` are K per K/min, ``fore_mean`` and ``after_mean`` K per K; ``main`` holds, in K
    per K, one derivative for each reading of the main period used directly: end points, integral, time of a fraction.
    """

    main: tuple[float, ...]
    fore_rate: float = 0.0
    fore_mean: float = 0.0
    after_rate: float = 0.0
    after_mean: float = 0.0


def uncorrected_sensitivities(count: int) -> Sensitivities:
    """Return the derivatives of the rise as read over ``count`` (at least 2) readings: the last less the first.

    References
    ----------
    [no-source]

    """
    return Sensitivities((-1.0, *[0.0] * (count - 2), 1.0))


def two_rates_sensitivities(
    fore: Drift, after: Drift, times_min: Sequence[float], temperatures_C: Sequence[float]
) -> Sensitivities:
    """Return the derivatives of rise + :func:`two_rates`.

    theta = T_e - T_b - g_f t + k (A - T_f t), with t the length of the main period, A the area under it and
    k = (g_f - g_a) / (T_a - T_f). Derived. Raises ValueError where k cannot be found.

    References
    ----------
    [no-source]

    """
    k = cooling_constant(fore, after)
    length = times_min[-1] - times_min[0]
    difference = after.mean_C - fore.mean_C
    excess = (mean_temperature(times_min, temperatures_C) - fore.mean_C) * length
    by_k = excess / difference
    widths = [later - earlier for earlier, later in itertools.pairwise(times_min)]
    main = [k * (before + behind) / 2.0 for before, behind in itertools.pairwise([0.0, *widths, 0.0])]
    main[0] -= 1.0
    main[-1] += 1.0
    return Sensitivities(
        main=tuple(main),
        fore_rate=by_k - length,
        fore_mean=k * (by_k - length),
        after_rate=-by_k,
        after_mean=-k * by_k,
    )


def six_tenths_sensitivities(
    fore: Drift,
    after: Drift,
    times_min: Sequence[float],
    temperatures_C: Sequence[float],
    fraction: float = SIX_TENTHS,
) -> Sensitivities:
    """Return the derivatives of rise + :func:`six_tenths`.

    theta = T_e - T_b - g_f (t_x - t_b) - g_a (t_e - t_x), with t_x interpolated between two readings. Derived.
    Raises ValueError as :func:`time_of_fraction`.

    References
    ----------
    [no-source]

    """
    turn = time_of_fraction(times_min, temperatures_C, fraction)
    main = [0.0] * len(times_min)
    main[0] -= 1.0
    main[-1] += 1.0
    index = next(index for index in range(1, len(times_min)) if turn <= times_min[index])
    width = times_min[index] - times_min[index - 1]
    slope = (temperatures_C[index] - temperatures_C[index - 1]) / width
    by_wanted = (after.rate_K_per_min - fore.rate_K_per_min) / slope
    share = (turn - times_min[index - 1]) / width
    for position, part in ((0, 1.0 - fraction), (-1, fraction), (index - 1, share - 1.0), (index, -share)):
        main[position] += by_wanted * part
    return Sensitivities(tuple(main), fore_rate=times_min[0] - turn, after_rate=turn - times_min[-1])


def by_reading(
    sensitivities: Sensitivities, fore: Drift, after: Drift, times_min: Sequence[float], *, start: int, end: int
) -> list[float]:
    """Return the derivative of the corrected rise by each reading of the whole curve (K per K).

    The fore period runs to ``start``, the main period from there to ``end``, the after period from there on; a rate
    changes by (t_i - t) / spread and a mean by 1 / n with reading i of its period.

    References
    ----------
    [no-source]

    """
    derivatives = [0.0] * len(times_min)
    for index, value in enumerate(sensitivities.main, start):
        derivatives[index] += value
    for line, span, rate, mean in (
        (fore, range(start + 1), sensitivities.fore_rate, sensitivities.fore_mean),
        (after, range(end, len(times_min)), sensitivities.after_rate, sensitivities.after_mean),
    ):
        if line.spread_min2 > 0:
            for index in span:
                derivatives[index] += (
                    rate * (times_min[index] - line.mean_time_min) / line.spread_min2 + mean / line.count
                )
    return derivatives


def one_reading(step_K: float, fore: Drift, after: Drift) -> float:
    """Return the standard uncertainty (K) of one reading from its step and the scatter about the two lines.

    The larger of step / sqrt(12) (GUM 4.3.7, from memory, unchecked) and the pooled standard deviation s about the
    lines, because the scatter holds the rounding already. With nu = n_f + n_a - 4 degrees of freedom s is multiplied
    by sqrt(nu / (nu - 2)), the standard deviation of Student's t (JCGM 101 6.4.9, from memory, unchecked), so that a
    coverage factor of 2 keeps about 95 % for few readings; with nu of at most 2 the step alone stands.

    References
    ----------
    [recalled]

    """
    from_step = step_K / math.sqrt(12.0)
    degrees = [max(0, line.count - 2) for line in (fore, after)]
    total = sum(degrees)
    if total <= 2:
        return from_step
    squares = sum(n * line.residual_sd_K**2 for n, line in zip(degrees, (fore, after), strict=True))
    return max(from_step, math.sqrt(squares / (total - 2)))


def sampling_bound(times_min: Sequence[float], temperatures_C: Sequence[float]) -> float:
    """Return how far (K min) the area by the trapezoidal rule may be off, from what leaving out readings changes.

    The change of the area where every second reading is left out, the changes of the pairs of intervals added without
    sign; the larger of the two ways to pair them. For a smooth curve the error is a third of this; for an abrupt rise
    it reaches one half to all of it. Needs at least three readings; fewer give 0.

    References
    ----------
    [no-source]

    """
    totals = [0.0, 0.0]
    for index in range(len(times_min) - 2):
        (a, b, c), (low, middle, high) = times_min[index : index + 3], temperatures_C[index : index + 3]
        line = low + (high - low) * (b - a) / (c - a)
        totals[index % 2] += abs(middle - line) * (c - a) / 2.0
    return max(totals)
