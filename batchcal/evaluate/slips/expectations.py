"""Results that are not what the composition, the class of the fuel or the oxygen in the bomb lets one expect."""

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from msgspec import Struct

from batchcal import findings, reference
from batchcal.evaluate.contents import Contents
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips.analyses import Analysis, full_analysis, moistures_doubtful
from batchcal.evaluate.slips.benches import agreed_as_analysed, agreed_dry
from batchcal.evaluate.slips.day import Day, Slip, folded
from batchcal.evaluate.wording import habit, listed, span
from batchcal.formulas import composition
from batchcal.logged import SampleRow
from batchcal.terms import Basis

CLASSES = (
    ("lignite", "lignite", r"\blignites?\b|\bbrown coals?\b"),
    ("hard-coal", "hard coal", r"\bhard coals?\b|(?<!sub-)(?<!sub)\bbituminous\b"),
    ("heavy-oil", "heavy oil", r"\bheavy (fuel )?oils?\b"),
    ("wood", "wood", r"\bwood(en|chips?)?\b"),
)
"""Classes of fuel with usual values on record: key, name, and how a lab writes the class."""

_COAL = re.compile(r"\bcoals?\b|\blignites?\b|\banthracites?\b|bituminous\b")
_OIL = re.compile(r"\boils?\b|\bdiesel\b|\bpetrol\b|\bkerosene\b")

_PLAIN = re.compile(
    r"hard|brown|coals?|lignites?|anthracites?|sub|(sub)?bituminous|heavy|light|fuel|oils?|diesel|petrol|kerosene|"
    r"heating|marine|residual|wood(en|chips?)?|chips?|pellets?|sawdust|shavings|logs?|stem(wood)?|(soft|hard)wood|pine|"
    r"spruce|fir|beech|oak|birch|raw|natural|untreated|fresh|dry|wet|high|medium|low|very|volatile|sul(ph|f)ur|steam|"
    r"thermal|run|of|mine|washed|screened|fines?|lump|imported|domestic|invented"
)
"""Words of classes that the usual values cover; beside any other (charred, mixed, treated, waste) nothing is known."""

EXPLAINED = frozenset({"sum-off", "hydrogen-holds-moisture"})
"""Findings about a composition, made before, from which it follows that the value disagrees with it."""

_FEW, _MOST = 4, 0.5
"""From so many samples on, and for more than this part of them, one finding is made of all; no source."""

_FIRED_C = 25.0
"""Temperature of the gas where the start is not logged."""

LARGEST_AID_SHARE = 0.5
"""Share of the heat from aids above which a person is asked to look; common practice, no source."""


class _Compared(Struct, frozen=True):
    """A sample's gross value (J/g, dry) beside what its composition lets expect."""

    entry: Contents
    row: SampleRow
    analysis: Analysis
    found: float
    expected: float

    @property
    def off_percent(self) -> float:
        """Found less expected, in % of what is expected."""
        return 100.0 * (self.found / self.expected - 1.0)

    @property
    def limit_percent(self) -> float:
        """What is worth a finding for this class of fuel, in %."""
        fuel = self.row.fuel_class.casefold()
        sure = not fuel or (_plain(fuel) and (_COAL.search(fuel) or _OIL.search(fuel)))
        return reference.constant("composition-difference" if sure else "composition-difference-plants").value

    @property
    def disagrees(self) -> bool:
        """Whether the two differ by more than that."""
        return abs(self.off_percent) > self.limit_percent


def find(day: Day) -> Iterator[Slip]:
    """Yield values out of keeping with composition or class, and firings that took much oxygen or aid."""
    yield from _composition(day)
    for entry in day.contents.values():
        if entry.row is not None and entry.row.fuel_class:
            yield from _fuel_class(day, entry, entry.row)
    yield from _oxygen(day)
    yield from _aids(day)


def _composition(day: Day) -> Iterator[Slip]:
    compared = []
    for entry in day.contents.values():
        analysis = full_analysis(entry)
        if analysis is None or entry.row is None or any(finding.code in EXPLAINED for finding in entry.found):
            continue
        found, expected = agreed_dry(day, entry), analysis.expected_J_per_g()
        if found is not None and expected is not None and expected > 0.0:
            compared.append(_Compared(entry, entry.row, analysis, found, expected))
    out = [one for one in compared if one.disagrees]
    for side in ([one for one in out if one.off_percent > 0], [one for one in out if one.off_percent < 0]):
        if len(compared) >= _FEW and len(side) > _MOST * len(compared):
            yield _all_alike(side, len(compared))
        else:
            for one in side:
                yield _single(one)


def _single(one: _Compared) -> Slip:
    coal, fuel = one.analysis.expected_of_coal_J_per_g, one.row.fuel_class.casefold()
    text = f"; Dulong's formula for coal gives {coal:.0f} J/g" if coal is not None and _COAL.search(fuel) else ""
    finding = one.row.place.finding(
        "composition-disagrees", "carbon", sample=one.entry.sample, found=f"{one.found:.0f}",
        expected=f"{one.expected:.0f}", off=f"{one.off_percent:+.1f}", coal=text,
        error=f"{reference.constant('composition-error').value:g}",
    )  # fmt: skip
    return Slip(finding, samples=(one.entry.sample,))


def _all_alike(side: list[_Compared], total: int) -> Slip:
    ratios = [one.found / one.expected for one in side]
    samples = tuple(one.entry.sample for one in side)
    finding = findings.make(
        "composition-disagrees-all", count=len(side), total=total, limit=f"{min(one.limit_percent for one in side):g}",
        low=f"{min(ratios):.3f}", high=f"{max(ratios):.3f}", samples=listed(samples),
    )  # fmt: skip
    return Slip(finding, samples=samples)


def _plain(fuel: str) -> bool:
    """Whether a class of fuel names nothing but plain fuels: not charcoal, torrefied wood, oil shale or a mixture."""
    if re.search(r"[+&/]", fuel):
        return False
    return all(_PLAIN.fullmatch(word) for word in re.findall(r"[^\W\d_]+", fuel))


def _fuel_class(day: Day, entry: Contents, row: SampleRow) -> Iterator[Slip]:
    if moistures_doubtful(entry):
        return
    fuel = row.fuel_class.casefold()
    classes = [(key, name) for key, name, words in CLASSES if re.search(words, fuel)]
    if len(classes) != 1 or not _plain(fuel):
        return
    key, name = classes[0]
    mean = agreed_as_analysed(day, entry.sample)
    value = None if mean is None else entry.value_on(Basis.DRY_ASH_FREE, mean)
    if value is None:
        return
    low, high = (reference.constant(f"daf-{key}-{end}").value for end in ("lowest", "highest"))
    margin = reference.constant("daf-margin").value / 100.0
    if low * (1 - margin) <= value <= high * (1 + margin):
        return
    finding = row.place.finding(
        "fuel-class-unusual", "fuel_class", sample=entry.sample, fuel=name, value=f"{value / 1000:.2f}",
        low=f"{low / 1000:g}", high=f"{high / 1000:g}",
    )  # fmt: skip
    yield Slip(finding, samples=(entry.sample,))


class _Burnt(Struct, frozen=True):
    """A firing with the heat that it gave (J) and the share of it, or of the oxygen, that is spoken of."""

    firing: Firing
    heat_J: float
    share: float


def _fired(firings: Iterable[Firing]) -> Iterator[tuple[Firing, float]]:
    """Yield those of some firings that count, with the heat (J) that each gave."""
    for firing in firings:
        capacity, rise = firing.heat_capacity_J_per_K, firing.corrected_rise_K
        if firing.counts and capacity is not None and rise is not None and rise > 0:
            yield firing, capacity * rise


def _oxygen(day: Day) -> Iterator[Slip]:
    volume = day.settings.bomb_volume
    if volume is None:
        return
    most = reference.constant("oxygen-share-highest").value
    over = []
    for firing, heat in _fired(day.firings):
        row = firing.row
        if row.oxygen_pressure_MPa is not None and row.oxygen_pressure_MPa > 0:
            start = row.initial_C or _FIRED_C
            share = composition.oxygen_used_share(heat, row.oxygen_pressure_MPa, volume.value, start)
            if share > most:
                over.append(_Burnt(firing, heat, share))
    for members in folded(over):
        pressures = [member.firing.row.oxygen_pressure_MPa or 0.0 for member in members]
        yield _of_firings(
            members, "oxygen-too-little", "oxygen_pressure_MPa",
            heat=span([member.heat_J / 1000 for member in members], ".1f"), volume=f"{volume.value:g}",
            pressure=span(pressures, ".3g"),
        )  # fmt: skip


def _aids(day: Day) -> Iterator[Slip]:
    """Yield samples of which most of the heat comes from aids and capsule."""
    over = []
    for firing, heat in _fired(firing for firing in day.firings if firing.aid_J):
        if firing.gross_ad_J_per_g is not None and (firing.aid_J or 0.0) > LARGEST_AID_SHARE * heat:
            over.append(_Burnt(firing, heat, (firing.aid_J or 0.0) / heat))
    for members in folded(over):
        yield _of_firings(members, "aid-share-high", "aid_mass_g")


def _of_firings(members: Sequence[_Burnt], code: str, field: str, **details: Any) -> Slip:
    """Return what is said of one firing, or once of all where it is a habit; it stands at the latest."""
    row, only = members[-1].firing.row, len(members) == 1
    finding = row.place.finding(
        code, field, firing=row.firing if only else None, sample=row.sample if only else None,
        firings=habit([member.firing.row.firing for member in members]),
        share=span([100 * member.share for member in members], ".0f"), **details,
    )  # fmt: skip
    return Slip(finding, tuple(member.firing for member in members))
