"""What the bench is good for: how well it reads and weighs, and how its results scatter, in every firing alike."""

from msgspec import Struct

from batchcal.evaluate.slips.day import Day
from batchcal.formulas import uncertainty as gum
from batchcal.formulas.repeatability import PooledSD, pooled_sd_of_groups
from batchcal.model import Settings
from batchcal.terms import Purpose

BALANCE_DIGIT_G = 0.1e-3
"""Last digit of the balance where Setup gives no uncertainty; common practice, no source."""

ENOUGH_PAIRS = 15
"""Pairs from which their pooled scatter stands for the laboratory's; common practice, no source."""


class Seen(Struct, frozen=True):
    """What the log itself shows of the bench, used where Setup leaves it open."""

    decimals: int | None
    """To which the rises are typed; None where none are."""
    scatter: PooledSD | None
    """Of single results on the comparison basis, pooled over the pairs of the log where these are enough."""


class Bench(Struct, frozen=True):
    """Standard uncertainties that are the same in every firing of the day, from Setup or else from the log."""

    settings: Settings
    seen: Seen
    step_K: float | None
    """Step of the temperature readings; None where nobody knows it."""
    rise_K: float
    """Of a rise from two readings in such steps."""
    weighing_g: float
    two_weighings_g: float
    scatter: float | None
    """Of single results on the comparison basis (J/g); None where nobody knows it."""

    @classmethod
    def of(cls, settings: Settings, seen: Seen) -> "Bench":
        """Return the figures of a day, each from Setup or else from what the log shows."""
        given, limit = settings.reading_resolution, settings.repeatability_limit
        step = given.value if given is not None else None if seen.decimals is None else 10.0**-seen.decimals
        reading = gum.reading_step_uncertainty(step or 0.0)
        balance = settings.balance_uncertainty
        weighing = gum.reading_step_uncertainty(BALANCE_DIGIT_G) if balance is None else balance.value
        if settings.repeatability_sd is not None:
            scatter: float | None = settings.repeatability_sd.value
        elif seen.scatter is not None:
            scatter = seen.scatter.sd
        else:
            scatter = None if limit is None else gum.repeatability_sd(limit.value)
        return cls(
            settings,
            seen,
            step,
            gum.difference_uncertainty(reading, reading),
            weighing,
            gum.difference_uncertainty(weighing, weighing),
            scatter,
        )


def what_is_seen(day: Day) -> Seen:
    """Return the decimals of the day's rises, and the scatter of its first pairs, those that disagree included.

    To leave the pairs that disagree out would make the scatter too small.
    """
    used = [f for f in day.firings if f.purpose is Purpose.SAMPLE and f.counts]
    decimals = max((f.row.rise_decimals for f in used if f.row.rise_decimals is not None), default=None)
    pairs = []
    for sample in day.grouped:
        values = [value for firing in day.counted(sample)[:2] if (value := day.compared(firing)) is not None]
        if len(values) == 2:
            pairs.append(values)
    return Seen(decimals, pooled_sd_of_groups(pairs) if len(pairs) >= ENOUGH_PAIRS else None)
