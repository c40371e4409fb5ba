"""What could explain own figures that differ: one constant solved for at a time, all others at the lab's settings."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from batchcal.evaluate.contents import Contents
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips.day import Day
from batchcal.evaluate.slips.own_figures import Figure, Scale, calories, overlap
from batchcal.findings import Severity
from batchcal.formulas import acids, statistics
from batchcal.terms import AcidScheme, Basis

NITRIC_FRACTIONS = (0.0010, 0.0012, 0.0016)
"""Nitric heat as a share of the bomb value, by the value of the coal; from memory, unchecked."""

FULL_SULPHUR_FACTOR = (92.0, 96.0)
REDUCED_SULPHUR_FACTOR = (54.0, 60.0)
"""J for 1 % of sulphur in 1 g, beside nitric acid found apart and beside all acid taken for nitric: 301.4/32.06 and
(301.4 - 2 x 59.8)/32.06 with what published factors scatter by; the figures of the methods are from memory."""

FEWEST_TO_FIT = 3
"""Rows that one constant without a name must explain before it is believed; common practice, no source."""

Rule = Callable[[Figure], float | None]
"""What a figure would be if something were so, or None where that cannot be."""


class Cause(Struct, frozen=True):
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
    if "cal" not in scale.unit:
        yield from _in_calories(figures, scale, named)
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


def _in_calories(figures: Sequence[Figure], scale: Scale, named: Mapping[str, float]) -> Iterator[Cause]:
    """Yield that the figures are in calories; those that rounding cannot tell apart are named together."""
    fitting: dict[tuple[int, ...], list[tuple[str, Cause]]] = {}
    for name, joules in named.items():
        words = f"{joules:g} J ({name})"
        for cause in expected("own-calorie", "", figures, lambda f, j=joules: f.found * scale.inside / j):  # type: ignore[misc]
            fitting.setdefault(tuple(map(id, cause.members)), []).append((words, cause))
    for alike in fitting.values():
        words = " or ".join(words for words, _ in alike)
        text = f"the figures are in calories of {words} under a heading of {scale.unit}"
        nearest = min((cause for _, cause in alike), key=lambda cause: cause.miss)
        yield replace(nearest, what=text)


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
