"""Firing numbers that are used more than once: a slip of the pen, or a log that numbers each day or sheet anew."""

from collections.abc import Mapping, Sequence

from batchcal.evaluate.wording import listed
from batchcal.findings import Finding
from batchcal.logged import FiringRow

RESTARTED = 3
"""So many numbers that come back on another date or sheet are no slip: the numbers start anew; no source."""


class Numbering:
    """The rows of each firing number of a log."""

    def __init__(self, rows: Sequence[FiringRow]) -> None:
        """Take in the rows of Calibration and Runs."""
        numbered: dict[str, list[FiringRow]] = {}
        for row in rows:
            if row.firing:
                numbered.setdefault(row.firing, []).append(row)
        self._shared = {number: same for number, same in numbered.items() if len(same) > 1}
        self._anew = {number: same for number, same in self._shared.items() if _once_a_day(same)}
        self._restart = _restarted(self._anew) if len(self._anew) >= RESTARTED else None

    def doubt(self, row: FiringRow) -> Finding | None:
        """Return the finding about a number that other rows have as well; the same one for all that start anew."""
        same = self._shared.get(row.firing)
        if same is None:
            return None
        if self._restart is not None and row.firing in self._anew:
            return self._restart
        others = [f"{other.place.sheet} row {other.place.row}" for other in same if other is not row]
        return row.place.finding(
            "firing-number-twice", "firing", firing=row.firing, sample=row.sample, other=", ".join(others)
        )


def _once_a_day(same: Sequence[FiringRow]) -> bool:
    return len({(row.place.sheet, row.date) for row in same}) == len(same)


def _restarted(anew: Mapping[str, Sequence[FiringRow]]) -> Finding:
    """Return what is said of numbers each of which comes back on another date or sheet."""
    number, same = next(iter(anew.items()))
    seen = [f"{row.place.sheet} row {row.place.row}{f' of {row.date}' if row.date else ''}" for row in same[:2]]
    seen += [f"{len(same) - 2} more"] if len(same) > 2 else []
    return same[1].place.finding(
        "firing-numbers-restart", "firing", count=sum(map(len, anew.values())), number=number, places=listed(seen)
    )
