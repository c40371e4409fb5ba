"""Many workbooks in one call: what is worked on, what is left, what is said, and what an interruption leaves."""

import json
import os
import pty
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from folder_runs import Trouble, days, ended, lives, stamps, until
from logbook import plain_log
from test_cli import call

from batchcal.many import work as worker
from batchcal.many.entry import NOT_REACHED, Entry, Outcome, Task
from batchcal.many.progress import Progress
from batchcal.outputs import OutputSet

ENDINGS = (".results.xlsx", ".summary.html", ".results.json")


@pytest.fixture
def trouble(tmp_path: Path) -> Trouble:
    return Trouble(tmp_path / "trouble")


def made(folder: Path) -> list[Path]:
    return sorted(path for path in folder.iterdir() if path.name.endswith(ENDINGS))


def table(text: str) -> dict[str, list[str]]:
    return {line.split()[0]: line.split()[1:] for line in text.splitlines()[1:]}


def index(folder: Path) -> list[dict[str, Any]]:
    content = json.loads((folder / "batchcal.index.json").read_text(encoding="utf-8"))
    assert content["schema"] == "batchcal.index/1"
    workbooks: list[dict[str, Any]] = content["workbooks"]
    return workbooks


def test_shared_among_processes_every_byte_is_that_of_one_after_the_other(tmp_path: Path) -> None:
    folder = days(tmp_path / "days", "a", "b", "c", "d", "e")
    shared = call("process", folder, "--jobs", 3, "--out", tmp_path / "shared")
    assert shared.exit_code == 0, shared.output
    for workbook in folder.iterdir():
        assert call("process", workbook, "--out", tmp_path / "single").exit_code == 0
    ours = {path.name: path.read_bytes() for path in made(tmp_path / "shared")}
    assert len(ours) == 15
    assert ours == {path.name: path.read_bytes() for path in made(tmp_path / "single")}


def test_table_and_index_say_what_came_of_each_in_the_order_of_the_names(tmp_path: Path) -> None:
    folder = days(tmp_path / "days", "b", "d")
    plain_log(2.5, 2.6).save(folder, "c.xlsx")
    (folder / "a.xlsx").write_bytes(b"this is no workbook")
    result = call("process", folder, "--jobs", 2)
    assert result.exit_code == 3
    assert table(result.stdout) == {
        "a.xlsx": ["failed", "-", "-", "-", "-", "-"],
        "b.xlsx": ["done", "1", "0", "0", "0", "review"],
        "c.xlsx": ["done", "0", "1", "0", "0", "block"],
        "d.xlsx": ["done", "1", "0", "0", "0", "review"],
    }
    assert list(table(result.stdout)) == ["a.xlsx", "b.xlsx", "c.xlsx", "d.xlsx"]
    assert "a.xlsx: not a workbook" in result.stderr
    entries = index(folder)
    assert [entry["file"] for entry in entries] == ["a.xlsx", "b.xlsx", "c.xlsx", "d.xlsx"]
    assert entries[0]["error"] in result.stderr
    assert entries[2]["decisions"] == {"ready": 0, "repeat": 1, "wait": 0, "hold": 0}
    assert entries[2]["severity"] == "block"
    for entry in entries[1:]:
        results = json.loads((folder / entry["file"]).with_suffix(".results.json").read_text(encoding="utf-8"))
        assert entry["sha256"] == results["input"]["sha256"]
    # One line a workbook, for programs that look for lines.
    lines = (folder / "batchcal.index.json").read_text(encoding="utf-8").splitlines()
    assert [json.loads(line.rstrip(",")) for line in lines if line.startswith("  {")] == entries


def test_what_is_up_to_date_is_left_and_said_and_counts_for_the_exit_status(tmp_path: Path) -> None:
    folder = days(tmp_path / "days", "a", "b")
    plain_log(2.5, 2.6).save(folder, "c.xlsx")
    assert call("process", folder).exit_code == 1
    before, first = stamps(made(folder)), index(folder)
    again = call("process", folder)
    assert again.exit_code == 1
    assert [row[0] for row in table(again.stdout).values()] == ["up", "up", "up"]
    assert "3 up to date" in again.stderr
    assert stamps(made(folder)) == before
    # The same is known of each as when it was worked on.
    assert [{**entry, "outcome": "done"} for entry in index(folder)] == first
    assert call("process", folder, "--force").exit_code == 1
    assert all(now != before[name] for name, now in stamps(made(folder)).items())


def test_what_is_out_of_date_is_refused_and_replaced_with_update_alone(tmp_path: Path) -> None:
    folder = days(tmp_path / "days", "a", "b")
    call("process", folder)
    before = stamps(made(folder))
    plain_log(2.6, 2.605).save(folder, "b.xlsx")
    plain_log(2.7, 2.705).save(folder, "c.xlsx")
    refused = call("process", folder)
    assert refused.exit_code == 2
    assert {name: row[0] for name, row in table(refused.stdout).items()} == {
        "a.xlsx": "up", "b.xlsx": "refused", "c.xlsx": "done",
    }  # fmt: skip
    assert "b.xlsx: its outputs in" in refused.stderr
    assert "out of date (the workbook has changed since); use --update" in refused.stderr
    assert {name: now for name, now in stamps(made(folder)).items() if name[0] != "c"} == before
    updated = call("process", folder, "--update")
    assert updated.exit_code == 0
    assert {name: row[0] for name, row in table(updated.stdout).items()} == {
        "a.xlsx": "up", "b.xlsx": "done", "c.xlsx": "up",
    }  # fmt: skip
    after = stamps(made(folder))
    assert {name for name in before if after[name] == before[name]} == {name for name in before if name[0] == "a"}


def _without_page(folder: Path) -> None:
    (folder / "day.summary.html").unlink()


def _other_version(folder: Path) -> None:
    results = folder / "day.results.json"
    results.write_text(results.read_text(encoding="utf-8").replace('"0.1.0"', '"0.0.9"'), encoding="utf-8")


def _other_workbook(folder: Path) -> None:
    plain_log(2.6, 2.605).save(folder)


def _nothing(folder: Path) -> None: ...


@pytest.mark.parametrize(
    ("happens", "words", "says"),
    [
        (_without_page, [], "incomplete (day.summary.html is missing)"),
        (_other_version, [], "made by batchcal 0.0.9"),
        (_other_workbook, [], "the workbook has changed"),
        (_nothing, ["--method", "iso-1928"], "another --method"),
    ],
)
def test_why_results_that_stand_are_not_those_of_today(
    tmp_path: Path, happens: Callable[[Path], None], words: list[str], says: str
) -> None:
    log = plain_log(2.5, 2.505)
    del log.setup["Method"]
    log.save(tmp_path)
    call("process", tmp_path)
    assert "1 up to date" in call("process", tmp_path).stderr
    happens(tmp_path)
    refused = call("process", tmp_path, *words)
    assert refused.exit_code == 2
    assert says in refused.stderr
    assert "1 done" in call("process", tmp_path, *words, "--update").stderr
    assert "1 up to date" in call("process", tmp_path, *words).stderr


def test_a_method_given_by_command_is_recorded_and_one_that_setup_names_as_well_changes_nothing(tmp_path: Path) -> None:
    log = plain_log(2.5, 2.505)
    log.save(tmp_path, "named.xlsx")
    call("process", tmp_path, "--method", "lab")
    assert "1 up to date" in call("process", tmp_path).stderr
    del log.setup["Method"]
    log.save(tmp_path, "named.xlsx")
    call("process", tmp_path, "--method", "lab", "--update")
    results = json.loads((tmp_path / "named.results.json").read_text(encoding="utf-8"))
    assert results["input"]["method"] == "lab"
    assert "another --method" in call("process", tmp_path).stderr


def test_a_changed_map_makes_results_out_of_date(tmp_path: Path) -> None:
    example = Path(__file__).parent.parent / "example_workbooks" / "simple_bench_day.xlsx"
    day = tmp_path / "day.xlsx"
    day.write_bytes(example.read_bytes())
    outputs = OutputSet.for_input(day)
    assert worker.work(Task(day, outputs)).outcome is Outcome.DONE
    column_map = tmp_path / "map.toml"
    column_map.write_text("# any", encoding="utf-8")
    refused = worker.work(Task(day, outputs, columns=column_map))
    assert refused.outcome is Outcome.REFUSED
    assert "another column map" in str(refused.error)


def test_one_named_workbook_with_outputs_needs_force_and_with_update_is_told_from_the_rest(tmp_path: Path) -> None:
    day = plain_log(2.5, 2.6).save(tmp_path)
    assert call("process", day).exit_code == 1
    assert call("process", day).exit_code == 2
    updated = call("process", day, "--update")
    assert updated.exit_code == 1
    assert "up to date" in updated.stdout


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("day.json", b'{"of": "another program"}'),
        ("day.json", b'{"schema": "batchcal.results/1"}'),
        ("log.xlsx", b"a workbook"),
        ("day.results.json", b""),
    ],
)
def test_an_index_takes_the_place_of_an_index_only(tmp_path: Path, name: str, content: bytes) -> None:
    folder = days(tmp_path / "days", "a")
    there = tmp_path / name
    there.write_bytes(content)
    result = call("process", folder, "--index", there)
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1
    assert there.read_bytes() == content
    assert made(folder) == []


def test_the_index_stands_where_it_is_asked_for_or_in_the_folder_of_the_outputs(tmp_path: Path) -> None:
    folder = days(tmp_path / "days", "a", "b")
    asked = tmp_path / "deeper" / "days.json"
    for _ in range(2):
        assert call("process", folder, "--index", asked).exit_code == 0
    assert [one["file"] for one in json.loads(asked.read_text(encoding="utf-8"))["workbooks"]] == [
        "../days/a.xlsx", "../days/b.xlsx",
    ]  # fmt: skip
    assert not (folder / "batchcal.index.json").exists()
    call("process", folder, "--out", tmp_path / "out")
    assert [entry["file"] for entry in index(tmp_path / "out")] == ["../days/a.xlsx", "../days/b.xlsx"]


def test_want_of_memory_is_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def greedy(*_: object, **__: object) -> None:
        raise MemoryError

    monkeypatch.setattr(worker, "process_workbook", greedy)
    day = plain_log(2.5, 2.505).save(tmp_path)
    entry = worker.work(Task(day, OutputSet.for_input(day)))
    assert entry.exit_status == 3
    assert "memory" in str(entry.error)


def test_a_worker_that_is_killed_takes_no_other_workbook_with_it(tmp_path: Path, trouble: Trouble) -> None:
    folder = days(tmp_path / "days", "a", "b", "killed-1", "killed-2", "x", "y")
    status, out, err = ended(trouble.start("process", folder, "--jobs", 2))
    assert status == 3, err
    outcomes = {name: row[0] for name, row in table(out).items()}
    assert {name for name, outcome in outcomes.items() if outcome == "failed"} == {"killed-1.xlsx", "killed-2.xlsx"}
    # What its neighbour had written just before it was lost with it is found up to date.
    assert all(outcomes[f"{name}.xlsx"] in ("done", "up") for name in "abxy")
    assert "killed-1.xlsx: the process that worked on it was ended from outside" in err
    assert "Traceback" not in err


def test_an_error_of_the_program_is_shown_as_such_after_the_rest_is_done(tmp_path: Path, trouble: Trouble) -> None:
    folder = days(tmp_path / "days", "a", "wrong", "z")
    status, out, err = ended(trouble.start("process", folder))
    assert status not in (0, 130)
    assert {name: row[0] for name, row in table(out).items()} == {
        "a.xlsx": "done", "wrong.xlsx": "failed", "z.xlsx": "done",
    }  # fmt: skip
    assert "TypeError: an error of the program" in err
    assert "please report it" in str(index(folder)[1]["error"])


def test_control_c_finishes_what_is_at_hand_and_the_next_run_goes_on(tmp_path: Path, trouble: Trouble) -> None:
    folder = days(tmp_path / "days", "a", "slow-1", "slow-2", "y", "z")
    command = trouble.start("process", folder, "--jobs", 2)
    until(lambda: len(trouble.began("slow")) == 2)
    # The terminal sends it to the whole group: the workers must not hear it.
    os.killpg(command.pid, signal.SIGINT)
    trouble.go()
    status, out, err = ended(command)
    # The Bash Reference Manual, 3.7.5 Exit Status: a command ended by signal N has the status 128+N; SIGINT is 2.
    assert status == 128 + signal.SIGINT, err
    assert "Traceback" not in err
    assert {name: row[0] for name, row in table(out).items()} == {
        "a.xlsx": "done", "slow-1.xlsx": "done", "slow-2.xlsx": "done", "y.xlsx": "not", "z.xlsx": "not",
    }  # fmt: skip
    assert [entry["outcome"] for entry in index(folder)] == ["done", "done", "done", "not reached", "not reached"]
    assert not any(lives(worker_id) for worker_id in trouble.began())
    assert not list(folder.glob(".*"))
    before = stamps(made(folder))
    assert len(before) == 9
    again = call("process", folder)
    assert again.exit_code == 0
    assert {name: row[0] for name, row in table(again.stdout).items()} == {
        "a.xlsx": "up", "slow-1.xlsx": "up", "slow-2.xlsx": "up", "y.xlsx": "done", "z.xlsx": "done",
    }  # fmt: skip
    assert {name: now for name, now in stamps(made(folder)).items() if name in before} == before


def test_control_c_twice_ends_at_once(tmp_path: Path, trouble: Trouble) -> None:
    folder = days(tmp_path / "days", "slow-1", "slow-2", "z")
    command = trouble.start("process", folder, "--jobs", 2)
    until(lambda: len(trouble.began()) == 2)
    os.killpg(command.pid, signal.SIGINT)
    assert command.stderr is not None
    assert "Ctrl-C once more" in command.stderr.readline()
    # The slow ones never go on.
    os.killpg(command.pid, signal.SIGINT)
    status, out, err = ended(command)
    assert status == 130, err
    assert "Traceback" not in err
    assert {row[0] for row in table(out).values()} == {"not"}
    assert made(folder) == []
    until(lambda: not any(lives(worker_id) for worker_id in trouble.began()))


def test_workers_end_with_the_command_that_started_them(tmp_path: Path, trouble: Trouble) -> None:
    folder = days(tmp_path / "days", "slow-1", "slow-2")
    command = trouble.start("process", folder, "--jobs", 2)
    until(lambda: len(trouble.began()) == 2)
    command.kill()
    command.wait()
    until(lambda: not any(lives(worker_id) for worker_id in trouble.began()))
    command.communicate()


def test_a_killed_command_leaves_whole_sets_and_the_next_run_does_the_rest(tmp_path: Path, trouble: Trouble) -> None:
    folder = days(tmp_path / "days", "a", "b", "slow-1", "slow-2", "z")
    command = trouble.start("process", folder, "--jobs", 2)
    until(lambda: len(trouble.began("slow")) == 2)
    command.kill()
    command.communicate()
    until(lambda: not any(lives(worker_id) for worker_id in trouble.began()))
    before = stamps(made(folder))
    assert sorted(before) == [f"{day}{ending}" for day in "ab" for ending in sorted(ENDINGS)]
    assert not (folder / "batchcal.index.json").exists()
    again = call("process", folder, "--jobs", 2)
    assert again.exit_code == 0, again.output
    assert [entry["outcome"] for entry in index(folder)] == ["up to date", "up to date", "done", "done", "done"]
    assert {name: now for name, now in stamps(made(folder)).items() if name in before} == before
    assert not list(folder.glob(".*"))


def test_control_c_on_one_named_workbook_is_no_traceback(tmp_path: Path, trouble: Trouble) -> None:
    folder = days(tmp_path / "days", "slow")
    command = trouble.start("process", folder / "slow.xlsx")
    until(lambda: len(trouble.began()) == 1)
    os.killpg(command.pid, signal.SIGINT)
    status, _, err = ended(command)
    assert (status, err.split()) == (130, ["batchcal:", "stopped"])
    assert made(folder) == []


def test_progress_is_shown_at_a_terminal_only(tmp_path: Path) -> None:
    folder = days(tmp_path / "days", "a", "b")
    words = [sys.executable, "-m", "batchcal", "process", str(folder), "--force"]
    quiet = subprocess.run(words, check=True, capture_output=True, text=True)
    assert quiet.stderr.splitlines() == [f"batchcal: 2 workbooks: 2 done; index: {folder / 'batchcal.index.json'}"]
    ours, theirs = pty.openpty()
    shown = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=theirs)
    os.close(theirs)
    said = b""
    while chunk := _read(ours):
        said += chunk
    os.close(ours)
    shown.communicate()
    assert b"0 of 2 done, 0 failed" in said
    assert b"1 of 2 done, 0 failed, about " in said
    assert b"2 workbooks: 2 done" in said.rpartition(b"\x1b[K")[2]


def _read(terminal: int) -> bytes:
    try:
        return os.read(terminal, 1024)
    except OSError:  # the other side is closed
        return b""


def test_time_left_is_that_of_those_worked_on() -> None:
    progress = Progress(10)
    assert progress.line(0) == "0 of 10 done, 0 failed"
    for _ in range(4):
        progress.count(Entry(Outcome.UP_TO_DATE, 0))
    assert progress.line(1) == "4 of 10 done, 0 failed"
    progress.count(Entry(Outcome.DONE, 0))
    progress.count(Entry(Outcome.FAILED, 3))
    # Two in 100 s are 50 s each; four are left.
    assert progress.line(100) == "6 of 10 done, 1 failed, about 3 min left"
    for _ in range(4):
        progress.count(NOT_REACHED)
    assert progress.line(100) == ""
