"""The figures of the lab's own sheet beside those found here, with how closely they can be expected to agree."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from string import ascii_uppercase, digits

from msgspec import Struct

from batchcal import reference, units
from batchcal.evaluate.firings import Firing
from batchcal.logged import OwnResult, Place
from batchcal.model import Settings

CAPACITY_ROUNDED_J_PER_K = 0.5
"""A sheet may carry the heat capacity in whole J/K; common practice, no source."""

REST_J_PER_G = 0.2
"""What differently rounded constants may add in a sheet worked correctly; common practice, no source."""

WIDEST_STEP_J_PER_G = 100.0
"""Results are rounded to 0.1 MJ/kg at the coarsest; common practice, no source."""

WIDEST_STEP_J_PER_K = 1.0
"""Heat capacities are rounded to 1 J/K at the coarsest; a coarser one is worth saying. Common practice, no source."""

ON_STEP = 0.8
"""Share of a column's figures that must lie on a step for it to be the column's."""


class Figure(Struct, frozen=True):
    """One own figure (J/g or J/K) beside the one found here.

    ``half`` is half the step to which it is rounded, ``slack`` what a sheet worked correctly may differ beside that.
    ``factor`` brings a value as analysed to the basis of the figure. ``chained``: compared with another own figure,
    so that only its unit and basis are in question.
    """

    firing: Firing
    place: Place
    field: str
    own: float
    found: float
    half: float
    slack: float
    factor: float = 1.0
    chained: bool = False

    @property
    def tolerance(self) -> float:
        """How far the two may lie apart without meaning anything."""
        return self.half + self.slack

    @property
    def differs(self) -> bool:
        """Whether the two differ by more than rounding."""
        return abs(self.own - self.found) > self.tolerance

    def is_(self, expected: float) -> bool:
        """Whether the own figure is ``expected`` but for rounding."""
        grown = abs(expected / self.found) if self.found else 1.0
        return abs(self.own - expected) <= self.half + self.slack * grown


class Scale(Struct, frozen=True):
    """What one of a column's unit is worth in J/g or J/K, and the step (in its own unit) that it is rounded to."""

    unit: str
    inside: float
    step: float
    widest: float

    def half_step(self, own: OwnResult) -> float:
        """Return half the step (J/g or J/K) to which an own figure is rounded: the column's where it lies on it."""
        exponent, kind = _grid(own.value)
        fits = _multiple(exponent, kind, self.step)
        step = self.step if fits else min(self.step, float(kind * Decimal(10) ** exponent))
        return min(step * self.inside, self.widest) / 2

    def value(self, own: OwnResult) -> float:
        """Return an own figure in J/g or J/K."""
        return own.value * self.inside


def scale_of(results: Sequence[OwnResult], quantity: str, settings: Settings, calorie_J: float | None) -> Scale | None:
    """Return the scale of the figures of one column; None where its unit is a calorie that nobody names.

    ``calorie_J`` stands in for the calorie where Setup names none.
    """
    unit = units.read(results[0].unit, quantity) if results else None
    if unit is None:
        return None
    calorie = settings.calorie.value if settings.calorie is not None else calorie_J
    if unit.calories and calorie is None:
        return None
    inside = unit.inside(1.0, calorie)
    widest = WIDEST_STEP_J_PER_G if quantity == "energy per mass" else WIDEST_STEP_J_PER_K
    step = column_step([result.value for result in results], widest / inside)
    return Scale(unit.text, inside, step, widest)


def column_step(values: Iterable[float], widest: float) -> float:
    """Return the coarsest step of 1, 2 or 5 in a decade, up to ``widest``, on which most of the figures lie."""
    grids = Counter(_grid(value) for value in values if value != 0)
    total = sum(grids.values())
    if not total:
        return 0.0
    finest = min(exponent for exponent, _ in grids)
    decade, best = Decimal(10) ** finest, 0.0
    while float(decade) <= widest * 1.000001:
        for kind in (1, 2, 5):
            step = float(kind * decade)
            on = sum(count for (exponent, own), count in grids.items() if _multiple(exponent, own, step))
            if step <= widest * 1.000001 and on >= ON_STEP * total:
                best = step
        decade *= 10
    return best or widest


def _grid(value: float) -> tuple[int, int]:
    """Return the coarsest step of a figure as typed: its power of ten, and 1, 2 or 5."""
    digits = Decimal(repr(value)).normalize().as_tuple()
    last = digits.digits[-1]
    return int(digits.exponent), 5 if last == 5 else 2 if last % 2 == 0 and last else 1


def _multiple(exponent: int, kind: int, step: float) -> bool:
    """Whether a figure on a grid of ``kind`` times ten to the ``exponent`` lies on multiples of ``step``."""
    if step <= 0:
        return False
    own_step = Decimal(repr(step)).normalize().as_tuple()
    power, digit = int(own_step.exponent), own_step.digits[-1]
    return exponent > power or (exponent == power and digit in (1, kind))


def calories() -> Mapping[str, float]:
    """Return the calories in use by name, in J."""
    named = {
        "international": "calorie-international",
        "thermochemical": "calorie-thermochemical",
        "15 °C": "calorie-15",
        "20 °C": "calorie-20",
    }
    found = {name: reference.constant(key).value for name, key in named.items()}
    # The other values of the two calories on which sources conflict; see the notes of these constants.
    return {**found, "15 °C, the other value": 4.1855, "20 °C, the other value": 4.1816}


def overlap(intervals: Sequence[tuple[float, float]]) -> tuple[float, float, list[int]] | None:
    """Return the stretch that most intervals have in common, and the positions of these intervals."""
    ends = sorted(
        [(low, 0, index) for index, (low, _) in enumerate(intervals)]
        + [(high, 1, index) for index, (_, high) in enumerate(intervals)]
    )
    most = count = 0
    low = high = 0.0
    waiting = False
    for at, closes, _ in ends:
        if closes:
            if waiting:
                high, waiting = at, False
            count -= 1
        else:
            count += 1
            if count > most:
                most, low, waiting = count, at, True
    if not most:
        return None
    return low, high, [index for index, (a, b) in enumerate(intervals) if a <= low <= b]


def places_text(places: Sequence[Place], field: str) -> str:
    """Return the cells of a field in words: as those of a column where they stand in one."""
    addresses = [cell for place in places if (cell := place.cell(field)) is not None]
    letters = {address.rstrip(digits) for address in addresses}
    if len(letters) == 1:
        return cells_text(letters.pop(), [int(address.lstrip(ascii_uppercase)) for address in addresses])
    more = f", … ({len(addresses)} cells)" if len(addresses) > 6 else f" ({len(addresses)} cells)"
    return ", ".join(addresses[:6]) + more


def cells_text(letter: str, rows: Sequence[int]) -> str:
    """Return the cells of a column in words: "AG3 to AG14, AG20 (13 cells)"."""
    spans: list[list[int]] = []
    for row in sorted(rows):
        if spans and row == spans[-1][1] + 1:
            spans[-1][1] = row
        else:
            spans.append([row, row])
    texts = [f"{letter}{a}" if a == b else f"{letter}{a} to {letter}{b}" for a, b in spans[:6]]
    more = ", …" if len(spans) > 6 else ""
    count = f" ({len(rows)} cells)" if len(rows) > 1 else ""
    return ", ".join(texts) + more + count
