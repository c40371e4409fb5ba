"""Cells of the program's own sheets: what kind of content each holds, the format that goes with it, and its markup."""

import datetime as dt
import math
from collections.abc import Collection, Sequence
from typing import Literal, cast

from msgspec import Struct

from batchcal.workbook.styles import LIKE_A_FORMULA, LINKED, visible
from batchcal.workbook.xlsx.dates import SINCE_1900, SINCE_1904
from batchcal.workbook.xlsx.looks import Style
from batchcal.workbook.xlsx.markup import escape
from batchcal.workbook.xlsx.stylesheet import Stylesheet

Value = float | str | dt.date | None
"""What stands in a cell. An empty text is no content, and a number that is not finite is left out."""

Kind = Literal["nothing", "words", "like a formula", "number", "date"]
"""What the format of a cell and the frame about its content go by."""

WORDS: Collection[Kind] = ("words", "like a formula")

_FRAMES: dict[Kind, str] = {
    "nothing": 't="n" />',
    **dict.fromkeys(WORDS, 't="inlineStr">%s</c>'),
    "number": 't="n"><v>%s</v></c>',
    "date": 't="n"><v>%s</v></c>',
}
_KEPT = ' xml:space="preserve"'

_DATE_FORM = "yyyy-mm-dd"
_DAY_THAT_WAS_NOT = 60
"""Counted from 1900, the number of 29 February 1900; the days before it are one less than they are numbered."""


class Look(Struct, frozen=True):
    """How a cell looks: its style, and the form in which a number is shown."""

    style: Style
    form: str = "General"


def kind_of(value: Value) -> Kind:
    """Return the kind of a content."""
    if isinstance(value, float):
        return "number" if math.isfinite(value) else "nothing"
    if not value:
        return "nothing"
    if isinstance(value, str):
        return "like a formula" if value.startswith(LIKE_A_FORMULA) else "words"
    return "date"


class OwnCells:
    """Writes the cells of one workbook."""

    def __init__(self, formats: Stylesheet, *, from_1904: bool = False) -> None:
        """Have formats numbered in ``formats``; ``from_1904``: the workbook counts its days from 1904."""
        self._formats = formats
        self._epoch = SINCE_1904 if from_1904 else SINCE_1900

    def frame(self, where: str, look: Look, kind: Kind, *, leads: bool) -> str:
        """Return the markup of a cell, with ``%s`` for its content; ``leads`` makes it look like one that leads on."""
        style = LINKED[look.style.name] if leads else look.style
        form = {"number": look.form, "date": _DATE_FORM}.get(kind, "General")
        number = self._formats.number(style, form, quoted=kind == "like a formula")
        return f'<c r="{where}" s="{number}" {_FRAMES[kind]}'

    def contents(self, kind: Kind, values: Sequence[Value]) -> list[str]:
        """Return contents of one kind, but for nothing, as they stand in its frame."""
        if kind == "number":
            return list(map(_digits, cast(Sequence[float], values)))
        if kind == "date":
            return list(map(self._days, cast(Sequence[dt.date], values)))
        words = cast(Sequence[str], values)
        texts = {text: inline_text(text) for text in set(words)}  # many stand in cell after cell
        return [texts[text] for text in words]

    def _days(self, date: dt.date) -> str:
        days = (date - self._epoch.date()).days
        return str(days - 1 if self._epoch == SINCE_1900 and 0 < days <= _DAY_THAT_WAS_NOT else days)


def inline_text(value: str) -> str:
    """Return a text as it stands inside its cell, the blanks at its ends kept."""
    text = visible(value)
    return f"<is><t{'' if text == text.strip() else _KEPT}>{escape(text)}</t></is>"


def _digits(value: float) -> str:
    """Return a number with 16 digits, or with 17 where the last would be lost."""
    short = f"{value:.16g}"
    return short if float(short) == value else repr(value)
