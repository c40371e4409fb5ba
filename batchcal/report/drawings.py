"""What a chart consists of once its positions are found; the templates draw these and compute nothing.

Positions are in the units of each drawing's view box, x to the right and y downwards.
"""

from msgspec import Struct


class Bar(Struct, frozen=True):
    """A difference against its limit, as drawn in the table of samples."""

    length: float
    limit: float
    width: float
    beyond: bool
    cut: bool
    """Whether the difference is longer than the drawing."""
    words: str


class Tick(Struct, frozen=True):
    """A label at a position along an axis."""

    at: float
    text: str


class Rule(Struct, frozen=True):
    """A horizontal line with its words; ``text_at`` is where they stand so that none touch."""

    y: float
    text: str
    kind: str
    text_at: float


class Mark(Struct, frozen=True):
    """One result in a chart; ``kind`` chooses its shape: within, beyond or open."""

    x: float
    y: float
    kind: str
    words: str
    text: str = ""
    label: str = ""
    cut: bool = False
    anchor: str = "start"
    text_x: float = 0.0


class Frame(Struct, frozen=True):
    """The drawing and the plot inside it."""

    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float


class RatioChart(Struct, frozen=True):
    """Difference over limit, a row for each sample."""

    key: str
    title: str
    description: str
    caption: str
    frame: Frame
    limit_x: float
    band: tuple[float, float] | None
    """Left and right edge of the range in which half of all pairs are expected."""
    ticks: tuple[Tick, ...]
    marks: tuple[Mark, ...]


class Panel(Struct, frozen=True):
    """The same results beside the first drawing, against something else, between the same horizontal lines."""

    left: float
    right: float
    title: str
    ticks: tuple[Tick, ...]
    marks: tuple[Mark, ...]
    slope: str
    """Path of the line that the heat capacity is taken from, "" where it is one value."""


class DotChart(Struct, frozen=True):
    """Results in firing order with horizontal lines for mean, reference and limits."""

    key: str
    title: str
    description: str
    caption: str
    frame: Frame
    band: tuple[float, float] | None
    """Upper and lower edge of the shaded range."""
    rules: tuple[Rule, ...]
    ticks: tuple[Tick, ...]
    marks: tuple[Mark, ...]
    end: float
    """Where the results in firing order end; beyond stands ``beside``."""
    days: tuple[Tick, ...]
    """The day of the first firing on it, below the firings."""
    beside: Panel | None = None


class Column(Struct, frozen=True):
    """Acid heats of one firing, nitric below and sulphuric above; ``missing`` where they were not found."""

    x: float
    middle: float
    width: float
    nitric_y: float
    nitric_height: float
    sulphuric_y: float
    sulphuric_height: float
    missing: bool
    words: str


class ColumnChart(Struct, frozen=True):
    """Acid heats in firing order."""

    key: str
    title: str
    description: str
    caption: str
    frame: Frame
    levels: tuple[Tick, ...]
    ticks: tuple[Tick, ...]
    upright: bool
    """Whether the firings' labels are turned to read upwards, for want of room."""
    columns: tuple[Column, ...]


class Upright(Struct, frozen=True):
    """A vertical line with its words above it."""

    x: float
    text: str
    text_x: float
    anchor: str


class Gap(Struct, frozen=True):
    """The distance between two lines at one place, with its words beside it."""

    x: float
    low: float
    high: float
    text: str
    text_x: float
    text_y: float


class Strip(Struct, frozen=True):
    """The readings of fore and after period about their lines, drawn below the curve on the same minutes."""

    top: float
    bottom: float
    zero: float
    band: tuple[float, float] | None
    """Upper and lower edge of one reading step either way; None where Setup names no step."""
    within: str
    """Path of the readings within the band (of all readings where there is none)."""
    beyond: str = ""
    """Path of the readings beyond the band."""
    ticks: tuple[Tick, ...] = ()
    rings: tuple[tuple[float, float], ...] = ()
    """Readings that a finding names."""


class CurveChart(Struct, frozen=True):
    """Temperature against time, with the lines through fore and after period; paths are complete."""

    key: str
    title: str
    description: str
    frame: Frame
    trace: str
    """Path from reading to reading."""
    readings: str = ""
    """Path of the readings as dots; left out where the drawing is small."""
    rings: tuple[tuple[float, float], ...] = ()
    """Readings that a finding names."""
    missing: tuple[float, ...] = ()
    """Minutes without a temperature."""
    minutes: tuple[Tick, ...] = ()
    temperatures: tuple[Tick, ...] = ()
    foot: float = 0.0
    """Where the axis of the minutes stands."""
    fits: str = ""
    """Path of the fitted lines within their periods."""
    uprights: tuple[Upright, ...] = ()
    strip: Strip | None = None
    reach: str = ""
    """Path of the fitted lines beyond their periods, as far as ``gap``."""
    gap: Gap | None = None
    """The corrected rise, drawn where the one line hands over to the other."""
