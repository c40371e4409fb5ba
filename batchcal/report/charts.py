"""Geometry of the charts: from results to positions in the drawing, so that the templates only place them.

Positions are in the units of each drawing's view box, x to the right and y downwards, rounded to a tenth. Every
chart carries its limit or reference as a line with the words that belong to it.
"""

import datetime as dt
import math
from collections.abc import Sequence
from statistics import NormalDist

from msgspec.structs import replace

from batchcal.model import Evaluation, FiringResult, SampleResult, Series
from batchcal.report.drawings import Bar, Column, ColumnChart, DotChart, Frame, Mark, Panel, RatioChart, Rule, Tick
from batchcal.report.words import Name, against, counted, date, fixed, joined, place, rows
from batchcal.terms import AcidScheme, FiringState, Purpose

WIDTH = 240.0
"""Width of a chart: a third of an A4 side, where its type is set in 10.5 of these units to print 7 pt."""

ROW = 13.0
LABEL_GAP = 11.5
LABEL_WIDTH = 32.0
LABEL = 10
"""Longest label of a firing, in characters."""
UPRIGHT = 11.0
"""Room that a label needs across, when it is turned upwards."""
DIGIT = 6.0
"""Width of a digit in the chart's type, for leaving out labels that would touch."""
DAY_WIDTH = 62.0
"""Room that a date needs."""
BETWEEN = 12.0
"""Room between two drawings on the same lines."""
RULE_WORDS = 74.0
"""Room for the words of the horizontal lines, right of the drawing."""

BAR_WIDTH = 108.0
BAR_LIMIT = 72.0
"""Where the limit line of a difference bar stands; a bar ends at one and a half times the limit."""


MOST_POINTS = 40
"""Results that a chart holds at the most: the last ones, with their number said."""


def _last(count: int) -> str:
    """Return how many of the results are drawn, where not all are."""
    return f" The last {MOST_POINTS} of {count}." if count > MOST_POINTS else ""


def difference_bar(sample: SampleResult) -> Bar | None:
    """Return the bar of a sample's range against its limit, or None where the two are not both known."""
    difference, limit = sample.range_J_per_g, sample.limit_J_per_g
    if difference is None or limit is None or limit <= 0:
        return None
    ratio = difference / limit
    texts = against(difference, limit)
    beyond = _beyond(difference, limit)
    relation = "beyond" if beyond else "within"
    return Bar(
        length=position(min(ratio * BAR_LIMIT, BAR_WIDTH)),
        limit=BAR_LIMIT,
        width=BAR_WIDTH,
        beyond=beyond,
        cut=ratio * BAR_LIMIT > BAR_WIDTH,
        words=f"Difference {texts[0]} J/g, {relation} the limit of {texts[1]} J/g",
    )


def ratio_chart(samples: Sequence[SampleResult]) -> RatioChart | None:
    """Return the chart of difference over limit, or None where no sample was compared."""
    compared = [
        (sample, sample.range_J_per_g, sample.limit_J_per_g)
        for sample in samples
        if sample.range_J_per_g is not None and sample.limit_J_per_g is not None and sample.limit_J_per_g > 0
    ]
    if not compared:
        return None
    longest = max(difference / limit for _, difference, limit in compared)
    highest = min(max(1.25, longest * 1.12), 2.5)
    frame = Frame(WIDTH, 24 + ROW * len(compared) + 18, 84, WIDTH - 34, 24, 24 + ROW * len(compared))
    scale = (frame.right - frame.left) / highest

    def x(ratio: float) -> float:
        return position(frame.left + scale * min(ratio, highest))

    marks = []
    for index, (sample, difference, limit) in enumerate(compared):
        ratio = difference / limit
        beyond = _beyond(difference, limit)
        # Words stand right of the mark. Where the limit line would run through them they stand left of it, or beyond
        # the line if the sample's number stands there.
        struck = 0 < x(1.0) - x(ratio) < LABEL_WIDTH
        left_of = struck and x(ratio) - frame.left >= LABEL_WIDTH
        text_x = x(ratio) - 7 if left_of else x(1.0) + 5 if struck else x(ratio) + 7
        marks.append(
            Mark(
                x=x(ratio),
                y=position(frame.top + ROW * (index + 0.5)),
                kind="beyond" if beyond else "within",
                words=f"Sample {sample.sample}{_at(sample.firings)}: {fixed(ratio, 2)} of the limit",
                text=against(ratio, 1.0, 2)[0],
                label=_shortened(sample.sample, 13),
                cut=ratio > highest,
                anchor="end" if left_of else "start",
                text_x=position(text_x),
            )
        )
    over = sum(mark.kind == "beyond" for mark in marks)
    each = joined(f"{sample.sample} {mark.text}" for (sample, _, _), mark in zip(compared, marks, strict=True))
    band = None
    caption = "Circle: within the limit; triangle: beyond it."
    if any(sample.n_used == 2 for sample, _, _ in compared):
        low, high = expected_half()
        band = x(low), x(high)
        caption += (
            " Shaded: half of all pairs fall there if a laboratory scatters just as the limit supposes "
            f"({fixed(low, 2)} to {fixed(high, 2)}; derived, normal scatter)."
        )
    return RatioChart(
        "ratio",
        "Difference ÷ limit",
        f"{counted(len(marks), 'sample')} compared; {len(marks) - over} within the limit, {over} beyond it. Difference "
        f"over limit: {each}.",
        caption,
        frame,
        x(1.0),
        band,
        tuple(Tick(x(step / 2), fixed(step / 2, 1)) for step in range(int(highest * 2) + 1)),
        tuple(marks),
    )


def expected_half() -> tuple[float, float]:
    """Return the quartiles of difference over limit for pairs that scatter just as the limit supposes.

    Derived: the limit is the 95 % point of the absolute difference of two normal results, so the quantile p of
    the ratio is z((1 + p)/2) / z(0.975).
    """
    normal = NormalDist()
    whole = normal.inv_cdf(0.975)
    return normal.inv_cdf(0.625) / whole, normal.inv_cdf(0.875) / whole


def heat_capacity_chart(series: Series, firings: Sequence[FiringResult], key: str) -> DotChart | None:
    """Return the chart of a series, by date and against the rise: its firings, their mean and two SD either way."""
    mean, sd = series.heat_capacity_J_per_K, series.sd_J_per_K
    used = [
        (firing, firing.heat_capacity_J_per_K)
        for name in series.firings
        for firing in firings
        if firing.name == name and firing.purpose is Purpose.CALIBRATION and firing.heat_capacity_J_per_K is not None
    ]
    if mean is None or sd is None or not used:
        return None
    count, used = len(used), used[-MOST_POINTS:]
    low, high = mean - 2 * sd, mean + 2 * sd
    values = [value for _, value in used]
    scale = _Scale(min(low, *values), max(high, *values), len(used), panels=2)
    lines = [(mean, f"mean {fixed(mean, 1)}", "mean")]
    if sd > 0:
        lines += [(high, "+2 SD", "limit"), (low, "\N{MINUS SIGN}2 SD", "limit")]

    def mark(x: float, firing: FiringResult, value: float, words: str) -> Mark:
        kind = "within" if low <= value <= high else "beyond"
        text = f"Firing {firing.name} ({place(firing.row.place)}): {fixed(value, 1)} J/K{words}"
        return Mark(x, scale.y(value), kind, text)

    rises = [firing.corrected_rise_K or 0.0 for firing, _ in used]
    panel = _against_rise(scale, series, rises)
    beyond = [firing.name for firing, value in used if not low <= value <= high]
    return DotChart(
        key,
        f"Heat capacity, {series.apparatus}",
        f"{counted(count, 'benzoic acid firing')} of {_span([firing.date for firing, _ in used])}, "
        f"{fixed(min(values), 1)} to {fixed(max(values), 1)} J/K, mean {fixed(mean, 1)} J/K, standard deviation "
        f"{fixed(sd, 1)} J/K. Corrected rises {fixed(min(rises), 3)} to {fixed(max(rises), 3)} K. "
        + (f"Beyond two standard deviations: {joined(beyond)}." if beyond else "All within two standard deviations."),
        "J/K. Left: by firing, with its day; right: against the corrected rise. Shaded: mean ± 2 SD."
        f"{' Sloping line: the heat capacity in use.' if panel.slope else ''}{_last(count)}",
        scale.frame,
        (scale.y(high), scale.y(low)),
        scale.rules(lines),
        scale.ticks([firing.name for firing, _ in used]),
        tuple(
            mark(scale.x(index), firing, value, "" if firing.date is None else f", {date(firing.date)}")
            for index, (firing, value) in enumerate(used)
        ),
        scale.end,
        scale.days([firing.date for firing, _ in used]),
        replace(
            panel,
            marks=tuple(
                mark(panel_x, firing, value, f" at {fixed(rise, 3)} K")
                for panel_x, rise, (firing, value) in zip(_across(panel, rises)[0], rises, used, strict=True)
            ),
        ),
    )


def _across(panel: Panel, rises: Sequence[float]) -> tuple[list[float], tuple[float, float]]:
    """Return where rises stand across a panel, and the rises at its edges."""
    low, high = min(rises), max(rises)
    spare = (high - low) * 0.12 or 0.1
    edges = low - spare, high + spare
    per_K = (panel.right - panel.left) / (edges[1] - edges[0])
    return [position(panel.left + per_K * (rise - edges[0])) for rise in rises], edges


def _against_rise(scale: "_Scale", series: Series, rises: Sequence[float]) -> Panel:
    """Return the panel of a series against the corrected rise (K), without its marks."""
    panel = Panel(position(scale.end + BETWEEN), scale.frame.right, "against rise", (), (), "")
    low, high = _across(panel, rises)[1]
    per_K = (panel.right - panel.left) / (high - low)
    step = next_step((high - low) / 2.5)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    numbers = range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)
    ticks = [
        Tick(position(panel.left + per_K * (number * step - low)), fixed(number * step, decimals)) for number in numbers
    ]
    every = _every([tick.text for tick in ticks], per_K * step) if ticks else 1
    slope = ""
    if series.slope_J_per_K2 is not None:
        ends = [(x, series.at_rise(rise) or 0.0) for x, rise in zip(_across(panel, rises)[0], rises, strict=True)]
        slope = "M" + "L".join(f"{x} {scale.y(value)}" for x, value in (min(ends), max(ends)))
    return replace(panel, ticks=tuple(ticks[::every]), slope=slope)


def _span(days: Sequence[dt.date | None]) -> str:
    """Return the days of some results in words."""
    known = [day for day in days if day is not None]
    if not known:
        return "unknown date"
    first, last = min(known), max(known)
    return date(first) if first == last else f"{date(first)} to {date(last)}"


def _at(firings: Sequence[FiringResult]) -> str:
    """Return in brackets where firings stand."""
    return f" ({joined(rows(firing.row.place for firing in firings))})" if firings else ""


def check_chart(evaluation: Evaluation, out: frozenset[str]) -> DotChart | None:
    """Return the chart of the check firings' recovery; ``out`` names those that were found beyond the limit."""
    checks = [(firing, firing.recovery_percent) for firing in evaluation.firings if firing.recovery_percent is not None]
    if not checks:
        return None
    count, checks = len(checks), checks[-MOST_POINTS:]
    limit = check_limit_percent(evaluation)
    values = [value for _, value in checks]
    reach = [100.0 - (limit or 0.0), 100.0 + (limit or 0.0)]
    scale = _Scale(min(*reach, *values), max(*reach, *values), len(checks))
    lines = [(100.0, "100 %", "mean")]
    if limit is not None:
        lines += [
            (100.0 + limit, f"{fixed(100 + limit, 2)} %", "limit"),
            (100.0 - limit, f"{fixed(100 - limit, 2)} %", "limit"),
        ]
    found = joined(f"firing {firing.name} {fixed(value, 2)} %" for firing, value in checks)
    return DotChart(
        "checks",
        "Check firings, recovery",
        f"Recovery of the certificate value: {found}."
        + ("" if limit is None else f" Limit {fixed(limit, 2)} % either way."),
        "Per cent of the certificate value, by firing, with its day. "
        + ("No check limit is set on Setup, so none is drawn." if limit is None else "Dashed: the check limit.")
        + _last(count),
        scale.frame,
        None if limit is None else (scale.y(100 + limit), scale.y(100 - limit)),
        scale.rules(lines),
        scale.ticks([firing.name for firing, _ in checks]),
        tuple(
            Mark(
                scale.x(index),
                scale.y(value),
                "open" if limit is None else "beyond" if firing.name in out else "within",
                f"Firing {firing.name} ({place(firing.row.place)}): {fixed(value, 2)} %",
            )
            for index, (firing, value) in enumerate(checks)
        ),
        scale.end,
        scale.days([firing.date for firing, _ in checks]),
    )


def check_limit_percent(evaluation: Evaluation) -> float | None:
    """Return the check limit in per cent of the certificate value, whichever way the lab gave it."""
    limit, certificate = evaluation.settings.check_limit, evaluation.settings.benzoic_heat_in_air
    if limit is None or limit.unit == "%":
        return None if limit is None else limit.value
    return None if certificate is None else 100.0 * limit.value / certificate.value


def acid_chart(evaluation: Evaluation) -> ColumnChart | None:
    """Return the chart of nitric and sulphuric acid per firing, or None where no acid heat was found."""
    if evaluation.settings.acid_scheme is AcidScheme.NONE:
        return None
    shown = [
        firing
        for firing in evaluation.firings
        if firing.nitric_J is not None or firing.state is FiringState.NOT_COMPUTED
    ]
    count, shown = len(shown), shown[-MOST_POINTS:]
    highest = max(((firing.nitric_J or 0.0) + max(firing.sulphuric_J or 0.0, 0.0) for firing in shown), default=0.0)
    if highest <= 0:
        return None
    names = [firing.name for firing in shown]
    pitch = (WIDTH - 32) / len(shown)
    upright = _every(names, pitch) > 1
    foot = max(len(_shortened(name, LABEL)) for name in names) * DIGIT + 8 if upright else 22
    frame = Frame(WIDTH, position(104 + foot), 28, WIDTH - 4, 18, 104)
    step = next_step(highest / 4)
    top = highest * 1.05
    scale = (frame.bottom - frame.top) / top
    width = min(pitch * 0.66, 16.0)
    columns = []
    for index, firing in enumerate(shown):
        nitric, sulphuric = firing.nitric_J or 0.0, max(firing.sulphuric_J or 0.0, 0.0)
        absent = firing.nitric_J is None
        columns.append(
            Column(
                x=position(frame.left + pitch * (index + 0.5) - width / 2),
                middle=position(frame.left + pitch * (index + 0.5)),
                width=position(width),
                nitric_y=position(frame.bottom - scale * nitric),
                nitric_height=position(scale * nitric),
                sulphuric_y=position(frame.bottom - scale * (nitric + sulphuric)),
                sulphuric_height=position(scale * sulphuric),
                missing=absent,
                words=f"Firing {firing.name} ({place(firing.row.place)}): "
                + ("not found" if absent else f"nitric {fixed(firing.nitric_J, 1)} J")
                + ("" if firing.sulphuric_J is None else f", sulphuric {fixed(firing.sulphuric_J, 1)} J"),
            )
        )
    middles = [column.middle for column in columns]
    absent_ones = [firing.name for firing in shown if firing.nitric_J is None]
    nitrics = [firing.nitric_J for firing in shown if firing.nitric_J is not None]
    sulphurics = [max(firing.sulphuric_J, 0.0) for firing in shown if firing.sulphuric_J is not None]
    return ColumnChart(
        "acid",
        "Acid per firing",
        f"Heat of acid for {counted(len(shown), 'firing')}: "
        f"nitric {fixed(min(nitrics), 1)} to {fixed(max(nitrics), 1)} J"
        + (f", sulphuric {fixed(min(sulphurics), 1)} to {fixed(max(sulphurics), 1)} J" if sulphurics else "")
        + f"; the highest together is {fixed(highest, 1)} J. Not found for "
        + (f"{joined(absent_ones)}." if absent_ones else "none."),
        f"J, by firing number. Filled: nitric; hatched: sulphuric; cross: not computed.{_last(count)}",
        frame,
        tuple(
            Tick(position(frame.bottom - scale * step * level), fixed(step * level, 0 if step >= 1 else 1))
            for level in range(math.floor(top / step) + 1)
        ),
        _labels(names, middles, max(1, math.ceil(UPRIGHT / pitch)) if upright else 1),
        upright,
        tuple(columns),
    )


class _Scale:
    """Maps firing order and values to the plot of a dot chart."""

    def __init__(self, low: float, high: float, count: int, panels: int = 1) -> None:
        spare = (high - low) * 0.12 or max(abs(high) * 1e-4, 1e-6)
        self.frame = Frame(WIDTH, 103, 4, WIDTH - RULE_WORDS, 14, 77)
        self.high = high + spare
        self.scale = (self.frame.bottom - self.frame.top) / (high - low + 2 * spare)
        width = self.frame.right - self.frame.left
        self.end = position(self.frame.left + (width - BETWEEN * (panels - 1)) / panels)
        self.pitch = (self.end - self.frame.left) / count

    def x(self, index: int) -> float:
        return position(self.frame.left + self.pitch * (index + 0.5))

    def y(self, value: float) -> float:
        return position(self.frame.top + self.scale * (self.high - value))

    def rules(self, lines: Sequence[tuple[float, str, str]]) -> tuple[Rule, ...]:
        ordered = sorted(lines, key=lambda line: -line[0])
        texts_at = _spread([self.y(value) for value, _, _ in ordered], LABEL_GAP)
        return tuple(
            Rule(self.y(value), text, kind, position(at))
            for (value, text, kind), at in zip(ordered, texts_at, strict=True)
        )

    def ticks(self, names: Sequence[str]) -> tuple[Tick, ...]:
        return _labels(names, [self.x(index) for index in range(len(names))], _every(names, self.pitch))

    def days(self, days: Sequence[dt.date | None]) -> tuple[Tick, ...]:
        """Return each day at the first of its firings, as far as they do not touch, none beyond the drawing."""
        ticks: list[Tick] = []
        for index, day in enumerate(days):
            if day is None or (index and days[index - 1] == day):
                continue
            at = min(max(self.x(index), self.frame.left + DAY_WIDTH / 2), self.end - DAY_WIDTH / 2)
            if not ticks or at - ticks[-1].at >= DAY_WIDTH:
                ticks.append(Tick(position(at), date(day)))
        return tuple(ticks)


def _every(names: Sequence[str], pitch: float) -> int:
    """Return which of the labels fit beside one another: every first, second, third ... of them."""
    widest = max(len(_shortened(name, LABEL)) for name in names) * DIGIT + 6
    return max(1, math.ceil(widest / pitch))


def _labels(names: Sequence[str], positions: Sequence[float], every: int) -> tuple[Tick, ...]:
    return tuple(
        Tick(position(positions[index]), _shortened(names[index], LABEL)) for index in range(0, len(names), every)
    )


def _spread(positions: Sequence[float], gap: float) -> list[float]:
    """Return descending labels' positions moved apart to at least ``gap``, around the middle of the group."""
    spread = list(positions)
    for index in range(1, len(spread)):
        spread[index] = max(spread[index], spread[index - 1] + gap)
    moved = sum(spread) / len(spread) - sum(positions) / len(positions)
    return [at - moved for at in spread]


def next_step(rough: float) -> float:
    """Return the step of 1, 2 or 5 times a power of ten that is next above ``rough``."""
    power = 10.0 ** math.floor(math.log10(rough))
    return next(power * factor for factor in (1.0, 2.0, 5.0, 10.0) if power * factor >= rough * (1 - 1e-9))


def _beyond(difference: float, limit: float) -> bool:
    """Whether a difference is beyond its limit; equality passes, as in the judgement itself."""
    return difference > limit * (1 + 1e-9)


def _shortened(text: str, length: int) -> str:
    return Name(text if len(text) <= length else text[: length - 1] + "…")


def position(value: float) -> float:
    """Return a position rounded as the drawings hold it."""
    return round(value, 1)
