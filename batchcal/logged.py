"""What is read from a workbook: every row of the log with its place, as frozen records.

A value that was blank is None. A value that stands in a cell but could not be trusted is None too, and its field
is named in ``unreadable``, so that it can never be mistaken for a blank. Units are in the field names.

Records that a log has by the thousand are left out of the search for garbage (``gc=False``): made after all that they
hold and never changed, none of them can hold itself.
"""

import datetime as dt
import math
from collections.abc import Mapping
from string import ascii_uppercase
from typing import Any

from msgspec import Struct, field

from batchcal import findings
from batchcal.findings import Finding
from batchcal.terms import (
    Basis,
    ConcentrationUnit,
    EquipmentKind,
    Outcome,
    Period,
    Purpose,
    Titrant,
    Use,
    YesNo,
)

_NOTHING: dict[str, Any] = {}


def _nothing() -> dict[str, Any]:
    """Return the one empty mapping of all rows that have none of their own; a long log would have a million of them."""
    return _NOTHING


class Table(Struct, frozen=True):
    """Where a sheet's table stands: its heading row, and the column letter of each field that was recognised.

    ``part`` names the firing of a row or form that holds several, as its heading does; "" where a row is one firing.
    """

    sheet: str
    heading_row: int
    columns: Mapping[str, str]
    headings: Mapping[str, str]
    role: str = ""
    part: str = ""
    units: Mapping[str, str] = field(default_factory=_nothing)
    """The unit of each field that has one, as :mod:`batchcal.units` shows it."""
    texts: frozenset[str] = frozenset()
    """Addresses of cells whose number stands as text, with a decimal comma: no formula can refer to them."""


class Place(Struct, frozen=True, gc=False):
    """One row of a table, so that every value can be traced to its cell.

    ``cells`` are the addresses of fields that stand elsewhere than in their column on this row: in a header block
    above it, in another row of the same sample, or down a form.
    """

    table: Table
    row: int
    cells: Mapping[str, str] = field(default_factory=_nothing)

    @property
    def sheet(self) -> str:
        """Name of the sheet, as the workbook spells it."""
        return self.table.sheet

    @property
    def key(self) -> tuple[str, int, str]:
        """Sheet, row, and which firing of the row: no two firings share it."""
        return self.table.sheet, self.row, self.table.part

    def cell(self, field_name: str) -> str | None:
        """Address of a field's cell, or None where the sheet has no such column."""
        if field_name in self.cells:
            return self.cells[field_name]
        letter = self.table.columns.get(field_name)
        return None if letter is None else f"{letter}{self.row}"

    def heading_cell(self, field_name: str) -> str | None:
        """Address of the heading above a field's cell, or None where the sheet has no such column."""
        letter = self.table.columns.get(field_name)
        return None if letter is None or field_name in self.cells else f"{letter}{self.table.heading_row}"

    @property
    def in_workbook(self) -> bool:
        """Whether it stands on a sheet of the workbook, and not in the file of a column map."""
        return self.table.heading_row > 0 or bool(self.cells)

    def where(self, field_name: str) -> str:
        """Sheet and address of a field's cell, or sheet and row where it has none."""
        cell = self.cell(field_name)
        return f"{self.sheet} row {self.row}" if cell is None else f"{self.sheet}!{cell}"

    def heading(self, field_name: str) -> str:
        """Heading of a field as the workbook writes it, or the field's name where there is no such column."""
        return self.table.headings.get(field_name, field_name)

    def finding(
        self,
        code: str,
        field_name: str | None = None,
        *,
        firing: str | None = None,
        sample: str | None = None,
        severity: findings.Severity | None = None,
        **details: Any,
    ) -> Finding:
        """Make a finding that stands at a field's cell of this row, or at the row."""
        cell = self.cell(field_name) if field_name else None
        return findings.make(
            code,
            sheet=self.sheet,
            row=self.row if cell is None else int(cell.lstrip(ascii_uppercase)),
            cell=cell,
            firing=firing or None,
            sample=sample or None,
            severity=severity,
            **details,
        )


class SetupEntry(Struct, frozen=True):
    """One filled row of Setup: the value as it stands, its unit's text, and the record of where it comes from."""

    key: str
    label: str
    value: float | str | dt.date | None
    unit: str
    source: str
    in_force_from: dt.date | None
    place: Place
    unreadable: frozenset[str] = frozenset()


class OwnResult(Struct, frozen=True):
    """A result of the lab's own sheet, as it stands in its cell, and the unit that its heading names.

    Own results are only compared. One that cannot be read is left out, with a finding.
    """

    value: float
    unit: str


AID_NUMBERS = range(1, 6)
"""Numbers of the aids that a row may have."""


def aid_fields(number: int) -> tuple[str, str]:
    """Return the fields of the name and the mass of a firing's aid of that number; the first has none in its field."""
    prefix = "aid" if number == 1 else f"aid_{number}"
    return prefix, f"{prefix}_mass_g"


class Aid(Struct, frozen=True):
    """One combustion aid of a firing as logged: the number of its two columns, its name and its mass in g."""

    number: int
    name: str = ""
    mass_g: float | None = None

    @property
    def key(self) -> str:
        """Name by which its heat is looked up."""
        return self.name.casefold()

    @property
    def name_field(self) -> str:
        """Field of its name."""
        return aid_fields(self.number)[0]

    @property
    def mass_field(self) -> str:
        """Field of its mass."""
        return aid_fields(self.number)[1]


class FiringRow(Struct, frozen=True, gc=False):
    """One row of Calibration or Runs."""

    place: Place
    firing: str = ""
    date: dt.date | None = None
    time: dt.time | None = None
    purpose: Purpose | None = None
    series: str = ""
    sample: str = ""
    replicate: str = ""
    outcome: Outcome | None = None
    use: Use | None = None
    reason: str = ""
    analyst: str = ""
    calorimeter: str = ""
    bomb: str = ""
    crucible: str = ""
    crucible_g: float | None = None
    crucible_and_sample_g: float | None = None
    mass_g: float | None = None
    wire_fitted_cm: float | None = None
    wire_left_cm: float | None = None
    wire_mass_g: float | None = None
    thread_g: float | None = None
    aids: tuple[Aid, ...] = ()
    """Aids that the row names or weighs, in the order of their numbers."""
    capsule_mass_g: float | None = None
    capsule_in_tare: YesNo | None = None
    water_mL: float | None = None
    oxygen_pressure_MPa: float | None = None
    initial_C: float | None = None
    final_C: float | None = None
    rise_K: float | None = None
    heat_exchange_K: float | None = None
    residue: str = ""
    washings_kept: YesNo | None = None
    remark: str = ""
    unreadable: frozenset[str] = frozenset()
    rise_decimals: int | None = None
    """Decimals to which the rise and the two temperatures stand in the sheet, at the most."""
    own: Mapping[str, OwnResult] = field(default_factory=_nothing)
    """Own results by field: own_gross_ad, own_gross_d, own_heat_capacity."""
    rounded: Mapping[str, float] = field(default_factory=_nothing)
    """Typed mass_g and rise_K that are only the rounded difference of two finer figures, and so are not in use."""

    @property
    def aid_mass_g(self) -> float | None:
        """Mass of all aids together in g; None where none is weighed."""
        masses = [aid.mass_g for aid in self.aids if aid.mass_g is not None]
        return math.fsum(masses) if masses else None


class TitrationRow(Struct, frozen=True, gc=False):
    """One row of Titration: the titre of one firing's washings."""

    place: Place
    firing: str = ""
    titrant: Titrant | None = None
    concentration: float | None = None
    concentration_unit: ConcentrationUnit | None = None
    burette_start_mL: float | None = None
    burette_end_mL: float | None = None
    titre_mL: float | None = None
    blank_mL: float | None = None
    baryta_mL: float | None = None
    baryta_eq_per_L: float | None = None
    carbonate_mL: float | None = None
    carbonate_eq_per_L: float | None = None
    acid_mL: float | None = None
    acid_eq_per_L: float | None = None
    unreadable: frozenset[str] = frozenset()
    portions: tuple["TitrantRow", ...] = ()
    """Portions of the standardisation that the strength was taken from where it is blank in the row."""

    @property
    def titre_read_mL(self) -> float | None:
        """The titre as logged, typed or as the difference of two burette readings, without judging it."""
        if self.titre_mL is not None or self.burette_start_mL is None or self.burette_end_mL is None:
            return self.titre_mL
        return self.burette_end_mL - self.burette_start_mL


class TitrantRow(Struct, frozen=True):
    """One portion of a standardisation of a titrant."""

    place: Place
    titrant: Titrant | None = None
    date: dt.date | None = None
    standard: str = ""
    portion_g: float | None = None
    molar_mass_g_per_mol: float | None = None
    equivalents: float | None = None
    titre_mL: float | None = None
    blank_mL: float | None = None
    unreadable: frozenset[str] = frozenset()


class ReadingRow(Struct, frozen=True, gc=False):
    """One reading of the temperature of one firing."""

    place: Place
    firing: str = ""
    time_min: float | None = None
    temperature_C: float | None = None
    period: Period | None = None
    unreadable: frozenset[str] = frozenset()


class AmendmentRow(Struct, frozen=True):
    """One row of Amendments: a blocking finding that a reviewer overrides, with the reason."""

    place: Place
    finding: str = ""
    where: str = ""
    firing: str = ""
    sample: str = ""
    reason: str = ""
    reviewer: str = ""
    date: dt.date | None = None
    unreadable: frozenset[str] = frozenset()


class EquipmentRow(Struct, frozen=True):
    """One row of Equipment: an item, its time in service, a change of it, and what is due."""

    place: Place
    equipment: str = ""
    kind: EquipmentKind | None = None
    of_calorimeter: str = ""
    in_service_from: dt.date | None = None
    in_service_to: dt.date | None = None
    changed_on: dt.date | None = None
    what_changed: str = ""
    calibrated_on: dt.date | None = None
    due: dt.date | None = None
    certificate: str = ""
    firings_since_service: float | None = None
    firings_between_services: float | None = None
    remark: str = ""
    unreadable: frozenset[str] = frozenset()

    def in_service(self, day: dt.date) -> bool:
        """Whether a day lies within the row's time in service, both ends counted; a blank end is open."""
        return (self.in_service_from is None or self.in_service_from <= day) and (
            self.in_service_to is None or day <= self.in_service_to
        )


CONTENT_FIELDS = (
    "ash", "sulphur", "hydrogen", "nitrogen", "oxygen", "volatile", "carbon", "chlorine",
)  # fmt: skip
"""Contents of a sample that are given in per cent on some basis."""


class SampleRow(Struct, frozen=True, gc=False):
    """One row of Samples; contents in per cent by mass, each with the basis it is given on."""

    place: Place
    sample: str = ""
    description: str = ""
    fuel_class: str = ""
    source: str = ""
    moisture_analysis: float | None = None
    moisture_total: float | None = None
    contents: Mapping[str, float] = field(default_factory=_nothing)
    bases: Mapping[str, Basis | None] = field(default_factory=_nothing)
    hydrogen_includes_moisture: YesNo | None = None
    moisture_date: dt.date | None = None
    delivery: str = ""
    received_on: dt.date | None = None
    sampled_on: dt.date | None = None
    sampled_by: str = ""
    condition: str = ""
    moisture_total_date: dt.date | None = None
    contents_by: str = ""
    on_certificate: YesNo | None = None
    unreadable: frozenset[str] = frozenset()
    own: Mapping[str, OwnResult] = field(default_factory=_nothing)
    """Own results by field: own_mean_ad, own_mean_d, own_mean_ar, own_net_ar."""
    own_verdict: str = ""
    """ "agree" or "disagree" by the lab's own sheet, "" where it says neither."""


class FormulaColumn(Struct, frozen=True):
    """A number column in which formulas stand: the form of each relative to its row, and the numbers typed.

    ``forms`` and ``typed`` are by row; formulas that do the same in their own rows have the same form.
    """

    role: str
    field: str
    table: Table
    forms: Mapping[int, str]
    typed: Mapping[int, float]


class ColumnsFile(Struct, frozen=True):
    """The map by which a lab's own sheets were read: its file, its SHA-256, and what each heading was read as.

    ``read`` holds sheet, heading and the heading of the blank workbook with basis and unit.
    """

    file_name: str
    sha256: str
    read: tuple[tuple[str, str, str], ...] = ()


class Batch(Struct, frozen=True):
    """All that was read from one workbook, with the findings of the reading."""

    file_name: str
    sha256: str
    setup: tuple[SetupEntry, ...]
    firings: tuple[FiringRow, ...]
    titrations: tuple[TitrationRow, ...]
    samples: tuple[SampleRow, ...]
    tables: Mapping[str, Table]
    """Tables found, by role: setup, calibration, runs, titration, samples, readings, titrant, equipment,
    amendments."""
    readings: tuple[ReadingRow, ...] = ()
    titrants: tuple[TitrantRow, ...] = ()
    equipment: tuple[EquipmentRow, ...] = ()
    amendments: tuple[AmendmentRow, ...] = ()
    findings: tuple[Finding, ...] = ()
    formulas: tuple[FormulaColumn, ...] = ()
    unseen: Mapping[str, Mapping[tuple[str, int], str]] = field(default_factory=_nothing)
    """How a filled row is out of sight or crossed out, by role, then sheet and row: "hidden", "filtered out",
    "struck through"."""
    columns: ColumnsFile | None = None
    """The map by which the lab's own sheets were read, or None where they are those of the blank workbook."""

    def has(self, role: str) -> bool:
        """Whether the workbook has a table for this role."""
        return role in self.tables

    def setup_key(self, finding: Finding) -> str | None:
        """Key of the Setup item at whose row or cell a finding stands, or None where it stands at none."""
        for entry in self.setup:
            if entry.place.sheet == finding.sheet and (
                finding.cell in entry.place.cells.values() if entry.place.cells else entry.place.row == finding.row
            ):
                return entry.key
        return None
