"""One worksheet part, read once from its beginning to its end, into the grid of what stands on the sheet."""

from batchcal.errors import WorkbookError
from batchcal.workbook.grid import Grid, Merged
from batchcal.workbook.xlsx.package import Package, SheetPart, shown
from batchcal.workbook.xlsx.plain_rows import PlainRows
from batchcal.workbook.xlsx.references import UnfitError, merged_area
from batchcal.workbook.xlsx.rows import RowReader
from batchcal.workbook.xlsx.stored import Stored
from batchcal.workbook.xlsx.stream import Stream, nothing

MAX_MERGED = 200_000
"""Merged areas on one sheet, more than any log needs."""


def read_sheet(package: Package, sheet: SheetPart, stored: Stored, room: int) -> tuple[Grid, int]:
    """Return what stands on a sheet, and how many filled cells that are.

    Raises WorkbookError with one line, and nothing else, where the part is damaged, says one thing twice, or has
    more than ``room`` filled cells.
    """
    return _SheetReader(package, sheet, stored, room).read()


class _SheetReader:
    def __init__(self, package: Package, sheet: SheetPart, stored: Stored, room: int) -> None:
        self._title = sheet.title
        self._stream = Stream(package, sheet.part)
        self._rows = RowReader(self._stream, sheet.title, stored, room)
        self._plain = PlainRows(self._stream, self._rows, stored)
        self._read_rows = False
        self._merged: list[Merged] = []
        self._filtered = False

    def read(self) -> tuple[Grid, int]:
        self._stream.read("worksheet", lambda: (self._start, nothing), self._plain)
        if not self._read_rows:
            raise self._refused("is damaged: the place of its rows is missing")
        grid = Grid(
            self._title, self._rows.finished(), frozenset(self._rows.hidden), self._filtered, tuple(self._merged)
        )
        return grid, self._rows.count

    def _refused(self, reason: str) -> WorkbookError:
        return self._stream.refused(f"sheet {shown(self._title)} {reason}")

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        space, _, local = name.rpartition("}")
        if f"{space}}}" != self._stream.space:
            self._stream.skip()
        elif local == "sheetData":
            if self._read_rows:
                raise self._refused("is damaged: the place of its rows stands twice")
            self._read_rows = True
            self._rows.begin()
        elif local in ("mergeCells", "tableParts"):
            self._stream.handle(self._start_part, self._end_part)
        elif local in ("row", "c"):
            raise self._stream.unknown(name)
        else:
            if local == "autoFilter" and attributes.get("ref"):
                self._filtered = True
            self._stream.skip()

    def _start_part(self, name: str, attributes: dict[str, str]) -> None:
        if name == f"{self._stream.space}mergeCell":
            self._add_merged(attributes.get("ref", ""))
        elif name == f"{self._stream.space}tablePart":
            self._filtered = True
        self._stream.skip()

    def _end_part(self, _name: str) -> None:
        self._stream.handle(self._start, nothing)

    def _add_merged(self, reference: str) -> None:
        if len(self._merged) >= MAX_MERGED:
            raise self._refused(f"has more than {MAX_MERGED} merged areas, more than any log needs; refused")
        try:
            self._merged.append(merged_area(reference))
        except UnfitError as error:
            raise self._refused(f"is damaged: of its merged areas, {error}") from error
