"""What other sheets say of a firing, joined to it by its number: the titration of its washings, its readings."""

from collections import Counter
from collections.abc import Sequence

from batchcal.evaluate import acids, combustion, curves, titrants
from batchcal.evaluate.doubts import Doubts
from batchcal.evaluate.firings import Firing
from batchcal.findings import Finding
from batchcal.logged import Batch
from batchcal.model import Settings


def join_titrations(batch: Batch, settings: Settings, firings: Sequence[Firing]) -> list[Finding]:
    """Give every firing the titration of its washings, with its strength; returns the findings made."""
    numbers = Counter(firing.row.firing for firing in firings)
    joined, found = acids.join(batch.titrations, numbers, number_lost=_number_lost(firings))
    if not combustion.needs_titre(settings):
        return [*found, *acids.unused(joined, settings)]
    doubts = Doubts(finding for finding in batch.findings if finding.severity.stops)
    made, more = titrants.standardisations(batch, settings)
    found += more
    twice = {finding.firing: finding for finding in found if finding.code == "titration-twice"}
    for firing in firings:
        if not firing.computable:
            continue
        number = firing.row.firing
        firing.titration = joined.get(number)
        if number in twice:
            firing.stop(twice[number])
        elif firing.titration is not None and firing.titration.unreadable:
            firing.stop(*doubts.of(firing.titration.place, firing.titration.unreadable))
        elif firing.titration is not None and made:
            firing.titration, more = titrants.with_strength(firing.titration, firing.date, made, settings)
            firing.attach(more)
            found += more
    return [*found, *titrants.compare_typed(firings, made)]


def join_readings(batch: Batch, settings: Settings, firings: Sequence[Firing]) -> list[Finding]:
    """Work out the curve of every firing with time readings; returns the findings that name no firing."""
    grouped = curves.by_firing(batch.readings)
    doubts = Doubts(finding for finding in batch.findings if finding.severity.stops)
    for firing in firings:
        readings = grouped.pop(firing.row.firing, None)
        if readings is None or not firing.computable:
            continue
        if any(reading.unreadable for reading in readings):
            firing.stop(*(f for reading in readings for f in doubts.of(reading.place, reading.unreadable)))
            continue
        worked = curves.work_out(firing.row, readings, settings)
        firing.curve = worked.curve
        firing.attach(worked.findings)
        if any(finding.severity.stops for finding in worked.findings):
            firing.stop(*(finding for finding in worked.findings if finding.severity.stops))
    if _number_lost(firings):
        return []
    return [rows[0].place.finding("readings-without-firing", "firing", firing=name) for name, rows in grouped.items()]


def _number_lost(firings: Sequence[Firing]) -> bool:
    """Whether a firing's number cannot be read, so that what seems to belong to no firing may be of that one."""
    return any("firing" in firing.row.unreadable for firing in firings)


def reading_modes(firings: Sequence[Firing]) -> list[Finding]:
    """Return a finding for each firing that was read otherwise than the series of its heat capacity."""
    with_curve = {firing.row.firing for firing in firings if firing.curve is not None}
    if not with_curve:
        return []
    words = {True: "against time", False: "without times"}
    found = []
    for firing in firings:
        if firing.series is None or not firing.series.firings or not firing.counts:
            continue
        modes = {name in with_curve for name in firing.series.firings}
        own = firing.curve is not None
        if own not in modes:
            finding = firing.row.place.finding(
                "reading-mode-differs", "rise_K", firing=firing.row.firing, sample=firing.row.sample,
                mode=words[own], other=words[not own],
            )  # fmt: skip
            firing.attach([finding])
            found.append(finding)
    return found
