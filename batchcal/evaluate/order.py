"""The order in which firings were made."""

import datetime as dt
from collections.abc import Iterable

from batchcal.evaluate.firings import Firing


def in_firing_order(firings: Iterable[Firing]) -> list[Firing]:
    """Return firings by date and time; within a day on which one of them has no time, in the order of the sheets.

    A firing without a date comes last.
    """
    known = list(firings)
    untimed = {firing.date for firing in known if firing.row.time is None}

    def moment(firing: Firing) -> tuple[dt.date, dt.time]:
        time = None if firing.date in untimed else firing.row.time
        return firing.date or dt.date.max, time or dt.time.min

    return sorted(known, key=moment)
