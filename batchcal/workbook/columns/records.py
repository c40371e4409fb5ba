"""From a table that fits to records: the cells of one firing (sample, titration, reading) each, with their addresses.

Rows that are none are passed over and said: means, notes, headings that are repeated.
"""

import re
from collections.abc import Mapping
from functools import cache, lru_cache

from msgspec import Struct, field

from batchcal import findings
from batchcal.findings import Finding
from batchcal.reference import headings as known
from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.columns.column_map import MapColumn, MapTable
from batchcal.workbook.columns.grammar import fold, tidy
from batchcal.workbook.grid import Grid

INPUTS = frozenset(
    {"Crucible", "Crucible + sample", "Sample mass", "Initial temperature", "Final temperature", "Temperature rise"}
)
"""Without one of these a row is no firing."""

OF_ONE_PORTION = frozenset({"Sample mass", "Crucible + sample", "Final temperature", "Temperature rise"})
"""What no two test portions of a row share: read for both of them, one would be worked out with the other's figure."""

_DECIMAL_COMMA = re.compile(r"[+-]?\d+(,\d+)?")


class Spot(Struct, frozen=True):
    """One cell under what it is, as it is taken, and its address."""

    entry: MapColumn
    cell: Cell
    address: str


class Record(Struct, frozen=True):
    """The cells of one firing by the heading of the blank workbook that each is read under.

    ``part`` is the test portion where the row or form holds several; ``fired`` is False for a row that is no firing
    and may still say something of its sample.
    """

    row: int
    spots: Mapping[str, Spot]
    part: str = ""
    fired: bool = True

    @property
    def has_inputs(self) -> bool:
        """Whether it has a weighing or a temperature."""
        return not INPUTS.isdisjoint(self.spots)


class Standing(Struct, frozen=True):
    """Where the records of a part stand: the heading row, and the letter of each heading's column."""

    heading_row: int
    letters: Mapping[str, int]
    entries: Mapping[str, MapColumn]
    part: str = ""


class Recorded(Struct):
    """The records of one table on one sheet, where they stand, and what was found on the way."""

    table: MapTable
    grid: Grid
    records: list[Record] = field(default_factory=list)
    standings: list[Standing] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    comma_counts: dict[str, tuple[str, int]] = field(default_factory=dict)
    texts: set[str] = field(default_factory=set)
    """Addresses of the numbers that stand as text."""

    def take(self, entry: MapColumn, cell: Cell, spot: str) -> Spot | None:
        """Return a filled cell as the map takes it, with a decimal comma read where the map says so."""
        if cell.kind is CellKind.EMPTY:
            return None
        number = with_comma(cell) if entry.decimal == "," else None
        if number is None:
            return Spot(entry, cell, spot)
        first, count = self.comma_counts.get(entry.heading, (spot, 0))
        self.comma_counts[entry.heading] = first, count + 1
        self.texts.add(spot)
        return Spot(entry, number, spot)

    def close(self) -> "Recorded":
        """Say what was read with a decimal comma, once for each column."""
        self.findings += [
            by_comma(self.grid.title, spot, heading, count) for heading, (spot, count) in self.comma_counts.items()
        ]
        return self


def with_comma(cell: Cell) -> Cell | None:
    """Return the number that a text with one decimal comma stands for, or None for any other cell."""
    text = tidy(str(cell.value)) if cell.kind is CellKind.TEXT else ""
    if not _DECIMAL_COMMA.fullmatch(text):
        return None
    return Cell(CellKind.NUMBER, float(text.replace(",", ".")), cell.formula, cell.struck)


def by_comma(sheet: str, cell: str, heading: str, count: int) -> Finding:
    """Return the note that numbers typed as text were read as the map says."""
    row = int(re.sub(r"\D", "", cell))
    return findings.make("decimals-by-map", sheet=sheet, row=row, cell=cell, heading=heading, count=count)


@lru_cache(maxsize=10_000)
def is_mean(text: str) -> bool:
    """Whether a text begins with a word for a mean, in any language that is on record."""
    words = fold(text).split()
    return bool(words) and (words[0] in _mean_words() or " ".join(words) in _mean_words())


@cache
def _mean_words() -> frozenset[str]:
    fixed = {"sd", "rsd", "stdev", "standardabweichung", "mittelw", "durchschnitt", "gemiddelde", "gemiddeld", "moy"}
    results = {"result", "final result", "reported value", "ergebnis", "wynik"}
    return frozenset({fold(v.text) for v in known.variants() if v.field == "mean"} - results | fixed)
