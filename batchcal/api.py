"""For programs in Python: read a workbook, evaluate it, and write the outputs that ``batchcal process`` writes.

The results as tables of pandas are in :mod:`batchcal.frames`. Every function raises BatchcalError with one clear line
where it cannot go on; doubts about the data are findings of the evaluation and are never raised.
"""

from pathlib import Path

from msgspec import Struct

from batchcal.errors import BatchcalError, UsageError
from batchcal.evaluate import evaluate as evaluate_batch
from batchcal.logged import Batch
from batchcal.model import Evaluation
from batchcal.outputs import OutputSet, refuse_output
from batchcal.process import Done, read_log, write_evaluation
from batchcal.terms import METHOD_KEYS
from batchcal.workbook.source import Source

__all__ = ["BatchcalError", "Done", "Evaluation", "Log", "evaluate", "read", "write"]


class Log(Struct, frozen=True):
    """One workbook that was read: where it stands, its bytes and sheets as they came, and the rows of its log."""

    path: Path
    source: Source
    batch: Batch


def read(path: str | Path, columns: str | Path | None = None) -> Log:
    """Read a workbook (.xlsx, .xlsm, .xls, .ods, or .csv with a map); nothing is written.

    ``columns`` is the map of a lab's own sheets, as ``batchcal columns`` makes it. Raises WorkbookError where the
    workbook cannot be read, and UsageError for a map that cannot and for a file that is one of the outputs.
    """
    file = Path(path)
    refuse_output(file)
    source, batch = read_log(file, None if columns is None else Path(columns))
    return Log(file, source, batch)


def evaluate(log: Log, method: str | None = None) -> Evaluation:
    """Work out everything that follows from a log: firings, heat capacities, samples and findings.

    ``method`` is the method's key where Setup names none. Raises UsageError where it is no key of a method, or Setup
    names another.
    """
    if method is not None and method not in METHOD_KEYS:
        raise UsageError(f"{method!r} is no method; one of {', '.join(METHOD_KEYS)}")
    return evaluate_batch(log.batch, method)


def write(
    log: Log,
    evaluation: Evaluation,
    out: str | Path | None = None,
    *,
    force: bool = False,
    certificate: bool = False,
) -> Done:
    """Write results workbook, summary page and results.json of an evaluation as ``evaluate`` made it: all, or none.

    They go beside the workbook or into the folder ``out``, which is made where it is missing. The sheets are those that
    were read, whatever has become of the file since. With ``certificate`` the customer's certificate is written too, or
    ``no_certificate`` of what is returned says what it lacks. Raises UsageError where outputs stand already without
    ``force``, where a certificate of an earlier set would be left beside them, and where the evaluation is not one of
    this log; OutputError where they cannot be written.
    """
    made_from = evaluation.batch
    if (made_from.sha256, made_from.columns) != (log.batch.sha256, log.batch.columns):
        raise UsageError(f"{log.path}: the evaluation was made from {made_from.file_name}, not from this log")
    outputs = OutputSet.for_input(log.path, None if out is None else Path(out))
    return write_evaluation(log.source, evaluation, outputs, force=force, certificate=certificate)
