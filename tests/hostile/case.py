"""One file that is broken or means harm: its name, how its bytes are made, and what must come of it."""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Refused:
    """One clear line that has these words in it."""

    says: str


@dataclass(frozen=True)
class Reads:
    """A reading. ``codes`` are the findings that come to those of the untouched log; none are to be missing."""

    codes: frozenset[str] = frozenset()
    same: bool = False
    """Whether every cell must read as in the untouched log."""


@dataclass(frozen=True)
class Case:
    """``make`` gives the bytes of the file; ``ending`` is that of its name."""

    name: str
    make: Callable[[], bytes]
    outcome: Refused | Reads
    ending: str = ".xlsx"


SAME = Reads(same=True)


def finds(*codes: str) -> Reads:
    """Return the outcome of a file that is read with these findings more."""
    return Reads(frozenset(codes))
