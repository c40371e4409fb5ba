"""From what a part stores of a cell (its type, a text, the number of a format) to the cell."""

import datetime as dt
import re
from collections.abc import Callable, Mapping, Sequence
from functools import partial

from batchcal.workbook.cells import EMPTY, Cell, CellKind
from batchcal.workbook.grid import Content
from batchcal.workbook.xlsx.dates import Moment, from_number, from_text
from batchcal.workbook.xlsx.formats import Format
from batchcal.workbook.xlsx.number_formats import Form
from batchcal.workbook.xlsx.references import UnfitError
from batchcal.workbook.xlsx.strings import plain, unescaped

MAX_REPEATED_CHARACTERS = 100_000_000
"""Characters of long texts and of formulas that stand once and are repeated in cell after cell, all in all."""

_LONG = 100
_SHORT_FIGURE = 6
"""Figures as short as this come again and again; their cells are made once."""
_KEPT_CELLS = 100_000

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_BLANKS = " \t\r\n"
_TRUTH = {"1": True, "true": True, "0": False, "false": False}
_NOT_CALCULATED_DATE = "#VALUE!"
"""Stands for a number formatted as a date that no calendar reaches."""


class Look:
    """The cells of one format. ``numbers`` and ``texts`` hold those that were met, by what is stored."""

    __slots__ = ("form", "numbers", "struck", "texts", "words")

    def __init__(self, form: Form, struck: bool) -> None:
        self.form = form
        self.struck = struck
        self.numbers: dict[str, Cell] = {}
        self.texts: dict[str, Cell] = {}
        self.words: dict[str, Cell] = {}


class Kept(dict[str, Cell]):
    """The cells of one format and type by what is stored as it stands in the part, made when they are first asked for.

    Asking raises UnfitError where nothing is filled, or what is stored cannot be.
    """

    __slots__ = ("_make",)

    def __init__(self, make: Callable[[str], Cell | None]) -> None:
        super().__init__()
        self._make = make

    def __missing__(self, stored: str) -> Cell:
        """Return the cell, and keep it where it may come again."""
        cell = self._make(stored)
        if cell is None or cell is EMPTY:
            raise UnfitError("holds nothing")
        # A long text is asked for again and again, so that it is counted wherever it stands.
        if max(len(stored), len(str(cell.value))) <= _LONG and len(self) < _KEPT_CELLS:
            self[stored] = cell
        return cell


class Stored:
    """Makes the cells of one workbook. Cells that are the same are one object."""

    def __init__(self, strings: Sequence[str], formats: Sequence[Format], epoch: dt.datetime) -> None:
        self._strings = strings
        self._epoch = epoch
        self._repeated = 0
        self._kept: dict[tuple[str, Look], Kept] = {}
        made: dict[Format, Look] = {}
        self.looks: Mapping[str, Look] = {
            str(index): made.setdefault(format_, Look(*format_)) for index, format_ in enumerate(formats)
        }
        """The formats by their number, as it is written."""

    def look(self, number: str) -> Look:
        """Return a format by its number; UnfitError where there is none."""
        digits = number.strip(_BLANKS)
        look = self.looks.get(digits.lstrip("0") or "0") if digits.isascii() and digits.isdigit() else None
        if look is None:
            raise UnfitError(f"has the format {number[:20]!r}, which the workbook does not have")
        return look

    def maker(self, kind: str, look: Look) -> Callable[[str], Content]:
        """Return what makes a cell of this type and format of what is stored as it stands in the part."""
        if kind == "n" and look.form is Form.NUMBER and not look.struck:
            return float
        kept = self._kept.get((kind, look))
        if kept is None:
            kept = self._kept[kind, look] = Kept(partial(self._made, kind, look))
        return kept.__getitem__

    def _made(self, kind: str, look: Look, stored: str) -> Cell | None:
        if kind == "n":
            return self.number(stored, look)
        if kind == "s":
            return self.shared(stored, look)
        text = plain(stored)
        return self._worded(unescaped(text), look) if kind in ("str", "inlineStr") else self.other(kind, text, look)

    def number(self, text: str, look: Look) -> Cell | None:
        """Return the cell of a stored number, None where nothing is stored; UnfitError where it is no number."""
        if not text.strip(_BLANKS):
            return None
        if look.form is Form.NUMBER or look.form is Form.PER_CENT:
            kind = CellKind.NUMBER if look.form is Form.NUMBER else CellKind.PER_CENT
            cell = Cell(kind, _number(text), None, look.struck)
            if len(text) <= _SHORT_FIGURE:
                look.numbers[text] = cell
            return cell
        moment = from_number(_number(text), look.form, self._epoch)
        if moment is None:
            return Cell(CellKind.ERROR, _NOT_CALCULATED_DATE, None, look.struck)
        cell = _moment(moment, look)
        if len(look.numbers) < _KEPT_CELLS:
            look.numbers[text] = cell
        return cell

    def shared(self, text: str, look: Look) -> Cell | None:
        """Return the cell of a text by its number among the texts; UnfitError where there is none of that number."""
        digits = text.strip(_BLANKS)
        if not digits:
            return None
        if not (digits.isascii() and digits.isdigit() and len(digits) <= 9 and int(digits) < len(self._strings)):
            raise UnfitError(f"refers to the text {digits[:20]!r}; the workbook has {len(self._strings)} texts")
        value = self._strings[int(digits)]
        cell = Cell(CellKind.TEXT, value, None, look.struck) if value.strip() else EMPTY
        if len(value) <= _LONG:
            look.texts[text] = cell
        else:
            self.count(len(value))
        return cell

    def word(self, text: str, look: Look) -> Cell:
        """Return the cell of a text."""
        cell = look.words.get(text)
        if cell is None:
            cell = self._worded(text, look)
            if len(text) <= _LONG and len(look.words) < _KEPT_CELLS:
                look.words[text] = cell
        return cell

    def _worded(self, text: str, look: Look) -> Cell:
        return Cell(CellKind.TEXT, text, None, look.struck) if text.strip() else EMPTY

    def other(self, kind: str, text: str, look: Look) -> Cell | None:
        """Return the cell of any other type; None where nothing is stored, UnfitError where it cannot be."""
        if kind in ("str", "inlineStr"):
            return self.word(unescaped(text), look)
        if kind not in ("b", "e", "d"):
            raise UnfitError(f"is of the type {kind[:20]!r}, which is not known")
        bare = text.strip(_BLANKS)
        if not bare:
            return None
        if kind == "e":
            return Cell(CellKind.ERROR, text, None, look.struck)
        if kind == "d":
            return _moment(from_text(bare, look.form, self._epoch), look)
        if bare not in _TRUTH:
            raise UnfitError(f"holds {bare[:20]!r}, which is neither true nor false")
        return Cell(CellKind.BOOLEAN, _TRUTH[bare], None, look.struck)

    def count(self, characters: int) -> None:
        """Count what is repeated; UnfitError where it is more than any log needs."""
        self._repeated += characters
        if self._repeated > MAX_REPEATED_CHARACTERS:
            raise UnfitError("repeats long texts or formulas over and over, more than any log needs; refused")


def _number(text: str) -> float:
    try:
        # What the language takes beyond this, 1_000 and figures of other scripts, is no number here.
        number = float(text) if text.isascii() and "_" not in text else None
    except ValueError:
        number = None
    if number is None or (number - number != 0 and not _NUMBER.fullmatch(text.strip(_BLANKS))):
        raise UnfitError(f"holds {text[:40]!r}, which is no number")
    return number


def _moment(moment: Moment, look: Look) -> Cell:
    kind = CellKind.DATE if isinstance(moment, dt.datetime) else CellKind.TIME
    return Cell(kind, moment, None, look.struck)
