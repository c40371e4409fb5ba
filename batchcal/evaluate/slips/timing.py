"""Dates and times that cannot be, misfires in a row, and firing numbers that are missing."""

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise

from msgspec import Struct

from batchcal.evaluate import wording
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.order import in_firing_order
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.findings import Finding, Severity
from batchcal.model import Settings, apparatus_name
from batchcal.terms import FiringState, Outcome

SHORTEST_MIN = 15.0
"""Minutes between two firings of one bomb where Setup gives none; common practice, no source."""

MANY, FEWEST_MANY = 0.3, 3
"""Times of a bomb's day are no times of firing where this share and number are too close; no source."""

DAY = dt.timedelta(days=1)

NEAR = dt.timedelta(days=7)
"""How far from its only neighbour a date may lie to be in order with it; no source."""

CONSECUTIVE, FEWEST_NUMBERS, LONGEST_GAP = 0.8, 5, 10
"""Numbers run where this share of steps is 1; a step over more than ten numbers is another block; no source."""


class _Block(Struct, frozen=True):
    """Rows that follow each other with one date."""

    date: dt.date
    members: list[Firing]


def swapped_dates(firings: Sequence[Firing], settings: Settings) -> list[Finding]:
    """Stop the firings whose date is out of order and in order with day and month exchanged.

    Such a date is taken away from its firings, so that nothing is looked up by it.
    """
    found = []
    for members in _by_sheet(firings):
        for block, other in _swapped(members, settings.batch_date):
            concerned = [f for f in block.members if f.row.date is not None and f.state is not FiringState.EXCLUDED]
            if not concerned:
                continue
            row = concerned[0].row
            only = len(concerned) == 1
            finding = row.place.finding(
                "date-swapped", "date", firing=row.firing if only else None, sample=row.sample if only else None,
                read=block.date, other=other, firings=wording.firings([f.row.firing for f in concerned]),
            )  # fmt: skip
            found.append(finding)
            for firing in concerned:
                firing.stop(finding)
                firing.date = None
    return found


def _by_sheet(firings: Sequence[Firing]) -> list[list[Firing]]:
    sheets: dict[str, list[Firing]] = {}
    for firing in firings:
        sheets.setdefault(firing.row.place.sheet, []).append(firing)
    return list(sheets.values())


def _exchanged(date: dt.date) -> dt.date | None:
    """Return a date with day and month exchanged, None where there is none or it is the same."""
    if date.day > 12 or date.day == date.month:
        return None
    return dt.date(date.year, date.day, date.month)


def _swapped(members: Sequence[Firing], batch: dt.date | None) -> Iterator[tuple[_Block, dt.date]]:
    """Yield the blocks of rows that only the exchanged date puts in order, with that date."""
    dated = [(firing.date, firing) for firing in members if firing.date is not None]
    blocks = [_Block(date, [f for _, f in group]) for date, group in groupby(dated, key=lambda entry: entry[0])]
    rows = Counter(date for date, _ in dated)
    suspects = {}
    for index, block in enumerate(blocks):
        other = _exchanged(block.date)
        before = blocks[index - 1].date if index else None
        after = blocks[index + 1].date if index + 1 < len(blocks) else None
        if other is not None and _in_order(other, before, after, batch):
            of_batch = other == batch and rows[block.date] < rows[other]
            if of_batch or not _in_order(block.date, before, after, batch):
                suspects[index] = other
    for index, other in suspects.items():
        # Two neighbours that are each other's exchanged date: the one with fewer rows is the wrong one.
        rivals = [i for i in (index - 1, index + 1) if i in suspects and blocks[i].date == other]
        if all(rows[blocks[index].date] < rows[blocks[rival].date] for rival in rivals):
            yield blocks[index], other


def _in_order(date: dt.date, before: dt.date | None, after: dt.date | None, batch: dt.date | None) -> bool:
    """Whether a date lies between its neighbours and not after the batch; beside a single one, not far from it."""
    if before is None and after is None:
        return batch is None or abs(date - batch) <= DAY
    low = before if before is not None else (after or date) - NEAR
    high = after if after is not None else (before or date) + NEAR
    return low <= date <= high and (batch is None or date <= batch + DAY)


def find(day: Day) -> Iterator[Slip]:
    """Yield times and dates that cannot be, misfires in a row, and missing firing numbers."""
    yield from _late(day)
    yield from _times(day)
    yield from _misfires(day)
    for members in _by_sheet(day.firings):
        yield from _gaps(day, members)


def _late(day: Day) -> Iterator[Slip]:
    batch = day.settings.batch_date
    late: dict[tuple[str, dt.date], list[Firing]] = {}
    for firing in day.firings:
        if batch is not None and firing.date is not None and firing.date > batch + DAY:
            late.setdefault((firing.row.place.sheet, firing.date), []).append(firing)
    for (_, date), members in late.items():
        names = wording.firings([firing.row.firing for firing in members])
        verb = "is" if len(members) == 1 else "are"
        finding = members[0].row.place.finding(
            "date-after-batch", "date", firings=f"{names} {verb}", date=date, batch=batch
        )
        yield Slip(finding, tuple(members))


def _times(day: Day) -> Iterator[Slip]:
    given = day.settings.shortest_firing_interval
    limit = SHORTEST_MIN if given is None else given.value
    text = f"{limit:g} min" + (" (common practice, no source)" if given is None else "")
    groups: dict[tuple[tuple[str, str], dt.date], list[Firing]] = {}
    for firing in day.firings:
        if firing.date is not None and firing.row.time is not None:
            groups.setdefault((firing.apparatus, firing.date), []).append(firing)
    for (apparatus, date), members in groups.items():
        close = list(_close(members, limit))
        name = apparatus_name(*apparatus)
        if len(close) >= FEWEST_MANY and len(close) > MANY * len(members):
            finding = close[0][1].row.place.finding(
                "times-not-of-firings", "time", count=len(close), total=len(members), apparatus=name, date=date,
                limit=text,
            )  # fmt: skip
            yield Slip(finding)
            continue
        unordered = _unordered(members)
        for first, second, minutes in close:
            # The later one, unless only the earlier one stands out of order on its sheet.
            at, other = (second, first)
            if id(first) in unordered and id(second) not in unordered:
                at, other = first, second
            row, same = at.row, minutes == 0
            apart = "at the same minute as" if same else f"{minutes:.0f} min {'after' if at is second else 'before'}"
            finding = row.place.finding(
                "time-impossible", "time", firing=row.firing, sample=row.sample, time=f"{row.time:%H:%M}",
                apart=apart, other=other.row.firing, apparatus=name, limit=text,
                severity=None if same else Severity.REVIEW,
            )  # fmt: skip
            yield Slip(finding, tuple(f for f in (at, other) if f.state is not FiringState.EXCLUDED))


def _minute(firing: Firing) -> int:
    time = firing.row.time or dt.time()
    return 60 * time.hour + time.minute


def _close(members: Sequence[Firing], limit_min: float) -> Iterator[tuple[Firing, Firing, int]]:
    """Yield firings of one bomb and day that stand too close, in order of time; a misfire may be repeated at once."""
    for first, second in pairwise(sorted(members, key=_minute)):
        minutes = _minute(second) - _minute(first)
        burnt = first.row.outcome not in (Outcome.MISFIRE, Outcome.LEAK)
        if (minutes == 0 or (minutes < limit_min and burnt)) and first.row.firing != second.row.firing:
            yield first, second, minutes


def _unordered(members: Sequence[Firing]) -> set[int]:
    """Return the firings whose time does not lie between those of their neighbours on the sheet."""
    found = set()
    for index, firing in enumerate(members):
        before = _minute(members[index - 1]) if index else 0
        after = _minute(members[index + 1]) if index + 1 < len(members) else 24 * 60
        if before <= after and not before <= _minute(firing) <= after:
            found.add(id(firing))
    return found


def _misfires(day: Day) -> Iterator[Slip]:
    if not any(firing.row.outcome is Outcome.MISFIRE for firing in day.firings):
        return
    waiting = day.settings.waiting_after_misfire
    groups: dict[tuple[str, str], list[Firing]] = {}
    for firing in in_firing_order(day.firings):
        groups.setdefault(firing.apparatus, []).append(firing)
    for apparatus, members in groups.items():
        name = apparatus_name(*apparatus)
        for misfired, group in groupby(members, key=lambda firing: firing.row.outcome is Outcome.MISFIRE):
            row_of = list(group)
            if misfired and len(row_of) > 1:
                row = row_of[-1].row
                names = wording.listed([firing.row.firing for firing in row_of])
                yield Slip(
                    row.place.finding(
                        "misfire-run", "outcome", firing=row.firing, apparatus=name, count=len(row_of), firings=names
                    )
                )
        for first, second in pairwise(members):
            if waiting is None or first.row.outcome is not Outcome.MISFIRE or first.date != second.date:
                continue
            if first.date is None or first.row.time is None or second.row.time is None:
                continue
            minutes = _minute(second) - _minute(first)
            if 0 <= minutes < waiting.value:
                row = second.row
                finding = row.place.finding(
                    "misfire-followed-fast", "time", firing=row.firing, sample=row.sample, minutes=minutes,
                    other=first.row.firing, apparatus=name, limit=f"{waiting.value:g}",
                )  # fmt: skip
                yield Slip(finding, (second,))


def _gaps(day: Day, members: Sequence[Firing]) -> Iterator[Slip]:
    """Yield the numbers missing on a sheet whose firing numbers otherwise run on and can all be read."""
    if any("firing" in firing.row.unreadable for firing in members):
        return
    rows = {int(f.row.firing): f for f in members if f.row.firing.isascii() and f.row.firing.isdigit()}
    numbers = sorted(rows)
    steps = [after - before for before, after in pairwise(numbers)]
    if len(numbers) < FEWEST_NUMBERS or steps.count(1) < CONSECUTIVE * len(steps):
        return
    if max(steps) == 1:
        return
    known = {firing.row.firing for firing in day.firings}
    missing: list[str] = []
    first = None
    for before, after in pairwise(numbers):
        if not 1 < after - before <= LONGEST_GAP:
            continue
        absent = [n for n in range(before + 1, after) if str(n) not in known]
        if absent:
            first = first or rows[after]
            missing.append(str(absent[0]) if len(absent) == 1 else f"{absent[0]} to {absent[-1]}")
    if first is not None:
        verb = "is" if len(missing) == 1 and " to " not in missing[0] else "are"
        yield Slip(first.row.place.finding("firing-number-gap", "firing", missing=f"{wording.listed(missing)} {verb}"))
