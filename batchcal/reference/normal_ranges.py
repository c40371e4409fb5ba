"""The range of n independent normal values, in standard deviations: a table beside this module."""

import tomllib
from functools import cache
from importlib import resources
from typing import NamedTuple


class NormalRange(NamedTuple):
    """The range of n normal values with standard deviation 1."""

    mean: float
    """Its expectation, the d2 of control charts."""
    sd: float
    """Its standard deviation, the d3 of control charts."""
    point_95: float
    """Exceeded with a probability of 5 %."""


def normal_range(n: int) -> NormalRange:
    """Return the range of n normal values; ValueError for a number of values that the table does not hold."""
    table = _table()
    if n not in table:
        raise ValueError(f"the range of normal values is on record for {min(table)} to {max(table)} values, not {n}")
    return table[n]


@cache
def _table() -> dict[int, NormalRange]:
    file = resources.files("batchcal.reference") / "normal_ranges.toml"
    data = tomllib.loads(file.read_text(encoding="utf-8"))
    rows = zip(data["n"], data["mean"], data["sd"], data["point_95"], strict=True)
    return {n: NormalRange(*row) for n, *row in rows}
