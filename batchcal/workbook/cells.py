"""Single cells: what stands in one, and what it is taken for. A doubtful cell gives a trouble, never a guess."""

import datetime as dt
import math
import re
import unicodedata
from enum import Enum, auto
from typing import NamedTuple

from msgspec import Struct


class CellKind(Enum):
    """What a cell holds."""

    EMPTY = auto()
    NUMBER = auto()
    PER_CENT = auto()
    TEXT = auto()
    BOOLEAN = auto()
    DATE = auto()
    TIME = auto()
    ERROR = auto()
    UNCALCULATED = auto()

    __hash__ = object.__hash__  # not the one of enumerations, which is slow: cells are looked up by the million


class Cell(NamedTuple):
    """The content of one cell: its kind, its value, its formula with the sign before it, whether struck through.

    A tuple, because a long log has millions of them and a frozen dataclass takes four times as long to make.
    """

    kind: CellKind
    value: object = None
    formula: str | None = None
    struck: bool = False

    @property
    def text(self) -> str:
        """The value as words for a message, shortened."""
        value = self.value
        if isinstance(value, bool):
            return "TRUE" if value else "FALSE"
        if isinstance(value, float):
            return number_text(value)
        if isinstance(value, dt.datetime):
            return value.date().isoformat() if value.time() == dt.time() else value.isoformat(" ", "minutes")
        text = clean(str(value))
        return shortened(text, 60)


class Trouble(Struct, frozen=True):
    """Why a cell cannot be taken for what its column holds: code of the finding and what was read."""

    code: str
    read: str
    details: tuple[tuple[str, str], ...] = ()


EMPTY = Cell(CellKind.EMPTY)

_PLAIN_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_COMMA_NUMBER = re.compile(r"[+-]?[\d.' ]*,[\d' ]+|[+-]?\d[\d,' ]*(\.\d+)?")
_NUMBER_AND_MORE = re.compile(r"[+-]?\d[\d.,]*\s*[^\d\s.,].*", re.DOTALL)
_BLANKS = re.compile("[\x00-\x20\x7f-\xa0\u1680\u2000-\u200a\u202f\u205f\u3000]+")
"""Controls and blanks: the categories Cc and Zs."""
_CONTROLS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ufffe\uffff]")
"""Controls but tab and ends of lines, and what is no character."""
LONGEST_NAME = 100
"""Signs that an id may have; ours."""
LONGEST_TEXT = 32_767
"""Signs that a cell of a spreadsheet program holds; from memory, unchecked."""
_ISO_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_MAX_EXACT_DIGITS = 15


def clean(text: str) -> str:
    """Return text on one line without control characters and without blanks at its ends."""
    return _BLANKS.sub(" ", text).strip()


def shortened(text: str, longest: int) -> str:
    """Return a text cut to so many signs, the last of which then says so."""
    return text if len(text) <= longest else text[: longest - 1] + "…"


def number_text(value: float) -> str:
    """Return a number as a person types it: without a trailing .0 and without an exponent where possible."""
    return f"{value:.0f}" if value.is_integer() and abs(value) < 1e15 else repr(value)


def common_trouble(cell: Cell) -> Trouble | None:
    """Return the trouble of a cell that no column can take: an error or a formula never calculated."""
    if cell.kind is CellKind.ERROR:
        return Trouble("error-cell", cell.text)
    if cell.kind is CellKind.UNCALCULATED:
        return Trouble("formula-without-value", "")
    return None


def as_number(cell: Cell) -> float | Trouble | None:
    """Return the number in a cell, None where it is blank, or the trouble with it."""
    trouble = common_trouble(cell)
    if trouble is not None or cell.kind is CellKind.EMPTY:
        return trouble
    if isinstance(cell.value, float) and cell.kind is CellKind.NUMBER:
        return cell.value if math.isfinite(cell.value) else Trouble("number-beyond-reach", cell.text)
    if isinstance(cell.value, float) and cell.kind is CellKind.PER_CENT:
        return Trouble("per-cent-format", cell.text, (("shown", f"{100 * cell.value:.10g} %"),))
    if cell.kind is CellKind.BOOLEAN:
        return Trouble("yes-no-in-number", cell.text)
    if cell.kind in (CellKind.DATE, CellKind.TIME):
        return Trouble("date-in-number", cell.text)
    return Trouble(text_number_code(cell.text), cell.text)


def text_number_code(text: str) -> str:
    """Return the code of the finding for text that stands where a number is needed."""
    folded = clean(unicodedata.normalize("NFKC", text))
    if _PLAIN_NUMBER.fullmatch(folded):
        return "number-as-text"
    if "," in folded and _COMMA_NUMBER.fullmatch(folded):
        return "decimal-comma"
    if _NUMBER_AND_MORE.fullmatch(folded):
        return "stray-unit"
    return "text-in-number"


def as_identifier(cell: Cell) -> str | Trouble:
    """Return an id as text ("" where blank); a whole number stands for its digits."""
    trouble = common_trouble(cell)
    if trouble is not None:
        return trouble
    if cell.kind is CellKind.EMPTY:
        return ""
    if cell.kind is CellKind.TEXT:
        return _unfit_text(cell, LONGEST_NAME, seen=True) or clean(str(cell.value))
    if cell.kind in (CellKind.DATE, CellKind.TIME):
        return Trouble("identifier-as-date", cell.text)
    value = cell.value
    if isinstance(value, float) and value.is_integer() and abs(value) < 10**_MAX_EXACT_DIGITS:
        return f"{value:.0f}"
    return Trouble("identifier-unreadable", cell.text)


def as_text(cell: Cell) -> str | Trouble:
    """Return free text ("" where blank); numbers and dates are written out."""
    trouble = common_trouble(cell)
    if trouble is not None:
        return trouble
    if cell.kind is CellKind.TEXT:
        return _unfit_text(cell, LONGEST_TEXT) or clean(str(cell.value))
    return "" if cell.kind is CellKind.EMPTY else cell.text


def _unfit_text(cell: Cell, longest: int, *, seen: bool = False) -> Trouble | None:
    """Return the trouble of a text that is too long, or holds controls; where it must be ``seen``, anything unseen."""
    text = str(cell.value)
    if len(text) > longest:
        return Trouble("text-too-long", cell.text, (("length", f"{len(text)}"), ("most", f"{longest}")))
    unseen = dict.fromkeys(_CONTROLS.findall(text))
    if seen and not text.isascii():
        unseen |= dict.fromkeys(sign for sign in text if unicodedata.category(sign) in ("Cf", "Cs", "Co", "Cn"))
    if not unseen:
        return None
    signs = ", ".join(f"U+{ord(sign):04X}" for sign in list(unseen)[:5])
    return Trouble("unseen-signs", cell.text, (("signs", signs),))


def as_choice(cell: Cell, choices: tuple[str, ...]) -> str | Trouble | None:
    """Return the word of a closed list that stands in a cell, whatever its case; None where blank."""
    text = as_text(cell)
    if isinstance(text, Trouble):
        return text
    if not text:
        return None
    for choice in choices:
        if choice.casefold() == text.casefold():
            return choice
    return Trouble("word-not-in-list", text, (("choices", ", ".join(choices)),))


def as_date(cell: Cell) -> dt.date | Trouble | None:
    """Return a date; a text is taken only where it is written year-month-day."""
    trouble = common_trouble(cell)
    if trouble is not None or cell.kind is CellKind.EMPTY:
        return trouble
    if isinstance(cell.value, dt.datetime):
        return cell.value.date()
    text = clean(cell.text)
    if cell.kind is CellKind.TEXT and _ISO_DATE.fullmatch(text):
        try:
            return dt.date.fromisoformat(text)
        except ValueError:
            return Trouble("date-unreadable", text)
    return Trouble("date-unreadable", cell.text)


def as_time(cell: Cell) -> dt.time | Trouble | None:
    """Return a time of day; a text is taken where it is written hour:minute."""
    trouble = common_trouble(cell)
    if trouble is not None or cell.kind is CellKind.EMPTY:
        return trouble
    if isinstance(cell.value, dt.time):
        return cell.value
    if isinstance(cell.value, dt.datetime):
        return cell.value.time()
    if cell.kind is CellKind.TEXT:
        try:
            return dt.time.fromisoformat(clean(cell.text))
        except ValueError:
            pass
    return Trouble("date-unreadable", cell.text)


def decimals(value: float) -> int:
    """Return the decimals of a number as typed, up to six."""
    text = repr(round(value, 6))
    if "e" in text:
        return 6
    fraction = text.partition(".")[2]
    return 0 if fraction == "0" else len(fraction)
