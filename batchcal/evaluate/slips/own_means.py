"""Means, verdicts and net values of the lab's own sheet beside those that follow from the firings."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal
from itertools import combinations

from msgspec import Struct

from batchcal.evaluate import agreement
from batchcal.evaluate.contents import Contents
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.net import net_values
from batchcal.evaluate.slips import own_causes
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.evaluate.slips.own_figures import (
    CAPACITY_ROUNDED_J_PER_K,
    REST_J_PER_G,
    Figure,
    Scale,
    places_text,
)
from batchcal.evaluate.slips.own_results import COLUMNS, best_scale, scales_of
from batchcal.formulas import statistics
from batchcal.formulas.rounding import round_to_step
from batchcal.logged import Place, SampleRow
from batchcal.terms import Basis, FiringState

MEANS = {
    "own_mean_ad": Basis.AS_ANALYSED,
    "own_mean_d": Basis.DRY,
    "own_mean_ar": Basis.AS_RECEIVED,
}
ROUNDED_TO_J_PER_G = (1.0, 10.0, 20.0, 50.0, 100.0)
"""Steps to which values are printed; common practice, no source."""

MOST_FIRINGS = 6
"""Of more firings than this not every part is tried."""

NET_COEFFICIENTS = {"hydrogen": 0.1, "oxygen": 0.03, "nitrogen": 0.1}
"""How far the coefficients of the net value in use lie apart, J/g for 1 %; derived from 212 to 212.1, 0.775 to 0.8
and 0.8 to 0.885 as printed in different texts."""

NET_MOISTURE = 0.05
"""The same of the moisture: 24.4 to 24.43 J/g for 1 %."""

Scales = Mapping[str, Scale]


class _Sample(Struct, frozen=True):
    """One sample with its firings: all that were worked out, and those that count."""

    row: SampleRow
    contents: Contents
    firings: Sequence[Firing]
    counted: Sequence[Firing]

    @property
    def place(self) -> Place:
        return self.row.place

    @property
    def name(self) -> str:
        return self.contents.sample


def find(day: Day) -> Iterator[Slip]:
    """Yield what the own means, verdicts and net values of Samples show."""
    samples = [sample for name in day.grouped if (sample := _sample(name, day)) is not None]
    if not samples:
        return
    scales = scales_of(day)
    told: set[str] = set()
    for field, basis in MEANS.items():
        for slip in _means(samples, field, basis, scales, day):
            told.update(slip.samples)
            yield slip
    for sample in samples:
        if sample.row.own_verdict and not _rows_differ(sample, scales):
            yield from _verdict(sample, scales, day, told)
    yield from _nets(samples, scales, day)


def _sample(name: str, day: Day) -> _Sample | None:
    contents = day.contents.get(name)
    if contents is None or contents.row is None or not (contents.row.own or contents.row.own_verdict):
        return None
    if any(firing.state is FiringState.NOT_COMPUTED for firing in day.grouped[name]):
        return None  # what the sheet makes of the others cannot be compared
    worked = [f for f in day.grouped[name] if f.gross_ad_J_per_g is not None]
    counted = day.counted(name)
    return _Sample(contents.row, contents, worked, counted) if counted else None


def _values(sample: _Sample, firings: Sequence[Firing], basis: Basis, scales: Scales | None) -> list[float] | None:
    """Return the firings' values on a basis (J/g): as found here or, with ``scales``, the sheet's own."""
    values = []
    for firing in firings:
        value = sample.contents.value_on(basis, firing.gross_ad_J_per_g or 0.0)
        own = None if scales is None else _own_value(sample, firing, basis, scales)
        if value is None or (scales is not None and own is None):
            return None
        values.append(value if own is None else own)
    return values


def _own_value(sample: _Sample, firing: Firing, basis: Basis, scales: Scales) -> float | None:
    for field, given in COLUMNS.items():
        own, scale = firing.row.own.get(field), scales.get(field)
        if own is None or scale is None:
            continue
        one = sample.contents.value_on(given, 1.0)
        wanted = sample.contents.value_on(basis, 1.0)
        if given is basis or (one and wanted is not None and basis is Basis.AS_RECEIVED):
            return scale.value(own) * (1.0 if given is basis else (wanted or 0.0) / (one or 1.0))
    return None


def _rows_differ(sample: _Sample, scales: Scales) -> bool:
    """Whether own values of the sample's firings differ from those found here."""
    for firing in sample.counted:
        for field, basis in COLUMNS.items():
            own, scale = firing.row.own.get(field), scales.get(field)
            found = sample.contents.value_on(basis, firing.gross_ad_J_per_g or 0.0)
            if own is None or scale is None or not found or not firing.gross_ad_J_per_g:
                continue
            slack = _slack(sample, found / firing.gross_ad_J_per_g)
            if abs(scale.value(own) - found) > scale.half_step(own) + slack:
                return True
    return False


def _step_of_rows(sample: _Sample, scales: Scales) -> float:
    """Return half the step of the own values that a mean may be taken of (J/g)."""
    halves = [
        scales[field].half_step(own)
        for firing in sample.counted
        for field in COLUMNS
        if (own := firing.row.own.get(field)) is not None and field in scales
    ]
    return max(halves, default=0.0)


def _slack(sample: _Sample, factor: float) -> float:
    slopes = [(f.corrected_rise_K or 0.0) / (f.mass_g or 1.0) for f in sample.counted]
    return (CAPACITY_ROUNDED_J_PER_K * max(slopes) + REST_J_PER_G) * factor


def _statistic(sample: _Sample, basis: Basis, day: Day, scales: Scales | None = None) -> float | None:
    """Return what the further-test rule makes of the firings; their mean where it is not accepted or not judged."""
    values = _values(sample, sample.counted, basis, scales)
    if values is None:
        return None
    compared = [value for firing in sample.counted if (value := day.compared(firing)) is not None]
    if day.limit is None or len(values) < 2 or len(compared) < len(values):
        return statistics.mean(values)
    verdict = agreement.judge(compared, day.limit, day.settings.further_test_rule)
    return agreement.value_of(values, verdict) or statistics.mean(values)


def _failing(sample: _Sample, day: Day) -> agreement.Verdict | None:
    """Return the verdict on firings that are not accepted, or None where they are."""
    compared = [value for firing in sample.counted if (value := day.compared(firing)) is not None]
    if day.limit is None or len(compared) < len(sample.counted) or len(compared) < 2:
        return None
    verdict = agreement.judge(compared, day.limit, day.settings.further_test_rule)
    return verdict if verdict.code in ("pair-apart", "three-apart", "four-apart", "more-than-four") else None


def _means(samples: Sequence[_Sample], field: str, basis: Basis, scales: Scales, day: Day) -> Iterator[Slip]:
    rows = [sample for sample in samples if field in sample.row.own]
    found = [_statistic(sample, basis, day) for sample in rows]
    scale = best_scale([sample.row.own[field] for sample in rows], found, day.settings)
    if scale is None:
        return
    pending: list[Figure] = []
    for sample, value in zip(rows, found, strict=True):
        if value is None or not value:
            continue
        own = sample.row.own[field]
        factor = value / (_statistic(sample, Basis.AS_ANALYSED, day) or value)
        slack = _slack(sample, factor) + _step_of_rows(sample, scales) * factor
        figure = Figure(
            sample.counted[0], sample.place, field, scale.value(own), value, scale.half_step(own), slack, factor
        )  # fmt: skip
        slip, settled = _of_firings(sample, figure, basis, scales, day)
        if slip is not None:
            yield slip
        elif not settled:
            pending.append(figure)
    while pending:
        causes = [
            *own_causes.unit_causes(pending, scale, len(rows)), *own_causes.basis_causes(pending, day.contents, basis)
        ]  # fmt: skip
        best = own_causes.best(causes)
        if best is None:
            break
        yield _column_slip(*best)
        done = set(map(id, best[0].members))
        pending = [figure for figure in pending if id(figure) not in done]
    for figure in pending:
        sample_name = figure.firing.row.sample
        finding = figure.place.finding(
            "own-result-differs", field, sample=sample_name, heading=figure.place.heading(field),
            own=f"{figure.own:.1f} J/g", found=f"{figure.found:.1f} J/g", hint="",
        )  # fmt: skip
        yield Slip(finding, samples=(sample_name,))


def _column_slip(cause: own_causes.Cause, others: Sequence[own_causes.Cause]) -> Slip:
    first = cause.members[0]
    off = [figure.own - figure.found for figure in cause.members]
    effect = f"Own less found here: {min(off):+.1f} to {max(off):+.1f} J/g".replace("-", "−")
    if others:
        effect += ". It would fit as well that " + "; or ".join(other.what for other in others)
    names = tuple(figure.firing.row.sample for figure in cause.members)
    finding = first.place.finding(
        cause.code, first.field, sample=names[0] if len(names) == 1 else None, severity=cause.severity,
        heading=first.place.heading(first.field),
        cells=places_text([figure.place for figure in cause.members], first.field), what=cause.what, effect=effect,
    )  # fmt: skip
    return Slip(finding, samples=names)


def _of_firings(sample: _Sample, figure: Figure, basis: Basis, scales: Scales, day: Day) -> tuple[Slip | None, bool]:
    """Return what an own mean shows about its firings, and whether it is settled: it follows from some of them."""
    failing = _failing(sample, day)
    if failing is None and not figure.differs:
        return None, True
    from_own = _statistic(sample, basis, day, scales)
    if from_own is not None and figure.is_(from_own) and (failing is None or _rows_differ(sample, scales)):
        return None, True  # it follows from the sheet's own values, of which enough is said where they differ
    ways = [values for kind in (None, scales) if (values := _values(sample, sample.counted, basis, kind)) is not None]
    own = f"{figure.own:.1f} J/g"
    for values in ways:
        if failing is not None and len(values) > 1 and figure.is_(statistics.mean(values)):
            finding = figure.place.finding(
                "own-mean-of-failing-set", figure.field, sample=sample.name, own=own, n=len(values),
                range=f"{failing.range_J_per_g or 0.0:.1f}", limit=_limit(failing),
            )  # fmt: skip
            return Slip(finding, samples=(sample.name,)), True
    for values in ways:
        part = _part(values, figure)
        if part is not None:
            names = [firing.row.firing for firing in sample.counted]
            finding = figure.place.finding(
                "own-mean-leaves-out", figure.field, sample=sample.name, own=own,
                members=", ".join(names[index] for index in part),
                left=", ".join(name for index, name in enumerate(names) if index not in part),
            )  # fmt: skip
            return Slip(finding, samples=(sample.name,)), True
    aside = [firing for firing in sample.firings if firing not in sample.counted]
    values = _values(sample, [*sample.counted, *aside], basis, None) if aside else None
    if values is not None and len(values) <= MOST_FIRINGS and figure.is_(statistics.mean(values)):
        names = [firing.row.firing for firing in aside]
        finding = figure.place.finding(
            "own-result-differs", figure.field, sample=sample.name, heading=figure.place.heading(figure.field),
            own=own, found=f"{figure.found:.1f} J/g",
            hint=f"; it follows with {', '.join(names)}, which takes no part in the result",
        )  # fmt: skip
        return Slip(finding, samples=(sample.name,)), True
    return None, failing is not None and not figure.differs


def _limit(verdict: agreement.Verdict) -> str:
    return "the further-test rule" if verdict.limit_J_per_g is None else f"{verdict.limit_J_per_g:.1f}"


def _part(values: Sequence[float], figure: Figure) -> tuple[int, ...] | None:
    """Return the positions of the firings, not all of them, whose mean is the own one: most firings, then nearest."""
    if len(values) > MOST_FIRINGS:
        return None
    for count in range(len(values) - 1, 0, -1):
        fitting = [
            part
            for part in combinations(range(len(values)), count)
            if figure.is_(statistics.mean([values[index] for index in part]))
        ]
        if fitting:
            return min(fitting, key=lambda part: abs(statistics.mean([values[index] for index in part]) - figure.own))
    return None


def _verdict(sample: _Sample, scales: Scales, day: Day, told: set[str]) -> Iterator[Slip]:
    values = [value for firing in sample.counted if (value := day.compared(firing)) is not None]
    if day.limit is None or len(values) < 2 or len(values) < len(sample.counted):
        return
    failing = _failing(sample, day)
    said = sample.row.own_verdict
    if (said == "agree") == (failing is None):
        return
    spread = statistics.value_range(values)
    limit = agreement.limit_for(len(values), day.limit)
    step = _rounded_to(values, limit, scales) if failing is not None and limit is not None else None
    if step is not None:
        finding = sample.place.finding(
            "own-verdict-rounded", "own_verdict", sample=sample.name, step=f"{step:g}",
            values=", ".join(f"{value:.1f}" for value in values), range=f"{spread:.1f}", limit=f"{limit:.1f}",
        )  # fmt: skip
        yield Slip(finding, samples=(sample.name,))
        return
    if limit is not None and abs(spread - limit) <= 2 * _slack(sample, 1.1):
        return  # so near the limit that a heat capacity in whole J/K decides
    if sample.name in told:
        return
    here = "agree" if failing is None else "disagree"
    finding = sample.place.finding(
        "own-result-differs", "own_verdict", sample=sample.name, heading=sample.place.heading("own_verdict"),
        own=f"'{said}'", found=f"'{here}' ({spread:.1f} J/g apart)", hint="",
    )  # fmt: skip
    yield Slip(finding, samples=(sample.name,))


def _rounded_to(values: Sequence[float], limit: float, scales: Scales) -> float | None:
    """Return the finest step to which the values must be rounded to agree, or None."""
    own = {scale.step * scale.inside for scale in scales.values() if 0 < scale.step * scale.inside <= 100}
    for step in sorted({*ROUNDED_TO_J_PER_G, *own}):
        even = [float(round_to_step(value, step)) for value in values]
        up = [float(_half_up(value, step)) for value in values]
        if any(agreement.passes(statistics.value_range(rounded), limit) for rounded in (even, up)):
            return step
    return None


def _half_up(value: float, step: float) -> Decimal:
    unit = Decimal(repr(step))
    return (Decimal(repr(value)) / unit).to_integral_value(ROUND_HALF_UP) * unit


# --- net values -----------------------------------------------------------------------------------------------------


def _nets(samples: Sequence[_Sample], scales: Scales, day: Day) -> Iterator[Slip]:
    field = "own_net_ar"
    rows = [sample for sample in samples if field in sample.row.own and _failing(sample, day) is None]
    nets = [net_values(sample.contents, _statistic(sample, Basis.AS_ANALYSED, day), day.settings) for sample in rows]
    scale = best_scale(
        [sample.row.own[field] for sample in rows],
        [net.constant_pressure.get(Basis.AS_RECEIVED) for net in nets],
        day.settings,
    )
    if scale is None:
        return
    kinds: dict[str, list[tuple[_Sample, Figure]]] = {}
    for sample, net in zip(rows, nets, strict=True):
        pressure = net.constant_pressure.get(Basis.AS_RECEIVED)
        volume = net.constant_volume.get(Basis.AS_RECEIVED)
        gross = _statistic(sample, Basis.AS_RECEIVED, day)
        if pressure is None or gross is None:
            continue
        own = sample.row.own[field]
        slack = _slack(sample, 1.0) + _step_of_rows(sample, scales) + _coefficients(sample)
        figure = Figure(
            sample.counted[0], sample.place, field, scale.value(own), pressure, scale.half_step(own), slack
        )  # fmt: skip
        if not figure.differs or _follows_own_mean(sample, figure, day):
            continue
        if volume is not None and figure.is_(volume):
            kinds.setdefault("the one at constant volume", []).append((sample, figure))
        elif figure.is_(gross):
            kinds.setdefault("the gross value", []).append((sample, figure))
        elif not net.assumed:
            finding = sample.place.finding(
                "own-result-differs", field, sample=sample.name, heading=sample.place.heading(field),
                own=f"{figure.own:.1f} J/g", found=f"{figure.found:.1f} J/g", hint="",
            )  # fmt: skip
            yield Slip(finding, samples=(sample.name,))
    for kind, members in kinds.items():
        first, figure = members[0]
        finding = first.place.finding(
            "own-net-kind", field, sample=first.name if len(members) == 1 else None, kind=kind,
            cells=places_text([sample.place for sample, _ in members], field),
            found=f"{figure.found:.1f} J/g" + (f" for sample {first.name}" if len(members) > 1 else ""),
        )  # fmt: skip
        yield Slip(finding, samples=tuple(sample.name for sample, _ in members))


def _coefficients(sample: _Sample) -> float:
    """Return what differently printed coefficients of the net value come to for a sample (J/g)."""
    contents = sample.row.contents
    parts = [each * contents.get(name, 0.0) for name, each in NET_COEFFICIENTS.items()]
    return sum(parts) + NET_MOISTURE * (sample.contents.moisture_total or 0.0)


def _follows_own_mean(sample: _Sample, figure: Figure, day: Day) -> bool:
    """Whether an own net value is right for the own mean, so that the mean alone is in question."""
    for field, basis in MEANS.items():
        own = sample.row.own.get(field)
        one = sample.contents.value_on(basis, 1.0)
        if own is None or not one:
            continue
        scale = best_scale([own], [None], day.settings)
        if scale is None:
            continue
        net = net_values(sample.contents, scale.value(own) / one, day.settings)
        value = net.constant_pressure.get(Basis.AS_RECEIVED)
        if value is not None and figure.is_(value):
            return True
    return False
