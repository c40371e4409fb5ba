"""What could explain own figures that differ: one constant solved for at a time, all others at the lab's settings."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from batchcal.evaluate.contents import Contents
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips.day import Day
from batchcal.evaluate.slips.own_figures import CAPACITY_ROUNDED_J_PER_K, Figure, Scale, calories, overlap
from batchcal.findings import Severity
from batchcal.formulas import acids, statistics
from batchcal.model import Series
from batchcal.terms import AcidScheme, Basis

NITRIC_FRACTIONS = (0.0010, 0.0012, 0.0016)
"""Nitric heat as a share of the bomb value, by the value of the coal; from memory, unchecked."""

FULL_SULPHUR_FACTOR = (92.0, 96.0)
REDUCED_SULPHUR_FACTOR = (54.0, 60.0)
"""J for 1 % of sulphur in 1 g, beside nitric acid found apart and beside all acid taken for nitric: 301.4/32.06 and
(301.4 - 2 x 59.8)/32.06 with what published factors scatter by; the figures of the methods are from memory."""

FEWEST_TO_FIT = 3
"""Rows that one constant without a name must explain before it is believed; common practice, no source."""

MOST_SINGLE_CAPACITIES = 300
"""Firings of Calibration that rows are compared with one by one; among more, some would fit by chance."""

Rule = Callable[[Figure], float | None]
"""What a figure would be if something were so, or None where that cannot be."""


@dataclass(frozen=True, slots=True)
class Cause:
    """One explanation: the figures that follow with it to within rounding, and what the sheet then does.

    ``miss`` is how far they lie from what follows on the average, as a share of what rounding allows.
    """

    code: str
    what: str
    members: tuple[Figure, ...]
    named: bool = True
    severity: Severity | None = None
    miss: float = 0.5


def best(causes: Iterable[Cause]) -> tuple[Cause, list[Cause]] | None:
    """Return the cause that explains most, and those of another kind that explain just as much."""
    ranked = sorted(causes, key=lambda cause: (-len(cause.members), not cause.named, cause.miss))
    if not ranked:
        return None
    first = ranked[0]
    members = set(map(id, first.members))
    others: dict[str, Cause] = {}
    for cause in ranked[1:]:
        if cause.code != first.code and cause.named and set(map(id, cause.members)) == members:
            others.setdefault(cause.code, cause)
    return first, list(others.values()) if first.named else []


def expected(
    code: str,
    what: str,
    figures: Sequence[Figure],
    rule: Rule,
    *,
    fewest: int = 1,
    severity: Severity | None = None,
) -> Iterator[Cause]:
    """Yield a cause if the figures that ``rule`` foretells are those of the sheet, in ``fewest`` rows at least."""
    foretold = [(figure, value) for figure in figures if (value := rule(figure)) is not None and figure.is_(value)]
    if foretold and len(foretold) >= fewest:
        misses = [abs(figure.own - value) / (figure.tolerance or 1.0) for figure, value in foretold]
        members = tuple(figure for figure, _ in foretold)
        yield Cause(code, what, members, severity=severity, miss=statistics.mean(misses))


# --- units and bases ------------------------------------------------------------------------------------------------


def unit_causes(figures: Sequence[Figure], scale: Scale, of: int) -> Iterator[Cause]:
    """Yield the unit, or the calorie, that the figures would be right in.

    One calorie taken for another touches a whole column: nearly all of the ``of`` figures that were compared.
    """
    whole_column = max(FEWEST_TO_FIT, round(0.8 * of))
    per_mass = "g" in scale.unit.rpartition("/")[2] or scale.unit.endswith("lb")
    plain = {"J": 1.0, "kJ": 1e3, "MJ": 1e6} if not per_mass else {"J/g": 1.0, "MJ/kg": 1e3, "J/kg": 1e-3}
    if per_mass:
        plain["Btu/lb"] = 2.326
    for name, joules in plain.items():
        if abs(joules / scale.inside - 1) > 1e-6:
            text = f"the figures are in {name} under a heading of {scale.unit}"
            yield from expected("own-calorie", text, figures, lambda f, j=joules: f.found * scale.inside / j)  # type: ignore[misc]
    named = calories()
    intervals = [_ratio(figure, scale.inside) for figure in figures]
    found = overlap(intervals)
    if found is not None and "cal" not in scale.unit:
        low, high, members = found
        fitting = {name: value for name, value in named.items() if low <= value <= high}
        if fitting:
            words = " or ".join(f"{value:g} J ({name})" for name, value in fitting.items())
            text = f"the figures are in calories of {words} under a heading of {scale.unit}"
            yield Cause("own-calorie", text, tuple(figures[index] for index in members))
    for one, worth in named.items():
        for other, other_worth in named.items():
            ratio = worth / other_worth
            if abs(ratio - 1) > 1e-4:
                text = (
                    f"the figures are {100 * (ratio - 1):+.3f} % off, as calories of {worth:g} J ({one}) taken for "
                    f"calories of {other_worth:g} J ({other}) are"
                )
                yield from expected(
                    "own-calorie", text, figures, lambda f, r=ratio: f.found * r,  # type: ignore[misc]
                    fewest=whole_column, severity=Severity.REVIEW,
                )  # fmt: skip


def _ratio(figure: Figure, inside: float) -> tuple[float, float]:
    """Return the J that one unit of the figures must be worth for a figure to be right."""
    if figure.own <= 0 or figure.found <= 0:
        return 0.0, 0.0
    middle = figure.found * inside / figure.own
    spread = middle * (figure.half / figure.own + figure.slack / figure.found)
    return middle - spread, middle + spread


def basis_causes(figures: Sequence[Figure], contents: Mapping[str, Contents], basis: Basis) -> Iterator[Cause]:
    """Yield the other basis, or the moisture factor, with which figures of a basis would be right."""

    def moisture(figure: Figure) -> tuple[float, float | None] | None:
        entry = contents.get(figure.firing.row.sample)
        if entry is None or not entry.moisture_analysis:
            return None
        total = None if entry.moisture_total is None else 1 - entry.moisture_total / 100
        return 1 - entry.moisture_analysis / 100, total

    for what, share in BASIS_SLIPS[basis]:

        def rule(figure: Figure, share: Callable[[float, float | None], float | None] = share) -> float | None:
            shares = moisture(figure)
            ratio = None if shares is None else share(*shares)
            return None if ratio is None else figure.found * ratio

        yield from expected("own-basis-wrong", what, figures, rule)


BASIS_SLIPS: Mapping[Basis, tuple[tuple[str, Callable[[float, float | None], float | None]], ...]] = {
    Basis.AS_ANALYSED: (
        ("the figures headed as analysed are the dry ones", lambda dry, _: 1 / dry),
        ("the figures headed as analysed are those as received", lambda dry, total: total and total / dry),
    ),
    Basis.DRY: (
        ("the figures headed dry are those as analysed", lambda dry, _: dry),
        ("the moisture factor of the dry figures is upside down, (100 - M)/100", lambda dry, _: dry * dry),
        ("the dry figures are worked out with the total moisture", lambda dry, total: total and dry / total),
        ("the figures headed dry are those as received", lambda _, total: total),
    ),
    Basis.AS_RECEIVED: (
        ("the figures headed as received are those as analysed", lambda dry, total: total and dry / total),
        ("the figures headed as received are the dry ones", lambda _, total: total and 1 / total),
        ("the moisture factor as received is upside down", lambda dry, total: total and (dry / total) ** 2),
        ("the figures as received leave the analysis moisture out", lambda dry, _: dry),
    ),
}
"""What a figure headed with a basis may be instead, and the factor on it, from the dry shares as analysed and as
received."""


# --- the heat balance -----------------------------------------------------------------------------------------------


def heat_causes(figures: Sequence[Figure], day: Day) -> Iterator[Cause]:
    """Yield what was left out of or put twice into the heat balance of a calorific value."""
    settings = day.settings

    def less(*names: str, times: float = 1.0) -> Rule:
        def rule(figure: Figure) -> float | None:
            heat = sum(getattr(figure.firing, name) or 0.0 for name in names)
            mass = figure.firing.mass_g
            return None if not mass or not heat else figure.found + times * heat / mass * figure.factor

        return rule

    if settings.acid_scheme not in (None, AcidScheme.NONE):
        both, forgotten = ("nitric_J", "sulphuric_J"), "own-acid-forgotten"
        yield from expected(forgotten, "the acid correction is left out", figures, less(*both))
        yield from expected(forgotten, "the nitric acid is left out", figures, less("nitric_J"), fewest=2)
        yield from expected(forgotten, "the sulphuric acid is left out", figures, less("sulphuric_J"), fewest=2)
        twice = "own-acid-twice"
        text = "the nitric acid is taken off twice"
        yield from expected(twice, text, figures, less("nitric_J", times=-1), fewest=2)
        yield from expected(twice, "both acids are taken off twice", figures, less(*both, times=-1), fewest=2)
        if settings.acid_scheme is not AcidScheme.PROPORTION:
            for share in NITRIC_FRACTIONS:
                text = (
                    f"the nitric acid is taken off as it is set here and again as {share:g} of the bomb value "
                    "(a share from memory, unchecked)"
                )
                yield from expected(twice, text, figures, lambda f, s=share: _by_share(f, s), fewest=2)  # type: ignore[misc]
        yield from _sulphur(figures, day)
    ignition = "own-ignition-forgotten"
    yield from expected(ignition, "the heat of ignition is left out", figures, less("ignition_J"), fewest=2)
    yield from expected(ignition, "the heat of the aid is left out", figures, less("aid_J"))


def _by_share(figure: Figure, share: float) -> float | None:
    firing = figure.firing
    heat = bomb_heat(firing)
    return None if heat is None or not firing.mass_g else figure.found - share * heat / firing.mass_g * figure.factor


def bomb_heat(firing: Firing) -> float | None:
    """Return the heat found less ignition and aid (J)."""
    theta = firing.corrected_rise_K
    if theta is None or firing.heat_capacity_J_per_K is None:
        return None
    return firing.heat_capacity_J_per_K * theta - (firing.ignition_J or 0.0) - (firing.aid_J or 0.0)


def _sulphur(figures: Sequence[Figure], day: Day) -> Iterator[Cause]:
    settings = day.settings
    if settings.nitric_heat is None or settings.sulphuric_heat is None:
        return
    total = settings.acid_scheme is AcidScheme.TOTAL_AS_NITRIC
    wrong = FULL_SULPHUR_FACTOR if total else REDUCED_SULPHUR_FACTOR
    usable, intervals = [], []
    for figure in figures:
        firing, entry = figure.firing, day.contents.get(figure.firing.row.sample)
        sulphur = entry.sulphur_ad if entry is not None else None
        if not sulphur or not firing.mass_g or firing.sulphuric_J is None:
            continue
        right = firing.sulphuric_J / (firing.mass_g * sulphur)
        middle = right + (figure.found - figure.own) / (sulphur * figure.factor)
        spread = figure.tolerance / (sulphur * figure.factor)
        usable.append(figure)
        intervals.append((middle - spread, middle + spread))
    found = overlap(intervals)
    if found is not None and len(found[2]) >= 2 and found[0] <= wrong[1] and found[1] >= wrong[0]:
        low, high, members = found
        scheme = "sulphuric beside nitric acid found apart" if total else "all acid taken for nitric"
        text = (
            f"the sheet takes {(low + high) / 2:.1f} J for 1 % of sulphur in 1 g, a factor that belongs to {scheme}; "
            f"the Acid scheme here is '{settings.acid_scheme}'"
        )
        yield Cause("own-sulphur-factor", text, tuple(usable[index] for index in members))

    def dry_taken(figure: Figure) -> float | None:
        entry, mass = day.contents.get(figure.firing.row.sample), figure.firing.mass_g
        if entry is None or entry.row is None or not mass or not entry.sulphur_ad:
            return None
        if entry.row.bases.get("sulphur") is not Basis.DRY or figure.firing.sulphuric_J is None:
            return None
        more = acids.sulphur_amount_mol(entry.row.contents["sulphur"] - entry.sulphur_ad, mass)
        nitric = settings.nitric_heat.value if settings.nitric_heat else 0.0
        sulphuric = settings.sulphuric_heat.value if settings.sulphuric_heat else 0.0
        each = sulphuric - (2 * nitric if settings.acid_scheme in _SHARED else 0.0)
        return figure.found - more * each / mass * figure.factor

    text = "the dry sulphur is multiplied with the mass as analysed"
    yield from expected("own-sulphur-basis", text, figures, dry_taken, fewest=2)


_SHARED = (AcidScheme.TOTAL_AS_NITRIC, AcidScheme.SULPHUR_APART)
"""Schemes in which more sulphur means less nitric acid out of one titre."""


# --- heat capacity --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Implied:
    """The heat capacity (J/K) with which one own figure would follow: between ``low`` and ``high``."""

    figure: Figure
    low: float
    high: float

    @property
    def blank(self) -> bool:
        """Whether the sheet took none at all."""
        return abs(self.low + self.high) < 0.002 * (self.figure.firing.heat_capacity_J_per_K or 0.0)


def implied_capacities(figures: Sequence[Figure], settings_scheme: AcidScheme | None) -> list[Implied]:
    """Return the heat capacity that each own calorific value implies."""
    found = []
    for figure in figures:
        firing = figure.firing
        theta, mass, capacity = firing.corrected_rise_K, firing.mass_g, firing.heat_capacity_J_per_K
        if not theta or not mass or capacity is None:
            continue
        slope = theta / mass * figure.factor
        if settings_scheme is AcidScheme.PROPORTION and (heat := bomb_heat(firing)):
            slope *= 1 - (firing.nitric_J or 0.0) / heat
        middle = capacity + (figure.own - figure.found) / slope
        spread = (figure.tolerance - CAPACITY_ROUNDED_J_PER_K * slope) / slope
        spread = max(spread, figure.half / slope)
        found.append(Implied(figure, middle - spread, middle + spread))
    return found


def capacity_causes(figures: Sequence[Figure], day: Day, names: Mapping[float, str]) -> Iterator[Cause]:
    """Yield another heat capacity that explains figures, for all of one series at once; ``names`` are known ones."""
    implied = implied_capacities(figures, day.settings.acid_scheme)
    yield from _own_capacity(implied)
    yield from _lost_anchor(implied)
    groups: dict[int, list[Implied]] = {}
    for one in implied:
        groups.setdefault(id(one.figure.firing.series), []).append(one)
    members: list[Figure] = []
    uses, named = [], True
    for group in groups.values():
        found = overlap([(one.low, one.high) for one in group])
        if found is None:
            continue
        low, high, positions = found
        name = capacity_name(low, high, names, group[0].figure.firing.series)
        if not name and (len(positions) < FEWEST_TO_FIT or 2 * len(positions) <= len(group)):
            continue
        if not 0.5 < low / (group[0].figure.firing.heat_capacity_J_per_K or low) < 2:
            continue
        named = named and bool(name)
        members += [group[position].figure for position in positions]
        uses.append(capacity_text((low + high) / 2, name, group[0].figure.firing.series))
    if members:
        yield Cause("own-heat-capacity-other", "; ".join(uses), tuple(members), named=named)


def capacity_name(low: float, high: float, names: Mapping[float, str], in_force: Series | None) -> str:
    """Return what a heat capacity between two bounds is known as; it may have been rounded to whole J/K."""
    current = in_force.heat_capacity_J_per_K if in_force is not None else None
    near = [
        (abs(value - (low + high) / 2), text)
        for value, text in names.items()
        if low - CAPACITY_ROUNDED_J_PER_K <= value <= high + CAPACITY_ROUNDED_J_PER_K and value != current
    ]
    return min(near)[1] if near else ""


def capacity_text(used: float, name: str, in_force: Series | None) -> str:
    """Return in words which heat capacity a sheet uses, and which is in force."""
    text = f"the sheet uses {used:.1f} J/K"
    text += f", {name}" if name else ", which is no heat capacity of this workbook"
    if in_force is not None and in_force.heat_capacity_J_per_K is not None:
        since = f" since {in_force.date}" if in_force.date else ""
        text += f"; in force for {in_force.apparatus}{since} is {in_force.heat_capacity_J_per_K:.1f} J/K"
    return text


def _own_capacity(implied: Sequence[Implied]) -> Iterator[Cause]:
    """Yield that the figures follow with the own heat capacity that the sheet gives beside them."""
    members, used = [], set()
    for one in implied:
        own = one.figure.firing.row.own.get("own_heat_capacity")
        if own is None or own.unit != "J/K":
            continue
        if one.low - CAPACITY_ROUNDED_J_PER_K <= own.value <= one.high + CAPACITY_ROUNDED_J_PER_K:
            members.append(one.figure)
            used.add(f"{own.value:g}")
    if members:
        text = f"the sheet uses its own heat capacity of {', '.join(sorted(used)[:4])} J/K, which is not in force"
        yield Cause("own-heat-capacity-other", text, tuple(members))


def _lost_anchor(implied: Sequence[Implied]) -> Iterator[Cause]:
    """Yield that the heat capacity becomes a blank cell from some row on, as after filling down without an anchor."""
    rows = sorted(implied, key=lambda one: one.figure.place.row)
    blank = [one for one in rows if one.blank]
    if len(blank) < 2:
        return
    first = blank[0].figure
    before = [one for one in rows if one.figure.place.row < first.place.row and _possible(one)]
    values = ", ".join(f"{(one.low + one.high) / 2:.1f}" for one in before[-3:])
    text = f"from {first.place.cell(first.field)} on the sheet uses a blank cell for the heat capacity"
    if values:
        text += f", after {values} J/K in the rows above"
    yield Cause("own-anchor-lost", text, tuple(one.figure for one in (*before, *blank)))


def _possible(one: Implied) -> bool:
    capacity = one.figure.firing.heat_capacity_J_per_K or 0.0
    return capacity > 0 and 0.8 < one.low / capacity < 1.25


def moving_capacity(implied: Sequence[Implied], stood: Mapping[int, float]) -> Iterator[Cause]:
    """Yield that each row takes the heat capacity of another row of Calibration, a fixed number of rows away.

    ``stood`` are the heat capacities of single firings by their row of Calibration.
    """
    if len(stood) > MOST_SINGLE_CAPACITIES:
        return
    by_value = sorted((value, row) for row, value in stood.items())
    counts: dict[int, list[Figure]] = {}
    for one in implied:
        for value, row in by_value:
            if value > one.high + 0.06:
                break
            if value >= one.low - 0.06:  # single heat capacities are kept to 0.1 J/K at the coarsest
                counts.setdefault(row - one.figure.place.row, []).append(one.figure)
    if counts:
        offset, members = max(counts.items(), key=lambda item: (len(item[1]), -abs(item[0])))
        if len(members) >= 2 and len({figure.place.row for figure in members}) >= 2:
            first = min(members, key=lambda figure: figure.place.row)
            text = (
                f"the sheet takes for each row the heat capacity of one firing, another one in each row (for row "
                f"{first.place.row} that of Calibration row {first.place.row + offset})"
            )
            yield Cause("own-anchor-lost", text, tuple(members))
