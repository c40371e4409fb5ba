"""Whether the calorimeter is in order: heat capacities with their life left, and the check firings."""

import datetime as dt
from collections.abc import Mapping, Sequence
from functools import cache

from msgspec import Struct
from msgspec.structs import replace

from batchcal.advice import CalibrationComparison, CheckPower, ComparedHabit
from batchcal.logged import Place
from batchcal.model import Evaluation, Series, apparatus_name
from batchcal.report.charts import check_limit_percent
from batchcal.report.words import NONE, Figure, at, counted, date, fixed, joined, place, plain, rows, sentence, several
from batchcal.report.working import firing_anchor
from batchcal.terms import FiringState, Purpose, SeriesState


class SeriesRow(Struct, frozen=True):
    """One heat capacity in words."""

    apparatus: str
    series: str
    heat_capacity: str
    state: str
    in_order: bool | None
    """None for one that a newer one has replaced."""
    n: str
    sd: str
    rsd: str
    rises: str
    day: str
    expires: str
    left: str
    where: str


class CheckRow(Struct, frozen=True):
    """One check firing in words; ``judged`` is in, out or not judged."""

    firing: str
    apparatus: str
    found: str
    recovery: str
    off: str
    judged: str
    where: str
    anchor: str


class HabitRow(Struct, frozen=True):
    """One habit in which the day's firings differ from those of the calibration, in words."""

    apparatus: str
    what: str
    calibration: str
    today: str
    effect: str
    note: str


class ApparatusView(Struct, frozen=True):
    """Heat capacities and check firings."""

    series: tuple[SeriesRow, ...]
    checks: tuple[CheckRow, ...]
    check_note: str
    answer: str
    in_order: bool | None
    """None where it could not be judged."""
    powers: tuple[str, ...]
    """What the check firings of a day can and cannot see."""
    habits: tuple[HabitRow, ...]
    """Where the day's firings were made otherwise than those of the calibration."""
    alike: tuple[str, ...]
    """In what the two agree, and what is not logged, for each heat capacity in use."""


def apparatus_view(evaluation: Evaluation, out: frozenset[str]) -> ApparatusView:
    """Return the state of the apparatus; ``out`` names the check firings found beyond the limit."""
    checks = _checks(evaluation, out)
    in_order, answer = _answer(evaluation, checks)
    fired = _fired(evaluation)
    return ApparatusView(
        tuple(_series(evaluation, series, fired) for series in evaluation.series),
        checks,
        _check_note(evaluation),
        answer,
        in_order,
        _powers(evaluation.check_powers),
        tuple(
            _habit(compared, row) for compared in evaluation.comparisons for row in compared.rows if row.agrees is False
        ),
        tuple(_alike(compared) for compared in evaluation.comparisons),
    )


def _powers(powers: Sequence[CheckPower]) -> tuple[str, ...]:
    """Return what the checks of a day can see, said once for all apparatus of which it is the same."""
    words = cache(_power)  # most days are like the one before
    told: dict[str, list[str]] = {}
    for power in powers:
        text = words(replace(power, calorimeter="", bomb="", date=dt.date.min))
        told.setdefault(text, []).append(apparatus_name(power.calorimeter, power.bomb))
    return tuple(sentence(f"{joined(dict.fromkeys(names))}: {text}") for text, names in told.items())


def _power(power: CheckPower) -> str:
    chances = joined(f"{fixed(bias, 1)} % with {_percent(chance)}" for bias, chance in power.chances)
    return (
        f"{counted(power.n, 'check firing')} a day with a scatter of {fixed(power.sd_percent, 2)} % "
        f"({power.sd_source}) and a limit of {fixed(power.limit_percent, 2)} % sees a lasting bias of {chances} "
        f"chance, and raises a false alarm with {_percent(power.false_alarm)}. Duplicates cannot see it at all."
    )


def _percent(chance: float) -> str:
    return f"{fixed(100 * chance, 0)} %"


def _habit(compared: CalibrationComparison, row: ComparedHabit) -> HabitRow:
    effect = NONE if row.effect_J_per_g is None else fixed(row.effect_J_per_g, 0, sign=True)
    return HabitRow(
        apparatus_name(compared.calorimeter, compared.bomb), row.what, row.calibration, row.today, effect, row.note
    )


def _alike(compared: CalibrationComparison) -> str:
    same = [row.what.lower() for row in compared.rows if row.agrees]
    unknown = [row.what.lower() for row in compared.rows if row.agrees is None]
    day = "" if compared.series_date is None else f" of {date(compared.series_date)}"
    text = f"{apparatus_name(compared.calorimeter, compared.bomb)}, calibration{day} and today"
    parts = [
        f"alike in {joined(same)}" if same else "",
        f"not logged on both sides: {joined(unknown)}" if unknown else "",
    ]
    return sentence(f"{text}: {'; '.join(part for part in parts if part)}")


_WHY = {
    "series-expired": "expired",
    "series-too-few": "from too few firings",
    "series-too-scattered": "too scattered",
    "series-undated": "without a date",
    "series-not-named": "not taken, for its firings look like several series",
    "series-limit-missing": "not judged, for Setup gives no limit",
    "heat-capacity-twice": "given by Setup and by a series",
    "heat-capacity-incomplete": "without source or date",
    "part-changed": "older than a part that was changed",
}
"""What a finding says of the heat capacity that it stops."""

_STATES = {
    SeriesState.EXPIRED: "expired",
    SeriesState.TOO_FEW: "from too few firings",
    SeriesState.TOO_SCATTERED: "too scattered",
}
"""The same of a state, where no finding stops for it."""


def _why(evaluation: Evaluation, series: Series) -> str:
    """Return in words why the heat capacity may not be used by the firings that rest on it, "" where they may."""
    about = [finding for finding in series.findings if finding.severity.stops]
    resting = [
        finding
        for firing in evaluation.firings
        if firing.series == series and firing.state is not FiringState.SET_ASIDE
        for finding in firing.findings
        if finding.severity.stops and finding.code in ("series-expired", "part-changed")
    ]
    stops = [*about, *resting]
    if stops:
        known = [_WHY[finding.code] for finding in stops if finding.code in _WHY]
        return known[0] if known else "held by what was found about its firings"
    return "" if series.replaced_on is not None else _STATES.get(series.state, "")


def _in_use(evaluation: Evaluation, series: Series) -> bool:
    """Whether firings that take part rest on a heat capacity, or would if it had not come to nothing."""
    stops = {finding for finding in series.findings if finding.severity.stops}
    return any(
        firing.series == series or (firing.series is None and not stops.isdisjoint(firing.findings))
        for firing in evaluation.firings
        if firing.purpose is not Purpose.CALIBRATION and firing.state is not FiringState.SET_ASIDE
    )


def _named(series: Series) -> str:
    """Return which heat capacity of an apparatus is meant: the name of its series, and its date."""
    name = "of Setup" if series.n is None else f"series {series.name}" if series.name else "series without a name"
    return f"{name}, {date(series.date)}" if series.date is not None else name


def _answer(evaluation: Evaluation, checks: tuple[CheckRow, ...]) -> tuple[bool | None, str]:
    """Return whether the heat capacities in use and the checks are in order, and how that is said.

    One that a newer one has replaced is in order for the firings of its time.
    """
    in_use = [series for series in evaluation.series if _in_use(evaluation, series)]
    reasons: dict[tuple[str, str], list[str]] = {}
    for series in in_use:
        if why := _why(evaluation, series):
            reasons.setdefault((series.apparatus, why), []).append(_named(series))
    wrong = [f"the heat capacity of {name} is {why} ({'; '.join(which)})" for (name, why), which in reasons.items()]
    wrong += [f"check firing {check.firing} is out" for check in checks if check.judged == "out"]
    if wrong:
        return False, f"No: {joined(wrong)}."
    if not in_use:
        return None, "Not judged: no heat capacity was used."
    if any(finding.code == "heat-capacity-missing" for finding in evaluation.findings):
        return None, "Not judged in full: some firings have no heat capacity; those in use are in force."
    unchecked = any(finding.code == "check-missing" for finding in evaluation.findings)
    if unchecked or any(check.judged != "in" for check in checks):
        return None, "Not judged in full: the heat capacity in use is in force, and a check is missing or not judged."
    return True, "Yes, by the numbers typed: every heat capacity in use is in force, every check within its limit."


def _fired(evaluation: Evaluation) -> Mapping[str, list[Place]]:
    """Return where the firings of all series stand, by their names."""
    fired: dict[str, list[Place]] = {name: [] for series in evaluation.series for name in series.firings}
    for firing in evaluation.firings:
        if firing.name in fired:
            fired[firing.name].append(firing.row.place)
    return fired


def _series(evaluation: Evaluation, series: Series, fired: Mapping[str, list[Place]]) -> SeriesRow:
    where = rows(where for name in series.firings for where in fired[name])
    rises = series.rise_range_K
    why = _why(evaluation, series)
    return SeriesRow(
        apparatus=series.apparatus,
        series=series.name,
        heat_capacity=fixed(series.heat_capacity_J_per_K, 1),
        state=_state(series, held=bool(why)),
        in_order=False if why else True if series.replaced_on is None else None,
        n="Setup value" if series.n is None else str(series.n),
        sd=fixed(series.sd_J_per_K, 1),
        rsd=fixed(series.rsd_percent, 3),
        rises=NONE if rises is None else _span(rises),
        day=date(series.date),
        expires=date(series.expires),
        left=_left(series.expires, _today(evaluation)) if series.replaced_on is None else NONE,
        where="; ".join(part for part in (joined(where) or series.source, why) if part),
    )


def _span(rises: tuple[float, float]) -> Figure:
    texts = [fixed(rise, 3) for rise in rises]
    return several(" to ".join(texts), texts, " to ")


def _state(series: Series, *, held: bool) -> str:
    """Return the state of a heat capacity in words; one that is in force by its date may be held for another reason."""
    if series.heat_capacity_J_per_K is None:
        return "not computed"
    if series.replaced_on is not None:
        return f"replaced on {date(series.replaced_on)}"
    return "in force, held" if held and series.state is SeriesState.IN_FORCE else str(series.state)


def _today(evaluation: Evaluation) -> dt.date | None:
    """Return the batch's date, or the last date of its firings on which something other than a series was fired."""
    if evaluation.settings.batch_date is not None:
        return evaluation.settings.batch_date
    days = [f.date for f in evaluation.firings if f.date is not None and f.purpose is not Purpose.CALIBRATION]
    return max(days, default=None)


def _left(expires: dt.date | None, today: dt.date | None) -> str:
    if expires is None or today is None:
        return NONE
    days = (expires - today).days
    return counted(days, "day") if days >= 0 else f"{counted(-days, 'day')} over"


def _checks(evaluation: Evaluation, out: frozenset[str]) -> tuple[CheckRow, ...]:
    checks = [firing for firing in evaluation.firings if firing.purpose is Purpose.CHECK]
    limit = check_limit_percent(evaluation)

    def judged(name: str, recovery: float | None) -> str:
        if name in out:
            return "out"
        return "not judged" if recovery is None or limit is None else "in"

    return tuple(
        CheckRow(
            firing=check.name,
            apparatus=apparatus_name(check.row.calorimeter, check.row.bomb),
            found=fixed(check.gross_ad_J_per_g, 1),
            recovery=fixed(check.recovery_percent, 2),
            off=NONE if check.recovery_percent is None else fixed(check.recovery_percent - 100.0, 2, sign=True),
            judged=judged(check.name, check.recovery_percent),
            where=place(check.row.place),
            anchor=firing_anchor(check.row.place),
        )
        for check in checks
    )


def _check_note(evaluation: Evaluation) -> str:
    settings = evaluation.settings
    parts = []
    if not any(firing.purpose is Purpose.CHECK for firing in evaluation.firings):
        parts.append("No check firing was logged.")
    if settings.benzoic_heat_in_air is not None:
        value = fixed(settings.benzoic_heat_in_air.value, 1)
        parts.append(f"Certificate value, per gram weighed in air: {value} J/g{at(settings.benzoic_heat_in_air)}.")
    if settings.check_limit is None:
        parts.append("No check limit is set on Setup.")
    else:
        limit = settings.check_limit
        parts.append(f"Check limit: {plain(limit.value)} {limit.unit} either way{at(limit)}.")
    return " ".join(parts)
