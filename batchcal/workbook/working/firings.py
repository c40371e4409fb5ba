"""The rows of firings on the sheet Working: heat capacities, heats of aids, and the firings of the day."""

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import NamedTuple

from msgspec import Struct, field

from batchcal.logged import Aid, SampleRow
from batchcal.model import Evaluation, FiringResult, HeatCapacityEntry, Series
from batchcal.terms import Basis, FiringState, Purpose
from batchcal.workbook.record import entered_name
from batchcal.workbook.targets import to_log
from batchcal.workbook.working.acids import AcidRules
from batchcal.workbook.working.alike import Marks, Rows, same
from batchcal.workbook.working.body import RESULT, STORED, Body, Form, Line
from batchcal.workbook.working.charge import Charge, Sheet, benzoic_heat, write_charge
from batchcal.workbook.working.constants import BENZOIC, from_setup, stands_in_cell
from batchcal.workbook.working.contents import Contents
from batchcal.workbook.working.figures import Column
from batchcal.workbook.working.group import AT_ONCE, Group, of_each, write_together
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


class _Capacity(Struct, frozen=True):
    """Where a heat capacity stands, and where its slope against the rise and its mean rise do."""

    mean: Live
    slope: Live | None = None
    mean_rise: Live | None = None

    def at(self, rise: Live) -> Live:
        """Return the heat capacity for a corrected rise."""
        if self.slope is None or self.mean_rise is None:
            return self.mean
        return self.mean + self.slope * (rise - self.mean_rise)


class Compared(Struct, frozen=True):
    """The firings of a sample that were compared: their rows, and their values as analysed and on the basis of it."""

    rows: tuple[int, int]
    """The first and the last."""
    as_analysed: Sequence[float]
    on_basis: Sequence[float] | None


class _Found(NamedTuple):
    """What was found of one firing: its result, and what goes with it."""

    value: float
    beside: float | None = None


class Firings(Struct):
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
            self._rows(rest, self._calibration)

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
        done = [found for found in self._rows(used, partial(self._calibration, used=True)) if found is not None]
        capacity = None
        if done and series.heat_capacity_J_per_K is not None:
            values = self.body.span(RESULT, first, [found.value for found in done])
            rises = self.body.span("G", first, [found.beside or 0.0 for found in done])
            capacity = self._statistics(series, rises, values)
        used_rows = {id(firing.row) for firing in used}
        self._rows([firing for firing in members if id(firing.row) not in used_rows], self._calibration)
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
        line.difference(relative_difference(result, kept, scale))
        self.body.add(line)
        return Live(fixed(result.text), result.value)

    def _calibration(self, group: Group, *, used: bool = False) -> Sequence[_Found] | None:
        """Write calibration firings; returns of each its heat capacity and its corrected rise."""
        if group.ask(lambda firing: not _has_capacity(firing) or not (used or _worked_out(firing))):
            _not_computed(group)
            return None
        line = group.line
        charge = write_charge(self.sheet, group)
        heat = line.put("I", benzoic_heat(self.sheet, group.rows, charge.mass))
        acids = self.acids.write(group, mass=charge.mass, bomb_energy=charge.mass * heat, sulphur_percent=None)
        found = (charge.mass * heat + charge.ignition + charge.aids + charge.capsule + acids.nitric) / (
            charge.corrected_rise
        )
        result = _finish(line, found, group.figures(lambda firing: firing.heat_capacity_J_per_K))
        return _each(group, result, charge.corrected_rise)

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
            self._rows(rest, _not_computed)

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
        values = [found.value for found in self._rows(counted, partial(self._aid_firing, key=key)) if found is not None]
        if in_force is not None and in_force.cell is None and values:
            line = self._named(f"mean of {len(values)}")
            self.sheet.aid_heats[key] = self._against(line, average(body.span(RESULT, first, values)), in_force.value)
        self._rows([firing for firing in members if not firing.aid_counted], partial(self._aid_firing, key=key))

    def _aid_firing(self, group: Group, *, key: str) -> Sequence[_Found] | None:
        """Write aid firings; returns of each the heat that it found."""
        if group.ask(lambda firing: not firing.aid_counted and not _worked_out(firing)):
            _not_computed(group)
            return None
        line = group.line
        field = group.ask(lambda firing: _aid(firing, key).mass_field)
        masses = group.figures(lambda firing: _aid(firing, key).mass_g)
        mass = self.sheet.ground.inputs.cells(group.rows, field, masses)
        charge, heat_found = self._with_capacity(group)
        heat = line.put("I", benzoic_heat(self.sheet, group.rows, charge.mass))
        known = charge.ignition + charge.aids + charge.capsule
        acids = self.acids.write(group, mass=charge.mass, bomb_energy=heat_found - known, sulphur_percent=None)
        value = line.put(RESULT, (heat_found - known - acids.nitric - charge.mass * heat) / mass, Form.RESULT)
        together = line.put(COMPARED, value * mass + charge.aids + charge.capsule)
        _beside_stored(line, together, group.figures(lambda firing: firing.aid_J))
        return _each(group, value)

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
        self._rows([firing for firing in others if firing.purpose is Purpose.CHECK], self._fuel)
        compared = self._samples()
        self._rows([firing for firing in others if firing.purpose is not Purpose.CHECK], self._fuel)
        return compared

    def _samples(self) -> Mapping[str, Compared]:
        """Write the firings of every sample, those that were compared before the others."""
        fired: list[FiringResult] = []
        rows: list[SampleRow | None] = []
        places = []
        for sample in self.evaluation.samples:
            places.append(len(fired))
            counted = {id(firing.row) for firing in sample.counted}
            fired += sample.counted
            fired += [firing for firing in sample.firings if id(firing.row) not in counted]
            rows += [sample.row] * (len(fired) - len(rows))
        first = self.body.next
        found = self._rows(fired, partial(self._fuel, of_samples=True), rows)
        compared = {}
        for sample, place in zip(self.evaluation.samples, places, strict=True):
            values = [each for each in found[place : place + len(sample.counted)] if each is not None]
            if values and len(values) == len(sample.counted):
                on_basis = [each.beside for each in values if each.beside is not None]
                compared[sample.sample] = Compared(
                    (first + place, first + place + len(values) - 1),
                    [each.value for each in values],
                    on_basis if len(on_basis) == len(values) else None,
                )
        return compared

    def _fuel(self, group: Group, *, of_samples: bool = False) -> Sequence[_Found] | None:
        """Write check or sample firings; returns of each its value as analysed and on the basis of the comparison."""
        if group.ask(lambda firing: firing.gross_ad_J_per_g is None or not _worked_out(firing)):
            _not_computed(group)
            return None
        line, ground = group.line, self.sheet.ground
        contents = Contents.of(group.sample_rows(), ground.inputs) if of_samples else None
        charge, heat = self._with_capacity(group)
        side = charge.ignition + charge.aids + charge.capsule
        sulphur = contents.as_analysed("sulphur") if contents is not None else None
        acids = self.acids.write(group, mass=charge.mass, bomb_energy=heat - side, sulphur_percent=sulphur)
        value = (heat - side - acids.nitric - acids.sulphuric) / charge.mass
        result = Live(f"{RESULT}{line.number}", value.value)
        beside = None
        if contents is None:
            if group.ask(lambda firing: firing.recovery_percent is not None):
                beside = 100 * result / ground.constants[BENZOIC]
        elif ground.settings.comparison_basis is Basis.AS_ANALYSED:
            beside = result
        elif ground.settings.comparison_basis is Basis.DRY and contents.moisture is not None:
            beside = result * 100 / (100 - contents.moisture)
        if beside is not None:
            beside = line.put(COMPARED, beside)
        _finish(line, value, group.figures(lambda firing: firing.gross_ad_J_per_g))
        return _each(group, result, beside)

    def _with_capacity(self, group: Group) -> tuple[Charge, Live]:
        """Fill the cells of a charge and of the heat capacity used; returns the heat found with it."""
        charge = write_charge(self.sheet, group)
        used = []
        for firing in group.firings:
            series = firing.series
            if series is None:
                raise ValueError(f"firing {firing.name} has a value and no heat capacity")
            used.append(self.capacities[series.calorimeter, series.bomb, series.name, series.n is None])
        capacity = _together(group.marks, used)
        return charge, group.line.put("H", capacity.at(charge.corrected_rise)) * charge.corrected_rise

    def _rows(
        self,
        firings: Sequence[FiringResult],
        write: Callable[[Group], Sequence[_Found] | None],
        samples: Sequence[SampleRow | None] = (),
    ) -> list[_Found | None]:
        """Write a row for each firing, with its number as a link to its row of the log; returns what was found of it.

        ``samples`` are the rows of Samples where the firings are of samples. ``write`` fills the rows of firings that
        go the same way, and returns None where nothing was found of them.
        """
        found: list[_Found | None] = []
        for start in range(0, len(firings), AT_ONCE):
            some = slice(start, start + AT_ONCE)
            found += self._some(firings[some], write, samples[some] or [None] * len(firings[some]))
        return found

    def _some(
        self,
        firings: Sequence[FiringResult],
        write: Callable[[Group], Sequence[_Found] | None],
        samples: Sequence[SampleRow | None],
    ) -> list[_Found | None]:
        body = self.body
        numbers = range(body.next, body.next + len(firings))
        leads = body.lead(
            (f"A{number}", to_log(firing.row.place, "firing")) for number, firing in zip(numbers, firings, strict=True)
        )
        found: list[_Found | None] = [None] * len(firings)

        def write_group(positions: Sequence[int], marks: Marks) -> Sequence[Line]:
            members = [firings[position] for position in positions]
            line = Line(marks.texts([str(numbers[position]) for position in positions]), ruled=True)
            rows = Rows([firing.row for firing in members], marks)
            group = Group(members, [samples[position] for position in positions], marks, line, rows)
            form = Form.LINK if same([leads[position] for position in positions]) else Form.STRONG
            line.write("A", group.texts(lambda firing: firing.name), form)
            line.write("B", group.texts(_what), Form.TEXT)
            line.write("C", group.texts(lambda firing: str(firing.state)), Form.TEXT)
            for position, each in zip(positions, write(group) or (), strict=False):
                found[position] = each
            return [line]

        write_together(body, len(firings), write_group)
        return found


def _what(firing: FiringResult) -> str:
    """Return what was fired: sample and replicate, or the purpose."""
    row = firing.row
    return f"{row.sample} {row.replicate}".strip() if row.sample else str(firing.purpose or "purpose unknown")


def _not_computed(group: Group) -> None:
    group.line.write("D", group.texts(lambda firing: firing.reason or "was not worked out"), Form.TEXT)


def _finish(line: Line, found: Live, stored: Column) -> Live:
    """Fill the cells of results, of what is stored and of the difference; returns the cells of the results."""
    result = line.put(RESULT, found, Form.RESULT)
    _beside_stored(line, result, stored)
    return result


def _beside_stored(line: Line, found: Live, stored: Column) -> None:
    line.write(STORED, stored, Form.STORED)
    line.difference(relative_difference(found, Live(f"{STORED}{line.number}", stored)))


def _each(group: Group, value: Live, beside: Live | None = None) -> list[_Found]:
    """Return what was found of each firing."""
    values = of_each(value, len(group.firings))
    if beside is None:
        return list(map(_Found, values))
    return list(map(_Found, values, of_each(beside, len(group.firings))))


def _together(marks: Marks, capacities: Sequence[_Capacity]) -> _Capacity:
    """Return heat capacities as one; those with a slope are parted from those without."""
    slopes = [each.slope for each in capacities if each.slope is not None]
    rises = [each.mean_rise for each in capacities if each.mean_rise is not None]
    mean = marks.lives([each.mean for each in capacities])
    if not same([each.slope is not None and each.mean_rise is not None for each in capacities]):
        return _Capacity(mean)
    return _Capacity(mean, marks.lives(slopes), marks.lives(rises))


def _aid(firing: FiringResult, key: str) -> Aid:
    return next(aid for aid in firing.row.aids if aid.key == key)


def _has_capacity(firing: FiringResult) -> bool:
    return firing.heat_capacity_J_per_K is not None


def _worked_out(firing: FiringResult) -> bool:
    return firing.state is not FiringState.NOT_COMPUTED


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
