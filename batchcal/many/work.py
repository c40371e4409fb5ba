"""The call for one workbook of many, the same in every kind of worker; it may be made twice and gives the same."""

from batchcal.errors import BatchcalError, UsageError, WorkbookError
from batchcal.many.entry import Entry, Outcome, Replacing, Task
from batchcal.many.standing import entry_of, fingerprint, in_sum, out_of_date, read_document
from batchcal.process import process_workbook


def work(task: Task) -> Entry:
    """Process the workbook of a task unless its results stand and are up to date; what is wrong stands in the entry.

    A programming error is raised as it is.
    """
    try:
        return _work(task)
    except UsageError as error:
        return _without_results(task, Outcome.REFUSED, error.exit_status, str(error))
    except BatchcalError as error:
        return _without_results(task, Outcome.FAILED, error.exit_status, str(error))
    except MemoryError:
        said = f"{task.path.name}: there is not memory enough for it; try it alone, or with fewer --jobs"
        return Entry(Outcome.FAILED, BatchcalError.exit_status, error=said)


def _without_results(task: Task, outcome: Outcome, exit_status: int, error: str) -> Entry:
    try:
        sha256 = fingerprint(task.path, WorkbookError)
    except WorkbookError:
        sha256 = None
    return Entry(outcome, exit_status, sha256, error=error)


def _work(task: Task) -> Entry:
    stands = task.outputs.state()
    remarks = stands.remarks(task.path.name)
    if stands.kind != "absent" and task.replacing is not Replacing.ALL:
        reason = f"incomplete ({stands.reason})"
        if stands.kind == "complete":
            document = read_document(task.outputs.results)
            why = out_of_date(task, document)
            if not why:
                return entry_of(document, Outcome.UP_TO_DATE, tuple(remarks), task.outputs.results)
            reason = f"out of date ({why})"
        if task.replacing is Replacing.NONE:
            remarks.append(f"{task.path.name}: its outputs in {task.outputs.results.parent} are {reason}; use --update")
            raise UsageError("; ".join(remarks))
    done = process_workbook(
        task.path, task.outputs, method=task.method, columns=task.columns, force=stands.kind != "absent"
    )
    made = done.evaluation
    decisions = [sample.decision for sample in made.samples]
    severities = {finding.severity for finding in made.findings}
    return in_sum(Outcome.DONE, made.batch.sha256, decisions, severities, (*remarks, *done.remarks))
