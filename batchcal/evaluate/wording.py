"""Names of firings in a sentence."""

from collections.abc import Sequence

from batchcal.runs import runs

MOST = 8
"""So many names are written out; the rest is counted."""

LATEST = 3
"""Of a habit the latest so many are named."""

LONGEST = 1e9
"""A figure from this on is written with three digits and its power of ten."""

FINEST = 6
"""Decimals beyond the usual ones that are tried to tell two figures apart."""


def listed(names: Sequence[str]) -> str:
    """Return names with commas and a last 'and'; of more than eight, the first ones and how many more there are."""
    shown = [*names] if len(names) <= MOST else [*names[:MOST], f"{len(names) - MOST} more"]
    return shown[0] if len(shown) == 1 else ", ".join(shown[:-1]) + " and " + shown[-1]


def firings(names: Sequence[str]) -> str:
    """Return "firing 7" or "firings 7, 8 and 9"."""
    return f"firing{'s' if len(names) > 1 else ''} {listed(names)}"


def rows(numbers: Sequence[int]) -> str:
    """Return "row 7" or "rows 2 to 6 and 9": rows that follow one another are gathered."""
    gathered = runs(sorted(set(numbers)))
    names = [str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in gathered]
    return f"row{'s' if len(set(numbers)) > 1 else ''} {listed(names)}"


def habit(names: Sequence[str], noun: str = "firing") -> str:
    """Return "firing 7", "firings 7 and 8", or of more than eight "40 firings, the latest 38, 39 and 40"."""
    nouns = f"{noun}{'s' if len(names) > 1 else ''}"
    if len(names) <= MOST:
        return f"{nouns} {listed(names)}"
    return f"{len(names)} {nouns}, the latest {listed(names[-LATEST:])}"


def span(values: Sequence[float], form: str) -> str:
    """Return the least and the greatest of some values as "5" or "5 to 7", in a format such as ".0f"."""
    low, high = format(min(values), form), format(max(values), form)
    return low if low == high else f"{low} to {high}"


def whole(value: float) -> str:
    """Return a figure without decimals; one of more digits than a slip of the unit explains, by its power of ten."""
    return f"{value:.0f}" if abs(value) < LONGEST else f"{value:.3g}"


def apart(value: float, limit: float, decimals: int = 1) -> tuple[str, str, str]:
    """Return a value, its limit and how far apart they are, with as many decimals as it takes to tell them apart."""
    for places in range(decimals, decimals + FINEST):
        form = f".{places}f"
        one, other = format(value, form), format(limit, form)
        if one != other:
            return one, other, format(abs(value - limit), form)
    return f"{value:.{decimals}f}", f"{limit:.{decimals}f}", f"{0:.{decimals}f}"
