"""A formula that stands once for many cells: its text in each of them, with the relative references moved along."""

import re
from functools import lru_cache
from typing import NamedTuple

from batchcal.workbook.xlsx.references import LAST_COLUMN, LAST_ROW, LETTERS, UnfitError, column_number

MAX_SHARED_CHARACTERS = 8_192
"""Characters of a formula that stands for many cells; spreadsheet programs take no longer ones."""

_PART = re.compile(
    r"""
    "(?:[^"]|"")*"                                                   # a text
    | '(?:[^']|'')*'                                                 # a sheet's name
    | \[[^\[\]]*\]                                                   # a column of a table, another workbook
    | (?<![\w.$\\]) (?:
        (\$?[A-Za-z]{1,3}) (\$?[1-9][0-9]{0,6}) (?![\w(.\[!?\\])     # a cell
      | (\$?[A-Za-z]{1,3}) : (\$?[A-Za-z]{1,3}) (?![\w(.\[!?\\])     # whole columns
      | (\$?[1-9][0-9]{0,6}) : (\$?[1-9][0-9]{0,6}) (?![\w(.\[!?\\]) # whole rows
    )
    """,
    re.VERBOSE,
)
_OUT = "#REF!"


class SharedFormula(NamedTuple):
    """A formula as it is written, and the cell that it is written in."""

    text: str
    row: int
    column: int

    def at(self, row: int, column: int) -> str:
        """Return the formula as another cell has it: references without $ keep their distance from the cell.

        One that would leave the sheet is #REF!. UnfitError for a formula that is longer than any can be.
        """
        if len(self.text) > MAX_SHARED_CHARACTERS:
            raise UnfitError(f"has a formula of {len(self.text)} characters; formulas end at {MAX_SHARED_CHARACTERS}")
        down, right = row - self.row, column - self.column
        found = []
        for before, *ends in _split(self.text):
            found.append(before)
            moved = [_moved(end, down, right) for end in ends]
            found.append(":".join(moved) if "" not in moved else _OUT)
        return "".join(found)


class _End(NamedTuple):
    """A reference, or one end of it: the parts that move along as numbers, 0 where they are fixed or not there."""

    column: int
    fixed_column: str
    row: int
    fixed_row: str


def _moved(end: _End, down: int, right: int) -> str:
    column, letters, row, number = end
    if column:
        column += right
        if not 1 <= column <= LAST_COLUMN:
            return ""
        letters = LETTERS[column]
    if row:
        row += down
        if not 1 <= row <= LAST_ROW:
            return ""
        number = str(row)
    return letters + number


@lru_cache(maxsize=128)
def _split(formula: str) -> tuple[tuple[str, *tuple[_End, ...]], ...]:
    """Return the references of a formula, each behind the text before it; text behind the last has none."""
    found: list[tuple[str, *tuple[_End, ...]]] = []
    at = 0
    for match in _PART.finditer(formula):
        column, row, *ends = match.groups()
        first_column, last_column, first_row, last_row = ends
        if column is not None:
            moving = [_end(column, row)]
            if moving[0].column > LAST_COLUMN or moving[0].row > LAST_ROW:
                continue  # a name that only looks like a cell
        elif first_column is not None:
            moving = [_end(first_column, ""), _end(last_column, "")]
        else:
            moving = [_end("", first_row), _end("", last_row)] if first_row is not None else []
        if moving:
            found.append((formula[at : match.start()], *moving))
            at = match.end()
    return (*found, (formula[at:],))


def _end(letters: str, number: str) -> _End:
    fixed_column, fixed_row = letters.startswith("$") or not letters, number.startswith("$") or not number
    return _End(
        0 if fixed_column else column_number(letters),
        letters if fixed_column else "",
        0 if fixed_row else int(number),
        number if fixed_row else "",
    )
