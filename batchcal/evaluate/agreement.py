"""Whether the firings of one sample agree, and what follows from it by the further-test rule in force.

With the range rule two firings are accepted within the repeatability limit r, three within 1.2 r, four within
1.3 r, and their mean is the result. The factors are the critical range factors of ISO 5725-6 divided by that of
two results; see ``further-test-factor-3`` and ``further-test-factor-4`` in the reference data.
"""

from collections.abc import Sequence

from msgspec import Struct

from batchcal import reference
from batchcal.evaluate.charge import EQUALITY
from batchcal.formulas import statistics
from batchcal.terms import FurtherTestRule

MOST_FIRINGS = 4
"""The further-test rule ends at this number of firings."""

_FACTORS = {
    2: 1.0,
    3: reference.constant("further-test-factor-3").value,
    4: reference.constant("further-test-factor-4").value,
}


class Verdict(Struct, frozen=True):
    """How the firings of a sample agree.

    ``range_J_per_g`` and ``limit_J_per_g`` are what was compared; ``members`` are the positions of the firings
    that the value is made of, ``statistic`` says how; ``code`` is the finding that follows, "" for none.
    """

    range_J_per_g: float | None
    limit_J_per_g: float | None
    members: tuple[int, ...]
    statistic: str
    code: str
    next_limit_J_per_g: float | None = None


def limit_for(count: int, limit_J_per_g: float) -> float | None:
    """Return the widest range accepted of ``count`` firings, or None beyond the end of the rule."""
    return _FACTORS[count] * limit_J_per_g if count in _FACTORS else None


def passes(value: float, limit: float) -> bool:
    """Whether a range is within its limit; equality passes in spite of binary fractions."""
    return value <= limit * (1 + EQUALITY)


def judge(values: Sequence[float], limit_J_per_g: float, rule: FurtherTestRule) -> Verdict:
    """Judge at least two values, unrounded and on one basis, against the repeatability limit of two."""
    count = len(values)
    everything = tuple(range(count))
    spread = statistics.value_range(values)
    limit = limit_for(count, limit_J_per_g)
    if limit is None:
        return Verdict(spread, None, everything, f"median of {count}", "more-than-four")
    if passes(spread, limit):
        return Verdict(spread, limit, everything, f"mean of {count}", "")
    if count > 2 and rule is FurtherTestRule.MEDIAN:
        return Verdict(spread, limit, everything, f"median of {count}", "median-used")
    if count > 2 and rule is FurtherTestRule.CLOSEST_TWO:
        members = _closest(values)
        apart = abs(values[members[0]] - values[members[1]])
        if passes(apart, limit_J_per_g):
            return Verdict(apart, limit_J_per_g, members, f"mean of the closest 2 of {count}", "closest-two-used")
    if count == MOST_FIRINGS:
        return Verdict(spread, limit, everything, f"median of {count}", "four-apart")
    code = "pair-apart" if count == 2 else "three-apart"
    return Verdict(spread, limit, (), "", code, limit_for(count + 1, limit_J_per_g))


def _closest(values: Sequence[float]) -> tuple[int, int]:
    low, high = statistics.closest_two(values)
    first = values.index(low)
    return first, next(index for index, value in enumerate(values) if value == high and index != first)


def value_of(values: Sequence[float], verdict: Verdict) -> float | None:
    """Return the statistic that the verdict names, of values on any one basis; None where it names none."""
    chosen = [values[index] for index in verdict.members]
    if not chosen:
        return None
    return statistics.median(chosen) if verdict.statistic.startswith("median") else statistics.mean(chosen)
