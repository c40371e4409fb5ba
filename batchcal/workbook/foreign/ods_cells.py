"""One cell of an OpenDocument spreadsheet: from its attributes and its text to what stands in it."""

import datetime as dt
import math
import re
from collections.abc import Mapping

from batchcal.workbook.cells import EMPTY, Cell, CellKind

OFFICE = "urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
TABLE = "urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_CALC = "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}"

_ERROR_WORDS = re.compile(r"#(DIV/0!|N/A|NAME\?|NULL!|NUM!|REF!|VALUE!)|Err:\d{3}")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?|[+-]?INF|NaN")
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}(T\d{2}:\d{2}:\d{2}(\.\d{1,9})?)?")
_DURATION = re.compile(r"(-?)P(?:(\d{1,6})D)?(?:T(?:(\d{1,8})H)?(?:(\d{1,8})M)?(?:(\d{1,8})(\.\d{1,12})?S)?)?")
_FORMULA_PART = re.compile(r'"(?:[^"]|"")*"|\'(?:[^\']|\'\')*\'|\[([^\[\]]*)\]|[;|{}]')
_REFERENCE = re.compile(
    r"(?:\$?('(?:[^']|'')*'|[^'.#!:\[\]]*))?\.(\$?[A-Za-z]{1,3}\$?\d{1,7}|\$?[A-Za-z]{1,3}|\$?\d{1,7})"
)


class UnreadableCellError(ValueError):
    """The attributes of a cell contradict each other or hold what they cannot hold; the text says which."""


def read_cell(attributes: Mapping[str, str], text: str | None, *, struck: bool, per_cent: bool) -> Cell:
    """Return what stands in a cell; ``text`` is what is shown of it, None where it has no paragraph.

    Raises UnreadableCellError where its attributes cannot be right.
    """
    formula = attributes.get(f"{TABLE}formula")
    kind = attributes.get(f"{OFFICE}value-type")
    if formula is not None:
        formula = plain_formula(formula)
    shown = (text or "").strip()
    if attributes.get(f"{_CALC}value-type") == "error" or kind == "error" or _is_error(formula, shown):
        return Cell(CellKind.ERROR, shown or "#VALUE!", formula, struck)
    if kind in (None, "string"):
        return _text(attributes.get(f"{OFFICE}string-value") or text, formula, struck, calculated=kind is not None)
    cell_kind, value = _VALUES.get(kind, _unknown)(attributes)
    if cell_kind is CellKind.NUMBER and value in (0.0, 1.0) and shown.isalpha():
        # Written by LibreOffice for a yes or no whose format says nothing of it: the number 1 that is shown as TRUE.
        cell_kind, value = CellKind.BOOLEAN, value == 1.0
        formula = None if formula in ("=TRUE()", "=FALSE()") else formula
    if cell_kind is CellKind.NUMBER and per_cent:
        cell_kind = CellKind.PER_CENT
    return Cell(cell_kind, value, formula, struck)


def plain_formula(written: str) -> str:
    """Return a formula as spreadsheet programs show it: ``of:=SUM([.A2];[$Setup.$B$3])`` is =SUM(A2,Setup!$B$3)."""
    in_braces = False

    def plain(match: re.Match[str]) -> str:
        nonlocal in_braces
        part = match[0]
        if part in "{}":
            in_braces = part == "{"
        elif part == ";":
            return ","
        elif part == "|":
            return ";" if in_braces else "|"
        elif match[1] is not None:
            return ":".join(_reference(one) for one in _ends(match[1]))
        return part

    return "=" + _FORMULA_PART.sub(plain, written.partition("=")[2] if "=" in written else written)


def _ends(reference: str) -> list[str]:
    """Return the two ends of an area, or the one of a single cell; a colon within quotes parts nothing."""
    match = re.fullmatch(r"((?:'(?:[^']|'')*'|[^':])*):(.*)", reference)
    return [match[1], match[2]] if match else [reference]


def _reference(written: str) -> str:
    match = _REFERENCE.fullmatch(written)
    if match is None:
        return written
    return f"{match[1]}!{match[2]}" if match[1] else match[2]


def _is_error(formula: str | None, shown: str) -> bool:
    # Older programs store an error as the number 0 and show its word.
    return formula is not None and _ERROR_WORDS.fullmatch(shown) is not None


def _text(text: str | None, formula: str | None, struck: bool, *, calculated: bool) -> Cell:
    if text is not None and text.strip():
        return Cell(CellKind.TEXT, text, formula, struck)
    if formula is None:
        return EMPTY
    return Cell(CellKind.EMPTY if calculated or text is not None else CellKind.UNCALCULATED, None, formula, struck)


def _float(attributes: Mapping[str, str]) -> tuple[CellKind, object]:
    written = attributes.get(f"{OFFICE}value", "").strip()
    if not _NUMBER.fullmatch(written):
        raise UnreadableCellError(f"a number that reads {written[:40]!r}")
    return CellKind.NUMBER, math.inf if written.endswith("INF") else float(written)


def _percentage(attributes: Mapping[str, str]) -> tuple[CellKind, object]:
    return CellKind.PER_CENT, _float(attributes)[1]


def _boolean(attributes: Mapping[str, str]) -> tuple[CellKind, object]:
    written = attributes.get(f"{OFFICE}boolean-value", "").strip()
    if written not in ("true", "false", "1", "0"):
        raise UnreadableCellError(f"a yes or no that reads {written[:40]!r}")
    return CellKind.BOOLEAN, written in ("true", "1")


def _date(attributes: Mapping[str, str]) -> tuple[CellKind, object]:
    written = attributes.get(f"{OFFICE}date-value", "").strip()
    if _DATE.fullmatch(written):
        try:
            return CellKind.DATE, dt.datetime.fromisoformat(written)
        except ValueError:
            pass
    # Dates before the year 1 or after 9999, and those that no calendar has: kept as they are written.
    return CellKind.TEXT, written or "?"


def _time(attributes: Mapping[str, str]) -> tuple[CellKind, object]:
    written = attributes.get(f"{OFFICE}time-value", "").strip()
    match = _DURATION.fullmatch(written)
    if match is None:
        raise UnreadableCellError(f"a time that reads {written[:40]!r}")
    sign, days, hours, minutes, seconds, fraction = match.groups()
    length = dt.timedelta(
        days=int(days or 0),
        hours=int(hours or 0),
        minutes=int(minutes or 0),
        seconds=int(seconds or 0) + float(fraction or 0),
    )
    if sign or length >= dt.timedelta(days=1):
        return CellKind.TIME, -length if sign else length
    return CellKind.TIME, (dt.datetime.min + length).time()


def _unknown(attributes: Mapping[str, str]) -> tuple[CellKind, object]:
    raise UnreadableCellError(f"a content of the type {attributes[f'{OFFICE}value-type'][:40]!r}")


_VALUES = {
    "float": _float,
    "currency": _float,
    "percentage": _percentage,
    "boolean": _boolean,
    "date": _date,
    "time": _time,
}
