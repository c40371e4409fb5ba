"""Rows of the sheet Working that are written together: each is what it would be if it were written alone."""

import io
import re
import zipfile
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made import results_of
from working_days import CASES

from batchcal.logged import Place, Table, TitrationRow
from batchcal.workbook.working import firings, samples
from batchcal.workbook.working.alike import Marks, Places, Rows, by_ways, same
from batchcal.workbook.working.figures import Column, PartedError, is_zero
from batchcal.workbook.working.live import Live, relative_difference
from batchcal.workbook.xlsx import links

CELLS = {"A": (2.5, 0.125, -3.0), "B": (7.0, 9.5, 11.25), "C": (-0.5, 4.0, 0.0)}


def worksheets(path: Path) -> list[bytes]:
    package = zipfile.ZipFile(io.BytesIO(results_of(path)))
    return [package.read(name) for name in package.namelist() if name.startswith("xl/worksheets/sheet")]


@pytest.mark.parametrize("name", CASES)
def test_each_row_is_what_it_is_alone(name: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    path = CASES[name].make().save(tmp_path)
    together = worksheets(path)
    for module in (firings, samples):
        monkeypatch.setattr(module, "AT_ONCE", 1)
    assert worksheets(path) == together


def test_links_end_among_rows_that_are_written_together(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    path = next(iter(CASES.values())).make().save(tmp_path)
    linked = next(part for part in worksheets(path) if b"Firings of the day" in part)
    monkeypatch.setattr(links, "MOST_LINKS", 8)
    working = next(part for part in worksheets(path) if b"Firings of the day" in part)
    link_form = re.findall(rb's="(\d+)" t="inlineStr"><is><t>101<', working)
    assert linked.count(b"<hyperlink ") > 8
    assert working.count(b"<hyperlink ") == 8
    # Five calibration firings, the check and the first two of the samples; the form of a link is on no other.
    assert working.count(b'<c r="A') > working.count(b' s="%b" t="inlineStr"' % link_form[0]) == 8


def expression(cells: Sequence[Live], ways: Sequence[tuple[str, int, int]]) -> Live:
    parts = [*cells, Live("2", 2.0)]
    for way, first, second in ways:
        one, other = parts[first % len(parts)], parts[second % len(parts)]
        if way == "+":
            parts.append(one + other)
        elif way == "-":
            parts.append(one - other)
        elif way == "*":
            parts.append(one * other)
        elif way == "n":
            parts.append(-one)
        else:
            parts.append(relative_difference(one, other))
    return parts[-1]


@given(st.lists(st.tuples(st.sampled_from("+-*nr"), st.integers(0, 20), st.integers(0, 20)), min_size=1, max_size=8))
def test_an_expression_of_many_rows_is_that_of_each(ways: list[tuple[str, int, int]]) -> None:
    alone = [
        expression([Live(f"{letter}{row}", values[row]) for letter, values in CELLS.items()], ways) for row in range(3)
    ]
    found: dict[int, tuple[str, float]] = {}

    def write(rows: Sequence[int]) -> None:
        marks = Marks(len(rows))
        number = marks.texts(list(rows))
        cells = [Live(f"{letter}{number}", Column(values[row] for row in rows)) for letter, values in CELLS.items()]
        whole = expression(cells, ways)
        values = whole.value.values if isinstance(whole.value, Column) else [whole.value] * len(rows)
        found.update(zip(rows, zip(marks.filled(whole.text), values, strict=True), strict=True))

    by_ways(3, write)
    assert [found[row] for row in range(3)] == [(each.text, each.value) for each in alone]


def test_members_are_parted_by_what_they_answer_and_each_is_written_once() -> None:
    members = ["a1", "b1", "a2", "b2", "c1", "a1"]
    written: list[list[str]] = []

    def write(positions: Sequence[int]) -> None:
        some = [members[position] for position in positions]
        same([member[0] for member in some])
        same([member[1] for member in some])
        written.append(some)

    by_ways(len(members), write)
    assert sorted(written) == [["a1", "a1"], ["a2"], ["b1"], ["b2"], ["c1"]]
    by_ways(0, write)
    assert len(written) == 5


def test_no_row_is_divided_by_nothing() -> None:
    ones = Live("A1", Column([1.0, 1.0]))
    with pytest.raises(ValueError, match="divides"):
        ones / Live("B1", Column([0.0, 0.0]))
    with pytest.raises(PartedError) as parted:
        ones / Live("B1", Column([0.0, 2.0]))
    assert parted.value.answers == [True, False]
    assert not is_zero(Column([1.0, 2.0]))


def test_marks_hold_texts_that_are_anything() -> None:
    marks = Marks(2)
    texts = marks.texts(["100 %s", "{0} \\1"])
    figures = marks.figures(Column([0.1 + 0.2, 1e22]))
    assert list(marks.filled(f"50 % {texts}: {figures} {texts}")) == [
        "50 % 100 %s: 0.30000000000000004 100 %s",
        "50 % {0} \\1: 1e+22 {0} \\1",
    ]
    assert list(marks.filled("5 %")) == ["5 %", "5 %"]
    assert marks.texts(["alike", "alike"]) == "alike"


def test_figures_without_a_cell_keep_their_sign_and_their_nothing() -> None:
    parts = [Live("-2.5", -2.5), Live("-3", -3.0)]
    marks = Marks(2)
    text = (Live("A1", 1.0) - marks.lives(parts)).text
    assert list(marks.filled(text)) == ["A1-(-2.5)", "A1-(-3)"]
    for other in (Live("3", 3.0), Live("0", 0.0)):
        with pytest.raises(PartedError):
            Marks(2).lives([parts[0], other])


TABLE = Table("Titration", 1, {"titre_mL": "G"}, {"titre_mL": "Titre (mL)"})


def titration(row: int, cells: dict[str, str] | None = None, titre: float | None = 5.0) -> TitrationRow:
    return TitrationRow(Place(TABLE, row, cells or {}), titre_mL=titre)


def test_a_field_that_stands_elsewhere_keeps_its_own_cell() -> None:
    marks = Marks(2)
    places = Places([titration(7, {"titre_mL": "X3"}).place, titration(8, {"titre_mL": "Y4"}).place], marks)
    assert list(marks.filled(places.cell("titre_mL") or "")) == ["X3", "Y4"]
    with pytest.raises(PartedError):
        Places([titration(7).place, titration(8, {"titre_mL": "Y4"}).place], marks)


def test_a_blank_figure_parts_its_row_from_the_others() -> None:
    rows = Rows([titration(7), titration(8, titre=None)], Marks(2))
    with pytest.raises(PartedError):
        rows.number("titre_mL")
