"""Finding a table on a sheet: the heading row by its words, each column's field, unit and basis."""

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from typing import Protocol

from msgspec import Struct, field

from batchcal import findings, units
from batchcal.errors import WorkbookError
from batchcal.findings import Finding, Severity
from batchcal.logged import Place, Table
from batchcal.terms import Basis
from batchcal.workbook.cells import EMPTY, Cell, CellKind, as_identifier, clean
from batchcal.workbook.grid import NO_CELLS, Grid
from batchcal.workbook.layout import HEADING_ROWS, Column, Sheet
from batchcal.workbook.xlsx.references import LETTERS, address

MAX_HEADING = 200
"""Characters of a heading; a longer text is none, however much of it looks like one."""

_BRACKETED = re.compile(r"(.*?)\s*[(\[]([^()\[\]]*)[)\]]")
_WITH_BASIS = re.compile(r"(.*?)\s*,\s*(ad|d|ar|daf)")


class FoundColumn(Struct, frozen=True):
    """A column that was recognised: where it is, what it holds, its unit and the basis its heading names."""

    column: Column
    index: int
    heading: str
    unit: units.Unit | None = None
    basis: Basis | None = None
    usable: bool = True
    """False where its unit is not known or another column means the same: filled cells are then doubtful."""

    @property
    def letter(self) -> str:
        """Column letter."""
        return LETTERS[self.index]


class Line(Struct, frozen=True):
    """One row of a table on its way into the model: its cells by field, each under its column.

    ``known`` are values that stand in no cell of the row; ``unreadable`` are fields whose cells contradict each other.
    """

    place: Place
    cells: Mapping[str, tuple[FoundColumn, Cell]]
    known: Mapping[str, object] = field(default_factory=dict)
    unreadable: frozenset[str] = frozenset()


class ReadTable(Protocol):
    """A table that the reader can read, whatever the sheet it comes from looks like."""

    @property
    def sheet(self) -> Sheet:
        """The sheet of the layout that it stands for."""

    @property
    def grid(self) -> Grid:
        """The sheet of the workbook that it stands on."""

    @property
    def columns(self) -> tuple[FoundColumn, ...]:
        """The columns in which its fields stand."""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is doubtful about the table itself."""

    @property
    def table(self) -> Table:
        """The place of this table for the model."""

    def lines(self) -> Iterable[Line]:
        """Return the rows that have something in them."""

    def body(self) -> Iterable[tuple[int, Mapping[int, Cell]]]:
        """Return the rows of the sheet that belong to the table, with their filled cells by column."""


class FoundTable(Struct, frozen=True):
    """A sheet's table: what stands on the sheet, its heading row and its columns."""

    sheet: Sheet
    grid: Grid
    heading_row: int
    columns: tuple[FoundColumn, ...]
    findings: tuple[Finding, ...]
    firing: str = ""
    """The firing that every row with a temperature belongs to, where a sheet of readings has a column for each."""

    @property
    def table(self) -> Table:
        """The place of this table for the model."""
        return Table(
            self.grid.title,
            self.heading_row,
            {found.column.field: found.letter for found in self.columns},
            {found.column.field: found.heading for found in self.columns},
            units={found.column.field: found.unit.text for found in self.columns if found.unit is not None},
            role=self.sheet.role,
        )

    def lines(self) -> Iterator[Line]:
        """Yield every row below the headings that has something in a recognised column, with those cells."""
        table = self.table
        for number, row in self.body():
            cells = {}
            for found in self.columns:
                cell = row.get(found.index, EMPTY)
                if cell.kind is not CellKind.EMPTY:
                    cells[found.column.field] = (found, cell)
            if cells and not (self.firing and "temperature_C" not in cells):
                yield Line(Place(table, number), cells, {"firing": self.firing} if self.firing else {})

    def body(self) -> Iterator[tuple[int, Mapping[int, Cell]]]:
        """Yield every row below the headings by its number, with its filled cells by column."""
        return self.grid.below(self.heading_row)

    def other_headings(self) -> list[tuple[int, str]]:
        """Return column and name of every cell of the heading row that is no known heading."""
        known = {found.index for found in self.columns}
        headings = self.grid.rows[self.heading_row]
        names = [(index, as_identifier(cell)) for index, cell in headings.items() if index not in known]
        return [(index, name) for index, name in names if isinstance(name, str) and name]


def fold(text: str) -> str:
    """Return a heading's words with case, blanks, full stops and the many forms of one sign folded together."""
    text = unicodedata.normalize("NFKC", text).casefold()
    return re.sub(r"\s+", " ", text).strip(" .:*")


def split_heading(text: str) -> tuple[str, str | None]:
    """Return a heading's folded name and the text of the unit in its closing brackets, or None."""
    text = clean(unicodedata.normalize("NFKC", text.replace("º", "°"))).rstrip(" .:*")
    match = _BRACKETED.fullmatch(text)
    if match is None:
        return fold(text), None
    return fold(match[1]), match[2].strip()


def find_table(sheet: Sheet, grid: Grid, file_name: str) -> FoundTable | None:
    """Find the table of ``sheet`` on a sheet; None where it is empty, or another content of a common name.

    The heading row is the one of the first 30 rows with the most headings that are known. Raises
    WorkbookError where headings that the sheet cannot do without are absent.
    """
    if not grid.rows:
        return None
    known = {fold(column.name): column for column in sheet.readable}
    best: list[tuple[int, str, Column, str | None, Basis | None]] = []
    best_row = 0
    others: list[str] = []
    for number in range(1, HEADING_ROWS + 1):
        matches, unmatched = [], []
        for index, cell in grid.rows.get(number, NO_CELLS).items():
            if cell.kind is not CellKind.TEXT:
                continue
            text = str(cell.value)
            match = _match(text, known) if len(text) <= MAX_HEADING else None
            if match is None:
                unmatched.append(cell.text)
            else:
                matches.append((index, clean(text), *match))
        if len(matches) > len(best):
            best, best_row, others = matches, number, unmatched
    columns, trouble = _resolve(grid.title, best_row, best)
    if sheet.common_name and _lacking(sheet, {column.column.field for column in columns}):
        return None
    _refuse_incomplete(sheet, grid.title, {column.column.field for column in columns}, file_name)
    if others:
        trouble.append(findings.make("column-not-read", sheet=grid.title, row=best_row, headings=", ".join(others)))
    return FoundTable(sheet, grid, best_row, tuple(columns), tuple(trouble))


def _match(text: str, known: dict[str, Column]) -> tuple[Column, str | None, Basis | None] | None:
    name, unit = split_heading(text)
    column = known.get(name)
    if column is not None:
        return column, unit, None
    with_basis = _WITH_BASIS.fullmatch(name)
    if with_basis is not None:
        column = known.get(with_basis[1])
        if column is not None and column.with_basis:
            return column, unit, Basis(with_basis[2])
    return None


def _resolve(
    sheet: str, row: int, matches: list[tuple[int, str, Column, str | None, Basis | None]]
) -> tuple[list[FoundColumn], list[Finding]]:
    seen: dict[str, FoundColumn] = {}
    trouble = []
    for index, heading, column, unit_text, basis in matches:
        severity = None if column.enters else Severity.REVIEW
        cell = address(row, index)
        earlier = seen.get(column.field)
        if earlier is not None:
            seen[column.field] = FoundColumn(column, earlier.index, earlier.heading, usable=False)
            trouble.append(
                findings.make(
                    "heading-twice", sheet=sheet, row=row, cell=cell, severity=severity,
                    read=heading, other=earlier.letter,
                )
            )  # fmt: skip
            continue
        unit, problem = _unit(column, unit_text)
        if problem:
            trouble.append(
                findings.make(
                    "heading-unit-unknown", sheet=sheet, row=row, cell=cell, severity=severity,
                    read=heading, problem=problem, choices=units.readable(column.quantity) if column.quantity else "-",
                )
            )  # fmt: skip
        seen[column.field] = FoundColumn(column, index, heading, unit, basis, usable=not problem)
    return list(seen.values()), trouble


def _unit(column: Column, text: str | None) -> tuple[units.Unit | None, str]:
    if column.quantity is None:
        # A strength has its unit in a column of its own; a second one in the heading could contradict it.
        return (
            None,
            f"names the unit '{text}', which has a column of its own" if text and column.kind == "number" else "",
        )
    if text is None:
        unit = units.only(column.quantity)
        return unit, "" if unit else "names no unit"
    unit = units.read(text, column.quantity)
    return unit, "" if unit else f"names the unit '{text}', which is not read here"


def _refuse_incomplete(sheet: Sheet, title: str, present: set[str], file_name: str) -> None:
    for alternatives in _lacking(sheet, present):
        headings = {column.field: column.heading for column in sheet.columns}
        wanted = " or ".join(" with ".join(f"'{headings[field]}'" for field in fields) for fields in alternatives)
        raise WorkbookError(f"{file_name}: sheet {title} has no heading {wanted} in its first {HEADING_ROWS} rows")


def _lacking(sheet: Sheet, present: set[str]) -> list[tuple[tuple[str, ...], ...]]:
    """Return the headings, each as its alternatives, that the sheet cannot do without and has not."""
    return [group for group in sheet.needed if not any(set(fields) <= present for fields in group)]
