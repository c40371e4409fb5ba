"""Which computed columns stand on which sheet: one firing a row, several a row, forms, firings and samples together."""

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from xml.etree.ElementTree import Element, fromstring

import pytest
from lab_packages.one_sheet import MAIN, package, places
from logbook import plain_log, run
from msgspec.structs import replace

from batchcal.findings import make
from batchcal.logged import Place, Table
from batchcal.model import Evaluation, FiringResult, SampleResult
from batchcal.workbook import computed, styles
from batchcal.workbook.added import Block, computed_columns
from batchcal.workbook.computed import FIRING_COLUMNS, SAMPLE_COLUMNS
from batchcal.workbook.targets import targets_on
from batchcal.workbook.xlsx import links as links_of_sheets
from batchcal.workbook.xlsx.inline_cells import InlineColumn
from batchcal.workbook.xlsx.package import Package
from batchcal.workbook.xlsx.references import cell_place
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


def cells(block: Block, first: int = 1, sheet: str = "<sheetData/>") -> dict[int, dict[int, Element]]:
    """Return the cells by row and column, as they are written on a sheet from ``first`` on."""
    columns = block.at(places(f"<worksheet {MAIN}>{sheet}</worksheet>".encode()), first)
    written = zip(columns.rows, columns.cells(columns.rows), strict=True)
    return {
        row: {cell_place(cell.attrib["r"])[1]: cell for cell in fromstring(f"<row>{text}</row>")}
        for row, text in written
    }


def values(row: Mapping[int, Element]) -> dict[int, float | str]:
    """Return what stands in the cells of a row that are not empty."""
    texts = {column: "".join(cell.itertext()) for column, cell in row.items()}
    return {
        column: float(text) if row[column].find("v") is not None else text for column, text in texts.items() if text
    }


FIRINGS, SAMPLES = len(FIRING_COLUMNS), len(SAMPLE_COLUMNS)
GROSS, STATE, FOUND, REASON = (
    [column.heading for column in FIRING_COLUMNS].index(heading) + 1
    for heading in ("Gross, as analysed (J/g)", "State", "Findings", "Reason of the state")
)


def test_one_firing_a_row(evaluation: Evaluation) -> None:
    runs, samples = moved(evaluation, [place("Runs", 3, 4), place("Runs", 3, 7)], [place("Samples", 1, 2)])
    assert (runs.sheet, runs.rows, len(runs.widths)) == ("Runs", [3, 4, 7], FIRINGS)
    written = cells(runs, 5)
    assert [values(written[3])[column] for column in (5, 6)] == ["Mass (g)", "Rise (K)"]
    # (10 000 x 2.5 - 60) / 1 and (10 000 x 2.505 - 60) / 1
    assert [values(written[row])[4 + GROSS] for row in (4, 7)] == pytest.approx([24940, 24990], rel=1e-15)
    assert list(written[4]) == list(range(5, 5 + FIRINGS))
    assert (samples.sheet, samples.rows, len(samples.widths)) == ("Samples", [1, 2], SAMPLES)


def test_several_firings_a_row_have_columns_of_their_own(evaluation: Evaluation) -> None:
    (block,) = moved(
        evaluation,
        [place("Log", 2, 3, "Test 1"), place("Log", 2, 3, "Test 2")],
        [place("Log", 2, 3)],
    )
    assert len(block.widths) == FIRINGS + 1 + FIRINGS + 1 + SAMPLES
    written = cells(block)
    headings, row = values(written[2]), values(written[3])
    assert headings[1] == "Test 1: Mass (g)"
    assert headings[FIRINGS + 2] == "Test 2: Mass (g)"
    assert headings[2 * FIRINGS + 3] == "Firings compared"
    between = {FIRINGS + 1, 2 * FIRINGS + 2}
    assert [set(range(1, len(block.widths) + 1)) - set(written[row]) for row in (2, 3)] == [between, between]
    assert [row[GROSS], row[FIRINGS + 1 + GROSS]] == pytest.approx([24940, 24990], rel=1e-15)


def test_tables_one_below_another_share_their_columns(evaluation: Evaluation) -> None:
    block, _ = moved(evaluation, [place("Log", 1, 2), place("Log", 10, 11)], [place("Samples", 1, 2)])
    assert len(block.widths) == FIRINGS
    written = cells(block)
    assert values(written[1]) == values(written[10])
    assert block.rows == [1, 2, 10, 11]


def test_a_row_has_cells_only_of_the_firings_that_stand_there(evaluation: Evaluation) -> None:
    firings = [place("Log", 2, 3, "Test 1"), place("Log", 2, 4, "Test 2")]
    block, _ = moved(evaluation, firings, [place("Samples", 1, 2)])
    written = cells(block)
    assert [(min(written[row]), max(written[row])) for row in (2, 3, 4)] == [
        (1, 2 * FIRINGS + 1), (1, FIRINGS), (FIRINGS + 2, 2 * FIRINGS + 1),
    ]  # fmt: skip


def test_beside_forms_there_are_none(evaluation: Evaluation) -> None:
    forms = [place("Form", 1, 1, "A", ""), place("Form", 1, 1, "B", "")]
    (block,) = moved(evaluation, forms, [place("Samples", 1, 2)])
    assert block.sheet == "Samples"


def test_cells_with_findings_lead_there_as_long_as_there_is_room(
    evaluation: Evaluation, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(links_of_sheets, "MOST_LINKS", 3)
    found = make("results-in-new-workbook", file="day.xlsx")
    firing = replace(evaluation.firings[0], findings=(found, found))
    unknown = replace(firing, findings=(make("results-in-new-workbook", file="other.xlsx"),))
    results = [unknown, firing, replace(firing, findings=()), firing, firing]
    changed = replace(evaluation, firings=tuple(results), samples=(), findings=(found,))
    (block,) = moved(changed, [place("Runs", 1, row) for row in range(2, 7)], [])
    assert block.links == 4
    own = '<sheetData/><hyperlinks><hyperlink ref="A1"/></hyperlinks>'
    written = {row: row_cells[FOUND] for row, row_cells in cells(block, sheet=own).items() if row > 1}
    code = "results-in-new-workbook"
    assert ["".join(cell.itertext()) for cell in written.values()] == [code, code, "", code, code]
    plain, linked = str(block.formats.text), str(block.formats.linked)
    assert [cell.attrib["s"] for cell in written.values()] == [plain, linked, plain, linked, plain]


def test_formats_are_numbered_before_the_cells_are_written(evaluation: Evaluation) -> None:
    formats = Stylesheet(Revision(Package("day.xlsx", LOG)))
    first, *others = evaluation.firings
    changed = replace(evaluation, firings=(replace(first, reason="=1+1\x00"), *others))
    block, *_ = computed_columns(changed, formats, targets_on("Results", "Findings", "Working", ()))
    numbered = dict(formats._numbers)
    row = first.row.place.row
    reason = cells(block)[row][REASON]
    assert "".join(reason.itertext()) == "=1+1␀"
    assert int(reason.attrib["s"]) == numbered[styles.COMPUTED_TEXT.name, "General", True]
    assert formats._numbers == numbered


def test_a_number_that_is_none_leaves_an_empty_cell(evaluation: Evaluation) -> None:
    first, *others = evaluation.firings
    changed = replace(evaluation, firings=(replace(first, mass_g=math.nan, rise_K=None), *others))
    block, *_ = moved(changed, [place("Runs", 1, 2), place("Runs", 1, 3)], [place("Samples", 1, 2)])
    written = cells(block)
    assert [len(written[2][column]) for column in (1, 2, 3, 4)] == [0, 0, 0, 1]
    assert [written[2][column].attrib["s"] for column in (1, 2)] == [
        written[3][column].attrib["s"] for column in (1, 2)
    ]


def test_texts_that_never_come_again_are_not_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(computed, "_MOST_TEXTS", 2)
    texts = computed._Texts(InlineColumn("", ""), lambda _: 5)
    assert [texts[text] for text in "aab"] == [InlineColumn("", "").text(5, text) for text in "aab"]
    assert texts["c"] == InlineColumn("", "").text(5, "c")
    assert len(texts) == 1
