"""What a check that is out puts in doubt: the firings of its apparatus between two good checks, and its own day's.

A check is good where it was worked out and is within its limit; a warning is no more than that. One that is out, or
that could not be worked out, says that the apparatus was last known to be in order at the good check before it, and
is known to be so again from the good one after it, or from a heat capacity of a later day.
"""

import datetime as dt
from collections.abc import Iterator, Sequence

from msgspec import Struct, field

from batchcal.evaluate.firings import Firing
from batchcal.evaluate.order import in_firing_order
from batchcal.model import Series
from batchcal.terms import FiringState, Purpose


class Span(Struct):
    """The firings of one apparatus from a good check, or a new heat capacity, to the next, in their order."""

    before: Firing | None = None
    """The good check that it begins with."""
    capacity: Series | None = None
    """The heat capacity of a later day that it begins with, where that is no good check."""
    events: list[Firing] = field(default_factory=list)
    """Samples and bad checks."""

    @property
    def bad(self) -> list[Firing]:
        """The checks that are out or could not be worked out."""
        return [firing for firing in self.events if firing.purpose is Purpose.CHECK]

    @property
    def samples(self) -> list[Firing]:
        """The sample firings that take part in results."""
        return [firing for firing in self.events if firing.purpose is Purpose.SAMPLE]

    def against(self) -> Iterator[tuple[Firing, list[Firing]]]:
        """Yield each sample firing with the bad checks of the day of the nearest one before it and after it."""
        of_day: dict[dt.date | None, list[Firing]] = {}
        for check in self.bad:
            of_day.setdefault(check.date, []).append(check)
        days: dict[int, dict[dt.date | None, None]] = {}
        for events in (self.events, self.events[::-1]):
            nearest: Firing | None = None
            for firing in events:
                if firing.purpose is Purpose.CHECK:
                    nearest = firing
                elif nearest is not None:
                    days.setdefault(id(firing), {})[nearest.date] = None
        for firing in self.samples:
            yield firing, [check for day in days.get(id(firing), ()) for check in of_day[day]]


def is_out(check: Firing) -> bool:
    """Whether a check was found beyond its limit."""
    return any(finding.code == "check-out" for finding in check.found)


def is_bad(check: Firing) -> bool:
    """Whether a check that takes part is out, or could not be worked out."""
    return check.state is FiringState.NOT_COMPUTED or (check.counts and is_out(check))


def spans(firings: Sequence[Firing]) -> Iterator[tuple[tuple[str, str], Span]]:
    """Yield each apparatus with its spans that hold a bad check, in the order of firing.

    A check without a date has no place among them.
    """
    doubtful = {firing.apparatus for firing in _bad_checks(firings) if firing.date is not None}
    if not doubtful:
        return
    by_apparatus: dict[tuple[str, str], list[Firing]] = {}
    for firing in firings:
        if firing.apparatus in doubtful and _takes_part(firing):
            by_apparatus.setdefault(firing.apparatus, []).append(firing)
    for apparatus, members in by_apparatus.items():
        yield from ((apparatus, span) for span in _spans(in_firing_order(members)))


def _bad_checks(firings: Sequence[Firing]) -> list[Firing]:
    return [firing for firing in firings if firing.purpose is Purpose.CHECK and is_bad(firing)]


def _takes_part(firing: Firing) -> bool:
    if firing.date is None:
        return False
    if firing.purpose is Purpose.CHECK:
        return is_bad(firing) or (firing.counts and firing.recovery_percent is not None)
    return firing.purpose is Purpose.SAMPLE and firing.counts


def _spans(ordered: Sequence[Firing]) -> Iterator[Span]:
    span, last = Span(), None
    for firing in ordered:
        if last is not None and _has_newer_capacity(firing, last):
            yield span
            span, last = Span(capacity=firing.series), None
        if firing.purpose is Purpose.CHECK and not is_bad(firing):
            if last is not None:
                yield span
            span, last = Span(before=firing), None
            continue
        span.events.append(firing)
        if firing.purpose is Purpose.CHECK:
            last = firing
    if last is not None:
        yield span


def _has_newer_capacity(firing: Firing, check: Firing) -> bool:
    """Whether a firing rests on a heat capacity of a later day than a check: the check says nothing of that."""
    date = firing.series.date if firing.series is not None else None
    return date is not None and check.date is not None and date > check.date


def held(firings: Sequence[Firing]) -> Iterator[tuple[Firing, list[Firing]]]:
    """Yield each sample firing that bad checks put in doubt, with those checks.

    These are the bad ones of its own day, a good one after them or not; and of its span those on the day of the
    nearest before it and of the nearest after it. A check whose apparatus or date is not known may be that of any.
    """
    checks = _bad_checks(firings)
    if not checks:
        return
    lost = [check for check in checks if check.row.unreadable & {"calorimeter", "bomb", "date"}]
    of_day: dict[tuple[tuple[str, str], dt.date | None], list[Firing]] = {}
    for check in checks:
        of_day.setdefault((check.apparatus, check.date), []).append(check)
    between = {id(firing): against for _, span in spans(firings) for firing, against in span.against()}
    for firing in firings:
        if firing.purpose is not Purpose.SAMPLE or not firing.counts:
            continue
        against = [
            *of_day.get((firing.apparatus, firing.date), ()),
            *of_day.get((firing.apparatus, None), ()),
            *between.get(id(firing), ()),
            *lost,
        ]
        if against:
            yield firing, list({id(check): check for check in against}.values())
