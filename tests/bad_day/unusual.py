"""Honest days of laboratories that work otherwise than most: coarse instruments, one fuel, a set start, half a day.

Nothing is wrong on any of them but honest scatter. Each kind is a function of a seed; ``UNUSUAL`` lists them.
"""

import dataclasses
import datetime as dt
import random
from collections.abc import Callable, Mapping

from bad_day.day import FIRING, Bench, Day
from bad_day.fuels import CLASSES, ONE_SEAM, RICH_IN_NITROGEN, FuelClass
from bad_day.honest import honest_day

COARSE = Bench(step_K=0.01, mass_decimals=3, titre_decimals=1, net_decimals=3, rise_decimals=2, limit_J_per_g=300.0)
"""A thermometer read to 0.01 K, a balance to 1 mg, a burette to 0.1 mL."""

NEARLY_DRY = FuelClass("coke", (8, 14), (0.5, 1), (0.3, 0.6), (0.9, 1.3), (0.5, 1.5), (1, 3), (0.2, 0.6), (-0.12, 0.12))
"""A fuel that neither gains nor loses water in the air: total and analysis moisture are one within their scatter."""

BESIDE_THE_BANDS = (
    "charcoal", "torrefied wood", "coke of hard coal", "hard coal tar", "oil shale", "wood and plastic",
    "hard coal with sludge", "wood / lignite", "lignite char", "bituminous shale", "mix of wood", "carbonised wood",
    "treated wood", "hard coal + wood", "wood-plastic composite", "heavy oil sludge",
)  # fmt: skip
"""Classes with the name of a common fuel in them that are none of these fuels."""


def coarse_bench(seed: int) -> Day:
    """Return a day read and weighed coarsely; its limits are wider accordingly."""
    return wide_limits(honest_day(seed, bench=COARSE, method="lab"))


def wide_limits(day: Day) -> Day:
    """Return a day whose limits of checks and series fit readings to 0.01 K."""
    day.setup_row("Check limit")["Value"], day.setup_row("Series relative SD limit")["Value"] = 0.7, 0.5
    return day


def one_fuel(seed: int) -> Day:
    """Return a day with one coal only, charged to within one per cent of a gram."""
    return honest_day(seed, classes=(ONE_SEAM,), bench=Bench(mass_spread=0.01))


def one_fuel_coarse(seed: int) -> Day:
    """Return a day with one coal only, on a coarse bench."""
    bench = dataclasses.replace(COARSE, mass_spread=0.02)
    return wide_limits(honest_day(seed, classes=(ONE_SEAM,), bench=bench, method="lab"))


def one_fuel_for_days(seed: int) -> Day:
    """Return four days with one coal only in one workbook, on half of the seeds on a coarse bench."""
    bench = dataclasses.replace(COARSE if seed % 2 else Bench(), mass_spread=0.02)
    day = over_days(honest_day(seed, pairs=20, bombs=1, classes=(ONE_SEAM,), bench=bench, method="lab"), 4)
    return wide_limits(day) if seed % 2 else day


def set_start(seed: int) -> Day:
    """Return a day on which the water is brought to one temperature before each firing, to 1 mK or to some hundredths.

    On a third of the seeds the bench is coarse, on a third it is one fuel that is fired.
    """
    temperatures = "both" if seed % 2 else "ends"
    swing = 0.1 if seed % 4 > 1 else 0.0
    if seed % 3 == 0:
        bench = dataclasses.replace(COARSE, set_start_C=22.0, start_swing=swing)
        return wide_limits(honest_day(seed, temperatures=temperatures, bench=bench, method="lab"))
    classes = (ONE_SEAM,) if seed % 3 == 1 else tuple(CLASSES.values())
    bench = Bench(set_start_C=22.0, start_swing=swing, mass_spread=0.02)
    return honest_day(seed, temperatures=temperatures, classes=classes, bench=bench)


def half_done(seed: int) -> Day:
    """Return a day broken off in the middle: many samples with numbers that follow each other are fired once."""
    classes = (ONE_SEAM,) if seed % 2 else tuple(CLASSES.values())
    day = honest_day(seed, own=False, ids="short", classes=classes)
    rng = random.Random(f"half {seed}")
    runs = day.sheets["Runs"]
    kept = runs[: rng.randint(len(runs) // 3, 2 * len(runs) // 3)]
    gone = {row[FIRING] for row in runs} - {row[FIRING] for row in kept}
    day.sheets["Runs"] = kept
    day.sheets["Titration"] = [row for row in day.sheets["Titration"] if row[FIRING] not in gone]
    return day


def rich_in_nitrogen(seed: int) -> Day:
    """Return a day of feed and sludge among other fuels, in an order of its own."""
    rng = random.Random(f"nitrogen {seed}")
    classes = [*rng.choices(RICH_IN_NITROGEN, k=rng.randint(1, 6)), *rng.choices(tuple(CLASSES.values()), k=7)]
    rng.shuffle(classes)
    return honest_day(seed, classes=classes, pairs=len(classes))


def few_and_rich_in_nitrogen(seed: int) -> Day:
    """Return a short day on which feed and sludge stand beside fuels with little nitrogen."""
    rng = random.Random(seed)
    count = rng.randint(3, 9)
    classes = rng.choices([*RICH_IN_NITROGEN, CLASSES["hard coal"], CLASSES["wood"], ONE_SEAM], k=count)
    return honest_day(seed, classes=classes, pairs=count, own=False)


def rich_in_nitrogen_only(seed: int) -> Day:
    """Return a day of feed and sludge only."""
    return honest_day(seed, classes=RICH_IN_NITROGEN)


def rounded_differences(seed: int) -> Day:
    """Return a day whose net mass is typed to 1 mg and whose rise to 0.01 K beside finer weighings and readings."""
    return honest_day(
        seed, masses="both", temperatures="both", bench=Bench(net_decimals=3, rise_decimals=2)
    )  # fmt: skip


def nearly_dry(seed: int) -> Day:
    """Return a day with cokes whose total moisture may lie a little below that of the analysis sample."""
    return honest_day(seed, classes=(NEARLY_DRY, CLASSES["hard coal"]))


def beside_the_bands(seed: int) -> Day:
    """Return a day of fuels whose class names a common fuel and means another."""
    day = honest_day(seed)
    rng = random.Random(f"classes {seed}")
    for row in day.sheets["Samples"]:
        row["Fuel class"] = rng.choice(BESIDE_THE_BANDS)
    return day


def over_days(day: Day, count: int) -> Day:
    """Return a day's firings spread over so many days, the last of them the day's own."""
    runs = day.sheets["Runs"]
    for index, row in enumerate(runs):
        row["Date"] = day.date - dt.timedelta(days=count - 1 - index * count // len(runs))
    for sample in day.sheets["Samples"]:
        sample["Moisture date"] = None
    return day


def restart_numbers(day: Day) -> Day:
    """Return a log in which each day's firings are numbered from 1 on each sheet, and those of Titration like them."""
    numbers: dict[int, int] = {}
    for sheet in ("Calibration", "Runs"):
        count: dict[dt.date, int] = {}
        for row in day.sheets[sheet]:
            count[row["Date"]] = count.get(row["Date"], 0) + 1
            numbers[row[FIRING]] = row[FIRING] = count[row["Date"]]
    for row in day.sheets["Titration"]:
        row[FIRING] = numbers[row[FIRING]]
    return day


UNUSUAL: Mapping[str, Callable[[int], Day]] = {
    kind.__name__: kind
    for kind in (
        coarse_bench, one_fuel, one_fuel_coarse, one_fuel_for_days, set_start, half_done, rich_in_nitrogen,
        few_and_rich_in_nitrogen, rich_in_nitrogen_only, rounded_differences, nearly_dry, beside_the_bands,
    )
}  # fmt: skip
"""Every kind of unusual laboratory; what the program may say of each stands with the tests."""
