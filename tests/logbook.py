"""A log built for a test: the sheets and headings of the contract, typed here once more by hand, not imported."""

import copy
import datetime as dt
import io
from pathlib import Path
from typing import Any

import openpyxl

from batchcal.evaluate import evaluate
from batchcal.model import Evaluation, FiringResult, SampleResult
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import open_source

DAY = dt.date(2026, 10, 14)
SINCE = dt.date(2026, 10, 1)

SETUP_HEADINGS = ["Item", "Value", "Unit", "Source", "In force from"]
FIRING_HEADINGS = [
    "Firing no.", "Date", "Time", "Purpose", "Series", "Sample no.", "Replicate", "Outcome", "Use", "Reason",
    "Analyst", "Calorimeter", "Bomb", "Crucible no.", "Crucible (g)", "Crucible + sample (g)",
    "Sample mass (g)", "Wire fitted (cm)", "Wire left (cm)", "Wire mass (mg)", "Thread (mg)", "Aid", "Aid mass (g)",
    "Aid 2", "Aid 2 mass (g)", "Capsule mass (g)", "Capsule in tare", "Water in bomb (mL)", "Oxygen pressure (MPa)",
    "Initial temperature (°C)", "Final temperature (°C)", "Temperature rise (K)", "Heat-exchange correction (K)",
    "Residue", "Washings kept", "Remark",
]  # fmt: skip
RARE_HEADINGS = [
    "Crucible no.", "Aid 2", "Aid 2 mass (g)", "Capsule in tare", "Aid 3", "Aid 3 mass (g)", "Received on",
    "Sampled on", "Sampled by", "Condition", "Total moisture date", "Moisture and contents by", "On certificate",
]  # fmt: skip
"""Columns that a log has, behind the others, only where one of its rows fills them."""
TITRATION_HEADINGS = [
    "Firing no.", "Titrant", "Concentration", "Concentration unit", "Burette start (mL)", "Burette end (mL)",
    "Titre (mL)", "Blank (mL)", "Baryta (mL)", "Baryta concentration (eq/L)", "Carbonate added (mL)",
    "Carbonate concentration (eq/L)", "Acid back-titre (mL)", "Acid concentration (eq/L)",
]  # fmt: skip
SAMPLE_HEADINGS = [
    "Sample no.", "Description", "Fuel class", "Source", "Moisture, analysis (%)", "Moisture, total (%)", "Ash (%)",
    "Sulphur (%)", "Hydrogen (%)", "Nitrogen (%)", "Oxygen (%)", "Volatile matter (%)", "Carbon (%)",
    "Chlorine (%)", "Basis", "Hydrogen includes moisture", "Moisture date", "Delivery", "Received on",
    "Sampled on", "Sampled by", "Condition", "Total moisture date", "Moisture and contents by", "On certificate",
]  # fmt: skip

AMENDMENT_HEADINGS = ["Finding", "Where", "Firing no.", "Sample no.", "Reason", "Reviewer", "Date"]
EQUIPMENT_HEADINGS = [
    "Equipment", "Kind", "Of calorimeter", "In service from", "In service to", "Changed on", "What changed",
    "Calibrated on", "Due", "Certificate", "Firings since service", "Firings between services", "Remark",
]  # fmt: skip


class Log:
    """A workbook in the making: Setup as name: (value, unit, source, date); rows as {heading: value}."""

    def __init__(self) -> None:
        self.setup: dict[str, tuple[Any, ...]] = {}
        self.headings = {
            "Calibration": [heading for heading in FIRING_HEADINGS if heading not in RARE_HEADINGS],
            "Runs": [heading for heading in FIRING_HEADINGS if heading not in RARE_HEADINGS],
            "Titration": list(TITRATION_HEADINGS),
            "Samples": [heading for heading in SAMPLE_HEADINGS if heading not in RARE_HEADINGS],
            "Equipment": list(EQUIPMENT_HEADINGS),
            "Amendments": list(AMENDMENT_HEADINGS),
        }
        self.rows: dict[str, list[dict[str, Any]]] = {"Runs": []}
        self.skip_rows = 0

    def add(self, sheet: str, **values: Any) -> dict[str, Any]:
        """Add a row, its keys written as in ``_keys``; returns it to be changed."""
        row = {_HEADING[key]: value for key, value in values.items()}
        self.rows.setdefault(sheet, []).append(row)
        return row

    def bytes(self) -> bytes:
        workbook = openpyxl.Workbook()
        setup = workbook.active
        assert setup is not None
        setup.title = "Setup"
        for _ in range(self.skip_rows):
            setup.append(["A line of the lab's own"])
        setup.append(SETUP_HEADINGS)
        for name, entry in self.setup.items():
            setup.append([name, *entry])
        for name, rows in self.rows.items():
            sheet = workbook.create_sheet(name)
            for _ in range(self.skip_rows):
                sheet.append([None, "A line of the lab's own"])
            headings = list(self.headings[name])
            headings += [h for h in RARE_HEADINGS if h not in headings and any(h in row for row in rows)]
            sheet.append(headings)
            for row in rows:
                unknown = set(row) - set(headings)
                assert not unknown, unknown
                sheet.append([row.get(heading) for heading in headings])
        stream = io.BytesIO()
        workbook.save(stream)
        return stream.getvalue()

    def save(self, folder: Path, name: str = "day.xlsx") -> Path:
        path = folder / name
        path.write_bytes(self.bytes())
        return path

    def copy(self) -> "Log":
        return copy.deepcopy(self)


_HEADING = {
    heading.partition(" (")[0].lower().replace(".", "").replace(" + ", "_and_").replace(",", "").replace("-", "_")
    .replace(" ", "_"): heading
    for heading in [
        *FIRING_HEADINGS, *RARE_HEADINGS, *TITRATION_HEADINGS, *SAMPLE_HEADINGS, *AMENDMENT_HEADINGS,
        *EQUIPMENT_HEADINGS,
    ]
}  # fmt: skip


def plain_log(*rises: float, sample: str = "S1") -> Log:
    """A day that is easily worked by hand: C = 10 000 J/K from Setup, 1 g, 60 J of ignition, no acid.

    A rise of 2.5 K is (10 000 x 2.5 - 60) / 1 = 24 940 J/g as analysed; with 4 % moisture 24 940 / 0.96 dry.
    """
    log = Log()
    log.setup = {
        "Laboratory": ("Invented laboratory",),
        "Batch date": (DAY,),
        "Analyst": ("A",),
        "Reviewer": ("B",),
        "Method": ("lab",),
        "Acid scheme": ("none",),
        "Comparison basis": ("ad",),
        "Repeatability limit": (120, "J/g", "own"),
        "Heat-capacity life": (90, "days", "own"),
        "Fixed ignition heat": (60, "J", "own"),
        "Effective heat capacity": (10000, "J/K", "own series", SINCE),
    }
    log.rows["Samples"] = []
    for number, rise in enumerate(rises, 1):
        log.add("Runs", firing_no=number, sample_no=sample, sample_mass=1.0, temperature_rise=rise)
    log.add("Samples", sample_no=sample, moisture_analysis=4.0)
    return log


def run(log: Log, folder: Path) -> Evaluation:
    """Read and evaluate a log through a real file."""
    return evaluate(read_workbook(open_source(log.save(folder))))


def codes(evaluation: Evaluation) -> list[str]:
    return [finding.code for finding in evaluation.findings]


def sample(evaluation: Evaluation, name: str = "S1") -> SampleResult:
    return next(result for result in evaluation.samples if result.sample == name)


def firing(evaluation: Evaluation, number: int | str) -> FiringResult:
    return next(result for result in evaluation.firings if result.row.firing == str(number))
