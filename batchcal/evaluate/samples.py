"""From firings to samples: the comparison, the decision, its reason in words, and the values."""

from collections.abc import Callable, Sequence

from batchcal import findings
from batchcal.evaluate import agreement, wording
from batchcal.evaluate.agreement import Verdict
from batchcal.evaluate.contents import Contents
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.net import net_values
from batchcal.evaluate.slips.day import Day
from batchcal.evaluate.uncertainty import Budgets, not_stated
from batchcal.findings import Finding
from batchcal.logged import Place
from batchcal.model import FiringResult, NetValues, SampleResult, Settings
from batchcal.terms import (
    BASIS_NAMES,
    NET_BASES,
    AcidScheme,
    Basis,
    Decision,
    FiringState,
    FurtherTestRule,
    Purpose,
    YesNo,
)

_BASES = tuple(Basis)

_CLOSEST_LEFT_OUT = "left out by the further-test rule closest two"


def judge_sample(
    day: Day,
    sample: str,
    known: Sequence[Finding],
    *,
    lost: Sequence[Finding],
    lift: Callable[[Finding], Finding],
    budgets: Budgets,
) -> tuple[SampleResult, list[Finding]]:
    """Judge one sample; ``known`` are the findings on its rows and those that touch every sample.

    ``lost`` are those on firings whose sample number cannot be read: each may be the one that a sample lacks.
    ``lift`` applies the overrides to a finding that is made here. Returns the findings made as well. A sample is
    ready only with a value that a verdict accepts; then ``budgets`` gives the uncertainty.
    """
    contents, firings, counted, settings = day.contents[sample], day.grouped[sample], day.counted(sample), day.settings
    incomplete = FiringState.NOT_COMPUTED in [firing.state for firing in firings]
    if len(counted) < 2 and lost:
        known, incomplete = [*known, *lost], True
    verdict = _verdict(day, counted)
    made = _say(contents, firings, counted, verdict, incomplete=incomplete)
    if settings.acid_scheme is AcidScheme.NONE:
        made.append(findings.make("no-acid-correction", sample=contents.sample))
    made = [lift(finding) for finding in made]
    of_firings = [finding for firing in firings if firing.found for finding in _in_force(firing)]
    touching = list(dict.fromkeys([*contents.found, *of_firings, *made, *known]))
    place = firings[0].row.place
    provisional = FiringState.PROVISIONAL in [firing.state for firing in counted]
    accepted = None if provisional or incomplete else _accepted(counted, verdict)
    on_each = (None,) * len(_BASES) if accepted is None else contents.on_every_basis(accepted)
    gross = dict(zip(_BASES, on_each, strict=True))
    net = net_values(contents, accepted, settings)
    late: list[Finding] = []
    if _decide(touching)[0] is Decision.READY and (accepted is None or verdict.limit_J_per_g is None):
        late.append(place.finding("sample-not-judged", "sample", sample=contents.sample))
    if settings.net_required and accepted is not None and _decide([*touching, *late])[0] is not Decision.HOLD:
        required = [basis for basis in settings.bases_required if basis in NET_BASES]
        lacking = [basis for basis in required if net.constant_pressure[basis] is None]
        if lacking:
            late.append(_net_missing(contents, place, net, lacking))
    short = [basis for basis in settings.bases_required if gross[basis] is None]
    if short and _decide([*touching, *late])[0] is Decision.READY:
        late.append(place.finding("required-basis-missing", "sample", sample=contents.sample, bases=", ".join(short)))
    made += late
    touching += late
    unsaid = _silenced(touching)
    touching = [finding for finding in touching if finding not in unsaid]
    decision, because = _decide(touching)
    if verdict.code == "closest-two-used":
        for index, firing in enumerate(counted):
            if index not in verdict.members:
                firing.state, firing.reason = FiringState.EXCLUDED, _CLOSEST_LEFT_OUT
    every = tuple([firing.freeze() for firing in firings])
    compared = every
    if len(counted) < len(firings):
        by_row = {id(result.row): result for result in every}
        compared = tuple([by_row[id(firing.row)] for firing in counted])
    statistic = verdict.statistic if accepted is not None else ""
    unstated, stated = "", {}
    if decision is Decision.READY:
        unstated = not_stated(statistic, len(compared))
        stated = {} if unstated else budgets.of(contents, compared, accepted or 0.0, net.assumed)
    result = SampleResult(
        sample=contents.sample,
        row=contents.row,
        decision=decision,
        reason=because.message if because else _agreed(verdict, settings),
        next_step=_next_step(because, counted, settings, decision),
        firings=every,
        counted=compared,
        n_used=len(verdict.members) if verdict.members else len(counted),
        range_J_per_g=verdict.range_J_per_g,
        limit_J_per_g=verdict.limit_J_per_g,
        rule=settings.further_test_rule,
        comparison_basis=settings.comparison_basis,
        gross_J_per_g=gross,
        net=net,
        statistic=statistic,
        uncertainty=stated,
        uncertainty_note=unstated,
        findings=tuple(touching),
        unsaid=tuple(unsaid),
    )
    return result, made


def _silenced(touching: Sequence[Finding]) -> list[Finding]:
    """Return the findings that merely follow from another one of the same sample."""
    if not touching:
        return []
    codes = {code for finding in touching if finding.severity.stops for code in finding.kind.silences}
    return [finding for finding in touching if finding.code in codes]


def _net_missing(contents: Contents, fired_at: Place, net: NetValues, lacking: Sequence[Basis]) -> Finding:
    place = fired_at if contents.row is None else contents.row.place
    why = "; ".join(net.notes) or "a moisture is missing"
    wanted = ", ".join(f"net {basis}" for basis in lacking)
    return place.finding("net-missing", "hydrogen", sample=contents.sample, bases=wanted, why=why)


def _in_force(firing: Firing) -> list[Finding]:
    """Return the findings of a firing that concern its sample: of one left out, only that it lacks a reason."""
    if not firing.left_out:
        return firing.found
    return [finding for finding in firing.found if finding.code == "set-aside-without-reason"]


def _verdict(day: Day, counted: Sequence[Firing]) -> Verdict:
    settings = day.settings
    limit = settings.repeatability_limit
    if len(counted) < 2:
        return Verdict(None, None, (), "", "")
    known: list[float] = []
    if settings.comparison_basis is not None:
        known = [value for firing in counted if (value := day.compared(firing)) is not None]
    complete = len(known) == len(counted)
    if complete and limit is not None:
        return agreement.judge(known, limit.value, settings.further_test_rule)
    spread = max(known) - min(known) if complete else None
    return Verdict(spread, None, tuple(range(len(counted))), f"mean of {len(counted)}, not judged", "")


def _accepted(counted: Sequence[Firing], verdict: Verdict) -> float | None:
    return agreement.value_of([firing.gross_ad_J_per_g or 0.0 for firing in counted], verdict)


def _say(
    contents: Contents,
    firings: Sequence[Firing],
    counted: Sequence[Firing],
    verdict: Verdict,
    *,
    incomplete: bool,
) -> list[Finding]:
    """Word what follows from the number of firings and their agreement."""
    sample = contents.sample
    place = firings[0].row.place
    if len(counted) < 2:
        if incomplete:  # the question that stopped a firing comes first; a repeat may not be needed
            return []
        if counted:
            return [
                counted[0].row.place.finding("single-firing", "sample", sample=sample, firing=counted[0].row.firing)
            ]
        return [place.finding("no-good-firing", "sample", sample=sample, count=len(firings))]
    if not verdict.code:
        return []
    spread, limit, following = verdict.range_J_per_g, verdict.limit_J_per_g, verdict.next_limit_J_per_g
    texts = ("" if spread is None else f"{spread:.1f}", "", "")
    if spread is not None and limit is not None:
        texts = wording.apart(spread, limit)
    return [
        place.finding(
            verdict.code,
            "sample",
            sample=sample,
            firings=" and ".join(firing.row.firing for firing in counted),
            n=len(counted),
            range=texts[0],
            limit=texts[1],
            over=texts[2],
            next="" if following is None else f"{following:.1f}",
            beyond=_beyond(spread, limit, following),
        )
    ]


def _beyond(spread: float | None, limit: float | None, following: float | None) -> str:
    """Return in words that the next firing cannot settle a set whose range exceeds its limit already, or ""."""
    if spread is None or following is None or limit is None or agreement.passes(spread, following):
        return ""
    return ", which those fired so far exceed: it cannot settle them unless a technical cause is found for one"


def _decide(touching: Sequence[Finding]) -> tuple[Decision, Finding | None]:
    """Return the weightiest decision that a finding forces, and the first finding that forces it."""
    if not touching:
        return Decision.READY, None
    forcing = [finding for finding in touching if finding.effect is not None]
    if not forcing:
        return Decision.READY, None
    weightiest = max(forcing, key=lambda finding: finding.effect.rank if finding.effect else 0)
    return weightiest.effect or Decision.READY, weightiest


def _agreed(verdict: Verdict, settings: Settings) -> str:
    spread, limit = verdict.range_J_per_g, verdict.limit_J_per_g
    if spread is None or limit is None:
        return verdict.statistic
    basis = f", {BASIS_NAMES[settings.comparison_basis]}" if settings.comparison_basis else ""
    apart, allowed, spare = wording.apart(spread, limit)
    text = f"{verdict.statistic}: {apart} J/g apart{basis}, limit {allowed} J/g, {spare} J/g to spare"
    if settings.further_test_rule is not FurtherTestRule.RANGE:
        text += f" (rule: {settings.further_test_rule})"
    return text


def _next_step(because: Finding | None, counted: Sequence[Firing], settings: Settings, decision: Decision) -> str:
    if because is None:
        return "Have it reviewed and release it."
    step = because.remedy
    if decision is Decision.READY or settings.acid_scheme is None or not settings.acid_scheme.uses_titre:
        return step
    gone = [firing.row.firing for firing in counted if firing.row.washings_kept is YesNo.NO]
    kept = [firing.row.firing for firing in counted if firing.row.washings_kept is not YesNo.NO]
    if kept:
        step += f" Keep the washings of {' and '.join(kept)} until the pair is judged."
    if gone:
        step += f" The washings of {' and '.join(gone)} are gone and cannot be titrated again."
    return step


def samples_of(firings: Sequence[Firing]) -> dict[str, list[Firing]]:
    """Return the firings of each sample, in the order of the sheet; trials are not counted among them."""
    grouped: dict[str, list[Firing]] = {}
    for firing in firings:
        if firing.purpose is Purpose.SAMPLE and firing.row.sample:
            grouped.setdefault(firing.row.sample, []).append(firing)
    return grouped


def results_in_order(firings: Sequence[Firing], judged: Sequence[SampleResult]) -> tuple[FiringResult, ...]:
    """Return every firing's result in the order of the sheets, taking those of samples as they were judged."""
    done = {id(result.row): result for sample in judged for result in sample.firings}
    return tuple(done.get(id(firing.row)) or firing.freeze() for firing in firings)
