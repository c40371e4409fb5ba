"""Each day once, each firing once: copies and amended sets told apart, and what is left put in order."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from batchcal.history import Pair, Passed
from batchcal.trend.read import Day, Firing


@dataclass(frozen=True, slots=True)
class Fired:
    """One firing with the day that it was first read in."""

    firing: Firing
    day: Day
    date: dt.date


@dataclass(slots=True)
class Gathered:
    """What is counted, in the order of the days, and how much is not."""

    days: list[Day]
    fired: list[Fired]
    pairs: list[Pair]
    carried: int = 0
    undated: int = 0
    outside: int = 0
    unpaired: int = 0


def each_day_once(days: Sequence[Day]) -> tuple[list[Day], list[Passed]]:
    """Return the days in the order of their dates, and the files of a day that another file holds too.

    Two files hold one day where they were made from the same workbook, byte for byte, or where laboratory, batch and
    batch date are the same and they share the number of a firing that is not a calibration: an amended workbook. The
    higher issue counts; of one issue the file with more firings worked out, then the later by name.
    """
    kept: dict[object, Day] = {}
    once: list[Passed] = []
    for day in sorted(days, key=_weight, reverse=True):
        same = kept.setdefault(("workbook", day.sha256), day)
        if same is day:
            same, why = _amended(day, kept), f"amended or second copy of batch {day.batch} of {day.batch_date}"
        else:
            why = "made from the same workbook"
        if same is not day:
            once.append(Passed(day.file, f"{why}; counted once, as {same.file}"))
    passed = {entry.file for entry in once}
    counted = [day for day in days if day.file not in passed]
    counted.sort(key=lambda day: (day.date or dt.date.max, day.file))
    return counted, sorted(once, key=lambda entry: entry.file)


def _weight(day: Day) -> tuple[int, int, str]:
    return day.issue, sum(firing.counts for firing in day.firings), day.file


def _amended(day: Day, kept: dict[object, Day]) -> Day:
    """Return the weightier day that this one repeats, or the day itself, which is then kept under its firings."""
    if not day.batch or day.batch_date is None:
        return day
    keys = [
        (day.laboratory, day.batch, day.batch_date, firing.number)
        for firing in day.firings
        if firing.number and firing.purpose != "calibration"
    ]
    same = next((kept[key] for key in keys if key in kept), day)
    if same is day:
        kept.update(dict.fromkeys(keys, day))
    return same


def gather(days: Sequence[Day], since: dt.date | None, until: dt.date | None) -> Gathered:
    """Return firings and first pairs of the days, each firing once, from ``since`` to ``until``, both included.

    A firing stands again in a later file where purpose, number, date, calorimeter, bomb, mass and rise are the same:
    a series is carried along from day to day. A pair of which both firings stood in an earlier file is not new.
    """
    found = Gathered(list(days), [], [])
    seen: set[tuple[object, ...]] = set()
    for day in days:
        new: set[int] = set()
        for place, firing in enumerate(day.firings):
            identity = (
                firing.purpose, firing.number, firing.date, firing.apparatus, firing.mass_g, firing.rise_K,
            )  # fmt: skip
            if firing.number and firing.date is not None and identity in seen:
                found.carried += 1
                continue
            seen.add(identity)
            if firing.date is None:
                found.undated += 1
            elif (since and firing.date < since) or (until and firing.date > until):
                found.outside += 1
            else:
                new.add(place)
                found.fired.append(Fired(firing, day, firing.date))
        _first_pairs(day, new, found)
    return found


def _first_pairs(day: Day, new: set[int], found: Gathered) -> None:
    """Add the first two firings of each sample that were worked out, if at least one of them is new."""
    by_sample: dict[str, list[tuple[int, Firing, float]]] = {}
    fired = set()
    for place, firing in enumerate(day.firings):
        if firing.purpose != "sample" or not firing.sample:
            continue
        if place in new:
            fired.add(firing.sample)
        value = firing.gross_J_per_g.get(day.comparison_basis)
        if firing.counts and value is not None:
            by_sample.setdefault(firing.sample, []).append((place, firing, value))
    for sample in fired:
        if len(by_sample.get(sample, ())) < 2:
            found.unpaired += 1
    for sample, (first, *more) in by_sample.items():
        if not more:
            continue
        second = more[0]
        dates = [firing.date for place, firing, _ in (first, second) if place in new and firing.date is not None]
        if dates:
            found.pairs.append(_pair(day, sample, max(dates), first[1:], second[1:]))


def _pair(day: Day, sample: str, date: dt.date, first: tuple[Firing, float], second: tuple[Firing, float]) -> Pair:
    a, b = first[0], second[0]
    alike = a.apparatus == b.apparatus
    return Pair(
        date=date,
        sample=sample,
        fuel_class=day.samples.get(sample, ""),
        calorimeter=a.apparatus.calorimeter if alike else TWO,
        bomb=a.apparatus.bomb if alike else TWO,
        analyst=a.analyst if a.analyst == b.analyst else TWO,
        basis=day.comparison_basis,
        first=a.number,
        second=b.number,
        first_J_per_g=first[1],
        second_J_per_g=second[1],
        limit_J_per_g=day.limits.repeatability_J_per_g,
        file=day.file,
    )


TWO = "two of them"
"""Stands for calorimeter, bomb or analyst of a pair whose firings do not share it."""
