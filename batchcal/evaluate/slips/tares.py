"""Tares that belong to another crucible, and capsules that stand in the sample mass."""

from bisect import bisect_left
from collections.abc import Iterator, Sequence

from msgspec import Struct

from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.formulas import statistics
from batchcal.logged import FiringRow
from batchcal.terms import YesNo

STRANGE_G = 5e-3
"""A crucible's tare further off its other tares is strange; common practice, no source."""

REPEATS_G = 2e-3
"""Tares of one crucible follow each other within this; common practice, no source."""

SEEN_TWICE = 2
"""A tare is usual from so many rows on."""

FEWEST_TARES = 3

FAR, EXPLAINED_NEAR = 3.0, 1 / 3
"""Two that are further apart than three limits are explained by what brings them within one; nearer, within a third.

Honest pairs are never three limits apart, and a figure of the log that fits by chance is rare; chosen here, no source.
"""


class _Usual(Struct, frozen=True):
    """The tare that several rows have in common (g), and how many they are."""

    tare_g: float
    count: int


class _Doubted(Struct, frozen=True):
    """A firing whose mass is doubted, the one it disagrees with, how far apart they are, and what would explain it."""

    firing: Firing
    partner: Firing
    gap: float
    within: float


def find(day: Day) -> Iterator[Slip]:
    """Yield strange tares of numbered crucibles, and what would make pairs that disagree agree."""
    told: set[int] = set()
    for slip in _strange(day):
        told.update(id(firing) for firing in slip.firings)
        yield slip
    usual = _usual_tares(day.firings)
    for first, second, gap in day.apart:
        both = [_Doubted(one, other, gap, _within(day, gap)) for one, other in ((first, second), (second, first))]
        explained = [slip for doubted in both for slip in _capsule(day, doubted)]
        if not explained:
            for doubted in both:
                if id(doubted.firing) not in told:
                    explained += _other_crucible(day, doubted, usual)
        yield from explained


def _tares(row: FiringRow) -> list[float]:
    """Return a row's empty crucible (g): as weighed, or less a capsule that may have stood in it."""
    if row.crucible_g is None:
        return []
    if not row.capsule_mass_g or row.capsule_in_tare is YesNo.NO:
        return [row.crucible_g]
    without = row.crucible_g - row.capsule_mass_g
    return [without] if row.capsule_in_tare is YesNo.YES else [without, row.crucible_g]


def _strange(day: Day) -> Iterator[Slip]:
    crucibles: dict[str, list[Firing]] = {}
    for firing in day.firings:
        if firing.row.crucible and _tares(firing.row):
            crucibles.setdefault(firing.row.crucible.casefold(), []).append(firing)
    medians = {
        name: statistics.median(known)
        for name, members in crucibles.items()
        if len(known := [tares[0] for f in members if len(tares := _tares(f.row)) == 1]) >= FEWEST_TARES
    }
    ordered = sorted((median, name) for name, median in medians.items())
    for name, members in crucibles.items():
        for firing in members:
            tares = _tares(firing.row)
            if name not in medians or min(abs(tare - medians[name]) for tare in tares) <= STRANGE_G:
                continue
            row = firing.row
            fitting = _nearest(ordered, tares[0])
            hint = "" if fitting is None else f"; crucible {crucibles[fitting][0].row.crucible} would fit"
            finding = row.place.finding(
                "tare-strange", "crucible_g", firing=row.firing, sample=row.sample, crucible=row.crucible,
                read=f"{tares[0]:.4f}", usual=f"{medians[name]:.4f}", hint=hint,
            )  # fmt: skip
            yield Slip(finding, (firing,))


def _nearest(ordered: Sequence[tuple[float, str]], tare_g: float) -> str | None:
    """Return the crucible whose usual tare is nearest, if it is within what a tare repeats to."""
    at = bisect_left(ordered, (tare_g, ""))
    near = min(ordered[max(0, at - 1) : at + 1], key=lambda entry: abs(entry[0] - tare_g), default=None)
    return near[1] if near is not None and abs(near[0] - tare_g) <= REPEATS_G else None


def _usual_tares(firings: Sequence[Firing]) -> list[_Usual]:
    """Return the tares of the workbook that several rows have in common, the lightest first."""
    tares = sorted(known[0] for firing in firings if len(known := _tares(firing.row)) == 1)
    groups: list[list[float]] = []
    for tare in tares:
        if groups and tare - groups[-1][-1] <= REPEATS_G:
            groups[-1].append(tare)
        else:
            groups.append([tare])
    # A group that reaches further than tares of one crucible do is none.
    return [
        _Usual(statistics.median(group), len(group))
        for group in groups
        if len(group) >= SEEN_TWICE and group[-1] - group[0] <= 2 * STRANGE_G
    ]


def _other_crucible(day: Day, doubted: _Doubted, usual: Sequence[_Usual]) -> Iterator[Slip]:
    """Yield the one usual tare that makes a firing agree with its partner; several that do are none."""
    firing, within = doubted.firing, doubted.within
    row, mass, target = firing.row, firing.mass_g, day.compared(doubted.partner)
    tare = row.crucible_g
    if tare is None or row.crucible_and_sample_g is None or mass is None or target is None:
        return
    masses = [_mass_for(day, firing, mass, value) for value in (target - within, target + within)]
    if masses[0] is None or masses[1] is None:
        return
    low, high = sorted(mass + tare - wanted for wanted in masses if wanted is not None)
    first = bisect_left(usual, low, key=lambda entry: entry.tare_g)
    fits = [other for other in usual[first : first + 2] if other.tare_g <= high]
    if len(fits) != 1 or abs(fits[0].tare_g - tare) <= STRANGE_G:
        return
    fit = fits[0]
    value = day.what_if(firing, mass_g=mass + tare - fit.tare_g)
    if value is None:
        return
    left = abs(value - target)
    finding = row.place.finding(
        "tare-of-another-crucible", "crucible_g", firing=row.firing, sample=row.sample,
        gap=f"{doubted.gap:.0f}", firings=_names(day, firing), other=f"{left:.0f}", usual=f"{fit.tare_g:.4f}",
        count=fit.count, read=f"{tare:.4f}",
    )  # fmt: skip
    yield Slip(finding, (firing, doubted.partner))


def _within(day: Day, gap: float) -> float:
    limit = day.limit or 0.0
    return limit if gap > FAR * limit else limit * EXPLAINED_NEAR


def _mass_for(day: Day, firing: Firing, mass_g: float, wanted_J_per_g: float) -> float | None:
    """Return the mass (g) with which a firing would give a value: that is linear in 1/mass."""
    here, there = day.what_if(firing, mass_g=mass_g), day.what_if(firing, mass_g=2 * mass_g)
    if here is None or there is None or here == there:
        return None
    heat = 2 * mass_g * (here - there)
    rest = here - heat / mass_g
    return heat / (wanted_J_per_g - rest) if wanted_J_per_g > rest else None


def _capsule(day: Day, doubted: _Doubted) -> Iterator[Slip]:
    firing, row = doubted.firing, doubted.firing.row
    mass, target, capsule = firing.mass_g, day.compared(doubted.partner), row.capsule_mass_g
    if not capsule or mass is None or target is None:
        return
    value = day.what_if(firing, mass_g=mass - capsule)
    if value is None or abs(value - target) >= doubted.within:
        return
    at = "mass_g" if row.mass_g is not None else "crucible_g"
    finding = row.place.finding(
        "capsule-not-subtracted", at, firing=row.firing, sample=row.sample,
        gap=f"{doubted.gap:.0f}", firings=_names(day, firing), other=f"{abs(value - target):.0f}",
        capsule=f"{capsule:.4f}",
    )  # fmt: skip
    yield Slip(finding, (firing, doubted.partner))


def _names(day: Day, firing: Firing) -> str:
    return " and ".join(member.row.firing for member in day.counted(firing.row.sample))
