"""What is known of a table when it has been found: its shape, its headings and what stands under them."""

import re
from collections.abc import Mapping

from msgspec import Struct, field

from batchcal.reference import headings as known
from batchcal.workbook.columns.column_map import Shape
from batchcal.workbook.columns.evidence import Seen
from batchcal.workbook.columns.grammar import LEVEL, fold, parse
from batchcal.workbook.columns.variants import look_up
from batchcal.workbook.grid import Grid

FEWEST_HEADINGS = 3
"""Headings that must be known for a row of them to be taken for a table's."""

_LONGEST_HEADING = 80
_SIGN_WITHIN = re.compile(r"(?P<name>[^\W\d]*)(?P<sign>[1-4])(?:st|nd|rd|th)?")
_OF_ANY_SHEET = frozenset({"remark", "date", "analyst", "checker", "time"})
"""Fields that a sheet of anything may have; they do not make it one of firings."""


class Detected(Struct, frozen=True):
    """A table as it was found: its columns (of forms: its lines) with what stands under them."""

    grid: Grid
    shape: Shape
    heading_row: int
    levels: int
    columns: tuple[Seen, ...]
    tests: tuple[str, ...] = ()
    skip: tuple[str, ...] = ()
    more_sheets: tuple[str, ...] = field(default=())
    """Other sheets with the very same headings."""

    @property
    def headings(self) -> tuple[str, ...]:
        """The headings as they stand, in order."""
        return tuple(seen.heading.text for seen in self.columns)


def score_of(texts: Mapping[int, str]) -> float:
    """Return how much a line of headings looks like one of firings: each known heading counts."""
    score, telling = 0.0, 0
    for text in dict.fromkeys(texts.values()):
        if len(text) > _LONGEST_HEADING:
            continue
        heading = parse(without_portion(text) if LEVEL in text else text)
        name, sign = portion_within(text)
        fields = look_up(heading).fields or (look_up(parse(name)).fields if sign else {})
        if fields:
            score += 1.0 + 0.1 * bool(heading.unit)
            telling += not set(fields) <= _OF_ANY_SHEET
        elif heading.unit and heading.name:
            score += 0.3
    return score if telling >= 2 else 0.0


def sign_of(text: str) -> str:
    """Return the sign of a test portion that a heading of a group is, or ends with: "Test I", "Bestimmung 2", "A"."""
    words = fold(text).split()
    if not words or len(words) > 2:
        return ""
    last = words[-1]
    if any(last in series for series in known.parts()):
        return last.upper() if last.isalpha() else last
    return ""


def portion_of(text: str) -> tuple[str, str]:
    """Return a heading's name without the sign of a test portion, and that sign as it is written; "" for none."""
    top, level, rest = text.partition(LEVEL)
    if level:
        sign = sign_of(top)
        if sign:
            return fold(rest), sign
    heading = parse(text)
    if not heading.part:
        return heading.name, ""
    last = fold(heading.name)
    sign = heading.part
    return last[: -len(sign)].strip(), sign.upper() if sign.isalpha() else sign


def portion_within(text: str) -> tuple[str, str]:
    """Return a heading's name without the sign of a test portion inside it, and that sign: "T1 start", "2nd mass"."""
    words = parse(text).name.split()
    signs = [(at, found) for at, word in enumerate(words) if (found := _SIGN_WITHIN.fullmatch(word))]
    if len(signs) != 1:
        return parse(text).name, ""
    at, found = signs[0]
    return " ".join(word for word in (*words[:at], found["name"], *words[at + 1 :]) if word), found["sign"]


def without_portion(text: str) -> str:
    """Return a heading without the sign of a test portion."""
    top, level, rest = text.partition(LEVEL)
    if level and sign_of(top):
        return rest
    heading = parse(text)
    name = heading.name[: -len(heading.part)].strip() if heading.part else heading.name
    return f"{name} ({heading.unit})" if heading.unit else name


def titled(title: str, kind: str) -> bool:
    """Whether the name of a sheet begins with a word of a kind: "calibration"."""
    name = fold(title)
    return any(name.startswith(fold(word)) for word in known.words(kind) if len(word) > 3)
