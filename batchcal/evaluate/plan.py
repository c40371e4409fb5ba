"""The plan for tonight: which samples are fired again, what to weigh, and what the next firing must show.

The number of further firings and the rule are fixed here, before the next one is fired. A mass is planned only where
the lab has entered its safety limits; it brings the rise to the middle of the calibrated rises, within those limits.
"""

from collections.abc import Mapping, Sequence

from msgspec import Struct

from batchcal.advice import PlannedFiring
from batchcal.evaluate.agreement import MOST_FIRINGS, limit_for, passes
from batchcal.evaluate.contents import Contents
from batchcal.formulas import repeatability, statistics
from batchcal.formulas.uncertainty import repeatability_sd
from batchcal.items import SETUP_ITEMS_BY_KEY
from batchcal.model import FiringResult, SampleResult, Series, Settings
from batchcal.terms import Decision, FurtherTestRule, Outcome, SeriesState

WILD = 12.0
"""Limits beyond which a difference is probably a slip: its records come first; derived, see slips.pairs."""

DRYING = ("wood", "pellet", "straw", "biomass", "peat", "lignite", "feed", "food", "rdf", "srf", "refuse", "sludge",
          "paper", "grass", "chip", "bark")  # fmt: skip
"""Words in a fuel class whose sample takes up or gives off moisture within hours; common practice, no source."""

_LIMITS = ("max_charge_energy", "max_sample_mass")
_REPEATED = ("pair-apart", "three-apart", "single-firing", "no-good-firing")


class _Rises(Struct, frozen=True):
    """The rise to aim at (K) and those between which the heat capacity holds."""

    target: float
    low: float
    high: float


def plan(
    samples: Sequence[SampleResult], contents: Mapping[str, Contents], settings: Settings, out_of_use: frozenset[str]
) -> tuple[PlannedFiring, ...]:
    """Return the firings to be made, in the order in which to make them.

    ``out_of_use`` names the calorimeters and bombs in which nothing may be fired.
    """
    planned = [
        _planned(sample, contents[sample.sample], settings, out_of_use)
        for sample in samples
        if sample.decision is Decision.REPEAT and any(f.code in _REPEATED for f in sample.findings)
    ]
    return tuple(sorted(planned, key=_order))


def _order(planned: PlannedFiring) -> tuple[bool, bool, float]:
    """Those that are probably a slip last; those that dry or take up moisture first; then those likely to need more."""
    return planned.probably_a_slip, not planned.drying, planned.chance if planned.chance is not None else 1.0


def _planned(sample: SampleResult, contents: Contents, settings: Settings, out_of_use: frozenset[str]) -> PlannedFiring:
    values = [value for firing in sample.counted if (value := _compared(sample, contents, firing)) is not None]
    count, limit = len(values) + 1, settings.repeatability_limit
    allowed = limit_for(count, limit.value) if limit is not None and values else None
    accepted = chance = None
    slip = hopeless = False
    if allowed is not None and limit is not None:
        accepted = repeatability.acceptance_interval(values, allowed)
        if len(values) > 1:
            chance = repeatability.chance_next_settles(values, allowed, repeatability_sd(limit.value))
            spread, widest = statistics.value_range(values), limit_for(MOST_FIRINGS, limit.value) or 0.0
            slip = spread > WILD * limit.value
            hopeless = settings.further_test_rule is FurtherTestRule.RANGE and not passes(spread, widest)
    last = (sample.counted or sample.firings)[-1]
    series = last.series
    mass = _mass(sample, series, settings, out_of_use)
    words = (sample.row.fuel_class if sample.row is not None else "").casefold()
    return PlannedFiring(
        sample=sample.sample,
        replicate=_next_letter(sample),
        count=count,
        apparatus=series.apparatus if series is not None else "",
        aids=tuple((aid.name, aid.mass_g) for aid in last.row.aids if aid.mass_g is not None),
        mass_g=mass.grams,
        mass_range_g=mass.window,
        rise_K=mass.rise,
        energy_J=mass.energy,
        energy_limit_J=mass.limit,
        why_no_mass=mass.why_none,
        remark=mass.remark,
        accepted_J_per_g=accepted,
        allowed_range_J_per_g=allowed,
        hopeless=hopeless,
        chance=chance,
        rule=settings.further_test_rule,
        most=_most(settings),
        drying=any(word in words for word in DRYING),
        probably_a_slip=slip,
    )


def _most(settings: Settings) -> int:
    """Return with how many firings the rule ends: a third decides under median and closest two."""
    return MOST_FIRINGS if settings.further_test_rule is FurtherTestRule.RANGE else 3


def _compared(sample: SampleResult, contents: Contents, firing: FiringResult) -> float | None:
    value, basis = firing.gross_ad_J_per_g, sample.comparison_basis
    return None if value is None or basis is None else contents.value_on(basis, value)


def _next_letter(sample: SampleResult) -> str:
    """Return the letter after the last one used; a letter whose firing failed is fired again under its own."""
    letters = [letter for f in sample.firings if (letter := _letter(f))]
    good = {_letter(f) for f in sample.counted}
    if not letters or any(len(letter) != 1 or not "A" <= letter <= "Z" for letter in letters):
        return ""
    failed = [
        _letter(f) for f in sample.firings if f.row.outcome not in (None, Outcome.GOOD) and _letter(f) not in good
    ]
    return failed[0] if failed else chr(min(ord(max(letters)) + 1, ord("Z")))


def _letter(firing: FiringResult) -> str:
    return firing.row.replicate.strip().upper()


class _Mass(Struct, frozen=True):
    """What to weigh and what it gives, or why no mass is planned."""

    why_none: str = ""
    grams: float | None = None
    window: tuple[float, float] | None = None
    rise: float | None = None
    energy: float | None = None
    limit: float | None = None
    remark: str = ""


def _mass(sample: SampleResult, series: Series | None, settings: Settings, out_of_use: frozenset[str]) -> _Mass:
    """Return what to weigh so that the rise is that of the calibration, within the lab's limits, or why not."""
    if series is None:
        return _Mass("no heat capacity is in force")
    if series.apparatus in out_of_use:
        return _Mass(f"nothing is to be fired in {series.apparatus}")
    blank = [SETUP_ITEMS_BY_KEY[key].name for key in _LIMITS if getattr(settings, key) is None]
    energy_limit, mass_limit = settings.max_charge_energy, settings.max_sample_mass
    if blank or energy_limit is None or mass_limit is None:
        return _Mass(f"no mass is planned, because Setup has no {' and no '.join(blank)}")
    known = [f for f in sample.counted if f.gross_ad_J_per_g is not None and f.mass_g and f.corrected_rise_K]
    if not known:
        return _Mass("no mass is planned, because no value of this sample is known yet")
    last = known[-1]
    value = statistics.median([f.gross_ad_J_per_g or 0.0 for f in known])
    rises = _rises(series, known)
    aid_g = sum(mass or 0.0 for mass in (last.row.aid_mass_g, last.row.capsule_mass_g))
    side = (last.ignition_J or 0.0) + (last.aid_J or 0.0)
    share = ((last.nitric_J or 0.0) + (last.sulphuric_J or 0.0)) / (last.mass_g or 1.0)  # goes with the mass, about

    def mass_for(rise: float) -> float:
        return ((series.at_rise(rise) or 0.0) * rise - side) / (value + share)

    most = min(mass_limit.value - aid_g, (energy_limit.value - side) / (value + share))
    low, high = mass_for(rises.low), min(mass_for(rises.high), most)
    remark = ""
    if most <= 0:
        return _Mass("no mass is planned: ignition and aid alone reach the lab's limits")
    if high < low:
        low, high = min(f.mass_g or 0.0 for f in known), most
        remark = f"even so the rise stays below the calibrated {rises.low:.2f} to {rises.high:.2f} K: an aid would help"
    grams = round(min(max(mass_for(rises.target), low), high), 2)
    if grams > high:  # rounded up beyond a limit
        grams -= 0.01
    energy = grams * (value + share) + side
    rise = energy / (series.heat_capacity_J_per_K or 1.0)
    return _Mass("", grams, (min(low, grams), high), rise, energy, energy_limit.value, remark)


def _rises(series: Series, known: Sequence[FiringResult]) -> _Rises:
    """Return the middle and the ends of the calibrated rises; without a series, the rises of the sample so far."""
    if series.rise_range_K is not None and series.state is SeriesState.IN_FORCE:
        low, high = series.rise_range_K
    else:
        rises = [firing.corrected_rise_K or 0.0 for firing in known]
        low, high = min(rises), max(rises)
    return _Rises((low + high) / 2, low, high)
