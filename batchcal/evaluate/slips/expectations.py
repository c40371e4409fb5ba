"""Results that are not what the composition, the class of the fuel or the oxygen in the bomb lets one expect."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from batchcal import findings, reference
from batchcal.evaluate.contents import Contents
from batchcal.evaluate.slips.analyses import Analysis, full_analysis, moistures_doubtful
from batchcal.evaluate.slips.benches import agreed_as_analysed, agreed_dry
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.evaluate.wording import listed
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

EXPLAINED = frozenset({"sum-off", "hydrogen-holds-moisture"})
"""Findings about a composition, made before, from which it follows that the value disagrees with it."""

_FEW, _MOST = 4, 0.5
"""From so many samples on, and for more than this part of them, one finding is made of all; no source."""

_FIRED_C = 25.0
"""Temperature of the gas where the start is not logged."""


@dataclass(frozen=True, slots=True)
class _Compared:
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
        sure = not fuel or _COAL.search(fuel) or _OIL.search(fuel)
        return reference.constant("composition-difference" if sure else "composition-difference-plants").value

    @property
    def disagrees(self) -> bool:
        """Whether the two differ by more than that."""
        return abs(self.off_percent) > self.limit_percent


def find(day: Day) -> Iterator[Slip]:
    """Yield values out of keeping with composition or class, and firings that took much of the oxygen."""
    yield from _composition(day)
    for entry in day.contents.values():
        yield from _fuel_class(day, entry)
    yield from _oxygen(day)


def _composition(day: Day) -> Iterator[Slip]:
    compared = []
    for entry in day.contents.values():
        if any(finding.code in EXPLAINED for finding in entry.found):
            continue
        analysis, found = full_analysis(entry), agreed_dry(day, entry)
        expected = None if analysis is None else analysis.expected_J_per_g()
        if analysis is None or entry.row is None or found is None or expected is None:
            continue
        if expected > 0.0:
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


def _fuel_class(day: Day, entry: Contents) -> Iterator[Slip]:
    row = entry.row
    if row is None or not row.fuel_class or moistures_doubtful(entry):
        return
    key, name = next(
        ((key, name) for key, name, words in CLASSES if re.search(words, row.fuel_class.casefold())), ("", "")
    )
    mean = agreed_as_analysed(day, entry.sample) if key else None
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


def _oxygen(day: Day) -> Iterator[Slip]:
    volume = day.settings.bomb_volume
    if volume is None:
        return
    most = reference.constant("oxygen-share-highest").value
    for firing in day.firings:
        row, capacity, rise = firing.row, firing.heat_capacity_J_per_K, firing.corrected_rise_K
        pressure = row.oxygen_pressure_MPa
        if not firing.counts or capacity is None or rise is None or pressure is None or pressure <= 0 or rise <= 0:
            continue
        heat = capacity * rise
        share = composition.oxygen_used_share(heat, pressure, volume.value, row.initial_C or _FIRED_C)
        if share > most:
            finding = row.place.finding(
                "oxygen-too-little", "oxygen_pressure_MPa", firing=row.firing, sample=row.sample,
                heat=f"{heat / 1000:.1f}", share=f"{100 * share:.0f}", volume=f"{volume.value:g}",
                pressure=f"{pressure:.3g}",
            )  # fmt: skip
            yield Slip(finding, (firing,))
