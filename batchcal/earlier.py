"""What a new run learns from the set of outputs that stands there: what was issued, and what changed since."""

import datetime as dt
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import batchcal
from batchcal.errors import BatchcalError
from batchcal.evaluate.release import setting_changes
from batchcal.model import Evaluation
from batchcal.outputs import OutputSet
from batchcal.release import (
    CellChange,
    Changes,
    Earlier,
    Issue,
    ReleaseState,
    SettingChange,
    Signature,
    ValueChange,
)
from batchcal.replacing import sha256
from batchcal.workbook.changes import cell_changes
from batchcal.workbook.source import Source, open_source
from batchcal.workbook.xlsx.package import is_package

_UNFIT = (ValueError, KeyError, TypeError, AttributeError, RecursionError)
"""What the reading of a damaged results file may meet."""


def read_earlier(outputs: OutputSet, evaluation: Evaluation, source: Source) -> Earlier:
    """Return what is known of the set at ``outputs``, in whatever state it is, beside the new ``evaluation``.

    ``source`` is the workbook as it is now.
    """
    try:
        data = outputs.results.read_bytes()
    except OSError as error:
        return Earlier(None, None, unread=f"{outputs.results.name} of an earlier set: {error.strerror or error}")
    try:
        document = json.loads(data)
        issued = _issue(document["release"].get("issued"), sha256(data))
        settings = {str(item): str(words) for item, words in document.get("settings_in_force", {}).items()}
        repeated = _origin(document) == _present(evaluation)
        if repeated:
            return Earlier(issued, _kept(document.get("changes")), settings, repeated=True)
        changes = _changes(document, evaluation, settings, outputs.workbook, source)
    except _UNFIT:
        return Earlier(None, None, unread=f"{outputs.results.name} of an earlier set is damaged")
    return Earlier(issued, changes, settings)


def _origin(document: Mapping[str, Any]) -> tuple[object, ...]:
    """Return what the results of a set follow from: the workbook, its map, the settings in force and the version."""
    origin = document["input"]
    mapped = origin.get("columns") or {}
    return origin["sha256"], mapped.get("sha256"), document.get("settings_sha256"), document["batchcal_version"]


def _present(evaluation: Evaluation) -> tuple[object, ...]:
    batch = evaluation.batch
    mapped = None if batch.columns is None else batch.columns.sha256
    return batch.sha256, mapped, evaluation.settings_sha256, batchcal.__version__


def _changes(
    document: Mapping[str, Any], evaluation: Evaluation, settings: Mapping[str, str], workbook: Path, source: Source
) -> Changes:
    origin = document["input"]
    changed = [SettingChange(*change) for change in setting_changes(settings, evaluation.settings_in_force)]
    earlier, now = _origin(document)[1], _present(evaluation)[1]
    if earlier != now:
        changed.append(SettingChange("Column map, SHA-256", str(earlier or ""), str(now or "")))
    if document["batchcal_version"] != batchcal.__version__:
        changed.append(SettingChange("Version of batchcal", str(document["batchcal_version"]), batchcal.__version__))
    cells, why = _cells(origin, workbook, source)
    return Changes(
        str(origin["file"]), str(origin["sha256"]), str(document["batchcal_version"]),
        str(document.get("settings_sha256") or ""), cells, tuple(changed), not_compared=why,
    )  # fmt: skip


def _cells(origin: Mapping[str, Any], workbook: Path, source: Source) -> tuple[tuple[CellChange, ...], str]:
    if origin["sha256"] == source.sha256:
        return (), ""
    reach = origin.get("sheets")
    if not reach:
        return (), "The earlier results do not say how far the sheets reached, so cells were not compared."
    try:
        grids = open_source(workbook).grids
    except BatchcalError as error:
        return (), f"The cells were not compared: {error}."
    known = {str(title): int(last) for title, last in reach.items()}
    return cell_changes(grids, source.grids, known, formulas=is_package(source.data)), ""


def _issue(part: Mapping[str, Any] | None, own_sha256: str) -> Issue | None:
    if part is None:
        return None
    signatures = tuple(_signature(entry) for entry in part["signatures"])
    replaced = part["supersedes"] or {}
    return Issue(
        number=int(part["number"]),
        state=ReleaseState(part["state"]),
        signatures=signatures,
        values={
            str(sample): {str(name): float(value) for name, value in values.items()}
            for sample, values in part["values_J_per_g"].items()
        },
        replaces=replaced.get("issue"),
        replaces_sha256=replaced.get("results_sha256") or "",
        changed=tuple(_value(entry) for entry in part["changed"]),
        sha256=part["results_sha256"] or own_sha256,
        known=(*(_signature(entry) for entry in part["earlier_signatures"]), *signatures),
        certificate=part["certificate_content_sha256"] or "",
    )


def _signature(entry: Mapping[str, Any]) -> Signature:
    return Signature(
        str(entry["sample"] or ""), str(entry["reviewer"]), dt.date.fromisoformat(entry["date"]),
        str(entry["reason"] or ""),
    )  # fmt: skip


def _value(entry: Mapping[str, Any]) -> ValueChange:
    return ValueChange(str(entry["sample"]), str(entry["value"]), entry["earlier_J_per_g"], entry["now_J_per_g"])


def _kept(part: Mapping[str, Any] | None) -> Changes | None:
    """Return the changes of a set that is only written again, so that the same input gives the same outputs."""
    if part is None:
        return None
    since = part["since"]
    return Changes(
        since["file"], since["sha256"], since["batchcal_version"], since["settings_sha256"] or "",
        tuple(CellChange(c["sheet"], c["cell"] or "", c["earlier"] or "", c["now"] or "") for c in part["cells"]),
        tuple(SettingChange(s["item"], s["earlier"] or "", s["now"] or "") for s in part["settings"]),
        tuple(_value(entry) for entry in part["values"]),
        part["not_compared"] or "",
    )  # fmt: skip
