"""One file of check values, one row of it, and one value compared."""

from collections.abc import Callable, Iterator, Mapping

from msgspec import Struct

Row = Mapping[str, str]

_APART = 10.0
"""A wrong printed value must be missed by this many tolerances, so that it cannot pass for the right one."""


class Check(Struct, frozen=True):
    """One value of a case: expected with its tolerance, obtained, and the wrong value that a source prints."""

    quantity: str
    unit: str
    expected: float
    tolerance: float
    obtained: float
    printed_wrong: float | None = None

    @property
    def difference(self) -> float:
        """Obtained less expected."""
        return self.obtained - self.expected

    @property
    def passed(self) -> bool:
        """Whether the value lies within its tolerance, and far from a wrong value that the source prints."""
        if not abs(self.difference) <= self.tolerance:
            return False
        return self.printed_wrong is None or abs(self.obtained - self.printed_wrong) > _APART * self.tolerance


class Kind(Struct, frozen=True):
    """One file of check values: its name, a title, the formulas it asks, and how a row is run."""

    file: str
    title: str
    formulas: tuple[str, ...]
    run: Callable[[Row], Iterator[Check]]


def number(row: Row, name: str) -> float:
    """Return one figure of a row."""
    return float(row[name])


def numbers(row: Row, *names: str) -> dict[str, float]:
    """Return several figures of a row by their names."""
    return {name: float(row[name]) for name in names}


def series(row: Row, name: str) -> list[float]:
    """Return a list of figures, set apart by spaces."""
    return [float(word) for word in row[name].split()]


def check(row: Row, quantity: str, unit: str, obtained: float, expected: str = "expected") -> Check:
    """Return the value that a row of one tolerance expects, with what was obtained."""
    wrong = row.get("printed_wrong")
    return Check(
        quantity, unit, float(row[expected]), float(row["tolerance"]), obtained, float(wrong) if wrong else None
    )
