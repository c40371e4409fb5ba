"""The order in which firings were made."""

import datetime as dt
from collections.abc import Iterable, Sequence
from itertools import pairwise

from batchcal.evaluate.firings import Firing

EVENING = dt.time(18)
"""A shift logged under one date falls past midnight from a time not earlier than this; common practice, no source."""

MORNING = dt.time(6)
"""And to a time not later than this; common practice, no source."""


def in_firing_order(firings: Iterable[Firing]) -> list[Firing]:
    """Return firings by date and time; within a day on which one of them has no time, by their running number.

    Where a number is none that runs, the order of the sheets stands. So it does, or that of the numbers, for a night
    shift that is logged under the date on which it began. A firing without a date comes last.
    """
    days: dict[dt.date, list[Firing]] = {}
    for firing in firings:
        days.setdefault(firing.date or dt.date.max, []).append(firing)
    return [firing for date in sorted(days) for firing in _within(days[date])]


def _within(members: Sequence[Firing]) -> list[Firing]:
    """Return the firings of one date in their order."""
    numbered = all(firing.row.firing.isdecimal() for firing in members)
    line = sorted(members, key=_number) if numbered else list(members)
    timed = [(firing.row.time, firing) for firing in line if firing.row.time is not None]
    if len(timed) < len(line):
        return line
    if _is_night([time for time, _ in timed]) and _as_on_the_sheets(line, members):
        return line
    return [firing for _, firing in sorted(timed, key=lambda entry: entry[0])]


def _number(firing: Firing) -> int:
    return int(firing.row.firing)


def _is_night(times: Sequence[dt.time]) -> bool:
    """Whether times run on through midnight: they fall once, from the evening, and stay below where they began."""
    falls = [(before, after) for before, after in pairwise(times) if after < before]
    return len(falls) == 1 and falls[0][0] >= EVENING and falls[0][1] <= MORNING and times[-1] < times[0]


def _as_on_the_sheets(line: Sequence[Firing], members: Sequence[Firing]) -> bool:
    """Whether an order is that of the rows of each sheet as well."""

    def rows(firings: Sequence[Firing]) -> list[tuple[str, int]]:
        return sorted(((f.row.place.sheet, f.row.place.row) for f in firings), key=lambda place: place[0])

    return rows(line) == rows(members)
