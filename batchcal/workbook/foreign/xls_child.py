"""The process in which an .xls workbook is taken apart: bytes at its entry, plain data as JSON at its exit.

It is a process of its own because a broken workbook may make the library run without end, take all memory or fail in
any way; nothing of that can then reach the program itself. Run by ``xls.py``, never by hand.
"""

import contextlib
import json
import os
import struct
from collections.abc import Iterator
from typing import Any

import xlrd
from xlrd.biffh import XLRDError
from xlrd.formula import FMLA_TYPE_ARRAY, FMLA_TYPE_CELL, FMLA_TYPE_SHARED, decompile_formula

with contextlib.suppress(ImportError):
    import resource

MEMORY_BYTES = 3_000_000_000
"""Memory that the process may take, where the system can bound it."""

MAX_CELLS = 5_000_000
"""Filled cells that a workbook may have; one full sheet of this kind with 40 columns has about half as many."""

NO_TEXT = -1
NOT_KNOWN = "=?"
"""Stands for a formula that the library cannot spell out."""

_FORMULA, _EOF, _BOF, _UNCALCULATED, _FILTER, _ARRAY, _SHARED = 0x0006, 0x000A, 0x0809, 0x005E, 0x009D, 0x0221, 0x04BC
_BLANK_TEXT = b"\x03"
_IN_ANOTHER = b"\x01"
"""First byte of a formula that stands with another cell, which it shares it with."""

_BIFF5 = 50
_PLAIN = "General"


def main() -> None:
    """Read a workbook from the standard input and write what stands in it to the standard output."""
    _bound_memory()
    with open(0, "rb", closefd=False) as entry:
        data = entry.read()
    answer = json.dumps(_answer(data)).encode()
    with open(1, "wb", closefd=False) as way_out:
        way_out.write(answer)


def _bound_memory() -> None:
    if os.name == "posix":
        with contextlib.suppress(OSError, ValueError):
            resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))


def _answer(data: bytes) -> dict[str, Any]:
    with open(os.devnull, "w", encoding="utf-8") as nowhere:
        try:
            book = xlrd.open_workbook(
                file_contents=data, logfile=nowhere, formatting_info=True, on_demand=True, ragged_rows=True
            )
        except XLRDError as error:
            if "encrypted" in str(error).casefold():
                return {"refused": "the workbook is protected by a password; save a copy without one"}
            raise
        if book.biff_version < _BIFF5:
            return {"refused": "a workbook in a form older than 1993; save it as .xlsx"}
        return _Reader(book).read()


class _Reader:
    """Gathers the cells of a workbook, with texts and formulas by their numbers in one list."""

    def __init__(self, book: xlrd.Book) -> None:
        self._book = book
        self._texts: dict[str, int] = {}
        self._calculated = False
        self._count = 0

    def read(self) -> dict[str, Any]:
        sheets = []
        for number, title in enumerate(self._book.sheet_names()):
            sheet = self._sheet(number, title)
            if self._count > MAX_CELLS:
                return {"refused": f"has more than {MAX_CELLS} filled cells, more than any log needs; refused"}
            sheets.append(sheet)
        return {
            "sheets": sheets,
            "texts": list(self._texts),
            "calculated": self._calculated,
            "from_1904": self._book.datemode == 1,
        }

    def _sheet(self, number: int, title: str) -> dict[str, Any]:
        sheet = self._book.sheet_by_index(number)
        marks = _Formulas(self._book, number)
        self._calculated |= marks.calculated
        looks: dict[int, tuple[int, bool]] = {}
        rows: list[list[Any]] = []
        hidden = []
        for row in range(sheet.nrows):
            cells = []
            contents: Iterator[tuple[int, Any]] = zip(sheet.row_types(row), sheet.row_values(row), strict=True)
            for column, (kind, value) in enumerate(contents):
                if kind in (xlrd.XL_CELL_EMPTY, xlrd.XL_CELL_BLANK):
                    continue
                look = sheet.cell_xf_index(row, column)
                if look not in looks:
                    looks[look] = self._look(look)
                formula = marks.found.get((row, column))
                if kind == xlrd.XL_CELL_TEXT:
                    stored = self._number(value)
                elif kind == xlrd.XL_CELL_ERROR:
                    stored = self._number(xlrd.error_text_from_code.get(value, "#VALUE!"))
                else:
                    stored = value
                code, struck = looks[look]
                spelt = NO_TEXT if formula is None else self._number(formula)
                cells.append([column + 1, kind, stored, code, struck, spelt])
            if cells:
                self._count += len(cells)
                rows.append([row + 1, cells])
            information = sheet.rowinfo_map.get(row)
            if information is not None and information.hidden:
                hidden.append(row + 1)
        merged = [[first + 1, left + 1, last, right] for first, last, left, right in sheet.merged_cells]
        self._book.unload_sheet(number)
        return {
            "title": title,
            "rows": rows,
            "hidden": hidden,
            "merged": merged,
            "filtered": marks.filtered,
            "uncalculated": marks.uncalculated,
        }

    def _number(self, text: str) -> int:
        return self._texts.setdefault(text, len(self._texts))

    def _look(self, index: int) -> tuple[int, bool]:
        look = self._book.xf_list[index]
        code = self._book.format_map[look.format_key].format_str or _PLAIN
        return self._number(code), bool(self._book.font_list[look.font_index].struck_out)


class _Formulas:
    """The formulas of one sheet, spelt out, by row and column counted from 0; the library keeps their values only."""

    def __init__(self, book: xlrd.Book, number: int) -> None:
        self._book = book
        self.found: dict[tuple[int, int], str] = {}
        self.filtered = False
        self.uncalculated = False
        self.calculated = False
        """Whether some formula has a value other than a blank text."""
        bases: dict[tuple[int, int], tuple[int, bytes]] = {}
        waiting: dict[tuple[int, int], tuple[int, int]] = {}
        latest = (0, 0)
        for code, data in self._records(number):
            if code == _FORMULA and len(data) >= 22:
                latest = struct.unpack_from("<HH", data)
                blank = data[6:7] == _BLANK_TEXT and data[12:14] == b"\xff\xff"
                self.calculated |= not blank
                tokens = data[22:]
                if tokens[:1] == _IN_ANOTHER and len(tokens) >= 5:
                    waiting[latest] = struct.unpack_from("<HH", tokens, 1)
                else:
                    self.found[latest] = self._spelt(tokens, data[20:22], FMLA_TYPE_CELL, latest)
            elif code == _SHARED and len(data) >= 10:
                bases[latest] = (FMLA_TYPE_SHARED, data[8:])
                first_row, _, first_column = struct.unpack_from("<HHB", data)
                bases[first_row, first_column] = bases[latest]
            elif code == _ARRAY and len(data) >= 14:
                bases[latest] = (FMLA_TYPE_ARRAY, data[12:])
            elif code == _FILTER:
                self.filtered = True
            elif code == _UNCALCULATED:
                self.uncalculated = True
        for place, base in waiting.items():
            kind, formula = bases.get(base, (FMLA_TYPE_CELL, b""))
            self.found[place] = self._spelt(formula[2:], formula[:2], kind, place)

    def _records(self, number: int) -> Iterator[tuple[int, bytes]]:
        """Yield the records of the sheet itself, not those of charts that stand on it."""
        # The library offers neither the records nor where they begin, but keeps both.
        kept = vars(self._book)
        stream, position = kept["mem"], kept["_sh_abs_posn"][number]
        depth = 0
        while position + 4 <= len(stream):
            code, length = struct.unpack_from("<HH", stream, position)
            position += 4
            if code == _BOF:
                depth += 1
            elif code == _EOF:
                depth -= 1
                if depth <= 0:
                    return
            elif depth == 1:
                yield code, bytes(stream[position : position + length])
            position += length

    def _spelt(self, tokens: bytes, length: bytes, kind: int, place: tuple[int, int]) -> str:
        if len(length) < 2:
            return NOT_KNOWN
        try:
            (size,) = struct.unpack("<H", length)
            spelt = decompile_formula(self._book, tokens, size, kind, browx=place[0], bcolx=place[1])
        except (XLRDError, AssertionError, ValueError, TypeError, LookupError, AttributeError, struct.error):
            return NOT_KNOWN
        return f"={spelt}" if isinstance(spelt, str) and spelt else NOT_KNOWN


if __name__ == "__main__":
    main()
