"""The shape of a row as it is written: a pattern for all rows that differ from it only in numbers and texts."""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

from msgspec import Struct

from batchcal.workbook.cells import Cell, CellKind
from batchcal.workbook.grid import Content, Filled
from batchcal.workbook.xlsx.references import column_number
from batchcal.workbook.xlsx.stored import Stored
from batchcal.workbook.xlsx.strings import plain

_NUMBER = r"-?[0-9]{1,17}(?:\.[0-9]{1,25})?(?:[eE][-+]?[0-9]{1,2})?"
"""Numbers as programs write them; of these none is beyond what a float holds."""
_TEXT = "[^<>\x00-\x1f\ufffe\uffff]{1,32767}"
"""Texts without an element, a control or the end of a line, as long as a cell can hold."""
_INDEX = "[0-9]{1,9}"

_ROW = re.compile(r'<row r="[1-9][0-9]{0,6}"([^<>&]*)>')
_END = "</row>"
_CELL = re.compile(
    rf"""
    <c\ r="([A-Z]{{1,3}})[1-9][0-9]{{0,6}}"                              # its column
    ((?:\ s="([0-9]{{1,6}})")?(?:\ t="(n|s|str|inlineStr|b|e|d)")?)      # its format and type
    (?: \ ?/> | ></c>
      | > (?: (<f>) ({_TEXT}) </f> | (<f\ t="shared"\ si="({_INDEX})"\ ?(?:/>|></f>)) )?
          (?: (<v>) ({_TEXT}) </v> | (<is><t(?:\ xml:space="preserve")?>) ({_TEXT}) </t></is> ) </c>
    )
    """,
    re.VERBOSE,
)
_BY_TYPE = {"n": _NUMBER, "s": _INDEX}

_OWN = "own"

SharedText = Callable[[str, int, int], str]
"""Returns the text of a formula by its number in the cell of a row and column that shares it."""


class Written(Struct, frozen=True):
    """A row as it is written: the pattern of those like it, and of each filled cell column, type and format."""

    pattern: str
    cells: tuple[tuple[int, str, str, str], ...]
    """Column, type, format and formula of each: "" for none, "own", or the number of a shared one."""


def written(row: str) -> Written | None:
    """Return how a row is written that is no more than plain cells in their order, and None for any other.

    Only of a row that the parser has taken: what it looks like is then known to be sound.
    """
    head = _ROW.match(row)
    if head is None:
        return None
    pattern = ['<row r="([1-9][0-9]{0,6})"([^<>&]*)>']
    cells = []
    at = head.end()
    while (cell := _CELL.match(row, at)) is not None:
        at = cell.end()
        letters, tail, style, kind, own, _, shared, index, value, _, words, _ = cell.groups()
        pattern.append(f'<c r="{letters}\\1"{re.escape(tail)}')
        opening = value or words
        if opening is None:
            pattern.append(re.escape(row[cell.end(2) : at]))
            continue
        if (kind == "inlineStr") != (words is not None):
            return None
        kind = kind or "n"
        pattern.append(">")
        if own is not None:
            pattern.append(f"<f>({_TEXT})</f>")
        elif shared is not None:
            pattern.append(re.escape(shared))
        pattern.append(f"{re.escape(opening)}({_BY_TYPE.get(kind, _TEXT)}){'</v></c>' if value else '</t></is></c>'}")
        cells.append((column_number(letters), kind, style or "0", _OWN if own else index or ""))
    columns = [column for column, *_ in cells]
    return Written("".join((*pattern, _END)), tuple(cells)) if row[at:] == _END and columns == sorted(columns) else None


def row_tail(row: str) -> str:
    """Return what stands behind the number at the beginning of a row, and may stand so at any."""
    head = _ROW.match(row)
    tail = "" if head is None else head[1]
    return "" if tail.endswith("/") or "hidden" in tail or "xmlns" in tail else tail


class Shape:
    """Reads the rows that are written alike."""

    __slots__ = ("_cells", "_makers", "filled", "following", "match")

    def __init__(self, how: Written, stored: Stored) -> None:
        self.match = re.compile(how.pattern).match
        # Any: of a formula the text, of all others the content.
        self._makers: list[Callable[[str], Any]] = []
        marked = set()
        for column, kind, style, formula in how.cells:
            look = stored.look(style)
            if formula or look.struck:
                marked.add(column)
            if formula == _OWN:
                self._makers.append(_formula)
            self._makers.append(stored.maker(kind, look))
        with_formula = any(formula for *_, formula in how.cells)
        self._cells = how.cells if with_formula else ()
        self.filled = Filled(tuple(column for column, *_ in how.cells), frozenset(marked))
        self.following: Shape = self
        """The shape of the row that came after the last of this one."""

    def contents(self, stored: Iterable[str], row: int, shared: SharedText) -> Sequence[Content]:
        """Return the contents of a row; UnfitError where the parser must look at it.

        ``stored`` is what the pattern found in its cells, and ``shared`` returns the text of a shared formula.
        """
        made = [make(each) for make, each in zip(self._makers, stored, strict=True)]
        return tuple(self._with_formulas(iter(made), row, shared)) if self._cells else tuple(made)

    def _with_formulas(self, made: Iterator[Any], row: int, shared: SharedText) -> Iterator[Content]:
        for column, _, _, formula in self._cells:
            text = next(made) if formula == _OWN else shared(formula, row, column) if formula else None
            content = next(made)
            if text is None:
                yield content
            elif isinstance(content, float):
                yield Cell(CellKind.NUMBER, content, text)
            else:
                yield content._replace(formula=text)


def _formula(stored: str) -> str:
    return "=" + plain(stored).removeprefix("=")
