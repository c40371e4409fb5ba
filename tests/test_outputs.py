"""The set of outputs: complete or absent, and an older one survives whatever goes wrong."""

import json
import os
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
