"""Which heat capacity is in force for a firing, and what is said of the firings that have none or an old one."""

import datetime as dt
from collections.abc import Sequence

from batchcal import findings
from batchcal.evaluate import wording
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.series import newest, without_date
from batchcal.findings import Finding
from batchcal.model import Series, apparatus_name
from batchcal.terms import FiringState


def put_in_force(
    firings: Sequence[Firing],
    made: Sequence[Series],
    batch_date: dt.date | None = None,
) -> list[Finding]:
    """Give every check and sample firing the heat capacity in force on its day; returns the findings made.

    That is the newest series of its calorimeter and bomb dated on or before the firing. A measured series
    goes before a Setup value; what was found about the series makes the firing provisional. ``batch_date`` is that
    of Setup, for the wording.
    """
    undated: dict[tuple[str, bool], list[Firing]] = {}
    homeless: dict[tuple[str, str], list[Firing]] = {}
    expired: dict[int, list[Firing]] = {}
    known: dict[tuple[tuple[str, str], dt.date | None], Series | None] = {}
    for firing in firings:
        if (key := (firing.apparatus, firing.date)) not in known:
            known[key] = newest(firing, made)
        series = known[key]
        if firing.state is FiringState.SET_ASIDE:  # takes no part, so nothing is said of it
            firing.series = series
            firing.heat_capacity_J_per_K = series.heat_capacity_J_per_K if series else None
            continue
        if not firing.computable:
            continue
        if firing.date is None:
            place = firing.row.place
            undated.setdefault((place.sheet, place.table.role == "calibration"), []).append(firing)
            continue
        if series is None:
            homeless.setdefault(firing.apparatus, []).append(firing)
            continue
        _use(firing, series)
        if firing.series is not None and series.expires is not None and firing.date > series.expires:
            expired.setdefault(made.index(series), []).append(firing)
    return [
        *(_undated(members, on_calibration, batch_date) for (_, on_calibration), members in undated.items()),
        *(_homeless(apparatus, members, made) for apparatus, members in homeless.items()),
        *(_expired(made[index], members) for index, members in expired.items()),
    ]


def _use(firing: Firing, series: Series) -> None:
    """Give a firing its heat capacity with what was found about it; one that came to nothing stops the firing."""
    stops = [finding for finding in series.findings if finding.severity.stops]
    if series.heat_capacity_J_per_K is None:
        firing.stop(*stops)
        return
    firing.series, firing.heat_capacity_J_per_K = series, series.heat_capacity_J_per_K
    if stops:
        firing.make_provisional(stops)


def _undated(members: Sequence[Firing], on_calibration: bool, batch_date: dt.date | None) -> Finding:
    if on_calibration:
        hint = "; the Batch date stands in on Runs only"
    elif batch_date is None:
        hint = " and Setup has no Batch date"
    else:
        hint = f"; other rows name other days than the Batch date, {batch_date}, so it does not stand in"
    finding = without_date("date-missing", members, hint=hint)
    for firing in members:
        firing.stop(finding)
    return finding


def _expired(series: Series, members: Sequence[Firing]) -> Finding:
    dates = sorted({firing.date for firing in members if firing.date is not None})
    finding = findings.make(
        "series-expired",
        apparatus=series.apparatus,
        date=series.date,
        expires=series.expires,
        used=wording.listed([str(date) for date in dates]),
    )
    for firing in members:
        firing.make_provisional([finding])
    return finding


def _homeless(apparatus: tuple[str, str], members: Sequence[Firing], made: Sequence[Series]) -> Finding:
    dates = sorted({firing.date for firing in members if firing.date is not None})
    later = [series.date for series in made if (series.calorimeter, series.bomb) == apparatus and series.date]
    finding = findings.make(
        "heat-capacity-missing",
        apparatus=apparatus_name(*apparatus),
        dates=wording.listed([str(date) for date in dates]),
        firings=wording.firings([firing.row.firing for firing in members]),
        earliest=f"; the first is dated {min(later)}" if later else "",
    )
    for firing in members:
        firing.stop(finding)
    return finding


def beyond(firings: Sequence[Firing]) -> list[Finding]:
    """Return a finding for each firing whose rise lies outside the rises of the line that it used."""
    found = []
    for firing in firings:
        used = firing.series
        if used is None or used.slope_J_per_K2 is None or used.rise_range_K is None or firing.rise_K is None:
            continue
        low, high = used.rise_range_K
        if firing.counts and not low <= firing.rise_K <= high:
            row = firing.row
            finding = row.place.finding(
                "rise-beyond-series", "rise_K", firing=row.firing, sample=row.sample,
                rise=f"{firing.rise_K:.3f}", low=f"{low:.3f}", high=f"{high:.3f}",
            )  # fmt: skip
            firing.attach([finding])
            found.append(finding)
    return found
