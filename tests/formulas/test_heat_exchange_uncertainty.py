"""What each reading does to the corrected rise, against finite differences and a library that propagates errors."""

import math
from collections.abc import Callable, Sequence
from typing import Any

import pytest
from simulated_calorimeter import simulate
from uncertainties import ufloat  # type: ignore[import-untyped]

from batchcal.formulas import heat_exchange as hx

FORMS: dict[str, tuple[Callable[..., float], Callable[..., hx.Sensitivities]]] = {
    "two rates": (hx.two_rates, hx.two_rates_sensitivities),
    "six tenths": (hx.six_tenths, hx.six_tenths_sensitivities),
    "none": (lambda *_: 0.0, lambda _f, _a, times, _t: hx.uncorrected_sensitivities(len(times))),
}


def curve(interval: float = 1.0) -> tuple[list[float], list[float], int, int]:
    times, temperatures = simulate(2.0, interval=interval, noise=0.002, step=0.001)
    start, end = round(6 / interval), round(18 / interval)
    return [float(time) for time in times], [float(value) for value in temperatures], start, end


def corrected(form: str, times: Sequence[float], temperatures: Sequence[float], start: int, end: int) -> float:
    fore = hx.drift(times[: start + 1], temperatures[: start + 1])
    after = hx.drift(times[end:], temperatures[end:])
    main = times[start : end + 1], temperatures[start : end + 1]
    return main[1][-1] - main[1][0] + FORMS[form][0](fore, after, *main)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("interval", [0.5, 1.0])
def test_the_derivatives_by_every_reading(form: str, interval: float) -> None:
    times, temperatures, start, end = curve(interval)
    fore, after = hx.drift(times[: start + 1], temperatures[: start + 1]), hx.drift(times[end:], temperatures[end:])
    main = times[start : end + 1], temperatures[start : end + 1]
    found = hx.by_reading(FORMS[form][1](fore, after, *main), fore, after, times, start=start, end=end)
    small = 1e-5
    for index, derivative in enumerate(found):
        up, down = list(temperatures), list(temperatures)
        up[index] += small
        down[index] -= small
        difference = corrected(form, times, up, start, end) - corrected(form, times, down, start, end)
        assert derivative == pytest.approx(difference / (2 * small), abs=1e-6), index
    # A thermometer that is off by a constant changes no rise.
    assert math.fsum(found) == pytest.approx(0.0, abs=1e-9)


def test_the_propagation_of_two_rates_by_a_library() -> None:
    """Written once more by hand with numbers that carry their uncertainty: five, five and three readings."""
    times = [-4.0, -3, -2, -1, 0, 1, 2, 3, 4, 5, 6]
    temperatures = [22.0, 22.003, 22.007, 22.010, 22.013, 24.2, 24.55, 24.553, 24.551, 24.549, 24.546]
    start, end = 4, 6
    values: list[Any] = [ufloat(value, 0.0007) for value in temperatures]

    def line(xs: list[float], ys: list[Any]) -> tuple[Any, Any]:
        middle, mean = sum(xs) / len(xs), sum(ys) / len(ys)
        return sum((x - middle) * (y - mean) for x, y in zip(xs, ys, strict=True)) / sum(
            (x - middle) ** 2 for x in xs
        ), mean

    before, low = line(times[:5], values[:5])
    behind, high = line(times[6:], values[6:])
    k = (before - behind) / (high - low)
    area = (values[4] + values[5]) / 2 + (values[5] + values[6]) / 2
    theta = values[6] - values[4] - (before * 2 - k * (area - low * 2))

    fore, after = hx.drift(times[:5], temperatures[:5]), hx.drift(times[6:], temperatures[6:])
    main = times[4:7], temperatures[4:7]
    found = hx.by_reading(hx.two_rates_sensitivities(fore, after, *main), fore, after, times, start=start, end=end)
    assert corrected("two rates", times, temperatures, start, end) == pytest.approx(theta.nominal_value, rel=1e-12)
    assert 0.0007 * math.hypot(*found) == pytest.approx(theta.std_dev, rel=1e-9)


def drift(sd: float, count: int) -> hx.Drift:
    return hx.Drift(0.0, 0.0, 22.0, sd, count, 10.0)


def test_one_reading_is_as_uncertain_as_its_step_or_its_scatter() -> None:
    assert hx.one_reading(0.001, drift(0.0, 7), drift(0.0, 7)) == pytest.approx(0.001 / math.sqrt(12))
    # 5 and 5 degrees of freedom, 1 and 2 mK: sqrt((5 + 20) / 10) mK, times sqrt(10 / 8) for so few readings
    assert hx.one_reading(0.001, drift(0.001, 7), drift(0.002, 7)) == pytest.approx(
        0.001 * math.sqrt(2.5) * math.sqrt(10 / 8)
    )
    # Without readings about the lines there is no scatter to see.
    assert hx.one_reading(0.01, drift(0.0, 1), drift(0.0, 1)) == pytest.approx(0.01 / math.sqrt(12))


def test_the_sampling_bound_by_hand() -> None:
    # (0, 1, 2): 1.5 against 1 on the line, 0.5 K over 2 min / 2; (2, 3, 4): 2 against 2.05 likewise.
    # Paired the other way, (1, 2, 3) alone: 2 against 1.75.
    assert hx.sampling_bound([0, 1, 2, 3, 4], [0.0, 1.5, 2.0, 2.0, 2.1]) == pytest.approx(0.5 + 0.05)
    # Uneven times: at 1 of 3 min the line from 0 to 3 K stands at 1 K.
    assert hx.sampling_bound([0, 1, 3], [0.0, 2.0, 3.0]) == pytest.approx(1.5)
    assert hx.sampling_bound([0, 1], [0.0, 2.0]) == 0


@pytest.mark.parametrize("burn", [0.1, 0.3, 0.6, 1.0, 2.0])
@pytest.mark.parametrize("interval", [0.1, 0.5, 1.0])
def test_the_sampling_bound_holds_for_a_curve_known_exactly(burn: float, interval: float) -> None:
    times = [interval * index for index in range(round(12 / interval) + 1)]
    values = [1 - math.exp(-time / burn) for time in times]
    exact = 12 - burn * (1 - math.exp(-12 / burn))
    error = abs(hx.mean_temperature(times, values) * 12 - exact)
    assert error < hx.sampling_bound(times, values) < 4 * error + 1e-9
