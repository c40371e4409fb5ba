"""Writing that is interrupted at every call to the system: the older set stands in the end, or the new one, whole."""

import contextlib
import json
import os
import random
import signal
import time
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import BinaryIO

import pytest
from click.testing import CliRunner, Result
from faults import BROKEN, FULL, REFUSED, Faults, dying, failing, killed_in_child
from logbook import plain_log

from batchcal.cli import cli
from batchcal.errors import OutputError
from batchcal.outputs import OutputSet, standing, write_files
from batchcal.replacing import sha256

NAMES = ("day.results.xlsx", "day.summary.html", "day.results.json")


def content(version: str) -> list[bytes]:
    """What the three files of one version hold."""
    book, page = f"{version} book".encode() * 50, f"{version} page".encode() * 50
    hashes = {NAMES[0]: sha256(book), NAMES[1]: sha256(page)}
    return [book, page, results(hashes)]


def results(hashes: Mapping[str, str]) -> bytes:
    return json.dumps({"outputs": dict(hashes)}).encode()


def write_results(out: BinaryIO, hashes: Mapping[str, str]) -> None:
    out.write(results(hashes))


def write(outputs: OutputSet, version: str) -> None:
    book, page, _ = content(version)
    outputs.write(book, page, write_results)


def seen(outputs: OutputSet) -> list[bytes | None]:
    return [path.read_bytes() if os.path.lexists(path) else None for path in outputs.paths]


def versions(found: list[bytes | None]) -> set[str]:
    """To which version the files that stand belong."""
    return {
        version
        for version in ("old", "new")
        for had, expected in zip(found, content(version), strict=True)
        if had == expected
    }


@pytest.fixture
def outputs(tmp_path: Path) -> OutputSet:
    return OutputSet.for_input(tmp_path / "day.xlsx")


BEFORE = ("a whole set", "nothing", "a page alone")


def prepared(folder: Path, before: str) -> tuple[OutputSet, list[bytes | None]]:
    folder.mkdir()
    outputs = OutputSet.for_input(folder / "day.xlsx")
    if before == "a whole set":
        write(outputs, "old")
    elif before == "a page alone":
        outputs.page.write_bytes(content("old")[1])
    return outputs, seen(outputs)


def calls_of_a_write(tmp_path: Path, faults: Faults, before: str) -> list[str]:
    outputs, _ = prepared(tmp_path / "plain", before)
    faults.clear()
    write(outputs, "new")
    return list(faults.made)


@pytest.mark.parametrize("before", BEFORE)
@pytest.mark.parametrize("lasting", [False, True])
@pytest.mark.parametrize("after", [False, True])
@pytest.mark.parametrize("number", [FULL, BROKEN, REFUSED])
def test_an_error_at_every_call(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, before: str, lasting: bool, after: bool, number: int
) -> None:
    faults = Faults(monkeypatch)
    calls = calls_of_a_write(tmp_path, faults, before)
    assert {"mkdir", "open", "write", "fsync", "rename", "unlink", "rmdir"} <= set(calls)
    told = []
    for at in range(1, len(calls) + 1):
        outputs, older = prepared(tmp_path / str(at), before)
        faults.set(at, failing(number), after=after, lasting=lasting)
        try:
            write(outputs, "new")
        except OutputError as error:
            told.append(str(error))
        faults.clear()
        at_once = seen(outputs)
        assert len(versions(at_once)) <= 1, (at, calls[at - 1])
        new: list[bytes | None] = [*content("new")]
        if not lasting:  # what could be undone at once is undone
            assert at_once in (older, new), (at, calls[at - 1])
        state = outputs.state()
        assert seen(outputs) in (older, new), (at, calls[at - 1])
        if before == "a whole set":
            assert state.kind == "complete", (at, calls[at - 1])
        write(outputs, "new")
        assert sorted(file.name for file in outputs.results.parent.iterdir()) == sorted(NAMES)
    assert len(told) > len(calls) // 4
    assert not any("\n" in line for line in told)


@pytest.mark.parametrize("before", BEFORE)
@pytest.mark.parametrize("after", [False, True])
def test_a_kill_at_every_call(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, before: str, after: bool) -> None:
    faults = Faults(monkeypatch)
    calls = calls_of_a_write(tmp_path, faults, before)
    ends = set()
    for at in range(1, len(calls) + 1):
        outputs, older = prepared(tmp_path / str(at), before)
        faults.set(at, dying, after=after)
        assert killed_in_child(partial(write, outputs, "new"), faults)
        assert len(versions(seen(outputs))) <= 1, (at, calls[at - 1])
        state = outputs.state()
        new: list[bytes | None] = [*content("new")]
        assert seen(outputs) in (older, new), (at, calls[at - 1])
        ends.add("old" if seen(outputs) == older else "new")
        if state.recovered:
            assert (state.recovered, state.kind) == ("finished", "complete")
        assert {file.name for file in outputs.results.parent.iterdir()} <= set(NAMES)
    assert ends == {"old", "new"}


def test_a_kill_while_an_interrupted_writing_is_finished(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A second kill, at every call of the recovery from a kill in the midst of the moves."""
    faults = Faults(monkeypatch)
    calls = calls_of_a_write(tmp_path, faults, "a whole set")
    moves = [number for number, name in enumerate(calls, 1) if name == "rename"]
    struck = 0
    for first in moves:
        for second in range(1, 60):
            outputs, older = prepared(tmp_path / f"{first}-{second}", "a whole set")
            faults.set(first, dying, after=True)
            assert killed_in_child(partial(write, outputs, "new"), faults)
            faults.set(second, dying, after=True)
            killed = killed_in_child(outputs.state, faults)
            assert outputs.state().kind == "complete"
            new: list[bytes | None] = [*content("new")]
            assert seen(outputs) in (older, new)
            struck += killed
            if not killed:
                break
    assert struck > 50


def test_an_error_while_an_interrupted_writing_is_finished(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    faults = Faults(monkeypatch)
    calls = calls_of_a_write(tmp_path, faults, "a whole set")
    moves = [number for number, name in enumerate(calls, 1) if name == "rename"]
    for first in moves:
        for second in range(1, 40):
            outputs, older = prepared(tmp_path / f"{first}-{second}", "a whole set")
            faults.set(first, dying, after=True)
            assert killed_in_child(partial(write, outputs, "new"), faults)
            faults.set(second, failing(BROKEN), lasting=second % 2 == 0)
            with contextlib.suppress(OutputError):
                outputs.state()
            faults.clear()
            assert outputs.state().kind == "complete"
            new: list[bytes | None] = [*content("new")]
            assert seen(outputs) in (older, new)


def test_a_hundred_kills_at_any_moment(outputs: OutputSet) -> None:
    """A process that writes set after set is killed whenever it happens to be; what it was given whole is not lost."""
    chance = random.Random(20261127)
    write(outputs, "old")
    for _ in range(100):
        child = os.fork()
        if child == 0:
            while True:
                write(outputs, "old")
                write(outputs, "new")
        time.sleep(chance.random() * 0.05)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        assert len(versions(seen(outputs))) <= 1
        assert outputs.state().kind == "complete"


def test_an_interrupted_set_whose_new_files_are_damaged_is_undone(
    outputs: OutputSet, monkeypatch: pytest.MonkeyPatch
) -> None:
    faults = Faults(monkeypatch)
    write(outputs, "old")
    older = seen(outputs)
    faults.clear()
    write(outputs, "old")
    third_move = [number for number, name in enumerate(faults.made, 1) if name == "rename"][3]
    faults.set(third_move, dying, after=True)
    assert killed_in_child(partial(write, outputs, "new"), faults)
    assert seen(outputs) == [None, None, None]
    (outputs.staging / "1.new").write_bytes(b"not what was written")
    state = outputs.state()
    assert (state.kind, state.recovered) == ("complete", "undone")
    assert seen(outputs) == older


def test_a_file_that_someone_put_in_the_way_is_left_alone(outputs: OutputSet, monkeypatch: pytest.MonkeyPatch) -> None:
    faults = Faults(monkeypatch)
    write(outputs, "old")
    faults.clear()
    write(outputs, "old")
    third_move = [number for number, name in enumerate(faults.made, 1) if name == "rename"][3]
    faults.set(third_move, dying, after=True)
    assert killed_in_child(partial(write, outputs, "new"), faults)
    outputs.page.write_bytes(b"somebody's own")
    with pytest.raises(OutputError, match=r"day\.summary\.html: stands where .* move it away and try again"):
        outputs.state()
    assert outputs.page.read_bytes() == b"somebody's own"
    outputs.page.rename(outputs.page.with_name("own.html"))
    assert (outputs.state().kind, versions(seen(outputs))) == ("complete", {"new"})


def test_leftovers_before_the_moves_are_cleared_without_a_word(
    outputs: OutputSet, monkeypatch: pytest.MonkeyPatch
) -> None:
    faults = Faults(monkeypatch)
    write(outputs, "old")
    faults.clear()
    write(outputs, "old")
    first_move = faults.made.index("rename") + 1
    faults.set(first_move, dying)
    assert killed_in_child(partial(write, outputs, "new"), faults)
    assert outputs.staging.is_dir()
    state = outputs.state()
    assert (state.kind, state.recovered, versions(seen(outputs))) == ("complete", "", {"old"})
    assert not outputs.staging.exists()


def test_two_runs_at_the_same_time_do_not_disturb_each_other(
    outputs: OutputSet, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(outputs, "old")

    def meanwhile() -> None:
        with pytest.raises(OutputError, match="another run is writing the same outputs; wait for it"):
            outputs.state()
        with pytest.raises(OutputError, match="another run is writing the same outputs; wait for it"):
            write(outputs, "old")

    faults = Faults(monkeypatch)
    faults.clear()
    write(outputs, "old")
    numbers = [number for number, name in enumerate(faults.made, 1) if name in ("write", "rename")]
    for number in numbers:
        other = Faults(monkeypatch)
        other.set(number, meanwhile, after=True)
        write(outputs, "new")
        other.clear()
        assert (outputs.state().kind, versions(seen(outputs))) == ("complete", {"new"})


def test_an_interruption_by_the_user_leaves_the_older_set(outputs: OutputSet, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted() -> None:
        raise KeyboardInterrupt

    faults = Faults(monkeypatch)
    write(outputs, "old")
    older = seen(outputs)
    faults.clear()
    write(outputs, "old")
    for number in [number for number, name in enumerate(faults.made, 1) if name in ("write", "rename")]:
        faults.set(number, interrupted, after=True)
        with pytest.raises(KeyboardInterrupt):
            write(outputs, "new")
        faults.clear()
        assert seen(outputs) == older
        assert not outputs.staging.exists()


def test_a_folder_that_is_not_ours_is_left_alone(outputs: OutputSet) -> None:
    outputs.staging.mkdir()
    (outputs.staging / "letter.txt").write_text("dear")
    (outputs.staging / "0.new").write_text("left over")
    write(outputs, "old")
    assert outputs.state().kind == "complete"
    assert [file.name for file in outputs.staging.iterdir()] == ["letter.txt"]
    (outputs.staging / "journal").write_text("dear diary")
    with pytest.raises(OutputError, match=r"not a journal of batchcal; move \.day\.part away"):
        outputs.state()
    assert (outputs.staging / "journal").read_text() == "dear diary"


def test_two_files_of_one_command_are_a_set_as_well(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    page, record = tmp_path / "page.html", tmp_path / "record.json"
    write_files({page: b"old", record: b"old"})
    faults = Faults(monkeypatch)
    faults.clear()
    write_files({page: b"old", record: b"old"})
    for number, name in enumerate(list(faults.made), 1):
        if name != "rename":
            continue
        faults.set(number, dying, after=True)
        assert killed_in_child(lambda: write_files({page: b"new", record: b"new"}), faults)
        assert standing(page, record) == ["page.html", "record.json"]
        assert page.read_bytes() == record.read_bytes()
        write_files({page: b"old", record: b"old"})


def test_the_command_says_that_it_finished_what_had_been_interrupted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def call(*options: str) -> Result:
        return CliRunner().invoke(cli, ["process", str(day), *options])

    day = plain_log(2.5, 2.502).save(tmp_path)
    assert call().exit_code == 0
    day = plain_log(2.6, 2.602).save(tmp_path)
    faults = Faults(monkeypatch)
    faults.clear()
    assert call("--force").exit_code == 0
    moves = [number for number, name in enumerate(faults.made, 1) if name == "rename"]
    # The bytes of a workbook depend on the log alone, so every run makes the same calls.
    day = plain_log(2.7, 2.702).save(tmp_path)
    faults.set(moves[-3], dying, after=True)
    assert killed_in_child(partial(call, "--force"), faults)
    again = call()
    assert again.exit_code == 2
    assert "day.xlsx: an interrupted writing of its outputs was finished" in again.output
    assert "use --force" in again.output
    written = json.loads((tmp_path / "day.results.json").read_bytes())
    assert written["input"]["sha256"] == sha256(day.read_bytes())
    assert OutputSet.for_input(day).state().kind == "complete"
