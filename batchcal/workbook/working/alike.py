"""Rows of the log that go the same way through the calculation, written as one.

A long log has thousands of firings that are worked out alike. Their formulas are made once, with marks where the rows
differ, and the text of each row is then a matter of filling in. Which rows go together is not laid down beforehand:
whatever the calculation asks of the rows, all must answer alike, or they are parted by their answers and each part
begins anew. So a row can never get the formula of another way.
"""

import re
from collections.abc import Callable, Hashable, Iterator, Sequence
from typing import Generic, TypeVar, cast

from batchcal.logged import FiringRow, Place, SampleRow, TitrationRow
from batchcal.workbook.working.figures import Column, PartedError
from batchcal.workbook.working.live import Live
from batchcal.workbook.xlsx.digits import digits

_FIRST_MARK = 0xD800
"""Marks are lone surrogates, which no text of a workbook can hold."""

_MARK = re.compile("([\ud800-\udfff])")

Answer = TypeVar("Answer", bound=Hashable)
Row = TypeVar("Row", FiringRow, TitrationRow, SampleRow)


def same(answers: Sequence[Answer]) -> Answer:
    """Return the one answer of all rows; they are parted where they differ."""
    first = answers[0]
    if answers.count(first) != len(answers):
        raise PartedError(answers)
    return first


def by_ways(count: int, write: Callable[[Sequence[int]], None]) -> None:
    """Have members written, by their positions from 0 on, together with those that go the same way.

    ``write`` must have done nothing that lasts when it finds that they do not.
    """
    waiting: list[Sequence[int]] = [range(count)] if count else []
    while waiting:
        group = waiting.pop()
        try:
            write(group)
        except PartedError as parted:
            parts: dict[Hashable, list[int]] = {}
            for position, answer in zip(group, parted.answers, strict=True):
                parts.setdefault(answer, []).append(position)
            waiting += parts.values()


class Marks:
    """What differs from row to row: each mark in a text stands for the texts or figures of all rows."""

    def __init__(self, count: int) -> None:
        """Begin without marks, for ``count`` rows."""
        self.count = count
        self._columns: list[Sequence[object]] = []

    def texts(self, texts: Sequence[object]) -> str:
        """Return the mark of one text of every row, or that text where it is the same in all."""
        first = texts[0]
        if texts.count(first) == len(texts):
            return str(first)
        return self._mark(texts)

    def figures(self, column: Column) -> str:
        """Return the mark of one figure of every row, to be written with all the digits that it needs."""
        return self._mark(digits(column.values))

    def _mark(self, column: Sequence[object]) -> str:
        self._columns.append(column)
        return chr(_FIRST_MARK + len(self._columns) - 1)

    def lives(self, parts: Sequence[Live]) -> Live:
        """Return a part of each row's formula, none of them a sum or product, as one part.

        Rows where it is nothing, or has a sign, are parted from the others, for formulas are put together by these.
        """
        texts = [part.text for part in parts]
        if texts.count(texts[0]) == len(texts):
            return parts[0]
        same([(text == "0", text[0] == "-") for text in texts])
        sign = "-" if texts[0][0] == "-" else ""
        return Live(
            sign + self.texts([text.removeprefix("-") for text in texts]), Column(part.single for part in parts)
        )

    def filled(self, template: str) -> Iterator[str]:
        """Yield the text of every row."""
        pieces = _MARK.split(template)
        columns = [self._columns[ord(mark) - _FIRST_MARK] for mark in pieces[1::2]]
        form = "%s".join(piece.replace("%", "%%") for piece in pieces[::2])
        if not columns:
            return iter([form % ()] * self.count)
        return map(form.__mod__, zip(*columns, strict=True))


class Places:
    """The places of rows, of which every field stands in cells of the same column, or in none."""

    def __init__(self, places: Sequence[Place], marks: Marks) -> None:
        first = places[0]
        same([id(place.table) for place in places])
        self.table = first.table
        self.sheet = first.sheet
        self._places = places
        self._marks = marks
        self._in_columns = not first.table.texts and same([not place.cells for place in places])
        self._rows = ""

    def cell(self, name: str) -> str | None:
        """Return the address of a field's cells, or None where they have none or one whose number stands as text."""
        if self._in_columns:
            letter = self.table.columns.get(name)
            if letter is None:
                return None
            self._rows = self._rows or self._marks.texts([place.row for place in self._places])
            return letter + self._rows
        addresses = [place.cell(name) for place in self._places]
        texts = self.table.texts
        if same([address is None or address in texts for address in addresses]):
            return None
        return self._marks.texts(addresses)


class Rows(Generic[Row]):
    """Rows of one table of the log, to be read as if they were one."""

    def __init__(self, rows: Sequence[Row], marks: Marks) -> None:
        self._rows: Sequence[Row] = rows
        self.marks = marks
        self.place = Places([row.place for row in rows], marks)

    def number(self, name: str) -> Column | None:
        """Return a field's figures, or None where it is blank."""
        figures = [getattr(row, name) for row in self._rows]
        if same([figure is None for figure in figures]):
            return None
        return Column(cast(list[float], figures))

    def ask(self, question: Callable[[Row], Answer]) -> Answer:
        """Return what all rows answer."""
        return same(list(map(question, self._rows)))

    def figures(self, question: Callable[[Row], float]) -> Column:
        """Return one figure of every row."""
        return Column(map(question, self._rows))

    def lives(self, question: Callable[[Row], Live]) -> Live:
        """Return one part of every row's formula."""
        return self.marks.lives(list(map(question, self._rows)))
