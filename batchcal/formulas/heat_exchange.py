"""Heat exchanged with the jacket while a charge burns, from the time-temperature readings.

Times in min and temperatures in °C, as equally long sequences in the order of time. A correction is what is added
to the rise as read: positive where the calorimeter lost heat to its jacket.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from batchcal.reference import constant

SIX_TENTHS = constant("six-tenths-fraction").value


@dataclass(frozen=True, slots=True)
class Drift:
    """A straight line through the readings of the fore or the after period.

    ``rate_K_per_min`` is its slope, ``mean_time_min`` and ``mean_C`` the means it goes through, ``residual_sd_K``
    the standard deviation of the readings about it (0 for two readings).
    """

    rate_K_per_min: float
    mean_time_min: float
    mean_C: float
    residual_sd_K: float
    largest_residual_K: float
    count: int

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
    residuals = [value - mean_temperature - rate * (time - mean_time) for time, value in pairs]
    squares = sum(residual**2 for residual in residuals)
    sd = (squares / (count - 2)) ** 0.5 if count > 2 else 0.0
    return Drift(rate, mean_time, mean_temperature, sd, max(abs(residual) for residual in residuals), count)


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
