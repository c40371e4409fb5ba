"""Firings that share more figures than honest ones do by chance, and starts copied from the firing before."""

import math
from collections import Counter
from collections.abc import Hashable, Iterable, Iterator, Sequence, Set
from functools import partial
from itertools import combinations, pairwise

from msgspec import Struct

from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips.coincidence import (
    BESIDE,
    FEWEST,
    FIELDS,
    USUAL,
    Figures,
    Scatter,
    Steps,
    chance,
    step_of,
)
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.evaluate.wording import listed
from batchcal.findings import Severity
from batchcal.terms import FiringState

EXPECTED = 0.01 / 3
"""A pair is spoken of where fewer like it are expected by chance among those of its kind, of which there are three."""

CERTAIN = 3
"""A pair that shares so many figures is no measure of what honest firings share."""

OFTEN = 0.01
"""A start that equals a temperature of the firing before as often as this says nothing: it is set, or read coarsely."""

NEIGHBOURS = 12
"""Pairs of firings that stand at most so far from each other are enough to know the scatter by."""

ENOUGH = 20_000
"""So many pairs are enough as well: of a long log nearer neighbours are taken, and of a longer one not every group."""

_NAMES = tuple(FIELDS)

Pair = tuple[int, int]


class _Alike(Struct, frozen=True):
    """Two firings, by their place in the log, and the names of the figures that they share."""

    pair: Pair
    shared: tuple[str, ...]


def find(day: Day) -> Iterator[Slip]:
    """Yield firings of one day, or of one sample, that share two or more of mass, start, end, rise and titre.

    Spoken of is only what chance hardly does: with the scatter and the steps of this log fewer than one such pair is
    expected in a hundred logs like it. Two figures shared by firings of different samples are for review only.
    """
    firings = [Figures.of(firing) for firing in day.firings if firing.counts]
    alike = _alike(firings)
    scatters = _scatters(day, firings, {one.pair for one in alike if len(one.shared) >= CERTAIN}) if alike else {}
    for one in alike:
        earlier, later = (firings[index] for index in one.pair)
        beside = tuple(name for name in BESIDE if earlier.figure(name) == later.figure(name) is not None)
        counted = len(one.shared) < CERTAIN
        if scatters[_kind(earlier, later)].expected(one.shared, beside, counted=counted) < EXPECTED:
            yield _slip(later.firing, earlier.firing, [FIELDS[name] for name in one.shared])
    yield from _starts(day)


def _dates(firings: Sequence[Figures]) -> list[Hashable]:
    return [one.firing.date for one in firings]


def _samples(firings: Sequence[Figures]) -> list[Hashable]:
    """Return the sample of each firing, and the date of those of benzoic acid."""
    return [one.sample or (one.firing.date,) for one in firings]


def _grouped(members: Iterable[int], by: Sequence[Hashable]) -> list[list[int]]:
    """Return the places of the firings that have something in common."""
    groups: dict[Hashable, list[int]] = {}
    for index in members:
        groups.setdefault(by[index], []).append(index)
    return list(groups.values())


def _alike(firings: Sequence[Figures]) -> list[_Alike]:
    """Return the pairs that share at least two of the figures, each once, in the order of the log."""
    shared: dict[Pair, set[str]] = {}
    for by in (_dates(firings), _samples(firings)):
        for members in _grouped(_repeating(firings, by), by):
            for places in combinations(range(len(FIELDS)), 2):
                same: dict[tuple[float | None, ...], list[int]] = {}
                for index in members:
                    values = tuple(firings[index].logged[place] for place in places)
                    if None not in values:
                        same.setdefault(values, []).append(index)
                names = {_NAMES[place] for place in places}
                for group in same.values():
                    for pair in pairwise(group):
                        shared.setdefault(pair, set()).update(names)
    return [_Alike(pair, tuple(name for name in FIELDS if name in names)) for pair, names in sorted(shared.items())]


def _repeating(firings: Sequence[Figures], by: Sequence[Hashable]) -> list[int]:
    """Return the places of the firings of which two figures or more stand at another firing of their group as well."""
    times = [0] * len(firings)
    for figures in zip(*(one.logged for one in firings), strict=True):
        first: dict[tuple[Hashable, float | None], int] = {}
        twice: set[int] = set()
        if figures.count(None) == len(figures):
            continue
        for index, figure in enumerate(zip(by, figures, strict=True)):
            if figure[1] is not None and (before := first.setdefault(figure, index)) != index:
                twice.update((before, index))
        for index in twice:
            times[index] += 1
    return [index for index, count in enumerate(times) if count > 1]


def _kind(one: Figures, other: Figures) -> str:
    if one.sample != other.sample:
        return "different"
    return "benzoic acid" if one.sample is None else "sample"


def _scatters(day: Day, firings: Sequence[Figures], without: Set[Pair]) -> dict[str, Scatter]:
    """Return the scatter of each kind of pair, without pairs that are copies in any case."""
    given = day.settings.reading_resolution
    steps = Steps(firings, None if given is None else given.value)
    samples = [one.sample for one in firings]
    of_dates = _grouped(range(len(firings)), _dates(firings))
    of_samples = _grouped(range(len(firings)), _samples(firings))
    mixed = 0
    for members in of_dates:
        counts = Counter([samples[index] for index in members]).values()
        mixed += math.comb(len(members), 2) - sum(math.comb(count, 2) for count in counts)
    different = Scatter(steps, partial(_near, samples, of_dates, without, different=True), mixed)
    scatters = {"different": different}
    for kind, benzoic in (("sample", False), ("benzoic acid", True)):
        groups = [members for members in of_samples if (not samples[members[0]]) is benzoic]
        pairs = sum(math.comb(len(members), 2) for members in groups)
        scatters[kind] = Scatter(steps, partial(_near, samples, groups, without, different=False), pairs, different)
    return scatters


def _near(
    samples: Sequence[str | None], groups: Sequence[Sequence[int]], without: Set[Pair], *, different: bool
) -> Iterator[Pair]:
    """Yield the pairs of each group that do not stand too far from each other, of one sample or of two."""
    neighbours = max(1, min(NEIGHBOURS, ENOUGH // len(samples)))
    for members in groups[:: max(1, len(samples) // ENOUGH)]:
        for at, index in enumerate(members):
            sample = samples[index]
            for other in members[at + 1 : at + 1 + neighbours]:
                if (samples[other] != sample) is different and (index, other) not in without:
                    yield index, other


def _slip(later: Firing, earlier: Firing, shared: Sequence[str]) -> Slip:
    row, other = later.row, earlier.row
    finding = row.place.finding(
        "rows-alike", "rise_K" if "rise" in shared else "initial_C" if "start" in shared else "mass_g",
        firing=row.firing, sample=row.sample, other=other.firing, place=f"{other.place.sheet} row {other.place.row}",
        shared=listed(shared),
        severity=None if len(shared) >= CERTAIN or row.sample == other.sample else Severity.REVIEW,
    )  # fmt: skip
    return Slip(finding, (later, earlier))


class Starts(Struct, frozen=True):
    """Which temperatures of the firing before it a start can be a copy of: those that it hardly ever equals."""

    telling: frozenset[str]

    def of(self, firing: Firing, before: Firing | None) -> Iterator[Slip]:
        """Yield a finding where a firing starts at the start or end of the one before it on the sheet."""
        row, start = firing.row, firing.row.initial_C
        if before is None or start is None:
            return
        for name, which in (("final_C", "end"), ("initial_C", "start")):
            if getattr(before.row, name) == start and name in self.telling:
                finding = row.place.finding(
                    "start-copied", "initial_C", firing=row.firing, sample=row.sample, read=f"{start:g}", which=which,
                    other=before.row.firing,
                )  # fmt: skip
                yield Slip(finding, (firing,))
                return


def starts_of(day: Day) -> Starts:
    """Return which starts tell something on this day: not where the water is brought to one temperature each time."""
    followed = list(_followed(day))
    step = step_of(firing.row.initial_C for _, firing in followed if firing.row.initial_C is not None)
    telling = set()
    for name in ("initial_C", "final_C"):
        apart = sorted(
            abs(firing.row.initial_C - temperature)
            for before, firing in followed
            if firing.row.initial_C is not None and (temperature := getattr(before.row, name)) is not None
        )
        if len(apart) <= FEWEST or step is None or chance(apart, step, USUAL[name][1], without=1) < OFTEN:
            telling.add(name)
    return Starts(frozenset(telling))


def _followed(day: Day) -> Iterator[tuple[Firing, Firing]]:
    """Yield each firing with a start after the one before it on its sheet."""
    for before, firing in pairwise(day.firings):
        if before.row.place.sheet == firing.row.place.sheet and firing.row.initial_C is not None:
            yield before, firing


def _starts(day: Day) -> Iterator[Slip]:
    """Yield firings that start at the very temperature at which the one before ended, or whose rise came to nothing.

    The water is changed between firings and starts some kelvin lower. That two starts are equal is normal where
    the firings are otherwise as they should be; ``pairs`` says so of those that disagree.
    """
    doubtful = [
        (before, firing)
        for before, firing in _followed(day)
        if firing.row.initial_C == before.row.final_C or firing.state is FiringState.NOT_COMPUTED
    ]
    if doubtful:
        starts = starts_of(day)
        for before, firing in doubtful:
            yield from starts.of(firing, before)
