"""How likely two honest firings have a figure in common, from the scatter and the steps of the log itself.

Two readings are equal by chance about as often as they are a step or two apart. The rate is taken from the pairs of
the log that can be compared with the one in question: firings of one sample, firings of benzoic acid, firings of
different samples. On a coarse bench, or with one fuel, that is often; where masses and rises scatter, hardly ever.
"""

import math
from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence

from msgspec import Struct

from batchcal.evaluate.charge import logged_mass
from batchcal.evaluate.firings import Firing
from batchcal.terms import Purpose

FIELDS = {"mass": "mass", "initial_C": "start", "final_C": "end", "rise_K": "rise", "titre": "titre"}
"""What is compared, with its name in words."""

BESIDE = {"wire_left_cm": "wire left", "wire_mass_g": "wire", "thread_g": "thread"}
"""What goes with a copied row as well, where two of the others are shared already."""

ALL = (*FIELDS, *BESIDE)
"""Names of everything that is compared."""

_PLACES = {name: place for place, name in enumerate(FIELDS)}

_TEMPERATURES = ("initial_C", "final_C", "rise_K")

RISE, RISE_BY_MASS = "end by start", "rise by mass"
"""Names of the difference of two rises, and of what is left of it beside the difference of the masses."""

DIGITS = 5
"""Decimals that are compared: the binary dust of a difference would hide that two figures are equal."""

FEWEST = 5
"""With fewer pairs to compare with, what is usual on a bench is taken."""

NEAREST, SHARE = 10, 0.1
"""The rate is taken from so many of the nearest pairs, but from half of few and from this share of many; no source."""

COMMON = 0.1
"""A figure that this share of pairs has in common tells nothing: a set start, a coarse step; no source."""

FEW_VALUES = 10
"""A step of 2 or 5 of the last digit is seen in so many values."""

USUAL = {
    "mass": (1e-4, 0.03), "initial_C": (1e-3, 0.2), "final_C": (1e-3, 0.2), "rise_K": (1e-3, 0.06), RISE: (1e-3, 0.06),
    RISE_BY_MASS: (1e-3, 0.004), "titre": (0.01, 1.0), "wire_left_cm": (0.1, 0.5), "wire_mass_g": (1e-4, 5e-4),
    "thread_g": (1e-4, 2e-4),
}  # fmt: skip
"""Step, and how far apart half of all pairs of one sample lie, in g, K, mL and cm; common practice, no source."""


class Figures(Struct, frozen=True):
    """A firing with its figures as logged, in the order of ``FIELDS``; None where there is none."""

    firing: Firing
    logged: tuple[float | None, ...]
    mass_g: float | None
    rise_K: float | None

    @classmethod
    def of(cls, firing: Firing) -> "Figures":
        """Return the figures of a firing."""
        row = firing.row
        start, end, mass, titration = row.initial_C, row.final_C, logged_mass(row), firing.titration
        typed = rise = row.rise_K
        if start is not None and end is not None:
            typed, rise = None, end - start  # a rise that was typed as well follows from the two temperatures
        titre = None if titration is None else titration.titre_read_mL
        logged = tuple([None if one is None else round(one, DIGITS) for one in (mass, start, end, typed, titre)])
        return cls(firing, logged, mass, rise)

    @property
    def sample(self) -> str | None:
        """The sample, or None for benzoic acid."""
        return self.firing.row.sample if self.firing.purpose is Purpose.SAMPLE else None

    def figure(self, name: str) -> float | None:
        """Return one of the figures in ``ALL``."""
        place = _PLACES.get(name)
        if place is not None:
            return self.logged[place]
        value = getattr(self.firing.row, name)
        return None if value is None else round(value, DIGITS)


def step_of(values: Iterable[float]) -> float | None:
    """Return the step in which values stand: the coarsest 1, 2 or 5 of a decimal place that all are multiples of."""
    known = list(values)
    if not known:
        return None
    for place in range(1, 6):
        for digit in (5, 2, 1) if len(known) >= FEW_VALUES else (1,):
            step = digit * 0.1**place
            if all(abs(value / step - round(value / step)) < 1e-3 for value in known):
                return step
    return 1e-5


def chance(differences: Sequence[float], step: float, usual: float, *, without: int = 0) -> float:
    """Return how often two figures are equal by chance that lie so far apart (absolute, sorted), read to a step.

    ``usual`` is how far apart half of all pairs lie on a bench; it is taken where there are too few differences.
    ``without`` leaves out so many of the smallest: those of the pair in question.
    """
    count = len(differences) - without
    if count < FEWEST:
        return min(1.0, step / usual / 4)
    nearest = max(math.ceil(SHARE * count), min(math.ceil(count / 2), NEAREST))
    reach = round(differences[without + nearest - 1] / step)
    return (bisect_right(differences, (reach + 0.5) * step) - without) / count / (2 * reach + 1)


class Steps:
    """The step of each figure: by its digits, and of temperatures not finer than they are read."""

    def __init__(self, firings: Sequence[Figures], resolution_K: float | None) -> None:
        """Take the steps from these firings, and from the resolution (K) that Setup gives."""
        self.firings, self._resolution = firings, resolution_K
        self._known: dict[str, float | None] = {}
        self._figures: dict[str, list[float | None]] = {}

    def figures(self, name: str) -> list[float | None]:
        """Return one figure of every firing."""
        if name not in self._figures:
            self._figures[name] = [one.figure(name) for one in self.firings]
        return self._figures[name]

    def of(self, name: str) -> float | None:
        """Return the step of a figure or of a difference of rises, or None where there is no figure."""
        if name not in self._known:
            self._known[name] = self._found(name)
        return self._known[name]

    def _found(self, name: str) -> float | None:
        if name in (RISE, RISE_BY_MASS):
            return max([step for one in _TEMPERATURES if (step := self.of(one)) is not None], default=None)
        step = step_of([value for value in self.figures(name) if value is not None])
        if step is None or name not in _TEMPERATURES or self._resolution is None:
            return step
        return max(step, self._resolution)


class Scatter:
    """How far apart the figures of comparable pairs lie; worked out of a figure when it is asked for."""

    def __init__(
        self, steps: Steps, near: Callable[[], Iterable[tuple[int, int]]], pairs: int,
        beside: "Scatter | None" = None,
    ) -> None:  # fmt: skip
        """``near`` yields the places of the pairs that count, of ``pairs`` that are compared with each other.

        ``beside`` is the scatter of all other pairs, which counts as well where there are too few of these.
        """
        self._steps, self._near, self._pairs, self._beside = steps, near, pairs, beside
        self._known: dict[str, list[float]] = {}

    def apart(self, name: str) -> list[float]:
        """Return the differences of a figure in order, of all pairs that have it."""
        if name not in self._known:
            self._known[name] = sorted(self._differences(name))
        return self._known[name]

    def _differences(self, name: str) -> Iterator[float]:
        firings = self._steps.firings
        if name in (RISE, RISE_BY_MASS):
            for one, other in self._near():
                difference = _of_rises(firings[one], firings[other], by_mass=name == RISE_BY_MASS)
                if difference is not None:
                    yield difference
        else:
            figures = self._steps.figures(name)
            for one, other in self._near():
                first, second = figures[one], figures[other]
                if first is not None and second is not None:
                    yield abs(first - second)

    def rate(self, name: str, *, counted: bool) -> float:
        """Return how often a figure is shared by chance; ``counted`` says that the pair in question is among these."""
        step, usual = USUAL[name]
        apart = self.apart(name)
        rate = chance(apart, self._steps.of(name) or step, usual, without=int(counted))
        if self._beside is None or len(apart) - counted >= FEWEST:
            return rate
        return max(rate, self._beside.rate(name, counted=False))

    def expected(self, shared: Sequence[str], beside: Sequence[str], *, counted: bool) -> float:
        """Return how many of these pairs have so many figures in common by chance, these or others.

        Rise follows mass, and end follows start and rise: only what is left is chance. What is equal ``beside`` the
        figures that are ``shared`` adds to them; two at least must tell something.
        """
        rise = RISE_BY_MASS if "mass" in shared else RISE
        follows = {"rise_K": rise, "final_C": rise if "initial_C" in shared else "final_C"}
        rates = [self.rate(follows.get(name, name), counted=counted) for name in shared]
        rates += [self.rate(name, counted=counted) for name in beside]
        if sum(rate < COMMON for rate in rates) < 2:
            return math.inf
        ways = math.comb(max(len(rates), sum(self._has(name) for name in ALL)), len(rates))
        return self._pairs * ways * math.prod(rates)

    def _has(self, name: str) -> bool:
        """Whether there is a difference of a figure."""
        if self._steps.of(name) is None:
            return False
        return bool(self._known[name]) if name in self._known else any(True for _ in self._differences(name))


def _of_rises(one: Figures, other: Figures, *, by_mass: bool) -> float | None:
    """Return the difference of two rises, or what is left of it beside the difference of the masses."""
    if one.rise_K is None or other.rise_K is None:
        return None
    if not by_mass:
        return abs(one.rise_K - other.rise_K)
    if not one.mass_g or not other.mass_g:
        return None
    slope = (one.rise_K + other.rise_K) / (one.mass_g + other.mass_g)
    return abs(one.rise_K - other.rise_K - slope * (one.mass_g - other.mass_g))
