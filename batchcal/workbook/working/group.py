"""Firings and samples that are written together, and how they come to stand in their order."""

from collections.abc import Callable, Sequence

from msgspec import Struct

from batchcal.logged import FiringRow, SampleRow, TitrationRow
from batchcal.model import FiringResult
from batchcal.workbook.working.alike import Answer, Marks, Rows, by_ways, same
from batchcal.workbook.working.body import Body, Line, Texts
from batchcal.workbook.working.figures import Column
from batchcal.workbook.working.live import Live

AT_ONCE = 250
"""Members that are held together at most, so that a long log takes no more memory than a short one."""


class Group(Struct, frozen=True):
    """Firings that are written together, a row each, and the rows of Samples of their samples."""

    firings: Sequence[FiringResult]
    samples: Sequence[SampleRow | None]
    marks: Marks
    line: Line
    rows: Rows[FiringRow]

    def ask(self, question: Callable[[FiringResult], Answer]) -> Answer:
        """Return what all firings answer."""
        return same(list(map(question, self.firings)))

    def figures(self, question: Callable[[FiringResult], float | None]) -> Column:
        """Return one figure of every firing; 0 where it has none."""
        return Column(question(firing) or 0.0 for firing in self.firings)

    def texts(self, question: Callable[[FiringResult], str]) -> Texts:
        """Return one text of every firing."""
        return Texts(list(map(question, self.firings)))

    def titrations(self) -> Rows[TitrationRow]:
        """Return the titrations of the washings; ValueError where a firing has none."""
        titrations = [firing.titration for firing in self.firings if firing.titration is not None]
        if len(titrations) < len(self.firings):
            raise ValueError("a firing has no titration")
        return Rows(titrations, self.marks)

    def sample_rows(self) -> Rows[SampleRow] | None:
        """Return the rows of Samples, or None where the samples have none."""
        return rows_of(self.samples, self.marks)


def of_each(part: Live, count: int) -> list[float]:
    """Return the value of a part in each of ``count`` rows."""
    value = part.value
    return value.values if isinstance(value, Column) else [value] * count


def rows_of(rows: Sequence[SampleRow | None], marks: Marks) -> Rows[SampleRow] | None:
    """Return rows of Samples as one, or None where there is none."""
    if same([row is None for row in rows]):
        return None
    return Rows([row for row in rows if row is not None], marks)


def write_together(body: Body, count: int, write: Callable[[Sequence[int], Marks], Sequence[Line]]) -> None:
    """Write the next rows of a body: those of ``count`` members, in their order.

    ``write`` is given the positions of members that go the same way, as far as is known, and returns their lines. It
    must have done nothing that lasts when it finds that they do not.
    """
    texts = [""] * count
    written = 0

    def write_some(positions: Sequence[int]) -> None:
        nonlocal written
        marks = Marks(len(positions))
        lines = write(positions, marks)
        template = "".join([line.xml(body.style_ids, marks) for line in lines])
        for position, text in zip(positions, marks.filled(template), strict=True):
            texts[position] = text
        written += len(lines) * len(positions)
        body.note_differences(lines, len(positions))

    by_ways(count, write_some)
    body.add_rows(texts, written)
