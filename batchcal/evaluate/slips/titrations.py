"""Titres that have slipped by a row, strengths of twice or half, and single titres out of line.

What is left of the acid titrated once that of the sulphur is taken off is nitric acid, which differs little from
firing to firing. Judged is only that remainder: no result of the day enters.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from batchcal.evaluate import wording
from batchcal.evaluate.acids import in_eq_per_L
from batchcal.evaluate.charge import logged_mass
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.slips.day import Day, Slip
from batchcal.formulas import acids, statistics
from batchcal.formulas.trend import trend
from batchcal.logged import TitrationRow
from batchcal.terms import AcidScheme, Purpose

SMALLEST_SD_MMOL = 0.05
"""Robust standard deviation of nitric acid that is taken at the least; common practice, no source."""

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

SAME_STRENGTH, SAME_RATIO, SAME_FACTOR = 0.02, 0.03, 0.2
"""Strengths within 2 % are one; a ratio within 3 % is two; acid within 20 % of twice is twice; no source."""

FEWEST_SLOPE, SLOPE_SD, RESOLVED = 6, 0.1, 5.0
"""Samples needed for a slope, its largest relative SD, and how many SD it must lie from 1; no source."""

FEWEST_COMPARED = 3


@dataclass(frozen=True, slots=True)
class _Titre:
    """One titration: volume and blank (mL), strength (eq/L), and the acid that the sulphur of the charge gives."""

    row: TitrationRow
    firing: Firing
    volume_mL: float
    blank_mL: float
    strength: float
    sulphur_mmol: float
    """Acid from the sulphur: twice its amount."""

    def nitric_mmol(self, volume_mL: float) -> float:
        """Return what a volume leaves for nitric acid."""
        return 1e3 * acids.acid_amount_mol(volume_mL, self.blank_mL, self.strength) - self.sulphur_mmol

    @property
    def acid_mmol(self) -> float:
        """All acid titrated."""
        return 1e3 * acids.acid_amount_mol(self.volume_mL, self.blank_mL, self.strength)


def find(day: Day) -> Iterator[Slip]:
    """Yield a shift of the titres; else strengths of twice or half, and titres out of line."""
    if day.settings.acid_scheme not in (AcidScheme.TOTAL_AS_NITRIC, AcidScheme.SULPHUR_APART):
        return
    titres = _titres(day)
    shift = _shift(titres)
    if shift is not None:
        yield shift
        return
    doubtful: set[int] = set()
    for slip, members in _strengths(titres):
        doubtful.update(id(titre) for titre in members)
        yield slip
    yield from _out_of_band([titre for titre in titres if id(titre) not in doubtful])


def _titres(day: Day) -> list[_Titre]:
    """Return the titrations of which all is known, in the order of the sheet."""
    by_number: dict[str, list[Firing]] = {}
    for firing in day.firings:
        by_number.setdefault(firing.row.firing, []).append(firing)
    found = []
    for row in day.batch.titrations:
        members = by_number.get(row.firing, []) if row.firing else []
        titre = _titre(day, row, members[0]) if len(members) == 1 else None
        if titre is not None:
            found.append(titre)
    return found


def _titre(day: Day, row: TitrationRow, firing: Firing) -> _Titre | None:
    used = row if firing.titration is None else firing.titration  # with the strength found on standardisation
    volume, sulphur = row.titre_read_mL, _sulphur_mmol(day, firing)
    if volume is None or sulphur is None or used.place != row.place:
        return None
    if used.titrant is None or used.concentration is None or used.concentration_unit is None:
        return None
    strength = in_eq_per_L(used.concentration, used.concentration_unit, used.titrant)
    return _Titre(row, firing, volume, row.blank_mL or 0.0, strength, sulphur) if strength > 0 else None


def _sulphur_mmol(day: Day, firing: Firing) -> float | None:
    if firing.purpose in (Purpose.CALIBRATION, Purpose.CHECK, Purpose.AID):
        return 0.0
    entry = day.contents.get(firing.row.sample) if firing.purpose is Purpose.SAMPLE else None
    mass = firing.mass_g if firing.mass_g is not None else logged_mass(firing.row)
    if entry is None or entry.sulphur_ad is None or mass is None or mass <= 0:
        return None
    return 2e3 * acids.sulphur_amount_mol(entry.sulphur_ad, mass)


def _spread(values: Sequence[float]) -> tuple[float, float]:
    """Return the median and a robust standard deviation (1.4826 times the median deviation), not below the least."""
    middle = statistics.median(values)
    return middle, max(SMALLEST_SD_MMOL, 1.4826 * statistics.median([abs(value - middle) for value in values]))


def _shift(titres: Sequence[_Titre]) -> Slip | None:
    """Return the shift of the titres by one row that brings the nitric acid of the firings in line, if it is clear.

    Three titres must be out of line as they stand; two where a volume stands twice at the row.
    """
    benzoic = [titre for titre in titres if titre.firing.purpose is not Purpose.SAMPLE]
    now = [titre.nitric_mmol(titre.volume_mL) for titre in titres]
    if len(titres) < FEWEST_BAND:
        return None
    usual = [titre.nitric_mmol(titre.volume_mL) for titre in benzoic] if len(benzoic) >= FEWEST_COMPARED else now
    middle = statistics.median(usual)
    best: tuple[float, int, int, list[float]] | None = None
    for step in (1, -1):
        moved = _moved(titres, step)
        start, gain = _best_start(titres, now, moved, middle, step)
        if best is None or gain > best[0]:
            best = (gain, start, step, moved)
    if best is None:
        return None
    gain, start, step, moved = best
    below = [value for value in moved[start:] if not math.isnan(value)]
    middle, sd = _spread([*now[:start], *below])
    off, fewest = max(SHIFTED * sd, LEAST_OFF_MMOL), FEWEST_SHIFTED - _twice(titres, start, step)
    wrong = sum(abs(value - middle) > off for value in now[start:])
    left = sum(abs(value - middle) > off for value in below)
    if gain < LEAST_GAIN * sd**2 or wrong < fewest or left > max(1, LEFT * len(below)) or 3 * left > wrong:
        return None
    first = titres[start]
    field = "titre_mL" if first.row.titre_mL is not None else "burette_end_mL"
    finding = first.row.place.finding(
        "titre-shift", field, heading=first.row.place.heading(field), way="low" if step == 1 else "high",
        before=wrong, after=left, total=len(titres) - start,
    )  # fmt: skip
    touched = tuple(titre.firing for titre in titres[start:])
    return Slip(finding, touched, tuple(dict.fromkeys(f.row.sample for f in touched if f.row.sample)))


def _moved(titres: Sequence[_Titre], step: int) -> list[float]:
    """Return the nitric acid of each row with the volume of the row below (1) or above (-1) it; NaN without one."""
    values = []
    for index, titre in enumerate(titres):
        at = index + step
        other = titres[at] if 0 <= at < len(titres) else None
        near = other is not None and other.row.place.row - titre.row.place.row == step
        values.append(titre.nitric_mmol(other.volume_mL) if other is not None and near else math.nan)
    return values


def _best_start(
    titres: Sequence[_Titre], now: Sequence[float], moved: Sequence[float], middle: float, step: int
) -> tuple[int, float]:
    """Return the row from which moving lessens the sum of squares most, and by how much.

    Differences are cut at 1 mmol, so that no single row decides. A row at which a volume stands twice goes before
    one of little more gain: there a column was pushed down.
    """
    gains = [0.0] * (len(now) + 1)
    for index in range(len(now) - 1, -1, -1):
        change = 0.0
        if not math.isnan(moved[index]):
            change = min(1.0, (now[index] - middle) ** 2) - min(1.0, (moved[index] - middle) ** 2)
        gains[index] = gains[index + 1] + change
    best = max(range(len(now)), key=lambda index: gains[index])
    twice = [i for i in range(1, len(now)) if _twice(titres, i, step) and gains[i] >= CLOSE_GAIN * gains[best]]
    best = max(twice, key=lambda index: gains[index], default=best)
    return best, gains[best]


def _twice(titres: Sequence[_Titre], index: int, step: int) -> bool:
    """Whether a volume stands twice where a column was pushed down."""
    return step == 1 and index > 0 and titres[index].volume_mL == titres[index - 1].volume_mL


def _strengths(titres: Sequence[_Titre]) -> Iterator[tuple[Slip, list[_Titre]]]:
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


def _by_strength(titres: Sequence[_Titre]) -> Mapping[float, list[_Titre]]:
    """Return the titrations of each strength in eq/L, the order of the sheet kept."""
    names: dict[float, float] = {}
    strengths = sorted({titre.strength for titre in titres})
    for before, strength in pairwise([0.0, *strengths]):
        names[strength] = names[before] if before and strength <= before * (1 + SAME_STRENGTH) else strength
    groups: dict[float, list[_Titre]] = {}
    for titre in titres:
        groups.setdefault(names[titre.strength], []).append(titre)
    return groups


def _slope(members: Sequence[_Titre]) -> float | None:
    """Return the slope of the acid found against that of the sulphur; None where it could be 1, or is not sharp."""
    samples = [titre for titre in members if titre.firing.purpose is Purpose.SAMPLE]
    for _ in range(2):
        x, y = [titre.sulphur_mmol for titre in samples], [titre.acid_mmol for titre in samples]
        if len(samples) < FEWEST_SLOPE or statistics.value_range(x) == 0:
            return None
        slope, _residual = statistics.slope_and_residual_sd(x, y)
        rests = [found - slope * given for found, given in zip(y, x, strict=True)]
        middle, sd = _spread(rests)
        kept = [t for t, rest in zip(samples, rests, strict=True) if abs(rest - middle) <= SHIFTED * sd]
        if len(kept) == len(samples):
            break
        samples = kept
    x, y = [titre.sulphur_mmol for titre in samples], [titre.acid_mmol for titre in samples]
    if len(samples) < FEWEST_SLOPE or statistics.value_range(x) == 0:
        return None
    line = trend(x, y)
    unsharp = line.slope_sd > SLOPE_SD * abs(line.slope) or abs(line.slope - 1) <= RESOLVED * line.slope_sd
    return None if unsharp else line.slope


def _compared(
    strength: float, members: Sequence[_Titre], other: float, others: Sequence[_Titre]
) -> Iterator[tuple[Slip, list[_Titre]]]:
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


def _said(members: Sequence[_Titre], strength: float, factor: float, why: str) -> Slip:
    finding = members[0].row.place.finding(
        "concentration-slip", "concentration", strength=f"{strength:.4g}", why=why,
        factor="twice" if factor > 1 else "half",
        firings=wording.firings([titre.row.firing for titre in members]),
    )  # fmt: skip
    return Slip(finding, tuple(titre.firing for titre in members))


def _out_of_band(titres: Sequence[_Titre]) -> Iterator[Slip]:
    if len(titres) < FEWEST_BAND:
        return
    middle, sd = _spread([titre.nitric_mmol(titre.volume_mL) for titre in titres])
    off = max(BAND * sd, LEAST_OFF_MMOL)
    for titre in titres:
        nitric = titre.nitric_mmol(titre.volume_mL)
        said = any(finding.code == "nitric-negative" for finding in titre.firing.found)
        if abs(nitric - middle) <= off or said:
            continue
        row = titre.row
        finding = row.place.finding(
            "titre-out-of-band", "titre_mL", firing=row.firing, sample=titre.firing.row.sample,
            nitric=f"{nitric:.2f}", usual=f"{middle - 2 * sd:.2f} to {middle + 2 * sd:.2f}",
        )  # fmt: skip
        yield Slip(finding, (titre.firing,))
