"""How far the work on many workbooks is, in one line."""

from batchcal.many.entry import Entry, Outcome


class Progress:
    """Counts what is done and estimates what is left, from the pace of those that were really worked on."""

    def __init__(self, total: int) -> None:
        self._total = total
        self._done = self._skipped = self._failed = 0

    def count(self, entry: Entry) -> None:
        """Count one more workbook of which it is known what came of it."""
        self._done += 1
        self._skipped += entry.outcome is Outcome.UP_TO_DATE
        self._failed += entry.outcome in (Outcome.FAILED, Outcome.REFUSED)

    def line(self, seconds: float) -> str:
        """Return the line, ``seconds`` after the start; blank where nothing is left to do."""
        worked, left = self._done - self._skipped, self._total - self._done
        said = f"{self._done} of {self._total} done, {self._failed} failed"
        if not left:
            return ""
        return f"{said}, about {_time(seconds / worked * left)} left" if worked else said


def _time(seconds: float) -> str:
    if seconds < 100:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 6000 else f"{seconds / 3600:.1f} h"
