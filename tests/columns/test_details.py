"""What a lab's own sheet says in its own way: commas, kilocalories, words, labels, contents on each row."""

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from batchcal.model import Evaluation
from batchcal.process import propose_columns
from columns.own_day import DAY, Day, Sheets, assert_same, figures, make_day, propose_and_read, run_layout
from columns.test_rows import GERMAN as WORDS
from columns.test_rows import LANGUAGES, own_sheet, rows_of

GERMAN = WORDS | {"portion": "Bestimmung"}
ANSWERS = {"purpose Benzoesäure": "calibration", "purpose Kontrolle BS": "check"}
COLUMN = dict(zip(GERMAN, "ABCDEFGHIJKLMNOPQ", strict=True))


@pytest.fixture
def day() -> Day:
    return make_day(21)


def german(day: Day, folder: Path) -> tuple[Any, Any, Path]:
    path = own_sheet(day, (LANGUAGES[0][0], GERMAN, *LANGUAGES[0][2:])).save(folder)
    book = openpyxl.load_workbook(path)
    return book, book["Protokoll"], path


def by_code(evaluation: Evaluation, code: str) -> list[Any]:
    return [finding for finding in evaluation.findings if finding.code == code]


def test_numbers_typed_with_a_comma_are_read_only_where_the_map_says_so(tmp_path: Path, day: Day) -> None:
    book, page, path = german(day, tmp_path)
    for row in range(6, 6 + len(day.firings)):
        for key in ("titre", "left"):
            cell = page[f"{COLUMN[key]}{row}"]
            cell.value = f"{cell.value}".replace(".", ",")
    book.save(path)
    read = propose_and_read(path, {**ANSWERS, "M5 decimal": ",", "I5 decimal": ","})
    assert_same(figures(read), figures(run_layout(day, tmp_path)))
    said = by_code(read, "decimals-by-map")
    assert {(finding.cell, finding.message.split(": ")[1].split(" ")[0]) for finding in said} == {
        ("M6", "12"), ("I6", "12"),
    }  # fmt: skip
    kept = propose_and_read(path, {**ANSWERS, "M5 decimal": "-", "I5 decimal": "-"})
    assert len(by_code(kept, "decimal-comma") + by_code(kept, "number-as-text")) == 24
    assert all(firing.gross_ad_J_per_g is None for firing in kept.firings)


@pytest.mark.parametrize("text", ["1.234,5", "1 234,5", "5,2 mL", "5,,2", "5.2", "5,2,1"])
def test_a_comma_is_read_in_one_form_only(tmp_path: Path, day: Day, text: str) -> None:
    book, page, path = german(day, tmp_path)
    for row in range(6, 6 + len(day.firings)):
        cell = page[f"M{row}"]
        cell.value = f"{cell.value}".replace(".", ",")
    page["M14"] = text
    book.save(path)
    read = propose_and_read(path, {**ANSWERS, "M5 decimal": ","})
    doubted = [finding for finding in read.findings if finding.cell == "M14" and finding.severity.stops]
    assert len(doubted) == 1
    spoilt = next(firing for firing in read.firings if firing.row.place.row == 14)
    assert spoilt.gross_ad_J_per_g is None
    assert doubted[0] in spoilt.findings


def test_results_of_the_own_sheet_in_kilocalories_are_compared_and_never_used(tmp_path: Path, day: Day) -> None:
    book, page, path = german(day, tmp_path)
    right = figures(run_layout(day, tmp_path))["firings"]
    page["R5"] = "Brennwert (an) [kcal/kg]"
    for fired in day.firings:
        if fired.sample:
            found = next(v for k, v in right.items() if k.endswith(str(fired.crucible)))[6]
            page[f"R{6 + day.firings.index(fired)}"] = round(found / 4.1868, 0)
    page["R13"] = page["R13"].value + 300
    book.save(path)
    edits = {'"Laboratory" =': '"Calorie" = "international"\n"Laboratory" ='}
    read = propose_and_read(path, ANSWERS, edits=edits)
    assert_same(figures(read), figures(run_layout(day, tmp_path)))
    differs = by_code(read, "own-result-differs")
    assert [finding.cell for finding in differs] == ["R13"]


def test_contents_that_differ_between_the_firings_of_a_sample_name_both_cells(tmp_path: Path, day: Day) -> None:
    book, page, path = german(day, tmp_path)
    page["N13"] = page["N12"].value + 0.4
    page["D13"] = "something else"
    book.save(path)
    read = propose_and_read(path, ANSWERS)
    moisture, description = by_code(read, "replicate-contents-differ")
    assert (moisture.cell, moisture.severity, moisture.sample) == ("N13", "block", "K-101")
    assert "N12" in moisture.message
    assert description.severity == "review"
    held = next(sample for sample in read.samples if sample.sample == "K-101")
    assert held.decision == "hold"
    assert {sample.decision for sample in read.samples if sample.sample != "K-101"} == {"ready"}


def test_a_content_that_stands_once_holds_for_the_sample(tmp_path: Path, day: Day) -> None:
    book, page, path = german(day, tmp_path)
    for key in ("moisture", "ash", "sulphur", "fuel"):
        for row in (13, 15, 16):
            page[f"{COLUMN[key]}{row}"] = None
    book.save(path)
    read = propose_and_read(path, ANSWERS)
    assert_same(figures(read), figures(run_layout(day, tmp_path)))
    logged = next(one for one in read.batch.samples if one.sample == "K-103")
    assert logged.place.cell("moisture_analysis") == "N17"
    assert logged.place.row == 16


def test_words_of_the_lab_for_words_of_the_lists(tmp_path: Path, day: Day) -> None:
    book, page, path = german(day, tmp_path)
    page["R5"] = "Ausgang"
    page["R13"] = "Fehlzündung"
    book.save(path)
    edits = {
        'heading = "Ausgang", means = ""': 'heading = "Ausgang", means = "Outcome"',
        'check = ["Kontrolle BS"]': 'check = "Kontrolle BS"\nmisfire = ["Fehlzündung"]',
    }
    read = propose_and_read(path, ANSWERS, edits=edits)
    missed = next(firing for firing in read.firings if firing.row.place.row == 13)
    assert missed.state == "excluded"
    assert missed.row.outcome == "misfire"


def test_a_hidden_row_is_said_on_an_own_sheet_too(tmp_path: Path, day: Day) -> None:
    book, page, path = german(day, tmp_path)
    page.row_dimensions[13].hidden = True
    book.save(path)
    found = by_code(propose_and_read(path, ANSWERS), "row-hidden-or-struck")
    assert len(found) == 1
    assert found[0].firing == "48"


def test_items_of_setup_beside_a_label_and_two_labels_that_contradict(tmp_path: Path, day: Day) -> None:
    book, page, path = german(day, tmp_path)
    page["F1"], page["G1"] = "Wärmekapazität [J/K]:", 10124.0
    page["F2"], page["G2"] = "Laborant:", "PR"
    book.save(path)
    before = 'sheet = "Protokoll", unit = "J/K" }'
    edits = {before: before.replace(" }", ', source = "s", in_force_from = 2026-10-01 }')}
    # With a heat capacity on Setup the benzoic acid makes no series of its own: it is said, as in our layout.
    read = propose_and_read(path, ANSWERS, edits=edits)
    entry = next(entry for entry in read.batch.setup if entry.key == "heat_capacity")
    assert (entry.value, entry.place.where("value")) == (10124.0, "Protokoll!G1")
    assert read.settings.analyst == "PR"
    page["F30"], page["G30"] = "Wärmekapazität [J/K]:", 10099.0
    book.save(path)
    twice = by_code(propose_and_read(path, ANSWERS, edits=edits), "setup-item-twice")
    assert [finding.sheet for finding in twice] == ["Protokoll"]


def test_setup_that_the_map_gives_is_traced_to_its_line(tmp_path: Path, day: Day) -> None:
    _, _, path = german(day, tmp_path)
    read = propose_and_read(
        path,
        ANSWERS,
        edits={'"Wire heat" = { value = 9.6, unit = "J/cm"': '"Wire heat" = { value = 9.6, unit = "J/m2"'},
    )
    finding = by_code(read, "setup-unit-unknown")[0]
    line = path.with_suffix(".toml").read_text(encoding="utf-8").splitlines()[finding.row - 1]
    assert line.startswith('"Wire heat"')
    assert finding.where == f"own.toml row {finding.row}"
    assert all(firing.state == "not computed" for firing in read.firings)


def question(path: Path, end: str) -> Any:
    proposal = propose_columns(path)
    return next(one for one in proposal.questions if one.key.endswith(end))


@pytest.mark.parametrize(
    ("value", "choices"),
    [(30.0, ["bar", "atm", "kgf/cm²"]), (3.0, None), (2950.0, None)],
)
def test_a_unit_is_asked_where_the_values_allow_two(
    tmp_path: Path, day: Day, value: float, choices: list[str] | None
) -> None:
    book, page, path = german(day, tmp_path)
    page["R5"] = "Sauerstoffdruck"
    for row in range(6, 6 + len(day.firings)):
        page[f"R{row}"] = value
    book.save(path)
    if choices is None:
        proposal = propose_columns(path)
        shown = next(one for one in proposal.shown if one.address == "R5")
        assert shown.means == f"Oxygen pressure ({'MPa' if value == 3.0 else 'kPa'})"
        assert "only" in shown.evidence
        return
    asked = question(path, "R5 unit")
    assert asked.finding.code == "column-unit-open"
    assert [choice.value for choice in asked.choices][:-1] == choices
    read = propose_and_read(path, {**ANSWERS, "R5 unit": "bar"})
    assert read.firings[0].row.oxygen_pressure_MPa == pytest.approx(3.0)


def test_a_basis_that_no_heading_names_is_asked_once(tmp_path: Path, day: Day) -> None:
    book, page, path = german(day, tmp_path)
    page["O5"] = "Aschegehalt [%]"
    book.save(path)
    assert question(path, "O5 basis").finding.code == "column-basis-open"
    read = propose_and_read(path, {**ANSWERS, "O5 basis": "d"})
    assert {row.bases["ash"] for row in read.batch.samples} == {"d"}


def test_two_columns_for_one_field_are_asked(tmp_path: Path, day: Day) -> None:
    book, page, path = german(day, tmp_path)
    page["R5"] = "Probenmasse [g]"
    for row in range(6, 6 + len(day.firings)):
        page[f"R{row}"] = round(page[f"G{row}"].value + 0.1, 4)
    book.save(path)
    asked = question(path, "G5 which")
    assert asked.finding.code == "columns-fit-one"
    read = propose_and_read(path, {"G5 which": "G5", **ANSWERS})
    assert_same(figures(read), figures(run_layout(day, tmp_path)))


def test_a_language_that_nobody_here_reads_is_confirmed_by_the_person(tmp_path: Path, day: Day) -> None:
    words = {
        "number": "Nr pomiaru", "sample": "Nr próbki", "portion": "Powtórzenie", "fuel": "Rodzaj paliwa",
        "crucible": "Tygiel pusty [g]", "gross": "Tygiel z próbką [g]", "mass": "Naważka [g]",
        "fitted": "Drut początkowy [cm]", "left": "Drut niespalony [cm]", "initial": "Temperatura początkowa [°C]",
        "final": "Temperatura końcowa [°C]", "rise": "Przyrost temperatury [K]", "titre": "Zużycie NaOH [ml]",
        "moisture": "Wilgoć analityczna [%]", "ash": "Popiół, ad [%]", "sulphur": "Siarka, ad [%]", "remark": "Uwagi",
    }  # fmt: skip
    rows: list[list[Any]] = [["Datum:", None, DAY], [], list(words.values())]
    rows += rows_of(day, list(words), "Kwas benzoesowy", "Kontrola")
    made = Sheets()
    made.sheet("Dziennik", rows)
    path = made.save(tmp_path)
    proposal = propose_columns(path)
    assert proposal.questions[0].finding.code == "language-open"
    assert "Polish" in proposal.questions[0].text
    assert proposal.column_map.language == "?"
    by_arithmetic = {one.address for one in proposal.shown if " in 12 of 12 rows" in one.evidence}
    assert by_arithmetic == {"E3", "F3", "G3", "J3", "K3", "L3"}
    open_now = [entry.heading for entry in proposal.column_map.tables[0].headings if entry.is_open]
    assert "Nr próbki" in open_now
    read = propose_and_read(path, {
        "language": "pl", "strength": "0.1", "purpose Kwas benzoesowy": "calibration", "purpose Kontrola": "check",
    }, edits={
        entry: entry.replace('means = ""', f'means = "{means}", unit = "cm"')
        for entry, means in {
            'heading = "Drut początkowy [cm]", means = ""': "Wire fitted",
        }.items()
        if any(one.heading == "Drut początkowy [cm]" and one.means == "not read" for one in proposal.shown)
    })  # fmt: skip
    assert_same(figures(read), figures(run_layout(day, tmp_path)))


def test_a_copied_sheet_that_the_map_does_not_name_is_said(tmp_path: Path, day: Day) -> None:
    book, page, path = german(day, tmp_path)
    book.copy_worksheet(page).title = "Protokoll (2)"
    book.create_sheet("Einkauf").append(["Artikel", "Preis", "Menge"])
    book.save(path)
    read = propose_and_read(path, {**ANSWERS}, edits={'sheet = "*"\nholds': 'sheet = "Protokoll"\nholds'})
    found = by_code(read, "sheet-beside-map")
    assert [(finding.sheet, finding.row, finding.severity.value) for finding in found] == [
        ("Protokoll (2)", 5, "review")
    ]
    assert len(read.firings) == len(day.firings)


def test_a_number_typed_with_a_comma_beside_a_label_is_seen_and_asked(tmp_path: Path, day: Day) -> None:
    book, page, path = german(day, tmp_path)
    page["H1"], page["I1"] = "Wärmekapazität (J/K)", "10085,5"
    book.save(path)
    proposal = propose_columns(path)
    asked = {question.key: question.finding.code for question in proposal.questions}
    assert asked["Protokoll!H1 decimal"] == "column-decimals-open"
    read = propose_and_read(path, {**ANSWERS, "H1 decimal": ","})
    assert by_code(read, "heat-capacity-missing") == []
    assert 10085.5 in [one.quantity.value for one in read.settings.heat_capacities]


def test_a_unit_that_is_not_read_is_named_in_the_question(tmp_path: Path, day: Day) -> None:
    rows: list[list[Any]] = [["Sample no.", "Sample mass (g)", "Initial temperature (°F)", "Final temperature (°F)"]]
    rows += [
        [one.sample, one.mass, *(round(reading * 1.8 + 32, 3) for reading in (one.initial, one.final))]
        for one in day.firings
    ]
    made = Sheets()
    made.sheet("Today", rows)
    asked = {question.finding.cell: question.text for question in propose_columns(made.save(tmp_path)).questions}
    assert "its unit °F is not read" in asked["C1"]
    assert "its unit °F is not read" in asked["D1"]
