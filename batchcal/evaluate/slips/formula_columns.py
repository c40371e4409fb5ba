"""Columns of formulas in which some cells are typed or calculate differently, and rows that are out of sight."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from batchcal.evaluate.contents import Contents
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.evaluate.slips.own_figures import cells_text
from batchcal.formulas import weighing
from batchcal.logged import FormulaColumn, Place
from batchcal.terms import Basis

FEWEST_FORMULAS = 5
SHARE_OF_FORMULAS = 0.8
"""A column of this many formulas, this share of its filled cells, is meant to be calculated; common practice, no
source."""

MOST_SHOWN = 4
"""Typed cells of a column that are shown with their values."""

_MANNERS = ("hidden", "filtered out", "struck through")

_ROLES_OF_FIRINGS = ("calibration", "runs")


def find(day: Day) -> Iterator[Slip]:
    """Yield numbers typed among formulas, formulas unlike those of like rows, and rows with data out of sight."""
    if not day.batch.formulas and not any(day.batch.unseen.values()):
        return
    by_row = {firing.row.place.key: firing for firing in day.firings}
    for column in day.batch.formulas:
        yield from _overtyped(column, by_row, day)
        yield from _odd(column, by_row)
    yield from _unseen(by_row, day)


ByRow = Mapping[tuple[str, int, str], Firing]


def is_calculated(column: FormulaColumn) -> bool:
    """Whether a column is meant to be calculated: nearly all of its filled cells are formulas."""
    formulas, typed = len(column.forms), len(column.typed)
    return formulas >= FEWEST_FORMULAS and formulas >= SHARE_OF_FORMULAS * (formulas + typed)


def _overtyped(column: FormulaColumn, by_row: ByRow, day: Day) -> Iterator[Slip]:
    if not column.typed or not is_calculated(column):
        return
    letter = column.table.columns[column.field]
    rows = sorted(column.typed)
    shown = []
    for row in rows[:MOST_SHOWN]:
        text = f"{letter}{row} {column.typed[row]:.10g}"
        found = _recomputed(column.field, _firing_of(column, row, by_row), day.contents)
        shown.append(text if found is None else f"{text} (found here: {found})")
    more = f", and {len(rows) - MOST_SHOWN} more" if len(rows) > MOST_SHOWN else ""
    yield _slip("formula-overtyped", column, rows, by_row, count=len(column.forms), cells=", ".join(shown) + more)


def _slip(code: str, column: FormulaColumn, rows: Sequence[int], by_row: ByRow, *, count: int, cells: str) -> Slip:
    firings = tuple(f for row in rows if (f := _firing_of(column, row, by_row)) is not None)
    single = firings[0].row if len(rows) == 1 and firings else None
    finding = Place(column.table, rows[0]).finding(
        code,
        column.field,
        firing=single.firing if single else None,
        sample=single.sample if single else None,
        heading=column.table.headings[column.field],
        count=count,
        cells=cells,
    )
    return Slip(finding, firings)


def _recomputed(field: str, firing: Firing | None, contents: Mapping[str, Contents]) -> str | None:
    """Return what a cell would hold by what is found here, or None where that is not known."""
    if firing is None:
        return None
    row = firing.row
    if field == "mass_g" and row.crucible_g is not None and row.crucible_and_sample_g is not None:
        return f"{weighing.mass_by_difference(row.crucible_g, row.crucible_and_sample_g):.4f} g"
    if field == "rise_K" and row.initial_C is not None and row.final_C is not None:
        return f"{row.final_C - row.initial_C:.3f} K"
    entry, value = contents.get(row.sample), firing.gross_ad_J_per_g
    if field == "own_gross_ad" and value is not None:
        return f"{value:.1f} J/g"
    if field == "own_gross_d" and value is not None and entry is not None:
        dry = entry.value_on(Basis.DRY, value)
        return None if dry is None else f"{dry:.1f} J/g"
    if field == "own_heat_capacity" and firing.heat_capacity_J_per_K is not None:
        return f"{firing.heat_capacity_J_per_K:.1f} J/K"
    return None


def _odd(column: FormulaColumn, by_row: ByRow) -> Iterator[Slip]:
    """Yield formulas that are few among like rows: the same purpose, apparatus and kind of charge."""
    groups: dict[object, list[int]] = {}
    for row in column.forms:
        firing = _firing_of(column, row, by_row)
        groups.setdefault(None if firing is None else _kind_of_row(firing), []).append(row)
    letter = column.table.columns[column.field]
    for rows in groups.values():
        form, count = Counter(column.forms[row] for row in rows).most_common(1)[0]
        odd = sorted(row for row in rows if column.forms[row] != form)
        if odd and count >= FEWEST_FORMULAS and count >= SHARE_OF_FORMULAS * len(rows):
            yield _slip("formula-odd", column, odd, by_row, count=count, cells=cells_text(letter, odd))


def _kind_of_row(firing: Firing) -> object:
    row = firing.row
    return firing.purpose, firing.apparatus, tuple(aid.name.casefold() for aid in row.aids), bool(row.capsule_mass_g)


def _firing_of(column: FormulaColumn, row: int, by_row: ByRow) -> Firing | None:
    return by_row.get(Place(column.table, row).key) if column.role in _ROLES_OF_FIRINGS else None


def _unseen(by_row: ByRow, day: Day) -> Iterator[Slip]:
    used = [place for firing in by_row.values() if (place := _used(firing)) is not None]
    fired = {firing.row.firing for firing in by_row.values() if _used(firing) is not None}
    counting = {role: [place for place in used if place.table.role == role] for role in _ROLES_OF_FIRINGS}
    counting["titration"] = [row.place for row in day.batch.titrations if row.firing in fired]
    counting["samples"] = [row.place for row in day.batch.samples if row.sample in day.grouped]
    for role, candidates in counting.items():
        unseen = day.batch.unseen.get(role, {})
        for manner in _MANNERS:
            by_sheet: dict[str, dict[int, Place]] = {}
            for place in candidates:
                if unseen.get((place.sheet, place.row)) == manner:
                    by_sheet.setdefault(place.sheet, {}).setdefault(place.row, place)
            for places in by_sheet.values():
                yield _unseen_slip([places[row] for row in sorted(places)], manner, by_row)


def _used(firing: Firing | None) -> Place | None:
    """Return the place of a firing that is neither set aside nor left out by its outcome or purpose."""
    return None if firing is None or firing.left_out else firing.row.place


def _unseen_slip(places: Sequence[Place], manner: str, by_row: ByRow) -> Slip:
    first, rows_of = places[0], {(place.sheet, place.row) for place in places}
    firings = tuple(firing for (sheet, row, _), firing in by_row.items() if (sheet, row) in rows_of)
    single = firings[0].row if len(places) == 1 and firings else None
    rows = cells_text("row ", [place.row for place in places]).replace("cells", "rows")
    finding = first.finding(
        "row-hidden-or-struck",
        firing=single.firing if single else None,
        sample=single.sample if single else None,
        rows=rows,
        manner=("is " if len(places) == 1 else "are ") + manner,
    )
    return Slip(finding, firings)
