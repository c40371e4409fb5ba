"""Errors and stated uncertainties of corrected rises, worked out from the simulated calorimeter.

``python tests/simulated_table.py`` writes the tables in Markdown; the tests assert what they show.
"""

import itertools
import sys
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from simulated_calorimeter import MAIN_MIN, RISE, simulate

from batchcal.evaluate import curves
from batchcal.formulas import heat_exchange
from batchcal.model import Curve
from batchcal.terms import HeatExchangeMethod

CONSTANTS, BURNS, JACKETS = (0.0015, 0.0020, 0.0025), (0.3, 0.6, 1.0), (1.0, 2.0, 3.0, 4.0)
"""Cooling constant (1/min), time constant of the burn (min) and jacket above the start (K); the rise is 2.6 K."""

WAYS = tuple(itertools.product((HeatExchangeMethod.TWO_RATES, HeatExchangeMethod.SIX_TENTHS), (0.1, 1.0)))
"""Method and interval of the readings (min)."""

FINEST = 0.0001
"""Step (K) that is stated for readings without noise."""

NOISES = (0.0005, 0.0010)
STEP = 0.001
DRAWS = 20


@dataclass(frozen=True)
class Outcome:
    """Error (K) of a corrected rise and its expanded uncertainty (K, coverage factor 2)."""

    error: float
    expanded: float

    @property
    def covered(self) -> bool:
        return abs(self.error) <= self.expanded


def worked_out(
    readings: tuple[np.ndarray, np.ndarray], method: HeatExchangeMethod, step: float, end_min: float | None = MAIN_MIN
) -> Curve:
    """Curve with the end of the main period known, or, without ``end_min``, with both ends found from the curve."""
    times, temperatures = ([float(value) for value in part] for part in readings)
    start = min(range(len(times)), key=lambda index: abs(times[index]))
    if end_min is None:
        found = curves.found_periods(times, temperatures, max(step, 0.001))
        if found is None:
            raise ValueError("no periods found")
        start, end = found
    else:
        end = min(range(len(times)), key=lambda index: abs(times[index] - end_min))
    fore = heat_exchange.drift(times[: start + 1], temperatures[: start + 1])
    after = heat_exchange.drift(times[end:], temperatures[end:])
    return curves.curve_of(times, temperatures, fore, after, start=start, end=end, method=method, step_K=step)


def outcome(curve: Curve) -> Outcome:
    return Outcome(curve.rise_K + curve.heat_exchange_K - RISE, 2.0 * curve.uncertainty_K)


def noise_free(method: HeatExchangeMethod, interval: float, k: float, burn: float, jacket: float) -> Outcome:
    return outcome(worked_out(simulate(jacket, k=k, burn_min=burn, interval=interval), method, FINEST))


def noisy(method: HeatExchangeMethod, interval: float, noise: float, end_min: float | None = MAIN_MIN) -> list[Outcome]:
    """Outcomes of seeded draws in every cell, with the end of the main period known or (None) found."""
    found = []
    for cell, (k, burn, jacket) in enumerate(itertools.product(CONSTANTS, BURNS, JACKETS)):
        for draw in range(DRAWS):
            readings = simulate(
                jacket, k=k, burn_min=burn, interval=interval, noise=noise, step=STEP, seed=(cell, draw)
            )
            found.append(outcome(worked_out(readings, method, STEP, end_min)))
    return found


def rms(outcomes: list[Outcome]) -> float:
    return float(np.sqrt(np.mean([one.error**2 for one in outcomes])))


def mean_expanded(outcomes: list[Outcome]) -> float:
    return float(np.mean([one.expanded for one in outcomes]))


def covered(outcomes: list[Outcome]) -> float:
    return float(np.mean([one.covered for one in outcomes]))


def lines() -> Iterator[str]:
    for method, interval in WAYS:
        yield f"**{method}, a reading every {interval:g} min, no noise**: error / U (k = 2) in mK"
        yield ""
        yield "| k, 1/min | burn, min | " + " | ".join(f"jacket {jacket:g} K" for jacket in JACKETS) + " |"
        yield "|---|---|" + "---|" * len(JACKETS)
        for k, burn in itertools.product(CONSTANTS, BURNS):
            cells = [noise_free(method, interval, k, burn, jacket) for jacket in JACKETS]
            texts = [f"{round(one.error * 1e3, 2) + 0.0:+.2f} / {one.expanded * 1e3:.2f}" for one in cells]
            yield f"| {k:g} | {burn:g} | " + " | ".join(texts) + " |"
        yield ""
    yield f"**With noise and a step of {STEP * 1e3:g} mK**: {DRAWS} seeded draws in each of the cells above"
    yield ""
    yield "| method | interval, min | periods | noise, mK | RMS error, mK | mean U, mK | U / RMS | covered, % |"
    yield "|---|---|---|---|---|---|---|---|"
    for (method, interval), end_min, noise in itertools.product(WAYS, (MAIN_MIN, None), NOISES):
        found = noisy(method, interval, noise, end_min)
        periods = "found" if end_min is None else "named"
        error, expanded = rms(found) * 1e3, mean_expanded(found) * 1e3
        yield (
            f"| {method} | {interval:g} | {periods} | {noise * 1e3:g} | {error:.2f} | {expanded:.2f} "
            f"| {expanded / error:.1f} | {covered(found) * 100:.1f} |"
        )


if __name__ == "__main__":
    sys.stdout.write("\n".join(lines()) + "\n")
