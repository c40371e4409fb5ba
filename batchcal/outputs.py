"""The files written for one workbook: all of a set or none, and a set that is not whole is recognised."""

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Literal

from msgspec import Struct

from batchcal.errors import OutputError, UsageError
from batchcal.replacing import Content, Recovered, recover, replace_files, sha256

WORKBOOK_ENDING = ".results.xlsx"
MACRO_WORKBOOK_ENDING = ".results.xlsm"
"""A workbook with macros keeps them, and spreadsheet programs open it only under such an ending."""

PAGE_ENDING = ".summary.html"
RESULTS_ENDING = ".results.json"
CERTIFICATE_ENDING = ".certificate.html"


class SetState(Struct, frozen=True):
    """What stands beside an input: nothing, a whole set, or one that cannot be trusted, with the reason."""

    kind: Literal["absent", "complete", "incomplete"]
    reason: str
    recovered: Recovered = ""
    """What became of an earlier writing that had been interrupted: it was finished or undone; blank: none had been."""

    def remarks(self, name: str) -> list[str]:
        """Return what is to be said of a writing of the outputs of ``name`` that had been interrupted, if one had."""
        return [f"{name}: an interrupted writing of its outputs was {self.recovered}"] if self.recovered else []


class OutputSet(Struct, frozen=True):
    """The results workbook, the summary page and the results file of one input, and its certificate if there is one."""

    workbook: Path
    page: Path
    results: Path

    @classmethod
    def for_input(cls, input_file: Path, out_dir: Path | None = None) -> "OutputSet":
        """Return the set of ``input_file``: day.xlsx gives day.results.xlsx and so on, beside it or in ``out_dir``."""
        folder = input_file.parent if out_dir is None else out_dir
        workbook = MACRO_WORKBOOK_ENDING if input_file.suffix.lower() == ".xlsm" else WORKBOOK_ENDING
        return cls(*(folder / (input_file.stem + end) for end in (workbook, PAGE_ENDING, RESULTS_ENDING)))

    @property
    def paths(self) -> tuple[Path, Path, Path]:
        """The three files in the order in which they are put in place."""
        return self.workbook, self.page, self.results

    @property
    def certificate(self) -> Path:
        """Where the certificate goes: it is written only where it is asked for and nothing on it is missing."""
        return self.results.with_name(self.results.name.removesuffix(RESULTS_ENDING) + CERTIFICATE_ENDING)

    @property
    def staging(self) -> Path:
        """The hidden folder in which a set is made ready; it is there only while one is written."""
        return self.results.with_name(f".{self.results.name.removesuffix(RESULTS_ENDING)}.part")

    def state(self) -> SetState:
        """Return whether the set is absent, complete or incomplete; what a killed run left is first put in order.

        It is complete where the results file can be read and the SHA-256 that it holds for the other two are
        those of the files beside it; its certificate may have been filed elsewhere. Raises OutputError where a file
        is there and cannot be read, or another run is writing the set just now.
        """
        recovered = recover(self.staging)
        kind, reason = self._standing()
        return SetState(kind, reason, recovered)

    def _standing(self) -> tuple[Literal["absent", "complete", "incomplete"], str]:
        there = [path for path in self.paths if os.path.lexists(path)]
        if not there:
            return "absent", "no output is there yet"
        if self.results not in there:
            return "incomplete", f"{_names(there)} without {self.results.name}"
        recorded = _recorded_hashes(self.results)
        if recorded is None:
            return "incomplete", f"{self.results.name} is damaged or not a results file"
        for path in (self.workbook, self.page):
            if path not in there:
                return "incomplete", f"{path.name} is missing"
            if path.name not in recorded:
                return "incomplete", f"{self.results.name} does not know {path.name}"
            if recorded[path.name] != sha256(_read(path)):
                return "incomplete", f"{path.name} is not the one that {self.results.name} belongs to"
        name = self.certificate.name
        if name in recorded and os.path.lexists(self.certificate) and recorded[name] != sha256(_read(self.certificate)):
            return "incomplete", f"{name} is not the one that {self.results.name} belongs to"
        return "complete", f"{_names(there)} belong together"

    def write(self, workbook: Content, page: Content, results: Content, certificate: Content | None = None) -> None:
        """Write the set, the results file last: what writes it is given the SHA-256 of the other files by name.

        Raises OutputError with one line where that fails. An older set then stands as it did. Where the run is
        killed, the next call of ``state`` or ``write`` puts either the older set or the new one in place, whole.
        """
        files = {self.workbook: workbook, self.page: page}
        if certificate is not None:
            files[self.certificate] = certificate
        replace_files(self.staging, {**files, self.results: results})


def standing(*paths: Path) -> list[str]:
    """Return the names of those files of one ``write_files`` that stand already, after what a killed run left there."""
    recover(_staging(paths[0]))
    return [path.name for path in paths if os.path.lexists(path)]


def write_file(path: Path, data: bytes) -> None:
    """Write one file so that it is there complete or, with an OutputError, as it was before."""
    write_files({path: data})


def write_files(files: Mapping[Path, bytes]) -> None:
    """Write files of one folder so that all are there complete or, with an OutputError, as they were before."""
    replace_files(_staging(next(iter(files))), files)


def _staging(first: Path) -> Path:
    return first.with_name(f".{first.name}.part")


def refuse_output(path: Path) -> None:
    """Raise UsageError where a file is one of ours: what was made of a log is no log."""
    if is_output(path):
        raise UsageError(f"{path}: results are never taken as input; give the workbook they were made from")


def is_output(path: Path) -> bool:
    """Return whether a file is one of ours by its name, so that it is never taken for an input."""
    name = path.name.casefold()
    return ".results." in name or name.endswith((PAGE_ENDING, CERTIFICATE_ENDING))


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
