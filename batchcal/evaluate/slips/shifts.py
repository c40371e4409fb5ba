"""Columns that have slipped against the others: moved by a row, or sorted without the rest.

A sheet's comparisons (firings of one sample, recoveries of checks, heat capacities of a series, typed masses and
rises against their differences) are made over with one column moved by one row from some row down. Where that makes
three or more agree and leaves hardly any apart, the column has slipped. Nothing is moved.
"""

import itertools
import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from batchcal import findings
from batchcal.evaluate.charge import COARSEST_STEP_K, MASS_TOLERANCE_G, reading_step
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.series import newest
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.formulas import statistics
from batchcal.terms import Purpose

COLUMNS = ("mass_g", "crucible_g", "crucible_and_sample_g", "rise_K", "initial_C", "final_C")
"""Columns of which a shift shows in the comparisons; a titre moves a result too little."""

IMPROVED = 3
"""So many comparisons must come to agree before a shift is suspected; common practice, no source."""

LEFT = 0.2
"""At most this part of those below the row, or one, may still disagree; common practice, no source."""

SLACK = 1.5
"""Firings are compared at this many limits here, since an average stands in for the side heats of some."""

SERIES_SLACK = 0.01
"""Relative departure at which a heat capacity or a recovery disagrees here; common practice, no source."""

MIXED_SHARE, MIXED_LEAST, MIXED_LIMITS = 0.4, 4, 3.0
"""A sheet is mixed up if this share and number of pairs disagree, half of them by more than so many limits."""


class _Line(Struct, frozen=True):
    """One row as it is compared."""

    firing: Firing
    capacity: float
    side_J: float
    factor: float
    """From as analysed to the comparison basis."""


class _Work(Struct, frozen=True):
    """What follows from the figures of each row: heat by mass (or mass by rise), and what typed figures miss by."""

    values: list[float]
    mass_off: list[float]
    rise_off: list[float]


class _Item(Struct, frozen=True):
    """One comparison: of one or two rows, of a kind, within a tolerance."""

    kind: str
    first: int
    last: int
    tolerance: float
    target: float = 0.0

    def agrees(self, first: _Work, last: _Work) -> bool:
        """Whether it agrees, with the first row from one work and the last from another."""
        if self.kind == "pair":
            return abs(first.values[self.first] - last.values[self.last]) <= self.tolerance
        if self.kind == "series":
            return abs(first.values[self.first] / last.values[self.last] - 1) <= self.tolerance
        if self.kind == "check":
            return abs(last.values[self.last] / self.target - 1) <= self.tolerance
        return (last.mass_off if self.kind == "mass" else last.rise_off)[self.last] <= self.tolerance


class _Shift(Struct, frozen=True):
    """A column moved from a row down, how many comparisons come to agree, and how many still do not."""

    column: str
    way: str
    start: int
    gained: int


def find(day: Day) -> Iterator[Slip]:
    """Yield columns that have slipped, on each sheet of firings."""
    for members in day.by_sheet:
        lines = _lines(day, members)
        found = _shift(day, lines)
        if found is not None:
            yield found
        else:
            yield from _mixed(day, members)


def _lines(day: Day, members: Sequence[Firing]) -> list[_Line]:
    sides = [None if firing.nitric_J is None else _side(firing) for firing in members]
    heats = [side for side in sides if side is not None]
    average = statistics.median(heats) if heats else 0.0
    basis = day.settings.comparison_basis
    factors: dict[str, float] = {}
    lines = []
    for firing, side in zip(members, sides, strict=True):
        capacity = firing.heat_capacity_J_per_K if firing.purpose is not Purpose.CALIBRATION else None
        if capacity is None:
            series = newest(firing, day.series)
            capacity = series.heat_capacity_J_per_K if series is not None else None
        sample = firing.row.sample
        if sample not in factors:
            entry = day.contents.get(sample)
            factors[sample] = (entry.value_on(basis, 1.0) if entry is not None and basis is not None else None) or 1.0
        lines.append(_Line(firing, capacity or math.nan, average if side is None else side, factors[sample]))
    return lines


def _side(firing: Firing) -> float:
    heats = (firing.ignition_J or 0.0, firing.aid_J or 0.0, firing.nitric_J or 0.0, firing.sulphuric_J or 0.0)
    return math.fsum(heats)


def _figures(lines: Sequence[_Line]) -> dict[str, list[float]]:
    """Return the figures of each column, NaN where a row has none."""
    return {
        column: [math.nan if (value := getattr(line.firing.row, column)) is None else value for line in lines]
        for column in COLUMNS
    }


def _work(lines: Sequence[_Line], figures: dict[str, list[float]], as_it_is: dict[str, list[float]]) -> _Work:
    """Work out each row; a mass or rise that followed from its difference in the sheet follows again."""
    values, mass_off, rise_off = [], [], []
    given, was = (zip(*(columns[name] for name in COLUMNS), strict=True) for columns in (figures, as_it_is))
    for line, now, then in zip(lines, given, was, strict=True):
        mass, off = _typed_or_difference(now[0], now[2] - now[1], then[0], then[2] - then[1], MASS_TOLERANCE_G)
        mass_off.append(off)
        rise, off = _typed_or_difference(now[3], now[5] - now[4], then[3], then[5] - then[4], COARSEST_STEP_K)
        rise_off.append(off)
        firing = line.firing
        theta = rise + (firing.row.heat_exchange_K or firing.heat_exchange_K or 0.0)
        if not (mass > 0 and theta > 0):
            values.append(math.nan)
        elif firing.purpose is Purpose.CALIBRATION:
            values.append(mass / theta)
        else:
            values.append((line.capacity * theta - line.side_J) / mass * line.factor)
    return _Work(values, mass_off, rise_off)


def _typed_or_difference(
    typed: float, difference: float, typed_was: float, difference_was: float, tolerance: float
) -> tuple[float, float]:
    """Return a typed figure, or the difference from which it follows, and by how much the two miss each other."""
    follows = abs(typed_was - difference_was) <= tolerance and typed == typed_was
    value = difference if math.isnan(typed) or (follows and not math.isnan(difference)) else typed
    return value, abs(typed - difference)


def _items(day: Day, lines: Sequence[_Line]) -> Iterator[_Item]:
    samples: dict[str, list[int]] = {}
    series: dict[tuple[tuple[str, str], str], list[int]] = {}
    certified = day.settings.benzoic_heat_in_air
    for index, line in enumerate(lines):
        row, purpose = line.firing.row, line.firing.purpose
        if purpose is Purpose.SAMPLE and row.sample:
            samples.setdefault(row.sample, []).append(index)
        elif purpose is Purpose.CALIBRATION:
            series.setdefault((line.firing.apparatus, row.series), []).append(index)
        elif purpose is Purpose.CHECK and certified is not None:
            yield _Item("check", index, index, SERIES_SLACK, certified.value)
        if row.mass_g is not None and row.crucible_g is not None and row.crucible_and_sample_g is not None:
            yield _Item("mass", index, index, MASS_TOLERANCE_G * (1 + 1e-6))
        if row.rise_K is not None and row.initial_C is not None and row.final_C is not None:
            yield _Item("rise", index, index, reading_step(row, day.settings) * (1 + 1e-6))
    for kind, groups, tolerance in (
        ("pair", samples.values(), SLACK * (day.limit or math.inf)),
        ("series", series.values(), SERIES_SLACK),
    ):
        for rows in groups:
            yield from (_Item(kind, first, last, tolerance) for first, last in itertools.pairwise(rows))


def _shift(day: Day, lines: Sequence[_Line]) -> Slip | None:
    """Return the shift of one column by one row that makes most comparisons agree, if it is a clear one."""
    figures = _figures(lines)
    items = list(_items(day, lines))
    as_it_is = _work(lines, figures, figures)
    total = sum(not item.agrees(as_it_is, as_it_is) for item in items)
    if total < IMPROVED:
        return None
    best: _Shift | None = None
    for column in COLUMNS:
        given = figures[column]
        if sum(not math.isnan(figure) for figure in given) < IMPROVED:
            continue
        for way, moved in (("low", [*given[1:], math.nan]), ("high", [math.nan, *given[:-1]])):
            work = _work(lines, {**figures, column: moved}, figures)
            start, gained = _best_start(len(lines), items, as_it_is, work, last=way == "low")
            if gained >= IMPROVED and (best is None or gained > best.gained):
                best = _Shift(column, way, start, gained)
    return None if best is None else _said(lines, items, best, total)


def _best_start(rows: int, items: Sequence[_Item], as_it_is: _Work, moved: _Work, *, last: bool) -> tuple[int, int]:
    """Return the row from which moving a column gains most, and how many comparisons come to agree; 0 if too few.

    A comparison of rows i <= j disagrees as it stands where the start lies below j, as half moved where it lies
    between, as moved where it lies at i or above; sums of differences give all starts in one pass.
    """
    worse, wrong, below = [0] * (rows + 2), [0] * (rows + 2), [0] * (rows + 2)
    for item in items:
        now = not item.agrees(as_it_is, as_it_is)
        half = not item.agrees(as_it_is, moved)
        both = not item.agrees(moved, moved)
        worse[0] += both - now
        worse[item.first + 1] += half - both
        worse[item.last + 1] += now - half
        wrong[0] += both
        wrong[item.first + 1] -= both
        below[0] += 1
        below[item.first + 1] -= 1
    best = (0, 0)
    more = left = under = 0
    for start in range(rows):
        more, left, under = more + worse[start], left + wrong[start], under + below[start]
        # Of equal starts the last where figures stand too low: one repeated where the shift begins is right in both
        # rows. The first where they stand too high: the figure lost there leaves its comparison apart either way.
        better = -more > best[1] or (last and best[1] and -more == best[1])
        if better and left <= max(1.0, LEFT * under):
            best = (start, -more)
    return best


def _said(lines: Sequence[_Line], items: Sequence[_Item], shift: _Shift, total: int) -> Slip:
    row = lines[shift.start].firing.row
    finding = row.place.finding(
        "row-shift", shift.column, heading=row.place.heading(shift.column), way=shift.way, before=total,
        after=total - shift.gained, total=len(items),
    )  # fmt: skip
    touched = tuple(line.firing for line in lines[shift.start :])
    return Slip(finding, touched, tuple(dict.fromkeys(f.row.sample for f in touched if f.row.sample)))


def _mixed(day: Day, members: Sequence[Firing]) -> Iterator[Slip]:
    """Yield a sheet on which so many pairs are so far apart that its columns cannot belong together."""
    limit = day.limit
    if limit is None or sum(gap > limit for _, _, gap in day.pairs) < MIXED_LEAST:
        return
    here = {id(firing) for firing in members}
    gaps = [gap for one, _, gap in day.pairs if id(one) in here]
    apart = [gap for gap in gaps if gap > limit]
    if len(apart) < max(MIXED_LEAST, MIXED_SHARE * len(gaps)) or statistics.median(apart) <= MIXED_LIMITS * limit:
        return
    finding = findings.make(
        "rows-mixed", sheet=members[0].row.place.sheet, before=len(apart), total=len(gaps),
        median=f"{statistics.median(apart):.0f}", hint=_sorted_column(members),
    )  # fmt: skip
    yield Slip(finding, tuple(members), tuple(dict.fromkeys(f.row.sample for f in members if f.row.sample)))


def _sorted_column(members: Sequence[Firing]) -> str:
    """Name a column of figures that runs up or down the whole sheet, which a bench does not produce."""
    for column in COLUMNS:
        figures = [value for firing in members if (value := getattr(firing.row, column)) is not None]
        if len(figures) < 6 or len(set(figures)) < 6:
            continue
        steps = [after - before for before, after in itertools.pairwise(figures)]
        if all(step >= 0 for step in steps) or all(step <= 0 for step in steps):
            return f"; {members[0].row.place.heading(column)} runs in order from top to bottom"
    return ""
