"""Figures that are off their column by a power of ten: a decimal mark or a unit has slipped."""

import math
from collections.abc import Iterator, Sequence

from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.formulas import statistics

COLUMNS = (
    "mass_g", "crucible_g", "crucible_and_sample_g", "initial_C", "final_C", "rise_K", "wire_fitted_cm", "wire_left_cm",
    "water_mL",
)  # fmt: skip
"""Columns whose honest figures lie within a factor of three of each other on one bench; common practice, no source."""

CLOSE = 0.3
"""How far (in powers of ten) a figure may lie from its column times a power of ten; common practice, no source."""

HONEST_SPREAD = 3.0
"""A column whose middle half of figures spreads by more than this factor has no usual figure."""

_FEW = 5


def find(day: Day) -> Iterator[Slip]:
    """Yield each figure that is about ten, a hundred or a thousand times its column's median, or that part of it."""
    for members in day.by_sheet:
        for column in COLUMNS:
            yield from _slips(members, column)


def _slips(members: Sequence[Firing], column: str) -> Iterator[Slip]:
    given = [(value, firing) for firing in members if (value := getattr(firing.row, column)) is not None and value > 0]
    figures = sorted(value for value, _ in given)
    if len(figures) < _FEW or figures[3 * len(figures) // 4] > HONEST_SPREAD * figures[len(figures) // 4]:
        return
    median = statistics.median(figures)
    if not _powers_off(figures[0], median) and not _powers_off(figures[-1], median):
        return
    for value, firing in given:
        power, nearest = math.log10(value / median), _powers_off(value, median)
        # Wire is measured to the millimetre and may burn almost away: only a figure too large is telling there.
        if nearest == 0 or abs(power - nearest) > CLOSE or (nearest < 0 and column == "wire_left_cm"):
            continue
        row = firing.row
        finding = row.place.finding(
            "decimal-slip", column, firing=row.firing, sample=row.sample, heading=row.place.heading(column),
            read=f"{value:g}", factor=f"{10.0**nearest:g}", median=f"median {median:g}",
        )  # fmt: skip
        yield Slip(finding, (firing,))


def _powers_off(value: float, median: float) -> int:
    """Return the nearest power of ten by which a figure is off its column's median; 0 for the most."""
    return round(math.log10(value / median))
