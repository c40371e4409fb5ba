"""The figures of the long run: everything that the page and the workbook show, worked out from the records."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Sequence

from batchcal.findings import CATALOGUE, Severity
from batchcal.history import Apparatus, Count, Due, History, Pair, Passed, Pooled, Read, Span
from batchcal.terms import Outcome
from batchcal.trend import apparatus, pairs
from batchcal.trend.gather import TWO, Gathered, each_day_once, gather
from batchcal.trend.read import Day, Firing

MOST_SPANS = 12
"""Columns that a table of counts has at most: months, else quarters, else years."""

TYPING = frozenset(
    kind.code for kind in CATALOGUE.values() if kind.severity is Severity.BLOCK and kind.group in ("Reading", "Slips")
)
"""Findings of figures that were typed wrongly or cannot be read."""

NOT_STATED = "not stated"


def history(
    days: Sequence[Day], passed: Sequence[Passed], since: dt.date | None = None, until: dt.date | None = None
) -> History | None:
    """Return the long run of the days, or None where no firing with a date is left to count.

    ``passed`` are the files that could not be read; ``since`` and ``until`` are the first and the last day to count.
    """
    counted, once = each_day_once(days)
    found = gather(counted, since, until)
    dates = {date for fired in found.by_purpose.values() for _, _, date in fired}
    if not dates:
        return None
    first, last = min(dates), max(dates)
    days_used = _within(counted, since, until)
    stretches = spans(first, last)
    scatter = [pairs.scatter(pair) for pair in found.pairs]
    codes = analyst_codes({pair.analyst for pair in found.pairs})
    capacities = apparatus.capacity_runs(days_used, found.by_purpose.get("calibration", ()), last)
    return History(
        laboratories=_names(day.laboratory for day in days_used),
        methods=_names(day.method for day in days_used),
        first=first,
        last=last,
        read=Read(
            counted=tuple((day.file, day.workbook, day.date) for day in days_used),
            passed=tuple(sorted(passed, key=lambda entry: entry.file)),
            once=tuple(once),
            carried=found.carried,
            undated=found.undated,
            outside=found.outside,
            unpaired=found.unpaired,
        ),
        firings=sum(map(len, found.by_purpose.values())),
        samples=found.samples,
        spans=stretches,
        capacities=capacities,
        due=tuple(
            Due(run.apparatus, newest, None if newest.expires is None else (newest.expires - last).days)
            for run in capacities
            for newest in run.series[-1:]
        ),
        checks=apparatus.check_runs(found.by_purpose.get("check", ())),
        pairs=tuple(found.pairs),
        quartiles=pairs.quartiles(found.pairs, stretches),
        first_against_second=pairs.first_against_second(found.pairs),
        pooled=pairs.pooled("all", scatter),
        by_fuel_class=_grouped(scatter, _fuel_classes(found.pairs)),
        by_apparatus=_grouped(scatter, _apparatus(found.pairs)),
        by_analyst=_grouped(scatter, [codes[pair.analyst] for pair in found.pairs]),
        analyst_codes={name: code for name, code in codes.items() if name not in ("", TWO)},
        events=_events(found, stretches),
        findings=_findings(days_used, stretches),
    )


def _within(days: Sequence[Day], since: dt.date | None, until: dt.date | None) -> list[Day]:
    """Return the days of which something was asked for; one without any date is never left out by a date."""
    return [
        day for day in days if day.date is None or not ((since and day.date < since) or (until and day.date > until))
    ]


def _names(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted({text for text in texts if text}))


def spans(first: dt.date, last: dt.date) -> tuple[Span, ...]:
    """Return the stretches of the calendar that the run is told by: months, else quarters, else years."""
    for months in (1, 3, 12):
        start = first.year * 12 + (first.month - 1) // months * months
        starts = range(start, last.year * 12 + last.month, months)
        if len(starts) <= MOST_SPANS or months == 12:
            return tuple(
                Span(_span_name(at, months), _month(at), _month(at + months) - dt.timedelta(1)) for at in starts
            )
    return ()


def _month(count: int) -> dt.date:
    return dt.date(count // 12, count % 12 + 1, 1)


def _span_name(start: int, months: int) -> str:
    year, month = divmod(start, 12)
    if months == 1:
        return f"{year}-{month + 1:02}"
    return f"{year} Q{month // 3 + 1}" if months == 3 else str(year)


def analyst_codes(analysts: Iterable[str]) -> dict[str, str]:
    """Return a code for each analyst, numbered in the alphabetical order of what was logged, never by figures."""
    names = sorted({name for name in analysts if name and name != TWO}, key=lambda name: (name.casefold(), name))
    width = len(str(len(names)))
    codes = {name: f"Analyst {number:0{width}}" for number, name in enumerate(names, 1)}
    return {**codes, "": NOT_STATED, TWO: "two analysts"}


def _fuel_classes(found: Sequence[Pair]) -> list[str]:
    """Return how the fuel class of each pair is named: one spelling for those that differ in capitals only."""
    first: dict[str, str] = {}
    spelt = {
        logged: first.setdefault(" ".join(logged.split()).casefold(), logged) or NOT_STATED
        for logged in dict.fromkeys(pair.fuel_class for pair in found)
    }
    return [spelt[pair.fuel_class] for pair in found]


def _apparatus(found: Sequence[Pair]) -> list[str]:
    """Return how the apparatus of each pair is named."""
    names: dict[tuple[str, str], str] = {}
    for both in {(pair.calorimeter, pair.bomb) for pair in found}:
        names[both] = "two bombs or calorimeters" if TWO in both else Apparatus(*both).name
    return [names[pair.calorimeter, pair.bomb] for pair in found]


def _grouped(scatter: Sequence[pairs.Scatter], names: Sequence[str]) -> tuple[Pooled, ...]:
    groups: dict[str, list[pairs.Scatter]] = {}
    for one, name in zip(scatter, names, strict=True):
        groups.setdefault(name, []).append(one)
    made = (pairs.pooled(group, groups[group]) for group in sorted(groups, key=lambda text: (text.casefold(), text)))
    return tuple(group for group in made if group is not None)


def _events(found: Gathered, stretches: Sequence[Span]) -> tuple[Count, ...]:
    """Count what costs firings again: those that failed, figures typed wrongly, and pairs that scattered."""
    events: dict[str, list[dt.date]] = {outcome: [] for outcome in Outcome if outcome is not Outcome.GOOD}
    events |= {name: [] for name in ("typing", "not computed", "set aside", "scatter", "third firing")}
    for firing, _, date in found.failed:
        name = _fate(firing)
        if name:
            events[name].append(date)
    events["scatter"] = [pair.date for pair in found.pairs if pair.beyond]
    events["third firing"] = found.third_firings
    return tuple(Count(name, len(dates), _by_span(dates, stretches)) for name, dates in events.items())


def _fate(firing: Firing) -> str:
    if firing.outcome not in ("", Outcome.GOOD):
        return firing.outcome if firing.outcome in set(Outcome) else "not computed"
    if firing.state == "set aside":
        return "set aside"
    if firing.state == "not computed":
        return "typing" if TYPING.intersection(firing.findings) else "not computed"
    return ""


def _findings(days: Sequence[Day], stretches: Sequence[Span]) -> tuple[Count, ...]:
    """Count findings by code, the most severe first, then the most frequent; each day by its own date."""
    dates: dict[str, list[dt.date]] = {}
    totals: Counter[str] = Counter()
    severities: dict[str, str] = {}
    for day in days:
        for code, severity in day.findings:
            totals[code] += 1
            if severities.get(code) != severity:
                severities[code] = min((severities.get(code, severity), severity), key=_rank)
            if day.date is not None:
                dates.setdefault(code, []).append(day.date)
    order = sorted(totals, key=lambda code: (_rank(severities[code]), -totals[code], code))
    return tuple(
        Count(code, totals[code], _by_span(dates.get(code, []), stretches), severities[code]) for code in order
    )


_RANKS = {str(severity): severity.rank for severity in Severity}


def _rank(severity: str) -> int:
    return _RANKS.get(severity, len(_RANKS))


def _by_span(dates: Iterable[dt.date], stretches: Sequence[Span]) -> tuple[int, ...]:
    """Return how many of the dates fall into each stretch."""
    starts: dict[dt.date, int] = {}
    for place, span in enumerate(stretches):
        at = span.start
        while at <= span.end:
            starts[at] = place
            at = _month(at.year * 12 + at.month)
    counts: Counter[int | None] = Counter()
    for date, times in Counter(dates).items():
        counts[starts.get(date.replace(day=1))] += times
    return tuple(counts[place] for place in range(len(stretches)))
