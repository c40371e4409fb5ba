"""The library call behind ``batchcal trend``: read the results files of many days, write the page and its tables."""

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

from msgspec import Struct

from batchcal.errors import BatchcalError, UsageError
from batchcal.history import History, Passed
from batchcal.outputs import standing, write_files
from batchcal.report.trend import trend_page
from batchcal.trend.figures import history
from batchcal.trend.read import read_folders
from batchcal.workbook.trend import trend_workbook

PAGE, WORKBOOK = "trend.summary.html", "trend.results.xlsx"


class LongRun(Struct, frozen=True):
    """The long run of some folders, and where it was written."""

    history: History
    page: Path
    workbook: Path


class NothingReadError(BatchcalError):
    """No results file could be read, or none of the days asked for has a firing; ``passed`` names the others."""

    def __init__(self, message: str, passed: Sequence[Passed]) -> None:
        super().__init__(message)
        self.passed = tuple(passed)


def long_run(
    folders: Sequence[Path],
    out: Path | None = None,
    *,
    force: bool = False,
    since: dt.date | None = None,
    until: dt.date | None = None,
) -> LongRun:
    """Read every results file in the folders and write the page and, before it, the workbook with its tables.

    They go to ``out``, else to the folder itself. ``since`` and ``until`` are the first and the last day that count.
    Raises UsageError where that is against itself, where several folders are given without ``out``, or where outputs
    stand already and ``force`` is not given; NothingReadError where nothing is left to count; OutputError where a
    file cannot be written.
    """
    if out is None and len(folders) > 1:
        raise UsageError("several folders are read: say with --out where the page shall stand")
    if since and until and since > until:
        raise UsageError(f"--since {since} is after --until {until}")
    target = folders[0] if out is None else out
    page, workbook = target / PAGE, target / WORKBOOK
    already = standing(workbook, page)
    if already and not force:
        raise UsageError(f"{' and '.join(already)}: already in {target}; use --force, or another --out")
    days, passed = read_folders(folders)
    where = ", ".join(str(folder) for folder in folders)
    if not days:
        raise NothingReadError(f"{where}: no results file (*.results.json) that can be read", passed)
    found = history(days, passed, since, until)
    if found is None:
        raise NothingReadError(f"{where}: no results file holds a firing with a date among the days asked for", passed)
    write_files({workbook: trend_workbook(found), page: trend_page(found, WORKBOOK).encode()})
    return LongRun(found, page, workbook)
