"""A second look at the series in use: what their mean and scatter do not show. Nothing here changes a result."""

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Any

from msgspec import Struct

from batchcal import reference
from batchcal.evaluate.charge import EQUALITY
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.order import in_firing_order
from batchcal.findings import Finding, make
from batchcal.formulas import outliers, quantiles, statistics
from batchcal.formulas.trend import Trend, trend
from batchcal.model import Series, Settings
from batchcal.terms import HeatCapacityModel, Purpose, SeriesState


class _Used(Struct, frozen=True):
    """A series, its firings in the order in which they were made, and the firings that rest on it."""

    series: Series
    members: Sequence[Firing]
    resting: Sequence[Firing]

    @property
    def values(self) -> list[float]:
        """Heat capacities in J/K, as the members are ordered."""
        return [f.heat_capacity_J_per_K for f in self.members if f.heat_capacity_J_per_K is not None]

    @property
    def apparatus(self) -> str:
        """Apparatus and series in words."""
        name = self.series.name if self.series.n is not None else ""
        return self.series.apparatus + (f", series {name}" if name else "")

    def finding(self, code: str, **details: Any) -> Finding:
        """Make a finding that stands at the first firing of the series."""
        place = self.members[0].row.place
        return make(code, sheet=place.sheet, row=place.row, apparatus=self.apparatus, **details)


def review_series(
    firings: Sequence[Firing], settings: Settings, made: Sequence[Series], today: dt.date | None
) -> list[Finding]:
    """Return what a person should know of each series that firings rest on, or that is the newest of its apparatus.

    How the firings of a series lie is said of the last of these alone: of many in a long log some look odd by chance,
    and what was odd about an older one was said while it was new. With a heat capacity that is a line the scatter is
    about that line, and trends and outliers are left to the eye.
    """
    by_number = {f.row.firing: f for f in firings if f.purpose is Purpose.CALIBRATION and f.counts}
    analysts = {f.row.analyst.casefold(): f.row.analyst for f in firings if f.row.analyst}
    in_use = [series for series in made if any(f.series is series and f.counts for f in firings)]
    found: list[Finding] = []
    for series in made:
        resting = [f for f in firings if f.series is series and f.counts]
        found += _ending(series, settings, today) if resting else ()
        members = in_firing_order(by_number[name] for name in series.firings if name in by_number)
        if not members or (not resting and _before(made, series, later=True)):
            continue
        used = _Used(series, members, resting)
        if not _before(in_use, series, later=True):
            found += _looks(used, settings, analysts)
        found += _step(used, settings, made)
    return found


def _looks(used: _Used, settings: Settings, analysts: dict[str, str]) -> Iterator[Finding]:
    """Look at how the firings of a series lie: in time, among the analysts, against rise and order."""
    yield from _one_day(used)
    yield from _one_analyst(used, analysts)
    if settings.heat_capacity_model is HeatCapacityModel.CONSTANT:
        yield from _trends(used)
        yield from _outlier(used, settings)


def _one_day(used: _Used) -> Iterator[Finding]:
    dates = {firing.date for firing in used.members}
    if len(used.members) > 1 and len(dates) == 1 and None not in dates:
        yield used.finding("series-one-day", n=len(used.members), date=dates.pop())


def _one_analyst(used: _Used, analysts: dict[str, str]) -> Iterator[Finding]:
    names = {firing.row.analyst.casefold() for firing in used.members}
    if len(used.members) > 1 and len(names) == 1 and "" not in names and len(analysts) > 1:
        others = ", ".join(name for key, name in analysts.items() if key not in names)
        analyst = used.members[0].row.analyst
        yield used.finding("series-one-analyst", n=len(used.members), analyst=analyst, others=others)


def _trends(used: _Used) -> Iterator[Finding]:
    """Look for a slope against the rise and against the order of firing.

    Against the rise means against the rise that each charge gives at the mean heat capacity. The rise as read
    would not do: what is read too low makes the heat capacity too high, and of equal charges that alone is a slope.
    """
    values = used.values
    mean = statistics.mean(values)
    rises = [f.corrected_rise_K for f in used.members if f.corrected_rise_K is not None]
    if len(rises) != len(values):
        return
    expected = [value * rise / mean for value, rise in zip(values, rises, strict=True)]
    line = _significant(expected, values)
    low, high = min(expected), max(expected)
    if line is not None:
        percent = 100.0 * line.slope * (high - low) / mean
        if abs(percent) > reference.constant("series-trend-effect").value:
            yield used.finding(
                "series-trend-with-rise", change=f"{line.slope * (high - low):+.1f}", percent=f"{percent:+.2f}",
                low=f"{low:.2f}", high=f"{high:.2f}",
            )  # fmt: skip
    line = _significant([float(place) for place in range(len(values))], values)
    if line is not None:
        change = line.slope * (len(values) - 1)
        percent = 100.0 * change / mean
        yield used.finding("series-trend-with-order", change=f"{change:+.1f}", percent=f"{percent:+.2f}")


def _significant(x: Sequence[float], values: Sequence[float]) -> Trend | None:
    """Return the line through at least three points where its slope is more than their scatter, else None."""
    if len(x) < 3 or not _spread(x) or not _spread(values):
        return None
    line = trend(x, values)
    chance = quantiles.student_t_outside(abs(line.t), line.degrees_of_freedom)
    return line if chance < reference.constant("series-trend-risk").value / 100.0 else None


def _spread(values: Sequence[float]) -> bool:
    """Whether values differ by more than the rounding of binary fractions."""
    return statistics.value_range(values) > EQUALITY * max(abs(value) for value in values)


def _outlier(used: _Used, settings: Settings) -> Iterator[Finding]:
    """Look for a firing that stands apart by Grubbs' test and by more than one step of the reading explains."""
    values = used.values
    if len(values) < 3 or not _spread(values):
        return
    place, statistic = outliers.grubbs_statistic(values)
    risk = reference.constant("series-outlier-risk").value / 100.0
    if statistic <= outliers.grubbs_critical(len(values), risk):
        return
    firing, value = used.members[place], values[place]
    mean = statistics.mean([*values[:place], *values[place + 1 :]])
    step, rise = _reading_step(used, settings), firing.corrected_rise_K
    if step is not None and rise is not None and abs(value - mean) <= mean * step / rise * (1 + EQUALITY):
        return
    row = firing.row
    finding = row.place.finding(
        "series-outlier", "rise_K", firing=row.firing, apparatus=used.apparatus, value=f"{value:.1f}",
        others=len(values) - 1, mean=f"{mean:.1f}",
    )  # fmt: skip
    firing.attach([finding])
    yield finding


def _reading_step(used: _Used, settings: Settings) -> float | None:
    """Return the step (K) in which the rises of the series are read, or None where it cannot be known."""
    if settings.reading_resolution is not None:
        return settings.reading_resolution.value
    places = [f.row.rise_decimals for f in used.members if f.row.rise_decimals is not None]
    return 10.0 ** -max(places) if places else None


def _before(made: Sequence[Series], series: Series, *, later: bool = False) -> Series | None:
    """Return the measured series of the same apparatus dated last before this one, or one dated later."""
    others = [
        (other.date, place)
        for place, other in enumerate(made)
        if other.n is not None
        and other.heat_capacity_J_per_K is not None
        and (other.calorimeter, other.bomb) == (series.calorimeter, series.bomb)
        and other.date is not None
        and series.date is not None
        and (other.date > series.date if later else other.date < series.date)
    ]
    return made[max(others)[1]] if others else None


def _step(used: _Used, settings: Settings, made: Sequence[Series]) -> Iterator[Finding]:
    limit, series = settings.series_step_limit, used.series
    before = _before(made, series)
    if limit is None or before is None:
        return
    rises = [f.corrected_rise_K for f in used.members if f.corrected_rise_K is not None]
    rise = statistics.mean(rises)
    value, old = series.at_rise(rise), before.at_rise(rise)
    if value is None or not old:
        return
    relative = limit.family == "percentage"
    step = 100.0 * (value / old - 1.0) if relative else value - old
    if abs(step) <= limit.value * (1 + EQUALITY):
        return
    unit, digits = ("%", 2) if relative else ("J/K", 1)
    samples = dict.fromkeys(f.row.sample for f in used.resting if f.purpose is Purpose.SAMPLE)
    yield used.finding(
        "series-step", value=f"{value:.1f}", date=series.date, before=f"{old:.1f}", date_before=before.date,
        step=f"{step:+.{digits}f} {unit}", limit=f"{limit.value:g} {unit}",
        samples=", ".join(samples) or "no samples in this workbook",
    )  # fmt: skip


def _ending(series: Series, settings: Settings, today: dt.date | None) -> Iterator[Finding]:
    """Announce the end of a heat capacity in use while there is time to fire the next series."""
    expires = series.expires
    if series.state is not SeriesState.IN_FORCE or series.date is None or expires is None or today is None:
        return
    share = reference.constant("series-ending-share").value / 100.0
    left = (expires - today).days
    if (today - series.date).days <= share * (expires - series.date).days:
        return
    minimum = settings.series_minimum
    yield make(
        "series-ending", apparatus=series.apparatus, date=series.date, expires=expires,
        left="1 day" if left == 1 else f"{left} days",
        count="" if minimum is None else f" (at least {minimum.value:.0f} firings of benzoic acid)",
    )  # fmt: skip
