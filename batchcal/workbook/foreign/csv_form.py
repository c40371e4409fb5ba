"""How a table of text is written: its encoding, its delimiter and its decimal mark; found by evidence or asked for."""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct

from batchcal.errors import WorkbookError

DELIMITERS = {"\t": "tab", ";": "semicolon", ",": "comma", "|": "bar"}
"""Delimiters that are found by themselves, with their names for a message; any other sign must be told."""

DECIMALS = {".": "point", ",": "comma"}

DATES = {"d.m.y": "%d.%m.%Y", "d/m/y": "%d/%m/%Y", "m/d/y": "%m/%d/%Y", "d-m-y": "%d-%m-%Y"}
"""Ways in which a date may be told to stand, with a year of four figures; 2026-11-26 is always read."""

Key = Literal["encoding", "delimiter", "decimal"]

_SHARE = 0.9
_MANY = 4
"""Of the rows of a table this share has as many fields as its headings, or all but one of this many."""


class CsvForm(Struct, frozen=True):
    """How a table of text is written; None is for what the file itself must show.

    ``encoding`` is any that Python knows by name, ``delimiter`` one sign, ``decimal`` a point or a comma. ``date`` is
    one of :data:`DATES`; it is never found in the file, and without it such dates stay text.
    """

    encoding: str | None = None
    delimiter: str | None = None
    decimal: str | None = None
    date: str | None = None

    @property
    def words(self) -> tuple[str, str]:
        """Delimiter and decimal mark in words."""
        delimiter, decimal = self.delimiter or "", self.decimal or ""
        return DELIMITERS.get(delimiter, delimiter), DECIMALS.get(decimal, decimal)


class Question(Struct, frozen=True):
    """What only a person can say: the entry, the values that the file allows, and what they would make of it."""

    key: Key
    choices: tuple[str, ...]
    why: str


class CsvQuestion(WorkbookError):  # noqa: N818 - it asks, and is raised where a workbook cannot be read
    """The table can be read in more than one way. ``questions`` lists what is open, ``known`` what is not."""

    def __init__(self, name: str, questions: Sequence[Question], known: CsvForm) -> None:
        self.questions = tuple(questions)
        self.known = known
        asked = "; ".join(f"{question.key}: {question.why}" for question in questions)
        super().__init__(
            f"{name}: can be read in more than one way ({asked}); say which under [csv] in a map of its columns: "
            f"batchcal columns {name} --save MAP.toml"
        )


def refuse_unfit(name: str, form: CsvForm) -> None:
    """Raise WorkbookError where a form was told that no table can have."""
    delimiter = form.delimiter
    if delimiter is not None and (len(delimiter) != 1 or delimiter.isalnum() or delimiter in "\"'.\r\n\0 +-"):
        raise WorkbookError(f"{name}: the delimiter is one sign, such as ; , | or a tab, and not {delimiter!r}")
    if form.decimal is not None and form.decimal not in DECIMALS:
        raise WorkbookError(f"{name}: the decimal mark is a point or a comma, and not {form.decimal!r}")
    if form.date is not None and form.date not in DATES:
        raise WorkbookError(f"{name}: dates are told as one of {', '.join(DATES)}, and not {form.date!r}")


class Block(Struct, frozen=True):
    """The part of a file that hangs together as a table under one delimiter: its headings, and how many fields wide."""

    first: int = 0
    width: int = 1
    is_table: bool = False
    """Whether the file can be meant so."""


def block(records: Sequence[Sequence[str]], delimiter: str) -> Block:
    """Return what hangs together as a table: rows all as wide as their headings, or none wider and few much narrower.

    Lines before the headings and after the rows do not count.
    """
    widths = [len(record) if any(field.strip() for field in record) else 0 for record in records]
    counted = Counter(width for width in widths if width > 1)
    if not counted:
        return Block()
    fit = not _joins_figures(records, delimiter)
    # The width that holds most of the file: a few lines of two fields before the headings are no table.
    width = max(counted, key=lambda found: ((found - 1) * counted[found], found))
    same = [found == width for found in _between(widths, widths.index(width), width) if found]
    covers = 2 * counted[width] >= sum(counted.values()) and 3 * counted[width] >= sum(map(bool, widths))
    if fit and covers and _are_headings(records[widths.index(width)]) and len(same) > 1 and _nearly_all(same):
        return Block(widths.index(width), width, is_table=True)
    widest = max(widths)
    first = widths.index(widest)
    least = max(2, widest // 2)
    enough = [found >= least for found in _between(widths, first, least) if found]
    fit = fit and 3 * enough.count(True) >= sum(map(bool, widths)) and _nearly_all(enough)
    fit = fit and len(enough) > 1 and _are_headings(records[first])
    return Block(first, widest, is_table=fit)


def _between(widths: Sequence[int], first: int, least: int) -> Sequence[int]:
    last = max(place for place, found in enumerate(widths) if found >= least)
    return widths[first : last + 1]


def _nearly_all(rows: Sequence[bool]) -> bool:
    lacking = rows.count(False)
    return lacking <= len(rows) * (1 - _SHARE) or (lacking == 1 and len(rows) >= _MANY)


def _joins_figures(records: Sequence[Sequence[str]], delimiter: str) -> bool:
    """Return whether most rows would keep together what another delimiter stands between: a tab, or figures: 1;2."""
    others = ";|".replace(delimiter, "")
    between = re.compile(rf"\d *[{others}] *\d" if delimiter == "\t" else rf"\t|\d *[{others}] *\d")
    filled = [record for record in records if any(field.strip() for field in record)]
    return 2 * sum(any(between.search(field) for field in record) for record in filled) > len(filled)


def _are_headings(record: Sequence[str]) -> bool:
    filled = [field.strip() for field in record if field.strip()]
    words = [field for field in filled if not re.match(r"[\d+\-.,]", field) and re.search(r"[^\W\d_]", field)]
    return 2 * len(words) >= len(filled) > 0


def delimiter_question(blocks: Mapping[str, Block]) -> Question:
    """Return the question which delimiter is meant, where the file shows none or several."""
    tables = [delimiter for delimiter, found in blocks.items() if found.is_table]
    if tables:
        fields = ", ".join(f"{DELIMITERS[one]} makes {blocks[one].width} columns" for one in tables)
        return Question("delimiter", tuple(tables), fields)
    return Question("delimiter", tuple(DELIMITERS), "no sign divides headings and nearly all rows into as many fields")


_MARKED_NUMBER = re.compile(r"[+-]?(\d*)([.,])(\d+)(?:[eE][+-]?\d{1,3})?")
_GROUPED = re.compile(r"[+-]?\d{1,3}(?:([.,])\d{3})+(?:(?!\1)([.,])\d+)?")


class DecimalEvidence(Struct):
    """What the numbers of a table show of its decimal mark: in which row each mark was first seen to be one."""

    sure: dict[str, tuple[int, str]]
    unsure: tuple[int, str] | None = None

    @classmethod
    def of(cls, records: Sequence[Sequence[str]]) -> "DecimalEvidence":
        """Look at every field."""
        evidence = cls({})
        for row, record in enumerate(records, 1):
            for field in record:
                evidence._look_at(field.strip(), row)
        return evidence

    def _look_at(self, field: str, row: int) -> None:
        grouped = _GROUPED.fullmatch(field)
        if grouped is not None and grouped[2] is not None:
            self.sure.setdefault(grouped[2], (row, field))
            return
        if grouped is not None and field.count(grouped[1]) > 1:
            other = "," if grouped[1] == "." else "."
            self.sure.setdefault(other, (row, field))
            return
        marked = _MARKED_NUMBER.fullmatch(field)
        if marked is None:
            return
        whole, mark, fraction = marked.groups()
        is_group = len(fraction) == 3 and 1 <= len(whole) <= 3 and not whole.startswith("0")
        if is_group and "e" not in field.casefold():
            self.unsure = self.unsure or (row, field)
        else:
            self.sure.setdefault(mark, (row, field))

    @property
    def mark(self) -> str | None:
        """The decimal mark, where the numbers show one; a point where no number has a mark at all."""
        if len(self.sure) == 1:
            return next(iter(self.sure))
        return "." if not self.sure and self.unsure is None else None

    def question(self) -> Question:
        """Return the question which mark is meant."""
        if self.sure:
            seen = " and ".join(
                f"a {DECIMALS[mark]} in {text!r} (row {row})" for mark, (row, text) in self.sure.items()
            )
            return Question("decimal", tuple(DECIMALS), f"numbers show {seen}")
        row, text = self.unsure or (0, "")
        plain = text.replace(",", ".")
        grouped = text.replace(",", "").replace(".", "")
        return Question("decimal", tuple(DECIMALS), f"{text!r} (row {row}) is {plain} or {grouped}")
