"""The computed columns for the lab's own sheets, in a style of their own."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from operator import itemgetter
from typing import Generic

from msgspec import Struct, field
from msgspec.structs import replace

from batchcal.findings import Finding
from batchcal.logged import Place
from batchcal.model import Evaluation, FiringResult, SampleResult
from batchcal.workbook import styles
from batchcal.workbook.computed import FIRING_COLUMNS, SAMPLE_COLUMNS, ComputedColumn, Formats, Found, Row
from batchcal.workbook.targets import Targets
from batchcal.workbook.xlsx.columns import AddedColumns
from batchcal.workbook.xlsx.geometry import Geometry
from batchcal.workbook.xlsx.inline_cells import InlineCells
from batchcal.workbook.xlsx.links import Links, links_there
from batchcal.workbook.xlsx.references import address
from batchcal.workbook.xlsx.stylesheet import Stylesheet

_NARROWEST, _WIDEST = 11.0, 60.0
"""Widths of columns in characters."""

_BETWEEN = 3.0
"""Width of the column that parts the columns of one firing from those of the next, in characters."""


class _Table(Struct, Generic[Row], frozen=True):
    """The results of one table by their rows, and their columns, behind ``before`` others of the same sheet."""

    before: int
    columns: Sequence[ComputedColumn[Row]]
    headings: Sequence[str]
    heading_rows: Set[int]
    results: Mapping[int, Row]

    @property
    def found(self) -> int:
        """The column of what was found, counted from the first of the sheet's computed columns."""
        return self.before + next(index for index, column in enumerate(self.columns) if isinstance(column, Found))

    def findings(self) -> Iterator[tuple[int, Sequence[Finding]]]:
        """Yield the rows on which something was found, with it."""
        return ((row, result.findings) for row, result in self.results.items() if result.findings)

    def cells(self, prefix: str, first: int, formats: Formats) -> Callable[[Sequence[int]], Iterable[tuple[int, str]]]:
        """Return what writes the cells of those of some rows that have any."""
        side_by_side = InlineCells(prefix, first + self.before, len(self.columns))
        headings = [
            column.text(formats.heading, text) for column, text in zip(side_by_side.columns, self.headings, strict=True)
        ]
        columns = [
            column.cells(written, formats) for column, written in zip(self.columns, side_by_side.columns, strict=True)
        ]

        def cells(rows: Sequence[int]) -> Iterable[tuple[int, str]]:
            results = {row: self.results[row] for row in rows if row in self.results}
            yield from zip(results, side_by_side.rows(results, [write(results) for write in columns]), strict=True)
            heads = self.heading_rows & set(rows)
            yield from zip(heads, side_by_side.rows(heads, [[text] * len(heads) for text in headings]), strict=True)

        return cells


class Block(Struct):
    """The computed columns of one sheet, side by side: the width of each, and the tables that they belong to."""

    sheet: str
    formats: Formats
    widths: list[float] = field(default_factory=list)
    tables: list[_Table[FiringResult] | _Table[SampleResult]] = field(default_factory=list)

    @property
    def rows(self) -> Sequence[int]:
        """The rows that are written, ascending."""
        return sorted({row for table in self.tables for row in (*table.heading_rows, *table.results)})

    @property
    def links(self) -> int:
        """How many of the cells would lead somewhere."""
        return sum(1 for table in self.tables for _ in table.findings())

    def add(
        self,
        columns: Sequence[ComputedColumn[Row]],
        headings: Sequence[str],
        heading_rows: Set[int],
        results: Mapping[int, Row],
    ) -> None:
        """Put the columns of a table at the right of those that are there, with a narrow one between."""
        if self.widths:
            self.widths.append(_BETWEEN)
        self.tables.append(_Table(len(self.widths), columns, headings, heading_rows - results.keys(), results))
        # The row of headings is as high as the lab has it, so a heading gets the width that it needs.
        self.widths += (
            max(_NARROWEST, column.width, min(len(text) + 2.0, _WIDEST))
            for column, text in zip(columns, headings, strict=True)
        )

    def at(self, places: Geometry, first: int) -> AddedColumns:
        """Return the columns from ``first`` on, with links down to where the sheet has room for no more."""
        links = Links(links_there(places))
        leading: list[set[int]] = [set() for _ in self.tables]
        targets = self.formats.targets
        found = [(row, at, findings) for at, table in enumerate(self.tables) for row, findings in table.findings()]
        for row, at, findings in sorted(found, key=itemgetter(0, 1)):
            link = targets.first_of(findings)
            if link is not None and links.add(address(row, first + self.tables[at].found), link):
                leading[at].add(row)
        prefix = places.part.prefix(places.data)
        tables = [
            table.cells(prefix, first, replace(self.formats, leading=rows))
            for table, rows in zip(self.tables, leading, strict=True)
        ]

        def cells(rows: Sequence[int]) -> Iterable[str]:
            there = dict.fromkeys(rows, "")
            for write in tables:
                for row, text in write(rows):
                    there[row] += text
            return there.values()

        return AddedColumns(first, self.widths, self.rows, cells, links)


def computed_columns(evaluation: Evaluation, stylesheet: Stylesheet, targets: Targets) -> list[Block]:
    """Return the computed columns of every sheet on which firings or samples have a row each.

    Where a row holds several firings, each has columns of its own; beside forms there are none. What is found on a
    row leads to ``targets``.
    """
    blocks: dict[str, Block] = {}
    text, linked = styles.COMPUTED_TEXT, styles.LINKED[styles.COMPUTED_TEXT.name]
    heading = styles.COMPUTED_HEADING
    number = stylesheet.number
    formats = Formats(stylesheet, number(text), number(linked), number(heading), targets)
    _add(blocks, formats, ((firing.row.place, firing) for firing in evaluation.firings), FIRING_COLUMNS)
    samples = ((sample.row.place, sample) for sample in evaluation.samples if sample.row is not None)
    _add(blocks, formats, samples, SAMPLE_COLUMNS)
    return list(blocks.values())


def _add(
    blocks: dict[str, Block],
    formats: Formats,
    results: Iterable[tuple[Place, Row]],
    columns: Sequence[ComputedColumn[Row]],
) -> None:
    """Add the columns of results to the blocks of their sheets; each part of a row has its own."""
    parts: dict[tuple[str, str], tuple[set[int], dict[int, Row]]] = defaultdict(lambda: (set(), {}))
    for place, result in results:
        table = place.table
        if table.columns:
            heading_rows, by_row = parts[table.sheet, table.part]
            heading_rows.add(table.heading_row)
            by_row[place.row] = result
    for (sheet, part), (heading_rows, by_row) in parts.items():
        headings = [styles.visible(f"{part}: {column.heading}" if part else column.heading) for column in columns]
        blocks.setdefault(sheet, Block(sheet, formats)).add(columns, headings, heading_rows, by_row)
        formats.number_all(columns, by_row.values())
