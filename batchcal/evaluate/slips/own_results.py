"""Results of the lab's own sheet that differ from those found here, and what the sheet must be doing.

For each own figure the constants are solved for one at a time, all others at the lab's settings. Where one of them
explains the figures of a column to within their rounding, the sheet can be read without its formulas.
"""

from collections.abc import Iterator, Mapping, Sequence

from batchcal.evaluate.contents import Contents
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips import formula_columns, own_capacities, own_causes
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.evaluate.slips.own_causes import Cause
from batchcal.evaluate.slips.own_figures import (
    CAPACITY_ROUNDED_J_PER_K,
    REST_J_PER_G,
    Figure,
    Scale,
    calories,
    overlap,
    places_text,
    scale_of,
)
from batchcal.formulas import statistics, weighing
from batchcal.logged import OwnResult
from batchcal.model import Settings
from batchcal.terms import AcidScheme, Basis, Purpose

BENZOIC_ROUNDED_J_PER_K = 0.3
"""What a certificate value in whole J/g may add to a heat capacity of 10 kJ/K; common practice, no source."""

MOST_SINGLE = 5
"""More figures than this that nothing explains are put into one finding."""

COLUMNS = {"own_gross_ad": Basis.AS_ANALYSED, "own_gross_d": Basis.DRY}


def find(day: Day) -> Iterator[Slip]:
    """Yield what the lab's own calorific values and heat capacities show."""
    counted = [f for f in day.firings if f.row.own and f.counts]
    tests = [f for f in counted if f.purpose is not Purpose.CALIBRATION]
    calibrations = [f for f in counted if f.purpose is Purpose.CALIBRATION]
    scales = scales_of(day)
    told: set[int] = set()
    if tests:
        names, drift = capacity_names(day), _series_by_rounding(day)
        for field, basis in COLUMNS.items():
            scale = scales.get(field)
            if scale is not None:
                figures = [figure for f in tests if (figure := _figure(f, field, scales, day, drift))]
                for slip in _column(figures, basis, scale, day, names):
                    told.update(id(firing) for firing in slip.firings)
                    yield slip
        yield from _capacities_taken(tests, day, names, told)
    if calibrations:
        yield from _calibration(calibrations, day)


def scales_of(day: Day) -> dict[str, Scale]:
    """Return the scale of each column of own calorific values on Runs.

    Where a heading names calories and Setup does not say which, the calorie is taken under which most rows agree.
    """
    scales = {}
    for field, basis in COLUMNS.items():
        rows = [f for f in day.firings if field in f.row.own and f.purpose is not Purpose.CALIBRATION]
        scale = best_scale(
            [f.row.own[field] for f in rows], [_found(f, basis, day.contents) for f in rows], day.settings
        )
        if scale is not None:
            scales[field] = scale
    return scales


def best_scale(results: Sequence[OwnResult], found: Sequence[float | None], settings: Settings) -> Scale | None:
    """Return the scale of a column's figures, with the calorie under which most agree with what was found."""
    plain = scale_of(results, "energy per mass", settings, None)
    if plain is not None or not results:
        return plain
    ranked = []
    for calorie in calories().values():
        scale = scale_of(results, "energy per mass", settings, calorie)
        if scale is not None:
            near = sum(
                value is not None and abs(scale.value(own) - value) <= 1e-4 * value
                for own, value in zip(results, found, strict=True)
            )
            ranked.append((near, scale))
    return max(ranked, key=lambda item: item[0])[1] if ranked else None


def _found(firing: Firing, basis: Basis, contents: Mapping[str, Contents]) -> float | None:
    """Return the calorific value found here on the basis of a column; a check has one as analysed only."""
    value, entry = firing.gross_ad_J_per_g, contents.get(firing.row.sample)
    if value is None or basis is Basis.AS_ANALYSED:
        return value
    return None if entry is None else entry.value_on(basis, value)


def _figure(
    firing: Firing, field: str, scales: Mapping[str, Scale], day: Day, drift: Mapping[int, float]
) -> Figure | None:
    """Return an own figure of a column; ``drift`` is by what share a series moves with figures that were rounded."""
    own, found, value = firing.row.own.get(field), _found(firing, COLUMNS[field], day.contents), firing.gross_ad_J_per_g
    theta = firing.corrected_rise_K
    if own is None or found is None or not value or not theta or not firing.mass_g:
        return None
    factor = found / value
    slack = (CAPACITY_ROUNDED_J_PER_K * theta / firing.mass_g + REST_J_PER_G) * factor
    slack += abs(found) * (abs(_by_rounding(firing)) + abs(drift.get(id(firing.series), 0.0)))
    scale = scales[field]
    figure = Figure(
        firing, firing.row.place, field, scale.value(own), found, scale.half_step(own), slack, factor
    )  # fmt: skip
    beside = firing.row.own.get("own_gross_ad")
    if field == "own_gross_ad" or beside is None or "own_gross_ad" not in scales or not figure.differs:
        return figure
    # The sheet makes its dry value of its own value as analysed, rounded or not.
    from_own, half = scales["own_gross_ad"].value(beside) * factor, scales["own_gross_ad"].half_step(beside) * factor
    return Figure(
        firing, firing.row.place, field, figure.own, from_own, figure.half + half, REST_J_PER_G, factor, chained=True
    )  # fmt: skip


def _by_rounding(firing: Firing) -> float:
    """Return by what share mass over rise moves with the rounded figures that stand in the row but are not in use."""
    mass, rise = firing.row.rounded.get("mass_g"), firing.row.rounded.get("rise_K")
    share = mass / firing.mass_g - 1.0 if mass is not None and firing.mass_g else 0.0
    return share - (rise / firing.rise_K - 1.0 if rise is not None and firing.rise_K else 0.0)


def _series_by_rounding(day: Day) -> dict[int, float]:
    """Return by what share the mean of each series moves that is worked out with rounded figures, where it does."""
    shares = {f.row.firing: _by_rounding(f) for f in day.firings if f.purpose is Purpose.CALIBRATION and f.row.rounded}
    if not shares:
        return {}
    return {
        id(series): statistics.mean([shares.get(number, 0.0) for number in series.firings])
        for series in day.series
        if series.firings
    }


def _column(
    figures: Sequence[Figure], basis: Basis, scale: Scale, day: Day, names: Mapping[float, str]
) -> Iterator[Slip]:
    def causes(pending: Sequence[Figure]) -> Iterator[Cause]:
        yield from own_causes.unit_causes(pending, scale, len(figures))
        yield from own_causes.basis_causes(pending, day.contents, basis)
        direct = [figure for figure in pending if not figure.chained]
        if direct:
            yield from own_causes.heat_causes(direct, day)
            yield from own_capacities.capacity_causes(direct, day, names, _single_names(day))
            implied = own_capacities.implied_capacities(direct, day.settings.acid_scheme)
            yield from own_capacities.moving_capacity(implied, _single_capacities(day))

    pending = [figure for figure in figures if figure.differs]
    while pending:
        found = own_causes.best(causes(pending))
        if found is None:
            break
        cause, others = found
        yield _told(cause, others, len(figures), "J/g")
        done = set(map(id, cause.members))
        pending = [figure for figure in pending if id(figure) not in done]
    yield from unexplained([figure for figure in pending if not _typed_over(figure, day)], "J/g", day.contents)


def _typed_over(figure: Figure, day: Day) -> bool:
    """Whether the figure is a number typed among formulas, which is said of its column."""
    return any(
        column.field == figure.field and column.table == figure.place.table and figure.place.row in column.typed
        for column in day.batch.formulas
        if formula_columns.is_calculated(column)
    )


def _told(cause: Cause, others: Sequence[Cause], of: int, unit: str) -> Slip:
    """Word one cause; the finding stands at the heading where the whole column is meant."""
    first = cause.members[0]
    place = first.place
    firings = tuple(figure.firing for figure in cause.members)
    single = len(cause.members) == 1
    off = [figure.own - figure.found for figure in cause.members]
    low, high = (f"{value:+.1f}".replace("-", "−") for value in (min(off), max(off)))
    effect = f"Own less found here: {low} {unit}" if low == high else f"Own less found here: {low} to {high} {unit}"
    if others:
        fits = "; or ".join(other.what for other in others)
        effect += f". It would fit as well that {fits}: strong, not certain"
    what = cause.what if not single or of == 1 else f"in this row {cause.what}"
    finding = place.finding(
        cause.code,
        first.field,
        firing=first.firing.row.firing if single else None,
        sample=first.firing.row.sample if single else None,
        severity=cause.severity,
        heading=place.heading(first.field),
        cells=places_text([figure.place for figure in cause.members], first.field),
        what=what,
        effect=effect,
    )
    return Slip(finding, firings)


def unexplained(pending: Sequence[Figure], unit: str, contents: Mapping[str, Contents]) -> Iterator[Slip]:
    """Yield the figures that nothing explains: one by one where they are few."""
    if len(pending) <= MOST_SINGLE:
        for figure in pending:
            yield _differs([figure], unit, _moisture_hint(figure, contents))
    else:
        worst = max(pending, key=lambda figure: abs(figure.own - figure.found))
        rows = places_text([figure.place for figure in pending], worst.field)
        others = [worst, *(figure for figure in pending if figure is not worst)]
        yield _differs(others, unit, f"; nothing tried explains {rows}, of which this is the farthest off")


def _differs(figures: Sequence[Figure], unit: str, hint: str) -> Slip:
    figure = figures[0]
    row = figure.firing.row
    finding = figure.place.finding(
        "own-result-differs",
        figure.field,
        firing=row.firing,
        sample=row.sample,
        heading=figure.place.heading(figure.field),
        own=f"{figure.own:.1f} {unit}",
        found=f"{figure.found:.1f} {unit}",
        hint=hint,
    )
    return Slip(finding, tuple(one.firing for one in figures))


def _moisture_hint(figure: Figure, contents: Mapping[str, Contents]) -> str:
    """Return the moisture that a dry figure was worked out with, where it follows from another own figure."""
    if not figure.chained or figure.own <= 0:
        return ""
    as_analysed = figure.found / figure.factor
    moisture = 100 * (1 - as_analysed / figure.own)
    spread = 100 * figure.tolerance / figure.own
    own = contents.get(figure.firing.row.sample)
    if own is None or not 0 <= moisture < 100:
        return ""
    same = [
        name
        for name, entry in contents.items()
        if entry is not own
        and entry.moisture_analysis is not None
        and abs(entry.moisture_analysis - moisture) <= spread + 0.005
    ]
    whose = f", the moisture of sample {same[0]}" if len(same) == 1 else ""
    return f" of the own value as analysed; it follows with a moisture of {moisture:.2f} %{whose}"


# --- heat capacities ------------------------------------------------------------------------------------------------


def capacity_names(day: Day) -> dict[float, str]:
    """Return what each series and Setup's heat capacities are called, by their value."""
    names: dict[float, str] = {}
    for series in day.series:
        if series.heat_capacity_J_per_K is None:
            continue
        what = "the value entered on Setup" if series.n is None else "the mean of the series"
        name = f" {series.name}" if series.name and series.n is not None else ""
        date = f" of {series.date}" if series.date else ""
        names[series.heat_capacity_J_per_K] = f"{what}{name}{date} for {series.apparatus}"
    return names


def _single_names(day: Day) -> dict[float, str]:
    rows = {} if len(day.batch.firings) > 10 * own_capacities.MOST_SINGLE_CAPACITIES else _single_capacities(day)
    return {value: f"that of the single firing of Calibration row {row}" for row, value in rows.items()}


def _single_capacities(day: Day) -> dict[int, float]:
    return {
        firing.row.place.row: firing.heat_capacity_J_per_K
        for firing in day.firings
        if firing.purpose is Purpose.CALIBRATION and firing.heat_capacity_J_per_K is not None
    }


def _capacities_taken(tests: Sequence[Firing], day: Day, names: Mapping[float, str], told: set[int]) -> Iterator[Slip]:
    """Yield own heat capacities of Runs that are not the one in force, where the values have not told it already."""
    field = "own_heat_capacity"
    rows = [f for f in tests if field in f.row.own and f.heat_capacity_J_per_K is not None]
    scale = scale_of([f.row.own[field] for f in rows], "energy per kelvin", day.settings, None)
    if scale is None:
        return
    groups: dict[tuple[int, float], list[Figure]] = {}
    for firing in rows:
        own = scale.value(firing.row.own[field])
        figure = Figure(
            firing, firing.row.place, field, own, firing.heat_capacity_J_per_K or 0.0,
            scale.half_step(firing.row.own[field]), CAPACITY_ROUNDED_J_PER_K,
        )  # fmt: skip
        if figure.differs and id(firing) not in told:
            groups.setdefault((id(firing.series), own), []).append(figure)
    for (_, own), figures in groups.items():
        series = figures[0].firing.series
        name = own_capacities.capacity_name(own, own, names, series)
        text = own_capacities.capacity_text(own, name, series)
        yield _told(Cause("own-heat-capacity-other", text, tuple(figures)), [], len(rows), "J/K")


def _calibration(firings: Sequence[Firing], day: Day) -> Iterator[Slip]:
    field = "own_heat_capacity"
    rows = [f for f in firings if field in f.row.own and f.heat_capacity_J_per_K and f.corrected_rise_K and f.mass_g]
    scale = scale_of([f.row.own[field] for f in rows], "energy per kelvin", day.settings, calories()["international"])
    if scale is None:
        return
    figures = [
        Figure(
            firing, firing.row.place, field, scale.value(firing.row.own[field]), firing.heat_capacity_J_per_K or 0.0,
            scale.half_step(firing.row.own[field]),
            BENZOIC_ROUNDED_J_PER_K + (firing.heat_capacity_J_per_K or 0.0) * abs(_by_rounding(firing)),
        )
        for firing in rows
    ]  # fmt: skip
    pending = [figure for figure in figures if figure.differs]
    while pending:
        found = own_causes.best(_calibration_causes(pending, scale, day, len(figures)))
        if found is None:
            break
        yield _told(*found, len(figures), "J/K")
        done = set(map(id, found[0].members))
        pending = [figure for figure in pending if id(figure) not in done]
    yield from unexplained(pending, "J/K", day.contents)


def _calibration_causes(figures: Sequence[Figure], scale: Scale, day: Day, of: int) -> Iterator[Cause]:
    def without(name: str, times: float = 1.0) -> own_causes.Rule:
        def rule(figure: Figure) -> float | None:
            heat, rise = getattr(figure.firing, name), figure.firing.corrected_rise_K
            return figure.found - times * heat / rise if heat and rise else None

        return rule

    yield from own_causes.unit_causes(figures, scale, of)
    if day.settings.acid_scheme not in (None, AcidScheme.NONE):
        text = "the acid correction is left out"
        yield from own_causes.expected("own-acid-forgotten", text, figures, without("nitric_J"), fewest=2)
        text = "the nitric acid is counted twice"
        yield from own_causes.expected("own-acid-twice", text, figures, without("nitric_J", -1), fewest=2)
    text = "the heat of ignition is left out"
    yield from own_causes.expected("own-ignition-forgotten", text, figures, without("ignition_J"), fewest=2)
    yield from _benzoic(figures, day.settings)


def _benzoic(figures: Sequence[Figure], settings: Settings) -> Iterator[Cause]:
    usable, intervals = [], []
    for figure in figures:
        firing = figure.firing
        rise, mass = firing.corrected_rise_K, firing.mass_g
        if not rise or not mass:
            continue
        side = (firing.ignition_J or 0.0) + (firing.aid_J or 0.0) + (firing.nitric_J or 0.0)
        middle = (figure.own * rise - side) / mass
        spread = (figure.half + 0.05) * rise / mass
        usable.append(figure)
        intervals.append((middle - spread, middle + spread))
    found = overlap(intervals)
    given, in_air = settings.benzoic_heat, settings.benzoic_heat_in_air
    if found is None or given is None or in_air is None:
        return
    low, high, members = found
    known = {
        given.value: "the certificate value in vacuum, not brought to a gram weighed in air",
        in_air.value**2 / given.value: "the value brought from vacuum to air twice",
        weighing.heat_in_air(in_air.value): "a value in air brought to air once more",
        in_air.value**2 / weighing.heat_in_air(in_air.value): "the value in vacuum of that in air",
    }
    name = next(
        (t for v, t in known.items() if low - 0.5 <= v <= high + 0.5 and abs(v - in_air.value) > 1), "",
    )  # fmt: skip
    enough = len(members) >= own_causes.FEWEST_TO_FIT and 2 * len(members) > len(figures)
    if (name and len(members) >= 2) or (enough and 0.98 < low / in_air.value < 1.02):
        text = f"the sheet uses {(low + high) / 2:.0f} J/g for benzoic acid"
        text += f", {name}" if name else ", the value of another lot?"
        text += f"; Setup gives {in_air.value:.0f} J/g by the gram weighed in air ({in_air.source})"
        cases = tuple(usable[index] for index in members)
        yield Cause("own-benzoic-value", text, cases, named=bool(name))
