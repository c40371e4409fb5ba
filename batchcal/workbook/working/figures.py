"""Figures of many rows that are worked out in the same way: they are added and divided as one figure is."""

import operator
from collections.abc import Callable, Hashable, Iterable, Sequence
from itertools import repeat


class PartedError(Exception):
    """Rows that were taken together do not go the same way; ``answers`` says of each which way it goes.

    Never seen outside: whoever puts rows together catches it and takes them by their answers, see ``alike``.
    """

    def __init__(self, answers: Sequence[Hashable]) -> None:
        super().__init__("rows do not go the same way")
        self.answers = answers


class Column:
    """One figure of every row."""

    __slots__ = ("values",)

    def __init__(self, values: Iterable[float]) -> None:
        self.values = list(values)

    def __add__(self, other: "Figure") -> "Column":
        """Return the sums."""
        return Column(map(operator.add, self.values, _of(other)))

    def __radd__(self, other: float) -> "Column":
        """Return the sums."""
        return Column(map(operator.add, repeat(other), self.values))

    def __sub__(self, other: "Figure") -> "Column":
        """Return the differences."""
        return Column(map(operator.sub, self.values, _of(other)))

    def __rsub__(self, other: float) -> "Column":
        """Return the differences."""
        return Column(map(operator.sub, repeat(other), self.values))

    def __mul__(self, other: "Figure") -> "Column":
        """Return the products."""
        return Column(map(operator.mul, self.values, _of(other)))

    def __rmul__(self, other: float) -> "Column":
        """Return the products."""
        return Column(map(operator.mul, repeat(other), self.values))

    def __truediv__(self, other: "Figure") -> "Column":
        """Return the quotients."""
        return Column(map(operator.truediv, self.values, _of(other)))

    def __rtruediv__(self, other: float) -> "Column":
        """Return the quotients."""
        return Column(map(operator.truediv, repeat(other), self.values))

    def __neg__(self) -> "Column":
        """Return them with the other sign."""
        return Column(map(operator.neg, self.values))


Figure = float | Column
"""One figure, or one of every row."""


def _of(figure: Figure) -> Iterable[float]:
    return figure.values if isinstance(figure, Column) else repeat(figure)


def each(function: Callable[[float], float], figure: Figure) -> Figure:
    """Return what a function makes of a figure."""
    return Column(map(function, figure.values)) if isinstance(figure, Column) else function(figure)


def size(figure: Figure) -> Figure:
    """Return a figure without its sign."""
    return each(abs, figure)


def is_zero(figure: Figure) -> bool:
    """Whether a figure is 0; rows of which some are 0 and some are not are parted."""
    return _alike(lambda value: value == 0, figure)


def reaches(figure: Figure, limit: float) -> bool:
    """Whether a figure is a limit or above; rows that differ in that are parted."""
    return _alike(lambda value: value >= limit, figure)


def _alike(question: Callable[[float], bool], figure: Figure) -> bool:
    if not isinstance(figure, Column):
        return question(figure)
    answers = list(map(question, figure.values))
    if 0 < answers.count(True) < len(answers):
        raise PartedError(answers)
    return answers[0]


def highest(figure: Figure) -> float:
    """Return the highest of all rows."""
    return max(figure.values) if isinstance(figure, Column) else figure
