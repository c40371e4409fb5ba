"""A day of firings whose truth is known: heats of combustion in, a workbook as a bench would log it out.

Nothing of batchcal is imported: the heat balance, the acids, the certificate's gram and the headings are written down
here a second time. The bench is invented: its calorimeter, wire, thread, the nitric acid formed and all amounts. The
charges are arithmetic, not advice: some are larger than a bomb may hold and some substances burn badly as logged here.
Charge a bomb by its instructions and the local codes only, with trained staff.

The rise of a firing follows from C rise = m q + ignition + aid + capsule + n_N q_N + n_S q_S: the sulphur of the
charge ends as dilute sulphuric acid, some nitrogen as nitric acid, and the heat of both is in the rise. A sample's gram
is the gram that the balance reads; its buoyancy in air (some 0.1 %) is left out.
"""

import datetime as dt
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import openpyxl

from pure_substances.thermochemistry import BY_NAME, SUBSTANCES, Substance

HEAT_CAPACITY_J_PER_K = 10137.4  # invented
WIRE_J_PER_CM = 9.6  # invented
THREAD_J_PER_MG = 17.5  # invented
CAPSULE_J_PER_G = 46500.0  # invented, near polyethylene
NITRIC_J_PER_MOL = 59870.0  # GOST 21261-91, clause 7
SULPHURIC_J_PER_MOL = 301364.0  # GOST 21261-91 prints 94 kJ/kg for 1 % of sulphur: 94 J / (0.01 g / 32.06 g/mol)
CERTIFICATE_J_PER_G = 26434.0  # NIST, SRM 39j: in vacuum, under the certificate's bomb conditions
BENZOIC_DENSITY = 1.320  # g/cm³, the same certificate
AIR_DENSITY, WEIGHT_DENSITY = 0.0012, 8.0  # g/cm³, conventional weighing in air; from memory, unchecked
CERTIFICATE_IN_AIR_J_PER_G = (
    CERTIFICATE_J_PER_G * (1 - AIR_DENSITY / WEIGHT_DENSITY) / (1 - AIR_DENSITY / BENZOIC_DENSITY)
)

TITRANT_EQ_PER_L = 0.2  # 0.1 mol/L sodium carbonate
BACK_EQ_PER_L = 0.1
BLANK_ML = 0.10
CARBONATE_ML = 25.0

READING_K, CORRECTION_K, WEIGHING_G, BURETTE_ML, CONTENT_PERCENT = 0.001, 0.0001, 0.0001, 0.01, 0.01
"""Steps in which a bench logs: each reading, the heat-exchange correction, each weighing, a burette, a content."""

TOTAL_AS_NITRIC, SULPHUR_APART, TWO_TITRATIONS = "total as nitric", "sulphur apart", "two titrations"
AID = BY_NAME["n-hexadecane"]

DAY, SERIES_DAY, SINCE = dt.date(2026, 10, 14), dt.date(2026, 10, 5), dt.date(2026, 10, 1)
SPREAD = 1.0e-4
"""Relative deviation given to the first of two firings, and taken from the second: the mean is the true value."""

HEADINGS = {
    "Setup": ["Item", "Value", "Unit", "Source", "In force from"],
    "Firings": [
        "Firing no.", "Date", "Purpose", "Sample no.", "Replicate", "Outcome", "Crucible (g)", "Crucible + sample (g)",
        "Wire fitted (cm)", "Wire left (cm)", "Thread (mg)", "Aid", "Aid mass (g)", "Capsule mass (g)",
        "Initial temperature (°C)", "Final temperature (°C)", "Heat-exchange correction (K)",
    ],
    "Titration": [
        "Firing no.", "Titrant", "Concentration", "Concentration unit", "Burette start (mL)", "Burette end (mL)",
        "Blank (mL)", "Baryta (mL)", "Baryta concentration (eq/L)", "Carbonate added (mL)",
        "Carbonate concentration (eq/L)", "Acid back-titre (mL)", "Acid concentration (eq/L)",
    ],
    "Samples": [
        "Sample no.", "Description", "Moisture, analysis (%)", "Moisture, total (%)", "Ash (%)", "Sulphur (%)",
        "Hydrogen (%)", "Nitrogen (%)", "Oxygen (%)", "Basis", "Hydrogen includes moisture",
    ],
}  # fmt: skip


def _fraction(number: int, salt: int) -> float:
    """Return a number in [0, 1) that looks random and is not: multiples of irrational numbers, without their whole."""
    return (number * (math.sqrt(5) - 1) / 2 + salt * math.sqrt(2)) % 1.0


@dataclass(frozen=True)
class Firing:
    """One charge and what truly happened to it; ``substance`` is None where the charge is benzoic acid alone.

    ``heat_J_per_g`` is what a gram of the charge gave; ``capacity_J_per_K`` what the calorimeter had.
    """

    number: int
    purpose: str
    substance: Substance | None
    replicate: str
    heat_J_per_g: float
    mass_g: float
    capacity_J_per_K: float = HEAT_CAPACITY_J_PER_K
    aid_g: float = 0.0
    aid_J_per_g: float = AID.gross_J_per_g
    capsule_g: float = 0.0

    @property
    def wire_burnt_cm(self) -> float:
        return 5.0 + self.number % 30 / 10

    @property
    def thread_mg(self) -> float:
        return 2.5 + self.number % 11 / 10

    @property
    def correction_K(self) -> float:
        return 0.004 * _fraction(self.number, 3) - 0.002

    def _mol(self, symbol: str) -> float:
        """Return the amount (mol) of an element in the charge."""
        substance = self.substance
        return self.mass_g / substance.molar_mass_g_per_mol * substance.count(symbol) if substance else 0.0

    @property
    def nitric_mol(self) -> float:
        """Return the nitric acid: from the air of the bomb, and a twentieth of the charge's nitrogen (invented)."""
        return 0.5e-3 + 0.3e-3 * _fraction(self.number, 5) + 0.05 * self._mol("N")

    @property
    def sulphuric_mol(self) -> float:
        return self._mol("S")

    @property
    def energy_J(self) -> float:
        """Return everything that warmed the calorimeter."""
        return math.fsum(
            [
                self.mass_g * self.heat_J_per_g,
                self.wire_burnt_cm * WIRE_J_PER_CM,
                self.thread_mg * THREAD_J_PER_MG,
                self.aid_g * self.aid_J_per_g,
                self.capsule_g * CAPSULE_J_PER_G,
                self.nitric_mol * NITRIC_J_PER_MOL,
                self.sulphuric_mol * SULPHURIC_J_PER_MOL,
            ]
        )

    def rounding_J(self) -> list[float]:
        """Return how far, at most, each figure logged can move the heat balance (J) by its rounding, half a step.

        Two temperatures and a correction, two weighings of the crucible, aid and capsule, the burette's end. Wire and
        thread lie on their steps and lose nothing.
        """
        return [
            *[self.capacity_J_per_K * step / 2 for step in (READING_K, READING_K, CORRECTION_K)],
            *[self.heat_J_per_g * WEIGHING_G / 2] * 2,
            AID.gross_J_per_g * WEIGHING_G / 2 if self.aid_g else 0.0,
            CAPSULE_J_PER_G * WEIGHING_G / 2 if self.capsule_g else 0.0,
            NITRIC_J_PER_MOL * TITRANT_EQ_PER_L * 1e-3 * BURETTE_ML / 2,
        ]

    def row(self, rounded: bool) -> dict[str, Any]:
        """Return the row as logged, every figure to its step or to the last bit."""
        keep = _Rounding(rounded)
        crucible = 11.5 + _fraction(self.number, 7)
        initial = 22.5 + _fraction(self.number, 9)
        rise = self.energy_J / self.capacity_J_per_K - self.correction_K
        return {
            "Firing no.": self.number,
            "Date": SERIES_DAY if self.purpose == "calibration" else DAY,
            "Purpose": self.purpose,
            "Sample no.": sample_number(self.substance) if self.purpose == "sample" and self.substance else None,
            "Replicate": self.replicate or None,
            "Outcome": "good",
            "Crucible (g)": keep(crucible, WEIGHING_G),
            "Crucible + sample (g)": keep(crucible + self.mass_g, WEIGHING_G),
            "Wire fitted (cm)": 10,
            "Wire left (cm)": round(10 - self.wire_burnt_cm, 1),
            "Thread (mg)": round(self.thread_mg, 1),
            "Aid": AID.name if self.aid_g else None,
            "Aid mass (g)": keep(self.aid_g, WEIGHING_G) if self.aid_g else None,
            "Capsule mass (g)": keep(self.capsule_g, WEIGHING_G) if self.capsule_g else None,
            "Initial temperature (°C)": keep(initial, READING_K),
            "Final temperature (°C)": keep(initial + rise, READING_K),
            "Heat-exchange correction (K)": keep(self.correction_K, CORRECTION_K),
        }

    def titration(self, scheme: str, rounded: bool) -> dict[str, Any]:
        """Return the titration of the washings: one burette, or baryta and back with acid."""
        keep = _Rounding(rounded)
        acid_mL = (self.nitric_mol + 2 * self.sulphuric_mol) * 1e3 / TITRANT_EQ_PER_L + BLANK_ML
        row: dict[str, Any] = {"Firing no.": self.number, "Blank (mL)": BLANK_ML}
        if scheme != TWO_TITRATIONS:
            start = round(0.5 + self.number % 40 / 100, 2)
            return row | {
                "Titrant": "sodium carbonate",
                "Concentration": TITRANT_EQ_PER_L / 2,
                "Concentration unit": "mol/L",
                "Burette start (mL)": start,
                "Burette end (mL)": keep(start + acid_mL, BURETTE_ML),
            }
        left_mol = CARBONATE_ML * 1e-3 * TITRANT_EQ_PER_L - self.nitric_mol
        return row | {
            "Baryta (mL)": keep(acid_mL, BURETTE_ML),
            "Baryta concentration (eq/L)": TITRANT_EQ_PER_L,
            "Carbonate added (mL)": CARBONATE_ML,
            "Carbonate concentration (eq/L)": TITRANT_EQ_PER_L,
            "Acid back-titre (mL)": keep(left_mol * 1e3 / BACK_EQ_PER_L, BURETTE_ML),
            "Acid concentration (eq/L)": BACK_EQ_PER_L,
        }


class _Rounding:
    """Rounds to a step, or leaves every digit."""

    def __init__(self, rounded: bool) -> None:
        self.rounded = rounded

    def __call__(self, value: float, step: float) -> float:
        return round(round(value / step) * step, 6) if self.rounded else value


def sample_number(substance: Substance) -> str:
    return f"P{SUBSTANCES.index(substance) + 1:02d}"


def calibration() -> list[Firing]:
    """Return six firings of benzoic acid; their heat capacities scatter by 0.02 % around the true one."""
    scatter = (2e-4, -2e-4, 1e-4, -1e-4, 3e-4, -3e-4)
    return [
        Firing(
            number, "calibration", None, "", CERTIFICATE_IN_AIR_J_PER_G, 0.95 + 0.1 * _fraction(number, 1),
            capacity_J_per_K=HEAT_CAPACITY_J_PER_K * (1 + deviation),
        )
        for number, deviation in enumerate(scatter, 101)
    ]  # fmt: skip


def aid_firings() -> list[Firing]:
    """Return three firings of n-hexadecane beside benzoic acid, from which its heat is to be found."""
    return [
        Firing(
            number, "aid", None, "", CERTIFICATE_IN_AIR_J_PER_G, 0.5 + 0.02 * _fraction(number, 1),
            aid_g=0.28 + 0.02 * _fraction(number, 2), aid_J_per_g=AID.gross_J_per_g * (1 + deviation),
        )
        for number, deviation in enumerate((SPREAD, 0.0, -SPREAD), 201)
    ]  # fmt: skip


def sample_firings() -> list[Firing]:
    """Return every substance twice. Volatile liquids are in a capsule; urea and thiourea burn with n-hexadecane."""
    firings = []
    for position, substance in enumerate(SUBSTANCES):
        heat = substance.gross_J_per_g
        portion = 0.4 if substance.count("S") else min(1.6, 24000 / heat)
        volatile = substance.phase == "l" and substance.count("C") < 9
        poor = substance.name in ("urea", "thiourea")
        for half, sign in enumerate((1, -1)):
            number = 301 + 2 * position + half
            firings.append(
                Firing(
                    number, "sample", substance, "AB"[half], heat * (1 + sign * SPREAD),
                    portion * (0.97 + 0.06 * _fraction(number, 1)),
                    aid_g=0.15 + 0.02 * _fraction(number, 2) if poor else 0.0,
                    capsule_g=0.05 + 0.01 * _fraction(number, 4) if volatile else 0.0,
                )
            )  # fmt: skip
    return firings


def _samples(rounded: bool) -> list[dict[str, Any]]:
    keep = _Rounding(rounded)
    return [
        {
            "Sample no.": sample_number(substance),
            "Description": f"{substance.name} ({substance.compilation})",
            "Moisture, analysis (%)": 0,
            "Moisture, total (%)": 0,
            "Ash (%)": 0,
            "Sulphur (%)": keep(substance.content_percent("S"), CONTENT_PERCENT),
            "Hydrogen (%)": keep(substance.content_percent("H"), CONTENT_PERCENT),
            "Nitrogen (%)": keep(substance.content_percent("N"), CONTENT_PERCENT),
            "Oxygen (%)": keep(substance.content_percent("O"), CONTENT_PERCENT),
            "Basis": "d",
            "Hydrogen includes moisture": "no",
        }
        for substance in SUBSTANCES
    ]


def _setup(scheme: str) -> dict[str, tuple[Any, ...]]:
    return {
        "Laboratory": ("Pure substances on paper (invented)",),
        "Batch date": (DAY,),
        "Analyst": ("A. Ashby (invented)",),
        "Reviewer": ("B. Birch (invented)",),
        "Method": ("lab",),
        "Acid scheme": (scheme,),
        "Comparison basis": ("d",),
        "Repeatability limit": (200, "J/g", "Own (invented)"),
        "Bases required": ("ad, d, ar, daf, net",),
        "Report unit": ("J/g",),
        "Benzoic acid heat of combustion": (CERTIFICATE_J_PER_G, "J/g", "NIST, SRM 39j", SINCE),
        "Benzoic acid mass basis": ("vacuum", None, "NIST, SRM 39j", SINCE),
        "Wire heat": (WIRE_J_PER_CM, "J/cm", "Invented", SINCE),
        "Thread heat": (THREAD_J_PER_MG, "J/mg", "Invented", SINCE),
        "Nitric acid heat": (NITRIC_J_PER_MOL / 1e3, "kJ/mol", "GOST 21261-91", SINCE),
        "Sulphuric acid heat": (SULPHURIC_J_PER_MOL / 1e3, "kJ/mol", "GOST 21261-91", SINCE),
        "Capsule heat [polyethylene]": (CAPSULE_J_PER_G, "J/g", "Invented", SINCE),
        "Series minimum": (5, None, "Own (invented)", SINCE),
        "Series relative SD limit": (0.2, "%", "Own (invented)", SINCE),
        "Heat-capacity life": (90, "days", "Own (invented)", SINCE),
        "Reading resolution": (READING_K, "K", "Own (invented)", SINCE),
    }


def write(path: Path, scheme: str, *, rounded: bool) -> Path:
    """Write the whole workbook and return its path."""
    book = openpyxl.Workbook()
    setup = book.create_sheet("Setup", 0)
    book.remove(book.worksheets[1])
    setup.append(HEADINGS["Setup"])
    for item, entry in _setup(scheme).items():
        setup.append([item, *entry])
    runs = [*aid_firings(), *sample_firings()]
    sheets = {
        "Calibration": ("Firings", [firing.row(rounded) for firing in calibration()]),
        "Runs": ("Firings", [firing.row(rounded) for firing in runs]),
        "Titration": ("Titration", [firing.titration(scheme, rounded) for firing in [*calibration(), *runs]]),
        "Samples": ("Samples", _samples(rounded)),
    }
    for title, (kind, rows) in sheets.items():
        sheet = book.create_sheet(title)
        sheet.append(HEADINGS[kind])
        for row in rows:
            sheet.append([row.get(heading) for heading in HEADINGS[kind]])
    book.save(path)
    return path
