"""Heat capacities: the series of benzoic acid firings, their judgement, and which one is in force for a firing."""

import datetime as dt
from collections.abc import Iterable, Sequence

from dateutil.relativedelta import relativedelta
from msgspec import Struct
from msgspec.structs import replace

from batchcal import findings, reference
from batchcal.evaluate import fitting, unnamed, wording
from batchcal.evaluate.charge import EQUALITY
from batchcal.evaluate.firings import Firing
from batchcal.findings import Finding, Severity
from batchcal.formulas import statistics
from batchcal.formulas.trend import trend
from batchcal.items import SETUP_ITEMS_BY_KEY
from batchcal.model import HeatCapacityEntry, Quantity, Series, Settings, apparatus_name
from batchcal.terms import FiringState, HeatCapacityModel, Purpose, SeriesState

_PLACING = frozenset({"purpose", "series", "calorimeter", "bomb"})


class _Judged(Struct, frozen=True):
    """A series with what was found about it."""

    series: Series
    found: list[Finding]


def make_series(
    firings: Sequence[Firing], settings: Settings, today: dt.date | None
) -> tuple[list[Series], list[Finding]]:
    """Return every heat capacity of the workbook with its state as of ``today``, and what was found about them.

    The calibration firings are worked out already. One whose purpose, series or apparatus cannot be read may belong
    to any series, so it leaves each of them in doubt.
    """
    groups: dict[tuple[str, str, str], list[Firing]] = {}
    unplaced: list[Firing] = []
    apart = any(_on_calibration(firing) for firing in firings)
    for firing in firings:
        if firing.state is FiringState.EXCLUDED:
            continue
        if firing.row.unreadable & _PLACING and _may_calibrate(firing, apart):
            unplaced.append(firing)
        elif firing.purpose is Purpose.CALIBRATION:
            groups.setdefault((*firing.apparatus, firing.row.series), []).append(firing)
    made, found = [], []
    for (calorimeter, bomb, name), members in groups.items():
        if all(firing.state is FiringState.SET_ASIDE for firing in members):
            continue  # a series that is set aside as a whole is in force nowhere
        several = [] if name else _several(members, firings, settings)
        if several:
            finding = unnamed.finding((calorimeter, bomb), several)
            made += [_not_taken(group, (calorimeter, bomb), finding, settings) for group in several]
            found.append(finding)
            continue
        judged = _from_firings(calorimeter, bomb, name, [*members, *unplaced], settings)
        made.append(judged.series)
        found += judged.found
    measured = list(made)
    blank = {
        "calorimeter": not any(f.row.calorimeter for f in firings),
        "bomb": not any(f.row.bomb for f in firings),
    }
    for entry in settings.heat_capacities:
        judged = _from_setup(entry, measured, settings, blank)
        made.append(judged.series)
        found += judged.found
        twice = tuple(finding for finding in judged.found if finding.code == "heat-capacity-twice")
        made = [
            replace(other, findings=(*other.findings, *twice))
            if other in measured and _same_apparatus(other, judged.series)
            else other
            for other in made
        ]
    return [_with_state(series, made, settings, today) for series in made], found


def _may_calibrate(firing: Firing, apart: bool) -> bool:
    """Whether a firing is logged as one of a series or may be one; ``apart``: these stand on a sheet of their own."""
    if firing.purpose is Purpose.CALIBRATION or _on_calibration(firing):
        return True
    return not apart and "purpose" in firing.row.unreadable and not firing.row.sample


def _on_calibration(firing: Firing) -> bool:
    return firing.row.place.table.role == "calibration"


def _several(members: Sequence[Firing], firings: Sequence[Firing], settings: Settings) -> list[unnamed.Group]:
    """Return calibration firings without a Series in the groups that they seem to be, none where that is one."""
    used = _used(members)
    if any(firing.date is None for firing in used):
        return []
    enough = 1.0 if settings.series_minimum is None else settings.series_minimum.value
    groups = unnamed.groups(used, firings, enough)
    return groups if len(groups) > 1 else []


def _used(members: Sequence[Firing]) -> list[Firing]:
    return [firing for firing in members if firing.counts and firing.heat_capacity_J_per_K is not None]


def _not_taken(group: unnamed.Group, apparatus: tuple[str, str], finding: Finding, settings: Settings) -> Series:
    """Return a series without a heat capacity: that of a group which nobody has named."""
    date = group.members[-1].date
    names = wording.firings([firing.row.firing for firing in group.members])
    return Series(
        calorimeter=apparatus[0],
        bomb=apparatus[1],
        name="",
        heat_capacity_J_per_K=None,
        n=0,
        sd_J_per_K=None,
        rsd_percent=None,
        rise_range_K=None,
        date=date,
        expires=expiry(date, settings.heat_capacity_life),
        state=SeriesState.TOO_FEW,
        firings=(),
        source=f"{names}, not taken: Series is blank",
        findings=(finding,),
    )


def _from_firings(calorimeter: str, bomb: str, name: str, members: list[Firing], settings: Settings) -> _Judged:
    used = _used(members)
    values = [firing.heat_capacity_J_per_K for firing in used if firing.heat_capacity_J_per_K is not None]
    apparatus = apparatus_name(calorimeter, bomb) + (f", series {name}" if name else "")
    # A firing that could not be computed because of a typing question leaves the series incomplete.
    found: list[Finding] = []
    carried = [f for firing in members for f in firing.found if f.severity is Severity.BLOCK]
    mean = statistics.mean(values) if values else None
    sd = statistics.standard_deviation(values) if len(values) > 1 else None
    thetas = [firing.corrected_rise_K for firing in used if firing.corrected_rise_K is not None]
    slope = mean_rise = slope_sd = None
    if settings.heat_capacity_model is HeatCapacityModel.LINE and len(set(thetas)) > 2:
        line = trend(thetas, values)
        mean_rise, slope, sd, slope_sd = line.mean_x, line.slope, line.residual_sd, line.slope_sd
    rsd = 100.0 * sd / mean if sd is not None and mean else None
    found += _limits_missing(settings, apparatus, ("series_minimum", "series_rsd_limit", "heat_capacity_life"))
    minimum, limit = settings.series_minimum, settings.series_rsd_limit
    if minimum is not None and len(values) < minimum.value and not _stopped_alike(members):
        found.append(
            findings.make("series-too-few", apparatus=apparatus, n=len(values), minimum=f"{minimum.value:.0f}")
        )
    if limit is not None and rsd is not None and rsd > limit.value * (1 + EQUALITY):
        found.append(
            findings.make("series-too-scattered", apparatus=apparatus, rsd=f"{rsd:.3f}", limit=f"{limit.value:g}")
        )
    undated = [firing for firing in used if firing.date is None]
    if undated:
        found.append(without_date("series-undated", undated))
    # A series of which nothing could be computed still has its place in time.
    stopped = [firing for firing in members if firing.state is FiringState.NOT_COMPUTED]
    dates = [firing.date for firing in used or stopped if firing.date is not None]
    date = max(dates) if dates and not undated else None
    rises = [firing.rise_K for firing in used if firing.rise_K is not None]
    series = Series(
        calorimeter=calorimeter,
        bomb=bomb,
        name=name,
        heat_capacity_J_per_K=mean,
        n=len(values),
        sd_J_per_K=sd,
        rsd_percent=rsd,
        rise_range_K=(min(rises), max(rises)) if rises else None,
        date=date,
        expires=expiry(date, settings.heat_capacity_life),
        state=SeriesState.IN_FORCE,
        firings=tuple(firing.row.firing for firing in used),
        source=f"{len(values)} benzoic acid firings" + (f", series {name}" if name else ""),
        findings=tuple(dict.fromkeys([*carried, *found])),
        slope_J_per_K2=slope,
        mean_rise_K=mean_rise,
        slope_sd_J_per_K2=slope_sd,
    )
    return _Judged(series, found)


def _from_setup(
    entry: HeatCapacityEntry, measured: list[Series], settings: Settings, blank: dict[str, bool]
) -> _Judged:
    single = len(settings.heat_capacities) == 1
    # A lab with one apparatus may name it on Setup and leave the columns blank: there is nothing to confuse.
    calorimeter = "" if blank["calorimeter"] and single else entry.calorimeter
    bomb = "" if blank["bomb"] and single else entry.bomb
    apparatus = apparatus_name(entry.calorimeter, entry.bomb)
    found = _limits_missing(settings, apparatus, ("heat_capacity_life",))
    if not entry.complete:
        missing = " and no ".join(
            word
            for word, given in (("source", entry.quantity.source), ("date", entry.quantity.in_force_from))
            if not given
        )
        found.append(entry.place.finding("heat-capacity-incomplete", "value", apparatus=apparatus, missing=missing))
    beside = [series for series in measured if (series.calorimeter, series.bomb) == (calorimeter, bomb)]
    for series in beside:
        found.append(
            entry.place.finding(
                "heat-capacity-twice",
                "value",
                apparatus=apparatus,
                value=f"{entry.quantity.value:.1f}",
                series=f"{series.heat_capacity_J_per_K:.1f}" if series.heat_capacity_J_per_K else "not computed",
            )
        )
    found += _unusual(entry.quantity.value, apparatus)
    date = entry.quantity.in_force_from
    series = Series(
        calorimeter=calorimeter,
        bomb=bomb,
        name="Setup",
        heat_capacity_J_per_K=entry.quantity.value,
        n=None,
        sd_J_per_K=None,
        rsd_percent=None,
        rise_range_K=None,
        date=date,
        expires=expiry(date, settings.heat_capacity_life),
        state=SeriesState.IN_FORCE,
        firings=(),
        source=f"Setup: {entry.quantity.source}" if entry.quantity.source else "Setup, without source",
        findings=tuple(found),
    )
    return _Judged(series, found)


def _same_apparatus(one: Series, other: Series) -> bool:
    return (one.calorimeter, one.bomb) == (other.calorimeter, other.bomb)


def _stopped_alike(members: Sequence[Firing]) -> bool:
    """Whether one finding stopped every firing of a series: how few are left is then no news of its own."""
    taking_part = [firing for firing in members if firing.state is not FiringState.SET_ASIDE]
    if not taking_part or any(firing.state is not FiringState.NOT_COMPUTED for firing in taking_part):
        return False
    stops = [{finding for finding in firing.found if finding.severity.stops} for firing in taking_part]
    return bool(set.intersection(*stops))


def _limits_missing(settings: Settings, apparatus: str, keys: Iterable[str]) -> list[Finding]:
    missing = [SETUP_ITEMS_BY_KEY[key].name for key in keys if key not in settings.entries]
    if not missing:
        return []
    return [findings.make("series-limit-missing", items=", ".join(missing), apparatus=apparatus)]


def _unusual(value: float, apparatus: str) -> list[Finding]:
    low, high = reference.constant("heat-capacity-lowest").value, reference.constant("heat-capacity-highest").value
    if low <= value <= high:
        return []
    hint = fitting.hint(value, "J/K", "energy per kelvin", lambda other, _per: low <= other <= high)
    return [findings.make("heat-capacity-unusual", apparatus=apparatus, value=f"{value:.1f}", hint=hint)]


def expiry(date: dt.date | None, life: Quantity | None) -> dt.date | None:
    """Return the last day on which a heat capacity or a titrant's strength of ``date`` is in force."""
    if date is None or life is None:
        return None
    try:
        if life.unit == "months":
            whole = int(life.value)
            return date + relativedelta(months=whole, days=round((life.value - whole) * 30))
        return date + dt.timedelta(days=life.value)
    except (OverflowError, ValueError):
        return dt.date.max


def _with_state(series: Series, made: list[Series], settings: Settings, today: dt.date | None) -> Series:
    state = SeriesState.IN_FORCE
    minimum, limit = settings.series_minimum, settings.series_rsd_limit
    newer = [
        other.date
        for other in made
        if other.n is not None
        and _same_apparatus(other, series)
        and other.date is not None
        and series.date is not None
        and series.date < other.date <= (today or other.date)
    ]
    if newer or (series.expires is not None and today is not None and today > series.expires):
        state = SeriesState.EXPIRED
    elif series.heat_capacity_J_per_K is None or (
        series.n is not None and minimum is not None and series.n < minimum.value
    ):
        state = SeriesState.TOO_FEW
    elif limit is not None and series.rsd_percent is not None and series.rsd_percent > limit.value * (1 + EQUALITY):
        state = SeriesState.TOO_SCATTERED
    if not newer:
        return replace(series, state=state)
    replaced = min(newer)
    return replace(series, state=state, source=f"{series.source}; replaced on {replaced}", replaced_on=replaced)


def newest(firing: Firing, made: Sequence[Series]) -> Series | None:
    """Return the newest heat capacity of a firing's apparatus dated on or before it, even if it came to nothing.

    A series that could not be computed does not bring back an older one.
    """
    dated = [
        series
        for series in made
        if (series.calorimeter, series.bomb) == firing.apparatus
        and (series.date is None or firing.date is None or series.date <= firing.date)
    ]
    # A measured series goes before a Setup value; one without a date is never newer than one with a date.
    return max(dated, key=lambda s: (s.n is not None, s.date or dt.date.min), default=None)


def without_date(code: str, members: Sequence[Firing], hint: str = "") -> Finding:
    """Make one finding of firings without a date; where there is one only, it names that firing."""
    row, single = members[0].row, len(members) == 1
    return row.place.finding(
        code, "date", firing=row.firing if single else None, sample=row.sample if single else None,
        firings=wording.firings([firing.row.firing for firing in members]), have="has" if single else "have",
        rows=wording.rows([firing.row.place.row for firing in members]), hint=hint,
    )  # fmt: skip
