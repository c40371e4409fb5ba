"""Two bombs that are used in turn all day, but for one firing."""

import datetime as dt
from collections.abc import Iterator, Sequence
from itertools import pairwise

from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips.day import Day, Slip

FEWEST = 8
"""Firings of a day on one calorimeter from which its two bombs are seen to be used in turn; no source."""


def find(day: Day) -> Iterator[Slip]:
    """Yield a firing that breaks the turn of two bombs on both sides, where nothing else of that day breaks it.

    Every logged row counts for the turn, misfires too; the turn may also be broken honestly, so it is for review.
    """
    turns: dict[tuple[str, str, dt.date | None], list[Firing]] = {}
    for firing in day.firings:
        if firing.row.bomb:
            key = (firing.row.place.sheet, firing.row.calorimeter, firing.date)
            turns.setdefault(key, []).append(firing)
    for members in turns.values():
        odd = _out_of_turn(members)
        if odd is not None:
            row = odd.row
            other = next(firing.row.bomb for firing in members if firing.row.bomb != row.bomb)
            finding = row.place.finding(
                "bomb-out-of-turn", "bomb", firing=row.firing, sample=row.sample, bomb=row.bomb, other=other,
            )  # fmt: skip
            yield Slip(finding, (odd,))


def _out_of_turn(members: Sequence[Firing]) -> Firing | None:
    if len(members) < FEWEST or len({firing.row.bomb for firing in members}) != 2:
        return None
    breaks = [place for place, (one, two) in enumerate(pairwise(members)) if one.row.bomb == two.row.bomb]
    # The firing between two breaks that follow one another is the one whose other bomb would mend both.
    return members[breaks[1]] if len(breaks) == 2 and breaks[1] == breaks[0] + 1 else None
