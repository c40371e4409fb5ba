"""Whatever stands on a sheet: a proposal is made or refused, its map can be read again, and nothing is guessed."""

import datetime as dt
import random
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from batchcal.errors import BatchcalError
from batchcal.reference import headings as known
from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.columns.column_map import OPEN, ColumnMap
from batchcal.workbook.columns.map_file import read_map, written
from batchcal.workbook.columns.propose import propose
from batchcal.workbook.columns.read import read_by_map
from batchcal.workbook.grid import Grid, Merged
from batchcal.workbook.source import Source

Made = TypeVar("Made")
VARIANTS = [variant.text for variant in known.variants()]
ODD = [
    "",
    " ",
    "?",
    "*",
    "(g)",
    "[",
    "g",
    "%",
    "Δ",
    "Test 1",
    "I",
    "II",
    "Mittelwert",
    "=x",
    "\u00a0",
    "ΔＴ",
    "a|b",
    "#",
]


def cell(draw: random.Random) -> Cell:
    choice = draw.random()
    if choice < 0.6:
        return Cell(CellKind.NUMBER, round(draw.choice([1.0, 12.0, 24.0, 2.5, 30.0]) + draw.uniform(-0.5, 0.5), 4))
    if choice < 0.8:
        return Cell(CellKind.TEXT, draw.choice(["K-1", "12,5", "1.234,5", "BA", "Benzoesäure", "x", *ODD[1:]]))
    if choice < 0.85:
        return Cell(CellKind.DATE, dt.datetime(2026, 10, draw.randint(1, 28)))
    if choice < 0.9:
        return Cell(CellKind.ERROR, "#DIV/0!", "A1/0")
    if choice < 0.95:
        return Cell(CellKind.UNCALCULATED, None, "A1+1")
    return draw.choice(
        [Cell(CellKind.BOOLEAN, True), Cell(CellKind.NUMBER, float("inf")), Cell(CellKind.PER_CENT, 0.04)]
    )


def grid(draw: random.Random, title: str) -> Grid:
    """A sheet with one or more rows (or a column) of headings, real and odd, over cells of every kind."""
    wide, high = draw.randint(1, 14), draw.randint(1, 18)
    rows: dict[int, dict[int, Cell]] = {}
    for row in range(1, high + 1):
        heads = draw.random() < 0.3 or row == 2
        rows[row] = {}
        for column in range(1, wide + 1):
            if draw.random() < 0.15:
                continue
            label = column == 1 and draw.random() < 0.4
            text = draw.choice(VARIANTS) if draw.random() < 0.85 else draw.choice(ODD)
            made = Cell(CellKind.TEXT, text) if heads or label else cell(draw)
            if not (made.kind is CellKind.TEXT and not str(made.value).strip()):
                rows[row][column] = made
    merged = (Merged(1, 1, 2, draw.randint(1, wide)),) if draw.random() < 0.3 else ()
    return Grid(title, {row: cells for row, cells in rows.items() if cells}, merged=merged)


def answered(grids: tuple[Grid, ...], draw: random.Random) -> ColumnMap:
    """A proposal with every question answered in one way or another."""
    answers: dict[str, str] = {}
    proposal = propose(grids, answers)
    for _ in range(300):
        if not proposal.questions:
            break
        question = proposal.questions[0]
        assert question.key not in answers, question.key
        answers[question.key] = draw.choice(question.choices).value if question.choices else draw.choice(["0.1", "-"])
        proposal = propose(grids, answers)
    assert not proposal.questions
    return proposal.column_map


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(seed=st.integers(0, 2**40))
def test_nothing_breaks_and_what_is_proposed_can_be_read(tmp_path: Path, seed: int) -> None:
    draw = random.Random(seed)
    grids = tuple(grid(draw, title) for title in ("Blatt", "Kalibrierung", "3")[: draw.randint(1, 3)])
    proposal = propose(grids)
    assert proposal == propose(grids)
    open_entries = [e for t in proposal.column_map.tables for e in (*t.headings, *t.above) if e.is_open]
    assert bool(proposal.questions) or not open_entries
    if not proposal.column_map.tables:
        return
    path = tmp_path / "own.toml"
    path.write_text(written(proposal.column_map, "day.xlsx"), encoding="utf-8")
    if any(e.means for t in proposal.column_map.tables for e in t.headings):
        said, again = tried(lambda: read_map(path))
        assert said == "" or "no heading is read" in said
        assert again is None or bool(again.questions()) == bool(proposal.column_map.questions())
    source = Source("day.xlsx", b"", "0" * 64, grids)
    column_map = answered(grids, draw)
    path.write_text(written(column_map, "day.xlsx"), encoding="utf-8")
    said, _ = tried(lambda: read_by_map(source, read_map(path)))
    assert "\n" not in said
    assert OPEN not in [entry.means for table in column_map.tables for entry in table.headings]


def tried(work: Callable[[], Made]) -> tuple[str, Made | None]:
    """What came of it: the one line with which it was refused, or the result."""
    try:
        return "", work()
    except BatchcalError as error:
        return str(error), None
