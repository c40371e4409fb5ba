"""What is found from the results files of many days: the long run of a laboratory, as frozen records.

No arithmetic lives here. Units are in the field names; None stands where nothing could be found.
"""

import datetime as dt
from collections.abc import Mapping
from typing import NamedTuple

from msgspec import Struct

from batchcal.terms import SeriesState


class Passed(Struct, frozen=True):
    """A results file that was not counted, and why."""

    file: str
    why: str


class Apparatus(Struct, frozen=True):
    """Calorimeter and bomb, by which everything that concerns a heat capacity is told apart."""

    calorimeter: str
    bomb: str

    @property
    def name(self) -> str:
        """Calorimeter and bomb in few words; a lab with one apparatus may leave both blank."""
        parts = [f"{kind} {name}" for kind, name in (("calorimeter", self.calorimeter), ("bomb", self.bomb)) if name]
        return ", ".join(parts) or "the calorimeter"


class SeriesMean(Struct, frozen=True):
    """One heat capacity as it was in force: from a series of benzoic acid firings, or entered (``n`` is None)."""

    name: str
    date: dt.date
    start: dt.date
    """Day of its first firing, else ``date``."""
    heat_capacity_J_per_K: float
    n: int | None
    sd_J_per_K: float | None
    expires: dt.date | None
    state: SeriesState | None
    """As the newest results file that holds it says."""
    change_J_per_K: float | None = None
    """Against the one before it on the same apparatus."""
    file: str = ""


class CapacityPoint(Struct, frozen=True):
    """The heat capacity that one benzoic acid firing gives."""

    date: dt.date
    firing: str
    heat_capacity_J_per_K: float
    counted: bool
    """False where it was set aside."""
    file: str = ""


class CapacityRun(Struct, frozen=True):
    """Heat capacity of one apparatus over time."""

    apparatus: Apparatus
    series: tuple[SeriesMean, ...]
    points: tuple[CapacityPoint, ...]
    pooled_sd_J_per_K: float | None
    """Of single firings within their series."""
    degrees_of_freedom: int
    last: dt.date
    """Last day of the records, to which the newest series is drawn."""


class CheckPoint(Struct, frozen=True):
    """One check firing; ``off_percent`` is its recovery less 100."""

    date: dt.date
    firing: str
    off_percent: float
    verdict: str
    """Against the limits of its own day: within, warning, out, or not judged."""
    upper: float | None
    lower: float | None
    """The running sums after it, in standard deviations."""
    file: str = ""


class Pattern(Struct, frozen=True):
    """A run rule, how often checks completed it, and when last."""

    rule: str
    times: int
    last: dt.date


class Drift(Struct, frozen=True):
    """A running sum beyond its interval: where it was first seen, since when it was gathering, how far checks were."""

    place: int
    """Place, from 0, of the check among those of its apparatus."""
    side: int
    firing: str
    date: dt.date
    since: dt.date
    mean_off_percent: float
    lasting: bool
    """Whether the sum is beyond its interval at the newest check as well."""


class CheckRun(Struct, frozen=True):
    """Check firings of one apparatus in the order of firing, with the newest limits."""

    apparatus: Apparatus
    points: tuple[CheckPoint, ...]
    action_percent: float | None
    warning_percent: float | None
    warning_source: str
    limits_changed: bool
    mean_off_percent: float
    found_sd_percent: float | None
    """From the moving range, so that a slow drift does not widen it; None with few checks."""
    sd_percent: float | None
    """The one by which patterns and running sum are judged."""
    sd_source: str
    patterns: tuple[Pattern, ...]
    false_patterns: float
    """Patterns that chance alone is expected to make among as many checks."""
    interval: float
    """Decision interval of the running sum, in standard deviations."""
    drift: Drift | None


class Pair(NamedTuple):
    """The first two firings of a sample that were worked out, whether they agreed or not.

    A tuple, because an archive holds a hundred thousand; its fields stand in the order of the workbook's columns.
    """

    date: dt.date
    sample: str
    fuel_class: str
    calorimeter: str
    bomb: str
    analyst: str
    basis: str
    first: str
    second: str
    first_J_per_g: float
    second_J_per_g: float
    difference_J_per_g: float
    """First less second."""
    limit_J_per_g: float | None
    ratio: float | None
    """Distance of the two in units of the limit, or None without one."""
    beyond: bool
    """Whether the two lie farther apart than the limit; equality passes."""
    file: str


class Span(Struct, frozen=True):
    """A stretch of the calendar, e.g. a month, with its name; ``end`` is its last day."""

    name: str
    start: dt.date
    end: dt.date


class Quartiles(Struct, frozen=True):
    """How difference over limit of the pairs of one stretch is spread; None where they are too few."""

    span: Span | None
    """None for the whole run."""
    n: int
    beyond: int
    quarter: float | None
    median: float | None
    three_quarters: float | None


class Pooled(Struct, frozen=True):
    """Scatter of first pairs of one group, pooled; an interval is given only where there are enough pairs."""

    name: str
    pairs: int
    judged: int
    """Pairs with a limit."""
    beyond: int
    too_many_beyond: bool
    """More than chance explains where the limit is what the method says it is."""
    sd_J_per_g: float
    limit_found_J_per_g: float
    """2.77 times the standard deviation: the repeatability limit that the pairs themselves bear out."""
    interval_J_per_g: tuple[float, float] | None
    limits_J_per_g: tuple[float, float] | None
    """Smallest and largest limit in force for its pairs."""
    ratio: float | None
    """2.77 times the SD of results in units of their own limits: 1 where pairs scatter just as the limits suppose."""
    ratio_interval: tuple[float, float] | None
    verdict: str
    """Against the limit: within, above, not clear, too few, or no limit."""


class FirstAgainstSecond(Struct, frozen=True):
    """Mean of first less second over all pairs, with its interval; whether first firings run to one side."""

    pairs: int
    mean_J_per_g: float
    interval_J_per_g: tuple[float, float]

    @property
    def one_sided(self) -> bool:
        """Whether the interval leaves out zero."""
        low, high = self.interval_J_per_g
        return low > 0.0 or high < 0.0


class Count(Struct, frozen=True):
    """How often something happened, in all and in each stretch of the calendar."""

    key: str
    total: int
    by_span: tuple[int, ...]
    severity: str = ""


class Due(Struct, frozen=True):
    """The newest heat capacity of one apparatus and how long it lasts, counted from the last day of the records."""

    apparatus: Apparatus
    series: SeriesMean
    days_left: int | None


class Read(Struct, frozen=True):
    """What was read: the files counted, those passed over, and what stood in more than one of them."""

    counted: tuple[tuple[str, str, dt.date | None], ...]
    """Results file, the workbook it was made from, and its day."""
    passed: tuple[Passed, ...]
    once: tuple[Passed, ...]
    """Files of a day that another file holds too, with the one that was counted."""
    carried: int
    """Firings that stand again in a later file, as a calibration carried along does."""
    undated: int
    """Firings without a date, left out."""
    outside: int
    """Firings outside the days that were asked for."""
    unpaired: int
    """Samples of which no two firings were worked out on the comparison basis in one workbook."""


class History(Struct, frozen=True):
    """Everything that is found from many results files; the long-run page and workbook are made from this alone."""

    laboratories: tuple[str, ...]
    methods: tuple[str, ...]
    first: dt.date
    last: dt.date
    read: Read
    firings: int
    samples: int
    spans: tuple[Span, ...]
    capacities: tuple[CapacityRun, ...]
    due: tuple[Due, ...]
    checks: tuple[CheckRun, ...]
    pairs: tuple[Pair, ...]
    quartiles: tuple[Quartiles, ...]
    """By stretch, then of all."""
    first_against_second: FirstAgainstSecond | None
    pooled: Pooled | None
    by_fuel_class: tuple[Pooled, ...]
    by_apparatus: tuple[Pooled, ...]
    by_analyst: tuple[Pooled, ...]
    """Under codes, in the order of the codes, never of the figures."""
    analyst_codes: Mapping[str, str]
    """Code by analyst as logged; for the workbook, not for the page."""
    events: tuple[Count, ...]
    findings: tuple[Count, ...]
