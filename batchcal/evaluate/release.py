"""The release: which signatures on Amendments count, which issue they make, and the settings it rests on.

A reviewer signs by a row of Amendments with ``release`` under Finding, a name and a date. Nothing else releases.
"""

import datetime as dt
import math
from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from batchcal.findings import Finding, in_order, make
from batchcal.items import SETUP_ITEMS
from batchcal.logged import AmendmentRow
from batchcal.model import Evaluation, Quantity, SampleResult, Settings
from batchcal.release import RELEASE_WORD, Earlier, Issue, Release, ReleaseState, Signature, ValueChange
from batchcal.terms import VALUE_NAMES, Decision

_SAME = 1e-9
"""Relative difference up to which two values are one; far below any print."""


def is_release(row: AmendmentRow) -> bool:
    """Whether a row of Amendments releases results, and overrides nothing."""
    return row.finding.casefold() == RELEASE_WORD


def with_release(evaluation: Evaluation) -> Evaluation:
    """Return the evaluation with its release as the workbook by itself tells it, and the findings about that."""
    signatures, found = _signatures(evaluation)
    values = {
        sample.sample: values_of(sample)
        for sample in evaluation.samples
        if any(signature.sample in ("", sample.sample) for signature in signatures)
    }
    signed = tuple(signatures)
    issued = Issue(1, ReleaseState.RELEASED, signed, values, known=signed) if values else None
    return _released(evaluation, ReleaseState.RELEASED if issued else ReleaseState.DRAFT, 1, issued, found)


def against(evaluation: Evaluation, earlier: Earlier) -> Evaluation:
    """Return the evaluation with its release and its changes as they stand after an earlier set of outputs.

    An issue keeps its number while its values stand. A new signature with a reason makes an amended issue. Values
    that changed, or are released no more, without one make a draft with a finding.
    """
    now = evaluation.release.issued
    if earlier.unread:
        if now is None:
            return evaluation
        return _released(evaluation, ReleaseState.DRAFT, 1, None, [make("earlier-issue-unread", why=earlier.unread)])
    changed: tuple[ValueChange, ...] = ()
    if earlier.issued is not None:
        changed = _differences(earlier.issued.values, {} if now is None else now.values)
        evaluation = _after(evaluation, earlier.issued, now, changed)
    changes = earlier.changes
    if changes is not None and not earlier.repeated:
        changes = replace(changes, values=changed)
    return replace(evaluation, changes=changes)


def _after(evaluation: Evaluation, last: Issue, now: Issue | None, changed: Sequence[ValueChange]) -> Evaluation:
    values = {} if now is None else now.values
    signatures = () if now is None else now.signatures
    touched = dict.fromkeys(change.sample for change in changed)
    known = tuple(dict.fromkeys([*last.known, *signatures]))
    fresh = tuple(s for s in signatures if s not in last.known)
    anew = [s for s in fresh if s.reason and (not s.sample or s.sample in last.values)]
    open_ = [sample for sample in touched if not any(s.sample in ("", sample) for s in anew)]
    if open_:
        found = [_changed(last, sample, changed) for sample in open_]
        return _released(evaluation, ReleaseState.DRAFT, last.number + 1, last, found)
    if values.keys() == last.values.keys() and not anew:
        same = replace(last, sha256="", known=known)
        return _released(evaluation, last.state, last.number, same, [])
    state = ReleaseState.AMENDED if anew else ReleaseState.RELEASED
    issue = Issue(
        last.number + 1, state, tuple(anew) or fresh or signatures, values, last.number, last.sha256, tuple(changed),
        known=known,
    )  # fmt: skip
    return _released(evaluation, state, issue.number, issue, [])


def _changed(last: Issue, sample: str, changed: Sequence[ValueChange]) -> Finding:
    own = [change for change in changed if change.sample == sample]
    words = "; ".join(change.words.partition(", ")[2] for change in own[:3]) + (" ..." if len(own) > 3 else "")
    if all(change.now is None for change in own):
        words = "it is not released any more"
    return make(
        "released-then-changed", sample=sample, issue=last.number, next=last.number + 1, signed=last.signed,
        changes=words,
    )  # fmt: skip


def _released(
    evaluation: Evaluation, state: ReleaseState, number: int, issued: Issue | None, found: Sequence[Finding]
) -> Evaluation:
    out = () if issued is None or state is ReleaseState.DRAFT else issued.values
    rest = tuple(sample.sample for sample in evaluation.samples if sample.sample not in out)
    release = Release(state, number, issued, () if state is ReleaseState.DRAFT else rest)
    return replace(evaluation, release=release, findings=in_order([*evaluation.findings, *found]))


def _signatures(evaluation: Evaluation) -> tuple[list[Signature], list[Finding]]:
    """Return the signatures that count, and why the others do not."""
    analysts = {evaluation.settings.analyst, *(firing.row.analyst for firing in evaluation.firings)} - {""}
    signed, found = [], []
    for row in evaluation.batch.amendments:
        if not is_release(row):
            continue
        covered = [s for s in evaluation.samples if row.sample in ("", s.sample)]
        why = _unfit(row, {name.casefold() for name in analysts}, covered)
        if why or row.date is None:
            found.append(row.place.finding("release-unfit", "finding", sample=row.sample or None, why=why))
            continue
        why = _too_early(evaluation, covered)
        if why:
            what = f"sample {row.sample}" if row.sample else "the day"
            found.append(
                row.place.finding(
                    "release-too-early", "finding", sample=row.sample or None, reviewer=row.reviewer, what=what,
                    date=row.date.isoformat(), why=why,
                )
            )  # fmt: skip
            continue
        signed.append(Signature(row.sample, row.reviewer, row.date, row.reason))
    return signed, found


def _unfit(row: AmendmentRow, analysts: set[str], covered: Sequence[SampleResult]) -> str:
    last = max((f.date for s in covered for f in s.firings if f.date is not None), default=dt.date.min)
    if row.unreadable:
        return "a cell of it cannot be read"
    if not row.reviewer:
        return "no reviewer is named"
    if row.reviewer.casefold() in analysts:
        return f"{row.reviewer} is the analyst or made firings of this day"
    if row.date is None:
        return "it has no date"
    if row.where or row.firing:
        return "results are released by the sample; Where and Firing no. stay blank"
    if not covered:
        return f"there is no sample {row.sample}" if row.sample else "there is no sample"
    if row.date < last:
        return f"it is dated {row.date.isoformat()}, before the last firing ({last.isoformat()})"
    return ""


def _too_early(evaluation: Evaluation, covered: Sequence[SampleResult]) -> str:
    """Return what stands in the way of a release of these samples, or ""."""
    waiting = [f"{sample.sample} ({sample.decision})" for sample in covered if sample.decision is not Decision.READY]
    if waiting:
        return f"not ready {'is' if len(waiting) == 1 else 'are'} {_some(waiting)}"
    names = {sample.sample for sample in covered}
    others = {sample.sample for sample in evaluation.samples} - names
    of = {firing.row.firing: firing.row.sample for firing in evaluation.firings if firing.row.sample}
    stops = [
        finding
        for finding in evaluation.findings
        if finding.severity.stops and (finding.sample or of.get(finding.firing or "", "")) not in others
    ]
    stops += [f for sample in covered for f in sample.findings if f.severity.stops and f not in stops]
    if not stops:
        return ""
    words = _some(list(dict.fromkeys(f"{f.code}{f' ({f.where})' if f.where else ''}" for f in stops)))
    return f"{'a finding stands' if len(stops) == 1 else f'{len(stops)} findings stand'} in the way: {words}"


def _some(names: Sequence[str]) -> str:
    return ", ".join(names[:4]) + (f" and {len(names) - 4} more" if len(names) > 4 else "")


def values_of(sample: SampleResult) -> dict[str, float]:
    """Return the values of a sample in J/g by name, with their expanded uncertainties where those are complete."""
    found: dict[str, float | None] = {f"gross, {basis}": value for basis, value in sample.gross_J_per_g.items()}
    found |= {f"net, constant pressure, {basis}": value for basis, value in sample.net.constant_pressure.items()}
    found |= {f"net, constant volume, {basis}": value for basis, value in sample.net.constant_volume.items()}
    found |= {
        f"expanded uncertainty, {VALUE_NAMES[name]}": entry.expanded_J_per_g
        for name, entry in sample.uncertainty.items()
        if entry.complete
    }
    return {name: value for name, value in found.items() if value is not None}


def _differences(
    earlier: Mapping[str, Mapping[str, float]], now: Mapping[str, Mapping[str, float]]
) -> tuple[ValueChange, ...]:
    """Return where the values of samples that were released are others now; those released anew are none."""
    changes = []
    for sample, values in earlier.items():
        others = now.get(sample, {})
        for name in dict.fromkeys([*values, *others]):
            before, after = values.get(name), others.get(name)
            if before is None or after is None or not math.isclose(before, after, rel_tol=_SAME):
                changes.append(ValueChange(sample, name, before, after))
    return tuple(changes)


def settings_in_force(settings: Settings) -> dict[str, str]:
    """Return every item of Setup that bears on a value or a verdict, by its name, with unit, date and source.

    Items of text (who, whose, which day) are none of them, nor is the decimal mark.
    """
    found: dict[str, str] = {}
    for item in SETUP_ITEMS:
        if item.kind in ("text", "date") or item.key == "decimal_mark":
            continue
        if item.key == "heat_capacity":
            for entry in settings.heat_capacities:
                label = "/".join(filter(None, (entry.calorimeter, entry.bomb)))
                found[f"{item.name} [{label}]"] = _words(entry.quantity)
        elif item.key in ("aid_heat", "capsule_heat"):
            heats = settings.aid_heats if item.key == "aid_heat" else settings.capsule_heats
            found |= {f"{item.name} [{label}]": _words(heat) for label, heat in heats.items()}
        else:
            words = _words(getattr(settings, item.key))
            found |= {item.name: words} if words else {}
    if settings.net_required:
        found["Bases required"] = ", ".join(filter(None, (found.get("Bases required"), "net")))
    return found


def _words(value: object) -> str:
    if isinstance(value, Quantity):
        since = value.in_force_from.isoformat() if value.in_force_from else ""
        source = value.source.strip().removesuffix(".")
        return "; ".join(filter(None, (f"{value.value:.15g} {value.unit}".strip(), since, source)))
    if isinstance(value, tuple):
        return ", ".join(str(part) for part in value)
    return "" if value is None else f"{value:.15g}" if isinstance(value, float) else str(value)


def setting_changes(earlier: Mapping[str, str], now: Mapping[str, str]) -> list[tuple[str, str, str]]:
    """Return item, earlier and present words of every setting that is another now; "" where there is none."""
    return [
        (item, earlier.get(item, ""), now.get(item, ""))
        for item in dict.fromkeys([*earlier, *now])
        if earlier.get(item, "") != now.get(item, "")
    ]
