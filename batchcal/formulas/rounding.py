"""Rounding of the printed figure: once, at the end, to a step, halves to the even multiple."""

import functools
import math
from decimal import Decimal

_CERTAIN = 0.499
_MOST_CERTAIN = 1e12
_LEAST_CERTAIN = 1e-290
"""How far from a whole number a quotient of floats may lie, so large at most and by such a step, for it to be rounded
as that of the digits is: they differ by less than 0.001. Nearer to half-way only the digits decide."""


def round_to_step(value: float, step: float) -> Decimal:
    """Return ``value`` rounded to a multiple of ``step``, with the decimals of the step.

    A value half-way between two multiples goes to the even one (rule A of ISO 80000-1, Annex B: from memory,
    unchecked). Half-way is judged on the decimal digits by which the float is written, so 0.125 to 0.01 is 0.12 and
    2.675 is 2.68, as by hand, in exact arithmetic. An unsigned zero is returned for a value rounded to nothing.

    Raises ValueError for a step that is not above 0, or a value or step that is not finite.

    References
    ----------
    [recalled]

    """
    if not (math.isfinite(value) and math.isfinite(step) and step > 0):
        raise ValueError(f"{value} cannot be rounded to steps of {step}; the step must be above 0 and both finite")
    of_step, under_step, decimals = _in_whole_numbers(step)
    near = value / step
    if abs(near) < _MOST_CERTAIN and step > _LEAST_CERTAIN and abs(near - round(near)) < _CERTAIN:
        multiples = round(near)
    else:
        of_value, under_value = Decimal(repr(float(value))).as_integer_ratio()
        whole = under_value * of_step
        multiples, rest = divmod(of_value * under_step, whole)
        if 2 * rest > whole or (2 * rest == whole and multiples % 2):
            multiples += 1
    return Decimal(f"{multiples * of_step * 10**decimals // under_step}e-{decimals}")


@functools.lru_cache(maxsize=64)
def _in_whole_numbers(step: float) -> tuple[int, int, int]:
    """Return a step as a fraction of whole numbers, and how many decimals it is written with."""
    unit = Decimal(repr(float(step))).normalize()
    return *unit.as_integer_ratio(), max(0, -int(unit.as_tuple().exponent))


def text_to_step(value: float, step: float) -> str:
    """Return ``value`` rounded by :func:`round_to_step` as text, with the decimals of the step and no exponent.

    References
    ----------
    [recalled]

    """
    return f"{round_to_step(value, step):f}"
