"""An invented day at an invented laboratory, built from the model's own rows: no figure here was ever measured."""

import datetime as dt
from collections.abc import Callable
from typing import Any

from msgspec.structs import replace
from openpyxl.utils import get_column_letter

from batchcal import findings
from batchcal.evaluate import evaluate
from batchcal.findings import Finding
from batchcal.formulas import rounding
from batchcal.items import SETUP_ITEMS
from batchcal.logged import Batch, FiringRow, Place, SampleRow, SetupEntry, Table, TitrationRow
from batchcal.model import Evaluation, Quantity
from batchcal.terms import Basis, ConcentrationUnit, Outcome, Purpose, Titrant, YesNo
from batchcal.workbook.layout import SHEETS

DAY = dt.date(2026, 3, 12)
CALIBRATED = dt.date(2026, 2, 3)
TABLES = {
    sheet.role: Table(
        sheet.name,
        1,
        {column.field: get_column_letter(index) for index, column in enumerate(sheet.columns, 1)},
        {column.field: column.heading for column in sheet.columns},
        sheet.role,
    )
    for sheet in SHEETS
}
CONSTANTS = (
    Quantity("Widest range of three firings, as a multiple of the limit", 1.2, "", "invented source", "derived"),
    Quantity("Molar mass of sulphur", 32.06, "g/mol", "invented source", "from memory, unchecked"),
)

_SETUP: tuple[tuple[str, str, float | str | dt.date, str, str], ...] = (
    ("laboratory", "", "Example Fuel Laboratory, Northmoor (invented)", "", ""),
    ("batch", "", "Thursday, early shift", "", ""),
    ("batch_date", "", DAY, "", ""),
    ("analyst", "", "K. Lindqvist", "", ""),
    ("reviewer", "", "O. Adeyemi", "", ""),
    ("method", "", "iso-1928", "", "Invented day; the lab's own copy"),
    ("acid_scheme", "", "total as nitric", "", ""),
    ("comparison_basis", "", "d", "", ""),
    ("repeatability_limit", "", 120.0, "J/g", "Lab procedure 7, invented"),
    ("bases_required", "", "ad, d, ar", "", ""),
    ("report_unit", "", "kcal/kg", "", ""),
    ("report_rounding", "", 1.0, "", ""),
    ("calorie", "", "international", "", ""),
    ("benzoic_heat", "", 26454.0, "J/g", "Certificate of lot X-17, invented"),
    ("benzoic_mass_basis", "", "air", "", "Certificate of lot X-17, invented"),
    ("wire_heat", "", 2.3, "cal/cm", "Reel label, invented"),
    ("thread_heat", "", 17.5, "J/mg", "Own determination 2026-01, invented"),
    ("nitric_heat", "", 60.0, "kJ/mol", "Lab procedure 7, invented"),
    ("sulphuric_heat", "", 302.0, "kJ/mol", "Lab procedure 7, invented"),
    ("series_minimum", "", 5.0, "", "Lab procedure 4, invented"),
    ("series_rsd_limit", "", 0.2, "%", "Lab procedure 4, invented"),
    ("heat_capacity_life", "", 90.0, "days", "Lab procedure 4, invented"),
    ("check_limit", "", 0.2, "%", "Lab procedure 4, invented"),
    ("reading_resolution", "", 0.001, "K", ""),
    ("max_oxygen_pressure", "", 3.2, "MPa", "Equipment's instructions, invented"),
    ("max_sample_mass", "", 1.2, "g", "Equipment's instructions, invented"),
)

HEAT_CAPACITY = {"1": 10112.0, "2": 10087.0}

# sample, bomb, target gross dry in J/g, ad moisture, total moisture, sulphur, offsets of its firings
_SAMPLES: tuple[tuple[str, str, str, float, float | None, float | None, float, tuple[float, ...]], ...] = (
    ("26-0711", "Hard coal, washed", "1", 28410.0, 2.14, 8.9, 0.62, (-14.0, 17.0)),
    ("26-0712", "Hard coal, washed", "1", 28655.0, 2.08, 9.2, 0.58, (22.0, -26.0)),
    ("26-0713", "Hard coal, raw", "2", 24120.0, 1.90, 7.4, 1.35, (-81.0, 87.0)),
    ("26-0714", "Lignite, dried", "1", 24480.0, None, 31.5, 0.91, (-9.0, 14.0)),
    ("26-0715", "Wood pellets", "2", 20190.0, 6.35, 7.1, 0.02, (31.0, -28.0)),
    ("26-0716", "Petroleum coke", "2", 35240.0, 0.41, 6.0, 4.10, (12.0, -9.0)),
    ("26-0717", "Hard coal, raw", "1", 25870.0, 1.77, 6.8, 1.10, (-66.0, 70.0, 12.0)),
    ("26-0718", "Hard coal, washed", "2", 29105.0, 1.52, 8.1, 0.71, (5.0, 0.0)),
)


def printed(value: float) -> str:
    """A value as the lab prints it: kcal/kg of the international calorie, to 1 kcal/kg."""
    return rounding.text_to_step(value / 4.1868, 1.0)


def place(role: str, row: int) -> Place:
    return Place(TABLES[role], row)


def _setup() -> tuple[SetupEntry, ...]:
    known = {item.key for item in SETUP_ITEMS}
    assert all(row[0] in known for row in _SETUP)
    return tuple(
        SetupEntry(key, label, value, unit, source, None, place("setup", number))
        for number, (key, label, value, unit, source) in enumerate(_SETUP, 2)
    )


class _Day:
    def __init__(self) -> None:
        self.firings: list[FiringRow] = []
        self.titrations: list[TitrationRow] = []
        self.samples: list[SampleRow] = []
        self.number = 2400

    def fire(self, role: str, bomb: str, mass: float, heat: float, **fields: Any) -> FiringRow:
        """Log a charge that gives ``heat`` J per g, with wire, thread and acid, to four decimals of the rise."""
        self.number += 1
        acid_mmol = 0.38 + 0.05 * (self.number % 4) + fields.pop("sulphur", 0.0) / 100 * mass / 32.06 * 2e3
        ignition = (12.0 - 2.5) * 2.3 * 4.1868 + 0.0021 * 17500
        acid = acid_mmol * 60.0 + fields.pop("sulphuric_J", 0.0)
        rise = (mass * heat + ignition + acid) / fields.pop("capacity", HEAT_CAPACITY[bomb])
        exchange = 0.0012 if self.number % 3 else 0.0016
        row = FiringRow(
            place=place(role, 2 + sum(firing.place.sheet == TABLES[role].sheet for firing in self.firings)),
            firing=str(self.number),
            date=CALIBRATED if role == "calibration" else None,
            calorimeter="A",
            bomb=bomb,
            mass_g=mass,
            wire_fitted_cm=12.0,
            wire_left_cm=2.5,
            thread_g=0.0021,
            oxygen_pressure_MPa=3.0,
            rise_K=round(rise - exchange, 3),
            heat_exchange_K=exchange,
            rise_decimals=3,
            **fields,
        )
        self.firings.append(row)
        self.titrations.append(
            TitrationRow(
                place=place("titration", 2 + len(self.titrations)),
                firing=row.firing,
                titrant=Titrant.SODIUM_CARBONATE,
                concentration=0.05,
                concentration_unit=ConcentrationUnit.MOLE_PER_LITRE,
                titre_mL=round(acid_mmol * 10 + 0.10, 2),
                blank_mL=0.10,
            )
        )
        return row

    def change(self, row: FiringRow, **fields: Any) -> None:
        self.firings[self.firings.index(row)] = replace(row, **fields)


def make_batch(*, check_off: float = 9.0, pressure: float = 3.0, repeats: int = 1) -> Batch:
    """Eight samples (times ``repeats``): ready, apart, waiting, held; two bombs; a misfire; two checks."""
    day = _Day()
    for bomb, capacity_offsets in (("1", (-9, 4, 11, -3, -6)), ("2", (7, -12, 3, 10, -5))):
        for index, shift in enumerate(capacity_offsets):
            day.fire("calibration", bomb, 0.85 + 0.07 * index, 26454.0, capacity=HEAT_CAPACITY[bomb] + shift)
    day.fire("runs", "1", 1.0021, 26454.0 - 11.0, purpose=Purpose.CHECK)
    day.fire("runs", "2", 0.9987, 26454.0 + check_off, purpose=Purpose.CHECK)
    found: list[Finding] = []
    for repeat in range(repeats):
        for name, description, bomb, dry, moisture, total, sulphur, offsets in _SAMPLES:
            sample = name if repeat == 0 else f"{name}-{repeat + 1}"
            factor = 1 - (moisture or 12.0) / 100
            day.samples.append(
                SampleRow(
                    place=place("samples", 2 + len(day.samples)),
                    sample=sample,
                    description=description,
                    moisture_analysis=moisture,
                    moisture_total=total,
                    contents={"sulphur": sulphur},
                    bases={"sulphur": Basis.AS_ANALYSED},
                    moisture_date=DAY if moisture is not None else None,
                )
            )
            for letter, offset in zip("ABCD", offsets, strict=False):
                mass = 0.9312 + 0.0137 * (day.number % 5)
                row = day.fire(
                    "runs",
                    bomb,
                    mass,
                    (dry + offset) * factor,
                    sample=sample,
                    replicate=letter,
                    sulphur=sulphur,
                    sulphuric_J=sulphur / 100 * mass / 32.06 * (302e3 - 2 * 60e3),
                    washings_kept=None if name == "26-0718" else YesNo.YES,
                )
                if name == "26-0716" and letter == "B":
                    day.change(row, mass_g=None, unreadable=frozenset({"mass_g"}))
                    found.append(
                        row.place.finding(
                            "number-as-text", "mass_g", firing=row.firing, heading="Sample mass (g)", read="0,9449"
                        )
                    )
                if name == "26-0718" and letter == "B":
                    day.change(row, outcome=Outcome.MISFIRE, rise_K=None, heat_exchange_K=None)
                    day.titrations.pop()
    day.change(day.firings[11], oxygen_pressure_MPa=pressure)
    return Batch(
        file_name="early-shift.xlsx",
        sha256="3f0c" * 16,
        setup=_setup(),
        firings=tuple(day.firings),
        titrations=tuple(day.titrations),
        samples=tuple(day.samples),
        tables=TABLES,
        findings=findings.in_order(found),
    )


def make_evaluation(**changes: Any) -> Evaluation:
    return evaluate(make_batch(**changes))


def with_settings(change: Callable[[SetupEntry], SetupEntry | None], batch: Batch) -> Evaluation:
    """The day with some rows of Setup changed or, where ``change`` gives None, left out."""
    changed = [change(entry) for entry in batch.setup]
    return evaluate(replace(batch, setup=tuple(entry for entry in changed if entry is not None)))
