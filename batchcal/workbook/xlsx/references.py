"""References to cells and areas as they stand in a part: A1, B2:C3. One that cannot be is refused."""

import re
from collections.abc import Mapping
from string import ascii_uppercase

from batchcal.workbook.grid import Merged

LAST_COLUMN = 16_384
"""Columns that a sheet can have."""

LAST_ROW = 1_048_576
"""Rows that a sheet can have."""


class _Letters(dict[int, str]):
    """The letters of columns by their numbers, each put together when it is first asked for."""

    def __missing__(self, column: int) -> str:
        before, last = divmod(column - 1, len(ascii_uppercase))
        letters = self[column] = self[before] + ascii_uppercase[last]
        return letters


LETTERS: Mapping[int, str] = _Letters({0: "", LAST_COLUMN + 1: ""})
"""The letters of each column by its number; nothing stands before the first and behind the last."""

_CELL = re.compile(r"([A-Za-z]{1,3})0*([1-9]\d{0,6})", re.ASCII)
_ROW = re.compile(r"0*([1-9]\d{0,6})(?:\.0*)?", re.ASCII)


class UnfitError(ValueError):
    """What stands in a part is nothing that can stand there; the text completes a line that begins with the place."""


def address(row: int, column: int) -> str:
    """Return the address of a cell: A1."""
    return f"{LETTERS[column]}{row}"


def quoted_name(sheet: str) -> str:
    """Return the name of a sheet as it stands before an address, in quotation marks."""
    return "'" + sheet.replace("'", "''") + "'"


def column_number(letters: str) -> int:
    """Return the number of a column by its letters A to Z in whatever case; a sheet may not have so many."""
    number = 0
    for letter in letters.upper():
        number = number * len(ascii_uppercase) + ord(letter) - ord("A") + 1
    return number


def cell_place(reference: str) -> tuple[int, int]:
    """Return row and column of a cell's reference; UnfitError for one beyond the last row or column, or none at all."""
    match = _CELL.fullmatch(reference)
    column = column_number(match[1]) if match else 0
    row = int(match[2]) if match else 0
    if not 1 <= column <= LAST_COLUMN or row > LAST_ROW:
        raise UnfitError(f"there is no cell {reference[:20]!r}; a sheet ends at {address(LAST_ROW, LAST_COLUMN)}")
    return row, column


def row_number(text: str) -> int:
    """Return the number of a row; UnfitError for one beyond the last. Some programs write 5 as 5.0."""
    match = _ROW.fullmatch(text)
    number = int(match[1]) if match else 0
    if not 1 <= number <= LAST_ROW:
        raise UnfitError(f"there is no row {text[:20]!r}; a sheet has rows from 1 to {LAST_ROW}")
    return number


def merged_area(reference: str) -> Merged:
    """Return the area of a reference (A1:B2, a whole column A:A, whole rows 1:2); UnfitError for one that cannot be."""
    first, colon, last = reference.partition(":")
    last = last if colon else first
    if first.isalpha() and last.isalpha():
        first, last = f"{first}1", f"{last}{LAST_ROW}"
    elif first.isdigit() and last.isdigit():
        first, last = f"A{first}", f"{LETTERS[LAST_COLUMN]}{last}"
    (first_row, first_column), (last_row, last_column) = cell_place(first), cell_place(last)
    if last_row < first_row or last_column < first_column:
        raise UnfitError(f"there is no area {reference[:20]!r}")
    return Merged(first_row, first_column, last_row, last_column)
