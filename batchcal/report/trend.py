"""The long-run page: the figures of many days put into words, rows and charts, and rendered."""

from collections.abc import Sequence

from msgspec import Struct

import batchcal
from batchcal.findings import CAUTION
from batchcal.history import CheckRun, Count, Due, History, Passed, Pooled, Quartiles, Span
from batchcal.report import trend_charts
from batchcal.report.charts import expected_half
from batchcal.report.environment import environment
from batchcal.report.trend_charts import IntervalBar, TimeChart
from batchcal.report.trend_outstanding import SOON, Line, capital, limits, outstanding
from batchcal.report.words import NONE, aligned, counted, date, fixed, joined

_MANY = 20
"""First pairs, and checks, up to which the page says that there are few; chosen here, no source."""

_SERIES = 6
"""Heat capacities of one apparatus in the table; the workbook has all."""

_SHOWN = 12
"""Files named on the page, of those passed over and of copies; the workbook has all."""


class Row(Struct, frozen=True):
    """One row of a table in words: its name and its cells; ``kind`` chooses the shape beside the verdict."""

    name: str
    cells: tuple[str, ...]
    kind: str = ""
    word: str = ""
    bar: IntervalBar | None = None


class Group(Struct, frozen=True):
    """The table of pooled repeatability by one kind of group."""

    key: str
    title: str
    first: str
    rows: tuple[Row, ...]


class Matrix(Struct, frozen=True):
    """Counts by kind and stretch of the calendar; ``words`` explains a kind."""

    spans: tuple[str, ...]
    rows: tuple[Row, ...]


class TrendView(Struct, frozen=True):
    """Everything that the long-run page shows, in words."""

    title: str
    laboratory: str
    facts: tuple[tuple[str, str], ...]
    caution: str
    outstanding: tuple[Line, ...]
    little: str
    """Said where there is too little for much to stand out, else ""."""
    capacity_charts: tuple[TimeChart, ...]
    series: tuple[Row, ...]
    due: tuple[Row, ...]
    check_charts: tuple[TimeChart, ...]
    checks: tuple[Row, ...]
    patterns: tuple[str, ...]
    ratio: TimeChart | None
    quartiles: tuple[Row, ...]
    pairs_note: tuple[str, ...]
    groups: tuple[Group, ...]
    events: Matrix
    findings: Matrix
    unseen: tuple[str, ...]
    passed: tuple[Passed, ...]
    once: tuple[Passed, ...]
    record: tuple[tuple[str, str], ...]
    version: str


def trend_page(history: History, workbook: str) -> str:
    """Return the long-run page as HTML; ``workbook`` names the file with the tables behind it."""
    return (
        environment()
        .get_template("trend.html.j2")
        .render(page=trend_view(history), workbook=workbook, shown=_SHOWN, not_computed=NONE)
    )


def trend_view(history: History) -> TrendView:
    """Return the long run in words."""
    read = history.read
    capacities = [
        trend_charts.capacity_chart(run, f"capacity-{number}") for number, run in enumerate(history.capacities, 1)
    ]
    return TrendView(
        title=f"The long run, {date(history.first)} to {date(history.last)}",
        laboratory=" · ".join(history.laboratories),
        facts=(
            ("Days and workbooks", str(len(read.counted))),
            ("Firings", str(history.firings)),
            ("Samples fired", str(history.samples)),
            ("First pairs", str(len(history.pairs))),
            ("Check firings", str(sum(len(run.points) for run in history.checks))),
            ("Passed over", counted(len(read.passed), "file")),
        ),
        caution=_CAUTION + CAUTION,
        outstanding=outstanding(history),
        little=_little(history),
        capacity_charts=tuple(chart for chart in capacities if chart is not None),
        series=_series(history),
        due=tuple(_due(due) for due in history.due),
        check_charts=tuple(
            trend_charts.check_chart(run, f"checks-{number}") for number, run in enumerate(history.checks, 1)
        ),
        checks=_checks(history.checks),
        patterns=tuple(_patterns(run) for run in history.checks),
        ratio=trend_charts.ratio_chart(history.pairs, history.quartiles),
        quartiles=_quartiles(history.quartiles),
        pairs_note=tuple(_pairs_note(history)),
        groups=tuple(
            Group(key, title, first, _pooled(rows))
            for key, title, first, rows in (
                ("all", "All pairs", "Pairs", () if history.pooled is None else (history.pooled,)),
                ("class", "By fuel class", "Fuel class", history.by_fuel_class),
                ("apparatus", "By calorimeter and bomb", "Apparatus", history.by_apparatus),
                ("analyst", "By analyst", "Analyst", history.by_analyst),
            )
            if rows
        ),
        events=_matrix(history.events, history.spans, _EVENTS),
        findings=_matrix(history.findings, history.spans, {}),
        unseen=_UNSEEN,
        passed=read.passed,
        once=read.once,
        record=_record(history),
        version=f"batchcal {batchcal.__version__}",
    )


_CAUTION = (
    "This page looks back at typed numbers. It does not see the state of a bomb, a valve or a seal and never calls "
    "equipment safe; misfires, leaks and incomplete burns are counted, not explained. "
)

_UNSEEN = (
    "An error that both firings of a pair share (the wrong bag, the moisture, the heat capacity, the thermometer) "
    "leaves no trace in their difference, however long the run.",
    "Checks with the benzoic acid of the calibration show that the apparatus has stayed as it was, not that its values "
    "are true; for that, fire a control material of another kind or take part in proficiency tests.",
    "Days whose results files are not in these folders, firings that were never logged, and firings set aside for a "
    "reason that was none.",
    "Who weighed and who titrated: a pair goes to the analyst of its firings, or to the one on Setup where the row is "
    "blank. Groups differ in fuel and in apparatus as well, so that a difference between two of them has more than one "
    "possible cause. With few pairs the intervals are wide: read them, not the order of the figures.",
    "Turn-round, proficiency scores, due dates of balances and thermometers, consumption, signatures: no results file "
    "holds them.",
)

_EVENTS = {
    "misfire": "Misfire",
    "incomplete": "Incomplete burn",
    "leak": "Leak",
    "spoiled": "Spoiled in handling",
    "lost": "Reading lost",
    "typing": "Typing: a figure that cannot be read or trusted",
    "not computed": "Not computed for another reason",
    "set aside": "Set aside with a reason",
    "scatter": "Scatter: first pair beyond its limit (pairs)",
    "third firing": "Fired more than twice (samples)",
}


def _little(history: History) -> str:
    checks = sum(len(run.points) for run in history.checks)
    if len(history.pairs) >= _MANY and (checks >= _MANY or not checks) and history.first != history.last:
        return ""
    days = len({day for _, _, day in history.read.counted})
    return (
        f"These records are short: {counted(days, 'day')}, {counted(len(history.pairs), 'first pair')}, "
        f"{counted(checks, 'check firing')}. Little can stand out of so few, and the intervals are wide."
    )


def _series(history: History) -> tuple[Row, ...]:
    rows = []
    for run in history.capacities:
        for one in reversed(run.series[-_SERIES:]):
            percent = None
            if one.change_J_per_K is not None and one.heat_capacity_J_per_K != one.change_J_per_K:
                percent = 100.0 * one.change_J_per_K / (one.heat_capacity_J_per_K - one.change_J_per_K)
            rows.append(
                Row(
                    run.apparatus.name + (f", series {one.name}" if one.name else ""),
                    (
                        date(one.date),
                        fixed(one.heat_capacity_J_per_K, 1),
                        "Setup" if one.n is None else str(one.n),
                        fixed(one.sd_J_per_K, 1),
                        fixed(one.change_J_per_K, 1, sign=True),
                        fixed(percent, 3, sign=True),
                        date(one.expires),
                        one.state or NONE,
                    ),
                )
            )
    return tuple(rows)


def _due(due: Due) -> Row:
    days = due.days_left
    if days is None:
        kind, word, left = "wait", "not known", "no end of life in the results files"
    elif days < 0:
        kind, word, left = "hold", "over", f"{counted(-days, 'day')} over"
    elif days <= SOON:
        kind, word, left = "review", "ending", counted(days, "day")
    else:
        kind, word, left = "ready", "in force", counted(days, "day")
    series = due.series
    name = due.apparatus.name + (f", series {series.name}" if series.name else "")
    return Row(
        name, (fixed(series.heat_capacity_J_per_K, 1), date(series.date), date(series.expires), left), kind, word
    )


def _checks(runs: Sequence[CheckRun]) -> tuple[Row, ...]:
    rows = []
    for run in runs:
        verdicts = [point.verdict for point in run.points]
        judged = sum(verdict != "not judged" for verdict in verdicts)
        rows.append(
            Row(
                run.apparatus.name,
                (
                    str(len(run.points)),
                    fixed(100 + run.mean_off_percent, 3),
                    fixed(run.found_sd_percent, 3),
                    fixed(run.sd_percent, 3),
                    fixed(run.action_percent, 2),
                    f"{verdicts.count('warning')}" if judged else NONE,
                    f"{verdicts.count('out')}" if judged else NONE,
                    NONE if run.sd_percent is None else "none" if run.drift is None else date(run.drift.date),
                ),
            )
        )
    return tuple(rows)


def _patterns(run: CheckRun) -> str:
    name = capital(run.apparatus.name)
    if run.sd_percent is None:
        return (
            f"{name}: no check limit and no standard deviation of checks is on Setup, and fewer than ten checks bear "
            "none out: patterns and running sum are not judged."
        )
    parts = [f"{name}: judged by a standard deviation of {fixed(run.sd_percent, 3)} % ({run.sd_source})."]
    if run.patterns:
        told = joined(f"{p.rule}: {counted(p.times, 'time')}, last on {date(p.last)}" for p in run.patterns)
        parts.append(
            f"Patterns: {told}. Chance alone makes about {fixed(run.false_patterns, 1)} among as many checks in order."
        )
    else:
        parts.append("No pattern among the four run rules.")
    if run.found_sd_percent is None:
        parts.append("With fewer than ten checks no standard deviation is worked out from them.")
    return " ".join(parts)


def _quartiles(parts: Sequence[Quartiles]) -> tuple[Row, ...]:
    rows = [
        Row(
            part.span.name if part.span else "All",
            (str(part.n), fixed(part.quarter, 2), fixed(part.median, 2), fixed(part.three_quarters, 2),
             str(part.beyond), f"{fixed(100 * part.beyond / part.n, 1)} %"),
        )
        for part in parts
    ]  # fmt: skip
    low, high = expected_half()
    expected = (NONE, fixed(low, 2), fixed(trend_charts.expected_median(), 2), fixed(high, 2), NONE, "5.0 %")
    return (*rows, Row("Expected", expected)) if rows else ()


def _pairs_note(history: History) -> list[str]:
    notes = []
    without = sum(pair.limit_J_per_g is None for pair in history.pairs)
    if without:
        notes.append(f"{counted(without, 'pair')} without a repeatability limit: in no ratio.")
    if history.read.unpaired:
        notes.append(
            f"{counted(history.read.unpaired, 'sample')} without two firings worked out on the comparison basis in one "
            "workbook: in no pair."
        )
    sign = history.first_against_second
    if sign is not None:
        low, high = (fixed(end, 1, sign=True) for end in sign.interval_J_per_g)
        notes.append(
            f"First less second firing: {fixed(sign.mean_J_per_g, 1, sign=True)} J/g on average of "
            f"{counted(sign.pairs, 'pair')} (95 %: {low} to {high})."
        )
    return notes


_VERDICTS = {
    "within": ("ready", "within"),
    "above": ("review", "above"),
    "not clear": ("wait", "not clear"),
    "too few": ("wait", "too few"),
    "no limit": ("note", "no limit"),
}


def _pooled(groups: Sequence[Pooled]) -> tuple[Row, ...]:
    found = aligned([fixed(group.limit_found_J_per_g, 1) for group in groups])
    rows = []
    for group, text in zip(groups, found, strict=True):
        interval = group.interval_J_per_g
        kind, word = _VERDICTS[group.verdict]
        rows.append(
            Row(
                "All pairs" if group.name == "all" else capital(group.name),
                (
                    str(group.pairs),
                    fixed(group.sd_J_per_g, 1),
                    text,
                    "too few" if interval is None else f"{fixed(interval[0], 0)} to {fixed(interval[1], 0)}",
                    limits(group),
                    NONE
                    if not group.judged
                    else f"{group.beyond} of {group.judged}" + (", too many" if group.too_many_beyond else ""),
                ),
                kind,
                word,
                trend_charts.interval_bar(group),
            )
        )
    return tuple(rows)


def _matrix(counts: Sequence[Count], spans: Sequence[Span], names: dict[str, str]) -> Matrix:
    return Matrix(
        tuple(span.name for span in spans),
        tuple(
            Row(
                names.get(count.key, count.key),
                (*(str(number) if number else "·" for number in count.by_span), str(count.total)),
                count.severity,
                count.severity,
            )
            for count in counts
            if count.total
        ),
    )


def _record(history: History) -> tuple[tuple[str, str], ...]:
    read = history.read
    rows = [
        ("Made by", f"batchcal {batchcal.__version__}"),
        ("Methods", joined(history.methods) or "none named"),
        ("Results files counted", f"{len(read.counted)}: {read.counted[0][0]} to {read.counted[-1][0]}"
         if read.counted else "0"),
        ("Counted once", f"{counted(len(read.once), 'file')} of a day that another file holds; "
         f"{counted(read.carried, 'firing')} that stand again in a later file, as a calibration carried along does"),
    ]  # fmt: skip
    if read.undated:
        rows.append(("Without a date", f"{counted(read.undated, 'firing')}, left out"))
    if read.outside:
        rows.append(("Outside the days asked for", f"{counted(read.outside, 'firing')}, left out"))
    return tuple(rows)
