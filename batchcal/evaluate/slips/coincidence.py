"""How likely two honest firings have a figure in common, from the scatter and the steps of the log itself.

Two readings are equal by chance about as often as they are a step or two apart. The rate is taken from the pairs of
the log that can be compared with the one in question: firings of one sample, firings of benzoic acid, firings of
different samples. On a coarse bench, or with one fuel, that is often; where masses and rises scatter, hardly ever.
"""

import math
from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from batchcal.evaluate.charge import logged_mass
from batchcal.evaluate.firings import Firing
from batchcal.terms import Purpose

FIELDS = {"mass": "mass", "initial_C": "start", "final_C": "end", "rise_K": "rise", "titre": "titre"}
"""What is compared, with its name in words."""

BESIDE = {"wire_left_cm": "wire left", "wire_mass_g": "wire", "thread_g": "thread"}
"""What goes with a copied row as well, where two of the others are shared already."""

ALL = (*FIELDS, *BESIDE)
"""Names of everything that is compared."""

RISE, RISE_BY_MASS = "end by start", "rise by mass"
"""Names of the difference of two rises, and of what is left of it beside the difference of the masses."""

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


@dataclass(frozen=True, slots=True)
class Figures:
    """A firing with its figures as logged, by name; None where there is none."""

    firing: Firing
    logged: Mapping[str, float | None]
    mass_g: float | None
    rise_K: float | None

    @classmethod
    def of(cls, firing: Firing) -> "Figures":
        """Return the figures of a firing."""
        row, rise, mass = firing.row, firing.row.rise_K, logged_mass(firing.row)
        logged = {
            "mass": mass,
            "initial_C": row.initial_C,
            "final_C": row.final_C,
            "rise_K": rise,
            "titre": None if firing.titration is None else firing.titration.titre_read_mL,
        }
        if row.initial_C is not None and row.final_C is not None:
            logged["rise_K"] = None  # it follows from the two temperatures
            rise = row.final_C - row.initial_C
        logged |= {name: getattr(row, name) for name in BESIDE}
        # Differences carry binary dust, which would hide that two are equal.
        told = {name: None if value is None else round(value, 5) for name, value in logged.items()}
        return cls(firing, told, mass, rise)

    @property
    def sample(self) -> str | None:
        """The sample, or None for benzoic acid."""
        return self.firing.row.sample if self.firing.purpose is Purpose.SAMPLE else None


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


@dataclass(slots=True)
class Scatter:
    """How far apart the figures of comparable pairs lie, and how many pairs are compared with each other."""

    steps: Mapping[str, float]
    beside: "Scatter | None" = None
    """That of all other pairs, which counts as well where there are too few of these."""
    pairs: int = 0
    apart: dict[str, list[float]] = field(default_factory=dict)

    def add(self, one: Figures, other: Figures) -> None:
        """Take in the differences of a pair."""
        for name in ALL:
            first, second = one.logged[name], other.logged[name]
            if first is not None and second is not None:
                self.apart.setdefault(name, []).append(abs(first - second))
        if one.rise_K is None or other.rise_K is None:
            return
        self.apart.setdefault(RISE, []).append(abs(one.rise_K - other.rise_K))
        if one.mass_g and other.mass_g:
            slope = (one.rise_K + other.rise_K) / (one.mass_g + other.mass_g)
            rest = one.rise_K - other.rise_K - slope * (one.mass_g - other.mass_g)
            self.apart.setdefault(RISE_BY_MASS, []).append(abs(rest))

    def sort(self) -> None:
        """Put the differences in order, once all pairs are in."""
        for differences in self.apart.values():
            differences.sort()

    def rate(self, name: str, *, counted: bool) -> float:
        """Return how often a figure is shared by chance; ``counted`` says that the pair in question is among these."""
        step, usual = USUAL[name]
        apart = self.apart.get(name, [])
        rate = chance(apart, self.steps.get(name, step), usual, without=int(counted))
        if self.beside is None or len(apart) - counted >= FEWEST:
            return rate
        return max(rate, self.beside.rate(name, counted=False))

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
        ways = math.comb(max(len(rates), sum(name in self.apart for name in ALL)), len(rates))
        return self.pairs * ways * math.prod(rates)
