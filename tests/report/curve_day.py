"""An invented day with time readings: ten firings in a jacketed calorimeter, stepped through by Newton's exchange.

No figure here was ever measured. The readings come from the arithmetic below, which shares nothing with batchcal's.
"""

import math
import random
from typing import Any

from logbook import Log, plain_log

EXCHANGE_PER_MIN = 0.0021
STIRRING_K_PER_MIN = 0.0005
HEAT_CAPACITY = 10000.0
FIRED_AT = 6.0
MAIN_TO = 16.0
READ_TO = 24.0
FIRINGS = 10

UNSTEADY, DIGIT, GAP = "508", "509", "510"
"""Firings that :func:`curve_log` can spoil: a fore period that scatters, a wrong digit, a missing reading."""


def readings(rise: float, jacket_above: float, seed: int) -> list[tuple[float, float]]:
    """Minutes and temperatures (°C, to 0.001) of a firing of this adiabatic rise, read every half minute."""
    chance = random.Random(seed)
    start = 22.0 + 0.05 * (seed % 7)
    temperature, found = start, []
    for step in range(int(READ_TO * 100) + 1):
        time = step / 100
        if step % 50 == 0:
            found.append((time, round(temperature + chance.gauss(0, 0.0003), 3)))
        exchange = EXCHANGE_PER_MIN * (start + jacket_above - temperature) + STIRRING_K_PER_MIN
        temperature += rise * (_burnt(time + 0.01) - _burnt(time)) + exchange / 100
    return found


def _burnt(time: float) -> float:
    return 1 - math.exp(-(time - FIRED_AT) / 0.7) if time > FIRED_AT else 0.0


def curve_log(*, spoilt: tuple[str, ...] = (UNSTEADY, DIGIT), periods: bool = True, step: bool = True) -> Log:
    """A day of five calibration firings, a check and two samples in duplicate, all read against time."""
    log = plain_log()
    log.setup |= {
        "Laboratory": ("Example Fuel Laboratory, Northmoor (invented)",),
        "Batch": ("Readings against time",),
        "Heat-exchange method": ("two rates",),
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate, invented"),
        "Benzoic acid mass basis": ("air",),
        "Series minimum": (5, "", "own"),
        "Series relative SD limit": (0.2, "%", "own"),
        "Check limit": (0.3, "%", "own"),
    }
    if step:
        log.setup["Reading resolution"] = (0.001, "K", "own")
    del log.setup["Effective heat capacity"]
    log.headings["Readings"] = ["Firing no.", "Time (min)", "Temperature (°C)", "Period"]
    log.rows["Calibration"], log.rows["Readings"], log.rows["Samples"] = [], [], []
    heats = [26454.0] * 6 + [27120.0, 27151.0, 28410.0, 28377.0]
    for index, heat in enumerate(heats):
        number, mass = 501 + index, round(0.92 + 0.013 * index, 4)
        _fire(log, number, mass, index)
        rise = (mass * heat + 60) / HEAT_CAPACITY
        _log_readings(log, number, readings(rise, 1.4 + 0.15 * index, number), periods=periods, spoilt=spoilt)
    for name in ("26-2101", "26-2102"):
        log.add("Samples", sample_no=name, moisture_analysis=2.1)
    return log


def _fire(log: Log, number: int, mass: float, index: int) -> None:
    row: dict[str, Any] = {"firing_no": number, "sample_mass": mass}
    if index < 5:
        log.add("Calibration", **row, date=log.setup["Batch date"][0])
    elif index == 5:
        log.add("Runs", **row, purpose="check")
    else:
        log.add("Runs", **row, sample_no=f"26-210{1 + (index - 6) // 2}", replicate="AB"[index % 2])


def _log_readings(
    log: Log, number: int, read: list[tuple[float, float]], *, periods: bool, spoilt: tuple[str, ...]
) -> None:
    chance = random.Random(number)
    for time, value in read:
        temperature = value
        if str(number) in spoilt:
            if str(number) == UNSTEADY and time < FIRED_AT:
                temperature = round(value + chance.gauss(0, 0.006), 3)
            if str(number) == DIGIT and time == 20.0:
                temperature = round(value + 0.05, 3)
            if str(number) == GAP and time == 9.0:
                continue
        row: dict[str, Any] = {"Firing no.": number, "Time (min)": time, "Temperature (°C)": temperature}
        if periods:
            row["Period"] = "fore" if time <= FIRED_AT else "main" if time <= MAIN_TO else "after"
        log.rows["Readings"].append(row)
