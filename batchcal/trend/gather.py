"""Each day once, each firing once: copies and amended sets told apart, and what is left put in order."""

import datetime as dt
from collections.abc import Sequence

from msgspec import Struct, field

from batchcal.history import Pair, Passed
from batchcal.trend.read import IDENTITY, WORKED, Day, Firing

Fired = tuple[Firing, Day, dt.date]
"""One firing, the day that it was first read in, and its date; a plain tuple, because there are so many."""


class Gathered(Struct):
    """What is counted, in the order of the days, and how much is not."""

    days: list[Day]
    by_purpose: dict[str, list[Fired]] = field(default_factory=dict)
    failed: list[Fired] = field(default_factory=list)
    """Firings that came to something other than a result, of every purpose."""
    pairs: list[Pair] = field(default_factory=list)
    third_firings: list[dt.date] = field(default_factory=list)
    """Days of the third firing that was worked out, of each sample that has one."""
    samples: int = 0
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
    return day.issue, sum(firing.state in WORKED for firing in day.firings), day.file


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
    found = Gathered(list(days))
    seen: set[tuple[object, ...]] = set()
    first, last = since or dt.date.min, until or dt.date.max
    for day in days:
        new: set[int] = set()
        for place, firing in enumerate(day.firings):
            date = firing.date
            if date is None:
                found.undated += 1
                continue
            known = len(seen)
            seen.add(firing[:IDENTITY])
            if len(seen) == known and firing.number:
                found.carried += 1
            elif first <= date <= last:
                new.add(place)
                fired = (firing, day, date)
                found.by_purpose.setdefault(firing.purpose, []).append(fired)
                if firing.outcome or firing.state not in WORKED:
                    found.failed.append(fired)
            else:
                found.outside += 1
        if new:
            _add_samples(day, new, found)
    return found


def _add_samples(day: Day, new: set[int], found: Gathered) -> None:
    """Count the samples of a day of which a firing is new, and add their first pairs.

    A pair is of the first two firings that were worked out, if at least one of them is new.
    """
    value_at = _VALUE_AT.get(day.comparison_basis)
    by_sample: dict[str, list[tuple[int, float]]] = {}
    fired: dict[str, list[dt.date | None]] = {}
    for place, firing in enumerate(day.firings):
        if firing.purpose != "sample":
            continue
        sample, works = firing.sample, firing.state in WORKED
        if place in new:
            worked_on = fired.setdefault(sample, [])
            if works:
                worked_on.append(firing.date)
        value = firing[value_at] if works and sample and value_at is not None else None
        if isinstance(value, float):
            by_sample.setdefault(sample, []).append((place, value))
    found.samples += len(fired)
    found.third_firings += [days[2] for days in fired.values() if len(days) > 2 and days[2] is not None]
    found.unpaired += sum(len(by_sample.get(sample, ())) < 2 for sample in fired if sample)
    for worked in by_sample.values():
        if len(worked) > 1:
            (first, _), (second, _) = worked[:2]
            dates = [day.firings[place].date for place in (first, second) if place in new]
            date = max(filter(None, dates), default=None)
            if date is not None:
                values = worked[0][1], worked[1][1]
                found.pairs.append(_pair(day, date, (day.firings[first], day.firings[second]), values))


def _pair(day: Day, date: dt.date, firings: tuple[Firing, Firing], values_J_per_g: tuple[float, float]) -> Pair:
    (a, b), (first_J_per_g, second_J_per_g) = firings, values_J_per_g
    alike = (a.calorimeter, a.bomb) == (b.calorimeter, b.bomb)
    limit, difference = day.limits.repeatability_J_per_g, first_J_per_g - second_J_per_g
    ratio = abs(difference) / limit if limit else None
    return Pair(
        date=date,
        sample=a.sample,
        fuel_class=day.samples.get(a.sample, ""),
        calorimeter=a.calorimeter if alike else TWO,
        bomb=a.bomb if alike else TWO,
        analyst=a.analyst if a.analyst == b.analyst else TWO,
        basis=day.comparison_basis,
        first=a.number,
        second=b.number,
        first_J_per_g=first_J_per_g,
        second_J_per_g=second_J_per_g,
        difference_J_per_g=difference,
        limit_J_per_g=limit,
        ratio=ratio,
        beyond=ratio is not None and ratio > 1.0 + EQUALITY,
        file=day.file,
    )


_VALUE_AT = {basis: Firing._fields.index(f"gross_{basis}_J_per_g") for basis in ("ad", "d")}
"""Where the value on a comparison basis stands among the fields of a firing."""

EQUALITY = 1e-9
"""Relative difference that counts as equal; equality passes."""

TWO = "two of them"
"""Stands for calorimeter, bomb or analyst of a pair whose firings do not share it."""
