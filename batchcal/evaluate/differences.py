"""Differences that a lab types more coarsely than the two figures that they are the difference of.

A net mass typed to 1 mg beside weighings to 0.1 mg misses their difference by more than the tolerance in most rows.
Where rounding explains it all over a column that is a habit and no slip: the finer figures are used, and it is said
once. A row that rounding does not explain keeps its typed figure, and is stopped where that disagrees.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from batchcal.evaluate.charge import MASS_TOLERANCE_G, capsule_tared, logged_difference, reading_step
from batchcal.findings import Finding
from batchcal.logged import Batch, FiringRow
from batchcal.model import Settings

FEWEST, LEAST_SHARE = 3, 0.8
"""Rows that rounding must explain, and the share of a column's rows that it must, to be a habit; no source."""

ALIKE = 1e-6
"""Relative slack that absorbs binary fractions."""


class _Column(Struct, frozen=True):
    """A figure that may be typed beside the two that it follows from."""

    field: str
    steps: tuple[tuple[float, str], ...]
    """Coarse steps in which it may be typed, the finest first, and how they are written."""
    of: str
    apart: Callable[[FiringRow, Settings], tuple[float, float, float] | None]
    """Typed figure, difference and tolerance of a row; None where one of the figures is not there."""


def _masses(row: FiringRow, _settings: Settings) -> tuple[float, float, float] | None:
    difference = logged_difference(row)
    return None if row.mass_g is None or difference is None else (row.mass_g, difference, MASS_TOLERANCE_G)


def _rises(row: FiringRow, settings: Settings) -> tuple[float, float, float] | None:
    if row.rise_K is None or row.initial_C is None or row.final_C is None:
        return None
    return row.rise_K, row.final_C - row.initial_C, reading_step(row, settings)


COLUMNS = (
    _Column("mass_g", ((1e-3, "1 mg"), (1e-2, "10 mg")), "the two weighings", _masses),
    _Column("rise_K", ((1e-2, "0.01 K"), (1e-1, "0.1 K")), "the two temperatures", _rises),
)
"""What is looked at."""


def without_rounded(batch: Batch, settings: Settings) -> tuple[Batch, list[Finding]]:
    """Return the batch without typed differences that are only rounded, and one finding for each such figure."""
    changed: dict[int, dict[str, Any]] = {}
    found = []
    for column in COLUMNS:
        habits: dict[str, list[tuple[list[FiringRow], int]]] = {}
        for members in _by_sheet(batch.firings).values():
            rows, text, total = _habit(members, column, settings)
            if rows:
                habits.setdefault(text, []).append((rows, total))
        for text, sheets in habits.items():
            concerned = [row for rows, _ in sheets for row in rows]
            for row in concerned:
                _drop(changed.setdefault(id(row), {}), row, column.field)
            place = concerned[0].place
            found.append(
                place.finding(
                    "difference-rounded", column.field, heading=place.heading(column.field), step=text,
                    count=len(concerned), total=sum(total for _, total in sheets), of=column.of,
                )
            )  # fmt: skip
    if not found:
        return batch, []
    rows_kept = tuple(replace(row, **changed.get(id(row), {})) for row in batch.firings)
    return replace(batch, firings=rows_kept), found


def _drop(changes: dict[str, Any], row: FiringRow, name: str) -> None:
    """Note that a row's typed figure is only rounded; its capsule stays where a typed mass put it."""
    changes |= {name: None, "rounded": {**changes.get("rounded", {}), name: getattr(row, name)}}
    if name == "mass_g":
        changes["capsule_in_tare"] = capsule_tared(row)


def _by_sheet(firings: Sequence[FiringRow]) -> Mapping[str, list[FiringRow]]:
    sheets: dict[str, list[FiringRow]] = {}
    for row in firings:
        sheets.setdefault(row.place.sheet, []).append(row)
    return sheets


def _habit(rows: Sequence[FiringRow], column: _Column, settings: Settings) -> tuple[list[FiringRow], str, int]:
    """Return the rows that rounding explains, to what is rounded, and of how many; no rows where it is no habit."""
    both = [(row, given) for row in rows if (given := column.apart(row, settings)) is not None]
    if all(abs(typed - difference) <= tolerance * (1 + ALIKE) for _, (typed, difference, tolerance) in both):
        return [], "", 0
    for step, text in column.steps:
        explained = [row for row, (typed, difference, _) in both if _rounded(typed, difference, step)]
        if len(explained) >= max(FEWEST, LEAST_SHARE * len(both)):
            return explained, text, len(both)
    return [], "", 0


def _rounded(typed: float, difference: float, step: float) -> bool:
    """Whether a figure is a difference rounded to a step; a half may have gone either way."""
    whole = abs(typed / step - round(typed / step)) < ALIKE * max(1.0, abs(typed / step))
    return whole and abs(typed - difference) <= step / 2 * (1 + ALIKE) + 1e-9
