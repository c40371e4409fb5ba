"""The index of many workbooks for other programs: JSON with one line a workbook, made anew by every call."""

import json
import os
from collections.abc import Sequence
from pathlib import Path

import batchcal
from batchcal.errors import OutputError, UsageError
from batchcal.many.entry import Entry, Task
from batchcal.outputs import is_output, write_file
from batchcal.terms import Decision

SCHEMA = "batchcal.index/1"
NAME = "batchcal.index.json"
_HEAD_BYTES = 200


def refuse_unfit(path: Path) -> None:
    """Raise UsageError where an index may not stand at ``path``: whatever is there and is no index is left alone."""
    if path.suffix.lower() != ".json" or is_output(path):
        raise UsageError(f"{path}: an index is written as .json, and not as .results.json")
    if not os.path.lexists(path):
        return
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES)
    except OSError as error:
        raise OutputError(f"{path}: cannot be read ({error.strerror or error}), so no index is written") from error
    if json.dumps(SCHEMA).encode() not in head:
        raise UsageError(f"{path}: there is a file of this name that is no index of batchcal; it is left as it is")


def write_index(path: Path, tasks: Sequence[Task], entries: Sequence[Entry]) -> None:
    """Write the index; files are named as seen from its folder. Raises OutputError with one line."""
    lines = [json.dumps(_line(path, *pair), ensure_ascii=False) for pair in zip(tasks, entries, strict=True)]
    head = f' "schema": {json.dumps(SCHEMA)},\n "batchcal_version": {json.dumps(batchcal.__version__)},\n'
    write_file(path, ("{\n" + head + ' "workbooks": [\n  ' + ",\n  ".join(lines) + "\n ]\n}\n").encode())


def _line(index: Path, task: Task, entry: Entry) -> dict[str, object]:
    return {
        "file": _seen_from(index.parent, task.path),
        "sha256": entry.sha256,
        "outcome": entry.outcome,
        "decisions": {str(decision): entry.decisions.get(decision, 0) for decision in Decision},
        "severity": entry.severity,
        "error": entry.error,
    }


def _seen_from(folder: Path, path: Path) -> str:
    try:
        return Path(os.path.relpath(path, folder)).as_posix()
    except ValueError:  # on another drive
        return path.absolute().as_posix()
