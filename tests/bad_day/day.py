"""A laboratory day as plain rows: what stands in the cells, before it is written to a file."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

IDENTITY = "#"
"""Key of a row's name, which never reaches the file; it tells rows apart when cells have moved."""

SETUP = ["Item", "Value", "Unit", "Source", "In force from"]
FIRINGS = [
    "Firing no.", "Date", "Time", "Purpose", "Series", "Sample no.", "Replicate", "Outcome", "Use", "Reason",
    "Analyst", "Calorimeter", "Bomb", "Crucible (g)", "Crucible + sample (g)", "Sample mass (g)",
    "Wire fitted (cm)", "Wire left (cm)", "Wire mass (mg)", "Thread (mg)", "Aid", "Aid mass (g)",
    "Capsule mass (g)", "Water in bomb (mL)", "Oxygen pressure (MPa)", "Initial temperature (°C)",
    "Final temperature (°C)", "Temperature rise (K)", "Heat-exchange correction (K)", "Residue", "Washings kept",
    "Remark",
]  # fmt: skip
TITRATION = [
    "Firing no.", "Titrant", "Concentration", "Concentration unit", "Burette start (mL)", "Burette end (mL)",
    "Titre (mL)", "Blank (mL)",
]  # fmt: skip
SAMPLES = [
    "Sample no.", "Description", "Fuel class", "Source", "Moisture, analysis (%)", "Moisture, total (%)", "Ash (%)",
    "Sulphur (%)", "Hydrogen (%)", "Nitrogen (%)", "Oxygen (%)", "Volatile matter (%)", "Carbon (%)", "Basis",
    "Hydrogen includes moisture", "Moisture date", "Delivery",
]  # fmt: skip
TITRANT = [
    "Titrant", "Standardised on", "Primary standard", "Portion (g)", "Molar mass", "Equivalents per mole",
    "Titre (mL)", "Blank (mL)",
]  # fmt: skip
CONSTANTS = ["Heat capacity in use for", "Value", "Found on"]

FIRING = "Firing no."
SAMPLE = "Sample no."
TARE = "Crucible (g)"
GROSS = "Crucible + sample (g)"
MASS = "Sample mass (g)"
START = "Initial temperature (°C)"
END = "Final temperature (°C)"
RISE = "Temperature rise (K)"
EXCHANGE = "Heat-exchange correction (K)"
TITRE = "Titre (mL)"
OWN_CAPACITY = "Own heat capacity (J/K)"
OWN_AD = "Own gross, ad (J/g)"
OWN_D = "Own gross, d (J/g)"
OWN_MEAN = "Own mean, d (J/g)"
OWN_VERDICT = "Own verdict"
OWN_COLUMNS = (OWN_CAPACITY, OWN_AD, OWN_D, OWN_MEAN, OWN_VERDICT)

Row = dict[str, Any]


@dataclass(frozen=True)
class Formula:
    """A formula and the value stored with it; ``None`` is a formula that was never calculated.

    The template names cells in braces: ``{Heading}`` of its own row, ``{Sheet!Heading@3}`` of the fourth row of a
    sheet, ``{$Sheet!Heading@3}`` the same with both parts of the reference fixed.
    """

    template: str
    value: float | str | None


@dataclass(frozen=True)
class Recipe:
    """How the lab's own result columns are worked out; every default is right."""

    acid: Literal["right", "forgotten", "twice"] = "right"
    sulphur_J_per_percent_gram: float | None = None
    sulphur_as_typed: bool = False
    dry: Literal["right", "as analysed", "upside down"] = "right"
    capacity: Literal["in force", "older", "drifting"] = "in force"
    rounded_before_comparing_J_per_g: float | None = None


@dataclass(frozen=True)
class Bench:
    """How a laboratory reads and types: the steps of its instruments, and what it does alike every time.

    ``net_decimals`` and ``rise_decimals`` are those to which a difference is typed beside what it is the difference
    of; ``mass_spread`` is how far charges lie from the wanted mass at the most; ``set_start_C`` is the temperature to
    which the water is brought before each firing, and ``start_swing`` the share of its usual scatter that is left
    then; ``limit_J_per_g`` is the repeatability limit on the dry basis.
    """

    step_K: float = 0.001
    mass_decimals: int = 4
    titre_decimals: int = 2
    net_decimals: int = 4
    rise_decimals: int = 3
    mass_spread: float = 0.05
    set_start_C: float | None = None
    start_swing: float = 0.0
    limit_J_per_g: float = 120.0

    def read_K(self, temperature: float) -> float:
        """Return a temperature or a rise as this bench reads it."""
        return round(round(temperature / self.step_K) * self.step_K, 3)


USUAL = Bench()


@dataclass
class Secrets:
    """What nature knows and the sheet does not say."""

    capacity_J_per_K: dict[str, float]
    gross_d_J_per_g: dict[str, float]
    crucibles_g: list[float]
    nitric_mmol: dict[int, float] = field(default_factory=dict)
    fuel_nitrogen_share: dict[str, float] = field(default_factory=dict)
    """Share of a sample's own nitrogen that ends as nitric acid, where there is any to speak of."""


@dataclass
class Day:
    """A day's log: rows of each sheet as {heading: value}, and how it is to be written."""

    seed: int
    date: dt.date
    sheets: dict[str, list[Row]]
    secrets: Secrets
    own: bool
    formulas: bool
    titrant: tuple[str, float]
    temperatures: str
    masses: str
    recipe: Recipe = Recipe()
    bench: Bench = USUAL
    struck: set[str] = field(default_factory=set)
    hidden: set[str] = field(default_factory=set)

    def add(self, sheet: str, row: Row) -> Row:
        """Append a row and give it a name that stays its own."""
        rows = self.sheets[sheet]
        taken = {int(other[IDENTITY].rpartition(":")[2]) for other in rows}
        row[IDENTITY] = f"{sheet}:{max(taken, default=-1) + 1}"
        rows.append(row)
        return row

    def setup_row(self, item: str) -> Row:
        """Return the row of a Setup item."""
        return next(row for row in self.sheets["Setup"] if row["Item"] == item)

    def setup(self, item: str) -> Any:
        """Return the value of a Setup item, or None."""
        return next((row["Value"] for row in self.sheets["Setup"] if row["Item"] == item), None)

    def find(self, sheet: str, heading: str, value: Any) -> Row | None:
        """Return the first row with a value under a heading."""
        return next((row for row in self.sheets[sheet] if row.get(heading) == value), None)

    def place(self, sheet: str, row: Row) -> int:
        """Return the position of a row among the sheet's rows, from 0."""
        return [other[IDENTITY] for other in self.sheets[sheet]].index(row[IDENTITY])

    def numbers(self, sheet: str, rows: Sequence[Row]) -> tuple[int, ...]:
        """Return the numbers that rows have in the written sheet; the headings stand in row 1."""
        return tuple(self.place(sheet, row) + 2 for row in rows)

    def sample_rows(self) -> list[Row]:
        """Return the rows of Runs that are firings of samples."""
        return [row for row in self.sheets["Runs"] if row.get(SAMPLE) is not None]

    def pairs(self) -> dict[Any, list[Row]]:
        """Return the firings of each sample in the order of Runs."""
        found: dict[Any, list[Row]] = {}
        for row in self.sample_rows():
            found.setdefault(row[SAMPLE], []).append(row)
        return found

    def limit_J_per_g(self) -> float:
        """Return the repeatability limit that the lab applies."""
        value = self.setup("Repeatability limit")
        return 120.0 if value == "method" else float(value)


def plain(value: Any) -> Any:
    """Return what a cell shows: the stored value of a formula, else the value."""
    return value.value if isinstance(value, Formula) else value


def number(row: Row, heading: str) -> float:
    """Return a cell as a number; a blank cell is 0, as in any spreadsheet. Text raises ValueError."""
    value = plain(row.get(heading))
    if value is None:
        return 0.0
    if isinstance(value, str | bool):
        raise ValueError(f"{heading}: {value!r} is no number")
    return float(value)


def derive(day: Day, row: Row) -> None:
    """Work out sample mass and rise of a firing from their parts, where the lab logs both."""
    if day.masses == "both":
        places = day.bench.net_decimals
        mass = round(number(row, GROSS) - number(row, TARE), places)
        row[MASS] = Formula(f"=ROUND({{{GROSS}}}-{{{TARE}}},{places})", mass) if day.formulas else mass
    if day.temperatures == "both":
        places = day.bench.rise_decimals
        rise = round(number(row, END) - number(row, START), places)
        row[RISE] = Formula(f"=ROUND({{{END}}}-{{{START}}},{places})", rise) if day.formulas else rise


def mass_g(row: Row) -> float:
    """Return the sample mass of a firing, typed or differenced."""
    return number(row, MASS) if row.get(MASS) is not None else number(row, GROSS) - number(row, TARE)


def rise_K(row: Row) -> float:
    """Return the rise of a firing as read, typed or differenced."""
    return number(row, RISE) if row.get(RISE) is not None else number(row, END) - number(row, START)


def shift_rise(day: Day, row: Row, by_K: float) -> None:
    """Make the reading at the end of a firing higher, and what follows from it."""
    if row.get(END) is not None:
        row[END] = round(number(row, END) + by_K, 3)
    if day.temperatures == "rise":
        row[RISE] = round(number(row, RISE) + by_K, 3)
    derive(day, row)
