"""What is asked for one workbook of many, and what came of it; both travel between processes."""

from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path

from msgspec import Struct, field

from batchcal.findings import Severity
from batchcal.outputs import OutputSet
from batchcal.terms import Decision


class Replacing(StrEnum):
    """Which outputs that stand already are replaced."""

    NONE = "none"
    OUT_OF_DATE = "out of date"
    ALL = "all"


class Outcome(StrEnum):
    """What came of one workbook."""

    DONE = "done"
    UP_TO_DATE = "up to date"
    REFUSED = "refused"
    FAILED = "failed"
    NOT_REACHED = "not reached"


class Task(Struct, frozen=True):
    """One workbook, where its outputs go, and how it is read."""

    path: Path
    outputs: OutputSet
    method: str | None = None
    columns: Path | None = None
    replacing: Replacing = Replacing.NONE

    def absolute(self) -> "Task":
        """Return the same task for a process that works in another folder."""
        outputs = OutputSet(*(path.absolute() for path in self.outputs.paths))
        columns = None if self.columns is None else self.columns.absolute()
        return Task(self.path.absolute(), outputs, self.method, columns, self.replacing)


class Entry(Struct, frozen=True):
    """One workbook in the table and in the index."""

    outcome: Outcome
    exit_status: int
    sha256: str | None = None
    """SHA-256 of the workbook; None where it could not be read or was not reached."""
    decisions: Mapping[Decision, int] = field(default_factory=dict)
    severity: Severity | None = None
    """The weightiest severity among the findings; None where there is none."""
    error: str | None = None
    """One line that says why it was refused or failed."""
    remarks: tuple[str, ...] = ()


NOT_REACHED = Entry(Outcome.NOT_REACHED, 0)
