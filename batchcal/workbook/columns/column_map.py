"""A map of a lab's own sheets: which column is what. It is proposed, confirmed by a person, saved and used again."""

import datetime as dt
from collections.abc import Mapping
from typing import Literal

from msgspec import Struct, field

from batchcal.terms import ConcentrationUnit, Outcome, Purpose, Titrant, Use, YesNo
from batchcal.workbook.columns.fields import Holds
from batchcal.workbook.foreign.csv_form import CsvForm

Shape = Literal["rows", "pairs", "forms", "curves"]
At = Literal["right", "below"]

OPEN = "?"
"""Stands for an answer that only a person can give; a map that holds one is not used."""

ANY_SHEET = "*"
"""As the name of a sheet: every sheet that has these headings."""

ANY_FIRING = "*"
"""As a heading of curves: the columns that are headed by firing numbers."""

SHAPES: Mapping[Shape, str] = {
    "rows": "one row a firing (or a sample, a titration, a reading)",
    "pairs": "one row a sample, its test portions side by side",
    "forms": "fields down the side, test portions across",
    "curves": "minutes down, one column a firing, headed by its number",
}

WORDS = (*Purpose, *Outcome, *Use, *Titrant, *ConcentrationUnit, *YesNo)
"""Words of the closed lists for which a lab may have words of its own."""

Fixed = str | float | dt.date


class MapColumn(Struct, frozen=True):
    """One column under its heading, one line of a form beside its label, or one label above a table; and what it is.

    ``means`` is a heading of the blank workbook, "" where the column is not read, or :data:`OPEN`; so are ``unit`` and
    ``basis``. ``decimal`` is "," where numbers typed as text have a decimal comma. ``part`` is the test portion that
    the column belongs to; ``at`` is where the value of a label above a table stands, which holds for the rows below
    until it is changed. ``note`` is said beside it in the file and never read back.
    """

    heading: str
    means: str = ""
    unit: str = ""
    basis: str = ""
    decimal: str = ""
    part: str = ""
    at: At = "right"
    note: str = ""

    @property
    def is_open(self) -> bool:
        """Whether something about it waits for an answer."""
        return OPEN in (self.means, self.unit, self.basis, self.decimal)


class MapTable(Struct, frozen=True):
    """One table: where it stands, what it holds, its headings in order, which are its fingerprint.

    ``levels`` is the number of rows (of forms: columns) that its headings take. ``every_row`` are values of columns
    that the sheet has not, by heading of the blank workbook. ``tests`` and ``skip`` are the headings across of forms:
    those of test portions, and those passed over. ``sheet_is`` is the heading whose value is the sheet's name.
    """

    sheet: str
    holds: Holds
    shape: Shape
    headings: tuple[MapColumn, ...]
    levels: int = 1
    above: tuple[MapColumn, ...] = ()
    every_row: Mapping[str, Fixed] = field(default_factory=dict)
    tests: tuple[str, ...] = ()
    skip: tuple[str, ...] = ()
    sheet_is: str = ""

    def means(self, name: str) -> bool:
        """Whether one of its columns, labels or values is read under a heading of the blank workbook."""
        columns = any(entry.means == name for entry in (*self.headings, *self.above))
        return columns or name in self.every_row or self.sheet_is == name


class MapSetup(Struct, frozen=True):
    """An item of Setup: its value, or the label beside which it stands on a sheet; ``line`` is its line in the file."""

    item: str
    value: Fixed | None = None
    unit: str = ""
    source: str = ""
    in_force_from: dt.date | None = None
    label: str = ""
    sheet: str = ""
    at: At = "right"
    decimal: str = ""
    line: int = 0
    note: str = ""

    @property
    def is_open(self) -> bool:
        """Whether something about it waits for an answer."""
        return OPEN in (self.value, self.unit, self.label, self.decimal)


class MapText(Struct, frozen=True):
    """How a table of text (.csv) is written; "" where the file itself shows it, :data:`OPEN` where it does not."""

    encoding: str = ""
    delimiter: str = ""
    decimal: str = ""
    date: str = ""
    notes: Mapping[str, str] = field(default_factory=dict)
    """What is said beside an entry in the file, and never read back."""

    @property
    def form(self) -> CsvForm:
        """What is known of it."""
        return CsvForm(*(None if value in ("", OPEN) else value for value in self.entries.values()))

    @property
    def entries(self) -> Mapping[str, str]:
        """The entries by their names in the file."""
        return {"encoding": self.encoding, "delimiter": self.delimiter, "decimal": self.decimal, "date": self.date}


class ColumnMap(Struct, frozen=True):
    """All tables of a workbook. ``words`` are the lab's own words for those of the closed lists.

    ``name`` and ``sha256`` are those of its file; "" where there is none yet.
    """

    tables: tuple[MapTable, ...]
    setup: tuple[MapSetup, ...] = ()
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    word_notes: Mapping[str, str] = field(default_factory=dict)
    """What is said beside a word in the file, and never read back."""
    language: str = ""
    text: MapText = MapText()
    name: str = ""
    sha256: str = ""

    def questions(self) -> list[str]:
        """Return what is open, one entry each, in words."""
        found = []
        for table in self.tables:
            if OPEN in (table.holds, table.sheet_is):
                found.append(f"sheet {table.sheet}: {'holds' if table.holds == OPEN else 'sheet_is'}")
            for entry in (*table.headings, *table.above):
                if entry.is_open:
                    what = [
                        word
                        for word, value in (
                            ("what it means", entry.means),
                            ("its unit", entry.unit),
                            ("its basis", entry.basis),
                            ("its decimal mark", entry.decimal),
                        )
                        if value == OPEN
                    ]
                    found.append(f"sheet {table.sheet}, '{entry.heading}': {' and '.join(what)}")
            found += [f"sheet {table.sheet}, {name}" for name, value in table.every_row.items() if value == OPEN]
        found += [f"words for {word}" for word, words in self.words.items() if OPEN in words]
        found += [f"setup, {entry.item}" for entry in self.setup if entry.is_open]
        found += [f"csv, {name}" for name, value in self.text.entries.items() if value == OPEN]
        return found + (["language"] if self.language == OPEN else [])
