"""The samples on the page: values of the firings, difference against limit, results, and the decision in words."""

from collections.abc import Callable, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from batchcal.model import Evaluation, FiringResult, SampleResult, Settings
from batchcal.report import uncertainty
from batchcal.report.charts import difference_bar
from batchcal.report.drawings import Bar
from batchcal.report.words import NONE, against, aligned, date, figure, fixed, place, plain, sentence, several
from batchcal.report.working import firing_anchor, sample_anchor
from batchcal.terms import BASIS_NAMES, NET_BASES, NET_PREFIX, AcidScheme, Basis, Decision, FiringState, FurtherTestRule


class FiringValue(Struct, frozen=True):
    """One firing of a sample: its value on the comparison basis, or what became of it."""

    firing: str
    replicate: str
    value: str
    note: str
    where: str
    anchor: str


class SampleRow(Struct, frozen=True):
    """One sample in words."""

    sample: str
    description: str
    decision: Decision
    over: str
    """Over whose override of a finding it is ready, or ""."""
    firings: tuple[FiringValue, ...]
    difference: str
    bar: Bar | None
    results: tuple[str, ...]
    spreads: tuple[str, ...]
    """Beside each result its expanded uncertainty, or ""."""
    released: bool
    reason: str
    net: tuple[tuple[str, str, str], ...]
    """Basis, net value at constant pressure, and its expanded uncertainty or ""."""
    remarks: tuple[str, ...]
    where: str
    anchor: str
    rank: int
    """Weight of the decision, for putting samples in order."""
    relative: str
    """Difference over limit, for the same, "" where the two are not both known."""


class SamplesView(Struct, frozen=True):
    """All samples, those that cannot be released first."""

    facts: str
    firing_heading: str
    result_headings: tuple[str, ...]
    unit: str
    rule: str
    columns: int
    """Columns of the table, for the line of words that runs across it."""
    rows: tuple[SampleRow, ...]
    spread_means: str
    """What ± beside a value means, or ""."""
    uncertainty_lacks: tuple[str, ...]
    """Which values have no uncertainty, and why."""
    weighs_most: tuple[str, ...]
    """What weighs most in the uncertainties, and what would make them smaller."""


_RULES = {
    FurtherTestRule.RANGE: "range: three are accepted within 1.2 times the limit, four within 1.3 times",
    FurtherTestRule.MEDIAN: "median, by the laboratory's choice",
    FurtherTestRule.CLOSEST_TWO: "closest two, by the laboratory's choice",
}


def samples_view(evaluation: Evaluation, printed: Callable[[float], str]) -> SamplesView:
    """Return the samples, most severe decision first and otherwise in the order of the workbook."""
    settings = evaluation.settings
    bases = _bases(evaluation)
    ordered = sorted(evaluation.samples, key=lambda sample: -sample.decision.rank)
    factor = settings.report_unit_factor
    results = _results(ordered, bases, printed, factor)
    spreads = [
        tuple(uncertainty.spread(sample.uncertainty.get(basis), printed, factor) for basis in bases)
        for sample in ordered
    ]
    rows = _said_once(
        [
            _row(sample, settings, printed, results=result, spreads=spread)
            for sample, result, spread in zip(ordered, results, spreads, strict=True)
        ]
    )
    known = [basis for basis in NET_BASES if any(sample.net.constant_pressure.get(basis) for sample in ordered)]
    net = [f"{NET_PREFIX}{basis}" for basis in known]
    meaning, lacking, weighs_most = uncertainty.day_in_words(ordered, [*bases, *net])
    basis = settings.comparison_basis
    compared = "as analysed (no comparison basis is set)" if basis is None else BASIS_NAMES[basis]
    return SamplesView(
        facts=_facts(settings),
        firing_heading=f"Firings, {compared}, J/g",
        result_headings=tuple(BASIS_NAMES[basis].capitalize() for basis in bases),
        unit=settings.report_unit,
        rule=f"Further-test rule: {_RULES[settings.further_test_rule]}.",
        columns=4 + len(bases),
        rows=rows,
        spread_means=meaning,
        uncertainty_lacks=lacking,
        weighs_most=weighs_most,
    )


def _said_once(rows: Sequence[SampleRow]) -> tuple[SampleRow, ...]:
    """Return the rows with a reason that several samples share said at the first of them only."""
    first: dict[str, str] = {}
    said = []
    for row in rows:
        before = first.setdefault(row.reason, row.sample)
        said.append(row if before == row.sample else replace(row, reason=f"The same as {before}."))
    return tuple(said)


def unit_in_words(settings: Settings) -> str:
    """Return the report unit, with the calorie named where the unit holds one."""
    if "cal" not in settings.report_unit:
        return settings.report_unit
    joules = "" if settings.calorie is None else f", {plain(settings.calorie.value)} J"
    kind = settings.calorie_kind
    name = "calorie as defined on Setup" if kind is None else f"{kind} calorie"
    return f"{settings.report_unit} ({name}{joules})"


def _facts(settings: Settings) -> str:
    text = f"Results are gross calorific values at constant volume, in {unit_in_words(settings)}, on the basis named."
    if settings.acid_scheme is AcidScheme.NONE:
        text += " None is corrected for nitric and sulphuric acid (acid scheme none)."
    return text


def _bases(evaluation: Evaluation) -> tuple[Basis, ...]:
    """Return the bases that are required or on which there is a value; as analysed and dry where there is neither."""
    needed = evaluation.settings.bases_required
    found = {
        basis for sample in evaluation.samples for basis, value in sample.gross_J_per_g.items() if value is not None
    }
    bases = tuple(basis for basis in Basis if basis in needed or basis in found)
    return bases or (Basis.AS_ANALYSED, Basis.DRY)


def _results(
    samples: list[SampleResult], bases: tuple[Basis, ...], printed: Callable[[float], str], factor: float
) -> list[tuple[str, ...]]:
    def shown(sample: SampleResult, basis: Basis) -> str:
        value = sample.gross_J_per_g.get(basis)
        return NONE if value is None else figure(printed(value), value / factor)

    columns = [aligned([shown(sample, basis) for sample in samples]) for basis in bases]
    return [tuple(column[index] for column in columns) for index in range(len(samples))]


def _row(
    sample: SampleResult,
    settings: Settings,
    printed: Callable[[float], str],
    *,
    results: tuple[str, ...],
    spreads: tuple[str, ...],
) -> SampleRow:
    difference, limit = sample.range_J_per_g, sample.limit_J_per_g
    if difference is not None and limit is not None:
        texts = against(difference, limit)
        compared: str = several(" of ".join(texts), texts, " of ")
    else:
        alone = fixed(difference, 1)
        compared = alone if difference is None else several(f"{alone}, no limit", [alone, "no limit"], ", ")
    released = sample.decision is Decision.READY
    return SampleRow(
        sample=sample.sample,
        description=sample.row.description if sample.row else "",
        decision=sample.decision,
        over=sentence(f"ready, {sample.released_over}") if sample.released_over else "",
        firings=_firing_values(sample, settings.comparison_basis),
        difference=compared,
        bar=difference_bar(sample),
        results=results,
        spreads=spreads,
        released=released,
        reason=sentence(sample.reason.removeprefix(f"Sample {sample.sample}: ")),
        net=_net(sample, printed, settings.report_unit_factor),
        remarks=(*_remarks(sample, settings), *(sample.net.notes if sample.net.known else ())),
        where=place(sample.row.place) if sample.row else "not on Samples",
        anchor=sample_anchor(sample.sample),
        rank=sample.decision.rank,
        relative="" if difference is None or not limit else f"{difference / limit:.6g}",
    )


def _firing_values(sample: SampleResult, basis: Basis | None) -> tuple[FiringValue, ...]:
    def value(firing: FiringResult) -> float | None:
        return firing.gross_d_J_per_g if basis is Basis.DRY else firing.gross_ad_J_per_g

    values = aligned([fixed(value(firing), 1) for firing in sample.firings])
    return tuple(
        FiringValue(
            firing.name,
            firing.row.replicate,
            text,
            "" if firing.state is FiringState.USED else str(firing.state),
            place(firing.row.place),
            firing_anchor(firing.row.place),
        )
        for firing, text in zip(sample.firings, values, strict=True)
    )


def _remarks(sample: SampleResult, settings: Settings) -> tuple[str, ...]:
    """Return what else a value rests on: the moistures used, and the missing acid correction."""
    remarks: list[str] = []
    has_value = any(value is not None for value in sample.gross_J_per_g.values())
    if has_value and sample.decision is not Decision.READY:
        remarks.append(f"value shown: {sample.statistic or 'mean'}, not for release")
    row = sample.row
    if row is not None:
        if row.moisture_analysis is not None:
            other_day = row.moisture_date is not None and row.moisture_date != settings.batch_date
            day = f" of {date(row.moisture_date)}" if other_day else ""
            remarks.append(f"analysis moisture {fixed(row.moisture_analysis, 2)} %{day}")
        if row.moisture_total is not None:
            remarks.append(f"total moisture {fixed(row.moisture_total, 2)} %")
        ash: Mapping[str, float] = row.contents
        if Basis.DRY_ASH_FREE in settings.bases_required and "ash" in ash:
            basis = row.bases.get("ash")
            remarks.append(f"ash {fixed(ash['ash'], 2)} %" + (f" {BASIS_NAMES[basis]}" if basis else ""))
    if settings.acid_scheme is AcidScheme.NONE:
        remarks.append("no acid correction")
    return tuple([sentence(remarks[0]).removesuffix("."), *remarks[1:]] if remarks else [])


def _net(sample: SampleResult, printed: Callable[[float], str], factor: float) -> tuple[tuple[str, str, str], ...]:
    """Return the net values at constant pressure, each with its basis and uncertainty."""
    return tuple(
        (
            BASIS_NAMES[basis],
            figure(printed(value), value / factor),
            uncertainty.spread(sample.uncertainty.get(f"{NET_PREFIX}{basis}"), printed, factor),
        )
        for basis, value in sample.net.constant_pressure.items()
        if value is not None
    )


def net_in_words(samples: Sequence[SampleResult]) -> str:
    """Return one sentence on the net values of the day: where they stand, or why there are none."""
    with_net = [s for s in samples if s.net.known]
    # Where there is no gross value either, that is said of the sample already.
    gross = [s for s in samples if any(value is not None for value in s.gross_J_per_g.values())]
    without: dict[str, list[str]] = {}
    for sample in gross or samples:
        if sample not in with_net:
            why = "; ".join(sample.net.notes) or "there is no gross value to start from"
            without.setdefault(why, []).append(sample.sample)
    parts = ["Net calorific values stand in the line under the sample."] if with_net else []
    for why, names in without.items():
        whose = "" if len(without) == 1 and not with_net else f" of {', '.join(names)}"
        parts.append(f"Net calorific value{whose}: not computed ({why}).")
    return " ".join(parts) or "Net calorific value: not computed (no sample was fired)."
