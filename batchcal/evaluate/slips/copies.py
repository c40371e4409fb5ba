"""Firings that share more figures than two honest firings do, and starts copied from the firing before."""

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise

from batchcal.evaluate.charge import logged_mass
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.findings import Severity
from batchcal.terms import FiringState

FIELDS = {"mass": "mass", "initial_C": "start", "final_C": "end", "rise_K": "rise", "titre": "titre"}
"""What is compared, with its name in words."""

COMMON = 0.05
"""A figure that this share of all pairs of a day has in common says nothing: a set start, a coarse step."""

DIGITS = {"mass": 4, "initial_C": 4, "final_C": 4, "rise_K": 4, "titre": 3}
"""A figure of fewer significant digits is too round to tell one firing from another; common practice, no source."""

_FEW = 6
"""With fewer firings in a day nothing can be said of what is common in it."""


def find(day: Day) -> Iterator[Slip]:
    """Yield firings of one day, or of one sample, that share two or more of mass, start, end, rise and titre.

    Two honest firings share mass and rise in one of about 17 000 pairs, start and end in one of 290 000 (derived by
    simulation); a whole day of 30 has such a pair once in a thousand. One shared figure happens about once a day,
    so nothing is said of it. Two shared figures of firings of different samples are for review only.
    """
    by_day: dict[dt.date | None, list[Firing]] = {}
    for firing in day.firings:
        if firing.counts:
            by_day.setdefault(firing.date, []).append(firing)
    for members in by_day.values():
        telling = {name: values for name, values in _figures(members).items() if _tells(values)}
        for one, other, shared in _alike(members, telling):
            yield _slip(one, other, shared)
    for group in day.grouped.values():
        members = [firing for firing in group if firing.counts]
        if len({firing.date for firing in members}) < 2:
            continue
        for one, other, shared in _alike(members, _figures(members)):
            if one.date != other.date:
                yield _slip(one, other, shared)
    yield from _starts(day)


def _figures(members: Sequence[Firing]) -> dict[str, list[float | None]]:
    """Return what is compared of each firing, by the figure's name."""
    return {name: [_value(firing, name) for firing in members] for name in FIELDS}


def _value(firing: Firing, name: str) -> float | None:
    """Return a figure of a firing as logged, or None where there is none or where it is too round to tell anything."""
    row = firing.row
    if name == "mass":
        value = logged_mass(row)
    elif name == "titre":
        value = None if firing.titration is None else firing.titration.titre_read_mL
    elif name == "rise_K" and row.initial_C is not None and row.final_C is not None:
        return None  # it follows from the two temperatures
    else:
        value = getattr(row, name)
    if value is None:
        return None
    value = round(value, 5)
    return value if len(f"{value:.5f}".replace(".", "").strip("0")) >= DIGITS[name] else None


def _tells(figures: Sequence[float | None]) -> bool:
    """Whether a figure differs enough within a day for two equal ones to mean something."""
    values = [value for value in figures if value is not None]
    if len(values) < _FEW:
        return True
    equal = sum(count * (count - 1) // 2 for count in Counter(values).values())
    # One pair may be the very copy that is looked for.
    return (equal - 1) / (len(values) * (len(values) - 1) / 2) < COMMON


def _alike(
    members: Sequence[Firing], figures: Mapping[str, Sequence[float | None]]
) -> Iterator[tuple[Firing, Firing, list[str]]]:
    """Yield pairs that share at least two of the figures, the later one first, each pair once."""
    shared: dict[tuple[int, int], list[str]] = {}
    for pair in combinations(figures, 2):
        groups: dict[tuple[float, float], list[int]] = {}
        for index, (one, two) in enumerate(zip(*(figures[name] for name in pair), strict=True)):
            if one is not None and two is not None:
                groups.setdefault((one, two), []).append(index)
        for group in groups.values():
            for first, second in pairwise(group):
                words = shared.setdefault((first, second), [])
                words += [FIELDS[name] for name in pair if FIELDS[name] not in words]
    for (first, second), words in sorted(shared.items()):
        yield members[second], members[first], words


def _slip(later: Firing, earlier: Firing, shared: Sequence[str]) -> Slip:
    row, other = later.row, earlier.row
    finding = row.place.finding(
        "rows-alike", "rise_K" if "rise" in shared else "initial_C" if "start" in shared else "mass_g",
        firing=row.firing, sample=row.sample, other=other.firing, place=f"{other.place.sheet} row {other.place.row}",
        shared=" and ".join(shared) if len(shared) < 3 else ", ".join(shared[:-1]) + " and " + shared[-1],
        severity=None if len(shared) > 2 or row.sample == other.sample else Severity.REVIEW,
    )  # fmt: skip
    return Slip(finding, (later, earlier))


def _starts(day: Day) -> Iterator[Slip]:
    """Yield firings that start at the very temperature at which the one before ended, or whose rise came to nothing.

    The water is changed between firings and starts some kelvin lower. That two starts are equal is normal where
    the firings are otherwise as they should be; ``pairs`` says so of those that disagree.
    """
    for before, firing in pairwise(day.firings):
        if before.row.place.sheet != firing.row.place.sheet or firing.row.initial_C is None:
            continue
        if firing.row.initial_C == before.row.final_C or firing.state is FiringState.NOT_COMPUTED:
            yield from same_start(firing, before)


def same_start(firing: Firing, before: Firing | None) -> Iterator[Slip]:
    """Yield a finding where a firing starts at the start or end of the one before it on the sheet."""
    row, start = firing.row, firing.row.initial_C
    if before is None or start is None:
        return
    for value, which in ((before.row.final_C, "end"), (before.row.initial_C, "start")):
        if value == start:
            finding = row.place.finding(
                "start-copied", "initial_C", firing=row.firing, sample=row.sample, read=f"{start:g}", which=which,
                other=before.row.firing,
            )  # fmt: skip
            yield Slip(finding, (firing,))
            return
