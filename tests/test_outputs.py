"""The set of outputs: complete or absent, and an older one survives whatever goes wrong."""

import json
import os
import signal
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest

from batchcal.errors import OutputError
from batchcal.outputs import OutputSet, is_output, write_file


def results(hashes: Mapping[str, str]) -> bytes:
    return json.dumps({"outputs": dict(hashes)}).encode()


@pytest.fixture
def outputs(tmp_path: Path) -> OutputSet:
    return OutputSet.for_input(tmp_path / "day.xlsx")


def test_names_and_folder(tmp_path: Path) -> None:
    beside = OutputSet.for_input(tmp_path / "day.xlsx")
    assert [path.name for path in beside.paths] == ["day.results.xlsx", "day.summary.html", "day.results.json"]
    assert beside.results.parent == tmp_path
    assert OutputSet.for_input(tmp_path / "day.xlsx", tmp_path / "out").results.parent == tmp_path / "out"


def test_states(outputs: OutputSet) -> None:
    assert outputs.state().kind == "absent"
    outputs.write(b"book", b"page", results)
    assert outputs.state().kind == "complete"
    outputs.page.write_bytes(b"another page")
    assert outputs.state().kind == "incomplete"
    assert "day.summary.html" in outputs.state().reason
    outputs.results.write_bytes(b"{")
    assert outputs.state().kind == "incomplete"
    outputs.results.unlink()
    assert outputs.state().kind == "incomplete"


@pytest.mark.parametrize("broken", [1, 2, 3])
def test_a_failed_rename_never_leaves_half_a_file(
    outputs: OutputSet, broken: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    outputs.write(b"old book", b"old page", results)
    calls = 0
    rename = Path.replace

    def failing(self: Path, target: Path) -> Path:
        nonlocal calls
        calls += 1
        if calls == broken:
            raise OSError(28, "No space left on device")
        return rename(self, target)

    monkeypatch.setattr(Path, "replace", failing)
    with pytest.raises(OutputError, match="No space left"):
        outputs.write(b"new book", b"new page", results)
    monkeypatch.undo()
    whole = {b"old book", b"new book"}, {b"old page", b"new page"}
    assert outputs.workbook.read_bytes() in whole[0]
    assert outputs.page.read_bytes() in whole[1]
    # Before the first rename all is as it was; after it the set is recognised as incomplete.
    assert outputs.state().kind == ("complete" if broken == 1 else "incomplete")
    assert sorted(file.name for file in outputs.results.parent.iterdir()) == sorted(p.name for p in outputs.paths)


def test_a_failed_write_leaves_the_old_set(outputs: OutputSet, monkeypatch: pytest.MonkeyPatch) -> None:
    outputs.write(b"old book", b"old page", results)
    monkeypatch.setattr(os, "fsync", lambda handle: (_ for _ in ()).throw(OSError(5, "Input/output error")))
    with pytest.raises(OutputError, match="cannot be written"):
        outputs.write(b"new book", b"new page", results)
    monkeypatch.undo()
    assert outputs.workbook.read_bytes() == b"old book"
    assert outputs.state().kind == "complete"


def test_a_folder_in_the_way_is_one_clear_line(tmp_path: Path) -> None:
    target = tmp_path / "blank.xlsx"
    target.mkdir()
    with pytest.raises(OutputError) as caught:
        write_file(target, b"data")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("name", "ours"),
    [
        ("day.results.xlsx", True),
        ("DAY.RESULTS.XLSX", True),
        ("day.summary.html", True),
        ("day.results.json", True),
        ("results.xlsx", False),
        ("day.xlsx", False),
    ],
)
def test_what_is_never_input(name: str, ours: bool) -> None:
    assert is_output(Path(name)) is ours


def test_a_process_killed_between_two_renames_leaves_a_set_that_is_recognised(tmp_path: Path) -> None:
    outputs = OutputSet.for_input(tmp_path / "day.xlsx")
    outputs.write(b"old book", b"old page", results)
    program = """
import os, signal, sys
from pathlib import Path
from batchcal.outputs import OutputSet
rename = Path.replace
def dying(self, target):
    rename(self, target)
    os.kill(os.getpid(), signal.SIGKILL)
Path.replace = dying
OutputSet.for_input(Path(sys.argv[1])).write(b"new book", b"new page", lambda hashes: b"{}")
"""
    done = subprocess.run([sys.executable, "-c", program, str(tmp_path / "day.xlsx")], check=False)
    assert done.returncode == -signal.SIGKILL
    assert outputs.workbook.read_bytes() == b"new book"
    assert outputs.page.read_bytes() == b"old page"
    state = outputs.state()
    assert (state.kind, "day.results.xlsx" in state.reason) == ("incomplete", True)
    outputs.write(b"new book", b"new page", results)
    assert outputs.state().kind == "complete"


def test_a_file_that_is_open_elsewhere_is_told_with_the_way_out(
    outputs: OutputSet, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(self: Path, target: Path) -> Path:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "replace", refused)
    with pytest.raises(OutputError, match=r"day\.results\.xlsx: cannot be written .*close it where it is open"):
        outputs.write(b"book", b"page", results)
    assert list(outputs.results.parent.iterdir()) == []


def test_a_file_where_the_folder_should_be(tmp_path: Path) -> None:
    (tmp_path / "out").write_bytes(b"a file")
    with pytest.raises(OutputError, match="cannot be written"):
        OutputSet.for_input(tmp_path / "day.xlsx", tmp_path / "out" / "sub").write(b"book", b"page", results)
    assert (tmp_path / "out").read_bytes() == b"a file"


def test_nothing_is_left_where_making_the_results_fails(outputs: OutputSet) -> None:
    def failing(hashes: Mapping[str, str]) -> bytes:
        raise ValueError("no results")

    with pytest.raises(ValueError, match="no results"):
        outputs.write(b"book", b"page", failing)
    assert list(outputs.results.parent.iterdir()) == []


@pytest.mark.parametrize("content", [b"[]", b"null", b'{"outputs": 3}', b"\xff\xfe", b"[" * 100_000])
def test_a_results_file_that_is_none_makes_the_set_incomplete(outputs: OutputSet, content: bytes) -> None:
    outputs.write(b"book", b"page", results)
    outputs.results.write_bytes(content)
    assert outputs.state().kind == "incomplete"
