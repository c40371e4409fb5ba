"""``batchcal trend``: exit status, what is said of files passed over, outputs complete or absent."""

import datetime as dt
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from logbook import DAY, plain_log
from long_run_files import day, laboratory, pair, write

from batchcal.cli import cli

OUTPUTS = ["trend.results.xlsx", "trend.summary.html"]


def call(*words: object) -> Result:
    return CliRunner().invoke(cli, ["trend", *map(str, words)])


def made(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.glob("trend.*"))


def test_a_folder_gives_a_page_and_its_tables(tmp_path: Path) -> None:
    write(tmp_path, *laboratory(4))
    result = call(tmp_path)
    assert result.exit_code == 0
    assert made(tmp_path) == OUTPUTS
    assert result.stderr.splitlines()[-1].startswith("batchcal: 4 results files, ")
    first = [(tmp_path / name).read_bytes() for name in OUTPUTS]
    assert call(tmp_path).exit_code == 2, "outputs stand there already"
    assert call(tmp_path, "--force").exit_code == 0
    assert [(tmp_path / name).read_bytes() for name in OUTPUTS] == first


def test_its_outputs_are_never_taken_for_input(tmp_path: Path) -> None:
    write(tmp_path, *laboratory(2))
    call(tmp_path)
    result = CliRunner().invoke(cli, ["process", str(tmp_path)])
    assert result.exit_code == 2
    assert "no workbook" in result.stderr


def test_real_results_files_are_read(tmp_path: Path) -> None:
    for number, rises in enumerate([(2.5, 2.502), (2.6, 2.63), (2.4, 2.401)], 1):
        log = plain_log(*rises, sample=f"S{number}")
        log.setup["Batch date"] = (DAY + dt.timedelta(number),)
        log.save(tmp_path, f"day{number}.xlsx")
    CliRunner().invoke(cli, ["process", str(tmp_path)])
    result = call(tmp_path)
    assert result.exit_code == 0, result.output
    assert "3 results files, 3 first pairs" in result.stderr
    page = (tmp_path / "trend.summary.html").read_text(encoding="utf-8")
    assert f"{DAY + dt.timedelta(1)} to {DAY + dt.timedelta(3)}" in page
    assert "Invented laboratory" in page


def test_bad_files_are_one_line_each_and_the_rest_counts(tmp_path: Path) -> None:
    write(tmp_path, *laboratory(3))
    (tmp_path / "cut.results.json").write_text('{"schema": "batchcal.results/1", "inp')
    (tmp_path / "foreign.results.json").write_text("[1, 2]")
    (tmp_path / "copy.results.json").write_bytes((tmp_path / "0001.results.json").read_bytes())
    result = call(tmp_path)
    assert result.exit_code == 0
    lines = result.stderr.splitlines()
    assert len(lines) == 4
    assert "cut.results.json: damaged" in lines[0]
    assert "foreign.results.json: foreign" in lines[1]
    assert "made from the same workbook; counted once" in lines[2]
    page = (tmp_path / "trend.summary.html").read_text(encoding="utf-8")
    assert "cut.results.json" in page
    assert "counted once" in page


@pytest.mark.parametrize("content", ["", "{", '{"schema": "x"}'])
def test_nothing_that_can_be_read_gives_3_and_writes_nothing(tmp_path: Path, content: str) -> None:
    (tmp_path / "day.results.json").write_text(content)
    result = call(tmp_path)
    assert result.exit_code == 3
    assert "day.results.json: passed over" in result.stderr
    assert "no results file (*.results.json) that can be read" in result.stderr
    assert made(tmp_path) == []


def test_an_empty_folder_gives_3(tmp_path: Path) -> None:
    assert call(tmp_path).exit_code == 3


def test_days_asked_for(tmp_path: Path) -> None:
    write(tmp_path, *(day(f"2026-01-{n:02}", pair(f"S{n}", 1.0, 2.0, 10 * n)) for n in range(1, 6)))
    result = call(tmp_path, "--since", "2026-01-02", "--until", "2026-01-03")
    assert result.exit_code == 0
    assert "2 results files, 2 first pairs" in result.stderr
    nothing = call(tmp_path, "--since", "2027-01-01", "--force")
    assert nothing.exit_code == 3
    assert "among the days asked for" in nothing.stderr
    assert made(tmp_path) == OUTPUTS, "what stood there still stands"


@pytest.mark.parametrize(
    "words",
    [[], ["no-such-folder"], [".", "--since", "yesterday"], [".", "--since", "2026-02-01", "--until", "2026-01-01"]],
)
def test_wrong_usage_gives_2(words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert call(*words).exit_code == 2


def test_several_folders_need_a_place_for_the_page(tmp_path: Path) -> None:
    a, b = write(tmp_path / "a", *laboratory(2)), write(tmp_path / "b", *laboratory(2, seed=2))
    assert call(a, b).exit_code == 2
    assert call(a, b, "--out", tmp_path / "out").exit_code == 0
    assert made(tmp_path / "out") == OUTPUTS
    assert made(a) == []


def test_a_place_that_cannot_be_written_is_one_line(tmp_path: Path) -> None:
    write(tmp_path, *laboratory(1))
    (tmp_path / "file").write_text("x")
    result = call(tmp_path, "--out", tmp_path / "file" / "deeper")
    assert result.exit_code in (2, 3)
    assert len(result.stderr.strip().splitlines()) == 1
    assert json.loads((tmp_path / "0001.results.json").read_text())["schema"] == "batchcal.results/1"
