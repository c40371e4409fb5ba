"""A straight line through points, and whether its slope is more than scatter: against the rise, or against order."""

import math
from collections.abc import Sequence
from typing import NamedTuple

from batchcal.formulas import statistics


class Trend(NamedTuple):
    """A least-squares line; units are those of x and y."""

    slope: float
    slope_sd: float
    residual_sd: float
    mean_x: float
    mean_y: float
    n: int

    @property
    def degrees_of_freedom(self) -> int:
        """Those of the residuals: n - 2."""
        return self.n - 2

    @property
    def t(self) -> float:
        """The slope in its standard deviations; infinite for a slope without residuals, 0 for no slope at all."""
        if self.slope == 0.0:
            return 0.0
        return self.slope / self.slope_sd if self.slope_sd > 0.0 else math.copysign(math.inf, self.slope)

    def at(self, x: float) -> float:
        """Return the line's y at x."""
        return self.mean_y + self.slope * (x - self.mean_x)

    def sd_at(self, x: float) -> float:
        """Return the standard deviation of the line at x, not that of a single value there."""
        return math.hypot(self.residual_sd / math.sqrt(self.n), self.slope_sd * (x - self.mean_x))


def trend(x: Sequence[float], y: Sequence[float]) -> Trend:
    """Return the least-squares line through at least three points, with the standard deviations of its slope.

    The scatter of y is taken as the same everywhere, and x as known. Compare ``t`` of the result with
    ``quantiles.student_t_critical`` at its degrees of freedom. ValueError for fewer points or x all equal.

    References
    ----------
    [gum-h3]

    """
    if len(x) < 3 or min(x) == max(x):
        raise ValueError("a trend needs at least three points, not all at one place")
    slope, residual_sd = statistics.slope_and_residual_sd(x, y)
    return Trend(
        slope=slope,
        slope_sd=statistics.slope_standard_deviation(x, residual_sd),
        residual_sd=residual_sd,
        mean_x=statistics.mean(x),
        mean_y=statistics.mean(y),
        n=len(x),
    )
