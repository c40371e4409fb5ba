"""The time-temperature curves of the day in words and drawings: those with a finding large, the others small."""

from collections.abc import Collection, Sequence

from msgspec import Struct

from batchcal.findings import Finding
from batchcal.logged import ReadingRow
from batchcal.model import Curve, Evaluation, FiringResult
from batchcal.report import words
from batchcal.report.curve_drawing import Scale, common_scale, distances, large, lines, small
from batchcal.report.drawings import CurveChart
from batchcal.report.words import counted, fixed, joined, plain, sentence
from batchcal.report.working import firing_anchor

MOST_ODD = 8
"""Up to this many curves with a finding are drawn large."""

_AT_ONE_READING = ("curve-reading-off", "curve-order", "curve-gap")
"""Findings that stand at the reading they are about."""

_NO_METHOD = "heat-exchange-method-missing"
"""The one finding at readings that says nothing of their curve."""


class CurveView(Struct, frozen=True):
    """One curve: the drawing, whose it is, its figures in words, and what was found about it."""

    chart: CurveChart
    firing: str
    anchor: str
    what: str
    figures: tuple[str, ...]
    where: str
    """The rows of its readings."""
    findings: tuple[Finding, ...] = ()


class CurvesView(Struct, frozen=True):
    """All curves of the day; ``notes`` name those that are not drawn."""

    odd: tuple[CurveView, ...]
    odd_caption: str
    small: tuple[CurveView, ...]
    small_caption: str
    notes: tuple[str, ...]


def curves_view(evaluation: Evaluation) -> CurvesView | None:
    """Return the curves of the day, or None where no firing has readings."""
    table = evaluation.batch.tables.get("readings")
    rows: dict[str, list[ReadingRow]] = {}
    for row in evaluation.batch.readings:
        rows.setdefault(row.firing, []).append(row)
    read = [firing for firing in evaluation.firings if firing.row.firing in rows]
    if table is None or not read:
        return None
    resolution = evaluation.settings.reading_resolution
    step_K = None if resolution is None else resolution.value
    odd: list[tuple[FiringResult, tuple[Finding, ...]]] = []
    honest: list[tuple[FiringResult, Curve]] = []
    unread: dict[str, list[str]] = {}
    for firing in read:
        found = tuple(f for f in firing.findings if f.sheet == table.sheet or f.code == "curve-disagrees")
        if found and all(finding.code != _NO_METHOD for finding in found):
            odd.append((firing, found))
        elif firing.curve is not None:
            honest.append((firing, firing.curve))
        else:
            why = "no heat-exchange method is named on Setup" if found else firing.reason or "not worked out"
            unread.setdefault(sentence(why), []).append(firing.name)
    notes = [f"Not drawn, {_firings(names)}: {why}" for why, names in unread.items()]
    if odd[MOST_ODD:]:
        names = [firing.name for firing, _ in odd[MOST_ODD:]]
        notes.append(f"Not drawn, {_firings(names)}: what was found about their readings stands under Findings.")
    drawn = tuple(_odd(firing, found, rows[firing.row.firing], step_K) for firing, found in odd[:MOST_ODD])
    scale = common_scale([curve for _, curve in honest], step_K) if honest else None
    return CurvesView(
        drawn,
        _odd_caption(drawn, step_K) if drawn else "",
        tuple(_honest(firing, curve, rows[firing.row.firing], scale) for firing, curve in honest) if scale else (),
        f"{_periods_in_words(honest)} {_scale_in_words(scale)}" if scale else "",
        tuple(notes),
    )


def _odd(
    firing: FiringResult, found: tuple[Finding, ...], rows: Sequence[ReadingRow], step_K: float | None
) -> CurveView:
    points = [(r.time_min, r.temperature_C) for r in rows if r.time_min is not None and r.temperature_C is not None]
    named = frozenset(finding.row or 0 for finding in found if finding.code in _AT_ONE_READING)
    doubted = frozenset(r.time_min for r in rows if r.place.row in named and r.time_min is not None)
    chart = large(
        _key(firing),
        (_title(firing), _described(firing, points, found, doubted)),
        rows,
        firing.curve,
        trusted=firing.rise_K is not None,
        named=named,
        step_K=step_K,
    )
    figures = _figures(firing, doubted)
    where = _where(rows)
    return CurveView(chart, firing.name, firing_anchor(firing.row.place), _what(firing), figures, where, found)


def _where(rows: Sequence[ReadingRow]) -> str:
    return joined(words.rows(row.place for row in rows))


def _honest(firing: FiringResult, curve: Curve, rows: Sequence[ReadingRow], scale: Scale) -> CurveView:
    points = list(zip(curve.times_min, curve.temperatures_C, strict=True))
    chart = small(_key(firing), (_title(firing), _described(firing, points)), curve, scale)
    figures = (
        f"{fixed(curve.rise_K, 3)} {fixed(curve.heat_exchange_K, 4, sign=True)} K",
        f"scatter {fixed(curve.fore_residual_sd_K * 1e3, 1)}, {fixed(curve.after_residual_sd_K * 1e3, 1)} mK",
        f"uncertainty {fixed(curve.uncertainty_K * 1e3, 1)} mK",
    )
    return CurveView(chart, firing.name, firing_anchor(firing.row.place), _what(firing), figures, _where(rows))


def _key(firing: FiringResult) -> str:
    return f"of-{firing_anchor(firing.row.place)}"


def _title(firing: FiringResult) -> str:
    return f"Firing {firing.name}, temperature against time"


def _figures(firing: FiringResult, doubted: Collection[float]) -> tuple[str, ...]:
    curve = firing.curve
    if curve is None:
        return ("No line was fitted to these readings, and no rise was taken from them.",)
    texts = []
    for name, line in zip(("Fore", "After"), lines(curve, doubted), strict=True):
        without = ", without the ringed one" if line.fitted < len(line.times) else ""
        texts.append(
            f"{name} {fixed(line.rate * 1e3, 2, sign=True)} mK/min, scatter {fixed(line.scatter * 1e3, 1)} mK "
            f"({counted(line.fitted, 'reading')}{without})."
        )
    texts.append(f"{_PERIODS[curve.firing_minute_found]}.")
    return (*texts, _rise_in_words(curve) if firing.rise_K is not None else "No rise was taken from this curve.")


_PERIODS = {True: "Firing and end of the main period found by rule from the readings", False: "Periods as logged"}
"""Whether the periods were found from the readings, in words."""


def _periods_in_words(firings: Sequence[tuple[FiringResult, Curve]]) -> str:
    """Return of which firings the periods were found by rule."""
    found = [firing.name for firing, curve in firings if curve.firing_minute_found]
    if len(found) in (0, len(firings)):
        return f"{_PERIODS[bool(found)]}."
    return f"{_PERIODS[True]} in {_firings(found)}, logged in the others."


def _rise_in_words(curve: Curve) -> str:
    return (
        f"Rise {fixed(curve.rise_K, 4)} K, heat exchange {fixed(curve.heat_exchange_K, 4, sign=True)} K, "
        f"corrected rise {fixed(curve.rise_K + curve.heat_exchange_K, 4)} K, its standard uncertainty "
        f"{fixed(curve.uncertainty_K * 1e3, 1)} mK."
    )


def _described(
    firing: FiringResult,
    points: Sequence[tuple[float, float]],
    found: Sequence[Finding] = (),
    doubted: Collection[float] = (),
) -> str:
    """Return what the drawing shows, for those who do not see it."""
    curve = firing.curve
    texts = []
    if points:
        times, values = [time for time, _ in points], [value for _, value in points]
        texts.append(
            f"{counted(len(points), 'reading')} from {plain(min(times))} to {plain(max(times))} min, "
            f"{fixed(min(values), 3)} to {fixed(max(values), 3)} °C."
        )
    if curve is not None:
        minute, distance = max(distances(curve, doubted), key=lambda pair: abs(pair[1]))
        texts.append(
            f"Fired at {plain(curve.times_min[curve.start])} min, main period to {plain(curve.times_min[curve.end])} "
            f"min. Farthest from its line: {fixed(distance * 1e3, 1, sign=True)} mK at {plain(minute)} min."
        )
        if firing.rise_K is not None:
            texts.append(_rise_in_words(curve))
    texts += [finding.message for finding in found]
    return " ".join(texts) or "No reading could be taken from the sheet."


def _odd_caption(drawn: Sequence[CurveView], step_K: float | None) -> str:
    texts = ["Dots: readings, °C against min."]
    if any(view.chart.rings for view in drawn):
        texts.append("Ring: the reading that the finding names.")
    if any(view.chart.missing for view in drawn):
        texts.append("Cross: a minute without a temperature.")
    if not any(view.chart.strip for view in drawn):
        return " ".join(texts)
    ringed = any(view.chart.strip and view.chart.strip.rings for view in drawn)
    without = ", without a ringed reading" if ringed else ""
    texts.append(f"Lines: fitted to the fore and the after period{without}.")
    if any(view.chart.gap for view in drawn):
        texts.append(
            "Dashed: their reach to the minute where the one rate hands over to the other with the correction in use; "
            "the gap there is the corrected rise."
        )
    texts.append("Strip: distance of the readings from their line, mK.")
    texts.append(
        "Reading resolution is blank on Setup, so no reading step is shaded."
        if step_K is None
        else f"Shaded: one reading step ({plain(step_K * 1e3)} mK) either way; triangle: a reading beyond it."
    )
    return " ".join(texts)


def _scale_in_words(scale: Scale) -> str:
    step = scale.step_K
    return (
        f"All on one scale. Across: {fixed(scale.minutes[0], 1)} to {fixed(scale.minutes[1], 1)} min from firing; "
        f"upwards: {fixed(scale.rises[0], 2)} to {fixed(scale.rises[1], 2)} K above the reading at firing. Uprights: "
        "firing and end of the main period. Strip: distance of the readings from the fitted lines, "
        f"{fixed(scale.reach * 1e3, 1)} mK to either side"
        + ("" if step is None else f"; shaded: one reading step ({plain(step * 1e3)} mK) either way")
        + ". Below: rise and heat exchange; scatter about the fore and the after line; standard uncertainty of the "
        "corrected rise."
    )


def _what(firing: FiringResult) -> str:
    return " ".join(filter(None, (firing.row.sample or firing.purpose or "", firing.row.replicate)))


def _firings(names: Sequence[str]) -> str:
    return ("firing " if len(names) == 1 else "firings ") + joined(names)
