"""What is said beside the results: what the checks can see, calibration against today, and the plan for tonight."""

import datetime as dt

from msgspec import Struct

from batchcal.terms import FurtherTestRule


class CheckPower(Struct, frozen=True):
    """What the check firings of one day on one calorimeter and bomb can see of a lasting bias."""

    calorimeter: str
    bomb: str
    date: dt.date
    n: int
    """Checks of the day that were worked out."""
    sd_percent: float
    sd_source: str
    """Where the standard deviation comes from, in words."""
    limit_percent: float
    false_alarm: float
    """Chance that at least one is out though nothing is wrong."""
    chances: tuple[tuple[float, float], ...]
    """Bias in %, and the chance that at least one check is out because of it."""


class ComparedHabit(Struct, frozen=True):
    """One habit of the calibration against the day's firings, in words."""

    what: str
    calibration: str
    today: str
    agrees: bool | None
    """None where one side is not logged."""
    effect_J_per_g: float | None
    """What the difference is worth on a sample of the day: positive where values are found too high."""
    note: str = ""
    """What the effect stands for, or why there is none."""


class CalibrationComparison(Struct, frozen=True):
    """How the firings of a series were made against how the firings that rest on it were made."""

    calorimeter: str
    bomb: str
    series: str
    series_date: dt.date | None
    firings: tuple[str, ...]
    """The firings of the day that were compared."""
    rows: tuple[ComparedHabit, ...]


class PlannedFiring(Struct, frozen=True):
    """One firing to be made tonight: what to weigh and where to fire it, and what it must show."""

    sample: str
    replicate: str
    """The letter it gets, or "" where the sample has none."""
    count: int
    """The firings of the sample with it."""
    apparatus: str
    aids: tuple[tuple[str, float], ...]
    """Name and mass (g) of each aid, as with the firing before."""
    mass_g: float | None
    mass_range_g: tuple[float, float] | None
    """Masses whose rise stays within the calibrated rises and whose charge within the lab's limits."""
    rise_K: float | None
    energy_J: float | None
    energy_limit_J: float | None
    why_no_mass: str
    remark: str
    """What is unusual about the mass, or ""."""
    accepted_J_per_g: tuple[float, float] | None
    """Values on the comparison basis with which the set is accepted; None where there are none."""
    allowed_range_J_per_g: float | None
    hopeless: bool
    """Whether those fired so far are further apart than the rule allows to any number of firings."""
    chance: float | None
    """Chance that it settles the set, if only scatter parts it; None for a first pair."""
    rule: FurtherTestRule
    most: int
    """With how many firings the rule ends."""
    drying: bool
    """Whether the fuel takes up or gives off moisture within hours."""
    probably_a_slip: bool
    """Whether the difference is so large that the records come first."""
