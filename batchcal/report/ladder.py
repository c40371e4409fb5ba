"""What to do now, cheapest first: look and type, titrate again, ask, fire, sign."""

from collections.abc import Iterable, Sequence

from msgspec import Struct

from batchcal.findings import CAUTION, OUT_OF_USE, Finding, Severity
from batchcal.model import Evaluation, FiringResult, SampleResult, apparatus_name
from batchcal.report.plan import plan_in_words
from batchcal.report.words import counted, joined, places, rows, sentence
from batchcal.terms import Decision, Outcome, YesNo


class Line(Struct, frozen=True):
    """One thing to do, why, and where in the workbook."""

    what: str
    why: tuple[str, ...]
    where: tuple[str, ...]


class Rung(Struct, frozen=True):
    """All things of one kind of effort."""

    key: str
    title: str
    lines: tuple[Line, ...]


TITLES = {
    "read": "Look again: re-read and re-type",
    "titrate": "Titrate the kept washings again",
    "ask": "Ask another bench",
    "fire": "Fire again",
    "sign": "Sign",
}
"""The rungs in the order of what they cost; the order is common practice, no source."""

_CALIBRATE = ("series-expired", "part-changed", "series-too-few", "series-too-scattered")
_TITRATE = ("titre-missing", "titre-unfit")
_APART = ("pair-apart", "three-apart")
_SHOWN = 3


def rungs(evaluation: Evaluation, shown: Evaluation) -> tuple[Rung, ...]:
    """Return what is to be done, without the rungs on which there is nothing; ``shown`` is what stands in detail."""
    lines = {
        "read": _read(evaluation),
        "titrate": _titrate(evaluation),
        "ask": _folded(_waiting(evaluation)),
        "fire": _fire(evaluation),
        "sign": _sign(evaluation, shown),
    }
    return tuple(Rung(key, title, tuple(lines[key])) for key, title in TITLES.items() if lines[key])


def washings_to_keep(evaluation: Evaluation) -> str:
    """Return the reminder which washings must not be poured away yet, or "" where none are needed."""
    scheme = evaluation.settings.acid_scheme
    if scheme is not None and not scheme.uses_titre:
        return ""
    kept: list[str] = []
    unlogged: list[str] = []
    for sample in evaluation.samples:
        if sample.decision is Decision.READY:
            continue
        for firing in sample.firings:
            if firing.row.outcome in (None, Outcome.GOOD) and firing.row.washings_kept is not YesNo.NO:
                (kept if firing.row.washings_kept is YesNo.YES else unlogged).append(firing.name)
    if not kept and not unlogged:
        return ""
    parts = []
    if kept:
        parts.append(f"Keep the washings of {_firings(kept)} until their sample is judged.")
    if unlogged:
        parts.append(f"Whether those of {_firings(unlogged)} were kept is not logged: keep them if they are there.")
    return " ".join(parts)


def _firings(names: Sequence[str]) -> str:
    return ("firing " if len(names) == 1 else "firings ") + joined(names)


def _stopping(evaluation: Evaluation) -> Iterable[Finding]:
    return (finding for finding in evaluation.findings if finding.severity is Severity.BLOCK)


def _waiting(evaluation: Evaluation) -> list[Finding]:
    return [f for f in _stopping(evaluation) if f.effect is Decision.WAIT and f.code not in _CALIBRATE]


def _read(evaluation: Evaluation) -> list[Line]:
    asked = [
        finding
        for finding in _stopping(evaluation)
        if finding.effect in (None, Decision.HOLD)
        and finding.code not in _TITRATE
        # That a firing is missing from its set follows from a question that has its own line.
        and finding.code != "firing-left-out"
    ]
    lines = _folded(asked)
    apart = _apart(evaluation)
    if apart:
        which = joined(_named(sample, sample.counted) for sample in apart)
        what = f"Before firing again, re-read the raw records (weighings, start and end, titre, bomb) of {which}."
        lines.append(Line(what, (), _rows(firing for sample in apart for firing in sample.counted)))
    return lines


def _named(sample: SampleResult, firings: Iterable[FiringResult]) -> str:
    return f"{sample.sample} ({joined(firing.name for firing in firings)})"


def _apart(evaluation: Evaluation) -> list[SampleResult]:
    return [
        sample
        for sample in evaluation.samples
        if sample.decision is Decision.REPEAT and any(finding.code in _APART for finding in sample.findings)
    ]


def _titrate(evaluation: Evaluation) -> list[Line]:
    scheme = evaluation.settings.acid_scheme
    poured = _poured(evaluation)
    lines = _folded(
        [finding for finding in _stopping(evaluation) if finding.code in _TITRATE and finding.firing not in poured]
    )
    if scheme is None or not scheme.uses_titre:
        return lines
    apart = [
        (sample, [firing for firing in sample.counted if firing.row.washings_kept is YesNo.YES])
        for sample in _apart(evaluation)
    ]
    apart = [(sample, kept) for sample, kept in apart if kept]
    if apart:
        which = joined(_named(sample, kept) for sample, kept in apart)
        what = f"If the records hold no slip, titrate again the kept washings of {which}."
        lines.append(Line(what, (), _rows(firing for _, kept in apart for firing in kept)))
    return lines


def _poured(evaluation: Evaluation) -> frozenset[str]:
    """Return the firings whose washings are logged as not kept."""
    return frozenset(f.row.firing for f in evaluation.firings if f.row.washings_kept is YesNo.NO)


def _out_of_use(evaluation: Evaluation) -> list[Line]:
    """Return the apparatus in which nothing may be fired; said before anything that asks for a firing."""
    stopped: dict[str, list[Finding]] = {}
    for firing in evaluation.firings:
        for finding in firing.findings:
            if finding.code in OUT_OF_USE and finding.severity is Severity.SAFETY:
                stopped.setdefault(apparatus_name(firing.row.calorimeter, firing.row.bomb), []).append(finding)
    return [
        Line(
            f"Fire nothing in {apparatus} until the responsible person has settled the caution above.",
            tuple(dict.fromkeys(finding.message for finding in found)),
            places(found),
        )
        for apparatus, found in stopped.items()
    ]


def _fire(evaluation: Evaluation) -> list[Line]:
    lines = _out_of_use(evaluation)
    lines += [
        Line(
            "Fire a second check before any sample, once the records of the first hold no slip.",
            (finding.message,),
            places([finding]),
        )
        for finding in _stopping(evaluation)
        if finding.code == "check-out"
    ]
    lines += _folded([finding for finding in _stopping(evaluation) if finding.code in _CALIBRATE])
    poured = _poured(evaluation)
    lines += [
        Line(f"Firing {finding.firing} cannot be titrated any more: fire again.", (finding.message,), places([finding]))
        for finding in _stopping(evaluation)
        if finding.code in _TITRATE and finding.firing in poured
    ]
    lines += _planned(evaluation)
    return lines


def _planned(evaluation: Evaluation) -> list[Line]:
    """Return the firings planned, in the order in which to make them."""
    by_name = {sample.sample: sample for sample in evaluation.samples}
    lines = []
    for planned in evaluation.plan:
        sample = by_name[planned.sample]
        reason = sentence(sample.reason)
        if sample.sample not in reason:
            reason = f"Sample {sample.sample}: {reason}"
        lines.append(Line(plan_in_words(planned, sample), (reason,), _rows(sample.firings)))
    return lines


def plan_caution(evaluation: Evaluation) -> str:
    """Return the caution that goes with planned masses, or "" where there are none."""
    if all(planned.mass_g is None for planned in evaluation.plan):
        return ""
    return f"Planned masses rest on what was typed today and on the limits entered on Setup. {CAUTION}"


def _sign(evaluation: Evaluation, shown: Evaluation) -> list[Line]:
    """Return who signs what; the older samples of a long log are counted, and named only where one is overridden."""
    out = evaluation.release.samples
    signed = [s for s in evaluation.samples if s.decision is Decision.READY and s.sample not in out]
    names = {sample.sample for sample in signed}
    ready = [sample.sample for sample in shown.samples if sample.sample in names]
    older = len(signed) - len(ready)
    if not signed:
        return []
    analyst, reviewer = evaluation.settings.analyst, evaluation.settings.reviewer
    if not reviewer:
        who = "A second person, to be named as Reviewer on Setup,"
    elif reviewer.casefold() == analyst.casefold():
        who = f"A second person (Setup names {reviewer} as analyst and as reviewer)"
    else:
        who = f"Reviewer {reviewer}"
    parts = [f"{counted(len(ready), 'sample')}: {joined(ready)}"] if ready else []
    if older:
        parts.append(f"{counted(older, 'older one')} that {'is' if older == 1 else 'are'} listed under Samples")
    what = f"{who} checks and signs {', and '.join(parts)}."
    lines = [Line(what, (), ())]
    over: dict[str, list[str]] = {}
    for sample in signed:
        if sample.released_over:
            over.setdefault(sample.released_over, []).append(sample.sample)
    lines += [Line(sentence(f"{joined(names)}: ready, {words}"), (), ()) for words, names in over.items()]
    return lines


def _rows(firings: Iterable[FiringResult]) -> tuple[str, ...]:
    return rows(firing.row.place for firing in firings)


def _folded(findings: Sequence[Finding]) -> list[Line]:
    """Return a line for each thing to do; the same thing to do at many places is one line."""
    groups: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        groups.setdefault((finding.code, finding.remedy), []).append(finding)
    lines = []
    for group in groups.values():
        messages = list(dict.fromkeys(finding.message for finding in group))
        more = len(messages) - _SHOWN
        why = messages if more <= 0 else [*messages[:_SHOWN], f"… and {more} more, listed under Findings."]
        # A message that opens with its own cell needs no second reference.
        said = len(group) == 1 and bool(group[0].where) and group[0].where in group[0].message
        lines.append(Line(group[0].remedy, tuple(why), () if said else places(group)))
    return lines
