"""What is read from a workbook and what is found from it, as frozen dataclasses; no arithmetic lives here.

A value that was blank is None. A value that stands in a cell but could not be trusted is None too, and its field
is named in ``unreadable``, so that it can never be mistaken for a blank. Units are in the field names.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from batchcal import findings
from batchcal.findings import Finding
from batchcal.terms import (
    AcidScheme,
    Basis,
    CalorieKind,
    ConcentrationUnit,
    Decision,
    FiringState,
    FurtherTestRule,
    HeatExchangeMethod,
    MassBasis,
    Outcome,
    Period,
    Purpose,
    SeriesState,
    Titrant,
    Use,
    YesNo,
)


@dataclass(frozen=True, slots=True)
class Table:
    """Where a sheet's table stands: its heading row, and the column letter of each field that was recognised."""

    sheet: str
    heading_row: int
    columns: Mapping[str, str]
    headings: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Place:
    """One row of a table, so that every value can be traced to its cell."""

    table: Table
    row: int

    @property
    def sheet(self) -> str:
        """Name of the sheet, as the workbook spells it."""
        return self.table.sheet

    def cell(self, field_name: str) -> str | None:
        """Address of a field's cell, or None where the sheet has no such column."""
        letter = self.table.columns.get(field_name)
        return None if letter is None else f"{letter}{self.row}"

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
        return findings.make(
            code,
            sheet=self.sheet,
            row=self.row,
            cell=self.cell(field_name) if field_name else None,
            firing=firing or None,
            sample=sample or None,
            severity=severity,
            **details,
        )


@dataclass(frozen=True, slots=True)
class SetupEntry:
    """One filled row of Setup: the value as it stands, its unit's text, and the record of where it comes from."""

    key: str
    label: str
    value: float | str | dt.date | None
    unit: str
    source: str
    in_force_from: dt.date | None
    place: Place
    unreadable: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class FiringRow:
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
    crucible_g: float | None = None
    crucible_and_sample_g: float | None = None
    mass_g: float | None = None
    wire_fitted_cm: float | None = None
    wire_left_cm: float | None = None
    wire_mass_g: float | None = None
    thread_g: float | None = None
    aid: str = ""
    aid_mass_g: float | None = None
    capsule_mass_g: float | None = None
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
    """Decimals to which the rise (or the coarser of the two temperatures) stands in the sheet."""


@dataclass(frozen=True, slots=True)
class TitrationRow:
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


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """One reading of the temperature of one firing."""

    place: Place
    firing: str = ""
    time_min: float | None = None
    temperature_C: float | None = None
    period: Period | None = None
    unreadable: frozenset[str] = frozenset()


CONTENT_FIELDS = (
    "ash", "sulphur", "hydrogen", "nitrogen", "oxygen", "volatile", "carbon", "chlorine",
)  # fmt: skip
"""Contents of a sample that are given in per cent on some basis."""


@dataclass(frozen=True, slots=True)
class SampleRow:
    """One row of Samples; contents in per cent by mass, each with the basis it is given on."""

    place: Place
    sample: str = ""
    description: str = ""
    fuel_class: str = ""
    source: str = ""
    moisture_analysis: float | None = None
    moisture_total: float | None = None
    contents: Mapping[str, float] = field(default_factory=dict)
    bases: Mapping[str, Basis | None] = field(default_factory=dict)
    hydrogen_includes_moisture: YesNo | None = None
    moisture_date: dt.date | None = None
    delivery: str = ""
    unreadable: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Batch:
    """All that was read from one workbook, with the findings of the reading."""

    file_name: str
    sha256: str
    setup: tuple[SetupEntry, ...]
    firings: tuple[FiringRow, ...]
    titrations: tuple[TitrationRow, ...]
    samples: tuple[SampleRow, ...]
    tables: Mapping[str, Table]
    """Tables found, by role: setup, calibration, runs, titration, samples, readings."""
    readings: tuple[ReadingRow, ...] = ()
    findings: tuple[Finding, ...] = ()

    def has(self, role: str) -> bool:
        """Whether the workbook has a table for this role."""
        return role in self.tables


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number in force: its value in inside units, where it comes from, and the mark of its source.

    ``per`` tells J per g from J per cm where a quantity may be either; ``text`` is how the lab wrote it.
    """

    name: str
    value: float
    unit: str
    source: str
    mark: str
    text: str = ""
    per: str = ""
    family: str = ""
    in_force_from: dt.date | None = None
    cell: str | None = None
    basis: Basis | None = None


@dataclass(frozen=True, slots=True)
class HeatCapacityEntry:
    """A heat capacity that the lab entered in Setup."""

    calorimeter: str
    bomb: str
    quantity: Quantity
    complete: bool
    """Whether both its source and its date are given."""


@dataclass(frozen=True, slots=True)
class Life:
    """How long a heat capacity stays in force: a number of days or of calendar months."""

    count: float
    unit: str


@dataclass(frozen=True, slots=True)
class Settings:
    """What the lab decided in Setup, in inside units; None where it is blank or could not be trusted."""

    laboratory: str = ""
    batch: str = ""
    batch_date: dt.date | None = None
    analyst: str = ""
    reviewer: str = ""
    method: str | None = None
    acid_scheme: AcidScheme | None = None
    comparison_basis: Basis | None = None
    further_test_rule: FurtherTestRule = FurtherTestRule.RANGE
    bases_required: tuple[Basis, ...] = ()
    net_required: bool = False
    """Whether Bases required names `net` too: net values on the required bases but dry ash-free."""
    report_unit: str = "J/g"
    report_rounding: float | None = None
    calorie_kind: CalorieKind | None = None
    calorie: Quantity | None = None
    repeatability_limit: Quantity | None = None
    benzoic_heat: Quantity | None = None
    benzoic_mass_basis: MassBasis | None = None
    benzoic_heat_in_air: Quantity | None = None
    wire_heat: Quantity | None = None
    thread_heat: Quantity | None = None
    fixed_ignition_heat: Quantity | None = None
    nitric_heat: Quantity | None = None
    sulphuric_heat: Quantity | None = None
    series_minimum: Quantity | None = None
    series_rsd_limit: Quantity | None = None
    heat_capacity_life: Quantity | None = None
    check_limit: Quantity | None = None
    reading_resolution: Quantity | None = None
    heat_exchange_method: HeatExchangeMethod | None = None
    coverage_factor: Quantity | None = None
    balance_uncertainty: Quantity | None = None
    thermometer_uncertainty: Quantity | None = None
    benzoic_uncertainty: Quantity | None = None
    heat_capacity_uncertainty: Quantity | None = None
    correction_uncertainty: Quantity | None = None
    moisture_uncertainty: Quantity | None = None
    repeatability_sd: Quantity | None = None
    max_charge_energy: Quantity | None = None
    max_sample_mass: Quantity | None = None
    max_oxygen_pressure: Quantity | None = None
    min_oxygen_pressure: Quantity | None = None
    heat_capacities: tuple[HeatCapacityEntry, ...] = ()
    aid_heats: Mapping[str, Quantity] = field(default_factory=dict)
    capsule_heats: Mapping[str, Quantity] = field(default_factory=dict)
    entries: Mapping[str, SetupEntry] = field(default_factory=dict)
    """The Setup row behind each unlabelled item that is filled, for messages."""
    report_unit_factor: float = 1.0
    """J/g in one report unit."""


@dataclass(frozen=True, slots=True)
class Series:
    """A heat capacity: from the benzoic acid firings of one series, or as entered in Setup (``n`` is None)."""

    calorimeter: str
    bomb: str
    name: str
    heat_capacity_J_per_K: float | None
    n: int | None
    sd_J_per_K: float | None
    rsd_percent: float | None
    rise_range_K: tuple[float, float] | None
    date: dt.date | None
    expires: dt.date | None
    state: SeriesState
    firings: tuple[str, ...]
    source: str
    findings: tuple[Finding, ...] = ()

    @property
    def apparatus(self) -> str:
        """Calorimeter and bomb in one word for messages."""
        return apparatus_name(self.calorimeter, self.bomb)


def apparatus_name(calorimeter: str, bomb: str) -> str:
    """Return calorimeter and bomb in words; a lab with one apparatus may leave both blank."""
    if calorimeter and bomb:
        return f"calorimeter {calorimeter} with bomb {bomb}"
    if calorimeter:
        return f"calorimeter {calorimeter}"
    if bomb:
        return f"bomb {bomb}"
    return "the calorimeter"


@dataclass(frozen=True, slots=True)
class Curve:
    """The time-temperature curve of one firing worked out: periods, rates and the correction that follows.

    The main period runs from ``start`` to ``end`` (positions in the readings, both included). Rates are in K/min,
    temperatures in °C, the cooling constant in 1/min.
    """

    times_min: tuple[float, ...]
    temperatures_C: tuple[float, ...]
    start: int
    end: int
    method: HeatExchangeMethod
    fore_rate: float
    after_rate: float
    fore_mean_C: float
    after_mean_C: float
    fore_residual_sd_K: float
    after_residual_sd_K: float
    cooling_constant_per_min: float
    largest_slope_K_per_min: float
    rise_K: float
    heat_exchange_K: float
    firing_minute_found: bool
    """True where the firing minute was found from the curve, False where the periods are given."""


@dataclass(frozen=True, slots=True)
class FiringResult:
    """One firing worked out, or the reason why it was not; heats in J, None where not computed."""

    row: FiringRow
    purpose: Purpose | None
    state: FiringState
    reason: str
    date: dt.date | None = None
    mass_g: float | None = None
    rise_K: float | None = None
    heat_exchange_K: float | None = None
    heat_capacity_J_per_K: float | None = None
    ignition_J: float | None = None
    aid_J: float | None = None
    nitric_J: float | None = None
    sulphuric_J: float | None = None
    gross_ad_J_per_g: float | None = None
    gross_d_J_per_g: float | None = None
    recovery_percent: float | None = None
    titre_mmol: float | None = None
    """Acid found by the titration, blank taken off, in mmol of hydrogen ion."""
    series: Series | None = None
    curve: Curve | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def corrected_rise_K(self) -> float | None:
        """Rise with the heat-exchange correction added."""
        if self.rise_K is None:
            return None
        return self.rise_K + (self.heat_exchange_K or 0.0)

    @property
    def name(self) -> str:
        """Firing number, or the row where there is none."""
        return self.row.firing or f"{self.row.place.sheet} row {self.row.place.row}"


@dataclass(frozen=True, slots=True)
class Contribution:
    """One contribution to the uncertainty of a value, in J/g of that value."""

    name: str
    standard_J_per_g: float
    note: str


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """The uncertainty of a sample's value on one basis; ``missing`` names what is not included."""

    basis: str
    standard_J_per_g: float
    coverage_factor: float
    contributions: tuple[Contribution, ...]
    missing: tuple[str, ...] = ()

    @property
    def expanded_J_per_g(self) -> float:
        """Standard uncertainty times coverage factor."""
        return self.standard_J_per_g * self.coverage_factor

    @property
    def largest(self) -> Contribution | None:
        """The contribution that weighs most."""
        return max(self.contributions, key=lambda part: part.standard_J_per_g, default=None)


@dataclass(frozen=True, slots=True)
class NetValues:
    """Net calorific values of a sample in J/g by basis, and in words what they rest on."""

    constant_pressure: Mapping[Basis, float | None]
    constant_volume: Mapping[Basis, float | None]
    notes: tuple[str, ...] = ()


NO_NET = NetValues({}, {})


@dataclass(frozen=True, slots=True)
class SampleResult:
    """One sample judged: what may be done with it tonight, why, and its values where there are any."""

    sample: str
    row: SampleRow | None
    decision: Decision
    reason: str
    next_step: str
    firings: tuple[FiringResult, ...]
    """Every firing of the sample, in the order of the sheet, whatever became of it."""
    counted: tuple[FiringResult, ...]
    """The firings that were compared."""
    n_used: int
    range_J_per_g: float | None
    limit_J_per_g: float | None
    rule: FurtherTestRule
    comparison_basis: Basis | None
    gross_J_per_g: Mapping[Basis, float | None]
    statistic: str
    """Which statistic the values are: "mean of 2", "median of 4", or "" where there are none."""
    net: NetValues = NO_NET
    uncertainty: Mapping[str, Uncertainty] = field(default_factory=dict)
    """Uncertainty by value: the basis of a gross value ("ad", "d", "ar", "daf") or "net ar"."""
    findings: tuple[Finding, ...] = ()

    @property
    def margin_J_per_g(self) -> float | None:
        """Limit less range: positive where the firings agree."""
        if self.range_J_per_g is None or self.limit_J_per_g is None:
            return None
        return self.limit_J_per_g - self.range_J_per_g


@dataclass(frozen=True, slots=True)
class Resolution:
    """What one step of the temperature reading is worth, in J/g, at the day's heat capacity and mass."""

    step_K: float
    from_setup: bool
    """False where the step was taken from the decimals that were typed."""
    worth_J_per_g: float
    heat_capacity_J_per_K: float
    mass_g: float


@dataclass(frozen=True, slots=True)
class Evaluation:
    """Everything found from one Batch; the outputs are made from this and from nothing else."""

    batch: Batch
    settings: Settings
    series: tuple[Series, ...]
    firings: tuple[FiringResult, ...]
    samples: tuple[SampleResult, ...]
    findings: tuple[Finding, ...]
    resolution: Resolution | None = None

    @property
    def all_ready(self) -> bool:
        """Whether every sample is ready and no finding blocks or concerns safety."""
        return all(sample.decision is Decision.READY for sample in self.samples) and not any(
            finding.severity.stops for finding in self.findings
        )
