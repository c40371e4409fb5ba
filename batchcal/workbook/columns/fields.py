"""What a lab's column may be: the fields of the trade, and under which heading of the blank workbook each is read.

A map names a column by that heading. Fields that nothing is computed with or compared are known and not read.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

from msgspec import Struct, field

from batchcal.terms import Basis
from batchcal.workbook.layout import (
    CALIBRATION,
    READINGS,
    RUNS,
    SAMPLES,
    TITRANT,
    TITRATION,
    Column,
    Kind,
    Sheet,
)

Holds = Literal["firings", "calibration", "titration", "samples", "readings", "titrant", "?"]

ROLES: Mapping[str, tuple[Sheet, ...]] = MappingProxyType(
    {
        "firings": (RUNS, TITRATION, SAMPLES),
        "calibration": (CALIBRATION, TITRATION),
        "titration": (TITRATION,),
        "samples": (SAMPLES,),
        "readings": (READINGS,),
        "titrant": (TITRANT,),
        "?": (RUNS, TITRATION, SAMPLES),
    }
)
"""What a table may hold, and the sheets of the layout that it stands for: a row of firings may serve three."""


class Field(Struct, frozen=True):
    """A field that headings may mean.

    ``means`` is its heading in the blank workbook without the unit, "" where it is known and not read; ``by_basis``
    gives it by the basis where each basis has its own. ``kind`` and ``usual`` say how its cells look, ``usual`` in the
    unit of the blank workbook, or in ``unit`` where it has no column.
    """

    key: str
    name: str
    means: str = ""
    kind: Kind = "number"
    by_basis: Mapping[str, str] = field(default_factory=dict)
    quantity: str | None = None
    unit: str | None = None
    usual: tuple[float, float] | None = None
    holds: Holds = "firings"
    """The kind of table that has it."""

    @property
    def column(self) -> Column | None:
        """The column of the layout under which it is read, on one of its bases; None where it is not read."""
        return column_of(self.means or next(iter(self.by_basis.values()), ""), self.holds)


def _own(prefix: str, bases: str) -> Mapping[str, str]:
    return MappingProxyType({basis: f"Own {prefix}, {basis}" for basis in bases.split()})


_ENERGY = {"quantity": "energy per mass", "unit": "J/g", "usual": (5_000.0, 50_000.0)}
_CAPACITY = {"quantity": "energy per kelvin", "unit": "J/K", "usual": (1_500.0, 25_000.0)}

FIELDS: Mapping[str, Field] = MappingProxyType(
    {
        entry.key: entry
        for entry in (
            Field("run_no", "firing number", "Firing no.", "id"),
            Field("sample_id", "sample number", "Sample no.", "id"),
            Field("replicate", "replicate", "Replicate", "id"),
            Field("date", "date", "Date", "date"),
            Field("time", "time of day", "Time", "time"),
            Field("analyst", "analyst", "Analyst", "text"),
            Field("bomb_id", "bomb", "Bomb", "id"),
            Field("calorimeter_id", "calorimeter", "Calorimeter", "id"),
            Field("crucible_id", "crucible number", "Crucible no.", "id"),
            Field("fuel_type", "kind of fuel", "Description", "text"),
            Field("remark", "remark", "Remark", "text"),
            Field("outcome", "outcome", "Outcome", "choice"),
            Field("crucible_mass", "empty crucible", "Crucible"),
            Field("crucible_plus_sample", "crucible with sample", "Crucible + sample"),
            Field("sample_mass", "sample mass", "Sample mass"),
            Field("wire_initial", "wire fitted", "Wire fitted"),
            Field("wire_left", "wire left", "Wire left"),
            Field("wire_burned", "wire burnt", "Wire mass"),
            Field("thread_mass", "thread", "Thread"),
            Field("aid_mass", "combustion aid", "Aid mass"),
            Field("capsule_mass", "capsule", "Capsule mass"),
            Field("bomb_water", "water in the bomb", "Water in bomb"),
            Field("oxygen_pressure", "oxygen pressure", "Oxygen pressure"),
            Field("initial_temp", "initial temperature", "Initial temperature"),
            Field("final_temp", "final temperature", "Final temperature"),
            Field("rise", "temperature rise", "Temperature rise"),
            Field("heat_exchange_corr", "heat-exchange correction", "Heat-exchange correction"),
            Field("titre", "titre", "Titre"),
            Field("titre_blank", "blank of the titration", "Blank"),
            Field("burette_start", "burette start", "Burette start"),
            Field("burette_end", "burette end", "Burette end"),
            Field("titrant_conc", "strength of the titrant", "Concentration", usual=(0.01, 1.0)),
            Field("moisture_ad", "moisture of the analysis sample", "Moisture, analysis"),
            Field("moisture_total", "total moisture", "Moisture, total"),
            Field("ash", "ash", "Ash"),
            Field("sulphur", "sulphur", "Sulphur"),
            Field("hydrogen", "hydrogen", "Hydrogen"),
            Field("nitrogen", "nitrogen", "Nitrogen"),
            Field("oxygen_content", "oxygen", "Oxygen"),
            Field("volatiles", "volatile matter", "Volatile matter"),
            Field("chlorine", "chlorine", "Chlorine"),
            Field("heat_capacity", "heat capacity", "Own heat capacity", **_CAPACITY),  # type: ignore[arg-type]
            Field("gross_cv", "gross calorific value", by_basis=_own("gross", "ad d"), **_ENERGY),  # type: ignore[arg-type]
            Field("mean", "mean of the gross values", by_basis=_own("mean", "ad d ar"), **_ENERGY),  # type: ignore[arg-type]
            Field("net_cv", "net calorific value", by_basis=_own("net", "ar"), **_ENERGY),  # type: ignore[arg-type]
            # Known and not read: nothing is computed with them here.
            Field("rise_corrected", "corrected rise", quantity="temperature difference", unit="K", usual=(0.5, 5.0)),
            Field("ignition_energy", "heat of ignition", quantity="energy", unit="J"),
            Field("aid_energy", "heat of the aid"),
            Field("titre_second", "second titre", quantity="volume", unit="mL"),
            Field("titrant_factor", "factor of the titrant"),
            Field("checker", "reviewer", kind="text"),
            Field("bucket_water", "water in the bucket", quantity="mass", unit="g"),
            Field("jacket_temp", "jacket temperature", quantity="temperature", unit="°C"),
            Field("room_temp", "room temperature", quantity="temperature", unit="°C"),
            Field("fore_drift", "rate of the fore period"),
            Field("after_drift", "rate of the after period"),
            Field("certified_cv", "certified value", **_ENERGY),  # type: ignore[arg-type]
            Field("residue", "residue", kind="text"),
            Field("difference", "difference of replicates"),
            Field("unit", "unit", kind="text"),
            Field("reading_time", "time of a reading", "Time", usual=(-20.0, 120.0), holds="readings"),
            Field("reading_temperature", "temperature read", "Temperature", usual=(5.0, 60.0), holds="readings"),
        )
    }
)
"""Every field by its key, in the order in which they are offered."""


def columns_of(holds: str) -> dict[str, tuple[Sheet, Column]]:
    """Return the headings that a map may name for a table, each with the sheet of the layout and its column."""
    found: dict[str, tuple[Sheet, Column]] = {}
    for sheet in ROLES[holds]:
        for column in sheet.readable:
            found.setdefault(column.name, (sheet, column))
    return found


def column_of(means: str, holds: str = "firings") -> Column | None:
    """Return the column of the layout that a heading of the blank workbook names, or None."""
    entry = columns_of(holds).get(means)
    return None if entry is None else entry[1]


def meaning(field: Field, basis: str) -> str:
    """Return the heading under which a field on a basis is read, "" where there is none."""
    return field.by_basis.get(basis, "") if field.by_basis else field.means


def takes_basis(field: Field) -> bool:
    """Whether the basis is part of what a column of the field means."""
    column = field.column
    return bool(field.by_basis) or (column is not None and column.with_basis)


BASES = tuple(str(basis) for basis in Basis)
