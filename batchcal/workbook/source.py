"""Opening a workbook: what is refused, in one clear line, before anything is read from it."""

import hashlib
import os
import re
from pathlib import Path
from typing import TYPE_CHECKING

from batchcal.errors import WorkbookError
from batchcal.workbook.grid import Grid
from batchcal.workbook.xlsx.package import MAX_UNPACKED_BYTES, Package, is_package
from batchcal.workbook.xlsx.workbook import grids

if TYPE_CHECKING:
    from batchcal.workbook.foreign.csv_form import CsvForm

SUFFIXES = (".xlsx", ".xlsm", ".xls", ".ods")
"""Endings of the files that are read as workbooks. Macros are never run."""

TABLE_SUFFIX = ".csv"
"""Ending of a file that is read as one sheet, which needs a map of its columns."""

MAX_FILE_BYTES = MAX_UNPACKED_BYTES
"""A larger file is refused unread; packed, no workbook that is read reaches it."""

_OLE_MAGIC = bytes.fromhex("D0CF11E0A1B11AE1")
_ENCRYPTED_STREAM = "EncryptedPackage".encode("utf-16-le")

_OTHER_KINDS = (
    (rb"<!doctype\s+html|<html|<table", "a web page"),
    (rb"<\?xml|<\w+[\s:>]", "an XML file"),
    (rb"%pdf-", "a PDF file"),
    (rb"\{\\rtf", "a text document (RTF)"),
    (rb"[\t\r\n\x20-\x7e\x80-\xff]+\Z", "a text file, such as CSV"),
)
"""How files begin that are given a workbook's ending by the program that exports them, and what they are."""

_MARKS = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")


class Source:
    """A workbook as it came: its bytes, their SHA-256, and what stands on its sheets."""

    __slots__ = ("_grids", "csv_form", "data", "name", "sha256")

    def __init__(
        self, name: str, data: bytes, sha256: str, grids: tuple[Grid, ...], csv_form: "CsvForm | None" = None
    ) -> None:
        self.name = name
        self.data = data
        self.sha256 = sha256
        self._grids: tuple[Grid, ...] | None = grids
        self.csv_form = csv_form
        """How a table of text is written, as it was told or found; None for a workbook."""

    @property
    def grids(self) -> tuple[Grid, ...]:
        """What stands on the sheets, in their order."""
        if self._grids is None:
            self._grids = grids(Package(self.name, self.data))
        return self._grids

    def let_go(self) -> None:
        """Let go of what stands on the sheets, where it can be read again from the bytes as soon as it is asked for."""
        if is_package(self.data):
            self._grids = None


def open_source(path: Path, csv_form: "CsvForm | None" = None) -> Source:
    """Open ``path``; raises WorkbookError with one line that says what is the matter.

    ``csv_form`` is what is known of how a .csv is written. CsvQuestion, a WorkbookError, asks for what is not.
    """
    suffix = path.suffix.lower()
    if suffix not in (*SUFFIXES, TABLE_SUFFIX):
        raise WorkbookError(f"{path.name}: only {', '.join(SUFFIXES)} and {TABLE_SUFFIX} are read")
    data = _read(path)
    sha256 = hashlib.sha256(data).hexdigest()
    if suffix == TABLE_SUFFIX:
        from batchcal.workbook.foreign.csv_table import read_csv

        table = read_csv(path.name, data, csv_form)
        return Source(path.name, data, sha256, (table.grid,), table.form)
    _refuse_other_kinds(path.name, data, suffix)
    return Source(path.name, data, sha256, _grids(path.name, data, suffix))


def _grids(name: str, data: bytes, suffix: str) -> tuple[Grid, ...]:
    if suffix == ".xls":
        from batchcal.workbook.foreign.xls import read_xls

        return read_xls(name, data)
    if suffix == ".ods":
        from batchcal.workbook.foreign.ods import read_ods

        return read_ods(name, data)
    return grids(Package(name, data))


def _read(path: Path) -> bytes:
    try:
        if not path.is_file():
            raise WorkbookError(f"{path.name}: not a regular file")
        with path.open("rb") as file:
            # The place for as many bytes is taken before the first is read.
            size = os.fstat(file.fileno()).st_size
            data = b"" if size > MAX_FILE_BYTES else file.read(size + 1)
    except OSError as error:
        raise WorkbookError(f"{path.name}: cannot be read ({error.strerror or error})") from error
    if size > MAX_FILE_BYTES:
        raise WorkbookError(f"{path.name}: larger than {MAX_FILE_BYTES / 1e9:.0f} GB, more than any log needs; refused")
    if len(data) != size:
        raise WorkbookError(f"{path.name}: changes while it is read; close it in other programs and try again")
    return data


def _refuse_other_kinds(name: str, data: bytes, suffix: str) -> None:
    if not data:
        raise WorkbookError(f"{name}: the file is empty")
    if data.startswith(_OLE_MAGIC):
        if _ENCRYPTED_STREAM in data:
            raise WorkbookError(f"{name}: the workbook is protected by a password; save a copy without one")
        if suffix == ".xls":
            return
        raise WorkbookError(f"{name}: an .xls workbook under another ending; give it the ending .xls")
    if data.startswith(b"PK"):
        if suffix == ".xls":
            raise WorkbookError(f"{name}: a newer workbook under another ending; give it the ending .xlsx (or .ods)")
        return
    beginning = data[:1000]
    for mark in _MARKS:
        beginning = beginning.removeprefix(mark)
    beginning = beginning.replace(b"\0", b"").lstrip().lower()
    for pattern, kind in _OTHER_KINDS:
        if re.match(pattern, beginning):
            raise WorkbookError(
                f"{name}: not a workbook but {kind} under another ending; open it in a spreadsheet program and "
                "save it as .xlsx"
            )
