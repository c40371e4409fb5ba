"""The heat capacity that own calorific values imply: another series', another firing's, or a blank cell's."""

from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct

from batchcal.evaluate.slips.day import Day
from batchcal.evaluate.slips.own_causes import FEWEST_TO_FIT, Cause, bomb_heat
from batchcal.evaluate.slips.own_figures import CAPACITY_ROUNDED_J_PER_K, Figure, overlap
from batchcal.model import Series
from batchcal.terms import AcidScheme

MOST_SINGLE_CAPACITIES = 300
"""Firings of Calibration that rows are compared with one by one; among more, some would fit by chance."""


class Implied(Struct, frozen=True):
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


def capacity_causes(
    figures: Sequence[Figure], day: Day, names: Mapping[float, str], single: Mapping[float, str]
) -> Iterator[Cause]:
    """Yield another heat capacity that explains figures, for all of one series at once.

    ``names`` are those of the workbook's series; ``single`` firings' are so many that one fits easily by chance.
    """
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
        name = name or capacity_name(low, high, single, group[0].figure.firing.series)
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
