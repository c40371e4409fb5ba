"""The set of outputs: complete or absent, and an older one survives whatever goes wrong."""

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import BinaryIO

import pytest

from batchcal.errors import OutputError
from batchcal.outputs import OutputSet, is_output, write_file


def results(out: BinaryIO, hashes: Mapping[str, str]) -> None:
    out.write(json.dumps({"outputs": dict(hashes)}).encode())


@pytest.fixture
def outputs(tmp_path: Path) -> OutputSet:
    return OutputSet.for_input(tmp_path / "day.xlsx")


def test_names_and_folder(tmp_path: Path) -> None:
    beside = OutputSet.for_input(tmp_path / "day.xlsx")
    assert [path.name for path in beside.paths] == ["day.results.xlsx", "day.summary.html", "day.results.json"]
    assert OutputSet.for_input(tmp_path / "day.xlsm").workbook.name == "day.results.xlsm"
    assert OutputSet.for_input(tmp_path / "day.ods").workbook.name == "day.results.xlsx"
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
        ("Day.Certificate.html", True),
        ("results.xlsx", False),
        ("day.xlsx", False),
    ],
)
def test_what_is_never_input(name: str, ours: bool) -> None:
    assert is_output(Path(name)) is ours


def test_a_file_that_is_open_elsewhere_is_told_with_the_way_out(
    outputs: OutputSet, monkeypatch: pytest.MonkeyPatch
) -> None:
    outputs.write(b"old book", b"old page", results)
    rename = os.rename

    def refused(source: Path, target: Path) -> None:
        if Path(source) == outputs.page:
            raise PermissionError(13, "Permission denied")
        rename(source, target)

    monkeypatch.setattr(os, "rename", refused)
    with pytest.raises(OutputError, match=r"day\.summary\.html: cannot be written .*close it where it is open"):
        outputs.write(b"book", b"page", results)
    assert outputs.workbook.read_bytes() == b"old book"
    assert outputs.state().kind == "complete"


def test_a_write_protected_output_is_left_as_it_is(outputs: OutputSet) -> None:
    outputs.write(b"old book", b"old page", results)
    outputs.page.chmod(0o444)
    with pytest.raises(OutputError, match=r"day\.summary\.html: cannot be written \(it is write-protected"):
        outputs.write(b"book", b"page", results)
    assert outputs.workbook.read_bytes() == b"old book"
    assert outputs.state().kind == "complete"
    assert not outputs.staging.exists()


def test_a_folder_where_an_output_belongs_is_left_as_it_is(outputs: OutputSet) -> None:
    outputs.page.mkdir()
    (outputs.page / "inside").write_text("kept")
    with pytest.raises(OutputError, match=r"day\.summary\.html: cannot be written \(a folder of this name is there"):
        outputs.write(b"book", b"page", results)
    assert (outputs.page / "inside").read_text() == "kept"
    assert [file.name for file in outputs.results.parent.iterdir()] == ["day.summary.html"]


def test_a_folder_that_may_not_be_written(outputs: OutputSet, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(path: Path, mode: int = 0o777) -> None:
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr(os, "mkdir", refused)
    with pytest.raises(OutputError, match=r"nothing can be written there \(Read-only file system\)") as caught:
        outputs.write(b"book", b"page", results)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("length", [243, 250, 300])
def test_a_name_that_is_too_long_is_one_line(tmp_path: Path, length: int) -> None:
    outputs = OutputSet.for_input(tmp_path / ("d" * length + ".xlsx"))
    with pytest.raises(OutputError, match="File name too long") as caught:
        outputs.write(b"book", b"page", results)
    assert "\n" not in str(caught.value)
    assert list(tmp_path.iterdir()) == []


def test_the_longest_name_that_a_folder_takes(tmp_path: Path) -> None:
    outputs = OutputSet.for_input(tmp_path / ("d" * 242 + ".xlsx"))
    outputs.write(b"book", b"page", results)
    outputs.write(b"book", b"page", results)
    assert outputs.state().kind == "complete"


def test_a_link_is_replaced_and_what_it_leads_to_is_left(outputs: OutputSet, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "page.html").write_bytes(b"somewhere else")
    outputs.page.symlink_to(elsewhere / "page.html")
    outputs.workbook.symlink_to(elsewhere / "nothing there")
    outputs.write(b"book", b"page", results)
    assert outputs.state().kind == "complete"
    assert outputs.page.read_bytes() == b"page"
    assert not outputs.page.is_symlink()
    assert (elsewhere / "page.html").read_bytes() == b"somewhere else"


def test_a_folder_behind_a_link(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "real")
    outputs = OutputSet.for_input(tmp_path / "day.xlsx", tmp_path / "link")
    outputs.write(b"book", b"page", results)
    assert outputs.state().kind == "complete"
    assert len(list((tmp_path / "real").iterdir())) == 3


def test_a_file_where_the_folder_should_be(tmp_path: Path) -> None:
    (tmp_path / "out").write_bytes(b"a file")
    with pytest.raises(OutputError, match="nothing can be written there"):
        OutputSet.for_input(tmp_path / "day.xlsx", tmp_path / "out" / "sub").write(b"book", b"page", results)
    assert (tmp_path / "out").read_bytes() == b"a file"


def test_nothing_is_left_where_making_the_results_fails(outputs: OutputSet) -> None:
    def failing(out: BinaryIO, hashes: Mapping[str, str]) -> None:
        out.write(b"begun")
        raise ValueError("no results")

    with pytest.raises(ValueError, match="no results"):
        outputs.write(b"book", b"page", failing)
    assert list(outputs.results.parent.iterdir()) == []


@pytest.mark.parametrize("content", [b"[]", b"null", b'{"outputs": 3}', b"\xff\xfe", b"[" * 100_000])
def test_a_results_file_that_is_none_makes_the_set_incomplete(outputs: OutputSet, content: bytes) -> None:
    outputs.write(b"book", b"page", results)
    outputs.results.write_bytes(content)
    assert outputs.state().kind == "incomplete"


def test_a_certificate_belongs_to_its_set(outputs: OutputSet) -> None:
    outputs.write(b"book", b"page", results, b"certificate")
    assert outputs.certificate.name == "day.certificate.html"
    assert outputs.certificate.read_bytes() == b"certificate"
    assert "day.certificate.html" in json.loads(outputs.results.read_bytes())["outputs"]
    outputs.certificate.write_bytes(b"another")
    assert (outputs.state().kind, "day.certificate.html" in outputs.state().reason) == ("incomplete", True)
    outputs.certificate.unlink()  # filed elsewhere
    assert outputs.state().kind == "complete"
