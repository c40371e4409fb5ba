"""The day as the finders of slips see it, and what they return."""

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import TypeVar

from msgspec import Struct, field

from batchcal.evaluate.agreement import passes
from batchcal.evaluate.contents import Contents
from batchcal.evaluate.firings import Firing
from batchcal.findings import Finding
from batchcal.logged import Batch
from batchcal.model import Series, Settings
from batchcal.terms import Basis

HABIT = 3
"""What is said of more than so many firings or samples is a habit of the laboratory, and is said once; no source."""

Member = TypeVar("Member")


def folded(members: Sequence[Member]) -> list[Sequence[Member]]:
    """Return members one by one, each to be spoken of by itself, or all together where they are a habit."""
    return [members] if len(members) > HABIT else [[member] for member in members]


class Slip(Struct, frozen=True):
    """One suspicion: its finding, and the firings and samples that it touches beside those that the finding names."""

    finding: Finding
    firings: tuple[Firing, ...] = ()
    samples: tuple[str, ...] = ()


class Day(Struct, frozen=True, eq=False, dict=True):
    """A day worked out, before its samples are judged."""

    batch: Batch
    settings: Settings
    firings: Sequence[Firing]
    """Every row of Calibration and Runs, in the order of the sheets."""
    grouped: Mapping[str, Sequence[Firing]]
    """The firings of each sample, in the order of the sheet."""
    contents: Mapping[str, Contents]
    """What the other benches found, of each sample that was fired."""
    series: Sequence[Series]
    _counted: dict[str, list[Firing]] = field(default_factory=dict)
    _compared: dict[int, float | None] = field(default_factory=dict)
    """What many finders ask for, kept once it was found: finders attach findings, and change no figure."""

    def counted(self, sample: str) -> list[Firing]:
        """Return the firings of a sample that were worked out and take part in its result."""
        members = self._counted.get(sample)
        if members is None:
            members = [f for f in self.grouped.get(sample, ()) if f.counts and f.gross_ad_J_per_g is not None]
            self._counted[sample] = members
        return members

    def compared(self, firing: Firing) -> float | None:
        """Return a sample firing's value on the comparison basis (J/g), or None where it has none."""
        key = id(firing)
        if key in self._compared:
            return self._compared[key]
        value, entry = firing.gross_ad_J_per_g, self.contents.get(firing.row.sample)
        if value is None or entry is None:
            found = None
        else:
            found = entry.value_on(self.settings.comparison_basis or Basis.AS_ANALYSED, value)
        self._compared[key] = found
        return found

    def gap(self, first: Firing, second: Firing) -> float | None:
        """Return how far apart two firings of one sample are on the comparison basis (J/g)."""
        one, other = self.compared(first), self.compared(second)
        return None if one is None or other is None else abs(one - other)

    def what_if(
        self,
        firing: Firing,
        *,
        mass_g: float | None = None,
        rise_K: float | None = None,
        heat_capacity_J_per_K: float | None = None,
    ) -> float | None:
        """Return what a worked-out firing would give on the comparison basis with another mass, rise or capacity."""
        capacity, theta, mass = firing.heat_capacity_J_per_K, firing.corrected_rise_K, firing.mass_g
        entry = self.contents.get(firing.row.sample)
        if capacity is None or theta is None or not mass or entry is None or firing.rise_K is None:
            return None
        new_mass = mass if mass_g is None else mass_g
        theta += 0.0 if rise_K is None else rise_K - firing.rise_K
        sulphuric = (firing.sulphuric_J or 0.0) * new_mass / mass  # the sulphur goes with the mass
        side = (firing.ignition_J or 0.0) + (firing.aid_J or 0.0) + (firing.nitric_J or 0.0) + sulphuric
        if new_mass <= 0:
            return None
        value = ((heat_capacity_J_per_K or capacity) * theta - side) / new_mass
        return entry.value_on(self.settings.comparison_basis or Basis.AS_ANALYSED, value)

    @property
    def limit(self) -> float | None:
        """The repeatability limit of two results in force, J/g on the comparison basis."""
        given = self.settings.repeatability_limit
        return None if given is None else given.value

    @cached_property
    def by_sheet(self) -> Sequence[Sequence[Firing]]:
        """The firings of each sheet that are not set aside or excluded, in the order of the sheet."""
        sheets: dict[str, list[Firing]] = {}
        for firing in self.firings:
            if not firing.left_out:
                sheets.setdefault(firing.row.place.sheet, []).append(firing)
        return list(sheets.values())

    @cached_property
    def pairs(self) -> Sequence[tuple[Firing, Firing, float]]:
        """The two firings of every sample that has exactly two that take part, and how far apart they are (J/g)."""
        found = []
        for sample in self.grouped:
            members = self.counted(sample)
            if len(members) == 2 and (gap := self.gap(*members)) is not None:
                found.append((members[0], members[1], gap))
        return found

    @cached_property
    def apart(self) -> Sequence[tuple[Firing, Firing, float]]:
        """The pairs that are further apart than the limit, and how far; none where there is no limit."""
        limit = self.limit
        if limit is None or limit <= 0:
            return ()
        return [pair for pair in self.pairs if not passes(pair[2], limit)]
