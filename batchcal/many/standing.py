"""Results that stand already: whether they are those of the workbook as it is now, and what they say."""

import hashlib
import json
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import Any

import batchcal
from batchcal.errors import OutputError, UsageError, WorkbookError
from batchcal.findings import Severity
from batchcal.many.entry import Entry, Outcome, Task
from batchcal.terms import Decision


def out_of_date(task: Task, document: Mapping[str, Any]) -> str:
    """Return in words why the results ``document`` is not what the task would give now; blank where it is.

    The settings follow from the workbook, the map, the method given by command and the version of batchcal, so these
    four are compared. Raises BatchcalError where the workbook or the map cannot be read.
    """
    origin = document.get("input")
    if not isinstance(origin, dict) or origin.get("file") != task.path.name:
        return f"they were made from another file than {task.path.name}"
    if origin.get("sha256") != fingerprint(task.path, WorkbookError):
        return "the workbook has changed since"
    columns = origin.get("columns")
    recorded = columns.get("sha256") if isinstance(columns, dict) else None
    if recorded != (None if task.columns is None else fingerprint(task.columns, UsageError)):
        return "they were made with another column map, or none"
    # A method given beside the same one on Setup leaves no trace in the results, and changes none.
    settings = document.get("settings")
    method = settings.get("method") if isinstance(settings, dict) else None
    if origin.get("method", task.method) != task.method or (task.method is not None and method != task.method):
        return "they were made with another --method, or none"
    if document.get("batchcal_version") != batchcal.__version__:
        return f"they were made by batchcal {document.get('batchcal_version')}, and this is {batchcal.__version__}"
    return ""


def read_document(path: Path) -> dict[str, Any]:
    """Return the results file of a complete set; OutputError with one line where that is not possible."""
    try:
        content = json.loads(path.read_bytes())
    except OSError as error:
        raise OutputError(f"{path}: cannot be read ({error.strerror or error})") from error
    except (ValueError, RecursionError) as error:
        raise OutputError(f"{path}: damaged; use --force") from error
    if not isinstance(content, dict):
        raise OutputError(f"{path}: not a results file; use --force")
    return content


def entry_of(document: Mapping[str, Any], outcome: Outcome, remarks: tuple[str, ...], path: Path) -> Entry:
    """Return what the results file at ``path`` says in sum; OutputError where it does not hold what such files hold."""
    try:
        decisions = [Decision(sample["decision"]) for sample in document["samples"]]
        severities = {Severity(finding["severity"]) for finding in document["findings"]}
        sha256 = str(document["input"]["sha256"])
    except (KeyError, TypeError, ValueError) as error:
        raise OutputError(f"{path}: not a results file of this version; use --force") from error
    return in_sum(outcome, sha256, decisions, severities, remarks)


def in_sum(
    outcome: Outcome,
    sha256: str,
    decisions: Sequence[Decision],
    severities: Collection[Severity],
    remarks: tuple[str, ...],
) -> Entry:
    """Return the entry of a workbook with results, from the decision on each sample and what was found."""
    severity = next((severity for severity in Severity if severity in severities), None)
    stopped = any(severity.stops for severity in severities) or any(d is not Decision.READY for d in decisions)
    return Entry(outcome, int(stopped), sha256, dict(Counter(decisions)), severity, remarks=remarks)


def fingerprint(path: Path, kind: type[WorkbookError] | type[UsageError]) -> str:
    """Return the SHA-256 of a file in hexadecimal digits; raises ``kind`` with one line where it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise kind(f"{path.name}: cannot be read ({error.strerror or error})") from error
