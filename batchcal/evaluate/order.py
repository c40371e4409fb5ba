"""The order in which firings were made."""

import datetime as dt
from collections.abc import Iterable

from batchcal.evaluate.firings import Firing


def in_firing_order(firings: Iterable[Firing]) -> list[Firing]:
    """Return firings by date and time; within a day on which one of them has no time, by their running number.

    Where a number is none that runs, the order of the sheets stands. A firing without a date comes last.
    """
    known = list(firings)
    untimed = {firing.date for firing in known if firing.row.time is None}

    unnumbered = {firing.date for firing in known if not firing.row.firing.isdecimal()}

    def moment(firing: Firing) -> tuple[dt.date, dt.time, int]:
        time = None if firing.date in untimed else firing.row.time
        number = 0 if firing.date in unnumbered else int(firing.row.firing)
        return firing.date or dt.date.max, time or dt.time.min, number

    return sorted(known, key=moment)
