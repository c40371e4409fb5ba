"""An invented log of many days in one workbook: two bombs, a check and eight samples in duplicate a day.

No figure here was ever measured; the rises come from the arithmetic below, which shares nothing with batchcal's.
"""

import datetime as dt
import random

from logbook import DAY, Log, plain_log

HEAT_CAPACITY = {"1": 10110.0, "2": 10085.0}
SAMPLES_A_DAY = 8
A_DAY = 1 + 2 * SAMPLES_A_DAY
"""Firings of one day, without calibrations."""


def long_log(
    days: int = 48, *, apart: tuple[int, ...] = (3, 40), dated: bool = True, samples: int = SAMPLES_A_DAY
) -> Log:
    """A log of ``days`` working days that ends on the day of the other test logs, with ``samples`` a day.

    On the days numbered in ``apart`` (from 0) the first sample's firings are far apart. ``dated`` leaves the column of
    dates in; otherwise all stands under the batch's date.
    """
    log = plain_log()
    log.setup |= {
        "Laboratory": ("Example Fuel Laboratory, Northmoor (invented)",),
        "Batch": ("The log of a season (invented)",),
        "Acid scheme": ("total as nitric",),
        "Comparison basis": ("d",),
        "Bases required": ("ad, d, ar",),
        "Benzoic acid heat of combustion": (26454, "J/g", "certificate, invented"),
        "Benzoic acid mass basis": ("air",),
        "Nitric acid heat": (60, "kJ/mol", "own, invented"),
        "Sulphuric acid heat": (302, "kJ/mol", "own, invented"),
        "Series minimum": (5, "", "own, invented"),
        "Series relative SD limit": (0.2, "%", "own, invented"),
        "Heat-capacity life": (120, "days", "own, invented"),
        "Check limit": (0.3, "%", "own, invented"),
    }
    del log.setup["Effective heat capacity"]
    log.rows["Calibration"], log.rows["Samples"] = [], []
    chance = random.Random(7)
    first = DAY - dt.timedelta(days=days - 1)
    number = 1000
    for bomb in HEAT_CAPACITY:
        for mass in (0.84, 0.92, 0.99, 1.05, 1.1, 1.17):
            number += 1
            _fire(log, chance, "Calibration", number, date=first - dt.timedelta(days=2), bomb=bomb, nominal_g=mass,
                  heat=26454.0)  # fmt: skip
    for index in range(days):
        date = first + dt.timedelta(days=index)
        number += 1
        _fire(log, chance, "Runs", number, date=date if dated else None, bomb="12"[index % 2], nominal_g=1.01,
              heat=26454.0, purpose="check")  # fmt: skip
        for place in range(samples):
            sample = f"{index + 1:03}-{place + 1}"
            dry = chance.uniform(18000, 29000)
            log.add("Samples", sample_no=sample, description="Hard coal, washed", moisture_analysis=2.1,
                    moisture_total=8.4, sulphur=0.6, basis="ad")  # fmt: skip
            for letter in "AB":
                number += 1
                off = 400.0 if letter == "B" and place == 0 and index in apart else chance.gauss(0, 20)
                value = (dry + off) * (1 - 0.021)
                _fire(log, chance, "Runs", number, date=date if dated else None, bomb="12"[place % 2],
                      nominal_g=chance.uniform(0.9, 1.1), heat=value, sample_no=sample, replicate=letter)  # fmt: skip
    return log


def _fire(
    log: Log,
    chance: random.Random,
    sheet: str,
    number: int,
    *,
    date: dt.date | None,
    bomb: str,
    nominal_g: float,
    heat: float,
    **fields: str,
) -> None:
    mass = round(nominal_g + chance.uniform(-0.004, 0.004), 4)
    titre = round(chance.uniform(4.0, 6.0), 2)
    sulphur_J = 0.006 * mass / 32.06 * (302e3 - 120e3) if "sample_no" in fields else 0.0
    heat_J = mass * heat * (1 + chance.gauss(0, 1e-4)) + 60 + titre * 0.1 * 60 + sulphur_J
    capacity = HEAT_CAPACITY[bomb]
    log.add(sheet, firing_no=number, date=date, calorimeter="A", bomb=bomb, sample_mass=mass,
            temperature_rise=round(heat_J / capacity, 4), **fields)  # fmt: skip
    log.add("Titration", firing_no=number, titrant="sodium hydroxide", concentration=0.1, concentration_unit="eq/L",
            titre=titre)  # fmt: skip
