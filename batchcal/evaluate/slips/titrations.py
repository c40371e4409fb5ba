"""Titres that have slipped by a row, strengths of twice or half, and single titres out of line.

What is left of the acid titrated once that of the sulphur is taken off is nitric acid, which differs little from
firing to firing. Judged is only that remainder: no result of the day enters.
"""

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence

from batchcal import reference
from batchcal.evaluate import wording
from batchcal.evaluate.acids import in_eq_per_L
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.evaluate.slips.washings import Titre, spread, titres_of
from batchcal.formulas import statistics
from batchcal.formulas.trend import Trend, trend
from batchcal.terms import AcidScheme

LEAST_OFF_MMOL = 0.3
"""A remainder less than this off the others' is not spoken of; common practice, no source."""

BAND, SHIFTED = 5.0, 4.0
"""Robust standard deviations from which one titre is out of line, and from which several are; no source."""

FEWEST_BAND, FEWEST_SHIFTED, LEFT = 8, 3, 0.2
"""Titres needed to speak of a band; titres out of line before a shift is suspected; share that may stay so."""

CLOSE_GAIN = 0.8
"""Share of the largest gain that is as good where a volume stands twice; no source."""

LEAST_GAIN = 40.0
"""A shift must lessen the sum of squares by so many variances; chosen by trial on simulated days."""

KEPT = 0.2
"""So much of that gain must be left where samples may have nitric acid from their own nitrogen; no source."""

OWN_NITROGEN = 0.3
"""Share of a fuel's nitrogen that may end as nitric acid; from memory, unchecked."""

RICH_MMOL = 1.5
"""A charge with more nitrogen tells nothing of the strength of a titrant: what it adds is not known; no source."""

SAME_STRENGTH, SAME_RATIO, SAME_FACTOR = 0.02, 0.03, 0.2
"""Strengths within 2 % are one; a ratio within 3 % is two; acid within 20 % of twice is twice; no source."""

FEWEST_SLOPE, SLOPE_SD, RESOLVED = 6, 0.1, 5.0
"""Samples needed for a slope, its largest relative SD, and how many SD it must lie from 1; no source."""

FEWEST_COMPARED = 3


def find(day: Day) -> Iterator[Slip]:
    """Yield unusual strengths; a shift of the titres, else strengths of twice or half, and titres out of line."""
    if day.settings.acid_scheme not in (AcidScheme.TOTAL_AS_NITRIC, AcidScheme.SULPHUR_APART):
        return
    yield from _unusual(day)
    titres = titres_of(day)
    shift = _shift(titres)
    if shift is not None:
        yield shift
        return
    doubtful: set[int] = set()
    for slip, members in _strengths(titres):
        doubtful.update(id(titre) for titre in members)
        yield slip
    yield from _out_of_band([titre for titre in titres if id(titre) not in doubtful])


def _unusual(day: Day) -> Iterator[Slip]:
    """Yield each strength that is unusual for washings, once for all firings that were titrated with it."""
    low, high = reference.constant("titrant-lowest").value, reference.constant("titrant-highest").value
    users: dict[float, list[Firing]] = {}
    for firing in day.firings:
        used = firing.titration
        if firing.counts and used is not None and used.titrant and used.concentration and used.concentration_unit:
            strength = in_eq_per_L(used.concentration, used.concentration_unit, used.titrant)
            if not low <= strength <= high:
                users.setdefault(strength, []).append(firing)
    for strength, members in users.items():
        place = next(row.place for row in (firing.titration for firing in members) if row is not None)
        names = wording.habit([firing.row.firing for firing in members])
        finding = place.finding("concentration-unusual", "concentration", firings=names, value=f"{strength:g}")
        yield Slip(finding, tuple(members))


def _shift(titres: Sequence[Titre]) -> Slip | None:
    """Return the shift of the titres by one row that brings the nitric acid of the firings in line, if it is clear.

    Three titres must be out of line as they stand; two where a volume stands twice at the row.
    """
    benzoic = [titre for titre in titres if not titre.sample]
    now = [titre.nitric_mmol for titre in titres]
    if len(titres) < FEWEST_BAND:
        return None
    usual = [titre.nitric_mmol for titre in benzoic] if len(benzoic) >= FEWEST_COMPARED else now
    middle = statistics.median(usual)
    best: tuple[float, int, int, list[float]] | None = None
    off_now = [min(1.0, (value - middle) ** 2) for value in now]
    for step in (1, -1):
        moved = _moved(titres, step)
        start, gain = _best_start(titres, off_now, moved, middle, step)
        if best is None or gain > best[0]:
            best = (gain, start, step, moved)
    if best is None:
        return None
    gain, start, step, moved = best
    below = [value for value in moved[start:] if not math.isnan(value)]
    if not below:  # no titre stands a row away, as on forms
        return None
    middle, sd = spread([*now[:start], *below])
    off, fewest = max(SHIFTED * sd, LEAST_OFF_MMOL), FEWEST_SHIFTED - _twice(titres, start, step)
    wrong = sum(abs(value - middle) > off for value in now[start:])
    left = sum(abs(value - middle) > off for value in below)
    if gain < LEAST_GAIN * sd**2 or wrong < fewest or left > max(1, LEFT * len(below)) or 3 * left > wrong:
        return None
    shifted = [*now[:start], *moved[start:]]
    if _misfit(titres, now, shifted) - _misfit(titres, shifted, now) < KEPT * gain:
        return None
    first = titres[start]
    field = "titre_mL" if first.row.titre_mL is not None else "burette_end_mL"
    finding = first.row.place.finding(
        "titre-shift", field, heading=first.row.place.heading(field), way="low" if step == 1 else "high",
        before=wrong, after=left, total=len(titres) - start,
    )  # fmt: skip
    touched = tuple(titre.firing for titre in titres[start:])
    return Slip(finding, touched, tuple(dict.fromkeys(f.row.sample for f in touched if f.row.sample)))


def _misfit(titres: Sequence[Titre], values: Sequence[float], other: Sequence[float]) -> float:
    """Return the sum of squares that is left where each sample may have nitric acid of its own, but never less.

    Nitrogen of the fuel adds alike to all portions of a sample; nothing takes nitric acid away. Rows without a value
    in ``other`` are left out of both.
    """
    groups: dict[str, list[float]] = {}
    for titre, value, counterpart in zip(titres, values, other, strict=True):
        if not math.isnan(value) and not math.isnan(counterpart):
            groups.setdefault(titre.sample, []).append(value)
    benzoic = groups.pop("", [])
    everything = sorted([*benzoic, *itertools.chain(*groups.values())])
    plain = benzoic if len(benzoic) >= FEWEST_COMPARED else everything[: math.ceil(len(everything) / 2)]
    base = statistics.median(plain)
    left = [value - base for value in benzoic]
    for members in groups.values():
        level = max(base, statistics.mean(members))
        left += [value - level for value in members]
    return math.fsum(min(1.0, rest**2) for rest in left)


def _moved(titres: Sequence[Titre], step: int) -> list[float]:
    """Return the nitric acid of each row with the volume of the row below (1) or above (-1) it; NaN without one."""
    others: list[Titre | None] = [*titres[1:], None] if step == 1 else [None, *titres[:-1]]
    return [
        math.nan
        if other is None or other.row.place.row - titre.row.place.row != step
        else titre.nitric_with(other.volume_mL)
        for titre, other in zip(titres, others, strict=True)
    ]


def _best_start(
    titres: Sequence[Titre], off_now: Sequence[float], moved: Sequence[float], middle: float, step: int
) -> tuple[int, float]:
    """Return the row from which moving lessens the sum of squares most, and by how much.

    Squares, those of ``off_now`` too, are cut at that of 1 mmol, so that no single row decides. A row at which a volume
    stands twice goes before one of little more gain: there a column was pushed down.
    """
    changes = [
        0.0 if math.isnan(there) else off - min(1.0, (there - middle) ** 2)
        for off, there in zip(off_now, moved, strict=True)
    ]
    gains = [*itertools.accumulate(reversed(changes))][::-1]
    best = gains.index(max(gains))
    close = CLOSE_GAIN * gains[best]
    twice = [i for i, gain in enumerate(gains) if gain >= close and _twice(titres, i, step)]
    best = max(twice, key=lambda index: gains[index], default=best)
    return best, gains[best]


def _twice(titres: Sequence[Titre], index: int, step: int) -> bool:
    """Whether a volume stands twice where a column was pushed down."""
    return step == 1 and index > 0 and titres[index].volume_mL == titres[index - 1].volume_mL


def _strengths(titres: Sequence[Titre]) -> Iterator[tuple[Slip, list[Titre]]]:
    """Yield the strengths that the acid found says are twice or half the true one."""
    groups = _by_strength(titres)
    told = set()
    for strength, members in groups.items():
        slope = _slope(members)
        if slope is None:
            continue
        for factor in (2.0, 0.5):
            if abs(slope / factor - 1) <= SAME_FACTOR:
                told.add(strength)
                why = f"the acid found grows {slope:.2f} times as fast with the sulphur of the samples as it must"
                yield _said(members, strength, factor, why), members
    if told:
        return
    for strength, members in groups.items():
        for other, others in groups.items():
            if abs(strength / other / 2 - 1) > SAME_RATIO:
                continue
            yield from _compared(strength, members, other, others)


def _by_strength(titres: Sequence[Titre]) -> Mapping[float, list[Titre]]:
    """Return the titrations of each strength in eq/L, the order of the sheet kept."""
    names: dict[float, float] = {}
    strengths = sorted({titre.strength for titre in titres})
    for before, strength in itertools.pairwise([0.0, *strengths]):
        names[strength] = names[before] if before and strength <= before * (1 + SAME_STRENGTH) else strength
    groups: dict[float, list[Titre]] = {}
    for titre in titres:
        groups.setdefault(names[titre.strength], []).append(titre)
    return groups


def _slope(members: Sequence[Titre]) -> float | None:
    """Return the slope of the acid found against that of the sulphur; None where it could be 1, or is not sharp."""
    samples = [titre for titre in members if titre.sample and (titre.nitrogen_mmol or 0.0) <= RICH_MMOL]
    line = _line(samples)
    for _ in range(2):
        if line is None:
            return None
        rests = [titre.acid_mmol - line.slope * titre.sulphur_mmol for titre in samples]
        middle, sd = spread(rests)
        kept = [t for t, rest in zip(samples, rests, strict=True) if abs(rest - middle) <= SHIFTED * sd]
        if len(kept) == len(samples):
            break
        samples = kept
        line = _line(samples)
    if line is None:
        return None
    unsharp = line.slope_sd > SLOPE_SD * abs(line.slope) or abs(line.slope - 1) <= RESOLVED * line.slope_sd
    return None if unsharp else line.slope


def _line(samples: Sequence[Titre]) -> Trend | None:
    """Return the line of the acid found against that of the sulphur, None where there are too few or all are alike."""
    x, y = [titre.sulphur_mmol for titre in samples], [titre.acid_mmol for titre in samples]
    return None if len(samples) < FEWEST_SLOPE or statistics.value_range(x) == 0 else trend(x, y)


def _compared(
    strength: float, members: Sequence[Titre], other: float, others: Sequence[Titre]
) -> Iterator[tuple[Slip, list[Titre]]]:
    """Yield the one of two strengths, twice the other, whose nitric acid is twice or half the other's.

    Taken is the one with fewer titrations: what most rows say is more likely right.
    """
    if min(len(members), len(others)) < FEWEST_COMPARED:
        return
    odd_is_high = len(members) < len(others)
    odd, rest = (members, others) if odd_is_high else (others, members)
    factor = 2.0 if odd_is_high else 0.5
    # With a strength of twice the true one, the acid of the sulphur stands in the titre twice.
    usual = statistics.median([titre.acid_mmol - titre.sulphur_mmol for titre in rest])
    unusual = statistics.median([titre.acid_mmol - factor * titre.sulphur_mmol for titre in odd])
    if usual > 0 and abs(unusual / usual / factor - 1) <= SAME_FACTOR:
        value = strength if odd_is_high else other
        why = (
            f"the other rows have {other if odd_is_high else strength:g} eq/L, and it makes {unusual:.2f} mmol of "
            f"nitric acid where they have {usual:.2f}"
        )
        yield _said(odd, value, factor, why), list(odd)


def _said(members: Sequence[Titre], strength: float, factor: float, why: str) -> Slip:
    finding = members[0].row.place.finding(
        "concentration-slip", "concentration", strength=f"{strength:.4g}", why=why,
        factor="twice" if factor > 1 else "half",
        firings=wording.firings([titre.row.firing for titre in members]),
    )  # fmt: skip
    return Slip(finding, tuple(titre.firing for titre in members))


def _out_of_band(titres: Sequence[Titre]) -> Iterator[Slip]:
    """Yield titres out of line: with the other portions of their sample, or whole samples with the workbook.

    Nitrogen of the fuel adds to the nitric acid of all portions of a sample. Where it is on record a sample may lie
    above the others by as much as it can add, where it is not by any amount.
    """
    if len(titres) < FEWEST_BAND:
        return
    middle, sd = spread([titre.nitric_mmol for titre in titres])
    off = max(BAND * sd, LEAST_OFF_MMOL)
    groups: dict[str, list[Titre]] = {}
    for titre in titres:
        groups.setdefault(titre.sample, []).append(titre)
    beside: dict[int, float] = {}
    for members in groups.values():
        if len(members) > 1:
            others = statistics.medians_of_others([titre.nitric_mmol for titre in members])
            beside |= zip(map(id, members), others, strict=True)
    rests = [titre.nitric_mmol - beside[id(titre)] for titre in titres if id(titre) in beside]
    off_beside = max(BAND * (spread(rests)[1] if len(rests) >= FEWEST_BAND else sd), LEAST_OFF_MMOL)
    far = {titre.sample for titre in titres if abs(titre.nitric_mmol - middle) > off}
    for sample, members in groups.items():
        if sample not in far:
            continue
        furthest = max(reversed(members), key=lambda titre: abs(titre.nitric_mmol - middle))
        value = furthest.nitric_mmol
        rest = beside.get(id(furthest), value)
        if abs(value - rest) > off_beside:
            whose = "benzoic acid" if not sample else "this sample"
            yield from _odd(furthest, value, f"the other titres of {whose} leave about {rest:.2f} mmol")
        elif sample and not -off <= min(value, rest) - middle <= off + _own_nitrogen_mmol(furthest):
            usual = f"{middle - 2 * sd:.2f} to {middle + 2 * sd:.2f} mmol is usual in this workbook"
            yield from _odd(members[0], members[0].nitric_mmol, usual)


def _own_nitrogen_mmol(titre: Titre) -> float:
    """Return the nitric acid that the nitrogen of the charge can give at the most; without limit if it is unknown."""
    if titre.nitrogen_mmol is None:
        return math.inf
    return OWN_NITROGEN * titre.nitrogen_mmol


def _odd(titre: Titre, nitric: float, usual: str) -> Iterator[Slip]:
    if any(finding.code == "nitric-negative" for finding in titre.firing.found):
        return
    row = titre.row
    finding = row.place.finding(
        "titre-out-of-band", "titre_mL", firing=row.firing, sample=titre.firing.row.sample,
        nitric=f"{nitric:.2f}", usual=usual,
    )  # fmt: skip
    yield Slip(finding, (titre.firing,))
