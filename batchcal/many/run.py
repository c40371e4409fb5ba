"""The library call behind ``batchcal process`` on many workbooks."""

from collections.abc import Callable, Sequence
from pathlib import Path

from msgspec import Struct

from batchcal.errors import INTERRUPTED_STATUS, BatchcalError, UsageError
from batchcal.many.entry import NOT_REACHED, Entry, Outcome, Task
from batchcal.many.here import Told, work_here
from batchcal.many.index import NAME, refuse_unfit, write_index
from batchcal.tables import table
from batchcal.terms import Decision


class Many(Struct, frozen=True):
    """What came of many workbooks, in the order in which they were named."""

    tasks: tuple[Task, ...]
    entries: tuple[Entry, ...]
    index: Path | None
    interrupted: bool
    bugs: tuple[BaseException, ...] = ()
    ended: str = ""
    """Why the work ended before all was done, other than by Ctrl-C; blank where it did not."""

    @property
    def exit_status(self) -> int:
        """The highest of all, or that of an interrupted program."""
        if self.interrupted:
            return INTERRUPTED_STATUS
        highest = max(entry.exit_status for entry in self.entries)
        return max(highest, BatchcalError.exit_status) if self.ended else highest


def index_place(paths: Sequence[Path], out: Path | None, index: Path | None) -> Path | None:
    """Return where the index goes: where it is asked for, else into ``out``, else into the one folder that is named."""
    if index is not None:
        return index
    if out is not None:
        return out / NAME
    return paths[0] / NAME if len(paths) == 1 and paths[0].is_dir() else None


def process_many(
    tasks: Sequence[Task],
    *,
    told: Told,
    stopping: Callable[[], None],
    jobs: int | None = None,
    scheduler: str | None = None,
    index: Path | None = None,
) -> Many:
    """Process workbooks in ``jobs`` processes of this machine (1), or on the workers of a scheduler at an address.

    ``told`` is called for each as soon as it is known what came of it. Raises UsageError before anything is done, where
    both are asked for or the index cannot stand at its place. Ctrl-C ends the work, and what is done stays done;
    ``stopping`` is called where the workbooks at hand are finished first.
    """
    if jobs is not None and scheduler is not None:
        raise UsageError("--jobs is for this machine and --scheduler for others; give one of them")
    if index is not None:
        refuse_unfit(index)
    entries = [NOT_REACHED] * len(tasks)

    def keep(position: int, entry: Entry) -> None:
        entries[position] = entry
        told(position, entry)

    bugs: list[BaseException] = []
    interrupted, ended = False, ""
    try:
        if scheduler is None:
            bugs = work_here(tasks, jobs or 1, keep, stopping)
        else:
            bugs, ended = _elsewhere()(tasks, scheduler, keep)
    except KeyboardInterrupt:
        interrupted = True
    if index is not None:
        write_index(index, tasks, entries)
    return Many(tuple(tasks), tuple(entries), index, interrupted, tuple(bugs), ended)


def _elsewhere() -> Callable[[Sequence[Task], str, Told], tuple[list[BaseException], str]]:
    try:
        from batchcal.many.elsewhere import work_elsewhere
    except ModuleNotFoundError as error:
        if error.name not in ("distributed", "dask"):
            raise
        raise UsageError("--scheduler needs the extra: pip install 'batchcal[distributed]'") from error
    return work_elsewhere


def outcome_table(many: Many) -> list[str]:
    """Return the lines of the table of verdicts: one line a workbook."""
    names = [task.path.name for task in many.tasks]
    if len(set(names)) < len(names):
        names = [str(task.path) for task in many.tasks]
    rows = []
    for name, entry in zip(names, many.entries, strict=True):
        known = entry.outcome in (Outcome.DONE, Outcome.UP_TO_DATE)
        counts = [str(entry.decisions.get(decision, 0)) if known else "-" for decision in Decision]
        rows.append((name, str(entry.outcome), *counts, str(entry.severity or ("none" if known else "-"))))
    return table(("workbook", "outcome", *(str(decision) for decision in Decision), "findings"), rows, range(2, 6))


def outcome_line(many: Many) -> str:
    """Return in one line how many workbooks came to what, and why the work ended if that was too early."""
    counts = {outcome: sum(entry.outcome is outcome for entry in many.entries) for outcome in Outcome}
    said = ", ".join(f"{count} {outcome}" for outcome, count in counts.items() if count)
    early = f"; {many.ended}: give the command again to go on" if many.ended else ""
    return f"{len(many.entries)} workbooks: {said}{early}"
