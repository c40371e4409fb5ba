"""Make the example workbooks anew: ``python example_workbooks/make_examples.py [FOLDER]``.

Everything in them is invented: the Harrow Tarn Fuel Laboratory, its people, fuels, certificates and readings.
The readings are synthesised by the arithmetic below, which shares nothing with batchcal's: a charge of known
calorific value is "fired" and the rise that an indicator would show is worked out backwards and rounded to its
step. Only the blank workbook comes from batchcal, and the map of the lab's own sheet, whose questions are answered
here. The same random seed gives the same workbooks.
"""

import datetime as dt
import io
import math
import random
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
from msgspec.structs import replace
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from batchcal.process import propose_columns
from batchcal.workbook.blank import blank_workbook
from batchcal.workbook.columns.column_map import MapSetup
from batchcal.workbook.columns.map_file import written
from batchcal.workbook.columns.propose import Proposal
from batchcal.workbook.columns.questions import Question
from batchcal.workbook.package import new_book, save

DAY = dt.date(2026, 10, 14)
BENZOIC_J_PER_G_IN_AIR = 26454.0
WIRE_J_PER_CM = 9.6
THREAD_J_PER_MG = 17.5
NITRIC_KJ_PER_MOL = 59.9
SULPHURIC_KJ_PER_MOL = 301.4
SULPHUR_G_PER_MOL = 32.06
INVENTED = "invented example"

CAPACITY = {"B1": 10124.0, "B2": 10087.0}


class Form:
    """The blank workbook being filled in, by heading."""

    def __init__(self) -> None:
        """Start from the blank workbook."""
        self.workbook: Workbook = openpyxl.load_workbook(io.BytesIO(blank_workbook()))
        self.rows: dict[str, int] = {}

    def columns(self, name: str) -> tuple[int, dict[str, int]]:
        """Return the heading row of a sheet and the column of each heading, without its unit."""
        sheet = self.workbook[name]
        for row in range(1, 31):
            found = {str(cell.value).partition(" (")[0]: cell.column for cell in sheet[row] if cell.value is not None}
            if {"Item", "Firing no.", "Sample no."} & set(found) and len(found) > 3:
                return row, found
        raise LookupError(name)

    def setup(self, values: dict[str, tuple[Any, ...]]) -> None:
        """Enter items as name: (value, unit, source, in force from); a new name gets a new row."""
        sheet = self.workbook["Setup"]
        heading, columns = self.columns("Setup")
        at = {str(sheet.cell(row, columns["Item"]).value): row for row in range(heading + 1, sheet.max_row + 1)}
        blank_rows = [name for name in at if "[" in name]
        for name, entry in values.items():
            row = at.get(name)
            if row is None and "[" in name:
                template = next((other for other in blank_rows if other.split(" [")[0] == name.split(" [")[0]), None)
                if template is not None:
                    row = at.pop(template)
                    blank_rows.remove(template)
                else:
                    row = sheet.max_row + 1
            if row is None:
                raise LookupError(name)
            sheet.cell(row, columns["Item"]).value = name
            for heading_name, value in zip(("Value", "Unit", "Source", "In force from"), entry, strict=False):
                if value is not None:
                    sheet.cell(row, columns[heading_name]).value = value

    def add(self, name: str, **values: Any) -> int:
        """Fill the next row of a sheet; keys are headings with blanks written as underscores. Returns the row."""
        sheet = self.workbook[name]
        heading, columns = self.columns(name)
        row = self.rows.get(name, heading) + 1
        self.rows[name] = row
        by_key = {_key(heading_name): column for heading_name, column in columns.items()}
        for key, value in values.items():
            if value is not None:
                sheet.cell(row, by_key[key]).value = value
        return row

    def cell(self, name: str, row: int, key: str) -> Any:
        """Return a cell to be spoilt or dressed."""
        _, columns = self.columns(name)
        by_key = {_key(heading_name): column for heading_name, column in columns.items()}
        return self.workbook[name].cell(row, by_key[key])

    def save(self, path: Path) -> None:
        """Write the workbook, with fixed dates in its properties."""
        self.workbook.properties.creator = "batchcal example (invented data)"
        self.workbook.properties.created = self.workbook.properties.modified = dt.datetime(2026, 10, 14, 17, 0)
        path.write_bytes(save(self.workbook))


def _key(heading: str) -> str:
    return heading.lower().replace(".", "").replace("+", "and").replace(",", "").replace("-", "_").replace(" ", "_")


class Bench:
    """The bench of the invented laboratory: fires charges and logs them."""

    def __init__(self, form: Form, seed: int, scheme: str, first_firing: int) -> None:
        """Set up a bench with its own random scatter."""
        self.form = form
        self.random = random.Random(seed)
        self.scheme = scheme
        self.number = first_firing
        self.drawn: set[tuple[float, float]] = set()
        """Starts and ends already given out."""

    def fire(
        self,
        sheet: str,
        bomb: str,
        value_J_per_g: float,
        *,
        sample: str | None = None,
        replicate: str | None = None,
        purpose: str | None = None,
        sulphur: float = 0.0,
        nominal_g: float = 1.0,
        date: dt.date = DAY,
        analyst: str = "MO",
        offset_J_per_g: float = 0.0,
        aid: tuple[str, float, float] | None = None,
        **extra: Any,
    ) -> int:
        """Fire one charge of a known calorific value and log it; returns the row on the sheet."""
        mass = round(nominal_g + self.random.uniform(-0.04, 0.04), 4)
        crucible = round(11.2 + self.random.uniform(0, 0.9), 4)
        burnt_cm = round(self.random.uniform(6.0, 8.5), 1)
        fitted = 10.0
        thread = round(self.random.uniform(2.5, 3.5), 1)
        nitric_mmol = (
            self.random.uniform(0.35, 0.55) if purpose == "sample" or sample else self.random.uniform(0.5, 0.7)
        )
        sulphur_mmol = mass * sulphur / 100 / SULPHUR_G_PER_MOL * 1e3
        ignition = burnt_cm * WIRE_J_PER_CM + thread * THREAD_J_PER_MG
        # The simplest acid chemistry: every mole of nitric and of sulphuric acid gives its own heat.
        acids = nitric_mmol * NITRIC_KJ_PER_MOL + sulphur_mmol * SULPHURIC_KJ_PER_MOL
        heat = mass * (value_J_per_g + offset_J_per_g + self.random.gauss(0, 12)) + ignition + acids
        aid_columns: dict[str, Any] = {}
        if aid is not None:
            name, aid_mass, aid_value = aid
            heat += aid_mass * aid_value
            aid_columns = {"aid": name, "aid_mass": aid_mass}
        rise = round(heat / CAPACITY[bomb], 3)
        exchange = round(self.random.uniform(-0.004, 0.006), 4)
        start = round(22.4 + self.random.uniform(0, 0.8), 3)
        while (start, round(start + rise - exchange, 3)) in self.drawn:
            start = round(start - 0.013, 3)  # the same start and end twice in a day would be taken for a copy
        self.drawn.add((start, round(start + rise - exchange, 3)))
        row = self.form.add(
            sheet,
            **{
                "firing_no": self.number,
                "date": date,
                "time": self._clock(),
                "purpose": purpose,
                "sample_no": sample,
                "replicate": replicate,
                "outcome": "good",
                "analyst": analyst,
                "calorimeter": "K1",
                "bomb": bomb,
                "crucible": crucible,
                "crucible_and_sample": round(crucible + mass, 4),
                "wire_fitted": fitted,
                "wire_left": round(fitted - burnt_cm, 1),
                "thread": thread,
                "water_in_bomb": 1.0,
                "oxygen_pressure": 3.0,
                "initial_temperature": start,
                "final_temperature": round(start + rise - exchange, 3),
                "heat_exchange_correction": exchange,
                "residue": "none",
                "washings_kept": "yes",
                **aid_columns,
                **extra,
            },
        )
        if self.scheme in ("total as nitric", "sulphur apart"):
            self._titrate(nitric_mmol + 2 * sulphur_mmol)
        self.number += 1
        return row

    def misfire(self, bomb: str, sample: str, replicate: str) -> None:
        """Log a charge that did not light."""
        self.form.add(
            "Runs", firing_no=self.number, date=DAY, time=self._clock(), sample_no=sample, replicate=replicate,
            outcome="misfire", reason="wire slipped off the electrode", analyst="MO", calorimeter="K1", bomb=bomb,
        )  # fmt: skip
        self.number += 1

    def _clock(self) -> dt.time:
        minutes = 8 * 60 + 5 + 35 * (self.number % 100)
        return dt.time(minutes // 60 % 24, minutes % 60)

    def _titrate(self, mmol: float) -> None:
        start = round(self.random.uniform(0.0, 2.0), 2)
        blank = 0.10
        end = round(start + blank + mmol / 0.1, 2)
        # 0.0500 mol/L sodium carbonate takes up two equivalents a mole: 0.1 mmol per mL.
        self.form.add(
            "Titration", firing_no=self.number, titrant="sodium carbonate", concentration=0.05,
            concentration_unit="mol/L", burette_start=start, burette_end=end, blank=blank,
        )  # fmt: skip

    def series(self, bomb: str, days: list[dt.date], each: int = 2, spread: float = 6.0) -> None:
        """Fire a series of benzoic acid charges of different masses over several days."""
        for index, day in enumerate(days):
            for repeat in range(each):
                self.fire(
                    "Calibration",
                    bomb,
                    BENZOIC_J_PER_G_IN_AIR,
                    nominal_g=0.86 + 0.1 * (index + repeat),
                    date=day,
                    analyst="MO" if index % 2 else "TW",
                    offset_J_per_g=self.random.gauss(0, spread),
                )


def _common(scheme: str) -> dict[str, tuple[Any, ...]]:
    since = dt.date(2026, 1, 5)
    entries: dict[str, tuple[Any, ...]] = {
        "Laboratory": ("Harrow Tarn Fuel Laboratory (invented)",),
        "Batch date": (DAY,),
        "Analyst": ("M. Oakes",),
        "Reviewer": ("T. Wren",),
        "Acid scheme": (scheme,),
        "Comparison basis": ("d",),
        "Further-test rule": ("range",),
        "Repeatability limit": (120, "J/g", "Own verification report 26-03 (invented)", since),
        "Benzoic acid heat of combustion": (26434, "J/g", "Certificate of lot 7 (invented)", since),
        "Benzoic acid mass basis": ("vacuum", None, "Certificate of lot 7 (invented)"),
        "Series minimum": (5, None, "Own procedure P-12 (invented)", since),
        "Series relative SD limit": (0.2, "%", "Own procedure P-12 (invented)", since),
        "Heat-capacity life": (3, "months", "Own procedure P-12 (invented)", since),
        "Check limit": (0.25, "%", "Own procedure P-12 (invented)", since),
        "Reading resolution": (0.001, "K", "Thermometer certificate (invented)", since),
        "Balance standard uncertainty": (0.1, "mg", "Balance certificate (invented)", since),
        "Thermometer standard uncertainty": (0.0015, "K", "Thermometer certificate (invented)", since),
        "Heat-exchange standard uncertainty": (0.001, "K", "Own budget U-2 (invented)", since),
        "Benzoic acid standard uncertainty": (1.5, "J/g", "Certificate of lot 7 (invented)", since),
        "Correction relative uncertainty": (10, "%", "Own budget U-2 (invented)", since),
        "Aid relative uncertainty": (0.05, "%", "Own budget U-2 (invented)", since),
        "Moisture standard uncertainty": (0.1, "%", "Own budget U-2 (invented)", since),
        "Ash standard uncertainty": (0.1, "%", "Own budget U-2 (invented)", since),
        "Hydrogen standard uncertainty": (0.15, "%", "Own budget U-2 (invented)", since),
        "Maximum charge energy": (33, "kJ", "Equipment's instructions (invented)", since),
        "Maximum sample mass": (1.3, "g", "Equipment's instructions (invented)", since),
        "Maximum oxygen pressure": (3.3, "MPa", "Equipment's instructions (invented)", since),
        "Minimum oxygen pressure": (2.5, "MPa", "Own procedure P-12 (invented)", since),
    }
    if scheme != "none":
        entries["Sulphuric acid heat"] = (SULPHURIC_KJ_PER_MOL, "kJ/mol", "Own table of constants (invented)", since)
    entries["Wire heat"] = (WIRE_J_PER_CM, "J/cm", "Wire spool 3 (invented)", since)
    entries["Thread heat"] = (THREAD_J_PER_MG, "J/mg", "Thread lot 2 (invented)", since)
    entries["Nitric acid heat"] = (NITRIC_KJ_PER_MOL, "kJ/mol", "Own table of constants (invented)", since)
    return entries


RECENT = [dt.date(2026, 9, 1), dt.date(2026, 9, 2), dt.date(2026, 9, 3)]
OLD = [dt.date(2026, 4, 7), dt.date(2026, 4, 8), dt.date(2026, 4, 9)]

# sample number, description, fuel class, source, MJ/kg as analysed, M analysis, M total, ash, sulphur (both ad)
FUELS: list[tuple[str, str, str, str, float, float, float, float, float]] = [
    ("26-1041", "Hard coal, singles", "hard coal", "Upper Fell pit (invented)", 28450, 2.31, 7.9, 9.12, 0.84),
    ("26-1042", "Hard coal, fines", "hard coal", "Upper Fell pit (invented)", 26120, 2.68, 11.4, 14.85, 1.12),
    ("26-1043", "Wood pellets", "wood pellets", "Larkmoor mill (invented)", 18640, 6.42, 7.6, 0.38, 0.01),
    ("26-1044", "Straw bales", "straw", "Low Acre farm (invented)", 16850, 8.05, 14.2, 5.61, 0.11),
    ("26-1045", "Refuse-derived fuel", "refuse-derived fuel", "Quay Lane (invented)", 19730, 3.94, 18.8, 13.2, 0.27),
    ("26-1046", "Heavy fuel oil", "heavy oil", "Tank 4 (invented)", 42610, 0.12, 0.2, 0.03, 1.86),
    ("26-1047", "Sewage sludge, dried", "sludge", "Beck works (invented)", 12480, 6.77, 9.4, 38.6, 1.05),
    ("26-1048", "Charcoal", "charcoal", "Larkmoor mill (invented)", 29980, 3.55, 5.1, 4.02, 0.06),
]  # fmt: skip


# hydrogen without that of the moisture, nitrogen and oxygen, % as analysed
COMPOSITION = {
    "26-1041": (4.61, 1.42, 7.9),
    "26-1042": (4.22, 1.31, 8.4),
    "26-1043": (5.63, 0.12, 40.2),
    "26-1044": (5.31, 0.61, 38.9),
    "26-1045": (5.94, 0.93, 27.8),
    "26-1046": (11.24, 0.42, 0.5),
    "26-1047": (3.72, 2.93, 17.6),
    "26-1048": (2.63, 0.52, 5.4),
}


def _nominal(value: float) -> float:
    """Return a mass that gives a rise of about 2.6 K, within what the invented instructions allow."""
    return round(min(1.2, max(0.5, 26000 / value)), 2)


def _samples(form: Form, fuels: list[tuple[Any, ...]], **changes: dict[str, Any]) -> None:
    for number, description, kind, source, _, moisture, total, ash, sulphur in fuels:
        row = {
            "sample_no": number,
            "description": description,
            "fuel_class": kind,
            "source": source,
            "moisture_analysis": moisture,
            "moisture_total": total,
            "ash": ash,
            "sulphur": sulphur,
            "basis": "ad",
            "moisture_date": DAY,
        } | changes.get(number.replace("-", "_"), {})
        form.add("Samples", **row)


def clean_day() -> Form:
    """Make a day on which everything is in order: two bombs, eight samples in duplicate, all ready."""
    form = Form()
    confirmed = "Own controlled copy, clause on precision (invented)"
    form.setup(
        _common("total as nitric")
        | {
            "Batch": ("Clean day (invented example)",),
            "Method": ("iso-1928",),
            "Repeatability limit": ("method", None, confirmed, dt.date(2026, 1, 5)),
            "Bases required": ("ad, d, ar, daf, net",),
            "Report unit": ("J/g",),
            "Report rounding": (10,),
        }
    )  # fmt: skip
    bench = Bench(form, 41, "total as nitric", 3101)
    bench.series("B1", RECENT)
    bench.series("B2", RECENT)
    bench.number = 3201
    bench.fire("Runs", "B1", BENZOIC_J_PER_G_IN_AIR, purpose="check")
    bench.fire("Runs", "B2", BENZOIC_J_PER_G_IN_AIR, purpose="check")
    for number, _, _, _, value, *_, sulphur in FUELS:
        for replicate, bomb in (("A", "B1"), ("B", "B2")):
            bench.fire(
                "Runs", bomb, value, sample=number, replicate=replicate, sulphur=sulphur, nominal_g=_nominal(value)
            )
    composition = {
        number.replace("-", "_"): {
            "hydrogen": hydrogen,
            "nitrogen": nitrogen,
            "oxygen": oxygen,
            "hydrogen_includes_moisture": "no",
        }
        for number, (hydrogen, nitrogen, oxygen) in COMPOSITION.items()
    }
    _samples(form, FUELS, **composition)
    return form


def difficult_day() -> Form:
    """Make a day of honest trouble: pairs that disagree, a heat capacity that has expired, moisture still out."""
    form = Form()
    form.setup(
        _common("sulphur apart")
        | {
            "Batch": ("Difficult day (invented example)",),
            "Method": ("lab",),
            "Bases required": ("ad, d",),
            "Report unit": ("MJ/kg",),
            "Report rounding": (0.01,),
        }
    )
    bench = Bench(form, 52, "sulphur apart", 3301)
    bench.series("B1", RECENT)
    bench.series("B2", OLD)
    bench.number = 3401
    bench.fire("Runs", "B1", BENZOIC_J_PER_G_IN_AIR, purpose="check")
    bench.fire("Runs", "B2", BENZOIC_J_PER_G_IN_AIR, purpose="check")
    # Offsets in J/g as analysed for each firing of a sample, all in bomb B1 unless said.
    plan: list[tuple[int, list[float], str]] = [
        (0, [0, 20], "B1"),  # agrees: ready
        (1, [-130, 130], "B1"),  # 260 J/g apart: a third firing is due
        (2, [-70, 70, 0], "B1"),  # about 130 apart, third in between: three within 1.2 times the limit
        (3, [-150, 150, 0, 20], "B1"),  # four over 300 J/g: a person must look
        (4, [0, 15], "B1"),  # agrees, but its moisture is missing
        (5, [0, 10], "B2"),  # agrees, on the expired heat capacity
        (6, [0], "B1"),  # one firing and one misfire
    ]
    for index, offsets, bomb in plan:
        number, _, _, _, value, *_, sulphur = FUELS[index]
        for replicate, offset in zip("ABCD", offsets, strict=False):
            bench.fire(
                "Runs", bomb, value, sample=number, replicate=replicate, sulphur=sulphur,
                nominal_g=_nominal(value), offset_J_per_g=offset,
            )  # fmt: skip
        if index == 6:
            bench.misfire(bomb, number, "B")
    _samples(form, FUELS[:7], **{"26_1045": {"moisture_analysis": None, "moisture_date": None}})
    return form


def typing_slips_day() -> Form:
    """Make an honest day with one typing slip in each of six samples; two are left in order."""
    form = Form()
    form.setup(
        _common("fixed")
        | {
            "Batch": ("Day of typing slips (invented example)",),
            "Method": ("lab",),
            "Nitric acid heat": (28, "J", "Mean of 60 titrations (invented)", dt.date(2026, 1, 5)),
            "Bases required": ("ad, d",),
            "Report unit": ("kJ/kg",),
            "Report rounding": (10,),
            "Aid heat [paraffin oil]": (46050, "J/g", "Mean of 6 firings, lot 9 (invented)", dt.date(2026, 2, 2)),
        }
    )
    bench = Bench(form, 63, "fixed", 3501)
    bench.series("B1", RECENT)
    bench.series("B2", RECENT)
    bench.number = 3601
    bench.fire("Runs", "B1", BENZOIC_J_PER_G_IN_AIR, purpose="check")
    bench.fire("Runs", "B2", BENZOIC_J_PER_G_IN_AIR, purpose="check")
    rows: dict[tuple[str, str], int] = {}
    for number, _, _, _, value, *_, sulphur in FUELS:
        aid = ("paraffin oil", 0.15, 46050.0) if number == "26-1047" else None
        for replicate, bomb in (("A", "B1"), ("B", "B2")):
            rows[number, replicate] = bench.fire(
                "Runs", bomb, value, sample=number, replicate=replicate, sulphur=sulphur,
                nominal_g=0.9 if aid else _nominal(value), aid=aid,
            )  # fmt: skip
    _samples(form, FUELS)
    _spoil(form, rows)
    return form


def _spoil(form: Form, rows: dict[tuple[str, str], int]) -> None:
    # 26-1041 and 26-1047 are left as they are.
    weighed = form.cell("Runs", rows["26-1042", "A"], "crucible_and_sample")
    weighed.value = str(weighed.value).replace(".", ",")  # decimal comma: text
    final = form.cell("Runs", rows["26-1043", "B"], "final_temperature")
    final.value = f"{final.value} C"  # a unit behind the number
    left = form.cell("Runs", rows["26-1044", "A"], "wire_left")
    left.value = left.value * 10  # mm typed as cm
    form.cell("Runs", rows["26-1045", "B"], "sample_no").value = "26-1054"  # digits exchanged
    form.cell("Runs", rows["26-1046", "A"], "firing_no").value = form.cell(
        "Runs", rows["26-1046", "B"], "firing_no"
    ).value  # the same number twice
    crucible = form.cell("Runs", rows["26-1048", "B"], "crucible")
    gross = form.cell("Runs", rows["26-1048", "B"], "crucible_and_sample")
    form.cell("Runs", rows["26-1048", "B"], "sample_mass").value = round(gross.value - crucible.value + 0.01, 4)


def simple_bench_day() -> Form:
    """Make a day of the simplest bench: a zeroed indicator read to 0.01, calories, normality, kgf/cm²."""
    form = Form()
    cal = 4.1868
    since = dt.date(2026, 8, 3)
    entries = _common("total as nitric")
    for name in ("Maximum charge energy", "Maximum sample mass", "Minimum oxygen pressure", "Series minimum",
                 "Series relative SD limit", "Thread heat"):  # fmt: skip
        del entries[name]
    form.setup(
        entries
        | {
            "Batch": ("Simple bench (invented example)",),
            "Method": ("lab",),
            "Comparison basis": ("ad",),
            "Bases required": ("ad, d",),
            "Repeatability limit": (50, "kcal/kg", "Own verification report 26-04 (invented)", since),
            "Calorie": ("international",),
            "Report unit": ("kcal/kg",),
            "Report rounding": (10,),
            "Wire heat": (2.3, "cal/cm", "Wire spool 3 (invented)", since),
            "Nitric acid heat": (14.3, "kcal/mol", "Own table of constants (invented)", since),
            "Sulphuric acid heat": (72.0, "kcal/mol", "Own table of constants (invented)", since),
            "Benzoic acid heat of combustion": (6318, "cal/g", "Certificate of lot 7 (invented)", since),
            "Benzoic acid mass basis": ("air", None, "Certificate of lot 7 (invented)"),
            "Reading resolution": (0.01, "°C", "Indicator (invented)", since),
            "Check limit": (0.6, "%", "Own procedure P-12 (invented)", since),
            "Maximum oxygen pressure": (33, "kgf/cm²", "Equipment's instructions (invented)", since),
            "Heat-capacity life": (6, "months", "Own procedure P-12 (invented)", since),
            "Effective heat capacity [calorimeter/bomb]": (2415, "cal/°C", "Series of 3 August 2026 (invented)", since),
        }
    )
    for name in ("Calibration",):
        del form.workbook[name]
    _rename_headings(form.workbook["Runs"])
    randomly = random.Random(74)
    firing = 3701
    plan: list[tuple[str, str | None, float, float]] = [("check", None, 6318 * cal, 0.0)]
    plan += [("", fuel[0], fuel[4], fuel[8]) for fuel in FUELS[:6] for _ in "AB"]
    for index, (purpose, sample, value, sulphur) in enumerate(plan):
        mass = round((1.0 if purpose else _nominal(value)) + randomly.uniform(-0.03, 0.03), 4)
        crucible = round(11.2 + randomly.uniform(0, 0.9), 4)
        burnt = round(randomly.uniform(6.0, 8.5), 1)
        nitric, sulphuric = randomly.uniform(0.4, 0.6), mass * sulphur / 100 / SULPHUR_G_PER_MOL * 1e3
        heat = mass * value + burnt * 2.3 * cal + nitric * 14.3 * cal + sulphuric * 72.0 * cal
        form.add(
            "Runs", firing_no=firing, date=DAY, purpose=purpose or None, sample_no=sample,
            replicate=None if purpose else "AB"[(index - 1) % 2], crucible=crucible,
            crucible_and_sample=round(crucible + mass, 4), wire_fitted=10.0, wire_left=round(10.0 - burnt, 1),
            oxygen_pressure=30, temperature_rise=round(heat / (2415 * cal), 2), washings_kept="yes",
        )  # fmt: skip
        form.add(
            "Titration", firing_no=firing, titrant="sodium carbonate", concentration=0.1, concentration_unit="eq/L",
            titre=round((nitric + 2 * sulphuric) / 0.1, 1),
        )  # fmt: skip
        firing += 1
    _samples(form, FUELS[:6])
    return form


def _rename_headings(sheet: Worksheet) -> None:
    """Give the simple bench its own units in the headings, and only the columns it fills."""
    units = {"Oxygen pressure (MPa)": "Oxygen pressure (kgf/cm²)", "Temperature rise (K)": "Temperature rise (°C)"}
    unused = {"Initial temperature (°C)", "Final temperature (°C)", "Heat-exchange correction (K)", "Calorimeter",
              "Bomb", "Sample mass (g)", "Wire mass (mg)", "Thread (mg)", "Aid", "Aid mass (g)", "Capsule mass (g)",
              "Water in bomb (mL)", "Series", "Time"}  # fmt: skip
    for row in sheet.iter_rows(max_row=30):
        for cell in row:
            if str(cell.value) in units:
                cell.value = units[str(cell.value)]
            elif cell.value in unused:
                cell.value = None
                cell.comment = None


# The day read against time: sample number, description, fuel class, source, gross value as fired (J/g),
# moisture of the analysis sample and total, ash, sulphur (% as analysed)
READ_FUELS: list[tuple[str, str, str, str, float, float, float, float, float]] = [
    ("26-1051", "Refuse-derived fuel, shredded", "refuse-derived fuel", "Quay Lane (invented)",
     19640, 3.71, 17.9, 13.6, 0.31),
    ("26-1052", "Heavy fuel oil", "heavy oil", "Tank 7 (invented)", 42480, 0.14, 0.2, 0.04, 1.72),
    ("26-1053", "Wood pellets", "wood pellets", "Larkmoor mill (invented)", 18710, 6.18, 7.4, 0.41, 0.01),
    ("26-1054", "Light naphtha", "light oil", "Wharf store (invented)", 46750, 0.02, 0.02, 0.0, 0.02),
    ("26-1055", "Olive stones", "olive stones", "Harbour silo (invented)", 19260, 7.35, 12.8, 0.74, 0.02),
]  # fmt: skip

LAST_MINUTE = {"fore": 0, "main": 10, "after": 18}
"""Of each period of the readings; the charge is fired at 0 min."""

READ_COMPOSITION = {
    "26-1051": (5.88, 0.89, 27.1),
    "26-1052": (11.32, 0.38, 0.5),
    "26-1053": (5.71, 0.14, 40.4),
    "26-1054": (14.71, 0.01, 0.1),
    "26-1055": (5.66, 0.21, 38.9),
}

PARAFFIN_J_PER_G, BAG_J_PER_G, GELATINE_J_PER_G = 46050.0, 46320.0, 18970.0


class ReadingBench:
    """A second bench: a jacketed calorimeter read every minute, the washings titrated twice."""

    capacity = 10236.0
    jacket_C, exchange_per_min, stirring_K_per_min = 24.4, 0.0021, 0.0004

    def __init__(self, form: Form, seed: int, first_firing: int) -> None:
        """Set up the bench with its own random scatter."""
        self.form = form
        self.random = random.Random(seed)
        self.number = first_firing

    def fire(
        self,
        sheet: str,
        value_J_per_g: float,
        nominal_g: float,
        *,
        sulphur: float = 0.0,
        spread: float = 12.0,
        aids: tuple[tuple[str, float, float], ...] = (),
        capsule_g: float = 0.0,
        periods: bool = True,
        misread: dict[int, float] | None = None,
        **columns: Any,
    ) -> None:
        """Fire one charge and log weighings, readings and titres; ``misread`` adds to the reading of a minute."""
        mass = round(nominal_g + self.random.uniform(-0.03, 0.03), 4)
        crucible = round(11.2 + self.random.uniform(0, 0.9), 4)
        burnt_cm, thread = round(self.random.uniform(6.0, 8.5), 1), round(self.random.uniform(2.5, 3.5), 1)
        nitric = self.random.uniform(0.40, 0.60)
        sulphuric = mass * sulphur / 100 / SULPHUR_G_PER_MOL * 1e3
        heat = mass * (value_J_per_g + self.random.gauss(0, spread)) + burnt_cm * WIRE_J_PER_CM
        heat += thread * THREAD_J_PER_MG + nitric * NITRIC_KJ_PER_MOL + sulphuric * SULPHURIC_KJ_PER_MOL
        for heading, (name, aid_mass, aid_value) in zip(("aid", "aid_2"), aids, strict=False):
            heat += aid_mass * aid_value
            columns |= {heading: name, f"{heading}_mass": aid_mass}
        if capsule_g:  # weighed on its own, then the crucible without it and with it filled
            heat += capsule_g * GELATINE_J_PER_G
            columns |= {"capsule_mass": capsule_g, "capsule_in_tare": "no"}
        minutes = 8 * 60 + 10 + 40 * (self.number % 20)
        logged = {
            "firing_no": self.number, "date": DAY, "time": dt.time(minutes // 60, minutes % 60), "outcome": "good",
            "analyst": "MO", "calorimeter": "K2", "bomb": "B4", "crucible": crucible,
            "crucible_and_sample": round(crucible + mass + capsule_g, 4), "wire_fitted": 10.0,
            "wire_left": round(10.0 - burnt_cm, 1), "thread": thread, "water_in_bomb": 1.0, "oxygen_pressure": 3.0,
            "residue": "none", "washings_kept": "yes",
        }  # fmt: skip
        self.form.add(sheet, **(logged | columns))
        self._read(heat / self.capacity, periods=periods, misread=misread or {})
        self._titrate(nitric, sulphuric)
        self.number += 1

    def _read(self, rise: float, *, periods: bool, misread: dict[int, float]) -> None:
        start, burn_min = 22.6 + self.random.uniform(0, 0.5), self.random.uniform(0.7, 0.9)
        for minute in range(-5, LAST_MINUTE["after"] + 1):
            read = self._temperature(minute, start, rise, burn_min) + self.random.gauss(0, 0.0003)
            period = next(name for name, last in LAST_MINUTE.items() if minute <= last)
            self.form.add(
                "Readings", firing_no=self.number, time=minute, period=period if periods else None,
                temperature=round(read + misread.get(minute, 0.0), 3),
            )  # fmt: skip

    def _temperature(self, minute: float, start: float, rise: float, burn_min: float) -> float:
        """Newton's exchange with the jacket, stirring, and from 0 min a burn that dies away, solved in closed form."""
        k = self.exchange_per_min
        settled = self.jacket_C + self.stirring_K_per_min / k
        without_burn = settled + (start - settled) * math.exp(-k * minute)
        if minute <= 0:
            return without_burn
        return without_burn + rise * (math.exp(-k * minute) - math.exp(-minute / burn_min)) / (1 - k * burn_min)

    def _titrate(self, nitric: float, sulphuric: float) -> None:
        # 0.1 eq/L throughout: baryta takes both acids; of the carbonate, the acid finds what the nitrate left.
        self.form.add(
            "Titration", firing_no=self.number, blank=0.10, baryta=round(0.10 + (nitric + 2 * sulphuric) / 0.1, 2),
            baryta_concentration=0.1, carbonate_added=20.0, carbonate_concentration=0.1,
            acid_back_titre=round(20.0 - nitric / 0.1, 2), acid_concentration=0.1,
        )  # fmt: skip


def readings_day() -> Form:
    """Make a day read against time: aids, a capsule, oils, one mistyped reading and one override."""
    form = Form()
    since = dt.date(2026, 1, 5)
    entries = _common("two titrations")
    del entries["Heat-exchange standard uncertainty"]  # found from the readings
    form.setup(
        entries
        | {
            "Batch": ("A day read against time (invented example)",),
            "Method": ("iso-21654",),
            "Heat-exchange method": ("two rates",),
            "Repeatability limit": (200, "J/g", "Own verification report 26-05, fuels and oils (invented)", since),
            "Bases required": ("ad, d, ar, net",),
            "Report unit": ("MJ/kg",),
            "Report rounding": (0.01,),
            "Aid heat [paraffin oil]": (PARAFFIN_J_PER_G, "J/g", "Mean of 6 firings, lot 9 (invented)", since),
            "Aid heat [polyethylene bag]": (BAG_J_PER_G, "J/g", "Mean of 5 firings, roll 2 (invented)", since),
            "Capsule heat [gelatine]": (GELATINE_J_PER_G, "J/g", "Mean of 6 firings, box 4 (invented)", since),
        }
    )
    bench = ReadingBench(form, 85, 3800)
    for index, nominal in enumerate((0.98, 0.88, 1.08, 0.93, 1.03)):
        bench.fire("Calibration", BENZOIC_J_PER_G_IN_AIR, nominal, spread=6.0, date=RECENT[index // 2])
    bench.number = 3820
    bench.fire("Runs", BENZOIC_J_PER_G_IN_AIR, 1.0, spread=6.0, purpose="check")

    def bagged(paraffin_g: float, bag_g: float) -> dict[str, Any]:
        oil, bag = ("paraffin oil", paraffin_g, PARAFFIN_J_PER_G), ("polyethylene bag", bag_g, BAG_J_PER_G)
        return {"aids": (oil, bag), "spread": 40.0}

    charges: dict[str, tuple[float, list[dict[str, Any]]]] = {
        "26-1051": (0.72, [bagged(0.1523, 0.1214), bagged(0.1468, 0.1187)]),
        "26-1052": (0.6, [{}, {"periods": False}]),
        "26-1053": (1.2, [{}, {"replicate": "A"}]),
        "26-1054": (0.5, [{"capsule_g": 0.0968, "periods": False}, {"capsule_g": 0.0951}]),
        "26-1055": (1.2, [{}, {"misread": {14: 0.1}}]),
    }
    for number, _, _, _, value, *_, sulphur in READ_FUELS:
        nominal, pair = charges[number]
        for letter, more in zip("AB", pair, strict=True):
            bench.fire("Runs", value, nominal, sulphur=sulphur, **({"sample_no": number, "replicate": letter} | more))
    composition = {
        number.replace("-", "_"): dict(zip(("hydrogen", "nitrogen", "oxygen"), shares, strict=True))
        | {"hydrogen_includes_moisture": "no"}
        for number, shares in READ_COMPOSITION.items()
    }
    _samples(form, READ_FUELS, **composition)
    form.add(
        "Amendments", finding="replicate-twice", sample_no="26-1053", reviewer="T. Wren", date=DAY,
        reason="bench book page 88 shows two test portions; letter B was not written, and the log was signed already",
    )  # fmt: skip
    return form


OWN_HEADINGS = [
    "Lfd. Nr.", "Uhrzeit", "Probennummer", "Bestimmung", "Brennstoff", "Tiegel leer [g]", "Tiegel + Probe [g]",
    "Einwaage [g]", "Draht Anfang [cm]", "Restdraht [cm]", "Anfangstemperatur [°C]", "Endtemperatur [°C]",
    "Temperaturerhöhung [K]", "Sauerstoffdruck [bar]", "Verbrauch NaOH [ml]", "Analysenfeuchte [%]", "Asche (wf) [%]",
    "Gesamtschwefel (wf) [%]", "Brennwert (an) [kcal/kg]", "Brennwert (wf) [kcal/kg]", "Bemerkung",
]  # fmt: skip
KCAL_PER_KG_IN_J_PER_G = 4.1868
OWN_CAPACITY = 9876.0

# sample number, fuel, J/g as analysed, moisture of analysis, ash and sulphur (both dry), what sets its B apart (J/g)
OWN_FUELS = [
    ("T-311", "Steinkohle", 27250.0, 1.84, 10.6, 0.71, 0.0),
    ("T-312", "Braunkohle", 20480.0, 8.92, 7.4, 0.93, 0.0),
    ("T-313", "Holzpellets", 18720.0, 6.15, 0.5, 0.02, 260.0),
    ("T-314", "Ersatzbrennstoff", 19860.0, 3.31, 14.1, 0.34, 0.0),
]


class OwnSheet:
    """A lab's own sheet with the map by which it is read; what the map asks is answered here, as a person would."""

    def __init__(self, rows: list[list[Any]], answers: dict[str, str], setup: dict[str, tuple[Any, ...]]) -> None:
        """Keep the rows of the sheet, the answers by the end of a question's name, and what belongs on Setup."""
        self.rows, self.answers, self.setup = rows, answers, setup

    def save(self, path: Path) -> None:
        """Write the workbook, with fixed dates in its properties, and the map beside it."""
        book = new_book()
        book.properties.creator = "batchcal example (invented data)"
        sheet = book.create_sheet("Protokoll")
        for number, row in enumerate(self.rows, 1):
            for column, value in enumerate(row, 1):
                if value is not None:
                    sheet.cell(number, column).value = value
        path.write_bytes(save(book))

        def answer(question: Question, _proposal: Proposal) -> str:
            return next(said for end, said in self.answers.items() if question.key.endswith(end))

        proposal = propose_columns(path, ask=answer)
        found = proposal.column_map
        entries = {entry.item: entry for entry in found.setup}
        for item, entry in self.setup.items():
            given: list[Any] = [*entry, None, None, None]
            value = float(given[0]) if isinstance(given[0], int | float) else given[0]
            entries.setdefault(item, MapSetup(item, value, given[1] or "", given[2] or "", given[3]))
        filled = replace(found, setup=tuple(entries.values()))
        path.with_suffix(".toml").write_text(written(filled, path.name), encoding="utf-8")


def own_sheet_day() -> OwnSheet:
    """Make a day on the German sheet of another invented laboratory, with results of its own in kcal/kg."""
    draw = random.Random(86)
    rows: list[list[Any]] = [
        ["Kalorimeterprotokoll, Prüflabor Tannwald (erfunden)"],
        ["Datum:", None, DAY],
        ["Bearbeiter:", None, "F. Lind"],
        ["c(NaOH) mol/l:", None, 0.1],
        [],
        list(OWN_HEADINGS),
    ]
    minute = 8 * 60

    def fire(number: int, name: str, letter: str | None, fuel: tuple[Any, ...] | None, value: float) -> dict[str, Any]:
        nonlocal minute
        minute += 40
        crucible, mass = round(draw.uniform(9.1, 9.9), 4), round(draw.uniform(0.95, 1.05), 4)
        start, left = round(draw.uniform(22.0, 22.8), 3), round(draw.uniform(1.5, 4.0), 1)
        nitric = draw.uniform(0.40, 0.55)
        sulphuric = mass * fuel[5] * (1 - fuel[3] / 100) / 100 / SULPHUR_G_PER_MOL * 1e3 if fuel else 0.0
        heat = mass * value + (10 - left) * WIRE_J_PER_CM
        heat += nitric * NITRIC_KJ_PER_MOL + sulphuric * SULPHURIC_KJ_PER_MOL
        rise = round(heat / OWN_CAPACITY * (1 + draw.gauss(0, 2e-4)), 3)
        titre = round((nitric + 2 * sulphuric) / 0.1, 2)
        logged = {
            "Lfd. Nr.": number, "Uhrzeit": dt.time(minute // 60, minute % 60), "Probennummer": name,
            "Bestimmung": letter, "Tiegel leer [g]": crucible, "Tiegel + Probe [g]": round(crucible + mass, 4),
            "Einwaage [g]": mass, "Draht Anfang [cm]": 10.0, "Restdraht [cm]": left,
            "Anfangstemperatur [°C]": start, "Endtemperatur [°C]": round(start + rise, 3),
            "Temperaturerhöhung [K]": rise, "Verbrauch NaOH [ml]": titre, "Sauerstoffdruck [bar]": 30.0,
        }  # fmt: skip
        if fuel is not None:
            found = OWN_CAPACITY * rise - (10 - left) * WIRE_J_PER_CM - titre * 0.1 * NITRIC_KJ_PER_MOL
            found = (found - sulphuric * (SULPHURIC_KJ_PER_MOL - 2 * NITRIC_KJ_PER_MOL)) / mass / KCAL_PER_KG_IN_J_PER_G
            logged |= {
                "Brennstoff": fuel[1], "Analysenfeuchte [%]": fuel[3], "Asche (wf) [%]": fuel[4],
                "Gesamtschwefel (wf) [%]": fuel[5], "Brennwert (an) [kcal/kg]": round(found),
                "Brennwert (wf) [kcal/kg]": round(found / (1 - fuel[3] / 100)),
            }  # fmt: skip
        rows.append([logged.get(heading) for heading in OWN_HEADINGS])
        return logged

    for number in range(901, 906):
        fire(number, "Benzoesäure", None, None, BENZOIC_J_PER_G_IN_AIR)
    rows += [[], ["Neue Sauerstoffflasche angeschlossen."]]
    fire(906, "Kontrolle", None, None, BENZOIC_J_PER_G_IN_AIR)
    number = 907
    for fuel in OWN_FUELS:
        pair = []
        for letter in "AB":
            pair.append(fire(number, fuel[0], letter, fuel, fuel[2] + (fuel[6] if letter == "B" else 0.0)))
            number += 1
        dry = "Brennwert (wf) [kcal/kg]"
        mean = {"Bestimmung": "Mittelwert", dry: round((pair[0][dry] + pair[1][dry]) / 2)}
        rows.append([mean.get(heading) for heading in OWN_HEADINGS])
    setup = _common("total as nitric") | {
        "Laboratory": ("Prüflabor Tannwald (invented)",),
        "Batch": ("A day on a lab's own sheet (invented example)",),
        "Reviewer": ("P. Sommer",),
        "Method": ("lab",),
        "Calorie": ("international",),
        "Bases required": ("ad, d",),
        "Report unit": ("kcal/kg",),
    }
    for unused in ("Thread heat", "Heat-exchange standard uncertainty", "Aid relative uncertainty"):
        del setup[unused]
    answers = {"purpose Benzoesäure": "calibration", "purpose Kontrolle": "check"}
    return OwnSheet(rows, answers, setup)


EXAMPLES: dict[str, Callable[[], Form | OwnSheet]] = {
    "clean_day": clean_day,
    "difficult_day": difficult_day,
    "typing_slips_day": typing_slips_day,
    "simple_bench_day": simple_bench_day,
    "readings_day": readings_day,
    "own_sheet_day": own_sheet_day,
}


def main() -> None:
    """Write every example into the folder named on the command line, or beside this script."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent
    folder.mkdir(parents=True, exist_ok=True)
    for name, make in EXAMPLES.items():
        make().save(folder / f"{name}.xlsx")
        print(folder / f"{name}.xlsx")


if __name__ == "__main__":
    main()
