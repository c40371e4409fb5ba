"""The release and the changes as they stand in results.json and on the page."""

from collections.abc import Sequence

from msgspec import Struct

from batchcal.model import Evaluation
from batchcal.release import CellChange, Changes, Issue, ReleaseState, Signature, ValueChange
from batchcal.report.words import NONE, counted

_SHOWN = 25
"""Most changed cells that the page shows; the results workbook lists them all."""
_PRINTED = 12
"""Most lines of each list of changes that are printed."""


class ChangeRow(Struct, frozen=True):
    """One change: what it is of, and what stood and stands there."""

    what: str
    earlier: str
    now: str


class ChangeList(Struct, frozen=True):
    """The changes of one kind: those that are printed, those that only a screen shows, and what is left out."""

    title: str
    printed: tuple[ChangeRow, ...]
    rest: tuple[ChangeRow, ...]
    more: str
    """What is left out on a screen, or ""."""
    more_on_paper: str
    """What is left out on paper, or ""."""
    nothing: str
    """What is said where there is no change."""


class ChangesView(Struct, frozen=True):
    """What changed since the earlier set, in words."""

    since: str
    lists: tuple[ChangeList, ...]


def changes_view(evaluation: Evaluation) -> ChangesView | None:
    """Return the changes as the page shows them, None where there are none to show.

    Cells of the sheets that were read stand before those of other sheets, and values that read alike as printed are
    only counted.
    """
    changes = evaluation.changes
    if changes is None:
        return None
    read = {table.sheet for table in evaluation.batch.tables.values()}
    values = [
        ChangeRow(f"{value.sample}: {value.value}", _figure(value.earlier), _figure(value.now))
        for value in changes.values
    ]
    seen = [row for row in values if row.earlier != row.now]
    alike = len(values) - len(seen)
    return ChangesView(
        since=f"{changes.workbook}, SHA-256 {changes.sha256}, worked out with batchcal {changes.version}",
        lists=(
            _list(
                "Released values",
                seen,
                "No released value changed." if not alike else "No released value changed by 0.1 J/g or more.",
                noun="value",
                beside=f"{counted(alike, 'value')} changed by less than the digits shown." if alike and seen else "",
            ),
            _list(
                "Settings",
                [ChangeRow(entry.item, entry.earlier or "blank", entry.now or "blank") for entry in changes.settings],
                "No setting changed.",
                noun="setting",
            ),
            _list(
                "Cells of the workbook",
                [
                    ChangeRow(f"{cell.sheet} {cell.cell}".strip(), cell.earlier or "blank", cell.now or "blank")
                    for cell in sorted(changes.cells, key=lambda cell: cell.sheet not in read)
                ],
                changes.not_compared or "No cell changed.",
                noun="cell",
                most=_SHOWN,
            ),
        ),
    )


def _list(
    title: str, rows: Sequence[ChangeRow], nothing: str, *, noun: str, most: int | None = None, beside: str = ""
) -> ChangeList:
    """Return the changes of one kind; ``most`` is how many a screen shows, ``beside`` what is said with them."""
    shown = rows[:most]

    def left_out(rest: int) -> str:
        more = f"… and {counted(rest, noun)} more, listed on Changes in the results workbook." if rest > 0 else ""
        return f"{beside} {more}".strip()

    return ChangeList(
        title,
        tuple(shown[:_PRINTED]),
        tuple(shown[_PRINTED:]),
        left_out(len(rows) - len(shown)),
        left_out(len(rows) - _PRINTED),
        nothing,
    )


def _figure(value: float | None) -> str:
    return NONE if value is None else f"{value:.1f} J/g"


def release_part(evaluation: Evaluation) -> dict[str, object]:
    """Return the release for results.json; ``issued`` is what was last handed out, for the next run to compare."""
    release, settings = evaluation.release, evaluation.settings
    signed = release.issued if release.state is not ReleaseState.DRAFT else None
    reviewers = dict.fromkeys(signature.reviewer for signature in signed.signatures) if signed else {}
    dates = [signature.date.isoformat() for signature in signed.signatures] if signed else []
    return {
        "state": release.state,
        "analyst": settings.analyst or None,
        "reviewer": ", ".join(reviewers) or settings.reviewer or None,
        "issue": release.issue,
        "date": max(dates, default=None),
        "samples": list(release.samples),
        "issued": None if release.issued is None else _issue(release.issued),
    }


def _issue(issue: Issue) -> dict[str, object]:
    return {
        "number": issue.number,
        "state": issue.state,
        "results_sha256": issue.sha256 or None,
        "signatures": [_signature(signature) for signature in issue.signatures],
        "earlier_signatures": [_signature(s) for s in issue.known if s not in issue.signatures],
        "values_J_per_g": {sample: dict(values) for sample, values in issue.values.items()},
        "supersedes": None
        if issue.replaces is None
        else {"issue": issue.replaces, "results_sha256": issue.replaces_sha256 or None},
        "changed": [_value(change) for change in issue.changed],
        "certificate_content_sha256": issue.certificate or None,
    }


def _signature(signature: Signature) -> dict[str, object]:
    return {
        "sample": signature.sample or None,
        "reviewer": signature.reviewer,
        "date": signature.date.isoformat(),
        "reason": signature.reason or None,
    }


def changes_part(changes: Changes | None) -> dict[str, object] | None:
    """Return the changes for results.json."""
    if changes is None:
        return None
    return {
        "since": {
            "file": changes.workbook,
            "sha256": changes.sha256,
            "batchcal_version": changes.version,
            "settings_sha256": changes.settings_sha256 or None,
        },
        "cells": [_cell(change) for change in changes.cells],
        "settings": [
            {"item": change.item, "earlier": change.earlier or None, "now": change.now or None}
            for change in changes.settings
        ],
        "values": [_value(change) for change in changes.values],
        "not_compared": changes.not_compared or None,
    }


def _cell(change: CellChange) -> dict[str, object]:
    return {
        "sheet": change.sheet,
        "cell": change.cell or None,
        "earlier": change.earlier or None,
        "now": change.now or None,
    }


def _value(change: ValueChange) -> dict[str, object]:
    return {
        "sample": change.sample,
        "value": change.value,
        "earlier_J_per_g": change.earlier,
        "now_J_per_g": change.now,
    }
