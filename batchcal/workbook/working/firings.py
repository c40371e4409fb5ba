"""The rows of firings on the sheet Working: heat capacities, heats of aids, and the firings of the day."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from batchcal.model import Evaluation, FiringResult, HeatCapacityEntry, SampleResult, Series
from batchcal.terms import Basis, FiringState, Purpose
from batchcal.workbook.record import entered_name
from batchcal.workbook.working.acids import AcidRules
from batchcal.workbook.working.body import RESULT, STORED, Body, Form, Line
from batchcal.workbook.working.charge import Charge, Sheet, benzoic_heat, write_charge
from batchcal.workbook.working.constants import BENZOIC, from_setup, stands_in_cell
from batchcal.workbook.working.contents import Contents
from batchcal.workbook.working.live import (
    Live,
    Span,
    average,
    fixed,
    live,
    relative_difference,
    residual_deviation,
    slope,
    standard_deviation,
)

COMPARED = "U"
"""Column of the value on the basis of the comparison."""


@dataclass(frozen=True, slots=True)
class _Capacity:
    """Where a heat capacity stands, and where its slope against the rise and its mean rise do."""

    mean: Live
    slope: Live | None = None
    mean_rise: Live | None = None

    def at(self, rise: Live) -> Live:
        """Return the heat capacity for a corrected rise."""
        if self.slope is None or self.mean_rise is None:
            return self.mean
        return self.mean + self.slope * (rise - self.mean_rise)


@dataclass(frozen=True, slots=True)
class Compared:
    """The cells of a sample's firings that were compared: as analysed, and on the basis of the comparison."""

    as_analysed: Span
    on_basis: Span | None


@dataclass(slots=True)
class Firings:
    """Writes the rows of firings, one section after the other."""

    body: Body
    sheet: Sheet
    acids: AcidRules
    capacities: dict[tuple[str, str, str, bool], _Capacity] = field(default_factory=dict)

    @property
    def evaluation(self) -> Evaluation:
        """What is written."""
        return self.sheet.ground.evaluation

    def write_series(self) -> None:
        """Write each heat capacity with the firings that it was made of."""
        evaluation = self.evaluation
        fired = [firing for firing in evaluation.firings if firing.purpose is Purpose.CALIBRATION]
        groups: dict[tuple[str, str, str], list[FiringResult]] = {}
        for firing in fired:
            groups.setdefault((firing.row.calorimeter, firing.row.bomb, firing.row.series), []).append(firing)
        entered = iter(evaluation.settings.heat_capacities)
        for series in evaluation.series:
            title = f"Heat capacity of {series.apparatus}" + (f", series {series.name}" if series.name else "")
            self.body.section(title, f"Results in J/K. {series.source}, {series.state}.")
            key = (series.calorimeter, series.bomb, series.name, series.n is None)
            capacity: _Capacity | None
            if series.n is None:
                capacity = self._entered(series, next(entered))
            else:
                capacity = self._measured(series, groups.pop(key[:3], []))
            if capacity is not None:
                self.capacities[key] = capacity
        rest = [firing for members in groups.values() for firing in members]
        if rest:
            self.body.section("Calibration firings of no heat capacity in force")
            for firing in rest:
                self._calibration(firing)

    def _entered(self, series: Series, entered: HeatCapacityEntry) -> _Capacity:
        constants = self.sheet.ground.constants
        line = self._named("as entered on Setup")
        entry = next(entry for entry in self.evaluation.batch.setup if entry.place is entered.place)
        if stands_in_cell(entry):
            found = from_setup(line, entry, self.evaluation.settings, constants)
        else:
            found = constants.record.settings[entered_name(entered)]
        return _Capacity(self._against(line, found, series.heat_capacity_J_per_K or 0.0))

    def _measured(self, series: Series, members: Sequence[FiringResult]) -> _Capacity | None:
        names = set(series.firings)
        used = [f for f in members if f.row.firing in names and _has_capacity(f) and not _set_aside(f)]
        first = self.body.next
        cells = [self._calibration(firing, used=True) for firing in used]
        done = [pair for pair in cells if pair is not None]
        capacity = None
        if done and series.heat_capacity_J_per_K is not None:
            rises = self.body.span("G", first, [rise.value for rise, _ in done])
            values = self.body.span(RESULT, first, [value.value for _, value in done])
            capacity = self._statistics(series, rises, values)
        used_rows = {id(firing.row) for firing in used}
        for firing in members:
            if id(firing.row) not in used_rows:
                self._calibration(firing)
        return capacity

    def _statistics(self, series: Series, rises: Span, values: Span) -> _Capacity:
        """Write the mean of a series and its scatter; with a line, its slope and the rise at the mean too."""
        line = self._named(f"mean of {len(values.values)}")
        mean = self._against(line, average(values), series.heat_capacity_J_per_K or 0.0)
        on_line = series.slope_J_per_K2 is not None
        if series.sd_J_per_K is not None:
            line = self._named("SD about the line (J/K)" if on_line else "standard deviation (J/K)")
            found = residual_deviation(values, rises) if on_line else standard_deviation(values)
            sd = self._against(line, found, series.sd_J_per_K, scale=mean)
            line = self._named("relative SD (%)")
            self._against(line, 100 * sd / mean, series.rsd_percent or 0.0, scale=live(100), small=True)
        if series.slope_J_per_K2 is None or series.mean_rise_K is None:
            return _Capacity(mean)
        line = self._named("mean corrected rise (K)")
        mean_rise = self._against(line, average(rises), series.mean_rise_K, small=True)
        line = self._named("slope (J/K per K)")
        per_kelvin = self._against(line, slope(values, rises), series.slope_J_per_K2, scale=mean, small=True)
        return _Capacity(mean, per_kelvin, mean_rise)

    def _named(self, words: str) -> Line:
        line = self.body.line()
        line.write("A", words, Form.STRONG)
        return line

    def _against(
        self, line: Line, found: Live, stored: float, scale: Live | None = None, *, small: bool = False
    ) -> Live:
        """Write a result beside what is stored, and return its cell as one that stays when copied."""
        result = line.put(RESULT, found, Form.SMALL_RESULT if small else Form.RESULT)
        line.write(STORED, stored, Form.STATED if small else Form.STORED)
        kept = Live(f"{STORED}{line.number}", stored)
        self.body.difference(line, relative_difference(result, kept, scale))
        self.body.add(line)
        return Live(fixed(result.text), result.value)

    def _calibration(self, firing: FiringResult, *, used: bool = False) -> tuple[Live, Live] | None:
        """Write one calibration firing; returns the cells of its corrected rise and of its heat capacity."""
        if not _has_capacity(firing) or (firing.state is FiringState.NOT_COMPUTED and not used):
            self._not_computed(firing)
            return None
        line = self._opened(firing)
        charge = write_charge(self.sheet, line, firing)
        heat = line.put("I", benzoic_heat(self.sheet, firing.row, charge.mass))
        acids = self.acids.write(line, firing, mass=charge.mass, bomb_energy=charge.mass * heat, sulphur_percent=None)
        found = (charge.mass * heat + charge.ignition + charge.aids + charge.capsule + acids.nitric) / (
            charge.corrected_rise
        )
        return charge.corrected_rise, self._against(line, found, firing.heat_capacity_J_per_K or 0.0)

    def write_aids(self) -> None:
        """Write the aid firings and the heats that they found, those first on which the others rest."""
        fired = [firing for firing in self.evaluation.firings if firing.purpose is Purpose.AID]
        groups: dict[str, list[FiringResult]] = {}
        for firing in fired:
            groups.setdefault(firing.aid_found, []).append(firing)
        rest = groups.pop("", [])
        for key in _in_turn(groups, {key for key, heat in self.sheet.ground.settings.aid_heats.items() if heat.cell}):
            self._aid(key, groups[key])
        if rest:
            self.body.section("Aid firings that find no heat")
            for firing in rest:
                self._not_computed(firing)

    def _aid(self, key: str, members: Sequence[FiringResult]) -> None:
        body = self.body
        in_force = self.sheet.ground.settings.aid_heats.get(key)
        name = next(aid.name for aid in members[0].row.aids if aid.key == key)
        body.section(
            f"Heat of the aid {name}",
            "Results in J/g; stored is the heat of aids and capsule together in J, which stands before it.",
        )
        counted = [firing for firing in members if firing.aid_counted]
        first = body.next
        values = [self._aid_firing(firing, key) for firing in counted]
        if in_force is not None and in_force.cell is None and values:
            line = self._named(f"mean of {len(values)}")
            found = average(body.span(RESULT, first, [value.value for value in values]))
            self.sheet.aid_heats[key] = self._against(line, found, in_force.value)
        for firing in members:
            if not firing.aid_counted:
                if firing.state is FiringState.NOT_COMPUTED:
                    self._not_computed(firing)
                else:
                    self._aid_firing(firing, key)

    def _aid_firing(self, firing: FiringResult, key: str) -> Live:
        line = self._opened(firing)
        aid = next(aid for aid in firing.row.aids if aid.key == key)
        mass = self.sheet.ground.inputs.cell(firing.row.place, aid.mass_field, aid.mass_g or 0.0)
        charge, heat_found = self._with_capacity(line, firing)
        heat = line.put("I", benzoic_heat(self.sheet, firing.row, charge.mass))
        known = charge.ignition + charge.aids + charge.capsule
        acids = self.acids.write(line, firing, mass=charge.mass, bomb_energy=heat_found - known, sulphur_percent=None)
        value = line.put(RESULT, (heat_found - known - acids.nitric - charge.mass * heat) / mass, Form.RESULT)
        together = line.put(COMPARED, value * mass + charge.aids + charge.capsule)
        line.write(STORED, firing.aid_J, Form.STORED)
        stored = Live(f"{STORED}{line.number}", firing.aid_J or 0.0)
        self.body.difference(line, relative_difference(together, stored))
        self.body.add(line)
        return value

    def write_day(self) -> Mapping[str, Compared]:
        """Write checks, samples and what is neither; returns the cells of each sample's firings that were compared."""
        evaluation = self.evaluation
        self.body.section(
            "Firings of the day",
            "Results are gross calorific values as analysed in J/g, at constant volume; of a check the recovery in % "
            "stands beside it.",
        )
        of_samples = {id(firing.row) for sample in evaluation.samples for firing in sample.firings}
        done = (Purpose.CALIBRATION, Purpose.AID)
        others = [f for f in evaluation.firings if f.purpose not in done and id(f.row) not in of_samples]
        self._rows(firing for firing in others if firing.purpose is Purpose.CHECK)
        compared = {}
        for sample in evaluation.samples:
            cells = self._sample(sample)
            if cells is not None:
                compared[sample.sample] = cells
        self._rows(firing for firing in others if firing.purpose is not Purpose.CHECK)
        return compared

    def _rows(self, firings: Iterable[FiringResult]) -> None:
        for firing in firings:
            self._fuel(firing, None)

    def _sample(self, sample: SampleResult) -> Compared | None:
        """Write the firings of a sample, those that were compared before the others."""
        contents = Contents.of(sample.row, self.sheet.ground.inputs)
        first = self.body.next
        cells = [self._fuel(firing, contents) for firing in sample.counted]
        counted = {id(firing.row) for firing in sample.counted}
        for firing in sample.firings:
            if id(firing.row) not in counted:
                self._fuel(firing, contents)
        values = [cell for cell in cells if cell is not None]
        if not values or len(values) < len(cells):
            return None
        on_basis = [value.value for _, value in values if value is not None]
        span = self.body.span(COMPARED, first, on_basis) if len(on_basis) == len(values) else None
        return Compared(self.body.span(RESULT, first, [value.value for value, _ in values]), span)

    def _fuel(self, firing: FiringResult, contents: Contents | None) -> tuple[Live, Live | None] | None:
        """Write one check or sample firing; returns its value as analysed and on the basis of the comparison."""
        if firing.gross_ad_J_per_g is None or firing.state is FiringState.NOT_COMPUTED:
            self._not_computed(firing)
            return None
        line = self._opened(firing)
        charge, heat = self._with_capacity(line, firing)
        side = charge.ignition + charge.aids + charge.capsule
        acids = self.acids.write(
            line,
            firing,
            mass=charge.mass,
            bomb_energy=heat - side,
            sulphur_percent=contents.as_analysed("sulphur") if contents is not None else None,
        )
        value = (heat - side - acids.nitric - acids.sulphuric) / charge.mass
        result = Live(f"{RESULT}{line.number}", value.value)
        beside = None
        if contents is None:
            if firing.recovery_percent is not None:
                beside = 100 * result / self.sheet.ground.constants[BENZOIC]
        elif self.sheet.ground.settings.comparison_basis is Basis.AS_ANALYSED:
            beside = result
        elif self.sheet.ground.settings.comparison_basis is Basis.DRY and contents.moisture is not None:
            beside = result * 100 / (100 - contents.moisture)
        if beside is not None:
            beside = line.put(COMPARED, beside)
        self._against(line, value, firing.gross_ad_J_per_g)
        return result, beside

    def _with_capacity(self, line: Line, firing: FiringResult) -> tuple[Charge, Live]:
        """Fill the cells of a charge and of the heat capacity used; returns the heat found with it."""
        charge = write_charge(self.sheet, line, firing)
        series = firing.series
        if series is None:
            raise ValueError(f"firing {firing.name} has a value and no heat capacity")
        capacity = self.capacities[series.calorimeter, series.bomb, series.name, series.n is None]
        return charge, line.put("H", capacity.at(charge.corrected_rise)) * charge.corrected_rise

    def _opened(self, firing: FiringResult) -> Line:
        """Begin the row of a firing, with its number as a link to its row of the log."""
        line = self.body.line()
        row = firing.row
        self.body.link(line, "A", firing.name, row.place, "firing")
        what = f"{row.sample} {row.replicate}".strip() if row.sample else str(firing.purpose or "purpose unknown")
        line.write("B", what, Form.TEXT)
        line.write("C", str(firing.state), Form.TEXT)
        return line

    def _not_computed(self, firing: FiringResult) -> None:
        line = self._opened(firing)
        line.write("D", firing.reason or "was not worked out", Form.TEXT)
        self.body.add(line)


def _has_capacity(firing: FiringResult) -> bool:
    return firing.heat_capacity_J_per_K is not None


def _set_aside(firing: FiringResult) -> bool:
    return firing.state is FiringState.SET_ASIDE


def _in_turn(groups: Mapping[str, Sequence[FiringResult]], known: set[str]) -> list[str]:
    """Return the aids in an order in which the firings of each need only heats that are known before."""
    known = set(known)
    order: list[str] = []
    waiting = list(groups)
    while waiting:
        ready = [key for key in waiting if _others(groups[key]) - {key} <= known]
        if not ready:
            raise ValueError(f"the heats of {', '.join(waiting)} rest on one another")
        order += ready
        known |= set(ready)
        waiting = [key for key in waiting if key not in ready]
    return order


def _others(members: Sequence[FiringResult]) -> set[str]:
    return {aid.key for firing in members for aid in firing.row.aids if aid.name and aid.mass_g is not None}
