"""What changed on the lab's sheets since an earlier set of outputs: cell by cell, and the sheet that lists it."""

import datetime as dt
import difflib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from msgspec import Struct

from batchcal.items import SETUP_ITEMS_BY_KEY
from batchcal.model import Evaluation
from batchcal.release import CellChange, Changes
from batchcal.workbook import styles
from batchcal.workbook.cells import Cell, CellKind, text_number_code
from batchcal.workbook.formula_forms import relative_form
from batchcal.workbook.grid import NO_CELLS, Grid
from batchcal.workbook.own_sheet import OwnSheet
from batchcal.workbook.tables import Column, write_band, write_line, write_table
from batchcal.workbook.targets import Targets, in_log
from batchcal.workbook.xlsx.links import Link
from batchcal.workbook.xlsx.references import address

_Step = tuple[Literal["replace", "delete", "insert", "equal"], int, int, int, int]

_MOST_ALIKE = 20_000
"""Most pairs of equal rows among which the moved ones are looked for; the time grows with the square of it."""

_ROW_GONE = " (row gone)"

_WIDTHS = (18, 20, 34, 34, 40, 12)


class _Line(Struct, frozen=True):
    """One change: where it is, in two cells that may lead there, and what was and is there."""

    first: str
    second: str
    earlier: str
    now: str
    first_link: Link | None = None
    second_link: Link | None = None


def cell_changes(
    earlier: Sequence[Grid], now: Sequence[Grid], reach: Mapping[str, int], *, formulas: bool
) -> tuple[CellChange, ...]:
    """Return every cell of the lab's sheets that holds something else than before, in the order of the sheets.

    ``earlier`` are the sheets of a results workbook and ``reach`` the last column of the lab's on each. Rows that
    were put in or taken out are found as such, so that those below them are no changes. With ``formulas`` a formula
    in place of a number is a change although the value is the same.
    """
    before = {grid.title: grid for grid in earlier if grid.title in reach}
    changes: list[CellChange] = []
    for grid in now:
        old = before.pop(grid.title, None)
        if old is None:
            changes.append(CellChange(grid.title, "", "", "the sheet is new"))
            continue
        changes += _on_sheet(old, grid, reach[grid.title], formulas)
    changes += [CellChange(title, "", "the sheet was there", "") for title in before]
    return tuple(changes)


def _on_sheet(old: Grid, new: Grid, last: int, formulas: bool) -> Iterator[CellChange]:
    before = _rows(old, last, formulas)
    after = _rows(new, new.last_column, formulas)
    head = 0
    while head < min(len(before), len(after)) and before[head] == after[head]:
        head += 1
    tail = 0
    while tail < min(len(before), len(after)) - head and before[-1 - tail] == after[-1 - tail]:
        tail += 1
    middle = before[head : len(before) - tail], after[head : len(after) - tail]
    for tag, from_, to, first, end in _paired(*middle):
        if tag == "equal":
            continue
        for index in range(max(to - from_, end - first)):
            was = head + from_ + index if from_ + index < to else None
            is_ = head + first + index if first + index < end else None
            yield from _in_row(new.title, before, after, was, is_)


def _paired(before: Sequence[tuple[str, ...]], after: Sequence[tuple[str, ...]]) -> Sequence[_Step]:
    """Return which rows answer to which; where too many are alike to find that out in good time, one after another."""
    counts = Counter(after)
    alike = sum(counts[row] for row in before)
    if alike > max(_MOST_ALIKE, 2 * len(before)):
        return [("replace", 0, len(before), 0, len(after))]
    return difflib.SequenceMatcher(None, before, after, autojunk=False).get_opcodes()


def _in_row(
    sheet: str, before: Sequence[tuple[str, ...]], after: Sequence[tuple[str, ...]], was: int | None, is_: int | None
) -> Iterator[CellChange]:
    old = () if was is None else before[was]
    new = () if is_ is None else after[is_]
    row = (is_ if is_ is not None else was or 0) + 1
    for column in range(1, max(len(old), len(new)) + 1):
        earlier = old[column - 1] if column <= len(old) else ""
        now = new[column - 1] if column <= len(new) else ""
        if earlier != now:
            gone = _ROW_GONE if is_ is None else " (row added)" if was is None else ""
            yield CellChange(sheet, address(row, column) + gone, earlier, now)


def _rows(grid: Grid, last: int, formulas: bool) -> list[tuple[str, ...]]:
    """Return every row up to the last filled one as words, without blanks at its end."""
    rows = []
    for number in range(1, grid.last_row + 1):
        cells = grid.rows.get(number, NO_CELLS)
        end = max((column for column in cells if column <= last), default=0)
        words = {column: _words(cell, number, formulas) for column, cell in cells.items() if column <= end}
        rows.append(tuple(words.get(column, "") for column in range(1, end + 1)))
    while rows and not rows[-1]:
        rows.pop()
    return rows


def _words(cell: Cell, row: int, formulas: bool) -> str:
    """Return what a cell holds; a formula with the rows of its references counted from its own."""
    value = cell.value
    text = "" if value is None else cell.text if isinstance(value, bool | float | dt.datetime) else str(value)
    if cell.kind is CellKind.TEXT and text_number_code(text) != "text-in-number":
        text = f"{text} (as text)"
    elif cell.kind is CellKind.PER_CENT:
        text = f"{text} (as per cent)"
    if formulas and cell.formula is not None:
        text = f"{text} from {relative_form(cell.formula, row)}".strip()
    return f"{text} (struck through)" if cell.struck else text


def fill_changes(sheet: OwnSheet, evaluation: Evaluation, changes: Changes, targets: Targets) -> None:
    """Fill the sheet Changes: values, settings and cells, each with room for a reason and initials."""
    sheet.widths = _WIDTHS
    row = write_line(sheet, 1, "Changes", styles.TITLE, height=28)
    for text in (
        evaluation.release.words,
        f"Since {changes.workbook}, SHA-256 {changes.sha256}, worked out with batchcal {changes.version}.",
        "Fill in Reason and Initials on paper, or copy the lines to a sheet of your own workbook: a new run replaces "
        "this one.",
    ):
        row = write_line(sheet, row, text, styles.SUBTITLE)
    results = targets.results
    values = [
        _Line(
            v.sample,
            v.value,
            _figure(v.earlier),
            _figure(v.now),
            targets.result(v.sample) if v.sample in results else None,
        )
        for v in changes.values
    ]
    items = {SETUP_ITEMS_BY_KEY[key].name: entry.place for key, entry in evaluation.settings.entries.items()}
    settings = [
        _Line(
            "Setup",
            s.item,
            s.earlier or "blank",
            s.now or "blank",
            None,
            in_log(items[s.item], "value") if s.item in items else None,
        )
        for s in changes.settings
    ]
    cells = [_Line(c.sheet, c.cell, c.earlier or "blank", c.now or "blank", None, _link(c)) for c in changes.cells]
    for title, headings, lines, none in (
        ("Released values", ("Sample no.", "Value"), values, "No released value changed."),
        ("Settings", ("Sheet", "Item"), settings, "No setting changed."),
        ("Cells", ("Sheet", "Cell"), cells, changes.not_compared or "No cell changed."),
    ):
        row = write_band(sheet, row + 1, title, styles.SECTION, columns=len(_WIDTHS))
        if lines:
            row = write_table(sheet, row, _columns(*headings), lines)
        else:
            row = write_line(sheet, row, none, styles.SUBTITLE)


def _columns(first: str, second: str) -> tuple[Column[_Line], ...]:
    return (
        Column(first, _WIDTHS[0], lambda line: line.first, link=lambda line: line.first_link),
        Column(second, _WIDTHS[1], lambda line: line.second, link=lambda line: line.second_link),
        Column("Earlier", _WIDTHS[2], lambda line: line.earlier),
        Column("Now", _WIDTHS[3], lambda line: line.now),
        Column("Reason", _WIDTHS[4], lambda _: ""),
        Column("Initials", _WIDTHS[5], lambda _: ""),
    )


def _link(change: CellChange) -> Link | None:
    """Return the link to a cell that changed, where it is still there."""
    cell, _, _ = change.cell.partition(" ")
    return Link(change.sheet, cell) if cell and not change.cell.endswith(_ROW_GONE) else None


def _figure(value: float | None) -> str:
    return "none" if value is None else f"{value:.1f} J/g"
