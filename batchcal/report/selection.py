"""What of a long log the page shows in detail: all that is not ready, and the newest day; the rest is told by day.

Nothing that needs doing is left out: a sample that is not ready and finds no room in detail has its line with its
reason. Every figure of every firing stands in the results workbook.
"""

import datetime as dt
from collections.abc import Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from batchcal.model import Evaluation, FiringResult, SampleResult
from batchcal.report.words import counted, date, joined, rows, sentence
from batchcal.terms import Decision, Purpose

ALL_SHOWN = 60
"""Up to this many firings are all shown in detail; a day has about thirty with its calibration."""

MOST_SAMPLES = 40
"""Samples of a long log that are shown in detail."""

FEWEST_OF_LAST_DAY = 12
"""For this many of the last day there is room, however many wait from before."""

MOST_OTHERS = 12
"""Firings of a long log that belong to no sample and are shown for themselves: checks, and rows that stop."""

_NAMED = 6
"""Up to this many samples of a day that are ready are named, of more the first and the last."""


class OlderRow(Struct, frozen=True):
    """Samples of a long log that are not shown in detail: of one day, or held by one reason."""

    day: str
    decision: Decision
    samples: str
    reason: str
    where: str


class Selection(Struct, frozen=True):
    """``shown`` is the evaluation with only those samples and firings that are shown in detail."""

    shown: Evaluation
    note: str = ""
    """What is shown and where the rest is, or "" where all is shown."""
    older: tuple[OlderRow, ...] = ()


def select(evaluation: Evaluation) -> Selection:
    """Return what the page shows in detail: everything, but of a long log only what is not ready or newest."""
    if len(evaluation.firings) <= ALL_SHOWN:
        return Selection(evaluation)
    days = {sample.sample: _day(sample.firings) for sample in evaluation.samples}
    newest = max((day for day in days.values() if day is not None), default=None)
    open_ones = [sample for sample in evaluation.samples if sample.decision is not Decision.READY]
    ready = [sample for sample in evaluation.samples if sample.decision is Decision.READY]
    last = [sample for sample in ready if days[sample.sample] == newest]
    open_ones = sorted(open_ones, key=lambda sample: days[sample.sample] or dt.date.min)[-MOST_SAMPLES:]
    room = max(FEWEST_OF_LAST_DAY, MOST_SAMPLES - len(open_ones))
    kept = {sample.sample for sample in [*open_ones, *last[-room:]]}
    samples = tuple(sample for sample in evaluation.samples if sample.sample in kept)
    shown = replace(evaluation, samples=samples, firings=_firings(evaluation, samples))
    older = [sample for sample in evaluation.samples if sample.sample not in kept]
    return Selection(shown, _note(evaluation, shown, older, newest), tuple(_older(older, days)))


def _day(firings: Iterable[FiringResult]) -> dt.date | None:
    """Return the last day of firings that have a date."""
    return max((firing.date for firing in firings if firing.date is not None), default=None)


def _firings(evaluation: Evaluation, samples: Sequence[SampleResult]) -> tuple[FiringResult, ...]:
    """Return the firings of the samples, those of the heat capacities that they use, and the last of the others."""
    if not samples:
        return evaluation.firings[-ALL_SHOWN:]
    own = {id(firing.row) for sample in samples for firing in sample.firings}
    series = {
        name for sample in samples for firing in sample.firings if firing.series for name in firing.series.firings
    }
    for firing in evaluation.firings:
        if firing.purpose is Purpose.CALIBRATION and firing.row.firing in series:
            own.add(id(firing.row))
    others = [
        firing
        for firing in evaluation.firings
        if firing.purpose is not Purpose.SAMPLE and id(firing.row) not in own
        if firing.purpose is Purpose.CHECK or any(finding.severity.stops for finding in firing.findings)
    ]
    own.update(id(firing.row) for firing in others[-MOST_OTHERS:])
    return tuple(firing for firing in evaluation.firings if id(firing.row) in own)


def _note(evaluation: Evaluation, shown: Evaluation, older: Sequence[SampleResult], newest: dt.date | None) -> str:
    left = any(sample.decision is not Decision.READY for sample in older)
    which = "samples that are not ready" if left else "every sample that is not ready"
    day = "" if newest is None else f" and those of the last day, {date(newest)}"
    text = (
        f"A long log: {counted(len(evaluation.firings), 'firing')} of {counted(len(evaluation.samples), 'sample')}. "
        f"In detail stand {which}{day}: {counted(len(shown.samples), 'sample')} and "
        f"{counted(len(shown.firings), 'firing')}, checks and calibrations in use among them."
    )
    listed = f" The other {counted(len(older), 'sample')} are listed below." if older else ""
    return f"{text}{listed} All figures stand in the results workbook; batchcal explain works any number through."


def _older(samples: Sequence[SampleResult], days: dict[str, dt.date | None]) -> Iterable[OlderRow]:
    """Yield those that are not plainly ready by reason, weightiest first, then the ready ones by day, newest first."""
    waiting: dict[tuple[int, str, str], list[SampleResult]] = {}
    ready: dict[dt.date, list[SampleResult]] = {}
    for sample in samples:
        if sample.decision is Decision.READY and not sample.released_over:
            ready.setdefault(days[sample.sample] or dt.date.min, []).append(sample)
        else:
            reason = sentence(sample.why.removeprefix(f"Sample {sample.sample}: "))
            waiting.setdefault((-sample.decision.rank, sample.decision, reason), []).append(sample)
    for (_, _, reason), group in sorted(waiting.items(), key=lambda item: item[0][0]):
        day = max((day for day in (days[sample.sample] for sample in group) if day is not None), default=None)
        names = joined(sample.sample for sample in group)
        yield OlderRow(date(day), group[0].decision, names, reason, _where(group))
    for day, group in sorted(ready.items(), reverse=True):
        named = _named([sample.sample for sample in group])
        yield OlderRow(date(None if day == dt.date.min else day), Decision.READY, named, "", _where(group))


def _where(samples: Iterable[SampleResult]) -> str:
    """Return the rows of Samples, those that follow one another gathered."""
    return joined(rows(sample.row.place for sample in samples if sample.row is not None))


def _named(names: Sequence[str]) -> str:
    """Return names in words: all of a few, of more how many there are and the first and last in the workbook."""
    return joined(names) if len(names) <= _NAMED else f"{len(names)}: {names[0]} to {names[-1]}"
