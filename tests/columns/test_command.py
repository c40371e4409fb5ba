"""The command ``columns`` and ``--columns`` as a user meets them: questions, maps, headings that have changed."""

from pathlib import Path

import click
import openpyxl
import pytest
from click.testing import CliRunner, Result
from logbook import plain_log

from batchcal import cli as commands
from batchcal.cli import cli
from columns.own_day import SETUP, Day, Sheets, add_setup, make_day
from columns.test_rows import LANGUAGES, own_sheet

GERMAN = LANGUAGES[0]


def call(*words: object, typed: str | None = None) -> Result:
    result = CliRunner().invoke(cli, [str(word) for word in words], input=typed)
    assert "Traceback" not in result.output
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


@pytest.fixture
def day() -> Day:
    return make_day(11)


@pytest.fixture
def sheet(tmp_path: Path, day: Day) -> Path:
    return own_sheet(day, GERMAN).save(tmp_path)


def answer_by_hand(saved: Path) -> None:
    """What a person does to a map without a terminal: put the answers in place of the open questions."""
    lines = []
    for line in add_setup(saved.read_text(encoding="utf-8")).splitlines():
        open_words = line.startswith("calibration = ")
        lines.append('calibration = "Benzoesäure"\ncheck = "Kontrolle BS"' if open_words else line)
    saved.write_text("\n".join(lines), encoding="utf-8")


def test_without_a_terminal_questions_are_listed_and_nothing_is_guessed(sheet: Path, tmp_path: Path) -> None:
    before = sheet.read_bytes()
    saved = tmp_path / "own.toml"
    result = call("columns", sheet, "--save", saved)
    assert result.exit_code == 1
    assert "? purpose-open: " in result.stdout
    assert "'Benzoesäure' stands in 5 rows" in result.stdout
    assert "F5 − E5 = G5 in 12 of 12 rows" in result.stdout
    assert "2 questions are open" in result.stderr
    assert sheet.read_bytes() == before
    # Three values of a column are shown beside it.
    line = next(line for line in result.stdout.splitlines() if line.startswith("E5"))
    assert line.count("1") > 5
    refused = call("process", sheet, "--columns", saved)
    assert refused.exit_code == 2
    assert "leaves open: words for calibration" in refused.stderr
    assert len(refused.stderr.splitlines()) == 1
    assert not list(tmp_path.glob("*.results.*"))


def test_a_map_that_is_answered_by_hand_is_used_by_all_commands(sheet: Path, tmp_path: Path) -> None:
    saved = tmp_path / "own.toml"
    call("columns", sheet, "--save", saved)
    answer_by_hand(saved)
    checked = call("check", sheet, "--columns", saved)
    assert checked.exit_code == 0
    assert "3 ready" in checked.stderr
    explained = call("explain", sheet, "47", "--columns", saved)
    assert explained.exit_code == 0
    assert "Protokoll row 12" in explained.stdout
    without = call("check", sheet)
    assert without.exit_code == 3
    assert "there is no sheet Setup" in without.stderr


def test_the_questions_are_asked_at_a_terminal(sheet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(commands, "_at_terminal", lambda: True)
    saved = tmp_path / "own.toml"
    result = call("columns", sheet, "--save", saved, typed="7\n1\n2\ny\n")
    assert result.exit_code == 0
    assert "One of 1, 2, 3, or empty" in result.stdout  # 7 is no choice
    text = saved.read_text(encoding="utf-8")
    assert 'calibration = ["Benzoesäure"]' in text
    assert 'check = ["Kontrolle BS"]' in text
    assert '"?"' not in text.partition("[words]")[2]
    # Left for later, it stays open, and so do the others.
    later = tmp_path / "later.toml"
    assert call("columns", sheet, "--save", later, typed="\ny\n").exit_code == 1
    assert 'calibration = ["?"]' in later.read_text(encoding="utf-8")


def test_a_map_is_written_only_when_the_person_has_said_yes(
    sheet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(commands, "_at_terminal", lambda: True)
    saved = tmp_path / "own.toml"
    result = call("columns", sheet, "--save", saved, typed="1\n2\nn\n")
    assert f"not kept, as you said; {saved} is as it was" in result.stderr
    assert "give --save" not in result.stderr
    assert not saved.exists()
    assert "not kept; give --save MAP.toml" in call("columns", sheet, typed="1\n2\n").stderr
    # The proposal is shown before the first question and once more when all are answered.
    assert result.stdout.count("Sheet Protokoll: firings") == 2


@pytest.mark.parametrize("question", ["prompt", "confirm"])
def test_a_question_that_is_left_by_ctrl_c_ends_the_command_as_everywhere(
    sheet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, question: str
) -> None:
    def interrupted(*_: object, **__: object) -> str:
        raise click.Abort  # what click makes of Ctrl-C at a question

    monkeypatch.setattr(commands, "_at_terminal", lambda: True)
    monkeypatch.setattr(f"batchcal.cli.click.{question}", interrupted)
    saved = tmp_path / "own.toml"
    result = call("columns", sheet, "--save", saved, typed="1\n2\n")
    assert result.exit_code == 130
    assert result.stderr.splitlines()[-1] == "batchcal: stopped"
    assert not saved.exists()


def test_a_map_is_replaced_only_with_force(sheet: Path, tmp_path: Path) -> None:
    saved = tmp_path / "own.toml"
    saved.write_text("mine", encoding="utf-8")
    refused = call("columns", sheet, "--save", saved)
    assert refused.exit_code == 2
    assert "--force" in refused.stderr
    assert saved.read_text(encoding="utf-8") == "mine"
    assert call("columns", sheet, "--save", saved, "--force").exit_code == 1
    assert call("columns", sheet, "--save", tmp_path / "own.txt").exit_code == 2


def test_the_same_sheet_gives_the_same_map(sheet: Path, tmp_path: Path) -> None:
    for name in ("a.toml", "b.toml"):
        call("columns", sheet, "--save", tmp_path / name)
    assert (tmp_path / "a.toml").read_bytes() == (tmp_path / "b.toml").read_bytes()


def changed(sheet: Path, change: str) -> None:
    book = openpyxl.load_workbook(sheet)
    page = book["Protokoll"]
    if change == "renamed":
        page["G5"] = "Masse [g]"
    elif change == "added":
        page["R5"] = "Neu"
    elif change == "gone":
        page["Q5"] = None
    elif change == "moved":
        page["E5"], page["F5"] = page["F5"].value, page["E5"].value
    elif change == "sheet":
        page.title = "Anderes"
    elif change == "label":
        page["A2"] = "Tag:"
    elif change == "case and blanks":
        page["G5"] = "  EINWAAGE\u00a0[g] "
    book.save(sheet)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ("renamed", "column G is headed 'Masse [g]', not 'Einwaage [g]'"),
        ("added", "column R 'Neu' is new"),
        ("gone", "'Bemerkung' is gone"),
        ("moved", "'Tiegel + Probe [g]'"),
        ("sheet", "there is no sheet Protokoll (sheets present: Anderes)"),
        ("label", "the label 'Datum' of Batch date is not on sheet Protokoll"),
    ],
)
def test_changed_headings_stop_with_one_line_that_names_them(
    sheet: Path, tmp_path: Path, change: str, says: str
) -> None:
    saved = tmp_path / "own.toml"
    call("columns", sheet, "--save", saved)
    answer_by_hand(saved)
    text = saved.read_text(encoding="utf-8")
    saved.write_text(text.replace('"Batch date" = { value = 2026-10-14 }\n', ""), encoding="utf-8")
    changed(sheet, change)
    for command in ("process", "check"):
        result = call(command, sheet, "--columns", saved)
        assert result.exit_code == 3
        assert says in result.stderr
        assert len(result.stderr.splitlines()) == 1
    assert not list(tmp_path.glob("*.results.*"))


def test_case_blanks_and_forms_of_one_sign_are_no_change(sheet: Path, tmp_path: Path) -> None:
    saved = tmp_path / "own.toml"
    call("columns", sheet, "--save", saved)
    answer_by_hand(saved)
    changed(sheet, "case and blanks")
    assert call("check", sheet, "--columns", saved).exit_code == 0


def test_an_earlier_map_keeps_its_answers(sheet: Path, tmp_path: Path) -> None:
    first, second = tmp_path / "first.toml", tmp_path / "second.toml"
    call("columns", sheet, "--save", first)
    answer_by_hand(first)
    text = first.read_text(encoding="utf-8")
    by_hand = 'heading = "Best.", means = "Replicate"'
    first.write_text(text.replace('heading = "Best.", means = ""', by_hand), encoding="utf-8")
    changed(sheet, "renamed")
    result = call("columns", sheet, "--columns", first, "--save", second)
    assert result.exit_code == 0
    assert "your own map" in result.stdout
    kept = second.read_text(encoding="utf-8")
    assert by_hand in kept
    assert 'heading = "Masse [g]", means = "Sample mass"' in kept  # by the arithmetic
    assert '"Repeatability limit" = { value = 120' in kept
    checked = call("check", sheet, "--columns", second)
    assert checked.exit_code == 0


def test_a_workbook_of_our_own_needs_no_map(tmp_path: Path) -> None:
    result = call("columns", plain_log(2.5, 2.505).save(tmp_path))
    assert result.exit_code == 2
    assert "no map is needed" in result.stderr


def test_a_workbook_without_any_table_is_said(tmp_path: Path) -> None:
    made = Sheets()
    made.sheet("Einkauf", [["Artikel", "Preis"], ["Draht", 12.5], ["Tiegel", 33.0]])
    result = call("columns", made.save(tmp_path))
    assert result.exit_code == 3
    assert "no table of firings, samples or readings is recognised" in result.stderr
    assert len(result.stderr.splitlines()) == 1


def test_setup_may_stand_on_a_sheet_of_the_blank_workbook_among_the_lab_s_own(sheet: Path, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(sheet)
    page = book.create_sheet("Setup")
    page.append(["Item", "Value", "Unit", "Source", "In force from"])
    for name, entry in SETUP.items():
        page.append([name, *entry])
    book.save(sheet)
    saved = tmp_path / "own.toml"
    call("columns", sheet, "--save", saved)
    lines = [
        'calibration = "Benzoesäure"\ncheck = "Kontrolle BS"' if line.startswith("calibration = ") else line
        for line in saved.read_text(encoding="utf-8").splitlines()
        if not line.startswith('"Batch date"')
    ]
    saved.write_text("\n".join(lines), encoding="utf-8")
    checked = call("check", sheet, "--columns", saved)
    assert "3 ready" in checked.stderr
