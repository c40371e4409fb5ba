"""Geometry of the long-run charts: results by date, with limits, series steps and the running sum."""

import datetime as dt
import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from statistics import NormalDist

from msgspec import Struct

from batchcal.history import CapacityPoint, CapacityRun, CheckPoint, CheckRun, Pair, Pooled, Quartiles
from batchcal.report.charts import expected_half, next_step, position
from batchcal.report.drawings import Frame, Mark, Tick
from batchcal.report.words import counted, date, fixed

WIDTH = 330.0
LEFT, RIGHT = 40.0, WIDTH - 74.0
TOP = 12.0
HEIGHT = 108.0
LABEL_GAP = 10.5
MOST_MARKS = 250
"""More results than this are drawn as plain dots, without a word on each; those beyond a limit keep theirs."""

MOST_WORDED = 150

MOST_DOTS = 3000
"""More pairs than this would run into one blot: those within the limit are then shown by their quartiles alone."""

FEWEST_FOR_SUMS = 10
"""Checks from which on their running sum is drawn; chosen here, no source."""

DAY_LABEL, MONTH_LABEL = 62.0, 46.0
"""Room that a date and a month need across."""

INTERVAL_WIDTH, INTERVAL_LIMIT = 108.0, 54.0
"""Width of the drawing of an interval, and where the limit stands in it: it reaches to twice the limit."""


class Line(Struct, frozen=True):
    """A drawn path and the kind that chooses its look."""

    kind: str
    path: str


class Sums(Struct, frozen=True):
    """The two running sums below the checks: upward above zero, downward below it."""

    top: float
    bottom: float
    zero: float
    sums: str
    limits: str
    texts: tuple[Tick, ...]
    signal: Mark | None


class TimeChart(Struct, frozen=True):
    """Results by date; paths are complete, labels stand right of the plot where no two touch."""

    key: str
    title: str
    description: str
    caption: str
    frame: Frame
    band: str
    lines: tuple[Line, ...]
    labels: tuple[Tick, ...]
    levels: tuple[Tick, ...]
    unit: str
    days: tuple[Tick, ...]
    dots: str
    over: str
    """Paths of dots where there are too many results for a mark each: within, and beyond the limit."""
    marks: tuple[Mark, ...]
    boxes: tuple[str, ...] = ()
    sums: Sums | None = None
    foot: float = 0.0


class IntervalBar(Struct, frozen=True):
    """A figure over its limit with its interval, drawn in a row of a table."""

    width: float
    limit: float
    at: float
    low: float | None
    high: float | None
    cut: bool
    beyond: bool
    words: str


class _Plane:
    """Maps dates and values to the plot."""

    def __init__(self, first: dt.date, last: dt.date, low: float, high: float) -> None:
        spare = (high - low) * 0.06 or max(abs(high) * 1e-4, 1e-6)
        self.low, self.high = low - spare, high + spare
        self.first, self.days = first, max((last - first).days, 1)
        self.alone = first == last

    def x(self, day: dt.date) -> float:
        share = 0.5 if self.alone else (day - self.first).days / self.days
        return position(LEFT + 6 + share * (RIGHT - LEFT - 12))

    def y(self, value: float) -> float:
        inside = min(max(value, self.low), self.high)
        return position(TOP + HEIGHT * (self.high - inside) / (self.high - self.low))

    def levels(self) -> tuple[Tick, ...]:
        step = next_step((self.high - self.low) / 5)
        decimals = max(0, -math.floor(math.log10(step) + 1e-9))
        first = -int(-self.low // step)
        values = [step * place for place in range(first, int(self.high // step) + 1)]
        return tuple(Tick(self.y(value), fixed(value, decimals)) for value in values)

    def days_axis(self) -> tuple[Tick, ...]:
        """Return dates along the axis: first days of months where the run is long, else evenly spread days."""
        room = int((RIGHT - LEFT) // DAY_LABEL)
        if self.days < 31 * 2:
            step = -(-self.days // max(room - 1, 1))
            chosen = [self.first + dt.timedelta(days) for days in range(0, self.days + 1, step)]
            return tuple(Tick(self.x(day), date(day)) for day in ([self.first] if self.alone else chosen))
        room = int((RIGHT - LEFT) // MONTH_LABEL)
        last = self.first + dt.timedelta(self.days)
        start, end = self.first.year * 12 + self.first.month - 1, last.year * 12 + last.month - 1
        step = next(months for months in (1, 2, 3, 6, 12, 24, 60, 120, 1200) if (end - start) / months <= room)
        months = [at for at in range(start, end + 1) if at % step == 0]
        days = [dt.date(at // 12, at % 12 + 1, 1) for at in months]
        return tuple(Tick(self.x(day), f"{day.year}-{day.month:02}") for day in days if day >= self.first)


def capacity_chart(run: CapacityRun, key: str) -> TimeChart | None:
    """Return heat capacity by date: firings, series means as steps, two and three pooled SD about each."""
    if not run.points and not run.series:
        return None
    sd = run.pooled_sd_J_per_K
    means = [series.heat_capacity_J_per_K for series in run.series]
    values = [point.heat_capacity_J_per_K for point in run.points] + [
        mean + side * 3 * (sd or 0.0) for mean in means for side in (-1, 1)
    ]
    dates = [point.date for point in run.points] + [series.start for series in run.series] + [run.last]
    plane = _Plane(min(dates), max(dates), min(values), max(values))
    ends = [series.start for series in run.series[1:]] + [run.last]
    steps = [
        (LEFT, RIGHT, series.heat_capacity_J_per_K)
        if plane.alone
        else (plane.x(series.start), max(plane.x(end), plane.x(series.start) + 2), series.heat_capacity_J_per_K)
        for series, end in zip(run.series, ends, strict=True)
    ]

    def along(offset: float) -> str:
        return "".join(f"M{a} {plane.y(mean + offset)}H{position(b)}" for a, b, mean in steps)

    lines, labels, band = [Line("mean", along(0.0))], [], ""
    if steps:
        newest = steps[-1][2]
        labels = [(newest, f"mean {fixed(newest, 0)}")]
        if sd:
            band = "".join(
                f"M{a} {plane.y(mean + 2 * sd)}H{position(b)}V{plane.y(mean - 2 * sd)}H{a}Z" for a, b, mean in steps
            )
            lines += [Line("limit", along(3 * sd) + along(-3 * sd))]
            for times in (2, 3):
                labels += [(newest + times * sd, f"+{times} SD"), (newest - times * sd, f"−{times} SD")]

    def kind(point: CapacityPoint) -> str:
        mean = next((s.heat_capacity_J_per_K for s in reversed(run.series) if s.start <= point.date), None)
        beyond = bool(sd) and mean is not None and abs(point.heat_capacity_J_per_K - mean) > 3 * (sd or 0.0)
        return "open" if not point.counted else "beyond" if beyond else "within"

    marks, dots, over = _results(
        plane,
        [(point.date, point.heat_capacity_J_per_K, kind(point)) for point in run.points],
        lambda place: _capacity_words(run.points[place]),
    )
    spread = f"pooled standard deviation {fixed(sd, 1)} J/K" if sd else "no standard deviation"
    caption = "J/K by date. Line: mean of each series. "
    if sd:
        caption += "Shaded: 2 SD either way; dashed: 3 SD, with the SD pooled over the series. Triangle: beyond 3 SD. "
    if any(not point.counted for point in run.points):
        caption += "Hollow: set aside."
    return TimeChart(
        key,
        f"Heat capacity, {run.apparatus.name}",
        f"{counted(len(run.points), 'benzoic acid firing')}, "
        f"{counted(len(run.series), 'heat capacity', 'heat capacities')}, {spread}.",
        caption,
        Frame(WIDTH, TOP + HEIGHT + 20, LEFT, RIGHT, TOP, TOP + HEIGHT),
        band,
        tuple(line for line in lines if line.path),
        _spread([(plane.y(value), text) for value, text in labels]),
        plane.levels(),
        "J/K",
        plane.days_axis(),
        dots,
        over,
        marks,
        foot=TOP + HEIGHT,
    )


def check_chart(run: CheckRun, key: str) -> TimeChart:
    """Return check recovery by date with its limits, and the running sums on the same dates below."""
    action, warning, sd = run.action_percent, run.warning_percent, run.sd_percent
    values = [point.off_percent for point in run.points]
    reach = max(abs(value) for value in values)
    reach = max(min(reach, 2.5 * action) if action else reach, (action or 3 * (sd or 0.0)), 0.02) * 1.08
    plane = _Plane(run.points[0].date, run.points[-1].date, 100.0 - reach, 100.0 + reach)

    def across(*offs: float) -> str:
        return "".join(f"M{LEFT} {plane.y(100 + side * off)}H{RIGHT}" for off in offs for side in (1, -1))

    lines, labels = [Line("mean", f"M{LEFT} {plane.y(100.0)}H{RIGHT}")], [(100.0, "100 %")]
    if action:
        lines.append(Line("limit", across(action)))
        labels += [(100 + action, f"{fixed(100 + action, 2)}"), (100 - action, f"{fixed(100 - action, 2)}")]
    if warning:
        lines.append(Line("warning", across(warning)))
        labels += [(100 + side * warning, "warning") for side in (1, -1)]
    band = ""
    if action:
        band = f"M{LEFT} {plane.y(100 + action)}H{RIGHT}V{plane.y(100 - action)}H{LEFT}Z"
    kinds = {"within": "within", "warning": "within", "out": "beyond", "not judged": "open"}
    marks, dots, over = _results(
        plane,
        [(point.date, 100.0 + point.off_percent, kinds[point.verdict]) for point in run.points],
        lambda place: _check_words(run.points[place]),
    )
    # A few checks make no running sum worth a drawing, unless it signals already.
    sums = _sums(run, plane) if sd and (len(values) >= FEWEST_FOR_SUMS or run.drift) else None
    foot = sums.bottom if sums else TOP + HEIGHT
    caption = "Per cent of the certificate value. "
    if action:
        caption += "Shaded, dashed: check limit; dotted: warning limit. Triangle: beyond the limit of its day. "
    if run.limits_changed:
        caption += "The limits changed; the newest are drawn. "
    if sums:
        caption += (
            "Below: running sums in SD, upward and downward; beyond the dashed lines they signal (ring: the first)."
        )
    out = sum(point.verdict == "out" for point in run.points)
    return TimeChart(
        key,
        f"Check recovery, {run.apparatus.name}",
        f"{counted(len(run.points), 'check firing')}, on average {fixed(run.mean_off_percent, 3, sign=True)} % off; "
        f"{out} beyond the limit of its day. "
        + ("" if run.drift is None else f"The running sum first signals on {date(run.drift.date)}."),
        caption.strip(),
        Frame(WIDTH, foot + 20, LEFT, RIGHT, TOP, TOP + HEIGHT),
        band,
        tuple(lines),
        _spread([(plane.y(value), text) for value, text in labels]),
        plane.levels(),
        "%",
        plane.days_axis(),
        dots,
        over,
        marks,
        sums=sums,
        foot=foot,
    )


def _sums(run: CheckRun, plane: _Plane) -> Sums:
    top, height = TOP + HEIGHT + 10, 56.0
    zero, bottom = top + height / 2, top + height
    highest = max(
        [run.interval * 1.15, *(value for point in run.points for value in (point.upper, point.lower) if value)]
    )
    highest = min(highest, 4 * run.interval)
    scale = height / 2 / highest

    def y(value: float) -> float:
        return position(zero - scale * max(-highest, min(highest, value)))

    paths = []
    for side in (1, -1):
        values = [(point.upper if side > 0 else point.lower) or 0.0 for point in run.points]
        places = [(plane.x(point.date), y(side * value)) for point, value in zip(run.points, values, strict=True)]
        paths.append(_polyline(places))
    limits = "".join(f"M{LEFT} {y(side * run.interval)}H{RIGHT}" for side in (1, -1))
    signal = None
    if run.drift is not None:
        at = run.points[run.drift.place]
        value = (at.upper if run.drift.side > 0 else at.lower) or 0.0
        signal = Mark(
            plane.x(at.date),
            y(run.drift.side * value),
            "ring",
            f"{date(run.drift.date)}, firing {run.drift.firing}: first signal of the running sum",
        )
    return Sums(
        position(top),
        position(bottom),
        position(zero),
        "".join(paths),
        limits,
        (
            Tick(y(run.interval), f"+{fixed(run.interval, 0)} SD"),
            Tick(y(-run.interval), f"−{fixed(run.interval, 0)} SD"),
        ),
        signal,
    )


def ratio_chart(pairs: Sequence[Pair], spread: Sequence[Quartiles]) -> TimeChart | None:
    """Return difference over limit by date, with the range in which half of all pairs are expected."""
    judged = [(pair, pair.ratio) for pair in sorted(pairs, key=lambda one: one.date) if pair.ratio is not None]
    if not judged:
        return None
    longest = max(ratio for _, ratio in judged)
    top = min(max(1.25, longest * 1.05), 2.5)
    plane = _Plane(judged[0][0].date, judged[-1][0].date, 0.0, top)
    quarter, three_quarters = expected_half()
    median = expected_median()
    boxes = []
    for part in spread if len(spread) > 2 else ():  # one stretch and the whole run say the same
        if part.span is None or part.quarter is None or part.three_quarters is None or part.median is None:
            continue
        first, last = max(part.span.start, plane.first), min(part.span.end, judged[-1][0].date)
        middle = plane.x(first + (last - first) / 2)
        half = max(2.0, min(9.0, (plane.x(last) - plane.x(first)) / 2 - 2))
        a, b = position(middle - half), position(middle + half)
        low, mid, high = (plane.y(value) for value in (part.quarter, part.median, part.three_quarters))
        boxes.append(f"M{a} {high}H{b}V{low}H{a}ZM{a} {mid}H{b}")
    by_quartiles = len(judged) > MOST_DOTS and bool(boxes)
    drawn = [one for one in judged if one[0].beyond] if by_quartiles else judged
    marks, dots, over = _results(
        plane,
        [(pair.date, min(ratio, top), "beyond" if pair.beyond else "within") for pair, ratio in drawn],
        lambda place: _pair_words(*drawn[place]),
        few=len(judged) <= MOST_MARKS,
    )
    beyond = sum(pair.beyond for pair, _ in judged)
    caption = (
        "First pairs, those beyond the limit included. Shaded: where half of all pairs are expected if the laboratory "
        f"scatters just as the limit supposes ({fixed(quarter, 2)} to {fixed(three_quarters, 2)}; line: median "
        f"{fixed(median, 2)}; derived, normal scatter)."
    )
    if boxes:
        caption += " Box: the middle half of the pairs found, with their median."
        if not dots and not marks:
            caption += " Of so many pairs only those beyond the limit are drawn singly."
    if longest > top:
        caption += f" Pairs beyond {fixed(top, 1)} are drawn at the edge; the largest is {fixed(longest, 1)}."
    return TimeChart(
        "pairs",
        "Duplicate difference ÷ limit",
        f"{counted(len(judged), 'pair')}; {beyond} beyond the limit.",
        caption,
        Frame(WIDTH, TOP + HEIGHT + 20, LEFT, RIGHT, TOP, TOP + HEIGHT),
        f"M{LEFT} {plane.y(three_quarters)}H{RIGHT}V{plane.y(quarter)}H{LEFT}Z",
        (Line("mean", f"M{LEFT} {plane.y(median)}H{RIGHT}"), Line("limit", f"M{LEFT} {plane.y(1.0)}H{RIGHT}")),
        _spread([(plane.y(1.0), "limit"), (plane.y(median), "expected")]),
        plane.levels(),
        "",
        plane.days_axis(),
        dots,
        over,
        marks,
        tuple(boxes),
        foot=TOP + HEIGHT,
    )


def expected_median() -> float:
    """Return the median of difference over limit for pairs that scatter just as the limit supposes: z(3/4)/z(0.975)."""
    normal = NormalDist()
    return normal.inv_cdf(0.75) / normal.inv_cdf(0.975)


def interval_bar(group: Pooled) -> IntervalBar | None:
    """Return the drawing of 2.77 s over the limit, with its interval where there is one."""
    if group.ratio is None:
        return None

    def x(ratio: float) -> float:
        return position(min(ratio * INTERVAL_LIMIT, INTERVAL_WIDTH))

    interval = group.ratio_interval
    words = f"2.77 s is {fixed(group.ratio, 2)} of the limit"
    if interval is not None:
        words += f", with 95 % between {fixed(interval[0], 2)} and {fixed(interval[1], 2)}"
    return IntervalBar(
        INTERVAL_WIDTH,
        INTERVAL_LIMIT,
        x(group.ratio),
        None if interval is None else x(interval[0]),
        None if interval is None else x(interval[1]),
        interval is not None and interval[1] * INTERVAL_LIMIT > INTERVAL_WIDTH,
        group.verdict == "above",
        words,
    )


def _results(
    plane: _Plane, results: Sequence[tuple[dt.date, float, str]], words: Callable[[int], str], *, few: bool = True
) -> tuple[tuple[Mark, ...], str, str]:
    """Return marks with their words; of many results, paths of dots, each place once: within and beyond.

    Those beyond keep shape and words as long as they are not too many themselves. A result is its date, its value and
    its kind; ``words`` says the one at a place.
    """
    few = few and len(results) <= MOST_MARKS
    beyond = [place for place, (_, _, kind) in enumerate(results) if kind == "beyond"]
    marked = range(len(results)) if few else beyond if len(beyond) <= MOST_WORDED else ()

    def at(place: int) -> tuple[float, float]:
        day, value, _ = results[place]
        return plane.x(day), plane.y(value)

    marks = tuple(Mark(*at(place), results[place][2], words(place)) for place in marked)
    within = () if few else (place for place, (_, _, kind) in enumerate(results) if kind != "beyond")
    return marks, _places(map(at, within)), _places(map(at, () if marks else beyond))


def _capacity_words(point: CapacityPoint) -> str:
    aside = "" if point.counted else ", set aside"
    return f"{date(point.date)}, firing {point.firing}: {fixed(point.heat_capacity_J_per_K, 1)} J/K{aside}"


def _check_words(point: CheckPoint) -> str:
    return f"{date(point.date)}, firing {point.firing}: {fixed(100.0 + point.off_percent, 2)} %"


def _pair_words(pair: Pair, ratio: float) -> str:
    return f"{date(pair.date)}, sample {pair.sample}: {fixed(ratio, 2)} of the limit"


def _places(places: Iterable[tuple[float, float]]) -> str:
    return "".join(f"M{x} {y}h0" for x, y in dict.fromkeys((round(x), round(y)) for x, y in places))


def _polyline(places: Sequence[tuple[float, float]]) -> str:
    """Return a path through places; of many on one spot across only the first, last, highest and lowest stay."""
    kept: list[tuple[float, float]] = []
    for _, together in itertools.groupby(places, key=lambda place: round(place[0])):
        column = list(together)
        heights = [y for _, y in column]
        few = (column[0], column[heights.index(min(heights))], column[heights.index(max(heights))], column[-1])
        kept += dict.fromkeys(few) if len(column) > len(few) else column
    return "M" + "L".join(f"{x} {y}" for x, y in kept) if kept else ""


def _spread(labels: Sequence[tuple[float, str]]) -> tuple[Tick, ...]:
    """Return labels moved apart so that no two touch, in the order of their heights."""
    ordered = sorted(labels)
    at: list[float] = []
    for y, _ in ordered:
        at.append(max(y, at[-1] + LABEL_GAP) if at else y)
    moved = (sum(at) - sum(y for y, _ in ordered)) / len(at) if at else 0.0
    return tuple(Tick(position(y - moved), text) for y, (_, text) in zip(at, ordered, strict=True))
