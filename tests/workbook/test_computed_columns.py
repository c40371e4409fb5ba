"""Which computed columns stand on which sheet: one firing a row, several a row, forms, firings and samples together."""

from collections.abc import Sequence
from pathlib import Path

import pytest
from lab_packages.one_sheet import MAIN, package
from logbook import plain_log, run
from msgspec.structs import replace

from batchcal.logged import Place, Table
from batchcal.model import Evaluation, FiringResult, SampleResult
from batchcal.workbook.added import FIRING_COLUMNS, SAMPLE_COLUMNS, Block, computed_columns
from batchcal.workbook.targets import targets_on
from batchcal.workbook.xlsx.columns import AddedCell
from batchcal.workbook.xlsx.package import Package
from batchcal.workbook.xlsx.revision import Revision
from batchcal.workbook.xlsx.stylesheet import Stylesheet

LOG = package(f"<worksheet {MAIN}><sheetData/></worksheet>".encode())


@pytest.fixture
def evaluation(tmp_path: Path) -> Evaluation:
    return run(plain_log(2.5, 2.505), tmp_path)


def place(sheet: str, heading: int, row: int, part: str = "", columns: str = "C") -> Place:
    return Place(Table(sheet, heading, {"sample_mass": columns} if columns else {}, {}, part=part), row)


def moved(evaluation: Evaluation, firings: Sequence[Place], samples: Sequence[Place]) -> list[Block]:
    """Return the blocks of an evaluation whose rows stand elsewhere."""
    formats = Stylesheet(Revision(Package("day.xlsx", LOG)))

    def at(result: FiringResult, where: Place) -> FiringResult:
        return replace(result, row=replace(result.row, place=where))

    def sample_at(result: SampleResult, where: Place) -> SampleResult:
        assert result.row is not None
        return replace(result, row=replace(result.row, place=where))

    changed = replace(
        evaluation,
        firings=tuple(at(result, where) for result, where in zip(evaluation.firings, firings, strict=True)),
        samples=tuple(sample_at(result, where) for result, where in zip(evaluation.samples, samples, strict=True)),
    )
    return computed_columns(changed, formats, targets_on("Results", "Findings", "Working", changed.findings))


def values(row: Sequence[AddedCell | None]) -> list[float | str | None]:
    return [None if cell is None else cell.value for cell in row]


FIRINGS, SAMPLES = len(FIRING_COLUMNS), len(SAMPLE_COLUMNS)
GROSS = [column.heading for column in FIRING_COLUMNS].index("Gross, as analysed (J/g)")


def test_one_firing_a_row(evaluation: Evaluation) -> None:
    runs, samples = moved(evaluation, [place("Runs", 3, 4), place("Runs", 3, 7)], [place("Samples", 1, 2)])
    assert (runs.sheet, runs.reach, len(runs.widths)) == ("Runs", (3, 7), FIRINGS)
    assert values(runs.rows[3])[:2] == ["Mass (g)", "Rise (K)"]
    # (10 000 x 2.5 - 60) / 1 and (10 000 x 2.505 - 60) / 1
    assert [values(runs.rows[row])[GROSS] for row in (4, 7)] == pytest.approx([24940, 24990], rel=1e-15)
    assert (samples.sheet, samples.reach, len(samples.widths)) == ("Samples", (1, 2), SAMPLES)


def test_several_firings_a_row_have_columns_of_their_own(evaluation: Evaluation) -> None:
    (block,) = moved(
        evaluation,
        [place("Log", 2, 3, "Test 1"), place("Log", 2, 3, "Test 2")],
        [place("Log", 2, 3)],
    )
    assert len(block.widths) == FIRINGS + 1 + FIRINGS + 1 + SAMPLES
    headings, row = values(block.rows[2]), values(block.rows[3])
    assert headings[0] == "Test 1: Mass (g)"
    assert headings[FIRINGS : FIRINGS + 2] == [None, "Test 2: Mass (g)"]
    assert headings[2 * FIRINGS + 1 : 2 * FIRINGS + 3] == [None, "Firings compared"]
    assert [row[GROSS], row[FIRINGS + 1 + GROSS]] == pytest.approx([24940, 24990], rel=1e-15)


def test_tables_one_below_another_share_their_columns(evaluation: Evaluation) -> None:
    block, _ = moved(evaluation, [place("Log", 1, 2), place("Log", 10, 11)], [place("Samples", 1, 2)])
    assert len(block.widths) == FIRINGS
    assert values(block.rows[1]) == values(block.rows[10])
    assert sorted(block.rows) == [1, 2, 10, 11]


def test_beside_forms_there_are_none(evaluation: Evaluation) -> None:
    forms = [place("Form", 1, 1, "A", ""), place("Form", 1, 1, "B", "")]
    (block,) = moved(evaluation, forms, [place("Samples", 1, 2)])
    assert block.sheet == "Samples"
