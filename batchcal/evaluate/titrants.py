"""The strength of a titrant from the portions of its standardisation."""

import datetime as dt
from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from batchcal.evaluate import wording
from batchcal.evaluate.acids import in_eq_per_L
from batchcal.evaluate.charge import EQUALITY
from batchcal.evaluate.firings import Firing
from batchcal.evaluate.series import expiry
from batchcal.findings import Finding
from batchcal.formulas import acids, statistics
from batchcal.logged import Batch, TitrantRow, TitrationRow
from batchcal.model import Settings
from batchcal.terms import ConcentrationUnit, Titrant

LARGEST_DIFFERENCE = 0.01
"""Relative difference of a typed strength from its standardisation that is said; common practice, no source."""


class Standardisation(Struct, frozen=True):
    """The portions of one titrant on one day: their mean strength (eq/L) and their range in % of it."""

    titrant: Titrant
    date: dt.date
    strengths: tuple[float, ...]
    rows: tuple[TitrantRow, ...]

    @property
    def strength(self) -> float:
        """Mean strength in eq/L."""
        return statistics.mean(self.strengths)

    @property
    def spread_percent(self) -> float:
        """Range of the portions in % of their mean."""
        return 100.0 * statistics.value_range(self.strengths) / self.strength


def standardisations(batch: Batch, settings: Settings) -> tuple[list[Standardisation], list[Finding]]:
    """Return the standardisations of the Titrant sheet and what is wrong with them.

    A portion that is incomplete or cannot be right spoils its whole standardisation: none is made of the rest.
    """
    groups: dict[tuple[Titrant, dt.date], list[TitrantRow]] = {}
    spoilt: set[tuple[Titrant | None, dt.date | None]] = set()
    found = []
    for row in batch.titrants:
        problem = _problem(row)
        if problem or row.unreadable:
            spoilt.add((row.titrant, row.date))
            if problem and not row.unreadable:
                found.append(row.place.finding("titrant-portion-unfit", "portion_g", problem=problem))
        elif row.titrant is not None and row.date is not None:
            groups.setdefault((row.titrant, row.date), []).append(row)
    made = []
    for key, rows in groups.items():
        if key in spoilt:
            continue
        strengths = tuple(
            acids.strength_from_portion(
                row.portion_g or 0.0,
                row.molar_mass_g_per_mol or 1.0,
                row.equivalents or 1.0,
                row.titre_mL or 0.0,
                row.blank_mL or 0.0,
            )
            for row in rows
        )
        one = Standardisation(*key, strengths, tuple(rows))
        made.append(one)
        limit = settings.titrant_spread_limit
        if limit is not None and one.spread_percent > limit.value * (1 + EQUALITY):
            spread = f"{one.spread_percent:.2f}"
            place = rows[0].place
            found.append(
                place.finding(
                    "titrant-spread", "portion_g", spread=spread, limit=f"{limit.value:g}", titrant=key[0], date=key[1]
                )
            )
    return made, found


def _problem(row: TitrantRow) -> str:
    needed = {
        "the titrant": row.titrant,
        "the day": row.date,
        "the portion": row.portion_g,
        "the molar mass": row.molar_mass_g_per_mol,
        "the equivalents per mole": row.equivalents,
        "the titre": row.titre_mL,
    }
    missing = [name for name, value in needed.items() if value is None]
    if missing:
        return f"{' and '.join(missing)} missing"
    numbers = (row.portion_g, row.molar_mass_g_per_mol, row.equivalents)
    if any(number is None or number <= 0 for number in numbers) or (row.titre_mL or 0) <= (row.blank_mL or 0):
        return "portion, molar mass and equivalents must be above zero and the titre above its blank"
    return ""


def with_strength(
    titration: TitrationRow, date: dt.date | None, made: Sequence[Standardisation], settings: Settings
) -> tuple[TitrationRow, list[Finding]]:
    """Return a titration with its strength filled in where it is blank, and what was found on the way.

    The newest standardisation of its titrant on or before the firing is taken. A typed strength stays in force.
    """
    newest = _newest(titration, date, made)
    if newest is None:
        return titration, []
    found = []
    if titration.concentration is None:
        last = expiry(newest.date, settings.titrant_life)
        if last is not None and date is not None and date > last:
            found.append(
                titration.place.finding(
                    "titrant-old", "concentration", firing=titration.firing, titrant=newest.titrant, date=newest.date,
                    last=last,
                )
            )  # fmt: skip
        return (
            replace(
                titration,
                concentration=newest.strength,
                concentration_unit=ConcentrationUnit.EQUIVALENT_PER_LITRE,
                portions=newest.rows,
            ),
            found,
        )
    return titration, found


def _newest(titration: TitrationRow, date: dt.date | None, made: Sequence[Standardisation]) -> Standardisation | None:
    """Return the newest standardisation of a titration's titrant on or before the firing."""
    fitting = [one for one in made if one.titrant is titration.titrant and (date is None or one.date <= date)]
    return max(fitting, key=lambda one: one.date, default=None)


def compare_typed(firings: Sequence[Firing], made: Sequence[Standardisation]) -> list[Finding]:
    """Return one finding for each typed strength that differs from its standardisation, attached to its firings."""
    if not made:
        return []
    used: dict[tuple[float, dt.date], tuple[Standardisation, TitrationRow, list[Firing]]] = {}
    for firing in firings:
        titration = firing.titration
        if titration is None or titration.concentration is None or titration.concentration_unit is None:
            continue
        newest = _newest(titration, firing.date, made)
        if newest is None:
            continue
        typed = in_eq_per_L(titration.concentration, titration.concentration_unit, newest.titrant)
        if abs(typed - newest.strength) > LARGEST_DIFFERENCE * newest.strength:
            used.setdefault((typed, newest.date), (newest, titration, []))[2].append(firing)
    found = []
    for (typed, date), (newest, first, members) in used.items():
        finding = first.place.finding(
            "titrant-differs", "concentration", typed=f"{typed:.5g}", found=f"{newest.strength:.5g}", date=date,
            firings=wording.firings([firing.row.firing for firing in members]),
        )  # fmt: skip
        found.append(finding)
        for firing in members:
            firing.attach([finding])
    return found
