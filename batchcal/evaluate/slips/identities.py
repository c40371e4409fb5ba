"""Firings that may stand under the wrong sample number, and letters used twice."""

import itertools
from collections import Counter
from collections.abc import Iterator, Sequence

from batchcal.evaluate.agreement import passes
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.formulas import statistics

APART = 1.5
"""Limits by which two groups of firings are apart before they are taken for two samples; no source."""

FEWEST_OF_TWO = 4
"""Firings that may be two pairs under one number."""

NEAREST = 60
"""Single firings up to this number are compared with each other by sample number."""


def find(day: Day) -> Iterator[Slip]:
    """Yield letters used twice, samples of two groups, and firings that agree with a nearly equal sample number."""
    yield from _letters(day)
    limit = day.limit
    if limit is None or limit <= 0:
        return
    settled = {one.row.sample for one, _, _ in day.pairs} - {one.row.sample for one, _, _ in day.apart}
    others = [sample for sample in day.grouped if sample not in settled]
    strays = {sample: members for sample in others if (members := _stray(day, sample, limit))}
    if len(strays) <= NEAREST:
        yield from _nearly_alike(day, strays, limit)
    for sample in day.grouped:
        if len(day.counted(sample)) >= FEWEST_OF_TWO:
            yield from _two_groups(day, sample, limit)


def _letters(day: Day) -> Iterator[Slip]:
    for sample, members in day.grouped.items():
        letters: dict[str, list[Firing]] = {}
        for firing in members:
            if firing.row.replicate and not firing.left_out:
                letters.setdefault(firing.row.replicate.casefold(), []).append(firing)
        for twice in letters.values():
            if len(twice) > 1:
                row = twice[-1].row
                finding = row.place.finding(
                    "replicate-twice", "replicate", firing=row.firing, sample=sample, letter=row.replicate,
                    firings=" and ".join(firing.row.firing for firing in twice),
                )  # fmt: skip
                yield Slip(finding, tuple(twice), (sample,))


def _stray(day: Day, sample: str, limit: float) -> list[Firing]:
    """Return firings of a sample that have no pair that agrees with them: a single one, or one away from the others."""
    members = day.counted(sample)
    if len(members) == 1:
        return members
    if len(members) == 2:
        gap = day.gap(*members)
        return members if gap is None or not passes(gap, limit) else []
    alone = []
    for firing in members:
        gaps = [day.gap(firing, other) for other in members if other is not firing]
        if all(gap is None or not passes(gap, limit) for gap in gaps):
            alone.append(firing)
    return alone


def _nearly_alike(day: Day, strays: dict[str, list[Firing]], limit: float) -> Iterator[Slip]:
    """Yield two firings that complete each other under numbers that contradict the log as they stand.

    On a day half done many samples have been fired once, with numbers that follow each other, and with one fuel they
    agree as well. So one of the numbers must be unlisted, or the one sample have three firings and the other one;
    and no other number may fit.
    """
    fits: dict[tuple[str, str], list[tuple[Firing, Firing]]] = {}
    for sample, other in itertools.combinations(strays, 2):
        if not _one_character(sample, other):
            continue
        near = [(one, two) for one in strays[sample] for two in strays[other] if _agree(one, two, limit)]
        if near:
            fits[sample, other] = near
    times = Counter(name for pair in fits for name in pair)
    for (sample, other), near in fits.items():
        if len(near) == 1 and times[sample] == times[other] == 1 and _contradict(day, sample, other):
            one, two = near[0]
            finding = one.row.place.finding(
                "numbers-nearly-alike", "sample", firing=one.row.firing, sample=sample, sample2=other,
                other=two.row.firing, gap=f"{_gap_as_analysed(one, two):.0f}",
            )  # fmt: skip
            yield Slip(finding, (one, two), (sample, other))


def _contradict(day: Day, sample: str, other: str) -> bool:
    """Whether the log says that one of two samples is none: it is not listed, or it has what the other lacks."""
    listed = [name for name in (sample, other) if day.contents[name].row is not None]
    if day.batch.has("samples") and len(listed) == 1:
        return True
    return sorted(len(day.counted(name)) for name in (sample, other)) == [1, 3]


def _agree(one: Firing, other: Firing, limit: float) -> bool:
    gap = _gap_as_analysed(one, other)
    return gap is not None and passes(gap, limit)


def _gap_as_analysed(one: Firing, other: Firing) -> float | None:
    """Return how far apart two firings are as analysed: a wrong number has the wrong moisture, or none."""
    if one.gross_ad_J_per_g is None or other.gross_ad_J_per_g is None:
        return None
    return abs(one.gross_ad_J_per_g - other.gross_ad_J_per_g)


def _one_character(one: str, other: str) -> bool:
    """Whether two numbers differ by one character changed, added, left out, or by two neighbours exchanged."""
    one, other = one.casefold(), other.casefold()
    if abs(len(one) - len(other)) > 1 or one == other:
        return False
    start = next((i for i, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))
    if len(one) == len(other):
        if one[start + 1 :] == other[start + 1 :]:
            return True
        return one[start : start + 2] == other[start : start + 2][::-1] and one[start + 2 :] == other[start + 2 :]
    longer, shorter = (one, other) if len(one) > len(other) else (other, one)
    return longer[start + 1 :] == shorter[start:]


def _two_groups(day: Day, sample: str, limit: float) -> Iterator[Slip]:
    valued = [(value, firing) for firing in day.counted(sample) if (value := day.compared(firing)) is not None]
    if len(valued) < FEWEST_OF_TWO:
        return
    valued.sort(key=lambda entry: entry[0])
    steps = [(valued[i + 1][0] - valued[i][0], i + 1) for i in range(len(valued) - 1)]
    gap, cut = max(steps)
    low, high = valued[:cut], valued[cut:]
    tight = all(len(group) > 1 and passes(group[-1][0] - group[0][0], limit) for group in (low, high))
    if not tight or gap <= APART * limit:
        return
    row = high[0][1].row
    finding = row.place.finding(
        "two-groups", "sample", firing=row.firing, sample=sample, first=_names(low), second=_names(high),
        gap=f"{_middle(high) - _middle(low):.0f}",
    )  # fmt: skip
    yield Slip(finding, tuple(firing for _, firing in valued))


def _names(group: Sequence[tuple[float, Firing]]) -> str:
    ordered = sorted((firing for _, firing in group), key=lambda firing: firing.row.place.row)
    return " with ".join(firing.row.firing for firing in ordered)


def _middle(group: Sequence[tuple[float, Firing]]) -> float:
    return statistics.mean([value for value, _ in group])
