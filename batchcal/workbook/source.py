"""Opening a workbook: what is refused, in one clear line, before anything is read from it."""

import hashlib
import io
import warnings
import zipfile
import zlib
from dataclasses import dataclass
from pathlib import Path
from xml.etree.ElementTree import ParseError

import openpyxl
from openpyxl.utils.exceptions import InvalidFileException
from openpyxl.workbook import Workbook

from batchcal.errors import WorkbookError
from batchcal.workbook.grid import Grid
from batchcal.workbook.loaded import grids

SUFFIXES = (".xlsx",)
"""Endings of the files that are read as workbooks."""

MAX_UNPACKED_BYTES = 1_000_000_000
"""A package that unpacks to more is refused; a log of 100 000 firings unpacks to about a tenth of it."""

_OLE_MAGIC = bytes.fromhex("D0CF11E0A1B11AE1")
_ENCRYPTED_STREAM = "EncryptedPackage".encode("utf-16-le")

_UNREADABLE = (
    AttributeError,
    EOFError,
    IndexError,
    InvalidFileException,
    KeyError,
    NotImplementedError,
    OSError,
    OverflowError,
    ParseError,
    RuntimeError,
    TypeError,
    ValueError,
    zipfile.BadZipFile,
    zlib.error,
)
"""What the spreadsheet library raises on packages that are broken in one way or another."""


@dataclass(frozen=True, slots=True)
class Source:
    """A workbook as it came: its bytes, their SHA-256, and what stands on its sheets."""

    name: str
    data: bytes
    sha256: str
    grids: tuple[Grid, ...]


def open_source(path: Path) -> Source:
    """Open ``path``; raises WorkbookError with one line that says what is the matter."""
    if path.suffix.lower() not in SUFFIXES:
        raise WorkbookError(f"{path.name}: this version reads {', '.join(SUFFIXES)} workbooks only")
    try:
        if not path.is_file():
            raise WorkbookError(f"{path.name}: not a regular file")
        data = path.read_bytes()
    except OSError as error:
        raise WorkbookError(f"{path.name}: cannot be read ({error.strerror or error})") from error
    _refuse_unreadable(path.name, data)
    try:
        values, formulas = (_load(data, data_only=True), _load(data, data_only=False))
    except _UNREADABLE as error:
        raise WorkbookError(f"{path.name}: the workbook is damaged and cannot be read ({_short(error)})") from error
    if not values.worksheets:
        raise WorkbookError(
            f"{path.name}: no sheet can be read; save it as an ordinary .xlsx workbook (not Strict Open XML)"
        )
    return Source(path.name, data, hashlib.sha256(data).hexdigest(), grids(values, formulas, path.name))


def _refuse_unreadable(name: str, data: bytes) -> None:
    if not data:
        raise WorkbookError(f"{name}: the file is empty")
    if data.startswith(_OLE_MAGIC):
        if _ENCRYPTED_STREAM in data:
            raise WorkbookError(f"{name}: the workbook is protected by a password; save a copy without one")
        raise WorkbookError(f"{name}: an old .xls workbook under another ending; save it as .xlsx")
    if not zipfile.is_zipfile(io.BytesIO(data)):
        raise WorkbookError(f"{name}: not a workbook")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            unpacked = sum(part.file_size for part in package.infolist())
            names = set(package.namelist())
    except (zipfile.BadZipFile, ValueError, OSError) as error:
        raise WorkbookError(f"{name}: the workbook is damaged and cannot be read ({_short(error)})") from error
    if "[Content_Types].xml" not in names:
        raise WorkbookError(f"{name}: not a workbook")
    if unpacked > MAX_UNPACKED_BYTES:
        raise WorkbookError(f"{name}: unpacks to {unpacked / 1e9:.1f} GB, more than any log needs; refused")


def _load(data: bytes, *, data_only: bool) -> Workbook:
    with warnings.catch_warnings():
        # What the library cannot carry is found by comparing packages (writer), not by these warnings.
        warnings.simplefilter("ignore")
        return openpyxl.load_workbook(io.BytesIO(data), data_only=data_only)


def _short(error: BaseException) -> str:
    text = str(error).strip().splitlines()
    return f"{type(error).__name__}: {text[0][:80]}" if text else type(error).__name__
