"""Names of firings in a sentence."""

from collections.abc import Sequence

MOST = 8
"""So many names are written out; the rest is counted."""


def listed(names: Sequence[str]) -> str:
    """Return names with commas and a last 'and'; of more than eight, the first ones and how many more there are."""
    shown = [*names] if len(names) <= MOST else [*names[:MOST], f"{len(names) - MOST} more"]
    return shown[0] if len(shown) == 1 else ", ".join(shown[:-1]) + " and " + shown[-1]


def firings(names: Sequence[str]) -> str:
    """Return "firing 7" or "firings 7, 8 and 9"."""
    return f"firing{'s' if len(names) > 1 else ''} {listed(names)}"
