"""Heat capacity and check firings of each calorimeter and bomb over time."""

import datetime as dt
from collections.abc import Sequence

from msgspec.structs import replace

from batchcal import reference
from batchcal.formulas import control, repeatability
from batchcal.formulas.statistics import mean
from batchcal.history import Apparatus, CapacityPoint, CapacityRun, CheckPoint, CheckRun, Drift, Pattern, SeriesMean
from batchcal.terms import SeriesState
from batchcal.trend.gather import EQUALITY, Fired
from batchcal.trend.read import Day, Firing, Limits, SeriesRecord

FEWEST_FOR_SD = 10
"""Checks from which on their standard deviation is worked out; chosen here, no source."""

_STATES = frozenset(SeriesState)

CHECKS_PER_FALSE_PATTERN = 92.0
"""Checks in order among which the four run rules signal once by chance (source: see ``formulas.control``)."""


def capacity_runs(days: Sequence[Day], calibrations: Sequence[Fired], last: dt.date) -> tuple[CapacityRun, ...]:
    """Return the heat capacities of each apparatus, in the order of their dates.

    One that is carried from file to file, alike in name, date, number of firings and value, is one; its state is
    that of the newest file that holds it.
    """
    means: dict[Apparatus, dict[object, SeriesMean]] = {}
    for day in days:
        for series in day.series:
            if series.heat_capacity_J_per_K is None or series.date is None or series.date > last:
                continue
            of_apparatus = means.setdefault(series.apparatus, {})
            key = (series.name, series.date, series.n, series.heat_capacity_J_per_K)
            known = of_apparatus.get(key)
            state = SeriesState(series.state) if series.state in _STATES else None
            expires = series.expires or (known.expires if known else None)
            if known is None:
                of_apparatus[key] = SeriesMean(
                    series.name, series.date, _start(series, series.date, day), series.heat_capacity_J_per_K, series.n,
                    series.sd_J_per_K, expires, state, file=day.file,
                )  # fmt: skip
            elif (known.state, known.expires) != (state, expires):
                of_apparatus[key] = replace(known, state=state, expires=expires)
    points: dict[Apparatus, list[CapacityPoint]] = {}
    for firing, day, date in calibrations:
        value = firing.heat_capacity_J_per_K
        if value is not None and (firing.counts or firing.state == "set aside"):
            point = CapacityPoint(date, firing.number, value, firing.counts, day.file)
            points.setdefault(firing.apparatus, []).append(point)
    return tuple(
        _capacity_run(apparatus, list(means.get(apparatus, {}).values()), points.get(apparatus, []), last)
        for apparatus in sorted({*means, *points}, key=lambda one: (one.calorimeter, one.bomb))
    )


def _start(series: SeriesRecord, date: dt.date, day: Day) -> dt.date:
    names = set(series.firings)
    dates = [
        firing.date
        for firing in day.firings
        if firing.number in names and firing.purpose == "calibration" and firing.date is not None
    ]
    return min([date, *dates])


def _capacity_run(
    apparatus: Apparatus, series: Sequence[SeriesMean], points: Sequence[CapacityPoint], last: dt.date
) -> CapacityRun:
    ordered = sorted(series, key=lambda one: (one.date, one.name))
    changed = [
        replace(
            one,
            change_J_per_K=one.heat_capacity_J_per_K - ordered[place - 1].heat_capacity_J_per_K if place else None,
        )
        for place, one in enumerate(ordered)
    ]
    parts = [(one.sd_J_per_K, one.n - 1) for one in changed if one.sd_J_per_K is not None and one.n and one.n > 1]
    pooled = repeatability.pooled_sd(parts) if parts else None
    return CapacityRun(
        apparatus=apparatus,
        series=tuple(changed),
        points=tuple(sorted(points, key=lambda point: point.date)),
        pooled_sd_J_per_K=pooled.sd if pooled else None,
        degrees_of_freedom=pooled.degrees_of_freedom if pooled else 0,
        last=last,
    )


_Check = tuple[Firing, Day, dt.date, float]
"""A check firing, the day that it was read in, its date, and how far its recovery is from 100, in %."""


def check_runs(fired: Sequence[Fired]) -> tuple[CheckRun, ...]:
    """Return the checks of each apparatus, in the order of firing: check firings worked out and not set aside."""
    checks: dict[Apparatus, list[_Check]] = {}
    for one in fired:
        firing, recovery = one[0], one[0].recovery_percent
        if firing.counts and recovery is not None:
            checks.setdefault(firing.apparatus, []).append((*one, recovery - 100.0))
    return tuple(
        _check_run(apparatus, sorted(checks[apparatus], key=lambda check: check[2]))
        for apparatus in sorted(checks, key=lambda one: (one.calorimeter, one.bomb))
    )


def _check_run(apparatus: Apparatus, checks: Sequence[_Check]) -> CheckRun:
    off = [value for *_, value in checks]
    newest = checks[-1][1].limits
    warning, warning_source = _warning(newest)
    found_sd = None
    if len(off) >= FEWEST_FOR_SD:
        found_sd = mean(control.moving_ranges(off)) / control.range_factors(2).d2
    sd, sd_source = newest.check_sd_percent, "Setup of the newest day"
    if not sd and newest.check_percent:
        share = reference.constant("check-sd-share")
        sd, sd_source = newest.check_percent * share.value, f"half of the check limit; {share.mark}"
    if not sd:
        sd, sd_source = found_sd, "moving range of these checks themselves"
    interval = reference.constant("check-sum-interval").value
    standardised = [value / sd for value in off] if sd else []
    sums = control.running_sums(standardised, interval=interval)
    signals = control.run_signals(standardised)
    dates = [date for _, _, date, _ in checks]
    patterns = [
        Pattern(str(rule), len(places), dates[places[-1]])
        for rule in control.RunRule
        for places in [[signal.indexes[-1] for signal in signals if signal.rule is rule]]
        if places
    ]
    return CheckRun(
        apparatus=apparatus,
        points=tuple(
            CheckPoint(
                date, firing.number, value, _verdict(day.limits, value),
                sums.upper[place] if sd else None, sums.lower[place] if sd else None, day.file,
            )
            for place, (firing, day, date, value) in enumerate(checks)
        ),
        action_percent=newest.check_percent,
        warning_percent=warning,
        warning_source=warning_source,
        limits_changed=len({(day.limits.check_percent, _warning(day.limits)[0]) for _, day, *_ in checks}) > 1,
        mean_off_percent=mean(off),
        found_sd_percent=found_sd,
        sd_percent=sd or None,
        sd_source=sd_source if sd else "",
        patterns=tuple(patterns),
        false_patterns=len(off) / CHECKS_PER_FALSE_PATTERN,
        interval=interval,
        drift=_drift(checks, sums, interval),
    )  # fmt: skip


def _warning(limits: Limits) -> tuple[float | None, str]:
    if limits.check_warning_percent is not None or limits.check_percent is None:
        return limits.check_warning_percent, "Setup"
    share = reference.constant("check-warning-share")
    return limits.check_percent * share.value, f"two thirds of the check limit; {share.mark}"


def _verdict(limits: Limits, off: float) -> str:
    action, (warning, _) = limits.check_percent, _warning(limits)
    if action is None:
        return "not judged"
    if abs(off) > action * (1 + EQUALITY):
        return "out"
    return "warning" if warning is not None and abs(off) > warning * (1 + EQUALITY) else "within"


def _drift(checks: Sequence[_Check], sums: control.RunningSums, interval: float) -> Drift | None:
    """Return where a running sum is first beyond its interval, since when it gathered, and how far checks were off."""
    place = sums.first_signal
    if place is None:
        return None
    side = 1 if sums.upper[place] >= sums.lower[place] else -1
    way = sums.upper if side > 0 else sums.lower
    start = max((before + 1 for before in range(place) if way[before] == 0.0), default=0)
    return Drift(
        place=place,
        side=side,
        firing=checks[place][0].number,
        date=checks[place][2],
        since=checks[start][2],
        mean_off_percent=mean([off for *_, off in checks[start : place + 1]]),
        lasting=max(sums.upper[-1], sums.lower[-1]) > interval,
    )
