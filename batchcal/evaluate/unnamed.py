"""Calibration firings without a Series: whether they can be one series, as a blank there says."""

import datetime as dt
from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct, field

from batchcal.evaluate import wording
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.order import in_firing_order
from batchcal.findings import Finding
from batchcal.model import apparatus_name
from batchcal.terms import Purpose

LONGEST_PAUSE = dt.timedelta(days=14)
"""Firings of one series are not further apart than this; common practice, no source."""

_ON_IT = (Purpose.CHECK, Purpose.AID, Purpose.SAMPLE)
"""Purposes that rest on a heat capacity: who fires them holds the series before for finished."""


class Group(Struct):
    """Calibration firings that may be one series, and how many others stand between them and those before."""

    members: list[Firing] = field(default_factory=list)
    after: int = 0


def groups(used: Sequence[Firing], firings: Sequence[Firing], enough: float) -> list[Group]:
    """Return the used calibration firings of one apparatus, all dated, in as many groups as there seem to be series.

    A new one begins after more than 14 days, and on a later day than a firing between that rests on a heat capacity,
    once the firings before are ``enough`` for a series: one spread over days has samples of the older one between.
    ``firings`` are those of the workbook.
    """
    apparatus = {firing.apparatus for firing in used}
    dates = [firing.date for firing in used if firing.date is not None]
    first, end = min(dates, default=dt.date.max), max(dates, default=dt.date.min)
    between = [
        firing
        for firing in firings
        if firing.date is not None
        and first <= firing.date <= end
        and firing.apparatus in apparatus
        and firing.purpose in _ON_IT
        and not firing.left_out
    ]
    own = {id(firing) for firing in used}
    made: list[Group] = []
    last: dt.date | None = None
    waiting: list[Firing] = []
    for firing in in_firing_order([*used, *between]):
        if id(firing) not in own:
            waiting.append(firing)
            continue
        new = last is not None and firing.date is not None and firing.date - last > LONGEST_PAUSE
        finished = bool(made) and len(made[-1].members) >= enough
        if not made or new or (finished and any(other.date != firing.date for other in waiting)):
            made.append(Group(after=len(waiting) if made else 0))
        made[-1].members.append(firing)
        waiting, last = [], firing.date
    return made


def finding(apparatus: tuple[str, str], made: Sequence[Group]) -> Finding:
    """Return the finding that these groups cannot be one series; it names their rows and what lies between them."""
    first = made[0].members[0].row
    texts = [_text(made[0])]
    for before, group in pairwise(made):
        texts.append(f"{_later(before.members[-1], group)}: {_text(group)}")
    shown = texts if len(texts) <= wording.MOST else [*texts[: wording.MOST], f"{len(texts) - wording.MOST} more"]
    return first.place.finding(
        "series-not-named", "series", apparatus=apparatus_name(*apparatus), groups="; ".join(shown)
    )


def _later(before: Firing, group: Group) -> str:
    """Return how long after the firing before it a group begins, and how many others stand between."""
    first = group.members[0].date
    days = (first - before.date).days if first is not None and before.date is not None else 0
    text = f"{days} day{'' if days == 1 else 's'} later"
    if group.after:
        text += f", with {group.after} sample or check firing{'' if group.after == 1 else 's'} between"
    return text


def _text(group: Group) -> str:
    names = wording.firings([firing.row.firing for firing in group.members])
    rows = wording.rows([firing.row.place.row for firing in group.members])
    days = list(dict.fromkeys(str(firing.date) for firing in group.members))
    return f"{names} ({rows}, {days[0]}{f' to {days[-1]}' if len(days) > 1 else ''})"
