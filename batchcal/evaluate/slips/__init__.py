"""Slips of the pen and of the spreadsheet that the figures of a day give away.

Each finder looks at the whole day, worked out but not yet judged, and says what it suspects, where, and whom it
touches. Nothing is ever corrected. A finding that stops is attached to its firings and samples before these are
judged, so that it forces their decision; what merely follows from it is then left unsaid (``Kind.silences``).
"""

from collections.abc import Callable, Iterable, Sequence

from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips import (
    benches,
    constants_typed,
    copies,
    expectations,
    formula_columns,
    identities,
    own_means,
    own_results,
    pairs,
    powers,
    records,
    shifts,
    tares,
    timing,
    titrations,
    turns,
)
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.evaluate.slips.records import without_means
from batchcal.findings import Finding
from batchcal.model import Settings
from batchcal.terms import Purpose

__all__ = ["Day", "Slip", "find", "unfounded", "without_means"]

FINDERS: tuple[Callable[[Day], Iterable[Slip]], ...] = (
    shifts.find,
    powers.find,
    copies.find,
    identities.find,
    pairs.find,
    turns.find,
    timing.find,
    records.find,
    tares.find,
    titrations.find,
    own_results.find,
    own_means.find,
    formula_columns.find,
    constants_typed.find,
    benches.find,
    expectations.find,
)
"""Every finder, in the order in which they are asked."""


def unfounded(firings: Sequence[Firing], settings: Settings) -> list[Finding]:
    """Stop, before anything is worked out, rows without inputs and those whose date cannot be."""
    return [*records.without_inputs(firings), *timing.swapped_dates(firings, settings)]


def find(day: Day) -> list[Finding]:
    """Ask every finder and attach what it suspects to the firings and samples that it touches."""
    found = []
    for finder in FINDERS:
        for slip in finder(day):
            found.append(slip.finding)
            _attach(slip, day)
    return found


def _attach(slip: Slip, day: Day) -> None:
    for firing in slip.firings:
        firing.attach([slip.finding])
        if firing.purpose is Purpose.CALIBRATION and slip.finding.severity.stops:
            for other in _resting_on(firing, day):
                other.make_provisional([slip.finding])
    for sample in slip.samples:
        if sample in day.contents and slip.finding not in day.contents[sample].found:
            day.contents[sample].found.append(slip.finding)


def _resting_on(calibration: Firing, day: Day) -> list[Firing]:
    """Return the firings whose heat capacity comes from a series with this calibration firing in it."""
    number = calibration.row.firing
    return [firing for firing in day.firings if firing.counts and firing.series and number in firing.series.firings]
