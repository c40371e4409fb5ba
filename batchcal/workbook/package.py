"""Making workbooks so that nothing depends on the clock and no number loses a digit."""

import datetime as dt
import io
import zipfile
from pathlib import Path

from openpyxl.workbook import Workbook
from openpyxl.writer.excel import ExcelWriter

_EPOCH = dt.datetime(1980, 1, 1)
"""Stands where a package says nothing of its making; the oldest time a package can hold."""


class _SteadyZip(zipfile.ZipFile):
    """A package whose bytes depend on its content alone: every part bears the same time and rights."""

    def writestr(
        self,
        zinfo_or_arcname: str | zipfile.ZipInfo,
        data: str | bytes | bytearray | memoryview,  # type: ignore[override]
        compress_type: int | None = None,
        compresslevel: int | None = None,
    ) -> None:
        name = zinfo_or_arcname if isinstance(zinfo_or_arcname, str) else zinfo_or_arcname.filename
        info = zipfile.ZipInfo(name, _EPOCH.timetuple()[:6])
        info.compress_type = zipfile.ZIP_DEFLATED
        info.create_system = 3
        info.external_attr = 0o644 << 16
        super().writestr(info, bytes(data) if isinstance(data, memoryview) else data, compress_type, compresslevel)

    def write(  # type: ignore[override]
        self, filename: str, arcname: str | None = None, compress_type: int | None = None, level: int | None = None
    ) -> None:
        self.writestr(arcname or filename, Path(filename).read_bytes(), compress_type, level)


def new_book(*, rows_once: bool = False) -> Workbook:
    """Return an empty workbook without sheets and without a time of making.

    ``rows_once``: for long tables, whose rows are written once and not kept in memory; see :func:`packed`.
    """
    book = Workbook(write_only=rows_once)
    for sheet in book.worksheets:
        book.remove(sheet)
    book.properties.creator = "batchcal"
    book.properties.created = book.properties.modified = _EPOCH
    return book


def save(book: Workbook) -> bytes:
    """Return the workbook as bytes: the same content gives the same bytes, and floats keep all their digits."""
    for sheet in book.worksheets:
        # The cells that exist; going through the rows would make the missing ones.
        for cell in sheet._cells.values():
            value = cell.value
            if isinstance(value, float) and float(f"{value:.16g}") != value:
                # The library writes 16 digits; a text in a numeric cell is written as it stands.
                cell.value = repr(value)
                cell.data_type = "n"
    return packed(book)


def packed(book: Workbook) -> bytes:
    """Return a workbook as bytes as it stands; for one whose rows are written once and not kept."""
    stream = io.BytesIO()
    ExcelWriter(book, _SteadyZip(stream, "w", zipfile.ZIP_DEFLATED)).save()
    return stream.getvalue()
