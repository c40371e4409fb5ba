"""Figures and places in words: every text on the page that is made from a number or an address is made here."""

import datetime as dt
import re
from collections.abc import Iterable, Sequence

from batchcal.findings import Finding
from batchcal.logged import Place
from batchcal.model import Quantity
from batchcal.runs import runs

NONE = "–"
"""Stands where nothing was computed."""

MINUS = "\N{MINUS SIGN}"
FIGURE_SPACE = "\N{FIGURE SPACE}"
PUNCTUATION_SPACE = "\N{PUNCTUATION SPACE}"


class Figure(str):
    """A figure as it is printed, which knows what was rounded to it.

    ``number`` is the unrounded number as a program reads it; ``full`` is the same for people, "" where nothing was
    rounded away, and holds every number where the text holds several.
    """

    __slots__ = ("full", "number")

    def __new__(cls, text: str, number: str = "", full: str = "") -> "Figure":
        """Return the text with what was rounded to it."""
        made = super().__new__(cls, text)
        made.number = number
        made.full = full
        return made

    number: str
    full: str


class Name(str):
    """A text that names something, such as a firing: it holds no figure, whatever its digits."""

    __slots__ = ()


def figure(text: str, value: float) -> Figure:
    """Return ``text`` as the printed figure of ``value``."""
    number = repr(float(value)).removesuffix(".0")
    same = text.strip(f"± +{FIGURE_SPACE}{PUNCTUATION_SPACE}").replace(MINUS, "-") == number
    return Figure(text, number, "" if same else number.replace("-", MINUS))


def several(text: str, figures: Sequence[str], between: str) -> Figure:
    """Return a text of several figures, unrounded with ``between`` standing between them."""
    rounded = any(getattr(one, "full", "") for one in figures)
    full = between.join(getattr(one, "full", "") or str(one) for one in figures)
    return Figure(text, getattr(figures[0], "number", ""), full if rounded else "")


def fixed(value: float | None, decimals: int, *, sign: bool = False) -> str:
    """Return ``value`` with this many decimals, with a true minus sign, and without a sign before a zero."""
    if value is None:
        return NONE
    text = f"{value:.{decimals}f}"
    negative = text.startswith("-")
    digits = text.removeprefix("-")
    if not any(digit in "123456789" for digit in digits):
        return figure(digits, value)
    return figure(MINUS + digits if negative else ("+" + digits if sign else digits), value)


def against(value: float, limit: float, decimals: int = 1) -> tuple[str, str]:
    """Return a value and its limit with as many decimals as it takes to show which is larger.

    ``decimals`` are enough for nearly every pair; 120.04 beside a limit of 120 is shown with two.
    """
    for places in range(decimals, decimals + 5):
        texts = fixed(value, places), fixed(limit, places)
        if texts[0] != texts[1] or value == limit:
            return texts
    return fixed(value, decimals), fixed(limit, decimals)


def plain(value: float) -> str:
    """Return a setting or constant with the digits it needs and no more."""
    if value == int(value) and abs(value) < 1e9:
        return fixed(value, 0)
    return figure(f"{value:.10g}".replace("-", MINUS), value)


def aligned(texts: Sequence[str]) -> list[str]:
    """Return ``texts`` padded on the right so that their decimal marks stand under one another when set right."""
    tails = [len(text.partition(".")[2]) if _is_number(text) else 0 for text in texts]
    longest = max(tails, default=0)
    if longest == 0:
        return list(texts)
    return [
        Figure(
            text + ("" if "." in text else PUNCTUATION_SPACE) + FIGURE_SPACE * (longest - tail),
            getattr(text, "number", ""),
            getattr(text, "full", ""),
        )
        if _is_number(text)
        else text
        for text, tail in zip(texts, tails, strict=True)
    ]


def _is_number(text: str) -> bool:
    return re.fullmatch(rf"[+{MINUS}-]?\d+(\.\d+)?", text) is not None


def place(where: Place) -> str:
    """Return a row's address, e.g. "Runs row 14"."""
    return f"{where.sheet} row {where.row}"


def at(quantity: Quantity | None) -> str:
    """Return in brackets the cell of Setup that a quantity comes from, or ""."""
    return "" if quantity is None or quantity.cell is None else f" ({quantity.cell})"


def rows(wheres: Iterable[Place]) -> tuple[str, ...]:
    """Return rows' addresses with those of one sheet gathered: "Runs rows 14 and 15"."""
    by_sheet: dict[str, list[int]] = {}
    for where in wheres:
        by_sheet.setdefault(where.sheet, []).append(where.row)
    return tuple(
        f"{sheet} {'row' if len(numbers) == 1 else 'rows'} {joined(_runs(numbers))}"
        for sheet, numbers in by_sheet.items()
    )


def _runs(numbers: Sequence[int]) -> list[str]:
    """Return numbers with three or more that follow one another gathered: "3 to 8"."""
    texts: list[str] = []
    for run in runs(numbers):
        texts += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else [str(number) for number in run]
    return texts


def joined(texts: Iterable[str], last: str = "and") -> str:
    """Return a list in words: "a", "a and b", "a, b and c"."""
    items = list(texts)
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} {last} {items[-1]}" if items else ""


def places(findings: Iterable[Finding]) -> tuple[str, ...]:
    """Return where findings stand, each place once, with the rows of one sheet gathered: "Runs H14, H15"."""
    by_sheet: dict[str, dict[str, None]] = {}
    for finding in findings:
        if finding.sheet is None:
            continue
        spot = finding.cell or ("" if finding.row is None else f"row {finding.row}")
        by_sheet.setdefault(finding.sheet, {})[spot] = None
    return tuple(f"{sheet} {', '.join(spot for spot in spots if spot)}".strip() for sheet, spots in by_sheet.items())


def counted(number: int, noun: str, plural: str = "") -> str:
    """Return a number with its noun, e.g. "1 firing", "2 firings"."""
    return f"{number} {noun if number == 1 else plural or noun + 's'}"


def date(day: dt.date | None) -> str:
    """Return a date as year-month-day, the one order that nobody misreads."""
    return NONE if day is None else day.isoformat()


def sentence(text: str) -> str:
    """Return ``text`` with a capital at its start and a full stop at its end."""
    text = text.strip()
    if not text:
        return ""
    text = text[0].upper() + text[1:]
    return text if text[-1] in ".?!" else text + "."


def unstopped(text: str) -> str:
    """Return ``text`` without the full stop at its end, to be followed by more."""
    return text.strip().removesuffix(".")
