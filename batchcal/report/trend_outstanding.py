"""What stands out in the long run: the few lines that a manager should act on, the weightiest first."""

import math

from msgspec import Struct

from batchcal.history import CheckRun, Due, History, Pooled
from batchcal.report.words import NONE, counted, date, fixed, joined

SOON = 14
"""Days before the end of a heat capacity from which it is called ending; chosen here, no source."""

_RECENT = 31
"""Days back from the last of the records within which a pattern of checks is news; chosen here, no source."""


class Line(Struct, frozen=True):
    """One thing that stands out, with the word and shape of its weight."""

    kind: str
    word: str
    text: str


def outstanding(history: History) -> tuple[Line, ...]:
    """Return what a manager should look at, the weightiest first."""
    lines: list[Line] = []
    for due in history.due:
        lines += _of_due(due)
    for run in history.checks:
        lines += _of_checks(run, history)
    lines += _of_scatter(history)
    sign = history.first_against_second
    if sign is not None and sign.one_sided:
        low, high = sign.interval_J_per_g
        lines.append(
            Line(
                "review",
                "look",
                f"First firings run {fixed(abs(sign.mean_J_per_g), 1)} J/g "
                f"{'high' if sign.mean_J_per_g > 0 else 'low'} "
                f"against second ones (95 %: {fixed(low, 1, sign=True)} to {fixed(high, 1, sign=True)}, "
                f"{counted(sign.pairs, 'pair')}): warm-up, or a sample that dries while it waits?",
            )
        )
    if history.read.passed:
        lines.append(
            Line(
                "note",
                "files",
                f"{counted(len(history.read.passed), 'results file')} passed over; their days are missing here. They "
                "are named under Record.",
            )
        )
    return tuple(sorted(lines, key=lambda line: ("hold", "review", "note").index(line.kind)))


def _of_scatter(history: History) -> list[Line]:
    """Return the groups whose pairs scatter more than the limit supposes; analysts are on the page only as a table."""
    groups = [] if history.pooled is None else [("all pairs", history.pooled)]
    groups += [(group.name, group) for group in (*history.by_fuel_class, *history.by_apparatus)]
    lines = []
    above = [
        f"{name} {fixed(group.limit_found_J_per_g, 0)} ({fixed(low, 0)} to {fixed(high, 0)}), limit {limits(group)}"
        for name, group in groups
        if group.verdict == "above"
        for low, high in [group.interval_J_per_g or (math.nan, math.nan)]
    ]
    if above:
        text = (
            f"The pairs bear out a repeatability limit above the one in force, in J/g with its 95 % range: "
            f"{'; '.join(above)}. Look at pellets, mixing, stirrer and titration before blaming the samples."
        )
        lines.append(Line("review", "scatter", text))
    many = [
        f"{name} {group.beyond} of {group.judged}"
        for name, group in groups
        if group.too_many_beyond and group.verdict != "above"
    ]
    if many:
        text = f"More first pairs lie beyond the limit than chance alone gives once in 20 times: {'; '.join(many)}."
        lines.append(Line("review", "scatter", text))
    return lines


def _of_due(due: Due) -> list[Line]:
    days, series = due.days_left, due.series
    if days is None or days > SOON:
        return []
    name = capital(due.apparatus.name)
    if days < 0:
        text = f"{name}: the heat capacity of {date(series.date)} ended on {date(series.expires)}."
        return [Line("hold", "over", f"{text} Fire a new series before the next sample.")]
    text = f"{name}: the heat capacity of {date(series.date)} ends on {date(series.expires)}, {counted(days, 'day')}"
    return [Line("review", "ending", f"{text} after the last day of these records. Plan a new series.")]


def _of_checks(run: CheckRun, history: History) -> list[Line]:
    lines, name = [], capital(run.apparatus.name)
    newest = run.points[-1]
    if newest.verdict == "out":
        lines.append(
            Line(
                "hold",
                "out",
                f"{name}: the newest check ({date(newest.date)}, firing {newest.firing}) is beyond its limit, "
                f"{fixed(newest.off_percent, 2, sign=True)} %.",
            )
        )
    drift = run.drift
    if drift is not None:
        lines.append(
            Line(
                "hold" if drift.lasting else "review",
                "drift",
                f"{name}: the running sum of the checks first signals on {date(drift.date)} (firing {drift.firing}): a "
                f"slow bias of about {fixed(drift.mean_off_percent, 2, sign=True)} % since {date(drift.since)}"
                + (", and it stands beyond its interval now" if drift.lasting else ", and it has gone back since")
                + ". Compare conditions with the calibration; plan a new series.",
            )
        )
    recent = [
        pattern.rule
        for pattern in run.patterns
        if (history.last - pattern.last).days <= _RECENT and pattern.rule != "one value beyond 3 SD"
    ]
    if recent:
        lines.append(
            Line("review", "pattern", f"{name}: in the last {_RECENT} days of the records the checks make a pattern "
                 f"({joined(recent)}). Look at what changed.")
        )  # fmt: skip
    return lines


def limits(group: Pooled) -> str:
    """Return the limit in force for a group, or the smallest and the largest."""
    if group.limits_J_per_g is None:
        return NONE
    low, high = (fixed(limit, 0) for limit in group.limits_J_per_g)
    return low if low == high else f"{low} to {high}"


def capital(text: str) -> str:
    """Return ``text`` with a capital at its start."""
    return text[:1].upper() + text[1:]
