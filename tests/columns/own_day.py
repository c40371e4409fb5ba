"""One invented day, written in the blank workbook's sheets and as sheets of a lab's own, to be read the same.

The figures are synthesised backwards by the arithmetic below, which shares nothing with batchcal's.
"""

import datetime as dt
import random
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import openpyxl
from logbook import Log

from batchcal.evaluate import evaluate
from batchcal.model import Evaluation
from batchcal.process import check_workbook, propose_columns, save_columns
from batchcal.workbook.reader import read_workbook
from batchcal.workbook.source import open_source

DAY = dt.date(2026, 10, 14)
BENZOIC_J_PER_G = 26454.0
CAPACITY_J_PER_K = 10124.0
WIRE_J_PER_CM = 9.6
NITRIC_J_PER_MMOL = 59.9
SULPHURIC_J_PER_MMOL = 301.4
SULPHUR_MG_PER_MMOL = 32.06

SETUP: dict[str, tuple[Any, ...]] = {
    "Laboratory": ("Invented laboratory",),
    "Batch date": (DAY,),
    "Analyst": ("MO",),
    "Reviewer": ("KL",),
    "Method": ("lab",),
    "Acid scheme": ("total as nitric",),
    "Comparison basis": ("d",),
    "Bases required": ("ad, d",),
    "Repeatability limit": (120, "J/g", "own validation"),
    "Benzoic acid heat of combustion": (BENZOIC_J_PER_G, "J/g", "certificate (invented)"),
    "Benzoic acid mass basis": ("air",),
    "Wire heat": (WIRE_J_PER_CM, "J/cm", "maker (invented)"),
    "Nitric acid heat": (59.9, "kJ/mol", "own validation"),
    "Sulphuric acid heat": (301.4, "kJ/mol", "own validation"),
    "Series minimum": (5, None, "own validation"),
    "Series relative SD limit": (0.2, "%", "own validation"),
    "Heat-capacity life": (90, "days", "own validation"),
    "Check limit": (0.3, "%", "own validation"),
}


@dataclass
class Fired:
    """One firing as the bench would log it."""

    number: int
    kind: str
    sample: str = ""
    replicate: str = ""
    crucible: float = 0.0
    gross: float = 0.0
    initial: float = 0.0
    final: float = 0.0
    fitted: float = 10.0
    left: float = 0.0
    titre: float = 0.0
    date: dt.date = DAY
    strength: float = 0.1

    @property
    def mass(self) -> float:
        return round(self.gross - self.crucible, 4)

    @property
    def rise(self) -> float:
        return round(self.final - self.initial, 3)


@dataclass
class Fuel:
    """One sample: what the other benches found."""

    name: str
    description: str
    gross_ad: float
    moisture: float
    ash: float
    sulphur: float


@dataclass
class Day:
    firings: list[Fired] = field(default_factory=list)
    fuels: list[Fuel] = field(default_factory=list)

    def of(self, sample: str) -> list[Fired]:
        return [firing for firing in self.firings if firing.sample == sample]

    def fuel(self, sample: str) -> Fuel:
        return next(fuel for fuel in self.fuels if fuel.name == sample)


def make_day(seed: int = 1, samples: int = 3, *, calibrations: int = 5, checks: int = 1) -> Day:
    """Fire a day: benzoic acid first, then each sample twice."""
    draw = random.Random(seed)
    day = Day()
    for index in range(samples):
        day.fuels.append(
            Fuel(
                f"K-{101 + index}",
                ("hard coal", "lignite", "wood pellets")[index % 3],
                round(draw.uniform(17_000, 29_000), 0),
                round(draw.uniform(1.0, 9.0), 2),
                round(draw.uniform(2.0, 16.0), 2),
                round(draw.uniform(0.2, 1.8), 2),
            )
        )
    plan = [("calibration", "", "")] * calibrations + [("check", "", "")] * checks
    plan += [("sample", fuel.name, letter) for fuel in day.fuels for letter in "AB"]
    for number, (kind, sample, letter) in enumerate(plan, 41):
        fired = Fired(number, kind, sample, letter)
        fired.crucible = round(draw.uniform(11.0, 12.9), 4)
        mass = round(draw.uniform(0.95, 1.05), 4)
        fired.gross = round(fired.crucible + mass, 4)
        fired.left = round(draw.uniform(1.0, 4.0), 1)
        fired.initial = round(draw.uniform(22.0, 24.0), 3)
        fired.titre = round(draw.uniform(4.0, 7.5), 2)
        heat = BENZOIC_J_PER_G * mass
        if sample:
            fuel = day.fuel(sample)
            sulphur = fuel.sulphur / 100 * mass * 1000 / SULPHUR_MG_PER_MMOL
            heat = fuel.gross_ad * mass + sulphur * (SULPHURIC_J_PER_MMOL - 2 * NITRIC_J_PER_MMOL)
        heat += (fired.fitted - fired.left) * WIRE_J_PER_CM + fired.titre * 0.1 * NITRIC_J_PER_MMOL
        rise = heat / CAPACITY_J_PER_K * (1 + draw.gauss(0, 2e-4))
        fired.final = round(fired.initial + rise, 3)
        day.firings.append(fired)
    return day


def layout_log(day: Day, *, differences: bool = True) -> Log:
    """The day in the sheets of the blank workbook; with ``differences``, mass and rise are typed as well."""
    log = Log()
    log.setup = dict(SETUP)
    for sheet in ("Calibration", "Titration", "Samples"):
        log.rows[sheet] = []
    for fired in day.firings:
        sheet = "Calibration" if fired.kind == "calibration" else "Runs"
        entry = {
            "firing_no": fired.number,
            "date": fired.date,
            "crucible": fired.crucible,
            "crucible_and_sample": fired.gross,
            "wire_fitted": fired.fitted,
            "wire_left": fired.left,
            "initial_temperature": fired.initial,
            "final_temperature": fired.final,
        }
        if differences:
            entry |= {"sample_mass": fired.mass, "temperature_rise": fired.rise}
        if fired.kind == "check":
            entry["purpose"] = "check"
        if fired.sample:
            entry |= {"sample_no": fired.sample, "replicate": fired.replicate}
        log.add(sheet, **entry)
        log.add(
            "Titration", firing_no=fired.number, titrant="sodium hydroxide", concentration=fired.strength,
            concentration_unit="mol/L", titre=fired.titre,
        )  # fmt: skip
    for fuel in day.fuels:
        log.add(
            "Samples", sample_no=fuel.name, description=fuel.description, moisture_analysis=fuel.moisture,
            ash=fuel.ash, sulphur=fuel.sulphur, basis="ad",
        )  # fmt: skip
    return log


def setup_toml(*without: str) -> str:
    """The day's Setup as entries of a map."""
    lines = []
    for name, entry in SETUP.items():
        if name in without:
            continue
        value = entry[0]
        if isinstance(value, dt.date):
            shown = value.isoformat()
        else:
            shown = f'"{value}"' if isinstance(value, str) else repr(value)
        unit = f', unit = "{entry[1]}"' if len(entry) > 1 and entry[1] else ""
        source = f', source = "{entry[2]}"' if len(entry) > 2 else ""
        since = f", in_force_from = {entry[3]}" if len(entry) > 3 else ""
        lines.append(f'"{name}" = {{ value = {shown}{unit}{source}{since} }}')
    return "[setup]\n" + "\n".join(lines) + "\n"


def run_layout(day: Day, folder: Path, *, differences: bool = True) -> Evaluation:
    log = layout_log(day, differences=differences)
    return evaluate(read_workbook(open_source(log.save(folder, "layout.xlsx"))))


class Sheets:
    """A workbook in the making, cell by cell or row by row."""

    def __init__(self) -> None:
        self.book = openpyxl.Workbook()
        first = self.book.active
        assert first is not None
        self.book.remove(first)

    def sheet(self, name: str, rows: list[list[Any]]) -> Any:
        page = self.book.create_sheet(name)
        for number, row in enumerate(rows, 1):
            for column, value in enumerate(row, 1):
                if value is not None:
                    page.cell(number, column).value = value
        return page

    def save(self, folder: Path, name: str = "own.xlsx") -> Path:
        path = folder / name
        self.book.save(path)
        return path


def figures(evaluation: Evaluation) -> dict[str, Any]:
    """The numbers of a day that do not depend on how its firings are numbered."""
    firings = {}
    for firing in evaluation.firings:
        row = firing.row
        name = f"{firing.purpose}/{row.sample}/{row.replicate or ''}/{row.crucible_g}"
        firings[name] = (
            firing.mass_g, firing.rise_K, firing.heat_capacity_J_per_K, firing.ignition_J, firing.nitric_J,
            firing.sulphuric_J, firing.gross_ad_J_per_g, firing.gross_d_J_per_g, firing.recovery_percent,
        )  # fmt: skip
    samples = {
        sample.sample: (sample.decision, sample.n_used, sample.range_J_per_g, dict(sample.gross_J_per_g))
        for sample in evaluation.samples
    }
    series = [(one.heat_capacity_J_per_K, one.n, one.sd_J_per_K, one.state) for one in evaluation.series]
    return {"firings": firings, "samples": samples, "series": series}


def assert_same(one: Any, other: Any, at: str = "") -> None:
    """Numbers to 1e-12 of each other, all else equal."""
    if isinstance(one, dict):
        assert set(one) == set(other), at
        for key in one:
            assert_same(one[key], other[key], f"{at}/{key}")
    elif isinstance(one, list | tuple):
        assert len(one) == len(other), at
        for index, pair in enumerate(zip(one, other, strict=True)):
            assert_same(*pair, f"{at}/{index}")
    elif isinstance(one, float) and isinstance(other, float):
        assert abs(one - other) <= 1e-12 * max(1.0, abs(one)), (at, one, other)
    else:
        assert one == other, (at, one, other)


def add_setup(text: str) -> str:
    """A map that was saved, with the day's Setup filled in by hand, but for what the map has found on the sheet."""
    found = {name for name in SETUP if f'"{name}" = {{ label' in text or f"\n{name} = {{ label" in text}
    lines = setup_toml(*found).removeprefix("[setup]\n")
    return text.replace("[setup]\n", f"[setup]\n{lines}", 1)


def propose_and_read(
    own: Path, answers: dict[str, str], *, earlier: Path | None = None, edits: dict[str, str] | None = None
) -> Evaluation:
    """The way of a user: columns asks (``answers`` by the end of the question's name), saves; then check reads.

    ``edits`` are made in the map by hand.
    """
    asked: list[str] = []

    def ask(question: Any, proposal: Any) -> str | None:
        asked.append(question.key)
        for end, answer in answers.items():
            if question.key.endswith(end):
                return answer
        raise AssertionError(f"an unexpected question: {question.key}: {question.text}")

    proposal = propose_columns(own, earlier, ask)
    unasked = [end for end in answers if not any(key.endswith(end) for key in asked)]
    assert not unasked, f"not asked: {unasked}"
    saved = own.with_suffix(".toml")
    save_columns(proposal.column_map, saved, own.name, force=True)
    text = add_setup(saved.read_text(encoding="utf-8"))
    for before, after in (edits or {}).items():
        assert text.count(before) == 1, before
        text = text.replace(before, after)
    saved.write_text(text, encoding="utf-8")
    return check_workbook(own, columns=saved)
