"""What is found from a Batch: settings, heat capacities, firings and samples, as frozen records.

No arithmetic lives here. Units are in the field names; None stands where nothing was computed.
"""

import datetime as dt
import hashlib
import json
from collections.abc import Callable, Mapping

from msgspec import Struct, field

from batchcal.advice import CalibrationComparison, CheckPower, PlannedFiring
from batchcal.findings import Finding
from batchcal.logged import Batch, FiringRow, Place, SampleRow, SetupEntry, TitrationRow
from batchcal.release import Changes, Release
from batchcal.terms import (
    AcidScheme,
    Basis,
    CalorieKind,
    CertificateConditions,
    DecimalMark,
    Decision,
    FiringState,
    FurtherTestRule,
    HeatCapacityModel,
    HeatExchangeMethod,
    MassBasis,
    Purpose,
    SeriesState,
)


class Quantity(Struct, frozen=True):
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
    key: str = ""
    """Key of a constant of the reference data, "" for what the lab entered."""


class HeatCapacityEntry(Struct, frozen=True):
    """A heat capacity that the lab entered in Setup."""

    calorimeter: str
    bomb: str
    quantity: Quantity
    complete: bool
    """Whether both its source and its date are given."""
    place: Place


class Settings(Struct, frozen=True):
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
    decimal_mark: DecimalMark = DecimalMark.POINT
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
    titrant_life: Quantity | None = None
    titrant_spread_limit: Quantity | None = None
    series_minimum: Quantity | None = None
    series_rsd_limit: Quantity | None = None
    heat_capacity_life: Quantity | None = None
    check_limit: Quantity | None = None
    check_warning_limit: Quantity | None = None
    check_sd: Quantity | None = None
    series_step_limit: Quantity | None = None
    shortest_firing_interval: Quantity | None = None
    waiting_after_misfire: Quantity | None = None
    moisture_gap_limit: Quantity | None = None
    reading_resolution: Quantity | None = None
    heat_exchange_method: HeatExchangeMethod | None = None
    heat_capacity_model: HeatCapacityModel = HeatCapacityModel.CONSTANT
    certificate_conditions: CertificateConditions = CertificateConditions.AS_CERTIFIED
    bomb_volume: Quantity | None = None
    coverage_factor: Quantity | None = None
    balance_uncertainty: Quantity | None = None
    thermometer_uncertainty: Quantity | None = None
    heat_exchange_uncertainty: Quantity | None = None
    benzoic_uncertainty: Quantity | None = None
    heat_capacity_uncertainty: Quantity | None = None
    correction_uncertainty: Quantity | None = None
    aid_uncertainty: Quantity | None = None
    moisture_uncertainty: Quantity | None = None
    ash_uncertainty: Quantity | None = None
    hydrogen_uncertainty: Quantity | None = None
    repeatability_sd: Quantity | None = None
    max_charge_energy: Quantity | None = None
    max_sample_mass: Quantity | None = None
    max_oxygen_pressure: Quantity | None = None
    min_oxygen_pressure: Quantity | None = None
    chlorine_limit: Quantity | None = None
    laboratory_address: str = ""
    customer: str = ""
    certificate_number: str = ""
    method_edition: str = ""
    method_deviations: str = ""
    reference_temperature: Quantity | None = None
    decision_rule: str = ""
    heat_capacities: tuple[HeatCapacityEntry, ...] = ()
    aid_heats: Mapping[str, Quantity] = field(default_factory=dict)
    capsule_heats: Mapping[str, Quantity] = field(default_factory=dict)
    entries: Mapping[str, SetupEntry] = field(default_factory=dict)
    """The Setup row behind each unlabelled item that is filled, for messages."""
    report_unit_factor: float = 1.0
    """J/g in one report unit."""


class Series(Struct, frozen=True):
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
    slope_J_per_K2: float | None = None
    """Slope against the corrected rise, where the heat capacity is a line; the mean lies at ``mean_rise_K``."""
    mean_rise_K: float | None = None
    slope_sd_J_per_K2: float | None = None
    """Standard deviation of the slope."""
    replaced_on: dt.date | None = None
    """Date of the series that took its place, None while it is the newest of its apparatus."""

    def at_rise(self, corrected_rise_K: float) -> float | None:
        """Return the heat capacity (J/K) for a firing of this corrected rise."""
        if self.heat_capacity_J_per_K is None or self.slope_J_per_K2 is None or self.mean_rise_K is None:
            return self.heat_capacity_J_per_K
        return self.heat_capacity_J_per_K + self.slope_J_per_K2 * (corrected_rise_K - self.mean_rise_K)

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


class CurvePart(Struct, frozen=True):
    """One part of the uncertainty of a corrected rise, in K, and in words what it rests on."""

    name: str
    standard_K: float
    note: str


class Curve(Struct, frozen=True):
    """The time-temperature curve of one firing worked out: periods, rates and the correction that follows.

    The main period runs from ``start`` to ``end`` (positions in the readings, both included). Rates are in K/min,
    temperatures in °C, the cooling constant in 1/min. The uncertainty is that of rise and correction together.
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
    reading_uncertainty_K: float
    """Standard uncertainty from the readings: new with each firing."""
    method_uncertainty_K: float | None
    """Standard uncertainty from the way of working out: alike in firings alike; None where there are no rates."""
    uncertainty_K: float
    """Both together; from the readings alone where there are no rates."""
    uncertainty_parts: tuple[CurvePart, ...]


class FiringResult(Struct, frozen=True, gc=False):
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
    titration: TitrationRow | None = None
    """The titration of its washings, with the strength that it was worked out with."""
    aid_found: str = ""
    """Key of the aid whose heat the firing finds, "" for none."""
    aid_counted: bool = False
    """Whether the heat that it finds of an aid is one of those that the aid's mean is made of."""
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


class Contribution(Struct, frozen=True):
    """One contribution to the uncertainty of a value, in J/g of that value."""

    name: str
    standard_J_per_g: float
    note: str


class Uncertainty(Struct, frozen=True, eq=False, gc=False):
    """The uncertainty of one of a sample's values; ``missing`` names what is not included.

    ``value`` is the basis of a gross value ("ad", "d", "ar", "daf") or "net_" and a basis.
    """

    value: str
    standard_J_per_g: float
    coverage_factor: float
    parts: Callable[[str], tuple[Contribution, ...]]
    """Works out the contributions to a value of the sample; of a long log hardly any are looked at."""
    missing: tuple[str, ...] = ()
    advice: str = ""
    """What weighs most, and what would make it smaller."""

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Uncertainty) and all(
            getattr(self, name) == getattr(other, name) for name in self.__struct_fields__ if name != "parts"
        )

    def __hash__(self) -> int:
        return hash((self.value, self.standard_J_per_g))

    @property
    def contributions(self) -> tuple[Contribution, ...]:
        """What contributes to it, worked out anew each time."""
        return self.parts(self.value)

    @property
    def expanded_J_per_g(self) -> float:
        """Standard uncertainty times coverage factor."""
        return self.standard_J_per_g * self.coverage_factor

    @property
    def complete(self) -> bool:
        """Whether everything that is known to matter is included, so that the figure may stand by itself."""
        return not self.missing


class NetValues(Struct, frozen=True):
    """Net calorific values of a sample in J/g by basis, and in words what they rest on."""

    constant_pressure: Mapping[Basis, float | None]
    constant_volume: Mapping[Basis, float | None]
    notes: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    """What was not known and had to be assumed for them."""

    @property
    def known(self) -> bool:
        """Whether there is a value at constant pressure on any basis."""
        return any(value is not None for value in self.constant_pressure.values())


NO_NET = NetValues({}, {})


class SampleResult(Struct, frozen=True, gc=False):
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
    """Uncertainty by value: the basis of a gross value ("ad", "d", "ar", "daf") or "net_" and a basis."""
    uncertainty_note: str = ""
    """Why a value that is ready has no uncertainty, or ""."""
    findings: tuple[Finding, ...] = ()
    unsaid: tuple[Finding, ...] = ()
    """Findings that follow from one of ``findings`` and are therefore not reported."""

    @property
    def released_over(self) -> str:
        """In words, over whose overrides this sample is ready: "released over a finding by ...", or ""."""
        lifted = [finding for finding in self.findings if finding.overridden]
        if self.decision is not Decision.READY or not lifted:
            return ""
        what = "a finding" if len(lifted) == 1 else f"{len(lifted)} findings"
        return f"released over {what} by {'; '.join(dict.fromkeys(finding.overridden for finding in lifted))}"

    @property
    def why(self) -> str:
        """The reason of the decision, after the overrides that it rests on."""
        return f"Ready, {self.released_over}. {self.reason}" if self.released_over else self.reason

    @property
    def margin_J_per_g(self) -> float | None:
        """Limit less range: positive where the firings agree."""
        if self.range_J_per_g is None or self.limit_J_per_g is None:
            return None
        return self.limit_J_per_g - self.range_J_per_g


class Resolution(Struct, frozen=True):
    """What one step of the temperature reading is worth, in J/g, at the day's heat capacity and mass."""

    step_K: float
    from_setup: bool
    """False where the step was taken from the decimals that were typed."""
    worth_J_per_g: float
    heat_capacity_J_per_K: float
    mass_g: float


class Evaluation(Struct, frozen=True):
    """Everything found from one Batch; the outputs are made from this and from nothing else."""

    batch: Batch
    settings: Settings
    series: tuple[Series, ...]
    firings: tuple[FiringResult, ...]
    samples: tuple[SampleResult, ...]
    findings: tuple[Finding, ...]
    resolution: Resolution | None = None
    check_powers: tuple[CheckPower, ...] = ()
    comparisons: tuple[CalibrationComparison, ...] = ()
    plan: tuple[PlannedFiring, ...] = ()
    settings_in_force: Mapping[str, str] = field(default_factory=dict)
    """Every item of Setup that bears on a value or a verdict, in words."""
    release: Release = field(default_factory=Release)
    changes: Changes | None = None
    """What changed since an earlier set of outputs, None where there was none or nothing did."""
    sheets: Mapping[str, int] = field(default_factory=dict)
    """The last filled column of each sheet of the lab's, counted from 1."""

    @property
    def settings_sha256(self) -> str:
        """SHA-256 of the settings in force: the same for two workbooks whose results rest on the same decisions."""
        return hashlib.sha256(json.dumps(dict(sorted(self.settings_in_force.items()))).encode()).hexdigest()

    @property
    def all_ready(self) -> bool:
        """Whether every sample is ready and no finding blocks or concerns safety."""
        return all(sample.decision is Decision.READY for sample in self.samples) and not any(
            finding.severity.stops for finding in self.findings
        )
