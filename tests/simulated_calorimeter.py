"""A simulated calorimeter that knows its own adiabatic rise; it shares nothing with batchcal.

It integrates, with scipy, Newton's exchange with the jacket, the stirring power, a burn that releases its heat
exponentially, and a thermometer that lags. Noise and reading step are laid over the readings afterwards.
"""

from collections.abc import Sequence
from functools import cache

import numpy as np
from scipy.integrate import solve_ivp  # type: ignore[import-untyped]

RISE = 2.6
"""Adiabatic rise, K."""

FORE_MIN, MAIN_MIN, AFTER_MIN = 6.0, 12.0, 12.0
"""Lengths of the periods; firing is at 0 min."""


@cache
def _integrated(
    *, jacket: float, k: float, stirring: float, burn_min: float, lag_min: float, interval: float, fired_at: float
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    start = 22.0

    def slopes(time: float, state: np.ndarray) -> list[float]:
        calorimeter, thermometer = state
        burning = RISE / burn_min * np.exp(-(time - fired_at) / burn_min) if time >= fired_at else 0.0
        exchange = k * (start + jacket - calorimeter) + stirring
        return [burning + exchange, (calorimeter - thermometer) / lag_min]

    count = round((FORE_MIN + MAIN_MIN + AFTER_MIN) / interval)
    times = -FORE_MIN + interval * np.arange(count + 1)
    fore, main = times[times <= 1e-9], times[times > 1e-9]
    options = {"rtol": 1e-11, "atol": 1e-12, "method": "LSODA"}
    before = np.append(fore.clip(max=0.0), fired_at) if fired_at > 0 else fore.clip(max=0.0)
    first = solve_ivp(slopes, (fore[0] - 4, fired_at), [start, start], t_eval=before, **options)
    second = solve_ivp(slopes, (fired_at, main[-1]), first.y[:, -1], t_eval=main, max_step=0.05, **options)
    temperatures = np.concatenate([first.y[1][: fore.size], second.y[1]])
    return tuple(map(float, times)), tuple(map(float, temperatures))


def simulate(
    jacket: float, *, k: float = 0.0020, stirring: float = 0.0004, burn_min: float = 0.6, lag_min: float = 0.05,
    interval: float = 0.1, fired_at: float = 0.0, noise: float = 0.0, step: float = 0.0, seed: Sequence[int] = (7,),
) -> tuple[np.ndarray, np.ndarray]:  # fmt: skip
    """Times (min) and thermometer readings (°C); ``jacket`` is how far (K) it lies above the start.

    ``k`` and the rates are per min; ``fired_at`` is when after the reading at 0 min the charge is fired; ``noise`` is
    the standard deviation of a reading and ``step`` that in which it is read (K).
    """
    of = {"jacket": jacket, "k": k, "stirring": stirring, "burn_min": burn_min, "lag_min": lag_min}
    of |= {"interval": interval, "fired_at": fired_at}
    times, exact = map(np.array, _integrated(**of))
    read = exact + np.random.default_rng(list(seed)).normal(0.0, noise, exact.size) if noise else exact
    return times, np.round(read / step) * step if step else read
