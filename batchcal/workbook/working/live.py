"""Formulas of a spreadsheet, each with the value that it has: one expression gives both, so they cannot part.

Only functions that every spreadsheet program has, and none that changes by itself.
"""

import math
import re
import statistics
from collections.abc import Callable, Sequence
from itertools import pairwise

from msgspec import Struct

from batchcal.workbook.working.figures import Column, Figure, each, is_zero, size
from batchcal.workbook.xlsx.references import quoted_name

_SUM, _PRODUCT, _ATOM = 1, 2, 3

_BEYOND_ROWS = 10_000_000
"""More than the rows of any sheet."""

_PLAIN_SHEET = re.compile(r"[A-Za-z_]{4,}")


class Live:
    """A formula without its sign of equality, and its value; ``rank`` says how strongly it holds together.

    Of rows that are written together the value is that of every row, and marks stand in the text where they differ.
    """

    __slots__ = ("rank", "text", "value")

    def __init__(self, text: str, value: Figure, rank: int = _ATOM) -> None:
        self.text = text
        self.value = value
        self.rank = rank

    @property
    def single(self) -> float:
        """The value of a formula that stands once; TypeError for one of many rows."""
        if isinstance(self.value, Column):
            raise TypeError(f"{self.text} has a value in every row")
        return self.value

    def __add__(self, other: "Live | float") -> "Live":
        """Return the sum."""
        right = live(other)
        if right.text == "0":
            return self
        text = f"{self.text}+({right.text})" if right.text.startswith("-") else f"{self.text}+{right.text}"
        return Live(text, self.value + right.value, _SUM)

    def __radd__(self, other: float) -> "Live":
        """Return the sum."""
        return live(other) + self

    def __sub__(self, other: "Live | float") -> "Live":
        """Return the difference."""
        right = live(other)
        if right.text == "0":
            return self
        return Live(f"{self.text}-{_within(right, _PRODUCT)}", self.value - right.value, _SUM)

    def __rsub__(self, other: float) -> "Live":
        """Return the difference."""
        return live(other) - self

    def __mul__(self, other: "Live | float") -> "Live":
        """Return the product."""
        right = live(other)
        return Live(f"{_within(self, _PRODUCT)}*{_within(right, _PRODUCT)}", self.value * right.value, _PRODUCT)

    def __rmul__(self, other: float) -> "Live":
        """Return the product."""
        return live(other) * self

    def __truediv__(self, other: "Live | float") -> "Live":
        """Return the quotient; ValueError where it has no value."""
        right = live(other)
        if is_zero(right.value):
            raise ValueError(f"{right.text} is 0 and divides")
        return Live(f"{_within(self, _PRODUCT)}/{_within(right, _ATOM)}", self.value / right.value, _PRODUCT)

    def __rtruediv__(self, other: float) -> "Live":
        """Return the quotient."""
        return live(other) / self

    def __neg__(self) -> "Live":
        """Return the same with the other sign."""
        return Live(f"-{_within(self, _ATOM)}", -self.value, _SUM)


NOTHING = Live("0", 0.0)
"""What is not there and counts as 0."""


class Span(Struct, frozen=True):
    """Cells one below another, and their values."""

    text: str
    values: Sequence[float]


class Spans(Struct, frozen=True):
    """As many cells one below another for every row that is written together with others, and the values of each."""

    text: str
    rows: Sequence[Sequence[float]]

    @property
    def length(self) -> int:
        """How many cells each has."""
        return len(self.rows[0])


def _found(function: Callable[[Sequence[float]], float], cells: Span | Spans) -> Figure:
    return Column(map(function, cells.rows)) if isinstance(cells, Spans) else function(cells.values)


def live(value: "Live | float") -> Live:
    """Return a number as it stands in a formula; a formula as it is."""
    if isinstance(value, Live):
        return value
    text = str(int(value)) if float(value).is_integer() and abs(value) < 1e15 else repr(value).upper()
    return Live(text, float(value))


def _within(part: Live, rank: int) -> str:
    return part.text if part.rank >= rank and not part.text.startswith("-") else f"({part.text})"


def quoted(sheet: str) -> str:
    """Return a sheet's name as it stands in a formula: in quotation marks, unless it is one plain word."""
    if _PLAIN_SHEET.fullmatch(sheet) and sheet.upper() not in ("TRUE", "FALSE"):
        return sheet
    return quoted_name(sheet)


def on_sheet(sheet: str, address: str) -> str:
    """Return the address of a cell of another sheet, as it stands in a formula."""
    return f"{quoted(sheet)}!{address}"


def fixed(address: str) -> str:
    """Return an address that stays as it is where a formula is copied: $C$12 of C12."""
    letters = address.rstrip("0123456789")
    return f"${letters}${address[len(letters) :]}"


def total(parts: Sequence[Live]) -> Live:
    """Return the sum of at least one part."""
    result = parts[0]
    for part in parts[1:]:
        result = result + part
    return result


def average(cells: Span | Spans) -> Live:
    """Return the mean."""
    return Live(f"AVERAGE({cells.text})", _found(statistics.fmean, cells))


def median(cells: Spans) -> Live:
    """Return the median."""
    return Live(f"MEDIAN({cells.text})", _found(statistics.median, cells))


def count(cells: Spans) -> Live:
    """Return the number of cells with a number."""
    return Live(f"COUNT({cells.text})", float(cells.length))


def spread(cells: Spans) -> Live:
    """Return the largest less the smallest."""
    return Live(f"MAX({cells.text})-MIN({cells.text})", _found(lambda values: max(values) - min(values), cells), _SUM)


def largest(cells: Spans) -> Live:
    """Return the largest."""
    return Live(f"MAX({cells.text})", _found(max, cells))


def not_negative(part: Live) -> Live:
    """Return a part, or 0 where it is below 0."""
    return Live(f"MAX(0,{part.text})", each(lambda value: max(0.0, value), part.value))


def standard_deviation(span: Span) -> Live:
    """Return the standard deviation of at least two values, with n - 1."""
    return Live(f"STDEV({span.text})", statistics.stdev(span.values))


def slope(y: Span, x: Span) -> Live:
    """Return the slope of the least-squares line."""
    return Live(f"SLOPE({y.text},{x.text})", statistics.linear_regression(x.values, y.values).slope)


def residual_deviation(y: Span, x: Span) -> Live:
    """Return the standard deviation of at least three points about their least-squares line, with n - 2."""
    line = statistics.linear_regression(x.values, y.values)
    squares = math.fsum(
        (value - line.intercept - line.slope * place) ** 2 for place, value in zip(x.values, y.values, strict=True)
    )
    return Live(f"STEYX({y.text},{x.text})", math.sqrt(squares / (len(x.values) - 2)))


def area(widths: tuple[Span, Span], heights: tuple[Span, Span]) -> Live:
    """Return twice the area by the trapezoidal rule: (later - earlier) times (low + high), added up."""
    (earlier, later), (low, high) = widths, heights
    value = math.fsum(
        (behind - before) * (one + other)
        for before, behind, one, other in zip(earlier.values, later.values, low.values, high.values, strict=True)
    )
    return Live(f"SUMPRODUCT({later.text}-{earlier.text},{low.text}+{high.text})", value)


def before_first(span: Span, limit: Live) -> Live:
    """Return how many values stand before the first that is not below a limit; one of them must not be."""
    number = next(n for n, value in enumerate(span.values) if value >= limit.single)
    first = span.text.partition(":")[0]
    text = f"SUMPRODUCT(MIN(ROW({span.text})+{_BEYOND_ROWS}*({span.text}<{limit.text})))-ROW({first})"
    return Live(text, float(number), _SUM)


def item(span: Span, number: Live) -> Live:
    """Return the value of that number, counted from 1."""
    return Live(f"INDEX({span.text},{number.text})", span.values[round(number.single) - 1])


def closest_gap(cells: Spans) -> Live:
    """Return how far the two of three or four values that lie closest together are apart."""
    texts = [f"{_ranked(cells, n + 1)}-{_ranked(cells, n)}" for n in range(1, cells.length)]
    return Live(f"MIN({','.join(texts)})", _found(_smallest_gap, cells))


def _smallest_gap(values: Sequence[float]) -> float:
    return min(high - low for low, high in pairwise(sorted(values)))


def closest_mean(cells: Spans) -> Live:
    """Return the mean of the two of three or four values that lie closest together, the lower pair of two alike."""
    smallest = closest_gap(cells).text
    text = ""
    for n in range(1, cells.length):
        low, high = _ranked(cells, n), _ranked(cells, n + 1)
        mean = f"({low}+{high})/2"
        text += f"IF({high}-{low}<={smallest},{mean}," if n < cells.length - 1 else mean + ")" * (n - 1)
    return Live(text, _found(_mean_of_closest, cells))


def _mean_of_closest(values: Sequence[float]) -> float:
    ordered = sorted(values)
    best = min(range(len(ordered) - 1), key=lambda n: ordered[n + 1] - ordered[n])
    return (ordered[best] + ordered[best + 1]) / 2


def _ranked(cells: Spans, number: int) -> str:
    return f"SMALL({cells.text},{number})"


def relative_difference(found: Live, stored: Live, scale: Live | None = None) -> Live:
    """Return how far a value is from the stored one, as a part of that; of ``scale`` where one is given."""
    apart = size(found.value - stored.value)
    if scale is not None:
        value = apart if is_zero(scale.value) else apart / size(scale.value)
        return Live(f"ABS({(found - stored).text})/{_within(scale, _ATOM)}", value, _PRODUCT)
    if is_zero(stored.value):
        return Live(f"ABS({(found - stored).text})", apart)
    return Live(f"ABS({(found - stored).text})/ABS({stored.text})", apart / size(stored.value), _PRODUCT)
