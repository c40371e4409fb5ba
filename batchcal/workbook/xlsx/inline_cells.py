"""Cells as they stand in a part, their texts in themselves: written column by column, put together row by row.

Of cells in one column all but the number of their row is the same, or the same for all that hold one text. So a cell is
known by what stands behind that number, up to the number in the next cell, and a row is these joined by its number.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from itertools import repeat

from batchcal.workbook.xlsx.digits import NO_NUMBER, digits
from batchcal.workbook.xlsx.markup import escape
from batchcal.workbook.xlsx.references import LETTERS


class InlineColumn:
    """Writes the cells of one column, each from behind the number of its row on."""

    def __init__(self, prefix: str, following: str) -> None:
        """Begin with the prefix of the part's elements, and with what stands before the number in the next cell."""
        self._end = "/>" + following
        self._number = f"><{prefix}v>", f"</{prefix}v></{prefix}c>{following}"
        self._text = (
            f' t="inlineStr"><{prefix}is><{prefix}t xml:space="preserve">',
            f"</{prefix}t></{prefix}is></{prefix}c>{following}",
        )

    def numbers(self, form: int, values: Sequence[float | None]) -> list[str]:
        """Return cells with numbers, in the format of that number; empty ones where a value is none."""
        before, after = self._number
        before = f'" s="{form}"{before}'
        empty = self.text(form, "")
        return [empty if text == NO_NUMBER else f"{before}{text}{after}" for text in digits(values)]

    def text(self, form: int, text: str) -> str:
        """Return a cell with a text, in the format of that number; an empty one for none."""
        before, after = self._text
        return f'" s="{form}"{before}{escape(text)}{after}' if text else f'" s="{form}"{self._end}'


class InlineCells:
    """Columns side by side from ``first`` on, in a part whose elements have a prefix."""

    def __init__(self, prefix: str, first: int, count: int) -> None:
        self._opening, *following = (f'<{prefix}c r="{LETTERS[column]}' for column in range(first, first + count))
        self.columns = [InlineColumn(prefix, each) for each in (*following, "")]

    def rows(self, numbers: Collection[int], columns: Sequence[Iterable[str]]) -> Iterator[str]:
        """Yield the cells of each row: its number, and what the columns have written for it."""
        return map(str.join, map(str, numbers), zip(repeat(self._opening, len(numbers)), *columns, strict=True))
