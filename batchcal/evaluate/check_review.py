"""A second look at the check firings: warnings, patterns in their sequence, what rests on one that is out.

A check that is out holds the samples that it puts in doubt elsewhere (``checks``); nothing here changes a result.
"""

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Sequence

from msgspec import Struct

from batchcal import findings, reference
from batchcal.advice import CheckPower
from batchcal.evaluate import wording
from batchcal.evaluate.charge import EQUALITY
from batchcal.evaluate.check_spans import Span, is_out, spans
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.order import in_firing_order
from batchcal.findings import Finding
from batchcal.formulas import control, statistics
from batchcal.formulas.control import RunRule
from batchcal.model import Quantity, Settings, apparatus_name
from batchcal.terms import Purpose

BIASES_PERCENT = (0.2, 0.3)
"""Lasting biases for which the chance to be seen is stated: 50 and 75 J/g at 25 MJ/kg; chosen here, no source."""

NEWEST = 20
"""So many checks are looked at for warnings and patterns: over a long log chance alone makes some; common practice,
no source."""

_RULES = (RunRule.TWO_OF_THREE, RunRule.FOUR_OF_FIVE, RunRule.EIGHT_ON_ONE_SIDE, RunRule.SIX_RISING_OR_FALLING)
"""Those of the rules that a check limit does not already hold a single check to."""


class _Limits(Struct, frozen=True):
    """What checks are judged by, in % of the certificate value; None where it is not known."""

    action: float | None
    warning: float | None
    warning_source: str
    sd: float | None
    sd_source: str


class _Checks(Struct, frozen=True):
    """The newest checks of one apparatus that were worked out, in the order of firing, and how far each is off in %."""

    apparatus: tuple[str, str]
    firings: Sequence[Firing]
    off: Sequence[float]
    since: dt.date
    """Day of the first sample of the workbook on the apparatus, else of the last check: older news is no news."""
    limits: _Limits

    @property
    def name(self) -> str:
        """Apparatus in words."""
        return apparatus_name(*self.apparatus)

    def recent(self, place: int) -> bool:
        """Whether a check is not older than the samples of the workbook."""
        date = self.firings[place].date
        return date is not None and date >= self.since

    def names(self, places: Sequence[int]) -> str:
        """Return the firing numbers of checks."""
        return ", ".join(self.firings[place].row.firing for place in places)


def review_checks(firings: Sequence[Firing], settings: Settings) -> tuple[list[CheckPower], list[Finding]]:
    """Return what the checks of each day can see, and what is found about them."""
    limits = _limits(settings)
    checks = [f for f in firings if f.purpose is Purpose.CHECK and f.counts and f.recovery_percent is not None]
    first = _first_samples(firings)
    powers: list[CheckPower] = []
    found: list[Finding] = []
    since: dict[tuple[str, str], dt.date] = {}
    for apparatus in dict.fromkeys(check.apparatus for check in checks):
        own = in_firing_order(check for check in checks if check.apparatus == apparatus)
        since[apparatus] = first.get(apparatus) or own[-1].date or dt.date.min
        powers += _powers(apparatus, own, limits)
        newest = own[-NEWEST:]
        off = [(check.recovery_percent or 0.0) - 100.0 for check in newest]
        of_apparatus = _Checks(apparatus, newest, off, since[apparatus], limits)
        found += _warnings(of_apparatus)
        found += _patterns(of_apparatus)
        found += _drift(of_apparatus)
        found += _repeated(of_apparatus)
    for apparatus, span in spans(firings):
        if apparatus in since:
            found += _look_back(apparatus, span, since[apparatus])
    return powers, found


def _first_samples(firings: Sequence[Firing]) -> dict[tuple[str, str], dt.date]:
    """Return the day of the first sample that counts on each apparatus."""
    first: dict[tuple[str, str], dt.date] = {}
    for firing in firings:
        if firing.purpose is Purpose.SAMPLE and firing.counts and firing.date is not None:
            earliest = first.setdefault(firing.apparatus, firing.date)
            if firing.date < earliest:
                first[firing.apparatus] = firing.date
    return first


def _limits(settings: Settings) -> _Limits:
    certified = settings.benzoic_heat_in_air

    def percent(quantity: Quantity | None) -> float | None:
        if quantity is None or certified is None:
            return None
        return quantity.value if quantity.family == "percentage" else 100.0 * quantity.value / certified.value

    action, warning, sd = (percent(q) for q in (settings.check_limit, settings.check_warning_limit, settings.check_sd))
    warning_source, sd_source = "Setup", "Setup"
    if warning is None and action is not None and "check_warning_limit" not in settings.entries:
        share = reference.constant("check-warning-share")
        warning, warning_source = action * share.value, f"two thirds of the Check limit; {share.mark}"
    if sd is None and action is not None and "check_sd" not in settings.entries:
        share = reference.constant("check-sd-share")
        sd, sd_source = action * share.value, f"half of the Check limit; {share.mark}"
    return _Limits(action, warning, warning_source, sd, sd_source)


def _warnings(checks: _Checks) -> Iterator[Finding]:
    """Ask for a second check after one beyond the warning limit, unless a good one was fired the same day."""
    warning = checks.limits.warning
    if warning is None:
        return
    beyond = [abs(off) > warning * (1 + EQUALITY) for off in checks.off]
    for place, check in enumerate(checks.firings):
        later = [
            other
            for other in range(place + 1, len(beyond))
            if checks.firings[other].date == check.date and not beyond[other]
        ]
        if not beyond[place] or is_out(check) or later or not checks.recent(place):
            continue
        row = check.row
        finding = row.place.finding(
            "check-warning", "rise_K", firing=row.firing, apparatus=checks.name, off=f"{checks.off[place]:+.2f}",
            warning=f"{warning:.2g}", source=checks.limits.warning_source,
        )  # fmt: skip
        check.attach([finding])
        yield finding


def _patterns(checks: _Checks) -> Iterator[Finding]:
    """Look for patterns that the newest checks complete; of each rule the last one is told."""
    sd = checks.limits.sd
    if not sd:
        return
    signals = control.run_signals([off / sd for off in checks.off], _RULES)
    last = {signal.rule: signal for signal in signals if checks.recent(signal.indexes[-1])}
    if not last:
        return
    places = sorted({place for signal in last.values() for place in signal.indexes})
    yield findings.make(
        "check-run-rule", apparatus=checks.name, firings=checks.names(places), rules="; ".join(last),
        sd=f"{sd:.2g}", source=checks.limits.sd_source, date=checks.firings[places[0]].date,
    )  # fmt: skip


def _drift(checks: _Checks) -> Iterator[Finding]:
    """Look for a running sum beyond its interval at one of the newest checks."""
    sd = checks.limits.sd
    if not sd:
        return
    interval = reference.constant("check-sum-interval").value
    sums = control.running_sums([off / sd for off in checks.off], interval=interval)
    for way in (sums.upper, sums.lower):
        beyond = [place for place, value in enumerate(way) if value > interval and checks.recent(place)]
        if not beyond:
            continue
        first = max((place + 1 for place in range(beyond[-1]) if way[place] == 0.0), default=0)
        places = range(first, beyond[-1] + 1)
        bias = f"{statistics.mean([checks.off[place] for place in places]):+.2f} % off"
        names = wording.firings([checks.firings[place].row.firing for place in places])
        off = f"check {names} {f'lie {bias} on average' if len(places) > 1 else f'lies {bias}'}"
        yield findings.make(
            "check-drift", apparatus=checks.name, off=off, sd=f"{sd:.2g}", date=checks.firings[first].date,
            source=checks.limits.sd_source,
        )  # fmt: skip


def _repeated(checks: _Checks) -> Iterator[Finding]:
    """Find the days on which a check within the limit follows one that was out."""
    for date in dict.fromkeys(check.date for check in checks.firings):
        places = [place for place, check in enumerate(checks.firings) if check.date == date and checks.recent(place)]
        out = [place for place in places if is_out(checks.firings[place])]
        good = [place for place in places if out and place > out[0] and place not in out]
        if good:
            row = checks.firings[good[0]].row
            first = checks.firings[out[0]].row.firing
            yield row.place.finding(
                "check-repeated", "rise_K", firing=row.firing, apparatus=checks.name, first=first,
                off=f"{checks.off[out[0]]:+.2f}",
            )  # fmt: skip


def _look_back(apparatus: tuple[str, str], span: Span, since_day: dt.date) -> Iterator[Finding]:
    """Name what was fired between the last good check before one that is out, and the next good one after it."""
    out = [(check, check.recovery_percent - 100.0) for check in span.bad if check.recovery_percent is not None]
    samples = span.samples
    if not out:
        return
    if not samples and (span.before is not None or (out[-1][0].date or since_day) < since_day):
        return
    bias = statistics.mean([off for _, off in out])
    worths = [
        abs(bias) / 100.0 * f.heat_capacity_J_per_K * f.corrected_rise_K / f.mass_g
        for f in samples
        if f.heat_capacity_J_per_K and f.corrected_rise_K and f.mass_g
    ]
    way = "high" if bias > 0 else "low"
    if not worths:
        effect = f"values are too {way} by as much"
    elif f"{min(worths):.0f}" == f"{max(worths):.0f}":
        effect = f"their values are about {max(worths):.0f} J/g too {way}"
    else:
        effect = f"their values are {min(worths):.0f} to {max(worths):.0f} J/g too {way}"
    since, further = _beginning(span)
    row = out[0][0].row
    yield row.place.finding(
        "look-back", "rise_K", firing=row.firing, checks=wording.listed([check.row.firing for check, _ in out]),
        apparatus=apparatus_name(*apparatus), since=since, off=f"{bias:+.2f}", effect=effect, firings=_listed(samples),
        further=further,
    )  # fmt: skip


def _beginning(span: Span) -> tuple[str, str]:
    """Return in words from when on firings are in doubt, and what that says of those before."""
    if span.before is not None:
        since = f"check firing {span.before.row.firing} of {span.before.date}"
        return since, "This check says nothing against what was fired before that one"
    if span.capacity is not None:
        return f"the heat capacity of {span.capacity.date}", "What rests on an older one is judged by checks of its own"
    earlier = "No good check stands before it in this workbook: go back in the earlier ones to the last good check"
    return "the start of this workbook", earlier


def _listed(fired: Sequence[Firing]) -> str:
    """Return the samples of firings, each with its firings."""
    if not fired:
        return "no sample firing in this workbook"
    by_sample: dict[str, list[str]] = {}
    for firing in fired:
        by_sample.setdefault(firing.row.sample, []).append(firing.row.firing)
    return "; ".join(
        f"{sample} (firing{'s' if len(names) > 1 else ''} {', '.join(names)})" for sample, names in by_sample.items()
    )


def _powers(apparatus: tuple[str, str], checks: Sequence[Firing], limits: _Limits) -> Iterator[CheckPower]:
    """Say of each day what its checks could see of a lasting bias."""
    action, sd = limits.action, limits.sd
    if not action or not sd:
        return
    calorimeter, bomb = apparatus
    for date, n in Counter(check.date for check in checks if check.date is not None).items():
        yield CheckPower(
            calorimeter=calorimeter,
            bomb=bomb,
            date=date,
            n=n,
            sd_percent=sd,
            sd_source=limits.sd_source,
            limit_percent=action,
            false_alarm=control.chance_to_see_bias(n, 0.0, sd, action),
            chances=tuple((bias, control.chance_to_see_bias(n, bias, sd, action)) for bias in BIASES_PERCENT),
        )
