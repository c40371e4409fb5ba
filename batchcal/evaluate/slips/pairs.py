"""What would make two firings that disagree agree: masses or bombs exchanged, an aid forgotten, digits exchanged.

These are hints: each names one place to look at first, and none changes a decision.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips.copies import starts_of
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.terms import SeriesState

EXPLAINED = 0.65
"""A difference is explained by a slip that brings it below this part of the limit.

Of honest pairs 80 % lie within 0.65 of the limit (normal scatter, for which 95 % lie within it); derived.
"""

FAR, EXPLAINED_NEAR = 1.5, 1 / 3
"""Honest pairs are more than 1.5 limits apart in 0.3 % of cases (derived); nearer, more is asked of an explanation."""

FAR_DIGITS = 12.0
"""Limits from which exchanged digits are looked for: nearer, some exchange fits by chance.

Derived by simulation for a hard coal: between 1 500 and 5 000 J/g an exchange fits by luck in 4 % of pairs.
"""

AID_SLACK = 0.2
"""An aid that was forgotten may differ by this part from the masses of that aid in the log; no source."""


def find(day: Day) -> Iterator[Slip]:
    """Yield what would explain the difference of each pair that disagrees."""
    if not day.apart:
        return
    limit = day.limit or 0.0
    before, after = _neighbours(day.firings)
    used, starts = _aids_used(day), starts_of(day)
    for first, second, gap in day.apart:
        yield from _aids(day, first, second, gap, used)
        within = limit * (EXPLAINED if gap > FAR * limit else EXPLAINED_NEAR)
        yield from _masses(day, first, second, gap, within)
        if gap > FAR * limit:  # nearer, the heat capacity of another bomb fits half of all pairs by chance
            yield from _apparatus(day, *_odd_bomb_first(first, second, before, after), gap, within)
        if gap > FAR_DIGITS * limit:
            yield from _digits(day, first, second, gap, limit)
        for firing in (first, second):
            yield from starts.of(firing, before.get(id(firing)))


def _neighbours(firings: Sequence[Firing]) -> tuple[dict[int, Firing], dict[int, Firing]]:
    """Return the firing before and the firing after each, on the same sheet."""
    steps = [(one, two) for one, two in pairwise(firings) if one.row.place.sheet == two.row.place.sheet]
    return {id(two): one for one, two in steps}, {id(one): two for one, two in steps}


def _odd_bomb_first(
    first: Firing, second: Firing, before: Mapping[int, Firing], after: Mapping[int, Firing]
) -> tuple[Firing, Firing]:
    """Return two firings, first the one that stands beside another of its own bomb: bombs are used in turn."""

    def beside(firing: Firing) -> int:
        near = (before.get(id(firing)), after.get(id(firing)))
        return sum(other is not None and other.apparatus == firing.apparatus for other in near)

    return (second, first) if beside(second) > beside(first) else (first, second)


def _slip(code: str, at: Firing, field: str, pair: tuple[Firing, Firing], **details: Any) -> Slip:
    row = at.row
    names = " and ".join(firing.row.firing for firing in pair)
    finding = row.place.finding(code, field, firing=row.firing, sample=row.sample, firings=names, **details)
    return Slip(finding, pair)


def _apart(one: float | None, other: float | None) -> float | None:
    return None if one is None or other is None else abs(one - other)


def _masses(day: Day, first: Firing, second: Firing, gap: float, within: float) -> Iterator[Slip]:
    other = _apart(day.what_if(first, mass_g=second.mass_g), day.what_if(second, mass_g=first.mass_g))
    if other is not None and other < within:
        field = "mass_g" if first.row.mass_g is not None else "crucible_and_sample_g"
        texts = {"gap": f"{gap:.0f}", "other": f"{other:.0f}"}
        yield _slip("masses-exchanged", first, field, (first, second), **texts)


def _apparatus(day: Day, first: Firing, second: Firing, gap: float, within: float) -> Iterator[Slip]:
    """Look for another bomb whose heat capacity makes the two agree; which of the two it was cannot be seen."""
    others = {}
    for series in day.series:
        for firing in (first, second):
            capacity = series.heat_capacity_J_per_K
            if series.state is SeriesState.IN_FORCE and capacity and firing.series is not series:
                others[id(firing), series.apparatus] = (firing, series)
    for firing, series in others.values():
        partner = second if firing is first else first
        moved = day.what_if(firing, heat_capacity_J_per_K=series.heat_capacity_J_per_K)
        other = _apart(moved, day.compared(partner))
        if other is not None and other < within:
            texts = {"gap": f"{gap:.0f}", "other": f"{other:.0f}", "apparatus": series.apparatus}
            yield _slip("apparatus-exchanged", firing, "bomb", (first, second), **texts)
            return


def _aids_used(day: Day) -> dict[str, list[float]]:
    """Return the masses (g) of each aid in the log, by the aid's name in lower case."""
    used: dict[str, list[float]] = {}
    for firing in day.firings:
        for aid in firing.row.aids:
            if aid.name and aid.mass_g:
                used.setdefault(aid.name.casefold(), []).append(aid.mass_g)
    return used


def _aids(day: Day, first: Firing, second: Firing, gap: float, used: Mapping[str, Sequence[float]]) -> Iterator[Slip]:
    with_aid = [firing for firing in (first, second) if firing.row.aids]
    if len(with_aid) == 1:
        names = " and ".join(aid.name for aid in with_aid[0].row.aids)
        texts = {"aid": names, "gap": f"{gap:.0f}", "other": with_aid[0].row.firing}
        yield _slip("aid-in-one-only", with_aid[0], "aid", (first, second), **texts)
    low, high = sorted((first, second), key=lambda firing: firing.gross_ad_J_per_g or 0.0)
    excess = ((high.gross_ad_J_per_g or 0.0) - (low.gross_ad_J_per_g or 0.0)) * (high.mass_g or 0.0)
    for name, masses in used.items():
        heat = day.settings.aid_heats.get(name)
        if heat is None or name in {aid.name.casefold() for aid in high.row.aids}:
            continue
        mass = excess / heat.value
        if min(masses) * (1 - AID_SLACK) <= mass <= max(masses) * (1 + AID_SLACK):
            texts = {"excess": f"{excess:.0f}", "other": low.row.firing, "mass": f"{mass:.3f}", "aid": name}
            yield _slip("aid-forgotten", high, "aid", (first, second), **texts)


def _digits(day: Day, first: Firing, second: Firing, gap: float, limit: float) -> Iterator[Slip]:
    """Look for the one exchange of neighbouring digits that makes the two agree; two that do are none."""
    fits = []
    for firing, partner in ((first, second), (second, first)):
        target = day.compared(partner)
        for field, typed, swapped in _exchanges(firing):
            other = _apart(_with(day, firing, field, swapped), target)
            if other is not None and other < limit * EXPLAINED:
                fits.append((firing, field, typed, swapped))
    if len(fits) == 1:
        firing, field, typed, swapped = fits[0]
        texts = {"heading": firing.row.place.heading(field), "typed": typed, "read": swapped}
        yield _slip("digits-exchanged", firing, field, (first, second), gap=f"{gap:.0f}", **texts)


def _exchanges(firing: Firing) -> Iterator[tuple[str, str, str]]:
    """Yield each figure of a firing, as typed, with two neighbouring digits exchanged."""
    row = firing.row
    mass = ("mass_g",) if row.mass_g is not None else ("crucible_g", "crucible_and_sample_g")
    rise = ("rise_K",) if row.rise_K is not None else ("initial_C", "final_C")
    for field in (*mass, *rise):
        value = getattr(row, field)
        if value is None:
            continue
        text = f"{value:.10f}".rstrip("0")
        for match in re.finditer(r"(?=(\d)(\.?)(\d))", text):
            one, mark, two = match.groups()
            if one != two:
                at = match.start()
                yield field, text, text[:at] + two + mark + one + text[at + 2 + len(mark) :]


def _with(day: Day, firing: Firing, field: str, swapped: str) -> float | None:
    """Return what a firing would give with this figure in place of the one typed."""
    change = float(swapped) - getattr(firing.row, field)
    if field in {"rise_K", "final_C"}:
        return day.what_if(firing, rise_K=(firing.rise_K or 0.0) + change)
    if field == "initial_C":
        return day.what_if(firing, rise_K=(firing.rise_K or 0.0) - change)
    sign = -1.0 if field == "crucible_g" else 1.0
    return day.what_if(firing, mass_g=(firing.mass_g or 0.0) + sign * change)
