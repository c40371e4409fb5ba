"""The files written for one workbook: each is complete or absent, and a set that is not whole is recognised."""

import contextlib
import hashlib
import json
import os
import secrets
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from batchcal.errors import OutputError

WORKBOOK_ENDING = ".results.xlsx"
PAGE_ENDING = ".summary.html"
RESULTS_ENDING = ".results.json"


@dataclass(frozen=True, slots=True)
class SetState:
    """What stands beside an input: nothing, a whole set, or one that cannot be trusted, with the reason."""

    kind: Literal["absent", "complete", "incomplete"]
    reason: str


@dataclass(frozen=True, slots=True)
class OutputSet:
    """The results workbook, the summary page and the results file of one input."""

    workbook: Path
    page: Path
    results: Path

    @classmethod
    def for_input(cls, input_file: Path, out_dir: Path | None = None) -> "OutputSet":
        """Return the set of ``input_file``: day.xlsx gives day.results.xlsx and so on, beside it or in ``out_dir``."""
        folder = input_file.parent if out_dir is None else out_dir
        return cls(*(folder / (input_file.stem + end) for end in (WORKBOOK_ENDING, PAGE_ENDING, RESULTS_ENDING)))

    @property
    def paths(self) -> tuple[Path, Path, Path]:
        """The three files in the order in which they are put in place."""
        return self.workbook, self.page, self.results

    def state(self) -> SetState:
        """Return whether the set is absent, complete or incomplete.

        It is complete where the results file can be read and the SHA-256 that it holds for the other two are
        those of the files beside it. Raises OutputError where a file is there and cannot be read.
        """
        there = [path for path in self.paths if os.path.lexists(path)]
        if not there:
            return SetState("absent", "no output is there yet")
        if self.results not in there:
            return SetState("incomplete", f"{_names(there)} without {self.results.name}")
        recorded = _recorded_hashes(self.results)
        if recorded is None:
            return SetState("incomplete", f"{self.results.name} is damaged or not a results file")
        for path in (self.workbook, self.page):
            if path not in there:
                return SetState("incomplete", f"{path.name} is missing")
            if path.name not in recorded:
                return SetState("incomplete", f"{self.results.name} does not know {path.name}")
            if recorded[path.name] != sha256(_read(path)):
                return SetState("incomplete", f"{path.name} is not the one that {self.results.name} belongs to")
        return SetState("complete", f"{_names(there)} belong together")

    def write(self, workbook: bytes, page: bytes, results: Callable[[Mapping[str, str]], bytes]) -> None:
        """Write the set; ``results`` is given the SHA-256 of the two other files by name and makes the third.

        All three are written under other names and flushed to disk before any is renamed; the results file comes
        last. Raises OutputError with one line where that fails: no half-written file is left, and a file that was
        not yet replaced still stands as it was. A set that is interrupted between two renames is incomplete.
        """
        hashes = {self.workbook.name: sha256(workbook), self.page.name: sha256(page)}
        _put_in_place(dict(zip(self.paths, (workbook, page, results(hashes)), strict=True)))


def write_file(path: Path, data: bytes) -> None:
    """Write one file so that it is there complete or, with an OutputError, as it was before."""
    _put_in_place({path: data})


def is_output(path: Path) -> bool:
    """Return whether a file is one of ours by its name, so that it is never taken for an input."""
    name = path.name.casefold()
    return ".results." in name or name.endswith(PAGE_ENDING)


def sha256(data: bytes) -> str:
    """Return the SHA-256 of ``data`` in hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


def _put_in_place(files: Mapping[Path, bytes]) -> None:
    waiting: dict[Path, Path] = {}
    placed: list[Path] = []
    try:
        for path, data in files.items():
            with _told(path, placed):
                path.parent.mkdir(parents=True, exist_ok=True)
                if path.is_dir():
                    raise IsADirectoryError(None, "a folder of this name is there")
                waiting[path] = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
                _write_through(waiting[path], data)
        for path in files:
            with _told(path, placed):
                waiting[path].replace(path)
            placed.append(path)
        _flush_folders({path.parent for path in files})
    finally:
        for path, temporary in waiting.items():
            if path not in placed:
                with contextlib.suppress(OSError):
                    temporary.unlink(missing_ok=True)


def _write_through(path: Path, data: bytes) -> None:
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _flush_folders(folders: set[Path]) -> None:
    """Flush the renames themselves, where the system knows how; the files are whole either way."""
    for folder in folders:
        with contextlib.suppress(OSError):
            handle = os.open(folder, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)


@contextlib.contextmanager
def _told(path: Path, placed: list[Path]) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        hint = "; close it where it is open and try again" if isinstance(error, PermissionError) else ""
        rest = f"; {_names(placed)} had been replaced, so the set is incomplete" if placed else ""
        raise OutputError(f"{path}: cannot be written ({error.strerror or error}){hint}{rest}") from error


def _recorded_hashes(path: Path) -> Mapping[str, object] | None:
    try:
        content = json.loads(_read(path))
    except (ValueError, RecursionError):
        return None
    outputs = content.get("outputs") if isinstance(content, dict) else None
    return outputs if isinstance(outputs, dict) else None


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise OutputError(f"{path}: an output of this name is there and cannot be read ({error.strerror})") from error


def _names(paths: list[Path]) -> str:
    return ", ".join(path.name for path in paths)
